//! `everyline status`: how far each source was read and what is the matter with it, what waits, and whether somebody
//! watches.
//!
//! Must not know how a source is asked. Start reading at [`run`].

mod sending;
mod sources;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use ledger::{KeptFinding, Ledger, Rounds};
use model::{Check, Finding, ShopId};

use crate::arguments::StatusArguments;
use crate::clock;
use crate::configuration::{Configuration, Settings};
use crate::exit::Exit;
use crate::layout::{Page, and, count, outside};
use crate::live::judge::{Judged, Question, judge};
use crate::opened::{self, of_ledger};
use crate::terminal;
use crate::times::{self, Times};
use crate::trouble::Trouble;

/// Somebody who watches asks or judges at least every minute; this leaves room for one that takes long.
const WITHOUT_A_SIGN: TimeDelta = TimeDelta::minutes(5);

/// How many times longer than the pace of the quickest source nothing may be asked, before it looks as if nobody watched.
const PACES: i32 = 3;

/// Runs the command.
///
/// # Errors
/// Where the configuration or the ledger cannot be used, or there is no such shop.
pub fn run(asked: &StatusArguments) -> Result<Exit, Trouble> {
    opened::run(show(asked))
}

async fn show(asked: &StatusArguments) -> Result<Exit, Trouble> {
    let configuration = Configuration::read(&asked.of.config)?;
    let shops: Vec<(&ShopId, &Settings)> = match &asked.of.shop {
        Some(shop) => vec![configuration.shop(Some(shop))?],
        None => configuration.shops.iter().collect(),
    };
    let path = &configuration.ledger;
    if !path.exists() {
        return Err(Trouble::new("nothing has been read yet", format!("{} is not there", path.display()))
            .help("`everyline watch` makes the file and fills it; --config names the configuration that says where it is"));
    }
    let ledger = Ledger::open(path).await.map_err(of_ledger)?;
    let now = clock::now();
    let mut page = Page::new(terminal::width());
    let mut is_complete = true;
    for (shop, settings) in shops {
        if configuration.shops.len() > 1 {
            page.heading(&format!("Shop {}", outside(shop.as_str())));
        }
        is_complete &= of_shop(&ledger, shop, settings, now, &mut page).await?;
    }
    sending::sending(&ledger, &configuration, now, &mut page).await?;
    ledger.close().await;
    page.heading(&kept_in(path));
    terminal::write_data(&page.finish())?;
    Ok(if is_complete { Exit::Nothing } else { Exit::Incomplete })
}

/// Writes how a shop stands; answers whether all its sources have been read up to now.
async fn of_shop(
    ledger: &Ledger,
    shop: &ShopId,
    settings: &Settings,
    now: DateTime<Utc>,
    page: &mut Page,
) -> Result<bool, Trouble> {
    let times = Times::new(settings.zone, now);
    let question = Question { shop: shop.clone(), settings: Arc::new(settings.clone()), as_of: None, now };
    let judged = judge(ledger, &question).await.map_err(of_ledger)?;
    let kept = ledger.findings(shop, true, now).await.map_err(of_ledger)?;
    let rounds = ledger.rounds(shop).await.map_err(of_ledger)?;
    if let Some(warning) = nobody_watches(settings, &judged, rounds, &times, now) {
        page.paragraph(0, &warning);
    }
    page.heading("SOURCES");
    sources::sources(settings, &judged.standings, &times, page);
    page.heading("WHAT WAITS");
    waits(&judged, &kept, &times, page);
    page.hanging(
        0,
        &match rounds {
            Some(rounds) => format!(
                "compared last {}, {}, as things stood {}",
                times.at(rounds.last_at),
                times.ago(rounds.last_at),
                times.at(rounds.as_of)
            ),
            None => "never compared by `everyline watch`".to_owned(),
        },
    );
    Ok(judged.is_complete())
}

