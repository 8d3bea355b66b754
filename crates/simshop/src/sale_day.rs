//! The sale: 24 to 26 November 2026 at Kittiwake Kitchen, most of it on Wednesday the 25th, and all that went
//! wrong in it.
//!
//! What a scene expects is read from the documented rules, never from the program. Start reading at [`SCENES`].

use std::collections::VecDeque;

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use model::book::{OrderStatus, SubmissionLine, SubmissionStatus, Tie};
use model::finding::Reason;
use model::when::local_moment;
use model::{Check, OrderId, Sku, When};

use crate::catalogue::Supplier::{self, Alder, Brook, Cairn};
use crate::desk::{self, Asked, Desk, Placed, Sending, ZONE, line_id};
use crate::files::in_key_order;
use crate::plant::{Decoy, Plant, Planted, PlantedLine, PlantedSubmissionLine, Subject};
use crate::random::Random;

/// Orders of the three days, those after as-of included.
const ORDERS: usize = 400;

/// How many of these were placed on Tuesday and on Wednesday; the rest on Thursday.
const ORDERS_OF_TUESDAY: usize = 75;
const ORDERS_OF_WEDNESDAY: usize = 255;

/// How many orders come in which hour of a day, in proportion.
const HOURS: [u64; 24] = [1, 1, 0, 0, 0, 1, 2, 4, 6, 8, 8, 8, 9, 8, 7, 7, 7, 8, 10, 12, 14, 12, 8, 4];

/// Forty minutes before alder-print's cut-off.
const AS_OF: &str = "26T16:20";

const SEED: u64 = 20_261_125;

/// What the shop has configured: cut-offs that every supplier has, references that are trimmed, some graces.
pub(crate) const CONFIGURATION: &str = r#"# Kittiwake Kitchen, an invented shop.

zone = "Europe/Oslo"

[graces]
parcel_gap = "36 h"

[fees]
percent = "6.5"
per_unit = [{ amount = "0.30", currency = "EUR" }]

[references]
samples = ['^SAMPLE-']

# By its own clock; it is five in the afternoon at the shop.
[suppliers.alder-print]
zone = "Europe/Dublin"
cut_off = { daily = "16:00", working_days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] }

[suppliers.brook-print]
cut_off = { after_receipt = "24 h" }
references = { prefix = "BP/" }

[suppliers.cairn-print]
cut_off = { daily = "12:00", working_days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] }
graces = { submit_grace = "3 h" }
references = { suffix = "@kittiwake" }
"#;

/// The moment for which all books of this crate are audited.
pub(crate) fn as_of() -> DateTime<Utc> {
    at(AS_OF)
}

/// The order book of the sale, the same on every machine.
pub fn sale_day() -> Planted {
    let mut desk = Desk::new(SEED, as_of());
    let mut times: Vec<(DateTime<Utc>, Option<usize>)> = SCENES
        .iter()
        .enumerate()
        .flat_map(|(scene, (times, _))| times.iter().map(move |time| (at(time), Some(scene))))
        .collect();
    for (day, orders) in [
        (24, ORDERS_OF_TUESDAY),
        (25, ORDERS_OF_WEDNESDAY),
        (26, ORDERS - ORDERS_OF_TUESDAY - ORDERS_OF_WEDNESDAY),
    ] {
        let there =
            times.iter().filter(|(time, _)| time.with_timezone(&ZONE).date_naive() == date(day)).count();
        times.extend((there..orders).map(|_| (moment_of_day(&mut desk.random, day), None)));
    }
    times.sort();

    let mut slots: Vec<VecDeque<(OrderId, DateTime<Utc>)>> = vec![VecDeque::new(); SCENES.len()];
    let mut ordinary = Vec::new();
    for (index, (time, scene)) in times.into_iter().enumerate() {
        let id = OrderId::new(format!("KK-{}", 10_201 + index));
        match scene {
            Some(scene) => slots[scene].push_back((id, time)),
            None => ordinary.push((id, time)),
        }
    }

    let mut stage = Stage::new(desk);
    for ((_, scene), slots) in SCENES.iter().zip(slots) {
        stage.slots = slots;
        scene(&mut stage);
        assert!(stage.slots.is_empty(), "a scene has as many orders as times");
    }
    for (id, time) in ordinary {
        let (placed, sendings) = stage.desk.ordinary(id, time);
        stage.placed.push(placed);
        stage.sendings.extend(sendings);
    }
    stage.finish()
}

/// A moment of a day of the sale as a scene writes it, by the shop's clock: `25T09:30`.
fn at(text: &str) -> DateTime<Utc> {
    text.split_once('T')
        .and_then(|(day, time)| {
            let time = NaiveTime::parse_from_str(time, "%H:%M").ok()?;
            local_moment(date(day.parse().ok()?).and_time(time), ZONE)
        })
        .expect("a day and a time")
}

fn date(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, day).expect("a day of November")
}

fn whole_day(day: u32) -> Option<When> {
    When::day(date(day), ZONE)
}

/// When an ordinary order of a day comes in, before as-of.
fn moment_of_day(random: &mut Random, day: u32) -> DateTime<Utc> {
    loop {
        let hour = random.weighted(&HOURS) as u32;
        let (minute, second) = (random.between(0, 59) as u32, random.between(0, 59) as u32);
        let time = date(day).and_hms_opt(hour, minute, second).and_then(|time| local_moment(time, ZONE));
        if let Some(time) = time.filter(|time| *time < as_of()) {
            return time;
        }
    }
}

