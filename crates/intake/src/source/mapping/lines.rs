//! The rows of an export, each with the place where it stands: a row that does not fit is told, and the others are read
//! all the same.
//!
//! Must not know files. Start reading at [`Request::lines`].

use std::collections::HashMap;

use serde_json::Value;

use super::record::{Line, Record};
use crate::bad_row::Fault;
use crate::source::declare::{Found, FoundRecords, Outer, Request, TableMapping};
use crate::tables::{Column, Table};

/// A row of an export.
pub(crate) struct Read {
    pub(crate) table: Table,
    pub(crate) line: Line,
    /// Its record, counted from 1; behind it those of the records within it that lead to the row.
    pub(crate) numbers: Vec<usize>,
    /// What does not fit in it.
    pub(crate) fault: Option<Fault>,
}

/// The rows of an export, and what is wrong with a list of them as a whole.
#[derive(Default)]
pub(crate) struct Lines {
    pub(crate) rows: Vec<Read>,
    pub(crate) faults: Vec<(Table, Fault)>,
}

struct Walk<'w> {
    request: &'w Request,
    digest_key: &'w [u8],
    lines: Lines,
}

impl Request {
    /// Reads the rows of an export.
    pub(crate) fn lines(&self, value: &Value, digest_key: &[u8]) -> Lines {
        let mut walk = Walk { request: self, digest_key, lines: Lines::default() };
        for mapping in self.tables.iter().filter(|mapping| mapping.within.is_none()) {
            walk.records(mapping, value, None, &[], &[]);
        }
        walk.lines
    }
}

impl<'w> Walk<'w> {
    fn records(
        &mut self,
        mapping: &'w TableMapping,
        value: &Value,
        around: Option<&Line>,
        outer: &[Outer<'_>],
        numbers: &[usize],
    ) {
        let records = match mapping.records.find(value) {
            FoundRecords::These(records) => records,
            FoundRecords::Null => return,
            FoundRecords::NoList if around.is_some() => return,
            FoundRecords::NoList | FoundRecords::NotAList => {
                let found = format!("no list of records stands at {}", mapping.records.list());
                let fault = Fault::of_row(found, "a list of records, empty where there are none", "");
                self.lines.faults.push((mapping.table, fault));
                return;
            }
        };
        let keys = mapping.own_keys(value);
        let outers = mapping.outers(value, self.request);
        let mut counts: HashMap<String, usize> = HashMap::new();
        for (index, record) in records.into_iter().enumerate() {
            let mut numbers = numbers.to_vec();
            numbers.push(index + 1);
            let key = keys.get(index).and_then(Option::as_deref);
            let outer = outers.of(index, outer);
            // Lines that stand by themselves are counted within what they are lines of.
            let counted = mapping.counted_within().filter(|_| around.is_none()).and_then(|at| {
                let of = at.one(record);
                let Found::One(of) = of else { return None };
                let count = counts.entry(of.to_string()).or_default();
                *count += 1;
                Some(*count)
            });
            let number = counted.unwrap_or(index + 1);
            self.record(mapping, (record, key, number), around, &outer, &numbers);
        }
    }

    fn record(
        &mut self,
        mapping: &'w TableMapping,
        (value, key, number): (&Value, Option<&str>, usize),
        around: Option<&Line>,
        outer: &[Outer<'_>],
        numbers: &[usize],
    ) {
        let mut line = Line::new(mapping.table);
        if let Some(supplier) = &self.request.supplier {
            line.set(Column::Supplier, supplier.as_str());
        }
        for column in &mapping.inherits {
            if let Some(value) = around.and_then(|around| around.text(*column)) {
                line.set(*column, value);
            }
        }
        let record = Record {
            value,
            number,
            key,
            around: outer,
            order_currency: around.and_then(|around| around.text(Column::Currency)),
            digest_key: self.digest_key,
        };
        let fault = self.request.fault(value, line.read(mapping, &record).err());
        let request = self.request;
        let inner: Vec<Outer<'_>> =
            std::iter::once(Outer { value, key }).chain(outer.iter().copied()).collect();
        for child in request.tables.iter().filter(|child| child.within == Some(mapping.table)) {
            self.records(child, value, Some(&line), &inner, numbers);
        }
        self.lines.rows.push(Read { table: mapping.table, line, numbers: numbers.to_vec(), fault });
    }
}
