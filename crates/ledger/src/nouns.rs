//! The nouns as rows: how each is written, found again and read, in static SQL.
//!
//! Must not know: what a change means, or when a row is read. Start reading at [`Noun`].

mod child;
mod open;

use model::Sku;
use model::book::{
    ListingProduct, Offer, Order, OrderLine, Parcel, ParcelLine, Submission, SubmissionLine, Variant,
};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::text;
pub(crate) use child::Child;
pub(crate) use open::{Open, Subject};

/// From where a row came, and when.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Origin<'a> {
    pub(crate) shop: &'a str,
    pub(crate) source: &'a str,
    pub(crate) request: &'a str,
    pub(crate) seen_at: &'a str,
    /// What time it was by the clock of the source, where it tells.
    pub(crate) source_time: Option<&'a str>,
}

/// A row of which changes are followed.
pub(crate) trait Noun: Sized {
    /// As it is kept.
    type Kept: PartialEq;
    /// What the timeline calls it.
    const NAME: &'static str;

    /// As it is to be kept.
    fn keep(&self) -> Self::Kept;
    /// As it was.
    fn read(kept: Self::Kept) -> Result<Self, LedgerError>;
    /// The ids that name it.
    fn key(kept: &Self::Kept) -> Vec<&str>;
    /// What the timeline follows.
    fn followed(kept: &Self::Kept) -> Vec<(&'static str, Option<String>)>;
    /// The last change, where the table has it.
    fn updated_at(kept: &Self::Kept) -> Option<&str>;
    /// With what the row is closed; nothing where it cannot be.
    fn closed_with(_: &Self::Kept) -> Vec<Subject<'_>> {
        Vec::new()
    }
    /// The row of the same key.
    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &Self::Kept,
    ) -> Result<Option<Self::Kept>, sqlx::Error>;
    /// Writes it, in place of one of the same key.
    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &Self::Kept,
    ) -> Result<(), sqlx::Error>;
    /// All rows of a shop.
    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<Self::Kept>, sqlx::Error>;
}

/// An order.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptOrder {
    order_id: String,
    placed_at: String,
    paid_at: Option<String>,
    status: String,
    currency: Option<String>,
    promised_by: Option<String>,
    ship_to_country: Option<String>,
    ship_to_digest: Option<String>,
    updated_at: Option<String>,
}

impl Noun for Order {
    type Kept = KeptOrder;
    const NAME: &'static str = "order";

    fn keep(&self) -> KeptOrder {
        let row = self;
        KeptOrder {
            order_id: row.order_id.as_str().to_owned(),
            placed_at: text::of_when(row.placed_at),
            paid_at: row.paid_at.map(text::of_when),
            status: text::of_order_status(row.status).to_owned(),
            currency: row.currency.map(|currency| currency.code().to_owned()),
            promised_by: row.promised_by.map(text::of_when),
            ship_to_country: row.ship_to_country.clone(),
            ship_to_digest: row.ship_to_digest.clone(),
            updated_at: row.updated_at.map(text::of_when),
        }
    }

    fn read(kept: KeptOrder) -> Result<Self, LedgerError> {
        Ok(Self {
            order_id: kept.order_id.as_str().into(),
            placed_at: text::to_when(&kept.placed_at)?,
            paid_at: kept.paid_at.as_deref().map(text::to_when).transpose()?,
            status: text::to_order_status(&kept.status)?,
            currency: kept.currency.as_deref().map(text::to_currency).transpose()?,
            promised_by: kept.promised_by.as_deref().map(text::to_when).transpose()?,
            ship_to_country: kept.ship_to_country,
            ship_to_digest: kept.ship_to_digest,
            updated_at: kept.updated_at.as_deref().map(text::to_when).transpose()?,
        })
    }

    fn key(kept: &KeptOrder) -> Vec<&str> {
        vec![&kept.order_id]
    }

