//! Orders in the terms of schema.org, read with no mapping: what each term comes to, in every legal spelling, and what is
//! said of documents that leave something in doubt.
//!
//! The documents are invented and follow the vocabulary; the shop and its customers do not exist. Start reading at the
//! names of the tests.

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

mod doubtful;
mod live;
mod meaning;
mod proposed;
mod spellings;

use std::fs;

use chrono_tz::Tz;
use intake::source::declare::{Declaration, Source};
use intake::{Folder, FolderError, ReadSettings, read_samples};
use model::Rules;
use serde_json::{Value, json};

/// The address of the vocabulary.
const SCHEMA: &str = "https://schema.org";

/// A source of a file in these terms.
fn source(file: &str) -> Source {
    let text = format!(
        "role = \"storefront\"\nfolder = \".\"\n[requests.orders]\nfile = \"{file}\"\nvocabulary = \"schema.org\"\n"
    );
    toml::from_str::<Declaration>(&text).unwrap().check(Tz::UTC).unwrap()
}

/// Reads the bytes of a file by a source.
fn read_by(source: &Source, file: &str, bytes: &[u8]) -> Result<Folder, FolderError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(file);
    fs::write(&path, bytes).unwrap();
    let rules = Rules::default();
    read_samples(&[path], &[source], &ReadSettings { zone: Tz::UTC, rules: &rules })
}

/// Reads a document.
fn read(document: &Value) -> Folder {
    let folder = read_by(&source("orders.jsonld"), "orders.jsonld", document.to_string().as_bytes());
    folder.unwrap()
}

/// What is said of the rows of a document that cannot be read.
fn said(document: &Value) -> String {
    let rows: Vec<String> = read(document).bad_rows.iter().map(ToString::to_string).collect();
    rows.join("\n")
}

/// An order of one product, to be changed.
fn order() -> Value {
    json!({
        "@context": SCHEMA,
        "@type": "Order",
        "orderNumber": "1001",
        "orderDate": "2026-11-24T10:02:00+01:00",
        "orderStatus": "https://schema.org/OrderProcessing",
        "orderedItem": [{
            "@type": "OrderItem",
            "orderItemNumber": "7",
            "orderQuantity": 2,
            "orderedItem": {"@type": "Product", "sku": "AP-MOSS-L", "name": "Otter at the stove"}
        }]
    })
}

/// An order, changed.
fn with(change: impl FnOnce(&mut Value)) -> Value {
    let mut order = order();
    change(&mut order);
    order
}
