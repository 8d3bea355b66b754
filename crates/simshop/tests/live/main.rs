//! The live shop: that its three APIs say what is the case, that each fault shows, and that nothing is missing in the
//! day. Start reading at the names of the tests.

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

mod http;
mod reader;
mod shelf;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::net::SocketAddr;
use std::time::{Duration, Instant};

use chrono::{DateTime, NaiveTime, TimeDelta, Timelike, Utc};
use data_encoding::BASE64;
use http::{Answer, get};
use model::book::{OrderStatus, SubmissionStatus};
use model::{Book, Check, Currency, OrderId};
use reader::{Reader, Tables, key};
use rust_decimal::Decimal;
use serde_json::{Map, Value};
use simshop::live::{Fault, Plan, Ports, RetryAfter, Serving, Source, World};
use simshop::{Subject, TimeLeft, write_jsonl};

/// A moment of the sale day, so many minutes after midnight.
fn on_the_day(minutes: i64) -> DateTime<Utc> {
    World::begins() + TimeDelta::minutes(minutes)
}

/// A book as the lines of exchange files say it, amounts without trailing zeros.
fn tables_of(book: &Book) -> Tables {
    let folder = tempfile::tempdir().unwrap();
    write_jsonl(book, folder.path()).unwrap();
    let mut tables = Tables::new();
    for entry in fs::read_dir(folder.path()).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let rows = tables.entry(name.clone()).or_default();
        for line in fs::read_to_string(&path).unwrap().lines() {
            let mut row: Map<String, Value> = serde_json::from_str(line).unwrap();
            for column in ["price", "unit_price", "unit_cost"] {
                if let Some(amount) = row.get_mut(column) {
                    let plain: Decimal = amount.as_str().unwrap().parse().unwrap();
                    *amount = plain.normalize().to_string().into();
                }
            }
            rows.insert(key(&name, &row), row);
        }
    }
    tables
}

/// Holds what was read against the truth.
fn assert_same(reader: &Reader, world: &World) {
    let truth = world.truth();
    let want = tables_of(&truth.book);
    for (table, rows) in &want {
        let read = reader.tables.get(table).cloned().unwrap_or_default();
        assert_eq!(
            read.keys().collect::<Vec<_>>(),
            rows.keys().collect::<Vec<_>>(),
            "{table} at {}",
            truth.now
        );
        for (key, row) in rows {
            assert_eq!(&read[key], row, "{table} at {}", truth.now);
        }
    }
    let read: BTreeSet<&String> =
        reader.tables.iter().filter(|(_, rows)| !rows.is_empty()).map(|(table, _)| table).collect();
    assert!(read.iter().all(|table| want.contains_key(*table)), "{read:?}");
    let ship_to: BTreeMap<String, Vec<String>> =
        truth.ship_to.into_iter().map(|(order, texts)| (order.to_string(), texts)).collect();
    assert_eq!(reader.digested, ship_to);
}

#[tokio::test]
async fn each_api_says_page_by_page_what_is_the_case() {
    for seed in [1, 2] {
        let world = World::new(seed, Plan::new());
        let serving = world.serve().await.unwrap();
        for moment in
            [on_the_day(0), on_the_day(13 * 60), on_the_day(22 * 60), on_the_day(43 * 60), World::ends()]
        {
            world.advance_to(moment);
            let mut reader = Reader::new(&world, &serving);
            reader.read(None).await.unwrap();
            assert_same(&reader, &world);
        }
        assert!(world.requests(Source::Till.endpoint("orders")) > 4 * 5, "there are several pages");
        assert!(world.requests(Source::Alder.endpoint("pieces")) > 100);
        assert_eq!(world.next_event(), None, "the world ends with its last event");
    }
}

