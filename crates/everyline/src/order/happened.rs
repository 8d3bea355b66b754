//! What happened to an order, in the order in which it was seen, in everyday words.
//!
//! Must not know how changes are kept, or how it is laid out. Start reading at [`timeline`].

use ledger::Entry;
use model::When;
use web::view::{Entry as Happened, Moment, Timeline, Words};

use super::Shown;
use super::found::served;
use crate::layout::{count, outside};
use crate::times::Times;

/// How many changes are shown at most, the latest: what somebody can read through.
const AT_MOST: usize = 100;

/// Under which source the ledger has what a round found, and what the owner said.
const ROUND: &str = "round";
const OWNER: &str = "owner";

/// What happened, the latest of it.
pub fn timeline(shown: &Shown) -> Timeline {
    let said = said(shown);
    let hidden = said.len().saturating_sub(AT_MOST);
    Timeline { in_all: said.len() as u64, entries: said.into_iter().skip(hidden).collect() }
}

/// When, and what.
fn said(shown: &Shown) -> Vec<Happened> {
    let entries = &shown.history.timeline;
    // Lines that appear with what they belong to are counted with it.
    let mut with_it = vec![0; entries.len()];
    let mut is_counted = vec![false; entries.len()];
    for (index, entry) in entries.iter().enumerate() {
        let same = entries[..index].iter().enumerate().rev();
        let mut same = same.take_while(|(_, other)| came_with(other, entry));
        if let Some((of, _)) = same.find(|(_, of)| appears_with(of, entry)) {
            with_it[of] += 1;
            is_counted[index] = true;
        }
    }
    let rest = entries.iter().zip(with_it).zip(is_counted).filter(|(_, is_counted)| !is_counted);
    rest.filter_map(|((entry, lines), _)| {
        let who = match entry.source.as_str() {
            ROUND | OWNER => String::new(),
            source => format!("{}: ", outside(source)),
        };
        let what = what(shown, entry)?;
        let lines = match lines {
            0 => String::new(),
            lines => format!(", with {}", count(lines, "line", "lines")),
        };
        let at = Moment::said(entry.seen_at, shown.times.at(entry.seen_at));
        Some(Happened { at, words: Words::ours(format!("{who}{what}{lines}")) })
    })
    .collect()
}

/// Whether two entries were seen in the same answer.
fn came_with(one: &Entry, other: &Entry) -> bool {
    (one.seen_at, &one.source) == (other.seen_at, &other.source)
}

/// Whether two entries say that an order, supplier order or parcel appeared, and a line of it.
fn appears_with(of: &Entry, line: &Entry) -> bool {
    let is_line_of = matches!(
        (of.noun.as_str(), line.noun.as_str()),
        ("order", "order_line") | ("submission", "submission_line") | ("parcel", "parcel_line")
    );
    let appears = |entry: &Entry| entry.field == "row" && entry.became.is_some();
    is_line_of && appears(of) && appears(line) && line.ids.starts_with(&of.ids)
}

