//! `everyline source propose`, and `everyline source preview --map`: a mapping from samples, and samples by a mapping.
//!
//! Must not know how a mapping is found or read. Start reading at [`propose`].

use std::fs;
use std::io::Write as _;
use std::path::Path;

use intake::propose::{Answers, How, Proposal, ProposedRole, text};
use serde_json::{Map, Value, json};

use super::rows::tables;
use super::{preview, under};
use crate::arguments::{ListFormat, PreviewArguments, ProposeArguments, ProposeFormat, RoleName};
use crate::exit::Exit;
use crate::propose::{self, Samples};
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;

/// The name of a supplier of which none was said.
const SUPPLIER: &str = "supplier";

/// Proposes a mapping for samples.
///
/// # Errors
/// Where a sample cannot be read, or the mapping cannot be written.
pub fn propose(asked: &ProposeArguments) -> Result<Exit, Trouble> {
    may_be_written(asked)?;
    let zone = asked.zone.as_deref().map(zone).transpose()?;
    let role = role(asked)?;
    let samples = Samples {
        files: &asked.samples,
        name: asked.name.as_deref(),
        role,
        zone,
        out: asked.out.as_deref(),
        beside: asked.beside.as_deref(),
        named_in: &asked.named_in,
        answers: answers(&asked.answers)?,
    };
    let proposal = propose::propose(&samples)?;
    let mapping = text(&proposal);
    if let Some(out) = &asked.out {
        write(out, &mapping)?;
    }
    match (asked.format, &asked.out) {
        (ProposeFormat::Json, _) => write_data(&list(&proposal))?,
        (ProposeFormat::Text, None) => write_data(&mapping)?,
        (ProposeFormat::Text, Some(out)) => write_data(&summary(&proposal, out, asked))?,
    }
    Ok(Exit::Nothing)
}

/// Whether the file of --out may be written, as far as can be told before.
pub(super) fn may_be_written(asked: &ProposeArguments) -> Result<(), Trouble> {
    match &asked.out {
        Some(out) if out.exists() && !asked.replace && !asked.add => {
            Err(Trouble::new("no mapping was proposed", format!("{} is there already", out.display())).help(
                "give another name after --out, or --replace to write over it; --add adds the source of addresses to it",
            ))
        }
        _ => Ok(()),
    }
}

/// What is asked to be a source of what.
pub(super) fn role(asked: &ProposeArguments) -> Result<ProposedRole, Trouble> {
    match asked.role {
        RoleName::Storefront if asked.supplier.is_some() => {
            Err(Trouble::new("no mapping was proposed", "--supplier is for --role supplier")
                .help("leave it out, or say --role supplier"))
        }
        RoleName::Storefront => Ok(ProposedRole::Storefront),
        RoleName::Supplier => {
            Ok(ProposedRole::Supplier(asked.supplier.clone().unwrap_or_else(|| SUPPLIER.into())))
        }
    }
}

/// What was said before of columns and words.
pub(super) fn answers(said: &[String]) -> Result<Answers, Trouble> {
    let mut answers = Answers::default();
    for text in said {
        let unclear = || {
            Trouble::new("no mapping was proposed", format!("--answer is {text:?}")).help(
                "say TABLE.COLUMN=PLACE, or TABLE.COLUMN:WORD=MEANING, such as orders.status:waiting=open",
            )
        };
        let at = text.find([':', '=']).ok_or_else(unclear)?;
        let (column, rest) = text.split_at(at);
        let (word, meaning) = match rest.strip_prefix(':') {
            // A word may have any sign in it, what it means has none.
            Some(rest) => {
                rest.rsplit_once('=').map(|(word, meaning)| (Some(word), meaning)).ok_or_else(unclear)?
            }
            None => (None, rest.trim_start_matches('=')),
        };
        let is_column =
            column.split_once('.').is_some_and(|(table, column)| !table.is_empty() && !column.is_empty());
        if !is_column {
            return Err(unclear());
        }
        match word {
            Some(word) => {
                let words = answers.words.entry(column.to_owned()).or_default();
                words.insert(word.to_owned(), meaning.to_owned());
            }
            None => {
                answers.places.insert(column.to_owned(), meaning.to_owned());
            }
        }
    }
    Ok(answers)
}

pub(super) fn zone(text: &str) -> Result<chrono_tz::Tz, Trouble> {
    text.parse().map_err(|_| {
        Trouble::new("no mapping was proposed", format!("--zone is {text:?}, which is no time zone"))
            .help("give a name of the IANA time zone database, such as Europe/Oslo")
    })
}

/// Writes a file so that it is there as a whole or, where that fails, as it was.
pub(super) fn write(file: &Path, text: &str) -> Result<(), Trouble> {
    let trouble = |error: std::io::Error| {
        Trouble::new(format!("the mapping {} could not be written", file.display()), error)
            .help("check that its folder is there and that you may write into it")
    };
    let mut name = file.file_name().unwrap_or_default().to_owned();
    name.push(".new");
    let beside = file.with_file_name(name);
    let written = fs::File::create(&beside).and_then(|mut new| {
        new.write_all(text.as_bytes())?;
        new.sync_all()
    });
    written.and_then(|()| fs::rename(&beside, file)).map_err(|error| {
        let _ = fs::remove_file(&beside);
        trouble(error)
    })
}

/// The fields, one object for each.
fn list(proposal: &Proposal) -> String {
    let text = serde_json::to_string_pretty(&fields(proposal)).unwrap_or_default();
    text + "\n"
}

