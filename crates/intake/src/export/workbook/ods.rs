//! The cells of an OpenDocument spreadsheet.
//!
//! What is written once and repeated is counted before it is repeated. Must not know: headers. Source: OpenDocument 1.3
//! part 3, 9.1 (tables), 19.385 to 19.389 (values), 6.1 (white space); the numbers of sections from memory. Start reading at [`read`].

use std::collections::HashSet;

use quick_xml::events::{BytesStart, Event};

use super::super::error::ExportError;
use super::super::limits;
use super::super::limits::MAX_CELL_BYTES;
use super::cell::Cell;
use super::package::{Package, Xml, attribute, broken, push_text};
use super::xlsx::iso_date;
use super::{Candidate, Rows, Sheet, nothing_in, to_try};

const CONTENT: &str = "content.xml";
const MANIFEST: &str = "META-INF/manifest.xml";

/// The most rows and columns of a sheet, repeats included; more than any program shows. It keeps sums from growing
/// without end.
const MAX_POSITION: u64 = 1 << 24;

const NO_VALUE: &str = "a formula whose value is not in the file";

/// Reads the sheet that is wanted, or the first that is shown and holds something.
pub(super) fn read(package: &mut Package<'_>, wanted: Option<&str>) -> Result<Sheet, ExportError> {
    check_password(package)?;
    let file = package.file;
    let mut xml = package.xml(CONTENT)?;
    let mut hidden_styles = HashSet::new();
    let mut style = None;
    let mut names = Vec::new();
    loop {
        let table = match xml.next()? {
            Event::Start(start) => match start.local_name().as_ref() {
                "style" => {
                    style = attribute(&start, None, "name");
                    continue;
                }
                "table-properties" => {
                    if attribute(&start, None, "display").as_deref() == Some("false") {
                        hidden_styles.extend(style.clone());
                    }
                    continue;
                }
                "table" => {
                    let style = attribute(&start, None, "style-name");
                    Some(Candidate {
                        name: attribute(&start, None, "name").unwrap_or_default(),
                        is_hidden: style.is_some_and(|style| hidden_styles.contains(&style)),
                    })
                }
                "tracked-changes" => None,
                _ => continue,
            },
            Event::Eof => break,
            _ => continue,
        };
        let Some(table) = table else {
            xml.skip()?;
            continue;
        };
        if wanted.map_or(table.is_hidden, |wanted| wanted != table.name) {
            xml.skip()?;
            names.push(table);
            continue;
        }
        let mut rows = Rows::new(file, &table.name);
        read_table(&mut xml, &mut rows)?;
        let rows = rows.rows;
        if !rows.is_empty() {
            return Ok(Sheet { name: table.name, rows });
        }
        names.push(table);
    }
    drop(xml);
    // Where a sheet is stated and was not there, this says so.
    to_try(file, &names, wanted)?;
    Err(nothing_in(file, wanted))
}

/// Fails where the content is encrypted, in words that say so.
fn check_password(package: &mut Package<'_>) -> Result<(), ExportError> {
    if !package.has(MANIFEST) {
        return Ok(());
    }
    let file = package.file;
    package.each_start(MANIFEST, |start| match start.local_name().as_ref() {
        "encryption-data" => Err(super::super::kind::wrong(
            file,
            "a workbook under a password",
            "Save it without the password, as ods, xlsx or CSV.",
        )),
        _ => Ok(()),
    })
}

/// The table that has just begun, to its end.
fn read_table(xml: &mut Xml<'_>, rows: &mut Rows<'_>) -> Result<(), ExportError> {
    let outside = xml.depth() - 1;
    let mut number = 0;
    loop {
        let is_last = xml.depth() == outside + 1;
        let repeats = match xml.next()? {
            Event::Start(start) => match start.local_name().as_ref() {
                "table-row" => Some(repeats(&start, "number-rows-repeated")),
                // Pictures and forms may hold tables of their own.
                "shapes" | "forms" => None,
                _ => continue,
            },
            Event::End(_) if is_last => return Ok(()),
            _ => continue,
        };
        let Some(repeats) = repeats else {
            xml.skip()?;
            continue;
        };
        let cells = read_row(xml, rows, number + 1)?;
        let Some(next) =
            repeats.and_then(|repeats| number.checked_add(repeats)).filter(|it| *it <= MAX_POSITION)
        else {
            return Err(broken(xml.place(), "a row is repeated without end", "a sheet of an ordinary size"));
        };
        if !cells.is_empty() {
            for repeated in number + 1..=next {
                for (column, cell) in &cells {
                    rows.add(repeated, *column, cell.clone())?;
                }
            }
        }
        number = next;
    }
}

