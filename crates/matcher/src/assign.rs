//! The assignment itself: which units of supply are tied to which units of need. Knows nothing of orders.
//!
//! A lexicographic transportation problem, solved exactly in three steps:
//! 1. a maximum flow of best ways (primal-dual: shortest paths under potentials, then blocking flows),
//! 2. the optimal face: by complementary slackness, every other optimum differs from this one by cycles of
//!    arcs whose reduced cost is zero,
//! 3. on that face, arc after arc in the order of the tie-break, as much flow as possible, then fixed.
//!
//! Sources: Ahuja, Magnanti, Orlin, Network Flows (1993), chapters 9 and 10 (primal-dual, complementary
//! slackness); the assignment as such by Kuhn (1955). Costs are four counters compared lexicographically, an
//! ordered group, so nothing is weighted and nothing can overflow.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// In which way a unit may be tied; ways 1 to 4 of DEVELOPERS.md, the better one first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Way {
    /// The line reference and the variant agree.
    ByReference,
    /// The variant agrees, and no line reference says otherwise.
    ByVariant,
    /// A line without a link, taken care of by hand.
    ByHand,
    /// The line reference agrees, the variant does not.
    Wrongly,
}

impl Way {
    /// All ways, the better one first.
    pub const ALL: [Self; 4] = [Self::ByReference, Self::ByVariant, Self::ByHand, Self::Wrongly];

    /// 1 to 4.
    pub fn number(self) -> u8 {
        match self {
            Self::ByReference => 1,
            Self::ByVariant => 2,
            Self::ByHand => 3,
            Self::Wrongly => 4,
        }
    }

    /// Whether what is tied so is what was bought.
    pub fn is_right(self) -> bool {
        self != Self::Wrongly
    }
}

/// A pair that may be tied. There is at most one per need and supply.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Pair {
    /// Index into the needs.
    pub need: usize,
    /// Index into the supplies.
    pub supply: usize,
    /// In which way.
    pub way: Way,
}

/// Ties as many units as can be tied; among those answers as many as possible in way 1, then 2, 3, 4; then
/// the answer that is better need by need (more units in way 1, then 2, 3, 4), then supply by supply (more
/// units used), then pair by pair (more units at the first that differs).
///
/// `needs` and `supplies` are whole units in the order of the tie-break; `pairs` must be sorted by need, then
/// supply. Returns the units tied per pair.
pub fn assign(needs: &[u64], supplies: &[u64], pairs: &[Pair]) -> Vec<u64> {
    debug_assert!(pairs.is_sorted(), "pairs are sorted by need, then supply");
    if needs.len() == 1 || supplies.len() == 1 {
        return assign_one_to_many(needs, supplies, pairs);
    }
    let mut network = Network::new(needs, supplies, pairs);
    network.fill_by_best_ways();
    network.settle_ties();
    network.pair_arcs.iter().map(|arc| network.flow(*arc)).collect()
}

/// Likewise where there is one need or one supply: the better way first, and of one way the earlier need and supply.
fn assign_one_to_many(needs: &[u64], supplies: &[u64], pairs: &[Pair]) -> Vec<u64> {
    let (mut needs, mut supplies) = (needs.to_vec(), supplies.to_vec());
    let mut tied = vec![0; pairs.len()];
    for way in Way::ALL {
        for (pair, tied) in pairs.iter().zip(&mut tied).filter(|(pair, _)| pair.way == way) {
            *tied = needs[pair.need].min(supplies[pair.supply]);
            needs[pair.need] -= *tied;
            supplies[pair.supply] -= *tied;
        }
    }
    tied
}

/// What a path costs per unit: minus how often it uses each way; compared lexicographically.
type Cost = [i32; 4];

const FREE: Cost = [0; 4];

fn plus(a: Cost, b: Cost) -> Cost {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3]]
}

fn minus(a: Cost, b: Cost) -> Cost {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2], a[3] - b[3]]
}

#[derive(Clone, Copy)]
struct Arc {
    to: usize,
    left: u64,
    cost: Cost,
    fixed: bool,
}

