//! Closed groups on real SQLite files: not read with what is open, opened by what changes, and never in the way.
//!
//! That the answer stays the same is tested where it is given.

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

mod common;

use std::collections::BTreeSet;

use ledger::Ledger;
use model::batch::Whole;
use model::book::{
    Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission, SubmissionLine, SubmissionStatus, Tie,
};
use model::outcome::Totals;
use model::{Batch, Book, ClosedGroup, Mark, Settled, When};
use sqlx::ConnectOptions as _;
use sqlx::sqlite::SqliteConnectOptions;
use tempfile::TempDir;

use common::{ALL, at, open, run, shop};

const BASIS: &str = "the rules of that day";

/// An order with a line, a submission with a line for it, and a parcel with that line.
fn rows(number: u32, quantity: u32) -> Book {
    let id = format!("KK-{number}");
    let sent = format!("S-{number}");
    let parcel = format!("P-{number}");
    Book {
        orders: vec![Order {
            order_id: id.as_str().into(),
            placed_at: When::at(at(-90 - i64::from(number))),
            paid_at: None,
            status: OrderStatus::Dispatched,
            currency: None,
            promised_by: None,
            ship_to_country: None,
            ship_to_digest: None,
            updated_at: None,
        }],
        order_lines: vec![OrderLine {
            order_id: id.as_str().into(),
            line_id: "1".into(),
            listing_id: None,
            sku: None,
            title: None,
            options: None,
            quantity,
            cancelled_quantity: 0,
            unit_price: None,
            updated_at: None,
        }],
        submissions: Some(vec![Submission {
            supplier: "alder-print".into(),
            submission_id: sent.as_str().into(),
            order_ref: Some(id),
            status: SubmissionStatus::Dispatched,
            received_at: When::at(at(-80)),
            replaces: None,
            updated_at: None,
        }]),
        submission_lines: Some(vec![SubmissionLine {
            supplier: "alder-print".into(),
            submission_id: sent.as_str().into(),
            line_id: "1".into(),
            order_ref: None,
            order_line_ref: None,
            variant_id: Some("alv-1".into()),
            sku: None,
            quantity,
            status: None,
            unit_cost: None,
            updated_at: None,
        }]),
        parcels: Some(vec![Parcel {
            supplier: "alder-print".into(),
            parcel_id: parcel.as_str().into(),
            submission_id: sent.as_str().into(),
            dispatched_at: When::at(at(-70)),
            carrier: None,
            tracking_number: None,
        }]),
        parcel_lines: Some(vec![ParcelLine {
            supplier: "alder-print".into(),
            parcel_id: parcel.as_str().into(),
            submission_line_id: "1".into(),
            quantity,
        }]),
        ..Book::default()
    }
}

fn batch(rows: Book, whole: Vec<Whole>) -> Batch {
    Batch {
        shop: shop(),
        source: "shopfront".into(),
        request: "orders".to_owned(),
        rows,
        whole,
        everything_since: None,
        mark: Mark::default(),
        seen_at: at(0),
        source_time: None,
    }
}

fn group(number: u32, words: &[&str]) -> ClosedGroup {
    let totals =
        Totals { orders: 1, lines: 1, units_demanded: 2, covered: 2, dispatched: 2, ..Totals::default() };
    ClosedGroup {
        orders: vec![format!("KK-{number}").as_str().into()],
        submissions: vec![("alder-print".into(), format!("S-{number}").as_str().into())],
        words: words.iter().map(|word| (*word).to_owned()).collect(),
        settled: Settled { totals, orders: 1, ..Settled::default() },
    }
}

/// Three orders, of which the first two are closed.
async fn with_two_closed(folder: &TempDir) -> Ledger {
    let ledger = open(folder).await;
    for number in [1, 2, 3] {
        assert!(ledger.commit(&batch(rows(number, 2), Vec::new())).await.unwrap().is_any());
    }
    let version = ledger.open_book(&shop(), ALL).await.unwrap().version;
    let groups = [group(1, &["LATER"]), group(2, &[])];
    assert!(ledger.close_groups(&shop(), (BASIS, version), &groups).await.unwrap());
    ledger
}

