//! Rows that belong to other rows: those that they belong to must be there.
//!
//! A row whose parent is missing is a bad row; a row whose parent was itself left out goes with it, unreported.
//! Must not know: files, or how a row was read. Source: README.md, 'The tables'.

use model::LineId;
use model::book::{Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie};

use crate::bad_row::{Fault, shown};
use crate::build::TableRow;
use crate::keys::Placed;
use crate::skipped::{LeftOut, Skipped};
use crate::tables::{Column, Table};

/// Why a row does not stand.
pub(crate) enum Orphan {
    /// The row that it belongs to was left out.
    ParentLeftOut,
    /// The row that it belongs to is in no file.
    ParentMissing {
        /// The table in which it should be.
        table: Table,
        /// The column that names it.
        column: Column,
        /// What is not there: `order "1009"`.
        what: String,
    },
}

/// The row of a key, in rows sorted by it.
pub(crate) fn find<'a, T: TableRow>(rows: &'a [Placed<T>], key: &T::Key<'a>) -> Option<&'a T> {
    let index = rows.binary_search_by(|placed| placed.row.key().cmp(key)).ok()?;
    Some(&rows[index].row)
}

/// Keeps the rows whose parents stand; `parents_of` says whether they do, `file_of` names the file of a table.
pub(crate) fn keep_with_parents<'f, T: TableRow>(
    rows: Vec<Placed<T>>,
    left_out: &mut LeftOut,
    file_of: impl Fn(Table) -> Option<&'f str>,
    parents_of: impl Fn(&T, &LeftOut) -> Result<(), Orphan>,
) -> Vec<Placed<T>> {
    let mut kept = Vec::with_capacity(rows.len());
    for placed in rows {
        let orphan = match parents_of(&placed.row, left_out) {
            Ok(()) => {
                kept.push(placed);
                continue;
            }
            Err(orphan) => orphan,
        };
        let skipped = Skipped::read(T::TABLE, placed.row.names());
        match orphan {
            Orphan::ParentLeftOut => left_out.leave_out(skipped),
            Orphan::ParentMissing { table, column, what } => {
                let fault = missing(file_of(table), table, column, &what, left_out);
                left_out.report(file_of(T::TABLE).unwrap_or_default(), placed.line, fault, skipped);
            }
        }
    }
    kept
}

fn missing(file: Option<&str>, table: Table, column: Column, what: &str, left_out: &LeftOut) -> Fault {
    let Some(file) = file else {
        return Fault::of(
            column.name(),
            format!("there is no {what}: the table {} was not given", table.name()),
            format!("one that stands in {}", table.name()),
            format!("Export {} into the folder.", table.name()),
        );
    };
    let hint = if left_out.has_keyless(table) {
        format!("It may be one of the rows of {file} that could not be read: mend those first.")
    } else {
        "A missing row usually means that the exports cover different days: export all tables for the same days."
            .to_owned()
    };
    Fault::of(
        column.name(),
        format!("there is no {what} in {file}"),
        format!("one that stands in {file}"),
        hint,
    )
}

fn look(
    stands: bool,
    left_out: &LeftOut,
    (table, key): (Table, &[&str]),
    column: Column,
    what: impl FnOnce() -> String,
) -> Result<(), Orphan> {
    if stands {
        Ok(())
    } else if left_out.has(table, key) {
        Err(Orphan::ParentLeftOut)
    } else {
        Err(Orphan::ParentMissing { table, column, what: what() })
    }
}

/// Of an order line: its order.
pub(crate) fn of_order_line(
    line: &OrderLine,
    left_out: &LeftOut,
    orders: &[Placed<Order>],
) -> Result<(), Orphan> {
    let order_id = line.order_id.as_str();
    let stands = find(orders, &&line.order_id).is_some();
    look(stands, left_out, (Table::Orders, &[order_id]), Column::OrderId, || {
        format!("{} {}", Table::Orders.row_noun(), shown(order_id))
    })
}

