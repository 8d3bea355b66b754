//! How well it went over some weeks, counted.
//!
//! Must not know how it is counted or told. Start reading at [`Rates`].

use std::ops::AddAssign;

use chrono::TimeDelta;

/// So many of so many.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Share {
    /// Those of which it is so.
    pub good: u64,
    /// All that were counted.
    pub of: u64,
}

/// How well it went with the orders placed in a span of time. An order counts where it is live and owes something; orders
/// placed before findings were reported do not.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Rates {
    /// Orders of which, now, nothing is missing or wrong at the suppliers. In full: 'order fill rate' (common practice, no
    /// published source).
    pub orders_in_full: Share,
    /// Lines likewise: 'line fill rate'.
    pub lines_in_full: Share,
    /// Orders in which nothing was ever missing, wrong, too many or late: 'perfect orders'.
    pub perfect: Share,
    /// Of orders with a promise that is past: those in full that were never late. 'On time in full'.
    pub on_time_in_full: Share,
    /// From a finding about an order to its being gone, of each that went in the span, in any order: of several shops the
    /// medians say nothing about that of all.
    pub repairs: Vec<TimeDelta>,
}

impl Rates {
    /// The median of the repairs, of an even number the mean of the two in the middle; `None` where there were none.
    pub fn median_repair(&self) -> Option<TimeDelta> {
        let mut sorted = self.repairs.clone();
        sorted.sort_unstable();
        let (low, high) = (sorted.get((sorted.len().checked_sub(1)?) / 2)?, sorted.get(sorted.len() / 2)?);
        Some(*low + (*high - *low) / 2)
    }
}

/// What several shops have together.
impl AddAssign<&Self> for Rates {
    fn add_assign(&mut self, other: &Self) {
        for (share, others) in [
            (&mut self.orders_in_full, other.orders_in_full),
            (&mut self.lines_in_full, other.lines_in_full),
            (&mut self.perfect, other.perfect),
            (&mut self.on_time_in_full, other.on_time_in_full),
        ] {
            share.add(others.of, others.good);
        }
        self.repairs.extend(&other.repairs);
    }
}

impl Share {
    /// Counts more of them, so many of which are good.
    pub fn add(&mut self, of: u64, good: u64) {
        self.of += of;
        self.good += good;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_median_is_the_middle_or_between_the_two_there_also_of_several_shops() {
        let rates = |hours: &[i64]| Rates {
            repairs: hours.iter().map(|hours| TimeDelta::hours(*hours)).collect(),
            ..Rates::default()
        };
        for (hours, others, want) in [
            (&[][..], &[][..], None),
            (&[3], &[], Some(180)),
            (&[2], &[1], Some(90)),
            (&[9], &[1, 2], Some(120)),
            (&[1, 1, 1], &[8, 9], Some(60)),
        ] {
            let mut together = rates(hours);
            together += &rates(others);
            assert_eq!(together.median_repair(), want.map(TimeDelta::minutes));
        }
    }
}
