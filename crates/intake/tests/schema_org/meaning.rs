//! What each term comes to in the tables.

use model::book::{Order, OrderLine};
use serde_json::{Value, json};

use super::{order, read, with};

fn one_order(document: &Value) -> Order {
    let folder = read(document);
    assert_eq!(folder.bad_row_count, 0, "{:?}", folder.bad_rows);
    folder.book.orders.into_iter().next().unwrap()
}

fn lines(document: &Value) -> Vec<OrderLine> {
    let folder = read(document);
    assert_eq!(folder.bad_row_count, 0, "{:?}", folder.bad_rows);
    folder.book.order_lines
}

fn one_line(document: &Value) -> OrderLine {
    let mut lines = lines(document);
    assert_eq!(lines.len(), 1, "{lines:?}");
    lines.remove(0)
}

/// `name: value` of each option, by name.
fn options(line: &OrderLine) -> String {
    let options = line.options.iter().flat_map(|options| options.iter());
    options.map(|(name, value)| format!("{name}: {value}")).collect::<Vec<_>>().join(", ")
}

/// A line as `id, SKU, quantity, price`.
fn short(line: &OrderLine) -> String {
    let sku = line.sku.as_ref().map_or("-", |sku| sku.as_str());
    let price = line.unit_price.map_or("-".to_owned(), |price| price.to_string());
    format!("{} {sku} x {} at {price}", line.line_id, line.quantity)
}

#[test]
fn each_status_has_the_meaning_that_is_documented() {
    for (status, want) in [
        ("OrderPaymentDue", "Unpaid"),
        ("OrderProcessing", "Open"),
        ("OrderProblem", "Open"),
        ("OrderInTransit", "Dispatched"),
        ("OrderDelivered", "Dispatched"),
        ("OrderPickupAvailable", "Dispatched"),
        ("OrderReturned", "Dispatched"),
        ("OrderCancelled", "Cancelled"),
    ] {
        for start in ["", "https://schema.org/", "http://schema.org/", "schema:"] {
            let document = with(|order| order["orderStatus"] = json!(format!("{start}{status}")));
            assert_eq!(format!("{:?}", one_order(&document).status), want, "{start}{status}");
        }
    }
}

#[test]
fn an_order_is_named_by_the_first_of_its_numbers() {
    let document = |fields: Value| {
        with(|order| {
            let order = order.as_object_mut().unwrap();
            order.remove("orderNumber");
            order.extend(fields.as_object().unwrap().clone());
        })
    };
    for (fields, want) in [
        (json!({"orderNumber": 1001, "confirmationNumber": "C-1"}), "1001"),
        (json!({"confirmationNumber": "C-1", "identifier": "I-1"}), "C-1"),
        (json!({"identifier": "I-1", "@id": "https://shop.example/o/1"}), "I-1"),
        (json!({"identifier": {"@type": "PropertyValue", "name": "number", "value": "I-2"}}), "I-2"),
        (json!({"@id": "https://shop.example/o/1"}), "https://shop.example/o/1"),
    ] {
        assert_eq!(one_order(&document(fields.clone())).order_id.as_str(), want, "{fields}");
    }
}

#[test]
fn a_date_alone_is_a_day_and_the_vocabulary_never_says_when_was_paid() {
    let document = with(|order| {
        order["orderDate"] = json!("2026-11-24");
        order["paymentDueDate"] = json!("2026-11-25");
        order["partOfInvoice"] = json!({
            "@type": "Invoice", "paymentStatus": "https://schema.org/PaymentComplete",
            "scheduledPaymentDate": "2026-11-24", "paymentDueDate": "2026-12-01"
        });
    });
    let order = one_order(&document);
    assert_eq!(order.placed_at.begins().to_rfc3339(), "2026-11-24T00:00:00+00:00");
    assert_eq!(order.placed_at.ends().to_rfc3339(), "2026-11-25T00:00:00+00:00");
    assert_eq!((order.paid_at, order.promised_by), (None, None));
}

