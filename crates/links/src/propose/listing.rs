//! The proposals for one listing.
//!
//! Owns the order of the decisions: which good, which product, which size, which colour, and then that no two offers
//! that differ lead to one variant. Start reading at [`Listing::propose`].

use std::collections::{BTreeMap, BTreeSet};

use model::book::{Offer, Variant};
use model::{Good, GoodRule};

use super::family::{Family, Made};
use super::fit::{Fit, How, TailWords, fit_size, fit_tail, is_short};
use super::goods::{Found, Key, Told, assigned, telling};
use super::hues::Hues;
use super::models::{is_of_models, makes};
use super::row::{Row, RowWord};
use super::why::Why;
use super::words::{Word, WordSet, Words};
use super::{Answer, Proposal};
use crate::close::{KindFrom, Part, is_number_word};
use crate::vocabulary::{ProductType, Vocabulary};

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

/// The word of ours for what is as most are.
const REGULAR: &str = "regular";

/// Most candidates that an answer lists; more are no list to choose from.
const CANDIDATES_AT_MOST: usize = 50;

/// Most products that are looked at for an offer that does not say what it is.
const UNKNOWN_KIND_AT_MOST: usize = 24;

/// The offers of one type in a listing, and the products that they can be.
struct Class<'l, 'a> {
    listing: &'l Listing<'a>,
    /// The options in which offers of the listing name their goods.
    naming: &'l BTreeSet<usize>,
    product_type: Option<Word>,
    /// Places in the listing.
    offers: Vec<usize>,
    families: Vec<&'a Family>,
    /// Picked products of other types that may be meant, where the type is said only by a title, and loosely.
    rivals: Vec<&'a Family>,
    /// By offer and family.
    fits: Vec<Vec<Fitted>>,
}

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

    /// The products of other types than one, that no offer claims and that are called by its word as well; `own` are its own.
    fn rivals(&self, kind: Word, own: &[&Family]) -> Vec<&'a Family> {
        let claimed: BTreeSet<Option<Word>> = self.rows.iter().map(|row| row.product_type).collect();
        let turns = |other: Word| self.turned(other, kind).is_some() || self.turned(kind, other).is_some();
        let is_rival = |family: &&Family| {
            family.product_type.is_some_and(|other| other != kind && turns(other))
                && !claimed.contains(&family.product_type)
                && !own.iter().any(|own| std::ptr::eq(*own, *family))
        };
        self.families.iter().copied().filter(is_rival).collect()
    }

    /// The options in which offers name their goods.
    fn naming(&self) -> BTreeSet<usize> {
        let named = self.rows.iter().filter(|row| row.naming.kind_from == KindFrom::Value);
        let goods = named.flat_map(|row| row.words.iter().filter(|word| word.part == Part::Good));
        goods.map(|word| word.text).collect()
    }

    /// A loose name in a value gives way to a sure one in the title ('crew' as a neckline), unless it turns that good or
    /// the option names goods elsewhere as well; and it is none where a word before it makes another good of it ('egg
    /// cup').
    fn doubt_loose_kinds(&mut self) {
        let text_of = |row: &Row| row.words.iter().find(|word| word.part == Part::Good).map(|word| word.text);
        let mut named: BTreeMap<usize, BTreeSet<(Option<Word>, bool)>> = BTreeMap::new();
        for row in self.rows.iter().filter(|row| row.naming.kind_from == KindFrom::Value) {
            if let Some(text) = text_of(row) {
                named.entry(text).or_default().insert((row.product_type, row.naming.is_loose));
            }
        }
        let kinds: WordSet = self.families.iter().filter_map(|family| family.product_type).collect();
        let doubts: Vec<Option<Option<Word>>> = self
            .rows
            .iter()
            .map(|row| {
                // The 'cover only' of a cushion that comes with and without a pad.
                if let Some(kind) = row.product_type.filter(|kind| self.is_picked && !kinds.has(*kind)) {
                    let goods = row.words.iter().filter(|word| word.part == Part::Good);
                    let is_tail = |word: &RowWord| {
                        let mut families = self.families.iter();
                        families.any(|family| family.tails.iter().any(|tail| tail.has(word.word)))
                    };
                    let mut plain = kinds.iter().filter(|from| self.turned(kind, *from).is_some());
                    if let (Some(from), None, true) =
                        (plain.next(), plain.next(), goods.into_iter().any(is_tail))
                    {
                        return Some(Some(from));
                    }
                }
                let kind = row.product_type.filter(|_| row.naming.is_loose)?;
                let is_known = |word: &Word| {
                    let mut families =
                        self.families.iter().filter(|family| family.product_type == Some(kind));
                    families.any(|family| family.names().any(|name| name == *word))
                };
                if !row.naming.beside_loose.iter().all(is_known) {
                    return Some(None);
                }
                let titled = row
                    .naming
                    .titled_kind
                    .filter(|titled| *titled != kind && !self.turns_at_last(kind, *titled))?;
                if self.is_picked && !kinds.has(kind) && kinds.has(titled) {
                    return Some(Some(titled));
                }
                // A title that sells both says nothing against either.
                if row.naming.titled_kinds.contains(&kind) {
                    return None;
                }
                let others = text_of(row).and_then(|text| named.get(&text));
                let names_goods = others.is_some_and(|others| {
                    others.iter().any(|(other, is_loose)| !is_loose || *other == Some(titled))
                });
                (!names_goods).then_some(Some(titled))
            })
            .collect();
        for (row, doubt) in self.rows.iter_mut().zip(doubts) {
            if let Some(kind) = doubt {
                // The 'Kurzarm' of a bodysuit names no top, and may tell it from another bodysuit.
                if kind.is_some() {
                    let named = row.words.iter_mut().filter(|word| word.part == Part::Good);
                    named.for_each(|word| word.part = Part::Describing);
                }
                row.product_type = kind;
                row.naming.kind_from = KindFrom::Title;
                row.is_other = kind.is_none();
            }
        }
    }

    /// A product type that only a title or an option's name says gives way to the suppliers' own words in a value, and
    /// is none where there is no such product.
    fn doubt_kinds(&mut self) {
        let naming = self.naming();
        let mut values: BTreeMap<usize, BTreeSet<Vec<Word>>> = BTreeMap::new();
        for row in &self.rows {
            let texts: BTreeSet<usize> = row.words.iter().map(|word| word.text).collect();
            for text in texts {
                let words = row.words.iter().filter(|word| word.text == text).map(|word| word.word).collect();
                values.entry(text).or_default().insert(words);
            }
        }
        let varying: BTreeSet<usize> =
            values.into_iter().filter(|(_, values)| values.len() > 1).map(|(text, _)| text).collect();
        self.doubt_loose_kinds();
        let kinds: WordSet = self.families.iter().filter_map(|family| family.product_type).collect();
        for row in self.rows.iter_mut().filter(|row| row.naming.kind_from != KindFrom::Value) {
            let Some(kind) = row.product_type else { continue };
            let said: WordSet =
                row.words.iter().filter(|word| word.part == Part::Unknown).map(|word| word.word).collect();
            let of_kind = |family: &&&'a Family| family.product_type == Some(kind);
            let is_named = |family: &&Family| {
                let of_none = family.product_words.iter().filter(|_| family.product_type.is_none());
                Self::is_called(&said, self.hues, self.words, family.goods.iter().chain(of_none))
            };
            let mut named = self.families.iter().filter(|family| is_named(family)).peekable();
            let is_other = named.peek().is_some() && !named.any(|family| of_kind(&family));
            let names_another = row.words.iter().any(|word| {
                word.part == Part::Unknown
                    && naming.contains(&word.text)
                    && !self.hues.is_weak(word.word)
                    && !self.words.is_number(word.word)
                    && self.words.text(word.word) != REGULAR
                    && !self.families.iter().filter(of_kind).any(|family| {
                        family.names().any(|name| name == word.word)
                            || family.tails.iter().any(|tail| tail.has(word.word))
                    })
            });
            // 'Nightshirt' of 'polo shirt and nightshirt': what a value shares with the title is what it sells.
            let is_titled = row.naming.kind_from == KindFrom::Title
                && row.words.iter().any(|word| {
                    word.part.is_open()
                        && varying.contains(&word.text)
                        && row.naming.titled.contains(&word.word)
                });
            if is_other || names_another || is_titled || !kinds.has(kind) && self.is_picked {
                row.product_type = None;
            }
        }
    }

    /// Beside offers of known types, one whose words no other product has may be a good that nobody makes.
    fn take_unnamed(&self, offers: &mut Vec<usize>, types: &[Option<Word>]) -> Vec<usize> {
        let others = self
            .families
            .iter()
            .filter(|family| family.product_type.is_none() || !types.contains(&family.product_type));
        let names: WordSet =
            others.flat_map(|family| family.goods.iter().chain(family.product_words.iter())).collect();
        let naming = self.naming();
        let is_unnamed = |offer: &mut usize| {
            let row = &self.rows[*offer];
            let is_colour = |text: usize| {
                !naming.contains(&text)
                    && row.words.iter().any(|word| {
                        word.text == text && matches!(word.part, Part::Colour | Part::Piece | Part::Unlisted)
                    })
            };
            let words = || {
                let words =
                    row.words.iter().filter(|word| word.part == Part::Unknown && !is_colour(word.text));
                words.filter(|word| !self.words.is_number(word.word))
            };
            row.is_other
                || types.len() > 1 && words().next().is_some() && !words().any(|word| names.has(word.word))
        };
        offers.extract_if(.., is_unnamed).collect()
    }

    /// Of some families, those that share the most words with offers whose type nobody knows: with their values, else
    /// with the names of their options.
    fn named(&self, offers: &[usize], families: Vec<&'a Family>) -> Vec<&'a Family> {
        let telling = |word: &&RowWord| word.part.is_open();
        let rows = || offers.iter().map(|at| &self.rows[*at]);
        let said: [WordSet; 3] = [
            rows().flat_map(|row| &row.words).filter(telling).map(|word| word.word).collect(),
            rows().flat_map(|row| &row.naming.names).copied().collect(),
            rows().flat_map(|row| &row.naming.title).copied().collect(),
        ];
        for said in said.iter().filter(|_| !self.is_picked) {
            let is_named = |family: &&&Family| {
                let names = family.goods.iter().chain(family.product_words.iter());
                Self::is_called(said, self.hues, self.words, names)
            };
            let named: Vec<&'a Family> = families.iter().filter(is_named).copied().collect();
            if !named.is_empty() && named.len() <= UNKNOWN_KIND_AT_MOST {
                return named;
            }
        }
        if self.is_picked { families } else { Vec::new() }
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

    /// Whether a product type is another one with something to it, or with more than one thing: a zipped hoodie is a sweatshirt
    /// with a hood and a zip.
    fn turns_at_last(&self, to: Word, from: Word) -> bool {
        let between = |kind: &usize| {
            let between = &self.vocabulary.product_types[*kind];
            between
                .turns
                .iter()
                .any(|kind| self.vocabulary.product_types[*kind].name == self.words.text(from))
        };
        self.turned(to, from).is_some() || self.kind(to).is_some_and(|to| to.turns.iter().any(between))
    }

    /// Whether words that a product is called by are among those that are said. Hues, numbers and praise ('classic') say no
    /// good.
    fn is_called(said: &WordSet, hues: &Hues, words: &Words, mut names: impl Iterator<Item = Word>) -> bool {
        names
            .any(|word| said.has(word) && !hues.is_hue(word) && !hues.is_weak(word) && !words.is_number(word))
    }

    /// The words by which offers name their goods.
    fn goods_of(&self, offers: &[usize]) -> WordSet {
        let goods = offers.iter().flat_map(|at| &self.rows[*at].words).filter(|word| word.part == Part::Good);
        goods.map(|word| word.word).collect()
    }

    /// Of the products that the owner has picked, those of no known type, and those of a type that is called by the
    /// offers' word and more: a cushion may be a cushion cover, where no cushion was picked. A tee is no long-sleeved
    /// one.
    pub(super) fn kin(&self, kind: Word, offers: &[usize]) -> Vec<&'a Family> {
        let goods: WordSet = self.goods_of(offers).iter().chain([kind]).collect();
        let also = |own: Word| {
            let mut also = self.kind(own).into_iter().flat_map(|own| &own.also);
            also.any(|word| goods.iter().any(|good| self.words.text(good) == word))
        };
        // A 'Kissen' may be a 'Kissenbezug'.
        let begins = |family: &Family| {
            family.goods.iter().any(|long| {
                goods.iter().any(|short| self.words.text(long).starts_with(self.words.text(short)))
            })
        };
        let is_kin = |family: &&Family| {
            family.product_type.is_none_or(|own| {
                also(own) || begins(family) && self.turned(own, kind).is_none_or(|own| own.plainly)
            })
        };
        self.families.iter().copied().filter(|family| is_kin(family)).collect()
    }

    /// The products that offers of one type can be; `types` are those of all offers of the listing.
    pub(super) fn families_of(
        &self,
        product_type: Option<Word>,
        offers: &[usize],
        types: &[Option<Word>],
    ) -> Vec<&'a Family> {
        let all = || self.families.iter().copied();
        let mut families: Vec<&'a Family> = match product_type {
            // Nobody else's zipped one may be what is called a hoodie.
            Some(kind) => {
                let is_plainly = |family: &Family, kind| {
                    let turned = family.product_type.and_then(|own| self.turned(own, kind));
                    turned.is_some_and(|own| own.plainly)
                };
                let is_it = |family: &&Family| {
                    family.product_type == product_type
                        || !types.contains(&family.product_type) && is_plainly(family, kind)
                };
                // A 'canvas shopper', of which nobody knows the type, is what is called a shopper.
                let goods: WordSet = self.goods_of(offers);
                let is_called = |family: &&Family| {
                    self.is_picked
                        && family.product_type.is_none()
                        && family.product_words.iter().any(|word| goods.has(word))
                };
                let families: Vec<&'a Family> =
                    all().filter(|family| is_it(family) || is_called(family)).collect();
                let has_own = families.iter().any(|family| family.product_type == product_type);
                if has_own { families } else { Vec::new() }
            }
            None => all()
                .filter(|family| family.product_type.is_none() || !types.contains(&family.product_type))
                .collect(),
        };
        if families.is_empty() {
            families = match product_type {
                Some(kind) if self.is_picked => self.kin(kind, offers),
                Some(_) => Vec::new(),
                None => all().collect(),
            };
        }
        if product_type.is_none() {
            families = self.named(offers, families);
        }
        families
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
        if row.naming.is_for_all && !made.is_empty() && self.families.iter().any(is_for_all) {
            return true;
        }
        let mut said = row.words.iter().map(|word| word.word).filter(is_whose).peekable();
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

