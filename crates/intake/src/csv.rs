//! CSV as RFC 4180 has it: lines to records, records to cells, and what breaks a record.
//!
//! Stricter than most readers, since a slip here costs rows in silence: a quote that is never closed, and text
//! behind a closing quote, are faults of the record in which the quote opens, and reading goes on with the line
//! below that quote. So one slip costs one row, not the rest of the file. A quote inside an unquoted cell is text.
//! The crate csv takes all of this without a word and does not tell where; the tests hold the two side by side.
//! Must not know: what a cell means. Start reading at [`read_rows`]; [`Records`] cuts, [`Splitter`] splits.

use std::collections::VecDeque;
use std::io::{self, BufRead};

use crate::bad_row::{Fault, shown};
use crate::error::{FolderError, Stopped};
use crate::lines::{Found, Lines, MAX_ROW_BYTES, Meter, Progress, split_ending};
use crate::nearest::nearest;
use crate::row::{Cell, Row, Unreadable};
use crate::tables::{Column, Need, Slot, Table, UnknownNames};

/// Reads a table and hands on each row. Returns the names of the columns that the table does not have.
pub(crate) fn read_rows<R: BufRead>(
    table: Table,
    file: &str,
    lines: Lines<'_, '_, R>,
    on_row: &mut dyn FnMut(Row<'_>),
) -> Result<UnknownNames, Stopped> {
    let mut records = Records::new(lines);
    let header = read_header(table, file, &mut records)?;
    Columns::of(table, &header).read_records(records, on_row)?;
    Ok(header.unknown_names(table))
}

/// What the columns of a file stand for.
pub(crate) struct Columns<'h> {
    table: Table,
    names: &'h [String],
    slots: Vec<Slot<'h>>,
}

impl<'h> Columns<'h> {
    pub(crate) fn of(table: Table, header: &'h Header) -> Self {
        let slots = header.names.iter().map(|name| Slot::of(table, name)).collect();
        Self { table, names: &header.names, slots }
    }

