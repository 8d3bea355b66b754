//! What changed, and when it was seen.
//!
//! Must not know: which rows belong together. Start reading at [`Entry`].

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use model::OrderId;
use sqlx::SqliteConnection;

use crate::commit::list;
use crate::error::LedgerError;
use crate::text;

/// One change of a row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Entry {
    /// What kind of row: `order`, `order_line`, `submission`, `submission_line`, `parcel`, …
    pub noun: String,
    /// The ids that name it.
    pub ids: Vec<String>,
    /// Which field; `row` for the row itself.
    pub field: String,
    /// What it was; `None` where there was nothing.
    pub was: Option<String>,
    /// What it became; `None` where there is nothing any more.
    pub became: Option<String>,
    /// When that was seen.
    pub seen_at: DateTime<Utc>,
    /// At which source.
    pub source: String,
}

/// The changes of rows of a noun whose key begins with these ids, in the order in which they were seen.
pub(crate) async fn of(
    connection: &mut SqliteConnection,
    shop: &str,
    noun: &str,
    ids: &[&str],
) -> Result<Vec<Entry>, LedgerError> {
    let numbered = numbered(connection, shop, [noun; 4], ids).await?;
    Ok(numbered.into_iter().map(|(_, entry)| entry).collect())
}

/// Likewise of several nouns, each change with its number: what has a smaller one was seen before.
pub(crate) async fn numbered(
    connection: &mut SqliteConnection,
    shop: &str,
    [noun, second, third, fourth]: [&str; 4],
    ids: &[&str],
) -> Result<Vec<(i64, Entry)>, LedgerError> {
    let whole = list(ids);
    let open = whole.strip_suffix(']').unwrap_or_default();
    // Behind the last of the ids a key has a comma or ends with a bracket, and nothing else that lies between these; without
    // ids, all keys. One span, so that it is looked up: of two joined by OR, all rows of the noun would be read.
    let (from, to) = match ids {
        [] => ("[".to_owned(), "\\".to_owned()),
        _ => (format!("{open},"), format!("{open}^")),
    };
    let rows = sqlx::query!(
        "SELECT number, noun, row_key, field, was, became, seen_at, source FROM changes
        WHERE shop = $1 AND noun IN ($2, $3, $4, $5) AND row_key >= $6 AND row_key < $7 ORDER BY number",
        shop,
        noun,
        second,
        third,
        fourth,
        from,
        to
    )
    .fetch_all(connection)
    .await?;
    rows.into_iter()
        .map(|row| {
            let entry = Entry {
                noun: row.noun,
                ids: serde_json::from_str(&row.row_key)
                    .map_err(|_| LedgerError::Strange { found: row.row_key, expected: "a list of ids" })?,
                field: row.field,
                was: row.was,
                became: row.became,
                seen_at: text::to_moment(&row.seen_at)?,
                source: row.source,
            };
            Ok((row.number, entry))
        })
        .collect()
}

/// The orders of which the address is another than it was, each with when that was last seen.
pub(crate) async fn address_changes(
    connection: &mut SqliteConnection,
    shop: &str,
) -> Result<BTreeMap<OrderId, DateTime<Utc>>, LedgerError> {
    let rows = sqlx::query!(
        "SELECT row_key, seen_at FROM changes
        WHERE shop = $1 AND noun = 'order' AND field = 'ship_to_digest' AND was IS NOT NULL AND became IS NOT NULL
        ORDER BY number",
        shop
    )
    .fetch_all(connection)
    .await?;
    let mut changes = BTreeMap::new();
    for row in rows {
        let ids: Vec<String> = serde_json::from_str(&row.row_key)
            .map_err(|_| LedgerError::Strange { found: row.row_key, expected: "a list of ids" })?;
        if let [order_id] = &ids[..] {
            changes.insert(order_id.as_str().into(), text::to_moment(&row.seen_at)?);
        }
    }
    Ok(changes)
}
