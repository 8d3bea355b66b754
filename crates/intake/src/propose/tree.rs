//! What stands in a sample: its lists of records, how they stand within each other, and the columns of each.
//!
//! Must not know what a column means. Start reading at [`tree`].

use std::collections::BTreeMap;

use serde_json::Value;

use crate::source::mapping::scalar_text;

/// How many records of a list are looked at. More say nothing more of what a column means.
const MAX_RECORDS: usize = 5_000;

/// How deep objects are followed.
const MAX_DEPTH: usize = 12;

/// How many lists a sample may have that are looked at.
const MAX_LISTS: usize = 60;

/// A list of records.
#[derive(Clone, Debug)]
pub(super) struct List<'v> {
    /// Where its records stand in the document, as JSONPath.
    pub(super) at: String,
    /// Where they stand in the record around them.
    pub(super) at_within: String,
    /// The names on the way, the outermost first.
    pub(super) names: Vec<String>,
    /// The list within whose records it stands.
    pub(super) parent: Option<usize>,
    pub(super) records: Vec<&'v Value>,
    /// For each record, the record around it.
    pub(super) parent_of: Vec<usize>,
    pub(super) columns: Vec<Column>,
    /// The names under which the records stand, where they do in an object.
    pub(super) keys: Vec<String>,
}

/// A column of a list: what stands at one place of all its records.
#[derive(Clone, Debug)]
pub(super) struct Column {
    /// Where it stands in a record, as JSONPath; `None`: the name under which the record stands.
    pub(super) at: Option<String>,
    /// The names that lead there.
    pub(super) path: Vec<String>,
    /// For each record, what stands there; nothing where that is empty or null.
    pub(super) values: Vec<Option<String>>,
    /// Whether all that stands there are numbers of JSON.
    pub(super) is_number: bool,
    /// Of days: the place of the times of day that belong to them.
    pub(super) clock: Option<String>,
}

impl Column {
    /// Its own name.
    pub(super) fn name(&self) -> &str {
        self.path.last().map_or("", String::as_str)
    }
}

/// A step into a member: `.name`, or `['a name']`.
pub(crate) fn step(name: &str) -> String {
    let mut letters = name.chars();
    let is_plain = letters.next().is_some_and(|first| first.is_ascii_alphabetic() || first == '_')
        && letters.all(|letter| letter.is_ascii_alphanumeric() || letter == '_');
    if is_plain {
        return format!(".{name}");
    }
    let mut text = String::from("['");
    for letter in name.chars() {
        match letter {
            '\'' => text.push_str("\\'"),
            '\\' => text.push_str("\\\\"),
            letter if letter.is_control() => text.push_str(&format!("\\u{:04x}", letter as u32)),
            letter => text.push(letter),
        }
    }
    text + "']"
}

/// The lists of a document.
pub(super) fn tree(document: &Value) -> Vec<List<'_>> {
    let mut found = Found { lists: Vec::new(), by_place: BTreeMap::new() };
    match document {
        Value::Array(records) => found.add(Place::root("$[*]", "$[*]"), members(records)),
        Value::Object(_) if is_keyed(document) => {
            found.add(Place::root("$.*", "$.*"), keyed(document));
            found.keys("$.*", document);
        }
        Value::Object(_) => {
            found.inside(document, &Around { at: "$", within: "$", names: &[], parent: None }, 0)
        }
        _ => {}
    }
    let mut lists = found.lists;
    for list in &mut lists {
        list.columns = columns(list);
    }
    lists
}

struct Found<'v> {
    lists: Vec<List<'v>>,
    by_place: BTreeMap<String, usize>,
}

struct Place {
    at: String,
    within: String,
    names: Vec<String>,
    parent: Option<(usize, usize)>,
}

impl Place {
    fn root(at: &str, within: &str) -> Self {
        Self { at: at.to_owned(), within: within.to_owned(), names: Vec::new(), parent: None }
    }
}

struct Around<'a> {
    at: &'a str,
    /// From the record around it.
    within: &'a str,
    names: &'a [String],
    /// The list, and the record in it.
    parent: Option<(usize, usize)>,
}

fn members(records: &[Value]) -> Vec<&Value> {
    records.iter().collect()
}

fn keyed(object: &Value) -> Vec<&Value> {
    object.as_object().into_iter().flat_map(|object| object.values()).collect()
}

impl<'v> Found<'v> {
    fn add(&mut self, place: Place, records: Vec<&'v Value>) {
        let records: Vec<&Value> = records.into_iter().filter(|record| record.is_object()).collect();
        let index = match self.by_place.get(&place.at) {
            Some(index) => *index,
            None if self.lists.len() >= MAX_LISTS => return,
            None => {
                self.by_place.insert(place.at.clone(), self.lists.len());
                self.lists.push(List {
                    at: place.at.clone(),
                    at_within: place.within.clone(),
                    names: place.names.clone(),
                    parent: place.parent.map(|(list, _)| list),
                    records: Vec::new(),
                    parent_of: Vec::new(),
                    columns: Vec::new(),
                    keys: Vec::new(),
                });
                self.lists.len() - 1
            }
        };
        for record in records {
            if self.lists[index].records.len() >= MAX_RECORDS {
                return;
            }
            let number = self.lists[index].records.len();
            self.lists[index].records.push(record);
            self.lists[index].parent_of.push(place.parent.map_or(0, |(_, record)| record));
            let around =
                Around { at: &place.at, within: "$", names: &place.names, parent: Some((index, number)) };
            self.inside(record, &around, 0);
        }
    }

