//! What the program says of bad input, case by case, to the byte; and that its two paths say the same.
//!
//! The cases are data: each `.txt` file beside this one holds those of one kind, and `book.txt` the small book into
//! which every case puts its own files. A new case is one block:
//!
//! ```text
//! == An order without a status
//! -- orders.csv
//! …
//! 1004,2026-11-25,,,EUR
//! => 2
//! 1 of 20 rows cannot be read:
//! orders.csv, line 5, column status: nothing is given; expected …
//! => 3 with --skip-bad-rows
//! …
//! ```
//!
//! A line that begins with `==` names the case, with `--` says what is in the folder, with `=>` what came of it: the
//! code, and what standard error said, the folder written `DIR`. What every answer of its sort has (the lines
//! `error:` and `help:`, the rows told again where they are skipped) is checked and not repeated; `answer.rs` holds
//! it. Each audit runs by both paths; where it is refused, also with `--skip-bad-rows`, of which nothing is said where
//! that changes nothing. `content.rs` says how bytes are written that cannot be seen, `folder.rs` what can stand after
//! `--`. Where an answer is not the one in the file, the file is written anew, with the answers as they are, into the
//! target folder: to be compared, and taken over where the new answer is the better one.
//!
//! Start reading at [`case`]; `changed.rs` has the one kind that no data can say. On Linux alone: the cases hold what
//! the system says of a file that it does not give.

#![cfg(target_os = "linux")]
#![expect(clippy::unwrap_used, reason = "helpers of tests are tests too")]
#![expect(clippy::print_stderr, reason = "a case that this machine cannot run says so")]

mod answer;
mod case;
mod changed;
mod content;
mod folder;

use std::fs;
use std::path::Path;

use answer::Answer;
use case::{Case, Kind};

/// Runs the cases of one file.
fn check(name: &str, text: &str) {
    let book = Case::files_of(include_str!("book.txt"));
    let kind = Kind::read(text);
    let (mut anew, mut wrong) = (kind.head, Vec::new());
    for case in &kind.cases {
        let answer = case.answer(&book).unwrap_or_else(|reason| {
            eprintln!("not run: {} ({reason})", case.name);
            Answer { text: case.expected.clone(), differs: Vec::new() }
        });
        for differs in &answer.differs {
            wrong.push(format!("== {}\nthe two paths do not answer the same {differs}", case.name));
        }
        if answer.text != case.expected {
            wrong.push(format!("== {}\nexpected\n{}\nanswered\n{}", case.name, case.expected, answer.text));
        }
        anew.push('\n');
        anew.push_str(&case.written_with(&answer.text));
    }
    if wrong.is_empty() {
        return;
    }
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("bad_input");
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join(name), anew).unwrap();
    panic!(
        "{}\n{} answers of the {} cases of {name} are not right; all of them as they are now: {}",
        wrong.join("\n"),
        wrong.len(),
        kind.cases.len(),
        folder.join(name).display()
    );
}

macro_rules! kinds {
    ($($test:ident: $file:literal,)*) => {$(
        #[test]
        fn $test() {
            check($file, include_str!($file));
        }
    )*

    /// All files of cases.
    const KINDS: &[&str] = &[$(include_str!($file)),*];
    };
}

kinds! {
    arguments_that_cannot_be_meant: "arguments.txt",
    cells_of_the_wrong_kind: "cells.txt",
    encodings_and_line_ends: "encoding.txt",
    folders_and_files_that_cannot_be_read: "folder.txt",
    headers: "header.txt",
    json_lines: "json_lines.txt",
    long_cells_and_rows: "long.txt",
    many_rows_and_columns: "many.txt",
    quotes_and_commas: "quotes.txt",
    rows_that_belong_together: "together.txt",
    texts_that_could_do_harm: "texts.txt",
}

#[test]
fn there_are_many_cases_and_no_two_have_the_same_name() {
    let mut names: Vec<String> =
        KINDS.iter().flat_map(|text| Kind::read(text).cases).map(|case| case.name).collect();
    let count = names.len();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count);
    assert!(count > 100, "{count}");
}
