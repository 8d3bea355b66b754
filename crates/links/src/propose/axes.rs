//! What the values of one option say together: what a word can be where the other values are colours.
//!
//! Must not know products beyond their words. Start reading at [`Listing::read_shadings`].

use std::collections::{BTreeMap, BTreeSet};

use super::family::{Family, Made};
use super::fit::Fit;
use super::listing::{Fitted, Listing};
use super::row::{Row, RowWord};
use super::words::{Word, WordSet};
use crate::close::Part;

impl Listing<'_> {
    /// In an option for colours, a word that nobody knows beside a colour is a shade of it, unless it is a pattern's or a
    /// product's own: 'coal black' and 'midnight navy', but not 'black marble'.
    pub(super) fn read_shadings(&mut self) {
        let open = self.rows.iter().flat_map(|row| &row.words).filter(|word| word.part == Part::Unknown);
        let open: BTreeSet<usize> = open.map(|word| word.text).collect();
        let of_colours: BTreeSet<usize> =
            open.into_iter().filter(|text| self.is_of_colours(*text) || self.shades_each(*text)).collect();
        if of_colours.is_empty() {
            return;
        }
        let mut known: BTreeMap<Word, bool> = BTreeMap::new();
        let mut is_own = |word: Word| {
            *known.entry(word).or_insert_with(|| {
                self.vocabulary.patterns.contains(self.words.text(word))
                    || self.families.iter().any(|family| family.has_in_tail(word))
            })
        };
        let mut shadings: Vec<Vec<usize>> = Vec::with_capacity(self.rows.len());
        for row in &self.rows {
            let has =
                |text: usize, part: Part| row.words.iter().any(|word| word.text == text && word.part == part);
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

    /// Of a product that comes in packs and in nothing else, the variant of as many pieces as an offer says.
    pub(super) fn of_pieces(&self, row: &Row, family: &Family) -> Option<Made> {
        let said = row.pieces?;
        let counts: BTreeSet<u32> =
            family.variants.iter().map_while(|made| self.pieces[made.index]).collect();
        if counts.len() < 2 || counts.len() != family.variants.len() {
            return None;
        }
        // 'A5, pack of 5' is none of size A6.
        let is_size = |read: Word| {
            let sizes = family.sizes.iter().flat_map(|key| key.size.read.iter().chain(&key.size.said));
            self.words.is_number(read) || sizes.copied().any(|made| made == read)
        };
        let has_sizes =
            family.sizes.iter().any(|key| key.size.read.is_some_and(|read| !self.words.is_number(read)));
        if has_sizes && !row.size.read.is_none_or(is_size) {
            return None;
        }
        family.variants.iter().find(|made| self.pieces[made.index] == Some(said)).copied()
    }

    /// The kind of the only picked product that is no other offer's, for offers that do not say what they are: where they say
    /// the same of it, and agree with the product in size or colour.
    pub(super) fn left_kind(&self, unnamed: &[usize], types: &[Option<Word>]) -> Option<Option<Word>> {
        if !self.is_picked || unnamed.is_empty() || unnamed.iter().any(|at| self.rows[*at].is_other) {
            return None;
        }
        let mut left = self
            .families
            .iter()
            .filter(|family| family.product_type.is_none() || !types.contains(&family.product_type));
        let (Some(family), None) = (left.next(), left.next()) else { return None };
        let words = |at: &usize| -> WordSet {
            let words = self.rows[*at].words.iter().filter(|word| word.part == Part::Unknown);
            words.map(|word| word.word).collect()
        };
        let says_same = unnamed.len() == 1 || !WordSet::in_all(unnamed.iter().map(words)).is_empty();
        let agrees = |at: &usize| {
            let fitted = Fitted::of(self, &self.rows[*at], family);
            let is_one = |fit: &Fit| matches!(fit, Fit::One(..));
            !fitted.made.is_empty()
                && (is_one(&fitted.size) || is_one(&fitted.tail) && family.sizes.len() == 1)
        };
        (says_same && unnamed.iter().all(agrees)).then_some(family.product_type)
    }

    /// A kind that was doubted stands where other offers of the listing are surely of it, and a word says a product of it:
    /// 'trucker' beside 'dad hat'.
    pub(super) fn restore_kinds(&mut self, before: &[Option<Word>]) {
        let sure: BTreeSet<Word> = self.rows.iter().filter_map(|row| row.product_type).collect();
        let restored: Vec<Option<Word>> = self
            .rows
            .iter()
            .zip(before)
            .map(|(row, before)| {
                let kind = before.filter(|kind| row.product_type.is_none() && sure.contains(kind))?;
                let is_name = |word: &&RowWord| {
                    self.families
                        .iter()
                        .any(|family| family.product_type == Some(kind) && family.has_name(word.word))
                };
                let unknown = || {
                    let words = row.words.iter().filter(|word| word.part == Part::Unknown);
                    words.filter(|word| !self.hues.is_weak(word.word))
                };
                (unknown().next().is_some() && unknown().all(|word| is_name(&word))).then_some(kind)
            })
            .collect();
        for (row, kind) in self.rows.iter_mut().zip(restored) {
            row.product_type = row.product_type.or(kind);
        }
    }

    /// Whether each of several colours of an option has a word of its own right before it, and that word no other colour: 'ink
    /// black', 'early-hours navy'.
    fn shades_each(&self, text: usize) -> bool {
        let mut by_colour: BTreeMap<Word, BTreeSet<Option<Word>>> = BTreeMap::new();
        for row in &self.rows {
            let here = || row.words.iter().filter(|word| word.text == text);
            let Some(colour) = here().find(|word| word.part.is_colour()) else { continue };
            let is_before =
                |word: &&RowWord| word.part == Part::Unknown && word.to == colour.from && !colour.parted;
            let before = here().find(is_before).map(|word| word.word);
            by_colour.entry(colour.word).or_default().insert(before);
        }
        let shades: BTreeSet<Word> = by_colour.values().flatten().flatten().copied().collect();
        let is_one = |shades: &BTreeSet<Option<Word>>| shades.len() == 1 && !shades.contains(&None);
        by_colour.len() > 1 && shades.len() == by_colour.len() && by_colour.values().all(is_one)
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
        let is_plain =
            |value: &&Vec<RowWord>| !value.is_empty() && value.iter().all(|word| word.part.is_colour());
        let plain = values.iter().filter(is_plain).count();
        plain >= 2 && plain * 2 > values.len()
    }
}
