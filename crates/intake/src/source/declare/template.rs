//! Paths and parameters in which values of a row stand, as `orders/{order_id}`.
//!
//! Must not know which columns there are. Start reading at [`Template`].

use thiserror::Error;
use url::Url;

use super::error::DeclarationError;
use crate::bad_row::shown;
use crate::source::mapping::ParentRow;

/// A text in which names in curly brackets stand for values of a row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Template {
    pieces: Vec<Piece>,
}

#[derive(Clone, PartialEq, Eq, Debug)]
enum Piece {
    Text(String),
    Column(String),
}

/// An address that cannot be made.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum NoAddress {
    /// The row does not say the value.
    #[error("the address needs {0} of a row, which is not known")]
    NotKnown(String),
    /// The value would lead elsewhere.
    #[error("the value {1} of {0} cannot stand in an address")]
    LeadsElsewhere(String, String),
}

impl Template {
    /// A text as it stands.
    pub(super) fn plain(text: &str) -> Self {
        Self { pieces: vec![Piece::Text(text.to_owned())] }
    }

    /// Reads names in curly brackets.
    pub(super) fn parse(text: &str) -> Result<Self, DeclarationError> {
        let unpaired = || {
            DeclarationError::found(
                format!("{}, with a curly bracket that has no other", shown(text)),
                "a name in curly brackets, such as {order_id}",
            )
        };
        let mut pieces = Vec::new();
        let mut rest = text;
        while let Some((before, behind)) = rest.split_once('{') {
            let (name, behind) = behind.split_once('}').ok_or_else(unpaired)?;
            if before.contains('}') || name.contains('{') {
                return Err(unpaired());
            }
            pieces.push(Piece::Text(before.to_owned()));
            pieces.push(Piece::Column(name.to_owned()));
            rest = behind;
        }
        if rest.contains('}') {
            return Err(unpaired());
        }
        pieces.push(Piece::Text(rest.to_owned()));
        Ok(Self { pieces })
    }

    /// The names in it.
    pub(super) fn columns(&self) -> impl Iterator<Item = &str> {
        self.pieces.iter().filter_map(|piece| match piece {
            Piece::Column(name) => Some(name.as_str()),
            Piece::Text(_) => None,
        })
    }

    /// The text with the values of a row in it.
    pub(crate) fn filled(&self, row: Option<&ParentRow>) -> Result<String, NoAddress> {
        let mut filled = String::new();
        for piece in &self.pieces {
            match piece {
                Piece::Text(text) => filled.push_str(text),
                Piece::Column(name) => {
                    let value = row.and_then(|row| row.get(name));
                    filled.push_str(value.ok_or_else(|| NoAddress::NotKnown(name.clone()))?);
                }
            }
        }
        Ok(filled)
    }

    /// Appends the path to that of an address, each value within one segment of it.
    pub(crate) fn append_to(&self, url: &mut Url, row: Option<&ParentRow>) -> Result<(), NoAddress> {
        let mut segments = vec![String::new()];
        let mut values = Vec::new();
        for piece in &self.pieces {
            match piece {
                Piece::Text(text) => {
                    let mut parts = text.split('/');
                    if let (Some(first), Some(last)) = (parts.next(), segments.last_mut()) {
                        last.push_str(first);
                    }
                    segments.extend(parts.map(str::to_owned));
                }
                Piece::Column(name) => {
                    let value = row.and_then(|row| row.get(name));
                    let value = value.ok_or_else(|| NoAddress::NotKnown(name.clone()))?;
                    if let Some(last) = segments.last_mut() {
                        last.push_str(value);
                    }
                    values.push((name, value, segments.len() - 1));
                }
            }
        }
        // Segments of dots are steps up or none at all, in percent signs too (WHATWG URL, 4.1).
        let is_step = |segment: &str| {
            let plain = segment.to_ascii_lowercase().replace("%2e", ".");
            plain == "." || plain == ".."
        };
        if let Some((name, value, _)) = values.iter().find(|(.., segment)| is_step(&segments[*segment])) {
            return Err(NoAddress::LeadsElsewhere((*name).clone(), shown(value)));
        }
        let cannot = || NoAddress::LeadsElsewhere("path".to_owned(), shown(url.as_str()));
        let cannot = cannot();
        url.path_segments_mut().map_err(|()| cannot)?.pop_if_empty().extend(&segments);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(path: &str, order_id: &str) -> Result<String, NoAddress> {
        let mut url = Url::parse("https://shop.example/api/").unwrap();
        let row = ParentRow::new("orders", [("order_id", order_id)]);
        Template::parse(path).unwrap().append_to(&mut url, Some(&row))?;
        Ok(url.into())
    }

    #[test]
    fn values_stay_within_one_segment_of_the_path() {
        for (path, order_id, want) in [
            ("orders", "7", "https://shop.example/api/orders"),
            ("orders/{order_id}/lines", "7", "https://shop.example/api/orders/7/lines"),
            ("orders/no-{order_id}.json", "a/b", "https://shop.example/api/orders/no-a%2Fb.json"),
            ("orders/{order_id}", "ä ?#", "https://shop.example/api/orders/%C3%A4%20%3F%23"),
            ("orders/{order_id}", "50%", "https://shop.example/api/orders/50%25"),
            ("orders/", "7", "https://shop.example/api/orders/"),
        ] {
            assert_eq!(address(path, order_id).as_deref(), Ok(want), "{path} {order_id}");
        }
    }

    #[test]
    fn values_that_lead_elsewhere_are_refused() {
        for order_id in [".", "..", "%2e%2E", ".%2e"] {
            let error = address("orders/{order_id}/lines", order_id).unwrap_err();
            assert_eq!(
                error.to_string(),
                format!("the value {order_id:?} of order_id cannot stand in an address")
            );
        }
        let none = Template::parse("orders/{line_id}").unwrap().filled(None).unwrap_err();
        assert_eq!(none.to_string(), "the address needs line_id of a row, which is not known");
    }

    #[test]
    fn brackets_must_pair() {
        for text in ["a{b", "a}b", "{a{b}}", "{a}}"] {
            assert!(Template::parse(text).is_err(), "{text}");
        }
    }
}
