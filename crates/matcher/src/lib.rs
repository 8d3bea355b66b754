//! Orders, links, readings, submissions and parcels in; coverage and findings out.
//!
//! Pure: time, readings and configuration are arguments. Bad data is a result, never an error.

use chrono::{DateTime, Utc};
use model::reading::Readings;
use model::{Book, Outcome, Rules};

/// What other crates know about the rows of a book, and the matcher takes as given.
#[derive(Clone, Copy, Debug)]
pub struct Facts<'a> {
    /// What option text says.
    pub readings: &'a Readings,
    /// Per row of `Book::submissions`, in its order: the moment after which it can no longer be changed;
    /// `None` where its supplier has no cut-off configured.
    pub cut_offs: &'a [Option<DateTime<Utc>>],
}

/// Judges a whole book as it stood at `as_of`.
pub fn reconcile(_book: &Book, _facts: Facts<'_>, _rules: &Rules, _as_of: DateTime<Utc>) -> Outcome {
    unimplemented!()
}