/// The fields, one object for each.
pub(super) fn fields(proposal: &Proposal) -> Vec<Value> {
    proposal
        .fields()
        .map(|field| {
            let at = match field.places.as_slice() {
                [] => Value::Null,
                [one] => Value::from(one.as_str()),
                several => Value::from(several),
            };
            let mut entry = Map::new();
            entry.insert("table".into(), field.table.into());
            entry.insert("column".into(), field.column.into());
            entry.insert("file".into(), field.file.as_str().into());
            entry.insert("at".into(), at);
            entry.insert("how".into(), field.how.word().into());
            entry.insert("why".into(), field.why.as_str().into());
            if let Some(question) = &field.question {
                entry.insert("question".into(), question.as_str().into());
            }
            Value::Object(entry)
        })
        .collect()
}

/// What was found, for somebody who looks at the screen.
fn summary(proposal: &Proposal, out: &Path, asked: &ProposeArguments) -> String {
    let mut next = format!("everyline source confirm --map {}", out.display());
    if let Some(beside) = &asked.beside {
        next += &format!(" --beside {}", beside.display());
    }
    for file in &asked.named_in {
        next += &format!(" --named-in {}", file.display());
    }
    let mut text = of_fields(proposal);
    for note in &proposal.notes {
        text += &under(note, "", "");
    }
    text += &under(&written(proposal, out), "", "");
    text += &under(&format!("Next: {next}"), "", "");
    text
}

/// `Written to till.toml: 2 likely, to be looked at; 1 open, and what 3 words mean, to be said.`
pub(super) fn written(proposal: &Proposal, out: &Path) -> String {
    let open = proposal.fields().filter(|field| field.how == How::Open).count();
    let likely = proposal.fields().filter(|field| field.how == How::Likely).count();
    let words: usize =
        proposal.fields().filter(|field| field.how != How::Open).map(|field| field.unknown_words.len()).sum();
    let words = match words {
        0 => String::new(),
        1 => ", and what 1 word means".to_owned(),
        _ => format!(", and what {words} words mean"),
    };
    format!("Written to {}: {likely} likely, to be looked at; {open} open{words}, to be said.", out.display())
}

/// Table by table, each field with its place and its reason.
pub(super) fn of_fields(proposal: &Proposal) -> String {
    let mut text = String::new();
    for request in &proposal.requests {
        for table in &request.tables {
            text += &under(&format!("{}, in {}", table.table, file_of(table)), "", "  ");
            let widest = table.fields.iter().map(|field| field.column.len()).max().unwrap_or_default();
            for field in &table.fields {
                let first = format!("  {:6}  {:widest$}  ", field.how.word(), field.column);
                let places = field.places.join(", ");
                let places = if places.is_empty() { "-".to_owned() } else { places };
                let said = match &field.question {
                    Some(question) => format!("{places}: {question}"),
                    None => format!("{places}: {}", field.why),
                };
                text += &under(&said, &first, &" ".repeat(first.len()));
            }
            text.push('\n');
        }
    }
    text
}

fn file_of(table: &intake::propose::ProposedTable) -> String {
    table.fields.first().map(|field| field.file.clone()).unwrap_or_default()
}

/// Shows the first records of samples as a mapping reads them.
///
/// # Errors
/// Where the mapping or a sample cannot be read.
pub fn preview(map: &Path, asked: &PreviewArguments) -> Result<Exit, Trouble> {
    let (settings, folder) = propose::preview(map, &asked.samples)?;
    match asked.format {
        ListFormat::Jsonl => write_data(&lines(&folder.book, asked.records)?)?,
        ListFormat::Table => {
            let mut text = under("As everyline reads it. Nothing of this is kept.", "", "");
            for shown in tables(&folder.book, asked.records, settings.zone) {
                if shown.count > 0 {
                    text += &preview::of_filled(&shown, "in the samples");
                }
            }
            write_data(&text)?;
        }
    }
    for notice in &folder.notices {
        tell(&format!("note: {}", notice.text));
    }
    if folder.bad_row_count == 0 {
        return Ok(Exit::Nothing);
    }
    let rows: Vec<String> = folder.bad_rows.iter().take(20).map(ToString::to_string).collect();
    let cause =
        format!("{} of {} rows cannot be read:\n{}", folder.bad_row_count, folder.rows_read, rows.join("\n"));
    tell(
        &Trouble::new("the samples are not read in full", cause)
            .help("settle what the mapping leaves open with `everyline source confirm`, or correct it")
            .to_string(),
    );
    Ok(Exit::Incomplete)
}

/// The first records of each table, one JSON object a line, as exchange files have them.
fn lines(book: &model::Book, records: usize) -> Result<String, Trouble> {
    let trouble = |error: std::io::Error| Trouble::new("the records could not be written", error);
    let folder = tempfile::tempdir().map_err(trouble)?;
    simshop::write_jsonl(book, folder.path()).map_err(trouble)?;
    let mut text = String::new();
    for table in tables(book, 0, chrono_tz::Tz::UTC).into_iter().map(|shown| shown.table) {
        let Ok(rows) = fs::read_to_string(folder.path().join(format!("{table}.jsonl"))) else { continue };
        for row in rows.lines().take(records) {
            let Ok(Value::Object(row)) = serde_json::from_str(row) else { continue };
            let mut line = Map::from_iter([("table".to_owned(), json!(table))]);
            line.extend(row);
            text += &Value::Object(line).to_string();
            text.push('\n');
        }
    }
    Ok(text)
}
