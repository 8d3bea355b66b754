//! Sending on the page: what would be changed, and the confirmation by which it is done.
//!
//! What is planned and done is that of `everyline links send`; `running` is the work that goes on behind the page, `told` what
//! is shown of it. Must not know how a SKU is changed. Start reading at the [`web::Sending`] of [`PageDesk`].

mod running;
mod told;

use std::sync::Arc;
use std::time::Duration;

use intake::source::declare::Source;
use ledger::LedgerError;
use model::finding::Evidence;
use model::{ListingId, ShopId, SourceId};
use web::view::{self, SENT_AT_ONCE, SendPlan, SendWay, WaitsToBeSent, Words};
use web::{Answer, Begun, Confirmed, Desk as _, Fault, Sending, ToSend};

use super::listings::no_listing;
use super::{PageDesk, of_ledger};
use crate::links_command::send::job::{Job, NotPlanned, SkuSender, Wanted};
use crate::links_command::send::plan::Plan;
use crate::links_command::send::put_back::PutBack;
use crate::links_command::send::work::Foreseen;
use crate::links_command::send::{storefront, table};
use crate::trouble::Trouble;

pub(super) use running::Sends;
use running::Work;

/// The most offers that are looked at at the storefront to show what would be put back.
const LOOKED_AT: usize = 20;

/// For how long, at the most.
const LOOKED_FOR: Duration = Duration::from_secs(8);

/// A plan, and where it is to be done.
enum Planned {
    /// All that is to be done at one source, and how many offers more there are than one run changes.
    At(Box<Job>, SourceId, usize),
    /// Nothing is to be done anywhere.
    Nothing(Box<Job>),
    /// One of these is to be chosen.
    Choose(Vec<SourceId>),
    /// It cannot be told, why.
    Doubt(String),
}

impl PageDesk {
    fn sku_sender(&self, shop: &ShopId) -> Result<SkuSender, Fault> {
        Ok(SkuSender {
            ledger: self.ledger.clone(),
            shop: shop.clone(),
            settings: self.settings_of(shop, "begin at the list of listings")?,
            world: Arc::clone(&self.world),
        })
    }

    async fn wanted(&self, shop: &ShopId, what: &ToSend) -> Result<Wanted, Fault> {
        let listings = what.listing.iter().map(ToString::to_string).collect();
        let back = match what.back {
            None => None,
            Some(number) => {
                let runs = self.ledger.sku_runs(shop).await.map_err(|error| of_ledger(&error))?;
                let run = runs.iter().find(|run| run.number == number).ok_or_else(|| no_run(number))?;
                let changes = self.ledger.sku_changes(shop, Some(number)).await;
                Some(PutBack::of_run(shop, run, &changes.map_err(|error| of_ledger(&error))?))
            }
        };
        Ok(Wanted { listings, source: what.source.clone(), back })
    }

    /// What is to be done now. One at a time: each takes as much memory as all that is known of the shop.
    async fn planned(&self, sender: &SkuSender, wanted: &Wanted) -> Result<Planned, Fault> {
        let _alone = self.alone().await?;
        let mut job = match sender.job(wanted).await {
            Ok(job) => job,
            Err(why @ NotPlanned::NotRead(_)) => {
                return Ok(Planned::Doubt(Trouble::from(why).cause().to_owned()));
            }
            Err(why) => return Err(not_planned(why)),
        };
        let source = match sender.source(&job, wanted) {
            Ok(Some(source)) => source,
            Ok(None) => return Ok(Planned::Nothing(Box::new(job))),
            Err(NotPlanned::Several(sources)) => return Ok(Planned::Choose(sources)),
            Err(why) => return Err(not_planned(why)),
        };
        job.only_of(&source);
        let more = job.plan.changes.len().saturating_sub(SENT_AT_ONCE);
        job.plan.changes.truncate(SENT_AT_ONCE);
        Ok(Planned::At(Box::new(job), source, more))
    }

