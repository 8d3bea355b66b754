//! What the tests of the ledger share: a moment, a shop, a file.

use chrono::{DateTime, TimeDelta, Utc};
use ledger::Ledger;
use model::ShopId;
use tempfile::TempDir;

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
