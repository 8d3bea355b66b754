//! `everyline audit`: from a folder of tables to the answer, in one pass.
//!
//! Must not know how a table is read, an order matched or a finding worded: it passes values from one to the
//! next. Start reading at [`audit()`]; [`straight`] is the way of large books.

pub mod straight;

use std::collections::BTreeSet;
use std::panic::resume_unwind;
use std::path::Path;
use std::sync::Arc;
use std::thread;

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use digest::View;
use intake::source::declare::Source;
use intake::{Folder, FolderError, ReadSettings};
use matcher::Facts;
use model::book::latest_moment;
use model::outcome::{Notice, Topic};
use model::{Book, Check, Finding, Outcome, SupplierId, When};

use crate::arguments::{AuditArguments, Colour, Format};
use crate::clock;
use crate::configuration::{Settings, nearest};
use crate::exit::Exit;
use crate::live::judge as live;
use crate::memory::{Room, TooLarge};
use crate::opened::{self, Opened};
use crate::propose;
use crate::readings;
use crate::terminal::{self, ReadingBar, tell};
use crate::trouble::Trouble;

/// How many bad rows are shown: as many as somebody mends before trying again.
pub(crate) const BAD_ROWS_SHOWN: usize = 20;

/// How much older than the moment of the audit the newest row may be before that is said. Of a shop that sells
/// every day; one that does not can see from the notice that nothing is missing.
const EXPORT_AGE: TimeDelta = TimeDelta::hours(24);

/// The configuration that the ledger is found by where none is named.
pub(crate) const USUAL_CONFIGURATION: &str = "everyline.toml";

/// A folder, and how it is to be judged.
pub struct Question<'a> {
    /// The folder with the tables, or with exports.
    pub folder: &'a Path,
    /// How exports in it are read; none where all are exchange files.
    pub sources: &'a [Source],
    /// The configuration; its rules say which orders are reported.
    pub settings: &'a Settings,
    /// The moment for which it is judged.
    pub as_of: DateTime<Utc>,
    /// Whether to leave out rows that cannot be read.
    pub skip_bad_rows: bool,
    /// Whether to judge every order by the plain path.
    pub plain: bool,
    /// Whether to leave out the progress bar.
    pub quiet: bool,
}

/// Runs the command.
///
/// # Errors
/// Where the arguments, the configuration or the tables are not right.
pub(crate) fn run(asked: &AuditArguments) -> Result<Exit, Trouble> {
    let on_ledger = match &asked.from {
        Some(_) => None,
        None if asked.skip_bad_rows => {
            return Err(Trouble::new("nothing was audited", "--skip-bad-rows is about the rows of --from")
                .help("leave it out, or name the folder with the tables with --from"));
        }
        None => Some(asked.config.as_deref().unwrap_or(Path::new(USUAL_CONFIGURATION))),
    };
    let mapped: Vec<(Settings, Vec<Source>)> =
        asked.maps.iter().map(|map| propose::sources_of(map)).collect::<Result<_, _>>()?;
    let mut settings = match (asked.config.as_deref().or(on_ledger), mapped.first()) {
        (None, Some((settings, _))) => settings.clone(),
        (config, _) => Settings::read(config, asked.shop.as_deref())?,
    };
    let mut sources: Vec<Source> = mapped.into_iter().flat_map(|(_, sources)| sources).collect();
    if let Some(folder) = &asked.from {
        sources.extend(in_published_terms(folder, &sources, settings.zone)?);
    }
    let as_of = as_of(asked.as_of.as_deref(), settings.zone)?;
    let moment =
        |name, text: &Option<String>| text.as_deref().map(|text| time(name, text, settings.zone)).transpose();
    let since = moment("--since", &asked.since)?.map(When::begins);
    let until = moment("--until", &asked.until)?.map(When::ends);
    if let (Some(since), Some(until)) = (since, until)
        && since >= until
    {
        let given = |text: &Option<String>| text.clone().unwrap_or_default();
        let cause = format!(
            "--since, {}, is not before the end of --until, {}",
            given(&asked.since),
            given(&asked.until)
        );
        return Err(Trouble::new("nothing was audited", cause).help("swap the two, or leave one of them out"));
    }
    (settings.rules.since, settings.rules.until) = (since, until);

    let zone = settings.zone;
    let (mut outcome, not_read) = match (&asked.from, on_ledger) {
        (Some(folder), _) => {
            let question = Question {
                folder,
                sources: &sources,
                settings: &settings,
                as_of: as_of.unwrap_or_else(clock::now),
                skip_bad_rows: asked.skip_bad_rows,
                plain: asked.plain,
                quiet: asked.quiet,
            };
            (audit(&question)?, 0)
        }
        (None, config) => {
            of_ledger(config.unwrap_or(Path::new(USUAL_CONFIGURATION)), asked, settings, as_of)?
        }
    };
    if !asked.checks.is_empty() {
        outcome.findings.retain(|finding| asked.checks.contains(&finding.check));
    }
    write(&outcome, asked, zone)?;
    tell_about_the_run(&outcome, asked);
    if not_read > 0 {
        tell(&format!(
            "not complete: {} of the sources not read up to now; `everyline status` says why",
            counted(not_read, "request")
        ));
        return Ok(Exit::Incomplete);
    }
    Ok(exit(&outcome))
}

