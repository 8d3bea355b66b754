//! The ledger on real SQLite files: what goes in comes out, once, whole, and with its history.

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

mod common;

use std::path::Path;
use std::task::Poll;

use chrono::{DateTime, TimeDelta};
use ledger::{Asking, Known, Ledger, LedgerError, Rounds, SetAside, Trouble};
use model::batch::Whole;
use model::book::{
    LinkRow, LinkScope, ListingProduct, Offer, Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission,
    SubmissionLine, SubmissionStatus, Tie, Variant,
};
use model::finding::{Evidence, FindingId, SourceEvidence};
use model::money::parse_amount;
use model::{Batch, Book, Check, Finding, Mark, Options, Outcome, ShopId, Sku, SourceId, When};
use proptest::prelude::*;

use common::{ALL, at, open, run, shop};

fn options(pairs: &[(&str, &str)]) -> Options {
    Options::from_pairs(pairs.iter().copied()).unwrap()
}

fn order(id: &str, status: OrderStatus, updated: Option<i64>) -> Order {
    Order {
        order_id: id.into(),
        placed_at: When::at(at(-90)),
        paid_at: None,
        status,
        currency: Some("EUR".parse().unwrap()),
        promised_by: When::parse("2026-12-01", chrono_tz::Tz::Europe__Oslo).ok(),
        ship_to_country: Some("NO".to_owned()),
        ship_to_digest: Some("00ff".to_owned()),
        updated_at: updated.map(|minutes| When::at(at(minutes))),
    }
}

fn line(order: &str, id: &str, quantity: u32) -> OrderLine {
    OrderLine {
        order_id: order.into(),
        line_id: id.into(),
        listing_id: Some("KL-1".into()),
        sku: Sku::new("AP-L"),
        title: Some("Otter apron, “moss”".to_owned()),
        options: Some(options(&[("Size", "L"), ("Colour", "moss")])),
        quantity,
        cancelled_quantity: 0,
        unit_price: parse_amount("24.10"),
        updated_at: None,
    }
}

/// One row of each table, with every column filled.
fn book() -> Book {
    let alder = || "alder-print".into();
    Book {
        orders: vec![order("1", OrderStatus::Open, Some(-80))],
        order_lines: vec![line("1", "a", 2), line("1", "b", 1)],
        offers: Some(vec![Offer {
            listing_id: "KL-1".into(),
            sku: Sku::new(" ap-L "),
            title: None,
            options: options(&[("Size", "L")]),
            price: parse_amount("24.1"),
            currency: None,
            buyable: true,
        }]),
        variants: Some(vec![Variant {
            supplier: alder(),
            variant_id: "V1".into(),
            sku: None,
            product: Some("Apron".to_owned()),
            options: Some(Options::new()),
            unit_cost: parse_amount("9"),
            currency: Some("NOK".parse().unwrap()),
            available: false,
        }]),
        listing_products: Some(vec![ListingProduct {
            listing_id: "KL-1".into(),
            supplier: alder(),
            product: "Apron".to_owned(),
        }]),
        links: Some(vec![
            link(LinkScope::Sku(Sku::new("AP-L").unwrap())),
            link(LinkScope::Listing("KL-1".into())),
            link(LinkScope::Offer("KL-1".into(), Options::new())),
            LinkRow { supplier: "own".into(), variant_id: None, ..link(LinkScope::Listing("KL-2".into())) },
        ]),
        submissions: Some(vec![submission("S1", SubmissionStatus::Received, Some(-70))]),
        submission_lines: Some(vec![sent("S1", "1", 2)]),
        parcels: Some(vec![Parcel {
            supplier: alder(),
            parcel_id: "P1".into(),
            submission_id: "S1".into(),
            dispatched_at: When::at(at(-5)),
            carrier: Some("Shearwater Parcels".to_owned()),
            tracking_number: None,
        }]),
        parcel_lines: Some(vec![ParcelLine {
            supplier: alder(),
            parcel_id: "P1".into(),
            submission_line_id: "1".into(),
            quantity: 2,
        }]),
        ties: Some(vec![tie(None), tie(Some("1"))]),
        ..Book::default()
    }
}

fn link(scope: LinkScope) -> LinkRow {
    LinkRow {
        scope,
        supplier: "alder-print".into(),
        variant_id: Some("V1".into()),
        units: 2,
        in_force: false,
    }
}

fn submission(id: &str, status: SubmissionStatus, updated: Option<i64>) -> Submission {
    Submission {
        supplier: "alder-print".into(),
        submission_id: id.into(),
        order_ref: Some("1".to_owned()),
        status,
        received_at: When::at(at(-75)),
        replaces: None,
        updated_at: updated.map(|minutes| When::at(at(minutes))),
    }
}

fn sent(submission: &str, line: &str, quantity: u32) -> SubmissionLine {
    SubmissionLine {
        supplier: "alder-print".into(),
        submission_id: submission.into(),
        line_id: line.into(),
        order_ref: None,
        order_line_ref: Some("a".into()),
        variant_id: Some("V1".into()),
        sku: None,
        quantity,
        status: Some(SubmissionStatus::Making),
        unit_cost: parse_amount("9.00"),
        updated_at: None,
    }
}

fn tie(line: Option<&str>) -> Tie {
    Tie {
        order_id: "1".into(),
        line_id: "a".into(),
        supplier: "alder-print".into(),
        submission_id: "S1".into(),
        submission_line_id: line.map(Into::into),
    }
}

