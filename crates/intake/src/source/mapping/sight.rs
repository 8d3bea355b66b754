//! The records of offers, each by itself, with what is taken from it beside its row.
//!
//! Must not know what becomes of it. Start reading at [`Sight`].

use model::book::Offer;
use serde_json::Value;
use sha2::{Digest, Sha256};

use crate::source::declare::{Found, FromRecord, Outer};

/// An offer as one record says it is.
#[derive(Clone, Debug)]
pub(crate) struct Sight {
    pub(crate) offer: Offer,
    /// What tells this record from another: a digest of all of it.
    pub(crate) record: [u8; 32],
    /// What is taken from it, by name; what is not there, is null, or is several values, is not among them.
    pub(crate) taken: Vec<(String, Value)>,
}

/// A digest of all of a record, and what is taken from it, by name.
pub(super) type Taken = ([u8; 32], Vec<(String, Value)>);

/// What was seen of a page so far.
pub(super) struct Sights<'s> {
    pub(super) take: &'s [(String, FromRecord)],
    /// In the order of the records.
    pub(super) taken: Vec<Taken>,
}

impl Sights<'_> {
    pub(super) fn takes_from_around(&self) -> bool {
        self.take.iter().any(|(_, from)| from.around > 0)
    }

    /// Notes a record, `outer` being those around it, the nearest first.
    pub(super) fn note(&mut self, record: &Value, outer: &[Outer<'_>]) {
        let taken = self.take.iter().filter_map(|(name, from)| {
            let stands_in = match from.around {
                0 => record,
                lists => outer.get(lists - 1)?.value,
            };
            match from.at.one(stands_in) {
                Found::One(value) => Some((name.clone(), value.clone())),
                Found::Nothing | Found::Several(_) => None,
            }
        });
        let digest = Sha256::digest(record.to_string().as_bytes());
        self.taken.push((digest.into(), taken.collect()));
    }
}
