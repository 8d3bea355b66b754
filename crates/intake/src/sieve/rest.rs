//! The rows that are left: kept in batches of what belongs together, each of which becomes a book of its own.
//!
//! Must not know: why they are left, or how they are judged. Start reading at [`Remainder`].

use std::any::Any;
use std::collections::{BTreeMap, HashMap};
use std::ops::Range;
use std::sync::Mutex;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::book::{Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie};
use model::outcome::Notice;
use model::straight::Counted;
use model::{Book, SupplierId, When};

use crate::build::TableRow;
use crate::error::FolderError;
use crate::files::Files;
use crate::folder::{self, Desk, Source};
use crate::keys::Placed;
use crate::lines::{Meter, Progress};
use crate::row::Row;
use crate::sieve::join::Rest;
use crate::sieve::key::{Key, Keys, NONE};
use crate::sieve::prints::Wanted;
use crate::sieve::scan::{Scan, Taker};
use crate::sieve::sift::{PartOf, Sift, Written};
use crate::sieve::{Extents, Opened, Sieving};
use crate::skipped::LeftOut;
use crate::tables::Table;

/// The orders that were not counted, with all that belongs to them, and what was counted.
pub struct Remainder<'o> {
    opened: &'o Opened<'o>,
    /// What was counted.
    pub counted: Counted,
    /// What the whole book says.
    pub extents: Extents,
    /// All rows of the book.
    pub rows_read: u64,
    scans: Vec<Scan<'o>>,
    numbers: Numbers,
    orders: Marks,
    submissions: Marks,
    threads: usize,
    batches: u32,
    batches_a_round: u32,
}

/// How ids become keys.
pub(crate) struct Numbers {
    keys: Keys,
    suppliers: HashMap<Vec<u8>, u32, foldhash::fast::RandomState>,
}

impl Numbers {
    pub(crate) fn new(keys: Keys, suppliers: HashMap<SupplierId, u32>) -> Self {
        let by_name = |(id, number): (SupplierId, u32)| (id.as_str().as_bytes().to_vec(), number);
        Self { keys, suppliers: suppliers.into_iter().map(by_name).collect() }
    }

    fn key(&self, part_of: PartOf<'_>) -> Option<Key> {
        match part_of {
            PartOf::Order(id) => Some(self.keys.of(id)),
            PartOf::Submission(supplier, id) | PartOf::Parcel(supplier, id) => {
                let number = self.suppliers.get(supplier)?;
                Some(self.keys.within(*number, id))
            }
        }
    }
}

/// The batch of each key that is left.
#[derive(Default)]
struct Marks {
    wanted: Wanted,
    batches: HashMap<Key, u32, foldhash::fast::RandomState>,
}

impl Marks {
    fn of(keys: impl Iterator<Item = (Key, u32)>) -> Self {
        let batches: HashMap<_, _, _> = keys.collect();
        Self { wanted: Wanted::of(batches.keys().copied()), batches }
    }
}

/// Which orders submissions connect.
#[derive(Default)]
struct Groups {
    parents: HashMap<Key, Key>,
    /// One of the orders of each submission that may be for several.
    first: HashMap<Key, Key>,
}

impl Groups {
    /// Of pairs of a submission and an order that it may be for.
    fn of(pairs: &[(Key, Key)]) -> Self {
        let mut groups = Self::default();
        for (submission, order) in pairs {
            let first = *groups.first.entry(*submission).or_insert(*order);
            let (a, b) = (groups.root(first), groups.root(*order));
            groups.parents.insert(a.max(b), a.min(b));
        }
        groups
    }

    /// What stands for the orders of a submission, of which `order` is one, if any is known.
    fn root_of(&mut self, submission: Key, order: Key) -> Key {
        match self.first.get(&submission) {
            Some(first) => self.root(*first),
            None if order == NONE => submission,
            None => self.root(order),
        }
    }

    fn root(&mut self, order: Key) -> Key {
        let mut root = order;
        while let Some(parent) = self.parents.get(&root).filter(|parent| **parent != root) {
            root = *parent;
        }
        let mut order = order;
        while order != root {
            order = self.parents.insert(order, root).unwrap_or(root);
        }
        root
    }
}