/// The orders that are open, and how many rows of all other kinds.
async fn is_open(ledger: &Ledger) -> (Vec<String>, [usize; 5]) {
    let open = ledger.open_book(&shop(), ALL).await.unwrap();
    let book = open.book;
    let count = |rows: Option<usize>| rows.unwrap_or_default();
    let orders: BTreeSet<String> = book.orders.iter().map(|row| row.order_id.to_string()).collect();
    let others = [
        book.order_lines.len(),
        count(book.submissions.as_ref().map(Vec::len)),
        count(book.submission_lines.as_ref().map(Vec::len)),
        count(book.parcels.as_ref().map(Vec::len)),
        count(book.parcel_lines.as_ref().map(Vec::len)),
    ];
    let closed = 3_usize.saturating_sub(orders.len());
    assert_eq!(open.settled.orders, closed as u64, "what is closed is counted");
    (orders.into_iter().collect(), others)
}

#[test]
fn what_is_closed_is_kept_and_counted_and_not_read_with_what_is_open() {
    run(async {
        let folder = TempDir::new().unwrap();
        let ledger = with_two_closed(&folder).await;
        assert_eq!(is_open(&ledger).await, (vec!["KK-3".to_owned()], [1; 5]));
        let whole = ledger.book(&shop(), ALL).await.unwrap();
        assert_eq!((whole.orders.len(), whole.parcel_lines.unwrap().len()), (3, 3));
        let open = ledger.open_book(&shop(), ALL).await.unwrap();
        assert_eq!(open.first_placed, Some(at(-93)), "of all, open or closed");
        assert_eq!((open.orders_before, open.basis.as_str()), (3, BASIS));
        assert_eq!(open.settled.totals.covered, 4);
        let with = ledger.closed_with(&shop(), &"KK-1".into()).await.unwrap().unwrap();
        assert_eq!(with, (group(1, &[]).orders, group(1, &[]).submissions));
        assert_eq!(ledger.closed_with(&shop(), &"KK-3".into()).await.unwrap(), None);
        ledger.close().await;
    });
}

#[test]
fn the_same_again_opens_nothing_and_each_change_opens_its_group() {
    type Changes = fn(&mut Book);
    let changes: [(&str, Changes); 6] = [
        ("the order", |rows| rows.orders[0].status = OrderStatus::Cancelled),
        ("its line", |rows| rows.order_lines[0].cancelled_quantity = 1),
        ("the submission", |rows| {
            rows.submissions.as_mut().unwrap()[0].status = SubmissionStatus::Cancelled;
        }),
        ("its line", |rows| rows.submission_lines.as_mut().unwrap()[0].quantity = 1),
        ("the parcel", |rows| rows.parcels.as_mut().unwrap()[0].submission_id = "S-3".into()),
        ("its line", |rows| rows.parcel_lines.as_mut().unwrap()[0].quantity = 1),
    ];
    for (what, change) in changes {
        run(async {
            let folder = TempDir::new().unwrap();
            let ledger = with_two_closed(&folder).await;
            assert!(!ledger.commit(&batch(rows(1, 2), Vec::new())).await.unwrap().is_any());
            assert_eq!(is_open(&ledger).await.0, ["KK-3"]);
            let mut changed = rows(1, 2);
            change(&mut changed);
            ledger.commit(&batch(changed, Vec::new())).await.unwrap();
            assert_eq!(
                is_open(&ledger).await,
                (vec!["KK-1".to_owned(), "KK-3".to_owned()], [2; 5]),
                "{what}"
            );
            ledger.close().await;
        });
    }
}

#[test]
fn a_line_that_goes_and_a_parcel_that_goes_open_their_group() {
    let gone = [
        (Book { order_lines: Vec::new(), ..rows(1, 2) }, Whole::Order("KK-1".into()), [1, 2, 2, 2, 2]),
        (
            Book { submission_lines: Some(Vec::new()), ..rows(1, 2) },
            Whole::Submission("alder-print".into(), "S-1".into()),
            [2, 2, 1, 2, 2],
        ),
        (
            Book { parcels: None, parcel_lines: None, ..rows(1, 2) },
            Whole::ParcelsOf("alder-print".into(), "S-1".into()),
            [2, 2, 2, 1, 1],
        ),
        (
            Book { parcel_lines: None, ..rows(1, 2) },
            Whole::Parcel("alder-print".into(), "P-1".into()),
            [2, 2, 2, 2, 1],
        ),
    ];
    for (rows, whole, want) in gone {
        run(async {
            let folder = TempDir::new().unwrap();
            let ledger = with_two_closed(&folder).await;
            ledger.commit(&batch(rows, vec![whole.clone()])).await.unwrap();
            assert_eq!(
                is_open(&ledger).await,
                (vec!["KK-1".to_owned(), "KK-3".to_owned()], want),
                "{whole:?}"
            );
            ledger.close().await;
        });
    }
}

