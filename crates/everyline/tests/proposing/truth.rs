//! What is true of a pair of the corpus, and what of a mapping or of rows agrees with it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use intake::propose::{ListPlace, Proposal, ProposedField, StatePart};
use model::Book;
use serde::Deserialize;
use serde_json::Value;

#[derive(Deserialize)]
pub struct Truth {
    pub zone: String,
    pub supplier: String,
    pub storefront: Side,
    pub supplier_source: Side,
}

#[derive(Deserialize)]
pub struct Side {
    fields: Vec<Field>,
    #[serde(default)]
    pub words: BTreeMap<String, BTreeMap<String, String>>,
    /// By table: the names of the true choices.
    #[serde(default)]
    pub options: BTreeMap<String, Vec<String>>,
    #[serde(default)]
    forms: Value,
    #[serde(skip)]
    pub day_first: Option<bool>,
}

#[derive(Deserialize)]
struct Field {
    table: String,
    column: String,
    #[serde(default)]
    file: String,
    /// Whether the places say it together.
    #[serde(default)]
    all: bool,
    #[serde(default)]
    at: Vec<String>,
    #[serde(default)]
    form: Value,
}

impl Truth {
    pub fn read(pair: &Path) -> Self {
        let mut truth: Self =
            serde_json::from_str(&fs::read_to_string(pair.join("truth.json")).unwrap()).unwrap();
        for side in [&mut truth.storefront, &mut truth.supplier_source] {
            let forms = format!(
                "{} {}",
                side.forms,
                side.fields.iter().map(|field| field.form.to_string()).collect::<String>()
            );
            let day =
                ["%d/%m", "%d.%m", "%d-%m", "day-first", "day first"].iter().any(|form| forms.contains(form));
            let month =
                ["%m/%d", "%m-%d", "month-first", "month first"].iter().any(|form| forms.contains(form));
            side.day_first = (day != month).then_some(day);
            for field in &mut side.fields {
                if field.table == "parcel_lines" && field.column == "line_id" {
                    field.column = "submission_line_id".to_owned();
                }
            }
        }
        truth
    }
}

impl Side {
    /// `table.column` of each field that the source has, those apart that a row has from the one around it.
    pub fn keys(&self) -> BTreeSet<String> {
        let own = self.fields.iter().filter(|field| {
            !matches!(
                (field.table.as_str(), field.column.as_str()),
                ("order_lines", "order_id")
                    | ("submission_lines", "submission_id")
                    | ("parcels", "submission_id")
                    | ("parcel_lines", "parcel_id")
                    | (_, "supplier")
                    | ("links", _)
            )
        });
        own.map(|field| format!("{}.{}", field.table, field.column)).collect()
    }

    /// Where each table stands: as the file and the list of the field that names its records, or of the innermost.
    pub fn lists(&self) -> BTreeMap<String, Option<ListPlace>> {
        let tables = [
            ("orders", "order_id"),
            ("order_lines", "quantity"),
            ("offers", ""),
            ("variants", "variant_id"),
            ("submissions", "submission_id"),
            ("submission_lines", "quantity"),
            ("parcels", "dispatched_at"),
            ("parcel_lines", "quantity"),
            ("links", "sku"),
        ];
        let mut lists = BTreeMap::new();
        for (table, column) in tables {
            let of_table: Vec<&Field> =
                self.fields.iter().filter(|field| field.table == table && !field.at.is_empty()).collect();
            let own = of_table.iter().filter(|field| field.column == column).collect::<Vec<_>>();
            let fields: Vec<&&Field> = if own.is_empty() { of_table.iter().collect() } else { own };
            let place = |field: &&&Field| {
                let at = field.at[0].rfind("[*]").map(|end| field.at[0][..end + 3].to_owned());
                ListPlace { file: field.file.clone(), at }
            };
            let innermost = |place: &ListPlace| place.at.as_ref().map_or(0, String::len);
            let found = fields.iter().map(place).max_by_key(innermost);
            lists.insert(table.to_owned(), found);
        }
        lists
    }

