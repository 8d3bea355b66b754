//! Whether a book holds together, by simple sums: keys, parents, the places of its plants, and that in orders
//! where nothing is planted every unit needed was sent, and no other.
//!
//! Knows nothing of the matching. Start reading at [`check`].

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fmt::Debug;
use std::hash::Hash;

use chrono::TimeDelta;
use model::book::{LinkScope, OrderStatus, SubmissionLine, SubmissionStatus};
use model::{Options, Sku};
use simshop::{Planted, Subject, TimeLeft};

/// Everything that holds for every book of this crate.
pub fn check(planted: &Planted) {
    keys_are_unique(planted);
    parents_are_there(planted);
    plants_are_in_their_places(planted);
    orders_without_a_plant_are_in_balance(planted);
}

fn unique<K: Eq + Hash + Debug>(table: &str, keys: impl Iterator<Item = K>) -> HashSet<K> {
    let mut seen = HashSet::new();
    for key in keys {
        let text = format!("{key:?}");
        assert!(seen.insert(key), "{table}: {text} comes twice");
    }
    seen
}

fn keys_are_unique(planted: &Planted) {
    let book = &planted.book;
    unique("orders", book.orders.iter().map(|row| &row.order_id));
    unique("order_lines", book.order_lines.iter().map(|row| (&row.order_id, &row.line_id)));
    unique("offers", book.offers.iter().flatten().map(|row| (&row.listing_id, &row.options)));
    unique("variants", book.variants.iter().flatten().map(|row| (&row.supplier, &row.variant_id)));
    unique("links", book.links.iter().flatten().map(|row| (&row.scope, &row.supplier, &row.variant_id)));
    let products = book.listing_products.iter().flatten();
    unique("listing_products", products.map(|row| (&row.listing_id, &row.supplier, &row.product)));
    unique("submissions", book.submissions.iter().flatten().map(|row| (&row.supplier, &row.submission_id)));
    let lines = book.submission_lines.iter().flatten();
    unique("submission_lines", lines.map(|row| (&row.supplier, &row.submission_id, &row.line_id)));
    unique("parcels", book.parcels.iter().flatten().map(|row| (&row.supplier, &row.parcel_id)));
    let lines = book.parcel_lines.iter().flatten();
    unique("parcel_lines", lines.map(|row| (&row.supplier, &row.parcel_id, &row.submission_line_id)));
    let ties = book.ties.iter().flatten();
    unique(
        "ties",
        ties.map(|row| (&row.order_id, &row.line_id, &row.submission_id, &row.submission_line_id)),
    );
}

fn parents_are_there(planted: &Planted) {
    let book = &planted.book;
    let orders: HashSet<_> = book.orders.iter().map(|order| &order.order_id).collect();
    for line in &book.order_lines {
        assert!(orders.contains(&line.order_id));
        assert!(line.quantity >= 1 && line.cancelled_quantity <= line.quantity);
    }
    let with_lines: HashSet<_> = book.order_lines.iter().map(|line| &line.order_id).collect();
    assert_eq!(orders, with_lines, "every order has lines");
    let sent: HashMap<_, _> = book
        .submissions
        .iter()
        .flatten()
        .map(|sent| ((&sent.supplier, &sent.submission_id), sent.received_at))
        .collect();
    for line in book.submission_lines.iter().flatten() {
        assert!(sent.contains_key(&(&line.supplier, &line.submission_id)) && line.quantity >= 1);
    }
    let quantities: HashMap<_, _> = book
        .submission_lines
        .iter()
        .flatten()
        .map(|line| ((&line.supplier, &line.submission_id, &line.line_id), line.quantity))
        .collect();
    let parcels: HashMap<_, _> = book
        .parcels
        .iter()
        .flatten()
        .map(|parcel| ((&parcel.supplier, &parcel.parcel_id), &parcel.submission_id))
        .collect();
    for parcel in book.parcels.iter().flatten() {
        assert!(sent[&(&parcel.supplier, &parcel.submission_id)] < parcel.dispatched_at);
    }
    for line in book.parcel_lines.iter().flatten() {
        let submission = parcels[&(&line.supplier, &line.parcel_id)];
        assert!(line.quantity <= quantities[&(&line.supplier, submission, &line.submission_line_id)]);
    }
    for tie in book.ties.iter().flatten() {
        assert!(orders.contains(&tie.order_id) && sent.contains_key(&(&tie.supplier, &tie.submission_id)));
    }
}

