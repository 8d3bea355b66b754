//! Which SKU an offer has to bear, so that the link that the owner intends for it is in force.
//!
//! Asks the rules of [`crate::resolve`] what they would answer if the SKU stood there, so that what is sent is what the next
//! round finds. Must not know how a SKU is changed. Start reading at [`skus_for_intended`].

use std::collections::{BTreeMap, BTreeSet};

use model::book::{LinkScope, Offer, Variant};
use model::{Book, Sku, SupplierId, VariantId};

use crate::catalogue::Catalogue;
use crate::resolve::{Asked, From, Link, Links};

/// An offer for which the owner intends a link, and the SKU that it has to bear.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct IntendedSku {
    /// Its place in the table of offers.
    pub offer: usize,
    /// What the owner's link is for.
    pub scope: LinkScope,
    /// The SKU, or why there is none.
    pub sku: WantedSku,
}

/// Which SKU an offer has to bear.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum WantedSku {
    /// The one that it bears: the link is in force.
    AsItIs,
    /// This one, which it does not bear.
    Other(Sku),
    /// No SKU makes the link be in force, or none should now.
    No(NoSku),
}

/// Why a SKU is not to be changed for the sake of a link.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NoSku {
    /// The shop packs it itself: it needs none.
    OwnStock,
    /// The offer cannot be bought.
    OffSale,
    /// Several variants go into one unit, and a SKU names one.
    Set,
    /// So many of the variant go into one unit, and a SKU means one.
    Units(u32),
    /// No supplier has the variant.
    UnknownVariant(SupplierId, VariantId),
    /// The supplier does not make the variant now.
    NotAvailable(SupplierId, VariantId),
    /// Other variants bear the variant's SKU too, so that it leads nowhere: these, by supplier and id.
    Shared(Sku, Vec<(SupplierId, VariantId)>),
    /// Rows of the links table for this are asked before the SKU, or before the owner's link, and lead elsewhere.
    Outranked(LinkScope),
}

/// For each offer for which the owner intends a link, or says that the shop packs it itself, the SKU that it has to bear:
/// in the order of the offers. `Book::variants` counts as all there is.
pub fn skus_for_intended(book: &Book) -> Vec<IntendedSku> {
    let variants = book.variants.as_deref().unwrap_or_default();
    let borne: Vec<Option<Sku>> = variants.iter().map(borne).collect();
    let mut catalogue = Catalogue::of_table(variants, &[]);
    let links = Links::new(book.links.as_deref().unwrap_or_default(), &book.owner_links, &mut catalogue);
    // Of each scope of the owner's, whether a supplier's part of it is not in force yet, and whether there is one at all.
    let mut said: BTreeMap<&LinkScope, (bool, bool)> = BTreeMap::new();
    for row in &book.owner_links {
        let is_made = !row.supplier.is_own() && row.variant_id.is_some();
        let (is_intended, has_made) = said.entry(&row.scope).or_default();
        *is_intended |= is_made && !row.in_force;
        *has_made |= is_made;
    }
    said.retain(|_, (is_intended, has_made)| *is_intended || !*has_made);
    let all_said: BTreeSet<&LinkScope> = book.owner_links.iter().map(|row| &row.scope).collect();
    let world = Asking { variants, borne: &borne, catalogue: &catalogue, links: &links };
    let offers = book.offers.iter().flatten().enumerate();
    let wanted = offers.filter_map(|(place, offer)| {
        let scopes = [
            Some(LinkScope::Offer(offer.listing_id.clone(), offer.options.clone())),
            offer.sku.clone().map(LinkScope::Sku),
            Some(LinkScope::Listing(offer.listing_id.clone())),
        ];
        let scope = scopes.into_iter().flatten().find(|scope| all_said.contains(scope))?;
        if !said.contains_key(&scope) {
            return None;
        }
        let link = links.resolve(&catalogue, Asked::of_offer(offer));
        let sku = match link.from {
            From::Rows(from) if *from != scope => WantedSku::No(NoSku::Outranked(from.clone())),
            _ => world.wanted(offer, &link),
        };
        Some(IntendedSku { offer: place, scope, sku })
    });
    wanted.collect()
}

/// The SKU that a variant bears; its id counts as one where it has none.
fn borne(variant: &Variant) -> Option<Sku> {
    variant.sku.clone().or_else(|| Sku::new(variant.variant_id.as_str()))
}

struct Asking<'a, 'c> {
    variants: &'a [Variant],
    /// The SKU of each.
    borne: &'a [Option<Sku>],
    catalogue: &'c Catalogue<'a>,
    links: &'c Links<'a>,
}

