//! The forms in which a source writes moments: RFC 3339, a count since 1970, or a pattern of its own.
//!
//! Must not know which column holds one. Start reading at [`MomentForm`].

use chrono::format::{Fixed, Item, Numeric, Parsed, StrftimeItems, parse};
use chrono::{DateTime, NaiveDate, SecondsFormat, TimeDelta, Utc};
use chrono_tz::Tz;
use model::when::local_moment;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::error::DeclarationError;
use crate::bad_row::shown;

/// Moments before this, counted since 1970, are counts of another unit: no order, submission or parcel of a source
/// that answers over HTTP is older than the web. 1990-01-01T00:00:00Z, in seconds.
const OLDEST_SECONDS: i64 = 631_152_000;

/// How a source writes moments.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MomentForm(Form);

#[derive(Clone, PartialEq, Eq, Debug)]
enum Form {
    Rfc3339,
    EpochSeconds,
    EpochMilliseconds,
    Pattern { text: String, says: Says },
}

/// What a pattern says.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Says {
    /// A moment: the offset is in it, or it is a count.
    Moment,
    /// A time of the clock in a place.
    Local,
    /// A date alone.
    Day,
}

/// A text that is not in the form.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct NotInForm {
    /// Goes on from the text: `is not a time`.
    pub(crate) problem: &'static str,
    /// What was expected.
    pub(crate) expected: String,
}

impl MomentForm {
    const EXPECTED: &str =
        r#""rfc3339", "epoch_seconds", "epoch_milliseconds", or a strftime pattern such as "%d.%m.%Y %H:%M""#;

    /// Times with offset, and dates alone.
    pub(super) const RFC_3339: Self = Self(Form::Rfc3339);

    /// Reads the name of a form, or a pattern.
    pub(crate) fn parse(text: &str) -> Result<Self, DeclarationError> {
        Ok(Self(match text {
            "rfc3339" => Form::Rfc3339,
            "epoch_seconds" => Form::EpochSeconds,
            "epoch_milliseconds" => Form::EpochMilliseconds,
            _ => {
                let says = says(text).map_err(|found| {
                    DeclarationError::found(format!("{}, {found}", shown(text)), Self::EXPECTED)
                })?;
                Form::Pattern { text: text.to_owned(), says }
            }
        }))
    }

    /// Whether a time in it means a moment only together with a zone.
    pub(super) fn needs_zone(&self) -> bool {
        matches!(self.0, Form::Pattern { says: Says::Local, .. })
    }

    /// Whether a zone can change what it means: of local times, and of dates alone.
    pub(super) fn can_use_zone(&self) -> bool {
        matches!(self.0, Form::Rfc3339 | Form::Pattern { says: Says::Local | Says::Day, .. })
    }

    /// A moment in this form, in UTC.
    pub(super) fn written(&self, moment: DateTime<Utc>) -> String {
        match &self.0 {
            Form::Rfc3339 => moment.to_rfc3339_opts(SecondsFormat::Secs, true),
            Form::EpochSeconds => moment.timestamp().to_string(),
            Form::EpochMilliseconds => moment.timestamp_millis().to_string(),
            Form::Pattern { text, .. } => moment.format(text).to_string(),
        }
    }

    /// A text in this form as the exchange files have it, RFC 3339 or a date alone; `None`: not known.
    ///
    /// A local time is the earlier moment where the clock of `zone` shows it twice, and, where the clock skips it, the
    /// moment at which the skip happens. A count of zero is not known: nothing of a source happened in 1970.
    pub(crate) fn read(&self, text: &str, zone: Tz) -> Result<Option<String>, NotInForm> {
        match &self.0 {
            Form::Rfc3339 => Ok(Some(text.to_owned())),
            Form::EpochSeconds => self.count(text, Decimal::ONE_THOUSAND * Decimal::ONE_THOUSAND),
            Form::EpochMilliseconds => self.count(text, Decimal::ONE_THOUSAND),
            Form::Pattern { text: pattern, says } => {
                let parsed =
                    parsed(pattern, text).ok_or_else(|| self.not_in_form("is not a time in that form"))?;
                let no_such = || self.not_in_form("is no time that there is");
                let moment = match says {
                    Says::Moment => parsed.to_datetime().ok().map(|time| time.to_utc()),
                    Says::Local => {
                        let local = parsed.to_naive_datetime_with_offset(0).ok();
                        local.and_then(|local| local_moment(local, zone))
                    }
                    Says::Day => {
                        let day: NaiveDate = parsed.to_naive_date().map_err(|_| no_such())?;
                        return Ok(Some(day.format("%Y-%m-%d").to_string()));
                    }
                };
                moment.map(|moment| Some(as_rfc_3339(moment))).ok_or_else(no_such)
            }
        }
    }