/// A listing and the option values that name one of its goods.
type Choice = (&'static str, &'static [&'static str]);

const LARGE_APRON_MOSS: Choice = ("KL-01", &["Large apron", "Moss"]);
const LARGE_APRON_NAVY: Choice = ("KL-01", &["Large apron", "Navy"]);
const LARGE_APRON_MUSTARD: Choice = ("KL-01", &["Large apron", "Mustard"]);
const SMALL_APRON_NAVY: Choice = ("KL-01", &["Small apron", "Navy"]);
const SMALL_APRON_MUSTARD: Choice = ("KL-01", &["Small apron", "Mustard"]);
const LONG_S_MOSS: Choice = ("KL-01", &["S - Long sleeve", "Moss"]);
const LONG_S_NAVY: Choice = ("KL-01", &["S - Long sleeve", "Navy"]);
const LONG_S_CHARCOAL: Choice = ("KL-01", &["S - Long sleeve", "Charcoal"]);
const LONG_S_MUSTARD: Choice = ("KL-01", &["S - Long sleeve", "Mustard"]);
const LONG_M_MOSS: Choice = ("KL-01", &["M - Long sleeve", "Moss"]);
const LONG_M_NAVY: Choice = ("KL-01", &["M - Long sleeve", "Navy"]);
const LONG_M_CHARCOAL: Choice = ("KL-01", &["M - Long sleeve", "Charcoal"]);
const LONG_M_MUSTARD: Choice = ("KL-01", &["M - Long sleeve", "Mustard"]);
const LONG_L_MOSS: Choice = ("KL-01", &["L - Long sleeve", "Moss"]);
const LONG_L_NAVY: Choice = ("KL-01", &["L - Long sleeve", "Navy"]);
const LONG_2XL_MUSTARD: Choice = ("KL-01", &["2XL - Long sleeve", "Mustard"]);
/// Without a link: the new colour.
const TOTE_MUSTARD: Choice = ("KL-01", &["Tote bag", "Mustard"]);
const TOTE_NAVY: Choice = ("KL-01", &["Tote bag", "Navy"]);
const PUFFIN_S_WHITE: Choice = ("KL-02", &["S", "White"]);
const PUFFIN_S_NAVY: Choice = ("KL-02", &["S", "Navy"]);
const PUFFIN_S_MOSS: Choice = ("KL-02", &["S", "Moss"]);
const PUFFIN_M_WHITE: Choice = ("KL-02", &["M", "White"]);
const PUFFIN_M_NAVY: Choice = ("KL-02", &["M", "Navy"]);
const PUFFIN_M_MOSS: Choice = ("KL-02", &["M", "Moss"]);
const PUFFIN_L_WHITE: Choice = ("KL-02", &["L", "White"]);
const PUFFIN_L_NAVY: Choice = ("KL-02", &["L", "Navy"]);
const PUFFIN_L_MOSS: Choice = ("KL-02", &["L", "Moss"]);
const PUFFIN_XL_NAVY: Choice = ("KL-02", &["XL", "Navy"]);
const PUFFIN_XL_MOSS: Choice = ("KL-02", &["XL", "Moss"]);
/// Its link leads to L.
const PUFFIN_M_PLUM: Choice = ("KL-02", &["M", "Plum"]);
/// Without a link: its SKU is mistyped.
const PUFFIN_2XL_PLUM: Choice = ("KL-02", &["2XL", "Plum"]);
const TOWEL_CREAM: Choice = ("KL-03", &["Tea towel", "Cream"]);
const TOWEL_MOSS: Choice = ("KL-03", &["Tea towel", "Moss"]);
const SHELF_APRON_MOSS: Choice = ("KL-03", &["Large apron", "Moss"]);
/// Its link is broken.
const SHELF_APRON_CREAM: Choice = ("KL-03", &["Large apron", "Cream"]);
const LOW_MUG_WHITE: Choice = ("KL-04", &["Low mug 11 oz", "White"]);
const LOW_MUG_NAVY: Choice = ("KL-04", &["Low mug 11 oz", "Navy"]);
const TALL_MUG_WHITE: Choice = ("KL-04", &["Tall mug 15 oz", "White"]);
/// Not to be had at the moment.
const TALL_MUG_NAVY: Choice = ("KL-04", &["Tall mug 15 oz", "Navy"]);
const GANNET_A4: Choice = ("KL-05", &["A4"]);
const GANNET_A3: Choice = ("KL-05", &["A3"]);
const GANNET_A2: Choice = ("KL-05", &["A2"]);
/// Two low mugs and a tea towel.
const SET_FOR_TWO: Choice = ("KL-06", &["For two"]);
/// Four low mugs, a tea towel and an apron.
const SET_FOR_FOUR: Choice = ("KL-06", &["For four"]);
const CARD: Choice = ("KL-07", &["One card"]);
const DOWNLOAD: Choice = ("KL-08", &[]);
/// Its link is ambiguous.
const BAY_LEAF_L_RUST: Choice = ("KL-09", &["L - T-shirt", "Rust"]);
/// Its link leads to L.
const BAY_LEAF_XL_NAVY: Choice = ("KL-09", &["XL - T-shirt", "Navy"]);
const CURLEW_CREAM: Choice = ("KL-10", &["Cream"]);
const CURLEW_MOSS: Choice = ("KL-10", &["Moss"]);
const CURLEW_NAVY: Choice = ("KL-10", &["Navy"]);
const CURLEW_CHARCOAL: Choice = ("KL-10", &["Charcoal"]);
/// Its link is only intended.
const CURLEW_RUST: Choice = ("KL-10", &["Rust"]);
const HERON: Choice = ("KL-12", &[]);
/// Its link leads to the only fennel bag there is.
const FENNEL_CHARCOAL: Choice = ("KL-13", &["Charcoal"]);

/// The orders and submissions of the days, as they come about.
struct Stage {
    desk: Desk,
    /// Ids and times that the scene's orders take, in the order of its list.
    slots: VecDeque<(OrderId, DateTime<Utc>)>,
    placed: Vec<Placed>,
    sendings: Vec<Sending>,
    ties: Vec<Tie>,
    plants: Vec<Plant>,
    decoys: Vec<Decoy>,
}

impl Stage {
    fn new(desk: Desk) -> Self {
        let catalogue = desk.catalogue;
        Self {
            desk,
            slots: VecDeque::new(),
            placed: Vec::new(),
            sendings: Vec::new(),
            ties: Vec::new(),
            plants: catalogue.plants.clone(),
            decoys: catalogue.decoys.clone(),
        }
    }

    fn finish(mut self) -> Planted {
        let (catalogue, as_of) = (self.desk.catalogue, self.desk.as_of);
        desk::fill_time_left(&mut self.plants, &self.placed, &self.sendings, catalogue, as_of);
        self.plants.sort_by(|a, b| (a.check, &a.subject).cmp(&(b.check, &b.subject)));
        self.decoys.sort_by(|a, b| a.subject.cmp(&b.subject));
        let mut book = catalogue.book();
        desk::record(&mut book, self.placed, self.sendings, self.ties);
        Planted {
            book: in_key_order(book),
            as_of,
            configuration: CONFIGURATION.to_owned(),
            plants: self.plants,
            decoys: self.decoys,
        }
    }

    // What happens.

    /// The next order of the scene.
    fn order(&mut self, wanted: &[(Choice, u32)]) -> usize {
        let (id, time) = self.slots.pop_front().expect("a scene has as many orders as times");
        let goods: Vec<(usize, u32)> = wanted
            .iter()
            .map(|((listing, values), quantity)| (self.desk.catalogue.good(listing, values), *quantity))
            .collect();
        self.placed.push(self.desk.place(id, time, &goods));
        self.placed.len() - 1
    }

    fn id(&self, order: usize) -> OrderId {
        self.placed[order].order.order_id.clone()
    }

    fn is(&mut self, order: usize, status: OrderStatus) {
        self.placed[order].order.status = status;
    }

    fn promised_by(&mut self, order: usize, day: u32) {
        self.placed[order].order.promised_by = whole_day(day);
    }

    /// Units of a line are called off, after what was sent before.
    fn cancel(&mut self, order: usize, line: usize, quantity: u32) {
        self.placed[order].line(line).cancelled_quantity = quantity;
    }

    /// All linked lines go to their suppliers.
    fn serve(&mut self, order: usize) {
        let sendings = self.desk.serve(&self.placed[order]);
        self.sendings.extend(sendings);
        self.desk.mark(&mut self.placed[order], &self.sendings);
    }

    /// One supplier is asked for its linked lines, soon after payment.
    fn send(&mut self, order: usize, supplier: Supplier) -> usize {
        let sending =
            self.desk.send(supplier, &self.placed[order]).expect("there is something to ask it for");
        self.sendings.push(sending);
        self.sendings.len() - 1
    }

    /// One supplier is asked for its linked lines at that moment.
    fn send_at(&mut self, order: usize, supplier: Supplier, time: &str) -> usize {
        let asked = self.desk.asked_of(supplier, &self.placed[order]);
        self.ask(&[order], supplier, time, &asked)
    }

    /// One supplier is asked for these things, for these orders, at that moment.
    fn ask(&mut self, orders: &[usize], supplier: Supplier, time: &str, asked: &[Asked]) -> usize {
        let orders: Vec<OrderId> = orders.iter().map(|order| self.id(*order)).collect();
        let mut sending = self.desk.sending(supplier, at(time), &orders, asked);
        self.desk.proceed(&mut sending);
        self.sendings.push(sending);
        self.sendings.len() - 1
    }

    /// So many of what a line's good is, or ought to be, made of.
    fn asked(&self, choice: Choice, line: usize, quantity: u32) -> Asked {
        let good = &self.desk.catalogue.goods[self.desk.catalogue.good(choice.0, choice.1)];
        Asked { line, variant: good.pieces[0].variant, quantity }
    }

    /// A submission line gets another variant: the same with another size or colour.
    fn swap(&mut self, sending: usize, line: usize, name: &'static str, value: &str) {
        let line = &mut self.sendings[sending].lines[line - 1];
        let variants = &self.desk.catalogue.variants;
        let there = variants
            .iter()
            .position(|variant| {
                variant.supplier == line.supplier && variant.sku == line.sku && variant.sku.is_some()
            })
            .expect("a variant with a SKU");
        let variant = &variants[self.desk.catalogue.variant_with(there, name, value)];
        line.variant_id = line.variant_id.as_ref().map(|_| variant.variant_id.clone());
        line.sku.clone_from(&variant.sku);
    }

    fn dispatch(&mut self, sending: usize, time: &str) {
        self.desk.dispatch(&mut self.sendings[sending], at(time));
    }

    fn line_of(&mut self, sending: usize, line: usize) -> &mut SubmissionLine {
        &mut self.sendings[sending].lines[line - 1]
    }

    // What is to be found.

    fn plant(&mut self, check: Check, subject: Subject, lines: &[(usize, u64, Option<Reason>)], story: &str) {
        self.plants.push(Plant {
            check,
            subject,
            lines: lines
                .iter()
                .map(|(line, units, reason)| PlantedLine {
                    line_id: line_id(*line),
                    units: *units,
                    reason: *reason,
                })
                .collect(),
            submission_lines: Vec::new(),
            time_left: None,
            story: story.to_owned(),
        });
    }

    /// Lines of an order that nobody makes.
    fn gap(&mut self, check: Check, order: usize, lines: &[(usize, u64, Reason)], story: &str) {
        let lines: Vec<_> =
            lines.iter().map(|(line, units, reason)| (*line, *units, Some(*reason))).collect();
        self.plant(check, Subject::Order(self.id(order)), &lines, story);
    }

    /// Lines of an order that something else than their not being made is wrong with.
    fn lines(&mut self, check: Check, order: usize, lines: &[(usize, u64)], story: &str) {
        let lines: Vec<_> = lines.iter().map(|(line, units)| (*line, *units, None)).collect();
        self.plant(check, Subject::Order(self.id(order)), &lines, story);
    }

    fn wrong(&mut self, order: usize, line: usize, units: u64, story: &str) {
        let subject = Subject::OrderLine(self.id(order), line_id(line));
        self.plant(Check::WrongVariant, subject, &[(line, units, None)], story);
    }

    /// Units of a submission that are too many for an order, and the order's lines that nobody makes.
    fn surplus(
        &mut self,
        check: Check,
        (sending, order): (usize, usize),
        units: &[(usize, u64)],
        uncovered: &[(usize, u64, Reason)],
        story: &str,
    ) {
        let sent = &self.sendings[sending].submission;
        let subject =
            Subject::SubmissionForOrder(sent.supplier.clone(), sent.submission_id.clone(), self.id(order));
        let lines: Vec<_> = uncovered.iter().map(|(line, units, why)| (*line, *units, Some(*why))).collect();
        self.plant(check, subject, &lines, story);
        self.name_submission_lines(units);
    }

    /// A submission that something is wrong with, whatever it is for.
    fn submission(&mut self, check: Check, sending: usize, units: &[(usize, u64)], story: &str) {
        self.plant(check, self.of_submission(sending), &[], story);
        self.name_submission_lines(units);
    }

    fn of_submission(&self, sending: usize) -> Subject {
        let sent = &self.sendings[sending].submission;
        Subject::Submission(sent.supplier.clone(), sent.submission_id.clone())
    }

    fn name_submission_lines(&mut self, units: &[(usize, u64)]) {
        if let Some(plant) = self.plants.last_mut() {
            plant.submission_lines = units
                .iter()
                .map(|(line, units)| PlantedSubmissionLine { line_id: line_id(*line), units: *units })
                .collect();
        }
    }

    fn decoy(&mut self, order: usize, story: &str) {
        self.decoys.push(Decoy { subject: Subject::Order(self.id(order)), story: story.to_owned() });
    }

    fn decoy_submission(&mut self, sending: usize, story: &str) {
        self.decoys.push(Decoy { subject: self.of_submission(sending), story: story.to_owned() });
    }
}

type Scene = fn(&mut Stage);

/// All that goes wrong, or seems to: when a scene's orders are placed, in the order of time, and what happens.
#[rustfmt::skip]
const SCENES: &[(&[&str], Scene)] = &[
    (&["25T08:47", "25T09:20", "25T10:05", "25T11:31", "25T13:02", "25T16:40", "25T19:15", "25T20:30", "25T21:48",
       "26T10:50"], the_new_colour),
    (&["25T14:20", "25T18:33"], the_new_colour_alone),
    (&["26T15:50", "26T15:55", "26T16:10"], the_new_colour_within_the_grace),
    (&["26T13:10"], the_new_colour_with_a_line_that_nobody_sent),
    (&["26T14:05", "26T14:20", "26T15:40", "26T16:00"], not_sent_yet),
    (&["24T09:30", "25T12:15", "25T12:40", "25T15:05", "26T12:05"], not_sent),
    (&["25T17:20", "25T18:05", "25T19:40", "25T20:05"], short),
    (&["25T21:05", "26T11:30"], unsent),
    (&["25T10:44", "25T16:12"], an_ambiguous_link),
    (&["25T11:08", "25T13:37"], a_broken_link),
    (&["25T17:05", "25T17:32", "25T23:20"], an_intended_link),
    (&["25T17:45", "25T18:20", "25T22:10"], a_mistyped_sku),
    (&["25T09:50", "25T14:50", "25T15:30"], a_wrong_variant),
    (&["25T18:50", "25T19:05"], wrong_line_references),
    (&["25T21:15", "25T22:55"], served_by_hand),
    (&["25T19:20", "25T20:55"], tied_by_the_owner),
    (&["25T20:45", "25T21:20", "25T21:40", "25T22:50"], doubled),
    (&["25T22:05", "25T22:40"], too_many),
    (&["25T16:50", "25T16:58", "25T22:20", "25T22:31"], merged),
    (&["25T10:30", "25T11:50", "25T15:45"], cancelled_orders),
    (&["25T12:25", "25T13:15", "25T14:05", "25T16:25"], cancelled_lines),
    (&["25T19:55", "25T20:20"], stray),
    (&["25T09:05", "25T09:30", "25T21:35", "25T23:10"], held),
    (&["24T09:10", "24T10:02", "24T18:10"], not_started),
    (&["24T01:40", "24T03:05", "24T04:12", "24T12:10"], part_dispatched),
    (&["24T08:20", "24T11:15", "24T12:45", "24T13:30", "24T14:10", "25T08:10"], late),
    (&["24T05:20", "24T15:05"], dispatch_unmarked),
    (&["24T06:10"], replaced),
    (&["24T07:00", "25T08:20"], own_stock),
    (&["25T08:30", "26T15:20", "26T16:24"], not_owed),
    (&["25T11:20", "25T11:42", "25T12:02"], sent_as_linked),
    (&["25T12:55", "25T13:50"], oddly_written),
];

fn the_new_colour(stage: &mut Stage) {
    for (wanted, units) in [
        (&[(LARGE_APRON_MUSTARD, 1), (TOTE_MUSTARD, 1)][..], 1),
        (&[(LONG_M_MUSTARD, 1), (TOTE_MUSTARD, 2)], 2),
        (&[(TOTE_MUSTARD, 1), (LOW_MUG_WHITE, 1), (CARD, 1)], 1),
        (&[(GANNET_A3, 1), (TOTE_MUSTARD, 1)], 1),
        (&[(SMALL_APRON_MUSTARD, 1), (LONG_S_MUSTARD, 1), (TOTE_MUSTARD, 1)], 1),
        (&[(PUFFIN_M_NAVY, 1), (TOTE_MUSTARD, 1)], 1),
        (&[(SET_FOR_TWO, 1), (TOTE_MUSTARD, 1)], 1),
        (&[(TOTE_MUSTARD, 1), (CURLEW_NAVY, 1)], 1),
        (&[(LARGE_APRON_NAVY, 1), (LOW_MUG_WHITE, 1), (TOTE_MUSTARD, 1)], 1),
        (&[(LONG_2XL_MUSTARD, 1), (TOTE_MUSTARD, 1)], 1),
    ] {
        let order = stage.order(wanted);
        stage.serve(order);
        let line = wanted.iter().position(|(choice, _)| *choice == TOTE_MUSTARD).map_or(0, |index| index + 1);
        stage.gap(
            Check::PartSent,
            order,
            &[(line, units, Reason::NoLink)],
            "The tote bag in the new colour has no SKU; the rest of the order went out without it.",
        );
    }
}

fn the_new_colour_alone(stage: &mut Stage) {
    let order = stage.order(&[(TOTE_MUSTARD, 1)]);
    let lines = &[(1, 1, Reason::NoLink)];
    stage.gap(
        Check::UnsentOrder,
        order,
        lines,
        "Only the tote bag in the new colour: nobody was asked for it.",
    );

    let order = stage.order(&[(TOTE_MUSTARD, 1), (CARD, 1)]);
    stage.gap(
        Check::UnsentOrder,
        order,
        lines,
        "Beside the tote bag in the new colour only a card, which the shop packs itself and which is not counted.",
    );
}

fn the_new_colour_within_the_grace(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_S_WHITE, 1), (TOTE_MUSTARD, 1), (LOW_MUG_WHITE, 1)]);
    stage.send_at(order, Alder, "26T15:58");
    stage.gap(
        Check::PartSent,
        order,
        &[(2, 1, Reason::NoLink)],
        "The shirt is at alder-print, the mug has half an hour left to reach brook-print, the tote bag never will.",
    );
    let order = stage.order(&[(TOTE_MUSTARD, 1), (PUFFIN_L_NAVY, 1)]);
    stage.gap(
        Check::PartSent,
        order,
        &[(1, 1, Reason::NoLink)],
        "Nothing is sent yet; the shirt will go by itself and the tote bag in the new colour will stay.",
    );
    let order = stage.order(&[(TOTE_MUSTARD, 1)]);
    stage.gap(
        Check::UnsentOrder,
        order,
        &[(1, 1, Reason::NoLink)],
        "Ten minutes old, and no grace will help: the tote bag in the new colour has no SKU.",
    );
}

