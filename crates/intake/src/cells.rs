//! Values out of cells: ids, texts, whole numbers, amounts, currencies, times, words, options.
//!
//! Must not know: what a table does with them. Each reading answers the value, nothing where the cell is empty, or
//! a [`Fault`] that says what was expected. Source: README.md, 'The tables'.

use std::ops::RangeInclusive;

use chrono_tz::Tz;
use model::{Currency, Options, When, money};
use rust_decimal::Decimal;

use crate::bad_row::{Fault, shown};
use crate::json::{self, Scalar};
use crate::row::{Cell, Row, Unreadable};
use crate::tables::{Column, Need};

/// The largest quantity of a line. No shop that has things made to order sells a million of one; a larger number
/// is an id in the wrong column, and sums of quantities stay far from overflowing.
pub const MAX_QUANTITY: u32 = 1_000_000;

/// The most units of a variant that one unit of an offer may need. A set has a handful of each part.
pub const MAX_UNITS: u32 = 1_000;

const AN_ID: &str = "an id";
const AN_OPTIONS_OBJECT: &str = r#"a JSON object of option names and values, such as {"Size":"L"}"#;
const TRUE_OR_FALSE: &str = "true or false";

/// The cells of a row, with what is needed to read them.
pub(crate) struct Cells<'r> {
    row: &'r Row<'r>,
    zone: Tz,
    /// Zones of single columns, where they have one of their own.
    zones: &'r [(Column, Tz)],
}

impl<'r> Cells<'r> {
    pub(crate) fn new(row: &'r Row<'r>, zone: Tz) -> Self {
        Self { row, zone, zones: &[] }
    }

    /// Likewise; dates alone in some columns are days of zones of their own.
    pub(crate) fn with_zones(row: &'r Row<'r>, zone: Tz, zones: &'r [(Column, Tz)]) -> Self {
        Self { row, zone, zones }
    }

