//! What the exact path costs per order with findings: reading its option text, judging it, and writing its JSON.
//!
//! Times are of a batch; the counts beside them are orders per second. Start reading at [`Batch`].
//!
//!     cargo bench --profile fast -p everyline

use std::sync::LazyLock;

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use links::Vocabulary;
use matcher::{Facts, reconcile};
use model::reading::Readings;
use model::rules::{Graces, ReferenceForm};
use model::{Book, Outcome, Rules};
use simshop::{catalogue_book, random_orders};

/// Of so many random orders, about one in sixty has findings.
const ORDERS_MADE: usize = 250_000;
/// With so many of these, a batch has the size of those that an audit judges at once.
const UNUSUAL: usize = 4_000;
/// The shop's zone, in which sentences tell times.
const ZONE: Tz = Tz::Europe__Oslo;
/// The moment for which all books of the shop are audited.
const AS_OF: &str = "2026-11-26T15:20:00Z";

/// Orders with findings and all that belongs to them, with all variants and links and no offers.
static UNUSUAL_ORDERS: LazyLock<Batch> = LazyLock::new(|| Batch::of_unusual_orders(UNUSUAL));
/// The same tables without a single order: what a batch costs, however small it is.
static NO_ORDERS: LazyLock<Batch> = LazyLock::new(|| Batch::of_unusual_orders(0));

/// A book with everything that is needed to judge it.
struct Batch {
    book: Book,
    vocabulary: Vocabulary,
    readings: Readings,
    cut_offs: Vec<Option<DateTime<Utc>>>,
    rules: Rules,
    as_of: DateTime<Utc>,
}

impl Batch {
    fn of_unusual_orders(wanted: usize) -> Self {
        let mut book = Book { offers: None, ..catalogue_book() };
        let unusual = random_orders(7, ORDERS_MADE).filter(|(_, findings)| !findings.is_empty());
        for (of_order, _) in unusual.take(wanted) {
            book.orders.extend(of_order.orders);
            book.order_lines.extend(of_order.order_lines);
            add(&mut book.submissions, of_order.submissions);
            add(&mut book.submission_lines, of_order.submission_lines);
            add(&mut book.parcels, of_order.parcels);
            add(&mut book.parcel_lines, of_order.parcel_lines);
        }
        assert_eq!(book.orders.len(), wanted, "enough orders are made");
        let vocabulary = Vocabulary::built_in();
        let readings = links::read_book(&book, &vocabulary);
        let received = book.submissions.iter().flatten().map(|sent| sent.received_at.begins());
        let cut_offs = received.map(|received| Some(received + TimeDelta::hours(24))).collect();
        let as_of = DateTime::parse_from_rfc3339(AS_OF).expect("a time").to_utc();
        Self { book, vocabulary, readings, cut_offs, rules: rules(), as_of }
    }

    fn read(&self) -> Readings {
        links::read_book(&self.book, &self.vocabulary)
    }

    fn judge(&self) -> Outcome {
        let facts = Facts::of_tables(&self.readings, &self.cut_offs);
        reconcile(&self.book, facts, &self.rules, self.as_of)
    }
}

fn add<T>(all: &mut Option<Vec<T>>, rows: Option<Vec<T>>) {
    all.get_or_insert_default().extend(rows.into_iter().flatten());
}

/// As the shop has configured them: graces and references that differ by supplier.
fn rules() -> Rules {
    let prefix = ReferenceForm { prefix: "BP/".to_owned(), ..ReferenceForm::default() };
    let suffix = ReferenceForm { suffix: "@kittiwake".to_owned(), ..ReferenceForm::default() };
    let graces = Graces { parcel_gap: TimeDelta::hours(36), ..Graces::default() };
    let slower = Graces { submit: TimeDelta::hours(3), ..graces };
    Rules {
        graces,
        supplier_graces: [("cairn-print".into(), slower)].into(),
        supplier_references: [("brook-print".into(), prefix), ("cairn-print".into(), suffix)].into(),
        ..Rules::default()
    }
}

fn main() {
    divan::main();
}

#[divan::bench]
fn making_the_vocabulary() -> Vocabulary {
    Vocabulary::built_in()
}

#[divan::bench]
fn reading_the_text_of_a_batch(bencher: Bencher<'_, '_>) {
    let batch = &*UNUSUAL_ORDERS;
    bencher.counter(ItemsCount::new(UNUSUAL)).bench(|| black_box(batch).read());
}

#[divan::bench]
fn reading_the_text_of_no_orders(bencher: Bencher<'_, '_>) {
    let batch = &*NO_ORDERS;
    bencher.bench(|| black_box(batch).read());
}

#[divan::bench]
fn judging_a_batch(bencher: Bencher<'_, '_>) {
    let batch = &*UNUSUAL_ORDERS;
    bencher.counter(ItemsCount::new(UNUSUAL)).bench(|| black_box(batch).judge());
}

#[divan::bench]
fn judging_no_orders(bencher: Bencher<'_, '_>) {
    let batch = &*NO_ORDERS;
    bencher.bench(|| black_box(batch).judge());
}

#[divan::bench]
fn writing_the_findings_of_a_batch(bencher: Bencher<'_, '_>) {
    let outcome = UNUSUAL_ORDERS.judge();
    let write = || digest::jsonl(black_box(&outcome.findings), ZONE).map(|line| line.len()).sum::<usize>();
    bencher.counter(ItemsCount::new(UNUSUAL)).bench(write);
}
