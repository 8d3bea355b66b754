//! Orders in the terms of schema.org (JSON-LD), read with no mapping of the owner's.
//!
//! A document is made regular: one record an order, one a line, each value once, with the names of schema.org. What is
//! made of these is said by a mapping like any other, `data/schema_org.toml`, which is part of the program. Where a
//! document leaves something in doubt, the record bears a fault, and is a bad row. Start reading at `regular`; `context`
//! says what names mean, `graph` finds nodes and orders, `order` and `product` make the records, `terms` lists what is
//! read, `find` finds such files in a folder, `proposal` proposes the mapping. Must not know files or sources otherwise.
//!
//! Source: schema.org release 30.0; JSON-LD 1.1 (W3C).
//!
//! # What is not read
//!
//! - No term says when an order was paid: an `Invoice` says that, and until when, but not when. There is no `paid_at`,
//!   and graces run from `orderDate`.
//! - A `ParcelDelivery` names no supplier order and no time of dispatch, without which there is no parcel; no term says
//!   until when dispatch was promised (`expectedArrivalUntil` is when it arrives).
//! - An accepted `Offer` says what was bought at the time, not what can be bought now: it makes no row of `offers`.

mod context;
mod find;
mod graph;
mod order;
mod product;
mod proposal;
mod terms;
mod values;

use std::collections::BTreeSet;

use serde_json::{Map, Value, json};

use crate::bad_row::Fault;
use crate::tables::Column;
use graph::Graph;

pub use find::source_in;
pub(crate) use proposal::request;

/// The tables of a request, as the configuration has them below the request.
pub(crate) const MAPPING: &str = include_str!("../../data/schema_org.toml");

/// The members of the enumeration `OrderStatus`.
pub(crate) const STATUSES: [&str; 8] = [
    "OrderCancelled",
    "OrderDelivered",
    "OrderInTransit",
    "OrderPaymentDue",
    "OrderPickupAvailable",
    "OrderProblem",
    "OrderProcessing",
    "OrderReturned",
];

/// The name in a record under which stands what is wrong with it. No term of schema.org has such a name.
const FAULT: &str = "!";

/// The name in the record of a line under which stands how many are cancelled, where its `orderItemStatus` says that all
/// are: a mapping cannot say that one value is another.
pub(crate) const CANCELLED: &str = "cancelledQuantity";

/// How many names of properties that are not kept are told of one file.
const MAX_UNKEPT: usize = 20;

/// Names of further properties of products that were not taken for options, each once, the first by name.
#[derive(Default, PartialEq, Eq, Debug)]
pub(crate) struct Unkept(BTreeSet<String>);

impl Unkept {
    fn add(&mut self, name: &str) {
        if !self.0.contains(name) {
            self.0.insert(name.to_owned());
            if self.0.len() > MAX_UNKEPT {
                self.0.pop_last();
            }
        }
    }

    /// The names.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        self.0.iter().map(String::as_str)
    }
}

/// A document, made regular.
#[derive(Debug)]
pub(crate) struct Regular {
    /// `{"orders": [ … ]}`, each with its `orderedItem`.
    pub(crate) value: Value,
    /// How many orders there are.
    pub(crate) orders: usize,
    /// Of JSON Lines, for each order the number of its document, from 1.
    pub(crate) numbers: Option<Vec<usize>>,
    pub(crate) unkept: Unkept,
}

/// Makes a document regular. `is_stated` says that the owner has named the vocabulary, which the document then need not.
///
/// # Errors
/// What stands in the way, as a clause; also where there is neither an order nor an empty list where some could stand,
/// so that an answer of another kind does not pass for one without orders.
pub(crate) fn regular(document: &Value, is_stated: bool) -> Result<Regular, String> {
    let graph = Graph::of(document, is_stated)?;
    if graph.orders.is_empty() && !graph.has_empty_list {
        return Err(NO_ORDER.to_owned());
    }
    let mut orders = Vec::new();
    let unkept = records(&graph, &mut orders);
    Ok(Regular { orders: orders.len(), value: json!({ "orders": orders }), numbers: None, unkept })
}

