//! Orders, links, readings, submissions and parcels in; coverage and findings out.
//!
//! Pure: time, readings and configuration are arguments. Bad data is a result, never an error. The way through:
//! `world` (what exists at as-of, `resolve`d links, references) -> `cover` (by `ways` and `assign`) ->
//! `leftover` and `dispatch` -> the checks (`orders`, `sent`, `offers`) -> `notices`. Start reading at
//! [`reconcile`].

mod account;
pub mod assign;
mod catalogue;
mod closed;
mod collections;
mod cover;
mod dispatch;
mod leftover;
mod near;
mod notices;
mod offers;
mod orders;
mod raise;
mod resolve;
mod sent;
mod skus;
mod straight;
mod ways;
mod world;

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use model::outcome::Totals;
use model::reading::Readings;
use model::straight::Counted;
use model::{Book, OrderId, Outcome, Rules, Settled, SupplierId};

pub use account::{
    Account, ByHand, LineAccount, OrderAccount, Served, ServedLine, SupplyAccount, account, account_of_order,
    done_by_hand,
};
pub use closed::settled;
pub use near::{Group, Near, ORDERS_AT_MOST};
pub use offers::{links_of_offers, offers_of_intended};
pub use skus::{IntendedSku, NoSku, WantedSku, skus_for_intended};
pub use straight::Straight;

use notices::Tally;
use raise::{Findings, Judged};
use world::World;

/// What other crates know about the rows of a book, and the matcher takes as given.
#[derive(Clone, Copy, Debug)]
pub struct Facts<'a> {
    /// What option text says.
    pub readings: &'a Readings,
    /// Per row of `Book::submissions`, in its order: the moment after which it can no longer be changed;
    /// `None` where its supplier has no cut-off configured.
    pub cut_offs: &'a [Option<DateTime<Utc>>],
    /// What has not been read up to as-of.
    pub behind: &'a Behind,
    /// Orders of which the address changed, each with when that was seen.
    pub address_changes: &'a BTreeMap<OrderId, DateTime<Utc>>,
}

impl<'a> Facts<'a> {
    /// Of tables that are all there, without a history.
    pub fn of_tables(readings: &'a Readings, cut_offs: &'a [Option<DateTime<Utc>>]) -> Self {
        static NOTHING: Behind = Behind { storefront: false, suppliers: BTreeSet::new() };
        static NONE: BTreeMap<OrderId, DateTime<Utc>> = BTreeMap::new();
        Self { readings, cut_offs, behind: &NOTHING, address_changes: &NONE }
    }
}

/// Whose sources have not been read up to as-of, so that what is not in the book may well have happened.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Behind {
    /// Something may have been bought, paid, cancelled or marked as dispatched since.
    pub storefront: bool,
    /// They may have received, changed or dispatched something since.
    pub suppliers: BTreeSet<SupplierId>,
}

impl Behind {
    /// Whether anything is.
    pub fn is_any(&self) -> bool {
        self.storefront || !self.suppliers.is_empty()
    }
}

/// What a whole book says, where only a part of its rows is at hand.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Whole {
    /// When the first order of the input was placed, whether it exists at as-of or not.
    pub first_placed: Option<DateTime<Utc>>,
    /// All orders.
    pub orders: u64,
    /// Of these, the orders placed before the first submission of the input was received.
    pub orders_before: u64,
    /// Whether it is known what was sent.
    pub knows_submissions: bool,
    /// Whether a `variants` table was given.
    pub knows_variants: bool,
    /// Whether an `offers` table was given.
    pub knows_offers: bool,
}

impl Whole {
    /// Of a book that is at hand with all its rows.
    pub fn of(book: &Book) -> Self {
        let placed = || book.orders.iter().map(|order| order.placed_at.begins());
        let received = book.submissions.iter().flatten().map(|row| row.received_at.begins());
        let first_received = received.min();
        let before = placed().filter(|placed| first_received.is_some_and(|first| *placed < first));
        Self {
            first_placed: placed().min(),
            orders: book.orders.len() as u64,
            orders_before: before.count() as u64,
            knows_submissions: book.knows_submissions(),
            knows_variants: book.variants.is_some(),
            knows_offers: book.offers.is_some(),
        }
    }
}

/// What is said of a part of a book: of some orders with all that belongs to them, of the offers, or of both.
#[derive(Clone, Default, Debug)]
pub struct Part {
    totals: Totals,
    findings: Findings,
    tally: Tally,
    not_judged: BTreeSet<OrderId>,
}

impl Part {
    /// Adds what is said of another part.
    pub fn add(&mut self, other: Self) {
        self.totals += other.totals;
        self.findings.add_all(other.findings);
        self.tally.add(other.tally);
        self.not_judged.extend(other.not_judged);
    }

