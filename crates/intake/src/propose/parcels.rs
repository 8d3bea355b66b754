//! Where a supplier's parcels stand: in a list by itself, within its orders, within their lines or deeper, or beside the
//! lines in rows that say in which parcel each went; and what says how much of a line is in each.
//!
//! Must not know how a field is written. Start reading at [`find`].

use std::collections::{BTreeMap, BTreeSet};

use super::level::Level;
use super::lexicon::Meaning;
use super::plan::{All, Planned, SAYS, Tried, retain};
use super::score::{Chosen, Evidence, Known};
use super::sheet::{OUTER, Sheet};

/// The orders to which parcels belong.
pub(super) struct Of<'a> {
    /// Their list, and that of their lines where it is another.
    pub(super) submissions: usize,
    pub(super) lines: Option<usize>,
    /// The ids of the orders and of the lines.
    pub(super) ids: &'a BTreeSet<&'a str>,
    pub(super) line_ids: &'a BTreeSet<String>,
}

/// A list that may be of parcels.
struct Found<'v> {
    index: usize,
    sheet: Sheet<'v>,
    /// The lists between it and the orders, the nearest first; `None`: it stands by itself.
    between: Option<Vec<usize>>,
    tried: Tried,
}

/// Columns of lines that name a parcel and say when it went, and the rows of parcels that they make.
struct Beside<'v> {
    name: usize,
    when: usize,
    sheet: Sheet<'v>,
    tried: Tried,
}

/// Adds the tables of parcels and of what is in them, where they are found.
pub(super) fn find<'v>(
    all: &All<'v, '_>,
    of: &Of<'_>,
    used: &mut BTreeSet<usize>,
    planned: &mut Vec<Planned<'v>>,
) {
    let Some(found) = list(all, of) else {
        let lines = planned.iter().find(|planned| planned.level == Level::SubmissionLines);
        let rows = lines.zip(of.lines).map(|(lines, index)| beside_lines(all, of, index, lines));
        planned.extend(rows.unwrap_or_default());
        return;
    };
    used.insert(found.index);
    let packed = all.ids(found.index, &found.tried.chosen, "parcel_id");
    let own = &all.sheets[found.index].1.list;
    let at = match &found.between {
        None => own.at.clone(),
        Some(between) => all.at_within(found.index, between),
    };
    let within = found.between.as_ref().map(|_| Level::Submissions);
    let mut parcels = all.planned(found.index, Level::Parcels, within, found.tried.chosen.clone());
    (parcels.at, parcels.sheet) = (at, found.sheet.clone());
    planned.push(parcels);
    if let Some(contents) = contents(all, of, &found, &packed) {
        used.insert(contents.0);
        planned.push(contents.1);
        return;
    }
    let lines = planned.iter().find(|planned| planned.level == Level::SubmissionLines);
    if let Some(part) = lines.and_then(|lines| part_of_line(all, of, &found, lines)) {
        planned.push(part);
    }
}

/// The best list of parcels.
fn list<'v>(all: &All<'v, '_>, of: &Of<'_>) -> Option<Found<'v>> {
    let mut best: Option<Found<'v>> = None;
    let mut fitting: BTreeSet<usize> = BTreeSet::new();
    let needed: &[&[Meaning]] = &[&["dispatched_at"], &["parcel_id", "tracking_number"]];
    for index in (0..all.sheets.len()).filter(|at| *at != of.submissions && Some(*at) != of.lines) {
        let between = all.between(index, of.submissions);
        let near = between.clone().unwrap_or_default();
        // What stands within parcels is what is in them.
        if near.iter().any(|at| fitting.contains(at)) {
            continue;
        }
        let sheet = match near.is_empty() {
            true => all.sheets[index].1.clone(),
            false => once_each(all.with_around(index, &near)),
        };
        let known = Known { parents: between.is_none().then(|| of.ids.clone()), ..Known::default() };
        let Some(tried) = all.try_sheet(index, &sheet, Level::Parcels, &known, needed) else { continue };
        let names = tried.chosen.get("submission_id");
        let belongs = match &between {
            None => names.is_some_and(|chosen| chosen.evidence.by_values >= 4.0),
            Some(near) => near.is_empty() || stands_for_itself(&sheet, &tried),
        };
        // What stands by itself has to name the orders to which it belongs.
        if !belongs && (between.is_none() || !all.is_told(Level::Parcels)) {
            continue;
        }
        fitting.insert(index);
        if best.as_ref().is_none_or(|known| tried.points > known.tried.points) {
            best = Some(Found { index, sheet, between, tried });
        }
    }
    best
}

