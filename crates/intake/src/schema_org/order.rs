//! One order as a regular record: its own values, its lines, and what the document leaves in doubt.
//!
//! The record has the names of schema.org, each value once; a mapping reads it. Which of `orderedItem` and
//! `acceptedOffer` are the lines: the ordered items, where there are some, and the offers say their prices; otherwise the
//! offers. Must not know how a document is written, or what a table takes. Start reading at [`record`]; `product` reads
//! what was ordered.

use std::collections::{BTreeSet, HashMap};

use serde_json::{Map, Value, json};

use super::Unkept;
use super::graph::{Graph, Index, Node, Term, is_of_order_item};
use super::product::{self, Offered};
use super::{mark, put};
use crate::bad_row::{Fault, shown};
use crate::source::mapping::scalar_text;

/// How many parcels of an order are looked at for the country that they go to.
const DELIVERIES: usize = 100;

/// How many order items may lead to each other before it is said that they do.
const STEPS: usize = 100;

/// A line of an order: the order item, where there is one, and what was ordered.
struct Line {
    item: Option<Index>,
    product: Option<Index>,
    offer: Option<Offered>,
}

/// The record of an order. What is not kept of its products is told to `unkept`.
pub(super) fn record(graph: &Graph, index: Index, unkept: &mut Unkept) -> Value {
    let node = graph.node(index);
    let mut record = Map::new();
    let mut faults = Vec::new();
    for term in ["orderNumber", "confirmationNumber", "orderDate"] {
        put(&mut record, term, graph.scalar(node, term), &mut faults);
    }
    let identifier = graph.one(node, "identifier").map(|value| value.and_then(|value| graph.called(value)));
    put(&mut record, "identifier", identifier.map(|text| text.map(Value::String)), &mut faults);
    // An id that holds within the document alone names nothing outside it.
    if let Some(id) = node.id.as_ref().filter(|id| !id.starts_with("_:")) {
        record.insert("@id".into(), id.as_str().into());
    }
    put(&mut record, "orderStatus", graph.word(node, "orderStatus"), &mut faults);
    let number = record.get("orderNumber").and_then(scalar_text);
    if let Some(country) = country(graph, index, node, number.as_deref()) {
        record.insert("orderDelivery".into(), json!({"deliveryAddress": {"addressCountry": country}}));
    }
    match lines(graph, node) {
        Ok((lines, currency)) => {
            if let Some(currency) = currency {
                record.insert("acceptedOffer".into(), json!({"priceCurrency": currency}));
            }
            record.insert("orderedItem".into(), line_records(graph, &lines, unkept));
        }
        Err(fault) => faults.push(fault),
    }
    mark(&mut record, faults);
    Value::Object(record)
}

/// The one country to which an order goes, where the document names one.
fn country(graph: &Graph, index: Index, node: &Node, number: Option<&str>) -> Option<String> {
    let of_lines = node
        .values("orderedItem")
        .iter()
        .filter_map(|term| graph.resolve(term))
        .flat_map(|item| graph.node(item).values("orderDelivery"));
    let own = node.values("orderDelivery").iter().chain(of_lines).filter_map(|term| graph.resolve(term));
    let countries: BTreeSet<String> = own
        .chain(graph.deliveries_of(index, number))
        .take(DELIVERIES)
        .filter_map(|delivery| {
            let address = graph.one_node(graph.node(delivery), "deliveryAddress").ok()??;
            graph.called(graph.one(graph.node(address), "addressCountry").ok()??)
        })
        .collect();
    let mut countries = countries.into_iter();
    countries.next().filter(|_| countries.next().is_none())
}

