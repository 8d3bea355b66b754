//! The tables of the exchange files and their columns, as data.
//!
//! Source: README.md, 'The tables'. Must not know: how a file is read, or what a cell means.

use std::collections::BTreeSet;

/// A table. Ordered as tables are read and reported.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(crate) enum Table {
    Orders,
    OrderLines,
    Offers,
    Variants,
    ListingProducts,
    Links,
    Submissions,
    SubmissionLines,
    Parcels,
    ParcelLines,
    Ties,
    /// The owner's rules, kept in the ledger alone: no table of a folder, and no source brings it.
    GoodRules,
}

/// A column; the same name means the same in every table.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Column {
    AgeGroup,
    Available,
    Buyable,
    CancelledQuantity,
    Carrier,
    Currency,
    DispatchedAt,
    InForce,
    LineId,
    ListingId,
    Options,
    OrderId,
    OrderLineRef,
    OrderRef,
    PaidAt,
    ParcelId,
    PlacedAt,
    Price,
    Product,
    ProductType,
    PromisedBy,
    Quantity,
    ReceivedAt,
    Replaces,
    ShipToCountry,
    ShipToDigest,
    Sku,
    Status,
    SubmissionId,
    SubmissionLineId,
    Supplier,
    Title,
    TrackingNumber,
    UnitCost,
    UnitPrice,
    Units,
    UpdatedAt,
    VariantId,
    Words,
}

/// Whether a row can be read without the column.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Need {
    Required,
    MayBeEmpty,
}

use Column::*;
use Need::{MayBeEmpty, Required};

const ORDERS: &[(Column, Need)] = &[
    (OrderId, Required),
    (PlacedAt, Required),
    (PaidAt, MayBeEmpty),
    (Status, Required),
    (Currency, MayBeEmpty),
    (PromisedBy, MayBeEmpty),
    (ShipToCountry, MayBeEmpty),
    (ShipToDigest, MayBeEmpty),
    (UpdatedAt, MayBeEmpty),
];
const ORDER_LINES: &[(Column, Need)] = &[
    (OrderId, Required),
    (LineId, Required),
    (ListingId, MayBeEmpty),
    (Sku, MayBeEmpty),
    (Title, MayBeEmpty),
    (Options, MayBeEmpty),
    (Quantity, Required),
    (CancelledQuantity, MayBeEmpty),
    (UnitPrice, MayBeEmpty),
    (UpdatedAt, MayBeEmpty),
];
const OFFERS: &[(Column, Need)] = &[
    (ListingId, Required),
    (Sku, MayBeEmpty),
    (Title, MayBeEmpty),
    (Options, Required),
    (Price, MayBeEmpty),
    (Currency, MayBeEmpty),
    (Buyable, MayBeEmpty),
];
const VARIANTS: &[(Column, Need)] = &[
    (Supplier, Required),
    (VariantId, Required),
    (Sku, MayBeEmpty),
    (Product, MayBeEmpty),
    (Options, MayBeEmpty),
    (UnitCost, MayBeEmpty),
    (Currency, MayBeEmpty),
    (Available, MayBeEmpty),
];
const LISTING_PRODUCTS: &[(Column, Need)] =
    &[(ListingId, Required), (Supplier, Required), (Product, Required)];
