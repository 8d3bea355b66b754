//! The account behind an audit: for every order line and every submission line, what became of each unit.
//!
//! The page of one order shows it; the tests use it to see that every unit is accounted for once.

use chrono::{DateTime, Utc};
use model::{Book, LineId, OrderId, Rules, SubmissionId, SupplierId};

use crate::raise::Judged;
use crate::sent::unreferred;
use crate::world::World;
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

/// Accounts for every unit of a book as it stood at `as_of`; the same reckoning as [`crate::reconcile`].
pub fn account(book: &Book, facts: Facts<'_>, rules: &Rules, as_of: DateTime<Utc>) -> Account {
    let world = World::new(book, facts, rules, as_of, Whole::of(book).first_placed);
    let Judged { coverage, left_over, dispatch, .. } = Judged::new(&world);
    let lines = world.lines.iter().enumerate().map(|(index, view)| {
        let covered = coverage.lines[index];
        LineAccount {
            order_id: view.row.order_id.clone(),
            line_id: view.row.line_id.clone(),
            demand: view.demand,
            covered: covered.covered(),
            covered_wrongly: covered.wrongly,
            uncovered: covered.uncovered,
            own_stock: if view.link.is_own_stock() { view.demand } else { 0 },
            dispatched: dispatch.units_of_line(&coverage, index, false),
        }
    });
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
                unreferred: if unreferred(&world, view).is_some() { left } else { 0 },
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
    Account { lines: lines.collect(), supplies }
}
