//! Trying a source, step by step, so that whoever declares it sees what works and what does not.
//!
//! Nothing is kept. Must not know how it is shown. Start reading at [`Reader::check`].

use std::fmt;

use serde_json::Value;

use super::error::PollError;
use super::{Fetched, Reader};
use crate::source::declare::{FoundRecords, OptionsAt, Request, TableMapping, Take};
use crate::source::http::{Answer, Trouble, Validators};
use crate::source::pages::{Asking, Page, are_the_same};
use crate::tables::Table;

/// What was tried.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Thing {
    /// Whether the address answers.
    Address,
    /// Whether the sign-in is taken; of a source without one, whether it wants one.
    SignIn,
    /// Whether there is a first page that can be read.
    FirstPage,
    /// Where the fields were found.
    Fields,
    /// Whether the next page is another.
    NextPage,
}

/// The steps in the words of an owner.
impl fmt::Display for Thing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Address => "address",
            Self::SignIn => "sign-in",
            Self::FirstPage => "first page",
            Self::Fields => "fields",
            Self::NextPage => "next page",
        })
    }
}

/// One step.
#[derive(Debug)]
pub struct Checked {
    /// Of which request.
    pub request: String,
    /// What was tried.
    pub thing: Thing,
    /// What came of it.
    pub outcome: Outcome,
}

/// What came of a step.
#[derive(Debug)]
pub enum Outcome {
    /// It works; perhaps with a clause on what was found.
    Works(Option<String>),
    /// It was read, and these are the fields, in how many records each was known. One that never was may stand elsewhere.
    Seen(Vec<FieldSeen>),
    /// It could not be tried, with a clause that says why. Nothing is wrong.
    NotTried(String),
    /// It does not work. The steps behind it were not tried.
    Fails(PollError),
}

/// A field, and how often it was there.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FieldSeen {
    /// The table.
    pub table: &'static str,
    /// The column.
    pub column: &'static str,
    /// In how many records of the first page it is known.
    pub known: usize,
    /// How many records of the table there are on it.
    pub records: usize,
}

impl Reader {
    /// Tries all requests, each up to the first step that does not work.
    pub async fn check(&self) -> Vec<Checked> {
        let mut steps = Vec::new();
        for request in &self.service.requests {
            steps.extend(self.check_request(request).await);
        }
        steps
    }

    /// Tries one request, up to the first step that does not work.
    pub async fn check_request(&self, request: &Request) -> Vec<Checked> {
        let mut steps = Vec::new();
        let mut add = |thing, outcome| steps.push(Checked { request: request.name.clone(), thing, outcome });
        let row = match self.some_row(request).await {
            Ok(Some(row)) => row,
            Ok(None) => {
                let why = "it is asked for each row of another request, and that brings none now";
                add(Thing::FirstPage, Outcome::NotTried(why.to_owned()));
                return steps;
            }
            Err(_) => {
                let why = "the request that brings the rows for which it is asked does not work";
                add(Thing::FirstPage, Outcome::NotTried(why.to_owned()));
                return steps;
            }
        };
        let asking = Asking { reader: self, request, row: row.as_ref(), since: None, take: None };
        let (page, body) = match first_page(&asking).await {
            Ok(found) => found,
            Err(error) => {
                let (before, stopped) = stopped(&error);
                for works in before {
                    add(*works, Outcome::Works(None));
                }
                add(stopped, Outcome::Fails(error));
                return steps;
            }
        };
        add(Thing::Address, Outcome::Works(None));
        add(
            Thing::SignIn,
            Outcome::Works(self.service.sign_in.is_none().then(|| "none is asked for".to_owned())),
        );
        add(
            Thing::FirstPage,
            Outcome::Works(Some(match page.mapped.records {
                1 => "1 record".to_owned(),
                records => format!("{records} records"),
            })),
        );
        add(Thing::Fields, Outcome::Seen(fields(request, &body)));
        add(Thing::NextPage, next_page(&asking, &page).await);
        steps
    }
}

