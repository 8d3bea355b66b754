//! Coverage: what each line needs, what is tied to it, and what is left over.

use std::ops::Range;

use model::finding::Reason;

use crate::assign::{Pair, Way, assign};
use crate::catalogue::VariantIndex;
use crate::collections::starts;
use crate::ways::Offered;
use crate::world::{LineIndex, SubmissionLineIndex, World};

/// What one part of a line needs, in the supplier's units.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Need {
    pub line: LineIndex,
    /// Which variant; `None` where the line has no link.
    pub variant: Option<VariantIndex>,
    /// How many of it one unit of the line needs.
    pub per_unit: u64,
    pub units: u64,
}

/// Units of a submission line tied to a need.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Tied {
    /// Index into [`Coverage::needs`].
    pub need: usize,
    pub supply: SubmissionLineIndex,
    pub way: Way,
    pub units: u64,
}

/// What became of the units of one line.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(crate) struct LineCoverage {
    /// Units owed, own stock apart.
    pub demand: u64,
    pub uncovered: u64,
    pub wrongly: u64,
    /// Supplier's units tied, in any way, to any part.
    pub tied: u64,
}

impl LineCoverage {
    pub(crate) fn covered(&self) -> u64 {
        self.demand - self.uncovered - self.wrongly
    }
}

/// The whole answer of the assignment.
pub(crate) struct Coverage {
    /// By order id, line id, then part by supplier and variant id.
    pub needs: Vec<Need>,
    /// By need, then submission line.
    pub tied: Vec<Tied>,
    /// Per line of the world, and one past the last: the index of its first need.
    first_need: Vec<usize>,
    /// Likewise of its first tie.
    first_tied: Vec<usize>,
    /// Per line of the world.
    pub lines: Vec<LineCoverage>,
    /// Per submission line of the world: its units that serve nothing; 0 where it cannot serve.
    pub left_over: Vec<u64>,
}

impl Coverage {
    pub(crate) fn new(world: &World<'_>) -> Self {
        let (needs, first_need) = needs(world);
        let tied = ties(world, &needs, &first_need);
        let mut left_over: Vec<u64> = world
            .submission_lines
            .iter()
            .map(|line| if line.serves() { u64::from(line.row.quantity) } else { 0 })
            .collect();
        for tie in &tied {
            left_over[tie.supply] -= tie.units;
        }
        let lines = count(world, &needs, &first_need, &tied);
        let first_tied = starts(world.lines.len(), tied.iter().map(|tie| needs[tie.need].line));
        Self { needs, tied, first_need, first_tied, lines, left_over }
    }

    /// The indices of a line's needs, one for each part.
    pub(crate) fn needs_of(&self, line: LineIndex) -> Range<usize> {
        self.first_need[line]..self.first_need[line + 1]
    }

    /// The indices of what is tied to a line, by part, then submission line.
    pub(crate) fn ties_of(&self, line: LineIndex) -> Range<usize> {
        self.first_tied[line]..self.first_tied[line + 1]
    }

    /// What is tied to a line, by part, then submission line.
    pub(crate) fn tied_to(&self, line: LineIndex) -> &[Tied] {
        &self.tied[self.ties_of(line)]
    }

    /// Why a line's uncovered units are uncovered.
    pub(crate) fn reason(&self, world: &World<'_>, line: LineIndex) -> Reason {
        let link = &world.lines[line].link;
        match link.missing {
            Some(reason) => reason,
            None if !link.in_force => Reason::NoLink,
            None if self.lines[line].tied == 0 => Reason::NotSent,
            None => Reason::Short,
        }
    }
}

/// All needs, and per line of the world (and one past the last) the index of its first.
fn needs(world: &World<'_>) -> (Vec<Need>, Vec<usize>) {
    let mut needs = Vec::new();
    let mut first_need = Vec::with_capacity(world.lines.len() + 1);
    for (line, view) in world.lines.iter().enumerate() {
        first_need.push(needs.len());
        if !view.is_wanted() {
            continue;
        }
        if !view.link.is_linked() {
            needs.push(Need { line, variant: None, per_unit: 1, units: view.demand });
            continue;
        }
        for part in view.link.parts.iter() {
            if part.variant.is_some() {
                let per_unit = u64::from(part.units);
                needs.push(Need { line, variant: part.variant, per_unit, units: view.demand * per_unit });
            }
        }
    }
    first_need.push(needs.len());
    (needs, first_need)
}

