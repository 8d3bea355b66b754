//! What happens on the sale day and until all of it has been dispatched, the same for the same seed.
//!
//! Only events are made here, each with its moment; nobody asks yet. Must not know servers. Start reading at
//! [`tell`].

use std::collections::BTreeSet;

use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};
use model::book::{
    Offer, Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission, SubmissionLine, SubmissionStatus,
    Variant,
};
use model::when::local_moment;
use model::{Check, Currency, Options, OrderId, ParcelId, Sku, SubmissionId, When};
use rust_decimal::Decimal;

use super::Mistake;
use super::people::{self, Person};
use super::state::{Event, Job, Sale, State, told_by, variant_of, whole_second};
use crate::catalogue::{Catalogue, Supplier};
use crate::desk::{Sending, ZONE, line_id};
use crate::plant::Subject;
use crate::random::Random;

/// The listings that the till sells: all that is in them leads to its variant by SKU, or to nothing.
const LISTINGS: [&str; 4] = ["KL-01", "KL-02", "KL-03", "KL-04"];

/// How many orders come in which hour of the day, in proportion.
const HOURS: [u64; 24] = [1, 1, 0, 0, 0, 1, 2, 3, 5, 6, 7, 7, 8, 7, 6, 6, 7, 9, 13, 19, 24, 22, 14, 6];

/// One order in so many has a line that nobody makes, beside others.
const ORDERS_FOR_A_PART_SENT: usize = 29;

/// One line in so many of any order leads to nothing.
const LINES_FOR_AN_UNLINKED: u64 = 60;

/// Orders that are placed within one and the same second.
const ORDERS_OF_ONE_SECOND: i64 = 5;

/// The number of the first order.
const FIRST_ORDER: usize = 40_101;

/// All that happens, and what is wrong with it.
#[derive(Debug)]
pub(super) struct Story {
    /// The shop before anything has happened.
    pub(super) opening: State,
    /// In the order of their moments.
    pub(super) events: Vec<(DateTime<Utc>, Event)>,
    pub(super) mistakes: Vec<Mistake>,
    /// Names, addresses, words of customers.
    pub(super) private: BTreeSet<String>,
    /// For the till, alder-print and brook-print.
    pub(super) secrets: [String; 3],
}

/// A moment of the sale day or a later one, by the shop's clock.
pub(super) fn local(days_later: u64, hour: u32, minute: u32) -> DateTime<Utc> {
    NaiveDate::from_ymd_opt(2026, 11, 25)
        .map(|day| day + Days::new(days_later))
        .and_then(|day| day.and_hms_opt(hour, minute, 0))
        .and_then(|time| local_moment(time, ZONE))
        .expect("a time of the days of the sale")
}

/// The second of the busy hour within which several orders come in.
pub(super) fn shared_second() -> DateTime<Utc> {
    local(0, 20, 15)
}

/// What becomes of an order.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Fate {
    Plain,
    NeverPaid,
    PaidLate,
    CancelledBeforeSent,
    CancelledAfterSent,
    UnitsCancelled,
    // What goes wrong:
    SentTwice,
    WrongVariant,
    SentThoughCancelled,
    Held,
    Moved,
    /// The supplier makes it again because it came damaged: nothing is wrong with that.
    MadeAgain,
}

/// The fates that are planted, each on one order of so many hundredths of the day's.
const PLANTED: [(usize, Fate); 9] = [
    (8, Fate::SentTwice),
    (13, Fate::WrongVariant),
    (19, Fate::SentThoughCancelled),
    (24, Fate::Held),
    (31, Fate::Moved),
    (37, Fate::MadeAgain),
    (62, Fate::WrongVariant),
    (70, Fate::SentTwice),
    (78, Fate::SentThoughCancelled),
];

