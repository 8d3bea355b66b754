//! The outbox and the rates on real SQLite files: one digest a day, an alert once for what it says, nothing lost.

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

mod common;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use ledger::{Ledger, Message, MessageKind, SetAside, Tried, WantedAlert, Which};
use model::book::{Order, OrderLine, OrderStatus};
use model::rates::{Rates, Share};
use model::{Batch, Book, Check, Finding, Mark, Outcome, When};

use common::{at, open, run, shop};

/// A finding about an order of which these lines are missing.
fn gap(check: Check, order: &str, lines: &[&str], act_before: Option<DateTime<Utc>>) -> Finding {
    Finding { act_before, ..common::gap(check, order, lines, at(0)) }
}

fn outcome(findings: &[Finding]) -> Outcome {
    common::outcome(findings, at(0))
}

fn wanted(finding: &Finding, said: &str) -> WantedAlert {
    WantedAlert { recipient: "owner".to_owned(), finding: finding.id.to_string(), said: said.to_owned() }
}

fn message(id: &str, kind: MessageKind, day: Option<u32>, minute: i64) -> Message {
    Message {
        id: id.to_owned(),
        kind,
        recipient: "owner".to_owned(),
        day: day.and_then(|day| NaiveDate::from_ymd_opt(2026, 11, day)),
        written_at: at(minute),
        content: "{}".to_owned(),
    }
}

async fn pending(ledger: &Ledger) -> Vec<(String, bool)> {
    let pending = ledger.pending_alerts("owner").await.unwrap();
    pending.into_iter().map(|alert| (alert.finding, alert.is_again)).collect()
}

fn told(finding: &Finding) -> (String, String) {
    (shop().to_string(), finding.id.to_string())
}

#[test]
fn a_digest_of_a_day_is_written_once_for_each_recipient() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let (one, other) = (open(&folder).await, open(&folder).await);
        let first = message("digest-25", MessageKind::Digest, Some(25), 0);
        assert!(one.write_message(&first, &[]).await.unwrap());
        // Another instance that had decided the same, under whatever identifier.
        let second = Message { id: "digest-25-b".to_owned(), ..first.clone() };
        assert!(!other.write_message(&second, &[]).await.unwrap());
        assert!(!other.write_message(&first, &[]).await.unwrap());
        let other_day = message("digest-26", MessageKind::Digest, Some(26), 1);
        assert!(other.write_message(&other_day, &[]).await.unwrap());
        let to_printer = Message { id: "p".to_owned(), recipient: "printer".to_owned(), ..first };
        assert!(one.write_message(&to_printer, &[]).await.unwrap());
        assert_eq!(one.last_digest("owner").await.unwrap(), Some((other_day.day.unwrap(), at(1))));
        assert_eq!(one.last_digest("nobody").await.unwrap(), None);
    });
}

#[test]
fn a_message_waits_until_it_is_sent_or_given_up_and_keeps_its_identifier() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        for (id, minute) in [("a", 0), ("b", 1)] {
            assert!(ledger.write_message(&message(id, MessageKind::Alert, None, minute), &[]).await.unwrap());
        }
        let due = async |minute| {
            let due = ledger.messages(Which::Due(at(minute))).await.unwrap();
            due.into_iter().map(|kept| (kept.message.id, kept.tries)).collect::<Vec<_>>()
        };
        assert_eq!(due(-1).await, []);
        assert_eq!(due(0).await, [("a".to_owned(), 0)]);
        let again = Tried::Again { next_at: at(10), trouble: "no answer".to_owned() };
        ledger.message_tried("a", &again, at(2)).await.unwrap();
        ledger
            .message_tried("b", &Tried::GivenUp { trouble: "no such box".to_owned() }, at(2))
            .await
            .unwrap();
        assert_eq!(due(9).await, []);
        assert_eq!(due(10).await, [("a".to_owned(), 1)]);
        let undelivered = ledger.messages(Which::Undelivered(at(2))).await.unwrap();
        let words: Vec<_> = undelivered.iter().map(|kept| kept.trouble.as_deref()).collect();
        assert_eq!(words, [Some("no answer"), Some("no such box")]);
        // What was given up earlier has been said.
        assert_eq!(ledger.messages(Which::Undelivered(at(3))).await.unwrap().len(), 1);
        ledger.message_tried("a", &Tried::Sent, at(11)).await.unwrap();
        assert_eq!(due(1_000).await, []);
        let all = ledger.messages(Which::Since(at(0))).await.unwrap();
        assert_eq!((all[0].sent_at, all[0].tries, &all[0].trouble), (Some(at(11)), 2, &None));
    });
}

