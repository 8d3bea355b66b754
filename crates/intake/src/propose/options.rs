//! Where the choices of a customer stand, and which of them are true choices: texts that customers type are not.
//!
//! Must not know tables. Start reading at [`find`].

use std::collections::{BTreeMap, BTreeSet};

use super::lexicon::LEXICON;
use super::profile::Profile;
use super::sheet::{OUTER, Sheet};
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
pub(super) const FEW: usize = 15;

/// How long a value of a choice is at most; people type longer texts than shops name things.
pub(super) const LONG: f64 = 32.0;

/// By the name of a choice: the records that have it, and what they say.
type ByName<'v> = BTreeMap<String, Vec<(usize, &'v str)>>;

/// What is known before choices are looked for.
pub(super) struct By<'b> {
    /// Columns that mean something else.
    pub(super) used: &'b BTreeSet<usize>,
    /// The names of the choices, where the owner said them.
    pub(super) told: Option<&'b [String]>,
    /// Where they stand, where the owner said it: a column, an object or a list.
    pub(super) place: Option<&'b str>,
    /// What each record's SKU or variant is: with it, choices are the same, and what customers type is not.
    pub(super) skus: Option<&'b [Option<String>]>,
}

impl By<'_> {
    /// Whether what stands under a name is chosen, not typed.
    fn is_choice(&self, name: &str, values: &[&str]) -> bool {
        match self.told {
            Some(told) => told.iter().any(|told| model::text::fold(told) == model::text::fold(name)),
            None => is_choice(name, values),
        }
    }

    /// Whether a column may be one of them.
    pub(super) fn is_free(&self, index: usize, column: &super::tree::Column) -> bool {
        let is_own = column.at.as_ref().is_some_and(|at| !at.starts_with(OUTER));
        match (self.told, self.place) {
            (Some(told), None) => is_own && told.iter().any(|told| *told == shown(column.name())),
            (_, Some(place)) => {
                let own = super::plain_place(&column.path.join("."));
                let place = super::plain_place(place);
                is_own && (place == own || place.ends_with(&own) || place.contains(&own))
                    || is_own
                        && column.path.len() > 1
                        && place.ends_with(&column.path[..column.path.len() - 1].join("."))
            }
            (None, None) => is_own && !self.used.contains(&index),
        }
    }

    /// The names under which things stand that are chosen.
    fn choices(&self, by_name: &ByName<'_>, records: usize) -> Vec<String> {
        let is_chosen = |name: &str, values: &[(usize, &str)]| {
            let texts: Vec<&str> = values.iter().map(|(_, text)| *text).collect();
            let mut of_records: Vec<Option<&str>> = vec![None; records];
            for (record, text) in values {
                if let Some(of_record) = of_records.get_mut(*record) {
                    *of_record = Some(text);
                }
            }
            self.is_choice(name, &texts) && !self.is_typed(&of_records)
        };
        let chosen = by_name.iter().filter(|(name, values)| is_chosen(name, values));
        chosen.map(|(name, _)| name.clone()).collect()
    }

    /// Whether a column holds choices.
    fn is_choice_column(&self, column: &super::tree::Column) -> bool {
        let texts: Vec<&str> = column.values.iter().flatten().map(String::as_str).collect();
        let of_records: Vec<Option<&str>> = column.values.iter().map(Option::as_deref).collect();
        self.is_choice(&shown(column.name()), &texts) && !self.is_typed(&of_records)
    }

    /// Whether records of one SKU say different things, where enough SKUs come again to tell.
    fn is_typed(&self, values: &[Option<&str>]) -> bool {
        let (Some(skus), None) = (self.skus, self.told) else { return false };
        let mut of: BTreeMap<&str, BTreeMap<Option<&str>, usize>> = BTreeMap::new();
        for (sku, value) in skus.iter().zip(values) {
            if let Some(sku) = sku {
                *of.entry(sku).or_default().entry(*value).or_default() += 1;
            }
        }
        let (mut all, mut usual) = (0, 0);
        for values in of.values().filter(|values| values.values().sum::<usize>() > 1) {
            // Of a SKU none of whose records says anything, there is nothing to tell.
            if values.keys().all(Option::is_none) {
                continue;
            }
            all += values.values().sum::<usize>();
            usual += values.values().max().copied().unwrap_or_default();
        }
        all >= ENOUGH && usual * 20 < all * 17
    }
}