/// How much of the rows that are left is held at once, for each thread, as a multiple of a batch.
const BATCHES_A_ROUND: u32 = 8;

impl<'o> Remainder<'o> {
    pub(crate) fn new(
        opened: &'o Opened<'o>,
        (counted, extents): (Counted, Extents),
        rest: Rest,
        scans: Vec<Scan<'o>>,
        numbers: Numbers,
        how: Sieving,
    ) -> Self {
        let bytes: u64 = scans.iter().map(|scan| scan.file.bytes).sum();
        let left = rest.orders.len().max(rest.submissions.len()) as f64 / extents.orders.max(1) as f64;
        let wanted = (bytes as f64 * left / how.batch_bytes.max(1) as f64).ceil();
        let batches = (wanted as u32).max(how.threads as u32);
        let mut groups = Groups::of(&rest.pairs);
        let batch = |root: Key| ((u128::from(root) * u128::from(batches)) >> Key::BITS) as u32;
        let orders = Marks::of(rest.orders.into_iter().map(|order| (order, batch(groups.root(order)))));
        let submissions = Marks::of(
            rest.submissions
                .into_iter()
                .map(|(submission, order)| (submission, batch(groups.root_of(submission, order)))),
        );
        let rows_read = opened.rows_read + scans.iter().map(|scan| scan.rows).sum::<u64>();
        Self {
            opened,
            counted,
            extents,
            rows_read,
            scans,
            numbers,
            orders,
            submissions,
            threads: how.threads,
            batches,
            batches_a_round: BATCHES_A_ROUND * how.threads as u32,
        }
    }

    /// How often the files have to be read for the rows that are left, so that not all of them are held at once.
    pub fn rounds(&self) -> u32 {
        self.batches.div_ceil(self.batches_a_round)
    }

    /// What the owner should know of the files; `again` is that of all batches.
    pub fn notices(&self, again: &Again) -> Vec<Notice> {
        let mut notices = self.opened.notices.clone();
        notices.extend(self.scans.iter().filter_map(|scan| folder::unknown_names(scan.file, &scan.unknown)));
        notices.extend(folder::missing_submission_lines(&self.opened.files));
        notices.extend(folder::superseded(&self.opened.files, &again.superseded));
        notices
    }

    /// Reads the files once more and keeps what belongs to the batches of one round.
    ///
    /// # Errors
    /// [`FolderError`] where a file cannot be read any more, or has changed.
    pub fn gather(
        &mut self,
        round: u32,
        progress: &mut (dyn FnMut(Progress) + Send),
    ) -> Result<Vec<Batch<'o>>, FolderError> {
        let bytes = self.opened.files.bytes();
        let mut meter = Meter::new(bytes * (1 + u64::from(self.rounds())), progress);
        meter.add(bytes * (1 + u64::from(round)));
        let meter = Mutex::new(&mut meter);
        let first = round * self.batches_a_round;
        let batches = first..self.batches.min(first + self.batches_a_round);
        let mut gathering = Gathering {
            zone: self.opened.settings.zone,
            threads: self.threads,
            numbers: &self.numbers,
            scans: &mut self.scans,
            batches: batches.clone(),
            kept: batches.map(|_| BTreeMap::new()).collect(),
            parcels: Vec::new(),
        };
        gathering.table::<Order>(&self.orders, &meter)?;
        gathering.table::<OrderLine>(&self.orders, &meter)?;
        gathering.table::<Submission>(&self.submissions, &meter)?;
        gathering.table::<SubmissionLine>(&self.submissions, &meter)?;
        gathering.table::<Parcel>(&self.submissions, &meter)?;
        let parcels = Marks::of(std::mem::take(&mut gathering.parcels).into_iter());
        gathering.table::<ParcelLine>(&parcels, &meter)?;
        let Gathering { batches, mut kept, .. } = gathering;
        let mut ties: Vec<Vec<Placed<Tie>>> = kept.iter().map(|_| Vec::new()).collect();
        for tie in &self.opened.ties {
            let submission =
                (tie.row.supplier.as_str().as_bytes(), tie.row.submission_id.as_str().as_bytes());
            let key = self.numbers.key(PartOf::Submission(submission.0, submission.1));
            let batch = key.and_then(|key| self.submissions.batches.get(&key).copied());
            if let Some(batch) = batch.filter(|batch| batches.contains(batch)) {
                ties[(batch - batches.start) as usize].push(tie.clone());
            }
        }
        self.opened.files.check_unchanged()?;
        Ok(kept
            .drain(..)
            .zip(ties)
            .map(|(mut tables, ties)| {
                tables.insert(Table::Ties, Box::new(ties));
                Batch { opened: self.opened, tables }
            })
            .collect())
    }
}

