//! From the cells of a row to the numbers that decide of it.
//!
//! Every known cell of a row is looked at, so that a row which cannot be read is never counted. What is written in
//! an unusual way, and what cannot be read, is left to the reading of single rows, `build`, which says what is wrong
//! with it; its answer comes back to [`Sift::sift`]. Must not know: blocks, files, or other rows. Start reading at
//! [`Sifter`].

use std::collections::HashMap;
use std::hash::{BuildHasher, Hasher};
use std::sync::{Mutex, PoisonError};

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use hashbrown::HashTable;
use model::book::{
    Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission, SubmissionLine, SubmissionStatus,
};
use model::rules::ReferenceForm;
use model::straight::{Age, LineFacts, OrderFacts, Rule, Standing};
use model::{Currency, Rules, SubmissionId, SupplierId, money};
use rust_decimal::Decimal;

use crate::build::{ORDER_STATUSES, SUBMISSION_STATUSES, TableRow};
use crate::cells::MAX_QUANTITY;
use crate::sieve::key::{Key, Keys, NONE};
use crate::sieve::moments::{Moment, Span, Times};
use crate::sieve::pool::{Piles, Pool};
use crate::sieve::rows;
use crate::sieve::separators::RowBounds;
use crate::tables::{Column, Slot, Table};

/// How many links and variants are remembered by how their cells are written, for each thread. A shop has some
/// thousands of offers; where every row is written differently, they are found anew each time.
const REMEMBERED: usize = 1 << 15;

/// So many suppliers are sooner compared than hashed.
const FEW_SUPPLIERS: usize = 6;

/// What is the same for all rows.
pub(crate) struct Common<'c> {
    pub(crate) zone: Tz,
    pub(crate) rules: &'c Rules,
    pub(crate) rule: &'c dyn Rule,
    pub(crate) as_of: DateTime<Utc>,
    pub(crate) keys: Keys,
    pub(crate) pool: Pool,
    pub(crate) suppliers: Mutex<HashMap<SupplierId, u32>>,
}

/// A supplier, as far as its rows depend on it.
#[derive(Clone)]
struct Supplier<'c> {
    id: SupplierId,
    number: u32,
    form: &'c ReferenceForm,
    hold: Age,
    start: Age,
}

/// What the whole book says, beside its orders.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(crate) struct Extent {
    pub(crate) first_placed: Option<Moment>,
    pub(crate) first_received: Option<Moment>,
    pub(crate) latest: Option<Moment>,
    /// Orders placed before the first submission was received; counted once that is known.
    pub(crate) orders_before: u64,
    pub(crate) orders: u64,
}

fn least(a: &mut Option<Moment>, b: Option<Moment>) {
    *a = (*a).into_iter().chain(b).min();
}

impl Extent {
    pub(crate) fn add(&mut self, other: Self) {
        least(&mut self.first_placed, other.first_placed);
        least(&mut self.first_received, other.first_received);
        self.latest = self.latest.max(other.latest);
        self.orders_before += other.orders_before;
        self.orders += other.orders;
    }

    fn reaches(&mut self, moments: impl IntoIterator<Item = Option<Span>>) {
        let begins = moments.into_iter().flatten().map(|span| span.begins);
        self.latest = self.latest.max(begins.max());
    }
}

/// Takes rows apart, one thread's.
pub(crate) struct Sifter<'c> {
    common: &'c Common<'c>,
    as_of: Moment,
    times: Times,
    currency: [u8; 3],
    suppliers: Vec<Supplier<'c>>,
    by_supplier: HashMap<Vec<u8>, usize, foldhash::fast::RandomState>,
    links: Memory,
    variants: Memory,
    /// Known once all submissions are read.
    pub(crate) first_received: Option<Moment>,
    pub(crate) extent: Extent,
    pub(crate) parcels: Piles<'c, 3>,
    pub(crate) parcel_lines: Piles<'c, 3>,
    pub(crate) submissions: Piles<'c, 3>,
    pub(crate) submission_lines: Piles<'c, 5>,
    pub(crate) orders: Piles<'c, 2>,
    pub(crate) order_lines: Piles<'c, 3>,
    /// A submission, and an order that it may be for beside others.
    pub(crate) may_be_for: Vec<(Key, Key)>,
}

