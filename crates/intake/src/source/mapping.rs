//! Rows out of an answer, by the places that a declaration names.
//!
//! [`Request::rows`] reads one page: either all of it fits, or nothing of it is kept and a [`Misfit`] says why. What is
//! not mapped is not looked at; a value ends in the same checked rows as a cell of an exchange file. Must not know: how
//! an answer was had, or what became of the rows. Start reading at [`Request::rows`].
//!
//! # Numbers
//!
//! An answer is read without keeping the text of its numbers. Whole numbers up to 18446744073709551615 are exact. A
//! number with a fraction is the nearest binary one; the shortest decimal that is nearest to the same binary number is
//! taken, and a decimal of at most 15 digits comes back from that exactly as it was (the `DBL_DIG` of C, ISO/IEC 9899,
//! 5.2.4.2.2): `24.10` is 24.1, never 24.100000000000001. An amount that comes back with more digits does not fit; it
//! has to be a text. An id with a fraction, or above that limit, does not fit either.

mod digest;
mod lines;
mod misfit;
mod parent;
mod record;
mod sheets;
mod sight;
mod values;

use chrono::{DateTime, Utc};
use model::Book;
use model::batch::Whole;
use serde_json::Value;

pub(crate) use lines::{Lines, Read};
pub use misfit::Misfit;
pub use parent::ParentRow;
pub(crate) use sight::Sight;
pub(crate) use values::{as_people_write, scalar_text};

use crate::bad_row::Fault;
use crate::schema_org;
use crate::source::declare::{
    At, Count, Field, Found, FoundRecords, FromRecord, Next, Outer, Request, TableMapping, Take, Vocabulary,
};
use crate::tables::{Column, Table};
use misfit::Place;
use record::{Line, Record};
use sheets::Sheets;
use sight::Sights;

/// What one page brought.
#[derive(Debug)]
pub struct Mapped {
    /// Its rows, one per key, by key. A table that the request does not bring is `None`, as its `orders` and
    /// `order_lines` are empty.
    pub rows: Book,
    /// What has no more lines than those among the rows. Where a request for each row has several pages, that holds
    /// for all its pages together: see [`Mapped::join`].
    pub whole: Vec<Whole>,
    /// The rows for each of which another request is to be asked, each once.
    pub parents: Vec<ParentRow>,
    /// The latest change of the rows of the request's first table; `None` where none says when it changed.
    pub latest: Option<Latest>,
    /// How many records of the first table the page has, as the source counts them: repeats count.
    pub records: usize,
    /// How many records there are in all over all pages, as the source says in the answer.
    pub source_count: Option<u64>,
    /// The cursor or the address of the next page, as it stands in the answer; `None` on the last page.
    pub next: Option<String>,
}

/// The latest change among rows, and which rows share it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Latest {
    /// When they changed.
    pub at: DateTime<Utc>,
    /// Their keys as a person reads them, sorted: `order_id "1001"`.
    pub keys: Vec<String>,
}

impl Mapped {
    /// Adds another page, so that the pages of one request for one row make one batch.
    ///
    /// Rows that both have stand twice: the ledger keeps each key once. `next` becomes that of the other page.
    pub fn join(&mut self, other: Self) {
        let Self { rows, whole, parents, latest, records, source_count, next } = other;
        let all = &mut self.rows;
        all.orders.extend(rows.orders);
        all.order_lines.extend(rows.order_lines);
        join(&mut all.offers, rows.offers);
        join(&mut all.variants, rows.variants);
        join(&mut all.listing_products, rows.listing_products);
        join(&mut all.links, rows.links);
        join(&mut all.submissions, rows.submissions);
        join(&mut all.submission_lines, rows.submission_lines);
        join(&mut all.parcels, rows.parcels);
        join(&mut all.parcel_lines, rows.parcel_lines);
        join(&mut all.ties, rows.ties);
        self.whole.extend(whole);
        self.whole.sort();
        self.whole.dedup();
        self.parents.extend(parents);
        self.parents.sort();
        self.parents.dedup();
        self.latest = match (self.latest.take(), latest) {
            (Some(mut one), Some(other)) if one.at == other.at => {
                one.keys.extend(other.keys);
                one.keys.sort();
                one.keys.dedup();
                Some(one)
            }
            (one, other) => [one, other].into_iter().flatten().max_by_key(|latest| latest.at),
        };
        self.records += records;
        self.source_count = source_count.or(self.source_count);
        self.next = next;
    }
}

