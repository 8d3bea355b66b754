//! One JSON object as names and values, in their order and with repeats; values as they are written.
//!
//! Must not know: tables or columns. Numbers keep their text, so that `24.10` and an id of 20 digits stay as they
//! are. Source: RFC 8259.

use std::borrow::Cow;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

/// A name and its value.
pub(crate) type Pair<'a> = (Cow<'a, str>, &'a RawValue);

/// Why a text is not one JSON object.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum NotAnObject {
    /// It is something else, or nothing.
    SomethingElse,
    /// It ends in the middle.
    CutOff,
    /// It breaks the rules of JSON after so many bytes.
    Broken(usize),
    /// Something stands behind the object.
    TextBehind,
}

/// A value that a cell can hold.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Scalar<'a> {
    /// Not known.
    Null,
    /// A string; a number or a boolean, as written.
    Text(Cow<'a, str>),
    /// An object or a list.
    Nested,
    /// A string whose escapes mean no text.
    NoText,
}

/// Reads one object into `pairs`, in place of what was there; on an error, as far as it could be read.
pub(crate) fn read_object<'a>(text: &'a str, pairs: &mut Vec<Pair<'a>>) -> Result<(), NotAnObject> {
    pairs.clear();
    if !text.trim_start_matches([' ', '\t', '\r', '\n']).starts_with('{') {
        return Err(NotAnObject::SomethingElse);
    }
    let mut deserializer = serde_json::Deserializer::from_str(text);
    match (Pairs { pairs }).deserialize(&mut deserializer) {
        Ok(()) => deserializer.end().map_err(|_| NotAnObject::TextBehind),
        Err(error) if error.is_eof() => Err(NotAnObject::CutOff),
        Err(error) => Err(NotAnObject::Broken(error.column())),
    }
}

/// What a value holds.
pub(crate) fn scalar(value: &RawValue) -> Scalar<'_> {
    let written = value.get();
    match written.as_bytes().first() {
        Some(b'n') => Scalar::Null,
        Some(b'{' | b'[') => Scalar::Nested,
        Some(b'"') => {
            serde_json::from_str::<Text<'_>>(written).map_or(Scalar::NoText, |Text(text)| Scalar::Text(text))
        }
        _ => Scalar::Text(Cow::Borrowed(written)),
    }
}

#[derive(serde::Deserialize)]
struct Text<'a>(#[serde(borrow)] Cow<'a, str>);

struct Pairs<'p, 'a> {
    pairs: &'p mut Vec<Pair<'a>>,
}

impl<'a> DeserializeSeed<'a> for Pairs<'_, 'a> {
    type Value = ();

    fn deserialize<D: Deserializer<'a>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_map(self)
    }
}

impl<'a> Visitor<'a> for Pairs<'_, 'a> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON object")
    }

    fn visit_map<M: MapAccess<'a>>(self, mut map: M) -> Result<(), M::Error> {
        while let Some(Text(name)) = map.next_key()? {
            self.pairs.push((name, map.next_value()?));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Vec<(String, String)>, Result<(), NotAnObject>) {
        let mut pairs = Vec::new();
        let result = read_object(text, &mut pairs);
        (pairs.iter().map(|(name, value)| (name.to_string(), value.get().to_owned())).collect(), result)
    }

    #[test]
    fn values_keep_the_text_in_which_they_are_written_and_names_may_repeat() {
        let (pairs, result) =
            read(r#" {"a": 24.10, "b":12345678901234567890123 ,"a":"\u00e4", "c":[1,{}]} "#);
        assert_eq!(result, Ok(()));
        let want = [("a", "24.10"), ("b", "12345678901234567890123"), ("a", r#""\u00e4""#), ("c", "[1,{}]")];
        assert_eq!(pairs, want.map(|(name, value)| (name.to_owned(), value.to_owned())));
    }

    #[test]
    fn a_broken_object_is_read_as_far_as_it_goes() {
        for (text, pairs, error) in [
            ("", 0, NotAnObject::SomethingElse),
            ("[1]", 0, NotAnObject::SomethingElse),
            (r#"{"a":1,"b":"x"#, 1, NotAnObject::CutOff),
            (r#"{"a":1,"b""#, 1, NotAnObject::CutOff),
            (r#"{"a":1 "b":2}"#, 1, NotAnObject::Broken(8)),
            (r#"{"a":1}{"b":2}"#, 1, NotAnObject::TextBehind),
            (r#"{"a":01}"#, 0, NotAnObject::Broken(7)),
        ] {
            let (read, result) = read(text);
            assert_eq!((read.len(), result), (pairs, Err(error)), "{text}");
        }
    }

    #[test]
    fn a_scalar_is_a_string_a_number_a_boolean_or_null() {
        for (written, want) in [
            ("null", Scalar::Null),
            ("true", Scalar::Text("true".into())),
            ("-1.50", Scalar::Text("-1.50".into())),
            (r#""a\n""#, Scalar::Text("a\n".into())),
            (r#""\ud800""#, Scalar::NoText),
            ("[]", Scalar::Nested),
            ("{}", Scalar::Nested),
        ] {
            assert_eq!(scalar(&RawValue::from_string(written.to_owned()).unwrap()), want, "{written}");
        }
    }

    #[test]
    fn deep_nesting_is_passed_over_without_recursion() {
        let depth = 200_000;
        let text = format!(r#"{{"a":{}{}}}"#, "[".repeat(depth), "]".repeat(depth));
        assert_eq!(read(&text).1, Ok(()));
        assert_eq!(read(&text[..depth]).1, Err(NotAnObject::CutOff));
    }
}