    /// Of a status that several places say together, what the words of each mean.
    pub fn states(&self) -> BTreeMap<String, Vec<StatePart>> {
        let mut states = BTreeMap::new();
        for field in self.fields.iter().filter(|field| field.column == "status" && field.all) {
            let key = format!("{}.status", field.table);
            let common = self.words.get(&key).cloned().unwrap_or_default();
            // Some say the words of all places together: `yes | no`.
            if common.keys().any(|word| word.contains(" | ")) {
                continue;
            }
            let parts = field.at.iter().map(|place| {
                let own = self.words.get(&format!("{key}@{place}")).cloned();
                StatePart { place: place.clone(), words: own.unwrap_or_else(|| common.clone()) }
            });
            states.insert(field.table.clone(), parts.collect());
        }
        states
    }

    /// Each word of a status that one column says, and whether its proposed meaning is right; `None`: it is asked.
    pub fn words_of(&self, proposal: &Proposal) -> Vec<(String, String, Option<bool>)> {
        let fields = proposal.fields().filter(|field| field.column == "status" && field.places.len() == 1);
        fields.flat_map(|field| self.words_of_field(field)).collect()
    }

    fn words_of_field(&self, field: &ProposedField) -> Vec<(String, String, Option<bool>)> {
        let key = format!("{}.{}", field.table, field.column);
        let is_one = self.places(&key).len() == 1 && self.is_right(field) == Some(true);
        let Some(truth) = self.words.get(&key).filter(|_| is_one) else { return Vec::new() };
        let toml = field.toml.as_deref().unwrap_or("{}");
        let read: toml_edit::DocumentMut = format!("status = {toml}").parse().unwrap();
        let proposed = read["status"].get("words");
        let of_word = |(word, right): (&String, &String)| {
            let said = proposed.and_then(|words| words.get(word)).and_then(toml_edit::Item::as_str);
            (key.clone(), word.clone(), said.map(|said| said == right))
        };
        truth.iter().map(of_word).collect()
    }

    /// Whether a proposed status takes a word for something else.
    pub fn is_misread(&self, field: &ProposedField) -> bool {
        field.column == "status"
            && self.words_of_field(field).iter().any(|(_, _, right)| *right == Some(false))
    }

    /// The places that are right for a field.
    pub fn places(&self, key: &str) -> Vec<String> {
        let of_key = self.fields.iter().filter(|field| format!("{}.{}", field.table, field.column) == key);
        of_key.flat_map(|field| field.at.iter().map(|at| at.to_owned())).collect()
    }

    /// Whether a proposed field stands where it does; `None` where the source does not have it.
    pub fn is_right(&self, field: &ProposedField) -> Option<bool> {
        let right = self.places(&format!("{}.{}", field.table, field.column));
        if field.column == "line_id" && field.places.iter().all(|place| place == "#") {
            return Some(right.is_empty());
        }
        if right.is_empty() && field.column == "variant_id" {
            // Where the supplier has no code but the SKU, that may stand for the variant.
            let sku = self.places(&format!("{}.sku", field.table));
            let sku: BTreeSet<String> = sku.iter().map(|place| plain(place)).collect();
            return field.places.iter().all(|place| sku.contains(&plain(place))).then_some(true);
        }
        if right.is_empty() {
            // What a row has from the one around it need not be named.
            return matches!(field.column, "order_id" | "submission_id" | "parcel_id").then_some(true);
        }
        let right: BTreeSet<String> = right.iter().map(|place| plain(place)).collect();
        let proposed: BTreeSet<String> = field.places.iter().map(|place| plain(place)).collect();
        if field.column == "options" {
            let near = |one: &String| {
                right.iter().any(|place| one.starts_with(place.as_str()) || place.starts_with(one.as_str()))
            };
            return Some(
                !proposed.is_empty()
                    && proposed
                        .iter()
                        .flat_map(|place| place.split(", ").map(str::to_owned))
                        .any(|place| near(&plain(&place))),
            );
        }
        if field.column == "status" {
            return Some(proposed.iter().any(|place| right.contains(place)) || proposed.is_empty());
        }
        Some(!proposed.is_empty() && proposed.iter().all(|place| right.contains(place)))
    }
}

