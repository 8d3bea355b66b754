//! One order with everything that belongs to it: what was bought beside what was sent for it, and how it came to that.
//!
//! Must not know HTML, or how an order is judged. Start reading at [`Order`].

use chrono::{DateTime, Utc};
use model::book::{OrderStatus, SubmissionStatus};
use model::{Check, LineId, ListingId, OrderId, ParcelId, SubmissionId, SupplierId};
use schemars::JsonSchema;
use serde::Serialize;

use super::words::{Moment, Words};

/// An order.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Order {
    /// Whose.
    pub shop: String,
    /// Which.
    pub order_id: OrderId,
    /// How far the storefront says it is.
    pub status: OrderStatus,
    /// That it is open, when it was placed, paid and promised.
    pub headline: Words,
    /// Whether it is all right, in a sentence or two.
    pub verdict: Words,
    /// Whether something of it is missing or wrong that can no longer be taken for a delay.
    pub is_right: bool,
    /// The moment for which that is so, in full.
    pub as_of: Moment,
    /// The next moment after which something cannot be changed any more.
    pub act_before: Option<Moment>,
    /// How long that is.
    pub time_left: Option<Words>,
    /// The supplier at whom that is; null where it is not known.
    pub cut_off_of: Option<Words>,
    /// Its lines, with what was sent for each.
    pub lines: Vec<Bought>,
    /// The supplier orders that speak of it.
    pub supplier_orders: Vec<SupplierOrder>,
    /// The parcels of these.
    pub parcels: Vec<Parcel>,
    /// What the owner said of it, a sentence each.
    pub said: Vec<Words>,
    /// What stands.
    pub findings: Vec<OrderFinding>,
    /// What was found and stands no more.
    pub settled: Vec<Settled>,
    /// What happened, in the order in which it was seen.
    pub timeline: Timeline,
}

/// How it stands with a line.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// All of it is made, or has gone, as it was bought.
    Right,
    /// The shop packs it itself.
    Own,
    /// It may still be on its way to the supplier.
    Waiting,
    /// The supplier, or the order, has not been read far enough.
    NotKnown,
    /// Something else is made than was bought.
    Wrong,
    /// Nobody makes all of it.
    Missing,
    /// Nothing of it is owed.
    Nothing,
}

/// A line of the order, with what was sent for it.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Bought {
    /// The line.
    pub line_id: LineId,
    /// How it stands.
    pub state: State,
    /// Units bought.
    pub quantity: u32,
    /// The listing on whose page it was bought.
    pub listing_id: Option<ListingId>,
    /// Its title, or what else it can be called.
    pub name: Words,
    /// What the customer chose.
    pub options: Option<Words>,
    /// Its SKU.
    pub sku: Option<Words>,
    /// What of it was cancelled.
    pub cancelled: Option<Words>,
    /// Which supplier variants it is linked to; empty where it is to none.
    pub leads_to: Vec<Words>,
    /// What was sent for it.
    pub sent: Vec<Sent>,
    /// What else is to be said: that nothing is owed, that the shop packs it.
    pub notes: Vec<Words>,
    /// What no supplier is known to have.
    pub gap: Option<Gap>,
    /// Which supplier variant it could be linked to, where it is to none.
    pub proposal: Option<Proposal>,
}

/// Something that was sent for a line.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Sent {
    /// Who was asked.
    pub supplier: SupplierId,
    /// In which supplier order.
    pub submission_id: SubmissionId,
    /// In which line of it.
    pub line_id: LineId,
    /// The supplier's units.
    pub units: u64,
    /// What it makes.
    pub what: Words,
    /// In which of the four ways it is known to be for this line, 1 to 4; 4 is wrongly.
    pub way: u8,
    /// The same in words.
    pub way_said: Words,
    /// What is wrong with it, the worst first; empty where nothing is.
    pub wrong: Vec<Words>,
    /// How far it is.
    pub progress: Words,
    /// How much of it has gone.
    pub dispatched: u64,
}

/// What no supplier is known to have.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Gap {
    /// Whether that is so, or may be a delay.
    pub kind: GapKind,
    /// How many units.
    pub units: u64,
    /// How many and why, without a full stop.
    pub words: Words,
}

/// What to think of a gap.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GapKind {
    /// Nobody makes it.
    Missing,
    /// It may still be on its way to the supplier.
    NotSentYet,
    /// The supplier has not been read up to now.
    NotKnown,
}

/// Which variant a line without a link could be linked to.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Proposal {
    /// How sure that is.
    pub status: ProposalStatus,
    /// The variants that may be meant; of one that is proposed, that one.
    pub variants: Vec<Words>,
    /// Why.
    pub why: Vec<Words>,
    /// Whether its supplier says that it cannot make it now.
    pub not_made_now: bool,
    /// What to type to link it so, where one is proposed.
    pub command: Option<String>,
}

/// How sure a proposal is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ProposalStatus {
    /// Exactly one is what the offer says.
    Proposed,
    /// Only the owner can tell.
    Choose,
    /// No supplier makes it.
    None,
}

/// A supplier order.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SupplierOrder {
    /// Who was asked.
    pub supplier: SupplierId,
    /// Which.
    pub submission_id: SubmissionId,
    /// How far it is.
    pub status: SubmissionStatus,
    /// How far it is, when it was received, until when it can be changed; without a full stop.
    pub words: Words,
    /// Until when it can be changed, where that is known and it is alive.
    pub cut_off: Option<Moment>,
    /// Whether it still can.
    pub can_be_changed: bool,
    /// Its lines, or units of them, that serve nothing.
    pub surplus: Vec<Surplus>,
    /// That it has lines for other orders too.
    pub others: Option<Words>,
}

/// Something of a supplier order that serves nothing.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Surplus {
    /// The line of the supplier order.
    pub line_id: LineId,
    /// How many of what, and why; without a full stop.
    pub words: Words,
}

/// A parcel.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Parcel {
    /// Who dispatched it.
    pub supplier: SupplierId,
    /// Which.
    pub parcel_id: ParcelId,
    /// Of which supplier order.
    pub submission_id: SubmissionId,
    /// When it went, with whom, and what is in it; without a full stop.
    pub words: Words,
}

/// Something found of the order, or of a supplier order of it.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct OrderFinding {
    /// Its id.
    pub finding: String,
    /// The check that found it.
    pub check: Check,
    /// What is wrong, and what to do.
    pub words: Words,
    /// Until when it can be put right, or that this has passed, in words.
    pub deadline: Option<Words>,
    /// Since when it is known.
    pub since: Moment,
    /// Why it is set aside; null where it is not.
    pub note: Option<Words>,
    /// Until when, where that is a moment.
    pub until: Option<Moment>,
}

/// Something that was found and stands no more.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Settled {
    /// Its id.
    pub finding: String,
    /// The check that found it.
    pub check: String,
    /// Since when it was known.
    pub since: Moment,
    /// When it settled; null where that was not noted.
    pub settled: Option<Moment>,
}

/// What happened.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Timeline {
    /// The latest of it.
    pub entries: Vec<Entry>,
    /// How much happened in all.
    pub in_all: u64,
}

/// Something that happened.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Entry {
    /// When it was seen.
    pub at: Moment,
    /// What.
    pub words: Words,
}

impl Moment {
    /// A moment that is said so.
    pub fn said(at: DateTime<Utc>, said: impl AsRef<str>) -> Self {
        Self { at, said: Words::ours(said) }
    }
}
