//! Servers that answer oddly: nothing is taken for a way that is none, and no more is asked than may be.

use serde_json::{Value, json};
use wiremock::ResponseTemplate;

use intake::connect::{ConnectError, MAX_REQUESTS};
use intake::source::http::Trouble;

use super::{Shop, answer, at, order, orders};

#[tokio::test]
async fn a_server_that_gives_the_first_page_for_every_page_has_no_pages() {
    let shop = Shop::new(|_| {
        answer(&json!({ "orders": orders(0..20), "total": 90, "page": 1, "next": "/api/orders?page=2" }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    let way = &connected.ways[0];
    assert_eq!((way.pages.as_deref(), way.changes.as_deref()), (None, None));
    assert!(way.notes[0].starts_with("PAGES ARE MISSING: $.next holds an address of a next page"), "{way:?}");
    // What it counts is written all the same: then a poll says that records are missing.
    assert_eq!(way.count.as_deref(), Some("count = \"$.total\""));
}

#[tokio::test]
async fn a_next_page_with_a_record_of_the_first_is_no_next_page() {
    let shop = Shop::new(|wanted| {
        let numbers = if wanted.get("page") == Some("2") { 19..39 } else { 0..20 };
        answer(&json!({ "orders": orders(numbers), "total": 90, "page": 1 }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    assert_eq!(connected.ways[0].pages, None);
}

#[tokio::test]
async fn a_server_that_pages_only_when_asked_is_read_whole() {
    let shop = Shop::new(|wanted| {
        let all = orders(0..50);
        let page = wanted.number("page");
        let came: Vec<&Value> =
            all.iter().skip(page.map_or(0, |page| page * 5)).take(page.map_or(50, |_| 5)).collect();
        answer(&json!(came))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    let way = &connected.ways[0];
    assert_eq!(way.pages, None);
    assert!(way.notes[0].contains("holds nothing that the answer without pages does not"), "{way:?}");
}

#[tokio::test]
async fn a_parameter_that_is_ignored_is_not_accepted_and_costs_few_requests() {
    let shop = Shop::new(|_| answer(&json!({ "orders": orders(0..37) })));
    let shop = shop.await;
    let connected = shop.connected(&["orders"]).await.unwrap();
    let way = &connected.ways[0];
    assert_eq!(way.changes, None);
    assert!(
        way.notes.iter().any(|note| note.starts_with("Read whole at every poll: no parameter")),
        "{way:?}"
    );
    assert_eq!(shop.requests().await, 4);
}

#[tokio::test]
async fn a_parameter_that_is_taken_the_wrong_way_round_is_not_accepted() {
    let shop = Shop::new(|wanted| {
        let all = orders(0..37);
        let until = wanted.get("since").unwrap_or("9");
        let came: Vec<&Value> =
            all.iter().filter(|order| order["updated_at"].as_str().unwrap() <= until).collect();
        answer(&json!({ "orders": came }))
    });
    assert_eq!(shop.await.connected(&["orders"]).await.unwrap().ways[0].changes, None);
}

#[tokio::test]
async fn a_parameter_after_which_some_of_the_later_ones_are_missing_is_not_accepted() {
    let shop = Shop::new(|wanted| {
        let all = orders(0..37);
        let from = wanted.get("since").unwrap_or_default();
        let is_meant = |order: &&Value| {
            order["updated_at"].as_str().unwrap() >= from && (from.is_empty() || order["status"] == "paid")
        };
        answer(&json!({ "orders": all.iter().filter(is_meant).collect::<Vec<_>>() }))
    });
    assert_eq!(shop.await.connected(&["orders"]).await.unwrap().ways[0].changes, None);
}

#[tokio::test]
async fn where_some_records_do_not_say_when_they_changed_all_are_read() {
    let shop = Shop::new(|_| {
        let mut all = orders(0..37);
        all[5]["updated_at"] = Value::Null;
        answer(&json!({ "orders": all }))
    });
    let shop = shop.await;
    let connected = shop.connected(&["orders"]).await.unwrap();
    let notes = connected.ways[0].notes.join("\n");
    assert!(notes.contains("not every record says when it changed"), "{notes}");
    assert_eq!(shop.requests().await, 1);
}

#[tokio::test]
async fn a_count_that_counts_all_whatever_is_asked_for_is_left_out() {
    let shop = Shop::new(|wanted| {
        let all = orders(0..37);
        let from = wanted.get("since").unwrap_or_default();
        let came: Vec<&Value> =
            all.iter().filter(|order| order["updated_at"].as_str().unwrap() >= from).collect();
        answer(&json!({ "orders": came, "total": 37 }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    let way = &connected.ways[0];
    assert!(way.changes.is_some());
    assert_eq!(way.count, None);
}

#[tokio::test]
async fn a_server_that_does_not_know_who_asks_is_asked_once() {
    let shop = Shop::new(|wanted| {
        assert_eq!(wanted.token.as_deref(), Some("moss-and-stone"));
        ResponseTemplate::new(401)
    });
    let shop = shop.await;
    let error = shop.connected(&["orders?a=b", "lines"]).await.unwrap_err();
    let ConnectError::NoAnswer { name, trouble: Trouble::SignIn { status: 401 } } = &error else {
        panic!("{error:?}")
    };
    assert_eq!(name, "orders");
    assert_eq!(
        error.to_string(),
        "orders gave no answer that can be read: the sign-in was refused (status 401)"
    );
    assert_eq!(shop.requests().await, 1);
}

#[tokio::test]
async fn a_page_for_people_is_told_from_an_answer() {
    let shop =
        Shop::new(|_| ResponseTemplate::new(200).set_body_raw("<!doctype html><p>Sign in", "text/html"));
    let error = shop.await.connected(&["orders"]).await.unwrap_err();
    assert!(
        matches!(error, ConnectError::NoAnswer { trouble: Trouble::Html { status: 200 }, .. }),
        "{error:?}"
    );
}

#[tokio::test]
async fn a_server_that_wants_to_be_asked_later_is_where_that_is_soon() {
    for (wait, works) in [("2", true), ("600", false)] {
        let shop = Shop::new(move |wanted| match wanted.before {
            0 => ResponseTemplate::new(429).insert_header("retry-after", wait),
            _ => answer(&json!({ "orders": orders(0..37) })),
        });
        let shop = shop.await;
        let connected = shop.connected(&["orders"]).await;
        assert_eq!(connected.is_ok(), works);
        if !works {
            assert!(connected.unwrap_err().to_string().contains("wants not to be asked before"));
            assert_eq!(shop.requests().await, 1);
        }
    }
}

#[tokio::test]
async fn a_server_that_has_enough_in_the_midst_of_it_is_asked_no_more_and_a_note_says_so() {
    let shop = Shop::new(move |wanted| match wanted.before {
        0 => answer(&json!({ "orders": orders(0..20), "total": 90 })),
        _ => ResponseTemplate::new(429).insert_header("retry-after", "600"),
    });
    let shop = shop.await;
    let connected = shop.connected(&["orders"]).await.unwrap();
    assert_eq!(shop.requests().await, 2);
    assert!(
        connected.ways[0].notes[0].contains("the source cannot answer now (status 429)"),
        "{connected:?}"
    );
}

#[tokio::test]
async fn whatever_a_server_answers_it_is_asked_no_more_than_ten_times() {
    let oddities: [fn(super::Wanted) -> ResponseTemplate; 6] = [
        // Others each time.
        |wanted| {
            answer(
                &json!({ "orders": orders(wanted.before * 20..wanted.before * 20 + 20), "total": 9_000, "next_cursor": wanted.before }),
            )
        },
        // It refuses all that it does not know.
        |wanted| match wanted.query.is_empty() {
            true => answer(&json!({ "orders": orders(0..20), "total": 90, "next_cursor": "x" })),
            false => ResponseTemplate::new(400),
        },
        // It breaks.
        |wanted| match wanted.query.is_empty() {
            true => answer(&json!({ "orders": orders(0..20), "total": 90, "has_more": true })),
            false => ResponseTemplate::new(500),
        },
        // It leads on and on.
        |wanted| match wanted.before {
            0 => answer(&json!({ "orders": orders(0..20), "total": 90, "next": "/api/orders?page=2" })),
            _ => ResponseTemplate::new(302)
                .insert_header("location", format!("/api/orders?n={}", wanted.before).as_str()),
        },
        // It has nothing for whatever is asked.
        |wanted| match wanted.query.is_empty() {
            true => answer(&json!({ "orders": orders(0..20), "total": 90 })),
            false => answer(&json!({ "orders": [], "total": 0 })),
        },
        // It leads to itself.
        |_| ResponseTemplate::new(301).insert_header("location", "/api/orders"),
    ];
    for (number, oddity) in oddities.into_iter().enumerate() {
        let shop = Shop::new(oddity).await;
        let _ = shop.connected(&["orders"]).await;
        let requests = shop.requests().await;
        assert!((2..=MAX_REQUESTS as usize).contains(&requests), "{number}: {requests}");
    }
}

#[tokio::test]
async fn of_many_addresses_each_is_asked_once_before_anything_is_tried() {
    let shop = Shop::new(|wanted| match wanted.path.rsplit('/').next() {
        Some("orders") => answer(
            &json!({ "orders": orders(0..20), "total": 90, "next": wanted.get("p").is_none().then_some("?p=2") }),
        ),
        _ => answer(&json!([{ "name": "moss" }, { "name": "navy" }])),
    });
    let shop = shop.await;
    let paths = ["a", "b", "c", "d", "e", "f", "g", "h", "orders"];
    let connected = shop.connected(&paths).await.unwrap();
    assert_eq!(shop.requests().await, 10);
    assert_eq!(connected.ways.len(), 1);
    let notes = connected.ways[0].notes.join("\n");
    assert!(notes.contains("used up"), "{notes}");
    assert!(connected.proposal.notes.iter().any(|note| note.contains("a is not used")), "{connected:?}");
}

#[tokio::test]
async fn what_is_no_table_is_no_source() {
    let shop = Shop::new(|_| answer(&json!({ "message": "hello", "at": at(0) })));
    let error = shop.await.connected(&["orders"]).await.unwrap_err();
    assert!(matches!(error, ConnectError::NoTable { .. }), "{error:?}");
}

#[tokio::test]
async fn next_pages_at_another_place_are_not_followed() {
    let other = Shop::new(|_| answer(&json!({ "orders": orders(20..40) }))).await;
    let place = format!("{}/api/orders?page=2", other.mock_uri());
    let shop = Shop::new(move |_| answer(&json!({ "orders": orders(0..20), "next": place })));
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    assert_eq!(connected.ways[0].pages, None);
    assert_eq!(other.requests().await, 0);
}

#[tokio::test]
async fn further_pages_say_more_of_the_mapping() {
    let shop = Shop::new(|wanted| {
        let from = wanted.number("after").unwrap_or(0);
        let mut page = orders(from..from + 10);
        // A word that the first page does not have.
        if from == 20 {
            page[3] = order(23);
            page[3]["status"] = json!("refunded");
        }
        answer(&json!({ "orders": page, "next_after": (from < 40).then_some(from + 10) }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    assert!(connected.ways[0].pages.is_some(), "{:?}", connected.ways);
    let status = connected.proposal.fields().find(|field| field.column == "status").unwrap();
    let said = format!("{:?}", status);
    assert!(said.contains("refunded"), "{said}");
}

#[tokio::test]
async fn a_count_that_may_be_of_the_page_alone_is_no_sign_that_it_is_all() {
    let shop = Shop::new(|wanted| {
        let page = wanted.number("page").unwrap_or(1);
        answer(&json!({ "count": 20, "orders": orders((page - 1) * 20..page * 20) }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    let way = &connected.ways[0];
    assert_eq!(way.pages.as_deref(), Some("{ by = \"number\", ask = \"page\", first = 1 }"));
    assert_eq!(way.count, None);
}
