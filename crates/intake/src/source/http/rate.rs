//! How fast a source is asked.
//!
//! Start reading at [`Pace::turn`].

use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};

use crate::source::declare::Rate;

/// So many turns are remembered; a rate of more is kept to as one of this many in a shorter time.
const REMEMBERED: u32 = 1_000;

/// Never more than so many turns in any span of so long.
pub(super) struct Pace {
    turns: usize,
    per: TimeDelta,
    given: Mutex<Given>,
}

#[derive(Default)]
struct Given {
    turns: VecDeque<DateTime<Utc>>,
    last_asked: Option<DateTime<Utc>>,
}

impl Pace {
    pub(super) fn new(rate: Rate) -> Self {
        let turns = rate.requests.get().min(REMEMBERED);
        let per = rate.per.mul_f64(f64::from(turns) / f64::from(rate.requests.get()));
        let per = TimeDelta::from_std(per).unwrap_or(TimeDelta::MAX);
        Self { turns: turns as usize, per, given: Mutex::default() }
    }

    /// Takes the next turn, and answers how long it is until then.
    pub(super) fn turn(&self, now: DateTime<Utc>) -> Duration {
        let mut given = self.given.lock().unwrap_or_else(PoisonError::into_inner);
        // A clock that was set back says nothing of when the turns were.
        if given.last_asked.is_some_and(|last| now < last) {
            given.turns.clear();
        }
        given.last_asked = Some(now);
        let turn = match given.turns.front() {
            Some(oldest) if given.turns.len() >= self.turns => {
                oldest.checked_add_signed(self.per).map_or(now, |turn| turn.max(now))
            }
            _ => now.max(given.turns.back().copied().unwrap_or(now)),
        };
        given.turns.push_back(turn);
        if given.turns.len() > self.turns {
            given.turns.pop_front();
        }
        (turn - now).to_std().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::num::NonZeroU32;

    fn pace(requests: u32, seconds: u64) -> Pace {
        Pace::new(Rate { requests: NonZeroU32::new(requests).unwrap(), per: Duration::from_secs(seconds) })
    }

    fn at(milliseconds: i64) -> DateTime<Utc> {
        DateTime::UNIX_EPOCH + TimeDelta::milliseconds(1_795_509_000_000 + milliseconds)
    }

    #[test]
    fn no_second_has_more_requests_than_the_rate_says() {
        let pace = pace(4, 1);
        let waits: Vec<u128> = (0..10).map(|turn| pace.turn(at(turn * 10)).as_millis()).collect();
        assert_eq!(waits, [0, 0, 0, 0, 960, 960, 960, 960, 1920, 1920]);
        assert_eq!(pace.turn(at(5_000)), Duration::ZERO);
    }

    #[test]
    fn a_rate_of_thousands_is_kept_to_in_shorter_spans() {
        let pace = pace(4_000, 3_600);
        let waits: Vec<u64> = (0..2_001).map(|_| pace.turn(at(0)).as_secs()).collect();
        assert_eq!((waits[999], waits[1_000], waits[1_999], waits[2_000]), (0, 900, 900, 1_800));
    }

    #[test]
    fn a_clock_that_is_set_back_makes_nobody_wait_for_hours() {
        let pace = pace(1, 60);
        pace.turn(at(7_200_000));
        assert_eq!(pace.turn(at(0)), Duration::ZERO);
        assert_eq!(pace.turn(at(0)), Duration::from_secs(60));
    }
}
