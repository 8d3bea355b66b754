//! Cells to the rows of the book, table by table: what a row says, its key, what it names.
//!
//! Must not know: files, or other rows. Source: README.md, 'The tables'. Start reading at [`TableRow`].

use std::fmt;

use model::book::{
    LinkRow, LinkScope, ListingProduct, Offer, Order, OrderLine, OrderStatus, Parcel, ParcelLine, Submission,
    SubmissionLine, SubmissionStatus, Tie, Variant,
};
use model::{LineId, ListingId, Options, OrderId, ParcelId, Sku, SubmissionId, SupplierId, VariantId, When};

use crate::bad_row::{Fault, shown};
use crate::cells::{Cells, MAX_QUANTITY, MAX_UNITS};
use crate::skipped::Names;
use crate::tables::{Column, Table};

/// A row of one table.
///
/// Two rows are the same where they are equal; SKUs and options are where they fold to the same. `Debug` tells
/// apart what is spelled differently.
pub(crate) trait TableRow: Sized + PartialEq + fmt::Debug + 'static {
    /// The table.
    const TABLE: Table;
    /// What tells its rows apart.
    type Key<'a>: Ord
    where
        Self: 'a;

    /// Reads a row.
    fn read(cells: &Cells<'_>) -> Result<Self, Fault>;
    /// The key.
    fn key(&self) -> Self::Key<'_>;
    /// The key as a person reads it: `order_id "1001", line_id "2"`.
    fn key_text(&self) -> String;
    /// The last change, in tables that have it.
    fn updated_at(&self) -> Option<When> {
        None
    }
    /// What it says of other rows.
    fn names(&self) -> Names {
        Names::default()
    }
}

fn key_text(parts: &[(Column, Option<&str>)]) -> String {
    let given =
        parts.iter().filter_map(|(column, text)| Some(format!("{} {}", column.name(), shown((*text)?))));
    given.collect::<Vec<_>>().join(", ")
}

pub(crate) const ORDER_STATUSES: &[(&str, OrderStatus)] = &[
    ("unpaid", OrderStatus::Unpaid),
    ("open", OrderStatus::Open),
    ("dispatched", OrderStatus::Dispatched),
    ("cancelled", OrderStatus::Cancelled),
];

pub(crate) const SUBMISSION_STATUSES: &[(&str, SubmissionStatus)] = &[
    ("received", SubmissionStatus::Received),
    ("held", SubmissionStatus::Held),
    ("making", SubmissionStatus::Making),
    ("dispatched", SubmissionStatus::Dispatched),
    ("cancelled", SubmissionStatus::Cancelled),
    ("rejected", SubmissionStatus::Rejected),
];

/// The id of a cell that may be empty.
fn id<T>(cells: &Cells<'_>, column: Column, new: fn(String) -> T) -> Result<Option<T>, Fault> {
    Ok(cells.text(column)?.map(|text| new(text.to_owned())))
}

fn text(cells: &Cells<'_>, column: Column) -> Result<Option<String>, Fault> {
    Ok(cells.text(column)?.map(str::to_owned))
}

fn sku(cells: &Cells<'_>) -> Result<Option<Sku>, Fault> {
    Ok(cells.text(Column::Sku)?.and_then(Sku::new))
}

fn order_id(cells: &Cells<'_>) -> Result<OrderId, Fault> {
    cells.id(Column::OrderId).map(OrderId::new)
}

fn line_id(cells: &Cells<'_>) -> Result<LineId, Fault> {
    cells.id(Column::LineId).map(LineId::new)
}

fn supplier(cells: &Cells<'_>) -> Result<SupplierId, Fault> {
    cells.id(Column::Supplier).map(SupplierId::new)
}

fn submission_id(cells: &Cells<'_>) -> Result<SubmissionId, Fault> {
    cells.id(Column::SubmissionId).map(SubmissionId::new)
}

fn quantity(cells: &Cells<'_>) -> Result<u32, Fault> {
    cells.required_whole_number(Column::Quantity, 0..=MAX_QUANTITY)
}

impl TableRow for Order {
    const TABLE: Table = Table::Orders;
    type Key<'a> = &'a OrderId;

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            order_id: order_id(cells)?,
            placed_at: cells.required_when(Column::PlacedAt)?,
            paid_at: cells.when(Column::PaidAt)?,
            status: cells.required_word(Column::Status, ORDER_STATUSES)?,
            currency: cells.currency()?,
            promised_by: cells.when(Column::PromisedBy)?,
            ship_to_country: text(cells, Column::ShipToCountry)?,
            ship_to_digest: text(cells, Column::ShipToDigest)?,
            updated_at: cells.when(Column::UpdatedAt)?,
        })
    }

    fn key(&self) -> &OrderId {
        &self.order_id
    }

    fn key_text(&self) -> String {
        key_text(&[(Column::OrderId, Some(self.order_id.as_str()))])
    }

    fn updated_at(&self) -> Option<When> {
        self.updated_at
    }

    fn names(&self) -> Names {
        Names { order_id: Some(self.order_id.to_string()), ..Names::default() }
    }
}

