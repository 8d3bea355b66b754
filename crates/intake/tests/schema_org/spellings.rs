//! One order in many spellings that mean the same.

use intake::{Folder, read_samples};
use serde_json::{Value, json};

use super::{SCHEMA, order, read, read_by, source, with};

/// All that was read.
fn book(folder: &Folder) -> String {
    assert_eq!(folder.bad_row_count, 0, "{:?}", folder.bad_rows);
    assert_eq!((folder.book.orders.len(), folder.book.order_lines.len()), (1, 1), "{:?}", folder.book);
    format!("{:?}", folder.book)
}

/// The same order with all names and values as JSON-LD has them when it is expanded.
fn expanded() -> Value {
    json!([{
        "@type": ["http://schema.org/Order"],
        "http://schema.org/orderNumber": [{"@value": "1001"}],
        "http://schema.org/orderDate": [{
            "@type": "http://schema.org/DateTime", "@value": "2026-11-24T10:02:00+01:00"
        }],
        "http://schema.org/orderStatus": [{"@id": "http://schema.org/OrderProcessing"}],
        "http://schema.org/orderedItem": [{
            "@type": ["http://schema.org/OrderItem"],
            "http://schema.org/orderItemNumber": [{"@value": "7"}],
            "http://schema.org/orderQuantity": [{"@value": 2}],
            "http://schema.org/orderedItem": [{
                "@type": ["http://schema.org/Product"],
                "http://schema.org/sku": [{"@value": "AP-MOSS-L"}],
                "http://schema.org/name": [{"@value": "Otter at the stove", "@language": "en"}]
            }]
        }]
    }])
}

/// The same order as a flat graph, everything by reference.
fn graph() -> Value {
    json!({
        "@context": {"@vocab": "http://schema.org/", "shop": "https://shop.example/"},
        "@graph": [
            {"@id": "shop:p1", "@type": "Product", "sku": "AP-MOSS-L", "name": "Otter at the stove"},
            {
                "@id": "_:order", "@type": "Order", "orderNumber": "1001",
                "orderDate": "2026-11-24T10:02:00+01:00", "orderStatus": "OrderProcessing",
                "orderedItem": {"@id": "_:line"}
            },
            {
                "@id": "_:line", "@type": "OrderItem", "orderItemNumber": "7", "orderQuantity": 2,
                "orderedItem": {"@id": "https://shop.example/p1"}
            },
            {"@type": "Person", "name": "Solveig Invented", "email": "solveig@example.com"}
        ]
    })
}

#[test]
fn every_spelling_of_an_order_reads_the_same() {
    let want = book(&read(&order()));
    let in_context = |context: Value| with(|order| order["@context"] = context);
    let typed = |kind: Value| with(|order| order["@type"] = kind);
    let status = |status: Value| with(|order| order["orderStatus"] = status);
    let quantity = |quantity: Value| with(|order| order["orderedItem"][0]["orderQuantity"] = quantity);
    let prefixed: Value =
        serde_json::from_str(&order().to_string().replace("\"order", "\"schema:order")).unwrap();
    let mut prefixed = prefixed;
    prefixed["@context"] = json!([SCHEMA, {"schema": "https://schema.org/"}]);
    prefixed["@type"] = json!("schema:Order");
    let mut aliased = order();
    aliased["@context"] =
        json!([SCHEMA, {"kind": "@type", "number": {"@id": "https://schema.org/orderNumber"}}]);
    let fields = aliased.as_object_mut().unwrap();
    let (kind, number) = (fields.remove("@type").unwrap(), fields.remove("orderNumber").unwrap());
    fields.insert("kind".into(), kind);
    fields.insert("number".into(), number);
    let without_context = with(|order| {
        order.as_object_mut().unwrap().remove("@context");
    });
    let documents = [
        in_context(json!("https://schema.org/")),
        in_context(json!("http://schema.org")),
        in_context(json!("http://schema.org/")),
        in_context(json!(["https://schema.org", "https://words.example/context.jsonld"])),
        in_context(json!({"@vocab": "https://schema.org/"})),
        in_context(json!({"@vocab": "http://schema.org"})),
        typed(json!(["Order"])),
        typed(json!(["https://words.example/Purchase", "https://schema.org/Order"])),
        typed(json!("http://schema.org/Order")),
        typed(json!("schema:Order")),
        status(json!("OrderProcessing")),
        status(json!("http://schema.org/OrderProcessing")),
        status(json!("schema:OrderProcessing")),
        status(json!({"@id": "https://schema.org/OrderProcessing"})),
        status(json!(["OrderProcessing"])),
        status(json!(["OrderProcessing", "https://schema.org/OrderProcessing"])),
        quantity(json!("2")),
        quantity(json!(2.0)),
        quantity(json!({"@value": "2"})),
        quantity(json!({"@type": "QuantitativeValue", "value": 2})),
        quantity(json!({"@type": "QuantitativeValue", "value": "2", "unitCode": "C62"})),
        with(|order| order["orderedItem"] = order["orderedItem"][0].clone()),
        with(|order| order["orderedItem"] = json!({"@list": order["orderedItem"].clone()})),
        with(|order| order["orderNumber"] = json!({"@value": "1001"})),
        json!({"@context": SCHEMA, "@graph": [order()]}),
        json!({"@context": SCHEMA, "@graph": order()}),
        json!([order()]),
        json!({"@context": SCHEMA, "@type": "ItemList", "itemListElement": [order()]}),
        json!({
            "@context": SCHEMA, "@type": "ItemList",
            "itemListElement": [{"@type": "ListItem", "position": 1, "item": order()}]
        }),
        json!({
            "@context": SCHEMA, "@type": "DataFeed",
            "dataFeedElement": {"@type": "DataFeedItem", "item": order()}
        }),
        json!({"@context": SCHEMA, "@type": "Invoice", "referencesOrder": order()}),
        json!({"orders": [order()], "next": null}),
        prefixed,
        aliased,
        expanded(),
        graph(),
        // The owner has said what it is.
        without_context,
    ];
    for document in documents {
        assert_eq!(book(&read(&document)), want, "{document}");
    }
}

