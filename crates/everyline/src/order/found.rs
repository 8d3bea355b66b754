//! What the owner said of an order, and what was found of it.
//!
//! Must not know how a finding is reached, or how it is laid out. Start reading at [`findings`].

use ledger::KeptFinding;
use model::Finding;
use web::view::{Moment, OrderFinding, Settled, Words};

use super::Shown;
use crate::layout::{capital, outside};

/// What the owner said of it, a sentence each.
pub fn ties(shown: &Shown) -> Vec<Words> {
    let said = shown.history.ties.iter().map(|tie| {
        let what = served(
            tie.submission_line_id.as_ref().map(|line| line.as_str()),
            tie.submission_id.as_str(),
            tie.supplier.as_str(),
            tie.line_id.as_str(),
        );
        Words::ours(format!("you said that {what}"))
    });
    said.collect()
}

/// `line 1 of J-1 of alder-print serves line 2`, `all of J-1 of alder-print serves line 2`.
pub fn served(submission_line: Option<&str>, submission: &str, supplier: &str, line: &str) -> String {
    let what = match submission_line {
        Some(line) => format!("line {} of {}", outside(line), outside(submission)),
        None => format!("all of {}", outside(submission)),
    };
    format!("{what} of {} serves line {}", outside(supplier), outside(line))
}

/// What stands, also what is set aside, with the note.
pub fn findings(shown: &Shown) -> Vec<OrderFinding> {
    shown.findings.iter().map(|finding| standing(shown, finding)).collect()
}

/// What was found and stands no more.
pub fn settled(shown: &Shown) -> Vec<Settled> {
    let stands = |kept: &KeptFinding| shown.findings.iter().any(|finding| finding.id.as_str() == kept.id);
    let moment = |at| Moment::said(at, shown.times.at(at));
    let settled = shown.history.findings.iter().filter(|kept| !stands(kept)).map(|kept| Settled {
        finding: kept.id.clone(),
        check: kept.check.clone(),
        since: moment(kept.first_seen),
        settled: kept.settled_at.map(moment),
    });
    settled.collect()
}

fn standing(shown: &Shown, finding: &Finding) -> OrderFinding {
    let times = &shown.times;
    let moment = |at| Moment::said(at, times.at(at));
    let deadline = match finding.act_before {
        Some(moment) if moment > shown.as_of => Some(format!("act before {}", times.at(moment))),
        Some(_) => Some("the cut-off has passed".to_owned()),
        None if finding.cutoff_passed => Some("the cut-off has passed".to_owned()),
        None => None,
    };
    let aside = shown.kept.iter().find(|kept| kept.id == finding.id.as_str());
    let aside = aside.and_then(|kept| kept.set_aside.as_ref());
    OrderFinding {
        finding: finding.id.as_str().to_owned(),
        check: finding.check,
        words: Words::ours(capital(&digest::say(finding, times.zone()))),
        deadline: deadline.map(Words::ours),
        since: moment(finding.first_seen),
        note: aside.map(|aside| Words::outside(&aside.note)),
        until: aside.and_then(|aside| aside.until).map(moment),
    }
}