#[test]
fn an_order_of_a_word_and_a_tie_open_what_they_have_to_do_with() {
    run(async {
        let folder = TempDir::new().unwrap();
        let ledger = with_two_closed(&folder).await;
        let mut later = rows(4, 1);
        later.orders[0].order_id = "LATER".into();
        ledger.commit(&batch(Book { orders: later.orders, ..Book::default() }, Vec::new())).await.unwrap();
        let open = ledger.open_book(&shop(), ALL).await.unwrap();
        assert_eq!((open.book.orders.len(), open.settled.orders), (3, 1));
        let tie = Tie {
            order_id: "KK-3".into(),
            line_id: "1".into(),
            supplier: "alder-print".into(),
            submission_id: "S-2".into(),
            submission_line_id: None,
        };
        ledger.tie(&shop(), &tie, at(1)).await.unwrap();
        assert_eq!(ledger.open_book(&shop(), ALL).await.unwrap().settled, Settled::default());
        ledger.close().await;
    });
}

#[test]
fn nothing_is_closed_by_rows_that_are_another_by_now_or_by_another_basis() {
    run(async {
        let folder = TempDir::new().unwrap();
        let ledger = with_two_closed(&folder).await;
        let version = ledger.open_book(&shop(), ALL).await.unwrap().version;
        assert!(!ledger.close_groups(&shop(), ("other rules", version), &[group(3, &[])]).await.unwrap());
        ledger.commit(&batch(rows(3, 5), Vec::new())).await.unwrap();
        assert!(!ledger.close_groups(&shop(), (BASIS, version), &[group(3, &[])]).await.unwrap());
        assert_eq!(is_open(&ledger).await.0, ["KK-3"]);
        // What is closed is not closed again with something else.
        let version = ledger.open_book(&shop(), ALL).await.unwrap().version;
        let mut both = group(3, &[]);
        both.submissions.push(("alder-print".into(), "S-2".into()));
        assert!(ledger.close_groups(&shop(), (BASIS, version), &[both]).await.unwrap());
        assert_eq!(is_open(&ledger).await.0, ["KK-3"]);
        ledger.open_all(&shop()).await.unwrap();
        assert_eq!(
            is_open(&ledger).await,
            (vec!["KK-1".to_owned(), "KK-2".to_owned(), "KK-3".to_owned()], [3; 5])
        );
        ledger.close().await;
    });
}

#[test]
fn what_is_damaged_is_opened_and_nothing_is_in_the_way_of_what_comes() {
    for damage in [
        "UPDATE closed_groups SET settled = 'x'",
        "UPDATE closed_groups SET orders = '7'",
        "DELETE FROM closed_groups WHERE number = 1",
        "UPDATE closed_shops SET settled = replace(settled, '\"covered\":4', '\"covered\":1')",
    ] {
        run(async {
            let folder = TempDir::new().unwrap();
            let ledger = with_two_closed(&folder).await;
            let file = folder.path().join("everyline.ledger");
            let mut other = SqliteConnectOptions::new().filename(&file).connect().await.unwrap();
            let done = sqlx::query(damage).execute(&mut other).await.unwrap();
            assert!(done.rows_affected() > 0, "{damage}");
            ledger.commit(&batch(rows(1, 3), Vec::new())).await.unwrap();
            let open = ledger.open_book(&shop(), ALL).await.unwrap();
            assert_eq!((open.book.orders.len(), open.settled), (3, Settled::default()), "{damage}");
            ledger.close().await;
        });
    }
    run(async {
        let folder = TempDir::new().unwrap();
        let ledger = with_two_closed(&folder).await;
        let file = folder.path().join("everyline.ledger");
        let mut other = SqliteConnectOptions::new().filename(&file).connect().await.unwrap();
        sqlx::query("UPDATE closed_shops SET settled = 'x'").execute(&mut other).await.unwrap();
        let open = ledger.open_book(&shop(), ALL).await.unwrap();
        assert_ne!(open.basis, BASIS, "whoever judges sees that it is not theirs");
        ledger.close().await;
    });
}
