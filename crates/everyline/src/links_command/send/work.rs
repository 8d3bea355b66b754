//! Changing SKUs one offer after the other, so that at any moment, and after any crash, the journal says what was changed
//! or that it is not known.
//!
//! Before each offer it is read: it has to bear the SKU that the plan shows. That the storefront is asked is in the journal
//! before the request leaves; then the offer is read again, and that alone decides. What is in doubt is never asked again:
//! it is read. Must not know how a storefront is spoken to, or how anything is shown. Start reading at [`Work::carry_out`].

#[cfg(test)]
mod tests;

use std::future::Future;

use intake::source::action::{Asked, Found, Seen};
use intake::source::http::World;
use ledger::{Ledger, LedgerError, PlannedSku, SkuChange, SkuState, SkuStep};
use model::{ShopId, Sku};
use tokio::sync::watch;

/// After so many offers in a row that could not be read, the rest is left: whoever does not answer these will not answer it.
pub const UNREAD_IN_A_ROW: usize = 3;

/// A storefront of which SKUs are changed.
pub trait Shelf {
    /// One offer as it is now.
    fn read(&mut self, offer: &PlannedSku) -> impl Future<Output = Result<Seen, NotReached>> + Send;

    /// Asks, once, for another SKU of an offer as it was just read. An error says that nothing was asked.
    fn change(
        &mut self,
        offer: &PlannedSku,
        found: &Found,
        sku: Option<&Sku>,
    ) -> impl Future<Output = Result<Asked, NotReached>> + Send;
}

/// Why a storefront could not be asked: a clause.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NotReached(pub String);

/// What became of one change.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Ended {
    /// The change.
    pub planned: PlannedSku,
    /// The run that it is of.
    pub run: i64,
    /// How far it is now.
    pub state: SkuState,
    /// What stands at the offer, where that was seen last; `Some(None)`: no SKU.
    pub seen: Option<Option<Sku>>,
    /// Why, a clause, where there is more to say.
    pub why: Option<String>,
}

/// What came of a run.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Carried {
    /// Each change that was looked at, in its order.
    pub ended: Vec<Ended>,
    /// Why the rest was left; `None` where all were looked at.
    pub left: Option<Left>,
}

/// Why a run ended before its last change.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Left {
    /// It was told to stop.
    Stopped,
    /// Several offers in a row could not be read.
    Unreachable,
    /// Links were changed since it was planned: what is left may no longer be meant.
    LinksChanged,
}

/// What is needed to change SKUs at one storefront.
pub struct Work<'w, S> {
    /// Where the journal is.
    pub ledger: &'w Ledger,
    /// Whose.
    pub shop: &'w ShopId,
    /// The storefront.
    pub shelf: &'w mut S,
    /// The clock.
    pub world: &'w dyn World,
    /// Says when to stop: between two offers, so that nothing is left in doubt.
    pub stop: &'w watch::Receiver<bool>,
    /// The last change of links of which the plan knows; once there is another, nothing more is changed. `None`: the plan does
    /// not follow from links.
    pub last_link_change: Option<i64>,
}

