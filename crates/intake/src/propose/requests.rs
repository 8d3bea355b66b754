//! What stands around the tables of a proposal: its requests, how their files are read, and what the owner should know of it.
//!
//! Must not know how a field is made. Start reading at [`proposal`].

use std::collections::{BTreeMap, BTreeSet};

use super::fields::Maker;
use super::level::Level;
use super::plan::{INTO, Plan, Planned, Shaped};
use super::write::quoted;
use super::{Asked, Proposal, ProposedRequest, ProposedTable};
use crate::tables::{Need, Table};

/// The proposal for tables that were found.
pub(super) fn proposal(samples: &[Shaped], plan: &Plan<'_>, asked: &Asked) -> Proposal {
    let Plan { tables: planned, missing: not_found } = plan;
    let mut requests = Vec::new();
    let mut notes = Vec::new();
    let mut unused = Vec::new();
    let day_first = asked.day_first(planned);
    for (file, shaped) in samples.iter().enumerate() {
        let of_file: Vec<&Planned<'_>> = planned.iter().filter(|planned| planned.file == file).collect();
        if of_file.is_empty() {
            notes.push(format!("{} is not used: no table was found in it.", shaped.name));
            unused.push(shaped.name.clone());
            continue;
        }
        let mut tables: Vec<ProposedTable> = Vec::new();
        let mut used: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for planned_table in &of_file {
            let maker = Maker { planned: planned_table, all: planned, shaped, asked, day_first };
            let (table, columns) = maker.table();
            used.entry(planned_table.sheet.list.at.clone()).or_default().extend(columns);
            tables.extend(maker.parcels_of_records());
            if let Some(lacking) = lacking(&table, asked) {
                notes.push(lacking);
                continue;
            }
            tables.push(table);
        }
        if tables.is_empty() {
            unused.push(shaped.name.clone());
            continue;
        }
        tables.sort_by_key(|table| Table::ALL.iter().position(|known| known.name() == table.table));
        let name = request_name(&tables, &requests);
        requests.push(ProposedRequest {
            name,
            head: head(shaped),
            tables,
            ignored: ignored(&of_file, &used),
        });
    }
    if planned.is_empty() {
        notes
            .push("No table was found in the samples: they need an id and a time for each order.".to_owned());
    }
    for table in missing(planned) {
        notes.push(format!("Nothing was found for the table {table}."));
    }
    Proposal {
        name: asked.name.clone(),
        role: asked.role.clone(),
        zone: asked.zone,
        head: format!("folder = {}\n", quoted(&asked.folder)),
        requests,
        notes,
        missing: not_found.clone(),
        unused,
    }
}

/// Of a table that need not be there and lacks what it needs: why it is left out. What is open in orders, supplier orders
/// and their lines is asked instead.
fn lacking(table: &ProposedTable, asked: &Asked) -> Option<String> {
    let can_be_left_out = ["offers", "variants", "parcels", "parcel_lines", "links"].contains(&table.table);
    let known = Table::ALL.into_iter().find(|known| known.name() == table.table)?;
    let is_needed = |column: &str| {
        known.columns().iter().any(|(known, need)| known.name() == column && *need == Need::Required)
    };
    let open = table.fields.iter().find(|field| field.toml.is_none() && is_needed(field.column))?;
    // Of a table that the owner names, what it lacks is asked, until something is said of it.
    let is_named = matches!(asked.answers.lists.get(table.table), Some(Some(_)));
    let is_said = asked.answers.places.contains_key(&format!("{}.{}", table.table, open.column));
    (can_be_left_out && (!is_named || is_said)).then(|| {
        format!(
            "The table {} seems to stand at {} of {}; it is left out, for nothing was found for its {}.",
            table.table, table.at, open.file, open.column
        )
    })
}