/// Source -> need -> (need, way) -> supply -> sink. Arcs stand in twos: an even one and its reverse.
struct Network {
    arcs: Vec<Arc>,
    out: Vec<Vec<usize>>,
    potential: Vec<Cost>,
    way_arcs: Vec<usize>,
    supply_arcs: Vec<usize>,
    pair_arcs: Vec<usize>,
}

const SOURCE: usize = 0;
const SINK: usize = 1;

impl Network {
    fn new(needs: &[u64], supplies: &[u64], pairs: &[Pair]) -> Self {
        let first_supply = 2 + needs.len();
        let mut network = Self {
            arcs: Vec::with_capacity(2 * (needs.len() * 3 + supplies.len() + pairs.len())),
            out: vec![Vec::new(); first_supply + supplies.len()],
            potential: Vec::new(),
            way_arcs: Vec::new(),
            supply_arcs: Vec::new(),
            pair_arcs: Vec::with_capacity(pairs.len()),
        };
        let mut of_need = pairs;
        for (need, units) in needs.iter().enumerate() {
            let count = of_need.iter().take_while(|pair| pair.need == need).count();
            let (mine, rest) = of_need.split_at(count);
            of_need = rest;
            network.arc(SOURCE, 2 + need, *units, FREE);
            let mut node_of_way = [None; 4];
            for way in Way::ALL {
                let index = usize::from(way.number()) - 1;
                if mine.iter().any(|pair| pair.way == way) {
                    let node = network.node();
                    let mut cost = FREE;
                    cost[index] = -1;
                    let arc = network.arc(2 + need, node, *units, cost);
                    network.way_arcs.push(arc);
                    node_of_way[index] = Some(node);
                }
            }
            for pair in mine {
                let node = node_of_way[usize::from(pair.way.number()) - 1];
                let node = node.unwrap_or(2 + need);
                let most = (*units).min(supplies[pair.supply]);
                let arc = network.arc(node, first_supply + pair.supply, most, FREE);
                network.pair_arcs.push(arc);
            }
        }
        for (supply, units) in supplies.iter().enumerate() {
            let arc = network.arc(first_supply + supply, SINK, *units, FREE);
            network.supply_arcs.push(arc);
        }
        network.potential = network.first_potentials(first_supply, supplies.len());
        network
    }

    fn node(&mut self) -> usize {
        self.out.push(Vec::new());
        self.out.len() - 1
    }

    fn arc(&mut self, from: usize, to: usize, left: u64, cost: Cost) -> usize {
        let index = self.arcs.len();
        self.arcs.push(Arc { to, left, cost, fixed: false });
        self.arcs.push(Arc { to: from, left: 0, cost: minus(FREE, cost), fixed: false });
        self.out[from].push(index);
        self.out[to].push(index + 1);
        index
    }

    fn flow(&self, arc: usize) -> u64 {
        self.arcs[arc ^ 1].left
    }

    fn push(&mut self, arc: usize, units: u64) {
        self.arcs[arc].left -= units;
        self.arcs[arc ^ 1].left += units;
    }

    /// Shortest distances in the empty network, which has no cycle: through needs, ways, supplies, sink.
    fn first_potentials(&self, first_supply: usize, supplies: usize) -> Vec<Cost> {
        let mut distance = vec![FREE; self.out.len()];
        let mut shorten = |nodes: &mut dyn Iterator<Item = usize>| {
            for node in nodes {
                for arc in &self.out[node] {
                    let arc = self.arcs[*arc];
                    if arc.left > 0 {
                        distance[arc.to] = distance[arc.to].min(plus(distance[node], arc.cost));
                    }
                }
            }
        };
        shorten(&mut (2..first_supply));
        shorten(&mut (first_supply + supplies..self.out.len()));
        shorten(&mut (first_supply..first_supply + supplies));
        distance
    }

    fn reduced(&self, from: usize, arc: &Arc) -> Cost {
        minus(plus(arc.cost, self.potential[from]), self.potential[arc.to])
    }