fn join<T>(all: &mut Option<Vec<T>>, more: Option<Vec<T>>) {
    if let Some(more) = more {
        all.get_or_insert_default().extend(more);
    }
}

impl Request {
    /// Reads the rows of one page.
    ///
    /// `parent` is the row for which the page was asked, of a request that is asked for each row; its key columns are
    /// those of the rows. `digest_key` is what digests of addresses are keyed with.
    ///
    /// # Errors
    /// [`Misfit`]: the first record, by table, that is not as declared. Nothing of the page is to be kept then.
    pub fn rows(
        &self,
        body: &Value,
        parent: Option<&ParentRow>,
        digest_key: &[u8],
    ) -> Result<Mapped, Box<Misfit>> {
        let mut page = Page { request: self, parent, digest_key, sheets: Sheets::default(), sights: None };
        let (records, source_count, next) = page.read(body)?;
        page.sheets.settle(self)?;
        let sheets::Settled { rows, whole, parents, latest } = page.sheets.finish(self);
        Ok(Mapped { rows, whole, parents, latest, records, source_count, next })
    }

    /// Reads the offers of one page, each record by itself: what a record repeats or contradicts stands as it is. With
    /// each offer comes what is taken from its record. The rows are not settled, and nothing else of them is told.
    ///
    /// # Errors
    /// As [`Self::rows`].
    pub(crate) fn sights(
        &self,
        body: &Value,
        parent: Option<&ParentRow>,
        digest_key: &[u8],
        take: &[(String, FromRecord)],
    ) -> Result<(Mapped, Vec<Sight>), Box<Misfit>> {
        let sights = Some(Sights { take, taken: Vec::new() });
        let mut page = Page { request: self, parent, digest_key, sheets: Sheets::default(), sights };
        let (records, source_count, next) = page.read(body)?;
        let taken = page.sights.map(|sights| sights.taken).unwrap_or_default();
        let sheets::Settled { rows, whole, parents, latest } = page.sheets.finish(self);
        let offers = rows.offers.iter().flatten().cloned();
        let sights =
            offers.zip(taken).map(|(offer, (record, taken))| Sight { offer, record, taken }).collect();
        Ok((Mapped { rows, whole, parents, latest, records, source_count, next }, sights))
    }

    /// The regular form of an answer in the terms of a vocabulary; nothing of others, which are read as they are.
    pub(crate) fn regular(&self, body: &Value) -> Result<Option<Value>, Fault> {
        let Some(Vocabulary::SchemaOrg) = self.vocabulary else { return Ok(None) };
        match schema_org::regular(body, true) {
            Ok(regular) => Ok(Some(regular.value)),
            Err(found) => {
                let expected = "orders in the terms of schema.org, or an empty list of them";
                let hint =
                    "Look at the answer; where it is in other terms, say its tables instead of vocabulary.";
                Err(Fault::of_row(found, expected, hint))
            }
        }
    }

    /// What is wrong with a record, beside what reading it said.
    pub(crate) fn fault(&self, record: &Value, read: Option<Fault>) -> Option<Fault> {
        let Some(vocabulary) = self.vocabulary else { return read };
        vocabulary.fault_of(record).or_else(|| read.map(|fault| vocabulary.explained(fault)))
    }

