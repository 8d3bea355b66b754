//! Plans and runs as the page shows them.
//!
//! Must not know how a plan is made. Start reading at [`plan`] and [`PageDesk::sent_of`].

use std::collections::BTreeMap;

use chrono::TimeDelta;
use digest::Clock;
use intake::source::declare::Source;
use ledger::{LedgerError, PlannedSku, SkuChange, SkuRun, SkuState};
use model::{ListingId, Options, ShopId, Sku};
use web::view::{
    Moment, NotSent, SENDS_PER_PAGE, SendListing, SendOffer, SendPlan, Sends, SentInShort, SentOffer,
    SentRun, SentState, SentTally, Words, listing_page, sent_page,
};
use web::{Desk, Fault, ToSend};

use super::{Foreseen, Job, PageDesk, Plan, no_run, of_ledger};
use crate::layout::capital;
use crate::times::pace;

/// The most offers that are told of which none is sent.
const NOT_SENT_TOLD: usize = 200;

/// A plan of which nothing is known yet.
pub(super) fn nothing(shop: &ShopId, what: &ToSend) -> SendPlan {
    SendPlan {
        shop: shop.as_str().to_owned(),
        listing: what.listing.clone(),
        puts_back: what.back,
        ..SendPlan::default()
    }
}

/// What a job is, with what was seen of it at the storefront.
pub(super) fn plan(view: &mut SendPlan, job: &Job, foreseen: &Foreseen) {
    let Plan { changes, not_sent, in_force, own_stock, not_read_since } = &job.plan;
    let shop = view.shop.clone();
    for (place, change) in changes.iter().enumerate() {
        let id = &change.sku.listing_id;
        if view.listings.last().is_none_or(|last| last.listing_id != *id) {
            view.listings.push(SendListing {
                listing_id: id.clone(),
                title: Words::outside(change.title.as_deref().unwrap_or_default()),
                page: listing_page(&shop, id),
                offers: Vec::new(),
            });
        }
        let of_place =
            |all: &[(usize, String)]| all.iter().find(|(own, _)| *own == place).map(|(_, why)| why.clone());
        let note = of_place(&foreseen.left)
            .map(|why| format!("It would be left as it is: {why}."))
            .or_else(|| of_place(&foreseen.unread).map(|why| format!("Looked at just now: {why}.")));
        if let Some(listing) = view.listings.last_mut() {
            listing.offers.push(SendOffer {
                options: options(&change.sku.options),
                old_sku: sku(change.sku.old.as_ref()),
                new_sku: sku(change.sku.new.as_ref()),
                note: note.map(Words::ours),
            });
        }
    }
    view.offers = changes.len() as u64;
    view.not_sent_in_all = not_sent.len() as u64;
    let told = not_sent.iter().take(NOT_SENT_TOLD).map(|not| NotSent {
        listing_id: not.listing_id.clone(),
        title: Words::outside(not.title.as_deref().unwrap_or_default()),
        options: not.options.as_ref().map(options).unwrap_or_default(),
        why: Words::ours(&not.why),
    });
    view.not_sent = told.collect();
    (view.in_force, view.own_stock) = (*in_force as u64, *own_stock as u64);
    view.not_read_yet = not_read_since.map_or(0, |(count, _)| count as u64);
    view.in_doubt = job.in_doubt.len() as u64;
    view.never_asked = job.never_asked as u64;
}

/// How often a source is read.
pub(super) fn every(source: &Source) -> Option<Words> {
    TimeDelta::from_std(source.every).ok().map(|every| Words::ours(pace(every)))
}

fn options(options: &Options) -> Words {
    Words::outside(options.named())
}

fn sku(sku: Option<&Sku>) -> Option<Words> {
    sku.map(|sku| Words::outside(sku.as_str()))
}

/// What became of a change; `running` is the run that goes on.
fn state(change: &SkuChange, running: Option<i64>) -> SentState {
    let is_running = running == Some(change.run);
    match change.state() {
        SkuState::Asked if is_running => SentState::Asked,
        // With a step it was looked at already, and could not be read.
        SkuState::Planned if is_running && change.steps.is_empty() => SentState::Waits,
        state => at_rest(state),
    }
}

/// What became of a change of which nothing goes on.
fn at_rest(state: SkuState) -> SentState {
    match state {
        SkuState::Confirmed => SentState::Done,
        SkuState::Refused => SentState::NotDone,
        SkuState::Elsewhere => SentState::Otherwise,
        SkuState::Asked | SkuState::NotKnown => SentState::NotKnown,
        SkuState::Planned => SentState::Left,
    }
}

fn tally<'c>(changes: impl Iterator<Item = &'c SkuChange>, running: Option<i64>) -> SentTally {
    let mut tally = SentTally::default();
    changes.for_each(|change| tally.add(state(change, running)));
    tally
}

type Titles = BTreeMap<ListingId, Words>;

