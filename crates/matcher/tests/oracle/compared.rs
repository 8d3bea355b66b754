//! The crate's answer beside the oracle's: they must be the same, whatever the order of rows, and every unit
//! must be accounted for.

use std::collections::{BTreeMap, BTreeSet};

use matcher::{Near, Served, ServedLine, SupplyAccount, Whole};
use model::book::Variant;
use model::outcome::Totals;
use model::reading::Readings;
use model::{Check, OrderId, Outcome, SubmissionId, SupplierId};

use super::case::{Case, as_of};
use super::judging::{self, Answer};
use super::reduced::Reduced;

/// What the crate answers.
pub fn outcome(case: &Case) -> Outcome {
    matcher::reconcile(&case.book, case.facts(), &case.rules, as_of())
}

/// What the oracle answers.
pub fn answer(case: &Case) -> Answer {
    judging::judge(&case.book, case.facts(), &case.rules, as_of())
}

/// The crate's findings, reduced and sorted.
pub fn reduced(outcome: &Outcome) -> Vec<Reduced> {
    let mut findings: Vec<Reduced> = outcome.findings.iter().map(Reduced::from).collect();
    findings.sort();
    findings
}

/// Findings as lines of text.
pub fn lines(findings: &[Reduced]) -> Vec<String> {
    findings.iter().map(Reduced::to_string).collect()
}

/// Compares everything; the text says what differs, with the book.
pub fn differences(case: &Case) -> Result<(), String> {
    differences_from(&answer(case), case)
}

/// Compares everything with an answer of the oracle's.
pub fn differences_from(answer: &Answer, case: &Case) -> Result<(), String> {
    let outcome = outcome(case);
    let mut wrong = Vec::new();
    if outcome.totals != answer.totals {
        wrong.push(format!("totals\n  oracle {:?}\n  crate  {:?}", answer.totals, outcome.totals));
    }
    let findings = reduced(&outcome);
    wrong.extend(
        only_in(&answer.findings, &findings).map(|finding| format!("only the oracle finds {finding}")),
    );
    wrong.extend(
        only_in(&findings, &answer.findings).map(|finding| format!("only the crate finds {finding}")),
    );
    wrong.extend(units_that_do_not_add_up(&answer.totals));
    wrong.extend(units_that_do_not_add_up(&outcome.totals));
    wrong.extend(supply_unaccounted_for(answer, &findings));
    wrong.extend(units_accounted_for_otherwise(case));
    wrong.extend(identities_given_twice(&outcome));
    if wrong.is_empty() {
        return Ok(());
    }
    Err(format!(
        "{}\nthe book:\n{case}\nthe oracle finds all of:\n{:#?}",
        wrong.join("\n"),
        lines(&answer.findings)
    ))
}

fn only_in<'a>(these: &'a [Reduced], not_those: &'a [Reduced]) -> impl Iterator<Item = &'a Reduced> {
    these.iter().filter(|finding| !not_those.contains(finding))
}

/// 'The sums must agree.'
fn units_that_do_not_add_up(totals: &Totals) -> Option<String> {
    let sum = totals.covered + totals.covered_wrongly + totals.uncovered + totals.own_stock;
    (totals.units_demanded != sum)
        .then(|| format!("units demanded are not the sum of their states: {totals:?}"))
}

/// Every unit of a usable submission line is tied, named by a finding, or excused for one stated reason.
fn supply_unaccounted_for(answer: &Answer, findings: &[Reduced]) -> Vec<String> {
    let mut named: BTreeMap<_, u64> = BTreeMap::new();
    let about_units = [Check::OverSent, Check::SentAfterCancel, Check::StraySubmission];
    for finding in findings.iter().filter(|finding| about_units.contains(&finding.check)) {
        for (line, units) in &finding.submission_lines {
            let supplier = finding.supplier.clone().expect("of a supplier");
            let submission = finding.submission_id.clone().expect("of a submission");
            *named.entry((supplier, submission, line.clone())).or_default() += units;
        }
    }
    let mut wrong = Vec::new();
    for account in &answer.supply {
        let named = named.remove(&account.key).unwrap_or_default();
        if named + account.excused != account.left_over {
            wrong.push(format!(
                "of {:?} {} units are left over, {named} named, {} excused ({})",
                account.key,
                account.left_over,
                account.excused,
                account.excuses.join(", ")
            ));
        }
    }
    wrong.extend(
        named.into_keys().map(|key| format!("{key:?} is named, though it serves and raises nothing")),
    );
    wrong
}

