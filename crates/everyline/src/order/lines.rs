//! What was bought, beside what was sent for it.
//!
//! Must not know the whole page. Start reading at [`lines`].

use matcher::{Served, ServedLine};
use model::book::{OrderLine, OrderStatus, SubmissionStatus};
use model::finding::{Evidence, NamedVariant, Part, Reason};
use model::reading::Difference;
use model::{Finding, SupplierId, VariantId};

use super::verdict::How;
use super::{Shown, sent};
use crate::layout::{Page, and, outside};

/// Each line of the order: left what was bought, right what was sent for it.
pub fn lines(shown: &Shown, page: &mut Page) {
    page.gap();
    page.columns(&["BOUGHT".to_owned()], &["SENT FOR IT".to_owned()]);
    for row in &shown.history.lines {
        let served = shown
            .account
            .as_ref()
            .and_then(|account| account.lines.iter().find(|line| line.account.line_id == row.line_id));
        let right = match served {
            Some(served) => sent_for(shown, row, served),
            None => vec!["not known yet: the order is newer than what is known of the suppliers".to_owned()],
        };
        page.columns(&bought(row), &right);
    }
}

/// `1: 2 x Otter apron`, and under it the options, the SKU, and what was cancelled.
fn bought(row: &OrderLine) -> Vec<String> {
    let title = row.title.as_deref().map(outside).filter(|title| !title.is_empty());
    let title =
        title.or_else(|| row.listing_id.as_ref().map(|id| format!("listing {}", outside(id.as_str()))));
    let name = title.unwrap_or_else(|| "an item without a title".to_owned());
    let mut said = vec![format!("{}: {} x {name}", outside(row.line_id.as_str()), row.quantity)];
    let options = row.options.as_ref().map(|options| outside(&options.to_string())).unwrap_or_default();
    if !options.is_empty() {
        said.push(format!("  {options}"));
    }
    if let Some(sku) = &row.sku {
        said.push(format!("  SKU {}", outside(sku.as_str())));
    }
    match row.cancelled_quantity {
        0 => {}
        all if all == row.quantity => said.push("  cancelled".to_owned()),
        some => said.push(format!("  {some} of them cancelled")),
    }
    said
}

fn sent_for(shown: &Shown, row: &OrderLine, line: &ServedLine) -> Vec<String> {
    let mut said: Vec<String> = line.ties.iter().flat_map(|tie| one(shown, line, tie)).collect();
    let account = &line.account;
    if account.demand == 0 {
        said.push(nothing_owed(shown, row).to_owned());
    }
    if account.own_stock > 0 {
        said.push("you pack it yourself".to_owned());
    }
    if account.uncovered > 0 {
        said.push(missing(shown, line));
    }
    said
}

fn nothing_owed(shown: &Shown, row: &OrderLine) -> &'static str {
    match shown.history.order.status {
        OrderStatus::Cancelled => "nothing is to be made: the order is cancelled",
        _ if row.quantity_owed() == 0 => "nothing is to be made: none of it is wanted any more",
        _ => "nothing is to be made before the order is paid",
    }
}

/// `alder-print J-1, line 1: 1 x Apron, moss (AP-77)`, and under it how far that is.
fn one(shown: &Shown, line: &ServedLine, tie: &Served) -> Vec<String> {
    let mut said = vec![format!(
        "{} {}, line {}: {} x {}",
        outside(tie.variant.supplier.as_str()),
        outside(tie.submission_id.as_str()),
        outside(tie.line_id.as_str()),
        tie.units,
        variant(&tie.variant)
    )];
    if tie.way == 4 {
        let made: Vec<String> =
            line.named.needs.iter().filter(|part| !part.supplier.is_own()).map(part).collect();
        said.push(match made.is_empty() {
            true => "  NOT WHAT WAS BOUGHT".to_owned(),
            false => format!("  NOT WHAT WAS BOUGHT: that is {}", and(made)),
        });
        said.extend(differences(shown, line, tie));
    }
    if tie.way == 3 {
        said.push("  made by hand: the line is not linked".to_owned());
    }
    let rest = sent::status_of(shown, tie).map_or("", sent::status);
    said.push(match (tie.dispatched, tie.units) {
        (0, _) if sent::status_of(shown, tie) == Some(SubmissionStatus::Dispatched) => {
            "  said to be dispatched, in no known parcel".to_owned()
        }
        (0, _) => format!("  {rest}"),
        (gone, units) if gone == units => format!("  dispatched{}", by_parcels(shown, tie)),
        (gone, units) => format!("  {gone} of {units} dispatched{}; the rest {rest}", by_parcels(shown, tie)),
    });
    said
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
            format!("  another {}: {}, not {}", kind.name(), outside(sent), outside(wanted))
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
    let why = match line.named.reason {
        _ if !line.named.intended.is_empty() => {
            let parts: Vec<String> = line.named.intended.iter().map(part).collect();
            format!("its link to {} is intended, and not in force yet", and(parts))
        }
        Some(Reason::AmbiguousLink) => "its SKU is shared by several supplier variants".to_owned(),
        Some(Reason::BrokenLink) => {
            let parts: Vec<String> =
                line.named.needs.iter().filter(|part| !part.supplier.is_own()).map(part).collect();
            format!("its link leads to {}, which the supplier does not have", and(parts))
        }
        Some(Reason::NotSent) => {
            let parts: Vec<String> =
                line.named.needs.iter().filter(|part| !part.supplier.is_own()).map(part).collect();
            format!("it is linked to {}, and was not sent", and(parts))
        }
        Some(Reason::Short) => "it is linked, and too few were sent".to_owned(),
        Some(Reason::NoLink) | None => "it is not linked to a supplier variant".to_owned(),
    };
    let unconfirmed = if line.named.unconfirmed { ", as far as the sources have been read" } else { "" };
    format!("nobody makes {which}: {why}{unconfirmed}")
}

/// `alder-print AP-77`, `2 x alder-print AP-77`.
fn part(part: &Part) -> String {
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
