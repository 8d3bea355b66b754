//! `everyline links send`: intended links brought into force, by changing SKUs at the storefront, or by a table for its own
//! bulk edit.
//!
//! Must not know which SKU makes a link be in force (`plan` asks the matcher), or how a SKU is changed (`work`). Start
//! reading at [`run`].

mod plan;
mod put_back;
mod storefront;
mod table;
mod told;
mod work;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use intake::source::action::SkuChanger;
use intake::source::declare::{Origin, Role, Source};
use intake::source::http::{Limits, World};
use ledger::{Ledger, LedgerError, SkuChange, SkuRun, SkuState};
use model::{Book, ListingId, Options, ShopId, SourceId};
use tokio::sync::watch;

use super::desk::signed;
use super::said::counted;
use super::write::quoted;
use crate::arguments::{SendFormat, SendLinksArguments};
use crate::audit::USUAL_CONFIGURATION;
use crate::configuration::Settings;
use crate::exit::Exit;
use crate::live::asker;
use crate::live::standing::Standings;
use crate::live::world::Machine;
use crate::opened::{self, Opened, of_ledger};
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;
use crate::watch::stopped;
use plan::{Beside, Plan, Planned};
use put_back::PutBack;
use storefront::Storefront;
use told::{Teller, Way};
use work::{Ended, Left, Work};

const NOTHING_CHANGED: &str = "nothing was changed";

/// Runs the command.
///
/// # Errors
/// Where the configuration, the ledger or a file cannot be used, or it is not clear what is meant: nothing was changed.
pub fn run(asked: &SendLinksArguments) -> Result<Exit, Trouble> {
    opened::run(async {
        let Opened { ledger, shop, settings } = Opened::of(&asked.of).await?;
        let sending = Sending { asked, ledger: ledger.clone(), shop, settings, world: Arc::new(Machine) };
        let done = sending.run().await;
        ledger.close().await;
        done
    })
}

/// What a run is asked for, and what it is done with.
struct Sending<'a> {
    asked: &'a SendLinksArguments,
    ledger: Ledger,
    shop: ShopId,
    settings: Arc<Settings>,
    world: Arc<dyn World>,
}

/// What is to be done.
struct Job {
    plan: Plan,
    /// The titles of listings, by id.
    titles: BTreeMap<ListingId, String>,
    /// The names of the options of all offers, as they are compared.
    option_names: BTreeSet<String>,
    /// Changes of which it is not known what became of them, each with its source.
    in_doubt: Vec<(SourceId, SkuChange)>,
    /// The run that is put back, where the ledger knows it.
    puts_back: Option<i64>,
    /// How many offers of a run that is put back it never asked for.
    never_asked: usize,
    /// The last change of links of which the plan knows; `None` where it does not follow from links.
    last_link_change: Option<i64>,
}

