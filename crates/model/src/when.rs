//! Moments, and days given without a time.

use chrono::{DateTime, Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use thiserror::Error;

/// A point in time as a table gives it: a moment, or a whole day in the shop's zone.
///
/// A day begins at its first moment and ends where the next one begins, also where a daylight-saving change
/// skips or repeats midnight. A moment begins and ends at itself.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct When {
    begins: DateTime<Utc>,
    ends: DateTime<Utc>,
}

/// What could not be read as a time.
#[derive(Debug, Error, PartialEq, Eq)]
#[error("not a time")]
pub struct NotATime;

impl When {
    /// What an error says was expected.
    pub const EXPECTED: &str =
        "a time such as 2026-11-25T09:30:00+01:00 (RFC 3339 with offset), or a date such as 2026-11-25";

    /// An exact moment.
    pub fn at(moment: DateTime<Utc>) -> Self {
        Self { begins: moment, ends: moment }
    }

    /// A whole day of `zone`. `None` where the calendar ends.
    pub fn day(day: NaiveDate, zone: Tz) -> Option<Self> {
        let next = day.checked_add_days(Days::new(1))?;
        Some(Self { begins: first_moment(day, zone)?, ends: first_moment(next, zone)? })
    }

    /// A span of which both ends are known. `None` where it ends before it begins.
    pub fn between(begins: DateTime<Utc>, ends: DateTime<Utc>) -> Option<Self> {
        (begins <= ends).then_some(Self { begins, ends })
    }

    /// Reads an RFC 3339 time with offset, or a date alone (`YYYY-MM-DD`) as a day of `zone`.
    ///
    /// # Errors
    /// [`NotATime`] for anything else, a time without offset included.
    pub fn parse(text: &str, zone: Tz) -> Result<Self, NotATime> {
        // Chrono would also take a sign, blanks, more or fewer digits, and another minus.
        if !text.is_ascii() || !text.as_bytes().first_chunk().is_some_and(is_written_like_a_day) {
            return Err(NotATime);
        }
        if text.len() == 10 {
            let day = NaiveDate::parse_from_str(text, "%Y-%m-%d").map_err(|_| NotATime)?;
            return Self::day(day, zone).ok_or(NotATime);
        }
        DateTime::parse_from_rfc3339(text).map(|time| Self::at(time.to_utc())).map_err(|_| NotATime)
    }

    /// From when it counts.
    pub fn begins(self) -> DateTime<Utc> {
        self.begins
    }

    /// From when graces run; and, of a promise, until when it holds.
    pub fn ends(self) -> DateTime<Utc> {
        self.ends
    }

    /// Whether more than `grace` has passed at `as_of`.
    pub fn is_over(self, grace: TimeDelta, as_of: DateTime<Utc>) -> bool {
        as_of.signed_duration_since(self.ends) > grace
    }
}

/// Whether these are four digits, two and two, with hyphens between them.
fn is_written_like_a_day(text: &[u8; 10]) -> bool {
    let is_right =
        |(at, byte): (usize, &u8)| if matches!(at, 4 | 7) { *byte == b'-' } else { byte.is_ascii_digit() };
    text.iter().enumerate().all(is_right)
}

/// The first moment of a day in a zone: midnight, or, where a change of offset skips midnight, what follows.
///
/// `None` where the calendar ends.
pub fn first_moment(day: NaiveDate, zone: Tz) -> Option<DateTime<Utc>> {
    local_moment(day.and_time(NaiveTime::MIN), zone)
}