/// How often something stands; none where what is written is no number that is one.
fn repeats(start: &BytesStart<'_>, name: &str) -> Option<u64> {
    attribute(start, None, name).map_or(Some(1), |repeats| repeats.trim().parse().ok())
}

/// The filled cells of the row that has just begun.
fn read_row(xml: &mut Xml<'_>, rows: &Rows<'_>, number: u64) -> Result<Vec<(usize, Cell)>, ExportError> {
    let outside = xml.depth() - 1;
    let mut column: u64 = 0;
    let mut cells = Vec::new();
    loop {
        let is_last = xml.depth() == outside + 1;
        let head = match xml.next()? {
            Event::Start(start) => match start.local_name().as_ref() {
                "table-cell" => Some((CellHead::of(&start), repeats(&start, "number-columns-repeated"))),
                // Covered by a merged one: what it may hold is not seen.
                "covered-table-cell" => {
                    Some((CellHead::default(), repeats(&start, "number-columns-repeated")))
                }
                _ => None,
            },
            Event::End(_) if is_last => return Ok(cells),
            _ => continue,
        };
        let Some((head, repeats)) = head else {
            xml.skip()?;
            continue;
        };
        let text = read_text(xml)?;
        let Some(next) =
            repeats.and_then(|repeats| column.checked_add(repeats)).filter(|it| *it <= MAX_POSITION)
        else {
            return Err(broken(xml.place(), "a cell is repeated without end", "a sheet of an ordinary size"));
        };
        let cell = head.cell(&text).map_err(|expected| {
            let at = usize::try_from(column).unwrap_or(usize::MAX);
            let found =
                format!("{} as a value", crate::bad_row::shown(head.value.as_deref().unwrap_or_default()));
            broken(rows.cell_place(number, at), &found, expected)
        })?;
        if let Some(cell) = cell {
            for repeated in column..next {
                let repeated = usize::try_from(repeated).unwrap_or(usize::MAX);
                if repeated >= limits::MAX_COLUMNS {
                    const HINT: &str = "Remove what stands far to the right of the table.";
                    return Err(limits::too_many_columns(rows.row_place(number), HINT));
                }
                cells.push((repeated, cell.clone()));
            }
        }
        column = next;
    }
}

/// The attributes of a cell.
#[derive(Default)]
struct CellHead {
    kind: String,
    /// The value of its kind.
    value: Option<String>,
    is_formula: bool,
    is_error: bool,
}

impl CellHead {
    fn of(start: &BytesStart<'_>) -> Self {
        let kind = attribute(start, Some("office"), "value-type").unwrap_or_default();
        let name = match kind.as_str() {
            "date" => "date-value",
            "time" => "time-value",
            "boolean" => "boolean-value",
            "string" => "string-value",
            _ => "value",
        };
        Self {
            value: attribute(start, Some("office"), name),
            is_formula: attribute(start, Some("table"), "formula").is_some(),
            is_error: attribute(start, Some("calcext"), "value-type").as_deref() == Some("error"),
            kind,
        }
    }

    /// The cell, of its attributes and the text that it shows; none where it is empty. On an error, what was expected.
    fn cell(&self, text: &str) -> Result<Option<Cell>, &'static str> {
        if self.is_error || self.is_formula && is_error_text(text) {
            return Ok(Some(Cell::Error));
        }
        if self.is_formula && self.kind.is_empty() {
            return Ok(Some(Cell::NoValue(NO_VALUE)));
        }
        let value = self.value.as_deref();
        match self.kind.as_str() {
            "string" => Ok(Cell::text(value.unwrap_or(text))),
            "float" | "percentage" | "currency" => value.and_then(Cell::number).map(Some).ok_or("a number"),
            "boolean" => match value {
                Some("true") => Ok(Some(Cell::Bool(true))),
                Some("false") => Ok(Some(Cell::Bool(false))),
                _ => Err("true or false"),
            },
            "date" => {
                let value = value.ok_or("a date")?;
                Ok(iso_date(value).map(Cell::Moment).or_else(|| Cell::text(value)))
            }
            "time" => {
                let value = value.ok_or("a duration")?;
                Ok(iso_duration(value).map(Cell::Clock).or_else(|| Cell::text(value)))
            }
            _ => Ok(None),
        }
    }
}

