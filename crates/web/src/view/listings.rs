//! Listings, and where each of their offers leads.
//!
//! Must not know how a link is judged or proposed. Start reading at [`Listings`], which lists them, and [`Listing`], which is one
//! of them as grids.

use model::{Check, ListingId};
use schemars::JsonSchema;
use serde::Serialize;

use super::order::Proposal;
use super::words::{Moment, Words};

/// Listings on a page of the list.
pub const LISTINGS_PER_PAGE: u64 = 50;

/// What an offer's link is like; the later, the worse.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LinkState {
    /// Customers cannot buy it now: it need not lead anywhere.
    NotOnSale,
    /// It leads to what it says.
    Linked,
    /// It does, and costs more than it brings.
    BelowCost,
    /// The owner has said where it is to lead; that is not in force yet.
    Intended,
    /// It leads to something that the supplier does not have, or cannot make now.
    LeadsNowhere,
    /// It leads to something else than it says.
    Contradictory,
    /// It leads nowhere.
    Unlinked,
}

impl LinkState {
    /// All, the worst first.
    pub const ALL: [Self; 7] = [
        Self::Unlinked,
        Self::Contradictory,
        Self::LeadsNowhere,
        Self::Intended,
        Self::BelowCost,
        Self::Linked,
        Self::NotOnSale,
    ];

    /// As programs say it.
    pub fn word(self) -> &'static str {
        match self {
            Self::NotOnSale => "not-on-sale",
            Self::Linked => "linked",
            Self::BelowCost => "below-cost",
            Self::Intended => "intended",
            Self::LeadsNowhere => "leads-nowhere",
            Self::Contradictory => "contradictory",
            Self::Unlinked => "unlinked",
        }
    }

    /// As it stands under its shape in a grid.
    pub fn name(self) -> &'static str {
        match self {
            Self::NotOnSale => "off sale",
            Self::Linked => "linked",
            Self::BelowCost => "at a loss",
            Self::Intended => "intended",
            Self::LeadsNowhere => "dead end",
            Self::Contradictory => "other item",
            Self::Unlinked => "no link",
        }
    }

    /// What it means, in a sentence.
    pub fn means(self) -> &'static str {
        match self {
            Self::NotOnSale => "Customers cannot buy it now.",
            Self::Linked => "It is made as it says.",
            Self::BelowCost => "It is made as it says, and costs more than it brings.",
            Self::Intended => {
                "You have said where it is to lead. Once it is sent, and the storefront read again, it is in force."
            }
            Self::LeadsNowhere => {
                "It leads to something that the supplier does not have, or cannot make now."
            }
            Self::Contradictory => "It leads to something else than it says.",
            Self::Unlinked => "Nobody makes it when it is bought.",
        }
    }
}

/// How many offers are in which state.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, JsonSchema)]
pub struct LinkTally {
    /// All of them.
    pub offers: u64,
    /// Those that lead to what they say.
    pub linked: u64,
    /// Those whose link is intended.
    pub intended: u64,
    /// Those that lead nowhere.
    pub unlinked: u64,
    /// Those that lead to something else than they say.
    pub contradictory: u64,
    /// Those that lead to something that cannot be had.
    pub leads_nowhere: u64,
    /// Those that cost more than they bring.
    pub below_cost: u64,
    /// Those that cannot be bought now.
    pub not_on_sale: u64,
}

impl LinkTally {
    /// Counts an offer.
    pub fn add(&mut self, state: LinkState) {
        self.offers += 1;
        *self.of_mut(state) += 1;
    }

    /// Counts all that another counted.
    pub fn add_all(&mut self, other: &Self) {
        self.offers += other.offers;
        for state in LinkState::ALL {
            *self.of_mut(state) += other.of(state);
        }
    }

    /// How many are in a state.
    pub fn of(&self, state: LinkState) -> u64 {
        match state {
            LinkState::NotOnSale => self.not_on_sale,
            LinkState::Linked => self.linked,
            LinkState::BelowCost => self.below_cost,
            LinkState::Intended => self.intended,
            LinkState::LeadsNowhere => self.leads_nowhere,
            LinkState::Contradictory => self.contradictory,
            LinkState::Unlinked => self.unlinked,
        }
    }

