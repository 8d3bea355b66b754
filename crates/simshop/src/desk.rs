//! How the shop and its suppliers work when nothing goes wrong: an order is placed, paid, submitted, made,
//! dispatched and marked as dispatched.
//!
//! Must not know faults: what goes wrong is done to a day's rows by whoever uses this. Start reading at
//! [`Desk::ordinary`].

use chrono::{DateTime, Days, TimeDelta, Timelike, Utc};
use chrono_tz::Tz;
use model::book::{
    Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission, SubmissionLine, SubmissionStatus, Tie,
};
use model::when::local_moment;
use model::{Book, Check, LineId, OrderId, ParcelId, SubmissionId, When};

use crate::catalogue::{Catalogue, Good, LinkState, Supplier, euro};
use crate::plant::{Plant, Subject, TimeLeft};
use crate::random::Random;

/// Where the shop is, never at UTC. Days without a time are days there.
pub(crate) const ZONE: Tz = Tz::Europe__Oslo;

/// Where alder-print is, an hour behind.
const ALDER_ZONE: Tz = Tz::Europe__Dublin;

/// An order with its lines, and the goods that these are.
#[derive(Clone, Debug)]
pub(crate) struct Placed {
    pub(crate) order: Order,
    pub(crate) lines: Vec<OrderLine>,
    /// For each line, an index into the catalogue's goods.
    pub(crate) goods: Vec<usize>,
}

impl Placed {
    /// Graces run from here.
    pub(crate) fn waiting_since(&self) -> DateTime<Utc> {
        self.order.paid_at.unwrap_or(self.order.placed_at).begins()
    }

    /// The line of that number, counted from one.
    pub(crate) fn line(&mut self, number: usize) -> &mut OrderLine {
        &mut self.lines[number - 1]
    }
}

/// A submission with its lines and parcels, and the orders that it is for.
#[derive(Clone, Debug)]
pub(crate) struct Sending {
    pub(crate) by: Supplier,
    pub(crate) submission: Submission,
    pub(crate) lines: Vec<SubmissionLine>,
    pub(crate) orders: Vec<OrderId>,
    pub(crate) parcels: Vec<(Parcel, Vec<ParcelLine>)>,
}

impl Sending {
    /// Sets how far it is, and since when; no parcels.
    pub(crate) fn is(&mut self, status: SubmissionStatus, since: DateTime<Utc>) {
        self.submission.status = status;
        self.submission.updated_at = Some(When::at(since));
        self.parcels.clear();
    }

    /// When all of it had left, where it has.
    fn dispatched_at(&self) -> Option<DateTime<Utc>> {
        (self.submission.status == SubmissionStatus::Dispatched)
            .then(|| self.submission.updated_at.map(When::begins))
            .flatten()
    }

    /// After this it can no longer be changed. The configuration of the books says the same.
    pub(crate) fn cut_off(&self) -> DateTime<Utc> {
        let received_at = self.submission.received_at.begins();
        match self.by {
            Supplier::Alder => next_at_hour(received_at, 16, ALDER_ZONE),
            Supplier::Brook => received_at + TimeDelta::hours(24),
            Supplier::Cairn => next_at_hour(received_at, 12, ZONE),
        }
    }

    fn has_passed_cut_off(&self, as_of: DateTime<Utc>) -> bool {
        self.submission.status.has_begun() || self.cut_off() <= as_of
    }
}

/// The first time at which a clock shows that full hour, from a moment on. All days are working days.
fn next_at_hour(from: DateTime<Utc>, hour: u32, zone: Tz) -> DateTime<Utc> {
    let local = from.with_timezone(&zone);
    let today = local.date_naive();
    let day = if local.hour() < hour { today } else { today + Days::new(1) };
    day.and_hms_opt(hour, 0, 0).and_then(|time| local_moment(time, zone)).unwrap_or(from)
}

