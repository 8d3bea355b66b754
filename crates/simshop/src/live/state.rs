//! The shop and its suppliers at one virtual moment, and what can happen to them.
//!
//! Rows are kept as the exchange tables have them, so that what is known and what is answered are the same. Must
//! not know servers. Start reading at [`Event`], then [`State::apply`] and [`State::book`].

use std::collections::BTreeMap;

use chrono::{DateTime, SubsecRound, Utc};
use model::book::{Offer, Order, OrderLine, OrderStatus, Parcel, ParcelLine, SubmissionStatus, Variant};
use model::finding::Reason;
use model::{Book, OrderId, Sku, SubmissionId, When};

use super::people::Person;
use super::{PartSent, Unsent};
use crate::catalogue::Supplier;
use crate::desk::{Sending, time_left};
use crate::files::in_key_order;
use crate::plant::PlantedLine;

/// An order as the storefront has it.
#[derive(Clone, Debug)]
pub(super) struct Sale {
    pub(super) order: Order,
    pub(super) lines: Vec<OrderLine>,
    /// For each line, what the customer typed: the option's name and the text.
    pub(super) typed: Vec<Option<(&'static str, &'static str)>>,
    pub(super) person: Person,
    pub(super) note: Option<&'static str>,
}

/// A submission as its supplier has it.
#[derive(Clone, Debug)]
pub(super) struct Job {
    pub(super) sending: Sending,
    pub(super) person: Person,
}

/// A submission's supplier and id.
pub(super) type JobKey = (Supplier, SubmissionId);

impl Job {
    pub(super) fn key(&self) -> JobKey {
        (self.sending.by, self.sending.submission.submission_id.clone())
    }

    /// The last change.
    pub(super) fn changed(&self) -> DateTime<Utc> {
        let submission = &self.sending.submission;
        submission.updated_at.unwrap_or(submission.received_at).begins()
    }
}

impl Sale {
    /// The last change.
    pub(super) fn changed(&self) -> DateTime<Utc> {
        self.order.updated_at.unwrap_or(self.order.placed_at).begins()
    }

    fn is_live(&self) -> bool {
        matches!(self.order.status, OrderStatus::Open | OrderStatus::Dispatched)
    }
}

/// What can happen.
#[derive(Clone, Debug)]
pub(super) enum Event {
    /// An order comes in, not paid yet.
    Placed(Box<Sale>),
    Paid(OrderId),
    CalledOff(OrderId),
    /// So many units of the line of that index are called off.
    UnitsCalledOff(OrderId, usize, u32),
    /// The customer corrects the address.
    Moved(OrderId, Box<Person>),
    /// The storefront says that it is dispatched.
    Marked(OrderId),
    /// The owner types the SKU of the offer of that index.
    SkuTyped(usize, Option<Sku>),
    /// An offer cannot be bought any more.
    Withdrawn(usize),
    /// An offer is taken off its listing.
    Removed(usize),
    /// The variant of that index cannot be had any more.
    SoldOut(usize),
    /// A supplier gets a submission.
    Received(Box<Job>),
    Becomes(JobKey, SubmissionStatus),
    /// A parcel leaves; the submission stays as it is.
    Left(JobKey, Box<(Parcel, Vec<ParcelLine>)>),
}

/// Everything at one virtual moment.
#[derive(Clone, Debug)]
pub(super) struct State {
    pub(super) sales: BTreeMap<OrderId, Sale>,
    pub(super) jobs: BTreeMap<JobKey, Job>,
    /// In the order of the catalogue; `None` is an offer that was removed.
    pub(super) offers: Vec<Option<Offer>>,
    /// Of both suppliers, in the order of the catalogue.
    pub(super) variants: Vec<Variant>,
}

/// How a clock that knows whole seconds tells a moment.
pub(super) fn whole_second(moment: DateTime<Utc>) -> DateTime<Utc> {
    moment.trunc_subsecs(0)
}

/// How a supplier's clock tells a moment: alder-print's knows whole seconds, brook-print's milliseconds.
pub(super) fn told_by(supplier: Supplier, moment: DateTime<Utc>) -> DateTime<Utc> {
    if supplier == Supplier::Brook { moment.trunc_subsecs(3) } else { whole_second(moment) }
}