/// An offer's answer before it is weighed against its neighbours'.
struct Draft {
    offer: usize,
    answer: Answer,
    why: Vec<Why>,
    good: Good,
    /// How the colour was found; `None` where there is none to choose.
    how: Option<How>,
}

impl<'l, 'a> Class<'l, 'a> {
    fn of(
        (listing, naming): (&'l Listing<'a>, &'l BTreeSet<usize>),
        product_type: Option<Word>,
        offers: Vec<usize>,
        types: &[Option<Word>],
    ) -> Self {
        let families = listing.families_of(product_type, &offers, types);
        let is_letter = |row: &Row| {
            row.size.read.is_some_and(|read| {
                let text = listing.words.text(read);
                text.ends_with(['S', 'M', 'L'])
                    && text.chars().all(|sign| sign.is_ascii_alphanumeric())
                    && (text.contains('X') || !listing.words.has_digit(read))
            })
        };
        let is_of_child = |age: Option<Word>| age.is_some_and(|age| age != listing.adult);
        let is_for_children = |family: &Family| family.sizes.iter().all(|size| is_of_child(size.age_group));
        // Where others say 'youth S', an S is a grown-up's.
        let says_children = listing.rows.iter().any(|row| is_of_child(row.age_group) && is_letter(row))
            && !families.iter().all(|family| is_for_children(family));
        let fits = offers
            .iter()
            .map(|offer| {
                let row = &listing.rows[*offer];
                let is_grown = says_children && row.age_group.is_none() && is_letter(row);
                let fit = |family: &&Family| {
                    let mut fitted = Fitted::of(listing, row, family);
                    if is_grown && is_for_children(family) {
                        (fitted.size, fitted.made) = (Fit::NotMade, Vec::new());
                    }
                    if is_of_models(family, listing.words) {
                        fitted.of_model(listing, *offer, family);
                    }
                    fitted
                };
                families.iter().map(fit).collect()
            })
            .collect();
        let rivals = match product_type.filter(|_| listing.is_picked) {
            Some(kind) => listing.rivals(kind, &families),
            None => Vec::new(),
        };
        Self { listing, naming, product_type, offers, families, rivals, fits }
    }

    fn row(&self, at: usize) -> &'l Row {
        &self.listing.rows[self.offers[at]]
    }

