//! The ways in which pages follow each other, and records that move from page to page while they are read.

use std::sync::{Arc, Mutex};

use intake::source::declare::Service;
use intake::source::http::Limits;
use intake::source::poll::{PollError, PollNotice};
use serde_json::{Value, json};
use wiremock::ResponseTemplate;

use crate::common::*;

const CHANGES: &str = r#"changes = { ask = "since", form = "epoch_seconds", overlap = "1 s" }"#;

/// A list of orders, by number and change, in the order in which the server gives them.
type Items = Vec<(u32, i64)>;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Style {
    Link,
    Url,
    Cursor,
    Number,
    /// Pages by number, of which those behind the last are not there.
    NumberOrNone,
    Offset,
}

const ALL: [Style; 6] =
    [Style::Link, Style::Url, Style::Cursor, Style::Number, Style::NumberOrNone, Style::Offset];

/// Those that count from the first record on.
const COUNTING: [Style; 5] = [Style::Link, Style::Url, Style::Number, Style::NumberOrNone, Style::Offset];

impl Style {
    fn keys(self) -> &'static str {
        match self {
            Self::Link => r#"pages = { by = "link", size_ask = "size", size = 3 }"#,
            Self::Url => r#"pages = { by = "url", at = "$.next", size_ask = "size", size = 3 }"#,
            Self::Cursor => {
                r#"pages = { by = "cursor", at = "$.next", ask = "after", size_ask = "size", size = 3 }"#
            }
            Self::Number | Self::NumberOrNone => {
                r#"pages = { by = "number", ask = "page", first = 1, size_ask = "size", size = 3 }"#
            }
            Self::Offset => r#"pages = { by = "offset", ask = "skip", size_ask = "size", size = 3 }"#,
        }
    }

    /// A further pass is asked for what changed lately alone, so that it hides nothing that the first one lost.
    fn answer(self, asked: &Asked, items: &Items) -> ResponseTemplate {
        let since = asked.number("since", 0) as i64;
        let items: Items =
            items.iter().copied().filter(|(_, changed)| at(*changed).timestamp() >= since).collect();
        let size = asked.number("size", 3);
        let start = match self {
            Self::Link | Self::Url | Self::Number | Self::NumberOrNone => {
                (asked.number("page", 1) - 1) * size
            }
            Self::Cursor => asked.number("after", 0),
            Self::Offset => asked.number("skip", 0),
        };
        if self == Self::NumberOrNone && start > 0 && start >= items.len() {
            return status(404);
        }
        let start = start.min(items.len());
        let end = (start + size).min(items.len());
        let orders: Vec<Value> =
            items[start..end].iter().map(|(number, changed)| order(*number, *changed)).collect();
        let body = json!({ "orders": orders, "in_all": items.len() });
        let page = asked.number("page", 1);
        match self {
            _ if end == items.len() => json_answer(&body),
            Self::Link => {
                let next = format!("</api/orders?page={}&size={size}&since={since}>; rel=\"next\"", page + 1);
                json_answer(&body).insert_header("link", next.as_str())
            }
            Self::Url => {
                with_next(body, json!(format!("orders?page={}&size={size}&since={since}", page + 1)))
            }
            Self::Cursor => with_next(body, json!(end)),
            Self::Number | Self::NumberOrNone | Self::Offset => json_answer(&body),
        }
    }
}

fn with_next(mut body: Value, next: Value) -> ResponseTemplate {
    body["next"] = next;
    json_answer(&body)
}

/// A server of a list; `then` may change it after the answer of that number.
async fn list(
    style: Style,
    items: Items,
    then: impl Fn(usize, &mut Items) + Send + Sync + 'static,
) -> (Server, Arc<Mutex<Items>>) {
    let items = Arc::new(Mutex::new(items));
    let own = Arc::clone(&items);
    let server = Server::start(move |asked| {
        let mut items = own.lock().unwrap();
        let answer = style.answer(&asked, &items);
        then(asked.before, &mut items);
        answer
    });
    (server.await, items)
}

fn items(count: u32) -> Items {
    (1..=count).map(|number| (number, i64::from(number) - 1_000)).collect()
}

fn numbers(count: u32) -> Vec<u32> {
    (1..=count).collect()
}

