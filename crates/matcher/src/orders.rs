//! The checks about orders: what is missing, wrong, late, or dispatched in part.

use model::book::{OrderStatus, Parcel, SubmissionStatus};
use model::finding::{
    AddressEvidence, Evidence, GapEvidence, LateEvidence, NamedParcel, PartDispatchedEvidence, SentLine,
    UnmarkedEvidence, WrongEvidence, WronglySent,
};
use model::{Check, Finding, When};

use crate::assign::Way;
use crate::raise::{Findings, Judged, Where, blank};
use crate::world::{LineIndex, OrderIndex, Standing, SubmissionIndex};

/// Raises every check about the lines of every live order.
pub(crate) fn check(judged: &Judged<'_, '_>, findings: &mut Findings) {
    for order in 0..judged.world.orders.len() {
        if judged.world.orders[order].standing == Standing::Live && judged.world.may_raise(order) {
            gap(judged, order, findings);
            wrong_variant(judged, order, findings);
            part_dispatched(judged, order, findings);
            late(judged, order, findings);
            dispatch_unmarked(judged, order, findings);
            address_changed(judged, order, findings);
        }
    }
}

/// The lines that a supplier has to make, or would have to.
fn wanted<'j>(judged: &'j Judged<'_, '_>, order: OrderIndex) -> impl Iterator<Item = LineIndex> + 'j {
    judged.world.orders[order].lines.clone().filter(|line| judged.world.lines[*line].is_wanted())
}

/// `part-sent` and `unsent-order`.
fn gap(judged: &Judged<'_, '_>, order: OrderIndex, findings: &mut Findings) {
    let Judged { world, coverage, .. } = judged;
    let uncovered = |line: &LineIndex| coverage.lines[*line].uncovered > 0;
    let is_linked = |line: LineIndex| world.lines[line].counts_as_linked();
    if !wanted(judged, order).any(|line| uncovered(&line)) {
        return;
    }
    let something_is_tied = wanted(judged, order).any(|line| coverage.lines[line].tied > 0);
    let some_are_linked = wanted(judged, order).any(is_linked);
    let all_are_linked = wanted(judged, order).all(is_linked);
    let grace_over = world.is_over(order, world.order_grace(order, |graces| graces.submit));
    // While a linked line is not known yet, nothing says that the order is in nobody's hands.
    let may_be_tied = !grace_over || wanted(judged, order).any(|line| !world.is_known(line));
    let check = if something_is_tied || (may_be_tied && some_are_linked && !all_are_linked) {
        Check::PartSent
    } else if !some_are_linked || grace_over {
        Check::UnsentOrder
    } else {
        return;
    };
    // A whole order that has been waiting for too long is named whole; otherwise each linked line has its own
    // grace, and so has one whose link nobody could know of.
    let is_due = |line: LineIndex| {
        let waits = is_linked(line) || world.lines[line].may_be_linked;
        !waits || world.is_over(order, world.line_grace(line, |graces| graces.submit))
    };
    let named: Vec<_> = wanted(judged, order)
        .filter(uncovered)
        .filter(|line| is_due(*line) && world.is_known(*line))
        .map(|line| {
            let units = coverage.lines[line].uncovered;
            (line, judged.named(line, units, Some(coverage.reason(world, line))))
        })
        .collect();
    if named.is_empty() {
        return;
    }
    let sent = wanted(judged, order).flat_map(|line| coverage.tied_to(line)).filter_map(|tie| {
        let supply = &world.submission_lines[tie.supply];
        Some(SentLine {
            line_id: world.lines[coverage.needs[tie.need].line].row.line_id.clone(),
            supplier: supply.row.supplier.clone(),
            submission_id: supply.row.submission_id.clone(),
            submission_line_id: supply.row.line_id.clone(),
            variant_id: world.catalogue.get(supply.variant?).variant_id.clone(),
            units: tie.units,
            way: tie.way.number(),
        })
    });
    let evidence = Evidence::Gap(GapEvidence {
        waiting_since: world.orders[order].waiting_since().begins(),
        grace_over,
        sent: sent.collect(),
        submissions: world.orders[order]
            .submissions
            .iter()
            .map(|index| world.named_submission(*index))
            .collect(),
    });
    let subject = [world.orders[order].row.order_id.as_str()];
    findings.add(&subject, judged.of_order(check, &subject, order, named, evidence));
}

