//! How the queue is narrowed, and how it could be.
//!
//! Must not know how a thing to do is worded. Start reading at [`QueueAsked`].

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, TimeDelta, Utc};
use model::Check;
use schemars::JsonSchema;
use serde::Serialize;

use super::queue::{Entry, Urgency};
use super::words::{Words, check_name};
use crate::desk::Shop;

/// Choices of one filter that are listed, the most frequent first.
const CHOICES: usize = 100;

/// Since when something is known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Age {
    /// Within the last hour.
    Hour,
    /// Within the last 24 hours.
    Day,
    /// Within the last seven days.
    Week,
    /// For longer than that.
    Older,
}

impl Age {
    /// All, the newest first.
    pub const ALL: [Self; 4] = [Self::Hour, Self::Day, Self::Week, Self::Older];

    /// The word of addresses.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hour => "hour",
            Self::Day => "day",
            Self::Week => "week",
            Self::Older => "older",
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Hour => "found within the last hour",
            Self::Day => "found within the last day",
            Self::Week => "found within the last week",
            Self::Older => "found more than a week ago",
        }
    }

    /// Whether something is as old as that; what is an hour old is a day old too.
    pub(super) fn has(self, first_seen: DateTime<Utc>, now: DateTime<Utc>) -> bool {
        let age = now - first_seen;
        match self {
            Self::Hour => age <= TimeDelta::hours(1),
            Self::Day => age <= TimeDelta::days(1),
            Self::Week => age <= TimeDelta::days(7),
            Self::Older => age > TimeDelta::days(7),
        }
    }
}

/// How the queue is narrowed.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct QueueAsked {
    /// Of this shop.
    pub shop: Option<String>,
    /// That concerns this supplier.
    pub supplier: Option<String>,
    /// Of this check.
    pub check: Option<Check>,
    /// Of this urgency.
    pub urgency: Option<Urgency>,
    /// As old as this.
    pub age: Option<Age>,
    /// The things that this finding belongs to.
    pub finding: Option<String>,
    /// Which page; 0 is the first one, as 1 is.
    pub page: u32,
}

impl QueueAsked {
    /// Whether something is left out.
    pub fn is_narrowed(&self) -> bool {
        *self != Self { page: self.page, ..Self::default() }
    }

    /// Whether findings of this shop are asked for.
    pub(super) fn is_of_shop(&self, shop: &str) -> bool {
        self.shop.as_ref().is_none_or(|asked| asked == shop)
    }

    /// Whether some findings of a shop are asked for, rather than all that belong to it or to a thing to do.
    pub(super) fn is_of_findings(&self) -> bool {
        self.supplier.is_some() || self.check.is_some() || self.urgency.is_some() || self.age.is_some()
    }
}

/// Something by which the queue can be narrowed.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct Filter {
    /// The parameter.
    pub name: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// What can be chosen.
    pub choices: Vec<Choice>,
}

/// Something that can be chosen.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct Choice {
    /// The parameter's value.
    pub value: String,
    /// What it is called.
    pub label: Words,
    /// How many findings there are of it, the other filters being as they are.
    pub findings: u64,
    /// Whether it is chosen.
    pub is_chosen: bool,
}

/// What leaves a finding out.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum LeftOut {
    Not,
    By(By),
    BySeveral,
}

/// A filter.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum By {
    Shop,
    Supplier,
    Check,
    Urgency,
    Age,
}

/// What is counted for the choices, in one look at each finding: of each filter, what the others leave.
#[derive(Default)]
struct Counts<'c> {
    urgency: [u64; Urgency::ALL.len()],
    age: [u64; Age::ALL.len()],
    checks: BTreeMap<Check, u64>,
    suppliers: HashMap<&'c str, u64>,
    shops: BTreeMap<&'c str, u64>,
}

