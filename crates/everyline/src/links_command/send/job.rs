//! What is to be sent, as it follows from what the ledger holds now: the same for the command and for the page.
//!
//! Must not know how it is asked for or told, or how a SKU is changed. Start reading at [`SkuSender::job`]; [`Job::proof`]
//! tells one plan from another.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use intake::source::action::SkuChanger;
use intake::source::declare::{Origin, Role, Source};
use intake::source::http::{Limits, World};
use ledger::{Ledger, LedgerError, PlannedSku, SkuChange, SkuRun};
use model::{Book, ListingId, Options, ShopId, Sku, SourceId};
use sha2::{Digest, Sha256};

use super::plan::{Beside, NotSent, Plan, Planned};
use super::put_back::PutBack;
use super::storefront::Storefront;
use super::table;
use super::work::{self, Foreseen};
use crate::configuration::Settings;
use crate::layout::capital;
use crate::live::asker;
use crate::live::standing::Standings;

/// What sends for a shop, and with what.
#[derive(Clone)]
pub(crate) struct SkuSender {
    pub(crate) ledger: Ledger,
    pub(crate) shop: ShopId,
    pub(crate) settings: Arc<Settings>,
    pub(crate) world: Arc<dyn World>,
}

/// What somebody wants to be sent.
#[derive(Clone, Default, Debug)]
pub(crate) struct Wanted {
    /// The listings; none: all.
    pub(crate) listings: Vec<String>,
    /// At which source; `None`: the only one that has something to change.
    pub(crate) source: Option<String>,
    /// The run that is to be put back; `None`: intended links are sent.
    pub(crate) back: Option<PutBack>,
}

/// What is to be done.
pub(crate) struct Job {
    pub(crate) plan: Plan,
    /// The titles of listings, by id.
    pub(crate) titles: BTreeMap<ListingId, String>,
    /// The names of the options of all offers, as they are compared.
    pub(crate) option_names: BTreeSet<String>,
    /// Changes of which it is not known what became of them, each with its source.
    pub(crate) in_doubt: Vec<(SourceId, SkuChange)>,
    /// The run that is put back, where the ledger knows it.
    pub(crate) puts_back: Option<i64>,
    /// How many offers of a run that is put back it never asked for.
    pub(crate) never_asked: usize,
    /// The last change of links of which the plan knows; `None` where it does not follow from links.
    pub(crate) last_link_change: Option<i64>,
    /// The last run, where there was one.
    pub(crate) last_run: Option<i64>,
    /// The last run, where it ended before its end and the storefront may have something of it.
    pub(crate) ended_early: Option<i64>,
}

