//! Tables in text: what separates the cells, where records begin and end, and what breaks them.
//!
//! As strict as the reading of exchange files: a quote that is never closed, text behind a closing quote, and lines that
//! look like rows of their own within a quoted cell are errors, since each costs rows in silence elsewhere. Must not
//! know: encodings, or what a header is. Start reading at [`read`]; [`Splitter`] splits, [`separator_of`] decides.
//! Source: RFC 4180, section 2, with other separators.

use std::borrow::Cow;

use serde_json::Value;

use super::error::{ExportError, Place};
use super::limits::{self, MAX_CELL_BYTES, MAX_COLUMNS, Weight};
use super::table::{self, HEAD_ROWS, HeadCell, HeadRow, Read, Records};
use super::{Export, Form, Kind, Stated};
use crate::bad_row::shown;

/// What may separate cells where nothing is stated; the earlier is taken where several fit as well.
const SEPARATORS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// How many records are looked at to decide on the separator.
const SEPARATOR_RECORDS: usize = 300;

/// How many columns a table has at least, for a line in the midst of a cell to be taken for a row because it has as
/// many cells: with fewer, a line of ordinary text may well have that many separators.
const ROW_LIKE_CELLS: usize = 6;

/// A separator that the file does not hold stands for none: a table of one column.
const NO_SEPARATOR: u8 = b'\n';

const LONG_CELL: &str = "Look for a quote that opens here and is not closed.";
const WIDE_ROW: &str = "Export the columns that are needed, or state the separator.";

/// Reads a table.
pub(super) fn read(file: &str, text: &str, stated: &Stated) -> Result<Export, ExportError> {
    let (declared, body, first_line) = declared_separator(text);
    let separator = match stated.separator.or(declared) {
        Some(separator) => Some(checked(file, separator, stated.separator.is_some())?),
        None => separator_of(body, first_line),
    };
    let split = || Splitter::new(body, first_line, separator.unwrap_or(NO_SEPARATOR));
    let header = match stated.header_row {
        Some(line) => stated_header(file, split(), line)?,
        None => guessed_header(file, split())?,
    };
    let names = table::names(&header, || Place::line(file, header.number))?;
    let mut records = Records::new(names, &header, Weight::of_text());
    let mut rows = split();
    while let Some(row) = rows.next().map_err(|slip| slip.at(file))? {
        if row.line > header.number && !row.is_empty() {
            add(file, &mut records, &row)?;
            if row.spans_lines && holds_rows(&row, records.columns(), separator) {
                return Err(Slip { line: row.line, why: Why::HoldsRows }.at(file));
            }
        }
    }
    let Read { value, header: names, lines, passed_over } = records.finish();
    let form = Form {
        separator: separator.map(char::from),
        header_row: Some(header.number),
        ..Form::of(Kind::Text)
    };
    Ok(Export { form, value, header: Some(names), lines, passed_over })
}

fn add(file: &str, records: &mut Records, row: &Row<'_>) -> Result<(), ExportError> {
    let place = || Place::line(file, row.line);
    let mut record = records.begin(row.line, place)?;
    for (column, cell) in row.cells.iter().enumerate() {
        let cell = cell.trim();
        if cell.is_empty() {
            continue;
        }
        if column >= records.columns() {
            return Err(ExportError::TooManyCells {
                place: place(),
                found: format!("the row has {} cells, and {}", row.cells.len(), table::beyond(cell)),
                columns: records.columns(),
                hint: "Look for a separator too many (a cell that holds one stands in quotes); or state the header \
                       row or the separator.",
            });
        }
        records.add(&mut record, column, Value::String(cell.to_owned()), place)?;
    }
    records.end(record);
    Ok(())
}

/// Whether a line in the midst of a row, which spans several, is a row by itself. The last line is not asked: the end
/// of a cell and the cells behind it often look like one.
fn holds_rows(row: &Row<'_>, columns: usize, separator: Option<u8>) -> bool {
    let Some(separator) = separator.filter(|_| columns >= ROW_LIKE_CELLS) else { return false };
    row.cells.iter().any(|cell| {
        let lines: Vec<&str> = cell.lines().collect();
        let midst = lines.get(1..lines.len().saturating_sub(1)).unwrap_or_default();
        midst.iter().any(|line| {
            let alone = Splitter::new(line, 1, separator).next();
            alone.is_ok_and(|alone| alone.is_some_and(|alone| alone.cells.len() == columns))
        })
    })
}

