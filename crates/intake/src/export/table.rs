//! The header of a table, and its rows as records; the same for text and for sheets.
//!
//! Must not know: how rows are written in a file. Start reading at [`find_header`] and [`Records`].

use std::borrow::Cow;
use std::collections::{BTreeMap, HashSet};

use rust_decimal::Decimal;
use serde_json::{Map, Value};

use super::error::{ExportError, Place};
use super::limits::{self, MAX_NAME_BYTES, MAX_ROWS, Weight};
use crate::bad_row::shown;
use crate::source::mapping::as_people_write;

/// Among how many rows that hold anything the header is looked for.
const HEADER_WITHIN: usize = 20;

/// How many rows that hold anything are looked at to find the header: enough to know how wide the table is.
pub(super) const HEAD_ROWS: usize = 100;

/// Of the header's cells, one in so many is filled in the row below it, or more. Sheets are often sparse.
const FILLED_BELOW: usize = 4;

/// What the sums of other rows are called. Common practice, no published source.
const SUMS: [&str; 22] = [
    "total",
    "totals",
    "subtotal",
    "sub-total",
    "sub total",
    "grand total",
    "sum",
    "page total",
    "summe",
    "gesamt",
    "gesamtsumme",
    "zwischensumme",
    "endsumme",
    "übertrag",
    "sous-total",
    "sous total",
    "total général",
    "totaux",
    "suma",
    "total general",
    "totales",
    "total página",
];

/// A cell, as far as a header needs it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum HeadCell<'a> {
    Empty,
    Text(Cow<'a, str>),
    /// A number, a date, a boolean: as it would be a name.
    Value(String),
}

/// A row that holds something, as far as a header needs it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct HeadRow<'a> {
    /// Its line or row, from 1.
    pub(super) number: u64,
    pub(super) cells: Vec<HeadCell<'a>>,
}

impl HeadRow<'_> {
    fn filled(&self) -> usize {
        self.cells.iter().filter(|cell| **cell != HeadCell::Empty).count()
    }

    /// The number of cells up to the last filled one.
    fn width(&self) -> usize {
        self.cells.iter().rposition(|cell| *cell != HeadCell::Empty).map_or(0, |last| last + 1)
    }

    /// What it could be.
    fn rank(&self) -> Rank {
        let mut different = HashSet::new();
        let mut filled = 0;
        for cell in &self.cells {
            match cell {
                HeadCell::Empty => continue,
                HeadCell::Text(text) if !is_number_or_date(text) => different.insert(text.as_ref()),
                HeadCell::Text(_) | HeadCell::Value(_) => return Rank::Data,
            };
            filled += 1;
        }
        if filled == 1 || different.len() * 2 > filled { Rank::Names } else { Rank::Groups }
    }
}

/// What a row could be, by its cells alone.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Rank {
    /// Names of columns.
    Names,
    /// Headings over groups of columns, the same one over several.
    Groups,
    /// It holds a number or a date.
    Data,
}

/// Why no header was found.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Unclear {
    /// No row qualifies.
    None,
    /// A row qualifies, and another one above it is as full.
    AsFullAbove { above: u64, header: u64 },
}

impl Unclear {
    /// The error, of a file or a sheet. `row` is what its rows are called, `hint` what else could be the matter.
    pub(super) fn at(self, place: Box<Place>, row: &str, hint: &str) -> ExportError {
        let found = match self {
            Self::None => {
                format!("none of the first {HEADER_WITHIN} {row}s that hold anything looks like a header")
            }
            Self::AsFullAbove { above, header } => {
                format!("{row} {header} looks like a header, but {row} {above} above it is as full")
            }
        };
        let hint = format!("State the header row{hint}.");
        ExportError::NoHeader { place, found, hint }
    }
}

