//! Why an export could not be read, and where.

use std::fmt;
use std::io;
use std::path::PathBuf;

use thiserror::Error;

use crate::bad_row::shown;

/// Where in an export.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Place {
    /// The name of the file, without its folder.
    pub file: String,
    /// The sheet, in a workbook.
    pub sheet: Option<String>,
    /// Where in it.
    pub spot: Spot,
}

/// Where in a file or a sheet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Spot {
    /// The whole of it.
    Whole,
    /// The line of a text, from 1.
    Line(u64),
    /// The line and the column of a text, in bytes, both from 1.
    LineColumn(u64, u64),
    /// The row of a sheet, from 1.
    Row(u64),
    /// The cell of a sheet, such as `C7`.
    Cell(String),
    /// A file within a workbook, such as `xl/workbook.xml`.
    Part(String),
}

impl Place {
    fn new(file: &str, sheet: Option<&str>, spot: Spot) -> Box<Self> {
        Box::new(Self { file: file.to_owned(), sheet: sheet.map(str::to_owned), spot })
    }

    pub(super) fn file(file: &str) -> Box<Self> {
        Self::new(file, None, Spot::Whole)
    }

    pub(super) fn line(file: &str, line: u64) -> Box<Self> {
        Self::new(file, None, Spot::Line(line))
    }

    pub(super) fn line_column(file: &str, line: u64, column: u64) -> Box<Self> {
        Self::new(file, None, Spot::LineColumn(line, column))
    }

    pub(super) fn part(file: &str, part: &str) -> Box<Self> {
        Self::new(file, None, Spot::Part(part.to_owned()))
    }

    pub(super) fn sheet(file: &str, sheet: &str, spot: Spot) -> Box<Self> {
        Self::new(file, Some(sheet), spot)
    }
}

/// `orders.csv, line 17`; `orders.xlsx, sheet "Orders", cell C7`.
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(sheet) = &self.sheet {
            write!(f, ", sheet {}", shown(sheet))?;
        }
        match &self.spot {
            Spot::Whole => Ok(()),
            Spot::Line(line) => write!(f, ", line {line}"),
            Spot::LineColumn(line, column) => write!(f, ", line {line}, column {column}"),
            Spot::Row(row) => write!(f, ", row {row}"),
            Spot::Cell(cell) => write!(f, ", cell {cell}"),
            Spot::Part(part) => write!(f, ", its part {}", shown(part)),
        }
    }
}

/// Why an export could not be read. Each says where, what was found, what was expected and what to do next; of what
/// stands in a cell, no more than its beginning.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ExportError {
    /// There is no such file.
    #[error("{}: there is no such file; expected an export. Check the path.", .path.display())]
    NotThere {
        /// The path that was given.
        path: PathBuf,
    },
    /// The path leads to something else than a file.
    #[error("{}: this is {found}; expected a file. {hint}", .path.display())]
    NotAFile {
        /// The path that was given.
        path: PathBuf,
        /// What is there.
        found: &'static str,
        /// What to do next.
        hint: &'static str,
    },
    /// The system does not give it.
    #[error("{}: cannot be read ({source}). Check that it is there and that you may read it.", .path.display())]
    Unreadable {
        /// The path that was given.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// Nothing is in it.
    #[error("{place}: {found}; expected a header and rows below it, or JSON. Export it again.")]
    Empty {
        /// The file or the sheet.
        place: Box<Place>,
        /// What is there.
        found: &'static str,
    },
    /// A kind of file that is not read.
    #[error(
        "{file}: this is {found}; expected text (CSV, JSON, JSON Lines) or a workbook (xlsx, ods). {hint}"
    )]
    WrongKind {
        /// The file.
        file: String,
        /// What it is.
        found: String,
        /// What to do next.
        hint: String,
    },
    /// A workbook with macros.
    #[error(
        "{file}: the workbook holds macros ({part}), which are never run; expected one without. Save it as an \
         ordinary xlsx or ods workbook, without macros, or as CSV."
    )]
    Macros {
        /// The file.
        file: String,
        /// What in it says so.
        part: String,
    },
    /// A limit that is passed.
    #[error("{place}: {found}; expected {expected}. {hint}")]
    OverLimit {
        /// Where.
        place: Box<Place>,
        /// What is there.
        found: String,
        /// The limit.
        expected: String,
        /// What to do next.
        hint: String,
    },
    /// Bytes that are no text in the encoding.
    #[error("{place}: {found}; expected {expected}. {hint}")]
    NotText {
        /// The line.
        place: Box<Place>,
        /// What stands there.
        found: String,
        /// What should.
        expected: String,
        /// What to do next.
        hint: String,
    },
    /// What breaks the rules of its form.
    #[error("{place}: {found}; expected {expected}. {hint}")]
    Broken {
        /// Where.
        place: Box<Place>,
        /// What stands there.
        found: String,
        /// What should.
        expected: String,
        /// What to do next.
        hint: String,
    },
    /// A name that stands twice in one JSON object.
    #[error("{place}: the name {} stands twice in one object; expected each name once. {hint}", shown(.key))]
    KeyTwice {
        /// Where the second one stands.
        place: Box<Place>,
        /// The name.
        key: String,
        /// What to do next.
        hint: &'static str,
    },
    /// No row that could be the header, or several.
    #[error("{place}: {found}; expected a row with the names of the columns. {hint}")]
    NoHeader {
        /// The file or the sheet; the row, where one was stated.
        place: Box<Place>,
        /// What is there.
        found: String,
        /// What to do next.
        hint: String,
    },
    /// A row with more cells than the header.
    #[error("{place}: {found}; expected no more cells than the header has ({columns}). {hint}")]
    TooManyCells {
        /// The line, or the cell.
        place: Box<Place>,
        /// What is there.
        found: String,
        /// How many columns the header has.
        columns: usize,
        /// What to do next.
        hint: &'static str,
    },
    /// A formula of which the value is not in the file.
    #[error(
        "{place}: {found}; expected the value. Open the workbook in a spreadsheet program, save it, and read it again."
    )]
    NoValue {
        /// The cell.
        place: Box<Place>,
        /// What is there.
        found: &'static str,
    },
    /// What was stated of the file does not fit it.
    #[error("{place}: {found}; expected {expected}. {hint}")]
    Misstated {
        /// The file.
        place: Box<Place>,
        /// What was stated.
        found: String,
        /// What could be.
        expected: String,
        /// What to do next.
        hint: String,
    },
}
