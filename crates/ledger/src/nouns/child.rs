//! The rows of one order, submission or parcel, in static SQL.
//!
//! Must not know when they are read. Start reading at [`Child`].

use model::book::{Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine};
use sqlx::SqliteConnection;

use super::{KeptOrder, KeptOrderLine, KeptParcel, KeptParcelLine, KeptSubmission, KeptSubmissionLine, Noun};

/// A row that is found by what it belongs to: a line by its order, a parcel by its submission; an order and a submission
/// by their own keys.
pub(crate) trait Child: Noun {
    /// The rows of a shop that belong to it. `key` holds as many ids as the key of what they belong to; with another
    /// number there are none.
    async fn of(
        connection: &mut SqliteConnection,
        shop: &str,
        key: &[&str],
    ) -> Result<Vec<Self::Kept>, sqlx::Error>;
}

impl Child for Order {
    async fn of(
        connection: &mut SqliteConnection,
        shop: &str,
        key: &[&str],
    ) -> Result<Vec<KeptOrder>, sqlx::Error> {
        let [order_id] = *key else { return Ok(Vec::new()) };
        sqlx::query_as!(
            KeptOrder,
            r#"SELECT order_id, placed_at, paid_at, status, currency, promised_by, ship_to_country, ship_to_digest, updated_at
            FROM orders WHERE shop = $1 AND order_id = $2"#,
            shop, order_id
        )
        .fetch_all(connection)
        .await
    }
}

impl Child for OrderLine {
    async fn of(
        connection: &mut SqliteConnection,
        shop: &str,
        key: &[&str],
    ) -> Result<Vec<KeptOrderLine>, sqlx::Error> {
        let [order_id] = *key else { return Ok(Vec::new()) };
        sqlx::query_as!(
            KeptOrderLine,
            r#"SELECT order_id, line_id, listing_id, sku, title, options, quantity, cancelled_quantity, unit_price, updated_at
            FROM order_lines WHERE shop = $1 AND order_id = $2"#,
            shop, order_id
        )
        .fetch_all(connection)
        .await
    }
}

impl Child for Submission {
    async fn of(
        connection: &mut SqliteConnection,
        shop: &str,
        key: &[&str],
    ) -> Result<Vec<KeptSubmission>, sqlx::Error> {
        let [supplier, submission_id] = *key else { return Ok(Vec::new()) };
        sqlx::query_as!(
            KeptSubmission,
            r#"SELECT supplier, submission_id, order_ref, status, received_at, replaces, updated_at
            FROM submissions WHERE shop = $1 AND supplier = $2 AND submission_id = $3"#,
            shop,
            supplier,
            submission_id
        )
        .fetch_all(connection)
        .await
    }
}

impl Child for SubmissionLine {
    async fn of(
        connection: &mut SqliteConnection,
        shop: &str,
        key: &[&str],
    ) -> Result<Vec<KeptSubmissionLine>, sqlx::Error> {
        let [supplier, submission_id] = *key else { return Ok(Vec::new()) };
        sqlx::query_as!(
            KeptSubmissionLine,
            r#"SELECT supplier, submission_id, line_id, order_ref, order_line_ref, variant_id, sku, quantity, status, unit_cost, updated_at
            FROM submission_lines WHERE shop = $1 AND supplier = $2 AND submission_id = $3"#,
            shop, supplier, submission_id
        )
        .fetch_all(connection)
        .await
    }
}

impl Child for Parcel {
    async fn of(
        connection: &mut SqliteConnection,
        shop: &str,
        key: &[&str],
    ) -> Result<Vec<KeptParcel>, sqlx::Error> {
        let [supplier, submission_id] = *key else { return Ok(Vec::new()) };
        sqlx::query_as!(
            KeptParcel,
            r#"SELECT supplier, parcel_id, submission_id, dispatched_at, carrier, tracking_number
            FROM parcels WHERE shop = $1 AND supplier = $2 AND submission_id = $3"#,
            shop,
            supplier,
            submission_id
        )
        .fetch_all(connection)
        .await
    }
}

impl Child for ParcelLine {
    async fn of(
        connection: &mut SqliteConnection,
        shop: &str,
        key: &[&str],
    ) -> Result<Vec<KeptParcelLine>, sqlx::Error> {
        let [supplier, parcel_id] = *key else { return Ok(Vec::new()) };
        sqlx::query_as!(
            KeptParcelLine,
            r#"SELECT supplier, parcel_id, submission_line_id, quantity
            FROM parcel_lines WHERE shop = $1 AND supplier = $2 AND parcel_id = $3"#,
            shop,
            supplier,
            parcel_id
        )
        .fetch_all(connection)
        .await
    }
}