/// The index of the header among the rows at the head of a table. The module's head says what a header is.
pub(super) fn find_header(rows: &[HeadRow<'_>]) -> Result<usize, Unclear> {
    let widest = rows.iter().map(HeadRow::width).max().unwrap_or_default();
    let mut fullest_above = (0, 0);
    for (index, row) in rows.iter().take(HEADER_WITHIN).enumerate() {
        let filled = row.filled();
        // A title stands alone.
        if filled * 2 < widest || filled == 1 && widest > 1 {
            continue;
        }
        let rank = row.rank();
        let is_followed = rows
            .get(index + 1)
            .is_none_or(|next| next.cells.len() >= row.cells.len() || next.filled() * FILLED_BELOW >= filled);
        if rank == Rank::Names && is_followed {
            let (as_full, above) = fullest_above;
            return if as_full >= filled {
                Err(Unclear::AsFullAbove { above, header: row.number })
            } else {
                Ok(index)
            };
        }
        if rank != Rank::Groups && filled > fullest_above.0 {
            fullest_above = (filled, row.number);
        }
    }
    Err(Unclear::None)
}

/// Whether a text is a number, an amount or a date, rather than a name: digits and signs, with no words but months,
/// weekdays and what stands in times.
fn is_number_or_date(text: &str) -> bool {
    const NAMES: [&str; 19] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
    ];
    const OTHERS: [&str; 6] = ["am", "pm", "t", "z", "utc", "e"];
    let is_time_word = |word: &str| {
        let word = word.to_lowercase();
        let is_name = |name: &str| name == word || word.len() == 3 && name.starts_with(&word);
        OTHERS.contains(&word.as_str()) || NAMES.iter().any(|name| is_name(name))
    };
    let is_sign = |character: char| " \u{a0}\t.,:;/-+'’%()€$£¥".contains(character);
    text.chars().any(|character| character.is_ascii_digit())
        && text.chars().all(|character| character.is_alphanumeric() || is_sign(character))
        && text
            .split(|character: char| !character.is_alphabetic())
            .filter(|word| !word.is_empty())
            .all(is_time_word)
}

/// The names of the columns, of a header's cells: blanks collapsed, gaps filled, each name once.
pub(super) fn names(row: &HeadRow<'_>, place: impl Fn() -> Box<Place>) -> Result<Vec<String>, ExportError> {
    let mut names = Vec::new();
    let mut taken: HashSet<String> = HashSet::new();
    for (index, cell) in row.cells.iter().enumerate() {
        let written = match cell {
            HeadCell::Empty => "",
            HeadCell::Text(text) => text.as_ref(),
            HeadCell::Value(value) => value,
        };
        if written.len() > MAX_NAME_BYTES {
            return Err(limits::over(
                place(),
                format!("the name of column {} is longer than {MAX_NAME_BYTES} bytes", index + 1),
                "short names in the header".to_owned(),
                "Look for a quote that is not closed, or state the header row.",
            ));
        }
        let collapsed = written.split_whitespace().collect::<Vec<_>>().join(" ");
        let name = if collapsed.is_empty() { format!("column {}", index + 1) } else { collapsed };
        let name = match taken.contains(&name) {
            false => name,
            true => free_name(&name, &taken),
        };
        taken.insert(name.clone());
        names.push(name);
    }
    Ok(names)
}

/// The name with the first number from 2 that makes it one of its own.
fn free_name(name: &str, taken: &HashSet<String>) -> String {
    let mut number = 2_u64;
    loop {
        let numbered = format!("{name} ({number})");
        if !taken.contains(&numbered) {
            return numbered;
        }
        number += 1;
    }
}

/// The records that are made of rows.
pub(super) struct Records {
    names: Vec<String>,
    /// Which columns have a name of their own, or a cell.
    is_used: Vec<bool>,
    values: Vec<Value>,
    lines: Vec<u64>,
    passed_over: Vec<u64>,
    /// How many columns have a name of their own.
    named: usize,
    sums: Summed,
    weight: Weight,
}

impl Records {
    /// `header` gave the names.
    pub(super) fn new(names: Vec<String>, header: &HeadRow<'_>, weight: Weight) -> Self {
        let is_used = header.cells.iter().map(|cell| *cell != HeadCell::Empty).collect();
        Self {
            names,
            is_used,
            values: Vec::new(),
            lines: Vec::new(),
            passed_over: Vec::new(),
            named: header.filled(),
            sums: Summed::default(),
            weight,
        }
    }

    /// How many columns the header has.
    pub(super) fn columns(&self) -> usize {
        self.names.len()
    }