/// The files of a folder that need no mapping of the owner's, since their terms are published.
fn in_published_terms(folder: &Path, mapped: &[Source], zone: Tz) -> Result<Option<Source>, Trouble> {
    let mapped: Vec<&Source> = mapped.iter().collect();
    intake::schema_org::source_in(folder, zone, &mapped).map_err(|error| {
        Trouble::new(format!("the tables in {} were not audited", folder.display()), error)
            .help("mend the file, or move it out of the folder if it has no orders")
    })
}

/// Judges what the ledger holds of a shop. Answers also how many requests of its sources have not been read up to now.
fn of_ledger(
    config: &Path,
    asked: &AuditArguments,
    settings: Settings,
    as_of: Option<DateTime<Utc>>,
) -> Result<(Outcome, u64), Trouble> {
    opened::run(async {
        let Opened { ledger, shop, .. } = Opened::from(config, asked.shop.as_deref()).await?;
        let question = live::Question { shop, settings: Arc::new(settings), as_of, now: clock::now() };
        let judged = live::judge(&ledger, &question).await.map_err(opened::of_ledger)?;
        ledger.close().await;
        let not_read = judged.standings.not_read().count() as u64;
        Ok((judged.outcome, not_read))
    })
}

/// Reads a folder and judges it.
///
/// # Errors
/// Where the tables cannot be read, or rows of them cannot and are not to be skipped.
pub fn audit(question: &Question<'_>) -> Result<Outcome, Trouble> {
    if !question.sources.is_empty() {
        return plain(question);
    }
    let sizes = intake::sizes(question.folder).map_err(|error| unusable(question, error))?;
    let straight = if question.plain {
        None
    } else {
        Room::now().for_straight(sizes.large, sizes.small).map_err(|why| too_large(question, why, ""))?;
        straight::audit(question)?
    };
    let outcome = match straight {
        Some(mut outcome) => {
            outcome.notices.sort();
            outcome
        }
        None => {
            let why = " have to be held as a whole, since rows of them cannot be read or belong to none, or no \
                       variants are given; they";
            Room::now()
                .for_plain(sizes.large + sizes.small)
                .map_err(|too_much| too_large(question, too_much, why))?;
            plain(question)?
        }
    };
    Ok(outcome)
}

/// Judges every order from its rows, all of which are held at once.
fn plain(question: &Question<'_>) -> Result<Outcome, Trouble> {
    Ok(judged(read(question)?, question.settings, question.as_of))
}

/// Judges every order from rows that were read, those apart that could not be.
pub fn judged(folder: Folder, settings: &Settings, as_of: DateTime<Utc>) -> Outcome {
    let readings = readings::read_book(&folder.book, &settings.vocabulary);
    let submissions = folder.book.submissions.as_deref().unwrap_or_default();
    let cut_offs = forecast::cut_offs(submissions, &settings.cut_offs);
    let facts = Facts::of_tables(&readings, &cut_offs);
    let mut outcome = matcher::reconcile(&folder.book, facts, &settings.rules, as_of);
    outcome.rows_skipped = folder.rows_skipped;
    let sent = folder.book.submissions.iter().flatten().map(|row| &row.supplier);
    outcome.notices.extend(unknown_suppliers(&folder.book, sent, settings));
    outcome.notices.extend(old_export(latest_moment(&folder.book), as_of, settings.zone));
    outcome.notices.extend(folder.notices);
    outcome.notices.sort();
    outcome
}

