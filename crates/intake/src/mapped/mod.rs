//! Exports of any form, read by the requests of sources that are declared, into the same [`Folder`] as exchange files.
//!
//! Tables that no request brings are read from exchange files beside the exports. Must not know what a mapping means
//! (`source::mapping`) or how a file is written (`export`). Start reading at [`read_exports`].

mod shape;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use chrono_tz::Tz;
use model::outcome::{Notice, Topic};

use crate::build::TableRow;
use crate::cells::Cells;
use crate::error::FolderError;
use crate::export::{self, Export, Stated};
use crate::files::{Files, TableFile};
use crate::folder::{self, Desk, FileSource, Folder, ReadSettings};
use crate::keys::Placed;
use crate::lines::{Meter, Progress};
use crate::schema_org::{self, Unkept};
use crate::skipped::{LeftOut, Skipped};
use crate::source::declare::{FileForm, Origin, Request, Source, Vocabulary};
pub(crate) use crate::source::declare::{Group, Numbered};
use crate::source::mapping::{Lines, Read};
use crate::tables::Table;
pub(crate) use shape::reshape;

/// A request of a source, and the files that it is.
struct Meant<'s> {
    request: &'s Request,
    files: Vec<PathBuf>,
}

/// Reads a folder of exports by the requests of sources, which are files; exchange files in it are read too.
///
/// # Errors
/// Where a file cannot be read, a request has none, or a table is missing without which nothing can be judged. Rows
/// that do not fit are returned, and are no error.
pub fn read_exports(
    dir: &Path,
    sources: &[&Source],
    settings: &ReadSettings<'_>,
    progress: &mut (dyn FnMut(Progress) + Send),
) -> Result<Folder, FolderError> {
    let names = names_in(dir)?;
    let meant =
        requests(sources).map(|request| meant(dir, request, &names)).collect::<Result<Vec<_>, _>>()?;
    let paths = meant.iter().flat_map(|meant| &meant.files).cloned().collect();
    let mut notices = Vec::new();
    let files = Files::beside_exports(dir, &brought(&meant), &paths, &mut notices)?;
    read(&files, &meant, DIGEST_KEY, settings, notices, progress)
}

/// Reads the exports in a folder that is a source, perhaps not all of them yet, and nothing beside them. `digest_key` is
/// what digests of addresses are keyed with.
///
/// # Errors
/// Where a file cannot be read.
pub fn read_exports_part(
    dir: &Path,
    source: &Source,
    settings: &ReadSettings<'_>,
    digest_key: &[u8],
) -> Result<Folder, FolderError> {
    let all = part(dir, source)?;
    let files = Files::of_exports(&brought(&all))?;
    read(&files, &all, digest_key, settings, Vec::new(), &mut |_| {})
}

/// The exports in a folder that is a source, one entry for each table that a file brings.
pub(crate) fn exports_in(dir: &Path, source: &Source) -> Result<Vec<TableFile>, FolderError> {
    let mut all = Vec::new();
    for Meant { request, files } in part(dir, source)? {
        for (mapping, file) in
            request.tables.iter().flat_map(|mapping| files.iter().map(move |file| (mapping, file)))
        {
            let one = BTreeMap::from([(mapping.table, file.clone())]);
            all.extend(Files::of_exports(&one)?.given);
        }
    }
    Ok(all)
}

