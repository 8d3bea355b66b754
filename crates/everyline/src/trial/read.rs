//! How the files of a trial are read: the mapping that is proposed for each source, with what was said of it.
//!
//! Proposed as `source propose` does, and settled as `source confirm` does. Must not know how that is shown. Start reading at
//! [`Read::of`].

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use digest::and;
use intake::export::{ExportError, Stated, read_bytes};
use intake::propose::{
    Answers, Asked, Beside, ListPlace, Proposal, ProposedField, Sample, completed, text, told_in,
};
use intake::source::declare::Source;
use toml_edit::{DocumentMut, Item, Value};

use super::{Deadline, Not, Side, Trial};
use crate::configuration::{Configuration, Settings};
use crate::propose::points::{self, settle};
use crate::propose::{beside_of, of_files};
use crate::trouble::Trouble;

/// What somebody said of the mapping of a source.
#[derive(Clone, Default, Debug)]
pub struct Said {
    /// By `table.column`: where it stands; empty: nowhere.
    pub places: BTreeMap<String, String>,
    /// By `table.column`: what words mean.
    pub words: BTreeMap<String, BTreeMap<String, String>>,
    /// By `table.column`: the name of the choice.
    pub choices: BTreeMap<String, String>,
    /// By table: the list that it is; `None`: none is.
    pub lists: BTreeMap<String, Option<ListPlace>>,
    /// Files of which nothing is read, and nothing is to be.
    pub left_out: BTreeSet<String>,
}

/// How the files are read.
#[derive(Debug)]
pub struct Read {
    /// Source by source.
    pub sources: Vec<ReadSource>,
    /// By what they can be judged; or why they cannot.
    pub judged_by: Result<(Settings, Vec<Source>), Not>,
}

/// How the files of one source are read.
#[derive(Debug)]
pub struct ReadSource {
    /// The proposal, with what was said.
    pub proposal: Proposal,
    /// The mapping as it is kept.
    pub mapping: DocumentMut,
    /// Of each file, how many rows or records it has.
    pub rows: Vec<u64>,
    /// Files of which nothing is read, and of which nobody said that nothing is to be.
    pub unread: Vec<String>,
}

impl ReadSource {
    /// What is open.
    pub fn open(&self) -> Vec<&ProposedField> {
        points::open(&self.mapping, &self.proposal)
    }

    /// The value of a field in the mapping.
    pub fn value(&self, field: &ProposedField) -> Option<&Item> {
        let requests = self.mapping.get("sources")?.get(&self.proposal.name)?.get("requests")?;
        let of_field = |request: &&intake::propose::ProposedRequest| {
            request.tables.iter().any(|table| {
                table.table == field.table
                    && table.fields.iter().any(|own| own.column == field.column && own.file == field.file)
            })
        };
        let request = self.proposal.requests.iter().find(of_field)?;
        requests.get(&request.name)?.get("tables")?.get(field.table)?.get("fields")?.get(field.column)
    }
}

/// The words of a field with what they mean, in order: those that the mapping has, and those that are not known. A word that
/// means `""` says nothing by itself.
pub fn words_of(source: &ReadSource, field: &ProposedField) -> Vec<(String, Option<String>)> {
    let mut words = BTreeMap::new();
    for word in &field.unknown_words {
        words.insert(word.clone(), None);
    }
    if let Some(value) = source.value(field).and_then(Item::as_value) {
        known_words(value, &mut words);
    }
    words.into_iter().filter(|(word, _)| !word.is_empty()).collect()
}

fn known_words(value: &Value, into: &mut BTreeMap<String, Option<String>>) {
    if let Some(several) = value.as_array() {
        several.iter().for_each(|one| known_words(one, into));
    }
    let Some(keys) = value.as_inline_table() else { return };
    for (name, value) in keys {
        match (name, value.as_inline_table()) {
            ("words", Some(words)) => {
                for (word, meaning) in words {
                    // Of several places the first one that says something counts.
                    let known = into.entry(word.to_owned()).or_default();
                    if known.as_ref().is_none_or(String::is_empty) {
                        *known = meaning.as_str().map(str::to_owned);
                    }
                }
            }
            _ => known_words(value, into),
        }
    }
}

