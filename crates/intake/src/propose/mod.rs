//! From a sample of an unknown source to the mapping that reads it: each field with where it stands, how sure that is,
//! and why.
//!
//! Pure: a sample comes as records that were read (`export`), and a proposal goes out as the text of a configuration.
//! `tree` finds the lists of records, `rows` what rows are one order, `profile` and `times` what values are like,
//! `lexicon` what names mean, `score` weighs it all and chooses by an optimal assignment, `plan` says which list is
//! which table (`parcels` where those of a supplier stand), `fields` makes the fields (`value` those of one value),
//! `requests` what stands around them, and `write` the text; `answers` is
//! the same of a service. Samples in the terms of a published vocabulary are read by the mapping that the program has of
//! it (`schema_org`). Must not know how a source is read. Start reading at [`propose`].

mod amounts;
mod answers;
mod choices;
mod completed;
mod fields;
mod guesses;
mod level;
mod lexicon;
mod missing;
mod moments;
mod options;
mod parcels;
mod parcels_of_records;
mod pieces;
mod plan;
mod profile;
mod relations;
mod reports;
mod requests;
mod rows;
mod score;
mod sheet;
mod status;
mod times;
mod told;
mod tree;
mod value;
mod values;
mod write;

use std::collections::{BTreeMap, BTreeSet};

use chrono_tz::Tz;

use crate::export::Export;
use crate::schema_org;

pub use answers::propose_answers;
pub use completed::completed;
pub(crate) use tree::step;
pub(crate) use write::{comment, key, quoted};
pub use write::{text, text_of_service, text_of_tables};

/// What is known before.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The name that the source gets.
    pub name: String,
    /// What it is a source of.
    pub role: ProposedRole,
    /// The zone of times that do not say theirs; `None`: not known.
    pub zone: Option<Tz>,
    /// Where the files are: the folder as the configuration is to say it.
    pub folder: String,
    /// What the other side of the shop is known to have, where it was given.
    pub beside: Beside,
    /// What the owner said.
    pub answers: Answers,
}

/// What the shop's other sources have: values that stand in both are evidence.
#[derive(Clone, Default, Debug)]
pub struct Beside {
    /// The shop's order numbers.
    pub order_ids: BTreeSet<String>,
    /// The shop's SKUs.
    pub skus: BTreeSet<String>,
    /// The ids of the lines of the shop's orders.
    pub line_ids: BTreeSet<String>,
    /// When the shop's orders were placed, as seconds since 1970.
    pub placed: BTreeSet<i64>,
    /// What suppliers' files say, column by column: the order's number that they are told is there.
    pub told: Vec<BTreeSet<String>>,
}

/// How many different values of a column tell whether an order's number is there.
const MANY: usize = 400;

/// What stands in the columns of samples in which the number of an order may stand, as [`Beside::told`] has it.
pub fn told_in(samples: &[Sample]) -> Vec<BTreeSet<String>> {
    let mut told = Vec::new();
    for list in samples.iter().flat_map(|sample| tree::tree(&sample.export.value)) {
        for column in &list.columns {
            let has_digit = |text: &&String| text.bytes().any(|byte| byte.is_ascii_digit());
            let values: BTreeSet<String> =
                column.values.iter().flatten().filter(has_digit).take(MANY).cloned().collect();
            if values.len() > 3 && times::find(&column.values, column.is_number).is_none() {
                told.push(values);
            }
        }
    }
    told
}

/// What the owner said of open points.
#[derive(Clone, Default, Debug)]
pub struct Answers {
    /// By `table.column`: where it stands (a column's name, or a JSONPath from the record), or empty for nowhere.
    pub places: BTreeMap<String, String>,
    /// By `table.column`: what words mean.
    pub words: BTreeMap<String, BTreeMap<String, String>>,
    /// Whether the day comes before the month, where both can be read.
    pub day_first: Option<bool>,
    /// By table: the places that together say its records' status.
    pub states: BTreeMap<String, Vec<StatePart>>,
    /// By table: the list that it is; `None`: none is.
    pub lists: BTreeMap<String, Option<ListPlace>>,
    /// By table: the names of the choices that are kept.
    pub choices: BTreeMap<String, Vec<String>>,
}

