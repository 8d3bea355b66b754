//! The proposals for one listing.
//!
//! Owns the order of the decisions: which good, which product, which size, which colour, and then that no two offers
//! that differ lead to one variant. Start reading at [`Listing::propose`].

mod class;
mod doubts;
mod inside;
mod kinds;
mod plain;
mod rules;

use std::collections::{BTreeMap, BTreeSet};

use model::book::{Offer, Variant};
use model::{Good, GoodRule};

use super::family::{Family, Made};
use super::fit::{Fit, How, TailWords, fit_size, fit_tail};
use super::hues::Hues;
use super::models::makes;
use super::row::{Row, RowWord};
use super::why::Why;
use super::words::{Word, Words};
use super::{Answer, Proposal};
use crate::close::{KindFrom, Part};
use crate::vocabulary::{ProductType, Vocabulary};
use class::Class;

/// A listing, and the products that it may sell.
pub(super) struct Listing<'a> {
    pub(super) vocabulary: &'a Vocabulary,
    pub(super) offers: Vec<&'a Offer>,
    /// Those of the offers.
    pub(super) rows: Vec<Row>,
    pub(super) families: Vec<&'a Family>,
    /// Whether the owner has picked them.
    pub(super) is_picked: bool,
    /// What the owner has picked, where no table has it.
    pub(super) unknown_pick: Option<&'a str>,
    /// How many pieces each variant says.
    pub(super) pieces: &'a [Option<u32>],
    pub(super) hues: &'a Hues,
    pub(super) adult: Word,
    /// The words for men and for women.
    pub(super) men_women: [Word; 2],
    pub(super) words: &'a Words,
    pub(super) rules: &'a [GoodRule],
    pub(super) variants: &'a [Variant],
}

/// The words of ours that say for whom a good is; of the vocabulary's words of one meaning.
const WHOSE: [&str; 4] = ["men", "women", "boys", "girls"];

/// The offers of a listing by what they sell, as places in the listing.
pub(super) struct ByType {
    /// By product type.
    pub(super) named: BTreeMap<Option<Word>, Vec<usize>>,
    /// Those that are some good of which nobody knows the type.
    pub(super) unnamed: Vec<usize>,
    /// The types, with none where an offer has none.
    pub(super) types: Vec<Option<Word>>,
}

/// How an offer stands to a product.
pub(super) struct Fitted {
    pub(super) size: Fit,
    pub(super) tail: Fit,
    /// Whether the product is for men and the offer for women, or the like.
    is_for_others: bool,
    /// The variants that it can be.
    pub(super) made: Vec<usize>,
}

impl Fitted {
    pub(super) fn of(listing: &Listing<'_>, row: &Row, family: &Family) -> Self {
        let is_for_others = listing.is_for_others(row, family);
        if let Some(made) = listing.of_pieces(row, family).filter(|_| !is_for_others) {
            let (size, tail) = (Fit::One(made.size, How::Same), Fit::One(made.tail, How::Same));
            return Self { size, tail, is_for_others, made: vec![made.index] };
        }
        let size = fit_size(row, family, listing.adult, listing.words);
        let tail = fit_tail(row, family, listing.hues, listing.words);
        let made = if is_for_others {
            Vec::new()
        } else {
            family.made_in(&size.places(family.sizes.len()), &tail.places(family.tails.len())).collect()
        };
        Self { size, tail, is_for_others, made }
    }
}

impl Fitted {
    /// Only what is for the model that an offer says, and that surely where all that varies is said to the word.
    fn of_model(&mut self, listing: &Listing<'_>, offer: usize, family: &Family) {
        let offer = &listing.offers[offer].options;
        let options = |index: usize| listing.variants[index].options.as_ref();
        let model = makes(offer);
        self.made.retain(|index| options(*index).is_some_and(|made| makes(made) == model));
        let said: BTreeSet<&str> = offer.folded().map(|(_, value)| value).collect();
        let is_to_the_word = |made: &&Made| {
            self.made.contains(&made.index)
                && options(made.index)
                    .is_some_and(|options| options.folded().all(|(_, value)| said.contains(value)))
        };
        let mut exactly = family.variants.iter().filter(is_to_the_word);
        let exact = exactly.next().copied().filter(|_| exactly.next().is_none());
        if let Some(made) = exact {
            self.size = Fit::One(made.size, How::Same);
            self.tail = Fit::One(made.tail, How::Same);
            self.made = vec![made.index];
        }
    }
}

impl<'a> Listing<'a> {
    /// One proposal for each offer, in their order.
    pub(super) fn propose(mut self) -> Vec<Proposal> {
        if let Some(pick) = self.unknown_pick {
            let why = vec![Why::UnknownPick(pick.to_owned())];
            let lost = Proposal { answer: Answer::Choose(Vec::new()), good: Good::default(), why };
            return vec![lost; self.rows.len()];
        }
        let ByType { named, unnamed, types } = self.by_type();
        let mut proposals: Vec<Option<Proposal>> = vec![None; self.rows.len()];
        let naming = self.naming();
        let unnamed = Class {
            listing: &self,
            naming: &naming,
            product_type: None,
            offers: unnamed,
            families: Vec::new(),
            rivals: Vec::new(),
            fits: Vec::new(),
        };
        let named = named.into_iter().map(|(kind, offers)| Class::of((&self, &naming), kind, offers, &types));
        for (offer, proposal) in std::iter::once(unnamed).chain(named).flat_map(|class| class.propose()) {
            proposals[offer] = Some(proposal);
        }
        proposals.into_iter().flatten().collect()
    }

