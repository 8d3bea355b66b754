//! What `everyline config check` says of sources: where each is, how it is asked, and whether its secret is there.
//!
//! Must not show a secret, nor anything that somebody may have typed one into: what stands before it, users, values of
//! headers and parameters. Start reading at [`said`].

use std::collections::BTreeMap;
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use intake::source::declare::{
    ChangeSku, Changes, Count, Next, OAuth, Origin, Pages, Request, Role, SecretError, SecretReference,
    Service, SignIn, SkuRow, SkuTable, Source,
};
use model::{Options, SourceId};

use super::shown;
use crate::terminal::variable;

/// A moment that shows how a source is asked for changes: 2026-11-24T08:30:00Z, in seconds since 1970.
const SAMPLE_SECONDS: i64 = 1_795_509_000;

/// The sources of a shop, a paragraph for each.
pub fn said(sources: &BTreeMap<SourceId, Source>) -> Vec<String> {
    if sources.is_empty() {
        return vec![
            String::new(),
            "No source is set: only the tables are read that a command is given, as with `everyline audit --from DIR`."
                .to_owned(),
        ];
    }
    sources.iter().flat_map(|(name, source)| of_source(name, source)).collect()
}

fn of_source(name: &SourceId, source: &Source) -> Vec<String> {
    let what = match &source.role {
        Role::Storefront => "a storefront".to_owned(),
        Role::Supplier(supplier) => format!("of the supplier {supplier}"),
    };
    let every = span(source.every);
    let mut lines = vec![String::new(), format!("Source {name}, {what}:")];
    match &source.origin {
        Origin::Folder(folder) | Origin::Exports(folder, _) => {
            let not_there = if folder.is_dir() { "" } else { ", which is not there now" };
            lines.push(format!("  The folder {}{not_there}.", folder.display()));
            lines.push(format!("  Every {every} it is looked through for new files."));
        }
        Origin::Service(service) => {
            lines.push(format!("  {}", service.address));
            lines.push(format!("  It is asked every {every}, no faster than {}.", service.at_most));
        }
    }
    lines.push(format!("  It counts as up to date for {} after a reading.", span(source.stale_after)));
    if let Origin::Service(service) = &source.origin {
        lines.extend(of_service(name, service));
    }
    lines.extend(source.sku_table.as_ref().map(sku_table));
    lines
}

/// The table for its bulk edit, with a row as it would be.
fn sku_table(table: &SkuTable) -> String {
    let names: Vec<(String, &str)> = table.option_names().map(|name| (name.to_owned(), "Large")).collect();
    // Names that are the same when they are compared have the same value here.
    let options = Options::from_pairs(names).unwrap_or_default();
    let row = SkuRow {
        listing_id: "KL-2",
        options: &options,
        title: "Puffin T-shirt",
        old_sku: "OLD",
        sku: "AT-L-MO",
    };
    let cells =
        table.columns.iter().map(|column| format!("{} {:?}", column.heading, column.cell.filled(&row).text));
    format!(
        "  `everyline links send` writes a table for its bulk edit. A row of it: {}.",
        cells.collect::<Vec<_>>().join(", ")
    )
}

fn of_service(name: &SourceId, service: &Service) -> Vec<String> {
    let mut lines = vec![format!("  {}", sign_in(name, service.sign_in.as_ref()))];
    for request in &service.requests {
        lines.push(format!("  {}", brings(request)));
        lines.push(format!("    {}", pages(&request.pages)));
        lines.push(format!("    {}", changes(request.changes.as_ref())));
        if let Some(count) = &request.count {
            let place = match count {
                Count::At(at) => format!("at {at}"),
                Count::Header(name) => format!("in the header {name}"),
            };
            lines.push(format!("    What was read is compared with its own count, {place}."));
        }
    }
    if let Some(change) = &service.change_sku {
        lines.extend(changes_skus(name, service, change));
    }
    lines
}

/// How a SKU is changed there, of an offer that stands for any.
fn changes_skus(name: &SourceId, service: &Service, change: &ChangeSku) -> Vec<String> {
    let sample = match change.sample(service) {
        Ok(sample) => sample,
        Err(no_value) => return vec![format!("  A SKU there cannot be changed: {no_value}.")],
    };
    let mut lines = vec![
        format!(
            "  `everyline links send` may change SKUs at {name}, with --yes alone; for an offer such as this it asks:"
        ),
        format!("    {} {}", change.method, sample.target),
    ];
    lines.extend(sample.body.map(|body| format!("    with {body}")));
    match sample.answer.split_first() {
        None => lines.push("    The answer must be empty.".to_owned()),
        Some(_) => {
            let wanted: Vec<String> = sample.answer.iter().map(|(at, is)| format!("{is} at {at}")).collect();
            let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
            lines.push(format!("    The answer must say {}.", listed(&wanted)));
        }
    }
    lines.push(match sample.read {
        Some(read) => format!("    Before and after, it reads the offer again: {read}"),
        None => "    Before and after, it reads all offers again.".to_owned(),
    });
    lines
}

