//! What makes it doubtful that an offer is a product though nothing else is left.
//!
//! Must not know which answer follows. Start reading at [`Class::has_unnamed`].

use std::collections::{BTreeMap, BTreeSet};

use super::class::Class;
use super::{Fitted, Listing};
use crate::close::{BEFORE_COLOURS, KindFrom, Part};
use crate::propose::family::Family;
use crate::propose::fit::{Fit, How, TailWords, is_short};
use crate::propose::goods::{Key, Told};
use crate::propose::models::is_of_models;
use crate::propose::row::{Row, RowWord};
use crate::propose::words::{Word, WordSet, Words};

/// The colour of goods of which no colour is told.
const UNCOLOURED: &str = "white";

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
        let is_known = |word: Word| {
            self.listing.families.iter().any(|family| explains(family, word, self.listing.words))
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
        self.has_namesake(at)
            || row.naming.kind_from != KindFrom::Value
                && row.naming.titled_kind.is_none()
                && self.rivals.iter().any(|family| !Fitted::of(self.listing, row, family).made.is_empty())
    }

    /// A word of an offer that nobody knows, and that may make another variant of a product than what is understood: right before
    /// a letter size ('extra large'), beside a colour of which the product has several ('deep green'), or beside a model.
    pub(super) fn makes_another(&self, at: usize, place: usize) -> Option<Word> {
        let family = self.families[place];
        let (words, hues) = (self.listing.words, self.listing.hues);
        let row = self.row(at);
        let Fitted { size, tail, .. } = &self.fits[at][place];
        let is_short_for =
            |word: Word, tail: &WordSet| tail.iter().any(|long| is_short(words.text(word), words.text(long)));
        let is_explained = |word: Word| {
            matches!(tail, Fit::One(place, _) if is_short_for(word, &family.tails[*place]))
                || family.sizes.iter().any(|size| size.words.has(word))
                || self.families.iter().any(|family| family.has_name(word) || family.has_in_tail(word))
        };
        let turns_size = |word: &RowWord| {
            matches!(size, Fit::One(..)) && family.sizes.len() > 1 && self.turns_a_size(row, word)
        };
        let is_model = is_of_models(family, words);
        let says_model = |word: &RowWord| {
            let is_number = |other: &RowWord| other.text == word.text && words.has_digit(other.word);
            is_model && row.words.iter().chain(&row.size_words).any(is_number)
        };
        let colours: WordSet =
            row.words.iter().filter(|word| word.part.is_colour()).map(|word| word.word).collect();
        let named: WordSet =
            colours.iter().filter(|word| !hues.is_hue(*word) && !hues.is_tone(*word)).collect();
        let is_claimed = |tail: usize| {
            let mut offers = 0..self.offers.len();
            offers.any(|other| self.fits[other][place].tail == Fit::One(tail, How::Same))
        };
        let of_several = || match tail {
            Fit::One(own, _) => family.tails.iter().enumerate().any(|(other, tail)| {
                other != *own && hues.are_akin(tail, &colours) && named.is_within(tail) && !is_claimed(other)
            }),
            _ => false,
        };
        let turns_colour = |word: &RowWord| {
            let touches = |other: &RowWord| {
                other.part.is_colour()
                    && other.text == word.text
                    && (other.from == word.to && !other.parted || other.to == word.from && !word.parted)
            };
            row.words.iter().any(touches) && of_several() && !self.shades_all(word.text)
        };
        let mut strange = row.words.iter().filter(|word| self.is_open(word) && !is_explained(word.word));
        let turns = |word: &&RowWord| turns_size(word) || says_model(word) || turns_colour(word);
        strange.find(turns).map(|word| word.word)
    }

    /// Whether an offer may be another product than the one that is left, by what was not understood of it.
    pub(super) fn may_be_another(&self, at: usize, place: usize, told: Told, key: &Key) -> bool {
        if told == Told::ByRule {
            return false;
        }
        let row = self.row(at);
        let family = self.families[place];
        let is_said =
            row.product_type.is_some() && row.naming.kind_from == KindFrom::Value && !row.naming.is_loose;
        // 'Red, medium' is no pair of socks that comes in no colour, where only the title can have said so.
        if !is_said && self.fits[at][place].tail == Fit::Free && family.tails.len() == 1 {
            let surely = TailWords::of(row, family).surely;
            let is_of_good = |word: &RowWord| {
                let is_there = |other: &RowWord| other.text == word.text;
                word.part.is_colour()
                    && surely.has(word.word)
                    && self.listing.words.text(word.word) != UNCOLOURED
                    && row.size_words.iter().any(is_there)
            };
            if row.words.iter().any(is_of_good) {
                return true;
            }
        }
        if !self.has_strange(at) {
            return false;
        }
        let claimed: BTreeSet<Option<Word>> = self.listing.rows.iter().map(|row| row.product_type).collect();
        let is_unclaimed = |other: &&Family| {
            other.product_type != family.product_type
                && !claimed.contains(&other.product_type)
                && !Fitted::of(self.listing, row, other).made.is_empty()
        };
        if self.listing.is_picked && !is_said && self.listing.families.iter().any(is_unclaimed) {
            return true;
        }
        // Only the name of an option told it: 'Crew or hood?'.
        let says = |word: Word| key.words.has(word) && row.words.iter().any(|own| own.word == word);
        told == Told::ByWords && !(key.has_part && family.has_part) && !family.names().any(says)
    }

    /// Whether an offer's options have words that no product of the listing explains.
    fn has_strange(&self, at: usize) -> bool {
        let words = self.listing.words;
        let picked = self.listing.families.iter().filter(|_| self.listing.is_picked);
        let families: Vec<&Family> = self.families.iter().chain(picked).copied().collect();
        // The 'suda' of a 'sudadera'.
        let is_in_title = |word: Word| {
            let text = words.text(word);
            let mut title = self.row(at).naming.title.iter().map(|long| words.text(*long));
            text.chars().nth(2).is_some()
                && title.any(|long| long.len() > text.len() && long.starts_with(text))
        };
        let is_denied = |word: Word| words.text(word).starts_with("no ");
        self.row(at).words.iter().filter(|word| self.is_open(word)).any(|word| {
            let word = word.word;
            !is_denied(word)
                && !is_in_title(word)
                && !families.iter().any(|family| explains(family, word, words))
        })
    }

    /// Whether nobody knows a word, and not all values of its option have it.
    fn is_open(&self, word: &RowWord) -> bool {
        let Listing { words, hues, .. } = self.listing;
        matches!(word.part, Part::Unknown | Part::Unlisted | Part::Shading)
            && !hues.is_weak(word.word)
            && hues.of(&std::iter::once(word.word).collect()).is_none()
            && !words.has_digit(word.word)
            && words.text(word.word).chars().nth(1).is_some()
            && !BEFORE_COLOURS.contains(&words.text(word.word))
            && !self.is_in_all(word)
    }

    /// Whether a word stands right before one letter size of its option, and before no other.
    fn turns_a_size(&self, row: &Row, word: &RowWord) -> bool {
        let words = self.listing.words;
        if !is_before_letter(row, word, words) {
            return false;
        }
        let of_text = |row: &Row| -> Option<Word> {
            let mut own = row.words.iter().filter(|other| other.text == word.text && other.word == word.word);
            own.any(|word| is_before_letter(row, word, words)).then_some(row.size.read?)
        };
        let turned: BTreeSet<Word> = self.listing.rows.iter().filter_map(of_text).collect();
        let all: BTreeSet<Option<Word>> = self.listing.rows.iter().map(|row| row.size.read).collect();
        turned.len() == 1 && all.len() > 1
    }

    /// Whether each of several colours of an option has a word of its own beside it: 'flour white', 'midnight navy'.
    fn shades_all(&self, text: usize) -> bool {
        let shading = |row: &Row| -> Option<Option<Word>> {
            let here = || row.words.iter().filter(|word| word.text == text);
            let colour = here().find(|word| word.part.is_colour())?;
            let is_beside = |word: &&RowWord| word.to == colour.from || colour.to == word.from;
            Some(here().filter(is_beside).find(|word| self.is_open(word)).map(|word| word.word))
        };
        let shadings: BTreeSet<Option<Word>> = self.listing.rows.iter().filter_map(shading).collect();
        shadings.len() > 1 && !shadings.contains(&None)
    }

    /// Whether all values of its option have a word, and there are several.
    fn is_in_all(&self, word: &RowWord) -> bool {
        let value = |row: &Row| -> Vec<Word> {
            let all = row.words.iter().chain(&row.size_words).filter(|other| other.text == word.text);
            all.map(|word| word.word).collect()
        };
        let values: BTreeSet<Vec<Word>> =
            self.listing.rows.iter().map(value).filter(|value| !value.is_empty()).collect();
        values.len() > 1 && values.iter().all(|value| value.contains(&word.word))
    }
}

/// Whether a product has a word in its name, its sizes or what else tells its variants apart, there also where it is short for
/// one.
fn explains(family: &Family, word: Word, words: &Words) -> bool {
    let is_long = |long: Word| is_short(words.text(word), words.text(long));
    family.has_name(word)
        || family.has_in_tail(word)
        || family.tails.iter().any(|tail| tail.iter().any(is_long))
        || family.sizes.iter().any(|size| size.words.has(word))
}

/// Whether a word stands right before a letter size.
fn is_before_letter(row: &Row, word: &RowWord, words: &Words) -> bool {
    let is_letter = row.size.read.is_some_and(|read| {
        let read = words.text(read);
        read.ends_with(['S', 'M', 'L']) && !read.contains(|sign: char| !sign.is_ascii_alphanumeric())
    });
    let is_behind = |size: &RowWord| size.text == word.text && size.from == word.to && !size.parted;
    is_letter && row.size_words.iter().any(is_behind)
}