    /// The text of a cell, to the byte.
    pub(crate) fn text(&self, column: Column) -> Result<Option<&'r str>, Fault> {
        read(self.row.cell(column), column.name())
    }

    /// The text of a cell that must not be empty.
    pub(crate) fn required_text(&self, column: Column, expected: &str) -> Result<&'r str, Fault> {
        self.text(column)?.ok_or_else(|| self.nothing_given(column, expected))
    }

    /// An id that must be there.
    pub(crate) fn id(&self, column: Column) -> Result<&'r str, Fault> {
        self.required_text(column, AN_ID)
    }

    /// A whole number.
    pub(crate) fn whole_number(
        &self,
        column: Column,
        range: RangeInclusive<u32>,
    ) -> Result<Option<u32>, Fault> {
        let expected = expected_number(&range);
        self.value(column, &expected, |text| whole_number(text, &range))
    }

    /// A whole number that must be there.
    pub(crate) fn required_whole_number(
        &self,
        column: Column,
        range: RangeInclusive<u32>,
    ) -> Result<u32, Fault> {
        let expected = expected_number(&range);
        self.whole_number(column, range)?.ok_or_else(|| self.nothing_given(column, &expected))
    }

    /// An amount of money, zero or more.
    pub(crate) fn amount(&self, column: Column) -> Result<Option<Decimal>, Fault> {
        let expected = format!("{}, zero or more", money::AMOUNT_EXPECTED);
        self.value(column, &expected, |text| match money::parse_amount(text) {
            None => Err("is not an amount"),
            Some(amount) if amount < Decimal::ZERO => Err("is under zero"),
            Some(amount) => Ok(amount),
        })
    }

    /// A currency.
    pub(crate) fn currency(&self) -> Result<Option<Currency>, Fault> {
        self.value(Column::Currency, Currency::EXPECTED, |text| {
            text.parse().map_err(|_| "is not a currency code")
        })
    }

    /// A time or a day.
    pub(crate) fn when(&self, column: Column) -> Result<Option<When>, Fault> {
        let zone = self.zones.iter().find(|(own, _)| *own == column).map_or(self.zone, |(_, zone)| *zone);
        self.value(column, When::EXPECTED, |text| When::parse(text, zone).map_err(|_| "is not a time"))
    }

    /// A time or a day that must be there.
    pub(crate) fn required_when(&self, column: Column) -> Result<When, Fault> {
        self.when(column)?.ok_or_else(|| self.nothing_given(column, When::EXPECTED))
    }

    /// True or false, in any case; `otherwise` where the cell is empty.
    pub(crate) fn boolean(&self, column: Column, otherwise: bool) -> Result<bool, Fault> {
        let value = self.value(column, TRUE_OR_FALSE, |text| match text {
            _ if text.eq_ignore_ascii_case("true") => Ok(true),
            _ if text.eq_ignore_ascii_case("false") => Ok(false),
            _ => Err("is neither true nor false"),
        })?;
        Ok(value.unwrap_or(otherwise))
    }

    /// One of some words, in any case.
    pub(crate) fn word<T: Copy>(&self, column: Column, words: &[(&str, T)]) -> Result<Option<T>, Fault> {
        self.value(column, &expected_word(words), |text| {
            let word = words.iter().find(|(word, _)| word.eq_ignore_ascii_case(text));
            word.map(|(_, meaning)| *meaning).ok_or("is not one of the known words")
        })
    }

    /// One of some words, that must be there.
    pub(crate) fn required_word<T: Copy>(&self, column: Column, words: &[(&str, T)]) -> Result<T, Fault> {
        self.word(column, words)?.ok_or_else(|| self.nothing_given(column, &expected_word(words)))
    }

    /// The options of both forms, the object and the columns of their own. `None`: not known.
    pub(crate) fn options(&self) -> Result<Option<Options>, Fault> {
        let mut known = false;
        let mut options = Options::new();
        let mut add = |column: &str, name: &str, value: &str| {
            options.add(name.to_owned(), value.to_owned()).map_err(|two| {
                Fault::of(
                    column,
                    format!(
                        "the option {} has two values, {} and {}",
                        shown(&two.name),
                        shown(&two.first),
                        shown(&two.second)
                    ),
                    "one value for each option",
                    "Remove the value that is wrong.",
                )
            })
        };
        if let Some(text) = self.text(Column::Options)? {
            known = true;
            for (name, value) in options_object(text)? {
                add(Column::Options.name(), &name, &value)?;
            }
        }
        for (name, cell) in &self.row.options {
            let column = format!("option.{name}");
            if let Some(value) = read(cell, &column)? {
                known = true;
                add(&column, name, value)?;
            }
        }
        Ok(known.then_some(options))
    }

    /// The options of what is sold: columns of their own that are all empty say that there is nothing to choose.
    pub(crate) fn options_to_choose(&self) -> Result<Option<Options>, Fault> {
        Ok(self.options()?.or_else(|| (!self.row.options.is_empty()).then(Options::new)))
    }

    /// Likewise, where they must be known.
    pub(crate) fn required_options(&self) -> Result<Options, Fault> {
        self.options_to_choose()?.ok_or_else(|| {
            Fault::of(
                Column::Options.name(),
                "nothing is given",
                AN_OPTIONS_OBJECT,
                "Fill it in; write {} where there is nothing to choose.",
            )
        })
    }

    fn value<T>(
        &self,
        column: Column,
        expected: &str,
        parse: impl FnOnce(&str) -> Result<T, &'static str>,
    ) -> Result<Option<T>, Fault> {
        let Some(text) = self.text(column)? else { return Ok(None) };
        parse(text).map(Some).map_err(|problem| {
            Fault::of(column.name(), format!("{} {problem}", shown(text)), expected, self.hint(column))
        })
    }

    fn hint(&self, column: Column) -> &'static str {
        match self.row.table.columns().iter().find(|(there, _)| *there == column) {
            Some((_, Need::MayBeEmpty)) => "Correct the cell, or leave it empty if it is not known.",
            _ => "Correct the cell.",
        }
    }

    fn nothing_given(&self, column: Column, expected: &str) -> Fault {
        if self.row.is_empty() {
            let found = "the row says nothing in any known column";
            return Fault::of_row(found, "a row with its required columns filled in", "Delete the row.");
        }
        let hint = "Fill it in: a row cannot be read without it.";
        Fault::of(column.name(), "nothing is given", expected, hint)
    }
}

