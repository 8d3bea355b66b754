//! Trials: files that somebody gives on the page, kept for a short while in a folder of their own.
//!
//! Must not know pages. `folder` is where files lie, `read` finds how they are read, `found` judges them, `keep` writes the
//! mapping out. Start reading at [`Trials`].

mod folder;
mod found;
mod keep;
mod read;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use intake::propose::ProposedRole;
use intake::source::http::World;
use tokio::sync::Semaphore;
use web::view::{TrialKept, TrialLimits};

pub use folder::{OwnFolder, ending};
pub use found::Found;
pub use keep::{Places, keep};
pub use read::{Read, ReadSource, Said, words_of};

/// How long files are looked at, after which it is given up: a bit less than a request may take, so that it is said.
pub const WORKED_FOR: Duration = Duration::from_secs(25);

/// How often is looked whether the time of a trial is over.
const BETWEEN_LOOKS: Duration = Duration::from_secs(60);

/// Why something was not done with a trial, for a person: why, and what to do next.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Not {
    /// Why, as a sentence without a full stop.
    pub why: String,
    /// What to do next, likewise.
    pub todo: String,
}

impl Not {
    /// Why, and what to do.
    pub fn new(why: impl Into<String>, todo: impl Into<String>) -> Self {
        Self { why: why.into(), todo: todo.into() }
    }
}

/// Until when work goes on.
#[derive(Clone, Copy, Debug)]
pub struct Deadline(Option<Instant>);

impl Deadline {
    /// So long from now.
    pub fn after(span: Duration) -> Self {
        Self(Instant::now().checked_add(span))
    }

    /// Whether there is time left. Work is asked between two of its steps, each of which is bounded by the limits of files.
    ///
    /// # Errors
    /// Where there is none.
    pub fn check(self) -> Result<(), Not> {
        match self.0 {
            Some(at) if Instant::now() >= at => Err(Self::passed()),
            _ => Ok(()),
        }
    }

    /// That it has passed.
    pub fn passed() -> Not {
        Not::new(
            "looking at the files took too long, and was given up",
            "give fewer days at once, or use `everyline audit --from DIR --map FILE`, which may take as long as it wants",
        )
    }
}

/// A file that was given.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Given {
    /// Its name, as whoever gave it calls it.
    pub name: String,
    /// Its name in the folder of the trial, which is ours.
    pub here: String,
}

/// The files of one source.
#[derive(Clone, Debug)]
pub struct Side {
    /// The name of the source.
    pub source: String,
    /// What it is a source of.
    pub role: ProposedRole,
    /// Its files.
    pub files: Vec<Given>,
}

impl Side {
    /// Whose files these are, within a sentence.
    pub fn whose(&self) -> String {
        match self.role.supplier() {
            None => "your storefront".to_owned(),
            Some(supplier) => digest::isolated(supplier).to_string(),
        }
    }
}

/// A trial. Where nobody has it any longer, its folder is deleted.
#[derive(Debug)]
pub struct Trial {
    /// Its id.
    pub id: String,
    /// When it was begun.
    pub begun_at: DateTime<Utc>,
    /// Where the files are.
    pub folder: OwnFolder,
    /// The zone of times that do not say theirs.
    pub zone: Tz,
    /// The moment for which it is judged; `None`: now.
    pub as_of: Option<DateTime<Utc>>,
    /// The sources, the storefront first.
    pub sides: Vec<Side>,
    state: Mutex<State>,
}

/// What changes of a trial.
#[derive(Clone, Debug)]
pub struct State {
    /// When it was used last.
    pub used_at: DateTime<Utc>,
    /// Counts what was said.
    pub shown: u64,
    /// What was said, source by source.
    pub said: Vec<Said>,
    /// Whether rows that cannot be read are left out.
    pub leaves_out: bool,
    /// How the files are read, after what was said.
    pub read: Option<Arc<Read>>,
    /// What was found.
    pub found: Option<Arc<Found>>,
    /// What was written into files.
    pub kept: Option<TrialKept>,
}

impl Trial {
    /// What changes of it.
    pub fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A text with the files' names in place of ours.
    pub fn named(&self, text: &str) -> String {
        let files = self.sides.iter().flat_map(|side| &side.files);
        files.fold(text.to_owned(), |text, file| text.replace(&file.here, &file.name))
    }
}

/// All trials.
#[derive(Debug)]
pub struct Trials {
    /// Where their folders are.
    base: PathBuf,
    /// What may be given.
    pub limits: TrialLimits,
    /// How long one is looked at.
    pub worked_for: Duration,
    all: Mutex<BTreeMap<String, Arc<Trial>>>,
    /// Those whose files are still coming.
    coming: Arc<Semaphore>,
    /// One is looked at at a time: each takes much memory.
    pub alone: Arc<Semaphore>,
}

impl Trials {
    /// None, of the program whose ledger this is; what a crash left of others is deleted.
    pub fn new(ledger: &Path) -> Self {
        let mut name = ledger.file_name().unwrap_or_default().to_owned();
        name.push(".trials");
        let base = ledger.with_file_name(name);
        folder::clear(&base);
        let limits = TrialLimits::USUAL;
        Self {
            base,
            limits,
            worked_for: WORKED_FOR,
            all: Mutex::default(),
            coming: Arc::new(Semaphore::new(limits.trials)),
            alone: Arc::new(Semaphore::new(1)),
        }
    }

    fn all(&self) -> MutexGuard<'_, BTreeMap<String, Arc<Trial>>> {
        self.all.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// When a trial is deleted that was used last at a moment.
    pub fn ends(&self, used_at: DateTime<Utc>) -> DateTime<Utc> {
        used_at + TimeDelta::minutes(self.limits.kept_minutes)
    }

