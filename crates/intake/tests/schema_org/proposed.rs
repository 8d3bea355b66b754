//! A sample in these terms: the mapping that is proposed is the program's own.

use std::collections::BTreeSet;

use intake::export::{Stated, read_bytes};
use intake::propose::{Answers, Asked, Beside, How, Proposal, ProposedRole, Sample, propose, text};
use intake::source::declare::{Declaration, Source};
use serde::Deserialize;
use serde_json::json;

use super::{order, read, read_by};

fn sample(name: &str, bytes: Vec<u8>) -> Sample {
    Sample { name: name.to_owned(), export: read_bytes(name, bytes, &Stated::default()).unwrap() }
}

fn proposed(samples: &[Sample], role: ProposedRole) -> Proposal {
    let asked = Asked {
        name: "till".to_owned(),
        role,
        zone: None,
        folder: ".".to_owned(),
        beside: Beside::default(),
        answers: Answers::default(),
    };
    propose(samples, &asked)
}

fn document() -> serde_json::Value {
    let mut document = order();
    document["orderedItem"][0]["orderedItem"]["additionalProperty"] =
        json!({"@type": "PropertyValue", "name": "Engraving", "value": "To Solveig, with love"});
    document
}

fn source(text: &str) -> Source {
    #[derive(Deserialize)]
    struct File {
        sources: std::collections::BTreeMap<String, Declaration>,
    }
    let file: File = toml::from_str(text).unwrap();
    file.sources["till"].check(chrono_tz::Tz::UTC).unwrap()
}

#[test]
fn every_field_is_sure_by_its_terms() {
    let samples = [sample("orders.jsonld", document().to_string().into_bytes())];
    let proposal = proposed(&samples, ProposedRole::Storefront);
    let fields: BTreeSet<String> = proposal
        .fields()
        .map(|field| format!("{}.{} {}: {}", field.table, field.column, field.how.word(), field.why))
        .collect();
    for want in [
        "orders.order_id sure: schema.org: orderNumber, else confirmationNumber, else identifier, else @id",
        "orders.placed_at sure: schema.org: orderDate",
        "orders.status sure: schema.org: orderStatus",
        "order_lines.line_id sure: schema.org: orderItemNumber, else its place within the order",
        "order_lines.quantity sure: schema.org: orderQuantity",
        "order_lines.cancelled_quantity sure: schema.org: orderItemStatus",
        "order_lines.unit_price sure: schema.org: acceptedOffer.price",
    ] {
        assert!(fields.contains(want), "{want}\nis not among\n{fields:#?}");
    }
    assert!(proposal.fields().all(|field| field.how == How::Sure && field.toml.is_some()));
    assert_eq!(fields.len(), 13, "{fields:#?}");
    let text = text(&proposal);
    assert!(text.contains("# Not kept: additionalProperty Engraving."), "{text}");
    assert!(!text.contains("Solveig"), "{text}");
}

#[test]
fn the_proposal_written_out_reads_as_the_vocabulary_alone() {
    let document = document();
    let bytes = document.to_string().into_bytes();
    let proposal = proposed(&[sample("orders.jsonld", bytes.clone())], ProposedRole::Storefront);
    let by_proposal = read_by(&source(&text(&proposal)), "orders.jsonld", &bytes).unwrap();
    assert_eq!(format!("{by_proposal:?}"), format!("{:?}", read(&document)));
    assert_eq!(by_proposal.book.order_lines.len(), 1);
}

#[test]
fn other_samples_beside_it_are_proposed_as_ever_and_a_supplier_has_no_such_orders() {
    let orders = sample("orders.jsonld", document().to_string().into_bytes());
    let offers = sample(
        "offers.csv",
        b"Listing,SKU,Title,Size,Price\nL-1,A-1,Apron,S,24.00\nL-1,A-2,Apron,M,24.00\nL-2,B-1,Mug,L,14.00\nL-2,B-2,Mug,S,14.00\n".to_vec(),
    );
    let proposal = proposed(&[orders.clone(), offers], ProposedRole::Storefront);
    let tables: BTreeSet<&str> = proposal.fields().map(|field| field.table).collect();
    assert!(tables.is_superset(&BTreeSet::from(["orders", "order_lines"])), "{tables:?}");
    assert!(
        !proposal.notes.iter().any(|note| note.contains("for the table orders.")),
        "{:?}",
        proposal.notes
    );
    source(&text(&proposal));
    let proposal = proposed(&[orders], ProposedRole::Supplier("alder-print".to_owned()));
    assert!(proposal.fields().all(|field| !field.why.starts_with("schema.org")));
}