impl Read {
    /// Looks at the files anew, with what was said.
    ///
    /// # Errors
    /// Where a file cannot be read, they have too many rows, or it takes too long.
    pub fn of(trial: &Trial, said: &[Said], most_rows: usize, deadline: Deadline) -> Result<Self, Not> {
        let mut sources: Vec<ReadSource> = Vec::new();
        let mut here = Vec::new();
        let mut left = most_rows as u64;
        let mut read = Vec::new();
        for side in &trial.sides {
            read.push(samples(trial, side, &mut left, most_rows, deadline)?);
            deadline.check()?;
        }
        // Of two numbers that an order has, the supplier's files tell which one it is told.
        let told = read.iter().skip(1).flat_map(|(samples, _)| told_in(samples)).collect();
        deadline.check()?;
        let mut beside = Beside { told, ..Beside::default() };
        for ((side, said), (samples, rows)) in trial.sides.iter().zip(said).zip(read) {
            let asked = Asked {
                name: side.source.clone(),
                role: side.role.clone(),
                zone: Some(trial.zone),
                folder: ".".to_owned(),
                beside: beside.clone(),
                answers: Answers {
                    places: said.places.clone(),
                    words: said.words.clone(),
                    lists: said.lists.clone(),
                    ..Answers::default()
                },
            };
            let proposal = intake::propose::propose(&samples, &asked);
            drop(samples);
            deadline.check()?;
            let mapping = settled(&proposal, said)?;
            let of_trial = of_trial(&mapping, &proposal, side);
            // The shop's own orders tell how a supplier writes their numbers.
            if sources.is_empty() && trial.sides.len() > 1 {
                let known = configured(trial, &of_trial, true)
                    .ok()
                    .and_then(|(settings, sources)| beside_of(&settings, &sources).ok());
                beside = known.unwrap_or_default();
                deadline.check()?;
            }
            here.push(of_trial);
            let is_unread = |name: &&String| {
                // Where there are no rows, nothing is missing.
                let has_rows =
                    side.files.iter().zip(&rows).any(|(file, rows)| file.name == **name && *rows > 0);
                has_rows && !said.left_out.contains(*name)
            };
            let unread = proposal.unused.iter().filter(is_unread).cloned().collect();
            sources.push(ReadSource { proposal, mapping, rows, unread });
        }
        let judged_by = judged_by(trial, &here, &sources);
        Ok(Self { sources, judged_by })
    }
}

type Samples = (Vec<Sample>, Vec<u64>);

fn samples(
    trial: &Trial,
    side: &Side,
    left: &mut u64,
    most_rows: usize,
    deadline: Deadline,
) -> Result<Samples, Not> {
    let mut samples = Vec::new();
    let mut rows = Vec::new();
    for file in &side.files {
        deadline.check()?;
        let bytes = fs::read(trial.folder.path().join(&file.here))
            .map_err(|_| Not::new("the files are there no longer", "give them again"))?;
        let export = read_bytes(&file.name, bytes, &Stated::default()).map_err(|error| unread(&error))?;
        let own = match &export.value {
            _ if !export.lines.is_empty() => export.lines.len() as u64,
            serde_json::Value::Array(records) => records.len() as u64,
            serde_json::Value::Object(keys) => keys
                .values()
                .filter_map(|value| value.as_array())
                .map(|list| list.len() as u64)
                .max()
                .unwrap_or(1),
            _ => 0,
        };
        *left = left.checked_sub(own).ok_or_else(|| {
            Not::new(
                format!("the files have more than {most_rows} rows together"),
                "give fewer days at once, or use `everyline audit --from DIR --map FILE`, which takes more",
            )
        })?;
        rows.push(own);
        samples.push(Sample { name: file.name.clone(), export });
    }
    Ok((samples, rows))
}

fn unread(error: &ExportError) -> Not {
    Not::new(
        format!("a file cannot be read: {}", error.to_string().trim_end_matches('.')),
        "nothing of the files was kept; put that right and give them again",
    )
}