impl<'a> Asking<'a, '_> {
    fn wanted(&self, offer: &'a Offer, link: &Link<'a>) -> WantedSku {
        let no = WantedSku::No;
        let made: Vec<_> = link.parts.iter().filter_map(|part| Some((part, part.variant?))).collect();
        let [(part, variant)] = made[..] else {
            return match &made[..] {
                [] => no(NoSku::OwnStock),
                _ if link.in_force => WantedSku::AsItIs,
                _ if !offer.buyable => no(NoSku::OffSale),
                _ => no(NoSku::Set),
            };
        };
        if link.is_linked() && link.in_force {
            return WantedSku::AsItIs;
        }
        if !offer.buyable {
            return no(NoSku::OffSale);
        }
        if part.units > 1 {
            return no(NoSku::Units(part.units));
        }
        let entry = self.catalogue.get(variant);
        let name = || (entry.supplier.clone(), entry.variant_id.clone());
        // The table's rows come first in the catalogue, in their order.
        let (Some(row), Some(sku)) = (entry.row, self.borne.get(variant).and_then(Option::as_ref)) else {
            let (supplier, variant_id) = name();
            return no(NoSku::UnknownVariant(supplier, variant_id));
        };
        if !row.available {
            let (supplier, variant_id) = name();
            return no(NoSku::NotAvailable(supplier, variant_id));
        }
        let bearing = self.variants.iter().zip(self.borne).enumerate();
        let others = bearing.filter(|(place, (_, other))| *place != variant && other.as_ref() == Some(sku));
        let mut others: Vec<_> =
            others.map(|(_, (row, _))| (row.supplier.clone(), row.variant_id.clone())).collect();
        if !others.is_empty() {
            others.sort();
            return no(NoSku::Shared(sku.clone(), others));
        }
        let asked = Asked { sku: Some(sku), ..Asked::of_offer(offer) };
        let would = self.links.resolve(self.catalogue, asked);
        if would.is_linked() && would.in_force && would.makes_the_same(link) {
            return WantedSku::Other(sku.clone());
        }
        let in_force = self.links.in_force(self.catalogue, asked);
        let rows = [&in_force, &would].into_iter().find_map(|link| match link.from {
            From::Rows(scope) if !link.makes_the_same_as_one(part) => Some(scope.clone()),
            _ => None,
        });
        no(NoSku::Outranked(rows.unwrap_or_else(|| LinkScope::Sku(sku.clone()))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::Options;
    use model::book::LinkRow;

    fn sku(text: &str) -> Sku {
        Sku::new(text).unwrap()
    }

    fn of(listing: &str) -> LinkScope {
        LinkScope::Offer(listing.into(), Options::new())
    }

    fn offer(listing: &str, bears: &str) -> Offer {
        Offer {
            listing_id: listing.into(),
            sku: Sku::new(bears),
            title: None,
            options: Options::new(),
            price: None,
            currency: None,
            buyable: true,
        }
    }

    fn variant(id: &str, bears: &str) -> Variant {
        Variant {
            supplier: "alder-print".into(),
            variant_id: id.into(),
            sku: Sku::new(bears),
            product: None,
            options: None,
            unit_cost: None,
            currency: None,
            available: id != "GONE",
        }
    }

    fn row(scope: LinkScope, variant: &str, units: u32, in_force: bool) -> LinkRow {
        let (supplier, variant_id) = match variant {
            "own" => ("own", None),
            id => ("alder-print", Some(id.into())),
        };
        LinkRow { scope, supplier: supplier.into(), variant_id, units, in_force }
    }

    fn book(offers: &[Offer], links: &[LinkRow], said: &[LinkRow]) -> Book {
        let variants =
            [("V1", "AP-1"), ("V2", "AP-2"), ("V3", ""), ("V4", "TWO"), ("V5", "two"), ("GONE", "AP-9")];
        Book {
            offers: Some(offers.to_vec()),
            variants: Some(variants.map(|(id, bears)| variant(id, bears)).to_vec()),
            links: Some(links.to_vec()),
            owner_links: said.to_vec(),
            ..Book::default()
        }
    }

    /// What is wanted of one offer of listing L1.
    fn wanted(bears: &str, links: &[LinkRow], said: &[LinkRow]) -> Option<WantedSku> {
        let all = skus_for_intended(&book(&[offer("L1", bears)], links, said));
        all.into_iter().next().map(|one| one.sku)
    }

    fn intended(variant: &str) -> LinkRow {
        row(of("L1"), variant, 1, false)
    }

    #[test]
    fn the_sku_is_the_variants_and_its_id_where_it_has_none() {
        for (variant, bears) in [("V1", "AP-1"), ("V3", "V3")] {
            for scope in [of("L1"), LinkScope::Listing("L1".into()), LinkScope::Sku(sku("OLD"))] {
                let said = [row(scope, variant, 1, false)];
                assert_eq!(wanted("OLD", &[], &said), Some(WantedSku::Other(sku(bears))), "{said:?}");
            }
        }
    }

    #[test]
    fn where_the_link_is_in_force_nothing_is_to_be_done() {
        assert_eq!(wanted(" ap-1 ", &[], &[intended("V1")]), Some(WantedSku::AsItIs));
        let seen = [row(of("L1"), "V1", 1, true)];
        assert_eq!(wanted("OLD", &seen, &[intended("V1")]), Some(WantedSku::AsItIs));
        // What the owner says is in force, and what nobody said anything of, is not asked about.
        assert_eq!(wanted("OLD", &[], &[row(of("L1"), "V1", 1, true)]), None);
        assert_eq!(wanted("OLD", &[], &[row(of("L2"), "V1", 1, false)]), None);
    }

    #[test]
    fn what_no_sku_can_say_is_said_with_its_reason() {
        let no = |said: &[LinkRow]| match wanted("OLD", &[], said) {
            Some(WantedSku::No(why)) => why,
            other => panic!("{other:?}"),
        };
        assert_eq!(no(&[intended("V1"), intended("V2")]), NoSku::Set);
        assert_eq!(no(&[row(of("L1"), "V1", 2, false)]), NoSku::Units(2));
        assert_eq!(no(&[row(of("L1"), "own", 1, true)]), NoSku::OwnStock);
        let named = |id: &str| ("alder-print".into(), id.into());
        let (supplier, id) = named("NEVER");
        assert_eq!(no(&[intended("NEVER")]), NoSku::UnknownVariant(supplier, id));
        let (supplier, id) = named("GONE");
        assert_eq!(no(&[intended("GONE")]), NoSku::NotAvailable(supplier, id));
        assert_eq!(no(&[intended("V4")]), NoSku::Shared(sku("TWO"), vec![named("V5")]));
        let mut off_sale = book(&[offer("L1", "OLD")], &[], &[intended("V1")]);
        off_sale.offers.as_mut().unwrap()[0].buyable = false;
        assert_eq!(skus_for_intended(&off_sale)[0].sku, WantedSku::No(NoSku::OffSale));
    }

    #[test]
    fn what_the_shop_adds_to_one_variant_does_not_make_it_a_set_for_a_supplier() {
        let said = [intended("V1"), row(of("L1"), "own", 1, true)];
        assert_eq!(wanted("OLD", &[], &said), Some(WantedSku::Other(sku("AP-1"))));
    }

    #[test]
    fn rows_that_are_asked_before_the_sku_or_before_the_owners_link_outrank_it() {
        let outranked = |scope| Some(WantedSku::No(NoSku::Outranked(scope)));
        // For the same offer, a source says otherwise, in force.
        let elsewhere = row(of("L1"), "V2", 1, true);
        assert_eq!(wanted("OLD", std::slice::from_ref(&elsewhere), &[intended("V1")]), outranked(of("L1")));
        // For the whole listing: it answers before a SKU that a variant bears.
        let whole = row(LinkScope::Listing("L1".into()), "V2", 1, true);
        assert_eq!(wanted("OLD", &[whole], &[intended("V1")]), outranked(LinkScope::Listing("L1".into())));
        // For the new SKU itself.
        let by_sku = row(LinkScope::Sku(sku("AP-1")), "V2", 1, true);
        assert_eq!(wanted("OLD", &[by_sku], &[intended("V1")]), outranked(LinkScope::Sku(sku("AP-1"))));
        // The owner's link is for the listing, and a source has said something of the offer.
        let said = [row(LinkScope::Listing("L1".into()), "V1", 1, false)];
        assert_eq!(wanted("OLD", &[elsewhere], &said), outranked(of("L1")));
    }

    #[test]
    fn a_link_of_the_owners_for_one_offer_stands_before_that_for_its_listing() {
        let said = [row(LinkScope::Listing("L1".into()), "V2", 1, false), intended("V1")];
        assert_eq!(wanted("OLD", &[], &said), Some(WantedSku::Other(sku("AP-1"))));
    }
}
