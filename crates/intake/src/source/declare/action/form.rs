//! Texts and JSON in which placeholders stand, as `offers/{record.ref}` and `{ "sku": "{sku}" }`.
//!
//! What a placeholder stands for is given as JSON when it is filled in ([`Fill`]), and escaped for where it stands: a
//! value that fills a text of JSON by itself keeps its type, and within a text it is a part of that text and no more.
//! Must not know requests. Start reading at [`Form`].

use std::fmt;

use serde_json::{Map, Value};
use thiserror::Error;
use url::Url;

use crate::bad_row::shown;
use crate::nearest::nearest;
use crate::source::declare::NoAddress;
use crate::source::declare::error::DeclarationError;
use crate::source::declare::template::{self, Part};

/// JSON that is nested deeper is a mistake: no interface wants it.
const MAX_DEPTH: usize = 32;

/// What may stand in curly brackets.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Placeholder {
    /// The listing of the offer.
    ListingId,
    /// All its options, an object of names and values.
    Options,
    /// The value of one option, by its name.
    Option(String),
    /// The SKU that it is to have.
    Sku,
    /// The SKU that it has.
    OldSku,
    /// What stands in the storefront's own record of it, by the name that `record` gives it.
    Record(String),
}

impl Placeholder {
    /// Those that have one name.
    const PLAIN: [&str; 4] = ["listing_id", "options", "sku", "old_sku"];

    /// What an error says was expected.
    const EXPECTED: &str = "one of {listing_id}, {options}, {option.NAME}, {sku}, {old_sku} and {record.NAME}, with a name under record";

    fn parse(name: &str) -> Option<Self> {
        let named = |prefix: &str| name.strip_prefix(prefix).filter(|rest: &&str| !rest.trim().is_empty());
        Some(match name {
            "listing_id" => Self::ListingId,
            "options" => Self::Options,
            "sku" => Self::Sku,
            "old_sku" => Self::OldSku,
            _ => match (named("option."), named("record.")) {
                (Some(option), _) => Self::Option(option.to_owned()),
                (None, Some(record)) => Self::Record(record.to_owned()),
                (None, None) => return None,
            },
        })
    }

    fn unknown(name: &str) -> DeclarationError {
        let near = nearest(name, Self::PLAIN).map(|near| format!(" (the nearest is {{{near}}})"));
        DeclarationError::new(format!(
            "has {{{name}}} in it, which stands for nothing; expected is {}{}",
            Self::EXPECTED,
            near.unwrap_or_default()
        ))
    }

    /// Whether it tells one offer of a listing from the others.
    pub(crate) fn tells_offers_apart(&self) -> bool {
        matches!(self, Self::Options | Self::Option(_) | Self::OldSku | Self::Record(_))
    }
}

/// `{option.Size}`.
impl fmt::Display for Placeholder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ListingId => f.write_str("{listing_id}"),
            Self::Options => f.write_str("{options}"),
            Self::Option(name) => write!(f, "{{option.{name}}}"),
            Self::Sku => f.write_str("{sku}"),
            Self::OldSku => f.write_str("{old_sku}"),
            Self::Record(name) => write!(f, "{{record.{name}}}"),
        }
    }
}

/// A value that is not known, or that cannot be sent as it is: a clause.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum NoValue {
    /// Nothing says it.
    #[error("{0} has no value for this offer")]
    NotKnown(String),
    /// A number of JSON that was read as another.
    #[error("{0} is a number with more digits than are read exactly")]
    NotExact(String),
    /// It cannot stand in an address.
    #[error("{0}")]
    NoAddress(NoAddress),
}

/// Whatever says what placeholders stand for.
pub(crate) trait Fill {
    /// The value of a placeholder.
    fn value(&self, placeholder: &Placeholder) -> Result<Value, NoValue>;
}

/// A text in which placeholders stand.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Text(Vec<Piece>);

#[derive(Clone, PartialEq, Eq, Debug)]
enum Piece {
    Plain(String),
    Placeholder(Placeholder),
}

