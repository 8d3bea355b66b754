//! What happened on each day, held against a plain recount of the rows: over a change of the clock, with orders of every kind.
//!
//! Start reading at [`the_sums_of_days_are_those_of_a_plain_recount`].

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

mod common;

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use ledger::{DaySums, Ledger};
use model::book::{Order, OrderLine, OrderStatus, Parcel, Submission, SubmissionStatus};
use model::rates::{Rates, Share};
use model::waits::Waits;
use model::when::first_moment;
use model::{Batch, Book, Check, Finding, Mark, When};

use common::{gap, open, outcome, run, shop};

const ZONE: Tz = Tz::Europe__Berlin;

fn utc(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

/// Numbers that are the same in each run.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }

    fn hours(&mut self, most: u64) -> TimeDelta {
        TimeDelta::minutes(i64::try_from(self.below(most * 60)).unwrap())
    }
}

/// Thirty days that begin before summer time ends (2026-10-25; source: IANA time zone database, rule EU).
fn bounds() -> Vec<DateTime<Utc>> {
    let first = NaiveDate::from_ymd_opt(2026, 10, 12).unwrap();
    first.iter_days().take(31).map(|day| first_moment(day, ZONE).unwrap()).collect()
}

fn book(numbers: &mut Numbers) -> Book {
    let begin = utc("2026-10-01T00:00:00Z");
    let mut book = Book::default();
    let (mut submissions, mut parcels) = (Vec::new(), Vec::new());
    for number in 0..800 {
        let placed = begin + numbers.hours(45 * 24);
        let id = format!("KK-{number}");
        let status = match numbers.below(12) {
            0 => OrderStatus::Unpaid,
            1 => OrderStatus::Cancelled,
            2..6 => OrderStatus::Dispatched,
            _ => OrderStatus::Open,
        };
        book.orders.push(Order {
            order_id: id.as_str().into(),
            placed_at: match numbers.below(10) {
                0 => When::day(placed.with_timezone(&ZONE).date_naive(), ZONE).unwrap(),
                _ => When::at(placed),
            },
            paid_at: (numbers.below(3) > 0).then(|| When::at(placed + numbers.hours(100))),
            status,
            currency: None,
            promised_by: match numbers.below(3) {
                0 => None,
                1 => Some(When::at(placed + numbers.hours(240))),
                _ => When::day((placed + numbers.hours(240)).with_timezone(&ZONE).date_naive(), ZONE),
            },
            ship_to_country: None,
            ship_to_digest: None,
            updated_at: None,
        });
        for line in 0..=numbers.below(3) {
            book.order_lines.push(OrderLine {
                order_id: id.as_str().into(),
                line_id: format!("{line}").as_str().into(),
                listing_id: None,
                sku: None,
                title: None,
                options: None,
                quantity: 2,
                cancelled_quantity: if numbers.below(6) == 0 { 2 } else { 0 },
                unit_price: None,
                updated_at: None,
            });
        }
        let supplier = ["alder-print", "birch-works"][numbers.below(2) as usize];
        let received = placed + numbers.hours(5);
        submissions.push(Submission {
            supplier: supplier.into(),
            submission_id: id.as_str().into(),
            order_ref: Some(id.clone()),
            status: match numbers.below(8) {
                0 => SubmissionStatus::Cancelled,
                1 => SubmissionStatus::Rejected,
                2 | 3 => SubmissionStatus::Dispatched,
                _ => SubmissionStatus::Making,
            },
            received_at: When::at(received),
            replaces: None,
            updated_at: None,
        });
        for parcel in 0..numbers.below(3) {
            parcels.push(Parcel {
                supplier: supplier.into(),
                parcel_id: format!("{id}-{parcel}").as_str().into(),
                submission_id: id.as_str().into(),
                dispatched_at: When::at(received + numbers.hours(150)),
                carrier: None,
                tracking_number: None,
            });
        }
    }
    (book.submissions, book.parcels) = (Some(submissions), Some(parcels));
    book
}

