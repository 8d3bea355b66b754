//! From the columns that were chosen to the fields of a mapping, each with its reason, how sure it is, and what to ask.
//!
//! Must not know how columns are chosen. Start reading at [`proposal`].

use std::collections::{BTreeMap, BTreeSet};

use rust_decimal::Decimal;

use super::level::Level;
use super::lexicon::{LEXICON, Meaning, words};
use super::options;
use super::plan::{INTO, Planned, Shaped};
use super::profile::AmountForm;
use super::score::{Chosen, trim};
use super::sheet::{OUTER, Sheet};
use super::status::{self, State};
use super::write::quoted;
use super::{Asked, How, Proposal, ProposedField, ProposedRequest, ProposedTable, SampleColumn};
use crate::tables::{Column, Need, Table};

/// In place of a place: the name under which a record stands.
const OWN_KEY: &str = "own_key";

/// How many values of a column are shown.
const EXAMPLES: usize = 3;

/// How much better than all others a column has to be.
const SURE_MARGIN: f64 = 1.2;
const LIKELY_SCORE: f64 = 1.8;

/// How many minor units are no price of a thing in whole units of money.
const MINOR: i64 = 300;

impl Level {
    pub(super) fn table(self) -> Table {
        match self {
            Self::Orders => Table::Orders,
            Self::OrderLines => Table::OrderLines,
            Self::Offers => Table::Offers,
            Self::Variants => Table::Variants,
            Self::Submissions => Table::Submissions,
            Self::SubmissionLines => Table::SubmissionLines,
            Self::Parcels => Table::Parcels,
            Self::ParcelLines => Table::ParcelLines,
            Self::Links => Table::Links,
        }
    }
}

