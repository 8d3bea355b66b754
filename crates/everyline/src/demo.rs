//! `everyline demo`: an invented shop on its sale day, watched over real HTTP on loopback, with nothing to set up.
//!
//! Three servers that simulate a storefront and two suppliers, a ledger in a folder of its own, and rounds like those of
//! `everyline watch`, on a clock that runs faster. Must not know what is planted: what it explains, it takes from the
//! answer; only at the end it is held against what the simulation knows. Start reading at [`run`].

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use digest::compose::Pages;
use digest::say;
use intake::source::http::World as Clock;
use ledger::{KeptFinding, Ledger};
use model::finding::{Evidence, Reason};
use model::{Book, Check, Finding, Outcome, ShopId};
use simshop::live::{Plan, Truth, World};
use tempfile::TempDir;
use tokio::sync::watch;
use web::{Accepted, Listings as _};

use crate::arguments::DemoArguments;
use crate::audit::page as table;
use crate::configuration::{Configuration, Settings};
use crate::exit::Exit;
use crate::live::rounds::{Happening, Watch, among};
use crate::opened::{self, of_ledger};
use crate::page::{self, PageDesk, Served};
use crate::sending::{Asked, everything, gather};
use crate::terminal::{self, write_data};
use crate::trouble::Trouble;

/// The most columns of running text; longer lines are hard to read.
const PROSE: usize = 100;

/// Which of the days that can be simulated.
const SEED: u64 = 7;

/// How far the clock of the demo goes from round to round.
const STEP: TimeDelta = TimeDelta::minutes(10);

/// How long a round lasts when the clock runs as fast as everybody's.
const STAYING: Duration = Duration::from_secs(60);

/// Runs the command; `program` is what it was called by. Its findings are no findings of anybody's shop: the code is that of
/// success.
///
/// # Errors
/// Where no folder can be written, or no port be had on loopback.
pub fn run(asked: &DemoArguments, program: &Path) -> Result<Exit, Trouble> {
    opened::run(show(asked, program))
}

async fn show(asked: &DemoArguments, program: &Path) -> Result<Exit, Trouble> {
    let home = home()?;
    let world = World::new(SEED, Plan::new());
    let serving = world.serve().await.map_err(|error| {
        Trouble::new("the demo's shop could not be opened", error)
            .help("it needs three free ports on loopback (127.0.0.1)")
    })?;
    let file = home.path().join("everyline.toml");
    write_configuration(&world, &world.configuration(&serving), home.path())
        .map_err(|error| Trouble::new("the demo's folder could not be written", error))?;
    let configuration = Configuration::read(&file)?;
    let (shop, settings) = configuration.shop(None)?;
    let ledger = Ledger::open(&configuration.ledger).await.map_err(of_ledger)?;
    let alone = ledger.watch().map_err(of_ledger)?;
    let (stopping, stop) = watch::channel(false);
    let clock: Arc<dyn Clock> = Arc::new(Simulated(world.clone()));
    let mut watched = Watch::new(&configuration, ledger.clone(), Arc::clone(&clock), stop.clone())
        .await
        .map_err(of_ledger)?;
    let desk = Arc::new(PageDesk::new(&configuration, &file, ledger.clone(), clock));
    let served =
        page::open(&configuration.page, ON_LOOPBACK, Arc::clone(&desk), stop).await.map_err(|why| {
            Trouble::new("the demo's page could not be opened", why)
                .help("it needs a free port on loopback (127.0.0.1)")
        })?;

    let columns = terminal::width().min(PROSE);
    write_data(&(textwrap::fill(&opening(&configuration, &served, asked.stay), columns) + "\n\n"))?;
    let began = Instant::now();
    let mut day = Day { settings, outcome: None, columns: terminal::width(), trouble: None };
    let mut short = BTreeSet::new();
    let mut at = World::begins();
    while at < World::sale_ends() {
        at += STEP;
        world.advance_to(at);
        let mut tell = |happening: Happening<'_>| {
            desk.hear(&happening);
            day.tell(happening);
        };
        watched.round(&mut tell).await;
        short.extend(gone_short(&world.truth()));
        if let Some(trouble) = day.trouble.take() {
            return Err(trouble);
        }
    }
    let outcome = day.outcome.ok_or_else(|| Trouble::new("the demo came to no end", "no round was made"))?;
    let findings = ledger.findings(shop, false, at).await.map_err(of_ledger)?;
    let truth = world.truth();
    write_data(&format!(
        "\n{}\n\n{}\n{}{}",
        textwrap::fill(
            &format!(
                "That was the day, in {} seconds. What is to be done now:",
                began.elapsed().as_secs().max(1)
            ),
            columns
        ),
        table(&outcome, settings.zone, asked.colour, &[]),
        paragraphs(&explained(&outcome, &truth.book, settings), columns),
        paragraphs(&[proof(&findings, &truth, &short)], columns),
    ))?;
    let pages = asked.stay.then(|| Pages::parse(&served.url())).flatten();
    let subject = write_digest(&ledger, &configuration, at, pages, home.path()).await?;
    let home = home.keep();
    let by_mail =
        format!("By mail, this would come under the subject \"{subject}\". How it would look, in a browser:");
    // A path by itself, so that no line ends within it.
    write_data(&format!("{}\n\n  {}\n\n", textwrap::fill(&by_mail, columns), home.join(DIGEST).display()))?;
    let intended = if asked.stay { intend(&desk, shop).await } else { 0 };
    write_data(&closing(program, &home, &outcome, &served, asked.stay, intended))?;
    if asked.stay {
        stay(
            &world,
            &mut watched,
            &desk,
            &mut Day { settings, outcome: None, columns: terminal::width(), trouble: None },
        )
        .await;
    }
    let _ = stopping.send(true);
    let _ = served.task.await;
    desk.end_trials();
    drop(alone);
    ledger.close().await;
    Ok(Exit::Nothing)
}

