//! What is remembered of every row, so that those that are left can be found again without splitting the others: its
//! length, and a part of the key of what it belongs to.
//!
//! Must not know: what a row holds. Start reading at [`Print`].

use crate::sieve::key::Key;

/// How many bits of a key are remembered.
const KEY_BITS: u32 = 22;

/// How many bits tell a row's length, in bytes.
const LENGTH_BITS: u32 = u32::BITS - KEY_BITS;

/// One row.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Print(u32);

impl Print {
    /// Of a row of so many bytes, its line feed included, that is a part of what has this key. `None` of one that is
    /// too long.
    #[inline]
    pub(crate) fn of(key: Key, bytes: usize) -> Option<Self> {
        let bytes = u32::try_from(bytes).ok().filter(|bytes| bytes >> LENGTH_BITS == 0)?;
        Some(Self((key as u32) << LENGTH_BITS | bytes))
    }

    /// How long it is, its line feed included.
    #[inline]
    pub(crate) fn bytes(self) -> usize {
        (self.0 & ((1 << LENGTH_BITS) - 1)) as usize
    }
}

/// Which keys are wanted, by the bits that are remembered of them: a row that is not wanted may look as if it were, and
/// never the other way round.
#[derive(Default)]
pub(crate) struct Wanted {
    /// One bit for all keys that end alike; their number is a power of two.
    ends: Vec<u64>,
}

/// How many bits there are for each key that is wanted, so that few others look like it.
const BITS_A_KEY: usize = 128;

impl Wanted {
    pub(crate) fn of(keys: impl ExactSizeIterator<Item = Key>) -> Self {
        let bits = (keys.len() * BITS_A_KEY).next_power_of_two().clamp(64, 1 << KEY_BITS);
        let mut wanted = Self { ends: vec![0; bits / 64] };
        for key in keys {
            let (word, bit) = wanted.place(key as u32);
            wanted.ends[word] |= bit;
        }
        wanted
    }

    fn place(&self, end: u32) -> (usize, u64) {
        ((end >> 6) as usize & (self.ends.len() - 1), 1 << (end & 63))
    }

    /// Whether the row may be wanted.
    #[inline]
    pub(crate) fn has(&self, print: Print) -> bool {
        let (word, bit) = self.place(print.0 >> LENGTH_BITS);
        self.ends[word] & bit != 0
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn a_row_of_a_wanted_key_is_wanted(
            keys in proptest::collection::vec(any::<u64>(), 0..300), bytes in 0_usize..1024,
        ) {
            let wanted = Wanted::of(keys.iter().copied());
            for key in &keys {
                let print = Print::of(*key, bytes).unwrap();
                prop_assert!(wanted.has(print));
                prop_assert_eq!(print.bytes(), bytes);
            }
        }
    }

    #[test]
    fn few_other_rows_look_wanted() {
        let spread = |number: u64| number.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 7;
        let wanted = Wanted::of((0..1000_usize).map(|number| spread(number as u64)));
        let others = (1000..101_000).map(|number| Print::of(spread(number), 80).unwrap());
        assert!(others.filter(|print| wanted.has(*print)).count() < 2_000);
        let none = Wanted::of([].into_iter());
        assert!(!none.has(Print::of(7, 80).unwrap()));
    }

    #[test]
    fn a_row_that_is_too_long_has_no_print() {
        assert!(Print::of(1, 1023).is_some());
        assert_eq!(Print::of(1, 1024), None);
    }
}
