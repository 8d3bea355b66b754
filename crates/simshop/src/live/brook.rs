//! brook-print's API: offsets, milliseconds since 1970, amounts as JSON numbers, short words of its own; lines and
//! parcels stand inside the submission.
//!
//! Must not know the storefront or the other supplier. Start reading at [`router`].

use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Extension, Json, Router};
use chrono::{DateTime, TimeDelta, Utc};
use model::book::{Parcel, ParcelLine, SubmissionLine, SubmissionStatus, Variant};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::Deserialize;
use serde_json::{Map, Value, json};

use super::World;
use super::fault::{Fault, Met};
use super::page::{Stretch, records, refusal, size};
use super::state::Job;
use crate::catalogue::Supplier;

const USUAL_PAGE: usize = 40;

pub(super) fn router(world: World) -> Router {
    Router::new()
        .route("/list/submissions", get(submissions))
        .route("/list/goods", get(goods))
        .with_state(world)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    skip: Option<usize>,
    take: Option<usize>,
    /// In milliseconds since 1970.
    touched_from: Option<i64>,
}

impl Asked {
    fn stretch(&self, of: usize, met: &Met) -> Stretch {
        Stretch::of(of, self.skip.unwrap_or(0), size(self.take, USUAL_PAGE), met)
    }
}

fn answer(rows: Vec<Value>, page: Stretch, met: &Met) -> Response {
    Json(json!({ "result": { "rows": rows, "all": met.count(page.of) } })).into_response()
}

/// Submissions by their last change, the latest first.
async fn submissions(
    State(world): State<World>,
    Extension(met): Extension<Met>,
    Query(asked): Query<Asked>,
) -> Response {
    let mut inner = world.lock();
    let skew = met.skew();
    let is_asked =
        |job: &&Job| asked.touched_from.is_none_or(|since| milliseconds(job.changed(), skew) >= since);
    let own = inner.state.jobs.values().filter(|job| job.sending.by == Supplier::Brook);
    let mut jobs: Vec<&Job> = own.filter(is_asked).collect();
    jobs.sort_by_key(|job| (job.changed(), job.key()));
    jobs.reverse();
    let page = asked.stretch(jobs.len(), &met);
    let on_page = &jobs[page.from..page.to];
    let rows = records(on_page.iter().map(|job| submission(job, skew)).collect(), "/lines/0/pieces", &met);
    // With the latest first, what comes behind the page moves when it changes.
    let behind = jobs.get(page.to).map(|job| job.key());
    if met.has(Fault::Shifting)
        && let Some(behind) = behind
    {
        let now = inner.now;
        inner.state.touch_job(&behind, now);
    }
    answer(rows, page, &met)
}

/// Goods in the order in which they were made.
async fn goods(
    State(world): State<World>,
    Extension(met): Extension<Met>,
    Query(asked): Query<Asked>,
) -> Response {
    let inner = world.lock();
    if asked.touched_from.is_some() {
        return refusal(StatusCode::BAD_REQUEST, "goods do not say when they were touched");
    }
    let supplier = Supplier::Brook.id();
    let own: Vec<&Variant> =
        inner.state.variants.iter().filter(|variant| variant.supplier == supplier).collect();
    let page = asked.stretch(own.len(), &met);
    let rows = own[page.from..page.to].iter().map(|variant| {
        let traits: Map<String, Value> = variant
            .options
            .iter()
            .flat_map(|options| options.iter())
            .map(|(name, value)| (name.to_owned(), value.into()))
            .collect();
        json!({
            "no": variant.variant_id.as_str(),
            "code": variant.sku.as_ref().map(|sku| sku.as_str()),
            "good": variant.product,
            "traits": traits,
            "unit": number(variant.unit_cost),
            "currency": variant.currency.map(|currency| currency.code()),
            "stock": if variant.available { "in" } else { "out" },
        })
    });
    answer(records(rows.collect(), "/good", &met), page, &met)
}

fn milliseconds(moment: DateTime<Utc>, skew: TimeDelta) -> i64 {
    (moment + skew).timestamp_millis()
}

fn number(amount: Option<Decimal>) -> Option<f64> {
    amount.and_then(|amount| amount.to_f64())
}

fn submission(job: &Job, skew: TimeDelta) -> Value {
    let submission = &job.sending.submission;
    let status = match submission.status {
        SubmissionStatus::Received => "QUEUE",
        SubmissionStatus::Held => "PARKED",
        SubmissionStatus::Making => "PRESS",
        SubmissionStatus::Dispatched => "OUT",
        SubmissionStatus::Cancelled => "DROPPED",
        SubmissionStatus::Rejected => "NOT POSSIBLE",
    };
    let row = |line: &SubmissionLine| {
        json!({
            "row": line.line_id.as_str().parse::<u32>().ok(),
            "code": line.sku.as_ref().map(|sku| sku.as_str()),
            "pieces": line.quantity,
            "unit": number(line.unit_cost),
        })
    };
    let parcel = |(parcel, lines): &(Parcel, Vec<ParcelLine>)| {
        let holds = lines.iter().map(|line| {
            json!({
                "row": line.submission_line_id.as_str().parse::<u32>().ok(),
                "pieces": line.quantity,
            })
        });
        json!({
            "no": parcel.parcel_id.as_str(),
            "out": milliseconds(parcel.dispatched_at.begins(), skew),
            "by": parcel.carrier,
            "code": parcel.tracking_number,
            "holds": holds.collect::<Vec<_>>(),
        })
    };
    json!({
        "no": submission.submission_id.as_str().parse::<u64>().ok(),
        "reference": submission.order_ref,
        "status": status,
        "in": milliseconds(submission.received_at.begins(), skew),
        "touched": milliseconds(job.changed(), skew),
        "again_for": submission.replaces.as_deref().and_then(|replaced| replaced.parse::<u64>().ok()),
        "to": {
            "who": job.person.name,
            "where": [job.person.street.as_str(), job.person.place],
            "mail": job.person.mail,
        },
        "lines": job.sending.lines.iter().map(row).collect::<Vec<_>>(),
        "parcels": job.sending.parcels.iter().map(parcel).collect::<Vec<_>>(),
    })
}