/// One of several places that together say a status. Of all that they say, the strongest counts: cancelled, then unpaid,
/// then dispatched, then open.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StatePart {
    /// A column's name, or a JSONPath from the top.
    pub place: String,
    /// What its words mean; `*` is any, and the empty word that nothing stands there.
    pub words: BTreeMap<String, String>,
}

/// A list of records in a sample.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ListPlace {
    /// The file.
    pub file: String,
    /// Where its records stand, as JSONPath from the top; `None`: the rows of the file.
    pub at: Option<String>,
}

/// What a source is a source of.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ProposedRole {
    /// Orders and offers.
    Storefront,
    /// Variants, submissions and parcels of the supplier of this name.
    Supplier(String),
}

impl ProposedRole {
    /// As the configuration has it.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Storefront => "storefront",
            Self::Supplier(_) => "supplier",
        }
    }

    /// The supplier's name.
    pub fn supplier(&self) -> Option<&str> {
        match self {
            Self::Storefront => None,
            Self::Supplier(name) => Some(name),
        }
    }
}

/// A file of which is known what it holds.
#[derive(Clone, Debug)]
pub struct Sample {
    /// The name of the file, without its folder.
    pub name: String,
    /// What stands in it.
    pub export: Export,
}

/// How sure a field is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum How {
    /// Not known: the owner is asked.
    Open,
    /// To be confirmed.
    Likely,
    /// By name and by values.
    Sure,
}

impl How {
    /// `sure`, `likely` or `open`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Likely => "likely",
            Self::Sure => "sure",
        }
    }
}

/// A proposed mapping.
#[derive(Clone, Debug)]
pub struct Proposal {
    /// The name of the source.
    pub name: String,
    /// What it is a source of.
    pub role: ProposedRole,
    /// The shop's zone, where it is known.
    pub zone: Option<Tz>,
    /// Further keys of the source, as lines of configuration.
    pub head: String,
    /// Its requests.
    pub requests: Vec<ProposedRequest>,
    /// What the owner should know of it as a whole.
    pub notes: Vec<String>,
    /// Tables that were not found and may be there; and those of which the owner said where they are.
    pub missing: Vec<MissingTable>,
    /// Files of which nothing is read.
    pub unused: Vec<String>,
}

/// A table of which an owner may say which list it is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MissingTable {
    /// Its name.
    pub table: &'static str,
    /// The lists that may be it.
    pub lists: Vec<FoundList>,
    /// What was said of it: the list, or that there is none.
    pub said: Option<Option<ListPlace>>,
    /// Whether nothing can be judged without it.
    pub is_needed: bool,
}

/// A list of records that stands in a sample.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FoundList {
    /// Where it stands.
    pub place: ListPlace,
    /// The first names of what its records have.
    pub names: Vec<String>,
    /// How many there are.
    pub records: u64,
}

impl FoundList {
    /// As a person reads it: `$.despatches[*] of runs.json: 12 records of number, left and ticket`.
    pub fn words(&self) -> String {
        let at = self.place.at.as_ref().map(|at| format!("{at} of ")).unwrap_or_default();
        format!("{at}{}: {} records with {}", self.place.file, self.records, self.names.join(", "))
    }
}

/// A proposed request.
#[derive(Clone, Debug)]
pub struct ProposedRequest {
    /// Its name.
    pub name: String,
    /// Its keys, as lines of configuration.
    pub head: String,
    /// Its tables.
    pub tables: Vec<ProposedTable>,
    /// The names of what is not kept.
    pub ignored: Vec<String>,
}

/// A proposed table.
#[derive(Clone, Debug)]
pub struct ProposedTable {
    /// Its name.
    pub table: &'static str,
    /// The table within whose records its own stand.
    pub within: Option<&'static str>,
    /// Where its records stand.
    pub at: String,
    /// Its fields.
    pub fields: Vec<ProposedField>,
    /// What there is in its records; of what a published vocabulary says, nothing.
    pub columns: Vec<SampleColumn>,
}

/// A column of a sample, or a place in its records.
#[derive(Clone, Debug)]
pub struct SampleColumn {
    /// Where it stands in a record, as [`ProposedField::at`] and [`Answers::places`] have it.
    pub at: String,
    /// Its name, or the JSONPath from the top.
    pub name: String,
    /// The first different values, at most three.
    pub examples: Vec<String>,
}

