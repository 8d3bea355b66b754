//! Reports of which each tells what changed: an order stands in each in which it did, and the last says how it is.
//!
//! Must not know names. Start reading at [`latest`].

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::level::Level;
use super::parcels::shown;
use super::plan::{All, Planned};
use super::profile::Profile;
use super::sheet::OUTER;
use super::tree::{Column, List, tree};
use crate::source::declare::At;

/// How many records have to stand there again, to tell that reports repeat them.
const AGAIN: usize = 3;

/// A list of reports.
#[derive(Clone, Debug)]
pub(super) struct Reports {
    /// Where they stand, from the top.
    list: String,
    /// Where each says when it was made.
    when: String,
}

/// Where reports stand, where their records do, and which of these a later report tells again.
struct Found {
    reports: Reports,
    within: String,
    /// By report and place in it.
    earlier: BTreeSet<(usize, usize)>,
}

/// Takes out of reports what a later one tells again; what is left is each record as it is now.
pub(super) fn latest(value: &mut Value) -> Option<Reports> {
    let Found { reports, within, earlier } = find(&tree(value))?;
    for (number, report) in array(value, &reports.list)?.iter_mut().enumerate() {
        if let Some(records) = array(report, &within) {
            let mut places = 0..;
            records.retain(|_| places.next().is_none_or(|place| !earlier.contains(&(number, place))));
        }
    }
    Some(reports)
}

fn array<'v>(value: &'v mut Value, at: &str) -> Option<&'v mut Vec<Value>> {
    let at = at.strip_suffix("[*]")?;
    let found = match at {
        "$" => Some(value),
        _ => {
            let pointer = At::parse(at).ok()?.pointer(value)?;
            value.pointer_mut(&pointer)
        }
    };
    found.and_then(Value::as_array_mut)
}

fn find(lists: &[List<'_>]) -> Option<Found> {
    lists.iter().enumerate().find_map(|(index, list)| {
        // An order has lines.
        let has_lines = lists.iter().any(|other| other.parent == Some(index));
        let reports = lists.get(list.parent?).filter(|reports| reports.parent.is_none())?;
        if !has_lines || reports.records.len() < AGAIN || !list.at_within.ends_with("[*]") {
            return None;
        }
        let made = |column: &&Column| {
            let profile = Profile::of(column);
            profile.is_full() && profile.is_unique() && profile.times.is_some()
        };
        let made = reports.columns.iter().find(made)?;
        let moments = Profile::of(made).times?.moments;
        let named = list.columns.iter().find(|column| names_records(list, column))?;
        let mut last: BTreeMap<&str, usize> = BTreeMap::new();
        for (row, name) in named.values.iter().enumerate() {
            let is_later = |known: usize| moments[list.parent_of[row]] > moments[list.parent_of[known]];
            let known = last.entry(name.as_deref()?).or_insert(row);
            if is_later(*known) {
                *known = row;
            }
        }
        let kept: BTreeSet<usize> = last.into_values().collect();
        let mut places: BTreeMap<usize, usize> = BTreeMap::new();
        let mut earlier = BTreeSet::new();
        for (row, report) in list.parent_of.iter().enumerate() {
            let place = places.entry(*report).or_default();
            if !kept.contains(&row) {
                earlier.insert((*report, *place));
            }
            *place += 1;
        }
        let reports = Reports { list: reports.at.clone(), when: made.at.clone()? };
        Some(Found { reports, within: list.at_within.clone(), earlier })
    })
}

/// Whether a column names records that stand in several reports, once in each: with it, a time and more stay the same.
fn names_records(list: &List<'_>, column: &Column) -> bool {
    let profile = Profile::of(column);
    let mut seen = BTreeSet::new();
    let is_once_in_each =
        column.values.iter().zip(&list.parent_of).all(|(name, report)| seen.insert((*report, name)));
    let goes_with = |other: &Column| {
        let mut of: BTreeMap<&Option<String>, &Option<String>> = BTreeMap::new();
        let mut pairs = column.values.iter().zip(&other.values);
        pairs.all(|(name, value)| *of.entry(name).or_insert(value) == value)
    };
    let has_time = list.columns.iter().any(|other| {
        let other_profile = Profile::of(other);
        other_profile.times.is_some() && other_profile.is_full() && goes_with(other)
    });
    profile.is_full()
        && profile.may_be_id()
        && profile.with_digit > 0.9
        && profile.mean_length >= 3.0
        && profile.filled >= profile.distinct + AGAIN
        && is_once_in_each
        && has_time
}

/// Of tables whose records stand in reports: when the report was made is their last change.
pub(super) fn note<'v>(all: &All<'v, '_>, planned: &mut Planned<'v>) {
    let own = |(_, (file, sheet)): &(usize, &(usize, super::sheet::Sheet<'_>))| {
        *file == planned.file && sheet.list.at == planned.sheet.list.at
    };
    let is_of_orders = matches!(planned.level, Level::Submissions | Level::SubmissionLines);
    let Some(reports) = all.reports(planned.file).filter(|_| is_of_orders) else { return };
    let Some((index, _)) = all.sheets.iter().enumerate().find(own) else { return };
    let around = all.around(index);
    let Some(place) = around.iter().position(|at| all.sheets[*at].1.list.at == reports.list) else { return };
    let joined = all.with_around(index, &around[..=place]);
    let at = format!("{}{}", String::from(OUTER).repeat(place + 1), reports.when);
    if let Some(column) = joined.list.columns.iter().position(|column| column.at.as_ref() == Some(&at)) {
        let mut when = shown(column, "it is when the report was made, and the last report stands");
        when.margin = 0.5;
        planned.sheet = joined;
        planned.chosen.insert("updated_at", when);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn of_an_order_in_several_reports_the_last_is_left() {
        let order = |number: u32, state: &str| {
            json!({
                "job": format!("J-{number}"), "in": format!("2026-11-0{number}"), "state": state, "lines": [{"sku": "TE-100"}]
            })
        };
        let mut reports = json!([
            {"made": "2026-11-10T02:00:00Z", "jobs": [order(1, "new"), order(2, "new")]},
            {"made": "2026-11-12T02:00:00Z", "jobs": [order(1, "sent"), order(3, "new")]},
            {"made": "2026-11-11T02:00:00Z", "jobs": [order(1, "making"), order(2, "making"), order(3, "new")]},
        ]);
        let found = latest(&mut reports).unwrap();
        assert_eq!((found.list.as_str(), found.when.as_str()), ("$[*]", "$.made"));
        assert_eq!(reports[0]["jobs"], json!([]));
        assert_eq!(reports[1]["jobs"], json!([order(1, "sent"), order(3, "new")]));
        assert_eq!(reports[2]["jobs"], json!([order(2, "making")]));
    }

    #[test]
    fn lists_that_repeat_nothing_are_left_as_they_are() {
        let mut orders = json!([
            {"made": "2026-11-10T02:00:00Z", "lines": [{"sku": "TE-100", "day": "2026-11-10"}, {"sku": "TE-200", "day": "2026-11-10"}]},
            {"made": "2026-11-11T02:00:00Z", "lines": [{"sku": "TE-100", "day": "2026-11-11"}]},
            {"made": "2026-11-12T02:00:00Z", "lines": [{"sku": "TE-100", "day": "2026-11-12"}, {"sku": "TE-200", "day": "2026-11-12"}]},
        ]);
        let before = orders.clone();
        assert!(latest(&mut orders).is_none());
        assert_eq!(orders, before);
    }
}
