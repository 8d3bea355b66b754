//! Any export that an owner can download, as records: CSV and its like, xlsx, ods, JSON, JSON Lines.
//!
//! Told by its content first and by its name second. Of JSON the document is handed on as it is, of JSON Lines a list of
//! the objects, of a table a list of one object a row: name of the column to cell, in the header's order. Must not know:
//! what a column means, or what is made of a record. Start reading at [`read_bytes`]; `kind` tells what a file is,
//! `encoding` makes text of bytes, `text` splits it, `workbook` opens spreadsheets, `table` finds the header and makes
//! the records, `json` reads JSON, `limits` holds the limits.
//!
//! # Text
//!
//! - The encoding is UTF-8 or UTF-16 by its mark; UTF-16 without one where every second byte is zero; UTF-8 where the
//!   bytes are that; else Windows-1252. A file that is mostly UTF-8 with some broken bytes is an error, not
//!   Windows-1252: names would be read wrongly in silence.
//! - The separator is the one of `,` `;` tab `|` that gives the same number of cells (more than one) in the most of the
//!   first records; a first line `sep=;` decides. Cells are quoted as RFC 4180 has it. Where none does, the table has
//!   one column.
//! - A cell is the text that stands there, without white space at its ends. An empty one is left out of its object.
//!
//! # Spreadsheets
//!
//! - The first sheet is read that is not hidden and has a filled cell. Rows and columns that are hidden are read;
//!   cells that a merged one covers are empty.
//! - A text is a text, without white space at its ends. A whole number is an integer; any other the shortest decimal
//!   that means the same binary number. Booleans are booleans. Errors such as `#N/A` are left out.
//! - A date is a text, `2026-11-24`, where every date of its column (below the header) is at midnight, and otherwise
//!   `2026-11-24T09:30:00`, also those of that column that are at midnight. It is local: no offset is known. Fractions of
//!   a second are kept to the millisecond, where they are not zero. A time of day or a duration is `09:30:00`; its hours
//!   may be above 24.
//! - A formula is its value as the file has it. Where the file has none, or says that all of them are out of date, that
//!   is an error that names the cell.
//! - Nothing outside the file is ever followed, no macro is run, and no entity is expanded: a file that declares some
//!   is refused.
//!
//! # The header
//!
//! The first row, among the first 20 that hold anything, that has at least half as many filled cells as the widest row
//! has cells (and more than one, where that has several), all with texts that are neither numbers nor dates, more than half of them different, and which a row with a quarter as
//! many cells follows, or nothing. What stands above it is left out; but where a row above it is as full as it is, and
//! is not headings over groups of columns, nothing is guessed. White space in a name collapses to one blank. A column
//! without a name is `column 3`, by its number in the file; a name that stands again gets ` (2)`. Columns without a name
//! in which nothing stands are left out. Wholly empty rows are passed over, and so are rows that say the header
//! in all columns again (on each page) and those that are sums of others: the first cell says that alone ('Total'), half of
//! the cells or more are empty, and each of the others is the sum of the cells above it, from the last such row on or from
//! the first row. The numbers of these rows are told. Any other row below the header is a record.

mod encoding;
mod error;
mod json;
mod kind;
mod limits;
mod table;
mod text;
mod workbook;

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

use serde::{Deserialize, Serialize};
use serde_json::Value;

pub use error::{ExportError, Place, Spot};
pub use limits::{
    MAX_CELL_BYTES, MAX_COLUMNS, MAX_NAME_BYTES, MAX_ROWS, MAX_TEXT_BYTES, MAX_UNPACKED_BYTES,
    MAX_WORKBOOK_BYTES,
};

use kind::Content;