impl Text {
    /// Reads placeholders in curly brackets; two brackets in a row stand for one that is none of a placeholder.
    pub(in crate::source::declare) fn parse(text: &str) -> Result<Self, DeclarationError> {
        let unpaired = || {
            DeclarationError::found(
                format!("{}, with a curly bracket that has no other", shown(text)),
                "a placeholder in curly brackets, such as {sku}; a bracket that is none is written twice",
            )
        };
        let mut pieces = Vec::new();
        let mut plain = String::new();
        let mut rest = text;
        while let Some(at) = rest.find(['{', '}']) {
            let (before, behind) = rest.split_at(at);
            plain.push_str(before);
            if let Some(behind) = behind.strip_prefix("{{") {
                plain.push('{');
                rest = behind;
            } else if let Some(behind) = behind.strip_prefix("}}") {
                plain.push('}');
                rest = behind;
            } else {
                let inside = behind.strip_prefix('{').ok_or_else(unpaired)?;
                let (name, behind) = inside.split_once('}').ok_or_else(unpaired)?;
                if name.contains('{') {
                    return Err(unpaired());
                }
                let placeholder = Placeholder::parse(name).ok_or_else(|| Placeholder::unknown(name))?;
                pieces.push(Piece::Plain(std::mem::take(&mut plain)));
                pieces.push(Piece::Placeholder(placeholder));
                rest = behind;
            }
        }
        plain.push_str(rest);
        pieces.push(Piece::Plain(plain));
        pieces.retain(|piece| !matches!(piece, Piece::Plain(plain) if plain.is_empty()));
        Ok(Self(pieces))
    }

    /// The placeholders in it.
    pub(crate) fn placeholders(&self) -> impl Iterator<Item = &Placeholder> {
        self.0.iter().filter_map(|piece| match piece {
            Piece::Placeholder(placeholder) => Some(placeholder),
            Piece::Plain(_) => None,
        })
    }

    /// What stands in it beside placeholders, each of which is a letter.
    pub(in crate::source::declare) fn plain(&self) -> String {
        let plain = self.0.iter().map(|piece| match piece {
            Piece::Plain(plain) => plain.as_str(),
            Piece::Placeholder(_) => "x",
        });
        plain.collect()
    }

    fn parts<'t>(&'t self, fill: &dyn Fill) -> Result<Vec<Part<'t>>, NoValue> {
        let part = |piece: &'t Piece| {
            Ok(match piece {
                Piece::Plain(plain) => Part::Plain(plain),
                Piece::Placeholder(placeholder) => {
                    let text = in_text(fill.value(placeholder)?);
                    Part::Value { name: placeholder.to_string(), text }
                }
            })
        };
        self.0.iter().map(part).collect()
    }

    /// The text with values in it, as they are.
    pub(crate) fn filled(&self, fill: &dyn Fill) -> Result<String, NoValue> {
        Ok(self.parts(fill)?.iter().map(Part::text).collect())
    }

    /// Appends the path to that of an address, each value within one segment of it.
    pub(crate) fn append_to(&self, url: &mut Url, fill: &dyn Fill) -> Result<(), NoValue> {
        template::append(&self.parts(fill)?, url).map_err(NoValue::NoAddress)
    }
}

