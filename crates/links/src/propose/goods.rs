//! The goods that a listing sells, and which products they are.
//!
//! Owns which words tell goods apart, and the assignment of goods to products. Must not know sizes and colours, only
//! whether a product has what a good's offers say. Start reading at [`assigned`].

use super::assign::{Forced, forced};
use super::family::Family;
use super::words::{Word, WordSet};

/// A good of one type among the offers of a listing.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Key {
    pub(super) age_group: Option<Word>,
    /// The words that tell it apart.
    pub(super) words: WordSet,
    /// Whether it has a part of its own colour.
    pub(super) has_part: bool,
}

/// What a good was found to be. Numbers are places among the families given.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Found {
    /// This product, told by words, as the only one, or as the one that was left.
    One(usize, Told),
    /// One of these.
    Open(Vec<usize>),
    /// One of these, which another good could be as well.
    Contested(Vec<usize>),
    /// All that it could be are other goods.
    NoneLeft,
}

/// How a product was told.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Told {
    Only,
    ByWords,
    /// The others are other goods'.
    Left,
    /// It suits the age group better than another that is to be had.
    Rather,
    ByRule,
}

/// Words that some of the families have in their name and others have not.
pub(super) fn telling(families: &[&Family]) -> WordSet {
    let all = families.iter().flat_map(|family| family.names());
    let in_all = |word: &Word| families.len() > 1 && families.iter().all(|family| family.has_name(*word));
    all.filter(|word| !in_all(word)).collect()
}

/// What a word that a good and a product share weighs against all else.
const WORD: u32 = 1_000;
/// What the same age group weighs, said by both or by neither.
const AGE: u32 = 100;

/// Ties goods to products. `fits[good][family]`: whether any of the good's offers is made there.
pub(super) fn assigned(
    goods: &[Key],
    families: &[&Family],
    fits: &[Vec<bool>],
    adult: Word,
    is_picked: bool,
) -> Vec<Found> {
    let telling = telling(families);
    let weight = |good: &Key, family: &Family| {
        let shared = family.names().filter(|word| telling.has(*word) && good.words.has(*word)).count();
        let of_age = family.sizes.iter().any(|size| {
            size.age_group == good.age_group
                || good.age_group.is_none() && size.age_group == Some(adult)
                || good.age_group == Some(adult) && size.age_group.is_none()
        });
        let count = |words: usize| u32::try_from(words).unwrap_or(0);
        let shared = count(shared) + u32::from(good.has_part && family.has_part);
        1 + WORD * shared + if of_age { AGE } else { 0 }
    };
    let weights: Vec<Vec<Option<u32>>> = goods
        .iter()
        .zip(fits)
        .map(|(good, fits)| {
            let families = families.iter().enumerate();
            families.map(|(place, family)| fits[place].then(|| weight(good, family))).collect()
        })
        .collect();
    let found = forced(&weights);
    let claimed: Vec<usize> = found
        .iter()
        .filter_map(|forced| if let Forced::To(place) = forced { Some(*place) } else { None })
        .collect();
    // A product that the owner has picked and that no good has taken may be the one, though it is for another age.
    let without_age = |good: usize, place: usize| -> Vec<usize> {
        let words = |place: usize| weights[good][place].map(|weight| weight / WORD);
        let others = (0..families.len())
            .filter(|other| *other != place && !claimed.contains(other) && words(*other) == words(place));
        if is_picked && goods[good].age_group.is_none() { others.collect() } else { Vec::new() }
    };
    let found = found.into_iter().zip(&weights).enumerate();
    found
        .map(|(good, (forced, row))| {
            let possible: Vec<usize> = (0..row.len()).filter(|place| row[*place].is_some()).collect();
            let heaviest = row.iter().flatten().copied().max().unwrap_or(0);
            match forced {
                Forced::To(place) if !without_age(good, place).is_empty() => {
                    Found::Open(std::iter::once(place).chain(without_age(good, place)).collect())
                }
                Forced::To(place) if possible.len() == 1 => Found::One(place, Told::Only),
                // It says words of another one, which another good has taken: that this one is left says nothing.
                Forced::To(place) if row[place].unwrap_or(0) / WORD < heaviest / WORD => Found::Contested(
                    possible.iter().copied().filter(|place| row[*place] == Some(heaviest)).collect(),
                ),
                Forced::To(place) if row[place] == Some(heaviest) && heaviest > WORD => {
                    Found::One(place, Told::ByWords)
                }
                Forced::To(place)
                    if possible.iter().any(|other| *other != place && !claimed.contains(other)) =>
                {
                    Found::One(place, Told::Rather)
                }
                Forced::To(place) => Found::One(place, Told::Left),
                Forced::Left if possible.is_empty() => Found::NoneLeft,
                Forced::Left | Forced::Open => {
                    let best: Vec<usize> =
                        possible.iter().copied().filter(|place| row[*place] == Some(heaviest)).collect();
                    let contested = |place: usize| {
                        (0..goods.len()).any(|other| other != good && weights[other][place].is_some())
                    };
                    match (forced, best.as_slice()) {
                        (Forced::Left, _) => Found::NoneLeft,
                        (_, [only]) if contested(*only) => Found::Contested(best),
                        (_, [_, ..]) => Found::Open(best),
                        (_, []) => Found::NoneLeft,
                    }
                }
            }
        })
        .collect()
}
