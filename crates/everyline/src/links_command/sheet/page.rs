//! An offer table for reading: each good with its sizes across and its colours down, then what it comes to.
//!
//! Owns the short marks for what is off. Must not know how a row came to be. Start reading at [`page`].

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;

use digest::{clean, cut, text_width};
use links::Grid;
use links::sheet::{Change, Off, Row, Sheet, Sum, Wanted};
use model::book::Variant;

use super::super::said::{counted, options_text};
use super::table::amount;
use crate::layout::and;
use crate::terminal;

/// How many rows are shown of those that are to be settled, and of those that change.
const SHOWN_AT_MOST: usize = 20;

/// The widest that the name of a size or a colour may be.
const NAME_AT_MOST: usize = 28;

/// The narrowest to which one is cut, however narrow the terminal is.
const NAME_AT_LEAST: usize = 8;

/// In front of each line of a grid.
const INDENT: usize = 4;

/// Between two columns of a grid.
const GAP: usize = 2;

/// A paragraph so many columns in, the lines behind its first two more.
fn paragraph(indent: usize, text: &str) -> String {
    let (first, rest) = (" ".repeat(indent), " ".repeat(indent + 2));
    let options = textwrap::Options::new(terminal::width())
        .initial_indent(&first)
        .subsequent_indent(&rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(text, options) + "\n"
}

/// The mark in a grid for what is off.
fn mark(off: &Off) -> &'static str {
    match off {
        Off::NotInSize { .. } | Off::NotInColour { .. } | Off::NotTogether { .. } => ".",
        Off::NotAvailable(_) => "out",
        Off::CostUnknown => "cost?",
        Off::CurrencyUnknown { .. } => "curr?",
        Off::CurrenciesDiffer { .. } => "curr!",
        Off::BelowMargin { .. } => "low",
        Off::SeveralVariants(_) => "which?",
        Off::DesignUnsaid { .. } => "design?",
        Off::SkuShared { .. } => "twice",
        Off::NotInTable => "gone",
    }
}

/// What a mark means, as a clause.
fn meaning(off: &Off) -> &'static str {
    match off {
        Off::NotInSize { .. } | Off::NotInColour { .. } | Off::NotTogether { .. } => "not made",
        Off::NotAvailable(_) => "the supplier cannot make it now",
        Off::CostUnknown => "what it costs is not known",
        Off::CurrencyUnknown { .. } => "in which currency it costs that is not known",
        Off::CurrenciesDiffer { .. } => "it costs another currency than prices are in",
        Off::BelowMargin { .. } => "the price leaves less than is wanted",
        Off::SeveralVariants(_) => "several variants are this",
        Off::DesignUnsaid { .. } => "may be another design",
        Off::SkuShared { .. } => "another variant bears its SKU as well",
        Off::NotInTable => "not in this table",
    }
}

/// The whole page; `written` is the file that has the table.
pub(super) fn page(
    sheet: &Sheet,
    variants: &[Variant],
    wanted: &Wanted<'_>,
    written: Option<&Path>,
) -> String {
    let mut text = head(sheet, wanted);
    let grids = sheet.grids();
    for (good, grid) in sheet.goods.iter().zip(&grids) {
        let products: Vec<String> =
            good.products.iter().map(|(supplier, product)| format!("{product} of {supplier}")).collect();
        let name = format!("{} ({})", good.name, and(products));
        let _ = write!(text, "\n{}", paragraph(2, &clean(name)));
        text += &drawn(grid, &sheet.rows, terminal::width());
    }
    text.push('\n');
    text += &legend(sheet, &grids);
    text += &totals(sheet, variants);
    text += &settle(sheet);
    text += &changes(sheet);
    text += &match written {
        Some(out) => paragraph(0, &clean(format!("Written to {}, as a table of offers.", out.display()))),
        None => paragraph(0, "Nothing was changed. --out FILE writes it as a table of offers."),
    };
    text
}

