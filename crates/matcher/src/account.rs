//! The account behind an audit: for every order line and every submission line, what became of each unit.
//!
//! The page of one order shows its part of it ([`account_of_order`]); the tests use the whole to see that every unit is
//! accounted for once.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use model::book::OrderLine;
use model::finding::{NamedLine, NamedVariant};
use model::{Book, LineId, OrderId, ParcelId, Rules, SubmissionId, SupplierId, VariantId};

use crate::assign::Way;
use crate::raise::Judged;
use crate::sent::unreferred;
use crate::world::{LineIndex, World};
use crate::{Facts, Whole};

/// What became of every unit.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Account {
    /// By order id, then line id; every line of an order that exists.
    pub lines: Vec<LineAccount>,
    /// By supplier, submission id, line id; every line of a submission that exists.
    pub supplies: Vec<SupplyAccount>,
}

/// One order line. `demand` = `covered` + `covered_wrongly` + `uncovered` + `own_stock`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LineAccount {
    /// The order.
    pub order_id: OrderId,
    /// The line of it.
    pub line_id: LineId,
    /// Units owed.
    pub demand: u64,
    /// Units that a supplier has rightly.
    pub covered: u64,
    /// Units for which a supplier has something else.
    pub covered_wrongly: u64,
    /// Units that no supplier has.
    pub uncovered: u64,
    /// Units that the shop packs itself.
    pub own_stock: u64,
    /// Units covered, rightly or wrongly, that have been dispatched.
    pub dispatched: u64,
}

/// One submission line. `quantity` is the sum of all the others.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SupplyAccount {
    /// Who was asked.
    pub supplier: SupplierId,
    /// The submission.
    pub submission_id: SubmissionId,
    /// The line of it.
    pub line_id: LineId,
    /// Units asked for.
    pub quantity: u64,
    /// Units tied per way, 1 to 4.
    pub tied: [u64; 4],
    /// Units sent for something cancelled.
    pub after_cancel: u64,
    /// Units over what is owed, of orders that are known.
    pub surplus: u64,
    /// Units for no known order: strays, samples, older than the book.
    pub unreferred: u64,
    /// Units of which nothing is said: not live, a replacement, of an unknown variant, or for an order that is
    /// not judged.
    pub not_counted: u64,
}

/// One order: what became of each of its units, and of what refers to it.
#[derive(Clone, PartialEq, Debug)]
pub struct OrderAccount {
    /// By line id.
    pub lines: Vec<ServedLine>,
    /// The submission lines that refer to it, live or not, by supplier, submission id, line id. Of one that refers to
    /// several orders, the units may serve another of them.
    pub supplies: Vec<SupplyAccount>,
}

/// A line of the order, with what is tied to it.
#[derive(Clone, PartialEq, Debug)]
pub struct ServedLine {
    /// What became of its units.
    pub account: LineAccount,
    /// The line as a finding names it: with the units that nobody makes, why, and where its link leads. The reason is
    /// `None` where there are no such units.
    pub named: NamedLine,
    /// Whether what is not there of it is known not to be there: what was sent is known at all, and its suppliers have
    /// been read up to as-of.
    pub is_known: bool,
    /// Until when a supplier may take to receive it; `None` where nothing is linked, so that waiting does not help.
    pub may_take_until: Option<DateTime<Utc>>,
    /// By part, then supplier, submission id, line id.
    pub ties: Vec<Served>,
}

/// Units of a submission line tied to an order line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Served {
    /// The submission.
    pub submission_id: SubmissionId,
    /// The line of it.
    pub line_id: LineId,
    /// What it makes, and who.
    pub variant: NamedVariant,
    /// The supplier's units.
    pub units: u64,
    /// In which of the four ways, 1 to 4; 4 is wrongly.
    pub way: u8,
    /// Of the units, those dispatched.
    pub dispatched: u64,
    /// In which parcels, as far as they are known, the first first.
    pub parcels: Vec<ParcelId>,
}

/// Accounts for every unit of a book as it stood at `as_of`; the same reckoning as [`crate::reconcile`].
pub fn account(book: &Book, facts: Facts<'_>, rules: &Rules, as_of: DateTime<Utc>) -> Account {
    let world = World::new(book, facts, rules, as_of, Whole::of(book).first_placed);
    let judged = Judged::new(&world);
    let lines = (0..world.lines.len()).map(|line| of_line(&judged, line));
    Account { lines: lines.collect(), supplies: supplies(&judged) }
}

/// Accounts for every unit of one order, as [`account`] does, and says what is tied to what. `None` where the order is
/// not there, or not yet at `as_of`. Of the book, the order's group is enough, with its goods ([`crate::Near`]); `whole`
/// says what the whole says.
pub fn account_of_order(
    book: &Book,
    facts: Facts<'_>,
    rules: &Rules,
    as_of: DateTime<Utc>,
    whole: &Whole,
    order_id: &OrderId,
) -> Option<OrderAccount> {
    let world = World::new(book, facts, rules, as_of, whole.first_placed);
    let order = world.orders.binary_search_by_key(&order_id, |view| &view.row.order_id).ok()?;
    let judged = Judged::new(&world);
    let lines = world.orders[order].lines.clone().map(|line| served(&judged, line));
    let refers = world.submission_lines.iter().map(|view| view.orders.contains(&order));
    let supplies = supplies(&judged).into_iter().zip(refers).filter(|(_, refers)| *refers);
    Some(OrderAccount { lines: lines.collect(), supplies: supplies.map(|(supply, _)| supply).collect() })
}