fn the_new_colour_with_a_line_that_nobody_sent(stage: &mut Stage) {
    let order = stage.order(&[(TOTE_MUSTARD, 1), (TALL_MUG_WHITE, 1)]);
    stage.gap(
        Check::UnsentOrder,
        order,
        &[(1, 1, Reason::NoLink), (2, 1, Reason::NotSent)],
        "Three hours old: the tote bag has no SKU, and brook-print was never asked for the mug either.",
    );
}

fn not_sent_yet(stage: &mut Stage) {
    let order = stage.order(&[(LONG_M_MOSS, 1), (GANNET_A4, 1)]);
    stage.send(order, Alder);
    stage.decoy(
        order,
        "Two hours old; cairn-print's list is written every three hours, so the poster has time.",
    );
    let order = stage.order(&[(HERON, 1)]);
    stage.decoy(order, "Two hours old, only a poster: it has three.");
    let order = stage.order(&[(LARGE_APRON_MOSS, 1), (LOW_MUG_NAVY, 1)]);
    stage.send_at(order, Alder, "26T15:52");
    stage.decoy(order, "Forty minutes old: the apron was sent, the mug has twenty minutes left.");
    let order = stage.order(&[(SHELF_APRON_MOSS, 1), (LOW_MUG_WHITE, 2)]);
    stage.send_at(order, Brook, "26T16:26");
    stage.decoy(order, "Twenty minutes old: nothing was sent by now, what came after as-of does not count.");
}

