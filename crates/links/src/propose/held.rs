//! Holds what offers say against the variants that they lead to.
//!
//! Owns when the two contradict each other: a colour or a size is read against those in which the variant's product
//! comes, as for a proposal, so that 'grey' is no contradiction of the only grey there is. Must not know how a link
//! came to be. Start reading at [`hold`].

use std::collections::{BTreeMap, BTreeSet, HashMap};

use foldhash::fast::RandomState;
use model::book::{Offer, Variant};
use model::reading::{Difference, Kind};
use model::{ListingId, Reading};

use super::family::Family;
use super::fit::{Fit, fit_size, fit_tail};
use super::listing::{ByType, Listing};
use super::row::{Row, RowWord};
use super::words::{Word, WordSet};
use super::{Run, Tables};
use crate::close::{KindFrom, NO, Part};
use crate::vocabulary::Vocabulary;

/// In what each offer contradicts a variant that it leads to.
///
/// `linked` pairs places of `offers` with places of `variants`, in any order; the answer has one entry for each pair,
/// in that order, empty where nothing contradicts. What cannot be read contradicts nothing. Never fails.
pub fn hold(
    vocabulary: &Vocabulary,
    offers: &[Offer],
    variants: &[Variant],
    linked: &[(usize, usize)],
) -> Vec<Vec<Difference>> {
    let tables = Tables { offers, variants, listing_products: &[], rules: &[], by_hand: &[] };
    let mut run = Run::of(vocabulary, &tables);
    let mut by_listing: BTreeMap<&ListingId, (Vec<usize>, Vec<usize>)> = BTreeMap::new();
    for (place, (offer, _)) in linked.iter().enumerate() {
        by_listing.entry(&offers[*offer].listing_id).or_default().1.push(place);
    }
    for (index, offer) in offers.iter().enumerate() {
        if let Some((offers, _)) = by_listing.get_mut(&offer.listing_id) {
            offers.push(index);
        }
    }
    let made: HashMap<usize, (usize, usize, usize), RandomState> = run
        .families
        .iter()
        .enumerate()
        .flat_map(|(place, family)| family.variants.iter().map(move |made| (place, made)))
        .map(|(place, made)| (made.index, (place, made.size, made.tail)))
        .collect();
    let mut contradictions: Vec<Vec<Difference>> = vec![Vec::new(); linked.len()];
    for (offers, pairs) in by_listing.into_values() {
        let rows = run.read_offers(&tables, &offers);
        let families = run.families.iter().collect();
        let mut listing = run.listing(&tables, &offers, rows, families);
        let kinds = Kinds::of(&mut listing);
        let held: Vec<(usize, usize, Held<'_, '_>)> = pairs
            .into_iter()
            .filter_map(|place| {
                let (offer, variant) = linked[place];
                let at = offers.binary_search(&offer).ok()?;
                let (family, size, tail) = *made.get(&variant)?;
                let (row, family) = (&listing.rows[at], &run.families[family]);
                Some((place, at, Held { listing: &listing, row, family, size, tail }))
            })
            .collect();
        let doubted = kinds.doubted(held.iter().map(|(_, at, held)| (*at, held)));
        for (place, at, held) in held {
            let of_kind = kinds
                .differ(&held, at)
                .filter(|_| !held.is_doubtful() || !doubted.contains(&kinds.types[at]));
            contradictions[place] = of_kind.into_iter().chain(held.size()).chain(held.colour()).collect();
        }
    }
    contradictions
}

/// The products that each offer of a listing can be, by its type alone.
struct Kinds<'a> {
    /// By offer.
    types: Vec<Option<Word>>,
    /// By type.
    families: BTreeMap<Word, Vec<&'a Family>>,
}

impl<'a> Kinds<'a> {
    fn of(listing: &mut Listing<'a>) -> Self {
        let ByType { named, types, .. } = listing.by_type();
        let mut kinds = Self { types: vec![None; listing.rows.len()], families: BTreeMap::new() };
        for (kind, offers) in named {
            let Some(kind) = kind else { continue };
            let mut families = listing.families_of(Some(kind), &offers, &types);
            families.extend(listing.kin(kind, &offers));
            kinds.families.insert(kind, families);
            offers.into_iter().for_each(|offer| kinds.types[offer] = Some(kind));
        }
        kinds
    }

