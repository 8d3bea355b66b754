//! The rows of a page, table by table, and what of them stands.
//!
//! A record that repeats on a page counts once; of different states of it the later one stands, with what stands within
//! it, and where none is the later the page does not fit. Start reading at [`Sheets`].

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use model::Book;
use model::When;
use model::batch::Whole;
use model::book::{
    ListingProduct, Offer, Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie, Variant,
};

use super::misfit::{Misfit, Place};
use super::parent::ParentRow;
use super::record::Line;
use super::{Latest, whole};
use crate::bad_row::Fault;
use crate::build::{KeyedLink, TableRow};
use crate::cells::Cells;
use crate::keys::{self, Placed, Settled as SettledRows};
use crate::source::declare::{Request, TableMapping};
use crate::tables::Table;

/// The rows of a page; each bears the number of the record by itself in which it stands.
#[derive(Default)]
pub(super) struct Sheets {
    orders: Vec<Placed<Order>>,
    order_lines: Vec<Placed<OrderLine>>,
    offers: Vec<Placed<Offer>>,
    variants: Vec<Placed<Variant>>,
    listing_products: Vec<Placed<ListingProduct>>,
    links: Vec<Placed<KeyedLink>>,
    submissions: Vec<Placed<Submission>>,
    submission_lines: Vec<Placed<SubmissionLine>>,
    parcels: Vec<Placed<Parcel>>,
    parcel_lines: Vec<Placed<ParcelLine>>,
    ties: Vec<Placed<Tie>>,
    /// With the record, and the table of the lines; without a record of all of the page.
    whole: Vec<(Option<u64>, Table, Whole)>,
    parents: Vec<(u64, Table, ParentRow)>,
    changes: Vec<(u64, DateTime<Utc>, String)>,
    /// By table that stands by itself: the records that gave way to a later one.
    gone: BTreeMap<Table, BTreeSet<u64>>,
}

/// What stands.
pub(super) struct Settled {
    pub(super) rows: Book,
    pub(super) whole: Vec<Whole>,
    pub(super) parents: Vec<ParentRow>,
    pub(super) latest: Option<Latest>,
}

impl Sheets {
    /// Adds the row of a record.
    pub(super) fn push(
        &mut self,
        request: &Request,
        mapping: &TableMapping,
        line: &Line,
        number: u64,
    ) -> Result<(), Fault> {
        let (row, zones) = line.row(number);
        let cells = Cells::with_zones(&row, request.zone, zones);
        let changed = match mapping.table {
            Table::Orders => add(&mut self.orders, &cells, number),
            Table::OrderLines => add(&mut self.order_lines, &cells, number),
            Table::Offers => add(&mut self.offers, &cells, number),
            Table::Variants => add(&mut self.variants, &cells, number),
            Table::ListingProducts => add(&mut self.listing_products, &cells, number),
            Table::Links => add(&mut self.links, &cells, number),
            Table::Submissions => add(&mut self.submissions, &cells, number),
            Table::SubmissionLines => add(&mut self.submission_lines, &cells, number),
            Table::Parcels => add(&mut self.parcels, &cells, number),
            Table::ParcelLines => add(&mut self.parcel_lines, &cells, number),
            Table::Ties => add(&mut self.ties, &cells, number),
            Table::GoodRules => Ok(None),
        };
        // What a reader of files advises does not help with an answer.
        let changed = changed.map_err(|fault| Fault { hint: String::new(), ..fault })?;
        if let Some(changed) = changed
            && request.tables.first().is_some_and(|first| first.table == mapping.table)
        {
            self.changes.push((number, changed.begins(), line.key_text().unwrap_or_default()));
        }
        if let Some(columns) = &mapping.hands_on {
            let values = columns.iter().filter_map(|column| Some((column.name(), line.text(*column)?)));
            self.parents.push((number, mapping.table, ParentRow::new(mapping.table.name(), values)));
        }
        Ok(())
    }

    /// Notes that all lines of a record are among the rows of `table`.
    pub(super) fn whole_of_record(&mut self, table: Table, around: &Line, number: u64) {
        self.whole
            .extend(whole(table, |column| around.text(column)).map(|whole| (Some(number), table, whole)));
    }

    /// Notes that all lines of the row for which was asked are among the rows of `table`.
    pub(super) fn whole_of_parent(&mut self, table: Table, parent: &ParentRow) {
        self.whole.extend(whole(table, |column| parent.get(column.name())).map(|whole| (None, table, whole)));
    }