/// A line without a link that was taken care of by hand (way 3).
#[derive(Clone, Debug)]
pub struct ByHand<'b> {
    /// The line.
    pub line: &'b OrderLine,
    /// Who was asked.
    pub supplier: SupplierId,
    /// For which variant.
    pub variant_id: VariantId,
}

/// What was taken care of by hand, by order line; a line stands once for each submission line that serves it so. Of orders
/// for which more was sent than their lines explain nothing is said: the rest may be what the line needs as well.
pub fn done_by_hand<'b>(
    book: &'b Book,
    facts: Facts<'b>,
    rules: &'b Rules,
    as_of: DateTime<Utc>,
) -> Vec<ByHand<'b>> {
    let world = World::new(book, facts, rules, as_of, Whole::of(book).first_placed);
    by_hand(&Judged::new(&world))
}

/// The same of what is judged.
pub(crate) fn by_hand<'b>(judged: &Judged<'_, 'b>) -> Vec<ByHand<'b>> {
    let world = judged.world;
    let with_more: BTreeSet<usize> = world
        .submission_lines
        .iter()
        .zip(supplies(judged))
        .filter(|(_, supply)| supply.surplus > 0)
        .flat_map(|(view, _)| view.orders.iter().copied())
        .collect();
    let mut done = Vec::new();
    let explained = world.lines.iter().enumerate().filter(|(_, view)| !with_more.contains(&view.order));
    for (line, view) in explained {
        let ties = judged.dispatch.of_line(&judged.coverage, line).map(|(tie, _)| tie);
        for tie in ties.filter(|tie| tie.way == Way::ByHand) {
            let Some(variant) = world.submission_lines[tie.supply].variant else { continue };
            let NamedVariant { supplier, variant_id, .. } = world.catalogue.named(variant);
            done.push(ByHand { line: view.row, supplier, variant_id });
        }
    }
    done
}

fn served(judged: &Judged<'_, '_>, line: LineIndex) -> ServedLine {
    let Judged { world, coverage, dispatch, .. } = judged;
    let view = &world.lines[line];
    let uncovered = coverage.lines[line].uncovered;
    let reason = (uncovered > 0).then(|| coverage.reason(world, line));
    let waits = view.counts_as_linked() || view.may_be_linked;
    let grace = world.line_grace(line, |graces| graces.submit);
    let since = world.orders[view.order].waiting_since().ends();
    let ties = dispatch.of_line(coverage, line).filter_map(|(tie, dispatched)| {
        let supply = &world.submission_lines[tie.supply];
        Some(Served {
            submission_id: supply.row.submission_id.clone(),
            line_id: supply.row.line_id.clone(),
            variant: world.catalogue.named(supply.variant?),
            units: tie.units,
            way: tie.way.number(),
            dispatched: dispatched.units,
            parcels: dispatched.parcels.iter().map(|parcel| parcel.parcel_id.clone()).collect(),
        })
    });
    ServedLine {
        account: of_line(judged, line),
        named: judged.named(line, uncovered, reason),
        is_known: world.book.knows_submissions() && world.is_known(line),
        may_take_until: since.checked_add_signed(grace).filter(|_| waits),
        ties: ties.collect(),
    }
}

fn of_line(judged: &Judged<'_, '_>, line: LineIndex) -> LineAccount {
    let Judged { world, coverage, dispatch, .. } = judged;
    let (view, covered) = (&world.lines[line], coverage.lines[line]);
    LineAccount {
        order_id: view.row.order_id.clone(),
        line_id: view.row.line_id.clone(),
        demand: view.demand,
        covered: covered.covered(),
        covered_wrongly: covered.wrongly,
        uncovered: covered.uncovered,
        own_stock: if view.link.is_own_stock() { view.demand } else { 0 },
        dispatched: dispatch.units_of_line(coverage, line, false),
    }
}

/// Of every submission line of the world, in its order.
fn supplies(judged: &Judged<'_, '_>) -> Vec<SupplyAccount> {
    let Judged { world, coverage, left_over, .. } = judged;
    let mut supplies: Vec<SupplyAccount> = world
        .submission_lines
        .iter()
        .enumerate()
        .map(|(index, view)| {
            let left = coverage.left_over[index];
            SupplyAccount {
                supplier: view.row.supplier.clone(),
                submission_id: view.row.submission_id.clone(),
                line_id: view.row.line_id.clone(),
                quantity: u64::from(view.row.quantity),
                tied: [0; 4],
                after_cancel: 0,
                surplus: 0,
                unreferred: if unreferred(world, view).is_some() { left } else { 0 },
                not_counted: if !view.serves() {
                    u64::from(view.row.quantity)
                } else if view.is_not_judged {
                    left
                } else {
                    0
                },
            }
        })
        .collect();
    for tie in &coverage.tied {
        supplies[tie.supply].tied[usize::from(tie.way.number()) - 1] += tie.units;
    }
    for explained in &left_over.explained {
        supplies[explained.supply].after_cancel += explained.units;
    }
    for surplus in &left_over.surplus {
        supplies[surplus.supply].surplus += surplus.units;
    }
    supplies
}