/// A number for what some cells hold, by how they are written.
struct Memory {
    hasher: foldhash::fast::RandomState,
    known: HashTable<Known>,
}

struct Known {
    hash: u64,
    /// The cells as in a row, each with a comma behind it: no others are written so.
    written: Vec<u8>,
    number: u32,
}

impl Known {
    fn is(&self, cells: &[&[u8]]) -> bool {
        let mut rest = self.written.as_slice();
        for cell in cells {
            match rest.strip_prefix(*cell) {
                Some([b',', behind @ ..]) => rest = behind,
                _ => return false,
            }
        }
        rest.is_empty()
    }
}

impl Memory {
    fn new() -> Self {
        Self { hasher: foldhash::fast::RandomState::default(), known: HashTable::new() }
    }

    fn hash(&self, cells: &[&[u8]]) -> u64 {
        let mut hasher = self.hasher.build_hasher();
        for cell in cells {
            hasher.write(cell);
        }
        hasher.finish()
    }

    fn get(&self, cells: &[&[u8]]) -> Option<u32> {
        let hash = self.hash(cells);
        let known = self.known.find(hash, |known| known.hash == hash && known.is(cells))?;
        Some(known.number)
    }

    fn put(&mut self, cells: &[&[u8]], number: u32) {
        if self.known.len() < REMEMBERED {
            let mut written = Vec::new();
            for cell in cells {
                written.extend_from_slice(cell);
                written.push(b',');
            }
            let hash = self.hash(cells);
            self.known.insert_unique(hash, Known { hash, written, number }, |known| known.hash);
        }
    }
}

/// Where the columns of a file stand.
pub(crate) struct Places {
    at: [u16; Column::COUNT],
    /// The columns of single options.
    options: Vec<u16>,
    count: usize,
}

const NOWHERE: u16 = u16::MAX;

impl Places {
    /// `None` where there are more columns than a number of 16 bits can say.
    pub(crate) fn of(table: Table, names: &[String]) -> Option<Self> {
        let mut places = Self { at: [NOWHERE; Column::COUNT], options: Vec::new(), count: names.len() };
        for (index, name) in names.iter().enumerate() {
            let index = u16::try_from(index).ok().filter(|index| *index != NOWHERE)?;
            match Slot::of(table, name) {
                Slot::Column(position) => places.at[table.columns()[position].0 as usize] = index,
                Slot::Option(_) => places.options.push(index),
                Slot::Unknown => {}
            }
        }
        Some(places)
    }

    /// How many cells a row has.
    pub(crate) fn count(&self) -> usize {
        self.count
    }
}

/// The cells of one row as they are written.
#[derive(Clone, Copy)]
pub(crate) struct Written<'b> {
    pub(crate) block: &'b [u8],
    pub(crate) row: RowBounds<'b>,
    pub(crate) places: &'b Places,
}

impl<'b> Written<'b> {
    #[inline(always)]
    fn cell(&self, index: u16) -> &'b [u8] {
        let index = usize::from(index);
        let ends = self.row.ends;
        let start = if index == 0 { self.row.start } else { ends[index - 1] as usize + 1 };
        let cell = &self.block[start..ends[index] as usize];
        if index + 1 == ends.len() { cell.strip_suffix(b"\r").unwrap_or(cell) } else { cell }
    }

    /// The cell, its quotes included; nothing where the file does not have the column.
    #[inline(always)]
    fn written(&self, column: Column) -> &'b [u8] {
        match self.places.at[column as usize] {
            NOWHERE => b"",
            index => self.cell(index),
        }
    }

    /// The text of the cell; `None` where it has quotes in it.
    #[inline(always)]
    fn text(&self, column: Column) -> Option<&'b [u8]> {
        let cell = self.written(column);
        if cell.first() == Some(&b'"') { unquoted(cell) } else { Some(cell) }
    }

    /// The text, which must not be empty.
    #[inline(always)]
    fn id(&self, column: Column) -> Option<&'b [u8]> {
        self.text(column).filter(|text| !text.is_empty())
    }

    fn str(&self, column: Column) -> Option<&'b str> {
        std::str::from_utf8(self.text(column)?).ok()
    }

    fn quantity(&self, column: Column) -> Option<u32> {
        let text = self.text(column)?;
        if text.is_empty() || text.len() > 7 {
            return None;
        }
        let mut number = 0;
        for digit in text {
            let digit = digit.wrapping_sub(b'0');
            if digit > 9 {
                return None;
            }
            number = number * 10 + u32::from(digit);
        }
        (number <= MAX_QUANTITY).then_some(number)
    }

    /// Whether the cell is empty or an amount.
    fn is_amount(&self, column: Column) -> bool {
        let Some(text) = self.text(column) else { return false };
        if text.is_empty() {
            return true;
        }
        is_plain_amount(text)
            || std::str::from_utf8(text)
                .ok()
                .and_then(money::parse_amount)
                .is_some_and(|amount| amount >= Decimal::ZERO)
    }

    fn word<T: Copy>(&self, column: Column, words: &[(&str, T)]) -> Option<T> {
        let text = self.text(column)?;
        words.iter().find(|(word, _)| word.as_bytes() == text).map(|(_, meaning)| *meaning)
    }
}

