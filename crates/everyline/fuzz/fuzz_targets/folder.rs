//! Both paths of an audit, from the same folder, with and without leaving out rows that cannot be read: the same
//! answer, or the same words on why there is none; and the same answer when the rows stand in another order.
//!
//! Must not know how a folder is read or judged. An input is a [`Given`].

#![no_main]

use std::fmt::Debug;

use digest::View;
use everyline::audit::{Question, audit};
use everyline_fuzz::{Given, Scratch, mutate};
use libfuzzer_sys::{fuzz_mutator, fuzz_target};
use model::Outcome;

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| { mutate(data, size, max_size, seed) });

fuzz_target!(|input: &[u8]| {
    let given = Given::of(input);
    let folder = Scratch::of(given.files.iter().map(|(name, content)| (name, *content)));
    let ask = |folder: &Scratch, skip_bad_rows, plain| {
        let settings = given.settings;
        audit(&Question { folder: folder.path(), settings, as_of: given.as_of, skip_bad_rows, plain, quiet: true })
            .map_err(|trouble| trouble.to_string())
    };
    let strict = ask(&folder, false, true);
    let straight = ask(&folder, false, false);
    let lenient = ask(&folder, true, true);
    let straight_lenient = ask(&folder, true, false);
    let turned = strict.as_ref().ok().and_then(|_| turned(&given)).map(|folder| ask(&folder, false, false));
    drop(folder);

    same("the plain path and the straight one", &strict, &straight);
    same("the two paths, bad rows left out", &lenient, &straight_lenient);
    if let Ok(outcome) = &strict {
        same("a folder without bad rows, and the same with bad rows left out", &strict, &lenient);
        if let Some(turned) = &turned {
            same("the rows, and the same the other way round", &strict, turned);
        }
        write(outcome, &given);
    }
    if let Ok(outcome) = &lenient {
        write(outcome, &given);
    }
});

/// The same folder with the rows of each table the other way round; none where a row spans lines or may do so.
fn turned(given: &Given<'_>) -> Option<Scratch> {
    let mut files = Vec::new();
    for (name, content) in &given.files {
        let mut lines: Vec<&[u8]> = content.split(|byte| *byte == b'\n').collect();
        let is_csv = name.ends_with(".csv");
        let is_whole = |line: &&[u8]| {
            let quotes = memchr::memchr_iter(b'"', line).count();
            !is_csv || quotes % 2 == 0 && !line.ends_with(b"\r")
        };
        if !lines.iter().all(is_whole) || content.starts_with("\u{feff}".as_bytes()) {
            return None;
        }
        let header = lines.iter().position(|line| is_csv && !line.is_empty()).map_or(0, |at| at + 1);
        lines[header..].reverse();
        files.push((name.as_str(), lines.join(&b'\n')));
    }
    Some(Scratch::of(files))
}

/// Writes an answer in every form; none may fail.
fn write(outcome: &Outcome, given: &Given<'_>) {
    let zone = given.settings.zone;
    let view = View { zone, ..View::default() };
    let page = digest::table(outcome, &view);
    assert!(page.ends_with('\n'));
    let lines = digest::jsonl(outcome, zone).count();
    assert_eq!(lines, outcome.findings.len());
    assert!(!digest::json(outcome, zone).is_empty() && !digest::csv(outcome, zone).is_empty());
}

fn same<T: Debug + PartialEq>(what: &str, one: &T, other: &T) {
    let (shown, other_shown) = (format!("{one:#?}"), format!("{other:#?}"));
    if one == other && shown == other_shown {
        return;
    }
    let differ = shown.lines().zip(other_shown.lines()).position(|(one, other)| one != other);
    let from = differ.unwrap_or_else(|| shown.lines().count().min(other_shown.lines().count()));
    let near = |text: &str| text.lines().skip(from.saturating_sub(8)).take(24).collect::<Vec<_>>().join("\n");
    panic!("{what} differ:\n{}\nand\n{}", near(&shown), near(&other_shown));
}
