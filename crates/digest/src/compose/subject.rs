//! The one line of a message: the worst of it first.
//!
//! Must not know what follows. Start reading at [`of_findings`].

use chrono::{DateTime, NaiveDate, Utc};
use model::Finding;

use super::document::line;
use crate::clean::cut;
use crate::moment::Clock;
use crate::table::headline::{is_incomplete, phrase};
use crate::urgency::Urgency;
use crate::words::{count, number_of};

/// Columns that a mail program on a computer shows.
const COLUMNS: usize = 78;

/// What is worst, by when it can be put right, and how much else there is.
pub(super) fn of_findings(findings: &[&Finding], clock: &Clock, now: DateTime<Utc>) -> Option<String> {
    let worst = findings
        .iter()
        .max_by_key(|finding| (Urgency::at(finding, now), std::cmp::Reverse(finding.check)))?;
    let urgency = Urgency::at(worst, now);
    let is_core = |finding: &&&Finding| {
        Urgency::at(finding, now) == urgency
            && (finding.check == worst.check || is_incomplete(worst.check) && is_incomplete(finding.check))
    };
    let core: Vec<&&Finding> = findings.iter().filter(is_core).collect();
    // Those that go out in part are the worse of the two, and stand for both.
    let is_mixed = core.iter().any(|finding| finding.check != worst.check);
    let mut text = match is_mixed {
        true => count(
            number_of(&core),
            "order goes out incomplete or not at all",
            "orders go out incomplete or not at all",
        ),
        false => phrase(worst.check, number_of(&core)),
    };
    let first = core.iter().filter_map(|finding| finding.act_before).filter(|by| *by > now).min();
    match (urgency, first) {
        (Urgency::Now, Some(first)) => text += &format!(", act by {}", clock.in_a_sentence(first)),
        (Urgency::Repair, _) => text += ", past the cut-off",
        _ => {}
    }
    let others = number_of(findings) - number_of(&core);
    if others > 0 {
        text += &format!("; {}", count(others, "more thing", "more things"));
    }
    Some(text)
}

/// Cut to what is shown, with the day behind it where there is one.
pub(super) fn finished(text: &str, day: Option<NaiveDate>) -> String {
    let day = day.map(|day| day.format(" (%a %-d %b)").to_string()).unwrap_or_default();
    line(format!("{}{day}", cut(text, COLUMNS - day.len())))
}