impl TableRow for OrderLine {
    const TABLE: Table = Table::OrderLines;
    type Key<'a> = (&'a OrderId, &'a LineId);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        let quantity = quantity(cells)?;
        let cancelled_quantity =
            cells.whole_number(Column::CancelledQuantity, 0..=MAX_QUANTITY)?.unwrap_or(0);
        if cancelled_quantity > quantity {
            return Err(Fault::of(
                Column::CancelledQuantity.name(),
                format!("{cancelled_quantity} is over the quantity, {quantity}"),
                "at most the quantity of the line",
                "Correct one of the two: `quantity` is what was bought, before anything was cancelled.",
            ));
        }
        Ok(Self {
            order_id: order_id(cells)?,
            line_id: line_id(cells)?,
            listing_id: id(cells, Column::ListingId, ListingId::new)?,
            sku: sku(cells)?,
            title: text(cells, Column::Title)?,
            options: cells.options_to_choose()?,
            quantity,
            cancelled_quantity,
            unit_price: cells.amount(Column::UnitPrice)?,
            updated_at: cells.when(Column::UpdatedAt)?,
        })
    }

    fn key(&self) -> (&OrderId, &LineId) {
        (&self.order_id, &self.line_id)
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::OrderId, Some(self.order_id.as_str())),
            (Column::LineId, Some(self.line_id.as_str())),
        ])
    }

    fn updated_at(&self) -> Option<When> {
        self.updated_at
    }

    fn names(&self) -> Names {
        Names {
            order_id: Some(self.order_id.to_string()),
            line_id: Some(self.line_id.to_string()),
            ..Names::default()
        }
    }
}

impl TableRow for Offer {
    const TABLE: Table = Table::Offers;
    type Key<'a> = (&'a ListingId, &'a Options);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            listing_id: cells.id(Column::ListingId).map(ListingId::new)?,
            sku: sku(cells)?,
            title: text(cells, Column::Title)?,
            options: cells.required_options()?,
            price: cells.amount(Column::Price)?,
            currency: cells.currency()?,
            buyable: cells.boolean(Column::Buyable, true)?,
        })
    }

    fn key(&self) -> (&ListingId, &Options) {
        (&self.listing_id, &self.options)
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::ListingId, Some(self.listing_id.as_str())),
            (Column::Options, Some(&self.options.to_string())),
        ])
    }
}

impl TableRow for Variant {
    const TABLE: Table = Table::Variants;
    type Key<'a> = (&'a SupplierId, &'a VariantId);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            supplier: supplier(cells)?,
            variant_id: cells.id(Column::VariantId).map(VariantId::new)?,
            sku: sku(cells)?,
            product: text(cells, Column::Product)?,
            options: cells.options()?,
            unit_cost: cells.amount(Column::UnitCost)?,
            currency: cells.currency()?,
            available: cells.boolean(Column::Available, true)?,
        })
    }

    fn key(&self) -> (&SupplierId, &VariantId) {
        (&self.supplier, &self.variant_id)
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::Supplier, Some(self.supplier.as_str())),
            (Column::VariantId, Some(self.variant_id.as_str())),
        ])
    }

    fn names(&self) -> Names {
        Names {
            supplier: Some(self.supplier.as_str().to_owned()),
            sku: self.sku.as_ref().map(|sku| sku.as_str().to_owned()),
            variant_id: Some(self.variant_id.as_str().to_owned()),
            ..Names::default()
        }
    }
}

impl TableRow for ListingProduct {
    const TABLE: Table = Table::ListingProducts;
    type Key<'a> = (&'a ListingId, &'a SupplierId, &'a str);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            listing_id: cells.id(Column::ListingId).map(ListingId::new)?,
            supplier: supplier(cells)?,
            product: cells.required_text(Column::Product, "the name of a product")?.to_owned(),
        })
    }

    fn key(&self) -> (&ListingId, &SupplierId, &str) {
        (&self.listing_id, &self.supplier, &self.product)
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::ListingId, Some(self.listing_id.as_str())),
            (Column::Supplier, Some(self.supplier.as_str())),
            (Column::Product, Some(&self.product)),
        ])
    }
}