fn ties(world: &World<'_>, needs: &[Need], first_need: &[usize]) -> Vec<Tied> {
    let mut pairs = Vec::new();
    for (supply, line) in world.submission_lines.iter().enumerate() {
        let Some(offered) = Offered::new(world, line) else { continue };
        for line in line.orders.iter().flat_map(|order| world.orders[*order].lines.clone()) {
            let first = first_need[line];
            for (index, need) in needs[first..first_need[line + 1]].iter().enumerate() {
                if let Some(way) = offered.way(line, need.variant) {
                    pairs.push(Pair { need: first + index, supply, way });
                }
            }
        }
    }
    let by_group = independent(pairs, needs.len(), world.submission_lines.len());
    let mut tied: Vec<Tied> = Vec::with_capacity(by_group.len());
    for group in by_group.chunk_by(|a, b| a.group == b.group) {
        match group {
            [only] => tied.extend(tie_pair(world, needs, only.pair)),
            _ => tied.extend(tie_group(world, needs, group)),
        }
    }
    tied.sort_unstable_by_key(|tie| (tie.need, tie.supply));
    tied
}

/// A pair, with the number of its group.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Grouped {
    group: usize,
    pair: Pair,
}

/// Parts the pairs into groups that share no need and no supply; each is an assignment of its own, since no
/// preference compares anything but sums and sequences over them. By group, then need, then supply.
fn independent(pairs: Vec<Pair>, needs: usize, supplies: usize) -> Vec<Grouped> {
    let mut parent: Vec<usize> = (0..needs + supplies).collect();
    fn root(parent: &mut [usize], mut node: usize) -> usize {
        while parent[node] != node {
            parent[node] = parent[parent[node]];
            node = parent[node];
        }
        node
    }
    for pair in &pairs {
        let (a, b) = (root(&mut parent, pair.need), root(&mut parent, needs + pair.supply));
        parent[a.max(b)] = a.min(b);
    }
    let mut by_group: Vec<Grouped> =
        pairs.into_iter().map(|pair| Grouped { group: root(&mut parent, pair.need), pair }).collect();
    by_group.sort_unstable();
    by_group
}

/// A need and a supply that no others compete for.
fn tie_pair(world: &World<'_>, needs: &[Need], Pair { need, supply, way }: Pair) -> Option<Tied> {
    let units = needs[need].units.min(u64::from(world.submission_lines[supply].row.quantity));
    (units > 0).then_some(Tied { need, supply, way, units })
}

/// Solves one group, its needs and supplies numbered anew in their order.
fn tie_group(world: &World<'_>, needs: &[Need], group: &[Grouped]) -> Vec<Tied> {
    let sorted = |of: fn(&Pair) -> usize| {
        let mut indices: Vec<usize> = group.iter().map(|grouped| of(&grouped.pair)).collect();
        indices.sort_unstable();
        indices.dedup();
        indices
    };
    let (group_needs, group_supplies) = (sorted(|pair| pair.need), sorted(|pair| pair.supply));
    let at = |indices: &[usize], index: usize| indices.partition_point(|other| *other < index);
    let pairs: Vec<Pair> = group
        .iter()
        .map(|Grouped { pair, .. }| Pair {
            need: at(&group_needs, pair.need),
            supply: at(&group_supplies, pair.supply),
            way: pair.way,
        })
        .collect();
    let units_needed: Vec<u64> = group_needs.iter().map(|need| needs[*need].units).collect();
    let units_supplied: Vec<u64> =
        group_supplies.iter().map(|line| u64::from(world.submission_lines[*line].row.quantity)).collect();
    let tied = assign(&units_needed, &units_supplied, &pairs);
    group
        .iter()
        .zip(tied)
        .filter(|(_, units)| *units > 0)
        .map(|(Grouped { pair, .. }, units)| Tied {
            need: pair.need,
            supply: pair.supply,
            way: pair.way,
            units,
        })
        .collect()
}

/// Uncovered: the most, over a line's parts, of the units still untied, divided by `units` and rounded up.
/// Covered wrongly: of those left, likewise of the units tied wrongly.
fn count(world: &World<'_>, needs: &[Need], first_need: &[usize], tied: &[Tied]) -> Vec<LineCoverage> {
    let mut rightly = vec![0_u64; needs.len()];
    let mut wrongly = vec![0_u64; needs.len()];
    for tie in tied {
        let units = if tie.way.is_right() { &mut rightly } else { &mut wrongly };
        units[tie.need] += tie.units;
    }
    world
        .lines
        .iter()
        .enumerate()
        .map(|(line, view)| {
            if !view.is_wanted() {
                return LineCoverage::default();
            }
            let parts = first_need[line]..first_need[line + 1];
            let untied = |need: usize| needs[need].units - rightly[need] - wrongly[need];
            let in_line_units = |units: u64, need: usize| units.div_ceil(needs[need].per_unit);
            let uncovered = parts.clone().map(|need| in_line_units(untied(need), need)).max().unwrap_or(0);
            let wrong = parts.clone().map(|need| in_line_units(wrongly[need], need)).max().unwrap_or(0);
            LineCoverage {
                demand: view.demand,
                uncovered,
                wrongly: wrong.min(view.demand - uncovered),
                tied: parts.map(|need| rightly[need] + wrongly[need]).sum(),
            }
        })
        .collect()
}