/// The separator that a first line `sep=;` declares, what follows that line, and the number of the next line.
fn declared_separator(text: &str) -> (Option<char>, &str, u64) {
    let (line, rest) = text.split_once('\n').unwrap_or((text, ""));
    let line = line.strip_suffix('\r').unwrap_or(line);
    let line = line.strip_prefix('"').and_then(|line| line.strip_suffix('"')).unwrap_or(line);
    let is_declared = line.get(..4).is_some_and(|start| start.eq_ignore_ascii_case("sep="));
    let mut characters = line.chars().skip(4);
    match (is_declared, characters.next(), characters.next()) {
        (true, Some(separator), None) => (Some(separator), rest, 2),
        _ => (None, text, 1),
    }
}

fn checked(file: &str, separator: char, is_stated: bool) -> Result<u8, ExportError> {
    let may_separate = |byte: &u8| {
        !byte.is_ascii_alphanumeric() && !matches!(byte, b'"' | b'\r' | b'\n' | b'\0' | b'.' | b'-' | b'_')
    };
    let fits = u8::try_from(separator).ok().filter(u8::is_ascii).filter(may_separate);
    fits.ok_or_else(|| ExportError::Misstated {
        place: Place::file(file),
        found: format!(
            "{} {} as the separator",
            shown(&separator.to_string()),
            if is_stated { "is stated" } else { "stands in the first line" }
        ),
        expected: "a comma, a semicolon, a tab, a bar or another such sign".to_owned(),
        hint: "Correct it, or leave it out.".to_owned(),
    })
}

/// The separator that gives the same number of cells, more than one, in the most of the first records.
fn separator_of(text: &str, first_line: u64) -> Option<u8> {
    let mut best: Option<(usize, u8)> = None;
    for separator in SEPARATORS {
        let records = records_alike(text, first_line, separator);
        if records > best.map_or(0, |(most, _)| most) {
            best = Some((records, separator));
        }
    }
    best.map(|(_, separator)| separator)
}

/// How many of the first records have the number of cells, more than one, that is the most frequent. None where they
/// are not alike enough to be a table.
///
/// From the first record with several cells on, at least half have to be alike, or all no wider than that one. Lines with
/// one cell may stand above them, as titles do; but where there are more of these than are alike, it takes two that are
/// alike, of three cells or more: a list of notes, of which some hold a comma, is a table of one column.
fn records_alike(text: &str, first_line: u64, separator: u8) -> usize {
    let mut splitter = Splitter::new(text, first_line, separator);
    let mut titles = 0;
    let mut counts: Vec<usize> = Vec::new();
    while counts.len() + titles < SEPARATOR_RECORDS {
        let cells = match splitter.next() {
            Ok(Some(row)) if row.cells.len() == 1 && row.is_empty() => continue,
            Ok(Some(row)) => row.cells.len(),
            Err(Slip { why: Why::TooManyColumns, .. }) => MAX_COLUMNS + 1,
            // Behind another slip the number of cells says nothing.
            Ok(None) | Err(_) => break,
        };
        if cells == 1 && counts.is_empty() {
            titles += 1
        } else {
            counts.push(cells)
        }
        if cells > MAX_COLUMNS {
            break;
        }
    }
    let Some(first) = counts.first().copied() else { return 0 };
    let widest = counts.iter().max().copied().unwrap_or_default();
    let mut by_count = vec![0_usize; widest + 1];
    counts.iter().for_each(|count| by_count[*count] += 1);
    let most = by_count.iter().enumerate().skip(2).max_by_key(|(_, records)| **records);
    let Some((cells, alike)) = most.map(|(cells, records)| (cells, *records)) else { return 0 };
    let is_table = alike * 2 >= counts.len() || first == widest && first > 2;
    let are_titles = titles <= alike || cells > 2 && alike > 1;
    if is_table && are_titles { alike } else { 0 }
}