    /// Notes the names under which records stand.
    fn keys(&mut self, at: &str, object: &Value) {
        let Some(list) = self.by_place.get(at).map(|index| &mut self.lists[*index]) else { return };
        let names = object.as_object().into_iter().flat_map(|object| object.iter());
        let names = names.filter(|(_, value)| value.is_object()).map(|(name, _)| name.clone());
        list.keys.extend(names);
        list.keys.truncate(list.records.len());
    }

    /// The lists inside an object.
    fn inside(&mut self, object: &'v Value, around: &Around<'_>, depth: usize) {
        let Some(members_of) = object.as_object().filter(|_| depth < MAX_DEPTH) else { return };
        for (name, value) in members_of {
            let step = step(name);
            let at = format!("{}{step}", around.at);
            let within = format!("{}{step}", around.within);
            let mut names = around.names.to_vec();
            names.push(name.clone());
            let place = |end: &str| Place {
                at: format!("{at}{end}"),
                within: format!("{within}{end}"),
                names: names.clone(),
                parent: around.parent,
            };
            match value {
                Value::Array(records) if records.iter().any(Value::is_object) => {
                    self.add(place("[*]"), members(records));
                }
                Value::Object(_) if is_keyed(value) => {
                    self.add(place(".*"), keyed(value));
                    self.keys(&format!("{at}.*"), value);
                }
                Value::Object(_) => {
                    let around = Around { at: &at, within: &within, names: &names, parent: around.parent };
                    self.inside(value, &around, depth + 1);
                }
                _ => {}
            }
        }
    }
}

/// Whether an object is a list of records by name: all are objects of the same kind, and the names are no words.
fn is_keyed(value: &Value) -> bool {
    let Some(object) = value.as_object().filter(|object| !object.is_empty()) else { return false };
    if !object.values().all(Value::is_object) {
        return false;
    }
    let has_digit = |name: &String| name.chars().any(|letter| letter.is_ascii_digit());
    let names_are_ids = object.keys().all(has_digit);
    let first: Vec<&String> =
        object.values().next().and_then(Value::as_object).into_iter().flat_map(|o| o.keys()).collect();
    let alike = object.values().filter_map(Value::as_object).all(|other| {
        let shared = other.keys().filter(|key| first.contains(key)).count();
        2 * shared >= other.len().max(1)
    });
    let says_own_name = |(name, record): (&String, &Value)| {
        let mut values = record.as_object().into_iter().flat_map(|record| record.values());
        values.any(|value| value.as_str() == Some(name))
    };
    alike && (names_are_ids || object.len() >= 8 || object.len() > 1 && object.iter().all(says_own_name))
}

impl Column {
    /// One in which nothing stands yet.
    fn empty(at: &str, path: &[String], records: usize) -> Self {
        let (at, path) = (Some(at.to_owned()), path.to_vec());
        Self { at, path, values: vec![None; records], is_number: true, clock: None }
    }

    /// Takes what a record says there.
    fn take(&mut self, number: usize, value: &Value) {
        if let Some(text) = scalar_text(value).filter(|text| !text.trim().is_empty()) {
            self.is_number &= value.is_number();
            self.values[number] = Some(text);
        }
    }
}

fn columns(list: &List<'_>) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::new();
    let mut by_place: BTreeMap<String, usize> = BTreeMap::new();
    for (number, record) in list.records.iter().enumerate() {
        collect(record, "$", &mut Vec::new(), &mut |at, path, value| {
            let index = *by_place.entry(at.to_owned()).or_insert_with(|| {
                columns.push(Column::empty(at, path, list.records.len()));
                columns.len() - 1
            });
            columns[index].take(number, value);
        });
    }
    columns.retain(|column| column.values.iter().any(Option::is_some));
    let is_outermost = list.parent.is_none();
    if is_outermost && !columns.iter().any(|column| is_full_of_times(&column.values, column.is_number)) {
        columns.extend(beginnings(list));
    }
    // A name that the record says itself need not be read from where it stands.
    let keys: Vec<Option<String>> = list.keys.iter().cloned().map(Some).collect();
    let is_said = columns.iter().any(|column| column.values == keys);
    if keys.len() == list.records.len() && !keys.is_empty() && !is_said {
        columns.push(Column { at: None, path: Vec::new(), values: keys, is_number: false, clock: None });
    }
    columns
}

fn is_full_of_times(values: &[Option<String>], are_numbers: bool) -> bool {
    values.iter().all(Option::is_some) && super::times::find(values, are_numbers).is_some()
}

/// Of records that say no time for all: the first times of the lists in them, such as a history of what happened.
fn beginnings(list: &List<'_>) -> Vec<Column> {
    let mut found: BTreeMap<String, Column> = BTreeMap::new();
    for (number, record) in list.records.iter().enumerate() {
        for (name, members) in record.as_object().into_iter().flatten() {
            let Some(first) = members.as_array().and_then(|members| members.first()?.as_object()) else {
                continue;
            };
            for (inner, value) in first {
                let at = format!("${}[0]{}", step(name), step(inner));
                let path = [name.clone(), inner.clone()];
                let column = found.entry(at.clone());
                column.or_insert_with(|| Column::empty(&at, &path, list.records.len())).take(number, value);
            }
        }
    }
    found.into_values().filter(|column| is_full_of_times(&column.values, column.is_number)).collect()
}

fn collect(value: &Value, at: &str, path: &mut Vec<String>, on: &mut dyn FnMut(&str, &[String], &Value)) {
    let Some(object) = value.as_object().filter(|_| path.len() < MAX_DEPTH) else { return };
    for (name, value) in object {
        let at = format!("{at}{}", step(name));
        path.push(name.clone());
        match value {
            Value::Object(_) if is_keyed(value) => {}
            Value::Object(_) => collect(value, &at, path, on),
            Value::Array(_) | Value::Null => {}
            _ => on(&at, path, value),
        }
        path.pop();
    }
}
