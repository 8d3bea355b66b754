//! Orders, links, readings, submissions and parcels in; coverage and findings out.
//!
//! Pure: time, readings and configuration are arguments. Bad data is a result, never an error. The way through:
//! `world` (what exists at as-of, `resolve`d links, references) -> `cover` (by `ways` and `assign`) ->
//! `leftover` and `dispatch` -> the checks (`orders`, `sent`, `offers`) -> `notices`. Start reading at
//! [`reconcile`].

mod account;
pub mod assign;
mod catalogue;
mod cover;
mod dispatch;
mod leftover;
mod notices;
mod offers;
mod orders;
mod raise;
mod resolve;
mod sent;
mod ways;
mod world;

use chrono::{DateTime, Utc};
use model::outcome::Totals;
use model::reading::Readings;
use model::{Book, OrderId, Outcome, Rules};

pub use account::{Account, LineAccount, SupplyAccount, account};

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
}

/// Judges a whole book as it stood at `as_of`, by the rules that DEVELOPERS.md states.
///
/// One input has one answer, whatever the order of its rows. Never fails: what cannot be read or decided is a
/// finding or a notice.
pub fn reconcile(book: &Book, facts: Facts<'_>, rules: &Rules, as_of: DateTime<Utc>) -> Outcome {
    let world = World::new(book, facts, rules, as_of);
    let judged = Judged::new(&world);
    let mut findings = Findings::default();
    orders::check(&judged, &mut findings);
    sent::check(&judged, &mut findings);
    let offers = offers::views(&world, facts);
    let not_compared = offers::check(&world, &offers, &mut findings);
    let not_judged = not_judged(&world);
    Outcome {
        as_of,
        totals: totals(&judged),
        findings: findings.sorted(),
        notices: notices::notices(&world, &offers, &not_compared, not_judged.len() as u64),
        not_judged,
        rows_skipped: 0,
    }
}

/// The orders that a skipped row names, in the table or not, and those merged with them.
fn not_judged(world: &World<'_>) -> Vec<OrderId> {
    let merged = world.orders.iter().filter(|order| !order.is_judged).map(|order| &order.row.order_id);
    let mut orders: Vec<OrderId> = merged.chain(&world.book.not_judged).cloned().collect();
    orders.sort();
    orders.dedup();
    orders
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
