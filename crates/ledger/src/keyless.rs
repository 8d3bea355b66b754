//! Links and ties as rows: a part of their key may be empty, and is kept as an empty text, so that it can be a part of
//! the key.
//!
//! Must not know: what a change means. Start reading at [`KeptLink`].

use model::Sku;
use model::book::{LinkRow, LinkScope, Tie};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::nouns::{Child, Noun, Origin, Subject};
use crate::text;

/// A part of a link.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptLink {
    listing_id: String,
    sku_key: String,
    sku: String,
    options_key: String,
    options: String,
    supplier: String,
    variant_id: String,
    units: i64,
    in_force: bool,
}

impl Noun for LinkRow {
    type Kept = KeptLink;
    const NAME: &'static str = "link";

    fn keep(&self) -> KeptLink {
        let (listing_id, sku, options) = match &self.scope {
            LinkScope::Offer(listing, options) => (listing.as_str(), None, Some(options)),
            LinkScope::Sku(sku) => ("", Some(sku), None),
            LinkScope::Listing(listing) => (listing.as_str(), None, None),
        };
        KeptLink {
            listing_id: listing_id.to_owned(),
            sku_key: sku.map_or_else(String::new, |sku| sku.folded().to_owned()),
            sku: sku.map_or_else(String::new, |sku| sku.as_str().to_owned()),
            options_key: options.map_or_else(String::new, text::of_options_key),
            options: options.map_or_else(String::new, text::of_options),
            supplier: self.supplier.as_str().to_owned(),
            variant_id: self.variant_id.as_ref().map_or_else(String::new, |id| id.as_str().to_owned()),
            units: self.units.into(),
            in_force: self.in_force,
        }
    }

    fn read(kept: KeptLink) -> Result<Self, LedgerError> {
        let scope = match Sku::new(kept.sku) {
            Some(sku) => LinkScope::Sku(sku),
            None if kept.options.is_empty() => LinkScope::Listing(kept.listing_id.as_str().into()),
            None => LinkScope::Offer(kept.listing_id.as_str().into(), text::to_options(&kept.options)?),
        };
        Ok(Self {
            scope,
            supplier: kept.supplier.as_str().into(),
            variant_id: (!kept.variant_id.is_empty()).then(|| kept.variant_id.as_str().into()),
            units: text::to_quantity(kept.units)?,
            in_force: kept.in_force,
        })
    }

    fn key(kept: &KeptLink) -> Vec<&str> {
        vec![&kept.listing_id, &kept.sku_key, &kept.options_key, &kept.supplier, &kept.variant_id]
    }

    fn followed(kept: &KeptLink) -> Vec<(&'static str, Option<String>)> {
        vec![("units", Some(kept.units.to_string())), ("in_force", Some(kept.in_force.to_string()))]
    }

