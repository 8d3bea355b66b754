//! Counting: which units are covered, what is dispatched, and where left-over units of supply have gone.

use std::collections::BTreeMap;

use model::book::{OrderStatus, Parcel, SubmissionStatus};
use model::{OrderId, When};

use super::matching::{Need, Tied};
use super::sending::Sent;
use super::world::{Line, LineKey, Thing, World};

/// What the matching says of one line, in units of the line.
#[derive(Clone, Copy, Default)]
pub struct Count {
    pub covered: u64,
    pub covered_wrongly: u64,
    pub uncovered: u64,
    /// Dispatched of what is tied in any way.
    pub dispatched: u64,
    /// Dispatched of what is covered.
    pub dispatched_rightly: u64,
}

/// Some units of a tie are dispatched.
pub struct Gone {
    /// Of the answer of the matching.
    pub tie: usize,
    pub units: u64,
    /// In the first parcel known of, if any is.
    pub first_parcel: Option<When>,
    /// No later than this.
    pub last: When,
}

/// Where the units of one usable submission line have gone.
pub struct Supply {
    pub quantity: u64,
    pub tied: u64,
    /// Left over and explained by a cancellation, per order.
    pub explained: BTreeMap<OrderId, u64>,
    /// Left over and unexplained.
    pub surplus: u64,
}

/// 'Uncovered units of a line are the most, over its parts, of the units still untied, divided by `units` and
/// rounded up. … covered wrongly (of those left: the most, over its parts, of the units tied in way 4,
/// divided by `units` and rounded up), covered.' Dispatched: the least over the parts, rounded down.
pub fn count(line: &Line<'_>, needs: &[Need], tied: &[Tied], gone: &[Gone]) -> Count {
    if line.link.is_own_stock() {
        return Count::default();
    }
    let mut uncovered = 0;
    let mut wrongly = 0;
    let mut dispatched = line.demand;
    let mut rightly = line.demand;
    for (part, units) in line.parts() {
        let is_part = |tie: &Tied| {
            let need = &needs[tie.need];
            need.line == line.key() && need.part == part
        };
        let tied_in = |way: fn(u8) -> bool| -> u64 {
            tied.iter().filter(|tie| is_part(tie) && way(tie.way)).map(|tie| tie.units).sum()
        };
        let gone_in = |way: fn(u8) -> bool| -> u64 {
            let of_part = |gone: &&Gone| is_part(&tied[gone.tie]) && way(tied[gone.tie].way);
            gone.iter().filter(of_part).map(|gone| gone.units).sum()
        };
        uncovered = uncovered.max((line.demand * units - tied_in(|_| true)).div_ceil(units));
        wrongly = wrongly.max(tied_in(|way| way == 4).div_ceil(units));
        dispatched = dispatched.min(gone_in(|_| true) / units);
        rightly = rightly.min(gone_in(|way| way < 4) / units);
    }
    let covered_wrongly = wrongly.min(line.demand - uncovered);
    let covered = line.demand - uncovered - covered_wrongly;
    Count { covered, covered_wrongly, uncovered, dispatched, dispatched_rightly: rightly.min(covered) }
}

/// Which units of the ties are dispatched, and when.
///
/// A submission line's dispatched units go to its ties by order id, line id, part; in time by
/// `dispatched_at`, then parcel id.
pub fn dispatched(world: &World<'_>, tied: &[Tied]) -> Vec<Gone> {
    let mut gone = Vec::new();
    for (index, sent) in world.sent.iter().enumerate() {
        let mut left: Vec<(usize, u64)> = (0..tied.len())
            .filter(|tie| tied[*tie].sent == index)
            .map(|tie| (tie, tied[tie].units))
            .collect();
        for (mut units, first_parcel, last) in dispatches(world, sent) {
            for (tie, left) in &mut left {
                let taken = units.min(*left);
                *left -= taken;
                units -= taken;
                if taken > 0 {
                    gone.push(Gone { tie: *tie, units: taken, first_parcel, last });
                }
            }
        }
    }
    gone
}

