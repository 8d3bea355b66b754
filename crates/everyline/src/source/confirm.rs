//! `everyline source confirm`: what a proposed mapping leaves open is asked, and written into it.
//!
//! Only what is asked is changed; the rest of the file stays as it is, with its comments. Must not know how a mapping is
//! found, or what a question changes (`propose::points`). Start reading at [`confirm`].

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, BufRead, IsTerminal, Write as _};
use std::path::{Path, PathBuf};

use intake::propose::{Answers, ListPlace, Proposal, ProposedRole, completed};
use intake::source::declare::{Origin, Role, Source};
use toml_edit::DocumentMut;

use super::samples::write;
use crate::arguments::ConfirmArguments;
use crate::configuration::Configuration;
use crate::exit::Exit;
use crate::opened;
use crate::propose::points::{Question, missing, open, question, question_of_table, settle, settle_tables};
use crate::propose::{self, Samples, service};
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;

/// Asks what a mapping leaves open.
///
/// # Errors
/// Where the mapping or its files cannot be read or written.
pub fn confirm(asked: &ConfirmArguments) -> Result<Exit, Trouble> {
    let text = read(&asked.map)?;
    // A mapping that lacks what is open is none yet; what it is of stands there all the same.
    let configuration = Configuration::of_text(&completed(&text), &asked.map)?;
    let (shop, settings) = configuration.shop(None)?;
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| {
        Trouble::new(
            format!("the mapping {} cannot be used", asked.map.display()),
            error.message().to_owned(),
        )
    })?;
    let is_terminal = io::stdin().is_terminal() && io::stdout().is_terminal();
    let mut left = 0;
    let has_files = settings
        .sources
        .values()
        .any(|source| matches!(source.origin, Origin::Exports(..) | Origin::Service(_)));
    if !has_files {
        let cause = format!("{} has no source that is files, or is asked", asked.map.display());
        return Err(Trouble::new("the mapping cannot be used", cause)
            .help("`everyline source propose` writes one from a sample, or from addresses"));
    }
    for (name, source) in &settings.sources {
        let again = |lists: &BTreeMap<String, Option<ListPlace>>| {
            proposal(asked, name.as_str(), source, settings.zone, lists.clone())
        };
        let proposal = match &source.origin {
            Origin::Folder(_) => continue,
            Origin::Exports(..) => again(&BTreeMap::new())?,
            Origin::Service(_) => {
                let asking = service::proposed_again((shop, settings), name, source, asked.beside.as_deref());
                opened::run(asking)?
            }
        };
        if is_terminal {
            let (proposal, tables) = settle_tables(&mut document, proposal, &mut ask, &again)?;
            left += tables + settle(&mut document, &proposal, &mut ask)?;
        } else {
            for table in missing(&document, &proposal) {
                left += usize::from(table.is_needed);
                let asked = question_of_table(table);
                write_data(&format!("{}\n", asked.text))?;
                for (label, _) in asked.choices {
                    write_data(&format!("  {label}\n"))?;
                }
            }
            for field in open(&document, &proposal) {
                left += 1;
                write_data(&format!("{}\n", question(field).text))?;
            }
        }
    }
    if is_terminal {
        let new = document.to_string();
        // What was said must make a mapping that can be used, but for what is still open.
        let whole = if left == 0 { new.clone() } else { completed(&new) };
        Configuration::parse(&whole, &asked.map.display().to_string())?;
        write(&asked.map, &new)?;
    }
    if left == 0 {
        let map = asked.map.display();
        let is_asked = settings.sources.values().any(|source| matches!(source.origin, Origin::Service(_)));
        let next = match is_asked {
            true => format!("everyline watch --config {map}"),
            false => format!("everyline audit --from DIR --map {map}"),
        };
        tell(&format!("nothing is open; next: {next}"));
        return Ok(Exit::Nothing);
    }
    let points = if left == 1 { "1 point stays".to_owned() } else { format!("{left} points stay") };
    let help = if is_terminal { "" } else { "; run it in a terminal to be asked" };
    tell(&format!("{points} open{help}"));
    Ok(Exit::Incomplete)
}

fn read(map: &Path) -> Result<String, Trouble> {
    fs::read_to_string(map)
        .map_err(|error| Trouble::new(format!("the mapping {} could not be read", map.display()), error))
}

/// What would be proposed for the files that the mapping reads.
fn proposal(
    asked: &ConfirmArguments,
    name: &str,
    source: &Source,
    zone: chrono_tz::Tz,
    lists: BTreeMap<String, Option<ListPlace>>,
) -> Result<Proposal, Trouble> {
    let Origin::Exports(folder, _) = &source.origin else {
        return Err(Trouble::new("nothing was confirmed", "the source is not files"));
    };
    let files: Vec<PathBuf> = propose::files_in(folder, source)?;
    let role = match &source.role {
        Role::Storefront => ProposedRole::Storefront,
        Role::Supplier(name) => ProposedRole::Supplier(name.to_string()),
    };
    propose::propose(&Samples {
        files: &files,
        name: Some(name),
        role,
        zone: (zone != chrono_tz::Tz::UTC).then_some(zone),
        out: Some(&asked.map),
        beside: asked.beside.as_deref(),
        named_in: if matches!(source.role, Role::Storefront) { &asked.named_in } else { &[] },
        answers: Answers { lists, ..Answers::default() },
    })
}

/// Asks on the terminal. An empty answer leaves it open.
fn ask(question: &Question) -> Result<Option<String>, Trouble> {
    let trouble = |error: io::Error| Trouble::new("nothing was confirmed", error);
    let mut out = io::stdout().lock();
    writeln!(out, "\n{}", question.text).map_err(trouble)?;
    for (number, (label, value)) in question.choices.iter().enumerate() {
        let value = if label == value { String::new() } else { format!(": {value}") };
        writeln!(out, "  {}  {label}{value}", number + 1).map_err(trouble)?;
    }
    write!(out, "A number, a column or a JSONPath; nothing leaves it open: ").map_err(trouble)?;
    out.flush().map_err(trouble)?;
    let mut line = String::new();
    io::stdin().lock().read_line(&mut line).map_err(trouble)?;
    let said = line.trim();
    let chosen = said.parse::<usize>().ok().and_then(|number| question.choices.get(number.checked_sub(1)?));
    Ok(match chosen {
        Some((_, value)) => Some(value.clone()),
        None if said.is_empty() => None,
        None => Some(said.to_owned()),
    })
}
