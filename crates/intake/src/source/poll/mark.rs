//! The text of a mark: how far a request has been read, and what is needed to go on.
//!
//! Nobody else looks into it. A text that cannot be read, or of another declaration, is as none: everything is read again,
//! and nothing is lost by that. Start reading at [`MarkText`].

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::source::declare::{Request, Service, SignIn};
use crate::source::mapping::ParentRow;
use crate::source::pages::{KeptPages, Walked};

/// The form of the text. Another one is not read.
const VERSION: u32 = 1;

/// How many rows that did not come whole are remembered, so that they are asked for again: 20 KB.
const MAX_AMISS: usize = 1_000;

/// How far a request has been read.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(super) struct MarkText {
    version: u32,
    /// What is asked for, and how rows are read of it.
    declared: String,
    /// How pages follow each other.
    paged: String,
    /// What changed before this has been read; whole seconds.
    pub(super) since: Option<DateTime<Utc>>,
    /// How far the clock of the source was ahead when `since` was set, in seconds.
    pub(super) ahead_seconds: Option<i64>,
    /// The latest change among the records of the passes that are over.
    pub(super) latest: Option<DateTime<Utc>>,
    /// The pass that is under way.
    pub(super) pass: Option<PassText>,
    /// The rows of the last page for which other requests are still to be asked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(super) owed: Vec<ParentRow>,
    /// What holds when that is done.
    pub(super) closing: Option<Closing>,
    /// The rows that did not come whole in this pass, each as a digest.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub(super) amiss: BTreeSet<String>,
    /// Those of the pass before.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub(super) amiss_before: BTreeSet<String>,
    /// What the last pass asked for, and what tells whether that has changed.
    pub(super) unchanged: Option<(Option<DateTime<Utc>>, KeptPages)>,
}

/// A pass over all pages.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(super) struct PassText {
    /// When it began, by the clock of the source where that is known.
    pub(super) began: DateTime<Utc>,
    /// When it began, by the clock of this machine.
    pub(super) began_here: DateTime<Utc>,
    /// Whether the source said what time it is.
    pub(super) is_dated: bool,
    pub(super) ahead_seconds: Option<i64>,
    /// What was asked for, the overlap included; `None`: everything.
    pub(super) asked: Option<DateTime<Utc>>,
    /// The latest change among the records.
    pub(super) highest: Option<DateTime<Utc>>,
    /// The same of the first page alone.
    pub(super) highest_of_first: Option<DateTime<Utc>>,
    /// Whether there was any record.
    pub(super) has_records: bool,
    pub(super) walk: Walked,
}

/// Up to when changes have been read.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(super) struct Reached {
    pub(super) since: DateTime<Utc>,
    pub(super) ahead_seconds: Option<i64>,
}

/// What holds when all rows of a pass have been asked for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(super) struct Closing {
    /// The requests for rows are read up to this; `None` where records did not come to rest.
    pub(super) read_up_to: Option<DateTime<Utc>>,
    /// What `since` is from then on.
    pub(super) reached: Option<Reached>,
    /// Set where the pass read everything: when it began.
    pub(super) everything_since: Option<DateTime<Utc>>,
}

impl MarkText {
    /// Before the first answer.
    pub(super) fn new(service: &Service, request: &Request) -> Self {
        Self {
            version: VERSION,
            declared: declared(service, request),
            paged: digest(&[format!("{:?}", request.pages)]),
            since: None,
            ahead_seconds: None,
            latest: None,
            pass: None,
            owed: Vec::new(),
            closing: None,
            amiss: BTreeSet::new(),
            amiss_before: BTreeSet::new(),
            unchanged: None,
        }
    }

    /// Reads a text. `None` where it is of another declaration.
    pub(super) fn read(text: &str, service: &Service, request: &Request) -> Option<Self> {
        let new = Self::new(service, request);
        let mut mark = match serde_json::from_str::<Self>(text) {
            Ok(mark) if mark.version == VERSION => mark,
            _ => return Some(new),
        };
        if mark.declared != new.declared {
            return None;
        }
        if mark.paged != new.paged {
            mark.paged = new.paged;
            mark.pass = None;
            mark.unchanged = None;
        }
        Some(mark)
    }

    /// Moves `since`, never back.
    pub(super) fn reach(&mut self, reached: Reached) {
        if self.since.is_none_or(|since| since < reached.since) {
            self.since = Some(reached.since);
            self.ahead_seconds = reached.ahead_seconds;
        }
    }

    /// Notes that a row did not come whole.
    pub(super) fn note_amiss(&mut self, request: &Request, row: &ParentRow) {
        if self.amiss.len() < MAX_AMISS {
            self.amiss.insert(digest(&[request.name.clone(), format!("{row:?}")]));
        }
    }

    /// Ends a pass over rows. Answers whether none is amiss but those that were in the pass before.
    pub(super) fn settle(&mut self) -> bool {
        let is_settled = self.amiss.is_subset(&self.amiss_before);
        self.amiss_before = std::mem::take(&mut self.amiss);
        is_settled
    }

    /// The text.
    pub(super) fn written(&self) -> String {
        // Maps have texts as keys, and no value of its own can fail.
        serde_json::to_string(self).unwrap_or_default()
    }
}

/// What a request, and those asked for its rows, ask for and read.
fn declared(service: &Service, request: &Request) -> String {
    // Header lines and user may say whose records are given.
    let user = service.sign_in.as_ref().and_then(|sign_in| match sign_in {
        SignIn::Basic { user, .. } => Some(user),
        SignIn::OAuth(oauth) => Some(&oauth.client_id),
        SignIn::Header { .. } => None,
    });
    let mut parts = vec![service.address.to_string(), format!("{:?} {user:?}", service.headers)];
    let mut requests = vec![request];
    while let Some(request) = requests.pop() {
        let changes = request.changes.as_ref().map(|changes| (&changes.ask, &changes.form));
        parts.push(format!("{:?} {:?} {changes:?} {:?}", request.path, request.query, request.for_each));
        parts.push(format!("{:?} {:?} {:?}", request.tables, request.supplier, request.zone));
        parts.extend(request.vocabulary.map(|vocabulary| vocabulary.name().to_owned()));
        for table in request.tables() {
            requests.extend(service.asked_for_each(request, table));
        }
    }
    digest(&parts)
}

fn digest(parts: &[String]) -> String {
    let mut digest = Sha256::new();
    for part in parts {
        digest.update((part.len() as u64).to_be_bytes());
        digest.update(part.as_bytes());
    }
    data_encoding::HEXLOWER.encode(&digest.finalize()[..8])
}
