//! Some orders and submissions by their keys, with all that belongs to them, without a look at the other rows.
//!
//! Must not know which submissions are for which order: whoever asks says so. Start reading at [`Ledger::near`].

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
    /// One order as [`Self::order`] has it, of the submissions those that are named and those that are tied to it; one
    /// that is not kept is left out.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn order_by_keys(
        &self,
        shop: &ShopId,
        order_id: &OrderId,
        submissions: &[(SupplierId, SubmissionId)],
        at: DateTime<Utc>,
    ) -> Result<Option<OrderHistory>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        order::by_keys(&mut transaction, shop.as_str(), order_id.as_str(), submissions.iter().cloned(), at)
            .await
    }

    /// The rows of some orders and submissions, at one moment, as tables. What is not kept is left out; offers, variants
    /// and links are not there.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn near(
        &self,
        shop: &ShopId,
        orders: &[OrderId],
        submissions: &[(SupplierId, SubmissionId)],
    ) -> Result<Book, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        let (connection, shop) = (&mut *transaction, shop.as_str());
        let mut book = Book::default();
        let mut ties = Vec::new();
        for order_id in orders {
            let key = [order_id.as_str()];
            book.orders.extend(one::<Order>(connection, shop, &key).await?);
            book.order_lines.extend(of::<OrderLine>(connection, shop, &key).await?);
            ties.extend(of::<Tie>(connection, shop, &key).await?);
        }
        let sent = sent(connection, shop, submissions).await?;
        book.submissions = Some(sent.submissions);
        book.submission_lines = Some(sent.lines);
        book.parcels = Some(sent.parcels);
        book.parcel_lines = Some(sent.parcel_lines);
        book.ties = Some(ties);
        Ok(book)
    }
}

/// Submissions with all that belongs to them.
pub(crate) struct Sent {
    pub(crate) submissions: Vec<Submission>,
    pub(crate) lines: Vec<SubmissionLine>,
    pub(crate) parcels: Vec<Parcel>,
    pub(crate) parcel_lines: Vec<ParcelLine>,
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
