//! What it means that a cut-off is past, and what the owner may write to the customer.
//!
//! Without names, for none are kept; the owner sends it or does not. Must not know how it is laid out. Start reading at
//! [`past`].

use model::finding::Evidence;
use model::{Check, Finding};

use crate::causes::Cause;
use crate::words::{line_name, lines};

/// Where an order's number is to be put in.
const NUMBER_PLACE: &str = "[order number]";

/// What it means, and a text for the customer, where there is one to write.
pub(super) fn past(finding: &Finding) -> (Option<&'static str>, Option<String>) {
    let order = finding.order_id.as_ref().map(|id| format!("your order {id}")).unwrap_or_default();
    match finding.check {
        Check::PartSent | Check::UnsentOrder => {
            // What it means stands in what is to be done: a second supplier order.
            (None, Some(of_missing(&order, &lines(&finding.lines).to_string(), Some(is_in_part(finding)))))
        }
        Check::WrongVariant => {
            let what = finding.lines.first().map(|line| line_name(line).to_string()).unwrap_or_default();
            let text = format!(
                "Hello, with {order} the wrong item will reach you for {what}. The right one is being made and will \
                 come separately; it costs you nothing more. We are sorry."
            );
            (None, Some(text))
        }
        Check::OverSent => {
            let text = format!(
                "Hello, with {order} more may reach you than you bought. Please tell us when it is there; you need not \
                 pay for it."
            );
            (Some("it has to be paid for where it cannot be stopped any more"), Some(text))
        }
        Check::SentAfterCancel => {
            let text = format!(
                "Hello, something that you cancelled from {order} was being made already and may still reach you. You \
                 need not pay for it; please tell us when it is there."
            );
            (
                Some("it has to be paid for where it cannot be stopped any more, though nobody bought it"),
                Some(text),
            )
        }
        Check::AddressChanged => {
            let text = format!(
                "Hello, the address of {order} changed after it had gone to be made, so that it may go to the old one. \
                 Please tell us whether it can be taken in there."
            );
            (Some("the parcel goes to the old address, as far as is known"), Some(text))
        }
        _ => (None, None),
    }
}

/// Whether a supplier has some of the order.
fn is_in_part(finding: &Finding) -> bool {
    matches!(&finding.evidence, Evidence::Gap(gap) if !gap.sent.is_empty())
}

/// Of something that nobody makes; `in_part`: whether a supplier has the rest of the order, where that is known.
fn of_missing(order: &str, what: &str, in_part: Option<bool>) -> String {
    match in_part {
        Some(true) => format!(
            "Hello, {order} will reach you in two parcels: {what} will come separately. It costs you nothing more, and \
             you need not do anything. We are sorry for the wait."
        ),
        Some(false) => format!(
            "Hello, {order} takes longer than we meant it to: {what} could not be made in time. It is on its way to being \
             made now. We are sorry for the wait."
        ),
        None => format!(
            "Hello, {what} of {order} takes longer than we meant it to. It costs you nothing more, and you need not do \
             anything. We are sorry for the wait."
        ),
    }
}

/// What the customers of orders that share a cause may be told, behind whom it is for. Where it stands, each order's number is
/// to be put in.
pub(super) fn of_several(cause: &Cause<'_>) -> (String, String) {
    let mut are_in_part = cause.affected.iter().map(|affected| is_in_part(affected.finding));
    let first = are_in_part.next();
    let in_part = first.filter(|first| are_in_part.all(|other| other == *first));
    let what = line_name(cause.line).to_string();
    (
        format!(
            "A text for the customers of these {} orders; put the number of each where {NUMBER_PLACE} stands:",
            cause.affected.len()
        ),
        of_missing(&format!("your order {NUMBER_PLACE}"), &what, in_part),
    )
}