fn missing(planned: &[Planned<'_>]) -> Vec<&'static str> {
    let has = |level: Level| planned.iter().any(|planned| planned.level == level);
    let mut missing = Vec::new();
    if has(Level::Orders) && !has(Level::OrderLines) {
        missing.push("order_lines");
    }
    if has(Level::Submissions) && !has(Level::SubmissionLines) {
        missing.push("submission_lines");
    }
    missing
}

fn request_name(tables: &[ProposedTable], others: &[ProposedRequest]) -> String {
    let first = tables.first().map_or("records", |table| table.table);
    let mut name = first.to_owned();
    let mut number = 2;
    while others.iter().any(|other| other.name == name) {
        name = format!("{first}_{number}");
        number += 1;
    }
    name
}

fn head(shaped: &Shaped) -> String {
    let mut head = format!("file = {}\n", quoted(&file_form(&shaped.name)));
    head += &stated(&shaped.form, shaped.is_table);
    if let Some(grouping) = &shaped.grouping {
        head += "# Rows that say the same there are one record; its rows are its list of lines.\n";
        let at = grouping.at.as_ref().map(|at| format!(", at = {}", quoted(at))).unwrap_or_default();
        head += &format!("group = {{ by = {}, into = {}{at} }}\n", quoted(&grouping.by), quoted(INTO));
    }
    if let Some(columns) = &shaped.numbered {
        let columns: Vec<String> = columns.iter().map(|column| quoted(column)).collect();
        head += "# Columns with a number in their names are the lines of a record.\n";
        head += &format!("numbered = {{ columns = [{}], into = {} }}\n", columns.join(", "), quoted(INTO));
    }
    head
}

/// How the file was read, where another of its kind might be read in another way.
fn stated(form: &crate::export::Form, is_table: bool) -> String {
    let mut lines = String::new();
    if let Some(separator) = form.separator {
        let separator = if separator == '\t' { "tab".to_owned() } else { separator.to_string() };
        lines += &format!("separator = {}\n", quoted(&separator));
    }
    if let Some(encoding) = form.encoding.as_ref().filter(|encoding| *encoding != "UTF-8") {
        lines += &format!("encoding = {}\n", quoted(encoding));
    }
    if let Some(sheet) = &form.sheet {
        lines += &format!("sheet = {}\n", quoted(sheet));
    }
    if let Some(row) = form.header_row.filter(|row| is_table && *row > 1) {
        lines += &format!("header_row = {row}\n");
    }
    lines
}

/// The name of a file, with a star for what may be another the next time: dates and numbers.
fn file_form(name: &str) -> String {
    let Some((stem, ending)) = name.rsplit_once('.') else { return name.to_owned() };
    let mut form = String::new();
    let mut digits = String::new();
    for letter in stem.chars().chain(['\0']) {
        let goes_on = letter.is_ascii_digit() || (!digits.is_empty() && matches!(letter, '-' | '_' | '.'));
        if goes_on {
            digits.push(letter);
            continue;
        }
        if digits.bytes().filter(u8::is_ascii_digit).count() >= 4 {
            form.push('*');
            let behind = &digits[digits.trim_end_matches(['-', '_', '.']).len()..];
            form.push_str(behind);
        } else {
            form.push_str(&digits);
        }
        digits.clear();
        if letter != '\0' {
            form.push(letter);
        }
    }
    format!("{form}.{ending}")
}

/// What stands in the lists and is not kept.
fn ignored(planned: &[&Planned<'_>], used: &BTreeMap<String, BTreeSet<String>>) -> Vec<String> {
    let mut names = Vec::new();
    for planned in planned {
        let taken = &used[&planned.sheet.list.at];
        for column in &planned.sheet.list.columns {
            let at = column.at.clone().unwrap_or_default();
            let name = column.path.join(".");
            let is_elsewhere =
                used.values().any(|taken| taken.contains(&at)) && !planned.sheet.repeated.is_empty();
            if !taken.iter().any(|place| *place == at || at.starts_with(place.as_str()) && place.len() > 1)
                && !names.contains(&name)
                && !is_elsewhere
            {
                names.push(name);
            }
        }
    }
    names
}

impl Asked {
    /// Whether the day comes first, as the owner says, or as any column of the samples tells.
    fn day_first(&self, planned: &[Planned<'_>]) -> Option<bool> {
        if self.answers.day_first.is_some() {
            return self.answers.day_first;
        }
        let times: Vec<_> = planned
            .iter()
            .flat_map(|planned| &planned.sheet.profiles)
            .filter_map(|profile| profile.times.as_ref())
            .collect();
        let told =
            times.iter().filter(|times| times.other.is_none()).filter_map(|times| times.form.as_deref());
        for form in told {
            let (day, month) = (form.find("%d"), form.find("%m"));
            if let (Some(day), Some(month)) = (day, month)
                && !form.starts_with("%Y")
            {
                return Some(day < month);
            }
        }
        // Dates with points have the day first wherever they are written so. Common practice, no published source.
        let all_points = times
            .iter()
            .filter(|times| times.other.is_some())
            .all(|times| times.form.as_deref().is_some_and(|form| form.contains("%d.%m")));
        (all_points && times.iter().any(|times| times.other.is_some())).then_some(true)
    }
}