    /// Reads rows from behind the header and hands on each.
    pub(crate) fn read_rows<R: BufRead>(
        &self,
        lines: Lines<'_, '_, R>,
        on_row: &mut dyn FnMut(Row<'_>),
    ) -> io::Result<()> {
        self.read_records(Records::new(lines), on_row)
    }

    fn read_records<R: BufRead>(
        &self,
        mut records: Records<'_, '_, R>,
        on_row: &mut dyn FnMut(Row<'_>),
    ) -> io::Result<()> {
        records.width = self.names.len();
        while let Some(record) = records.read()? {
            on_row(row_of(self.table, self.names, &self.slots, &record));
        }
        Ok(())
    }
}

/// The names of the columns, checked.
#[derive(Debug)]
pub(crate) struct Header {
    pub(crate) names: Vec<String>,
}

impl Header {
    /// The header at the beginning of a file, of which `start` is the front, and how many bytes of it are the header.
    /// `None` where it does not end within, or is not right.
    pub(crate) fn of(table: Table, start: &[u8]) -> Option<(Self, usize)> {
        let mut ignore = |_: Progress| {};
        let mut meter = Meter::new(0, &mut ignore);
        let mut rest = start;
        let mut records = Records::new(Lines::new(&mut rest, &mut meter));
        let header = read_header(table, "", &mut records).ok()?;
        let is_all = records.again.is_empty();
        drop(records);
        (is_all && !rest.is_empty()).then_some((header, start.len() - rest.len()))
    }

    /// The names of the columns that the table does not have.
    pub(crate) fn unknown_names(&self, table: Table) -> UnknownNames {
        let mut unknown = UnknownNames::default();
        for name in self.names.iter().filter(|name| Slot::of(table, name) == Slot::Unknown) {
            unknown.note(name);
        }
        unknown
    }
}

/// Checks the header of a file.
pub(crate) fn check_header<R: BufRead>(
    table: Table,
    file: &str,
    lines: Lines<'_, '_, R>,
) -> Result<(), Stopped> {
    read_header(table, file, &mut Records::new(lines)).map(|_| ())
}

fn read_header<R: BufRead>(
    table: Table,
    file: &str,
    records: &mut Records<'_, '_, R>,
) -> Result<Header, Stopped> {
    let Some(record) = records.read()? else {
        return Err(FolderError::EmptyFile { file: file.to_owned(), columns: required_columns(table) }.into());
    };
    Ok(Header { names: header_names(table, file, &record)? })
}

/// The names in the header, checked.
fn header_names(table: Table, file: &str, record: &Record<'_>) -> Result<Vec<String>, FolderError> {
    let (file, line) = (file.to_owned(), record.line);
    if let Some(broken) = &record.broken {
        let Fault { found, expected, hint, .. } = broken.why.fault();
        return Err(FolderError::HeaderUnreadable { file, line: broken.line, found, expected, hint });
    }
    let names: Vec<String> = record.cells().map(|name| String::from_utf8_lossy(name).into_owned()).collect();
    if names.iter().any(|name| name.contains('\0')) {
        let found = "the header holds zero bytes, as UTF-16 and spreadsheet files do".to_owned();
        return Err(FolderError::NotUtf8 { file, found });
    }
    let mut known: Vec<&String> =
        names.iter().filter(|name| Slot::of(table, name) != Slot::Unknown).collect();
    known.sort_unstable();
    if let Some(twice) = known.windows(2).find(|pair| pair[0] == pair[1]) {
        return Err(FolderError::ColumnTwice { file, line, column: twice[0].clone() });
    }
    let has_option_columns = known.iter().any(|name| matches!(Slot::of(table, name), Slot::Option(_)));
    let is_there = |column: Column| {
        known.iter().any(|name| *name == column.name()) || (column == Column::Options && has_option_columns)
    };
    let needed = table.columns().iter().filter(|(_, need)| *need == Need::Required);
    let missing: Vec<Column> =
        needed.map(|(column, _)| *column).filter(|column| !is_there(*column)).collect();
    if !missing.is_empty() {
        return Err(FolderError::ColumnMissing {
            file,
            line,
            columns: listed(missing.iter().map(|column| column.name().to_owned()), "or"),
            expected: format!("the columns {}", required_columns(table)),
            hint: missing_columns_hint(table, &missing, &names),
        });
    }
    Ok(names)
}

fn required_columns(table: Table) -> String {
    let required = table.columns().iter().filter(|(_, need)| *need == Need::Required);
    required.map(|(column, _)| column.name()).collect::<Vec<_>>().join(", ")
}

fn missing_columns_hint(table: Table, missing: &[Column], names: &[String]) -> String {
    if let [only] = names {
        for (separator, word) in [(';', "semicolons"), ('\t', "tabs"), ('|', "bars")] {
            if only.contains(separator) {
                return format!("Its names are separated by {word}: export it with commas.");
            }
        }
    }
    let mut unknown: Vec<&String> =
        names.iter().filter(|name| Slot::of(table, name) == Slot::Unknown).collect();
    let all_are_unknown = unknown.len() == names.len();
    let mut renames = Vec::new();
    for column in missing {
        if let Some(at) = unknown.iter().position(|name| nearest(name, [column.name()]).is_some()) {
            renames.push(format!("{} to {}", shown(unknown.remove(at)), column.name()));
        }
    }
    match renames.len() {
        0 if all_are_unknown => {
            "The first line has to be the header: remove what stands above it, or add it.".to_owned()
        }
        0 if missing.len() == 1 => "Add it, or export the table again with it.".to_owned(),
        0 => "Add them, or export the table again with them.".to_owned(),
        1 => format!("Rename {} if that is what it holds.", renames[0]),
        _ => format!("Rename {} if that is what they hold.", listed(renames.into_iter(), "and")),
    }
}

/// `a`, `a or b`, `a, b or c`.
fn listed(texts: impl Iterator<Item = String>, word: &str) -> String {
    let texts: Vec<String> = texts.collect();
    match texts.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} {word} {last}", others.join(", ")),
        None => String::new(),
    }
}

