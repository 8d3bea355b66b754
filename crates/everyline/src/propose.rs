//! A mapping proposed for files, and the sources of a mapping: what the command line and the page both do.
//!
//! Must not know how it is shown or where it is written. Start reading at [`propose`]; `service` does the same for
//! addresses that are asked.

pub mod points;
pub mod service;

use std::path::{Path, PathBuf};

use intake::export::{Stated, read_export};
use intake::propose::{Answers, Asked, Beside, Proposal, ProposedRole, Sample, completed, told_in};
use intake::source::declare::{Origin, Source};
use intake::{Folder, FolderError, ReadSettings, read_exports_part, read_samples};

use crate::configuration::{Configuration, Settings};
use crate::trouble::Trouble;

/// What a mapping is proposed for.
pub struct Samples<'s> {
    /// The files, all in one folder.
    pub files: &'s [PathBuf],
    /// The name of the source; `None`: by its role.
    pub name: Option<&'s str>,
    /// What it is a source of.
    pub role: ProposedRole,
    /// The zone of times that do not say theirs.
    pub zone: Option<chrono_tz::Tz>,
    /// Where the configuration is going to be, by which folders in it begin.
    pub out: Option<&'s Path>,
    /// The mapping of the shop's other source, whose values are compared.
    pub beside: Option<&'s Path>,
    /// Of a storefront: files of suppliers, which name the shop's orders.
    pub named_in: &'s [PathBuf],
    /// What the owner said.
    pub answers: Answers,
}

/// Proposes a mapping.
///
/// # Errors
/// Where a file or the other mapping cannot be read.
pub fn propose(samples: &Samples<'_>) -> Result<Proposal, Trouble> {
    let what = "no mapping was proposed";
    let folder = one_folder(samples.files).map_err(|cause| {
        Trouble::new(what, cause)
            .help("put the files of one source into one folder, and give them from there")
    })?;
    let read_all = |files: &[PathBuf]| -> Result<Vec<Sample>, Trouble> {
        let mut read = Vec::new();
        for file in files {
            let export = read_export(file, &Stated::default()).map_err(|error| Trouble::new(what, error))?;
            let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
            read.push(Sample { name, export });
        }
        Ok(read)
    };
    let read = read_all(samples.files)?;
    let name = samples.name.map(str::to_owned).unwrap_or_else(|| match &samples.role {
        ProposedRole::Storefront => "storefront".to_owned(),
        ProposedRole::Supplier(name) => name.clone(),
    });
    let mut beside = samples.beside.map(beside).transpose()?.unwrap_or_default();
    beside.told = told_in(&read_all(samples.named_in)?);
    let asked = Asked {
        name,
        role: samples.role.clone(),
        zone: samples.zone,
        folder: seen_from(&folder, samples.out),
        beside,
        answers: samples.answers.clone(),
    };
    Ok(intake::propose::propose(&read, &asked))
}

fn one_folder(files: &[PathBuf]) -> Result<PathBuf, String> {
    let folder_of = |file: &PathBuf| match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let Some(first) = files.first().map(folder_of) else { return Err("no file was given".to_owned()) };
    match files.iter().map(folder_of).find(|other| *other != first) {
        None => Ok(first),
        Some(other) => Err(format!("the files are in {} and in {}", first.display(), other.display())),
    }
}

/// A folder as a configuration in another place says it: from there where it is in it, otherwise whole.
fn seen_from(folder: &Path, out: Option<&Path>) -> String {
    let Ok(whole) = folder.canonicalize() else { return folder.display().to_string() };
    let from = match out.and_then(Path::parent) {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    };
    let within = from.canonicalize().ok().and_then(|from| whole.strip_prefix(from).map(Path::to_owned).ok());
    match within {
        Some(within) if within.as_os_str().is_empty() => ".".to_owned(),
        Some(within) => within.display().to_string(),
        None => whole.display().to_string(),
    }
}

/// What digests of addresses are keyed with where none is kept.
const NOTHING_KEPT: &[u8] = b"nothing is kept";

