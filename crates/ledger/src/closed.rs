//! What is over for good: groups of orders and submissions that are closed, and open again by themselves where a row of theirs
//! changes.
//!
//! Must not know when something is over: whoever closes a group says so. What is written here is written in the transaction
//! of what made it necessary, so that no row can change unseen. Start reading at [`close`]; [`touched`] is the other way.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use model::{Book, ClosedGroup, OrderId, Settled, SubmissionId, SupplierId};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::nouns::Subject;
use crate::{Known, text};

/// What is open of a shop, and what the rest adds, at one moment.
#[derive(Clone, Debug)]
pub struct OpenBook {
    /// The rows of what is open, with all offers, variants, products and links.
    pub book: Book,
    /// By what the closed groups were closed; empty where there are none.
    pub basis: String,
    /// What they add.
    pub settled: Settled,
    /// When the first order was placed, open or closed.
    pub first_placed: Option<DateTime<Utc>>,
    /// How many orders, open or closed, were placed before the first submission was received.
    pub orders_before: u64,
    /// Becomes another one with each change of a row.
    pub version: i64,
}

/// What a shop's closed groups were closed by, and what they add.
pub(crate) struct Sums {
    pub(crate) basis: String,
    last_number: i64,
    pub(crate) settled: Settled,
}

/// The basis of no judgement.
const UNREADABLE: &str = "unreadable";

pub(crate) async fn sums(connection: &mut SqliteConnection, shop: &str) -> Result<Option<Sums>, LedgerError> {
    let row = sqlx::query!("SELECT basis, last_number, settled FROM closed_shops WHERE shop = $1", shop)
        .fetch_optional(connection)
        .await?;
    let Some(row) = row else { return Ok(None) };
    let last_number = row.last_number;
    // Sums that cannot be read are nobody's: whoever judges finds another basis, and opens everything.
    Ok(Some(match serde_json::from_str(&row.settled) {
        Ok(settled) => Sums { basis: row.basis, last_number, settled },
        Err(_) => Sums { basis: UNREADABLE.to_owned(), last_number, settled: Settled::default() },
    }))
}