/// What an export holds, and how that was read.
#[derive(Clone, PartialEq, Debug)]
pub struct Export {
    /// How it was read.
    pub form: Form,
    /// JSON: the document. JSON Lines and tables: a list of objects.
    pub value: Value,
    /// The columns of a table, in the file's order; the names in the objects are these.
    pub header: Option<Vec<String>>,
    /// For each record of JSON Lines or of a table, in their order, the line (text) or the row (sheet) on which it
    /// begins, from 1, as an editor or a spreadsheet program counts them. Of a JSON document, empty.
    pub lines: Vec<u64>,
    /// Likewise the rows of a table that are no records: the header again, and sums.
    pub passed_over: Vec<u64>,
}

/// The kind of a file.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Kind {
    /// Text with a record a line: CSV and its like.
    Text,
    /// An Office Open XML workbook.
    Xlsx,
    /// An OpenDocument spreadsheet.
    Ods,
    /// One JSON document.
    Json,
    /// One JSON object a line.
    JsonLines,
}

impl Kind {
    fn words(self) -> &'static str {
        match self {
            Self::Text => "a table in a text",
            Self::Xlsx => "an xlsx workbook",
            Self::Ods => "an ods workbook",
            Self::Json => "JSON",
            Self::JsonLines => "JSON Lines",
        }
    }
}

/// How an export was read: what was stated, and what was decided where nothing was.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Form {
    /// What it is.
    pub kind: Kind,
    /// Text and JSON: the encoding, by its name in the Encoding Standard of the WHATWG, such as `UTF-8`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub encoding: Option<String>,
    /// Text: what separates the cells. None: a table of one column.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub separator: Option<char>,
    /// Spreadsheets: the name of the sheet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// Tables: the line or row of the header, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub header_row: Option<u64>,
}

/// How many rows are named that were passed over.
const SHOWN_ROWS: usize = 10;

impl Export {
    /// Says which rows of a table were passed over; `None` where none was.
    pub fn says_passed_over(&self) -> Option<String> {
        let rows = self.passed_over.len();
        if rows == 0 {
            return None;
        }
        let shown: Vec<String> = self.passed_over.iter().take(SHOWN_ROWS).map(u64::to_string).collect();
        let more = if rows > SHOWN_ROWS { " and others" } else { "" };
        let (rows, are) = match rows {
            1 => ("1 row".to_owned(), "it says the header again, or adds up those above it"),
            _ => (format!("{rows} rows"), "they say the header again, or add up those above them"),
        };
        Some(format!("{rows} passed over, for {are}: {}{more}", shown.join(", ")))
    }
}

impl Form {
    fn of(kind: Kind) -> Self {
        Self { kind, encoding: None, separator: None, sheet: None, header_row: None }
    }

    /// States all that was decided, so that the next export of this form is read the same way.
    #[must_use]
    pub fn stated(&self) -> Stated {
        let Self { kind: _, encoding, separator, sheet, header_row } = self.clone();
        Stated { encoding, separator, sheet, header_row }
    }
}

/// What the owner states of an export. What is stated is not guessed; what does not fit the file is an error.
#[derive(Clone, PartialEq, Eq, Default, Debug, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Stated {
    /// Text and JSON: the encoding, by a name that the Encoding Standard of the WHATWG knows.
    pub encoding: Option<String>,
    /// Text: what separates the cells; a mark or a blank of ASCII. It says that the file is a table.
    pub separator: Option<char>,
    /// Spreadsheets: the name of the sheet, which may be a hidden one.
    pub sheet: Option<String>,
    /// Tables: the line or row on which the header begins, from 1.
    pub header_row: Option<u64>,
}

impl Stated {
    /// Fails where something is stated that a file of this kind does not have.
    fn check(&self, file: &str, kind: Kind) -> Result<(), ExportError> {
        let is_workbook = matches!(kind, Kind::Xlsx | Kind::Ods);
        let is_table = is_workbook || kind == Kind::Text;
        let misfit = [
            ("encoding", self.encoding.is_some() && is_workbook),
            ("separator", self.separator.is_some() && kind != Kind::Text),
            ("sheet", self.sheet.is_some() && !is_workbook),
            ("header row", self.header_row.is_some() && !is_table),
        ];
        match misfit.into_iter().find(|(_, is_misfit)| *is_misfit) {
            Some((what, _)) => Err(ExportError::Misstated {
                place: Place::file(file),
                found: format!("the {what} is stated, and the file is {}", kind.words()),
                expected: "a file of the form that is stated".to_owned(),
                hint: format!("Export it in that form again, or state no {what}."),
            }),
            None => Ok(()),
        }
    }
}