/// Tells the day.
pub(super) fn tell(seed: u64) -> Story {
    let mut teller = Teller::new(seed);
    let mut moments = teller.moments();
    let planted: Vec<(usize, Fate)> =
        PLANTED.iter().map(|(place, fate)| (moments.len() * place / 100, *fate)).collect();
    moments.sort();
    for (index, at) in moments.iter().enumerate() {
        let planted = planted.iter().find(|(place, _)| *place == index).map(|(_, fate)| *fate);
        teller.order(index, *at, planted);
    }
    teller.offers_change();
    teller.strays();
    teller.finish()
}

struct Teller {
    random: Random,
    catalogue: &'static Catalogue,
    opening: State,
    /// Indices of offers that lead to their variants and stay so.
    everyday: Vec<usize>,
    /// Indices of offers that can be bought and lead to nothing.
    unlinked: Vec<usize>,
    events: Vec<(DateTime<Utc>, Event)>,
    mistakes: Vec<Mistake>,
    private: BTreeSet<String>,
    next_job: u32,
}

/// What happens to a good that is mended in the evening, and when.
struct Mended {
    offer: usize,
    sku: Option<Sku>,
    at: DateTime<Utc>,
}

impl Teller {
    fn new(seed: u64) -> Self {
        let catalogue = Catalogue::of_the_shop();
        let book = catalogue.book();
        let offers: Vec<Offer> = book
            .offers
            .into_iter()
            .flatten()
            .filter(|offer| LISTINGS.contains(&offer.listing_id.as_str()))
            .collect();
        let both = [Supplier::Alder.id(), Supplier::Brook.id()];
        let variants: Vec<Variant> =
            book.variants.into_iter().flatten().filter(|variant| both.contains(&variant.supplier)).collect();
        let leads_to_its_variant = |offer: &Offer| {
            variant_of(&variants, offer.sku.as_ref()).is_some()
                && catalogue.everyday.iter().any(|good| {
                    let good = &catalogue.goods[*good];
                    good.listing_id == offer.listing_id && good.options == offer.options
                })
        };
        let (mut everyday, mut unlinked) = (Vec::new(), Vec::new());
        for (index, offer) in offers.iter().enumerate() {
            if !offer.buyable {
                continue;
            }
            if variant_of(&variants, offer.sku.as_ref()).is_none() {
                unlinked.push(index);
            } else if leads_to_its_variant(offer)
                && ![WITHDRAWN, REMOVED].iter().any(|named| is_named(offer, *named))
            {
                everyday.push(index);
            }
        }
        let opening = State {
            sales: Default::default(),
            jobs: Default::default(),
            offers: offers.into_iter().map(Some).collect(),
            variants,
        };
        Self {
            random: Random::new(seed),
            catalogue,
            opening,
            everyday,
            unlinked,
            events: Vec::new(),
            mistakes: Vec::new(),
            private: BTreeSet::new(),
            next_job: 0,
        }
    }

    /// When orders come in: some hundreds, five of them within one second.
    fn moments(&mut self) -> Vec<DateTime<Utc>> {
        let orders = self.random.between(320, 400);
        let mut moments: Vec<DateTime<Utc>> = (0..orders)
            .map(|_| {
                let hour = self.random.weighted(&HOURS) as u32;
                let within = TimeDelta::milliseconds(self.random.between(0, 3_599_999) as i64);
                local(0, hour, 0) + within
            })
            .collect();
        let shared = shared_second();
        moments.extend((0..ORDERS_OF_ONE_SECOND).map(|nth| shared + TimeDelta::milliseconds(150 * nth)));
        moments
    }

    fn happens(&mut self, at: DateTime<Utc>, event: Event) {
        self.events.push((at, event));
    }

    fn minutes(&mut self, low: u64, high: u64) -> TimeDelta {
        TimeDelta::milliseconds(self.random.between(low * 60_000, high * 60_000) as i64)
    }

    fn offer(&self, index: usize) -> &Offer {
        self.opening.offers[index].as_ref().expect("nothing is removed before the beginning")
    }