impl Sending<'_> {
    async fn run(&self) -> Result<Exit, Trouble> {
        let back = self.asked.put_back.as_deref().map(put_back::read).transpose()?;
        if let Some(PutBack { head, .. }) = back.as_ref().filter(|back| back.head.shop != self.shop.as_str())
        {
            let cause = format!("the file is of shop {:?}, and this is {}", head.shop, self.shop);
            return Err(
                Trouble::new(NOTHING_CHANGED, cause).help("say with --config and --shop which is meant")
            );
        }
        // Held until the end: what is in doubt here is being asked by nobody else.
        let _alone = if self.asked.yes { Some(self.ledger.send_skus().map_err(of_sending)?) } else { None };
        let mut job = self.job(back.as_ref()).await?;
        let Some(source_id) = self.source(&job, back.as_ref())? else {
            return self.nothing(&job);
        };
        self.only_of(&source_id, &mut job);
        let source = self.settings.sources.get(&source_id).ok_or_else(|| {
            Trouble::new(NOTHING_CHANGED, format!("source {source_id} is not in the configuration any more"))
        })?;
        let has_action = storefront::declares_it(source);
        if self.asked.yes && !has_action {
            let cause = format!("source {source_id} does not declare how a SKU is changed there");
            let help = "leave --yes out: `--out FILE` writes the table for the storefront's own bulk edit";
            return Err(Trouble::new(NOTHING_CHANGED, cause).help(help));
        }
        if self.asked.yes {
            return self.change((&source_id, source), job, back.as_ref()).await;
        }
        self.show((&source_id, source), &job, has_action)
    }

    /// What is to be done by what the ledger holds now.
    async fn job(&self, back: Option<&PutBack>) -> Result<Job, Trouble> {
        let (ledger, shop) = (&self.ledger, &self.shop);
        let now = self.world.now();
        // Before the links are read: a change that comes between is seen as one.
        let last_link_change = match back {
            Some(_) => None,
            None => Some(ledger.last_link_change(shop).await.map_err(of_ledger)?),
        };
        let standings = Standings::of(ledger, shop, &self.settings, None, now).await.map_err(of_ledger)?;
        let book = ledger.book(shop, standings.known()).await.map_err(of_ledger)?;
        let runs = ledger.sku_runs(shop).await.map_err(of_ledger)?;
        let changes = ledger.sku_changes(shop, None).await.map_err(of_ledger)?;
        let (plan, puts_back, never_asked) = match back {
            Some(back) => {
                let run = runs.iter().find(|run| back.is_of(shop, run));
                let of_run: Option<Vec<SkuChange>> = run
                    .map(|run| changes.iter().filter(|change| change.run == run.number).cloned().collect());
                if let Some(change) = of_run.as_deref().and_then(|known| back.differs_from(known)) {
                    let cause = format!(
                        "of listing {} ({}) the file says something else than the ledger knows of run {}",
                        change.listing_id, change.options, back.head.run
                    );
                    return Err(
                        Trouble::new(NOTHING_CHANGED, cause).help("give the file as the run wrote it")
                    );
                }
                let (mut back_again, never_asked) = back.reversed(of_run.as_deref());
                back_again.retain(|sku| self.is_meant(&sku.listing_id));
                let source = back.head.source();
                let changes = back_again.into_iter();
                let title = |sku: &ledger::PlannedSku| {
                    let mut offers = book.offers.iter().flatten();
                    offers.find(|offer| offer.listing_id == sku.listing_id)?.title.clone()
                };
                let changes =
                    changes.map(|sku| Planned { source: source.clone(), title: title(&sku), sku }).collect();
                (Plan { changes, ..Plan::default() }, run.map(|run| run.number), never_asked)
            }
            None => (self.plan(&book).await?, None, 0),
        };
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
        })
    }

    async fn plan(&self, book: &Book) -> Result<Plan, Trouble> {
        for (is_known, what) in [(book.offers.is_some(), "offers"), (book.variants.is_some(), "variants")] {
            if !is_known {
                let cause =
                    format!("not all {what} have been read yet, so that no SKU can be told to be right");
                return Err(Trouble::new(NOTHING_CHANGED, cause)
                    .help("`everyline status` says how far each source has been read"));
            }
        }
        let known: BTreeSet<&str> =
            book.offers.iter().flatten().map(|offer| offer.listing_id.as_str()).collect();
        if let Some(unknown) = self.asked.listings.iter().find(|id| !known.contains(id.as_str())) {
            let near = crate::configuration::nearest(unknown, known.iter().copied());
            let near = near.map(|near| format!("; the nearest is {near}")).unwrap_or_default();
            return Err(Trouble::new(NOTHING_CHANGED, format!("no offer is of a listing {unknown:?}{near}"))
                .help("give --listing the id of a listing, as the storefront writes it"));
        }
        let sources = self.ledger.offer_sources(&self.shop).await.map_err(of_ledger)?;
        let seen = self.ledger.skus_seen_since_read(&self.shop).await.map_err(of_ledger)?;
        Ok(Plan::of(book, Beside { sources: &sources, seen: &seen }, &self.asked.listings))
    }

    fn is_meant(&self, listing_id: &ListingId) -> bool {
        self.asked.listings.is_empty() || self.asked.listings.iter().any(|id| id == listing_id.as_str())
    }

    /// The one source at which something is to be done.
    fn source(&self, job: &Job, back: Option<&PutBack>) -> Result<Option<SourceId>, Trouble> {
        if let Some(back) = back {
            return Ok(Some(back.head.source()));
        }
        let of_changes = job.plan.changes.iter().map(|change| &change.source);
        let sources: BTreeSet<&SourceId> =
            of_changes.chain(job.in_doubt.iter().map(|(source, _)| source)).collect();
        if let Some(asked) = &self.asked.source {
            return match self.settings.sources.iter().find(|(source, _)| source.as_str() == asked) {
                Some((source, declared)) if matches!(declared.role, Role::Storefront) => {
                    Ok(Some(source.clone()))
                }
                Some(_) => Err(Trouble::new(NOTHING_CHANGED, format!("source {asked} is a supplier's"))
                    .help("SKUs are changed at the storefront: name its source")),
                None => {
                    let known: Vec<&str> = self.settings.sources.keys().map(SourceId::as_str).collect();
                    Err(Trouble::new(NOTHING_CHANGED, format!("there is no source {asked:?}"))
                        .help(format!("known are: {}", known.join(", "))))
                }
            };
        }
        let mut sources = sources.into_iter();
        match (sources.next(), sources.next()) {
            (None, _) => Ok(None),
            (Some(only), None) => Ok(Some(only.clone())),
            (Some(first), Some(second)) => Err(Trouble::new(
                NOTHING_CHANGED,
                format!("several sources have something to change: {first}, {second} and perhaps more"),
            )
            .help("say at which with --source")),
        }
    }

    /// Leaves out what is of another source.
    fn only_of(&self, source: &SourceId, job: &mut Job) {
        job.plan.changes.retain(|change| change.source == *source);
        job.in_doubt.retain(|(of, _)| of == source);
    }

    fn way(&self) -> Way {
        match self.asked.format {
            Some(SendFormat::Jsonl) => Way::Jsonl,
            Some(SendFormat::Csv) => Way::Aside,
            Some(SendFormat::Table) | None => Way::Table,
        }
    }

    fn nothing(&self, job: &Job) -> Result<Exit, Trouble> {
        let mut teller = Teller::new(self.way());
        teller.plan(&job.plan);
        teller.gap();
        teller.say(&told::totals(&job.plan));
        let Plan { not_sent, in_force, own_stock, .. } = &job.plan;
        if not_sent.is_empty() && *in_force + *own_stock == 0 {
            teller.say(
                "You intend no link: `everyline links propose` says which could be made, `everyline links set --proposed` \
                 keeps them.",
            );
        }
        self.say_not_read(&mut teller, &job.plan);
        teller.finish()?;
        Ok(exit(&job.plan, &[], None))
    }

    /// Shows what would be changed, and writes the table for a bulk edit.
    fn show(
        &self,
        (source_id, source): (&SourceId, &Source),
        job: &Job,
        has_action: bool,
    ) -> Result<Exit, Trouble> {
        let usual = if has_action || self.asked.out.is_some() { SendFormat::Table } else { SendFormat::Csv };
        let format = self.asked.format.unwrap_or(usual);
        let wants_table = format == SendFormat::Csv || self.asked.out.is_some();
        let changes = &job.plan.changes;
        let written = match wants_table {
            true => Some(table::written(source.sku_table.as_ref(), changes, &job.option_names)?),
            false => None,
        };
        if let (Some(out), Some(written)) = (&self.asked.out, &written) {
            write_out(out, written.text.as_bytes())?;
        } else if let Some(written) = &written {
            write_data(&written.text)?;
        }
        let is_to_stdout = written.is_some() && self.asked.out.is_none();
        let mut teller = Teller::new(match format {
            SendFormat::Jsonl => Way::Jsonl,
            SendFormat::Csv if is_to_stdout => Way::Aside,
            SendFormat::Csv | SendFormat::Table => Way::Table,
        });
        if is_to_stdout {
            teller.all_not_sent(&job.plan);
        } else {
            teller.plan(&job.plan);
        }
        teller.gap();
        teller.say(&format!("{} Nothing was changed.", told::totals(&job.plan)));
        self.say_not_read(&mut teller, &job.plan);
        if job.never_asked > 0 {
            let offers = counted(job.never_asked, "offer", "offers");
            teller.say(&format!("Left out: {offers} of that run for which the storefront was never asked."));
        }
        if !job.in_doubt.is_empty() {
            let changes = counted(job.in_doubt.len(), "change", "changes");
            teller.say(&format!(
                "Of {changes} of an earlier run it is not known what became of it: with --yes that is looked at first."
            ));
        }
        match &written {
            Some(written) if written.ids_as_formulas > 0 => teller.say(&format!(
                "{} in the table that a spreadsheet would take for a formula: import the file as it is, without opening \
                 it in one.",
                counted(written.ids_as_formulas, "id or SKU stands", "ids or SKUs stand")
            )),
            _ => {}
        }
        if let (Some(out), true) = (&self.asked.out, written.is_some()) {
            teller.say(&format!(
                "The table is in {}. Once the storefront has taken it, and has been read again, the links count as in \
                 force.",
                out.display()
            ));
        }
        if has_action && self.asked.out.is_none() && (!changes.is_empty() || !job.in_doubt.is_empty()) {
            teller.command("To do it:", &self.command());
        } else if !has_action && !wants_table && !changes.is_empty() {
            teller.say(&format!(
                "Source {source_id} does not declare how a SKU is changed: --out FILE writes the table for its own bulk \
                 edit."
            ));
        }
        teller.finish()?;
        Ok(exit(&job.plan, &[], None).max(if changes.is_empty() && job.in_doubt.is_empty() {
            Exit::Nothing
        } else {
            Exit::Findings
        }))
    }

    /// The command that does what was shown.
    fn command(&self) -> String {
        self.command_of(self.asked.put_back.as_deref())
    }

    /// The command that sends what is asked for, or puts back what a file says.
    fn command_of(&self, put_back: Option<&Path>) -> String {
        let SendLinksArguments { listings, source, of, .. } = self.asked;
        // A file says of which source it is, and all of it is put back that was not asked for by itself.
        let is_same = put_back == self.asked.put_back.as_deref();
        let (listings, source) = if is_same { (&listings[..], source.as_ref()) } else { (&[][..], None) };
        let mut words = vec!["everyline links send".to_owned()];
        let mut add = |key: &str, value: &str| words.push(format!("{key} {}", quoted(value)));
        if of.config != Path::new(USUAL_CONFIGURATION) {
            add("--config", &of.config.display().to_string());
        }
        if let Some(shop) = &of.shop {
            add("--shop", shop);
        }
        if let Some(source) = source {
            add("--source", source);
        }
        for listing in listings {
            add("--listing", listing);
        }
        if let Some(file) = put_back {
            add("--put-back", &file.display().to_string());
        }
        words.push("--yes".to_owned());
        words.join(" ")
    }

    fn say_not_read(&self, teller: &mut Teller, plan: &Plan) {
        if let Some((count, last)) = plan.not_read_since {
            let at = last.with_timezone(&self.settings.zone).format("%-d %b %Y %H:%M");
            let changed = counted(count, "of those linked already was", "of those linked already were");
            teller.say(&format!(
                "{changed} changed since the storefront was read, the last on {at}; until it is read again, findings \
                 still name them."
            ));
        }
    }

    /// Changes SKUs, one offer after the other.
    async fn change(
        &self,
        (source_id, source): (&SourceId, &Source),
        mut job: Job,
        back: Option<&PutBack>,
    ) -> Result<Exit, Trouble> {
        if self.asked.format == Some(SendFormat::Csv) {
            return Err(Trouble::new(NOTHING_CHANGED, "--format csv writes a table, and --yes changes SKUs")
                .help("leave one of them out"));
        }
        let signed = signed(&self.asked.signed, self.world.now(), NOTHING_CHANGED)?;
        let mut shelf = self.shelf(source_id, source).await?;
        let (stopping, stop) = watch::channel(false);
        let waiting = tokio::spawn(async move {
            stopped().await;
            tell("stopping once this offer is done with");
            let _ = stopping.send(true);
        });
        let mut teller = Teller::new(self.way());
        let mut work = Work {
            ledger: &self.ledger,
            shop: &self.shop,
            shelf: &mut shelf,
            world: &*self.world,
            stop: &stop,
            last_link_change: job.last_link_change,
        };
        let mut left = None;
        if !job.in_doubt.is_empty() {
            teller.say("What became of changes of earlier runs of which that was not known:");
            let doubted: Vec<SkuChange> = job.in_doubt.iter().map(|(_, change)| change.clone()).collect();
            let titles = std::mem::take(&mut job.titles);
            let settled = work
                .settle(&doubted, &mut |ended| teller.ended(title(&titles, ended), ended))
                .await
                .map_err(not_noted)?;
            teller.gap();
            left = settled.left;
            job = self.job(back).await?;
            self.only_of(source_id, &mut job);
        }
        // What is in doubt is not asked for again.
        let in_doubt: BTreeSet<(ListingId, Options)> = job
            .in_doubt
            .iter()
            .map(|(_, SkuChange { planned, .. })| (planned.listing_id.clone(), planned.options.clone()))
            .collect();
        let mut changes: Vec<ledger::PlannedSku> =
            job.plan.changes.iter().map(|change| change.sku.clone()).collect();
        changes.retain(|sku| !in_doubt.contains(&(sku.listing_id.clone(), sku.options.clone())));
        let mut ended: Vec<Ended> = Vec::new();
        let mut planned = 0;
        let mut file = None;
        if left.is_none() && !changes.is_empty() {
            let run = self.begin(source_id, &signed, &changes, job.puts_back).await?;
            file = Some(run.1);
            planned = run.0.len();
            work.last_link_change = job.last_link_change;
            let carried = work
                .carry_out(&run.0, &mut |ended| teller.ended(title(&job.titles, ended), ended))
                .await
                .map_err(not_noted)?;
            (ended, left) = (carried.ended, carried.left);
        }
        waiting.abort();
        teller.gap();
        teller.all_not_sent(&job.plan);
        teller.gap();
        self.say_end(&mut teller, source_id, source, (&job, &ended, planned, left, file.as_deref()));
        teller.finish()?;
        let in_doubt = if job.in_doubt.is_empty() { Exit::Nothing } else { Exit::Incomplete };
        Ok(exit(&job.plan, &ended, left).max(in_doubt))
    }

    /// Keeps what is planned, and the file that puts it back.
    async fn begin(
        &self,
        source_id: &SourceId,
        signed: &ledger::Signed,
        planned: &[ledger::PlannedSku],
        puts_back: Option<i64>,
    ) -> Result<(Vec<SkuChange>, std::path::PathBuf), Trouble> {
        let begun = self.ledger.begin_sku_run(&self.shop, (source_id, puts_back), signed, planned).await;
        let number = begun.map_err(of_ledger)?;
        let changes = self.ledger.sku_changes(&self.shop, Some(number)).await.map_err(of_ledger)?;
        let run = SkuRun { number, source: source_id.clone(), signed: signed.clone(), puts_back };
        let usual = || put_back::usual_path(self.ledger.path(), &self.shop, number);
        let path = self.asked.put_back_file.clone().unwrap_or_else(usual);
        put_back::write(&path, &self.shop, &run, &changes).map_err(|error| {
            let cause = format!("{}, which puts everything back, cannot be written: {error}", path.display());
            Trouble::new(NOTHING_CHANGED, cause).help(
                "name with --put-back-file a file that is not there yet, in a folder that you may write into",
            )
        })?;
        Ok((changes, path))
    }

    fn say_end(
        &self,
        teller: &mut Teller,
        source_id: &SourceId,
        source: &Source,
        (job, ended, planned, left, file): (&Job, &[Ended], usize, Option<Left>, Option<&Path>),
    ) {
        match left {
            Some(Left::Stopped) => teller.say("It was stopped; the same command goes on from here."),
            Some(Left::LinksChanged) => teller.say(
                "Links were changed meanwhile, and the rest was left: it may no longer be what you intend. Look at it again \
                 with `everyline links send`; what was sent stays, unless you put it back.",
            ),
            Some(Left::Unreachable) => teller.say(&format!(
                "Source {source_id} did not answer, {} times in a row; the rest was left. `everyline source check \
                 {source_id}` tries it; the same command goes on from here.",
                work::UNREAD_IN_A_ROW
            )),
            None => {}
        }
        teller.say(&format!("{}: {}.", source_id, told::ends(ended, planned - ended.len())));
        if !job.in_doubt.is_empty() || ended.iter().any(|ended| ended.state.is_in_doubt()) {
            teller.say(
                "Where it is not known, the storefront may have the new SKU: the same command looks first, and asks for \
                 nothing twice.",
            );
        }
        if let Some(file) = file.filter(|_| ended.iter().any(Ended::may_be_there)) {
            teller.command("To put it back:", &self.command_of(Some(file)));
        }
        if ended.iter().any(|ended| ended.state == SkuState::Confirmed) {
            let every = humantime::format_duration(source.every);
            teller.say(&match self.asked.put_back {
                None => format!(
                    "The links count as in force once {source_id} has been read again: `everyline watch` does that every \
                     {every}."
                ),
                Some(_) => "The links are still intended: `everyline links set --remove` takes one away that is not to \
                            be sent again."
                    .to_owned(),
            });
        }
    }

    /// What asks the source.
    async fn shelf(&self, source_id: &SourceId, source: &Source) -> Result<Storefront, Trouble> {
        let Origin::Service(service) = &source.origin else {
            return Err(Trouble::new(NOTHING_CHANGED, format!("source {source_id} is a folder")));
        };
        let key = self.ledger.secret().await.map_err(of_ledger)?;
        let reader = asker::reader(&self.shop, source_id, service, &key, Limits::default(), &self.world)
            .map_err(|why| {
                Trouble::new(NOTHING_CHANGED, format!("source {source_id}: {why}"))
                    .help(format!("try it with `everyline source check {source_id}`"))
            })?;
        let changer = SkuChanger::new(reader).ok_or_else(|| {
            Trouble::new(NOTHING_CHANGED, format!("source {source_id} does not declare how a SKU is changed"))
        })?;
        Ok(Storefront(changer))
    }
}

