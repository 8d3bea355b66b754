//! Which findings share one cause, so that one thing to do mends several orders.
//!
//! Must not know how it is shown. Start reading at [`items`].

use std::collections::{BTreeMap, BTreeSet};

use model::finding::{Evidence, NamedLine, Reason};
use model::{Finding, ListingId, Options, Sku};

/// Why nobody makes a line, as the owner has to act on it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Why {
    /// Nothing says which variant it is.
    NoLink,
    /// The owner has said which variant it is, and that is not in force yet.
    Intended,
    /// Its SKU is shared by several variants.
    Ambiguous,
    /// Its link leads to a variant that the supplier does not have.
    Broken,
    /// It is linked, and no supplier has any of it.
    NotSent,
    /// It is linked, and suppliers have too few.
    Short,
}

impl Why {
    /// Why nobody makes this line.
    pub fn of(line: &NamedLine) -> Self {
        match line.reason {
            Some(Reason::NoLink) if !line.intended.is_empty() => Self::Intended,
            Some(Reason::NoLink) => Self::NoLink,
            Some(Reason::AmbiguousLink) => Self::Ambiguous,
            Some(Reason::BrokenLink) => Self::Broken,
            Some(Reason::Short) => Self::Short,
            Some(Reason::NotSent) | None => Self::NotSent,
        }
    }

    /// The lines by why, in the order of [`Why`], each in the order given.
    pub fn groups<'a>(lines: &[&'a NamedLine]) -> Vec<(Self, Vec<&'a NamedLine>)> {
        let mut groups: BTreeMap<Self, Vec<&NamedLine>> = BTreeMap::new();
        for line in lines {
            groups.entry(Self::of(line)).or_default().push(line);
        }
        groups.into_iter().collect()
    }

    /// What to do about the link, where it is one line's or several lines' alone.
    pub fn repair(self, one_line: bool) -> Option<&'static str> {
        match (self, one_line) {
            (Self::NoLink, true) => Some("link it"),
            (Self::NoLink, false) => Some("link them"),
            (Self::Intended, true) => Some("put its link in force"),
            (Self::Intended, false) => Some("put their links in force"),
            (Self::Ambiguous, true) => Some("link it to the right one"),
            (Self::Ambiguous, false) => Some("link each to the right one"),
            (Self::Broken, true) => Some("mend its link"),
            (Self::Broken, false) => Some("mend their links"),
            (Self::NotSent | Self::Short, _) => None,
        }
    }

    /// What to do about the link, where other lines need something else.
    pub fn repair_among_others(self) -> Option<&'static str> {
        match self {
            Self::NoLink => Some("link what is not linked"),
            Self::Intended => Some("put the intended link in force"),
            Self::Ambiguous => Some("link what shares a SKU"),
            Self::Broken => Some("mend the broken link"),
            Self::NotSent | Self::Short => None,
        }
    }
}

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

/// By what two lines have the same cause. Equal SKUs alone do not: a placeholder that is typed for every option
/// combination of a listing leaves as many things to do as there are combinations.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Key<'a> {
    Offer(Why, &'a ListingId, &'a Options),
    Sku(Why, &'a Sku, Option<&'a Options>),
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
    let about_a_link = !matches!(why, Why::NotSent | Why::Short);
    let options = line.options.as_ref();
    let offer =
        line.listing_id.as_ref().zip(options).map(|(listing, options)| Key::Offer(why, listing, options));
    let sku = line.sku.as_ref().map(|sku| Key::Sku(why, sku, options));
    [offer, sku].into_iter().flatten().filter(move |_| about_a_link)
}