/// Where the page of the demo is: on whichever port is free.
const ON_LOOPBACK: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 0);

/// The digest as a page, in the demo's folder.
const DIGEST: &str = "digest.html";

/// Writes the digest of the day, which leads to the page where that stays, and answers its subject.
async fn write_digest(
    ledger: &Ledger,
    configuration: &Configuration,
    now: DateTime<Utc>,
    pages: Option<Pages>,
    home: &Path,
) -> Result<String, Trouble> {
    let recipient = everything(configuration, None);
    let day = now.with_timezone(&recipient.zone).date_naive();
    let asked =
        Asked { name: None, recipient: &recipient, day, taken_in: Vec::new(), since: None, as_of: None, now };
    let mut gathered = gather(ledger, configuration, &asked).await.map_err(of_ledger)?;
    gathered.morning.pages = pages;
    let composed = digest::compose::digest(&gathered.morning);
    let file = home.join(DIGEST);
    fs::write(&file, &composed.html)
        .map_err(|error| Trouble::new(format!("{} was not written", file.display()), error))?;
    Ok(composed.subject)
}

/// The clock of the simulation. Nobody waits by it.
struct Simulated(World);

impl Clock for Simulated {
    fn now(&self) -> DateTime<Utc> {
        self.0.now()
    }

    fn random(&self) -> f64 {
        0.5
    }

    fn sleep(&self, _span: Duration) -> Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        Box::pin(tokio::task::yield_now())
    }
}

/// A folder of its own, wherever one can be written.
fn home() -> Result<TempDir, Trouble> {
    let candidates =
        [std::env::temp_dir(), PathBuf::from("/var/tmp"), PathBuf::from("/dev/shm"), PathBuf::from(".")];
    let mut last = io::Error::from(io::ErrorKind::NotFound);
    for candidate in candidates {
        match tempfile::Builder::new().prefix("everyline-demo-").tempdir_in(candidate) {
            Ok(home) => return Ok(home),
            Err(error) => last = error,
        }
    }
    Err(Trouble::new("the demo could not begin", last)
        .help("it needs a folder with some megabytes of room; TMPDIR says which one is used"))
}

/// The configuration of the simulated shop, with its secrets in files beside it.
fn write_configuration(world: &World, text: &str, home: &Path) -> io::Result<()> {
    let mut text = text.to_owned();
    for (name, secret) in world.secrets() {
        let file = home.join(name.to_lowercase());
        fs::write(&file, secret)?;
        let quoted = file.display().to_string().replace('\\', "\\\\").replace('"', "\\\"");
        text =
            text.replace(&format!("{{ environment = \"{name}\" }}"), &format!("{{ file = \"{quoted}\" }}"));
    }
    fs::write(home.join("everyline.toml"), text)
}

fn opening(configuration: &Configuration, served: &Served, stays: bool) -> String {
    let sources: usize = configuration.shops.values().map(|shop| shop.sources.len()).sum();
    let page = match stays {
        true => format!(" In a browser it can be followed at {} for as long as this runs.", served.url()),
        false => String::new(),
    };
    format!(
        "Kittiwake Kitchen is an invented shop on the day of its sale. Its storefront and its two suppliers are {sources} \
         servers on this machine, and everyline asks them every few minutes, as it would ask yours. The day runs fast.{page} \
         What is found, as it is found:"
    )
}