/// The mapping as it is kept, with what was said.
fn settled(proposal: &Proposal, said: &Said) -> Result<DocumentMut, Not> {
    let not = |_| Not::new("no mapping could be written for the files", "give other files");
    let mut mapping: DocumentMut = text(proposal).parse().map_err(not)?;
    let answered = settle(&mut mapping, proposal, &mut |question| {
        Ok(match &question.word {
            Some(word) => said.words.get(&question.field).and_then(|words| words.get(word)).cloned(),
            None => {
                let chosen = said.choices.get(&question.field);
                let choice = question.choices.iter().find(|(label, _)| Some(label) == chosen);
                choice.map(|(_, value)| value.clone())
            }
        })
    });
    answered.map_err(|trouble| Not::new(trouble.cause(), "give other files"))?;
    Ok(mapping)
}

/// The mapping by which the files are read where they lie, under names of ours.
fn of_trial(mapping: &DocumentMut, proposal: &Proposal, side: &Side) -> String {
    let mut mapping = mapping.clone();
    for request in &proposal.requests {
        let name = request.tables.iter().flat_map(|table| &table.fields).map(|field| &field.file).next();
        let Some(file) = side.files.iter().find(|file| Some(&file.name) == name) else { continue };
        mapping["sources"][&proposal.name]["requests"][&request.name]["file"] =
            Item::Value(Value::from(&file.here));
    }
    mapping.to_string()
}

/// What a mapping says; with `completes` also where something is open in it. Otherwise why it says nothing.
fn configured(trial: &Trial, text: &str, completes: bool) -> Result<(Settings, Vec<Source>), Trouble> {
    let text = if completes { completed(text) } else { text.to_owned() };
    let configuration = Configuration::of_text(&text, &trial.folder.path().join("mapping"))?;
    let settings = configuration.shop(None)?.1.clone();
    let sources = of_files(&settings);
    Ok((settings, sources))
}

/// The settings of the first source, and all sources, as the command line takes them.
fn judged_by(trial: &Trial, texts: &[String], read: &[ReadSource]) -> Result<(Settings, Vec<Source>), Not> {
    let mut all: Option<(Settings, Vec<Source>)> = None;
    let (mut unread, mut empty, mut open) = (Vec::new(), Vec::new(), Vec::new());
    for ((side, text), source) in trial.sides.iter().zip(texts).zip(read) {
        unread.extend(source.unread.iter().map(|name| digest::isolated(name).to_string()));
        if source.proposal.requests.is_empty() {
            empty.push(side.whose());
            continue;
        }
        match configured(trial, text, false) {
            Ok((settings, sources)) => all.get_or_insert_with(|| (settings, Vec::new())).1.extend(sources),
            Err(trouble) if source.open().is_empty() => {
                return Err(Not::new(
                    format!("The files of {} cannot be read: {}", side.whose(), trouble.cause()),
                    "go back to how the files are read, and say it otherwise there",
                ));
            }
            Err(_) => open.push(side.whose()),
        }
    }
    let not = |why: String| Err(Not::new(why, "go back to how the files are read, and say what is open"));
    let tables = read.iter().flat_map(|source| &source.proposal.requests).flat_map(|request| &request.tables);
    let mut named = tables.map(|table| table.table);
    let has_another_side = named.any(|table| ["links", "submissions", "variants"].contains(&table));
    if !unread.is_empty() {
        return not(format!(
            "Nothing is read of {} yet: say what is in it, or leave it out. What is missing would look as if it had never \
             been sent",
            and(unread)
        ));
    }
    if !empty.is_empty() {
        return not(format!("Nothing can be read of the files of {}: give others", and(empty)));
    }
    if !has_another_side {
        return Err(Not::new(
            "There is nothing to compare the orders with: no files of a supplier were given",
            "give all files anew, with those of your suppliers",
        ));
    }
    match all {
        Some(all) if open.is_empty() => Ok(all),
        _ => not(format!(
            "The files of {} cannot be read yet: something is open that every row needs",
            and(open)
        )),
    }
}
