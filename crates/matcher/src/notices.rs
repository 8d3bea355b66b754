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
            "nothing is said about {}, since a row of theirs, or of an order sent together with them, was left out",
            orders(not_judged)
        )
    });
    let unknown = sent().filter(|line| !line.is_replacement && line.variant.is_none()).count() as u64;
    say(Topic::UnknownVariant, unknown, &|| {
        format!(
            "{} of supplier orders say neither by variant_id nor by a SKU that one variant alone bears what they are; they count for nothing",
            lines(unknown)
        )
    });
    let replacements = world.submissions.iter().filter(|view| view.is_replacement()).count() as u64;
    say(Topic::Replacement, replacements, &|| {
        format!("{} make something again and count for nothing else", supplier_orders(replacements))
    });
    let samples = count(Unreferred::Sample);
    say(Topic::Sample, samples, &|| format!("{} of supplier orders are samples", lines(samples)));
    let older = count(Unreferred::OlderThanBook);
    say(Topic::OlderThanBook, older, &|| {
        format!(
            "{} of supplier orders are for no order of the input, and older than its first order: they are taken to be for earlier ones",
            lines(older)
        )
    });
    days_differ(world, &mut say);
    listing_outranks_sku(world, offers, &mut say);
    missing_tables(world, &mut say);
    say(Topic::CurrenciesDiffer, not_compared.currencies_differ, &|| {
        format!(
            "{} not be checked for a loss: price, costs and fees are in different currencies",
            if not_compared.currencies_differ == 1 {
                "1 offer could".to_owned()
            } else {
                format!("{} offers could", not_compared.currencies_differ)
            }
        )
    });
    say(Topic::RepeatedPart, world.links.repeated_parts, &|| {
        format!(
            "{} of the links table name a variant again that the same link has with other units; the larger number counts",
            rows(world.links.repeated_parts)
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
                "{} were placed before the first supplier order of the input was received: the exports may not cover the same days",
                orders(before)
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

fn counted(count: u64, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

fn orders(count: u64) -> String {
    counted(count, "order", "orders")
}

fn lines(count: u64) -> String {
    counted(count, "line", "lines")
}

fn rows(count: u64) -> String {
    counted(count, "row", "rows")
}

fn supplier_orders(count: u64) -> String {
    counted(count, "supplier order", "supplier orders")
}