    /// The offer without a SKU that the owner mends in the evening.
    fn mended(&self) -> Mended {
        let good = &self.catalogue.goods[self.catalogue.good("KL-01", &["Tote bag", "Mustard"])];
        let offer = self
            .unlinked
            .iter()
            .copied()
            .find(|index| {
                let offer = self.offer(*index);
                offer.listing_id == good.listing_id && offer.options == good.options
            })
            .expect("it is offered");
        let sku = self.catalogue.variants[good.pieces[0].variant].sku.clone();
        Mended { offer, sku, at: local(0, 21, 40) }
    }

    // Orders.

    /// An order from when it comes in until all of it is dispatched.
    fn order(&mut self, index: usize, at: DateTime<Utc>, planted: Option<Fate>) {
        let shares_its_second = whole_second(at) == shared_second();
        let id = OrderId::new(format!("KK-{}", FIRST_ORDER + index));
        let part_sent = index % ORDERS_FOR_A_PART_SENT == 11 && planted.is_none() && !shares_its_second;
        let fate = match planted {
            Some(fate) => fate,
            None if part_sent || shares_its_second => Fate::Plain,
            None => [
                Fate::Plain,
                Fate::NeverPaid,
                Fate::PaidLate,
                Fate::CancelledBeforeSent,
                Fate::CancelledAfterSent,
                Fate::UnitsCancelled,
            ][self.random.weighted(&[84, 3, 3, 3, 3, 4])],
        };
        let mut wanted = if planted.is_some() { self.linked_basket() } else { self.basket() };
        if part_sent {
            wanted = self.part_sent_basket();
        }
        if fate == Fate::UnitsCancelled {
            wanted[0].1 += 1;
        }
        let sale = self.sale(&id, index, at, &wanted);
        let person = sale.person.clone();
        let mut lines = sale.lines.clone();
        self.happens(at, Event::Placed(Box::new(sale)));
        let paid_at = match fate {
            Fate::NeverPaid => return,
            Fate::PaidLate => at + self.minutes(60, 300),
            _ if shares_its_second => at + TimeDelta::seconds(30),
            _ => at + TimeDelta::milliseconds(self.random.between(5_000, 90_000) as i64),
        };
        self.happens(paid_at, Event::Paid(id.clone()));
        let soon = paid_at + TimeDelta::seconds(self.random.between(20, 170) as i64);
        match fate {
            Fate::CancelledBeforeSent => return self.happens(soon, Event::CalledOff(id)),
            Fate::SentThoughCancelled => self.happens(soon, Event::CalledOff(id.clone())),
            Fate::UnitsCancelled => {
                lines[0].cancelled_quantity = 1;
                self.happens(soon, Event::UnitsCalledOff(id.clone(), 0, 1));
            }
            _ => {}
        }
        let jobs = self.take(&id, &lines, &person, paid_at, fate);
        self.proceed(&id, jobs, &person, fate);
    }

    /// One to four different offers, mostly one of each, rarely one that leads to nothing.
    fn basket(&mut self) -> Vec<(usize, u32)> {
        let mut basket: Vec<(usize, u32)> = Vec::new();
        let lines = self.random.weighted(&[45, 30, 15, 10]) + 1;
        while basket.len() < lines {
            let offers = if self.random.between(1, LINES_FOR_AN_UNLINKED) == 1 {
                &self.unlinked
            } else {
                &self.everyday
            };
            let offer = offers[self.random.index(offers.len())];
            if basket.iter().all(|(there, _)| *there != offer) {
                basket.push((offer, self.random.weighted(&[80, 15, 5]) as u32 + 1));
            }
        }
        basket
    }

    /// An everyday offer that this supplier makes.
    fn made_by(&mut self, supplier: Supplier) -> usize {
        loop {
            let offer = self.everyday[self.random.index(self.everyday.len())];
            let variant = variant_of(&self.opening.variants, self.offer(offer).sku.as_ref());
            if variant.is_some_and(|variant| self.opening.variants[variant].supplier == supplier.id()) {
                return offer;
            }
        }
    }