fn not_sent(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_L_WHITE, 1), (CURLEW_CREAM, 1)]);
    let shirt = stage.send(order, Alder);
    stage.dispatch(shirt, "25T11:15");
    stage.is(order, OrderStatus::Dispatched);
    stage.gap(
        Check::PartSent,
        order,
        &[(2, 1, Reason::NotSent)],
        "The storefront says dispatched since the shirt has left; brook-print was never asked for the tote bag.",
    );

    let order = stage.order(&[(PUFFIN_M_NAVY, 1), (LOW_MUG_WHITE, 1)]);
    stage.send(order, Alder);
    stage.gap(
        Check::PartSent,
        order,
        &[(2, 1, Reason::NotSent)],
        "The connection to brook-print failed that minute, and the mug was never sent.",
    );

    let order = stage.order(&[(SMALL_APRON_NAVY, 1), (LONG_L_MOSS, 1)]);
    let sent = stage.send(order, Alder);
    stage.sendings[sent].is(SubmissionStatus::Making, at("25T18:30"));
    stage.line_of(sent, 1).status = Some(SubmissionStatus::Rejected);
    stage.gap(
        Check::PartSent,
        order,
        &[(1, 1, Reason::NotSent)],
        "alder-print rejected the apron and makes the top alone.",
    );

    let order = stage.order(&[(TOWEL_MOSS, 1), (SHELF_APRON_MOSS, 1)]);
    stage.send(order, Alder);
    let towel = stage.send(order, Brook);
    stage.sendings[towel].is(SubmissionStatus::Cancelled, at("25T16:00"));
    stage.gap(
        Check::PartSent,
        order,
        &[(1, 1, Reason::NotSent)],
        "The tea towel was cancelled at brook-print by mistake and not sent again.",
    );

    let order = stage.order(&[(LONG_S_NAVY, 1), (GANNET_A2, 1)]);
    stage.send(order, Alder);
    stage.gap(
        Check::PartSent,
        order,
        &[(2, 1, Reason::NotSent)],
        "Four hours old: cairn-print's list has come and gone without the poster.",
    );
}

fn short(stage: &mut Stage) {
    let order = stage.order(&[(LOW_MUG_WHITE, 3)]);
    let sent = stage.send(order, Brook);
    stage.line_of(sent, 1).quantity = 2;
    stage.sendings[sent].is(SubmissionStatus::Received, at("25T18:00"));
    let line = &[(1, 1, Reason::Short)];
    stage.gap(Check::PartSent, order, line, "Three mugs were bought and two were sent.");

    let order = stage.order(&[(SET_FOR_TWO, 1)]);
    let sent = stage.send(order, Brook);
    stage.line_of(sent, 1).quantity = 1;
    stage.sendings[sent].is(SubmissionStatus::Received, at("25T18:45"));
    stage.gap(Check::PartSent, order, line, "The set for two needs two mugs and went out with one.");

    let order = stage.order(&[(SET_FOR_FOUR, 1)]);
    stage.send(order, Brook);
    stage.gap(
        Check::PartSent,
        order,
        line,
        "brook-print has its part of the set, alder-print never got the apron.",
    );

    let order = stage.order(&[(SET_FOR_TWO, 2)]);
    let sent = stage.send(order, Brook);
    stage.line_of(sent, 1).quantity = 3;
    stage.sendings[sent].is(SubmissionStatus::Received, at("25T20:45"));
    stage.gap(Check::PartSent, order, line, "Two sets need four mugs and three were sent: one set is short.");
}