    fn fill_by_best_ways(&mut self) {
        loop {
            let distance = self.distances();
            let farthest = distance.iter().flatten().max().copied().unwrap_or(FREE);
            for (potential, distance) in self.potential.iter_mut().zip(&distance) {
                *potential = plus(*potential, distance.unwrap_or(farthest));
            }
            if distance[SINK].is_none() {
                return;
            }
            while let Some(level) = self.levels() {
                let mut next = vec![0; self.out.len()];
                while self.augment(&level, &mut next) {}
            }
        }
    }

    /// Dijkstra over reduced costs, which are never under zero.
    fn distances(&self) -> Vec<Option<Cost>> {
        let mut distance = vec![None; self.out.len()];
        let mut queue = BinaryHeap::from([Reverse((FREE, SOURCE))]);
        distance[SOURCE] = Some(FREE);
        while let Some(Reverse((so_far, node))) = queue.pop() {
            if distance[node] != Some(so_far) {
                continue;
            }
            for arc in self.out[node].iter().map(|arc| &self.arcs[*arc]).filter(|arc| arc.left > 0) {
                let through = plus(so_far, self.reduced(node, arc));
                if distance[arc.to].is_none_or(|known| through < known) {
                    distance[arc.to] = Some(through);
                    queue.push(Reverse((through, arc.to)));
                }
            }
        }
        distance
    }

    fn is_tight(&self, from: usize, arc: &Arc) -> bool {
        arc.left > 0 && !arc.fixed && self.reduced(from, arc) == FREE
    }

    /// How many tight arcs away from the source each node is; `None` where the sink cannot be reached.
    fn levels(&self) -> Option<Vec<usize>> {
        let mut level = vec![usize::MAX; self.out.len()];
        level[SOURCE] = 0;
        let mut reached = vec![SOURCE];
        let mut next = 0;
        while let Some(&node) = reached.get(next) {
            next += 1;
            for arc in self.out[node].iter().map(|arc| &self.arcs[*arc]) {
                if level[arc.to] == usize::MAX && self.is_tight(node, arc) {
                    level[arc.to] = level[node] + 1;
                    reached.push(arc.to);
                }
            }
        }
        (level[SINK] != usize::MAX).then_some(level)
    }

    /// Pushes along one path of tight arcs that climbs the levels; false where there is none left. `next` is
    /// the first arc of each node that may still lead to the sink.
    fn augment(&mut self, level: &[usize], next: &mut [usize]) -> bool {
        let mut path: Vec<usize> = Vec::new();
        let mut node = SOURCE;
        while node != SINK {
            let Some(&index) = self.out[node].get(next[node]) else {
                let Some(back) = path.pop() else { return false };
                node = self.arcs[back ^ 1].to;
                next[node] += 1;
                continue;
            };
            let arc = self.arcs[index];
            if level[arc.to] == level[node] + 1 && self.is_tight(node, &arc) {
                path.push(index);
                node = arc.to;
            } else {
                next[node] += 1;
            }
        }
        self.push_along(&path, u64::MAX);
        true
    }

    /// Pushes what the arcs of a path can take, `most` at the most, and returns how much.
    fn push_along(&mut self, path: &[usize], most: u64) -> u64 {
        let units = path.iter().map(|index| self.arcs[*index].left).fold(most, u64::min);
        for index in path {
            self.push(*index, units);
        }
        units
    }

    fn settle_ties(&mut self) {
        for index in (0..self.arcs.len()).step_by(2) {
            let from = self.arcs[index ^ 1].to;
            let off_the_face = self.reduced(from, &self.arcs[index]) != FREE;
            self.arcs[index].fixed = off_the_face;
            self.arcs[index ^ 1].fixed = off_the_face;
        }
        let mut search = Search::new(self.out.len());
        for index in self.way_arcs.clone().into_iter().chain(self.supply_arcs.clone()) {
            self.win(index, &mut search);
        }
        // What goes through a node is settled now. An arc can only win what other arcs at both its ends, not
        // settled yet, still carry; where that is nothing, which is the usual case, no search is needed.
        let mut unsettled: Vec<u64> = vec![0; self.out.len()];
        for index in &self.pair_arcs {
            if !self.arcs[*index].fixed {
                unsettled[self.arcs[*index].to] += self.flow(*index);
                unsettled[self.arcs[*index ^ 1].to] += self.flow(*index);
            }
        }
        for index in self.pair_arcs.clone() {
            if self.arcs[index].fixed {
                continue;
            }
            let ends = [self.arcs[index ^ 1].to, self.arcs[index].to];
            if ends.iter().all(|end| unsettled[*end] > self.flow(index)) {
                self.win(index, &mut search);
            }
            self.arcs[index].fixed = true;
            self.arcs[index ^ 1].fixed = true;
            for end in ends {
                unsettled[end] -= self.flow(index);
            }
        }
    }

