//! Writes a book as exchange files: a folder of tables, as CSV or as JSON Lines.
//!
//! Must not know how a book is made. Start reading at [`Tables`]; what a table looks like stands with its row.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use chrono::{SecondsFormat, TimeDelta};
use model::book::{
    LinkRow, LinkScope, ListingProduct, Offer, Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission,
    SubmissionLine, SubmissionStatus, Tie, Variant,
};
use model::{Book, Currency, LineId, Options, Sku, VariantId, When};
use rust_decimal::Decimal;

/// Writes every table of a book that was given as `NAME.csv` (RFC 4180), rows in the order of their keys.
///
/// Moments are written in UTC, whole days as dates: they are read back as days of the zone that the reader is
/// told, which must be the book's. Zones 12 hours or more from UTC are not served.
///
/// # Errors
/// What the file system answers.
pub fn write_csv(book: &Book, dir: &Path) -> io::Result<()> {
    write(book, dir, Form::Csv)
}

/// Writes every table of a book that was given as `NAME.jsonl`, rows in the order of their keys.
///
/// # Errors
/// As [`write_csv`].
pub fn write_jsonl(book: &Book, dir: &Path) -> io::Result<()> {
    write(book, dir, Form::JsonLines)
}

/// The two forms of exchange files.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// `NAME.csv`: RFC 4180, all columns, an empty cell for what is not known.
    Csv,
    /// `NAME.jsonl`: one object a line, without the names of what is not known.
    JsonLines,
}

/// A folder of tables that grows book by book, for books that do not fit into memory as a whole.
#[derive(Debug)]
pub struct Tables {
    dir: PathBuf,
    form: Form,
    open: BTreeMap<&'static str, Table>,
}

#[derive(Debug)]
enum Table {
    Csv(Box<csv::Writer<File>>),
    JsonLines(BufWriter<File>),
}

impl Tables {
    /// Makes the folder where it is not there. Files of earlier tables are overwritten.
    ///
    /// # Errors
    /// What the file system answers.
    pub fn create(dir: &Path, form: Form) -> io::Result<Self> {
        fs::create_dir_all(dir)?;
        Ok(Self { dir: dir.to_owned(), form, open: BTreeMap::new() })
    }

    /// Adds the rows of a book to the tables, in the book's order. A table that is `None` adds nothing.
    ///
    /// # Errors
    /// As [`write_csv`].
    pub fn append(&mut self, book: &Book) -> io::Result<()> {
        self.rows(book.orders.iter())?;
        self.rows(book.order_lines.iter())?;
        self.table(book.offers.as_deref())?;
        self.table(book.variants.as_deref())?;
        self.table(book.listing_products.as_deref())?;
        self.table(book.links.as_deref())?;
        self.table(book.submissions.as_deref())?;
        self.table(book.submission_lines.as_deref())?;
        self.table(book.parcels.as_deref())?;
        self.table(book.parcel_lines.as_deref())?;
        self.table(book.ties.as_deref())
    }

    /// Writes out what is still in memory.
    ///
    /// # Errors
    /// What the file system answers.
    pub fn finish(self) -> io::Result<()> {
        for table in self.open.into_values() {
            match table {
                Table::Csv(mut writer) => writer.flush()?,
                Table::JsonLines(mut writer) => writer.flush()?,
            }
        }
        Ok(())
    }

    fn table<'a, R: Row + 'a>(&mut self, rows: Option<&'a [R]>) -> io::Result<()> {
        rows.map_or(Ok(()), |rows| self.rows(rows.iter()))
    }

    fn rows<'a, R: Row + 'a>(&mut self, rows: impl Iterator<Item = &'a R>) -> io::Result<()> {
        if !self.open.contains_key(R::TABLE) {
            let table = self.open_table(R::TABLE, R::COLUMNS)?;
            self.open.insert(R::TABLE, table);
        }
        let Some(table) = self.open.get_mut(R::TABLE) else { return Ok(()) };
        for row in rows {
            let cells = row.cells();
            match table {
                Table::Csv(writer) => {
                    writer.write_record(cells.iter().map(|cell| cell.text().into_owned()))?
                }
                Table::JsonLines(writer) => {
                    let known = R::COLUMNS
                        .iter()
                        .zip(&cells)
                        .filter_map(|(column, cell)| Some(((*column).to_owned(), cell.json()?)));
                    serde_json::to_writer(&mut *writer, &serde_json::Map::from_iter(known))?;
                    writer.write_all(b"\n")?;
                }
            }
        }
        Ok(())
    }

