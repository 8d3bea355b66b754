//! How each source is read, and what is to be sent.
//!
//! Must not know how a source is asked. Start reading at [`Sources`]; [`days_of_asking`] makes the strip.

use std::collections::BTreeSet;

use chrono::{DateTime, DurationRound, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use schemars::JsonSchema;
use serde::Serialize;

use super::sending::WaitsToBeSent;
use super::words::{Moment, Words};

/// Days of the strip.
pub const DAYS: usize = 14;

/// The sources of all shops, and what is to be sent to anybody.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Sources {
    /// By name.
    pub shops: Vec<SourcesOfShop>,
    /// What was written for somebody and has not arrived.
    pub outbox: Outbox,
}

/// The sources of a shop.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SourcesOfShop {
    /// Its name.
    pub shop: String,
    /// The zone in which its times are told.
    pub zone: &'static str,
    /// When its orders were compared last; null: never.
    pub compared: Option<Moment>,
    /// For which moment that was.
    pub as_of: Option<Moment>,
    /// By source and request.
    pub requests: Vec<SourceRequest>,
    /// What waits to be sent to its storefront.
    pub waits: WaitsToBeSent,
}

/// One request of a source.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SourceRequest {
    /// The source.
    pub source: String,
    /// The request; of a folder `folder`.
    pub request: String,
    /// Whether it is a folder that is looked into.
    pub is_folder: bool,
    /// Up to when it was read; null: never to its end.
    pub read_up_to: Option<Moment>,
    /// How long ago that is.
    pub behind_by: Option<Words>,
    /// Whether that is too long.
    pub is_behind: bool,
    /// How long it counts as read up to now.
    pub stale_after: Words,
    /// When it was asked last; null: never.
    pub asked: Option<Moment>,
    /// When it is asked next; null where that is not known.
    pub next: Option<Moment>,
    /// How often it is asked.
    pub every: Words,
    /// What is the matter, in words.
    pub trouble: Option<Words>,
    /// Since when it fails.
    pub failing_since: Option<Moment>,
    /// When it answered as it should, for the last time.
    pub answered: Option<Moment>,
    /// Records that it counts itself, where these are others than those that were read.
    pub counted_there: Option<u64>,
    /// Records that were read, likewise.
    pub counted_here: Option<u64>,
    /// How it was asked in the last days, the oldest first; the last is today.
    pub days: Vec<DayOfAsking>,
    /// Rows a day that were new or another than before, over the days on which it was asked, today left out; null where there
    /// is no such day.
    pub records_a_day: Option<u64>,
}

/// How a request was asked on one day of the shop's zone.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct DayOfAsking {
    /// The day: `2026-11-27`.
    pub day: String,
    /// As it is said: `Fri 27 Nov`.
    pub said: Words,
    /// What it was like.
    pub state: DayState,
    /// How often it was asked.
    pub asked: u64,
    /// How often it answered as it should.
    pub answered: u64,
    /// Rows that came and were new, or another than before.
    pub records: u64,
    /// Hours in which it should have answered and did not; whole ones since it was asked first, and before this one.
    pub gap_hours: u32,
}

/// What a day was like.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DayState {
    /// It answered in every hour in which it should.
    Whole,
    /// There were hours without an answer.
    Gaps,
    /// It was asked and never answered.
    Silent,
    /// It was not asked, or nothing is kept of that day.
    NotAsked,
}

impl DayState {
    /// As programs say it, and as a class.
    pub fn word(self) -> &'static str {
        match self {
            Self::Whole => "whole",
            Self::Gaps => "gaps",
            Self::Silent => "silent",
            Self::NotAsked => "not-asked",
        }
    }

    /// As it is said.
    pub fn name(self) -> &'static str {
        match self {
            Self::Whole => "answered",
            Self::Gaps => "with gaps",
            Self::Silent => "no answer",
            Self::NotAsked => "not asked",
        }
    }
}

/// How a request was asked in one hour.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AskedHour {
    /// When the hour began.
    pub hour: DateTime<Utc>,
    /// How often it was asked.
    pub asked: u64,
    /// How often it answered as it should.
    pub answered: u64,
    /// Rows that came and were new, or another than before.
    pub records: u64,
}

/// What was written for somebody and has not arrived.
#[derive(Clone, PartialEq, Debug, Default, Serialize, JsonSchema)]
pub struct Outbox {
    /// Whether anybody is to be told anything.
    pub has_recipients: bool,
    /// Messages that wait, and those that were given up in the last days, by when they were written.
    pub messages: Vec<Undelivered>,
    /// How many there are; more than are listed where there are very many.
    pub in_all: u64,
}

/// A message that has not arrived.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Undelivered {
    /// What it is.
    pub what: Words,
    /// Whom it is for, by the configured name.
    pub recipient: Words,
    /// When it was written.
    pub written: Moment,
    /// When it is tried next; null where it was given up.
    pub next: Option<Moment>,
    /// When it was given up.
    pub given_up: Option<Moment>,
    /// How often it was tried.
    pub tries: u32,
    /// What was the matter; null where it was not tried yet.
    pub trouble: Option<Words>,
}

