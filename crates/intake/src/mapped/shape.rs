//! Rows into records: rows that belong together, and columns with a number in their names.
//!
//! Must not know what a column means. Start reading at [`reshape`].

use serde_json::{Map, Value};

use crate::source::declare::{Group, Numbered};

/// How many numbers a column may have in its name: no order has more lines side by side.
const MAX_NUMBER: u32 = 500;

/// The numbers, from 1, of the rows of which each record was made; of a record that is a row, itself.
pub(crate) type RowsOf = Vec<Vec<usize>>;

/// Makes records of the rows of a table, or of the list of a document, as a form says.
///
/// What a column says stands in the record where all its rows that say something say the same; what they say themselves
/// stands in its list of rows. Returns the record's rows; of a document as it is, nothing.
///
/// # Errors
/// What stands in the way, as a clause.
pub(crate) fn reshape(
    value: &mut Value,
    group: Option<&Group>,
    numbered: Option<&Numbered>,
) -> Result<Option<RowsOf>, String> {
    let mut rows_of = None;
    if let Some(group) = group {
        let rows = list(value, group)?;
        let (records, numbers) = grouped(std::mem::take(rows), group)?;
        *rows = records;
        rows_of = Some(numbers);
    }
    if let Some(numbered) = numbered
        && let Value::Array(records) = value
    {
        let first = first_number(records, numbered);
        for record in records.iter_mut().filter_map(Value::as_object_mut) {
            let entries = entries(record, numbered, first);
            record.insert(numbered.into.clone(), Value::Array(entries));
        }
    }
    Ok(rows_of)
}

fn list<'v>(value: &'v mut Value, group: &Group) -> Result<&'v mut Vec<Value>, String> {
    let found = match &group.at {
        None => Some(value),
        Some(at) => match at.pointer(value) {
            Some(pointer) => value.pointer_mut(&pointer),
            None => None,
        },
    };
    found.and_then(Value::as_array_mut).ok_or_else(|| {
        let at = group.at.as_ref().map_or("$", |at| at.as_str());
        format!("no list of rows stands at {at}, of which records could be made by {:?}", group.by)
    })
}

/// A row, with its number from 1.
type NumberedRow = (usize, Map<String, Value>);

fn grouped(rows: Vec<Value>, group: &Group) -> Result<(Vec<Value>, RowsOf), String> {
    let mut groups: Vec<(Option<String>, Vec<NumberedRow>)> = Vec::new();
    for (index, row) in rows.into_iter().enumerate() {
        let Value::Object(row) = row else {
            return Err(format!("row {} is no object", index + 1));
        };
        let by = row.get(&group.by).filter(|value| !is_nothing(value)).map(ToString::to_string);
        let position = match &by {
            // A row that does not say it goes on with the one above.
            None => groups.len().checked_sub(1),
            // Rows of one record may stand apart.
            Some(_) => groups.iter().rposition(|(known, _)| *known == by),
        };
        match position {
            Some(position) => groups[position].1.push((index + 1, row)),
            None => groups.push((by, vec![(index + 1, row)])),
        }
    }
    let mut records = Vec::new();
    let mut numbers = Vec::new();
    for (_, rows) in groups {
        let mut record: Map<String, Value> = Map::new();
        let mut differ: Vec<String> = Vec::new();
        for (name, value) in rows.iter().flat_map(|(_, row)| row).filter(|(_, value)| !is_nothing(value)) {
            match record.get(name) {
                Some(known) if known != value => differ.push(name.clone()),
                Some(_) => {}
                None => {
                    record.insert(name.clone(), value.clone());
                }
            }
        }
        for name in differ {
            record.shift_remove(&name);
        }
        numbers.push(rows.iter().map(|(number, _)| *number).collect());
        let rows = rows.into_iter().map(|(_, row)| Value::Object(row)).collect();
        record.insert(group.into.clone(), Value::Array(rows));
        records.push(Value::Object(record));
    }
    Ok((records, numbers))
}

/// The number of the first line: programs count from 0, people from 1.
fn first_number(records: &[Value], numbered: &Numbered) -> u32 {
    let is_there =
        |record: &Value| numbered.columns.iter().any(|column| record.get(column.replace('#', "0")).is_some());
    u32::from(!records.iter().any(is_there))
}

/// The lines of a record, each with its place as `#`: the first line's is 1, also where columns count from 0.
fn entries(record: &Map<String, Value>, numbered: &Numbered, first: u32) -> Vec<Value> {
    let mut entries = Vec::new();
    let mut empty_since = 0;
    for number in first..=MAX_NUMBER {
        let mut entry = Map::new();
        let mut is_known = false;
        for column in &numbered.columns {
            if let Some(value) = record.get(&column.replace('#', &number.to_string())) {
                is_known = true;
                if !is_nothing(value) {
                    entry.insert(column.clone(), value.clone());
                }
            }
        }
        if entry.is_empty() {
            // A table leaves out empty cells, so a gap says nothing; a long one ends it.
            empty_since += 1;
            if !is_known && empty_since > 20 {
                break;
            }
            continue;
        }
        empty_since = 0;
        entry.insert("#".to_owned(), Value::from(number + 1 - first));
        entries.push(Value::Object(entry));
    }
    entries
}

fn is_nothing(value: &Value) -> bool {
    value.is_null() || value.as_str().is_some_and(str::is_empty)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn group(rows: Value) -> (Vec<Value>, RowsOf) {
        let Value::Array(rows) = rows else { panic!() };
        grouped(rows, &Group { by: "Order".into(), into: "lines".into(), at: None }).unwrap()
    }

    #[test]
    fn rows_that_name_one_order_or_none_behind_it_are_one_record() {
        let (records, numbers) = group(json!([
            {"Order": "1", "Paid": "yes", "Item": "mug"},
            {"Item": "tote"},
            {"Order": "2", "Item": "mug"},
            {"Order": "1", "Item": "cap"},
        ]));
        assert_eq!(numbers, [vec![1, 2, 4], vec![3]]);
        assert_eq!(records[0]["Paid"], "yes");
        assert_eq!(records[0]["lines"].as_array().unwrap().len(), 3);
        assert_eq!(records[0].get("Item"), None, "rows that differ say nothing of the order");
        assert_eq!(records[1]["Item"], "mug");
        assert_eq!(records[1].get("Paid"), None, "nothing is taken over from another order");
    }

    #[test]
    fn columns_with_a_number_become_a_list() {
        let record = json!({"Order": "1", "Item 1": "mug", "Qty 1": "2", "Item 3": "tote", "Qty 2": ""});
        let numbered = Numbered { columns: vec!["Item #".into(), "Qty #".into()], into: "lines".into() };
        assert_eq!(
            Value::Array(entries(record.as_object().unwrap(), &numbered, 1)),
            json!([{"Item #": "mug", "Qty #": "2", "#": 1}, {"Item #": "tote", "#": 3}])
        );
    }

    #[test]
    fn columns_that_count_from_0_lose_no_line() {
        let mut table =
            json!([{"Order": "1", "item.0": "mug", "item.1": "tote"}, {"Order": "2", "item.0": "cap"}]);
        let numbered = Numbered { columns: vec!["item.#".into()], into: "lines".into() };
        reshape(&mut table, None, Some(&numbered)).unwrap();
        assert_eq!(table[0]["lines"], json!([{"item.#": "mug", "#": 1}, {"item.#": "tote", "#": 2}]));
        assert_eq!(table[1]["lines"], json!([{"item.#": "cap", "#": 1}]));
    }
}