/// The requests of a source for which there is a file.
fn part<'s>(dir: &Path, source: &'s Source) -> Result<Vec<Meant<'s>>, FolderError> {
    let names = names_in(dir)?;
    let mut all = Vec::new();
    for request in requests(&[source]) {
        match meant(dir, request, &names) {
            Ok(meant) => all.push(meant),
            Err(FolderError::NoExport { .. }) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(all)
}

/// Reads exports alone, each by the request of the sources that it is; requests that none of them is are left out.
///
/// # Errors
/// Where a file cannot be read, or is none that a request means.
pub fn read_samples(
    samples: &[PathBuf],
    sources: &[&Source],
    settings: &ReadSettings<'_>,
) -> Result<Folder, FolderError> {
    let all: Vec<&Request> = requests(sources).collect();
    let mut meant: Vec<Meant<'_>> = all.iter().map(|request| Meant { request, files: Vec::new() }).collect();
    for sample in samples {
        let name = name_of(sample);
        let is_meant =
            |meant: &&mut Meant<'_>| meant.request.file.as_ref().is_some_and(|form| form.is_meant(&name));
        let is_only = meant.len() == 1;
        match meant.iter_mut().find(|meant| is_meant(meant) || is_only) {
            Some(meant) => meant.files.push(sample.clone()),
            None => {
                let known =
                    all.iter().filter_map(|request| request.file.as_ref()).map(|form| form.name.clone());
                let known = known.collect::<Vec<_>>().join(", ");
                return Err(FolderError::NotMeant { file: name, known });
            }
        }
    }
    meant.retain(|meant| !meant.files.is_empty());
    let files = Files::of_exports(&brought(&meant))?;
    read(&files, &meant, DIGEST_KEY, settings, Vec::new(), &mut |_| {})
}

fn requests<'s>(sources: &[&'s Source]) -> impl Iterator<Item = &'s Request> {
    sources.iter().flat_map(|source| match &source.origin {
        Origin::Exports(_, requests) => requests.as_slice(),
        Origin::Folder(_) | Origin::Service(_) => &[],
    })
}

