//! What is found in the files of a trial, as `everyline audit --from DIR --map FILE` finds it.
//!
//! Must not know how that is shown. Start reading at [`Found::of`].

use chrono::{DateTime, Utc};
use intake::source::declare::Source;
use intake::{BadRow, ReadSettings, read_exports};
use model::Outcome;

use super::{Deadline, Not, Read, Trial};
use crate::audit::{BAD_ROWS_SHOWN, judged};

/// What was found.
#[derive(Debug)]
pub struct Found {
    /// The moment for which it holds.
    pub as_of: DateTime<Utc>,
    /// Rows that were read.
    pub rows_read: u64,
    /// The first rows that cannot be read.
    pub bad_rows: Vec<BadRow>,
    /// How many cannot be read.
    pub bad_row_count: u64,
    /// What was judged; `None` where rows cannot be read and are not to be left out.
    pub outcome: Option<Outcome>,
}

impl Found {
    /// Reads the files and judges them.
    ///
    /// # Errors
    /// Where they cannot be read or judged, or it takes too long.
    pub fn of(
        trial: &Trial,
        read: &Read,
        leaves_out: bool,
        as_of: DateTime<Utc>,
        deadline: Deadline,
    ) -> Result<Self, Not> {
        let (settings, sources) = read.judged_by.as_ref().map_err(Clone::clone)?;
        let all: Vec<&Source> = sources.iter().collect();
        let how = ReadSettings { zone: settings.zone, rules: &settings.rules };
        let folder = read_exports(trial.folder.path(), &all, &how, &mut |_| {}).map_err(|error| {
            let why = trial.named(&error.to_string());
            // Where it is has no place on a page.
            let why = why.replace(&trial.folder.path().display().to_string(), "the files");
            Not::new(
                why.trim_end_matches('.'),
                "go back to how the files are read, or give what is missing beside them",
            )
        })?;
        deadline.check()?;
        let (rows_read, bad_row_count) = (folder.rows_read, folder.bad_row_count);
        let bad_rows: Vec<BadRow> = folder.bad_rows.iter().take(BAD_ROWS_SHOWN).cloned().collect();
        let may_judge = bad_row_count == 0 || leaves_out;
        let outcome = may_judge.then(|| judged(folder, settings, as_of));
        deadline.check()?;
        Ok(Self { as_of, rows_read, bad_rows, bad_row_count, outcome })
    }
}
