//! `everyline source check`: what works of a source, step by step, and what to do about what does not.
//!
//! Must not know how a step is tried. Start reading at [`check`].

use std::collections::BTreeSet;
use std::path::Path;

use intake::source::declare::{Origin, Request, Service};
use intake::source::poll::{Checked, FieldSeen, Outcome, PollError, TableDeclared};

use super::rows::{Shown, tables};
use super::{Meant, counted, is_silent, title_of, under, words};
use crate::exit::Exit;
use crate::terminal::write_data;
use crate::trouble::Trouble;

/// What stands before the second and every further line of a step.
const BESIDE: &str = "              ";

/// How many rows that cannot be read are shown.
const SHOWN_ROWS: usize = 20;

/// Tries a source. Each request is said as soon as it has been tried: a slow source takes its time.
///
/// # Errors
/// Where standard output cannot be written.
pub async fn check(meant: &Meant) -> Result<Exit, Trouble> {
    match &meant.source.origin {
        Origin::Service(service) => of_service(meant, service).await,
        Origin::Folder(folder) | Origin::Exports(folder, _) => of_folder(meant, folder).await,
    }
}

async fn of_service(meant: &Meant, service: &Service) -> Result<Exit, Trouble> {
    write_data(&under(&format!("{}, at {}", meant.title(), service.address), "", "  "))?;
    let secret = match words::secret(service) {
        Ok(Some(place)) => format!("works: {place}"),
        Ok(None) if service.sign_in.is_some() => "none is needed, for the client is a public one".to_owned(),
        Ok(None) => "none is needed, for no sign_in is declared".to_owned(),
        Err((what, to_do)) => return not_asked(&fails("secret", &what, &to_do)),
    };
    write_data(&step("secret", &secret))?;
    let reader = match meant.reader(service) {
        Ok(reader) => reader,
        Err((what, to_do)) => return not_asked(&fails("asking", &what, &to_do)),
    };
    let mut tally = Tally { requests: service.requests.len(), ..Tally::default() };
    for request in &service.requests {
        let steps = reader.check_request(request).await;
        write_data(&of_request(meant, request, &steps, service.sign_in.is_some()))?;
        let error = tally.add(&steps);
        if error.is_some_and(is_silent) {
            break;
        }
    }
    let rest: Vec<&str> =
        service.requests.iter().skip(tally.seen).map(|request| request.name.as_str()).collect();
    if !rest.is_empty() {
        let text = format!("Not tried, for the source does not answer: {}", rest.join(", "));
        write_data(&format!("\n{}", under(&text, "", "  ")))?;
    }
    write_data(&format!("\n{}", under(&tally.verdict(), "", "")))?;
    Ok(if tally.failed == 0 { Exit::Nothing } else { Exit::Incomplete })
}

fn not_asked(why: &str) -> Result<Exit, Trouble> {
    write_data(&format!("{why}\nNothing was asked for.\n"))?;
    Ok(Exit::Incomplete)
}

/// How many requests there are, and what became of them.
#[derive(Default)]
struct Tally {
    requests: usize,
    /// Whose turn came.
    seen: usize,
    work: usize,
    failed: usize,
    fields_in_none: usize,
    /// Tables of which the first page has no record.
    tables_in_none: BTreeSet<&'static str>,
}

impl Tally {
    /// Counts a request in. Answers what failed.
    fn add<'s>(&mut self, steps: &'s [Checked]) -> Option<&'s PollError> {
        self.seen += 1;
        let (mut is_read, mut error) = (false, None);
        for Checked { outcome, .. } in steps {
            match outcome {
                Outcome::Fails(failed) => error = Some(failed),
                Outcome::Seen(seen) => {
                    is_read = true;
                    let empty = seen.iter().filter(|field| field.records == 0).map(|field| field.table);
                    self.tables_in_none.extend(empty);
                    self.fields_in_none += seen.iter().filter(|field| is_in_none(field)).count();
                }
                Outcome::Works(_) | Outcome::NotTried(_) => {}
            }
        }
        match error {
            Some(_) => self.failed += 1,
            None => self.work += usize::from(is_read),
        }
        error
    }

    fn verdict(&self) -> String {
        let Self { requests, work, failed, .. } = *self;
        let tables: Vec<&str> = self.tables_in_none.iter().copied().collect();
        let works = match (failed, requests) {
            (0, _) if !tables.is_empty() => &format!(
                "It answers, but nothing was found of {}: check where they are looked for",
                tables.join(" and ")
            ),
            (0, _) => "All works",
            (1, 1) => "The request does not work",
            (1, _) => &format!("1 of {requests} requests does not work"),
            _ => &format!("{failed} of {requests} requests do not work"),
        };
        let not_tried = match requests - work - failed {
            0 => "",
            1 => ", and 1 was not tried",
            count => &format!(", and {count} were not tried"),
        };
        let in_none = match self.fields_in_none {
            0 => "",
            1 => " 1 field is in none of the records that came.",
            count => &format!(" {count} fields are in none of the records that came."),
        };
        format!("{works}{not_tried}.{in_none}")
    }
}

