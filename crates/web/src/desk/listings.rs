//! What the pages of listings ask for.
//!
//! Must not know pages. Start reading at [`Listings`].

use std::sync::Arc;

use model::{ListingId, ShopId};

use super::Answer;
use crate::view;

/// That what was proposed is what the owner means.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Accepted {
    /// The key of the offer; `None`: all offers of the listing for which something is proposed that can be accepted.
    pub offer: Option<String>,
    /// What was shown with it: where it is another now, nothing is kept.
    pub shown: String,
    /// Who says so.
    pub by: String,
}

/// Links of offers. What is accepted becomes *intended*, and can be taken back; nothing is changed at a storefront.
pub trait Listings: Send + Sync {
    /// All listings of a shop, those first that are to be looked at first.
    fn shelf<'a>(&'a self, shop: &'a ShopId) -> Answer<'a, Arc<view::Shelf>>;

    /// One listing with all its offers.
    fn listing<'a>(&'a self, shop: &'a ShopId, listing: &'a ListingId) -> Answer<'a, view::Listing>;

    /// Keeps what was proposed; the number of the change.
    fn accept<'a>(
        &'a self,
        shop: &'a ShopId,
        listing: &'a ListingId,
        accepted: &'a Accepted,
    ) -> Answer<'a, i64>;

    /// Takes a change back that is the last one of this listing.
    fn undo<'a>(
        &'a self,
        shop: &'a ShopId,
        listing: &'a ListingId,
        change: i64,
        by: &'a str,
    ) -> Answer<'a, ()>;
}