    fn open_table(&self, name: &str, columns: &[&str]) -> io::Result<Table> {
        match self.form {
            Form::Csv => {
                let file = File::create(self.dir.join(format!("{name}.csv")))?;
                let mut writer =
                    csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(file);
                writer.write_record(columns)?;
                Ok(Table::Csv(Box::new(writer)))
            }
            Form::JsonLines => {
                let file = File::create(self.dir.join(format!("{name}.jsonl")))?;
                Ok(Table::JsonLines(BufWriter::new(file)))
            }
        }
    }
}

fn write(book: &Book, dir: &Path, form: Form) -> io::Result<()> {
    let mut tables = Tables::create(dir, form)?;
    tables.append(&in_key_order(book.clone()))?;
    tables.finish()
}

/// The same book with the rows of each table in the order of their keys.
pub(crate) fn in_key_order(mut book: Book) -> Book {
    fn sort<R: Row>(rows: &mut [R]) {
        rows.sort_by(Row::compare);
    }
    sort(&mut book.orders);
    sort(&mut book.order_lines);
    book.offers.as_deref_mut().map(sort);
    book.variants.as_deref_mut().map(sort);
    book.listing_products.as_deref_mut().map(sort);
    book.links.as_deref_mut().map(sort);
    book.submissions.as_deref_mut().map(sort);
    book.submission_lines.as_deref_mut().map(sort);
    book.parcels.as_deref_mut().map(sort);
    book.parcel_lines.as_deref_mut().map(sort);
    book.ties.as_deref_mut().map(sort);
    book
}

/// What stands in one place of a table.
enum Cell<'a> {
    NotKnown,
    Text(Cow<'a, str>),
    Number(u32),
    Flag(bool),
    Options(&'a Options),
}

impl<'a> Cell<'a> {
    fn id(id: &'a impl AsStr) -> Self {
        Self::Text(Cow::Borrowed(id.as_str()))
    }

    fn some_id(id: Option<&'a impl AsStr>) -> Self {
        id.map_or(Self::NotKnown, Self::id)
    }

    fn said(text: Option<&'a String>) -> Self {
        text.map_or(Self::NotKnown, |text| Self::Text(Cow::Borrowed(text)))
    }

    fn word(word: &'static str) -> Self {
        Self::Text(Cow::Borrowed(word))
    }

    fn amount(amount: Option<Decimal>) -> Self {
        amount.map_or(Self::NotKnown, |amount| Self::Text(Cow::Owned(amount.to_string())))
    }

    fn currency(currency: Option<Currency>) -> Self {
        currency.map_or(Self::NotKnown, |currency| Self::word(currency.code()))
    }

    fn options(options: Option<&'a Options>) -> Self {
        options.map_or(Self::NotKnown, Self::Options)
    }

    /// A day is the date on which its noon falls in UTC: the same in all zones less than 12 hours from it.
    fn time(when: Option<When>) -> Self {
        let Some(when) = when else { return Self::NotKnown };
        let begins = when.begins();
        Self::Text(Cow::Owned(if when.ends() == begins {
            begins.to_rfc3339_opts(SecondsFormat::AutoSi, true)
        } else {
            (begins + TimeDelta::hours(12)).date_naive().to_string()
        }))
    }

    fn text(&self) -> Cow<'_, str> {
        match self {
            Self::NotKnown => Cow::Borrowed(""),
            Self::Text(text) => Cow::Borrowed(text),
            Self::Number(number) => Cow::Owned(number.to_string()),
            Self::Flag(flag) => Cow::Borrowed(if *flag { "true" } else { "false" }),
            Self::Options(options) => Cow::Owned(object(options).to_string()),
        }
    }

    fn json(&self) -> Option<serde_json::Value> {
        Some(match self {
            Self::NotKnown => return None,
            Self::Text(text) => text.as_ref().into(),
            Self::Number(number) => (*number).into(),
            Self::Flag(flag) => (*flag).into(),
            Self::Options(options) => object(options),
        })
    }
}

fn object(options: &Options) -> serde_json::Value {
    options.iter().map(|(name, value)| (name.to_owned(), serde_json::Value::from(value))).collect()
}

/// Every kind of id, and SKUs as typed.
trait AsStr {
    fn as_str(&self) -> &str;
}

macro_rules! as_str {
    ($($name:ty),+) => { $(impl AsStr for $name { fn as_str(&self) -> &str { <$name>::as_str(self) } })+ };
}

as_str!(
    model::OrderId,
    LineId,
    model::ListingId,
    Sku,
    model::SupplierId,
    VariantId,
    model::SubmissionId,
    model::ParcelId
);