/// A local wall-clock time as a moment: the earlier one where the clock shows it twice, and, where the clock
/// skips it, the moment at which the skip happens.
///
/// `None` where the calendar ends.
pub fn local_moment(local: NaiveDateTime, zone: Tz) -> Option<DateTime<Utc>> {
    if let Some(moment) = zone.from_local_datetime(&local).earliest() {
        return Some(moment.to_utc());
    }
    // No zone has ever skipped more than 24 hours (Samoa, 2011-12-30). Minutes first, then the exact second.
    let after = (1..=26 * 60)
        .filter_map(|minutes| local.checked_add_signed(TimeDelta::minutes(minutes)))
        .find(|later| zone.from_local_datetime(later).earliest().is_some())?;
    (0..60)
        .rev()
        .filter_map(|seconds| after.checked_sub_signed(TimeDelta::seconds(seconds)))
        .find_map(|later| zone.from_local_datetime(&later).earliest())
        .map(|moment| moment.to_utc())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    /// Source: RFC 3339, section 5.8.
    #[test]
    fn the_examples_of_rfc_3339_are_read() {
        for (text, seconds) in [
            ("1985-04-12T23:20:50.52Z", 482_196_050.52),
            ("1996-12-19T16:39:57-08:00", 851_042_397.0),
            ("1937-01-01T12:00:27.87+00:20", -1_041_337_172.13),
        ] {
            let when = When::parse(text, Tz::UTC).unwrap();
            let read = when.begins().timestamp_millis() as f64 / 1000.0;
            assert!((read - seconds).abs() < 0.001, "{text}: {read}");
        }
    }

    #[test]
    fn a_time_without_offset_or_zone_is_refused() {
        for text in
            ["2026-11-25T09:30:00", "2026-11-25 09:30", "25.11.2026", "2026-13-01", "2026-02-30", "", "now"]
        {
            assert_eq!(When::parse(text, Tz::UTC), Err(NotATime), "{text:?}");
        }
    }

    #[test]
    fn a_date_has_four_digits_two_and_two() {
        for text in [
            "-026-11-24",
            "+026-11-24",
            "-0026-11-24",
            "2026- 1-24",
            "2026-11-4",
            "02026-1-24",
            "2026-1-024",
            "2026-11-24T10:00:00−01:00",
        ] {
            assert_eq!(When::parse(text, Tz::UTC), Err(NotATime), "{text:?}");
        }
    }

    #[test]
    fn a_date_is_the_whole_day_in_the_shops_zone() {
        let day = When::parse("2026-11-25", Tz::Europe__Berlin).unwrap();
        assert_eq!(day.begins(), utc("2026-11-24T23:00:00Z"));
        assert_eq!(day.ends(), utc("2026-11-25T23:00:00Z"));
    }

    /// Source: IANA time zone database, rules EU, Azores, Chile and Samoa.
    #[test]
    fn days_of_23_25_and_0_hours_and_a_skipped_midnight_are_right() {
        let hours = |day: &str, zone| {
            let day = When::parse(day, zone).unwrap();
            day.ends().signed_duration_since(day.begins()).num_hours()
        };
        assert_eq!(hours("2026-03-29", Tz::Europe__Berlin), 23);
        assert_eq!(hours("2026-10-25", Tz::Europe__Berlin), 25);
        assert_eq!(hours("2026-03-29", Tz::Atlantic__Azores), 23);
        let santiago = When::parse("2026-09-06", Tz::America__Santiago).unwrap();
        assert_eq!(santiago.begins(), utc("2026-09-06T04:00:00Z"));
        assert_eq!(hours("2011-12-30", Tz::Pacific__Apia), 0);
    }

    #[test]
    fn a_grace_is_over_when_more_than_it_has_passed_and_runs_from_a_days_end() {
        let grace = TimeDelta::minutes(60);
        let paid = When::parse("2026-11-25T10:00:00Z", Tz::UTC).unwrap();
        assert!(!paid.is_over(grace, utc("2026-11-25T11:00:00Z")));
        assert!(paid.is_over(grace, utc("2026-11-25T11:00:01Z")));
        let day = When::parse("2026-11-25", Tz::UTC).unwrap();
        assert!(!day.is_over(grace, utc("2026-11-26T01:00:00Z")));
        assert!(day.is_over(grace, utc("2026-11-26T01:00:01Z")));
    }
}
