//! Moments and spans as an owner reads them: in the shop's zone, by day and month, or today and tomorrow.
//!
//! Must not know the machine's clock: the moment from which days are told arrives as an argument.

use std::fmt::{Display, from_fn};

use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

/// As dates say them.
const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// How moments are told.
#[derive(Clone, Copy)]
pub struct Clock {
    zone: Tz,
    today: NaiveDate,
    /// Whether the reader reads today, so that 'tomorrow' says more than a date.
    relative: bool,
}

impl Clock {
    /// For a reader who reads at `now`: 'today', 'tomorrow'.
    pub fn of_a_reader(zone: Tz, now: DateTime<Utc>) -> Self {
        Self { zone, today: now.with_timezone(&zone).date_naive(), relative: true }
    }

    /// For a reader who may read on any day: dates, with the year where it is not the year of `written`.
    pub fn of_any_day(zone: Tz, written: DateTime<Utc>) -> Self {
        Self { zone, today: written.with_timezone(&zone).date_naive(), relative: false }
    }

    /// In a sentence, after 'before', 'by', 'at' or 'since': `14:00 today`, `14:00 on 27 Nov`; in an hour that the clock shows
    /// twice `02:30 CET today`. Seconds are cut.
    pub fn in_a_sentence(&self, moment: DateTime<Utc>) -> String {
        let local = moment.with_timezone(&self.zone);
        let time = time(&local);
        match self.near(local.date_naive()) {
            Some(day) => format!("{time} {day}"),
            None => format!("{time} on {}", self.date(local.date_naive())),
        }
    }

    /// In a sentence, after 'by', of the end of a span: `the end of 24 Nov` where that is the first moment of the
    /// next day, for nobody reads midnight as the day before.
    pub fn end_in_a_sentence(&self, moment: DateTime<Utc>) -> String {
        let day = moment.with_timezone(&self.zone).date_naive();
        match day.pred_opt() {
            Some(last) if model::when::first_moment(day, self.zone) == Some(moment) => {
                match self.near(last) {
                    Some(last) => format!("the end of {last}"),
                    None => format!("the end of {}", self.date(last)),
                }
            }
            _ => self.in_a_sentence(moment),
        }
    }

    /// In a column: `today 14:00`, `27 Nov 14:00`. Seconds are cut.
    pub fn in_a_column(&self, moment: DateTime<Utc>) -> String {
        let local = moment.with_timezone(&self.zone);
        let time = time(&local);
        match self.near(local.date_naive()) {
            Some(day) => format!("{day} {time}"),
            None => format!("{} {time}", self.date(local.date_naive())),
        }
    }

    /// In full: `Wed 25 Nov 2026 at 11:50`.
    pub fn in_full(&self, moment: DateTime<Utc>) -> String {
        let local = moment.with_timezone(&self.zone);
        format!("{} at {}", local.format("%a %-d %b %Y"), time(&local))
    }

    fn near(&self, day: NaiveDate) -> Option<&'static str> {
        if !self.relative {
            return None;
        }
        match day.signed_duration_since(self.today).num_days() {
            -1 => Some("yesterday"),
            0 => Some("today"),
            1 => Some("tomorrow"),
            _ => None,
        }
    }

    fn date(&self, day: NaiveDate) -> impl Display {
        let is_this_year = day.year() == self.today.year();
        from_fn(move |f| {
            write!(f, "{} {}", day.day(), MONTHS[day.month0() as usize])?;
            if is_this_year { Ok(()) } else { write!(f, " {}", day.format("%Y")) }
        })
    }
}

/// `14:00`; where the clock shows it twice, `02:30 CEST` and an hour later `02:30 CET`.
fn time(local: &DateTime<Tz>) -> String {
    let twice = local.timezone().from_local_datetime(&local.naive_local()).single().is_none();
    local.format(if twice { "%H:%M %Z" } else { "%H:%M" }).to_string()
}

/// How long until something must be done: `25 min left`, `2 h 10 min left`, `3 days 4 h left`. Rounded down, so
/// that nobody is promised time that is not there.
pub fn time_left(left: TimeDelta) -> String {
    if left <= TimeDelta::zero() { "no time left".to_owned() } else { format!("{} left", span(left)) }
}

