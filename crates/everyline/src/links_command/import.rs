//! `everyline links import`: a table of links, or of rules, becomes the owner's word, all of it or nothing.
//!
//! Owns what a row means that does not say whether it is in force. Must not know how a file is read. Start reading at
//! [`run`].

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use digest::clean;
use intake::{AtLine, BadRow, LinkTables, read_link_tables};
use ledger::{LinkPart, Product, Setting};
use model::book::LinkScope;
use model::{Good, SupplierId, VariantId};

use super::desk::{Desk, signed};
use super::said::{changes, counted, paragraph, steps};
use super::target::{self, Amiss};
use super::warned::{NOTHING_KEPT, refuse_contradiction, tell_raised};
use crate::arguments::ImportLinksArguments;
use crate::audit::BAD_ROWS_SHOWN;
use crate::exit::Exit;
use crate::opened;
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;

/// How many changes are shown.
const SHOWN_AT_MOST: usize = 50;

/// Runs the command.
///
/// # Errors
/// Where a row cannot be kept, an offer and a variant contradict each other, or a file, the configuration or the ledger
/// cannot be used.
pub fn run(asked: &ImportLinksArguments) -> Result<Exit, Trouble> {
    opened::run(async {
        let desk = Desk::open(&asked.of).await?;
        let done = import(&desk, asked).await;
        desk.ledger.close().await;
        write_data(&done?)?;
        Ok(Exit::Nothing)
    })
}

async fn import(desk: &Desk, asked: &ImportLinksArguments) -> Result<String, Trouble> {
    let read = read_link_tables(asked.file.as_deref(), asked.rules.as_deref(), desk.zone);
    let tables = read.map_err(|error| {
        Trouble::new(NOTHING_KEPT, error).help("`everyline links import --help` names the columns")
    })?;
    for notice in &tables.notices {
        tell(&notice.text);
    }
    refuse_bad_rows(desk, asked, &tables)?;
    if desk.variants().is_none() {
        tell(
            "warning: not all suppliers' variants have been read: whether those of the table are there was not looked at",
        );
    }
    let settings = settings(desk, asked, &tables);
    let effects = desk.effects(&settings);
    refuse_contradiction(&effects, asked.despite_contradiction)?;
    tell_raised(&effects, desk.zone);
    let changed = changes(&settings, &desk.links, &desk.rules);
    let rows = counted(tables.links.len() + tables.rules.len(), "row", "rows");
    if changed.is_empty() {
        return Ok(format!("All {rows} stand so already; nothing was changed.\n"));
    }
    let what = counted(changed.len(), "link or rule", "links and rules");
    let shown = steps(&changed, SHOWN_AT_MOST, &desk.skus());
    if !asked.yes {
        let mut text = paragraph(&format!("{rows} would change {what}:"));
        text += &shown;
        text += "Nothing was changed. --yes keeps it, as one change.\n";
        return Ok(text);
    }
    let by = signed(&asked.signed, desk.now, NOTHING_KEPT)?;
    let Some(number) = desk.keep(&settings, &by, NOTHING_KEPT).await? else {
        return Ok(format!("All {rows} stand so already; nothing was changed.\n"));
    };
    let mut text = paragraph(&format!(
        "Kept as change {number}, by {}: {what} changed. `everyline links set --undo {number}` takes it back.",
        clean(by.by.as_str())
    ));
    text += &shown;
    Ok(text)
}