/// The proposal for tables that were found.
pub(super) fn proposal(samples: &[Shaped], planned: &[Planned<'_>], asked: &Asked) -> Proposal {
    let mut requests = Vec::new();
    let mut notes = Vec::new();
    let day_first = asked.day_first(planned);
    for (file, shaped) in samples.iter().enumerate() {
        let of_file: Vec<&Planned<'_>> = planned.iter().filter(|planned| planned.file == file).collect();
        if of_file.is_empty() {
            notes.push(format!("{} is not used: no table was found in it.", shaped.name));
            continue;
        }
        let mut tables: Vec<ProposedTable> = Vec::new();
        let mut used: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for planned_table in &of_file {
            let maker = Maker { planned: planned_table, all: planned, shaped, asked, day_first };
            let (table, columns) = maker.table();
            used.entry(planned_table.sheet.list.at.clone()).or_default().extend(columns);
            tables.extend(maker.parcels_of_records());
            if let Some(lacking) = lacking(&table) {
                notes.push(lacking);
                continue;
            }
            tables.push(table);
        }
        if tables.is_empty() {
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
    }
}

/// Of a table that need not be there and lacks what it needs: why it is left out. What is open in orders, supplier orders
/// and their lines is asked instead.
fn lacking(table: &ProposedTable) -> Option<String> {
    let can_be_left_out = ["offers", "variants", "parcels", "parcel_lines", "links"].contains(&table.table);
    let known = Table::ALL.into_iter().find(|known| known.name() == table.table)?;
    let is_needed = |column: &str| {
        known.columns().iter().any(|(known, need)| known.name() == column && *need == Need::Required)
    };
    let open = table.fields.iter().find(|field| field.toml.is_none() && is_needed(field.column))?;
    can_be_left_out.then(|| {
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
        head += &format!("group = {{ by = {}, into = {} }}\n", quoted(&grouping.by), quoted(INTO));
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

struct Maker<'m, 'v> {
    planned: &'m Planned<'v>,
    all: &'m [Planned<'v>],
    shaped: &'m Shaped,
    asked: &'m Asked,
    day_first: Option<bool>,
}

/// A field before it is decided whether it is asked.
struct Draft {
    at: Vec<String>,
    how: How,
    why: String,
    toml: Option<String>,
    question: Option<String>,
    choices: Vec<(String, String)>,
    unknown_words: Vec<String>,
}

impl Maker<'_, '_> {
    fn sheet(&self) -> &Sheet<'_> {
        &self.planned.sheet
    }

    fn key(&self, column: Column) -> String {
        format!("{}.{}", self.planned.level.table().name(), column.name())
    }

    fn table(&self) -> (ProposedTable, Vec<String>) {
        let table = self.planned.level.table();
        let mut fields: Vec<ProposedField> = Vec::new();
        let mut used: BTreeSet<usize> = BTreeSet::new();
        for (column, need) in table.columns() {
            if let Some(draft) = self.column(*column, *need, &mut used) {
                fields.push(self.field(*column, draft));
            }
        }
        if table.position(Column::Options).is_some() && table != Table::Links {
            self.used_by_others(&mut used);
            if let Some(draft) = self.options(&used) {
                fields.push(self.field(Column::Options, draft));
            }
        }
        fields.sort_by_key(|field| {
            table.columns().iter().position(|(column, _)| column.name() == field.column)
        });
        let places = fields.iter().flat_map(|field| &field.at);
        let places = places.flat_map(|at| at.split(", ").map(str::to_owned)).collect();
        (
            ProposedTable {
                table: table.name(),
                within: self.planned.within.map(|level| level.table().name()),
                at: self.planned.at.clone(),
                fields,
                columns: self.columns(),
            },
            places,
        )
    }

    /// What there is in the records.
    fn columns(&self) -> Vec<SampleColumn> {
        let of = |column: &super::tree::Column| {
            let at = column.at.clone().unwrap_or_else(|| OWN_KEY.to_owned());
            let mut examples: Vec<String> = Vec::new();
            for value in column.values.iter().flatten() {
                if examples.len() < EXAMPLES && !examples.contains(value) {
                    examples.push(value.clone());
                }
            }
            SampleColumn { name: self.place(&at), at, examples }
        };
        self.sheet().list.columns.iter().map(of).collect()
    }

    /// Columns whose names say, beyond doubt, something that is no choice.
    fn used_by_others(&self, used: &mut BTreeSet<usize>) {
        for index in 0..self.sheet().list.columns.len() {
            let fits = self.sheet().name_fits(index, self.planned.level);
            let is_choice = |meaning: &str| {
                matches!(
                    meaning,
                    "size"
                        | "colour"
                        | "material"
                        | "option"
                        | "options"
                        | "design"
                        | "option_name"
                        | "option_value"
                )
            };
            let best = |choice: bool| {
                fits.iter()
                    .filter(|(meaning, _)| is_choice(meaning) == choice)
                    .map(|(_, fit)| fit.score)
                    .fold(0.0, f64::max)
            };
            if best(false) > best(true) + 0.5 && best(false) > 5.0 {
                used.insert(index);
            }
        }
    }

    fn field(&self, column: Column, draft: Draft) -> ProposedField {
        let Draft { at, how, why, toml, question, choices, unknown_words } = draft;
        ProposedField {
            table: self.planned.level.table().name(),
            column: column.name(),
            file: self.shaped.name.clone(),
            places: at.iter().map(|at| self.place(at)).collect(),
            at,
            how,
            why,
            toml,
            question,
            choices,
            unknown_words,
        }
    }

    /// Where something stands that stands there in a record: by the name of its column, or from the top of the document.
    fn place(&self, at: &str) -> String {
        let sheet = self.sheet();
        let column = sheet.list.columns.iter().find(|column| column.at.as_deref() == Some(at));
        if at == OWN_KEY {
            return sheet.list.at.clone();
        }
        let own = at.trim_start_matches(OUTER);
        let out = at.len() - own.len();
        // What stands at the record itself has that around it.
        let out = if self.planned.at == "$" { out.saturating_sub(1) } else { out };
        // The rows of a file that were put together stand there side by side.
        let is_grouped = out == 0 && self.shaped.grouping.is_some();
        let list = if is_grouped { "$[*]" } else { around(&sheet.list.at, out) };
        let at = own;
        match column {
            Some(column) if self.shaped.is_table => column.path.join("."),
            _ if self.shaped.is_table => at.to_owned(),
            _ => format!("{list}{}", at.strip_prefix('$').unwrap_or(at)),
        }
    }

    fn column(&self, column: Column, need: Need, used: &mut BTreeSet<usize>) -> Option<Draft> {
        let level = self.planned.level;
        let inherits = match (level, self.planned.within.is_some()) {
            (Level::OrderLines, true) => column == Column::OrderId,
            (Level::SubmissionLines | Level::Parcels, true) => column == Column::SubmissionId,
            (Level::ParcelLines, true) => column == Column::ParcelId,
            _ => false,
        };
        if inherits || matches!(column, Column::Supplier | Column::Options | Column::ShipToDigest) {
            return None;
        }
        if column == Column::Status
            && let Some(parts) = self.asked.answers.states.get(level.table().name())
        {
            let places: Vec<_> =
                parts.iter().filter_map(|part| Some((self.named(&part.place)?, &part.words))).collect();
            let state = status::told(self.sheet(), &places);
            self.note_used(&state, used);
            return Some(self.state(state, &[]));
        }
        if let Some(place) = self.asked.answers.places.get(&self.key(column)) {
            return self.answered(column, place, used);
        }
        if column == Column::Status {
            return self.status(used);
        }
        let meaning = meaning(level, column)?;
        let chosen = self.planned.chosen.get(meaning);
        if column == Column::LineId && self.planned.at == "$" {
            return Some(always_counted("each is a line of its own"));
        }
        if level == Level::SubmissionLines && column == Column::OrderRef && self.has_reference_above(chosen) {
            return None;
        }
        let Some(chosen) = chosen else {
            return match column {
                Column::VariantId if level == Level::SubmissionLines => self.sku_as_variant(),
                Column::Currency if level == Level::Orders => self.currency_of_lines(),
                Column::LineId => {
                    Some(always_counted("no column tells the lines of an order apart, so they are counted"))
                }
                Column::ParcelId if level == Level::Parcels => {
                    let tracking = self.planned.chosen.get("tracking_number")?;
                    let mut draft = self.value(Column::ParcelId, tracking);
                    draft.how = draft.how.min(How::Likely);
                    draft.why = "no other column tells parcels apart".to_owned();
                    Some(draft)
                }
                _ if need == Need::Required => {
                    Some(open(format!("Nothing was found for {}.", column.name())))
                }
                _ => None,
            };
        };
        used.insert(chosen.column);
        let draft = self.value(column, chosen);
        // What is only perhaps there, and need not be, is not guessed.
        let weak = chosen.evidence.score < LIKELY_SCORE || chosen.margin <= 0.0 && !chosen.evidence.is_exact;
        if need == Need::MayBeEmpty && weak {
            used.remove(&chosen.column);
            return None;
        }
        Some(draft)
    }

    /// The state, of one column or of several. Of a line only where a column says so.
    fn status(&self, used: &mut BTreeSet<usize>) -> Option<Draft> {
        let (sheet, chosen) = (self.sheet(), &self.planned.chosen);
        let given = self.words_given(Column::Status);
        let of_order: &[Meaning] = &["order_status", "payment_status", "dispatch_status", "cancelled_at"];
        let (state, meanings) = match self.planned.level {
            Level::Orders => (status::of_orders(sheet, chosen, &given), of_order),
            Level::Submissions => {
                let meaning = "submission_status";
                (status::of_submissions(sheet, chosen, meaning, &given), &[meaning][..])
            }
            _ => {
                let meaning = "line_status";
                let line = chosen.get(meaning)?;
                let is_of_all = self.planned.at == "$" || sheet.repeated.contains(&line.column);
                if line.evidence.score < 4.0 || is_of_all {
                    return None;
                }
                (status::of_lines(sheet, chosen, meaning, &given), &[meaning][..])
            }
        };
        self.note_used(&state, used);
        Some(self.state(state, meanings))
    }

    fn words_given(&self, column: Column) -> status::Given {
        self.asked.answers.words.get(&self.key(column)).cloned().unwrap_or_default()
    }

    fn note_used(&self, state: &State, used: &mut BTreeSet<usize>) {
        let columns = self.sheet().list.columns.iter().enumerate();
        used.extend(
            columns
                .filter(|(_, column)| column.at.as_ref().is_some_and(|at| state.at.contains(at)))
                .map(|(at, _)| at),
        );
    }

    /// A place that the owner named: a column, or a path.
    fn answered(&self, column: Column, place: &str, used: &mut BTreeSet<usize>) -> Option<Draft> {
        if place.is_empty() {
            return (column == Column::LineId)
                .then(|| always_counted("the owner says that nothing names them"));
        }
        let index = self.named(place)?;
        used.insert(index);
        let chosen = told(index);
        if column == Column::Status {
            let meaning =
                if self.planned.level == Level::Orders { "order_status" } else { "submission_status" };
            let mut chosen_now = self.planned.chosen.clone();
            chosen_now.retain(|meaning, _| {
                !matches!(*meaning, "payment_status" | "dispatch_status" | "cancelled_at")
            });
            chosen_now.insert(meaning, chosen);
            let given = self.words_given(column);
            let state = match self.planned.level {
                Level::Orders => status::of_orders(self.sheet(), &chosen_now, &given),
                _ => status::of_submissions(self.sheet(), &chosen_now, meaning, &given),
            };
            return Some(self.state(state, &[]));
        }
        meaning(self.planned.level, column)?;
        Some(self.value(column, &chosen))
    }

    /// The currency of an order whose lines alone say it; where they differ, the order does not fit.
    fn currency_of_lines(&self) -> Option<Draft> {
        let lines = self.all.iter().find(|planned| planned.within == Some(Level::Orders))?;
        let sheet = &lines.sheet;
        let index = (0..sheet.profiles.len()).find(|index| {
            let profile = &sheet.profiles[*index];
            let names = sheet.name_fits(*index, Level::Orders);
            let says = names.get("currency").is_some_and(|fit| fit.score >= 3.0);
            profile.currencies > 0.99 && profile.is_full() && says
        })?;
        let own = sheet.list.columns[index].at.as_ref()?;
        let at = format!("{}{}", lines.at, own.trim_start_matches('$'));
        Some(Draft {
            toml: Some(quoted(&at)),
            at: vec![at],
            how: How::Likely,
            why: "each line says it".to_owned(),
            question: None,
            choices: Vec::new(),
            unknown_words: Vec::new(),
        })
    }

    /// Of a supplier that has no code but the SKU and no list of its variants: the SKU names the variant.
    fn sku_as_variant(&self) -> Option<Draft> {
        if self.all.iter().any(|planned| planned.level == Level::Variants) {
            return None;
        }
        let sku = match self.asked.answers.places.get(&self.key(Column::Sku)) {
            Some(place) => self.named(place).map(told)?,
            None => self.planned.chosen.get("sku")?.clone(),
        };
        let mut draft = self.value(Column::Sku, &sku);
        draft.how = draft.how.min(How::Likely);
        draft.why = "the supplier names no variant of its own, so its SKU stands for it".to_owned();
        Some(draft)
    }

    /// The column that the owner names.
    fn named(&self, place: &str) -> Option<usize> {
        let columns = &self.sheet().list.columns;
        let from_top = |at: &str| super::plain_place(&self.place(at));
        let is_meant = |known: &super::tree::Column| {
            let at = known.at.as_deref().unwrap_or(OWN_KEY);
            if at == place || known.path.join(".") == place {
                return true;
            }
            // Of a file with an object a line, the line is the top.
            let (at, named) = (from_top(at), super::plain_place(place));
            let is_numbered = || {
                let number = |letter: char| if letter.is_ascii_digit() { '#' } else { letter };
                self.shaped.numbered.is_some() && named.chars().map(number).eq(at.chars())
            };
            at == named || at.strip_prefix("*.") == Some(&named) || is_numbered()
        };
        columns.iter().position(is_meant)
    }

    /// Whether the submission around says for which order it is at least as well.
    fn has_reference_above(&self, own: Option<&Chosen>) -> bool {
        let above = self.all.iter().find(|planned| planned.level == Level::Submissions);
        let above = above
            .and_then(|planned| planned.chosen.get("order_ref"))
            .map_or(0.0, |chosen| chosen.evidence.score);
        own.is_none_or(|own| above >= own.evidence.score - 0.5)
    }

    fn state(&self, state: State, meanings: &[Meaning]) -> Draft {
        let State { toml, at, unknown, some_known, is_sure, why } = state;
        let margin = meanings
            .iter()
            .filter_map(|meaning| self.planned.chosen.get(meaning))
            .map(|chosen| chosen.margin)
            .fold(f64::MAX, f64::min);
        // Words are asked by themselves; where none is known, it may be another column altogether.
        let how = match (unknown.is_empty(), at.is_empty()) {
            (false, _) if !some_known => How::Open,
            (false, _) | (true, true) => How::Likely,
            (true, false) if is_sure && margin >= SURE_MARGIN => How::Sure,
            (true, false) => How::Likely,
        };
        let question = (!unknown.is_empty()).then(|| {
            format!(
                "What these words mean is not known; add them to `words`: {}.",
                unknown.iter().map(|word| format!("{word:?}")).collect::<Vec<_>>().join(", ")
            )
        });
        let question = question
            .or_else(|| at.is_empty().then(|| "No column says it: is it the same for all?".to_owned()));
        Draft { at, how, why, toml: Some(toml), question, choices: Vec::new(), unknown_words: unknown }
    }

    fn how(&self, chosen: &Chosen) -> How {
        let Chosen { evidence, margin, .. } = chosen;
        let is_shown =
            evidence.is_exact && evidence.score >= 6.0 || evidence.by_values >= 4.0 && evidence.score >= 6.5;
        if is_shown && *margin >= SURE_MARGIN {
            How::Sure
        } else if evidence.score >= LIKELY_SCORE {
            How::Likely
        } else {
            How::Open
        }
    }

    /// A field of one value.
    fn value(&self, column: Column, chosen: &Chosen) -> Draft {
        let known = &self.sheet().list.columns[chosen.column];
        let profile = &self.sheet().profiles[chosen.column];
        let mut how = self.how(chosen);
        let mut why = chosen.evidence.why.join("; ");
        if why.is_empty() {
            why = format!("nothing else fits better than {}", super::shown_name(known));
        }
        let Some(at) = &known.at else {
            return Draft {
                at: vec![OWN_KEY.to_owned()],
                how,
                why: "its records stand under it".to_owned(),
                toml: Some("{ own_key = true }".to_owned()),
                question: None,
                choices: Vec::new(),
                unknown_words: Vec::new(),
            };
        };
        let mut keys: Vec<String> = Vec::new();
        let mut question = None;
        let mut choices = Vec::new();
        let is_time = matches!(
            column,
            Column::PlacedAt
                | Column::PaidAt
                | Column::PromisedBy
                | Column::UpdatedAt
                | Column::ReceivedAt
                | Column::DispatchedAt
        );
        let is_amount = matches!(column, Column::UnitPrice | Column::UnitCost | Column::Price);
        if is_time && let Some(clock) = &known.clock {
            keys.push(format!("and_at = {}", quoted(clock.trim_start_matches(OUTER))));
        }
        if is_time && let Some(times) = &profile.times {
            let zone = self.asked.zone.map(|zone| format!("zone = {}", quoted(zone.name())));
            let local = (times.is_local || times.is_day && self.asked.zone.is_some())
                && (times.form.is_some() || zone.is_some());
            let with = |form: &Option<String>| {
                let mut keys: Vec<String> =
                    form.iter().map(|form| format!("time = {}", quoted(form))).collect();
                if local {
                    keys.extend(zone.clone().or_else(|| times.is_local.then(|| "zone = \"UTC\"".to_owned())));
                }
                keys
            };
            if known.clock.is_none() && self.sheet().has_loose_clock(chosen.column) {
                how = how.min(How::Likely);
                question = Some("A time of day stands beside it: does that belong to it?".to_owned());
            }
            if times.is_local && self.asked.zone.is_none() {
                how = how.min(How::Likely);
                question =
                    Some("The times do not say their zone: put the shop's own in place of UTC.".to_owned());
            }
            match (&times.other, self.day_first) {
                (None, _) | (Some(_), Some(true)) => keys.extend(with(&times.form)),
                (Some(other), Some(false)) => keys.extend(with(&Some(other.clone()))),
                (Some(other), None) => {
                    how = How::Open;
                    question =
                        Some("Day and month can be read in either order: which comes first?".to_owned());
                    let long = |form: &Option<String>| long(at, &[keys.clone(), with(form)].concat());
                    choices = vec![
                        ("the day first".to_owned(), long(&times.form)),
                        ("the month first".to_owned(), long(&Some(other.clone()))),
                    ];
                }
            }
        }
        if is_amount && let Some((form, amounts)) = &profile.amounts {
            match form {
                AmountForm::Decimal => {}
                AmountForm::Comma => keys.push("money = \"comma\"".to_owned()),
                AmountForm::Point => keys.push("money = \"point\"".to_owned()),
                AmountForm::Whole => {
                    let (is_minor, is_said) = self.is_minor(chosen.column, amounts);
                    if is_minor {
                        keys.push("money = \"minor-2\"".to_owned());
                    }
                    if !is_said {
                        how = how.min(How::Likely);
                        question = Some(
                            "All are whole numbers: are they cents, or whole units of money?".to_owned(),
                        );
                    }
                }
            }
        }
        if matches!(column, Column::Quantity | Column::CancelledQuantity)
            && known.values.iter().flatten().any(|text| text.contains(['.', ',']))
        {
            keys.push("pattern = '^([0-9]+)'".to_owned());
        }
        if matches!(column, Column::Buyable | Column::Available) {
            let mut list = Vec::new();
            let is_boolean =
                profile.frequent.iter().all(|(word, _)| matches!(word.as_str(), "true" | "false"));
            for (word, _) in profile.frequent.iter().filter(|_| !is_boolean) {
                match LEXICON.status("flag", word) {
                    Some(meaning) => list.push(format!("{} = {}", quoted(word), quoted(meaning))),
                    None => how = How::Open,
                }
            }
            if how == How::Open {
                question = Some("What the words mean is not known.".to_owned());
            }
            if !is_boolean {
                keys.push(format!("words = {{ {} }}", list.join(", ")));
            }
        }
        if column == Column::Currency {
            how = how.min(if profile.currencies > 0.99 { How::Sure } else { How::Likely });
        }
        if column == Column::OrderRef {
            match trim(known, &self.asked.beside.order_ids) {
                Some((trim, share)) if share > 0.5 => {
                    if trim != Default::default() {
                        keys.push(pattern(&trim.front, &trim.end));
                        why = format!(
                            "{why}; taken off: {}",
                            [&trim.front, &trim.end]
                                .into_iter()
                                .filter(|text| !text.is_empty())
                                .map(|text| format!("{text:?}"))
                                .collect::<Vec<_>>()
                                .join(" and ")
                        );
                    }
                }
                _ => {
                    how = how.min(How::Likely);
                    question = Some(
                        "Whether something stands before or behind the shop's order number cannot be told without the \
                         shop's orders (--beside MAP); [suppliers.NAME] references can take it off too."
                            .to_owned(),
                    );
                }
            }
        }
        if column == Column::Sku
            && matches!(self.planned.level, Level::SubmissionLines | Level::Variants)
            && let Some((trim, share)) = trim(known, &self.asked.beside.skus)
            // A catalogue has more than was sold.
            && share > if self.planned.level == Level::Variants { 0.1 } else { 0.5 }
            && trim != Default::default()
        {
            keys.push(pattern(&trim.front, &trim.end));
        }
        if how == How::Open && choices.is_empty() && question.is_none() {
            question = Some("Too little speaks for it.".to_owned());
        }
        let toml = (how != How::Open).then(|| short(at, &keys));
        if choices.is_empty() {
            choices.push((super::shown_name(known), short(at, &keys)));
            for other in &chosen.others {
                let column = &self.sheet().list.columns[*other];
                if let Some(at) = &column.at {
                    choices.push((super::shown_name(column), short(at, &[])));
                }
            }
        }
        let clock = known.clock.clone().filter(|_| is_time);
        let at = std::iter::once(at.clone()).chain(clock).collect();
        Draft { at, how, why, toml, question, choices, unknown_words: Vec::new() }
    }

    /// Whether whole numbers are minor units, and whether something says so.
    fn is_minor(&self, column: usize, amounts: &[Option<Decimal>]) -> (bool, bool) {
        let path =
            self.sheet().list.columns[column].path.iter().flat_map(|name| words(name)).collect::<Vec<_>>();
        let says = path.iter().any(|word| {
            matches!(
                word.as_str(),
                "cent"
                    | "cents"
                    | "ct"
                    | "cts"
                    | "minor"
                    | "pence"
                    | "centimes"
                    | "centimos"
                    | "units"
                    | "ore"
            )
        });
        let mut sorted: Vec<&Decimal> = amounts.iter().flatten().collect();
        sorted.sort();
        let middle = sorted.get(sorted.len() / 2).copied();
        let is_large = middle.is_some_and(|middle| *middle >= Decimal::from(MINOR));
        (says || is_large, says)
    }

    /// The column that says best what exactly a record is of.
    fn sku(&self) -> Option<usize> {
        ["sku", "variant_id"].iter().find_map(|meaning| {
            let said =
                self.asked.answers.places.get(&format!("{}.{meaning}", self.planned.level.table().name()));
            match said {
                Some(place) => self.named(place),
                None => {
                    let chosen = self.planned.chosen.get(meaning)?;
                    (chosen.evidence.score >= 3.0).then_some(chosen.column)
                }
            }
        })
    }

    fn options(&self, used: &BTreeSet<usize>) -> Option<Draft> {
        let inside: Vec<&Sheet<'_>> = self.planned.inside.iter().collect();
        if let Some(place) = self.asked.answers.places.get(&self.key(Column::Options))
            && place.is_empty()
        {
            return None;
        }
        let answers = &self.asked.answers;
        let by = options::By {
            used,
            told: answers.choices.get(self.planned.level.table().name()).map(Vec::as_slice),
            place: answers.places.get(&self.key(Column::Options)).map(String::as_str),
            skus: self.sku().map(|index| self.sheet().list.columns[index].values.as_slice()),
        };
        let Some(found) = options::find(self.sheet(), &inside, &by) else {
            return (self.planned.level == Level::Offers)
                .then(|| open("Nothing was found for the options of the offers.".to_owned()));
        };
        let how = if found.is_sure { How::Sure } else { How::Likely };
        let question = (how != How::Sure)
            .then(|| "Are these all the choices of a customer, and nothing that is typed?".to_owned());
        Some(Draft {
            at: vec![found.at],
            how,
            why: format!("{} ({})", found.why, found.names.join(", ")),
            toml: Some(found.toml),
            question,
            choices: Vec::new(),
            unknown_words: Vec::new(),
        })
    }

    /// Parcels of which the submissions themselves say when they went and under which number.
    fn parcels_of_records(&self) -> Option<ProposedTable> {
        if self.planned.level != Level::Submissions
            || self.all.iter().any(|planned| planned.level == Level::Parcels)
        {
            return None;
        }
        let answers = &self.asked.answers;
        if answers.lists.get(Table::Parcels.name()).is_some_and(Option::is_none) {
            return None;
        }
        let chosen = |meaning: Meaning, column: Column| match answers.places.get(&format!(
            "{}.{}",
            Table::Parcels.name(),
            column.name()
        )) {
            Some(place) => self.named(place).map(told),
            None => self.planned.chosen.get(meaning).cloned(),
        };
        let own = self.planned.chosen.get("submission_id").cloned();
        let id = match answers.places.get("submissions.submission_id") {
            Some(place) => self.named(place).map(told)?,
            None => own?,
        };
        let gone = chosen("dispatched_at", Column::DispatchedAt)?;
        let tracking = chosen("tracking_number", Column::TrackingNumber);
        let least = |chosen: &Chosen, least: f64| chosen.evidence.score >= least;
        let parcel = match (chosen("parcel_id", Column::ParcelId), &tracking) {
            (Some(parcel), _) if least(&parcel, 6.0) => parcel,
            (_, Some(tracking)) if least(tracking, 3.0) => tracking.clone(),
            _ => return None,
        };
        if !least(&gone, 3.0) {
            return None;
        }
        let named = self.sheet().list.columns[parcel.column].at.clone()?;
        let when = self.sheet().list.columns[gone.column].at.clone()?;
        let here = |at: &str| format!("@{}", at.strip_prefix('$').unwrap_or(at));
        // What is not there is not the same as null (RFC 9535, 2.3.5.2.2).
        let there = |at: &str| format!("{0} && {0} != null && {0} != ''", here(at));
        let list = self.planned.at.strip_suffix("[*]").or(self.planned.at.strip_suffix(".*"))?;
        let at =
            format!("{list}[?{} && {} && {} && {}]", here(&named), there(&named), here(&when), there(&when));
        let mut fields = Vec::new();
        let mut add = |column: Column, chosen: &Chosen| {
            let mut draft = self.value(column, chosen);
            if column == Column::ParcelId {
                draft.how = draft.how.min(How::Likely);
                draft.why = format!("{}; no other column tells parcels apart", draft.why);
            }
            let mut field = self.field(column, draft);
            field.table = Table::Parcels.name();
            fields.push(field);
        };
        add(Column::ParcelId, &parcel);
        add(Column::SubmissionId, &id);
        add(Column::DispatchedAt, &gone);
        if let Some(carrier) = chosen("carrier", Column::Carrier).filter(|found| least(found, LIKELY_SCORE)) {
            add(Column::Carrier, &carrier);
        }
        if let Some(tracking) = &tracking {
            add(Column::TrackingNumber, tracking);
        }
        let columns = self.columns();
        Some(ProposedTable { table: Table::Parcels.name(), within: None, at, fields, columns })
    }
}

/// Where the records stand around those of a list, so many lists out.
fn around(list: &str, out: usize) -> &str {
    let mut at = list;
    for _ in 0..out {
        let inner = at.strip_suffix("[*]").or(at.strip_suffix(".*")).unwrap_or(at);
        let ends =
            [("[*]", 3), (".*", 2)].into_iter().filter_map(|(end, length)| Some(inner.rfind(end)? + length));
        at = &inner[..ends.max().unwrap_or(1)];
    }
    at
}

/// A column that the owner named.
fn told(column: usize) -> Chosen {
    let why = vec!["the owner says so".to_owned()];
    let evidence = super::score::Evidence { score: 10.0, is_exact: true, by_values: 5.0, why };
    Chosen { column, evidence, margin: 10.0, others: Vec::new() }
}

/// Where a field stands, in the short form where it has no keys.
fn short(at: &str, keys: &[String]) -> String {
    if keys.is_empty() && !at.starts_with(OUTER) { quoted(at) } else { long(at, keys) }
}

fn long(at: &str, keys: &[String]) -> String {
    let own = at.trim_start_matches(OUTER);
    let mut text = format!("{{ at = {}", quoted(own));
    let out = at.len() - own.len();
    if out > 0 {
        text += &format!(", around = {out}");
    }
    for key in keys {
        text += ", ";
        text += key;
    }
    text + " }"
}

fn pattern(front: &str, end: &str) -> String {
    let optional =
        |text: &str| if text.is_empty() { String::new() } else { format!("(?:{})?", regex::escape(text)) };
    let behind = if end.is_empty() { "(.+)".to_owned() } else { "(.+?)".to_owned() };
    format!("pattern = {}", quoted(&format!("^{}{behind}{}$", optional(front), optional(end))))
}

fn always_counted(why: &str) -> Draft {
    Draft {
        at: Vec::new(),
        how: How::Likely,
        why: why.to_owned(),
        toml: Some("{ counted = true }".to_owned()),
        question: None,
        choices: Vec::new(),
        unknown_words: Vec::new(),
    }
}

fn open(question: String) -> Draft {
    Draft {
        at: Vec::new(),
        how: How::Open,
        why: "nothing fits".to_owned(),
        toml: None,
        question: Some(question),
        choices: Vec::new(),
        unknown_words: Vec::new(),
    }
}

/// What a column of a table is called among the meanings.
fn meaning(level: Level, column: Column) -> Option<Meaning> {
    Some(match column {
        Column::OrderId => "order_id",
        Column::PlacedAt => "placed_at",
        Column::PaidAt => "paid_at",
        Column::Currency => "currency",
        Column::PromisedBy => "promised_by",
        Column::ShipToCountry => "ship_to_country",
        Column::UpdatedAt if matches!(level, Level::Orders | Level::Submissions) => "updated_at",
        Column::LineId | Column::SubmissionLineId => "line_id",
        Column::ListingId => "listing_id",
        Column::Sku => "sku",
        Column::Title => "title",
        Column::Quantity | Column::Units => "quantity",
        Column::CancelledQuantity => "cancelled_quantity",
        Column::UnitPrice => "unit_price",
        Column::Price => "price",
        Column::Buyable => "buyable",
        Column::VariantId => "variant_id",
        Column::Product => "product",
        Column::UnitCost => "unit_cost",
        Column::Available => "available",
        Column::SubmissionId => "submission_id",
        Column::OrderRef => "order_ref",
        Column::ReceivedAt => "received_at",
        Column::Replaces => "replaces",
        Column::OrderLineRef => "order_line_ref",
        Column::ParcelId => "parcel_id",
        Column::DispatchedAt => "dispatched_at",
        Column::Carrier => "carrier",
        Column::TrackingNumber => "tracking_number",
        _ => return None,
    })
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
