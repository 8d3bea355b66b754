//! The exchange tables, read: every row of every table that was given, with nothing joined yet.
//!
//! Whoever makes a [`Book`] has checked its rows: keys are unique, a row's parent is there, quantities and
//! units are in range. The order of rows carries no meaning.

use std::collections::BTreeSet;
use std::fmt;

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use crate::{
    Currency, LineId, ListingId, Options, OrderId, ParcelId, Sku, SubmissionId, SupplierId, VariantId, When,
};

/// All tables of one shop. `None` is a table that was not given; an empty one was given and has no rows.
#[derive(Clone, Default, Debug)]
pub struct Book {
    /// What customers bought.
    pub orders: Vec<Order>,
    /// The lines of the orders.
    pub order_lines: Vec<OrderLine>,
    /// What the storefront offers.
    pub offers: Option<Vec<Offer>>,
    /// What the suppliers make.
    pub variants: Option<Vec<Variant>>,
    /// Which supplier products a listing sells, where the owner has said so.
    pub listing_products: Option<Vec<ListingProduct>>,
    /// Which variants one unit of an offer needs.
    pub links: Option<Vec<LinkRow>>,
    /// What the owner has said in everyline of where an offer, a SKU or a listing leads: it stands in place of the rows of
    /// `links` for the same. Not a table that can be given.
    pub owner_links: Vec<LinkRow>,
    /// What the suppliers were asked to make.
    pub submissions: Option<Vec<Submission>>,
    /// The lines of the submissions.
    pub submission_lines: Option<Vec<SubmissionLine>>,
    /// What the suppliers dispatched.
    pub parcels: Option<Vec<Parcel>>,
    /// The lines of the parcels.
    pub parcel_lines: Option<Vec<ParcelLine>>,
    /// The owner's word on submissions made by hand.
    pub ties: Option<Vec<Tie>>,
    /// Orders that a skipped row names. They may be missing from `orders`; nothing is judged about them.
    pub not_judged: BTreeSet<OrderId>,
}

impl Book {
    /// Whether what was sent is known at all: both tables that say it were given.
    pub fn knows_submissions(&self) -> bool {
        self.submissions.is_some() && self.submission_lines.is_some()
    }
}

/// What the storefront says of an order.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OrderStatus {
    /// Not paid for yet.
    Unpaid,
    /// Paid, not marked as dispatched.
    Open,
    /// Marked as dispatched at the storefront.
    Dispatched,
    /// Called off.
    Cancelled,
}

/// What a customer bought, as a whole.
#[derive(Clone, PartialEq, Debug)]
pub struct Order {
    /// The key.
    pub order_id: OrderId,
    /// The order exists from here on.
    pub placed_at: When,
    /// The payment exists from here on; `None` where it is not known.
    pub paid_at: Option<When>,
    /// Taken as it stands.
    pub status: OrderStatus,
    /// The currency of the lines' prices.
    pub currency: Option<Currency>,
    /// Dispatch was promised by the end of this.
    pub promised_by: Option<When>,
    /// ISO 3166-1 code, as given.
    pub ship_to_country: Option<String>,
    /// A keyed digest of the address; never the address.
    pub ship_to_digest: Option<String>,
    /// The last change.
    pub updated_at: Option<When>,
}

/// One line of an order.
#[derive(Clone, PartialEq, Debug)]
pub struct OrderLine {
    /// With `line_id`, the key.
    pub order_id: OrderId,
    /// Unique within its order.
    pub line_id: LineId,
    /// The page it was bought on.
    pub listing_id: Option<ListingId>,
    /// What leads to the supplier's variant.
    pub sku: Option<Sku>,
    /// The line's title, as the customer saw it.
    pub title: Option<String>,
    /// What the customer chose; `None` where it is not known.
    pub options: Option<Options>,
    /// Units bought.
    pub quantity: u32,
    /// Units called off; never more than `quantity`.
    pub cancelled_quantity: u32,
    /// Price of one unit, in the order's currency.
    pub unit_price: Option<Decimal>,
    /// The last change.
    pub updated_at: Option<When>,
}

impl OrderLine {
    /// Units still owed where the order is live.
    pub fn quantity_owed(&self) -> u32 {
        self.quantity.saturating_sub(self.cancelled_quantity)
    }
}

/// One buyable option combination of a listing. Key: listing and options.
#[derive(Clone, PartialEq, Debug)]
pub struct Offer {
    /// The page.
    pub listing_id: ListingId,
    /// What leads to the supplier's variant.
    pub sku: Option<Sku>,
    /// The listing's title.
    pub title: Option<String>,
    /// The combination; empty where there is nothing to choose.
    pub options: Options,
    /// Price of one unit.
    pub price: Option<Decimal>,
    /// Currency of the price.
    pub currency: Option<Currency>,
    /// Whether customers can buy it now.
    pub buyable: bool,
}

/// One exact thing that a supplier makes. Key: supplier and variant id.
#[derive(Clone, PartialEq, Debug)]
pub struct Variant {
    /// Who makes it.
    pub supplier: SupplierId,
    /// The supplier's id of it.
    pub variant_id: VariantId,
    /// The SKU that it bears; where it has none, the variant id counts as one.
    pub sku: Option<Sku>,
    /// The product's name.
    pub product: Option<String>,
    /// Size, colour and the like, as the supplier writes them.
    pub options: Option<Options>,
    /// What the supplier asks for one.
    pub unit_cost: Option<Decimal>,
    /// Currency of the cost.
    pub currency: Option<Currency>,
    /// Whether it can be had now.
    pub available: bool,
}

/// A supplier product that a listing sells, in the owner's word.
#[derive(Clone, PartialEq, Debug)]
pub struct ListingProduct {
    /// The page.
    pub listing_id: ListingId,
    /// Who makes the product.
    pub supplier: SupplierId,
    /// The product's name, as `variants` has it.
    pub product: String,
}