    fn source_count(&self, body: &Value) -> Result<Option<u64>, Box<Misfit>> {
        let Some(Count::At(at)) = &self.count else { return Ok(None) };
        let place = Place::of_page(self, "count", at);
        let expected = "the number of all records, a whole number";
        match at.one(body) {
            Found::Nothing => Ok(None),
            Found::Several(many) => Err(place.misfit(several(many))),
            Found::One(value) => {
                let Some(text) = values::scalar(value) else { return Err(place.misfit(nested(expected))) };
                text.parse().map(Some).map_err(|_| {
                    let found = format!("{} is no whole number", crate::bad_row::shown(&text));
                    place.misfit(Fault::of_row(found, expected, ""))
                })
            }
        }
    }

    /// The cursor or address in the body; an empty text and `false` say, as null does, that there is none.
    fn next(&self, body: &Value) -> Result<Option<String>, Box<Misfit>> {
        let at: &At = match &self.pages.next {
            Next::Url { at } | Next::Cursor { at, .. } => at,
            Next::None | Next::Link | Next::Number { .. } | Next::Offset { .. } => return Ok(None),
        };
        let place = Place::of_page(self, "pages.at", at);
        match at.one(body) {
            Found::Nothing | Found::One(Value::Bool(false)) => Ok(None),
            Found::Several(many) => Err(place.misfit(several(many))),
            Found::One(Value::Bool(true)) => {
                Err(place.misfit(Fault::of_row("true stands there", "where the next page is, or null", "")))
            }
            Found::One(value) => match values::scalar(value) {
                Some(text) => Ok(Some(text.into_owned()).filter(|text| !text.is_empty())),
                None => Err(place.misfit(nested("where the next page is, or null"))),
            },
        }
    }
}

fn several(many: usize) -> Fault {
    Fault::of_row(format!("{many} values stand there"), "one value", "Make the path find one value.")
}

fn nested(expected: &str) -> Fault {
    Fault::of_row("an object or a list stands there", expected, "")
}

/// A page that is being read.
struct Page<'p> {
    request: &'p Request,
    parent: Option<&'p ParentRow>,
    digest_key: &'p [u8],
    sheets: Sheets,
    /// Where each record of an offer is looked at by itself.
    sights: Option<Sights<'p>>,
}

/// The record around others.
struct Around<'a> {
    line: &'a Line,
    /// The record, and those around it, the nearest first.
    outer: &'a [Outer<'a>],
    /// Its number on the page, and those of the records around it.
    numbers: &'a [usize],
    /// The currency of the order, for its lines.
    currency: Option<&'a str>,
}

impl<'p> Page<'p> {
    /// Reads all records. Returns how many of the first table there are, how many the source says there are over all
    /// pages, and what leads to the next.
    fn read(&mut self, body: &Value) -> Result<(usize, Option<u64>, Option<String>), Box<Misfit>> {
        let request = self.request;
        let regular = request.regular(body).map_err(|fault| Place::of_vocabulary(request).misfit(fault))?;
        let source_count = request.source_count(body)?;
        let next = request.next(body)?;
        let body = regular.as_ref().unwrap_or(body);
        let mut records = 0;
        for mapping in request.tables.iter().filter(|mapping| mapping.within.is_none()) {
            let found = self.top(mapping, body)?;
            if mapping.table == request.tables[0].table {
                records = found;
            }
        }
        Ok((records, source_count, next))
    }

    /// Reads the records of a table that stands by itself, with what stands within them. Returns how many there are.
    fn top(&mut self, mapping: &'p TableMapping, body: &Value) -> Result<usize, Box<Misfit>> {
        let records = match mapping.records.find(body) {
            FoundRecords::These(records) => records,
            // Some sources write null for a list of none.
            FoundRecords::Null => Vec::new(),
            FoundRecords::NoList => {
                let fault = Fault::of_row(
                    format!("nothing stands at {}", mapping.records.list()),
                    "a list of records, empty where there are none",
                    "",
                );
                return Err(Place::of_table(self.request, mapping, &[]).misfit(fault));
            }
            FoundRecords::NotAList => return Err(self.not_a_list(mapping, &[])),
        };
        if let Some(parent) = self.parent
            && self.request.changes.is_none()
            && mapping.records.says_all(body)
        {
            self.sheets.whole_of_parent(mapping.table, parent);
        }
        let keys = mapping.own_keys(body);
        let outers = self.outers(mapping, body);
        for (index, record) in records.iter().enumerate() {
            let key = keys.get(index).and_then(Option::as_deref);
            let outer = outers.of(index, &[]);
            self.record(mapping, (record, key), None, &outer, &[index + 1])?;
        }
        Ok(records.len())
    }