/// A links row with the cells that are its key, some of which say nothing of what it is for.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct KeyedLink {
    listing_id: Option<ListingId>,
    sku: Option<Sku>,
    options: Option<Options>,
    variant_id: Option<VariantId>,
    pub(crate) link: LinkRow,
}

impl TableRow for KeyedLink {
    const TABLE: Table = Table::Links;
    type Key<'a> =
        (Option<&'a ListingId>, Option<&'a Sku>, Option<&'a Options>, &'a SupplierId, Option<&'a VariantId>);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        let listing_id = id(cells, Column::ListingId, ListingId::new)?;
        let sku = sku(cells)?;
        let options = cells.options()?;
        let scope = match (&listing_id, &options, &sku) {
            (Some(listing_id), Some(options), _) => LinkScope::Offer(listing_id.clone(), options.clone()),
            (_, _, Some(sku)) => LinkScope::Sku(sku.clone()),
            (Some(listing_id), None, None) => LinkScope::Listing(listing_id.clone()),
            (None, _, None) => {
                return Err(Fault::of_row(
                    "neither listing_id nor sku is given",
                    "what the link is for: listing_id with options, or sku, or listing_id alone",
                    "Fill in one of them.",
                ));
            }
        };
        let supplier = supplier(cells)?;
        let variant_id = id(cells, Column::VariantId, VariantId::new)?;
        if variant_id.is_none() && !supplier.is_own() {
            return Err(Fault::of(
                Column::VariantId.name(),
                "nothing is given",
                format!("the id of a variant of supplier {}", shown(supplier.as_str())),
                format!(
                    "Fill it in, or write {} as the supplier if the shop packs it itself.",
                    SupplierId::OWN
                ),
            ));
        }
        let linked_variant = variant_id.clone().filter(|_| !supplier.is_own());
        let link = LinkRow {
            scope,
            supplier,
            variant_id: linked_variant,
            units: cells.whole_number(Column::Units, 1..=MAX_UNITS)?.unwrap_or(1),
            in_force: cells.boolean(Column::InForce, true)?,
        };
        Ok(Self { listing_id, sku, options, variant_id, link })
    }

    fn key(&self) -> Self::Key<'_> {
        (
            self.listing_id.as_ref(),
            self.sku.as_ref(),
            self.options.as_ref(),
            &self.link.supplier,
            self.variant_id.as_ref(),
        )
    }

    fn key_text(&self) -> String {
        let options = self.options.as_ref().map(Options::to_string);
        key_text(&[
            (Column::ListingId, self.listing_id.as_ref().map(ListingId::as_str)),
            (Column::Sku, self.sku.as_ref().map(Sku::as_str)),
            (Column::Options, options.as_deref()),
            (Column::Supplier, Some(self.link.supplier.as_str())),
            (Column::VariantId, self.variant_id.as_ref().map(VariantId::as_str)),
        ])
    }

    fn names(&self) -> Names {
        Names {
            listing_id: self.listing_id.as_ref().map(ToString::to_string),
            sku: self.sku.as_ref().map(ToString::to_string),
            ..Names::default()
        }
    }
}

impl TableRow for Submission {
    const TABLE: Table = Table::Submissions;
    type Key<'a> = (&'a SupplierId, &'a SubmissionId);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            supplier: supplier(cells)?,
            submission_id: submission_id(cells)?,
            order_ref: text(cells, Column::OrderRef)?,
            status: cells.required_word(Column::Status, SUBMISSION_STATUSES)?,
            received_at: cells.required_when(Column::ReceivedAt)?,
            replaces: text(cells, Column::Replaces)?,
            updated_at: cells.when(Column::UpdatedAt)?,
        })
    }

    fn key(&self) -> (&SupplierId, &SubmissionId) {
        (&self.supplier, &self.submission_id)
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::Supplier, Some(self.supplier.as_str())),
            (Column::SubmissionId, Some(self.submission_id.as_str())),
        ])
    }

    fn updated_at(&self) -> Option<When> {
        self.updated_at
    }

    fn names(&self) -> Names {
        Names {
            supplier: Some(self.supplier.to_string()),
            submission_id: Some(self.submission_id.to_string()),
            order_ref: (&self.order_ref).into(),
            ..Names::default()
        }
    }
}

