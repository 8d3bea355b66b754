//! Which list of the samples is which table, and how they belong together.
//!
//! Must not know how a field is written. Start reading at [`plan`].

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::level::Level;
use super::lexicon::{LEXICON, Meaning};
use super::missing::missing;
use super::parcels;
use super::pieces;
use super::reports::{self, Reports};
use super::rows::{self, Grouping};
use super::score::{Chosen, Known, SHARED, choose};
use super::sheet::{OUTER, Sheet};
use super::tree::{Column, tree};
use super::{Asked, MissingTable, ProposedRole, Sample};
use crate::mapped::{Group, Numbered, reshape};
use crate::source::declare::At;

/// The name under which a record has the rows or columns that are its lines.
pub(super) const INTO: &str = "lines";

/// A sample, its rows made into records where several are one, or one is several.
pub(super) struct Shaped {
    pub(super) name: String,
    pub(super) is_table: bool,
    pub(super) value: Value,
    pub(super) form: crate::export::Form,
    pub(super) grouping: Option<Grouping>,
    pub(super) numbered: Option<Vec<String>>,
    /// The reports that tell its records again each time they changed: of each the last is left here.
    pub(super) reports: Option<Reports>,
}

impl Shaped {
    /// `may_group`: whether rows that say the same may be one record.
    pub(super) fn of(sample: &Sample, asked: &Asked, may_group: bool) -> Self {
        let mut shaped = Self {
            name: sample.name.clone(),
            is_table: sample.export.header.is_some(),
            value: sample.export.value.clone(),
            form: sample.export.form.clone(),
            grouping: None,
            numbered: None,
            reports: None,
        };
        let header = sample.export.header.clone().or_else(|| rows::header(&sample.export.value));
        if let Some(header) = &header
            && let Some(columns) = rows::numbered(header)
        {
            let numbered = Numbered { columns: columns.clone(), into: INTO.to_owned() };
            if reshape(&mut shaped.value, None, Some(&numbered)).is_ok() {
                shaped.numbered = Some(columns);
            }
            return shaped;
        }
        if matches!(asked.role, ProposedRole::Supplier(_)) {
            shaped.reports = reports::latest(&mut shaped.value);
        }
        let lists = tree(&shaped.value);
        let is_flat = lists.len() == 1 && may_group;
        let ids = ["orders.order_id", "submissions.submission_id"];
        let is_of_file = |table: &str| match asked.answers.lists.get(table) {
            Some(Some(place)) => place.file == sample.name,
            Some(None) => false,
            None => true,
        };
        let told = ids
            .iter()
            .filter(|id| id.split('.').next().is_some_and(is_of_file))
            .find_map(|id| asked.answers.places.get(*id))
            .map(String::as_str);
        let grouping = lists
            .first()
            .filter(|_| is_flat)
            .and_then(|list| rows::grouping(list, orders_of(&asked.role), told));
        if let Some(grouping) = grouping {
            let at = grouping.at.as_deref().map(At::parse).transpose();
            let Ok(at) = at else { return shaped };
            let group = Group { by: grouping.by.clone(), into: INTO.to_owned(), at };
            if reshape(&mut shaped.value, Some(&group), None).is_ok() {
                shaped.grouping = Some(grouping);
            }
        }
        shaped
    }
}

/// What the orders of a source are to everyline.
pub(super) fn orders_of(role: &ProposedRole) -> Level {
    match role {
        ProposedRole::Storefront => Level::Orders,
        ProposedRole::Supplier(_) => Level::Submissions,
    }
}

/// A list that is a table.
pub(super) struct Planned<'v> {
    pub(super) level: Level,
    pub(super) file: usize,
    pub(super) sheet: Sheet<'v>,
    /// The level within whose records its own stand.
    pub(super) within: Option<Level>,
    /// Where its records stand, from the top or from the record around.
    pub(super) at: String,
    pub(super) chosen: BTreeMap<Meaning, Chosen>,
    /// Lists within its records, for choices that are lists.
    pub(super) inside: Vec<Sheet<'v>>,
}

