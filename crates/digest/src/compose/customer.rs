//! What it means that a cut-off is past, and what the owner may write to the customer.
//!
//! Without names, for none are kept; the owner sends it or does not. Must not know how it is laid out. Start reading at
//! [`past`].

use model::finding::{Evidence, NamedLine};
use model::{Check, Finding};

use crate::words::{count, line_name, lines};

/// What it means, and a text for the customer, where there is one to write.
pub(super) fn past(finding: &Finding) -> (Option<&'static str>, Option<String>) {
    let order = finding.order_id.as_ref().map(|id| format!("your order {id}")).unwrap_or_default();
    match finding.check {
        Check::PartSent | Check::UnsentOrder => {
            let what = lines(&finding.lines);
            let text = match is_in_part(finding) {
                true => format!(
                    "Hello, {order} will reach you in two parcels: {what} will come separately. It costs you nothing \
                     more, and you need not do anything. We are sorry for the wait."
                ),
                false => format!(
                    "Hello, {order} takes longer than we meant it to: {what} could not be made in time. It is on its way \
                     to being made now. We are sorry for the wait."
                ),
            };
            (Some("a second supplier order and a second parcel"), Some(text))
        }
        Check::WrongVariant => {
            let what = finding.lines.first().map(|line| line_name(line).to_string()).unwrap_or_default();
            let text = format!(
                "Hello, with {order} the wrong item will reach you for {what}. The right one is being made and will \
                 come separately; it costs you nothing more. We are sorry."
            );
            (Some("the wrong item goes out, and the right one has to be made and sent too"), Some(text))
        }
        Check::OverSent => {
            let text = format!(
                "Hello, with {order} more may reach you than you bought. Please tell us when it is there; you need not \
                 pay for it."
            );
            (Some("it is made and has to be paid for"), Some(text))
        }
        Check::SentAfterCancel => {
            let text = format!(
                "Hello, something that you cancelled from {order} was being made already and may still reach you. You \
                 need not pay for it; please tell us when it is there."
            );
            (Some("it is made and has to be paid for, though nobody bought it"), Some(text))
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

/// What the customers of orders that share a cause may be told, behind whom it is for.
pub(super) fn of_several(line: &NamedLine, orders: u64) -> (String, String) {
    (
        format!("A text for the customers of {}:", count(orders, "order", "orders")),
        format!(
            "Hello, {} of your order will come separately. It costs you nothing more, and you need not do anything. We \
             are sorry for the wait.",
            line_name(line)
        ),
    )
}