fn stated_header<'t>(file: &str, mut rows: Splitter<'t>, line: u64) -> Result<HeadRow<'t>, ExportError> {
    while let Some(row) = rows.next().map_err(|slip| slip.at(file))? {
        if row.line == line && !row.is_empty() {
            return Ok(head_row(row));
        }
        if row.line > line {
            break;
        }
    }
    Err(ExportError::NoHeader {
        place: Place::line(file, line),
        found: "the header row is stated to be here, and no row begins on this line".to_owned(),
        hint: "Correct the number, or state none.".to_owned(),
    })
}

fn guessed_header<'t>(file: &str, mut rows: Splitter<'t>) -> Result<HeadRow<'t>, ExportError> {
    let mut head = Vec::new();
    while head.len() < HEAD_ROWS {
        match rows.next() {
            Ok(Some(row)) if row.is_empty() => {}
            Ok(Some(row)) => head.push(head_row(row)),
            Ok(None) => break,
            Err(slip) => return Err(slip.at(file)),
        }
    }
    if head.is_empty() {
        return Err(ExportError::Empty { place: Place::file(file), found: "no cell of the file is filled" });
    }
    let index = table::find_header(&head).map_err(|unclear| {
        unclear.at(Place::file(file), "line", ", or the separator if the columns are not told apart")
    })?;
    Ok(head.swap_remove(index))
}

fn head_row(row: Row<'_>) -> HeadRow<'_> {
    let cell = |cell: Cow<'_, str>| {
        let trimmed = cell.trim();
        if trimmed.is_empty() { None } else { Some(trimmed.to_owned()) }
    };
    let cells = row.cells.into_iter().map(|text| match cell(text) {
        None => HeadCell::Empty,
        Some(text) => HeadCell::Text(text.into()),
    });
    HeadRow { number: row.line, cells: cells.collect() }
}

/// One record.
#[derive(Debug)]
struct Row<'t> {
    /// The line on which it begins.
    line: u64,
    /// Whether a quoted cell does.
    spans_lines: bool,
    cells: Vec<Cow<'t, str>>,
}

impl Row<'_> {
    fn is_empty(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// What breaks a record, and the line to look at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Slip {
    line: u64,
    why: Why,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Why {
    NeverClosed,
    TextBehindQuote,
    StrayCarriageReturn,
    HoldsRows,
    LongCell,
    TooManyColumns,
}

impl Slip {
    fn at(self, file: &str) -> ExportError {
        const CLOSED_CELL: &str =
            "a quoted cell with its closing quote before a separator or the end of the line";
        let place = Place::line(file, self.line);
        let (found, expected, hint) = match self.why {
            Why::LongCell => return limits::long_cell(place, LONG_CELL),
            Why::TooManyColumns => return limits::too_many_columns(place, WIDE_ROW),
            Why::NeverClosed => (
                "a quote opens a cell and is never closed",
                CLOSED_CELL,
                "Close the quote; write each quote inside a quoted cell twice. Or the file was cut off: export it again.",
            ),
            Why::TextBehindQuote => (
                "text follows the closing quote of a cell that begins here",
                CLOSED_CELL,
                "Write each quote inside a quoted cell twice, and close each quote that opens a cell; or state the \
                 separator.",
            ),
            Why::StrayCarriageReturn => (
                "a carriage return stands in the middle of the row, outside quotes",
                "lines that end with LF or CR LF",
                "Save the table again with one of these line endings.",
            ),
            Why::HoldsRows => (
                "a quoted cell holds lines that look like rows of their own",
                CLOSED_CELL,
                "Close the quote where its cell ends; write each quote inside a quoted cell twice.",
            ),
        };
        ExportError::Broken {
            place,
            found: found.to_owned(),
            expected: expected.to_owned(),
            hint: hint.to_owned(),
        }
    }
}

/// Splits a text into records. Blank lines are records of one empty cell.
struct Splitter<'t> {
    text: &'t str,
    /// Where the next record begins, in bytes.
    at: usize,
    /// The line there.
    line: u64,
    separator: u8,
    /// With what lines end; a CR before an LF belongs to the ending.
    newline: u8,
}

