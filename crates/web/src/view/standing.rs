//! What is known of a shop, and up to when its sources were read.
//!
//! Must not know what was found. Start reading at [`standing`].

use std::sync::Arc;

use chrono::{DateTime, Utc};
use digest::Clock;
use digest::compose::ShopMorning;
use model::Outcome;
use model::finding::Evidence;
use schemars::JsonSchema;
use serde::Serialize;

use super::board::Board;
use super::words::{Moment, Words};
use crate::desk::{Round, Shop};

/// What is known of a shop.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Standing {
    /// Its name.
    pub shop: String,
    /// The zone in which its times are told.
    pub zone: &'static str,
    /// The moment for which it was judged last; null where it never was.
    pub as_of: Option<Moment>,
    /// Whether everything was read and judged, so that it may be said that nothing else is wrong.
    pub is_known: bool,
    /// Why not.
    pub doubt: Option<Words>,
    /// Orders that were checked.
    pub orders: u64,
    /// Their lines.
    pub lines: u64,
    /// Each of its sources.
    pub sources: Vec<SourceStanding>,
}

/// How far a source was read.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SourceStanding {
    /// Its name.
    pub source: String,
    /// Up to when it was read; null: never to its end.
    pub read_up_to: Option<Moment>,
    /// Whether that is too long ago for the answer to be known.
    pub is_behind: bool,
    /// What is the matter with it.
    pub trouble: Option<Words>,
}

/// What is known of each shop.
pub fn standing(shops: &[Shop], boards: &[Arc<Board>], now: DateTime<Utc>) -> Vec<Standing> {
    let of_shop = |shop: &Shop| {
        let clock = Clock::of_a_reader(shop.zone, now);
        let Some(board) = boards.iter().find(|board| board.round().shop.id == shop.id) else {
            return Standing {
                shop: shop.id.as_str().to_owned(),
                zone: shop.zone.name(),
                as_of: None,
                is_known: false,
                doubt: Some(Words::ours("it has not been looked at yet")),
                orders: 0,
                lines: 0,
                sources: Vec::new(),
            };
        };
        let (round, doubt) = (board.round(), board.doubt());
        let sources = round.sources.iter().map(|read| SourceStanding {
            source: read.source.clone(),
            read_up_to: read.read_up_to.map(|at| Moment::new(at, &clock)),
            is_behind: read.is_behind,
            trouble: read.trouble.as_ref().map(Words::outside),
        });
        Standing {
            shop: shop.id.as_str().to_owned(),
            zone: shop.zone.name(),
            as_of: Some(Moment::new(round.outcome.as_of, &clock)),
            is_known: doubt.is_none(),
            doubt: doubt.map(Words::ours),
            orders: round.outcome.totals.orders,
            lines: round.outcome.totals.lines,
            sources: sources.collect(),
        }
    };
    shops.iter().map(of_shop).collect()
}

/// What keeps it from being known whether all is well: what the digest says too. Also what is set aside leaves doubt.
pub(super) fn doubt(round: &Round) -> Option<&'static str> {
    let outcome = &round.outcome;
    let of_sources =
        outcome.findings.iter().filter(|finding| matches!(finding.evidence, Evidence::Source(_)));
    ShopMorning {
        shop: None,
        outcome: Outcome {
            as_of: outcome.as_of,
            totals: outcome.totals,
            findings: of_sources.cloned().collect(),
            notices: Vec::new(),
            not_judged: outcome.not_judged.clone(),
            rows_skipped: outcome.rows_skipped,
        },
        set_aside: Vec::new(),
        settled: Vec::new(),
        sources: round.sources.clone(),
        measured: Vec::new(),
    }
    .doubt()
}