/// Why nothing can be planned.
#[derive(Debug)]
pub(crate) enum NotPlanned {
    /// A table has not been read to its end: its name.
    NotRead(&'static str),
    /// No offer is of a listing; the nearest that there is.
    NoListing(String, Option<String>),
    /// The file says something else of an offer than the ledger knows of a run.
    Differs(Box<PlannedSku>, i64),
    /// The source is a supplier's.
    OfSupplier(String),
    /// There is no such source; the known ones.
    NoSource(String, Vec<String>),
    /// Several sources have something to change.
    Several(Vec<SourceId>),
    /// The configuration does not declare the source any more.
    Gone(SourceId),
    /// The ledger could not be used.
    Ledger(LedgerError),
}

impl From<LedgerError> for NotPlanned {
    fn from(error: LedgerError) -> Self {
        Self::Ledger(error)
    }
}

/// Why a storefront cannot be asked.
#[derive(Debug)]
pub(crate) enum NoShelf {
    /// The source is a folder.
    Folder,
    /// It does not declare how a SKU is changed.
    NotDeclared,
    /// It cannot be asked at all: why.
    NotAsked(String),
    /// The ledger could not be used.
    Ledger(LedgerError),
}

impl SkuSender {
    /// What is to be done by what the ledger holds now.
    ///
    /// # Errors
    /// Where that cannot be told.
    pub(crate) async fn job(&self, wanted: &Wanted) -> Result<Job, NotPlanned> {
        let (ledger, shop) = (&self.ledger, &self.shop);
        let back = wanted.back.as_ref();
        let now = self.world.now();
        // Before the links are read: a change that comes between is seen as one.
        let last_link_change = match back {
            Some(_) => None,
            None => Some(ledger.last_link_change(shop).await?),
        };
        let standings = Standings::of(ledger, shop, &self.settings, None, now).await?;
        let book = ledger.book(shop, standings.known()).await?;
        let runs = ledger.sku_runs(shop).await?;
        let changes = ledger.sku_changes(shop, None).await?;
        let (plan, puts_back, never_asked) = match back {
            Some(back) => {
                let run = runs.iter().find(|run| back.is_of(shop, run));
                let of_run: Option<Vec<SkuChange>> = run
                    .map(|run| changes.iter().filter(|change| change.run == run.number).cloned().collect());
                if let Some(change) = of_run.as_deref().and_then(|known| back.differs_from(known)) {
                    return Err(NotPlanned::Differs(Box::new(change.clone()), back.head.run));
                }
                let (mut back_again, never_asked) = back.reversed(of_run.as_deref());
                back_again.retain(|sku| wanted.means(&sku.listing_id));
                let source = back.head.source();
                let changes = back_again.into_iter();
                let title = |sku: &PlannedSku| {
                    let mut offers = book.offers.iter().flatten();
                    offers.find(|offer| offer.listing_id == sku.listing_id)?.title.clone()
                };
                let changes =
                    changes.map(|sku| Planned { source: source.clone(), title: title(&sku), sku }).collect();
                (Plan { changes, ..Plan::default() }, run.map(|run| run.number), never_asked)
            }
            None => (self.plan(&book, wanted).await?, None, 0),
        };
        let ended_early = runs.last().map(|run| run.number).filter(|number| {
            let own = || changes.iter().filter(|change| change.run == *number);
            own().any(|change| !change.state().is_an_end()) && own().any(SkuChange::was_asked)
        });
        let sources: BTreeMap<i64, &SourceId> = runs.iter().map(|run| (run.number, &run.source)).collect();
        let in_doubt =
            changes.into_iter().filter(|change| change.state().is_in_doubt()).filter_map(|change| {
                let source = sources.get(&change.run)?;
                Some(((*source).clone(), change))
            });
        let titles = book
            .offers
            .iter()
            .flatten()
            .filter_map(|offer| Some((offer.listing_id.clone(), offer.title.clone()?)));
        Ok(Job {
            plan,
            titles: titles.collect(),
            option_names: table::names(book.offers.iter().flatten().map(|offer| &offer.options)),
            in_doubt: in_doubt.collect(),
            puts_back,
            never_asked,
            last_link_change,
            last_run: runs.last().map(|run| run.number),
            ended_early,
        })
    }

    async fn plan(&self, book: &Book, wanted: &Wanted) -> Result<Plan, NotPlanned> {
        for (is_known, what) in [(book.offers.is_some(), "offers"), (book.variants.is_some(), "variants")] {
            if !is_known {
                return Err(NotPlanned::NotRead(what));
            }
        }
        let known: BTreeSet<&str> =
            book.offers.iter().flatten().map(|offer| offer.listing_id.as_str()).collect();
        if let Some(unknown) = wanted.listings.iter().find(|id| !known.contains(id.as_str())) {
            let near = crate::configuration::nearest(unknown, known.iter().copied());
            return Err(NotPlanned::NoListing(unknown.clone(), near.map(ToString::to_string)));
        }
        let sources = self.ledger.offer_sources(&self.shop).await?;
        let seen = self.ledger.skus_seen_since_read(&self.shop).await?;
        Ok(Plan::of(book, Beside { sources: &sources, seen: &seen }, &wanted.listings))
    }

    /// The one source at which something is to be done; `None`: there is nothing to do anywhere.
    ///
    /// # Errors
    /// Where there are several, or the one that is wanted is no storefront's.
    pub(crate) fn source(&self, job: &Job, wanted: &Wanted) -> Result<Option<SourceId>, NotPlanned> {
        if let Some(back) = &wanted.back {
            return Ok(Some(back.head.source()));
        }
        if let Some(asked) = &wanted.source {
            return match self.settings.sources.iter().find(|(source, _)| source.as_str() == asked) {
                Some((source, declared)) if matches!(declared.role, Role::Storefront) => {
                    Ok(Some(source.clone()))
                }
                Some(_) => Err(NotPlanned::OfSupplier(asked.clone())),
                None => {
                    let known = self.settings.sources.keys().map(ToString::to_string).collect();
                    Err(NotPlanned::NoSource(asked.clone(), known))
                }
            };
        }
        let of_changes = job.plan.changes.iter().map(|change| &change.source);
        let sources: BTreeSet<&SourceId> =
            of_changes.chain(job.in_doubt.iter().map(|(source, _)| source)).collect();
        match sources.len() {
            0 => Ok(None),
            1 => Ok(sources.into_iter().next().cloned()),
            _ => Err(NotPlanned::Several(sources.into_iter().cloned().collect())),
        }
    }

