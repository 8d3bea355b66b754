//! What a good is that says no more than its name: the plain one of several products, or one of which a namesake exists.
//!
//! Must not know how a variant is found inside a product. Start reading at [`Class::plainest`].

use std::collections::BTreeSet;

use super::Fitted;
use super::class::Class;
use crate::close::KindFrom;
use crate::propose::family::Family;
use crate::propose::fit::{Fit, How};
use crate::propose::words::{Word, WordSet};

/// What a product has beside what its kind has, in English, German, French and Spanish: a shop that sells it says so. Common
/// practice, no published source.
const ADDED: [&str; 30] = [
    "framed",
    "frame",
    "gerahmt",
    "gerahmter",
    "gerahmtes",
    "rahmen",
    "encadre",
    "encadree",
    "cadre",
    "enmarcado",
    "enmarcada",
    "marco",
    "accent",
    "inside",
    "innen",
    "interieur",
    "interior",
    "coloured",
    "colored",
    "tone",
    "two-tone",
    "cover",
    "case",
    "bezug",
    "hulle",
    "housse",
    "funda",
    "filled",
    "filling",
    "insert",
];

/// The colour with a name of its own that people call by its hue as well, where the shop sells no other of the hue. Common
/// practice, no published source.
const CALLED_BY_HUE: &str = "navy";

/// What names no good by itself.
const VAGUE: &str = "art";

impl Class<'_, '_> {
    /// Where nobody has picked products, the one that is what a name alone says, beside others with something more to them of
    /// which the listing says nothing: of a print and a framed print, of a hoodie and a zipped one.
    pub(super) fn plainest(&self, at: usize, places: &[usize]) -> Option<usize> {
        let listing = self.listing;
        let row = self.row(at);
        if listing.is_picked || row.naming.is_loose || places.len() < 2 {
            return None;
        }
        let words = listing.words;
        let title = &row.naming.title;
        let says = |word: Word| title.contains(&word) || row.words.iter().any(|said| said.word == word);
        // Where nobody knows the kind, the title says a name that all of them have: 'print'. A 'wall art' may hang in a frame.
        let shared = WordSet::in_all(places.iter().map(|place| self.families[*place].names().collect()));
        let is_named = |word: Word| words.text(word) != VAGUE && title.contains(&word);
        if self.product_type.is_none() && !shared.iter().any(is_named) {
            return None;
        }
        let own_goods = |family: &Family| -> WordSet { family.names().collect() };
        let added = |family: &Family| -> WordSet {
            own_goods(family).iter().filter(|word| ADDED.contains(&words.text(*word))).collect()
        };
        let is_turned = |family: &Family| {
            let turned = family.product_type.zip(self.product_type);
            turned.is_some_and(|(own, kind)| own != kind && listing.turned(own, kind).is_some())
        };
        let says_age = row.age_group.is_some() || row.naming.titled_age.is_some();
        let is_child = |age: Option<Word>| age.is_some_and(|age| age != listing.adult);
        let is_for_children = |place: usize| {
            !says_age && self.families[place].sizes.iter().all(|size| is_child(size.age_group))
        };
        let has_more = |place: &usize| {
            let family = self.families[*place];
            is_turned(family) || is_for_children(*place) || !added(family).is_empty()
        };
        let (more, plain): (Vec<usize>, Vec<usize>) = places.iter().partition(|place| has_more(place));
        let says_more = more.iter().any(|place| added(self.families[*place]).iter().any(says));
        // What one supplier sets apart by its names; another's may be named in any way.
        let supplier = |place: usize| &listing.variants[self.families[place].first].supplier;
        match plain.as_slice() {
            [only]
                if !more.is_empty()
                    && !says_more
                    && self.is_made(at, *only)
                    && more
                        .iter()
                        .all(|other| supplier(*other) == supplier(*only) || is_for_children(*other)) =>
            {
                Some(*only)
            }
            _ => None,
        }
    }