    /// Something of each supplier, all of it linked; what alder-print makes comes in other sizes too.
    fn linked_basket(&mut self) -> Vec<(usize, u32)> {
        loop {
            let offer = self.made_by(Supplier::Alder);
            let variant = variant_of(&self.opening.variants, self.offer(offer).sku.as_ref());
            if variant.and_then(|variant| self.another_size(variant)).is_some() {
                return vec![(offer, 1), (self.made_by(Supplier::Brook), 1)];
            }
        }
    }

    /// Something that is made and something that nobody makes.
    fn part_sent_basket(&mut self) -> Vec<(usize, u32)> {
        let supplier = [Supplier::Alder, Supplier::Brook][self.random.index(2)];
        let missing: Vec<usize> =
            self.unlinked.iter().copied().filter(|offer| *offer != self.mended().offer).collect();
        let quantity = self.random.between(1, 2) as u32;
        vec![(missing[self.random.index(missing.len())], quantity), (self.made_by(supplier), 1)]
    }

    fn sale(&mut self, id: &OrderId, number: usize, at: DateTime<Utc>, wanted: &[(usize, u32)]) -> Sale {
        let person = Person::draw(&mut self.random, number);
        let now = When::at(whole_second(at));
        let promised = at.with_timezone(&ZONE).date_naive() + Days::new(4);
        let currency: Option<Currency> = if person.country == "IS" { "ISK" } else { "EUR" }.parse().ok();
        let mended = self.mended();
        let mut typed = Vec::new();
        let mut lines = Vec::new();
        for (index, (offer_index, quantity)) in wanted.iter().enumerate() {
            let offer = self.offer(*offer_index);
            let is_mended = *offer_index == mended.offer && at >= mended.at;
            // A króna is a 150th of a euro at this shop, and has no minor unit (ISO 4217).
            let unit_price = match person.country {
                "IS" => offer.price.map(|price| (price * Decimal::from(150)).round().normalize()),
                _ => offer.price,
            };
            lines.push(OrderLine {
                order_id: id.clone(),
                line_id: line_id(index + 1),
                listing_id: Some(offer.listing_id.clone()),
                sku: if is_mended { mended.sku.clone() } else { offer.sku.clone() },
                title: offer.title.clone(),
                options: Some(offer.options.clone()),
                quantity: *quantity,
                cancelled_quantity: 0,
                unit_price,
                updated_at: Some(now),
            });
            typed.push((self.random.between(1, 6) == 1).then(|| people::typed(&mut self.random)));
        }
        let note = (self.random.between(1, 9) == 1).then(|| people::note(&mut self.random));
        self.private.extend(person.texts());
        self.private.extend(note.map(str::to_owned));
        self.private.extend(typed.iter().flatten().map(|(_, text)| (*text).to_owned()));
        let order = Order {
            order_id: id.clone(),
            placed_at: now,
            paid_at: None,
            status: OrderStatus::Unpaid,
            currency,
            promised_by: promised.and_hms_opt(18, 0, 0).and_then(|t| local_moment(t, ZONE)).map(When::at),
            ship_to_country: Some(person.country.to_owned()),
            ship_to_digest: None,
            updated_at: Some(now),
        };
        Sale { order, lines, typed, person, note }
    }

    // Submissions.

    /// The suppliers take what is linked and owed, each some minutes after payment.
    fn take(
        &mut self,
        id: &OrderId,
        lines: &[OrderLine],
        person: &Person,
        paid_at: DateTime<Utc>,
        fate: Fate,
    ) -> Vec<Job> {
        let mut jobs = Vec::new();
        for supplier in [Supplier::Alder, Supplier::Brook] {
            let mut asked: Vec<(usize, usize, u32)> = Vec::new();
            for (index, line) in lines.iter().enumerate().filter(|(_, line)| line.quantity_owed() > 0) {
                let Some(variant) = variant_of(&self.opening.variants, line.sku.as_ref()) else { continue };
                if self.opening.variants[variant].supplier == supplier.id() {
                    asked.push((index + 1, variant, line.quantity_owed()));
                }
            }
            if asked.is_empty() {
                continue;
            }
            let received_at = told_by(supplier, paid_at + self.minutes(4, 40));
            if fate == Fate::WrongVariant
                && supplier == Supplier::Alder
                && let Some(other) = self.another_size(asked[0].1)
            {
                asked[0].1 = other;
            }
            let job = self.job(supplier, received_at, Some(id), &asked, person);
            self.happens(received_at, Event::Received(Box::new(job.clone())));
            jobs.push(job);
        }
        jobs
    }

