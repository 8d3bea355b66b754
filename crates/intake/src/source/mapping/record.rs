//! One record of an answer as the cells of a row.
//!
//! Must not know other records. Start reading at [`Line::read`].

use std::collections::BTreeMap;

use chrono_tz::Tz;
use model::Currency;
use regex::Regex;
use serde_json::Value;

use super::parent::ParentRow;
use super::values;
use super::{digest, several};
use crate::bad_row::{Fault, shown};
use crate::row::{Cell, Row, Unreadable};
use crate::source::declare::{
    At, Field, Found, MoneyForm, OptionsAt, Outer, Reading, TableMapping, Take, asked_by, key_columns,
};
use crate::tables::{Column, Table};

/// How many of the words of a mapping an error lists.
const SHOWN_WORDS: usize = 12;

/// The cells of a row that is being read.
#[derive(Debug)]
pub(crate) struct Line {
    table: Table,
    cells: Vec<Cell<'static>>,
    options: Vec<(String, Cell<'static>)>,
    zones: Vec<(Column, Tz)>,
}

/// A record, and what is known of it from where it stands.
pub(super) struct Record<'r> {
    pub(super) value: &'r Value,
    /// Its number among those of the record around it, from 1.
    pub(super) number: usize,
    /// The name under which it stands, where it does in an object.
    pub(super) key: Option<&'r str>,
    /// The records around it, the nearest first.
    pub(super) around: &'r [Outer<'r>],
    /// The currency of the order, for its lines.
    pub(super) order_currency: Option<&'r str>,
    /// What digests of addresses are keyed with.
    pub(super) digest_key: &'r [u8],
}

impl Line {
    pub(super) fn new(table: Table) -> Self {
        let cells = vec![Cell::Empty; table.columns().len()];
        Self { table, cells, options: Vec::new(), zones: Vec::new() }
    }

    /// Fills in a cell.
    pub(super) fn set(&mut self, column: Column, text: &str) {
        self.put(column, Cell::text(text.to_owned()));
    }

    /// The text of a cell; `None` where it is empty or the table has no such column.
    pub(super) fn text(&self, column: Column) -> Option<&str> {
        match self.cells.get(self.table.position(column)?)? {
            Cell::Text(text) => Some(text),
            Cell::Empty | Cell::Unreadable(_) => None,
        }
    }

    /// The key as a person reads it, in so far as it is known.
    pub(super) fn key_text(&self) -> Option<String> {
        let parts = key_columns(self.table).iter().filter_map(|column| {
            let text = self.text(*column)?;
            Some(format!("{} {}", column.name(), shown(text)))
        });
        let parts: Vec<String> = parts.collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    }

    /// The row, as the readers of files make it, and the zones of its columns.
    pub(crate) fn row(&self, number: u64) -> (Row<'_>, &[(Column, Tz)]) {
        let mut row = Row::new(self.table, number);
        row.cells.clone_from_slice(&self.cells);
        row.options = self.options.iter().map(|(name, cell)| (name.as_str(), cell.clone())).collect();
        (row, &self.zones)
    }

    /// Reads the fields of a record.
    pub(super) fn read(&mut self, mapping: &TableMapping, record: &Record<'_>) -> Result<(), Fault> {
        // Ids first, so that an error can say which record it is about; then the currency, for the amounts.
        let keys = key_columns(self.table);
        let rank = |field: &&Field| match field.column {
            column if keys.contains(&column) => 0,
            Column::Currency => 1,
            _ => 2,
        };
        let mut fields: Vec<&Field> = mapping.fields.iter().collect();
        fields.sort_by_key(rank);
        for field in fields {
            self.take(field.column, &field.take, record)?;
        }
        Ok(())
    }

