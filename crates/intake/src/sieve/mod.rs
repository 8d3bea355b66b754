//! Large books: what can be counted from a few numbers is counted while it is read; only the rest becomes rows.
//!
//! The orders with which nothing is wrong, nearly all of them, never become rows. The bytes are read twice: the first
//! time each row is taken apart to the few numbers that decide of it (`sift`), rows are brought together (`join`), and
//! the numbers of each order are put to a [`Rule`]; the second time only the rows of the other orders are kept
//! (`rest`), with everything that belongs to them, so that they are books of their own, in batches of orders that
//! have nothing to do with each other, to be judged like any book. Memory holds numbers, 16 to 40 bytes a row, and a
//! batch. The plain way, [`crate::read_folder`], is the judge of this one.
//!
//! Where a row cannot be read, or belongs to one that is not there, the answer is [`Sieved::Plain`]: the book has to be
//! read as a whole. Must not know: when an order can be counted. Start reading at [`open`].

mod blocks;
mod join;
mod key;
mod moments;
mod pool;
mod prints;
mod rest;
mod rows;
mod scan;
mod separators;
mod sift;

use std::collections::{BTreeSet, HashMap};
use std::path::Path;
use std::sync::Mutex;

use chrono::{DateTime, Utc};
use model::book::{
    ListingProduct, Offer, Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie, Variant,
};
use model::outcome::Notice;
use model::straight::{Counted, Rule};
use model::{Book, SupplierId};

use crate::build::KeyedLink;
use crate::error::FolderError;
use crate::files::Files;
use crate::folder::{self, Desk, FileSource, ReadSettings};
use crate::keys::Placed;
use crate::lines::{Meter, Progress};
use crate::row::Row;
use crate::sieve::join::Rest;
use crate::sieve::key::{Key, Keys, NONE};
use crate::sieve::moments::Moment;
use crate::sieve::pool::{Parted, Piles, Pool};
use crate::sieve::scan::{Scan, Taker};
use crate::sieve::sift::{Common, Extent, Sift, Sifter, Written};

pub use rest::{Again, Batch, BatchBook, Remainder};

/// A folder whose small tables have been read.
pub struct Opened<'s> {
    files: Files,
    settings: ReadSettings<'s>,
    /// The tables without orders: offers, variants, listing products, links.
    pub book: Book,
    /// Whether what was sent is given.
    pub knows_submissions: bool,
    ties: Vec<Placed<Tie>>,
    is_whole: bool,
    notices: Vec<Notice>,
    rows_read: u64,
}

/// What sieving a book came to.
pub enum Sieved<'o> {
    /// Some orders are counted; these are not.
    Counted(Box<Remainder<'o>>),
    /// It has to be read as a whole.
    Plain,
}

/// What the whole book says, where only a part of its rows is at hand.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Extents {
    /// When its first order was placed.
    pub first_placed: Option<DateTime<Utc>>,
    /// When its first submission was received.
    pub first_received: Option<DateTime<Utc>>,
    /// The latest moment that any row speaks of.
    pub latest: Option<DateTime<Utc>>,
    /// Orders placed before the first submission was received.
    pub orders_before: u64,
    /// All orders.
    pub orders: u64,
    /// The suppliers of its submissions.
    pub suppliers: BTreeSet<SupplierId>,
}

/// How far sieving goes.
#[derive(Clone, Copy, Debug)]
pub struct Sieving {
    /// The moment for which is judged.
    pub as_of: DateTime<Utc>,
    /// How many threads work at once; at least one.
    pub threads: usize,
    /// About how many bytes of rows a batch may have.
    pub batch_bytes: u64,
}

