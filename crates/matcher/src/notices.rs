//! What is no finding, and that the owner should know to judge the answer.

use std::collections::BTreeSet;

use model::book::LinkScope;
use model::outcome::{Notice, Topic};
use model::{ListingId, Settled, Sku};

use crate::Whole;
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

/// Things that a notice counts and names the first few of, by their ids.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
struct Counted {
    count: u64,
    first: BTreeSet<Vec<String>>,
}

impl Counted {
    fn note<'i>(&mut self, ids: impl IntoIterator<Item = &'i str>) {
        self.count += 1;
        self.keep(ids.into_iter().map(str::to_owned).collect());
    }

    fn keep(&mut self, ids: Vec<String>) {
        self.first.insert(ids);
        if self.first.len() > IDS_SHOWN {
            self.first.pop_last();
        }
    }

    fn add(&mut self, other: Self) {
        self.count += other.count;
        other.first.into_iter().for_each(|ids| self.keep(ids));
    }

    /// The first few, each in words, and how many more.
    fn shown(&self, words: impl Fn(&[String]) -> String) -> String {
        let mut shown: Vec<String> = self.first.iter().map(|ids| words(ids)).collect();
        if self.count > shown.len() as u64 {
            shown.push(format!("{} more", self.count - shown.len() as u64));
        }
        shown.join(", ")
    }
}

/// What the notices count, of a part of a book.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub(crate) struct Tally {
    unknown_variants: Counted,
    replacements: u64,
    samples: u64,
    older_than_book: u64,
    orders_without_lines: Counted,
    submissions_without_lines: Counted,
    later_orders: u64,
    listings_outranking: BTreeSet<ListingId>,
    currencies_differ: u64,
    repeated_parts: u64,
}

impl Tally {
    /// Of orders and submissions.
    pub(crate) fn of_orders(world: &World<'_>) -> Self {
        let mut tally = Self {
            later_orders: (world.book.orders.len() - world.orders.len()) as u64,
            replacements: world.submissions.iter().filter(|view| view.is_replacement()).count() as u64,
            ..Self::default()
        };
        for line in &world.submission_lines {
            match unreferred(world, line) {
                Some(Unreferred::Sample) => tally.samples += 1,
                Some(Unreferred::OlderThanBook) => tally.older_than_book += 1,
                Some(Unreferred::Stray) | None => {}
            }
            if line.is_live && !line.is_replacement && line.variant.is_none() {
                let row = line.row;
                tally.unknown_variants.note([
                    row.supplier.as_str(),
                    row.submission_id.as_str(),
                    row.line_id.as_str(),
                ]);
            }
        }
        for order in &world.orders {
            if order.standing == Standing::Live && order.lines.is_empty() {
                tally.orders_without_lines.note([order.row.order_id.as_str()]);
            }
        }
        for view in &world.submissions {
            if world.book.knows_submissions() && view.row.status.is_live() && view.lines.is_empty() {
                let row = view.row;
                tally.submissions_without_lines.note([row.supplier.as_str(), row.submission_id.as_str()]);
            }
        }
        for line in &world.lines {
            tally.note_outranking(world, line.link.from, line.row.sku.as_ref());
        }
        tally
    }

    /// Of offers and links.
    pub(crate) fn of_offers(world: &World<'_>, offers: &[OfferView<'_>], not_compared: &NotCompared) -> Self {
        let mut tally = Self {
            currencies_differ: not_compared.currencies_differ,
            repeated_parts: world.links.repeated_parts,
            ..Self::default()
        };
        for offer in offers {
            tally.note_outranking(world, offer.link.from, offer.row.sku.as_ref());
        }
        tally
    }

    /// Of what the straight path counted.
    pub(crate) fn of_counted(listings_outranking: BTreeSet<ListingId>) -> Self {
        Self { listings_outranking, ..Self::default() }
    }

    /// Of what is closed.
    pub(crate) fn of_settled(settled: &Settled) -> Self {
        Self {
            replacements: settled.replacements,
            samples: settled.samples,
            older_than_book: settled.older_than_book,
            listings_outranking: settled.outranking.keys().cloned().collect(),
            ..Self::default()
        }
    }

    /// As sums alone; `None` where it names anything.
    pub(crate) fn sums(self) -> Option<Settled> {
        let Self { replacements, samples, older_than_book, .. } = self;
        let outranking = self.listings_outranking.iter().map(|listing| (listing.clone(), 1)).collect();
        let sums = Settled { replacements, samples, older_than_book, outranking, ..Settled::default() };
        (Self::of_settled(&sums) == self).then_some(sums)
    }

    pub(crate) fn add(&mut self, other: Self) {
        self.unknown_variants.add(other.unknown_variants);
        self.replacements += other.replacements;
        self.samples += other.samples;
        self.older_than_book += other.older_than_book;
        self.orders_without_lines.add(other.orders_without_lines);
        self.submissions_without_lines.add(other.submissions_without_lines);
        self.later_orders += other.later_orders;
        self.listings_outranking.extend(other.listings_outranking);
        self.currencies_differ += other.currencies_differ;
        self.repeated_parts += other.repeated_parts;
    }

    fn note_outranking(&mut self, world: &World<'_>, from: From<'_>, sku: Option<&Sku>) {
        if let (From::Rows(LinkScope::Listing(listing)), Some(sku)) = (from, sku)
            && world.catalogue.by_sku(sku) != BySku::Nothing
            && !self.listings_outranking.contains(listing)
        {
            self.listings_outranking.insert(listing.clone());
        }
    }
}