fn batch(rows: Book, seen: i64) -> Batch {
    Batch {
        shop: shop(),
        source: "till".into(),
        request: "orders".to_owned(),
        rows,
        whole: Vec::new(),
        everything_since: None,
        mark: Mark { text: format!("mark {seen}"), read_up_to: Some(at(seen)) },
        seen_at: at(seen),
        source_time: None,
    }
}

fn finding(subject: &str, trouble: &str) -> Finding {
    Finding {
        check: Check::SourceStale,
        id: FindingId::of(Check::SourceStale, &[subject]),
        order_id: Some("1".into()),
        supplier: None,
        submission_id: None,
        lines: Vec::new(),
        submission_lines: Vec::new(),
        act_before: None,
        cutoff_passed: false,
        first_seen: at(0),
        value_at_risk: None,
        evidence: Evidence::Source(SourceEvidence {
            source: "till".into(),
            request: "orders".to_owned(),
            since: at(0),
            read_up_to: None,
            trouble: trouble.to_owned(),
            counted_there: None,
            counted_here: None,
        }),
    }
}

fn outcome(findings: &[Finding]) -> Outcome {
    common::outcome(findings, at(0))
}

#[test]
fn what_goes_in_comes_out_also_after_it_was_closed() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let changed = ledger.commit(&batch(book(), 1)).await.unwrap();
        assert_eq!((changed.appeared, changed.is_any()), (16, true));
        ledger.close().await;
        let ledger = open(&folder).await;
        assert_eq!(
            format!("{:?}", ledger.book(&shop(), ALL).await.unwrap()),
            format!("{:?}", sorted(book()))
        );
        let nothing = ledger.book(&"another".into(), Known::default()).await.unwrap();
        assert!(nothing.orders.is_empty() && nothing.offers.is_none() && nothing.submissions.is_none());
    });
}

/// In the order of the keys, in which rows come out.
fn sorted(mut book: Book) -> Book {
    let key = |link: &LinkRow| match &link.scope {
        LinkScope::Sku(_) => 0,
        LinkScope::Listing(listing) if listing.as_str() == "KL-1" => 1,
        LinkScope::Offer(..) => 2,
        LinkScope::Listing(_) => 3,
    };
    book.links.iter_mut().for_each(|links| links.sort_by_key(key));
    book
}

#[test]
fn a_table_of_which_a_part_was_read_is_not_taken_for_all_there_is() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.commit(&batch(book(), 1)).await.unwrap();
        let kept = ledger.book(&shop(), Known::default()).await.unwrap();
        assert!(kept.variants.is_none() && kept.offers.is_none() && kept.submissions.is_none());
        assert!(kept.submission_lines.is_none() && kept.parcels.is_none() && kept.parcel_lines.is_none());
        assert_eq!((kept.links.unwrap().len(), kept.listing_products.unwrap().len()), (4, 1));
    });
}

#[test]
fn the_same_again_changes_nothing_and_is_no_history() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.commit(&batch(book(), 1)).await.unwrap();
        let again = ledger.commit(&batch(book(), 2)).await.unwrap();
        assert_eq!((again.is_any(), again.unchanged), (false, 16));
        assert_eq!(ledger.timeline(&shop(), "order", &["1"]).await.unwrap().len(), 1);
        assert_eq!(ledger.mark(&shop(), &"till".into(), "orders").await.unwrap().text, "mark 2");
    });
}

async fn change_form(path: &Path, sql: String) {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(path);
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    sqlx::query(sqlx::AssertSqlSafe(sql)).execute(&pool).await.unwrap();
    pool.close().await;
}

#[test]
fn what_came_late_and_is_older_does_not_replace_what_is_newer() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let state = |status, updated, quantity| {
            let rows = Book {
                orders: vec![order("1", status, Some(updated))],
                order_lines: vec![line("1", "a", quantity)],
                ..Book::default()
            };
            Batch { whole: vec![Whole::Order("1".into())], ..batch(rows, updated) }
        };
        let both = Book {
            orders: vec![order("1", OrderStatus::Dispatched, Some(10))],
            order_lines: vec![line("1", "a", 1), line("1", "b", 1)],
            ..Book::default()
        };
        ledger.commit(&batch(both, 10)).await.unwrap();
        let changed = ledger.commit(&state(OrderStatus::Open, 5, 7)).await.unwrap();
        assert!(!changed.is_any(), "{changed:?}");
        let kept = ledger.book(&shop(), Known::default()).await.unwrap();
        assert_eq!(kept.orders[0].status, OrderStatus::Dispatched);
        assert_eq!(kept.order_lines.iter().map(|line| line.quantity).collect::<Vec<_>>(), [1, 1]);
        let changed = ledger.commit(&state(OrderStatus::Dispatched, 10, 7)).await.unwrap();
        assert_eq!((changed.changed, changed.gone), (1, 1));
    });
}

#[test]
fn what_a_source_said_by_a_clock_that_was_ahead_does_not_hide_what_it_says_once_the_clock_is_right() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let of = |status, updated, time: i64| {
            let rows = Book { orders: vec![order("1", status, Some(updated))], ..Book::default() };
            Batch { source_time: Some(at(time)), ..batch(rows, time) }
        };
        let status = async || ledger.book(&shop(), ALL).await.unwrap().orders[0].status;
        ledger.commit(&of(OrderStatus::Unpaid, 30, 30)).await.unwrap();
        // Its clock was set back by twenty minutes.
        ledger.commit(&of(OrderStatus::Open, 15, 16)).await.unwrap();
        assert_eq!(status().await, OrderStatus::Open);
        // An older answer, by the same clock, is still one.
        ledger.commit(&of(OrderStatus::Unpaid, 14, 17)).await.unwrap();
        assert_eq!(status().await, OrderStatus::Open);
    });
}