fn of(style: Style, server: &Server) -> Service {
    service(&server.address(), &orders(&format!("{}\n{CHANGES}\ncount = \"$.in_all\"", style.keys())))
}

/// A record changes, and is the last one then: those behind it move towards the beginning.
fn to_the_end(items: &mut Items, place: usize, changed: i64) {
    let (number, _) = items.remove(place);
    items.push((number, changed));
}

/// A record changes, and is the first one then: those before it move towards the end.
fn to_the_front(items: &mut Items, place: usize, changed: i64) {
    let (number, _) = items.remove(place);
    items.insert(0, (number, changed));
}

#[tokio::test]
async fn every_record_is_read_once_whatever_the_style_and_the_number() {
    for style in ALL {
        for count in 0..=10 {
            let (server, _) = list(style, items(count), |_, _| ()).await;
            let reader = reader(of(style, &server), &Still::at(at(0)));
            let mut kept = Kept::default();
            let polled = poll(&reader, "orders", &mut kept).await.unwrap();
            assert_eq!(kept.orders(), numbers(count), "{style:?} {count}");
            assert_eq!(kept.read_up_to("orders"), Some(at(0)));
            let counted = polled.report.count.unwrap();
            assert!(counted.agrees(), "{style:?} {count} {counted:?}");
            assert_eq!(polled.report.notices, []);
        }
    }
}

#[tokio::test]
async fn the_pages_are_asked_for_as_declared() {
    for (style, want) in [
        (Style::Cursor, &["orders?size=3", "orders?size=3&after=3"][..]),
        (Style::Link, &["orders?size=3", "orders?page=2&size=3&since=0", "orders?size=3"]),
        (Style::Url, &["orders?size=3", "orders?page=2&size=3&since=0", "orders?size=3"]),
        (
            Style::Number,
            &[
                "orders?size=3&page=1",
                "orders?size=3&page=2",
                "orders?size=3&page=1",
                "orders?size=3&page=3",
                "orders?size=3&page=2",
            ],
        ),
        (Style::Offset, &["orders?size=3&skip=0", "orders?size=3&skip=2", "orders?size=3&skip=3"]),
    ] {
        let (server, _) = list(style, items(4), |_, _| ()).await;
        let reader = reader(of(style, &server), &Still::at(at(0)));
        poll(&reader, "orders", &mut Kept::default()).await.unwrap();
        assert_eq!(server.asked().await, want, "{style:?}");
    }
}

#[tokio::test]
async fn records_that_move_while_pages_are_read_are_not_lost() {
    for style in COUNTING {
        for moment in 0..12 {
            for place in [0, 1, 4, 9] {
                let (server, _) = list(style, items(10), move |before, items| {
                    if before == moment {
                        to_the_end(items, place, 5);
                    }
                })
                .await;
                let reader = reader(of(style, &server), &Still::at(at(0)));
                let mut kept = Kept::default();
                let polled = poll(&reader, "orders", &mut kept).await.unwrap();
                assert_eq!(kept.orders(), numbers(10), "{style:?} {moment} {place}");
                assert_eq!(polled.report.notices, [], "{style:?} {moment} {place}");
                assert!(kept.read_up_to("orders").is_some());
            }
        }
    }
}

#[tokio::test]
async fn records_that_go_while_pages_are_read_take_no_other_with_them() {
    for style in COUNTING {
        for moment in 0..8 {
            for gone in 1..=3 {
                let (server, _) = list(style, items(10), move |before, items| {
                    if before == moment {
                        items.drain(..gone);
                    }
                })
                .await;
                let reader = reader(of(style, &server), &Still::at(at(0)));
                let mut kept = Kept::default();
                poll(&reader, "orders", &mut kept).await.unwrap();
                let left: Vec<u32> = numbers(10).split_off(gone);
                assert!(
                    left.iter().all(|number| kept.orders().contains(number)),
                    "{style:?} {moment} {gone}"
                );
            }
        }
    }
}