/// The units dispatched of a submission line, in time.
///
/// '`dispatched` demand is what parcel lines carry; where a submission is `dispatched` and has no parcel
/// lines, all its lines count', whatever a line's own status, 'at the submission's last parcel, else its last
/// change, else its receipt'. Only a parcel can be the first one.
fn dispatches(world: &World<'_>, sent: &Sent<'_>) -> Vec<(u64, Option<When>, When)> {
    let submission = sent.submission;
    let mut parcels: Vec<&Parcel> = world
        .book
        .parcels
        .iter()
        .flatten()
        .filter(|parcel| {
            parcel.supplier == submission.supplier
                && parcel.submission_id == submission.submission_id
                && parcel.dispatched_at.begins() <= world.as_of
        })
        .collect();
    parcels.sort_by_key(|parcel| (parcel.dispatched_at, parcel.parcel_id.clone()));
    let mut carried = Vec::new();
    for parcel in &parcels {
        for line in world.book.parcel_lines.iter().flatten() {
            if line.supplier == parcel.supplier && line.parcel_id == parcel.parcel_id {
                carried.push((parcel.dispatched_at, line));
            }
        }
    }
    if carried.is_empty() {
        if submission.status != SubmissionStatus::Dispatched {
            return Vec::new();
        }
        let first = parcels.first().map(|parcel| parcel.dispatched_at);
        let last = parcels.last().map(|parcel| parcel.dispatched_at);
        let of_submission = submission.updated_at.unwrap_or(submission.received_at);
        return vec![(sent.quantity(), first, last.unwrap_or(of_submission))];
    }
    carried
        .into_iter()
        .filter(|(_, line)| line.submission_line_id == sent.row.line_id)
        .map(|(at, line)| (u64::from(line.quantity), Some(at), at))
        .collect()
}

/// Where the units of usable submission lines go that serve nothing.
///
/// 'Units left over are explained by a cancellation: all of them where the submission line refers to one
/// order and that is cancelled; otherwise as far as the cancelled quantities of lines of its orders go (of a
/// cancelled order: the whole quantities), where the line is linked to the variant (x `units`, for each part
/// by itself) or named by the line reference (x 1, once for all other variants together). Submission lines
/// draw on them by supplier, submission id, line id, each on the lines by order id, line id.'
pub fn supply(world: &World<'_>, tied: &[Tied]) -> Vec<Supply> {
    let mut drawn: BTreeMap<(LineKey, Option<Thing>), u64> = BTreeMap::new();
    let mut supply = Vec::new();
    for (index, sent) in world.sent.iter().enumerate() {
        let Some(thing) = sent.thing.as_ref().filter(|_| sent.is_usable()) else { continue };
        let tied: u64 = tied.iter().filter(|tie| tie.sent == index).map(|tie| tie.units).sum();
        let mut left = sent.quantity() - tied;
        let mut explained: BTreeMap<OrderId, u64> = BTreeMap::new();
        if let Some(cancelled) = its_one_order_cancelled(world, sent) {
            explained.insert(cancelled, left);
            left = 0;
        } else {
            for line in world.lines.iter().filter(|line| sent.orders.contains(&line.row.order_id)) {
                let made = line.link.made();
                let (part, units) = match made.iter().find(|(made, _)| made == thing) {
                    Some((_, units)) => (Some(thing.clone()), *units),
                    None if sent.names.contains(&line.key()) => (None, 1),
                    None => continue,
                };
                let used = drawn.entry((line.key(), part)).or_default();
                let taken = left.min(cancelled_units(line) * units - *used);
                *used += taken;
                left -= taken;
                *explained.entry(line.row.order_id.clone()).or_default() += taken;
            }
        }
        explained.retain(|_, units| *units > 0);
        supply.push(Supply { quantity: sent.quantity(), tied, explained, surplus: left });
    }
    supply
}

fn cancelled_units(line: &Line<'_>) -> u64 {
    u64::from(match line.order.status {
        OrderStatus::Cancelled => line.row.quantity,
        _ => line.row.cancelled_quantity,
    })
}

fn its_one_order_cancelled(world: &World<'_>, sent: &Sent<'_>) -> Option<OrderId> {
    let [order] = sent.orders.as_slice() else { return None };
    let is_cancelled = world.order(order).is_some_and(|order| order.status == OrderStatus::Cancelled);
    is_cancelled.then(|| order.clone())
}