#[test]
fn an_alert_is_wanted_once_for_what_it_says() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let finding = gap(Check::PartSent, "1", &["a"], None);
        let id = finding.id.to_string();
        let round = async |said: &str, minute| {
            let judged = outcome(std::slice::from_ref(&finding));
            ledger.record_and_tell(&shop(), &judged, &[wanted(&finding, said)], at(minute)).await.unwrap();
        };
        round("a missing", 1).await;
        round("a missing", 2).await;
        assert_eq!(pending(&ledger).await, [(id.clone(), false)]);
        assert_eq!(ledger.pending_alerts("owner").await.unwrap()[0].wanted_at, at(1));
        let alert = message("alert-1", MessageKind::Alert, None, 3);
        assert!(ledger.write_message(&alert, &[told(&finding)]).await.unwrap());
        round("a missing", 4).await;
        assert_eq!(pending(&ledger).await, []);
        // It settles and is there again as it was: that has been said.
        ledger.record_and_tell(&shop(), &outcome(&[]), &[], at(5)).await.unwrap();
        round("a missing", 6).await;
        assert_eq!(pending(&ledger).await, []);
        round("a and b missing", 7).await;
        assert_eq!(pending(&ledger).await, [(id, true)]);
    });
}

#[test]
fn what_settles_or_is_set_aside_before_it_was_told_is_not_told() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let (a, b) =
            (gap(Check::PartSent, "1", &["a"], Some(at(90))), gap(Check::PartSent, "2", &["a"], None));
        let all = outcome(&[a.clone(), b.clone()]);
        let both = [wanted(&a, "x"), wanted(&b, "x")];
        ledger.record_and_tell(&shop(), &all, &both, at(1)).await.unwrap();
        let ids: Vec<String> = pending(&ledger).await.into_iter().map(|(id, _)| id).collect();
        assert_eq!(ids, [a.id.to_string(), b.id.to_string()], "what has a deadline comes first");
        let aside = SetAside { note: "I know".to_owned(), until: None };
        ledger.set_aside(&shop(), a.id.as_str(), &aside, at(2)).await.unwrap();
        ledger.record_and_tell(&shop(), &all, &both, at(3)).await.unwrap();
        assert_eq!(pending(&ledger).await, [(b.id.to_string(), false)]);
        ledger.record_and_tell(&shop(), &outcome(std::slice::from_ref(&a)), &both[..1], at(4)).await.unwrap();
        assert_eq!(pending(&ledger).await, []);
        // Its evidence is another: it stands again, and is told.
        let worse = gap(Check::PartSent, "1", &["a", "b"], Some(at(90)));
        ledger
            .record_and_tell(&shop(), &outcome(std::slice::from_ref(&worse)), &[wanted(&worse, "y")], at(5))
            .await
            .unwrap();
        assert_eq!(pending(&ledger).await, [(a.id.to_string(), false)]);
    });
}

#[test]
fn a_message_that_was_not_new_tells_nothing() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let finding = gap(Check::PartSent, "1", &["a"], None);
        let judged = outcome(std::slice::from_ref(&finding));
        ledger.record_and_tell(&shop(), &judged, &[wanted(&finding, "x")], at(1)).await.unwrap();
        let digest = message("d", MessageKind::Digest, Some(25), 2);
        assert!(ledger.write_message(&digest, &[]).await.unwrap());
        assert!(!ledger.write_message(&digest, &[told(&finding)]).await.unwrap());
        assert_eq!(pending(&ledger).await.len(), 1);
    });
}

#[test]
fn old_messages_are_forgotten_but_for_those_that_wait_and_the_last_digest() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        for (id, kind, day) in [
            ("d24", MessageKind::Digest, Some(24)),
            ("d25", MessageKind::Digest, Some(25)),
            ("sent", MessageKind::Alert, None),
            ("waits", MessageKind::Alert, None),
        ] {
            assert!(ledger.write_message(&message(id, kind, day, 0), &[]).await.unwrap());
            if id != "waits" {
                ledger.message_tried(id, &Tried::Sent, at(1)).await.unwrap();
            }
        }
        assert_eq!(ledger.forget_messages(at(0)).await.unwrap(), 0);
        assert_eq!(ledger.forget_messages(at(5)).await.unwrap(), 2);
        let left = ledger.messages(Which::Since(at(-9))).await.unwrap();
        let left: Vec<_> = left.iter().map(|kept| kept.message.id.as_str()).collect();
        assert_eq!(left, ["d25", "waits"]);
    });
}

