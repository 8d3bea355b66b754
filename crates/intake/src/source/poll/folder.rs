//! A folder into which exchange files are put.
//!
//! The files of the folder are one set and are read together: a row needs the rows that it belongs to. A set is read once;
//! when any of its files is another than it was (by name, size and time of change, and then by a digest of its bytes), the
//! whole set is read again, and so it is where the shop's zone is another. A file that is still being written is waited
//! for. Must not know: how rows are kept. Start reading at [`FolderReader::read`].
//!
//! `read_up_to` is the time of change of the oldest file among those that grow with every order: what happened later may
//! be missing in it. `everything_since` is set where the set has every table of offers, variants, products and links
//! that any set before had: a table that is left out is not gone. One that is empty is.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::batch::Whole;
use model::outcome::Topic;
use model::{Batch, Book, Mark, Rules, ShopId, SourceId};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::error::PollError;
use crate::error::FolderError;
use crate::files::{Files, TableFile};
use crate::folder::{Folder, ReadSettings, read_part};
use crate::mapped::{exports_in, read_exports_part};
use crate::source::declare::Source as Declared;
use crate::source::http::World;
use crate::tables::Table;

/// So long a new file must stay as it is before it is read; whatever writes one writes more often than that.
const STILL: Duration = Duration::from_secs(2);

/// The name under which its batches come.
const REQUEST: &str = "folder";

/// The form of the mark. Another one is not read.
const VERSION: u32 = 1;

/// The tables of which a row that is not there any more is gone.
const CAN_GO: [Table; 4] = [Table::Offers, Table::Variants, Table::ListingProducts, Table::Links];

/// What is needed to read a folder.
#[derive(Clone)]
pub struct FolderReader {
    /// Whose source it is.
    pub shop: ShopId,
    /// The source, by its configured name.
    pub source: SourceId,
    /// The folder.
    pub folder: PathBuf,
    /// The shop's zone, for times that are a date alone.
    pub zone: Tz,
    /// How references are written.
    pub rules: Rules,
    /// The source, where what stands in the folder are exports that its requests read; `None`: exchange files.
    pub exports: Option<Arc<Declared>>,
    /// What digests of addresses are keyed with.
    pub digest_key: Vec<u8>,
    /// The time, and waiting.
    pub world: Arc<dyn World>,
}

/// What stands in the folder.
#[derive(Debug)]
pub enum Dropped {
    /// A set that was not read before, to be committed with its mark.
    Batch {
        /// The rows.
        batch: Box<Batch>,
        /// What is to be known of rows of its files that were taken for none.
        passed_over: Vec<String>,
    },
    /// The set that was read last. The batch has no rows; its mark is to be committed.
    Unchanged(Box<Batch>),
    /// This file is still being written: nothing was read, and the next poll looks again.
    Waiting {
        /// Its name.
        file: String,
    },
}

#[derive(Clone, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
struct MarkText {
    version: u32,
    /// By what they were read: the zone of times that are a date alone, and the mapping of exports.
    zone: String,
    files: Vec<FileSeen>,
    /// The tables that were ever given, by name, sorted.
    tables: BTreeSet<String>,
}

/// A file as it was when it was read.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
struct FileSeen {
    name: String,
    table: String,
    bytes: u64,
    changed_at: DateTime<Utc>,
    /// SHA-256; empty until it is needed.
    digest: String,
}

impl FileSeen {
    fn looks_like(&self, other: &Self) -> bool {
        (&self.name, self.bytes, self.changed_at) == (&other.name, other.bytes, other.changed_at)
    }
}

/// Which tables have been read by this mark of a folder, by name, sorted: those of any set so far, for a table that is left
/// out later is not gone. None where there is no mark yet.
pub fn tables_read(mark: &Mark) -> Vec<String> {
    MarkText::of(mark).tables.into_iter().collect()
}

impl MarkText {
    /// That of a mark; without files where there is none, or of another form.
    fn of(mark: &Mark) -> Self {
        let read = serde_json::from_str::<Self>(&mark.text).ok();
        read.filter(|mark| mark.version == VERSION).unwrap_or_default()
    }
}

