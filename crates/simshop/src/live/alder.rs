//! alder-print's API: page numbers with a Link header, RFC 3339 times at the offset of its machines, decimals as text,
//! one table a path; the pieces of a job are asked for one job at a time.
//!
//! Must not know the storefront or the other supplier. Start reading at [`router`].

use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Extension, Json, Router};
use chrono::{DateTime, FixedOffset, SecondsFormat, TimeDelta, Utc};
use model::SubmissionId;
use model::book::{Parcel, ParcelLine, SubmissionStatus, Variant};
use serde::Deserialize;
use serde_json::{Value, json};

use super::World;
use super::fault::{Fault, Met};
use super::page::{Stretch, records, refusal, size};
use super::state::Job;
use crate::catalogue::Supplier;
use crate::desk::Sending;

const USUAL_PAGE: usize = 30;

pub(super) fn router(world: World) -> Router {
    Router::new()
        .route("/v/jobs", get(jobs))
        .route("/v/jobs/{job}/pieces", get(pieces))
        .route("/v/parcels", get(parcels))
        .route("/v/articles", get(articles))
        .with_state(world)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    /// Counted from one.
    page: Option<usize>,
    per_page: Option<usize>,
    /// RFC 3339.
    changed_since: Option<DateTime<FixedOffset>>,
}

impl Asked {
    fn stretch(&self, of: usize, met: &Met) -> Stretch {
        let size = size(self.per_page, USUAL_PAGE);
        let from = self.page.unwrap_or(1).saturating_sub(1).saturating_mul(size);
        Stretch::of(of, from, size, met)
    }

    fn is_asked(&self, changed: DateTime<Utc>, met: &Met) -> bool {
        self.changed_since.is_none_or(|since| changed + met.skew() >= since)
    }

    /// The Link header (RFC 8288) of a page, and the header with the count.
    fn headers(&self, page: Stretch, path: &str, met: &Met) -> HeaderMap {
        let size = size(self.per_page, USUAL_PAGE);
        let address = |number: usize| {
            let mut query = format!("page={number}&per_page={size}");
            if let Some(since) = self.changed_since {
                let since = since.to_utc().to_rfc3339_opts(SecondsFormat::AutoSi, true);
                query.push_str("&changed_since=");
                query.push_str(&since.replace(':', "%3A"));
            }
            format!("<{path}?{query}>")
        };
        let mut links = vec![format!("{}; rel=\"first\"", address(1))];
        let next = if met.has(Fault::CursorRepeats) { self.page } else { None };
        let next = next.or(page.is_followed().then_some(page.from / size + 2));
        if let Some(next) = next {
            links.push(format!("{}; rel=\"next\"", address(next)));
        }
        let headers = [
            (header::LINK, links.join(", ")),
            (header::HeaderName::from_static("x-records"), met.count(page.of).to_string()),
        ];
        headers.into_iter().filter_map(|(name, value)| Some((name, value.parse().ok()?))).collect()
    }
}

/// Jobs by their last change, the oldest first: one that changes while they are read moves those behind it.
async fn jobs(
    State(world): State<World>,
    Extension(met): Extension<Met>,
    uri: Uri,
    host: HeaderMap,
    Query(asked): Query<Asked>,
) -> Response {
    let mut inner = world.lock();
    let own = inner.state.jobs.values().filter(|job| job.sending.by == Supplier::Alder);
    let mut jobs: Vec<&Job> = own.filter(|job| asked.is_asked(job.changed(), &met)).collect();
    jobs.sort_by_key(|job| (job.changed(), job.key()));
    let page = asked.stretch(jobs.len(), &met);
    let on_page = &jobs[page.from..page.to];
    let body = records(on_page.iter().map(|job| self::job(job, met.skew())).collect(), "/received", &met);
    let first = on_page.first().map(|job| job.key());
    if met.has(Fault::Shifting)
        && let Some(first) = first
    {
        let now = inner.now;
        inner.state.touch_job(&first, now);
    }
    (asked.headers(page, &absolute(&host, uri.path()), &met), Json(body)).into_response()
}

/// The pieces of one job, all at once.
async fn pieces(
    State(world): State<World>,
    Extension(met): Extension<Met>,
    Path(job): Path<String>,
) -> Response {
    let inner = world.lock();
    let Some(job) = inner.state.jobs.get(&(Supplier::Alder, SubmissionId::new(job))) else {
        return refusal(StatusCode::NOT_FOUND, "there is no such job");
    };
    let submission = &job.sending.submission;
    let pieces = job.sending.lines.iter().map(|line| {
        json!({
            "job": submission.submission_id.as_str(),
            "piece": line.line_id.as_str(),
            "for_line": line.order_line_ref.as_ref().map(|line| line.as_str()),
            "article": line.variant_id.as_ref().map(|variant| variant.as_str()),
            "sku": line.sku.as_ref().map(|sku| sku.as_str()),
            "count": line.quantity,
            "cost": line.unit_cost.map(|cost| cost.to_string()),
        })
    });
    let pieces = records(pieces.collect(), "/count", &met);
    Json(json!({ "job": submission.submission_id.as_str(), "pieces": pieces })).into_response()
}