    fn differ(&self, held: &Held<'_, '_>, at: usize) -> Option<Difference> {
        let (said, made) = (self.types[at]?, held.family.product_type?);
        let can_be =
            |families: &Vec<&Family>| families.iter().any(|family| std::ptr::eq(*family, held.family));
        let is_it = said == made || self.families.get(&said).is_some_and(can_be);
        let is_it = is_it
            || held.is_called_by_title(made)
            || held.is_plainly(said, made)
            || held.is_named_by_value()
            || held.is_negated()
            || held.is_mended()
            || held.is_said_by_variant();
        let words = held.listing.words;
        (!is_it).then(|| Difference {
            kind: Kind::ProductType,
            wanted: words.text(said).to_owned(),
            sent: words.text(made).to_owned(),
        })
    }
}

impl Kinds<'_> {
    /// The types of which a title or a loose word is no evidence: those where most of what the offers lead to is
    /// something else. A title is about the design as well ('Band camp'), and so may be a loose word ('grandad's jumper').
    fn doubted<'h, 'a: 'h>(
        &self,
        held: impl Iterator<Item = (usize, &'h Held<'h, 'a>)>,
    ) -> BTreeSet<Option<Word>> {
        /// From how many links on the owner is taken to know better.
        const LINKS_AT_LEAST: usize = 3;
        let mut by_type: BTreeMap<Option<Word>, (usize, usize)> = BTreeMap::new();
        let mut by_name: BTreeSet<Option<Word>> = BTreeSet::new();
        for (at, held) in held.filter(|(_, held)| held.is_doubtful()) {
            if held.row.naming.kind_from == KindFrom::Name {
                by_name.insert(self.types[at]);
            }
            let (differing, all) = by_type.entry(self.types[at]).or_default();
            *differing += usize::from(self.differ(held, at).is_some());
            *all += 1;
        }
        let doubted = by_type.into_iter().filter(|(kind, (differing, all))| {
            // What an option's name alone says is said of all its values: 'Shirt: little brother, newborn'.
            *differing >= LINKS_AT_LEAST && (by_name.contains(kind) || differing * 2 > *all)
        });
        doubted.map(|(kind, _)| kind).collect()
    }
}

/// An offer, and the product that it leads to.
struct Held<'h, 'a> {
    listing: &'h Listing<'a>,
    row: &'h Row,
    family: &'h Family,
    /// The places of the size and the tail that it leads to.
    size: usize,
    tail: usize,
}

impl Held<'_, '_> {
    /// Whether no value says surely what kind of good the offer is.
    fn is_doubtful(&self) -> bool {
        self.row.naming.kind_from != KindFrom::Value || self.row.naming.is_loose
    }

    /// Whether people call one of the two kinds by the other's name: a 'cushion, cover only' is a cushion cover.
    fn is_plainly(&self, said: Word, made: Word) -> bool {
        let is_plainly = |to, from| self.listing.turned(to, from).is_some_and(|kind| kind.plainly);
        is_plainly(said, made) && self.family.tails.len() > 1
    }

    /// Whether a value has a word that names the product's good, and the kind was read of something else: 'drawstring', in an
    /// option for bags.
    fn is_named_by_value(&self) -> bool {
        let named = |word: &RowWord| {
            matches!(word.part, Part::Unknown | Part::Unlisted | Part::Shading)
                && self.family.goods.has(word.word)
        };
        self.row.naming.kind_from != KindFrom::Value && self.row.words.iter().any(named)
    }

    /// Whether the good was read of a word that was taken for another.
    fn is_mended(&self) -> bool {
        let goods = self.row.words.iter().filter(|word| word.part == Part::Good);
        goods.into_iter().any(|good| self.row.slips.iter().any(|(_, meant)| *meant == good.word))
    }

    /// Whether the variant is called by all the words of which the good was read: a body with 'manches longues' is no top.
    fn is_said_by_variant(&self) -> bool {
        let goods: WordSet =
            self.row.words.iter().filter(|word| word.part == Part::Good).map(|word| word.word).collect();
        let family = self.family;
        let is_called =
            |word: Word| family.tails[self.tail].has(word) || family.goods.has(word) || family.name.has(word);
        !goods.is_empty() && goods.iter().all(is_called)
    }

    /// Whether an option that is called by the good is answered with no: 'Framing: none'.
    fn is_negated(&self) -> bool {
        let is_no = |word: &RowWord| NO.contains(&self.listing.words.text(word.word));
        self.row.naming.kind_from == KindFrom::Name && self.row.words.iter().any(is_no)
    }