fn head(sheet: &Sheet, wanted: &Wanted<'_>) -> String {
    let title = sheet.title.as_deref().unwrap_or("without a title");
    let mut text = paragraph(0, &clean(format!("{}  {title}", sheet.listing_id)));
    let margin = match wanted.margin {
        Some(_) => format!("{} is to be left", sheet.margin),
        None => "no loss is to be made".to_owned(),
    };
    text += &paragraph(2, &format!("Prices are in {}; {margin}; {}.", sheet.currency, wanted.rounding));
    let fees = wanted.fees;
    let mut sums = Vec::new();
    if !fees.percent_of_price.is_zero() {
        sums.push(format!("{} % of the price", fees.percent_of_price.normalize()));
    }
    let own = fees.per_unit.iter().filter(|fee| fee.currency() == sheet.currency);
    sums.extend(own.map(|fee| format!("{fee} for each unit")));
    text += &match sums.is_empty() {
        true => {
            paragraph(2, "No fees are known: what selling costs stands under [fees] in the configuration.")
        }
        false => paragraph(2, &format!("Selling costs {}.", sums.join(" and "))),
    };
    text
}

/// A grid as lines of text, no wider than there is room: where sizes do not fit side by side, the rest stands below.
fn drawn(grid: &Grid<usize>, rows: &[Row], width: usize) -> String {
    // A colour and one size fit side by side.
    let at_most = (width.saturating_sub(INDENT + GAP) / 2).clamp(NAME_AT_LEAST, NAME_AT_MOST);
    let name = |text: &str, otherwise: &str| {
        cut(if text.is_empty() { otherwise.to_owned() } else { text.to_owned() }, at_most).into_owned()
    };
    let cell = |row: &Row| match (&row.off, row.price) {
        (Some(off), _) => mark(off).to_owned(),
        (None, Some(price)) => amount(price),
        (None, None) => String::new(),
    };
    let sizes: Vec<String> = grid.sizes.iter().map(|size| name(size, "one size")).collect();
    let lines: Vec<(String, Vec<String>)> = grid
        .rows
        .iter()
        .map(|(colour, cells)| {
            let cells = cells.iter().map(|at| at.map_or_else(String::new, |at| cell(&rows[at]))).collect();
            (name(colour, "one colour"), cells)
        })
        .collect();
    let first = lines.iter().map(|(colour, _)| text_width(colour)).max().unwrap_or_default();
    let widths: Vec<usize> = sizes
        .iter()
        .enumerate()
        .map(|(at, size)| {
            let cells = lines.iter().map(|(_, cells)| text_width(&cells[at]));
            cells.chain([text_width(size)]).max().unwrap_or_default()
        })
        .collect();
    let mut text = String::new();
    let mut from = 0;
    while from < sizes.len() {
        let mut to = from + 1;
        let mut used = INDENT + first + GAP + widths[from];
        while to < sizes.len() && used + GAP + widths[to] <= width {
            used += GAP + widths[to];
            to += 1;
        }
        let mut line = |label: &str, cells: &[String]| {
            let mut line = format!(
                "{}{label}{}",
                " ".repeat(INDENT),
                " ".repeat(first.saturating_sub(text_width(label)))
            );
            for (cell, width) in cells.iter().zip(&widths[from..to]) {
                let pad = " ".repeat(GAP + width.saturating_sub(text_width(cell)));
                line += &format!("{pad}{cell}");
            }
            text.push_str(line.trim_end());
            text.push('\n');
        };
        line("", &sizes[from..to]);
        for (colour, cells) in &lines {
            line(colour, &cells[from..to]);
        }
        from = to;
    }
    text
}

/// The rows of the table itself, without offers that are only there to be taken off.
fn own(sheet: &Sheet) -> impl Iterator<Item = &Row> {
    sheet.rows.iter().filter(|row| row.place.is_some())
}

/// The marks of all rows, with their meaning and how many rows have them, in the order of their first row.
fn off(sheet: &Sheet) -> Vec<(&'static str, &'static str, usize)> {
    let mut all: Vec<(&'static str, &'static str, usize)> = Vec::new();
    for off in own(sheet).filter_map(|row| row.off.as_ref()) {
        match all.iter_mut().find(|(word, ..)| *word == mark(off)) {
            Some((.., count)) => *count += 1,
            None => all.push((mark(off), meaning(off), 1)),
        }
    }
    all
}