    fn updated_at(_: &KeptLink) -> Option<&str> {
        None
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptLink,
    ) -> Result<Option<KeptLink>, sqlx::Error> {
        sqlx::query_as!(
            KeptLink,
            r#"SELECT listing_id, sku_key, sku, options_key, options, supplier, variant_id, units, in_force AS "in_force!: bool"
            FROM links WHERE shop = $1 AND listing_id = $2 AND sku_key = $3 AND options_key = $4 AND supplier = $5
                AND variant_id = $6"#,
            shop,
            kept.listing_id,
            kept.sku_key,
            kept.options_key,
            kept.supplier,
            kept.variant_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptLink,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO links (shop, listing_id, sku_key, sku, options_key, options, supplier, variant_id, units,
                in_force, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $13)
            ON CONFLICT (shop, listing_id, sku_key, options_key, supplier, variant_id)
            DO UPDATE SET sku = excluded.sku, options = excluded.options, units = excluded.units, in_force = excluded.in_force, source = excluded.source,
                request = excluded.request, last_seen = excluded.last_seen",
            origin.shop,
            kept.listing_id,
            kept.sku_key,
            kept.sku,
            kept.options_key,
            kept.options,
            kept.supplier,
            kept.variant_id,
            kept.units,
            kept.in_force,
            origin.source,
            origin.request,
            origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptLink>, sqlx::Error> {
        sqlx::query_as!(
            KeptLink,
            r#"SELECT listing_id, sku_key, sku, options_key, options, supplier, variant_id, units, in_force AS "in_force!: bool"
            FROM links WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// The owner's word on a submission made by hand.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptTie {
    pub(crate) order_id: String,
    pub(crate) line_id: String,
    pub(crate) supplier: String,
    pub(crate) submission_id: String,
    pub(crate) submission_line_id: String,
}

impl Noun for Tie {
    type Kept = KeptTie;
    const NAME: &'static str = "tie";

    fn keep(&self) -> KeptTie {
        KeptTie {
            order_id: self.order_id.as_str().to_owned(),
            line_id: self.line_id.as_str().to_owned(),
            supplier: self.supplier.as_str().to_owned(),
            submission_id: self.submission_id.as_str().to_owned(),
            submission_line_id: self
                .submission_line_id
                .as_ref()
                .map_or_else(String::new, |id| id.as_str().to_owned()),
        }
    }

    fn read(kept: KeptTie) -> Result<Self, LedgerError> {
        Ok(Self {
            order_id: kept.order_id.as_str().into(),
            line_id: kept.line_id.as_str().into(),
            supplier: kept.supplier.as_str().into(),
            submission_id: kept.submission_id.as_str().into(),
            submission_line_id: (!kept.submission_line_id.is_empty())
                .then(|| kept.submission_line_id.as_str().into()),
        })
    }

    fn key(kept: &KeptTie) -> Vec<&str> {
        vec![&kept.order_id, &kept.line_id, &kept.supplier, &kept.submission_id, &kept.submission_line_id]
    }

    fn followed(_: &KeptTie) -> Vec<(&'static str, Option<String>)> {
        Vec::new()
    }

    fn updated_at(_: &KeptTie) -> Option<&str> {
        None
    }

    fn closed_with(kept: &KeptTie) -> Vec<Subject<'_>> {
        vec![Subject::Order(&kept.order_id), Subject::Submission(&kept.supplier, &kept.submission_id)]
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptTie,
    ) -> Result<Option<KeptTie>, sqlx::Error> {
        sqlx::query_as!(
            KeptTie,
            "SELECT order_id, line_id, supplier, submission_id, submission_line_id
            FROM ties WHERE shop = $1 AND order_id = $2 AND line_id = $3 AND supplier = $4 AND submission_id = $5
                AND submission_line_id = $6",
            shop,
            kept.order_id,
            kept.line_id,
            kept.supplier,
            kept.submission_id,
            kept.submission_line_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptTie,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO ties (shop, order_id, line_id, supplier, submission_id, submission_line_id, source, request,
                first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $9)
            ON CONFLICT (shop, order_id, line_id, supplier, submission_id, submission_line_id)
            DO UPDATE SET source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop,
            kept.order_id,
            kept.line_id,
            kept.supplier,
            kept.submission_id,
            kept.submission_line_id,
            origin.source,
            origin.request,
            origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptTie>, sqlx::Error> {
        sqlx::query_as!(
            KeptTie,
            "SELECT order_id, line_id, supplier, submission_id, submission_line_id FROM ties WHERE shop = $1",
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// The ties of an order.
impl Child for Tie {
    async fn of(
        connection: &mut SqliteConnection,
        shop: &str,
        key: &[&str],
    ) -> Result<Vec<KeptTie>, sqlx::Error> {
        let [order_id] = *key else { return Ok(Vec::new()) };
        sqlx::query_as!(
            KeptTie,
            "SELECT order_id, line_id, supplier, submission_id, submission_line_id FROM ties
            WHERE shop = $1 AND order_id = $2",
            shop,
            order_id
        )
        .fetch_all(connection)
        .await
    }
}