/// What an entry says; `None` where it says nothing that anybody would read.
fn what(shown: &Shown, entry: &Entry) -> Option<String> {
    let ids: Vec<String> = entry.ids.iter().map(|id| outside(id)).collect();
    let (was, became) = (entry.was.as_deref(), entry.became.as_deref());
    let subject = match (entry.noun.as_str(), &ids[..]) {
        ("order", _) => "the order".to_owned(),
        ("order_line", [_, line]) => format!("line {line}"),
        ("submission", [_, id]) => format!("supplier order {id}"),
        ("submission_line", [_, id, line]) => format!("line {line} of supplier order {id}"),
        ("parcel", [_, id]) => format!("parcel {id}"),
        ("parcel_line", [_, id, line]) => format!("what of line {line} is in parcel {id}"),
        ("tie", [_, line, supplier, submission, submission_line]) => {
            let submission_line = Some(submission_line.as_str()).filter(|line| !line.is_empty());
            let what = served(submission_line, submission, supplier, line);
            return Some(match (became, entry.source.as_str()) {
                (Some(_), OWNER) => format!("you said that {what}"),
                (Some(_), _) => format!("it says that {what}"),
                (None, OWNER) => format!("you took back that {what}"),
                (None, _) => format!("it no longer says that {what}"),
            });
        }
        ("finding", [_, id]) => return Some(of_finding(shown, id, entry)),
        _ => return None,
    };
    let said = match (entry.field.as_str(), was, became) {
        ("row", _, Some(_)) => "appeared".to_owned(),
        ("row", _, None) => "is gone".to_owned(),
        ("status", was, became) => went("", was, became),
        ("paid_at", None, Some(at)) => format!("was paid {}", when(at, &shown.times)),
        ("paid_at", Some(_), None) => "is no longer paid".to_owned(),
        ("ship_to_digest", Some(_), Some(_)) => "goes to another address than before".to_owned(),
        ("ship_to_digest", None, Some(_)) => "has an address now".to_owned(),
        ("ship_to_digest", ..) => "has no address any more".to_owned(),
        ("paid_at" | "promised_by" | "dispatched_at", was, became) => {
            let told = |text: &str| when(text, &shown.times);
            went_as(name(&entry.field), was.map(told), became.map(told))
        }
        (field, was, became) => went(name(field), was, became),
    };
    Some(format!("{subject} {said}"))
}

/// What a field is called.
fn name(field: &str) -> &str {
    match field {
        "paid_at" => "payment",
        "promised_by" => "promise",
        "dispatched_at" => "dispatch",
        "cancelled_quantity" => "cancelled quantity",
        "order_ref" => "order reference",
        "variant_id" => "variant",
        "sku" => "SKU",
        other => other,
    }
}

fn went(name: &str, was: Option<&str>, became: Option<&str>) -> String {
    went_as(name, was.map(outside), became.map(outside))
}

/// `went from received to held`, `has another quantity: 2 instead of 1`, …
fn went_as(name: &str, was: Option<String>, became: Option<String>) -> String {
    match (name, was, became) {
        ("", was, became) => {
            let none = || "no status of its own".to_owned();
            format!("went from {} to {}", was.unwrap_or_else(none), became.unwrap_or_else(none))
        }
        (name, Some(was), Some(became)) => format!("has another {name}: {became} instead of {was}"),
        (name, None, Some(became)) => format!("has the {name} {became} now"),
        (name, Some(was), None) => format!("no longer has the {name} {was}"),
        (name, None, None) => format!("has another {name}"),
    }
}

/// `found: part-sent (k3jq7x2mzp4a)`, `you set aside part-sent (k3jq7x2mzp4a): they know`, …
fn of_finding(shown: &Shown, id: &str, entry: &Entry) -> String {
    let kept = shown.history.findings.iter().find(|kept| kept.id == id);
    let name = kept.map_or_else(|| id.to_owned(), |kept| format!("{} ({id})", kept.check));
    match (entry.field.as_str(), entry.became.as_deref(), entry.source.as_str()) {
        ("set_aside", Some(note), _) => format!("you set aside {name}: {}", outside(note)),
        ("set_aside", None, OWNER) => format!("you took {name} back from what is set aside"),
        ("set_aside", None, _) => format!("no longer set aside: {name}"),
        (_, Some(_), _) => format!("found: {name}"),
        (_, None, _) => format!("settled: {name}"),
    }
}

/// A moment, or the beginning and the end of a day, as the ledger has it.
fn when(text: &str, times: &Times) -> String {
    let moment = |text: &str| chrono::DateTime::parse_from_rfc3339(text).ok().map(|at| at.to_utc());
    let read = match text.split_once('/') {
        None => moment(text).map(When::at),
        Some((begins, ends)) => {
            moment(begins).zip(moment(ends)).and_then(|(from, to)| When::between(from, to))
        }
    };
    read.map_or_else(|| outside(text), |when| times.when(when))
}