#[test]
fn a_line_that_is_no_longer_there_goes_and_the_timeline_says_when() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.commit(&batch(book(), 1)).await.unwrap();
        let rows = Book {
            orders: vec![order("1", OrderStatus::Cancelled, Some(2))],
            order_lines: vec![OrderLine { cancelled_quantity: 1, ..line("1", "b", 3) }],
            ..Book::default()
        };
        let whole = vec![Whole::Order("1".into())];
        ledger.commit(&Batch { whole, ..batch(rows, 3) }).await.unwrap();
        let kept = ledger.book(&shop(), Known::default()).await.unwrap();
        assert_eq!(kept.order_lines.len(), 1);
        let of = async |noun: &str, ids: &[&str]| -> Vec<String> {
            let entries = ledger.timeline(&shop(), noun, ids).await.unwrap();
            let text = |of: Option<String>| of.unwrap_or_else(|| "-".to_owned());
            let told = entries.into_iter().map(|entry| {
                let minutes = (entry.seen_at - at(0)).num_minutes();
                let ids = entry.ids.join("/");
                format!("{minutes} {ids} {}: {} {}", entry.field, text(entry.was), text(entry.became))
            });
            told.collect()
        };
        assert_eq!(of("order", &["1"]).await, ["1 1 row: - there", "3 1 status: open cancelled"]);
        assert_eq!(
            of("order_line", &["1"]).await,
            [
                "1 1/a row: - there",
                "1 1/b row: - there",
                "3 1/b quantity: 1 3",
                "3 1/b cancelled_quantity: 0 1",
                "3 1/a row: there -"
            ]
        );
        assert!(of("order", &[]).await.len() == 2 && of("order", &["1", "a"]).await.is_empty());
        assert!(of("order_line", &["1\",\"a"]).await.is_empty());
    });
}

#[test]
fn parcels_and_lines_of_what_came_whole_go_too() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.commit(&batch(book(), 1)).await.unwrap();
        let (supplier, id) = ("alder-print".into(), "S1".into());
        let rows = Book {
            submissions: Some(vec![submission("S1", SubmissionStatus::Making, Some(1))]),
            submission_lines: Some(vec![sent("S1", "2", 1)]),
            ..Book::default()
        };
        let whole =
            vec![Whole::Submission(supplier, id), Whole::ParcelsOf("alder-print".into(), "S1".into())];
        let changed = ledger.commit(&Batch { whole, ..batch(rows, 2) }).await.unwrap();
        assert_eq!((changed.appeared, changed.changed, changed.gone), (1, 1, 3));
        let kept = ledger.book(&shop(), ALL).await.unwrap();
        assert_eq!(kept.submission_lines.unwrap()[0].line_id.as_str(), "2");
        assert!(kept.parcels.unwrap().is_empty() && kept.parcel_lines.unwrap().is_empty());
    });
}

#[test]
fn what_a_pass_over_everything_did_not_see_is_gone_of_its_own_request_alone() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.commit(&batch(book(), 1)).await.unwrap();
        let offers = Book { offers: book().offers, ..Book::default() };
        let of_another =
            Batch { request: "others".to_owned(), everything_since: Some(at(2)), ..batch(offers, 2) };
        ledger.commit(&of_another).await.unwrap();
        assert_eq!(ledger.book(&shop(), ALL).await.unwrap().variants.unwrap().len(), 1);
        let pass = Batch { everything_since: Some(at(3)), ..batch(Book::default(), 3) };
        let changed = ledger.commit(&pass).await.unwrap();
        assert_eq!(changed.gone, 6);
        let kept = ledger.book(&shop(), ALL).await.unwrap();
        assert_eq!(kept.offers.unwrap().len(), 1);
        assert!(kept.variants.unwrap().is_empty() && kept.links.unwrap().is_empty());
        assert_eq!((kept.orders.len(), kept.parcels.unwrap().len()), (1, 1));
    });
}

#[test]
fn a_finding_opens_once_settles_and_reopens_as_the_same() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let (a, b) = (finding("a", "x"), finding("b", "x"));
        let ids = |ids: &[String]| ids.len();
        let first = ledger.record(&shop(), &outcome(&[a.clone(), b.clone()]), at(1)).await.unwrap();
        assert_eq!((ids(&first.opened), ids(&first.settled)), (2, 0));
        let same = ledger.record(&shop(), &outcome(&[a.clone(), b]), at(2)).await.unwrap();
        assert_eq!(same, ledger::Recorded::default());
        let less = ledger.record(&shop(), &outcome(&[finding("a", "y")]), at(3)).await.unwrap();
        assert_eq!((ids(&less.changed), ids(&less.settled)), (1, 1));
        ledger.record(&shop(), &outcome(&[]), at(4)).await.unwrap();
        assert!(ledger.findings(&shop(), true, at(4)).await.unwrap().is_empty());
        let again = ledger.record(&shop(), &outcome(&[a]), at(5)).await.unwrap();
        assert_eq!((ids(&again.opened), ids(&again.reopened)), (0, 1));
        let standing = ledger.findings(&shop(), true, at(5)).await.unwrap();
        assert_eq!(
            (standing.len(), standing[0].first_seen, standing[0].reopened_at),
            (1, at(1), Some(at(5)))
        );
        assert!(standing[0].body.contains("\"first_seen\":\"2026-11-25T12:01:00"), "{}", standing[0].body);
        assert_eq!(ledger.findings(&shop(), false, at(5)).await.unwrap().len(), 2);
        assert!(ledger.findings(&"another".into(), false, at(5)).await.unwrap().is_empty());
    });
}