/// Records findings that come and go; answers for each when it was first seen and when it was gone.
async fn record(
    ledger: &Ledger,
    book: &Book,
    numbers: &mut Numbers,
) -> Vec<(Finding, DateTime<Utc>, Option<DateTime<Utc>>)> {
    let checks = [Check::PartSent, Check::UnsentOrder, Check::Late, Check::OverSent, Check::Held];
    let mut all: Vec<(Finding, DateTime<Utc>, Option<DateTime<Utc>>)> = Vec::new();
    for round in 0..160 {
        let now = utc("2026-10-05T03:00:00Z") + TimeDelta::hours(round * 6);
        for (_, _, gone) in &mut all {
            if gone.is_none() && numbers.below(12) == 0 {
                *gone = Some(now);
            }
        }
        let placed: Vec<&Order> = book.orders.iter().filter(|order| order.placed_at.begins() < now).collect();
        for _ in 0..2 {
            let order = placed[numbers.below(placed.len() as u64) as usize];
            let check = checks[numbers.below(5) as usize];
            let new = gap(check, order.order_id.as_str(), &["0"], now);
            if all.iter().all(|(old, ..)| old.id != new.id) {
                all.push((new, now, None));
            }
        }
        let mut findings: Vec<Finding> =
            all.iter().filter(|(_, _, gone)| gone.is_none()).map(|(finding, ..)| finding.clone()).collect();
        findings.sort_by(|one, other| one.id.cmp(&other.id));
        ledger.record(&shop(), &outcome(&findings, now), now).await.unwrap();
    }
    all
}

async fn keep(ledger: &Ledger, book: &Book) {
    let batch = Batch {
        shop: shop(),
        source: "till".into(),
        request: "orders".to_owned(),
        rows: book.clone(),
        whole: vec![],
        everything_since: None,
        mark: Mark::default(),
        seen_at: utc("2026-11-20T00:00:00Z"),
        source_time: None,
    };
    ledger.commit(&batch).await.unwrap();
}

/// Where a moment belongs, looked for day by day on the calendar of the zone.
fn day_of(bounds: &[DateTime<Utc>], at: DateTime<Utc>) -> Option<usize> {
    let first = bounds[0].with_timezone(&ZONE).date_naive();
    let days = at.with_timezone(&ZONE).date_naive().signed_duration_since(first).num_days();
    usize::try_from(days).ok().filter(|day| *day < bounds.len() - 1)
}

/// A finding, since when it stands, and when it settled.
type Found = (Finding, DateTime<Utc>, Option<DateTime<Utc>>);

/// The same, counted row by row.
fn recount(
    book: &Book,
    findings: &[Found],
    bounds: &[DateTime<Utc>],
    (report_from, at): (DateTime<Utc>, DateTime<Utc>),
) -> Vec<DaySums> {
    let end = *bounds.last().unwrap();
    let mut days = vec![DaySums::default(); bounds.len() - 1];
    let is_spoilt = |check: Check| check != Check::Held;
    let is_gap = |check: Check| matches!(check, Check::PartSent | Check::UnsentOrder);
    for order in &book.orders {
        let placed = order.placed_at.begins();
        let Some(day) = day_of(bounds, placed) else { continue };
        let is_live = matches!(order.status, OrderStatus::Open | OrderStatus::Dispatched);
        days[day].orders += 1;
        days[day].not_live += u64::from(!is_live);
        let lines = book.order_lines.iter().filter(|line| line.order_id == order.order_id);
        let lines = lines.filter(|line| line.quantity > line.cancelled_quantity).count() as u64;
        let is_paid = order.paid_at.is_none_or(|paid| paid.begins() < end);
        if !is_live || !is_paid || lines == 0 || placed < report_from {
            continue;
        }
        let own =
            || findings.iter().filter(|(finding, ..)| finding.order_id.as_ref() == Some(&order.order_id));
        let stands = own().any(|(finding, _, gone)| is_gap(finding.check) && gone.is_none());
        let was_late = own().any(|(finding, ..)| finding.check == Check::Late);
        let rates = &mut days[day].rates;
        rates.orders_in_full.add(1, u64::from(!stands));
        // Each finding names one and the same line.
        rates.lines_in_full.add(lines, lines - u64::from(stands));
        rates.perfect.add(1, u64::from(!own().any(|(finding, ..)| is_spoilt(finding.check))));
        if order.promised_by.is_some_and(|promise| promise.ends() < end) {
            rates.on_time_in_full.add(1, u64::from(!stands && !was_late));
        }
    }
    for (finding, seen, gone) in findings {
        if let Some(day) = day_of(bounds, *seen) {
            *days[day].found.entry(finding.check).or_default() += 1;
        }
        let is_repair = matches!(finding.check, Check::PartSent | Check::UnsentOrder | Check::OverSent)
            && gone.is_some_and(|gone| gone >= report_from);
        if let Some((gone, day)) = gone.and_then(|gone| Some((gone, day_of(bounds, gone)?)))
            && is_repair
        {
            days[day].rates.repairs.push(gone - *seen);
        }
    }
    for submission in book.submissions.iter().flatten() {
        let received = submission.received_at.begins();
        let Some(day) = day_of(bounds, received) else { continue };
        if matches!(submission.status, SubmissionStatus::Cancelled | SubmissionStatus::Rejected) {
            continue;
        }
        let parcels = book.parcels.iter().flatten().filter(|parcel| {
            (&parcel.supplier, &parcel.submission_id) == (&submission.supplier, &submission.submission_id)
        });
        let first = parcels.map(|parcel| parcel.dispatched_at.begins()).min();
        let waits = days[day].waits.entry(submission.supplier.clone()).or_insert_with(Waits::default);
        match first {
            Some(first) if first <= at => waits.add_over(first - received),
            None if submission.status == SubmissionStatus::Dispatched => waits.undated += 1,
            _ => waits.add_open(at - received),
        }
    }
    days
}

