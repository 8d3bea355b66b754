//! Findings: one thing that is wrong or about to be, with its evidence.
//!
//! The serialised form of these types is the documented output of the command line, the page and the webhook.

use std::fmt;
use std::str::FromStr;

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;
use sha2::{Digest, Sha256};
use smol_str::SmolStr;

use crate::book::SubmissionStatus;
use crate::reading::Difference;
use crate::{
    Currency, LineId, ListingId, Money, Options, OrderId, ParcelId, Reading, Sku, SourceId, SubmissionId,
    SupplierId, VariantId, rfc3339,
};

macro_rules! checks {
    ($($(#[$doc:meta])* $name:ident = $word:literal),+ $(,)?) => {
        /// The rule that raises a finding. Ordered as in the documentation: what costs a customer first.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
        pub enum Check {
            $($(#[$doc])* #[serde(rename = $word)] $name),+
        }

        impl Check {
            /// All checks.
            pub const ALL: &[Self] = &[$(Self::$name),+];

            /// The word of the command line, files and pages.
            pub fn word(self) -> &'static str {
                match self {
                    $(Self::$name => $word),+
                }
            }
        }
    };
}

checks! {
    /// A supplier has some lines of the order and nobody has the others.
    PartSent = "part-sent",
    /// Nobody has any line of the order.
    UnsentOrder = "unsent-order",
    /// A line was sent as something else than what was bought.
    WrongVariant = "wrong-variant",
    /// More was sent than was bought.
    OverSent = "over-sent",
    /// What was sent is for something cancelled.
    SentAfterCancel = "sent-after-cancel",
    /// A submission is for no known order.
    StraySubmission = "stray-submission",
    /// A supplier holds a submission for too long.
    Held = "held",
    /// A supplier has not begun for too long.
    NotStarted = "not-started",
    /// The rest of an order does not follow its first parcel.
    PartDispatched = "part-dispatched",
    /// The promise has passed.
    Late = "late",
    /// All is dispatched and the storefront does not say so.
    DispatchUnmarked = "dispatch-unmarked",
    /// The customer's address changed after a supplier had taken the order.
    AddressChanged = "address-changed",
    /// A buyable offer leads to no variant.
    OfferUnlinked = "offer-unlinked",
    /// An offer and its variant contradict each other.
    LinkMismatch = "link-mismatch",
    /// A link leads to a variant that is unknown or not available.
    LinkUnusable = "link-unusable",
    /// Two different offers lead to the same variant.
    SharedVariant = "shared-variant",
    /// An offer costs more than it brings.
    LossMaking = "loss-making",
    /// A source has not answered for too long.
    SourceStale = "source-stale",
    /// A source counts otherwise than what was read of it.
    SourceGap = "source-gap",
    /// A source's answers no longer fit what is declared.
    SourceChanged = "source-changed",
}

impl Check {
    /// Whether it needs a history of what sources answered, which files do not have.
    pub fn needs_history(self) -> bool {
        matches!(self, Self::AddressChanged | Self::SourceStale | Self::SourceGap | Self::SourceChanged)
    }
}

impl fmt::Display for Check {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl FromStr for Check {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Self::ALL
            .iter()
            .copied()
            .find(|check| check.word() == text)
            .ok_or_else(|| format!("{text:?} is no check"))
    }
}

/// The identity of a finding: its check and its subject, whatever its wording, lines and units.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
#[serde(transparent)]
pub struct FindingId(#[schemars(with = "String")] SmolStr);

impl FindingId {
    /// Derives the identity. `subject` is the list of ids that name the subject, in a fixed order.
    ///
    /// Twelve characters, 60 bits of SHA-256 over the check and each id with its length: the same in every
    /// run, on every machine; among a million findings two share one with a chance of 1 in 2 million.
    pub fn of(check: Check, subject: &[&str]) -> Self {
        let mut hash = Sha256::new();
        for part in [check.word()].iter().chain(subject) {
            hash.update((part.len() as u64).to_be_bytes());
            hash.update(part.as_bytes());
        }
        let mut text = data_encoding::BASE32_NOPAD.encode(&hash.finalize()[..10]);
        text.make_ascii_lowercase();
        Self(text[..12].into())
    }

    /// The identity as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for FindingId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// One thing that is wrong or about to be.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Finding {
    /// The rule that raised it.
    pub check: Check,
    /// Its identity over re-runs.
    pub id: FindingId,
    /// The order that it is about.
    pub order_id: Option<OrderId>,
    /// The supplier that it is about.
    pub supplier: Option<SupplierId>,
    /// The submission that it is about.
    pub submission_id: Option<SubmissionId>,
    /// The order lines that the check names.
    pub lines: Vec<NamedLine>,
    /// The submission lines that the check names: of `over-sent`, `sent-after-cancel` and `stray-submission`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub submission_lines: Vec<NamedSubmissionLine>,
    /// The last moment at which it can still be put right at the supplier.
    #[serde(serialize_with = "rfc3339::option")]
    pub act_before: Option<DateTime<Utc>>,
    /// Whether that moment has passed for every submission in question.
    pub cutoff_passed: bool,
    /// When it was first seen; in an audit of files, its as-of.
    #[serde(serialize_with = "rfc3339::moment")]
    pub first_seen: DateTime<Utc>,
    /// The price of the units named (of submission lines: their cost), where it is known of all of them.
    pub value_at_risk: Option<Money>,
    /// What the check names beyond the lines.
    pub evidence: Evidence,
}

/// Why nobody makes (all of) a line.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Reason {
    /// Nothing says which variant it is, or the owner's link is not in force yet.
    NoLink,
    /// Its SKU is shared by several variants.
    AmbiguousLink,
    /// Its link leads to a variant that the supplier does not have.
    BrokenLink,
    /// It is linked, and no supplier has any of it.
    NotSent,
    /// It is linked, and suppliers have too few.
    Short,
}

/// An order line as a finding names it.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct NamedLine {
    /// The line, within the finding's order.
    pub line_id: LineId,
    /// The page it was bought on.
    pub listing_id: Option<ListingId>,
    /// Its SKU, as typed.
    pub sku: Option<Sku>,
    /// Its title.
    pub title: Option<String>,
    /// What the customer chose.
    pub options: Option<Options>,
    /// Units bought.
    pub quantity: u32,
    /// Units concerned: of the line; of `wrong-variant`, the supplier's units.
    pub units: u64,
    /// Why nobody makes them, where that is what is wrong.
    pub reason: Option<Reason>,
    /// What one unit of it needs, by its link; also by one that is broken.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub needs: Vec<Part>,
    /// What the owner means it to be, where that is not in force yet.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub intended: Vec<Part>,
    /// The offer that it was bought of leads there by now: what is intended is in force for later orders, and not for this.
    #[serde(skip_serializing_if = "is_false")]
    pub came_before_link: bool,
    /// Of what it needs or is meant to be, what its supplier cannot make now.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_made_now: Vec<Part>,
    /// Not all sources have been read up to now, so that it may have been put right already.
    #[serde(skip_serializing_if = "is_false")]
    pub unconfirmed: bool,
}

impl NamedLine {
    /// What one unit of it needs, as far as that is settled: by its link, or by the one that came after it.
    pub fn parts(&self) -> &[Part] {
        if self.came_before_link { &self.intended } else { &self.needs }
    }

    /// Whether it counts as linked: by a link that is only intended it does not, also where that is in force for later orders.
    pub fn counts_as_linked(&self) -> bool {
        let is_unlinked =
            matches!(self.reason, Some(Reason::NoLink | Reason::AmbiguousLink | Reason::BrokenLink));
        self.intended.is_empty() && !is_unlinked
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it so")]
fn is_false(value: &bool) -> bool {
    !*value
}

/// A submission line as a finding names it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct NamedSubmissionLine {
    /// The line, within the finding's submission.
    pub line_id: LineId,
    /// What it makes.
    pub variant_id: Option<VariantId>,
    /// The product's name, where the variant is known.
    pub product: Option<String>,
    /// The variant's size, colour and the like.
    pub options: Option<Options>,
    /// Units asked for.
    pub quantity: u32,
    /// Units concerned.
    pub units: u64,
}

/// So many of a supplier's variant.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
pub struct Part {
    /// Who makes it; `own` is the shop itself.
    pub supplier: SupplierId,
    /// Which variant; null for own stock.
    pub variant_id: Option<VariantId>,
    /// How many one unit of the offer needs.
    pub units: u32,
}

/// A variant as a finding shows it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct NamedVariant {
    /// Who makes it.
    pub supplier: SupplierId,
    /// Which one.
    pub variant_id: VariantId,
    /// The SKU that it bears.
    pub sku: Option<Sku>,
    /// The product's name.
    pub product: Option<String>,
    /// Its size, colour and the like.
    pub options: Option<Options>,
}

/// A submission as a finding shows it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, JsonSchema)]
pub struct NamedSubmission {
    /// Who was asked.
    pub supplier: SupplierId,
    /// Which submission.
    pub submission_id: SubmissionId,
    /// How far it is.
    pub status: SubmissionStatus,
    /// When the supplier received it.
    #[serde(serialize_with = "rfc3339::moment")]
    pub received_at: DateTime<Utc>,
    /// After this it can no longer be changed, where that is configured.
    #[serde(serialize_with = "rfc3339::option")]
    pub cut_off: Option<DateTime<Utc>>,
}

/// A parcel as a finding shows it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, JsonSchema)]
pub struct NamedParcel {
    /// Who dispatched it.
    pub supplier: SupplierId,
    /// Which parcel.
    pub parcel_id: ParcelId,
    /// When.
    #[serde(serialize_with = "rfc3339::moment")]
    pub dispatched_at: DateTime<Utc>,
    /// Who carries it.
    pub carrier: Option<String>,
    /// Where to follow it.
    pub tracking_number: Option<String>,
}

/// An offer as a finding shows it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct NamedOffer {
    /// Its SKU, as typed.
    pub sku: Option<Sku>,
    /// The option combination.
    pub options: Options,
    /// Whether customers can buy it now.
    pub buyable: bool,
}

/// What a check names beyond the lines; one shape per check.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Evidence {
    /// Of `part-sent` and `unsent-order`.
    Gap(GapEvidence),
    /// Of `wrong-variant`.
    Wrong(WrongEvidence),
    /// Of `over-sent`.
    Surplus(SurplusEvidence),
    /// Of `sent-after-cancel`.
    Cancelled(CancelledEvidence),
    /// Of `stray-submission`.
    Stray(StrayEvidence),
    /// Of `held` and `not-started`.
    Waiting(WaitingEvidence),
    /// Of `part-dispatched`.
    PartDispatched(PartDispatchedEvidence),
    /// Of `late`.
    Late(LateEvidence),
    /// Of `dispatch-unmarked`.
    Unmarked(UnmarkedEvidence),
    /// Of `offer-unlinked`.
    Unlinked(UnlinkedEvidence),
    /// Of `link-mismatch`.
    Mismatch(MismatchEvidence),
    /// Of `link-unusable`.
    Unusable(UnusableEvidence),
    /// Of `shared-variant`.
    Shared(SharedEvidence),
    /// Of `loss-making`.
    Loss(LossEvidence),
    /// Of `address-changed`.
    Address(AddressEvidence),
    /// Of `source-stale`, `source-gap` and `source-changed`.
    Source(SourceEvidence),
}

