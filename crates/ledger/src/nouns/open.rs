//! The rows of what is not closed, and which group a row belongs to, in static SQL.
//!
//! Must not know when a group is closed or opened again. Start reading at [`Open`] and [`Subject`].

use model::book::{Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Tie};
use sqlx::SqliteConnection;

use super::{KeptOrder, KeptOrderLine, KeptParcel, KeptParcelLine, KeptSubmission, KeptSubmissionLine, Noun};
use crate::keyless::KeptTie;

/// What a row belongs to, and is closed with.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Subject<'a> {
    /// An order.
    Order(&'a str),
    /// A submission, by supplier and id.
    Submission(&'a str, &'a str),
    /// A parcel, by supplier and id.
    Parcel(&'a str, &'a str),
    /// What a reference of it could mean: the id of an order.
    Word(&'a str),
}

/// A row that can be closed.
pub(crate) trait Open: Noun {
    /// The rows of a shop that are not.
    async fn open(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<Self::Kept>, sqlx::Error>;
}

impl Open for Order {
    async fn open(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptOrder>, sqlx::Error> {
        sqlx::query_as!(
            KeptOrder,
            "SELECT order_id, placed_at, paid_at, status, currency, promised_by, ship_to_country, ship_to_digest, updated_at
            FROM orders WHERE shop = $1 AND closed = 0",
            shop
        )
        .fetch_all(connection)
        .await
    }
}

impl Open for OrderLine {
    async fn open(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptOrderLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptOrderLine,
            "SELECT order_id, line_id, listing_id, sku, title, options, quantity, cancelled_quantity, unit_price, updated_at
            FROM order_lines WHERE shop = $1 AND closed = 0",
            shop
        )
        .fetch_all(connection)
        .await
    }
}

impl Open for Submission {
    async fn open(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptSubmission>, sqlx::Error> {
        sqlx::query_as!(
            KeptSubmission,
            "SELECT supplier, submission_id, order_ref, status, received_at, replaces, updated_at
            FROM submissions WHERE shop = $1 AND closed = 0",
            shop
        )
        .fetch_all(connection)
        .await
    }
}

impl Open for SubmissionLine {
    async fn open(
        connection: &mut SqliteConnection,
        shop: &str,
    ) -> Result<Vec<KeptSubmissionLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptSubmissionLine,
            "SELECT supplier, submission_id, line_id, order_ref, order_line_ref, variant_id, sku, quantity, status, unit_cost,
                updated_at
            FROM submission_lines WHERE shop = $1 AND closed = 0",
            shop
        )
        .fetch_all(connection)
        .await
    }
}

impl Open for Parcel {
    async fn open(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptParcel>, sqlx::Error> {
        sqlx::query_as!(
            KeptParcel,
            "SELECT supplier, parcel_id, submission_id, dispatched_at, carrier, tracking_number
            FROM parcels WHERE shop = $1 AND closed = 0",
            shop
        )
        .fetch_all(connection)
        .await
    }
}

impl Open for ParcelLine {
    async fn open(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptParcelLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptParcelLine,
            "SELECT supplier, parcel_id, submission_line_id, quantity FROM parcel_lines WHERE shop = $1 AND closed = 0",
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// A tie is closed with its order.
impl Open for Tie {
    async fn open(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptTie>, sqlx::Error> {
        sqlx::query_as!(
            KeptTie,
            "SELECT t.order_id, t.line_id, t.supplier, t.submission_id, t.submission_line_id
            FROM ties t LEFT JOIN orders o ON o.shop = t.shop AND o.order_id = t.order_id
            WHERE t.shop = $1 AND (o.closed IS NULL OR o.closed = 0)",
            shop
        )
        .fetch_all(connection)
        .await
    }
}