/// Makes an export regular: a document, or those of JSON Lines, each of which is one by itself.
///
/// # Errors
/// As [`regular`], with the number of the document, which is 0 where that is all.
pub(crate) fn of_export(export: &Value, is_lines: bool, is_stated: bool) -> Result<Regular, (usize, String)> {
    let documents = match export {
        Value::Array(documents) if is_lines => documents,
        _ => return regular(export, is_stated).map_err(|found| (0, found)),
    };
    let (mut orders, mut numbers) = (Vec::new(), Vec::new());
    let mut unkept = Unkept::default();
    for (document, number) in documents.iter().zip(1..) {
        let graph = Graph::of(document, is_stated).map_err(|found| (number, found))?;
        for name in records(&graph, &mut orders).names() {
            unkept.add(name);
        }
        numbers.resize(orders.len(), number);
    }
    if orders.is_empty() {
        return Err((0, NO_ORDER.to_owned()));
    }
    let count = orders.len();
    Ok(Regular { value: json!({ "orders": orders }), orders: count, numbers: Some(numbers), unkept })
}

const NO_ORDER: &str = "no Order of schema.org stands there";

/// Adds the records of a document's orders. Answers what was not kept.
fn records(graph: &Graph, into: &mut Vec<Value>) -> Unkept {
    let mut unkept = Unkept::default();
    into.extend(graph.orders.iter().map(|index| order::record(graph, *index, &mut unkept)));
    unkept
}

/// What is wrong with a regular record, where something is.
pub(crate) fn fault_of(record: &Value) -> Option<Fault> {
    let fault = record.get(FAULT)?;
    let text = |name: &str| fault.get(name).and_then(Value::as_str).unwrap_or_default();
    Some(Fault::of(text("column"), text("found"), text("expected"), text("hint")))
}

/// A fault that was found by the mapping, with advice to whoever makes the document.
pub(crate) fn explained(fault: Fault) -> Fault {
    let terms = fault.column.as_deref().and_then(terms_of);
    let hint = match terms {
        Some(terms) => format!(
            "In schema.org it is {terms}: have the document say it so, or write the mapping out with `everyline source \
             propose` and say there what it means."
        ),
        None => {
            "Have the document mended, or write the mapping out with `everyline source propose`.".to_owned()
        }
    };
    Fault { hint, ..fault }
}

/// The terms of which a column is made.
fn terms_of(column: &str) -> Option<&'static str> {
    let column = column.split('.').next().unwrap_or_default();
    let is = |own: Column| own.name() == column;
    [
        (Column::OrderId, "orderNumber (else confirmationNumber, identifier or @id)"),
        (Column::PlacedAt, "orderDate"),
        (Column::Status, "orderStatus, one of the eight members of OrderStatus"),
        (Column::Currency, "priceCurrency of the acceptedOffer"),
        (Column::LineId, "orderItemNumber"),
        (Column::Quantity, "orderQuantity"),
        (Column::UnitPrice, "price of the acceptedOffer"),
        (Column::Options, "color, size, material, pattern and the additionalProperty that variesBy names"),
    ]
    .into_iter()
    .find(|(own, _)| is(*own))
    .map(|(_, terms)| terms)
}

/// Puts a value into a record, or notes why it cannot be.
fn put(
    record: &mut Map<String, Value>,
    name: &str,
    value: Result<Option<Value>, Fault>,
    faults: &mut Vec<Fault>,
) {
    match value {
        Ok(Some(value)) => {
            record.insert(name.to_owned(), value);
        }
        Ok(None) => {}
        Err(fault) => faults.push(fault),
    }
}

/// Notes the first fault in a record.
fn mark(record: &mut Map<String, Value>, faults: Vec<Fault>) {
    if let Some(Fault { column, found, expected, hint }) = faults.into_iter().next() {
        let fault = json!({"column": column, "found": found, "expected": expected, "hint": hint});
        record.insert(FAULT.to_owned(), fault);
    }
}
