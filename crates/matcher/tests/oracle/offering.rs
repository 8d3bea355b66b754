//! The checks of the offers table.

use std::collections::{BTreeMap, BTreeSet};

use model::book::{LinkRow, LinkScope, Offer, Variant};
use model::reading::Reading;
use model::{Check, ListingId};
use rust_decimal::Decimal;

use super::linking::{self, Link, standing};
use super::reduced::Reduced;
use super::world::{Thing, World};

/// Everything that is to be said of the offers.
pub fn findings(world: &World<'_>) -> Vec<Reduced> {
    let Some(rows) = &world.book.offers else { return Vec::new() };
    let offers: Vec<Offered<'_>> = rows
        .iter()
        .zip(&world.facts.readings.offers)
        .map(|(offer, reading)| {
            let link =
                linking::link_of(world, Some(&offer.listing_id), Some(&offer.options), offer.sku.as_ref());
            Offered { offer, reading, link }
        })
        .collect();
    let mut findings = unlinked(&offers);
    findings.extend(mismatched(world, &offers));
    findings.extend(unusable(world, &offers));
    findings.extend(shared(&offers));
    findings.extend(loss_making(world, &offers));
    findings
}

struct Offered<'a> {
    offer: &'a Offer,
    reading: &'a Reading,
    link: Link,
}

impl Offered<'_> {
    fn about(&self, check: Check) -> Reduced {
        Reduced {
            listing_id: Some(self.offer.listing_id.clone()),
            options: vec![self.offer.options.clone()],
            ..Reduced::of(check)
        }
    }
}

fn of_listing(check: Check, listing: &ListingId, offers: &[&Offered<'_>]) -> Reduced {
    let mut options: Vec<_> = offers.iter().map(|offered| offered.offer.options.clone()).collect();
    options.sort();
    Reduced { listing_id: Some(listing.clone()), options, ..Reduced::of(check) }
}

/// 'An offer that can be bought has no link in force, or another than the intended one; one finding per
/// listing.'
fn unlinked(offers: &[Offered<'_>]) -> Vec<Reduced> {
    let mut by_listing: BTreeMap<&ListingId, Vec<&Offered<'_>>> = BTreeMap::new();
    for offered in offers.iter().filter(|offered| offered.offer.buyable) {
        if !matches!(offered.link, Link::To { in_force: true, .. }) {
            by_listing.entry(&offered.offer.listing_id).or_default().push(offered);
        }
    }
    by_listing
        .into_iter()
        .map(|(listing, offers)| of_listing(Check::OfferUnlinked, listing, &offers))
        .collect()
}

/// 'An offer's options and its variant's contradict each other in product type, size or colour, both sides
/// being readable'; of a set, 'where every part contradicts the offer'.
fn mismatched(world: &World<'_>, offers: &[Offered<'_>]) -> Vec<Reduced> {
    let contradicts = |offered: &&Offered<'_>| {
        let made = offered.link.made();
        !made.is_empty()
            && made.iter().all(|(thing, _)| offered.reading.contradicts(&world.reading_of(thing)))
    };
    offers.iter().filter(contradicts).map(|offered| offered.about(Check::LinkMismatch)).collect()
}

/// 'A link leads to a variant that is unknown or not available': 'every link of the table, whether it serves
/// an offer or not, and … SKUs of offers'.
fn unusable(world: &World<'_>, offers: &[Offered<'_>]) -> Vec<Reduced> {
    let Some(variants) = &world.book.variants else { return Vec::new() };
    let is_usable = |row: &LinkRow| {
        row.supplier.is_own()
            || find(variants, &(row.supplier.clone(), row.variant_id.clone().expect("a variant")))
                .is_some_and(|variant| variant.available)
    };
    let links = standing(world);
    let mut scopes: BTreeSet<LinkScope> =
        links.iter().filter(|row| !is_usable(row)).map(|row| row.scope.clone()).collect();
    // An offer that no row answers for is linked by its SKU.
    for Offered { offer, link, .. } in offers {
        let Some(sku) = &offer.sku else { continue };
        let answering = [
            LinkScope::Offer(offer.listing_id.clone(), offer.options.clone()),
            LinkScope::Sku(sku.clone()),
            LinkScope::Listing(offer.listing_id.clone()),
        ];
        let by_row = links.iter().any(|row| answering.contains(&row.scope));
        let is_gone = link
            .made()
            .iter()
            .any(|(thing, _)| find(variants, thing).is_some_and(|variant| !variant.available));
        if !by_row && is_gone {
            scopes.insert(LinkScope::Sku(sku.clone()));
        }
    }
    let about = |scope| match scope {
        LinkScope::Offer(listing, options) => {
            Reduced { listing_id: Some(listing), options: vec![options], ..Reduced::of(Check::LinkUnusable) }
        }
        LinkScope::Sku(sku) => Reduced { sku: Some(sku), ..Reduced::of(Check::LinkUnusable) },
        LinkScope::Listing(listing) => {
            Reduced { listing_id: Some(listing), ..Reduced::of(Check::LinkUnusable) }
        }
    };
    scopes.into_iter().map(about).collect()
}

/// 'Two offers of one listing lead to the same variant, though product type, size or colour, as read,
/// differ'; of sets, 'compares whole sets'.
fn shared(offers: &[Offered<'_>]) -> Vec<Reduced> {
    let mut leading: BTreeMap<(&ListingId, Vec<Thing>), Vec<&Offered<'_>>> = BTreeMap::new();
    for offered in offers.iter().filter(|offered| !offered.link.made().is_empty()) {
        let made: Vec<Thing> = offered.link.made().into_iter().map(|(thing, _)| thing).collect();
        leading.entry((&offered.offer.listing_id, made)).or_default().push(offered);
    }
    let mut findings = Vec::new();
    for ((listing, things), sharing) in leading {
        let differing: Vec<&Offered<'_>> = sharing
            .iter()
            .copied()
            .filter(|offered| sharing.iter().any(|other| offered.reading.contradicts(other.reading)))
            .collect();
        if !differing.is_empty() {
            let finding = of_listing(Check::SharedVariant, listing, &differing);
            findings.push(Reduced { variant: things.into_iter().next(), ..finding });
        }
    }
    findings
}

/// 'An offer's price is below its variants' cost plus the configured fees.' What is not known, or in another
/// currency, is not added up.
fn loss_making(world: &World<'_>, offers: &[Offered<'_>]) -> Vec<Reduced> {
    let Some(variants) = &world.book.variants else { return Vec::new() };
    let loses = |offered: &&Offered<'_>| -> Option<bool> {
        let price = offered.offer.price?;
        let currency = offered.offer.currency?;
        let made = offered.link.made();
        if made.is_empty() {
            return None;
        }
        let mut costs = Decimal::ZERO;
        for (thing, units) in made {
            let variant = find(variants, &thing)?;
            if variant.currency != Some(currency) {
                return None;
            }
            costs += variant.unit_cost? * Decimal::from(units);
        }
        let fees = &world.rules.fees;
        costs += price * fees.percent_of_price / Decimal::ONE_HUNDRED;
        costs += fees
            .per_unit
            .iter()
            .filter(|fee| fee.currency() == currency)
            .map(|fee| fee.amount())
            .sum::<Decimal>();
        Some(price < costs)
    };
    offers
        .iter()
        .filter(|offered| loses(offered) == Some(true))
        .map(|offered| offered.about(Check::LossMaking))
        .collect()
}

fn find<'a>(variants: &'a [Variant], (supplier, variant_id): &Thing) -> Option<&'a Variant> {
    variants.iter().find(|row| row.supplier == *supplier && row.variant_id == *variant_id)
}