fn sorted(mut days: Vec<DaySums>) -> Vec<DaySums> {
    days.iter_mut().for_each(|day| day.rates.repairs.sort_unstable());
    days
}

#[test]
fn the_sums_of_days_are_those_of_a_plain_recount() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let mut numbers = Numbers(7);
        let book = book(&mut numbers);
        keep(&ledger, &book).await;
        let findings = record(&ledger, &book, &mut numbers).await;
        let bounds = bounds();
        let at = *bounds.last().unwrap();
        for report_from in [utc("2026-09-01T00:00:00Z"), utc("2026-10-20T13:14:15Z")] {
            let sums = ledger.trends(&shop(), &bounds, report_from, at).await.unwrap();
            let want = recount(&book, &findings, &bounds, (report_from, at));
            assert_eq!(sorted(sums), sorted(want));
        }
        // Something of everything was there to count.
        let all = ledger.trends(&shop(), &bounds, utc("2026-09-01T00:00:00Z"), at).await.unwrap();
        let mut rates = Rates::default();
        let (mut found, mut waits) = (BTreeMap::new(), Waits::default());
        for day in &all {
            rates += &day.rates;
            day.found.iter().for_each(|(check, number)| *found.entry(*check).or_insert(0) += number);
            day.waits.values().for_each(|own| waits += own);
        }
        for Share { good, of } in
            [rates.orders_in_full, rates.lines_in_full, rates.perfect, rates.on_time_in_full]
        {
            assert!(good > 50 && good < of, "{good} of {of}");
        }
        assert!(rates.repairs.len() > 20 && found.len() == 5, "{found:?}");
        assert!(waits.over() > 50 && waits.open() > 10 && waits.undated > 5, "{waits:?}");
        // The day on which summer time ends has 25 hours.
        assert_eq!(bounds[14] - bounds[13], TimeDelta::hours(25));
    });
}

#[test]
fn the_rates_of_weeks_are_the_sums_of_their_days() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let mut numbers = Numbers(11);
        let book = book(&mut numbers);
        keep(&ledger, &book).await;
        record(&ledger, &book, &mut numbers).await;
        let bounds = bounds();
        let (end, report_from) = (*bounds.last().unwrap(), utc("2026-10-14T05:00:00Z"));
        let days = ledger.trends(&shop(), &bounds, report_from, end).await.unwrap();
        let begins = [bounds[0], bounds[2], bounds[23]];
        let rates = ledger.rates(&shop(), &begins, end, report_from).await.unwrap();
        for (from, rates) in [0, 2, 23].into_iter().zip(rates) {
            let mut sum = Rates::default();
            days[from..].iter().for_each(|day| sum += &day.rates);
            sum.repairs.sort_unstable();
            let mut rates = rates;
            rates.repairs.sort_unstable();
            assert_eq!(sum, rates, "from day {from}");
        }
    });
}

#[test]
fn a_shop_of_which_nothing_is_known_has_empty_days() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let ledger = open(&folder).await;
        let bounds = bounds();
        let at = *bounds.last().unwrap();
        let days = ledger.trends(&shop(), &bounds, bounds[0], at).await.unwrap();
        assert_eq!(days, vec![DaySums::default(); 30]);
        assert_eq!(ledger.trends(&shop(), &[], at, at).await.unwrap(), []);
        assert_eq!(ledger.trends(&shop(), &[at], at, at).await.unwrap(), []);
        assert_eq!(ledger.first_placed(&shop()).await.unwrap(), None);
        assert_eq!(ledger.placed_between(&shop(), bounds[0], at).await.unwrap(), 0);
    });
}
