//! The straight path: what is known of an order and of what was sent for it, in a few numbers, and the question
//! whether these are enough to count the order, because nothing can be wrong with it.
//!
//! Reading answers the numbers, the matcher the question; neither knows the other. Where the numbers are not enough,
//! the order is judged like any other order, from its rows. Start reading at [`Rule`].

use std::collections::BTreeSet;

use crate::book::OrderLine;
use crate::outcome::Totals;
use crate::{ListingId, Sku, SupplierId, VariantId};

/// How long ago something was, in whole seconds before as-of, rounded up; 0 of what is later. Of a whole day, since
/// its beginning. So it is never less than what a grace is compared with.
pub type Age = u32;

/// How an order stands at as-of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Standing {
    /// Its lines are owed.
    Live,
    /// Nothing is owed: it is cancelled or not paid for.
    Idle,
    /// It was placed after as-of.
    Later,
}

/// What decides of an order.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct OrderFacts {
    /// How it stands.
    pub standing: Standing,
    /// The storefront does not say that it is dispatched.
    pub is_open: bool,
    /// As-of is past its promise.
    pub is_past_promise: bool,
    /// It is among the orders that are reported.
    pub is_reported: bool,
    /// Since it was paid for, or placed where the payment is not known.
    pub waiting: Age,
}

/// What decides of an order line.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LineFacts {
    /// Stands for its id; the same id is the same number.
    pub line: u64,
    /// Its link, as [`Rule::link`] answers it.
    pub link: u32,
    /// Units owed where its order is live.
    pub owed: u32,
}

/// What decides of a live line of a submission that exists at as-of, is for this order alone and raises nothing
/// by itself.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SentFacts {
    /// Stands for the id of the order line that it names; 0 where it names none.
    pub names: u64,
    /// Its variant, as [`Rule::variant`] answers it.
    pub variant: u32,
    /// Units asked for.
    pub units: u32,
    /// All of them have been dispatched; otherwise none of them has.
    pub is_gone: bool,
    /// Since its first parcel; 0 where no parcel is known.
    pub first_gone: Age,
    /// Since its last parcel or change; meaningless unless `is_gone`.
    pub last_gone: Age,
}

/// What can be said without looking at an order's rows.
pub trait Rule: Sync {
    /// A number for the link of a line, from what it is and not from its order.
    fn link(&self, line: &OrderLine) -> u32;
    /// A number for a variant of the `variants` table.
    fn variant(&self, supplier: &SupplierId, variant_id: &VariantId) -> Option<u32>;
    /// A number for the one variant of a supplier that bears a SKU.
    fn variant_of_sku(&self, supplier: &SupplierId, sku: &Sku) -> Option<u32>;
    /// How long a submission may stay held, and be received and not begun, in seconds.
    fn graces(&self, supplier: &SupplierId) -> (Age, Age);
    /// What counts orders; one for each thread.
    fn reckoner(&self) -> Box<dyn Reckoner + '_>;
}

/// Counts orders with which nothing is wrong.
pub trait Reckoner {
    /// Counts an order, or answers that its rows have to be looked at.
    fn count(&mut self, order: OrderFacts, lines: &[LineFacts], sent: &[SentFacts]) -> bool;
    /// What was counted so far.
    fn counted(&self) -> Counted;
}

/// What the straight path counted.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Counted {
    /// As in the outcome.
    pub totals: Totals,
    /// Listings whose link for the whole listing decided, although the SKU of the line leads to a variant.
    pub listings_outranking: BTreeSet<ListingId>,
}

impl Counted {
    /// Adds what another one counted.
    pub fn add(&mut self, other: Self) {
        self.totals += other.totals;
        self.listings_outranking.extend(other.listings_outranking);
    }
}
