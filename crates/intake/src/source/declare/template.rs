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

    /// Its texts, as `Ok`, and the names between them, as `Err`, in their order.
    pub(super) fn texts_and_names(&self) -> impl Iterator<Item = Result<&str, &str>> {
        self.pieces.iter().map(|piece| match piece {
            Piece::Text(text) => Ok(text.as_str()),
            Piece::Column(name) => Err(name.as_str()),
        })
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
    pub(crate) fn append_to<'t>(&'t self, url: &mut Url, row: Option<&ParentRow>) -> Result<(), NoAddress> {
        let part = |piece: &'t Piece| match piece {
            Piece::Text(text) => Ok(Part::Plain(text)),
            Piece::Column(name) => {
                let value = row.and_then(|row| row.get(name));
                let value = value.ok_or_else(|| NoAddress::NotKnown(name.clone()))?;
                Ok(Part::Value { name: name.clone(), text: value.to_owned() })
            }
        };
        let parts: Vec<Part<'_>> = self.pieces.iter().map(part).collect::<Result<_, _>>()?;
        append(&parts, url)
    }
}

/// A part of a path.
pub(super) enum Part<'t> {
    /// As it stands in the declaration: a slash ends a segment.
    Plain(&'t str),
    /// A value, within one segment.
    Value {
        /// What it is the value of.
        name: String,
        /// The value.
        text: String,
    },
}

impl Part<'_> {
    pub(super) fn text(&self) -> &str {
        match self {
            Self::Plain(text) => text,
            Self::Value { text, .. } => text,
        }
    }
}

/// Appends a path to that of an address, each value within one segment of it.
pub(super) fn append(parts: &[Part<'_>], url: &mut Url) -> Result<(), NoAddress> {
    let mut segments = vec![String::new()];
    let mut values = Vec::new();
    for part in parts {
        match part {
            Part::Plain(text) => {
                let mut parts = text.split('/');
                if let (Some(first), Some(last)) = (parts.next(), segments.last_mut()) {
                    last.push_str(first);
                }
                segments.extend(parts.map(str::to_owned));
            }
            Part::Value { name, text } => {
                if let Some(last) = segments.last_mut() {
                    last.push_str(text);
                }
                values.push((name, text, segments.len() - 1));
            }
        }
    }
    // Segments of dots are steps up or none at all, in percent signs too (WHATWG URL, 4.1). One of nothing but an empty
    // value is the address of all there are.
    let leads_elsewhere = |segment: &str| {
        let plain = segment.to_ascii_lowercase().replace("%2e", ".");
        plain.is_empty() || plain == "." || plain == ".."
    };
    if let Some((name, value, _)) = values.iter().find(|(.., segment)| leads_elsewhere(&segments[*segment])) {
        return Err(NoAddress::LeadsElsewhere((*name).clone(), shown(value)));
    }
    let segments: Vec<String> = segments.iter().map(|segment| escaped(segment)).collect();
    let path = format!("{}/{}", url.path().strip_suffix('/').unwrap_or(url.path()), segments.join("/"));
    url.set_path(&path);
    Ok(())
}

/// A segment of a path: every byte that is none of a segment becomes a percent sign and its number. Line breaks and tabs
/// too, which what reads addresses would pass over (WHATWG URL, 4.4). Source: RFC 3986, 2.1 and 3.3.
fn escaped(segment: &str) -> String {
    let mut escaped = String::new();
    for byte in segment.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~!$&'()*+,;=:@".contains(&byte) {
            escaped.push(char::from(byte));
        } else {
            escaped.push_str(&format!("%{byte:02X}"));
        }
    }
    escaped
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
            ("orders/{order_id}", "a\r\n\tb", "https://shop.example/api/orders/a%0D%0A%09b"),
            ("orders/{order_id}", ".\n.", "https://shop.example/api/orders/.%0A."),
            ("orders/{order_id}", "{x}\"|^\\", "https://shop.example/api/orders/%7Bx%7D%22%7C%5E%5C"),
            ("orders/", "7", "https://shop.example/api/orders/"),
        ] {
            assert_eq!(address(path, order_id).as_deref(), Ok(want), "{path} {order_id}");
        }
    }

    #[test]
    fn values_that_lead_elsewhere_are_refused() {
        for order_id in [".", "..", "%2e%2E", ".%2e", ""] {
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
