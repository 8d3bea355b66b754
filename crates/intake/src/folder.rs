//! A folder of exchange files to a book: which files there are, table after table, what is left out.
//!
//! Must not know: how a file is split into cells, or what a cell means. Start reading at [`read_folder`].
//! Source: README.md, 'The tables'.

use std::fs::{self, File};
use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};

use chrono_tz::Tz;
use model::book::{
    ListingProduct, Offer, Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie, Variant,
};
use model::outcome::{Notice, Topic};
use model::{Book, Rules};

use crate::bad_row::{BadRow, shown};
use crate::build::{KeyedLink, TableRow};
use crate::cells::Cells;
use crate::error::{FolderError, Stopped};
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

/// How many unknown files a notice names.
const SHOWN_FILES: usize = 10;

/// The endings of files that may well hold a table under another name; others are passed over in silence.
const TABLE_ENDINGS: [&str; 10] =
    ["csv", "tsv", "json", "jsonl", "ndjson", "xlsx", "xls", "ods", "gz", "zip"];

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
    progress: &mut dyn FnMut(Progress),
) -> Result<Folder, FolderError> {
    let mut notices = Vec::new();
    let files = Files::find(dir, &mut notices)?;
    let mut desk = Desk {
        zone: settings.zone,
        meter: Meter::new(files.given.iter().map(|file| file.bytes).sum(), progress),
        files: &files,
        left_out: LeftOut::default(),
        rows_read: 0,
        notices,
    };
    let mut folder = desk.read(settings.rules)?;
    folder.notices.sort();
    Ok(folder)
}

/// A file that holds a table.
#[derive(Debug)]
struct TableFile {
    table: Table,
    name: String,
    path: PathBuf,
    is_csv: bool,
    bytes: u64,
}

/// The files of a folder that hold tables, in the order of [`Table::ALL`].
#[derive(Debug)]
struct Files {
    given: Vec<TableFile>,
}

impl Files {
    fn find(dir: &Path, notices: &mut Vec<Notice>) -> Result<Self, FolderError> {
        let unreadable =
            |path: &Path, source: io::Error| FolderError::Unreadable { path: path.to_owned(), source };
        let metadata = match fs::metadata(dir) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(FolderError::NotThere { dir: dir.to_owned() });
            }
            metadata => metadata.map_err(|error| unreadable(dir, error))?,
        };
        if !metadata.is_dir() {
            return Err(FolderError::NotAFolder { path: dir.to_owned() });
        }
        let mut given: Vec<TableFile> = Vec::new();
        let mut others: Vec<String> = Vec::new();
        for entry in fs::read_dir(dir).map_err(|error| unreadable(dir, error))? {
            let entry = entry.map_err(|error| unreadable(dir, error))?;
            let Ok(name) = entry.file_name().into_string() else { continue };
            let path = entry.path();
            let Some((table, is_csv)) = table_of(&name) else {
                others.push(name);
                continue;
            };
            let metadata = fs::metadata(&path).map_err(|error| unreadable(&path, error))?;
            // A pipe or a device could be read for ever.
            if !metadata.is_file() && !metadata.is_dir() {
                return Err(unreadable(&path, io::Error::other("it is no regular file")));
            }
            let bytes = metadata.len();
            given.push(TableFile { table, name, path, is_csv, bytes });
        }
        given.sort_by(|a, b| (a.table, &a.name).cmp(&(b.table, &b.name)));
        others.retain(|name| may_hold_a_table(name));
        others.sort();
        notices.extend(unknown_files(&others));
        let files = Self { given };
        files.check(dir, &others)?;
        Ok(files)
    }

    fn of(&self, table: Table) -> Option<&TableFile> {
        self.given.iter().find(|file| file.table == table)
    }

    fn name_of(&self, table: Table) -> Option<&str> {
        self.of(table).map(|file| file.name.as_str())
    }

    fn check(&self, dir: &Path, others: &[String]) -> Result<(), FolderError> {
        for pair in self.given.windows(2) {
            if pair[0].table == pair[1].table {
                return Err(FolderError::GivenTwice {
                    table: pair[0].table.name().to_owned(),
                    first: pair[0].name.clone(),
                    second: pair[1].name.clone(),
                });
            }
        }
        for table in [Table::Orders, Table::OrderLines] {
            if self.of(table).is_none() {
                let near = others.iter().find(|name| nearest(stem(name), [table.name()]).is_some());
                let hint = match near {
                    Some(name) => format!("Export or rename {} if that is what it holds.", shown(name)),
                    None => "Export it into the folder.".to_owned(),
                };
                return Err(FolderError::TableMissing {
                    dir: dir.to_owned(),
                    table: table.name().to_owned(),
                    hint,
                });
            }
        }
        for file in &self.given {
            if let Some(needs) = file.table.needs().iter().find(|needs| self.of(**needs).is_none()) {
                return Err(FolderError::ParentTableMissing {
                    file: file.name.clone(),
                    table: file.table.name().to_owned(),
                    needs: needs.name().to_owned(),
                });
            }
        }
        let to_compare = [Table::Links, Table::Variants, Table::Submissions];
        if to_compare.iter().all(|table| self.of(*table).is_none()) {
            return Err(FolderError::NothingToCompare { dir: dir.to_owned() });
        }
        Ok(())
    }
}