#[test]
fn the_country_is_that_of_the_delivery_from_whichever_end_it_is_said() {
    let delivery = |country: Value| {
        json!({
            "@type": "ParcelDelivery",
            "deliveryAddress": {"@type": "PostalAddress", "streetAddress": "Invented Lane 1", "addressCountry": country}
        })
    };
    let own = |country: Value| with(|order| order["orderDelivery"] = delivery(country));
    let mut of_line = order();
    of_line["orderedItem"][0]["orderDelivery"] = delivery(json!("NO"));
    let mut reversed = delivery(json!("NO"));
    reversed["partOfOrder"] = json!({"@type": "Order", "orderNumber": "1001"});
    let by_number = json!({"@context": "https://schema.org", "@graph": [order(), reversed]});
    reversed["partOfOrder"] = json!({"@id": "https://shop.example/o/1"});
    let with_id = with(|order| order["@id"] = json!("https://shop.example/o/1"));
    let by_id = json!({"@context": "https://schema.org", "@graph": [reversed, with_id]});
    for document in
        [own(json!("NO")), own(json!({"@type": "Country", "name": "NO"})), of_line, by_number, by_id]
    {
        let country = one_order(&document).ship_to_country;
        assert_eq!(country.as_deref(), Some("NO"), "{document}");
    }
    // Two parcels to two countries.
    let two = with(|order| order["orderDelivery"] = json!([delivery(json!("NO")), delivery(json!("IE"))]));
    assert_eq!(one_order(&two).ship_to_country, None);
}

#[test]
fn a_parcel_and_its_order_may_name_each_other() {
    let document = json!({"@context": "https://schema.org", "@graph": [
        {
            "@id": "o1", "@type": "Order", "orderNumber": "1001", "orderDate": "2026-11-24",
            "orderStatus": "OrderInTransit", "orderDelivery": {"@id": "d1"},
            "orderedItem": {"@id": "p1"}
        },
        {
            "@id": "d1", "@type": "ParcelDelivery", "partOfOrder": {"@id": "o1"}, "itemShipped": {"@id": "p1"},
            "deliveryAddress": {"@type": "PostalAddress", "addressCountry": "NO"}
        },
        {"@id": "p1", "@type": "Product", "sku": "A", "isVariantOf": {"@id": "g1"}},
        {"@id": "g1", "@type": "ProductGroup", "productGroupID": "G", "hasVariant": [{"@id": "p1"}]}
    ]});
    assert_eq!(one_order(&document).ship_to_country.as_deref(), Some("NO"));
    assert_eq!(one_line(&document).listing_id.unwrap().as_str(), "G");
}

#[test]
fn lines_without_numbers_are_counted_and_one_is_meant_where_no_quantity_is_said() {
    let product = |sku: &str| json!({"@type": "Product", "sku": sku});
    let document = with(|order| {
        order["orderedItem"] = json!([
            {"@type": "OrderItem", "orderedItem": product("A")},
            product("B"),
            {"@type": "OrderItem", "orderQuantity": 3, "orderedItem": {"@type": "Service", "name": "Gift wrapping"}}
        ]);
    });
    let found: Vec<String> = lines(&document).iter().map(short).collect();
    assert_eq!(found, ["1 A x 1 at -", "2 B x 1 at -", "3 - x 3 at -"]);
}

#[test]
fn a_cancelled_item_is_cancelled_as_a_whole() {
    let mut document = order();
    document["orderedItem"][0]["orderItemStatus"] = json!("https://schema.org/OrderCancelled");
    let line = one_line(&document);
    assert_eq!((line.quantity, line.cancelled_quantity), (2, 2));
    document["orderedItem"][0]["orderItemStatus"] = json!("OrderDelivered");
    assert_eq!(one_line(&document).cancelled_quantity, 0);
}

#[test]
fn offers_alone_are_the_lines() {
    let document = with(|order| {
        order.as_object_mut().unwrap().remove("orderedItem");
        order["acceptedOffer"] = json!([
            {
                "@type": "Offer", "price": "24.10", "priceCurrency": "EUR",
                "eligibleQuantity": {"@type": "QuantitativeValue", "value": 3},
                "itemOffered": {"@type": "Product", "sku": "A", "name": "Apron"}
            },
            {
                "@type": "Offer", "sku": "B",
                "priceSpecification": {"@type": "UnitPriceSpecification", "price": 14, "priceCurrency": "EUR"}
            },
            {
                "@type": "Offer", "sku": "C", "priceSpecification": {
                    "@type": "UnitPriceSpecification", "price": 50, "priceCurrency": "EUR",
                    "referenceQuantity": {"@type": "QuantitativeValue", "value": 10}
                }
            }
        ]);
    });
    let found: Vec<String> = lines(&document).iter().map(short).collect();
    assert_eq!(found, ["1 A x 3 at 24.10", "2 B x 1 at 14", "3 C x 1 at -"]);
    assert_eq!(one_order(&document).currency.unwrap().to_string(), "EUR");
}

