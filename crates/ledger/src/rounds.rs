//! When a shop was judged.
//!
//! Start reading at [`Rounds`].

use chrono::{DateTime, Utc};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::text;

/// When a shop was judged.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rounds {
    /// For the first time.
    pub first_at: DateTime<Utc>,
    /// For the last time.
    pub last_at: DateTime<Utc>,
    /// The moment for which it was judged then.
    pub as_of: DateTime<Utc>,
}

/// Notes a round.
pub(crate) async fn note(
    connection: &mut SqliteConnection,
    shop: &str,
    at: DateTime<Utc>,
    as_of: DateTime<Utc>,
) -> Result<(), LedgerError> {
    let (at, as_of) = (text::of_moment(at), text::of_moment(as_of));
    sqlx::query!(
        "INSERT INTO rounds (shop, first_at, last_at, as_of) VALUES ($1, $2, $2, $3)
        ON CONFLICT (shop) DO UPDATE SET last_at = excluded.last_at, as_of = excluded.as_of",
        shop,
        at,
        as_of
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// The rounds of a shop; `None` before the first.
pub(crate) async fn of(connection: &mut SqliteConnection, shop: &str) -> Result<Option<Rounds>, LedgerError> {
    let row = sqlx::query!("SELECT first_at, last_at, as_of FROM rounds WHERE shop = $1", shop)
        .fetch_optional(connection)
        .await?;
    let Some(row) = row else { return Ok(None) };
    Ok(Some(Rounds {
        first_at: text::to_moment(&row.first_at)?,
        last_at: text::to_moment(&row.last_at)?,
        as_of: text::to_moment(&row.as_of)?,
    }))
}
