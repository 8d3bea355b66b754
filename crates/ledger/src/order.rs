//! One order with all that belongs to it, side by side.
//!
//! Must not know: how a reference is read; whoever asks says which submissions speak of the order.
//! Start reading at [`of`].

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use model::book::{Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie};
use model::{SubmissionId, SupplierId};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::findings::{self, KeptFinding};
use crate::near::{self, Sent};
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

/// What the timeline calls a submission and what belongs to it, and a parcel: as many names as are asked for at once.
const OF_SUBMISSION: [&str; 4] = ["submission", "submission_line", "submission_line", "submission_line"];
const OF_PARCEL: [&str; 4] = ["parcel", "parcel_line", "parcel_line", "parcel_line"];

/// An order with all that belongs to it; `None` where there is no such order.
pub(crate) async fn of(
    connection: &mut SqliteConnection,
    shop: &str,
    order_id: &str,
    speaks_of_it: impl Fn(&str) -> bool,
    at: DateTime<Utc>,
) -> Result<Option<OrderHistory>, LedgerError> {
    let says_so = |reference: &Option<String>| reference.as_deref().is_some_and(&speaks_of_it);
    let by_line = all(connection, shop, |row: &SubmissionLine| says_so(&row.order_ref)).await?;
    let by_themselves = all(connection, shop, |row: &Submission| says_so(&row.order_ref)).await?;
    let by_line = by_line.into_iter().map(|row| (row.supplier, row.submission_id));
    let submissions = by_themselves.into_iter().map(|row| (row.supplier, row.submission_id)).chain(by_line);
    by_keys(connection, shop, order_id, submissions, at).await
}

/// The same, of the submissions those that are named and those that are tied to the order.
pub(crate) async fn by_keys(
    connection: &mut SqliteConnection,
    shop: &str,
    order_id: &str,
    submissions: impl IntoIterator<Item = (SupplierId, SubmissionId)>,
    at: DateTime<Utc>,
) -> Result<Option<OrderHistory>, LedgerError> {
    let Some(order) = near::one::<Order>(connection, shop, &[order_id]).await? else { return Ok(None) };
    let lines: Vec<OrderLine> = near::of(connection, shop, &[order_id]).await?;
    let ties: Vec<Tie> = near::of(connection, shop, &[order_id]).await?;
    let tied = ties.iter().map(|tie| (tie.supplier.clone(), tie.submission_id.clone()));
    let named: BTreeSet<_> = submissions.into_iter().chain(tied).collect();
    let named: Vec<_> = named.into_iter().collect();
    let sent = near::sent(connection, shop, &named).await?;
    Ok(Some(with_rows(connection, shop, (order, lines, ties), sent, at).await?))
}

/// The same, of rows that have been read.
pub(crate) async fn with_rows(
    connection: &mut SqliteConnection,
    shop: &str,
    (order, mut lines, ties): (Order, Vec<OrderLine>, Vec<Tie>),
    sent: Sent,
    at: DateTime<Utc>,
) -> Result<OrderHistory, LedgerError> {
    let Sent { submissions, lines: mut submission_lines, mut parcels, mut parcel_lines } = sent;
    lines.sort_by(|one, other| one.line_id.cmp(&other.line_id));
    submission_lines.sort_by(|one, other| {
        (&one.supplier, &one.submission_id, &one.line_id).cmp(&(
            &other.supplier,
            &other.submission_id,
            &other.line_id,
        ))
    });
    parcels.sort_by(|one, other| (&one.supplier, &one.parcel_id).cmp(&(&other.supplier, &other.parcel_id)));
    parcel_lines.sort_by(|one, other| {
        (&one.supplier, &one.parcel_id, &one.submission_line_id).cmp(&(
            &other.supplier,
            &other.parcel_id,
            &other.submission_line_id,
        ))
    });

    let order_id = order.order_id.as_str();
    let of_order = ["order", "order_line", "tie", findings::NOUN];
    let mut numbered = timeline::numbered(connection, shop, of_order, &[order_id]).await?;
    for row in &submissions {
        let ids = [row.supplier.as_str(), row.submission_id.as_str()];
        numbered.extend(timeline::numbered(connection, shop, OF_SUBMISSION, &ids).await?);
    }
    for row in &parcels {
        let ids = [row.supplier.as_str(), row.parcel_id.as_str()];
        numbered.extend(timeline::numbered(connection, shop, OF_PARCEL, &ids).await?);
    }
    numbered.sort_by_key(|(number, _)| *number);
    Ok(OrderHistory {
        findings: findings::of_order(connection, shop, order_id, at).await?,
        timeline: numbered.into_iter().map(|(_, entry)| entry).collect(),
        order,
        lines,
        submissions,
        submission_lines,
        parcels,
        parcel_lines,
        ties,
    })
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
