//! The storefront's API: cursors, whole seconds since 1970, money in minor units, lines inside orders.
//!
//! Must not know the suppliers. Start reading at [`router`]; `shelf` answers for one offer.

use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, put};
use axum::{Extension, Json, Router};
use chrono::{DateTime, TimeDelta, Utc};
use model::book::{Offer, OrderLine, OrderStatus};
use model::{Currency, OrderId, When};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::Deserialize;
use serde_json::{Value, json};

use super::fault::{Fault, Met};
use super::page::{Stretch, records, refusal, size};
use super::state::Sale;
use super::{Inner, World, shelf};

const USUAL_PAGE: usize = 50;

pub(super) fn router(world: World) -> Router {
    Router::new()
        .route("/shop/orders", get(orders))
        .route("/shop/offers", get(offers))
        .route("/shop/offer", get(shelf::offer))
        .route("/shop/offers/{number}/sku", put(shelf::change))
        .with_state(world)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    after: Option<String>,
    limit: Option<usize>,
    /// In seconds since 1970.
    changed_from: Option<i64>,
}

/// Orders by their last change, the oldest first; a cursor says behind which one a page begins.
async fn orders(State(world): State<World>, Extension(met): Extension<Met>, asked: Query<Asked>) -> Response {
    let mut inner = world.lock();
    let skew = met.skew();
    let is_asked =
        |sale: &&Sale| asked.changed_from.is_none_or(|since| (sale.changed() + skew).timestamp() >= since);
    let mut sales: Vec<&Sale> = inner.state.sales.values().filter(is_asked).collect();
    sales.sort_by_key(|sale| (sale.changed(), &sale.order.order_id));
    let from = match &asked.after {
        None => 0,
        Some(cursor) => {
            let Some((changed, order)) = position(cursor) else {
                return refusal(StatusCode::BAD_REQUEST, "this cursor is not one of ours");
            };
            sales.partition_point(|sale| {
                (sale.changed().timestamp(), sale.order.order_id.as_str()) <= (changed, order)
            })
        }
    };
    let page = Stretch::of(sales.len(), from, size(asked.limit, USUAL_PAGE), &met);
    let on_page = &sales[page.from..page.to];
    let next = on_page.last().filter(|_| page.is_followed()).map(|sale| cursor(sale));
    let body = json!({
        "orders": records(on_page.iter().map(|sale| order(sale, skew)).collect(), "/lines/0/count", &met),
        "more": { "cursor": with_repeats(next, &asked.after, &met) },
        "in_all": met.count(page.of),
    });
    let first = on_page.first().map(|sale| sale.order.order_id.clone());
    if met.has(Fault::Shifting) {
        shift(&mut inner, first);
    }
    Json(body).into_response()
}

/// Offers in the order in which they were made.
async fn offers(State(world): State<World>, Extension(met): Extension<Met>, asked: Query<Asked>) -> Response {
    let inner = world.lock();
    if asked.changed_from.is_some() {
        return refusal(StatusCode::BAD_REQUEST, "offers do not say when they changed");
    }
    let offers: Vec<(usize, &Offer)> = inner
        .state
        .offers
        .iter()
        .enumerate()
        .filter_map(|(number, offer)| Some((number, offer.as_ref()?)))
        .collect();
    let from = match &asked.after {
        None => 0,
        Some(cursor) => {
            let Some(after) = cursor.strip_prefix("offer.").and_then(|number| number.parse::<usize>().ok())
            else {
                return refusal(StatusCode::BAD_REQUEST, "this cursor is not one of ours");
            };
            offers.partition_point(|(number, _)| *number <= after)
        }
    };
    let page = Stretch::of(offers.len(), from, size(asked.limit, USUAL_PAGE), &met);
    let on_page = &offers[page.from..page.to];
    let next = on_page.last().filter(|_| page.is_followed()).map(|(number, _)| format!("offer.{number}"));
    let all = on_page.iter().map(|(number, offer)| self::offer(*number, offer)).collect();
    Json(json!({
        "offers": records(all, "/price", &met),
        "more": { "cursor": with_repeats(next, &asked.after, &met) },
        "in_all": met.count(page.of),
    }))
    .into_response()
}