    fn propose(&self) -> Vec<(usize, Proposal)> {
        let kind = self.product_type.map(|kind| self.listing.words.text(kind).to_owned());
        if self.families.is_empty() {
            let (answer, why) = match kind {
                Some(kind) => (Answer::Nothing, Why::NoProduct(Some(kind))),
                None if self.listing.families.is_empty() => (Answer::Nothing, Why::NoProduct(None)),
                None => (Answer::Choose(Vec::new()), Why::KindUnsaid),
            };
            let offers = (0..self.offers.len()).map(|at| {
                let good = self.good(at, &WordSet::default());
                (self.offers[at], Proposal { answer: answer.clone(), good, why: vec![why.clone()] })
            });
            return offers.collect();
        }
        let untold = self.untold();
        let mut drafts: Vec<Draft> = Vec::new();
        for (key, offers, found) in self.goods() {
            let words = self.named(&key, &offers, &found);
            for at in offers {
                drafts.push(self.draft(at, &key, &found, &words, untold.contains(&at)));
            }
        }
        self.tell_apart(&mut drafts);
        let proposals = drafts.into_iter();
        proposals
            .map(|draft| {
                let Draft { offer, mut answer, mut why, good, .. } = draft;
                if let Answer::Choose(candidates) = &mut answer
                    && let Some(more) =
                        candidates.len().checked_sub(CANDIDATES_AT_MOST).filter(|more| *more > 0)
                {
                    // Which ones are left does not depend on the order of the table.
                    let named = |place: &usize| {
                        let variant = &self.listing.variants[*place];
                        (&variant.supplier, &variant.variant_id)
                    };
                    candidates.sort_by(|one, other| named(one).cmp(&named(other)));
                    candidates.truncate(CANDIDATES_AT_MOST);
                    candidates.sort_unstable();
                    why.push(Why::More(more));
                }
                (self.offers[offer], Proposal { answer, good, why })
            })
            .collect()
    }

