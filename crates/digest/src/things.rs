//! Findings as things to do, in words: what is wrong, what to do about it, how long there is. The digest and the page say
//! the same by it.
//!
//! Findings whose lines share a cause are one thing. Must not know how it is laid out, nor what is around it. Start reading
//! at [`things`].

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::finding::Evidence;
use model::{Check, Finding, Money, OrderId};

use crate::causes::{Affected, Cause, Item};
use crate::clean::{cut, cut_sentence};
use crate::moment::{Clock, time_left};
use crate::say::{Teller, account};
use crate::table::group::{deadline, sorted};
use crate::table::{asked, cause_todo, to_order_at_once};
use crate::urgency::{Urgency, cut_off_of};
use crate::why::{PACKED_BY_THE_SHOP, Why, things_and_why, which};
use crate::words::{count, line_name};

/// Columns of the longest sentence; what an id or a title adds beyond is no longer read.
pub(crate) const SENTENCE: usize = 700;

/// Columns of an order's id in a list.
pub(crate) const ID: usize = 40;

/// One thing to do: a finding, or several that share a cause. Its words are single lines, cleaned, with isolates.
#[derive(Clone, Debug)]
pub struct Thing<'f> {
    /// How urgent it is.
    pub urgency: Urgency,
    /// The findings that it stands for, the most urgent first.
    pub findings: Vec<&'f Finding>,
    /// How long there is, and until when: `2 h 10 min left, by 14:00 today`. `None` where nothing is known to run out.
    pub when: Option<String>,
    /// Whose cut-off that is, where it is known.
    pub cut_off_of: Option<String>,
    /// What is wrong, with a full stop.
    pub head: String,
    /// What to do, as an imperative, with a full stop.
    pub todo: String,
    /// A question to the owner that settles it another way, as a sentence.
    pub question: Option<String>,
    /// The price of what is concerned, of a single finding.
    pub at_stake: Option<Money>,
    /// The orders of a cause, in the order of `findings`, as many as were asked for; empty of a single finding.
    pub orders: Vec<ThingOrder>,
}

/// An order under its cause.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ThingOrder {
    /// `KK-1: 2 items, by 14:00 today, 32.00 EUR at stake; also: …`, with a full stop.
    pub words: String,
}

/// The findings as things to do, each group of one urgency by time left; the most urgent first. A finding whose lines have
/// several causes comes with each.
pub fn things<'f>(findings: &[&'f Finding], now: DateTime<Utc>, zone: Tz) -> Vec<Thing<'f>> {
    grouped(findings, now).iter().map(|group| group.thing(now, zone, usize::MAX)).collect()
}

/// One thing to do that is not put into words yet, so that a long list can be put in order and a page of it be said.
pub struct Grouped<'f> {
    /// How urgent it is.
    pub urgency: Urgency,
    item: Item<'f>,
}

/// What [`things`] says, in the same order. It stands as long as no cut-off of a finding passes.
pub fn grouped<'f>(findings: &[&'f Finding], now: DateTime<Utc>) -> Vec<Grouped<'f>> {
    let mut all = Vec::new();
    for urgency in Urgency::ALL {
        let own: Vec<&Finding> =
            findings.iter().copied().filter(|finding| Urgency::at(finding, now) == urgency).collect();
        all.extend(sorted(&own).into_iter().map(|item| Grouped { urgency, item }));
    }
    all
}

impl<'f> Grouped<'f> {
    /// The findings that it stands for, the most urgent first.
    pub fn findings(&self) -> Vec<&'f Finding> {
        self.item.findings()
    }

    /// In words. Of the orders of a cause no more than `orders` are said.
    pub fn thing(&self, now: DateTime<Utc>, zone: Tz, orders: usize) -> Thing<'f> {
        Speaker { now, zone }.thing(self.urgency, &self.item, orders)
    }
}

/// Says items at a moment, in a zone.
#[derive(Clone, Copy)]
pub(crate) struct Speaker {
    pub(crate) now: DateTime<Utc>,
    pub(crate) zone: Tz,
}

impl Speaker {
    pub(crate) fn clock(self) -> Clock {
        Clock::of_a_reader(self.zone, self.now)
    }

    fn thing<'f>(self, urgency: Urgency, item: &Item<'f>, orders: usize) -> Thing<'f> {
        match item {
            Item::Single(finding) => self.single(urgency, finding),
            Item::Cause(cause) => self.cause(urgency, cause, orders),
        }
    }

    pub(crate) fn single<'f>(self, urgency: Urgency, finding: &'f Finding) -> Thing<'f> {
        let teller = Teller { clock: self.clock(), says_deadlines: false };
        let account = account(finding, &teller);
        Thing {
            urgency,
            findings: vec![finding],
            when: self.when(urgency, finding),
            cut_off_of: supplier_of(finding),
            head: sentence(&format!("{}: {}.", account.subject, account.what)),
            todo: sentence(&format!("{}.", account.todo)),
            question: account.aside.map(asked),
            at_stake: finding.value_at_risk.filter(|_| finding.check != Check::LossMaking),
            orders: Vec::new(),
        }
    }

    pub(crate) fn cause<'f>(self, urgency: Urgency, cause: &Cause<'f>, orders: usize) -> Thing<'f> {
        let number = cause.affected.len();
        let name = line_name(cause.line);
        let what = which(cause.why, &[cause.line], true).to_string();
        let first = cause.affected.iter().min_by_key(|affected| deadline(affected.finding));
        Thing {
            urgency,
            findings: cause.affected.iter().map(|affected| affected.finding).collect(),
            when: first.and_then(|first| self.when(urgency, first.finding)),
            cut_off_of: first.and_then(|first| supplier_of(first.finding)),
            head: sentence(&format!("{name}, {what}: nobody makes it in {number} orders.")),
            todo: sentence(&cause_todo(cause.why, urgency == Urgency::Repair)),
            question: (cause.why == Why::NoLink).then(|| asked(PACKED_BY_THE_SHOP)),
            at_stake: None,
            orders: cause
                .affected
                .iter()
                .take(orders)
                .map(|affected| self.order(urgency, affected))
                .collect(),
        }
    }

    fn order(self, urgency: Urgency, affected: &Affected<'_>) -> ThingOrder {
        let finding = affected.finding;
        let id = finding.order_id.as_ref().map(OrderId::as_str).unwrap_or_default();
        let mut text = format!("{}: {}", cut(id, ID), count(affected.units, "item", "items"));
        match (finding.act_before, urgency) {
            (Some(by), Urgency::Now) => text += &format!(", by {}", self.clock().in_a_sentence(by)),
            (None, Urgency::Now) => text += ", no cut-off known",
            _ => {}
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
        ThingOrder { words: sentence(&(text + ".")) }
    }

    /// `2 h 10 min left, by 14:00 today`.
    pub(crate) fn when(self, urgency: Urgency, finding: &Finding) -> Option<String> {
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
}

/// The supplier whose cut-off it is.
fn supplier_of(finding: &Finding) -> Option<String> {
    cut_off_of(finding).map(|supplier| cut(supplier.as_str(), ID).into_owned())
}

fn sentence(text: &str) -> String {
    cut_sentence(text, SENTENCE)
}
