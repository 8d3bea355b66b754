//! The owner's links and rules as files: what `everyline links import` takes.
//!
//! Rows keep their lines, for whoever looks at them further has to say where they stand. Must not know: what is there that a
//! link could lead from or to. Start reading at [`read_link_tables`].

use std::path::Path;

use chrono_tz::Tz;
use model::book::LinkRow;
use model::outcome::Notice;
use model::{Good, GoodRule, SupplierId, text};

use crate::bad_row::{BadRow, Fault, shown};
use crate::build::{KeyedLink, TableRow};
use crate::cells::Cells;
use crate::error::FolderError;
use crate::files::Files;
use crate::folder::{Desk, FileSource, check_starts};
use crate::keys::Placed;
use crate::lines::Meter;
use crate::tables::{Column, Table};

/// A row with the line on which it begins, from 1.
#[derive(Clone, PartialEq, Debug)]
pub struct AtLine<T> {
    /// The line.
    pub line: u64,
    /// The row.
    pub row: T,
}

/// A row of links as somebody wrote it.
#[derive(Clone, PartialEq, Debug)]
pub struct SaidLink {
    /// The row.
    pub link: LinkRow,
    /// Whether it says itself whether it is in force.
    pub says_in_force: bool,
}

/// What was read.
#[derive(Clone, PartialEq, Debug)]
pub struct LinkTables {
    /// The links that could be read, by key.
    pub links: Vec<AtLine<SaidLink>>,
    /// The rules that could be read, by key.
    pub rules: Vec<AtLine<GoodRule>>,
    /// The rows that could not, by table and line; at most [`crate::KEPT_BAD_ROWS`].
    pub bad_rows: Vec<BadRow>,
    /// How many rows could not be read.
    pub bad_row_count: u64,
    /// How many rows there were, headers and blank lines apart.
    pub rows_read: u64,
    /// What the owner should know of the files.
    pub notices: Vec<Notice>,
}

/// Reads a file of links, one of rules, or both: CSV or JSON Lines, by the ending of their names.
///
/// Always reads to the end; the order of rows does not matter.
///
/// # Errors
/// [`FolderError`] where leaving out rows cannot help.
pub fn read_link_tables(
    links: Option<&Path>,
    rules: Option<&Path>,
    zone: Tz,
) -> Result<LinkTables, FolderError> {
    let given = [(Table::Links, links), (Table::GoodRules, rules)];
    let given: Vec<(Table, &Path)> =
        given.into_iter().filter_map(|(table, path)| Some((table, path?))).collect();
    let files = Files::single(&given)?;
    check_starts(&files)?;
    let mut nobody = |_| {};
    let mut meter = Meter::new(files.bytes(), &mut nobody);
    let source = FileSource { zone, meter: &mut meter, rows_read: 0, notices: Vec::new() };
    let mut desk = Desk::new(&files, source);
    let links = desk.table::<OwnerLinkRow>()?.unwrap_or_default();
    let rules = desk.table::<GoodRule>()?.unwrap_or_default();
    files.check_unchanged()?;
    let (bad_rows, bad_row_count) = std::mem::take(&mut desk.left_out).bad_rows.finish();
    let link = |Placed { line, row }: Placed<OwnerLinkRow>| AtLine {
        line,
        row: SaidLink { link: row.keyed.link, says_in_force: row.says_in_force },
    };
    Ok(LinkTables {
        links: links.into_iter().map(link).collect(),
        rules: rules.into_iter().map(|Placed { line, row }| AtLine { line, row }).collect(),
        bad_rows,
        bad_row_count,
        rows_read: desk.source.rows_read,
        notices: desk.source.notices,
    })
}

/// A links row, with whether it says that it is in force, or not.
#[derive(PartialEq, Debug)]
struct OwnerLinkRow {
    keyed: KeyedLink,
    says_in_force: bool,
}

impl TableRow for OwnerLinkRow {
    const TABLE: Table = Table::Links;
    type Key<'a> = <KeyedLink as TableRow>::Key<'a>;

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        let says_in_force = cells.text(Column::InForce)?.is_some();
        Ok(Self { keyed: KeyedLink::read(cells)?, says_in_force })
    }

    fn key(&self) -> Self::Key<'_> {
        self.keyed.key()
    }

    fn key_text(&self) -> String {
        self.keyed.key_text()
    }
}

impl TableRow for GoodRule {
    const TABLE: Table = Table::GoodRules;
    type Key<'a> = &'a Good;

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        let folded = |column| -> Result<Option<String>, Fault> {
            Ok(cells.text(column)?.map(text::fold).filter(|text| !text.is_empty()))
        };
        let good = Good {
            product_type: folded(Column::ProductType)?,
            age_group: folded(Column::AgeGroup)?,
            words: cells.text(Column::Words)?.map(words).transpose()?.unwrap_or_default(),
        };
        if good == Good::default() {
            return Err(Fault::of_row(
                "neither product_type nor words are given",
                "the good that the rule is for, such as mug in product_type and low in words",
                "Fill in one of them.",
            ));
        }
        let supplier = cells.id(Column::Supplier).map(SupplierId::new)?;
        if supplier.is_own() {
            return Err(Fault::of(
                Column::Supplier.name(),
                "own stock has no products",
                "the supplier of a product",
                "Link the offers that you pack yourself to own, in the table of links.",
            ));
        }
        let product = cells.required_text(Column::Product, "the name of a product")?.to_owned();
        Ok(Self { good, supplier, product })
    }

    fn key(&self) -> &Good {
        &self.good
    }

    fn key_text(&self) -> String {
        format!("the good {}", shown(&self.good.to_string()))
    }
}

/// The words of a good: a JSON list of texts, or texts with blanks between them.
fn words(text: &str) -> Result<Vec<String>, Fault> {
    let words: Vec<String> = if text.trim_start().starts_with('[') {
        serde_json::from_str(text).map_err(|_| {
            Fault::of(
                Column::Words.name(),
                format!("{} is no list of words", shown(text)),
                r#"words with blanks between them, or a JSON list of texts such as ["low"]"#,
                "Correct the cell.",
            )
        })?
    } else {
        text.split_whitespace().map(str::to_owned).collect()
    };
    let mut words: Vec<String> = words.iter().map(|word| text::fold(word)).collect();
    words.retain(|word| !word.is_empty());
    words.sort_unstable();
    words.dedup();
    Ok(words)
}
