//! What a monitoring program asks for: figures as OpenMetrics text, whether the server lives, whether it is ready.
//!
//! Must not know pages. Start reading at [`routes`].

use std::sync::atomic::AtomicU64;

use axum::http::StatusCode;
use axum::response::IntoResponse;
use model::Check;
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::registry::Registry;

use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{May, Replying, Route};
use crate::visit::Visit;

/// What was counted since the start.
#[derive(Default)]
pub struct Metrics {
    answers: Family<Answered, Counter>,
}

#[derive(Clone, PartialEq, Eq, Hash, Debug, EncodeLabelSet)]
struct Answered {
    status: u16,
}

#[derive(Clone, PartialEq, Eq, Hash, Debug, EncodeLabelSet)]
struct OfShop {
    shop: String,
}

#[derive(Clone, PartialEq, Eq, Hash, Debug, EncodeLabelSet)]
struct OfCheck {
    shop: String,
    check: &'static str,
}

#[derive(Clone, PartialEq, Eq, Hash, Debug, EncodeLabelSet)]
struct OfSource {
    shop: String,
    source: String,
}

impl Metrics {
    /// Counts an answer.
    pub fn count(&self, status: StatusCode) {
        self.answers.get_or_create(&Answered { status: status.as_u16() }).inc();
    }
}

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![
        Route::other("/metrics", "figures for a monitoring program, as OpenMetrics text", figures),
        Route::other("/live", "whether the server answers at all", live).for_those_who(May::Anybody),
        Route::other("/ready", "whether what is kept can be read, and every shop was looked at", ready)
            .for_those_who(May::Anybody),
    ]
}

fn live(_: Visit) -> Replying {
    Box::pin(async { Ok(Reply::text("text/plain; charset=utf-8", "alive\n")) })
}

fn ready(visit: Visit) -> Replying {
    Box::pin(async move {
        let desk = visit.desk();
        let waits = match desk.is_there().await {
            Err(_) => Some("what is kept cannot be read"),
            Ok(()) if desk.rounds().len() < desk.shops().len() => Some("not every shop was looked at yet"),
            Ok(()) => None,
        };
        match waits {
            None => Ok(Reply::text("text/plain; charset=utf-8", "ready\n")),
            Some(why) => {
                let answer = (StatusCode::SERVICE_UNAVAILABLE, format!("not ready: {why}\n"));
                Ok(Reply::Whole(answer.into_response()))
            }
        }
    })
}

/// Source of the form: the OpenMetrics specification, 1.0.
const OPEN_METRICS: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

fn figures(visit: Visit) -> Replying {
    Box::pin(async move {
        let mut registry = Registry::with_prefix("everyline");
        registry.register(
            "page_answers",
            "Answers of the page, by status",
            visit.app.metrics.answers.clone(),
        );
        of_rounds(&visit, &mut registry).await?;
        let mut text = String::new();
        encode(&mut text, &registry)
            .map_err(|error| Problem::new(StatusCode::INTERNAL_SERVER_ERROR, error.to_string(), ""))?;
        Ok(Reply::text(OPEN_METRICS, text))
    })
}

async fn of_rounds(visit: &Visit, registry: &mut Registry) -> Result<(), Problem> {
    let findings: Family<OfCheck, Gauge> = Family::default();
    let aside: Family<OfShop, Gauge> = Family::default();
    let judged: Family<OfShop, Gauge> = Family::default();
    let units: Family<OfShop, Gauge<u64, AtomicU64>> = Family::default();
    let uncovered: Family<OfShop, Gauge<u64, AtomicU64>> = Family::default();
    let read: Family<OfSource, Gauge> = Family::default();
    let behind: Family<OfSource, Gauge> = Family::default();
    let asides = visit.asides().await?;
    for round in visit.desk().rounds() {
        let shop = round.shop.id.as_str().to_owned();
        let of_shop = OfShop { shop: shop.clone() };
        let own = asides.get(&shop);
        for check in Check::ALL {
            findings.get_or_create(&OfCheck { shop: shop.clone(), check: check.word() }).set(0);
        }
        for finding in &round.outcome.findings {
            if own.is_some_and(|own| own.contains_key(finding.id.as_str())) {
                aside.get_or_create(&of_shop).inc();
            } else {
                findings.get_or_create(&OfCheck { shop: shop.clone(), check: finding.check.word() }).inc();
            }
        }
        // Also where it is none.
        drop(aside.get_or_create(&of_shop));
        judged.get_or_create(&of_shop).set(round.judged_at.timestamp());
        units.get_or_create(&of_shop).set(round.outcome.totals.units_demanded);
        uncovered.get_or_create(&of_shop).set(round.outcome.totals.uncovered);
        for source in &round.sources {
            let of_source = OfSource { shop: shop.clone(), source: source.source.clone() };
            let up_to = source.read_up_to.map_or(0, |at| at.timestamp());
            read.get_or_create(&of_source).set(up_to);
            behind.get_or_create(&of_source).set(source.is_behind.into());
        }
    }
    registry.register("findings", "Findings that stand and are not set aside", findings);
    registry.register("findings_set_aside", "Findings that stand and are set aside", aside);
    registry.register("judged_timestamp_seconds", "When the shop was last judged", judged);
    registry.register("units_demanded", "Units of order lines that are owed", units);
    registry.register("units_uncovered", "Units of order lines that nobody makes", uncovered);
    registry.register(
        "source_read_timestamp_seconds",
        "Up to when the source was read; 0: never to its end",
        read,
    );
    registry.register("source_behind", "1 where the source was not read up to now", behind);
    Ok(())
}