/// What the shop's other source has, read by its mapping.
fn beside(map: &Path) -> Result<Beside, Trouble> {
    let (settings, sources) = sources_of(map)?;
    beside_of(&settings, &sources)
        .map_err(|error| Trouble::new(format!("the files of {} could not be read", map.display()), error))
}

/// What sources have that are files.
///
/// # Errors
/// Where a file cannot be read.
pub fn beside_of(settings: &Settings, sources: &[Source]) -> Result<Beside, FolderError> {
    let mut beside = Beside::default();
    for source in sources {
        let Origin::Exports(folder, _) = &source.origin else { continue };
        let rules = &settings.rules;
        let settings = ReadSettings { zone: settings.zone, rules };
        let read = read_exports_part(folder, source, &settings, NOTHING_KEPT)?;
        let book = &read.book;
        beside.order_ids.extend(book.orders.iter().map(|order| order.order_id.to_string()));
        beside.placed.extend(book.orders.iter().map(|order| order.placed_at.begins().timestamp()));
        let skus =
            book.order_lines.iter().filter_map(|line| line.sku.as_ref()).map(|sku| sku.as_str().to_owned());
        beside.skus.extend(skus);
        let line_ids = book.order_lines.iter().map(|line| line.line_id.to_string());
        beside.line_ids.extend(line_ids);
        let offered = book.offers.iter().flatten().filter_map(|offer| offer.sku.as_ref());
        beside.skus.extend(offered.map(|sku| sku.as_str().to_owned()));
    }
    Ok(beside)
}

/// The files of a folder that the requests of a source mean.
///
/// # Errors
/// Where the folder cannot be read.
pub fn files_in(folder: &Path, source: &Source) -> Result<Vec<PathBuf>, Trouble> {
    let Origin::Exports(_, requests) = &source.origin else { return Ok(Vec::new()) };
    let entries = std::fs::read_dir(folder)
        .map_err(|error| Trouble::new(format!("the folder {} could not be read", folder.display()), error))?;
    let mut files: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| {
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            requests.iter().filter_map(|request| request.file()).any(|form| form.is_meant(&name))
        })
        .collect();
    files.sort();
    Ok(files)
}

/// The sources of a mapping that are files, and the settings beside them.
///
/// # Errors
/// Where the file cannot be used, or has no such source.
pub fn sources_of(map: &Path) -> Result<(Settings, Vec<Source>), Trouble> {
    let configuration = Configuration::read(map).map_err(|trouble| {
        // Whether what is missing is what the proposal left open.
        let text = std::fs::read_to_string(map).unwrap_or_default();
        match Configuration::of_text(&completed(&text), map) {
            Ok(_) => {
                trouble.help(format!("say what is open: `everyline source confirm --map {}`", map.display()))
            }
            Err(_) => trouble,
        }
    })?;
    let settings = configuration.shop(None)?.1.clone();
    let sources = of_files(&settings);
    if sources.is_empty() {
        let cause = format!("{} has no source that is files", map.display());
        return Err(Trouble::new("the mapping cannot be used", cause)
            .help("`everyline source propose` writes one from a sample"));
    }
    Ok((settings, sources))
}

/// The sources of a shop that are files.
pub fn of_files(settings: &Settings) -> Vec<Source> {
    let is_files = |source: &&Source| matches!(source.origin, Origin::Exports(..));
    settings.sources.values().filter(is_files).cloned().collect()
}

/// The rows of samples, read by a mapping.
///
/// # Errors
/// Where the mapping or a sample cannot be read.
pub fn preview(map: &Path, samples: &[PathBuf]) -> Result<(Settings, Folder), Trouble> {
    let (settings, sources) = sources_of(map)?;
    let all: Vec<&Source> = sources.iter().collect();
    let read = ReadSettings { zone: settings.zone, rules: &settings.rules };
    let folder = read_samples(samples, &all, &read)
        .map_err(|error| Trouble::new("the samples could not be read", error))?;
    Ok((settings, folder))
}
