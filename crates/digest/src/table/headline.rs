//! The first sentence of the table: what is worst, whether it can still be put right, and how much else there is.
//!
//! Must not know how it is laid out. Start reading at [`headline`].

use chrono::{DateTime, Utc};
use model::{Check, Finding, Outcome};

use super::View;
use super::group::{Group, is_bound_to_cutoff};
use crate::moment::Clock;
use crate::words::{and, by_number, count, number_of};

/// One sentence: what is worst, whether it can still be put right, and how much else there is.
pub fn headline(outcome: &Outcome, view: &View, clock: &Clock) -> String {
    let findings = &outcome.findings;
    let Some(worst) = findings.iter().map(|finding| finding.check).min() else {
        return nothing_wrong(outcome, view);
    };
    let is_core = |check| check == worst || (is_incomplete(worst) && is_incomplete(check));
    let core: Vec<&Finding> = findings.iter().filter(|finding| is_core(finding.check)).collect();
    let of = |check: Check| core.iter().filter(|finding| finding.check == check).count() as u64;
    let there = Check::ALL.iter().copied().filter(|check| of(*check) > 0);
    let mut sentence = and(there.map(|check| phrase(check, of(check))).collect());
    if is_bound_to_cutoff(worst) {
        sentence += &what_can_be_put_right(&core, clock);
    }
    let others = number_of(findings) - number_of(&core);
    if others > 0 {
        sentence += &format!("; {} a look", count(others, "other thing needs", "other things need"));
    }
    sentence.push('.');
    sentence
}

/// How many of the findings can still be put right, how many cannot, and of how many that is not known.
fn what_can_be_put_right(findings: &[&Finding], clock: &Clock) -> String {
    let number = number_of(findings);
    let ahead: Vec<DateTime<Utc>> = findings
        .iter()
        .filter(|finding| Group::of(finding) == Group::Now)
        .filter_map(|finding| finding.act_before)
        .collect();
    let past = findings.iter().filter(|finding| Group::of(finding) == Group::Past).count() as u64;
    let unknown = number - number_of(&ahead) - past;
    let first = ahead.iter().min().map(|first| clock.in_a_sentence(*first));
    let mut parts = Vec::new();
    match (first, ahead.len()) {
        (Some(first), 1) if number == 1 => parts.push(format!("it can still be put right, by {first}")),
        (Some(first), 1) => parts.push(format!("1 can still be put right, by {first}")),
        (Some(first), some) => parts.push(format!("{some} can still be put right, the first by {first}")),
        (None, _) => {}
    }
    match past {
        0 => {}
        1 if number == 1 => parts.push("it is past the cut-off".to_owned()),
        past if past == number => parts.push("all are past the cut-off".to_owned()),
        past => parts.push(format!("{past} {} past the cut-off", by_number(past, "is", "are"))),
    }
    if unknown > 0 && unknown < number {
        parts.push(format!("{unknown} {} no known cut-off", by_number(unknown, "has", "have")));
    }
    if parts.is_empty() { String::new() } else { format!("; {}", and(parts)) }
}

fn nothing_wrong(outcome: &Outcome, view: &View) -> String {
    let totals = &outcome.totals;
    if totals.orders == 0 {
        return "Nothing wrong was found, but there was no order to check.".to_owned();
    }
    let among = if view.checks.is_empty() { "" } else { " of what was asked for" };
    let orders = count(totals.orders, "order", "orders");
    let mut sentence = format!("Nothing wrong was found{among} in {orders}");
    if totals.uncovered > 0 {
        let items = count(totals.uncovered, "item is", "items are");
        sentence += &format!("; {items} not with a supplier yet");
    }
    sentence.push('.');
    sentence
}

/// Whether the check is about an order of which something is missing: the headline says these together.
pub(crate) fn is_incomplete(check: Check) -> bool {
    matches!(check, Check::PartSent | Check::UnsentOrder)
}

/// What so many findings of one check are, in the headline.
pub(crate) fn phrase(check: Check, number: u64) -> String {
    let (one, many) = match check {
        Check::PartSent => ("order goes out incomplete", "orders go out incomplete"),
        Check::UnsentOrder => ("order was not sent at all", "orders were not sent at all"),
        Check::WrongVariant => ("wrong item was sent", "wrong items were sent"),
        Check::OverSent => ("supplier order has too much", "supplier orders have too much"),
        Check::SentAfterCancel => {
            ("supplier order is for something cancelled", "supplier orders are for something cancelled")
        }
        Check::StraySubmission => {
            ("supplier order is for no known order", "supplier orders are for no known order")
        }
        Check::Held => ("supplier order is on hold", "supplier orders are on hold"),
        Check::NotStarted => ("supplier order has not been begun", "supplier orders have not been begun"),
        Check::PartDispatched => ("order went out in part only", "orders went out in part only"),
        Check::Late => ("order is late", "orders are late"),
        Check::DispatchUnmarked => {
            ("order went out but is still marked open", "orders went out but are still marked open")
        }
        Check::OfferUnlinked => ("listing sells what is not linked", "listings sell what is not linked"),
        Check::LinkMismatch => {
            ("link leads to another item than it says", "links lead to another item than they say")
        }
        Check::LinkUnusable => ("link leads to what cannot be had", "links lead to what cannot be had"),
        Check::SharedVariant => {
            ("variant is shared by different things", "variants are shared by different things")
        }
        Check::LossMaking => ("item sells at a loss", "items sell at a loss"),
        Check::AddressChanged => ("order goes to an old address", "orders go to an old address"),
        Check::SourceStale => ("source does not answer", "sources do not answer"),
        Check::SourceGap => ("source counts otherwise", "sources count otherwise"),
        Check::SourceChanged => {
            ("source answers otherwise than declared", "sources answer otherwise than declared")
        }
    };
    count(number, one, many)
}