/// Fills in until when each finding about order lines can be put right.
///
/// The lines that a finding names decide: it is the earliest cut-off still ahead of the order's live submissions
/// at their suppliers, at all suppliers where one of the lines has no link.
pub(crate) fn fill_time_left(
    plants: &mut [Plant],
    placed: &[Placed],
    sendings: &[Sending],
    catalogue: &Catalogue,
    as_of: DateTime<Utc>,
) {
    for plant in plants {
        let (Subject::Order(order) | Subject::OrderLine(order, _)) = &plant.subject else { continue };
        if plant.check == Check::DispatchUnmarked {
            continue;
        }
        let Some(placed) = placed.iter().find(|placed| placed.order.order_id == *order) else { continue };
        let named: Vec<&Good> = placed
            .lines
            .iter()
            .zip(&placed.goods)
            .filter(|(line, _)| plant.lines.iter().any(|named| named.line_id == line.line_id))
            .map(|(_, good)| &catalogue.goods[*good])
            .collect();
        let all = named.iter().any(|good| good.link != LinkState::Linked);
        let asked =
            |supplier| all || named.iter().flat_map(|good| &good.pieces).any(|p| p.supplier == supplier);
        let of_order = sendings.iter().filter(|sending| {
            sending.orders.contains(order)
                && asked(sending.by)
                && sending.submission.status.is_live()
                && sending.submission.received_at.begins() <= as_of
        });
        plant.time_left = Some(time_left(of_order, as_of));
    }
}

/// The earliest cut-off of some submissions that is still ahead.
pub(crate) fn time_left<'a>(sendings: impl Iterator<Item = &'a Sending>, as_of: DateTime<Utc>) -> TimeLeft {
    let mut left = TimeLeft::NoSubmission;
    for sending in sendings {
        let cut_off = sending.cut_off();
        left = match left {
            TimeLeft::Until(earliest) if sending.has_passed_cut_off(as_of) => TimeLeft::Until(earliest),
            TimeLeft::Until(earliest) => TimeLeft::Until(earliest.min(cut_off)),
            _ if sending.has_passed_cut_off(as_of) => TimeLeft::Passed,
            _ => TimeLeft::Until(cut_off),
        };
    }
    left
}

/// What a submission line is asked to make, and for which order line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asked {
    /// The order line's number, counted from one.
    pub(crate) line: usize,
    /// An index into the catalogue's variants.
    pub(crate) variant: usize,
    pub(crate) quantity: u32,
}

/// The shop at work: gives out numbers and draws what chance decides.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    pub(crate) catalogue: &'static Catalogue,
    pub(crate) random: Random,
    pub(crate) as_of: DateTime<Utc>,
    next_number: u32,
}

impl Desk {
    pub(crate) fn new(seed: u64, as_of: DateTime<Utc>) -> Self {
        Self { catalogue: Catalogue::of_the_shop(), random: Random::new(seed), as_of, next_number: 1 }
    }