    /// Leaves one row per key in each table.
    ///
    /// # Errors
    /// Where rows of one key say different things and none is the later.
    pub(super) fn settle(&mut self, request: &Request) -> Result<(), Box<Misfit>> {
        // Those around others come first, so that what stands within a record goes with it.
        for mapping in &request.tables {
            let top = top_of(request, mapping.table);
            let gone = self.gone.entry(top).or_default();
            let settled = match mapping.table {
                Table::Orders => leave_one_each(&mut self.orders, gone),
                Table::OrderLines => leave_one_each(&mut self.order_lines, gone),
                Table::Offers => leave_one_each(&mut self.offers, gone),
                Table::Variants => leave_one_each(&mut self.variants, gone),
                Table::ListingProducts => leave_one_each(&mut self.listing_products, gone),
                Table::Links => leave_one_each(&mut self.links, gone),
                Table::Submissions => leave_one_each(&mut self.submissions, gone),
                Table::SubmissionLines => leave_one_each(&mut self.submission_lines, gone),
                Table::Parcels => leave_one_each(&mut self.parcels, gone),
                Table::ParcelLines => leave_one_each(&mut self.parcel_lines, gone),
                Table::Ties => leave_one_each(&mut self.ties, gone),
                Table::GoodRules => continue,
            };
            let superseded = settled.map_err(|(record, fault)| {
                let place = Place::of_table(request, mapping, &[record as usize]);
                place.misfit(Fault { hint: String::new(), ..fault })
            })?;
            if mapping.table == top {
                gone.extend(superseded);
            }
        }
        Ok(())
    }

    /// What stands, after [`Self::settle`].
    pub(super) fn finish(self, request: &Request) -> Settled {
        let gone = &self.gone;
        let stands = |table: Table, record: u64| {
            gone.get(&top_of(request, table)).is_none_or(|gone| !gone.contains(&record))
        };
        let whole = self
            .whole
            .into_iter()
            .filter(|(record, table, _)| record.is_none_or(|record| stands(*table, record)));
        let whole: BTreeSet<Whole> = whole.map(|(.., whole)| whole).collect();
        let parents = self.parents.into_iter().filter(|(record, table, _)| stands(*table, *record));
        let parents: BTreeSet<ParentRow> = parents.map(|(.., parent)| parent).collect();
        let first = request.tables.first().map(|mapping| mapping.table);
        let changes =
            self.changes.into_iter().filter(|(record, ..)| first.is_some_and(|first| stands(first, *record)));
        let is_mapped = |table: Table| request.tables.iter().any(|mapping| mapping.table == table);
        let rows = Book {
            orders: rows(self.orders),
            order_lines: rows(self.order_lines),
            offers: is_mapped(Table::Offers).then(|| rows(self.offers)),
            variants: is_mapped(Table::Variants).then(|| rows(self.variants)),
            listing_products: is_mapped(Table::ListingProducts).then(|| rows(self.listing_products)),
            links: is_mapped(Table::Links)
                .then(|| self.links.into_iter().map(|placed| placed.row.link).collect()),
            owner_links: Vec::new(),
            submissions: is_mapped(Table::Submissions).then(|| rows(self.submissions)),
            submission_lines: is_mapped(Table::SubmissionLines).then(|| rows(self.submission_lines)),
            parcels: is_mapped(Table::Parcels).then(|| rows(self.parcels)),
            parcel_lines: is_mapped(Table::ParcelLines).then(|| rows(self.parcel_lines)),
            ties: is_mapped(Table::Ties).then(|| rows(self.ties)),
            not_judged: BTreeSet::new(),
        };
        Settled {
            rows,
            whole: whole.into_iter().collect(),
            parents: parents.into_iter().collect(),
            latest: latest(changes),
        }
    }
}

/// The table that stands by itself within which, directly or not, a table stands.
fn top_of(request: &Request, table: Table) -> Table {
    let around =
        request.tables.iter().find(|mapping| mapping.table == table).and_then(|mapping| mapping.within);
    around.map_or(table, |around| top_of(request, around))
}

/// Reads a row; returns when it last changed, where it says so.
fn add<T: TableRow>(
    rows: &mut Vec<Placed<T>>,
    cells: &Cells<'_>,
    number: u64,
) -> Result<Option<When>, Fault> {
    let row = T::read(cells)?;
    let changed = row.updated_at();
    rows.push(Placed { line: number, row });
    Ok(changed)
}

/// Drops what stood in records that are gone, and leaves one row per key. Returns the records that gave way to a
/// later one, or the first of those that contradict each other.
fn leave_one_each<T: TableRow>(
    rows: &mut Vec<Placed<T>>,
    gone: &BTreeSet<u64>,
) -> Result<Vec<u64>, (u64, Fault)> {
    rows.retain(|placed| !gone.contains(&placed.line));
    let SettledRows { standing, superseded, contradicting } = keys::settle(std::mem::take(rows), "records");
    if let Some((placed, fault)) = contradicting.into_iter().min_by_key(|(placed, _)| placed.line) {
        return Err((placed.line, fault));
    }
    *rows = standing;
    Ok(superseded)
}

fn rows<T>(placed: Vec<Placed<T>>) -> Vec<T> {
    placed.into_iter().map(|placed| placed.row).collect()
}

fn latest(changes: impl Iterator<Item = (u64, DateTime<Utc>, String)>) -> Option<Latest> {
    let mut latest: Option<(DateTime<Utc>, BTreeSet<String>)> = None;
    for (_, at, key) in changes {
        match &mut latest {
            Some((so_far, _)) if at < *so_far => {}
            Some((so_far, keys)) if at == *so_far => {
                keys.insert(key);
            }
            _ => latest = Some((at, BTreeSet::from([key]))),
        }
    }
    latest.map(|(at, keys)| Latest { at, keys: keys.into_iter().collect() })
}