    fn followed(kept: &KeptOrder) -> Vec<(&'static str, Option<String>)> {
        vec![
            ("status", Some(kept.status.clone())),
            ("paid_at", kept.paid_at.clone()),
            ("promised_by", kept.promised_by.clone()),
            ("ship_to_digest", kept.ship_to_digest.clone()),
        ]
    }

    fn updated_at(kept: &KeptOrder) -> Option<&str> {
        kept.updated_at.as_deref()
    }

    fn closed_with(kept: &KeptOrder) -> Vec<Subject<'_>> {
        vec![Subject::Order(&kept.order_id), Subject::Word(&kept.order_id)]
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptOrder,
    ) -> Result<Option<KeptOrder>, sqlx::Error> {
        sqlx::query_as!(
            KeptOrder,
            r#"SELECT order_id, placed_at, paid_at, status, currency, promised_by, ship_to_country, ship_to_digest, updated_at
            FROM orders WHERE shop = $1 AND order_id = $2"#,
            shop, kept.order_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptOrder,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO orders (shop, order_id, placed_at, paid_at, status, currency, promised_by, ship_to_country, ship_to_digest, updated_at, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $13)
            ON CONFLICT (shop, order_id) DO UPDATE SET placed_at = excluded.placed_at, paid_at = excluded.paid_at, status = excluded.status, currency = excluded.currency, promised_by = excluded.promised_by, ship_to_country = excluded.ship_to_country, ship_to_digest = excluded.ship_to_digest, updated_at = excluded.updated_at, source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.order_id, kept.placed_at, kept.paid_at, kept.status, kept.currency, kept.promised_by, kept.ship_to_country, kept.ship_to_digest, kept.updated_at,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptOrder>, sqlx::Error> {
        sqlx::query_as!(
            KeptOrder,
            r#"SELECT order_id, placed_at, paid_at, status, currency, promised_by, ship_to_country, ship_to_digest, updated_at
            FROM orders WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// A line of an order.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptOrderLine {
    order_id: String,
    line_id: String,
    listing_id: Option<String>,
    sku: Option<String>,
    title: Option<String>,
    options: Option<String>,
    quantity: i64,
    cancelled_quantity: i64,
    unit_price: Option<String>,
    updated_at: Option<String>,
}

impl Noun for OrderLine {
    type Kept = KeptOrderLine;
    const NAME: &'static str = "order_line";

    fn keep(&self) -> KeptOrderLine {
        let row = self;
        KeptOrderLine {
            order_id: row.order_id.as_str().to_owned(),
            line_id: row.line_id.as_str().to_owned(),
            listing_id: row.listing_id.as_ref().map(|id| id.as_str().to_owned()),
            sku: row.sku.as_ref().map(|sku| sku.as_str().to_owned()),
            title: row.title.clone(),
            options: row.options.as_ref().map(text::of_options),
            quantity: row.quantity.into(),
            cancelled_quantity: row.cancelled_quantity.into(),
            unit_price: row.unit_price.map(|amount| amount.to_string()),
            updated_at: row.updated_at.map(text::of_when),
        }
    }

    fn read(kept: KeptOrderLine) -> Result<Self, LedgerError> {
        Ok(Self {
            order_id: kept.order_id.as_str().into(),
            line_id: kept.line_id.as_str().into(),
            listing_id: kept.listing_id.as_deref().map(Into::into),
            sku: kept.sku.and_then(Sku::new),
            title: kept.title,
            options: kept.options.as_deref().map(text::to_options).transpose()?,
            quantity: text::to_quantity(kept.quantity)?,
            cancelled_quantity: text::to_quantity(kept.cancelled_quantity)?,
            unit_price: kept.unit_price.as_deref().map(text::to_amount).transpose()?,
            updated_at: kept.updated_at.as_deref().map(text::to_when).transpose()?,
        })
    }

    fn key(kept: &KeptOrderLine) -> Vec<&str> {
        vec![&kept.order_id, &kept.line_id]
    }

    fn followed(kept: &KeptOrderLine) -> Vec<(&'static str, Option<String>)> {
        vec![
            ("quantity", Some(kept.quantity.to_string())),
            ("cancelled_quantity", Some(kept.cancelled_quantity.to_string())),
            ("sku", kept.sku.clone()),
        ]
    }

    fn updated_at(kept: &KeptOrderLine) -> Option<&str> {
        kept.updated_at.as_deref()
    }

    fn closed_with(kept: &KeptOrderLine) -> Vec<Subject<'_>> {
        vec![Subject::Order(&kept.order_id)]
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptOrderLine,
    ) -> Result<Option<KeptOrderLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptOrderLine,
            r#"SELECT order_id, line_id, listing_id, sku, title, options, quantity, cancelled_quantity, unit_price, updated_at
            FROM order_lines WHERE shop = $1 AND order_id = $2 AND line_id = $3"#,
            shop, kept.order_id, kept.line_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptOrderLine,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO order_lines (shop, order_id, line_id, listing_id, sku, title, options, quantity, cancelled_quantity, unit_price, updated_at, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $14)
            ON CONFLICT (shop, order_id, line_id) DO UPDATE SET listing_id = excluded.listing_id, sku = excluded.sku, title = excluded.title, options = excluded.options, quantity = excluded.quantity, cancelled_quantity = excluded.cancelled_quantity, unit_price = excluded.unit_price, updated_at = excluded.updated_at, source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.order_id, kept.line_id, kept.listing_id, kept.sku, kept.title, kept.options, kept.quantity, kept.cancelled_quantity, kept.unit_price, kept.updated_at,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptOrderLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptOrderLine,
            r#"SELECT order_id, line_id, listing_id, sku, title, options, quantity, cancelled_quantity, unit_price, updated_at
            FROM order_lines WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// An offer.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptOffer {
    listing_id: String,
    options_key: String,
    options: String,
    sku: Option<String>,
    title: Option<String>,
    price: Option<String>,
    currency: Option<String>,
    buyable: bool,
}

impl Noun for Offer {
    type Kept = KeptOffer;
    const NAME: &'static str = "offer";

    fn keep(&self) -> KeptOffer {
        let row = self;
        KeptOffer {
            listing_id: row.listing_id.as_str().to_owned(),
            options_key: text::of_options_key(&row.options),
            options: text::of_options(&row.options),
            sku: row.sku.as_ref().map(|sku| sku.as_str().to_owned()),
            title: row.title.clone(),
            price: row.price.map(|amount| amount.to_string()),
            currency: row.currency.map(|currency| currency.code().to_owned()),
            buyable: row.buyable,
        }
    }

    fn read(kept: KeptOffer) -> Result<Self, LedgerError> {
        Ok(Self {
            listing_id: kept.listing_id.as_str().into(),
            options: text::to_options(&kept.options)?,
            sku: kept.sku.and_then(Sku::new),
            title: kept.title,
            price: kept.price.as_deref().map(text::to_amount).transpose()?,
            currency: kept.currency.as_deref().map(text::to_currency).transpose()?,
            buyable: kept.buyable,
        })
    }

    fn key(kept: &KeptOffer) -> Vec<&str> {
        vec![&kept.listing_id, &kept.options_key]
    }

    fn followed(kept: &KeptOffer) -> Vec<(&'static str, Option<String>)> {
        vec![("sku", kept.sku.clone()), ("buyable", Some(kept.buyable.to_string()))]
    }

    fn updated_at(_: &KeptOffer) -> Option<&str> {
        None
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptOffer,
    ) -> Result<Option<KeptOffer>, sqlx::Error> {
        sqlx::query_as!(
            KeptOffer,
            r#"SELECT listing_id, options_key, options, sku, title, price, currency, buyable AS "buyable!: bool"
            FROM offers WHERE shop = $1 AND listing_id = $2 AND options_key = $3"#,
            shop,
            kept.listing_id,
            kept.options_key
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptOffer,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO offers (shop, listing_id, options_key, options, sku, title, price, currency, buyable, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $12)
            ON CONFLICT (shop, listing_id, options_key) DO UPDATE SET options = excluded.options, sku = excluded.sku, title = excluded.title, price = excluded.price, currency = excluded.currency, buyable = excluded.buyable, source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.listing_id, kept.options_key, kept.options, kept.sku, kept.title, kept.price, kept.currency, kept.buyable,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptOffer>, sqlx::Error> {
        sqlx::query_as!(
            KeptOffer,
            r#"SELECT listing_id, options_key, options, sku, title, price, currency, buyable AS "buyable!: bool"
            FROM offers WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// A variant.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptVariant {
    supplier: String,
    variant_id: String,
    sku: Option<String>,
    product: Option<String>,
    options: Option<String>,
    unit_cost: Option<String>,
    currency: Option<String>,
    available: bool,
}

impl Noun for Variant {
    type Kept = KeptVariant;
    const NAME: &'static str = "variant";

    fn keep(&self) -> KeptVariant {
        let row = self;
        KeptVariant {
            supplier: row.supplier.as_str().to_owned(),
            variant_id: row.variant_id.as_str().to_owned(),
            sku: row.sku.as_ref().map(|sku| sku.as_str().to_owned()),
            product: row.product.clone(),
            options: row.options.as_ref().map(text::of_options),
            unit_cost: row.unit_cost.map(|amount| amount.to_string()),
            currency: row.currency.map(|currency| currency.code().to_owned()),
            available: row.available,
        }
    }

    fn read(kept: KeptVariant) -> Result<Self, LedgerError> {
        Ok(Self {
            supplier: kept.supplier.as_str().into(),
            variant_id: kept.variant_id.as_str().into(),
            sku: kept.sku.and_then(Sku::new),
            product: kept.product,
            options: kept.options.as_deref().map(text::to_options).transpose()?,
            unit_cost: kept.unit_cost.as_deref().map(text::to_amount).transpose()?,
            currency: kept.currency.as_deref().map(text::to_currency).transpose()?,
            available: kept.available,
        })
    }

    fn key(kept: &KeptVariant) -> Vec<&str> {
        vec![&kept.supplier, &kept.variant_id]
    }

    fn followed(kept: &KeptVariant) -> Vec<(&'static str, Option<String>)> {
        vec![("sku", kept.sku.clone()), ("available", Some(kept.available.to_string()))]
    }

    fn updated_at(_: &KeptVariant) -> Option<&str> {
        None
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptVariant,
    ) -> Result<Option<KeptVariant>, sqlx::Error> {
        sqlx::query_as!(
            KeptVariant,
            r#"SELECT supplier, variant_id, sku, product, options, unit_cost, currency, available AS "available!: bool"
            FROM variants WHERE shop = $1 AND supplier = $2 AND variant_id = $3"#,
            shop, kept.supplier, kept.variant_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptVariant,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO variants (shop, supplier, variant_id, sku, product, options, unit_cost, currency, available, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $12)
            ON CONFLICT (shop, supplier, variant_id) DO UPDATE SET sku = excluded.sku, product = excluded.product, options = excluded.options, unit_cost = excluded.unit_cost, currency = excluded.currency, available = excluded.available, source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.supplier, kept.variant_id, kept.sku, kept.product, kept.options, kept.unit_cost, kept.currency, kept.available,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptVariant>, sqlx::Error> {
        sqlx::query_as!(
            KeptVariant,
            r#"SELECT supplier, variant_id, sku, product, options, unit_cost, currency, available AS "available!: bool"
            FROM variants WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// A product that a listing sells.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptListingProduct {
    listing_id: String,
    supplier: String,
    product: String,
}

impl Noun for ListingProduct {
    type Kept = KeptListingProduct;
    const NAME: &'static str = "listing_product";

    fn keep(&self) -> KeptListingProduct {
        let row = self;
        KeptListingProduct {
            listing_id: row.listing_id.as_str().to_owned(),
            supplier: row.supplier.as_str().to_owned(),
            product: row.product.clone(),
        }
    }

    fn read(kept: KeptListingProduct) -> Result<Self, LedgerError> {
        Ok(Self {
            listing_id: kept.listing_id.as_str().into(),
            supplier: kept.supplier.as_str().into(),
            product: kept.product,
        })
    }

    fn key(kept: &KeptListingProduct) -> Vec<&str> {
        vec![&kept.listing_id, &kept.supplier, &kept.product]
    }

    fn followed(kept: &KeptListingProduct) -> Vec<(&'static str, Option<String>)> {
        let _ = kept;
        Vec::new()
    }

    fn updated_at(_: &KeptListingProduct) -> Option<&str> {
        None
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptListingProduct,
    ) -> Result<Option<KeptListingProduct>, sqlx::Error> {
        sqlx::query_as!(
            KeptListingProduct,
            r#"SELECT listing_id, supplier, product
            FROM listing_products WHERE shop = $1 AND listing_id = $2 AND supplier = $3 AND product = $4"#,
            shop,
            kept.listing_id,
            kept.supplier,
            kept.product
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptListingProduct,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO listing_products (shop, listing_id, supplier, product, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $7)
            ON CONFLICT (shop, listing_id, supplier, product) DO UPDATE SET source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.listing_id, kept.supplier, kept.product,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(
        connection: &mut SqliteConnection,
        shop: &str,
    ) -> Result<Vec<KeptListingProduct>, sqlx::Error> {
        sqlx::query_as!(
            KeptListingProduct,
            r#"SELECT listing_id, supplier, product
            FROM listing_products WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// A submission.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptSubmission {
    supplier: String,
    submission_id: String,
    order_ref: Option<String>,
    status: String,
    received_at: String,
    replaces: Option<String>,
    updated_at: Option<String>,
}

impl Noun for Submission {
    type Kept = KeptSubmission;
    const NAME: &'static str = "submission";

    fn keep(&self) -> KeptSubmission {
        let row = self;
        KeptSubmission {
            supplier: row.supplier.as_str().to_owned(),
            submission_id: row.submission_id.as_str().to_owned(),
            order_ref: row.order_ref.clone(),
            status: text::of_submission_status(row.status).to_owned(),
            received_at: text::of_when(row.received_at),
            replaces: row.replaces.clone(),
            updated_at: row.updated_at.map(text::of_when),
        }
    }

    fn read(kept: KeptSubmission) -> Result<Self, LedgerError> {
        Ok(Self {
            supplier: kept.supplier.as_str().into(),
            submission_id: kept.submission_id.as_str().into(),
            order_ref: kept.order_ref,
            status: text::to_submission_status(&kept.status)?,
            received_at: text::to_when(&kept.received_at)?,
            replaces: kept.replaces,
            updated_at: kept.updated_at.as_deref().map(text::to_when).transpose()?,
        })
    }

    fn key(kept: &KeptSubmission) -> Vec<&str> {
        vec![&kept.supplier, &kept.submission_id]
    }

    fn followed(kept: &KeptSubmission) -> Vec<(&'static str, Option<String>)> {
        vec![("status", Some(kept.status.clone())), ("order_ref", kept.order_ref.clone())]
    }

    fn updated_at(kept: &KeptSubmission) -> Option<&str> {
        kept.updated_at.as_deref()
    }

    fn closed_with(kept: &KeptSubmission) -> Vec<Subject<'_>> {
        vec![Subject::Submission(&kept.supplier, &kept.submission_id)]
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptSubmission,
    ) -> Result<Option<KeptSubmission>, sqlx::Error> {
        sqlx::query_as!(
            KeptSubmission,
            r#"SELECT supplier, submission_id, order_ref, status, received_at, replaces, updated_at
            FROM submissions WHERE shop = $1 AND supplier = $2 AND submission_id = $3"#,
            shop,
            kept.supplier,
            kept.submission_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptSubmission,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO submissions (shop, supplier, submission_id, order_ref, status, received_at, replaces, updated_at, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $11)
            ON CONFLICT (shop, supplier, submission_id) DO UPDATE SET order_ref = excluded.order_ref, status = excluded.status, received_at = excluded.received_at, replaces = excluded.replaces, updated_at = excluded.updated_at, source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.supplier, kept.submission_id, kept.order_ref, kept.status, kept.received_at, kept.replaces, kept.updated_at,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptSubmission>, sqlx::Error> {
        sqlx::query_as!(
            KeptSubmission,
            r#"SELECT supplier, submission_id, order_ref, status, received_at, replaces, updated_at
            FROM submissions WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// A line of a submission.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptSubmissionLine {
    supplier: String,
    submission_id: String,
    line_id: String,
    order_ref: Option<String>,
    order_line_ref: Option<String>,
    variant_id: Option<String>,
    sku: Option<String>,
    quantity: i64,
    status: Option<String>,
    unit_cost: Option<String>,
    updated_at: Option<String>,
}

impl Noun for SubmissionLine {
    type Kept = KeptSubmissionLine;
    const NAME: &'static str = "submission_line";

    fn keep(&self) -> KeptSubmissionLine {
        let row = self;
        KeptSubmissionLine {
            supplier: row.supplier.as_str().to_owned(),
            submission_id: row.submission_id.as_str().to_owned(),
            line_id: row.line_id.as_str().to_owned(),
            order_ref: row.order_ref.clone(),
            order_line_ref: row.order_line_ref.as_ref().map(|id| id.as_str().to_owned()),
            variant_id: row.variant_id.as_ref().map(|id| id.as_str().to_owned()),
            sku: row.sku.as_ref().map(|sku| sku.as_str().to_owned()),
            quantity: row.quantity.into(),
            status: row.status.map(|status| text::of_submission_status(status).to_owned()),
            unit_cost: row.unit_cost.map(|amount| amount.to_string()),
            updated_at: row.updated_at.map(text::of_when),
        }
    }

    fn read(kept: KeptSubmissionLine) -> Result<Self, LedgerError> {
        Ok(Self {
            supplier: kept.supplier.as_str().into(),
            submission_id: kept.submission_id.as_str().into(),
            line_id: kept.line_id.as_str().into(),
            order_ref: kept.order_ref,
            order_line_ref: kept.order_line_ref.as_deref().map(Into::into),
            variant_id: kept.variant_id.as_deref().map(Into::into),
            sku: kept.sku.and_then(Sku::new),
            quantity: text::to_quantity(kept.quantity)?,
            status: kept.status.as_deref().map(text::to_submission_status).transpose()?,
            unit_cost: kept.unit_cost.as_deref().map(text::to_amount).transpose()?,
            updated_at: kept.updated_at.as_deref().map(text::to_when).transpose()?,
        })
    }

    fn key(kept: &KeptSubmissionLine) -> Vec<&str> {
        vec![&kept.supplier, &kept.submission_id, &kept.line_id]
    }

    fn followed(kept: &KeptSubmissionLine) -> Vec<(&'static str, Option<String>)> {
        vec![
            ("status", kept.status.clone()),
            ("quantity", Some(kept.quantity.to_string())),
            ("variant_id", kept.variant_id.clone()),
            ("sku", kept.sku.clone()),
        ]
    }

    fn updated_at(kept: &KeptSubmissionLine) -> Option<&str> {
        kept.updated_at.as_deref()
    }

    fn closed_with(kept: &KeptSubmissionLine) -> Vec<Subject<'_>> {
        vec![Subject::Submission(&kept.supplier, &kept.submission_id)]
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptSubmissionLine,
    ) -> Result<Option<KeptSubmissionLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptSubmissionLine,
            r#"SELECT supplier, submission_id, line_id, order_ref, order_line_ref, variant_id, sku, quantity, status, unit_cost, updated_at
            FROM submission_lines WHERE shop = $1 AND supplier = $2 AND submission_id = $3 AND line_id = $4"#,
            shop, kept.supplier, kept.submission_id, kept.line_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptSubmissionLine,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO submission_lines (shop, supplier, submission_id, line_id, order_ref, order_line_ref, variant_id, sku, quantity, status, unit_cost, updated_at, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $15)
            ON CONFLICT (shop, supplier, submission_id, line_id) DO UPDATE SET order_ref = excluded.order_ref, order_line_ref = excluded.order_line_ref, variant_id = excluded.variant_id, sku = excluded.sku, quantity = excluded.quantity, status = excluded.status, unit_cost = excluded.unit_cost, updated_at = excluded.updated_at, source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.supplier, kept.submission_id, kept.line_id, kept.order_ref, kept.order_line_ref, kept.variant_id, kept.sku, kept.quantity, kept.status, kept.unit_cost, kept.updated_at,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(
        connection: &mut SqliteConnection,
        shop: &str,
    ) -> Result<Vec<KeptSubmissionLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptSubmissionLine,
            r#"SELECT supplier, submission_id, line_id, order_ref, order_line_ref, variant_id, sku, quantity, status, unit_cost, updated_at
            FROM submission_lines WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// A parcel.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptParcel {
    supplier: String,
    parcel_id: String,
    submission_id: String,
    dispatched_at: String,
    carrier: Option<String>,
    tracking_number: Option<String>,
}

impl Noun for Parcel {
    type Kept = KeptParcel;
    const NAME: &'static str = "parcel";

    fn keep(&self) -> KeptParcel {
        let row = self;
        KeptParcel {
            supplier: row.supplier.as_str().to_owned(),
            parcel_id: row.parcel_id.as_str().to_owned(),
            submission_id: row.submission_id.as_str().to_owned(),
            dispatched_at: text::of_when(row.dispatched_at),
            carrier: row.carrier.clone(),
            tracking_number: row.tracking_number.clone(),
        }
    }

    fn read(kept: KeptParcel) -> Result<Self, LedgerError> {
        Ok(Self {
            supplier: kept.supplier.as_str().into(),
            parcel_id: kept.parcel_id.as_str().into(),
            submission_id: kept.submission_id.as_str().into(),
            dispatched_at: text::to_when(&kept.dispatched_at)?,
            carrier: kept.carrier,
            tracking_number: kept.tracking_number,
        })
    }

    fn key(kept: &KeptParcel) -> Vec<&str> {
        vec![&kept.supplier, &kept.parcel_id]
    }

    fn followed(kept: &KeptParcel) -> Vec<(&'static str, Option<String>)> {
        vec![("dispatched_at", Some(kept.dispatched_at.clone()))]
    }

    fn updated_at(_: &KeptParcel) -> Option<&str> {
        None
    }

    fn closed_with(kept: &KeptParcel) -> Vec<Subject<'_>> {
        // As it was, and as it is said to be now.
        vec![
            Subject::Parcel(&kept.supplier, &kept.parcel_id),
            Subject::Submission(&kept.supplier, &kept.submission_id),
        ]
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptParcel,
    ) -> Result<Option<KeptParcel>, sqlx::Error> {
        sqlx::query_as!(
            KeptParcel,
            r#"SELECT supplier, parcel_id, submission_id, dispatched_at, carrier, tracking_number
            FROM parcels WHERE shop = $1 AND supplier = $2 AND parcel_id = $3"#,
            shop,
            kept.supplier,
            kept.parcel_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptParcel,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO parcels (shop, supplier, parcel_id, submission_id, dispatched_at, carrier, tracking_number, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $10)
            ON CONFLICT (shop, supplier, parcel_id) DO UPDATE SET submission_id = excluded.submission_id, dispatched_at = excluded.dispatched_at, carrier = excluded.carrier, tracking_number = excluded.tracking_number, source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.supplier, kept.parcel_id, kept.submission_id, kept.dispatched_at, kept.carrier, kept.tracking_number,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptParcel>, sqlx::Error> {
        sqlx::query_as!(
            KeptParcel,
            r#"SELECT supplier, parcel_id, submission_id, dispatched_at, carrier, tracking_number
            FROM parcels WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}

/// A line of a parcel.
#[derive(PartialEq, Debug)]
pub(crate) struct KeptParcelLine {
    supplier: String,
    parcel_id: String,
    submission_line_id: String,
    quantity: i64,
}

impl Noun for ParcelLine {
    type Kept = KeptParcelLine;
    const NAME: &'static str = "parcel_line";

    fn keep(&self) -> KeptParcelLine {
        let row = self;
        KeptParcelLine {
            supplier: row.supplier.as_str().to_owned(),
            parcel_id: row.parcel_id.as_str().to_owned(),
            submission_line_id: row.submission_line_id.as_str().to_owned(),
            quantity: row.quantity.into(),
        }
    }

    fn read(kept: KeptParcelLine) -> Result<Self, LedgerError> {
        Ok(Self {
            supplier: kept.supplier.as_str().into(),
            parcel_id: kept.parcel_id.as_str().into(),
            submission_line_id: kept.submission_line_id.as_str().into(),
            quantity: text::to_quantity(kept.quantity)?,
        })
    }

    fn key(kept: &KeptParcelLine) -> Vec<&str> {
        vec![&kept.supplier, &kept.parcel_id, &kept.submission_line_id]
    }

    fn followed(kept: &KeptParcelLine) -> Vec<(&'static str, Option<String>)> {
        vec![("quantity", Some(kept.quantity.to_string()))]
    }

    fn updated_at(_: &KeptParcelLine) -> Option<&str> {
        None
    }

    fn closed_with(kept: &KeptParcelLine) -> Vec<Subject<'_>> {
        vec![Subject::Parcel(&kept.supplier, &kept.parcel_id)]
    }

    async fn find(
        connection: &mut SqliteConnection,
        shop: &str,
        kept: &KeptParcelLine,
    ) -> Result<Option<KeptParcelLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptParcelLine,
            r#"SELECT supplier, parcel_id, submission_line_id, quantity
            FROM parcel_lines WHERE shop = $1 AND supplier = $2 AND parcel_id = $3 AND submission_line_id = $4"#,
            shop, kept.supplier, kept.parcel_id, kept.submission_line_id
        )
        .fetch_optional(connection)
        .await
    }

    async fn write(
        connection: &mut SqliteConnection,
        origin: Origin<'_>,
        kept: &KeptParcelLine,
    ) -> Result<(), sqlx::Error> {
        sqlx::query!(
            "INSERT INTO parcel_lines (shop, supplier, parcel_id, submission_line_id, quantity, source, request, first_seen, last_seen)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $8)
            ON CONFLICT (shop, supplier, parcel_id, submission_line_id) DO UPDATE SET quantity = excluded.quantity, source = excluded.source, request = excluded.request, last_seen = excluded.last_seen",
            origin.shop, kept.supplier, kept.parcel_id, kept.submission_line_id, kept.quantity,
            origin.source, origin.request, origin.seen_at
        )
        .execute(connection)
        .await?;
        Ok(())
    }

    async fn all(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<KeptParcelLine>, sqlx::Error> {
        sqlx::query_as!(
            KeptParcelLine,
            r#"SELECT supplier, parcel_id, submission_line_id, quantity
            FROM parcel_lines WHERE shop = $1"#,
            shop
        )
        .fetch_all(connection)
        .await
    }
}
