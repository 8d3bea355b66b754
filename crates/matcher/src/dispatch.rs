//! What has been dispatched of what is tied.

use std::collections::HashMap;

use model::When;
use model::book::{Parcel, Submission, SubmissionStatus};
use model::{LineId, ParcelId, SubmissionId, SupplierId};

use crate::cover::{Coverage, Tied};
use crate::world::{LineIndex, World};

/// Units that left a supplier together.
#[derive(Clone, Copy)]
struct Gone<'a> {
    at: When,
    parcel: Option<&'a Parcel>,
    /// The first parcel of it: earlier than `at` where several parcels do not say what is in them.
    first_at: Option<When>,
    units: u64,
}

/// What has been dispatched of one tie.
#[derive(Clone, Default)]
pub(crate) struct Dispatched<'a> {
    pub units: u64,
    /// When the first parcel of it went; `None` where no parcel is known.
    pub first_at: Option<When>,
    /// When all of it had gone.
    pub last_at: Option<When>,
    /// In which parcels, where they are known.
    pub parcels: Vec<&'a Parcel>,
}

/// What has been dispatched, per tie of the coverage.
pub(crate) struct Dispatch<'a> {
    pub of_tie: Vec<Dispatched<'a>>,
}

impl<'a> Dispatch<'a> {
    pub(crate) fn new(world: &World<'a>, coverage: &Coverage) -> Self {
        let mut gone = gone(world);
        let of_tie = coverage.tied.iter().map(|tie| take(&mut gone[tie.supply], tie.units)).collect();
        Self { of_tie }
    }

    /// The ties of a line, each with what has been dispatched of it.
    pub(crate) fn of_line<'s>(
        &'s self,
        coverage: &'s Coverage,
        line: LineIndex,
    ) -> impl Iterator<Item = (&'s Tied, &'s Dispatched<'a>)> {
        let start = coverage.tied.partition_point(|tie| coverage.needs[tie.need].line < line);
        coverage.tied_to(line).iter().zip(&self.of_tie[start..])
    }

    /// Units of a line dispatched: of all its ties, or of the right ones alone. A unit is dispatched once all
    /// its parts are.
    pub(crate) fn units_of_line(&self, coverage: &Coverage, line: LineIndex, right_only: bool) -> u64 {
        let start = coverage.needs.partition_point(|need| need.line < line);
        let parts = coverage.needs[start..].iter().take_while(|need| need.line == line);
        let units = parts.enumerate().map(|(index, need)| {
            let gone: u64 = self
                .of_line(coverage, line)
                .filter(|(tie, _)| tie.need == start + index && (!right_only || tie.way.is_right()))
                .map(|(_, dispatched)| dispatched.units)
                .sum();
            gone / need.per_unit
        });
        let most = coverage.lines[line].demand - coverage.lines[line].uncovered;
        let most = if right_only { coverage.lines[line].covered() } else { most };
        units.min().unwrap_or(0).min(most)
    }
}

/// Per submission line, what left the supplier, by time, then parcel id.
fn gone<'a>(world: &World<'a>) -> Vec<Vec<Gone<'a>>> {
    let exists = |when: When| when.begins() <= world.as_of;
    let parcels: HashMap<(&SupplierId, &ParcelId), &Parcel> = world
        .book
        .parcels
        .iter()
        .flatten()
        .filter(|parcel| exists(parcel.dispatched_at))
        .map(|parcel| ((&parcel.supplier, &parcel.parcel_id), parcel))
        .collect();
    let mut of_submission: HashMap<(&SupplierId, &SubmissionId), Vec<&Parcel>> = HashMap::new();
    for parcel in parcels.values() {
        of_submission.entry((&parcel.supplier, &parcel.submission_id)).or_default().push(parcel);
    }
    let mut lines: HashMap<(&SupplierId, &SubmissionId), HashMap<&LineId, Vec<Gone<'a>>>> = HashMap::new();
    for line in world.book.parcel_lines.iter().flatten() {
        if let Some(parcel) = parcels.get(&(&line.supplier, &line.parcel_id)) {
            lines
                .entry((&parcel.supplier, &parcel.submission_id))
                .or_default()
                .entry(&line.submission_line_id)
                .or_default()
                .push(Gone {
                    at: parcel.dispatched_at,
                    parcel: Some(parcel),
                    first_at: Some(parcel.dispatched_at),
                    units: u64::from(line.quantity),
                });
        }
    }
    world
        .submission_lines
        .iter()
        .map(|line| {
            let key = (&line.row.supplier, &line.row.submission_id);
            let submission = world.submissions[line.submission].row;
            let mut gone = match lines.get(&key) {
                Some(by_line) => by_line.get(&line.row.line_id).cloned().unwrap_or_default(),
                None if submission.status == SubmissionStatus::Dispatched => {
                    let parcels = of_submission.get(&key).map(Vec::as_slice).unwrap_or_default();
                    vec![all_of_it(submission, u64::from(line.row.quantity), parcels)]
                }
                None => Vec::new(),
            };
            gone.sort_by_key(|gone| (gone.at, gone.parcel.map(|parcel| &parcel.parcel_id)));
            gone
        })
        .collect()
}

/// A submission that is dispatched and has no parcel lines has dispatched all its lines: in its last parcel,
/// or, where there is none, at its last change.
fn all_of_it<'a>(submission: &'a Submission, units: u64, parcels: &[&'a Parcel]) -> Gone<'a> {
    let dispatched_at = |parcel: &&&Parcel| (parcel.dispatched_at.ends(), parcel.parcel_id.clone());
    let last = parcels.iter().max_by_key(dispatched_at);
    Gone {
        at: last.map_or_else(
            || submission.updated_at.unwrap_or(submission.received_at),
            |parcel| parcel.dispatched_at,
        ),
        parcel: last.copied(),
        first_at: parcels.iter().map(|parcel| parcel.dispatched_at).min(),
        units,
    }
}

/// Takes up to `units` off what has gone, the earliest first.
fn take<'a>(gone: &mut [Gone<'a>], units: u64) -> Dispatched<'a> {
    let mut taken = Dispatched::default();
    for from in gone.iter_mut().filter(|gone| gone.units > 0) {
        let now = from.units.min(units - taken.units);
        if now == 0 {
            break;
        }
        from.units -= now;
        taken.units += now;
        taken.first_at = taken.first_at.into_iter().chain(from.first_at).min();
        taken.last_at = taken.last_at.into_iter().chain([from.at]).max_by_key(|at| at.ends());
        taken.parcels.extend(from.parcel);
    }
    taken
}