    /// The goods among the offers, and the products that they are.
    fn goods(&self) -> Vec<(Key, Vec<usize>, Found)> {
        let telling = telling(&self.families);
        // A 'baby' blanket of 30 x 40 in is the blanket of that size.
        let is_measured = self.families.iter().flat_map(|family| &family.sizes).all(|key| {
            let read = key.size.read.map_or("", |read| self.listing.words.text(read));
            let is_length = [" in", " cm", " mm"].iter().any(|unit| read.ends_with(unit));
            key.age_group.is_none() && read.contains('x') && is_length
        });
        let mut goods: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
        let by_value = (0..self.offers.len())
            .any(|at| self.row(at).words.iter().any(|word| word.tells() && telling.has(word.word)));
        for at in 0..self.offers.len() {
            let row = self.row(at);
            // Of one product, only what stands beside the good's name can say that another is meant.
            // Beside a product of no known type, what the good is called tells which one it is: 'tote', 'shopper'.
            let has_untyped = self.product_type.is_some()
                && self.families.iter().any(|family| family.product_type.is_none());
            let is_told = |word: &&RowWord| {
                word.tells() && (self.families.len() > 1 || row.touches_good(word))
                    || has_untyped && word.part == Part::Good
            };
            let words = row.words.iter().filter(is_told).map(|word| word.word);
            let kinds: WordSet = self.families.iter().flat_map(|family| family.goods.iter()).collect();
            // The S of 'L/S tee' is no size.
            let words = words.chain(row.size_words.iter().copied().filter(|word| !kinds.has(*word)));
            let is_open = |word: &Word| self.families.len() > 1 && !by_value && !kinds.has(*word);
            let words = words.chain(row.naming.names.iter().copied().filter(is_open));
            let key = Key {
                age_group: row.age_group.filter(|_| !is_measured),
                words: words.filter(|word| telling.has(*word)).collect(),
                has_part: row.words.iter().any(|word| word.part == Part::Piece),
            };
            goods.entry(key).or_default().push(at);
        }
        let (mut keys, offers): (Vec<Key>, Vec<Vec<usize>>) = goods.into_iter().unzip();
        // Of one good alone the title may say which it is: 'waist apron'.
        if let [only] = keys.as_mut_slice()
            && only.words.is_empty()
            && self.offers.len() == self.listing.rows.len()
            && self.families.len() > 1
        {
            let titled = self.row(0).naming.title.iter().copied();
            let is_name = |word: &Word| {
                telling.has(*word)
                    && !self.listing.vocabulary.phrases.knows(self.listing.words.text(*word))
                    && !self.listing.words.has_digit(*word)
            };
            let beside = self.row(0).naming.titled_beside.iter().copied();
            only.words = titled.filter(is_name).chain(beside.filter(|word| telling.has(*word))).collect();
            // Of what a man wears the title says no more where nobody has picked products: he wears what is for all as well.
            let [men, _] = self.listing.men_women;
            let is_for_all = |family: &&Family| !family.names().any(|name| self.listing.is_whose(name));
            if !self.listing.is_picked
                && only.words.as_slice() == [men]
                && self.families.iter().any(is_for_all)
            {
                only.words = WordSet::default();
            }
        }
        let fits: Vec<Vec<bool>> = offers.iter().map(|offers| self.made_for(offers)).collect();
        let mut found = assigned(&keys, &self.families, &fits, self.listing.adult, self.listing.is_picked);
        // What is made nowhere takes no product from another good.
        for ((found, fits), offers) in found.iter_mut().zip(&fits).zip(&offers) {
            if !fits.contains(&true) {
                *found = Found::Open(self.of_age(offers));
            }
        }
        self.share(&mut found, &offers, &fits);
        for ((found, offers), key) in found.iter_mut().zip(&offers).zip(&keys) {
            if let Some((place, _)) = self.by_rule(offers, key) {
                *found = Found::One(place, Told::ByRule);
            }
        }
        let goods = keys.into_iter().zip(offers).zip(found);
        goods.flat_map(|((key, offers), found)| self.split(key, offers, found)).collect()
    }