#[test]
fn the_first_round_stays_known_and_the_last_one_is() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        assert_eq!(ledger.rounds(&shop()).await.unwrap(), None);
        let rounds = |first, last, as_of| Some(Rounds { first_at: at(first), last_at: at(last), as_of });
        let judged = outcome(&[]);
        ledger.record(&shop(), &judged, at(1)).await.unwrap();
        assert_eq!(ledger.rounds(&shop()).await.unwrap(), rounds(1, 1, judged.as_of));
        ledger.record(&shop(), &Outcome { as_of: at(6), ..judged }, at(7)).await.unwrap();
        assert_eq!(ledger.rounds(&shop()).await.unwrap(), rounds(1, 7, at(6)));
        assert_eq!(ledger.rounds(&ShopId::new("another")).await.unwrap(), None);
    });
}

#[test]
fn the_marks_of_a_source_are_its_own() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let kept = batch(Book::default(), 1);
        ledger.commit(&kept).await.unwrap();
        let marks = ledger.marks(&kept.shop, &kept.source).await.unwrap();
        assert_eq!(marks, [(kept.request.clone(), kept.mark.clone())].into());
        assert!(ledger.marks(&kept.shop, &SourceId::new("another")).await.unwrap().is_empty());
    });
}

#[test]
fn what_is_set_aside_comes_back_with_its_time_or_with_other_evidence() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let say = |text: &str| outcome(&[finding("a", text)]);
        ledger.record(&shop(), &say("x"), at(1)).await.unwrap();
        let id = finding("a", "").id.as_str().to_owned();
        let aside = async |minutes: i64| {
            let said = ledger.findings(&shop(), true, at(minutes)).await.unwrap()[0].set_aside.clone();
            let asides = ledger.asides(at(minutes)).await.unwrap();
            assert_eq!(asides.get(&shop()).and_then(|own| own.get(&id)), said.as_ref());
            said
        };
        assert_eq!(aside(1).await, None);
        let until_changed = SetAside { note: "they know".to_owned(), until: None };
        ledger.set_aside(&shop(), &id, &until_changed, at(2)).await.unwrap();
        assert_eq!(aside(9999).await, Some(until_changed));
        ledger.record(&shop(), &say("y"), at(3)).await.unwrap();
        assert_eq!(aside(3).await, None);
        let until = SetAside { note: "on Monday".to_owned(), until: Some(at(60)) };
        ledger.set_aside(&shop(), &id, &until, at(4)).await.unwrap();
        ledger.record(&shop(), &say("z"), at(5)).await.unwrap();
        assert_eq!((aside(59).await, aside(60).await), (Some(until), None));
        assert!(ledger.take_back(&shop(), &id, at(6)).await.unwrap());
        assert!(!ledger.take_back(&shop(), &id, at(6)).await.unwrap());
        assert_eq!(aside(6).await, None);
        let unknown = SetAside { note: String::new(), until: None };
        let error = ledger.set_aside(&shop(), "nobody", &unknown, at(4)).await.unwrap_err();
        assert!(matches!(error, LedgerError::NoSuchFinding { .. }), "{error}");
    });
}

#[test]
fn an_owners_word_is_kept_and_taken_back() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.tie(&shop(), &tie(None), at(1)).await.unwrap();
        ledger.tie(&shop(), &tie(None), at(2)).await.unwrap();
        assert_eq!(ledger.book(&shop(), ALL).await.unwrap().ties.unwrap(), [tie(None)]);
        assert!(!ledger.untie(&shop(), &tie(Some("1")), at(3)).await.unwrap());
        assert!(ledger.untie(&shop(), &tie(None), at(3)).await.unwrap());
        assert_eq!(ledger.timeline(&shop(), "tie", &["1", "a"]).await.unwrap().len(), 2);
    });
}

#[test]
fn an_address_that_changed_is_told_with_its_moment() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let with = |digest: Option<&str>, minutes| {
            let order = Order {
                ship_to_digest: digest.map(Into::into),
                ..order("1", OrderStatus::Open, Some(minutes))
            };
            batch(Book { orders: vec![order], ..Book::default() }, minutes)
        };
        for (digest, minutes) in [(None, 1), (Some("a"), 2), (Some("b"), 3), (Some("b"), 4), (Some("a"), 5)] {
            ledger.commit(&with(digest, minutes)).await.unwrap();
        }
        assert_eq!(ledger.address_changes(&shop()).await.unwrap(), [("1".into(), at(5))].into());
    });
}

#[test]
fn how_asking_a_source_went_is_told_with_since_when_it_fails() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let asking = |minutes: i64, trouble: Option<&str>| Asking {
            shop: shop(),
            source: "till".into(),
            request: "orders".to_owned(),
            asked_at: at(minutes),
            answered_at: trouble.is_none().then(|| at(minutes)),
            failing_since: trouble.map(|_| at(minutes)),
            trouble: trouble.map(|words| Trouble { kind: "unreachable".to_owned(), words: words.to_owned() }),
            next_at: Some(at(minutes + 1)),
            counted: trouble.is_none().then_some((3, 2)),
        };
        let state = async || ledger.sources(&shop()).await.unwrap().swap_remove(0);
        ledger.note(&asking(1, None)).await.unwrap();
        assert_eq!((state().await.asking, state().await.read_up_to), (asking(1, None), None));
        ledger.note(&asking(2, Some("refused"))).await.unwrap();
        ledger.note(&asking(3, Some("refused again"))).await.unwrap();
        ledger.commit(&batch(Book::default(), 3)).await.unwrap();
        let told = state().await;
        assert_eq!((told.asking.answered_at, told.asking.failing_since), (Some(at(1)), Some(at(2))));
        assert_eq!(told.asking.trouble.unwrap().words, "refused again");
        assert_eq!(told.read_up_to, Some(at(3)));
        ledger.note(&asking(4, None)).await.unwrap();
        assert_eq!(state().await.asking.failing_since, None);
    });
}

