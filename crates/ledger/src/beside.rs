//! The files beside the ledger: the locks of who watches and of who changes SKUs, and the secret of the installation.
//!
//! The secret stands apart from the ledger, so that whoever gets a copy of the ledger alone cannot find out by trying
//! which addresses its digests are of. Must not know: SQL. Start reading at [`Watching`].

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use crate::error::LedgerError;

/// How many bytes the secret has.
const SECRET_BYTES: usize = 32;

/// That this process, and no other, watches with the ledger. It ends with this value, and with the process.
#[derive(Debug)]
pub struct Watching {
    _lock: File,
}

impl Watching {
    pub(crate) fn begin(ledger: &Path) -> Result<Self, LedgerError> {
        let lock = lock(ledger, "lock")?.ok_or_else(|| LedgerError::Watched { path: ledger.to_owned() })?;
        Ok(Self { _lock: lock })
    }
}

/// That this process, and no other, changes SKUs at storefronts with the ledger, beside whoever watches. It ends with this
/// value, and with the process.
#[derive(Debug)]
pub struct SendingSkus {
    _lock: File,
}

impl SendingSkus {
    pub(crate) fn begin(ledger: &Path) -> Result<Self, LedgerError> {
        let lock = lock(ledger, "skus.lock")?;
        let lock = lock.ok_or_else(|| LedgerError::SendingSkus { path: ledger.to_owned() })?;
        Ok(Self { _lock: lock })
    }
}

/// The lock of a file beside the ledger; `None` where somebody else has it.
fn lock(ledger: &Path, ending: &str) -> Result<Option<File>, LedgerError> {
    let path = beside(ledger, ending);
    let unusable = |source| LedgerError::Beside { path: path.clone(), source };
    let file = OpenOptions::new().create(true).truncate(false).write(true).open(&path).map_err(unusable)?;
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => Ok(None),
        Err(TryLockError::Error(error)) => Err(unusable(error)),
    }
}

/// The secret of the installation, made where there is none and it may be.
pub(crate) fn secret(ledger: &Path, may_be_made: bool) -> Result<Vec<u8>, LedgerError> {
    let path = beside(ledger, "key");
    let unusable = |source| LedgerError::Beside { path: path.clone(), source };
    if !may_be_made && !path.exists() {
        return Err(LedgerError::KeyLost { path });
    }
    let mut file =
        owner_only().create(true).truncate(false).read(true).write(true).open(&path).map_err(unusable)?;
    // Whoever comes second waits until the first has written it; an empty file is one that was never written.
    file.lock().map_err(unusable)?;
    let mut secret = Vec::new();
    file.read_to_end(&mut secret).map_err(unusable)?;
    match secret.len() {
        SECRET_BYTES => Ok(secret),
        0 if !may_be_made => Err(LedgerError::KeyLost { path }),
        0 => {
            secret.resize(SECRET_BYTES, 0);
            getrandom::fill(&mut secret).map_err(|error| unusable(io::Error::other(error)))?;
            file.write_all(&secret).and_then(|()| file.sync_all()).map_err(unusable)?;
            Ok(secret)
        }
        found => {
            let found = format!("it has {found} bytes instead of {SECRET_BYTES}");
            Err(unusable(io::Error::other(found)))
        }
    }
}

/// Lets one at a time open a ledger of this folder, until the value is dropped.
///
/// SQLite does not wait for others while it turns a new file into one with a write-ahead log, whatever its busy
/// timeout. The lock is on the folder, so that it leaves no file; and not on the ledger, since closing any handle of
/// a file lets go of the locks that SQLite has on it.
#[cfg(unix)]
pub(crate) fn alone(ledger: &Path) -> io::Result<File> {
    let folder = ledger.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let folder = File::open(folder)?;
    folder.lock()?;
    Ok(folder)
}

/// Where a folder cannot be locked, whoever comes second to a new ledger is told that it is busy.
#[cfg(not(unix))]
pub(crate) fn alone(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Makes the ledger's file, for its owner alone, where it is not there.
pub(crate) fn make(ledger: &Path) -> io::Result<()> {
    match owner_only().create_new(true).write(true).open(ledger) {
        Err(error) if error.kind() != ErrorKind::AlreadyExists => Err(error),
        _ => Ok(()),
    }
}

fn owner_only() -> OpenOptions {
    let mut options = OpenOptions::new();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

fn beside(ledger: &Path, ending: &str) -> PathBuf {
    let mut name = ledger.file_name().unwrap_or_default().to_owned();
    name.push(".");
    name.push(ending);
    ledger.with_file_name(name)
}
