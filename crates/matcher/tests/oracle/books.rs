//! Random tiny books: few ids, few SKUs, few times, so that everything meets everything.
//!
//! A book is built from a sketch of small numbers, so that it shrinks to few and simple rows. Rows that would
//! break an invariant of `model::book` (a key given twice, a row without its parent) are left out while
//! building.

use std::collections::BTreeSet;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use model::book::{
    LinkRow, LinkScope, Offer, Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission, SubmissionLine,
    SubmissionStatus, Tie, Variant,
};
use model::reading::Reading;
use model::rules::{Graces, ReferenceForm};
use model::{Book, Currency, LineId, Money, Options, OrderId, Rules, Sku, SupplierId, VariantId, When};
use proptest::collection::vec;
use proptest::option::weighted;
use proptest::prelude::*;
use proptest::sample::select;
use regex::Regex;
use rust_decimal::Decimal;

use crate::oracle::case::{Case, after};

const SUPPLIERS: [&str; 2] = ["alder", "brook"];
const ORDERS: [&str; 3] = ["A", "B", "C"];
/// Stands for the last order in some books: a list of the other two, where it is not there.
const WITH_A_BLANK: &str = "A B";
/// By bytes, the last comes first: rows are not in the order in which they are compared.
const LINES: [&str; 3] = ["2", "10", "1"];
const SUBMISSIONS: [&str; 3] = ["S2", "S10", "S1"];
const PARCELS: [&str; 3] = ["P2", "P10", "P1"];
const VARIANTS: [&str; 3] = ["V1", "V2", "V3"];

/// What kind of books are wanted.
#[derive(Clone, Copy, Debug)]
pub struct Taste {
    /// Of twelve references, how many list several orders.
    pub merged: u32,
    /// How many lines an order has at most, and a submission.
    pub lines: usize,
    /// How many suppliers there are, and how many different variants each has.
    pub suppliers: usize,
    pub variants: usize,
    /// Whether all else happens too that may keep a unit from being matched: dead orders and submissions,
    /// tables not given, orders that are not reported. Offers are there with it only.
    pub everything: bool,
}

/// A random tiny book.
pub fn cases(taste: Taste) -> impl Strategy<Value = Case> {
    let sides = (
        maybe(if taste.everything { 0.85 } else { 0.98 }, vec(variant(taste), 1..=4)),
        maybe(if taste.everything { 0.75 } else { 0.4 }, vec(link(taste), 0..=4)),
        maybe(if taste.everything { 0.3 } else { 0.1 }, vec(link(taste), 1..=3)),
        maybe(if taste.everything { 0.4 } else { 0.0 }, vec(offer(), 0..=4)),
    );
    let sent = (
        maybe(if taste.everything { 0.93 } else { 1.0 }, vec(submission(taste), 0..=3)),
        maybe(if taste.everything { 0.06 } else { 0.0 }, Just(())),
        maybe(0.7, vec(parcel(), 0..=3)),
        maybe(0.3, vec(any::<[u8; 4]>(), 0..=2)),
    );
    let not_judged =
        maybe(if taste.everything { 0.08 } else { 0.0 }, select(vec!["A", "B", "N", WITH_A_BLANK]));
    let last_order = select(vec![ORDERS[2], WITH_A_BLANK]);
    let all = (vec(order(taste), 1..=3), sides, sent, rules(taste), not_judged, last_order);
    all.prop_map(|(orders, sides, sent, rules, not_judged, last_order)| {
        let mut case = Case { rules, ..Case::default() };
        case.book.not_judged.extend(not_judged.map(OrderId::from));
        add_orders(&mut case, orders, last_order);
        add_sides(&mut case, sides);
        let (submissions, without_lines, parcels, ties) = sent;
        if let Some(submissions) = submissions {
            add_submissions(&mut case, submissions, last_order);
            if without_lines.is_some() {
                case.book.submission_lines = None;
            }
            case.book.parcels = parcels.is_some().then(Vec::new);
            case.book.parcel_lines = parcels.is_some().then(Vec::new);
            add_parcels(&mut case, parcels.unwrap_or_default());
            case.book.ties = ties.is_some().then(Vec::new);
            add_ties(&mut case, ties.unwrap_or_default());
        }
        case
    })
}