/// All notices that the matcher has to give, by topic.
pub(crate) fn notices(tally: &Tally, whole: &Whole, not_judged: u64) -> Vec<Notice> {
    let mut notices = Vec::new();
    let mut say = |topic, count: u64, text: &dyn Fn() -> String| {
        if count > 0 {
            notices.push(Notice { topic, count, text: text() });
        }
    };
    say(Topic::NotJudged, not_judged, &|| {
        format!(
            "orders about which nothing is said, since a row of theirs, or of an order sent together with them, was left out: {not_judged}"
        )
    });
    let unknown = &tally.unknown_variants;
    say(Topic::UnknownVariant, unknown.count, &|| {
        format!(
            "lines of supplier orders that count for nothing, since neither the supplier's number of the variant nor a SKU that one variant alone has says what they are: {} ({})",
            unknown.count,
            unknown.shown(|ids| ids.join(" line ").replacen(" line ", " ", 1))
        )
    });
    let replacements = tally.replacements;
    say(Topic::Replacement, replacements, &|| {
        format!("supplier orders that make something again, and count for nothing else: {replacements}")
    });
    let samples = tally.samples;
    say(Topic::Sample, samples, &|| format!("lines of supplier orders that are samples: {samples}"));
    let older = tally.older_than_book;
    say(Topic::OlderThanBook, older, &|| {
        format!(
            "lines of supplier orders older than the first order of the input, taken to be for earlier orders: {older}"
        )
    });
    // Nothing can be missing of an order that has no lines, and nothing can be said of it either.
    let orders = &tally.orders_without_lines;
    say(Topic::WithoutLines, orders.count, &|| {
        format!(
            "paid orders of which no line was given, so that nothing can be said of them: {} ({}); export the lines \
             of the same days",
            orders.count,
            orders.shown(|ids| ids.join(" "))
        )
    });
    let sent = &tally.submissions_without_lines;
    say(Topic::WithoutLines, sent.count, &|| {
        format!(
            "supplier orders of which no line was given, so that they count for nothing: {} ({}); look at them \
             before anything is ordered again",
            sent.count,
            sent.shown(|ids| ids.join(" "))
        )
    });
    let later = tally.later_orders;
    say(Topic::LaterOrder, later, &|| {
        format!("orders placed after the moment of this audit, of which nothing is said: {later}")
    });
    let before = whole.orders_before;
    let many = before >= MANY_ORDERS && before * MANY_ORDERS_PART >= whole.orders;
    say(Topic::DaysDiffer, if many && whole.knows_submissions { before } else { 0 }, &|| {
        format!(
            "orders placed before the first supplier order of the input was received: {before}; the exports may not cover the same days"
        )
    });
    let outranking = &tally.listings_outranking;
    say(Topic::ListingOutranksSku, outranking.len() as u64, &|| {
        let mut listings = Counted::default();
        outranking.iter().for_each(|listing| listings.note([listing.as_str()]));
        format!(
            "rows of the links table for a whole listing decide although the SKU leads to a variant of its own: {}",
            listings.shown(|ids| ids.join(" "))
        )
    });
    missing_tables(whole, &mut say);
    let unlike = tally.currencies_differ;
    say(Topic::CurrenciesDiffer, unlike, &|| {
        format!(
            "offers that could not be checked for a loss, since price, costs and fees are in different currencies: {unlike}"
        )
    });
    let repeated = tally.repeated_parts;
    say(Topic::RepeatedPart, repeated, &|| {
        format!(
            "parts of links of which two rows state different units: {repeated}; the larger number counts"
        )
    });
    notices.sort();
    notices
}

type Say<'s> = dyn FnMut(Topic, u64, &dyn Fn() -> String) + 's;

fn missing_tables(whole: &Whole, say: &mut Say<'_>) {
    if !whole.knows_submissions {
        say(Topic::MissingTable, 1, &|| {
            "no supplier orders with their lines were given: only what is linked to nothing can be named, not what was not sent".to_owned()
        });
    } else if !whole.knows_variants {
        say(Topic::MissingTable, 1, &|| {
            "no variants were given: the SKUs of the supplier orders stand in for them".to_owned()
        });
    }
    if !whole.knows_offers {
        say(Topic::MissingTable, 1, &|| {
            "no offers were given: nothing can be said about what is on sale".to_owned()
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_owner_reads_no_name_of_a_column() {
        let mut tally = Tally {
            replacements: 1,
            samples: 1,
            older_than_book: 1,
            later_orders: 1,
            listings_outranking: BTreeSet::from([ListingId::from("L-1")]),
            currencies_differ: 1,
            repeated_parts: 1,
            ..Tally::default()
        };
        tally.unknown_variants.note(["alder-print", "S-1", "1"]);
        tally.orders_without_lines.note(["KK-1"]);
        tally.submissions_without_lines.note(["alder-print", "S-2"]);
        let whole = Whole {
            first_placed: None,
            orders: 10,
            orders_before: 10,
            knows_submissions: false,
            knows_variants: false,
            knows_offers: false,
        };
        let notices = notices(&tally, &whole, 1);
        assert!(notices.iter().any(|notice| notice.topic == Topic::UnknownVariant));
        for notice in notices {
            assert!(!notice.text.contains('_'), "{}", notice.text);
        }
    }
}
