//! Ids as numbers, so that rows can be held and compared in a few bytes.
//!
//! Two ids can have one number, though hardly ever: a keyed hash of 64 bits, with a key of its own for each run.
//! That is no loss: a number shared by two rows looks like a row given twice, and one that joins rows which do not
//! belong together makes their quantities disagree; both are then judged by their rows, to the byte. Start reading at
//! [`Keys`].

use std::hash::{BuildHasher, Hasher};

use foldhash::quality::SeedableRandomState;

/// Stands for an id.
pub(crate) type Key = u64;

/// The key of no id.
pub(crate) const NONE: Key = 0;

/// Makes keys; the same id gets the same key from clones.
#[derive(Clone)]
pub(crate) struct Keys(SeedableRandomState);

impl Keys {
    /// With a key of its own.
    pub(crate) fn new() -> Self {
        Self(SeedableRandomState::random())
    }

    /// Of an id that is unique by itself.
    #[inline]
    pub(crate) fn of(&self, id: &[u8]) -> Key {
        let mut hasher = self.0.build_hasher();
        hasher.write(id);
        hasher.finish().max(NONE + 1)
    }

    /// Of an id that is unique within something numbered.
    #[inline]
    pub(crate) fn within(&self, number: u32, id: &[u8]) -> Key {
        let mut hasher = self.0.build_hasher();
        hasher.write(id);
        hasher.write_u32(number);
        hasher.finish().max(NONE + 1)
    }
}
