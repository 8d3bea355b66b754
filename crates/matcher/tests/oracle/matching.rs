//! Which units serve which: every assignment is tried, and the best by the stated list of preferences stands.

use std::collections::BTreeMap;

use model::reading::{Kind, Reading};

use super::sending::Sent;
use super::world::{Line, LineKey, Thing, World};

/// Units needed of one part of a line; of something unknown where the line has no link.
pub struct Need {
    pub line: LineKey,
    pub part: Option<Thing>,
    pub units: u64,
}

/// Units of a submission line that serve a need.
#[derive(Clone, Debug)]
pub struct Tied {
    /// Of [`needs`].
    pub need: usize,
    /// Of [`World::sent`].
    pub sent: usize,
    pub way: u8,
    pub units: u64,
}

/// What every line needs, by order id, line id, part.
pub fn needs(world: &World<'_>) -> Vec<Need> {
    let mut needs = Vec::new();
    for line in &world.lines {
        for (part, units) in line.parts() {
            needs.push(Need { line: line.key(), part, units: line.demand * units });
        }
    }
    needs.sort_by_key(|need| (need.line.clone(), need.part.clone()));
    needs
}

/// In which of the four ways a unit of a submission line may serve a unit of a need, if at all.
pub fn way(world: &World<'_>, need: &Need, sent: &Sent<'_>) -> Option<u8> {
    let thing = sent.thing.as_ref().filter(|_| sent.is_usable())?;
    let (order, _) = &need.line;
    if !sent.orders.contains(order) {
        return None;
    }
    let line = world.line(&need.line);
    let agrees = sent.names.contains(&need.line);
    match &need.part {
        Some(part) if part == thing && agrees => Some(1),
        Some(part) if part == thing => {
            let linked_elsewhere = sent.names.iter().all(|named| {
                let link = &world.line(named).link;
                link.is_linked() && !link.leads_to(thing)
            });
            linked_elsewhere.then_some(2)
        }
        Some(_) => (agrees && !line.link.leads_to(thing)).then_some(4),
        None => way_without_link(world, line, sent, thing, agrees),
    }
}

fn way_without_link(
    world: &World<'_>,
    line: &Line<'_>,
    sent: &Sent<'_>,
    thing: &Thing,
    agrees: bool,
) -> Option<u8> {
    let reading = world.reading_of(thing);
    let contradicts = line.reading.contradicts(&reading);
    let lines_of_its_orders: Vec<&Line<'_>> =
        world.lines.iter().filter(|other| sent.orders.contains(&other.row.order_id)).collect();
    if agrees && contradicts {
        return Some(4);
    }
    if lines_of_its_orders.iter().any(|other| other.link.leads_to(thing)) {
        return None;
    }
    if agrees {
        return Some(3);
    }
    let reads_the_same = sent.reference_is_empty
        && line.reading.product_type.is_some()
        && says_all_of(&reading, line.reading)
        && the_rest_is_no_choice(world, thing, line.reading);
    // 'No line of its orders is linked to a variant of which the same is read': the same as of the line.
    let could_be_meant_for_another = lines_of_its_orders.iter().any(|other| {
        let things = other.link.made();
        things.iter().any(|(thing, _)| says_all_of(&world.reading_of(thing), line.reading))
    });
    (reads_the_same && !could_be_meant_for_another).then_some(3)
}

/// Whether the same is read of a variant as of a line, in all that is read of the line.
fn says_all_of(variant: &Reading, line: &Reading) -> bool {
    Kind::ALL.into_iter().all(|kind| line.of(kind).is_none() || variant.of(kind) == line.of(kind))
}

/// 'What is read of the variant alone must be the only one in which its product comes', and, of whom it is for,
/// adults.
fn the_rest_is_no_choice(world: &World<'_>, (supplier, variant_id): &Thing, line: &Reading) -> bool {
    let variants = world.book.variants.as_deref().unwrap_or_default();
    let Some(this) = variants.iter().find(|row| row.supplier == *supplier && row.variant_id == *variant_id)
    else {
        return false;
    };
    let reading = world.reading_of(&(supplier.clone(), variant_id.clone()));
    Kind::ALL.into_iter().filter(|kind| line.of(*kind).is_none() && reading.of(*kind).is_some()).all(|kind| {
        this.product.is_some()
            && (kind != Kind::AgeGroup || reading.of(kind) == Some("adult"))
            && variants.iter().filter(|row| row.supplier == *supplier && row.product == this.product).all(
                |row| {
                    let other = world.reading_of(&(row.supplier.clone(), row.variant_id.clone()));
                    other.of(kind) == reading.of(kind)
                },
            )
    })
}