#[tokio::test]
async fn changes_since_are_complete_also_within_a_shared_second() {
    let world = World::new(3, Plan::new());
    let serving = world.serve().await.unwrap();
    let mut reader = Reader::new(&world, &serving);
    let mut since = None;
    let shared = World::shared_second();
    let mut moments: Vec<DateTime<Utc>> =
        (0..26).map(|step| World::begins() + TimeDelta::minutes(137 * step)).collect();
    let within = (0..7).map(|step| shared + TimeDelta::milliseconds(140 * step));
    moments.extend(within.clone());
    moments.extend(within.map(|moment| moment + TimeDelta::seconds(30)));
    moments.push(World::ends());
    moments.sort();
    let mut orders_after = Vec::new();
    for moment in moments {
        world.advance_to(moment);
        reader.read(since).await.unwrap();
        assert_same(&reader, &world);
        since = Some(moment);
        if (moment - shared).num_seconds() == 0 {
            orders_after.push(world.truth().book.orders.len());
        }
    }
    let grows = orders_after.windows(2).filter(|two| two[1] > two[0]).count();
    assert!(grows >= 3, "orders came between reads of one second: {orders_after:?}");
}

#[tokio::test]
async fn what_customers_said_is_in_the_answers_and_not_in_what_the_mappings_keep() {
    let world = World::new(4, Plan::new());
    world.advance_to(World::ends());
    let serving = world.serve().await.unwrap();
    let mut reader = Reader::new(&world, &serving);
    reader.read(None).await.unwrap();
    let kept = serde_json::to_string(&reader.tables).unwrap();
    assert_same(&reader, &world);
    let configuration = world.configuration(&serving);
    let private = world.private_texts();
    let mut sent = 0;
    for text in &private {
        for (place, keeps) in [("rows", &kept), ("configuration", &configuration)] {
            assert!(!keeps.contains(text.as_str()), "{text:?} in {place}");
        }
        sent += usize::from(reader.raw.contains(&serde_json::to_string(text).unwrap()));
    }
    // All but the secrets, and the street that one customer moved away from between two reads.
    assert!(sent + 4 + 1 >= private.len() && private.len() > 500, "{sent} of {}", private.len());
    let a_text = |text: &str| private.iter().any(|private| private.contains(text));
    assert!(a_text("@post.example") && a_text("For Morwinna") && a_text("next door"));
    assert!(world.secrets().iter().all(|(_, secret)| private.contains(secret)));
}

/// The sign-in of a source.
fn sign_in(world: &World, source: Source) -> (String, String) {
    let secrets = world.secrets();
    match source {
        Source::Till => ("Authorization".to_owned(), format!("Bearer {}", secrets[0].1)),
        Source::Alder => {
            let basic = BASE64.encode(format!("kittiwake:{}", secrets[1].1).as_bytes());
            ("Authorization".to_owned(), format!("Basic {basic}"))
        }
        Source::Brook => ("X-Press-Key".to_owned(), secrets[2].1.clone()),
    }
}

fn address(serving: &Serving, source: Source) -> SocketAddr {
    match source {
        Source::Till => serving.till,
        Source::Alder => serving.alder,
        Source::Brook => serving.brook,
    }
}

/// The path of the records that change.
fn main_path(source: Source) -> &'static str {
    match source {
        Source::Till => "/shop/orders?limit=5",
        Source::Alder => "/v/jobs?per_page=5",
        Source::Brook => "/list/submissions?take=5",
    }
}

/// The second page of the same.
fn second_page(source: Source, first: &Answer) -> String {
    match source {
        Source::Till => {
            let cursor = first.json().unwrap()["more"]["cursor"].as_str().unwrap().to_owned();
            format!("/shop/orders?limit=5&after={cursor}")
        }
        Source::Alder => "/v/jobs?per_page=5&page=2".to_owned(),
        Source::Brook => "/list/submissions?take=5&skip=5".to_owned(),
    }
}

async fn ask(world: &World, serving: &Serving, source: Source, path: &str) -> io::Result<Answer> {
    get(address(serving, source), path, &[sign_in(world, source)]).await
}

fn records(source: Source, answer: &Answer) -> Vec<Value> {
    let body = answer.json().unwrap();
    let records = match source {
        Source::Till => &body["orders"],
        Source::Alder => &body,
        Source::Brook => &body["result"]["rows"],
    };
    records.as_array().unwrap().clone()
}

