//! Random books of any size in which the faults are known: for benchmarks, and to compare on many seeds.
//!
//! One order in fifty has a fault of one of six kinds; the listings have the faults that they always have.
//! Start reading at [`random_orders`].

use chrono::{DateTime, TimeDelta, Utc};
use model::book::OrderStatus;
use model::finding::Reason;
use model::{Book, Check, OrderId};

use crate::catalogue::{Catalogue, Supplier};
use crate::desk::{self, Desk, Placed, Sending, line_id};
use crate::files::in_key_order;
use crate::plant::{Plant, Planted, PlantedLine, PlantedSubmissionLine, Subject};
use crate::sale_day::{CONFIGURATION, as_of};

/// The orders come evenly over so long before as-of, where nothing else is said.
const DAYS: i64 = 60;

/// So many orders come for one that has a fault.
const ORDERS_FOR_A_FAULT: u64 = 50;

/// No fault is planted in younger orders, so that every grace is over.
const SETTLED_AFTER: TimeDelta = TimeDelta::hours(4);

/// The tables that do not depend on orders: offers, variants, links, listing products.
pub fn catalogue_book() -> Book {
    Catalogue::of_the_shop().book()
}

/// A book of so many orders, the same for the same seed, with all its findings.
pub fn random_book(seed: u64, orders: usize) -> Planted {
    let mut book = catalogue_book();
    let mut plants = Catalogue::of_the_shop().plants.clone();
    for (mut of_order, planted) in random_orders(seed, orders) {
        book.orders.append(&mut of_order.orders);
        book.order_lines.append(&mut of_order.order_lines);
        add(&mut book.submissions, of_order.submissions);
        add(&mut book.submission_lines, of_order.submission_lines);
        add(&mut book.parcels, of_order.parcels);
        add(&mut book.parcel_lines, of_order.parcel_lines);
        add(&mut book.ties, of_order.ties);
        plants.extend(planted);
    }
    plants.sort_by(|a, b| (a.check, &a.subject).cmp(&(b.check, &b.subject)));
    Planted {
        book: in_key_order(book),
        as_of: as_of(),
        configuration: CONFIGURATION.to_owned(),
        plants,
        decoys: Vec::new(),
    }
}

fn add<T>(all: &mut Option<Vec<T>>, rows: Option<Vec<T>>) {
    if let Some(rows) = rows {
        all.get_or_insert_default().extend(rows);
    }
}

/// The orders of [`random_book`] one by one, each as a book of its own rows with the findings about them.
///
/// Nothing is kept between orders, so that a million of them can go straight into [`crate::Tables`], after
/// [`catalogue_book`]. The findings about the listings are not among them.
pub fn random_orders(seed: u64, orders: usize) -> RandomOrders {
    RandomOrders { desk: Desk::new(seed, as_of()), next: 0, orders, days: DAYS }
}

/// See [`random_orders`].
#[derive(Clone, Debug)]
pub struct RandomOrders {
    desk: Desk,
    next: usize,
    orders: usize,
    days: i64,
}

impl Iterator for RandomOrders {
    type Item = (Book, Vec<Plant>);

    fn next(&mut self) -> Option<Self::Item> {
        if self.next == self.orders {
            return None;
        }
        let seconds = self.days * 86_400 * (self.orders - self.next) as i64 / self.orders as i64;
        let placed_at = as_of() - TimeDelta::seconds(seconds);
        self.next += 1;
        let id = OrderId::new(format!("KK-{:07}", self.next));
        let faulty = self.desk.random.between(1, ORDERS_FOR_A_FAULT) == 1;
        let (placed, sendings, mut plants) = if faulty && placed_at + SETTLED_AFTER < as_of() {
            self.faulty(id, placed_at)
        } else {
            let (placed, sendings) = self.desk.ordinary(id, placed_at);
            (placed, sendings, Vec::new())
        };
        let placed = vec![placed];
        desk::fill_time_left(&mut plants, &placed, &sendings, self.desk.catalogue, as_of());
        let mut book = Book::default();
        desk::record(&mut book, placed, sendings, Vec::new());
        Some((book, plants))
    }
}

impl RandomOrders {
    /// The same, where the orders come evenly over so many days.
    #[must_use]
    pub fn over_days(mut self, days: u32) -> Self {
        self.days = days.into();
        self
    }

    /// An order with one fault. Where the kind drawn does not fit the order, nothing is wrong with it.
    fn faulty(&mut self, id: OrderId, at: DateTime<Utc>) -> (Placed, Vec<Sending>, Vec<Plant>) {
        let kind = self.desk.random.index(6);
        let mut basket = self.desk.basket();
        if kind == 0 {
            basket.push((self.desk.catalogue.good("KL-01", &["Tote bag", "Mustard"]), 1));
        }
        let mut placed = self.desk.place(id, at, &basket);
        // What is never sent would be late too, once a promise has passed.
        placed.order.promised_by = None;
        let mut sendings = self.desk.serve(&placed);
        self.desk.mark(&mut placed, &sendings);
        let plants = match kind {
            0 => vec![gap(&placed, &sendings, &[placed.lines.len()], Reason::NoLink)],
            1 => self.left_out(&placed, &mut sendings),
            2 => self.doubled(&placed, &mut sendings),
            3 => cancelled(&mut placed, &sendings),
            4 => self.wrong_size(&placed, &mut sendings),
            _ => self.mistyped(&placed, &mut sendings),
        };
        (placed, sendings, plants)
    }