/// The tables that exports bring, each with one of its files.
fn brought(meant: &[Meant<'_>]) -> BTreeMap<Table, PathBuf> {
    let mut brought = BTreeMap::new();
    for Meant { request, files } in meant {
        for mapping in &request.tables {
            brought.entry(mapping.table).or_insert_with(|| files[0].clone());
        }
    }
    brought
}

fn read(
    files: &Files,
    meant: &[Meant<'_>],
    digest_key: &[u8],
    settings: &ReadSettings<'_>,
    notices: Vec<Notice>,
    progress: &mut (dyn FnMut(Progress) + Send),
) -> Result<Folder, FolderError> {
    let brought = brought(meant);
    let exchange = files.without(&brought);
    folder::check_starts(&exchange)?;
    let mut meter = Meter::new(exchange.bytes(), progress);
    let rest = FileSource { zone: settings.zone, meter: &mut meter, rows_read: 0, notices };
    let brought = brought.into_keys().collect();
    let mut source = Exports { tables: BTreeMap::new(), brought, rows_read: 0, rest };
    for Meant { request, files } in meant {
        for path in files {
            source.add(request, path, digest_key)?;
        }
    }
    let mut desk = Desk::new(files, source);
    let mut folder = desk.read(settings.rules)?;
    files.check_unchanged()?;
    folder.rows_read = desk.source.rows_read + desk.source.rest.rows_read;
    let notices = std::mem::take(&mut desk.source.rest.notices);
    desk.tell(&mut folder, notices);
    meter.tell();
    Ok(folder)
}

/// The rows of one export by the request that it is, for looking at: with the faults of those that do not fit.
///
/// # Errors
/// Where the file cannot be read.
fn rows_of(request: &Request, path: &Path, digest_key: &[u8]) -> Result<(Lines, Places), FolderError> {
    let form = request.file.as_ref();
    let mut export = export::read_export(path, &form.map(stated).unwrap_or_default())?;
    let passed_over = passed_over(&name_of(path), &export);
    let mut places = match (request.vocabulary, form) {
        (Some(Vocabulary::SchemaOrg), _) => regular_places(&mut export, path)?,
        (None, None) => Places { lines: None, rows_of: None, unkept: Unkept::default(), passed_over: None },
        (None, Some(form)) => places(form, &mut export, path)?,
    };
    places.passed_over = passed_over;
    Ok((request.lines(&export.value, digest_key), places))
}

/// Says which rows of a table were taken for none.
fn passed_over(file: &str, export: &Export) -> Option<Notice> {
    let count = export.passed_over.len() as u64;
    export.says_passed_over().map(|text| Notice {
        topic: Topic::PassedOver,
        count,
        text: format!("{file}: {text}"),
    })
}

/// What addresses are keyed with where nothing is kept, and digests are compared with none that was made elsewhere.
const DIGEST_KEY: &[u8] = b"not kept";

fn places(form: &FileForm, export: &mut Export, path: &Path) -> Result<Places, FolderError> {
    let rows_of = reshape(&mut export.value, form.group.as_ref(), form.numbered.as_ref())
        .map_err(|found| FolderError::NotAsDeclared { file: name_of(path), found })?;
    let lines = (!export.lines.is_empty()).then(|| std::mem::take(&mut export.lines));
    Ok(Places { lines, rows_of, unkept: Unkept::default(), passed_over: None })
}

/// Makes an export in the terms of schema.org regular.
fn regular_places(export: &mut Export, path: &Path) -> Result<Places, FolderError> {
    let lines = std::mem::take(&mut export.lines);
    let not_regular = |(number, found): (usize, String)| {
        let line = lines.get(number.wrapping_sub(1)).map(|line| format!("line {line}: "));
        FolderError::NotAsDeclared { file: name_of(path), found: line.unwrap_or_default() + &found }
    };
    let regular = schema_org::of_export(&export.value, !lines.is_empty(), true).map_err(not_regular)?;
    let line = |number: usize| lines.get(number - 1).copied().unwrap_or(number as u64);
    let lines = regular.numbers.map(|numbers| numbers.into_iter().map(line).collect());
    export.value = regular.value;
    Ok(Places { lines, rows_of: None, unkept: regular.unkept, passed_over: None })
}

fn stated(form: &FileForm) -> Stated {
    Stated {
        separator: form.separator,
        encoding: form.encoding.clone(),
        sheet: form.sheet.clone(),
        header_row: form.header_row.map(u64::from),
    }
}

/// Where the records of an export stand.
pub(crate) struct Places {
    /// The line of each row; `None` in a document, which has none.
    lines: Option<Vec<u64>>,
    rows_of: Option<shape::RowsOf>,
    /// What is said of products in the terms of a vocabulary, and was not taken for an option.
    unkept: Unkept,
    passed_over: Option<Notice>,
}

impl Places {
    /// The line of a record, or its number in a document.
    pub(crate) fn line(&self, numbers: &[usize]) -> u64 {
        let first = numbers.first().copied().unwrap_or(1);
        let row = match self.rows_of.as_ref().and_then(|rows| rows.get(first - 1)) {
            Some(rows) => numbers.get(1).and_then(|inner| rows.get(inner - 1)).or(rows.first()).copied(),
            None => Some(first),
        };
        let row = row.unwrap_or(first);
        match &self.lines {
            Some(lines) => lines.get(row - 1).copied().unwrap_or(row as u64),
            None => row as u64,
        }
    }

    /// Whether [`Self::line`] counts records, since there are no lines.
    pub(crate) fn counts_records(&self) -> bool {
        self.lines.is_none()
    }
}

/// Says what may be an option and was not taken for one.
fn not_kept(file: &str, unkept: &Unkept) -> Option<Notice> {
    let names: Vec<String> = unkept.names().map(crate::bad_row::shown).collect();
    (!names.is_empty()).then(|| Notice {
        topic: Topic::UnknownColumn,
        count: names.len() as u64,
        text: format!(
            "{file}: of additionalProperty is not kept, since no variesBy of a ProductGroup names it: {}",
            names.join(", ")
        ),
    })
}

fn meant<'s>(dir: &Path, request: &'s Request, names: &[String]) -> Result<Meant<'s>, FolderError> {
    let form = request.file.as_ref();
    let files: Vec<PathBuf> = names
        .iter()
        .filter(|name| form.is_some_and(|form| form.is_meant(name)))
        .map(|name| dir.join(name))
        .collect();
    if files.is_empty() {
        let name = form.map(|form| form.name.clone()).unwrap_or_default();
        let request = request.name.clone();
        return Err(FolderError::NoExport { dir: dir.to_owned(), request, name });
    }
    Ok(Meant { request, files })
}

