//! The work that goes on behind the page: it is begun by a confirmation, goes on whoever looks, and ends between two offers
//! when the program is stopped. What became of each offer is in the ledger; here is only what is not.
//!
//! Must not know how it is shown. Start reading at [`Sends::begin`].

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use chrono::{DateTime, TimeDelta, Utc};
use intake::source::declare::Source;
use ledger::{PlannedSku, SendingSkus, Signed};
use model::{ShopId, SourceId};
use tokio::sync::{Semaphore, oneshot, watch};
use tokio::task::JoinHandle;
use tracing::{info, warn};
use web::Begun;
use web::view::SendProgress;

use crate::links_command::send::carry::{Done, Heard, NotCarried, Order};
use crate::links_command::send::job::{Job, NoShelf, SkuSender, Wanted};
use crate::links_command::send::work::{Ended, Foreseen, Left, UNREAD_IN_A_ROW};

/// How long what was seen at the storefront serves again.
const LOOKED_HOLDS: TimeDelta = TimeDelta::seconds(20);

/// Something that was confirmed.
pub(super) struct Work {
    pub(super) sender: SkuSender,
    pub(super) wanted: Wanted,
    pub(super) source_id: SourceId,
    pub(super) source: Source,
    pub(super) signed: Signed,
    pub(super) job: Job,
    pub(super) stop: watch::Receiver<bool>,
    pub(super) _alone: SendingSkus,
}

/// What was begun last of a shop, and how far it is.
#[derive(Default)]
struct Last {
    /// What was shown to whoever confirmed it.
    shown: String,
    is_over: bool,
    /// The run, once it has begun.
    run: Option<i64>,
    /// How many are done with, of those in doubt or, once it has begun, of the run.
    looked_at: u64,
    offers: u64,
    /// What became of those that were in doubt.
    settled: Vec<Ended>,
    /// Why it ended before its end, as a sentence without a full stop.
    trouble: Option<String>,
}

/// All work of the page.
pub(in crate::page) struct Sends {
    last: Mutex<BTreeMap<ShopId, Last>>,
    tasks: Mutex<Vec<JoinHandle<()>>>,
    stop: OnceLock<watch::Receiver<bool>>,
    changes: watch::Sender<u64>,
    /// Who confirms waits for whoever did just before.
    pub(super) turn: tokio::sync::Mutex<()>,
    /// One at a time looks at the storefront only to show it.
    pub(super) looking: Semaphore,
    /// What was seen then last: by which plan, and when.
    looked: Mutex<Option<(String, DateTime<Utc>, Foreseen)>>,
}

impl Sends {
    /// None yet. `changes` is counted up whenever something may look different.
    pub(in crate::page) fn new(changes: watch::Sender<u64>) -> Arc<Self> {
        Arc::new(Self {
            last: Mutex::default(),
            tasks: Mutex::default(),
            stop: OnceLock::new(),
            changes,
            turn: tokio::sync::Mutex::default(),
            looking: Semaphore::new(1),
            looked: Mutex::default(),
        })
    }

    /// From now on work ends once `stop` says so.
    pub(in crate::page) fn ends_with(&self, stop: watch::Receiver<bool>) {
        let _ = self.stop.set(stop);
    }

    /// What says when to stop.
    pub(super) fn stop(&self) -> watch::Receiver<bool> {
        self.stop.get().cloned().unwrap_or_else(|| watch::channel(false).1)
    }

    /// Waits until all work is at its end.
    pub(in crate::page) async fn ended(&self) {
        let tasks = std::mem::take(&mut *self.tasks.lock().unwrap_or_else(PoisonError::into_inner));
        for task in tasks {
            let _ = task.await;
        }
    }

    /// What was begun by the confirmation of this, where that was the last one of the shop.
    pub(super) fn begun_by(&self, shop: &ShopId, shown: &str) -> Option<Begun> {
        let last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let last = last.get(shop).filter(|last| last.shown == shown)?;
        Some(last.run.map_or(Begun::Looking, Begun::Run))
    }

    /// How far it is, where something goes on.
    pub(super) fn progress(&self, shop: &ShopId) -> Option<SendProgress> {
        let last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let last = last.get(shop).filter(|last| !last.is_over)?;
        Some(SendProgress { run: last.run, looked_at: last.looked_at, offers: last.offers })
    }

    /// Why the last work of a shop ended before its end, and its run; what it settled of earlier ones.
    pub(super) fn last(&self, shop: &ShopId) -> (Option<i64>, Option<String>, Vec<Ended>) {
        let last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let last = last.get(shop);
        last.map(|last| (last.run, last.trouble.clone(), last.settled.clone())).unwrap_or_default()
    }

    /// What was seen at the storefront by this plan a moment ago, so that it is not asked again by whoever loads a page again.
    pub(super) fn looked(&self, proof: &str, now: DateTime<Utc>) -> Option<Foreseen> {
        let looked = self.looked.lock().unwrap_or_else(PoisonError::into_inner);
        let is_fresh = |at: DateTime<Utc>| now.signed_duration_since(at).abs() < LOOKED_HOLDS;
        looked.as_ref().filter(|(own, at, _)| own == proof && is_fresh(*at)).map(|(.., seen)| seen.clone())
    }