fn ids(source: Source, answer: &Answer) -> Vec<String> {
    let id = match source {
        Source::Till => "number",
        Source::Alder => "job",
        Source::Brook => "no",
    };
    records(source, answer).iter().map(|record| record[id].to_string()).collect()
}

#[tokio::test]
async fn nobody_is_let_in_without_the_secret() {
    let world = World::new(5, Plan::new());
    let serving = world.serve().await.unwrap();
    let wrong = BASE64.encode(b"kittiwake:guess");
    for source in Source::ALL {
        let secret = sign_in(&world, source);
        let name = secret.0.clone();
        for (headers, status) in [
            (vec![], 401),
            (vec![(name.clone(), "guess".to_owned())], 401),
            (vec![(name.clone(), "Bearer guess".to_owned())], 401),
            (vec![(name, format!("Basic {wrong}"))], 401),
            (vec![secret], 200),
        ] {
            let answer = get(address(&serving, source), main_path(source), &headers).await.unwrap();
            assert_eq!(answer.status, status, "{source:?} {headers:?}");
        }
        for others in Source::ALL.into_iter().filter(|other| *other != source) {
            let answer = get(address(&serving, source), main_path(source), &[sign_in(&world, others)]).await;
            assert_eq!(answer.unwrap().status, 401, "{source:?} with the secret of {others:?}");
        }
    }
}

#[tokio::test]
async fn what_is_asked_wrongly_is_refused() {
    let world = World::new(5, Plan::new());
    let serving = world.serve().await.unwrap();
    for (source, path, status) in [
        (Source::Till, "/shop/orders?after=nonsense", 400),
        (Source::Till, "/shop/orders?changed_from=2026-11-25", 400),
        (Source::Till, "/shop/orders?page=2", 400),
        (Source::Till, "/shop/offers?changed_from=1", 400),
        (Source::Till, "/shop/customers", 404),
        (Source::Alder, "/v/jobs?changed_since=1764000000", 400),
        (Source::Alder, "/v/jobs?changed_since=2026-11-25T10:00:00+02:00", 400),
        (Source::Alder, "/v/jobs?changed_since=2026-11-25T10:00:00%2B02:00", 200),
        (Source::Alder, "/v/jobs/AL-1/pieces", 404),
        (Source::Brook, "/list/submissions?touched_from=yesterday", 400),
        (Source::Brook, "/list/goods?touched_from=1", 400),
    ] {
        let answer = ask(&world, &serving, source, path).await.unwrap();
        assert_eq!(answer.status, status, "{path}");
    }
}

#[tokio::test]
async fn each_fault_shows_while_it_is_switched_on_at_its_source_alone() {
    let world = World::new(6, Plan::new());
    world.advance_to(on_the_day(22 * 60));
    let serving = world.serve().await.unwrap();
    for source in Source::ALL {
        let path = main_path(source);
        let good = ask(&world, &serving, source, path).await.unwrap();
        for fault in [
            Fault::Dropped,
            Fault::TooManyRequests(RetryAfter::Seconds(7)),
            Fault::TooManyRequests(RetryAfter::Date(90)),
            Fault::Unavailable,
            Fault::Broken,
            Fault::Cut,
            Fault::WrongType,
            Fault::Html,
            Fault::LyingCount(3),
            Fault::Reordered,
        ] {
            world.switch_on(source, fault);
            let bad = ask(&world, &serving, source, path).await;
            for other in Source::ALL.into_iter().filter(|other| *other != source) {
                assert_eq!(ask(&world, &serving, other, main_path(other)).await.unwrap().status, 200);
            }
            world.switch_off(source, fault);
            let again = ask(&world, &serving, source, path).await.unwrap();
            assert_eq!(again.body, good.body, "{fault:?} is over");
            if fault == Fault::Dropped {
                assert!(bad.is_err());
                continue;
            }
            let bad = bad.unwrap();
            match fault {
                Fault::TooManyRequests(RetryAfter::Seconds(_)) => {
                    assert_eq!((bad.status, bad.header("retry-after")), (429, Some("7")));
                }
                Fault::TooManyRequests(RetryAfter::Date(_)) => {
                    // 22:00 at the shop is an hour earlier in UTC.
                    assert_eq!(bad.header("date"), Some("Wed, 25 Nov 2026 21:00:00 GMT"));
                    assert_eq!(bad.header("retry-after"), Some("Wed, 25 Nov 2026 21:01:30 GMT"));
                    assert_eq!(bad.status, 429);
                }
                Fault::Unavailable => assert_eq!(bad.status, 503),
                Fault::Broken => assert_eq!(bad.status, 500),
                Fault::Cut => {
                    assert_eq!((bad.status, bad.json()), (200, None));
                    assert!(good.body.starts_with(&bad.body) && !bad.body.is_empty());
                }
                Fault::Html => {
                    assert!(
                        bad.status == 200 && bad.header("content-type").unwrap().starts_with("text/html")
                    );
                }
                Fault::LyingCount(_) => assert_eq!(told_count(source, &bad), told_count(source, &good) + 3),
                Fault::WrongType => {
                    assert_ne!(bad.json(), good.json());
                    assert_eq!(ids(source, &bad), ids(source, &good));
                    let (bad, good) = (records(source, &bad), records(source, &good));
                    assert_eq!(bad[1..], good[1..], "only the first record is wrong");
                }
                Fault::Reordered => {
                    let mut ids = ids(source, &bad);
                    ids.reverse();
                    assert_eq!(ids, self::ids(source, &good));
                }
                _ => unreachable!(),
            }
        }
    }
}

