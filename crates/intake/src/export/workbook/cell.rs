//! What a cell of a sheet is, and the value that it becomes.
//!
//! Must not know: how it is written in a file.

use std::rc::Rc;

use chrono::{NaiveDateTime, Timelike};
use serde_json::{Number, Value};

use super::super::table::HeadCell;

/// A filled cell.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Cell {
    /// A text, without white space at its ends; not empty.
    Text(Rc<str>),
    Number(Number),
    Bool(bool),
    /// A date, with its time.
    Moment(NaiveDateTime),
    /// A time of day or a duration, in milliseconds.
    Clock(u64),
    /// An error such as `#N/A`.
    Error,
    /// A formula without a value that could be trusted: what is the matter.
    NoValue(&'static str),
}

impl Cell {
    /// A text, unless it is empty.
    pub(super) fn text(text: &str) -> Option<Self> {
        let trimmed = text.trim();
        (!trimmed.is_empty()).then(|| Self::Text(trimmed.into()))
    }

    /// A number as it is written: whole ones exactly, where they fit.
    pub(super) fn number(written: &str) -> Option<Self> {
        let written = written.trim();
        if let Ok(whole) = written.parse::<i64>() {
            return Some(Self::Number(whole.into()));
        }
        if let Ok(whole) = written.parse::<u64>() {
            return Some(Self::Number(whole.into()));
        }
        // More than what Rust reads as a number ("inf", "nan") begins with a letter.
        let value: f64 = written.parse().ok().filter(|value: &f64| value.is_finite())?;
        number_of(value).map(Self::Number)
    }

    /// How many bytes its text has.
    pub(super) fn text_bytes(&self) -> usize {
        match self {
            Self::Text(text) => text.len(),
            _ => 0,
        }
    }

    /// The value in a record; none of an error.
    pub(super) fn value(&self, with_time: bool) -> Option<Value> {
        Some(match self {
            Self::Text(text) => Value::String(text.as_ref().to_owned()),
            Self::Number(number) => Value::Number(number.clone()),
            Self::Bool(value) => Value::Bool(*value),
            Self::Moment(moment) => Value::String(written(moment, with_time)),
            Self::Clock(milliseconds) => Value::String(clock(*milliseconds)),
            Self::Error | Self::NoValue(_) => return None,
        })
    }

    pub(super) fn of_head(&self) -> HeadCell<'_> {
        match self {
            Self::Text(text) => HeadCell::Text(text.as_ref().into()),
            Self::Error | Self::NoValue(_) => HeadCell::Value(String::new()),
            Self::Moment(moment) => HeadCell::Value(written(moment, moment.time() != chrono::NaiveTime::MIN)),
            other => {
                let value = other.value(true).unwrap_or_default();
                HeadCell::Value(value.as_str().map_or_else(|| value.to_string(), str::to_owned))
            }
        }
    }
}

/// The number, as an integer where it is one.
fn number_of(value: f64) -> Option<Number> {
    const LIMIT: f64 = 9_223_372_036_854_775_808.0;
    if value.fract() == 0.0 && value.abs() < LIMIT {
        #[expect(clippy::cast_possible_truncation, reason = "whole, and within the bounds")]
        return Some((value as i64).into());
    }
    Number::from_f64(value)
}

fn written(moment: &NaiveDateTime, with_time: bool) -> String {
    match (with_time, moment.nanosecond() / 1_000_000) {
        (false, _) => moment.format("%Y-%m-%d").to_string(),
        (true, 0) => moment.format("%Y-%m-%dT%H:%M:%S").to_string(),
        (true, milliseconds) => format!("{}.{milliseconds:03}", moment.format("%Y-%m-%dT%H:%M:%S")),
    }
}

fn clock(milliseconds: u64) -> String {
    let (seconds, milliseconds) = (milliseconds / 1_000, milliseconds % 1_000);
    let time = format!("{:02}:{:02}:{:02}", seconds / 3_600, seconds / 60 % 60, seconds % 60);
    if milliseconds == 0 { time } else { format!("{time}.{milliseconds:03}") }
}

/// `C7`, of the row from 1 and the column from 0.
pub(super) fn cell_name(row: u64, column: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column + 1;
    while rest > 0 {
        letters.push(b'A' + ((rest - 1) % 26) as u8);
        rest = (rest - 1) / 26;
    }
    letters.reverse();
    format!("{}{row}", String::from_utf8_lossy(&letters))
}