/// Tells a day, a line for each finding.
struct Day<'s> {
    settings: &'s Settings,
    outcome: Option<Outcome>,
    columns: usize,
    trouble: Option<Trouble>,
}

impl Day<'_> {
    fn tell(&mut self, happening: Happening<'_>) {
        match happening {
            Happening::Asked { asked, .. } => {
                let troubles =
                    asked.troubles.iter().map(|trouble| format!("{trouble}\n")).collect::<String>();
                self.trouble = self.trouble.take().or(write_data(&troubles).err());
            }
            Happening::Judged { judged, recorded, .. } => {
                let new = among(&judged.outcome, &recorded.opened);
                let lines: String = new.map(|finding| self.line(finding, judged.outcome.as_of)).collect();
                self.trouble = self.trouble.take().or(write_data(&lines).err());
                self.outcome = Some(judged.outcome.clone());
            }
            Happening::LedgerTrouble { error, .. } => {
                self.trouble = Some(Trouble::new("the demo could not go on", error));
            }
        }
    }

    /// `14:20  part-sent  order KK-40123: nobody makes …`, cut to the width of the terminal.
    fn line(&self, finding: &Finding, as_of: DateTime<Utc>) -> String {
        let at = as_of.with_timezone(&self.settings.zone).format("%H:%M");
        let line = format!("{at}  {:<17}  {}", finding.check, say(finding, self.settings.zone));
        if line.chars().count() <= self.columns {
            return line + "\n";
        }
        let mut short: String = line.chars().take(self.columns.saturating_sub(1)).collect();
        short.push_str("…\n");
        short
    }
}

/// The orders of which lines are made by nobody, as the simulation knows.
fn gone_short(truth: &Truth) -> Vec<String> {
    let part = truth.part_sent.iter().map(|order| order.order_id.to_string());
    part.chain(truth.unsent.iter().map(|order| order.order_id.to_string())).collect()
}

/// What was found, held against what the simulation knows.
fn proof(findings: &[KeptFinding], truth: &Truth, short: &BTreeSet<String>) -> String {
    let named = |order: &str| {
        findings
            .iter()
            .filter(|finding| finding.order_id.as_deref() == Some(order))
            .filter(|finding| {
                [Check::PartSent.word(), Check::UnsentOrder.word()].contains(&finding.check.as_str())
            })
            .map(|finding| finding.first_seen)
            .min()
    };
    let found = short.iter().filter(|order| named(order).is_some()).count();
    let in_time = truth.part_sent.iter().filter(|order| {
        let seen = named(order.order_id.as_str());
        seen.zip(order.first_cut_off).is_some_and(|(seen, cut_off)| seen < cut_off)
    });
    let with_cut_off = truth.part_sent.iter().filter(|order| order.first_cut_off.is_some()).count();
    let all: BTreeSet<&str> = findings
        .iter()
        .filter(|finding| {
            [Check::PartSent.word(), Check::UnsentOrder.word()].contains(&finding.check.as_str())
        })
        .filter_map(|finding| finding.order_id.as_deref())
        .collect();
    let invented = all.iter().filter(|order| !short.contains(**order)).count();
    format!(
        "Is that right? The simulation knows what it did: of {} orders, {} had lines that nobody makes. everyline named {found} of \
         them, and {invented} others. Of the {with_cut_off} that a supplier took in part, {} were named before the supplier's \
         cut-off.",
        truth.book.orders.len(),
        short.len(),
        in_time.count(),
    )
}

/// What the answer shows, in a few sentences, by an order that went out short.
fn explained(outcome: &Outcome, book: &Book, settings: &Settings) -> [String; 3] {
    let example = example(outcome).and_then(|finding| {
        let order = finding.order_id.as_ref()?;
        let lines = book.order_lines.iter().filter(|line| line.order_id == *order).count();
        Some(format!(
            "Take the order {order}. The customer bought {lines} lines and gets {}. everyline says: {}",
            lines - finding.lines.len(),
            say(finding, settings.zone)
        ))
    });
    [
        example.unwrap_or_else(|| "No order went out short.".to_owned()),
        "Why no list shows it: an order with no line linked waits where the owner looks, and one with all lines \
         linked goes to the supplier by itself. An order with some lines linked goes too, without the others, and \
         from then on looks done: the supplier has all that it was asked for, and the storefront sees the order on \
         its way. The customer finds out."
            .to_owned(),
        "What to do: before the cut-off, link what is not linked and order the missing line from the supplier, so \
         that it goes with the rest; after it, the same, and a second parcel is needed. The list above says it for \
         each order."
            .to_owned(),
    ]
}

