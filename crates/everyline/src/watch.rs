//! `everyline watch`: looks after the shops of a configuration until it is stopped, and says what it finds.
//!
//! Must not know how sources are asked or orders judged. Start reading at [`run`].

use std::collections::BTreeMap;
use std::io::BufRead;
use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, Utc};
use digest::say;
use intake::source::http::World;
use ledger::Ledger;
use model::{Finding, ShopId};
use tokio::sync::watch;
use tracing::{info, warn};

use crate::arguments::WatchArguments;
use crate::clock;
use crate::configuration::{Configuration, Settings};
use crate::exit::Exit;
use crate::layout::capital;
use crate::live::judge::Judged;
use crate::live::rounds::{Happening, Watch, among};
use crate::live::world::{Machine, Told as Clocked};
use crate::opened::{self, of_ledger};
use crate::page::{self, PageDesk};
use crate::sending::{Sender, Told};
use crate::terminal;
use crate::trouble::Trouble;

/// Runs the command.
///
/// # Errors
/// Where the configuration cannot be used, or the ledger.
pub fn run(asked: &WatchArguments) -> Result<Exit, Trouble> {
    let configuration = Configuration::read(&asked.config)?;
    if configuration.shops.values().all(|settings| settings.sources.is_empty()) {
        return Err(Trouble::new("there is nothing to watch", "the configuration declares no sources").help(
            "declare them under [sources.NAME]; `everyline print configuration` shows how, and the README has a \
             chapter on it. Exported files alone are audited with `everyline audit --from DIR`",
        ));
    }
    terminal::log(if asked.quiet { tracing::Level::WARN } else { tracing::Level::INFO });
    opened::run(look_after(asked, &configuration))
}

async fn look_after(asked: &WatchArguments, configuration: &Configuration) -> Result<Exit, Trouble> {
    let (stopping, stop) = watch::channel(false);
    let ended = stop.clone();
    let ledger = Ledger::open(&configuration.ledger).await.map_err(of_ledger)?;
    let _alone = ledger.watch().map_err(of_ledger)?;
    let told = Arc::new(Clocked::new(clock::now()));
    let world: Arc<dyn World> = if asked.told_time { told.clone() } else { Arc::new(Machine) };
    let sender = Sender::new(ledger.clone(), Arc::new(configuration.clone()), Arc::clone(&world));
    let desk = Arc::new(PageDesk::new(configuration, &asked.config, ledger.clone(), Arc::clone(&world)));
    let mut watched = Watch::new(configuration, ledger.clone(), world, stop).await.map_err(of_ledger)?;
    let mut teller = Teller::new(configuration.shops.len() > 1);
    // Whoever asks once, or tells the time, has nobody who sits at a page, unless they say so.
    let is_served = !asked.once && (!asked.told_time || configuration.page.is_given);
    let served = match is_served {
        true => page::open_or_warn(configuration, &desk, ended.clone()).await,
        false => None,
    };
    if asked.told_time {
        by_hand(&mut watched, &sender, &mut both(&desk, &mut teller), &told).await?;
        let _ = stopping.send(true);
    } else {
        tokio::spawn(async move {
            stopped().await;
            info!("stopping");
            let _ = stopping.send(true);
        });
        if asked.once {
            let mut ended = ended.clone();
            let was_ended = {
                let mut tell = |happening: Happening<'_>| teller.tell(happening);
                tokio::select! {
                    () = watched.round(&mut tell) => false,
                    // Nothing is lost: what was read is kept with how far, and the next one goes on from there.
                    _ = ended.wait_for(|ended| *ended) => true,
                }
            };
            teller.is_complete &= !was_ended;
            if !was_ended {
                drain(&sender).await;
            }
            ledger.close().await;
            return Ok(teller.exit());
        }
        info!("watching {}; the ledger is {}", shops(configuration), configuration.ledger.display());
        // What is being sent when it is stopped was written first, and is sent again under the same identifier.
        let mut tell = both(&desk, &mut teller);
        tokio::select! {
            () = watched.run(&mut tell) => {}
            () = send_for_ever(&sender) => {}
        }
    }
    if let Some(served) = served {
        let _ = served.task.await;
    }
    desk.end_trials();
    ledger.close().await;
    Ok(Exit::Nothing)
}