fn read<'c>(cell: &'c Cell<'_>, column: &str) -> Result<Option<&'c str>, Fault> {
    match cell {
        Cell::Empty => Ok(None),
        Cell::Text(text) => Ok(Some(text)),
        Cell::Unreadable(why) => Err(why.fault(column)),
    }
}

fn expected_number(range: &RangeInclusive<u32>) -> String {
    format!("a whole number from {} to {}", range.start(), range.end())
}

fn whole_number(text: &str, range: &RangeInclusive<u32>) -> Result<u32, &'static str> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err("is not a whole number");
    }
    let is_zero = digits.bytes().all(|byte| byte == b'0');
    if digits.len() < text.len() && !is_zero {
        return Err("is under zero");
    }
    let number = digits.parse::<u32>().map_err(|_| "is too large")?;
    match number {
        0 if *range.start() > 0 => Err("is under one"),
        _ if number > *range.end() => Err("is too large"),
        _ => Ok(number),
    }
}

fn expected_word<T>(words: &[(&str, T)]) -> String {
    let words: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
    match words.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
        None => String::new(),
    }
}

/// The options that an object names; one whose value is null is not there.
fn options_object(text: &str) -> Result<Vec<(String, String)>, Fault> {
    let column = Column::Options.name();
    let mut pairs = Vec::new();
    json::read_object(text, &mut pairs).map_err(|_| {
        Fault::of(
            column,
            format!("{} is not a JSON object", shown(text)),
            AN_OPTIONS_OBJECT,
            "Correct the cell; in CSV, write each quote inside it twice.",
        )
    })?;
    let mut options = Vec::with_capacity(pairs.len());
    for (name, value) in &pairs {
        match json::scalar(value) {
            Scalar::Null => {}
            Scalar::Text(value) => options.push((name.to_string(), value.into_owned())),
            Scalar::NoText => return Err(Unreadable::NoText.fault(column)),
            Scalar::Nested => {
                return Err(Fault::of(
                    column,
                    format!("the value of the option {} is an object or a list", shown(name)),
                    "a string, a number, true, false or null for each option",
                    "Give each option one value.",
                ));
            }
        }
    }
    Ok(options)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_number_is_digits_within_its_range() {
        for (text, range, want) in [
            ("0", 0..=MAX_QUANTITY, Ok(0)),
            ("007", 0..=MAX_QUANTITY, Ok(7)),
            ("-0", 0..=MAX_QUANTITY, Ok(0)),
            ("1000000", 0..=MAX_QUANTITY, Ok(1_000_000)),
            ("1000001", 0..=MAX_QUANTITY, Err("is too large")),
            ("99999999999999999999", 0..=MAX_QUANTITY, Err("is too large")),
            ("-2", 0..=MAX_QUANTITY, Err("is under zero")),
            ("-99999999999999999999", 1..=MAX_UNITS, Err("is under zero")),
            ("0", 1..=MAX_UNITS, Err("is under one")),
            ("1001", 1..=MAX_UNITS, Err("is too large")),
            ("2.0", 0..=MAX_QUANTITY, Err("is not a whole number")),
            ("+2", 0..=MAX_QUANTITY, Err("is not a whole number")),
            (" 2", 0..=MAX_QUANTITY, Err("is not a whole number")),
            ("1e2", 0..=MAX_QUANTITY, Err("is not a whole number")),
            ("٣", 0..=MAX_QUANTITY, Err("is not a whole number")),
            ("-", 0..=MAX_QUANTITY, Err("is not a whole number")),
        ] {
            assert_eq!(whole_number(text, &range), want, "{text:?}");
        }
    }
}
