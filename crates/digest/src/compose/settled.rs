//! What is found no more since the last digest.
//!
//! Must not know findings that stand. Start reading at [`write`].

use model::Check;

use super::document::{Document, theirs};
use super::input::{Morning, Settled, ShopMorning};
use crate::words::{capital, count, number_of, supplier_order};

/// Columns of an identifier in a list.
const ID: usize = 40;

/// Writes the worst of it, and how much more there is.
pub(super) fn write(document: &mut Document, morning: &Morning, most: usize) {
    let mut all: Vec<(&ShopMorning, &Settled)> = morning
        .shops
        .iter()
        .flat_map(|shop| shop.settled.iter().map(move |settled| (shop, settled)))
        .collect();
    if all.is_empty() {
        return;
    }
    all.sort_by_key(|(shop, settled)| (settled.check, shop.name(), &settled.order_id));
    document.heading("Settled since the last digest", count(number_of(&all), "finding", "findings"));
    document.list(all.iter().take(most).map(|(shop, settled)| {
        let name = shop.name().map(|shop| format!("{shop} - ")).unwrap_or_default();
        format!("{name}{}: {}.", subject(settled), was(settled.check))
    }));
    if all.len() > most {
        document.text(format!("And {} more.", all.len() - most));
    }
}

/// What it was about.
fn subject(settled: &Settled) -> String {
    let short = |id: &str| theirs(id, ID);
    let subject = match (&settled.order_id, &settled.submission_id, &settled.listing_id, &settled.source) {
        (Some(order_id), ..) => format!("order {}", short(order_id.as_str())),
        (None, Some(_), ..) => {
            supplier_order(settled.submission_id.as_ref(), settled.supplier.as_ref()).to_string()
        }
        (None, None, Some(listing_id), _) => format!("listing {}", short(listing_id.as_str())),
        (None, None, None, Some(source)) => format!("source {}", short(source.as_str())),
        (None, None, None, None) => "a link".to_owned(),
    };
    capital(subject)
}

/// What was the matter.
fn was(check: Check) -> &'static str {
    match check {
        Check::PartSent => "it would have gone out incomplete",
        Check::UnsentOrder => "nothing of it was sent",
        Check::WrongVariant => "a wrong item was sent for it",
        Check::OverSent => "too much was sent for it",
        Check::SentAfterCancel => "something cancelled was sent for it",
        Check::StraySubmission => "it was for no known order",
        Check::Held => "it was on hold",
        Check::NotStarted => "it had not been begun",
        Check::PartDispatched => "only a part of it had gone out",
        Check::Late => "it was late",
        Check::DispatchUnmarked => "it had gone out and was still marked open",
        Check::OfferUnlinked => "it sold what was not linked",
        Check::LinkMismatch => "a link of it led to another item than it said",
        Check::LinkUnusable => "a link of it led to what could not be had",
        Check::SharedVariant => "different things of it shared a variant",
        Check::LossMaking => "an item of it sold at a loss",
        Check::AddressChanged => "its delivery address had changed",
        Check::SourceStale => "it had not been read for too long",
        Check::SourceGap => "it counted otherwise than was read",
        Check::SourceChanged => "it answered otherwise than declared",
    }
}