fn unsent(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_XL_MOSS, 2), (LOW_MUG_WHITE, 1), (CARD, 1)]);
    stage.gap(
        Check::UnsentOrder,
        order,
        &[(1, 2, Reason::NotSent), (2, 1, Reason::NotSent)],
        "All is linked and no supplier was asked for any of it.",
    );
    let order = stage.order(&[(LONG_M_NAVY, 1)]);
    stage.placed[order].order.paid_at = None;
    stage.gap(
        Check::UnsentOrder,
        order,
        &[(1, 1, Reason::NotSent)],
        "Not sent; when it was paid is not known, so the grace runs from the placing.",
    );
}

fn an_ambiguous_link(stage: &mut Stage) {
    let order = stage.order(&[(BAY_LEAF_L_RUST, 1), (TOWEL_CREAM, 1)]);
    stage.serve(order);
    let lines = &[(1, 1, Reason::AmbiguousLink)];
    stage.gap(
        Check::PartSent,
        order,
        lines,
        "Two of alder-print's variants bear the shirt's SKU, so it was left out; the tea towel was sent.",
    );
    let order = stage.order(&[(BAY_LEAF_L_RUST, 1)]);
    stage.gap(
        Check::UnsentOrder,
        order,
        lines,
        "Two of alder-print's variants bear its SKU; nothing was sent.",
    );
}

fn a_broken_link(stage: &mut Stage) {
    let order = stage.order(&[(SHELF_APRON_CREAM, 1), (TOWEL_CREAM, 1)]);
    stage.serve(order);
    stage.gap(
        Check::PartSent,
        order,
        &[(1, 1, Reason::BrokenLink)],
        "The apron's link leads to a number that alder-print has given up; the tea towel was sent.",
    );
    let order = stage.order(&[(SHELF_APRON_CREAM, 1), (TOWEL_MOSS, 1)]);
    stage.serve(order);
    let by_hand = stage.asked(SHELF_APRON_CREAM, 1, 1);
    stage.ask(&[order], Alder, "25T15:10", &[by_hand]);
    stage.decoy(order, "The same broken link; the owner sent the apron by hand and named the line.");
}

fn an_intended_link(stage: &mut Stage) {
    let lines = &[(2, 1, Reason::NoLink)];
    let order = stage.order(&[(PUFFIN_M_MOSS, 1), (CURLEW_RUST, 1)]);
    stage.serve(order);
    stage.gap(
        Check::PartSent,
        order,
        lines,
        "What the rust tote bag is to lead to is settled and not in force; the shirt was sent without it.",
    );
    let order = stage.order(&[(LOW_MUG_WHITE, 1), (CURLEW_RUST, 1)]);
    stage.serve(order);
    let by_hand = stage.asked(CURLEW_RUST, 2, 1);
    stage.ask(&[order], Brook, "25T18:40", &[by_hand]);
    stage.decoy(order, "The rust tote bag, only intended, was sent by hand as exactly what is intended.");
    let order = stage.order(&[(CURLEW_RUST, 1)]);
    stage.gap(
        Check::UnsentOrder,
        order,
        &[(1, 1, Reason::NoLink)],
        "Only the rust tote bag, whose link is intended and not in force.",
    );
}

fn a_mistyped_sku(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_2XL_PLUM, 1), (LOW_MUG_NAVY, 1)]);
    stage.send(order, Brook);
    let by_hand = stage.asked(PUFFIN_M_PLUM, 1, 1);
    stage.ask(&[order], Alder, "25T18:15", &[by_hand]);
    stage.wrong(order, 1, 1, "The shirt in 2XL, without a link, was sent by hand as L.");

    let order = stage.order(&[(PUFFIN_2XL_PLUM, 1), (TOWEL_MOSS, 1)]);
    stage.send(order, Brook);
    let by_hand = stage.asked(PUFFIN_2XL_PLUM, 1, 1);
    stage.ask(&[order], Alder, "25T19:02", &[by_hand]);
    stage.decoy(order, "The shirt in 2XL, without a link, was sent by hand as 2XL, with its line named.");

    let order = stage.order(&[(PUFFIN_2XL_PLUM, 1), (TALL_MUG_WHITE, 1)]);
    stage.serve(order);
    stage.gap(
        Check::PartSent,
        order,
        &[(1, 1, Reason::NoLink)],
        "The shirt's SKU is mistyped and leads nowhere; the mug was sent.",
    );
}

fn a_wrong_variant(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_M_NAVY, 1), (LOW_MUG_WHITE, 1)]);
    stage.send(order, Brook);
    let sent = stage.send(order, Alder);
    stage.swap(sent, 1, "Size", "L");
    stage.wrong(order, 1, 1, "alder-print was asked for L where the line says M.");

    let order = stage.order(&[(LONG_M_MOSS, 2)]);
    let (medium, large) = (stage.asked(LONG_M_MOSS, 1, 1), stage.asked(LONG_L_MOSS, 1, 1));
    stage.ask(&[order], Alder, "25T15:01", &[medium, large]);
    stage.wrong(order, 1, 1, "Of two tops in M one was sent as M and one as L, both for the same line.");

    let order = stage.order(&[(CURLEW_NAVY, 1), (PUFFIN_S_NAVY, 1)]);
    stage.send(order, Alder);
    let sent = stage.send(order, Brook);
    stage.swap(sent, 1, "shade", "MOSS");
    let story = "brook-print was asked for moss where navy was bought; its orders name no lines, so that one bag \
                 is missing and one is too many.";
    let missing = &[(1, 1, Reason::NotSent)];
    stage.gap(Check::PartSent, order, missing, story);
    stage.surplus(Check::OverSent, (sent, order), &[(1, 1)], missing, story);
}

fn wrong_line_references(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_M_NAVY, 1), (PUFFIN_L_NAVY, 1)]);
    let sent = stage.send(order, Alder);
    stage.line_of(sent, 1).order_line_ref = Some(line_id(2));
    stage.line_of(sent, 2).order_line_ref = Some(line_id(1));
    stage.decoy(order, "The line references of M and L are crossed; the customer gets both all the same.");

    let order = stage.order(&[(PUFFIN_S_MOSS, 1)]);
    let sent = stage.send(order, Alder);
    stage.line_of(sent, 1).order_line_ref = Some(line_id(9));
    stage.decoy(order, "The line reference names no line of the order; the shirt is the right one.");
}

fn served_by_hand(stage: &mut Stage) {
    let order = stage.order(&[(LARGE_APRON_NAVY, 1), (TOTE_MUSTARD, 1)]);
    stage.send(order, Alder);
    let by_hand = stage.asked(TOTE_MUSTARD, 2, 1);
    stage.ask(&[order], Brook, "25T21:50", &[by_hand]);
    stage.decoy(
        order,
        "The tote bag in the new colour was sent by hand, without a line, as what it says it is.",
    );

    let order = stage.order(&[(TOTE_MUSTARD, 1), (LOW_MUG_NAVY, 1)]);
    stage.send(order, Brook);
    let by_hand = stage.asked(TOTE_NAVY, 1, 1);
    let sent = stage.ask(&[order], Brook, "25T23:25", &[by_hand]);
    let story =
        "The mustard tote bag was sent by hand as the navy one, without a line: it does not stand for it.";
    let missing = &[(1, 1, Reason::NoLink)];
    stage.gap(Check::PartSent, order, missing, story);
    stage.surplus(Check::OverSent, (sent, order), &[(1, 1)], missing, story);
}