    /// Begins the record of a row.
    pub(super) fn begin(
        &mut self,
        number: u64,
        place: impl Fn() -> Box<Place>,
    ) -> Result<Map<String, Value>, ExportError> {
        if self.values.len() == MAX_ROWS {
            return Err(limits::too_many_rows(place()));
        }
        if !self.weight.add(0) {
            return Err(self.weight.too_much(place()));
        }
        self.lines.push(number);
        Ok(Map::new())
    }

    /// Adds a cell; the column is one of the header's.
    pub(super) fn add(
        &mut self,
        record: &mut Map<String, Value>,
        column: usize,
        value: Value,
        place: impl Fn() -> Box<Place>,
    ) -> Result<(), ExportError> {
        let name = &self.names[column];
        let text_bytes = value.as_str().map_or(0, str::len);
        if !self.weight.add(name.len() + text_bytes) {
            return Err(self.weight.too_much(place()));
        }
        self.is_used[column] = true;
        record.insert(name.clone(), value);
        Ok(())
    }

    /// Ends the record that was begun last.
    pub(super) fn end(&mut self, record: Map<String, Value>) {
        if self.is_header_again(&record) || self.is_sum(&record) {
            self.passed_over.extend(self.lines.pop());
            return;
        }
        self.values.push(Value::Object(record));
    }

    /// Whether a row says the names of all columns again, as some do on each page.
    fn is_header_again(&self, record: &Map<String, Value>) -> bool {
        let is_name = |(name, value): (&String, &Value)| {
            let Some(text) = value.as_str() else { return false };
            let own =
                name.strip_suffix(')').and_then(|name| name.rsplit_once(" (")).map_or("", |(own, _)| own);
            let says = |of: &str| text.split_whitespace().eq(of.split_whitespace());
            says(name) || says(own)
        };
        record.len() > 1 && record.len() == self.named && record.iter().all(is_name)
    }

    /// Whether a row is the sum of others: its first column says so, most of the others are empty, and all that stands in
    /// these is the sum of what stands above, from the last such row on, or from the first row.
    fn is_sum(&mut self, record: &Map<String, Value>) -> bool {
        let Some(first) = self.names.first() else { return false };
        if record.len() < 2 || record.len() * 2 > self.names.len() {
            return false;
        }
        let says = record.get(first).and_then(Value::as_str).is_some_and(|text| {
            let text = text.trim().trim_end_matches(':').trim_end().to_lowercase();
            SUMS.contains(&text.as_str())
        });
        if !says {
            return false;
        }
        self.sums.add(&self.values);
        let others = record.iter().filter(|(name, _)| *name != first);
        let is_sum = self.sums.are(&others.collect::<Vec<_>>());
        if is_sum {
            self.sums.since.clear();
        }
        is_sum
    }

    /// All that was read.
    pub(super) fn finish(self) -> Read {
        let used = self.names.into_iter().zip(self.is_used);
        let header = used.filter(|(_, is_used)| *is_used).map(|(name, _)| name).collect();
        Read { value: Value::Array(self.values), header, lines: self.lines, passed_over: self.passed_over }
    }
}

/// A table that was read.
pub(super) struct Read {
    /// A list of one object a row.
    pub(super) value: Value,
    pub(super) header: Vec<String>,
    /// Where each record begins.
    pub(super) lines: Vec<u64>,
    /// Where the rows begin that are none.
    pub(super) passed_over: Vec<u64>,
}

/// The ways in which amounts are written.
const WAYS: [fn(&str) -> Option<Decimal>; 3] = [
    model::money::parse_amount,
    |text| model::money::parse_amount(&as_people_write(text, ',')?),
    |text| model::money::parse_amount(&as_people_write(text, '.')?),
];

/// For each column, in each way of writing amounts, the sum of its cells; `None` where they have none, or are none.
type Sums = BTreeMap<String, [Option<Decimal>; 3]>;

/// What the rows up to here add up to; counted only where a row says that it is a sum.
#[derive(Default)]
struct Summed {
    /// How many rows are in it.
    rows: usize,
    /// From the last row that was a sum.
    since: Sums,
    /// From the first row.
    all: Sums,
}