#[tokio::test]
async fn a_record_that_moves_to_a_page_that_was_read_is_found_by_a_further_pass() {
    for style in COUNTING {
        for (moment, place) in [(0, 9), (1, 7), (2, 8), (3, 9)] {
            let (server, _) = list(style, items(10), move |before, items| {
                if before == moment {
                    to_the_front(items, place, 5);
                }
            })
            .await;
            let reader = reader(of(style, &server), &Still::at(at(0)));
            let mut kept = Kept::default();
            let polled = poll(&reader, "orders", &mut kept).await.unwrap();
            assert_eq!(kept.orders(), numbers(10), "{style:?} {moment} {place}");
            assert_eq!(
                (polled.report.passes, &*polled.report.notices),
                (2, &[][..]),
                "{style:?} {moment} {place}"
            );
            assert_eq!(kept.read_up_to("orders"), Some(at(0)));
        }
    }
}

#[tokio::test]
async fn records_that_never_come_to_rest_are_read_and_the_source_counts_as_behind() {
    for style in COUNTING {
        let (server, _) = list(style, items(20), |before, items| to_the_end(items, 0, before as i64)).await;
        let reader = reader(of(style, &server), &Still::at(at(0)));
        let mut kept = Kept::default();
        let polled = poll(&reader, "orders", &mut kept).await.unwrap();
        assert_eq!(polled.report.notices, [PollNotice::KeptMoving], "{style:?}");
        assert_eq!(kept.read_up_to("orders"), None);
        assert!(kept.orders().len() >= 19, "{style:?} {:?}", kept.orders());
    }
}

#[tokio::test]
async fn more_than_a_page_that_moves_at_once_makes_reading_begin_again() {
    for style in COUNTING {
        let (server, _) = list(style, items(12), |before, items| {
            if before == 2 {
                items.rotate_left(7);
            }
        })
        .await;
        let reader = reader(of(style, &server), &Still::at(at(0)));
        let mut kept = Kept::default();
        let polled = poll(&reader, "orders", &mut kept).await.unwrap();
        assert_eq!(kept.orders(), numbers(12), "{style:?}");
        assert!(polled.report.count.unwrap().agrees(), "{style:?}");
        assert!(kept.read_up_to("orders").is_some(), "{style:?}");
    }
}

#[tokio::test]
async fn a_source_that_gives_smaller_pages_than_asked_for_is_read_to_its_end() {
    for style in [Style::Number, Style::NumberOrNone, Style::Offset] {
        for (size, count) in [("2", 7), ("1", 1), ("1", 2), ("1", 5)] {
            let server = Server::start(move |mut asked| {
                asked.query.insert("size".to_owned(), size.to_owned());
                style.answer(&asked, &items(count))
            });
            let server = server.await;
            let reader = reader(of(style, &server), &Still::at(at(0)));
            let mut kept = Kept::default();
            let polled = poll(&reader, "orders", &mut kept).await.unwrap();
            assert_eq!(kept.orders(), numbers(count), "{style:?} {size}");
            assert!(polled.report.count.unwrap().agrees(), "{style:?} {size}");
        }
    }
}

/// As it is where records stand by their last change, and many change together.
#[tokio::test]
async fn records_that_change_and_move_together_do_not_show_where_reading_was() {
    for style in [Style::Link, Style::Number, Style::Offset] {
        for count in [5, 8] {
            for together in 1..count {
                for moment in 0..4 {
                    let (server, _) = list(style, items(count), move |before, items| {
                        if before == moment {
                            items.rotate_left(together as usize);
                            let first = items.len() - together as usize;
                            items[first..].iter_mut().for_each(|(_, changed)| *changed = 5);
                        }
                    })
                    .await;
                    let reader = reader(of(style, &server), &Still::at(at(0)));
                    let mut kept = Kept::default();
                    let polled = poll(&reader, "orders", &mut kept).await.unwrap();
                    let case = format!("{style:?} {count} {together} {moment}");
                    assert_eq!(kept.orders(), numbers(count), "{case}");
                    assert_eq!(
                        (kept.read_up_to("orders"), &*polled.report.notices),
                        (Some(at(0)), &[][..]),
                        "{case}"
                    );
                }
            }
        }
    }
}

#[tokio::test]
async fn pages_of_one_record_are_read_whole_while_records_move_and_go() {
    let keys = Style::Offset.keys().replace("size = 3", "size = 1");
    for moment in 0..8 {
        for (goes, left) in [(false, numbers(5)), (true, vec![2, 3, 4, 5])] {
            let (server, _) = list(Style::Offset, items(5), move |before, items| {
                if before == moment && goes {
                    items.remove(0);
                } else if before == moment {
                    to_the_end(items, 0, 5);
                }
            })
            .await;
            let keys = orders(&format!("{keys}\n{CHANGES}"));
            let reader = reader(service(&server.address(), &keys), &Still::at(at(0)));
            let mut kept = Kept::default();
            poll(&reader, "orders", &mut kept).await.unwrap();
            assert!(left.iter().all(|number| kept.orders().contains(number)), "{moment} {goes}");
        }
    }
}

