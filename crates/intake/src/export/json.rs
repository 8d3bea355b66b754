//! JSON and JSON Lines, with limits, and with an error where a name stands twice.
//!
//! Numbers are as `source::mapping` has them: whole ones up to 18446744073709551615 exact, others the nearest binary
//! number. Must not know: where the records are in a document. Source: RFC 8259.

use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

use super::error::{ExportError, Place};
use super::limits::{self, MAX_CELL_BYTES, MAX_ROWS, Weight};
use super::{Export, Form, Kind};

const LONG_TEXT: &str = "Export it without such long texts.";

/// One document, as it is.
pub(super) fn read_document(file: &str, text: &str) -> Result<Export, ExportError> {
    let value = read_value(file, text, 1, true, &mut Weight::of_text())?;
    Ok(Export { form: Form::of(Kind::Json), value, header: None, lines: Vec::new(), passed_over: Vec::new() })
}

/// A list of the objects, one a line. Blank lines are passed over.
pub(super) fn read_lines(file: &str, text: &str) -> Result<Export, ExportError> {
    let mut weight = Weight::of_text();
    let (mut records, mut lines) = (Vec::new(), Vec::new());
    for (line, number) in text.split('\n').zip(1_u64..) {
        if line.trim_matches(is_blank).is_empty() {
            continue;
        }
        if records.len() == MAX_ROWS {
            return Err(limits::too_many_rows(Place::line(file, number)));
        }
        let value = if line.trim_start_matches(is_blank).starts_with('{') {
            read_value(file, line, number, false, &mut weight)?
        } else {
            return Err(ExportError::Broken {
                place: Place::line(file, number),
                found: "the line is no JSON object".to_owned(),
                expected: "one object a line".to_owned(),
                hint: "Write one object a line, with no list around them and no comma between them."
                    .to_owned(),
            });
        };
        records.push(value);
        lines.push(number);
    }
    Ok(Export {
        form: Form::of(Kind::JsonLines),
        value: Value::Array(records),
        header: None,
        lines,
        passed_over: Vec::new(),
    })
}

/// Whether the first line is an object by itself, and something follows.
pub(super) fn begins_lines(text: &str) -> bool {
    let Some((first, rest)) = text.split_once('\n') else { return false };
    first.starts_with('{') && !rest.trim().is_empty() && serde_json::from_str::<IgnoredAny>(first).is_ok()
}

/// The white space of JSON.
fn is_blank(character: char) -> bool {
    matches!(character, ' ' | '\t' | '\r' | '\n')
}

/// One value out of a text that begins on a line of the file.
fn read_value(
    file: &str,
    text: &str,
    first_line: u64,
    is_document: bool,
    weight: &mut Weight,
) -> Result<Value, ExportError> {
    let mut trouble = None;
    let mut deserializer = serde_json::Deserializer::from_str(text);
    let read =
        Build { weight: &mut *weight, trouble: &mut trouble, name_bytes: 0 }.deserialize(&mut deserializer);
    let error = match read.and_then(|value| deserializer.end().map(|()| value)) {
        Ok(value) => return Ok(value),
        Err(error) => error,
    };
    let line = first_line + (error.line() as u64).saturating_sub(1);
    let place = Place::line_column(file, line, (error.column() as u64).max(1));
    let broken = |found: String, hint: &str| ExportError::Broken {
        place: place.clone(),
        found,
        expected: if is_document { "one JSON document" } else { "one JSON object on the line" }.to_owned(),
        hint: hint.to_owned(),
    };
    Err(match trouble {
        Some(Trouble::KeyTwice(key)) => ExportError::KeyTwice {
            place,
            key,
            hint: "It cannot be told which one counts: have the export mended, or take another format.",
        },
        Some(Trouble::LongText) => limits::long_cell(place, LONG_TEXT),
        Some(Trouble::TooHeavy) => weight.too_much(place),
        None if error.is_eof() => {
            broken("it ends in the middle".to_owned(), "The file was cut off: export it again.")
        }
        None if said(&error).contains("recursion limit") => broken(
            "values lie in each other deeper than is read, 127 levels".to_owned(),
            "Export it without such deep lists and objects.",
        ),
        None => broken(said(&error), "Correct it, or export it again."),
    })
}

/// What serde_json says, without the place, which is said in front.
fn said(error: &serde_json::Error) -> String {
    let said = error.to_string();
    let end = said.rfind(" at line ").unwrap_or(said.len());
    format!("this is not JSON ({})", &said[..end])
}

/// What the rules of JSON allow, and this does not.
enum Trouble {
    KeyTwice(String),
    LongText,
    TooHeavy,
}

/// Builds one value, and what is in it.
struct Build<'b> {
    weight: &'b mut Weight,
    trouble: &'b mut Option<Trouble>,
    /// How long the name of this value is, which it takes with it.
    name_bytes: usize,
}

impl Build<'_> {
    fn stop<T, E: Error>(&mut self, trouble: Trouble) -> Result<T, E> {
        *self.trouble = Some(trouble);
        Err(E::custom("refused"))
    }

    fn count<E: Error>(&mut self, text_bytes: usize) -> Result<(), E> {
        if text_bytes > MAX_CELL_BYTES {
            return self.stop(Trouble::LongText);
        }
        if self.weight.add(self.name_bytes + text_bytes) { Ok(()) } else { self.stop(Trouble::TooHeavy) }
    }

    fn inner(&mut self, name_bytes: usize) -> Build<'_> {
        Build { weight: self.weight, trouble: self.trouble, name_bytes }
    }
}

impl<'de> DeserializeSeed<'de> for Build<'_> {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Build<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E: Error>(mut self) -> Result<Value, E> {
        self.count(0).map(|()| Value::Null)
    }

    fn visit_bool<E: Error>(mut self, value: bool) -> Result<Value, E> {
        self.count(0).map(|()| Value::Bool(value))
    }

    fn visit_u64<E: Error>(mut self, value: u64) -> Result<Value, E> {
        self.count(0).map(|()| Value::Number(value.into()))
    }

    fn visit_i64<E: Error>(mut self, value: i64) -> Result<Value, E> {
        self.count(0).map(|()| Value::Number(value.into()))
    }

    fn visit_f64<E: Error>(mut self, value: f64) -> Result<Value, E> {
        self.count(0)?;
        let number = Number::from_f64(value).ok_or_else(|| E::custom("a number out of range"))?;
        Ok(Value::Number(number))
    }

    fn visit_str<E: Error>(mut self, text: &str) -> Result<Value, E> {
        self.count(text.len()).map(|()| Value::String(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(mut self, mut items: A) -> Result<Value, A::Error> {
        self.count(0)?;
        let mut list = Vec::new();
        while let Some(item) = items.next_element_seed(self.inner(0))? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(mut self, mut pairs: A) -> Result<Value, A::Error> {
        self.count(0)?;
        let mut object = Map::new();
        while let Some(name) = pairs.next_key::<String>()? {
            if name.len() > MAX_CELL_BYTES {
                return self.stop(Trouble::LongText);
            }
            if object.contains_key(&name) {
                return self.stop(Trouble::KeyTwice(name));
            }
            let value = pairs.next_value_seed(self.inner(name.len()))?;
            object.insert(name, value);
        }
        Ok(Value::Object(object))
    }
}
