//! Units that were sent and serve nothing: explained by a cancellation, or surplus.

use crate::catalogue::VariantIndex;
use crate::collections::Map;
use crate::cover::Coverage;
use crate::world::{LineIndex, OrderIndex, Standing, SubmissionLineIndex, World};

/// Left-over units of one submission line, and what explains them.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Explained {
    pub supply: SubmissionLineIndex,
    pub order: OrderIndex,
    /// The line whose cancelled units explain it; `None` where the whole order was cancelled and nothing finer
    /// need be asked.
    pub line: Option<LineIndex>,
    pub units: u64,
}

/// Left-over units of one submission line that nothing explains.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Surplus {
    pub supply: SubmissionLineIndex,
    /// The first live order that it refers to; `None` where it refers to none.
    pub order: Option<OrderIndex>,
    pub units: u64,
}

/// What became of the units that serve nothing, by submission line.
#[derive(Default)]
pub(crate) struct LeftOver {
    pub explained: Vec<Explained>,
    /// Of submission lines that refer to some order.
    pub surplus: Vec<Surplus>,
}

impl LeftOver {
    pub(crate) fn new(world: &World<'_>, coverage: &Coverage) -> Self {
        let mut left = Self::default();
        let mut pools = Pools { world, drawn: Map::default() };
        for (supply, line) in world.submission_lines.iter().enumerate() {
            let mut units = coverage.left_over[supply];
            if units == 0 || line.orders.is_empty() || line.is_not_judged {
                continue;
            }
            if let [order] = line.orders[..]
                && world.orders[order].standing == Standing::Cancelled
            {
                left.explained.push(Explained { supply, order, line: None, units });
                continue;
            }
            units -= pools.explain(supply, units, &mut left.explained);
            if units > 0 {
                let is_live = |order: &&OrderIndex| world.orders[**order].standing == Standing::Live;
                let order = line.orders.iter().find(is_live).copied();
                left.surplus.push(Surplus { supply, order, units });
            }
        }
        left
    }
}

/// Cancelled units not drawn on yet. A line's are there once for each variant that it is linked to, and once
/// for all other variants together.
struct Pools<'w, 'a> {
    world: &'w World<'a>,
    drawn: Map<(LineIndex, Option<VariantIndex>), u64>,
}

impl Pools<'_, '_> {
    /// Draws up to `units` for a submission line, on the lines of its orders in their order; returns how many.
    fn explain(&mut self, supply: SubmissionLineIndex, units: u64, explained: &mut Vec<Explained>) -> u64 {
        let world = self.world;
        let sent = &world.submission_lines[supply];
        let Some(variant) = sent.variant else { return 0 };
        let mut orders = sent.orders.clone();
        orders.sort_unstable();
        let mut found = 0;
        for line in orders.into_iter().flat_map(|order| world.orders[order].lines.clone()) {
            let view = &world.lines[line];
            let order = &world.orders[view.order];
            let cancelled = u64::from(if order.standing == Standing::Cancelled {
                view.row.quantity
            } else {
                view.row.cancelled_quantity
            });
            let (pool, most) = if let Some(part) = view.link.part_of(variant) {
                ((line, Some(variant)), cancelled * u64::from(part.units))
            } else if sent.named.binary_search(&line).is_ok() {
                ((line, None), cancelled)
            } else {
                continue;
            };
            let drawn = self.drawn.entry(pool).or_insert(0);
            let now = (most - *drawn).min(units - found);
            if now > 0 {
                *drawn += now;
                found += now;
                explained.push(Explained { supply, order: view.order, line: Some(line), units: now });
            }
        }
        found
    }
}
