//! `everyline findings`, and `everyline set-aside`: what is to be done, and what is not to be shown for now.
//!
//! Must not know how an order is judged. Start reading at [`run`].

use std::collections::BTreeMap;
use std::fmt::Write;

use chrono::{DateTime, Utc};
use digest::say;
use ledger::{KeptFinding, SetAside};
use model::{Finding, When};

use crate::arguments::{FindingsArguments, ListFormat, SetAsideArguments};
use crate::audit::as_of;
use crate::clock;
use crate::exit::Exit;
use crate::live::judge::{Judged, Question, judge};
use crate::opened::{self, Opened, of_ledger};
use crate::terminal::{self, tell, write_data};
use crate::trouble::Trouble;

/// Lists the findings.
///
/// # Errors
/// Where the configuration or the ledger cannot be used.
pub fn run(asked: &FindingsArguments) -> Result<Exit, Trouble> {
    opened::run(list(asked))
}

async fn list(asked: &FindingsArguments) -> Result<Exit, Trouble> {
    let Opened { ledger, shop, settings } = Opened::of(&asked.of).await?;
    let now = clock::now();
    let question = Question {
        shop: shop.clone(),
        settings: settings.clone(),
        as_of: as_of(asked.as_of.as_deref(), settings.zone)?,
        now,
    };
    let judged = judge(&ledger, &question).await.map_err(of_ledger)?;
    let kept = ledger.findings(&shop, true, now).await.map_err(of_ledger)?;
    ledger.close().await;
    let aside: BTreeMap<&str, &SetAside> =
        kept.iter().filter_map(|kept| Some((kept.id.as_str(), kept.set_aside.as_ref()?))).collect();
    let mut findings: Vec<&Finding> = judged.outcome.findings.iter().collect();
    findings.retain(|finding| asked.checks.is_empty() || asked.checks.contains(&finding.check));
    let is_aside = |finding: &Finding| aside.contains_key(finding.id.as_str());
    let put_aside = findings.iter().filter(|finding| is_aside(finding)).count();
    findings.retain(|finding| asked.all || !is_aside(finding));
    // What has a deadline ahead first, by deadline, then as the audit orders them.
    findings.sort_by_key(|finding| (finding.act_before.is_none(), finding.act_before));
    match asked.format {
        ListFormat::Table => {
            let mut text = headline(&judged, findings.len(), put_aside, asked.all, &settings.zone);
            for finding in &findings {
                let aside = aside.get(finding.id.as_str()).copied();
                text.push_str(&paragraph(finding, aside, judged.outcome.as_of, settings.zone));
            }
            write_data(&text)?;
        }
        ListFormat::Jsonl => {
            let findings: Vec<Finding> = findings.into_iter().cloned().collect();
            terminal::write_texts(digest::jsonl(&findings, settings.zone).map(|line| line + "\n"))?;
        }
    }
    for standing in judged.standings.not_read() {
        tell(&format!(
            "not complete: source {}, {} has not been read up to now; `everyline status` says why",
            standing.source, standing.request
        ));
    }
    let stand = judged.outcome.findings.iter().any(|finding| !is_aside(finding));
    Ok(match (judged.is_complete(), stand) {
        (false, _) => Exit::Incomplete,
        (true, true) => Exit::Findings,
        (true, false) => Exit::Nothing,
    })
}

fn headline(judged: &Judged, shown: usize, aside: usize, all: bool, zone: &chrono_tz::Tz) -> String {
    let findings = match shown {
        0 if judged.standings.all.iter().any(|standing| standing.read_up_to.is_none()) => {
            "Nothing is known yet that is to be done".to_owned()
        }
        0 => "Nothing is to be done".to_owned(),
        1 => "1 finding".to_owned(),
        _ => format!("{shown} findings"),
    };
    let aside = match (aside, all) {
        (0, _) => String::new(),
        (1, true) => ", 1 of them set aside".to_owned(),
        (_, true) => format!(", {aside} of them set aside"),
        (1, false) => ", and 1 that was set aside (--all shows it)".to_owned(),
        (_, false) => format!(", and {aside} that were set aside (--all shows them)"),
    };
    let at = judged.outcome.as_of.with_timezone(zone).format("%a %-d %b %Y at %H:%M");
    let text = format!("{findings}{aside}, as things stood on {at}, {zone} time.");
    textwrap::fill(&text, terminal::width()) + "\n"
}

