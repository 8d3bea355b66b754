//! How well each column of a list fits each meaning: by its name, by its values (`values`), and by how these go with those
//! of other columns (`relations`); and the choice over all of them together.
//!
//! Must not know files or how a mapping is written. Start reading at [`choose`].

use std::collections::{BTreeMap, BTreeSet};

use pathfinding::kuhn_munkres::kuhn_munkres;
use pathfinding::matrix::Matrix;

use super::level::Level;
use super::lexicon::{Fit, Meaning, meanings};
use super::profile::set;
use super::sheet::Sheet;
use super::tree::Column;

/// From what a column is better used for something else.
const USED: f64 = 3.0;

/// How much of a name says something.
const SAYS_SOMETHING: f64 = 1.9;

/// What values say that are those of another list, or of the shop.
pub(super) const SHARED: f64 = 3.5;

/// What speaks for the number of an order that suppliers name.
pub(super) const TOLD: f64 = 5.0;

/// What speaks for a column having a meaning.
#[derive(Clone, Default, Debug)]
pub(super) struct Evidence {
    pub(super) score: f64,
    pub(super) is_exact: bool,
    /// What the values say, beside that they may be it.
    pub(super) by_values: f64,
    pub(super) why: Vec<String>,
}

/// A column chosen for a meaning.
#[derive(Clone, Debug)]
pub(super) struct Chosen {
    pub(super) column: usize,
    pub(super) evidence: Evidence,
    /// How much better than the next best column, and than the next best meaning of the same column.
    pub(super) margin: f64,
    /// Other columns that may be meant, the best first.
    pub(super) others: Vec<usize>,
}

/// What is known of values elsewhere.
#[derive(Clone, Default, Debug)]
pub(super) struct Known<'k> {
    /// The ids of the records that the list's belong to, where it is a list by itself.
    pub(super) parents: Option<BTreeSet<&'k str>>,
    /// The shop's order ids, SKUs and line ids, from the other side.
    pub(super) order_ids: BTreeSet<String>,
    pub(super) skus: BTreeSet<String>,
    pub(super) order_line_ids: BTreeSet<String>,
    /// Places of columns whose values another list repeats.
    pub(super) referred: BTreeSet<String>,
    /// The ids of the lines that parcels have.
    pub(super) line_ids: BTreeSet<String>,
    /// What names the records of other lists, one set a column.
    pub(super) elsewhere: Vec<BTreeSet<&'k str>>,
    /// Whether the records around say to which order these belong.
    pub(super) is_inside: bool,
    /// Of parcels beside lines: the place of the time that stands where what names them does, and nowhere else.
    pub(super) sent: Option<String>,
    /// Places of words that go with times of the rows that are lines.
    pub(super) stated: BTreeSet<String>,
    /// What suppliers' files say, column by column.
    pub(super) told: &'k [BTreeSet<String>],
    /// When the shop's orders were placed, as seconds.
    pub(super) placed: BTreeSet<i64>,
    /// Of a catalogue: the variants and SKUs that lines have.
    pub(super) sold: [BTreeSet<&'k str>; 2],
}

/// What a text is without a front and an end.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub(super) struct Trim {
    pub(super) front: String,
    pub(super) end: String,
}

/// The front and end that, taken off, leave the most values that are known; with the share that are then.
pub(super) fn trim(column: &Column, known: &BTreeSet<String>) -> Option<(Trim, f64)> {
    trim_of(&set(column), known)
}

