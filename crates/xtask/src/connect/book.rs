//! The fixture's tables as rows, as the records of an invented shop, and as files with what those records say.
//!
//! Left out on both sides is what no API of a shop has, or what is not proposed: links, ties, the products of listings, the
//! digest of an address, and the state that a line has beside its order's, which hardly any has. Must not know who serves the records. Start reading at [`Book`].

use std::collections::BTreeMap;
use std::path::Path;

use anyhow::{Context, ensure};
use serde_json::{Map, Value};

/// Where the lines of a record are.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Lines {
    /// In it, as a list.
    Within,
    /// In a table of their own. There are no options, nor offers, which are told apart by them: a cell holds no object.
    Apart,
}

/// A table: its name here, its name at the shop, and for each column here the shop's name.
type Named = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

/// What the shop calls its tables and their columns.
const NAMES: [Named; 8] = [
    (
        "orders",
        "purchases",
        &[
            ("order_id", "order_no"),
            ("placed_at", "ordered_at"),
            ("paid_at", "paid_at"),
            ("status", "status"),
            ("currency", "currency"),
            ("promised_by", "ship_by"),
            ("ship_to_country", "country"),
            ("updated_at", "updated_at"),
        ],
    ),
    (
        "order_lines",
        "purchase_lines",
        &[
            ("order_id", "order_no"),
            ("line_id", "position"),
            ("listing_id", "listing_id"),
            ("sku", "sku"),
            ("title", "title"),
            ("options", "options"),
            ("quantity", "quantity"),
            ("cancelled_quantity", "cancelled_quantity"),
            ("unit_price", "unit_price"),
        ],
    ),
    (
        "offers",
        "catalogue",
        &[
            ("listing_id", "listing_id"),
            ("sku", "sku"),
            ("title", "title"),
            ("options", "options"),
            ("price", "price"),
            ("currency", "currency"),
            ("buyable", "available"),
        ],
    ),
    (
        "submissions",
        "jobs",
        &[
            ("supplier", "press"),
            ("submission_id", "job_no"),
            ("order_ref", "your_order"),
            ("status", "status"),
            ("received_at", "received_at"),
            ("replaces", "replaces"),
            ("updated_at", "updated_at"),
        ],
    ),
    (
        "submission_lines",
        "job_lines",
        &[
            ("supplier", "press"),
            ("submission_id", "job_no"),
            ("line_id", "piece"),
            ("order_ref", "your_order"),
            ("order_line_ref", "your_line"),
            ("variant_id", "article"),
            ("sku", "sku"),
            ("quantity", "quantity"),
            ("unit_cost", "unit_cost"),
        ],
    ),
    (
        "parcels",
        "parcels",
        &[
            ("supplier", "press"),
            ("parcel_id", "parcel_no"),
            ("submission_id", "job_no"),
            ("dispatched_at", "dispatched_at"),
            ("carrier", "carrier"),
            ("tracking_number", "tracking_number"),
        ],
    ),
    (
        "parcel_lines",
        "parcel_lines",
        &[
            ("supplier", "press"),
            ("parcel_id", "parcel_no"),
            ("submission_line_id", "piece"),
            ("quantity", "quantity"),
        ],
    ),
    (
        "variants",
        "articles",
        &[
            ("supplier", "press"),
            ("variant_id", "article"),
            ("sku", "sku"),
            ("product", "product"),
            ("options", "options"),
            ("unit_cost", "unit_cost"),
            ("currency", "currency"),
            ("available", "available"),
        ],
    ),
];

/// Whose lines stand within which records, under which name, and the columns by which both agree.
const WITHIN: [(&str, &str, &str, &[&str]); 3] = [
    ("order_lines", "orders", "positions", &["order_id"]),
    ("submission_lines", "submissions", "pieces", &["supplier", "submission_id"]),
    ("parcel_lines", "parcels", "contents", &["supplier", "parcel_id"]),
];

/// The columns of which a cell is a value of JSON as it stands.
const VALUES: [&str; 5] = ["available", "buyable", "cancelled_quantity", "options", "quantity"];

type Row = BTreeMap<String, String>;

/// The tables, by their names here.
#[derive(Debug)]
pub struct Book {
    lines: Lines,
    tables: BTreeMap<&'static str, Vec<Row>>,
}