fn offer(
    planned: &PlannedSku,
    state: SentState,
    (why, at): (Option<&str>, Option<Moment>),
    titles: &Titles,
) -> SentOffer {
    SentOffer {
        listing_id: planned.listing_id.clone(),
        title: titles.get(&planned.listing_id).cloned().unwrap_or_default(),
        options: options(&planned.options),
        old_sku: sku(planned.old.as_ref()),
        new_sku: sku(planned.new.as_ref()),
        state,
        why: why.map(|why| Words::ours(format!("{}.", capital(why)))),
        at,
    }
}

impl PageDesk {
    /// The titles of listings, as far as they are known.
    async fn titles(&self, shop: &ShopId) -> Titles {
        match self.shelf_of(shop).await {
            Ok(shelf) => {
                let listings = shelf.listings.iter();
                listings.map(|listing| (listing.listing_id.clone(), listing.title.clone())).collect()
            }
            // Without them the ids serve.
            Err(_) => Titles::new(),
        }
    }

    pub(super) async fn sends_of(&self, shop: &ShopId, page: u64) -> Result<Sends, Fault> {
        let settings = self.settings_of(shop, "begin at the list of listings")?;
        let ledger = |error: LedgerError| of_ledger(&error);
        let running = self.sends.progress(shop);
        let running_run = running.as_ref().and_then(|running| running.run);
        let runs = self.ledger.sku_runs(shop).await.map_err(ledger)?;
        let changes = self.ledger.sku_changes(shop, None).await.map_err(ledger)?;
        let in_all = runs.len() as u64;
        let pages = in_all.div_ceil(SENDS_PER_PAGE).max(1);
        let page = page.clamp(1, pages);
        let skipped = usize::try_from((page - 1) * SENDS_PER_PAGE).unwrap_or(usize::MAX);
        let taken = usize::try_from(SENDS_PER_PAGE).unwrap_or(usize::MAX);
        let clock = Clock::of_a_reader(settings.zone, self.now());
        let of_page = runs.iter().rev().skip(skipped).take(taken).map(|run| {
            let own = changes.iter().filter(|change| change.run == run.number);
            in_short(shop, run, &runs, &clock, (running_run, tally(own, running_run)))
        });
        let of_page = of_page.collect();
        let (_, trouble, settled) = self.sends.last(shop);
        let titles = if settled.is_empty() { Titles::new() } else { self.titles(shop).await };
        let looked_at = settled
            .iter()
            .map(|ended| offer(&ended.planned, at_rest(ended.state), (ended.why.as_deref(), None), &titles));
        let in_doubt = changes.iter().filter(|change| change.state().is_in_doubt()).count() as u64;
        Ok(Sends {
            shop: shop.as_str().to_owned(),
            running,
            trouble: trouble.map(Words::ours),
            looked_at: looked_at.collect(),
            in_doubt,
            runs: of_page,
            in_all,
            page,
            pages,
        })
    }

    pub(super) async fn sent_of(&self, shop: &ShopId, number: i64) -> Result<SentRun, Fault> {
        let settings = self.settings_of(shop, "begin at the list of listings")?;
        let ledger = |error: LedgerError| of_ledger(&error);
        // Before the ledger is read: what ends between is shown as going on, and the page is told of the end.
        let running = self.sends.progress(shop).and_then(|running| running.run);
        let runs = self.ledger.sku_runs(shop).await.map_err(ledger)?;
        let run = runs.iter().find(|run| run.number == number).ok_or_else(|| no_run(number))?;
        let changes = self.ledger.sku_changes(shop, Some(number)).await.map_err(ledger)?;
        let (clock, titles) = (Clock::of_a_reader(settings.zone, self.now()), self.titles(shop).await);
        let offers = changes.iter().map(|change| {
            let last = change.steps.last();
            let why = last.and_then(|step| step.why.as_deref());
            let at = last.map(|step| Moment::new(step.at, &clock));
            offer(&change.planned, state(change, running), (why, at), &titles)
        });
        let tally = tally(changes.iter(), running);
        let is_running = running == Some(number);
        let because = match self.sends.last(shop) {
            (Some(run), Some(trouble), _) if run == number => Some(format!("{}.", capital(&trouble))),
            _ if !is_running && tally.left > 0 => Some("It ended before its end.".to_owned()),
            _ => None,
        };
        Ok(SentRun {
            shop: shop.as_str().to_owned(),
            of: in_short(shop, run, &runs, &clock, (running, tally)),
            left_because: because.map(Words::ours),
            offers: offers.collect(),
            can_be_put_back: !is_running && changes.iter().any(|change| change.state().may_be_there()),
            every: settings.sources.get(&run.source).and_then(every),
        })
    }
}

fn in_short(
    shop: &ShopId,
    run: &SkuRun,
    runs: &[SkuRun],
    clock: &Clock,
    (running, tally): (Option<i64>, SentTally),
) -> SentInShort {
    SentInShort {
        run: run.number,
        page: sent_page(shop.as_str(), run.number),
        source: run.source.to_string(),
        at: Moment::new(run.signed.at, clock),
        by: Words::outside(&run.signed.by),
        why: run.signed.why.as_ref().map(Words::outside),
        puts_back: run.puts_back,
        put_back_by: runs
            .iter()
            .rev()
            .find(|other| other.puts_back == Some(run.number))
            .map(|other| other.number),
        is_running: running == Some(run.number),
        tally,
    }
}
