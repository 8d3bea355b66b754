//! Whether what is proposed bears the printed design that its listing sells.
//!
//! A supplier's table may have one product with several designs, told apart by their SKUs alone: then one of them may be
//! the only one in a size and colour, and still be another shop window's. Owns when that is in doubt. Must not know how a
//! variant was found. Start reading at [`doubt`].

use std::collections::{BTreeMap, BTreeSet, HashMap};

use foldhash::fast::RandomState;
use model::ListingId;
use model::book::Variant;
use model::text::fold;

use super::family::Family;
use super::{Answer, Proposal, Tables, Why};

/// Letters of the shortest word by which a design is told: what is shorter abbreviates anything.
const SHORTEST: usize = 4;

/// A product of which several variants are of one size and colour.
struct Mixed {
    /// For each variant the words of its SKU that say something of their own.
    words: BTreeMap<usize, BTreeSet<String>>,
    /// Words that stand in several colours: none of them names a colour.
    in_colours: BTreeSet<String>,
}

impl Mixed {
    /// `None` where every variant is the only one of its size and colour.
    fn of(family: &Family, variants: &[Variant]) -> Option<Self> {
        let mut cells: BTreeSet<(usize, usize)> = BTreeSet::new();
        let has_several = family.variants.iter().any(|made| !cells.insert((made.size, made.tail)));
        if !has_several {
            return None;
        }
        let said: Vec<(usize, usize, BTreeSet<String>)> = family
            .variants
            .iter()
            .map(|made| (made.index, made.tail, sku_words(&variants[made.index])))
            .collect();
        let mut tails: BTreeMap<&String, BTreeSet<usize>> = BTreeMap::new();
        let mut borne: BTreeMap<&String, usize> = BTreeMap::new();
        for (_, tail, words) in &said {
            for word in words {
                tails.entry(word).or_default().insert(*tail);
                *borne.entry(word).or_default() += 1;
            }
        }
        let common: BTreeSet<String> = borne
            .iter()
            .filter(|(_, count)| **count == family.variants.len())
            .map(|(word, _)| (*word).clone())
            .collect();
        let in_colours = tails.iter().filter(|(_, tails)| tails.len() > 1).map(|(word, _)| (*word).clone());
        let in_colours = in_colours.filter(|word| !common.contains(word)).collect();
        let words = said
            .into_iter()
            .map(|(index, _, words)| {
                (index, words.into_iter().filter(|word| !common.contains(word)).collect())
            })
            .collect();
        Some(Self { words, in_colours })
    }

    /// Whether a listing says the design of a variant: in its title or options, or by what another offer leads to.
    fn is_said(&self, variant: usize, listing: &OfListing) -> bool {
        let own = self.words.get(&variant);
        let own = || own.into_iter().flatten();
        own().any(|word| listing.words.contains(word))
            || own().filter(|word| self.in_colours.contains(*word)).any(|word| listing.linked.contains(word))
    }
}

/// What a listing says of designs.
#[derive(Default)]
struct OfListing {
    /// The words of its titles and of its options.
    words: BTreeSet<String>,
    /// The words of the SKUs of variants that its offers lead to.
    linked: BTreeSet<String>,
}

/// Leaves to the owner what may bear another design than the listing's.
pub(super) fn doubt(proposals: &mut [Proposal], tables: &Tables<'_>, families: &[Family]) {
    let mixed: Vec<Option<Mixed>> =
        families.iter().map(|family| Mixed::of(family, tables.variants)).collect();
    if mixed.iter().all(Option::is_none) {
        return;
    }
    let mut family_of: HashMap<usize, usize, RandomState> = HashMap::default();
    for (place, family) in families.iter().enumerate() {
        family_of.extend(family.variants.iter().map(|made| (made.index, place)));
    }
    let mut listings: BTreeMap<&ListingId, OfListing> = BTreeMap::new();
    let skus: HashMap<String, usize, RandomState> =
        tables.variants.iter().enumerate().map(|(place, variant)| (borne(variant), place)).collect();
    for offer in tables.offers {
        let of = listings.entry(&offer.listing_id).or_default();
        of.words.extend(words_of(offer.title.as_deref().unwrap_or_default()));
        of.words.extend(offer.options.iter().flat_map(|(_, value)| words_of(value)));
        let led_to = offer.sku.as_ref().and_then(|sku| skus.get(sku.folded()));
        of.linked.extend(led_to.into_iter().flat_map(|variant| sku_words(&tables.variants[*variant])));
    }
    for (offer, proposal) in tables.offers.iter().zip(proposals) {
        let Answer::Proposed(variant) = proposal.answer else { continue };
        let Some(mixed) = family_of.get(&variant).and_then(|place| mixed[*place].as_ref()) else { continue };
        let is_its_own =
            offer.sku.as_ref().is_some_and(|sku| sku.folded() == borne(&tables.variants[variant]));
        if is_its_own || mixed.is_said(variant, &listings[&offer.listing_id]) {
            continue;
        }
        let variant_row = &tables.variants[variant];
        let product = variant_row.product.clone().unwrap_or_else(|| variant_row.variant_id.to_string());
        proposal.why.insert(0, Why::SeveralDesigns { product, sku: sku_of(variant_row) });
        proposal.answer = Answer::Choose(vec![variant]);
    }
}