fn order(id: &str, days_ago: i64, status: OrderStatus, promised_in: Option<i64>) -> Order {
    Order {
        order_id: id.into(),
        placed_at: When::at(at(0) - TimeDelta::days(days_ago)),
        paid_at: None,
        status,
        currency: None,
        promised_by: promised_in.map(|days| When::at(at(0) + TimeDelta::days(days))),
        ship_to_country: None,
        ship_to_digest: None,
        updated_at: None,
    }
}

fn line(order: &str, id: &str, cancelled: u32) -> OrderLine {
    OrderLine {
        order_id: order.into(),
        line_id: id.into(),
        listing_id: None,
        sku: None,
        title: None,
        options: None,
        quantity: 2,
        cancelled_quantity: cancelled,
        unit_price: None,
        updated_at: None,
    }
}

/// Ten orders' worth of what can happen, worked out by hand beside each assertion.
#[test]
fn rates_count_orders_lines_promises_and_repairs() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let rows = Book {
            orders: vec![
                order("good", 3, OrderStatus::Open, Some(-1)),
                order("short", 4, OrderStatus::Open, Some(-1)),
                order("mended", 5, OrderStatus::Dispatched, Some(5)),
                order("late", 6, OrderStatus::Open, Some(-2)),
                order("cancelled", 6, OrderStatus::Cancelled, None),
                order("unpaid", 6, OrderStatus::Unpaid, None),
                order("old", 40, OrderStatus::Dispatched, None),
                order("older", 80, OrderStatus::Dispatched, None),
            ],
            order_lines: ["good", "short", "mended", "late", "cancelled", "unpaid", "old", "older"]
                .iter()
                .flat_map(|id| [line(id, "a", 0), line(id, "b", 0), line(id, "gone", 2)])
                .collect(),
            ..Book::default()
        };
        let batch = Batch {
            shop: shop(),
            source: "till".into(),
            request: "orders".to_owned(),
            rows,
            whole: vec![],
            everything_since: None,
            mark: Mark::default(),
            seen_at: at(0),
            source_time: None,
        };
        ledger.commit(&batch).await.unwrap();
        let short = gap(Check::PartSent, "short", &["b"], None);
        let late = gap(Check::Late, "late", &["a"], None);
        let mended = gap(Check::WrongVariant, "mended", &["a"], None);
        let over = gap(Check::OverSent, "old", &[], None);
        let hours = |hours: i64| at(60 * hours) - TimeDelta::days(2);
        let all = [short.clone(), late.clone(), mended, over.clone()];
        ledger.record(&shop(), &outcome(&all), hours(0)).await.unwrap();
        ledger.record(&shop(), &outcome(&[short.clone(), late.clone(), over]), hours(2)).await.unwrap();
        ledger.record(&shop(), &outcome(&[short, late]), hours(6)).await.unwrap();

        let weeks = |weeks| at(0) - TimeDelta::weeks(weeks);
        let begin = weeks(10);
        let rates = ledger.rates(&shop(), &[weeks(4), weeks(12)], at(0), begin).await.unwrap();
        let share = |good, of| Share { good, of };
        // good, short, mended and late are live, placed within four weeks; `short` misses one of eight lines.
        assert_eq!(rates[0].orders_in_full, share(3, 4));
        assert_eq!(rates[0].lines_in_full, share(7, 8));
        assert_eq!(rates[0].perfect, share(1, 4));
        // Of good, short and late the promise is past.
        assert_eq!(rates[0].on_time_in_full, share(1, 3));
        // After 2 and 6 hours.
        assert_eq!((rates[0].repairs.len(), rates[0].median_repair()), (2, Some(TimeDelta::hours(4))));
        // `old` too; `older` is from before findings were reported.
        assert_eq!(rates[1].orders_in_full, share(4, 5));
        assert_eq!(rates[1].lines_in_full, share(9, 10));
        assert_eq!(rates[1].perfect, share(1, 5));
        let none = ledger.rates(&"other".into(), &[weeks(4)], at(0), begin).await.unwrap();
        assert_eq!(none, [Rates::default()]);
    });
}