/// The table that a file of this name holds, and whether as CSV.
fn table_of(name: &str) -> Option<(Table, bool)> {
    let (stem, ending) = name.rsplit_once('.')?;
    let is_csv = match ending {
        "csv" => true,
        "jsonl" => false,
        _ => return None,
    };
    Table::ALL.into_iter().find(|table| table.name() == stem).map(|table| (table, is_csv))
}

fn stem(name: &str) -> &str {
    name.split_once('.').map_or(name, |(stem, _)| stem)
}

fn may_hold_a_table(name: &str) -> bool {
    let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
    ending.is_some_and(|ending| TABLE_ENDINGS.contains(&ending.as_str()))
}

fn unknown_files(others: &[String]) -> Option<Notice> {
    if others.is_empty() {
        return None;
    }
    let mut shown_files = Vec::new();
    for name in others.iter().take(SHOWN_FILES) {
        let near = nearest(stem(name), Table::ALL.map(Table::name));
        let guess =
            near.map(|near| format!(" (did you mean {near}.csv or {near}.jsonl?)")).unwrap_or_default();
        shown_files.push(format!("{}{guess}", shown(name)));
    }
    if others.len() > SHOWN_FILES {
        shown_files.push(format!("and {} more", others.len() - SHOWN_FILES));
    }
    let files = counted(others.len() as u64, "file in the folder is", "files in the folder are");
    let text = format!("{files} no table that is known, and not read: {}", shown_files.join(", "));
    Some(Notice { topic: Topic::UnknownFile, count: others.len() as u64, text })
}

fn counted(count: u64, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// Reading under way.
struct Desk<'a> {
    zone: Tz,
    files: &'a Files,
    meter: Meter<'a>,
    left_out: LeftOut,
    rows_read: u64,
    notices: Vec<Notice>,
}

