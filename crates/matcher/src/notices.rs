//! What is no finding, and that the owner should know to judge the answer.

use std::collections::BTreeSet;

use model::book::LinkScope;
use model::outcome::{Notice, Topic};

use crate::catalogue::BySku;
use crate::offers::{NotCompared, OfferView};
use crate::resolve::From;
use crate::sent::{Unreferred, unreferred};
use crate::world::{Standing, World};

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
    let unknown: Vec<String> = sent()
        .filter(|line| !line.is_replacement && line.variant.is_none())
        .map(|line| format!("{} {} line {}", line.row.supplier, line.row.submission_id, line.row.line_id))
        .collect();
    say(Topic::UnknownVariant, unknown.len() as u64, &|| {
        format!(
            "lines of supplier orders that count for nothing, since neither a variant_id nor a SKU that one variant alone bears says what they are: {} ({})",
            unknown.len(),
            some_of(&unknown)
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
    without_lines(world, &mut say);
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

/// Nothing can be missing of an order that has no lines, and nothing can be said of it either.
fn without_lines(world: &World<'_>, say: &mut Say<'_>) {
    let orders: Vec<String> = world
        .orders
        .iter()
        .filter(|order| order.standing == Standing::Live && order.lines.is_empty())
        .map(|order| order.row.order_id.to_string())
        .collect();
    say(Topic::WithoutLines, orders.len() as u64, &|| {
        format!(
            "paid orders of which no line was given, so that nothing can be said of them: {} ({}); export the lines \
             of the same days",
            orders.len(),
            some_of(&orders)
        )
    });
    let sent: Vec<String> = world
        .submissions
        .iter()
        .filter(|view| world.book.knows_submissions() && view.row.status.is_live() && view.lines.is_empty())
        .map(|view| format!("{} {}", view.row.supplier, view.row.submission_id))
        .collect();
    say(Topic::WithoutLines, sent.len() as u64, &|| {
        format!(
            "supplier orders of which no line was given, so that they count for nothing: {} ({}); look at them \
             before anything is ordered again",
            sent.len(),
            some_of(&sent)
        )
    });
}

/// The first few, and how many more.
fn some_of<T: AsRef<str>>(named: &[T]) -> String {
    let mut shown: Vec<&str> = named.iter().take(IDS_SHOWN).map(AsRef::as_ref).collect();
    let more = format!("{} more", named.len() - shown.len());
    if named.len() > shown.len() {
        shown.push(&more);
    }
    shown.join(", ")
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
    let listings: Vec<&str> = listings.into_iter().collect();
    say(Topic::ListingOutranksSku, listings.len() as u64, &|| {
        format!(
            "rows of the links table for a whole listing decide although the SKU leads to a variant of its own: {}",
            some_of(&listings)
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