    /// Whether the title has a word that only the product's name has: an 'enamel cup' may be a 'camp mug, enamel'.
    fn is_called_by_title(&self, made: Word) -> bool {
        let Self { listing, row, family, .. } = *self;
        let turned = row.product_type.and_then(|said| listing.turned(made, said));
        let is_telling = |word: &Word| {
            !family.goods.has(*word) && !listing.hues.is_hue(*word) && !listing.words.is_number(*word)
        };
        let mut words = family.product_words.iter().filter(is_telling);
        let is_said = |word: Word| row.words.iter().any(|own| own.word == word);
        turned.is_some() && words.any(|word| row.naming.titled.contains(&word) || is_said(word))
    }

    /// In what the offer contradicts one of the product's sizes.
    fn size(&self) -> Vec<Difference> {
        let Self { listing, row, family, size: made, .. } = *self;
        let fit = fit_size(row, family, listing.adult, listing.words);
        let by_reading = || {
            let text = |word: Option<Word>| word.map(|word| listing.words.text(word).to_owned());
            let said =
                Reading { age_group: text(row.age_group), size: text(row.size.read), ..Reading::default() };
            let key = &family.sizes[made];
            let made =
                Reading { age_group: text(key.age_group), size: text(key.size.read), ..Reading::default() };
            let mut differences = said.differences(&made);
            // 'Baby 3T' for a toddler's 3T.
            let age = |size: &Option<String>| size.as_ref()?.strip_suffix(['T', 'M', 'Y']).map(str::to_owned);
            if age(&said.size).is_some() && age(&said.size) == age(&made.size) {
                differences.retain(|difference| difference.kind != Kind::AgeGroup);
            }
            differences
        };
        let places = match &fit {
            Fit::One(place, _) => vec![*place],
            Fit::Several(places) => places.clone(),
            Fit::Free | Fit::NotMade => return by_reading(),
            Fit::Unsaid | Fit::Unclear => return Vec::new(),
        };
        if places.contains(&made) {
            return Vec::new();
        }
        let by_reading = by_reading();
        if !by_reading.is_empty() {
            return by_reading;
        }
        let names: BTreeSet<String> = places.iter().map(|place| listing.size_name(family, *place)).collect();
        let (wanted, sent) =
            (names.into_iter().collect::<Vec<_>>().join(" / "), listing.size_name(family, made));
        if wanted.is_empty() || sent.is_empty() || wanted == sent {
            return Vec::new();
        }
        vec![Difference { kind: Kind::Size, wanted, sent }]
    }

    /// Whether the offer contradicts one of the product's colours.
    fn colour(&self) -> Option<Difference> {
        let Self { listing, row, family, tail: made, .. } = *self;
        let is_other = !self.says_with_parts(made)
            && match fit_tail(row, family, listing.hues, listing.words) {
                Fit::One(place, _) => place != made,
                Fit::Several(places) => !places.contains(&made),
                Fit::Free | Fit::NotMade => self.is_another_hue(made),
                Fit::Unsaid | Fit::Unclear => false,
            };
        let (wanted, sent) = (listing.colour_text(row, family), listing.tail_name(family, made));
        (is_other && !wanted.is_empty() && !sent.is_empty() && wanted != sent).then_some(Difference {
            kind: Kind::Colour,
            wanted,
            sent,
        })
    }

    /// Whether the words of a colour are said, some of them of a part of the good: 'white, black inside'.
    fn says_with_parts(&self, made: usize) -> bool {
        let Self { row, family, .. } = *self;
        let of = |is_said: fn(&RowWord) -> bool| -> WordSet {
            row.words.iter().filter(|word| is_said(word)).map(|word| word.word).collect()
        };
        let tail = &family.tails[made];
        let parts = of(|word| word.part == Part::Piece);
        !tail.both(&parts).is_empty() && tail.is_within(&of(|_| true))
    }

    /// Whether the hues of two colours that share no word are known, and differ.
    fn is_another_hue(&self, made: usize) -> bool {
        let Self { listing, row, family, .. } = *self;
        let colours = row.words.iter().filter(|word| word.part.is_colour());
        let said: WordSet = colours.map(|word| word.word).collect();
        let made: WordSet = family.spelled[made].iter().copied().collect();
        said.both(&made).is_empty() && listing.hues.are_apart(&said, &made)
    }
}