fn title<'t>(titles: &'t BTreeMap<ListingId, String>, ended: &Ended) -> Option<&'t str> {
    titles.get(&ended.planned.listing_id).map(String::as_str)
}

/// How a run ends.
fn exit(plan: &Plan, ended: &[Ended], left: Option<Left>) -> Exit {
    let of_end = |ended: &Ended| match ended.state {
        SkuState::Confirmed => Exit::Nothing,
        SkuState::Refused | SkuState::Elsewhere => Exit::Findings,
        SkuState::Planned | SkuState::Asked | SkuState::NotKnown => Exit::Incomplete,
    };
    let of_left = if left.is_some() { Exit::Incomplete } else { Exit::Nothing };
    let waits = plan.not_sent.iter().any(|not| !not.is_off_sale);
    let of_plan = if waits { Exit::Findings } else { Exit::Nothing };
    ended.iter().map(of_end).fold(of_left.max(of_plan), Exit::max)
}

fn write_out(out: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    put_back::create_new(out, bytes).map_err(|error| {
        Trouble::new("the table was not written", format!("{}: {error}", out.display()))
            .help("give --out a file that is not there yet, in a folder that you may write into")
    })
}

fn of_sending(error: LedgerError) -> Trouble {
    match error {
        LedgerError::SendingSkus { .. } => Trouble::new(NOTHING_CHANGED, error),
        error => of_ledger(error),
    }
}

/// The journal could not be written: what is in doubt is looked at by the next run.
fn not_noted(error: LedgerError) -> Trouble {
    Trouble::new("it was ended before its end: what became of an offer could not be noted", error)
        .help("mend that, and give the same command again: it first looks what became of it")
}
