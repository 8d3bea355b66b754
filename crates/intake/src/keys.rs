//! One row per key: identical rows count once, a later row replaces an earlier one, the others contradict.
//!
//! Must not know: files, or what a table is for. The answer does not depend on the order of the rows.
//! Source: README.md, 'The tables'.

use std::fmt::Write as _;

use model::When;

use crate::bad_row::Fault;
use crate::build::TableRow;

/// How many line numbers a contradiction names; the rows of one key can be many.
const SHOWN_LINES: usize = 5;

/// A row and the line on which it stands.
#[derive(Clone, Debug)]
pub(crate) struct Placed<T> {
    pub(crate) line: u64,
    pub(crate) row: T,
}

/// What became of the rows of a table.
pub(crate) struct Settled<T> {
    /// One row per key, sorted by it.
    pub(crate) standing: Vec<Placed<T>>,
    /// The lines of the rows that gave way to a later one.
    pub(crate) superseded: Vec<u64>,
    /// Rows that contradict another one of the same key.
    pub(crate) contradicting: Vec<(Placed<T>, Fault)>,
}

/// Leaves one row per key. `places` is what the numbers of the rows are: lines, or records.
pub(crate) fn settle<T: TableRow>(mut rows: Vec<Placed<T>>, places: &str) -> Settled<T> {
    rows.sort_by(|a, b| a.row.key().cmp(&b.row.key()).then(a.line.cmp(&b.line)));
    let mut settled = Settled {
        standing: Vec::with_capacity(rows.len()),
        superseded: Vec::new(),
        contradicting: Vec::new(),
    };
    let mut rows = rows.into_iter().peekable();
    while let Some(first) = rows.next() {
        let Some(second) = rows.next_if(|next| next.row.key() == first.row.key()) else {
            settled.standing.push(first);
            continue;
        };
        let mut same_key = vec![first, second];
        while let Some(next) = rows.next_if(|next| next.row.key() == same_key[0].row.key()) {
            same_key.push(next);
        }
        settled.settle_key(same_key, places);
    }
    settled
}

impl<T: TableRow> Settled<T> {
    /// Decides between the rows of one key, which come by line.
    fn settle_key(&mut self, mut rows: Vec<Placed<T>>, places: &str) {
        let mut superseded = Vec::new();
        let changed_at = |placed: &Placed<T>| placed.row.updated_at().map(When::begins);
        // Only where every row says when it last changed can one be told to be the latest.
        if let Some(changes) = rows.iter().map(changed_at).collect::<Option<Vec<_>>>() {
            let latest = changes.into_iter().max();
            let latest_rows = rows.iter().filter(|placed| changed_at(placed) == latest);
            if all_the_same(latest_rows) {
                superseded.extend(
                    rows.extract_if(.., |placed| changed_at(placed) != latest).map(|placed| placed.line),
                );
            }
        }
        if !all_the_same(rows.iter()) {
            let fault = contradiction(&rows, places);
            self.contradicting.extend(rows.into_iter().map(|placed| (placed, fault.clone())));
            return;
        }
        self.superseded.append(&mut superseded);
        // What is the same may be spelled differently; which spelling stands must not hang on the order of rows.
        let line = rows.iter().map(|placed| placed.line).min();
        let first_spelling = rows.into_iter().min_by_key(|placed| format!("{:?}", placed.row));
        self.standing
            .extend(first_spelling.map(|placed| Placed { line: line.unwrap_or(placed.line), ..placed }));
    }
}

fn all_the_same<'a, T: TableRow + 'a>(mut rows: impl Iterator<Item = &'a Placed<T>>) -> bool {
    let first = rows.next();
    rows.all(|placed| first.is_some_and(|first| first.row == placed.row))
}

fn contradiction<T: TableRow>(rows: &[Placed<T>], places: &str) -> Fault {
    let mut lines = String::new();
    for (index, placed) in rows.iter().take(SHOWN_LINES).enumerate() {
        let before = match index {
            0 => "",
            _ if index + 1 == rows.len() => " and ",
            _ => ", ",
        };
        let _ = write!(lines, "{before}{}", placed.line);
    }
    if rows.len() > SHOWN_LINES {
        let _ = write!(lines, " and {} more", rows.len() - SHOWN_LINES);
    }
    let key = rows.first().map(|placed| placed.row.key_text()).unwrap_or_default();
    let expected = if T::TABLE.has_updated_at() {
        "one row, or an updated_at in each of them, of which one is the latest"
    } else {
        "one row"
    };
    Fault::of_row(
        format!("{places} {lines} say different things of {key}"),
        expected,
        "Remove those that are wrong or out of date.",
    )
}
