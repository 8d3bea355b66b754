//! A source with a declared action, as the work on SKUs sees it.
//!
//! Start reading at [`Storefront`].

use intake::source::action::{ActionTrouble, Asked, Found, OfferKey, Seen, SkuChanger};
use intake::source::declare::{Origin, Source};
use ledger::PlannedSku;
use model::Sku;

use super::work::{NotReached, Shelf};

/// A storefront that is asked over HTTP.
pub struct Storefront(pub SkuChanger);

/// Whether a source declares how a SKU is changed.
pub fn declares_it(source: &Source) -> bool {
    matches!(&source.origin, Origin::Service(service) if service.change_sku.is_some())
}

fn key(offer: &PlannedSku) -> OfferKey {
    OfferKey { listing_id: offer.listing_id.clone(), options: offer.options.clone() }
}

fn not_reached(trouble: ActionTrouble) -> NotReached {
    NotReached(trouble.to_string().trim_end_matches('.').to_owned())
}

impl Shelf for Storefront {
    async fn read(&mut self, offer: &PlannedSku) -> Result<Seen, NotReached> {
        self.0.read(&key(offer)).await.map_err(not_reached)
    }

    async fn change(
        &mut self,
        offer: &PlannedSku,
        found: &Found,
        sku: Option<&Sku>,
    ) -> Result<Asked, NotReached> {
        self.0.change(&key(offer), found, sku).await.map_err(not_reached)
    }
}
