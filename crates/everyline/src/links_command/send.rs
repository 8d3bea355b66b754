//! `everyline links send`: intended links brought into force, by changing SKUs at the storefront, or by a table for its own
//! bulk edit.
//!
//! This file is the command: what it is asked for, and how it tells. What is to be done says `job`, by `plan`; `carry` does it,
//! by `work`; the page calls the same. Must not know which SKU makes a link be in force, or how a SKU is changed. Start
//! reading at [`run`].

pub(crate) mod carry;
pub(crate) mod job;
pub(crate) mod plan;
pub(crate) mod put_back;
pub(crate) mod storefront;
pub(crate) mod table;
mod told;
pub(crate) mod work;

use std::path::Path;
use std::sync::Arc;

use intake::source::declare::Source;
use ledger::{LedgerError, SkuState};
use model::{ShopId, SourceId};
use tokio::sync::watch;

use super::desk::signed;
use super::said::counted;
use super::write::quoted;
use crate::arguments::{SendFormat, SendLinksArguments};
use crate::audit::USUAL_CONFIGURATION;
use crate::exit::Exit;
use crate::live::world::Machine;
use crate::opened::{self, Opened, of_ledger};
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;
use crate::watch::stopped;
use carry::{Done, Heard, NotCarried, Order};
use job::{Job, NoShelf, NotPlanned, SkuSender, Wanted};
use plan::Plan;
use put_back::PutBack;
use told::{Teller, Way};
use work::{Ended, Foreseen, Left};

const NOTHING_CHANGED: &str = "nothing was changed";

/// Runs the command.
///
/// # Errors
/// Where the configuration, the ledger or a file cannot be used, or it is not clear what is meant: nothing was changed.
pub fn run(asked: &SendLinksArguments) -> Result<Exit, Trouble> {
    opened::run(async {
        let Opened { ledger, shop, settings } = Opened::of(&asked.of).await?;
        let sender = SkuSender { ledger, shop, settings, world: Arc::new(Machine) };
        let done = Sending { asked, sender: &sender }.run().await;
        sender.ledger.close().await;
        done
    })
}

/// A run of the command: what it is asked for, and what it is done with.
struct Sending<'a> {
    asked: &'a SendLinksArguments,
    sender: &'a SkuSender,
}