impl State {
    /// Lets something happen. What it is about is there: the story made it before.
    pub(super) fn apply(&mut self, at: DateTime<Utc>, event: Event) {
        match event {
            Event::Placed(sale) => {
                self.sales.insert(sale.order.order_id.clone(), *sale);
            }
            Event::Paid(order) => {
                self.change_order(&order, at, |sale, now| {
                    sale.order.status = OrderStatus::Open;
                    sale.order.paid_at = Some(now);
                });
            }
            Event::CalledOff(order) => {
                self.change_order(&order, at, |sale, _| sale.order.status = OrderStatus::Cancelled);
            }
            Event::UnitsCalledOff(order, line, units) => self.change_order(&order, at, |sale, now| {
                if let Some(line) = sale.lines.get_mut(line) {
                    line.cancelled_quantity += units;
                    line.updated_at = Some(now);
                }
            }),
            Event::Moved(order, person) => self.change_order(&order, at, |sale, _| sale.person = *person),
            Event::Marked(order) => {
                self.change_order(&order, at, |sale, _| sale.order.status = OrderStatus::Dispatched);
            }
            Event::SkuTyped(offer, sku) => {
                if let Some(offer) = &mut self.offers[offer] {
                    offer.sku = sku;
                }
            }
            Event::Withdrawn(offer) => {
                if let Some(offer) = &mut self.offers[offer] {
                    offer.buyable = false;
                }
            }
            Event::Removed(offer) => self.offers[offer] = None,
            Event::SoldOut(variant) => self.variants[variant].available = false,
            Event::Received(job) => {
                self.jobs.insert(job.key(), *job);
            }
            Event::Becomes(job, status) => {
                self.change_job(&job, at, |sending| sending.submission.status = status);
            }
            // alder-print keeps parcels apart from submissions, brook-print within them.
            Event::Left(job, parcel) if job.0 == Supplier::Brook => {
                self.change_job(&job, at, |sending| sending.parcels.push(*parcel));
            }
            Event::Left(job, parcel) => {
                if let Some(job) = self.jobs.get_mut(&job) {
                    job.sending.parcels.push(*parcel);
                }
            }
        }
    }

    fn change_order(&mut self, order: &OrderId, at: DateTime<Utc>, change: impl FnOnce(&mut Sale, When)) {
        let now = When::at(whole_second(at));
        if let Some(sale) = self.sales.get_mut(order) {
            sale.order.updated_at = Some(now);
            change(sale, now);
        }
    }

    fn change_job(&mut self, job: &JobKey, at: DateTime<Utc>, change: impl FnOnce(&mut Sending)) {
        let now = When::at(told_by(job.0, at));
        if let Some(job) = self.jobs.get_mut(job) {
            job.sending.submission.updated_at = Some(now);
            change(&mut job.sending);
        }
    }

    /// An order is saved once more, as it is.
    pub(super) fn touch_order(&mut self, order: &OrderId, at: DateTime<Utc>) {
        self.change_order(order, at, |_, _| {});
    }

    /// A submission is saved once more, as it is.
    pub(super) fn touch_job(&mut self, job: &JobKey, at: DateTime<Utc>) {
        self.change_job(job, at, |_| {});
    }

    /// All that the three servers can tell, as exchange tables.
    pub(super) fn book(&self) -> Book {
        let sendings = || self.jobs.values().map(|job| &job.sending);
        let parcels = || sendings().flat_map(|sending| &sending.parcels);
        in_key_order(Book {
            orders: self.sales.values().map(|sale| sale.order.clone()).collect(),
            order_lines: self.sales.values().flat_map(|sale| sale.lines.clone()).collect(),
            offers: Some(self.offers.iter().flatten().cloned().collect()),
            variants: Some(self.variants.clone()),
            submissions: Some(sendings().map(|sending| sending.submission.clone()).collect()),
            submission_lines: Some(sendings().flat_map(|sending| sending.lines.clone()).collect()),
            parcels: Some(parcels().map(|(parcel, _)| parcel.clone()).collect()),
            parcel_lines: Some(parcels().flat_map(|(_, lines)| lines.clone()).collect()),
            ..Book::default()
        })
    }

    /// Whether a SKU leads to a variant: exactly one bears it.
    pub(super) fn is_linked(&self, sku: Option<&Sku>) -> bool {
        variant_of(&self.variants, sku).is_some()
    }

    /// The live orders with lines that nobody makes: those of which others are linked, and those without any.
    ///
    /// Suppliers take linked lines within the grace, so an order with both is part-sent from its payment on.
    pub(super) fn with_unlinked_lines(&self, now: DateTime<Utc>) -> (Vec<PartSent>, Vec<Unsent>) {
        let (mut part_sent, mut unsent) = (Vec::new(), Vec::new());
        for sale in self.sales.values().filter(|sale| sale.is_live()) {
            let owed = || sale.lines.iter().filter(|line| line.quantity_owed() > 0);
            let lines: Vec<PlantedLine> = owed()
                .filter(|line| !self.is_linked(line.sku.as_ref()))
                .map(|line| PlantedLine {
                    line_id: line.line_id.clone(),
                    units: u64::from(line.quantity_owed()),
                    reason: Some(Reason::NoLink),
                })
                .collect();
            let order_id = sale.order.order_id.clone();
            if lines.is_empty() {
                continue;
            }
            if owed().count() == lines.len() {
                unsent.push(Unsent { order_id, lines });
                continue;
            }
            let live = || {
                let jobs = self.jobs.values().map(|job| &job.sending);
                jobs.filter(|sending| {
                    sending.orders.contains(&order_id) && sending.submission.status.is_live()
                })
            };
            part_sent.push(PartSent {
                lines,
                first_cut_off: live().map(Sending::cut_off).min(),
                time_left: time_left(live(), now),
                order_id,
            });
        }
        (part_sent, unsent)
    }
}

/// The only variant that bears a SKU.
pub(super) fn variant_of(variants: &[Variant], sku: Option<&Sku>) -> Option<usize> {
    let sku = sku?;
    let mut bearers = variants.iter().enumerate().filter(|(_, variant)| variant.sku.as_ref() == Some(sku));
    match (bearers.next(), bearers.next()) {
        (Some((index, _)), None) => Some(index),
        _ => None,
    }
}
