//! What was bought, beside what was sent for it.
//!
//! Must not know how it is laid out. Start reading at [`lines`].

use matcher::{Served, ServedLine};
use model::book::{OrderLine, OrderStatus, SubmissionStatus};
use model::finding::{Evidence, NamedVariant, Part, Reason};
use model::reading::Difference;
use model::{Finding, SupplierId, VariantId};
use web::view::{Bought, Gap, GapKind, Sent, State, Words};

use super::verdict::How;
use super::{Shown, sent};
use crate::layout::{and, outside};

/// Each line of the order: what was bought, and what was sent for it.
pub fn lines(shown: &Shown) -> Vec<Bought> {
    let of_line = |row: &OrderLine| {
        let served = shown
            .account
            .as_ref()
            .and_then(|account| account.lines.iter().find(|line| line.account.line_id == row.line_id));
        let bought = bought(row);
        match served {
            Some(served) => sent_for(shown, row, served, bought),
            None => {
                let note = "not known yet: the order is newer than what is known of the suppliers";
                Bought { notes: vec![Words::ours(note)], ..bought }
            }
        }
    };
    shown.history.lines.iter().map(of_line).collect()
}

/// What was bought, of which nothing else is known yet.
fn bought(row: &OrderLine) -> Bought {
    let title = row.title.as_deref().map(outside).filter(|title| !title.is_empty());
    let title =
        title.or_else(|| row.listing_id.as_ref().map(|id| format!("listing {}", outside(id.as_str()))));
    let name = title.unwrap_or_else(|| "an item without a title".to_owned());
    let options = row.options.as_ref().map(|options| outside(&options.to_string()));
    let cancelled = match row.cancelled_quantity {
        0 => None,
        all if all == row.quantity => Some("cancelled".to_owned()),
        some => Some(format!("{some} of them cancelled")),
    };
    Bought {
        line_id: row.line_id.clone(),
        state: State::NotKnown,
        quantity: row.quantity,
        listing_id: row.listing_id.clone(),
        name: Words::outside(name),
        options: options.filter(|options| !options.is_empty()).map(Words::outside),
        sku: row.sku.as_ref().map(|sku| Words::outside(sku.as_str())),
        cancelled: cancelled.map(Words::ours),
        leads_to: Vec::new(),
        sent: Vec::new(),
        notes: Vec::new(),
        gap: None,
        proposal: None,
    }
}

fn sent_for(shown: &Shown, row: &OrderLine, line: &ServedLine, bought: Bought) -> Bought {
    let account = &line.account;
    let mut notes = Vec::new();
    if account.demand == 0 {
        notes.push(Words::ours(nothing_owed(shown, row)));
    }
    if account.own_stock > 0 {
        notes.push(Words::ours("you pack it yourself"));
    }
    let how = How::of(shown, line);
    let gap = (account.uncovered > 0).then(|| Gap {
        kind: match how {
            How::Missing => GapKind::Missing,
            How::NotSentYet => GapKind::NotSentYet,
            How::NotKnown => GapKind::NotKnown,
        },
        units: account.uncovered,
        words: Words::ours(missing(shown, line)),
    });
    let is_linked = !matches!(line.named.reason, Some(Reason::NoLink | Reason::AmbiguousLink));
    let leads_to = line.named.needs.iter().filter(|_| is_linked).map(|part| Words::ours(self::part(part)));
    Bought {
        state: match &gap {
            Some(Gap { kind: GapKind::Missing, .. }) => State::Missing,
            _ if account.covered_wrongly > 0 => State::Wrong,
            Some(Gap { kind: GapKind::NotSentYet, .. }) => State::Waiting,
            Some(Gap { kind: GapKind::NotKnown, .. }) => State::NotKnown,
            None if account.demand == 0 => State::Nothing,
            None if account.own_stock == account.demand => State::Own,
            None => State::Right,
        },
        leads_to: leads_to.collect(),
        sent: line.ties.iter().map(|tie| one(shown, line, tie)).collect(),
        notes,
        gap,
        ..bought
    }
}

