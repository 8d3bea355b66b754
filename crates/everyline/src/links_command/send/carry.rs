//! What was planned, carried out: first what is in doubt is looked at, then a run is begun, with the file that puts it back,
//! and each offer is changed.
//!
//! Must not know who wants it or who is told. Start reading at [`SkuSender::carry_out`].

use std::io;
use std::path::PathBuf;

use intake::source::declare::Source;
use ledger::{LedgerError, PlannedSku, Signed, SkuChange, SkuRun};
use model::SourceId;
use tokio::sync::watch;

use super::job::{Job, NoShelf, NotPlanned, SkuSender, Wanted};
use super::put_back;
use super::work::{Ended, Left, Work};

/// What is to be carried out.
pub(crate) struct Order<'o> {
    /// What was wanted: after what is in doubt was looked at, it is planned anew.
    pub(crate) wanted: &'o Wanted,
    /// Where.
    pub(crate) source: (&'o SourceId, &'o Source),
    /// Who says so.
    pub(crate) signed: &'o Signed,
    /// Where the file that puts it back is to stand; `None`: beside the ledger.
    pub(crate) file: Option<PathBuf>,
    /// What was confirmed: nothing else is changed, whatever is planned by then. `None`: whatever is planned.
    pub(crate) confirmed: Option<&'o [PlannedSku]>,
    /// Says when to stop: between two offers.
    pub(crate) stop: &'o watch::Receiver<bool>,
}

/// What happens meanwhile.
pub(crate) enum Heard<'h> {
    /// What is in doubt of earlier runs is looked at.
    Looking,
    /// What became of a change, with the title of its listing.
    Ended(Option<&'h str>, &'h Ended),
    /// All was looked at that was in doubt.
    Looked,
    /// A run has begun, with so many offers.
    Begun(i64, usize),
}

/// What came of it.
pub(crate) struct Done {
    /// The plan by which it was done in the end.
    pub(crate) job: Job,
    /// Each change of the run that was looked at.
    pub(crate) ended: Vec<Ended>,
    /// How many the run planned.
    pub(crate) planned: usize,
    /// Why the rest was left.
    pub(crate) left: Option<Left>,
    /// The file that puts it back, where a run was begun.
    pub(crate) file: Option<PathBuf>,
    /// The file of the run before, where that ended before its end, may have changed something, and its file is there.
    pub(crate) earlier: Option<(i64, PathBuf)>,
}

/// Why nothing was done, or not all.
#[derive(Debug)]
pub(crate) enum NotCarried {
    /// The storefront cannot be asked.
    Shelf(NoShelf),
    /// It cannot be planned any more.
    Plan(NotPlanned),
    /// The file that puts everything back cannot be written.
    File(PathBuf, io::Error),
    /// The ledger could not be used: nothing was changed.
    Ledger(LedgerError),
    /// What became of a change could not be noted: it is in doubt.
    NotNoted(LedgerError),
}

impl From<NotPlanned> for NotCarried {
    fn from(why: NotPlanned) -> Self {
        Self::Plan(why)
    }
}

impl SkuSender {
    /// Changes SKUs, one offer after the other. Nobody else may send meanwhile (`Ledger::send_skus`).
    ///
    /// # Errors
    /// Where it cannot be begun, or not be noted what became of a change.
    pub(crate) async fn carry_out(
        &self,
        order: &Order<'_>,
        mut job: Job,
        tell: &mut (dyn FnMut(Heard<'_>) + Send),
    ) -> Result<Done, NotCarried> {
        let (source_id, source) = order.source;
        let mut shelf = self.shelf(source_id, source).await.map_err(NotCarried::Shelf)?;
        let mut work = Work {
            ledger: &self.ledger,
            shop: &self.shop,
            shelf: &mut shelf,
            world: &*self.world,
            stop: order.stop,
            last_link_change: job.last_link_change,
        };
        // Only read: what it is a hint to is there before anything is done.
        let earlier = self.file_of(job.ended_early).await.map_err(NotCarried::Ledger)?;
        let mut left = None;
        if !job.in_doubt.is_empty() {
            tell(Heard::Looking);
            let doubted: Vec<SkuChange> = job.in_doubt.iter().map(|(_, change)| change.clone()).collect();
            let titles = std::mem::take(&mut job.titles);
            let mut hear = |ended: &Ended| {
                let title = titles.get(&ended.planned.listing_id).map(String::as_str);
                tell(Heard::Ended(title, ended));
            };
            let settled = work.settle(&doubted, &mut hear).await.map_err(NotCarried::NotNoted)?;
            tell(Heard::Looked);
            left = settled.left;
            job = self.job(order.wanted).await?;
            job.only_of(source_id);
        }
        let mut changes = job.to_ask();
        if let Some(confirmed) = order.confirmed {
            changes.retain(|sku| confirmed.contains(sku));
        }
        let mut ended: Vec<Ended> = Vec::new();
        let mut planned = 0;
        let mut file = None;
        if left.is_none() && !changes.is_empty() {
            let (run, path) = self.begin(order, &changes, job.puts_back).await?;
            tell(Heard::Begun(run.first().map_or(0, |change| change.run), run.len()));
            file = Some(path);
            planned = run.len();
            work.last_link_change = job.last_link_change;
            let mut hear = |ended: &Ended| {
                let title = job.titles.get(&ended.planned.listing_id).map(String::as_str);
                tell(Heard::Ended(title, ended));
            };
            let carried = work.carry_out(&run, &mut hear).await.map_err(NotCarried::NotNoted)?;
            (ended, left) = (carried.ended, carried.left);
        }
        Ok(Done { job, ended, planned, left, file, earlier })
    }

    /// Keeps what is planned, and the file that puts it back.
    async fn begin(
        &self,
        order: &Order<'_>,
        planned: &[PlannedSku],
        puts_back: Option<i64>,
    ) -> Result<(Vec<SkuChange>, PathBuf), NotCarried> {
        let (source_id, _) = order.source;
        let begun =
            self.ledger.begin_sku_run(&self.shop, (source_id, puts_back), order.signed, planned).await;
        let number = begun.map_err(NotCarried::Ledger)?;
        let changes = self.ledger.sku_changes(&self.shop, Some(number)).await.map_err(NotCarried::Ledger)?;
        let run = SkuRun { number, source: source_id.clone(), signed: order.signed.clone(), puts_back };
        let usual = || put_back::usual_path(self.ledger.path(), &self.shop, number);
        let path = order.file.clone().unwrap_or_else(usual);
        match put_back::write(&path, &self.shop, &run, &changes) {
            Ok(()) => Ok((changes, path)),
            Err(error) => Err(NotCarried::File(path, error)),
        }
    }

    /// The file of a run of which the storefront has, or may have, something.
    async fn file_of(&self, run: Option<i64>) -> Result<Option<(i64, PathBuf)>, LedgerError> {
        let Some(run) = run else { return Ok(None) };
        let path = put_back::usual_path(self.ledger.path(), &self.shop, run);
        let changes = self.ledger.sku_changes(&self.shop, Some(run)).await?;
        let may_be_there = changes.iter().any(|change| change.state().may_be_there());
        Ok((may_be_there && path.exists()).then_some((run, path)))
    }
}