async fn write_sums(connection: &mut SqliteConnection, shop: &str, sums: &Sums) -> Result<(), LedgerError> {
    let settled = of_settled(&sums.settled);
    sqlx::query!(
        "INSERT INTO closed_shops (shop, basis, last_number, settled) VALUES ($1, $2, $3, $4)
        ON CONFLICT (shop)
        DO UPDATE SET basis = excluded.basis, last_number = excluded.last_number, settled = excluded.settled",
        shop,
        sums.basis,
        sums.last_number,
        settled
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// The number that becomes another one with each change of a row.
pub(crate) async fn version(connection: &mut SqliteConnection, shop: &str) -> Result<i64, LedgerError> {
    let version = sqlx::query_scalar!("SELECT version FROM rows_versions WHERE shop = $1", shop)
        .fetch_optional(connection)
        .await?;
    Ok(version.unwrap_or_default())
}

/// Notes that rows of a shop changed.
pub(crate) async fn changed(connection: &mut SqliteConnection, shop: &str) -> Result<(), LedgerError> {
    sqlx::query!(
        "INSERT INTO rows_versions (shop, version) VALUES ($1, 1)
        ON CONFLICT (shop) DO UPDATE SET version = rows_versions.version + 1",
        shop
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// When the first order was placed, and how many were before the first submission was received.
pub(crate) async fn first(
    connection: &mut SqliteConnection,
    shop: &str,
    known: Known,
) -> Result<(Option<DateTime<Utc>>, u64), LedgerError> {
    let placed = sqlx::query_scalar!(
        r#"SELECT placed_at FROM orders WHERE shop = $1 ORDER BY placed_at LIMIT 1"#,
        shop
    )
    .fetch_optional(&mut *connection)
    .await?;
    let received = sqlx::query_scalar!(
        r#"SELECT received_at FROM submissions WHERE shop = $1 ORDER BY received_at LIMIT 1"#,
        shop
    )
    .fetch_optional(&mut *connection)
    .await?;
    let begins = |text: String| text::to_when(&text).map(|when| when.begins());
    let placed = placed.map(begins).transpose()?;
    let Some(received) = received.map(begins).transpose()?.filter(|_| known.submissions) else {
        return Ok((placed, 0));
    };
    let received = text::of_moment(received);
    let before = sqlx::query_scalar!(
        r#"SELECT COUNT(*) AS "before!: i64" FROM orders WHERE shop = $1 AND placed_at < $2"#,
        shop,
        received
    )
    .fetch_one(connection)
    .await?;
    Ok((placed, u64::try_from(before).unwrap_or_default()))
}

/// Closes groups, where nothing of the shop changed since `version`, and what is closed already was by the same basis; answers
/// whether. A group of which a part is closed already is left alone.
pub(crate) async fn close(
    connection: &mut SqliteConnection,
    shop: &str,
    (basis, at_version): (&str, i64),
    groups: &[ClosedGroup],
) -> Result<bool, LedgerError> {
    if version(connection, shop).await? != at_version {
        return Ok(false);
    }
    let mut sums = match sums(connection, shop).await? {
        Some(sums) if sums.basis != basis => return Ok(false),
        Some(sums) => sums,
        None => Sums { basis: basis.to_owned(), last_number: 0, settled: Settled::default() },
    };
    for group in groups {
        if !numbers_of_group(connection, shop, group).await?.is_empty() {
            continue;
        }
        sums.last_number += 1;
        sums.settled.add(&group.settled);
        mark(connection, shop, &group.orders, &group.submissions, sums.last_number).await?;
        let (orders, submissions) = (of_orders(&group.orders), of_submissions(&group.submissions));
        let settled = of_settled(&group.settled);
        sqlx::query!(
            "INSERT INTO closed_groups (shop, number, orders, submissions, settled) VALUES ($1, $2, $3, $4, $5)",
            shop,
            sums.last_number,
            orders,
            submissions,
            settled
        )
        .execute(&mut *connection)
        .await?;
        for word in &group.words {
            sqlx::query!(
                "INSERT INTO closed_words (shop, word, number) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING",
                shop,
                word,
                sums.last_number
            )
            .execute(&mut *connection)
            .await?;
        }
    }
    write_sums(connection, shop, &sums).await?;
    Ok(true)
}

/// Opens a group again. Where the group, or the sum of all, is not what it must be, everything of the shop is opened: it is
/// judged anew, and nothing waits for a repair.
pub(crate) async fn open(
    connection: &mut SqliteConnection,
    shop: &str,
    number: i64,
) -> Result<(), LedgerError> {
    let Some((orders, submissions, settled)) = group(connection, shop, number).await? else {
        return open_all(connection, shop).await;
    };
    let sums = sums(connection, shop).await?;
    let left = sums.and_then(|sums| Some(Sums { settled: sums.settled.without(&settled)?, ..sums }));
    let Some(left) = left else { return open_all(connection, shop).await };
    mark(connection, shop, &orders, &submissions, 0).await?;
    sqlx::query!("DELETE FROM closed_words WHERE shop = $1 AND number = $2", shop, number)
        .execute(&mut *connection)
        .await?;
    sqlx::query!("DELETE FROM closed_groups WHERE shop = $1 AND number = $2", shop, number)
        .execute(&mut *connection)
        .await?;
    write_sums(connection, shop, &left).await
}

/// Opens everything of a shop again.
pub(crate) async fn open_all(connection: &mut SqliteConnection, shop: &str) -> Result<(), LedgerError> {
    macro_rules! open_rows {
        ($($table:literal)*) => {$(
            sqlx::query!("UPDATE " + $table + " SET closed = 0 WHERE shop = $1 AND closed <> 0", shop)
                .execute(&mut *connection)
                .await?;
        )*};
    }
    macro_rules! forget {
        ($($table:literal)*) => {$(
            sqlx::query!("DELETE FROM " + $table + " WHERE shop = $1", shop).execute(&mut *connection).await?;
        )*};
    }
    open_rows!("orders" "order_lines" "submissions" "submission_lines" "parcels" "parcel_lines");
    forget!("closed_words" "closed_groups" "closed_shops");
    Ok(())
}

/// Whether anything of a shop is closed.
pub(crate) async fn is_any(connection: &mut SqliteConnection, shop: &str) -> Result<bool, LedgerError> {
    let found = sqlx::query_scalar!("SELECT number FROM closed_groups WHERE shop = $1 LIMIT 1", shop)
        .fetch_optional(connection)
        .await?;
    Ok(found.is_some())
}

/// Opens the groups of what a row that changes belongs to.
pub(crate) async fn touched(
    connection: &mut SqliteConnection,
    shop: &str,
    subjects: &[Subject<'_>],
) -> Result<(), LedgerError> {
    let mut numbers = BTreeSet::new();
    for subject in subjects {
        numbers.extend(numbers_of(connection, shop, *subject).await?);
    }
    for number in numbers {
        open(connection, shop, number).await?;
    }
    Ok(())
}

/// The groups of orders of these ids.
pub(crate) async fn numbers_of_orders(
    connection: &mut SqliteConnection,
    shop: &str,
    ids: &BTreeSet<String>,
) -> Result<BTreeSet<i64>, LedgerError> {
    let mut numbers = BTreeSet::new();
    for id in ids {
        numbers.extend(numbers_of(connection, shop, Subject::Order(id)).await?);
    }
    Ok(numbers)
}

/// The orders and submissions that are closed with an order.
pub(crate) async fn group_of_order(
    connection: &mut SqliteConnection,
    shop: &str,
    order_id: &str,
) -> Result<Option<(Vec<OrderId>, Vec<(SupplierId, SubmissionId)>)>, LedgerError> {
    let numbers = numbers_of(connection, shop, Subject::Order(order_id)).await?;
    let Some(number) = numbers.first() else { return Ok(None) };
    let group = group(connection, shop, *number).await?;
    Ok(group.map(|(orders, submissions, _)| (orders, submissions)))
}

async fn numbers_of(
    connection: &mut SqliteConnection,
    shop: &str,
    subject: Subject<'_>,
) -> Result<Vec<i64>, LedgerError> {
    macro_rules! numbers {
        ($query:literal $(, $key:expr)*) => {
            sqlx::query_scalar!($query, shop $(, $key)*).fetch_all(connection).await?
        };
    }
    let mut numbers = match subject {
        Subject::Order(id) => numbers!("SELECT closed FROM orders WHERE shop = $1 AND order_id = $2", id),
        Subject::Submission(supplier, id) => numbers!(
            "SELECT closed FROM submissions WHERE shop = $1 AND supplier = $2 AND submission_id = $3",
            supplier,
            id
        ),
        Subject::Parcel(supplier, id) => {
            numbers!(
                "SELECT closed FROM parcels WHERE shop = $1 AND supplier = $2 AND parcel_id = $3",
                supplier,
                id
            )
        }
        Subject::Word(word) => {
            numbers!("SELECT number FROM closed_words WHERE shop = $1 AND word = $2", word)
        }
    };
    numbers.retain(|number| *number != 0);
    Ok(numbers)
}

async fn numbers_of_group(
    connection: &mut SqliteConnection,
    shop: &str,
    group: &ClosedGroup,
) -> Result<BTreeSet<i64>, LedgerError> {
    let mut numbers = BTreeSet::new();
    for order in &group.orders {
        numbers.extend(numbers_of(connection, shop, Subject::Order(order.as_str())).await?);
    }
    for (supplier, id) in &group.submissions {
        let subject = Subject::Submission(supplier.as_str(), id.as_str());
        numbers.extend(numbers_of(connection, shop, subject).await?);
    }
    Ok(numbers)
}

/// Gives all rows of orders and submissions a number.
async fn mark(
    connection: &mut SqliteConnection,
    shop: &str,
    orders: &[OrderId],
    submissions: &[(SupplierId, SubmissionId)],
    number: i64,
) -> Result<(), LedgerError> {
    macro_rules! mark_rows {
        ($($table:literal of $of:literal ($($key:expr),*))*) => {$(
            sqlx::query!("UPDATE " + $table + " SET closed = $2 WHERE shop = $1 AND " + $of, shop, number $(, $key)*)
                .execute(&mut *connection)
                .await?;
        )*};
    }
    for order in orders {
        let order_id = order.as_str();
        mark_rows!(
            "orders" of "order_id = $3" (order_id)
            "order_lines" of "order_id = $3" (order_id)
        );
    }
    for (supplier, submission_id) in submissions {
        let (supplier, submission_id) = (supplier.as_str(), submission_id.as_str());
        mark_rows!(
            "submissions" of "supplier = $3 AND submission_id = $4" (supplier, submission_id)
            "submission_lines" of "supplier = $3 AND submission_id = $4" (supplier, submission_id)
            "parcels" of "supplier = $3 AND submission_id = $4" (supplier, submission_id)
            "parcel_lines" of
                "supplier = $3 AND parcel_id IN (SELECT parcel_id FROM parcels WHERE shop = $1 AND supplier = $3
                    AND submission_id = $4)"
                (supplier, submission_id)
        );
    }
    Ok(())
}

type Members = (Vec<OrderId>, Vec<(SupplierId, SubmissionId)>, Settled);

async fn group(
    connection: &mut SqliteConnection,
    shop: &str,
    number: i64,
) -> Result<Option<Members>, LedgerError> {
    let row = sqlx::query!(
        "SELECT orders, submissions, settled FROM closed_groups WHERE shop = $1 AND number = $2",
        shop,
        number
    )
    .fetch_optional(connection)
    .await?;
    // What cannot be read is as good as not there.
    let Some(row) = row else { return Ok(None) };
    let orders: Option<Vec<OrderId>> = serde_json::from_str(&row.orders).ok();
    let submissions: Option<Vec<(SupplierId, SubmissionId)>> = serde_json::from_str(&row.submissions).ok();
    let settled: Option<Settled> = serde_json::from_str(&row.settled).ok();
    Ok(orders
        .zip(submissions)
        .zip(settled)
        .map(|((orders, submissions), settled)| (orders, submissions, settled)))
}

fn of_orders(orders: &[OrderId]) -> String {
    let ids: Vec<&str> = orders.iter().map(OrderId::as_str).collect();
    serde_json::Value::from(ids).to_string()
}

fn of_submissions(submissions: &[(SupplierId, SubmissionId)]) -> String {
    let pairs = submissions.iter().map(|(supplier, id)| vec![supplier.as_str(), id.as_str()]);
    serde_json::Value::from(pairs.collect::<Vec<_>>()).to_string()
}

fn of_settled(settled: &Settled) -> String {
    serde_json::to_string(settled).unwrap_or_default()
}
