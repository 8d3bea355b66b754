//! What the records of a list may be, and what meanings their columns can have.
//!
//! Must not know values. Start reading at [`Level`].

use super::lexicon::Meaning;
use crate::tables::Table;

/// What the records of a list are.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Level {
    Orders,
    OrderLines,
    Offers,
    Variants,
    Submissions,
    SubmissionLines,
    Parcels,
    ParcelLines,
    Links,
}

impl Level {
    /// The table that such records are.
    pub(super) fn table(self) -> Table {
        match self {
            Self::Orders => Table::Orders,
            Self::OrderLines => Table::OrderLines,
            Self::Offers => Table::Offers,
            Self::Variants => Table::Variants,
            Self::Submissions => Table::Submissions,
            Self::SubmissionLines => Table::SubmissionLines,
            Self::Parcels => Table::Parcels,
            Self::ParcelLines => Table::ParcelLines,
            Self::Links => Table::Links,
        }
    }

    /// The meanings of its columns that are kept; any other is there to be told from them.
    pub(super) fn meanings(self) -> &'static [Meaning] {
        match self {
            Self::Orders => &[
                "order_id",
                "placed_at",
                "paid_at",
                "order_status",
                "payment_status",
                "dispatch_status",
                "cancelled_at",
                "currency",
                "promised_by",
                "ship_to_country",
                "updated_at",
                "dispatched_at",
            ],
            Self::OrderLines => &[
                "order_id",
                "line_id",
                "listing_id",
                "sku",
                "title",
                "quantity",
                "cancelled_quantity",
                "unit_price",
            ],
            Self::Offers => &["listing_id", "sku", "title", "price", "currency", "buyable"],
            Self::Variants => &["variant_id", "sku", "product", "unit_cost", "currency", "available"],
            Self::Submissions => &[
                "submission_id",
                "order_ref",
                "submission_status",
                "received_at",
                "replaces",
                "updated_at",
                "cancelled_at",
                "dispatched_at",
                "carrier",
                "tracking_number",
                "parcel_id",
            ],
            Self::SubmissionLines => &[
                "submission_id",
                "order_ref",
                "order_line_ref",
                "line_id",
                "variant_id",
                "sku",
                "quantity",
                "line_status",
                "unit_cost",
            ],
            Self::Parcels => &["parcel_id", "submission_id", "dispatched_at", "carrier", "tracking_number"],
            Self::ParcelLines => &["parcel_id", "line_id", "quantity"],
            Self::Links => &["sku", "variant_id", "quantity"],
        }
    }

    /// The one that names a record.
    pub(super) fn own_id(self) -> Option<Meaning> {
        match self {
            Self::Orders => Some("order_id"),
            Self::Variants => Some("variant_id"),
            Self::Submissions => Some("submission_id"),
            Self::Parcels => Some("parcel_id"),
            Self::OrderLines | Self::SubmissionLines => Some("line_id"),
            Self::Offers | Self::ParcelLines | Self::Links => None,
        }
    }

    /// Whether its records are a supplier's.
    pub(super) fn is_of_supplier(self) -> bool {
        matches!(
            self,
            Self::Variants
                | Self::Submissions
                | Self::SubmissionLines
                | Self::Parcels
                | Self::ParcelLines
                | Self::Links
        )
    }

    /// Other meanings that its own take words from: what an order is to a shop, its job is to a supplier.
    pub(super) fn also(self, meaning: Meaning) -> &'static [Meaning] {
        match (self.is_of_supplier(), meaning) {
            (false, "unit_price") => &["price"],
            (false, "price") => &["unit_price"],
            (_, "title") => &["product"],
            (true, "product") => &["title", "garment"],
            (false, "product") => &["title"],
            (true, "unit_cost") => &["unit_price", "price"],
            (true, "submission_id") => &["order_id"],
            (true, "received_at") => &["placed_at"],
            (true, "submission_status" | "line_status") => &["order_status", "submission_status"],
            (true, "available") => &["buyable"],
            (false, "buyable") => &["available"],
            (true, "variant_id") => &["listing_id"],
            _ => &[],
        }
    }

    /// Whether a column of its records can have a meaning, ours or another: those of the other side are no others.
    pub(super) fn can_mean(self, meaning: Meaning) -> bool {
        if self == Self::ParcelLines && !self.meanings().contains(&meaning) {
            return matches!(meaning, "weight" | "note" | "unit");
        }
        if matches!(meaning, "orders" | "lines" | "listings" | "offers" | "variants" | "parcels" | "garment")
        {
            return false;
        }
        // A catalogue knows no orders.
        if self == Self::Variants
            && matches!(meaning, "order_ref" | "order_line_ref" | "submission_id" | "replaces")
        {
            return false;
        }
        // The state of a record is no other record's.
        let is_state = matches!(
            meaning,
            "order_status" | "payment_status" | "dispatch_status" | "submission_status" | "line_status"
        );
        if self.is_of_supplier() && is_state && !self.meanings().contains(&meaning) {
            return false;
        }
        let of_supplier = matches!(
            meaning,
            "submission_id"
                | "order_ref"
                | "order_line_ref"
                | "received_at"
                | "submission_status"
                | "line_status"
                | "variant_id"
                | "product"
                | "unit_cost"
                | "available"
                | "replaces"
                | "made_at"
        );
        let of_shop = matches!(
            meaning,
            "order_id"
                | "placed_at"
                | "order_status"
                | "listing_id"
                | "unit_price"
                | "price"
                | "title"
                | "buyable"
        );
        let is_own = self.meanings().contains(&meaning);
        is_own
            || !(of_supplier || of_shop)
            || (of_shop && !self.is_of_supplier() && !self.also_any(meaning))
            || (of_supplier && self.is_of_supplier() && !self.also_any(meaning))
    }

    fn also_any(self, meaning: Meaning) -> bool {
        self.meanings().iter().any(|own| self.also(own).contains(&meaning))
    }

    /// The meaning of the name of a list of such records, and what one is called.
    pub(super) fn list_meanings(self) -> (&'static [Meaning], &'static str) {
        match self {
            Self::Orders => (&["orders", "order_id"], "order"),
            Self::Submissions => (&["orders", "submission_id", "order_id"], "order"),
            Self::OrderLines | Self::SubmissionLines => (&["lines", "line_id"], "line"),
            Self::Offers => (&["listing_id", "listings", "offers"], "offer"),
            Self::Variants => (&["variant_id", "product", "variants"], "variant"),
            Self::Parcels => (&["parcels", "parcel_id"], "parcel"),
            Self::ParcelLines => (&["lines", "line_id"], "line"),
            Self::Links => (&["sku"], "link"),
        }
    }
}
