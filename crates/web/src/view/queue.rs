//! What is to be done, by time left: the queue, narrowed as it is asked for.
//!
//! Must not know HTML. The words of each thing are those of the digest. Start reading at [`queue`].

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, Utc};
use digest::{Clock, Thing, standing_at, things};
use model::finding::Evidence;
use model::{Check, Finding, Money, OrderId};
use schemars::JsonSchema;
use serde::Serialize;

use super::narrowing::{Filter, QueueAsked, filters};
use super::standing::{Standing, standing};
use super::words::{Moment, Words};
use crate::desk::{Aside, Round, Shop};

/// Things to do on one page: what somebody can work through at once.
pub const PER_PAGE: usize = 50;

/// Orders that are listed under one cause; the thing to do is the same for all.
const ORDERS_PER_TASK: usize = 20;

/// Orders that are listed under one cause where that cause alone is asked for.
const ORDERS_OF_ONE_TASK: usize = 2_000;

/// How urgent something is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Urgency {
    /// It can still be put right at the supplier, as far as is known.
    Now,
    /// It can no longer be put right at the supplier: something is to be made good.
    Repair,
    /// To know of.
    Watch,
}

impl Urgency {
    /// All, the most urgent first.
    pub const ALL: [Self; 3] = [Self::Now, Self::Repair, Self::Watch];

    /// The word of addresses and of JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Now => "now",
            Self::Repair => "repair",
            Self::Watch => "watch",
        }
    }

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Now => "To put right now",
            Self::Repair => "Past the cut-off",
            Self::Watch => "To watch",
        }
    }
}

impl From<digest::Urgency> for Urgency {
    fn from(urgency: digest::Urgency) -> Self {
        match urgency {
            digest::Urgency::Now => Self::Now,
            digest::Urgency::Repair => Self::Repair,
            digest::Urgency::Watch => Self::Watch,
        }
    }
}

/// What is to be done.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Queue {
    /// What is known of each shop, and up to when.
    pub standing: Vec<Standing>,
    /// Whether everything was read and judged, so that nothing else is to be done.
    pub is_known: bool,
    /// How many findings stand, without those that are set aside.
    pub findings: u64,
    /// How many of them fit what is asked for.
    pub fitting: u64,
    /// How many are set aside.
    pub set_aside: u64,
    /// How the queue can be narrowed, with how many findings that would leave.
    pub filters: Vec<Filter>,
    /// The things to do on this page, by urgency, then by time left.
    pub tasks: Vec<Task>,
    /// How many things there are to do on all pages.
    pub tasks_in_all: u64,
    /// The place of the first one of this page, from 1 on; 0 where there is none.
    pub first: u64,
    /// This page, from 1 on.
    pub page: u64,
    /// How many pages there are; at least one.
    pub pages: u64,
}

/// One thing to do: a finding, or several that share a cause.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Task {
    /// A name for it that stays while its first finding stands.
    pub key: String,
    /// Whose, where there are several shops.
    pub shop: Option<String>,
    /// How urgent it is.
    pub urgency: Urgency,
    /// How long there is, and until when, in words.
    pub when: Option<Words>,
    /// Until when it can still be put right at the supplier.
    pub act_before: Option<Moment>,
    /// What is wrong.
    pub head: Words,
    /// What to do.
    pub todo: Words,
    /// A question to the owner that settles it another way.
    pub question: Option<Words>,
    /// The price of what is concerned, where it is known and in one currency.
    pub value_at_risk: Option<Money>,
    /// Since when the oldest finding of it is known.
    pub since: Moment,
    /// The findings that it stands for.
    pub concerned: Vec<Concerned>,
    /// How many there are; more than are listed where many share a cause.
    pub concerned_in_all: u64,
}

/// A finding within a thing to do.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Concerned {
    /// Its id.
    pub finding: String,
    /// The check that found it.
    pub check: Check,
    /// Whose it is.
    pub shop: String,
    /// The order that it is about.
    pub order_id: Option<OrderId>,
    /// Where the order's page is.
    pub page: Option<String>,
    /// What is said of the order beside others of the same cause.
    pub words: Option<Words>,
    /// Since when it is known.
    pub since: Moment,
    /// Until when it can be put right.
    pub act_before: Option<Moment>,
}

/// What is set aside, in the same words.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Asides {
    /// What is known of each shop, and up to when.
    pub standing: Vec<Standing>,
    /// What is set aside and still stands, by urgency, then by time left.
    pub tasks: Vec<AsideTask>,
    /// How many there are; more than are listed where there are very many.
    pub in_all: u64,
}

/// Something that is set aside.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct AsideTask {
    /// What it is.
    #[serde(flatten)]
    pub task: Task,
    /// Why.
    pub note: Words,
    /// Until when; null: until what was found is something else.
    pub until: Option<Moment>,
}