/// In the crate's own account, each unit is one thing.
fn units_accounted_for_otherwise(case: &Case) -> Vec<String> {
    let account = matcher::account(&case.book, case.facts(), &case.rules, as_of());
    let mut wrong = Vec::new();
    for line in &account.lines {
        if line.demand != line.covered + line.covered_wrongly + line.uncovered + line.own_stock {
            wrong.push(format!("demand does not add up in {line:?}"));
        }
    }
    for supply in &account.supplies {
        let tied: u64 = supply.tied.iter().sum();
        let left_over = supply.after_cancel + supply.surplus + supply.unreferred + supply.not_counted;
        if supply.quantity != tied + left_over {
            wrong.push(format!("supply does not add up in {supply:?}"));
        }
    }
    // Each costs a reckoning of the whole book: the first order and the last stand for all.
    let orders: BTreeSet<_> = account.lines.iter().map(|line| &line.order_id).collect();
    for order in orders.first().into_iter().chain(orders.last()) {
        let whole = Whole::of(&case.book);
        let of_order =
            matcher::account_of_order(&case.book, case.facts(), &case.rules, as_of(), &whole, order);
        let of_order = of_order.expect("an order that has lines in the account");
        let lines = of_order.lines.iter().map(|line| &line.account);
        if !lines.eq(account.lines.iter().filter(|line| line.order_id == **order)) {
            wrong.push(format!("order {order} has another account than the whole: {of_order:?}"));
        }
        if let Some(part) = part_of(case, order) {
            let of_part =
                matcher::account_of_order(&part.book, part.facts(), &part.rules, as_of(), &whole, order);
            if of_part.as_ref() != Some(&of_order) {
                wrong.push(format!(
                    "order {order} has another account in its part: {of_part:?}, {of_order:?}"
                ));
            }
        }
        if !of_order.supplies.iter().all(|supply| account.supplies.contains(supply)) {
            wrong.push(format!("what refers to order {order} has another account than the whole"));
        }
        for line in &of_order.lines {
            wrong.extend(ties_that_do_not_add_up(line, &of_order.supplies));
        }
    }
    wrong
}

/// What is tied to a line is of a submission line that refers to its order, and there is something of it exactly where
/// not all of it is missing.
fn ties_that_do_not_add_up(line: &ServedLine, supplies: &[SupplyAccount]) -> Option<String> {
    let is_tied_so = |tie: &Served| {
        supplies.iter().any(|supply| {
            (&supply.supplier, &supply.submission_id, &supply.line_id)
                == (&tie.variant.supplier, &tie.submission_id, &tie.line_id)
                && supply.tied[usize::from(tie.way) - 1] >= tie.units
                && tie.dispatched <= tie.units
        })
    };
    let account = &line.account;
    let is_right = line.ties.iter().all(is_tied_so)
        && (line.named.reason.is_some() == (account.uncovered > 0))
        && (account.covered + account.covered_wrongly == 0 || !line.ties.is_empty());
    (!is_right).then(|| format!("what is tied does not add up in {line:?}"))
}

fn identities_given_twice(outcome: &Outcome) -> Option<String> {
    let mut ids: Vec<_> = outcome.findings.iter().map(|finding| &finding.id).collect();
    ids.sort();
    ids.windows(2).find(|pair| pair[0] == pair[1]).map(|pair| format!("two findings are {}", pair[0]))
}

/// Of a case only what an order's account depends on; `None` where that is the whole.
fn part_of(case: &Case, order: &OrderId) -> Option<Case> {
    let near = Near::of(&case.book, &case.rules, as_of())?;
    let group = near.group(order)?;
    let of_group = |order: &OrderId| group.orders.contains(order);
    let sent = |supplier: &SupplierId, submission: &SubmissionId| {
        group.submissions.contains(&(supplier.clone(), submission.clone()))
    };
    let mut part = Case { readings: Readings::default(), cut_offs: Vec::new(), ..case.clone() };
    part.book.orders.retain(|row| of_group(&row.order_id));
    part.book.order_lines.retain(|row| of_group(&row.order_id));
    let lines = case.book.order_lines.iter().zip(&case.readings.order_lines);
    part.readings.order_lines =
        lines.filter(|(row, _)| of_group(&row.order_id)).map(|(_, reading)| reading.clone()).collect();
    let submissions = case.book.submissions.iter().flatten().zip(&case.cut_offs);
    part.cut_offs = submissions
        .filter(|(row, _)| sent(&row.supplier, &row.submission_id))
        .map(|(_, cut_off)| *cut_off)
        .collect();
    retain(&mut part.book.submissions, |row| sent(&row.supplier, &row.submission_id));
    retain(&mut part.book.submission_lines, |row| sent(&row.supplier, &row.submission_id));
    retain(&mut part.book.parcels, |row| sent(&row.supplier, &row.submission_id));
    let parcels: BTreeSet<_> =
        part.book.parcels.iter().flatten().map(|row| (row.supplier.clone(), row.parcel_id.clone())).collect();
    retain(&mut part.book.parcel_lines, |row| {
        parcels.contains(&(row.supplier.clone(), row.parcel_id.clone()))
    });
    retain(&mut part.book.ties, |row| of_group(&row.order_id));
    part.book.offers = None;
    near.add_goods(&mut part.book);
    let variants: Vec<_> = case.book.variants.iter().flatten().collect();
    let reading = |row: &Variant| {
        let place = variants.iter().position(|other| *other == row).expect("a variant of the whole");
        case.readings.variants.get(place).cloned().unwrap_or_default()
    };
    part.readings.variants = part.book.variants.iter().flatten().map(reading).collect();
    Some(part)
}

fn retain<T>(rows: &mut Option<Vec<T>>, is_kept: impl FnMut(&T) -> bool) {
    if let Some(rows) = rows {
        rows.retain(is_kept);
    }
}
