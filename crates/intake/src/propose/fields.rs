//! From the columns that were chosen to the fields of a mapping, each with its reason, how sure it is, and what to ask.
//!
//! `value` makes those of one value, `requests` what stands around the tables, and `parcels_of_records` the parcels that are
//! told in the records of orders. Must not know how columns are chosen. Start reading at [`Maker::table`].

use std::collections::BTreeSet;

use super::choices;
use super::level::Level;
use super::lexicon::Meaning;
use super::options;
use super::plan::{Planned, Shaped};
use super::rows::Grouping;
use super::score::Chosen;
use super::sheet::{OUTER, Sheet};
use super::status::{self, State};
use super::value::{LIKELY_SCORE, SURE_MARGIN};
use super::write::quoted;
use super::{Asked, How, ProposedField, ProposedTable, SampleColumn};
use crate::tables::{Column, Need, Table};

/// In place of a place: the name under which a record stands.
pub(super) const OWN_KEY: &str = "own_key";

/// How many values of a column are shown.
const EXAMPLES: usize = 3;

/// What values have to say of a column of a state, none of whose words is known.
const SHOWN: f64 = 1.0;

/// Makes the fields of a table.
pub(super) struct Maker<'m, 'v> {
    pub(super) planned: &'m Planned<'v>,
    pub(super) all: &'m [Planned<'v>],
    pub(super) shaped: &'m Shaped,
    pub(super) asked: &'m Asked,
    pub(super) day_first: Option<bool>,
}

/// A field before it is decided whether it is asked.
pub(super) struct Draft {
    pub(super) at: Vec<String>,
    pub(super) how: How,
    pub(super) why: String,
    pub(super) toml: Option<String>,
    pub(super) question: Option<String>,
    pub(super) choices: Vec<(String, String)>,
    pub(super) unknown_words: Vec<String>,
}

impl Maker<'_, '_> {
    pub(super) fn sheet(&self) -> &Sheet<'_> {
        &self.planned.sheet
    }

    fn key(&self, column: Column) -> String {
        format!("{}.{}", self.planned.level.table().name(), column.name())
    }

    pub(super) fn table(&self) -> (ProposedTable, Vec<String>) {
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
    pub(super) fn columns(&self) -> Vec<SampleColumn> {
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

    pub(super) fn field(&self, column: Column, draft: Draft) -> ProposedField {
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
        let rows = self.shaped.grouping.as_ref().map(Grouping::rows_at);
        let rows = rows.or_else(|| self.shaped.numbered.as_ref().map(|_| "$[*]".to_owned()));
        let rows = rows.filter(|_| out == 0);
        let list = rows.as_deref().unwrap_or_else(|| around(&sheet.list.at, out));
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
                Column::Quantity if self.sheet().are_pieces() => Some(Draft {
                    at: Vec::new(),
                    how: How::Likely,
                    why: "no column says how many, and rows stand there again: each is one piece".to_owned(),
                    toml: Some("{ always = \"1\" }".to_owned()),
                    question: Some("Is each row one piece?".to_owned()),
                    choices: Vec::new(),
                    unknown_words: Vec::new(),
                }),
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
                let lines = self.all.iter().find(|planned| planned.within == Some(Level::Submissions));
                let lines = lines.filter(|planned| planned.level == Level::SubmissionLines);
                let lines = lines.map(|planned| &planned.sheet);
                (status::of_submissions(sheet, chosen, meaning, &given, lines), &[meaning][..])
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

    pub(super) fn words_given(&self, column: Column) -> status::Given {
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
                // A line that says nothing is as its submission is.
                Level::SubmissionLines => status::of_lines(self.sheet(), &chosen_now, meaning, &given),
                _ => status::of_submissions(self.sheet(), &chosen_now, meaning, &given, None),
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
    pub(super) fn named(&self, place: &str) -> Option<usize> {
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
        let is_shown = meanings
            .iter()
            .filter_map(|meaning| self.planned.chosen.get(meaning))
            .any(|chosen| chosen.evidence.by_values >= SHOWN);
        // Words are asked by themselves; where none is known and nothing else tells, it may be another column altogether.
        let how = match (unknown.is_empty(), at.is_empty()) {
            (false, _) if !some_known && !is_shown => How::Open,
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
        let of_listing = || {
            let listing =
                self.planned.chosen.get("listing_id").filter(|_| self.planned.level == Level::Offers)?;
            let is_asked = by.told.is_none() && by.place.is_none();
            let listing = &self.sheet().list.columns[listing.column].values;
            is_asked.then(|| choices::find(self.sheet(), listing, &by)).flatten()
        };
        let Some(found) = options::find(self.sheet(), &inside, &by).or_else(of_listing) else {
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
pub(super) fn told(column: usize) -> Chosen {
    let why = vec!["the owner says so".to_owned()];
    let evidence = super::score::Evidence { score: 10.0, is_exact: true, by_values: 5.0, why };
    Chosen { column, evidence, margin: 10.0, others: Vec::new() }
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
        Column::UpdatedAt if matches!(level, Level::Orders | Level::Submissions | Level::SubmissionLines) => {
            "updated_at"
        }
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