fn told_count(source: Source, answer: &Answer) -> i64 {
    match source {
        Source::Till => answer.json().unwrap()["in_all"].as_i64().unwrap(),
        Source::Alder => answer.header("x-records").unwrap().parse().unwrap(),
        Source::Brook => answer.json().unwrap()["result"]["all"].as_i64().unwrap(),
    }
}

#[tokio::test]
async fn an_answer_is_delayed_by_as_much_as_was_said() {
    let world =
        World::new(6, Plan::new().after(Source::Till, 0, 1, Fault::Delayed(Duration::from_millis(300))));
    let serving = world.serve().await.unwrap();
    let begun = Instant::now();
    ask(&world, &serving, Source::Till, main_path(Source::Till)).await.unwrap();
    assert!(begun.elapsed() >= Duration::from_millis(300));
}

#[tokio::test]
async fn a_page_that_is_repeated_leads_back_to_the_asked_one_except_by_offset() {
    let world = World::new(6, Plan::new());
    world.advance_to(on_the_day(22 * 60));
    let serving = world.serve().await.unwrap();
    for source in Source::ALL {
        let first = ask(&world, &serving, source, main_path(source)).await.unwrap();
        let second = second_page(source, &first);
        let good = ask(&world, &serving, source, &second).await.unwrap();
        world.switch_on(source, Fault::PageRepeated);
        let repeated = ask(&world, &serving, source, &second).await.unwrap();
        world.switch_all_off();
        assert_eq!(ids(source, &repeated), ids(source, &first));
        assert_ne!(ids(source, &repeated), ids(source, &good));
        match source {
            Source::Till => assert_eq!(repeated.json(), first.json()),
            Source::Alder => assert_eq!(repeated.header("link"), first.header("link")),
            Source::Brook => {}
        }
    }
    // Whoever looks can tell: a page brings nothing new and is followed.
    for endpoint in [
        Source::Till.endpoint("orders"),
        Source::Alder.endpoint("jobs"),
        Source::Brook.endpoint("submissions"),
    ] {
        let mut reader = Reader::new(&world, &serving);
        world.switch_on_for(endpoint, 2, Fault::PageRepeated);
        let read = reader.read(None).await;
        world.switch_all_off();
        assert!(read.as_ref().is_err_and(|error| error.contains("nothing new")), "{endpoint:?}: {read:?}");
    }
}