/// The marks that stand in the grids, with their meaning.
fn legend(sheet: &Sheet, grids: &[Grid<usize>]) -> String {
    let cells = grids.iter().flat_map(|grid| &grid.rows).flat_map(|(_, cells)| cells.iter().flatten());
    let shown: BTreeSet<&str> = cells.filter_map(|at| sheet.rows[*at].off.as_ref()).map(mark).collect();
    let marks: Vec<_> = off(sheet).into_iter().filter(|(mark, ..)| shown.contains(mark)).collect();
    let widest = marks.iter().map(|(mark, ..)| mark.len()).max().unwrap_or_default();
    let line = |(mark, meaning, _): &(&str, &str, usize)| format!("  {mark:<widest$}  {meaning}\n");
    marks.iter().map(line).collect()
}

fn totals(sheet: &Sheet, variants: &[Variant]) -> String {
    let rows = own(sheet).count();
    let on = own(sheet).filter(|row| row.off.is_none()).count();
    let reasons: Vec<String> =
        off(sheet).into_iter().map(|(_, meaning, count)| format!("{count} {meaning}")).collect();
    let reasons = if reasons.is_empty() { String::new() } else { format!(": {}", reasons.join("; ")) };
    let rows_are = counted(rows, "row", "rows");
    let mut text = paragraph(0, &format!("{rows_are}: {on} on sale, {} off{reasons}.", rows - on));
    let sums = || own(sheet).filter(|row| row.off.is_none()).filter_map(|row| Some((row, row.sum?)));
    let least = sums().min_by_key(|(_, sum)| sum.margin.amount());
    let least_percent = sums().min_by_key(|(_, sum)| sum.margin_percent);
    let of_row = |row: &Row| {
        let sku = row.variant.map(|at| &variants[at]).map(|variant| match &variant.sku {
            Some(sku) => format!(", SKU {}", sku.as_str()),
            None => format!(", {}", variant.variant_id),
        });
        format!("{}{}", options_text(&row.options), sku.unwrap_or_default())
    };
    let share = |sum: &Sum| format!("{} % of the price", sum.margin_percent.normalize());
    if let (Some((row, sum)), Some((of_share, smallest))) = (least, least_percent) {
        let mut said = format!("Smallest margin: {}, {} ({})", sum.margin, share(&sum), of_row(row));
        if smallest.margin_percent < sum.margin_percent {
            let _ = write!(said, "; smallest share: {} ({})", share(&smallest), of_row(of_share));
        }
        text += &paragraph(0, &clean(said + "."));
    }
    text
}

/// Lines, the first of them, and how many more there are.
fn some(head: &str, lines: &[String]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let mut text = paragraph(0, head);
    for line in lines.iter().take(SHOWN_AT_MOST) {
        text += &paragraph(2, &clean(line.as_str()));
    }
    if let Some(more) = lines.len().checked_sub(SHOWN_AT_MOST).filter(|more| *more > 0) {
        let _ = writeln!(text, "  showing {SHOWN_AT_MOST} of {}: {more} more", lines.len());
    }
    text
}

/// What the owner has to settle before it can be sold.
fn settle(sheet: &Sheet) -> String {
    let open = sheet.rows.iter().filter_map(|row| Some((row, row.off.as_ref().filter(|off| off.is_open())?)));
    let lines: Vec<String> =
        open.map(|(row, off)| format!("{}: {off}", options_text(&row.options))).collect();
    some("For you to settle, before these can be sold:", &lines)
}

/// What is new beside the offers that the listing has.
fn changes(sheet: &Sheet) -> String {
    let is_there = sheet.rows.iter().any(|row| row.change != Change::NoOffers);
    if !is_there {
        return paragraph(0, "The storefront has no offers of this listing, as far as is known.");
    }
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for row in &sheet.rows {
        *counts.entry(row.change.word()).or_default() += 1;
    }
    let count = |word: &str| counts.get(word).copied().unwrap_or_default();
    let head = format!(
        "Beside the offers that there are: {} new, {} kept, {} that differ, {} to be taken off.",
        count("new"),
        count("kept"),
        count("differs"),
        count("take-off"),
    );
    let touched = sheet.rows.iter().filter(|row| matches!(row.change, Change::Differs(_) | Change::TakeOff));
    let lines: Vec<String> =
        touched.map(|row| format!("{}: {}", options_text(&row.options), row.change)).collect();
    if lines.is_empty() { paragraph(0, &head) } else { some(&head, &lines) }
}
