//! What was found of an address as lines of configuration, with the reasons beside them.
//!
//! Must not know how it was found. Start reading at [`way`].

use super::answer::CountAt;
use super::changes::Changing;
use super::pages::{Paged, Style};
use super::{MAX_REQUESTS, Seen, Way, count};
use crate::propose::{comment, key, quoted};
use crate::source::http::Trouble;

/// What was found of an address, for the request of this name.
pub(super) fn way(request: &str, one: &Seen<'_>, stopped: Option<&Trouble>) -> Way {
    let mut notes = Vec::new();
    let mut set: Vec<String> = Vec::new();
    let not_tried = match stopped {
        Some(trouble) => format!("the service was not asked on: {trouble}"),
        None => format!("the {MAX_REQUESTS} requests that are made at most were used up"),
    };
    let pages = match &one.paged {
        Some(Paged::Proven(proven)) => {
            set.extend(proven.style.asks().into_iter().map(str::to_owned));
            let what = match proven.style {
                Style::Offset { .. } => "and goes on from the last record of the first one",
                _ => "and holds none that the first one has",
            };
            notes.push(format!(
                "Pages: the next page was asked for, has {}, {what}.",
                counted(proven.records)
            ));
            Some(proven.style.toml())
        }
        Some(Paged::Whole(why)) => {
            notes.push(format!("No pages: {why}, so that one answer is all."));
            None
        }
        Some(Paged::NotFound(why)) => {
            notes.push(format!(
                "PAGES ARE MISSING: {why}, but no way to the next page was found. Until `pages` says it, only the first \
                 page is read; look for it in what the service documents."
            ));
            None
        }
        Some(Paged::NoSign) => {
            notes.push("No pages: nothing in the answer says that there are more records.".to_owned());
            None
        }
        Some(Paged::NotTried) | None => {
            notes.push(format!("Pages were not tried to the end: {not_tried}."));
            None
        }
    };
    let changes = match &one.changing {
        Some(Changing::Obeyed(obeyed)) => {
            let (came, of) = obeyed.came;
            set.push(obeyed.ask.clone());
            notes.push(format!(
                "Changes: asked with a time of change from the middle, it answered {came} instead of {of} records, none of \
                 them changed before, and all that are known to have changed later."
            ));
            Some(obeyed.toml())
        }
        Some(Changing::None(why)) => {
            notes.push(format!("Read whole at every poll: {why}."));
            None
        }
        Some(Changing::NotTried) | None => {
            notes.push(format!(
                "Read whole at every poll: how to ask for changes was not tried to the end, for {not_tried}."
            ));
            None
        }
    };
    let count = count(one).map(|at| match at {
        CountAt::Place(at) => format!("count = {}", quoted(&at)),
        CountAt::Header(header) => format!("count_header = {}", quoted(&header)),
    });
    let query = one.target.query.iter().filter(|(name, _)| !set.contains(name)).cloned().collect();
    Way { request: request.to_owned(), path: one.target.path.clone(), query, pages, changes, count, notes }
}

fn counted(records: usize) -> String {
    if records == 1 { "1 record".to_owned() } else { format!("{records} records") }
}

/// The keys of a request, with remarks.
pub(super) fn head(way: &Way) -> String {
    let mut head = format!("path = {}\n", quoted(&way.path));
    if !way.query.is_empty() {
        let pairs = way.query.iter().map(|(name, value)| format!("{} = {}", key(name), quoted(value)));
        head += &format!("query = {{ {} }}\n", pairs.collect::<Vec<_>>().join(", "));
    }
    for note in &way.notes {
        comment(&mut head, note);
    }
    if let Some(pages) = &way.pages {
        head += &format!("pages = {pages}\n");
    }
    if let Some(changes) = &way.changes {
        head += &format!("changes = {changes}\n");
    }
    if let Some(count) = &way.count {
        head += &format!("{count}\n");
    }
    head
}