#[tokio::test]
async fn a_cursor_that_repeats_leads_nowhere_else() {
    let world = World::new(6, Plan::new());
    world.advance_to(on_the_day(22 * 60));
    let serving = world.serve().await.unwrap();
    for source in [Source::Till, Source::Alder] {
        let first = ask(&world, &serving, source, main_path(source)).await.unwrap();
        let second = second_page(source, &first);
        world.switch_on(source, Fault::CursorRepeats);
        let answer = ask(&world, &serving, source, &second).await.unwrap();
        world.switch_all_off();
        if source == Source::Till {
            assert_eq!(second_page(source, &answer), second);
        } else {
            assert!(answer.header("link").unwrap().contains("/v/jobs?page=2&per_page=5>; rel=\"next\""));
        }
    }
}

#[tokio::test]
async fn pages_shift_when_a_record_changes_between_them() {
    let world = World::new(6, Plan::new());
    world.advance_to(on_the_day(22 * 60));
    let serving = world.serve().await.unwrap();
    for source in Source::ALL {
        let before = ask(&world, &serving, source, main_path(source)).await.unwrap();
        let third = ids(source, &ask(&world, &serving, source, &second_page(source, &before)).await.unwrap());
        world.switch_on_for(source, 1, Fault::Shifting);
        let first = ask(&world, &serving, source, main_path(source)).await.unwrap();
        assert_eq!(first.body, before.body, "the record changes after the answer");
        let second = ids(source, &ask(&world, &serving, source, &second_page(source, &first)).await.unwrap());
        match source {
            Source::Till => assert_eq!(second, third, "a cursor does not shift"),
            Source::Alder => {
                assert_eq!(second[..4], third[1..], "a record is passed over: {}", third[0]);
                assert!(!ids(source, &first).contains(&third[0]));
            }
            Source::Brook => {
                assert_eq!(second[1..], third[1..]);
                assert_eq!(second[0], ids(source, &first)[4], "a record comes twice, the changed one lacks");
            }
        }
    }
    let mut reader = Reader::new(&world, &serving);
    reader.read(None).await.unwrap();
    assert_same(&reader, &world);
    // A change on the second page of jobs: one lacks, and only the count tells.
    world.switch_on_for(Source::Alder.endpoint("jobs"), 1, Fault::Shifting);
    let read = Reader::new(&world, &serving).read(None).await;
    assert!(read.as_ref().is_err_and(|why| why.contains("were counted")), "{read:?}");
}

#[tokio::test]
async fn a_clock_that_is_off_shows_in_the_date_and_in_every_time() {
    let world = World::new(6, Plan::new());
    world.advance_to(on_the_day(22 * 60));
    let serving = world.serve().await.unwrap();
    let skew = TimeDelta::minutes(-9);
    for source in Source::ALL {
        let good = ask(&world, &serving, source, main_path(source)).await.unwrap();
        world.switch_on(source, Fault::SkewedClock(skew));
        let bad = ask(&world, &serving, source, main_path(source)).await.unwrap();
        assert_eq!(good.header("date"), Some("Wed, 25 Nov 2026 21:00:00 GMT"));
        assert_eq!(bad.header("date"), Some("Wed, 25 Nov 2026 20:51:00 GMT"));
        let (good, bad) = (&records(source, &good)[0], &records(source, &bad)[0]);
        let times: &[&str] = match source {
            Source::Till => &["made", "paid", "changed", "send_by"],
            Source::Alder => &["received", "changed"],
            Source::Brook => &["in", "touched"],
        };
        for time in times.iter().filter(|time| !good[**time].is_null()) {
            let moment = |record: &Value| match source {
                Source::Till => DateTime::from_timestamp(record[*time].as_i64().unwrap(), 0),
                Source::Alder => {
                    DateTime::parse_from_rfc3339(record[*time].as_str().unwrap()).ok().map(|t| t.to_utc())
                }
                Source::Brook => DateTime::from_timestamp_millis(record[*time].as_i64().unwrap()),
            };
            assert_eq!(moment(bad).unwrap() - moment(good).unwrap(), skew, "{source:?} {time}");
        }
        world.switch_all_off();
    }
}

