//! What the tests of the ledger share: a moment, a shop, a file, findings.

#![allow(dead_code, reason = "it serves several tests")]

use chrono::{DateTime, TimeDelta, Utc};
use ledger::{Known, Ledger};
use model::finding::{Evidence, FindingId, GapEvidence, NamedLine, Reason};
use model::outcome::Totals;
use model::{Check, Finding, Outcome, ShopId};
use tempfile::TempDir;

/// All tables are known.
pub const ALL: Known = Known {
    offers: true,
    variants: true,
    listing_products: true,
    links: true,
    submissions: true,
    parcels: true,
};

pub fn at(minutes: i64) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339("2026-11-25T12:00:00Z").unwrap().to_utc() + TimeDelta::minutes(minutes)
}

pub fn shop() -> ShopId {
    "kittiwake".into()
}

pub async fn open(folder: &TempDir) -> Ledger {
    Ledger::open(&folder.path().join("everyline.ledger")).await.unwrap()
}

pub fn run<F: Future>(test: F) -> F::Output {
    tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap().block_on(test)
}

/// A finding about an order of which these lines are missing, first seen when that began.
pub fn gap(check: Check, order: &str, lines: &[&str], since: DateTime<Utc>) -> Finding {
    let line = |id: &&str| NamedLine {
        line_id: (*id).into(),
        listing_id: None,
        sku: None,
        title: None,
        options: None,
        quantity: 1,
        units: 1,
        reason: Some(Reason::NoLink),
        needs: vec![],
        intended: vec![],
        came_before_link: false,
        not_made_now: Vec::new(),
        unconfirmed: false,
    };
    Finding {
        check,
        id: FindingId::of(check, &[order]),
        order_id: Some(order.into()),
        supplier: None,
        submission_id: None,
        lines: lines.iter().map(line).collect(),
        submission_lines: vec![],
        act_before: None,
        cutoff_passed: false,
        first_seen: since,
        value_at_risk: None,
        evidence: Evidence::Gap(GapEvidence {
            waiting_since: since,
            grace_over: true,
            sent: vec![],
            submissions: vec![],
        }),
    }
}

/// What a round found.
pub fn outcome(findings: &[Finding], as_of: DateTime<Utc>) -> Outcome {
    Outcome {
        as_of,
        totals: Totals::default(),
        findings: findings.to_vec(),
        notices: Vec::new(),
        not_judged: Vec::new(),
        rows_skipped: 0,
    }
}