    fn good(&self, index: usize) -> &'static Good {
        &self.catalogue.goods[index]
    }

    /// An order as it comes in, paid at once, with a promise for the end of the fourth day after.
    pub(crate) fn place(&mut self, id: OrderId, at: DateTime<Utc>, wanted: &[(usize, u32)]) -> Placed {
        let countries = ["IE", "GB", "DE", "FR", "NL", "IS", "PT"];
        let country = countries[self.random.weighted(&[8, 6, 3, 2, 2, 1, 1])];
        let paid_at = at + TimeDelta::seconds(self.random.between(5, 90) as i64);
        let promised = at.with_timezone(&ZONE).date_naive() + Days::new(4);
        let order = Order {
            order_id: id.clone(),
            placed_at: When::at(at),
            paid_at: Some(When::at(paid_at)),
            status: OrderStatus::Open,
            currency: euro(),
            promised_by: When::day(promised, ZONE),
            ship_to_country: Some(country.to_owned()),
            ship_to_digest: Some(format!("{:016x}", self.random.next())),
            updated_at: Some(When::at(paid_at)),
        };
        let lines = wanted.iter().enumerate().map(|(index, (good, quantity))| {
            let good = self.good(*good);
            OrderLine {
                order_id: id.clone(),
                line_id: line_id(index + 1),
                listing_id: Some(good.listing_id.clone()),
                sku: good.sku.clone(),
                title: Some(good.title.to_owned()),
                options: Some(good.options.clone()),
                quantity: *quantity,
                cancelled_quantity: 0,
                unit_price: Some(good.price),
                updated_at: None,
            }
        });
        Placed { order, lines: lines.collect(), goods: wanted.iter().map(|(good, _)| *good).collect() }
    }

    /// What a supplier is asked for an order: the units that its linked lines still owe.
    pub(crate) fn asked_of(&self, supplier: Supplier, placed: &Placed) -> Vec<Asked> {
        let mut asked = Vec::new();
        for (index, (line, good)) in placed.lines.iter().zip(&placed.goods).enumerate() {
            let good = self.good(*good);
            if good.link != LinkState::Linked || line.quantity_owed() == 0 {
                continue;
            }
            for piece in good.pieces.iter().filter(|piece| piece.supplier == supplier) {
                let quantity = line.quantity_owed() * piece.units;
                asked.push(Asked { line: index + 1, variant: piece.variant, quantity });
            }
        }
        asked
    }

    /// A submission as its supplier writes it, received and not begun.
    ///
    /// alder-print names order and line, brook-print adds up what is the same and names no line, cairn-print
    /// names the order on each line.
    pub(crate) fn sending(
        &mut self,
        supplier: Supplier,
        received_at: DateTime<Utc>,
        orders: &[OrderId],
        asked: &[Asked],
    ) -> Sending {
        let submission_id = self.number(supplier, received_at);
        let mut lines: Vec<SubmissionLine> = Vec::new();
        for ask in asked {
            let variant = &self.catalogue.variants[ask.variant];
            if supplier == Supplier::Brook
                && let Some(same) = lines.iter_mut().find(|line| line.sku == variant.sku)
            {
                same.quantity += ask.quantity;
                continue;
            }
            let of_cairn = supplier == Supplier::Cairn;
            lines.push(SubmissionLine {
                supplier: supplier.id(),
                submission_id: submission_id.clone(),
                line_id: line_id(lines.len() + 1),
                order_ref: orders.first().filter(|_| of_cairn).map(|order| format!("{order}@kittiwake")),
                order_line_ref: (supplier != Supplier::Brook).then(|| line_id(ask.line)),
                variant_id: (supplier != Supplier::Brook).then(|| variant.variant_id.clone()),
                sku: variant.sku.clone(),
                quantity: ask.quantity,
                status: None,
                unit_cost: variant.unit_cost,
                updated_at: None,
            });
        }
        let order_ref = match supplier {
            Supplier::Alder => orders.first().map(OrderId::to_string),
            Supplier::Brook => {
                let orders: Vec<String> = orders.iter().map(|order| format!("BP/{order}")).collect();
                Some(orders.join("; ")).filter(|list| !list.is_empty())
            }
            Supplier::Cairn => None,
        };
        Sending {
            by: supplier,
            submission: Submission {
                supplier: supplier.id(),
                submission_id,
                order_ref,
                status: SubmissionStatus::Received,
                received_at: When::at(received_at),
                replaces: None,
                updated_at: Some(When::at(received_at)),
            },
            lines,
            orders: orders.to_vec(),
            parcels: Vec::new(),
        }
    }

    /// Submission ids: in the supplier's style, with the day, in the order in which they are given out.
    fn number(&mut self, supplier: Supplier, received_at: DateTime<Utc>) -> SubmissionId {
        let number = self.next_number;
        self.next_number += 1;
        let day = received_at.format("%m%d");
        SubmissionId::new(match supplier {
            Supplier::Alder => format!("A{day}-{number:07}"),
            Supplier::Brook => format!("bp.{day}.{number:07}"),
            Supplier::Cairn => format!("CAIRN/{day}/{number:07}"),
        })
    }

    /// What all suppliers are asked for an order, each soon after the payment.
    pub(crate) fn serve(&mut self, placed: &Placed) -> Vec<Sending> {
        let mut sendings = Vec::new();
        for supplier in Supplier::ALL {
            sendings.extend(self.send(supplier, placed));
        }
        sendings
    }

    /// What one supplier is asked for an order; nothing where there is nothing to ask, or not yet at as-of.
    pub(crate) fn send(&mut self, supplier: Supplier, placed: &Placed) -> Option<Sending> {
        let asked = self.asked_of(supplier, placed);
        let minutes = match supplier {
            Supplier::Alder | Supplier::Brook => self.random.between(4, 40),
            Supplier::Cairn => self.random.between(10, 150),
        };
        let received_at = placed.waiting_since() + TimeDelta::minutes(minutes as i64);
        if asked.is_empty() || received_at > self.as_of {
            return None;
        }
        let mut sending =
            self.sending(supplier, received_at, std::slice::from_ref(&placed.order.order_id), &asked);
        self.proceed(&mut sending);
        Some(sending)
    }

    /// Brings a submission to where it is at as-of. Everything has left 16 to 44 hours after receipt.
    pub(crate) fn proceed(&mut self, sending: &mut Sending) {
        let received_at = sending.submission.received_at.begins();
        let minutes = |random: &mut Random, low: u64, high: u64| {
            TimeDelta::minutes(random.between(low * 60, high * 60) as i64)
        };
        let begins_at = match sending.by {
            Supplier::Alder | Supplier::Brook => sending.cut_off() + minutes(&mut self.random, 1, 3),
            Supplier::Cairn => received_at + minutes(&mut self.random, 1, 8),
        };
        let dispatched_at = (begins_at + minutes(&mut self.random, 2, 14))
            .max(received_at + minutes(&mut self.random, 16, 40));
        if dispatched_at <= self.as_of {
            self.dispatch(sending, dispatched_at);
        } else if begins_at <= self.as_of {
            sending.is(SubmissionStatus::Making, begins_at);
        }
    }

    /// The whole submission leaves. cairn-print tells of no parcels.
    pub(crate) fn dispatch(&mut self, sending: &mut Sending, at: DateTime<Utc>) {
        sending.is(SubmissionStatus::Dispatched, at);
        let all: Vec<u32> = sending.lines.iter().map(|line| line.quantity).collect();
        self.parcel(sending, at, &all);
    }

    /// A parcel with so many of each line of a submission.
    pub(crate) fn parcel(&mut self, sending: &mut Sending, at: DateTime<Utc>, quantities: &[u32]) {
        if sending.by == Supplier::Cairn {
            return;
        }
        let submission_id = &sending.submission.submission_id;
        let parcel_id = ParcelId::new(format!("{submission_id}/p{}", sending.parcels.len() + 1));
        let lines = sending.lines.iter().zip(quantities).filter(|(_, quantity)| **quantity > 0);
        let lines = lines.map(|(line, quantity)| ParcelLine {
            supplier: sending.by.id(),
            parcel_id: parcel_id.clone(),
            submission_line_id: line.line_id.clone(),
            quantity: *quantity,
        });
        let lines = lines.collect();
        let parcel = Parcel {
            supplier: sending.by.id(),
            parcel_id,
            submission_id: submission_id.clone(),
            dispatched_at: When::at(at),
            carrier: Some("Shearwater Parcels".to_owned()),
            tracking_number: Some(format!("SW{:010}", self.random.between(0, 9_999_999_999))),
        };
        sending.parcels.push((parcel, lines));
    }

    /// Marks an order as dispatched two hours after the last of it has left; own stock leaves within 20 hours.
    pub(crate) fn mark(&self, placed: &mut Placed, sendings: &[Sending]) {
        if placed.order.status != OrderStatus::Open {
            return;
        }
        let mut last = Some(placed.waiting_since() + TimeDelta::hours(18));
        let owes = Supplier::ALL.into_iter().filter(|supplier| !self.asked_of(*supplier, placed).is_empty());
        for supplier in owes {
            let of_order: Vec<&Sending> = sendings
                .iter()
                .filter(|sending| sending.by == supplier && sending.orders.contains(&placed.order.order_id))
                .filter(|sending| sending.submission.status.is_live())
                .collect();
            for sending in &of_order {
                last = last.zip(sending.dispatched_at()).map(|(a, b)| a.max(b));
            }
            if of_order.is_empty() {
                last = None;
            }
        }
        if let Some(marked) =
            last.map(|last| last + TimeDelta::hours(2)).filter(|marked| *marked <= self.as_of)
        {
            placed.order.status = OrderStatus::Dispatched;
            placed.order.updated_at = Some(When::at(marked));
        }
    }

    /// An order like most, and what became of it: nothing is wrong with it.
    ///
    /// Some are not paid, or cancelled before or after they were submitted; of some, units are cancelled before.
    pub(crate) fn ordinary(&mut self, id: OrderId, at: DateTime<Utc>) -> (Placed, Vec<Sending>) {
        let wanted = self.basket();
        let mut placed = self.place(id, at, &wanted);
        match self.random.weighted(&[92, 2, 2, 2, 2]) {
            1 => {
                placed.order.status = OrderStatus::Unpaid;
                placed.order.paid_at = None;
                return (placed, Vec::new());
            }
            2 => {
                placed.order.status = OrderStatus::Cancelled;
                let mut sendings = self.serve(&placed);
                for sending in &mut sendings {
                    let since = sending.submission.received_at.begins() + TimeDelta::minutes(3);
                    sending.is(SubmissionStatus::Cancelled, since.min(self.as_of));
                }
                return (placed, sendings);
            }
            3 => placed.order.paid_at = None,
            4 => {
                let line = placed.line(1);
                line.quantity += 1;
                line.cancelled_quantity = 1;
            }
            _ => {}
        }
        let sendings = self.serve(&placed);
        self.mark(&mut placed, &sendings);
        (placed, sendings)
    }

    /// One to four different goods, mostly one of each.
    pub(crate) fn basket(&mut self) -> Vec<(usize, u32)> {
        let mut basket: Vec<(usize, u32)> = Vec::new();
        let lines = self.random.weighted(&[45, 30, 15, 10]) + 1;
        while basket.len() < lines {
            let good = self.catalogue.everyday[self.random.index(self.catalogue.everyday.len())];
            if basket.iter().all(|(there, _)| *there != good) {
                basket.push((good, self.random.weighted(&[80, 15, 5]) as u32 + 1));
            }
        }
        basket
    }
}

/// The id of the line of that number, counted from one.
pub(crate) fn line_id(number: usize) -> LineId {
    LineId::new(number.to_string())
}

/// Adds the rows of orders and what became of them.
pub(crate) fn record(book: &mut Book, placed: Vec<Placed>, sendings: Vec<Sending>, ties: Vec<Tie>) {
    for placed in placed {
        book.orders.push(placed.order);
        book.order_lines.extend(placed.lines);
    }
    let submissions = book.submissions.get_or_insert_default();
    let submission_lines = book.submission_lines.get_or_insert_default();
    let parcels = book.parcels.get_or_insert_default();
    let parcel_lines = book.parcel_lines.get_or_insert_default();
    for sending in sendings {
        submissions.push(sending.submission);
        submission_lines.extend(sending.lines);
        for (parcel, lines) in sending.parcels {
            parcels.push(parcel);
            parcel_lines.extend(lines);
        }
    }
    book.ties.get_or_insert_default().extend(ties);
}
