//! Documents that leave something in doubt, are not as the vocabulary has it, or mean harm: each is said in clear words.

use proptest::prelude::*;
use serde_json::{Value, json};

use super::{order, read, read_by, said, source, with};

fn lines(items: Value) -> Value {
    with(|order| order["orderedItem"] = items)
}

fn product(sku: &str) -> Value {
    json!({"@type": "Product", "sku": sku})
}

fn offer(sku: &str, currency: &str) -> Value {
    json!({"@type": "Offer", "sku": sku, "price": 5, "priceCurrency": currency})
}

fn item(quantity: Value) -> Value {
    lines(json!([{"@type": "OrderItem", "orderQuantity": quantity, "orderedItem": product("A")}]))
}

#[test]
fn what_is_in_doubt_is_a_bad_row_that_says_what_is_expected() {
    let without = |name: &str| {
        with(|order| {
            order.as_object_mut().unwrap().remove(name);
        })
    };
    let offers = |items: Value, offers: Value| {
        with(|order| {
            order["orderedItem"] = items;
            order["acceptedOffer"] = offers;
        })
    };
    for (document, found, expected) in [
        (without("orderNumber"), "column order_id: nothing", "In schema.org it is orderNumber (else"),
        (without("orderDate"), "column placed_at: nothing", "In schema.org it is orderDate"),
        (without("orderStatus"), "column status: nothing", "In schema.org it is orderStatus"),
        (without("orderedItem"), "neither an orderedItem nor an acceptedOffer", "what was ordered"),
        (
            with(|order| order["orderStatus"] = json!("https://schema.org/OrderLost")),
            "column status: \"OrderLost\"",
            "one of OrderCancelled, OrderDelivered, OrderInTransit",
        ),
        (
            with(|order| order["orderStatus"] = json!(["OrderProcessing", "OrderCancelled"])),
            "column orderStatus: 2 values stand there",
            "one value",
        ),
        (
            with(|order| order["orderDate"] = json!("24/11/2026")),
            "column placed_at: \"24/11/2026\"",
            "RFC 3339",
        ),
        (with(|order| order["orderNumber"] = json!(["1", "2"])), "column orderNumber: 2 values", "one value"),
        (
            with(|order| order["orderNumber"] = json!({"@type": "Thing", "name": "1"})),
            "column orderNumber: a thing stands there",
            "a text or a number",
        ),
        (item(json!(-1)), "column quantity: \"-1\"", "a whole number"),
        (item(json!(1.5)), "column quantity: \"1.5\"", "a whole number"),
        (item(json!("two")), "column quantity: \"two\"", "a whole number"),
        (item(json!([1, 2])), "column orderQuantity: 2 values", "one value"),
        (
            item(json!({"@type": "QuantitativeValue", "value": 2, "unitCode": "DZN"})),
            "column orderQuantity: the unit is \"DZN\"",
            "pieces (C62",
        ),
        (
            offers(json!([product("A"), product("B")]), json!([offer("A", "EUR"), offer("B", "NOK")])),
            "column priceCurrency: the order's offers are in \"EUR\" and in \"NOK\"",
            "one currency in an order",
        ),
        (
            offers(json!([product("A"), product("B")]), json!([offer("A", "EUR"), offer("C", "EUR")])),
            "the accepted Offer of \"C\" is of none of the ordered items",
            "an orderedItem for each acceptedOffer",
        ),
        (
            offers(json!(product("A")), json!(offer("C", "EUR"))),
            "the accepted Offer of \"C\" is of none of the ordered items",
            "an orderedItem for each",
        ),
        (
            offers(
                json!(product("A")),
                json!([offer("A", "EUR"), {"@type": "Offer", "sku": "A", "price": 6, "priceCurrency": "EUR"}]),
            ),
            "2 accepted Offers of \"A\" differ",
            "one Offer for each",
        ),
        (
            offers(
                json!([{"@type": "OrderItem", "orderQuantity": 2, "orderedItem": product("A")}]),
                json!({"@type": "Offer", "sku": "A", "eligibleQuantity": {"@type": "QuantitativeValue", "value": 3}}),
            ),
            "the eligibleQuantity of its Offer is \"3\"",
            "one quantity",
        ),
        (
            offers(
                json!([{"@type": "OrderItem", "orderedItem": product("A")}]),
                json!({"@type": "Offer", "sku": "A", "eligibleQuantity": {"@type": "QuantitativeValue", "value": 3}}),
            ),
            "it is \"1\" (one where nothing is said), and the eligibleQuantity of its Offer is \"3\"",
            "one quantity",
        ),
        (
            offers(
                json!({"@id": "p", "@type": "Product", "sku": "A"}),
                json!({"@type": "Offer", "sku": "B", "itemOffered": {"@id": "p"}}),
            ),
            "column sku: \"A\" stands there, and \"B\" at its Offer",
            "one SKU",
        ),
        (
            offers(json!([]), json!({"@type": "Offer", "price": 5, "priceCurrency": "EUR"})),
            "an accepted Offer says neither itemOffered nor sku nor name",
            "an Offer of something",
        ),
        (
            offers(json!([]), json!({"@type": "Offer", "itemOffered": [product("A"), product("B")]})),
            "column itemOffered: 2 values",
            "one value",
        ),
        (
            lines(
                json!([{"@type": "OrderItem", "orderedItem": {"@type": "OrderItem", "orderQuantity": 2, "orderedItem": product("A")}}]),
            ),
            "an OrderItem stands within an OrderItem",
            "an OrderItem of a Product or a Service",
        ),
        (
            lines(json!([{"@type": "OrderItem", "orderedItem": [product("A"), product("B")]}])),
            "column orderedItem: 2 values",
            "one value",
        ),
        (lines(json!([{"@type": "OrderItem"}])), "an OrderItem has no orderedItem", "the Product or Service"),
        (lines(json!("A mug")), "\"A mug\" stands there, of which the document says nothing", "an OrderItem"),
        (
            lines(json!({"@id": "https://shop.example/p/9"})),
            "\"https://shop.example/p/9\" stands there, of which the document says nothing",
            "nothing is fetched",
        ),
        (lines(json!([{"@type": "Order", "orderNumber": "2"}])), "an Order stands there", "an OrderItem"),
        (
            lines(json!([{"@id": "p", "@type": "Product", "sku": "A"}, {"@id": "p"}])),
            "the same product stands there twice",
            "an OrderItem with its orderQuantity",
        ),
        (
            lines(
                json!([{"@type": "OrderItem", "orderItemNumber": "2", "orderedItem": product("A")}, product("B")]),
            ),
            "column orderItemNumber: it has none, and its place, 2, is the number of another item",
            "a number of its own",
        ),
        (
            lines(json!([{"@type": "OrderItem", "orderItemStatus": "Packed", "orderedItem": product("A")}])),
            "column orderItemStatus: \"Packed\" is no OrderStatus",
            "one of OrderCancelled",
        ),
        (lines(json!({"@type": "Product", "sku": ["A", "B"]})), "column sku: 2 values", "one value"),
        (
            lines(json!({"@type": "Product", "color": ["Moss", "Navy"]})),
            "column color: 2 values",
            "one value",
        ),
        (
            lines(json!({
                "@type": "Product", "size": "L",
                "additionalProperty": {"@type": "PropertyValue", "name": "Size", "value": "M"}
            })),
            "\"Size\" is \"L\" and \"M\"",
            "one value for each option",
        ),
    ] {
        let said = said(&document);
        assert!(said.starts_with("orders.jsonld, record 1, column "), "{document}\n{said}");
        assert!(said.contains(found), "{document}\n{found}\nis not said in\n{said}");
        assert!(said.contains(expected), "{document}\n{expected}\nis not said in\n{said}");
    }
}