    /// Deletes those whose time is over.
    pub fn sweep(&self, now: DateTime<Utc>) {
        let over: Vec<Arc<Trial>> = {
            let mut all = self.all();
            let is_over = |trial: &Arc<Trial>| {
                let used_at = trial.state().used_at;
                // A clock that was put back lets nothing stand for ever.
                self.ends(used_at) <= now || used_at - now > TimeDelta::minutes(self.limits.kept_minutes)
            };
            let ids: Vec<String> =
                all.iter().filter(|(_, trial)| is_over(trial)).map(|(id, _)| id.clone()).collect();
            ids.iter().filter_map(|id| all.remove(id)).collect()
        };
        over.iter().for_each(|trial| trial.folder.delete());
    }

    /// Those under way, the newest first.
    pub fn under_way(&self, now: DateTime<Utc>) -> Vec<Arc<Trial>> {
        self.sweep(now);
        let mut all: Vec<Arc<Trial>> = self.all().values().cloned().collect();
        all.sort_by(|one, other| other.begun_at.cmp(&one.begun_at).then_with(|| one.id.cmp(&other.id)));
        all
    }

    /// A place for files that are coming, and a folder for them.
    ///
    /// # Errors
    /// Where there are too many trials, or no folder can be made.
    pub fn begin(
        &self,
        id: &str,
        now: DateTime<Utc>,
    ) -> Result<(OwnFolder, tokio::sync::OwnedSemaphorePermit), Not> {
        self.sweep(now);
        let place = Arc::clone(&self.coming).try_acquire_owned().ok();
        let coming = self.limits.trials - self.coming.available_permits().min(self.limits.trials);
        match place {
            Some(place) if self.all().len() + coming <= self.limits.trials => {
                let folder = OwnFolder::new(&self.base, id)?;
                Ok((folder, place))
            }
            _ => Err(Not::new(
                format!("{} trials are under way already, and no more are kept at once", self.limits.trials),
                "go back, and be done with one of them",
            )),
        }
    }

    /// Keeps a trial whose files have come.
    pub fn add(
        &self,
        id: String,
        folder: OwnFolder,
        how: (Tz, Option<DateTime<Utc>>),
        sides: Vec<Side>,
        now: DateTime<Utc>,
    ) {
        let state = State {
            used_at: now,
            shown: 0,
            said: vec![Said::default(); sides.len()],
            leaves_out: false,
            read: None,
            found: None,
            kept: None,
        };
        let (zone, as_of) = how;
        let trial =
            Trial { id: id.clone(), begun_at: now, folder, zone, as_of, sides, state: Mutex::new(state) };
        self.all().insert(id, Arc::new(trial));
    }

    /// A trial, which is used now.
    pub fn get(&self, id: &str, now: DateTime<Utc>) -> Option<Arc<Trial>> {
        self.sweep(now);
        let trial = self.all().get(id).cloned()?;
        trial.state().used_at = now;
        Some(trial)
    }

    /// Deletes a trial with its files; whether there was one.
    pub fn end(&self, id: &str) -> bool {
        let ended = self.all().remove(id);
        if let Some(trial) = &ended {
            trial.folder.delete();
        }
        ended.is_some()
    }

    /// Deletes all.
    pub fn end_all(&self) {
        self.all().clear();
        folder::clear(&self.base);
    }
}

/// Deletes a trial once its time is over, also where nobody asks for anything any longer.
pub fn look_after(trials: &Arc<Trials>, world: Arc<dyn World>, id: String) {
    let trials = Arc::downgrade(trials);
    tokio::spawn(async move {
        loop {
            tokio::time::sleep(BETWEEN_LOOKS).await;
            let Some(trials) = trials.upgrade() else { return };
            trials.sweep(world.now());
            if !trials.all().contains_key(&id) {
                return;
            }
        }
    });
}

impl Drop for Trials {
    fn drop(&mut self) {
        self.end_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::world::Told;

    #[tokio::test(start_paused = true)]
    async fn a_trial_that_nobody_asks_for_any_longer_is_deleted_all_the_same() {
        let now = DateTime::from_timestamp(1_764_000_000, 0).unwrap();
        let home = tempfile::tempdir().unwrap();
        let trials = Arc::new(Trials::new(&home.path().join("everyline.db")));
        let told = Arc::new(Told::new(now));
        let (folder, _place) = trials.begin("ab12", now).unwrap();
        folder.file("given-01-01.csv").unwrap();
        let path = folder.path().to_owned();
        trials.add("ab12".to_owned(), folder, (Tz::UTC, None), Vec::new(), now);
        look_after(&trials, Arc::clone(&told) as Arc<dyn World>, "ab12".to_owned());
        told.set(now + TimeDelta::minutes(29));
        tokio::time::sleep(BETWEEN_LOOKS * 2).await;
        assert!(path.join("given-01-01.csv").exists());
        told.set(now + TimeDelta::minutes(30));
        tokio::time::sleep(BETWEEN_LOOKS * 2).await;
        assert!(!path.exists() && trials.under_way(told.now()).is_empty());
    }

    #[test]
    fn an_ending_is_of_letters_and_digits_alone() {
        for (name, want) in [
            ("orders.CSV", ".csv"),
            ("orders.tar.gz", ".gz"),
            ("orders", ""),
            ("a.b/../c", ""),
            ("a.\u{202e}", ""),
            ("a.", ""),
            ("a.verylongending", ""),
        ] {
            assert_eq!(ending(name), want, "{name}");
        }
    }
}