fn tied_by_the_owner(stage: &mut Stage) {
    let order = stage.order(&[(TOTE_MUSTARD, 1), (LOW_MUG_WHITE, 1)]);
    stage.send(order, Brook);
    let by_phone = stage.asked(TOTE_MUSTARD, 1, 1);
    let sent = stage.ask(&[], Brook, "25T20:10", &[by_phone]);
    let tie = |stage: &Stage, sent: usize, order: usize, line: Option<usize>| Tie {
        order_id: stage.id(order),
        line_id: line_id(1),
        supplier: stage.sendings[sent].by.id(),
        submission_id: stage.sendings[sent].submission.submission_id.clone(),
        submission_line_id: line.map(line_id),
    };
    stage.ties.push(tie(stage, sent, order, Some(1)));
    stage.decoy(
        order,
        "The tote bag in the new colour was ordered by phone, without a reference; the owner tied it.",
    );

    let order = stage.order(&[(HERON, 1)]);
    let by_phone = stage.asked(HERON, 1, 1);
    let sent = stage.ask(&[], Cairn, "25T21:30", &[by_phone]);
    stage.line_of(sent, 1).order_line_ref = None;
    stage.ties.push(tie(stage, sent, order, None));
    stage.decoy(
        order,
        "The poster was ordered by phone, without a reference; the owner tied the whole submission.",
    );
}

fn doubled(stage: &mut Stage) {
    let order = stage.order(&[(LOW_MUG_WHITE, 1), (CURLEW_MOSS, 1)]);
    stage.send_at(order, Brook, "25T20:53");
    let again = stage.send_at(order, Brook, "25T21:02");
    let story = "The order was pushed to brook-print twice.";
    stage.surplus(Check::OverSent, (again, order), &[(1, 1), (2, 1)], &[], story);

    let order = stage.order(&[(PUFFIN_M_WHITE, 1), (TOTE_MUSTARD, 1)]);
    stage.send_at(order, Alder, "25T21:31");
    let again = stage.send_at(order, Alder, "25T22:02");
    let missing = &[(2, 1, Reason::NoLink)];
    let story = "The shirt was pushed to alder-print twice, the tote bag in the new colour never.";
    stage.gap(Check::PartSent, order, missing, story);
    stage.surplus(Check::OverSent, (again, order), &[(1, 1)], missing, story);

    let order = stage.order(&[(CURLEW_NAVY, 1), (TOTE_MUSTARD, 1)]);
    stage.send_at(order, Brook, "25T21:52");
    let again = stage.send_at(order, Brook, "25T22:12");
    let story = "One tote bag was pushed to brook-print twice, the one in the new colour never; the second is not it.";
    stage.gap(Check::PartSent, order, missing, story);
    stage.surplus(Check::OverSent, (again, order), &[(1, 1)], missing, story);

    let order = stage.order(&[(PUFFIN_L_MOSS, 1)]);
    let first = stage.send_at(order, Alder, "25T22:58");
    stage.sendings[first].is(SubmissionStatus::Cancelled, at("25T23:10"));
    stage.send_at(order, Alder, "25T23:15");
    stage.decoy(order, "Sent, cancelled at the supplier and sent again: once in all.");
}

fn too_many(stage: &mut Stage) {
    let order = stage.order(&[(TALL_MUG_WHITE, 1)]);
    let sent = stage.send(order, Brook);
    stage.line_of(sent, 1).quantity = 2;
    stage.sendings[sent].is(SubmissionStatus::Received, at("25T22:50"));
    stage.surplus(Check::OverSent, (sent, order), &[(1, 1)], &[], "One mug was bought and two were sent.");

    let order = stage.order(&[(PUFFIN_XL_NAVY, 1)]);
    let (right, extra) = (stage.asked(PUFFIN_XL_NAVY, 1, 1), stage.asked(PUFFIN_S_NAVY, 1, 1));
    let sent = stage.ask(&[order], Alder, "25T22:52", &[right, extra]);
    let story = "The shirt was sent in XL, as bought, and once more in S.";
    stage.surplus(Check::OverSent, (sent, order), &[(2, 1)], &[], story);
}

fn merged(stage: &mut Stage) {
    let first = stage.order(&[(LOW_MUG_NAVY, 1), (TOWEL_CREAM, 1)]);
    let second = stage.order(&[(CURLEW_CREAM, 2), (LOW_MUG_NAVY, 1)]);
    let asked =
        [stage.asked(LOW_MUG_NAVY, 1, 2), stage.asked(TOWEL_CREAM, 2, 1), stage.asked(CURLEW_CREAM, 1, 2)];
    let sent = stage.ask(&[first, second], Brook, "25T17:20", &asked);
    if let Some(list) = &mut stage.sendings[sent].submission.order_ref {
        list.push_str("; BP/KK-09311");
    }
    stage.decoy(
        first,
        "Sent together with the next order, in one submission that names both and one too old.",
    );
    stage.decoy(second, "Sent together with the order before.");

    let first = stage.order(&[(LOW_MUG_WHITE, 1)]);
    let second = stage.order(&[(CURLEW_MOSS, 1), (TOWEL_MOSS, 1)]);
    let asked =
        [stage.asked(LOW_MUG_WHITE, 1, 2), stage.asked(CURLEW_MOSS, 1, 1), stage.asked(TOWEL_MOSS, 2, 1)];
    let sent = stage.ask(&[second, first], Brook, "25T22:45", &asked);
    stage.surplus(
        Check::OverSent,
        (sent, second),
        &[(1, 1)],
        &[],
        "Two orders of one customer went out together, with a mug too many; the order that the list begins with is named.",
    );
    stage.decoy(
        first,
        "In the same submission as the order with the mug too many; the finding names that one.",
    );
}

fn cancelled_orders(stage: &mut Stage) {
    let story = "The order was cancelled, and the supplier was not told.";
    let order = stage.order(&[(LONG_L_NAVY, 1)]);
    let sent = stage.send(order, Alder);
    stage.is(order, OrderStatus::Cancelled);
    stage.surplus(Check::SentAfterCancel, (sent, order), &[(1, 1)], &[], story);

    let order = stage.order(&[(LONG_S_MOSS, 2), (LOW_MUG_NAVY, 1)]);
    let (top, mug) = (stage.send(order, Alder), stage.send(order, Brook));
    stage.is(order, OrderStatus::Cancelled);
    stage.surplus(Check::SentAfterCancel, (top, order), &[(1, 2)], &[], story);
    stage.surplus(Check::SentAfterCancel, (mug, order), &[(1, 1)], &[], story);

    let order = stage.order(&[(LONG_M_CHARCOAL, 1)]);
    let sent = stage.send(order, Alder);
    stage.sendings[sent].is(SubmissionStatus::Cancelled, at("25T16:30"));
    stage.is(order, OrderStatus::Cancelled);
    stage.decoy(order, "The order was cancelled, at the supplier too.");
}