impl Summed {
    fn add(&mut self, rows: &[Value]) {
        for row in rows.iter().skip(self.rows).filter_map(Value::as_object) {
            for (name, value) in row {
                let text = written(value);
                let amounts = WAYS.map(|read| read(&text));
                for sums in [&mut self.since, &mut self.all] {
                    match sums.get_mut(name) {
                        Some(sum) => {
                            for (sum, amount) in sum.iter_mut().zip(amounts) {
                                *sum = sum.zip(amount).and_then(|(sum, amount)| sum.checked_add(amount));
                            }
                        }
                        None => {
                            sums.insert(name.clone(), amounts);
                        }
                    }
                }
            }
        }
        self.rows = rows.len();
    }

    /// Whether cells are all sums of their columns, in one way of writing amounts.
    fn are(&self, cells: &[(&String, &Value)]) -> bool {
        let is_sum = |sums: &Sums, way: usize| {
            cells.iter().all(|(name, value)| {
                let sum = sums.get(*name).and_then(|sum| sum[way]);
                sum.is_some() && sum == WAYS[way](&written(value))
            })
        };
        !cells.is_empty()
            && [&self.since, &self.all].into_iter().any(|sums| (0..WAYS.len()).any(|way| is_sum(sums, way)))
    }
}

/// A cell as a text.
fn written(value: &Value) -> Cow<'_, str> {
    match value {
        Value::String(text) => Cow::Borrowed(text.trim()),
        other => Cow::Owned(other.to_string()),
    }
}

/// What is said of a cell beyond the header.
pub(super) fn beyond(cell: &str) -> String {
    format!("{} stands to the right of the header's last column", shown(cell))
}

#[cfg(test)]
mod tests {
    use crate::export::{Stated, read_bytes};

    fn passed_over(text: &str) -> (usize, Vec<u64>) {
        let export = read_bytes("orders.csv", text.as_bytes().to_vec(), &Stated::default()).unwrap();
        assert_eq!(export.value.as_array().unwrap().len(), export.lines.len());
        (export.lines.len(), export.passed_over)
    }

    #[test]
    fn rows_that_add_up_those_above_are_passed_over_and_told() {
        let text = "Order,Date,Item,Note,Qty,Price\nQ1,2026-11-01,mug,,1,9.00\nQ1,2026-11-01,cap,,2,12.50\n\
            Total,,,,3,21.50\nQ2,2026-11-02,mug,,1,9.00\nSubtotal:,,,,1,9.00\nGrand total,,,,4,30.50\n";
        assert_eq!(passed_over(text), (3, vec![4, 6, 7]));
        let german = "Nr;Datum;Artikel;Land;Betrag\n1;01.11.2026;Tasse;DE;1.009,00\n\
            2;02.11.2026;Tasse;DE;9,50\nSumme;;;;1.018,50 €\n";
        assert_eq!(passed_over(german), (2, vec![4]));
    }

    #[test]
    fn rows_that_only_look_like_a_sum_or_a_header_stay() {
        let header =
            "Order,Date,Item,Note,Qty,Price\nQ1,2026-11-01,mug,,1,9.00\nQ1,2026-11-01,cap,,2,12.50\n";
        for row in [
            // An order whose number is a word for a sum.
            "Total,2026-11-02,mug,,3,21.50",
            "Total,2026-11-02,,,,",
            // A sum of something else; an amount that adds up nothing.
            "Total,,,,3,41.50",
            "Total,,,,,9.00",
            "Total,,,,,",
            // A thing that is called so, of the order above.
            ",,Total,,3,21.50",
            // A line of which the title is the name of its column.
            ",,Item,,1,9.00",
            ",,Item,Note,,",
            "Order,Date,Item,Note,Qty,9.00",
        ] {
            assert_eq!(passed_over(&format!("{header}{row}\n")), (3, vec![]), "{row}");
        }
        // Of a single column nothing tells it.
        assert_eq!(passed_over("Order\nTotal\nOrder\nQ1\n"), (3, vec![]));
        let again = "Order,Date,Item,Note,Qty,Price\n";
        assert_eq!(passed_over(&format!("{header}{again}Q2,2026-11-02,mug,,1,9.00\n")), (3, vec![4]));
    }
}
