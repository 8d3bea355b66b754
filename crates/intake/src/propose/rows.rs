//! Tables of which several rows are one order, and tables of which one row has several lines.
//!
//! Must not know what the records are but that some column names them. Start reading at [`grouping`].

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::level::Level;
use super::lexicon::LEXICON;
use super::profile::Profile;
use super::sheet::Sheet;
use super::tree::List;

/// How the rows of a table become records.
#[derive(Clone, Debug)]
pub(super) struct Grouping {
    /// Where the list of rows stands in a document; `None`: it is all of it.
    pub(super) at: Option<String>,
    /// The column that says which rows belong together.
    pub(super) by: String,
    /// The columns that say something of all of them.
    pub(super) shared: BTreeSet<String>,
}

impl Grouping {
    /// Where the rows stand, from the top.
    pub(super) fn rows_at(&self) -> String {
        format!("{}[*]", self.at.as_deref().unwrap_or("$"))
    }
}

/// The column by which rows of a list are one record, where there is one: with it, others change together, a time among
/// them, and others do not.
/// `level` is what the records would be, `told` the column that the owner says names them.
pub(super) fn grouping(list: &List<'_>, level: Level, told: Option<&str>) -> Option<Grouping> {
    // What stands under names of its own is no list of rows.
    let rows = list.at.strip_suffix("[*]")?;
    if list.records.len() < 3 {
        return None;
    }
    let at = (rows != "$").then(|| rows.to_owned());
    let profiles: Vec<Profile> = list.columns.iter().map(Profile::of).collect();
    let names_exactly = |column: &super::tree::Column, meaning: &str| {
        LEXICON.fits(column.name(), &[]).get(meaning).is_some_and(|fit| fit.is_exact)
    };
    let own = level.own_id().unwrap_or_default();
    let is_shared_exactly = list.columns.iter().zip(&profiles).any(|(column, profile)| {
        profile.is_full()
            && !profile.is_unique()
            && profile.may_be_id()
            && profile.distinct * 4 > profile.count
            && names_exactly(column, own)
    });
    let names_rows = |index: usize| {
        let (column, profile) = (&list.columns[index], &profiles[index]);
        let fits = LEXICON.fits_of(column.name(), &[], Some("order"));
        let score = |meanings: &[&str]| {
            meanings.iter().filter_map(|meaning| fits.get(meaning)).map(|fit| fit.score).fold(0.0, f64::max)
        };
        let own = score(&["order_id", "submission_id"]);
        // What is only perhaps called so does not name them where rows share what is called so exactly.
        let is_exact = ["order_id", "submission_id"].iter().any(|own| names_exactly(column, own));
        (is_exact || !is_shared_exactly)
            && profile.is_full()
            && profile.is_unique()
            && profile.may_be_id()
            && own >= 4.0
            && own > score(&["line_id", "invoice_number"])
    };
    // Where each row has an id of its own, each is a record.
    let is_told = |column: &super::tree::Column| told.is_none_or(|told| column.name() == told);
    let any_told = told.is_some() && list.columns.iter().any(is_told);
    if !any_told && (0..list.columns.len()).any(names_rows) {
        return None;
    }
    // What an order began with is the same in all its rows; rows that merely name the same may be of several.
    let first = Sheet::new(list.clone(), Vec::new()).first_time();
    let mut best: Option<((bool, f64), Grouping)> = None;
    for (index, column) in list.columns.iter().enumerate() {
        let profile = &profiles[index];
        let is_plain = column.path.len() == 1 && column.at.is_some();
        if any_told && !is_told(column)
            || !is_plain
            || profile.distinct < 2
            || !profile.may_be_id()
            || column.values.first().is_none_or(Option::is_none)
        {
            continue;
        }
        let groups = groups(&column.values);
        let sizes = groups.iter().fold(BTreeMap::new(), |mut sizes: BTreeMap<usize, usize>, group| {
            *sizes.entry(*group).or_default() += 1;
            sizes
        });
        let together: usize = sizes.values().filter(|size| **size > 1).sum();
        if together * 10 < list.records.len() {
            continue;
        }
        let mut shared = BTreeSet::new();
        let (mut others, mut has_time) = (0, false);
        for (other, column) in list.columns.iter().enumerate() {
            let is_shared = is_shared(&column.values, &groups);
            if other == index {
                shared.insert(column.name().to_owned());
            } else if is_shared {
                shared.insert(column.name().to_owned());
                has_time |= profiles[other].times.is_some() && profiles[other].distinct > 1;
            } else {
                others += 1;
            }
        }
        let fits = LEXICON.fits(column.name(), &["order".to_owned()]);
        let named = |meanings: &[&str]| {
            meanings.iter().filter_map(|meaning| fits.get(meaning)).map(|fit| fit.score).fold(0.0, f64::max)
        };
        let name = named(&["order_id", "submission_id", "order_ref", "parcel_id"]);
        // Rows behind the first of an order say nothing there, nor in most of what is said of all of it.
        let is_filled_alike = |other: &&super::tree::Column| {
            let mut pairs = other.values.iter().zip(&column.values);
            shared.contains(other.name()) && pairs.all(|(a, b)| b.is_some() || a.is_none())
        };
        let alike = list.columns.iter().filter(is_filled_alike).count();
        if !profile.is_full() && alike * 2 < shared.len() {
            continue;
        }
        let is_other = name < 4.0
            && fits.iter().any(|(meaning, fit)| {
                fit.is_exact
                    && level.can_mean(meaning)
                    && !matches!(
                        *meaning,
                        "order_id"
                            | "submission_id"
                            | "order_ref"
                            | "orders"
                            | "parcels"
                            | "parcel_id"
                            | "lines"
                    )
            });
        if others == 0 || !has_time || is_other || shared.len() < 3 {
            continue;
        }
        // The finest grouping that still shares all this names single orders, not customers or days.
        let score = name + shared.len() as f64 + profile.distinct as f64 / list.records.len() as f64;
        let has_first = first.is_some_and(|first| is_shared(&list.columns[first].values, &groups));
        let score = (has_first, score);
        if best.as_ref().is_none_or(|(known, _)| score > *known) {
            best = Some((score, Grouping { at: at.clone(), by: column.name().to_owned(), shared }));
        }
    }
    best.map(|(_, grouping)| grouping)
}