/// The finding's id, its check, how much time is left; what is wrong and what to do; why it was set aside.
fn paragraph(
    finding: &Finding,
    aside: Option<&SetAside>,
    as_of: DateTime<Utc>,
    zone: chrono_tz::Tz,
) -> String {
    let at = |moment: DateTime<Utc>| moment.with_timezone(&zone).format("%-d %b %H:%M").to_string();
    let time = match finding.act_before {
        Some(moment) if moment > as_of => format!("  act before {}", at(moment)),
        Some(_) => "  the cut-off has passed".to_owned(),
        None if finding.cutoff_passed => "  the cut-off has passed".to_owned(),
        None => String::new(),
    };
    let mut text = format!("\n{}  {}{time}  since {}\n", finding.id, finding.check, at(finding.first_seen));
    let under = |text: &str| {
        let options = textwrap::Options::new(terminal::width())
            .initial_indent("  ")
            .subsequent_indent("  ")
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        textwrap::fill(text, options)
    };
    let mut said = say(finding, zone);
    if let Some(first) = said.get(..1).map(str::to_uppercase) {
        said.replace_range(..1, &first);
    }
    let _ = writeln!(text, "{}", under(&said));
    if let Some(aside) = aside {
        let until = aside
            .until
            .map_or_else(|| "until it is something else".to_owned(), |until| format!("until {}", at(until)));
        let _ = writeln!(text, "{}", under(&format!("Set aside {until}: {}", digest::clean(&aside.note))));
    }
    text
}

/// Puts a finding aside, or shows it again.
///
/// # Errors
/// Where there is no such finding, or the configuration or the ledger cannot be used.
pub fn set_aside(asked: &SetAsideArguments) -> Result<Exit, Trouble> {
    opened::run(put_aside(asked))
}

async fn put_aside(asked: &SetAsideArguments) -> Result<Exit, Trouble> {
    let Opened { ledger, shop, settings } = Opened::of(&asked.of).await?;
    let now = clock::now();
    let trouble = |cause: String| Trouble::new("nothing was set aside", cause);
    let known = ledger.findings(&shop, true, now).await.map_err(of_ledger)?;
    let finding = one(&known, &asked.id).map_err(|(cause, help)| trouble(cause).help(help))?;
    if asked.undo {
        if !ledger.take_back(&shop, &finding.id, now).await.map_err(of_ledger)? {
            return Err(Trouble::new("nothing was changed", format!("{} was not set aside", finding.id))
                .help("`everyline findings --all` says which are"));
        }
        write_data(&format!("{} is shown again.\n", finding.id))?;
    } else {
        let note = asked.note.as_deref().unwrap_or_default().trim();
        if note.is_empty() {
            return Err(trouble("the note is empty".to_owned())
                .help("say why with --note, so that whoever finds it later knows"));
        }
        let until = match &asked.until {
            None => None,
            Some(text) => {
                let until = When::parse(text, settings.zone).map_err(|_| {
                    trouble(format!("--until is {text:?}; expected is {}", When::EXPECTED))
                        .help("a date without a time is the end of that day in the shop's zone")
                })?;
                Some(until.ends())
            }
        };
        if until.is_some_and(|until| until <= now) {
            return Err(
                trouble("--until has passed already".to_owned()).help("give a later time, or leave it out")
            );
        }
        let aside = SetAside { note: note.to_owned(), until };
        ledger.set_aside(&shop, &finding.id, &aside, now).await.map_err(of_ledger)?;
        let until = match until {
            Some(until) => {
                format!("until {}", until.with_timezone(&settings.zone).format("%a %-d %b %Y at %H:%M"))
            }
            None => "until what was found of it is something else".to_owned(),
        };
        write_data(&format!("{} ({}) is set aside {until}.\n", finding.id, finding.check))?;
    }
    ledger.close().await;
    Ok(Exit::Nothing)
}

/// The one finding whose id begins so, or what is the matter and what to do.
fn one<'k>(known: &'k [KeptFinding], beginning: &str) -> Result<&'k KeptFinding, (String, String)> {
    let mut alike = known.iter().filter(|kept| !beginning.is_empty() && kept.id.starts_with(beginning));
    match (alike.next(), alike.next()) {
        (Some(only), None) => Ok(only),
        (Some(first), Some(second)) => Err((
            format!("several ids begin with {beginning}, such as {} and {}", first.id, second.id),
            "give more of the id".to_owned(),
        )),
        (None, _) => Err((
            format!("no finding that stands has the id {beginning:?}"),
            "`everyline findings` lists those that stand, with their ids".to_owned(),
        )),
    }
}
