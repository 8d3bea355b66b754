//! A mapping in which something is open, as one that can be read: so that what is open can be asked.
//!
//! Must not know what is asked. Start reading at [`completed`].

use toml::{Table as Keys, Value};

use crate::source::declare::belongs_by;
use crate::tables::{Column, Need, Table};

/// Where a field stands of which nobody has said yet where.
const NOWHERE: &str = "$['not said yet']";

/// The text of a configuration whose mappings have a place for each field without which there is no row: where they have
/// none, one at which nothing stands. A text that is no TOML stays as it is, for whoever reads it to say why.
///
/// For finding out what a mapping is of; rows read by it lack what is open.
pub fn completed(text: &str) -> String {
    let Ok(mut keys) = text.parse::<Keys>() else { return text.to_owned() };
    complete(&mut keys);
    if let Some(shops) = keys.get_mut("shops").and_then(Value::as_table_mut) {
        for (_, shop) in shops.iter_mut() {
            shop.as_table_mut().into_iter().for_each(complete);
        }
    }
    keys.to_string()
}

fn complete(shop: &mut Keys) {
    for source in inner(shop, "sources") {
        let is_supplier = source.contains_key("supplier");
        for request in inner(source, "requests") {
            let Some(tables) = request.get_mut("tables").and_then(Value::as_table_mut) else { continue };
            for (name, table) in tables.iter_mut() {
                let known = Table::ALL.into_iter().find(|table| table.name() == name);
                if let (Some(known), Some(keys)) = (known, table.as_table_mut()) {
                    complete_table(known, keys, is_supplier);
                }
            }
        }
    }
}

fn inner<'k>(keys: &'k mut Keys, name: &str) -> impl Iterator<Item = &'k mut Keys> {
    let of_name = keys.get_mut(name).and_then(Value::as_table_mut).into_iter();
    of_name.flat_map(|keys| keys.iter_mut()).filter_map(|(_, value)| value.as_table_mut())
}

fn complete_table(table: Table, keys: &mut Keys, is_supplier: bool) {
    let within = keys.get("within").and_then(Value::as_str);
    let parent = Table::ALL.into_iter().find(|table| Some(table.name()) == within);
    let inherits = parent.map(|parent| belongs_by(table, parent)).unwrap_or_default();
    let fields = keys.entry("fields").or_insert_with(|| Value::Table(Keys::new()));
    let Some(fields) = fields.as_table_mut() else { return };
    for (column, need) in table.columns() {
        let is_given = inherits.contains(column) || is_supplier && *column == Column::Supplier;
        if *need != Need::Required || is_given || fields.contains_key(column.name()) {
            continue;
        }
        let value = match column {
            Column::Options => {
                let columns = Keys::from_iter([("not said yet".to_owned(), NOWHERE.into())]);
                Value::Table(Keys::from_iter([("columns".to_owned(), Value::Table(columns))]))
            }
            _ => NOWHERE.into(),
        };
        fields.insert(column.name().to_owned(), value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_open_has_a_place_and_what_is_there_stays() {
        let text = "zone = \"Europe/Oslo\"\n[sources.maker]\nrole = \"supplier\"\nsupplier = \"maker\"\nfolder = \".\"\n\
            [sources.maker.requests.jobs]\nfile = \"jobs.json\"\n\
            [sources.maker.requests.jobs.tables.submissions]\nat = \"$[*]\"\nfields = { submission_id = \"$.job\" }\n\
            [sources.maker.requests.jobs.tables.submission_lines]\nwithin = \"submissions\"\nat = \"$.pieces[*]\"\n";
        let completed: Keys = completed(text).parse().unwrap();
        let tables = &completed["sources"]["maker"]["requests"]["jobs"]["tables"];
        let keys = |table: &str| -> Vec<String> {
            tables[table]["fields"].as_table().unwrap().keys().cloned().collect()
        };
        assert_eq!(keys("submissions"), ["received_at", "status", "submission_id"]);
        assert_eq!(tables["submissions"]["fields"]["submission_id"].as_str(), Some("$.job"));
        assert_eq!(keys("submission_lines"), ["line_id", "quantity"]);
    }

    #[test]
    fn what_is_no_configuration_stays_as_it_is() {
        assert_eq!(super::completed("= ]"), "= ]");
    }
}