    /// Gives an arc as much flow as the face allows, and fixes it there.
    fn win(&mut self, index: usize, search: &mut Search) {
        if self.arcs[index].fixed {
            return;
        }
        let (from, to) = (self.arcs[index ^ 1].to, self.arcs[index].to);
        self.arcs[index ^ 1].fixed = true;
        while self.arcs[index].left > 0 {
            let Some(path) = search.path(self, to, from) else { break };
            let units = self.push_along(&path, self.arcs[index].left);
            self.push(index, units);
        }
        self.arcs[index].fixed = true;
    }
}

/// A breadth-first search over the arcs that may still change; its memory is used again.
struct Search {
    seen: Vec<u32>,
    round: u32,
    came_by: Vec<usize>,
    queue: Vec<usize>,
}

impl Search {
    fn new(nodes: usize) -> Self {
        Self { seen: vec![0; nodes], round: 0, came_by: vec![0; nodes], queue: Vec::new() }
    }

    fn path(&mut self, network: &Network, from: usize, to: usize) -> Option<Vec<usize>> {
        self.round += 1;
        self.queue.clear();
        self.queue.push(from);
        self.seen[from] = self.round;
        let mut next = 0;
        while self.seen[to] != self.round {
            let node = *self.queue.get(next)?;
            next += 1;
            for index in &network.out[node] {
                let arc = &network.arcs[*index];
                if arc.left > 0 && !arc.fixed && self.seen[arc.to] != self.round {
                    self.seen[arc.to] = self.round;
                    self.came_by[arc.to] = *index;
                    self.queue.push(arc.to);
                }
            }
        }
        let mut path: Vec<usize> = Vec::new();
        let mut node = to;
        while node != from {
            path.push(self.came_by[node]);
            node = network.arcs[self.came_by[node] ^ 1].to;
        }
        Some(path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Everything that is compared between two answers, in the order of the comparison; more is better.
    fn preference(needs: usize, supplies: usize, pairs: &[Pair], tied: &[u64]) -> Vec<u64> {
        let sum = |of: &dyn Fn(&Pair) -> bool| -> u64 {
            pairs.iter().zip(tied).filter(|(pair, _)| of(pair)).map(|(_, units)| units).sum()
        };
        let mut all = vec![sum(&|_| true)];
        all.extend(Way::ALL.map(|way| sum(&|pair| pair.way == way)));
        for need in 0..needs {
            all.extend(Way::ALL.map(|way| sum(&|pair| pair.need == need && pair.way == way)));
        }
        all.extend((0..supplies).map(|supply| sum(&|pair| pair.supply == supply)));
        all.extend(tied);
        all
    }

    /// Tries every whole-number answer.
    fn brute_force(
        needs: &mut [u64],
        supplies: &mut [u64],
        pairs: &[Pair],
        all: &[Pair],
        so_far: &mut Vec<u64>,
    ) -> Option<(Vec<u64>, Vec<u64>)> {
        let Some((pair, rest)) = pairs.split_first() else {
            return Some((preference(needs.len(), supplies.len(), all, so_far), so_far.clone()));
        };
        let mut best = None;
        for units in 0..=needs[pair.need].min(supplies[pair.supply]) {
            needs[pair.need] -= units;
            supplies[pair.supply] -= units;
            so_far.push(units);
            best = best.max(brute_force(needs, supplies, rest, all, so_far));
            so_far.pop();
            needs[pair.need] += units;
            supplies[pair.supply] += units;
        }
        best
    }

    fn problem() -> impl Strategy<Value = (Vec<u64>, Vec<u64>, Vec<Pair>)> {
        let units = |most| prop::collection::vec(0..=3_u64, 1..=most);
        let ways = prop::collection::vec(prop::option::weighted(0.7, 0..4_usize), 16);
        (units(4), units(4), ways).prop_map(|(needs, supplies, ways)| {
            let pairs = (0..needs.len())
                .flat_map(|need| (0..supplies.len()).map(move |supply| (need, supply)))
                .zip(&ways)
                .filter_map(|((need, supply), way)| Some(Pair { need, supply, way: Way::ALL[(*way)?] }))
                .take(9)
                .collect();
            (needs, supplies, pairs)
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(3_000))]
        #[test]
        fn the_answer_is_the_one_that_a_brute_force_prefers((needs, supplies, pairs) in problem()) {
            let tied = assign(&needs, &supplies, &pairs);
            let best = brute_force(&mut needs.clone(), &mut supplies.clone(), &pairs, &pairs, &mut Vec::new());
            prop_assert_eq!(Some(tied), best.map(|(_, answer)| answer));
        }
    }

    /// The cheapest way to give each need one supply, by the same network with numbers as costs.
    fn cheapest(costs: &[Vec<i32>]) -> i32 {
        let ones = vec![1; costs.len()];
        let columns = costs[0].len();
        let pairs: Vec<Pair> = (0..costs.len())
            .flat_map(|need| (0..columns).map(move |supply| Pair { need, supply, way: Way::ByVariant }))
            .collect();
        let mut network = Network::new(&ones, &vec![1; columns], &pairs);
        for (arc, pair) in network.pair_arcs.clone().into_iter().zip(&pairs) {
            let cost = [costs[pair.need][pair.supply], 0, 0, 0];
            network.arcs[arc].cost = cost;
            network.arcs[arc ^ 1].cost = minus(FREE, cost);
        }
        network.fill_by_best_ways();
        let given = network.pair_arcs.iter().zip(&pairs).filter(|(arc, _)| network.flow(**arc) == 1);
        given.map(|(_, pair)| costs[pair.need][pair.supply]).sum()
    }

    /// Source: the documentation of scipy 1.17, `linear_sum_assignment`: columns 1, 0, 2, total cost 5.
    #[test]
    fn the_published_assignment_is_found() {
        assert_eq!(cheapest(&[vec![4, 1, 3], vec![2, 0, 5], vec![3, 2, 2]]), 5);
    }

    proptest! {
        /// Source: the crate `pathfinding`, an independent implementation of Kuhn and Munkres.
        #[test]
        fn the_cost_equals_that_of_a_reference_library(
            costs in (1..=8_usize).prop_flat_map(|n| prop::collection::vec(prop::collection::vec(0..50_i32, n), n))
        ) {
            let matrix = pathfinding::matrix::Matrix::from_rows(costs.clone()).unwrap();
            let (reference, _) = pathfinding::kuhn_munkres::kuhn_munkres_min(&matrix);
            prop_assert_eq!(cheapest(&costs), reference);
        }
    }

    #[test]
    fn two_hundred_lines_of_one_variant_are_tied_in_their_order() {
        let count = 200;
        let pairs: Vec<Pair> = (0..count)
            .flat_map(|need| (0..count).map(move |supply| Pair { need, supply, way: Way::ByVariant }))
            .collect();
        let tied = assign(&vec![2; count], &vec![2; count], &pairs);
        for (pair, units) in pairs.iter().zip(tied) {
            assert_eq!(units, if pair.need == pair.supply { 2 } else { 0 }, "{pair:?}");
        }
    }

    #[test]
    fn a_chain_as_long_as_a_hostile_book_does_not_exhaust_the_stack() {
        let count = 50_000;
        let pairs: Vec<Pair> = (0..count)
            .flat_map(|need| [need, need + 1].map(|supply| Pair { need, supply, way: Way::ByVariant }))
            .collect();
        let tied = assign(&vec![1; count], &vec![1; count + 1], &pairs);
        assert_eq!(tied.iter().sum::<u64>(), count as u64);
    }
}