    /// Two goods may be one product where no offer of the one leads to a variant of the other: a plain tote and one with red
    /// handles. `fits` is by good and family.
    fn share(&self, found: &mut [Found], offers: &[Vec<usize>], fits: &[Vec<bool>]) {
        let made = |good: usize, place: usize| -> Vec<usize> {
            offers[good].iter().flat_map(|at| &self.fits[*at][place].made).copied().collect()
        };
        let shared: Vec<Option<usize>> = (0..found.len())
            .map(|good| {
                if !matches!(found[good], Found::NoneLeft | Found::Contested(_)) {
                    return None;
                }
                // Beside a grown-up's and a child's, one that says neither is not the one that comes in its colour.
                let says_nobody =
                    |at: &usize| self.row(*at).age_group.is_none() && self.row(*at).size.read.is_none();
                let others_say = || (0..self.offers.len()).any(|at| self.row(at).age_group.is_some());
                if offers[good].iter().all(says_nobody) && others_say() {
                    return None;
                }
                let place = match &found[good] {
                    Found::Contested(best) if best.len() == 1 => *best.first()?,
                    _ => {
                        let mut places = (0..self.families.len()).filter(|place| fits[good][*place]);
                        places.next().filter(|_| places.next().is_none())?
                    }
                };
                let is_one = |at: &usize| self.fits[*at][place].made.len() <= 1;
                let own: BTreeSet<usize> = made(good, place).into_iter().collect();
                let is_claimed = |other: usize, place: usize| match &found[other] {
                    Found::One(own, _) => *own == place,
                    Found::Open(all) | Found::Contested(all) => all.contains(&place),
                    Found::NoneLeft => true,
                };
                let is_apart = (0..found.len()).all(|other| {
                    other == good
                        || !is_claimed(other, place)
                        || made(other, place).iter().all(|variant| !own.contains(variant))
                });
                (is_apart && offers[good].iter().all(is_one)).then_some(place)
            })
            .collect();
        for (found, place) in found.iter_mut().zip(shared) {
            if let Some(place) = place {
                *found = Found::One(place, Told::Only);
            }
        }
    }

    /// Which families have what any of some offers say.
    fn made_for(&self, offers: &[usize]) -> Vec<bool> {
        let is_made = |place| offers.iter().any(|at| self.is_made(*at, place));
        (0..self.families.len()).map(is_made).collect()
    }

    /// The families for the age group that an offer says, or for none.
    fn of_age(&self, offers: &[usize]) -> Vec<usize> {
        let age = offers.first().and_then(|at| self.row(*at).age_group);
        let is_of_age = |place: &usize| {
            let mut sizes = self.families[*place].sizes.iter();
            age.is_none() || sizes.any(|size| size.age_group.is_none() || size.age_group == age)
        };
        let all = 0..self.families.len();
        let of_age: Vec<usize> = all.clone().filter(is_of_age).collect();
        if of_age.is_empty() { all.collect() } else { of_age }
    }

    /// The variants of one of some products that an offer can be.
    fn candidates(&self, at: usize, places: &[usize]) -> Vec<usize> {
        places.iter().flat_map(|place| &self.fits[at][*place].made).copied().collect()
    }

    fn is_made(&self, at: usize, place: usize) -> bool {
        !self.fits[at][place].made.is_empty()
    }

    /// A good whose offers lead to one variant in other words is several goods, which only the owner can tell apart.
    fn split(&self, key: Key, offers: Vec<usize>, found: Found) -> Vec<(Key, Vec<usize>, Found)> {
        let places: Vec<usize> = match &found {
            Found::One(place, _) => vec![*place],
            Found::Open(places) => places.clone(),
            Found::Contested(_) | Found::NoneLeft => return vec![(key, offers, found)],
        };
        let known = self.known(&places);
        let unknown = |at: usize| self.beside(at, &key, &known);
        let mut by_variant: BTreeMap<Vec<usize>, WordSet> = BTreeMap::new();
        let mut is_contested = false;
        for at in &offers {
            let made = self.candidates(*at, &places);
            // Several pieces of it are the owner's to decide, whatever the others are.
            let is_several = self.row(*at).pieces.is_some_and(|count| count > 1)
                && made.iter().all(|index| self.listing.pieces[*index] != self.row(*at).pieces);
            if !made.is_empty() && !is_several {
                let words = unknown(*at);
                is_contested |= by_variant.get(&made).is_some_and(|there| *there != words);
                by_variant.insert(made, words);
            }
        }
        if !is_contested {
            return vec![(key, offers, found)];
        }
        let mut parts: BTreeMap<WordSet, Vec<usize>> = BTreeMap::new();
        offers.iter().for_each(|at| parts.entry(unknown(*at)).or_default().push(*at));
        let in_all = WordSet::in_all(parts.keys().cloned());
        let whose = |word: Word| self.listing.is_whose(word);
        // 'Unisex' beside 'women' is what a product for all is.
        let whose_alone = parts.keys().all(|words| words.iter().all(whose));
        let parts = parts.into_iter().map(|(words, offers)| {
            if words.is_empty() && whose_alone {
                return (key.clone(), offers, found.clone());
            }
            let words: WordSet = words.without(&in_all).iter().chain(key.words.iter()).collect();
            let key = Key { words, ..key.clone() };
            let by_rule = self.by_rule(&offers, &key);
            let found = by_rule
                .map_or(Found::Contested(places.clone()), |(place, _)| Found::One(place, Told::ByRule));
            (key, offers, found)
        });
        parts.collect()
    }

    /// What products explain: their names, goods, sizes and tails.
    fn known(&self, places: &[usize]) -> WordSet {
        let of_family = |place: &usize| {
            let family = self.families[*place];
            let sizes = family.sizes.iter().flat_map(|key| key.size.said.iter().chain(&key.size.numbers));
            let tails = family.tails.iter().flat_map(WordSet::iter).chain(family.goods.iter());
            family.names().chain(tails).chain(sizes.copied()).collect::<Vec<_>>()
        };
        places.iter().flat_map(of_family).collect()
    }

