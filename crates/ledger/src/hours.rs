//! How asking each source went, hour by hour, over some weeks.
//!
//! Must not know: how a source is asked, or what a gap is. Start reading at [`AskingHour`].

use chrono::{DateTime, DurationRound, TimeDelta, Utc};
use model::{Batch, ShopId, SourceId};
use sqlx::SqliteConnection;

use crate::asking::Asking;
use crate::commit::Changed;
use crate::error::LedgerError;
use crate::text;

/// How long an hour is kept: some days more than a page shows.
const KEPT: TimeDelta = TimeDelta::days(21);

/// How a request of a source was asked in one hour.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct AskingHour {
    /// The source.
    pub source: SourceId,
    /// The request of it.
    pub request: String,
    /// When the hour began.
    pub hour: DateTime<Utc>,
    /// How often it was asked.
    pub asked: u64,
    /// How often it answered as it should.
    pub answered: u64,
    /// Rows that came and were new, or another than before.
    pub records: u64,
}

/// Counts that a request was asked, and forgets its hours of long ago.
pub(crate) async fn count(connection: &mut SqliteConnection, asking: &Asking) -> Result<(), LedgerError> {
    let answered = i64::from(asking.answered_at.is_some());
    let of = (asking.shop.as_str(), asking.source.as_str(), asking.request.as_str());
    add(connection, of, asking.asked_at, [1, answered, 0]).await?;
    let (shop, source, request) = of;
    let until = text::of_moment(asking.asked_at.checked_sub_signed(KEPT).unwrap_or(asking.asked_at));
    sqlx::query!(
        "DELETE FROM asking_hours WHERE shop = $1 AND source = $2 AND request = $3 AND hour < $4",
        shop,
        source,
        request,
        until
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// Counts the rows of a batch.
pub(crate) async fn count_rows(
    connection: &mut SqliteConnection,
    batch: &Batch,
    changed: &Changed,
) -> Result<(), LedgerError> {
    let records = i64::try_from(changed.appeared + changed.changed).unwrap_or(i64::MAX);
    if records == 0 {
        return Ok(());
    }
    let of = (batch.shop.as_str(), batch.source.as_str(), batch.request.as_str());
    add(connection, of, batch.seen_at, [0, 0, records]).await
}

async fn add(
    connection: &mut SqliteConnection,
    (shop, source, request): (&str, &str, &str),
    at: DateTime<Utc>,
    [asked, answered, records]: [i64; 3],
) -> Result<(), LedgerError> {
    let hour = text::of_moment(at.duration_trunc(TimeDelta::hours(1)).unwrap_or(at));
    sqlx::query!(
        "INSERT INTO asking_hours (shop, source, request, hour, asked, answered, records)
        VALUES ($1, $2, $3, $4, $5, $6, $7)
        ON CONFLICT (shop, source, request, hour) DO UPDATE SET asked = asking_hours.asked + excluded.asked,
            answered = asking_hours.answered + excluded.answered, records = asking_hours.records + excluded.records",
        shop,
        source,
        request,
        hour,
        asked,
        answered,
        records
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// All of a shop from a moment on, by source, request and hour.
pub(crate) async fn since(
    connection: &mut SqliteConnection,
    shop: &ShopId,
    since: DateTime<Utc>,
) -> Result<Vec<AskingHour>, LedgerError> {
    let (shop, since) = (shop.as_str(), text::of_moment(since));
    let rows = sqlx::query!(
        "SELECT source, request, hour, asked, answered, records FROM asking_hours
        WHERE shop = $1 AND hour >= $2 ORDER BY source, request, hour",
        shop,
        since
    )
    .fetch_all(connection)
    .await?;
    let hour = |row: &str| text::to_moment(row);
    rows.into_iter()
        .map(|row| {
            Ok(AskingHour {
                source: row.source.as_str().into(),
                hour: hour(&row.hour)?,
                request: row.request,
                asked: row.asked.unsigned_abs(),
                answered: row.answered.unsigned_abs(),
                records: row.records.unsigned_abs(),
            })
        })
        .collect()
}