/// The answer as a page for people.
pub(crate) fn page(outcome: &Outcome, zone: Tz, colour: Colour, checks: &[Check]) -> String {
    let view = View {
        width: terminal::width(),
        colour: terminal::colour(colour),
        zone,
        checks: checks.to_vec(),
        ..View::default()
    };
    digest::table(outcome, &view)
}

/// The moment that `--as-of` says.
///
/// # Errors
/// Where it says none.
pub(crate) fn as_of(text: Option<&str>, zone: Tz) -> Result<Option<DateTime<Utc>>, Trouble> {
    text.map(|text| time("--as-of", text, zone).map(last_second)).transpose()
}

fn time(name: &str, text: &str, zone: Tz) -> Result<When, Trouble> {
    When::parse(text, zone).map_err(|_| {
        Trouble::new("nothing was audited", format!("{name} is {text:?}; expected is {}", When::EXPECTED))
            .help("a date without a time is a day in the shop's zone, which the configuration sets")
    })
}

/// A moment itself; of a day, its last second, so that nothing of the next day counts.
pub(crate) fn last_second(when: When) -> DateTime<Utc> {
    if when.begins() == when.ends() { when.ends() } else { when.ends() - TimeDelta::seconds(1) }
}

fn read(question: &Question<'_>) -> Result<Folder, Trouble> {
    let dir = question.folder.display();
    let settings = ReadSettings { zone: question.settings.zone, rules: &question.settings.rules };
    let bar = ReadingBar::new(question.quiet);
    let mut tell_progress = |progress: intake::Progress| bar.set(progress.bytes_read, progress.bytes_total);
    let read = if question.sources.is_empty() {
        intake::read_folder(question.folder, &settings, &mut tell_progress)
    } else {
        let sources: Vec<&Source> = question.sources.iter().collect();
        intake::read_exports(question.folder, &sources, &settings, &mut tell_progress)
    };
    bar.clear();
    let folder = read.map_err(|error| unusable(question, error))?;
    let bad_rows = BadRows {
        failed: &format!("the tables in {dir} were not audited"),
        without_them: "they are left out, and the orders that they name are not judged",
        may_be_skipped: question.skip_bad_rows,
        quiet: question.quiet,
    };
    bad_rows.tell(&folder)?;
    Ok(folder)
}

/// What a command does about rows that cannot be read.
pub(crate) struct BadRows<'a> {
    /// What was not done because of them.
    pub failed: &'a str,
    /// What happens with --skip-bad-rows.
    pub without_them: &'a str,
    pub may_be_skipped: bool,
    pub quiet: bool,
}

impl BadRows<'_> {
    /// Lists them, where there are any.
    ///
    /// # Errors
    /// Where they may not be skipped.
    pub(crate) fn tell(&self, folder: &Folder) -> Result<(), Trouble> {
        if folder.bad_row_count == 0 {
            return Ok(());
        }
        let list = list_of_bad_rows(folder);
        if !self.may_be_skipped {
            return Err(Trouble::new(self.failed, list).help(format!(
                "mend these rows and run it again; with --skip-bad-rows {}",
                self.without_them
            )));
        }
        if !self.quiet {
            tell(&format!("left out: {list}"));
        }
        Ok(())
    }
}

/// Of a folder that cannot be used at all.
fn unusable(question: &Question<'_>, error: FolderError) -> Trouble {
    Trouble::new(format!("the tables in {} were not audited", question.folder.display()), error)
        .help("`everyline audit --help` names the tables, and the columns that they need")
}

/// Of tables for which there is no memory.
fn too_large(question: &Question<'_>, TooLarge { wanted, free }: TooLarge, why: &str) -> Trouble {
    let cause = format!("they{why} want about {} of memory, and {} are free", size(wanted), size(free));
    Trouble::new(format!("the tables in {} were not audited", question.folder.display()), cause)
        .help("audit fewer days at once, each export by itself, or use a machine with more memory")
}

fn size(bytes: u64) -> String {
    match bytes {
        0..0x4000_0000 => format!("{} MB", bytes.div_ceil(1_000_000)),
        _ => format!("{} GB", bytes.div_ceil(1_000_000_000)),
    }
}

