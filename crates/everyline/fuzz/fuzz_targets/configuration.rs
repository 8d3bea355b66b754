//! The configuration from any text: an error that says what to do, or settings by which a book can be judged.
//!
//! Must not know the keys.

#![no_main]

use std::sync::LazyLock;

use chrono::{DateTime, TimeDelta, Utc};
use everyline::configuration::Settings;
use forecast::cut_offs;
use libfuzzer_sys::fuzz_target;
use links::Vocabulary;
use matcher::{Facts, account, reconcile};
use model::reading::Readings;

fuzz_target!(|input: &[u8]| {
    let Ok(text) = std::str::from_utf8(input) else { return };
    let settings = match Settings::parse(text, "everyline.toml") {
        Ok(settings) => settings,
        Err(trouble) => {
            let shown = trouble.to_string();
            assert!(shown.contains("everyline.toml") && shown.contains("\nhelp:  "), "{shown}");
            return;
        }
    };
    let again = Settings::parse(text, "everyline.toml").expect("it was read before");
    assert_eq!(format!("{settings:?}"), format!("{again:?}"));
    judge(&settings);
});

/// Every grace and every cut-off is used, also one that reaches beyond the calendar.
fn judge(settings: &Settings) {
    let (shop, readings) = &*SHOP;
    let mut book = shop.clone();
    let supplier = settings.suppliers.iter().next();
    for submission in book.submissions.iter_mut().flatten() {
        submission.supplier = supplier.unwrap_or(&submission.supplier).clone();
    }
    for line in book.submission_lines.iter_mut().flatten() {
        line.supplier = supplier.unwrap_or(&line.supplier).clone();
    }
    let submissions = book.submissions.as_deref().unwrap_or_default();
    let cut_offs = cut_offs(submissions, &settings.cut_offs);
    for (submission, cut_off) in submissions.iter().zip(&cut_offs) {
        assert!(cut_off.is_none_or(|cut_off| cut_off >= submission.received_at.begins()));
    }
    let facts = Facts::of_tables(readings, &cut_offs);
    let outcome = reconcile(&book, facts, &settings.rules, as_of());
    let account = account(&book, facts, &settings.rules, as_of());
    assert!(outcome.totals.units_demanded > 0);
    drop(account);
    assert_eq!(digest::jsonl(&outcome.findings, settings.zone).count(), outcome.findings.len());
}

fn as_of() -> DateTime<Utc> {
    DateTime::<Utc>::UNIX_EPOCH + TimeDelta::seconds(1_795_608_000)
}

/// A few orders, and what is read of them.
static SHOP: LazyLock<(model::Book, Readings)> = LazyLock::new(|| {
    let book = simshop::random_book(1, 6).book;
    let readings = links::read_book(&book, &Vocabulary::built_in());
    (book, readings)
});