/// Neither of a source that does not know an offset behind its last record, where some went meanwhile.
#[tokio::test]
async fn an_offset_that_leads_nowhere_ends_reading_where_nothing_is_left() {
    for refusal in [400, 404, 416, 422] {
        for (count, gone, moment) in [(1, 0, 0), (3, 0, 0), (4, 0, 0), (5, 3, 0), (7, 4, 1)] {
            let all = Arc::new(Mutex::new(items(count)));
            let own = Arc::clone(&all);
            let server = Server::start(move |asked| {
                let mut all = own.lock().unwrap();
                let start = asked.number("skip", 0);
                let answer = Style::Offset.answer(&asked, &all);
                if asked.before == moment {
                    all.drain(..gone);
                }
                if start > 0 && start >= all.len() { status(refusal) } else { answer }
            });
            let server = server.await;
            let reader = reader(service(&server.address(), &orders(Style::Offset.keys())), &Still::at(at(0)));
            let mut kept = Kept::default();
            poll(&reader, "orders", &mut kept).await.unwrap();
            let left = numbers(count).split_off(gone);
            assert!(left.iter().all(|number| kept.orders().contains(number)), "{refusal} {count}");
        }
    }
}

#[tokio::test]
async fn a_cursor_or_an_address_that_comes_again_is_an_error_and_its_page_is_not_kept() {
    for (style, to) in [(Style::Cursor, "3"), (Style::Url, "orders?page=2&size=3")] {
        // The second page is followed by itself, the third one by the second.
        for (page, round) in [(2, 2), (3, 2)] {
            let server = Server::start(move |asked| {
                let now = if style == Style::Cursor {
                    asked.number("after", 0) / 3 + 1
                } else {
                    asked.number("page", 1)
                };
                let first = (now as u32 - 1) * 3 + 1;
                let orders: Vec<Value> = (first..first + 3).map(|number| order(number, -500)).collect();
                let next = match style {
                    _ if now == page => json!(to),
                    Style::Cursor => json!(now * 3),
                    _ => json!(format!("orders?page={}&size=3", now + 1)),
                };
                with_next(json!({ "orders": orders }), next)
            });
            let server = server.await;
            let keys = orders(style.keys());
            let reader = reader(service(&server.address(), &keys), &Still::at(at(0)));
            let mut kept = Kept::default();
            let error = poll(&reader, "orders", &mut kept).await.unwrap_err();
            assert!(matches!(&error, PollError::Repeats { place } if place.page == page as u64), "{error}");
            assert_eq!(kept.orders(), numbers(3 * (page as u32 - 1)), "{style:?} {page} {round}");
            assert!(error.may_pass());
        }
    }
}

#[tokio::test]
async fn a_page_that_comes_whatever_is_asked_for_is_an_error() {
    for style in [Style::Number, Style::Offset] {
        let server = Server::start(|_| {
            let orders: Vec<Value> = (1..=3).map(|number| order(number, -500)).collect();
            json_answer(&json!({ "orders": orders, "in_all": 3 }))
        });
        let server = server.await;
        let reader = reader(of(style, &server), &Still::at(at(0)));
        let error = poll(&reader, "orders", &mut Kept::default()).await.unwrap_err();
        assert!(matches!(error, PollError::Repeats { .. }), "{style:?} {error}");
        assert!(server.asked().await.len() < 10);
    }
}

#[tokio::test]
async fn a_page_too_many_is_an_error() {
    for style in ALL {
        let (server, _) = list(style, items(12), |_, _| ()).await;
        let limits = Limits { pages: 3, ..Limits::default() };
        let reader = reader_within(of(style, &server), &Still::at(at(0)), limits);
        let error = poll(&reader, "orders", &mut Kept::default()).await.unwrap_err();
        assert!(error.to_string().contains("page 4: there are more than 3 pages."), "{style:?} {error}");
    }
}