impl TableRow for SubmissionLine {
    const TABLE: Table = Table::SubmissionLines;
    type Key<'a> = (&'a SupplierId, &'a SubmissionId, &'a LineId);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            supplier: supplier(cells)?,
            submission_id: submission_id(cells)?,
            line_id: line_id(cells)?,
            order_ref: text(cells, Column::OrderRef)?,
            order_line_ref: id(cells, Column::OrderLineRef, LineId::new)?,
            variant_id: id(cells, Column::VariantId, VariantId::new)?,
            sku: sku(cells)?,
            quantity: quantity(cells)?,
            status: cells.word(Column::Status, SUBMISSION_STATUSES)?,
            unit_cost: cells.amount(Column::UnitCost)?,
            updated_at: cells.when(Column::UpdatedAt)?,
        })
    }

    fn key(&self) -> (&SupplierId, &SubmissionId, &LineId) {
        (&self.supplier, &self.submission_id, &self.line_id)
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::Supplier, Some(self.supplier.as_str())),
            (Column::SubmissionId, Some(self.submission_id.as_str())),
            (Column::LineId, Some(self.line_id.as_str())),
        ])
    }

    fn updated_at(&self) -> Option<When> {
        self.updated_at
    }

    fn names(&self) -> Names {
        Names {
            supplier: Some(self.supplier.to_string()),
            submission_id: Some(self.submission_id.to_string()),
            line_id: Some(self.line_id.to_string()),
            order_ref: (&self.order_ref).into(),
            ..Names::default()
        }
    }
}

impl TableRow for Parcel {
    const TABLE: Table = Table::Parcels;
    type Key<'a> = (&'a SupplierId, &'a ParcelId);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            supplier: supplier(cells)?,
            parcel_id: cells.id(Column::ParcelId).map(ParcelId::new)?,
            submission_id: submission_id(cells)?,
            dispatched_at: cells.required_when(Column::DispatchedAt)?,
            carrier: text(cells, Column::Carrier)?,
            tracking_number: text(cells, Column::TrackingNumber)?,
        })
    }

    fn key(&self) -> (&SupplierId, &ParcelId) {
        (&self.supplier, &self.parcel_id)
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::Supplier, Some(self.supplier.as_str())),
            (Column::ParcelId, Some(self.parcel_id.as_str())),
        ])
    }

    fn names(&self) -> Names {
        Names {
            supplier: Some(self.supplier.to_string()),
            parcel_id: Some(self.parcel_id.to_string()),
            submission_id: Some(self.submission_id.to_string()),
            ..Names::default()
        }
    }
}

impl TableRow for ParcelLine {
    const TABLE: Table = Table::ParcelLines;
    type Key<'a> = (&'a SupplierId, &'a ParcelId, &'a LineId);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            supplier: supplier(cells)?,
            parcel_id: cells.id(Column::ParcelId).map(ParcelId::new)?,
            submission_line_id: cells.id(Column::SubmissionLineId).map(LineId::new)?,
            quantity: quantity(cells)?,
        })
    }

    fn key(&self) -> (&SupplierId, &ParcelId, &LineId) {
        (&self.supplier, &self.parcel_id, &self.submission_line_id)
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::Supplier, Some(self.supplier.as_str())),
            (Column::ParcelId, Some(self.parcel_id.as_str())),
            (Column::SubmissionLineId, Some(self.submission_line_id.as_str())),
        ])
    }

    fn names(&self) -> Names {
        Names {
            supplier: Some(self.supplier.to_string()),
            parcel_id: Some(self.parcel_id.to_string()),
            submission_line_id: Some(self.submission_line_id.to_string()),
            ..Names::default()
        }
    }
}

impl TableRow for Tie {
    const TABLE: Table = Table::Ties;
    type Key<'a> = (&'a OrderId, &'a LineId, &'a SupplierId, &'a SubmissionId, Option<&'a LineId>);

    fn read(cells: &Cells<'_>) -> Result<Self, Fault> {
        Ok(Self {
            order_id: order_id(cells)?,
            line_id: line_id(cells)?,
            supplier: supplier(cells)?,
            submission_id: submission_id(cells)?,
            submission_line_id: id(cells, Column::SubmissionLineId, LineId::new)?,
        })
    }

    fn key(&self) -> Self::Key<'_> {
        (&self.order_id, &self.line_id, &self.supplier, &self.submission_id, self.submission_line_id.as_ref())
    }

    fn key_text(&self) -> String {
        key_text(&[
            (Column::OrderId, Some(self.order_id.as_str())),
            (Column::LineId, Some(self.line_id.as_str())),
            (Column::Supplier, Some(self.supplier.as_str())),
            (Column::SubmissionId, Some(self.submission_id.as_str())),
            (Column::SubmissionLineId, self.submission_line_id.as_ref().map(LineId::as_str)),
        ])
    }

    fn names(&self) -> Names {
        Names {
            order_id: Some(self.order_id.to_string()),
            line_id: Some(self.line_id.to_string()),
            supplier: Some(self.supplier.to_string()),
            submission_id: Some(self.submission_id.to_string()),
            submission_line_id: self.submission_line_id.as_ref().map(LineId::to_string),
            ..Names::default()
        }
    }
}