    /// The same thing in another size.
    fn another_size(&self, variant: usize) -> Option<usize> {
        let id = &self.opening.variants[variant].variant_id;
        let like = self.catalogue.variants.iter().position(|other| other.variant_id == *id)?;
        let other = &self.catalogue.variants[self.catalogue.other_sizes(like).next()?].variant_id;
        self.opening.variants.iter().position(|there| there.variant_id == *other)
    }

    /// A submission as its supplier writes it down.
    ///
    /// alder-print names order, line and variant; brook-print prefixes the order, names no line, gives SKUs alone.
    fn job(
        &mut self,
        supplier: Supplier,
        at: DateTime<Utc>,
        order: Option<&OrderId>,
        asked: &[(usize, usize, u32)],
        person: &Person,
    ) -> Job {
        self.next_job += 1;
        let received_at = When::at(told_by(supplier, at));
        let of_alder = supplier == Supplier::Alder;
        let submission_id = SubmissionId::new(if of_alder {
            format!("AL-{}", 700_000 + self.next_job)
        } else {
            (5_100_000 + self.next_job).to_string()
        });
        let lines = asked.iter().enumerate().map(|(index, (line, variant, quantity))| {
            let variant = &self.opening.variants[*variant];
            SubmissionLine {
                supplier: supplier.id(),
                submission_id: submission_id.clone(),
                line_id: line_id(index + 1),
                order_ref: None,
                order_line_ref: (of_alder && order.is_some()).then(|| line_id(*line)),
                variant_id: of_alder.then(|| variant.variant_id.clone()),
                sku: variant.sku.clone(),
                quantity: *quantity,
                status: None,
                unit_cost: variant.unit_cost,
                updated_at: None,
            }
        });
        let sending = Sending {
            by: supplier,
            lines: lines.collect(),
            submission: Submission {
                supplier: supplier.id(),
                submission_id: submission_id.clone(),
                order_ref: order
                    .map(|order| if of_alder { order.to_string() } else { format!("BP/{order}") }),
                status: SubmissionStatus::Received,
                received_at,
                replaces: None,
                updated_at: Some(received_at),
            },
            orders: order.into_iter().cloned().collect(),
            parcels: Vec::new(),
        };
        Job { sending, person: person.clone() }
    }

