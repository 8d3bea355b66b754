//! What an answer holds for trying: the keys and the times of change of its records, and what it says of pages and counts.
//!
//! Must not know what is tried. Start reading at [`Lean`] and [`Signs`].

use std::collections::BTreeSet;

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use chrono_tz::Tz;
use serde_json::Value;
use url::{Url, form_urlencoded};

use super::names::{NAMES, plain};
use crate::propose::ProposedRequest;
use crate::propose::step;
use crate::source::declare::{At, Found, MomentForm, key_columns};
use crate::source::http::Json;
use crate::tables::Table;

/// How deep an answer is searched for what it says of itself.
const MAX_DEPTH: usize = 4;

/// How many values of an answer are looked at for that.
const MAX_SAYINGS: usize = 300;

/// What is needed of the records of an answer to tell whether another answer has others. It is less than a mapping
/// needs, so that an open field keeps nothing from being tried.
#[derive(Clone, Debug)]
pub(super) struct Lean {
    pub(super) table: &'static str,
    pub(super) at: At,
    keys: Vec<At>,
    pub(super) changed: Option<ChangedAt>,
}

/// Where a record says when it changed.
#[derive(Clone, Debug)]
pub(super) struct ChangedAt {
    pub(super) at: At,
    /// The name of the field.
    pub(super) name: String,
    pub(super) form: MomentForm,
    /// As the configuration writes the form.
    pub(super) form_text: String,
    zone: Tz,
}

impl Lean {
    /// Of the first table of a request.
    pub(super) fn of(request: &ProposedRequest, zone: Tz) -> Option<Self> {
        let table = request.tables.iter().find(|table| table.within.is_none())?;
        let known = Table::ALL.iter().find(|known| known.name() == table.table)?;
        let columns: Vec<&str> = key_columns(*known).iter().map(|column| column.name()).collect();
        let is_key = |column: &str| columns.contains(&column);
        let keys = table.fields.iter().filter(|field| is_key(field.column) && field.toml.is_some());
        let keys = keys.filter_map(|field| match field.at.as_slice() {
            [one] => At::parse(one).ok(),
            _ => None,
        });
        let changed = table.fields.iter().find(|field| field.column == "updated_at").and_then(|field| {
            let [one] = field.at.as_slice() else { return None };
            changed_at(one, field.toml.as_deref()?, zone)
        });
        Some(Self { table: table.table, at: At::parse(&table.at).ok()?, keys: keys.collect(), changed })
    }

    /// The keys of the records, in the order of the answer.
    pub(super) fn keys(&self, body: &Value) -> Vec<String> {
        self.at.all(body).into_iter().map(|record| self.key(record)).collect()
    }

    fn key(&self, record: &Value) -> String {
        let parts: Vec<String> = self
            .keys
            .iter()
            .filter_map(|at| match at.one(record) {
                Found::One(value) => Some(value.to_string()),
                _ => None,
            })
            .collect();
        // What has no key is known by all that it says.
        if parts.is_empty() { record.to_string() } else { parts.join("\n") }
    }

    /// The keys of the records, and when each changed.
    pub(super) fn moments(&self, body: &Value) -> Vec<(String, Option<DateTime<Utc>>)> {
        let records = self.at.all(body).into_iter();
        records
            .map(|record| (self.key(record), self.changed.as_ref().and_then(|at| at.moment(record))))
            .collect()
    }
}

impl ChangedAt {
    fn moment(&self, record: &Value) -> Option<DateTime<Utc>> {
        let text = match self.at.one(record) {
            Found::One(Value::String(text)) => text.clone(),
            Found::One(Value::Number(number)) => number.to_string(),
            _ => return None,
        };
        let text = self.form.read(&text, self.zone).ok()??;
        let moment = DateTime::parse_from_rfc3339(&text).map(|moment| moment.to_utc()).ok();
        moment.or_else(|| Some(text.parse::<NaiveDate>().ok()?.and_time(NaiveTime::MIN).and_utc()))
    }
}

fn changed_at(at: &str, toml: &str, zone: Tz) -> Option<ChangedAt> {
    let table: toml::Table = toml::from_str(&format!("field = {toml}")).ok()?;
    let field = table.get("field")?;
    let said = |key: &str| field.get(key).and_then(toml::Value::as_str).map(str::to_owned);
    let form_text = said("time").unwrap_or_else(|| "rfc3339".to_owned());
    let zone = said("zone").and_then(|zone| zone.parse().ok()).unwrap_or(zone);
    let name = at.trim_end_matches(['\'', ']']).rsplit(['.', '\'']).next()?.to_owned();
    Some(ChangedAt {
        at: At::parse(at).ok()?,
        name,
        form: MomentForm::parse(&form_text).ok()?,
        form_text,
        zone,
    })
}