impl Sending<'_> {
    async fn run(&self) -> Result<Exit, Trouble> {
        let back = self.asked.put_back.as_deref().map(put_back::read).transpose()?;
        let shop: &ShopId = &self.sender.shop;
        if let Some(PutBack { head, .. }) = back.as_ref().filter(|back| back.head.shop != shop.as_str()) {
            let cause = format!("the file is of shop {:?}, and this is {shop}", head.shop);
            return Err(
                Trouble::new(NOTHING_CHANGED, cause).help("say with --config and --shop which is meant")
            );
        }
        // Held until the end: what is in doubt here is being asked by nobody else.
        let _alone =
            if self.asked.yes { Some(self.sender.ledger.send_skus().map_err(of_sending)?) } else { None };
        let SendLinksArguments { listings, source, .. } = self.asked;
        let wanted = Wanted { listings: listings.clone(), source: source.clone(), back };
        let mut job = self.sender.job(&wanted).await?;
        let Some(source_id) = self.sender.source(&job, &wanted)? else {
            return self.nothing(&job);
        };
        job.only_of(&source_id);
        let source = self.sender.declared(&source_id)?;
        let has_action = storefront::declares_it(source);
        if self.asked.yes && !has_action {
            let cause = format!("source {source_id} does not declare how a SKU is changed there");
            let help = "leave --yes out: `--out FILE` writes the table for the storefront's own bulk edit";
            return Err(Trouble::new(NOTHING_CHANGED, cause).help(help));
        }
        if self.asked.yes {
            return self.change((&source_id, source), job, &wanted).await;
        }
        let foreseen = match wanted.back.is_some() && has_action {
            true => Some(self.foresee((&source_id, source), &mut job).await),
            false => None,
        };
        self.show((&source_id, source), &job, (has_action, foreseen.as_ref()))
    }

    /// Looks what would be put back now; where the storefront cannot be asked, why.
    async fn foresee(
        &self,
        (source_id, source): (&SourceId, &Source),
        job: &mut Job,
    ) -> Result<Foreseen, String> {
        let mut foreseen = Foreseen::default();
        let looked = self.sender.foresee((source_id, source), (job, usize::MAX), &mut foreseen).await;
        looked.map_err(|why| of_shelf(source_id, why).cause().to_owned())?;
        job.leave_out(&foreseen);
        Ok(foreseen)
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
        (has_action, foreseen): (bool, Option<&Result<Foreseen, String>>),
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
        if let Some(foreseen) = foreseen {
            say_foreseen(&mut teller, foreseen, source_id);
        }
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
            let at = last.with_timezone(&self.sender.settings.zone).format("%-d %b %Y %H:%M");
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
        job: Job,
        wanted: &Wanted,
    ) -> Result<Exit, Trouble> {
        if self.asked.format == Some(SendFormat::Csv) {
            return Err(Trouble::new(NOTHING_CHANGED, "--format csv writes a table, and --yes changes SKUs")
                .help("leave one of them out"));
        }
        let signed = signed(&self.asked.signed, self.sender.world.now(), NOTHING_CHANGED)?;
        let (stopping, stop) = watch::channel(false);
        let waiting = tokio::spawn(async move {
            stopped().await;
            tell("stopping once this offer is done with");
            let _ = stopping.send(true);
        });
        let mut teller = Teller::new(self.way());
        let order = Order {
            wanted,
            source: (source_id, source),
            signed: &signed,
            file: self.asked.put_back_file.clone(),
            confirmed: None,
            stop: &stop,
        };
        let mut hear = |heard: Heard<'_>| match heard {
            Heard::Looking => {
                teller.say("What became of changes of earlier runs of which that was not known:");
            }
            Heard::Ended(title, ended) => teller.ended(title, ended),
            Heard::Looked => teller.gap(),
            Heard::Begun(..) => {}
        };
        let done = self.sender.carry_out(&order, job, &mut hear).await;
        let done = done.map_err(|why| not_carried(source_id, why))?;
        waiting.abort();
        teller.gap();
        teller.all_not_sent(&done.job.plan);
        teller.gap();
        self.say_end(&mut teller, source_id, source, &done);
        teller.finish()?;
        let in_doubt = if done.job.in_doubt.is_empty() { Exit::Nothing } else { Exit::Incomplete };
        Ok(exit(&done.job.plan, &done.ended, done.left).max(in_doubt))
    }

    fn say_end(&self, teller: &mut Teller, source_id: &SourceId, source: &Source, done: &Done) {
        let Done { job, ended, planned, left, file, earlier } = done;
        match *left {
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
        if let Some(file) = file.as_deref().filter(|_| ended.iter().any(|ended| ended.state.may_be_there())) {
            teller.command("To put it back:", &self.command_of(Some(file)));
        }
        if let Some((run, file)) = earlier {
            teller.command(
                &format!("To put back what run {run} changed, which ended before its end:"),
                &self.command_of(Some(file)),
            );
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
}

/// What was seen of offers that would be put back.
fn say_foreseen(teller: &mut Teller, foreseen: &Result<Foreseen, String>, source_id: &SourceId) {
    match foreseen {
        Err(why) => teller.say(&format!("The storefront was not looked at: {why}.")),
        Ok(Foreseen { unread, .. }) if !unread.is_empty() => {
            let offers = counted(unread.len(), "offer", "offers");
            let why = unread.first().map(|(_, why)| why.as_str()).unwrap_or_default();
            teller.say(&format!("{offers} of {source_id} could not be looked at: {why}."));
        }
        Ok(_) => {}
    }
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

impl From<NotPlanned> for Trouble {
    fn from(why: NotPlanned) -> Self {
        let nothing = |cause: String| Self::new(NOTHING_CHANGED, cause);
        match why {
            NotPlanned::NotRead(what) => {
                nothing(format!("not all {what} have been read yet, so that no SKU can be told to be right"))
                    .help("`everyline status` says how far each source has been read")
            }
            NotPlanned::NoListing(unknown, near) => {
                let near = near.map(|near| format!("; the nearest is {near}")).unwrap_or_default();
                nothing(format!("no offer is of a listing {unknown:?}{near}"))
                    .help("give --listing the id of a listing, as the storefront writes it")
            }
            NotPlanned::Differs(sku, run) => nothing(format!(
                "of listing {} ({}) the file says something else than the ledger knows of run {run}",
                sku.listing_id, sku.options
            ))
            .help("give the file as the run wrote it"),
            NotPlanned::OfSupplier(asked) => nothing(format!("source {asked} is a supplier's"))
                .help("SKUs are changed at the storefront: name its source"),
            NotPlanned::NoSource(asked, known) => nothing(format!("there is no source {asked:?}"))
                .help(format!("known are: {}", known.join(", "))),
            NotPlanned::Several(sources) => {
                let named: Vec<&str> = sources.iter().take(2).map(SourceId::as_str).collect();
                nothing(format!(
                    "several sources have something to change: {} and perhaps more",
                    named.join(", ")
                ))
                .help("say at which with --source")
            }
            NotPlanned::Gone(source) => {
                nothing(format!("source {source} is not in the configuration any more"))
            }
            NotPlanned::Ledger(error) => of_ledger(error),
        }
    }
}

fn of_shelf(source_id: &SourceId, why: NoShelf) -> Trouble {
    match why {
        NoShelf::Folder => Trouble::new(NOTHING_CHANGED, format!("source {source_id} is a folder")),
        NoShelf::NotDeclared => {
            Trouble::new(NOTHING_CHANGED, format!("source {source_id} does not declare how a SKU is changed"))
        }
        NoShelf::NotAsked(why) => Trouble::new(NOTHING_CHANGED, format!("source {source_id}: {why}"))
            .help(format!("try it with `everyline source check {source_id}`")),
        NoShelf::Ledger(error) => of_ledger(error),
    }
}

fn not_carried(source_id: &SourceId, why: NotCarried) -> Trouble {
    match why {
        NotCarried::Shelf(why) => of_shelf(source_id, why),
        NotCarried::Plan(why) => why.into(),
        NotCarried::File(path, error) => {
            let cause = format!("{}, which puts everything back, cannot be written: {error}", path.display());
            Trouble::new(NOTHING_CHANGED, cause).help(
                "name with --put-back-file a file that is not there yet, in a folder that you may write into",
            )
        }
        NotCarried::Ledger(error) => of_ledger(error),
        // The journal could not be written: what is in doubt is looked at by the next run.
        NotCarried::NotNoted(error) => {
            Trouble::new("it was ended before its end: what became of an offer could not be noted", error)
                .help("mend that, and give the same command again: it first looks what became of it")
        }
    }
}
