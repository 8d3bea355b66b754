//! A listing as a grid: for each good, colours down and sizes across.
//!
//! Owns which offers stand in which cell, and in which order sizes stand. Must not know how a grid is shown, nor what
//! the state of an offer means. Start reading at [`grids`].

use std::cmp::Ordering;
use std::collections::BTreeMap;

use model::Reading;

use crate::vocabulary::Vocabulary;

/// One good of a listing. `S` is the state of an offer; the greatest of a cell is the cell's.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Grid<S> {
    /// What kind of good, and for whom; empty where nothing was read.
    pub good: String,
    /// Across, from small to large; a single empty one where no size was read.
    pub sizes: Vec<String>,
    /// Down, by name, each with one cell for each size; the name is empty where no colour was read.
    pub rows: Vec<(String, Vec<Option<S>>)>,
}

/// Lays out the offers of one listing, each by its reading and its state. By good.
pub fn grids<'r, S: Ord + Copy>(
    vocabulary: &Vocabulary,
    offers: impl IntoIterator<Item = (&'r Reading, S)>,
) -> Vec<Grid<S>> {
    let mut goods: BTreeMap<String, BTreeMap<(String, String), S>> = BTreeMap::new();
    for (reading, state) in offers {
        let text = |part: &Option<String>| part.clone().unwrap_or_default();
        let names_age =
            |age: &&str| reading.product_type.as_deref().is_some_and(|kind| kind.starts_with(*age));
        let age = reading.age_group.as_deref().filter(|age| *age != "adult" && !names_age(age));
        let words = age.into_iter().chain(reading.product_type.as_deref());
        let good = words.collect::<Vec<_>>().join(" ");
        let cell = (text(&reading.colour), text(&reading.size));
        let cells = goods.entry(good).or_default();
        cells.entry(cell).and_modify(|there| *there = state.max(*there)).or_insert(state);
    }
    let grid = |(good, cells): (String, BTreeMap<(String, String), S>)| {
        let mut sizes: Vec<String> = cells.keys().map(|(_, size)| size.clone()).collect();
        sizes.sort_by(|one, other| from_small_to_large(vocabulary, one, other));
        sizes.dedup();
        let mut colours: Vec<&String> = cells.keys().map(|(colour, _)| colour).collect();
        colours.dedup();
        let row = |colour: &String| {
            let cell = |size: &String| cells.get(&(colour.clone(), size.clone())).copied();
            (colour.clone(), sizes.iter().map(cell).collect())
        };
        let rows = colours.into_iter().map(row).collect();
        Grid { good, rows, sizes }
    };
    goods.into_iter().map(grid).collect()
}

/// The order in which sizes of one good stand.
pub(crate) fn from_small_to_large(vocabulary: &Vocabulary, one: &str, other: &str) -> Ordering {
    rank(vocabulary, one)
        .partial_cmp(&rank(vocabulary, other))
        .unwrap_or(Ordering::Equal)
        .then_with(|| one.cmp(other))
}

/// Where a size stands: ages by months, letters as the vocabulary has them, paper from small to large, then by their
/// first number, then the others.
fn rank(vocabulary: &Vocabulary, size: &str) -> (u8, f64) {
    let first = size.split('/').next().unwrap_or(size);
    if let Some(place) = vocabulary.letters.iter().position(|letter| letter == first) {
        return (1, f64::from(u32::try_from(place).unwrap_or(u32::MAX)));
    }
    let number = |text: &str| {
        let digits =
            text.split(|sign: char| !(sign.is_ascii_digit() || sign == '.')).next().unwrap_or_default();
        digits.parse::<f64>().ok()
    };
    let months = match size.chars().last() {
        _ if size == "newborn" => Some(0.0),
        Some('M') => number(size),
        Some('T' | 'Y') => number(size).map(|years| years * 12.0),
        _ => None,
    };
    match (months, size.strip_prefix('A').and_then(number)) {
        (Some(months), _) => (0, months),
        (None, Some(paper)) => (2, -paper),
        (None, None) => number(size).map_or((4, 0.0), |number| (3, number)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(good: &str, colour: &str, size: &str) -> Reading {
        let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        Reading { product_type: some(good), colour: some(colour), size: some(size), ..Reading::default() }
    }

    #[test]
    fn sizes_of_all_kinds_stand_from_small_to_large() {
        let vocabulary = Vocabulary::built_in();
        for sizes in [
            &["newborn", "6-12M", "12-18M", "2T", "3T", "5-6Y"][..],
            &["XS", "S", "S/M", "XL", "2XL"],
            &["A4", "A3", "A2"],
            &["8x10 in", "12x18 in"],
        ] {
            let readings: Vec<Reading> = sizes.iter().rev().map(|size| reading("poster", "", size)).collect();
            assert_eq!(grids(&vocabulary, readings.iter().map(|reading| (reading, 1)))[0].sizes, sizes);
        }
    }

    #[test]
    fn sizes_stand_from_small_to_large_and_the_worst_of_a_cell_counts() {
        let readings = [
            reading("apron", "moss", "2XL"),
            reading("apron", "moss", "S"),
            reading("apron", "clay", "M"),
            reading("apron", "clay", "M"),
            reading("mug", "", "15 oz"),
            reading("mug", "", "11 oz"),
        ];
        let states = [1, 2, 1, 3, 1, 1];
        let grids = grids(&Vocabulary::built_in(), readings.iter().zip(states));
        let apron = Grid {
            good: "apron".to_owned(),
            sizes: ["S", "M", "2XL"].map(str::to_owned).to_vec(),
            rows: vec![
                ("clay".to_owned(), vec![None, Some(3), None]),
                ("moss".to_owned(), vec![Some(2), None, Some(1)]),
            ],
        };
        assert_eq!(grids[0], apron);
        assert_eq!(grids[1].sizes, ["11 oz", "15 oz"]);
        assert_eq!(grids[1].rows, [(String::new(), vec![Some(1), Some(1)])]);
    }
}