#[test]
fn askings_are_counted_by_the_hour_with_the_rows_that_were_new_and_forgotten_after_some_weeks() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let asking = |minutes: i64, is_answered: bool| Asking {
            shop: shop(),
            source: "till".into(),
            request: "orders".to_owned(),
            asked_at: at(minutes),
            answered_at: is_answered.then(|| at(minutes)),
            failing_since: None,
            trouble: None,
            next_at: None,
            counted: None,
        };
        let hours = async |since: i64| {
            let hours = ledger.asking_hours(&shop(), at(since)).await.unwrap();
            let told = hours.into_iter().map(|hour| (hour.hour, hour.asked, hour.answered, hour.records));
            told.collect::<Vec<_>>()
        };
        let rows = |id: &str| Book { orders: vec![order(id, OrderStatus::Open, None)], ..Book::default() };
        ledger.commit(&batch(rows("1"), 1)).await.unwrap();
        ledger.commit(&batch(rows("1"), 2)).await.unwrap();
        ledger.note(&asking(2, true)).await.unwrap();
        ledger.note(&asking(59, false)).await.unwrap();
        ledger.commit(&batch(rows("2"), 61)).await.unwrap();
        ledger.note(&asking(61, true)).await.unwrap();
        assert_eq!(hours(0).await, [(at(0), 2, 1, 1), (at(60), 1, 1, 1)]);
        assert_eq!(hours(60).await, [(at(60), 1, 1, 1)]);
        let other = ledger.asking_hours(&"another".into(), at(0)).await.unwrap();
        assert_eq!(other, []);
        let weeks = 21 * 24 * 60;
        ledger.note(&asking(60 + weeks, true)).await.unwrap();
        assert_eq!(hours(0).await, [(at(60), 1, 1, 1), (at(60 + weeks), 1, 1, 0)]);
    });
}

#[test]
fn a_ledger_of_a_later_version_is_refused_and_left_alone() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        open(&folder).await.close().await;
        let path = folder.path().join("everyline.ledger");
        let options = sqlx::sqlite::SqliteConnectOptions::new().filename(&path);
        let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
        let later = "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
            VALUES (9999, 'later', TRUE, x'00', 0)";
        sqlx::query(later).execute(&pool).await.unwrap();
        pool.close().await;
        let error = Ledger::open(&path).await.unwrap_err();
        assert!(matches!(error, LedgerError::Later { found: 9999, .. }), "{error}");
        assert!(error.to_string().contains("later version"), "{error}");
    });
}

#[test]
fn one_watches_and_the_second_is_told_so() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let (one, other) = (open(&folder).await, open(&folder).await);
        let watching = one.watch().unwrap();
        assert!(matches!(other.watch(), Err(LedgerError::Watched { .. })));
        drop(watching);
        assert!(other.watch().is_ok());
    });
}

#[test]
fn the_secret_is_made_once_and_like_the_ledger_is_its_owners_alone() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let secret = ledger.secret().await.unwrap();
        assert_eq!((secret.len(), ledger.secret().await.unwrap()), (32, secret));
        assert_ne!(
            open(&tempfile::tempdir().unwrap()).await.secret().await.unwrap(),
            ledger.secret().await.unwrap()
        );
        #[cfg(unix)]
        for name in ["everyline.ledger", "everyline.ledger.key"] {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(folder.path().join(name)).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600, "{name}");
        }
    });
}

#[test]
fn a_secret_that_was_used_and_is_gone_is_not_replaced_in_silence() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.secret().await.unwrap();
        let key = folder.path().join("everyline.ledger.key");
        std::fs::remove_file(&key).unwrap();
        // Nothing has been digested with it.
        ledger.secret().await.unwrap();
        let digested = Order { ship_to_digest: Some("d".to_owned()), ..order("1", OrderStatus::Open, None) };
        let rows = Book { orders: vec![digested], ..Book::default() };
        ledger.commit(&batch(rows, 1)).await.unwrap();
        std::fs::remove_file(&key).unwrap();
        let error = ledger.secret().await.unwrap_err();
        assert!(matches!(error, LedgerError::KeyLost { .. }), "{error}");
        std::fs::write(&key, b"").unwrap();
        assert!(matches!(ledger.secret().await, Err(LedgerError::KeyLost { .. })));
    });
}

#[test]
fn a_folder_that_is_not_there_is_said() {
    run(async {
        let error = Ledger::open(Path::new("no/such/folder/everyline.ledger")).await.unwrap_err();
        assert!(error.to_string().contains("Check that its folder is there"), "{error}");
    });
}