fn names_in(dir: &Path) -> Result<Vec<String>, FolderError> {
    let unreadable = |source| FolderError::Unreadable { path: dir.to_owned(), source };
    if !dir.exists() {
        return Err(FolderError::NotThere { dir: dir.to_owned() });
    }
    if !dir.is_dir() {
        return Err(FolderError::NotAFolder { path: dir.to_owned() });
    }
    let mut names = BTreeSet::new();
    for entry in fs::read_dir(dir).map_err(unreadable)? {
        if let Ok(name) = entry.map_err(unreadable)?.file_name().into_string() {
            names.insert(name);
        }
    }
    Ok(names.into_iter().collect())
}

fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// A row, and where it stands.
struct Standing {
    file: String,
    place: u64,
    by_record: bool,
    zone: Tz,
    vocabulary: Option<Vocabulary>,
    read: Read,
}

/// The rows of exports, and of exchange files for the tables that no export brings.
struct Exports<'m, 'p> {
    tables: BTreeMap<Table, Vec<Standing>>,
    brought: BTreeSet<Table>,
    rows_read: u64,
    rest: FileSource<'m, 'p>,
}

impl Exports<'_, '_> {
    fn add(&mut self, request: &Request, path: &Path, digest_key: &[u8]) -> Result<(), FolderError> {
        let (lines, places) = rows_of(request, path, digest_key)?;
        let file = name_of(path);
        if let Some((table, fault)) = lines.faults.into_iter().next() {
            let found = format!("of {}: {}; expected {}", table.name(), fault.found, fault.expected);
            return Err(FolderError::NotAsDeclared { file, found });
        }
        self.rest.notices.extend(not_kept(&file, &places.unkept));
        // Several requests may read one file: what was passed over in it is told once.
        let notices = &mut self.rest.notices;
        let is_told = |own: &Notice| notices.iter().any(|told| told.text == own.text);
        if let Some(own) = places.passed_over.clone().filter(|own| !is_told(own)) {
            notices.push(own);
        }
        for read in lines.rows {
            let place = places.line(&read.numbers);
            let by_record = places.counts_records();
            let standing = Standing {
                file: file.clone(),
                place,
                by_record,
                zone: request.zone,
                vocabulary: request.vocabulary,
                read,
            };
            self.tables.entry(standing.read.table).or_default().push(standing);
        }
        Ok(())
    }
}

impl folder::Source for Exports<'_, '_> {
    fn rows<T: TableRow>(
        &mut self,
        files: &Files,
        left_out: &mut LeftOut,
    ) -> Result<Option<Vec<Placed<T>>>, FolderError> {
        if !self.brought.contains(&T::TABLE) {
            return self.rest.rows(files, left_out);
        }
        let mut rows = Vec::new();
        for Standing { file, place, by_record, zone, vocabulary, read } in
            self.tables.remove(&T::TABLE).unwrap_or_default()
        {
            self.rows_read += 1;
            let (row, zones) = read.line.row(place);
            let value = match read.fault {
                Some(fault) => Err(fault),
                None => T::read(&Cells::with_zones(&row, zone, zones)).map_err(|fault| match vocabulary {
                    Some(vocabulary) => vocabulary.explained(fault),
                    None => fault,
                }),
            };
            match value {
                Ok(row) => rows.push(Placed { line: place, row }),
                Err(fault) => {
                    left_out.report_at(&file, place, by_record, fault, Skipped::unread(&row));
                }
            }
        }
        Ok(Some(rows))
    }
}
