//! The checks about the offer table and its links. They need the `offers` table.

use std::collections::{BTreeMap, BTreeSet};

use model::book::{LinkScope, Offer};
use model::finding::{
    Evidence, LossEvidence, MismatchEvidence, MismatchedVariant, NamedOffer, OfferOfListing, PartCost,
    SharedEvidence, SharingOffer, UnlinkedEvidence, UnlinkedOffer, Unusable, UnusableEvidence, UnusablePart,
};
use model::reading::{Difference, UNREAD};
use model::{Book, Check, Finding, ListingId, Money, Reading};
use rust_decimal::Decimal;

use crate::Facts;
use crate::catalogue::{Catalogue, Entry, VariantIndex};
use crate::raise::{Findings, blank};
use crate::resolve::{Asked, From, Link, LinkPart, Links};
use crate::world::World;

/// An offer with what it leads to.
pub(crate) struct OfferView<'a> {
    pub row: &'a Offer,
    /// Its place in the table.
    pub place: usize,
    pub reading: &'a Reading,
    /// In force or intended.
    pub link: Link<'a>,
}

impl OfferView<'_> {
    /// In what it contradicts a variant that it leads to.
    fn differences(&self, facts: Facts<'_>, variant: VariantIndex, reading: &Reading) -> Vec<Difference> {
        match &facts.readings.links {
            Some(held) => held.differences(self.place, variant).to_vec(),
            None => self.reading.differences(reading),
        }
    }

    fn named(&self) -> NamedOffer {
        NamedOffer { sku: self.row.sku.clone(), options: self.row.options.clone(), buyable: self.row.buyable }
    }
}

/// The links of a book's offers to variants that its table has: pairs of places in `offers` and in `variants`, in
/// the order of the offers. For those who hold what an offer says against what it leads to.
pub fn links_of_offers(book: &Book) -> Vec<(usize, usize)> {
    let variants = book.variants.as_deref().unwrap_or_default();
    let mut catalogue = Catalogue::of_table(variants, &[]);
    let links = Links::new(book.links.as_deref().unwrap_or_default(), &book.owner_links, &mut catalogue);
    let offers = book.offers.iter().flatten().enumerate();
    let linked = offers.flat_map(|(place, offer)| {
        let link = links.resolve(&catalogue, Asked::of_offer(offer));
        let parts = if link.is_linked() {
            link.parts.iter().filter_map(|part| part.variant).collect()
        } else {
            Vec::new()
        };
        // The table's rows come first in the catalogue, in their order.
        parts.into_iter().filter(|variant| *variant < variants.len()).map(move |variant| (place, variant))
    });
    linked.collect()
}

/// The offers of a book that say something of order lines whose link is only intended: for a part of the book that has none
/// by itself.
pub fn offers_of_intended(book: &Book) -> Vec<Offer> {
    let intended = || {
        let rows = book.links.iter().flatten().chain(&book.owner_links);
        rows.filter(|row| !row.in_force).map(|row| &row.scope)
    };
    // Which offers lines with a SKU were bought of is not known here.
    let any = intended().any(|scope| matches!(scope, LinkScope::Sku(_)));
    let listings: BTreeSet<&ListingId> = intended()
        .filter_map(|scope| match scope {
            LinkScope::Offer(listing, _) | LinkScope::Listing(listing) => Some(listing),
            LinkScope::Sku(_) => None,
        })
        .collect();
    book.offers
        .iter()
        .flatten()
        .filter(|offer| any || listings.contains(&offer.listing_id))
        .cloned()
        .collect()
}

/// What the offer checks could not compare.
#[derive(Default)]
pub(crate) struct NotCompared {
    /// Offers whose price and costs or fees are in different currencies.
    pub currencies_differ: u64,
}

/// All offers, by listing, then options, each resolved.
pub(crate) fn views<'a>(world: &World<'a>, facts: Facts<'a>) -> Vec<OfferView<'a>> {
    let readings = facts.readings.offers.iter().chain(std::iter::repeat(&UNREAD));
    let mut views: Vec<_> = world
        .book
        .offers
        .iter()
        .flatten()
        .zip(readings)
        .enumerate()
        .map(|(place, (row, reading))| OfferView {
            row,
            place,
            reading,
            link: world.links.resolve(&world.catalogue, Asked::of_offer(row)),
        })
        .collect();
    views.sort_by_key(|view| (&view.row.listing_id, &view.row.options));
    views
}