/// The group of each row: rows that say the same, and rows that say nothing behind one.
fn groups(values: &[Option<String>]) -> Vec<usize> {
    let mut known: BTreeMap<&str, usize> = BTreeMap::new();
    let mut last = 0;
    values
        .iter()
        .map(|value| {
            if let Some(text) = value {
                let next = known.len();
                last = *known.entry(text).or_insert(next);
            }
            last
        })
        .collect()
}

/// Whether rows of one group say the same, or nothing behind one that says something. What the first row does not say is not
/// said of all of them.
fn is_shared(values: &[Option<String>], groups: &[usize]) -> bool {
    let mut of_group: BTreeMap<usize, Option<&str>> = BTreeMap::new();
    values.iter().zip(groups).all(|(value, group)| {
        let first = *of_group.entry(*group).or_insert(value.as_deref());
        value.is_none() || value.as_deref() == first
    })
}

/// The names of what flat records have: those of the first of them first; none where lists or objects stand in them.
pub(super) fn header(value: &Value) -> Option<Vec<String>> {
    let mut names: Vec<String> = Vec::new();
    let mut known: BTreeSet<&str> = BTreeSet::new();
    for record in value.as_array()? {
        for (name, value) in record.as_object()? {
            if value.is_array() || value.is_object() {
                return None;
            }
            if known.insert(name) {
                names.push(name.clone());
            }
        }
    }
    Some(names)
}

/// The columns of lines side by side, with `#` for their number; none where a table has no such.
pub(super) fn numbered(header: &[String]) -> Option<Vec<String>> {
    let mut numbers: BTreeMap<String, BTreeSet<u32>> = BTreeMap::new();
    let mut order: Vec<String> = Vec::new();
    for name in header {
        let mut at = 0;
        while let Some(start) =
            name[at..].find(|letter: char| letter.is_ascii_digit()).map(|start| at + start)
        {
            let length = name[start..].bytes().take_while(u8::is_ascii_digit).count();
            let end = start + length;
            if let Ok(number) = name[start..end].parse::<u32>()
                && number <= 200
                && (length == 1 || !name[start..end].starts_with('0'))
            {
                let template = format!("{}#{}", &name[..start], &name[end..]);
                if !template.replacen('#', "", 1).contains('#') {
                    if !order.contains(&template) {
                        order.push(template.clone());
                    }
                    numbers.entry(template).or_default().insert(number);
                }
            }
            at = end;
        }
    }
    let is_line = |template: &String| {
        let fits = LEXICON.fits_of(&template.replace('#', " "), &[], Some("line"));
        let best = |own: bool| {
            let scores =
                fits.iter().filter(|(meaning, _)| LINE.contains(*meaning) == own).map(|(_, fit)| fit.score);
            scores.fold(0.0, f64::max)
        };
        best(true) > 1.0 && best(true) >= best(false) - 1.0
    };
    let templates: Vec<String> = order
        .into_iter()
        .filter(|template| {
            let has = |number: u32| numbers[template].contains(&number);
            has(1) && (has(0) || has(2))
        })
        .collect();
    let lines = templates.iter().filter(|template| is_line(template)).count();
    // Two streets do not make lines.
    (lines >= 2).then_some(templates)
}

const LINE: &[&str] = &[
    "sku",
    "title",
    "quantity",
    "unit_price",
    "line_id",
    "listing_id",
    "variant_id",
    "product",
    "unit_cost",
    "size",
    "colour",
    "option",
    "options",
    "lines",
];

#[cfg(test)]
mod tests {
    use super::super::tree::tree;
    use super::*;
    use serde_json::json;

    #[test]
    fn rows_of_one_order_are_told_by_what_changes_with_it() {
        let rows = json!([
            {"Order": "1", "Date": "2026-11-01", "Mail": "a@example.com", "Item": "mug", "Qty": "1"},
            {"Order": "1", "Date": "2026-11-01", "Mail": "a@example.com", "Item": "cap", "Qty": "2"},
            {"Order": "2", "Date": "2026-11-02", "Mail": "a@example.com", "Item": "mug", "Qty": "1"},
            {"Order": "3", "Date": "2026-11-02", "Mail": "c@example.com", "Item": "tote", "Qty": "1"},
        ]);
        let found = grouping(&tree(&rows)[0], Level::Orders, None).unwrap();
        assert_eq!(found.by, "Order");
        assert!(found.shared.contains("Date") && !found.shared.contains("Item"));
    }

    #[test]
    fn columns_with_a_number_are_lines_where_they_say_what_lines_say() {
        let header: Vec<String> = ["Order", "Address 1", "Address 2", "Item 1", "Qty 1", "Item 2", "Qty 2"]
            .map(str::to_owned)
            .to_vec();
        let found = numbered(&header).unwrap();
        assert!(found.contains(&"Item #".to_owned()) && found.contains(&"Qty #".to_owned()));
        assert_eq!(numbered(&header[..3]), None);
    }
}