/// A place, whatever way it is written: `$.data[*]['a b'].c` and `data[*].a b.c` are the same, and so are `SKU #` and
/// `SKU 2`.
fn plain(place: &str) -> String {
    let mut text = place
        .trim_start_matches('$')
        .replace("['", ".")
        .replace("[\"", ".")
        .replace("']", "")
        .replace("\"]", "");
    text = text.replace("[*]", ".").replace(".*", ".");
    let parts: Vec<String> = text
        .split('.')
        .filter(|part| !part.is_empty())
        .map(|part| {
            let part: String =
                part.chars().map(|letter| if letter.is_ascii_digit() { '#' } else { letter }).collect();
            let mut short = String::new();
            for letter in part.chars() {
                if !(letter == '#' && short.ends_with('#')) {
                    short.push(letter);
                }
            }
            short
        })
        .collect();
    parts.join(".")
}

/// `table.column` wherever the rows of one key differ, and `table.rows` where keys do.
pub fn differences(mapped: &Book, right: &Book, zone: chrono_tz::Tz) -> BTreeSet<String> {
    let (one, other) = (rows(mapped), rows(right));
    let mut differ = BTreeSet::new();
    for (table, right) in &other {
        let Some(mapped) = one.get(table).filter(|rows| !rows.is_empty()) else { continue };
        // What the source does not say, it does not say wrongly.
        let known: BTreeSet<&String> = mapped.values().flat_map(BTreeMap::keys).collect();
        for (key, row) in right {
            let Some(read) = mapped.get(key) else {
                differ.insert(format!("{table}.rows"));
                continue;
            };
            for (column, value) in row {
                if known.contains(column) && !is_same(read.get(column), value, zone) {
                    differ.insert(format!("{table}.{column}"));
                }
            }
        }
        if mapped.keys().any(|key| !right.contains_key(key)) {
            differ.insert(format!("{table}.rows"));
        }
    }
    differ
}

/// `table.column` of all that a book says something of.
pub fn said(book: &Book) -> BTreeSet<String> {
    let mut said = BTreeSet::new();
    for (table, rows) in rows(book) {
        for (column, value) in rows.values().flatten() {
            // What is left out is written as nothing cancelled.
            let is_nothing = value.is_null() || column == "cancelled_quantity" && value.as_i64() == Some(0);
            if !is_nothing {
                said.insert(format!("{table}.{column}"));
            }
        }
    }
    said
}

/// Amounts are the same with and without zeros at their end, and a day is its beginning.
fn is_same(one: Option<&Value>, other: &Value, zone: chrono_tz::Tz) -> bool {
    let texts = one.and_then(Value::as_str).zip(other.as_str());
    let is_beginning = |day: &str, moment: &str| {
        let moment = chrono::DateTime::parse_from_rfc3339(moment).map(|moment| moment.with_timezone(&zone));
        day.len() == 10
            && moment.is_ok_and(|moment| format!("{}", moment.format("%F %T")) == format!("{day} 00:00:00"))
    };
    if texts.is_some_and(|(one, other)| is_beginning(one, other) || is_beginning(other, one)) {
        return true;
    }
    let amount = |value: &Value| value.as_str().and_then(|text| text.parse::<rust_decimal::Decimal>().ok());
    one == Some(other) || one.and_then(amount).is_some_and(|one| amount(other) == Some(one))
}

type Rows = BTreeMap<String, BTreeMap<String, BTreeMap<String, Value>>>;

fn rows(book: &Book) -> Rows {
    let folder = tempfile::tempdir().unwrap();
    simshop::write_jsonl(book, folder.path()).unwrap();
    let keys: [(&str, &[&str]); 8] = [
        ("orders", &["order_id"]),
        ("order_lines", &["order_id", "line_id"]),
        ("offers", &["listing_id", "options"]),
        ("variants", &["variant_id"]),
        ("submissions", &["submission_id"]),
        ("submission_lines", &["submission_id", "line_id"]),
        ("parcels", &["parcel_id"]),
        ("parcel_lines", &["parcel_id", "submission_line_id"]),
    ];
    let mut all = Rows::new();
    for (table, key) in keys {
        let Ok(text) = fs::read_to_string(folder.path().join(format!("{table}.jsonl"))) else { continue };
        let of_table = all.entry(table.to_owned()).or_default();
        for line in text.lines() {
            let row: BTreeMap<String, Value> = serde_json::from_str(line).unwrap();
            let key: Vec<String> = key
                .iter()
                .map(|column| row.get(*column).map(ToString::to_string).unwrap_or_default())
                .collect();
            of_table.insert(key.join("|"), row);
        }
    }
    all
}