/// The one answer of the matching, by need and then submission line; pairs that tie nothing are left out.
pub fn matched(world: &World<'_>, needs: &[Need]) -> Vec<Tied> {
    let mut pairs = Vec::new();
    for (need_index, need) in needs.iter().enumerate().filter(|(_, need)| need.units > 0) {
        for (sent_index, sent) in world.sent.iter().enumerate().filter(|(_, sent)| sent.row.quantity > 0) {
            if let Some(way) = way(world, need, sent) {
                pairs.push(Tied { need: need_index, sent: sent_index, way, units: 0 });
            }
        }
    }
    // Each comparison adds up over pairs, so parts of the book that share no pair are best each by itself.
    let mut tied: Vec<Tied> = Vec::new();
    for island in islands(&pairs) {
        let mut search = Search {
            needs_left: needs.iter().map(|need| need.units).collect(),
            sent_left: world.sent.iter().map(Sent::quantity).collect(),
            units: vec![0; island.len()],
            pairs: island,
            best: Vec::new(),
            best_units: Vec::new(),
        };
        search.every_choice_from(0);
        for (mut pair, units) in search.pairs.into_iter().zip(search.best_units) {
            pair.units = units;
            tied.push(pair);
        }
    }
    tied.retain(|pair| pair.units > 0);
    tied.sort_by_key(|pair| (pair.need, pair.sent));
    tied
}

/// Sets of pairs that have neither need nor submission line in common, each by need and submission line.
fn islands(pairs: &[Tied]) -> Vec<Vec<Tied>> {
    let mut islands: Vec<Vec<Tied>> = Vec::new();
    for pair in pairs {
        let (mut joined, apart): (Vec<_>, Vec<_>) = islands.into_iter().partition(|island| {
            island.iter().any(|other| other.need == pair.need || other.sent == pair.sent)
        });
        joined.push(vec![pair.clone()]);
        islands = apart;
        islands.push(joined.concat());
    }
    for island in &mut islands {
        island.sort_by_key(|pair| (pair.need, pair.sent));
    }
    islands
}

struct Search {
    pairs: Vec<Tied>,
    needs_left: Vec<u64>,
    sent_left: Vec<u64>,
    units: Vec<u64>,
    /// The best answer so far, as the list of numbers by which answers are compared.
    best: Vec<u64>,
    best_units: Vec<u64>,
}

impl Search {
    fn every_choice_from(&mut self, pair: usize) {
        let Some(Tied { need, sent, .. }) = self.pairs.get(pair).cloned() else {
            if self.units.iter().sum::<u64>() >= self.best.first().copied().unwrap_or_default() {
                let weighed = self.weighed();
                if weighed > self.best {
                    self.best = weighed;
                    self.best_units = self.units.clone();
                }
            }
            return;
        };
        for units in 0..=self.needs_left[need].min(self.sent_left[sent]) {
            self.needs_left[need] -= units;
            self.sent_left[sent] -= units;
            self.units[pair] = units;
            self.every_choice_from(pair + 1);
            self.needs_left[need] += units;
            self.sent_left[sent] += units;
        }
        self.units[pair] = 0;
    }

    /// All units; units in way 1, 2, 3, 4; the same per need; units per submission line; units per pair. Of
    /// two answers, the one with more at the first number that differs is the better.
    fn weighed(&self) -> Vec<u64> {
        let mut in_ways = [0; 4];
        let mut per_need: BTreeMap<usize, [u64; 4]> = BTreeMap::new();
        let mut per_sent: BTreeMap<usize, u64> = BTreeMap::new();
        for (pair, units) in self.pairs.iter().zip(&self.units) {
            let way = usize::from(pair.way) - 1;
            in_ways[way] += units;
            per_need.entry(pair.need).or_default()[way] += units;
            *per_sent.entry(pair.sent).or_default() += units;
        }
        let mut numbers = vec![in_ways.iter().sum()];
        numbers.extend(in_ways);
        numbers.extend(per_need.into_values().flatten());
        numbers.extend(per_sent.into_values());
        numbers.extend(&self.units);
        numbers
    }
}
