//! Books that ask much of an audit: orders of many lines, orders that hang together, links and references that
//! lead nowhere.
//!
//! Must not know how an audit is done. Start reading at [`ALL`].

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::Context;
use simshop::{Form, Tables, catalogue_book, random_orders};

use crate::tell;

/// What is hard about a book.
#[derive(Clone, Copy, Debug)]
pub enum Hostile {
    /// One order, of which the suppliers have all but the first line. They say the variant and not the line.
    OneOrder { lines: usize, quantity: usize, variants: usize },
    /// Orders of one line, all of the same variant, each merged with the next in a submission line.
    Merged { orders: usize },
    /// Everything was sent, and no line leads to a variant: what was done by hand shows in the options alone.
    Unlinked { orders: usize },
    /// Everything was sent, for orders that nobody knows.
    UnknownReferences { orders: usize },
}

use Hostile::{Merged, OneOrder, UnknownReferences, Unlinked};

/// All of them, the smaller ones of a kind first.
pub const ALL: [Hostile; 14] = [
    OneOrder { lines: 10, quantity: 1, variants: 1 },
    OneOrder { lines: 50, quantity: 1, variants: 1 },
    OneOrder { lines: 200, quantity: 1, variants: 1 },
    OneOrder { lines: 1_000, quantity: 1, variants: 1 },
    OneOrder { lines: 10, quantity: 1, variants: 40 },
    OneOrder { lines: 50, quantity: 1, variants: 40 },
    OneOrder { lines: 200, quantity: 1, variants: 40 },
    OneOrder { lines: 1_000, quantity: 1, variants: 40 },
    OneOrder { lines: 1_000, quantity: 100, variants: 2 },
    Merged { orders: 2_000 },
    Merged { orders: 20_000 },
    Merged { orders: 200_000 },
    Unlinked { orders: 100_000 },
    UnknownReferences { orders: 100_000 },
];

/// Which of the simulated shop's books is made hostile.
const SEED: u64 = 1;

const PLACED_AT: &str = "2026-11-26T10:00:00Z";
const RECEIVED_AT: &str = "2026-11-26T10:05:00Z";

impl fmt::Display for Hostile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            OneOrder { lines, quantity, variants: 1 } => {
                write!(f, "one order of {lines} lines, {quantity} each, all of one variant")
            }
            OneOrder { lines, quantity, variants } => {
                write!(f, "one order of {lines} lines, {quantity} each, of {variants} variants in turn")
            }
            Merged { orders } => write!(f, "{orders} orders, each merged with the next"),
            Unlinked { orders } => write!(f, "{orders} orders, no line linked"),
            UnknownReferences { orders } => write!(f, "{orders} orders, every reference unknown"),
        }
    }
}

impl Hostile {
    /// Where the book stands, below a folder.
    pub fn folder(&self, below: &Path) -> PathBuf {
        let name = self.to_string().replace(", ", "-").replace(' ', "-");
        below.join(name)
    }

    fn write(&self, folder: &Path) -> anyhow::Result<()> {
        match *self {
            OneOrder { lines, quantity, variants } => one_order(folder, lines, quantity, variants),
            Merged { orders } => merged(folder, orders),
            Unlinked { orders } => unlinked(folder, orders),
            UnknownReferences { orders } => unknown_references(folder, orders),
        }
    }
}

/// Writes all of them below a folder.
///
/// # Errors
/// Where one cannot be written.
pub fn write_all(below: &Path) -> anyhow::Result<()> {
    tell(&format!("writing the hostile books into {}", below.display()));
    ALL.iter().try_for_each(|hostile| {
        let folder = hostile.folder(below);
        let trouble = || format!("the book could not be written into {}", folder.display());
        fs::create_dir_all(&folder).with_context(trouble)?;
        hostile.write(&folder).with_context(trouble)
    })
}

/// A small table from its rows as text, cells separated by commas.
fn table(
    folder: &Path,
    name: &str,
    columns: &[&str],
    rows: impl IntoIterator<Item = Vec<String>>,
) -> anyhow::Result<()> {
    let mut writer = csv::Writer::from_path(folder.join(format!("{name}.csv")))?;
    writer.write_record(columns)?;
    rows.into_iter().try_for_each(|row| writer.write_record(row))?;
    Ok(writer.flush()?)
}

fn cells<const N: usize>(cells: [&str; N]) -> Vec<String> {
    cells.map(str::to_owned).to_vec()
}

const ORDERS: [&str; 4] = ["order_id", "placed_at", "paid_at", "status"];
const ORDER_LINES: [&str; 4] = ["order_id", "line_id", "sku", "quantity"];
const VARIANTS: [&str; 3] = ["supplier", "variant_id", "sku"];
const SUBMISSIONS: [&str; 5] = ["supplier", "submission_id", "order_ref", "status", "received_at"];
const SUBMISSION_LINES: [&str; 6] =
    ["supplier", "submission_id", "line_id", "order_ref", "variant_id", "quantity"];

/// The variants are at two suppliers in turn.
fn supplier_of(variant: usize) -> &'static str {
    if variant.is_multiple_of(2) { "alder-print" } else { "brook-print" }
}

