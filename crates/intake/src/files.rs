//! The files of a folder: which hold tables, and whether what is needed is there.
//!
//! Must not know: how a file is read. Start reading at [`Files::find`].

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, Metadata};
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use model::outcome::{Notice, Topic};

use crate::bad_row::shown;
use crate::error::{FolderError, Stopped};
use crate::nearest::nearest;
use crate::tables::Table;

/// How many unknown files a notice names.
const SHOWN_FILES: usize = 10;

/// The endings of files that may well hold a table under another name; others are passed over in silence.
const TABLE_ENDINGS: [&str; 11] =
    ["csv", "tsv", "json", "jsonld", "jsonl", "ndjson", "xlsx", "xls", "ods", "gz", "zip"];

/// How large the tables of a folder are, in bytes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Sizes {
    /// Those that grow with every order.
    pub large: u64,
    /// The others: offers, variants, links and the like.
    pub small: u64,
}

/// How large the tables of a folder are, before anything is read.
///
/// # Errors
/// [`FolderError`] where the folder cannot be used at all.
pub fn sizes(dir: &Path) -> Result<Sizes, FolderError> {
    Ok(Files::find(dir, &mut Vec::new())?.sizes())
}

/// A file that holds a table.
#[derive(Clone, Debug)]
pub(crate) struct TableFile {
    pub(crate) table: Table,
    pub(crate) name: String,
    pub(crate) path: PathBuf,
    pub(crate) is_csv: bool,
    pub(crate) bytes: u64,
    changed_at: Option<SystemTime>,
}

impl TableFile {
    /// The error where the system does not give it.
    pub(crate) fn unreadable(&self, source: io::Error) -> FolderError {
        FolderError::Unreadable { path: self.path.clone(), source }
    }

    /// The error where reading it stopped.
    pub(crate) fn stopped(&self, stopped: Stopped) -> FolderError {
        match stopped {
            Stopped::Unusable(error) => error,
            Stopped::Unreadable(source) => self.unreadable(source),
        }
    }
}

/// The files of a folder that hold tables, in the order of [`Table::ALL`].
#[derive(Debug)]
pub(crate) struct Files {
    pub(crate) given: Vec<TableFile>,
}

impl Files {
    /// The files of a folder that holds all there is.
    pub(crate) fn find(dir: &Path, notices: &mut Vec<Notice>) -> Result<Self, FolderError> {
        let (files, others) = Self::look(dir, notices)?;
        files.check_whole(dir, &others)?;
        Ok(files)
    }

    /// The files of a folder that holds a part of what there is, perhaps nothing yet.
    pub(crate) fn find_part(dir: &Path, notices: &mut Vec<Notice>) -> Result<Self, FolderError> {
        let (files, others) = Self::look(dir, notices)?;
        files.check_together()?;
        if files.of(Table::Orders).is_some() {
            files.check_given(dir, Table::OrderLines, &others)?;
        }
        Ok(files)
    }

    /// Exports that bring tables, and the exchange files beside them; together they hold all there is.
    pub(crate) fn beside_exports(
        dir: &Path,
        brought: &BTreeMap<Table, PathBuf>,
        exports: &BTreeSet<PathBuf>,
        notices: &mut Vec<Notice>,
    ) -> Result<Self, FolderError> {
        let (files, mut others) = Self::look_apart(dir, exports)?;
        let mut given = files.given;
        given.extend(Self::of_exports(brought)?.given);
        given.sort_by(|a, b| (a.table, &a.name).cmp(&(b.table, &b.name)));
        let files = Self { given };
        others.sort();
        notices.extend(unknown_files(&others));
        files.check_once()?;
        files.check_whole(dir, &others)?;
        Ok(files)
    }

    /// Exports that bring tables, alone.
    pub(crate) fn of_exports(brought: &BTreeMap<Table, PathBuf>) -> Result<Self, FolderError> {
        let mut given = Vec::new();
        for (table, path) in brought {
            let metadata = fs::metadata(path)
                .map_err(|source| FolderError::Unreadable { path: path.clone(), source })?;
            let (bytes, changed_at) = size_and_age(&metadata);
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            let path = path.clone();
            given.push(TableFile { table: *table, name, path, is_csv: false, bytes, changed_at });
        }
        Ok(Self { given })
    }