#[tokio::test]
async fn a_planned_fault_spares_so_many_requests_and_befalls_so_many() {
    let plan = Plan::new()
        .after(Source::Till.endpoint("orders"), 2, 3, Fault::Broken)
        .always(Source::Brook, Fault::Unavailable);
    let world = World::new(7, plan);
    let serving = world.serve().await.unwrap();
    let mut statuses = Vec::new();
    for _ in 0..7 {
        ask(&world, &serving, Source::Till, "/shop/offers").await.unwrap();
        statuses.push(ask(&world, &serving, Source::Till, main_path(Source::Till)).await.unwrap().status);
    }
    assert_eq!(statuses, [200, 200, 500, 500, 500, 200, 200]);
    assert_eq!(world.requests(Source::Till.endpoint("orders")), 7);
    assert_eq!(world.requests(Source::Till), 14);
    assert_eq!(world.requests(Source::Alder), 0);
    for _ in 0..4 {
        assert_eq!(ask(&world, &serving, Source::Brook, "/list/goods").await.unwrap().status, 503);
    }
    world.switch_off(Source::Brook, Fault::Unavailable);
    assert_eq!(ask(&world, &serving, Source::Brook, "/list/goods").await.unwrap().status, 200);
}

#[tokio::test]
async fn the_servers_end_with_their_value_and_can_be_had_again_on_the_same_ports() {
    let world = World::new(7, Plan::new());
    let serving = world.serve().await.unwrap();
    let ports = Ports { till: serving.till.port(), alder: serving.alder.port(), brook: serving.brook.port() };
    assert!(
        serving.till.ip().is_loopback()
            && serving.alder.ip().is_loopback()
            && serving.brook.ip().is_loopback()
    );
    drop(serving);
    // The tasks end when they are next looked at.
    let again = loop {
        tokio::task::yield_now().await;
        if let Ok(again) = world.serve_on(ports).await {
            break again;
        }
    };
    assert_eq!(again.till.port(), ports.till);
    assert_eq!(ask(&world, &again, Source::Till, "/shop/offers").await.unwrap().status, 200);
}

#[test]
fn the_same_seed_gives_the_same_day_and_another_seed_another() {
    let (one, same, other) =
        (World::new(8, Plan::new()), World::new(8, Plan::new()), World::new(9, Plan::new()));
    for moment in [on_the_day(0), on_the_day(20 * 60), World::sale_ends(), World::ends()] {
        for world in [&one, &same, &other] {
            world.advance_to(moment);
        }
        assert_eq!(format!("{:?}", one.truth()), format!("{:?}", same.truth()));
    }
    assert_ne!(format!("{:?}", one.truth()), format!("{:?}", other.truth()));
    assert_eq!((one.secrets(), one.private_texts()), (same.secrets(), same.private_texts()));
    // The way to a moment does not matter.
    let at_once = World::new(8, Plan::new());
    at_once.advance_to(World::ends());
    assert_eq!(format!("{:?}", at_once.truth()), format!("{:?}", one.truth()));
}

#[test]
fn a_clock_never_goes_back() {
    let world = World::new(8, Plan::new());
    world.advance_to(on_the_day(600));
    let before = format!("{:?}", world.truth());
    world.advance_to(on_the_day(300));
    assert_eq!(world.now(), on_the_day(600));
    assert_eq!(format!("{:?}", world.truth()), before);
}

/// alder-print's cut-off is 16:00 in Dublin, that is in UTC in winter; brook-print's 24 hours after receipt.
fn cut_off(supplier: &str, received_at: DateTime<Utc>) -> DateTime<Utc> {
    if supplier == "brook-print" {
        return received_at + TimeDelta::hours(24);
    }
    let at_four = received_at.with_time(NaiveTime::from_hms_opt(16, 0, 0).unwrap()).unwrap();
    if received_at < at_four { at_four } else { at_four + TimeDelta::days(1) }
}