/// What the rounds found, as it stands now.
pub(super) struct Found<'r> {
    pub(super) round: &'r Round,
    pub(super) finding: Finding,
    aside: Option<&'r Aside>,
}

/// The findings of all rounds as they stand at a moment, which is later than they were judged.
fn found<'r>(
    rounds: &'r [Arc<Round>],
    asides: &'r BTreeMap<String, BTreeMap<String, Aside>>,
    now: DateTime<Utc>,
) -> Vec<Found<'r>> {
    let mut all = Vec::new();
    for round in rounds {
        let asides = asides.get(round.shop.id.as_str());
        for finding in &round.outcome.findings {
            let finding = standing_at(finding, now).into_owned();
            let aside = asides.and_then(|asides| asides.get(finding.id.as_str()));
            all.push(Found { round, finding, aside });
        }
    }
    all
}

impl Found<'_> {
    pub(super) fn urgency(&self, now: DateTime<Utc>) -> Urgency {
        digest::Urgency::at(&self.finding, now).into()
    }

    pub(super) fn suppliers(&self) -> BTreeSet<&str> {
        suppliers(&self.finding)
    }

    pub(super) fn fits(&self, asked: &QueueAsked, now: DateTime<Utc>) -> bool {
        let is = |asked: &Option<String>, own: &str| asked.as_ref().is_none_or(|asked| asked == own);
        is(&asked.shop, self.round.shop.id.as_str())
            && asked.supplier.as_ref().is_none_or(|asked| self.suppliers().contains(asked.as_str()))
            && asked.check.is_none_or(|check| check == self.finding.check)
            && asked.urgency.is_none_or(|urgency| urgency == self.urgency(now))
            && asked.age.is_none_or(|age| age.has(self.finding.first_seen, now))
    }
}

/// The suppliers that a finding is about: its own, those of its lines' links, and those that have something of the order.
fn suppliers(finding: &Finding) -> BTreeSet<&str> {
    let mut names: BTreeSet<&str> = finding.supplier.iter().map(|supplier| supplier.as_str()).collect();
    let parts = finding.lines.iter().flat_map(|line| line.needs.iter().chain(&line.intended));
    names.extend(parts.filter(|part| !part.supplier.is_own()).map(|part| part.supplier.as_str()));
    match &finding.evidence {
        Evidence::Gap(gap) => names.extend(gap.submissions.iter().map(|sent| sent.supplier.as_str())),
        Evidence::Wrong(wrong) => names.extend(wrong.sent.iter().map(|sent| sent.variant.supplier.as_str())),
        Evidence::Surplus(surplus) => {
            names.extend(surplus.submissions.iter().map(|sent| sent.supplier.as_str()));
        }
        Evidence::Address(address) => {
            names.extend(address.submissions.iter().map(|sent| sent.supplier.as_str()));
        }
        Evidence::Mismatch(mismatch) => {
            names.extend(mismatch.variants.iter().map(|variant| variant.variant.supplier.as_str()));
        }
        Evidence::Unusable(unusable) => {
            names.extend(unusable.parts.iter().map(|part| part.supplier.as_str()));
        }
        _ => {}
    }
    names
}

/// The queue of these rounds, narrowed as asked. `asides` is what is set aside now, by shop and finding.
pub fn queue(
    shops: &[Shop],
    rounds: &[Arc<Round>],
    asides: &BTreeMap<String, BTreeMap<String, Aside>>,
    asked: &QueueAsked,
    now: DateTime<Utc>,
) -> Queue {
    let all = found(rounds, asides, now);
    let (aside, open): (Vec<Found<'_>>, Vec<Found<'_>>) =
        all.into_iter().partition(|found| found.aside.is_some());
    let fitting: Vec<&Found<'_>> = open.iter().filter(|found| found.fits(asked, now)).collect();
    let orders = if asked.finding.is_some() { ORDERS_OF_ONE_TASK } else { ORDERS_PER_TASK };
    let mut tasks = tasks(shops, &fitting, now, orders);
    if let Some(wanted) = &asked.finding {
        tasks.retain(|task| task.concerned.iter().any(|concerned| concerned.finding == *wanted));
    }
    let fitting = match &asked.finding {
        None => fitting.len() as u64,
        Some(_) => tasks.iter().map(|task| task.concerned_in_all).sum(),
    };
    let in_all = tasks.len();
    let pages = in_all.div_ceil(PER_PAGE).max(1);
    let page = (asked.page.max(1) as usize).min(pages);
    let before = (page - 1) * PER_PAGE;
    let tasks: Vec<Task> = tasks.into_iter().skip(before).take(PER_PAGE).collect();
    let standing = standing(shops, rounds, now);
    Queue {
        is_known: standing.iter().all(|standing| standing.is_known),
        standing,
        findings: open.len() as u64,
        fitting,
        set_aside: aside.len() as u64,
        filters: filters(shops, &open, asked, now),
        first: if tasks.is_empty() { 0 } else { before as u64 + 1 },
        tasks,
        tasks_in_all: in_all as u64,
        page: page as u64,
        pages: pages as u64,
    }
}

