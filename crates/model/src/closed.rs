//! What is over for good: orders of which every unit is accounted for and gone, and of which nothing is to be said any more.
//!
//! Their rows are kept and shown; they are not judged again until one of them changes. Start reading at [`Settled`].

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::outcome::Totals;
use crate::{ListingId, OrderId, SubmissionId, SupplierId};

/// What closed orders and submissions add to the answer about the whole.
#[derive(Clone, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Settled {
    /// What is counted of the orders that are reported.
    pub totals: Totals,
    /// All orders, reported or not.
    pub orders: u64,
    /// Submissions that make something again.
    pub replacements: u64,
    /// Lines of submissions that are samples.
    pub samples: u64,
    /// Lines of submissions older than the first order.
    pub older_than_book: u64,
    /// Listings of which a link for the whole listing decided although a SKU leads elsewhere, each with for how many groups.
    pub outranking: BTreeMap<ListingId, u64>,
}

impl Settled {
    /// Adds what others add.
    pub fn add(&mut self, other: &Self) {
        self.totals += other.totals;
        self.orders += other.orders;
        self.replacements += other.replacements;
        self.samples += other.samples;
        self.older_than_book += other.older_than_book;
        for (listing, groups) in &other.outranking {
            *self.outranking.entry(listing.clone()).or_default() += groups;
        }
    }

    /// Takes away what was added before. `None` where it cannot have been.
    #[must_use]
    pub fn without(mut self, other: &Self) -> Option<Self> {
        self.totals = self.totals.without(&other.totals)?;
        self.orders = self.orders.checked_sub(other.orders)?;
        self.replacements = self.replacements.checked_sub(other.replacements)?;
        self.samples = self.samples.checked_sub(other.samples)?;
        self.older_than_book = self.older_than_book.checked_sub(other.older_than_book)?;
        for (listing, groups) in &other.outranking {
            let left = self.outranking.get_mut(listing)?;
            *left = left.checked_sub(*groups)?;
            if *left == 0 {
                self.outranking.remove(listing);
            }
        }
        Some(self)
    }
}

/// Orders and the submissions that connect them, closed together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ClosedGroup {
    /// By id.
    pub orders: Vec<OrderId>,
    /// By supplier and id.
    pub submissions: Vec<(SupplierId, SubmissionId)>,
    /// What the references of these could also mean, should an order of such an id ever come.
    pub words: Vec<String>,
    /// What they add.
    pub settled: Settled,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some(orders: u64, listing: &str) -> Settled {
        let totals = Totals { orders, lines: 2 * orders, covered: 3, ..Totals::default() };
        let outranking = BTreeMap::from([(ListingId::from(listing), 1)]);
        Settled { totals, orders, samples: 1, outranking, ..Settled::default() }
    }

    #[test]
    fn what_was_added_can_be_taken_away_and_nothing_else_can() {
        let mut sum = some(1, "A");
        sum.add(&some(2, "B"));
        sum.add(&some(4, "B"));
        assert_eq!((sum.totals.orders, sum.outranking["B"]), (7, 2));
        let left = sum.without(&some(2, "B")).unwrap();
        assert_eq!(left.clone().without(&some(4, "B")), Some(some(1, "A")));
        assert_eq!(left.clone().without(&some(1, "C")), None);
        assert_eq!(left.without(&some(9, "A")), None);
    }
}
