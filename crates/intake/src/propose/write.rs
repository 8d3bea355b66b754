//! The mapping as the commented configuration that a person would have written.
//!
//! Must not know how it was found. Start reading at [`text`].

use std::fmt::Write as _;

use super::{How, Proposal, ProposedField, ProposedRequest, ProposedTable};

/// How wide a comment is.
const WIDTH: usize = 110;

/// A text in the quotes of TOML.
pub(crate) fn quoted(text: &str) -> String {
    if !text.contains('\'')
        && !text.chars().any(char::is_control)
        && (text.contains('"') || text.contains('\\'))
    {
        return format!("'{text}'");
    }
    toml::Value::String(text.to_owned()).to_string()
}

/// A key of TOML.
pub(crate) fn key(name: &str) -> String {
    let is_bare = |letter: char| letter.is_ascii_alphanumeric() || letter == '_' || letter == '-';
    if !name.is_empty() && name.chars().all(is_bare) { name.to_owned() } else { quoted(name) }
}

/// The whole file.
pub fn text(proposal: &Proposal) -> String {
    let look = "Look at it with `everyline source preview --map FILE --sample FILE`, settle what is open with \
                `everyline source confirm --map FILE`.";
    let mut text = opening(proposal, look);
    if let Some(zone) = proposal.zone {
        let _ = write!(text, "\nzone = {}\n", quoted(zone.name()));
    }
    text + &one_source(proposal)
}

/// The whole file of a source that is asked, or what is added to one, which has a zone of its own.
pub fn text_of_service(proposal: &Proposal, is_added: bool) -> String {
    let look = format!(
        "Try it with `everyline source check {0}`, look at it with `everyline source preview {0}`, settle what is open \
         with `everyline source confirm --map FILE`.",
        proposal.name
    );
    let mut text = opening(proposal, &look);
    if let Some(zone) = proposal.zone.filter(|_| !is_added) {
        let _ = write!(text, "\nzone = {}\n", quoted(zone.name()));
    }
    text + &one_source(proposal)
}

fn opening(proposal: &Proposal, look: &str) -> String {
    let mut text = String::new();
    let count = |how: How| proposal.fields().filter(|field| field.how == how).count();
    comment(
        &mut text,
        &format!(
            "A mapping that everyline proposes: {} fields sure, {} likely, {} open. {look} Every line may be changed; \
             `everyline print configuration` explains each.",
            count(How::Sure),
            count(How::Likely),
            count(How::Open)
        ),
    );
    for note in &proposal.notes {
        text.push_str("#\n");
        comment(&mut text, note);
    }
    text
}

fn one_source(proposal: &Proposal) -> String {
    let mut text = String::new();
    let name = key(&proposal.name);
    let _ = write!(text, "\n[sources.{name}]\nrole = {}\n", quoted(proposal.role.word()));
    if let Some(supplier) = proposal.role.supplier() {
        comment(&mut text, "Its name, as in all tables and in [suppliers.NAME].");
        let _ = writeln!(text, "supplier = {}", quoted(supplier));
    }
    text.push_str(&proposal.head);
    for request in &proposal.requests {
        one_request(&mut text, &name, request);
    }
    text
}

/// Some tables of a request, to be added to a mapping of its source; `known` is what the mapping calls the request, where
/// it has it.
pub fn text_of_tables(
    source: &str,
    request: &ProposedRequest,
    known: Option<&str>,
    tables: &[&str],
) -> String {
    let mut text = String::new();
    let source = key(source);
    let under = format!("sources.{source}.requests.{}", key(known.unwrap_or(&request.name)));
    if known.is_none() {
        let _ = write!(text, "\n[{under}]\n{}", request.head);
    }
    let some = request.tables.iter().filter(|table| tables.contains(&table.table));
    some.for_each(|table| one_table(&mut text, &under, table));
    text
}

fn one_request(text: &mut String, source: &str, request: &ProposedRequest) {
    let under = format!("sources.{source}.requests.{}", key(&request.name));
    let _ = write!(text, "\n[{under}]\n{}", request.head);
    if !request.ignored.is_empty() {
        comment(text, &format!("Not kept: {}.", request.ignored.join(", ")));
    }
    for table in &request.tables {
        one_table(text, &under, table);
    }
}

fn one_table(text: &mut String, under: &str, table: &ProposedTable) {
    let under = format!("{under}.tables.{}", table.table);
    let _ = writeln!(text, "\n[{under}]");
    if let Some(within) = table.within {
        let _ = writeln!(text, "within = {}", quoted(within));
    }
    let _ = writeln!(text, "at = {}", quoted(&table.at));
    let _ = writeln!(text, "[{under}.fields]");
    for field in &table.fields {
        one_field(text, field);
    }
}

fn one_field(text: &mut String, field: &ProposedField) {
    comment(text, &format!("{}: {}.", field.how.word(), field.why));
    if let Some(question) = &field.question {
        comment(text, question);
    }
    match &field.toml {
        Some(toml) => {
            let _ = writeln!(text, "{} = {toml}", field.column);
        }
        None => {
            for (label, toml) in &field.choices {
                let line = toml.replace('\n', " ");
                let _ = writeln!(text, "#{} = {line} # {label}", field.column);
            }
            if field.choices.is_empty() {
                let _ = writeln!(text, "#{} = \"$.WHERE\"", field.column);
            }
        }
    }
}

/// A remark, over as many lines as it takes.
pub(crate) fn comment(text: &mut String, what: &str) {
    let plain: String = what.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect();
    for line in wrap(&plain) {
        let _ = writeln!(text, "# {line}");
    }
}

fn wrap(text: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let last = lines.last_mut().map_or(0, |line| line.chars().count());
        match lines.last_mut() {
            Some(line) if last + 1 + word.chars().count() <= WIDTH || last == 0 => {
                if last > 0 {
                    line.push(' ');
                }
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