const LINKS: &[(Column, Need)] = &[
    (ListingId, MayBeEmpty),
    (Sku, MayBeEmpty),
    (Options, MayBeEmpty),
    (Supplier, Required),
    (VariantId, MayBeEmpty),
    (Units, MayBeEmpty),
    (InForce, MayBeEmpty),
];
const SUBMISSIONS: &[(Column, Need)] = &[
    (Supplier, Required),
    (SubmissionId, Required),
    (OrderRef, MayBeEmpty),
    (Status, Required),
    (ReceivedAt, Required),
    (Replaces, MayBeEmpty),
    (UpdatedAt, MayBeEmpty),
];
const SUBMISSION_LINES: &[(Column, Need)] = &[
    (Supplier, Required),
    (SubmissionId, Required),
    (LineId, Required),
    (OrderRef, MayBeEmpty),
    (OrderLineRef, MayBeEmpty),
    (VariantId, MayBeEmpty),
    (Sku, MayBeEmpty),
    (Quantity, Required),
    (Status, MayBeEmpty),
    (UnitCost, MayBeEmpty),
    (UpdatedAt, MayBeEmpty),
];
const PARCELS: &[(Column, Need)] = &[
    (Supplier, Required),
    (ParcelId, Required),
    (SubmissionId, Required),
    (DispatchedAt, Required),
    (Carrier, MayBeEmpty),
    (TrackingNumber, MayBeEmpty),
];
const PARCEL_LINES: &[(Column, Need)] =
    &[(Supplier, Required), (ParcelId, Required), (SubmissionLineId, Required), (Quantity, Required)];
const TIES: &[(Column, Need)] = &[
    (OrderId, Required),
    (LineId, Required),
    (Supplier, Required),
    (SubmissionId, Required),
    (SubmissionLineId, MayBeEmpty),
];

const GOOD_RULES: &[(Column, Need)] = &[
    (ProductType, MayBeEmpty),
    (AgeGroup, MayBeEmpty),
    (Words, MayBeEmpty),
    (Supplier, Required),
    (Product, Required),
];

impl Table {
    /// All tables of a folder, in the order in which they are read: a row's parents before the row.
    pub(crate) const ALL: [Self; 11] = [
        Self::Orders,
        Self::OrderLines,
        Self::Offers,
        Self::Variants,
        Self::ListingProducts,
        Self::Links,
        Self::Submissions,
        Self::SubmissionLines,
        Self::Parcels,
        Self::ParcelLines,
        Self::Ties,
    ];

    /// The name that its file bears, without the ending.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Orders => "orders",
            Self::OrderLines => "order_lines",
            Self::Offers => "offers",
            Self::Variants => "variants",
            Self::ListingProducts => "listing_products",
            Self::Links => "links",
            Self::Submissions => "submissions",
            Self::SubmissionLines => "submission_lines",
            Self::Parcels => "parcels",
            Self::ParcelLines => "parcel_lines",
            Self::Ties => "ties",
            Self::GoodRules => "good_rules",
        }
    }

    /// What one row of it is, as an owner says it.
    pub(crate) fn row_noun(self) -> &'static str {
        match self {
            Self::Orders => "order",
            Self::OrderLines => "order line",
            Self::Offers => "offer",
            Self::Variants => "variant",
            Self::ListingProducts => "listing product",
            Self::Links => "link",
            Self::Submissions => "submission",
            Self::SubmissionLines => "submission line",
            Self::Parcels => "parcel",
            Self::ParcelLines => "parcel line",
            Self::Ties => "tie",
            Self::GoodRules => "rule",
        }
    }

    /// Its columns, in the documented order.
    pub(crate) fn columns(self) -> &'static [(Column, Need)] {
        match self {
            Self::Orders => ORDERS,
            Self::OrderLines => ORDER_LINES,
            Self::Offers => OFFERS,
            Self::Variants => VARIANTS,
            Self::ListingProducts => LISTING_PRODUCTS,
            Self::Links => LINKS,
            Self::Submissions => SUBMISSIONS,
            Self::SubmissionLines => SUBMISSION_LINES,
            Self::Parcels => PARCELS,
            Self::ParcelLines => PARCEL_LINES,
            Self::Ties => TIES,
            Self::GoodRules => GOOD_RULES,
        }
    }

    /// Where a column stands in [`Table::columns`].
    pub(crate) fn position(self, column: Column) -> Option<usize> {
        self.columns().iter().position(|(there, _)| *there == column)
    }

    /// The tables without which none of its rows could belong to anything.
    pub(crate) fn needs(self) -> &'static [Self] {
        match self {
            Self::SubmissionLines | Self::Parcels | Self::Ties => &[Self::Submissions],
            Self::ParcelLines => &[Self::Parcels, Self::SubmissionLines],
            _ => &[],
        }
    }

    /// Whether every order adds rows to it.
    pub(crate) fn grows_with_orders(self) -> bool {
        use Table::*;
        matches!(self, Orders | OrderLines | Submissions | SubmissionLines | Parcels | ParcelLines)
    }

    /// Whether its rows bear `updated_at`, so that a later row can replace an earlier one.
    pub(crate) fn has_updated_at(self) -> bool {
        self.position(UpdatedAt).is_some()
    }
}

