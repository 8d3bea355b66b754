//! Listings on the page, and what is accepted there.
//!
//! Must not know how a listing is looked at. Start reading at the [`web::Listings`] of [`PageDesk`].

use std::sync::{Arc, PoisonError};

use chrono::{DateTime, Utc};
use ledger::{LedgerError, Signed};
use model::{ListingId, ShopId};
use tokio::sync::SemaphorePermit;
use web::{Accepted, Answer, Desk, Fault, Listings, view};

use super::{PageDesk, of_ledger};
use crate::links_command::listings::{Looked, NotKept};
use crate::live::judge::Question;

/// The listings of a shop as they were looked at last, which serve until something is known anew.
pub(super) struct Kept {
    /// The round after which that was.
    judged_at: Option<DateTime<Utc>>,
    /// The last change of links that was known.
    seen: i64,
    shelf: Arc<view::Shelf>,
}

impl PageDesk {
    /// What is known of the links of a shop. One at a time: each takes as much memory as all that is known of the shop.
    async fn look_at_links(&self, shop: &ShopId) -> Result<(Looked, SemaphorePermit<'_>), Fault> {
        let settings = self.settings_of(shop, "begin at the list of listings")?;
        let alone = self.alone().await?;
        let question = Question { shop: shop.clone(), settings, as_of: None, now: self.now() };
        let looked = Looked::of(self.ledger.clone(), question, self.behind(shop)).await;
        Ok((looked.map_err(|error| of_ledger(&error))?, alone))
    }

    pub(super) async fn shelf_of(&self, shop: &ShopId) -> Result<Arc<view::Shelf>, Fault> {
        let judged_at = self.round_of(shop).map(|round| round.judged_at);
        let seen = self.ledger.last_link_change(shop).await.map_err(|error| of_ledger(&error))?;
        let kept = {
            let shelves = self.shelves.lock().unwrap_or_else(PoisonError::into_inner);
            let kept = shelves.get(shop).filter(|kept| (kept.judged_at, kept.seen) == (judged_at, seen));
            kept.map(|kept| Arc::clone(&kept.shelf))
        };
        if let Some(shelf) = kept {
            return Ok(shelf);
        }
        let (looked, _alone) = self.look_at_links(shop).await?;
        let shelf = Arc::new(looked.shelf().await);
        let kept = Kept { judged_at, seen: looked.seen(), shelf: Arc::clone(&shelf) };
        self.shelves.lock().unwrap_or_else(PoisonError::into_inner).insert(shop.clone(), kept);
        Ok(shelf)
    }

    async fn listing_of(&self, shop: &ShopId, listing: &ListingId) -> Result<view::Listing, Fault> {
        let (looked, _alone) = self.look_at_links(shop).await?;
        let found = looked.listing(listing).await.map_err(|error| of_ledger(&error))?;
        found.ok_or_else(|| no_listing(listing))
    }

    pub(super) fn signed(&self, by: &str) -> Signed {
        Signed { by: by.to_owned(), why: None, at: self.now() }
    }
}

pub(super) fn no_listing(listing: &ListingId) -> Fault {
    Fault::NotThere {
        what: format!("no listing {:?} has been read", listing.as_str()),
        todo: "look for it in the list of listings".to_owned(),
    }
}

fn not_kept(why: &NotKept, listing: &ListingId) -> Fault {
    let meanwhile = |why: String, todo: &str| Fault::Meanwhile { why, todo: todo.to_owned() };
    match why {
        NotKept::NoListing => no_listing(listing),
        NotKept::Otherwise => meanwhile(
            "nothing was kept: what is proposed now is another than what you were shown".to_owned(),
            "go back to the listing, load it anew, and look at what is proposed now",
        ),
        NotKept::NotTheLast => meanwhile(
            "nothing was taken back: this is not the last change of this listing that stands".to_owned(),
            "go back to the listing, load it anew, and look at what was changed last",
        ),
        NotKept::Ledger(
            error @ (LedgerError::NoSuchChange { .. }
            | LedgerError::TakenBack { .. }
            | LedgerError::ChangedSince { .. }
            | LedgerError::ChangedMeanwhile { .. }),
        ) => meanwhile(error.to_string(), "go back to the listing, and load it anew"),
        NotKept::Ledger(error) => of_ledger(error),
    }
}

impl Listings for PageDesk {
    fn shelf<'a>(&'a self, shop: &'a ShopId) -> Answer<'a, Arc<view::Shelf>> {
        Box::pin(self.shelf_of(shop))
    }

    fn listing<'a>(&'a self, shop: &'a ShopId, listing: &'a ListingId) -> Answer<'a, view::Listing> {
        Box::pin(self.listing_of(shop, listing))
    }

    fn accept<'a>(
        &'a self,
        shop: &'a ShopId,
        listing: &'a ListingId,
        accepted: &'a Accepted,
    ) -> Answer<'a, i64> {
        Box::pin(async move {
            let (looked, _alone) = self.look_at_links(shop).await?;
            let what = (accepted.offer.as_deref(), accepted.shown.as_str());
            let kept = looked.accept(listing, what, &self.signed(&accepted.by)).await;
            let change = kept.map_err(|why| not_kept(&why, listing))?;
            self.changed();
            Ok(change)
        })
    }

    fn undo<'a>(
        &'a self,
        shop: &'a ShopId,
        listing: &'a ListingId,
        change: i64,
        by: &'a str,
    ) -> Answer<'a, ()> {
        Box::pin(async move {
            let (looked, _alone) = self.look_at_links(shop).await?;
            let undone = looked.undo(listing, change, &self.signed(by)).await;
            undone.map_err(|why| not_kept(&why, listing))?;
            self.changed();
            Ok(())
        })
    }
}