/// How long something is: `under 1 min`, `25 min`, `2 h 10 min`, `3 days 4 h`; of 100 days and more the days alone.
/// Rounded down.
pub fn span(span: TimeDelta) -> String {
    let minutes = span.num_minutes();
    let (days, hours, rest) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
    let days_word = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
    match (days, hours) {
        (0, 0) if rest == 0 => "under 1 min".to_owned(),
        (0, 0) => format!("{rest} min"),
        (0, _) if rest == 0 => format!("{hours} h"),
        (0, _) => format!("{hours} h {rest} min"),
        (100.., _) | (_, 0) => days_word,
        _ => format!("{days_word} {hours} h"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    #[test]
    fn a_moment_is_told_in_the_shops_zone_and_from_the_readers_day() {
        let now = utc("2026-11-25T22:30:00Z");
        let reader = Clock::of_a_reader(Tz::Europe__Berlin, now);
        let any_day = Clock::of_any_day(Tz::Europe__Berlin, now);
        for (moment, column, sentence, dated) in [
            ("2026-11-25T13:00:00Z", "today 14:00", "14:00 today", "14:00 on 25 Nov"),
            ("2026-11-25T23:00:00Z", "tomorrow 00:00", "00:00 tomorrow", "00:00 on 26 Nov"),
            ("2026-11-24T08:05:59Z", "yesterday 09:05", "09:05 yesterday", "09:05 on 24 Nov"),
            ("2026-11-27T13:00:00Z", "27 Nov 14:00", "14:00 on 27 Nov", "14:00 on 27 Nov"),
            ("2027-01-04T13:00:00Z", "4 Jan 2027 14:00", "14:00 on 4 Jan 2027", "14:00 on 4 Jan 2027"),
        ] {
            assert_eq!(reader.in_a_column(utc(moment)), column);
            assert_eq!(reader.in_a_sentence(utc(moment)), sentence);
            assert_eq!(any_day.in_a_sentence(utc(moment)), dated);
        }
        assert_eq!(reader.in_full(now), "Wed 25 Nov 2026 at 23:30");
    }

    #[test]
    fn the_end_of_a_day_is_told_as_that_and_not_as_the_next_midnight() {
        let now = utc("2026-11-25T11:50:00Z");
        let reader = Clock::of_a_reader(Tz::Europe__Berlin, now);
        let any_day = Clock::of_any_day(Tz::Europe__Berlin, now);
        for (moment, relative, dated) in [
            ("2026-11-24T23:00:00Z", "the end of yesterday", "the end of 24 Nov"),
            ("2026-11-20T23:00:00Z", "the end of 20 Nov", "the end of 20 Nov"),
            ("2026-11-24T22:59:00Z", "23:59 yesterday", "23:59 on 24 Nov"),
        ] {
            assert_eq!(reader.end_in_a_sentence(utc(moment)), relative);
            assert_eq!(any_day.end_in_a_sentence(utc(moment)), dated);
        }
    }

    /// Source: IANA time zone database, rule EU: summer time ends on 2026-10-25.
    #[test]
    fn tomorrow_is_the_next_day_of_the_calendar_also_where_a_day_has_25_hours() {
        let reader = Clock::of_a_reader(Tz::Europe__Berlin, utc("2026-10-24T22:30:00Z"));
        assert_eq!(reader.in_a_column(utc("2026-10-25T22:45:00Z")), "today 23:45");
        assert_eq!(reader.in_a_column(utc("2026-10-25T23:15:00Z")), "tomorrow 00:15");
    }

    /// Source: IANA time zone database, rules EU and US: on 2026-10-25 at 01:00 UTC, on 2026-11-01 at 06:00 UTC in New York.
    #[test]
    fn an_hour_that_the_clock_shows_twice_is_told_with_which_and_no_other_is() {
        for (zone, moment, time) in [
            (Tz::Europe__Berlin, "2026-10-24T23:59:00Z", "01:59"),
            (Tz::Europe__Berlin, "2026-10-25T00:00:00Z", "02:00 CEST"),
            (Tz::Europe__Berlin, "2026-10-25T00:30:00Z", "02:30 CEST"),
            (Tz::Europe__Berlin, "2026-10-25T01:30:00Z", "02:30 CET"),
            (Tz::Europe__Berlin, "2026-10-25T01:59:59Z", "02:59 CET"),
            (Tz::Europe__Berlin, "2026-10-25T02:00:00Z", "03:00"),
            (Tz::Europe__Berlin, "2026-03-29T01:30:00Z", "03:30"),
            (Tz::America__New_York, "2026-11-01T05:30:00Z", "01:30 EDT"),
            (Tz::America__New_York, "2026-11-01T06:30:00Z", "01:30 EST"),
            (Tz::UTC, "2026-10-25T00:30:00Z", "00:30"),
        ] {
            let reader = Clock::of_a_reader(zone, utc(moment));
            assert_eq!(reader.in_a_sentence(utc(moment)), format!("{time} today"));
            assert_eq!(reader.in_a_column(utc(moment)), format!("today {time}"));
            assert!(reader.in_full(utc(moment)).ends_with(&format!(" at {time}")));
        }
    }

    #[test]
    fn the_time_left_is_rounded_down() {
        for (seconds, want) in [
            (-5, "no time left"),
            (0, "no time left"),
            (59, "under 1 min left"),
            (1_559, "25 min left"),
            (7_800, "2 h 10 min left"),
            (7_200, "2 h left"),
            (86_399, "23 h 59 min left"),
            (86_400, "1 day left"),
            (100_000, "1 day 3 h left"),
            (273_600, "3 days 4 h left"),
            (100 * 86_400 + 3_600, "100 days left"),
        ] {
            assert_eq!(time_left(TimeDelta::seconds(seconds)), want);
        }
    }
}