    /// `microseconds` is how many one of the unit has; what is finer is cut off.
    fn count(&self, text: &str, microseconds: Decimal) -> Result<Option<String>, NotInForm> {
        let count = model::money::parse_amount(text).ok_or_else(|| self.not_in_form("is not a number"))?;
        if count.is_zero() {
            return Ok(None);
        }
        let moment = count
            .checked_mul(microseconds)
            .and_then(|count| count.trunc().to_i64())
            .and_then(DateTime::from_timestamp_micros)
            .filter(|moment| moment.timestamp() < LATEST_SECONDS)
            .ok_or_else(|| self.not_in_form("is after the year 9999"))?;
        if moment.timestamp() < OLDEST_SECONDS {
            return Err(self.not_in_form("is before the year 1990"));
        }
        Ok(Some(as_rfc_3339(moment)))
    }

    fn not_in_form(&self, problem: &'static str) -> NotInForm {
        let expected = match &self.0 {
            Form::Rfc3339 => model::When::EXPECTED.to_owned(),
            Form::EpochSeconds => "seconds since 1970-01-01T00:00:00Z, such as 1795595400".to_owned(),
            Form::EpochMilliseconds => {
                "milliseconds since 1970-01-01T00:00:00Z, such as 1795595400000".to_owned()
            }
            Form::Pattern { text, .. } => {
                format!("a time in the form {text}, such as {}", shown(&self.written(sample())))
            }
        };
        NotInForm { problem, expected }
    }
}

/// 10000-01-01T00:00:00Z: RFC 3339 has years of four digits.
const LATEST_SECONDS: i64 = 253_402_300_800;

fn as_rfc_3339(moment: DateTime<Utc>) -> String {
    moment.to_rfc3339_opts(SecondsFormat::AutoSi, true)
}

/// 2026-11-24T08:30:00Z: what a pattern is tried on, and what errors show.
fn sample() -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::seconds(1_795_509_000)
}

fn parsed(pattern: &str, text: &str) -> Option<Parsed> {
    let mut parsed = Parsed::new();
    parse(&mut parsed, text, StrftimeItems::new(pattern)).ok()?;
    Some(parsed)
}