impl Desk<'_> {
    /// Reads all tables, a row's parents before the row.
    fn read(&mut self, rules: &Rules) -> Result<Folder, FolderError> {
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
        self.meter.tell();

        let standing = Standing {
            orders: &orders,
            order_lines: &order_lines,
            submissions: sent,
            submission_lines: sent_lines,
            parcels: packed,
            ties: ties.as_deref().unwrap_or_default(),
        };
        let named = not_judged::orders_named(&standing, &self.left_out.rows, rules);
        self.note_missing_submission_lines();
        self.note_what_was_left_out(named.rows_untold);

        let left_out = std::mem::take(&mut self.left_out);
        let rows_skipped = left_out.rows.len() as u64;
        let (bad_rows, bad_row_count) = left_out.bad_rows.finish();
        let book = Book {
            orders: rows(orders),
            order_lines: rows(order_lines),
            offers: offers.map(rows),
            variants: variants.map(rows),
            listing_products: listing_products.map(rows),
            links: links.map(|links| links.into_iter().map(|placed| placed.row.link).collect()),
            submissions: submissions.map(rows),
            submission_lines: submission_lines.map(rows),
            parcels: parcels.map(rows),
            parcel_lines: parcel_lines.map(rows),
            ties: ties.map(rows),
            not_judged: named.orders,
        };
        Ok(Folder {
            book,
            bad_rows,
            bad_row_count,
            rows_read: self.rows_read,
            rows_skipped,
            notices: std::mem::take(&mut self.notices),
        })
    }

    /// Reads one table, if it is given, and leaves one row per key.
    fn table<T: TableRow>(&mut self) -> Result<Option<Vec<Placed<T>>>, FolderError> {
        let Some(file) = self.files.of(T::TABLE) else { return Ok(None) };
        let mut read: Vec<Placed<T>> = Vec::new();
        let (zone, left_out, rows_read) = (self.zone, &mut self.left_out, &mut self.rows_read);
        let mut on_row = |row: Row<'_>| {
            *rows_read += 1;
            let result = match &row.broken {
                Some(fault) => Err(fault.clone()),
                None => T::read(&Cells::new(&row, zone)),
            };
            match result {
                Ok(value) => read.push(Placed { line: row.line, row: value }),
                Err(fault) => left_out.report(&file.name, row.line, fault, Skipped::unread(&row)),
            }
        };
        let unknown = read_file(file, &mut self.meter, &mut on_row).map_err(|stopped| match stopped {
            Stopped::Unusable(error) => error,
            Stopped::Unreadable(source) => FolderError::Unreadable { path: file.path.clone(), source },
        })?;
        self.note_unknown_names(file, &unknown);

        let settled = keys::settle(read);
        for (placed, fault) in settled.contradicting {
            let skipped = Skipped::read(T::TABLE, placed.row.names());
            self.left_out.report(&file.name, placed.line, fault, skipped);
        }
        if settled.superseded > 0 {
            let rows = counted(settled.superseded, "row gave", "rows gave");
            let text = format!("{}: {rows} way to a later one for the same thing (by updated_at)", file.name);
            self.notices.push(Notice { topic: Topic::SupersededRow, count: settled.superseded, text });
        }
        Ok(Some(settled.standing))
    }

    fn note_unknown_names(&mut self, file: &TableFile, unknown: &UnknownNames) {
        if unknown.names.is_empty() {
            return;
        }
        let known = || file.table.columns().iter().map(|(column, _)| column.name());
        let mut names = Vec::new();
        for name in &unknown.names {
            let guess =
                nearest(name, known()).map(|near| format!(" (did you mean {near}?)")).unwrap_or_default();
            names.push(format!("{}{guess}", shown(name)));
        }
        if unknown.and_more {
            names.push("and more".to_owned());
        }
        let count = unknown.names.len() as u64;
        let columns = counted(count, "column", "columns");
        let more = if unknown.and_more { "more than " } else { "" };
        let verb = if count == 1 { "is" } else { "are" };
        let text =
            format!("{}: {more}{columns} {verb} not known, and ignored: {}", file.name, names.join(", "));
        self.notices.push(Notice { topic: Topic::UnknownColumn, count, text });
    }

    fn note_missing_submission_lines(&mut self) {
        if self.files.of(Table::Submissions).is_some() && self.files.of(Table::SubmissionLines).is_none() {
            let text = "submissions were given without submission_lines: what was sent is not known; export \
                        submission_lines for the same days"
                .to_owned();
            self.notices.push(Notice { topic: Topic::MissingTable, count: 1, text });
        }
    }

    fn note_what_was_left_out(&mut self, rows_untold: u64) {
        if rows_untold > 0 {
            let rows = counted(rows_untold, "row that was left out", "rows that were left out");
            let text = format!(
                "of {rows} it cannot be told which orders are named: an order may be judged although a row of it \
                 is missing"
            );
            self.notices.push(Notice { topic: Topic::SkippedRow, count: rows_untold, text });
        }
        for table in [Table::Offers, Table::Variants, Table::ListingProducts, Table::Links] {
            let count = self.left_out.rows.iter().filter(|row| row.table == table).count() as u64;
            let Some(file) = self.files.name_of(table).filter(|_| count > 0) else { continue };
            let rows = counted(count, "row was", "rows were");
            let doubtful = if table == Table::Links { "offer" } else { "order" };
            let text = format!(
                "{file}: {rows} left out, naming no order: what is said of any {doubtful} may be wrong where it \
                 rests on them"
            );
            self.notices.push(Notice { topic: Topic::SkippedRow, count, text });
        }
    }
}

fn rows<T>(placed: Vec<Placed<T>>) -> Vec<T> {
    placed.into_iter().map(|placed| placed.row).collect()
}

fn read_file(
    file: &TableFile,
    meter: &mut Meter<'_>,
    on_row: &mut dyn FnMut(Row<'_>),
) -> Result<UnknownNames, Stopped> {
    let mut reader = BufReader::with_capacity(BUFFER_BYTES, File::open(&file.path)?);
    let start = reader.fill_buf()?;
    if start.starts_with(b"\xff\xfe") || start.starts_with(b"\xfe\xff") {
        let found = "the file begins with the byte order mark of UTF-16".to_owned();
        return Err(FolderError::NotUtf8 { file: file.name.clone(), found }.into());
    }
    let lines = Lines::new(reader, meter);
    if file.is_csv {
        csv::read_rows(file.table, &file.name, lines, on_row)
    } else {
        Ok(json_lines::read_rows(file.table, lines, on_row)?)
    }
}
