//! Findings as things to do: what is wrong, what to do about it, how long there is, and where to look.
//!
//! Must not know of mornings or bursts. Start reading at [`Writer::group`].

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::{Finding, OrderId};

use super::customer;
use super::document::{Block, Document, Item as Thing, Tone, cut_line, line};
use super::pages::Pages;
use crate::causes::{Cause, Item};
use crate::clean::cut;
use crate::table::group::{deadline, sorted};
use crate::things::{ID, SENTENCE, Speaker};
use crate::urgency::Urgency;
use crate::words::{by_number, count, number_of};

/// Bytes of the longest order id to whose page an address leads; in a longer one nobody would follow it.
const LINKED_ID: usize = 200;

/// Findings of one urgency, each with its shop where there are several.
pub(super) type Found<'f> = (Option<&'f str>, &'f Finding);

pub(super) struct Writer<'w> {
    pub(super) now: DateTime<Utc>,
    pub(super) zone: Tz,
    pub(super) pages: Option<&'w Pages>,
    /// Whether a cut-off that has passed is told with what it means and a text for the customer.
    pub(super) explains: bool,
    /// How many orders of a cause are named; one at least.
    pub(super) orders_per_cause: usize,
}

impl Writer<'_> {
    /// Writes findings of one urgency under a heading, at most so many; says how many more there are, and where.
    pub(super) fn group(
        &self,
        document: &mut Document,
        title: &str,
        urgency: Urgency,
        findings: &[Found<'_>],
        most: usize,
    ) {
        if findings.is_empty() {
            return;
        }
        document.heading(title, count(number_of(findings), "finding", "findings"));
        let shown = self.items(document, urgency, findings, most);
        if shown < findings.len() {
            let rest = number_of(findings) - shown as u64;
            document.text(format!("And {rest} more; {}.", self.where_all_are()));
        }
    }

    /// The findings of an urgency.
    pub(super) fn of_urgency<'f>(&self, findings: &[Found<'f>], urgency: Urgency) -> Vec<Found<'f>> {
        let is_of = |(_, finding): &&Found<'f>| Urgency::at(finding, self.now) == urgency;
        findings.iter().filter(is_of).copied().collect()
    }

    /// Where all findings are to be seen.
    pub(super) fn where_all_are(&self) -> String {
        match self.pages {
            Some(pages) => format!("all of them are at {pages}"),
            None => "`everyline findings` on your machine lists all of them".to_owned(),
        }
    }

    /// Writes findings as items; answers how many of them are told.
    pub(super) fn items(
        &self,
        document: &mut Document,
        urgency: Urgency,
        findings: &[Found<'_>],
        most: usize,
    ) -> usize {
        // Causes are of one shop: the same SKU in another is another thing.
        let mut shops: Vec<Option<&str>> = findings.iter().map(|(shop, _)| *shop).collect();
        shops.sort_unstable();
        shops.dedup();
        let mut things: Vec<(Option<&str>, Item<'_>)> = Vec::new();
        for shop in shops {
            let own: Vec<&Finding> =
                findings.iter().filter(|(of, _)| *of == shop).map(|(_, finding)| *finding).collect();
            things.extend(sorted(&own).into_iter().map(|item| (shop, item)));
        }
        things.sort_by_key(|(_, item)| item.findings().first().map(|finding| deadline(finding)));
        let mut told = std::collections::BTreeSet::new();
        for (index, (shop, item)) in things.iter().enumerate() {
            if index == most {
                break;
            }
            let thing = match item {
                Item::Single(finding) => self.single(*shop, urgency, finding),
                Item::Cause(cause) => self.cause(*shop, urgency, cause),
            };
            told.extend(item.findings().into_iter().map(|finding| (*shop, &finding.id)));
            document.push(Block::Item(thing));
        }
        told.len()
    }

    fn single(&self, shop: Option<&str>, urgency: Urgency, finding: &Finding) -> Thing {
        let said = self.speaker().single(urgency, finding);
        let mut lines = vec![format!("Do: {}", said.todo)];
        lines.extend(said.question);
        if let Some(value) = said.at_stake {
            lines.push(format!("At stake: {value}."));
        }
        let mut quote = None;
        if urgency == Urgency::Repair && self.explains {
            let (means, text) = customer::past(finding);
            if let Some(means) = means {
                lines.push(format!("What that means: {means}."));
            }
            quote = text.map(|text| {
                let text = sentence(&text);
                ("A text that you may send to the customer:".to_owned(), text)
            });
        }
        Thing {
            tone: tone(urgency),
            when: said.when,
            head: sentence(&named(shop, &said.head)),
            lines: lines.iter().map(|words| sentence(words)).collect(),
            quote,
            links: self.links(shop, finding.order_id.as_ref()),
        }
    }

    fn cause(&self, shop: Option<&str>, urgency: Urgency, cause: &Cause<'_>) -> Thing {
        let said = self.speaker().cause(urgency, cause, usize::MAX);
        let number = cause.affected.len();
        let mut lines = vec![format!("Do: {}", said.todo)];
        lines.extend(said.question);
        // Each order with the way to its page, where there is one.
        let mut links = Vec::new();
        let most = self.orders_per_cause.max(1);
        for (order, finding) in said.orders.into_iter().zip(&said.findings).take(most) {
            match self.address(shop, finding.order_id.as_ref()) {
                Some(address) => links.push((order.words, address)),
                None => lines.push(order.words),
            }
        }
        if number > most {
            let (named, more) = (by_number(most as u64, "is", "are"), number - most);
            let where_all_are = self.where_all_are();
            lines.push(format!(
                "{most} of these orders {named} named here, and {more} more have it; {where_all_are}."
            ));
        }
        let quote = (urgency == Urgency::Repair && self.explains).then(|| {
            let (before, text) = customer::of_several(cause);
            (before, sentence(&text))
        });
        Thing {
            tone: tone(urgency),
            when: said.when,
            head: sentence(&named(shop, &said.head)),
            lines: lines.iter().map(|words| sentence(words)).collect(),
            quote,
            links,
        }
    }

    fn links(&self, shop: Option<&str>, order_id: Option<&OrderId>) -> Vec<(String, String)> {
        let Some(address) = self.address(shop, order_id) else { return Vec::new() };
        let id = order_id.map(OrderId::as_str).unwrap_or_default();
        vec![(line(format!("Look at order {}", cut(id, ID))), address)]
    }

    /// Of an order's page.
    fn address(&self, shop: Option<&str>, order_id: Option<&OrderId>) -> Option<String> {
        let (pages, order_id) = (self.pages?, order_id.filter(|id| id.as_str().len() <= LINKED_ID)?);
        Some(format!("{pages}{}", order_page(shop, order_id.as_str())))
    }

    fn speaker(&self) -> Speaker {
        Speaker { now: self.now, zone: self.zone }
    }
}

/// Where the page of an order is, under the address of the pages: `/orders/KK-1`, of one of several shops
/// `/orders/KK-1?shop=kittiwake`. The pages lie there themselves by it.
pub fn order_page(shop: Option<&str>, order_id: &str) -> String {
    let shop = shop.map(|shop| format!("?shop={}", in_address(shop))).unwrap_or_default();
    format!("/orders/{}{shop}", in_address(order_id))
}

fn tone(urgency: Urgency) -> Tone {
    match urgency {
        Urgency::Now => Tone::Now,
        Urgency::Repair => Tone::Repair,
        Urgency::Watch => Tone::Watch,
    }
}

fn named(shop: Option<&str>, text: &str) -> String {
    match shop {
        Some(shop) => format!("{shop} - {text}"),
        None => text.to_owned(),
    }
}

fn sentence(text: &str) -> String {
    cut_line(text, SENTENCE)
}

/// A part of an address: every byte that is not a letter, a digit or one of `-._~` as its number. Source: RFC 3986,
/// sections 2.1 and 2.3.
pub fn in_address(text: &str) -> String {
    let mut part = String::with_capacity(text.len());
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                part.push(char::from(byte))
            }
            byte => part.push_str(&format!("%{byte:02X}")),
        }
    }
    part
}