    /// What becomes of an order's submissions, and of the order through them.
    fn proceed(&mut self, id: &OrderId, jobs: Vec<Job>, person: &Person, fate: Fate) {
        let Some(last_received) = jobs.iter().map(received_at).max() else { return };
        match fate {
            Fate::CancelledAfterSent => {
                let at = last_received + self.minutes(2, 6);
                self.happens(at, Event::CalledOff(id.clone()));
                for job in &jobs {
                    self.happens(at, Event::Becomes(job.key(), SubmissionStatus::Cancelled));
                }
                return;
            }
            Fate::SentThoughCancelled => {
                for job in &jobs {
                    let subject = of_job_for(job, id);
                    self.mistake(Check::SentAfterCancel, subject, received_at(job));
                    self.make(job);
                }
                return;
            }
            Fate::SentTwice => {
                let at = last_received + self.minutes(15, 25);
                let again = self.copy_of(&jobs[0], at, id, None);
                self.mistake(Check::OverSent, of_job_for(&again, id), received_at(&again));
                self.make(&again);
            }
            Fate::WrongVariant => {
                let subject = Subject::OrderLine(id.clone(), line_id(1));
                self.mistake(Check::WrongVariant, subject, received_at(&jobs[0]));
            }
            Fate::Held => {
                let at = received_at(&jobs[0]) + self.minutes(5, 15);
                let key = jobs[0].key();
                let subject = Subject::Submission(key.0.id(), key.1.clone());
                self.happens(at, Event::Becomes(key, SubmissionStatus::Held));
                self.mistake(Check::Held, subject, at + TimeDelta::hours(12));
                self.make(&jobs[1]);
                return;
            }
            Fate::Moved => {
                let at = last_received + self.minutes(5, 30);
                let moved = person.moved(&mut self.random);
                self.private.extend(moved.texts());
                self.happens(at, Event::Moved(id.clone(), Box::new(moved)));
                self.mistake(Check::AddressChanged, Subject::Order(id.clone()), at);
            }
            _ => {}
        }
        let mut all_left = last_received;
        for job in &jobs {
            all_left = all_left.max(self.make(job));
        }
        self.happens(all_left + TimeDelta::hours(2), Event::Marked(id.clone()));
        if fate == Fate::MadeAgain {
            let at = all_left + TimeDelta::hours(4);
            let replaces = Some(jobs[0].sending.submission.submission_id.to_string());
            let again = self.copy_of(&jobs[0], at, id, replaces);
            self.make(&again);
        }
    }

    /// The first line of a submission comes in once more, as a submission of its own.
    fn copy_of(&mut self, job: &Job, at: DateTime<Utc>, order: &OrderId, replaces: Option<String>) -> Job {
        let line = &job.sending.lines[0];
        let variant = variant_of(&self.opening.variants, line.sku.as_ref()).expect("it was asked for by SKU");
        let number = line.order_line_ref.as_ref().and_then(|line| line.as_str().parse().ok()).unwrap_or(1);
        let asked = [(number, variant, line.quantity)];
        let at = told_by(job.sending.by, at);
        let mut copy = self.job(job.sending.by, at, Some(order), &asked, &job.person);
        copy.sending.submission.replaces = replaces;
        self.happens(at, Event::Received(Box::new(copy.clone())));
        copy
    }

    /// A submission is made after its cut-off and leaves in one or two parcels, 16 to 44 hours after receipt or
    /// later. Returns when all of it has left.
    fn make(&mut self, job: &Job) -> DateTime<Utc> {
        let begins_at = job.sending.cut_off() + self.minutes(60, 180);
        let left_at =
            (begins_at + self.minutes(240, 840)).max(received_at(job) + self.minutes(16 * 60, 40 * 60));
        let key = job.key();
        self.happens(begins_at, Event::Becomes(key.clone(), SubmissionStatus::Making));
        let all: Vec<u32> = job.sending.lines.iter().map(|line| line.quantity).collect();
        let in_two = all.iter().sum::<u32>() > 1 && self.random.between(1, 4) == 1;
        let mut first: Vec<u32> = all.iter().map(|_| 0).collect();
        if in_two {
            first[0] = 1;
            self.parcel(job, 1, left_at - TimeDelta::hours(3), &first);
        }
        let rest: Vec<u32> = all.iter().zip(&first).map(|(all, first)| all - first).collect();
        self.parcel(job, if in_two { 2 } else { 1 }, left_at, &rest);
        self.happens(left_at, Event::Becomes(key, SubmissionStatus::Dispatched));
        left_at
    }

    /// A parcel leaves with so many of each line.
    fn parcel(&mut self, job: &Job, number: usize, at: DateTime<Utc>, quantities: &[u32]) {
        let Sending { by, submission, lines, .. } = &job.sending;
        let parcel_id = ParcelId::new(format!("{}-{number}", submission.submission_id));
        let in_it = lines.iter().zip(quantities).filter(|(_, quantity)| **quantity > 0);
        let in_it = in_it.map(|(line, quantity)| ParcelLine {
            supplier: by.id(),
            parcel_id: parcel_id.clone(),
            submission_line_id: line.line_id.clone(),
            quantity: *quantity,
        });
        let in_it = in_it.collect();
        let tracking_number = format!("SW{:010}", self.random.between(0, 9_999_999_999));
        let parcel = Parcel {
            supplier: by.id(),
            parcel_id,
            submission_id: submission.submission_id.clone(),
            dispatched_at: When::at(told_by(*by, at)),
            carrier: Some("Shearwater Parcels".to_owned()),
            tracking_number: Some(tracking_number),
        };
        self.happens(at, Event::Left(job.key(), Box::new((parcel, in_it))));
    }

