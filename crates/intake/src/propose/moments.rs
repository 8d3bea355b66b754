//! What the times of records say of each other: the last that happened, a day that is still to come, a step on the way, and
//! what goes with a number that only some records have; and which words follow each other in time.
//!
//! Must not know names. Start reading at [`Sheet::by_moments`].

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use super::level::Level;
use super::lexicon::Meaning;
use super::sheet::Sheet;

/// How many records have to say both of two times, for these to tell something of each other.
const TELLING: usize = 6;

/// Days after the first time from which on a time may be one that is still to come.
const DAYS_AHEAD: i64 = 1;

/// The share of what the ranks of records in time differ that words have to account for, to follow each other in time.
/// Words that have nothing to do with time account for their number by that of the records.
const IN_TIME: f64 = 0.45;

/// Likewise of numbers, which may count something as well.
const IN_TIME_BY_NUMBER: f64 = 0.6;

/// A time, and how exactly it is said.
struct Moments<'s> {
    index: usize,
    at: &'s [Option<DateTime<Utc>>],
    is_day: bool,
    fill: f64,
}

impl Moments<'_> {
    fn filled(&self) -> usize {
        self.at.iter().flatten().count()
    }
}

/// Where two columns both say a time: the first and the second, by days where either is of days.
fn both(one: &Moments<'_>, other: &Moments<'_>) -> Vec<(i64, i64)> {
    let by_day = one.is_day || other.is_day;
    let said = |at: &DateTime<Utc>| if by_day { at.timestamp().div_euclid(86_400) } else { at.timestamp() };
    let pairs = one.at.iter().zip(other.at);
    pairs.filter_map(|(a, b)| Some((said(a.as_ref()?), said(b.as_ref()?)))).collect()
}

fn is_never_after(one: &Moments<'_>, other: &Moments<'_>) -> bool {
    both(one, other).into_iter().all(|(a, b)| a <= b)
}

/// The number that stands there most often, and how often.
fn usual(numbers: impl Iterator<Item = i64>) -> Option<(i64, usize)> {
    let mut counts: BTreeMap<i64, usize> = BTreeMap::new();
    for number in numbers {
        *counts.entry(number).or_default() += 1;
    }
    counts.into_iter().max_by_key(|(_, count)| *count)
}