/// Of a submission line: its submission.
pub(crate) fn of_submission_line(
    line: &SubmissionLine,
    left_out: &LeftOut,
    submissions: &[Placed<Submission>],
) -> Result<(), Orphan> {
    let stands = find(submissions, &(&line.supplier, &line.submission_id)).is_some();
    submission(stands, left_out, line.supplier.as_str(), line.submission_id.as_str())
}

/// Of a parcel: its submission.
pub(crate) fn of_parcel(
    parcel: &Parcel,
    left_out: &LeftOut,
    submissions: &[Placed<Submission>],
) -> Result<(), Orphan> {
    let stands = find(submissions, &(&parcel.supplier, &parcel.submission_id)).is_some();
    submission(stands, left_out, parcel.supplier.as_str(), parcel.submission_id.as_str())
}

/// Of a parcel line: its parcel, and the line of the parcel's submission.
pub(crate) fn of_parcel_line(
    line: &ParcelLine,
    left_out: &LeftOut,
    parcels: &[Placed<Parcel>],
    submission_lines: &[Placed<SubmissionLine>],
) -> Result<(), Orphan> {
    let (supplier, parcel_id) = (line.supplier.as_str(), line.parcel_id.as_str());
    let parcel = find(parcels, &(&line.supplier, &line.parcel_id));
    look(parcel.is_some(), left_out, (Table::Parcels, &[supplier, parcel_id]), Column::ParcelId, || {
        format!("parcel {} of supplier {}", shown(parcel_id), shown(supplier))
    })?;
    let Some(parcel) = parcel else { return Ok(()) };
    let stands = find(submission_lines, &(&parcel.supplier, &parcel.submission_id, &line.submission_line_id))
        .is_some();
    submission_line(stands, left_out, supplier, parcel.submission_id.as_str(), &line.submission_line_id)
}

/// Of a tie: its order line, its submission, and the submission line if it names one.
pub(crate) fn of_tie(
    tie: &Tie,
    left_out: &LeftOut,
    order_lines: &[Placed<OrderLine>],
    submissions: &[Placed<Submission>],
    submission_lines: &[Placed<SubmissionLine>],
) -> Result<(), Orphan> {
    let (order_id, line_id) = (tie.order_id.as_str(), tie.line_id.as_str());
    let stands = find(order_lines, &(&tie.order_id, &tie.line_id)).is_some();
    look(stands, left_out, (Table::OrderLines, &[order_id, line_id]), Column::LineId, || {
        format!("order line {} of order {}", shown(line_id), shown(order_id))
    })?;
    let stands = find(submissions, &(&tie.supplier, &tie.submission_id)).is_some();
    submission(stands, left_out, tie.supplier.as_str(), tie.submission_id.as_str())?;
    let Some(named) = &tie.submission_line_id else { return Ok(()) };
    let stands = find(submission_lines, &(&tie.supplier, &tie.submission_id, named)).is_some();
    submission_line(stands, left_out, tie.supplier.as_str(), tie.submission_id.as_str(), named)
}

fn submission(stands: bool, left_out: &LeftOut, supplier: &str, submission_id: &str) -> Result<(), Orphan> {
    let key = (Table::Submissions, &[supplier, submission_id][..]);
    look(stands, left_out, key, Column::SubmissionId, || {
        format!("submission {} of supplier {}", shown(submission_id), shown(supplier))
    })
}

fn submission_line(
    stands: bool,
    left_out: &LeftOut,
    supplier: &str,
    submission_id: &str,
    line_id: &LineId,
) -> Result<(), Orphan> {
    let key = (Table::SubmissionLines, &[supplier, submission_id, line_id.as_str()][..]);
    look(stands, left_out, key, Column::SubmissionLineId, || {
        format!(
            "submission line {} of submission {} of supplier {}",
            shown(line_id.as_str()),
            shown(submission_id),
            shown(supplier)
        )
    })
}