#[test]
fn a_bad_line_leaves_its_order_unjudged_and_the_others_as_they_are() {
    let mut bad = order();
    bad["orderedItem"][0]["orderQuantity"] = json!(-2);
    let good = with(|order| order["orderNumber"] = json!("1002"));
    let folder = read(&json!([bad, good]));
    assert_eq!(folder.bad_row_count, 1, "{:?}", folder.bad_rows);
    let not_judged: Vec<&str> = folder.book.not_judged.iter().map(|order| order.as_str()).collect();
    assert_eq!(not_judged, ["1001"]);
    assert_eq!(folder.book.order_lines.len(), 1);
}

#[test]
fn an_order_that_two_places_give_differently_is_in_doubt_and_twice_the_same_is_once() {
    let named = |sku: &str| {
        let mut order = with(|order| order["@id"] = json!("https://shop.example/o/1"));
        order["orderedItem"][0]["orderedItem"]["sku"] = json!(sku);
        order
    };
    assert_eq!(read(&json!([named("A"), named("A")])).book.order_lines.len(), 1);
    let said = said(&json!([named("A"), named("B")]));
    assert!(said.contains("column orderedItem: two places of the document give it differently"), "{said}");
}

#[test]
fn references_that_lead_in_a_circle_are_said() {
    let graph = |nodes: Value| json!({"@context": "https://schema.org", "@graph": nodes});
    let mut order = order();
    order["orderedItem"] = json!({"@id": "i1"});
    let circle = graph(json!([
        order,
        {"@id": "i1", "@type": "OrderItem", "orderedItem": {"@id": "i2"}},
        {"@id": "i2", "@type": "OrderItem", "orderedItem": {"@id": "i1"}}
    ]));
    let found = said(&circle);
    assert!(found.contains("the OrderItem \"i1\" leads back to itself"), "{found}");
    order["@id"] = json!("o1");
    order["orderedItem"] = json!({"@id": "o1"});
    let found = said(&graph(json!([order])));
    assert!(found.contains("an Order stands there"), "{found}");
}

