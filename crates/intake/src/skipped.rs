//! Rows that are left out: why, what they name, and which keys they would have had.
//!
//! Must not know: how orders are found from what a row names (`not_judged`). Start reading at [`LeftOut`].

use std::collections::{BTreeSet, HashMap, HashSet};

use crate::bad_row::{BadRow, BadRows, Fault};
use crate::row::{Cell, Row, cell_of};
use crate::tables::{Column, Table};

/// What a row says of other rows, as far as it can be read.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub(crate) struct Names {
    pub(crate) order_id: Option<String>,
    pub(crate) line_id: Option<String>,
    pub(crate) supplier: Option<String>,
    pub(crate) submission_id: Option<String>,
    pub(crate) submission_line_id: Option<String>,
    pub(crate) parcel_id: Option<String>,
    pub(crate) order_ref: Reference,
    /// Of rows of the links table alone: what the link is for.
    pub(crate) listing_id: Option<String>,
    /// Of rows of the links and the variants table alone.
    pub(crate) sku: Option<String>,
    /// Of rows of the variants table alone.
    pub(crate) variant_id: Option<String>,
}

/// What a row says of the orders that it is for.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub(crate) enum Reference {
    /// Nothing.
    #[default]
    Empty,
    /// This.
    Given(String),
    /// Something that cannot be read.
    Unread,
}

impl From<&Option<String>> for Reference {
    fn from(reference: &Option<String>) -> Self {
        reference.clone().map_or(Self::Empty, Self::Given)
    }
}

impl Names {
    fn of_cells(table: Table, cells: &[Cell<'_>]) -> Self {
        let text = |column| match table.position(column).map(|_| cell_of(table, cells, column)) {
            Some(Cell::Text(text)) => Some(text.to_string()),
            _ => None,
        };
        let order_ref =
            match table.position(Column::OrderRef).map(|_| cell_of(table, cells, Column::OrderRef)) {
                Some(Cell::Text(text)) => Reference::Given(text.to_string()),
                Some(Cell::Unreadable(_)) => Reference::Unread,
                Some(Cell::Empty) | None => Reference::Empty,
            };
        Self {
            order_id: text(Column::OrderId),
            line_id: text(Column::LineId),
            supplier: text(Column::Supplier),
            submission_id: text(Column::SubmissionId),
            submission_line_id: text(Column::SubmissionLineId),
            parcel_id: text(Column::ParcelId),
            order_ref,
            listing_id: text(Column::ListingId).filter(|_| table == Table::Links),
            sku: text(Column::Sku).filter(|_| matches!(table, Table::Links | Table::Variants)),
            variant_id: text(Column::VariantId).filter(|_| table == Table::Variants),
        }
    }

    /// The key of the row among those that other rows belong to; `None` where a part of it cannot be read, or
    /// nothing belongs to rows of this table.
    fn key(&self, table: Table) -> Option<Vec<String>> {
        let parts = match table {
            Table::Orders => vec![&self.order_id],
            Table::OrderLines => vec![&self.order_id, &self.line_id],
            Table::Submissions => vec![&self.supplier, &self.submission_id],
            Table::SubmissionLines => vec![&self.supplier, &self.submission_id, &self.line_id],
            Table::Parcels => vec![&self.supplier, &self.parcel_id],
            _ => return None,
        };
        parts.into_iter().cloned().collect()
    }
}

/// A row that is left out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Skipped {
    pub(crate) table: Table,
    /// What it names; of a row whose cells are shifted, as read from either end.
    pub(crate) readings: Vec<Names>,
    /// Whether what it names is right for sure: its cells are not shifted.
    pub(crate) certain: bool,
    /// Whether more of it, which could not be read, may name orders.
    pub(crate) more_unread: bool,
}

impl Skipped {
    /// A row that was read, and cannot stand.
    pub(crate) fn read(table: Table, names: Names) -> Self {
        Self { table, readings: vec![names], certain: true, more_unread: false }
    }

    /// A row that could not be read.
    pub(crate) fn unread(row: &Row<'_>) -> Self {
        let mut readings = vec![Names::of_cells(row.table, &row.cells)];
        readings.extend(row.from_end.iter().map(|cells| Names::of_cells(row.table, cells)));
        readings.dedup();
        let certain = row.from_end.is_none();
        Self { table: row.table, readings, certain, more_unread: row.more_unread }
    }
}

/// All rows that are left out.
#[derive(Default)]
pub(crate) struct LeftOut {
    pub(crate) rows: Vec<Skipped>,
    pub(crate) bad_rows: BadRows,
    keys: HashMap<Table, HashSet<Vec<String>>>,
    /// The tables that have rows whose key could not be read.
    keyless: BTreeSet<Table>,
}

impl LeftOut {
    /// Leaves a row out and reports it.
    pub(crate) fn report(&mut self, file: &str, line: u64, fault: Fault, row: Skipped) {
        self.bad_rows.push(row.table, fault.at(file, line));
        self.leave_out(row);
    }

    /// Likewise, of a row whose place may be the number of a record.
    pub(crate) fn report_at(&mut self, file: &str, place: u64, by_record: bool, fault: Fault, row: Skipped) {
        self.bad_rows.push(row.table, BadRow { by_record, ..fault.at(file, place) });
        self.leave_out(row);
    }

    /// Leaves a row out because a row that it belongs to is, which is what is reported.
    pub(crate) fn leave_out(&mut self, row: Skipped) {
        let keys = self.keys.entry(row.table).or_default();
        for names in &row.readings {
            match names.key(row.table) {
                Some(key) => {
                    keys.insert(key);
                }
                None => {
                    self.keyless.insert(row.table);
                }
            }
        }
        self.rows.push(row);
    }

    /// Whether a row of this key was left out.
    pub(crate) fn has(&self, table: Table, key: &[&str]) -> bool {
        self.keys
            .get(&table)
            .is_some_and(|keys| keys.contains(&key.iter().map(|part| (*part).to_owned()).collect::<Vec<_>>()))
    }

    /// Whether the table has rows whose key could not be read.
    pub(crate) fn has_keyless(&self, table: Table) -> bool {
        self.keyless.contains(&table)
    }
}
