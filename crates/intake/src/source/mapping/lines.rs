//! The rows of an export, each with the place where it stands: a row that does not fit is told, and the others are read
//! all the same.
//!
//! Must not know files. Start reading at [`Request::lines`].

use serde_json::Value;

use super::record::{Line, Record};
use crate::bad_row::Fault;
use crate::source::declare::{FoundRecords, Request, TableMapping};
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
            walk.records(mapping, value, None, &[]);
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
        for (index, record) in records.into_iter().enumerate() {
            let mut numbers = numbers.to_vec();
            numbers.push(index + 1);
            let key = keys.get(index).and_then(Option::as_deref);
            self.record(mapping, record, key, around, &numbers);
        }
    }

    fn record(
        &mut self,
        mapping: &'w TableMapping,
        value: &Value,
        key: Option<&str>,
        around: Option<&Line>,
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
            number: numbers.last().copied().unwrap_or_default(),
            key,
            order_currency: around.and_then(|around| around.text(Column::Currency)),
            digest_key: self.digest_key,
        };
        let fault = line.read(mapping, &record).err();
        let request = self.request;
        for child in request.tables.iter().filter(|child| child.within == Some(mapping.table)) {
            self.records(child, value, Some(&line), numbers);
        }
        self.lines.rows.push(Read { table: mapping.table, line, numbers: numbers.to_vec(), fault });
    }
}
