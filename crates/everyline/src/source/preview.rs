//! `everyline source preview`: the first records of a source in everyline's own columns, so that an owner sees whether
//! they are mapped rightly.
//!
//! Shows what is mapped and nothing else. Must not know how an answer is read. Start reading at [`preview`].

use std::path::Path;

use intake::source::declare::{Origin, Request, Service};
use intake::source::mapping::Mapped;
use intake::source::poll::{PollError, TableDeclared};

use super::rows::{Cells, Shown, tables};
use super::{Meant, counted, is_silent, title_of, under, which, words};
use crate::arguments::PreviewArguments;
use crate::exit::Exit;
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;

/// What is mapped and empty.
const NOT_KNOWN: &str = "not known";

/// How much of a value is shown, in characters.
const SHOWN_CHARACTERS: usize = 300;

/// Shows the first records of a source.
///
/// # Errors
/// Where there is no such request, or standard output cannot be written.
pub async fn preview(meant: &Meant, asked: &PreviewArguments) -> Result<Exit, Trouble> {
    match &meant.source.origin {
        Origin::Service(service) => of_service(meant, service, asked).await,
        Origin::Folder(folder) | Origin::Exports(folder, _) => of_folder(meant, folder, asked).await,
    }
}

async fn of_service(meant: &Meant, service: &Service, asked: &PreviewArguments) -> Result<Exit, Trouble> {
    let names: Vec<&str> = service.requests.iter().map(|request| request.name.as_str()).collect();
    let is_asked = |request: &&Request| asked.request.as_ref().is_none_or(|name| *name == request.name);
    let requests: Vec<&Request> = service.requests.iter().filter(is_asked).collect();
    if let (Some(name), true) = (&asked.request, requests.is_empty()) {
        let cause = format!("source {} has no request {name:?}", meant.name);
        return Err(Trouble::new("there is no such request", cause).help(which(name, &names)));
    }
    let reader = match meant.reader(service) {
        Ok(reader) => reader,
        Err((what, to_do)) => {
            tell(&Trouble::new(format!("source {} was not asked", meant.name), what).help(to_do).to_string());
            return Ok(Exit::Incomplete);
        }
    };
    write_data(&title(meant))?;
    let mut exit = Exit::Nothing;
    for request in requests {
        match reader.preview(request).await {
            Ok(page) => write_data(&of_request(meant, request, page.as_ref(), asked.records))?,
            Err(error) => {
                tell(&trouble(meant, service, request, &error).to_string());
                exit = Exit::Incomplete;
                if is_silent(&error) {
                    break;
                }
            }
        }
    }
    Ok(exit)
}

/// What is the matter with a request: itself, or the one that brings the rows for which it is asked.
fn trouble(meant: &Meant, service: &Service, request: &Request, error: &PollError) -> Trouble {
    let (what, to_do) = words::of(error, service.sign_in.is_some(), meant.settings.zone);
    let what = match error.place() {
        Some(place) if place.request != request.name => {
            format!("it is asked for the rows that request {} brings, and of that: {what}", place.request)
        }
        _ => what,
    };
    Trouble::new(format!("request {} could not be read", request.name), what).help(to_do)
}

fn title(meant: &Meant) -> String {
    let title = format!("{}, as everyline reads it. Nothing of this is kept.", meant.title());
    under(&title, "", "")
}

fn of_request(meant: &Meant, request: &Request, page: Option<&Mapped>, records: usize) -> String {
    let mut text = title_of(request);
    let Some(page) = page else {
        let why = "Nothing to show: it is asked for each row of another request, and that brings none now.";
        return text + &under(why, "  ", "  ");
    };
    let shown = tables(&page.rows, records, meant.settings.zone);
    for TableDeclared { table, columns, inherited, .. } in request.declared() {
        let Some(shown) = shown.iter().find(|shown| shown.table == table) else { continue };
        let is_shown =
            |column: &str| columns.iter().any(|(known, _)| *known == column) || inherited.contains(&column);
        text += &of_table(shown, "on the first page", is_shown);
    }
    text
}

async fn of_folder(meant: &Meant, folder: &Path, asked: &PreviewArguments) -> Result<Exit, Trouble> {
    if let Some(name) = &asked.request {
        let cause = format!("source {} is a folder, which has no requests such as {name:?}", meant.name);
        return Err(Trouble::new("there is no such request", cause).help("leave out --request"));
    }
    let read = match meant.folder(folder).await {
        Ok(read) => read,
        Err(error) => {
            tell(&Trouble::new("the folder could not be read", error).to_string());
            return Ok(Exit::Incomplete);
        }
    };
    let mut text = title(meant);
    for shown in tables(&read.book, asked.records, meant.settings.zone) {
        text += &of_filled(&shown, "in the folder");
    }
    write_data(&text)?;
    if read.bad_row_count == 0 {
        return Ok(Exit::Nothing);
    }
    let cause = match read.bad_row_count {
        1 => "1 row cannot be read".to_owned(),
        count => format!("{count} rows cannot be read"),
    };
    let help = format!("`everyline source check {}` says which, and why", meant.name);
    tell(&Trouble::new("the folder is not shown in full", cause).help(help).to_string());
    Ok(Exit::Incomplete)
}

/// A table of which nothing says which columns its files have; those that no row fills say nothing either.
pub(super) fn of_filled(shown: &Shown, place: &str) -> String {
    let is_filled =
        |column: &str| shown.first.iter().flatten().any(|(known, value)| *known == column && value.is_some());
    of_table(shown, place, is_filled)
}

fn of_table(shown: &Shown, place: &str, is_shown: impl Fn(&str) -> bool) -> String {
    let Shown { table, count, key, first } = shown;
    let mut title = format!("{table}: {} {place}", counted(*count, "record", "records"));
    if first.len() < *count {
        title += &match first.len() {
            0 => ", showing none".to_owned(),
            1 => ", showing the first by id".to_owned(),
            shown => format!(", showing the first {shown} by id"),
        };
    }
    let mut text = format!("\n{}", under(&title, "", "  "));
    for (number, cells) in first.iter().enumerate() {
        text += &of_record(table, number + 1, key, cells, &is_shown);
    }
    text
}

/// `orders, record 1: order_id 10001`, and a line for each column under it.
fn of_record(
    table: &str,
    number: usize,
    key: &[&str],
    cells: &Cells,
    is_shown: impl Fn(&str) -> bool,
) -> String {
    let (named_by, others): (Vec<_>, Vec<_>) = cells.iter().partition(|(column, _)| key.contains(column));
    let names: Vec<String> = named_by
        .into_iter()
        .map(|(column, value)| format!("{column} {}", cut(value.as_deref().unwrap_or(NOT_KNOWN))))
        .collect();
    let names = if names.is_empty() { String::new() } else { format!(": {}", names.join(", ")) };
    let mut text = format!("\n{}", under(&format!("{table}, record {number}{names}"), "  ", "    "));
    let others: Vec<_> = others.into_iter().filter(|(column, _)| is_shown(column)).collect();
    let widest = others.iter().map(|(column, _)| column.len()).max().unwrap_or_default();
    for (column, value) in others {
        let first = format!("    {column:widest$}  ");
        text += &under(&cut(value.as_deref().unwrap_or(NOT_KNOWN)), &first, &" ".repeat(first.len()));
    }
    text
}

fn cut(text: &str) -> String {
    match text.char_indices().nth(SHOWN_CHARACTERS) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