    fn of_mut(&mut self, state: LinkState) -> &mut u64 {
        match state {
            LinkState::NotOnSale => &mut self.not_on_sale,
            LinkState::Linked => &mut self.linked,
            LinkState::BelowCost => &mut self.below_cost,
            LinkState::Intended => &mut self.intended,
            LinkState::LeadsNowhere => &mut self.leads_nowhere,
            LinkState::Contradictory => &mut self.contradictory,
            LinkState::Unlinked => &mut self.unlinked,
        }
    }
}

/// All listings of a shop, as the desk hands them out.
#[derive(Clone, PartialEq, Debug)]
pub struct Shelf {
    /// For which moment the links were judged.
    pub as_of: Moment,
    /// What is not known of them.
    pub doubt: Option<Words>,
    /// Those first that are to be looked at first.
    pub listings: Vec<ListingInShort>,
}

/// A page of the list.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Listings {
    /// Whose they are.
    pub shop: String,
    /// For which moment the links were judged.
    pub as_of: Moment,
    /// What is not known of them.
    pub doubt: Option<Words>,
    /// Of all listings, not of this page's alone.
    pub tally: LinkTally,
    /// Listings of this page: those first whose offers without a link sold most, then those that sold most.
    pub listings: Vec<ListingInShort>,
    /// The number of the first of them; counted from 1.
    pub first: u64,
    /// How many there are on all pages.
    pub in_all: u64,
    /// Which page it is.
    pub page: u64,
    /// How many there are; at least one.
    pub pages: u64,
}

/// A listing in a line.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct ListingInShort {
    /// Its id.
    pub listing_id: ListingId,
    /// What it is called.
    pub title: Words,
    /// The address of its page.
    pub page: String,
    /// Units sold of it, in the orders that were read and not cancelled.
    pub sold: u64,
    /// Of these, units of offers that have no link in force.
    pub sold_without: u64,
    /// Its offers.
    pub tally: LinkTally,
}

/// The page of the list that is asked for; one that is not there is the last.
pub fn listings(shop: &str, shelf: &Shelf, page: u64) -> Listings {
    let in_all = shelf.listings.len() as u64;
    let pages = in_all.div_ceil(LISTINGS_PER_PAGE).max(1);
    let page = page.clamp(1, pages);
    let before = (page - 1) * LISTINGS_PER_PAGE;
    let of_page = shelf.listings.iter().skip(usize::try_from(before).unwrap_or(usize::MAX));
    let of_page = of_page.take(usize::try_from(LISTINGS_PER_PAGE).unwrap_or(usize::MAX));
    let mut tally = LinkTally::default();
    for listing in &shelf.listings {
        tally.add_all(&listing.tally);
    }
    Listings {
        shop: shop.to_owned(),
        as_of: shelf.as_of.clone(),
        doubt: shelf.doubt.clone(),
        tally,
        listings: of_page.cloned().collect(),
        first: before + 1,
        in_all,
        page,
        pages,
    }
}

/// A listing with all its offers.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Listing {
    /// Whose it is.
    pub shop: String,
    /// Its id.
    pub listing_id: ListingId,
    /// What it is called.
    pub title: Words,
    /// For which moment its links were judged.
    pub as_of: Moment,
    /// What is not known of it.
    pub doubt: Option<Words>,
    /// Units sold of it, in the orders that were read and not cancelled.
    pub sold: u64,
    /// Of these, units of offers that have no link in force.
    pub sold_without: u64,
    /// Its offers, counted.
    pub tally: LinkTally,
    /// What is wrong with its links.
    pub findings: Vec<ListingFinding>,
    /// A grid for each good that it sells.
    pub grids: Vec<GoodGrid>,
    /// Its offers, the worst first.
    pub offers: Vec<OfferLink>,
    /// How many it has; more than are listed where there are very many.
    pub offers_in_all: u64,
    /// What is proposed for its offers without a link, and could be accepted at once; null where nothing is.
    pub proposed: Option<Proposed>,
    /// The last change of its links that was made here and stands; null where there is none.
    pub last_change: Option<LinkChange>,
    /// How what is intended is brought into force; null where nothing is intended.
    pub sending: Option<Sending>,
}

/// What is wrong with links of a listing.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct ListingFinding {
    /// The check that found it.
    pub check: Check,
    /// What it found.
    pub words: Words,
}