/// Of `part-sent` and `unsent-order`: what the order's state rests on.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct GapEvidence {
    /// The payment, or the placing where the payment is not known; graces run from here.
    #[serde(serialize_with = "rfc3339::moment")]
    pub waiting_since: DateTime<Utc>,
    /// Whether the time that a linked line may take is over.
    pub grace_over: bool,
    /// What suppliers do have of the order's other lines and of these.
    pub sent: Vec<SentLine>,
    /// The live submissions that refer to the order.
    pub submissions: Vec<NamedSubmission>,
}

/// Units of an order line that a submission line serves, rightly or wrongly.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct SentLine {
    /// The order line.
    pub line_id: LineId,
    /// Who was asked.
    pub supplier: SupplierId,
    /// The submission.
    pub submission_id: SubmissionId,
    /// The line of it.
    pub submission_line_id: LineId,
    /// What it makes.
    pub variant_id: VariantId,
    /// The supplier's units.
    pub units: u64,
    /// In which of the four ways, 1 to 4; 4 is wrongly.
    pub way: u8,
}

/// Of `wrong-variant`: what was wanted and what was sent.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct WrongEvidence {
    /// What the line's link asks for; empty where it has none.
    pub wanted: Vec<NamedVariant>,
    /// What the line's text says, where it has no link.
    pub wanted_reading: Option<Reading>,
    /// What was sent instead.
    pub sent: Vec<WronglySent>,
}