/// Whether a text is written like most amounts: digits, and maybe a point between two of them.
fn is_plain_amount(text: &[u8]) -> bool {
    let mut points = 0;
    for byte in text {
        match byte {
            b'0'..=b'9' => {}
            b'.' => points += 1,
            _ => return false,
        }
    }
    let ends_in_digits = text.first() != Some(&b'.') && text.last() != Some(&b'.');
    (1..=20).contains(&text.len()) && points <= 1 && ends_in_digits
}

/// The text of a cell in quotes that has no others.
fn unquoted(cell: &[u8]) -> Option<&[u8]> {
    let text = cell.strip_prefix(b"\"")?.strip_suffix(b"\"")?;
    memchr::memchr(b'"', text).is_none().then_some(text)
}

/// What a row is a part of.
#[derive(Clone, Copy)]
pub(crate) enum PartOf<'a> {
    /// An order.
    Order(&'a [u8]),
    /// A submission of a supplier.
    Submission(&'a [u8], &'a [u8]),
    /// A parcel of a supplier.
    Parcel(&'a [u8], &'a [u8]),
}

/// A row of a large table.
pub(crate) trait Sift: TableRow + Send {
    /// What a row is a part of.
    fn part_of(&self) -> PartOf<'_>;
    /// What its own lines are a part of, of a parcel.
    fn as_parcel(&self) -> Option<PartOf<'_>> {
        None
    }
    /// Takes a row apart as it is written; answers the key of what it is a part of. `None`, and nothing done, where it
    /// is not written in the usual way.
    fn sift_written(cells: Written<'_>, sifter: &mut Sifter<'_>) -> Option<Key>;
    /// Takes a row apart that was read by itself; answers the key of what it is a part of, which may be nothing.
    fn sift(&self, sifter: &mut Sifter<'_>) -> Option<Key>;
    /// Remembers what was found for cells that other rows may have too, of a row that was read by itself.
    fn remember(&self, _cells: Written<'_>, _sifter: &mut Sifter<'_>) {}
}

impl<'c> Sifter<'c> {
    pub(crate) fn new(common: &'c Common<'c>, first_received: Option<Moment>) -> Self {
        let pool = &common.pool;
        Self {
            common,
            as_of: common.as_of.into(),
            times: Times::new(common.zone),
            currency: *b"   ",
            suppliers: Vec::new(),
            by_supplier: HashMap::default(),
            links: Memory::new(),
            variants: Memory::new(),
            first_received,
            extent: Extent::default(),
            parcels: Piles::new(pool),
            parcel_lines: Piles::new(pool),
            submissions: Piles::new(pool),
            submission_lines: Piles::new(pool),
            orders: Piles::new(pool),
            order_lines: Piles::new(pool),
            may_be_for: Vec::new(),
        }
    }

    /// The shop's zone.
    pub(crate) fn zone(&self) -> Tz {
        self.common.zone
    }

    /// The key of a submission.
    pub(crate) fn submission_key(&mut self, supplier: &SupplierId, id: &SubmissionId) -> Option<Key> {
        let supplier = self.supplier(supplier.as_str().as_bytes())?;
        Some(self.within(supplier, id.as_str().as_bytes()))
    }

    /// A time, empty or not; the outer `None` where it is none.
    fn time(&mut self, cells: &Written<'_>, column: Column) -> Option<Option<Span>> {
        let text = cells.text(column)?;
        if text.is_empty() {
            return Some(None);
        }
        self.times.read(text).map(Some)
    }