/// The same rows in another order.
pub fn shuffled(case: &Case, order: u64) -> Case {
    let mut shuffled = case.clone();
    let mut state = order;
    let mut nothing: [(); 0] = [];
    shuffle_with(&mut shuffled.book.orders, &mut nothing, &mut state);
    shuffle_with(&mut shuffled.book.order_lines, &mut shuffled.readings.order_lines, &mut state);
    let book = &mut shuffled.book;
    shuffle_with(book.offers.as_deref_mut().unwrap_or_default(), &mut shuffled.readings.offers, &mut state);
    shuffle_with(
        book.variants.as_deref_mut().unwrap_or_default(),
        &mut shuffled.readings.variants,
        &mut state,
    );
    shuffle_with(book.submissions.as_deref_mut().unwrap_or_default(), &mut shuffled.cut_offs, &mut state);
    shuffle_with(book.links.as_deref_mut().unwrap_or_default(), &mut nothing, &mut state);
    shuffle_with(&mut book.owner_links, &mut nothing, &mut state);
    shuffle_with(book.submission_lines.as_deref_mut().unwrap_or_default(), &mut nothing, &mut state);
    shuffle_with(book.parcels.as_deref_mut().unwrap_or_default(), &mut nothing, &mut state);
    shuffle_with(book.parcel_lines.as_deref_mut().unwrap_or_default(), &mut nothing, &mut state);
    shuffle_with(book.ties.as_deref_mut().unwrap_or_default(), &mut nothing, &mut state);
    shuffled
}

/// Shuffles rows (Fisher and Yates), and with them what is listed in their order, if anything is.
fn shuffle_with<T>(rows: &mut [T], beside: &mut [impl Sized], state: &mut u64) {
    for at in (1..rows.len()).rev() {
        // The multiplier is Knuth's for linear congruential generators (MMIX).
        *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let other = usize::try_from(*state >> 33).expect("31 bits") % (at + 1);
        rows.swap(at, other);
        if !beside.is_empty() {
            beside.swap(at, other);
        }
    }
}

type OrderSketch = (Vec<LineSketch>, OrderStatus, When, Option<When>, Option<When>);

#[derive(Clone, Debug)]
struct LineSketch {
    listing: Option<&'static str>,
    options: Option<Options>,
    sku: Option<Sku>,
    quantity: u32,
    cancelled: u32,
    reading: Reading,
}

#[derive(Clone, Debug)]
struct VariantSketch {
    supplier: &'static str,
    variant: usize,
    sku: Option<Sku>,
    product: Option<&'static str>,
    reading: Reading,
    cost: Option<u32>,
    currency: Option<Currency>,
    available: bool,
}

