//! What can go wrong with the ledger, each with what to do next.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

/// Why the ledger could not do something. Nothing of it was done.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LedgerError {
    /// The file cannot be opened or made.
    #[error("{}: the ledger cannot be opened ({source}). Check that its folder is there and that you may write into it.", .path.display())]
    NotOpened {
        /// The ledger.
        path: PathBuf,
        /// What the system or SQLite says.
        source: sqlx::Error,
    },
    /// A file beside the ledger cannot be used.
    #[error("{}: cannot be used ({source}). Check that you may write into the folder of the ledger.", .path.display())]
    Beside {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The secret of the installation is gone, and addresses have been kept with it.
    #[error(
        "{}: the key of the ledger is not there any more. Put it back from a copy; with a new key every address would look \
         as if it had changed. Where there is no copy, begin with a new ledger: move the old one away.", .path.display()
    )]
    KeyLost {
        /// Its file.
        path: PathBuf,
    },
    /// It was written by a later version.
    #[error(
        "{}: the ledger was written by a later version of everyline (its form is number {found}, this version knows \
         {known}). Use that version, or a copy of the ledger from before.", .path.display()
    )]
    Later {
        /// The ledger.
        path: PathBuf,
        /// Its form.
        found: i64,
        /// The latest form that is known.
        known: i64,
    },
    /// It could not be brought into the form of this version.
    #[error("{}: the ledger could not be brought into the form of this version ({source}). It is as it was.", .path.display())]
    NotMigrated {
        /// The ledger.
        path: PathBuf,
        /// What went wrong.
        source: sqlx::migrate::MigrateError,
    },
    /// Another process watches with it.
    #[error(
        "{}: another everyline watches with this ledger. Stop it first, or give this one a ledger of its own.",
        .path.display()
    )]
    Watched {
        /// The ledger.
        path: PathBuf,
    },
    /// Another process changes SKUs with it.
    #[error(
        "{}: another everyline is changing SKUs with this ledger. Wait until it has ended, then look at what is left.",
        .path.display()
    )]
    SendingSkus {
        /// The ledger.
        path: PathBuf,
    },
    /// Something in it is not what this version writes.
    #[error("the ledger holds {found:?} where {expected} should be. Restore a copy of it, and report this.")]
    Strange {
        /// What stands there.
        found: String,
        /// What should.
        expected: &'static str,
    },
    /// There is no such finding.
    #[error("there is no finding {id}. `everyline findings` lists those that stand.")]
    NoSuchFinding {
        /// What was asked for.
        id: String,
    },
    /// There is no such change of links.
    #[error(
        "there is no change {number} of links{}. `everyline links export --history` lists them.",
        .last.map(|last| format!(" (the last one is {last})")).unwrap_or_default()
    )]
    NoSuchChange {
        /// What was asked for.
        number: i64,
        /// The last one that there is.
        last: Option<i64>,
    },
    /// A change of links was taken back before.
    #[error(
        "change {number} of links was taken back already, by change {by}. To have it again, take change {by} back."
    )]
    TakenBack {
        /// The change.
        number: i64,
        /// The one that took it back.
        by: i64,
    },
    /// What a change of links made was changed again later, so that it cannot be taken back by itself.
    #[error(
        "change {number} of links cannot be taken back by itself: change {later} has changed {what} since. Take change \
         {later} back first, or say anew what is right."
    )]
    ChangedSince {
        /// The change.
        number: i64,
        /// What was changed again.
        what: String,
        /// By which.
        later: i64,
    },
    /// Somebody else changed the same while this was decided on.
    #[error(
        "{what} was changed at the same moment by somebody else (change {later}), and what was to be kept was decided on \
         without that. Look at it with `everyline links export --history`, and say it again."
    )]
    ChangedMeanwhile {
        /// What was changed.
        what: String,
        /// By which change.
        later: i64,
    },
    /// SQLite says no.
    #[error(
        "the ledger could not be read or written ({0}). Check that its disk is not full, and that the file is whole."
    )]
    Sql(#[from] sqlx::Error),
}