impl FolderReader {
    /// Looks into the folder, and reads what is new.
    ///
    /// # Errors
    /// [`PollError::Folder`] where the files cannot be read at all, [`PollError::BadRows`] where some rows cannot: then
    /// nothing is kept, and the mark stays.
    pub async fn read(&self, mark: &Mark) -> Result<Dropped, PollError> {
        let known = MarkText::of(mark);
        let zone_name = self.read_by();
        let is_read_alike = known.zone == zone_name;
        let began = self.world.now();
        let mut files = self.look().await?;
        let is_as_it_was = files.len() == known.files.len()
            && files.iter().zip(&known.files).all(|(file, known)| file.looks_like(known));
        if is_as_it_was && (is_read_alike || files.is_empty()) {
            return Ok(Dropped::Unchanged(Box::new(self.batch(known, None, None, began))));
        }
        self.world.sleep(STILL).await;
        let again = self.look().await?;
        if let Some(file) = first_that_differs(&files, &again) {
            return Ok(Dropped::Waiting { file });
        }
        let to_read = files.clone();
        for (file, digest) in files.iter_mut().zip(self.blocking(move |dir| digests(dir, &to_read)).await?) {
            file.digest = digest;
        }
        let contents = |files: &[FileSeen]| -> Vec<(String, String)> {
            files.iter().map(|file| (file.name.clone(), file.digest.clone())).collect()
        };
        let is_new = contents(&files) != contents(&known.files) || !is_read_alike;
        let (zone, rules) = (self.zone, self.rules.clone());
        let folder = if is_new {
            let (exports, key) = (self.exports.clone(), self.digest_key.clone());
            let read = self.blocking(move |dir| {
                let settings = ReadSettings { zone, rules: &rules };
                match exports {
                    Some(source) => read_exports_part(dir, &source, &settings, &key),
                    None => read_part(dir, &settings, &mut |_| {}),
                }
            });
            match read.await {
                Ok(folder) => Some(folder),
                Err(PollError::Folder { source_name, error }) => match *error {
                    FolderError::Changed { file } => return Ok(Dropped::Waiting { file }),
                    error => return Err(PollError::Folder { source_name, error: Box::new(error) }),
                },
                Err(error) => return Err(error),
            }
        } else {
            None
        };
        if let Some(file) = first_that_differs(&files, &self.look().await?) {
            return Ok(Dropped::Waiting { file });
        }
        let Some(Folder { book, bad_rows, bad_row_count, notices, .. }) = folder else {
            let mark = MarkText { files, ..known };
            return Ok(Dropped::Unchanged(Box::new(self.batch(mark, None, None, began))));
        };
        if bad_row_count > 0 {
            let source_name = self.source.clone();
            return Err(PollError::BadRows { source_name, rows: bad_rows, count: bad_row_count });
        }
        let given: BTreeSet<String> = files.iter().map(|file| file.table.clone()).collect();
        let has_all =
            CAN_GO.iter().all(|table| given.contains(table.name()) || !known.tables.contains(table.name()));
        let everything = has_all.then_some(began);
        let tables = &given | &known.tables;
        let mark = MarkText { version: VERSION, zone: zone_name, files, tables };
        let passed_over = notices.into_iter().filter(|notice| notice.topic == Topic::PassedOver);
        Ok(Dropped::Batch {
            batch: Box::new(self.batch(mark, Some(book), everything, began)),
            passed_over: passed_over.map(|notice| notice.text).collect(),
        })
    }

    /// What is in the folder now, without digests.
    async fn look(&self) -> Result<Vec<FileSeen>, PollError> {
        let exports = self.exports.clone();
        self.blocking(move |dir| match exports {
            Some(source) => seen(&exports_in(dir, &source)?),
            None => seen(&Files::find_part(dir, &mut Vec::new())?.given),
        })
        .await
    }

    /// By what the files are read: the shop's zone, and the mapping of exports. Where that is another, all is read anew.
    fn read_by(&self) -> String {
        let zone = self.zone.name();
        let Some(source) = &self.exports else { return zone.to_owned() };
        let mapping = Sha256::digest(format!("{:?}", source.origin));
        format!("{zone} {}", data_encoding::HEXLOWER.encode(&mapping))
    }

