//! What is over for good: whether it can be said of some orders that nothing will ever be found of them again as they stand.
//!
//! Must not know where rows are kept, or when somebody asks. Start reading at [`settled`].

use chrono::{DateTime, Days, Utc};
use model::{Book, Rules, Settled};

use crate::account;
use crate::raise::Judged;
use crate::world::World;
use crate::{Facts, Whole, of_orders};

/// Judged as it stands, and once more so much later: what time alone brings has come by then.
const LATER: Days = Days::new(36_525);

/// What a part of a book adds to the answer about the whole, where that is no more than sums and will stay so as long as
/// none of its rows changes: nothing is found of it, today or ever, nobody did anything by hand for it, and everything that is
/// counted has been dispatched. `None` otherwise. The part is as [`crate::reconcile_orders`] takes it.
pub fn settled(
    book: &Book,
    facts: Facts<'_>,
    rules: &Rules,
    as_of: DateTime<Utc>,
    whole: &Whole,
) -> Option<Settled> {
    let at = |moment| {
        let world = World::new(book, facts, rules, moment, whole.first_placed);
        let judged = Judged::new(&world);
        let part = of_orders(&judged);
        let is_calm = part.findings.is_empty() && part.not_judged.is_empty();
        // What was done by hand is an example for lines of the same good.
        let is_plain = is_calm && account::by_hand(&judged).is_empty();
        let sums = part.tally.sums().filter(|_| is_plain)?;
        let counted = part.totals.covered_wrongly + part.totals.uncovered;
        let is_done = counted == 0 && part.totals.dispatched == part.totals.covered;
        is_done.then_some(Settled { totals: part.totals, orders: book.orders.len() as u64, ..sums })
    };
    let (now, later) = (at(as_of)?, at(as_of.checked_add_days(LATER)?)?);
    (now == later).then_some(now)
}
