//! The mapping of schema.org as a proposal for a sample in its terms.
//!
//! Must not know how it is written. Start reading at [`request`].

use toml::{Table as Keys, Value};

use super::find::orders_in;
use super::{CANCELLED, MAPPING, of_export};
use crate::export::Kind;
use crate::propose::{How, ProposedField, ProposedRequest, ProposedTable, Sample};
use crate::tables::Table;

/// A request for a sample in which orders stand in the terms of schema.org, and what is to be known of it; `None` of any
/// other sample.
pub(crate) fn request(sample: &Sample, name: &str) -> Option<(ProposedRequest, String)> {
    let is_lines = sample.export.form.kind == Kind::JsonLines;
    let is_json = is_lines || sample.export.form.kind == Kind::Json;
    if !is_json || !orders_in(&sample.export.value, is_lines) {
        return None;
    }
    let regular = of_export(&sample.export.value, is_lines, false).ok()?;
    let mapping: Keys = toml::from_str(MAPPING).ok()?;
    let tables = [Table::Orders, Table::OrderLines];
    let tables: Option<Vec<ProposedTable>> = tables
        .into_iter()
        .map(|table| proposed(table, mapping.get(table.name())?.as_table()?, &sample.name))
        .collect();
    let head = format!("file = {}\nvocabulary = \"schema.org\"\n", quoted(&sample.name));
    let ignored = regular.unkept.names().map(|name| format!("additionalProperty {name}")).collect();
    let note = format!(
        "{} has {} in the terms of schema.org, of which everyline has the mapping: the tables below say what \
         `vocabulary = \"schema.org\"` alone means, and may be left out. Their places are those of the document made \
         regular: each order a record, each value once. What has no place in them, such as customer and \
         billingAddress, is not read.",
        sample.name,
        match regular.orders {
            1 => "1 order".to_owned(),
            orders => format!("{orders} orders"),
        }
    );
    Some((ProposedRequest { name: name.to_owned(), head, tables: tables?, ignored }, note))
}

fn proposed(table: Table, keys: &Keys, file: &str) -> Option<ProposedTable> {
    let within = keys.get("within").and_then(Value::as_str);
    let fields = keys.get("fields")?.as_table()?;
    let fields = table.columns().iter().filter_map(|(column, _)| {
        let value = fields.get(column.name())?;
        let mut at = Vec::new();
        places(value, &mut at);
        let terms: Vec<String> = at.iter().map(|at| term(at)).collect();
        let mut why = format!("schema.org: {}", terms.join(", else "));
        if column.name() == "line_id" {
            why += ", else its place within the order";
        }
        Some(ProposedField {
            table: table.name(),
            column: column.name(),
            at,
            file: file.to_owned(),
            places: terms,
            how: How::Sure,
            why,
            toml: Some(inline(value)),
            question: None,
            choices: Vec::new(),
            unknown_words: Vec::new(),
        })
    });
    Some(ProposedTable {
        table: table.name(),
        within: within
            .and_then(|within| Table::ALL.map(Table::name).into_iter().find(|name| *name == within)),
        at: keys.get("at")?.as_str()?.to_owned(),
        fields: fields.collect(),
        columns: Vec::new(),
    })
}

/// The places that a field names.
fn places(value: &Value, into: &mut Vec<String>) {
    match value {
        Value::String(at) => into.push(at.clone()),
        Value::Array(several) => several.iter().for_each(|one| places(one, into)),
        Value::Table(keys) => {
            for key in ["at", "object_at", "first_of"] {
                if let Some(value) = keys.get(key) {
                    places(value, into);
                }
            }
        }
        _ => {}
    }
}

/// A place in the terms of schema.org.
fn term(at: &str) -> String {
    let plain = at.trim_start_matches("$.").replace("['", ".").replace("']", "");
    match plain.trim_start_matches("$.") {
        CANCELLED => "orderItemStatus".to_owned(),
        "orderedItem.options" => {
            "orderedItem.color, size, material, pattern and additionalProperty, as variesBy says".to_owned()
        }
        plain => plain.to_owned(),
    }
}

/// A value as it stands in one line.
fn inline(value: &Value) -> String {
    match value {
        Value::String(text) => quoted(text),
        Value::Array(several) => {
            format!("[{}]", several.iter().map(inline).collect::<Vec<_>>().join(", "))
        }
        Value::Table(keys) => {
            let keys: Vec<String> =
                keys.iter().map(|(key, value)| format!("{key} = {}", inline(value))).collect();
            format!("{{ {} }}", keys.join(", "))
        }
        other => other.to_string(),
    }
}

fn quoted(text: &str) -> String {
    Value::String(text.to_owned()).to_string()
}
