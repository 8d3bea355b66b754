//! A trial: the mapping that is proposed for somebody's files, as sentences, and what is found by it.
//!
//! Must not know HTML, or how a mapping is found. Start reading at [`Trial`].

use model::outcome::Totals;
use schemars::JsonSchema;
use serde::Serialize;

use super::queue::Queue;
use super::words::{Moment, Words};

/// What may be tried, and what is being tried.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Trials {
    /// What may be given at once.
    pub limits: TrialLimits,
    /// The zone in which times are read that do not say theirs, where nothing else is said.
    pub zone: &'static str,
    /// The trials that are under way, the newest first.
    pub trials: Vec<TrialBrief>,
}

/// What may be given at once.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct TrialLimits {
    /// Files of a trial.
    pub files: usize,
    /// Suppliers of a trial.
    pub suppliers: usize,
    /// Bytes of a file.
    pub file_bytes: u64,
    /// Bytes of all files of a trial.
    pub all_bytes: u64,
    /// Rows of all files of a trial.
    pub rows: usize,
    /// Minutes after which a trial is deleted, from when it was last used.
    pub kept_minutes: i64,
    /// Trials at once.
    pub trials: usize,
}

impl TrialLimits {
    /// What holds where nothing else is said.
    ///
    /// A row takes about twenty times its bytes while it is looked at, and the machine may have 512 MB: so eight megabytes
    /// for a file, some fifty thousand rows, and one trial looked at at a time. That is a busy month of a small shop; for
    /// more there is `everyline audit`, which knows how much memory there is.
    pub const USUAL: Self = Self {
        // An export for orders, lines, parcels and goods of each source, and some to spare.
        files: 20,
        suppliers: 4,
        file_bytes: 8 << 20,
        all_bytes: 32 << 20,
        rows: 50_000,
        // As long as somebody may be called away from it.
        kept_minutes: 30,
        // Whoever tries has one; a second window and a second person are let in.
        trials: 3,
    };
}

/// A trial in a list.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialBrief {
    /// Its id.
    pub trial: String,
    /// When the first file came.
    pub begun: Moment,
    /// When it is deleted.
    pub ends: Moment,
    /// The names of its files.
    pub files: Vec<Words>,
}

/// A trial.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Trial {
    /// Its id.
    pub trial: String,
    /// Which state of the mapping this is: an answer names it.
    pub shown: u64,
    /// When it is deleted.
    pub ends: Moment,
    /// The zone of times that do not say theirs.
    pub zone: &'static str,
    /// For which moment it is judged; null: for now.
    pub as_of: Option<Moment>,
    /// What is open, and has to be said.
    pub points: Vec<TrialPoint>,
    /// How many points are open; more than are listed where there are very many.
    pub points_in_all: u64,
    /// The sources, the storefront first.
    pub sources: Vec<TrialSource>,
    /// Whether findings can be asked for.
    pub can_be_judged: bool,
    /// Why not.
    pub not_judged: Option<Words>,
    /// What was written into files.
    pub kept: Option<TrialKept>,
}

/// Something open, with what may be said.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialPoint {
    /// What is asked.
    pub question: Words,
    /// What it is about: the fields, in words.
    pub about: Vec<Words>,
    /// What may be said.
    pub choices: Vec<TrialChoice>,
}

/// Something that may be said.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialChoice {
    /// What is sent for it.
    pub value: String,
    /// What it is called.
    pub label: Words,
    /// Whether it is so now.
    pub is_chosen: bool,
}

/// A source of a trial.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialSource {
    /// The name that it gets in the configuration.
    pub source: String,
    /// Whose files these are.
    pub of: Words,
    /// The supplier's name; null: it is the storefront.
    pub supplier: Option<Words>,
    /// The files.
    pub files: Vec<TrialFile>,
    /// What is to be known of the mapping as a whole.
    pub notes: Vec<Words>,
    /// What stands in the files, table by table.
    pub tables: Vec<TrialTable>,
}

/// A file that was given.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialFile {
    /// Its name.
    pub name: Words,
    /// Its rows or records.
    pub rows: u64,
}

/// A table.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialTable {
    /// Its name in exchange files.
    pub table: &'static str,
    /// Its name in words.
    pub name: Words,
    /// The file in which it stands.
    pub file: Words,
    /// What is read.
    pub fields: Vec<TrialField>,
    /// What more could be read, with where.
    pub further: Vec<TrialFurther>,
    /// The names of what is not kept.
    pub not_kept: Vec<Words>,
    /// How many there are; more than are listed where there are very many.
    pub not_kept_in_all: u64,
}

/// A field as a sentence.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialField {
    /// `table.column`.
    pub field: String,
    /// What it is called.
    pub name: Words,
    /// Where it is taken from.
    pub sentence: Words,
    /// `sure`, `likely` or `open`.
    pub how: &'static str,
    /// What speaks for it.
    pub why: Words,
    /// What is to be looked at.
    pub doubt: Option<Words>,
    /// Where it could be taken from.
    pub places: Vec<TrialChoice>,
    /// What its words mean.
    pub words: Vec<TrialWord>,
}

/// A field of which nothing was found.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialFurther {
    /// What it is called.
    pub name: Words,
    /// Where it could be taken from.
    pub places: Vec<TrialChoice>,
}

/// A word of a file, and what it means.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialWord {
    /// The word.
    pub word: Words,
    /// What it may mean.
    pub meanings: Vec<TrialChoice>,
}

/// What is found in the files of a trial.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialFindings {
    /// The trial.
    pub trial: String,
    /// The moment for which it holds.
    pub as_of: Moment,
    /// The zone in which times are told.
    pub zone: &'static str,
    /// Rows that were read.
    pub rows_read: u64,
    /// The first rows that cannot be read.
    pub bad_rows: Vec<TrialBadRow>,
    /// How many cannot be read.
    pub bad_rows_in_all: u64,
    /// The rest, where it was judged: where a row cannot be read, only if that was asked for.
    pub judged: Option<TrialJudged>,
}

/// What was judged.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialJudged {
    /// What was counted.
    pub totals: Totals,
    /// What is to be known to judge the answer.
    pub notices: Vec<Words>,
    /// Rows that were left out.
    pub rows_skipped: u64,
    /// Orders of which nothing is said, since a row of theirs was left out.
    pub orders_not_judged: u64,
    /// What is to be done, as in the queue.
    pub queue: Queue,
}

/// A row that cannot be read.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialBadRow {
    /// The file, and where in it.
    pub place: Words,
    /// What stands there, and what should.
    pub fault: Words,
    /// What to do.
    pub hint: Words,
}

/// What was written into files.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct TrialKept {
    /// The shop for whose configuration it is.
    pub shop: String,
    /// The configuration to which it can be added.
    pub configuration: Words,
    /// The files.
    pub mappings: Vec<KeptMapping>,
    /// The command that audits a folder by them.
    pub audit: Words,
}

/// A mapping that was written.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct KeptMapping {
    /// The source.
    pub source: String,
    /// The file, by its whole path.
    pub written: Words,
    /// Its bytes.
    pub bytes: u64,
    /// The folder into which exports are dropped.
    pub folder: Words,
    /// What is added to the configuration, line by line.
    pub lines: Vec<String>,
    /// The command that proposes the same for a service.
    pub live: Words,
}