/// A row of a table.
trait Row: Sized {
    const TABLE: &'static str;
    const COLUMNS: &'static [&'static str];

    /// One cell for each column.
    fn cells(&self) -> Vec<Cell<'_>>;

    /// By key.
    fn compare(&self, other: &Self) -> Ordering;
}

impl Row for Order {
    const TABLE: &'static str = "orders";
    const COLUMNS: &'static [&'static str] = &[
        "order_id",
        "placed_at",
        "paid_at",
        "status",
        "currency",
        "promised_by",
        "ship_to_country",
        "ship_to_digest",
        "updated_at",
    ];

    fn cells(&self) -> Vec<Cell<'_>> {
        let status = match self.status {
            OrderStatus::Unpaid => "unpaid",
            OrderStatus::Open => "open",
            OrderStatus::Dispatched => "dispatched",
            OrderStatus::Cancelled => "cancelled",
        };
        vec![
            Cell::id(&self.order_id),
            Cell::time(Some(self.placed_at)),
            Cell::time(self.paid_at),
            Cell::word(status),
            Cell::currency(self.currency),
            Cell::time(self.promised_by),
            Cell::said(self.ship_to_country.as_ref()),
            Cell::said(self.ship_to_digest.as_ref()),
            Cell::time(self.updated_at),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        self.order_id.cmp(&other.order_id)
    }
}

impl Row for OrderLine {
    const TABLE: &'static str = "order_lines";
    const COLUMNS: &'static [&'static str] = &[
        "order_id",
        "line_id",
        "listing_id",
        "sku",
        "title",
        "options",
        "quantity",
        "cancelled_quantity",
        "unit_price",
        "updated_at",
    ];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![
            Cell::id(&self.order_id),
            Cell::id(&self.line_id),
            Cell::some_id(self.listing_id.as_ref()),
            Cell::some_id(self.sku.as_ref()),
            Cell::said(self.title.as_ref()),
            Cell::options(self.options.as_ref()),
            Cell::Number(self.quantity),
            Cell::Number(self.cancelled_quantity),
            Cell::amount(self.unit_price),
            Cell::time(self.updated_at),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.order_id, &self.line_id).cmp(&(&other.order_id, &other.line_id))
    }
}

impl Row for Offer {
    const TABLE: &'static str = "offers";
    const COLUMNS: &'static [&'static str] =
        &["listing_id", "sku", "title", "options", "price", "currency", "buyable"];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![
            Cell::id(&self.listing_id),
            Cell::some_id(self.sku.as_ref()),
            Cell::said(self.title.as_ref()),
            Cell::Options(&self.options),
            Cell::amount(self.price),
            Cell::currency(self.currency),
            Cell::Flag(self.buyable),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.listing_id, &self.options).cmp(&(&other.listing_id, &other.options))
    }
}

impl Row for Variant {
    const TABLE: &'static str = "variants";
    const COLUMNS: &'static [&'static str] =
        &["supplier", "variant_id", "sku", "product", "options", "unit_cost", "currency", "available"];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![
            Cell::id(&self.supplier),
            Cell::id(&self.variant_id),
            Cell::some_id(self.sku.as_ref()),
            Cell::said(self.product.as_ref()),
            Cell::options(self.options.as_ref()),
            Cell::amount(self.unit_cost),
            Cell::currency(self.currency),
            Cell::Flag(self.available),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.supplier, &self.variant_id).cmp(&(&other.supplier, &other.variant_id))
    }
}

impl Row for ListingProduct {
    const TABLE: &'static str = "listing_products";
    const COLUMNS: &'static [&'static str] = &["listing_id", "supplier", "product"];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![Cell::id(&self.listing_id), Cell::id(&self.supplier), Cell::Text(Cow::Borrowed(&self.product))]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.listing_id, &self.supplier, &self.product).cmp(&(
            &other.listing_id,
            &other.supplier,
            &other.product,
        ))
    }
}

impl Row for LinkRow {
    const TABLE: &'static str = "links";
    const COLUMNS: &'static [&'static str] =
        &["listing_id", "sku", "options", "supplier", "variant_id", "units", "in_force"];

    fn cells(&self) -> Vec<Cell<'_>> {
        let (listing_id, sku, options) = match &self.scope {
            LinkScope::Offer(listing_id, options) => (Some(listing_id), None, Some(options)),
            LinkScope::Sku(sku) => (None, Some(sku), None),
            LinkScope::Listing(listing_id) => (Some(listing_id), None, None),
        };
        vec![
            Cell::some_id(listing_id),
            Cell::some_id(sku),
            Cell::options(options),
            Cell::id(&self.supplier),
            Cell::some_id(self.variant_id.as_ref()),
            Cell::Number(self.units),
            Cell::Flag(self.in_force),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.scope, &self.supplier, &self.variant_id).cmp(&(
            &other.scope,
            &other.supplier,
            &other.variant_id,
        ))
    }
}

