//! The supplier orders of an order, what of them serves nothing, and their parcels.
//!
//! Must not know what was bought, or how it is laid out. Start reading at [`supplier_orders`].

use chrono::{DateTime, Utc};
use matcher::{Served, SupplyAccount};
use model::book::{Submission, SubmissionLine, SubmissionStatus};
use web::view::{Moment, Parcel, SupplierOrder, Surplus, Words};

use super::Shown;
use crate::layout::{count, outside};

/// How far it is, in everyday words.
pub fn status(status: SubmissionStatus) -> &'static str {
    match status {
        SubmissionStatus::Received => "received, not begun",
        SubmissionStatus::Held => "on hold",
        SubmissionStatus::Making => "being made",
        SubmissionStatus::Dispatched => "dispatched",
        SubmissionStatus::Cancelled => "cancelled",
        SubmissionStatus::Rejected => "rejected by the supplier",
    }
}

/// How far the submission line of a tie is.
pub fn status_of(shown: &Shown, tie: &Served) -> Option<SubmissionStatus> {
    let submission = shown.submission(&tie.variant.supplier, &tie.submission_id)?;
    let line = shown.history.submission_lines.iter().find(|row| {
        (&row.supplier, &row.submission_id, &row.line_id)
            == (&tie.variant.supplier, &tie.submission_id, &tie.line_id)
    });
    Some(line.and_then(|line| line.status).unwrap_or(submission.status))
}

/// The supplier orders, each with those of its lines that serve nothing.
pub fn supplier_orders(shown: &Shown) -> Vec<SupplierOrder> {
    shown
        .history
        .submissions
        .iter()
        .zip(&shown.cut_offs)
        .map(|(row, cut_off)| one(shown, row, *cut_off))
        .collect()
}

fn one(shown: &Shown, row: &Submission, cut_off: Option<DateTime<Utc>>) -> SupplierOrder {
    let received = format!("received {}", shown.times.when(row.received_at));
    let mut said = match row.status {
        SubmissionStatus::Received => vec![received, "not begun".to_owned()],
        other => vec![status(other).to_owned(), received],
    };
    let cut_off = cut_off.filter(|_| row.status.is_live());
    let can_be_changed = cut_off.is_some_and(|at| !row.status.has_begun() && at >= shown.as_of);
    if let Some(cut_off) = cut_off {
        let at = shown.times.at(cut_off);
        said.push(match can_be_changed {
            true => format!("can be changed until {at}"),
            false => format!("can no longer be changed (cut-off {at})"),
        });
    }
    if let Some(replaced) = &row.replaces {
        said.push(format!("makes {} again", outside(replaced)));
    }
    if row.received_at.begins() > shown.as_of {
        said.push("newer than the rest, and not counted yet".to_owned());
    }
    let surplus = lines_of(shown, row).filter_map(|line| {
        let words = Words::ours(serves_nothing(shown, row, line)?);
        Some(Surplus { line_id: line.line_id.clone(), words })
    });
    let others = shown.others.get(&(row.supplier.clone(), row.submission_id.clone()));
    SupplierOrder {
        supplier: row.supplier.clone(),
        submission_id: row.submission_id.clone(),
        status: row.status,
        words: Words::ours(said.join(", ")),
        cut_off: cut_off.map(|at| Moment::said(at, shown.times.at(at))),
        can_be_changed,
        surplus: surplus.collect(),
        others: others.map(|others| {
            Words::ours(format!("beside that {} for other orders", count(*others, "line", "lines")))
        }),
    }
}

fn lines_of<'s>(shown: &'s Shown, of: &Submission) -> impl Iterator<Item = &'s SubmissionLine> {
    let key = (of.supplier.clone(), of.submission_id.clone());
    shown
        .history
        .submission_lines
        .iter()
        .filter(move |row| (&row.supplier, &row.submission_id) == (&key.0, &key.1))
}

/// That some or all units of a line serve nothing, and why; `None` where all serve something.
fn serves_nothing(shown: &Shown, submission: &Submission, row: &SubmissionLine) -> Option<String> {
    let account = shown.account.as_ref()?.supplies.iter().find(|supply| {
        (&supply.supplier, &supply.submission_id, &supply.line_id)
            == (&row.supplier, &row.submission_id, &row.line_id)
    })?;
    let (units, why) = surplus(submission, row, account)?;
    let what = match (&row.variant_id, &row.sku) {
        (Some(id), _) => outside(id.as_str()),
        (None, Some(sku)) => format!("SKU {}", outside(sku.as_str())),
        (None, None) => "something that it does not name".to_owned(),
    };
    let of = if units == account.quantity { String::new() } else { format!(" of {}", account.quantity) };
    Some(format!("{units}{of} x {what} {why}"))
}

fn surplus(submission: &Submission, row: &SubmissionLine, account: &SupplyAccount) -> Option<(u64, String)> {
    let status = row.status.unwrap_or(submission.status);
    let too_much = "MORE THAN WAS BOUGHT: it serves nothing";
    Some(match account {
        SupplyAccount { surplus: 1.., .. } => (account.surplus, too_much.to_owned()),
        SupplyAccount { after_cancel: 1.., .. } => {
            (account.after_cancel, "MADE FOR SOMETHING THAT IS CANCELLED: it serves nothing".to_owned())
        }
        SupplyAccount { unreferred: 1.., .. } => {
            (account.unreferred, "for no order that is known".to_owned())
        }
        // What has been called off is said of the whole submission already.
        SupplyAccount { not_counted: 1.., .. }
            if !submission.status.is_live() || submission.replaces.is_some() =>
        {
            return None;
        }
        SupplyAccount { not_counted: 1.., .. } if !status.is_live() => {
            (account.not_counted, format!("is {}", self::status(status)))
        }
        SupplyAccount { not_counted: 1.., .. } => {
            (account.not_counted, "serves nothing: it is not known what that is".to_owned())
        }
        _ => return None,
    })
}

/// The parcels, with what is in them and where to follow them.
pub fn parcels(shown: &Shown) -> Vec<Parcel> {
    let one = |row: &model::book::Parcel| {
        let inside: Vec<String> = shown
            .history
            .parcel_lines
            .iter()
            .filter(|line| line.supplier == row.supplier && line.parcel_id == row.parcel_id)
            .map(|line| format!("{} of line {}", line.quantity, outside(line.submission_line_id.as_str())))
            .collect();
        let mut said = vec![format!("of {}", outside(row.submission_id.as_str()))];
        said.push(format!("dispatched {}", shown.times.when(row.dispatched_at)));
        said.extend(row.carrier.as_deref().map(|carrier| format!("with {}", outside(carrier))));
        said.push(match &row.tracking_number {
            Some(number) => format!("tracking number {}", outside(number)),
            None => "without a tracking number".to_owned(),
        });
        if !inside.is_empty() {
            said.push(format!("in it {}", inside.join(", ")));
        }
        Parcel {
            supplier: row.supplier.clone(),
            parcel_id: row.parcel_id.clone(),
            submission_id: row.submission_id.clone(),
            words: Words::ours(said.join(", ")),
        }
    };
    shown.history.parcels.iter().map(one).collect()
}
