//! How long supplier orders waited until their first parcel went, counted.
//!
//! Must not know how that is read, estimated or told. Start reading at [`Waits`]; `forecast::within` makes spans of them.

use std::collections::BTreeMap;
use std::ops::AddAssign;

use chrono::TimeDelta;

/// How long some supplier orders waited, from when they were received until their first parcel went. In hours: a wait that
/// is over counts as the hours that it began, one that goes on as the hours that it has seen whole. So nothing is told to be
/// quicker than it was.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Waits {
    /// By hours: how many waits were over then, and how many go on and have been seen for as long.
    by_hours: BTreeMap<u32, Ended>,
    /// Supplier orders that have gone, of which nobody said when.
    pub undated: u64,
}

/// Of waits of one length: how many are over, and how many go on.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Ended {
    /// A parcel went.
    pub over: u64,
    /// None has, yet.
    pub open: u64,
}

impl Waits {
    /// Adds one that is over. A parcel that went before its order was received waited for nothing.
    pub fn add_over(&mut self, waited: TimeDelta) {
        let seconds = waited.num_seconds().max(0);
        self.by_hours.entry(hours(seconds.saturating_add(3599) / 3600)).or_default().over += 1;
    }

    /// Adds one that goes on, and has been seen for so long.
    pub fn add_open(&mut self, seen: TimeDelta) {
        self.by_hours.entry(hours(seen.num_seconds().max(0) / 3600)).or_default().open += 1;
    }

    /// By length in hours, the shortest first.
    pub fn by_hours(&self) -> impl Iterator<Item = (u32, Ended)> {
        self.by_hours.iter().map(|(hours, ended)| (*hours, *ended))
    }

    /// How many are over.
    pub fn over(&self) -> u64 {
        self.by_hours.values().map(|ended| ended.over).sum()
    }

    /// How many go on.
    pub fn open(&self) -> u64 {
        self.by_hours.values().map(|ended| ended.open).sum()
    }

    /// Whether there are none at all.
    pub fn is_empty(&self) -> bool {
        self.by_hours.is_empty() && self.undated == 0
    }
}

fn hours(hours: i64) -> u32 {
    u32::try_from(hours).unwrap_or(u32::MAX)
}

/// What several suppliers, shops or days have together.
impl AddAssign<&Self> for Waits {
    fn add_assign(&mut self, other: &Self) {
        for (hours, ended) in &other.by_hours {
            let own = self.by_hours.entry(*hours).or_default();
            own.over += ended.over;
            own.open += ended.open;
        }
        self.undated += other.undated;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wait_that_is_over_counts_as_the_hours_it_began_and_one_that_goes_on_as_those_it_has_seen_whole() {
        let mut waits = Waits::default();
        for minutes in [-5, 0, 1, 60, 61, 120] {
            waits.add_over(TimeDelta::minutes(minutes));
        }
        for minutes in [-5, 59, 60, 119] {
            waits.add_open(TimeDelta::minutes(minutes));
        }
        let ended = |over, open| Ended { over, open };
        let all: Vec<(u32, Ended)> = waits.by_hours().collect();
        assert_eq!(all, [(0, ended(2, 2)), (1, ended(2, 2)), (2, ended(2, 0))]);
        assert_eq!((waits.over(), waits.open()), (6, 4));
        let mut twice = waits.clone();
        twice += &waits;
        assert_eq!((twice.over(), twice.open(), twice.is_empty()), (12, 8, false));
        assert!(Waits::default().is_empty() && !Waits { undated: 1, ..Waits::default() }.is_empty());
    }
}
