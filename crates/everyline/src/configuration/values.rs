//! The kinds of single values that a configuration holds, each read from text or refused with what was expected.
//!
//! Must not know any key. Start reading at [`Text`].

use std::fmt;
use std::marker::PhantomData;

use chrono::{NaiveDate, NaiveTime, TimeDelta, Weekday};
use chrono_tz::{TZ_VARIANTS, Tz};
use model::reading::Kind;
use model::{Currency, money};
use regex::Regex;
use rust_decimal::Decimal;
use serde::de::{self, Deserialize, Deserializer, Unexpected, Visitor};

use super::problem::nearest;

/// A value that the file writes as text.
#[derive(Clone, Debug)]
pub struct Text<T>(pub T);

/// How a value is read from text.
pub trait Written: Sized {
    /// What an error says was expected.
    const EXPECTED: &str;

    /// `None` where the text is something else.
    fn parse(text: &str) -> Option<Self>;

    /// What an error adds about a text that could not be read.
    fn hint(_text: &str) -> Option<String> {
        None
    }
}

impl<'de, T: Written> Deserialize<'de> for Text<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_str(TextVisitor(PhantomData)).map(Self)
    }
}

struct TextVisitor<T>(PhantomData<T>);

impl<T: Written> Visitor<'_> for TextVisitor<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(T::EXPECTED)
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<T, E> {
        T::parse(text).ok_or_else(|| {
            let hint = T::hint(text).map(|hint| format!(" ({hint})")).unwrap_or_default();
            E::invalid_value(Unexpected::Str(text), &format!("{}{hint}", T::EXPECTED).as_str())
        })
    }
}

/// A span of time, whole or in parts: `90 min`, `1 h 30 min`.
impl Written for TimeDelta {
    const EXPECTED: &str = r#"a span of time in quotes, such as "60 min", "12 h" or "3 days""#;

    fn parse(text: &str) -> Option<Self> {
        Self::from_std(humantime::parse_duration(text).ok()?).ok()
    }
}

impl Written for Tz {
    const EXPECTED: &str = r#"a zone of the IANA time zone database, such as "Europe/Berlin""#;

    fn parse(text: &str) -> Option<Self> {
        text.parse().ok()
    }

    fn hint(text: &str) -> Option<String> {
        nearest(text, TZ_VARIANTS.iter().map(|zone| zone.name()))
            .map(|near| format!("the nearest is {near:?}"))
    }
}

impl Written for NaiveTime {
    const EXPECTED: &str = r#"a time of day with two digits each, such as "14:00""#;

    fn parse(text: &str) -> Option<Self> {
        (text.len() == 5).then(|| Self::parse_from_str(text, "%H:%M").ok())?
    }
}

impl Written for NaiveDate {
    const EXPECTED: &str = r#"a date such as "2026-12-25""#;

    fn parse(text: &str) -> Option<Self> {
        (text.len() == 10).then(|| Self::parse_from_str(text, "%Y-%m-%d").ok())?
    }
}

/// The days of the week as the file writes them, from Monday.
pub const WEEKDAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Mon),
    ("tue", Weekday::Tue),
    ("wed", Weekday::Wed),
    ("thu", Weekday::Thu),
    ("fri", Weekday::Fri),
    ("sat", Weekday::Sat),
    ("sun", Weekday::Sun),
];

impl Written for Weekday {
    const EXPECTED: &str = "one of mon, tue, wed, thu, fri, sat, sun, in quotes";

    fn parse(text: &str) -> Option<Self> {
        WEEKDAYS.iter().find(|(word, _)| *word == text).map(|(_, day)| *day)
    }
}

/// What words can be for, as the file writes it.
const KINDS: [(&str, Kind); 4] = [
    ("product", Kind::ProductType),
    ("age group", Kind::AgeGroup),
    ("size", Kind::Size),
    ("colour", Kind::Colour),
];

impl Written for Kind {
    const EXPECTED: &str = "one of product, age group, size, colour, in quotes";

    fn parse(text: &str) -> Option<Self> {
        KINDS.iter().find(|(word, _)| *word == text).map(|(_, kind)| *kind)
    }
}

/// A decimal that is not negative.
impl Written for Decimal {
    const EXPECTED: &str = r#"a decimal number in quotes that is not negative, such as "6.5""#;

    fn parse(text: &str) -> Option<Self> {
        money::parse_amount(text).filter(|amount| !amount.is_sign_negative())
    }
}

impl Written for Currency {
    const EXPECTED: &str = Self::EXPECTED;

    fn parse(text: &str) -> Option<Self> {
        text.parse().ok()
    }
}

impl Written for Regex {
    const EXPECTED: &str = r"a regular expression in quotes, such as 'order (?P<order>\d+)'";

    fn parse(text: &str) -> Option<Self> {
        Self::new(text).ok()
    }

    fn hint(text: &str) -> Option<String> {
        // The last line of the crate's account says what is wrong; those before it draw the place.
        Self::new(text).err()?.to_string().lines().last().map(|line| line.trim().to_owned())
    }
}