#[derive(Clone, Debug)]
struct LinkSketch {
    scope: LinkScope,
    /// `None`: own stock.
    to: Option<(&'static str, usize)>,
    units: u32,
    in_force: bool,
}

type OfferSketch = (&'static str, Options, Option<Sku>, Reading, Option<u32>, Option<Currency>, bool);

#[derive(Clone, Debug)]
struct SubmissionSketch {
    supplier: &'static str,
    reference: Option<String>,
    status: SubmissionStatus,
    received_at: When,
    replaces: bool,
    updated_at: Option<When>,
    cut_off: Option<i64>,
    lines: Vec<SentSketch>,
}

#[derive(Clone, Debug)]
struct SentSketch {
    reference: Option<String>,
    line: Option<&'static str>,
    variant: Option<usize>,
    sku: Option<Sku>,
    quantity: u32,
    status: Option<SubmissionStatus>,
    updated_at: Option<When>,
}

type ParcelSketch = (u8, When, Vec<(u8, u32)>);

/// Something, with a chance from 0 to 1, both included.
fn maybe<T: std::fmt::Debug + Clone + 'static>(
    chance: f64,
    what: impl Strategy<Value = T> + 'static,
) -> BoxedStrategy<Option<T>> {
    if chance <= 0.0 {
        Just(None).boxed()
    } else if chance >= 1.0 {
        what.prop_map(Some).boxed()
    } else {
        weighted(chance, what).boxed()
    }
}

fn order(taste: Taste) -> impl Strategy<Value = OrderSketch> {
    let status = prop_oneof![
        if taste.everything { 12 } else { 60 } => Just(OrderStatus::Open),
        2 => Just(OrderStatus::Dispatched),
        2 => Just(OrderStatus::Cancelled),
        1 => Just(OrderStatus::Unpaid),
    ];
    let placed = prop_oneof![
        if taste.everything { 8 } else { 50 } => minutes(&[-120, -73 * 60, -59]),
        1 => days(),
        1 => minutes(&[0, 30]),
    ];
    let paid = prop_oneof![
        if taste.everything { 8 } else { 50 } => minutes(&[-90, -61, -60, -45, -30]),
        1 => days(),
        1 => minutes(&[0, 30]),
    ];
    let promised = prop_oneof![3 => minutes(&[-1, 0, 60]), 1 => days()];
    (vec(order_line(taste), 1..=taste.lines), status, placed, weighted(0.8, paid), weighted(0.3, promised))
}

fn order_line(taste: Taste) -> impl Strategy<Value = LineSketch> {
    let listing = prop_oneof![1 => Just(None), 3 => Just(Some("L1")), 1 => Just(Some("L2"))];
    let options = prop_oneof![1 => Just(None), 3 => some_options().prop_map(Some)];
    let cancelled = prop_oneof![6 => Just(0), 1 => 1..=3u32];
    (listing, options, sku(0.8), quantity(taste), cancelled, reading()).prop_map(
        |(listing, options, sku, quantity, cancelled, reading)| LineSketch {
            listing,
            options,
            sku,
            quantity,
            cancelled: cancelled.min(quantity),
            reading,
        },
    )
}

fn variant(taste: Taste) -> impl Strategy<Value = VariantSketch> {
    let product = select(vec![Some("Apron"), Some("Tote"), None]);
    // Mostly the first variant bears the first SKU and so on, so that most SKUs are unlike.
    let bears = move |(supplier, variant): (&'static str, usize)| {
        let its_own = Sku::new(format!("K{}", variant + 1)).filter(|_| supplier == SUPPLIERS[0]);
        let sku = prop_oneof![if taste.everything { 6 } else { 30 } => Just(its_own), 1 => Just(None), 1 => sku(1.0)];
        (Just(supplier), Just(variant), sku)
    };
    let bearing = (supplier(taste), which(taste)).prop_flat_map(bears);
    (bearing, product, reading(), weighted(0.8, 1..6u32), currency(), weighted_bool(0.85)).prop_map(
        |((supplier, variant, sku), product, reading, cost, currency, available)| VariantSketch {
            supplier,
            variant,
            sku,
            product,
            reading,
            cost,
            currency,
            available,
        },
    )
}

fn link(taste: Taste) -> impl Strategy<Value = LinkSketch> {
    let scope = prop_oneof![
        3 => (listing(), some_options()).prop_map(|(listing, options)| LinkScope::Offer(listing.into(), options)),
        3 => sku(1.0).prop_map(|sku| LinkScope::Sku(sku.expect("always one"))),
        1 => listing().prop_map(|listing| LinkScope::Listing(listing.into())),
    ];
    let to = prop_oneof![
        6 => (supplier(taste), which(taste)).prop_map(Some),
        1 => Just(None),
    ];
    let units = prop_oneof![6 => Just(1), 1 => Just(2)];
    (scope, to, units, weighted_bool(0.8)).prop_map(|(scope, to, units, in_force)| LinkSketch {
        scope,
        to,
        units,
        in_force,
    })
}

fn offer() -> impl Strategy<Value = OfferSketch> {
    (listing(), some_options(), sku(0.7), reading(), weighted(0.8, 1..6u32), currency(), weighted_bool(0.85))
}

fn submission(taste: Taste) -> impl Strategy<Value = SubmissionSketch> {
    let received_at = prop_oneof![
        if taste.everything { 8 } else { 50 } => minutes(&[-60, -61, -30, -13 * 60, -48 * 60, -49 * 60, -74 * 60]),
        1 => days(),
        1 => minutes(&[0, 10]),
    ];
    let updated_at = minutes(&[-60, -12 * 60, -13 * 60, 5]);
    let cut_off = weighted(0.6, select(vec![60, 120, 0, -1]));
    let lines = prop_oneof![12 => vec(sent(taste), 1..=taste.lines), 1 => Just(Vec::new())];
    (
        supplier(taste),
        reference(taste),
        status(taste),
        received_at,
        prop_oneof![15 => Just(false), 1 => Just(true)],
        weighted(0.3, updated_at),
        cut_off,
        lines,
    )
        .prop_map(|(supplier, reference, status, received_at, replaces, updated_at, cut_off, lines)| {
            SubmissionSketch {
                supplier,
                reference,
                status,
                received_at,
                replaces,
                updated_at,
                cut_off,
                lines,
            }
        })
}

fn sent(taste: Taste) -> impl Strategy<Value = SentSketch> {
    let line = prop_oneof![
        5 => Just(None),
        5 => select(&LINES[..]).prop_map(Some),
        1 => Just(Some("9")),
    ];
    (
        prop_oneof![7 => Just(None), 2 => reference(taste)],
        line,
        weighted(0.9, which(taste)),
        sku(0.4),
        quantity(taste),
        prop_oneof![8 => Just(None), 2 => status(taste).prop_map(Some)],
        weighted(0.1, minutes(&[-60, -13 * 60])),
    )
        .prop_map(|(reference, line, variant, sku, quantity, status, updated_at)| SentSketch {
            reference,
            line,
            variant,
            sku,
            quantity,
            status,
            updated_at,
        })
}

fn parcel() -> impl Strategy<Value = ParcelSketch> {
    let dispatched_at = prop_oneof![
        8 => minutes(&[-73 * 60, -72 * 60, -25 * 60, -24 * 60, -30]),
        1 => days(),
        1 => minutes(&[0, 10]),
    ];
    (any::<u8>(), dispatched_at, vec((any::<u8>(), select(vec![1, 2, 3, 0])), 0..=3))
}

fn rules(taste: Taste) -> impl Strategy<Value = Rules> {
    let rare = if taste.everything { 0.08 } else { 0.0 };
    let graces = (weighted(0.2, graces()), weighted(0.3, graces()), weighted(0.1, graces()));
    let references = (weighted(0.2, form()), weighted(0.2, (select(&SUPPLIERS[..]), form())));
    let from = || select(vec![-100, -119, -120, -24 * 60, 10]).prop_map(|at| after(at * 60));
    let reported = (maybe(rare, from()), maybe(rare, from()), maybe(rare, from()));
    // Of every currency that occurs.
    let fees = (select(vec![0, 10, 50]), weighted(0.5, (1..3u32, 1..3u32)));
    (graces, references, weighted_bool(0.2), reported, fees).prop_map(
        |((general, alder, own), (form, of_supplier), samples, (report_from, since, until), fees)| {
            let mut rules = Rules { report_from, since, until, ..Rules::default() };
            rules.graces = general.unwrap_or_default();
            rules.supplier_graces.extend(alder.map(|graces| (SupplierId::new("alder"), graces)));
            rules.supplier_graces.extend(own.map(|graces| (SupplierId::new("own"), graces)));
            rules.references = form.unwrap_or_default();
            rules.supplier_references.extend(of_supplier.map(|(supplier, form)| (supplier.into(), form)));
            if samples {
                rules.samples.push(Regex::new("^X").expect("a pattern"));
            }
            let (percent, unit) = fees;
            rules.fees.percent_of_price = Decimal::from(percent);
            if let Some((of_euro, of_crown)) = unit {
                let fee = |amount: u32, currency| Money::new(Decimal::from(amount), currency);
                rules.fees.per_unit = vec![fee(of_euro, euro()), fee(of_crown, crown())];
            }
            rules
        },
    )
}

fn graces() -> impl Strategy<Value = Graces> {
    (
        select(vec![30, 61, 120]),
        select(vec![60, 59]),
        select(vec![12, 13]),
        select(vec![48, 12]),
        select(vec![24, 72]),
    )
        .prop_map(|(submit, stray, hold, start, gap)| Graces {
            submit: TimeDelta::minutes(submit),
            stray: TimeDelta::minutes(stray),
            hold: TimeDelta::hours(hold),
            start: TimeDelta::hours(start),
            parcel_gap: TimeDelta::hours(gap),
            mark: TimeDelta::hours(gap),
        })
}

/// How references are written. What a pattern finds in an id without blanks is that id.
fn form() -> impl Strategy<Value = ReferenceForm> {
    let patterns = vec!["", "^no(\\w)$", "(n|no)(?P<order>[A-Z])", "[A-C]$"];
    (select(vec!["", "#"]), select(vec!["", "-x"]), select(patterns)).prop_map(|(prefix, suffix, pattern)| {
        let pattern = (!pattern.is_empty()).then(|| Regex::new(pattern).expect("a pattern"));
        ReferenceForm { prefix: prefix.into(), suffix: suffix.into(), pattern }
    })
}

fn weighted_bool(chance: f64) -> impl Strategy<Value = bool> {
    proptest::bool::weighted(chance)
}

fn minutes(all: &[i64]) -> impl Strategy<Value = When> + use<> {
    select(all.to_vec()).prop_map(|minutes| When::at(after(minutes * 60)))
}

fn days() -> impl Strategy<Value = When> {
    select(vec![24, 25, 21, 26]).prop_map(|day| {
        let day = NaiveDate::from_ymd_opt(2026, 11, day).expect("a day of November");
        When::day(day, Tz::UTC).expect("a day of the calendar")
    })
}

fn supplier(taste: Taste) -> impl Strategy<Value = &'static str> {
    prop_oneof![2 => Just(SUPPLIERS[0]), 1 => select(&SUPPLIERS[..taste.suppliers])]
}