/// What stands behind a cell.
enum Behind {
    Separator,
    End,
}

impl<'t> Splitter<'t> {
    /// The separator is ASCII and no quote.
    fn new(text: &'t str, line: u64, separator: u8) -> Self {
        let is_old = memchr::memchr2(b'\n', b'\r', text.as_bytes()).is_some_and(|at| {
            text.as_bytes()[at] == b'\r' && memchr::memchr(b'\n', &text.as_bytes()[at..]).is_none()
        });
        Self { text, at: 0, line, separator, newline: if is_old { b'\r' } else { b'\n' } }
    }

    fn next(&mut self) -> Result<Option<Row<'t>>, Slip> {
        if self.at >= self.text.len() {
            return Ok(None);
        }
        let line = self.line;
        let mut cells = Vec::new();
        let mut spans_lines = false;
        loop {
            if cells.len() == MAX_COLUMNS {
                return Err(Slip { line, why: Why::TooManyColumns });
            }
            let is_quoted = self.text.as_bytes().get(self.at) == Some(&b'"');
            let (cell, behind) = if is_quoted { self.quoted()? } else { self.bare()? };
            if cell.len() > MAX_CELL_BYTES {
                return Err(Slip { line, why: Why::LongCell });
            }
            spans_lines |= is_quoted && memchr::memchr(self.newline, cell.as_bytes()).is_some();
            cells.push(cell);
            if let Behind::End = behind {
                return Ok(Some(Row { line, spans_lines, cells }));
            }
        }
    }

    fn bare(&mut self) -> Result<(Cow<'t, str>, Behind), Slip> {
        let rest = &self.text[self.at..];
        let end = memchr::memchr3(self.separator, b'\r', b'\n', rest.as_bytes()).unwrap_or(rest.len());
        self.at += end;
        Ok((Cow::Borrowed(&rest[..end]), self.behind(Why::StrayCarriageReturn)?))
    }

    fn quoted(&mut self) -> Result<(Cow<'t, str>, Behind), Slip> {
        let opened_on = self.line;
        self.at += 1;
        let mut cell = Cow::Borrowed("");
        loop {
            let rest = &self.text[self.at..];
            let Some(quote) = memchr::memchr(b'"', rest.as_bytes()) else {
                let why = if rest.len() > MAX_CELL_BYTES { Why::LongCell } else { Why::NeverClosed };
                return Err(Slip { line: opened_on, why });
            };
            let part = &rest[..quote];
            self.line += memchr::memchr_iter(self.newline, part.as_bytes()).count() as u64;
            self.at += quote + 1;
            if cell.is_empty() {
                cell = Cow::Borrowed(part)
            } else {
                cell.to_mut().push_str(part)
            }
            if cell.len() > MAX_CELL_BYTES {
                return Err(Slip { line: opened_on, why: Why::LongCell });
            }
            if self.text.as_bytes().get(self.at) != Some(&b'"') {
                let behind = self.behind(Why::TextBehindQuote);
                return Ok((cell, behind.map_err(|slip| Slip { line: opened_on, ..slip })?));
            }
            self.at += 1;
            cell.to_mut().push('"');
        }
    }

    /// Passes over what stands behind a cell: a separator, the end of a line, or the end of the text.
    fn behind(&mut self, otherwise: Why) -> Result<Behind, Slip> {
        let bytes = self.text.as_bytes();
        let next = bytes.get(self.at).copied();
        let passed = match next {
            None => 0,
            // The one that stands for none is asked for last.
            Some(byte) if byte == self.newline => 1,
            Some(byte) if byte == self.separator => {
                self.at += 1;
                return Ok(Behind::Separator);
            }
            Some(b'\r') if matches!(bytes.get(self.at + 1), None | Some(b'\n')) => {
                2.min(bytes.len() - self.at)
            }
            Some(b'\r') => return Err(Slip { line: self.line, why: Why::StrayCarriageReturn }),
            Some(_) => return Err(Slip { line: self.line, why: otherwise }),
        };
        self.at += passed;
        self.line += u64::from(passed > 0);
        Ok(Behind::End)
    }
}
