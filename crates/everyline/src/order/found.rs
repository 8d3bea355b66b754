//! What the owner said of an order, and what was found of it.
//!
//! Must not know how a finding is reached. Start reading at [`findings`].

use std::fmt::Write;

use ledger::KeptFinding;
use model::Finding;

use super::Shown;
use crate::layout::{Page, capital, outside};

/// What the owner said of it.
pub fn ties(shown: &Shown, page: &mut Page) {
    if shown.history.ties.is_empty() {
        return;
    }
    page.heading("WHAT YOU SAID");
    for tie in &shown.history.ties {
        let what = served(
            tie.submission_line_id.as_ref().map(|line| line.as_str()),
            tie.submission_id.as_str(),
            tie.supplier.as_str(),
            tie.line_id.as_str(),
        );
        page.hanging(0, &format!("you said that {what}"));
    }
}

/// `line 1 of J-1 of alder-print serves line 2`, `all of J-1 of alder-print serves line 2`.
pub fn served(submission_line: Option<&str>, submission: &str, supplier: &str, line: &str) -> String {
    let what = match submission_line {
        Some(line) => format!("line {} of {}", outside(line), outside(submission)),
        None => format!("all of {}", outside(submission)),
    };
    format!("{what} of {} serves line {}", outside(supplier), outside(line))
}

/// What stands; what is set aside, with the note; what has settled.
pub fn findings(shown: &Shown, page: &mut Page) {
    page.heading("WHAT WAS FOUND");
    let stands = |kept: &KeptFinding| shown.findings.iter().any(|finding| finding.id.as_str() == kept.id);
    let settled: Vec<&KeptFinding> = shown.history.findings.iter().filter(|kept| !stands(kept)).collect();
    if shown.findings.is_empty() && settled.is_empty() {
        page.paragraph(0, "nothing");
    }
    for finding in &shown.findings {
        standing(shown, finding, page);
    }
    for kept in settled {
        let end = match kept.settled_at {
            Some(at) => format!("settled {}", shown.times.at(at)),
            None => "no longer there".to_owned(),
        };
        page.hanging(
            0,
            &format!("{}  {}  found {}, {end}", kept.id, kept.check, shown.times.at(kept.first_seen)),
        );
    }
}

fn standing(shown: &Shown, finding: &Finding, page: &mut Page) {
    let times = &shown.times;
    let mut head = format!("{}  {}", finding.id, finding.check);
    let _ = match finding.act_before {
        Some(moment) if moment > shown.as_of => write!(head, "  act before {}", times.at(moment)),
        Some(_) => write!(head, "  the cut-off has passed"),
        None if finding.cutoff_passed => write!(head, "  the cut-off has passed"),
        None => Ok(()),
    };
    let _ = write!(head, "  since {}", times.at(finding.first_seen));
    page.hanging(0, &head);
    page.paragraph(2, &capital(&digest::say(finding, times.zone())));
    let aside = shown.kept.iter().find(|kept| kept.id == finding.id.as_str());
    if let Some(aside) = aside.and_then(|kept| kept.set_aside.as_ref()) {
        let until = aside.until.map_or_else(
            || "until it is something else".to_owned(),
            |until| format!("until {}", times.at(until)),
        );
        page.paragraph(2, &format!("Set aside {until}: {}", outside(&aside.note)));
    }
}