    fn is_currency(&mut self, text: &[u8]) -> bool {
        if text.is_empty() || text == self.currency {
            return true;
        }
        let Ok(code) = <[u8; 3]>::try_from(text) else { return false };
        let is_known = std::str::from_utf8(text).is_ok_and(|text| text.parse::<Currency>().is_ok());
        if is_known {
            self.currency = code;
        }
        is_known
    }

    /// Where a supplier stands in `suppliers`; `None` where its name is no text.
    fn supplier(&mut self, name: &[u8]) -> Option<usize> {
        let first = self.suppliers.iter().take(FEW_SUPPLIERS);
        if let Some(index) = first.map(|known| known.id.as_str().as_bytes()).position(|known| known == name) {
            return Some(index);
        }
        if let Some(index) = self.by_supplier.get(name) {
            return Some(*index);
        }
        let id = SupplierId::from(std::str::from_utf8(name).ok()?);
        let number = {
            let mut numbers = self.common.suppliers.lock().unwrap_or_else(PoisonError::into_inner);
            let next = numbers.len() as u32;
            *numbers.entry(id.clone()).or_insert(next)
        };
        let (hold, start) = self.common.rule.graces(&id);
        let form = self.common.rules.references_of(&id);
        let index = self.suppliers.len();
        self.suppliers.push(Supplier { id, number, form, hold, start });
        self.by_supplier.insert(name.to_vec(), index);
        Some(index)
    }

    fn within(&self, supplier: usize, id: &[u8]) -> Key {
        self.common.keys.within(self.suppliers[supplier].number, id)
    }

    /// The order that a reference means, or none; whether it may mean others too, which are then noted.
    fn order(&mut self, supplier: usize, submission: Key, reference: &str) -> (Key, bool) {
        if reference.is_empty() {
            return (NONE, false);
        }
        let form = self.suppliers[supplier].form;
        if form.is_plain(reference) {
            return (self.common.keys.of(form.cut(reference).as_bytes()), false);
        }
        let keys = &self.common.keys;
        let mut orders: Vec<Key> =
            form.candidates(reference).iter().map(|id| keys.of(id.as_bytes())).collect();
        orders.sort_unstable();
        orders.dedup();
        self.may_be_for.extend(orders.into_iter().map(|order| (submission, order)));
        (NONE, true)
    }

    fn take_order(&mut self, id: &[u8], order: &OrderMoments) -> Key {
        let placed = order.placed.begins;
        let as_of = self.as_of;
        least(&mut self.extent.first_placed, Some(placed));
        self.extent.reaches([Some(order.placed), order.paid, order.updated]);
        self.extent.orders += 1;
        self.extent.orders_before += u64::from(self.first_received.is_some_and(|first| placed < first));
        let is_unpaid = || order.paid.is_some_and(|paid| paid.begins > as_of);
        let standing = match order.status {
            _ if placed > as_of => Standing::Later,
            OrderStatus::Cancelled | OrderStatus::Unpaid => Standing::Idle,
            OrderStatus::Open | OrderStatus::Dispatched if is_unpaid() => Standing::Idle,
            OrderStatus::Open | OrderStatus::Dispatched => Standing::Live,
        };
        let rules = self.common.rules;
        let facts = OrderFacts {
            standing,
            is_open: order.status == OrderStatus::Open,
            is_past_promise: order.promised.is_some_and(|promised| as_of > promised.ends),
            is_reported: rules.since.is_none_or(|since| placed >= since.into())
                && rules.until.is_none_or(|until| placed < until.into()),
            waiting: order.paid.unwrap_or(order.placed).begins.age(as_of),
        };
        let key = self.common.keys.of(id);
        self.orders.push(rows::packed_order(key, facts));
        key
    }

    fn take_order_line(&mut self, order: &[u8], line: &[u8], link: u32, owed: u32) -> Key {
        let keys = &self.common.keys;
        let order = keys.of(order);
        self.order_lines.push(rows::packed_line(order, LineFacts { line: keys.of(line), link, owed }));
        order
    }

