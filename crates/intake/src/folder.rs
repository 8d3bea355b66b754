//! A folder of exchange files to a book: table after table, what is left out, what belongs together.
//!
//! Must not know: how a file is split into cells, or what a cell means. Start reading at [`read_folder`].
//! Source: README.md, 'The tables'.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

use chrono_tz::Tz;
use model::book::{
    LinkRow, ListingProduct, Offer, Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie,
    Variant,
};
use model::outcome::{Notice, Topic};
use model::{Book, Rules};

use crate::bad_row::{BadRow, Fault, shown};
use crate::build::{KeyedLink, TableRow};
use crate::cells::Cells;
use crate::error::{FolderError, Stopped};
use crate::files::{Files, TableFile, counted};
use crate::keys::{self, Placed};
use crate::lines::{Lines, Meter, Progress};
use crate::nearest::nearest;
use crate::not_judged::{self, Standing};
use crate::parents;
use crate::row::Row;
use crate::skipped::{LeftOut, Skipped};
use crate::tables::{Table, UnknownNames};
use crate::{csv, json_lines};

/// How much of a file is taken from the system at once.
const BUFFER_BYTES: usize = 256 * 1024;

/// What reading depends on.
#[derive(Clone, Copy, Debug)]
pub struct ReadSettings<'a> {
    /// The shop's zone, for times that are a date alone.
    pub zone: Tz,
    /// How references are written, for telling which orders a row that is left out names.
    pub rules: &'a Rules,
}

/// What was read.
#[derive(Debug)]
pub struct Folder {
    /// The rows that could be read and belong together. Each table is sorted by its key.
    pub book: Book,
    /// The rows that could not, by table and line; at most [`crate::KEPT_BAD_ROWS`].
    pub bad_rows: Vec<BadRow>,
    /// How many rows could not be read.
    pub bad_row_count: u64,
    /// How many rows there were, headers and blank lines apart.
    pub rows_read: u64,
    /// How many rows were left out: those that could not be read, and those that belong to one of them.
    pub rows_skipped: u64,
    /// What the owner should know of the files.
    pub notices: Vec<Notice>,
}

/// Reads the exchange files of a folder.
///
/// Always reads to the end: rows that cannot be read are reported in the answer and left out of the book, with the
/// rows that belong to them, and `book.not_judged` holds every order that such a row names. Whether to go on with
/// the rest is for the caller to decide. The order of rows does not change the book.
///
/// # Errors
/// [`FolderError`] where leaving out rows cannot help.
pub fn read_folder(
    dir: &Path,
    settings: &ReadSettings<'_>,
    progress: &mut (dyn FnMut(Progress) + Send),
) -> Result<Folder, FolderError> {
    let mut notices = Vec::new();
    let files = Files::find(dir, &mut notices)?;
    read_files(&files, settings, notices, progress)
}

/// The same of a folder that holds a part of what there is: any of the tables, with those that their rows belong to.
///
/// # Errors
/// As [`read_folder`].
pub fn read_part(
    dir: &Path,
    settings: &ReadSettings<'_>,
    progress: &mut (dyn FnMut(Progress) + Send),
) -> Result<Folder, FolderError> {
    let mut notices = Vec::new();
    let files = Files::find_part(dir, &mut notices)?;
    read_files(&files, settings, notices, progress)
}

fn read_files(
    files: &Files,
    settings: &ReadSettings<'_>,
    notices: Vec<Notice>,
    progress: &mut (dyn FnMut(Progress) + Send),
) -> Result<Folder, FolderError> {
    check_starts(files)?;
    let mut meter = Meter::new(files.bytes(), progress);
    let source = FileSource { zone: settings.zone, meter: &mut meter, rows_read: 0, notices };
    let mut desk = Desk::new(files, source);
    let mut folder = desk.read(settings.rules)?;
    files.check_unchanged()?;
    folder.rows_read = desk.source.rows_read;
    let notices = std::mem::take(&mut desk.source.notices);
    desk.tell(&mut folder, notices);
    meter.tell();
    Ok(folder)
}