fn row_of<'a>(table: Table, names: &'a [String], slots: &[Slot<'a>], record: &'a Record<'a>) -> Row<'a> {
    let mut row = Row::new(table, record.line);
    let count = record.count();
    if let Some(Broken { why, line }) = record.broken {
        fill(&mut row, slots, |index| record.cell(index).map_or(Cell::Unreadable(Unreadable::Lost), cell));
        let mut fault = why.fault();
        fault.column = names.get(count).filter(|_| why != Why::TooLong).cloned();
        row.broken = Some(fault);
        row.line = line;
        // The cells above the slip span lines too, and their quotes may have been slips as well.
        row.more_unread = line > record.line;
        return row;
    }
    fill(&mut row, slots, |index| record.cell(index).map_or(Cell::Empty, cell));
    if count != slots.len() {
        let mut counted_from_end = Row::new(table, record.line);
        fill(&mut counted_from_end, slots, |index| {
            let index = (index + count).checked_sub(slots.len());
            index.and_then(|index| record.cell(index)).map_or(Cell::Empty, cell)
        });
        row.from_end = Some(counted_from_end.cells);
        row.broken = Some(Fault::of_row(
            format!("the row has {}", cells(count)),
            format!("{}, as many as the header has", cells(slots.len())),
            "Look for a comma too many or too few; a cell with a comma in it stands in quotes.",
        ));
        row.more_unread = record.last_line > record.line;
    }
    row
}

fn cells(count: usize) -> String {
    if count == 1 { "1 cell".to_owned() } else { format!("{count} cells") }
}

fn fill<'a>(row: &mut Row<'a>, slots: &[Slot<'a>], cell: impl Fn(usize) -> Cell<'a>) {
    for (index, slot) in slots.iter().enumerate() {
        match slot {
            Slot::Column(position) => row.cells[*position] = cell(index),
            Slot::Option(name) => row.options.push((name, cell(index))),
            Slot::Unknown => {}
        }
    }
}

fn cell(bytes: &[u8]) -> Cell<'_> {
    std::str::from_utf8(bytes).map_or(Cell::Unreadable(Unreadable::NotUtf8), Cell::text)
}

/// How many columns a table has at least, for a line in the midst of a cell to be taken for a row because it has as
/// many: with fewer, a line of ordinary text may well have that many commas.
const ROW_LIKE_CELLS: usize = 6;

/// What breaks a record.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Why {
    /// A quote opens and nothing closes it.
    NeverClosed,
    /// Text stands between a closing quote and the next comma.
    TextBehindQuote,
    /// A carriage return that ends no line, outside quotes.
    StrayCarriageReturn,
    /// The record is over the limit.
    TooLong,
    /// A quoted cell spans lines that are rows by themselves.
    HoldsRows,
}

impl Why {
    fn fault(self) -> Fault {
        const CLOSED_CELL: &str =
            "a quoted cell with its closing quote before a comma or the end of the line";
        match self {
            Self::NeverClosed => Fault::of_row(
                "a quote opens a cell and is never closed",
                CLOSED_CELL,
                "Close the quote; write each quote inside a quoted cell twice.",
            ),
            Self::TextBehindQuote => Fault::of_row(
                "text follows the closing quote of the cell that begins here",
                CLOSED_CELL,
                "Write each quote inside a quoted cell twice, and close each quote that opens a cell.",
            ),
            Self::StrayCarriageReturn => Fault::of_row(
                "a carriage return stands in the middle of the row, outside quotes",
                "lines that end with LF or CR LF",
                "Save the table again with one of these line endings.",
            ),
            Self::TooLong => Fault::of_row(
                format!("the row is longer than {MAX_ROW_BYTES} bytes"),
                "a row of an ordinary length",
                "Look for a quote that opens here and is not closed.",
            ),
            Self::HoldsRows => Fault::of_row(
                "a quote opens a cell, and lines that look like rows of their own follow before it is closed",
                CLOSED_CELL,
                "Close the quote where its cell ends; write each quote inside a quoted cell twice.",
            ),
        }
    }
}

/// A record that breaks the rules, as far as it could be split.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Broken {
    why: Why,
    /// The line to look at: where the quote opens.
    line: u64,
}

/// One record: its whole cells, and why there are no more of them.
struct Record<'a> {
    /// The line on which it begins.
    line: u64,
    /// The last line that it spans.
    last_line: u64,
    splitter: &'a Splitter,
    broken: Option<Broken>,
}

impl<'a> Record<'a> {
    fn count(&self) -> usize {
        self.splitter.ends.len()
    }

    fn cell(&self, index: usize) -> Option<&'a [u8]> {
        let end = *self.splitter.ends.get(index)?;
        let start = if index == 0 { 0 } else { self.splitter.ends[index - 1] };
        Some(&self.splitter.bytes[start..end])
    }

    fn cells(&self) -> impl Iterator<Item = &'a [u8]> {
        (0..self.count()).filter_map(|index| self.cell(index))
    }
}