/// Something sent instead of what was wanted.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct WronglySent {
    /// The submission.
    pub submission_id: SubmissionId,
    /// The line of it.
    pub submission_line_id: LineId,
    /// How far that line is.
    pub status: SubmissionStatus,
    /// What it makes.
    pub variant: NamedVariant,
    /// The supplier's units.
    pub units: u64,
    /// In what it differs, as far as both sides can be read.
    pub differs: Vec<Difference>,
}

/// Of `over-sent`: what else serves the order.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SurplusEvidence {
    /// Surplus units, over the submission lines named.
    pub units: u64,
    /// The other orders that the submission lines refer to.
    pub other_orders: Vec<OrderId>,
    /// All live submissions of the order, this one included.
    pub submissions: Vec<NamedSubmission>,
}

/// Of `sent-after-cancel`: what was cancelled.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct CancelledEvidence {
    /// Units sent for something cancelled, over the submission lines named.
    pub units: u64,
    /// Whether the whole order was cancelled.
    pub order_cancelled: bool,
    /// The lines whose cancelled units explain it; empty where the order as a whole does.
    pub cancelled_lines: Vec<CancelledLine>,
    /// The submission.
    pub submission: NamedSubmission,
}

/// A cancelled line, or cancelled units of one.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct CancelledLine {
    /// The order line.
    pub line_id: LineId,
    /// Its title.
    pub title: Option<String>,
    /// What the customer chose.
    pub options: Option<Options>,
    /// Units of the line that were cancelled.
    pub cancelled_quantity: u32,
    /// The supplier's units that they explain.
    pub units: u64,
}