    async fn plan_of(&self, shop: &ShopId, what: &ToSend) -> Result<SendPlan, Fault> {
        let sender = self.sku_sender(shop)?;
        let wanted = self.wanted(shop, what).await?;
        let mut view = told::nothing(shop, what);
        view.running = self.sends.progress(shop);
        match self.planned(&sender, &wanted).await? {
            Planned::Doubt(why) => view.doubt = Some(Words::ours(why)),
            Planned::Choose(sources) => view.choose = sources.iter().map(ToString::to_string).collect(),
            Planned::Nothing(job) => told::plan(&mut view, &job, &Foreseen::default()),
            Planned::At(job, source_id, more) => {
                let source = sender.declared(&source_id).map_err(not_planned)?;
                let has_action = storefront::declares_it(source);
                view.source = Some(source_id.to_string());
                view.way = if has_action { SendWay::Asked } else { SendWay::Table };
                view.more = more as u64;
                view.every = told::every(source);
                let is_any = !job.plan.changes.is_empty() || !job.in_doubt.is_empty();
                // While something is sent, the plan is another from offer to offer.
                if has_action && is_any && view.running.is_none() {
                    view.shown = Some(job.proof(shop, &source_id));
                }
                let mut foreseen = Foreseen::default();
                if wanted.back.is_some() && has_action && view.running.is_none() {
                    self.foresee(&sender, (&source_id, source), &job, &mut foreseen).await;
                    view.looked_at = Some(foreseen.looked_at as u64);
                }
                told::plan(&mut view, &job, &foreseen);
            }
        }
        Ok(view)
    }

    /// Looks at some offers at the storefront. Where that does not go, the plan is shown without.
    async fn foresee(
        &self,
        sender: &SkuSender,
        source: (&SourceId, &Source),
        job: &Job,
        foreseen: &mut Foreseen,
    ) {
        let Ok(_alone) = self.sends.looking.acquire().await else { return };
        let (proof, now) = (job.proof(&sender.shop, source.0), self.now());
        if let Some(seen) = self.sends.looked(&proof, now) {
            *foreseen = seen;
            return;
        }
        let looking = sender.foresee(source, (job, LOOKED_AT), foreseen);
        // Cut off or not to be asked at all: what was seen by then is shown, and how much that was.
        let _ = tokio::time::timeout(LOOKED_FOR, looking).await;
        self.sends.keep_looked(&proof, now, foreseen.clone());
    }

    async fn table_of(&self, shop: &ShopId, what: &ToSend) -> Result<String, Fault> {
        let sender = self.sku_sender(shop)?;
        let wanted = self.wanted(shop, what).await?;
        let (job, template) = match self.planned(&sender, &wanted).await? {
            Planned::At(job, source, _) => {
                let template = sender.declared(&source).map_err(not_planned)?.sku_table.clone();
                (job, template)
            }
            Planned::Nothing(job) => (job, None),
            Planned::Choose(_) => {
                return Err(refused("several sources have something to change", "choose one of them"));
            }
            Planned::Doubt(why) => return Err(refused(why, "wait until they have been read")),
        };
        let written = table::written(template.as_ref(), &job.plan.changes, &job.option_names);
        written.map(|written| written.text).map_err(of_trouble)
    }