fn nothing_owed(shown: &Shown, row: &OrderLine) -> &'static str {
    match shown.history.order.status {
        OrderStatus::Cancelled => "nothing is to be made: the order is cancelled",
        _ if row.quantity_owed() == 0 => "nothing is to be made: none of it is wanted any more",
        _ => "nothing is to be made before the order is paid",
    }
}

/// A part of what was sent for a line, and how far that is.
fn one(shown: &Shown, line: &ServedLine, tie: &Served) -> Sent {
    let mut wrong = Vec::new();
    if tie.way == 4 {
        let made: Vec<String> =
            line.named.needs.iter().filter(|part| !part.supplier.is_own()).map(part).collect();
        wrong.push(match made.is_empty() {
            true => "NOT WHAT WAS BOUGHT".to_owned(),
            false => format!("NOT WHAT WAS BOUGHT: that is {}", and(made)),
        });
        wrong.extend(differences(shown, line, tie));
    }
    let rest = sent::status_of(shown, tie).map_or("", sent::status);
    let progress = match (tie.dispatched, tie.units) {
        (0, _) if sent::status_of(shown, tie) == Some(SubmissionStatus::Dispatched) => {
            "said to be dispatched, in no known parcel".to_owned()
        }
        (0, _) => rest.to_owned(),
        (gone, units) if gone == units => format!("dispatched{}", by_parcels(shown, tie)),
        (gone, units) => format!("{gone} of {units} dispatched{}; the rest {rest}", by_parcels(shown, tie)),
    };
    Sent {
        supplier: tie.variant.supplier.clone(),
        submission_id: tie.submission_id.clone(),
        line_id: tie.line_id.clone(),
        units: tie.units,
        what: Words::ours(variant(&tie.variant)),
        way: tie.way,
        way_said: Words::ours(match tie.way {
            1 => "it names this line",
            2 => "it is what this line is linked to",
            3 => "made by hand: the line is not linked",
            _ => "it names this line, and is something else",
        }),
        wrong: wrong.into_iter().map(Words::ours).collect(),
        progress: Words::ours(progress),
        dispatched: tie.dispatched,
    }
}

/// In what a wrong item differs from what was bought, as far as both can be read: `another size: M, not L`.
fn differences(shown: &Shown, line: &ServedLine, tie: &Served) -> Vec<String> {
    let of_line =
        |finding: &&Finding| finding.lines.iter().any(|named| named.line_id == line.account.line_id);
    let sent = shown.findings.iter().filter(of_line).flat_map(|finding| match &finding.evidence {
        Evidence::Wrong(wrong) => &wrong.sent[..],
        _ => &[],
    });
    let its = sent.filter(|sent| {
        (&sent.variant.supplier, &sent.submission_id, &sent.submission_line_id)
            == (&tie.variant.supplier, &tie.submission_id, &tie.line_id)
    });
    its.flat_map(|sent| &sent.differs)
        .map(|Difference { kind, wanted, sent }| {
            format!("another {}: {}, not {}", kind.name(), outside(sent), outside(wanted))
        })
        .collect()
}

/// ` in parcel P-1 on 26 Nov 10:00 and in …`.
fn by_parcels(shown: &Shown, tie: &Served) -> String {
    let parcels = tie.parcels.iter().map(|id| {
        let of = shown
            .history
            .parcels
            .iter()
            .find(|row| row.supplier == tie.variant.supplier && row.parcel_id == *id)
            .map(|row| format!(" on {}", shown.times.when(row.dispatched_at)));
        format!("in parcel {}{}", outside(id.as_str()), of.unwrap_or_default())
    });
    let parcels: Vec<String> = parcels.collect();
    if parcels.is_empty() { String::new() } else { format!(" {}", and(parcels)) }
}