type Tables = BTreeMap<Table, Box<dyn Any + Send>>;

/// Keeping under way.
struct Gathering<'g, 'o> {
    zone: Tz,
    threads: usize,
    numbers: &'g Numbers,
    scans: &'g mut Vec<Scan<'o>>,
    batches: Range<u32>,
    kept: Vec<Tables>,
    /// The parcels of submissions that are left, each with its batch.
    parcels: Vec<(Key, u32)>,
}

impl Gathering<'_, '_> {
    fn table<T: Sift>(&mut self, marks: &Marks, meter: &Mutex<&mut Meter<'_>>) -> Result<(), FolderError> {
        let Self { zone, threads, numbers, scans, batches, .. } = self;
        let Some(scan) = scans.iter_mut().find(|scan| scan.file.table == T::TABLE) else { return Ok(()) };
        let keepers = scan.read_again(*threads, &marks.wanted, meter, || Keeper::<T> {
            zone: *zone,
            numbers,
            marks,
            batches: batches.clone(),
            kept: Vec::new(),
        })?;
        let mut of_batches: Vec<Vec<Placed<T>>> = batches.clone().map(|_| Vec::new()).collect();
        for (batch, placed) in keepers.into_iter().flat_map(|keeper| keeper.kept) {
            of_batches[(batch - batches.start) as usize].push(placed);
        }
        for (batch, rows) in of_batches.into_iter().enumerate() {
            let parcels = rows.iter().filter_map(|placed| placed.row.as_parcel());
            let keys = parcels.filter_map(|parcel| self.numbers.key(parcel));
            self.parcels.extend(keys.map(|key| (key, self.batches.start + batch as u32)));
            self.kept[batch].insert(T::TABLE, Box::new(rows));
        }
        Ok(())
    }
}

/// Keeps rows of one table, one thread's.
struct Keeper<'k, T> {
    zone: Tz,
    numbers: &'k Numbers,
    marks: &'k Marks,
    batches: Range<u32>,
    /// Each row with its batch.
    kept: Vec<(u32, Placed<T>)>,
}

impl<T: Sift> Taker for Keeper<'_, T> {
    fn take_written(&mut self, _: Written<'_>) -> Option<Key> {
        None
    }

    fn take_row(&mut self, row: &Row<'_>, _: Option<Written<'_>>) -> Key {
        // All rows could be read the first time; a file that has changed since is found out in the end.
        let Ok(value) = folder::read_row::<T>(row, self.zone) else { return NONE };
        let Some(key) = self.numbers.key(value.part_of()) else { return NONE };
        if let Some(batch) = self.marks.batches.get(&key).filter(|batch| self.batches.contains(batch)) {
            // Which line it was is not told any more: where that is wanted, the book is read as a whole.
            self.kept.push((*batch, Placed { line: row.line, row: value }));
        }
        key
    }
}

/// Orders that have nothing to do with those of other batches, and all that belongs to them.
pub struct Batch<'o> {
    opened: &'o Opened<'o>,
    tables: Tables,
}

/// A batch as a book.
pub struct BatchBook {
    /// Its rows, and the variants and links of the whole book.
    pub book: Book,
    /// The rows that it lacks because they were given more than once.
    pub again: Again,
}

/// Rows that were given more than once, and do not count.
#[derive(Clone, Default, Debug)]
pub struct Again {
    /// Rows of orders.
    pub orders: u64,
    /// Of these, those of orders placed before the first submission was received.
    pub orders_before: u64,
    /// Rows that gave way to later ones.
    superseded: BTreeMap<Table, u64>,
}

impl Again {
    /// Adds those of another batch.
    pub fn add(&mut self, other: Self) {
        self.orders += other.orders;
        self.orders_before += other.orders_before;
        for (table, count) in other.superseded {
            *self.superseded.entry(table).or_default() += count;
        }
    }
}

