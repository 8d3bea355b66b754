//! The checks about what was sent: surplus, sent for something cancelled, for no order, held, not begun.

use model::book::SubmissionStatus;
use model::finding::{
    CancelledEvidence, CancelledLine, Evidence, StrayEvidence, SurplusEvidence, WaitingEvidence,
};
use model::rules::Graces;
use model::{Check, Finding, When};

use crate::leftover::{Explained, Surplus};
use crate::raise::{Findings, Judged, Where, blank};
use crate::world::{
    OrderIndex, Standing, SubmissionIndex, SubmissionLineIndex, SubmissionLineView, SubmissionView, World,
};

/// Raises every check about every submission.
pub(crate) fn check(judged: &Judged<'_, '_>, findings: &mut Findings) {
    over_sent(judged, findings);
    sent_after_cancel(judged, findings);
    for submission in 0..judged.world.submissions.len() {
        stray(judged, submission, findings);
        let waits = [
            (Check::Held, SubmissionStatus::Held, (|graces| graces.hold) as Grace),
            (Check::NotStarted, SubmissionStatus::Received, |graces| graces.start),
        ];
        for (check, status, grace) in waits {
            waiting(judged, submission, check, status, grace, findings);
        }
    }
}

type Grace = fn(&Graces) -> chrono::TimeDelta;

/// A finding per submission and order, filled in as far as both checks have it in common.
fn of_submission(
    judged: &Judged<'_, '_>,
    check: Check,
    (submission, order): (SubmissionIndex, OrderIndex),
    lines: &[(SubmissionLineIndex, u64)],
    evidence: Evidence,
    findings: &mut Findings,
) {
    let world = judged.world;
    let row = world.submissions[submission].row;
    let order_id = &world.orders[order].row.order_id;
    let subject = [order_id.as_str(), row.supplier.as_str(), row.submission_id.as_str()];
    let (act_before, cutoff_passed) =
        judged.cut_off(order, &Where::At([&row.supplier].into_iter().collect()));
    let finding = Finding {
        order_id: Some(order_id.clone()),
        supplier: Some(row.supplier.clone()),
        submission_id: Some(row.submission_id.clone()),
        lines: judged.uncovered(order),
        submission_lines: lines.iter().map(|(line, units)| judged.named_sent(*line, *units)).collect(),
        act_before,
        cutoff_passed,
        value_at_risk: judged.cost(lines),
        ..blank(world, check, &subject, evidence)
    };
    findings.add(&subject, finding);
}

fn over_sent(judged: &Judged<'_, '_>, findings: &mut Findings) {
    let world = judged.world;
    let of_an_order = |surplus: &Surplus| {
        let order = surplus.order.filter(|order| world.may_raise(*order))?;
        Some(((world.submission_lines[surplus.supply].submission, order), *surplus))
    };
    let mut surplus: Vec<_> = judged.left_over.surplus.iter().filter_map(of_an_order).collect();
    surplus.sort_by_key(|(subject, _)| *subject);
    for of_subject in surplus.chunk_by(|a, b| a.0 == b.0) {
        let &[(subject, _), ..] = of_subject else { continue };
        let (_, order) = subject;
        let lines = summed(of_subject.iter().map(|(_, surplus)| (surplus.supply, surplus.units)));
        let mut others: Vec<OrderIndex> =
            lines.iter().flat_map(|(line, _)| world.submission_lines[*line].orders.iter().copied()).collect();
        others.sort_unstable();
        others.dedup();
        others.retain(|other| *other != order);
        let evidence = Evidence::Surplus(SurplusEvidence {
            units: lines.iter().map(|(_, units)| units).sum(),
            other_orders: others.into_iter().map(|other| world.orders[other].row.order_id.clone()).collect(),
            submissions: world.orders[order]
                .submissions
                .iter()
                .map(|index| world.named_submission(*index))
                .collect(),
        });
        of_submission(judged, Check::OverSent, subject, &lines, evidence, findings);
    }
}

fn sent_after_cancel(judged: &Judged<'_, '_>, findings: &mut Findings) {
    let world = judged.world;
    let may_raise = |explained: &&Explained| {
        world.may_raise(explained.order) && world.orders[explained.order].standing != Standing::Unpaid
    };
    let with_subject = |explained: &Explained| {
        ((world.submission_lines[explained.supply].submission, explained.order), *explained)
    };
    let explained = judged.left_over.explained.iter().filter(may_raise);
    let mut explained: Vec<_> = explained.map(with_subject).collect();
    explained.sort_by_key(|(subject, _)| *subject);
    for of_subject in explained.chunk_by(|a, b| a.0 == b.0) {
        let &[(subject, _), ..] = of_subject else { continue };
        let (submission, order) = subject;
        let explained = || of_subject.iter().map(|(_, explained)| explained);
        let lines = summed(explained().map(|explained| (explained.supply, explained.units)));
        let cancelled = summed(explained().filter_map(|explained| Some((explained.line?, explained.units))));
        let order_cancelled = world.orders[order].standing == Standing::Cancelled;
        let cancelled_lines = cancelled.into_iter().map(|(line, units)| {
            let row = world.lines[line].row;
            let cancelled_quantity = if order_cancelled { row.quantity } else { row.cancelled_quantity };
            CancelledLine {
                line_id: row.line_id.clone(),
                title: row.title.clone(),
                options: row.options.clone(),
                cancelled_quantity,
                units,
            }
        });
        let evidence = Evidence::Cancelled(CancelledEvidence {
            units: lines.iter().map(|(_, units)| units).sum(),
            order_cancelled,
            cancelled_lines: cancelled_lines.collect(),
            submission: world.named_submission(submission),
        });
        of_submission(judged, Check::SentAfterCancel, subject, &lines, evidence, findings);
    }
}

