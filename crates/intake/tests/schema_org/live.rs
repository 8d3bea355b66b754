//! An HTTP answer in these terms, by a request that names the vocabulary and no tables.

use chrono_tz::Tz;
use intake::source::declare::{Declaration, Request, Source};
use serde_json::{Value, json};

use super::{order, with};

fn declared(request: &str) -> Result<Source, String> {
    let text = format!(
        "role = \"storefront\"\naddress = \"https://shop.example/api/\"\n[requests.orders]\npath = \"orders\"\n{request}\n"
    );
    let declaration: Declaration = toml::from_str(&text).map_err(|error| error.to_string())?;
    declaration.check(Tz::UTC).map_err(|error| error.to_string())
}

fn request() -> Request {
    let source = declared(
        "vocabulary = \"schema.org\"\ncount = \"$.total\"\npages = { by = \"url\", at = \"$.next\" }",
    );
    source.unwrap().requests()[0].clone()
}

fn rows(body: &Value) -> Result<intake::source::mapping::Mapped, String> {
    request().rows(body, None, b"key").map_err(|misfit| misfit.to_string())
}

#[test]
fn a_page_is_read_with_its_count_and_its_next_one() {
    let second = with(|order| order["orderNumber"] = json!("1002"));
    let page =
        json!({"total": 7, "next": "https://shop.example/api/orders?page=2", "orders": [order(), second]});
    let mapped = rows(&page).unwrap();
    assert_eq!((mapped.records, mapped.source_count), (2, Some(7)));
    assert_eq!(mapped.next.as_deref(), Some("https://shop.example/api/orders?page=2"));
    assert_eq!((mapped.rows.orders.len(), mapped.rows.order_lines.len()), (2, 2));
    // Each order came with all its lines, so that one that is gone is seen.
    assert_eq!(mapped.whole.len(), 2);
    assert_eq!(request().tables().collect::<Vec<_>>(), ["orders", "order_lines"]);
}

#[test]
fn an_empty_page_is_one_and_an_answer_of_another_kind_is_not() {
    for empty in [
        json!([]),
        json!({"orders": []}),
        json!({"@context": "https://schema.org", "@graph": []}),
        json!({"@context": "https://schema.org", "@type": "ItemList", "itemListElement": []}),
    ] {
        assert_eq!(rows(&empty).unwrap().records, 0, "{empty}");
    }
    for other in [json!({"error": "down for repair"}), json!({}), json!("no"), json!({"orders": null})] {
        let said = rows(&other).unwrap_err();
        assert!(
            said.starts_with(
                "page: no Order of schema.org stands there; expected orders in the terms of schema.org"
            ),
            "{said}"
        );
    }
}

#[test]
fn a_record_that_does_not_fit_is_named_with_the_terms_that_are_meant() {
    let lost = with(|order| order["orderStatus"] = json!("OrderLost"));
    let said = rows(&json!([order(), lost])).unwrap_err();
    assert!(
        said.starts_with(
            "orders, record 2 (order_id \"1001\"), field status at $.orderStatus: \"OrderLost\""
        ),
        "{said}"
    );
    assert!(said.contains("In schema.org it is orderStatus"), "{said}");
    let torn = with(|order| order["orderedItem"] = json!([{"@type": "OrderItem"}]));
    let said = rows(&json!([torn])).unwrap_err();
    assert!(
        said.contains("field orderedItem: an OrderItem has no orderedItem; expected the Product"),
        "{said}"
    );
}

#[test]
fn tables_beside_the_vocabulary_say_it_otherwise() {
    let other = "vocabulary = \"schema.org\"\n[requests.orders.tables.orders]\nat = \"$.orders[*]\"\n\
                 fields = { order_id = \"$.confirmationNumber\", placed_at = \"$.orderDate\", status = { at = \
                 \"$.orderStatus\", words = { OrderProcessing = \"unpaid\" } } }";
    let source = declared(other).unwrap();
    let document = with(|order| order["confirmationNumber"] = json!("C-1"));
    let mapped = source.requests()[0].rows(&document, None, b"key").unwrap();
    assert_eq!(mapped.rows.orders[0].order_id.as_str(), "C-1");
    assert_eq!(format!("{:?}", mapped.rows.orders[0].status), "Unpaid");
    assert!(mapped.rows.order_lines.is_empty());
}