impl Batch<'_> {
    /// Brings the rows together. `None` where the book has to be read as a whole, because rows contradict each other
    /// or belong to none, or because one that gave way may be what `extents` rests on.
    pub fn book(self, extents: &Extents) -> Option<BatchBook> {
        let Opened { files, settings, book: small, .. } = self.opened;
        let orders = of_table::<Order>(&self.tables);
        let before = |placed: When| extents.first_received.is_some_and(|first| placed.begins() < first);
        let given = Given {
            orders: orders.len() as u64,
            before: orders.iter().filter(|placed| before(placed.row.placed_at)).count() as u64,
            extremes: Extremes::of(
                orders.iter().map(|placed| &placed.row),
                of_table::<Submission>(&self.tables).iter().map(|placed| &placed.row),
                of_table::<Parcel>(&self.tables).iter().map(|placed| &placed.row),
            ),
        };
        let mut desk = Desk::new(files, BatchSource { tables: self.tables });
        let folder = desk.read(settings.rules).ok()?;
        if folder.bad_row_count > 0 || folder.rows_skipped > 0 {
            return None;
        }
        let mut book = folder.book;
        let stands = Extremes::of(
            book.orders.iter(),
            book.submissions.iter().flatten(),
            book.parcels.iter().flatten(),
        );
        if given.extremes != stands && given.extremes.reach(extents) {
            return None;
        }
        let before = book.orders.iter().filter(|order| before(order.placed_at)).count() as u64;
        (book.variants, book.links) = (small.variants.clone(), small.links.clone());
        let again = Again {
            orders: given.orders - book.orders.len() as u64,
            orders_before: given.before - before,
            superseded: desk.superseded,
        };
        Some(BatchBook { book, again })
    }
}

/// What a batch had before rows that were given more than once were settled.
struct Given {
    orders: u64,
    before: u64,
    extremes: Extremes,
}

/// The first and the last moments of some rows.
#[derive(PartialEq, Eq)]
struct Extremes {
    first_placed: Option<DateTime<Utc>>,
    first_received: Option<DateTime<Utc>>,
    latest: Option<DateTime<Utc>>,
}

impl Extremes {
    fn of<'a>(
        orders: impl Iterator<Item = &'a Order> + Clone,
        submissions: impl Iterator<Item = &'a Submission> + Clone,
        parcels: impl Iterator<Item = &'a Parcel>,
    ) -> Self {
        let of_orders = orders
            .clone()
            .flat_map(|order| [Some(order.placed_at), order.paid_at, order.updated_at].into_iter().flatten());
        let of_submissions = submissions
            .clone()
            .flat_map(|sent| [Some(sent.received_at), sent.updated_at].into_iter().flatten());
        let all = of_orders.chain(of_submissions).chain(parcels.map(|parcel| parcel.dispatched_at));
        Self {
            first_placed: orders.map(|order| order.placed_at.begins()).min(),
            first_received: submissions.map(|sent| sent.received_at.begins()).min(),
            latest: all.map(When::begins).max(),
        }
    }

    /// Whether one of them is that of the whole book.
    fn reach(&self, extents: &Extents) -> bool {
        self.first_placed == extents.first_placed
            || self.first_received == extents.first_received
            || self.latest == extents.latest
    }
}

fn of_table<T: TableRow>(tables: &Tables) -> &[Placed<T>] {
    let rows = tables.get(&T::TABLE).and_then(|rows| rows.downcast_ref::<Vec<Placed<T>>>());
    rows.map(Vec::as_slice).unwrap_or_default()
}

/// The rows of a batch, each table once.
struct BatchSource {
    tables: Tables,
}

impl Source for BatchSource {
    fn rows<T: TableRow>(
        &mut self,
        files: &Files,
        _: &mut LeftOut,
    ) -> Result<Option<Vec<Placed<T>>>, FolderError> {
        let rows = self.tables.remove(&T::TABLE).and_then(|rows| rows.downcast::<Vec<Placed<T>>>().ok());
        Ok(rows.map(|rows| *rows).filter(|_| files.of(T::TABLE).is_some()))
    }
}
