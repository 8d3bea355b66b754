//! What a request that is asked for each row of a table knows of a row.
//!
//! Start reading at [`ParentRow`].

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// What a request that is asked for each row of a table has to know of a row: its key, and what stands in the request's
/// address. Nothing else of the row is in it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
pub struct ParentRow {
    table: String,
    columns: BTreeMap<String, String>,
}

impl ParentRow {
    /// A row of a table with these values, by column.
    pub fn new<'a>(table: &str, columns: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        let columns = columns.into_iter().map(|(column, value)| (column.to_owned(), value.to_owned()));
        Self { table: table.to_owned(), columns: columns.collect() }
    }

    /// The table.
    pub fn table(&self) -> &str {
        &self.table
    }

    /// The value of a column, where it is known.
    pub fn get(&self, column: &str) -> Option<&str> {
        self.columns.get(column).map(String::as_str)
    }
}
