//! The collections that the reckoning is made of: nearly every list of it has one or two members, and nearly every
//! question to a map is one by an id.

use std::collections::HashMap;

use smallvec::SmallVec;

/// A map by ids. They come from outside, so the hashing has a random seed; its order never shows.
pub(crate) type Map<K, V> = HashMap<K, V, foldhash::fast::RandomState>;

/// A list that seldom has more than two members, and needs no memory of its own until it has.
pub(crate) type Few<T> = SmallVec<[T; 2]>;

/// Where the things of each number begin, of things sorted by numbers under `count`; and where the last ones end.
pub(crate) fn starts(count: usize, numbers: impl Iterator<Item = usize>) -> Vec<usize> {
    let mut starts = vec![0; count + 1];
    for number in numbers {
        starts[number + 1] += 1;
    }
    for number in 0..count {
        starts[number + 1] += starts[number];
    }
    starts
}

/// Things in the order of their numbers, which are under `count`, those of one number as they were given; and where
/// those of each number begin.
pub(crate) fn by_number<T: Copy>(
    things: &[T],
    count: usize,
    number: impl Fn(&T) -> usize,
) -> (Vec<T>, Vec<usize>) {
    let starts = starts(count, things.iter().map(&number));
    let mut next = starts.clone();
    let mut sorted = things.to_vec();
    for thing in things {
        let at = &mut next[number(thing)];
        sorted[*at] = *thing;
        *at += 1;
    }
    (sorted, starts)
}