    // What has nothing to do with an order.

    /// Two submissions that belong to nobody: one without a reference, one for an order that does not exist.
    fn strays(&mut self) {
        let unknown = OrderId::new("KK-39999");
        for (supplier, order, at) in
            [(Supplier::Alder, None, local(0, 14, 5)), (Supplier::Brook, Some(&unknown), local(0, 19, 25))]
        {
            let offer = self.made_by(supplier);
            let variant = variant_of(&self.opening.variants, self.offer(offer).sku.as_ref());
            let Some(variant) = variant else { continue };
            let person = Person::draw(&mut self.random, 0);
            self.private.extend(person.texts());
            let mut job = self.job(supplier, at, order, &[(1, variant, 1)], &person);
            job.sending.orders.clear();
            let (by, submission) = job.key();
            let subject = Subject::Submission(by.id(), submission);
            self.happens(at, Event::Received(Box::new(job.clone())));
            self.mistake(Check::StraySubmission, subject, at + TimeDelta::minutes(60));
            self.make(&job);
        }
    }

    /// One offer is mended, one cannot be bought any more, one is removed; one variant is sold out.
    fn offers_change(&mut self) {
        let mended = self.mended();
        self.happens(mended.at, Event::SkuTyped(mended.offer, mended.sku));
        let index = |named| {
            let found = self.opening.offers.iter().flatten().position(|offer| is_named(offer, named));
            found.expect("it is offered")
        };
        let (withdrawn, removed) = (index(WITHDRAWN), index(REMOVED));
        let sold_out = variant_of(&self.opening.variants, self.offer(withdrawn).sku.as_ref());
        if let Some(variant) = sold_out {
            self.happens(local(0, 17, 55), Event::SoldOut(variant));
        }
        self.happens(local(0, 18, 0), Event::Withdrawn(withdrawn));
        self.happens(local(0, 20, 0), Event::Removed(removed));
    }

    fn mistake(&mut self, check: Check, subject: Subject, since: DateTime<Utc>) {
        self.mistakes.push(Mistake { check, subject, since });
    }

    fn finish(mut self) -> Story {
        self.events.sort_by_key(|(at, _)| *at);
        self.mistakes.sort_by(|a, b| (a.since, a.check, &a.subject).cmp(&(b.since, b.check, &b.subject)));
        let mut secret =
            |before: &str| format!("{before}{:016x}{:016x}", self.random.next(), self.random.next());
        let secrets = [secret("tk_"), secret("pass-"), secret("")];
        let Self { opening, events, mistakes, private, .. } = self;
        Story { opening, events, mistakes, private, secrets }
    }
}

/// A listing and the option values of one of its offers.
type Named = (&'static str, [&'static str; 2]);

/// Taken off sale in the afternoon, when its variant is sold out.
const WITHDRAWN: Named = ("KL-02", ["S", "Plum"]);

/// Taken off its listing in the evening.
const REMOVED: Named = ("KL-03", ["Tote bag", "Cream"]);

fn is_named(offer: &Offer, (listing, values): Named) -> bool {
    let has = |value: &str| Options::iter(&offer.options).any(|(_, there)| there == value);
    offer.listing_id.as_str() == listing && values.into_iter().all(has)
}

fn received_at(job: &Job) -> DateTime<Utc> {
    job.sending.submission.received_at.begins()
}

fn of_job_for(job: &Job, order: &OrderId) -> Subject {
    let (by, submission) = job.key();
    Subject::SubmissionForOrder(by.id(), submission, order.clone())
}