fn plants_are_in_their_places(planted: &Planted) {
    let book = &planted.book;
    let lines: HashMap<_, _> =
        book.order_lines.iter().map(|line| ((&line.order_id, &line.line_id), line)).collect();
    let sent: HashMap<_, _> = book
        .submission_lines
        .iter()
        .flatten()
        .map(|line| ((&line.supplier, &line.submission_id, &line.line_id), line))
        .collect();
    let orders: HashSet<_> = book.orders.iter().map(|order| &order.order_id).collect();
    let offers: HashSet<_> =
        book.offers.iter().flatten().map(|offer| (&offer.listing_id, &offer.options)).collect();
    unique("plants", planted.plants.iter().map(|plant| (plant.check, format!("{:?}", plant.subject))));
    for plant in &planted.plants {
        assert!(!plant.story.is_empty());
        for named in &plant.lines {
            let order = plant.subject.order_id().expect("lines of an order");
            let line = lines[&(order, &named.line_id)];
            assert!(named.units >= 1 && named.units <= u64::from(line.quantity_owed()), "{plant:?}");
        }
        for named in &plant.submission_lines {
            let (supplier, submission) = plant.subject.submission().expect("lines of a submission");
            let line = sent[&(supplier, submission, &named.line_id)];
            assert!(named.units >= 1 && named.units <= u64::from(line.quantity), "{plant:?}");
        }
        if let Some(order) = plant.subject.order_id() {
            assert!(orders.contains(order), "{plant:?}");
        }
        if let Subject::Offers(listing, options) = &plant.subject {
            assert!(options.iter().all(|options| offers.contains(&(listing, options))), "{plant:?}");
        }
        if let Some(TimeLeft::Until(moment)) = plant.time_left {
            assert!(moment > planted.as_of, "{plant:?}");
        }
    }
}

type Units = BTreeMap<(String, String), u64>;

/// By supplier and variant: what an order needs and what it got, where no plant or decoy is about it.
fn orders_without_a_plant_are_in_balance(planted: &Planted) {
    let book = &planted.book;
    let mut told: BTreeSet<&str> = planted
        .plants
        .iter()
        .map(|plant| &plant.subject)
        .chain(planted.decoys.iter().map(|decoy| &decoy.subject))
        .filter_map(|subject| subject.order_id().map(|order| order.as_str()))
        .collect();
    let links = Links::new(planted);
    let mut needed: HashMap<&str, Units> = HashMap::new();
    let mut sent: HashMap<&str, Units> = HashMap::new();
    for line in &book.order_lines {
        let units = needed.entry(line.order_id.as_str()).or_default();
        for (part, each) in links.of(line.listing_id.as_ref().map(|id| id.as_str()), &line.options, &line.sku)
        {
            *units.entry(part).or_default() += u64::from(line.quantity_owed() * each);
        }
    }
    let submissions: HashMap<_, _> =
        book.submissions.iter().flatten().map(|sent| ((&sent.supplier, &sent.submission_id), sent)).collect();
    let orders: HashMap<&str, _> = book.orders.iter().map(|order| (order.order_id.as_str(), order)).collect();
    let mut stuck = BTreeSet::new();
    for line in book.submission_lines.iter().flatten() {
        let submission = submissions[&(&line.supplier, &line.submission_id)];
        if !submission.status.is_live() || line.status.is_some_and(|status| !status.is_live()) {
            continue;
        }
        let reference = line.order_ref.as_ref().or(submission.order_ref.as_ref());
        let Some(reference) = reference else { continue };
        let order = reference.trim_start_matches("BP/").trim_end_matches("@kittiwake");
        let Some((order, _)) = orders.get_key_value(order) else { continue };
        *sent.entry(order).or_default().entry(links.made_by(line)).or_default() += u64::from(line.quantity);
        if submission.status == SubmissionStatus::Held
            || submission.status == SubmissionStatus::Received
                && submission.received_at.is_over(TimeDelta::hours(48), planted.as_of)
        {
            stuck.insert(*order);
        }
    }
    // What is planted about a submission is told about the orders that it is for, too.
    told.extend(stuck.iter().filter(|order| {
        planted
            .plants
            .iter()
            .map(|plant| &plant.subject)
            .chain(planted.decoys.iter().map(|d| &d.subject))
            .any(|subject| {
                subject.submission().is_some_and(|key| {
                    submissions[&key].order_ref.as_deref().is_some_and(|text| text.ends_with(**order))
                })
            })
    }));
    let young = planted.as_of - TimeDelta::minutes(185);
    for order in &book.orders {
        let id = order.order_id.as_str();
        if told.contains(id) {
            continue;
        }
        let mut needs = needed.remove(id).unwrap_or_default();
        needs.retain(|_, units| *units > 0);
        let got = sent.remove(id).unwrap_or_default();
        match order.status {
            OrderStatus::Unpaid | OrderStatus::Cancelled => assert!(got.is_empty(), "{id}: {got:?}"),
            _ if order.placed_at.begins() < young => assert_eq!(needs, got, "{id}"),
            _ => {
                let within = got.iter().all(|(part, units)| needs.get(part) >= Some(units));
                assert!(within, "{id}: {got:?} of {needs:?}");
            }
        }
        assert!(!stuck.contains(id), "{id}");
        if order.status == OrderStatus::Open {
            let promised = order.promised_by.expect("a promise").ends();
            assert!(promised > planted.as_of, "{id}");
        }
    }
}