#[tokio::test]
async fn a_next_page_elsewhere_is_not_followed() {
    for (style, next) in
        [(Style::Link, "https://shop.example/api/orders?page=2"), (Style::Url, "//shop.example/x")]
    {
        let server = Server::start(move |_| {
            let link = format!("<{next}>; rel=next");
            with_next(json!({ "orders": [order(1, -500)] }), json!(next)).insert_header("link", link.as_str())
        });
        let server = server.await;
        let reader = reader(service(&server.address(), &orders(style.keys())), &Still::at(at(0)));
        let mut kept = Kept::default();
        let error = poll(&reader, "orders", &mut kept).await.unwrap_err();
        let is_right =
            matches!(&error, PollError::Elsewhere { origin, .. } if origin.ends_with("://shop.example"));
        assert!(is_right, "{error}");
        assert_eq!((kept.batches, server.asked().await.len()), (0, 1));
    }
}

#[tokio::test]
async fn a_header_with_the_next_page_that_cannot_be_read_is_no_last_page() {
    let server = Server::start(|_| {
        json_answer(&json!({ "orders": [order(1, -500)] })).insert_header("link", "</orders?page=2; rel=next")
    });
    let server = server.await;
    let reader = reader(service(&server.address(), &orders(Style::Link.keys())), &Still::at(at(0)));
    let error = poll(&reader, "orders", &mut Kept::default()).await.unwrap_err();
    assert!(matches!(error, PollError::Changed { .. }), "{error}");
}

#[tokio::test]
async fn a_count_that_differs_is_told_with_both_numbers() {
    for (keys, header) in [("count = \"$.in_all\"", "5"), ("count_header = \"X-Total\"", "7")] {
        let server = Server::start(move |_| {
            let body = json!({ "orders": [order(1, -500), order(2, -500), order(2, -500)], "in_all": 7 });
            json_answer(&body).insert_header("x-total", header)
        });
        let server = server.await;
        let reader = reader(service(&server.address(), &orders(keys)), &Still::at(at(0)));
        let polled = poll(&reader, "orders", &mut Kept::default()).await.unwrap();
        let count = polled.report.count.unwrap();
        assert_eq!((count.said_last, count.read), (7, 3));
        assert!(count.lacks() && !count.agrees());
    }
    let server = Server::start(|_| json_answer(&json!({ "orders": [] })).insert_header("x-total", "many"));
    let server = server.await;
    let reader = reader(service(&server.address(), &orders("count_header = \"X-Total\"")), &Still::at(at(0)));
    let error = poll(&reader, "orders", &mut Kept::default()).await.unwrap_err();
    assert!(error.to_string().contains("header line X-Total is no whole number"), "{error}");
}

/// Polls two orders, and then five of which `passing_over` hides some from the pages but not from the count.
async fn pass_over(
    style: Style,
    keys: &str,
    passing_over: impl Fn(&mut Asked, &mut Items) + Send + Sync + 'static,
) {
    let stage = Arc::new(Mutex::new(0));
    let own = Arc::clone(&stage);
    let server = Server::start(move |mut asked| {
        let stage = *own.lock().unwrap();
        let mut all = items(if stage == 0 { 2 } else { 5 });
        let count = all.len().to_string();
        if stage == 1 {
            passing_over(&mut asked, &mut all);
        }
        dated(style.answer(&asked, &all), at(60 * stage)).insert_header("x-total", count.as_str())
    });
    let server = server.await;
    let keys = orders(&format!("{keys}\n{CHANGES}\ncount_header = \"X-Total\""));
    let reader = reader(service(&server.address(), &keys), &Still::at(at(0)));
    let mut kept = Kept::default();
    poll(&reader, "orders", &mut kept).await.unwrap();
    let mark = kept.marks["orders"].clone();
    *stage.lock().unwrap() = 1;
    let report = poll(&reader, "orders", &mut kept).await.unwrap().report;
    assert!(report.count.unwrap().lacks(), "{style:?} {report:?}");
    assert_eq!((report.passes, &*report.notices), (1, &[][..]), "{style:?}");
    assert!(kept.orders().len() < 5, "{style:?}");
    assert_eq!(kept.marks["orders"], mark, "{style:?}");
    *stage.lock().unwrap() = 2;
    poll(&reader, "orders", &mut kept).await.unwrap();
    assert_eq!(kept.orders(), numbers(5), "{style:?}");
    assert_eq!(kept.read_up_to("orders"), Some(at(120)), "{style:?}");
}