/// A line, of the file or to be read again since the quote above it turned out to be a slip.
struct Line {
    number: u64,
    bytes: Vec<u8>,
    found: Found,
    /// A record of its own, whatever its quotes say.
    alone: bool,
}

/// The records of a file. Blank lines are passed over.
struct Records<'m, 'p, R> {
    lines: Lines<'m, 'p, R>,
    again: VecDeque<Line>,
    splitter: Splitter,
    /// For splitting a line beside the record.
    beside: Splitter,
    /// How many cells the header has, once it is known.
    width: usize,
}

impl<'m, 'p, R: BufRead> Records<'m, 'p, R> {
    fn new(lines: Lines<'m, 'p, R>) -> Self {
        let (splitter, beside) = (Splitter::default(), Splitter::default());
        Self { lines, again: VecDeque::new(), splitter, beside, width: 0 }
    }

    fn read(&mut self) -> io::Result<Option<Record<'_>>> {
        let first = loop {
            let line = self.next_line()?;
            match line.found {
                Found::End => return Ok(None),
                Found::Line if split_ending(&line.bytes).0.is_empty() => {}
                Found::Line | Found::TooLong => break line,
            }
        };
        self.splitter.reset();
        let line = first.number;
        // The lines below the first: if a quote proves to be a slip, they are read again.
        let mut below = Vec::new();
        let why = self.split(&first, &mut below)?;
        let last_line = below.last().map_or(line, |last| last.number);
        let broken = why.map(|why| self.give_up(why, &first, below));
        Ok(Some(Record { line, last_line, splitter: &self.splitter, broken }))
    }

    fn next_line(&mut self) -> io::Result<Line> {
        if let Some(line) = self.again.pop_front() {
            return Ok(line);
        }
        let mut bytes = Vec::new();
        let found = self.lines.read(&mut bytes)?;
        Ok(Line { number: self.lines.number(), bytes, found, alone: false })
    }

    /// Splits the record that begins with `first`, taking `below` as many lines as its quotes span. Answers what
    /// breaks it.
    fn split(&mut self, first: &Line, below: &mut Vec<Line>) -> io::Result<Option<Why>> {
        let mut bytes = 0;
        loop {
            let line = below.last().unwrap_or(first);
            bytes += line.bytes.len();
            if line.found == Found::TooLong {
                return Ok(Some(Why::TooLong));
            }
            match self.splitter.feed(&line.bytes, line.number) {
                Fed::Whole if self.holds_rows(below) => return Ok(Some(Why::HoldsRows)),
                Fed::Whole => return Ok(None),
                Fed::Broken(why) => return Ok(Some(why)),
                Fed::Open if first.alone => return Ok(Some(Why::NeverClosed)),
                Fed::Open if bytes > MAX_ROW_BYTES => return Ok(Some(Why::TooLong)),
                Fed::Open => {}
            }
            let next = self.next_line()?;
            if next.found == Found::End {
                return Ok(Some(Why::NeverClosed));
            }
            below.push(next);
        }
    }

    /// Whether a line in the midst of the record is a row by itself. The last line is not asked: the end of a
    /// cell and the cells behind it often look like a row.
    fn holds_rows(&mut self, below: &[Line]) -> bool {
        let Some((_, midst)) = below.split_last() else { return false };
        self.width >= ROW_LIKE_CELLS
            && midst.iter().any(|line| {
                self.beside.reset();
                let fed = self.beside.feed(&line.bytes, line.number);
                fed == Fed::Whole && self.beside.ends.len() == self.width
            })
    }

    /// Leaves the record at the cells in front of the slip, and has the lines below the quote that opens there
    /// read again. What the quote spans cannot open a quote of its own, but for cells that hold rows, of which
    /// each line is a record of its own; so no line is read more than a few times, however the quotes lie.
    fn give_up(&mut self, why: Why, first: &Line, mut below: Vec<Line>) -> Broken {
        if why == Why::HoldsRows {
            self.splitter.reset();
            self.splitter.feed(&first.bytes, first.number);
            below.iter_mut().for_each(|line| line.alone = true);
        }
        let last_line = below.last().unwrap_or(first).number;
        let line = self.splitter.opened_on.unwrap_or(last_line);
        self.again.extend(below.into_iter().filter(|below| below.number > line));
        Broken { why, line }
    }
}

/// Where in a cell the splitter stands.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
enum State {
    #[default]
    CellStart,
    Unquoted,
    Quoted,
    /// Behind a quote in a quoted cell: its end, or the first of two that mean one.
    QuoteSeen,
}