    /// Keeps what was seen.
    pub(super) fn keep_looked(&self, proof: &str, now: DateTime<Utc>, seen: Foreseen) {
        *self.looked.lock().unwrap_or_else(PoisonError::into_inner) = Some((proof.to_owned(), now, seen));
    }

    fn change(&self, shop: &ShopId, change: impl FnOnce(&mut Last)) {
        change(self.last.lock().unwrap_or_else(PoisonError::into_inner).entry(shop.clone()).or_default());
        self.changes.send_modify(|number| *number += 1);
    }

    /// Begins, and answers once it is known what has begun.
    pub(super) async fn begin(self: &Arc<Self>, work: Work, shown: String) -> Begun {
        let shop = work.sender.shop.clone();
        let offers = work.job.in_doubt.len() as u64;
        self.change(&shop, |last| *last = Last { shown, offers, ..Last::default() });
        let (begun, heard) = oneshot::channel();
        let all = Arc::clone(self);
        let task = tokio::spawn(async move { all.carry_out(work, begun).await });
        {
            let mut tasks = self.tasks.lock().unwrap_or_else(PoisonError::into_inner);
            tasks.retain(|task| !task.is_finished());
            tasks.push(task);
        }
        heard.await.unwrap_or(Begun::Looking)
    }

    async fn carry_out(self: Arc<Self>, work: Work, begun: oneshot::Sender<Begun>) {
        let Work { sender, wanted, source_id, source, signed, job, stop, _alone } = work;
        let shop = sender.shop.clone();
        // However this ends, it is over.
        let _over = Over { all: Arc::clone(&self), shop: shop.clone() };
        let confirmed: Vec<PlannedSku> = job.plan.changes.iter().map(|change| change.sku.clone()).collect();
        let order = Order {
            wanted: &wanted,
            source: (&source_id, &source),
            signed: &signed,
            file: None,
            confirmed: Some(&confirmed),
            stop: &stop,
        };
        let mut begun = Some(begun);
        let mut tell = |heard: Heard<'_>| match heard {
            Heard::Looking => {
                let _ = begun.take().map(|begun| begun.send(Begun::Looking));
            }
            Heard::Ended(_, ended) => self.change(&shop, |last| {
                last.looked_at += 1;
                if last.run.is_none() {
                    last.settled.push(ended.clone());
                }
            }),
            Heard::Looked => {}
            Heard::Begun(run, offers) => {
                info!("sending run {run} to {source_id}: {offers} offers");
                self.change(&shop, |last| {
                    (last.run, last.looked_at, last.offers) = (Some(run), 0, offers as u64);
                });
                let _ = begun.take().map(|begun| begun.send(Begun::Run(run)));
            }
        };
        let trouble = match sender.carry_out(&order, job, &mut tell).await {
            Ok(done) => left_because(&done, &source_id),
            Err(why) => Some(not_carried(why, &source_id)),
        };
        if let Some(trouble) = trouble {
            self.change(&shop, |last| last.trouble = Some(trouble));
        }
    }
}

/// Says that work is over, also where it panicked.
struct Over {
    all: Arc<Sends>,
    shop: ShopId,
}

impl Drop for Over {
    fn drop(&mut self) {
        self.all.change(&self.shop, |last| last.is_over = true);
    }
}

fn left_because(done: &Done, source_id: &SourceId) -> Option<String> {
    Some(match done.left? {
        Left::Stopped => "everyline was stopped, and the rest was left".to_owned(),
        Left::LinksChanged => {
            "links were changed meanwhile, and the rest was left: it may no longer be what you intend; what \
                               was sent stays, unless you put it back"
                .to_owned()
        }
        Left::Unreachable => format!(
            "source {source_id} did not answer, {UNREAD_IN_A_ROW} times in a row, and the rest was left; `everyline source \
             check {source_id}` tries it"
        ),
    })
}

/// What is the matter in full is said where everyline runs; a path has no place on a page.
fn not_carried(why: NotCarried, source_id: &SourceId) -> String {
    match why {
        NotCarried::Shelf(NoShelf::NotAsked(why)) => format!("source {source_id} cannot be asked: {why}"),
        NotCarried::Shelf(NoShelf::Folder | NoShelf::NotDeclared) => {
            format!("source {source_id} does not declare how a SKU is changed")
        }
        NotCarried::Plan(why) => crate::trouble::Trouble::from(why).cause().to_owned(),
        NotCarried::File(path, error) => {
            warn!("{}, which puts everything back, cannot be written: {error}", path.display());
            "nothing was changed, for the file that puts everything back could not be written beside the ledger".to_owned()
        }
        NotCarried::Ledger(error) | NotCarried::Shelf(NoShelf::Ledger(error)) => {
            warn!("sending could not use the ledger: {error}");
            "nothing was changed, for the ledger could not be used".to_owned()
        }
        NotCarried::NotNoted(error) => {
            warn!("sending could not note what became of an offer: {error}");
            "what became of an offer could not be noted; it is looked at before anything else is sent"
                .to_owned()
        }
    }
}
