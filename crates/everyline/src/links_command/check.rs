//! `everyline links check`: what is wrong with the offers' links, listing by listing.
//!
//! Owns the order of the listings, what sells best first, and the grid in the terminal. Start reading at [`run`].

use std::collections::{BTreeMap, HashMap};
use std::fmt::Write;

use digest::{clean, jsonl, say};
use links::{Grid, grids};
use model::book::{Offer, OrderStatus};
use model::finding::{Evidence, UnlinkedOffer};
use model::{Book, Check, Finding, ListingId, Options, Reading};

use super::{Known, exit};
use crate::arguments::{CheckLinksArguments, ListFormat};
use crate::exit::Exit;
use crate::terminal::write_data;
use crate::trouble::Trouble;

/// What an offer's link is like; the worst of several is the greatest.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum State {
    NotOnSale,
    /// Nobody makes it when it is bought: the shop has it.
    OwnStock,
    Linked,
    LossMaking,
    Intended,
    Unusable,
    Contradictory,
    Unlinked,
}

impl State {
    /// The sign in a grid, as the help of the command lists it.
    fn sign(self) -> char {
        match self {
            Self::NotOnSale => '.',
            Self::OwnStock => 'o',
            Self::Linked => '+',
            Self::LossMaking => '$',
            Self::Intended => '~',
            Self::Unusable => '-',
            Self::Contradictory => 'x',
            Self::Unlinked => '!',
        }
    }
}

/// A listing, with what is wrong with it.
pub(super) struct Checked<'a> {
    pub(super) listing_id: &'a ListingId,
    pub(super) title: Option<&'a str>,
    pub(super) offers: Vec<(&'a Offer, &'a Reading)>,
    pub(super) findings: Vec<&'a Finding>,
    pub(super) states: HashMap<&'a Options, State>,
    /// Units sold of offers that cannot be sent, in the orders that were read.
    pub(super) sold_unlinked: u64,
    /// Units sold of all its offers.
    pub(super) sold: u64,
}

/// Checks the links.
///
/// # Errors
/// Where the tables, the configuration or the ledger cannot be used, or there are no offers or variants.
pub fn run(asked: &CheckLinksArguments) -> Result<Exit, Trouble> {
    let known = Known::read(&asked.of, "no link was checked")?;
    let findings = known.findings();
    let offers = known.book().offers.iter().flatten().zip(&known.facts().readings.offers);
    let mut listings = checked(offers, known.book(), &findings);
    listings.retain(|listing| {
        let is_shown = !asked.of.listings.is_empty() || !listing.findings.is_empty();
        is_shown && asked.of.wants(listing.listing_id)
    });
    let is_well = listings.iter().all(|listing| listing.findings.is_empty());
    let text = match asked.format {
        ListFormat::Jsonl => {
            let findings: Vec<Finding> = listings
                .iter()
                .flat_map(|listing| &listing.findings)
                .map(|finding| (*finding).clone())
                .collect();
            jsonl(&findings, known.zone).map(|line| line + "\n").collect()
        }
        ListFormat::Table => {
            mark_own_stock(&mut listings, known.book());
            page(&listings, &known)
        }
    };
    write_data(&text)?;
    Ok(exit(known.skipped, is_well))
}

