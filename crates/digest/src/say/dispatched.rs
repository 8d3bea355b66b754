//! What is said of what has gone out, or should have: in part, late, not marked.
//!
//! Must not know how the words are laid out. Each function says one check.

use model::Finding;
use model::finding::{
    AddressEvidence, LateEvidence, NamedSubmission, PartDispatchedEvidence, UnmarkedEvidence,
};

use super::{Account, Teller};
use crate::words::{
    by_number, count, lines, listed, number_of, supplier_order, the_supplier, unique, units_of,
};

/// `part-dispatched`.
pub fn in_part(finding: &Finding, dispatched: &PartDispatchedEvidence, teller: &Teller) -> Account {
    let what = format!(
        "{} went out at {}, but {} {} not followed",
        count(dispatched.units_dispatched, "item", "items"),
        teller.at(dispatched.first_dispatched_at),
        lines(&finding.lines),
        by_number(units_of(&finding.lines), "has", "have")
    );
    Account::of(finding, what, ask_when(finding))
}

/// `late`.
pub fn late(finding: &Finding, late: &LateEvidence, teller: &Teller) -> Account {
    let mut what = format!(
        "{} {} not gone out, though dispatch was promised by {}",
        lines(&finding.lines),
        by_number(units_of(&finding.lines), "has", "have"),
        teller.clock.end_in_a_sentence(late.promised_by)
    );
    let todo = match (late.units_waiting, late.units_uncovered) {
        (_, 0) => ask_when(finding),
        (0, missing) => {
            let it = by_number(missing, "it", "them");
            what += &format!(", and nobody makes {it}");
            format!("order {it} from the supplier, and tell the customer")
        }
        (_, missing) => {
            what += &format!(", and nobody makes {missing} of them");
            "order what nobody makes, ask the supplier about the rest, and tell the customer".to_owned()
        }
    };
    Account::of(finding, what, todo)
}

fn ask_when(finding: &Finding) -> String {
    let supplier = the_supplier(finding.supplier.as_ref());
    let goes_out = by_number(units_of(&finding.lines), "it goes out", "they go out");
    format!("ask {supplier} when {goes_out}, and tell the customer")
}

/// `dispatch-unmarked`.
pub fn unmarked(finding: &Finding, unmarked: &UnmarkedEvidence, teller: &Teller) -> Account {
    let mut what = format!("all of it had gone out by {}", teller.at(unmarked.dispatched_since));
    if !unmarked.parcels.is_empty() {
        let word = by_number(number_of(&unmarked.parcels), "parcel", "parcels");
        what += &format!(" in {word} {}", listed(&unmarked.parcels, |parcel| parcel.parcel_id.to_string()));
    }
    what += ", but the storefront still shows it as open";
    Account::of(finding, what, "mark it as dispatched there")
}

/// `address-changed`.
pub fn address_changed(finding: &Finding, address: &AddressEvidence, teller: &Teller) -> Account {
    let there = listed(&address.submissions, |submission| {
        supplier_order(Some(&submission.submission_id), Some(&submission.supplier))
    })
    .to_string();
    let goes = by_number(number_of(&address.submissions), "goes", "go");
    let what = format!(
        "its delivery address changed at {}, and {there} still {goes} to the old one, as far as is known",
        teller.at(address.changed_at)
    );
    // Of several suppliers, some may have begun while others have not. Where no cut-off is ahead, and not all have passed,
    // those that are known have.
    let is_past = |submission: &&NamedSubmission| {
        let has_passed = match (submission.cut_off, finding.act_before) {
            (Some(cut_off), Some(next)) => cut_off < next,
            (cut_off, None) => cut_off.is_some(),
            (None, _) => false,
        };
        finding.cutoff_passed || submission.status.has_begun() || has_passed
    };
    let (past, ahead): (Vec<&NamedSubmission>, Vec<_>) = address.submissions.iter().partition(is_past);
    let suppliers = |of: &[&NamedSubmission]| {
        listed(&unique(of.iter().map(|submission| &submission.supplier)), |supplier| *supplier).to_string()
    };
    let before = teller.before(finding.act_before);
    let todo = match (&ahead[..], &past[..]) {
        ([], _) => {
            "ask whether the parcel can still be sent elsewhere, for the cut-off has passed".to_owned()
        }
        (_, []) => format!("have the address changed there{before}"),
        (ahead, past) => format!(
            "have the address changed at {}{before}, and ask {} whether what it makes can still be sent elsewhere, for the \
             cut-off there has passed",
            suppliers(ahead),
            suppliers(past)
        ),
    };
    Account::of(finding, what, todo)
}