    fn take(&mut self, column: Column, take: &Take, record: &Record<'_>) -> Result<(), Fault> {
        match take {
            Take::Always(text) => self.set(column, text),
            Take::Counted => self.set(column, &record.number.to_string()),
            Take::OwnKey => match record.key {
                Some(key) => self.set(column, key),
                None => {
                    let found = "the record stands in a list, and not under a name in an object";
                    return Err(Fault::of(column.name(), found, "a name under which it stands", ""));
                }
            },
            Take::Around(lists, take) => match record.around.get(lists - 1) {
                Some(outer) => {
                    let around = Record { value: outer.value, key: outer.key, around: &[], ..*record };
                    self.take(column, take, &around)?;
                }
                None => {
                    let found = format!("there is no record {lists} lists further out");
                    return Err(Fault::of(column.name(), found, "a record within others", ""));
                }
            },
            Take::Digest(places) => {
                let digest = address(column, places, record.value, record.digest_key)?;
                self.put(column, digest.map_or(Cell::Empty, Cell::text));
            }
            Take::Options(options) => {
                self.read_options(options, record.value)?;
                // The mapping says where a variant's choices stand: where nothing does, there is nothing to choose.
                if self.table == Table::Variants && self.options.iter().all(|(_, cell)| *cell == Cell::Empty)
                {
                    self.put(Column::Options, Cell::text("{}"));
                }
            }
            Take::FirstOf(takes) => {
                for take in takes {
                    self.take(column, take, record)?;
                    if self.text(column).is_some() {
                        break;
                    }
                }
            }
            Take::Value { at, and, pattern, reading } => {
                let own = self.text(Column::Currency).map(str::to_owned);
                let currency =
                    own.as_deref().or(record.order_currency.filter(|_| self.table == Table::OrderLines));
                let from = (at, and.as_ref());
                let cell = value(column, from, pattern.as_ref(), reading, record.value, currency)?;
                if let Reading::Time(_, zone) = reading {
                    self.zones.push((column, *zone));
                }
                self.put(column, cell);
            }
        }
        Ok(())
    }

    /// Whether the record is of the row for which was asked, in the columns that say so.
    pub(super) fn agrees_with(&self, table: Table, parent: &ParentRow) -> Result<(), Fault> {
        for column in asked_by(self.table, table) {
            if let (Some(text), Some(asked)) = (self.text(*column), parent.get(column.name()))
                && text != asked
            {
                return Err(Fault::of(
                    column.name(),
                    format!("{} stands there, and what was asked for is {}", shown(text), shown(asked)),
                    "the record that was asked for",
                    "",
                ));
            }
        }
        Ok(())
    }

    /// What the record does not say of its key is as the row for which was asked has it.
    fn put(&mut self, column: Column, cell: Cell<'static>) {
        if let Some(position) = self.table.position(column)
            && cell != Cell::Empty
        {
            self.cells[position] = cell;
        }
    }

    /// Names that are kept and not there are empty cells: where all are, there is nothing to choose.
    fn read_options(&mut self, options: &OptionsAt, record: &Value) -> Result<(), Fault> {
        match options {
            OptionsAt::Columns(columns) => {
                for (name, at) in columns {
                    let cell = option(at.one(record))?;
                    self.options.push((name.clone(), cell));
                }
            }
            OptionsAt::NamedAt { places, keep } => {
                self.options.extend(keep.names().map(|name| (name.to_owned(), Cell::Empty)));
                for (name, at) in places {
                    let written = match name.one(record) {
                        Found::One(written) => values::scalar(written).unwrap_or_default(),
                        Found::Nothing | Found::Several(_) => continue,
                    };
                    if let Some(name) = keep.kept(&written) {
                        self.options.push((name.to_owned(), option(at.one(record))?));
                    }
                }
            }
            OptionsAt::Text { at, between, name_ends, keep } => {
                self.options.extend(keep.names().map(|name| (name.to_owned(), Cell::Empty)));
                let Some(text) = options_text(at, record)? else { return Ok(()) };
                for (name, value) in named_parts(&text, between, name_ends) {
                    if let Some(name) = keep.kept(name) {
                        self.options.push((name.to_owned(), Cell::text(value)));
                    }
                }
            }
            OptionsAt::Values { at, between, names } => {
                self.options.extend(names.iter().map(|name| (name.clone(), Cell::Empty)));
                let Some(text) = options_text(at, record)? else { return Ok(()) };
                let values: Vec<&str> = parts(&text, between).map(str::trim).collect();
                if values.len() != names.len() {
                    let found = format!("{} values stand there, between {between:?}", values.len());
                    let expected = format!("{}: {}", names.len(), names.join(", "));
                    return Err(of_options(Fault::of_row(found, expected, "")));
                }
                let named = names.iter().zip(values);
                self.options.extend(named.map(|(name, value)| (name.clone(), Cell::text(value.to_owned()))));
            }
            OptionsAt::Object { at, keep } => {
                self.options.extend(keep.names().map(|name| (name.to_owned(), Cell::Empty)));
                match at.one(record) {
                    Found::Nothing => {}
                    Found::Several(many) => return Err(of_options(several(many))),
                    Found::One(Value::Object(object)) => {
                        self.put(Column::Options, Cell::text("{}"));
                        for (name, value) in object {
                            if let Some(name) = keep.kept(name) {
                                self.options.push((name.to_owned(), option(Found::One(value))?));
                            }
                        }
                    }
                    // Tables have it as a text.
                    Found::One(Value::String(text)) if text.trim_start().starts_with('{') => {
                        let object: serde_json::Map<String, Value> =
                            serde_json::from_str(text).map_err(|_| {
                                of_options(Fault::of_row(
                                    "a text that is no JSON stands there",
                                    "an object of options",
                                    "",
                                ))
                            })?;
                        self.put(Column::Options, Cell::text("{}"));
                        for (name, value) in &object {
                            if let Some(name) = keep.kept(name) {
                                self.options.push((name.to_owned(), option(Found::One(value))?));
                            }
                        }
                    }
                    Found::One(_) => {
                        let fault =
                            Fault::of_row("what stands there is no object", "an object of options", "");
                        return Err(of_options(fault));
                    }
                }
            }
            OptionsAt::Pairs { at, name, value, keep } => {
                self.options.extend(keep.names().map(|name| (name.to_owned(), Cell::Empty)));
                for pair in at.all(record) {
                    let written = match name.one(pair) {
                        Found::Nothing => continue,
                        Found::Several(many) => return Err(of_options(several(many))),
                        Found::One(written) => values::scalar(written).ok_or_else(|| {
                            of_options(Fault::of_row(
                                "the name of an option is an object or a list",
                                "a text",
                                "",
                            ))
                        })?,
                    };
                    // Whatever an option that is not kept says is not looked at.
                    if let Some(name) = keep.kept(&written) {
                        self.options.push((name.to_owned(), option(value.one(pair))?));
                    }
                }
            }
        }
        Ok(())
    }
}