    /// How a source is declared.
    ///
    /// # Errors
    /// Where it is not any more.
    pub(crate) fn declared(&self, source: &SourceId) -> Result<&Source, NotPlanned> {
        self.settings.sources.get(source).ok_or_else(|| NotPlanned::Gone(source.clone()))
    }

    /// What asks the source.
    ///
    /// # Errors
    /// Where it cannot be asked.
    pub(super) async fn shelf(&self, source_id: &SourceId, source: &Source) -> Result<Storefront, NoShelf> {
        let Origin::Service(service) = &source.origin else { return Err(NoShelf::Folder) };
        let key = self.ledger.secret().await.map_err(NoShelf::Ledger)?;
        let reader = asker::reader(&self.shop, source_id, service, &key, Limits::default(), &self.world)
            .map_err(NoShelf::NotAsked)?;
        SkuChanger::new(reader).map(Storefront).ok_or(NoShelf::NotDeclared)
    }

    /// Looks at the storefront what would become of the changes of a plan now, at most `most` of them, and asks for nothing.
    /// `foreseen` says how far that came, also where it was broken off.
    ///
    /// # Errors
    /// Where it cannot be asked at all.
    pub(crate) async fn foresee(
        &self,
        (source_id, source): (&SourceId, &Source),
        (job, most): (&Job, usize),
        foreseen: &mut Foreseen,
    ) -> Result<(), NoShelf> {
        let mut shelf = self.shelf(source_id, source).await?;
        let changes = job.plan.changes.iter().take(most).map(|change| &change.sku);
        work::foresee(&mut shelf, changes, foreseen).await;
        Ok(())
    }
}

impl Wanted {
    fn means(&self, listing_id: &ListingId) -> bool {
        self.listings.is_empty() || self.listings.iter().any(|id| id == listing_id.as_str())
    }
}

impl Job {
    /// Leaves out what is of another source.
    pub(crate) fn only_of(&mut self, source: &SourceId) {
        self.plan.changes.retain(|change| change.source == *source);
        self.in_doubt.retain(|(of, _)| of == source);
    }

    /// What is to be changed, without what is in doubt: that is not asked for again.
    pub(super) fn to_ask(&self) -> Vec<PlannedSku> {
        let in_doubt: BTreeSet<(&ListingId, &Options)> = self
            .in_doubt
            .iter()
            .map(|(_, SkuChange { planned, .. })| (&planned.listing_id, &planned.options))
            .collect();
        let changes = self.plan.changes.iter().map(|change| &change.sku);
        changes.filter(|sku| !in_doubt.contains(&(&sku.listing_id, &sku.options))).cloned().collect()
    }

    /// Takes those out of the plan that the storefront was just seen to refuse.
    pub(crate) fn leave_out(&mut self, foreseen: &Foreseen) {
        let changes = std::mem::take(&mut self.plan.changes);
        for (place, change) in changes.into_iter().enumerate() {
            match foreseen.left.iter().find(|(own, _)| *own == place) {
                None => self.plan.changes.push(change),
                Some((_, why)) => self.plan.not_sent.push(NotSent {
                    listing_id: Some(change.sku.listing_id),
                    options: Some(change.sku.options),
                    title: change.title,
                    sku: change.sku.old.map(|sku| sku.to_string()),
                    why: format!("{}. It would be left as it is.", capital(why)),
                    is_off_sale: false,
                }),
            }
        }
    }

