//! What is there at as-of: orders, their lines with links and demand, and what can be looked up about a
//! variant.
//!
//! Existence, live orders and demand are those of 'As-of' and 'Demand'; what is reported is that of `since`,
//! `until`, `report_from` and the orders that are not judged.

use chrono::{DateTime, Utc};
use matcher::Facts;
use model::book::{Order, OrderLine, OrderStatus};
use model::finding::Reason;
use model::reading::Reading;
use model::{Book, LineId, OrderId, Rules, SupplierId, VariantId};

use super::linking::{self, Link};
use super::sending::{self, Sent};

/// A supplier's variant.
pub type Thing = (SupplierId, VariantId);

/// An order line by its key.
pub type LineKey = (OrderId, LineId);

/// One line of an order that exists at as-of.
pub struct Line<'a> {
    pub row: &'a OrderLine,
    pub order: &'a Order,
    pub reading: &'a Reading,
    pub link: Link,
    /// Units still owed.
    pub demand: u64,
}

impl Line<'_> {
    pub fn key(&self) -> LineKey {
        (self.row.order_id.clone(), self.row.line_id.clone())
    }

    /// What it needs, and how many of it per unit; something unknown where it has no link. Empty: own stock.
    pub fn parts(&self) -> Vec<(Option<Thing>, u64)> {
        if !self.link.is_linked() {
            return vec![(None, 1)];
        }
        self.link.made().into_iter().map(|(thing, units)| (Some(thing), units)).collect()
    }

    /// As the checks count it: with a link that is in force.
    pub fn has_link(&self) -> bool {
        matches!(self.link, Link::To { in_force: true, .. })
    }

    /// Why it has no link, as the checks name it.
    pub fn why_no_link(&self) -> Option<Reason> {
        match self.link {
            Link::To { in_force: true, .. } => None,
            Link::To { in_force: false, .. } => Some(Reason::NoLink),
            Link::None(reason) => Some(reason),
        }
    }
}

/// The book as it stood at as-of.
pub struct World<'a> {
    pub book: &'a Book,
    pub facts: Facts<'a>,
    pub rules: &'a Rules,
    pub as_of: DateTime<Utc>,
    pub orders: Vec<&'a Order>,
    /// By order id, line id.
    pub lines: Vec<Line<'a>>,
    /// By supplier, submission id, line id.
    pub sent: Vec<Sent<'a>>,
    /// Orders about which nothing is said.
    pub not_judged: Vec<OrderId>,
}

impl<'a> World<'a> {
    pub fn new(book: &'a Book, facts: Facts<'a>, rules: &'a Rules, as_of: DateTime<Utc>) -> Self {
        let orders: Vec<&Order> =
            book.orders.iter().filter(|order| order.placed_at.begins() <= as_of).collect();
        let mut world = World {
            book,
            facts,
            rules,
            as_of,
            orders,
            lines: Vec::new(),
            sent: Vec::new(),
            not_judged: Vec::new(),
        };
        for (index, row) in book.order_lines.iter().enumerate() {
            let Some(order) = world.order(&row.order_id) else { continue };
            let link =
                linking::link_of(&world, row.listing_id.as_ref(), row.options.as_ref(), row.sku.as_ref());
            let demand =
                if world.is_live(order) { u64::from(row.quantity - row.cancelled_quantity) } else { 0 };
            world.lines.push(Line { row, order, reading: &facts.readings.order_lines[index], link, demand });
        }
        world.lines.sort_by_key(Line::key);
        world.sent = sending::all_sent(&world);
        world.not_judged = world.orders_not_judged();
        world
    }

    /// An order that exists at as-of.
    pub fn order(&self, id: &OrderId) -> Option<&'a Order> {
        self.orders.iter().copied().find(|order| order.order_id == *id)
    }

    pub fn line(&self, key: &LineKey) -> &Line<'a> {
        let at = self.lines.binary_search_by_key(key, Line::key).expect("a line that exists at as-of");
        &self.lines[at]
    }

    pub fn lines_of<'w>(&'w self, order: &'w OrderId) -> impl Iterator<Item = &'w Line<'a>> {
        self.lines.iter().filter(move |line| line.row.order_id == *order)
    }

    /// `open` or `dispatched`, and not paid after as-of.
    pub fn is_live(&self, order: &Order) -> bool {
        matches!(order.status, OrderStatus::Open | OrderStatus::Dispatched)
            && order.paid_at.is_none_or(|paid| paid.begins() <= self.as_of)
    }

    /// Those of which a row was skipped, and 'an order merged, in a submission line that can serve, with an
    /// order that cannot be judged …, and so on through the group'.
    fn orders_not_judged(&self) -> Vec<OrderId> {
        let mut all: Vec<OrderId> = self.book.not_judged.iter().cloned().collect();
        loop {
            let before = all.clone();
            for sent in self.sent.iter().filter(|sent| sent.is_usable()) {
                if sent.orders.iter().any(|order| before.contains(order)) {
                    all.extend(sent.orders.iter().filter(|order| !before.contains(order)).cloned());
                }
            }
            if all.len() == before.len() {
                return all;
            }
        }
    }

    pub fn is_judged(&self, order: &OrderId) -> bool {
        !self.not_judged.contains(order)
    }

    /// Whether the order is counted in the totals.
    pub fn is_counted(&self, order: &Order) -> bool {
        let placed = order.placed_at.begins();
        self.is_judged(&order.order_id)
            && self.rules.since.is_none_or(|since| placed >= since)
            && self.rules.until.is_none_or(|until| placed < until)
    }

    /// Whether the order may raise anything.
    pub fn is_reported(&self, order: &Order) -> bool {
        self.is_counted(order) && self.rules.report_from.is_none_or(|from| order.placed_at.begins() >= from)
    }

    /// What is read of a variant; nothing where the table does not have it.
    pub fn reading_of(&self, (supplier, variant_id): &Thing) -> Reading {
        let variants = self.book.variants.as_deref().unwrap_or_default();
        variants
            .iter()
            .position(|variant| variant.supplier == *supplier && variant.variant_id == *variant_id)
            .map(|index| self.facts.readings.variants[index].clone())
            .unwrap_or_default()
    }
}