/// The last days of a request by its hours, which stand in their order; `every` is how often it is asked. Where nothing is kept
/// of it, there are none.
pub fn days_of_asking(
    hours: &[AskedHour],
    zone: Tz,
    now: DateTime<Utc>,
    every: TimeDelta,
) -> Vec<DayOfAsking> {
    let Some(first) = hours.first().map(|hour| hour.hour) else { return Vec::new() };
    let day_of = |at: DateTime<Utc>| at.with_timezone(&zone).date_naive();
    let an_hour = TimeDelta::hours(1);
    let answered: BTreeSet<DateTime<Utc>> =
        hours.iter().filter(|hour| hour.answered > 0).map(|hour| hour.hour).collect();
    // What is asked every six hours should have answered in one of six.
    let window = TimeDelta::hours((every.num_minutes().max(1) - 1) / 60);
    let is_gap = |hour: DateTime<Utc>| {
        let from = hour.checked_sub_signed(window).unwrap_or(hour);
        from >= first && answered.range(from..=hour).next().is_none()
    };
    let this_hour = now.duration_trunc(an_hour).unwrap_or(now);
    let mut gaps: Vec<NaiveDate> = Vec::new();
    let mut hour = first;
    while hour < this_hour {
        if is_gap(hour) {
            gaps.push(day_of(hour));
        }
        hour += an_hour;
    }
    let today = day_of(now);
    let days = std::iter::successors(Some(today), |day| day.pred_opt()).take(DAYS);
    let mut days: Vec<DayOfAsking> = days
        .map(|day| {
            let own = || hours.iter().filter(|hour| day_of(hour.hour) == day);
            let (asked, answered): (u64, u64) =
                (own().map(|hour| hour.asked).sum(), own().map(|hour| hour.answered).sum());
            let gap_hours = gaps.iter().filter(|gap| **gap == day).count();
            DayOfAsking {
                day: day.format("%Y-%m-%d").to_string(),
                said: Words::ours(day.format("%a %-d %b").to_string()),
                state: match (asked, answered, gap_hours) {
                    (0, ..) => DayState::NotAsked,
                    (_, 0, _) => DayState::Silent,
                    (_, _, 0) => DayState::Whole,
                    _ => DayState::Gaps,
                },
                asked,
                answered,
                records: own().map(|hour| hour.records).sum(),
                gap_hours: u32::try_from(gap_hours).unwrap_or(u32::MAX),
            }
        })
        .collect();
    days.reverse();
    days
}

/// Rows a day that were new or another than before, over the days on which it was asked; the last day, today, is left out.
pub fn records_a_day(days: &[DayOfAsking]) -> Option<u64> {
    let whole = days.split_last().map_or(days, |(_, before)| before);
    let asked: Vec<u64> =
        whole.iter().filter(|day| day.state != DayState::NotAsked).map(|day| day.records).collect();
    asked.iter().sum::<u64>().checked_div(asked.len() as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    fn hour(at: &str, asked: u64, answered: u64, records: u64) -> AskedHour {
        AskedHour { hour: utc(at), asked, answered, records }
    }

    /// Day, state and hours without an answer of the days on which something was.
    fn days(hours: &[AskedHour], now: &str, every: TimeDelta) -> Vec<(String, DayState, u32)> {
        let days = days_of_asking(hours, Tz::Europe__Oslo, utc(now), every);
        assert!(days.is_empty() || days.len() == DAYS);
        let days = days.into_iter().filter(|day| day.state != DayState::NotAsked || day.gap_hours > 0);
        days.map(|day| (day.day[5..].to_owned(), day.state, day.gap_hours)).collect()
    }

    #[test]
    fn hours_without_an_answer_are_gaps_of_the_day_of_the_shops_zone() {
        let hours = [
            hour("2026-11-25T22:00:00Z", 30, 30, 4),
            hour("2026-11-25T23:00:00Z", 30, 0, 0),
            hour("2026-11-26T02:00:00Z", 30, 30, 1),
        ];
        let minutes = TimeDelta::minutes(2);
        let day = |day: &str, state, gaps| (day.to_owned(), state, gaps);
        let first_and_second = [day("11-25", DayState::Whole, 0), day("11-26", DayState::Gaps, 3)];
        assert_eq!(days(&hours, "2026-11-26T03:30:00Z", minutes), first_and_second);
        let silent = [hour("2026-11-26T02:00:00Z", 30, 0, 0)];
        assert_eq!(days(&silent, "2026-11-26T03:30:00Z", minutes), [day("11-26", DayState::Silent, 1)]);
        assert_eq!(days(&[], "2026-11-26T03:30:00Z", minutes), []);
    }

    #[test]
    fn this_hour_is_no_gap_yet_and_what_is_asked_rarely_has_none_between() {
        let hours = [hour("2026-11-26T06:00:00Z", 1, 1, 9), hour("2026-11-26T12:00:00Z", 1, 1, 0)];
        let day =
            |gaps| [("11-26".to_owned(), if gaps > 0 { DayState::Gaps } else { DayState::Whole }, gaps)];
        assert_eq!(days(&hours, "2026-11-26T13:40:00Z", TimeDelta::hours(6)), day(0));
        assert_eq!(days(&hours, "2026-11-26T13:40:00Z", TimeDelta::minutes(5)), day(5));
    }

    #[test]
    fn the_rate_is_of_the_days_before_today_on_which_it_was_asked() {
        let hours = [
            hour("2026-11-23T06:00:00Z", 1, 1, 10),
            hour("2026-11-25T06:00:00Z", 1, 1, 20),
            hour("2026-11-26T06:00:00Z", 1, 1, 900),
        ];
        let days = days_of_asking(&hours, Tz::UTC, utc("2026-11-26T08:00:00Z"), TimeDelta::hours(1));
        assert_eq!(records_a_day(&days), Some(15));
        assert_eq!(records_a_day(&days[DAYS - 1..]), None);
        assert_eq!(records_a_day(&[]), None);
    }
}
