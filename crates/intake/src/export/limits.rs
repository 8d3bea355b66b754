//! How large an export may be.
//!
//! Each limit is far above what one shop exports, and what is above it is refused with words, before or while it is
//! read, never after. Must not know: what an export holds.

use super::error::{ExportError, Place};

/// The largest text file, in bytes: some two million rows of an ordinary width. It is read as a whole.
pub const MAX_TEXT_BYTES: u64 = 256 << 20;

/// The largest spreadsheet file as it lies on the disk, in bytes. Packed, it holds about ten times as much.
pub const MAX_WORKBOOK_BYTES: u64 = 64 << 20;

/// How many bytes the parts of a spreadsheet file that are read may unpack to, all together: twice the largest text,
/// since XML is wordy. Counted while unpacking; what the file says of itself is only believed where it is too much.
pub const MAX_UNPACKED_BYTES: u64 = 512 << 20;

/// The most columns of a table. Exports have some dozens; more is nearly always a wrong separator.
pub const MAX_COLUMNS: usize = 1_000;

/// The most rows of a table, and lines of JSON Lines.
pub const MAX_ROWS: usize = 2_000_000;

/// The longest cell, and the longest text in JSON, in bytes. Descriptions of goods take some thousands; a longer cell is
/// nearly always a quote that was opened and not closed.
pub const MAX_CELL_BYTES: usize = 1 << 20;

/// The longest name of a column, in bytes: it is repeated in every record.
pub const MAX_NAME_BYTES: usize = 1_000;

/// The longest piece of XML between two marks, in bytes: a cell of the largest size with all its characters escaped.
pub(super) const MAX_XML_PIECE_BYTES: u64 = 8 * MAX_CELL_BYTES as u64;

/// The most parts of a spreadsheet file; ordinary ones have some dozens.
pub(super) const MAX_PARTS: usize = 10_000;

/// What the records of a text may take, by the count of [`Weight`], in bytes: some 16 million cells. A text of
/// [`MAX_TEXT_BYTES`] with cells of ordinary length stays about there. It bounds what many short values grow to, such as
/// millions of empty lists.
const MAX_TEXT_RECORD_BYTES: u64 = 3 << 30;

/// What the cells of a workbook may take, and again its records, likewise: some 6 million cells. It is less than that
/// of a text, since a few bytes may stand for much: one long text in every cell, one row repeated a million times.
const MAX_WORKBOOK_RECORD_BYTES: u64 = 1280 << 20;

/// About what one value takes beside its text, in bytes: the value itself, its name's own copy and its place in a map.
/// Measured: 600,000 records of 20 short cells take 2.8 GB.
const BYTES_PER_VALUE: u64 = 200;

/// Counts what records take in memory, roughly.
#[derive(Debug)]
pub(super) struct Weight {
    bytes: u64,
    limit: u64,
}

impl Weight {
    /// Of a text.
    pub(super) fn of_text() -> Self {
        Self { bytes: 0, limit: MAX_TEXT_RECORD_BYTES }
    }

    /// Of a workbook.
    pub(super) fn of_workbook() -> Self {
        Self { bytes: 0, limit: MAX_WORKBOOK_RECORD_BYTES }
    }

    /// Counts one value and the bytes of its text and its name. False where that is too much.
    #[must_use]
    pub(super) fn add(&mut self, text_bytes: usize) -> bool {
        self.bytes = self.bytes.saturating_add(BYTES_PER_VALUE).saturating_add(text_bytes as u64);
        self.bytes <= self.limit
    }

    /// The error where it is too much.
    pub(super) fn too_much(&self, place: Box<Place>) -> ExportError {
        over(
            place,
            format!("what is read up to here takes more than {} MB of memory", self.limit >> 20),
            "an export that fits".to_owned(),
            "Export fewer days or fewer columns at a time.",
        )
    }
}

/// The error where a table has too many rows.
pub(super) fn too_many_rows(place: Box<Place>) -> ExportError {
    over(
        place,
        format!("there are more than {MAX_ROWS} rows"),
        format!("{MAX_ROWS} rows at most"),
        "Export fewer days at a time.",
    )
}

/// The error where a cell is too long.
pub(super) fn long_cell(place: Box<Place>, hint: &'static str) -> ExportError {
    let mega = MAX_CELL_BYTES >> 20;
    over(place, format!("a cell is longer than {mega} MB"), format!("{mega} MB at most"), hint)
}

/// The error where a row has too many cells.
pub(super) fn too_many_columns(place: Box<Place>, hint: &'static str) -> ExportError {
    over(
        place,
        format!("the row has more than {MAX_COLUMNS} cells"),
        format!("{MAX_COLUMNS} columns at most"),
        hint,
    )
}

/// The error where the file is too large.
pub(super) fn too_large(file: &str, bytes: u64, limit: u64) -> ExportError {
    over(
        Place::file(file),
        format!("the file has {bytes} bytes"),
        format!("{} MB at most", limit >> 20),
        "Export fewer days at a time.",
    )
}

/// The error of any limit.
pub(super) fn over(place: Box<Place>, found: String, expected: String, hint: &'static str) -> ExportError {
    ExportError::OverLimit { place, found, expected, hint: hint.to_owned() }
}