#[test]
fn a_line_that_is_gone_does_not_come_back_with_an_older_answer() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let dated =
            |id: &str, updated| OrderLine { updated_at: Some(When::at(at(updated))), ..line("1", id, 1) };
        let rows = |updated, lines: Vec<OrderLine>| Book {
            orders: vec![order("1", OrderStatus::Open, Some(updated))],
            order_lines: lines,
            ..Book::default()
        };
        let whole = |b: Batch| Batch { whole: vec![Whole::Order("1".into())], ..b };
        ledger.commit(&whole(batch(rows(1, vec![dated("a", 1), dated("b", 1)]), 1))).await.unwrap();
        ledger.commit(&whole(batch(rows(5, vec![dated("a", 5)]), 5))).await.unwrap();
        let late =
            ledger.commit(&whole(batch(rows(1, vec![dated("a", 1), dated("b", 1)]), 6))).await.unwrap();
        assert!(!late.is_any(), "{late:?}");
    });
}

#[test]
fn a_parcel_that_is_gone_does_not_come_back_with_an_older_answer() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let old = || Book {
            submissions: Some(vec![submission("S1", SubmissionStatus::Making, Some(1))]),
            parcels: book().parcels,
            parcel_lines: book().parcel_lines,
            ..Book::default()
        };
        let whole =
            |b: Batch| Batch { whole: vec![Whole::ParcelsOf("alder-print".into(), "S1".into())], ..b };
        ledger.commit(&whole(batch(old(), 1))).await.unwrap();
        let now = Book {
            submissions: Some(vec![submission("S1", SubmissionStatus::Making, Some(5))]),
            ..Book::default()
        };
        ledger.commit(&whole(batch(now, 5))).await.unwrap();
        let late = ledger.commit(&whole(batch(old(), 6))).await.unwrap();
        assert!(!late.is_any(), "{late:?}");
    });
}

#[test]
fn a_set_aside_ends_for_good_when_the_evidence_changes() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let id = finding("a", "").id.as_str().to_owned();
        ledger.record(&shop(), &outcome(&[finding("a", "x")]), at(1)).await.unwrap();
        ledger.set_aside(&shop(), &id, &SetAside { note: "n".into(), until: None }, at(2)).await.unwrap();
        ledger.record(&shop(), &outcome(&[finding("a", "y")]), at(3)).await.unwrap();
        ledger.record(&shop(), &outcome(&[finding("a", "x")]), at(4)).await.unwrap();
        assert_eq!(ledger.findings(&shop(), true, at(4)).await.unwrap()[0].set_aside, None);
    });
}

#[test]
fn a_set_aside_does_not_outlive_a_settled_finding() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let id = finding("a", "").id.as_str().to_owned();
        ledger.record(&shop(), &outcome(&[finding("a", "x")]), at(1)).await.unwrap();
        ledger.set_aside(&shop(), &id, &SetAside { note: "n".into(), until: None }, at(2)).await.unwrap();
        ledger.record(&shop(), &outcome(&[]), at(3)).await.unwrap();
        ledger.record(&shop(), &outcome(&[finding("a", "x")]), at(4)).await.unwrap();
        assert_eq!(ledger.findings(&shop(), true, at(4)).await.unwrap()[0].set_aside, None);
    });
}

#[test]
fn what_settled_within_a_span_is_told_with_what_it_was_about() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.record(&shop(), &outcome(&[finding("a", "x"), finding("b", "x")]), at(1)).await.unwrap();
        ledger.record(&shop(), &outcome(&[finding("b", "x")]), at(3)).await.unwrap();
        let settled = ledger.settled(&shop(), at(2), at(3)).await.unwrap();
        assert_eq!(settled.len(), 1);
        let a = finding("a", "x");
        assert_eq!(settled[0].finding_check, a.check.word());
        assert_eq!(settled[0].order_id.as_deref(), a.order_id.as_ref().map(|id| id.as_str()));
        assert!(settled[0].body.contains(a.id.as_str()));
        assert_eq!(ledger.settled(&shop(), at(4), at(5)).await.unwrap(), []);
    });
}

#[test]
fn a_source_that_lags_does_not_end_a_set_aside() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let gap = |unconfirmed| {
            let mut gap = common::gap(Check::PartSent, "1", &["a"], at(0));
            gap.lines[0].unconfirmed = unconfirmed;
            gap
        };
        ledger.record(&shop(), &outcome(&[gap(false)]), at(1)).await.unwrap();
        let id = gap(false).id.as_str().to_owned();
        ledger.set_aside(&shop(), &id, &SetAside { note: "n".into(), until: None }, at(2)).await.unwrap();
        ledger.record(&shop(), &outcome(&[gap(true)]), at(3)).await.unwrap();
        assert!(ledger.findings(&shop(), true, at(3)).await.unwrap()[0].set_aside.is_some());
    });
}

#[test]
fn only_a_finding_that_stands_can_be_set_aside() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let id = finding("a", "").id.as_str().to_owned();
        ledger.record(&shop(), &outcome(&[finding("a", "x")]), at(1)).await.unwrap();
        ledger.record(&shop(), &outcome(&[]), at(2)).await.unwrap();
        let said = ledger.set_aside(&shop(), &id, &SetAside { note: "n".into(), until: None }, at(3)).await;
        assert!(matches!(said, Err(LedgerError::NoSuchFinding { .. })), "{said:?}");
    });
}

#[test]
fn a_finding_of_an_order_that_is_not_judged_does_not_settle() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.record(&shop(), &outcome(&[finding("a", "x")]), at(1)).await.unwrap();
        let skipped = Outcome { not_judged: vec!["1".into()], ..outcome(&[]) };
        let recorded = ledger.record(&shop(), &skipped, at(2)).await.unwrap();
        assert!(recorded.settled.is_empty(), "{recorded:?}");
    });
}

