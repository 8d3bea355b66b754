//! What the three APIs have in common: a stretch of sorted records becomes a page, with the faults in it.
//!
//! Must not know the shape of a record. Start reading at [`Stretch::of`].

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};

use super::fault::{Fault, Met};

/// No page has more records, whatever is asked for.
const LARGEST_PAGE: usize = 100;

/// Where a page lies among all records of an answer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub(super) from: usize,
    /// The first that is not in it.
    pub(super) to: usize,
    pub(super) of: usize,
}

impl Stretch {
    /// The page that begins at record `from` of `of`; the one before it where that is repeated.
    pub(super) fn of(of: usize, from: usize, size: usize, met: &Met) -> Self {
        let from = if met.has(Fault::PageRepeated) { from.saturating_sub(size) } else { from };
        let from = from.min(of);
        Self { from, to: of.min(from.saturating_add(size)), of }
    }

    pub(super) fn is_followed(self) -> bool {
        self.to < self.of
    }
}

/// How many records a page has where so many are asked for.
pub(super) fn size(asked: Option<usize>, usual: usize) -> usize {
    asked.unwrap_or(usual).clamp(1, LARGEST_PAGE)
}

/// The records as they are answered: perhaps in reverse, perhaps with a wrong type in a field of the first.
///
/// `field` is a JSON pointer (RFC 6901) into a record. A text or nothing becomes a list, anything else a text.
pub(super) fn records(mut records: Vec<Value>, field: &str, met: &Met) -> Vec<Value> {
    if met.has(Fault::Reordered) {
        records.reverse();
    }
    if met.has(Fault::WrongType)
        && let Some(value) = records.first_mut().and_then(|record| record.pointer_mut(field))
    {
        *value = if value.is_string() || value.is_null() { json!([1, 2]) } else { json!("several") };
    }
    records
}

/// What whoever asked did wrong.
pub(super) fn refusal(status: StatusCode, why: &str) -> Response {
    (status, axum::Json(json!({ "problem": why }))).into_response()
}
