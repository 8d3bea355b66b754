//! How urgent a finding is, in three steps, by which a recipient says what to be told.
//!
//! A finding is judged at one moment and told at a later one, and a cut-off may pass between. Must not know how it is told.
//! Start reading at [`Urgency::at`].

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use chrono::{DateTime, Utc};
use model::finding::{Evidence, GapEvidence, NamedSubmission};
use model::{Check, Finding, SupplierId};

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

    /// How urgent a finding is at a moment, at which it was judged or later.
    pub fn at(finding: &Finding, now: DateTime<Utc>) -> Self {
        match Group::of(&standing_at(finding, now)) {
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

/// A finding as it stands at a moment after it was judged: where its cut-off has passed since, the next one counts, if its
/// evidence knows of one; else it says that it has passed.
pub fn standing_at(finding: &Finding, now: DateTime<Utc>) -> Cow<'_, Finding> {
    if finding.act_before.is_none_or(|act_before| act_before > now) {
        return Cow::Borrowed(finding);
    }
    let (act_before, cutoff_passed) = match &finding.evidence {
        Evidence::Gap(gap) => cut_off_of_gap(finding, gap, now),
        Evidence::Address(address) => cut_off(address.submissions.iter(), now),
        _ => (None, true),
    };
    Cow::Owned(Finding { act_before, cutoff_passed, ..finding.clone() })
}

/// The earliest cut-off still ahead of the order's submissions at the suppliers of the lines named, at all of them where a
/// line has no link; and whether all have passed.
fn cut_off_of_gap(finding: &Finding, gap: &GapEvidence, now: DateTime<Utc>) -> (Option<DateTime<Utc>>, bool) {
    let is_anywhere = finding.lines.iter().any(|line| !line.counts_as_linked());
    let is_concerned = |submission: &&NamedSubmission| {
        let mut parts = finding.lines.iter().flat_map(|line| &line.needs);
        is_anywhere || parts.any(|part| part.supplier == submission.supplier)
    };
    cut_off(gap.submissions.iter().filter(is_concerned), now)
}

fn cut_off<'f>(
    submissions: impl Iterator<Item = &'f NamedSubmission>,
    now: DateTime<Utc>,
) -> (Option<DateTime<Utc>>, bool) {
    let open: Vec<&NamedSubmission> =
        submissions.filter(|submission| !submission.status.has_begun()).collect();
    let ahead = open.iter().filter_map(|submission| submission.cut_off).filter(|cut_off| *cut_off > now);
    let earliest = ahead.min();
    (earliest, earliest.is_none() && open.iter().all(|submission| submission.cut_off.is_some()))
}

/// The supplier whose cut-off it is by which a finding is to be acted on, where it says so.
pub fn cut_off_of(finding: &Finding) -> Option<&SupplierId> {
    let by = finding.act_before?;
    let submissions = match &finding.evidence {
        Evidence::Gap(gap) => &gap.submissions[..],
        Evidence::Address(address) => &address.submissions,
        _ => &[],
    };
    let own = submissions.iter().find(|submission| submission.cut_off == Some(by));
    own.map(|submission| &submission.supplier).or(finding.supplier.as_ref())
}

/// Whether a finding cannot wait for the next digest: its cut-off comes before that; or a supplier has a part of the order,
/// the others are missing, and no cut-off is known that has passed.
pub fn cannot_wait(finding: &Finding, as_of: DateTime<Utc>, next_digest: DateTime<Utc>) -> bool {
    match finding.act_before {
        Some(act_before) => act_before > as_of && act_before <= next_digest,
        None => finding.check == Check::PartSent && !finding.cutoff_passed,
    }
}
