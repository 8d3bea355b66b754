//! Trying a source, and a look at its first records.

use intake::source::poll::{Checked, FieldSeen, Outcome, Thing};
use serde_json::{Value, json};

use crate::common::*;

const PAGED: &str = r#"pages = { by = "cursor", at = "$.next", ask = "after" }"#;

/// Invented answers, as a file.
const FIRST: &str = include_str!("answers/orders_first.json");

fn said(steps: &[Checked]) -> Vec<(Thing, String)> {
    let said = steps.iter().map(|step| {
        let outcome = match &step.outcome {
            Outcome::Works(None) => "works".to_owned(),
            Outcome::Works(Some(text)) => format!("works: {text}"),
            Outcome::Seen(fields) => format!("{} fields", fields.len()),
            Outcome::NotTried(why) => format!("not tried: {why}"),
            Outcome::Fails(error) => format!("fails: {error}").chars().take(90).collect(),
        };
        (step.thing, outcome)
    });
    said.collect()
}

#[tokio::test]
async fn a_source_that_works_is_said_to_step_by_step() {
    let server = Server::start(|asked| match asked.get("after") {
        None => json_answer(&serde_json::from_str::<Value>(FIRST).unwrap()),
        Some(_) => json_answer(&json!({ "orders": [order(3, -500)] })),
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders(PAGED)), &Still::at(at(0)));
    let steps = reader.check().await;
    let want = [
        (Thing::Address, "works"),
        (Thing::SignIn, "works: none is asked for"),
        (Thing::FirstPage, "works: 2 records"),
        (Thing::Fields, "6 fields"),
        (Thing::NextPage, "works"),
    ];
    assert_eq!(said(&steps), want.map(|(thing, text)| (thing, text.to_owned())));
    let Outcome::Seen(fields) = &steps[3].outcome else { panic!("no fields") };
    let seen = |table: &str, column: &str| {
        let field = fields.iter().find(|field| field.table == table && field.column == column).unwrap();
        let FieldSeen { known, records, .. } = field;
        (*known, *records)
    };
    assert_eq!(seen("orders", "order_id"), (2, 2));
    assert_eq!(seen("orders", "updated_at"), (1, 2));
    assert_eq!(seen("order_lines", "quantity"), (3, 3));
}

#[tokio::test]
async fn the_first_step_that_fails_is_the_last() {
    let works = |thing| (thing, "works".to_owned());
    let start = "fails: source \"till\", request \"orders\", page 1: ";
    let none = {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        format!("http://{}/api/", listener.local_addr().unwrap())
    };
    let reader_none = reader(service(&none, &orders(PAGED)), &Still::at(at(0)));
    let steps = said(&reader_none.check().await);
    assert_eq!((steps.len(), steps[0].0), (1, Thing::Address));
    for (answer, before, thing, text) in [
        (status(403), vec![works(Thing::Address)], Thing::SignIn, "the sign-in was refused"),
        (
            status(404),
            vec![works(Thing::Address), works(Thing::SignIn)],
            Thing::FirstPage,
            "the source refused the request",
        ),
        (
            json_answer(&json!({ "orders": [{ "number": 1 }] })),
            vec![works(Thing::Address), works(Thing::SignIn)],
            Thing::FirstPage,
            "orders, record 1 (order_id \"1\")",
        ),
    ] {
        let server = Server::start(move |_| answer.clone()).await;
        let reader = reader(service(&server.address(), &orders(PAGED)), &Still::at(at(0)));
        let mut steps = said(&reader.check().await);
        let (last, said) = steps.pop().unwrap();
        assert_eq!((steps, last), (before, thing));
        assert!(said.starts_with(&format!("{start}{text}")), "{said}");
    }
}

#[tokio::test]
async fn a_next_page_that_is_the_first_again_fails() {
    let server = Server::start(|_| json_answer(&serde_json::from_str::<Value>(FIRST).unwrap())).await;
    let reader = reader(service(&server.address(), &orders(PAGED)), &Still::at(at(0)));
    let steps = reader.check().await;
    assert!(matches!(steps.last().unwrap().outcome, Outcome::Fails(_)));
}

#[tokio::test]
async fn a_first_page_without_a_next_one_that_seems_not_to_be_all_is_said_to() {
    for (keys, why) in [
        (r#"pages = { by = "link", size_ask = "size", size = 3 }"#, None),
        (r#"pages = { by = "link", size_ask = "size", size = 2 }"#, Some("this one is full")),
        ("count_header = \"X-Total-Count\"", Some("the source counts 5 records")),
    ] {
        let server = Server::start(|_| {
            let answer = json_answer(&serde_json::from_str::<Value>(FIRST).unwrap());
            answer.insert_header("X-Total-Count", "5")
        });
        let server = server.await;
        let reader = reader(service(&server.address(), &orders(keys)), &Still::at(at(0)));
        let (thing, said) = said(&reader.check().await).pop().unwrap();
        let want = why.map_or_else(String::new, |why| format!(", though {why}; "));
        assert_eq!(thing, Thing::NextPage);
        assert!(said.starts_with(&format!("not tried: there is none{want}")), "{said}");
        assert_eq!(said.ends_with("there is none"), why.is_none(), "{said}");
    }
}

#[tokio::test]
async fn a_preview_shows_the_rows_of_the_first_page_also_of_a_request_for_rows() {
    let server = Server::start(|asked| match asked.path.as_str() {
        "/api/orders" => json_answer(&json!({ "orders": [order(7, -500)] })),
        "/api/orders/7/notes" => json_answer(&json!({ "lines": [{ "id": "9", "count": 4 }] })),
        path => panic!("{path}"),
    });
    let server = server.await;
    let notes = r#"
        [requests.notes]
        path = "orders/{order_id}/notes"
        for_each = "orders"
        [requests.notes.tables.order_lines]
        at = "$.lines[*]"
        [requests.notes.tables.order_lines.fields]
        line_id = "$.id"
        quantity = "$.count"
    "#;
    let keys = format!("{}\n{notes}", orders(""));
    let reader = reader(service(&server.address(), &keys), &Still::at(at(0)));
    let of = |name: &str| reader.service.requests.iter().find(|request| request.name == name).unwrap();
    let rows = reader.preview(of("orders")).await.unwrap().unwrap().rows;
    assert_eq!((rows.orders.len(), rows.order_lines.len()), (1, 1));
    let rows = reader.preview(of("notes")).await.unwrap().unwrap().rows;
    assert_eq!(rows.order_lines[0].order_id.as_str(), "7");
    assert_eq!(reader.check().await.len(), 10);
}
