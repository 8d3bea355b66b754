//! What no skipping of rows can help.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

/// Why a folder cannot be read at all. Each says where, what was found, what was expected and what to do next.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum FolderError {
    /// There is no such folder.
    #[error("{}: there is no such folder; expected a folder of exchange files. Check the path.", .dir.display())]
    NotThere {
        /// The path that was given.
        dir: PathBuf,
    },
    /// The path leads to a file.
    #[error(
        "{}: this is a file; expected the folder in which the exchange files stand. Give the folder.",
        .path.display()
    )]
    NotAFolder {
        /// The path that was given.
        path: PathBuf,
    },
    /// The folder or a file cannot be read.
    #[error("{}: cannot be read ({source}). Check that it is there and that you may read it.", .path.display())]
    Unreadable {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A file of which it is not clear how it is written.
    #[error(
        "{}: its name says neither CSV nor JSON Lines; expected a name that ends in .csv or .jsonl. Rename it, or export \
         the table in one of these forms.", .path.display()
    )]
    NoTable {
        /// The file.
        path: PathBuf,
    },
    /// No file is there for a request of a source.
    #[error(
        "{}: there is no file {name}, which the request {request} of the mapping reads. Export it into the folder, or \
         correct `file` of that request.", .dir.display()
    )]
    NoExport {
        /// The folder.
        dir: PathBuf,
        /// The request.
        request: String,
        /// The name of the file, perhaps with stars.
        name: String,
    },
    /// A sample is none of the files that a mapping reads.
    #[error("{file}: the mapping reads no file of this name; it reads {known}. Give one of those.")]
    NotMeant {
        /// The file.
        file: String,
        /// The names of those that are read, perhaps with stars.
        known: String,
    },
    /// An export cannot be read.
    #[error(transparent)]
    Export(#[from] crate::export::ExportError),
    /// What stands in an export is not what the mapping says.
    #[error("{file}: {found}. Correct the mapping, or look whether this is the right file.")]
    NotAsDeclared {
        /// The file.
        file: String,
        /// A clause: what is wrong.
        found: String,
    },
    /// One table in two forms.
    #[error("{first} and {second}: the table {table} is given twice; expected one file. Remove one of them.")]
    GivenTwice {
        /// The table.
        table: String,
        /// One file.
        first: String,
        /// The other.
        second: String,
    },
    /// `orders` or `order_lines` is not there.
    #[error(
        "{}: the table {table} is missing; expected {table}.csv or {table}.jsonl. {hint}", .dir.display()
    )]
    TableMissing {
        /// The folder.
        dir: PathBuf,
        /// The table.
        table: String,
        /// What to do next.
        hint: String,
    },
    /// A table is given, and one to whose rows its rows belong is not.
    #[error(
        "{file}: the table {table} needs {needs}, which is missing; expected {needs}.csv or {needs}.jsonl beside \
         it. Export it for the same days, or remove {file}."
    )]
    ParentTableMissing {
        /// The file that is there.
        file: String,
        /// Its table.
        table: String,
        /// The table that is not there.
        needs: String,
    },
    /// Orders alone say nothing.
    #[error(
        "{}: there is nothing to compare the orders with; expected links, variants or submissions. Export at least \
         one of these tables into the folder.", .dir.display()
    )]
    NothingToCompare {
        /// The folder.
        dir: PathBuf,
    },
    /// A file without a header.
    #[error(
        "{file}: the file is empty; expected a header with the columns {columns}. Export the table again."
    )]
    EmptyFile {
        /// The file.
        file: String,
        /// The required columns.
        columns: String,
    },
    /// A header that cannot be split into names.
    #[error("{file}, line {line}: {found} in the header; expected {expected}. {hint}")]
    HeaderUnreadable {
        /// The file.
        file: String,
        /// The line of the header.
        line: u64,
        /// What stands there.
        found: String,
        /// What should.
        expected: String,
        /// What to do next.
        hint: String,
    },
    /// Columns that every row needs.
    #[error("{file}, line {line}: the header has no column {columns}; expected {expected}. {hint}")]
    ColumnMissing {
        /// The file.
        file: String,
        /// The line of the header.
        line: u64,
        /// The columns that it lacks, listed.
        columns: String,
        /// The columns that must be there.
        expected: String,
        /// What to do next.
        hint: String,
    },
    /// A header that names a column twice, so that it is not known which one is meant.
    #[error(
        "{file}, line {line}: the header names the column {column} twice; expected each column once. Remove or \
         rename one of them."
    )]
    ColumnTwice {
        /// The file.
        file: String,
        /// The line of the header.
        line: u64,
        /// The column.
        column: String,
    },
    /// A file that was written while it was read.
    #[error(
        "{file}: the file changed while it was being read. Wait until the export is complete, and run it again."
    )]
    Changed {
        /// The file.
        file: String,
    },
    /// Another encoding, or no text.
    #[error("{file}, line 1: {found}; expected text in UTF-8. Export or save the table again as UTF-8.")]
    NotUtf8 {
        /// The file.
        file: String,
        /// What the first bytes look like.
        found: String,
    },
}

/// Why a file was not read to its end.
#[derive(Debug)]
pub(crate) enum Stopped {
    /// It cannot be used.
    Unusable(FolderError),
    /// The system does not give it.
    Unreadable(io::Error),
}

impl From<FolderError> for Stopped {
    fn from(error: FolderError) -> Self {
        Self::Unusable(error)
    }
}

impl From<io::Error> for Stopped {
    fn from(error: io::Error) -> Self {
        Self::Unreadable(error)
    }
}