/// Where rows come from.
pub(crate) trait Source {
    /// All rows of a table that can be read, and nothing where the table is not given; the others go into `left_out`.
    fn rows<T: TableRow>(
        &mut self,
        files: &Files,
        left_out: &mut LeftOut,
    ) -> Result<Option<Vec<Placed<T>>>, FolderError>;
}

/// Rows that are brought together to a book.
pub(crate) struct Desk<'f, S> {
    files: &'f Files,
    pub(crate) source: S,
    pub(crate) left_out: LeftOut,
    /// How many rows gave way to a later one.
    pub(crate) superseded: BTreeMap<Table, u64>,
}

impl<'f, S: Source> Desk<'f, S> {
    pub(crate) fn new(files: &'f Files, source: S) -> Self {
        Self { files, source, left_out: LeftOut::default(), superseded: BTreeMap::new() }
    }

    /// Reads all tables, a row's parents before the row. `rows_read` is left to whoever knows the source.
    pub(crate) fn read(&mut self, rules: &Rules) -> Result<Folder, FolderError> {
        let files = self.files;
        let file_of = |table| files.name_of(table);

        let orders = self.table::<Order>()?.unwrap_or_default();
        let order_lines = self.table::<OrderLine>()?.unwrap_or_default();
        let order_lines =
            parents::keep_with_parents(order_lines, &mut self.left_out, file_of, |row, left_out| {
                parents::of_order_line(row, left_out, &orders)
            });
        let offers = self.table::<Offer>()?;
        let variants = self.table::<Variant>()?;
        let listing_products = self.table::<ListingProduct>()?;
        let links = self.table::<KeyedLink>()?;
        let submissions = self.table::<Submission>()?;
        let sent = submissions.as_deref().unwrap_or_default();
        let submission_lines = self.table::<SubmissionLine>()?.map(|rows| {
            parents::keep_with_parents(rows, &mut self.left_out, file_of, |row, left_out| {
                parents::of_submission_line(row, left_out, sent)
            })
        });
        let sent_lines = submission_lines.as_deref().unwrap_or_default();
        let parcels = self.table::<Parcel>()?.map(|rows| {
            parents::keep_with_parents(rows, &mut self.left_out, file_of, |row, left_out| {
                parents::of_parcel(row, left_out, sent)
            })
        });
        let packed = parcels.as_deref().unwrap_or_default();
        let parcel_lines = self.table::<ParcelLine>()?.map(|rows| {
            parents::keep_with_parents(rows, &mut self.left_out, file_of, |row, left_out| {
                parents::of_parcel_line(row, left_out, packed, sent_lines)
            })
        });
        let ties = self.table::<Tie>()?.map(|rows| {
            parents::keep_with_parents(rows, &mut self.left_out, file_of, |row, left_out| {
                parents::of_tie(row, left_out, &order_lines, sent, sent_lines)
            })
        });

        let standing = Standing {
            orders: &orders,
            order_lines: &order_lines,
            submissions: sent,
            submission_lines: sent_lines,
            parcels: packed,
            ties: ties.as_deref().unwrap_or_default(),
            links: links.as_deref().unwrap_or_default(),
        };
        let named = not_judged::orders_named(&standing, &self.left_out.rows, rules);
        let notices = self.what_was_left_out(named.rows_untold);

        let left_out = std::mem::take(&mut self.left_out);
        let rows_skipped = left_out.rows.len() as u64;
        let (bad_rows, bad_row_count) = left_out.bad_rows.finish();
        let book = Book {
            orders: rows(orders),
            order_lines: rows(order_lines),
            offers: offers.map(rows),
            variants: variants.map(rows),
            listing_products: listing_products.map(rows),
            links: links.map(links_of),
            owner_links: Vec::new(),
            submissions: submissions.map(rows),
            submission_lines: submission_lines.map(rows),
            parcels: parcels.map(rows),
            parcel_lines: parcel_lines.map(rows),
            ties: ties.map(rows),
            not_judged: named.orders,
        };
        Ok(Folder { book, bad_rows, bad_row_count, rows_read: 0, rows_skipped, notices })
    }