/// Likewise of different values.
pub(super) fn trim_of(values: &BTreeSet<&str>, known: &BTreeSet<String>) -> Option<(Trim, f64)> {
    if values.is_empty() || known.is_empty() {
        return None;
    }
    let mut votes: BTreeMap<(String, String), usize> = BTreeMap::new();
    for value in values {
        if known.contains(*value) {
            *votes.entry(Default::default()).or_default() += 1;
        }
        let starts: Vec<usize> = value.char_indices().map(|(at, _)| at).take(24).collect();
        for start in starts {
            let ends =
                value.char_indices().map(|(at, letter)| at + letter.len_utf8()).filter(|end| *end > start);
            for end in ends.rev().take(24) {
                if known.contains(&value[start..end]) && (start > 0 || end < value.len()) {
                    let key = (value[..start].to_owned(), value[end..].to_owned());
                    *votes.entry(key).or_default() += 1;
                    break;
                }
            }
        }
    }
    let ((front, end), count) = votes
        .into_iter()
        .max_by_key(|(key, count)| (*count, std::cmp::Reverse(key.0.len() + key.1.len())))?;
    Some((Trim { front, end }, count as f64 / values.len() as f64))
}

impl Sheet<'_> {
    /// All evidence: by column and meaning.
    pub(super) fn evidence(&self, level: Level, known: &Known<'_>) -> Vec<BTreeMap<Meaning, Evidence>> {
        let more = self.relations(level, known);
        let own = level.meanings();
        let is_said_around = |meaning: Meaning| {
            known.is_inside && level == Level::Parcels && matches!(meaning, "submission_id" | "order_ref")
        };
        // What differs from line to line of an order does not name the order that is around them.
        let is_of_line = |meaning: Meaning, index: usize| {
            let of = matches!(
                (level, meaning),
                (Level::OrderLines, "order_id") | (Level::SubmissionLines, "submission_id")
            );
            of && self.list.parent.is_some() && !self.is_same_within(index)
        };
        let mut all: Vec<BTreeMap<Meaning, Evidence>> = Vec::new();
        for (index, profile) in self.profiles.iter().enumerate() {
            let mut fits = self.name_fits(index, level);
            fits.retain(|meaning, _| !is_said_around(meaning) && !is_of_line(meaning, index));
            let best_other_exact = |meaning: Meaning| {
                fits.iter().any(|(other, fit)| {
                    *other != meaning
                        && fit.is_exact
                        && self.by_values(other, index, profile, level).is_some()
                }) && !fits.get(meaning).is_some_and(|fit| fit.is_exact)
            };
            let mut of_column = BTreeMap::new();
            let candidates: BTreeSet<Meaning> = own
                .iter()
                .copied()
                .chain(fits.keys().copied())
                .chain(
                    more.iter().filter(|((column, _), _)| *column == index).map(|((_, meaning), _)| *meaning),
                )
                .chain(["email", "phone"])
                .collect();
            let candidates = candidates.into_iter();
            for meaning in
                candidates.filter(|meaning| !is_said_around(meaning) && !is_of_line(meaning, index))
            {
                let Some((by_values, mut why)) = self.by_values(meaning, index, profile, level) else {
                    continue;
                };
                let fit = fits.get(meaning).copied().unwrap_or(Fit { score: 0.0, is_exact: false });
                let related = more.get(&(index, meaning));
                let mut score = fit.score + by_values + related.map_or(0.0, |(more, _)| *more);
                let is_named_elsewhere = matches!(
                    meaning,
                    "order_ref" | "order_line_ref" | "order_id" | "variant_id" | "sku" | "listing_id"
                );
                let is_shared = is_named_elsewhere && related.is_some_and(|(more, _)| *more >= SHARED - 0.5);
                if best_other_exact(meaning) && !is_shared {
                    score -= 2.5;
                }
                let is_line = matches!(level, Level::OrderLines | Level::SubmissionLines);
                let names_the_order = matches!(meaning, "order_id" | "submission_id" | "order_ref");
                if is_line && self.repeated.contains(&index) && !names_the_order {
                    score -= 1.5;
                }
                if fit.score > 0.0 {
                    why.insert(0, format!("its name, {}", super::shown_name(&self.list.columns[index])));
                }
                if let Some((_, text)) = related.filter(|(points, _)| *points > 0.0) {
                    why.push(text.clone());
                }
                let by_values = by_values + related.map_or(0.0, |(more, _)| *more);
                if score > 0.0 {
                    of_column.insert(meaning, Evidence { score, is_exact: fit.is_exact, by_values, why });
                }
            }
            // What names the records of another list is no choice, whatever it is called.
            let names_others = own.iter().any(|meaning| {
                of_column.get(meaning).is_some_and(|evidence: &Evidence| evidence.by_values >= SHARED - 0.5)
            });
            if names_others {
                of_column.retain(|meaning, evidence| !is_choice(meaning) || evidence.by_values > 0.5);
            }
            all.push(of_column);
        }
        all
    }
}