    /// Words that stand beside the good's name and that nothing explains: 'premium tee', 'mug B'. Elsewhere they are about
    /// something else.
    fn beside(&self, at: usize, key: &Key, known: &WordSet) -> WordSet {
        let words = &self.row(at).words;
        let names_it = |word: &RowWord| word.part == Part::Good || key.words.has(word.word);
        let touches = |word: &RowWord| self.row(at).is_chained(word, names_it);
        // For whom it is and how it is cut says what the good is, wherever it stands.
        let is_of_good = |word: &RowWord| word.part == Part::Describing || self.listing.is_whose(word.word);
        let unknown = words.iter().filter(|word| word.part.is_open() && (touches(word) || is_of_good(word)));
        let is_count = |word: Word| is_number_word(self.listing.words.text(word));
        unknown.map(|word| word.word).filter(|word| !known.has(*word) && !is_count(*word)).collect()
    }

    /// The words of [`Self::beside`] that all of some offers have.
    fn beside_all(&self, offers: &[usize], key: &Key) -> WordSet {
        let known = self.known(&(0..self.families.len()).collect::<Vec<_>>());
        WordSet::in_all(offers.iter().map(|at| self.beside(*at, key, &known)))
    }

    /// The rule of the owner's for a good, and the product that it names: one that has all words that tell the good apart,
    /// and beside them none that the good's offers do not all have beside its name. So the answer for 'mug A' beside
    /// 'mug B' serves a listing that sells 'mug A' alone. The one with most words counts.
    fn by_rule(&self, offers: &[usize], key: &Key) -> Option<(usize, &GoodRule)> {
        let good = self.good(*offers.first()?, &key.words);
        let of_kind = |rule: &&GoodRule| {
            (&rule.good.product_type, &rule.good.age_group) == (&good.product_type, &good.age_group)
                && good.words.iter().all(|word| rule.good.words.contains(word))
        };
        let mut rules: Vec<&GoodRule> = self.listing.rules.iter().filter(of_kind).collect();
        if rules.iter().any(|rule| rule.good.words.len() > good.words.len()) {
            let beside = self.beside_all(offers, key);
            let beside: Vec<&str> = beside.iter().map(|word| self.listing.words.text(word)).collect();
            let is_there = |word: &String| good.words.contains(word) || beside.contains(&word.as_str());
            rules.retain(|rule| rule.good.words.iter().all(is_there));
        }
        let most = rules.iter().map(|rule| rule.good.words.len()).max()?;
        rules.retain(|rule| rule.good.words.len() == most);
        // Two that say as much and name different products leave it to the owner.
        let [rule, rest @ ..] = &rules[..] else { return None };
        if rest.iter().any(|other| (&other.supplier, &other.product) != (&rule.supplier, &rule.product)) {
            return None;
        }
        let is_it = |family: &&Family| {
            family.variants.iter().any(|made| {
                let variant = &self.listing.variants[made.index];
                variant.supplier == rule.supplier && variant.product.as_deref() == Some(&rule.product)
            })
        };
        Some((self.families.iter().position(is_it)?, rule))
    }

    /// The words by which a rule names a good: those of the rule that answered; where nothing tells products apart, also what
    /// stands beside its name.
    fn named(&self, key: &Key, offers: &[usize], found: &Found) -> Vec<String> {
        let text = |word: Word| self.listing.words.text(word).to_owned();
        let mut words: Vec<String> = match found {
            Found::One(_, Told::ByRule) => match self.by_rule(offers, key) {
                Some((_, rule)) => rule.good.words.clone(),
                None => key.words.iter().map(text).collect(),
            },
            Found::Open(_) => key.words.iter().chain(self.beside_all(offers, key).iter()).map(text).collect(),
            Found::One(..) | Found::Contested(_) | Found::NoneLeft => key.words.iter().map(text).collect(),
        };
        words.sort_unstable();
        words.dedup();
        words
    }

    fn good(&self, at: usize, words: &WordSet) -> Good {
        let text = |word: Word| self.listing.words.text(word).to_owned();
        let mut words: Vec<String> = words.iter().map(text).collect();
        words.sort_unstable();
        Good { product_type: self.product_type.map(text), age_group: self.row(at).age_group.map(text), words }
    }

    fn draft(&self, at: usize, key: &Key, found: &Found, words: &[String], is_untold: bool) -> Draft {
        let mut why: Vec<Why> = Vec::new();
        let products = |places: &[usize]| -> Vec<String> {
            places.iter().map(|place| self.listing.product(self.families[*place])).collect()
        };
        let good = Good { words: words.to_vec(), ..self.good(at, &key.words) };
        let choose = |places: &[usize]| {
            let mut all = self.candidates(at, places);
            all.sort_unstable();
            (Answer::Choose(all), None)
        };
        let (answer, how) = match found {
            Found::NoneLeft => {
                let kind = self.product_type.map_or("product", |kind| self.listing.words.text(kind));
                why.push(Why::NoneLeft(kind.to_owned()));
                (Answer::Nothing, None)
            }
            Found::Open(places) => {
                let only = || self.only_made(at, places).or_else(|| self.other_made(at, places, key));
                let is_untold = is_untold || self.has_unnamed(at) || self.has_rival(at);
                let only = if is_untold { None } else { only() };
                match only.or_else(|| self.closest_size(at, places)) {
                    Some(place) => self.inside(at, place, Told::Only, key, &mut why),
                    None => {
                        why.push(Why::SeveralProducts(products(places)));
                        choose(places)
                    }
                }
            }
            Found::Contested(places) => {
                why.push(Why::SeveralGoods(products(places)));
                choose(places)
            }
            Found::One(_, told)
                if *told == Told::Rather && self.has_unexplained(at)
                    || *told == Told::Only && is_untold && self.product_type.is_none()
                    || *told != Told::ByRule && (self.has_unnamed(at) || self.has_rival(at)) =>
            {
                let all: Vec<usize> = (0..self.families.len()).collect();
                why.push(Why::SeveralProducts(products(&all)));
                choose(&all)
            }
            Found::One(place, told) => {
                let place = if *told == Told::ByRule { *place } else { self.with_size(at, *place, key) };
                self.inside(at, place, *told, key, &mut why)
            }
        };
        let answer = match answer {
            Answer::Choose(candidates) if candidates.is_empty() => self.nothing(at, found, &mut why),
            answer => answer,
        };
        let slips = &self.row(at).slips;
        let text = |word: Word| self.listing.words.text(word).to_owned();
        why.extend(
            slips.iter().map(|(written, meant)| Why::Slip { written: text(*written), meant: text(*meant) }),
        );
        Draft { offer: at, answer, why, good, how }
    }

