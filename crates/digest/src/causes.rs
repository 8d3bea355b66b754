//! Which findings share one cause, so that one thing to do mends several orders.
//!
//! Must not know how it is shown. Start reading at [`items`].

use std::collections::{BTreeMap, BTreeSet};

use model::finding::{Evidence, NamedLine, Part};
use model::{Finding, ListingId, Options, Sku};

use crate::why::Why;

/// What stands on the list: one thing to do.
pub enum Item<'a> {
    /// One finding by itself.
    Single(&'a Finding),
    /// Several orders with one cause.
    Cause(Cause<'a>),
}

impl<'a> Item<'a> {
    /// The findings that it stands for.
    pub fn findings(&self) -> Vec<&'a Finding> {
        match self {
            Self::Single(finding) => vec![finding],
            Self::Cause(cause) => cause.affected.iter().map(|affected| affected.finding).collect(),
        }
    }
}

/// Something wrong with a link that leaves lines of several orders unmade.
pub struct Cause<'a> {
    /// What is wrong.
    pub why: Why,
    /// One of the lines, to name the offer by.
    pub line: &'a NamedLine,
    /// The orders, at least two, in the order given.
    pub affected: Vec<Affected<'a>>,
}

/// An order that a cause affects.
pub struct Affected<'a> {
    /// The order's finding.
    pub finding: &'a Finding,
    /// Units of the order that have this cause.
    pub units: u64,
    /// Lines of the order that share a cause with no other order.
    pub alone: Vec<&'a NamedLine>,
    /// Whether further lines of the order stand under other causes.
    pub elsewhere: bool,
}

/// By what two lines have the same cause, with where their links lead: links to different things are mended one by
/// one. Equal SKUs alone do not make one: a placeholder that is typed for every option combination of a listing
/// leaves as many things to do as there are combinations.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Key<'a> {
    why: Why,
    leads_to: &'a [Part],
    intended: &'a [Part],
    bought: Bought<'a>,
}

/// What was bought, as two lines can have it in common.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Bought<'a> {
    Offer(&'a ListingId, &'a Options),
    Sku(&'a Sku, Option<&'a Options>),
}

/// Puts the findings whose lines share a cause together: lines with no usable link, of the same listing and
/// options or of the same SKU and options, in at least two findings.
///
/// A finding comes once for each shared cause that it has, or once by itself. Items come by the first finding
/// that they stand for.
pub fn items<'a>(findings: &[&'a Finding]) -> Vec<Item<'a>> {
    let lines: Vec<(usize, &'a NamedLine)> = findings
        .iter()
        .enumerate()
        .filter(|(_, finding)| matches!(finding.evidence, Evidence::Gap(_)))
        .flat_map(|(index, finding)| finding.lines.iter().map(move |line| (index, line)))
        .collect();
    let group_of = groups(&lines);

    let mut findings_of: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for (group, (finding, _)) in group_of.iter().zip(&lines) {
        findings_of.entry(*group).or_default().insert(*finding);
    }
    findings_of.retain(|_, findings| findings.len() > 1);

    let mut lines_of: BTreeMap<usize, Vec<(usize, &NamedLine)>> = BTreeMap::new();
    for (group, (finding, line)) in group_of.iter().zip(&lines) {
        lines_of.entry(*finding).or_default().push((*group, line));
    }

    let affected = |group: usize, finding: usize| {
        let mut affected =
            Affected { finding: findings[finding], units: 0, alone: Vec::new(), elsewhere: false };
        for (other, line) in lines_of.get(&finding).into_iter().flatten() {
            if *other == group {
                affected.units = affected.units.saturating_add(line.units);
            } else if findings_of.contains_key(other) {
                affected.elsewhere = true;
            } else {
                affected.alone.push(line);
            }
        }
        affected
    };

    let mut items: Vec<(usize, Item<'a>)> = Vec::new();
    for (group, affected_findings) in &findings_of {
        let (first, line) = lines[*group];
        let affected = affected_findings.iter().map(|finding| affected(*group, *finding)).collect();
        items.push((first, Item::Cause(Cause { why: Why::of(line), line, affected })));
    }
    let shared: BTreeSet<usize> = findings_of.into_values().flatten().collect();
    for (index, finding) in findings.iter().enumerate().filter(|(index, _)| !shared.contains(index)) {
        items.push((index, Item::Single(finding)));
    }
    items.sort_by_key(|(first, _)| *first);
    items.into_iter().map(|(_, item)| item).collect()
}

/// For each line, the first line that has the same cause.
fn groups(lines: &[(usize, &NamedLine)]) -> Vec<usize> {
    let mut first_with: BTreeMap<Key<'_>, usize> = BTreeMap::new();
    let mut group_of: Vec<usize> = (0..lines.len()).collect();
    for (index, (_, line)) in lines.iter().enumerate() {
        for key in keys(line) {
            let other = *first_with.entry(key).or_insert(index);
            let (a, b) = (root(&group_of, index), root(&group_of, other));
            group_of[a.max(b)] = a.min(b);
        }
    }
    (0..lines.len()).map(|index| root(&group_of, index)).collect()
}

/// Follows a line to the first of its group; each step leads to a smaller index.
fn root(group_of: &[usize], mut index: usize) -> usize {
    while group_of[index] != index {
        index = group_of[index];
    }
    index
}

fn keys(line: &NamedLine) -> impl Iterator<Item = Key<'_>> {
    let why = Why::of(line);
    let options = line.options.as_ref();
    let offer =
        line.listing_id.as_ref().zip(options).map(|(listing, options)| Bought::Offer(listing, options));
    let sku = line.sku.as_ref().map(|sku| Bought::Sku(sku, options));
    let bought = [offer, sku].into_iter().flatten().filter(move |_| !why.is_linked());
    bought.map(move |bought| Key { why, leads_to: &line.needs, intended: &line.intended, bought })
}
