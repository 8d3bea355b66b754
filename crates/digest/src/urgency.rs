//! How urgent a finding is, in three steps, by which a recipient says what to be told.
//!
//! Must not know how it is told. Start reading at [`Urgency::of`].

use std::fmt;
use std::str::FromStr;

use chrono::{DateTime, Utc};
use model::{Check, Finding};

use crate::table::group::Group;

/// How urgent a finding is; the later, the more.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Urgency {
    /// To know of.
    Watch,
    /// It can no longer be put right at the supplier: something is to be made good.
    Repair,
    /// It can still be put right at the supplier, as far as is known.
    Now,
}

impl Urgency {
    /// All, the most urgent first.
    pub const ALL: [Self; 3] = [Self::Now, Self::Repair, Self::Watch];

    /// How urgent a finding is.
    pub fn of(finding: &Finding) -> Self {
        match Group::of(finding) {
            Group::Now => Self::Now,
            Group::Past => Self::Repair,
            Group::Watch | Group::SupplierOrders | Group::Listings | Group::Sources => Self::Watch,
        }
    }

    /// `now`, `repair` or `watch`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Now => "now",
            Self::Repair => "repair",
            Self::Watch => "watch",
        }
    }
}

impl fmt::Display for Urgency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl FromStr for Urgency {
    type Err = String;

    fn from_str(word: &str) -> Result<Self, String> {
        Self::ALL
            .into_iter()
            .find(|urgency| urgency.word() == word)
            .ok_or_else(|| format!("{word:?} is none of now, repair and watch"))
    }
}

/// Whether a finding cannot wait for the next digest: its cut-off comes before that; or a supplier has a part of the order,
/// the others are missing, and no cut-off is known that has passed.
pub fn cannot_wait(finding: &Finding, as_of: DateTime<Utc>, next_digest: DateTime<Utc>) -> bool {
    match finding.act_before {
        Some(act_before) => act_before > as_of && act_before <= next_digest,
        None => finding.check == Check::PartSent && !finding.cutoff_passed,
    }
}
