//! Both paths of an audit, from the same folder, with and without leaving out rows that cannot be read: the same
//! answer, or the same words on why there is none; and the same answer when the rows stand in another order.
//!
//! Must not know how a folder is read or judged. An input is a [`Given`].

#![no_main]

use std::borrow::Cow;
use std::fmt::Debug;

use digest::View;
use everyline::audit::{Question, audit};
use everyline_fuzz::{Given, Scratch, mutate};
use intake::{ReadSettings, read_folder};
use libfuzzer_sys::{fuzz_mutator, fuzz_target};
use model::Outcome;

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    mutate(data, size, max_size, seed)
});

fuzz_target!(|input: &[u8]| {
    let given = Given::of(input);
    let files: Files<'_> =
        given.files.iter().map(|(name, content)| (name.as_str(), (*content).into())).collect();
    let strict = both_paths(&given, &files, false);
    let lenient = both_paths(&given, &files, true);
    if strict.is_ok() {
        same("a folder without bad rows, and the same with bad rows left out", &strict, &lenient);
        turn(&given, &files, &strict);
    } else if let Some(mended) = mended(&given, files) {
        // Most changes make bad rows, and behind one of them nothing is tried.
        let strict = both_paths(&given, &mended, false);
        assert!(strict.is_ok(), "{strict:?}");
        turn(&given, &mended, &strict);
    }
});

/// Names and contents.
type Files<'a> = Vec<(&'a str, Cow<'a, [u8]>)>;

/// An answer, or why there is none.
type Answer = Result<Outcome, String>;

/// What both paths answer, which has to be the same.
fn both_paths(given: &Given<'_>, files: &Files<'_>, skip_bad_rows: bool) -> Answer {
    let folder = scratch(files);
    let ask = |plain| {
        let Given { settings, as_of, .. } = *given;
        audit(&Question {
            folder: folder.path(),
            sources: &[],
            settings,
            as_of,
            skip_bad_rows,
            plain,
            quiet: true,
        })
        .map_err(|trouble| trouble.to_string())
    };
    let (plain, straight) = (ask(true), ask(false));
    drop(folder);
    same(if skip_bad_rows { "both paths, bad rows left out," } else { "both paths" }, &plain, &straight);
    if let Ok(outcome) = &plain {
        write(outcome, given);
    }
    plain
}

fn scratch(files: &Files<'_>) -> Scratch {
    Scratch::of(files.iter().map(|(name, content)| (name, content)))
}

/// How often bad rows are left out before a folder is given up.
const ROUNDS: usize = 8;

/// The folder without the lines of its bad rows; those that belong to them are bad rows then, and so on. None where it
/// cannot be mended so.
fn mended<'a>(given: &Given<'_>, mut files: Files<'a>) -> Option<Files<'a>> {
    let settings = ReadSettings { zone: given.settings.zone, rules: &given.settings.rules };
    for _ in 0..ROUNDS {
        let folder = scratch(&files);
        let read = read_folder(folder.path(), &settings, &mut |_| ());
        drop(folder);
        let read = read.ok()?;
        if read.bad_row_count == 0 {
            return Some(files);
        }
        for (name, content) in &mut files {
            let bad: Vec<u64> =
                read.bad_rows.iter().filter(|row| row.file == *name).map(|row| row.line).collect();
            if !bad.is_empty() {
                let lines = content.split_inclusive(|byte| *byte == b'\n').zip(1_u64..);
                let left: Vec<&[u8]> =
                    lines.filter(|(_, number)| !bad.contains(number)).map(|(line, _)| line).collect();
                *content = left.concat().into();
            }
        }
    }
    None
}

/// Asks again with the rows of each table the other way round, where no row spans lines or may do so.
fn turn(given: &Given<'_>, files: &Files<'_>, answer: &Answer) {
    let mut turned = Vec::new();
    for (name, content) in files {
        let mut lines: Vec<&[u8]> = content.split(|byte| *byte == b'\n').collect();
        let is_csv = name.ends_with(".csv");
        let is_whole = |line: &&[u8]| {
            let quotes = memchr::memchr_iter(b'"', line).count();
            !is_csv || quotes.is_multiple_of(2) && !line.ends_with(b"\r")
        };
        if !lines.iter().all(is_whole) || content.starts_with("\u{feff}".as_bytes()) {
            return;
        }
        let header = lines.iter().position(|line| is_csv && !line.is_empty()).map_or(0, |at| at + 1);
        lines[header..].reverse();
        turned.push((*name, lines.join(&b'\n').into()));
    }
    same("the rows, and the same the other way round,", answer, &both_paths(given, &turned, false));
}

/// Writes an answer in every form; none may fail.
fn write(outcome: &Outcome, given: &Given<'_>) {
    let zone = given.settings.zone;
    let page = digest::table(outcome, &View { zone, ..View::default() });
    assert!(page.ends_with('\n'));
    let lines = digest::jsonl(&outcome.findings, zone).count();
    assert_eq!(lines, outcome.findings.len());
    assert!(!digest::json(outcome, zone).is_empty() && !digest::csv(outcome, zone).is_empty());
}

/// The name of the folder is in what is said of it.
fn shown<T: Debug>(what: &T) -> String {
    let text = format!("{what:#?}");
    let Some((front, behind)) = text.split_once("the tables in ") else { return text };
    match behind.split_once(" were not") {
        Some((_, behind)) => format!("{front}the tables were not{behind}"),
        None => text,
    }
}

fn same(what: &str, one: &Answer, other: &Answer) {
    let (one, other) = (shown(one), shown(other));
    if one == other {
        return;
    }
    let differ = one.lines().zip(other.lines()).position(|(one, other)| one != other);
    let from = differ.unwrap_or_else(|| one.lines().count().min(other.lines().count()));
    let near = |text: &str| text.lines().skip(from.saturating_sub(8)).take(24).collect::<Vec<_>>().join("\n");
    panic!("{what} differ:\n{}\nand\n{}", near(&one), near(&other));
}