fn sign_in(source: &SourceId, sign_in: Option<&SignIn>) -> String {
    let (how, secret) = match sign_in {
        None => return "Nobody has to sign in.".to_owned(),
        Some(SignIn::Header { name, secret, .. }) => (format!("the header {name}"), secret),
        Some(SignIn::Basic { secret, .. }) => ("user and password".to_owned(), secret),
        Some(SignIn::OAuth(oauth)) => {
            let how = tokens(source, oauth);
            match &oauth.secret {
                Some(secret) => (how, secret),
                None => return format!("It signs in with {how}; it is a public client, without a secret."),
            }
        }
    };
    let (place, is_there) = match secret {
        SecretReference::Environment(name) => (format!("the environment variable {name}"), "which is set"),
        SecretReference::File(path) => (format!("the file {}", path.display()), "which is there"),
        SecretReference::Credential(name) => (format!("the systemd credential {name}"), "which is there"),
    };
    let state = secret.read(&variable).map_or_else(missing, |_| is_there.to_owned());
    format!("It signs in with {how}; its secret comes from {place}, {state}.")
}

/// How access tokens are had.
fn tokens(source: &SourceId, oauth: &OAuth) -> String {
    let place = oauth.token_address.origin().ascii_serialization();
    let Some(file) = oauth.tokens() else {
        return format!("access tokens that it has by itself from {place}");
    };
    let state = if file.exists() {
        "which is there".to_owned()
    } else {
        format!("which is not there yet: sign in with `everyline source sign-in {source}`")
    };
    format!("access tokens from {place}, kept in {}, {state}", file.display())
}

/// Why a secret is not there, going on from its place.
fn missing(error: SecretError) -> String {
    match error {
        SecretError::NotSet(_) => "which is not set here".to_owned(),
        SecretError::Empty(_) => "which is empty".to_owned(),
        SecretError::NotOneLine(_) => "which does not hold one line of text".to_owned(),
        SecretError::TooLarge(_) => "which is too large to be one".to_owned(),
        SecretError::Unreadable(_, error) => format!("which cannot be read here: {error}"),
        SecretError::NoCredentials(name) => {
            format!("which is there only for a service that systemd starts with LoadCredential={name}")
        }
    }
}

fn brings(request: &Request) -> String {
    let tables: Vec<&str> = request.tables().collect();
    let each = request.for_each().map(|table| format!("; it is asked once for each of the {table}"));
    let terms = request.vocabulary.map(|vocabulary| format!(", in the terms of {}", vocabulary.name()));
    let (terms, each) = (terms.unwrap_or_default(), each.unwrap_or_default());
    format!("Request {} brings {}{terms}{each}.", request.name, listed(&tables))
}

/// `orders`, `orders and order_lines`, `submissions, parcels and parcel_lines`.
fn listed(names: &[&str]) -> String {
    match names.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        _ => names.concat(),
    }
}

fn pages(pages: &Pages) -> String {
    let next = match &pages.next {
        Next::None => "One answer is all, there are no further pages".to_owned(),
        Next::Link => "The header Link of a page leads to the next".to_owned(),
        Next::Url { at } => format!("The address at {at} of a page leads to the next"),
        Next::Cursor { at, ask } => format!("The text at {at} of a page leads to the next, as {ask}=..."),
        Next::Number { ask, first } => format!("Pages are asked for by number, from {ask}={first} on"),
        Next::Offset { ask } => format!("Pages are asked for by the records before them, from {ask}=0 on"),
    };
    match &pages.size {
        Some((ask, size)) => format!("{next}; {ask}={size} says how many records a page has."),
        None => format!("{next}."),
    }
}

fn changes(changes: Option<&Changes>) -> String {
    let Some(changes) = changes else {
        return "Everything is read each time.".to_owned();
    };
    let sample = changes.written(DateTime::<Utc>::from_timestamp(SAMPLE_SECONDS, 0).unwrap_or_default());
    format!(
        "After the first reading only what has changed is asked for, from {} before the last reading on, as in \
         {}={sample}.",
        span(changes.overlap),
        changes.ask
    )
}

/// As [`shown`]; parts of a second by their own names.
fn span(span: Duration) -> String {
    match TimeDelta::from_std(span) {
        Ok(whole) if span.subsec_nanos() == 0 => shown(whole),
        _ => humantime::format_duration(span).to_string(),
    }
}