#[test]
fn the_part_sent_orders_are_in_the_book_as_such() {
    for seed in 10..20 {
        let world = World::new(seed, Plan::new());
        let mut most = 0;
        for minutes in [9 * 60, 18 * 60, 21 * 60, 24 * 60, 40 * 60, 48 * 60] {
            world.advance_to(on_the_day(minutes));
            let truth = world.truth();
            let (mut part_sent, mut unsent) = (Vec::new(), Vec::new());
            for order in &truth.book.orders {
                if !matches!(order.status, OrderStatus::Open | OrderStatus::Dispatched) {
                    continue;
                }
                let variants = truth.book.variants.as_ref().unwrap();
                let (linked, unlinked): (Vec<_>, Vec<_>) = truth
                    .book
                    .order_lines
                    .iter()
                    .filter(|line| line.order_id == order.order_id && line.quantity_owed() > 0)
                    .partition(|line| variants.iter().filter(|variant| variant.sku == line.sku).count() == 1);
                if unlinked.is_empty() {
                    continue;
                }
                let lines: Vec<(String, u64)> = unlinked
                    .iter()
                    .map(|line| (line.line_id.to_string(), u64::from(line.quantity_owed())))
                    .collect();
                if linked.is_empty() {
                    unsent.push((order.order_id.clone(), lines));
                    continue;
                }
                let mut cut_offs = Vec::new();
                let mut ahead = Vec::new();
                for sent in truth.book.submissions.iter().flatten() {
                    let reference = sent.order_ref.as_deref().unwrap_or_default();
                    if reference.trim_start_matches("BP/") == order.order_id.as_str() && sent.status.is_live()
                    {
                        let cut_off = cut_off(sent.supplier.as_str(), sent.received_at.begins());
                        cut_offs.push(cut_off);
                        if !sent.status.has_begun() && cut_off > truth.now {
                            ahead.push(cut_off);
                        }
                    }
                }
                let waits = truth.now - order.paid_at.unwrap().begins();
                assert!(
                    !cut_offs.is_empty() || waits < TimeDelta::minutes(41),
                    "{} was sent",
                    order.order_id
                );
                let left = match (ahead.iter().min(), cut_offs.is_empty()) {
                    (Some(until), _) => TimeLeft::Until(*until),
                    (None, true) => TimeLeft::NoSubmission,
                    (None, false) => TimeLeft::Passed,
                };
                part_sent.push((order.order_id.clone(), lines, cut_offs.into_iter().min(), left));
            }
            let plain = |lines: &[simshop::PlantedLine]| -> Vec<(String, u64)> {
                lines.iter().map(|line| (line.line_id.to_string(), line.units)).collect()
            };
            let told: Vec<_> = truth
                .part_sent
                .iter()
                .map(|p| (p.order_id.clone(), plain(&p.lines), p.first_cut_off, p.time_left))
                .collect();
            assert_eq!(told, part_sent, "seed {seed}");
            let told: Vec<(OrderId, _)> =
                truth.unsent.iter().map(|u| (u.order_id.clone(), plain(&u.lines))).collect();
            assert_eq!(told, unsent, "seed {seed}");
            most = most.max(part_sent.len());
        }
        assert!(most >= 10, "seed {seed}: {most}");
    }
}

