//! Rounds: every source is asked at its own pace, and whenever something changed, or a minute has passed, each shop is
//! judged and the answer recorded.
//!
//! Must not know how what happens is told: it hands out [`Happening`]s. Start reading at [`Watch::run`]; [`Watch::round`]
//! is the same by hand, for a clock that a caller moves.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use intake::source::http::World;
use ledger::{Ledger, LedgerError, Recorded};
use model::{Finding, Outcome, ShopId, SourceId};
use tokio::sync::{Semaphore, watch};
use tokio::task::JoinSet;

use super::asker::{Asked, Asker};
use super::closing::Turn;
use super::judge::{Judged, Prepared, Question, elsewhere, judge_prepared};
use crate::configuration::{Configuration, Recipient, Settings};
use crate::sending::alerts;

/// How long a shop goes without being judged, though nothing changed: graces pass and cut-offs come near by themselves.
const WITHOUT_CHANGE: TimeDelta = TimeDelta::seconds(60);

/// A shop is left alone for so many times as long as judging it took: a large one on a small machine would be judged all
/// the time.
const REST: i32 = 10;

/// How long what has come waits for the other sources that are just being asked.
const WAIT_FOR_OTHERS: TimeDelta = TimeDelta::seconds(10);

/// How long a source is left alone of which the ledger could not keep what it brought.
const AFTER_LEDGER_TROUBLE: TimeDelta = TimeDelta::seconds(60);

/// How many folders are read at once: each takes as much memory as what lies in it.
const FOLDERS_AT_ONCE: usize = 2;

/// How many groups are closed in one go.
const CLOSED_AT_ONCE: usize = 200;

/// How long the end waits for pages that are being read.
const LAST_PAGES: Duration = Duration::from_millis(800);

/// Something that somebody may want to be told.
#[derive(Debug)]
pub enum Happening<'a> {
    /// A source was asked.
    Asked {
        /// Whose source.
        shop: &'a ShopId,
        /// Which.
        source: &'a SourceId,
        /// What came of it.
        asked: &'a Asked,
    },
    /// A shop was judged, and the answer recorded.
    Judged {
        /// Which.
        shop: &'a ShopId,
        /// What is in force for it.
        settings: &'a Settings,
        /// The answer.
        judged: &'a Judged,
        /// What is new of it.
        recorded: &'a Recorded,
        /// What was judged.
        prepared: &'a Arc<Prepared>,
    },
    /// The ledger could not be read or written; it is tried again.
    LedgerTrouble {
        /// Which shop it was about.
        shop: &'a ShopId,
        /// What is the matter.
        error: &'a LedgerError,
    },
}

/// All shops of a configuration, and what is needed to look after them.
pub struct Watch {
    ledger: Ledger,
    world: Arc<dyn World>,
    shops: Vec<Shop>,
    recipients: BTreeMap<String, Recipient>,
    folders: Arc<Semaphore>,
    stop: watch::Receiver<bool>,
}

struct Shop {
    id: ShopId,
    settings: Arc<Settings>,
    sources: Vec<Slot>,
    /// Since when something has come that was not judged.
    unjudged_since: Option<DateTime<Utc>>,
    judged_at: Option<DateTime<Utc>>,
    /// How long that took.
    judging_took: TimeDelta,
    /// Which of its orders were asked whether they are over.
    closing: Turn,
}

impl Shop {
    /// Until when it is not judged again, so that judging takes no more than a part of the time.
    fn rested_until(&self) -> Option<DateTime<Utc>> {
        self.judged_at.map(|judged| judged + self.judging_took * REST)
    }
}

/// A source, and when it is its turn. `asker` is away while it asks.
struct Slot {
    asker: Option<Asker>,
    next_at: DateTime<Utc>,
}

/// An asker that comes back, with what came of it, and where it belongs.
type Back = (usize, usize, Asker, Result<Asked, LedgerError>);