/// Raises every check about every offer.
pub(crate) fn check(
    world: &World<'_>,
    facts: Facts<'_>,
    offers: &[OfferView<'_>],
    findings: &mut Findings,
) -> NotCompared {
    let mut not_compared = NotCompared::default();
    for listing in offers.chunk_by(|a, b| a.row.listing_id == b.row.listing_id) {
        unlinked(world, listing, findings);
        shared(world, listing, findings);
    }
    for offer in offers {
        mismatch(world, facts, offer, findings);
        loss(world, offer, findings, &mut not_compared);
    }
    unusable(world, offers, findings);
    not_compared
}

/// The ids that name an offer: its listing, then each option's folded name and value.
fn subject<'s>(listing: &'s ListingId, options: &'s model::Options) -> Vec<&'s str> {
    let pairs = options.folded().flat_map(|(name, value)| [name, value]);
    std::iter::once(listing.as_str()).chain(pairs).collect()
}

/// `offer-unlinked`: a finding per listing.
fn unlinked(world: &World<'_>, listing: &[OfferView<'_>], findings: &mut Findings) {
    let offers: Vec<_> = listing
        .iter()
        .filter(|offer| offer.row.buyable)
        .filter_map(|offer| {
            if offer.link.is_linked() && offer.link.in_force {
                return None;
            }
            let in_force = world.links.in_force(&world.catalogue, Asked::of_offer(offer.row));
            Some(UnlinkedOffer {
                offer: offer.named(),
                reason: in_force.missing,
                in_force: in_force.named_parts(&world.catalogue),
                intended: if offer.link == in_force {
                    Vec::new()
                } else {
                    offer.link.named_parts(&world.catalogue)
                },
            })
        })
        .collect();
    let Some(first) = listing.first().filter(|_| !offers.is_empty()) else { return };
    let listing_id = &first.row.listing_id;
    let evidence = Evidence::Unlinked(UnlinkedEvidence {
        listing_id: listing_id.clone(),
        title: title(listing),
        offers,
    });
    let subject = [listing_id.as_str()];
    findings.add(&subject, blank(world, Check::OfferUnlinked, &subject, evidence));
}

fn title(listing: &[OfferView<'_>]) -> Option<String> {
    listing.iter().find_map(|offer| offer.row.title.clone())
}

/// `link-mismatch`: the offer contradicts its variant; of a set, every one of its variants.
fn mismatch(world: &World<'_>, facts: Facts<'_>, offer: &OfferView<'_>, findings: &mut Findings) {
    let variants: Vec<_> = if offer.link.is_linked() {
        offer.link.parts.iter().filter_map(|part| part.variant).collect()
    } else {
        Vec::new()
    };
    let contradicting: Vec<_> = variants
        .iter()
        .map(|variant| (*variant, world.catalogue.get(*variant).reading))
        .map(|(variant, reading)| (variant, reading, offer.differences(facts, variant, reading)))
        .filter(|(.., differs)| !differs.is_empty())
        .collect();
    if variants.is_empty() || contradicting.len() < variants.len() {
        return;
    }
    let evidence = Evidence::Mismatch(MismatchEvidence {
        listing_id: offer.row.listing_id.clone(),
        title: offer.row.title.clone(),
        offer: offer.named(),
        offer_reading: offer.reading.clone(),
        variants: contradicting
            .into_iter()
            .map(|(variant, reading, differs)| MismatchedVariant {
                variant: world.catalogue.named(variant),
                reading: reading.clone(),
                differs,
            })
            .collect(),
    });
    let subject = subject(&offer.row.listing_id, &offer.row.options);
    findings.add(&subject, blank(world, Check::LinkMismatch, &subject, evidence));
}

/// `link-unusable`: a finding per link of the table, and per SKU by which an offer leads to a variant.
fn unusable(world: &World<'_>, offers: &[OfferView<'_>], findings: &mut Findings) {
    if world.book.offers.is_none() {
        return;
    }
    let mut by_link: BTreeMap<From<'_>, (&[LinkPart<'_>], Vec<&OfferView<'_>>)> =
        world.links.rows().map(|(from, parts)| (from, (parts, Vec::new()))).collect();
    for offer in offers {
        by_link.entry(offer.link.from).or_insert((&offer.link.parts, Vec::new())).1.push(offer);
    }
    for (from, (parts, offers)) in by_link {
        let parts: Vec<_> = parts
            .iter()
            .filter_map(|part| {
                let variant = part.variant?;
                let entry = world.catalogue.get(variant);
                let why = why_unusable(world, variant, entry)?;
                Some(UnusablePart {
                    supplier: entry.supplier.clone(),
                    variant_id: entry.variant_id.clone(),
                    why,
                })
            })
            .collect();
        if parts.is_empty() {
            continue;
        }
        let (subject, listing_id, sku, options) = match from {
            From::Nothing => continue,
            From::Variant(sku) => (vec!["variant", sku.folded()], None, Some(sku.clone()), None),
            From::Rows(LinkScope::Sku(sku)) => (vec!["sku", sku.folded()], None, Some(sku.clone()), None),
            From::Rows(LinkScope::Listing(listing)) => {
                (vec!["listing", listing.as_str()], Some(listing.clone()), None, None)
            }
            From::Rows(LinkScope::Offer(listing, options)) => {
                let mut ids = vec!["offer"];
                ids.extend(subject(listing, options));
                (ids, Some(listing.clone()), None, Some(options.clone()))
            }
        };
        let evidence = Evidence::Unusable(UnusableEvidence {
            listing_id,
            sku,
            options,
            parts,
            offers: offers
                .iter()
                .map(|offer| OfferOfListing {
                    listing_id: offer.row.listing_id.clone(),
                    offer: offer.named(),
                })
                .collect(),
        });
        findings.add(&subject, blank(world, Check::LinkUnusable, &subject, evidence));
    }
}

