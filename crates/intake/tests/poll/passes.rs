//! Passes: what is asked for, how far the mark moves, and what becomes of a pass that is interrupted.

use std::sync::{Arc, Mutex};

use chrono::{DateTime, TimeDelta, Utc};
use intake::source::http::{Limits, Trouble};
use intake::source::poll::{PollError, PollNotice};
use model::Mark;
use serde_json::{Value, json};
use wiremock::ResponseTemplate;

use crate::common::*;

const CHANGES: &str = r#"changes = { ask = "since", form = "rfc3339", overlap = "5 min" }"#;
const CURSOR: &str =
    r#"pages = { by = "cursor", at = "$.next", ask = "after", size_ask = "size", size = 2 }"#;

const OFFERS: &str = r#"
    [requests.offers]
    path = "offers"
    KEYS
    [requests.offers.tables.offers]
    at = "$.offers[*]"
    [requests.offers.tables.offers.fields]
    listing_id = "$.page"
    options = { object_at = "$.choices", keep = ["Size"] }
"#;

fn moment(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

/// A server of orders by number and change, filtered by `since`, in pages by cursor where `size` is asked for.
async fn changing(orders: Arc<Mutex<Vec<(u32, i64)>>>) -> Server {
    Server::start(move |asked| {
        let since = asked.get("since").map(moment);
        let all = orders.lock().unwrap();
        let asked_for: Vec<_> =
            all.iter().filter(|(_, changed)| since.is_none_or(|since| at(*changed) >= since)).collect();
        let (size, start) = (asked.number("size", 1_000), asked.number("after", 0));
        let end = (start + size).min(asked_for.len());
        let page: Vec<Value> =
            asked_for[start.min(end)..end].iter().map(|(number, changed)| order(*number, *changed)).collect();
        let next = if end < asked_for.len() { json!(end) } else { Value::Null };
        json_answer(&json!({ "orders": page, "next": next }))
    })
    .await
}

fn book(orders: &[(u32, i64)]) -> Arc<Mutex<Vec<(u32, i64)>>> {
    Arc::new(Mutex::new(orders.to_vec()))
}

#[tokio::test]
async fn asked_for_is_what_changed_since_the_latest_change_less_the_overlap() {
    let orders_here = book(&[(1, -900), (2, -600), (3, -700)]);
    let server = changing(orders_here.clone()).await;
    let reader = reader(service(&server.address(), &orders(CHANGES)), &Still::at(at(0)));
    let mut kept = Kept::default();
    poll(&reader, "orders", &mut kept).await.unwrap();
    poll(&reader, "orders", &mut kept).await.unwrap();
    let since = format!("orders?since={}", text(at(-900)));
    assert_eq!(server.asked().await, ["orders", since.as_str()]);
    assert_eq!(kept.read_up_to("orders"), Some(at(0)));
}

#[tokio::test]
async fn orders_sharing_a_second_with_the_mark_are_not_skipped() {
    let orders_here = book(&[(1, -600)]);
    let server = changing(orders_here.clone()).await;
    let reader = reader(service(&server.address(), &orders(CHANGES)), &Still::at(at(0)));
    let mut kept = Kept::default();
    poll(&reader, "orders", &mut kept).await.unwrap();
    orders_here.lock().unwrap().push((2, -600));
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!(kept.orders(), [1, 2]);
}

#[tokio::test]
async fn a_change_in_the_future_does_not_move_the_mark_beyond_the_date_of_the_source() {
    let orders_here = book(&[(1, 7_200)]);
    let server = changing(orders_here.clone()).await;
    let reader = reader(service(&server.address(), &orders(CHANGES)), &Still::at(at(0)));
    let mut kept = Kept::default();
    poll(&reader, "orders", &mut kept).await.unwrap();
    orders_here.lock().unwrap().push((2, 10));
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!(server.asked().await[1], format!("orders?since={}", text(at(-300))));
    assert_eq!(kept.orders(), [1, 2]);
}

#[tokio::test]
async fn a_quiet_source_is_read_up_to_now_and_asked_from_the_same_moment() {
    let server = changing(book(&[(1, -600)])).await;
    let world = Still::at(at(0));
    let reader = reader(service(&server.address(), &orders(CHANGES)), &world);
    let mut kept = Kept::default();
    for _ in 0..3 {
        poll(&reader, "orders", &mut kept).await.unwrap();
    }
    let since = format!("orders?since={}", text(at(-900)));
    assert_eq!(server.asked().await, ["orders", since.as_str(), since.as_str()]);
}

#[tokio::test]
async fn a_crash_between_two_pages_loses_nothing_and_doubles_nothing() {
    let all: Vec<(u32, i64)> = (1..=9).map(|number| (number, -1_000 + i64::from(number))).collect();
    for crash in 0..6 {
        let server = changing(book(&all)).await;
        let world = Still::at(at(0));
        let reader = reader(service(&server.address(), &orders(&format!("{CURSOR}\n{CHANGES}"))), &world);
        let mut kept = Kept::default();
        let whole = poll_some(&reader, "orders", &mut kept, crash).await.unwrap();
        assert_eq!(whole.is_some(), crash == 5);
        assert_eq!(kept.orders().len(), (2 * crash as usize).min(9), "{crash}");
        if crash < 5 {
            assert_eq!(kept.read_up_to("orders"), None);
        }
        let before = server.asked().await.len();
        poll(&reader, "orders", &mut kept).await.unwrap();
        assert_eq!(kept.orders(), (1..=9).collect::<Vec<u32>>());
        assert_eq!(kept.read_up_to("orders"), Some(at(0)));
        if (1..5).contains(&crash) {
            let first = &server.asked_since(before).await[0];
            assert_eq!(first, &format!("orders?size=2&after={}", 2 * crash), "goes on at its cursor");
        }
        poll(&reader, "orders", &mut kept).await.unwrap();
        let last = server.asked().await.pop().unwrap();
        assert!(last.contains(&format!("since={}", text(at(-1_291)))), "{last}");
    }
}

#[tokio::test]
async fn a_pass_that_is_interrupted_asks_for_the_same_when_it_goes_on_and_then_for_what_changed_meanwhile() {
    let orders_here = book(&[(1, -3_000)]);
    let server = changing(orders_here.clone()).await;
    let world = Still::at(at(0));
    let reader = reader(service(&server.address(), &orders(&format!("{CURSOR}\n{CHANGES}"))), &world);
    let mut kept = Kept::default();
    poll(&reader, "orders", &mut kept).await.unwrap();
    orders_here.lock().unwrap().extend([(2, -3_000), (3, -100), (4, -90)]);
    assert!(poll_some(&reader, "orders", &mut kept, 1).await.unwrap().is_none());
    orders_here.lock().unwrap().push((5, -80));
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!(kept.orders(), [1, 2, 3, 4, 5]);
    let asked = server.asked().await;
    let since = format!("since={}", text(at(-3_300)));
    assert!(asked[1..].iter().all(|query| query.contains(&since)), "{asked:?}");
}

#[tokio::test]
async fn an_interrupted_pass_whose_cursor_is_not_taken_any_more_begins_anew() {
    for refusal in [status(400), json_answer(&json!({ "error": "no such cursor" }))] {
        let forgotten = Arc::new(Mutex::new(false));
        let own = Arc::clone(&forgotten);
        let server = Server::start(move |asked| match asked.get("after") {
            Some("old") if *own.lock().unwrap() => refusal.clone(),
            Some(_) => json_answer(&json!({ "orders": [order(2, -500)] })),
            None if *own.lock().unwrap() => {
                json_answer(&json!({ "orders": [order(1, -500)], "next": "new" }))
            }
            None => json_answer(&json!({ "orders": [order(1, -500)], "next": "old" })),
        });
        let server = server.await;
        let reader = reader(service(&server.address(), &orders(CURSOR)), &Still::at(at(0)));
        let mut kept = Kept::default();
        assert!(poll_some(&reader, "orders", &mut kept, 1).await.unwrap().is_none());
        *forgotten.lock().unwrap() = true;
        poll(&reader, "orders", &mut kept).await.unwrap();
        assert_eq!(kept.orders(), [1, 2]);
    }
}

#[tokio::test]
async fn interrupted_passes_of_every_style_lose_nothing_even_where_records_moved_meanwhile() {
    let changed = |number: u32| i64::from(number) * 1_000 - 100_000;
    for pages in [
        r#"pages = { by = "number", ask = "page", first = 0, size_ask = "size", size = 3 }"#,
        r#"pages = { by = "offset", ask = "skip", size_ask = "size", size = 3 }"#,
        r#"pages = { by = "url", at = "$.next", size_ask = "size", size = 3 }"#,
    ] {
        for crash in 1..5 {
            for turn in [0, 1, 2, 5] {
                let numbers = Arc::new(Mutex::new((1..=11).collect::<Vec<u32>>()));
                let own = Arc::clone(&numbers);
                let server = Server::start(move |asked| {
                    let mut numbers = own.lock().unwrap().clone();
                    // What comes behind the interrupted pass must not hide what that has lost.
                    if let Some(since) = asked.get("since").map(moment) {
                        numbers.retain(|number| at(changed(*number)) >= since);
                    }
                    let start = asked
                        .get("skip")
                        .map_or_else(|| asked.number("page", 0) * 3, |skip| skip.parse().unwrap());
                    let start = start.min(numbers.len());
                    let end = (start + 3).min(numbers.len());
                    let page: Vec<Value> =
                        numbers[start..end].iter().map(|number| order(*number, changed(*number))).collect();
                    let mut body = json!({ "orders": page });
                    if end < numbers.len() {
                        body["next"] = json!(format!("/api/orders?page={}", start / 3 + 1));
                    }
                    json_answer(&body)
                });
                let server = server.await;
                let reader = reader(
                    service(&server.address(), &orders(&format!("{pages}\n{CHANGES}"))),
                    &Still::at(at(0)),
                );
                let mut kept = Kept::default();
                poll_some(&reader, "orders", &mut kept, crash).await.unwrap();
                numbers.lock().unwrap().rotate_left(turn);
                poll(&reader, "orders", &mut kept).await.unwrap();
                assert_eq!(kept.orders(), (1..=11).collect::<Vec<u32>>(), "{pages} {crash} {turn}");
            }
        }
    }
}

/// A table without times of change, of a source that says what time it is, or does not.
#[tokio::test]
async fn without_times_of_change_the_mark_moves_by_the_date_of_the_source_or_not_at_all() {
    let keys = orders(CHANGES).replace("updated_at = \"$.changed\"\n", "");
    let server = changing(book(&[(1, -600)])).await;
    let reader_dated = reader(service(&server.address(), &keys), &Still::at(at(0)));
    let mut kept = Kept::default();
    poll(&reader_dated, "orders", &mut kept).await.unwrap();
    poll(&reader_dated, "orders", &mut kept).await.unwrap();
    assert_eq!(server.asked().await[1], format!("orders?since={}", text(at(-300))));

    let body = json!({ "orders": [order(1, -600)] }).to_string();
    let address = raw_server(vec![raw_json(&body, "connection: close\r\n")]).await;
    let reader = reader(service(&address, &keys), &Still::at(at(0)));
    let mut kept = Kept::default();
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!(kept.read_up_to("orders"), Some(at(0)), "by the clock of this machine");
    assert!(kept.marks["orders"].text.contains("\"since\":null"), "{}", kept.marks["orders"].text);
}

#[tokio::test]
async fn what_a_pass_over_everything_did_not_bring_is_gone_unless_the_source_says_there_is_more() {
    for (in_all, want) in [(1, &["offer tote"][..]), (2, &["offer apron", "offer tote"])] {
        let server = Server::start(move |asked| match asked.before {
            0 => json_answer(&json!({ "offers": [{ "page": "apron" }, { "page": "tote" }], "in_all": 2 })),
            _ => json_answer(&json!({ "offers": [{ "page": "tote" }], "in_all": in_all })),
        });
        let server = server.await;
        let keys = OFFERS.replace("KEYS", "count = \"$.in_all\"");
        let world = Still::at(at(0));
        let reader = reader(service(&server.address(), &keys), &world);
        let mut kept = Kept::default();
        poll(&reader, "offers", &mut kept).await.unwrap();
        world.set(at(60));
        let polled = poll(&reader, "offers", &mut kept).await.unwrap();
        assert_eq!(kept.keys(), want);
        assert_eq!(polled.report.count.unwrap().lacks(), in_all == 2);
    }
}

#[tokio::test]
async fn a_clock_that_is_set_back_during_a_pass_takes_no_row_with_it() {
    let world = Still::at(at(0));
    let own = Arc::clone(&world);
    let server = Server::start(move |_| {
        own.set(at(-600));
        json_answer(&json!({ "offers": [{ "page": "apron" }] }))
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &OFFERS.replace("KEYS", "")), &world);
    let mut kept = Kept::default();
    poll(&reader, "offers", &mut kept).await.unwrap();
    assert_eq!(kept.keys(), ["offer apron"]);
}

/// Answers each page with an `ETag` of its own, of the version that is set.
async fn versioned(pages: Vec<Value>, version: Arc<Mutex<u32>>) -> Server {
    Server::start(move |asked| {
        let page = asked.number("after", 0);
        let etag = format!("\"{page}-{}\"", version.lock().unwrap());
        if asked.headers.get("if-none-match") == Some(&etag) {
            return status(304);
        }
        json_answer(&pages[page]).insert_header("etag", etag.as_str())
    })
    .await
}

#[tokio::test]
async fn where_nothing_has_changed_the_source_says_so_and_counts_as_read() {
    let version = Arc::new(Mutex::new(1));
    let pages = vec![
        json!({ "offers": [{ "page": "apron" }], "next": 1 }),
        json!({ "offers": [{ "page": "tote" }] }),
    ];
    let server = versioned(pages, version.clone()).await;
    let world = Still::at(at(0));
    let reader = reader(service(&server.address(), &OFFERS.replace("KEYS", CURSOR)), &world);
    let mut kept = Kept::default();
    for (seconds, unchanged) in [(0, false), (60, true), (120, true)] {
        world.set(at(seconds));
        let polled = poll(&reader, "offers", &mut kept).await.unwrap();
        assert_eq!(polled.unchanged, unchanged, "{seconds}");
        assert_eq!(kept.keys(), ["offer apron", "offer tote"]);
    }
    assert_eq!(server.asked().await.len(), 6);
    *version.lock().unwrap() = 2;
    let polled = poll(&reader, "offers", &mut kept).await.unwrap();
    assert!(!polled.unchanged);
    assert_eq!(server.asked().await.len(), 8, "the page that was looked at is not asked for twice");
    assert!(poll(&reader, "offers", &mut kept).await.unwrap().unchanged);
    assert_eq!(kept.keys(), ["offer apron", "offer tote"]);
}

#[tokio::test]
async fn changes_are_asked_for_conditionally_only_from_the_same_moment() {
    let server = Server::start(|asked| {
        let is_same = asked.headers.contains_key("if-none-match");
        assert_eq!(is_same, asked.before >= 2, "{}", asked.before);
        if is_same {
            return status(304);
        }
        json_answer(&json!({ "orders": [order(1, -600)] })).insert_header("etag", "\"1\"")
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders(CHANGES)), &Still::at(at(0)));
    let mut kept = Kept::default();
    let mut unchanged = Vec::new();
    for _ in 0..3 {
        unchanged.push(poll(&reader, "orders", &mut kept).await.unwrap().unchanged);
    }
    assert_eq!(unchanged, [false, false, true]);
}

/// The header line with the next page is no part of what an `ETag` tells.
#[tokio::test]
async fn pages_by_link_are_never_asked_for_conditionally() {
    let server = Server::start(|asked| {
        assert!(!asked.headers.contains_key("if-none-match"));
        json_answer(&json!({ "orders": [order(1, -600)] })).insert_header("etag", "\"1\"")
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders("pages = { by = \"link\" }")), &Still::at(at(0)));
    let mut kept = Kept::default();
    for _ in 0..3 {
        assert!(!poll(&reader, "orders", &mut kept).await.unwrap().unchanged);
    }
}

#[tokio::test]
async fn a_clock_that_is_off_is_said_and_the_source_is_read_up_to_its_own_time() {
    for (ahead, notices) in [
        (7_200, vec![PollNotice::ClockOff { ahead: TimeDelta::seconds(7_200) }]),
        (-300, vec![PollNotice::ClockOff { ahead: TimeDelta::seconds(-300) }]),
        (100, vec![]),
    ] {
        let server = Server::start(move |_| {
            dated(ResponseTemplate::new(200).set_body_json(json!({ "orders": [] })), at(ahead))
        });
        let server = server.await;
        let reader = reader(service(&server.address(), &orders(CHANGES)), &Still::at(at(0)));
        let mut kept = Kept::default();
        let polled = poll(&reader, "orders", &mut kept).await.unwrap();
        assert_eq!(polled.report.notices, notices);
        assert_eq!(kept.read_up_to("orders"), Some(at(ahead)));
    }
}

#[tokio::test]
async fn a_source_whose_clock_was_set_back_is_read_anew() {
    let ahead = Arc::new(Mutex::new(7_200));
    let own = Arc::clone(&ahead);
    let server = Server::start(move |asked| {
        let ahead = *own.lock().unwrap();
        let mut all = vec![order(1, ahead - 10)];
        if asked.before > 0 {
            all.push(order(2, 30));
        }
        let since = asked.get("since").map(moment);
        all.retain(|order| since.is_none_or(|since| moment(order["changed"].as_str().unwrap()) >= since));
        dated(ResponseTemplate::new(200).set_body_json(json!({ "orders": all })), at(60 + ahead))
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders(CHANGES)), &Still::at(at(60)));
    let mut kept = Kept::default();
    poll(&reader, "orders", &mut kept).await.unwrap();
    *ahead.lock().unwrap() = 0;
    let polled = poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!(kept.orders(), [1, 2]);
    assert_eq!(polled.report.notices, [PollNotice::ClockSetBack]);
}

#[tokio::test]
async fn an_answer_that_does_not_fit_stops_at_its_page_with_the_mark_unmoved() {
    let odd = Arc::new(Mutex::new(true));
    let own = Arc::clone(&odd);
    let server = Server::start(move |asked| {
        let mut second = order(2, -500);
        if *own.lock().unwrap() {
            second["state"] = json!("odd");
        }
        match asked.get("after") {
            None => json_answer(&json!({ "orders": [order(1, -500)], "next": "b" })),
            Some(_) => json_answer(&json!({ "orders": [second] })),
        }
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders(CURSOR)), &Still::at(at(0)));
    let mut kept = Kept::default();
    let error = poll(&reader, "orders", &mut kept).await.unwrap_err();
    assert!(matches!(&error, PollError::Changed { place, .. } if place.page == 2), "{error}");
    assert_eq!((kept.orders(), kept.batches, kept.read_up_to("orders")), (vec![1], 1, None));
    assert!(poll(&reader, "orders", &mut kept).await.is_err());
    *odd.lock().unwrap() = false;
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!((kept.orders(), kept.read_up_to("orders")), (vec![1, 2], Some(at(0))));
}

#[tokio::test]
async fn json_that_is_cut_is_asked_for_again_and_then_an_error() {
    let good = Arc::new(Mutex::new(2));
    let own = Arc::clone(&good);
    let server = Server::start(move |asked| {
        let body = json!({ "orders": [order(1, -500)] }).to_string();
        let cut = if asked.before < *own.lock().unwrap() { body.len() / 2 } else { body.len() };
        dated(ResponseTemplate::new(200).set_body_raw(&body[..cut], "application/json"), at(0))
    });
    let server = server.await;
    let world = Still::at(at(0));
    let reader = reader(service(&server.address(), &orders("")), &world);
    let mut kept = Kept::default();
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!((kept.orders(), world.slept().len()), (vec![1], 2));
    *good.lock().unwrap() = usize::MAX;
    let before = kept.marks.clone();
    let error = poll(&reader, "orders", &mut kept).await.unwrap_err();
    assert!(matches!(error, PollError::Unreachable { trouble: Trouble::Cut, .. }), "{error}");
    assert!(error.may_pass());
    assert_eq!(kept.marks, before);
}

#[tokio::test]
async fn another_declaration_reads_everything_again_and_other_pages_only_begin_anew() {
    let server = changing(book(&[(1, -500), (2, -500), (3, -500)])).await;
    let first = orders(&format!("{CURSOR}\n{CHANGES}"));
    let reader_first = reader(service(&server.address(), &first), &Still::at(at(0)));
    let mut kept = Kept::default();
    poll(&reader_first, "orders", &mut kept).await.unwrap();
    let done = kept.clone();
    for (keys, since, read_up_to) in [
        (first.replace("size = 2", "size = 50"), true, Some(at(0))),
        (first.replace("5 min", "6 min"), true, Some(at(0))),
        (
            first.replace("quantity = \"$.count\"", "quantity = \"$.count\"\n    title = \"$.title\""),
            false,
            None,
        ),
        (first.replace("path = \"orders\"", "path = \"orders\"\nquery = { all = \"yes\" }"), false, None),
    ] {
        let mut kept = done.clone();
        let before = server.asked().await.len();
        let reader = reader(service(&server.address(), &keys), &Still::at(at(0)));
        let request = reader.requests().next().unwrap();
        let mut poll = reader.poll(request, &kept.marks);
        let step = poll.next().await.unwrap();
        let intake::source::poll::Step::Batch(batch) = step else { panic!("no batch") };
        assert_eq!(server.asked_since(before).await[0].contains("since="), since, "{keys}");
        if batch.rows.orders.len() < 3 {
            assert_eq!(batch.mark.read_up_to, read_up_to, "{keys}");
        }
        kept.commit(&batch);
        assert_eq!(kept.orders(), [1, 2, 3]);
    }
}

#[tokio::test]
async fn a_mark_that_cannot_be_read_is_as_none() {
    let server = changing(book(&[(1, -500)])).await;
    let reader = reader(service(&server.address(), &orders(CHANGES)), &Still::at(at(0)));
    for mark in ["", "{}", "{\"version\":2}", "moss"] {
        let mut kept = Kept::default();
        kept.marks.insert("orders".to_owned(), Mark { text: mark.to_owned(), read_up_to: None });
        poll(&reader, "orders", &mut kept).await.unwrap();
        assert_eq!(kept.orders(), [1], "{mark}");
        assert_eq!(server.asked().await.pop().unwrap(), "orders");
    }
}

#[tokio::test]
async fn a_cursor_in_which_the_secret_stands_is_not_kept() {
    let server = Server::start(|asked| match asked.get("after") {
        None => json_answer(&json!({ "orders": [order(1, -500)], "next": format!("b?key={SECRET}") })),
        Some(_) => json_answer(&json!({ "orders": [order(2, -500)] })),
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders(CURSOR)), &Still::at(at(0)));
    let mut kept = Kept::default();
    assert!(poll_some(&reader, "orders", &mut kept, 1).await.unwrap().is_none());
    assert!(!kept.marks["orders"].text.contains(SECRET));
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!(kept.orders(), [1, 2]);
}

/// The secret as it stands in an address, and in what tells whether a page has changed.
#[tokio::test]
async fn neither_is_the_secret_kept_in_another_spelling_or_in_a_validator() {
    for (next, etag) in [("orders?key=moss%2Dand-stone", "1"), ("orders?moss-and%2dstone", "1"), ("", SECRET)]
    {
        let server = Server::start(move |asked| {
            let next = (asked.before == 0).then_some(next);
            json_answer(&json!({ "orders": [order(asked.before as u32, -500)], "next": next }))
                .insert_header("etag", format!("\"{etag}\"").as_str())
        });
        let server = server.await;
        let keys = orders("pages = { by = \"url\", at = \"$.next\" }");
        let reader = reader(service(&server.address(), &keys), &Still::at(at(0)));
        let mut kept = Kept::default();
        poll_some(&reader, "orders", &mut kept, 1).await.unwrap();
        let text = &kept.marks["orders"].text;
        assert!(!text.contains("stone"), "{text}");
    }
}

/// A source that led on and on when it was broken, or whose cursors have run out.
#[tokio::test]
async fn a_pass_that_cannot_go_on_where_it_was_begins_anew() {
    for refusal in [None, Some(500), Some(501)] {
        let is_broken = Arc::new(Mutex::new(true));
        let own = Arc::clone(&is_broken);
        let server = Server::start(move |asked| match (*own.lock().unwrap(), refusal) {
            (true, _) => {
                let number = asked.number("after", 0) + 1;
                json_answer(&json!({ "orders": [order(number as u32, -500)], "next": number }))
            }
            (false, Some(refusal)) if asked.get("after").is_some() => status(refusal),
            _ => json_answer(&json!({ "orders": [order(99, -500)] })),
        });
        let server = server.await;
        let limits = Limits { pages: 4, ..Limits::default() };
        let reader = reader_within(service(&server.address(), &orders(CURSOR)), &Still::at(at(0)), limits);
        let mut kept = Kept::default();
        match refusal {
            None => assert!(poll(&reader, "orders", &mut kept).await.is_err()),
            Some(_) => assert!(poll_some(&reader, "orders", &mut kept, 2).await.unwrap().is_none()),
        }
        *is_broken.lock().unwrap() = false;
        poll(&reader, "orders", &mut kept).await.unwrap();
        assert!(kept.orders().contains(&99));
        assert_eq!(kept.read_up_to("orders"), Some(at(0)));
    }
}

#[tokio::test]
async fn a_source_that_is_down_for_a_while_does_not_make_an_interrupted_pass_begin_anew() {
    let is_down = Arc::new(Mutex::new(false));
    let own = Arc::clone(&is_down);
    let server = Server::start(move |asked| match asked.get("after") {
        _ if *own.lock().unwrap() => status(503),
        None => json_answer(&json!({ "orders": [order(1, -500)], "next": "b" })),
        Some(_) => json_answer(&json!({ "orders": [order(2, -500)] })),
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders(CURSOR)), &Still::at(at(0)));
    let mut kept = Kept::default();
    assert!(poll_some(&reader, "orders", &mut kept, 1).await.unwrap().is_none());
    *is_down.lock().unwrap() = true;
    assert!(poll(&reader, "orders", &mut kept).await.is_err());
    *is_down.lock().unwrap() = false;
    let before = server.asked().await.len();
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!(server.asked_since(before).await, ["orders?size=2&after=b"]);
}

/// A little each time, less than the overlap, while nothing changes.
#[tokio::test]
async fn a_clock_that_falls_behind_little_by_little_is_seen_once_it_is_too_far() {
    let ahead = Arc::new(Mutex::new(600));
    let own = Arc::clone(&ahead);
    let server = Server::start(move |asked| {
        let ahead = *own.lock().unwrap();
        let mut all = vec![order(1, 590)];
        if ahead == 0 {
            all.push(order(2, 10));
        }
        let since = asked.get("since").map(moment);
        all.retain(|order| since.is_none_or(|since| moment(order["changed"].as_str().unwrap()) >= since));
        dated(ResponseTemplate::new(200).set_body_json(json!({ "orders": all })), at(ahead))
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders(CHANGES)), &Still::at(at(0)));
    let mut kept = Kept::default();
    for now in [600, 400, 200, 0] {
        *ahead.lock().unwrap() = now;
        poll(&reader, "orders", &mut kept).await.unwrap();
    }
    assert_eq!(kept.orders(), [1, 2]);
}

/// Its clock is behind that of this machine, and while the second page is read an order of the first one changes.
#[tokio::test]
async fn a_source_that_does_not_say_its_time_is_asked_from_what_was_known_when_the_pass_began() {
    let page = |orders: &[(u32, i64)], next: Value| {
        let orders: Vec<Value> = orders.iter().map(|(number, changed)| order(*number, *changed)).collect();
        raw_json(&json!({ "orders": orders, "next": next }).to_string(), "connection: close\r\n")
    };
    let address = raw_server(vec![
        page(&[(1, -9_000), (2, -8_000)], json!("b")),
        page(&[(3, -5_000)], Value::Null),
        page(&[(1, -5_500)], Value::Null),
        page(&[(1, -5_500), (3, -5_000)], Value::Null),
    ]);
    let address = address.await;
    let reader = reader(service(&address, &orders(&format!("{CURSOR}\n{CHANGES}"))), &Still::at(at(0)));
    let mut kept = Kept::default();
    let since = |seconds: i64| format!("\"since\":{:?}", text(at(seconds)));
    for seconds in [-8_000, -5_500, -5_000] {
        poll(&reader, "orders", &mut kept).await.unwrap();
        let mark = &kept.marks["orders"].text;
        assert!(mark.contains(&since(seconds)), "{seconds} {mark}");
    }
}

/// Both may say whose orders are given.
#[tokio::test]
async fn other_header_lines_or_another_user_read_everything_again() {
    let server = changing(book(&[(1, -500)])).await;
    let mut kept = Kept::default();
    for keys in [
        "headers = { \"X-Store\" = \"7\" }",
        "headers = { \"X-Store\" = \"8\" }",
        "sign_in = { user = \"apron\", secret = { environment = \"TILL_KEY\" } }",
        "sign_in = { user = \"tote\", secret = { environment = \"TILL_KEY\" } }",
    ] {
        let reader =
            reader(service(&server.address(), &format!("{keys}\n{}", orders(CHANGES))), &Still::at(at(0)));
        for want in [false, true] {
            poll(&reader, "orders", &mut kept).await.unwrap();
            assert_eq!(server.asked().await.pop().unwrap().contains("since"), want, "{keys}");
        }
    }
}