    /// The answer for the whole, once all parts are added.
    pub fn outcome(self, whole: &Whole, as_of: DateTime<Utc>) -> Outcome {
        Outcome {
            as_of,
            totals: self.totals,
            findings: self.findings.sorted(),
            notices: notices::notices(&self.tally, whole, self.not_judged.len() as u64),
            not_judged: self.not_judged.into_iter().collect(),
            rows_skipped: 0,
        }
    }
}

impl From<&Settled> for Part {
    fn from(settled: &Settled) -> Self {
        Self { totals: settled.totals, tally: Tally::of_settled(settled), ..Self::default() }
    }
}

impl From<Counted> for Part {
    fn from(counted: Counted) -> Self {
        Self {
            totals: counted.totals,
            tally: Tally::of_counted(counted.listings_outranking),
            ..Self::default()
        }
    }
}

/// Judges a whole book as it stood at `as_of`, by the rules that DEVELOPERS.md states.
///
/// One input has one answer, whatever the order of its rows. Never fails: what cannot be read or decided is a
/// finding or a notice.
pub fn reconcile(book: &Book, facts: Facts<'_>, rules: &Rules, as_of: DateTime<Utc>) -> Outcome {
    let whole = Whole::of(book);
    let world = World::new(book, facts, rules, as_of, whole.first_placed);
    let mut part = of_orders(&Judged::new(&world));
    part.add(of_offers(&world, facts));
    part.outcome(&whole, as_of)
}

/// The same of a book without what is closed, which adds what it did when it was, and with [`done_by_hand`], for one matching.
/// `whole` is of all.
pub fn reconcile_open<'b>(
    book: &'b Book,
    facts: Facts<'b>,
    rules: &'b Rules,
    as_of: DateTime<Utc>,
    (whole, closed): (&Whole, &Settled),
) -> (Outcome, Vec<ByHand<'b>>) {
    let world = World::new(book, facts, rules, as_of, whole.first_placed);
    let judged = Judged::new(&world);
    let mut part = Part::from(closed);
    part.add(of_orders(&judged));
    part.add(of_offers(&world, facts));
    (part.outcome(whole, as_of), account::by_hand(&judged))
}

/// Judges the orders and submissions of a part of a book, as [`reconcile`] does: no submission of it is for an order
/// of another part. Its variants and links are those of the whole, and its offers at least those of [`offers_of_intended`].
pub fn reconcile_orders(
    book: &Book,
    facts: Facts<'_>,
    rules: &Rules,
    as_of: DateTime<Utc>,
    whole: &Whole,
) -> Part {
    of_orders(&Judged::new(&World::new(book, facts, rules, as_of, whole.first_placed)))
}

/// Judges the offers and links of a book, as [`reconcile`] does.
pub fn reconcile_offers(book: &Book, facts: Facts<'_>, rules: &Rules, as_of: DateTime<Utc>) -> Part {
    of_offers(&World::new(book, facts, rules, as_of, None), facts)
}

fn of_orders(judged: &Judged<'_, '_>) -> Part {
    let world = judged.world;
    let mut findings = Findings::default();
    orders::check(judged, &mut findings);
    sent::check(judged, &mut findings);
    Part { totals: totals(judged), findings, tally: Tally::of_orders(world), not_judged: not_judged(world) }
}

fn of_offers(world: &World<'_>, facts: Facts<'_>) -> Part {
    let mut findings = Findings::default();
    let offers = offers::views(world, facts);
    let not_compared = offers::check(world, facts, &offers, &mut findings);
    Part { findings, tally: Tally::of_offers(world, &offers, &not_compared), ..Part::default() }
}

/// The orders that a skipped row names, in the table or not, and those merged with them.
fn not_judged(world: &World<'_>) -> BTreeSet<OrderId> {
    let merged = world.orders.iter().filter(|order| !order.is_judged).map(|order| &order.row.order_id);
    merged.chain(&world.book.not_judged).cloned().collect()
}

fn totals(judged: &Judged<'_, '_>) -> Totals {
    let Judged { world, coverage, dispatch, .. } = judged;
    let mut totals = Totals::default();
    let reported = (0..world.orders.len()).filter(|order| world.is_reported(*order));
    for order in reported.map(|order| &world.orders[order]) {
        totals.orders += 1;
        totals.lines += order.lines.len() as u64;
        for line in order.lines.clone() {
            let view = &world.lines[line];
            let covered = &coverage.lines[line];
            totals.units_demanded += view.demand;
            if view.link.is_own_stock() {
                totals.own_stock += view.demand;
            }
            totals.covered += covered.covered();
            totals.covered_wrongly += covered.wrongly;
            totals.uncovered += covered.uncovered;
            totals.dispatched += dispatch.units_of_line(coverage, line, false);
        }
    }
    totals
}
