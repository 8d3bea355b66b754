//! Which group of the table a finding stands in, and in what order the things to do stand there.
//!
//! Must not know how they are written. Start reading at [`Group::of`].

use std::cmp::Reverse;
use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use model::{Check, Finding, OrderId};

use crate::causes::{self, Item};

/// Where a finding stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// It can still be put right at the supplier, as far as is known.
    Now,
    /// It cannot be put right at the supplier any more.
    Past,
    /// An order that does not go as it should.
    Watch,
    /// A supplier order that does not go as it should.
    SupplierOrders,
    /// What will go wrong with the next order.
    Listings,
    /// What is not known, because a source could not be read.
    Sources,
}

impl Group {
    /// All groups, in the order in which they stand.
    pub const ALL: [Self; 6] =
        [Self::Now, Self::Past, Self::Watch, Self::SupplierOrders, Self::Listings, Self::Sources];

    /// The group of a finding.
    pub fn of(finding: &Finding) -> Self {
        match finding.check {
            check if is_bound_to_cutoff(check) && finding.cutoff_passed => Self::Past,
            check if is_bound_to_cutoff(check) => Self::Now,
            Check::StraySubmission if finding.act_before.is_some() => Self::Now,
            Check::StraySubmission | Check::Held | Check::NotStarted => Self::SupplierOrders,
            Check::OfferUnlinked
            | Check::LinkMismatch
            | Check::LinkUnusable
            | Check::SharedVariant
            | Check::LossMaking => Self::Listings,
            Check::SourceStale | Check::SourceGap | Check::SourceChanged => Self::Sources,
            _ => Self::Watch,
        }
    }

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::Now => "TO PUT RIGHT NOW",
            Self::Past => "PAST THE CUT-OFF",
            Self::Watch => "ORDERS TO WATCH",
            Self::SupplierOrders => "SUPPLIER ORDERS TO ASK ABOUT",
            Self::Listings => "LISTINGS AND LINKS",
            Self::Sources => "WHAT COULD NOT BE READ",
        }
    }
}

/// Whether what is wrong can be put right at the supplier until a cut-off.
pub fn is_bound_to_cutoff(check: Check) -> bool {
    matches!(
        check,
        Check::PartSent
            | Check::UnsentOrder
            | Check::WrongVariant
            | Check::OverSent
            | Check::SentAfterCancel
            | Check::AddressChanged
    )
}

/// Sorts what has no deadline behind what has one.
pub fn deadline(finding: &Finding) -> (bool, Option<DateTime<Utc>>) {
    (finding.act_before.is_none(), finding.act_before)
}

/// The findings of a group as things to do: by time left, then with the worst of its order's checks, what mends
/// the most orders first; the findings of one order together.
pub fn sorted<'a>(findings: &[&'a Finding]) -> Vec<Item<'a>> {
    let mut findings = findings.to_vec();
    findings.sort_by_key(|finding| deadline(finding));
    let mut worst: BTreeMap<Option<&OrderId>, Check> = BTreeMap::new();
    for finding in findings.iter().filter(|finding| finding.order_id.is_some()) {
        let check = worst.entry(finding.order_id.as_ref()).or_insert(finding.check);
        *check = finding.check.min(*check);
    }
    let worst = |finding: &Finding| worst.get(&finding.order_id.as_ref()).copied().unwrap_or(finding.check);
    let mut items = causes::items(&findings);
    items.sort_by_cached_key(|item| {
        let findings = item.findings();
        let first = findings.first().copied();
        (
            first.map(deadline),
            findings.iter().map(|finding| worst(finding)).min(),
            Reverse(findings.len()),
            first.map(|finding| (finding.order_id.clone(), finding.check, finding.id.clone())),
        )
    });
    items
}