/// Why nobody makes (all of) it.
fn missing(shown: &Shown, line: &ServedLine) -> String {
    let account = &line.account;
    let is_all = account.uncovered == account.demand;
    let units = account.uncovered;
    let which = match (is_all, units) {
        (true, 1) => "it".to_owned(),
        (true, _) => "any of it".to_owned(),
        (false, _) => format!("{units} of the {}", account.demand),
    };
    let suppliers = || {
        let mut names: Vec<&SupplierId> = line.named.needs.iter().map(|part| &part.supplier).collect();
        names.retain(|name| !name.is_own());
        names.dedup();
        and(names.into_iter().map(|name| outside(name.as_str())).collect())
    };
    match How::of(shown, line) {
        How::NotKnown => {
            let was = if is_all || units == 1 { "was" } else { "were" };
            return format!(
                "not known yet whether {which} {was} sent: {} not read up to now",
                match suppliers() {
                    none if none.is_empty() => "the supplier is".to_owned(),
                    one if line.named.needs.len() == 1 => format!("{one} is"),
                    names => format!("{names} are"),
                }
            );
        }
        How::NotSentYet => {
            let until = line.may_take_until.map(|until| shown.times.at(until)).unwrap_or_default();
            let linked = if matches!(line.named.reason, Some(Reason::NoLink)) {
                "no supplier has named its SKU yet"
            } else {
                "it is linked"
            };
            let which = if is_all { String::new() } else { format!("{which} ") };
            return format!("{which}not sent yet: {linked}, and it may take until {until}");
        }
        How::Missing => {}
    }
    let all = |parts: &[Part]| and(parts.iter().map(part).collect());
    let made = || and(line.named.needs.iter().filter(|part| !part.supplier.is_own()).map(part).collect());
    let intended = || all(&line.named.intended);
    let why = match line.named.reason {
        Some(Reason::NoLink | Reason::NotSent | Reason::Short) if !line.named.not_made_now.is_empty() => {
            format!("it is {}, which the supplier cannot make now", all(&line.named.not_made_now))
        }
        _ if line.named.came_before_link => {
            format!(
                "it came before its link to {} was in force, so that it is not sent by itself",
                intended()
            )
        }
        _ if !line.named.intended.is_empty() => {
            format!("its link to {} is intended, and not in force yet", intended())
        }
        Some(Reason::AmbiguousLink) => "its SKU is shared by several supplier variants".to_owned(),
        Some(Reason::BrokenLink) => format!("its link leads to {}, which the supplier does not have", made()),
        Some(Reason::NotSent) => format!("it is linked to {}, and was not sent", made()),
        Some(Reason::Short) => "it is linked, and too few were sent".to_owned(),
        Some(Reason::NoLink) | None => "it is not linked to a supplier variant".to_owned(),
    };
    let unconfirmed = if line.named.unconfirmed { ", as far as the sources have been read" } else { "" };
    format!("nobody makes {which}: {why}{unconfirmed}")
}

/// `alder-print AP-77`, `2 x alder-print AP-77`.
fn part(part: &Part) -> String {
    if part.supplier.is_own() {
        return "what you pack yourself".to_owned();
    }
    let id = part.variant_id.as_ref().map(VariantId::as_str).map(outside).unwrap_or_default();
    let name = format!("{} {id}", outside(part.supplier.as_str()));
    if part.units == 1 { name } else { format!("{} x {name}", part.units) }
}

/// `Apron, moss (AP-77)`.
pub fn variant(variant: &NamedVariant) -> String {
    let id = outside(variant.variant_id.as_str());
    let product = variant.product.as_deref().map(outside);
    let options = variant.options.as_ref().map(|options| outside(&options.to_string()));
    let made: Vec<String> =
        [product, options].into_iter().flatten().filter(|text| !text.is_empty()).collect();
    if made.is_empty() { id } else { format!("{} ({id})", made.join(", ")) }
}
