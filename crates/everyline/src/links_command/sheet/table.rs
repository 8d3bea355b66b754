//! An offer table as exchange files have it, with columns behind it that say how each row came to be.
//!
//! The columns of `offers` are written as they are, so that what reads them finds the same offers; texts behind them are for
//! people. Start reading at [`csv`] and [`jsonl`].

use digest::harmless;
use links::sheet::{Change, Row, Sheet};
use model::book::Variant;
use model::text::fold;
use model::{Money, Options};
use serde::Serialize;

use super::super::said::counted;
use crate::terminal::tell;

/// The columns behind those of `offers`.
const MORE: [&str; 10] = [
    "supplier",
    "variant_id",
    "cost",
    "fees",
    "margin",
    "margin_percent",
    "reason",
    "why",
    "change",
    "to_do",
];

/// A row with everything that is said of it.
#[derive(Serialize)]
struct Line<'a> {
    listing_id: &'a str,
    sku: Option<&'a str>,
    title: Option<&'a str>,
    options: &'a Options,
    price: Option<String>,
    currency: &'a str,
    buyable: bool,
    supplier: Option<&'a str>,
    variant_id: Option<&'a str>,
    cost: Option<String>,
    fees: Option<String>,
    margin: Option<String>,
    margin_percent: Option<String>,
    /// Why it is off, in a word and in a sentence.
    reason: Option<&'a str>,
    why: Option<String>,
    /// How it differs from the offer that there is, in a word and in what is to be done.
    change: Option<&'a str>,
    to_do: Option<String>,
}

impl<'a> Line<'a> {
    fn of(sheet: &'a Sheet, row: &'a Row, variants: &'a [Variant]) -> Self {
        let variant = row.variant.map(|at| &variants[at]);
        let is_to_do = matches!(row.change, Change::Differs(_) | Change::TakeOff);
        Self {
            listing_id: sheet.listing_id.as_str(),
            sku: row.sku.as_deref(),
            title: sheet.title.as_deref(),
            options: &row.options,
            price: row.price.map(amount),
            currency: row.price.map_or(sheet.currency, Money::currency).code(),
            buyable: row.off.is_none(),
            supplier: variant.map(|variant| variant.supplier.as_str()),
            variant_id: variant.map(|variant| variant.variant_id.as_str()),
            cost: row.sum.map(|sum| amount(sum.unit_cost)),
            fees: row.sum.map(|sum| amount(sum.fees)),
            margin: row.sum.map(|sum| amount(sum.margin)),
            margin_percent: row.sum.map(|sum| format!("{:.2}", sum.margin_percent)),
            reason: row.off.as_ref().map(links::sheet::Off::word),
            why: row.off.as_ref().map(ToString::to_string),
            change: Some(row.change.word()).filter(|word| !word.is_empty()),
            to_do: is_to_do.then(|| row.change.to_string()),
        }
    }
}

/// An amount without its currency, with as many digits as that has, or more where it has more.
pub(super) fn amount(money: Money) -> String {
    let text = money.to_string();
    text.split('\u{a0}').next().unwrap_or_default().to_owned()
}

/// One JSON object a line.
pub(super) fn jsonl(sheet: &Sheet, variants: &[Variant]) -> String {
    let lines = sheet.rows.iter().map(|row| Line::of(sheet, row, variants));
    // Texts, numbers and lists alone: there is nothing in it that JSON cannot hold.
    lines.map(|line| serde_json::to_string(&line).unwrap_or_default() + "\n").collect()
}

/// A table with a header; each option in a column of its own, where that says the same.
pub(super) fn csv(sheet: &Sheet, variants: &[Variant]) -> String {
    let names = option_columns(sheet);
    let mut header: Vec<String> = ["listing_id", "sku", "title"].map(str::to_owned).to_vec();
    match &names {
        Some(names) => header.extend(names.iter().map(|name| format!("option.{name}"))),
        None => header.push("options".to_owned()),
    }
    header.extend(["price", "currency", "buyable"].map(str::to_owned));
    header.extend(MORE.map(str::to_owned));
    let mut table = ::csv::Writer::from_writer(Vec::new());
    // Into memory, which does not fail.
    let _ = table.write_record(&header);
    for row in &sheet.rows {
        let line = Line::of(sheet, row, variants);
        let text = |text: Option<&str>| text.unwrap_or_default().to_owned();
        let mut cells = vec![line.listing_id.to_owned(), text(line.sku), text(line.title)];
        match &names {
            Some(names) => cells.extend(names.iter().map(|name| value(&row.options, name))),
            None => cells.push(serde_json::to_string(line.options).unwrap_or_default()),
        }
        cells.extend([line.price.unwrap_or_default(), line.currency.to_owned(), line.buyable.to_string()]);
        cells.extend([harmless(&text(line.supplier)), harmless(&text(line.variant_id))]);
        cells.extend([line.cost, line.fees, line.margin, line.margin_percent].map(Option::unwrap_or_default));
        cells.extend([text(line.reason), harmless(&line.why.unwrap_or_default())]);
        cells.extend([text(line.change), harmless(&line.to_do.unwrap_or_default())]);
        let _ = table.write_record(&cells);
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn value(options: &Options, name: &str) -> String {
    let folded = fold(name);
    let value = options.iter().find(|(there, _)| fold(there) == folded);
    value.map(|(_, value)| value.to_owned()).unwrap_or_default()
}

/// The names of all options, as they are typed first; `None` where columns of their own would not say the same, would be
/// read as formulas by a spreadsheet, or where there is nothing to choose.
fn option_columns(sheet: &Sheet) -> Option<Vec<String>> {
    let is_plain = |text: &str| {
        !text.is_empty() && text.trim() == text && !text.contains(char::is_control) && harmless(text) == text
    };
    let mut names: Vec<String> = Vec::new();
    for (name, value) in sheet.rows.iter().flat_map(|row| row.options.iter()) {
        if !is_plain(name) || !is_plain(value) {
            return None;
        }
        if !names.iter().any(|there| fold(there) == fold(name)) {
            names.push(name.to_owned());
        }
    }
    (!names.is_empty()).then_some(names)
}

/// Says it where a cell that has to stand as it is would be taken for a formula.
pub(super) fn warn_of_formulas(sheet: &Sheet) {
    let is_formula = |text: &str| harmless(text).starts_with('\'') && !text.starts_with('\'');
    let of_row = |row: &Row| row.sku.as_deref().is_some_and(is_formula);
    let skus = sheet.rows.iter().filter(|row| of_row(row)).count();
    let shared = [sheet.title.as_deref(), Some(sheet.listing_id.as_str())];
    let of_sheet = if shared.into_iter().flatten().any(is_formula) { sheet.rows.len() } else { 0 };
    let rows = skus.max(of_sheet);
    if rows > 0 {
        tell(&format!(
            "warning: in {} an id, a SKU or the title begins as a formula does; they are written as they are: let a \
             spreadsheet read those columns as text",
            counted(rows, "row", "rows")
        ));
    }
}