/// A value within a text: a text as it is, nothing for null, and anything else as JSON.
fn in_text(value: Value) -> String {
    match value {
        Value::String(text) => text,
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

/// JSON in whose texts placeholders stand.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Form {
    /// What has no placeholder in it.
    Plain(Value),
    /// A placeholder by itself: its value, of whatever type.
    Alone(Placeholder),
    /// A text with placeholders in it.
    Text(Text),
    List(Vec<Self>),
    /// Names are as they stand.
    Object(Vec<(String, Self)>),
}

impl Form {
    /// Reads JSON whose texts may have placeholders in them.
    pub(in crate::source::declare) fn read(value: &Value) -> Result<Self, DeclarationError> {
        Self::read_within(value, MAX_DEPTH)
    }

    fn read_within(value: &Value, depth: usize) -> Result<Self, DeclarationError> {
        let deeper = || {
            let text = format!("is nested more than {MAX_DEPTH} levels deep; expected is less");
            depth.checked_sub(1).ok_or_else(|| DeclarationError::new(text))
        };
        Ok(match value {
            Value::String(text) => {
                let text = Text::parse(text)?;
                match text.0.as_slice() {
                    [] => Self::Plain(Value::String(String::new())),
                    [Piece::Plain(plain)] => Self::Plain(Value::String(plain.clone())),
                    [Piece::Placeholder(placeholder)] => Self::Alone(placeholder.clone()),
                    _ => Self::Text(text),
                }
            }
            Value::Array(list) => {
                let depth = deeper()?;
                let entry = |(index, value): (usize, &Value)| {
                    Self::read_within(value, depth).map_err(|error| error.in_entry(index + 1))
                };
                Self::List(list.iter().enumerate().map(entry).collect::<Result<_, _>>()?)
            }
            Value::Object(members) => {
                let depth = deeper()?;
                let mut read = Vec::new();
                for (name, value) in members {
                    if name.contains(['{', '}']) {
                        return Err(DeclarationError::new(format!(
                            "has the name {}, and in names nothing is filled in; expected is a name without curly brackets",
                            shown(name)
                        )));
                    }
                    let value = Self::read_within(value, depth).map_err(|error| error.under(name))?;
                    read.push((name.clone(), value));
                }
                Self::Object(read)
            }
            plain => Self::Plain(plain.clone()),
        })
    }

    /// The placeholders in it.
    pub(crate) fn placeholders(&self) -> Vec<&Placeholder> {
        match self {
            Self::Plain(_) => Vec::new(),
            Self::Alone(placeholder) => vec![placeholder],
            Self::Text(text) => text.placeholders().collect(),
            Self::List(list) => list.iter().flat_map(Self::placeholders).collect(),
            Self::Object(members) => members.iter().flat_map(|(_, member)| member.placeholders()).collect(),
        }
    }

    /// The names of all members in it.
    pub(in crate::source::declare) fn names(&self) -> Vec<&str> {
        match self {
            Self::Plain(_) | Self::Alone(_) | Self::Text(_) => Vec::new(),
            Self::List(list) => list.iter().flat_map(Self::names).collect(),
            Self::Object(members) => {
                let inner = members.iter().flat_map(|(_, member)| member.names());
                members.iter().map(|(name, _)| name.as_str()).chain(inner).collect()
            }
        }
    }

    /// The JSON with values in it.
    pub(crate) fn filled(&self, fill: &dyn Fill) -> Result<Value, NoValue> {
        Ok(match self {
            Self::Plain(value) => value.clone(),
            Self::Alone(placeholder) => fill.value(placeholder)?,
            Self::Text(text) => Value::String(text.filled(fill)?),
            Self::List(list) => {
                Value::Array(list.iter().map(|entry| entry.filled(fill)).collect::<Result<_, _>>()?)
            }
            Self::Object(members) => {
                let mut object = Map::new();
                for (name, member) in members {
                    object.insert(name.clone(), member.filled(fill)?);
                }
                Value::Object(object)
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::collection::vec;
    use proptest::prelude::*;
    use serde_json::json;

    /// Values of a test, by placeholder as it is written.
    struct Values(Vec<(String, Value)>);

    impl Fill for Values {
        fn value(&self, placeholder: &Placeholder) -> Result<Value, NoValue> {
            let name = placeholder.to_string();
            let found = self.0.iter().find(|(known, _)| *known == name);
            found.map(|(_, value)| value.clone()).ok_or(NoValue::NotKnown(name))
        }
    }

    #[test]
    fn brackets_pair_and_two_are_one() {
        let values = Values(vec![("{sku}".to_owned(), json!("S"))]);
        for (text, want) in [
            ("{sku}", "S"),
            ("a{sku}{sku}b", "aSSb"),
            ("{{sku}}", "{sku}"),
            ("{{{sku}}}", "{S}"),
            ("}}{{", "}{"),
            ("", ""),
        ] {
            assert_eq!(Text::parse(text).unwrap().filled(&values).as_deref(), Ok(want), "{text}");
        }
        for text in ["{", "}", "{sku", "sku}", "{sk{u}", "{sku}}", "{}", "{ sku }", "{option.}", "{record. }"]
        {
            assert!(Text::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn what_is_nested_too_deep_is_refused() {
        let nested = |levels: usize| (0..levels).fold(json!("{sku}"), |inner, _| json!([inner]));
        assert!(Form::read(&nested(MAX_DEPTH)).is_ok());
        assert!(Form::read(&nested(MAX_DEPTH + 1)).is_err());
    }

    /// A literal in a template: brackets are written twice.
    fn literal(text: &str) -> String {
        text.replace('{', "{{").replace('}', "}}")
    }

    fn some_value() -> impl Strategy<Value = Value> {
        let scalar = prop_oneof![
            any::<String>().prop_map(Value::String),
            "[\"{}\\\\/\r\n\t,:\\[\\]]{0,8}".prop_map(Value::String),
            any::<u64>().prop_map(|number| json!(number)),
            any::<bool>().prop_map(Value::Bool),
            Just(Value::Null),
        ];
        prop_oneof![
            4 => scalar,
            1 => vec((any::<String>(), any::<String>()), 0..4).prop_map(|pairs| {
                Value::Object(pairs.into_iter().map(|(name, value)| (name, Value::String(value))).collect())
            }),
        ]
    }

    proptest! {
        /// Whatever the values are, the body is JSON in which exactly these stand, where they are to stand.
        #[test]
        fn a_rendered_body_is_json_with_exactly_the_values(
            sku in some_value(),
            id in some_value(),
            option in any::<String>(),
            plain in any::<String>(),
        ) {
            let values = Values(vec![
                ("{sku}".to_owned(), sku.clone()),
                ("{record.id}".to_owned(), id.clone()),
                ("{option.Size}".to_owned(), json!(option)),
            ]);
            let template = json!({
                "sku": "{sku}",
                "list": ["{record.id}", { "deep": "{option.Size}" }, 7, null],
                "mixed": format!("{}{{sku}}-{{option.Size}}", literal(&plain)),
                "plain": literal(&plain),
            });
            let rendered = Form::read(&template).unwrap().filled(&values).unwrap().to_string();
            let read: Value = serde_json::from_str(&rendered).unwrap();
            let mixed = format!("{plain}{}-{option}", in_text(sku.clone()));
            prop_assert_eq!(
                read,
                json!({ "sku": sku, "list": [id, { "deep": option }, 7, null], "mixed": mixed, "plain": plain })
            );
        }

        /// Whatever the values are, an address has the segments of its path, and each is the value and no more.
        #[test]
        fn a_rendered_path_has_exactly_its_segments(sku in any::<String>(), id in "[./\\\\%?#\r\n\tä2e]{1,6}") {
            let values =
                Values(vec![("{sku}".to_owned(), json!(sku)), ("{record.id}".to_owned(), json!(id))]);
            let mut url = Url::parse("https://shop.example/api/").unwrap();
            let path = Text::parse("offers/{record.id}/x{sku}").unwrap();
            let leads_elsewhere = matches!(id.to_lowercase().replace("%2e", ".").as_str(), "." | "..");
            match path.append_to(&mut url, &values) {
                Err(NoValue::NoAddress(_)) => prop_assert!(leads_elsewhere, "{id:?}"),
                Err(other) => prop_assert!(false, "{other}"),
                Ok(()) => {
                    prop_assert!(!leads_elsewhere);
                    prop_assert!(url.as_str().starts_with("https://shop.example/api/offers/"));
                    prop_assert_eq!((url.query(), url.fragment()), (None, None));
                    let segments: Vec<String> = url.path_segments().unwrap().map(decoded).collect();
                    prop_assert_eq!(segments, ["api".to_owned(), "offers".to_owned(), id, format!("x{sku}")]);
                }
            }
        }
    }

    fn decoded(segment: &str) -> String {
        let mut bytes = Vec::new();
        let mut rest = segment.as_bytes();
        while let Some((first, behind)) = rest.split_first() {
            let number = (*first == b'%').then(|| std::str::from_utf8(&behind[..2]).unwrap());
            bytes.push(number.map_or(*first, |number| u8::from_str_radix(number, 16).unwrap()));
            rest = if number.is_some() { &behind[2..] } else { behind };
        }
        String::from_utf8(bytes).unwrap()
    }
}
