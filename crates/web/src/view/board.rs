//! What the last round of a shop found, in order of urgency, so that a look at the queue does not sort it anew.
//!
//! Must not know what is asked for, or how a thing is worded. Start reading at [`Board`].

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, Utc};
use digest::{Grouped, grouped, standing_at};
use model::Finding;
use model::finding::Evidence;
use self_cell::self_cell;

use super::queue::Urgency;
use super::standing::doubt;
use crate::desk::{Aside, Round};

/// What is set aside of a shop, by the id of the finding.
pub type OwnAsides = BTreeMap<String, Aside>;

/// The findings of a shop as they stand, those to be done in their order. It holds until a cut-off passes, another round
/// comes, or something else is set aside.
pub struct Board {
    sorted: Sorted,
    asides: OwnAsides,
    /// Why it is not known whether all is well.
    doubt: Option<&'static str>,
    made_at: DateTime<Utc>,
    until: Option<DateTime<Utc>>,
}

self_cell!(
    struct Sorted {
        owner: Found,
        #[covariant]
        dependent: Groups,
    }
);

type Groups<'b> = Vec<Group<'b>>;

/// A thing to do.
pub(super) struct Group<'b> {
    pub(super) grouped: Grouped<'b>,
    /// A name for it that stays while its first finding stands.
    pub(super) key: String,
    /// By what it stands where it does: its urgency, and until when the first of its findings can be put right.
    pub(super) place: Place,
}

/// Where a thing to do stands among others.
pub(super) type Place = (Urgency, bool, Option<DateTime<Utc>>);

struct Found {
    round: Arc<Round>,
    all: Vec<Known>,
}

/// A finding, with what it is looked for by.
pub(super) struct Known {
    at: usize,
    /// As it stands since a cut-off of it has passed.
    changed: Option<Box<Finding>>,
    pub(super) urgency: Urgency,
    pub(super) suppliers: BTreeSet<String>,
    pub(super) is_aside: bool,
}

impl Board {
    /// Of a round, with what is set aside of its shop.
    pub fn of(round: Arc<Round>, asides: OwnAsides, now: DateTime<Utc>) -> Self {
        let known = |(at, finding): (usize, &Finding)| {
            let stands = standing_at(finding, now);
            Known {
                at,
                urgency: digest::Urgency::at(&stands, now).into(),
                suppliers: suppliers(&stands),
                is_aside: asides.contains_key(stands.id.as_str()),
                changed: match stands {
                    std::borrow::Cow::Borrowed(_) => None,
                    std::borrow::Cow::Owned(changed) => Some(Box::new(changed)),
                },
            }
        };
        let all: Vec<Known> = round.outcome.findings.iter().enumerate().map(known).collect();
        let doubt = doubt(&round);
        let sorted = Sorted::new(Found { round, all }, |found| {
            let open: Vec<&Finding> =
                found.all.iter().filter(|known| !known.is_aside).map(|known| found.finding(known)).collect();
            groups(&open, now)
        });
        let deadlines = sorted.borrow_owner().all.iter();
        let deadlines = deadlines.filter_map(|known| sorted.borrow_owner().finding(known).act_before);
        let until = deadlines.filter(|deadline| *deadline > now).min();
        Self { sorted, asides, doubt, made_at: now, until }
    }

    /// Whether it still says what is so.
    pub fn holds(&self, round: &Arc<Round>, asides: &OwnAsides, now: DateTime<Utc>) -> bool {
        Arc::ptr_eq(self.round(), round)
            && self.asides == *asides
            && self.made_at <= now
            && self.until.is_none_or(|until| now < until)
    }

    /// The round.
    pub(super) fn round(&self) -> &Arc<Round> {
        &self.sorted.borrow_owner().round
    }

    /// Why it is not known whether all is well.
    pub(super) fn doubt(&self) -> Option<&'static str> {
        self.doubt
    }

    /// The name of the shop.
    pub(super) fn shop(&self) -> &str {
        self.round().shop.id.as_str()
    }

    /// What is set aside and still stands, with why and until when.
    pub(super) fn set_aside(&self) -> impl Iterator<Item = (&Finding, &Aside)> {
        self.findings().filter_map(|(finding, _)| Some((finding, self.asides.get(finding.id.as_str())?)))
    }

    /// How much of it there is.
    pub(super) fn set_aside_in_all(&self) -> u64 {
        self.findings().filter(|(_, known)| known.is_aside).count() as u64
    }

    /// All findings.
    pub(super) fn findings(&self) -> impl Iterator<Item = (&Finding, &Known)> {
        let found = self.sorted.borrow_owner();
        found.all.iter().map(|known| (found.finding(known), known))
    }

    /// What is to be done, nothing left out but what is set aside.
    pub(super) fn groups(&self) -> &[Group<'_>] {
        self.sorted.borrow_dependent()
    }
}

impl Found {
    fn finding<'f>(&'f self, known: &'f Known) -> &'f Finding {
        known.changed.as_deref().unwrap_or(&self.round.outcome.findings[known.at])
    }
}

/// Findings of one shop as things to do.
pub(super) fn groups<'f>(findings: &[&'f Finding], now: DateTime<Utc>) -> Vec<Group<'f>> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let group = |grouped: Grouped<'f>| {
        let findings = grouped.findings();
        let first = findings.first().map(|finding| finding.id.as_str()).unwrap_or_default();
        // A finding with several causes is the first of several things.
        let number = seen.entry(first).or_default();
        *number += 1;
        let key = if *number > 1 { format!("{first}-{number}") } else { first.to_owned() };
        let deadline = findings.iter().filter_map(|finding| finding.act_before).min();
        Group { key, place: (grouped.urgency.into(), deadline.is_none(), deadline), grouped }
    };
    grouped(findings, now).into_iter().map(group).collect()
}

/// The suppliers that a finding is about: its own, those of its lines' links, and those that have something of the order.
fn suppliers(finding: &Finding) -> BTreeSet<String> {
    let mut names: BTreeSet<&str> = finding.supplier.iter().map(|supplier| supplier.as_str()).collect();
    let parts = finding.lines.iter().flat_map(|line| line.needs.iter().chain(&line.intended));
    names.extend(parts.filter(|part| !part.supplier.is_own()).map(|part| part.supplier.as_str()));
    match &finding.evidence {
        Evidence::Gap(gap) => names.extend(gap.submissions.iter().map(|sent| sent.supplier.as_str())),
        Evidence::Wrong(wrong) => names.extend(wrong.sent.iter().map(|sent| sent.variant.supplier.as_str())),
        Evidence::Surplus(surplus) => {
            names.extend(surplus.submissions.iter().map(|sent| sent.supplier.as_str()));
        }
        Evidence::Address(address) => {
            names.extend(address.submissions.iter().map(|sent| sent.supplier.as_str()));
        }
        Evidence::Mismatch(mismatch) => {
            names.extend(mismatch.variants.iter().map(|variant| variant.variant.supplier.as_str()));
        }
        Evidence::Unusable(unusable) => {
            names.extend(unusable.parts.iter().map(|part| part.supplier.as_str()));
        }
        _ => {}
    }
    names.into_iter().map(str::to_owned).collect()
}