/// `wrong-variant`: a finding per line.
fn wrong_variant(judged: &Judged<'_, '_>, order: OrderIndex, findings: &mut Findings) {
    let Judged { world, coverage, .. } = judged;
    for line in wanted(judged, order) {
        let view = &world.lines[line];
        let wrong = || coverage.tied_to(line).iter().filter(|tie| tie.way == Way::Wrongly);
        let units: u64 = wrong().map(|tie| tie.units).sum();
        if units == 0 {
            continue;
        }
        let wanted_variants: Vec<_> = view.link.parts.iter().filter_map(|part| part.variant).collect();
        let is_linked = view.link.is_linked();
        let mut sent: Vec<WronglySent> = Vec::new();
        for tie in wrong() {
            let supply = &world.submission_lines[tie.supply];
            let Some(variant) = supply.variant else { continue };
            let same = |known: &&mut WronglySent| {
                known.variant.supplier == supply.row.supplier
                    && known.submission_id == supply.row.submission_id
                    && known.submission_line_id == supply.row.line_id
            };
            if let Some(known) = sent.iter_mut().find(same) {
                known.units += tie.units;
                continue;
            }
            let reading = world.catalogue.get(variant).reading;
            let wanted_reading = match wanted_variants[..] {
                [only] if is_linked => world.catalogue.get(only).reading,
                _ => view.reading,
            };
            sent.push(WronglySent {
                submission_id: supply.row.submission_id.clone(),
                submission_line_id: supply.row.line_id.clone(),
                status: supply.status,
                variant: world.catalogue.named(variant),
                units: tie.units,
                differs: wanted_reading.differences(reading),
            });
        }
        let evidence = Evidence::Wrong(WrongEvidence {
            wanted: if is_linked {
                wanted_variants.iter().map(|variant| world.catalogue.named(*variant)).collect()
            } else {
                Vec::new()
            },
            wanted_reading: (!is_linked).then(|| view.reading.clone()),
            sent,
        });
        let order_row = world.orders[order].row;
        let subject = [order_row.order_id.as_str(), view.row.line_id.as_str()];
        let named = judged.named(line, units, None);
        let mut finding =
            judged.of_order(Check::WrongVariant, &subject, order, vec![(line, named)], evidence);
        let line_units = coverage.lines[line].wrongly;
        finding.value_at_risk =
            model::finding::value_of([(line_units, view.row.unit_price)], order_row.currency);
        findings.add(&subject, finding);
    }
}

/// `part-dispatched`: some has gone, the rest does not follow.
fn part_dispatched(judged: &Judged<'_, '_>, order: OrderIndex, findings: &mut Findings) {
    let Judged { world, coverage, dispatch, .. } = judged;
    let gone = || wanted(judged, order).flat_map(|line| dispatch.of_line(coverage, line));
    let first_gone = gone().filter_map(|(_, dispatched)| dispatched.first_at).min();
    let Some(first_gone) = first_gone else { return };
    if !first_gone.is_over(world.order_grace(order, |graces| graces.parcel_gap), world.as_of) {
        return;
    }
    let to_come: Vec<_> = wanted(judged, order)
        .filter(|line| world.is_known(*line))
        .filter_map(|line| {
            let units = coverage.lines[line].covered() - dispatch.units_of_line(coverage, line, true);
            (units > 0).then(|| (line, judged.named(line, units, None)))
        })
        .collect();
    if to_come.is_empty() {
        return;
    }
    let evidence = Evidence::PartDispatched(PartDispatchedEvidence {
        first_dispatched_at: first_gone.begins(),
        units_dispatched: gone().map(|(_, dispatched)| dispatched.units).sum(),
        parcels: named_parcels(gone().flat_map(|(_, dispatched)| dispatched.parcels.iter().copied())),
    });
    let subject = [world.orders[order].row.order_id.as_str()];
    findings.add(&subject, judged.of_order(Check::PartDispatched, &subject, order, to_come, evidence));
}

