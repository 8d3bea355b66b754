//! What is no finding, and that the owner should know to judge the answer.

use std::collections::BTreeSet;

use model::book::LinkScope;
use model::outcome::{Notice, Topic};

use crate::catalogue::BySku;
use crate::offers::{NotCompared, OfferView};
use crate::resolve::From;
use crate::sent::{Unreferred, unreferred};
use crate::world::World;

/// Orders older than the first submission are worth a notice from this share of all orders on: fewer may well
/// be orders that nobody sent, and those are named one by one.
const MANY_ORDERS_PART: u64 = 10;
/// And from this number on.
const MANY_ORDERS: u64 = 5;
/// So many ids stand in a notice; the rest is a number.
const IDS_SHOWN: usize = 5;

/// All notices that the matcher has to give, by topic.
pub(crate) fn notices(
    world: &World<'_>,
    offers: &[OfferView<'_>],
    not_compared: &NotCompared,
    not_judged: u64,
) -> Vec<Notice> {
    let mut notices = Vec::new();
    let mut say = |topic, count: u64, text: &dyn Fn() -> String| {
        if count > 0 {
            notices.push(Notice { topic, count, text: text() });
        }
    };
    let sent = || world.submission_lines.iter().filter(|line| line.is_live);
    let count = |what: Unreferred| {
        world.submission_lines.iter().filter(|line| unreferred(world, line) == Some(what)).count() as u64
    };

    say(Topic::NotJudged, not_judged, &|| {
        format!(
            "orders about which nothing is said, since a row of theirs, or of an order sent together with them, was left out: {not_judged}"
        )
    });
    let unknown = sent().filter(|line| !line.is_replacement && line.variant.is_none()).count() as u64;
    say(Topic::UnknownVariant, unknown, &|| {
        format!(
            "lines of supplier orders that count for nothing, since neither a variant_id nor a SKU that one variant alone bears says what they are: {unknown}"
        )
    });
    let replacements = world.submissions.iter().filter(|view| view.is_replacement()).count() as u64;
    say(Topic::Replacement, replacements, &|| {
        format!("supplier orders that make something again, and count for nothing else: {replacements}")
    });
    let samples = count(Unreferred::Sample);
    say(Topic::Sample, samples, &|| format!("lines of supplier orders that are samples: {samples}"));
    let older = count(Unreferred::OlderThanBook);
    say(Topic::OlderThanBook, older, &|| {
        format!(
            "lines of supplier orders older than the first order of the input, taken to be for earlier orders: {older}"
        )
    });
    let later = (world.book.orders.len() - world.orders.len()) as u64;
    say(Topic::LaterOrder, later, &|| {
        format!("orders placed after the moment of this audit, of which nothing is said: {later}")
    });
    days_differ(world, &mut say);
    listing_outranks_sku(world, offers, &mut say);
    missing_tables(world, &mut say);
    let unlike = not_compared.currencies_differ;
    say(Topic::CurrenciesDiffer, unlike, &|| {
        format!(
            "offers that could not be checked for a loss, since price, costs and fees are in different currencies: {unlike}"
        )
    });
    let repeated = world.links.repeated_parts;
    say(Topic::RepeatedPart, repeated, &|| {
        format!(
            "parts of links of which two rows state different units: {repeated}; the larger number counts"
        )
    });
    notices.sort();
    notices
}

type Say<'s> = dyn FnMut(Topic, u64, &dyn Fn() -> String) + 's;

fn days_differ(world: &World<'_>, say: &mut Say<'_>) {
    let received = world.book.submissions.iter().flatten().map(|row| row.received_at.begins());
    let Some(first) = received.min().filter(|_| world.book.knows_submissions()) else { return };
    let placed = || world.book.orders.iter().map(|order| order.placed_at.begins());
    let before = placed().filter(|placed| *placed < first).count() as u64;
    if before >= MANY_ORDERS && before * MANY_ORDERS_PART >= placed().count() as u64 {
        say(Topic::DaysDiffer, before, &|| {
            format!(
                "orders placed before the first supplier order of the input was received: {before}; the exports may not cover the same days"
            )
        });
    }
}

fn listing_outranks_sku(world: &World<'_>, offers: &[OfferView<'_>], say: &mut Say<'_>) {
    let of_lines = world.lines.iter().map(|line| (line.link.from, line.row.sku.as_ref()));
    let of_offers = offers.iter().map(|offer| (offer.link.from, offer.row.sku.as_ref()));
    let listings: BTreeSet<_> = of_lines
        .chain(of_offers)
        .filter_map(|(from, sku)| match (from, sku) {
            (From::Rows(LinkScope::Listing(listing)), Some(sku))
                if world.catalogue.by_sku(sku) != BySku::Nothing =>
            {
                Some(listing.as_str())
            }
            _ => None,
        })
        .collect();
    say(Topic::ListingOutranksSku, listings.len() as u64, &|| {
        let mut shown: Vec<&str> = listings.iter().take(IDS_SHOWN).copied().collect();
        let rest = format!("{} more", listings.len() - shown.len());
        if listings.len() > shown.len() {
            shown.push(&rest);
        }
        format!(
            "rows of the links table for a whole listing decide although the SKU leads to a variant of its own: {}",
            shown.join(", ")
        )
    });
}

fn missing_tables(world: &World<'_>, say: &mut Say<'_>) {
    if !world.book.knows_submissions() {
        say(Topic::MissingTable, 1, &|| {
            "no supplier orders with their lines were given: only what is linked to nothing can be named, not what was not sent".to_owned()
        });
    } else if world.book.variants.is_none() {
        say(Topic::MissingTable, 1, &|| {
            "no variants were given: the SKUs of the supplier orders stand in for them".to_owned()
        });
    }
    if world.book.offers.is_none() {
        say(Topic::MissingTable, 1, &|| {
            "no offers were given: nothing can be said about what is on sale".to_owned()
        });
    }
}