/// What is set aside and still stands.
pub fn asides(
    shops: &[Shop],
    rounds: &[Arc<Round>],
    asides: &BTreeMap<String, BTreeMap<String, Aside>>,
    now: DateTime<Utc>,
) -> Asides {
    /// What somebody can look through; who sets more aside than that has other trouble.
    const LISTED: usize = 500;
    let all = found(rounds, asides, now);
    let mut listed = Vec::new();
    for found in &all {
        let Some(aside) = found.aside else { continue };
        let clock = Clock::of_a_reader(found.round.shop.zone, now);
        // One by one: each has a note of its own.
        let Some(task) = tasks(shops, &[found], now, ORDERS_PER_TASK).pop() else { continue };
        let place = (task.urgency, found.finding.act_before.is_none(), found.finding.act_before);
        let until = aside.until.map(|until| Moment::new(until, &clock));
        listed.push((AsideTask { task, note: Words::outside(&aside.note), until }, place));
    }
    listed.sort_by_key(|(_, place)| *place);
    Asides {
        standing: standing(shops, rounds, now),
        in_all: listed.len() as u64,
        tasks: listed.into_iter().map(|(task, _)| task).take(LISTED).collect(),
    }
}

/// The findings as things to do, by urgency, then by time left. Causes are of one shop: the same SKU in another is another
/// thing.
fn tasks(shops: &[Shop], fitting: &[&Found<'_>], now: DateTime<Utc>, orders: usize) -> Vec<Task> {
    let mut of_shop: BTreeMap<&str, (&Shop, Vec<&Finding>)> = BTreeMap::new();
    for found in fitting {
        let shop = &found.round.shop;
        of_shop.entry(shop.id.as_str()).or_insert((shop, Vec::new())).1.push(&found.finding);
    }
    let mut tasks: Vec<Task> = Vec::new();
    for (shop, findings) in of_shop.into_values() {
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        for thing in things(&findings, now, shop.zone) {
            let mut task = task(shop, shops.len() > 1, &thing, now, orders);
            // A finding with several causes is the first of several things.
            let number = seen.entry(task.key.clone()).or_default();
            *number += 1;
            if *number > 1 {
                task.key = format!("{}-{number}", task.key);
            }
            tasks.push(task);
        }
    }
    tasks.sort_by_key(|task| {
        let deadline = task.act_before.as_ref().map(|moment| moment.at);
        (task.urgency, deadline.is_none(), deadline)
    });
    tasks
}

fn task(shop: &Shop, names_shops: bool, thing: &Thing<'_>, now: DateTime<Utc>, orders: usize) -> Task {
    let clock = Clock::of_a_reader(shop.zone, now);
    let moment = |at: DateTime<Utc>| Moment::new(at, &clock);
    let id = shop.id.as_str();
    let mut concerned = Vec::new();
    for (place, finding) in thing.findings.iter().enumerate().take(orders) {
        let named_shop = names_shops.then_some(id);
        concerned.push(Concerned {
            finding: finding.id.as_str().to_owned(),
            check: finding.check,
            shop: id.to_owned(),
            order_id: finding.order_id.clone(),
            page: finding
                .order_id
                .as_ref()
                .map(|order| digest::compose::order_page(named_shop, order.as_str())),
            words: thing.orders.get(place).map(|order| Words::ours(&order.words)),
            since: moment(finding.first_seen),
            act_before: finding.act_before.map(moment),
        });
    }
    let value = match &thing.findings[..] {
        [_] => thing.at_stake,
        several => sum(several),
    };
    let first_seen = thing.findings.iter().map(|finding| finding.first_seen).min().unwrap_or(now);
    Task {
        key: thing.findings.first().map(|finding| finding.id.as_str().to_owned()).unwrap_or_default(),
        shop: names_shops.then(|| id.to_owned()),
        urgency: thing.urgency.into(),
        when: thing.when.as_ref().map(Words::ours),
        act_before: thing.findings.iter().filter_map(|finding| finding.act_before).min().map(moment),
        head: Words::ours(&thing.head),
        todo: Words::ours(&thing.todo),
        question: thing.question.as_ref().map(Words::ours),
        value_at_risk: value,
        since: moment(first_seen),
        concerned,
        concerned_in_all: thing.findings.len() as u64,
    }
}

/// What the orders of a cause are worth together; `None` where that is not known of each, or is in several currencies.
fn sum(findings: &[&Finding]) -> Option<Money> {
    let mut values = findings.iter().map(|finding| finding.value_at_risk);
    let first = values.next()??;
    values.try_fold(first, |sum, value| {
        let value = value.filter(|value| value.currency() == sum.currency())?;
        Some(Money::new(sum.amount().checked_add(value.amount())?, sum.currency()))
    })
}
