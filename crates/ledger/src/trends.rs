//! What happened on each of many days: orders, findings, rates, and how long suppliers took.
//!
//! Must not know how it is told, or which days there are: whoever asks says when each begins. Start reading at
//! [`Ledger::trends`].

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use futures_util::TryStreamExt as _;
use model::rates::Rates;
use model::waits::Waits;
use model::{Check, ShopId, SupplierId};
use sqlx::SqliteConnection;

use crate::Ledger;
use crate::error::LedgerError;
use crate::rates::{of_spans, span_of};
use crate::text;

/// What happened on a day.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct DaySums {
    /// Orders that were placed.
    pub orders: u64,
    /// Of these, those that are cancelled or not paid now.
    pub not_live: u64,
    /// How well it went with them, as things stand now; and what was repaired on that day.
    pub rates: Rates,
    /// Findings that were seen for the first time.
    pub found: BTreeMap<Check, u64>,
    /// How long the supplier orders received on that day waited for their first parcel. Those that are cancelled or rejected
    /// do not count.
    pub waits: BTreeMap<SupplierId, Waits>,
}

impl Ledger {
    /// When the first order of all that are kept was placed.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn first_placed(&self, shop: &ShopId) -> Result<Option<DateTime<Utc>>, LedgerError> {
        let shop = shop.as_str();
        let first = sqlx::query_scalar!(
            r#"SELECT MIN(placed_at) AS "first?: String" FROM orders WHERE shop = $1"#,
            shop
        )
        .fetch_one(&self.readers)
        .await?;
        Ok(first.as_deref().map(text::to_when).transpose()?.map(|placed| placed.begins()))
    }

    /// How many orders were placed from a moment on, until another.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn placed_between(
        &self,
        shop: &ShopId,
        from: DateTime<Utc>,
        until: DateTime<Utc>,
    ) -> Result<u64, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        let (orders, _) = placed(&mut connection, shop.as_str(), from, until).await?;
        Ok(orders)
    }

    /// What happened on each day, as it stands at the end of the last one; `bounds` has the beginning of each and the end of
    /// the last. Of orders placed before `report_from` there are no rates. At `at` supplier orders of which no parcel has gone
    /// wait still.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn trends(
        &self,
        shop: &ShopId,
        bounds: &[DateTime<Utc>],
        report_from: DateTime<Utc>,
        at: DateTime<Utc>,
    ) -> Result<Vec<DaySums>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        let (connection, shop) = (&mut *transaction, shop.as_str());
        let rates = of_spans(connection, shop, bounds, report_from).await?;
        let mut days: Vec<DaySums> =
            rates.into_iter().map(|rates| DaySums { rates, ..DaySums::default() }).collect();
        let (Some(first), Some(end)) = (bounds.first(), bounds.last()) else { return Ok(days) };
        for (day, span) in days.iter_mut().zip(bounds.windows(2)) {
            (day.orders, day.not_live) = placed(connection, shop, span[0], span[1]).await?;
        }
        let (from, until) = (text::of_moment(*first), text::of_moment(*end));
        find(connection, shop, (&from, &until), bounds, &mut days).await?;
        wait(connection, shop, (&from, &until), bounds, at, &mut days).await?;
        Ok(days)
    }
}

/// Orders placed in a span, and how many of them are cancelled or not paid.
async fn placed(
    connection: &mut SqliteConnection,
    shop: &str,
    from: DateTime<Utc>,
    until: DateTime<Utc>,
) -> Result<(u64, u64), LedgerError> {
    let (from, until) = (text::of_moment(from), text::of_moment(until));
    let row = sqlx::query!(
        r#"SELECT COUNT(*) AS "orders!: i64",
            coalesce(SUM(CASE WHEN status IN ('open', 'dispatched') THEN 0 ELSE 1 END), 0) AS "not_live!: i64"
        FROM orders WHERE shop = $1 AND placed_at >= $2 AND placed_at < $3"#,
        shop,
        from,
        until
    )
    .fetch_one(connection)
    .await?;
    Ok((row.orders.unsigned_abs(), row.not_live.unsigned_abs()))
}

/// Counts findings on the days on which they were first seen.
async fn find(
    connection: &mut SqliteConnection,
    shop: &str,
    (from, until): (&str, &str),
    bounds: &[DateTime<Utc>],
    days: &mut [DaySums],
) -> Result<(), LedgerError> {
    let mut rows = sqlx::query!(
        "SELECT finding_check, first_seen FROM findings WHERE shop = $1 AND first_seen >= $2 AND first_seen < $3",
        shop,
        from,
        until
    )
    .fetch(connection);
    while let Some(row) = rows.try_next().await? {
        // A check that a later version had says nothing here.
        let Ok(check) = row.finding_check.parse::<Check>() else { continue };
        let seen = text::to_moment(&row.first_seen)?;
        if let Some(day) = span_of(bounds, days, seen) {
            *day.found.entry(check).or_default() += 1;
        }
    }
    Ok(())
}

/// Counts how long supplier orders waited, on the days on which they were received.
async fn wait(
    connection: &mut SqliteConnection,
    shop: &str,
    (from, until): (&str, &str),
    bounds: &[DateTime<Utc>],
    at: DateTime<Utc>,
    days: &mut [DaySums],
) -> Result<(), LedgerError> {
    let mut rows = sqlx::query!(
        r#"SELECT s.supplier, s.received_at, s.status,
            (SELECT MIN(p.dispatched_at) FROM parcels p WHERE p.shop = s.shop AND p.supplier = s.supplier
                AND p.submission_id = s.submission_id) AS "dispatched_at?: String"
        FROM submissions s WHERE s.shop = $1 AND s.received_at >= $2 AND s.received_at < $3
            AND s.status NOT IN ('cancelled', 'rejected')"#,
        shop,
        from,
        until
    )
    .fetch(connection);
    while let Some(row) = rows.try_next().await? {
        let received = text::to_when(&row.received_at)?.begins();
        let Some(day) = span_of(bounds, days, received) else { continue };
        let waits = day.waits.entry(row.supplier.as_str().into()).or_default();
        let dispatched = row.dispatched_at.as_deref().map(text::to_when).transpose()?;
        // Where only the day is known, it went at some time of that day: its end makes nobody quicker than they were.
        match dispatched.map(|dispatched| dispatched.ends()).filter(|dispatched| *dispatched <= at) {
            Some(dispatched) => waits.add_over(dispatched - received),
            None if dispatched.is_none() && row.status == "dispatched" => waits.undated += 1,
            None => waits.add_open((at - received).max(TimeDelta::zero())),
        }
    }
    Ok(())
}