#[test]
fn json_lines_are_documents_of_their_own_and_name_their_lines() {
    let second = with(|order| order["orderNumber"] = json!("1002"));
    let bad = with(|order| {
        order["orderNumber"] = json!("1003");
        order["orderStatus"] = json!("OrderLost");
    });
    let text = format!("{}\n\n{second}\n{bad}\n", order());
    let folder = read_by(&source("orders.jsonl"), "orders.jsonl", text.as_bytes()).unwrap();
    let orders: Vec<&str> = folder.book.orders.iter().map(|order| order.order_id.as_str()).collect();
    assert_eq!(orders, ["1001", "1002"]);
    let said = folder.bad_rows[0].to_string();
    assert!(said.starts_with("orders.jsonl, line 4, column status: \"OrderLost\""), "{said}");
}

#[test]
fn what_another_vocabulary_calls_an_order_is_none() {
    for document in [
        with(|order| order["@context"] = json!({"@vocab": "https://words.example/"})),
        with(|order| order["@type"] = json!("https://words.example/Order")),
        json!({"orders": {"number": "1001"}}),
        json!({"@context": SCHEMA, "@type": "Product", "sku": "AP-MOSS-L"}),
    ] {
        let read = read_by(&source("a.json"), "a.json", document.to_string().as_bytes());
        let said = read.unwrap_err().to_string();
        assert!(said.contains("a.json: no Order of schema.org stands there"), "{document}: {said}");
    }
}

#[test]
fn a_folder_with_such_files_needs_no_mapping_and_others_are_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    let found = || intake::schema_org::source_in(folder.path(), chrono_tz::Tz::UTC, &[]);
    write("notes.json", &with(|order| order["@context"] = json!("https://words.example/")).to_string());
    write("products.jsonld", r#"{"@context": "https://schema.org", "@type": "Product", "sku": "A"}"#);
    write("offers.jsonl", &order().to_string());
    write("orders.txt", &order().to_string());
    assert!(found().unwrap().is_none());
    write("november.jsonld", &order().to_string());
    write("december.jsonl", &with(|order| order["orderNumber"] = json!("1002")).to_string());
    // The address of the vocabulary as some write it, behind more than one block of the file.
    let third = with(|order| order["orderNumber"] = json!("1003")).to_string();
    write("later.JSON", &format!("{}{}", " ".repeat(300_000), third.replace('/', "\\/")));
    let source = found().unwrap().unwrap();
    let samples = ["november.jsonld", "december.jsonl", "later.JSON"].map(|name| folder.path().join(name));
    let rules = model::Rules::default();
    let settings = intake::ReadSettings { zone: chrono_tz::Tz::UTC, rules: &rules };
    let read = read_samples(&samples, &[&source], &settings).unwrap();
    let orders: Vec<&str> = read.book.orders.iter().map(|order| order.order_id.as_str()).collect();
    assert_eq!(orders, ["1001", "1002", "1003"]);
    // Where a mapping brings the orders, it alone does.
    let other = super::source("till-*.json");
    let found = intake::schema_org::source_in(folder.path(), chrono_tz::Tz::UTC, &[&other]);
    assert!(found.unwrap().is_none());
}

#[test]
fn a_broken_file_is_told_where_nothing_else_brings_orders() {
    let folder = tempfile::tempdir().unwrap();
    let text = order().to_string();
    std::fs::write(folder.path().join("orders.jsonld"), &text[..text.len() / 2]).unwrap();
    let found = || intake::schema_org::source_in(folder.path(), chrono_tz::Tz::UTC, &[]);
    let said = found().unwrap_err().to_string();
    assert!(said.starts_with("orders.jsonld, line 1") && said.contains("cut off"), "{said}");
    std::fs::write(folder.path().join("orders.csv"), "order_id,placed_at,status\n").unwrap();
    assert!(found().unwrap().is_none());
}