fn why_unusable(world: &World<'_>, variant: VariantIndex, entry: &Entry<'_>) -> Option<Unusable> {
    if !world.catalogue.exists(variant) {
        return Some(Unusable::Unknown);
    }
    entry.row.is_some_and(|row| !row.available).then_some(Unusable::NotAvailable)
}

/// `shared-variant`: a finding per listing and variant. Of sets, only such as are the same as a whole: a box
/// that goes into every set is shared rightly.
fn shared(world: &World<'_>, listing: &[OfferView<'_>], findings: &mut Findings) {
    let mut by_parts: BTreeMap<Vec<VariantIndex>, Vec<&OfferView<'_>>> = BTreeMap::new();
    for offer in listing.iter().filter(|offer| offer.link.is_linked()) {
        let variants: Vec<_> = offer.link.parts.iter().filter_map(|part| part.variant).collect();
        if !variants.is_empty() {
            by_parts.entry(variants).or_default().push(offer);
        }
    }
    for (variants, offers) in by_parts {
        let differ =
            |offer: &&&OfferView<'_>| offers.iter().any(|other| offer.reading.contradicts(other.reading));
        let sharing: Vec<_> = offers.iter().filter(differ).collect();
        let (Some(variant), Some(first)) = (variants.first(), sharing.first()) else { continue };
        let named = world.catalogue.named(*variant);
        let listing_id = &first.row.listing_id;
        let mut ids = vec![listing_id.to_string()];
        for variant in &variants {
            let entry = world.catalogue.get(*variant);
            ids.extend([entry.supplier.to_string(), entry.variant_id.to_string()]);
        }
        let subject: Vec<&str> = ids.iter().map(String::as_str).collect();
        let evidence = Evidence::Shared(SharedEvidence {
            listing_id: listing_id.clone(),
            title: title(listing),
            variant: named,
            offers: sharing
                .iter()
                .map(|offer| SharingOffer { offer: offer.named(), reading: offer.reading.clone() })
                .collect(),
        });
        findings.add(&subject, blank(world, Check::SharedVariant, &subject, evidence));
    }
}

/// `loss-making`: price below costs and fees, all in one currency.
fn loss(world: &World<'_>, offer: &OfferView<'_>, findings: &mut Findings, not_compared: &mut NotCompared) {
    if let Some(evidence) = sum(world, offer, not_compared).filter(|sum| sum.loss.amount() > Decimal::ZERO) {
        let subject = subject(&offer.row.listing_id, &offer.row.options);
        let loss = evidence.loss;
        let finding = blank(world, Check::LossMaking, &subject, Evidence::Loss(evidence));
        findings.add(&subject, Finding { value_at_risk: Some(loss), ..finding });
    }
}

/// What an offer costs and brings; `None` where a price, a cost or a currency is not known, or they differ.
fn sum(world: &World<'_>, offer: &OfferView<'_>, not_compared: &mut NotCompared) -> Option<LossEvidence> {
    let variants: Vec<_> = offer.link.parts.iter().filter(|part| part.variant.is_some()).collect();
    if !offer.link.is_linked() || variants.is_empty() {
        return None;
    }
    let currency = offer.row.currency?;
    let price = Money::new(offer.row.price?, currency);
    let mut costs = Vec::new();
    let mut currencies_differ = false;
    for (part, named) in variants
        .iter()
        .zip(offer.link.named_parts(&world.catalogue).into_iter().filter(|part| part.variant_id.is_some()))
    {
        let row = world.catalogue.get(part.variant?).row?;
        let unit_cost = row.unit_cost?;
        currencies_differ |= row.currency? != currency;
        costs.push(PartCost {
            part: named,
            unit_cost: Money::new(unit_cost, row.currency?),
            cost: Money::new(unit_cost.checked_mul(Decimal::from(part.units))?, row.currency?),
        });
    }
    let fees = &world.rules.fees;
    let unit_fee = fees.per_unit.iter().find(|fee| fee.currency() == currency);
    currencies_differ |= unit_fee.is_none() && !fees.per_unit.is_empty();
    if currencies_differ {
        not_compared.currencies_differ += 1;
        return None;
    }
    let percent_fee = price.amount().checked_mul(fees.percent_of_price)?.checked_div(Decimal::ONE_HUNDRED)?;
    let unit_fee = unit_fee.map_or(Decimal::ZERO, |fee| fee.amount());
    let total = costs
        .iter()
        .try_fold(percent_fee.checked_add(unit_fee)?, |sum, part| sum.checked_add(part.cost.amount()))?;
    Some(LossEvidence {
        listing_id: offer.row.listing_id.clone(),
        title: offer.row.title.clone(),
        offer: offer.named(),
        price,
        costs,
        percent_fee: Money::new(percent_fee, currency),
        unit_fee: Money::new(unit_fee, currency),
        loss: Money::new(total - price.amount(), currency),
    })
}
