//! The variant inside a product, and that no two offers that differ lead to one variant.
//!
//! Must not know why the product is the one meant. Start reading at [`Class::inside`].

use std::collections::BTreeMap;

use super::Fitted;
use super::class::{Class, Draft};
use crate::propose::Answer;
use crate::propose::fit::{Fit, How, TailWords};
use crate::propose::goods::{Found, Key, Told};
use crate::propose::why::Why;
use crate::propose::words::{Word, WordSet};

impl Class<'_, '_> {
    /// The only one of some products that is made as the offer says.
    pub(super) fn only_made(&self, at: usize, places: &[usize]) -> Option<usize> {
        let mut made = places.iter().filter(|place| self.is_made(at, **place));
        let first = made.next()?;
        made.next().is_none().then_some(*first)
    }

    /// The only one of some products whose size is the offer's to the word, where it is only about that of all others: 40 x 40
    /// cm is rather a cover of 40 x 40 cm than one of 16 inches.
    pub(super) fn closest_size(&self, at: usize, places: &[usize]) -> Option<usize> {
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
    pub(super) fn other_made(&self, at: usize, places: &[usize], key: &Key) -> Option<usize> {
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
    pub(super) fn with_size(&self, at: usize, place: usize, key: &Key) -> usize {
        self.other_made(at, &[place], key).unwrap_or(place)
    }

    /// The products that can be meant do not have what the offer says.
    pub(super) fn nothing(&self, at: usize, found: &Found, why: &mut Vec<Why>) -> Answer {
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
    pub(super) fn inside(
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
        // 'A6' of one card and 'A6' of ten are one size.
        let is_one_size = match size {
            Fit::Several(places) => {
                places.len() > 1 && size_names(places).windows(2).all(|pair| pair[0] == pair[1])
            }
            _ => false,
        };
        let strange = self.makes_another(at, place);
        match made.as_slice() {
            [_] if self.may_be_another(at, place, told, key) => {
                why.push(Why::SeveralProducts(vec![product]));
                (Answer::Choose(made.clone()), None)
            }
            [_] if let Some(word) = strange => {
                why.push(Why::NotUnderstood(words.text(word).to_owned()));
                (Answer::Choose(made.clone()), None)
            }
            [] => {
                why.extend(self.not_made(at, place));
                (Answer::Nothing, None)
            }
            [_] if self.is_of_other_colour(at, place) || self.may_be_named_shade(at, place) => {
                why.push(Why::ColourUnsaid);
                (Answer::Choose(made.clone()), None)
            }
            [only]
                if row.pieces.is_some_and(|count| count > 1) && row.pieces != self.listing.pieces[*only] =>
            {
                why.extend(row.pieces.map(Why::Pieces));
                (Answer::Choose(made.clone()), None)
            }
            [only]
                if row.pieces.is_none()
                    && row.naming.titled_pieces.is_some_and(|count| count > 1)
                    && row.naming.titled_pieces != self.listing.pieces[*only] =>
            {
                why.extend(row.naming.titled_pieces.map(Why::Pieces));
                (Answer::Choose(made.clone()), None)
            }
            [only] if (size.is_said() || is_one_size) && (tail.is_said() || *tail == Fit::Unsaid) => {
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
            [_, _, ..]
                if strange.is_none()
                    && let Some(only) = self.finished(at, place)
                    && [row.pieces, row.naming.titled_pieces]
                        .into_iter()
                        .flatten()
                        .all(|count| count == 1 || Some(count) == self.listing.pieces[only])
                    && !self.may_be_another(at, place, told, key) =>
            {
                let tail = family.variants.iter().find(|made| made.index == only).map(|made| made.tail);
                let reads = self.product_type.map(|kind| words.text(kind).to_owned());
                let reads = reads.into_iter().chain(tail.into_iter().flat_map(|tail| tail_names(&[tail])));
                why.push(Why::Reads(reads.collect::<Vec<_>>().join(", ")));
                if !self.listing.variants[only].available {
                    why.push(Why::NotAvailable);
                }
                why.push(Why::OnlyProduct(product));
                (Answer::Proposed(only), None)
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
    pub(super) fn tell_apart(&self, drafts: &mut [Draft]) {
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