fn which(taste: Taste) -> impl Strategy<Value = usize> {
    prop_oneof![3 => Just(0), 2 => 0..taste.variants]
}

fn listing() -> impl Strategy<Value = &'static str> {
    prop_oneof![3 => Just("L1"), 1 => Just("L2")]
}

fn some_options() -> impl Strategy<Value = Options> {
    let options =
        |pairs: &[(&str, &str)]| Options::from_pairs(pairs.iter().copied()).expect("one value each");
    prop_oneof![
        3 => Just(options(&[("Size", "S")])),
        2 => Just(options(&[("Size", "M")])),
        1 => select(vec![options(&[("size", "s")]), options(&[(" Size", "\u{ff33}")])]),
        1 => Just(options(&[])),
    ]
}

fn sku(known: f64) -> impl Strategy<Value = Option<Sku>> {
    let typed = prop_oneof![
        5 => Just("K1"),
        3 => Just("K2"),
        1 => Just("K3"),
        1 => select(vec!["k1", " K1", "\u{ff2b}1", "k2 "]),
        1 => select(vec!["V1", "v1"]),
    ];
    maybe(known, typed).prop_map(|typed| typed.and_then(Sku::new))
}

fn quantity(taste: Taste) -> impl Strategy<Value = u32> {
    prop_oneof![8 => Just(1), 4 => Just(2), if taste.everything { 1 } else { 4 } => Just(3), 1 => Just(0)]
}

