//! What is said of what was sent to a supplier: the wrong thing, too much, for something cancelled, for no order,
//! on hold, not begun.
//!
//! Must not know how the words are laid out. Each function says one check, or two that are told alike.

use std::fmt::Display;

use model::book::SubmissionStatus;
use model::finding::{
    CancelledEvidence, NamedSubmission, NamedSubmissionLine, StrayEvidence, SurplusEvidence, WaitingEvidence,
    WrongEvidence,
};
use model::{Check, Finding};

use super::{Account, Teller};
use crate::words::{
    by_number, cancelled_line, count, differing, line_name, lines, listed, number_of, orders,
    quoted_reference, submission_line, supplier_order, the_supplier, unique, variant,
};

/// `wrong-variant`.
pub fn wrong(finding: &Finding, wrong: &WrongEvidence, teller: &Teller) -> Account {
    let bought =
        finding.lines.first().map_or_else(|| "something".to_owned(), |line| line_name(line).to_string());
    let sent = listed(&wrong.sent, |sent| format!("{}\u{a0}x {}", sent.units, variant(&sent.variant)));
    let mut what = format!("the wrong item was sent for {bought}: {sent}");
    if !wrong.wanted.is_empty() {
        what += &format!(" instead of {}", listed(&wrong.wanted, variant));
    }
    if wrong.sent.iter().any(|sent| !sent.differs.is_empty()) {
        what += &format!(" - {}", differing(wrong.sent.iter().flat_map(|sent| &sent.differs)));
    }
    let sent_by = unique(wrong.sent.iter().map(|sent| (&sent.variant.supplier, &sent.submission_id)));
    let there = listed(&sent_by, |(supplier, id)| supplier_order(Some(id), Some(supplier)));
    let gone = wrong.sent.iter().any(|sent| sent.status == SubmissionStatus::Dispatched);
    let todo = if gone {
        "order the right one and tell the customer, for the wrong one has gone out".to_owned()
    } else if finding.cutoff_passed {
        format!(
            "ask whether {there} can still be stopped, and order the right one: the cut-off has passed, \
             so a second supplier order and parcel will be needed"
        )
    } else {
        format!("have {there} changed{}", teller.before(finding.act_before))
    };
    Account::of(finding, what, todo)
}

/// `over-sent`.
pub fn surplus(finding: &Finding, surplus: &SurplusEvidence, teller: &Teller) -> Account {
    let is_this = |named: &&NamedSubmission| {
        Some(&named.submission_id) == finding.submission_id.as_ref()
            && Some(&named.supplier) == finding.supplier.as_ref()
    };
    let (this, others): (Vec<_>, Vec<_>) = surplus.submissions.iter().partition(is_this);
    let gone = this.iter().any(|named| named.status == SubmissionStatus::Dispatched);
    let mut what = supplier_order(finding.submission_id.as_ref(), finding.supplier.as_ref()).to_string();
    if !surplus.other_orders.is_empty() {
        what += &format!(", shared with {},", orders(&surplus.other_orders));
    }
    what += &format!(" has {}", items(surplus.units, "too many for it", &finding.submission_lines));
    if !others.is_empty() {
        what += &format!(", and the order is also in {}", listed(&others, |other| named_order(other)));
    }
    Account::of(finding, what, cancel(finding, surplus.units, gone, teller))
}

/// `sent-after-cancel`.
pub fn cancelled(finding: &Finding, cancelled: &CancelledEvidence, teller: &Teller) -> Account {
    let gone = cancelled.submission.status == SubmissionStatus::Dispatched;
    let called_off = if cancelled.order_cancelled || cancelled.cancelled_lines.is_empty() {
        "it was cancelled".to_owned()
    } else {
        let units = cancelled
            .cancelled_lines
            .iter()
            .fold(0, |sum: u64, line| sum.saturating_add(line.cancelled_quantity.into()));
        let named = listed(&cancelled.cancelled_lines, cancelled_line);
        format!("{named} {} cancelled", by_number(units, "was", "were"))
    };
    let what = format!(
        "{called_off}, but {} {} {}",
        named_order(&cancelled.submission),
        if gone { "sent out" } else { "still has" },
        items(cancelled.units, "for it", &finding.submission_lines)
    );
    Account::of(finding, what, cancel(finding, cancelled.units, gone, teller))
}

