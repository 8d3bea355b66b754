//! Times out of cells, by the hundred thousand: the usual forms at once, all others through [`When`].
//!
//! Must not know: what a time means. Start reading at [`Times::read`].

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::When;
use model::straight::Age;

/// A moment, ordered like the one that it stands for: seconds since 1970, and nanoseconds, over a thousand million
/// in a leap second.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct Moment {
    seconds: i64,
    nanoseconds: u32,
}

impl From<DateTime<Utc>> for Moment {
    fn from(time: DateTime<Utc>) -> Self {
        Self { seconds: time.timestamp(), nanoseconds: time.timestamp_subsec_nanos() }
    }
}

impl Moment {
    /// How long ago it was; up to two seconds more than that.
    pub(crate) fn age(self, as_of: Self) -> Age {
        let seconds = as_of.seconds.saturating_sub(self.seconds).saturating_add(1);
        Age::try_from(seconds.max(0)).unwrap_or(Age::MAX)
    }

    /// As the model has it.
    pub(crate) fn time(self) -> Option<DateTime<Utc>> {
        DateTime::from_timestamp(self.seconds, self.nanoseconds)
    }
}

/// A cell's time: a moment, or a whole day.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Span {
    pub(crate) begins: Moment,
    pub(crate) ends: Moment,
}

impl From<When> for Span {
    fn from(when: When) -> Self {
        Self { begins: when.begins().into(), ends: when.ends().into() }
    }
}

/// What days come to, by how they are written.
struct Days<T>(Vec<Option<([u8; 10], T)>>);

/// How many days are remembered at once: no two of the same year share a place.
const PLACES: usize = 1024;

impl<T: Copy> Days<T> {
    fn new() -> Self {
        Self(vec![None; PLACES])
    }

    /// By the last digit of the year, the month and the day.
    #[inline(always)]
    fn place(day: &[u8; 10]) -> usize {
        let digit = |at: usize| usize::from(day[at] & 15);
        let month_and_day = (digit(5) * 10 + digit(6)) << 5 | (digit(8) * 10 + digit(9)) & 31;
        (month_and_day + (digit(3) << 9)) % PLACES
    }

    #[inline(always)]
    fn get_or(&mut self, day: &[u8; 10], find: impl FnOnce() -> Option<T>) -> Option<T> {
        let place = &mut self.0[Self::place(day)];
        match place {
            Some((known, found)) if known == day => Some(*found),
            _ => {
                let found = find()?;
                *place = Some((*day, found));
                Some(found)
            }
        }
    }
}

/// Reads times, and remembers days.
pub(crate) struct Times {
    zone: Tz,
    /// What a cell comes to that holds a day alone.
    whole: Days<Span>,
    /// How many days after 1970 a moment's day is.
    since_1970: Days<i64>,
}

impl Times {
    pub(crate) fn new(zone: Tz) -> Self {
        Self { zone, whole: Days::new(), since_1970: Days::new() }
    }

    /// The time that a cell holds; `None` where [`When`] reads none.
    #[inline]
    pub(crate) fn read(&mut self, cell: &[u8]) -> Option<Span> {
        if let Some(seconds) = self.unix_seconds(cell) {
            let moment = Moment { seconds, nanoseconds: 0 };
            return Some(Span { begins: moment, ends: moment });
        }
        let when = || Some(When::parse(std::str::from_utf8(cell).ok()?, self.zone).ok()?.into());
        match cell.as_array::<10>() {
            Some(day) => self.whole.get_or(day, when),
            None => when(),
        }
    }

    /// The seconds since 1970 of a time like `2026-11-25T09:30:00Z` or `2026-11-25T09:30:00+01:00`; `None` of any other
    /// form, and of what is no time.
    #[inline]
    fn unix_seconds(&mut self, cell: &[u8]) -> Option<i64> {
        let (day, time) = cell.split_first_chunk::<10>()?;
        let (time, zone) = time.split_first_chunk::<9>()?;
        if [time[0], time[3], time[6]] != *b"T::" {
            return None;
        }
        let two = |at: usize| digits(time[at], time[at + 1]);
        let (hour, minute, second) = (two(1)?, two(4)?, two(7)?);
        if hour > 23 || minute > 59 || second > 59 {
            return None;
        }
        let offset = match *zone {
            [b'Z'] => 0,
            [sign @ (b'+' | b'-'), h1, h2, b':', m1, m2] => {
                let (hours, minutes) = (digits(h1, h2)?, digits(m1, m2)?);
                if hours > 23 || minutes > 59 {
                    return None;
                }
                let seconds = i64::from(hours * 3600 + minutes * 60);
                if sign == b'-' { -seconds } else { seconds }
            }
            _ => return None,
        };
        let of_day = i64::from(hour * 3600 + minute * 60 + second);
        let days = self.since_1970.get_or(day, || days_of(day))?;
        Some(days * 86_400 + of_day - offset)
    }
}