    /// Files that each hold one table, whatever they are called.
    pub(crate) fn single(tables: &[(Table, &Path)]) -> Result<Self, FolderError> {
        let mut given = Vec::new();
        for (table, path) in tables {
            let unreadable = |source| FolderError::Unreadable { path: (*path).to_owned(), source };
            let ending = path.extension().and_then(|ending| ending.to_str()).map(str::to_ascii_lowercase);
            let is_csv = match ending.as_deref() {
                Some("csv") => true,
                Some("jsonl") => false,
                _ => return Err(FolderError::NoTable { path: (*path).to_owned() }),
            };
            let metadata = fs::metadata(path).map_err(unreadable)?;
            // A pipe or a device could be read for ever.
            if !metadata.is_file() {
                return Err(unreadable(io::Error::other("it is no regular file")));
            }
            let (bytes, changed_at) = size_and_age(&metadata);
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            given.push(TableFile {
                table: *table,
                name,
                path: (*path).to_owned(),
                is_csv,
                bytes,
                changed_at,
            });
        }
        Ok(Self { given })
    }

    /// Those that bring none of some tables.
    pub(crate) fn without(&self, brought: &BTreeMap<Table, PathBuf>) -> Self {
        let given = self.given.iter().filter(|file| !brought.contains_key(&file.table)).cloned();
        Self { given: given.collect() }
    }

    fn look(dir: &Path, notices: &mut Vec<Notice>) -> Result<(Self, Vec<String>), FolderError> {
        let (files, others) = Self::look_apart(dir, &BTreeSet::new())?;
        notices.extend(unknown_files(&others));
        files.check_once()?;
        Ok((files, others))
    }

    /// The exchange files of a folder, and what else may hold a table, apart from some files.
    fn look_apart(dir: &Path, apart: &BTreeSet<PathBuf>) -> Result<(Self, Vec<String>), FolderError> {
        let unreadable =
            |path: &Path, source: io::Error| FolderError::Unreadable { path: path.to_owned(), source };
        let metadata = match fs::metadata(dir) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(FolderError::NotThere { dir: dir.to_owned() });
            }
            metadata => metadata.map_err(|error| unreadable(dir, error))?,
        };
        if !metadata.is_dir() {
            return Err(FolderError::NotAFolder { path: dir.to_owned() });
        }
        let mut given: Vec<TableFile> = Vec::new();
        let mut others: Vec<String> = Vec::new();
        for entry in fs::read_dir(dir).map_err(|error| unreadable(dir, error))? {
            let entry = entry.map_err(|error| unreadable(dir, error))?;
            let Ok(name) = entry.file_name().into_string() else { continue };
            let path = entry.path();
            if apart.contains(&path) {
                continue;
            }
            let Some((table, is_csv)) = table_of(&name) else {
                others.push(name);
                continue;
            };
            let metadata = fs::metadata(&path).map_err(|error| unreadable(&path, error))?;
            // A pipe or a device could be read for ever.
            if !metadata.is_file() && !metadata.is_dir() {
                return Err(unreadable(&path, io::Error::other("it is no regular file")));
            }
            let (bytes, changed_at) = size_and_age(&metadata);
            given.push(TableFile { table, name, path, is_csv, bytes, changed_at });
        }
        given.sort_by(|a, b| (a.table, &a.name).cmp(&(b.table, &b.name)));
        others.retain(|name| may_hold_a_table(name));
        others.sort();
        Ok((Self { given }, others))
    }

    pub(crate) fn of(&self, table: Table) -> Option<&TableFile> {
        self.given.iter().find(|file| file.table == table)
    }

    pub(crate) fn name_of(&self, table: Table) -> Option<&str> {
        self.of(table).map(|file| file.name.as_str())
    }

    /// How large they are.
    pub(crate) fn sizes(&self) -> Sizes {
        let is_large = |file: &&TableFile| file.table.grows_with_orders();
        let large = self.given.iter().filter(is_large).map(|file| file.bytes).sum();
        Sizes { large, small: self.bytes() - large }
    }

    /// The size of all of them together.
    pub(crate) fn bytes(&self) -> u64 {
        self.given.iter().map(|file| file.bytes).sum()
    }

    /// Fails where a file is no longer what it was when the files were looked for: half of it may have been read
    /// before the change, half behind it.
    pub(crate) fn check_unchanged(&self) -> Result<(), FolderError> {
        let is_the_same = |file: &&TableFile| {
            let metadata = fs::metadata(&file.path);
            metadata.is_ok_and(|metadata| size_and_age(&metadata) == (file.bytes, file.changed_at))
        };
        match self.given.iter().find(|file| !is_the_same(file)) {
            Some(file) => Err(FolderError::Changed { file: file.name.clone() }),
            None => Ok(()),
        }
    }

    /// A table is given once.
    fn check_once(&self) -> Result<(), FolderError> {
        for pair in self.given.windows(2) {
            if pair[0].table == pair[1].table {
                return Err(FolderError::GivenTwice {
                    table: pair[0].table.name().to_owned(),
                    first: pair[0].name.clone(),
                    second: pair[1].name.clone(),
                });
            }
        }
        Ok(())
    }

    /// A table without which the others say nothing.
    fn check_given(&self, dir: &Path, table: Table, others: &[String]) -> Result<(), FolderError> {
        if self.of(table).is_some() {
            return Ok(());
        }
        let near = others.iter().find(|name| nearest(stem(name), [table.name()]).is_some());
        let hint = match near {
            Some(name) => format!("Export or rename {} if that is what it holds.", shown(name)),
            None => "Export it into the folder.".to_owned(),
        };
        Err(FolderError::TableMissing { dir: dir.to_owned(), table: table.name().to_owned(), hint })
    }

    /// Rows that belong to rows of another table come with it.
    fn check_together(&self) -> Result<(), FolderError> {
        for file in &self.given {
            if let Some(needs) = file.table.needs().iter().find(|needs| self.of(**needs).is_none()) {
                return Err(FolderError::ParentTableMissing {
                    file: file.name.clone(),
                    table: file.table.name().to_owned(),
                    needs: needs.name().to_owned(),
                });
            }
        }
        Ok(())
    }

    /// There is enough for an audit.
    fn check_whole(&self, dir: &Path, others: &[String]) -> Result<(), FolderError> {
        for table in [Table::Orders, Table::OrderLines] {
            self.check_given(dir, table, others)?;
        }
        self.check_together()?;
        let to_compare = [Table::Links, Table::Variants, Table::Submissions];
        if to_compare.iter().all(|table| self.of(*table).is_none()) {
            return Err(FolderError::NothingToCompare { dir: dir.to_owned() });
        }
        Ok(())
    }
}