/// What a links row is for.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum LinkScope {
    /// One option combination of one listing.
    Offer(ListingId, Options),
    /// Whatever bears the SKU.
    Sku(Sku),
    /// Every option combination of one listing.
    Listing(ListingId),
}

/// As an owner reads it: `offer L1 (Moss, Large)`, `SKU AP-L-MO`, `listing L1`.
impl fmt::Display for LinkScope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Offer(listing_id, options) if options.is_empty() => write!(f, "offer {listing_id}"),
            Self::Offer(listing_id, options) => write!(f, "offer {listing_id} ({options})"),
            Self::Sku(sku) => write!(f, "SKU {sku}"),
            Self::Listing(listing_id) => write!(f, "listing {listing_id}"),
        }
    }
}

/// One part of a link. Several rows for the same scope are the parts of a set.
#[derive(Clone, PartialEq, Debug)]
pub struct LinkRow {
    /// What the row is for.
    pub scope: LinkScope,
    /// Who makes the part; `own` is the shop itself.
    pub supplier: SupplierId,
    /// Which variant; `None` for own stock alone.
    pub variant_id: Option<VariantId>,
    /// How many of it one unit of the offer needs; at least 1.
    pub units: u32,
    /// Seen at the storefront or the supplier, rather than only intended by the owner.
    pub in_force: bool,
}

/// How far a supplier is with a submission or a line of it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SubmissionStatus {
    /// The supplier has it and has not begun.
    Received,
    /// The supplier waits for something.
    Held,
    /// The supplier has begun.
    Making,
    /// It has left the supplier.
    Dispatched,
    /// Called off.
    Cancelled,
    /// The supplier will not make it.
    Rejected,
}

impl SubmissionStatus {
    /// Whether the supplier still means to make it, or has made it.
    pub fn is_live(self) -> bool {
        !matches!(self, Self::Cancelled | Self::Rejected)
    }

    /// Whether the supplier has begun, so that nothing can be changed any more.
    pub fn has_begun(self) -> bool {
        matches!(self, Self::Making | Self::Dispatched)
    }
}

/// What a supplier was asked to make. Key: supplier and submission id.
#[derive(Clone, PartialEq, Debug)]
pub struct Submission {
    /// Who was asked.
    pub supplier: SupplierId,
    /// The supplier's id of it.
    pub submission_id: SubmissionId,
    /// The order or orders that it is for, as written there; `None` where empty.
    pub order_ref: Option<String>,
    /// How far it is.
    pub status: SubmissionStatus,
    /// It exists from here on.
    pub received_at: When,
    /// The submission that this one makes again, if it does.
    pub replaces: Option<String>,
    /// The last change.
    pub updated_at: Option<When>,
}

/// One line of a submission. Key: supplier, submission and line id.
#[derive(Clone, PartialEq, Debug)]
pub struct SubmissionLine {
    /// Who was asked.
    pub supplier: SupplierId,
    /// The submission.
    pub submission_id: SubmissionId,
    /// Unique within its submission.
    pub line_id: LineId,
    /// Where given, beats the submission's.
    pub order_ref: Option<String>,
    /// The order line that it is for, as written there; `None` where empty.
    pub order_line_ref: Option<LineId>,
    /// Which variant.
    pub variant_id: Option<VariantId>,
    /// What the variant is looked up by where its id is not given.
    pub sku: Option<Sku>,
    /// Units asked for.
    pub quantity: u32,
    /// Where given, beats the submission's.
    pub status: Option<SubmissionStatus>,
    /// What the supplier asks for one.
    pub unit_cost: Option<Decimal>,
    /// The last change.
    pub updated_at: Option<When>,
}

/// What a supplier dispatched. Key: supplier and parcel id.
#[derive(Clone, PartialEq, Debug)]
pub struct Parcel {
    /// Who dispatched it.
    pub supplier: SupplierId,
    /// The supplier's id of it.
    pub parcel_id: ParcelId,
    /// Of which submission.
    pub submission_id: SubmissionId,
    /// It exists from here on.
    pub dispatched_at: When,
    /// Who carries it.
    pub carrier: Option<String>,
    /// Where to follow it.
    pub tracking_number: Option<String>,
}

/// One line of a parcel. Key: supplier, parcel and submission line id.
#[derive(Clone, PartialEq, Debug)]
pub struct ParcelLine {
    /// Who dispatched it.
    pub supplier: SupplierId,
    /// The parcel.
    pub parcel_id: ParcelId,
    /// The line of the parcel's submission.
    pub submission_line_id: LineId,
    /// Units in this parcel.
    pub quantity: u32,
}

/// The owner's word that a submission made by hand serves a certain order line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tie {
    /// The order.
    pub order_id: OrderId,
    /// The line of it.
    pub line_id: LineId,
    /// Who was asked.
    pub supplier: SupplierId,
    /// The submission.
    pub submission_id: SubmissionId,
    /// The line of it; `None`: all its lines.
    pub submission_line_id: Option<LineId>,
}

/// The latest moment that any row speaks of: the book cannot know of anything later.
pub fn latest_moment(book: &Book) -> Option<DateTime<Utc>> {
    let orders = book
        .orders
        .iter()
        .flat_map(|order| [Some(order.placed_at), order.paid_at, order.updated_at].into_iter().flatten());
    let submissions = book
        .submissions
        .iter()
        .flatten()
        .flat_map(|sent| [Some(sent.received_at), sent.updated_at].into_iter().flatten());
    let parcels = book.parcels.iter().flatten().map(|parcel| parcel.dispatched_at);
    orders.chain(submissions).chain(parcels).map(When::begins).max()
}