    fn take_submission(
        &mut self,
        supplier: usize,
        id: &[u8],
        reference: &str,
        sent: &SubmissionMoments,
    ) -> Key {
        self.extent.reaches([Some(sent.received), sent.updated]);
        least(&mut self.extent.first_received, Some(sent.received.begins));
        let key = self.within(supplier, id);
        let (order, is_unclear) = self.order(supplier, key, reference);
        let changed = sent.updated.unwrap_or(sent.received).begins.age(self.as_of);
        let Supplier { hold, start, .. } = self.suppliers[supplier];
        let waits = match sent.status {
            SubmissionStatus::Held => changed > hold,
            SubmissionStatus::Received => sent.received.begins.age(self.as_of) > start,
            _ => false,
        };
        let exists = sent.received.begins <= self.as_of;
        let submission = rows::Submission {
            key,
            order,
            changed,
            is_live: exists && sent.status.is_live(),
            is_dispatched: sent.status == SubmissionStatus::Dispatched,
            is_odd: is_unclear || waits || sent.replaces,
        };
        self.submissions.push(submission.packed());
        key
    }

    fn take_submission_line(&mut self, supplier: usize, line: &SentLine<'_>) -> Key {
        let submission = self.within(supplier, line.submission);
        let (order, is_unclear) = self.order(supplier, submission, line.order_ref);
        let keys = &self.common.keys;
        let waits = matches!(line.status, Some(SubmissionStatus::Held | SubmissionStatus::Received));
        let row = rows::SubmissionLine {
            submission,
            line: keys.of(line.line),
            order,
            names: if line.order_line_ref.is_empty() { NONE } else { keys.of(line.order_line_ref) },
            variant: line.variant,
            units: line.quantity,
            is_live: line.status.is_none_or(SubmissionStatus::is_live),
            is_odd: is_unclear || waits || line.variant == NO_VARIANT,
        };
        self.submission_lines.push(row.packed());
        submission
    }

    fn take_parcel(&mut self, supplier: usize, parcel: &[u8], submission: &[u8], dispatched: Span) -> Key {
        self.extent.reaches([Some(dispatched)]);
        let row = rows::Parcel {
            key: self.within(supplier, parcel),
            submission: self.within(supplier, submission),
            age: dispatched.begins.age(self.as_of),
            exists: dispatched.begins <= self.as_of,
        };
        self.parcels.push(row.packed());
        row.submission
    }

    fn take_parcel_line(&mut self, supplier: usize, parcel: &[u8], line: &[u8], units: u32) -> Key {
        let row = rows::ParcelLine {
            parcel: self.within(supplier, parcel),
            line: self.common.keys.of(line),
            units,
        };
        self.parcel_lines.push(row.packed());
        row.parcel
    }
}

/// The cells that decide of a link, with those of single options.
const OF_LINK: [Column; 3] = [Column::ListingId, Column::Sku, Column::Options];

/// The cells that decide of a variant.
const OF_VARIANT: [Column; 3] = [Column::Supplier, Column::VariantId, Column::Sku];

/// A variant that the table does not have, or none at all.
const NO_VARIANT: u32 = u32::MAX;

struct OrderMoments {
    placed: Span,
    paid: Option<Span>,
    promised: Option<Span>,
    updated: Option<Span>,
    status: OrderStatus,
}

struct SubmissionMoments {
    received: Span,
    updated: Option<Span>,
    status: SubmissionStatus,
    replaces: bool,
}

struct SentLine<'a> {
    submission: &'a [u8],
    line: &'a [u8],
    order_ref: &'a str,
    order_line_ref: &'a [u8],
    variant: u32,
    quantity: u32,
    status: Option<SubmissionStatus>,
}

impl Sift for Order {
    fn part_of(&self) -> PartOf<'_> {
        PartOf::Order(self.order_id.as_str().as_bytes())
    }

    fn sift_written(cells: Written<'_>, sifter: &mut Sifter<'_>) -> Option<Key> {
        let id = cells.id(Column::OrderId)?;
        let order = OrderMoments {
            placed: sifter.time(&cells, Column::PlacedAt)??,
            paid: sifter.time(&cells, Column::PaidAt)?,
            promised: sifter.time(&cells, Column::PromisedBy)?,
            updated: sifter.time(&cells, Column::UpdatedAt)?,
            status: cells.word(Column::Status, ORDER_STATUSES)?,
        };
        if !sifter.is_currency(cells.text(Column::Currency)?) {
            return None;
        }
        Some(sifter.take_order(id, &order))
    }

    fn sift(&self, sifter: &mut Sifter<'_>) -> Option<Key> {
        let order = OrderMoments {
            placed: self.placed_at.into(),
            paid: self.paid_at.map(Span::from),
            promised: self.promised_by.map(Span::from),
            updated: self.updated_at.map(Span::from),
            status: self.status,
        };
        Some(sifter.take_order(self.order_id.as_str().as_bytes(), &order))
    }
}

