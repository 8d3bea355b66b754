//! The file that puts everything back: each offer of a run with the SKU that it had, on the disk before the first change.
//!
//! JSON Lines: a line that names the run, then one for each offer. It suffices without the ledger. Must not know how a SKU
//! is changed. Start reading at [`write`] and [`read`].

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use ledger::{PlannedSku, SkuChange, SkuRun};
use model::{ListingId, Options, ShopId, Sku, SourceId};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use crate::trouble::Trouble;

/// The form of the file, so that a later one can be told from it.
const FORM: u32 = 1;

/// The largest file that is read: a million offers.
const BYTES_AT_MOST: u64 = 512 * 1024 * 1024;

const NOT_READ: &str = "nothing was put back";

/// What the first line says.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    /// The form of the file.
    pub put_back: u32,
    /// Whose offers.
    pub shop: String,
    /// At which source.
    pub source: String,
    /// Of which run.
    pub run: i64,
    /// When it began, RFC 3339.
    pub begun_at: String,
    /// Who told it.
    pub by: String,
    /// How many offers the file has.
    pub offers: usize,
}

/// What each further line says.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    listing_id: String,
    options: Map<String, Value>,
    old_sku: Option<String>,
    new_sku: Option<String>,
}

/// A file that was read.
#[derive(Clone, PartialEq, Debug)]
pub struct PutBack {
    /// Of which run it is.
    pub head: Head,
    /// What the run was to change.
    pub changes: Vec<PlannedSku>,
}

impl PutBack {
    /// What puts it back, of what the run asked for, and how many offers it did not ask for. `known` are the changes of the
    /// run by the ledger; `None`, where the ledger does not know it: then all of it.
    pub fn reversed(&self, known: Option<&[SkuChange]>) -> (Vec<PlannedSku>, usize) {
        let was_asked = |change: &&PlannedSku| {
            known.is_none_or(|known| {
                let of_offer = known.iter().find(|own| {
                    own.planned.listing_id == change.listing_id && own.planned.options == change.options
                });
                of_offer.is_none_or(SkuChange::was_asked)
            })
        };
        let asked = self.changes.iter().filter(was_asked).cloned();
        let back: Vec<PlannedSku> =
            asked.map(|change| PlannedSku { old: change.new, new: change.old, ..change }).collect();
        let left = self.changes.len() - back.len();
        (back, left)
    }

    /// The first offer of which the file says something else than the ledger knows of the run.
    pub fn differs_from(&self, known: &[SkuChange]) -> Option<&PlannedSku> {
        self.changes.iter().find(|change| !known.iter().any(|own| own.planned == **change))
    }

    /// Whether it is of this run, and not of one with the same number in another ledger.
    pub fn is_of(&self, shop: &ShopId, run: &SkuRun) -> bool {
        let Head { shop: own, source, run: number, begun_at, .. } = &self.head;
        own == shop.as_str()
            && source == run.source.as_str()
            && *number == run.number
            && *begun_at == run.signed.at.to_rfc3339()
    }
}

/// Where the file of a run stands that is not said: beside the ledger.
pub fn usual_path(ledger: &Path, shop: &ShopId, run: i64) -> PathBuf {
    let mut name = ledger.file_name().unwrap_or_default().to_owned();
    name.push(format!(".skus-{shop}-{run}.jsonl"));
    ledger.with_file_name(name)
}

/// Writes the file of a run, and brings it to the disk. One that is there is never written over.
///
/// # Errors
/// Where it cannot be written: then nothing may be changed.
pub fn write(path: &Path, shop: &ShopId, run: &SkuRun, changes: &[SkuChange]) -> io::Result<()> {
    let head = Head::of(shop, run, changes.len());
    let mut text = serde_json::to_string(&head)? + "\n";
    for SkuChange { planned, .. } in changes {
        let pairs = planned.options.iter();
        let row = Row {
            listing_id: planned.listing_id.to_string(),
            options: pairs.map(|(name, value)| (name.to_owned(), value.into())).collect(),
            old_sku: planned.old.as_ref().map(ToString::to_string),
            new_sku: planned.new.as_ref().map(ToString::to_string),
        };
        text += &serde_json::to_string(&row)?;
        text.push('\n');
    }
    create_new(path, text.as_bytes())
}