impl Book {
    /// Reads the tables of a folder.
    ///
    /// # Errors
    /// Where one cannot be read.
    pub fn read(folder: &Path, lines: Lines) -> anyhow::Result<Self> {
        let mut tables = BTreeMap::new();
        for (name, _, columns) in NAMES {
            if lines == Lines::Apart && name == "offers" {
                continue;
            }
            let path = folder.join(format!("{name}.csv"));
            let mut reader = csv::Reader::from_path(&path).with_context(|| format!("{}", path.display()))?;
            let mut rows = Vec::new();
            for row in reader.deserialize() {
                let mut row: Row = row?;
                row.retain(|column, _| columns.iter().any(|(own, _)| own == column));
                ensure!(row.len() == columns.len(), "{name} has not all columns: {row:?}");
                if lines == Lines::Apart {
                    row.remove("options");
                }
                rows.push(row);
            }
            tables.insert(name, rows);
        }
        Ok(Self { lines, tables })
    }

    /// Writes the tables into a folder.
    ///
    /// # Errors
    /// Where one cannot be written.
    pub fn write(&self, folder: &Path) -> anyhow::Result<()> {
        for (name, rows) in &self.tables {
            let mut writer = csv::Writer::from_path(folder.join(format!("{name}.csv")))?;
            if let Some(first) = rows.first() {
                writer.write_record(first.keys())?;
            }
            for row in rows {
                writer.write_record(row.values())?;
            }
            writer.flush()?;
        }
        Ok(())
    }

    /// Changes the status of an order. Answers its number among the records, from 1.
    ///
    /// # Errors
    /// Where there is no such order.
    pub fn change(&mut self, order: &str, status: &str, moment: &str) -> anyhow::Result<usize> {
        let orders = self.tables.get_mut("orders").context("there are no orders")?;
        let at = orders.iter().position(|row| row["order_id"] == order);
        let at = at.with_context(|| format!("there is no order {order}"))?;
        orders[at].extend(
            [("status", status), ("updated_at", moment)].map(|(column, cell)| (column.into(), cell.into())),
        );
        Ok(at + 1)
    }

    /// The records of the shop: by its names of tables, lists of objects.
    ///
    /// # Errors
    /// Where a cell is no value of JSON that should be one.
    pub fn records(&self) -> anyhow::Result<Value> {
        let mut all = Map::new();
        for (name, called, columns) in NAMES {
            let is_within = self.lines == Lines::Within && WITHIN.iter().any(|(own, ..)| *own == name);
            let Some(rows) = self.tables.get(name).filter(|_| !is_within) else { continue };
            let mut records = Vec::new();
            for (row, number) in rows.iter().zip(1..) {
                let mut record = record(row, columns)?;
                if self.lines == Lines::Within {
                    record.insert("id".into(), Value::from(number));
                    for (inner, ..) in WITHIN.iter().filter(|(_, outer, ..)| *outer == name) {
                        self.add_lines(&mut record, row, inner)?;
                    }
                }
                records.push(Value::Object(record));
            }
            all.insert(called.to_owned(), Value::Array(records));
        }
        Ok(Value::Object(all))
    }

    fn add_lines(&self, record: &mut Map<String, Value>, row: &Row, inner: &str) -> anyhow::Result<()> {
        for (name, _, list, by) in WITHIN.iter().filter(|(name, ..)| *name == inner) {
            let columns =
                NAMES.iter().find(|(known, ..)| known == name).map_or(&[][..], |(.., columns)| columns);
            let own: Vec<(&str, &str)> =
                columns.iter().filter(|(column, _)| !by.contains(column)).copied().collect();
            let belong =
                self.tables[name].iter().filter(|line| by.iter().all(|column| line[*column] == row[*column]));
            let lines = belong.map(|line| Ok(Value::Object(self::record(line, &own)?)));
            record.insert((*list).to_owned(), Value::Array(lines.collect::<anyhow::Result<_>>()?));
        }
        Ok(())
    }
}

fn record(row: &Row, columns: &[(&str, &str)]) -> anyhow::Result<Map<String, Value>> {
    let mut record = Map::new();
    for (column, called) in columns {
        let Some(cell) = row.get(*column) else { continue };
        let value = match cell.as_str() {
            "" => Value::Null,
            text if VALUES.contains(column) => {
                serde_json::from_str(text).with_context(|| format!("{column} has {text:?}"))?
            }
            text => Value::from(text),
        };
        record.insert((*called).to_owned(), value);
    }
    Ok(record)
}
