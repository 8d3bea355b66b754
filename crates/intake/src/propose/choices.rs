//! Choices told by what they do: of the offers of one listing, they say which is which.
//!
//! Must not know what they are called. Start reading at [`find`].

use std::collections::{BTreeMap, BTreeSet};

use super::lexicon::LEXICON;
use super::options::{By, FEW, Found, LONG, list};
use super::sheet::Sheet;
use super::tree::step;
use super::write::quoted;

/// How many offers have to be there, to tell anything of them.
const OFFERS: usize = 6;

/// The choices of offers, of which `listing` is what each belongs to: the fewest columns of words that come again, that differ
/// within a listing, and that tell its offers apart.
pub(super) fn find(sheet: &Sheet<'_>, listing: &[Option<String>], by: &By<'_>) -> Option<Found> {
    let columns = &sheet.list.columns;
    if sheet.list.records.len() < OFFERS {
        return None;
    }
    let differs_within = |index: usize| {
        let mut of: BTreeMap<&Option<String>, &Option<String>> = BTreeMap::new();
        listing
            .iter()
            .zip(&columns[index].values)
            .any(|(listing, value)| *of.entry(listing).or_insert(value) != value)
    };
    let is_choice = |index: &usize| {
        let profile = &sheet.profiles[*index];
        let is_flag = profile.frequent.iter().all(|(word, _)| LEXICON.status("flag", word).is_some());
        let is_number = profile.has_fractions() || profile.whole.is_some();
        by.is_free(*index, &columns[*index])
            && (2..=FEW).contains(&profile.distinct)
            && profile.distinct * 2 <= profile.filled
            && profile.mean_length <= LONG
            && profile.with_letter > 0.5
            && profile.times.is_none()
            && profile.urls == 0.0
            && !is_flag
            && !is_number
            && differs_within(*index)
    };
    let mut chosen: Vec<usize> = (0..columns.len()).filter(is_choice).collect();
    let tells_apart = |chosen: &[usize]| {
        let mut seen = BTreeSet::new();
        listing.iter().enumerate().all(|(row, listing)| {
            let values: Vec<_> = chosen.iter().map(|index| &columns[*index].values[row]).collect();
            seen.insert((listing, values))
        })
    };
    if chosen.is_empty() || !tells_apart(&chosen) {
        return None;
    }
    // What is not needed says something else of them.
    for index in chosen.clone().into_iter().rev() {
        let without: Vec<usize> = chosen.iter().copied().filter(|other| *other != index).collect();
        if !without.is_empty() && tells_apart(&without) {
            chosen = without;
        }
    }
    let why = "of the offers of one listing, they say which is which".to_owned();
    let names: Vec<String> = chosen.iter().map(|index| columns[*index].name().to_owned()).collect();
    let outer = |index: &usize| columns[*index].path.split_last().map(|(_, outer)| outer);
    let path = outer(chosen.first()?)?;
    if !path.is_empty() && chosen.iter().all(|index| outer(index) == Some(path)) {
        let at = path.iter().fold(String::from("$"), |at, name| at + &step(name));
        let toml = format!("{{ object_at = {}, keep = {} }}", quoted(&at), list(&names));
        return Some(Found { toml, at, names, is_sure: false, why });
    }
    let places: Vec<&str> = chosen.iter().filter_map(|index| columns[*index].at.as_deref()).collect();
    let named = names.iter().zip(&places).map(|(name, at)| format!("{} = {}", quoted(name), quoted(at)));
    let toml = format!("{{ columns = {{ {} }} }}", named.collect::<Vec<_>>().join(", "));
    Some(Found { toml, at: places.join(", "), names, is_sure: false, why })
}
