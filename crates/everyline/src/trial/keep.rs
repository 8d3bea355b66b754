//! The mapping of a trial, written into files beside the configuration.
//!
//! Nothing that is there is written over. Must not know how it is shown. Start reading at [`keep`].

use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use toml_edit::{DocumentMut, Item, Table, Value};
use tracing::warn;
use web::view::{KeptMapping, TrialKept, Words};

use super::{Not, Read, Side, Trial};
use crate::order::quoted;

/// The folder of mappings, beside the configuration.
const MAPPINGS: &str = "mappings";

/// The folder of exports, beside the configuration.
const EXPORTS: &str = "exports";

/// The most mappings of one name.
const NAMES: u32 = 99;

/// Where things are.
pub struct Places<'p> {
    /// The configuration.
    pub configuration: &'p Path,
    /// The ledger, beside which is written where the configuration's folder takes nothing.
    pub ledger: &'p Path,
    /// The shop, and whether there are several.
    pub shop: (&'p str, bool),
}

/// Writes the mappings.
///
/// # Errors
/// Where none can be written; then none is.
pub fn keep(trial: &Trial, read: &Read, places: &Places<'_>) -> Result<TrialKept, Not> {
    let folders = [places.configuration, places.ledger].map(beside);
    let mut last = None;
    for folder in folders {
        match keep_in(trial, read, places, &folder) {
            Ok(kept) => return Ok(kept),
            Err(error) => {
                warn!("a mapping could not be written into {}: {error}", folder.display());
                last = Some(error);
            }
        }
    }
    Err(Not::new(
        format!(
            "the mapping could not be written: {}",
            last.map(|error| error.to_string()).unwrap_or_default()
        ),
        "look whether everyline may write into the folder of its configuration; nothing was written",
    ))
}

/// The folder in which a file is, by its whole path.
fn beside(file: &Path) -> PathBuf {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    folder.canonicalize().unwrap_or(folder)
}

fn keep_in(trial: &Trial, read: &Read, places: &Places<'_>, folder: &Path) -> std::io::Result<TrialKept> {
    let mappings = folder.join(MAPPINGS);
    fs::create_dir_all(&mappings)?;
    let mut kept = Vec::new();
    let mut written: Vec<PathBuf> = Vec::new();
    for (side, source) in trial.sides.iter().zip(&read.sources) {
        let exports = folder.join(EXPORTS).join(&side.source);
        let mut mapping = source.mapping.clone();
        mapping["sources"][&side.source]["folder"] = Item::Value(Value::from(exports.display().to_string()));
        let text = mapping.to_string();
        let path = match write_new(&mappings, &side.source, &text) {
            Ok(path) => path,
            Err(error) => {
                // All of them or none.
                for path in &written {
                    let _ = fs::remove_file(path);
                }
                return Err(error);
            }
        };
        kept.push(KeptMapping {
            source: side.source.clone(),
            written: Words::ours(path.display().to_string()),
            bytes: text.len() as u64,
            folder: Words::ours(exports.display().to_string()),
            lines: lines(mapping, places.shop),
            live: Words::ours(live(side)),
        });
        written.push(path);
    }
    let maps: Vec<String> =
        written.iter().map(|path| format!(" --map {}", quoted(&path.display().to_string()))).collect();
    let configuration = places.configuration;
    Ok(TrialKept {
        shop: places.shop.0.to_owned(),
        configuration: Words::ours(configuration.display().to_string()),
        mappings: kept,
        audit: Words::ours(format!("everyline audit --from .{}", maps.concat())),
    })
}

/// Writes a file under a name that no other has.
fn write_new(folder: &Path, name: &str, text: &str) -> std::io::Result<PathBuf> {
    for number in 1..=NAMES {
        let path = match number {
            1 => folder.join(format!("{name}.toml")),
            _ => folder.join(format!("{name}-{number}.toml")),
        };
        let mut file = match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(file) => file,
            Err(error) if error.kind() == ErrorKind::AlreadyExists => continue,
            Err(error) => return Err(error),
        };
        return match file.write_all(text.as_bytes()).and_then(|()| file.sync_all()) {
            Ok(()) => Ok(path),
            Err(error) => {
                let _ = fs::remove_file(&path);
                Err(error)
            }
        };
    }
    Err(std::io::Error::new(
        ErrorKind::AlreadyExists,
        format!("there are {NAMES} mappings of the name {name} already"),
    ))
}

/// What is added to a configuration: the source alone, under its shop where there are several.
fn lines(mut mapping: DocumentMut, (shop, is_one_of_several): (&str, bool)) -> Vec<String> {
    mapping.remove("zone");
    if is_one_of_several && let Some(sources) = mapping.remove("sources") {
        let implicit = |name: &str, inside: Item| {
            let mut table = Table::new();
            table.set_implicit(true);
            table.insert(name, inside);
            Item::Table(table)
        };
        mapping.insert("shops", implicit(shop, implicit("sources", sources)));
    }
    let text = mapping.to_string();
    text.trim().lines().map(|line| digest::clean(line).into_owned()).collect()
}

/// The command that proposes the same for a service.
fn live(side: &Side) -> String {
    let role = match side.role.supplier() {
        None => "storefront".to_owned(),
        Some(supplier) => format!("supplier --supplier {}", quoted(supplier)),
    };
    format!(
        "everyline source propose --role {role} --name {0}-live --url https://ADDRESS --out {0}-live.toml",
        side.source
    )
}