/// Whether a formula shows an error; older programs say it in no other way.
fn is_error_text(text: &str) -> bool {
    const ERRORS: [&str; 7] = ["#N/A", "#VALUE!", "#REF!", "#DIV/0!", "#NUM!", "#NAME?", "#NULL!"];
    let text = text.trim();
    ERRORS.contains(&text) || text.strip_prefix("Err:").is_some_and(|code| code.parse::<u16>().is_ok())
}

/// The milliseconds of a duration such as `PT09H30M00.5S`; none where it is negative, or has months.
fn iso_duration(text: &str) -> Option<u64> {
    let (mut rest, mut is_time, mut milliseconds) = (text.trim().strip_prefix('P')?, false, 0.0);
    while !rest.is_empty() {
        if let Some(behind) = rest.strip_prefix('T') {
            (rest, is_time) = (behind, true);
            continue;
        }
        let end = rest.find(|character: char| !character.is_ascii_digit() && character != '.')?;
        let number: f64 = rest[..end].replace(',', ".").parse().ok()?;
        let unit = match (rest.as_bytes()[end], is_time) {
            (b'D', false) => 86_400_000.0,
            (b'H', true) => 3_600_000.0,
            (b'M', true) => 60_000.0,
            (b'S', true) => 1_000.0,
            _ => return None,
        };
        milliseconds += number * unit;
        rest = &rest[end + 1..];
    }
    // Some million years; beyond it the count is not exact.
    const LIMIT: f64 = 9_007_199_254_740_992.0;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "not negative, and within the bounds"
    )]
    (milliseconds < LIMIT).then(|| milliseconds.round() as u64)
}

/// The text that the cell shows which has just begun, to its end: paragraphs by line breaks, blanks that are written as
/// marks, no comments and no pictures.
fn read_text(xml: &mut Xml<'_>) -> Result<String, ExportError> {
    let outside = xml.depth() - 1;
    let mut text = String::new();
    let mut paragraphs = 0;
    // How deep the paragraph is that is open.
    let mut paragraph = None;
    loop {
        let piece = xml.next()?;
        let mut is_known = true;
        let mut is_left_out = false;
        match &piece {
            Event::Start(start) => match (start.local_name().as_ref(), paragraph) {
                ("p" | "h", None) => {
                    if paragraphs > 0 {
                        text.push('\n');
                    }
                    paragraphs += 1;
                    paragraph = Some(());
                }
                ("s", Some(())) => {
                    let blanks = attribute(start, None, "c").map_or(Some(1), |blanks| blanks.parse().ok());
                    let blanks =
                        blanks.filter(|blanks| *blanks <= MAX_CELL_BYTES).unwrap_or(MAX_CELL_BYTES + 1);
                    if blanks <= MAX_CELL_BYTES {
                        text.extend(std::iter::repeat_n(' ', blanks));
                    } else {
                        return Err(limits::long_cell(xml.place(), "Shorten it."));
                    }
                }
                ("tab", Some(())) => text.push('\t'),
                ("line-break", Some(())) => text.push('\n'),
                ("span" | "a" | "meta" | "meta-field" | "ruby" | "ruby-base", Some(())) => {}
                // Fields such as a date or the name of the sheet show their text.
                ("date" | "time" | "sheet-name" | "title" | "page-number", Some(())) => {}
                _ => is_left_out = true,
            },
            Event::End(end) if matches!(end.local_name().as_ref(), "p" | "h") => paragraph = None,
            piece if paragraph.is_some() => is_known = push_text(piece, &mut text),
            _ => {}
        }
        drop(piece);
        xml.check_text(is_known, &text)?;
        if is_left_out {
            xml.skip()?;
        }
        if xml.depth() == outside {
            return Ok(text);
        }
    }
}