/// What to do about units that the supplier should not make, unless they were meant for a line that nobody makes.
fn cancel(finding: &Finding, units: u64, gone: bool, teller: &Teller) -> String {
    let it = by_number(units, "it", "them");
    let supplier = the_supplier(finding.supplier.as_ref());
    let cancel = if gone {
        let have = by_number(units, "it has", "they have");
        format!("tell the customer what to do with {it}, for {have} gone out")
    } else if finding.cutoff_passed {
        let they = by_number(units, "it", "they");
        format!("ask {supplier} whether {they} can still be stopped, for the cut-off has passed")
    } else {
        format!("cancel {it} at {supplier}{}", teller.before(finding.act_before))
    };
    if finding.lines.is_empty() {
        return cancel;
    }
    let meant = by_number(units, "it was meant", "they were meant");
    format!("if {meant} for {}, which nobody makes, say so, otherwise {cancel}", lines(&finding.lines))
}

/// `stray-submission`.
pub fn stray(finding: &Finding, stray: &StrayEvidence, teller: &Teller) -> Account {
    let received = teller.at(stray.submission.received_at);
    let for_what = match stray.order_refs.len() {
        0 => "names no order".to_owned(),
        number => {
            let which = if number == 1 { "which is no known order" } else { "which are no known orders" };
            format!("is for {}, {which}", listed(&stray.order_refs, |text| quoted_reference(text)))
        }
    };
    let made = if finding.submission_lines.is_empty() {
        count(stray.units, "item", "items")
    } else {
        listed(&finding.submission_lines, submission_line).to_string()
    };
    let todo = if stray.submission.status == SubmissionStatus::Dispatched {
        "find out which order it was for and say so, for it has gone out".to_owned()
    } else if finding.cutoff_passed {
        "find out which order it is for and say so, for it can no longer be cancelled".to_owned()
    } else {
        format!("say which order it is for, or cancel it{}", teller.before(finding.act_before))
    };
    Account::of(finding, format!("it came in at {received} with {made}, and {for_what}"), todo)
}

/// `held` and `not-started`.
pub fn waiting(finding: &Finding, waiting: &WaitingEvidence, teller: &Teller) -> Account {
    let submission = &waiting.submission;
    let (status, been, asked) = match finding.check {
        Check::Held => (SubmissionStatus::Held, "on hold", "what it waits for"),
        _ => (SubmissionStatus::Received, "waiting to be begun", "when it will begin"),
    };
    let since = teller.at(waiting.since);
    let what = match number_of(&waiting.submission_line_ids) {
        lines if lines > 0 && submission.status != status => {
            let have = by_number(lines, "has", "have");
            format!("{} {have} been {been} since {since}", count(lines, "line of it", "lines of it"))
        }
        _ => format!("it has been {been} since {since}"),
    };
    let mut subject = named_order(submission).to_string();
    if !waiting.order_ids.is_empty() {
        subject += &format!(", for {}", orders(&waiting.order_ids));
    }
    let todo = format!("ask {} {asked}{}", submission.supplier, teller.before(finding.act_before));
    Account::new(subject, what, todo)
}

/// `1 x Apron, moss, L (AP-9) too many`; of several lines the sum first: `3 items too many: ...`.
fn items(units: u64, too_many: &str, lines: &[NamedSubmissionLine]) -> String {
    match lines {
        [only] => format!("{} {too_many}", submission_line(only)),
        lines => {
            let sum = format!("{} {too_many}", count(units, "item", "items"));
            if lines.is_empty() { sum } else { format!("{sum}: {}", listed(lines, submission_line)) }
        }
    }
}

pub(super) fn named_order(submission: &NamedSubmission) -> impl Display {
    supplier_order(Some(&submission.submission_id), Some(&submission.supplier))
}