/// What a line did to the record.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Fed {
    /// The record is complete.
    Whole,
    /// A quote is open: the record goes on with the next line.
    Open,
    /// The record breaks the rules.
    Broken(Why),
}

/// Splits one record into cells, line by line.
#[derive(Default)]
struct Splitter {
    /// The cells, one behind the other, without their quotes.
    bytes: Vec<u8>,
    /// Where each whole cell ends in `bytes`.
    ends: Vec<usize>,
    state: State,
    /// The line of the quote that opened the cell which is being read.
    opened_on: Option<u64>,
}

impl Splitter {
    fn reset(&mut self) {
        self.bytes.clear();
        self.ends.clear();
        self.state = State::CellStart;
        self.opened_on = None;
    }

    fn feed(&mut self, line: &[u8], number: u64) -> Fed {
        let (mut rest, ending) = split_ending(line);
        loop {
            match self.state {
                State::CellStart => {
                    if let Some(behind) = rest.strip_prefix(b"\"") {
                        rest = behind;
                        self.state = State::Quoted;
                        self.opened_on = Some(number);
                    } else {
                        self.state = State::Unquoted;
                    }
                }
                State::Unquoted => {
                    let end = rest.iter().position(|byte| matches!(byte, b',' | b'\r'));
                    let (text, behind) = rest.split_at(end.unwrap_or(rest.len()));
                    self.bytes.extend_from_slice(text);
                    match behind.split_first() {
                        Some((b',', behind)) => rest = behind,
                        Some(_) => return Fed::Broken(Why::StrayCarriageReturn),
                        None => {
                            self.end_cell();
                            return Fed::Whole;
                        }
                    }
                    self.end_cell();
                }
                State::Quoted => match rest.iter().position(|byte| *byte == b'"') {
                    Some(quote) => {
                        self.bytes.extend_from_slice(&rest[..quote]);
                        rest = &rest[quote + 1..];
                        self.state = State::QuoteSeen;
                    }
                    None => {
                        self.bytes.extend_from_slice(rest);
                        self.bytes.extend_from_slice(ending);
                        return Fed::Open;
                    }
                },
                State::QuoteSeen => match rest.split_first() {
                    Some((b'"', behind)) => {
                        self.bytes.push(b'"');
                        rest = behind;
                        self.state = State::Quoted;
                    }
                    Some((b',', behind)) => {
                        rest = behind;
                        self.end_cell();
                    }
                    Some(_) => return Fed::Broken(Why::TextBehindQuote),
                    None => {
                        self.end_cell();
                        return Fed::Whole;
                    }
                },
            }
        }
    }

    fn end_cell(&mut self) {
        self.ends.push(self.bytes.len());
        self.state = State::CellStart;
        self.opened_on = None;
    }
}

#[cfg(test)]
mod tests {
    use std::io::BufReader;

    use proptest::prelude::*;

    use super::*;

    type Split = Vec<(u64, Result<Vec<String>, (Why, usize)>)>;

    /// Every record with its line: its cells, or what breaks it and how many whole cells came before.
    fn split(bytes: &[u8], buffer_bytes: usize) -> Split {
        split_of_width(bytes, buffer_bytes, 0)
    }

    fn split_of_width(bytes: &[u8], buffer_bytes: usize, width: usize) -> Split {
        let mut ignore = |_: Progress| {};
        let mut meter = Meter::new(0, &mut ignore);
        let mut records = Records::new(Lines::new(BufReader::with_capacity(buffer_bytes, bytes), &mut meter));
        records.width = width;
        let mut all = Vec::new();
        while let Some(record) = records.read().unwrap() {
            all.push(match record.broken {
                Some(broken) => (broken.line, Err((broken.why, record.count()))),
                None => {
                    let cells = record.cells().map(|cell| String::from_utf8_lossy(cell).into_owned());
                    (record.line, Ok(cells.collect()))
                }
            });
        }
        all
    }

    fn whole(bytes: &[u8]) -> Vec<Vec<String>> {
        split(bytes, 64)
            .into_iter()
            .map(|(line, cells)| cells.unwrap_or_else(|e| panic!("{line}: {e:?}")))
            .collect()
    }