/// A proposed field.
#[derive(Clone, Debug)]
pub struct ProposedField {
    /// Its table.
    pub table: &'static str,
    /// Its column.
    pub column: &'static str,
    /// Where it stands: JSONPath from the record, several where it follows from several.
    pub at: Vec<String>,
    /// The file, and where in it: of a table the names of columns, of JSON the JSONPath from the top.
    pub file: String,
    /// Likewise.
    pub places: Vec<String>,
    /// How sure that is.
    pub how: How,
    /// A clause: what speaks for it.
    pub why: String,
    /// Its value in the configuration; `None` where it is open.
    pub toml: Option<String>,
    /// What the owner is asked, where there is something to ask.
    pub question: Option<String>,
    /// What may be answered: in words, and the value that makes.
    pub choices: Vec<(String, String)>,
    /// Words whose meaning is not known.
    pub unknown_words: Vec<String>,
}

impl Proposal {
    /// All fields.
    pub fn fields(&self) -> impl Iterator<Item = &ProposedField> {
        self.requests.iter().flat_map(|request| &request.tables).flat_map(|table| &table.fields)
    }
}

/// Proposes a mapping for a source, of which these are samples.
///
/// Never fails: what is not found stays open.
pub fn propose(samples: &[Sample], asked: &Asked) -> Proposal {
    let (known, others) = of_vocabularies(samples, asked);
    let shape = |may_group: bool| -> Vec<plan::Shaped> {
        others.iter().map(|sample| plan::Shaped::of(sample, asked, may_group)).collect()
    };
    let mut shaped = shape(true);
    let mut planned = plan::plan(&shaped, asked);
    // Where rows put together are nothing, each may be a record.
    if planned.tables.is_empty() {
        shaped = shape(false);
        planned = plan::plan(&shaped, asked);
    }
    let mut proposal = requests::proposal(&shaped, &planned, asked);
    let passed_over = samples
        .iter()
        .filter_map(|sample| Some(format!("{}: {}.", sample.name, sample.export.says_passed_over()?)));
    proposal.notes.extend(passed_over);
    if known.is_empty() {
        return proposal;
    }
    if shaped.is_empty() {
        // Nothing was looked for, and what is in the terms of a vocabulary is no table.
        proposal.notes.clear();
    }
    for (mut request, note) in known {
        proposal.missing.retain(|missing| request.tables.iter().all(|table| table.table != missing.table));
        // What is missing elsewhere is here.
        let brings = |note: &String| {
            request.tables.iter().any(|table| note.contains(&format!("for the table {}.", table.table)))
        };
        proposal.notes.retain(|note| !brings(note));
        proposal.notes.push(note);
        let mut number = 1;
        while proposal.requests.iter().any(|other| other.name == request.name) {
            number += 1;
            request.name = format!("orders_{number}");
        }
        proposal.requests.push(request);
    }
    proposal
}

/// The requests for samples in the terms of a published vocabulary, each with what is to be known of it, and the samples
/// that are left.
fn of_vocabularies<'s>(
    samples: &'s [Sample],
    asked: &Asked,
) -> (Vec<(ProposedRequest, String)>, Vec<&'s Sample>) {
    let mut known = Vec::new();
    let mut others = Vec::new();
    for sample in samples {
        let is_of_a_shop = asked.role == ProposedRole::Storefront;
        match is_of_a_shop.then(|| schema_org::request(sample, "orders")).flatten() {
            Some(request) => known.push(request),
            None => others.push(sample),
        }
    }
    (known, others)
}

/// A place as it is compared: `$.data[*]['a b'].c` and `data[*].a b.c` are the same.
fn plain_place(place: &str) -> String {
    let text = place.replace("['", ".").replace("']", "").replace("[*]", ".*");
    let parts: Vec<&str> = text.trim_start_matches('$').split('.').filter(|part| !part.is_empty()).collect();
    parts.join(".")
}

/// The name of a column as a person reads it.
fn shown_name(column: &tree::Column) -> String {
    match column.at {
        Some(_) => format!("\"{}\"", column.path.join(".")),
        None => "the name under which it stands".to_owned(),
    }
}