/// The lines of an order, and its currency.
fn lines(graph: &Graph, node: &Node) -> Result<(Vec<Line>, Option<String>), Fault> {
    for term in ["orderedItem", "acceptedOffer"] {
        if node.is_torn(term) {
            let found = "two places of the document give it differently for this order";
            return Err(Fault::of(term, found, "the order with all its items in one place", "Give it once."));
        }
    }
    let offers = offers(graph, node)?;
    let currency = currency(&offers)?;
    let ordered = node.values("orderedItem");
    if !ordered.is_empty() {
        let mut lines = ordered_items(graph, ordered)?;
        give_offers(graph, &mut lines, offers)?;
        return Ok((lines, currency));
    }
    if offers.is_empty() {
        let found = "the Order has neither an orderedItem nor an acceptedOffer";
        return Err(Fault::of("orderedItem", found, "what was ordered", "Have it say what was ordered."));
    }
    if offers.iter().any(|offer| !offer.says_what(graph)) {
        let found = "an accepted Offer says neither itemOffered nor sku nor name";
        return Err(Fault::of("acceptedOffer", found, "an Offer of something", "Have it say of what."));
    }
    let line = |offer: Offered| Line { item: None, product: offer.item, offer: Some(offer) };
    Ok((offers.into_iter().map(line).collect(), currency))
}

fn offers(graph: &Graph, node: &Node) -> Result<Vec<Offered>, Fault> {
    let offer = |term: &Term| match graph.resolve(term) {
        Some(index) if !graph.node(index).is_bare() => Offered::of(graph, index),
        _ => Err(not_described(graph, term, "acceptedOffer", "an Offer")),
    };
    node.values("acceptedOffer").iter().map(offer).collect()
}

/// The one currency of the offers.
fn currency(offers: &[Offered]) -> Result<Option<String>, Fault> {
    let known: BTreeSet<&String> = offers.iter().filter_map(|offer| offer.currency.as_ref()).collect();
    let mut known = known.into_iter();
    match (known.next(), known.next()) {
        (Some(one), Some(other)) => {
            let found = format!("the order's offers are in {} and in {}", shown(one), shown(other));
            Err(Fault::of("priceCurrency", found, "one currency in an order", "Have it priced in one."))
        }
        (one, _) => Ok(one.cloned()),
    }
}

fn ordered_items(graph: &Graph, ordered: &[Term]) -> Result<Vec<Line>, Fault> {
    let mut lines = Vec::new();
    let mut direct = BTreeSet::new();
    for term in ordered {
        let index = match graph.resolve(term) {
            Some(index) if !graph.node(index).is_bare() => index,
            _ => {
                return Err(not_described(
                    graph,
                    term,
                    "orderedItem",
                    "an OrderItem, a Product or a Service",
                ));
            }
        };
        if graph.node(index).is_a("Order") {
            let found = "an Order stands there";
            let expected = "an OrderItem, a Product or a Service";
            return Err(Fault::of("orderedItem", found, expected, "Have each order by itself."));
        }
        if is_of_order_item(graph.node(index)) {
            lines.push(Line { item: Some(index), product: Some(within(graph, index)?), offer: None });
            continue;
        }
        if !direct.insert(index) {
            let found = "the same product stands there twice, and a list of JSON-LD means it once";
            let expected = "an OrderItem with its orderQuantity";
            return Err(Fault::of("orderedItem", found, expected, "Have the quantity said so."));
        }
        lines.push(Line { item: None, product: Some(index), offer: None });
    }
    Ok(lines)
}