    /// Of several products that are each for men or for women, those for whom the title says.
    pub(super) fn titled_whose(&self, at: usize, places: &[usize]) -> Option<usize> {
        let listing = self.listing;
        let row = self.row(at);
        let whose = |place: usize| -> WordSet {
            self.families[place].names().filter(|word| listing.men_women.contains(word)).collect()
        };
        let made: Vec<usize> = places.iter().copied().filter(|place| self.is_made(at, *place)).collect();
        let said: WordSet =
            row.naming.title.iter().copied().filter(|word| listing.men_women.contains(word)).collect();
        if made.iter().any(|place| whose(*place).as_slice().len() != 1) || said.as_slice().len() != 1 {
            return None;
        }
        let mut fits = made.into_iter().filter(|place| whose(*place) == said);
        fits.next().filter(|_| fits.next().is_none())
    }

    /// Whether what the title alone says is the name of another good as well that nobody has picked, and is made as the offer
    /// says: a 'sudadera' may have a hood.
    pub(super) fn has_namesake(&self, at: usize) -> bool {
        let listing = self.listing;
        let row = self.row(at);
        let Some(kind) = self.product_type else { return false };
        if listing.is_picked || row.naming.kind_from != KindFrom::Title || row.naming.titles_fully {
            return false;
        }
        let claimed: BTreeSet<Option<Word>> = listing.rows.iter().map(|row| row.product_type).collect();
        let is_called = |other: Word| {
            listing.turned(other, kind).is_some_and(|other| {
                let mut title = row.naming.title.iter().map(|word| listing.words.text(*word));
                title.any(|word| other.also.iter().any(|also| also == word))
            })
        };
        listing.families.iter().any(|family| {
            let other = family.product_type.filter(|_| !claimed.contains(&family.product_type));
            other.is_some_and(|other| other != kind && is_called(other))
                && !Fitted::of(listing, row, family).made.is_empty()
        })
    }

    /// Whether a hue alone was taken for a shade of it, though the product has one with a name of its own that no offer says:
    /// 'blue' may be the navy, unless it
    /// is taken for the light one: then each has its own.
    pub(super) fn may_be_named_shade(&self, at: usize, place: usize) -> bool {
        let family = self.families[place];
        let hues = self.listing.hues;
        let Fit::One(own, How::Shorter) = self.fits[at][place].tail else { return false };
        let said: WordSet =
            self.row(at).words.iter().filter(|word| word.part.is_colour()).map(|word| word.word).collect();
        let is_light = family.tails[own].iter().any(|word| hues.is_light(word));
        let Some(hue) = hues.alone(&said).filter(|_| !is_light) else { return false };
        let is_claimed = |tail: usize| {
            let mut offers = 0..self.offers.len();
            offers.any(|other| matches!(self.fits[other][place].tail, Fit::One(there, _) if there == tail))
        };
        let mut others = family.tails.iter().enumerate().filter(|(other, _)| *other != own);
        others.any(|(other, tail)| {
            let is_called_so = tail.iter().any(|word| self.listing.words.text(word) == CALLED_BY_HUE);
            is_called_so && hues.of(tail) == Some(hue) && !is_claimed(other)
        })
    }

    /// Of some variants of a product, the only one whose finish the title says, where the options leave it open: 'tough case,
    /// matte'. A colour in a title is rather the design's.
    pub(super) fn finished(&self, at: usize, place: usize) -> Option<usize> {
        let family = self.families[place];
        let (words, hues) = (self.listing.words, self.listing.hues);
        let title = &self.row(at).naming.title;
        if self.row(at).words.iter().any(|word| word.part.is_colour()) {
            return None;
        }
        let made: Vec<_> =
            family.variants.iter().filter(|made| self.fits[at][place].made.contains(&made.index)).collect();
        let in_all = WordSet::in_all(made.iter().map(|made| family.tails[made.tail].clone()));
        let is_said = |word: Word| {
            title.contains(&word)
                && !in_all.has(word)
                && hues.of(&std::iter::once(word).collect()).is_none()
                && !hues.is_tone(word)
                && !words.has_digit(word)
        };
        let mut said = made.iter().filter(|made| family.tails[made.tail].iter().any(is_said));
        let only = said.next().filter(|_| said.next().is_none() && made.len() > 1)?;
        Some(only.index)
    }
}
