//! A whole simulated day, watched by the real program over real HTTP, with nothing wrong and with each thing that can go
//! wrong with a source: at its end the ledger is the truth, and of the orders that went out short each was named in time
//! and none was invented.
//!
//! Start reading at [`day`]; `watched` drives the program.

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

mod listings;
mod page;
mod trends;
mod watched;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Debug;
use std::path::Path;
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use ledger::{KeptFinding, Known, Ledger};
use model::{Book, ShopId};
use regex::Regex;
use rust_decimal::Decimal;
use simshop::live::{Fault, Plan, RetryAfter, Source, Truth, World};

use watched::Watched;

/// So far apart are the rounds of a day without faults.
const STEP: TimeDelta = TimeDelta::minutes(10);

/// When the faults begin, and when they are over: in the evening, when most is bought.
const FAULTS: (TimeDelta, TimeDelta) = (TimeDelta::hours(17), TimeDelta::hours(19));

const ALL: Known = Known {
    offers: true,
    variants: true,
    listing_products: false,
    links: false,
    submissions: true,
    parcels: true,
};

fn shop() -> ShopId {
    ShopId::new("shop")
}

/// Each table as sorted lines, without the digests of addresses, and amounts without trailing zeros.
fn tables(book: &Book) -> BTreeMap<&'static str, Vec<String>> {
    fn lines<T: Clone + Debug>(rows: impl IntoIterator<Item = T>, plain: impl Fn(&mut T)) -> Vec<String> {
        let mut lines: Vec<String> = rows
            .into_iter()
            .map(|mut row| {
                plain(&mut row);
                format!("{row:?}")
            })
            .collect();
        lines.sort();
        lines
    }
    let plain = |amount: &mut Option<Decimal>| *amount = amount.map(|amount| amount.normalize());
    let Book { offers, variants, submissions, submission_lines, parcels, parcel_lines, .. } = book.clone();
    [
        ("orders", lines(book.orders.clone(), |row| row.ship_to_digest = None)),
        ("order_lines", lines(book.order_lines.clone(), |row| plain(&mut row.unit_price))),
        ("offers", lines(offers.into_iter().flatten(), |row| plain(&mut row.price))),
        ("variants", lines(variants.into_iter().flatten(), |row| plain(&mut row.unit_cost))),
        ("submissions", lines(submissions.into_iter().flatten(), |_| {})),
        ("submission_lines", lines(submission_lines.into_iter().flatten(), |row| plain(&mut row.unit_cost))),
        ("parcels", lines(parcels.into_iter().flatten(), |_| {})),
        ("parcel_lines", lines(parcel_lines.into_iter().flatten(), |_| {})),
    ]
    .into()
}