impl Sheet<'_> {
    fn all_moments(&self) -> Vec<Moments<'_>> {
        let times = self.profiles.iter().enumerate();
        let times = times.filter(|(index, _)| !self.is_of_a_person(*index));
        let times = times.filter_map(|(index, profile)| Some((index, profile, profile.times.as_ref()?)));
        times
            .map(|(index, profile, times)| Moments {
                index,
                at: &times.moments,
                is_day: self.is_of_days(index),
                fill: profile.fill(),
            })
            .collect()
    }

    /// Whether a column stands in an object that has a mail address: what is said there is of a person.
    pub(super) fn is_of_a_person(&self, column: usize) -> bool {
        let columns = &self.list.columns;
        let outer = |index: usize| columns[index].path.split_last().map_or(&[][..], |(_, outer)| outer);
        let own = outer(column);
        !own.is_empty()
            && (0..columns.len()).any(|other| self.profiles[other].with_at > 0.8 && outer(other) == own)
    }

    /// The time, there for all, that is never after another of its record.
    pub(super) fn first_time(&self) -> Option<usize> {
        let times = self.all_moments();
        let mut first = times.iter().filter(|one| {
            one.filled() == one.at.len() && times.iter().all(|other| is_never_after(one, other))
        });
        match (first.next(), first.next()) {
            (Some(one), None) => Some(one.index),
            // Two that are always the same say nothing of which it is.
            _ => None,
        }
    }

    /// What the times say of each other: a column, a meaning, how much speaks for it, and why.
    pub(super) fn by_moments(
        &self,
        level: Level,
        first: Option<usize>,
    ) -> Vec<(usize, Meaning, f64, String)> {
        let mut found = Vec::new();
        let mut add = |column: usize, meaning: Meaning, points: f64, why: &str| {
            found.push((column, meaning, points, why.to_owned()));
        };
        if !matches!(level, Level::Orders | Level::Submissions) {
            return found;
        }
        let times = self.all_moments();
        let Some(first) = first.and_then(|first| times.iter().find(|time| time.index == first)) else {
            return found;
        };
        let ahead: Vec<usize> =
            times.iter().filter(|time| is_ahead(first, time)).map(|time| time.index).collect();
        for column in &ahead {
            let meaning = if level == Level::Orders { "promised_by" } else { "expected_delivery" };
            add(*column, meaning, 2.0, "it is the same number of days behind the first time");
            for other in ["paid_at", "updated_at", "dispatched_at", "cancelled_at", "delivered_at"] {
                add(*column, other, -2.0, "");
            }
        }
        let events: Vec<&Moments<'_>> =
            times.iter().filter(|time| time.index != first.index && !ahead.contains(&time.index)).collect();
        for last in events.iter().filter(|time| time.fill > 0.98) {
            let others: Vec<&&Moments<'_>> =
                events.iter().filter(|time| time.index != last.index && time.fill > 0.05).collect();
            if others.is_empty() || !others.iter().all(|other| is_never_after(other, last)) {
                continue;
            }
            // How often the last change is one of the others.
            let is_other = |row: &usize| {
                let own = last.at[*row];
                own.is_some() && (others.iter().any(|other| other.at[*row] == own) || first.at[*row] == own)
            };
            let same = (0..last.at.len()).filter(is_other).count();
            if same * 4 >= last.at.len() && last.at.len() >= TELLING {
                add(
                    last.index,
                    "updated_at",
                    2.5,
                    "no other time is after it, and it is often the same as one",
                );
                for other in ["dispatched_at", "paid_at", "cancelled_at", "delivered_at", "made_at"] {
                    add(last.index, other, -1.5, "");
                }
            }
        }
        for (step, end) in self.steps(&events) {
            if level == Level::Submissions {
                add(step, "made_at", 2.0, "it is before the time of a parcel, and more records have it");
                add(step, "dispatched_at", -2.5, "");
                add(end, "dispatched_at", 1.0, "it is the last step");
            } else {
                add(step, "dispatched_at", -1.0, "");
            }
        }
        if level == Level::Orders {
            let mut gaps: Vec<(i64, usize)> = events
                .iter()
                .filter(|event| event.fill > 0.4 && !event.is_day && is_never_after(first, event))
                .filter_map(|event| {
                    let mut gaps: Vec<i64> = both(first, event).into_iter().map(|(a, b)| b - a).collect();
                    gaps.sort_unstable();
                    Some((*gaps.get(gaps.len() / 2)?, event.index))
                })
                .collect();
            gaps.sort_unstable();
            if let [(soon, paid), (later, _), ..] = gaps.as_slice()
                && *soon < 12 * 3_600
                && *later > 4 * soon
            {
                add(*paid, "paid_at", 1.5, "it is soon after the first time");
            }
        }
        found
    }

    /// Times that some records have and that are followed by another that fewer have: the one, and the last that follows.
    fn steps(&self, events: &[&Moments<'_>]) -> Vec<(usize, usize)> {
        let mut found = Vec::new();
        for step in events.iter().filter(|step| step.fill < 0.98) {
            let follows = |end: &&&Moments<'_>| {
                let mut rows = step.at.iter().zip(end.at);
                end.index != step.index
                    && end.filled() >= TELLING / 2
                    && step.filled() >= end.filled() + 2
                    && rows.all(|(step, end)| step.is_some() || end.is_none())
                    && is_never_after(step, end)
            };
            if let Some(end) = events.iter().filter(follows).min_by_key(|end| end.filled()) {
                found.push((step.index, end.index));
            }
        }
        found
    }

    /// Columns of few words that follow each other in time, as the states of records do: most of the old ones are at the end.
    pub(super) fn words_in_time(&self, first: Option<usize>) -> Vec<usize> {
        let Some(first) = first.and_then(|first| self.profiles[first].times.as_ref()) else {
            return Vec::new();
        };
        let mut order: Vec<usize> = (0..first.moments.len()).collect();
        order.sort_by_key(|row| first.moments[*row]);
        let is_words = |index: &usize| {
            let profile = &self.profiles[*index];
            (2..=9).contains(&profile.distinct)
                && profile.fill() > 0.95
                && profile.distinct * 4 <= profile.filled
                && profile.filled >= 12
                && profile.times.is_none()
                && (profile.with_digit < 0.2 && profile.with_letter > 0.9 || is_numbered(profile))
                && profile.max_length <= 40
        };
        (0..self.profiles.len())
            .filter(is_words)
            .filter(|index| {
                let mut of: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
                for (rank, row) in order.iter().enumerate() {
                    let word = self.list.columns[*index].values[*row].as_deref().unwrap_or_default();
                    let (count, sum) = of.entry(word).or_default();
                    *count += 1.0;
                    *sum += rank as f64;
                }
                let count = order.len() as f64;
                let mean = (count - 1.0) / 2.0;
                let all = count * (count * count - 1.0) / 12.0;
                let told: f64 = of.values().map(|(count, sum)| count * (sum / count - mean).powi(2)).sum();
                let least = if is_numbered(&self.profiles[*index]) { IN_TIME_BY_NUMBER } else { IN_TIME };
                told / all > least + (of.len() as f64 - 1.0) / (count - 1.0) / 2.0
            })
            .collect()
    }
}

/// Whether states may be said by numbers.
fn is_numbered(profile: &super::profile::Profile) -> bool {
    profile.distinct >= 3 && profile.max_length <= 3 && profile.whole.is_some()
}

/// Whether a time, said of nearly all records, is nearly always the same number of days, or of seconds, behind the first.
fn is_ahead(first: &Moments<'_>, time: &Moments<'_>) -> bool {
    if time.index == first.index || time.fill < 0.9 {
        return false;
    }
    let pairs = both(first, time);
    if pairs.len() < TELLING {
        return false;
    }
    let is_same = |share: usize, gaps: &[i64]| {
        usual(gaps.iter().copied()).is_some_and(|(_, count)| count * 100 >= gaps.len() * share)
    };
    let gaps: Vec<i64> = pairs.iter().map(|(a, b)| b - a).collect();
    match first.is_day || time.is_day {
        true => gaps.iter().all(|gap| *gap >= DAYS_AHEAD) && is_same(60, &gaps),
        false => gaps.iter().all(|gap| *gap >= DAYS_AHEAD * 86_400) && is_same(80, &gaps),
    }
}
