//! How the queue is narrowed, and how it could be.
//!
//! Must not know how a thing to do is worded. Start reading at [`QueueAsked`].

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use model::Check;
use schemars::JsonSchema;
use serde::Serialize;

use super::queue::{Entry, Urgency};
use super::words::Words;
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

/// How the queue can be narrowed. Each filter counts what the others leave.
pub(super) fn filters(
    shops: &[Shop],
    open: &[Entry<'_>],
    asked: &QueueAsked,
    now: DateTime<Utc>,
) -> Vec<Filter> {
    let without = |asked: QueueAsked| open.iter().filter(move |found| found.fits(&asked, now));
    let mut filters = Vec::new();

    let counted = |counts: BTreeMap<&str, u64>, chosen: Option<&str>, label: &dyn Fn(&str) -> Words| {
        let mut choices: Vec<Choice> = counts
            .into_iter()
            .map(|(value, findings)| Choice {
                value: value.to_owned(),
                label: label(value),
                findings,
                is_chosen: chosen == Some(value),
            })
            .collect();
        choices.sort_by_key(|choice| (!choice.is_chosen, std::cmp::Reverse(choice.findings)));
        choices.truncate(CHOICES);
        choices.sort_by(|one, other| one.value.cmp(&other.value));
        choices
    };

    let by_urgency = QueueAsked { urgency: None, ..asked.clone() };
    let choices = Urgency::ALL.map(|urgency| Choice {
        value: urgency.word().to_owned(),
        label: Words::ours(urgency.name()),
        findings: without(by_urgency.clone()).filter(|found| found.known.urgency == urgency).count() as u64,
        is_chosen: asked.urgency == Some(urgency),
    });
    filters.push(Filter { name: "urgency", label: "Urgency", choices: choices.into() });

    let mut checks: BTreeMap<&str, u64> = asked.check.iter().map(|check| (check.word(), 0)).collect();
    for found in without(QueueAsked { check: None, ..asked.clone() }) {
        *checks.entry(found.finding.check.word()).or_default() += 1;
    }
    let choices = counted(checks, asked.check.map(Check::word), &|word| Words::ours(word.replace('-', " ")));
    filters.push(Filter { name: "check", label: "Check", choices });

    let mut suppliers: BTreeMap<&str, u64> = asked.supplier.iter().map(|name| (name.as_str(), 0)).collect();
    for found in without(QueueAsked { supplier: None, ..asked.clone() }) {
        for supplier in &found.known.suppliers {
            *suppliers.entry(supplier.as_str()).or_default() += 1;
        }
    }
    // What cannot be typed into an address cannot be chosen.
    suppliers.retain(|name, _| digest::clean(*name) == **name);
    let choices = counted(suppliers, asked.supplier.as_deref(), &|name| Words::outside(name));
    filters.push(Filter { name: "supplier", label: "Supplier", choices });

    let by_age = QueueAsked { age: None, ..asked.clone() };
    let choices = Age::ALL.map(|age| Choice {
        value: age.word().to_owned(),
        label: Words::ours(age.name()),
        findings: without(by_age.clone()).filter(|found| age.has(found.finding.first_seen, now)).count()
            as u64,
        is_chosen: asked.age == Some(age),
    });
    filters.push(Filter { name: "age", label: "Since", choices: choices.into() });

    if shops.len() > 1 {
        let mut counts: BTreeMap<&str, u64> = shops.iter().map(|shop| (shop.id.as_str(), 0)).collect();
        for found in without(QueueAsked { shop: None, ..asked.clone() }) {
            *counts.entry(found.shop()).or_default() += 1;
        }
        let choices = counted(counts, asked.shop.as_deref(), &|name| Words::outside(name));
        filters.insert(0, Filter { name: "shop", label: "Shop", choices });
    }
    filters
}