    fn record(
        &mut self,
        mapping: &'p TableMapping,
        (record, key): (&Value, Option<&str>),
        around: Option<&Around<'_>>,
        outer: &[Outer<'_>],
        numbers: &[usize],
    ) -> Result<(), Box<Misfit>> {
        let mut line = Line::new(mapping.table);
        self.inherit(mapping, around, &mut line);
        let order_currency = match (around, self.parent) {
            (Some(around), _) => around.currency,
            (None, Some(parent)) => parent.get(Column::Currency.name()),
            (None, None) => None,
        };
        let standing = Record {
            value: record,
            number: numbers.last().copied().unwrap_or_default(),
            key,
            around: outer,
            order_currency,
            digest_key: self.digest_key,
        };
        let read = line.read(mapping, &standing);
        let agrees = read.and_then(|()| match (around, self.request.for_each, self.parent) {
            (None, Some(table), Some(parent)) => line.agrees_with(table, parent),
            _ => Ok(()),
        });
        let pushed = agrees.and_then(|()| self.sheets.push(self.request, mapping, &line, numbers[0] as u64));
        if let Some(fault) = self.request.fault(record, pushed.err()) {
            return Err(Place::of_table(self.request, mapping, numbers).of_line(&line).misfit(fault));
        }
        if let Some(sights) = self.sights.as_mut().filter(|_| mapping.table == Table::Offers) {
            sights.note(record, outer);
        }
        let currency = line.text(Column::Currency);
        let outer: Vec<Outer<'_>> =
            std::iter::once(Outer { value: record, key }).chain(outer.iter().copied()).collect();
        let inner = Around { line: &line, outer: &outer, numbers, currency };
        let request = self.request;
        for child in request.tables.iter().filter(|child| child.within == Some(mapping.table)) {
            self.within(child, record, &inner)?;
        }
        Ok(())
    }

    /// The records around each record of a value, where something of them is taken.
    fn outers<'v>(&self, mapping: &TableMapping, value: &'v Value) -> Outers<'v> {
        match &self.sights {
            Some(sights) if sights.takes_from_around() => Outers(mapping.records.around(value)),
            _ => mapping.outers(value, self.request),
        }
    }

    /// Reads the records within a record. A list that is not there, or null, is not known; an empty one says that there
    /// are none.
    fn within(
        &mut self,
        mapping: &'p TableMapping,
        record: &Value,
        around: &Around<'_>,
    ) -> Result<(), Box<Misfit>> {
        let records = match mapping.records.find(record) {
            FoundRecords::These(records) => records,
            FoundRecords::Null | FoundRecords::NoList => return Ok(()),
            FoundRecords::NotAList => return Err(self.not_a_list(mapping, around.numbers)),
        };
        if mapping.records.says_all(record) {
            self.sheets.whole_of_record(mapping.table, around.line, around.numbers[0] as u64);
        }
        let keys = mapping.own_keys(record);
        let outers = self.outers(mapping, record);
        for (index, record) in records.iter().enumerate() {
            let mut numbers = around.numbers.to_vec();
            numbers.push(index + 1);
            let key = keys.get(index).and_then(Option::as_deref);
            let outer = outers.of(index, around.outer);
            self.record(mapping, (record, key), Some(around), &outer, &numbers)?;
        }
        Ok(())
    }

    /// Fills in what a row has from the record around it, from the row for which was asked, and from the source.
    fn inherit(&self, mapping: &TableMapping, around: Option<&Around<'_>>, line: &mut Line) {
        if let Some(supplier) = &self.request.supplier {
            line.set(Column::Supplier, supplier.as_str());
        }
        for column in &mapping.inherits {
            let value = match around {
                Some(around) => around.line.text(*column),
                None => self.parent.and_then(|parent| parent.get(column.name())),
            };
            if let Some(value) = value {
                line.set(*column, value);
            }
        }
    }

    fn not_a_list(&self, mapping: &TableMapping, numbers: &[usize]) -> Box<Misfit> {
        let fault = Fault::of_row(
            format!("what stands at {} is no list", mapping.records.list()),
            "a list of records, empty where there are none",
            "",
        );
        Place::of_table(self.request, mapping, numbers).misfit(fault)
    }
}