/// How many days after 1970 a day like `2026-11-25` is; `None` of what is no day.
fn days_of(day: &[u8; 10]) -> Option<i64> {
    if [day[4], day[7]] != *b"--" {
        return None;
    }
    let two = |at: usize| digits(day[at], day[at + 1]);
    let (year, month, day) = (two(0)? * 100 + two(2)?, two(5)?, two(8)?);
    let is_day = (1..=12).contains(&month) && (1..=days_in(year, month)).contains(&day);
    is_day.then(|| days_since_1970(year, month, day))
}

#[inline(always)]
fn digits(tens: u8, ones: u8) -> Option<u32> {
    let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
    if tens < 10 && ones < 10 { Some(u32::from(tens) * 10 + u32::from(ones)) } else { None }
}

fn is_leap(year: u32) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

fn days_in(year: u32, month: u32) -> u32 {
    const DAYS: [u32; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    DAYS[month as usize - 1] + u32::from(month == 2 && is_leap(year))
}

/// Days of the Gregorian calendar, carried on into the past.
fn days_since_1970(year: u32, month: u32, day: u32) -> i64 {
    const BEFORE: [u32; 12] = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];
    // Counted from a year that is a multiple of 400 and before all others.
    let years = i64::from(year) + 400 - 1;
    let leap_days = years / 4 - years / 100 + years / 400;
    let of_year = i64::from(BEFORE[month as usize - 1] + day - 1) + i64::from(month > 2 && is_leap(year));
    const DAYS_TO_1970: i64 = 2_369 * 365 + 2_369 / 4 - 2_369 / 100 + 2_369 / 400;
    years * 365 + leap_days + of_year - DAYS_TO_1970
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn unix_seconds(text: &str) -> Option<i64> {
        Times::new(Tz::UTC).unix_seconds(text.as_bytes())
    }

    fn agrees(text: &str) {
        let seconds = unix_seconds(text);
        let when = When::parse(text, Tz::UTC).ok().map(|when| when.begins().timestamp());
        assert!(seconds.is_none() || seconds == when, "{text}: {seconds:?}, {when:?}");
    }

    /// Source: RFC 3339, section 5.8, and the crate chrono.
    #[test]
    fn a_usual_time_is_read_as_chrono_reads_it() {
        assert_eq!(unix_seconds("1996-12-19T16:39:57-08:00"), Some(851_042_397));
        for year in [
            "0000", "0001", "0004", "0099", "0100", "0400", "1900", "1969", "1970", "2000", "2026", "2100",
            "9999",
        ] {
            for month in 0..=13 {
                for day in [0, 1, 28, 29, 30, 31, 32] {
                    let text = format!("{year}-{month:02}-{day:02}T23:59:59+23:59");
                    agrees(&text);
                    assert_eq!(unix_seconds(&text).is_some(), When::parse(&text, Tz::UTC).is_ok(), "{text}");
                }
            }
        }
    }

    #[test]
    fn a_cell_is_a_time_where_the_model_reads_one() {
        let mut times = Times::new(Tz::Europe__Berlin);
        for text in [
            "2026-03-29",
            "2026-10-25",
            "2026-10-25",
            "2026-02-30",
            "2026-11-25T09:30:00.5+01:00",
            "2016-12-31T23:59:60Z",
            "2026-11-25t09:30:00z",
            "2026-11-25 09:30:00Z",
            "2026-11-25T09:30:00",
            "",
            "x",
            "2026-11-25T24:00:00Z",
        ] {
            let want = When::parse(text, Tz::Europe__Berlin).ok().map(Span::from);
            assert_eq!(times.read(text.as_bytes()), want, "{text}");
        }
    }

    proptest! {
        /// Days that share a place are not taken for each other.
        #[test]
        fn a_day_that_was_read_does_not_answer_for_another(
            texts in proptest::collection::vec("[12][09][0-3][0-9]-[01][0-9]-[0-3][0-9](T12:00:00Z)?", 0..600),
        ) {
            let mut times = Times::new(Tz::UTC);
            for text in texts {
                let want = When::parse(&text, Tz::UTC).ok().map(Span::from);
                prop_assert_eq!(times.read(text.as_bytes()), want, "{}", text);
            }
        }

        #[test]
        fn a_time_of_any_digits_is_read_as_chrono_reads_it(text in "[0-9]{4}-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-6][0-9]:[0-6][0-9](Z|[+-][0-2][0-9]:[0-6][0-9])") {
            agrees(&text);
        }
    }
}