/// Tells the page and the terminal of what happens.
fn both<'t>(desk: &'t PageDesk, teller: &'t mut Teller) -> impl FnMut(Happening<'_>) + 't {
    move |happening| {
        desk.hear(&happening);
        teller.tell(happening);
    }
}

/// How long nothing is looked for after there was nothing to send.
const BETWEEN_LOOKS: Duration = Duration::from_secs(10);

/// Writes and sends whatever is due, again and again.
async fn send_for_ever(sender: &Sender) {
    loop {
        drain(sender).await;
        tokio::time::sleep(BETWEEN_LOOKS).await;
    }
}

/// Writes and sends whatever is due now.
async fn drain(sender: &Sender) {
    loop {
        match sender.step(&mut sent).await {
            Ok(true) => {}
            Ok(false) => return,
            Err(error) => {
                warn!("{error}");
                return;
            }
        }
    }
}

/// Says what was sent, and what could not be.
fn sent(told: Told) {
    match told {
        Told::Sent { what } => info!("sent: {what}"),
        Told::NotSent { what, why, next_at: Some(next_at) } => {
            let why = digest::clean(why);
            warn!("not sent: {what}: {why}; tried again at {}", next_at.format("%H:%M:%S UTC"));
        }
        Told::NotSent { what, why, next_at: None } => {
            warn!(
                "given up: {what}: {}; `everyline status` lists what was not delivered",
                digest::clean(why)
            );
        }
        Told::NoHeartbeat { why } => warn!("the heartbeat's address did not hear: {}", digest::clean(why)),
    }
}

/// One round for each moment that standard input says.
async fn by_hand(
    watched: &mut Watch,
    sender: &Sender,
    tell: &mut dyn FnMut(Happening<'_>),
    told: &Clocked,
) -> Result<(), Trouble> {
    loop {
        let line = tokio::task::spawn_blocking(|| {
            let mut line = String::new();
            std::io::stdin().lock().read_line(&mut line).map(|_| line)
        });
        let line = line.await.map_err(std::io::Error::other).flatten();
        let line = line.map_err(|error| Trouble::new("the time could not be read", error))?;
        if line.trim().is_empty() {
            return Ok(());
        }
        let moment = DateTime::parse_from_rfc3339(line.trim())
            .map_err(|error| Trouble::new("the time could not be read", error))?;
        told.set(moment.to_utc());
        watched.round(tell).await;
        drain(sender).await;
        terminal::write_data(&format!("round {}\n", line.trim()))?;
    }
}

/// Waits until somebody wants it to end.
pub async fn stopped() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminated) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = terminated.recv() => {}
                _ = tokio::signal::ctrl_c() => {}
            }
            return;
        }
    }
    // Where no signal can be waited for, the process is ended by force, which loses nothing either.
    if tokio::signal::ctrl_c().await.is_err() {
        std::future::pending::<()>().await;
    }
}

fn shops(configuration: &Configuration) -> String {
    let shops = configuration.shops.iter().map(|(shop, settings)| match settings.sources.len() {
        1 => format!("{shop} (1 source)"),
        sources => format!("{shop} ({sources} sources)"),
    });
    shops.collect::<Vec<_>>().join(", ")
}

/// Says what happens: what is found to standard output, the rest to standard error.
pub struct Teller {
    names_shops: bool,
    /// What was said of the findings that stand, so that it can be said again when they settle.
    said: BTreeMap<String, String>,
    stands: bool,
    is_complete: bool,
}

impl Teller {
    /// A teller that names the shops, where there are several.
    pub fn new(names_shops: bool) -> Self {
        Self { names_shops, said: BTreeMap::new(), stands: false, is_complete: true }
    }