/// What a pattern says, found by writing a moment in it and reading it again.
fn says(pattern: &str) -> Result<Says, &'static str> {
    let mut tells_time = false;
    for item in StrftimeItems::new(pattern) {
        match item {
            Item::Error => return Err("which is no pattern"),
            Item::Fixed(Fixed::TimezoneName) => {
                return Err(
                    "whose %Z is the name of a zone, which is not read: give `zone`, and the words as they stand",
                );
            }
            Item::Numeric(
                Numeric::Hour | Numeric::Hour12 | Numeric::Minute | Numeric::Second | Numeric::Timestamp,
                _,
            )
            | Item::Fixed(Fixed::RFC2822 | Fixed::RFC3339) => tells_time = true,
            _ => {}
        }
    }
    let moment = sample();
    let read = parsed(pattern, &moment.format(pattern).to_string()).ok_or("which cannot be read back")?;
    let is_the_moment = |time: DateTime<Utc>| time.timestamp() / 60 == moment.timestamp() / 60;
    if read.to_datetime().is_ok_and(|time| is_the_moment(time.to_utc())) {
        return Ok(Says::Moment);
    }
    if read.to_naive_datetime_with_offset(0).is_ok_and(|local| is_the_moment(local.and_utc())) {
        return Ok(Says::Local);
    }
    match read.to_naive_date() {
        Ok(day) if day == moment.date_naive() && !tells_time => Ok(Says::Day),
        _ => Err("which does not say year, month, day, hour and minute, or year, month and day alone"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(text: &str) -> MomentForm {
        MomentForm::parse(text).unwrap()
    }

    fn read(form_text: &str, text: &str) -> Result<Option<String>, &'static str> {
        form(form_text).read(text, Tz::Europe__Oslo).map_err(|error| error.problem)
    }

    #[test]
    fn moments_are_read_in_the_form_of_the_source() {
        for (form, text, want) in [
            ("rfc3339", "2026-11-24T09:30:00+01:00", "2026-11-24T09:30:00+01:00"),
            ("epoch_seconds", "1795509000", "2026-11-24T08:30:00Z"),
            ("epoch_seconds", "1795509000.25", "2026-11-24T08:30:00.250Z"),
            ("epoch_milliseconds", "1795509000125", "2026-11-24T08:30:00.125Z"),
            ("%Y-%m-%d %H:%M:%S", "2026-11-24 09:30:05", "2026-11-24T08:30:05Z"),
            ("%d.%m.%Y %H:%M", "24.11.2026 09:30", "2026-11-24T08:30:00Z"),
            ("%m/%d/%Y %I:%M %p", "07/04/2026 09:30 PM", "2026-07-04T19:30:00Z"),
            ("%Y-%m-%dT%H:%M:%S%z", "2026-11-24T09:30:00-0500", "2026-11-24T14:30:00Z"),
            ("%a, %d %b %Y %H:%M:%S GMT", "Tue, 24 Nov 2026 08:30:00 GMT", "2026-11-24T07:30:00Z"),
            ("%s", "1795509000", "2026-11-24T08:30:00Z"),
            ("%d %B %Y", "24 November 2026", "2026-11-24"),
        ] {
            assert_eq!(read(form, text), Ok(Some(want.to_owned())), "{form} {text}");
        }
        assert_eq!(read("epoch_seconds", "0"), Ok(None));
    }

    /// Source: IANA time zone database, rules EU: in 2026 the clock goes from 02:00 to 03:00 on 29 March and from 03:00
    /// to 02:00 on 25 October.
    #[test]
    fn a_local_time_that_is_skipped_or_repeated_has_one_meaning() {
        for (text, want) in [
            ("2026-03-29 01:59", "2026-03-29T00:59:00Z"),
            ("2026-03-29 02:00", "2026-03-29T01:00:00Z"),
            ("2026-03-29 02:30", "2026-03-29T01:00:00Z"),
            ("2026-03-29 03:00", "2026-03-29T01:00:00Z"),
            ("2026-10-25 02:30", "2026-10-25T00:30:00Z"),
            ("2026-10-25 03:00", "2026-10-25T02:00:00Z"),
        ] {
            assert_eq!(read("%Y-%m-%d %H:%M", text), Ok(Some(want.to_owned())), "{text}");
        }
    }

    #[test]
    fn what_is_not_in_the_form_is_refused() {
        for (form, text, problem) in [
            ("epoch_seconds", "now", "is not a number"),
            ("epoch_seconds", "1e9", "is not a number"),
            ("epoch_seconds", "1795509000000", "is after the year 9999"),
            ("epoch_seconds", "99999999999999999999999999", "is after the year 9999"),
            ("epoch_seconds", "-5", "is before the year 1990"),
            ("epoch_milliseconds", "1795509000", "is before the year 1990"),
            ("%d.%m.%Y %H:%M", "2026-11-24", "is not a time in that form"),
            ("%d.%m.%Y %H:%M", "31.02.2026 09:30", "is no time that there is"),
            ("%d.%m.%Y", "24.11.2026 09:30", "is not a time in that form"),
        ] {
            assert_eq!(read(form, text), Err(problem), "{form} {text}");
        }
        let error = form("%d.%m.%Y %H:%M").read("x", Tz::UTC).unwrap_err();
        assert_eq!(error.expected, r#"a time in the form %d.%m.%Y %H:%M, such as "24.11.2026 08:30""#);
    }

    #[test]
    fn a_pattern_says_a_moment_a_local_time_or_a_day() {
        for (pattern, says) in [
            ("%Y-%m-%dT%H:%M:%S%:z", Says::Moment),
            ("%+", Says::Moment),
            ("%s", Says::Moment),
            ("%Y%m%d%H%M%S", Says::Local),
            ("%Y-%m-%d", Says::Day),
            ("%Y-%j", Says::Day),
        ] {
            assert_eq!(super::says(pattern), Ok(says), "{pattern}");
        }
        for pattern in ["%Q", "%H:%M", "%Y-%m", "%Y-%m-%d %H", "yesterday", "", "%Y-%m-%d %H:%M %Z"] {
            assert!(super::says(pattern).is_err(), "{pattern}");
        }
    }

    #[test]
    fn changes_are_asked_for_in_the_form_of_the_source() {
        for (form_text, want) in [
            ("rfc3339", "2026-11-24T08:30:00Z"),
            ("epoch_seconds", "1795509000"),
            ("epoch_milliseconds", "1795509000000"),
            ("%Y-%m-%d %H:%M", "2026-11-24 08:30"),
        ] {
            assert_eq!(form(form_text).written(sample()), want);
        }
    }
}