/// How many findings stand, by check, how many are set aside, and what is to be done first.
fn waits(judged: &Judged, kept: &[KeptFinding], times: &Times, page: &mut Page) {
    let is_aside = |finding: &&Finding| {
        kept.iter().any(|kept| kept.id == finding.id.as_str() && kept.set_aside.is_some())
    };
    let (aside, stand): (Vec<_>, Vec<_>) = judged.outcome.findings.iter().partition(is_aside);
    let mut by_check: BTreeMap<Check, usize> = BTreeMap::new();
    for finding in &stand {
        *by_check.entry(finding.check).or_default() += 1;
    }
    let by_check = and(by_check.into_iter().map(|(check, number)| format!("{number} {check}")).collect());
    page.hanging(
        0,
        &match stand.len() {
            0 => "nothing is to be done".to_owned(),
            number => format!("{}: {by_check}", count(number as u64, "finding stands", "findings stand")),
        },
    );
    match aside.len() {
        0 => {}
        1 => page.hanging(0, "1 is set aside"),
        number => page.hanging(0, &format!("{number} are set aside")),
    }
    let ahead = |finding: &&&Finding| finding.act_before.is_some_and(|moment| moment > judged.outcome.as_of);
    let next = stand.iter().filter(ahead).min_by_key(|finding| finding.act_before);
    if let Some((finding, moment)) = next.and_then(|finding| Some((finding, finding.act_before?))) {
        let order = finding.order_id.as_ref().map(|id| format!("order {}, ", outside(id.as_str())));
        page.hanging(
            0,
            &format!(
                "next deadline {}, {} ({}{}, {})",
                times.at(moment),
                times.ago(moment),
                order.unwrap_or_default(),
                finding.check,
                finding.id
            ),
        );
    }
}

/// A warning, where nothing has been asked or compared for much longer than somebody who watches would let pass.
fn nobody_watches(
    settings: &Settings,
    judged: &Judged,
    rounds: Option<Rounds>,
    told: &Times,
    now: DateTime<Utc>,
) -> Option<String> {
    let pace = settings.sources.values().map(|source| source.every).min()?;
    let pace = TimeDelta::from_std(pace).unwrap_or(TimeDelta::MAX);
    let asked = judged.standings.all.iter().filter_map(|standing| standing.state.as_ref());
    let asked = asked.map(|state| state.asking.asked_at).max();
    let Some(last) = asked.into_iter().chain(rounds.map(|rounds| rounds.last_at)).max() else {
        return Some("NOBODY WATCHES: no source has ever been asked; `everyline watch` does it".to_owned());
    };
    let allowed = pace.checked_mul(PACES).unwrap_or(TimeDelta::MAX).max(WITHOUT_A_SIGN);
    (now - last > allowed).then(|| {
        format!(
            "NOBODY SEEMS TO WATCH: the sources were asked last {}, {}, though one is to be asked every {}; is \
             `everyline watch` running?",
            told.at(last),
            told.ago(last),
            times::pace(pace)
        )
    })
}

/// Where what was read is kept, and how much room it takes.
fn kept_in(path: &Path) -> String {
    let mut beside = path.as_os_str().to_owned();
    beside.push("-wal");
    let bytes: u64 = [path.to_owned(), PathBuf::from(beside)]
        .iter()
        .filter_map(|file| std::fs::metadata(file).ok())
        .map(|file| file.len())
        .sum();
    format!("What was read is kept in {} ({}).", digest::clean(path.display().to_string()), size(bytes))
}

/// `812 kB`, `1.2 MB`, `3.4 GB`; a kB is 1000 bytes.
fn size(bytes: u64) -> String {
    let tenths = |unit: u64| format!("{}.{}", bytes / unit, bytes % unit * 10 / unit);
    if bytes < 1_000_000 {
        format!("{} kB", bytes.div_ceil(1_000))
    } else if bytes < 1_000_000_000 {
        format!("{} MB", tenths(1_000_000))
    } else {
        format!("{} GB", tenths(1_000_000_000))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_told_in_the_unit_in_which_it_can_be_read() {
        for (bytes, want) in
            [(0, "0 kB"), (1, "1 kB"), (999_000, "999 kB"), (1_234_567, "1.2 MB"), (3_450_000_000, "3.4 GB")]
        {
            assert_eq!(size(bytes), want);
        }
    }
}
