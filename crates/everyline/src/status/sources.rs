//! How far each request of each source was read, and how asking it went.
//!
//! Must not know what is kept of them. Start reading at [`sources`].

use chrono::TimeDelta;
use ledger::Asking;

use crate::configuration::Settings;
use crate::layout::{Page, count, outside};
use crate::live::asker::FOLDER;
use crate::live::standing::{Standing, Standings};
use crate::times::{Times, pace};

/// A paragraph for each request.
pub fn sources(settings: &Settings, standings: &Standings, times: &Times, page: &mut Page) {
    if standings.all.is_empty() {
        page.paragraph(0, "none is declared; `everyline print configuration` shows how");
    }
    for standing in &standings.all {
        let every = settings.sources.get(&standing.source).map(|source| source.every);
        page.hanging(0, &read(standing, standings, times));
        let asking = standing.state.as_ref().map(|state| &state.asking);
        page.hanging(2, &asked(asking, every.and_then(|every| TimeDelta::from_std(every).ok()), times));
        if let Some(trouble) = asking.and_then(|asking| trouble(asking, times)) {
            page.hanging(2, &trouble);
        }
        if let Some((there, here)) = asking.and_then(|asking| asking.counted) {
            page.hanging(
                2,
                &format!("it counts {} itself, and {here} were read", count(there, "record", "records")),
            );
        }
    }
}

/// `till, orders: read as of 26 Nov 10:02, 1 min ago`.
fn read(standing: &Standing, standings: &Standings, times: &Times) -> String {
    let name = match standing.request.as_str() {
        FOLDER => format!("{}, its folder", outside(standing.source.as_str())),
        request => format!("{}, {}", outside(standing.source.as_str()), outside(request)),
    };
    match standing.read_up_to {
        None => format!("{name}: NEVER READ TO ITS END"),
        Some(moment) => {
            let is_behind = standings
                .not_read()
                .any(|behind| (&behind.source, &behind.request) == (&standing.source, &standing.request));
            let behind = match is_behind {
                true => format!("; BEHIND, it counts as up to date for {}", pace(standing.stale_after)),
                false => String::new(),
            };
            format!("{name}: read as of {}, {}{behind}", times.at(moment), times.ago(moment))
        }
    }
}

/// When it was asked last, and when it is asked next.
fn asked(asking: Option<&Asking>, every: Option<TimeDelta>, times: &Times) -> String {
    let every = every.map(|every| format!(", every {}", pace(every))).unwrap_or_default();
    let Some(asking) = asking else { return format!("never asked{every}") };
    let next = match asking.next_at {
        Some(next) if times.is_ahead(next) => format!("; next {}, {}", times.at(next), times.ago(next)),
        Some(next) => format!("; it was to be asked again {}", times.at(next)),
        None => String::new(),
    };
    format!("asked last {}, {}{next}{every}", times.at(asking.asked_at), times.ago(asking.asked_at))
}

/// What is the matter, and since when.
fn trouble(asking: &Asking, times: &Times) -> Option<String> {
    let trouble = asking.trouble.as_ref()?;
    let since = asking.failing_since.unwrap_or(asking.asked_at);
    let answered = match asking.answered_at {
        Some(moment) => format!(" (it answered as it should {})", times.at(moment)),
        None => " (it never answered as it should)".to_owned(),
    };
    Some(format!(
        "FAILS since {}, {}{answered}: {}",
        times.at(since),
        times.ago(since),
        outside(&trouble.words)
    ))
}