impl Watch {
    /// Prepares to look after all shops of a configuration. `stop` ends it once it says so.
    ///
    /// # Errors
    /// Where the secret of the installation cannot be made or read.
    pub async fn new(
        configuration: &Configuration,
        ledger: Ledger,
        world: Arc<dyn World>,
        stop: watch::Receiver<bool>,
    ) -> Result<Self, LedgerError> {
        let secret = ledger.secret().await?;
        let shops = configuration.shops.iter().map(|(id, settings)| {
            let settings = Arc::new(settings.clone());
            let sources = settings.sources.iter().map(|(name, source)| Slot {
                asker: Some(Asker::new((id, &settings), (name, source), &secret, &world)),
                next_at: DateTime::<Utc>::MIN_UTC,
            });
            let sources = sources.collect();
            Shop {
                id: id.clone(),
                settings,
                sources,
                unjudged_since: None,
                judged_at: None,
                judging_took: TimeDelta::zero(),
                closing: Turn::default(),
            }
        });
        let recipients = configuration.sending.recipients.clone();
        let folders = Arc::new(Semaphore::new(FOLDERS_AT_ONCE));
        Ok(Self { ledger, shops: shops.collect(), recipients, world, folders, stop })
    }

    /// Looks after the shops until it is stopped.
    pub async fn run(&mut self, tell: &mut dyn FnMut(Happening<'_>)) {
        let mut stop = self.stop.clone();
        let mut away = JoinSet::new();
        while !*stop.borrow() {
            let now = self.world.now();
            self.send_out(now, &mut away);
            self.judge_what_is_due(now, tell).await;
            let wait = self.time_to_next(self.world.now());
            tokio::select! {
                Some(back) = away.join_next() => self.take_back(back, tell),
                () = tokio::time::sleep(wait) => {}
                _ = stop.wait_for(|stopped| *stopped) => {}
            }
        }
        // What is being read ends with its page; what takes longer is read again by whoever comes next.
        let last = async {
            while let Some(back) = away.join_next().await {
                self.take_back(back, tell);
            }
        };
        let _ = tokio::time::timeout(LAST_PAGES, last).await;
        away.shutdown().await;
    }

    /// Asks every source whose turn it is, waits for all of them, and judges every shop.
    pub async fn round(&mut self, tell: &mut dyn FnMut(Happening<'_>)) {
        let mut away = JoinSet::new();
        self.send_out(self.world.now(), &mut away);
        while let Some(back) = away.join_next().await {
            self.take_back(back, tell);
        }
        for shop in 0..self.shops.len() {
            self.judge(shop, tell).await;
        }
    }

    /// When the next source is to be asked; `None` where there is none.
    pub fn next_at(&self) -> Option<DateTime<Utc>> {
        self.shops.iter().flat_map(|shop| &shop.sources).map(|slot| slot.next_at).min()
    }

    fn send_out(&mut self, now: DateTime<Utc>, away: &mut JoinSet<Back>) {
        for (shop_at, shop) in self.shops.iter_mut().enumerate() {
            for (slot_at, slot) in shop.sources.iter_mut().enumerate() {
                if slot.next_at > now {
                    continue;
                }
                let Some(mut asker) = slot.asker.take() else { continue };
                let (ledger, stop, folders) =
                    (self.ledger.clone(), self.stop.clone(), Arc::clone(&self.folders));
                away.spawn(async move {
                    let _turn = match asker.is_folder() {
                        true => folders.acquire_owned().await.ok(),
                        false => None,
                    };
                    let asked = asker.ask(&ledger, &stop).await;
                    (shop_at, slot_at, asker, asked)
                });
            }
        }
    }

    fn take_back(&mut self, back: Result<Back, tokio::task::JoinError>, tell: &mut dyn FnMut(Happening<'_>)) {
        let (shop_at, slot_at, asker, asked) = match back {
            Ok(back) => back,
            Err(error) if error.is_panic() => std::panic::resume_unwind(error.into_panic()),
            Err(_) => return,
        };
        let now = self.world.now();
        let shop = &mut self.shops[shop_at];
        let next_at = match &asked {
            Ok(asked) => {
                // A source that failed, or works again, is a change too.
                shop.unjudged_since.get_or_insert(now);
                tell(Happening::Asked { shop: &shop.id, source: asker.source_id(), asked });
                asked.next_at
            }
            Err(error) => {
                tell(Happening::LedgerTrouble { shop: &shop.id, error });
                now + AFTER_LEDGER_TROUBLE
            }
        };
        shop.sources[slot_at] = Slot { asker: Some(asker), next_at };
    }

    async fn judge_what_is_due(&mut self, now: DateTime<Utc>, tell: &mut dyn FnMut(Happening<'_>)) {
        for at in 0..self.shops.len() {
            let shop = &self.shops[at];
            let all_here = shop.sources.iter().all(|slot| slot.asker.is_some());
            let has_waited =
                shop.unjudged_since.is_some_and(|since| all_here || now - since >= WAIT_FOR_OTHERS);
            let is_long_ago = shop.judged_at.is_some_and(|judged| now - judged >= WITHOUT_CHANGE);
            if (has_waited || is_long_ago) && shop.rested_until().is_none_or(|until| now >= until) {
                self.judge(at, tell).await;
            }
        }
    }

    async fn judge(&mut self, at: usize, tell: &mut dyn FnMut(Happening<'_>)) {
        let now = self.world.now().trunc_subsecs(0);
        let shop = &mut self.shops[at];
        shop.unjudged_since = None;
        shop.judged_at = Some(now);
        let question =
            Question { shop: shop.id.clone(), settings: Arc::clone(&shop.settings), as_of: None, now };
        let done = judge_and_record(&self.ledger, &self.recipients, &question).await;
        let done = match done {
            Ok((prepared, judged, recorded)) => {
                tell(Happening::Judged {
                    shop: &shop.id,
                    settings: &shop.settings,
                    judged: &judged,
                    recorded: &recorded,
                    prepared: &prepared,
                });
                close(&self.ledger, &question, (&prepared, &judged), &mut shop.closing).await
            }
            Err(error) => Err(error),
        };
        if let Err(error) = done {
            tell(Happening::LedgerTrouble { shop: &shop.id, error: &error });
        }
        shop.judging_took = self.world.now() - now;
    }

    /// How long nothing is to be done.
    fn time_to_next(&self, now: DateTime<Utc>) -> Duration {
        let slots = self.shops.iter().flat_map(|shop| &shop.sources);
        let turns = slots.filter(|slot| slot.asker.is_some()).map(|slot| slot.next_at);
        let judgements = self.shops.iter().filter_map(|shop| {
            let waiting = shop.unjudged_since.map(|since| since + WAIT_FOR_OTHERS);
            let usual = shop.judged_at.map(|judged| judged + WITHOUT_CHANGE);
            waiting.into_iter().chain(usual).min().max(shop.rested_until())
        });
        let next = turns.chain(judgements).min().unwrap_or(now + WITHOUT_CHANGE);
        // A turn that has come while nobody looked is now.
        (next - now).clamp(TimeDelta::zero(), WITHOUT_CHANGE).to_std().unwrap_or_default()
    }
}

/// Judges a shop and keeps the answer, with what is to be told of it at once.
async fn judge_and_record(
    ledger: &Ledger,
    recipients: &BTreeMap<String, Recipient>,
    question: &Question,
) -> Result<(Arc<Prepared>, Judged, Recorded), LedgerError> {
    let prepared = Arc::new(Prepared::of_round(ledger, question).await?);
    let judged = judge_prepared(ledger, question, &prepared).await?;
    let wanted = alerts::wanted(recipients, &question.shop, &judged.outcome, question.now);
    let recorded = ledger.record_and_tell(&question.shop, &judged.outcome, &wanted, question.now).await?;
    Ok((prepared, judged, recorded))
}

/// Closes what is over of what was judged. What could not be closed, for something changed meanwhile, has its turn again.
async fn close(
    ledger: &Ledger,
    question: &Question,
    (prepared, judged): (&Arc<Prepared>, &Judged),
    closing: &mut Turn,
) -> Result<(), LedgerError> {
    let Some((basis, version)) = prepared.closed_by().filter(|_| closing.has_come(prepared)) else {
        return Ok(());
    };
    let (groups, turn) = elsewhere({
        let (prepared, settings) = (Arc::clone(prepared), Arc::clone(&question.settings));
        let found = judged.outcome.findings.iter().filter_map(|finding| finding.order_id.clone()).collect();
        let mut turn = closing.clone();
        move || (turn.groups(&prepared, &settings, &found), turn)
    })
    .await;
    // None for long: polls wait meanwhile. Where something changed, the rest is for another round.
    let mut are_closed = true;
    for some in groups.chunks(CLOSED_AT_ONCE) {
        are_closed &= ledger.close_groups(&question.shop, (basis, *version), some).await?;
    }
    if are_closed {
        *closing = turn;
    }
    Ok(())
}

/// The findings of these ids, in the order of the outcome.
pub fn among<'o>(outcome: &'o Outcome, ids: &'o [String]) -> impl Iterator<Item = &'o Finding> {
    outcome.findings.iter().filter(|finding| ids.iter().any(|id| id == finding.id.as_str()))
}