/// Whether a meaning is of what is chosen, or of what kind a thing is.
fn is_choice(meaning: &str) -> bool {
    matches!(
        meaning,
        "option" | "options" | "design" | "garment" | "material" | "size" | "colour" | "category"
    )
}

/// The best choice of a column for each meaning, over all of them together: an optimal assignment (Kuhn 1955, by the
/// crate `pathfinding`), in which columns may also have a meaning that is not kept, or none.
pub(super) fn choose(sheet: &Sheet<'_>, level: Level, known: &Known<'_>) -> BTreeMap<Meaning, Chosen> {
    let evidence = sheet.evidence(level, known);
    let own = level.meanings();
    // Others may stand there several times: two streets, three notes.
    let others: Vec<Meaning> =
        meanings().into_iter().filter(|meaning| !own.contains(meaning) && level.can_mean(meaning)).collect();
    let count = evidence.len();
    if count == 0 {
        return BTreeMap::new();
    }
    let points = |score: f64| (score * 1_000.0) as i64;
    let best_other: Vec<i64> = evidence
        .iter()
        .map(|of_column| {
            let scores = others.iter().filter_map(|meaning| of_column.get(meaning)).map(|e| points(e.score));
            // What stands in the shop's own orders too is that, whatever it is called.
            let is_shared = |meaning: &Meaning| {
                let shared = ["order_ref", "sku", "order_line_ref", "order_id"].contains(meaning);
                shared && of_column.get(meaning).is_some_and(|evidence| evidence.by_values >= SHARED)
            };
            match own.iter().any(is_shared) {
                true => 900,
                false => scores.max().unwrap_or(0).max(900),
            }
        })
        .collect();
    // A column for each meaning of ours, then one place for each column where it means something else, or nothing.
    let mut matrix = Matrix::new(count, own.len() + count, 0_i64);
    for (row, of_column) in evidence.iter().enumerate() {
        for (place, meaning) in own.iter().enumerate() {
            matrix[(row, place)] =
                of_column.get(meaning).map_or(-1_000_000, |evidence| points(evidence.score));
        }
        for place in 0..count {
            matrix[(row, own.len() + place)] = if place == row { best_other[row] } else { -1_000_000 };
        }
    }
    let (_, assigned) = kuhn_munkres(&matrix);
    let used_as: Vec<Option<(Meaning, f64)>> = assigned
        .iter()
        .zip(&evidence)
        .map(|(place, of_column)| {
            let meaning = own.get(*place)?;
            Some((*meaning, of_column.get(meaning)?.score))
        })
        .collect();
    let mut chosen = BTreeMap::new();
    for (row, place) in assigned.into_iter().enumerate() {
        let Some(meaning) = own.get(place) else { continue };
        let Some(found) = evidence[row].get(meaning) else { continue };
        // What is better used in another way is the less a rival.
        let weighed = |score: f64, better: Option<f64>| match better {
            Some(better) if better > score => 2.0 * score - better,
            _ => score,
        };
        let mut rivals: Vec<(usize, f64)> = evidence
            .iter()
            .enumerate()
            .filter(|(other, _)| {
                *other != row && sheet.list.columns[*other].values != sheet.list.columns[row].values
            })
            .filter_map(|(other, of_column)| {
                let score = of_column.get(meaning)?.score;
                Some((other, weighed(score, used_as[other].map(|(_, score)| score))))
            })
            .collect();
        rivals.sort_by(|a, b| b.1.total_cmp(&a.1));
        let rival = rivals.first().map_or(0.0, |(_, score)| *score);
        // The shop's own code of a thing may be called the customer's: that the shop is.
        let is_of_shop = found.by_values >= SHARED && *meaning == "sku";
        let own_rival = evidence[row]
            .iter()
            .filter(|(other, _)| *other != meaning && !(is_of_shop && **other == "customer_id"))
            .map(|(other, evidence)| {
                let better = used_as.iter().flatten().find(|(used, _)| used == other);
                weighed(evidence.score, better.map(|(_, score)| *score))
            })
            .fold(0.0, f64::max);
        let mut margin = (found.score - rival).min(found.score - own_rival);
        // Of two columns whose names both say it, nothing here says which one is meant.
        let says_it = |other: usize| {
            let of_column = &evidence[other];
            let says =
                of_column.get(meaning).is_some_and(|evidence| evidence.score - evidence.by_values >= 2.0);
            let says_another =
                of_column.iter().any(|(another, evidence)| another != meaning && evidence.is_exact);
            let is_same = sheet.list.columns[other].values == sheet.list.columns[row].values;
            let is_there = sheet.profiles[other].fill() > 0.5;
            other != row && says && !is_same && is_there && (!says_another || of_column[meaning].is_exact)
        };
        // Of two names that an order has, which one suppliers are told is not said here.
        let may_be_told = |other: usize| {
            let profile = &sheet.profiles[other];
            let fits = sheet.name_fits(other, level);
            let is_called = fits.get("order_id").is_some_and(|fit| fit.score >= 1.5);
            let is_worded = sheet.is_worded(other);
            let is_name = is_worded
                || (is_called || profile.mean_length >= 3.0 && sheet.is_dense(other))
                    && !fits.iter().any(|(meaning, fit)| *meaning != "order_id" && fit.is_exact);
            other != row
                && is_name
                && profile.is_full()
                && profile.is_unique()
                && (profile.may_be_id() || is_worded)
        };
        let is_shown = !known.told.is_empty() && found.by_values >= TOLD;
        let is_told = !is_shown && level == Level::Orders && *meaning == "order_id";
        // Where another, whose name says nothing, may be it as well by its values, only the name speaks for this one.
        let may_be_too = |other: usize| {
            let Some(rival) = evidence[other].get(meaning) else { return false };
            let is_same = sheet.list.columns[other].values == sheet.list.columns[row].values;
            let is_used = used_as[other].is_some_and(|(_, score)| score >= USED);
            let is_unnamed = || sheet.name_fits(other, level).values().all(|fit| fit.score < SAYS_SOMETHING);
            other != row
                && !is_same
                && !is_used
                && sheet.profiles[other].fill() > 0.5
                && rival.by_values >= found.by_values - 0.3
                && (rival.by_values >= SHARED || rival.by_values >= 1.0 && is_unnamed())
        };
        if (0..count).any(says_it) || is_told && (0..count).any(may_be_told) || (0..count).any(may_be_too) {
            margin = margin.min(0.5);
        }
        let others =
            rivals.into_iter().filter(|(_, score)| *score > 1.0).map(|(other, _)| other).take(6).collect();
        // Of columns that say the same, the one that stands nearest to the record is said of it.
        let depth = |column: usize| sheet.list.columns[column].path.len();
        let is_nearer = |other: &usize| {
            let as_good = evidence[*other].get(meaning).is_some_and(|evidence| {
                evidence.is_exact == found.is_exact && evidence.score >= found.score - 0.5
            });
            let is_same = sheet.list.columns[*other].values == sheet.list.columns[row].values;
            used_as[*other].is_none() && as_good && is_same && depth(*other) < depth(row)
        };
        let column = (0..count).filter(is_nearer).min_by_key(|other| depth(*other)).unwrap_or(row);
        chosen.insert(*meaning, Chosen { column, evidence: found.clone(), margin, others });
    }
    chosen
}
