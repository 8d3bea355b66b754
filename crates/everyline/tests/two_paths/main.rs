//! The straight path against the plain one, which is its judge: the same answer to the byte, on thousands of random
//! books and on books that were spoilt, as CSV and as JSON Lines, in any order of their rows.
//!
//! The tiny books are those of the matcher's oracle, in which next to nothing is as it should be; those of the invented
//! shop are mostly in order, so that the straight path has something to count. Start reading at [`compare`].

#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a test")]

#[path = "../../../matcher/tests/oracle/books.rs"]
#[expect(dead_code, reason = "shared with the matcher's tests, which use all of it")]
mod books;
mod oracle;
mod spoil;

use std::cell::Cell;
use std::fmt::Debug;
use std::fs;
use std::path::Path;

use books::Taste;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use everyline::audit::{Question, audit, straight};
use everyline::configuration::Settings;
use forecast::CutOff;
use model::Book;
use oracle::case::{Case, as_of};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};
use spoil::{Forms, spoil};

/// So many that a debug run of this file stays under half a minute.
const TINY_BOOKS: u32 = 800;
const SPOILT_BOOKS: u32 = 800;
const SHOP_BOOKS: u32 = 60;

const EVERYTHING: Taste = Taste { merged: 3, lines: 3, suppliers: 2, variants: 3, everything: true };
const ORDINARY: Taste = Taste { merged: 1, lines: 2, suppliers: 1, variants: 2, everything: false };

/// What both paths say of a folder, and whether the straight one has an answer of its own.
fn answers(
    folder: &Path,
    settings: &Settings,
    as_of: DateTime<Utc>,
    skip_bad_rows: bool,
) -> (String, String, bool) {
    let question =
        |plain| Question { folder, sources: &[], settings, as_of, skip_bad_rows, plain, quiet: true };
    let said = |plain| match audit(&question(plain)) {
        Ok(outcome) => {
            let lines: Vec<String> = digest::jsonl(&outcome.findings, settings.zone).collect();
            format!("{outcome:#?}\n{}", lines.join("\n"))
        }
        Err(trouble) => trouble.to_string(),
    };
    let is_own = matches!(straight::audit(&question(false)), Ok(Some(_)));
    (said(true), said(false), is_own)
}

/// Tries random values, the same in every run, and panics with the smallest one that fails.
fn check<T: Debug>(books: u32, strategy: impl Strategy<Value = T>, holds: impl Fn(&T) -> Result<(), String>) {
    let config =
        Config { cases: books, max_shrink_iters: 2_000, failure_persistence: None, ..Config::default() };
    let random = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    let mut runner = TestRunner::new_with_rng(config, random);
    let smallest = std::cell::RefCell::new(String::new());
    let outcome = runner.run(&strategy, |value| {
        holds(&value).map_err(|why| {
            smallest.replace(format!("{value:#?}\n{why}"));
            TestCaseError::fail("differs")
        })
    });
    assert!(outcome.is_ok(), "{}", smallest.into_inner());
}

/// Writes a book in one of its forms, lets both paths answer, and says where they differ.
fn compare(
    book: &Book,
    forms: &Forms,
    settings: &Settings,
    as_of: DateTime<Utc>,
    counted: &Cell<u32>,
) -> Result<(), String> {
    let folder = tempfile::tempdir().unwrap();
    simshop::write_csv(book, folder.path()).unwrap();
    spoil(folder.path(), forms);
    for skip_bad_rows in [false, true] {
        let (plain, straight, is_own) = answers(folder.path(), settings, as_of, skip_bad_rows);
        counted.set(counted.get() + u32::from(is_own));
        if plain != straight {
            let differs = plain.lines().zip(straight.lines()).find(|(plain, straight)| plain != straight);
            return Err(format!(
                "{differs:#?}\n{}\nplain:\n{plain}\nstraight:\n{straight}",
                shown(folder.path())
            ));
        }
    }
    Ok(())
}