/// A list deep within orders, of which several records may be one parcel, such as its part of each line: one record each.
fn once_each(sheet: Sheet<'_>) -> Sheet<'_> {
    let names = |column: &usize| {
        let is_own = sheet.list.columns[*column].at.as_ref().is_none_or(|at| !at.starts_with(OUTER));
        let profile = &sheet.profiles[*column];
        let says = |meaning: Meaning| sheet.is_called(meaning, *column, Level::Parcels);
        is_own && profile.is_full() && profile.may_be_id() && (says("parcel_id") || says("tracking_number"))
    };
    let found = (0..sheet.list.columns.len()).filter(names);
    let finest = found.max_by_key(|column| sheet.profiles[*column].distinct);
    finest.map(|column| rows(&sheet, column, true)).unwrap_or(sheet)
}

/// Whether a list deep within orders says itself what names its records, and it or what is around it when they went.
fn stands_for_itself(sheet: &Sheet<'_>, tried: &Tried) -> bool {
    let chosen = |meaning: Meaning| tried.chosen.get(meaning).filter(|chosen| chosen.evidence.score >= SAYS);
    let is_own = |chosen: &Chosen| {
        sheet.list.columns[chosen.column].at.as_ref().is_none_or(|at| !at.starts_with(OUTER))
    };
    let is_named = ["parcel_id", "tracking_number"].into_iter().filter_map(chosen).any(is_own);
    is_named && chosen("dispatched_at").is_some()
}

/// What is in a parcel: a list in it, or one by itself that names it.
fn contents<'v>(
    all: &All<'v, '_>,
    of: &Of<'_>,
    parcels: &Found<'v>,
    packed: &BTreeSet<&str>,
) -> Option<(usize, Planned<'v>)> {
    let mut best: Option<(usize, bool, Tried)> = None;
    let is_other = |at: &usize| *at != of.submissions && Some(*at) != of.lines && *at != parcels.index;
    for index in (0..all.sheets.len()).filter(is_other) {
        let is_child = all.sheets[index].1.list.parent == Some(parcels.index);
        let known = Known {
            parents: (!is_child).then(|| packed.clone()),
            line_ids: of.line_ids.clone(),
            ..Known::default()
        };
        let needed: &[&[Meaning]] =
            if is_child { &[&["quantity"]] } else { &[&["quantity"], &["parcel_id"]] };
        let Some(tried) = all.try_as(index, Level::ParcelLines, &known, needed) else { continue };
        let names = tried.chosen.get("parcel_id");
        let belongs = is_child
            || names.is_some_and(|names| names.evidence.by_values >= 4.0)
            || all.is_told(Level::ParcelLines);
        if belongs && best.as_ref().is_none_or(|(.., known)| tried.points > known.points) {
            best = Some((index, is_child, tried));
        }
    }
    let (index, is_child, tried) = best?;
    let within = is_child.then_some(Level::Parcels);
    Some((index, all.planned(index, Level::ParcelLines, within, tried.chosen)))
}

/// Of parcels that stand within a line: how much of that line is in each.
fn part_of_line<'v>(
    all: &All<'v, '_>,
    of: &Of<'_>,
    parcels: &Found<'v>,
    lines: &Planned<'v>,
) -> Option<Planned<'v>> {
    let between = parcels.between.as_ref()?;
    let out = between.iter().position(|at| Some(*at) == of.lines)? + 1;
    let known = Known::default();
    let mut tried = all.try_as(parcels.index, Level::ParcelLines, &known, &[&["quantity"]])?;
    tried.chosen.retain(|meaning, _| *meaning == "quantity");
    let named = lines.chosen.get("line_id")?;
    let line_id = lines.sheet.list.columns[named.column].at.as_ref()?;
    let around = |out: usize| format!("{}{line_id}", String::from(OUTER).repeat(out));
    let mut sheet = all.with_around(parcels.index, &between[..out]);
    let column = sheet.list.columns.iter().position(|column| column.at.as_ref() == Some(&around(out)))?;
    // Its record is the parcel's own, which counts as the first around it.
    sheet.list.columns[column].at = Some(around(out + 1));
    tried.chosen.insert("line_id", shown(column, "the line around it"));
    let mut planned = all.planned(parcels.index, Level::ParcelLines, Some(Level::Parcels), tried.chosen);
    (planned.at, planned.sheet) = ("$".to_owned(), sheet);
    Some(planned)
}

/// A column that is beyond doubt.
pub(super) fn shown(column: usize, why: &str) -> Chosen {
    let evidence = Evidence { score: 7.0, is_exact: true, by_values: 4.0, why: vec![why.to_owned()] };
    Chosen { column, evidence, margin: 2.0, others: Vec::new() }
}

