//! JSON Lines: one object a line, to rows.
//!
//! Blank lines are passed over. Must not know: what a cell means. Start reading at [`read_rows`].

use std::io::{self, BufRead};

use serde_json::value::RawValue;

use crate::bad_row::{Fault, shown};
use crate::json::{self, NotAnObject, Pair, Scalar};
use crate::lines::{Found, Lines, MAX_ROW_BYTES};
use crate::row::{Cell, Row, Unreadable};
use crate::tables::{Column, Slot, Table, UnknownNames};

/// Reads a table and hands on each row. Returns the names that the table does not have.
pub(crate) fn read_rows<R: BufRead>(
    table: Table,
    mut lines: Lines<'_, '_, R>,
    on_row: &mut dyn FnMut(Row<'_>),
) -> io::Result<UnknownNames> {
    let mut unknown = UnknownNames::default();
    let mut line = Vec::new();
    loop {
        match lines.read(&mut line)? {
            Found::End => return Ok(unknown),
            Found::TooLong => {
                let mut row = lost_row(table, lines.number());
                row.broken = Some(Fault::of_row(
                    format!("the line is longer than {MAX_ROW_BYTES} bytes"),
                    "one object of an ordinary length",
                    "Write one object a line, and give each only what belongs to its row.",
                ));
                on_row(row);
            }
            Found::Line if line.iter().all(u8::is_ascii_whitespace) => {}
            Found::Line => {
                let text = String::from_utf8_lossy(&line);
                // A character that stands for bytes which are no UTF-8 marks the cell in which they are.
                let replaced = matches!(text, std::borrow::Cow::Owned(_));
                let mut pairs = Vec::new();
                let result = json::read_object(&text, &mut pairs);
                on_row(row_of(table, lines.number(), &pairs, result, replaced, &mut unknown));
            }
        }
    }
}

/// A row of which nothing could be read.
fn lost_row<'a>(table: Table, line: u64) -> Row<'a> {
    let mut row = Row::new(table, line);
    row.cells.fill(Cell::Unreadable(Unreadable::Lost));
    row
}

fn row_of<'a>(
    table: Table,
    line: u64,
    pairs: &'a [Pair<'a>],
    result: Result<(), NotAnObject>,
    replaced: bool,
    unknown: &mut UnknownNames,
) -> Row<'a> {
    // Behind the break of a broken object any name may have stood.
    let mut row = match result {
        Ok(()) | Err(NotAnObject::TextBehind) => Row::new(table, line),
        Err(_) => lost_row(table, line),
    };
    row.more_unread = result == Err(NotAnObject::TextBehind);
    let twice = names_given_twice(pairs);
    let is_twice = |name: &str| twice.binary_search(&name).is_ok();
    for (name, value) in pairs {
        match Slot::of(table, name) {
            Slot::Column(position) => {
                let is_options = Some(position) == table.position(Column::Options);
                let cell = cell(value, is_options, replaced);
                let there = &mut row.cells[position];
                let contradicts = is_twice(name) && !matches!(there, Cell::Empty) && *there != cell;
                *there = if contradicts { Cell::Unreadable(Unreadable::Lost) } else { cell };
            }
            Slot::Option(option) => row.options.push((option, cell(value, false, replaced))),
            Slot::Unknown => unknown.note(name),
        }
    }
    row.broken = match result {
        Err(why) => Some(fault_of(why)),
        Ok(()) => twice.first().map(|name| {
            Fault::of(
                *name,
                format!("the name {} stands twice in the object", shown(name)),
                "each name once",
                "Remove the one that is wrong.",
            )
        }),
    };
    row
}

/// The names that stand more than once, sorted.
fn names_given_twice<'a>(pairs: &'a [Pair<'a>]) -> Vec<&'a str> {
    let mut names: Vec<&str> = pairs.iter().map(|(name, _)| name.as_ref()).collect();
    names.sort_unstable();
    let mut twice: Vec<&str> =
        names.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0]).collect();
    twice.dedup();
    twice
}

fn cell(value: &RawValue, is_options: bool, replaced: bool) -> Cell<'_> {
    if replaced && value.get().contains(char::REPLACEMENT_CHARACTER) {
        return Cell::Unreadable(Unreadable::NotUtf8);
    }
    match json::scalar(value) {
        Scalar::Null => Cell::Empty,
        Scalar::Text(text) => Cell::text(text),
        Scalar::Nested if is_options => Cell::text(value.get()),
        Scalar::Nested => Cell::Unreadable(Unreadable::Nested),
        Scalar::NoText => Cell::Unreadable(Unreadable::NoText),
    }
}

fn fault_of(why: NotAnObject) -> Fault {
    const ONE_OBJECT: &str = "one JSON object on the line";
    const ONE_A_LINE: &str = "Write one object a line, with no list around them and no comma between them.";
    match why {
        NotAnObject::SomethingElse => Fault::of_row("the line is not a JSON object", ONE_OBJECT, ONE_A_LINE),
        NotAnObject::TextBehind => Fault::of_row("text follows the JSON object", ONE_OBJECT, ONE_A_LINE),
        NotAnObject::CutOff => Fault::of_row(
            "the line ends in the middle of its JSON object",
            ONE_OBJECT,
            "Write each object on one line; if this is the last line, the file was cut off: export it again.",
        ),
        NotAnObject::Broken(bytes) => Fault::of_row(
            format!("the line is not JSON from about its byte {bytes} on"),
            ONE_OBJECT,
            "Correct the line, or export the table again.",
        ),
    }
}
