//! Proposes which variant each offer of a listing leads to.
//!
//! Owns the way from offers to proposals: the offers' goods and the suppliers' products in an optimal one-to-one
//! assignment, then size and colour inside. Nothing is guessed: what only the owner can tell is asked. Must not
//! know which links there are. Start reading at [`propose`].

mod assign;
pub(crate) mod assortment;
mod axes;
mod designs;
mod family;
mod fit;
mod goods;
mod heights;
mod held;
mod hues;
mod listing;
mod models;
mod row;
mod slips;
mod tidy;
mod told;
mod why;
mod words;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use foldhash::fast::RandomState;
use model::book::{ListingProduct, Offer, Variant};
use model::{Good, GoodRule, ListingId, Options, OrderId, SupplierId};

pub use held::hold;
pub use why::Why;

use crate::close::{CloseReading, read_closely, read_variant_closely};
use crate::read::remembered;
use crate::vocabulary::Vocabulary;
use family::{Family, families};
use hues::Hues;
use listing::Listing;
use row::Row;
use slips::Slips;
use tidy::tidied;
use words::{Word, Words};

/// What is to be linked, and what the owner has said.
#[derive(Clone, Copy, Debug)]
pub struct Tables<'a> {
    /// The storefront's offers, those of one listing in any places.
    pub offers: &'a [Offer],
    /// What the suppliers make.
    pub variants: &'a [Variant],
    /// Which supplier products a listing sells; a listing without a row may sell all.
    pub listing_products: &'a [ListingProduct],
    /// What the owner has answered before.
    pub rules: &'a [GoodRule],
    /// What the owner has ordered by hand for offers without a link.
    pub by_hand: &'a [ByHand],
}

/// A variant that the owner ordered by hand where an offer had no link.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ByHand {
    /// The place of the offer.
    pub offer: usize,
    /// The place of the variant.
    pub variant: usize,
    /// For which order.
    pub order_id: OrderId,
}

/// What is proposed for an offer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Proposal {
    /// The variant, or why there is none.
    pub answer: Answer,
    /// The good that the offer sells, as a rule names it.
    pub good: Good,
    /// Why, the most telling first.
    pub why: Vec<Why>,
}

/// The answer for an offer. Numbers are places in the table of variants.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Answer {
    /// This one variant.
    Proposed(usize),
    /// Only the owner can tell; those that can be meant, in the order of the table, as far as they could be found.
    Choose(Vec<usize>),
    /// No supplier makes it.
    Nothing,
}

/// Proposes a variant for every offer, in the order of the offers.
///
/// One unit of an offer is taken for one unit of its variant. The order of the tables does not matter. Never fails.
/// Source of the assignment: Kuhn (1955), see `assign`.
pub fn propose(vocabulary: &Vocabulary, tables: &Tables<'_>) -> Vec<Proposal> {
    let mut run = Run::of(vocabulary, tables);
    let mut listings: BTreeMap<&ListingId, Vec<usize>> = BTreeMap::new();
    for (index, offer) in tables.offers.iter().enumerate() {
        listings.entry(&offer.listing_id).or_default().push(index);
    }
    let mut answers: Vec<Option<Proposal>> = vec![None; tables.offers.len()];
    for (listing_id, offers) in listings {
        let rows = run.read_offers(tables, &offers);
        let picks = run.picks.get(listing_id);
        let families: Vec<usize> = match picks {
            Some(picks) => picks.families.iter().copied().collect(),
            None => (0..run.families.len()).collect(),
        };
        let narrowed: Vec<Option<Family>> = families
            .iter()
            .map(|family| picks.and_then(|picks| run.narrowed(picks, *family, tables.variants)))
            .collect();
        let families = families.iter().zip(&narrowed);
        let families =
            families.map(|(family, narrowed)| narrowed.as_ref().unwrap_or(&run.families[*family])).collect();
        let mut listing = run.listing(tables, &offers, rows, families);
        listing.is_picked = picks.is_some();
        listing.unknown_pick = picks
            .filter(|picks| picks.families.is_empty())
            .and_then(|picks| picks.products.first())
            .map(|(_, product)| *product);
        for (offer, proposal) in offers.iter().zip(listing.propose()) {
            answers[*offer] = Some(proposal);
        }
    }
    let mut proposals: Vec<Proposal> = answers.into_iter().flatten().collect();
    designs::doubt(&mut proposals, tables, &run.families);
    learn(&mut proposals, tables);
    proposals
}