fn of_request(meant: &Meant, request: &Request, steps: &[Checked], signs_in: bool) -> String {
    let mut text = title_of(request);
    for Checked { thing, outcome, .. } in steps {
        let name = thing.to_string();
        text += &match outcome {
            Outcome::Works(None) => step(&name, "works"),
            Outcome::Works(Some(clause)) => step(&name, &format!("works: {clause}")),
            Outcome::NotTried(why) => step(&name, &format!("not tried: {why}")),
            Outcome::Fails(error) => {
                let (what, to_do) = words::of(error, signs_in, meant.settings.zone);
                fails(&name, &what, &to_do)
            }
            Outcome::Seen(seen) => fields(&name, request, seen),
        };
    }
    text
}

/// Whether a field is in none of the records, though there are some.
fn is_in_none(field: &FieldSeen) -> bool {
    field.known == 0 && field.records > 0
}

/// Table by table: in how many of its records each field is.
fn fields(name: &str, request: &Request, seen: &[FieldSeen]) -> String {
    let mut text = String::new();
    let widest = seen.iter().map(|field| field.column.len()).max().unwrap_or_default();
    for TableDeclared { table, records_at, columns, .. } in request.declared() {
        let own: Vec<&FieldSeen> = seen.iter().filter(|field| field.table == table).collect();
        let records = own.first().map_or(0, |field| field.records);
        let title = match records {
            0 => format!("{table}: no records; looked for at {records_at}"),
            _ => format!("{table}: {}", counted(records, "record", "records")),
        };
        text += &match text.is_empty() {
            true => step(name, &title),
            false => under(&title, BESIDE, &format!("{BESIDE}  ")),
        };
        for field in own.into_iter().filter(|_| records > 0) {
            let at = columns.iter().find(|(column, _)| *column == field.column);
            let count = match (field.known, at) {
                (0, Some((_, Some(at)))) => format!("in none; looked for at {at}"),
                (0, _) => "in none".to_owned(),
                (_, Some((_, None))) => "the same in all".to_owned(),
                (known, _) if known == records => "in all".to_owned(),
                (known, _) => format!("in {known}"),
            };
            let first = format!("{BESIDE}  {:widest$}  ", field.column);
            text += &under(&count, &first, &" ".repeat(first.len()));
        }
    }
    if seen.iter().any(is_in_none) {
        text += &under(
            "What is in none may stand elsewhere: compare the path with what the source documents.",
            BESIDE,
            BESIDE,
        );
    }
    text
}

/// `  first page  works: 40 records`.
fn step(name: &str, said: &str) -> String {
    under(said, &format!("  {name:<10}  "), BESIDE)
}

fn fails(name: &str, what: &str, to_do: &str) -> String {
    let what = step(name, &format!("does not work: {what}."));
    what + &under(to_do, &format!("{BESIDE}-> "), &format!("{BESIDE}   "))
}

async fn of_folder(meant: &Meant, folder: &Path) -> Result<Exit, Trouble> {
    let mut text = under(&format!("{}, in the folder {}", meant.title(), folder.display()), "", "  ");
    let read = match meant.folder(folder).await {
        Ok(read) => read,
        Err(error) => {
            let step = step("folder", &format!("does not work: {error}"));
            write_data(&format!("{text}{step}\nThe folder cannot be read as it is.\n"))?;
            return Ok(Exit::Incomplete);
        }
    };
    text += &step("folder", "works: it is there");
    let tables = tables(&read.book, 0, meant.settings.zone);
    let widest = tables.iter().map(|shown| shown.table.len()).max().unwrap_or_default();
    for (number, Shown { table, count, .. }) in tables.iter().enumerate() {
        let name = if number == 0 { "tables" } else { "" };
        text += &step(name, &format!("{table:widest$}  {}", counted(*count, "row", "rows")));
    }
    for notice in &read.notices {
        text += &step("note", &notice.text);
    }
    if read.bad_row_count > 0 {
        let bad = match read.bad_row_count {
            1 => "1 row cannot be read:".to_owned(),
            count => format!("{count} rows cannot be read:"),
        };
        text += &step("bad rows", &bad);
        for row in read.bad_rows.iter().take(SHOWN_ROWS) {
            text += &under(&row.to_string(), &format!("{BESIDE}- "), &format!("{BESIDE}  "));
        }
        if read.bad_row_count > SHOWN_ROWS as u64 {
            let more = format!("showing {SHOWN_ROWS} of {}", read.bad_row_count);
            text += &under(&more, &format!("{BESIDE}  "), BESIDE);
        }
    }
    let verdict = match read.bad_row_count {
        0 => "All works.",
        _ => "Nothing of the folder is used by `everyline watch` as long as rows of it cannot be read.",
    };
    write_data(&format!("{text}\n{}", under(verdict, "", "")))?;
    Ok(if read.bad_row_count == 0 { Exit::Nothing } else { Exit::Incomplete })
}
