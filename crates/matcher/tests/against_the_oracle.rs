//! The crate's answer against a second reading of the rules, on thousands of tiny random books, and on one large
//! order.
//!
//! A failure prints the smallest book found, in a notation that can be pasted into a test, and both answers.
//! Every book is also checked to account for each unit demanded and each unit sent, and to give no finding's
//! identity twice.

#[path = "oracle/books.rs"]
mod books;
#[path = "oracle/large.rs"]
mod large;
mod oracle;

use books::Taste;
use oracle::case::Case;
use oracle::{compared, notation};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};

/// So many that a debug run of this file stays under a minute.
const BOOKS: u32 = 12_000;
const MERGED_BOOKS: u32 = 16_000;
const SHUFFLED_BOOKS: u32 = 3_000;

const EVERYTHING: Taste = Taste { merged: 3, lines: 3, suppliers: 2, variants: 3, everything: true };
/// Most references list several orders, and one supplier's two variants are all that there is.
const MERGED: Taste = Taste { merged: 8, lines: 3, suppliers: 1, variants: 2, everything: false };

/// Tries `books` books, the same in every run, and panics with the smallest one that fails.
fn check<T: std::fmt::Debug>(
    books: u32,
    strategy: impl Strategy<Value = T>,
    holds: impl Fn(T) -> Result<(), String>,
) {
    let config =
        Config { cases: books, max_shrink_iters: 20_000, failure_persistence: None, ..Config::default() };
    let random = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    let mut runner = TestRunner::new_with_rng(config, random);
    let smallest = std::cell::RefCell::new(String::new());
    let outcome = runner.run(&strategy, |value| {
        holds(value).map_err(|why| {
            smallest.replace(why);
            TestCaseError::fail("differs")
        })
    });
    assert!(outcome.is_ok(), "{}", smallest.into_inner());
}

#[test]
fn any_book_is_judged_as_the_oracle_judges_it() {
    check(BOOKS, books::cases(EVERYTHING), |case| compared::differences(&case));
}

#[test]
fn merged_submissions_are_matched_as_the_oracle_matches_them() {
    check(MERGED_BOOKS, books::cases(MERGED), |case| compared::differences(&case));
}

#[test]
fn the_order_of_rows_never_matters() {
    let shuffled = |(case, order): (Case, u64)| differences_when_shuffled(&case, order);
    check(SHUFFLED_BOOKS, (books::cases(EVERYTHING), any::<u64>()), shuffled);
    check(SHUFFLED_BOOKS, (books::cases(MERGED), any::<u64>()), shuffled);
}

fn differences_when_shuffled(case: &Case, order: u64) -> Result<(), String> {
    let shuffled = books::shuffled(case, order);
    let as_given = format!("{:#?}", compared::outcome(case));
    let other = format!("{:#?}", compared::outcome(&shuffled));
    let differs = as_given.lines().zip(other.lines()).find(|(one, two)| one != two);
    match differs {
        None if as_given == other => Ok(()),
        _ => Err(format!("{differs:?}\n{case}\nin another order:\n{shuffled}")),
    }
}

#[test]
fn a_large_order_is_tied_as_far_as_can_be_and_accounted_for_in_any_order_of_its_rows() {
    let case = large::order();
    let proof = large::proof(&case);
    assert!(proof.is_ok(), "{}", proof.unwrap_err());
    for order in 0..4 {
        let differences = differences_when_shuffled(&case, order);
        assert!(differences.is_ok(), "{}", differences.unwrap_err());
    }
}

#[test]
fn a_book_is_written_as_it_is_read() {
    check(500, books::cases(EVERYTHING), |case| {
        let written = case.to_string();
        let read = notation::case(&written);
        if format!("{read:?}") == format!("{case:?}") { Ok(()) } else { Err(format!("{read:#?}\n{written}")) }
    });
}
