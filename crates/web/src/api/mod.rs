//! The same as JSON: the views of the pages, and their actions.
//!
//! Must not know HTML. Start reading at [`routes`]; `openapi` describes them, from the same table.

pub mod openapi;

use axum::http::Method;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;

use crate::asked::{Parameter, Takes};
use crate::page::order::{OF_SHOP, PLACES};
use crate::page::{asides, order, queue};
use crate::reply::Reply;
use crate::route::{May, Replying, Route};
use crate::view;
use crate::visit::Visit;

const FINDING: &[Parameter] = &[Parameter::must("finding", Takes::Text(200), "the id of the finding")];

/// What is set aside, with why.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SetAside {
    /// Why, for whoever finds it later; 500 characters at most.
    #[schemars(length(min = 1, max = 500), regex(pattern = r"\S"))]
    note: String,
    /// Until when: a moment, or a date, which is the end of that day in the shop's zone. Left out or null: until what was
    /// found is something else. A time that has passed is refused.
    #[serde(default)]
    #[schemars(schema_with = "moment_or_date")]
    until: Option<String>,
}

/// What [`SetAside::until`] is. Source: `date-time` and `date` of JSON Schema 2020-12, validation, section 7.3.1 (RFC 3339).
fn moment_or_date(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "anyOf": [
        { "type": "string", "format": "date-time" },
        { "type": "string", "format": "date" },
        { "type": "null" },
    ] })
}

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![
        Route::json(
            Method::GET,
            "/api/queue",
            "What is to be done, by urgency, then by time left.",
            get_queue,
        )
        .with(queue::NARROWED)
        .answers::<view::Queue>(),
        Route::json(Method::GET, "/api/set-aside", "What is set aside and still stands.", get_asides)
            .answers::<view::Asides>(),
        Route::json(
            Method::GET,
            "/api/orders/{order_id}",
            "One order with everything that belongs to it.",
            get_order,
        )
        .at(PLACES)
        .with(OF_SHOP)
        .answers::<view::Order>(),
        Route::json(
            Method::PUT,
            "/api/findings/{finding}/set-aside",
            "Puts a finding aside; it still stands, and comes back by itself.",
            set_aside,
        )
        .for_those_who(May::Act)
        .at(FINDING)
        .with(OF_SHOP)
        .takes::<SetAside>()
        .of_at_most(4 * 1024),
        Route::json(
            Method::DELETE,
            "/api/findings/{finding}/set-aside",
            "No longer puts a finding aside.",
            take_back,
        )
        .for_those_who(May::Act)
        .at(FINDING)
        .with(OF_SHOP),
        Route::json(Method::GET, "/api/openapi.json", "This document.", openapi::show),
    ]
}

fn get_queue(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&queue::view(&visit).await?) })
}

fn get_asides(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&asides::view(&visit).await?) })
}

fn get_order(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&order::view(&visit).await?) })
}

fn set_aside(visit: Visit) -> Replying {
    Box::pin(async move {
        let shop = visit.shop()?;
        let given: SetAside = visit.json()?;
        let aside = asides::checked(&given.note, given.until.as_deref(), shop.zone, visit.now())?;
        visit.desk().set_aside(&shop.id, visit.asked.text("finding").unwrap_or_default(), &aside).await?;
        Ok(Reply::done())
    })
}

fn take_back(visit: Visit) -> Replying {
    Box::pin(async move {
        let shop = visit.shop()?;
        visit.desk().take_back(&shop.id, visit.asked.text("finding").unwrap_or_default()).await?;
        Ok(Reply::done())
    })
}