/// The table that a file of this name holds, and whether as CSV.
fn table_of(name: &str) -> Option<(Table, bool)> {
    let (stem, ending) = name.rsplit_once('.')?;
    let is_csv = match ending {
        "csv" => true,
        "jsonl" => false,
        _ => return None,
    };
    Table::ALL.into_iter().find(|table| table.name() == stem).map(|table| (table, is_csv))
}

/// Whether a file of this name is the exchange file of a table.
pub(crate) fn is_table(name: &str, table: Table) -> bool {
    table_of(name).is_some_and(|(known, _)| known == table)
}

fn stem(name: &str) -> &str {
    name.split_once('.').map_or(name, |(stem, _)| stem)
}

fn may_hold_a_table(name: &str) -> bool {
    let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
    ending.is_some_and(|ending| TABLE_ENDINGS.contains(&ending.as_str()))
}

fn unknown_files(others: &[String]) -> Option<Notice> {
    if others.is_empty() {
        return None;
    }
    let mut shown_files = Vec::new();
    for name in others.iter().take(SHOWN_FILES) {
        let near = nearest(stem(name), Table::ALL.map(Table::name));
        let guess =
            near.map(|near| format!(" (did you mean {near}.csv or {near}.jsonl?)")).unwrap_or_default();
        shown_files.push(format!("{}{guess}", shown(name)));
    }
    if others.len() > SHOWN_FILES {
        shown_files.push(format!("and {} more", others.len() - SHOWN_FILES));
    }
    let files = counted(others.len() as u64, "file in the folder is", "files in the folder are");
    let text = format!("{files} no table that is known, and not read: {}", shown_files.join(", "));
    Some(Notice { topic: Topic::UnknownFile, count: others.len() as u64, text })
}

pub(crate) fn counted(count: u64, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn size_and_age(metadata: &Metadata) -> (u64, Option<SystemTime>) {
    (metadata.len(), metadata.modified().ok())
}
