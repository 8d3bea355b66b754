//! Findings as things to do: what is wrong, what to do about it, how long there is, and where to look.
//!
//! Must not know of mornings or bursts. Start reading at [`Writer::group`].

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::finding::Evidence;
use model::{Check, Finding, OrderId};

use super::customer;
use super::document::{Block, Document, Item as Thing, Tone, cut_line, line};
use super::pages::Pages;
use crate::causes::{Affected, Cause, Item};
use crate::clean::cut;
use crate::moment::{Clock, time_left};
use crate::say::{Teller, account};
use crate::table::group::{deadline, sorted};
use crate::table::{asked, cause_todo, to_order_at_once};
use crate::urgency::Urgency;
use crate::why::{PACKED_BY_THE_SHOP, Why, things_and_why, which};
use crate::words::{by_number, count, line_name, number_of};

/// Columns of the longest sentence; what an id or a title adds beyond is no longer read.
const SENTENCE: usize = 700;

/// Columns of an order's id in a list.
const ID: usize = 40;

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
        let teller = Teller { clock: self.clock(), says_deadlines: false };
        let account = account(finding, &teller);
        let mut lines = vec![format!("Do: {}.", account.todo)];
        if let Some(aside) = account.aside {
            lines.push(asked(aside));
        }
        if let Some(value) = finding.value_at_risk.filter(|_| finding.check != Check::LossMaking) {
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
            when: self.when(urgency, finding),
            head: sentence(&named(shop, &format!("{}: {}.", account.subject, account.what))),
            lines: lines.iter().map(|words| sentence(words)).collect(),
            quote,
            links: self.links(shop, finding.order_id.as_ref()),
        }
    }

    fn cause(&self, shop: Option<&str>, urgency: Urgency, cause: &Cause<'_>) -> Thing {
        let number = cause.affected.len();
        let name = line_name(cause.line);
        let what = which(cause.why, &[cause.line], true).to_string();
        let head = format!("{name}, {what}: nobody makes it in {number} orders.");
        let is_past = urgency == Urgency::Repair;
        let mut lines = vec![format!("Do: {}", cause_todo(cause.why, is_past))];
        if cause.why == Why::NoLink {
            lines.push(asked(PACKED_BY_THE_SHOP));
        }
        // Each order with the way to its page, where there is one.
        let mut links = Vec::new();
        let most = self.orders_per_cause.max(1);
        for affected in cause.affected.iter().take(most) {
            let words = sentence(&self.order(urgency, affected));
            match self.address(shop, affected.finding.order_id.as_ref()) {
                Some(address) => links.push((words, address)),
                None => lines.push(words),
            }
        }
        if number > most {
            let (named, more) = (by_number(most as u64, "is", "are"), number - most);
            let where_all_are = self.where_all_are();
            lines.push(format!(
                "{most} of these orders {named} named here, and {more} more have it; {where_all_are}."
            ));
        }
        let first = cause.affected.iter().min_by_key(|affected| deadline(affected.finding));
        let quote = (is_past && self.explains).then(|| {
            let (before, text) = customer::of_several(cause);
            (before, sentence(&text))
        });
        Thing {
            tone: tone(urgency),
            when: first.and_then(|first| self.when(urgency, first.finding)),
            head: sentence(&named(shop, &head)),
            lines: lines.iter().map(|words| sentence(words)).collect(),
            quote,
            links,
        }
    }

    /// An order under its cause: `KK-1: 2 items, by 14:00 today`, and what else it waits for.
    fn order(&self, urgency: Urgency, affected: &Affected<'_>) -> String {
        let finding = affected.finding;
        let id = finding.order_id.as_ref().map(OrderId::as_str).unwrap_or_default();
        let mut text = format!("{}: {}", cut(id, ID), count(affected.units, "item", "items"));
        if let Some(by) = finding.act_before.filter(|_| urgency == Urgency::Now) {
            text += &format!(", by {}", self.clock().in_a_sentence(by));
        }
        if let Some(value) = finding.value_at_risk {
            text += &format!(", {value} at stake");
        }
        if !affected.alone.is_empty() {
            text += &format!("; also: nobody makes {}", things_and_why(affected.alone.iter().copied()));
            if let Some(to_order) = to_order_at_once(affected) {
                text += &format!(": order {to_order}");
            }
        }
        if affected.elsewhere {
            text += "; also: it waits for another link in this list";
        }
        text + "."
    }

    /// `2 h 10 min left, by 14:00 today`.
    fn when(&self, urgency: Urgency, finding: &Finding) -> Option<String> {
        match (finding.act_before, urgency) {
            (Some(moment), _) => {
                let left = time_left(moment.signed_duration_since(self.now));
                Some(format!("{left}, by {}", self.clock().in_a_sentence(moment)))
            }
            (None, _) if finding.cutoff_passed => Some("Past the cut-off".to_owned()),
            (None, Urgency::Now) if matches!(finding.evidence, Evidence::Gap(_)) => {
                Some("No cut-off is known; the sooner the better".to_owned())
            }
            (None, Urgency::Now) => Some("No cut-off is known".to_owned()),
            (None, _) => None,
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
        let shop = shop.map(|shop| format!("?shop={}", in_address(shop))).unwrap_or_default();
        Some(format!("{pages}/orders/{}{shop}", in_address(order_id.as_str())))
    }

    pub(super) fn clock(&self) -> Clock {
        Clock::of_a_reader(self.zone, self.now)
    }
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
pub(super) fn in_address(text: &str) -> String {
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