/// What a request says of a table that it brings.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TableDeclared {
    /// The table.
    pub table: &'static str,
    /// Where its records stand, as JSONPath.
    pub records_at: String,
    /// The columns that have a field, in the order of the table, each with where it stands: as JSONPath, several with
    /// commas between them, and of options by name a clause that says so; `None` where it is the same in every row.
    pub columns: Vec<(&'static str, Option<String>)>,
    /// The columns that its rows have from the record around them, or from the row for which was asked.
    pub inherited: Vec<&'static str>,
}

impl Request {
    /// The tables that it brings, the counted one first, and their columns.
    pub fn declared(&self) -> impl Iterator<Item = TableDeclared> {
        self.tables.iter().map(|mapping| TableDeclared {
            table: mapping.table.name(),
            records_at: mapping.records.at.to_string(),
            columns: mapping.fields.iter().map(|field| (field.column.name(), places(&field.take))).collect(),
            inherited: mapping.inherits.iter().map(|column| column.name()).collect(),
        })
    }
}

fn places(take: &Take) -> Option<String> {
    let listed = |places: &mut dyn Iterator<Item = String>| places.collect::<Vec<_>>().join(", ");
    match take {
        Take::Always(_) => None,
        Take::Counted => Some("its number in the list".to_owned()),
        Take::OwnKey => Some("the name under which it stands".to_owned()),
        Take::FirstOf(takes) => Some(listed(&mut takes.iter().filter_map(places))),
        Take::Around(_, take) => places(take).map(|places| format!("{places}, in the record around it")),
        Take::Options(OptionsAt::Text { at, .. }) => Some(format!("{at}, for the names under keep")),
        Take::Options(OptionsAt::Values { at, .. }) => Some(at.to_string()),
        Take::Options(OptionsAt::NamedAt { places, .. }) => {
            Some(listed(&mut places.iter().map(|(name, value)| format!("{name} and {value}"))))
        }
        Take::Value { at, .. } => Some(at.to_string()),
        Take::Options(OptionsAt::Object { at, .. } | OptionsAt::Pairs { at, .. }) => {
            Some(format!("{at}, for the names under keep"))
        }
        Take::Digest(places) => Some(listed(&mut places.iter().map(ToString::to_string))),
        Take::Options(OptionsAt::Columns(columns)) => {
            Some(listed(&mut columns.iter().map(|(_, at)| at.to_string())))
        }
    }
}

async fn first_page(asking: &Asking<'_>) -> Result<(Page, Value), PollError> {
    let position = asking.first();
    let url = asking.url(&position, 1)?;
    match asking.reader.client.get(&url, &Validators::default()).await {
        Ok(Answer::Json(json)) => Ok((asking.read_as(&json, &position, 1)?, json.body)),
        Ok(Answer::Unchanged { .. }) => Err(PollError::Refused { place: asking.place(1), status: 304 }),
        Err(trouble) => Err(PollError::of(asking.place(1), trouble)),
    }
}

/// The step that an error stopped, and those before it that work then.
fn stopped(error: &PollError) -> (&'static [Thing], Thing) {
    match error {
        // Whoever says that it cannot answer has not said what it thinks of the sign-in.
        PollError::Unreachable { trouble: Trouble::Busy { .. }, .. } => (&[Thing::Address], Thing::FirstPage),
        PollError::Unreachable { trouble: Trouble::Cut, .. } => {
            (&[Thing::Address, Thing::SignIn], Thing::FirstPage)
        }
        PollError::Unreachable { trouble: Trouble::NoToken { .. }, .. } => (&[], Thing::SignIn),
        PollError::Unreachable { .. } | PollError::Elsewhere { .. } | PollError::NoAddress { .. } => {
            (&[], Thing::Address)
        }
        PollError::SignIn { .. } => (&[Thing::Address], Thing::SignIn),
        // The source itself was not asked, or has said that it does not know the token.
        PollError::SignedOut { .. } | PollError::NoToken { .. } => (&[], Thing::SignIn),
        _ => (&[Thing::Address, Thing::SignIn], Thing::FirstPage),
    }
}