/// The text in which options stand; `None` where there is none.
fn options_text(at: &At, record: &Value) -> Result<Option<String>, Fault> {
    match at.one(record) {
        Found::Nothing => Ok(None),
        Found::Several(many) => Err(of_options(several(many))),
        Found::One(value) => match values::scalar(value) {
            Some(text) => Ok(Some(text.into_owned()).filter(|text| !text.trim().is_empty())),
            None => Err(of_options(Fault::of_row("an object or a list stands there", "a text", ""))),
        },
    }
}

/// The parts of a text, with the blanks around them. Blanks around a mark between them may differ.
fn parts<'t>(text: &'t str, between: &'t str) -> impl Iterator<Item = &'t str> {
    text.split(mark(between))
}

fn mark(between: &str) -> &str {
    if between.trim().is_empty() { between } else { between.trim() }
}

/// Names and values out of `Size: L, Colour: Moss`. A part without a name belongs to the value before it.
fn named_parts<'t>(text: &'t str, between: &'t str, name_ends: &str) -> Vec<(&'t str, String)> {
    let mut named: Vec<(&str, String)> = Vec::new();
    for part in parts(text, between) {
        match (part.split_once(name_ends.trim_end()), named.last_mut()) {
            (Some((name, value)), _) => named.push((name.trim(), value.trim_start().to_owned())),
            (None, Some((_, before))) => {
                before.push_str(mark(between));
                before.push_str(part);
            }
            (None, None) => {}
        }
    }
    named.into_iter().map(|(name, value)| (name, value.trim_end().to_owned())).collect()
}

fn of_options(fault: Fault) -> Fault {
    Fault { column: Some(Column::Options.name().to_owned()), ..fault }
}

