//! What is to be done, by time left: the queue, narrowed as it is asked for.
//!
//! Must not know HTML. The words of each thing are those of the digest. Start reading at [`queue`].

use std::sync::Arc;

use chrono::{DateTime, Utc};
use digest::Clock;
use model::{Check, Finding, Money, OrderId};
use schemars::JsonSchema;
use serde::Serialize;

use super::board::{Board, Group, Known, groups};
use super::narrowing::{By, Filter, LeftOut, QueueAsked, filters};
use super::standing::{Standing, standing};
use super::words::{Moment, Words};
use crate::desk::Shop;

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
    /// The supplier whose cut-off that is; null where it is not known.
    pub cut_off_of: Option<Words>,
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

/// A finding, with the shop whose it is.
#[derive(Clone, Copy)]
pub(super) struct Entry<'b> {
    pub(super) board: &'b Board,
    pub(super) finding: &'b Finding,
    pub(super) known: &'b Known,
}

/// What of a shop is to be done.
fn open_of(board: &Board) -> impl Iterator<Item = Entry<'_>> {
    let open = board.findings().filter(|(_, known)| !known.is_aside);
    open.map(move |(finding, known)| Entry { board, finding, known })
}

impl Entry<'_> {
    pub(super) fn shop(&self) -> &str {
        self.board.shop()
    }

    pub(super) fn fits(&self, asked: &QueueAsked, now: DateTime<Utc>) -> bool {
        self.left_out(asked, now) == LeftOut::Not
    }

    /// What leaves it out.
    pub(super) fn left_out(&self, asked: &QueueAsked, now: DateTime<Utc>) -> LeftOut {
        let is_left_out = [
            (By::Shop, !asked.is_of_shop(self.shop())),
            (By::Urgency, asked.urgency.is_some_and(|urgency| urgency != self.known.urgency)),
            (By::Check, asked.check.is_some_and(|check| check != self.finding.check)),
            (By::Age, asked.age.is_some_and(|age| !age.has(self.finding.first_seen, now))),
            (
                By::Supplier,
                asked.supplier.as_ref().is_some_and(|asked| !self.known.suppliers.contains(asked)),
            ),
        ];
        let mut by = is_left_out.into_iter().filter(|(_, is_left_out)| *is_left_out).map(|(by, _)| by);
        match (by.next(), by.next()) {
            (None, _) => LeftOut::Not,
            (Some(by), None) => LeftOut::By(by),
            (Some(_), Some(_)) => LeftOut::BySeveral,
        }
    }
}

/// The queue of these shops, narrowed as asked; `boards` are of those that were looked at.
pub fn queue(shops: &[Shop], boards: &[Arc<Board>], asked: &QueueAsked, now: DateTime<Utc>) -> Queue {
    let open: Vec<Entry<'_>> = boards.iter().flat_map(|board| open_of(board)).collect();
    let mut fitting = open.iter().filter(|entry| entry.fits(asked, now)).count() as u64;
    // Where single findings are asked for, things to do are made of these alone.
    let regrouped: Vec<Vec<Group<'_>>> = match asked.is_of_findings() {
        true => boards
            .iter()
            .map(|board| {
                let own = open_of(board).filter(|entry| entry.fits(asked, now));
                groups(&own.map(|entry| entry.finding).collect::<Vec<_>>(), now)
            })
            .collect(),
        false => Vec::new(),
    };
    let mut things: Vec<(&Board, &Group<'_>)> = Vec::new();
    for (place, board) in boards.iter().enumerate().filter(|(_, board)| asked.is_of_shop(board.shop())) {
        let groups = regrouped.get(place).map_or(board.groups(), Vec::as_slice);
        things.extend(groups.iter().map(|group| (&**board, group)));
    }
    let mut orders = ORDERS_PER_TASK;
    if let Some(wanted) = &asked.finding {
        orders = ORDERS_OF_ONE_TASK;
        things.retain(|(_, group)| {
            group.grouped.findings().iter().any(|finding| finding.id.as_str() == wanted)
        });
        fitting = things.iter().map(|(_, group)| group.grouped.findings().len() as u64).sum();
    }
    // Of several shops, what is equally urgent stands by the shop's name.
    things.sort_by_key(|(_, group)| group.place);
    let in_all = things.len();
    let pages = in_all.div_ceil(PER_PAGE).max(1);
    let page = (asked.page.max(1) as usize).min(pages);
    let before = (page - 1) * PER_PAGE;
    let tasks: Vec<Task> = things
        .into_iter()
        .skip(before)
        .take(PER_PAGE)
        .map(|(board, group)| task(&board.round().shop, shops.len() > 1, group, now, orders))
        .collect();
    let standing = standing(shops, boards, now);
    Queue {
        is_known: standing.iter().all(|standing| standing.is_known),
        standing,
        findings: open.len() as u64,
        fitting,
        set_aside: boards.iter().map(|board| board.set_aside_in_all()).sum(),
        filters: filters(shops, &open, asked, now),
        first: if tasks.is_empty() { 0 } else { before as u64 + 1 },
        tasks,
        tasks_in_all: in_all as u64,
        page: page as u64,
        pages: pages as u64,
    }
}

/// What is set aside and still stands.
pub fn asides(shops: &[Shop], boards: &[Arc<Board>], now: DateTime<Utc>) -> Asides {
    /// What somebody can look through; who sets more aside than that has other trouble.
    const LISTED: usize = 500;
    let mut listed = Vec::new();
    for board in boards {
        for (finding, aside) in board.set_aside() {
            // One by one: each has a note of its own.
            let own = groups(&[finding], now);
            listed.extend(own.into_iter().next().map(|group| (group, board, aside)));
        }
    }
    listed.sort_by_key(|(group, ..)| group.place);
    let in_all = listed.len() as u64;
    let told = listed.iter().take(LISTED).map(|(group, board, aside)| {
        let shop = &board.round().shop;
        let clock = Clock::of_a_reader(shop.zone, now);
        AsideTask {
            task: task(shop, shops.len() > 1, group, now, ORDERS_PER_TASK),
            note: Words::outside(&aside.note),
            until: aside.until.map(|until| Moment::new(until, &clock)),
        }
    });
    let tasks = told.collect();
    Asides { standing: standing(shops, boards, now), in_all, tasks }
}

fn task(shop: &Shop, names_shops: bool, group: &Group<'_>, now: DateTime<Utc>, orders: usize) -> Task {
    let thing = group.grouped.thing(now, shop.zone, orders);
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
        key: group.key.clone(),
        shop: names_shops.then(|| id.to_owned()),
        urgency: thing.urgency.into(),
        when: thing.when.as_ref().map(Words::ours),
        cut_off_of: thing.cut_off_of.as_ref().map(Words::outside),
        act_before: group.place.2.map(moment),
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
