//! Where the choices of a customer stand, and which of them are true choices: texts that customers type are not.
//!
//! Must not know tables. Start reading at [`find`].

use std::collections::{BTreeMap, BTreeSet};

use super::lexicon::LEXICON;
use super::profile::Profile;
use super::score::Sheet;
use super::tree::step;
use super::write::quoted;

/// Choices that were found.
#[derive(Clone, Debug)]
pub(super) struct Found {
    /// The value of the field, as a mapping has it.
    pub(super) toml: String,
    pub(super) at: String,
    pub(super) names: Vec<String>,
    pub(super) is_sure: bool,
    pub(super) why: String,
}

/// How many different values a choice has at most, where most of its values stand there once.
const FEW: usize = 15;

/// How long a value of a choice is at most; people type longer texts than shops name things.
const LONG: f64 = 32.0;

/// Whether what stands under a name is chosen, not typed.
fn is_choice(name: &str, values: &[&str]) -> bool {
    let fits = LEXICON.fits(name, &[]);
    let is_typed = ["personalisation", "note", "customer_name"]
        .iter()
        .any(|meaning| fits.get(meaning).is_some_and(|fit| fit.score > 4.0));
    let different: BTreeSet<&&str> = values.iter().collect();
    let length =
        values.iter().map(|text| text.chars().count()).sum::<usize>() as f64 / values.len().max(1) as f64;
    // What has no usual name has to come again and again.
    let repeats = values.len() >= 4 && different.len() * 2 <= values.len()
        || is_named(name)
            && (different.len() <= 3
                || different.len() * 2 <= values.len()
                || different.len() <= FEW && different.iter().all(|text| text.chars().count() <= 12));
    !is_typed && repeats && length <= LONG
}

/// The names under which things stand that are chosen.
fn choices(by_name: &BTreeMap<&str, Vec<&str>>) -> Vec<String> {
    let chosen = by_name.iter().filter(|(name, values)| is_choice(name, values));
    chosen.map(|(name, _)| (*name).to_owned()).collect()
}

/// Whether a name is one of a choice.
fn is_named(name: &str) -> bool {
    let fits = LEXICON.fits(name, &[]);
    ["size", "colour", "material", "option", "design"]
        .iter()
        .any(|meaning| fits.get(meaning).is_some_and(|fit| fit.score >= 4.0))
}

/// The choices of the records of a list. `inside` are the lists within its records; `used` the columns that mean
/// something else.
pub(super) fn find(sheet: &Sheet<'_>, inside: &[&Sheet<'_>], used: &BTreeSet<usize>) -> Option<Found> {
    pairs(inside)
        .or_else(|| object(sheet, used))
        .or_else(|| named_columns(sheet, used))
        .or_else(|| text(sheet, used))
        .or_else(|| columns(sheet, used))
}