    /// What shows that what is done is what was shown: whose, where, each offer with both SKUs, what is in doubt, and that
    /// nothing was sent since.
    pub(crate) fn proof(&self, shop: &ShopId, source: &SourceId) -> String {
        let row = |sku: &PlannedSku| {
            let options: BTreeMap<&str, &str> = sku.options.iter().collect();
            serde_json::json!([
                sku.listing_id.as_str(),
                options,
                sku.old.as_ref().map(Sku::as_str),
                sku.new.as_ref().map(Sku::as_str)
            ])
        };
        let changes: Vec<_> = self.plan.changes.iter().map(|change| row(&change.sku)).collect();
        let in_doubt: Vec<_> = self
            .in_doubt
            .iter()
            .map(|(_, change)| (change.run, change.place, change.steps.len(), row(&change.planned)))
            .collect();
        let all = serde_json::json!({
            "shop": shop.as_str(),
            "source": source.as_str(),
            "puts_back": self.puts_back,
            "changes": changes,
            "in_doubt": in_doubt,
            "last_run": self.last_run,
        });
        Sha256::digest(all.to_string()).iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

impl PutBack {
    /// What puts a run back that the ledger knows, as the file of the run says it.
    pub(crate) fn of_run(shop: &ShopId, run: &SkuRun, changes: &[SkuChange]) -> Self {
        let changes = changes.iter().map(|change| change.planned.clone()).collect::<Vec<_>>();
        Self { head: super::put_back::Head::of(shop, run, changes.len()), changes }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ledger::{SkuState, SkuStep};

    fn sku(listing: &str, old: &str, new: &str) -> PlannedSku {
        PlannedSku {
            listing_id: listing.into(),
            options: Options::new(),
            old: Sku::new(old),
            new: Sku::new(new),
        }
    }

    fn job(changes: &[PlannedSku]) -> Job {
        let planned = |sku: &PlannedSku| Planned { source: "till".into(), title: None, sku: sku.clone() };
        Job {
            plan: Plan { changes: changes.iter().map(planned).collect(), ..Plan::default() },
            titles: BTreeMap::new(),
            option_names: BTreeSet::new(),
            in_doubt: Vec::new(),
            puts_back: None,
            never_asked: 0,
            last_link_change: Some(1),
            last_run: Some(3),
            ended_early: None,
        }
    }

    #[test]
    fn whatever_would_be_done_otherwise_has_another_proof() {
        let proof = |job: &Job| job.proof(&"kitchen".into(), &"till".into());
        let doubt = |steps: usize| {
            let step = SkuStep {
                state: SkuState::NotKnown,
                at: chrono::DateTime::UNIX_EPOCH,
                seen: None,
                why: None,
            };
            let planned = sku("L9", "A", "B");
            vec![("till".into(), SkuChange { run: 3, place: 0, planned, steps: vec![step; steps] })]
        };
        let first = || job(&[sku("L1", "", "V1"), sku("L2", "OLD", "V2")]);
        let all = [
            first(),
            job(&[sku("L1", "", "V1")]),
            job(&[sku("L1", "", "V1"), sku("L2", "OTHER", "V2")]),
            job(&[sku("L1", "", "V1"), sku("L2", "OLD", "V3")]),
            Job { puts_back: Some(2), ..first() },
            Job { last_run: Some(4), ..first() },
            Job { in_doubt: doubt(1), ..first() },
            Job { in_doubt: doubt(2), ..first() },
        ];
        let proofs: BTreeSet<String> = all.iter().map(proof).collect();
        assert_eq!(proofs.len(), all.len());
        assert_eq!(proof(&first()), proof(&Job { last_link_change: Some(9), never_asked: 7, ..first() }));
        let other = first().proof(&"second".into(), &"till".into());
        assert!(
            !proofs.contains(&other) && !proofs.contains(&first().proof(&"kitchen".into(), &"stall".into()))
        );
    }

    #[test]
    fn what_is_in_doubt_is_not_asked_for_again_and_what_would_be_left_is_left_out() {
        let mut job = job(&[sku("L1", "", "V1"), sku("L2", "OLD", "V2")]);
        let planned = sku("L2", "ELSE", "V2");
        job.in_doubt = vec![("till".into(), SkuChange { run: 3, place: 0, planned, steps: Vec::new() })];
        assert_eq!(job.to_ask(), [sku("L1", "", "V1")]);
        let left = vec![(0, "it was changed meanwhile: it has the SKU X now".to_owned())];
        job.leave_out(&Foreseen { looked_at: 2, left, unread: Vec::new() });
        assert_eq!(job.plan.changes.len(), 1);
        assert_eq!(
            job.plan.not_sent[0].why,
            "It was changed meanwhile: it has the SKU X now. It would be left as it is."
        );
    }
}