/// Of `stray-submission`: what it says it is for.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct StrayEvidence {
    /// The references of the lines, as written; empty where there are none.
    pub order_refs: Vec<String>,
    /// Units, over the submission lines named.
    pub units: u64,
    /// The submission.
    pub submission: NamedSubmission,
}

/// Of `held` and `not-started`: what waits, and since when.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct WaitingEvidence {
    /// Since when.
    #[serde(serialize_with = "rfc3339::moment")]
    pub since: DateTime<Utc>,
    /// The orders that it is for.
    pub order_ids: Vec<OrderId>,
    /// The submission lines that wait; empty where the submission as a whole does and has no lines.
    pub submission_line_ids: Vec<LineId>,
    /// The submission.
    pub submission: NamedSubmission,
}

/// Of `part-dispatched`: what has gone already.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct PartDispatchedEvidence {
    /// When the first of it went.
    #[serde(serialize_with = "rfc3339::moment")]
    pub first_dispatched_at: DateTime<Utc>,
    /// The supplier's units gone.
    pub units_dispatched: u64,
    /// In which parcels, where they are known.
    pub parcels: Vec<NamedParcel>,
}

/// Of `late`: what was promised.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct LateEvidence {
    /// Dispatch was promised by then.
    #[serde(serialize_with = "rfc3339::moment")]
    pub promised_by: DateTime<Utc>,
    /// Units that a supplier has and has not dispatched.
    pub units_waiting: u64,
    /// Units that nobody makes.
    pub units_uncovered: u64,
}

/// Of `dispatch-unmarked`: what has gone.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct UnmarkedEvidence {
    /// When the last of it went.
    #[serde(serialize_with = "rfc3339::moment")]
    pub dispatched_since: DateTime<Utc>,
    /// In which parcels, where they are known.
    pub parcels: Vec<NamedParcel>,
}

/// Of `offer-unlinked`: the offers of one listing that lead nowhere.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct UnlinkedEvidence {
    /// The listing.
    pub listing_id: ListingId,
    /// Its title.
    pub title: Option<String>,
    /// The offers, by options.
    pub offers: Vec<UnlinkedOffer>,
}

/// An offer that leads nowhere, or elsewhere than the owner means.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct UnlinkedOffer {
    /// The offer.
    #[serde(flatten)]
    pub offer: NamedOffer,
    /// Why; null where it leads elsewhere than intended.
    pub reason: Option<Reason>,
    /// What is in force; also of a link that is broken.
    pub in_force: Vec<Part>,
    /// What the owner means it to be.
    pub intended: Vec<Part>,
}

/// Of `link-mismatch`: both readings.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct MismatchEvidence {
    /// The listing.
    pub listing_id: ListingId,
    /// Its title.
    pub title: Option<String>,
    /// The offer.
    pub offer: NamedOffer,
    /// What its options say.
    pub offer_reading: Reading,
    /// The variants that it leads to, each with what it says and where it differs.
    pub variants: Vec<MismatchedVariant>,
}

/// A variant that contradicts its offer.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct MismatchedVariant {
    /// The variant.
    pub variant: NamedVariant,
    /// What its product and options say.
    pub reading: Reading,
    /// In what it differs.
    pub differs: Vec<Difference>,
}

/// Of `link-unusable`: the link, and what is wrong with its parts.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct UnusableEvidence {
    /// The listing that the link is for, where it is for one.
    pub listing_id: Option<ListingId>,
    /// The SKU that the link is for, where it is for one.
    pub sku: Option<Sku>,
    /// The option combination that the link is for, where it is for one.
    pub options: Option<Options>,
    /// The parts that cannot be used.
    pub parts: Vec<UnusablePart>,
    /// The offers that it serves.
    pub offers: Vec<OfferOfListing>,
}