    async fn begin(&self, shop: &ShopId, confirmed: &Confirmed) -> Result<Begun, Fault> {
        let sender = self.sku_sender(shop)?;
        // One after the other, so that whoever confirms twice is told of the first.
        let _turn = self.sends.turn.lock().await;
        if let Some(begun) = self.sends.begun_by(shop, &confirmed.shown) {
            return Ok(begun);
        }
        let stop = self.sends.stop();
        if *stop.borrow() {
            return Err(Fault::Trouble { why: "everyline is being stopped".to_owned() });
        }
        // Held until the work is at its end: what is in doubt is being asked by nobody else.
        let alone = self.ledger.send_skus().map_err(|error| match error {
            LedgerError::SendingSkus { .. } => Fault::Meanwhile {
                why: "nothing was done: SKUs are being changed already, here or by `everyline links send`"
                    .to_owned(),
                todo: "wait until that is done, and look at the plan again".to_owned(),
            },
            error => of_ledger(&error),
        })?;
        let wanted = self.wanted(shop, &confirmed.what).await?;
        let Planned::At(job, source_id, _) = self.planned(&sender, &wanted).await? else {
            return Ok(Begun::Otherwise);
        };
        if job.proof(shop, &source_id) != confirmed.shown {
            return Ok(Begun::Otherwise);
        }
        let source = sender.declared(&source_id).map_err(not_planned)?.clone();
        if !storefront::declares_it(&source) {
            return Err(refused(
                format!("source {source_id} does not declare how a SKU is changed"),
                "download the table, and take it to the storefront's own bulk edit",
            ));
        }
        let work = Work {
            sender,
            wanted,
            source_id,
            source,
            signed: self.signed(&confirmed.by),
            job: *job,
            stop,
            _alone: alone,
        };
        Ok(self.sends.begin(work, confirmed.shown.clone()).await)
    }

    /// What waits to be sent of a shop: by what was found when it was compared last, without looking anew.
    pub(super) async fn waits_to_be_sent(&self, shop: &ShopId) -> Result<WaitsToBeSent, LedgerError> {
        let round = self.round_of(shop);
        let found = round.iter().flat_map(|round| &round.outcome.findings);
        let offers = found.filter_map(|finding| match &finding.evidence {
            Evidence::Unlinked(unlinked) => {
                Some(unlinked.offers.iter().filter(|offer| !offer.intended.is_empty()).count() as u64)
            }
            _ => None,
        });
        let running = self.sends.progress(shop);
        let in_doubt = match running {
            Some(_) => 0,
            None => {
                let changes = self.ledger.sku_changes(shop, None).await?;
                changes.iter().filter(|change| change.state().is_in_doubt()).count() as u64
            }
        };
        Ok(WaitsToBeSent { offers: offers.sum(), in_doubt, running })
    }
}

fn refused(why: impl Into<String>, todo: &str) -> Fault {
    Fault::Refused { why: why.into(), todo: todo.to_owned() }
}

fn no_run(number: i64) -> Fault {
    Fault::NotThere { what: format!("there is no run {number}"), todo: "look at what was sent".to_owned() }
}

fn of_trouble(trouble: Trouble) -> Fault {
    let why = trouble.cause().to_owned();
    Fault::Refused { why, todo: trouble.into_help().unwrap_or_default() }
}

fn not_planned(why: NotPlanned) -> Fault {
    match why {
        NotPlanned::NoListing(unknown, _) => no_listing(&ListingId::new(unknown)),
        NotPlanned::Ledger(error) => of_ledger(&error),
        why => of_trouble(why.into()),
    }
}

impl Sending for PageDesk {
    fn plan_to_send<'a>(&'a self, shop: &'a ShopId, what: &'a ToSend) -> Answer<'a, SendPlan> {
        Box::pin(self.plan_of(shop, what))
    }

    fn table_to_send<'a>(&'a self, shop: &'a ShopId, what: &'a ToSend) -> Answer<'a, String> {
        Box::pin(self.table_of(shop, what))
    }

    fn send<'a>(&'a self, shop: &'a ShopId, confirmed: &'a Confirmed) -> Answer<'a, Begun> {
        Box::pin(self.begin(shop, confirmed))
    }

    fn sends<'a>(&'a self, shop: &'a ShopId, page: u64) -> Answer<'a, view::Sends> {
        Box::pin(self.sends_of(shop, page))
    }

    fn sent<'a>(&'a self, shop: &'a ShopId, run: i64) -> Answer<'a, view::SentRun> {
        Box::pin(self.sent_of(shop, run))
    }
}
