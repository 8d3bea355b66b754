//! The storefront's API for one offer: it is read again, and its SKU is changed.
//!
//! An offer is told by its page and its choices; to change it takes its own number too, which stands in its record. A body
//! that says more or less than it must, or of another offer, changes nothing. What was changed is kept
//! ([`super::World::sku_changes`]). Start reading at [`offer`] and [`change`].

use std::collections::BTreeMap;

use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use model::book::Offer;
use model::{ListingId, Options, Sku};
use serde::{Deserialize, Deserializer};
use serde_json::{Value, json};

use super::fault::{Fault, Met};
use super::page::refusal;
use super::{World, till};

/// The longest SKU that it takes, in characters.
const LONGEST_SKU: usize = 60;

/// What it says in place of the SKU that it was given, where it is to say another.
const ANOTHER_SKU: &str = "NOT-THE-ONE";

/// A change of a SKU that was made.
#[derive(Clone, PartialEq, Debug)]
pub struct SkuChange {
    /// The page of the offer.
    pub listing_id: ListingId,
    /// The choices of the offer.
    pub options: Options,
    /// The SKU that it had.
    pub from: Option<Sku>,
    /// The SKU that it has from then on; perhaps the same.
    pub to: Option<Sku>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Asked {
    page: String,
    /// An object in JSON.
    choices: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Wanted {
    page: String,
    choices: BTreeMap<String, String>,
    /// Null takes the SKU away; not to say it is a mistake.
    #[serde(deserialize_with = "text_or_null")]
    sku: Option<String>,
}

fn text_or_null<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<String>, D::Error> {
    Option::deserialize(deserializer)
}

fn is_it(offer: &Offer, page: &str, choices: &BTreeMap<String, String>) -> bool {
    offer.listing_id.as_str() == page
        && offer.options.len() == choices.len()
        && offer.options.iter().all(|(name, value)| choices.get(name).is_some_and(|said| said == value))
}

/// The number of an offer, which stays with it.
pub(super) fn number(index: usize) -> String {
    format!("of-{index:04}")
}

/// One offer, by its page and its choices.
pub(super) async fn offer(
    State(world): State<World>,
    Extension(met): Extension<Met>,
    asked: Query<Asked>,
) -> Response {
    let Ok(choices) = serde_json::from_str(&asked.choices) else {
        return refusal(StatusCode::BAD_REQUEST, "choices are an object of names and texts");
    };
    let inner = world.lock();
    let offers = inner.state.offers.iter().enumerate();
    let mut found = offers.filter_map(|(index, offer)| Some((index, offer.as_ref()?)));
    match found.find(|(_, offer)| is_it(offer, &asked.page, &choices)) {
        Some((index, offer)) => {
            let mut record = till::offer(index, offer);
            if met.has(Fault::WrongType) {
                record["price"] = json!("several");
            }
            Json(json!({ "offer": record })).into_response()
        }
        None => refusal(StatusCode::NOT_FOUND, "there is no such offer"),
    }
}

/// Changes the SKU of one offer.
pub(super) async fn change(
    State(world): State<World>,
    Extension(met): Extension<Met>,
    Path(number): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    if kind != Some("application/json") {
        return refusal(StatusCode::UNSUPPORTED_MEDIA_TYPE, "this has to be application/json");
    }
    let wanted: Wanted = match serde_json::from_slice(&body) {
        Ok(wanted) => wanted,
        Err(_) => {
            return refusal(StatusCode::BAD_REQUEST, "expected are page, choices and sku, and nothing else");
        }
    };
    let sku = match wanted.sku.as_deref() {
        None => None,
        Some(text) if text.trim() != text || text.chars().count() > LONGEST_SKU => {
            return refusal(StatusCode::UNPROCESSABLE_ENTITY, "this is no SKU that we take");
        }
        Some(text) => match Sku::new(text) {
            Some(sku) => Some(sku),
            None => return refusal(StatusCode::UNPROCESSABLE_ENTITY, "an empty SKU is null"),
        },
    };
    let mut inner = world.lock();
    let inner = &mut *inner;
    let mut offers = inner.state.offers.iter_mut().enumerate();
    let numbered = offers.find(|(index, _)| self::number(*index) == number);
    let Some((index, Some(offer))) = numbered else {
        return refusal(StatusCode::NOT_FOUND, "there is no offer of this number");
    };
    if !is_it(offer, &wanted.page, &wanted.choices) {
        return refusal(StatusCode::CONFLICT, "the offer of this number is another");
    }
    let from = std::mem::replace(&mut offer.sku, sku.clone());
    inner.sku_changes.push(SkuChange {
        listing_id: offer.listing_id.clone(),
        options: offer.options.clone(),
        from,
        to: sku,
    });
    let mut record: Value = till::offer(index, offer);
    if met.has(Fault::OtherSku) {
        record["sku"] = json!(ANOTHER_SKU);
    }
    Json(json!({ "offer": record })).into_response()
}