/// Parcels that the rows of lines name: what names one, and when it went, stand there together, and are the same wherever
/// one is named.
fn beside_lines<'v>(all: &All<'v, '_>, of: &Of<'_>, index: usize, lines: &Planned<'v>) -> Vec<Planned<'v>> {
    let sheet = &lines.sheet;
    if !all.is_allowed(index, Level::Parcels) {
        return Vec::new();
    }
    let mut best: Option<Beside<'v>> = None;
    for (name, profile) in sheet.profiles.iter().enumerate() {
        let is_name = profile.may_be_id()
            && profile.distinct > 2
            && profile.mean_length >= 3.0
            && profile.with_digit > 0.8
            && !sheet.repeated.contains(&name);
        let Some(when) = is_name.then(|| sent_with(sheet, name)).flatten() else { continue };
        // What is said of all of an order, or of the line, says nothing of a parcel.
        let is_taken = |column: usize| lines.chosen.values().any(|chosen| chosen.column == column);
        let keep = |column: usize| {
            let is_other = sheet.repeated.contains(&column) || is_taken(column);
            column == name || column == when || !is_other || stands_beside(sheet, column, name)
        };
        let keep: Vec<bool> = (0..sheet.list.columns.len())
            .map(|column| keep(column) || lines.within.is_none() && is_of_order(lines, column))
            .collect();
        let mut parcels = rows(sheet, name, true);
        // What the list is called says that its records are lines, and nothing of the parcels beside them.
        parcels.list.names.clear();
        retain(&mut parcels, &keep);
        let says = |column: usize, meanings: &[Meaning]| {
            let fits = sheet.name_fits(column, Level::Parcels);
            meanings.iter().filter_map(|meaning| fits.get(meaning)).any(|fit| fit.score >= 4.0)
        };
        let has_more = |column: usize| {
            column != name && column != when && !is_taken(column) && stands_beside(sheet, column, name)
        };
        let is_shown = is_last_step(sheet, when)
            && (says(name, &["parcel_id", "tracking_number"])
                || says(when, &["dispatched_at"])
                || (0..sheet.profiles.len()).any(has_more));
        let known = Known {
            parents: lines.within.is_none().then(|| of.ids.clone()),
            is_inside: lines.within.is_some(),
            sent: sheet.list.columns[when].at.clone().filter(|_| is_shown),
            ..Known::default()
        };
        let needed: &[&[Meaning]] = &[&["dispatched_at"], &["parcel_id", "tracking_number"]];
        let Some(tried) = all.try_sheet(index, &parcels, Level::Parcels, &known, needed) else { continue };
        let at = |column: usize| sheet.list.columns[column].at.as_ref();
        let is_chosen = |meaning: Meaning, column: usize| {
            tried.chosen.get(meaning).is_some_and(|chosen| {
                let is_named =
                    chosen.evidence.score >= SAYS && chosen.evidence.score - chosen.evidence.by_values >= 1.5;
                parcels.list.columns[chosen.column].at.as_ref() == at(column) && (is_named || is_shown)
            })
        };
        let is_named = is_chosen("parcel_id", name) || is_chosen("tracking_number", name);
        let belongs = lines.within.is_some() || tried.chosen.contains_key("submission_id");
        if is_named
            && belongs
            && is_chosen("dispatched_at", when)
            && best.as_ref().is_none_or(|known| tried.points > known.tried.points)
        {
            best = Some(Beside { name, when, sheet: parcels, tried });
        }
    }
    let Some(Beside { name, when, sheet: parcels, tried }) = best else { return Vec::new() };
    let there = |column: usize| says(sheet.list.columns[column].at.as_deref().unwrap_or("$"));
    let list = lines.at.strip_suffix("[*]").or(lines.at.strip_suffix(".*")).unwrap_or(&lines.at);
    let within = lines.within.map(|_| Level::Submissions);
    let mut planned = vec![Planned {
        level: Level::Parcels,
        file: lines.file,
        at: format!("{list}[?{} && {}]", there(name), there(when)),
        within,
        sheet: parcels,
        chosen: tried.chosen,
        inside: Vec::new(),
    }];
    planned.extend(packed_beside(lines, name));
    planned
}

/// A filter of those that say something at a place.
pub(super) fn says(at: &str) -> String {
    let at = at.trim_start_matches('$');
    // What is not there is not the same as null (RFC 9535, 2.3.5.2.2).
    format!("@{at} && @{at} != null && @{at} != ''")
}