/// All units of each thing, in the order of the things.
fn summed<T: Ord + Copy>(units: impl Iterator<Item = (T, u64)>) -> Vec<(T, u64)> {
    let mut units: Vec<_> = units.collect();
    units.sort_unstable();
    units.dedup_by(|next, kept| {
        let is_same = next.0 == kept.0;
        kept.1 += if is_same { next.1 } else { 0 };
        is_same
    });
    units
}

/// Why a submission line that refers to no known order is no finding.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Unreferred {
    Stray,
    Sample,
    OlderThanBook,
}

/// What a live submission line is that refers to no known order; `None` where it refers to one.
pub(crate) fn unreferred(world: &World<'_>, line: &SubmissionLineView<'_>) -> Option<Unreferred> {
    if !line.serves() || !line.orders.is_empty() || line.is_not_judged {
        return None;
    }
    if line.written.is_some_and(|written| world.rules.is_sample(written)) {
        return Some(Unreferred::Sample);
    }
    let received = world.submissions[line.submission].row.received_at.begins();
    Some(if world.first_placed.is_some_and(|first| received < first) {
        Unreferred::OlderThanBook
    } else {
        Unreferred::Stray
    })
}

fn stray(judged: &Judged<'_, '_>, submission: SubmissionIndex, findings: &mut Findings) {
    let world = judged.world;
    let view = &world.submissions[submission];
    // The order may be one that has not been read yet.
    if world.behind.storefront
        || !view.row.received_at.is_over(world.rules.graces_of(&view.row.supplier).stray, world.as_of)
    {
        return;
    }
    let lines: Vec<(SubmissionLineIndex, u64)> = view
        .lines
        .clone()
        .filter(|line| unreferred(world, &world.submission_lines[*line]) == Some(Unreferred::Stray))
        .map(|line| (line, judged.coverage.left_over[line]))
        .filter(|(_, units)| *units > 0)
        .collect();
    if lines.is_empty() {
        return;
    }
    let written = lines.iter().filter_map(|(line, _)| world.submission_lines[*line].written);
    let mut order_refs: Vec<String> = written.map(str::to_owned).collect();
    order_refs.sort();
    order_refs.dedup();
    let evidence = Evidence::Stray(StrayEvidence {
        order_refs,
        units: lines.iter().map(|(_, units)| units).sum(),
        submission: world.named_submission(submission),
    });
    let subject = [view.row.supplier.as_str(), view.row.submission_id.as_str()];
    let finding = Finding {
        supplier: Some(view.row.supplier.clone()),
        submission_id: Some(view.row.submission_id.clone()),
        submission_lines: lines.iter().map(|(line, units)| judged.named_sent(*line, *units)).collect(),
        value_at_risk: judged.cost(&lines),
        ..blank(world, Check::StraySubmission, &subject, evidence)
    };
    findings.add(&subject, finding);
}

/// Since when a submission as a whole has been in a state.
fn whole_since(view: &SubmissionView<'_>, check: Check) -> When {
    match check {
        Check::Held => view.row.updated_at.unwrap_or(view.row.received_at),
        _ => view.row.received_at,
    }
}

/// Since when a line has been in a state of its own.
fn line_since(view: &SubmissionView<'_>, line: &SubmissionLineView<'_>, check: Check) -> When {
    match check {
        Check::Held if line.row.status.is_some() => line.row.updated_at.unwrap_or(view.row.received_at),
        _ => whole_since(view, check),
    }
}

/// `held` and `not-started`: a submission, or a live line of it, in one state for too long.
fn waiting(
    judged: &Judged<'_, '_>,
    submission: SubmissionIndex,
    check: Check,
    status: SubmissionStatus,
    grace: Grace,
    findings: &mut Findings,
) {
    let world = judged.world;
    let view = &world.submissions[submission];
    let live = || view.lines.clone().map(|line| &world.submission_lines[line]).filter(|line| line.is_live);
    let is_live = view.row.status.is_live() && (view.lines.is_empty() || live().next().is_some());
    if !is_live || world.behind.suppliers.contains(&view.row.supplier) {
        return;
    }
    let grace = grace(world.rules.graces_of(&view.row.supplier));
    let is_over = |since: When| since.is_over(grace, world.as_of);
    let whole = (view.row.status == status).then(|| whole_since(view, check)).filter(|since| is_over(*since));
    let waiting_lines: Vec<_> = live()
        .filter(|line| line.status == status && line.serves())
        .filter(|line| is_over(line_since(view, line, check)))
        .collect();
    let since = waiting_lines.iter().map(|line| line_since(view, line, check)).chain(whole).min();
    let Some(since) = since else { return };
    let mut orders: Vec<OrderIndex> = live().flat_map(|line| line.orders.iter().copied()).collect();
    orders.sort_unstable();
    orders.dedup();
    let evidence = Evidence::Waiting(WaitingEvidence {
        since: since.begins(),
        order_ids: orders.into_iter().map(|order| world.orders[order].row.order_id.clone()).collect(),
        submission_line_ids: waiting_lines.iter().map(|line| line.row.line_id.clone()).collect(),
        submission: world.named_submission(submission),
    });
    let subject = [view.row.supplier.as_str(), view.row.submission_id.as_str()];
    let finding = Finding {
        supplier: Some(view.row.supplier.clone()),
        submission_id: Some(view.row.submission_id.clone()),
        ..blank(world, check, &subject, evidence)
    };
    findings.add(&subject, finding);
}