    /// Adds what the owner should know of the files beside what reading them said.
    pub(crate) fn tell(&self, folder: &mut Folder, of_source: Vec<Notice>) {
        folder.notices.extend(of_source);
        folder.notices.extend(missing_submission_lines(self.files));
        folder.notices.extend(superseded(self.files, &self.superseded));
        folder.notices.sort();
    }

    /// Reads one table, if it is given, and leaves one row per key.
    pub(crate) fn table<T: TableRow>(&mut self) -> Result<Option<Vec<Placed<T>>>, FolderError> {
        let Some(read) = self.source.rows::<T>(self.files, &mut self.left_out)? else { return Ok(None) };
        let settled = keys::settle(read, "lines");
        let file = self.files.name_of(T::TABLE).unwrap_or_default();
        for (placed, fault) in settled.contradicting {
            let skipped = Skipped::read(T::TABLE, placed.row.names());
            self.left_out.report(file, placed.line, fault, skipped);
        }
        if !settled.superseded.is_empty() {
            self.superseded.insert(T::TABLE, settled.superseded.len() as u64);
        }
        Ok(Some(settled.standing))
    }

    fn what_was_left_out(&self, rows_untold: u64) -> Vec<Notice> {
        let mut notices = Vec::new();
        if rows_untold > 0 {
            let rows = counted(rows_untold, "row that was left out", "rows that were left out");
            let text = format!(
                "of {rows} it cannot be told which orders are named: an order may be judged although a row of it \
                 is missing"
            );
            notices.push(Notice { topic: Topic::SkippedRow, count: rows_untold, text });
        }
        for table in [Table::Offers, Table::Variants, Table::ListingProducts, Table::Links] {
            let count = self.left_out.rows.iter().filter(|row| row.table == table).count() as u64;
            let Some(file) = self.files.name_of(table).filter(|_| count > 0) else { continue };
            let rows = counted(count, "row was", "rows were");
            let text = format!(
                "{file}: {rows} left out, naming no order: what is said of any offer may be wrong where it rests \
                 on them"
            );
            notices.push(Notice { topic: Topic::SkippedRow, count, text });
        }
        notices
    }
}

pub(crate) fn rows<T>(placed: Vec<Placed<T>>) -> Vec<T> {
    placed.into_iter().map(|placed| placed.row).collect()
}

pub(crate) fn links_of(links: Vec<Placed<KeyedLink>>) -> Vec<LinkRow> {
    links.into_iter().map(|placed| placed.row.link).collect()
}

/// Rows straight out of the files.
pub(crate) struct FileSource<'m, 'p> {
    pub(crate) zone: Tz,
    pub(crate) meter: &'m mut Meter<'p>,
    pub(crate) rows_read: u64,
    pub(crate) notices: Vec<Notice>,
}

impl Source for FileSource<'_, '_> {
    fn rows<T: TableRow>(
        &mut self,
        files: &Files,
        left_out: &mut LeftOut,
    ) -> Result<Option<Vec<Placed<T>>>, FolderError> {
        let Some(file) = files.of(T::TABLE) else { return Ok(None) };
        let mut read: Vec<Placed<T>> = Vec::new();
        let (zone, rows_read) = (self.zone, &mut self.rows_read);
        let unknown = read_file(file, self.meter, &mut |row| {
            *rows_read += 1;
            match read_row(&row, zone) {
                Ok(value) => read.push(Placed { line: row.line, row: value }),
                Err(fault) => left_out.report(&file.name, row.line, fault, Skipped::unread(&row)),
            }
        })?;
        self.notices.extend(unknown_names(file, &unknown));
        Ok(Some(read))
    }
}

/// What a row says.
pub(crate) fn read_row<T: TableRow>(row: &Row<'_>, zone: Tz) -> Result<T, Fault> {
    match &row.broken {
        Some(fault) => Err(fault.clone()),
        None => T::read(&Cells::new(row, zone)),
    }
}