/// Makes a file that is not there yet, and brings it to the disk with its name.
pub fn create_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.create_new(true).write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    file.write_all(bytes).and_then(|()| file.sync_all())?;
    #[cfg(unix)]
    {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        File::open(folder.unwrap_or(Path::new(".")))?.sync_all()?;
    }
    Ok(())
}

/// Reads such a file.
///
/// # Errors
/// Where it cannot be read, or is no such file: with the line.
pub fn read(path: &Path) -> Result<PutBack, Trouble> {
    let name = path.display();
    let unreadable = |error: io::Error| Trouble::new(NOT_READ, format!("{name}: {error}"));
    let mut text = String::new();
    let file = File::open(path).map_err(unreadable)?;
    file.take(BYTES_AT_MOST + 1).read_to_string(&mut text).map_err(unreadable)?;
    if text.len() as u64 > BYTES_AT_MOST {
        return Err(Trouble::new(NOT_READ, format!("{name} is larger than {BYTES_AT_MOST} bytes")));
    }
    let bad = |line: usize, cause: String| {
        Trouble::new(NOT_READ, format!("{name}, line {line}: {cause}")).help(
            "give the file that `everyline links send` wrote before the run; `--put-back-file` or the end of that run \
             said where",
        )
    };
    let mut lines = text.lines().enumerate().map(|(place, line)| (place + 1, line));
    let head = lines.next().map(|(_, line)| serde_json::from_str::<Head>(line));
    let head = match head {
        Some(Ok(head)) if head.put_back == FORM => head,
        Some(Ok(head)) => {
            let found = head.put_back;
            return Err(bad(1, format!("the file has form {found}, and this version knows {FORM}")));
        }
        Some(Err(error)) => return Err(bad(1, format!("it does not say of which run it is: {error}"))),
        None => return Err(bad(1, "the file is empty".to_owned())),
    };
    let mut changes: Vec<PlannedSku> = Vec::new();
    for (line, row) in lines {
        let row: Row = serde_json::from_str(row).map_err(|error| bad(line, error.to_string()))?;
        changes.push(planned(row).map_err(|cause| bad(line, cause))?);
    }
    if changes.len() != head.offers {
        let cause = format!("{name} is not whole: it has {} of {} offers", changes.len(), head.offers);
        return Err(Trouble::new(NOT_READ, cause).help("take it from where it was copied, whole"));
    }
    let mut offers: Vec<_> = changes.iter().map(|change| (&change.listing_id, &change.options)).collect();
    offers.sort();
    if let Some(pair) = offers.windows(2).find(|pair| pair[0] == pair[1]) {
        let (listing_id, options) = pair[0];
        return Err(Trouble::new(NOT_READ, format!("{name} has listing {listing_id} ({options}) twice")));
    }
    Ok(PutBack { head, changes })
}

fn planned(row: Row) -> Result<PlannedSku, String> {
    let mut options = Options::new();
    for (name, value) in row.options {
        let value = value.as_str().ok_or_else(|| format!("the option {name:?} is no text"))?.to_owned();
        options.add(name, value).map_err(|error| error.to_string())?;
    }
    let sku = |text: Option<String>| match text {
        None => Ok(None),
        Some(text) => Sku::new(text).map(Some).ok_or("a SKU is empty; expected is a SKU, or null"),
    };
    let (old, new) = (sku(row.old_sku)?, sku(row.new_sku)?);
    if old == new {
        return Err("old_sku and new_sku are the same".to_owned());
    }
    Ok(PlannedSku { listing_id: ListingId::new(row.listing_id), options, old, new })
}

impl Head {
    /// That of a run of a shop, with so many offers.
    pub fn of(shop: &ShopId, run: &SkuRun, offers: usize) -> Self {
        Self {
            put_back: FORM,
            shop: shop.to_string(),
            source: run.source.to_string(),
            run: run.number,
            begun_at: run.signed.at.to_rfc3339(),
            by: run.signed.by.clone(),
            offers,
        }
    }

    /// The source that it is of.
    pub fn source(&self) -> SourceId {
        SourceId::new(self.source.as_str())
    }
}
