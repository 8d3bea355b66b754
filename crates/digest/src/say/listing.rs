//! What is said of listings and links: not linked, contradictory, unusable, shared, at a loss.
//!
//! Must not know orders. Each function says one check.

use model::Money;
use model::finding::{
    LossEvidence, MismatchEvidence, OfferOfListing, SharedEvidence, UnlinkedEvidence, Unusable,
    UnusableEvidence,
};
use model::reading::Kind;

use super::Account;
use crate::why::{PACKED_BY_THE_SHOP, Why, things_and_why};
use crate::words::{differing, in_brackets, listed, listing, offer, sku_name, variant};

/// `offer-unlinked`.
pub fn unlinked(unlinked: &UnlinkedEvidence) -> Account {
    let one = unlinked.offers.len() == 1;
    let whys: Vec<Why> = Why::groups(&unlinked.offers).into_iter().map(|(why, _)| why).collect();
    let repair = if let [why] = whys[..] { why.repair(one) } else { None };
    let todo = match repair {
        Some(repair) if one => format!("{repair} before it sells"),
        Some(repair) => format!("{repair} before they sell"),
        None => "put each of these links right before it sells".to_owned(),
    };
    Account {
        aside: whys.contains(&Why::NoLink).then_some(PACKED_BY_THE_SHOP),
        ..Account::new(
            listing(&unlinked.listing_id, unlinked.title.as_deref()),
            format!("customers can buy {}", things_and_why(&unlinked.offers)),
            todo,
        )
    }
}

/// `link-mismatch`.
pub fn mismatch(mismatch: &MismatchEvidence) -> Account {
    let variants = listed(&mismatch.variants, |mismatched| {
        format!("{}, which is {}", variant(&mismatched.variant), differing(&mismatched.differs))
    });
    Account::new(
        listing(&mismatch.listing_id, mismatch.title.as_deref()),
        format!("{} leads to {variants}", offer(&mismatch.offer)),
        "link it to the right variant before it sells",
    )
}

/// `link-unusable`.
pub fn unusable(unusable: &UnusableEvidence) -> Account {
    let options = unusable.options.as_ref().and_then(in_brackets);
    let subject = match (&unusable.listing_id, options, &unusable.sku) {
        (Some(listing_id), Some(options), _) => format!("link of {options} in listing {listing_id}"),
        (Some(listing_id), None, _) => format!("link of listing {listing_id}"),
        (None, _, Some(sku)) => format!("link of {}", sku_name(sku)),
        (None, _, None) => "link".to_owned(),
    };
    let gone = unusable.parts.iter().any(|part| part.why == Unusable::Unknown);
    let parts = listed(&unusable.parts, |part| {
        let why = match part.why {
            Unusable::Unknown => "does not have",
            Unusable::NotAvailable => "cannot supply now",
        };
        format!("{}, which {} {why}", part.variant_id, part.supplier)
    });
    let mut what = format!("it leads to {parts}");
    let buyable: Vec<_> = unusable.offers.iter().filter(|offered| offered.offer.buyable).collect();
    let is_the_links_own = |offered: &OfferOfListing| {
        Some(&offered.listing_id) == unusable.listing_id.as_ref()
            && Some(&offered.offer.options) == unusable.options.as_ref()
    };
    if buyable.iter().any(|offered| !is_the_links_own(offered)) {
        let offered = listed(&buyable, |offered| match in_brackets(&offered.offer.options) {
            Some(options) => format!("{options} of listing {}", offered.listing_id),
            None => format!("listing {}", offered.listing_id),
        });
        what += &format!(", while customers can buy {offered}");
    } else if !buyable.is_empty() {
        what += ", while customers can buy it";
    }
    let todo = if gone {
        "link a variant that can be had, before it sells"
    } else {
        "link another variant, or take it off sale until this one is back"
    };
    Account::new(subject, what, todo)
}

/// `shared-variant`.
pub fn shared(shared: &SharedEvidence) -> Account {
    let kinds: Vec<Kind> = Kind::ALL
        .into_iter()
        .filter(|kind| {
            let mut said = shared.offers.iter().filter_map(|sharing| sharing.reading.of(*kind));
            let first = said.next();
            said.any(|other| Some(other) != first)
        })
        .collect();
    let though = if kinds.is_empty() {
        "though they are different things".to_owned()
    } else {
        format!("though they differ in {}", listed(&kinds, |kind| kind.name().to_owned()))
    };
    let lead = if shared.offers.len() == 2 { "both lead" } else { "all lead" };
    let offers = listed(&shared.offers, |sharing| offer(&sharing.offer));
    Account::new(
        listing(&shared.listing_id, shared.title.as_deref()),
        format!("{offers} {lead} to {}, {though}", variant(&shared.variant)),
        "link each to the variant that it says",
    )
}

/// `loss-making`.
pub fn loss(loss: &LossEvidence) -> Account {
    let currency = loss.price.currency();
    let sum = |amounts: &[Money]| {
        let sum =
            amounts.iter().try_fold(Default::default(), |sum, money| money.amount().checked_add(sum))?;
        Some(Money::new(sum, currency))
    };
    let costs: Vec<Money> = loss.costs.iter().map(|part| part.cost).collect();
    let (goods, fees) = (sum(&costs), sum(&[loss.percent_fee, loss.unit_fee]));
    let mut what = format!("{} brings {} and costs more", offer(&loss.offer), loss.price);
    if let (Some(goods), Some(fees)) = (goods, fees) {
        what += &format!(": {goods} to make and {fees} in fees");
    }
    what += &format!(", a loss of {} on each", loss.loss);
    let subject = listing(&loss.listing_id, loss.title.as_deref());
    Account::new(subject, what, "raise its price, or have it made for less")
}