    /// Says it.
    pub fn tell(&mut self, happening: Happening<'_>) {
        match happening {
            Happening::Asked { shop, source, asked } => {
                let place = self.place(shop, &format!("source {source}"));
                let changed = &asked.changed;
                if changed.is_any() {
                    info!(
                        "{place}: {} new rows, {} changed, {} gone",
                        changed.appeared, changed.changed, changed.gone
                    );
                }
                for notice in &asked.notices {
                    info!("{}", self.place(shop, &digest::clean(notice)));
                }
                self.is_complete &= asked.troubles.is_empty();
                for trouble in &asked.troubles {
                    warn!("{}", self.place(shop, &digest::clean(trouble)));
                }
            }
            Happening::Judged { shop, settings, judged, recorded, .. } => {
                self.stands |= !judged.outcome.findings.is_empty();
                self.is_complete &= judged.is_complete();
                let mut text = String::new();
                for finding in among(&judged.outcome, &recorded.opened) {
                    text.push_str(&self.found("found", shop, settings, judged, finding));
                }
                for finding in among(&judged.outcome, &recorded.reopened) {
                    text.push_str(&self.found("again", shop, settings, judged, finding));
                }
                for id in &recorded.settled {
                    let what = self
                        .said
                        .remove(id)
                        .unwrap_or_else(|| "what was found is no longer there.".to_owned());
                    text.push_str(&self.paragraph(
                        "settled",
                        shop,
                        settings,
                        judged.outcome.as_of,
                        id,
                        &what,
                    ));
                }
                // A closed standard output is no reason to stop watching.
                if let Err(trouble) = terminal::write_data(&text) {
                    warn!("{trouble}");
                }
                for finding in &judged.outcome.findings {
                    self.said.insert(finding.id.as_str().to_owned(), subject(finding, settings));
                }
            }
            Happening::LedgerTrouble { shop, error } => {
                self.is_complete = false;
                warn!("{}", self.place(shop, &error.to_string()));
            }
        }
    }

    /// How a single round ended.
    pub fn exit(&self) -> Exit {
        match (self.is_complete, self.stands) {
            (false, _) => Exit::Incomplete,
            (true, true) => Exit::Findings,
            (true, false) => Exit::Nothing,
        }
    }

    fn place(&self, shop: &ShopId, what: &str) -> String {
        if self.names_shops { format!("{shop}: {what}") } else { what.to_owned() }
    }

    fn found(
        &self,
        word: &str,
        shop: &ShopId,
        settings: &Settings,
        judged: &Judged,
        finding: &Finding,
    ) -> String {
        let said = capital(&say(finding, settings.zone));
        let id = format!("{}  {}", finding.id, finding.check);
        self.paragraph(word, shop, settings, judged.outcome.as_of, &id, &said)
    }

    /// `26 Nov 10:02  found  k3jq7x2mzp4a  part-sent` and, under it, what is said of it.
    fn paragraph(
        &self,
        word: &str,
        shop: &ShopId,
        settings: &Settings,
        at: DateTime<Utc>,
        id: &str,
        what: &str,
    ) -> String {
        let at = at.with_timezone(&settings.zone).format("%-d %b %H:%M");
        let shop = if self.names_shops { format!("  {shop}") } else { String::new() };
        let what = textwrap::fill(
            what,
            textwrap::Options::new(terminal::width())
                .initial_indent("  ")
                .subsequent_indent("  ")
                .word_splitter(textwrap::WordSplitter::NoHyphenation),
        );
        format!("{at}  {word:<7}  {id}{shop}\n{what}\n")
    }
}

/// What a finding is about, as it is said once it has settled.
fn subject(finding: &Finding, settings: &Settings) -> String {
    let said = say(finding, settings.zone);
    let what = said.split_once("; ").map_or(said.as_str(), |(what, _)| what);
    format!("It was: {what}.")
}
