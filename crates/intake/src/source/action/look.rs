//! Reading one offer again: by a request for it, or by reading all offers.
//!
//! Must not know how it is changed. Start reading at [`SkuChanger::read`].

use std::collections::HashMap;

use chrono::{DateTime, TimeDelta, Utc};
use model::ListingId;

use super::{ActionTrouble, Found, OfferKey, Seen, SkuChanger};
use crate::source::declare::{Reads, Request};
use crate::source::http::Trouble;
use crate::source::mapping::{ParentRow, Sight};
use crate::source::pages::{Asking, Turn, Walk};
use crate::source::poll::{FOLLOW_UPS, PollError};

/// How long all offers of a source are kept for a plan: as long as somebody takes who looks through one. What was changed
/// there meanwhile shows when the offer is read again, before it is changed.
const KEPT_FOR: TimeDelta = TimeDelta::minutes(10);

/// All offers, as they were read.
#[derive(Debug)]
pub(super) struct Kept {
    at: DateTime<Utc>,
    sights: Vec<Sight>,
}

impl SkuChanger {
    /// One offer as the storefront says it is, perhaps as it was some minutes ago: for a plan. Where all offers have to be
    /// read for that, they are kept for a while.
    ///
    /// # Errors
    /// [`ActionTrouble`].
    pub async fn look(&mut self, offer: &OfferKey) -> Result<Seen, ActionTrouble> {
        let now = self.reader.client.world().now();
        match &self.kept {
            // A clock that was set back says nothing of how old it is.
            Some(kept) if kept.at <= now && now - kept.at <= KEPT_FOR => Ok(seen(&kept.sights, offer)),
            Some(_) | None => self.read(offer).await,
        }
    }

    /// One offer as the storefront says it is now.
    ///
    /// # Errors
    /// [`ActionTrouble`].
    pub async fn read(&mut self, offer: &OfferKey) -> Result<Seen, ActionTrouble> {
        match &self.change.reads {
            Reads::One(request) => {
                let row = request.row_of_offer(offer.listing_id.as_str(), &offer.options);
                let sights = match self.sights(request, Some(&row)).await {
                    Ok(sights) => sights,
                    // There is nothing of it.
                    Err(ActionTrouble::NotAsked { trouble: Trouble::Refused { status: 404 | 410 } }) => {
                        Vec::new()
                    }
                    Err(trouble) => return Err(trouble),
                };
                Ok(seen(&sights, offer))
            }
            Reads::All(requests) => {
                let at = self.reader.client.world().now();
                self.kept = None;
                let mut sights = Vec::new();
                for request in requests {
                    sights.extend(self.sights(request, None).await?);
                }
                let seen = seen(&sights, offer);
                self.kept = Some(Kept { at, sights });
                Ok(seen)
            }
        }
    }

    /// All records that a request brings, over all its pages.
    async fn sights(&self, request: &Request, row: Option<&ParentRow>) -> Result<Vec<Sight>, ActionTrouble> {
        for _ in 0..=FOLLOW_UPS {
            if let Some(sights) = self.pass(request, row).await? {
                return Ok(sights);
            }
        }
        Err(ActionTrouble::NotAll)
    }

    /// One pass; `None` where something may have been passed over.
    async fn pass(
        &self,
        request: &Request,
        row: Option<&ParentRow>,
    ) -> Result<Option<Vec<Sight>>, PollError> {
        let take = Some(self.change.record.as_slice());
        let asking = Asking { reader: &self.reader, request, row, since: None, take };
        let mut walk = Walk::new(&asking, None);
        let mut sights = Vec::new();
        // A record that moved to another page is there once; one that stands twice on a page is there twice.
        let mut first_turns: HashMap<(ListingId, [u8; 32]), u64> = HashMap::new();
        let mut turn = 0;
        while let Turn::Page(page) = walk.turn(&asking).await? {
            turn += 1;
            for sight in page.sights {
                let key = (sight.offer.listing_id.clone(), sight.record);
                if *first_turns.entry(key).or_insert(turn) == turn {
                    sights.push(sight);
                }
            }
        }
        let lacks = walk.source_count().is_some_and(|count| count.lacks());
        Ok(Some(sights).filter(|_| !walk.is_restless() && !lacks))
    }
}

/// What a number of records say of one offer.
fn seen(sights: &[Sight], offer: &OfferKey) -> Seen {
    let is_it =
        |sight: &&Sight| sight.offer.listing_id == offer.listing_id && sight.offer.options == offer.options;
    let mut records = sights.iter().filter(is_it);
    match (records.next(), records.count()) {
        (None, _) => Seen::Missing,
        (Some(sight), 0) => Seen::Found(Found { sku: sight.offer.sku.clone(), taken: sight.taken.clone() }),
        (Some(_), more) => Seen::Ambiguous(more + 1),
    }
}