fn submission_word(status: SubmissionStatus) -> &'static str {
    match status {
        SubmissionStatus::Received => "received",
        SubmissionStatus::Held => "held",
        SubmissionStatus::Making => "making",
        SubmissionStatus::Dispatched => "dispatched",
        SubmissionStatus::Cancelled => "cancelled",
        SubmissionStatus::Rejected => "rejected",
    }
}

impl Row for Submission {
    const TABLE: &'static str = "submissions";
    const COLUMNS: &'static [&'static str] =
        &["supplier", "submission_id", "order_ref", "status", "received_at", "replaces", "updated_at"];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![
            Cell::id(&self.supplier),
            Cell::id(&self.submission_id),
            Cell::said(self.order_ref.as_ref()),
            Cell::word(submission_word(self.status)),
            Cell::time(Some(self.received_at)),
            Cell::said(self.replaces.as_ref()),
            Cell::time(self.updated_at),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.supplier, &self.submission_id).cmp(&(&other.supplier, &other.submission_id))
    }
}

impl Row for SubmissionLine {
    const TABLE: &'static str = "submission_lines";
    const COLUMNS: &'static [&'static str] = &[
        "supplier",
        "submission_id",
        "line_id",
        "order_ref",
        "order_line_ref",
        "variant_id",
        "sku",
        "quantity",
        "status",
        "unit_cost",
        "updated_at",
    ];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![
            Cell::id(&self.supplier),
            Cell::id(&self.submission_id),
            Cell::id(&self.line_id),
            Cell::said(self.order_ref.as_ref()),
            Cell::some_id(self.order_line_ref.as_ref()),
            Cell::some_id(self.variant_id.as_ref()),
            Cell::some_id(self.sku.as_ref()),
            Cell::Number(self.quantity),
            self.status.map_or(Cell::NotKnown, |status| Cell::word(submission_word(status))),
            Cell::amount(self.unit_cost),
            Cell::time(self.updated_at),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.supplier, &self.submission_id, &self.line_id).cmp(&(
            &other.supplier,
            &other.submission_id,
            &other.line_id,
        ))
    }
}

impl Row for Parcel {
    const TABLE: &'static str = "parcels";
    const COLUMNS: &'static [&'static str] =
        &["supplier", "parcel_id", "submission_id", "dispatched_at", "carrier", "tracking_number"];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![
            Cell::id(&self.supplier),
            Cell::id(&self.parcel_id),
            Cell::id(&self.submission_id),
            Cell::time(Some(self.dispatched_at)),
            Cell::said(self.carrier.as_ref()),
            Cell::said(self.tracking_number.as_ref()),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.supplier, &self.parcel_id).cmp(&(&other.supplier, &other.parcel_id))
    }
}

impl Row for ParcelLine {
    const TABLE: &'static str = "parcel_lines";
    const COLUMNS: &'static [&'static str] = &["supplier", "parcel_id", "submission_line_id", "quantity"];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![
            Cell::id(&self.supplier),
            Cell::id(&self.parcel_id),
            Cell::id(&self.submission_line_id),
            Cell::Number(self.quantity),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        (&self.supplier, &self.parcel_id, &self.submission_line_id).cmp(&(
            &other.supplier,
            &other.parcel_id,
            &other.submission_line_id,
        ))
    }
}

impl Row for Tie {
    const TABLE: &'static str = "ties";
    const COLUMNS: &'static [&'static str] =
        &["order_id", "line_id", "supplier", "submission_id", "submission_line_id"];

    fn cells(&self) -> Vec<Cell<'_>> {
        vec![
            Cell::id(&self.order_id),
            Cell::id(&self.line_id),
            Cell::id(&self.supplier),
            Cell::id(&self.submission_id),
            Cell::some_id(self.submission_line_id.as_ref()),
        ]
    }

    fn compare(&self, other: &Self) -> Ordering {
        let key = |tie: &Self| {
            (
                tie.order_id.clone(),
                tie.line_id.clone(),
                tie.supplier.clone(),
                tie.submission_id.clone(),
                tie.submission_line_id.clone(),
            )
        };
        key(self).cmp(&key(other))
    }
}