/// Parcels by when they left, the oldest first.
async fn parcels(
    State(world): State<World>,
    Extension(met): Extension<Met>,
    uri: Uri,
    host: HeaderMap,
    Query(asked): Query<Asked>,
) -> Response {
    let inner = world.lock();
    let own = inner.state.jobs.values().filter(|job| job.sending.by == Supplier::Alder);
    let mut parcels: Vec<&(Parcel, Vec<ParcelLine>)> = own
        .flat_map(|job| &job.sending.parcels)
        .filter(|(parcel, _)| asked.is_asked(parcel.dispatched_at.begins(), &met))
        .collect();
    parcels.sort_by_key(|(parcel, _)| (parcel.dispatched_at, &parcel.parcel_id));
    let page = asked.stretch(parcels.len(), &met);
    let on_page = parcels[page.from..page.to].iter().map(|(parcel, lines)| {
        let contents = lines
            .iter()
            .map(|line| json!({ "piece": line.submission_line_id.as_str(), "count": line.quantity }));
        json!({
            "parcel": parcel.parcel_id.as_str(),
            "job": parcel.submission_id.as_str(),
            "left": time(parcel.dispatched_at.begins(), met.skew()),
            "carrier": parcel.carrier,
            "track": parcel.tracking_number,
            "contents": contents.collect::<Vec<_>>(),
        })
    });
    let body = records(on_page.collect(), "/left", &met);
    (asked.headers(page, &absolute(&host, uri.path()), &met), Json(body)).into_response()
}

/// Articles in the order in which they were made; its links are relative.
async fn articles(
    State(world): State<World>,
    Extension(met): Extension<Met>,
    uri: Uri,
    Query(asked): Query<Asked>,
) -> Response {
    let inner = world.lock();
    if asked.changed_since.is_some() {
        return refusal(StatusCode::BAD_REQUEST, "articles do not say when they changed");
    }
    let supplier = Supplier::Alder.id();
    let own: Vec<&Variant> =
        inner.state.variants.iter().filter(|variant| variant.supplier == supplier).collect();
    let page = asked.stretch(own.len(), &met);
    let on_page = own[page.from..page.to].iter().map(|variant| {
        let option = |name: &str| {
            let mut pairs = variant.options.iter().flat_map(|options| options.iter());
            pairs.find(|(there, _)| *there == name).map(|(_, value)| value)
        };
        json!({
            "article": variant.variant_id.as_str(),
            "sku": variant.sku.as_ref().map(|sku| sku.as_str()),
            "product": variant.product,
            "size": option("Size"),
            "colour": option("Colour"),
            "cost": variant.unit_cost.map(|cost| cost.to_string()),
            "currency": variant.currency.map(|currency| currency.code()),
            "available": variant.available,
        })
    });
    let body = records(on_page.collect(), "/available", &met);
    (asked.headers(page, uri.path(), &met), Json(body)).into_response()
}

/// The address of a path as whoever asks knows this server.
fn absolute(headers: &HeaderMap, path: &str) -> String {
    match headers.get(header::HOST).and_then(|host| host.to_str().ok()) {
        Some(host) => format!("http://{host}{path}"),
        None => path.to_owned(),
    }
}

/// As alder-print's machines write it: two hours ahead of UTC.
fn time(moment: DateTime<Utc>, skew: TimeDelta) -> String {
    let moment = moment + skew;
    match FixedOffset::east_opt(2 * 3600) {
        Some(offset) => moment.with_timezone(&offset).to_rfc3339_opts(SecondsFormat::Secs, false),
        None => moment.to_rfc3339_opts(SecondsFormat::Secs, false),
    }
}

fn job(job: &Job, skew: TimeDelta) -> Value {
    let Sending { submission, .. } = &job.sending;
    let state = match submission.status {
        SubmissionStatus::Received => "new",
        SubmissionStatus::Held => "waits",
        SubmissionStatus::Making => "in work",
        SubmissionStatus::Dispatched => "left",
        SubmissionStatus::Cancelled => "stopped",
        SubmissionStatus::Rejected => "refused",
    };
    json!({
        "job": submission.submission_id.as_str(),
        "for_order": submission.order_ref,
        "state": state,
        "received": time(submission.received_at.begins(), skew),
        "changed": time(job.changed(), skew),
        "instead_of": submission.replaces,
        "deliver_to": {
            "name": job.person.name,
            "street": job.person.street,
            "place": job.person.place,
            "mail": job.person.mail,
        },
    })
}