/// What an order item is of.
fn within(graph: &Graph, item: Index) -> Result<Index, Fault> {
    let inner = |item: Index| match graph.one(graph.node(item), "orderedItem") {
        Ok(Some(term)) => match graph.resolve(term) {
            Some(index) if !graph.node(index).is_bare() => Ok(index),
            _ => Err(not_described(graph, term, "orderedItem", "a Product or a Service")),
        },
        Ok(None) => {
            let found = "an OrderItem has no orderedItem";
            Err(Fault::of("orderedItem", found, "the Product or Service that it is of", "Have it say that."))
        }
        Err(fault) => Err(fault),
    };
    let first = inner(item)?;
    if !is_of_order_item(graph.node(first)) {
        return Ok(first);
    }
    let mut seen = vec![item];
    let mut next = first;
    while seen.len() < STEPS && is_of_order_item(graph.node(next)) {
        if seen.contains(&next) {
            let id = graph.node(next).id.as_deref().unwrap_or_default();
            let found = format!("the OrderItem {} leads back to itself", shown(id));
            let expected = "an OrderItem of a Product or a Service";
            return Err(Fault::of("orderedItem", found, expected, "Correct its orderedItem."));
        }
        seen.push(next);
        match inner(next) {
            Ok(index) => next = index,
            Err(_) => break,
        }
    }
    let found = "an OrderItem stands within an OrderItem, so that it cannot be told how many are meant";
    let expected = "an OrderItem of a Product or a Service";
    Err(Fault::of("orderedItem", found, expected, "Have each line as an OrderItem of the Order itself."))
}

fn not_described(graph: &Graph, term: &Term, column: &str, expected: &str) -> Fault {
    let id = match term {
        Term::Scalar(value) => scalar_text(value),
        Term::Node(index) => graph.node(*index).id.clone(),
    };
    let found = match id {
        Some(id) => format!("{} stands there, of which the document says nothing", shown(&id)),
        None => "something stands there of which nothing is said".to_owned(),
    };
    Fault::of(column, found, expected, "Have it described in the same document; nothing is fetched.")
}

/// By what an offer and an ordered item are known to be of the same thing.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
enum Key {
    Node(Index),
    Sku(String),
    Name(String),
}

fn keys(graph: &Graph, product: Option<Index>, sku: Option<&str>) -> Vec<Key> {
    let mut keys = Vec::new();
    keys.extend(product.map(Key::Node));
    let own = product.and_then(|index| product::text(graph, index, "sku"));
    keys.extend(own.as_deref().or(sku).map(|sku| Key::Sku(sku.to_owned())));
    keys.extend(product.and_then(|index| product::text(graph, index, "name")).map(Key::Name));
    keys
}

/// Gives each line the offer that is for it.
fn give_offers(graph: &Graph, lines: &mut [Line], mut offers: Vec<Offered>) -> Result<(), Fault> {
    if let ([line], [offer]) = (&mut *lines, offers.as_slice())
        && !offer.is_of_another(graph, line.product)
    {
        line.offer = offers.pop();
        return Ok(());
    }
    let mut by_key: HashMap<Key, Vec<usize>> = HashMap::new();
    for (number, line) in lines.iter().enumerate() {
        for key in keys(graph, line.product, None) {
            by_key.entry(key).or_default().push(number);
        }
    }
    let mut groups: Vec<(Key, Vec<Offered>)> = Vec::new();
    let mut group_of: HashMap<Key, usize> = HashMap::new();
    for offer in offers {
        let found = keys(graph, offer.item, offer.sku.as_deref());
        if found.is_empty() {
            // A price of nothing in particular.
            continue;
        }
        let Some(key) = found.into_iter().find(|key| by_key.contains_key(key)) else {
            let what = offer.shown(graph);
            let found = format!("the accepted Offer of {what} is of none of the ordered items");
            let expected = "an orderedItem for each acceptedOffer, or no orderedItem at all";
            return Err(Fault::of("acceptedOffer", found, expected, "Have both say the same items."));
        };
        let group = *group_of.entry(key.clone()).or_insert_with(|| {
            groups.push((key, Vec::new()));
            groups.len() - 1
        });
        groups[group].1.push(offer);
    }
    for (key, offers) in groups {
        let numbers = by_key.get(&key).map(Vec::as_slice).unwrap_or_default();
        let is_one_price = offers.iter().all(|offer| offer.says_the_same(&offers[0]));
        if !is_one_price && offers.len() != numbers.len() {
            let what = offers[0].shown(graph);
            let found = format!("{} accepted Offers of {what} differ", offers.len());
            let expected = "one Offer for each ordered item";
            return Err(Fault::of("acceptedOffer", found, expected, "Have one for each."));
        }
        for (place, number) in numbers.iter().enumerate() {
            let offer = offers.get(place).filter(|_| !is_one_price).unwrap_or(&offers[0]).clone();
            let line = &mut lines[*number];
            if line.offer.as_ref().is_some_and(|other| !other.says_the_same(&offer)) {
                let found = format!("two accepted Offers of {} differ", offer.shown(graph));
                let expected = "one Offer for each ordered item";
                return Err(Fault::of("acceptedOffer", found, expected, "Have one for each."));
            }
            line.offer = Some(offer);
        }
    }
    Ok(())
}

