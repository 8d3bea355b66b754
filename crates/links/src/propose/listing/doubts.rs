//! What makes it doubtful that an offer is a product though nothing else is left.
//!
//! Must not know which answer follows. Start reading at [`Class::has_unnamed`].

use std::collections::{BTreeMap, BTreeSet};

use super::Fitted;
use super::class::Class;
use crate::close::{KindFrom, Part};
use crate::propose::fit::is_short;
use crate::propose::row::RowWord;
use crate::propose::words::{Word, WordSet};

impl Class<'_, '_> {
    /// Whether an offer has words that neither a product nor anything that was read explains.
    pub(super) fn has_unexplained(&self, at: usize) -> bool {
        let known =
            |word: Word| self.families.iter().any(|family| family.has_name(word) || family.has_in_tail(word));
        self.row(at).words.iter().any(|word| word.part == Part::Unknown && !known(word.word))
    }

    /// Whether an offer of which nobody knows the kind has, in an option in which other offers name their goods, words that
    /// no product has, and none by which one is called: 'mittens', 'tea cosy' beside a tea towel.
    pub(super) fn has_unnamed(&self, at: usize) -> bool {
        // What nobody knows may be called what it likes.
        if self.product_type.is_some() || self.families.iter().all(|family| family.product_type.is_none()) {
            return false;
        }
        let row = self.row(at);
        let said: WordSet = row
            .words
            .iter()
            .filter(|word| {
                (word.part.is_open() || matches!(word.part, Part::Unlisted | Part::Shading))
                    && self.naming.contains(&word.text)
            })
            .map(|word| word.word)
            .filter(|word| {
                let text = self.listing.words.text(*word);
                text.chars().nth(1).is_some()
                    && !self.listing.hues.is_weak(*word)
                    && !self.listing.words.has_digit(*word)
            })
            .collect();
        let is_called = |word: Word| {
            self.families.iter().any(|family| {
                let is_whole = || family.goods.iter().all(|good| said.has(good));
                family.has_name(word) && (!family.goods.has(word) || is_whole())
            })
        };
        let text = |word: Word| self.listing.words.text(word);
        let is_known = |word: Word| {
            self.listing.families.iter().any(|family| {
                family.has_name(word)
                    || family
                        .tails
                        .iter()
                        .any(|tail| tail.iter().any(|long| long == word || is_short(text(word), text(long))))
                    || family.sizes.iter().any(|size| size.words.has(word))
            })
        };
        !said.iter().any(is_called) && said.iter().any(|word| !is_known(word))
    }

    /// The offers of which nothing tells which picked product they are but that only one comes in their colour: where others of
    /// the same size, with the same words that nothing explains, can be of another one. The one that is meant may not be
    /// made in the colour.
    pub(super) fn untold(&self) -> BTreeSet<usize> {
        if !self.listing.is_picked || self.families.len() < 2 {
            return BTreeSet::new();
        }
        let known = self.known(&(0..self.families.len()).collect::<Vec<_>>());
        let is_telling = |word: &&RowWord| {
            word.part == Part::Unknown
                && !known.has(word.word)
                && !self.listing.hues.is_weak(word.word)
                && !self.listing.words.is_number(word.word)
        };
        let mut alike: BTreeMap<_, (Vec<usize>, BTreeSet<Vec<usize>>)> = BTreeMap::new();
        for at in 0..self.offers.len() {
            let row = self.row(at);
            let words: WordSet = row.words.iter().filter(is_telling).map(|word| word.word).collect();
            if words.is_empty() {
                continue;
            }
            let whose: WordSet =
                row.words.iter().map(|word| word.word).filter(|word| self.listing.is_whose(*word)).collect();
            let who = (row.age_group, row.naming.is_for_all, whose);
            let (offers, made) = alike.entry((words, who, &row.size)).or_default();
            let places: Vec<usize> =
                (0..self.families.len()).filter(|place| self.is_made(at, *place)).collect();
            offers.push(at);
            made.extend((!places.is_empty()).then_some(places));
        }
        let several = alike.into_values().filter(|(_, made)| made.len() > 1);
        several.flat_map(|(offers, _)| offers).collect()
    }

    /// Whether a rival is made as an offer says of which only the title says what it is, and loosely: a 'sweat' may have a hood.
    pub(super) fn has_rival(&self, at: usize) -> bool {
        let row = self.row(at);
        row.naming.kind_from != KindFrom::Value
            && row.naming.titled_kind.is_none()
            && self.rivals.iter().any(|family| !Fitted::of(self.listing, row, family).made.is_empty())
    }
}