/// Reads an export from a file.
///
/// # Errors
/// [`ExportError`] where it is not a file, too large (before it is read), or cannot be read as [`read_bytes`] says.
pub fn read_export(path: &Path, stated: &Stated) -> Result<Export, ExportError> {
    let unreadable = |source: io::Error| ExportError::Unreadable { path: path.to_owned(), source };
    let metadata = match fs::metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return Err(ExportError::NotThere { path: path.to_owned() });
        }
        metadata => metadata.map_err(unreadable)?,
    };
    let not_a_file = |found, hint| Err(ExportError::NotAFile { path: path.to_owned(), found, hint });
    if metadata.is_dir() {
        return not_a_file("a folder", "Give one of the files in it.");
    }
    // A pipe or a device could be read for ever.
    if !metadata.is_file() {
        return not_a_file("a pipe or a device", "Save what comes out of it as a file first.");
    }
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
    check_size(&name, metadata.len(), MAX_TEXT_BYTES)?;
    let mut file = File::open(path).map_err(unreadable)?;
    let mut bytes = Vec::new();
    let mut read = |up_to: u64, bytes: &mut Vec<u8>| Read::take(&mut file, up_to).read_to_end(bytes);
    read(kind::ZIP.len() as u64, &mut bytes).map_err(unreadable)?;
    let limit = limit_of(&bytes);
    check_size(&name, metadata.len(), limit)?;
    // One byte more than the limit, so that a file that grows meanwhile is noticed.
    read(limit + 1 - bytes.len() as u64, &mut bytes).map_err(unreadable)?;
    read_bytes(&name, bytes, stated)
}

/// Reads an export from memory. `name` is the name of its file, with its ending.
///
/// The same bytes, name and statements give the same answer. Never panics, whatever the bytes.
///
/// # Errors
/// [`ExportError`] where the kind of file is not read, a limit is passed, the file breaks the rules of its form, no header
/// is found, or something stated does not fit.
pub fn read_bytes(name: &str, bytes: Vec<u8>, stated: &Stated) -> Result<Export, ExportError> {
    check_size(name, bytes.len() as u64, limit_of(&bytes))?;
    if bytes.is_empty() {
        return Err(ExportError::Empty { place: Place::file(name), found: "the file is empty" });
    }
    if bytes.starts_with(kind::ZIP) {
        return workbook::read(name, bytes, stated);
    }
    kind::check_bytes(name, &bytes)?;
    let (text, encoding) = encoding::decode(name, bytes, stated.encoding.as_deref())?;
    if text.trim().is_empty() {
        return Err(ExportError::Empty {
            place: Place::file(name),
            found: "the file holds no more than blanks",
        });
    }
    let mut export = match kind::of_text(name, &text, stated.separator.is_some())? {
        Content::Table => {
            stated.check(name, Kind::Text)?;
            text::read(name, &text, stated)?
        }
        Content::Json => {
            stated.check(name, Kind::Json)?;
            json::read_document(name, &text)?
        }
        Content::JsonLines => {
            stated.check(name, Kind::JsonLines)?;
            json::read_lines(name, &text)?
        }
    };
    export.form.encoding = Some(encoding.to_owned());
    Ok(export)
}

fn limit_of(start: &[u8]) -> u64 {
    if start.starts_with(kind::ZIP) { MAX_WORKBOOK_BYTES } else { MAX_TEXT_BYTES }
}

fn check_size(name: &str, bytes: u64, limit: u64) -> Result<(), ExportError> {
    if bytes > limit { Err(limits::too_large(name, bytes, limit)) } else { Ok(()) }
}