impl Sift for OrderLine {
    fn part_of(&self) -> PartOf<'_> {
        PartOf::Order(self.order_id.as_str().as_bytes())
    }

    fn sift_written(cells: Written<'_>, sifter: &mut Sifter<'_>) -> Option<Key> {
        let order = cells.id(Column::OrderId)?;
        let line = cells.id(Column::LineId)?;
        let quantity = cells.quantity(Column::Quantity)?;
        let cancelled = match cells.text(Column::CancelledQuantity)? {
            b"" => 0,
            _ => cells.quantity(Column::CancelledQuantity)?,
        };
        let owed = quantity.checked_sub(cancelled)?;
        sifter.time(&cells, Column::UpdatedAt)?;
        if !cells.is_amount(Column::UnitPrice) {
            return None;
        }
        let of_link = OF_LINK.map(|column| cells.written(column));
        let link = if cells.places.options.is_empty() {
            sifter.links.get(&of_link)?
        } else {
            let mut written = of_link.to_vec();
            written.extend(cells.places.options.iter().map(|index| cells.cell(*index)));
            sifter.links.get(&written)?
        };
        Some(sifter.take_order_line(order, line, link, owed))
    }

    fn sift(&self, sifter: &mut Sifter<'_>) -> Option<Key> {
        let link = sifter.common.rule.link(self);
        let (order, line) = (self.order_id.as_str().as_bytes(), self.line_id.as_str().as_bytes());
        Some(sifter.take_order_line(order, line, link, self.quantity_owed()))
    }

    fn remember(&self, cells: Written<'_>, sifter: &mut Sifter<'_>) {
        let of_link = OF_LINK.map(|column| cells.written(column));
        let mut written = of_link.to_vec();
        written.extend(cells.places.options.iter().map(|index| cells.cell(*index)));
        let link = sifter.common.rule.link(self);
        sifter.links.put(&written, link);
    }
}

impl Sift for Submission {
    fn part_of(&self) -> PartOf<'_> {
        PartOf::Submission(self.supplier.as_str().as_bytes(), self.submission_id.as_str().as_bytes())
    }

    fn sift_written(cells: Written<'_>, sifter: &mut Sifter<'_>) -> Option<Key> {
        let supplier = sifter.supplier(cells.id(Column::Supplier)?)?;
        let id = cells.id(Column::SubmissionId)?;
        let sent = SubmissionMoments {
            received: sifter.time(&cells, Column::ReceivedAt)??,
            updated: sifter.time(&cells, Column::UpdatedAt)?,
            status: cells.word(Column::Status, SUBMISSION_STATUSES)?,
            replaces: !cells.text(Column::Replaces)?.is_empty(),
        };
        Some(sifter.take_submission(supplier, id, cells.str(Column::OrderRef)?, &sent))
    }

    fn sift(&self, sifter: &mut Sifter<'_>) -> Option<Key> {
        let supplier = sifter.supplier(self.supplier.as_str().as_bytes())?;
        let sent = SubmissionMoments {
            received: self.received_at.into(),
            updated: self.updated_at.map(Span::from),
            status: self.status,
            replaces: self.replaces.is_some(),
        };
        let reference = self.order_ref.as_deref().unwrap_or_default();
        Some(sifter.take_submission(supplier, self.submission_id.as_str().as_bytes(), reference, &sent))
    }
}