fn line_records(graph: &Graph, lines: &[Line], unkept: &mut Unkept) -> Value {
    let number_of = |line: &Line| {
        let item = line.item.map(|item| graph.node(item))?;
        graph.scalar(item, "orderItemNumber").ok()?.as_ref().and_then(scalar_text)
    };
    let numbers: BTreeSet<String> = lines.iter().filter_map(number_of).collect();
    let records = lines.iter().enumerate().map(|(place, line)| {
        let mut record = Map::new();
        let mut faults = Vec::new();
        let place = (place + 1).to_string();
        if number_of(line).is_none() && numbers.contains(&place) {
            let found = format!("it has none, and its place, {place}, is the number of another item");
            let hint = "Have all items numbered, or none.";
            faults.push(Fault::of("orderItemNumber", found, "a number of its own", hint));
        }
        let item = line.item.map(|item| graph.node(item));
        if let Some(item) = item {
            put(&mut record, "orderItemNumber", graph.scalar(item, "orderItemNumber"), &mut faults);
            put(&mut record, "orderItemStatus", graph.word(item, "orderItemStatus"), &mut faults);
        }
        put(&mut record, "orderQuantity", quantity(graph, line).map(Some), &mut faults);
        if record.get("orderItemStatus").and_then(Value::as_str) == Some("OrderCancelled")
            && let Some(quantity) = record.get("orderQuantity").cloned()
        {
            record.insert(super::CANCELLED.into(), quantity);
        }
        if let Some(status) = record.get("orderItemStatus").and_then(Value::as_str)
            && !super::STATUSES.contains(&status)
        {
            let found = format!("{} is no OrderStatus", shown(status));
            let expected = format!("one of {}", super::STATUSES.join(", "));
            faults.push(Fault::of("orderItemStatus", found, expected, "Have it say one of those."));
        }
        match product::record(graph, line.product, line.offer.as_ref(), unkept) {
            Ok(product) => {
                record.insert("orderedItem".into(), product);
            }
            Err(fault) => faults.push(fault),
        }
        if let Some(offer) = &line.offer {
            record.insert("acceptedOffer".into(), offer.record(graph));
        }
        mark(&mut record, faults);
        Value::Object(record)
    });
    Value::Array(records.collect())
}

/// How many were ordered. An order item that does not say it is of one (schema.org, `orderQuantity`).
fn quantity(graph: &Graph, line: &Line) -> Result<Value, Fault> {
    let own = match line.item {
        Some(item) => {
            let said = graph.quantity(graph.node(item), "orderQuantity")?;
            Some(said.unwrap_or_else(|| Value::from(1)))
        }
        None => None,
    };
    let offered = line.offer.as_ref().and_then(|offer| offer.quantity.clone());
    match (own, offered) {
        (Some(own), Some(offered)) if scalar_text(&own) != scalar_text(&offered) => {
            let text = |value: &Value| shown(&scalar_text(value).unwrap_or_default());
            let found = format!(
                "it is {} (one where nothing is said), and the eligibleQuantity of its Offer is {}",
                text(&own),
                text(&offered)
            );
            Err(Fault::of("orderQuantity", found, "one quantity", "Have both say the same, or one."))
        }
        (Some(quantity), _) | (None, Some(quantity)) => Ok(quantity),
        (None, None) => Ok(Value::from(1)),
    }
}