fn cancelled_lines(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_S_NAVY, 1), (LOW_MUG_WHITE, 1)]);
    stage.send(order, Alder);
    let sent = stage.send(order, Brook);
    stage.cancel(order, 2, 1);
    stage.surplus(
        Check::SentAfterCancel,
        (sent, order),
        &[(1, 1)],
        &[],
        "The customer called off the mug; the shirt is as it should be, and brook-print still has the mug.",
    );

    let order = stage.order(&[(CURLEW_CREAM, 3)]);
    let sent = stage.send(order, Brook);
    stage.cancel(order, 1, 1);
    let story = "One of three tote bags was called off; brook-print still has three.";
    stage.surplus(Check::SentAfterCancel, (sent, order), &[(1, 1)], &[], story);

    let order = stage.order(&[(SET_FOR_TWO, 1), (PUFFIN_S_NAVY, 1)]);
    stage.send(order, Alder);
    let sent = stage.send(order, Brook);
    stage.cancel(order, 1, 1);
    let story = "The set was called off; brook-print still has its two mugs and the tea towel.";
    stage.surplus(Check::SentAfterCancel, (sent, order), &[(1, 2), (2, 1)], &[], story);

    let order = stage.order(&[(LOW_MUG_WHITE, 3)]);
    let sent = stage.send(order, Brook);
    stage.line_of(sent, 1).quantity = 4;
    stage.sendings[sent].is(SubmissionStatus::Received, at("25T17:10"));
    stage.cancel(order, 1, 1);
    let story = "Three mugs were bought and one was called off, four were sent: one for the cancellation, one for nothing.";
    stage.surplus(Check::SentAfterCancel, (sent, order), &[(1, 1)], &[], story);
    stage.surplus(Check::OverSent, (sent, order), &[(1, 1)], &[], story);
}

fn stray(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_M_NAVY, 1), (CURLEW_CREAM, 1)]);
    stage.send(order, Alder);
    let sent = stage.send(order, Brook);
    stage.sendings[sent].submission.order_ref = Some("BP/KK-1023".to_owned());
    stage.sendings[sent].orders.clear();
    let story = "The last digit of the order's number was lost on the way to brook-print.";
    stage.gap(Check::PartSent, order, &[(2, 1, Reason::NotSent)], story);
    stage.submission(Check::StraySubmission, sent, &[(1, 1)], story);

    let order = stage.order(&[(GANNET_A3, 1), (HERON, 1)]);
    let asked = [stage.asked(GANNET_A3, 1, 1), stage.asked(HERON, 2, 1), stage.asked(GANNET_A4, 1, 1)];
    let sent = stage.ask(&[order], Cairn, "25T21:10", &asked);
    stage.line_of(sent, 3).order_ref = Some("KK-99871@kittiwake".to_owned());
    let story = "A third poster, for an order that nobody knows, slipped into the list for cairn-print.";
    stage.submission(Check::StraySubmission, sent, &[(3, 1)], story);

    let asked = [stage.asked(LOW_MUG_NAVY, 1, 1)];
    let sent = stage.ask(&[], Brook, "26T11:20", &asked);
    stage.submission(
        Check::StraySubmission,
        sent,
        &[(1, 1)],
        "Somebody ordered a mug without saying for whom.",
    );

    let sent = stage.ask(&[], Brook, "26T15:50", &asked);
    stage.decoy_submission(sent, "Half an hour old: the reference may still be filled in.");

    let shirt = [stage.asked(PUFFIN_M_NAVY, 1, 1)];
    for (time, reference, status, story) in [
        ("25T10:00", "SAMPLE-7", SubmissionStatus::Making, "A sample for the shop's own wall."),
        (
            "23T15:10",
            "KK-09874",
            SubmissionStatus::Dispatched,
            "For an order of last week: older than the book.",
        ),
        (
            "25T12:00",
            "KK-99120",
            SubmissionStatus::Cancelled,
            "For an order that nobody knows, and cancelled.",
        ),
    ] {
        let sent = stage.ask(&[], Alder, time, &shirt);
        stage.sendings[sent].submission.order_ref = Some(reference.to_owned());
        stage.sendings[sent].is(status, at(time) + TimeDelta::hours(7));
        stage.decoy_submission(sent, story);
    }
}

fn held(stage: &mut Stage) {
    let order = stage.order(&[(LARGE_APRON_NAVY, 1), (LONG_M_NAVY, 1)]);
    let sent = stage.send(order, Alder);
    stage.sendings[sent].is(SubmissionStatus::Making, at("25T18:00"));
    let line = stage.line_of(sent, 2);
    line.status = Some(SubmissionStatus::Held);
    line.updated_at = Some(When::at(at("25T20:00")));
    stage.submission(
        Check::Held,
        sent,
        &[],
        "alder-print makes the apron and holds the top: its print file is too small.",
    );

    let order = stage.order(&[(CURLEW_CHARCOAL, 1)]);
    let sent = stage.send(order, Brook);
    stage.sendings[sent].is(SubmissionStatus::Held, at("26T11:00"));
    stage.decoy_submission(sent, "Received long ago, but held for five hours only.");

    let order = stage.order(&[(TALL_MUG_NAVY, 1), (PUFFIN_L_MOSS, 1)]);
    stage.send(order, Alder);
    let sent = stage.send(order, Brook);
    stage.sendings[sent].is(SubmissionStatus::Held, at("25T22:30"));
    stage.submission(
        Check::Held,
        sent,
        &[],
        "brook-print has run out of tall navy mugs and waits for an answer.",
    );

    let order = stage.order(&[(LOW_MUG_NAVY, 1)]);
    let sent = stage.send(order, Brook);
    stage.sendings[sent].is(SubmissionStatus::Held, at("26T13:20"));
    stage.decoy_submission(sent, "Held for three hours.");
}

fn not_started(stage: &mut Stage) {
    let order = stage.order(&[(LONG_S_CHARCOAL, 1)]);
    let sent = stage.send_at(order, Alder, "24T09:20");
    stage.sendings[sent].is(SubmissionStatus::Received, at("24T09:20"));
    stage.submission(Check::NotStarted, sent, &[], "alder-print has had it for 55 hours and has not begun.");

    let order = stage.order(&[(LOW_MUG_WHITE, 1), (TOWEL_MOSS, 1)]);
    let sent = stage.send_at(order, Brook, "24T10:15");
    stage.sendings[sent].is(SubmissionStatus::Making, at("25T12:00"));
    stage.line_of(sent, 2).status = Some(SubmissionStatus::Received);
    stage.submission(
        Check::NotStarted,
        sent,
        &[],
        "brook-print makes the mug; the tea towel still waits after 54 hours.",
    );

    let order = stage.order(&[(LONG_M_CHARCOAL, 1)]);
    let sent = stage.send_at(order, Alder, "24T18:20");
    stage.sendings[sent].is(SubmissionStatus::Received, at("24T18:20"));
    stage.decoy_submission(sent, "Not begun for 46 hours.");
}