impl<'c> Counts<'c> {
    fn of(open: &'c [Entry<'c>], asked: &QueueAsked, now: DateTime<Utc>) -> Self {
        let mut counts = Self::default();
        for found in open {
            let left_out = found.left_out(asked, now);
            let counts_for = |by: By| left_out == LeftOut::Not || left_out == LeftOut::By(by);
            if left_out == LeftOut::BySeveral {
                continue;
            }
            if counts_for(By::Urgency) {
                let own = Urgency::ALL.into_iter().zip(&mut counts.urgency);
                own.filter(|(urgency, _)| found.known.urgency == *urgency).for_each(|(_, count)| *count += 1);
            }
            if counts_for(By::Age) {
                let own = Age::ALL.into_iter().zip(&mut counts.age);
                own.filter(|(age, _)| age.has(found.finding.first_seen, now))
                    .for_each(|(_, count)| *count += 1);
            }
            if counts_for(By::Check) {
                *counts.checks.entry(found.finding.check).or_default() += 1;
            }
            if counts_for(By::Supplier) {
                for supplier in &found.known.suppliers {
                    *counts.suppliers.entry(supplier.as_str()).or_default() += 1;
                }
            }
            if counts_for(By::Shop) {
                *counts.shops.entry(found.shop()).or_default() += 1;
            }
        }
        counts
    }
}

/// How the queue can be narrowed. Each filter counts what the others leave.
pub(super) fn filters(
    shops: &[Shop],
    open: &[Entry<'_>],
    asked: &QueueAsked,
    now: DateTime<Utc>,
) -> Vec<Filter> {
    let counts = Counts::of(open, asked, now);
    let mut filters = Vec::new();

    if shops.len() > 1 {
        let all = shops.iter().map(|shop| (shop.id.as_str(), 0));
        let own = all.chain(counts.shops.iter().map(|(name, count)| (*name, *count)));
        let choices = choices(own, asked.shop.as_deref(), |name| Words::outside(name));
        filters.push(Filter { name: "shop", label: "Shop", choices });
    }

    let urgencies = Urgency::ALL.into_iter().zip(counts.urgency).map(|(urgency, findings)| Choice {
        value: urgency.word().to_owned(),
        label: Words::ours(urgency.name()),
        findings,
        is_chosen: asked.urgency == Some(urgency),
    });
    filters.push(Filter { name: "urgency", label: "Urgency", choices: urgencies.collect() });

    let own = counts.checks.iter().map(|(check, count)| (check.word(), *count));
    let choices_of = choices(own, asked.check.map(Check::word), |word| Words::ours(check_name(word)));
    filters.push(Filter { name: "check", label: "Check", choices: choices_of });

    // What cannot be typed into an address cannot be chosen.
    let can_be_typed = |name: &str| digest::clean(name) == name;
    let own = counts.suppliers.iter().map(|(name, count)| (*name, *count));
    let own = own.filter(|(name, _)| can_be_typed(name));
    let chosen = asked.supplier.as_deref().filter(|name| can_be_typed(name));
    let choices_of = choices(own, chosen, |name| Words::outside(name));
    filters.push(Filter { name: "supplier", label: "Supplier", choices: choices_of });

    let ages = Age::ALL.into_iter().zip(counts.age).map(|(age, findings)| Choice {
        value: age.word().to_owned(),
        label: Words::ours(age.name()),
        findings,
        is_chosen: asked.age == Some(age),
    });
    filters.push(Filter { name: "age", label: "Since", choices: ages.collect() });
    filters
}

/// The choices of a filter whose values differ from shop to shop, the most frequent ones; what is chosen can be chosen also
/// where nothing is of it.
fn choices<'c>(
    counts: impl Iterator<Item = (&'c str, u64)>,
    chosen: Option<&'c str>,
    label: impl Fn(&str) -> Words,
) -> Vec<Choice> {
    let mut by_value: BTreeMap<&str, u64> = chosen.into_iter().map(|one| (one, 0)).collect();
    by_value.extend(counts);
    let choice = |(value, findings): (&str, u64)| Choice {
        value: value.to_owned(),
        label: label(value),
        findings,
        is_chosen: chosen == Some(value),
    };
    let mut choices: Vec<Choice> = by_value.into_iter().map(choice).collect();
    choices.sort_by_key(|choice| (!choice.is_chosen, std::cmp::Reverse(choice.findings)));
    choices.truncate(CHOICES);
    choices.sort_by(|one, other| one.value.cmp(&other.value));
    choices
}
