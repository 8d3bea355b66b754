//! One order with all that belongs to it, side by side.
//!
//! Must not know: how a reference is read; whoever asks says which submissions speak of the order.
//! Start reading at [`of`].

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use model::book::{Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::findings::{self, KeptFinding};
use crate::nouns::Noun;
use crate::timeline::{self, Entry};

/// An order, what was sent for it, what became of all of it, and what was found. Rows are by their keys.
#[derive(Clone, PartialEq, Debug)]
pub struct OrderHistory {
    /// The order.
    pub order: Order,
    /// Its lines.
    pub lines: Vec<OrderLine>,
    /// The submissions of which a reference, their own or one of their lines', speaks of it, and those tied to it.
    pub submissions: Vec<Submission>,
    /// All lines of these, also those for other orders.
    pub submission_lines: Vec<SubmissionLine>,
    /// The parcels of these.
    pub parcels: Vec<Parcel>,
    /// The lines of the parcels.
    pub parcel_lines: Vec<ParcelLine>,
    /// The owner's word on it.
    pub ties: Vec<Tie>,
    /// What changed of all these, and what became of the findings, in the order in which it was seen.
    pub timeline: Vec<Entry>,
    /// What was found of it, also what has settled.
    pub findings: Vec<KeptFinding>,
}

/// An order with all that belongs to it; `None` where there is no such order.
pub(crate) async fn of(
    connection: &mut SqliteConnection,
    shop: &str,
    order_id: &str,
    speaks_of_it: impl Fn(&str) -> bool,
    at: DateTime<Utc>,
) -> Result<Option<OrderHistory>, LedgerError> {
    let mut orders: Vec<Order> =
        all(connection, shop, |row: &Order| row.order_id.as_str() == order_id).await?;
    let Some(order) = orders.pop() else { return Ok(None) };
    let lines = all(connection, shop, |row: &OrderLine| row.order_id.as_str() == order_id).await?;
    let ties = all(connection, shop, |row: &Tie| row.order_id.as_str() == order_id).await?;
    let says_so = |reference: &Option<String>| reference.as_deref().is_some_and(&speaks_of_it);
    let by_line: Vec<SubmissionLine> =
        all(connection, shop, |row: &SubmissionLine| says_so(&row.order_ref)).await?;
    let named: BTreeSet<_> = by_line
        .into_iter()
        .map(|row| (row.supplier, row.submission_id))
        .chain(ties.iter().map(|tie| (tie.supplier.clone(), tie.submission_id.clone())))
        .collect();
    let submissions = all(connection, shop, |row: &Submission| {
        says_so(&row.order_ref) || named.contains(&(row.supplier.clone(), row.submission_id.clone()))
    })
    .await?;
    let sent: BTreeSet<_> =
        submissions.iter().map(|row| (row.supplier.clone(), row.submission_id.clone())).collect();
    let submission_lines = all(connection, shop, |row: &SubmissionLine| {
        sent.contains(&(row.supplier.clone(), row.submission_id.clone()))
    })
    .await?;
    let parcels = all(connection, shop, |row: &Parcel| {
        sent.contains(&(row.supplier.clone(), row.submission_id.clone()))
    })
    .await?;
    let packed: BTreeSet<_> =
        parcels.iter().map(|row: &Parcel| (row.supplier.clone(), row.parcel_id.clone())).collect();
    let parcel_lines = all(connection, shop, |row: &ParcelLine| {
        packed.contains(&(row.supplier.clone(), row.parcel_id.clone()))
    })
    .await?;
    let mut subjects: Vec<(&str, Vec<&str>)> = ["order", "order_line", "tie", findings::NOUN]
        .into_iter()
        .map(|noun| (noun, vec![order_id]))
        .collect();
    for (supplier, submission_id) in &sent {
        for noun in ["submission", "submission_line"] {
            subjects.push((noun, vec![supplier.as_str(), submission_id.as_str()]));
        }
    }
    for (supplier, parcel_id) in &packed {
        for noun in ["parcel", "parcel_line"] {
            subjects.push((noun, vec![supplier.as_str(), parcel_id.as_str()]));
        }
    }
    let mut numbered = Vec::new();
    for (noun, ids) in subjects {
        numbered.extend(timeline::numbered(connection, shop, noun, &ids).await?);
    }
    numbered.sort_by_key(|(number, _)| *number);
    let mut findings = findings::list(connection, shop, false, at).await?;
    findings.retain(|finding| finding.order_id.as_deref() == Some(order_id));
    Ok(Some(OrderHistory {
        order,
        lines,
        submissions,
        submission_lines,
        parcels,
        parcel_lines,
        ties,
        timeline: numbered.into_iter().map(|(_, entry)| entry).collect(),
        findings,
    }))
}

/// The rows of a shop that belong to it.
async fn all<N: Noun>(
    connection: &mut SqliteConnection,
    shop: &str,
    belongs: impl Fn(&N) -> bool,
) -> Result<Vec<N>, LedgerError> {
    let rows = N::all(connection, shop).await?.into_iter().map(N::read);
    rows.filter(|row| row.as_ref().map_or(true, &belongs)).collect()
}