/// For each record of a list, those around it in its answer; none where no field stands there.
pub(crate) struct Outers<'v>(Vec<Vec<Outer<'v>>>);

impl<'v> Outers<'v> {
    /// Those around a record, with those around the value in which its list stands.
    pub(crate) fn of(&self, index: usize, beyond: &[Outer<'v>]) -> Vec<Outer<'v>> {
        let Some(near) = self.0.get(index) else { return beyond.to_vec() };
        // The value in which the list stands is the last of those in it, and the first of those beyond.
        let near = if beyond.is_empty() { near.as_slice() } else { &near[..near.len() - 1] };
        near.iter().chain(beyond).copied().collect()
    }
}

impl TableMapping {
    /// The records around each record of a value, where a field of the request stands in one of them.
    pub(crate) fn outers<'v>(&self, value: &'v Value, request: &Request) -> Outers<'v> {
        let is_outer = |take: &Take| matches!(take, Take::Around(..));
        let mut fields = request.tables.iter().flat_map(|mapping| &mapping.fields);
        let is_used = fields.any(|field| match &field.take {
            Take::FirstOf(takes) => takes.iter().any(is_outer),
            take => is_outer(take),
        });
        Outers(if is_used { self.records.around(value) } else { Vec::new() })
    }

    /// Of lines that are counted and say of what they are lines: where they say it.
    fn counted_within(&self) -> Option<&At> {
        let is_counted =
            |field: &Field| field.column == Column::LineId && matches!(field.take, Take::Counted);
        let owner = match self.table {
            Table::OrderLines => Column::OrderId,
            Table::SubmissionLines => Column::SubmissionId,
            _ => return None,
        };
        self.fields.iter().find(|field| is_counted(field))?;
        self.fields.iter().find_map(|field| match &field.take {
            Take::Value { at, .. } if field.column == owner => Some(at),
            _ => None,
        })
    }

    /// The names under which the records of a value stand, in their order; none where no field is such a name.
    fn own_keys(&self, value: &Value) -> Vec<Option<String>> {
        let is_own = |take: &Take| matches!(take, Take::OwnKey);
        let is_used = self.fields.iter().any(|field| match &field.take {
            Take::FirstOf(takes) => takes.iter().any(is_own),
            take => is_own(take),
        });
        if is_used { self.records.keys(value) } else { Vec::new() }
    }
}

/// Whether all lines of something are among the rows of `table` where its list was there: of the row above them, given
/// the values of its key.
fn whole<'v>(table: Table, mut value: impl FnMut(Column) -> Option<&'v str>) -> Option<Whole> {
    let mut text = |column| value(column).filter(|text| !text.is_empty());
    match table {
        Table::OrderLines => Some(Whole::Order(text(Column::OrderId)?.into())),
        Table::SubmissionLines => {
            Some(Whole::Submission(text(Column::Supplier)?.into(), text(Column::SubmissionId)?.into()))
        }
        Table::Parcels => {
            Some(Whole::ParcelsOf(text(Column::Supplier)?.into(), text(Column::SubmissionId)?.into()))
        }
        Table::ParcelLines => {
            Some(Whole::Parcel(text(Column::Supplier)?.into(), text(Column::ParcelId)?.into()))
        }
        _ => None,
    }
}