impl Sift for SubmissionLine {
    fn part_of(&self) -> PartOf<'_> {
        PartOf::Submission(self.supplier.as_str().as_bytes(), self.submission_id.as_str().as_bytes())
    }

    fn sift_written(cells: Written<'_>, sifter: &mut Sifter<'_>) -> Option<Key> {
        let supplier = sifter.supplier(cells.id(Column::Supplier)?)?;
        let line = SentLine {
            submission: cells.id(Column::SubmissionId)?,
            line: cells.id(Column::LineId)?,
            order_ref: cells.str(Column::OrderRef)?,
            order_line_ref: cells.text(Column::OrderLineRef)?,
            variant: {
                let written = OF_VARIANT.map(|column| cells.written(column));
                sifter.variants.get(&written)?
            },
            quantity: cells.quantity(Column::Quantity)?,
            status: match cells.text(Column::Status)? {
                b"" => None,
                _ => Some(cells.word(Column::Status, SUBMISSION_STATUSES)?),
            },
        };
        sifter.time(&cells, Column::UpdatedAt)?;
        if !cells.is_amount(Column::UnitCost) {
            return None;
        }
        Some(sifter.take_submission_line(supplier, &line))
    }

    fn sift(&self, sifter: &mut Sifter<'_>) -> Option<Key> {
        let supplier = sifter.supplier(self.supplier.as_str().as_bytes())?;
        let line = SentLine {
            submission: self.submission_id.as_str().as_bytes(),
            line: self.line_id.as_str().as_bytes(),
            order_ref: self.order_ref.as_deref().unwrap_or_default(),
            order_line_ref: self.order_line_ref.as_ref().map_or(b"", |line| line.as_str().as_bytes()),
            variant: sifter.variant(self),
            quantity: self.quantity,
            status: self.status,
        };
        Some(sifter.take_submission_line(supplier, &line))
    }

    fn remember(&self, cells: Written<'_>, sifter: &mut Sifter<'_>) {
        let written = OF_VARIANT.map(|column| cells.written(column));
        let variant = sifter.variant(self);
        sifter.variants.put(&written, variant);
    }
}

impl Sifter<'_> {
    fn variant(&self, line: &SubmissionLine) -> u32 {
        let rule = self.common.rule;
        let variant = match (&line.variant_id, &line.sku) {
            (Some(variant_id), _) => rule.variant(&line.supplier, variant_id),
            (None, Some(sku)) => rule.variant_of_sku(&line.supplier, sku),
            (None, None) => None,
        };
        variant.unwrap_or(NO_VARIANT)
    }
}

impl Sift for Parcel {
    fn part_of(&self) -> PartOf<'_> {
        PartOf::Submission(self.supplier.as_str().as_bytes(), self.submission_id.as_str().as_bytes())
    }

    fn as_parcel(&self) -> Option<PartOf<'_>> {
        Some(PartOf::Parcel(self.supplier.as_str().as_bytes(), self.parcel_id.as_str().as_bytes()))
    }

    fn sift_written(cells: Written<'_>, sifter: &mut Sifter<'_>) -> Option<Key> {
        let supplier = sifter.supplier(cells.id(Column::Supplier)?)?;
        let (parcel, submission) = (cells.id(Column::ParcelId)?, cells.id(Column::SubmissionId)?);
        let dispatched = sifter.time(&cells, Column::DispatchedAt)??;
        Some(sifter.take_parcel(supplier, parcel, submission, dispatched))
    }

    fn sift(&self, sifter: &mut Sifter<'_>) -> Option<Key> {
        let supplier = sifter.supplier(self.supplier.as_str().as_bytes())?;
        let (parcel, submission) =
            (self.parcel_id.as_str().as_bytes(), self.submission_id.as_str().as_bytes());
        Some(sifter.take_parcel(supplier, parcel, submission, self.dispatched_at.into()))
    }
}

impl Sift for ParcelLine {
    fn part_of(&self) -> PartOf<'_> {
        PartOf::Parcel(self.supplier.as_str().as_bytes(), self.parcel_id.as_str().as_bytes())
    }

    fn sift_written(cells: Written<'_>, sifter: &mut Sifter<'_>) -> Option<Key> {
        let supplier = sifter.supplier(cells.id(Column::Supplier)?)?;
        let (parcel, line) = (cells.id(Column::ParcelId)?, cells.id(Column::SubmissionLineId)?);
        let units = cells.quantity(Column::Quantity)?;
        Some(sifter.take_parcel_line(supplier, parcel, line, units))
    }

    fn sift(&self, sifter: &mut Sifter<'_>) -> Option<Key> {
        let supplier = sifter.supplier(self.supplier.as_str().as_bytes())?;
        let (parcel, line) =
            (self.parcel_id.as_str().as_bytes(), self.submission_line_id.as_str().as_bytes());
        Some(sifter.take_parcel_line(supplier, parcel, line, self.quantity))
    }
}