/// All lists of all samples.
pub(super) struct All<'v, 'a> {
    pub(super) sheets: Vec<(usize, Sheet<'v>)>,
    /// For each that has, beside its own columns, those of the records around: the list that it is.
    joined: BTreeMap<usize, usize>,
    samples: &'v [Shaped],
    pub(super) asked: &'a Asked,
}

/// The tables that were found, and those that were not.
pub(super) struct Plan<'v> {
    pub(super) tables: Vec<Planned<'v>>,
    pub(super) missing: Vec<MissingTable>,
}

/// Finds the tables.
pub(super) fn plan<'v>(samples: &'v [Shaped], asked: &Asked) -> Plan<'v> {
    let mut all = All { sheets: Vec::new(), joined: BTreeMap::new(), samples, asked };
    for (file, shaped) in samples.iter().enumerate() {
        let stem = shaped.name.split('.').next().unwrap_or_default().to_owned();
        let start = all.sheets.len();
        for list in tree(&shaped.value) {
            let mut sheet = Sheet::new(list, vec![stem.clone()]);
            sheet.list.parent = sheet.list.parent.map(|parent| parent + start);
            match &shaped.grouping {
                Some(grouping) if sheet.list.parent.is_none() => keep_shared(&mut sheet, grouping),
                Some(grouping) => {
                    let shared = |column: &Column| grouping.shared.contains(column.name());
                    sheet.repeated =
                        (0..sheet.list.columns.len()).filter(|at| shared(&sheet.list.columns[*at])).collect();
                    if let Some(told_by) = pieces::without_heads(&sheet) {
                        let repeated = sheet.repeated.clone();
                        let at = sheet.list.columns[told_by].at.clone().unwrap_or_default();
                        sheet = parcels::rows(&sheet, told_by, false);
                        sheet.repeated = repeated;
                        sheet.list.at_within = format!("$.{INTO}[?{}]", parcels::says(&at));
                    }
                }
                None => {}
            }
            if let Some(templates) = &shaped.numbered
                && sheet.list.parent.is_none()
            {
                drop_numbered(&mut sheet, templates);
            }
            all.sheets.push((file, sheet));
        }
    }
    all.join();
    let tables = match asked.role {
        ProposedRole::Storefront => storefront(&all),
        ProposedRole::Supplier(_) => supplier(&all),
    };
    let missing = missing(&all, &tables, samples);
    Plan { tables, missing }
}

fn keep_shared(sheet: &mut Sheet<'_>, grouping: &Grouping) {
    let keep: Vec<bool> =
        sheet.list.columns.iter().map(|column| grouping.shared.contains(column.name())).collect();
    retain(sheet, &keep);
}

fn drop_numbered(sheet: &mut Sheet<'_>, templates: &[String]) {
    let is_numbered =
        |column: &Column| {
            templates.iter().any(|template| {
                let (front, end) = template.split_once('#').unwrap_or((template, ""));
                column.name().strip_prefix(front).and_then(|rest| rest.strip_suffix(end)).is_some_and(
                    |number| !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()),
                )
            })
        };
    let keep: Vec<bool> = sheet.list.columns.iter().map(|column| !is_numbered(column)).collect();
    retain(sheet, &keep);
}

pub(super) fn retain(sheet: &mut Sheet<'_>, keep: &[bool]) {
    let mut at = keep.iter();
    sheet.list.columns.retain(|_| at.next().copied().unwrap_or(true));
    let mut at = keep.iter();
    sheet.profiles.retain(|_| at.next().copied().unwrap_or(true));
}

/// What speaks enough for a column that stands beside the list.
pub(super) const SAYS: f64 = 4.0;

/// A list of lines.
struct Lines<'v> {
    index: usize,
    /// Whether it stands within the records that they belong to.
    is_within: bool,
    /// Where it stands several lists deep in these: as if it did not.
    deep: Option<Sheet<'v>>,
    tried: Tried,
}

