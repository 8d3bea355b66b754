//! Which type of good each offer is of, and which products can be of it.
//!
//! Owns when a type that is said loosely gives way. Must not know sizes and colours. Start reading at
//! [`Listing::doubt_kinds`].

use std::collections::{BTreeMap, BTreeSet};

use super::{Listing, WHOSE};
use crate::close::{KindFrom, Part};
use crate::propose::family::Family;
use crate::propose::hues::Hues;
use crate::propose::row::{Row, RowWord};
use crate::propose::words::{Word, WordSet, Words};

/// The word of ours for what is as most are.
const REGULAR: &str = "regular";

/// Words of no more letters that say colour or size as the name of an option call no product.
const LETTERS_OF_LABEL: usize = 3;

/// Most products that are looked at for an offer that does not say what it is.
const UNKNOWN_KIND_AT_MOST: usize = 24;

impl<'a> Listing<'a> {
    /// The products of other types than one, that no offer claims and that are called by its word as well; `own` are its own.
    pub(super) fn rivals(&self, kind: Word, own: &[&Family]) -> Vec<&'a Family> {
        let claimed: BTreeSet<Option<Word>> = self.rows.iter().map(|row| row.product_type).collect();
        let turns = |other: Word| self.turned(other, kind).is_some() || self.turned(kind, other).is_some();
        let is_rival = |family: &&Family| {
            family.product_type.is_some_and(|other| other != kind && turns(other))
                && !claimed.contains(&family.product_type)
                && !own.iter().any(|own| std::ptr::eq(*own, *family))
        };
        self.families.iter().copied().filter(is_rival).collect()
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
                        families.any(|family| family.has_in_tail(word.word))
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
                    families.any(|family| family.has_name(*word))
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
    pub(super) fn doubt_kinds(&mut self) {
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
        let is_of_one_kind = self.is_picked && kinds.len() == 1;
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
            // 'Mum (ladies fit)' is the fit for women.
            let says_whose = |text: usize| {
                row.words.iter().any(|word| {
                    word.text == text
                        && WHOSE.contains(&self.words.text(word.word))
                        && self.families.iter().filter(of_kind).any(|family| family.has_name(word.word))
                })
            };
            let names_another = row.words.iter().any(|word| {
                word.part == Part::Unknown
                    && naming.contains(&word.text)
                    && !says_whose(word.text)
                    && !self.hues.is_weak(word.word)
                    && !self.words.is_number(word.word)
                    && self.words.text(word.word) != REGULAR
                    && !self
                        .families
                        .iter()
                        .filter(of_kind)
                        .any(|family| family.has_name(word.word) || family.has_in_tail(word.word))
            });
            // 'Nightshirt' of 'polo shirt and nightshirt': what a value shares with the title is what it sells. The tenors of a
            // choir are none, where only products of one kind were picked and no value names a good.
            let is_titled = row.naming.kind_from == KindFrom::Title
                && row.words.iter().any(|word| {
                    word.part.is_open()
                        && (naming.contains(&word.text) || !is_of_one_kind)
                        && varying.contains(&word.text)
                        && row.naming.titled.contains(&word.word)
                });
            if is_other || names_another || is_titled || !kinds.has(kind) && self.is_picked {
                row.product_type = None;
            }
        }
    }

    /// Beside offers of known types, one whose words no other product has may be a good that nobody makes.
    pub(super) fn take_unnamed(&self, offers: &mut Vec<usize>, types: &[Option<Word>]) -> Vec<usize> {
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
    pub(super) fn named(&self, offers: &[usize], families: Vec<&'a Family>) -> Vec<&'a Family> {
        let telling = |word: &&RowWord| word.part.is_open();
        let rows = || offers.iter().map(|at| &self.rows[*at]);
        let said: [WordSet; 3] = [
            rows().flat_map(|row| &row.words).filter(telling).map(|word| word.word).collect(),
            rows().flat_map(|row| &row.naming.names).copied().collect(),
            rows().flat_map(|row| &row.naming.title).copied().collect(),
        ];
        for said in said.iter().filter(|_| !self.is_picked) {
            // 'Col' is short for a colour, and calls no 'tee, col V'.
            let is_label = |word: Word| {
                let text = self.words.text(word);
                let says = self.vocabulary.name_says(text);
                (says.colour || says.size) && text.chars().nth(LETTERS_OF_LABEL).is_none()
            };
            let said: WordSet = said.iter().filter(|word| !is_label(*word)).collect();
            let is_named = |family: &&&Family| {
                let names = family.goods.iter().chain(family.product_words.iter());
                Self::is_called(&said, self.hues, self.words, names)
            };
            let named: Vec<&'a Family> = families.iter().filter(is_named).copied().collect();
            if !named.is_empty() && named.len() <= UNKNOWN_KIND_AT_MOST {
                return named;
            }
        }
        if self.is_picked { families } else { Vec::new() }
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
    pub(in crate::propose) fn kin(&self, kind: Word, offers: &[usize]) -> Vec<&'a Family> {
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
    pub(in crate::propose) fn families_of(
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
}