fn part_dispatched(stage: &mut Stage) {
    let order = stage.order(&[(PUFFIN_S_WHITE, 1), (CURLEW_MOSS, 1)]);
    let (shirt, tote) = (stage.send(order, Alder), stage.send(order, Brook));
    stage.dispatch(shirt, "24T21:00");
    stage.sendings[tote].is(SubmissionStatus::Making, at("25T03:00"));
    let story = "The shirt left 43 hours ago; brook-print is still at the tote bag.";
    stage.lines(Check::PartDispatched, order, &[(2, 1)], story);

    let order = stage.order(&[(SMALL_APRON_NAVY, 1), (PUFFIN_M_NAVY, 2)]);
    let sent = stage.send(order, Alder);
    stage.sendings[sent].is(SubmissionStatus::Making, at("24T18:00"));
    stage.desk.parcel(&mut stage.sendings[sent], at("24T20:30"), &[1, 1]);
    let story = "The apron and one of two shirts left in one parcel; the second shirt does not follow.";
    stage.lines(Check::PartDispatched, order, &[(2, 1)], story);

    let order = stage.order(&[(SET_FOR_FOUR, 1), (LOW_MUG_NAVY, 1)]);
    let (mugs, apron) = (stage.send(order, Brook), stage.send(order, Alder));
    stage.dispatch(mugs, "24T22:00");
    stage.sendings[apron].is(SubmissionStatus::Making, at("24T18:10"));
    stage.is(order, OrderStatus::Dispatched);
    stage.lines(
        Check::PartDispatched,
        order,
        &[(1, 1)],
        "The storefront says dispatched since the mugs have left; the apron of the set is still being made.",
    );

    let order = stage.order(&[(PUFFIN_M_WHITE, 1), (CURLEW_CHARCOAL, 1)]);
    let (shirt, tote) = (stage.send(order, Alder), stage.send(order, Brook));
    stage.dispatch(shirt, "25T20:00");
    stage.sendings[tote].is(SubmissionStatus::Making, at("25T15:00"));
    stage.decoy(order, "The shirt left 20 hours ago: the tote bag has time to follow.");
}

fn late(stage: &mut Stage) {
    let order = stage.order(&[(GANNET_A3, 1)]);
    stage.promised_by(order, 25);
    let sent = stage.send(order, Cairn);
    stage.dispatch(sent, "25T11:00");
    stage.is(order, OrderStatus::Dispatched);
    stage.decoy(order, "Promised for Wednesday and dispatched; cairn-print tells of no parcels.");

    let order = stage.order(&[(LONG_L_NAVY, 1)]);
    stage.promised_by(order, 25);
    let sent = stage.send(order, Alder);
    stage.sendings[sent].is(SubmissionStatus::Making, at("24T19:00"));
    stage.lines(Check::Late, order, &[(1, 1)], "Promised for Wednesday and still being made.");

    let order = stage.order(&[(PUFFIN_L_NAVY, 1), (CURLEW_NAVY, 1)]);
    stage.promised_by(order, 25);
    let sent = stage.send(order, Alder);
    stage.dispatch(sent, "25T18:00");
    let story = "Promised for Wednesday; the shirt has left, and nobody was ever asked for the tote bag.";
    stage.gap(Check::PartSent, order, &[(2, 1, Reason::NotSent)], story);
    stage.lines(Check::Late, order, &[(2, 1)], story);

    let order = stage.order(&[(LONG_S_MOSS, 1)]);
    stage.promised_by(order, 25);
    let sent = stage.send(order, Alder);
    stage.sendings[sent].is(SubmissionStatus::Making, at("24T19:30"));
    stage.is(order, OrderStatus::Dispatched);
    let story = "Promised for Wednesday and marked as dispatched at the storefront, but nothing has left alder-print.";
    stage.lines(Check::Late, order, &[(1, 1)], story);

    let order = stage.order(&[(LONG_M_MOSS, 1)]);
    stage.promised_by(order, 25);
    let sent = stage.send(order, Alder);
    stage.dispatch(sent, "26T09:00");
    stage.is(order, OrderStatus::Dispatched);
    stage.decoy(order, "Left nine hours after its promise: no longer late, nothing to be done.");

    let order = stage.order(&[(LOW_MUG_NAVY, 2)]);
    stage.promised_by(order, 26);
    stage.serve(order);
    stage.decoy(order, "Promised for today: the day is not over.");
}

fn dispatch_unmarked(stage: &mut Stage) {
    let order = stage.order(&[(LARGE_APRON_MOSS, 1), (CURLEW_CHARCOAL, 1)]);
    let (apron, tote) = (stage.send(order, Alder), stage.send(order, Brook));
    stage.dispatch(apron, "24T23:30");
    stage.dispatch(tote, "25T09:10");
    stage.lines(
        Check::DispatchUnmarked,
        order,
        &[],
        "Both parcels have left, the last 31 hours ago, and the storefront still shows the order as open.",
    );
    let order = stage.order(&[(LONG_S_NAVY, 1)]);
    let sent = stage.send(order, Alder);
    stage.dispatch(sent, "26T01:00");
    stage.decoy(order, "Left 15 hours ago: the storefront has time to say so.");
}

fn replaced(stage: &mut Stage) {
    let order = stage.order(&[(TALL_MUG_WHITE, 1)]);
    let sent = stage.send(order, Brook);
    stage.dispatch(sent, "24T23:00");
    stage.is(order, OrderStatus::Dispatched);
    let again = stage.send_at(order, Brook, "26T10:00");
    let first = stage.sendings[sent].submission.submission_id.to_string();
    stage.sendings[again].submission.replaces = Some(first);
    stage.decoy(order, "The mug came broken and is made again; the second submission says what it replaces.");
}

fn own_stock(stage: &mut Stage) {
    let order = stage.order(&[(CARD, 3)]);
    stage.decoy(order, "Only cards, which the shop packs itself; open for two days.");
    let order = stage.order(&[(DOWNLOAD, 1)]);
    stage.decoy(order, "Only a download.");
}

fn not_owed(stage: &mut Stage) {
    let order = stage.order(&[(LONG_M_MOSS, 1)]);
    stage.send(order, Alder);
    stage.is(order, OrderStatus::Unpaid);
    stage.placed[order].order.paid_at = None;
    stage.decoy(order, "Not paid, though alder-print has the top already: of unpaid orders nothing is said.");

    let order = stage.order(&[(TOTE_MUSTARD, 1), (PUFFIN_S_MOSS, 1)]);
    stage.placed[order].order.paid_at = Some(When::at(at("26T16:25")));
    stage.decoy(order, "Paid after as-of: nothing is owed yet.");

    let order = stage.order(&[(TOTE_MUSTARD, 1)]);
    stage.decoy(order, "Placed after as-of: not there yet.");
}

fn sent_as_linked(stage: &mut Stage) {
    for (choice, story) in [
        (PUFFIN_M_PLUM, "Bought as plum M, linked to L and sent as L: the link is named, not the order."),
        (BAY_LEAF_XL_NAVY, "Bought as XL, linked to L and sent as L: the link is named, not the order."),
        (FENNEL_CHARCOAL, "Sent as the only fennel bag that there is: the offers are named, not the order."),
    ] {
        let order = stage.order(&[(choice, 1)]);
        stage.serve(order);
        stage.decoy(order, story);
    }
}

fn oddly_written(stage: &mut Stage) {
    let order = stage.order(&[(LOW_MUG_WHITE, 1)]);
    let sent = stage.send(order, Brook);
    let mut wrapping = stage.line_of(sent, 1).clone();
    wrapping.line_id = line_id(2);
    wrapping.sku = Sku::new("BK WRAPPING");
    wrapping.unit_cost = None;
    stage.sendings[sent].lines.push(wrapping);
    stage.sendings[sent].is(SubmissionStatus::Received, at("25T13:25"));
    stage.decoy(
        order,
        "brook-print adds a line for wrapping paper, whose SKU is in no table: it serves nothing.",
    );

    let order = stage.order(&[(LOW_MUG_WHITE, 4)]);
    let half = stage.asked(LOW_MUG_WHITE, 1, 2);
    stage.ask(&[order], Brook, "25T14:00", &[half]);
    stage.ask(&[order], Brook, "25T14:20", &[half]);
    stage.decoy(order, "Four mugs in two submissions of two.");
}
