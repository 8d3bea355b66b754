//! What the page asks for on which files are tried.
//!
//! Must not know pages, nor how a mapping is found. Start reading at [`Trials`].

use std::pin::Pin;
use std::sync::Arc;

use model::ShopId;

use super::{Answer, Fault};
use crate::view::{self, QueueAsked};

/// A name for a new trial that nobody can guess.
///
/// # Errors
/// Where the system has no chance to give.
pub fn new_trial_id() -> Result<String, Fault> {
    let mut chance = [0; 16];
    match getrandom::fill(&mut chance) {
        Ok(()) => Ok(data_encoding::HEXLOWER.encode(&chance)),
        Err(_) => Err(Fault::Trouble { why: "the system gives no random numbers".to_owned() }),
    }
}

/// What is said so that rows that cannot be read are left out, and the rest is judged.
pub const LEAVE_OUT: &str = "bad-rows:leave-out";

/// Files that are given for a trial: they are kept for half an hour at most, and nothing of them enters what is kept.
pub trait Trials: Send + Sync {
    /// What may be given, and which trials are under way.
    fn trials(&self) -> Answer<'_, view::Trials>;

    /// Takes files for a new trial; none is there before [`Receiving::finish`].
    fn begin_trial(&self) -> Answer<'_, Box<dyn Receiving>>;

    /// The mapping that is proposed for the files, as it stands after what was said of it.
    fn trial<'a>(&'a self, trial: &'a str) -> Answer<'a, Arc<view::Trial>>;

    /// Takes corrections, each one of the values that were shown with `shown`: where something else would be shown now,
    /// nothing is taken. [`LEAVE_OUT`] is one of them too.
    fn answer_trial<'a>(&'a self, trial: &'a str, shown: u64, answers: &'a [String]) -> Answer<'a, ()>;

    /// What is found in the files as the mapping reads them, narrowed as the queue is.
    fn judge_trial<'a>(&'a self, trial: &'a str, asked: &'a QueueAsked) -> Answer<'a, view::TrialFindings>;

    /// Writes the mapping into files, for the configuration of a shop.
    fn keep_trial<'a>(&'a self, trial: &'a str, shop: &'a ShopId) -> Answer<'a, view::TrialKept>;

    /// Deletes the files and all that was made of them.
    fn end_trial<'a>(&'a self, trial: &'a str) -> Answer<'a, ()>;
}

/// Takes the files of one trial. Where it is dropped before it is finished, what came is deleted.
pub trait Receiving: Send {
    /// Takes one file.
    fn put<'a>(&'a mut self, file: GivenFile, bytes: &'a mut dyn Incoming) -> Answer<'a, ()>;

    /// All is given; the id of the trial.
    fn finish(self: Box<Self>, how: GivenWords) -> Answer<'static, String>;
}

/// A file that somebody gives, before its bytes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GivenFile {
    /// Of which supplier, in the order of the form; `None`: of the storefront.
    pub supplier: Option<GivenSupplier>,
    /// Its name, as whoever gives it calls it. It is shown, and never a path.
    pub name: String,
}

/// Whose files are given.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GivenSupplier {
    /// Its place in the form.
    pub number: usize,
    /// Its name; empty where none was said.
    pub name: String,
}

/// What is said beside the files.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct GivenWords {
    /// The zone of times that do not say theirs; empty: the shop's.
    pub zone: String,
    /// The moment for which is judged; empty: now.
    pub as_of: String,
}

/// The next bytes of a file, in time.
pub type Bytes<'a> = Pin<Box<dyn Future<Output = Result<Option<Vec<u8>>, Fault>> + Send + 'a>>;

/// The bytes of a file, as they come.
pub trait Incoming: Send {
    /// The next ones; `None` at the end.
    fn next(&mut self) -> Bytes<'_>;
}