/// A list tried as a table: how well it fits.
pub(super) struct Tried {
    pub(super) points: f64,
    pub(super) chosen: BTreeMap<Meaning, Chosen>,
}

impl<'v> All<'v, '_> {
    /// Adds, for each list within records, one that has their columns too.
    fn join(&mut self) {
        for index in 0..self.sheets.len() {
            let (file, sheet) = &self.sheets[index];
            let Some(parent) = sheet.list.parent.map(|parent| &self.sheets[parent].1) else { continue };
            if sheet.list.columns.is_empty() {
                continue;
            }
            let joined = (*file, sheet.with_outer(&[parent]));
            self.joined.insert(self.sheets.len(), index);
            self.sheets.push(joined);
        }
    }

    /// Whether the owner's word, where there is one, is that a list is a table.
    pub(super) fn is_allowed(&self, index: usize, level: Level) -> bool {
        let catalogue = matches!(level, Level::Offers | Level::Variants);
        if self.joined.contains_key(&index) && !catalogue {
            return false;
        }
        let (file, sheet) = &self.sheets[index];
        match self.asked.answers.lists.get(level.table().name()) {
            None => true,
            Some(None) => false,
            Some(Some(place)) => {
                let shaped = &self.samples[*file];
                let is_reshaped = shaped.is_table || shaped.grouping.is_some() || shaped.numbered.is_some();
                // Of a file with an object a line, the line is the top.
                let own = super::plain_place(&sheet.list.at);
                let is_there = |at: &String| {
                    let at = super::plain_place(at);
                    own == at || own.strip_prefix("*.").is_some_and(|own| own == at)
                };
                shaped.name == place.file && (is_reshaped || place.at.as_ref().is_none_or(is_there))
            }
        }
    }

    /// Of a list with the columns of the records around: whether its own say more than what these are called or chosen by.
    fn is_more_than_around(&self, index: usize, tried: &Tried) -> bool {
        let columns = &self.sheets[index].1.list.columns;
        let is_own = |column: usize| columns[column].at.as_ref().is_none_or(|at| !at.starts_with(OUTER));
        let says_more = |(meaning, chosen): (&Meaning, &Chosen)| {
            !matches!(*meaning, "title" | "product") && is_own(chosen.column)
        };
        !self.joined.contains_key(&index) || tried.chosen.iter().any(says_more)
    }

    /// Whether the owner said that a list is a table: then it is one, whatever is found in it.
    pub(super) fn is_told(&self, level: Level) -> bool {
        matches!(self.asked.answers.lists.get(level.table().name()), Some(Some(_)))
    }

    pub(super) fn try_as(
        &self,
        index: usize,
        level: Level,
        known: &Known<'_>,
        needed: &[&[Meaning]],
    ) -> Option<Tried> {
        self.try_sheet(index, &self.sheets[index].1, level, known, needed)
    }

    /// Likewise, of a list with other columns than its own.
    pub(super) fn try_sheet(
        &self,
        index: usize,
        sheet: &Sheet<'_>,
        level: Level,
        known: &Known<'_>,
        needed: &[&[Meaning]],
    ) -> Option<Tried> {
        if sheet.list.records.is_empty() || sheet.list.columns.is_empty() || !self.is_allowed(index, level) {
            return None;
        }
        let chosen = choose(sheet, level, known);
        // Of a list that the owner says is the table, what is not found is asked.
        let is_part = matches!(level, Level::Offers | Level::Variants | Level::Parcels | Level::ParcelLines);
        let is_told = is_part && self.is_told(level);
        if !is_told && !needed.iter().all(|any| any.iter().any(|meaning| chosen.contains_key(meaning))) {
            return None;
        }
        let mut points: f64 = chosen.values().map(|chosen| chosen.evidence.score.min(7.0)).sum();
        let (names, _) = level.list_meanings();
        let called = |name: &String| {
            let fits = LEXICON.fits(name, &[]);
            names.iter().filter_map(|meaning| fits.get(meaning)).map(|fit| fit.score).fold(0.0, f64::max)
        };
        points += 0.8 * sheet.list.names.last().map_or(0.0, called);
        points += 0.3 * sheet.title.first().map_or(0.0, called);
        Some(Tried { points, chosen })
    }

    /// Places of columns of a list that name its records and whose values other lists repeat.
    fn referred(&self, of: usize) -> BTreeSet<String> {
        let (_, sheet) = &self.sheets[of];
        let mut referred = BTreeSet::new();
        for (column, profile) in sheet.list.columns.iter().zip(&sheet.profiles) {
            let Some(at) = column.at.as_ref() else { continue };
            if !profile.is_full() || !profile.is_unique() || !profile.may_be_id() || profile.count < 4 {
                continue;
            }
            let ids = super::profile::set(column);
            let repeats = |(index, (_, other)): (usize, &(usize, Sheet<'v>))| {
                // What stands within its records only says again of what it is a part.
                index != of
                    && !self.joined.contains_key(&index)
                    && other.list.parent != Some(of)
                    && other.list.columns.iter().zip(&other.profiles).any(|(column, profile)| {
                        profile.is_full()
                            && profile.distinct * 4 > ids.len()
                            && super::profile::set(column).iter().all(|value| ids.contains(value))
                    })
            };
            if self.sheets.iter().enumerate().any(repeats) {
                referred.insert(at.clone());
            }
        }
        referred
    }

    /// Places of words of a record that go with times of the rows that are its lines.
    fn stated(&self, of: usize) -> BTreeSet<String> {
        let lines =
            self.children(of).map(|child| &self.sheets[child].1).filter(|lines| !lines.repeated.is_empty());
        let words = lines.flat_map(|lines| {
            let goes_with = lines.words_with_time().into_iter().map(|(words, _)| words);
            goes_with
                .filter(|words| lines.repeated.contains(words))
                .filter_map(|words| lines.list.columns[words].at.clone())
        });
        words.collect()
    }

    /// What names the records of lists but these: one set for each column of which no two share a value.
    fn names_of_others(&self, these: &[usize]) -> Vec<BTreeSet<&str>> {
        let others = (0..self.sheets.len())
            .filter(|index| !these.contains(index) && !self.joined.contains_key(index))
            .map(|index| &self.sheets[index].1);
        let names = others.flat_map(|sheet| sheet.list.columns.iter().zip(&sheet.profiles));
        names
            .filter(|(_, profile)| profile.count > 3 && profile.is_unique() && profile.fill() > 0.8)
            .filter(|(_, profile)| profile.may_be_id())
            .map(|(column, _)| super::profile::set(column))
            .collect()
    }

    /// Where a list stands within the record around all of `between`, of which the nearest comes first.
    pub(super) fn at_within(&self, index: usize, between: &[usize]) -> String {
        let steps = between.iter().rev().chain([&index]);
        let steps = steps.map(|at| self.sheets[*at].1.list.at_within.trim_start_matches('$'));
        format!("${}", steps.collect::<String>())
    }

    /// A list that stands several lists deep, as if it stood within the records of the outermost.
    fn lifted(&self, index: usize, between: &[usize]) -> Sheet<'v> {
        let mut sheet = self.sheets[index].1.clone();
        sheet.list.at_within = self.at_within(index, between);
        for at in between {
            let outer = &self.sheets[*at].1.list;
            for parent in &mut sheet.list.parent_of {
                *parent = outer.parent_of.get(*parent).copied().unwrap_or_default();
            }
            sheet.list.parent = outer.parent;
        }
        sheet
    }

    /// The lists around a list, the nearest first, as far as one, which is not among them; `None` where it does not stand
    /// within that.
    pub(super) fn between(&self, index: usize, of: usize) -> Option<Vec<usize>> {
        let mut around = self.around(index);
        let end = around.iter().position(|at| *at == of)?;
        around.truncate(end);
        Some(around)
    }

    /// Whether the records of a list hold records that say for which of the shop's orders each is, and when it came.
    fn holds_orders(&self, index: usize, known: &Known<'_>) -> bool {
        let is_order = |child: usize| {
            let sheet = &self.sheets[child].1;
            let has_time = sheet.profiles.iter().any(|profile| profile.times.is_some() && profile.is_full());
            has_time && {
                let chosen = choose(sheet, Level::Submissions, known);
                chosen.get("order_ref").is_some_and(|chosen| chosen.evidence.by_values >= SHARED)
            }
        };
        self.children(index).any(|child| self.children(child).next().is_some() && is_order(child))
    }

    /// The reports of a file, where it is made of such.
    pub(super) fn reports(&self, file: usize) -> Option<&Reports> {
        self.samples[file].reports.as_ref()
    }

    /// Whether a list is another one, with the columns of the records around it.
    pub(super) fn is_joined(&self, index: usize) -> bool {
        self.joined.contains_key(&index)
    }

    /// Whether the records of a list have a time.
    pub(super) fn has_time(&self, index: usize) -> bool {
        self.sheets[index].1.profiles.iter().any(|profile| profile.times.is_some())
    }

    /// The lists around a list, the nearest first.
    pub(super) fn around(&self, index: usize) -> Vec<usize> {
        let parent = |at: &usize| self.sheets[*at].1.list.parent;
        std::iter::successors(parent(&index), parent).collect()
    }

    /// A list with the columns of those around it.
    pub(super) fn with_around(&self, index: usize, around: &[usize]) -> Sheet<'v> {
        let around: Vec<&Sheet<'v>> = around.iter().map(|at| &self.sheets[*at].1).collect();
        self.sheets[index].1.with_outer(&around)
    }

    fn children(&self, of: usize) -> impl Iterator<Item = usize> + '_ {
        self.sheets
            .iter()
            .enumerate()
            .filter(move |(at, (_, sheet))| {
                sheet.list.parent == Some(self.joined.get(&of).copied().unwrap_or(of))
                    && !self.joined.contains_key(at)
            })
            .map(|(at, _)| at)
    }

    pub(super) fn planned(
        &self,
        index: usize,
        level: Level,
        within: Option<Level>,
        chosen: BTreeMap<Meaning, Chosen>,
    ) -> Planned<'v> {
        let (file, sheet) = &self.sheets[index];
        let at = if within.is_some() { sheet.list.at_within.clone() } else { sheet.list.at.clone() };
        let inside = self.children(index).map(|child| self.sheets[child].1.clone()).collect();
        Planned { level, file: *file, sheet: sheet.clone(), within, at, chosen, inside }
    }

    fn planned_lines(&self, lines: Lines<'v>, level: Level, of: Level) -> Planned<'v> {
        let Lines { index, is_within, deep, tried } = lines;
        let mut planned = self.planned(index, level, is_within.then_some(of), tried.chosen);
        if let Some(sheet) = deep {
            planned.at = sheet.list.at_within.clone();
            planned.sheet = sheet;
        }
        planned
    }

    pub(super) fn ids(
        &self,
        index: usize,
        chosen: &BTreeMap<Meaning, Chosen>,
        meaning: Meaning,
    ) -> BTreeSet<&str> {
        let column = chosen.get(meaning).map(|chosen| &self.sheets[index].1.list.columns[chosen.column]);
        column.map(super::profile::set).unwrap_or_default()
    }

    /// The best list of lines for a list of orders, and how it belongs to that.
    fn lines_of(
        &self,
        of: usize,
        level: Level,
        ids: &BTreeSet<&str>,
        known: &Known<'_>,
        by: Meaning,
    ) -> Option<Lines<'v>> {
        let mut best: Option<Lines<'v>> = None;
        for index in (0..self.sheets.len()).filter(|index| *index != of) {
            let is_child = self.sheets[index].1.list.parent == Some(of);
            // Lines may stand in groups: by parcel, by where they are made.
            let deep = match self.between(index, of) {
                Some(between) if !between.is_empty() => Some(self.lifted(index, &between)),
                _ => None,
            };
            let is_within = is_child || deep.is_some();
            let known = Known {
                parents: (!is_within).then(|| ids.clone()),
                order_ids: known.order_ids.clone(),
                skus: known.skus.clone(),
                order_line_ids: known.order_line_ids.clone(),
                elsewhere: self.names_of_others(&[of, index]),
                ..Known::default()
            };
            let sheet = deep.as_ref().unwrap_or(&self.sheets[index].1);
            let what: &[Meaning] = &["quantity", "sku", "variant_id"];
            let needed: &[&[Meaning]] = if is_within { &[what] } else { &[what, std::slice::from_ref(&by)] };
            let Some(mut tried) = self.try_sheet(index, sheet, level, &known, needed) else { continue };
            let belongs = is_within || tried.chosen.get(by).is_some_and(|own| own.evidence.by_values >= 4.0);
            // Only where rows are pieces may nothing say how many.
            if !belongs || !tried.chosen.contains_key("quantity") && !sheet.are_pieces() {
                continue;
            }
            tried.points += match (is_child, is_within) {
                (true, _) => 4.0,
                (false, true) => 2.0,
                (false, false) => 3.0,
            };
            if best.as_ref().is_none_or(|known| tried.points > known.tried.points) {
                best = Some(Lines { index, is_within, deep, tried });
            }
        }
        best
    }
}