    /// Source: csv-spectrum 2.0.0 (see tests/csv-spectrum/README.md), all its pairs but the one left out there.
    #[test]
    fn the_files_of_csv_spectrum_are_read_as_their_json_says() {
        macro_rules! pairs {
            ($($name:literal),*) => {[$((
                $name,
                include_bytes!(concat!("../tests/csv-spectrum/", $name, ".csv")).as_slice(),
                include_str!(concat!("../tests/csv-spectrum/", $name, ".json")),
            )),*]};
        }
        for (name, bytes, json) in pairs![
            "comma_in_quotes",
            "empty",
            "empty_crlf",
            "escaped_quotes",
            "json",
            "newlines",
            "newlines_crlf",
            "quotes_and_newlines",
            "simple",
            "simple_crlf",
            "utf8"
        ] {
            let want: Vec<serde_json::Map<String, serde_json::Value>> = serde_json::from_str(json).unwrap();
            let mut rows = whole(bytes);
            let header = rows.remove(0);
            assert_eq!(rows.len(), want.len(), "{name}");
            for (row, want) in rows.into_iter().zip(want) {
                assert_eq!(row.len(), want.len(), "{name}");
                for (column, cell) in header.iter().zip(row) {
                    assert_eq!(want[column], cell, "{name}, {column}");
                }
            }
        }
    }

    /// Source: RFC 4180, section 2, rules 1 to 7.
    #[test]
    fn the_rules_of_rfc_4180_hold() {
        for (text, want) in [
            ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", vec![vec!["aaa", "bbb", "ccc"], vec!["zzz", "yyy", "xxx"]]),
            ("aaa,bbb,ccc\r\nzzz,yyy,xxx", vec![vec!["aaa", "bbb", "ccc"], vec!["zzz", "yyy", "xxx"]]),
            (
                "field_name,field_name,field_name\r\naaa,bbb,ccc\r\n",
                vec![vec!["field_name"; 3], vec!["aaa", "bbb", "ccc"]],
            ),
            (" aaa , bbb,ccc ", vec![vec![" aaa ", " bbb", "ccc "]]),
            (
                "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx",
                vec![vec!["aaa", "bbb", "ccc"], vec!["zzz", "yyy", "xxx"]],
            ),
            (
                "\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx",
                vec![vec!["aaa", "b\r\nbb", "ccc"], vec!["zzz", "yyy", "xxx"]],
            ),
            ("\"aaa\",\"b\"\"bb\",\"ccc\"", vec![vec!["aaa", "b\"bb", "ccc"]]),
        ] {
            assert_eq!(whole(text.as_bytes()), want, "{text:?}");
        }
    }

    #[test]
    fn blank_lines_are_passed_over_and_bare_quotes_are_text() {
        assert_eq!(
            split(b"\n\r\na,b\n\n5\" x,6\"\"\n,\n\"\"\n", 3),
            [
                (3, Ok(vec!["a".into(), "b".into()])),
                (5, Ok(vec!["5\" x".into(), "6\"\"".into()])),
                (6, Ok(vec![String::new(), String::new()])),
                (7, Ok(vec![String::new()])),
            ]
        );
    }

    #[test]
    fn a_slip_costs_one_row_and_is_told_on_the_line_on_which_the_quote_opens() {
        let row = |cells: &str| Ok(cells.split(',').map(str::to_owned).collect::<Vec<_>>());
        for (text, want) in [
            ("1,\"a\n2,b\n3,c\n", vec![(1, Err((Why::NeverClosed, 1))), (2, row("2,b")), (3, row("3,c"))]),
            ("1,\"a\" b\n2,b\n", vec![(1, Err((Why::TextBehindQuote, 1))), (2, row("2,b"))]),
            ("1,\"Large \"apron\"\",x\n2,b\n", vec![(1, Err((Why::TextBehindQuote, 1))), (2, row("2,b"))]),
            (
                "1,\"a\n2,b\n3,\"c\"\n4,d\n",
                vec![(1, Err((Why::TextBehindQuote, 1))), (2, row("2,b")), (3, row("3,c")), (4, row("4,d"))],
            ),
            // The cell above the slip, which spans two lines, is well formed and is not read again.
            ("1,\"x\ny\",\"a\n2,b\n", vec![(2, Err((Why::NeverClosed, 2))), (3, row("2,b"))]),
            ("1,a\rb\n2,b\n", vec![(1, Err((Why::StrayCarriageReturn, 1))), (2, row("2,b"))]),
            ("1,a\r\r\n2,b\r", vec![(1, Err((Why::StrayCarriageReturn, 1))), (2, row("2,b"))]),
        ] {
            for buffer_bytes in [1, 2, 5, 64] {
                assert_eq!(split(text.as_bytes(), buffer_bytes), want, "{text:?}");
            }
        }
    }