/// `late`: the promise has passed, and not all that is owed has gone.
fn late(judged: &Judged<'_, '_>, order: OrderIndex, findings: &mut Findings) {
    let Judged { world, coverage, dispatch, .. } = judged;
    let Some(promise) = world.orders[order].row.promised_by.map(When::ends) else { return };
    if world.as_of <= promise {
        return;
    }
    let waiting =
        |line: LineIndex| coverage.lines[line].covered() - dispatch.units_of_line(coverage, line, true);
    let lines: Vec<_> = wanted(judged, order)
        // Where nothing is known of submissions, only lines without a link are named.
        .filter(|line| world.book.knows_submissions() || !world.lines[*line].counts_as_linked())
        .filter(|line| world.is_known(*line))
        .filter_map(|line| {
            let units = waiting(line) + coverage.lines[line].uncovered;
            (units > 0).then(|| (line, judged.named(line, units, None)))
        })
        .collect();
    if lines.is_empty() {
        return;
    }
    let evidence = Evidence::Late(LateEvidence {
        promised_by: promise,
        units_waiting: lines.iter().map(|(line, _)| waiting(*line)).sum(),
        units_uncovered: lines.iter().map(|(line, _)| coverage.lines[*line].uncovered).sum(),
    });
    let subject = [world.orders[order].row.order_id.as_str()];
    findings.add(&subject, judged.of_order(Check::Late, &subject, order, lines, evidence));
}

/// `dispatch-unmarked`: all has gone, and the storefront does not say so.
fn dispatch_unmarked(judged: &Judged<'_, '_>, order: OrderIndex, findings: &mut Findings) {
    let Judged { world, coverage, dispatch, .. } = judged;
    let all_gone = wanted(judged, order)
        .all(|line| dispatch.units_of_line(coverage, line, false) == coverage.lines[line].demand);
    if world.orders[order].row.status != OrderStatus::Open || !all_gone || world.behind.storefront {
        return;
    }
    let gone = || wanted(judged, order).flat_map(|line| dispatch.of_line(coverage, line));
    let Some(last_gone) = gone().filter_map(|(_, dispatched)| dispatched.last_at).max_by_key(|at| at.ends())
    else {
        return;
    };
    if !last_gone.is_over(world.order_grace(order, |graces| graces.mark), world.as_of) {
        return;
    }
    let evidence = Evidence::Unmarked(UnmarkedEvidence {
        dispatched_since: last_gone.begins(),
        parcels: named_parcels(gone().flat_map(|(_, dispatched)| dispatched.parcels.iter().copied())),
    });
    let subject = [world.orders[order].row.order_id.as_str()];
    findings.add(&subject, judged.of_order(Check::DispatchUnmarked, &subject, order, Vec::new(), evidence));
}

/// `address-changed`: a supplier took the order before, and has not dispatched it.
fn address_changed(judged: &Judged<'_, '_>, order: OrderIndex, findings: &mut Findings) {
    let world = judged.world;
    let row = world.orders[order].row;
    let Some(changed_at) = world.address_changes.get(&row.order_id).copied() else { return };
    let still_goes_there = |index: &SubmissionIndex| {
        let submission = world.submissions[*index].row;
        submission.received_at.begins() < changed_at && submission.status != SubmissionStatus::Dispatched
    };
    let submissions: Vec<_> = world.orders[order]
        .submissions
        .iter()
        .filter(|index| still_goes_there(index))
        .map(|index| world.named_submission(*index))
        .collect();
    if submissions.is_empty() {
        return;
    }
    let (act_before, cutoff_passed) = judged.cut_off(order, &Where::Anywhere);
    let subject = [row.order_id.as_str()];
    let evidence = Evidence::Address(AddressEvidence { changed_at, submissions });
    let finding = Finding {
        order_id: Some(row.order_id.clone()),
        act_before,
        cutoff_passed,
        ..blank(world, Check::AddressChanged, &subject, evidence)
    };
    findings.add(&subject, finding);
}

/// Parcels as a finding shows them, each once, by time.
fn named_parcels<'a>(parcels: impl Iterator<Item = &'a Parcel>) -> Vec<NamedParcel> {
    let mut named: Vec<_> = parcels
        .map(|parcel| NamedParcel {
            supplier: parcel.supplier.clone(),
            parcel_id: parcel.parcel_id.clone(),
            dispatched_at: parcel.dispatched_at.begins(),
            carrier: parcel.carrier.clone(),
            tracking_number: parcel.tracking_number.clone(),
        })
        .collect();
    named.sort_by(|a, b| {
        (a.dispatched_at, &a.supplier, &a.parcel_id).cmp(&(b.dispatched_at, &b.supplier, &b.parcel_id))
    });
    named.dedup();
    named
}