/// Tells offers that the shop packs itself from those that somebody makes: both are linked, and nothing is wrong with either.
fn mark_own_stock(listings: &mut [Checked<'_>], book: &Book) {
    let offers = book.offers.as_deref().unwrap_or_default();
    let led = matcher::links_of_offers(book).into_iter().filter_map(|(place, _)| offers.get(place));
    let led: std::collections::HashSet<_> = led.map(|offer| (&offer.listing_id, &offer.options)).collect();
    for listing in listings {
        for (options, state) in &mut listing.states {
            if *state == State::Linked && !led.contains(&(listing.listing_id, *options)) {
                *state = State::OwnStock;
            }
        }
    }
}

/// All listings, those first whose offers without a link sold most, then those that sold most.
pub(super) fn checked<'a>(
    offers: impl Iterator<Item = (&'a Offer, &'a Reading)>,
    book: &'a Book,
    findings: &'a [Finding],
) -> Vec<Checked<'a>> {
    let sold = sold(book);
    let mut listings: BTreeMap<&ListingId, Checked<'_>> = BTreeMap::new();
    for (offer, reading) in offers {
        let listing = listings.entry(&offer.listing_id).or_insert_with(|| Checked {
            listing_id: &offer.listing_id,
            title: offer.title.as_deref(),
            offers: Vec::new(),
            findings: Vec::new(),
            states: HashMap::new(),
            sold_unlinked: 0,
            sold: 0,
        });
        let state = if offer.buyable { State::Linked } else { State::NotOnSale };
        listing.states.insert(&offer.options, state);
        listing.offers.push((offer, reading));
    }
    for finding in findings {
        for (listing_id, options, state) in touched(finding) {
            let Some(listing) = listings.get_mut(listing_id) else { continue };
            if listing.findings.last().is_none_or(|last| !std::ptr::eq(*last, finding)) {
                listing.findings.push(finding);
            }
            if let Some(there) = listing.states.get_mut(options) {
                *there = state.max(*there);
            }
        }
    }
    let mut listings: Vec<Checked<'_>> = listings.into_values().collect();
    for listing in &mut listings {
        let units = |options: &Options| sold.get(&(listing.listing_id, options)).copied().unwrap_or(0);
        let is_without = |state: State| matches!(state, State::Unlinked | State::Intended | State::Unusable);
        listing.sold = listing.offers.iter().map(|(offer, _)| units(&offer.options)).sum();
        let without = listing.states.iter().filter(|(_, state)| is_without(**state));
        listing.sold_unlinked = without.map(|(options, _)| units(options)).sum();
    }
    listings.sort_by(|one, other| {
        let key = |listing: &Checked<'_>| (listing.sold_unlinked, listing.sold, listing.findings.len());
        key(other).cmp(&key(one)).then_with(|| one.listing_id.cmp(other.listing_id))
    });
    listings
}

/// Units sold of each offer, in orders that were not cancelled.
pub(super) fn sold(book: &Book) -> HashMap<(&ListingId, &Options), u64> {
    let cancelled = book.orders.iter().filter(|order| order.status == OrderStatus::Cancelled);
    let cancelled: std::collections::HashSet<_> = cancelled.map(|order| &order.order_id).collect();
    let mut sold = HashMap::new();
    for line in book.order_lines.iter().filter(|line| !cancelled.contains(&line.order_id)) {
        if let (Some(listing_id), Some(options)) = (&line.listing_id, &line.options) {
            *sold.entry((listing_id, options)).or_insert(0) += u64::from(line.quantity);
        }
    }
    sold
}

/// The offers that a finding is about, and what it makes of them.
fn touched(finding: &Finding) -> Vec<(&ListingId, &Options, State)> {
    match &finding.evidence {
        Evidence::Unlinked(evidence) => {
            let state = |offer: &UnlinkedOffer| {
                if offer.intended.is_empty() { State::Unlinked } else { State::Intended }
            };
            let offers = evidence.offers.iter();
            offers.map(|offer| (&evidence.listing_id, &offer.offer.options, state(offer))).collect()
        }
        Evidence::Mismatch(evidence) => {
            vec![(&evidence.listing_id, &evidence.offer.options, State::Contradictory)]
        }
        Evidence::Shared(evidence) => {
            let offers = evidence.offers.iter();
            offers.map(|offer| (&evidence.listing_id, &offer.offer.options, State::Contradictory)).collect()
        }
        Evidence::Unusable(evidence) => {
            let offers = evidence.offers.iter();
            offers.map(|of| (&of.listing_id, &of.offer.options, State::Unusable)).collect()
        }
        Evidence::Loss(evidence) => vec![(&evidence.listing_id, &evidence.offer.options, State::LossMaking)],
        _ => Vec::new(),
    }
}