/// The next cursor, or the one that was asked with once more.
fn with_repeats(next: Option<String>, asked: &Option<String>, met: &Met) -> Option<String> {
    if met.has(Fault::CursorRepeats) && asked.is_some() { asked.clone() } else { next }
}

fn cursor(sale: &Sale) -> String {
    format!("{:x}.{}", sale.changed().timestamp(), sale.order.order_id)
}

fn position(cursor: &str) -> Option<(i64, &str)> {
    let (changed, order) = cursor.split_once('.')?;
    Some((i64::from_str_radix(changed, 16).ok()?, order))
}

fn shift(inner: &mut Inner, order: Option<OrderId>) {
    let now = inner.now;
    if let Some(order) = order {
        inner.state.touch_order(&order, now);
    }
}

fn seconds(moment: DateTime<Utc>, skew: TimeDelta) -> i64 {
    (moment + skew).timestamp()
}

fn seconds_of(when: Option<When>, skew: TimeDelta) -> Option<i64> {
    when.map(|when| seconds(when.begins(), skew))
}

/// An amount in the smallest unit of its currency (ISO 4217).
fn minor(amount: Option<Decimal>, currency: Option<Currency>) -> Option<i64> {
    let digits = u32::from(currency?.digits());
    (amount? * Decimal::from(10_i64.pow(digits))).to_i64()
}

fn order(sale: &Sale, skew: TimeDelta) -> Value {
    let order = &sale.order;
    let state = match order.status {
        OrderStatus::Unpaid => "waiting for money",
        OrderStatus::Open => "settled",
        OrderStatus::Dispatched => "on its way",
        OrderStatus::Cancelled => "called off",
    };
    let line = |(line, typed): (&OrderLine, &Option<(&str, &str)>)| {
        let mut choices: Vec<Value> =
            line.options.iter().flat_map(|options| choices(options.iter())).collect();
        choices.extend(self::choices(typed.iter().copied()));
        json!({
            "id": line.line_id.as_str().parse::<u32>().ok(),
            "page": line.listing_id.as_ref().map(|listing| listing.as_str()),
            "sku": line.sku.as_ref().map(|sku| sku.as_str()),
            "title": line.title,
            "choices": choices,
            "count": line.quantity,
            "called_off": line.cancelled_quantity,
            "each": minor(line.unit_price, order.currency),
            "changed": seconds_of(line.updated_at, skew),
        })
    };
    json!({
        "number": order.order_id.as_str(),
        "state": state,
        "made": seconds(order.placed_at.begins(), skew),
        "paid": seconds_of(order.paid_at, skew),
        "changed": seconds(sale.changed(), skew),
        "send_by": seconds_of(order.promised_by, skew),
        "currency": order.currency.map(|currency| currency.code()),
        "buyer": { "name": sale.person.name, "mail": sale.person.mail },
        "deliver_to": {
            "name": sale.person.name,
            "street": sale.person.street,
            "place": sale.person.place,
            "country": sale.person.country,
        },
        "remark": sale.note,
        "lines": sale.lines.iter().zip(&sale.typed).map(line).collect::<Vec<_>>(),
    })
}

/// The record of the offer of that index.
pub(super) fn offer(index: usize, offer: &Offer) -> Value {
    json!({
        "number": shelf::number(index),
        "page": offer.listing_id.as_str(),
        "title": offer.title,
        "choices": choices(offer.options.iter()).collect::<Vec<_>>(),
        "sku": offer.sku.as_ref().map(|sku| sku.as_str()),
        "price": minor(offer.price, offer.currency),
        "currency": offer.currency.map(|currency| currency.code()),
        "for_sale": offer.buyable,
    })
}

fn choices<'a>(pairs: impl Iterator<Item = (&'a str, &'a str)>) -> impl Iterator<Item = Value> {
    pairs.map(|(name, value)| json!({ "name": name, "value": value }))
}