/// The fault in its plainest form: a supplier has some lines of an order whole, the others are linked to nothing,
/// and it can still be put right. The most urgent one, best of an order with which nothing else is wrong.
fn example(outcome: &Outcome) -> Option<&Finding> {
    let of_its_order = |finding: &Finding| {
        outcome.findings.iter().filter(|other| other.order_id == finding.order_id).count()
    };
    let is_plain = |finding: &&Finding| {
        let sent = matches!(&finding.evidence, Evidence::Gap(gap) if !gap.sent.is_empty());
        let unlinked = finding.lines.iter().all(|line| {
            line.reason == Some(Reason::NoLink)
                && line.intended.is_empty()
                && line.units == u64::from(line.quantity)
        });
        finding.check == Check::PartSent && sent && unlinked && finding.act_before.is_some()
    };
    let first = |finding: &&Finding| (of_its_order(finding), finding.act_before, finding.order_id.clone());
    outcome.findings.iter().filter(is_plain).min_by_key(first)
}

/// The most listings of which the demo accepts what is proposed.
const ACCEPTED: u64 = 2;

/// Accepts what is proposed for some listings, so that there is something to send; answers for how many offers.
async fn intend(desk: &PageDesk, shop: &ShopId) -> u64 {
    let Ok(shelf) = desk.shelf(shop).await else { return 0 };
    let (mut listings, mut offers) = (0, 0);
    for short in &shelf.listings {
        let Ok(listing) = desk.listing(shop, &short.listing_id).await else { continue };
        let Some(proposed) = listing.proposed else { continue };
        let accepted = Accepted { offer: None, shown: proposed.shown, by: "the demo".to_owned() };
        if desk.accept(shop, &short.listing_id, &accepted).await.is_ok() {
            listings += 1;
            offers += proposed.offers;
        }
        if listings == ACCEPTED {
            break;
        }
    }
    offers
}

/// How to look further.
fn closing(
    program: &Path,
    home: &Path,
    outcome: &Outcome,
    served: &Served,
    stays: bool,
    intended: u64,
) -> String {
    let (program, folder) = (quoted(program), quoted(home));
    let config = format!("--config {}", quoted(&home.join("everyline.toml")));
    let as_of = format!("--as-of {}", outcome.as_of.to_rfc3339_opts(SecondsFormat::Secs, true));
    let order = example(outcome).and_then(|finding| finding.order_id.as_ref());
    let mut text = "To look further, at what everyline has kept:\n\n".to_owned();
    let mut add = |line: String| {
        text.push_str("  ");
        text.push_str(&line);
        text.push('\n');
    };
    add(format!("{program} audit {config} {as_of}"));
    add(format!("{program} findings {config} {as_of}"));
    if let Some(order) = order {
        add(format!("{program} order {order} {config} {as_of}"));
    }
    add(format!("{program} status {config}"));
    text.push_str(&format!("\nThe folder is kept. When you are done with it:\n\n  rm -r {folder}\n"));
    if stays {
        text.push_str(
            "\nThe shop, its suppliers and the page stay open, and the day goes on minute by minute. Ctrl-C ends it. The page is at\n\n",
        );
        text.push_str(&format!("  {}\n", served.url()));
        if intended > 0 {
            text.push_str(&format!(
                "\nThe demo has accepted what was proposed for {intended} offers without a link. What sending them would change at the\nstorefront is shown at\n\n  {}send\n",
                served.url()
            ));
        }
    } else {
        text.push_str("\nWith `demo --stay` the shop, its suppliers and the page stay open, to be looked at in a browser, and with `source check`\nand `source preview`.\n");
    }
    text
}

/// Goes on, a minute a minute, until somebody ends it.
async fn stay(world: &World, watched: &mut Watch, desk: &PageDesk, day: &mut Day<'_>) {
    loop {
        tokio::select! {
            _ = tokio::signal::ctrl_c() => return,
            () = tokio::time::sleep(STAYING) => {}
        }
        world.advance_to(world.now() + TimeDelta::from_std(STAYING).unwrap_or_default());
        let mut tell = |happening: Happening<'_>| {
            desk.hear(&happening);
            day.tell(happening);
        };
        watched.round(&mut tell).await;
    }
}

fn paragraphs(texts: &[String], columns: usize) -> String {
    texts.iter().map(|text| textwrap::fill(text, columns) + "\n\n").collect()
}

/// A path as a shell takes it.
fn quoted(path: &Path) -> String {
    let path = path.display().to_string();
    let plain = |c: char| c.is_ascii_alphanumeric() || "/._-".contains(c);
    if path.chars().all(plain) { path } else { format!("'{}'", path.replace('\'', r"'\''")) }
}