fn list_of_bad_rows(folder: &Folder) -> String {
    let (count, shown) = (folder.bad_row_count, folder.bad_rows.len().min(BAD_ROWS_SHOWN));
    let mut cause = format!("{count} of {} cannot be read", counted(folder.rows_read, "row"));
    if count > shown as u64 {
        cause.push_str(&format!("; the first {shown}"));
    }
    cause.push(':');
    for row in folder.bad_rows.iter().take(shown) {
        cause.push_str(&format!("\n{row}"));
    }
    cause
}

fn unknown_suppliers<'b>(
    book: &'b Book,
    sent: impl Iterator<Item = &'b SupplierId>,
    settings: &Settings,
) -> Option<Notice> {
    let mut known = BTreeSet::new();
    known.extend(book.variants.iter().flatten().map(|row| &row.supplier));
    known.extend(book.listing_products.iter().flatten().map(|row| &row.supplier));
    known.extend(book.links.iter().flatten().map(|row| &row.supplier));
    known.extend(sent);
    let unknown: Vec<String> = settings
        .suppliers
        .iter()
        .filter(|supplier| !known.contains(supplier))
        .map(|supplier| match nearest(supplier.as_str(), known.iter().map(|known| known.as_str())) {
            Some(near) => format!("{supplier} (the nearest in the tables is {near})"),
            None => supplier.to_string(),
        })
        .collect();
    (!unknown.is_empty()).then(|| Notice {
        topic: Topic::UnknownSupplier,
        count: unknown.len() as u64,
        text: format!(
            "the configuration sets something for suppliers that are in no table: {}",
            unknown.join(", ")
        ),
    })
}

fn old_export(newest: Option<DateTime<Utc>>, as_of: DateTime<Utc>, zone: Tz) -> Option<Notice> {
    let newest = newest?;
    (as_of.signed_duration_since(newest) > EXPORT_AGE).then(|| Notice {
        topic: Topic::OldExport,
        count: 1,
        text: format!(
            "the newest row of the tables is of {}, more than a day before the moment of this audit: export them \
             again, or set the moment with --as-of",
            newest.with_timezone(&zone).format("%a %-d %b %Y at %H:%M")
        ),
    })
}

fn write(outcome: &Outcome, asked: &AuditArguments, zone: Tz) -> Result<(), Trouble> {
    match asked.format {
        Format::Table => terminal::write_data(&page(outcome, zone, asked.colour, &asked.checks)),
        Format::Json => terminal::write_data(&digest::json(outcome, zone)),
        Format::Jsonl => terminal::write_texts(lines(&outcome.findings, zone)),
        Format::Csv => terminal::write_data(&digest::csv(outcome, zone)),
    }
}

/// How many findings a thread puts into lines before they are written: of some megabytes.
const LINES_AT_ONCE: usize = 1024;

/// The findings as lines, made by as many threads as there are cores.
fn lines(findings: &[Finding], zone: Tz) -> impl Iterator<Item = String> {
    let threads = thread::available_parallelism().map_or(1, usize::from);
    findings.chunks(threads * LINES_AT_ONCE).flat_map(move |findings| {
        thread::scope(|scope| {
            let of_part =
                |part| move || digest::jsonl(part, zone).flat_map(|line| [line, "\n".into()]).collect();
            let workers: Vec<_> =
                findings.chunks(LINES_AT_ONCE).map(|part| scope.spawn(of_part(part))).collect();
            let texts = workers.into_iter().map(|worker| worker.join());
            texts.map(|text| text.unwrap_or_else(|panic| resume_unwind(panic))).collect::<Vec<String>>()
        })
    })
}

/// What was not judged, always; the notices, where the table does not hold them.
fn tell_about_the_run(outcome: &Outcome, asked: &AuditArguments) {
    if !asked.quiet && asked.format != Format::Table {
        for notice in &outcome.notices {
            tell(&format!("note: {}", notice.text));
        }
    }
    if is_incomplete(outcome) {
        tell(&format!(
            "not complete: {} left out, {} not judged",
            counted(outcome.rows_skipped, "row"),
            counted(outcome.not_judged.len() as u64, "order"),
        ));
    }
}

fn is_incomplete(outcome: &Outcome) -> bool {
    outcome.rows_skipped > 0 || !outcome.not_judged.is_empty()
}

fn exit(outcome: &Outcome) -> Exit {
    if is_incomplete(outcome) {
        Exit::Incomplete
    } else if outcome.findings.is_empty() {
        Exit::Nothing
    } else {
        Exit::Findings
    }
}

fn counted(count: u64, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}