#[test]
fn every_mistake_is_in_the_book_from_its_moment_on() {
    let world = World::new(21, Plan::new());
    assert!(world.truth().mistakes.is_empty());
    world.advance_to(World::ends());
    let truth = world.truth();
    let mut checks: BTreeMap<Check, usize> = BTreeMap::new();
    for mistake in &truth.mistakes {
        *checks.entry(mistake.check).or_default() += 1;
    }
    let want = [
        (Check::WrongVariant, 2),
        (Check::OverSent, 2),
        (Check::SentAfterCancel, 4),
        (Check::StraySubmission, 2),
        (Check::Held, 1),
        (Check::AddressChanged, 1),
    ];
    assert_eq!(checks, want.into_iter().collect());

    let submissions = truth.book.submissions.as_ref().unwrap();
    let lines = truth.book.submission_lines.as_ref().unwrap();
    let status = |order: &OrderId| {
        truth.book.orders.iter().find(|there| there.order_id == *order).map(|order| order.status)
    };
    for mistake in &truth.mistakes {
        assert!(mistake.since < truth.now);
        let sent = mistake.subject.submission().map(|(supplier, id)| {
            let found =
                submissions.iter().find(|sent| sent.supplier == *supplier && sent.submission_id == *id);
            found.expect("it is in the book")
        });
        let order = mistake.subject.order_id();
        match mistake.check {
            Check::OverSent => {
                let variants = |sent: &model::book::Submission| -> Vec<_> {
                    lines
                        .iter()
                        .filter(|line| {
                            line.submission_id == sent.submission_id && line.supplier == sent.supplier
                        })
                        .map(|line| (line.variant_id.clone(), line.order_line_ref.clone()))
                        .collect()
                };
                let again = sent.unwrap();
                let first = submissions.iter().find(|first| {
                    first.order_ref == again.order_ref
                        && first.supplier == again.supplier
                        && first.submission_id < again.submission_id
                });
                assert_eq!(variants(first.unwrap()), variants(again));
            }
            Check::SentAfterCancel => assert_eq!(status(order.unwrap()), Some(OrderStatus::Cancelled)),
            Check::StraySubmission => {
                let reference = sent.unwrap().order_ref.as_deref().unwrap_or_default();
                assert!(status(&OrderId::new(reference.trim_start_matches("BP/"))).is_none());
            }
            Check::Held => assert_eq!(sent.unwrap().status, SubmissionStatus::Held),
            Check::WrongVariant => {
                let Subject::OrderLine(order, line) = &mistake.subject else { panic!("{mistake:?}") };
                let bought =
                    truth.book.order_lines.iter().find(|l| l.order_id == *order && l.line_id == *line);
                let wanted = bought.unwrap().sku.clone();
                let reference = Some(order.to_string());
                let sent = submissions.iter().find(|sent| sent.order_ref == reference).unwrap();
                let made = lines.iter().find(|l| {
                    l.submission_id == sent.submission_id && l.order_line_ref.as_ref() == Some(line)
                });
                let made = made.unwrap();
                assert_ne!(made.sku, wanted);
            }
            _ => assert_eq!(mistake.check, Check::AddressChanged),
        }
    }
}

#[test]
fn the_day_has_hundreds_of_orders_most_in_the_evening_and_all_that_can_become_of_them() {
    for seed in 30..40 {
        let world = World::new(seed, Plan::new());
        world.advance_to(World::sale_ends());
        let evening = world.truth().book;
        assert!((320..=410).contains(&evening.orders.len()));
        let hour = |order: &model::book::Order| {
            order.placed_at.begins().with_timezone(&chrono_tz::Europe::Oslo).hour()
        };
        let busy = evening.orders.iter().filter(|order| (18..23).contains(&hour(order))).count();
        assert!(5 * busy > 2 * evening.orders.len(), "{busy} of {}", evening.orders.len());
        let second = World::shared_second();
        let shared = evening.orders.iter().filter(|order| order.placed_at.begins() == second).count();
        assert!(shared >= 5);
        for status in [OrderStatus::Unpaid, OrderStatus::Open, OrderStatus::Cancelled] {
            assert!(evening.orders.iter().any(|order| order.status == status), "{status:?}");
        }
        let krona: Currency = "ISK".parse().unwrap();
        assert!(evening.orders.iter().any(|order| order.currency == Some(krona)));
        assert!(evening.order_lines.iter().any(|line| line.cancelled_quantity > 0));
        let offers = evening.offers.as_ref().unwrap();
        assert!(offers.iter().any(|offer| !offer.buyable));

        let morning = World::new(seed, Plan::new()).truth().book;
        assert!(morning.orders.is_empty());
        assert_eq!(morning.offers.unwrap().len(), offers.len() + 1, "one was taken off its listing");
        world.advance_to(World::ends());
        assert_eq!(world.next_event(), None, "seed {seed}");
        let book = world.truth().book;
        for status in [SubmissionStatus::Dispatched, SubmissionStatus::Held, SubmissionStatus::Cancelled] {
            assert!(book.submissions.iter().flatten().any(|sent| sent.status == status), "{status:?}");
        }
        assert!(book.submissions.iter().flatten().any(|sent| sent.replaces.is_some()));
        let parcels = book.parcels.as_ref().unwrap();
        assert!(
            parcels.iter().any(|parcel| parcel.parcel_id.as_str().ends_with("-2")),
            "some leave in two parcels"
        );
    }
}