/// What the owner did by hand is a proposal, where it was one thing and nothing that was read says another.
fn learn(proposals: &mut [Proposal], tables: &Tables<'_>) {
    let mut done: BTreeMap<usize, Vec<&ByHand>> = BTreeMap::new();
    for by_hand in tables.by_hand {
        done.entry(by_hand.offer).or_default().push(by_hand);
    }
    for (offer, done) in done {
        let Some((proposal, first)) = proposals.get_mut(offer).zip(done.first()) else { continue };
        let order_id = first.order_id.to_string();
        let proposed = if let Answer::Proposed(proposed) = proposal.answer { Some(proposed) } else { None };
        let variants: BTreeSet<usize> = done.iter().map(|by_hand| by_hand.variant).chain(proposed).collect();
        if let (Some(only), 1) = (variants.first(), variants.len()) {
            *proposal = Proposal {
                answer: Answer::Proposed(*only),
                why: vec![Why::ByHand(order_id)],
                good: std::mem::take(&mut proposal.good),
            };
            continue;
        }
        proposal.answer = Answer::Choose(variants.into_iter().collect());
        let why = if proposed.is_some() { Why::OtherByHand(order_id) } else { Why::SeveralByHand };
        proposal.why.insert(0, why);
    }
}

/// What all listings of a run share.
struct Run<'a> {
    vocabulary: &'a Vocabulary,
    words: Words,
    hues: Hues,
    slips: Slips<'a>,
    adult: Word,
    men_women: [Word; 2],
    families: Vec<Family>,
    /// How many pieces each variant says.
    pieces: Vec<Option<u32>>,
    /// The options of each variant without marks.
    tidy: Vec<Options>,
    picks: HashMap<&'a ListingId, Picks<'a>, RandomState>,
    /// Of the variants.
    rows: Vec<Row>,
    read: HashMap<(Options, Option<String>), Row, RandomState>,
}

/// What the owner has picked for a listing.
#[derive(Default)]
struct Picks<'a> {
    /// Suppliers and products.
    products: BTreeSet<(&'a SupplierId, &'a str)>,
    /// Where those stand that a table has.
    families: BTreeSet<usize>,
}

impl<'a> Run<'a> {
    fn of(vocabulary: &'a Vocabulary, tables: &Tables<'a>) -> Self {
        let mut words = Words::default();
        let mut by_product: HashMap<(&SupplierId, Option<&str>), Vec<usize>, RandomState> =
            HashMap::default();
        for (index, variant) in tables.variants.iter().enumerate() {
            by_product.entry((&variant.supplier, variant.product.as_deref())).or_default().push(index);
        }
        let mut tidy: Vec<Options> = vec![Options::new(); tables.variants.len()];
        for indices in by_product.values() {
            let none = Options::new();
            let options: Vec<&Options> = indices
                .iter()
                .map(|index| tables.variants[*index].options.as_ref().unwrap_or(&none))
                .collect();
            for (index, options) in indices.iter().zip(tidied(vocabulary, &options)) {
                tidy[*index] = options;
            }
        }
        let mut read: HashMap<(Option<&str>, &Options), Row, RandomState> = HashMap::default();
        let mut slips = Slips::of(vocabulary);
        let rows: Vec<Row> = tables
            .variants
            .iter()
            .zip(&tidy)
            .map(|(variant, options)| {
                let key = (variant.product.as_deref(), options);
                remembered(&mut read, key, || {
                    let close = read_variant_closely(vocabulary, key.0, Some(options));
                    let short = slips.written_out(&close, options);
                    let close = short
                        .map_or(close, |options| read_variant_closely(vocabulary, key.0, Some(&options)));
                    slips.take_variant(&close);
                    Row::of(&close, &mut words)
                })
            })
            .collect();
        let hues = Hues::of_vocabulary(vocabulary, &mut words);
        let families = families(tables.variants, &rows, &hues);
        let mut by_product: HashMap<_, Vec<usize>, RandomState> = HashMap::default();
        for (place, family) in families.iter().enumerate() {
            for made in &family.variants {
                let variant = &tables.variants[made.index];
                let places = by_product.entry((&variant.supplier, variant.product.as_deref())).or_default();
                if places.last() != Some(&place) {
                    places.push(place);
                }
            }
        }
        let mut picks: HashMap<&ListingId, Picks<'_>, RandomState> = HashMap::default();
        for pick in tables.listing_products {
            let places = by_product.get(&(&pick.supplier, Some(pick.product.as_str())));
            let picks = picks.entry(&pick.listing_id).or_default();
            picks.families.extend(places.into_iter().flatten());
            picks.products.insert((&pick.supplier, pick.product.as_str()));
        }
        let adult = words.take("adult");
        let men_women = ["men", "women"].map(|word| words.take(word));
        let pieces = rows.iter().map(|row| row.pieces).collect();
        Self {
            vocabulary,
            words,
            hues,
            slips,
            adult,
            men_women,
            families,
            pieces,
            tidy,
            picks,
            rows,
            read: HashMap::default(),
        }
    }