/// Where an answer says how many records there are in all.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum CountAt {
    Place(String),
    Header(String),
}

impl CountAt {
    /// Its name, without what stands between its words.
    fn name(&self) -> String {
        match self {
            Self::Header(name) => plain(name),
            Self::Place(at) => plain(at.rsplit(['.', '\'']).find(|part| part.len() > 1).unwrap_or_default()),
        }
    }

    /// Whether it may count no more than the records of a page: it bears a name that is used for that, and as many came as
    /// services have on a page.
    pub(super) fn may_be_of_page(&self, records: usize) -> bool {
        NAMES.says.count_of_page.contains(&self.name()) && NAMES.usual.size.contains(&records)
    }
}

/// What an answer says of pages and counts.
#[derive(Clone, Default, Debug)]
pub(super) struct Signs {
    /// By the header line `Link`.
    pub(super) link: Option<Url>,
    /// Places of addresses of a next page, and the addresses.
    pub(super) addresses: Vec<(String, String)>,
    /// Places of cursors, their names, and the cursors.
    pub(super) cursors: Vec<(String, String, String)>,
    /// What may be the count of all records.
    pub(super) counts: Vec<(CountAt, u64)>,
    /// The number of this page, and the name under which it is said.
    pub(super) page: Option<(String, u64)>,
    /// The number of the next one.
    pub(super) next_number: Option<u64>,
    pub(super) pages: Option<u64>,
    pub(super) size: Option<(String, u64)>,
    pub(super) offset: Option<(String, u64)>,
    /// Whether there is more.
    pub(super) more: Option<bool>,
    /// Whether it has a place for the next page, and nothing there.
    pub(super) has_no_next: bool,
    /// Names of parameters that stand in its links, or among what it says of itself, and sound of changes.
    pub(super) since: Vec<String>,
}

impl Signs {
    /// Of an answer whose records stand where they do.
    pub(super) fn of(json: &Json, lean: &Lean) -> Self {
        let mut signs = Self { link: json.next_link().ok().flatten(), ..Self::default() };
        let mut said = Vec::new();
        sayings(&json.body, "$", &lean.at.all(&json.body), &mut Vec::new(), &mut said);
        for saying in &said {
            signs.take(saying);
        }
        for header in &NAMES.says.count_header {
            if let Some(count) = json.header(header).and_then(|value| value.trim().parse().ok()) {
                signs.counts.push((CountAt::Header(header.clone()), count));
            }
        }
        // Of the places the most usual name first.
        let rank = |at: &CountAt| match at {
            CountAt::Header(_) => 0,
            CountAt::Place(_) => {
                let name = at.name();
                1 + NAMES.says.count.iter().position(|known| *known == name).unwrap_or(usize::MAX - 1)
            }
        };
        signs.counts.sort_by_key(|(at, _)| rank(at));
        let mut seen = BTreeSet::new();
        signs.since.retain(|name| seen.insert(name.clone()));
        signs
    }