fn option(found: Found<'_>) -> Result<Cell<'static>, Fault> {
    match found {
        Found::Nothing | Found::One(Value::Null) => Ok(Cell::Empty),
        Found::Several(many) => Err(of_options(several(many))),
        Found::One(value) => Ok(match values::scalar(value) {
            Some(text) => Cell::text(text.into_owned()),
            None => Cell::Unreadable(Unreadable::Nested),
        }),
    }
}

/// The digest of an address. Its faults say no value.
fn address(column: Column, places: &[At], record: &Value, key: &[u8]) -> Result<Option<String>, Fault> {
    let mut texts = Vec::new();
    for at in places {
        let mut found = Vec::new();
        for value in at.all(record).into_iter().filter(|value| !value.is_null()) {
            let text = values::scalar(value).ok_or_else(|| {
                Fault::of(
                    column.name(),
                    format!("an object or a list stands at {at}"),
                    "a text that is a part of the address",
                    "",
                )
            })?;
            found.push(text.into_owned());
        }
        texts.push(found);
    }
    Ok(digest::of(&texts, key))
}

fn value(
    column: Column,
    (at, and): (&At, Option<&At>),
    pattern: Option<&Regex>,
    reading: &Reading,
    record: &Value,
    currency: Option<&str>,
) -> Result<Cell<'static>, Fault> {
    let found = match at.one(record) {
        Found::Nothing => return Ok(Cell::Empty),
        Found::Several(many) => {
            return Err(Fault { column: Some(column.name().to_owned()), ..several(many) });
        }
        Found::One(value) => value,
    };
    let Some(text) = values::scalar(found) else { return Ok(Cell::Unreadable(Unreadable::Nested)) };
    let text = match and.map(|and| and.one(record)) {
        Some(Found::One(more)) if !text.is_empty() => match values::scalar(more) {
            Some(more) => format!("{text} {more}").into(),
            None => return Ok(Cell::Unreadable(Unreadable::Nested)),
        },
        Some(Found::Several(many)) => {
            return Err(Fault { column: Some(column.name().to_owned()), ..several(many) });
        }
        _ => text,
    };
    if matches!(reading, Reading::Id) && values::is_no_whole_number(found) {
        return Err(Fault::of(
            column.name(),
            "a number with a fraction, or one too large to be read exactly, stands there",
            format!("an id: a text, or a whole number up to {}", u64::MAX),
            "",
        ));
    }
    if matches!(reading, Reading::Money(_)) && values::may_have_lost_digits(found) {
        return Err(Fault::of(
            column.name(),
            format!("{text} is a number of more digits than can be read exactly"),
            "an amount as a text, or a number of at most 15 digits",
            "",
        ));
    }
    let text = match pattern {
        Some(_) if text.is_empty() => return Ok(Cell::Empty),
        Some(pattern) => {
            let group = pattern.captures(&text).and_then(|captures| captures.get(1));
            group.map(|group| group.as_str()).ok_or_else(|| {
                Fault::of(
                    column.name(),
                    format!("a text that looks like {} does not match", shown(&values::look(&text))),
                    format!("a text that matches {pattern}"),
                    "",
                )
            })?
        }
        None => &text,
    };
    match reading {
        Reading::Plain | Reading::Id => Ok(Cell::text(text.to_owned())),
        Reading::Words(words) => word(column, words, text),
        Reading::There(_) if text.is_empty() || matches!(found, Value::Bool(false)) || text == "0" => {
            Ok(Cell::Empty)
        }
        Reading::There(word) => Ok(Cell::text(word.clone())),
        _ if text.is_empty() => Ok(Cell::Empty),
        Reading::Time(form, zone) => {
            let read = form.read(text, *zone).map_err(|error| {
                Fault::of(column.name(), format!("{} {}", shown(text), error.problem), error.expected, "")
            })?;
            Ok(read.map_or(Cell::Empty, Cell::text))
        }
        // A number of JSON or of a spreadsheet is written in no way of people.
        Reading::Money(MoneyForm::Comma | MoneyForm::Point) if found.is_number() => {
            money(column, MoneyForm::Decimal, text, currency)
        }
        Reading::Money(form) => money(column, *form, text, currency),
    }
}

fn word(column: Column, words: &BTreeMap<String, String>, text: &str) -> Result<Cell<'static>, Fault> {
    match words.get(text) {
        Some(meaning) => Ok(Cell::text(meaning.clone())),
        None if text.is_empty() => Ok(Cell::Empty),
        None => {
            let mut known: Vec<&str> = words.keys().map(String::as_str).take(SHOWN_WORDS).collect();
            if words.len() > known.len() {
                known.push("…");
            }
            Err(Fault::of(
                column.name(),
                format!("{} is not one of the words of the mapping", shown(text)),
                format!("one of {}", known.join(", ")),
                "Add it to the words of the field, with what it means.",
            ))
        }
    }
}

fn money(
    column: Column,
    form: MoneyForm,
    text: &str,
    currency: Option<&str>,
) -> Result<Cell<'static>, Fault> {
    let digits = match form {
        MoneyForm::Decimal => return Ok(Cell::text(text.to_owned())),
        MoneyForm::Comma | MoneyForm::Point => {
            let (mark, example) =
                if form == MoneyForm::Comma { (',', "1.234,50") } else { ('.', "1,234.50") };
            return values::as_people_write(text, mark).map(Cell::text).ok_or_else(|| {
                let found = format!("{} is not an amount", shown(text));
                Fault::of(column.name(), found, format!("an amount such as {example}"), "")
            });
        }
        MoneyForm::MinorOf(digits) => digits,
        MoneyForm::Minor => {
            let Some(code) = currency else {
                return Err(Fault::of(
                    column.name(),
                    "the currency, whose minor units these are, is not known",
                    Currency::EXPECTED,
                    "",
                ));
            };
            let currency: Currency = code.parse().map_err(|_| {
                Fault::of(
                    Column::Currency.name(),
                    format!("{} is not a currency code", shown(code)),
                    Currency::EXPECTED,
                    "",
                )
            })?;
            u32::from(currency.digits())
        }
    };
    values::minor_units(text, digits).map(Cell::text).ok_or_else(|| {
        Fault::of(
            column.name(),
            format!("{} is not a whole number of minor units", shown(text)),
            "an amount in minor units, such as 2410",
            "",
        )
    })
}
