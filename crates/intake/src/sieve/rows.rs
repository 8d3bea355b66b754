//! Rows of the large tables as the few numbers that decide of them.
//!
//! Each kind is an array whose first number is the key by which it is brought together with others; the functions
//! here pack and unpack the rest. Must not know: files. Start reading at [`Submission`].

use model::straight::{Age, LineFacts, OrderFacts, SentFacts, Standing};

use crate::sieve::key::{Key, NONE};

/// Bits above a number of 32.
fn high(number: u64) -> u32 {
    (number >> 32) as u32
}

fn both(low: u32, high: u32) -> u64 {
    u64::from(low) | u64::from(high) << 32
}

/// A parcel, by its own key.
#[derive(Clone, Copy)]
pub(crate) struct Parcel {
    pub(crate) key: Key,
    pub(crate) submission: Key,
    pub(crate) age: Age,
    /// It was dispatched at as-of.
    pub(crate) exists: bool,
}

impl Parcel {
    pub(crate) fn packed(self) -> [u64; 3] {
        [self.key, self.submission, both(self.age, self.exists.into())]
    }

    pub(crate) fn of([key, submission, packed]: [u64; 3]) -> Self {
        Self { key, submission, age: packed as u32, exists: high(packed) != 0 }
    }
}

/// A line of a parcel, by the parcel's key.
#[derive(Clone, Copy)]
pub(crate) struct ParcelLine {
    pub(crate) parcel: Key,
    pub(crate) line: Key,
    pub(crate) units: u32,
}

impl ParcelLine {
    pub(crate) fn packed(self) -> [u64; 3] {
        [self.parcel, self.line, self.units.into()]
    }

    pub(crate) fn of([parcel, line, units]: [u64; 3]) -> Self {
        Self { parcel, line, units: units as u32 }
    }
}

/// What is known of a submission beside its own rows, by its key.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Beside {
    /// Units of a line of it went in a parcel so long ago.
    Gone { line: Key, units: u32, age: Age },
    /// A parcel that does not say what is in it went so long ago.
    Parcel { age: Age },
    /// A parcel, or a line of one, that does not exist yet, and must not stand alone all the same.
    Later { line: Key },
    /// Its rows have to be looked at.
    Odd,
}

impl Beside {
    pub(crate) fn packed(self, submission: Key) -> [u64; 3] {
        match self {
            Self::Gone { line, units, age } => [submission, line, both(age, units << 2)],
            Self::Parcel { age } => [submission, NONE, both(age, 1)],
            Self::Later { line } => [submission, line, both(0, 2)],
            Self::Odd => [submission, NONE, both(0, 3)],
        }
    }

    pub(crate) fn of([_, line, packed]: [u64; 3]) -> Self {
        let age = packed as u32;
        match high(packed) & 3 {
            0 => Self::Gone { line, units: high(packed) >> 2, age },
            1 => Self::Parcel { age },
            2 => Self::Later { line },
            _ => Self::Odd,
        }
    }
}

/// A submission, by its key.
#[derive(Clone, Copy)]
pub(crate) struct Submission {
    pub(crate) key: Key,
    /// The order that it refers to; none where it refers to none.
    pub(crate) order: Key,
    /// Since its last change.
    pub(crate) changed: Age,
    /// It was received at as-of, and neither cancelled nor rejected.
    pub(crate) is_live: bool,
    pub(crate) is_dispatched: bool,
    /// Its rows have to be looked at, if it is live or has been received.
    pub(crate) is_odd: bool,
}

impl Submission {
    pub(crate) fn packed(self) -> [u64; 3] {
        let flags =
            u32::from(self.is_live) | u32::from(self.is_dispatched) << 1 | u32::from(self.is_odd) << 2;
        [self.key, self.order, both(self.changed, flags)]
    }

    pub(crate) fn of([key, order, packed]: [u64; 3]) -> Self {
        let flag = |bit: u32| high(packed) & bit != 0;
        Self { key, order, changed: packed as u32, is_live: flag(1), is_dispatched: flag(2), is_odd: flag(4) }
    }
}