/// The names that a table does not know, and ignores.
pub(crate) fn unknown_names(file: &TableFile, unknown: &UnknownNames) -> Option<Notice> {
    if unknown.names.is_empty() {
        return None;
    }
    let known = || file.table.columns().iter().map(|(column, _)| column.name());
    let mut names = Vec::new();
    for name in &unknown.names {
        let guess = nearest(name, known()).map(|near| format!(" (did you mean {near}?)")).unwrap_or_default();
        names.push(format!("{}{guess}", shown(name)));
    }
    if unknown.and_more {
        names.push("and more".to_owned());
    }
    let count = unknown.names.len() as u64;
    let columns = counted(count, "column", "columns");
    let more = if unknown.and_more { "more than " } else { "" };
    let verb = if count == 1 { "is" } else { "are" };
    let text = format!("{}: {more}{columns} {verb} not known, and ignored: {}", file.name, names.join(", "));
    Some(Notice { topic: Topic::UnknownColumn, count, text })
}

/// Says it where what was sent is not known although submissions are.
pub(crate) fn missing_submission_lines(files: &Files) -> Option<Notice> {
    let is_missing = files.of(Table::Submissions).is_some() && files.of(Table::SubmissionLines).is_none();
    is_missing.then(|| Notice {
        topic: Topic::MissingTable,
        count: 1,
        text: "submissions were given without submission_lines: what was sent is not known; export \
               submission_lines for the same days"
            .to_owned(),
    })
}

/// Says how many rows gave way to a later one, by table.
pub(crate) fn superseded(files: &Files, counts: &BTreeMap<Table, u64>) -> Vec<Notice> {
    let notices = counts.iter().map(|(table, count)| {
        let rows = counted(*count, "row gave", "rows gave");
        let file = files.name_of(*table).unwrap_or_default();
        let text = format!("{file}: {rows} way to a later one for the same thing (by updated_at)");
        Notice { topic: Topic::SupersededRow, count: *count, text }
    });
    notices.collect()
}

/// Checks how each file begins, before any of them is read: which of two is told of does not depend on the order in
/// which they are read, and nobody waits for an error that stands in a first line.
pub(crate) fn check_starts(files: &Files) -> Result<(), FolderError> {
    let mut ignore = |_: Progress| {};
    for file in &files.given {
        let mut meter = Meter::new(0, &mut ignore);
        let lines = opened(file, &mut meter)?;
        if file.is_csv {
            csv::check_header(file.table, &file.name, lines).map_err(|stopped| file.stopped(stopped))?;
        }
    }
    Ok(())
}

/// Reads one file from its beginning to its end, and hands on each row.
pub(crate) fn read_file(
    file: &TableFile,
    meter: &mut Meter<'_>,
    on_row: &mut dyn FnMut(Row<'_>),
) -> Result<UnknownNames, FolderError> {
    let lines = opened(file, meter)?;
    let read = if file.is_csv {
        csv::read_rows(file.table, &file.name, lines, on_row)
    } else {
        json_lines::read_rows(file.table, lines, on_row).map_err(Stopped::from)
    };
    read.map_err(|stopped| file.stopped(stopped))
}

/// The lines of a file that begins like one in UTF-8.
fn opened<'m, 'p>(
    file: &TableFile,
    meter: &'m mut Meter<'p>,
) -> Result<Lines<'m, 'p, BufReader<File>>, FolderError> {
    let opened = File::open(&file.path).map_err(|source| file.unreadable(source))?;
    let mut reader = BufReader::with_capacity(BUFFER_BYTES, opened);
    check_encoding(file, reader.fill_buf().map_err(|source| file.unreadable(source))?)?;
    Ok(Lines::new(reader, meter))
}

/// Whether a file begins like one in UTF-8.
pub(crate) fn check_encoding(file: &TableFile, start: &[u8]) -> Result<(), FolderError> {
    if start.starts_with(b"\xff\xfe") || start.starts_with(b"\xfe\xff") {
        let found = "the file begins with the byte order mark of UTF-16".to_owned();
        return Err(FolderError::NotUtf8 { file: file.name.clone(), found });
    }
    Ok(())
}
