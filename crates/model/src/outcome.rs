//! What an audit answers: totals, findings, notices, and the coverage that they rest on.

use std::ops::AddAssign;

use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{Finding, OrderId};

/// The answer of an audit.
#[derive(Clone, PartialEq, Debug)]
pub struct Outcome {
    /// The moment for which it holds.
    pub as_of: DateTime<Utc>,
    /// What was counted.
    pub totals: Totals,
    /// By order id (those without an order last), then by check in the documented order, then by identity.
    pub findings: Vec<Finding>,
    /// What the owner should know to judge the answer.
    pub notices: Vec<Notice>,
    /// Orders of which a row was skipped, and those merged with them, by id.
    pub not_judged: Vec<OrderId>,
    /// Rows of the input that could not be read and were left out.
    pub rows_skipped: u64,
}

/// What was counted. `units_demanded` = `covered` + `covered_wrongly` + `uncovered` + `own_stock`.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Totals {
    /// Orders that exist at as-of and are reported, in any state.
    pub orders: u64,
    /// Their lines.
    pub lines: u64,
    /// Units of lines that live orders still owe.
    pub units_demanded: u64,
    /// Of these, units that a supplier has rightly.
    pub covered: u64,
    /// Of these, units for which a supplier has something else.
    pub covered_wrongly: u64,
    /// Of these, units that no supplier has.
    pub uncovered: u64,
    /// Of these, units that the shop packs itself.
    pub own_stock: u64,
    /// Of the units covered, rightly or wrongly, those dispatched.
    pub dispatched: u64,
}

impl Totals {
    /// The units that are accounted for.
    pub fn accounted_for(&self) -> u64 {
        [self.covered, self.covered_wrongly, self.uncovered, self.own_stock]
            .into_iter()
            .fold(0, u64::saturating_add)
    }

    /// Whether each unit demanded is accounted for exactly once.
    pub fn adds_up(&self) -> bool {
        self.accounted_for() == self.units_demanded
    }

    /// Without what is counted in others. `None` where these have more.
    pub fn without(&self, other: &Self) -> Option<Self> {
        Some(Self {
            orders: self.orders.checked_sub(other.orders)?,
            lines: self.lines.checked_sub(other.lines)?,
            units_demanded: self.units_demanded.checked_sub(other.units_demanded)?,
            covered: self.covered.checked_sub(other.covered)?,
            covered_wrongly: self.covered_wrongly.checked_sub(other.covered_wrongly)?,
            uncovered: self.uncovered.checked_sub(other.uncovered)?,
            own_stock: self.own_stock.checked_sub(other.own_stock)?,
            dispatched: self.dispatched.checked_sub(other.dispatched)?,
        })
    }
}

impl AddAssign for Totals {
    fn add_assign(&mut self, other: Self) {
        self.orders += other.orders;
        self.lines += other.lines;
        self.units_demanded += other.units_demanded;
        self.covered += other.covered;
        self.covered_wrongly += other.covered_wrongly;
        self.uncovered += other.uncovered;
        self.own_stock += other.own_stock;
        self.dispatched += other.dispatched;
    }
}

/// What a notice is about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Topic {
    /// Columns that everyline does not know, and ignored.
    UnknownColumn,
    /// Files that everyline does not know, and ignored.
    UnknownFile,
    /// Rows of which a later one was given under the same key.
    SupersededRow,
    /// Rows that could not be read and were left out.
    SkippedRow,
    /// Rows of a table that are no records: they say the header again, or add up the rows above them.
    PassedOver,
    /// Orders about which nothing is said, since a row of theirs was left out.
    NotJudged,
    /// Submission lines of which it is not known what they make.
    UnknownVariant,
    /// Submissions that make something again.
    Replacement,
    /// Submission lines that are samples.
    Sample,
    /// Submissions older than the first order.
    OlderThanBook,
    /// Orders older than the first submission.
    DaysDiffer,
    /// Links for a whole listing that outrank the SKU of a variant.
    ListingOutranksSku,
    /// A table that was not given, and what cannot be said without it.
    MissingTable,
    /// Offers whose price and costs are in different currencies.
    CurrenciesDiffer,
    /// Link rows that say the same thing twice.
    RepeatedPart,
    /// The newest row is much older than as-of.
    OldExport,
    /// Suppliers that the configuration names and no table does.
    UnknownSupplier,
    /// Live orders without lines, and live supplier orders without lines.
    WithoutLines,
    /// Orders placed after as-of, of which nothing is said.
    LaterOrder,
    /// Sources that have not been read up to now, and rows that wait for others that have not been read.
    NotReadYet,
}

/// Something that is no finding, and that the owner should know.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, JsonSchema)]
pub struct Notice {
    /// What it is about.
    pub topic: Topic,
    /// How many of it.
    pub count: u64,
    /// One sentence.
    pub text: String,
}
