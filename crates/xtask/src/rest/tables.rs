//! The tables of a folder as a REST server holds them: arrays of records, each with an id and with values instead of
//! texts; and changes to both at once.
//!
//! Must not know who serves the records or reads them. Start reading at [`Tables`].

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use anyhow::{Context, bail, ensure};
use serde_json::{Map, Value};

/// Names of columns, and what stands in them.
pub type Cells = &'static [(&'static str, &'static str)];

/// A table of whose records others have the id, so that the server knows which belong to which: the column in which they
/// have it, the tables that have it, and the columns by which both agree.
const BELONGING: [(&str, &str, &str, &[&str]); 2] = [
    ("order_key", "orders", "order_lines", &["order_id"]),
    ("submission_key", "submissions", "submission_lines", &["supplier", "submission_id"]),
];

/// The columns of which a cell is a value of JSON as it stands: a number, true or false, an object. All others are texts.
const VALUES: [&str; 10] = [
    "available",
    "buyable",
    "cancelled_quantity",
    "in_force",
    "options",
    "price",
    "quantity",
    "unit_cost",
    "unit_price",
    "units",
];

/// Something that happens to one row.
#[derive(Clone, Copy, Debug)]
pub enum Change {
    /// A row of this table comes, with these cells.
    Come(&'static str, Cells),
    /// Of the row of this table that has the first cells, the second become these.
    Become(&'static str, Cells, Cells),
    /// The row of this table that has these cells goes.
    Go(&'static str, Cells),
}

/// What tells the server of a change.
#[derive(Clone, PartialEq, Debug)]
pub struct Told {
    /// The method of the request.
    pub method: &'static str,
    /// Its path.
    pub path: String,
    /// What it says.
    pub body: Value,
}

/// The tables, by name.
#[derive(Debug)]
pub struct Tables(BTreeMap<String, Table>);

#[derive(Debug)]
struct Table {
    columns: Vec<String>,
    rows: Vec<Row>,
}

#[derive(Debug)]
struct Row {
    /// The server's id, from 1.
    id: usize,
    /// As many as there are columns.
    cells: Vec<String>,
}

impl Tables {
    /// Reads every CSV file of a folder.
    ///
    /// # Errors
    /// Where one cannot be read.
    pub fn read(folder: &Path) -> anyhow::Result<Self> {
        let mut tables = BTreeMap::new();
        for entry in fs::read_dir(folder).with_context(|| format!("{} cannot be read", folder.display()))? {
            let path = entry?.path();
            if path.extension().is_none_or(|extension| extension != "csv") {
                continue;
            }
            let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
            let table = Table::read(&path).with_context(|| format!("{} cannot be read", path.display()))?;
            tables.insert(name, table);
        }
        Ok(Self(tables))
    }

    /// Writes every table into a folder, as CSV.
    ///
    /// # Errors
    /// Where one cannot be written.
    pub fn write(&self, folder: &Path) -> anyhow::Result<()> {
        for (name, table) in &self.0 {
            let path = folder.join(format!("{name}.csv"));
            table.write(&path).with_context(|| format!("{} cannot be written", path.display()))?;
        }
        Ok(())
    }

    /// All records, an array for each table.
    ///
    /// # Errors
    /// Where a cell is not what its column takes.
    pub fn records(&self) -> anyhow::Result<Value> {
        let mut all = Map::new();
        for (name, table) in &self.0 {
            let records = table.rows.iter().map(|row| self.record(name, table, row));
            all.insert(name.clone(), records.collect::<anyhow::Result<Value>>()?);
        }
        Ok(Value::Object(all))
    }

    /// The rows of a table: what stands in each of these columns.
    ///
    /// # Errors
    /// Where there is no such table or column.
    pub fn cells<const N: usize>(&self, name: &str, columns: [&str; N]) -> anyhow::Result<Vec<[&str; N]>> {
        let table = self.table(name)?;
        let mut positions = [0; N];
        for (position, column) in positions.iter_mut().zip(columns) {
            *position = table.position(column)?;
        }
        Ok(table.rows.iter().map(|row| positions.map(|at| row.cells[at].as_str())).collect())
    }

    /// Makes a change, and answers what tells the server of it.
    ///
    /// # Errors
    /// Where it is not about one row, or names what is not there.
    pub fn change(&mut self, change: Change) -> anyhow::Result<Told> {
        match change {
            Change::Come(name, cells) => {
                let table = self.table_mut(name)?;
                let id = table.rows.iter().map(|row| row.id).max().unwrap_or_default() + 1;
                let mut row = Row { id, cells: vec![String::new(); table.columns.len()] };
                for (column, text) in cells {
                    let at = table.position(column)?;
                    row.cells[at] = (*text).to_owned();
                }
                table.rows.push(row);
                let table = self.table(name)?;
                let row = table.rows.last().context("the row that came is gone")?;
                let body = self.record(name, table, row)?;
                Ok(Told { method: "POST", path: format!("/{name}"), body })
            }
            Change::Become(name, of, cells) => {
                let table = self.table_mut(name)?;
                let which = table.only(of)?;
                let mut body = Map::new();
                for (column, text) in cells {
                    let at = table.position(column)?;
                    table.rows[which].cells[at] = (*text).to_owned();
                    body.insert((*column).to_owned(), value(column, text)?);
                }
                let path = format!("/{name}/{}", table.rows[which].id);
                Ok(Told { method: "PATCH", path, body: Value::Object(body) })
            }
            Change::Go(name, of) => {
                let table = self.table_mut(name)?;
                let which = table.only(of)?;
                let path = format!("/{name}/{}", table.rows.remove(which).id);
                Ok(Told { method: "DELETE", path, body: Value::Object(Map::new()) })
            }
        }
    }

    fn table(&self, name: &str) -> anyhow::Result<&Table> {
        self.0.get(name).with_context(|| format!("there is no table {name}"))
    }

    fn table_mut(&mut self, name: &str) -> anyhow::Result<&mut Table> {
        self.0.get_mut(name).with_context(|| format!("there is no table {name}"))
    }

    fn record(&self, name: &str, table: &Table, row: &Row) -> anyhow::Result<Value> {
        let mut record = Map::new();
        record.insert("id".to_owned(), row.id.into());
        for (key, owners, _, columns) in BELONGING.iter().filter(|(_, _, owned, _)| *owned == name) {
            let (owners, own) = (self.table(owners)?, table.texts(row, columns)?);
            for owner in &owners.rows {
                if owners.texts(owner, columns)? == own {
                    record.insert((*key).to_owned(), owner.id.into());
                }
            }
        }
        for (column, text) in table.columns.iter().zip(&row.cells) {
            record.insert(column.clone(), value(column, text)?);
        }
        Ok(Value::Object(record))
    }
}

impl Table {
    fn read(path: &Path) -> anyhow::Result<Self> {
        let mut reader = csv::Reader::from_path(path)?;
        let columns = reader.headers()?.iter().map(str::to_owned).collect();
        let mut rows = Vec::new();
        for (id, record) in (1..).zip(reader.records()) {
            rows.push(Row { id, cells: record?.iter().map(str::to_owned).collect() });
        }
        Ok(Self { columns, rows })
    }

    fn write(&self, path: &Path) -> anyhow::Result<()> {
        let mut writer = csv::Writer::from_path(path)?;
        writer.write_record(&self.columns)?;
        for row in &self.rows {
            writer.write_record(&row.cells)?;
        }
        Ok(writer.flush()?)
    }

    fn position(&self, column: &str) -> anyhow::Result<usize> {
        let at = self.columns.iter().position(|own| own == column);
        at.with_context(|| format!("there is no column {column}"))
    }

    fn texts<'t>(&self, row: &'t Row, columns: &[&str]) -> anyhow::Result<Vec<&'t str>> {
        columns.iter().map(|column| Ok(row.cells[self.position(column)?].as_str())).collect()
    }

    /// Where the one row stands that has these cells.
    fn only(&self, of: Cells) -> anyhow::Result<usize> {
        let (columns, wanted): (Vec<&str>, Vec<&str>) = of.iter().copied().unzip();
        let mut found = Vec::new();
        for (at, row) in self.rows.iter().enumerate() {
            if self.texts(row, &columns)? == wanted {
                found.push(at);
            }
        }
        ensure!(found.len() == 1, "{} rows have {of:?}; expected is one", found.len());
        Ok(found[0])
    }
}

/// What a cell says, as a value.
fn value(column: &str, text: &str) -> anyhow::Result<Value> {
    if text.is_empty() {
        return Ok(Value::Null);
    }
    if !VALUES.contains(&column) {
        return Ok(text.into());
    }
    match serde_json::from_str(text) {
        Ok(value) => Ok(value),
        Err(error) => bail!("{column} is {text:?}, which is no value of JSON: {error}"),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn told(method: &'static str, path: &str, body: Value) -> Told {
        Told { method, path: path.to_owned(), body }
    }

    #[test]
    fn a_change_is_made_in_the_files_and_told_to_the_server() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("orders.csv"), "order_id,status\nA,open\nB,open\n").unwrap();
        let lines = "order_id,options,quantity\nB,\"{\"\"Size\"\":\"\"L\"\"}\",2\n";
        fs::write(folder.path().join("order_lines.csv"), lines).unwrap();
        let mut tables = Tables::read(folder.path()).unwrap();
        let line =
            json!({ "id": 1, "order_key": 2, "order_id": "B", "options": { "Size": "L" }, "quantity": 2 });
        assert_eq!(tables.records().unwrap()["order_lines"], json!([line]));
        for (change, want) in [
            (
                Change::Come("order_lines", &[("order_id", "A"), ("quantity", "1")]),
                told(
                    "POST",
                    "/order_lines",
                    json!({ "id": 2, "order_key": 1, "order_id": "A", "options": null, "quantity": 1 }),
                ),
            ),
            (
                Change::Become("orders", &[("order_id", "B")], &[("status", "cancelled")]),
                told("PATCH", "/orders/2", json!({ "status": "cancelled" })),
            ),
            (Change::Go("order_lines", &[("quantity", "2")]), told("DELETE", "/order_lines/1", json!({}))),
        ] {
            assert_eq!(tables.change(change).unwrap(), want);
        }
        tables.change(Change::Go("orders", &[("status", "unknown")])).unwrap_err();
        tables.write(folder.path()).unwrap();
        let read = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
        assert_eq!(read("orders.csv"), "order_id,status\nA,open\nB,cancelled\n");
        assert_eq!(read("order_lines.csv"), "order_id,options,quantity\nA,,1\n");
    }
}