#[test]
fn where_both_are_there_the_items_are_the_lines_and_the_offers_say_the_prices() {
    let document = with(|order| {
        order["orderedItem"] = json!([
            {"@type": "OrderItem", "orderItemNumber": "a", "orderedItem": {"@id": "p1"}},
            {"@type": "OrderItem", "orderItemNumber": "b", "orderQuantity": 2,
             "orderedItem": {"@type": "Product", "sku": "B"}},
            {"@type": "OrderItem", "orderItemNumber": "c", "orderedItem": {"@type": "Product", "name": "Tote bag"}},
            {"@type": "OrderItem", "orderItemNumber": "d", "orderedItem": {"@type": "Product", "sku": "D"}}
        ]);
        // In another order, each known by another sign.
        order["acceptedOffer"] = json!([
            {"@type": "Offer", "price": 3, "priceCurrency": "EUR",
             "itemOffered": {"@type": "Product", "name": "Tote bag"}},
            {"@type": "Offer", "price": 2, "priceCurrency": "EUR", "sku": "B"},
            {"@type": "Offer", "price": 1, "priceCurrency": "EUR",
             "itemOffered": {"@id": "p1", "@type": "Product", "sku": "A"}}
        ]);
    });
    let found: Vec<String> = lines(&document).iter().map(short).collect();
    assert_eq!(found, ["a A x 1 at 1", "b B x 2 at 2", "c - x 1 at 3", "d D x 1 at -"]);
}

#[test]
fn one_thing_on_two_lines_has_an_offer_for_each_or_one_for_both() {
    let document = |offers: Value| {
        with(|order| {
            let item = |quantity: u32| json!({"@type": "OrderItem", "orderQuantity": quantity, "orderedItem": {"@type": "Product", "sku": "A"}});
            order["orderedItem"] = json!([item(1), item(2)]);
            order["acceptedOffer"] = offers;
        })
    };
    let offer = |price: u32| json!({"@type": "Offer", "sku": "A", "price": price, "priceCurrency": "EUR"});
    let short = |offers: Value| lines(&document(offers)).iter().map(short).collect::<Vec<_>>();
    assert_eq!(short(json!([offer(5), offer(4)])), ["1 A x 1 at 5", "2 A x 2 at 4"]);
    assert_eq!(short(json!([offer(5)])), ["1 A x 1 at 5", "2 A x 2 at 5"]);
    assert_eq!(short(json!([offer(5), offer(5), offer(5)])), ["1 A x 1 at 5", "2 A x 2 at 5"]);
}

#[test]
fn the_listing_is_the_group_by_whichever_name_it_has() {
    let document = |product: Value, more: Value| {
        let mut order = order();
        order["orderedItem"][0]["orderedItem"] = product;
        json!({"@context": "https://schema.org", "@graph": [order, more]})
    };
    let product = |fields: Value| {
        let mut product = json!({"@id": "p1", "@type": "Product", "sku": "A"});
        product.as_object_mut().unwrap().extend(fields.as_object().unwrap().clone());
        product
    };
    let none = || json!({"@id": "nothing", "@type": "Organization"});
    for (product, more, want) in [
        (
            product(
                json!({"isVariantOf": {"@type": "ProductGroup", "productGroupID": "G", "@id": "x"}, "productID": "P"}),
            ),
            none(),
            "G",
        ),
        (product(json!({"inProductGroupWithID": "G", "productID": "P"})), none(), "G"),
        (
            product(json!({})),
            json!({"@type": "ProductGroup", "productGroupID": "G", "hasVariant": {"@id": "p1"}}),
            "G",
        ),
        (product(json!({"@type": ["Product", "ProductGroup"], "productGroupID": "G"})), none(), "G"),
        (
            product(json!({"isVariantOf": {"@id": "https://shop.example/l/9"}, "productID": "P"})),
            none(),
            "https://shop.example/l/9",
        ),
        (product(json!({"isVariantOf": "https://shop.example/l/9"})), none(), "https://shop.example/l/9"),
        (product(json!({"isVariantOf": {"@type": "ProductModel", "productID": "M"}})), none(), "M"),
        (product(json!({"productID": "P"})), none(), "P"),
    ] {
        let line = one_line(&document(product.clone(), more));
        assert_eq!(line.listing_id.map(|id| id.to_string()).as_deref(), Some(want), "{product}");
    }
}

