//! What the values of one option say together: what a word can be where the other values are colours.
//!
//! Must not know products beyond their words. Start reading at [`Listing::read_shadings`].

use std::collections::{BTreeMap, BTreeSet};

use super::listing::Listing;
use super::row::{Row, RowWord};
use super::words::Word;
use crate::close::Part;

impl Listing<'_> {
    /// In an option for colours, a word that nobody knows beside a colour is a shade of it, unless it is a pattern's or a
    /// product's own: 'coal black' and 'midnight navy', but not 'black marble'.
    pub(super) fn read_shadings(&mut self) {
        let of_colours: BTreeSet<usize> = self.texts().filter(|text| self.is_of_colours(*text)).collect();
        if of_colours.is_empty() {
            return;
        }
        let mut known: BTreeMap<Word, bool> = BTreeMap::new();
        let mut is_own = |word: Word| {
            *known.entry(word).or_insert_with(|| {
                self.vocabulary.patterns.contains(self.words.text(word))
                    || self.families.iter().any(|family| family.tails.iter().any(|tail| tail.has(word)))
            })
        };
        let mut shadings: Vec<Vec<usize>> = Vec::with_capacity(self.rows.len());
        for row in &self.rows {
            let has = |text: usize, part: Part| row.words.iter().any(|word| word.text == text && word.part == part);
            let words = row.words.iter().enumerate().filter(|(_, word)| {
                word.part == Part::Unknown
                    && of_colours.contains(&word.text)
                    && has(word.text, Part::Colour)
                    && !has(word.text, Part::Good)
                    && !is_own(word.word)
            });
            shadings.push(words.map(|(place, _)| place).collect());
        }
        for (row, places) in self.rows.iter_mut().zip(shadings) {
            places.into_iter().for_each(|place| row.words[place].part = Part::Shading);
        }
    }

    /// The places of the options.
    fn texts(&self) -> std::ops::Range<usize> {
        0..self.rows.iter().flat_map(|row| &row.words).map(|word| word.text + 1).max().unwrap_or(0)
    }

    /// Whether an option is for colours: by its name, or because most of its values are colours and nothing else.
    fn is_of_colours(&self, text: usize) -> bool {
        let is_named = self.offers.iter().any(|offer| {
            let name = offer.options.folded().nth(text).map(|(name, _)| self.vocabulary.name_says(name));
            name.is_some_and(|name| name.colour && !name.design)
        });
        if is_named {
            return true;
        }
        let value = |row: &Row| -> Vec<RowWord> {
            row.words.iter().filter(|word| word.text == text).copied().collect()
        };
        let values: BTreeSet<Vec<RowWord>> = self.rows.iter().map(value).collect();
        let is_plain = |value: &&Vec<RowWord>| !value.is_empty() && value.iter().all(|word| word.part.is_colour());
        let plain = values.iter().filter(is_plain).count();
        plain >= 2 && plain * 2 > values.len()
    }
}
