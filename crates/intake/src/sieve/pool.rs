//! Rows as a few numbers, parted by their key into piles that fit into a core's cache.
//!
//! A row is an array of numbers, of which the first is its key. Piles are made of small blocks that all kinds of rows
//! take from one pool and give back to it, so that what one table no longer needs is there for the next. Must not
//! know: what a number means. Start reading at [`Piles`].

use std::sync::{Mutex, PoisonError};

use crate::sieve::key::Key;

/// How many piles there are; one of a million orders' lines is some hundred kilobytes.
pub(crate) const PILES: usize = 256;

/// How many numbers a block holds. There are as many open blocks as piles, for each thread.
const BLOCK_NUMBERS: usize = 1024;

type Block = Vec<u64>;

/// Blocks that nobody uses.
#[derive(Default)]
pub(crate) struct Pool(Mutex<Vec<Block>>);

impl Pool {
    fn take(&self) -> Block {
        let free = self.0.lock().unwrap_or_else(PoisonError::into_inner).pop();
        free.unwrap_or_else(|| Vec::with_capacity(BLOCK_NUMBERS))
    }

    fn give_back(&self, blocks: impl Iterator<Item = Block>) {
        let mut free = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        free.extend(blocks.map(|mut block| {
            block.clear();
            block
        }));
    }
}

/// Rows of `N` numbers, in piles by key.
pub(crate) struct Piles<'p, const N: usize> {
    pool: &'p Pool,
    /// Per pile its full blocks, and the one that is being filled.
    piles: Vec<(Vec<Block>, Block)>,
}

impl<'p, const N: usize> Piles<'p, N> {
    pub(crate) fn new(pool: &'p Pool) -> Self {
        Self { pool, piles: Vec::new() }
    }

    /// Adds a row.
    #[inline]
    pub(crate) fn push(&mut self, row: [u64; N]) {
        if self.piles.is_empty() {
            self.piles.resize_with(PILES, Default::default);
        }
        let (full, open) = &mut self.piles[pile_of(row[0])];
        if open.len() + N > open.capacity() {
            let next = self.pool.take();
            let filled = std::mem::replace(open, next);
            if !filled.is_empty() {
                full.push(filled);
            }
        }
        open.extend_from_slice(&row);
    }

    fn take(&mut self, pile: usize) -> impl Iterator<Item = Block> {
        let (full, open) = self.piles.get_mut(pile).map(std::mem::take).unwrap_or_default();
        full.into_iter().chain([open]).filter(|block| block.capacity() > 0)
    }
}

/// The piles that several threads made of one table.
pub(crate) struct Parted<'p, const N: usize>(Vec<Mutex<Piles<'p, N>>>);

impl<'p, const N: usize> Parted<'p, N> {
    pub(crate) fn new(of_threads: impl IntoIterator<Item = Piles<'p, N>>) -> Self {
        Self(of_threads.into_iter().map(Mutex::new).collect())
    }

    /// Takes one pile out, sorted by key.
    pub(crate) fn take_sorted(&self, pile: usize, sorted: &mut Sorted<N>) {
        for piles in &self.0 {
            let mut piles = piles.lock().unwrap_or_else(PoisonError::into_inner);
            sorted.given.extend(piles.take(pile));
        }
        sorted.sort();
        if let Some(piles) = self.0.first() {
            let pool = piles.lock().unwrap_or_else(PoisonError::into_inner).pool;
            pool.give_back(sorted.given.drain(..));
        }
    }
}

/// Rows of one pile, sorted by key; kept for the next pile, so that nothing is made anew.
#[derive(Default)]
pub(crate) struct Sorted<const N: usize> {
    given: Vec<Block>,
    pub(crate) rows: Vec<[u64; N]>,
    /// Where the next row of each slot goes.
    next: Vec<u32>,
}

impl<const N: usize> Sorted<N> {
    /// Keys are spread evenly, so each row goes nearly where it belongs at once: there is about one slot a row.
    fn sort(&mut self) {
        let Self { given, rows, next } = self;
        let count = given.iter().map(|block| block.len() / N).sum::<usize>();
        let bits = count.next_power_of_two().trailing_zeros().clamp(1, 16);
        let slot = |row: &[u64; N]| (row[0] << PILES.trailing_zeros() >> (u64::BITS - bits)) as usize;
        next.clear();
        next.resize((1 << bits) + 1, 0);
        for row in given.iter().flat_map(|block| block.as_chunks::<N>().0) {
            next[slot(row) + 1] += 1;
        }
        let mut before = 0;
        for slot in next.iter_mut() {
            before += *slot;
            *slot = before;
        }
        rows.resize(count, [0; N]);
        for row in given.iter().flat_map(|block| block.as_chunks::<N>().0) {
            let next = &mut next[slot(row)];
            rows[*next as usize] = *row;
            *next += 1;
        }
        // Slots are in order; within one the rows are few, unless they have one key.
        let mut start = 0;
        for end in next.iter().map(|end| *end as usize) {
            if end > start + 1 {
                rows[start..end].sort_unstable_by_key(|row| row[0]);
            }
            start = start.max(end);
        }
    }
}

fn pile_of(key: Key) -> usize {
    (key >> (Key::BITS - PILES.trailing_zeros())) as usize
}

/// The rows of one key at the front of sorted rows, and the rest.
pub(crate) fn front<const N: usize>(rows: &[[u64; N]], key: Key) -> (&[[u64; N]], &[[u64; N]]) {
    let count = rows.iter().take_while(|row| row[0] == key).count();
    rows.split_at(count)
}

/// How many rows there are before those of a key; in a book without slips none.
pub(crate) fn before<const N: usize>(rows: &[[u64; N]], key: Key) -> usize {
    rows.iter().take_while(|row| row[0] < key).count()
}