/// How many offers of the listings have no link at all, and how many one that is only intended.
fn open(findings: &[&Finding]) -> (usize, usize) {
    let unlinked = findings.iter().filter_map(|finding| match &finding.evidence {
        Evidence::Unlinked(evidence) => Some(&evidence.offers),
        _ => None,
    });
    let (intended, without): (Vec<_>, Vec<_>) =
        unlinked.flatten().partition(|offer| !offer.intended.is_empty());
    (without.len(), intended.len())
}

fn page(listings: &[Checked<'_>], known: &Known) -> String {
    let mut text = String::new();
    let mut counts: BTreeMap<Check, usize> = BTreeMap::new();
    let (mut without_all, mut intended_all) = (0, 0);
    for listing in listings {
        let title = clean(listing.title.unwrap_or_default());
        let _ = writeln!(text, "{}  {title}", clean(listing.listing_id.as_str()));
        if listing.sold > 0 {
            let (sold, without) = (listing.sold, listing.sold_unlinked);
            let _ = writeln!(text, "  sold in these orders: {sold}, of those without a link: {without}");
        }
        let (without, intended) = open(&listing.findings);
        without_all += without;
        intended_all += intended;
        if intended > 0 {
            let _ = writeln!(
                text,
                "  offers without a link: {without}; with one that you intend, not in force yet: {intended}"
            );
        }
        for finding in &listing.findings {
            *counts.entry(finding.check).or_default() += 1;
            let _ = writeln!(text, "  {}: {}", finding.check.word(), say(finding, known.zone));
        }
        let offers = listing.offers.iter().map(|(offer, reading)| {
            (*reading, listing.states.get(&offer.options).copied().unwrap_or(State::Linked))
        });
        for grid in grids(&known.vocabulary, offers) {
            text.push_str(&drawn(&grid));
        }
        text.push('\n');
    }
    let offers = known.book().offers.iter().flatten().count();
    if counts.is_empty() {
        let _ = writeln!(text, "{offers} offers were checked: nothing is wrong with their links.");
        return text;
    }
    let _ = writeln!(
        text,
        "+ linked   o your own stock   ~ intended   ! without a link   x contradictory   - leads nowhere   $ below cost   . not on sale"
    );
    let counts = counts.iter().map(|(check, count)| format!("{count} {}", check.word()));
    let counts = counts.collect::<Vec<_>>().join(", ");
    let _ = writeln!(text, "{offers} offers were checked; of {} listings: {counts}.", listings.len());
    if intended_all > 0 {
        let _ = writeln!(
            text,
            "Without a link are {without_all} offers; {intended_all} have one that you intend, not in force yet."
        );
    }
    if without_all > 0 {
        text.push_str("`everyline links propose` says which variant each of them could lead to.\n");
    }
    text
}

/// A grid as lines of text: a good's name, its sizes, and a line of signs for each colour.
fn drawn(grid: &Grid<State>) -> String {
    let name = |text: &str, otherwise: &str| -> String {
        clean(if text.is_empty() { otherwise } else { text }).into_owned()
    };
    let good = name(&grid.good, "not read");
    let colours: Vec<String> = grid.rows.iter().map(|(colour, _)| name(colour, "any colour")).collect();
    let first = colours
        .iter()
        .map(|colour| digest::text_width(colour))
        .chain([digest::text_width(&good)])
        .max()
        .unwrap_or(0);
    let sizes: Vec<String> = grid.sizes.iter().map(|size| name(size, "any size")).collect();
    let pad = |text: &str, width: usize| " ".repeat(width.saturating_sub(digest::text_width(text)));
    let mut text = format!("    {good}{}", pad(&good, first));
    for size in &sizes {
        let _ = write!(text, "  {size}");
    }
    text.push('\n');
    for (colour, (_, cells)) in colours.iter().zip(&grid.rows) {
        let _ = write!(text, "    {colour}{}", pad(colour, first));
        for (size, cell) in sizes.iter().zip(cells) {
            let sign = cell.map_or(' ', State::sign);
            let _ = write!(text, "  {sign}{}", pad("x", digest::text_width(size)));
        }
        text.truncate(text.trim_end().len());
        text.push('\n');
    }
    text
}