#[test]
fn an_offer_typed_in_another_case_is_the_same_offer() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let with = |size: &str| {
            let offer = Offer { options: options(&[("Size", size)]), ..book().offers.unwrap().remove(0) };
            Book { offers: Some(vec![offer]), ..Book::default() }
        };
        ledger.commit(&batch(with("L"), 1)).await.unwrap();
        ledger.commit(&batch(with("l"), 2)).await.unwrap();
        assert_eq!(ledger.book(&shop(), ALL).await.unwrap().offers.unwrap().len(), 1);
    });
}

#[test]
fn a_link_by_a_sku_typed_in_another_case_is_the_same_link() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let with = |sku: &str, units| Book {
            links: Some(vec![LinkRow { units, ..link(LinkScope::Sku(Sku::new(sku).unwrap())) }]),
            ..Book::default()
        };
        ledger.commit(&batch(with("AP-L", 1), 1)).await.unwrap();
        ledger.commit(&batch(with("ap-l", 2), 2)).await.unwrap();
        let links = ledger.book(&shop(), ALL).await.unwrap().links.unwrap();
        assert_eq!(links.iter().map(|l| l.units).collect::<Vec<_>>(), [2]);
    });
}

#[test]
fn what_becomes_of_an_orders_findings_is_in_its_timeline() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.record(&shop(), &outcome(&[finding("a", "x")]), at(1)).await.unwrap();
        ledger.record(&shop(), &outcome(&[]), at(2)).await.unwrap();
        assert_eq!(ledger.timeline(&shop(), "finding", &["1"]).await.unwrap().len(), 2);
    });
}

#[test]
fn the_lines_of_a_parcel_that_is_gone_are_in_the_timeline() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        ledger.commit(&batch(book(), 1)).await.unwrap();
        let whole = vec![Whole::ParcelsOf("alder-print".into(), "S1".into())];
        ledger.commit(&Batch { whole, ..batch(Book::default(), 2) }).await.unwrap();
        assert_eq!(ledger.timeline(&shop(), "parcel_line", &["alder-print", "P1"]).await.unwrap().len(), 2);
    });
}

#[test]
fn several_that_open_a_new_ledger_at_once_all_get_it() {
    for _ in 0..25 {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("everyline.ledger");
        let threads: Vec<_> = (0..8)
            .map(|_| {
                let path = path.clone();
                std::thread::spawn(move || {
                    run(async { Ledger::open(&path).await.map(|_| ()).map_err(|e| e.to_string()) })
                })
            })
            .collect();
        let failed: Vec<String> = threads.into_iter().filter_map(|t| t.join().unwrap().err()).collect();
        assert!(failed.is_empty(), "{failed:#?}");
    }
}

#[test]
fn a_secret_asked_for_by_several_at_once_is_one() {
    for _ in 0..50 {
        let folder = tempfile::tempdir().unwrap();
        let ledger = run(open(&folder));
        let threads: Vec<_> = (0..8)
            .map(|_| {
                let l = ledger.clone();
                std::thread::spawn(move || run(async { l.secret().await.map_err(|e| e.to_string()) }))
            })
            .collect();
        let all: Vec<_> = threads.into_iter().map(|t| t.join().unwrap()).collect();
        assert!(all.iter().all(|s| s == &all[0]), "{all:?}");
    }
}

#[test]
fn a_clock_that_went_back_during_a_pass_does_not_empty_the_table() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let rows = Book { variants: book().variants, ..Book::default() };
        ledger.commit(&Batch { everything_since: Some(at(10)), ..batch(rows, 9) }).await.unwrap();
        assert_eq!(ledger.book(&shop(), ALL).await.unwrap().variants.unwrap().len(), 1);
    });
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever shops type, and whenever it was, comes back to the byte.
    #[test]
    fn any_text_and_time_comes_back(
        text in "\\PC{1,12}", id in "[^\u{0}]{1,8}", seconds in 0_i64..4_000_000_000, nanos in 0_u32..1_000_000_000,
        amount in "[0-9]{1,12}(\\.[0-9]{1,6})?",
    ) {
        let moment = DateTime::from_timestamp(seconds, nanos).unwrap();
        let order = Order {
            order_id: id.as_str().into(),
            placed_at: When::at(moment),
            paid_at: When::between(moment, moment + TimeDelta::hours(25)),
            ..order("1", OrderStatus::Open, None)
        };
        let line = OrderLine {
            title: Some(text.clone()),
            options: Some(options(&[(&text, &id), ("Size", &text)])),
            sku: Sku::new(text.as_str()),
            unit_price: parse_amount(&amount),
            ..line(&id, &text, 1)
        };
        let rows = Book { orders: vec![order], order_lines: vec![line], ..Book::default() };
        run(async {
            let folder = tempfile::tempdir().unwrap();
            let ledger = open(&folder).await;
            ledger.commit(&batch(rows.clone(), 1)).await.unwrap();
            let again = ledger.commit(&batch(rows.clone(), 2)).await.unwrap();
            assert!(!again.is_any());
            let kept = ledger.book(&shop(), Known::default()).await.unwrap();
            assert_eq!(kept.orders, rows.orders);
            assert_eq!(kept.order_lines, rows.order_lines);
        });
    }
}

