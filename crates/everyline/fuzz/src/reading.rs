//! One table in the midst of a folder that is in order, what reading it must come to, and what was read, written and
//! read again.
//!
//! Must not know how a table is written in either form. Start reading at [`Table`].

use std::path::Path;

use chrono_tz::Tz;
use intake::{Folder, FolderError, ReadSettings, read_folder};
use model::book::{LinkRow, LinkScope};
use model::outcome::Topic;
use model::{Book, Rules, SupplierId, VariantId};

use crate::{Scratch, TABLES};

/// One order with a line, which its only submission covers.
const WHOLE: [(&str, &str); 11] = [
    ("orders", "order_id,placed_at,status\n1001,2026-11-24T09:00:00Z,open\n"),
    ("order_lines", "order_id,line_id,sku,quantity\n1001,1,AP-L,2\n"),
    ("offers", "listing_id,options,sku\nL1,{},AP-L\n"),
    ("variants", "supplier,variant_id,sku\nalder-print,V1,AP-L\n"),
    ("listing_products", "listing_id,supplier,product\nL1,alder-print,Apron\n"),
    ("links", "sku,supplier,variant_id\nAP-L,alder-print,V1\n"),
    (
        "submissions",
        "supplier,submission_id,order_ref,status,received_at\n\
         alder-print,S1,1001,received,2026-11-24T10:00:00Z\n",
    ),
    ("submission_lines", "supplier,submission_id,line_id,sku,quantity\nalder-print,S1,1,AP-L,2\n"),
    ("parcels", "supplier,parcel_id,submission_id,dispatched_at\nalder-print,P1,S1,2026-11-25\n"),
    ("parcel_lines", "supplier,parcel_id,submission_line_id,quantity\nalder-print,P1,1,2\n"),
    ("ties", "order_id,line_id,supplier,submission_id\n1001,1,alder-print,S1\n"),
];

/// Reads a folder in UTC.
///
/// # Errors
/// As [`read_folder`].
pub fn read(dir: &Path) -> Result<Folder, FolderError> {
    read_folder(dir, &ReadSettings { zone: Tz::UTC, rules: &Rules::default() }, &mut |_| ())
}

/// A file of one table, and the rest of its folder.
#[derive(Clone, Copy, Debug)]
pub struct Table<'a> {
    /// The table.
    pub name: &'static str,
    /// `csv` or `jsonl`.
    pub ending: &'static str,
    /// The file.
    pub content: &'a [u8],
}

impl<'a> Table<'a> {
    /// The first byte of an input chooses the table, the others are the file.
    pub fn of(input: &'a [u8], ending: &'static str) -> Option<Self> {
        let (choice, content) = input.split_first()?;
        Some(Self { name: TABLES[usize::from(*choice) % TABLES.len()], ending, content })
    }

    /// Reads it, checked.
    ///
    /// # Errors
    /// As [`read`].
    pub fn read(&self, content: &[u8]) -> Result<Folder, FolderError> {
        let name = format!("{}.{}", self.name, self.ending);
        let others = WHOLE.iter().filter(|(table, _)| *table != self.name);
        let others = others.map(|(table, text)| (format!("{table}.csv"), text.as_bytes()));
        let files: Vec<(String, &[u8])> = others.chain([(name.clone(), content)]).collect();
        let scratch = Scratch::of(files.iter().map(|(name, content)| (name, content)));
        let read = read(scratch.path());
        drop(scratch);
        match &read {
            Ok(folder) => check(folder, &files),
            Err(error) => assert!(error.to_string().starts_with(&name), "{error}"),
        }
        read
    }
}

/// Every row is in the book, or left out, or the same as another; and every bad row is in a file, in one of its lines.
fn check(folder: &Folder, files: &[(String, &[u8])]) {
    let superseded = folder.notices.iter().filter(|notice| notice.topic == Topic::SupersededRow);
    let superseded: u64 = superseded.map(|notice| notice.count).sum();
    let kept = rows(&folder.book);
    assert!(kept + folder.rows_skipped + superseded <= folder.rows_read);
    assert!(folder.bad_row_count <= folder.rows_skipped);
    assert_eq!(folder.bad_rows.len() as u64, folder.bad_row_count.min(intake::KEPT_BAD_ROWS as u64));
    let all: u64 = files.iter().map(|(_, content)| lines(content)).sum();
    assert!(folder.rows_read <= all, "{} rows in {all} lines", folder.rows_read);
    for row in &folder.bad_rows {
        let file = files.iter().find(|(name, _)| *name == row.file);
        let lines = file.map_or(0, |(_, content)| lines(content));
        assert!((1..=lines).contains(&row.line), "{row} in {lines} lines");
    }
}

fn lines(content: &[u8]) -> u64 {
    content.split_inclusive(|byte| *byte == b'\n').count() as u64
}

fn rows(book: &Book) -> u64 {
    let len = [
        Some(book.orders.len()),
        Some(book.order_lines.len()),
        book.offers.as_ref().map(Vec::len),
        book.variants.as_ref().map(Vec::len),
        book.listing_products.as_ref().map(Vec::len),
        book.links.as_ref().map(Vec::len),
        book.submissions.as_ref().map(Vec::len),
        book.submission_lines.as_ref().map(Vec::len),
        book.parcels.as_ref().map(Vec::len),
        book.parcel_lines.as_ref().map(Vec::len),
        book.ties.as_ref().map(Vec::len),
    ];
    len.into_iter().flatten().sum::<usize>() as u64
}

/// Writes a book in both forms, and asserts that either is read as the same book.
pub fn reads_back(book: &Book) {
    let mut book = book.clone();
    book.not_judged.clear();
    // Of a link for a SKU the listing is a part of the key in its row, and of nothing in the book.
    sort_links(&mut book);
    if book.links.iter().flatten().is_sorted_by(|a, b| key(a) < key(b)) {
        check_reading_back(&book);
    }
}

fn key(link: &LinkRow) -> (&LinkScope, &SupplierId, &Option<VariantId>) {
    (&link.scope, &link.supplier, &link.variant_id)
}

fn sort_links(book: &mut Book) {
    book.links.iter_mut().for_each(|links| links.sort_by(|a, b| key(a).cmp(&key(b))));
}

fn check_reading_back(book: &Book) {
    let want = format!("{book:#?}");
    // A moment of such a year has no form in RFC 3339.
    if want.contains("+10000-") || want.contains("-0001-") {
        return;
    }
    for write in [simshop::write_csv, simshop::write_jsonl] {
        let scratch = Scratch::default();
        write(book, scratch.path()).expect("a book can be written");
        let again = read(scratch.path());
        drop(scratch);
        let mut again = again.unwrap_or_else(|error| panic!("{error}\n{want}"));
        sort_links(&mut again.book);
        if again.bad_rows.iter().any(|row| row.found.contains(SPANS_ROWS)) {
            return;
        }
        assert_eq!((again.bad_rows, again.rows_skipped), (Vec::new(), 0), "{want}");
        assert_eq!(format!("{:#?}", again.book), want);
    }
}

/// What is found where text in a cell looks like rows: in CSV that may be read as a quote too many.
const SPANS_ROWS: &str = "lines that look like rows of their own";
