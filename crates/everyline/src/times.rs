//! Moments and spans of time as people read them.
//!
//! Must not know the machine's clock. Start reading at [`Times`].

use chrono::{DateTime, Datelike, TimeDelta, Utc};
use chrono_tz::Tz;
use model::When;

/// How moments are told to somebody who reads now, in a zone.
#[derive(Clone, Copy, Debug)]
pub struct Times {
    zone: Tz,
    now: DateTime<Utc>,
}

impl Times {
    /// For a reader who reads at `now`.
    pub fn new(zone: Tz, now: DateTime<Utc>) -> Self {
        Self { zone, now }
    }

    /// `26 Nov 10:02`, with the year where it is not the reader's. Seconds are cut.
    pub fn at(&self, moment: DateTime<Utc>) -> String {
        format!("{} {}", self.date(moment), moment.with_timezone(&self.zone).format("%H:%M"))
    }

    /// The same; of a whole day `26 Nov`.
    pub fn when(&self, when: When) -> String {
        if is_moment(when) { self.at(when.begins()) } else { self.date(when.begins()) }
    }

    /// By when something is to be done: `26 Nov 10:02`; of a whole day `the end of 26 Nov`.
    pub fn end(&self, when: When) -> String {
        if is_moment(when) {
            self.at(when.ends())
        } else {
            format!("the end of {}", self.date(when.begins()))
        }
    }

    /// `Thu 26 Nov 2026 at 10:02, Europe/Oslo time`.
    pub fn in_full(&self, moment: DateTime<Utc>) -> String {
        format!("{}, {} time", moment.with_timezone(&self.zone).format("%a %-d %b %Y at %H:%M"), self.zone)
    }

    /// `3 min ago`; of what is still to come `in 3 min`.
    pub fn ago(&self, moment: DateTime<Utc>) -> String {
        let passed = self.now - moment;
        if passed < TimeDelta::zero() {
            format!("in {}", span(-passed))
        } else {
            format!("{} ago", span(passed))
        }
    }

    /// Whether it is still to come.
    pub fn is_ahead(&self, moment: DateTime<Utc>) -> bool {
        moment > self.now
    }

    /// When they are read.
    pub fn now(&self) -> DateTime<Utc> {
        self.now
    }

    /// The zone in which they are told.
    pub fn zone(&self) -> Tz {
        self.zone
    }

    fn date(&self, moment: DateTime<Utc>) -> String {
        let day = moment.with_timezone(&self.zone);
        let is_this_year = day.year() == self.now.with_timezone(&self.zone).year();
        day.format(if is_this_year { "%-d %b" } else { "%-d %b %Y" }).to_string()
    }
}

fn is_moment(when: When) -> bool {
    when.begins() == when.ends()
}

/// `under 1 min`, `3 min`, `2 h 10 min`, `1 day`, `3 days 4 h`; rounded down.
pub fn span(span: TimeDelta) -> String {
    let minutes = span.num_minutes();
    let (days, hours, rest) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
    let days_word = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
    match (days, hours, rest) {
        (..=0, 0, ..=0) => "under 1 min".to_owned(),
        (0, 0, rest) => format!("{rest} min"),
        (0, hours, 0) => format!("{hours} h"),
        (0, hours, rest) => format!("{hours} h {rest} min"),
        (_, 0, _) => days_word,
        (_, hours, _) => format!("{days_word} {hours} h"),
    }
}

/// How often something is done: as [`span`], with seconds where it is under a minute.
pub fn pace(every: TimeDelta) -> String {
    if every < TimeDelta::minutes(1) { format!("{} s", every.num_seconds()) } else { span(every) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    #[test]
    fn a_span_is_told_by_its_two_largest_units() {
        for (minutes, want) in [
            (0, "under 1 min"),
            (1, "1 min"),
            (59, "59 min"),
            (60, "1 h"),
            (130, "2 h 10 min"),
            (1440, "1 day"),
            (1440 + 59, "1 day"),
            (3 * 1440 + 4 * 60 + 5, "3 days 4 h"),
        ] {
            assert_eq!(span(TimeDelta::minutes(minutes)), want);
        }
    }

    #[test]
    fn moments_are_told_in_the_zone_of_the_shop_and_days_as_days() {
        let times = Times::new(Tz::Europe__Oslo, utc("2026-11-26T09:02:00Z"));
        assert_eq!(times.at(utc("2026-11-26T09:01:59Z")), "26 Nov 10:01");
        assert_eq!(times.at(utc("2025-12-31T22:59:00Z")), "31 Dec 2025 23:59");
        assert_eq!(times.at(utc("2025-12-31T23:00:00Z")), "1 Jan 00:00");
        let day = When::parse("2026-11-28", Tz::Europe__Oslo).unwrap();
        assert_eq!((times.when(day), times.end(day)), ("28 Nov".to_owned(), "the end of 28 Nov".to_owned()));
        assert_eq!(times.ago(utc("2026-11-26T09:00:30Z")), "1 min ago");
        assert_eq!(times.ago(utc("2026-11-26T10:02:00Z")), "in 1 h");
        assert_eq!(times.in_full(utc("2026-11-26T09:02:00Z")), "Thu 26 Nov 2026 at 10:02, Europe/Oslo time");
    }
}