/// Looks whether what every row names is there.
fn refuse_bad_rows(desk: &Desk, asked: &ImportLinksArguments, tables: &LinkTables) -> Result<(), Trouble> {
    let name = |path: &Option<std::path::PathBuf>| {
        let name = path.as_deref().and_then(Path::file_name).unwrap_or_default();
        name.to_string_lossy().into_owned()
    };
    let (of_links, of_rules) = (name(&asked.file), name(&asked.rules));
    let bad_row = |file: &str, line: u64, amiss: Amiss| BadRow {
        file: file.to_owned(),
        line,
        by_record: false,
        column: Some(amiss.column.to_owned()),
        found: amiss.found,
        expected: amiss.expected,
        hint: amiss.hint,
    };
    let mut count = tables.bad_row_count;
    let mut bad: Vec<BadRow> = tables.bad_rows.clone();
    // Many rows are for one thing: each is looked for once.
    let mut there: BTreeMap<&LinkScope, bool> = BTreeMap::new();
    for AtLine { line, row } in &tables.links {
        let scope = &row.link.scope;
        let is_there = *there.entry(scope).or_insert_with(|| target::check_scope(desk, scope).is_ok());
        let looked = if is_there { Ok(()) } else { target::check_scope(desk, scope) };
        let looked = looked.and_then(|()| target::check_part(desk, &part_of(row)));
        if let Err(amiss) = looked {
            count += 1;
            bad.push(bad_row(&of_links, *line, amiss));
        }
    }
    for AtLine { line, row } in &tables.rules {
        if let Err(amiss) = target::check_product(desk, &row.supplier, &row.product) {
            count += 1;
            bad.push(bad_row(&of_rules, *line, amiss));
        }
    }
    if count == 0 {
        return Ok(());
    }
    bad.sort_by_key(|row| (row.file != of_links, row.line));
    let mut cause = format!("{count} of {} cannot be kept", counted(rows_of(tables), "row", "rows"));
    let shown = bad.len().min(BAD_ROWS_SHOWN);
    if count > shown as u64 {
        cause += &format!("; the first {shown}");
    }
    cause.push(':');
    for row in bad.iter().take(shown) {
        cause += &format!("\n{row}");
    }
    Err(Trouble::new(NOTHING_KEPT, cause)
        .help("mend these rows and run it again: a table is kept as a whole"))
}

fn rows_of(tables: &LinkTables) -> usize {
    usize::try_from(tables.rows_read).unwrap_or(usize::MAX)
}

/// What the tables say, and what is to go that they do not say.
fn settings(desk: &Desk, asked: &ImportLinksArguments, tables: &LinkTables) -> Vec<Setting> {
    let mut links: BTreeMap<&LinkScope, BTreeMap<(SupplierId, Option<VariantId>), LinkPart>> =
        BTreeMap::new();
    for AtLine { row, .. } in &tables.links {
        let part = part_of(row);
        let parts = links.entry(&row.link.scope).or_default();
        parts.insert((part.supplier.clone(), part.variant_id.clone()), part);
    }
    let goods: BTreeSet<&Good> = tables.rules.iter().map(|at| &at.row.good).collect();
    let mut settings: Vec<Setting> = Vec::new();
    if asked.replace && asked.file.is_some() {
        let gone = desk.links.iter().filter(|link| !links.contains_key(&link.scope));
        settings.extend(gone.map(|link| Setting::Link { scope: link.scope.clone(), parts: Vec::new() }));
    }
    if asked.replace && asked.rules.is_some() {
        let gone = desk.rules.iter().filter(|rule| !goods.contains(&rule.rule.good));
        settings.extend(gone.map(|rule| Setting::Rule { good: rule.rule.good.clone(), product: None }));
    }
    settings.extend(
        links.into_iter().map(|(scope, parts)| Setting::Link {
            scope: scope.clone(),
            parts: parts.into_values().collect(),
        }),
    );
    settings.extend(tables.rules.iter().map(|AtLine { row, .. }| Setting::Rule {
        good: row.good.clone(),
        product: Some(Product { supplier: row.supplier.clone(), product: row.product.clone() }),
    }));
    settings
}

/// What a row says of a part. A link that somebody makes is intended where nothing else is said: a table that came without
/// the column must not pass for what is in force.
fn part_of(row: &intake::SaidLink) -> LinkPart {
    let link = &row.link;
    LinkPart {
        supplier: link.supplier.clone(),
        variant_id: link.variant_id.clone(),
        units: link.units,
        in_force: link.supplier.is_own() || row.says_in_force && link.in_force,
    }
}