impl Column {
    /// How many columns there are.
    pub(crate) const COUNT: usize = Words as usize + 1;

    /// The name in the header.
    pub(crate) fn name(self) -> &'static str {
        match self {
            AgeGroup => "age_group",
            Available => "available",
            Buyable => "buyable",
            CancelledQuantity => "cancelled_quantity",
            Carrier => "carrier",
            Currency => "currency",
            DispatchedAt => "dispatched_at",
            InForce => "in_force",
            LineId => "line_id",
            ListingId => "listing_id",
            Options => "options",
            OrderId => "order_id",
            OrderLineRef => "order_line_ref",
            OrderRef => "order_ref",
            PaidAt => "paid_at",
            ParcelId => "parcel_id",
            PlacedAt => "placed_at",
            Price => "price",
            Product => "product",
            ProductType => "product_type",
            PromisedBy => "promised_by",
            Quantity => "quantity",
            ReceivedAt => "received_at",
            Replaces => "replaces",
            ShipToCountry => "ship_to_country",
            ShipToDigest => "ship_to_digest",
            Sku => "sku",
            Status => "status",
            SubmissionId => "submission_id",
            SubmissionLineId => "submission_line_id",
            Supplier => "supplier",
            Title => "title",
            TrackingNumber => "tracking_number",
            UnitCost => "unit_cost",
            UnitPrice => "unit_price",
            Units => "units",
            UpdatedAt => "updated_at",
            VariantId => "variant_id",
            Words => "words",
        }
    }
}

/// The front of a column that holds one option, `option.Size`.
const OPTION_PREFIX: &str = "option.";

/// What a name in a header or an object stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Slot<'a> {
    /// The column at this position of [`Table::columns`].
    Column(usize),
    /// One option, by name.
    Option(&'a str),
    /// Nothing that the table knows.
    Unknown,
}

impl<'a> Slot<'a> {
    /// Names compare to the byte.
    pub(crate) fn of(table: Table, name: &'a str) -> Self {
        if let Some(position) = table.columns().iter().position(|(column, _)| column.name() == name) {
            return Self::Column(position);
        }
        match name.strip_prefix(OPTION_PREFIX) {
            Some(option) if !option.is_empty() && table.position(Options).is_some() => Self::Option(option),
            _ => Self::Unknown,
        }
    }
}

/// How many unknown names of one file are kept and told. JSON Lines can bring a new one in every row.
const KEPT_UNKNOWN_NAMES: usize = 20;

/// The names of a file that its table does not know: the first by name, and whether there were more.
#[derive(Default, PartialEq, Eq, Debug)]
pub(crate) struct UnknownNames {
    pub(crate) names: BTreeSet<String>,
    pub(crate) and_more: bool,
}

impl UnknownNames {
    /// Adds those of another part of the file.
    pub(crate) fn add(&mut self, other: Self) {
        self.and_more |= other.and_more;
        for name in other.names {
            self.note(&name);
        }
    }

    pub(crate) fn note(&mut self, name: &str) {
        if self.names.contains(name) {
            return;
        }
        self.names.insert(name.to_owned());
        if self.names.len() > KEPT_UNKNOWN_NAMES {
            self.names.pop_last();
            self.and_more = true;
        }
    }
}