#[test]
fn where_any_table_cannot_be_written_nothing_of_the_batch_is_kept() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let path = folder.path().join("everyline.ledger");
        let tables = [
            "orders",
            "order_lines",
            "offers",
            "variants",
            "listing_products",
            "links",
            "submissions",
            "submission_lines",
            "parcels",
            "parcel_lines",
            "ties",
            "changes",
            "marks",
        ];
        for table in tables {
            let no = format!(
                "CREATE TRIGGER refuses BEFORE INSERT ON {table} BEGIN SELECT RAISE(ABORT, 'refused'); END"
            );
            change_form(&path, no).await;
            let error = ledger.commit(&batch(book(), 1)).await.unwrap_err();
            assert!(error.to_string().contains("refused"), "{table}: {error}");
            assert_eq!(rows_of(&ledger.book(&shop(), ALL).await.unwrap()), [""; 0], "{table}");
            assert_eq!(
                ledger.mark(&shop(), &"till".into(), "orders").await.unwrap(),
                Mark::default(),
                "{table}"
            );
            assert!(ledger.timeline(&shop(), "order", &[]).await.unwrap().is_empty(), "{table}");
            change_form(&path, "DROP TRIGGER refuses".to_owned()).await;
        }
        assert_eq!(ledger.commit(&batch(book(), 1)).await.unwrap().appeared, 16);
    });
}

/// Gives a future up after so many polls: as where the process ends there. `None` where it was not done by then.
async fn give_up_after<T>(mut polls: usize, future: impl Future<Output = T>) -> Option<T> {
    let mut future = std::pin::pin!(future);
    std::future::poll_fn(|context| {
        if polls == 0 {
            return Poll::Ready(None);
        }
        polls -= 1;
        future.as_mut().poll(context).map(Some)
    })
    .await
}

#[test]
fn a_batch_given_up_at_any_step_is_kept_with_its_mark_or_not_at_all() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        for polls in 0.. {
            let shop = ShopId::from(format!("shop {polls}").as_str());
            let of_shop = Batch { shop: shop.clone(), ..batch(book(), 1) };
            let done = give_up_after(polls, ledger.commit(&of_shop)).await.is_some();
            let kept = ledger.book(&shop, ALL).await.unwrap();
            let mark = ledger.mark(&shop, &"till".into(), "orders").await.unwrap();
            let is_kept = mark != Mark::default();
            assert_eq!((kept.orders.len(), kept.order_lines.len()), if is_kept { (1, 2) } else { (0, 0) });
            let (links, packed) = (kept.links.unwrap().len(), kept.parcel_lines.unwrap().len());
            assert_eq!((links, packed), if is_kept { (4, 1) } else { (0, 0) });
            assert_eq!(
                ledger.timeline(&shop, "order_line", &[]).await.unwrap().len(),
                if is_kept { 2 } else { 0 }
            );
            if done {
                assert!(is_kept);
                break;
            }
        }
    });
}

#[test]
fn an_order_comes_with_what_was_sent_for_it_and_what_became_of_it() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let mut rows = book();
        rows.orders.push(order("11", OrderStatus::Open, None));
        let stranger =
            Submission { order_ref: Some("11".to_owned()), ..submission("S2", SubmissionStatus::Held, None) };
        let by_line = Submission { order_ref: None, ..submission("S3", SubmissionStatus::Held, None) };
        rows.submissions.as_mut().unwrap().extend([stranger, by_line]);
        let line = SubmissionLine { order_ref: Some("#1".to_owned()), ..sent("S3", "1", 1) };
        rows.submission_lines.as_mut().unwrap().extend([line, sent("S2", "1", 1)]);
        ledger.commit(&batch(rows, 1)).await.unwrap();
        ledger.record(&shop(), &outcome(&[finding("a", "x")]), at(2)).await.unwrap();
        let history = async |id: &str| {
            let speaks = |reference: &str| reference.trim_start_matches('#') == id;
            ledger.order(&shop(), &id.into(), speaks, at(3)).await.unwrap()
        };
        let one = history("1").await.unwrap();
        let ids =
            |rows: &[Submission]| rows.iter().map(|row| row.submission_id.to_string()).collect::<Vec<_>>();
        assert_eq!(ids(&one.submissions), ["S1", "S3"]);
        assert_eq!((one.lines.len(), one.submission_lines.len(), one.ties.len()), (2, 2, 2));
        assert_eq!((one.parcels.len(), one.parcel_lines.len(), one.findings.len()), (1, 1, 1));
        assert_eq!(one.timeline.len(), 12);
        assert_eq!(one.timeline.last().map(|entry| entry.noun.as_str()), Some("finding"));
        assert_eq!(ids(&history("11").await.unwrap().submissions), ["S2"]);
        assert!(history("12").await.is_none());
    });
}

/// A book as rows that can be compared, whatever their order.
fn rows_of(book: &Book) -> Vec<String> {
    fn push<T: std::fmt::Debug>(rows: &mut Vec<String>, table: &str, of: &[T]) {
        rows.extend(of.iter().map(|row| format!("{table} {row:?}")));
    }
    let mut rows = Vec::new();
    push(&mut rows, "orders", &book.orders);
    push(&mut rows, "order_lines", &book.order_lines);
    push(&mut rows, "offers", book.offers.as_deref().unwrap_or_default());
    push(&mut rows, "variants", book.variants.as_deref().unwrap_or_default());
    push(&mut rows, "listing_products", book.listing_products.as_deref().unwrap_or_default());
    push(&mut rows, "links", book.links.as_deref().unwrap_or_default());
    push(&mut rows, "submissions", book.submissions.as_deref().unwrap_or_default());
    push(&mut rows, "submission_lines", book.submission_lines.as_deref().unwrap_or_default());
    push(&mut rows, "parcels", book.parcels.as_deref().unwrap_or_default());
    push(&mut rows, "parcel_lines", book.parcel_lines.as_deref().unwrap_or_default());
    push(&mut rows, "ties", book.ties.as_deref().unwrap_or_default());
    rows.sort();
    rows
}