/// What leads to a variant: its SKU, else its id.
fn sku_of(variant: &Variant) -> String {
    variant.sku.as_ref().map_or_else(|| variant.variant_id.to_string(), ToString::to_string)
}

/// The same, as it is compared.
fn borne(variant: &Variant) -> String {
    variant.sku.as_ref().map_or_else(|| fold(variant.variant_id.as_str()), |sku| sku.folded().to_owned())
}

/// The words of a variant's SKU that its texts do not say.
fn sku_words(variant: &Variant) -> BTreeSet<String> {
    let product = variant.product.as_deref().unwrap_or_default();
    let values = variant.options.iter().flat_map(|options| options.iter().map(|(_, value)| value));
    let said: BTreeSet<String> = std::iter::once(product).chain(values).flat_map(words_of).collect();
    words_of(&sku_of(variant)).filter(|word| !said.contains(word)).collect()
}

/// The longer words of a text, folded.
fn words_of(text: &str) -> impl Iterator<Item = String> + use<> {
    let words: Vec<String> = fold(text)
        .split(|sign: char| !sign.is_alphabetic())
        .filter(|word| word.chars().count() >= SHORTEST)
        .map(str::to_owned)
        .collect();
    words.into_iter()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::propose::propose;
    use crate::vocabulary::Vocabulary;
    use model::book::Offer;
    use model::{Options, Sku};

    fn variant(id: &str, sku: &str, colour: &str) -> Variant {
        Variant {
            supplier: "alder-print".into(),
            variant_id: id.into(),
            sku: Sku::new(sku),
            product: Some("Apron".to_owned()),
            options: Options::from_pairs([("Colour", colour), ("Size", "L")]).ok(),
            unit_cost: None,
            currency: None,
            available: true,
        }
    }

    fn offer(listing: &str, title: &str, sku: &str, colour: &str) -> Offer {
        Offer {
            listing_id: listing.into(),
            sku: Sku::new(sku),
            title: Some(title.to_owned()),
            options: Options::from_pairs([("Colour", colour), ("Item", "Large apron")]).unwrap(),
            price: None,
            currency: None,
            buyable: true,
        }
    }

    /// The answers where an apron comes with two designs in moss, with one of them in mustard, with the other in navy.
    fn answers(offers: &[Offer], skus: [&str; 4]) -> Vec<Answer> {
        let colours = ["Moss", "Moss", "Mustard", "Navy"];
        let rows = skus.iter().zip(colours).enumerate();
        let variants: Vec<Variant> =
            rows.map(|(place, (sku, colour))| variant(&format!("V{place}"), sku, colour)).collect();
        let tables = Tables { offers, variants: &variants, listing_products: &[], rules: &[], by_hand: &[] };
        propose(&Vocabulary::built_in(), &tables).into_iter().map(|proposal| proposal.answer).collect()
    }

    const TOLD: [&str; 4] = [
        "al-curlew-apron-mos-l",
        "al-thistle-apron-mos-l",
        "al-curlew-apron-mus-l",
        "al-thistle-apron-nav-l",
    ];

    #[test]
    fn the_only_variant_of_a_colour_is_left_to_the_owner_where_it_may_bear_another_design() {
        let offers = [offer("L1", "Thistle apron", "", "Mustard"), offer("L1", "Thistle apron", "", "Navy")];
        assert_eq!(answers(&offers, TOLD), [Answer::Choose(vec![2]), Answer::Proposed(3)]);
        let untold = [offer("L1", "Kitchen gifts", "", "Navy")];
        assert_eq!(answers(&untold, TOLD), [Answer::Choose(vec![3])]);
        // SKUs that say nothing tell no design.
        assert_eq!(
            answers(&offers, ["1", "2", "3", "4"]),
            [Answer::Choose(vec![2]), Answer::Choose(vec![3])]
        );
    }

    #[test]
    fn what_another_offer_of_the_listing_leads_to_tells_its_design() {
        let offers = [
            offer("L1", "Kitchen gifts", "al-thistle-apron-mos-l", "Moss"),
            offer("L1", "Kitchen gifts", "", "Navy"),
            offer("L1", "Kitchen gifts", "", "Mustard"),
        ];
        let answers = answers(&offers, TOLD);
        assert_eq!(answers[1..], [Answer::Proposed(3), Answer::Choose(vec![2])]);
    }

    #[test]
    fn a_product_with_one_design_is_in_no_doubt() {
        let offers = [offer("L1", "Kitchen gifts", "", "Navy")];
        let variants = [
            variant("V1", "al-curlew-apron-nav-l", "Navy"),
            variant("V2", "al-curlew-apron-mus-l", "Mustard"),
        ];
        let tables =
            Tables { offers: &offers, variants: &variants, listing_products: &[], rules: &[], by_hand: &[] };
        let proposals = propose(&Vocabulary::built_in(), &tables);
        assert_eq!(proposals[0].answer, Answer::Proposed(0));
    }
}