fn storefront<'v>(all: &All<'v, '_>) -> Vec<Planned<'v>> {
    let none = Known::default();
    let mut best: Option<(f64, usize, Tried, Option<Lines<'v>>)> = None;
    for index in 0..all.sheets.len() {
        let told = &all.asked.beside.told;
        let known = Known { referred: all.referred(index), told, ..Known::default() };
        let needed: &[&[Meaning]] = &[&["order_id"], &["placed_at"]];
        let Some(orders) = all.try_as(index, Level::Orders, &known, needed) else { continue };
        let ids = all.ids(index, &orders.chosen, "order_id");
        let lines = all.lines_of(index, Level::OrderLines, &ids, &none, "order_id");
        let points = orders.points + lines.as_ref().map_or(0.0, |lines| lines.tried.points);
        if best.as_ref().is_none_or(|(known, ..)| points > *known) {
            best = Some((points, index, orders, lines));
        }
    }
    let Some((_, index, orders, lines)) = best else { return Vec::new() };
    let mut used = BTreeSet::from([index]);
    let mut planned = vec![all.planned(index, Level::Orders, None, orders.chosen)];
    match lines {
        Some(lines) => {
            used.insert(lines.index);
            planned.push(all.planned_lines(lines, Level::OrderLines, Level::Orders));
        }
        // An order that is a line itself.
        None => {
            if let Some(tried) = all.try_as(index, Level::OrderLines, &none, &[&["quantity"]]) {
                let mut same = all.planned(index, Level::OrderLines, Some(Level::Orders), tried.chosen);
                same.at = "$".to_owned();
                planned.push(same);
            }
        }
    }
    let sold = [sold(&planned, Level::OrderLines, "listing_id"), sold(&planned, Level::OrderLines, "sku")];
    let needed: &[&[Meaning]] = &[&["sku", "listing_id"], &["price", "buyable", "title"]];
    let offers = best_of(all, &used, Level::Offers, &Known { sold, ..Known::default() }, needed, 7.0);
    if let Some((index, tried)) = offers {
        planned.push(all.planned(index, Level::Offers, None, tried.chosen));
    }
    planned
}

/// What the lines of orders say of a kind.
fn sold<'p>(planned: &'p [Planned<'_>], level: Level, meaning: Meaning) -> BTreeSet<&'p str> {
    let lines = planned.iter().find(|planned| planned.level == level);
    let chosen = lines.and_then(|lines| Some((lines, lines.chosen.get(meaning)?)));
    let column = chosen.map(|(lines, chosen)| &lines.sheet.list.columns[chosen.column]);
    column.map(super::profile::set).unwrap_or_default()
}

fn best_of(
    all: &All<'_, '_>,
    used: &BTreeSet<usize>,
    level: Level,
    known: &Known<'_>,
    needed: &[&[Meaning]],
    least: f64,
) -> Option<(usize, Tried)> {
    let is_inside = |index: usize| {
        let mut parent = all.sheets[index].1.list.parent;
        while let Some(at) = parent {
            if used.contains(&at) {
                return true;
            }
            parent = all.sheets[at].1.list.parent;
        }
        false
    };
    (0..all.sheets.len())
        .filter(|index| !used.contains(index) && !is_inside(*index))
        .filter_map(|index| Some((index, all.try_as(index, level, known, needed)?)))
        .filter(|(_, tried)| tried.points >= least || all.is_told(level))
        .filter(|(index, tried)| all.is_more_than_around(*index, tried))
        .max_by(|a, b| a.1.points.total_cmp(&b.1.points))
}

fn supplier<'v>(all: &All<'v, '_>) -> Vec<Planned<'v>> {
    let asked = all.asked;
    let known = Known {
        parents: None,
        order_ids: asked.beside.order_ids.clone(),
        skus: asked.beside.skus.clone(),
        order_line_ids: asked.beside.line_ids.clone(),
        placed: asked.beside.placed.clone(),
        ..Known::default()
    };
    let mut best: Option<(f64, usize, Tried, Option<Lines<'v>>)> = None;
    for index in 0..all.sheets.len() {
        // Where a record says for which order of the shop it is, when it was received may stand elsewhere, or nowhere.
        let needed: &[&[Meaning]] = &[&["submission_id"], &["received_at", "order_ref"]];
        let known = Known { referred: all.referred(index), stated: all.stated(index), ..known.clone() };
        let Some(mut own) = all.try_as(index, Level::Submissions, &known, needed) else { continue };
        let says_order = |tried: &Tried| {
            tried.chosen.get("order_ref").is_some_and(|chosen| chosen.evidence.by_values >= SHARED)
        };
        if !own.chosen.contains_key("received_at") && !says_order(&own) {
            continue;
        }
        // Reports hold orders: these say when they came, and for which order of the shop each is.
        if all.holds_orders(index, &known) {
            continue;
        }
        // What stands within records that say it is a part of them.
        let is_part = |at: &usize| {
            let around = all.try_as(*at, Level::Submissions, &known, &[&["submission_id"]]);
            around.as_ref().is_some_and(says_order)
        };
        if all.around(index).iter().any(is_part) {
            own.points -= 12.0;
        }
        let ids = all.ids(index, &own.chosen, "submission_id");
        let lines = all.lines_of(index, Level::SubmissionLines, &ids, &known, "submission_id");
        // Dispatch alone is a parcel, not an order.
        if !own.chosen.contains_key("submission_status") && !own.chosen.contains_key("order_ref") {
            own.points -= 6.0;
        }
        let points = own.points + lines.as_ref().map_or(0.0, |lines| lines.tried.points);
        if best.as_ref().is_none_or(|(known, ..)| points > *known) {
            best = Some((points, index, own, lines));
        }
    }
    let Some((_, index, own, lines)) = best else {
        let mut used = BTreeSet::new();
        return catalogue(all, &known, &mut used, &[]);
    };
    let mut used = BTreeSet::from([index]);
    let ids = all.ids(index, &own.chosen, "submission_id");
    let mut submissions = all.planned(index, Level::Submissions, None, own.chosen.clone());
    reference_above(all, index, &known, &mut submissions);
    let mut planned = vec![submissions];
    let mut line_at = None;
    match lines {
        Some(lines) => {
            used.insert(lines.index);
            line_at = Some(lines.index);
            planned.push(all.planned_lines(lines, Level::SubmissionLines, Level::Submissions));
        }
        None => {
            let known = Known { elsewhere: all.names_of_others(&[index]), ..known.clone() };
            if let Some(tried) = all.try_as(index, Level::SubmissionLines, &known, &[&["quantity"]]) {
                let mut same =
                    all.planned(index, Level::SubmissionLines, Some(Level::Submissions), tried.chosen);
                same.at = "$".to_owned();
                planned.push(same);
            }
        }
    }
    planned.iter_mut().for_each(|planned| reports::note(all, planned));
    let line_ids = planned
        .iter()
        .find(|planned| planned.level == Level::SubmissionLines)
        .and_then(|planned| {
            Some(super::profile::set(&planned.sheet.list.columns[planned.chosen.get("line_id")?.column]))
        })
        .map(|ids| ids.into_iter().map(str::to_owned).collect::<BTreeSet<String>>())
        .unwrap_or_default();
    let of = parcels::Of { submissions: index, lines: line_at, ids: &ids, line_ids: &line_ids };
    parcels::find(all, &of, &mut used, &mut planned);
    let catalogue = catalogue(all, &known, &mut used, &planned);
    planned.extend(catalogue);
    planned
}

/// What the supplier makes, and which SKU of the shop leads to what of it; `planned` are its orders, where there are any.
fn catalogue<'v>(
    all: &All<'v, '_>,
    known: &Known<'_>,
    used: &mut BTreeSet<usize>,
    planned: &[Planned<'v>],
) -> Vec<Planned<'v>> {
    let sold =
        [sold(planned, Level::SubmissionLines, "variant_id"), sold(planned, Level::SubmissionLines, "sku")];
    let known = Known { sold, ..known.clone() };
    let needed: &[&[Meaning]] = &[&["variant_id"], &["product", "unit_cost"]];
    let variants = best_of(all, used, Level::Variants, &known, needed, 8.0)
        // A list with prices whose ids the lines name is one, whatever its columns are called.
        .or_else(|| {
            let found = best_of(all, used, Level::Variants, &known, &[&["variant_id"], &["sku"]], 8.0);
            found.filter(|(index, tried)| {
                let has_price = all.sheets[*index].1.profiles.iter().any(|profile| profile.has_fractions());
                has_price && tried.chosen["variant_id"].evidence.by_values >= 4.0
            })
        });
    let mut catalogue = Vec::new();
    let mut ids = known.sold[0].clone();
    if let Some((index, tried)) = variants {
        used.insert(index);
        used.extend(all.joined.get(&index));
        ids = all.ids(index, &tried.chosen, "variant_id");
        catalogue.push(all.planned(index, Level::Variants, None, tried.chosen));
    }
    catalogue.extend(links(all, used, &Known { sold: [ids, BTreeSet::new()], ..known.clone() }));
    catalogue
}

/// Where the records around the supplier's orders say for which of the shop's each is, and they themselves do not.
fn reference_above<'v>(all: &All<'v, '_>, index: usize, known: &Known<'_>, planned: &mut Planned<'v>) {
    let around = all.around(index);
    let is_said = planned.chosen.get("order_ref").is_some_and(|chosen| chosen.evidence.score >= SAYS);
    if around.is_empty() || is_said {
        return;
    }
    let joined = all.with_around(index, &around);
    let own = planned.sheet.list.columns.len();
    let Some(found) = choose(&joined, Level::Submissions, known).remove("order_ref") else { return };
    if found.column >= own && found.evidence.score >= SAYS {
        planned.sheet = joined;
        planned.chosen.insert("order_ref", found);
    }
}

/// A list that says which SKU of the shop leads to which variant.
fn links<'v>(all: &All<'v, '_>, used: &BTreeSet<usize>, known: &Known<'_>) -> Option<Planned<'v>> {
    let (index, tried) = best_of(all, used, Level::Links, known, &[&["sku"], &["variant_id"]], 7.0)?;
    let is_shown =
        ["sku", "variant_id"].iter().all(|meaning| tried.chosen[meaning].evidence.by_values >= 4.0);
    is_shown.then(|| all.planned(index, Level::Links, None, tried.chosen))
}