#[test]
fn options_are_what_the_group_varies_by() {
    let product = json!({
        "@type": "Product", "sku": "A", "color": "Moss", "material": "Cotton",
        "size": {"@type": "SizeSpecification", "name": "L"},
        "additionalProperty": [
            {"@type": "PropertyValue", "name": "Style", "value": "Large apron"},
            {"@type": "PropertyValue", "name": "Volume", "value": 330, "unitText": "ml"},
            {"@type": "PropertyValue", "name": "Engraving", "value": "To Solveig, with love"}
        ],
        "isVariantOf": {
            "@type": "ProductGroup", "productGroupID": "G",
            "variesBy": ["https://schema.org/size", "color", "style", {"@type": "DefinedTerm", "name": "Volume"}]
        }
    });
    let mut document = order();
    document["orderedItem"][0]["orderedItem"] = product;
    assert_eq!(options(&one_line(&document)), "color: Moss, size: L, Style: Large apron, Volume: 330 ml");
    let notices: Vec<String> = read(&document).notices.into_iter().map(|notice| notice.text).collect();
    assert_eq!(
        notices,
        [
            "orders.jsonld: of additionalProperty is not kept, since no variesBy of a ProductGroup names it: \"Engraving\""
        ]
    );
    // Without a group that says it, what is typed cannot be told from what is chosen.
    document["orderedItem"][0]["orderedItem"].as_object_mut().unwrap().remove("isVariantOf");
    assert_eq!(options(&one_line(&document)), "color: Moss, material: Cotton, size: L");
    let additional = json!([
        {"@type": "PropertyValue", "name": "Colour", "value": "moss"},
        {"@type": "PropertyValue", "name": "Pattern", "value": "Otters"}
    ]);
    document["orderedItem"][0]["orderedItem"]["additionalProperty"] = additional;
    assert_eq!(options(&one_line(&document)), "color: Moss, material: Cotton, Pattern: Otters, size: L");
}

#[test]
fn nothing_of_anybody_is_kept() {
    let person = json!({
        "@type": "Person", "name": "Solveig Invented", "email": "solveig@example.com", "telephone": "+4700000000"
    });
    let address = json!({
        "@type": "PostalAddress", "name": "Solveig Invented", "streetAddress": "Invented Lane 1",
        "postalCode": "0000", "addressLocality": "Inventedby", "addressCountry": "NO"
    });
    let mut document = with(|order| {
        order["customer"] = person.clone();
        order["billingAddress"] = address.clone();
        order["description"] = json!("To Solveig, with love");
        order["orderDelivery"] = json!({"@type": "ParcelDelivery", "deliveryAddress": address});
    });
    document["orderedItem"][0]["orderedItem"]["additionalProperty"] =
        json!({"@type": "PropertyValue", "name": "Engraving", "value": "To Solveig, with love"});
    let folder = read(&document);
    let all = format!("{folder:?}");
    for private in ["Solveig", "example.com", "+4700000000", "Lane", "0000", "Inventedby"] {
        assert!(!all.contains(private), "{private} in {all}");
    }
    // Nor in what is said of an order that cannot be read.
    document["orderStatus"] = json!("OrderLost");
    let all = format!("{:?}", read(&document));
    assert!(all.contains("OrderLost") && !all.contains("Solveig") && !all.contains("Lane"), "{all}");
}

#[test]
fn one_product_in_full_in_many_orders_of_a_document_is_one() {
    let product = json!({
        "@id": "https://shop.example/p1", "@type": "Product", "sku": "A", "color": "Moss",
        "isVariantOf": {"@type": "ProductGroup", "productGroupID": "G", "variesBy": ["color", "Style"]},
        "additionalProperty": [{"@type": "PropertyValue", "name": "Style", "value": "Apron"}]
    });
    let orders: Vec<Value> = (0..50)
        .map(|number| {
            with(|order| {
                order["orderNumber"] = json!(number.to_string());
                order["orderedItem"][0]["orderedItem"] = product.clone();
            })
        })
        .collect();
    let lines = lines(&json!({"@context": "https://schema.org", "@graph": orders}));
    assert_eq!(lines.len(), 50);
    assert!(lines.iter().all(|line| options(line) == "color: Moss, Style: Apron"), "{:?}", lines[49]);
}