/// A line of a submission, by the submission's key.
#[derive(Clone, Copy)]
pub(crate) struct SubmissionLine {
    pub(crate) submission: Key,
    pub(crate) line: Key,
    /// The order that it refers to by itself; none where its submission's counts.
    pub(crate) order: Key,
    /// The order line that it names; none where it names none.
    pub(crate) names: Key,
    pub(crate) variant: u32,
    pub(crate) units: u32,
    /// It is not cancelled or rejected by itself.
    pub(crate) is_live: bool,
    /// Its rows have to be looked at, if it is live.
    pub(crate) is_odd: bool,
}

/// A quantity is at most a million.
const UNIT_BITS: u32 = 20;
const UNITS: u32 = (1 << UNIT_BITS) - 1;

impl SubmissionLine {
    pub(crate) fn packed(self) -> [u64; 5] {
        let flags = u32::from(self.is_live) | u32::from(self.is_odd) << 1;
        let rest = both(self.variant, self.units | flags << UNIT_BITS);
        [self.submission, self.line, self.order, self.names, rest]
    }

    pub(crate) fn of([submission, line, order, names, rest]: [u64; 5]) -> Self {
        let flags = high(rest) >> UNIT_BITS;
        Self {
            submission,
            line,
            order,
            names,
            variant: rest as u32,
            units: high(rest) & UNITS,
            is_live: flags & 1 != 0,
            is_odd: flags & 2 != 0,
        }
    }
}

/// What was sent for an order, by the order's key.
#[derive(Clone, Copy)]
pub(crate) struct Sent {
    pub(crate) order: Key,
    pub(crate) submission: Key,
    /// `None`: the order's rows have to be looked at.
    pub(crate) facts: Option<SentFacts>,
}

impl Sent {
    pub(crate) fn packed(self) -> [u64; 5] {
        let Some(facts) = self.facts else {
            return [self.order, self.submission, NONE, both(0, 2 << UNIT_BITS), 0];
        };
        let rest = both(facts.variant, facts.units | u32::from(facts.is_gone) << UNIT_BITS);
        [self.order, self.submission, facts.names, rest, both(facts.first_gone, facts.last_gone)]
    }

    pub(crate) fn of([order, submission, names, rest, gone]: [u64; 5]) -> Self {
        let flags = high(rest) >> UNIT_BITS;
        let facts = SentFacts {
            names,
            variant: rest as u32,
            units: high(rest) & UNITS,
            is_gone: flags & 1 != 0,
            first_gone: gone as u32,
            last_gone: high(gone),
        };
        Self { order, submission, facts: (flags & 2 == 0).then_some(facts) }
    }
}

/// An order, by its key.
pub(crate) fn packed_order(key: Key, facts: OrderFacts) -> [u64; 2] {
    let standing = match facts.standing {
        Standing::Live => 0,
        Standing::Idle => 1,
        Standing::Later => 2,
    };
    let flags = standing
        | u32::from(facts.is_open) << 2
        | u32::from(facts.is_past_promise) << 3
        | u32::from(facts.is_reported) << 4;
    [key, both(facts.waiting, flags)]
}

pub(crate) fn order_of([_, packed]: [u64; 2]) -> OrderFacts {
    let flags = high(packed);
    OrderFacts {
        standing: match flags & 3 {
            0 => Standing::Live,
            1 => Standing::Idle,
            _ => Standing::Later,
        },
        is_open: flags & 4 != 0,
        is_past_promise: flags & 8 != 0,
        is_reported: flags & 16 != 0,
        waiting: packed as u32,
    }
}

/// A line of an order, by the order's key.
pub(crate) fn packed_line(order: Key, facts: LineFacts) -> [u64; 3] {
    [order, facts.line, both(facts.link, facts.owed)]
}

pub(crate) fn line_of([_, line, packed]: [u64; 3]) -> LineFacts {
    LineFacts { line, link: packed as u32, owed: high(packed) }
}
