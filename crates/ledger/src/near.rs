//! Some orders and submissions by their keys, with all that belongs to them, without a look at the other rows.
//!
//! Must not know which submissions are for which order: whoever asks says so. Start reading at [`Ledger::order_near`].

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use model::book::{Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie};
use model::{Book, OrderId, ShopId, SubmissionId, SupplierId};
use sqlx::SqliteConnection;

use crate::Ledger;
use crate::error::LedgerError;
use crate::nouns::Child;
use crate::order::{self, OrderHistory};

impl Ledger {
    /// One order as [`Self::order`] has it, of the submissions those of `own` and those that are tied to it, and the rows of all
    /// these orders and submissions, at one moment, as tables. What is not kept is left out; offers, variants and links are
    /// not there. `None` where the order is not kept.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn order_near(
        &self,
        shop: &ShopId,
        order_id: &OrderId,
        connected: &Connected<'_>,
        at: DateTime<Utc>,
    ) -> Result<Option<(OrderHistory, Book)>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        let (connection, shop) = (&mut *transaction, shop.as_str());
        let mut book = Book::default();
        let mut ties = Vec::new();
        for order in connected.orders {
            let key = [order.as_str()];
            book.orders.extend(one::<Order>(connection, shop, &key).await?);
            book.order_lines.extend(of::<OrderLine>(connection, shop, &key).await?);
            ties.extend(of::<Tie>(connection, shop, &key).await?);
        }
        let Some(order) = book.orders.iter().find(|row| row.order_id == *order_id).cloned() else {
            return Ok(None);
        };
        let lines = book.order_lines.iter().filter(|row| row.order_id == *order_id).cloned().collect();
        let own_ties: Vec<Tie> = ties.iter().filter(|tie| tie.order_id == *order_id).cloned().collect();
        // A tie may be younger than what is known of what belongs together.
        let tied = own_ties.iter().map(|tie| (tie.supplier.clone(), tie.submission_id.clone()));
        let own: BTreeSet<_> = connected.own.iter().cloned().chain(tied).collect();
        let group: BTreeSet<_> = connected.submissions.iter().cloned().collect();
        let all: Vec<_> = group.union(&own).cloned().collect();
        let sent = sent(connection, shop, &all).await?;
        let history = order::with_rows(connection, shop, (order, lines, own_ties), sent.of(&own), at).await?;
        let sent = sent.of(&group);
        book.submissions = Some(sent.submissions);
        book.submission_lines = Some(sent.lines);
        book.parcels = Some(sent.parcels);
        book.parcel_lines = Some(sent.parcel_lines);
        book.ties = Some(ties);
        Ok(Some((history, book)))
    }
}

/// Orders and submissions that belong together.
#[derive(Clone, Copy, Debug)]
pub struct Connected<'a> {
    /// The orders, the one that is asked for among them.
    pub orders: &'a [OrderId],
    /// The submissions.
    pub submissions: &'a [(SupplierId, SubmissionId)],
    /// Of these, those that speak of the order that is asked for.
    pub own: &'a [(SupplierId, SubmissionId)],
}

/// Submissions with all that belongs to them.
pub(crate) struct Sent {
    pub(crate) submissions: Vec<Submission>,
    pub(crate) lines: Vec<SubmissionLine>,
    pub(crate) parcels: Vec<Parcel>,
    pub(crate) parcel_lines: Vec<ParcelLine>,
}

impl Sent {
    /// Some of the submissions, by supplier and id, with all that belongs to these.
    fn of(&self, keys: &BTreeSet<(SupplierId, SubmissionId)>) -> Self {
        let is_one =
            |supplier: &SupplierId, id: &SubmissionId| keys.contains(&(supplier.clone(), id.clone()));
        let submissions = self.submissions.iter().filter(|row| is_one(&row.supplier, &row.submission_id));
        let lines = self.lines.iter().filter(|row| is_one(&row.supplier, &row.submission_id));
        let parcels = self.parcels.iter().filter(|row| is_one(&row.supplier, &row.submission_id));
        let parcels: Vec<_> = parcels.cloned().collect();
        let packed: BTreeSet<_> = parcels.iter().map(|row| (&row.supplier, &row.parcel_id)).collect();
        let parcel_lines =
            self.parcel_lines.iter().filter(|row| packed.contains(&(&row.supplier, &row.parcel_id)));
        Self {
            submissions: submissions.cloned().collect(),
            lines: lines.cloned().collect(),
            parcel_lines: parcel_lines.cloned().collect(),
            parcels,
        }
    }
}

/// The submissions of these keys that are kept, with all that belongs to them.
pub(crate) async fn sent(
    connection: &mut SqliteConnection,
    shop: &str,
    submissions: &[(SupplierId, SubmissionId)],
) -> Result<Sent, LedgerError> {
    let mut sent =
        Sent { submissions: Vec::new(), lines: Vec::new(), parcels: Vec::new(), parcel_lines: Vec::new() };
    let mut packed = BTreeSet::new();
    for (supplier, submission_id) in submissions {
        let key = [supplier.as_str(), submission_id.as_str()];
        sent.submissions.extend(one::<Submission>(connection, shop, &key).await?);
        sent.lines.extend(of::<SubmissionLine>(connection, shop, &key).await?);
        for parcel in of::<Parcel>(connection, shop, &key).await? {
            if packed.insert((parcel.supplier.clone(), parcel.parcel_id.clone())) {
                let key = [parcel.supplier.as_str(), parcel.parcel_id.as_str()];
                sent.parcel_lines.extend(of::<ParcelLine>(connection, shop, &key).await?);
            }
            sent.parcels.push(parcel);
        }
    }
    Ok(sent)
}

/// The row of a key.
pub(crate) async fn one<N: Child>(
    connection: &mut SqliteConnection,
    shop: &str,
    key: &[&str],
) -> Result<Option<N>, LedgerError> {
    Ok(of(connection, shop, key).await?.pop())
}

/// The rows that belong to what has a key.
pub(crate) async fn of<N: Child>(
    connection: &mut SqliteConnection,
    shop: &str,
    key: &[&str],
) -> Result<Vec<N>, LedgerError> {
    N::of(connection, shop, key).await?.into_iter().map(N::read).collect()
}