#[tokio::test]
async fn where_the_count_says_that_rows_were_passed_over_the_mark_stays_and_the_next_poll_brings_them() {
    // One of several servers does not know of the last but one yet.
    for style in ALL {
        pass_over(style, style.keys(), |_, items| {
            items.remove(3);
        })
        .await;
    }
}

/// Whether it shows by the records, or by the count alone.
#[tokio::test]
async fn a_page_that_is_replaced_by_the_page_before_it_loses_nothing() {
    for (size, count) in [(1, 5), (2, 5), (3, 7), (3, 4)] {
        for skip in 1..count {
            for lasts in [false, true] {
                let is_broken = Arc::new(Mutex::new(true));
                let own = Arc::clone(&is_broken);
                let server = Server::start(move |mut asked| {
                    let mut is_broken = own.lock().unwrap();
                    if *is_broken && asked.number("skip", 0) == skip {
                        *is_broken = lasts;
                        asked.query.insert("skip".to_owned(), skip.saturating_sub(size).to_string());
                    }
                    Style::Offset.answer(&asked, &items(count as u32))
                });
                let server = server.await;
                let keys = Style::Offset.keys().replace("size = 3", &format!("size = {size}"));
                let keys = orders(&format!("{keys}\n{CHANGES}\ncount = \"$.in_all\""));
                let reader = reader(service(&server.address(), &keys), &Still::at(at(0)));
                let mut kept = Kept::default();
                let first = poll(&reader, "orders", &mut kept).await;
                let case = format!("{size} {count} {skip} {lasts} {first:?}");
                if kept.orders() != numbers(count as u32) {
                    assert_eq!(kept.read_up_to("orders"), None, "{case}");
                    assert!(first.is_err() || first.unwrap().report.count.unwrap().lacks(), "{case}");
                }
                *is_broken.lock().unwrap() = false;
                poll(&reader, "orders", &mut kept).await.unwrap();
                assert_eq!(kept.orders(), numbers(count as u32), "{case}");
                assert_eq!(kept.read_up_to("orders"), Some(at(0)), "{case}");
            }
        }
    }
}

#[tokio::test]
async fn what_is_passed_over_before_an_interruption_shows_in_the_count_behind_it() {
    for style in ALL {
        let is_broken = Arc::new(Mutex::new(true));
        let own = Arc::clone(&is_broken);
        let server = Server::start(move |asked| {
            let mut all = items(8);
            if *own.lock().unwrap() {
                all.remove(1);
            }
            style.answer(&asked, &all).insert_header("x-total", "8")
        });
        let server = server.await;
        let keys = orders(&format!("{}\n{CHANGES}\ncount_header = \"X-Total\"", style.keys()));
        let reader = reader(service(&server.address(), &keys), &Still::at(at(0)));
        let mut kept = Kept::default();
        assert!(poll_some(&reader, "orders", &mut kept, 1).await.unwrap().is_none());
        let report = poll(&reader, "orders", &mut kept).await.unwrap().report;
        let count = report.count.unwrap();
        assert_eq!((count.said_first, count.said_last, count.read), (8, 8, 7), "{style:?}");
        assert_eq!(kept.read_up_to("orders"), None, "{style:?}");
        *is_broken.lock().unwrap() = false;
        poll(&reader, "orders", &mut kept).await.unwrap();
        assert_eq!(kept.orders(), numbers(8), "{style:?}");
    }
}

#[tokio::test]
async fn a_cursor_or_an_address_without_end_is_an_error_and_not_kept() {
    for style in [Style::Cursor, Style::Url] {
        let server =
            Server::start(|_| with_next(json!({ "orders": [order(1, -500)] }), json!("x".repeat(9_000))));
        let server = server.await;
        let reader = reader(service(&server.address(), &orders(style.keys())), &Still::at(at(0)));
        let mut kept = Kept::default();
        let error = poll(&reader, "orders", &mut kept).await.unwrap_err().to_string();
        let said = "page 1: what leads to its next page is longer than 8192 bytes. The mark has not moved; look at it";
        assert!(error.contains(said), "{error}");
        assert_eq!(kept.batches, 0);
    }
}