    /// One supplier was never asked.
    fn left_out(&mut self, placed: &Placed, sendings: &mut Vec<Sending>) -> Vec<Plant> {
        if sendings.is_empty() {
            return Vec::new();
        }
        let sending = sendings.remove(self.desk.random.index(sendings.len()));
        vec![gap(placed, sendings, &self.lines_of(sending.by, placed), Reason::NotSent)]
    }

    /// One supplier was asked twice; the later submission has the higher id.
    fn doubled(&mut self, placed: &Placed, sendings: &mut Vec<Sending>) -> Vec<Plant> {
        let Some(first) = sendings.last() else { return Vec::new() };
        let received_at = first.submission.received_at.begins() + TimeDelta::minutes(11);
        let asked = self.desk.asked_of(first.by, placed);
        let order = placed.order.order_id.clone();
        let mut again = self.desk.sending(first.by, received_at, &[order], &asked);
        self.desk.proceed(&mut again);
        let plants = vec![of_submission(Check::OverSent, placed, &again, "The order was sent twice.")];
        sendings.push(again);
        plants
    }

    /// A line was sent in another size.
    fn wrong_size(&mut self, placed: &Placed, sendings: &mut [Sending]) -> Vec<Plant> {
        let variants = &self.desk.catalogue.variants;
        let asked = self.desk.asked_of(Supplier::Alder, placed);
        let Some(sending) = sendings.iter_mut().find(|sending| sending.by == Supplier::Alder) else {
            return Vec::new();
        };
        let Some(ask) = asked.first() else { return Vec::new() };
        let other = self
            .desk
            .catalogue
            .other_sizes(ask.variant)
            .find(|other| asked.iter().all(|ask| ask.variant != *other));
        let Some(other) = other else { return Vec::new() };
        let line = &mut sending.lines[0];
        line.variant_id = Some(variants[other].variant_id.clone());
        line.sku.clone_from(&variants[other].sku);
        let line_id = line_id(ask.line);
        vec![Plant {
            check: Check::WrongVariant,
            subject: Subject::OrderLine(placed.order.order_id.clone(), line_id.clone()),
            lines: vec![PlantedLine { line_id, units: u64::from(ask.quantity), reason: None }],
            submission_lines: Vec::new(),
            time_left: None,
            story: "The line was sent in another size.".to_owned(),
        }]
    }

    /// brook-print got a number that no order has.
    fn mistyped(&mut self, placed: &Placed, sendings: &mut [Sending]) -> Vec<Plant> {
        let Some(sending) = sendings.iter_mut().find(|sending| sending.by == Supplier::Brook) else {
            return Vec::new();
        };
        let Some(reference) = &mut sending.submission.order_ref else { return Vec::new() };
        reference.pop();
        sending.orders.clear();
        let mut stray = of_submission(
            Check::StraySubmission,
            placed,
            sending,
            "The last digit of the order's number was lost.",
        );
        let sent = &sending.submission;
        stray.subject = Subject::Submission(sent.supplier.clone(), sent.submission_id.clone());
        let lines = self.lines_of(Supplier::Brook, placed);
        vec![gap(placed, sendings, &lines, Reason::NotSent), stray]
    }

    /// The numbers of the lines of which a supplier makes something. In everyday goods it makes all of it.
    fn lines_of(&self, supplier: Supplier, placed: &Placed) -> Vec<usize> {
        let mut lines: Vec<usize> =
            self.desk.asked_of(supplier, placed).into_iter().map(|asked| asked.line).collect();
        lines.dedup();
        lines
    }
}

/// Nobody makes these lines; the order is part-sent where somebody makes others.
fn gap(placed: &Placed, sendings: &[Sending], lines: &[usize], reason: Reason) -> Plant {
    let something = sendings.iter().any(|sending| sending.orders.contains(&placed.order.order_id));
    Plant {
        check: if something { Check::PartSent } else { Check::UnsentOrder },
        subject: Subject::Order(placed.order.order_id.clone()),
        lines: lines
            .iter()
            .map(|line| PlantedLine {
                line_id: line_id(*line),
                units: u64::from(placed.lines[line - 1].quantity_owed()),
                reason: Some(reason),
            })
            .collect(),
        submission_lines: Vec::new(),
        time_left: None,
        story: "Nobody makes some of it.".to_owned(),
    }
}

/// The order was cancelled and no supplier was told.
fn cancelled(placed: &mut Placed, sendings: &[Sending]) -> Vec<Plant> {
    placed.order.status = OrderStatus::Cancelled;
    let story = "The order was cancelled, and the supplier was not told.";
    sendings.iter().map(|sending| of_submission(Check::SentAfterCancel, placed, sending, story)).collect()
}

/// All of a submission is wrong.
fn of_submission(check: Check, placed: &Placed, sending: &Sending, story: &str) -> Plant {
    let sent = &sending.submission;
    Plant {
        check,
        subject: Subject::SubmissionForOrder(
            sent.supplier.clone(),
            sent.submission_id.clone(),
            placed.order.order_id.clone(),
        ),
        lines: Vec::new(),
        submission_lines: sending
            .lines
            .iter()
            .map(|line| PlantedSubmissionLine {
                line_id: line.line_id.clone(),
                units: u64::from(line.quantity),
            })
            .collect(),
        time_left: None,
        story: story.to_owned(),
    }
}