async fn next_page(asking: &Asking<'_>, first: &Page) -> Outcome {
    let Some(next) = &first.next else {
        return Outcome::NotTried(match seems_cut(asking.request, first) {
            Some(why) => format!(
                "there is none, though {why}; check `pages`, and whether the source names the next page only where \
                 `query` asks for the first one"
            ),
            None => "there is none".to_owned(),
        });
    };
    match asking.page(next, 2, &Validators::default()).await {
        Err(error) => Outcome::Fails(error),
        Ok(Fetched::Page(page)) if are_the_same(&page.records, &first.records) && page.records.len() > 1 => {
            Outcome::Fails(PollError::Repeats { place: asking.place(2) })
        }
        Ok(Fetched::Page(_)) => Outcome::Works(None),
        Ok(Fetched::NotThere | Fetched::Unchanged { .. }) => {
            Outcome::Works(Some("the first page is the last one".to_owned()))
        }
    }
}

/// Why a first page without a next one seems not to be all.
fn seems_cut(request: &Request, first: &Page) -> Option<String> {
    let records = first.mapped.records as u64;
    let size = request.pages.size.as_ref().map(|(_, size)| u64::from(size.get()));
    match (first.source_count, size) {
        (Some(count), _) => (count > records).then(|| format!("the source counts {count} records")),
        (None, Some(size)) => (records >= size).then(|| "this one is full".to_owned()),
        (None, None) => None,
    }
}

/// Every declared field, and in how many records it is known.
fn fields(request: &Request, body: &Value) -> Vec<FieldSeen> {
    // A body that was read as a page can be made regular.
    let regular = request.regular(body).ok().flatten();
    let body = regular.as_ref().unwrap_or(body);
    let mut seen = Vec::new();
    let mut found: Vec<(Table, Vec<&Value>)> = Vec::new();
    for mapping in &request.tables {
        let around = match mapping.within {
            None => vec![body],
            Some(table) => found
                .iter()
                .find(|(known, _)| *known == table)
                .map(|(_, records)| records.clone())
                .unwrap_or_default(),
        };
        let records: Vec<&Value> = around.into_iter().flat_map(|value| records_in(mapping, value)).collect();
        for field in &mapping.fields {
            let known = records.iter().filter(|record| is_known(&field.take, record)).count();
            seen.push(FieldSeen {
                table: mapping.table.name(),
                column: field.column.name(),
                known,
                records: records.len(),
            });
        }
        found.push((mapping.table, records));
    }
    seen
}

fn records_in<'v>(mapping: &TableMapping, value: &'v Value) -> Vec<&'v Value> {
    match mapping.records.find(value) {
        FoundRecords::These(records) => records,
        FoundRecords::Null | FoundRecords::NoList | FoundRecords::NotAList => Vec::new(),
    }
}

fn is_known(take: &Take, record: &Value) -> bool {
    let is_there = |value: &Value| !value.is_null() && value.as_str() != Some("");
    match take {
        Take::Always(_) | Take::Counted | Take::OwnKey => true,
        // What stands around it is told by what it reads.
        Take::Around(..) => true,
        Take::FirstOf(takes) => takes.iter().any(|take| is_known(take, record)),
        Take::Options(OptionsAt::Text { at, .. } | OptionsAt::Values { at, .. }) => {
            at.all(record).into_iter().any(is_there)
        }
        Take::Options(OptionsAt::NamedAt { places, keep }) => places.iter().any(|(name, value)| {
            let is_kept = |name: &Value| name.as_str().is_some_and(|name| keep.kept(name).is_some());
            name.all(record).into_iter().any(is_kept) && value.all(record).into_iter().any(is_there)
        }),
        Take::Value { at, .. } => at.all(record).into_iter().any(is_there),
        // Options that are not kept are as good as none.
        Take::Options(OptionsAt::Object { at, keep }) => at.all(record).into_iter().any(|options| {
            let mut options = options.as_object().into_iter().flatten();
            options.any(|(name, value)| keep.kept(name).is_some() && is_there(value))
        }),
        Take::Options(OptionsAt::Pairs { at, name, value, keep }) => at.all(record).into_iter().any(|pair| {
            let is_kept = |name: &Value| name.as_str().is_some_and(|name| keep.kept(name).is_some());
            name.all(pair).into_iter().any(is_kept) && value.all(pair).into_iter().any(is_there)
        }),
        Take::Digest(places) => places.iter().any(|at| at.all(record).into_iter().any(is_there)),
        Take::Options(OptionsAt::Columns(columns)) => {
            columns.iter().any(|(_, at)| at.all(record).into_iter().any(is_there))
        }
    }
}
