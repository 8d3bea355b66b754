//! How long to wait before asking again.
//!
//! Start reading at [`back_off`] and [`retry_after`].

use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};

use super::Limits;

/// The wait after the try of this number, from 1: twice as long each time, up to the longest, and of that between a half
/// and all by chance, so that many who were refused together do not come again together.
pub(super) fn back_off(tries: u32, limits: &Limits, random: f64) -> Duration {
    let doubled =
        limits.first_wait.saturating_mul(1_u32.checked_shl(tries.saturating_sub(1)).unwrap_or(u32::MAX));
    doubled.min(limits.longest_wait).mul_f64(0.5 + random.clamp(0.0, 1.0) / 2.0)
}

/// What `Retry-After` says, as a span from now; `None` where it is in neither form. A moment counts from the source's own
/// `Date`, where it gives one: its clock may be off. Source: RFC 9110, 10.2.3.
pub(super) fn retry_after(value: &str, date: Option<DateTime<Utc>>, now: DateTime<Utc>) -> Option<Duration> {
    let value = value.trim();
    if !value.is_empty() && value.bytes().all(|byte| byte.is_ascii_digit()) {
        // More digits than fit mean for ever; the limit says what becomes of that.
        return Some(Duration::from_secs(value.parse().unwrap_or(u64::from(u32::MAX))));
    }
    let until = http_date(value)?;
    let span = until.signed_duration_since(date.unwrap_or(now));
    Some(span.max(TimeDelta::zero()).to_std().unwrap_or_default())
}

/// An HTTP date in any of its three forms. Source: RFC 9110, 5.6.7.
pub(super) fn http_date(value: &str) -> Option<DateTime<Utc>> {
    httpdate::parse_http_date(value.trim()).ok().map(DateTime::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    #[test]
    fn waits_double_up_to_the_longest_and_vary_by_chance() {
        let limits = Limits::default();
        let millis = |tries, random| back_off(tries, &limits, random).as_millis();
        assert_eq!(
            [millis(1, 0.0), millis(2, 0.0), millis(3, 0.0), millis(4, 0.0)],
            [500, 1_000, 2_000, 4_000]
        );
        assert_eq!(
            [millis(1, 1.0), millis(6, 1.0), millis(40, 1.0), millis(99, 0.5)],
            [1_000, 30_000, 30_000, 22_500]
        );
    }

    /// Source: RFC 9110, 10.2.3 (both examples), and 5.6.7 (the three forms of one date).
    #[test]
    fn retry_after_is_read_in_both_forms() {
        let now = utc("1999-12-31T23:57:59Z");
        let seconds = |value| retry_after(value, None, now).map(|span| span.as_secs());
        assert_eq!(seconds("120"), Some(120));
        assert_eq!(seconds("Fri, 31 Dec 1999 23:59:59 GMT"), Some(120));
        assert_eq!(seconds("0"), Some(0));
        assert_eq!(seconds("99999999999999999999999"), Some(u64::from(u32::MAX)));
        assert_eq!(seconds("Thu, 31 Dec 1998 23:59:59 GMT"), Some(0));
        for value in ["", "soon", "-5", "1.5", "2 minutes"] {
            assert_eq!(seconds(value), None, "{value}");
        }
        for date in
            ["Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT", "Sun Nov  6 08:49:37 1994"]
        {
            assert_eq!(http_date(date), Some(utc("1994-11-06T08:49:37Z")), "{date}");
        }
    }

    #[test]
    fn a_moment_to_come_again_counts_by_the_clock_of_the_source() {
        let date = Some(utc("1999-12-31T23:59:50Z"));
        let span = retry_after("Fri, 31 Dec 1999 23:59:59 GMT", date, utc("2026-11-24T00:00:00Z"));
        assert_eq!(span, Some(Duration::from_secs(9)));
    }
}