    fn take(&mut self, saying: &Saying<'_>) {
        let Saying { at, names, value } = saying;
        let name = names.last().map(|name| plain(name)).unwrap_or_default();
        // As in `links: { next: … }` and `next: { href: … }`.
        let around = names.len().checked_sub(2).and_then(|at| names.get(at)).map(|name| plain(name));
        let is_next = |name: &str| NAMES.says.next_address.iter().any(|known| known == name);
        let leads_on = is_next(&name)
            || matches!(name.as_str(), "href" | "url" | "uri") && around.as_deref().is_some_and(is_next);
        let has = |known: &[String]| known.contains(&name);
        if let Value::String(text) = value {
            let names = parameters(text);
            self.since.extend(names.into_iter().filter(|name| sounds_of_changes(name)));
        }
        if sounds_of_changes(&name) && !leads_on && !has(&NAMES.says.cursor) {
            self.since.extend(names.last().cloned());
        }
        let is_address = |text: &str| text.starts_with(['/', '?']) || text.contains("://");
        match value {
            Value::Null if leads_on || has(&NAMES.says.cursor) => self.has_no_next = true,
            Value::String(text) if text.is_empty() && (leads_on || has(&NAMES.says.cursor)) => {
                self.has_no_next = true;
            }
            Value::String(text) if leads_on && is_address(text) => {
                self.addresses.push((at.clone(), text.clone()));
            }
            Value::String(text) if has(&NAMES.says.cursor) => {
                self.cursors.push((at.clone(), names.last().cloned().unwrap_or_default(), text.clone()));
            }
            Value::Bool(more) if has(&NAMES.says.more) => self.more = Some(*more),
            Value::Bool(false) if leads_on => self.has_no_next = true,
            Value::Number(number) => {
                let Some(number) = number.as_u64() else { return };
                let named = || names.last().cloned().unwrap_or_default();
                if has(&NAMES.says.next_number) {
                    self.next_number.get_or_insert(number);
                }
                if has(&NAMES.says.cursor) {
                    self.cursors.push((at.clone(), named(), number.to_string()));
                }
                if has(&NAMES.says.count) {
                    self.counts.push((CountAt::Place(at.clone()), number));
                } else if has(&NAMES.says.page) {
                    self.page.get_or_insert_with(|| (named(), number));
                } else if has(&NAMES.says.pages) {
                    self.pages.get_or_insert(number);
                } else if has(&NAMES.says.size) {
                    self.size.get_or_insert_with(|| (named(), number));
                } else if has(&NAMES.says.offset) {
                    self.offset.get_or_insert_with(|| (named(), number));
                }
            }
            _ => {}
        }
    }

    /// What it says that there are more records than so many, as a clause.
    pub(super) fn of_more(&self, records: usize) -> Option<String> {
        if self.link.is_some() {
            return Some("its header line Link names a next page".to_owned());
        }
        if let Some((at, _)) = self.addresses.first() {
            return Some(format!("{at} holds an address of a next page"));
        }
        if let Some((at, ..)) = self.cursors.first() {
            return Some(format!("{at} holds what may be a cursor"));
        }
        if let Some((_, count)) = self.counts.iter().find(|(_, count)| *count > records as u64) {
            return Some(format!("it counts {count} records and holds {records}"));
        }
        if self.more == Some(true) {
            return Some("it says that there are more".to_owned());
        }
        match self.pages {
            Some(pages) if pages > 1 => Some(format!("it says that there are {pages} pages")),
            _ => None,
        }
    }

    /// What it says that these are all records, as a clause.
    pub(super) fn of_whole(&self, records: usize) -> Option<String> {
        let is_all = |(at, count): &(CountAt, u64)| *count == records as u64 && !at.may_be_of_page(records);
        if self.counts.iter().any(is_all) {
            return Some(format!("it counts {records} records and holds as many"));
        }
        if self.more == Some(false) {
            return Some("it says that there are no more".to_owned());
        }
        if self.has_no_next {
            return Some("it names no next page".to_owned());
        }
        (self.pages == Some(1)).then(|| "it says that there is 1 page".to_owned())
    }
}

/// A single value outside the lists of an answer.
struct Saying<'v> {
    at: String,
    names: Vec<String>,
    value: &'v Value,
}

fn sayings<'v>(
    value: &'v Value,
    at: &str,
    records: &[&Value],
    names: &mut Vec<String>,
    said: &mut Vec<Saying<'v>>,
) {
    let Value::Object(members) = value else { return };
    // What a record says is not said of the answer.
    if records.iter().any(|record| std::ptr::eq(*record, value)) {
        return;
    }
    for (name, value) in members {
        if said.len() >= MAX_SAYINGS {
            return;
        }
        let at = format!("{at}{}", step(name));
        names.push(name.clone());
        match value {
            Value::Array(_) => {}
            Value::Object(_) if names.len() < MAX_DEPTH => sayings(value, &at, records, names, said),
            Value::Object(_) => {}
            _ => said.push(Saying { at, names: names.clone(), value }),
        }
        names.pop();
    }
}

fn sounds_of_changes(name: &str) -> bool {
    let name = plain(name);
    NAMES.sounds.since.iter().any(|sound| name.contains(sound.as_str()))
}

/// The names of the parameters of an address, where a text is one.
fn parameters(text: &str) -> Vec<String> {
    let Some((_, query)) = text.split_once('?') else { return Vec::new() };
    form_urlencoded::parse(query.as_bytes()).map(|(name, _)| name.into_owned()).collect()
}
