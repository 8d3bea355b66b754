//! A file in blocks that begin and end at records, handed to several threads in turn.
//!
//! The bytes are read in order under a lock, and a block is cut where a record ends, so that each thread can work on
//! its own block without knowing the others. Must not know: what a record holds. Start reading at
//! [`Blocks::next`].

use std::fs::File;
use std::io::{self, Read};
use std::sync::{Mutex, PoisonError};

use crate::lines::MAX_ROW_BYTES;

/// How much is read at once: small enough for a block and what is made of it to stay in a core's cache.
const BLOCK_BYTES: usize = 192 * 1024;

/// How records end in a file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Ends {
    /// At a line feed.
    AtLines,
    /// At a line feed that stands outside quotes.
    OutsideQuotes,
}

/// What reading the next block came to.
pub(crate) enum Next {
    /// A block, and where it begins in the file.
    Block(u64),
    /// The file is over.
    End,
    /// A record is longer than any row may be.
    NoEnd,
}

/// The blocks of one file.
pub(crate) struct Blocks {
    ends: Ends,
    reading: Mutex<Reading>,
}

struct Reading {
    file: File,
    /// What was read behind the end of the last block.
    rest: Vec<u8>,
    /// Where the next block begins.
    next: u64,
    is_over: bool,
}

impl Blocks {
    /// The blocks of what is left of `file`, of which so many bytes have been read.
    pub(crate) fn new(file: File, begin: u64, ends: Ends) -> Self {
        Self { ends, reading: Mutex::new(Reading { file, rest: Vec::new(), next: begin, is_over: false }) }
    }

    /// Reads the next block into `block`, in place of what was there; answers how many bytes were read from the
    /// file.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub(crate) fn next(&self, block: &mut Vec<u8>) -> io::Result<(Next, u64)> {
        block.clear();
        let mut reading = self.reading.lock().unwrap_or_else(PoisonError::into_inner);
        let mut bytes_read = 0;
        if reading.is_over {
            return Ok((Next::End, 0));
        }
        std::mem::swap(block, &mut reading.rest);
        reading.rest.clear();
        let mut searched = 0;
        loop {
            let had = block.len();
            let limit = BLOCK_BYTES as u64;
            let read = Read::take(&mut reading.file, limit).read_to_end(block)?;
            bytes_read += read as u64;
            if read == 0 {
                reading.is_over = true;
            }
            let end = if reading.is_over { Some(block.len()) } else { self.last_end(block, searched) };
            match end {
                Some(end) => {
                    reading.rest.extend_from_slice(&block[end..]);
                    block.truncate(end);
                    if block.is_empty() {
                        return Ok((Next::End, bytes_read));
                    }
                    let begin = reading.next;
                    reading.next += block.len() as u64;
                    return Ok((Next::Block(begin), bytes_read));
                }
                None if block.len() > MAX_ROW_BYTES => return Ok((Next::NoEnd, bytes_read)),
                None => searched = had,
            }
        }
    }

    /// Where the last record of the block ends.
    fn last_end(&self, block: &[u8], searched: usize) -> Option<usize> {
        match self.ends {
            Ends::AtLines => memchr::memrchr(b'\n', &block[searched..]).map(|at| searched + at + 1),
            Ends::OutsideQuotes => {
                let mut open = memchr::memchr_iter(b'"', block).count() % 2 == 1;
                let mut end = block.len();
                while let Some(at) = memchr::memrchr(b'\n', &block[..end]) {
                    open ^= memchr::memchr_iter(b'"', &block[at..end]).count() % 2 == 1;
                    if !open {
                        return Some(at + 1);
                    }
                    end = at;
                }
                None
            }
        }
    }
}