fn shown(folder: &Path) -> String {
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let texts = files.iter().map(|path| {
        let text = String::from_utf8_lossy(&fs::read(path).unwrap()).into_owned();
        format!("{}:\n{text}", path.file_name().unwrap().to_string_lossy())
    });
    texts.collect()
}

fn settings_of(case: &Case) -> Settings {
    let cut_off = CutOff::AfterReceipt(chrono::TimeDelta::hours(2));
    Settings {
        zone: Tz::UTC,
        rules: case.rules.clone(),
        cut_offs: [("alder".into(), cut_off)].into(),
        suppliers: ["alder".into(), "nobody".into()].into(),
        ..Settings::default()
    }
}

#[test]
fn tiny_books_in_which_anything_happens_get_the_same_answer() {
    let counted = Cell::new(0);
    for taste in [EVERYTHING, ORDINARY] {
        check(TINY_BOOKS, (books::cases(taste), Forms::clean()), |(case, forms)| {
            compare(&case.book, forms, &settings_of(case), as_of(), &counted)
        });
    }
    assert!(counted.get() > 2 * TINY_BOOKS, "the straight path had an answer in {} cases", counted.get());
}

#[test]
fn spoilt_books_get_the_same_answer_and_the_same_errors() {
    let counted = Cell::new(0);
    check(SPOILT_BOOKS, (books::cases(ORDINARY), Forms::spoilt()), |(case, forms)| {
        compare(&case.book, forms, &settings_of(case), as_of(), &counted)
    });
    assert!(counted.get() > SPOILT_BOOKS / 4, "the straight path had an answer in {} cases", counted.get());
}

#[test]
fn books_of_a_shop_in_which_most_is_in_order_get_the_same_answer() {
    let counted = Cell::new(0);
    check(SHOP_BOOKS, (any::<u64>(), Forms::any()), |(seed, forms)| {
        let shop = simshop::random_book(*seed, 150);
        let settings = Settings::parse(&shop.configuration, "shop").unwrap();
        compare(&shop.book, forms, &settings, shop.as_of, &counted)
    });
    assert!(counted.get() > SHOP_BOOKS, "the straight path had an answer in {} cases", counted.get());
    let shop = simshop::sale_day();
    let settings = Settings::parse(&shop.configuration, "shop").unwrap();
    check(20, Forms::clean(), |forms| compare(&shop.book, forms, &settings, shop.as_of, &counted));
}

/// The submission that is received after the moment of the audit is none of the rows that are looked at again.
#[test]
fn a_parcel_of_two_submissions_is_wrong_by_both_paths() {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [
        (
            "orders.csv",
            "order_id,placed_at,status\n1,2026-11-24T09:00:00Z,open\n2,2026-11-25T13:00:00Z,open\n",
        ),
        ("order_lines.csv", "order_id,line_id,sku,quantity\n1,1,a,1\n2,1,a,1\n"),
        ("variants.csv", "supplier,variant_id,sku\nalder,v,a\n"),
        (
            "submissions.csv",
            "supplier,submission_id,order_ref,status,received_at\nalder,A,1,making,2026-11-24T10:00:00Z\n\
             alder,B,2,making,2026-11-25T14:00:00Z\n",
        ),
        (
            "submission_lines.csv",
            "supplier,submission_id,line_id,variant_id,quantity\nalder,A,1,v,1\nalder,B,1,v,1\n",
        ),
        (
            "parcels.csv",
            "supplier,parcel_id,submission_id,dispatched_at\nalder,P,A,2026-11-26T10:00:00Z\n\
             alder,P,B,2026-11-26T10:00:00Z\n",
        ),
    ] {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let as_of: DateTime<Utc> = "2026-11-25T12:00:00Z".parse().unwrap();
    let settings = Settings::parse("", "none").unwrap();
    for skip_bad_rows in [false, true] {
        let (plain, straight, _) = answers(folder.path(), &settings, as_of, skip_bad_rows);
        assert_eq!(plain, straight);
    }
    assert!(answers(folder.path(), &settings, as_of, false).1.contains("parcels.csv, line 2"));
}