/// Whether no other time that only some rows have follows a time, in the same rows or in fewer.
fn is_last_step(sheet: &Sheet<'_>, when: usize) -> bool {
    let moments = |column: usize| sheet.profiles[column].times.as_ref().map(|times| &times.moments);
    let Some(own) = moments(when).filter(|own| own.iter().any(Option::is_none)) else { return false };
    !(0..sheet.profiles.len()).filter(|column| *column != when).filter_map(moments).any(|other| {
        let mut pairs = own.iter().zip(other);
        other.iter().any(Option::is_none)
            && other != own
            && pairs.all(|(own, other)| other.is_none_or(|other| own.is_some_and(|own| own <= other)))
    })
}

/// Whether a column that some rows have is in the same rows as another.
fn stands_beside(sheet: &Sheet<'_>, column: usize, other: usize) -> bool {
    let (own, other) = (&sheet.list.columns[column].values, &sheet.list.columns[other].values);
    own.iter().any(Option::is_none) && own.iter().zip(other).all(|(a, b)| a.is_some() == b.is_some())
}

fn is_of_order(lines: &Planned<'_>, column: usize) -> bool {
    lines.chosen.get("submission_id").is_some_and(|chosen| chosen.column == column)
}

/// The time that stands wherever a column does and nowhere else, and is one for each of its values.
fn sent_with(sheet: &Sheet<'_>, name: usize) -> Option<usize> {
    let names = &sheet.list.columns[name].values;
    let is_one_for_each = |when: &usize| {
        let mut of: BTreeMap<&str, (&str, usize)> = BTreeMap::new();
        let times = &sheet.list.columns[*when].values;
        let mut rows = names.iter().zip(times).zip(&sheet.list.parent_of);
        rows.all(|((name, time), parent)| match (name, time) {
            (Some(name), Some(time)) => {
                *of.entry(name).or_insert((time, *parent)) == (time.as_str(), *parent)
            }
            (name, time) => name.is_none() && time.is_none(),
        })
    };
    let is_named = |when: &usize| {
        let fits = sheet.name_fits(*when, Level::Parcels);
        fits.get("dispatched_at").map_or(0.0, |fit| fit.score)
    };
    (0..sheet.profiles.len())
        .filter(|when| sheet.profiles[*when].times.is_some())
        .filter(|when| !sheet.repeated.contains(when) || stands_beside(sheet, *when, name))
        .filter(is_one_for_each)
        .max_by(|a, b| is_named(a).total_cmp(&is_named(b)))
}

/// The rows in which a column stands; of those in which it says the same, the first alone where that is asked.
pub(super) fn rows<'v>(sheet: &Sheet<'v>, name: usize, first: bool) -> Sheet<'v> {
    let mut list = sheet.list.clone();
    let mut seen = BTreeSet::new();
    let keep: Vec<bool> = (sheet.list.columns[name].values.iter())
        .map(|value| value.as_ref().is_some_and(|value| seen.insert(value) || !first))
        .collect();
    let mut at = keep.iter();
    list.records.retain(|_| at.next().copied().unwrap_or(false));
    let mut at = keep.iter();
    list.parent_of.retain(|_| at.next().copied().unwrap_or(false));
    for column in &mut list.columns {
        let mut at = keep.iter();
        column.values.retain(|_| at.next().copied().unwrap_or(false));
    }
    list.keys.clear();
    Sheet::new(list, sheet.title.clone())
}

/// How much of a line is in the parcel beside it: small numbers that stand wherever a parcel does and nowhere else.
fn packed_beside<'v>(lines: &Planned<'v>, name: usize) -> Option<Planned<'v>> {
    let sheet = &lines.sheet;
    let line_id = lines.chosen.get("line_id")?;
    let names = &sheet.list.columns[name].values;
    let is_amount = |column: &usize| {
        let values = &sheet.list.columns[*column].values;
        let few = sheet.profiles[*column].range().is_some_and(|(least, most)| least >= 1 && most <= 5_000);
        let is_beside = values.iter().zip(names).all(|(a, b)| a.is_some() == b.is_some());
        let fits = sheet.name_fits(*column, Level::ParcelLines);
        few && is_beside
            && sheet.profiles[*column].fill() < 1.0
            && fits.get("quantity").is_some_and(|fit| fit.score >= 1.0)
    };
    let mut amounts = (0..sheet.profiles.len()).filter(is_amount);
    let (Some(amount), None) = (amounts.next(), amounts.next()) else { return None };
    let mut of_parcel = shown(amount, "it stands where parcels do, and nowhere else");
    of_parcel.margin = 0.5;
    let chosen =
        BTreeMap::from([("quantity", of_parcel), ("line_id", shown(line_id.column, "the line beside it"))]);
    Some(Planned {
        level: Level::ParcelLines,
        file: lines.file,
        sheet: rows(sheet, name, false),
        within: Some(Level::Parcels),
        at: "$".to_owned(),
        chosen,
        inside: Vec::new(),
    })
}
