//! How asking each source went: when it answered last, what is the matter, when it is asked again.
//!
//! Must not know: how a source is asked. Start reading at [`Asking`].

use chrono::{DateTime, Utc};
use model::{ShopId, SourceId};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::text;

/// How asking a request of a source went.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Asking {
    /// Whose source it is.
    pub shop: ShopId,
    /// The source.
    pub source: SourceId,
    /// The request of it.
    pub request: String,
    /// When it was asked last.
    pub asked_at: DateTime<Utc>,
    /// When it answered as it should, for the last time.
    pub answered_at: Option<DateTime<Utc>>,
    /// Since when it does not.
    pub failing_since: Option<DateTime<Utc>>,
    /// What is the matter.
    pub trouble: Option<Trouble>,
    /// When it is asked again.
    pub next_at: Option<DateTime<Utc>>,
    /// How many records it counts itself, and how many were read, where it counts.
    pub counted: Option<(u64, u64)>,
}

/// What is the matter with a source.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Trouble {
    /// Its kind, a word that whoever asks sources chooses.
    pub kind: String,
    /// In words.
    pub words: String,
}

/// How far a request of a source was read, and how asking it went.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SourceState {
    /// How asking it went.
    pub asking: Asking,
    /// Up to when it has been read; `None` where it never was to the end.
    pub read_up_to: Option<DateTime<Utc>>,
}

/// Notes how asking went; what is `None` of `answered_at` stays as it was.
pub(crate) async fn note(connection: &mut SqliteConnection, asking: &Asking) -> Result<(), LedgerError> {
    let (shop, source, request) = (asking.shop.as_str(), asking.source.as_str(), &asking.request);
    let asked_at = text::of_moment(asking.asked_at);
    let answered_at = asking.answered_at.map(text::of_moment);
    let failing_since = asking.failing_since.map(text::of_moment);
    let next_at = asking.next_at.map(text::of_moment);
    let (kind, words) = asking.trouble.as_ref().map(|trouble| (&trouble.kind, &trouble.words)).unzip();
    let (there, here) = asking.counted.map(|(there, here)| (there as i64, here as i64)).unzip();
    sqlx::query!(
        "INSERT INTO askings (shop, source, request, asked_at, answered_at, failing_since, trouble, kind, next_at,
            counted_there, counted_here)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
        ON CONFLICT (shop, source, request) DO UPDATE SET asked_at = excluded.asked_at,
            answered_at = coalesce(excluded.answered_at, askings.answered_at),
            failing_since = CASE WHEN excluded.failing_since IS NULL THEN NULL
                ELSE coalesce(askings.failing_since, excluded.failing_since) END,
            trouble = excluded.trouble, kind = excluded.kind, next_at = excluded.next_at,
            counted_there = excluded.counted_there, counted_here = excluded.counted_here",
        shop,
        source,
        request,
        asked_at,
        answered_at,
        failing_since,
        words,
        kind,
        next_at,
        there,
        here
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// All of a shop, by source and request.
pub(crate) async fn all(
    connection: &mut SqliteConnection,
    shop: &ShopId,
) -> Result<Vec<SourceState>, LedgerError> {
    let of = shop.as_str();
    let rows = sqlx::query!(
        r#"SELECT a.source, a.request, a.asked_at, a.answered_at, a.failing_since, a.trouble, a.kind, a.next_at,
            a.counted_there, a.counted_here, m.read_up_to AS "read_up_to?"
        FROM askings a LEFT JOIN marks m ON m.shop = a.shop AND m.source = a.source AND m.request = a.request
        WHERE a.shop = $1 ORDER BY a.source, a.request"#,
        of
    )
    .fetch_all(connection)
    .await?;
    let moment = |text: Option<String>| text.as_deref().map(text::to_moment).transpose();
    rows.into_iter()
        .map(|row| {
            let counted = row.counted_there.zip(row.counted_here);
            let trouble = row.kind.zip(row.trouble).map(|(kind, words)| Trouble { kind, words });
            Ok(SourceState {
                asking: Asking {
                    shop: shop.clone(),
                    source: row.source.as_str().into(),
                    request: row.request,
                    asked_at: text::to_moment(&row.asked_at)?,
                    answered_at: moment(row.answered_at)?,
                    failing_since: moment(row.failing_since)?,
                    trouble,
                    next_at: moment(row.next_at)?,
                    counted: counted.map(|(there, here)| (there.unsigned_abs(), here.unsigned_abs())),
                },
                read_up_to: moment(row.read_up_to)?,
            })
        })
        .collect()
}