#[test]
fn ten_thousand_nodes_that_lead_to_each_other_end_in_words() {
    let mut order = order();
    order["orderedItem"] = json!({"@id": "i0"});
    let mut nodes = vec![order.clone()];
    for number in 0..10_000 {
        let next = format!("i{}", number + 1);
        nodes.push(json!({"@id": format!("i{number}"), "@type": "OrderItem", "orderedItem": {"@id": next}}));
    }
    let found = said(&json!({"@context": "https://schema.org", "@graph": nodes}));
    assert!(found.contains("an OrderItem stands within an OrderItem"), "{found}");
    // Lists of lists, by reference.
    let mut nodes: Vec<Value> = (0..10_000)
        .map(|number| json!({"@id": format!("l{number}"), "@type": "ListItem", "item": {"@id": format!("l{}", number + 1)}}))
        .collect();
    order["orderedItem"] = json!({"@type": "Product", "sku": "A"});
    order["@id"] = json!("l10000");
    nodes.push(order);
    let folder = read(&json!({"@context": "https://schema.org", "@graph": nodes}));
    assert_eq!((folder.book.orders.len(), folder.bad_row_count), (1, 0));
    // Within each other, as text.
    let deep = format!(
        "{}{{}}{}",
        r#"{"@context":"https://schema.org","@type":"OrderItem","orderedItem":"#.repeat(10_000),
        "}".repeat(10_000)
    );
    let error = read_by(&source("deep.json"), "deep.json", deep.as_bytes()).unwrap_err().to_string();
    assert!(error.starts_with("deep.json, line 1") && error.contains("deeper than is read"), "{error}");
}

#[test]
fn ten_thousand_further_properties_are_too_many() {
    let all: Vec<Value> = (0..10_000)
        .map(|number| json!({"@type": "PropertyValue", "name": format!("p{number}"), "value": number}))
        .collect();
    let found = said(&lines(json!({"@type": "Product", "sku": "A", "additionalProperty": all})));
    assert!(
        found.contains("column additionalProperty: 10000 properties stand there; expected at most 64"),
        "{found}"
    );
}

/// Any JSON in the names of the vocabulary.
fn documents() -> impl Strategy<Value = Value> {
    let names = prop::sample::select(vec![
        "@context",
        "@type",
        "@id",
        "@graph",
        "@value",
        "@list",
        "orderNumber",
        "orderDate",
        "orderStatus",
        "orderedItem",
        "acceptedOffer",
        "orderQuantity",
        "itemOffered",
        "sku",
        "name",
        "isVariantOf",
        "hasVariant",
        "variesBy",
        "additionalProperty",
        "value",
        "price",
        "priceCurrency",
        "partOfOrder",
        "orderDelivery",
        "deliveryAddress",
        "addressCountry",
        "item",
        "itemListElement",
        "size",
    ]);
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<i8>().prop_map(Value::from),
        prop::sample::select(vec![
            "https://schema.org",
            "Order",
            "OrderItem",
            "Product",
            "ProductGroup",
            "Offer",
            "PropertyValue",
            "a",
            "b",
            "_:c",
            "OrderProcessing",
            "2026-11-24",
            "EUR",
            "size",
        ])
        .prop_map(Value::from),
    ];
    leaf.prop_recursive(6, 60, 6, move |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            prop::collection::vec((names.clone(), inner), 0..7).prop_map(|fields| Value::Object(
                fields.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
            )),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    /// Whatever stands where something should, is read or said, and the same each time.
    #[test]
    fn any_document_is_read_or_said(items in documents(), offers in documents(), beside in documents()) {
        let mut order = order();
        order["orderedItem"] = items;
        order["acceptedOffer"] = offers;
        order["@id"] = json!("a");
        let document = json!({"@context": "https://schema.org", "@graph": [order, beside]});
        let [one, other] = [(), ()].map(|()| {
            let read = read_by(&source("a.json"), "a.json", document.to_string().as_bytes());
            read.map(|folder| {
                assert!(folder.rows_read > 0);
                format!("{folder:?}")
            }).map_err(|error| error.to_string())
        });
        prop_assert_eq!(one, other);
    }
}