fn one_order(folder: &Path, lines: usize, quantity: usize, variants: usize) -> anyhow::Result<()> {
    table(folder, "orders", &ORDERS, [cells(["1", PLACED_AT, PLACED_AT, "open"])])?;
    let quantity = quantity.to_string();
    let of_line = |line: usize| line % variants;
    table(
        folder,
        "order_lines",
        &ORDER_LINES,
        (0..lines).map(|line| cells(["1", &line.to_string(), &format!("sku-{}", of_line(line)), &quantity])),
    )?;
    table(
        folder,
        "variants",
        &VARIANTS,
        (0..variants)
            .map(|variant| cells([supplier_of(variant), &format!("v{variant}"), &format!("sku-{variant}")])),
    )?;
    table(
        folder,
        "submissions",
        &SUBMISSIONS,
        (0..variants.min(2)).map(|variant| cells([supplier_of(variant), "S", "1", "making", RECEIVED_AT])),
    )?;
    table(
        folder,
        "submission_lines",
        &SUBMISSION_LINES,
        (1..lines).map(|line| {
            let variant = of_line(line);
            cells([supplier_of(variant), "S", &line.to_string(), "", &format!("v{variant}"), &quantity])
        }),
    )
}

fn merged(folder: &Path, orders: usize) -> anyhow::Result<()> {
    let each = || (1..=orders).map(|order| order.to_string());
    table(folder, "orders", &ORDERS, each().map(|order| cells([&order, PLACED_AT, PLACED_AT, "open"])))?;
    table(folder, "order_lines", &ORDER_LINES, each().map(|order| cells([&order, "1", "sku-0", "1"])))?;
    table(folder, "variants", &VARIANTS, [cells([supplier_of(0), "v0", "sku-0"])])?;
    table(folder, "submissions", &SUBMISSIONS, [cells([supplier_of(0), "S", "", "making", RECEIVED_AT])])?;
    table(
        folder,
        "submission_lines",
        &SUBMISSION_LINES,
        (1..orders).map(|order| {
            let reference = format!("{order};{}", order + 1);
            cells([supplier_of(0), "S", &order.to_string(), &reference, "v0", "1"])
        }),
    )
}

fn unlinked(folder: &Path, orders: usize) -> anyhow::Result<()> {
    let mut tables = Tables::create(folder, Form::Csv)?;
    let mut catalogue = catalogue_book();
    catalogue.links = None;
    tables.append(&catalogue)?;
    for (mut order, _) in random_orders(SEED, orders) {
        order.order_lines.iter_mut().for_each(|line| line.sku = None);
        tables.append(&order)?;
    }
    Ok(tables.finish()?)
}

fn unknown_references(folder: &Path, orders: usize) -> anyhow::Result<()> {
    let mut tables = Tables::create(folder, Form::Csv)?;
    tables.append(&catalogue_book())?;
    for (number, (mut order, _)) in random_orders(SEED, orders).enumerate() {
        let unknown = Some(format!("unknown-{number}"));
        for submission in order.submissions.iter_mut().flatten() {
            submission.order_ref.clone_from(&unknown);
        }
        for line in order.submission_lines.iter_mut().flatten() {
            line.order_ref = None;
        }
        tables.append(&order)?;
    }
    Ok(tables.finish()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(folder: &Path, table: &str) -> Vec<csv::StringRecord> {
        let mut reader = csv::Reader::from_path(folder.join(format!("{table}.csv"))).unwrap();
        reader.records().map(Result::unwrap).collect()
    }

    #[test]
    fn the_suppliers_have_all_of_a_large_order_but_one_line() {
        let folder = tempfile::tempdir().unwrap();
        one_order(folder.path(), 50, 3, 4).unwrap();
        let (lines, sent) = (rows(folder.path(), "order_lines"), rows(folder.path(), "submission_lines"));
        assert_eq!((lines.len(), sent.len()), (50, 49));
        assert!(lines.iter().all(|line| &line[3] == "3") && sent.iter().all(|line| &line[5] == "3"));
        assert_eq!(rows(folder.path(), "submissions").len(), 2);
        assert_eq!(rows(folder.path(), "variants").len(), 4);
    }

    #[test]
    fn every_order_is_merged_with_the_next() {
        let folder = tempfile::tempdir().unwrap();
        merged(folder.path(), 4).unwrap();
        let references: Vec<String> =
            rows(folder.path(), "submission_lines").iter().map(|line| line[3].to_owned()).collect();
        assert_eq!(references, ["1;2", "2;3", "3;4"]);
    }

    #[test]
    fn no_line_leads_to_a_variant_and_no_reference_to_an_order() {
        let folder = tempfile::tempdir().unwrap();
        unlinked(folder.path(), 100).unwrap();
        assert!(!folder.path().join("links.csv").exists());
        assert!(rows(folder.path(), "order_lines").iter().all(|line| line[3].is_empty()));
        unknown_references(folder.path(), 100).unwrap();
        assert!(rows(folder.path(), "submissions").iter().all(|row| row[2].starts_with("unknown-")));
        assert!(rows(folder.path(), "submission_lines").iter().all(|row| row[3].is_empty()));
    }
}
