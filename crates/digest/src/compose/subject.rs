//! The sentence that matters most, and the one line of a message: the worst of it first, made of whole parts.
//!
//! Must not know what follows. Start reading at [`Lead`].

use chrono::{DateTime, NaiveDate, Utc};
use model::Finding;

use super::document::line;
use crate::moment::Clock;
use crate::table::headline::{is_incomplete, phrase};
use crate::urgency::Urgency;
use crate::words::{count, number_of};

/// Characters of a subject: what a mail program on a computer shows beside sender and date (common practice, no published
/// source).
const CHARACTERS: usize = 70;

/// What a part is for; the first ones are kept where there is no room for all.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Use {
    Worst,
    Deadline,
    Doubt,
    More,
    Day,
}

#[derive(Clone, PartialEq, Eq, Debug)]
struct Part {
    is_for: Use,
    /// As it stands in a sentence, with what parts it from the one before.
    sentence: String,
    /// As it stands in a subject.
    subject: String,
}

/// The worst and what is added to it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Lead(Vec<Part>);

impl Lead {
    pub(super) fn new(worst: impl Into<String>) -> Self {
        Self(Vec::new()).and(Use::Worst, worst)
    }

    fn and(mut self, is_for: Use, text: impl Into<String>) -> Self {
        let text = text.into();
        self.0.push(Part { is_for, subject: text.clone(), sentence: text });
        self
    }

    /// With something that may be left out of a subject.
    pub(super) fn and_more(self, text: impl Into<String>) -> Self {
        self.and(Use::More, text)
    }

    /// With words that not all is known.
    pub(super) fn in_doubt(mut self) -> Self {
        self.0.push(Part {
            is_for: Use::Doubt,
            sentence: "; not all is known yet".to_owned(),
            subject: "; not all is known".to_owned(),
        });
        self
    }

    /// All of it, with a full stop.
    pub(super) fn sentence(&self) -> String {
        self.0.iter().map(|part| part.sentence.as_str()).chain(["."]).collect()
    }

    /// As many parts of it as have room, with the day where there is one.
    pub(super) fn subject(&self, day: Option<NaiveDate>) -> String {
        let day = day.map(|day| day.format(" (%a %-d %b)").to_string());
        let whole = day.into_iter().fold(self.clone(), |lead, day| lead.and(Use::Day, day));
        let mut by_use: Vec<(usize, &Part)> = whole.0.iter().enumerate().collect();
        by_use.sort_by_key(|(_, part)| part.is_for);
        let (mut room, mut kept) = (CHARACTERS, Vec::new());
        for (index, part) in by_use {
            if let Some(rest) = room.checked_sub(part.subject.chars().count()) {
                room = rest;
                kept.push((index, part));
            }
        }
        kept.sort_by_key(|(index, _)| *index);
        line(kept.into_iter().map(|(_, part)| part.subject.as_str()).collect::<String>())
    }
}

/// What is worst, by when it can be put right, and how much else there is.
pub(super) fn of_findings(findings: &[&Finding], clock: &Clock, now: DateTime<Utc>) -> Option<Lead> {
    let worst = findings
        .iter()
        .max_by_key(|finding| (Urgency::at(finding, now), std::cmp::Reverse(finding.check)))?;
    let urgency = Urgency::at(worst, now);
    let is_core = |finding: &&&Finding| {
        Urgency::at(finding, now) == urgency
            && (finding.check == worst.check || is_incomplete(worst.check) && is_incomplete(finding.check))
    };
    let core: Vec<&&Finding> = findings.iter().filter(is_core).collect();
    let number = number_of(&core);
    // Those that go out in part are the worse of the two, and stand for both.
    let is_mixed = core.iter().any(|finding| finding.check != worst.check);
    let mut lead = match is_mixed {
        true => Lead(vec![Part {
            is_for: Use::Worst,
            sentence: format!("{number} orders go out incomplete or not at all"),
            subject: format!("{number} orders incomplete or not sent"),
        }]),
        false => Lead::new(phrase(worst.check, number)),
    };
    let first = core.iter().filter_map(|finding| finding.act_before).min();
    match (urgency, first) {
        (Urgency::Now, Some(first)) => {
            lead = lead.and(Use::Deadline, format!(", act by {}", clock.in_a_sentence(first)));
        }
        (Urgency::Repair, _) => lead = lead.and(Use::Deadline, ", past the cut-off"),
        _ => {}
    }
    let others = number_of(findings) - number;
    if others > 0 {
        lead = lead.and_more(format!("; {}", count(others, "more thing", "more things")));
    }
    Some(lead)
}

#[cfg(test)]
mod tests {
    use model::Check;

    use super::*;

    #[test]
    fn a_subject_is_made_of_whole_parts_and_the_worst_stand_first() {
        let by = ", act by 15:00 today";
        let day = NaiveDate::from_ymd_opt(2026, 11, 25);
        let lead = |worst: &str| Lead::new(worst).and(Use::Deadline, by).and_more("; 18 more things");
        for (lead, sentence, subject) in [
            (
                lead("9 orders go out incomplete"),
                "9 orders go out incomplete, act by 15:00 today; 18 more things.",
                "9 orders go out incomplete, act by 15:00 today; 18 more things",
            ),
            (
                lead("9 orders go out incomplete").in_doubt(),
                "9 orders go out incomplete, act by 15:00 today; 18 more things; not all is known yet.",
                "9 orders go out incomplete, act by 15:00 today; not all is known",
            ),
            (
                lead("9 supplier orders are for something cancelled").in_doubt(),
                "9 supplier orders are for something cancelled, act by 15:00 today; 18 more things; not all is known yet.",
                "9 supplier orders are for something cancelled, act by 15:00 today",
            ),
            (
                Lead::new("All is well: 120 orders checked").and_more(", 12 items to be sent yet"),
                "All is well: 120 orders checked, 12 items to be sent yet.",
                "All is well: 120 orders checked, 12 items to be sent yet (Wed 25 Nov)",
            ),
        ] {
            assert_eq!(lead.sentence(), sentence);
            assert_eq!(lead.subject(day), subject);
        }
    }

    #[test]
    fn of_whatever_is_worst_the_subject_has_room_for_the_deadline_and_without_one_for_the_doubt() {
        for check in Check::ALL {
            for number in [1, 9_999] {
                let worst = Lead::new(phrase(*check, number));
                let past = worst.clone().and(Use::Deadline, ", past the cut-off").subject(None);
                assert!(past.ends_with("past the cut-off"), "{past}");
                let doubt = worst.in_doubt().subject(None);
                assert!(doubt.ends_with("not all is known"), "{doubt}");
            }
        }
    }
}
