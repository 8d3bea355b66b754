//! The page of one order for a terminal: how it stands, what was bought beside what was sent for it, and how it came to that.
//!
//! Made of the view that the browser's page is made of, so that both say the same. Must not know how anything is found out.
//! Start reading at [`page`].

use digest::text_width;
use web::view::{Bought, Order, OrderFinding, Sent, Words};

use crate::layout::{Page, outside};
use crate::times::Times;

/// The page, ending in a line feed.
pub fn page(order: &Order, times: &Times, width: usize) -> String {
    let mut page = Page::new(width);
    page.paragraph(0, &order.headline.plain());
    page.paragraph(0, &order.verdict.plain());
    page.paragraph(0, &format!("As things stood on {}.", times.in_full(order.as_of.at)));
    lines(order, &mut page);
    supplier_orders(order, &mut page);
    parcels(order, &mut page);
    if !order.said.is_empty() {
        page.heading("WHAT YOU SAID");
        order.said.iter().for_each(|said| page.hanging(0, &said.plain()));
    }
    found(order, &mut page);
    happened(order, &mut page);
    page.finish()
}

/// Left what was bought, right what was sent for it.
fn lines(order: &Order, page: &mut Page) {
    page.gap();
    page.columns(&["BOUGHT".to_owned()], &["SENT FOR IT".to_owned()]);
    for line in &order.lines {
        let mut right: Vec<String> = line.sent.iter().flat_map(sent).collect();
        right.extend(line.notes.iter().map(Words::plain));
        right.extend(line.gap.iter().map(|gap| gap.words.plain()));
        page.columns(&bought(line), &right);
    }
}

/// `1: 2 x Otter apron`, and under it the options, the SKU, and what was cancelled.
fn bought(line: &Bought) -> Vec<String> {
    let mut said =
        vec![format!("{}: {} x {}", outside(line.line_id.as_str()), line.quantity, line.name.plain())];
    said.extend(line.options.iter().map(|options| format!("  {}", options.plain())));
    said.extend(line.sku.iter().map(|sku| format!("  SKU {}", sku.plain())));
    said.extend(line.cancelled.iter().map(|cancelled| format!("  {}", cancelled.plain())));
    said
}

/// `alder-print J-1, line 1: 1 x Apron, moss (AP-77)`, and under it what is wrong with it and how far it is.
fn sent(one: &Sent) -> Vec<String> {
    let mut said = vec![format!(
        "{} {}, line {}: {} x {}",
        outside(one.supplier.as_str()),
        outside(one.submission_id.as_str()),
        outside(one.line_id.as_str()),
        one.units,
        one.what.plain()
    )];
    said.extend(one.wrong.iter().map(|wrong| format!("  {}", wrong.plain())));
    if one.way == 3 {
        said.push(format!("  {}", one.way_said.plain()));
    }
    said.push(format!("  {}", one.progress.plain()));
    said
}

fn supplier_orders(order: &Order, page: &mut Page) {
    page.heading("SUPPLIER ORDERS");
    if order.supplier_orders.is_empty() {
        page.paragraph(0, "none that speaks of this order");
    }
    for one in &order.supplier_orders {
        let name = format!("{} {}", outside(one.supplier.as_str()), outside(one.submission_id.as_str()));
        page.hanging(0, &format!("{name}: {}", one.words.plain()));
        for surplus in &one.surplus {
            page.hanging(
                2,
                &format!("line {}: {}", outside(surplus.line_id.as_str()), surplus.words.plain()),
            );
        }
        if let Some(others) = &one.others {
            page.hanging(2, &others.plain());
        }
    }
}

fn parcels(order: &Order, page: &mut Page) {
    if order.parcels.is_empty() {
        return;
    }
    page.heading("PARCELS");
    for one in &order.parcels {
        let name = format!("{} {}", outside(one.supplier.as_str()), outside(one.parcel_id.as_str()));
        page.hanging(0, &format!("{name}: {}", one.words.plain()));
    }
}

/// What stands; what is set aside, with the note; what has settled.
fn found(order: &Order, page: &mut Page) {
    page.heading("WHAT WAS FOUND");
    if order.findings.is_empty() && order.settled.is_empty() {
        page.paragraph(0, "nothing");
    }
    for finding in &order.findings {
        standing(finding, page);
    }
    for one in &order.settled {
        let end = match &one.settled {
            Some(at) => format!("settled {}", at.said.plain()),
            None => "no longer there".to_owned(),
        };
        page.hanging(0, &format!("{}  {}  found {}, {end}", one.finding, one.check, one.since.said.plain()));
    }
}

fn standing(finding: &OrderFinding, page: &mut Page) {
    let deadline =
        finding.deadline.as_ref().map(|deadline| format!("  {}", deadline.plain())).unwrap_or_default();
    let since = finding.since.said.plain();
    page.hanging(0, &format!("{}  {}{deadline}  since {since}", finding.finding, finding.check));
    page.paragraph(2, &finding.words.plain());
    if let Some(note) = &finding.note {
        let until = finding.until.as_ref().map_or_else(
            || "until it is something else".to_owned(),
            |until| format!("until {}", until.said.plain()),
        );
        page.paragraph(2, &format!("Set aside {until}: {}", note.plain()));
    }
}

fn happened(order: &Order, page: &mut Page) {
    page.heading("WHAT HAPPENED");
    let (entries, in_all) = (&order.timeline.entries, order.timeline.in_all);
    if (entries.len() as u64) < in_all {
        page.paragraph(0, &format!("the last {} of {in_all} changes", entries.len()));
    }
    let columns = entries.iter().map(|entry| text_width(&entry.at.said.plain())).max().unwrap_or_default();
    let mut before = String::new();
    for entry in entries {
        let at = entry.at.said.plain();
        // The same moment is not said twice.
        page.labelled(if at == before { "" } else { &at }, columns, &entry.words.plain());
        before = at;
    }
}
