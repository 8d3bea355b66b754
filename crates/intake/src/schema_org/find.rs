//! Files in the terms of schema.org that stand in a folder of exchange files.
//!
//! Must not know what stands in a document. Start reading at [`source_in`].

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

use chrono_tz::Tz;
use memchr::memmem::Finder;
use serde_json::Value;

use super::graph::Graph;
use crate::error::FolderError;
use crate::export::{self, Kind, MAX_TEXT_BYTES, Stated};
use crate::files::is_table;
use crate::source::declare::{Declaration, Origin, Source};
use crate::tables::Table;

/// The endings of files that may be JSON-LD.
const ENDINGS: [&str; 4] = ["json", "jsonld", "jsonl", "ndjson"];

/// What stands in every document of schema.org, in whichever spelling of its address.
const MARK: &[u8] = b"schema.org";

/// How much of a file is looked at at once.
const BLOCK_BYTES: usize = 256 * 1024;

/// The files of a folder in which orders stand in the terms of schema.org, as a source that reads them; `None` where
/// there are none, or where one of the `others` brings orders. `zone` is the shop's, for dates alone.
///
/// Files that are named as exchange files are, or that one of the `others` reads, are not looked at. A file that speaks
/// of schema.org and cannot be read is an error where no exchange file brings orders; otherwise it is left alone.
///
/// # Errors
/// Where such a file cannot be read.
pub fn source_in(dir: &Path, zone: Tz, others: &[&Source]) -> Result<Option<Source>, FolderError> {
    let requests = || {
        others.iter().flat_map(|source| match &source.origin {
            Origin::Exports(_, requests) => requests.as_slice(),
            Origin::Folder(_) | Origin::Service(_) => &[],
        })
    };
    if requests().any(|request| request.tables().any(|table| table == Table::Orders.name())) {
        return Ok(None);
    }
    // What is wrong with the folder is said by whoever reads it.
    let Ok(entries) = fs::read_dir(dir) else { return Ok(None) };
    let mut names: Vec<String> =
        entries.flatten().filter_map(|entry| entry.file_name().into_string().ok()).collect();
    names.sort();
    let has_orders = names.iter().any(|name| is_table(name, Table::Orders));
    let is_meant =
        |name: &str| requests().filter_map(|request| request.file()).any(|form| form.is_meant(name));
    names.retain(|name| {
        let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
        ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str()))
            && !Table::ALL.into_iter().any(|table| is_table(name, table))
            // The name of a file in a request has neither.
            && !name.contains(['*', '\\'])
            && !is_meant(name)
    });
    let mut found = Vec::new();
    for name in names {
        match has_orders_in(&dir.join(&name)) {
            Ok(true) => found.push(name),
            Ok(false) => {}
            Err(_) if has_orders => {}
            Err(error) => return Err(error),
        }
    }
    if found.is_empty() {
        return Ok(None);
    }
    Ok(declared(&found, zone))
}

/// A source that reads these files.
fn declared(names: &[String], zone: Tz) -> Option<Source> {
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let mut text = String::from("role = \"storefront\"\nfolder = \".\"\n");
    for name in names {
        let name = quoted(name);
        text += &format!("[requests.{name}]\nfile = {name}\nvocabulary = \"schema.org\"\n");
    }
    let declaration: Declaration = toml::from_str(&text).ok()?;
    declaration.check(zone).ok()
}

/// Whether orders in the terms of schema.org stand in a file.
fn has_orders_in(path: &Path) -> Result<bool, FolderError> {
    let unreadable = |source| FolderError::Unreadable { path: path.to_owned(), source };
    // A pipe or a device could be read for ever; a link may lead to a file.
    if !fs::metadata(path).is_ok_and(|metadata| metadata.is_file()) || !has_mark(path).map_err(unreadable)? {
        return Ok(false);
    }
    let export = export::read_export(path, &Stated::default())?;
    Ok(matches!(export.form.kind, Kind::Json | Kind::JsonLines)
        && orders_in(&export.value, export.form.kind == Kind::JsonLines))
}

/// Whether orders stand in an export that says by itself that it is in the terms of schema.org.
pub(crate) fn orders_in(value: &Value, is_lines: bool) -> bool {
    let has_orders = |value| Graph::of(value, false).is_ok_and(|graph| !graph.orders.is_empty());
    match value {
        Value::Array(documents) if is_lines => documents.iter().any(has_orders),
        document => has_orders(document),
    }
}

/// Whether a file speaks of schema.org at all, so that no other has to be read as a whole.
fn has_mark(path: &Path) -> io::Result<bool> {
    let finder = Finder::new(MARK);
    let mut file = File::open(path)?.take(MAX_TEXT_BYTES);
    let mut block = vec![0; BLOCK_BYTES];
    let mut kept = 0;
    loop {
        let read = file.read(&mut block[kept..])?;
        if read == 0 {
            return Ok(false);
        }
        let filled = kept + read;
        if finder.find(&block[..filled]).is_some() {
            return Ok(true);
        }
        // It may begin at the end of one block.
        let keep = filled.min(MARK.len() - 1);
        block.copy_within(filled - keep..filled, 0);
        kept = keep;
    }
}