/// A part of a link that cannot be used.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct UnusablePart {
    /// Who would make it.
    pub supplier: SupplierId,
    /// Which variant.
    pub variant_id: VariantId,
    /// What is wrong with it.
    pub why: Unusable,
}

/// What is wrong with a variant that a link leads to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Unusable {
    /// The supplier's table does not have it.
    Unknown,
    /// The supplier does not have it now.
    NotAvailable,
}

/// An offer with its listing.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct OfferOfListing {
    /// The listing.
    pub listing_id: ListingId,
    /// The offer.
    #[serde(flatten)]
    pub offer: NamedOffer,
}

/// Of `shared-variant`: the offers that lead to one variant.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SharedEvidence {
    /// The listing.
    pub listing_id: ListingId,
    /// Its title.
    pub title: Option<String>,
    /// The variant.
    pub variant: NamedVariant,
    /// The offers, by options, each with what it says.
    pub offers: Vec<SharingOffer>,
}

/// An offer that shares a variant.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SharingOffer {
    /// The offer.
    #[serde(flatten)]
    pub offer: NamedOffer,
    /// What its options say.
    pub reading: Reading,
}

/// Of `loss-making`: the sum, line by line.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct LossEvidence {
    /// The listing.
    pub listing_id: ListingId,
    /// Its title.
    pub title: Option<String>,
    /// The offer.
    pub offer: NamedOffer,
    /// What the customer pays for one.
    pub price: Money,
    /// What each part costs, units included.
    pub costs: Vec<PartCost>,
    /// Fees in per cent of the price.
    pub percent_fee: Money,
    /// Fees per unit.
    pub unit_fee: Money,
    /// Costs and fees less the price.
    pub loss: Money,
}

/// Of `address-changed`: since when, and who sends to the old one.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct AddressEvidence {
    /// When the change was seen.
    #[serde(serialize_with = "rfc3339::moment")]
    pub changed_at: DateTime<Utc>,
    /// The submissions that were received before, and not dispatched.
    pub submissions: Vec<NamedSubmission>,
}

/// Of the checks about sources: which, since when, and what is the matter.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct SourceEvidence {
    /// The source, as the configuration names it.
    pub source: SourceId,
    /// The request of it, as the configuration names it.
    pub request: String,
    /// Since when.
    #[serde(serialize_with = "rfc3339::moment")]
    pub since: DateTime<Utc>,
    /// Up to when it was read; null where it never was to the end.
    #[serde(serialize_with = "rfc3339::option")]
    pub read_up_to: Option<DateTime<Utc>>,
    /// What is the matter, in words; never what a customer wrote.
    pub trouble: String,
    /// How many records the source counts, of `source-gap`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted_there: Option<u64>,
    /// How many were read, of `source-gap`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted_here: Option<u64>,
}

/// What one part of an offer costs.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct PartCost {
    /// The part.
    #[serde(flatten)]
    pub part: Part,
    /// What the supplier asks for one.
    pub unit_cost: Money,
    /// For all units of the part.
    pub cost: Money,
}

/// Adds up prices; `None` as soon as one of them, or the currency, is not known.
pub fn value_of(
    units: impl IntoIterator<Item = (u64, Option<Decimal>)>,
    currency: Option<Currency>,
) -> Option<Money> {
    let mut sum = Decimal::ZERO;
    let mut any = false;
    for (units, price) in units {
        sum = sum.checked_add(price?.checked_mul(Decimal::from(units))?)?;
        any = true;
    }
    any.then_some(())?;
    Some(Money::new(sum, currency?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_identity_rests_on_check_and_subject_alone() {
        let id = FindingId::of(Check::PartSent, &["A-1"]);
        assert_eq!(id, FindingId::of(Check::PartSent, &["A-1"]));
        assert_eq!(id.as_str().len(), 12);
        assert_ne!(id, FindingId::of(Check::UnsentOrder, &["A-1"]));
        assert_ne!(
            FindingId::of(Check::WrongVariant, &["A", "B1"]),
            FindingId::of(Check::WrongVariant, &["AB", "1"])
        );
    }

    #[test]
    fn every_check_is_found_by_its_word() {
        for check in Check::ALL {
            assert_eq!(check.word().parse(), Ok(*check));
        }
        assert!("part_sent".parse::<Check>().is_err());
    }
}