    fn batch(
        &self,
        mark: MarkText,
        book: Option<Book>,
        everything_since: Option<DateTime<Utc>>,
        began: DateTime<Utc>,
    ) -> Batch {
        let grows = |file: &&FileSeen| {
            Table::ALL.iter().any(|table| table.name() == file.table && table.grows_with_orders())
        };
        let oldest = mark.files.iter().filter(grows).map(|file| file.changed_at).min();
        let whole = book.as_ref().map(whole).unwrap_or_default();
        let text = serde_json::to_string(&mark).unwrap_or_default();
        Batch {
            shop: self.shop.clone(),
            source: self.source.clone(),
            request: REQUEST.to_owned(),
            rows: book.unwrap_or_default(),
            whole,
            everything_since,
            mark: Mark { text, read_up_to: oldest.map(|oldest| oldest.min(began)) },
            seen_at: self.world.now().max(began),
            source_time: None,
        }
    }

    /// Does what waits for the disk where nothing else waits for it.
    async fn blocking<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Path) -> Result<T, FolderError> + Send + 'static,
    ) -> Result<T, PollError> {
        let dir = self.folder.clone();
        let at = dir.clone();
        let done = tokio::task::spawn_blocking(move || work(&dir)).await;
        let done = done.unwrap_or_else(|error| {
            Err(FolderError::Unreadable { path: at, source: std::io::Error::other(error.to_string()) })
        });
        done.map_err(|error| PollError::Folder { source_name: self.source.clone(), error: Box::new(error) })
    }
}

fn seen(files: &[TableFile]) -> Result<Vec<FileSeen>, FolderError> {
    let seen = files.iter().map(|file| {
        let unreadable = |source| FolderError::Unreadable { path: file.path.clone(), source };
        let metadata = fs::metadata(&file.path).map_err(unreadable)?;
        let changed_at = metadata.modified().map_err(unreadable)?;
        Ok(FileSeen {
            name: file.name.clone(),
            table: file.table.name().to_owned(),
            bytes: metadata.len(),
            changed_at: changed_at.into(),
            digest: String::new(),
        })
    });
    seen.collect()
}

fn digests(dir: &Path, files: &[FileSeen]) -> Result<Vec<String>, FolderError> {
    let digest = |file: &FileSeen| {
        let path = dir.join(&file.name);
        let digest = digest_of(&path).map_err(|source| FolderError::Unreadable { path, source })?;
        Ok(digest)
    };
    files.iter().map(digest).collect()
}

fn digest_of(path: &Path) -> std::io::Result<String> {
    let mut file = File::open(path)?;
    let mut digest = Sha256::new();
    let mut buffer = vec![0; 64 * 1024];
    loop {
        match file.read(&mut buffer)? {
            0 => return Ok(data_encoding::HEXLOWER.encode(&digest.finalize())),
            read => digest.update(&buffer[..read]),
        }
    }
}

/// A file that is another than it was, came, or went.
fn first_that_differs(before: &[FileSeen], after: &[FileSeen]) -> Option<String> {
    let differs = |files: &[FileSeen], others: &[FileSeen]| {
        let odd = files.iter().find(|file| !others.iter().any(|other| other.looks_like(file)));
        odd.map(|file| file.name.clone())
    };
    differs(before, after).or_else(|| differs(after, before))
}

/// Files bring orders and submissions with all their lines, where the table of these is given.
fn whole(book: &Book) -> Vec<Whole> {
    let mut all: Vec<Whole> = book.orders.iter().map(|order| Whole::Order(order.order_id.clone())).collect();
    for sent in book.submissions.iter().flatten() {
        let (supplier, submission_id) = (sent.supplier.clone(), sent.submission_id.clone());
        if book.submission_lines.is_some() {
            all.push(Whole::Submission(supplier.clone(), submission_id.clone()));
        }
        if book.parcels.is_some() {
            all.push(Whole::ParcelsOf(supplier, submission_id));
        }
    }
    if book.parcel_lines.is_some() {
        let parcels = book.parcels.iter().flatten();
        all.extend(parcels.map(|parcel| Whole::Parcel(parcel.supplier.clone(), parcel.parcel_id.clone())));
    }
    all
}