    /// Sorts the offers by what they sell, after what all of them say together.
    pub(super) fn by_type(&mut self) -> ByType {
        self.read_initials();
        self.read_parents();
        self.read_unlisted_colours();
        self.read_shadings();
        let kinds: Vec<Option<Word>> = self.rows.iter().map(|row| row.product_type).collect();
        self.doubt_kinds();
        self.restore_kinds(&kinds);
        self.tell_kinds();
        self.tell_ages();
        self.tell_by_size();
        let mut named: BTreeMap<Option<Word>, Vec<usize>> = BTreeMap::new();
        for (index, row) in self.rows.iter().enumerate() {
            named.entry(row.product_type).or_default().push(index);
        }
        let types: Vec<Option<Word>> = named.keys().copied().collect();
        let mut unnamed =
            named.get_mut(&None).map(|offers| self.take_unnamed(offers, &types)).unwrap_or_default();
        if let Some(kind) = self.left_kind(&unnamed, &types) {
            named.entry(kind).or_default().append(&mut unnamed);
        }
        ByType { named, unnamed, types }
    }

    /// In an option for colours, a word that nobody knows is a colour.
    fn read_unlisted_colours(&mut self) {
        let count = self.rows.iter().flat_map(|row| &row.words).map(|word| word.text + 1).max().unwrap_or(0);
        for text in 0..count {
            let is_named = |offer: &Offer| {
                let name = offer.options.folded().nth(text).map(|(name, _)| self.vocabulary.name_says(name));
                name.is_some_and(|name| name.colour && !name.design)
            };
            let mut values: BTreeMap<Vec<RowWord>, bool> = BTreeMap::new();
            for row in &self.rows {
                let value: Vec<RowWord> =
                    row.words.iter().filter(|word| word.text == text).copied().collect();
                let has = |part| value.iter().any(|word| word.part == part);
                let is_colour = has(Part::Colour) && !has(Part::Good);
                values.insert(value, is_colour);
            }
            let colours = values.values().filter(|is_colour| **is_colour).count();
            let mostly = colours * 2 > values.len() && values.len() > 2;
            for (row, offer) in self.rows.iter_mut().zip(&self.offers) {
                let says = |part| row.words.iter().any(|word| word.text == text && word.part == part);
                if says(Part::Good) || says(Part::Colour) || !(mostly || is_named(offer)) {
                    continue;
                }
                let words =
                    row.words.iter_mut().filter(|word| word.text == text && word.part == Part::Unknown);
                words.for_each(|word| word.part = Part::Unlisted);
            }
        }
    }

    /// The options in which offers name their goods.
    fn naming(&self) -> BTreeSet<usize> {
        let named = self.rows.iter().filter(|row| row.naming.kind_from == KindFrom::Value);
        let goods = named.flat_map(|row| row.words.iter().filter(|word| word.part == Part::Good));
        goods.map(|word| word.text).collect()
    }

    /// A product type of the vocabulary.
    fn kind(&self, kind: Word) -> Option<&'a ProductType> {
        self.vocabulary.product_types.iter().find(|own| own.name == self.words.text(kind))
    }

    /// A product type, where it is another one with something to it.
    pub(super) fn turned(&self, to: Word, from: Word) -> Option<&'a ProductType> {
        let from = self.words.text(from);
        let is_from = |kind: &usize| self.vocabulary.product_types[*kind].name == from;
        self.kind(to).filter(|kind| kind.turns.iter().any(is_from))
    }

    /// Whether a word says for whom a good is.
    fn is_whose(&self, word: Word) -> bool {
        WHOSE.contains(&self.words.text(word))
    }

    /// Whether a product is for men and an offer for women, or the like.
    fn is_for_others(&self, row: &Row, family: &Family) -> bool {
        let is_whose = |word: &Word| self.is_whose(*word);
        let made: Vec<Word> = family.names().filter(is_whose).collect();
        // 'Dad (unisex tee)' is no women's tee, where there is one for all.
        let is_for_all = |other: &&Family| {
            other.product_type == family.product_type && !other.names().any(|word| is_whose(&word))
        };
        let said: Vec<Word> = row.words.iter().map(|word| word.word).filter(is_whose).collect();
        let is_said_for_all = row.naming.is_for_all || row.naming.titled_for_all && said.is_empty();
        if is_said_for_all && !made.is_empty() && self.families.iter().any(is_for_all) {
            return true;
        }
        // Where no value says it, the title may.
        let titled = row.naming.titled_beside.iter().copied().filter(is_whose);
        let said: Vec<Word> = if said.is_empty() { titled.collect() } else { said };
        let mut said = said.into_iter().peekable();
        !made.is_empty() && said.peek().is_some() && !said.any(|word| made.contains(&word))
    }

    pub(super) fn size_text(&self, row: &Row) -> String {
        let words = self.words;
        match row.size.read {
            Some(read) => words.text(read).to_owned(),
            None => words.joined(if row.size.said.is_empty() { &row.size.numbers } else { &row.size.said }),
        }
    }

    pub(super) fn colour_text(&self, row: &Row, family: &Family) -> String {
        let colours = row.words.iter().filter(|word| word.part.is_colour());
        let words: Vec<Word> = colours.map(|word| word.word).collect();
        if !words.is_empty() {
            return self.words.joined(&words);
        }
        let said = TailWords::of(row, family);
        self.words.joined(said.unknown.as_slice())
    }

    pub(super) fn size_name(&self, family: &Family, place: usize) -> String {
        family.size_name(place, self.words)
    }

    pub(super) fn tail_name(&self, family: &Family, place: usize) -> String {
        self.words.joined(&family.spelled[place])
    }

    fn product(&self, family: &Family) -> String {
        let variant = &self.variants[family.first];
        variant.product.clone().unwrap_or_else(|| variant.variant_id.to_string())
    }
}