/// Looks at a folder and reads its small tables.
///
/// # Errors
/// [`FolderError`] where the folder cannot be used at all.
pub fn open<'s>(dir: &Path, settings: ReadSettings<'s>) -> Result<Opened<'s>, FolderError> {
    let mut notices = Vec::new();
    let files = Files::find(dir, &mut notices)?;
    folder::check_starts(&files)?;
    let mut ignore = |_: Progress| {};
    let mut meter = Meter::new(0, &mut ignore);
    let source = FileSource { zone: settings.zone, meter: &mut meter, rows_read: 0, notices };
    let mut desk = Desk::new(&files, source);
    let book = Book {
        offers: desk.table::<Offer>()?.map(folder::rows),
        variants: desk.table::<Variant>()?.map(folder::rows),
        listing_products: desk.table::<ListingProduct>()?.map(folder::rows),
        links: desk.table::<KeyedLink>()?.map(folder::links_of),
        ..Book::default()
    };
    let ties = desk.table::<Tie>()?.unwrap_or_default();
    let is_whole = desk.left_out.rows.is_empty();
    let FileSource { rows_read, notices, .. } = desk.source;
    let given = |table| files.of(table).is_some();
    let knows_submissions =
        given(crate::tables::Table::Submissions) && given(crate::tables::Table::SubmissionLines);
    Ok(Opened { settings, book, knows_submissions, ties, is_whole, notices, rows_read, files })
}

/// Takes rows apart for one table.
struct Sifting<'c, T> {
    sifter: Sifter<'c>,
    is_whole: bool,
    table: std::marker::PhantomData<fn() -> T>,
}

impl<T: Sift> Taker for Sifting<'_, T> {
    fn take_written(&mut self, cells: Written<'_>) -> Option<Key> {
        T::sift_written(cells, &mut self.sifter)
    }

    fn take_row(&mut self, row: &Row<'_>, written: Option<Written<'_>>) -> Key {
        let Ok(value) = folder::read_row::<T>(row, self.sifter.zone()) else {
            self.is_whole = false;
            return NONE;
        };
        if let Some(written) = written {
            value.remember(written, &mut self.sifter);
        }
        value.sift(&mut self.sifter).unwrap_or(NONE)
    }

    fn is_done(&self) -> bool {
        !self.is_whole
    }
}

/// What sifting under way has come to.
struct Sieve<'o, 'c> {
    opened: &'o Opened<'o>,
    common: &'c Common<'c>,
    threads: usize,
    extent: Extent,
    scans: Vec<Scan<'o>>,
    rest: Rest,
    is_whole: bool,
}

impl<'o, 'c> Sieve<'o, 'c> {
    /// Sifts one table, if it is given, and answers what its rows came to.
    fn table<T: Sift>(&mut self, meter: &Mutex<&mut Meter<'_>>) -> Result<Vec<Sifter<'c>>, FolderError> {
        let Some(file) = self.opened.files.of(T::TABLE).filter(|_| self.is_whole) else {
            return Ok(Vec::new());
        };
        let mut scan = Scan::of(file)?;
        let first_received = self.extent.first_received;
        let sifted = scan.read(self.threads, meter, || Sifting::<T> {
            sifter: Sifter::new(self.common, first_received),
            is_whole: true,
            table: std::marker::PhantomData,
        })?;
        self.is_whole &= sifted.iter().all(|sifting| sifting.is_whole);
        self.scans.push(scan);
        let mut sifters: Vec<_> = sifted.into_iter().map(|sifting| sifting.sifter).collect();
        for sifter in &mut sifters {
            self.extent.add(sifter.extent);
            self.rest.pairs.append(&mut sifter.may_be_for);
        }
        Ok(sifters)
    }
}

impl<'s> Opened<'s> {
    /// The size of all tables, in bytes.
    pub fn bytes(&self) -> u64 {
        self.files.bytes()
    }