    /// The offers of one listing, read together.
    fn read_offers(&mut self, tables: &Tables<'_>, offers: &[usize]) -> Vec<Row> {
        let options: Vec<&Options> = offers.iter().map(|offer| &tables.offers[*offer].options).collect();
        let tidy = tidied(self.vocabulary, &options);
        let rows = offers.iter().zip(&tidy);
        rows.map(|(offer, options)| self.read_offer(options, tables.offers[*offer].title.as_deref()))
            .collect()
    }

    /// A listing for which the owner has picked nothing.
    fn listing<'r>(
        &'r self,
        tables: &Tables<'r>,
        offers: &[usize],
        rows: Vec<Row>,
        families: Vec<&'r Family>,
    ) -> Listing<'r> {
        Listing {
            vocabulary: self.vocabulary,
            rows,
            offers: offers.iter().map(|offer| &tables.offers[*offer]).collect(),
            families,
            is_picked: false,
            unknown_pick: None,
            pieces: &self.pieces,
            hues: &self.hues,
            adult: self.adult,
            men_women: self.men_women,
            words: &self.words,
            rules: tables.rules,
            variants: tables.variants,
        }
    }

    fn read_offer(&mut self, options: &Options, title: Option<&str>) -> Row {
        let Self { vocabulary, words, slips, read, .. } = self;
        let key = (options.clone(), title.map(str::to_owned));
        remembered(read, key, || {
            let close: CloseReading = read_closely(vocabulary, options, title);
            let mended = slips.mended(&close, options);
            let (mut close, mut found, mended) = match mended {
                Some(mended) => {
                    (read_closely(vocabulary, &mended.options, title), mended.slips, Some(mended.options))
                }
                None => (close, Vec::new(), None),
            };
            // A title is mended only where nothing says what it is.
            if close.reading.product_type.is_none()
                && let Some((title, slip)) = title.and_then(|title| slips.mended_title(title))
            {
                close = read_closely(vocabulary, mended.as_ref().unwrap_or(options), Some(&title));
                found.push(slip);
            }
            let mut row = Row::of(&close, words);
            let slips = found.iter();
            row.slips = slips.map(|(written, meant)| (words.take(written), words.take(meant))).collect();
            row
        })
    }

    /// A product of which only some names were picked.
    fn narrowed(&self, picks: &Picks<'_>, family: usize, variants: &[Variant]) -> Option<Family> {
        let is_picked = |index: usize| {
            let variant = &variants[index];
            let product = variant.product.as_deref();
            product.is_some_and(|product| picks.products.contains(&(&variant.supplier, product)))
        };
        self.families[family].narrowed(is_picked, &self.rows, &self.hues)
    }
}