    #[test]
    fn an_open_quote_takes_at_most_the_limit_of_a_row_with_it() {
        let below = 300_000;
        let mut text = "1,\"a\n".to_owned();
        for number in 0..below {
            text.push_str(&format!("{number},b\n"));
        }
        let rows = split(text.as_bytes(), 4096);
        assert_eq!(rows.len(), below + 1);
        assert_eq!(rows[0], (1, Err((Why::TooLong, 1))));
        assert!(rows[1..].iter().all(|(_, cells)| cells.is_ok()));
    }

    /// Each line ends with an open quote, also where it is read as the inside of one; each record of which the
    /// header has as many cells holds lines that are rows. Too slow to pass unnoticed, were they read anew each time.
    #[test]
    fn no_arrangement_of_quotes_is_read_again_and_again() {
        for (line, width) in [("x\",\"\"\"\n", 2), ("a\",b,c,d,e,\"\n", 6), ("a,b,c,d,e,f\",\"\n", 7)] {
            let text = line.repeat(400_000);
            let rows = split_of_width(text.as_bytes(), 4096, width);
            assert!(!rows.is_empty(), "{line:?}");
        }
    }

    #[test]
    fn a_quote_that_closes_far_below_does_not_swallow_the_rows_between() {
        let row = |cells: &str| Ok(cells.split(',').map(str::to_owned).collect::<Vec<_>>());
        let text = "1,\"a,b,c,d,e\n2,a,b,c,d,e\n3,a,b,c,d,e\n4,5\",b,c,d,e\n5,a,b,c,d,e\n";
        assert_eq!(
            split_of_width(text.as_bytes(), 64, 6),
            [
                (1, Err((Why::HoldsRows, 1))),
                (2, row("2,a,b,c,d,e")),
                (3, row("3,a,b,c,d,e")),
                (4, row("4,5\",b,c,d,e")),
                (5, row("5,a,b,c,d,e"))
            ]
        );
        let honest = "1,\"a\nb, c\nd\",b,c,d,e\n";
        assert_eq!(split_of_width(honest.as_bytes(), 64, 6).len(), 1);
    }

    fn as_the_csv_crate_reads(bytes: &[u8]) -> Vec<Vec<String>> {
        let mut reader = ::csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes);
        let text = |cell: &[u8]| String::from_utf8_lossy(cell).into_owned();
        reader.byte_records().map(|record| record.unwrap().iter().map(text).collect()).collect()
    }

    proptest! {
        /// Source: the crate csv 1.4.
        #[test]
        fn what_the_csv_crate_writes_is_read_back(
            rows in proptest::collection::vec(proptest::collection::vec("[a,\"\r\n ä]{0,6}", 2..4), 0..6),
            buffer_bytes in 1_usize..9,
        ) {
            let mut writer = ::csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let bytes = writer.into_inner().unwrap();
            let read: Vec<_> = split(&bytes, buffer_bytes).into_iter().map(|(_, cells)| cells.unwrap()).collect();
            prop_assert_eq!(read, rows);
        }

        /// Source: the crate csv 1.4, which takes more than RFC 4180 allows; where nothing is broken both agree.
        #[test]
        fn what_is_not_broken_is_read_as_the_csv_crate_reads_it(text in "[a,\"\r\n]{0,24}") {
            let rows = split(text.as_bytes(), 64);
            if rows.iter().all(|(_, cells)| cells.is_ok()) {
                let read: Vec<_> = rows.into_iter().map(|(_, cells)| cells.unwrap()).collect();
                prop_assert_eq!(read, as_the_csv_crate_reads(text.as_bytes()));
            }
        }

        #[test]
        fn every_line_with_text_is_told_of_whatever_its_quotes(text in "[a,\"\r\n]{0,40}") {
            let rows = split(text.as_bytes(), 7);
            prop_assert!(rows.is_sorted_by(|a, b| a.0 < b.0));
            // A record that is whole tells of the lines that it spans, a broken one of the line of its quote.
            let has_text = text.split('\n').any(|line| !line.trim_matches('\r').is_empty());
            prop_assert!(!has_text || !rows.is_empty());
        }
    }
}