    /// Counts the orders with which, by the rule, nothing is wrong, and says which rows are left.
    ///
    /// # Errors
    /// [`FolderError`] where a file cannot be used at all.
    pub fn sieve(
        &self,
        rule: &dyn Rule,
        how: Sieving,
        progress: &mut (dyn FnMut(Progress) + Send),
    ) -> Result<Sieved<'_>, FolderError> {
        if !self.is_whole {
            return Ok(Sieved::Plain);
        }
        let common = Common {
            zone: self.settings.zone,
            rules: self.settings.rules,
            rule,
            as_of: how.as_of,
            keys: Keys::new(),
            pool: Pool::default(),
            suppliers: Mutex::new(HashMap::new()),
        };
        let mut meter = Meter::new(2 * self.files.bytes(), progress);
        let mut sieve = Sieve {
            opened: self,
            common: &common,
            threads: how.threads.max(1),
            extent: Extent::default(),
            scans: Vec::new(),
            rest: Rest::default(),
            is_whole: true,
        };
        let Some(counted) = sieve.sift(&Mutex::new(&mut meter))? else { return Ok(Sieved::Plain) };
        let Sieve { extent, scans, rest, .. } = sieve;
        let suppliers = std::mem::take(&mut *scan::locked(&common.suppliers));
        let extents = Extents {
            first_placed: extent.first_placed.and_then(Moment::time),
            first_received: extent.first_received.and_then(Moment::time),
            latest: extent.latest.and_then(Moment::time),
            orders_before: extent.orders_before,
            orders: extent.orders,
            suppliers: suppliers.keys().cloned().collect(),
        };
        let numbers = rest::Numbers::new(common.keys.clone(), suppliers);
        self.files.check_unchanged()?;
        Ok(Sieved::Counted(Box::new(Remainder::new(self, (counted, extents), rest, scans, numbers, how))))
    }
}

impl<'c> Sieve<'_, 'c> {
    /// `None` where the book has to be read as a whole.
    fn sift(&mut self, meter: &Mutex<&mut Meter<'_>>) -> Result<Option<Counted>, FolderError> {
        let (common, threads) = (self.common, self.threads);
        let pool = &common.pool;
        let parcels = parted(self.table::<Parcel>(meter)?, |sifter| sifter.parcels);
        let parcel_lines = parted(self.table::<ParcelLine>(meter)?, |sifter| sifter.parcel_lines);
        let (mut beside, has_orphans) = join::parcels(threads, pool, &parcels, &parcel_lines);
        self.rest.has_orphans |= has_orphans;

        beside.push(self.ties());
        let submissions = parted(self.table::<Submission>(meter)?, |sifter| sifter.submissions);
        let lines = parted(self.table::<SubmissionLine>(meter)?, |sifter| sifter.submission_lines);
        let (mut sent, rest) = join::submissions(threads, pool, &submissions, &lines, &Parted::new(beside));
        self.rest.add(rest);
        sent.push(self.unclear());

        let orders = parted(self.table::<Order>(meter)?, |sifter| sifter.orders);
        let lines = parted(self.table::<OrderLine>(meter)?, |sifter| sifter.order_lines);
        if !self.is_whole || self.rest.has_orphans {
            return Ok(None);
        }
        let (counted, rest) = join::orders(threads, common.rule, &orders, &lines, &Parted::new(sent));
        self.rest.add(rest);
        Ok((!self.rest.has_orphans).then_some(counted))
    }

    /// What ties name has to be looked at.
    fn ties(&mut self) -> Piles<'c, 3> {
        let mut beside = Piles::new(&self.common.pool);
        let mut sifter = Sifter::new(self.common, None);
        for tie in self.opened.ties.iter().map(|placed| &placed.row) {
            let Some(submission) = sifter.submission_key(&tie.supplier, &tie.submission_id) else { continue };
            beside.push(rows::Beside::Odd.packed(submission));
            self.rest.pairs.push((submission, self.common.keys.of(tie.order_id.as_str().as_bytes())));
        }
        beside
    }

    /// Orders that something may be for, beside others, have to be looked at.
    fn unclear(&self) -> Piles<'c, 5> {
        let mut sent = Piles::new(&self.common.pool);
        for (submission, order) in &self.rest.pairs {
            sent.push(rows::Sent { order: *order, submission: *submission, facts: None }.packed());
        }
        sent
    }
}

fn parted<'c, const N: usize>(
    sifters: Vec<Sifter<'c>>,
    piles: impl Fn(Sifter<'c>) -> Piles<'c, N>,
) -> Parted<'c, N> {
    Parted::new(sifters.into_iter().map(piles))
}
