//! A row that cannot be read: where it is, what was found, what was expected, what to do next.

use std::fmt;

use crate::tables::Table;

/// How many bad rows are kept, first by table, then by line. Their number is always exact; an owner mends a cause,
/// not a thousand rows one by one, and a file that is wrong throughout must not fill the memory.
pub const KEPT_BAD_ROWS: usize = 1_000;

/// How much of a cell is shown, in characters.
const SHOWN_CHARACTERS: usize = 60;

/// A row that cannot be read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BadRow {
    /// The name of the file, without its folder.
    pub file: String,
    /// The physical line on which the row begins, or on which the quote that breaks it opens; from 1.
    pub line: u64,
    /// Whether `line` is the number of a record, of a document that has no lines of its own.
    pub by_record: bool,
    /// The column, where one is at fault.
    pub column: Option<String>,
    /// A clause: what stands there.
    pub found: String,
    /// A noun phrase: what should stand there.
    pub expected: String,
    /// A sentence: what to do next.
    pub hint: String,
}

impl BadRow {
    /// Where it stands: `order_lines.csv, line 17, column quantity`.
    pub fn place(&self) -> String {
        let place = if self.by_record { "record" } else { "line" };
        let column = self.column.as_ref().map(|column| format!(", column {column}")).unwrap_or_default();
        format!("{}, {place} {}{column}", self.file, self.line)
    }
}

/// `order_lines.csv, line 17, column quantity: "two" is not a whole number; expected … . Correct the cell.`
impl fmt::Display for BadRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; expected {}. {}", self.place(), self.found, self.expected, self.hint)
    }
}

/// What is wrong with a row, before it is known where it stands.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Fault {
    pub(crate) column: Option<String>,
    pub(crate) found: String,
    pub(crate) expected: String,
    pub(crate) hint: String,
}

impl Fault {
    /// A fault of one column.
    pub(crate) fn of(
        column: impl Into<String>,
        found: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self { column: Some(column.into()), ..Self::of_row(found, expected, hint) }
    }

    /// A fault of the row as a whole.
    pub(crate) fn of_row(
        found: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self { column: None, found: found.into(), expected: expected.into(), hint: hint.into() }
    }

    /// The fault, in its place.
    pub(crate) fn at(self, file: &str, line: u64) -> BadRow {
        let Self { column, found, expected, hint } = self;
        BadRow { file: file.to_owned(), line, by_record: false, column, found, expected, hint }
    }
}

/// A text in quotes, with what cannot be printed escaped, and cut where it is long.
pub(crate) fn shown(text: &str) -> String {
    match text.char_indices().nth(SHOWN_CHARACTERS) {
        Some((end, _)) => format!("{:?}…", &text[..end]),
        None => format!("{text:?}"),
    }
}

/// The first bad rows by table and line, and the number of all of them.
#[derive(Default)]
pub(crate) struct BadRows {
    kept: Vec<(Table, BadRow)>,
    count: u64,
}

impl BadRows {
    pub(crate) fn push(&mut self, table: Table, bad_row: BadRow) {
        self.count += 1;
        self.kept.push((table, bad_row));
        // Twice the limit, so that sorting is rare.
        if self.kept.len() >= 2 * KEPT_BAD_ROWS {
            self.cut();
        }
    }

    /// The rows kept, in order, and how many there were.
    pub(crate) fn finish(mut self) -> (Vec<BadRow>, u64) {
        self.cut();
        (self.kept.into_iter().map(|(_, bad_row)| bad_row).collect(), self.count)
    }

    fn cut(&mut self) {
        self.kept.sort_by_key(|(table, bad_row)| (*table, bad_row.line));
        self.kept.truncate(KEPT_BAD_ROWS);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_bad_rows_are_kept_and_all_are_counted() {
        let mut bad_rows = BadRows::default();
        for line in (1..=5_000).rev() {
            bad_rows.push(Table::Links, Fault::of_row("a", "b", "C.").at("links.csv", line));
        }
        bad_rows.push(Table::Orders, Fault::of_row("a", "b", "C.").at("orders.csv", 9_000));
        let (kept, count) = bad_rows.finish();
        assert_eq!((kept.len(), count), (KEPT_BAD_ROWS, 5_001));
        assert_eq!((kept[0].line, kept[1].line, kept[999].line), (9_000, 1, 999));
    }

    #[test]
    fn a_long_or_unprintable_cell_is_shown_cut_and_escaped() {
        assert_eq!(shown("a\u{0}\n"), r#""a\0\n""#);
        assert_eq!(shown(&"ä".repeat(61)), format!("\"{}\"…", "ä".repeat(60)));
    }
}