    /// Whether an offer has words that neither a product nor anything that was read explains.
    fn has_unexplained(&self, at: usize) -> bool {
        let known = |word: Word| {
            self.families.iter().any(|family| {
                family.names().any(|name| name == word) || family.tails.iter().any(|tail| tail.has(word))
            })
        };
        self.row(at).words.iter().any(|word| word.part == Part::Unknown && !known(word.word))
    }

    /// Whether an offer of which nobody knows the kind has, in an option in which other offers name their goods, words that
    /// no product has, and none by which one is called: 'mittens', 'tea cosy' beside a tea towel.
    fn has_unnamed(&self, at: usize) -> bool {
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
                family.names().any(|name| name == word) && (!family.goods.has(word) || is_whole())
            })
        };
        let text = |word: Word| self.listing.words.text(word);
        let is_known = |word: Word| {
            self.listing.families.iter().any(|family| {
                family.names().any(|name| name == word)
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
    fn untold(&self) -> BTreeSet<usize> {
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
    fn has_rival(&self, at: usize) -> bool {
        let row = self.row(at);
        row.naming.kind_from != KindFrom::Value
            && row.naming.titled_kind.is_none()
            && self.rivals.iter().any(|family| !Fitted::of(self.listing, row, family).made.is_empty())
    }

    /// The only one of some products that is made as the offer says.
    fn only_made(&self, at: usize, places: &[usize]) -> Option<usize> {
        let mut made = places.iter().filter(|place| self.is_made(at, **place));
        let first = made.next()?;
        made.next().is_none().then_some(*first)
    }

    /// The only one of some products whose size is the offer's to the word, where it is only about that of all others: 40 x 40
    /// cm is rather a cover of 40 x 40 cm than one of 16 inches.
    fn closest_size(&self, at: usize, places: &[usize]) -> Option<usize> {
        let is_made = |place: &&usize| self.is_made(at, **place);
        // Two sides without a unit are a size too: '40x40'.
        let has_sides = self.row(at).size.read.is_none() && self.row(at).size.numbers.len() == 2;
        let is_about = |place: &usize| match self.fits[at][*place].size {
            Fit::One(_, How::Converted) => true,
            Fit::Unsaid => has_sides,
            _ => false,
        };
        let is_same =
            |place: &usize| matches!(self.fits[at][*place].size, Fit::One(_, How::Same | How::Numbers));
        let (about, others): (Vec<usize>, Vec<usize>) =
            places.iter().filter(is_made).copied().partition(|place| is_about(place));
        match others.as_slice() {
            [only] if !about.is_empty() && is_same(only) => Some(*only),
            _ => None,
        }
    }

    /// Where none of some products comes in the size that the offer says: the only other one that is made as it says and
    /// of which the good's words say as much.
    fn other_made(&self, at: usize, places: &[usize], key: &Key) -> Option<usize> {
        let shared = |place: usize| self.families[place].names().filter(|word| key.words.has(*word)).count();
        if places.iter().any(|place| self.fits[at][*place].size != Fit::NotMade) {
            return None;
        }
        let most = places.iter().map(|place| shared(*place)).max().unwrap_or(0);
        let others =
            (0..self.families.len()).filter(|other| !places.contains(other) && shared(*other) >= most);
        self.only_made(at, &others.collect::<Vec<_>>())
    }

    /// The product itself, or the other one that has the offer's size.
    fn with_size(&self, at: usize, place: usize, key: &Key) -> usize {
        self.other_made(at, &[place], key).unwrap_or(place)
    }

    /// The products that can be meant do not have what the offer says.
    fn nothing(&self, at: usize, found: &Found, why: &mut Vec<Why>) -> Answer {
        let places: &[usize] = match found {
            Found::Open(places) | Found::Contested(places) => places,
            Found::One(place, _) => std::slice::from_ref(place),
            Found::NoneLeft => &[],
        };
        let not_made: Vec<Why> = places.iter().filter_map(|place| self.not_made(at, *place)).collect();
        if !not_made.is_empty() {
            *why = not_made;
        }
        Answer::Nothing
    }

    fn not_made(&self, at: usize, place: usize) -> Option<Why> {
        let family = self.families[place];
        let product = self.listing.product(family);
        let row = self.row(at);
        let Fitted { size, tail, is_for_others, made } = &self.fits[at][place];
        match (size, tail) {
            _ if *is_for_others => Some(Why::ForOthers(product)),
            (Fit::NotMade, _) => Some(Why::SizeNotMade { product, size: self.listing.size_text(row) }),
            (_, Fit::NotMade) => {
                Some(Why::ColourNotMade { product, colour: self.listing.colour_text(row, family) })
            }
            _ => made.is_empty().then_some(Why::NotTogether { product }),
        }
    }

    /// The variant within a product.
    fn inside(
        &self,
        at: usize,
        place: usize,
        told: Told,
        key: &Key,
        why: &mut Vec<Why>,
    ) -> (Answer, Option<How>) {
        let family = self.families[place];
        let product = self.listing.product(family);
        let row = self.row(at);
        let Fitted { size, tail, made, .. } = &self.fits[at][place];
        let words = self.listing.words;
        let size_names = |places: &[usize]| {
            let name = |place: &usize| self.listing.size_name(family, *place);
            places.iter().map(name).collect::<Vec<_>>()
        };
        let tail_names = |places: &[usize]| -> Vec<String> {
            places.iter().map(|place| self.listing.tail_name(family, *place)).collect()
        };
        match made.as_slice() {
            [] => {
                why.extend(self.not_made(at, place));
                (Answer::Nothing, None)
            }
            [_] if self.is_of_other_colour(at, place) => {
                why.push(Why::ColourUnsaid);
                (Answer::Choose(made.clone()), None)
            }
            [only]
                if row.pieces.is_some_and(|count| count > 1) && row.pieces != self.listing.pieces[*only] =>
            {
                why.extend(row.pieces.map(Why::Pieces));
                (Answer::Choose(made.clone()), None)
            }
            [only] if size.is_said() && (tail.is_said() || *tail == Fit::Unsaid) => {
                let mut reads: Vec<String> = Vec::new();
                reads.extend(self.product_type.map(|kind| words.text(kind).to_owned()));
                if let Fit::One(place, _) = size {
                    reads.extend(size_names(&[*place]));
                }
                if let Fit::One(place, _) = tail {
                    reads.extend(tail_names(&[*place]));
                }
                why.push(Why::Reads(reads.join(", ")));
                if !self.listing.variants[*only].available {
                    why.push(Why::NotAvailable);
                }
                why.push(match told {
                    Told::Only => Why::OnlyProduct(product),
                    Told::Rather => Why::Rather(product),
                    Told::Left => Why::LeftForIt(product),
                    Told::ByRule => Why::ByRule(product),
                    Told::ByWords => {
                        let shared: Vec<Word> = family.names().filter(|word| key.words.has(*word)).collect();
                        Why::ToldByWords { product, words: words.joined(&shared) }
                    }
                });
                match size {
                    Fit::Free if !family.sizes.iter().all(|size| size.size.said.is_empty()) => {
                        why.push(Why::OneSize)
                    }
                    Fit::One(place, How::Numbers) => {
                        why.extend(size_names(&[*place]).pop().map(Why::ByNumbers))
                    }
                    Fit::One(place, How::Converted) => why.push(Why::Converted {
                        said: self.listing.size_text(row),
                        made: self.listing.size_name(family, *place),
                    }),
                    Fit::One(_, How::Adult) => why.push(Why::ForAdults),
                    _ => {}
                }
                let how = match tail {
                    Fit::Free => {
                        why.extend((!TailWords::of(row, family).surely.is_empty()).then_some(Why::NoColour));
                        None
                    }
                    Fit::One(place, how) => {
                        let said = self.listing.colour_text(row, family);
                        if *how != How::Same && said != self.listing.tail_name(family, *place) {
                            why.push(Why::ColourTakenFor {
                                said,
                                made: self.listing.tail_name(family, *place),
                            });
                        }
                        Some(*how)
                    }
                    _ => None,
                };
                (Answer::Proposed(*only), how)
            }
            _ => {
                match size {
                    Fit::Several(places) => why.push(Why::SeveralSizes(size_names(places))),
                    Fit::Unsaid => why.push(Why::SizeUnsaid),
                    _ => {}
                }
                match tail {
                    Fit::Several(places) => why.push(Why::SeveralColours(tail_names(places))),
                    Fit::Unsaid | Fit::Unclear => why.push(Why::ColourUnsaid),
                    _ => {}
                }
                if why.is_empty() {
                    why.push(Why::SeveralVariants);
                }
                (Answer::Choose(made.clone()), None)
            }
        }
    }

    /// Whether an offer says a colour that a product without one to choose says not to be: 'blue', of a white mug.
    fn is_of_other_colour(&self, at: usize, place: usize) -> bool {
        let family = self.families[place];
        let words = self.row(at).words.iter();
        let said: WordSet = words.filter(|word| word.part.is_colour()).map(|word| word.word).collect();
        let hues = self.listing.hues;
        let own: WordSet = family.only_colours.iter().filter(|word| !hues.is_part(*word)).collect();
        family.tails.len() == 1 && hues.are_apart(&said, &own)
    }

    /// No two offers that say different things lead to one variant: the one that says it better keeps it.
    fn tell_apart(&self, drafts: &mut [Draft]) {
        let mut by_variant: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (place, draft) in drafts.iter().enumerate() {
            if let (Answer::Proposed(variant), Some(_)) = (&draft.answer, draft.how) {
                by_variant.entry(*variant).or_default().push(place);
            }
        }
        for (variant, places) in by_variant {
            let colours = |place: &usize| -> WordSet {
                let words = self.row(drafts[*place].offer).words.iter();
                words.filter(|word| word.part.is_colour()).map(|word| word.word).collect()
            };
            let first = places.first().map(colours);
            if places.iter().all(|place| Some(colours(place)) == first) {
                continue;
            }
            let best = places.iter().filter_map(|place| drafts[*place].how).min();
            let of_best = places.iter().filter(|place| drafts[**place].how == best).count();
            let said: Vec<String> =
                places.iter().map(|place| self.value_text(drafts[*place].offer)).collect();
            for place in places {
                let draft = &mut drafts[place];
                if draft.how != best || of_best > 1 && best != Some(How::Same) {
                    draft.answer = Answer::Choose(vec![variant]);
                    draft.why = vec![Why::SaidBetter(said.clone())];
                }
            }
        }
    }

    fn value_text(&self, at: usize) -> String {
        let offer = self.listing.offers[self.offers[at]];
        offer.options.iter().map(|(_, value)| value).collect::<Vec<_>>().join(", ")
    }
}