impl<S: Shelf> Work<'_, S> {
    /// Looks what became of changes that are in doubt: by reading alone. `tell` hears of each.
    ///
    /// # Errors
    /// Where the journal cannot be written.
    pub async fn settle(
        &mut self,
        changes: &[SkuChange],
        tell: &mut (dyn FnMut(&Ended) + Send),
    ) -> Result<Carried, LedgerError> {
        self.each(changes.iter().filter(|change| change.state().is_in_doubt()), true, tell).await
    }

    /// Makes changes that are planned. `tell` hears of each.
    ///
    /// # Errors
    /// Where the journal cannot be written: then nothing more is asked for.
    pub async fn carry_out(
        &mut self,
        changes: &[SkuChange],
        tell: &mut (dyn FnMut(&Ended) + Send),
    ) -> Result<Carried, LedgerError> {
        let planned = changes.iter().filter(|change| change.state() == SkuState::Planned);
        self.each(planned, false, tell).await
    }

    async fn each(
        &mut self,
        changes: impl Iterator<Item = &SkuChange>,
        only_settle: bool,
        tell: &mut (dyn FnMut(&Ended) + Send),
    ) -> Result<Carried, LedgerError> {
        let mut carried = Carried::default();
        let mut unread = 0;
        for change in changes {
            let left = match () {
                () if *self.stop.borrow() => Some(Left::Stopped),
                () if unread >= UNREAD_IN_A_ROW => Some(Left::Unreachable),
                () if !only_settle && !self.is_still_meant().await? => Some(Left::LinksChanged),
                () => None,
            };
            if left.is_some() {
                carried.left = left;
                break;
            }
            let ended =
                if only_settle { self.settle_one(change).await? } else { self.change_one(change).await? };
            unread = if ended.seen.is_none() && !ended.state.is_an_end() { unread + 1 } else { 0 };
            tell(&ended);
            carried.ended.push(ended);
        }
        Ok(carried)
    }

    /// Whether the owner's links are those of which the plan was made.
    async fn is_still_meant(&self) -> Result<bool, LedgerError> {
        match self.last_link_change {
            Some(number) => Ok(self.ledger.last_link_change(self.shop).await? == number),
            None => Ok(true),
        }
    }

    async fn settle_one(&mut self, change: &SkuChange) -> Result<Ended, LedgerError> {
        let seen = self.shelf.read(&change.planned).await;
        let verdict = after(&change.planned, seen, &Asked::Confirmed);
        self.note(change, verdict).await
    }

    async fn change_one(&mut self, change: &SkuChange) -> Result<Ended, LedgerError> {
        let planned = &change.planned;
        let found = match before(planned, self.shelf.read(planned).await) {
            Ok(found) => found,
            Err(verdict) => return self.note(change, verdict).await,
        };
        let asked = Verdict { state: SkuState::Asked, seen: Some(found.sku.clone()), why: None };
        self.note(change, asked).await?;
        let answer = match self.shelf.change(planned, &found, planned.new.as_ref()).await {
            Ok(answer) => answer,
            Err(NotReached(why)) => Asked::Refused(why),
        };
        let verdict = after(planned, self.shelf.read(planned).await, &answer);
        self.note(change, verdict).await
    }

    async fn note(&self, change: &SkuChange, verdict: Verdict) -> Result<Ended, LedgerError> {
        let Verdict { state, seen, why } = verdict;
        let step = SkuStep { state, at: self.world.now(), seen, why };
        self.ledger.note_sku(self.shop, (change.run, change.place), &step).await?;
        let SkuStep { state, seen, why, .. } = step;
        Ok(Ended { planned: change.planned.clone(), run: change.run, state, seen, why })
    }
}

/// What would become of changes, as the storefront was seen.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Foreseen {
    /// How many were read, from the first one on.
    pub looked_at: usize,
    /// The places of those that would be left, with why: a clause.
    pub left: Vec<(usize, String)>,
    /// The places of those that could not be read, with why: a clause.
    pub unread: Vec<(usize, String)>,
}

/// Looks what would become of changes now, by reading alone.
pub async fn foresee<'p, S: Shelf>(
    shelf: &mut S,
    changes: impl Iterator<Item = &'p PlannedSku>,
    foreseen: &mut Foreseen,
) {
    let mut unread_in_a_row = 0;
    for (place, planned) in changes.enumerate() {
        if unread_in_a_row >= UNREAD_IN_A_ROW {
            return;
        }
        let verdict = before(planned, shelf.read(planned).await).err();
        foreseen.looked_at = place + 1;
        let unread = std::mem::take(&mut unread_in_a_row);
        match verdict {
            None => {}
            Some(Verdict { state: SkuState::Planned, why, .. }) => {
                foreseen.unread.push((place, why.unwrap_or_default()));
                unread_in_a_row = unread + 1;
            }
            Some(Verdict { state: SkuState::Confirmed, .. }) => {
                foreseen.left.push((place, "it has that SKU already".to_owned()));
            }
            Some(Verdict { why, .. }) => foreseen.left.push((place, why.unwrap_or_default())),
        }
    }
}