/// A list of names and values.
fn pairs(inside: &[&Sheet<'_>]) -> Option<Found> {
    for sheet in inside {
        let columns = &sheet.list.columns;
        if columns.len() < 2 || columns.len() > 6 {
            continue;
        }
        let fits = |index: usize, meaning: &str| {
            let fits = LEXICON.fits(columns[index].name(), &["option".to_owned()]);
            fits.get(meaning).map_or(0.0, |fit| fit.score)
        };
        let repeats = |index: &usize| {
            let profile = &sheet.profiles[*index];
            profile.is_full() && profile.with_letter > 0.9 && profile.times.is_none() && !profile.is_unique()
        };
        let mut names: Vec<usize> = (0..columns.len()).filter(repeats).collect();
        // One name stands once in a list; the names are fewer than the values.
        names.retain(|index| {
            let mut seen = BTreeSet::new();
            columns[*index].values.iter().zip(&sheet.list.parent_of).all(|pair| seen.insert(pair))
        });
        let name = names.into_iter().max_by(|a, b| {
            (fits(*a, "option_name"), std::cmp::Reverse(sheet.profiles[*a].distinct))
                .partial_cmp(&(fits(*b, "option_name"), std::cmp::Reverse(sheet.profiles[*b].distinct)))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        let Some(name) = name else { continue };
        let value = (0..columns.len()).filter(|index| *index != name).max_by(|a, b| {
            (fits(*a, "option_value"), sheet.profiles[*a].distinct)
                .partial_cmp(&(fits(*b, "option_value"), sheet.profiles[*b].distinct))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        let Some(value) = value else { continue };
        let mut by_name: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for (name, value) in columns[name].values.iter().zip(&columns[value].values) {
            if let (Some(name), Some(value)) = (name, value) {
                by_name.entry(name).or_default().push(value);
            }
        }
        let keep = choices(&by_name);
        if keep.is_empty() || by_name.len() > 30 {
            continue;
        }
        let place = |index: usize| columns[index].at.clone().unwrap_or_default();
        let is_sure = keep.iter().any(|name| is_named(name)) && fits(name, "option_name") > 2.0;
        return Some(Found {
            toml: format!(
                "{{ pairs_at = {}, name = {}, value = {}, keep = {} }}",
                quoted(&sheet.list.at_within),
                quoted(&place(name)),
                quoted(&place(value)),
                list(&keep)
            ),
            at: sheet.list.at_within.clone(),
            why: "a list of names and values; these names have values that come again, so they are chosen, not typed".into(),
            names: keep,
            is_sure,
        });
    }
    None
}

/// An object of names and values.
fn object(sheet: &Sheet<'_>, used: &BTreeSet<usize>) -> Option<Found> {
    let mut objects: BTreeMap<Vec<String>, Vec<usize>> = BTreeMap::new();
    for (index, column) in sheet.list.columns.iter().enumerate() {
        if column.path.len() > 1 && column.at.is_some() {
            objects.entry(column.path[..column.path.len() - 1].to_vec()).or_default().push(index);
        }
    }
    let mut best: Option<(f64, Vec<String>, Vec<usize>)> = None;
    for (path, columns) in objects {
        let free = columns.iter().filter(|index| !used.contains(index)).count();
        let fits = LEXICON.fits(path.last()?, &[]);
        let named = fits.get("options").map_or(0.0, |fit| fit.score);
        let choices = columns.iter().filter(|index| is_named(sheet.list.columns[**index].name())).count();
        let score = named + 2.0 * choices as f64;
        if free * 2 < columns.len() || score < 2.0 || named < 2.0 && choices * 2 < columns.len() {
            continue;
        }
        if best.as_ref().is_none_or(|(known, ..)| score > *known) {
            best = Some((score, path, columns));
        }
    }
    let (score, path, columns) = best?;
    let keep: Vec<String> = columns
        .into_iter()
        .filter(|index| {
            let values: Vec<&str> =
                sheet.list.columns[*index].values.iter().flatten().map(String::as_str).collect();
            is_choice(sheet.list.columns[*index].name(), &values)
        })
        .map(|index| sheet.list.columns[index].name().to_owned())
        .collect();
    if keep.is_empty() {
        return None;
    }
    let at = path.iter().fold(String::from("$"), |at, name| at + &step(name));
    Some(Found {
        toml: format!("{{ object_at = {}, keep = {} }}", quoted(&at), list(&keep)),
        at,
        why:
            "an object of names and values; these have values that come again, so they are chosen, not typed"
                .into(),
        is_sure: score >= 6.0,
        names: keep,
    })
}

/// Columns of a name and of its value, by number.
fn named_columns(sheet: &Sheet<'_>, used: &BTreeSet<usize>) -> Option<Found> {
    let columns = &sheet.list.columns;
    let kind = |index: usize, meaning: &str| {
        LEXICON.fits(columns[index].name(), &[]).get(meaning).map_or(0.0, |fit| fit.score)
    };
    let number =
        |index: usize| -> String { columns[index].name().chars().filter(char::is_ascii_digit).collect() };
    let mut places = Vec::new();
    let mut by_name: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for name in (0..columns.len()).filter(|index| !used.contains(index)) {
        let few = sheet.profiles[name].distinct <= 8 && sheet.profiles[name].with_letter > 0.9;
        if kind(name, "option_name") < 2.5 || kind(name, "option_name") <= kind(name, "option_value") || !few
        {
            continue;
        }
        let value = (0..columns.len()).find(|value| {
            *value != name
                && number(*value) == number(name)
                && !used.contains(value)
                && kind(*value, "option_value") >= 2.5
                && kind(*value, "option_value") > kind(*value, "option_name")
        });
        let Some(value) = value else { continue };
        for (name, value) in columns[name].values.iter().zip(&columns[value].values) {
            if let (Some(name), Some(value)) = (name, value) {
                by_name.entry(name).or_default().push(value);
            }
        }
        let place = |index: usize| quoted(columns[index].at.as_deref().unwrap_or_default());
        places.push(format!("[{}, {}]", place(name), place(value)));
    }
    let keep = choices(&by_name);
    if places.is_empty() || keep.is_empty() {
        return None;
    }
    Some(Found {
        toml: format!("{{ named_at = [{}], keep = {} }}", places.join(", "), list(&keep)),
        at: places.join(", "),
        is_sure: keep.iter().any(|name| is_named(name)),
        names: keep,
        why: "columns of names and of their values".into(),
    })
}

/// A text of several.
fn text(sheet: &Sheet<'_>, used: &BTreeSet<usize>) -> Option<Found> {
    let columns = sheet.list.columns.iter().zip(&sheet.profiles).enumerate();
    columns.filter(|(index, _)| !used.contains(index)).find_map(|(_, (column, profile))| {
        let at = column.at.as_deref()?;
        let named = LEXICON.fits(column.name(), &[]).get("options").map_or(0.0, |fit| fit.score);
        let values: Vec<&str> = column.values.iter().flatten().map(String::as_str).collect();
        if values.is_empty() {
            return None;
        }
        text_of_json(&values, at)
            .or_else(|| text_with_names(&values, at, named))
            .or_else(|| text_of_values(profile, column.name(), &values, at, named))
    })
}

/// An object of JSON, written as a text.
fn text_of_json(values: &[&str], at: &str) -> Option<Found> {
    let mut by_name: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for text in values {
        let object: serde_json::Map<String, serde_json::Value> = serde_json::from_str(text).ok()?;
        for (name, value) in object {
            let value = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
            by_name.entry(name).or_default().push(value);
        }
    }
    let keep: Vec<String> = by_name
        .iter()
        .filter(|(name, values)| is_choice(name, &values.iter().map(String::as_str).collect::<Vec<_>>()))
        .map(|(name, _)| name.clone())
        .collect();
    (!keep.is_empty()).then(|| Found {
        toml: format!("{{ object_at = {}, keep = {} }}", quoted(at), list(&keep)),
        at: at.to_owned(),
        is_sure: true,
        names: keep,
        why: "an object of names and values, as JSON in a text".into(),
    })
}

fn text_with_names(values: &[&str], at: &str, named: f64) -> Option<Found> {
    for name_ends in [":", "="] {
        let with = values.iter().filter(|text| text.contains(name_ends)).count();
        if values.is_empty() || with * 10 < values.len() * 8 {
            continue;
        }
        for between in [";", "|", ",", " / ", "\n"] {
            let mut by_name: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
            let mut firsts = 0;
            for text in values {
                for (number, part) in text.split(between).enumerate() {
                    if let Some((name, value)) = part.split_once(name_ends)
                        && name.trim().chars().count() <= 30
                    {
                        firsts += usize::from(number == 0);
                        by_name.entry(name.trim()).or_default().push(value.trim());
                    }
                }
            }
            // What people type can look like a name too; names come again.
            let least = (values.len() / 12).max(2).min(values.len());
            by_name.retain(|_, values| values.len() >= least);
            let parted = values.iter().filter(|text| text.contains(between)).count();
            let all: Vec<&&str> = by_name.values().flatten().collect();
            let inner = all.iter().filter(|value| value.contains(name_ends)).count();
            let has_inner = inner * 5 > all.len();
            if by_name.is_empty() || by_name.len() > 8 || firsts * 10 < values.len() * 9 || has_inner {
                continue;
            }
            if by_name.len() == 1 && parted * 2 > values.len() {
                continue;
            }
            let keep = choices(&by_name);
            if keep.is_empty() {
                continue;
            }
            let is_sure = named >= 4.0 || keep.iter().filter(|name| is_named(name)).count() >= 2;
            return Some(Found {
                toml: format!(
                    "{{ text_at = {}, between = {}, name_ends = {}, keep = {} }}",
                    quoted(at),
                    quoted(between),
                    quoted(name_ends),
                    list(&keep)
                ),
                at: at.to_owned(),
                is_sure,
                names: keep,
                why: "a text of names and values".into(),
            });
        }
    }
    None
}

/// A text without names is one choice, as it stands, under the name of its column: what its parts are, nothing says.
fn text_of_values(profile: &Profile, name: &str, values: &[&str], at: &str, named: f64) -> Option<Found> {
    let is_parted = |text: &&&str| text.contains(" / ") || text.contains(", ") || text.contains(" | ");
    let parted = values.iter().filter(is_parted).count() * 2 > values.len();
    let repeats = profile.distinct * 5 <= profile.filled.max(4) * 4;
    if !(named >= 4.0 && repeats || named >= 2.0 && parted && repeats) || profile.mean_length > f64::from(48)
    {
        return None;
    }
    let name = name.replace('#', "").trim().to_owned();
    Some(Found {
        toml: format!("{{ columns = {{ {} = {} }} }}", quoted(&name), quoted(at)),
        at: at.to_owned(),
        names: vec![name],
        is_sure: false,
        why: "its name, and that its values come again".into(),
    })
}

/// Columns of their own.
fn columns(sheet: &Sheet<'_>, used: &BTreeSet<usize>) -> Option<Found> {
    let is_size = |name: &str| {
        let fits = LEXICON.fits(name, &[]);
        ["size", "colour", "option", "material"]
            .iter()
            .any(|meaning| fits.get(meaning).is_some_and(|fit| fit.score >= 4.0))
    };
    let has_one = sheet.list.columns.iter().any(|column| is_size(column.name()));
    // Beside sizes and colours, what kind of thing it is may be a choice too.
    let is_kind = |index: usize, name: &str| {
        let fits = LEXICON.fits(name, &[]);
        let profile = &sheet.profiles[index];
        has_one
            && fits.get("option").is_some_and(|fit| fit.score >= 2.0)
            && profile.distinct <= FEW
            && profile.distinct > 1
            && profile.with_letter > 0.9
    };
    let found: Vec<(&str, &str)> = sheet
        .list
        .columns
        .iter()
        .enumerate()
        .filter(|(index, column)| {
            let values: Vec<&str> = column.values.iter().flatten().map(String::as_str).collect();
            !used.contains(index)
                && (is_size(column.name()) || is_kind(*index, column.name()))
                && is_choice(column.name(), &values)
        })
        .filter_map(|(_, column)| Some((column.name(), column.at.as_deref()?)))
        .collect();
    if found.is_empty() {
        return None;
    }
    let columns: Vec<String> =
        found.iter().map(|(name, at)| format!("{} = {}", quoted(name), quoted(at))).collect();
    Some(Found {
        toml: format!("{{ columns = {{ {} }} }}", columns.join(", ")),
        at: found.iter().map(|(_, at)| *at).collect::<Vec<_>>().join(", "),
        names: found.iter().map(|(name, _)| (*name).to_owned()).collect(),
        is_sure: true,
        why: "the names of the columns".into(),
    })
}

fn list(names: &[String]) -> String {
    let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
    format!("[{}]", names.join(", "))
}
