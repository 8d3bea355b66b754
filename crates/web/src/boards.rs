//! The findings of all shops in order, made anew only where something is another than it was.
//!
//! Must not know what is asked for. Start reading at [`Boards::now`].

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use chrono::{DateTime, Utc};

use crate::desk::{Fault, Round};
use crate::view::{Board, OwnAsides};

/// What was put in order, by shop.
#[derive(Default)]
pub struct Boards {
    kept: Mutex<BTreeMap<String, Arc<Board>>>,
    /// One makes them, and whoever else wants them waits.
    making: tokio::sync::Mutex<()>,
}

impl Boards {
    /// The boards of these rounds, in their order.
    ///
    /// # Errors
    /// Where one cannot be made.
    pub async fn now(
        &self,
        rounds: Vec<Arc<Round>>,
        mut asides: BTreeMap<String, OwnAsides>,
        now: DateTime<Utc>,
    ) -> Result<Vec<Arc<Board>>, Fault> {
        if let Some(boards) = self.all_kept(&rounds, &asides, now) {
            return Ok(boards);
        }
        let _alone = self.making.lock().await;
        let mut boards = Vec::new();
        for round in rounds {
            let shop = round.shop.id.as_str().to_owned();
            let own = asides.remove(&shop).unwrap_or_default();
            if let Some(board) = self.kept(&round, &own, now) {
                boards.push(board);
                continue;
            }
            let made = tokio::task::spawn_blocking(move || Arc::new(Board::of(round, own, now))).await;
            let made = made.map_err(|_| Fault::Trouble { why: "the list could not be made".to_owned() })?;
            self.kept.lock().unwrap_or_else(PoisonError::into_inner).insert(shop, Arc::clone(&made));
            boards.push(made);
        }
        Ok(boards)
    }

    fn all_kept(
        &self,
        rounds: &[Arc<Round>],
        asides: &BTreeMap<String, OwnAsides>,
        now: DateTime<Utc>,
    ) -> Option<Vec<Arc<Board>>> {
        let none = OwnAsides::new();
        let of =
            |round: &Arc<Round>| self.kept(round, asides.get(round.shop.id.as_str()).unwrap_or(&none), now);
        rounds.iter().map(of).collect()
    }

    fn kept(&self, round: &Arc<Round>, asides: &OwnAsides, now: DateTime<Utc>) -> Option<Arc<Board>> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.get(round.shop.id.as_str()).filter(|board| board.holds(round, asides, now)).cloned()
    }
}