/// Takes the times out.
fn without_times(tables: &mut BTreeMap<&'static str, Vec<String>>) {
    let time = Regex::new(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z").unwrap();
    for rows in tables.values_mut() {
        rows.iter_mut().for_each(|row| *row = time.replace_all(row, "…").into_owned());
        rows.sort();
    }
}

/// The orders of which lines are made by nobody.
fn short(truth: &Truth) -> BTreeSet<String> {
    let part = truth.part_sent.iter().map(|order| order.order_id.to_string());
    part.chain(truth.unsent.iter().map(|order| order.order_id.to_string())).collect()
}

/// The findings that orders went out short, or not at all.
fn named(findings: &[KeptFinding]) -> BTreeMap<String, DateTime<Utc>> {
    let of_kind = |finding: &&KeptFinding| ["part-sent", "unsent-order"].contains(&finding.check.as_str());
    let mut named = BTreeMap::new();
    for finding in findings.iter().filter(of_kind) {
        let first = named.entry(finding.order_id.clone().unwrap()).or_insert(finding.first_seen);
        *first = (*first).min(finding.first_seen);
    }
    named
}

/// Holds the ledger against the truth, row by row.
async fn assert_same(faults: &[Fault], ledger: &Ledger, truth: &Truth, log: &str) {
    let (mut read, mut want) = (tables(&ledger.book(&shop(), ALL).await.unwrap()), tables(&truth.book));
    if faults.iter().any(|fault| matches!(fault, Fault::SkewedClock(_))) {
        // What a source said while its clock was wrong is kept as it was said.
        without_times(&mut read);
        without_times(&mut want);
    }
    for (table, rows) in &want {
        assert!(!rows.is_empty() || table.starts_with("parcel"), "{table} has {} rows", rows.len());
        let read = &read[table];
        let lacking: Vec<&String> = rows.iter().filter(|row| !read.contains(row)).collect();
        let odd: Vec<&String> = read.iter().filter(|row| !rows.contains(row)).collect();
        assert!(
            lacking.is_empty() && odd.is_empty() && rows.len() == read.len(),
            "{faults:?}: {table} lacks {} rows {:#?} and has {} others {:#?}\n{}",
            lacking.len(),
            lacking.iter().take(2).collect::<Vec<_>>(),
            odd.len(),
            odd.iter().take(2).collect::<Vec<_>>(),
            log
        );
    }
}

/// Nothing that a customer said, and no secret, is in anything that the program wrote.
fn assert_private(world: &World, home: &Path, said: &str) {
    let private = world.private_texts();
    assert!(private.len() > 200, "{}", private.len());
    let mut written = vec![("standard output".to_owned(), said.as_bytes().to_vec())];
    for entry in std::fs::read_dir(home).unwrap() {
        let path = entry.unwrap().path();
        written.push((path.display().to_string(), std::fs::read(&path).unwrap()));
    }
    assert!(written.len() > 3, "{}", written.len());
    for (name, bytes) in written {
        let text = String::from_utf8_lossy(&bytes);
        for secret in &private {
            assert!(!text.contains(secret.as_str()), "{name} holds {secret:?}");
        }
    }
}

/// The moments of the rounds: of a day without faults all through it and, less often, until all is dispatched; otherwise
/// from the afternoon into the evening, and further apart.
fn moments(is_calm: bool) -> Vec<DateTime<Utc>> {
    let every = |from: DateTime<Utc>, step: TimeDelta, until: DateTime<Utc>| {
        std::iter::successors(Some(from + step), move |at| Some(*at + step))
            .take_while(move |at| *at <= until)
    };
    if is_calm {
        let after = every(World::sale_ends(), TimeDelta::hours(2), World::ends());
        every(World::begins(), STEP, World::sale_ends()).chain(after).collect()
    } else {
        let from = World::begins() + TimeDelta::hours(15);
        every(from, TimeDelta::minutes(15), World::begins() + TimeDelta::hours(22)).collect()
    }
}

/// A day under some faults, and what is to hold of it.
async fn day(seed: u64, faults: &[Fault]) {
    let world = World::new(seed, Plan::new());
    let serving = world.serve().await.unwrap();
    let mut watched = Watched::start(&world, &serving);
    let mut ever_short = BTreeSet::new();
    let mut is_faulty = false;
    let mut calm_rounds = 0;
    let moments = moments(faults.is_empty());
    for now in moments.iter().copied() {
        world.advance_to(now);
        let in_the_day = now - World::begins();
        let is_time = !faults.is_empty() && in_the_day >= FAULTS.0 && in_the_day < FAULTS.1;
        if is_time != is_faulty {
            for (source, fault) in
                Source::ALL.iter().flat_map(|source| faults.iter().map(move |fault| (*source, *fault)))
            {
                if is_time { world.switch_on(source, fault) } else { world.switch_off(source, fault) }
            }
            is_faulty = is_time;
            calm_rounds = 0;
        }
        watched = tokio::task::spawn_blocking(move || {
            watched.round(now);
            watched
        })
        .await
        .unwrap();
        let truth = world.truth();
        ever_short.extend(short(&truth));
        calm_rounds += 1;
        // Where nothing is wrong, and what was is some rounds past, what is named is exactly what is short.
        if !is_faulty && calm_rounds > 6 && in_the_day.num_minutes() % 60 == 0 {
            let ledger = Ledger::open(&watched.home.path().join("everyline.db")).await.unwrap();
            let findings = ledger.findings(&shop(), true, now).await.unwrap();
            let named: BTreeSet<String> = named(&findings).into_keys().collect();
            assert_eq!(named, short(&truth), "{faults:?} at {now}\n{}", watched.log());
            ledger.close().await;
        }
    }
    let now = *moments.last().unwrap();
    let ledger = Ledger::open(&watched.home.path().join("everyline.db")).await.unwrap();
    let truth = world.truth();
    assert_same(faults, &ledger, &truth, &watched.log()).await;
    let findings = ledger.findings(&shop(), false, now).await.unwrap();
    let named = named(&findings);
    assert!(truth.part_sent.len() > 5, "{}", truth.part_sent.len());
    for order in &truth.part_sent {
        let first_seen = named.get(order.order_id.as_str());
        let first_seen = first_seen.unwrap_or_else(|| panic!("{} is not named", order.order_id));
        if let Some(cut_off) = order.first_cut_off {
            assert!(*first_seen < cut_off, "{} was named at {first_seen}, after {cut_off}", order.order_id);
        }
    }
    let invented: Vec<&String> = named.keys().filter(|order| !ever_short.contains(*order)).collect();
    assert!(invented.is_empty(), "{faults:?}: {invented:?} were never short\n{}", watched.log());
    let stands: Vec<&KeptFinding> = findings
        .iter()
        .filter(|finding| finding.settled_at.is_none() && finding.check.starts_with("source-"))
        .collect();
    assert!(stands.is_empty(), "{faults:?}: {stands:#?}");
    ledger.close().await;
    let (home, said) = watched.end();
    assert!(said.contains("found"), "{said}");
    assert_private(&world, home.path(), &said);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_program_that_is_killed_again_and_again_loses_nothing_and_doubles_nothing() {
    let world = World::new(1, Plan::new());
    let serving = world.serve().await.unwrap();
    let mut watched = Watched::start(&world, &serving);
    let mut random = fastrand::Rng::with_seed(5);
    let moments = moments(false);
    for now in moments.iter().copied() {
        world.advance_to(now);
        watched.begin(now);
        // Somewhere within the round, which takes some tens of milliseconds; sometimes behind it.
        tokio::time::sleep(Duration::from_millis(random.u64(0..80))).await;
        let home = watched.kill();
        watched = Watched::start_in(home, &world);
    }
    // The first round ends what was interrupted, as of when that began; the next one reads what has changed since.
    let now = *moments.last().unwrap() + TimeDelta::minutes(2);
    watched = tokio::task::spawn_blocking(move || {
        watched.round(now - TimeDelta::minutes(2));
        watched.round(now);
        watched
    })
    .await
    .unwrap();
    let ledger = Ledger::open(&watched.home.path().join("everyline.db")).await.unwrap();
    let truth = world.truth();
    assert_same(&[], &ledger, &truth, &watched.log()).await;
    let mut appeared = BTreeMap::new();
    for entry in ledger.timeline(&shop(), "order", &[]).await.unwrap() {
        if entry.field == "row" {
            *appeared.entry(entry.ids).or_insert(0) += 1;
        }
    }
    assert_eq!(appeared.len(), truth.book.orders.len());
    assert!(appeared.values().all(|times| *times == 1), "{appeared:?}");
    let named: BTreeSet<String> =
        named(&ledger.findings(&shop(), true, now).await.unwrap()).into_keys().collect();
    assert_eq!(named, short(&truth));
    ledger.close().await;
    let (home, said) = watched.end();
    assert_private(&world, home.path(), &said);
}

/// A test for each.
macro_rules! days {
    ($($name:ident: $faults:expr;)+) => {
        $(
            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() {
                day(1, &$faults).await;
            }
        )+
    };
}

days! {
    a_day_without_faults: [];
    connections_that_break: [Fault::Dropped];
    answers_that_come_late: [Fault::Delayed(Duration::from_millis(20))];
    pages_that_come_once_more_in_place_of_others: [Fault::PageRepeated];
    records_in_another_order: [Fault::Reordered];
    pages_that_shift_while_they_are_read: [Fault::Shifting];
    too_many_requests_for_so_many_seconds: [Fault::TooManyRequests(RetryAfter::Seconds(30))];
    too_many_requests_until_a_date: [Fault::TooManyRequests(RetryAfter::Date(600))];
    no_service_for_a_while: [Fault::Unavailable];
    errors_of_the_server: [Fault::Broken];
    answers_that_are_cut: [Fault::Cut];
    fields_of_another_type: [Fault::WrongType];
    pages_for_people: [Fault::Html];
    counts_that_are_too_high: [Fault::LyingCount(5)];
    counts_that_are_too_low: [Fault::LyingCount(-5)];
    clocks_that_are_ahead: [Fault::SkewedClock(TimeDelta::minutes(20))];
    clocks_that_are_behind: [Fault::SkewedClock(TimeDelta::minutes(-20))];
    pages_that_lead_back_to_themselves: [Fault::CursorRepeats];
}