/// The links of a book, resolved in the documented order.
struct Links<'a> {
    planted: &'a Planted,
    by_sku: HashMap<String, Vec<(String, String)>>,
}

impl<'a> Links<'a> {
    fn new(planted: &'a Planted) -> Self {
        let mut by_sku: HashMap<String, Vec<(String, String)>> = HashMap::new();
        for variant in planted.book.variants.iter().flatten() {
            let part = (variant.supplier.to_string(), variant.variant_id.to_string());
            let sku = variant.sku.clone().or_else(|| Sku::new(variant.variant_id.as_str()));
            by_sku.entry(sku.expect("a SKU").folded().to_owned()).or_default().push(part);
        }
        Self { planted, by_sku }
    }

    /// Parts with their units; empty for own stock and without a link.
    fn of(
        &self,
        listing: Option<&str>,
        options: &Option<Options>,
        sku: &Option<Sku>,
    ) -> Vec<((String, String), u32)> {
        let rows = || self.planted.book.links.iter().flatten();
        let is_offer = |scope: &LinkScope| matches!(scope, LinkScope::Offer(id, o) if Some(id.as_str()) == listing && Some(o) == options.as_ref());
        let is_sku = |scope: &LinkScope| matches!(scope, LinkScope::Sku(s) if Some(s) == sku.as_ref());
        let is_listing =
            |scope: &LinkScope| matches!(scope, LinkScope::Listing(id) if Some(id.as_str()) == listing);
        let tests: [&dyn Fn(&LinkScope) -> bool; 3] = [&is_offer, &is_sku, &is_listing];
        for test in tests {
            let parts: Vec<_> = rows().filter(|row| test(&row.scope)).collect();
            if !parts.is_empty() {
                let made = parts.into_iter().filter_map(|row| {
                    let variant = row.variant_id.as_ref()?.to_string();
                    Some(((row.supplier.to_string(), variant), row.units))
                });
                return made.collect();
            }
        }
        match sku.as_ref().and_then(|sku| self.by_sku.get(sku.folded())).map(Vec::as_slice) {
            Some([part]) => vec![(part.clone(), 1)],
            _ => Vec::new(),
        }
    }

    fn made_by(&self, line: &SubmissionLine) -> (String, String) {
        match (&line.variant_id, &line.sku) {
            (Some(id), _) => (line.supplier.to_string(), id.to_string()),
            (None, Some(sku)) => self
                .by_sku
                .get(sku.folded())
                .and_then(|parts| parts.first().cloned())
                .unwrap_or_else(|| (line.supplier.to_string(), sku.to_string())),
            (None, None) => (line.supplier.to_string(), String::new()),
        }
    }
}
