//! One question to the matcher: a book with everything that is asked together with it.

use chrono::{DateTime, TimeDelta, Utc};
use matcher::Facts;
use model::reading::Readings;
use model::{Book, Rules};

/// A book with its readings and cut-offs, the rules, all as of [`as_of`].
#[derive(Clone, Debug, Default)]
pub struct Case {
    pub book: Book,
    pub readings: Readings,
    pub cut_offs: Vec<Option<DateTime<Utc>>>,
    pub rules: Rules,
}

impl Case {
    pub fn facts(&self) -> Facts<'_> {
        Facts::of_tables(&self.readings, &self.cut_offs)
    }
}

/// The moment for which every case is asked: noon, so that a day given without a time can be over or not.
pub fn as_of() -> DateTime<Utc> {
    DateTime::parse_from_rfc3339("2026-11-25T12:00:00Z").expect("a time of RFC 3339").to_utc()
}

/// So many seconds after [`as_of`].
pub fn after(seconds: i64) -> DateTime<Utc> {
    as_of() + TimeDelta::seconds(seconds)
}
