//! What has been dispatched of what is tied.

use model::When;
use model::book::{Parcel, Submission, SubmissionStatus};
use model::{ParcelId, SupplierId};

use crate::collections::{Few, Map, by_number};
use crate::cover::{Coverage, Tied};
use crate::world::{LineIndex, SubmissionIndex, SubmissionLineIndex, World};

/// Units of a submission line that left the supplier together.
#[derive(Clone, Copy)]
struct Gone<'a> {
    line: SubmissionLineIndex,
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
    pub parcels: Few<&'a Parcel>,
}

/// What has been dispatched, per tie of the coverage.
pub(crate) struct Dispatch<'a> {
    pub of_tie: Vec<Dispatched<'a>>,
}

impl<'a> Dispatch<'a> {
    pub(crate) fn new(world: &World<'a>, coverage: &Coverage) -> Self {
        let (mut gone, starts) = gone(world);
        let of_tie = coverage.tied.iter().map(|tie| {
            let of_line = starts[tie.supply]..starts[tie.supply + 1];
            take(&mut gone[of_line], tie.units)
        });
        Self { of_tie: of_tie.collect() }
    }

    /// The ties of a line, each with what has been dispatched of it.
    pub(crate) fn of_line<'s>(
        &'s self,
        coverage: &'s Coverage,
        line: LineIndex,
    ) -> impl Iterator<Item = (&'s Tied, &'s Dispatched<'a>)> {
        coverage.tied_to(line).iter().zip(&self.of_tie[coverage.ties_of(line)])
    }

    /// Units of a line dispatched: of all its ties, or of the right ones alone. A unit is dispatched once all
    /// its parts are.
    pub(crate) fn units_of_line(&self, coverage: &Coverage, line: LineIndex, right_only: bool) -> u64 {
        let units = coverage.needs_of(line).map(|need| {
            let gone: u64 = self
                .of_line(coverage, line)
                .filter(|(tie, _)| tie.need == need && (!right_only || tie.way.is_right()))
                .map(|(_, dispatched)| dispatched.units)
                .sum();
            gone / coverage.needs[need].per_unit
        });
        let most = coverage.lines[line].demand - coverage.lines[line].uncovered;
        let most = if right_only { coverage.lines[line].covered() } else { most };
        units.min().unwrap_or(0).min(most)
    }
}

/// What left the suppliers, by submission line, then time, then parcel id; and where that of each line begins.
fn gone<'a>(world: &World<'a>) -> (Vec<Gone<'a>>, Vec<usize>) {
    let exists = |when: When| when.begins() <= world.as_of;
    let parcels = world.book.parcels.iter().flatten().filter(|parcel| exists(parcel.dispatched_at));
    let parcels: Vec<(SubmissionIndex, &Parcel)> = parcels
        .filter_map(|parcel| Some((world.submission(&parcel.supplier, &parcel.submission_id)?, parcel)))
        .collect();
    let (parcels, first_parcel) = by_number(&parcels, world.submissions.len(), |(submission, _)| *submission);
    let by_id: Map<(&SupplierId, &ParcelId), (SubmissionIndex, &Parcel)> =
        parcels.iter().map(|of| ((&of.1.supplier, &of.1.parcel_id), *of)).collect();
    let mut says_what_is_in_its_parcels = vec![false; world.submissions.len()];
    let mut gone: Vec<Gone<'a>> = Vec::new();
    for row in world.book.parcel_lines.iter().flatten() {
        let Some((submission, parcel)) = by_id.get(&(&row.supplier, &row.parcel_id)).copied() else {
            continue;
        };
        says_what_is_in_its_parcels[submission] = true;
        if let Some(line) = world.submission_line(submission, &row.submission_line_id) {
            gone.push(Gone {
                line,
                at: parcel.dispatched_at,
                parcel: Some(parcel),
                first_at: Some(parcel.dispatched_at),
                units: u64::from(row.quantity),
            });
        }
    }
    for (index, view) in world.submissions.iter().enumerate() {
        if view.row.status == SubmissionStatus::Dispatched && !says_what_is_in_its_parcels[index] {
            let parcels = &parcels[first_parcel[index]..first_parcel[index + 1]];
            gone.extend(view.lines.clone().map(|line| all_of_it(world, line, view.row, parcels)));
        }
    }
    let (mut gone, starts) = by_number(&gone, world.submission_lines.len(), |gone| gone.line);
    for line in starts.windows(2) {
        let of_line = &mut gone[line[0]..line[1]];
        of_line.sort_by_key(|gone| (gone.at, gone.parcel.map(|parcel| &parcel.parcel_id)));
    }
    (gone, starts)
}

/// A submission that is dispatched and has no parcel lines has dispatched all its lines: in its last parcel,
/// or, where there is none, at its last change.
fn all_of_it<'a>(
    world: &World<'_>,
    line: SubmissionLineIndex,
    submission: &Submission,
    parcels: &[(SubmissionIndex, &'a Parcel)],
) -> Gone<'a> {
    let parcels = parcels.iter().map(|(_, parcel)| *parcel);
    let last = parcels.clone().max_by_key(|parcel| (parcel.dispatched_at.ends(), &parcel.parcel_id));
    Gone {
        line,
        at: last.map_or_else(
            || submission.updated_at.unwrap_or(submission.received_at),
            |parcel| parcel.dispatched_at,
        ),
        parcel: last,
        first_at: parcels.map(|parcel| parcel.dispatched_at).min(),
        units: u64::from(world.submission_lines[line].row.quantity),
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