/// One good of a listing: colours down, sizes across.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct GoodGrid {
    /// What kind of good; null where that could not be read.
    pub good: Option<Words>,
    /// Across, from small to large; null where no size could be read.
    pub sizes: Vec<Option<Words>>,
    /// Down, by name.
    pub rows: Vec<GridRow>,
}

/// One colour of a good.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct GridRow {
    /// The colour; null where none could be read.
    pub colour: Option<Words>,
    /// One for each size; null where there is no such offer.
    pub cells: Vec<Option<GridCell>>,
}

/// What stands for one size and colour.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct GridCell {
    /// The worst of its offers' states.
    pub state: LinkState,
    /// The keys of its offers.
    pub offers: Vec<String>,
    /// What they are and where they lead, in short.
    pub words: Words,
}

/// An offer, and where it leads.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct OfferLink {
    /// Tells it from the other offers.
    pub key: String,
    /// What the customer chooses.
    pub options: Words,
    /// Its SKU.
    pub sku: Option<Words>,
    /// Units sold of it.
    pub sold: u64,
    /// What its link is like.
    pub state: LinkState,
    /// The variants that it leads to.
    pub leads_to: Vec<Words>,
    /// The variants that the owner means it to lead to, where that is not in force.
    pub intended: Vec<Words>,
    /// Why it is in that state, where something is to be said of it.
    pub why: Vec<Words>,
    /// Which variant it could be linked to, where it has no link.
    pub proposal: Option<Proposal>,
    /// What shows, where the proposal is accepted, that it is the one that was looked at; null where it cannot be accepted.
    pub shown: Option<String>,
}

/// What is proposed for the offers of a listing, and could be accepted.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct Proposed {
    /// For how many offers.
    pub offers: u64,
    /// What shows, where they are accepted, that they are those that were looked at.
    pub shown: String,
}

/// A change of links.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct LinkChange {
    /// Its number.
    pub number: i64,
    /// Who made it.
    pub by: Words,
    /// When.
    pub at: Moment,
    /// Why.
    pub why: Option<Words>,
    /// How many links of this listing it changed.
    pub links: u64,
    /// How many other links and rules it changed.
    pub others: u64,
}

/// How links that are intended are brought into force.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Sending {
    /// Offers whose link is intended.
    pub offers: u64,
    /// Of these, those that the storefront has had the SKU of since it was read last.
    pub sent: u64,
    /// What to type; it shows what would be changed, and changes nothing. Null where the listing's id cannot be typed safely.
    pub command: Option<String>,
}

/// The address of a listing's page.
pub fn listing_page(shop: &str, listing: &ListingId) -> String {
    format!("/listings/{}/{}", segment(shop), segment(listing.as_str()))
}

/// A text as one segment of a path.
pub(super) fn segment(text: &str) -> String {
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.' | b'~');
    text.bytes()
        .map(|byte| match is_plain(byte) {
            true => char::from(byte).to_string(),
            false => format!("%{byte:02X}"),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_address_of_a_listing_holds_whatever_its_id_is() {
        for (id, want) in [
            ("L-1", "/listings/kitchen/L-1"),
            ("a/b c?d#e", "/listings/kitchen/a%2Fb%20c%3Fd%23e"),
            ("é", "/listings/kitchen/%C3%A9"),
        ] {
            assert_eq!(listing_page("kitchen", &ListingId::new(id)), want);
        }
    }

    #[test]
    fn a_page_that_is_not_there_is_the_last_one_and_the_tally_is_of_all() {
        let zone = chrono_tz::Tz::UTC;
        let at = chrono::DateTime::UNIX_EPOCH;
        let mut tally = LinkTally::default();
        tally.add(LinkState::Unlinked);
        tally.add(LinkState::Linked);
        let listing = ListingInShort {
            listing_id: "L-1".into(),
            title: Words::ours("apron"),
            page: listing_page("kitchen", &"L-1".into()),
            sold: 1,
            sold_without: 0,
            tally,
        };
        let shelf = Shelf {
            as_of: Moment::new(at, &digest::Clock::of_a_reader(zone, at)),
            doubt: None,
            listings: vec![listing; 51],
        };
        let second = listings("kitchen", &shelf, 9);
        assert_eq!((second.page, second.pages, second.first, second.listings.len()), (2, 2, 51, 1));
        assert_eq!((second.tally.offers, second.tally.unlinked, second.tally.linked), (102, 51, 51));
    }
}
