//! One row of a table as both readers hand it on: a cell per known column, whatever the form of the file.
//!
//! Must not know: what a cell means. Start reading at [`Row`]; `cells` reads values out of it.

use std::borrow::Cow;

use crate::bad_row::Fault;
use crate::tables::{Column, Table};

/// What stands in a cell.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Cell<'a> {
    /// Nothing: not known.
    Empty,
    /// This text, to the byte; never empty.
    Text(Cow<'a, str>),
    /// Something that is no text of a cell.
    Unreadable(Unreadable),
}

/// Why a cell cannot be read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Unreadable {
    /// Bytes that are no UTF-8.
    NotUtf8,
    /// A JSON string whose escapes mean no text.
    NoText,
    /// A JSON object or list, where one value is expected.
    Nested,
    /// The row is broken, and this cell stands at the break or behind it, or is given twice.
    Lost,
}

impl<'a> Cell<'a> {
    /// An empty text is an empty cell.
    pub(crate) fn text(text: impl Into<Cow<'a, str>>) -> Self {
        let text = text.into();
        if text.is_empty() { Self::Empty } else { Self::Text(text) }
    }
}

impl Unreadable {
    pub(crate) fn fault(self, column: &str) -> Fault {
        match self {
            Self::NotUtf8 => Fault::of(
                column,
                "its bytes are not UTF-8",
                "text in UTF-8",
                "Export or save the table again as UTF-8.",
            ),
            Self::NoText => Fault::of(
                column,
                "its escapes do not stand for any text",
                "a JSON string",
                "Correct the \\u escapes of the string.",
            ),
            Self::Nested => Fault::of(
                column,
                "an object or a list stands there",
                "one value: a string, a number, true, false or null",
                "Give one value, or leave it out if it is not known.",
            ),
            Self::Lost => Fault::of(column, "it cannot be told apart", "one value", "Mend the row."),
        }
    }
}

/// One row.
#[derive(Debug)]
pub(crate) struct Row<'a> {
    /// Whose row it is.
    pub(crate) table: Table,
    /// The physical line on which it begins, or on which the quote that breaks it opens.
    pub(crate) line: u64,
    /// The cells, by position in [`Table::columns`].
    pub(crate) cells: Vec<Cell<'a>>,
    /// The cells of options in columns of their own, by option name, whether empty or not.
    pub(crate) options: Vec<(&'a str, Cell<'a>)>,
    /// Why the row cannot be read as a whole. What `cells` holds is then as much as could be told.
    pub(crate) broken: Option<Fault>,
    /// Of a row with too many or too few cells: its cells counted from its end, where `cells` counts from its
    /// beginning. A cell before the mistake is right in the one, a cell behind it in the other.
    pub(crate) from_end: Option<Vec<Cell<'a>>>,
    /// Whether something of the row, which may name an order, is not in `cells`.
    pub(crate) more_unread: bool,
}

impl<'a> Row<'a> {
    /// A row with nothing in it yet.
    pub(crate) fn new(table: Table, line: u64) -> Self {
        Self {
            table,
            line,
            cells: vec![Cell::Empty; table.columns().len()],
            options: Vec::new(),
            broken: None,
            from_end: None,
            more_unread: false,
        }
    }

    /// What stands in a column; a column that the table does not have is empty.
    pub(crate) fn cell(&self, column: Column) -> &Cell<'a> {
        cell_of(self.table, &self.cells, column)
    }

    /// Whether no known column says anything.
    pub(crate) fn is_empty(&self) -> bool {
        self.cells.iter().chain(self.options.iter().map(|(_, cell)| cell)).all(|cell| *cell == Cell::Empty)
    }
}

/// What stands in a column of a table, given the cells by position.
pub(crate) fn cell_of<'c, 'a>(table: Table, cells: &'c [Cell<'a>], column: Column) -> &'c Cell<'a> {
    debug_assert!(table.position(column).is_some(), "{table:?} has no column {column:?}");
    table.position(column).and_then(|position| cells.get(position)).unwrap_or(&Cell::Empty)
}