/// What is to be noted of a change.
struct Verdict {
    state: SkuState,
    seen: Option<Option<Sku>>,
    why: Option<String>,
}

impl Verdict {
    fn of(state: SkuState, seen: Option<Option<Sku>>, why: impl Into<String>) -> Self {
        Self { state, seen, why: Some(why.into()) }
    }
}

/// The offer, where it bears what the plan shows; otherwise what is to be noted instead of asking.
fn before(planned: &PlannedSku, seen: Result<Seen, NotReached>) -> Result<Found, Verdict> {
    let verdict = match seen {
        Ok(Seen::Found(found)) if found.sku == planned.new => {
            let why = "it stood there already; nothing was written";
            Verdict::of(SkuState::Confirmed, Some(found.sku), why)
        }
        Ok(Seen::Found(found)) if found.sku == planned.old => return Ok(found),
        Ok(Seen::Found(found)) => {
            let why = format!("it was changed meanwhile: {}", bears(found.sku.as_ref()));
            Verdict::of(SkuState::Refused, Some(found.sku), why)
        }
        Ok(Seen::Missing) => {
            Verdict::of(SkuState::Refused, None, "the storefront has no such offer any more")
        }
        Ok(Seen::Ambiguous(count)) => {
            let why = format!(
                "{count} records of the storefront are this offer, and it is not clear which is meant"
            );
            Verdict::of(SkuState::Refused, None, why)
        }
        Err(NotReached(why)) => {
            Verdict::of(SkuState::Planned, None, format!("it could not be read, and was left: {why}"))
        }
    };
    Err(verdict)
}

/// What became of a change that was asked for, by what stands there now.
fn after(planned: &PlannedSku, seen: Result<Seen, NotReached>, answer: &Asked) -> Verdict {
    let said = match answer {
        Asked::Confirmed => None,
        Asked::Otherwise(why) => Some(format!("its answer was not as declared: {why}")),
        Asked::Refused(why) => Some(why.clone()),
        Asked::NotKnown(why) => Some(format!("it was not said whether it was done: {why}")),
    };
    let with = |text: &str| match &said {
        Some(said) => format!("{text} ({said})"),
        None => text.to_owned(),
    };
    match seen {
        Ok(Seen::Found(found)) if found.sku == planned.new => {
            let why = said.map(|said| format!("the storefront has it, though {said}"));
            Verdict { state: SkuState::Confirmed, seen: Some(found.sku), why }
        }
        // A request whose answer was lost may still be on its way.
        Ok(Seen::Found(found)) if found.sku == planned.old && matches!(answer, Asked::NotKnown(_)) => {
            let why = with("the storefront still has the old one, which may yet change");
            Verdict::of(SkuState::NotKnown, Some(found.sku), why)
        }
        Ok(Seen::Found(found)) if found.sku == planned.old => {
            Verdict::of(SkuState::Refused, Some(found.sku), with("the storefront still has the old one"))
        }
        Ok(Seen::Found(found)) => {
            let why = with(&bears(found.sku.as_ref()));
            Verdict::of(SkuState::Elsewhere, Some(found.sku), why)
        }
        Ok(Seen::Missing) => {
            Verdict::of(SkuState::Elsewhere, None, with("the storefront has no such offer any more"))
        }
        Ok(Seen::Ambiguous(count)) => {
            Verdict::of(SkuState::NotKnown, None, with(&format!("{count} records are this offer now")))
        }
        Err(NotReached(why)) => {
            Verdict::of(SkuState::NotKnown, None, with(&format!("it could not be read again: {why}")))
        }
    }
}

fn bears(sku: Option<&Sku>) -> String {
    match sku {
        Some(sku) => format!("it has the SKU {sku} now"),
        None => "it has no SKU now".to_owned(),
    }
}