fn reading() -> impl Strategy<Value = Reading> {
    let said = |word: Option<&str>| word.map(str::to_owned);
    let kind = |words: &[&'static str]| select(words.to_vec());
    (
        weighted(0.7, kind(&["apron", "tote"])),
        weighted(0.5, kind(&["S", "M"])),
        weighted(0.4, kind(&["moss", "white"])),
        weighted(0.06, kind(&["youth", "adult"])),
    )
        .prop_map(move |(product_type, size, colour, age_group)| Reading {
            product_type: said(product_type),
            size: said(size),
            colour: said(colour),
            age_group: said(age_group),
            left_over: Vec::new(),
        })
}

fn status(taste: Taste) -> impl Strategy<Value = SubmissionStatus> {
    prop_oneof![
        if taste.everything { 6 } else { 30 } => Just(SubmissionStatus::Received),
        3 => Just(SubmissionStatus::Making),
        3 => Just(SubmissionStatus::Dispatched),
        2 => Just(SubmissionStatus::Held),
        1 => Just(SubmissionStatus::Cancelled),
        1 => Just(SubmissionStatus::Rejected),
    ]
}

fn reference(taste: Taste) -> impl Strategy<Value = Option<String>> {
    let one = prop_oneof![
        12 => select(&ORDERS[..]).prop_map(Some),
        2 => select(vec!["#A", "B-x", "#A-x", "#C", "nA", "noB", "no A", "-x", "xA"]).prop_map(Some),
        1 => Just(None),
        1 => select(vec![Some("X"), Some("N"), Some("a")]),
    ];
    let several = select(vec![
        "A;B",
        "A; B;C",
        "C;A",
        "B A",
        "A B",
        "B\u{a0} A",
        "C B",
        "B;C",
        "#A;#B",
        "#A #B",
        "#A B",
        "B-x A-x",
        "noA;nB",
        "noA B",
        "xA B-x;C",
        "A;X",
        "X B",
        "A;N",
        ";A;A;",
    ])
    .prop_map(Some);
    prop_oneof![12 - taste.merged => one.boxed(), taste.merged => several.boxed()]
        .prop_map(|reference| reference.map(str::to_owned))
}

fn euro() -> Currency {
    "EUR".parse().expect("a currency of ISO 4217")
}

fn crown() -> Currency {
    "NOK".parse().expect("a currency of ISO 4217")
}

fn currency() -> impl Strategy<Value = Option<Currency>> {
    prop_oneof![8 => Just(Some(euro())), 1 => Just(Some(crown())), 1 => Just(None)]
}

fn add_orders(case: &mut Case, orders: Vec<OrderSketch>, last_order: &str) {
    let ids = [ORDERS[0], ORDERS[1], last_order];
    for (order_id, (lines, status, placed_at, paid_at, promised_by)) in ids.into_iter().zip(orders) {
        case.book.orders.push(Order {
            order_id: order_id.into(),
            placed_at,
            paid_at,
            status,
            currency: None,
            promised_by,
            ship_to_country: None,
            ship_to_digest: None,
            updated_at: None,
        });
        for (line_id, line) in LINES.into_iter().zip(lines) {
            case.readings.order_lines.push(line.reading);
            case.book.order_lines.push(OrderLine {
                order_id: order_id.into(),
                line_id: line_id.into(),
                listing_id: line.listing.map(Into::into),
                sku: line.sku,
                title: None,
                options: line.options,
                quantity: line.quantity,
                cancelled_quantity: line.cancelled,
                unit_price: None,
                updated_at: None,
            });
        }
    }
}

fn thing(supplier: &str, variant: usize) -> (SupplierId, VariantId) {
    (supplier.into(), VARIANTS[variant].into())
}

type Sides =
    (Option<Vec<VariantSketch>>, Option<Vec<LinkSketch>>, Option<Vec<LinkSketch>>, Option<Vec<OfferSketch>>);

fn link_rows(sketches: Vec<LinkSketch>) -> Vec<LinkRow> {
    let mut rows: Vec<LinkRow> = Vec::new();
    for sketch in sketches {
        let to = sketch.to.map(|(supplier, variant)| thing(supplier, variant));
        let row = LinkRow {
            scope: sketch.scope,
            supplier: to.as_ref().map_or(SupplierId::OWN.into(), |(supplier, _)| supplier.clone()),
            variant_id: to.map(|(_, variant)| variant),
            units: sketch.units,
            in_force: sketch.in_force,
        };
        if !rows.contains(&row) {
            rows.push(row);
        }
    }
    rows
}

fn add_sides(case: &mut Case, (variants, links, said, offers): Sides) {
    case.book.variants = variants.map(|sketches| {
        let mut keys = BTreeSet::new();
        let mut rows = Vec::new();
        for sketch in sketches {
            let (supplier, variant_id) = thing(sketch.supplier, sketch.variant);
            if !keys.insert((supplier.clone(), variant_id.clone())) {
                continue;
            }
            case.readings.variants.push(sketch.reading);
            rows.push(Variant {
                supplier,
                variant_id,
                sku: sketch.sku,
                product: sketch.product.map(str::to_owned),
                options: None,
                unit_cost: sketch.cost.map(Decimal::from),
                currency: sketch.currency,
                available: sketch.available,
            });
        }
        rows
    });
    case.book.links = links.map(link_rows);
    case.book.owner_links = said.map(link_rows).unwrap_or_default();
    case.book.offers = offers.map(|sketches| {
        let mut keys = BTreeSet::new();
        let mut rows = Vec::new();
        for (listing, options, sku, reading, price, currency, buyable) in sketches {
            if !keys.insert((listing, options.clone())) {
                continue;
            }
            case.readings.offers.push(reading);
            rows.push(Offer {
                listing_id: listing.into(),
                sku,
                title: None,
                options,
                price: price.map(Decimal::from),
                currency,
                buyable,
            });
        }
        rows
    });
}

fn add_submissions(case: &mut Case, sketches: Vec<SubmissionSketch>, last_order: &str) {
    let to_it = |reference: Option<String>| reference.map(|text| text.replace(ORDERS[2], last_order));
    let mut submissions = Vec::new();
    let mut submission_lines = Vec::new();
    for (submission_id, sketch) in SUBMISSIONS.into_iter().zip(sketches) {
        case.cut_offs.push(sketch.cut_off.map(|minutes: i64| -> DateTime<Utc> { after(minutes * 60) }));
        submissions.push(Submission {
            supplier: sketch.supplier.into(),
            submission_id: submission_id.into(),
            order_ref: to_it(sketch.reference),
            status: sketch.status,
            received_at: sketch.received_at,
            replaces: sketch.replaces.then(|| "S0".to_owned()),
            updated_at: sketch.updated_at,
        });
        for (line_id, line) in LINES.into_iter().zip(sketch.lines) {
            submission_lines.push(SubmissionLine {
                supplier: sketch.supplier.into(),
                submission_id: submission_id.into(),
                line_id: line_id.into(),
                order_ref: to_it(line.reference),
                order_line_ref: line.line.map(Into::into),
                variant_id: line.variant.map(|variant| VARIANTS[variant].into()),
                sku: line.sku,
                quantity: line.quantity,
                status: line.status,
                unit_cost: None,
                updated_at: line.updated_at,
            });
        }
    }
    case.book.submissions = Some(submissions);
    case.book.submission_lines = Some(submission_lines);
}

/// The row that a random number means, if there are any.
fn pick<T>(rows: &[T], number: u8) -> Option<&T> {
    rows.get(usize::from(number).checked_rem(rows.len())?)
}

fn lines_of<'a>(book: &'a Book, submission: &Submission) -> Vec<&'a SubmissionLine> {
    let lines = book.submission_lines.iter().flatten();
    lines.filter(|line| line.submission_id == submission.submission_id).collect()
}