/// The name of a choice; that of a column with a number for each line is the same for all.
fn shown(name: &str) -> String {
    name.replace('#', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

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

/// Whether a name is one of a choice.
fn is_named(name: &str) -> bool {
    let fits = LEXICON.fits(name, &[]);
    ["size", "colour", "material", "option", "design"]
        .iter()
        .any(|meaning| fits.get(meaning).is_some_and(|fit| fit.score >= 4.0))
}

/// From how many records of SKUs that come again it is told whether a text is typed.
const ENOUGH: usize = 8;

/// The choices of the records of a list. `inside` are the lists within its records.
pub(super) fn find(sheet: &Sheet<'_>, inside: &[&Sheet<'_>], by: &By<'_>) -> Option<Found> {
    let is_column = |name: &String| sheet.list.columns.iter().any(|column| shown(column.name()) == *name);
    if by.place.is_none() && by.told.is_some_and(|told| told.iter().all(is_column)) {
        return object(sheet, by).or_else(|| columns(sheet, by));
    }
    pairs(inside, sheet.list.records.len(), by)
        .or_else(|| object(sheet, by))
        .or_else(|| named_columns(sheet, by))
        .or_else(|| text(sheet, by))
        .or_else(|| columns(sheet, by))
}

/// A list of names and values.
fn pairs(inside: &[&Sheet<'_>], records: usize, by: &By<'_>) -> Option<Found> {
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
        // The names of choices are few, and each has several values.
        let fewest = names.iter().map(|index| sheet.profiles[*index].distinct).min().unwrap_or_default();
        names.retain(|index| sheet.profiles[*index].distinct <= 2 * fewest);
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
        let mut by_name = ByName::new();
        let both = columns[name].values.iter().zip(&columns[value].values).zip(&sheet.list.parent_of);
        for ((name, value), record) in both {
            if let (Some(name), Some(value)) = (name, value) {
                by_name.entry(name.clone()).or_default().push((*record, value));
            }
        }
        let keep = by.choices(&by_name, records);
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
fn object(sheet: &Sheet<'_>, by: &By<'_>) -> Option<Found> {
    let mut objects: BTreeMap<Vec<String>, Vec<usize>> = BTreeMap::new();
    for (index, column) in sheet.list.columns.iter().enumerate() {
        let is_own = column.at.as_ref().is_some_and(|at| !at.starts_with(OUTER));
        if column.path.len() > 1 && is_own {
            objects.entry(column.path[..column.path.len() - 1].to_vec()).or_default().push(index);
        }
    }
    let mut best: Option<(f64, Vec<String>, Vec<usize>)> = None;
    for (path, columns) in objects {
        let free = columns.iter().filter(|index| by.is_free(**index, &sheet.list.columns[**index])).count();
        let fits = LEXICON.fits(path.last()?, &[]);
        let named = fits.get("options").map_or(0.0, |fit| fit.score);
        let choices = columns.iter().filter(|index| is_named(sheet.list.columns[**index].name())).count();
        let score = named + 2.0 * choices as f64;
        let is_told = by.told.is_some() && free > 0;
        if !is_told && (free * 2 < columns.len() || score < 2.0 || named < 2.0 && choices * 2 < columns.len())
        {
            continue;
        }
        if best.as_ref().is_none_or(|(known, ..)| score > *known) {
            best = Some((score, path, columns));
        }
    }
    let (score, path, columns) = best?;
    let keep: Vec<String> = columns
        .into_iter()
        .filter(|index| by.is_choice_column(&sheet.list.columns[*index]))
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
fn named_columns(sheet: &Sheet<'_>, by: &By<'_>) -> Option<Found> {
    let columns = &sheet.list.columns;
    let kind = |index: usize, meaning: &str| {
        LEXICON.fits(columns[index].name(), &[]).get(meaning).map_or(0.0, |fit| fit.score)
    };
    let number =
        |index: usize| -> String { columns[index].name().chars().filter(char::is_ascii_digit).collect() };
    let mut places = Vec::new();
    let mut by_name = ByName::new();
    let used = |index: &usize| by.used.contains(index);
    for name in (0..columns.len()).filter(|index| !used(index)) {
        let few = sheet.profiles[name].distinct <= 8 && sheet.profiles[name].with_letter > 0.9;
        if kind(name, "option_name") < 2.5 || kind(name, "option_name") <= kind(name, "option_value") || !few
        {
            continue;
        }
        let value = (0..columns.len()).find(|value| {
            *value != name
                && number(*value) == number(name)
                && !used(value)
                && kind(*value, "option_value") >= 2.5
                && kind(*value, "option_value") > kind(*value, "option_name")
        });
        let Some(value) = value else { continue };
        for (record, (name, value)) in columns[name].values.iter().zip(&columns[value].values).enumerate() {
            if let (Some(name), Some(value)) = (name, value) {
                by_name.entry(name.clone()).or_default().push((record, value));
            }
        }
        let place = |index: usize| quoted(columns[index].at.as_deref().unwrap_or_default());
        places.push(format!("[{}, {}]", place(name), place(value)));
    }
    let keep = by.choices(&by_name, sheet.list.records.len());
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
fn text(sheet: &Sheet<'_>, by: &By<'_>) -> Option<Found> {
    let columns = sheet.list.columns.iter().zip(&sheet.profiles).enumerate();
    let may_be = |index: usize, column: &super::tree::Column| match by.place {
        None => !by.used.contains(&index),
        Some(_) => by.is_free(index, column),
    };
    let all: Vec<_> = columns
        .filter(|(index, (column, _))| may_be(*index, column))
        .filter_map(|(_, (column, profile))| {
            let at = column.at.as_deref().filter(|at| !at.starts_with(OUTER))?;
            let named = LEXICON.fits(column.name(), &[]).get("options").map_or(0.0, |fit| fit.score);
            (profile.filled > 0).then_some((column, profile, at, named))
        })
        .collect();
    let with_names = all.iter().find_map(|(column, _, at, named)| {
        text_of_json(&column.values, at, by).or_else(|| text_with_names(&column.values, at, *named, by))
    });
    with_names.or_else(|| {
        let texts =
            all.iter().filter(|(_, profile, ..)| profile.times.is_none() && profile.amounts.is_none());
        texts.into_iter().find_map(|(column, profile, at, named)| {
            let values: Vec<&str> = column.values.iter().flatten().map(String::as_str).collect();
            text_of_values(profile, column.name(), &values, at, *named, by)
        })
    })
}

/// An object of JSON, written as a text.
fn text_of_json(values: &[Option<String>], at: &str, by: &By<'_>) -> Option<Found> {
    let mut said: Vec<(String, usize, String)> = Vec::new();
    for (record, text) in values.iter().enumerate() {
        let Some(text) = text else { continue };
        let object: serde_json::Map<String, serde_json::Value> = serde_json::from_str(text).ok()?;
        for (name, value) in object {
            let value = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
            said.push((name, record, value));
        }
    }
    let mut by_name = ByName::new();
    for (name, record, value) in &said {
        by_name.entry(name.clone()).or_default().push((*record, value));
    }
    let keep = by.choices(&by_name, values.len());
    (!keep.is_empty()).then(|| Found {
        toml: format!("{{ object_at = {}, keep = {} }}", quoted(at), list(&keep)),
        at: at.to_owned(),
        is_sure: true,
        names: keep,
        why: "an object of names and values, as JSON in a text".into(),
    })
}

fn text_with_names(all: &[Option<String>], at: &str, named: f64, by: &By<'_>) -> Option<Found> {
    let values: Vec<(usize, &str)> =
        all.iter().enumerate().filter_map(|(record, text)| Some((record, text.as_deref()?))).collect();
    for name_ends in [":", "="] {
        let with = values.iter().filter(|(_, text)| text.contains(name_ends)).count();
        if values.is_empty() || with * 10 < values.len() * 8 {
            continue;
        }
        for between in [";", "|", ",", " / ", "\n"] {
            let mut by_name = ByName::new();
            let mut firsts = 0;
            for (record, text) in &values {
                for (number, part) in text.split(between).enumerate() {
                    if let Some((name, value)) = part.split_once(name_ends)
                        && name.trim().chars().count() <= 30
                        && name.contains(char::is_alphabetic)
                    {
                        firsts += usize::from(number == 0);
                        by_name.entry(name.trim().to_owned()).or_default().push((*record, value.trim()));
                    }
                }
            }
            // What people type can look like a name too; names come again.
            let least = (values.len() / 12).max(2).min(values.len());
            by_name.retain(|_, values| values.len() >= least);
            let parted = values.iter().filter(|(_, text)| text.contains(between)).count();
            let said: Vec<&str> = by_name.values().flatten().map(|(_, text)| *text).collect();
            let inner = said.iter().filter(|value| value.contains(name_ends)).count();
            let has_inner = inner * 5 > said.len();
            if by_name.is_empty() || by_name.len() > 8 || firsts * 10 < values.len() * 9 || has_inner {
                continue;
            }
            if by_name.len() == 1 && parted * 2 > values.len() {
                continue;
            }
            let keep = by.choices(&by_name, all.len());
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
fn text_of_values(
    profile: &Profile,
    name: &str,
    values: &[&str],
    at: &str,
    named: f64,
    by: &By<'_>,
) -> Option<Found> {
    if let Some(told) = by.told {
        let is_of =
            |between: &&str| values.iter().all(|text| text.split(between.trim()).count() == told.len());
        let between = [" / ", ", ", " | ", "; ", " - "].into_iter().find(is_of);
        if let Some(between) = between.filter(|_| told.len() > 1) {
            return Some(Found {
                toml: format!(
                    "{{ text_at = {}, between = {}, names = {} }}",
                    quoted(at),
                    quoted(between),
                    list(told)
                ),
                at: at.to_owned(),
                names: told.to_vec(),
                is_sure: false,
                why: "the owner says so".into(),
            });
        }
    }
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

/// Columns of which several begin with the same word, that they are of choices: `optionSize`, `optionMadeAs`.
fn fronted(sheet: &Sheet<'_>) -> BTreeSet<usize> {
    let mut by_front: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, column) in sheet.list.columns.iter().enumerate() {
        let words = super::lexicon::words(column.name());
        let Some((front, rest)) = words.split_first().filter(|(_, rest)| !rest.is_empty()) else { continue };
        let fits = LEXICON.fits(&rest.join(" "), &[]);
        let is_another = fits.iter().any(|(meaning, fit)| {
            fit.is_exact && !matches!(*meaning, "size" | "colour" | "material" | "option" | "design")
        });
        let is_numbered = rest.iter().any(|word| word.bytes().all(|byte| byte.is_ascii_digit()));
        let is_own = column.path.len() == 1 && column.at.as_ref().is_some_and(|at| !at.starts_with(OUTER));
        if is_own && !is_another && !is_numbered && sheet.profiles[index].times.is_none() {
            by_front.entry(front.clone()).or_default().push(index);
        }
    }
    let says_so = |front: &str| LEXICON.fits(front, &[]).get("options").is_some_and(|fit| fit.is_exact);
    by_front.retain(|front, columns| columns.len() > 1 && says_so(front));
    by_front.into_values().flatten().collect()
}

/// Columns of their own.
fn columns(sheet: &Sheet<'_>, by: &By<'_>) -> Option<Found> {
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
    let fronted = fronted(sheet);
    let mut known = BTreeSet::new();
    let found: Vec<(&str, &str)> = sheet
        .list
        .columns
        .iter()
        .enumerate()
        .filter(|(index, column)| {
            by.is_free(*index, column)
                && (by.told.is_some()
                    || is_size(column.name())
                    || is_kind(*index, column.name())
                    || fronted.contains(index))
                && by.is_choice_column(column)
        })
        .filter_map(|(_, column)| Some((column.name(), column.at.as_deref()?)))
        .filter(|(name, _)| known.insert(model::text::fold(&shown(name))))
        .collect();
    if found.is_empty() {
        return None;
    }
    let columns: Vec<String> =
        found.iter().map(|(name, at)| format!("{} = {}", quoted(&shown(name)), quoted(at))).collect();
    Some(Found {
        toml: format!("{{ columns = {{ {} }} }}", columns.join(", ")),
        at: found.iter().map(|(_, at)| *at).collect::<Vec<_>>().join(", "),
        names: found.iter().map(|(name, _)| shown(name)).collect(),
        // What kind of thing it is may be said of it, and not chosen.
        is_sure: by.told.is_some() || found.iter().all(|(name, _)| is_size(name)),
        why: "the names of the columns".into(),
    })
}

/// Names as a list of a configuration, in which `Size` and `size` are one.
pub(super) fn list(names: &[String]) -> String {
    let mut known = BTreeSet::new();
    let names = names.iter().filter(|name| known.insert(model::text::fold(name))).map(|name| quoted(name));
    format!("[{}]", names.collect::<Vec<_>>().join(", "))
}