fn add_parcels(case: &mut Case, sketches: Vec<ParcelSketch>) {
    let book = &mut case.book;
    let submissions = book.submissions.clone().unwrap_or_default();
    for (parcel_id, (submission, dispatched_at, carried)) in PARCELS.into_iter().zip(sketches) {
        let Some(submission) = pick(&submissions, submission) else { continue };
        book.parcels.get_or_insert_default().push(Parcel {
            supplier: submission.supplier.clone(),
            parcel_id: parcel_id.into(),
            submission_id: submission.submission_id.clone(),
            dispatched_at,
            carrier: None,
            tracking_number: None,
        });
        let mut packed: BTreeSet<LineId> = BTreeSet::new();
        for (line, quantity) in carried {
            let lines = lines_of(book, submission);
            let Some(line_id) = pick(&lines, line).map(|line| line.line_id.clone()) else { continue };
            if packed.insert(line_id.clone()) {
                book.parcel_lines.get_or_insert_default().push(ParcelLine {
                    supplier: submission.supplier.clone(),
                    parcel_id: parcel_id.into(),
                    submission_line_id: line_id,
                    quantity,
                });
            }
        }
    }
}

fn add_ties(case: &mut Case, sketches: Vec<[u8; 4]>) {
    let book = &mut case.book;
    let submissions = book.submissions.clone().unwrap_or_default();
    for [line, submission, submission_line, whole] in sketches {
        let Some(submission) = pick(&submissions, submission) else { continue };
        let Some(line) = pick(&book.order_lines, line) else { continue };
        let lines = lines_of(book, submission);
        let tie = Tie {
            order_id: line.order_id.clone(),
            line_id: line.line_id.clone(),
            supplier: submission.supplier.clone(),
            submission_id: submission.submission_id.clone(),
            submission_line_id: pick(&lines, submission_line)
                .filter(|_| whole % 2 == 0)
                .map(|line| line.line_id.clone()),
        };
        let ties = book.ties.get_or_insert_default();
        if !ties.contains(&tie) {
            ties.push(tie);
        }
    }
}
