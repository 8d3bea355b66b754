//! One file, block by block and by several threads, row by row.
//!
//! A file that is not written as RFC 4180 has it, or has a row longer than any may be, is read by one thread from its
//! beginning instead, as `csv` and `json_lines` read it. Must not know: what is done with a row. Start reading at
//! [`Scan`].

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::iter;
use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread;

use crate::csv::{Columns, Header};
use crate::error::FolderError;
use crate::files::TableFile;
use crate::folder::{check_encoding, read_file};
use crate::json_lines;
use crate::lines::{Lines, MAX_ROW_BYTES, Meter, Progress, UTF_8_MARK};
use crate::row::Row;
use crate::sieve::blocks::{Blocks, Ends, Next};
use crate::sieve::join::joined;
use crate::sieve::key::{Key, NONE};
use crate::sieve::prints::{Print, Wanted};
use crate::sieve::separators::Separators;
use crate::sieve::sift::{Places, Written};
use crate::tables::UnknownNames;

/// Takes rows, one thread's.
pub(crate) trait Taker: Send {
    /// Takes a row as it is written; answers the key of what it is a part of. `None`, and nothing done, where it is not
    /// written in the usual way, or has to be read by itself.
    fn take_written(&mut self, cells: Written<'_>) -> Option<Key>;
    /// Takes a row that was read by itself; `written` are its cells where these are known. Answers the key of what it
    /// is a part of.
    fn take_row(&mut self, row: &Row<'_>, written: Option<Written<'_>>) -> Key;
    /// Whether no more rows are wanted.
    fn is_done(&self) -> bool {
        false
    }
}

/// A block that was read.
struct Block {
    /// Where it begins in the file.
    begin: u64,
    bytes: usize,
    /// Of all its rows, in order; `None` where one of them is too long for a print.
    prints: Option<Vec<Print>>,
}

/// How a file is read.
pub(crate) enum Manner {
    /// CSV in blocks.
    Csv { header: Header, places: Places },
    /// JSON Lines in blocks.
    JsonLines,
    /// From the beginning to the end, by one thread.
    InOneGo,
}

/// A file, and how it is read.
pub(crate) struct Scan<'f> {
    pub(crate) file: &'f TableFile,
    manner: Manner,
    /// Where the rows begin: behind the byte order mark and the header.
    rows_at: usize,
    /// The blocks, once they have been read.
    blocks: Vec<Block>,
    pub(crate) unknown: UnknownNames,
    pub(crate) rows: u64,
}

/// How much of a file is looked at for its header.
const START_BYTES: u64 = 64 * 1024;

impl<'f> Scan<'f> {
    /// Looks how a file begins.
    pub(crate) fn of(file: &'f TableFile) -> Result<Self, FolderError> {
        let mut start = Vec::new();
        let opened = File::open(&file.path).map_err(|source| file.unreadable(source))?;
        let read = Read::take(opened, START_BYTES).read_to_end(&mut start);
        read.map_err(|source| file.unreadable(source))?;
        check_encoding(file, &start)?;
        let mut scan = Self {
            file,
            manner: Manner::InOneGo,
            rows_at: if start.starts_with(UTF_8_MARK) { UTF_8_MARK.len() } else { 0 },
            blocks: Vec::new(),
            unknown: UnknownNames::default(),
            rows: 0,
        };
        if !file.is_csv {
            scan.manner = Manner::JsonLines;
        } else if let Some((header, bytes)) = Header::of(file.table, &start)
            && let Some(places) = Places::of(file.table, &header.names)
        {
            scan.unknown = header.unknown_names(file.table);
            scan.rows_at = bytes;
            scan.manner = Manner::Csv { header, places };
        }
        Ok(scan)
    }

    /// Reads all rows, and hands each to one of the takers that `new_taker` makes, one for each thread. Where the file
    /// turns out to be written in an unusual way, what was taken is thrown away, and it is read in one go.
    pub(crate) fn read<T: Taker>(
        &mut self,
        threads: usize,
        meter: &Mutex<&mut Meter<'_>>,
        new_taker: impl Fn() -> T,
    ) -> Result<Vec<T>, FolderError> {
        if !matches!(self.manner, Manner::InOneGo) {
            let before = locked(meter).bytes_read();
            let takers = (0..threads).map(|_| new_taker()).collect();
            if let Some(takers) = self.read_blocks(takers, meter)? {
                return Ok(takers);
            }
            locked(meter).back_to(before);
            self.manner = Manner::InOneGo;
        }
        let mut taker = new_taker();
        self.rows = 0;
        let rows = &mut self.rows;
        self.unknown = read_file(self.file, &mut locked(meter), &mut |row| {
            *rows += 1;
            taker.take_row(&row, None);
        })?;
        Ok(vec![taker])
    }

    /// Reads those rows again that may be wanted, and maybe others, of a file that `read` has read.
    pub(crate) fn read_again<T: Taker>(
        &mut self,
        threads: usize,
        wanted: &Wanted,
        meter: &Mutex<&mut Meter<'_>>,
        new_taker: impl Fn() -> T,
    ) -> Result<Vec<T>, FolderError> {
        if matches!(self.manner, Manner::InOneGo) {
            return self.read(threads, meter, new_taker);
        }
        let next = AtomicUsize::new(0);
        let work = |mut taker: T| -> io::Result<T> {
            let mut file = File::open(&self.file.path)?;
            let rows = Rows::of(self);
            let (mut bytes, mut left) = (Vec::new(), Vec::new());
            while let Some(block) = self.blocks.get(next.fetch_add(1, Ordering::Relaxed)) {
                locked(meter).add(block.bytes as u64);
                let ranges = block.wanted(wanted);
                if ranges.is_empty() {
                    continue;
                }
                bytes.resize(block.bytes, 0);
                file.seek(SeekFrom::Start(block.begin))?;
                file.read_exact(&mut bytes)?;
                left.clear();
                for range in ranges {
                    left.extend_from_slice(&bytes[range]);
                }
                rows.read(&left, &mut |row| _ = taker.take_row(&row, None))?;
            }
            Ok(taker)
        };
        let takers: Vec<T> = (0..threads).map(|_| new_taker()).collect();
        thread::scope(|scope| {
            let workers: Vec<_> = takers.into_iter().map(|taker| scope.spawn(|| work(taker))).collect();
            workers.into_iter().map(|worker| joined(worker.join())).collect::<io::Result<Vec<T>>>()
        })
        .map_err(|source| cut_short(self.file, source))
    }

    /// `None` where the file is written in an unusual way.
    fn read_blocks<T: Taker>(
        &mut self,
        takers: Vec<T>,
        meter: &Mutex<&mut Meter<'_>>,
    ) -> Result<Option<Vec<T>>, FolderError> {
        let unreadable = |source| cut_short(self.file, source);
        let mut file = File::open(&self.file.path).map_err(unreadable)?;
        let mut front = vec![0; self.rows_at];
        file.read_exact(&mut front).map_err(unreadable)?;
        locked(meter).add(self.rows_at as u64);
        let ends = if self.file.is_csv { Ends::OutsideQuotes } else { Ends::AtLines };
        let blocks = Blocks::new(file, self.rows_at as u64, ends);
        let is_unusual = AtomicBool::new(false);
        let rows = AtomicU64::new(0);
        let work = |mut taker: T| -> io::Result<(T, Vec<Block>, UnknownNames)> {
            let mut reading = Reading::new(self);
            let mut block = Vec::new();
            while !is_unusual.load(Ordering::Relaxed) && !taker.is_done() {
                let (next, bytes) = blocks.next(&mut block)?;
                locked(meter).add(bytes);
                match next {
                    Next::End => break,
                    Next::NoEnd => is_unusual.store(true, Ordering::Relaxed),
                    Next::Block(begin) => {
                        if reading.read(&block, &mut taker)?.is_none() {
                            is_unusual.store(true, Ordering::Relaxed);
                        }
                        let prints = reading.prints.take();
                        reading.blocks.push(Block { begin, bytes: block.len(), prints });
                    }
                }
            }
            rows.fetch_add(reading.rows, Ordering::Relaxed);
            Ok((taker, reading.blocks, reading.unknown))
        };
        let done = thread::scope(|scope| {
            let workers: Vec<_> = takers.into_iter().map(|taker| scope.spawn(|| work(taker))).collect();
            workers.into_iter().map(|worker| joined(worker.join())).collect::<io::Result<Vec<_>>>()
        });
        let done = done.map_err(unreadable)?;
        if is_unusual.into_inner() {
            return Ok(None);
        }
        self.rows = rows.into_inner();
        self.blocks.clear();
        let mut takers = Vec::new();
        for (taker, blocks, unknown) in done {
            takers.push(taker);
            self.blocks.extend(blocks);
            self.unknown.add(unknown);
        }
        self.blocks.sort_unstable_by_key(|block| block.begin);
        Ok(Some(takers))
    }
}

/// A file that ends before the place at which it went on a moment ago has changed.
fn cut_short(file: &TableFile, source: io::Error) -> FolderError {
    match source.kind() {
        io::ErrorKind::UnexpectedEof => FolderError::Changed { file: file.name.clone() },
        _ => file.unreadable(source),
    }
}

pub(crate) fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Block {
    /// Where rows stand that may be wanted. They can be read as if nothing stood between them: each ends in a line feed,
    /// but for the last of a file.
    fn wanted(&self, wanted: &Wanted) -> Vec<Range<usize>> {
        let Some(prints) = &self.prints else { return iter::once(0..self.bytes).collect() };
        let mut begin = 0;
        let ranges = prints.iter().filter_map(|print| {
            let range = begin..begin + print.bytes();
            begin = range.end;
            wanted.has(*print).then_some(range)
        });
        ranges.collect()
    }
}

/// How single rows of a file are read.
enum Rows<'s> {
    Csv(Columns<'s>),
    JsonLines(&'s TableFile),
}

impl<'s> Rows<'s> {
    fn of(scan: &'s Scan<'s>) -> Self {
        match &scan.manner {
            Manner::Csv { header, .. } => Self::Csv(Columns::of(scan.file.table, header)),
            Manner::JsonLines | Manner::InOneGo => Self::JsonLines(scan.file),
        }
    }

    /// Reads rows by themselves.
    fn read(&self, bytes: &[u8], take: &mut dyn FnMut(Row<'_>)) -> io::Result<UnknownNames> {
        let mut ignore = |_: Progress| {};
        let mut meter = Meter::new(0, &mut ignore);
        let lines = Lines::behind(0, bytes, &mut meter);
        match self {
            Self::Csv(columns) => columns.read_rows(lines, take).map(|()| UnknownNames::default()),
            Self::JsonLines(file) => json_lines::read_rows(file.table, lines, take),
        }
    }
}

/// One thread's reading of a file.
struct Reading<'s> {
    scan: &'s Scan<'s>,
    alone: Rows<'s>,
    separators: Separators,
    rows: u64,
    blocks: Vec<Block>,
    /// Of the block under way.
    prints: Option<Vec<Print>>,
    unknown: UnknownNames,
}

impl<'s> Reading<'s> {
    fn new(scan: &'s Scan<'s>) -> Self {
        Self {
            scan,
            alone: Rows::of(scan),
            separators: Separators::default(),
            rows: 0,
            blocks: Vec::new(),
            prints: None,
            unknown: UnknownNames::default(),
        }
    }

    /// `None` where the block is written in an unusual way.
    fn read<T: Taker>(&mut self, block: &[u8], taker: &mut T) -> io::Result<Option<()>> {
        match &self.scan.manner {
            Manner::Csv { places, .. } => self.read_csv(block, places, taker),
            Manner::JsonLines | Manner::InOneGo => self.read_json_lines(block, taker),
        }
    }

    fn read_csv<T: Taker>(&mut self, block: &[u8], places: &Places, taker: &mut T) -> io::Result<Option<()>> {
        if self.separators.find(block).is_err() {
            return Ok(None);
        }
        let is_text = self.separators.is_ascii || std::str::from_utf8(block).is_ok();
        let mut prints = Some(Vec::with_capacity(self.separators.count_rows()));
        for row in self.separators.rows() {
            let bytes = &block[row.start..block.len().min(row.end() + 1)];
            if is_blank(bytes) {
                note(&mut prints, NONE, bytes);
                continue;
            }
            if bytes.len() > MAX_ROW_BYTES {
                return Ok(None);
            }
            self.rows += 1;
            let written = Written { block, row, places };
            // A line between the first and the last of a row may be a row of its own, behind a slip of a quote.
            let is_usual = is_text
                && row.ends.len() == places.count()
                && (!self.separators.rows_span_lines
                    || memchr::memchr_iter(b'\n', &block[row.start..row.end()]).count() < 2);
            if is_usual && let Some(key) = taker.take_written(written) {
                note(&mut prints, key, bytes);
                continue;
            }
            let written = is_usual.then_some(written);
            let mut rows = 0;
            self.alone.read(bytes, &mut |row| {
                rows += 1;
                note(&mut prints, taker.take_row(&row, written), bytes);
            })?;
            if rows != 1 {
                return Ok(None);
            }
        }
        self.prints = prints;
        Ok(Some(()))
    }

    fn read_json_lines<T: Taker>(&mut self, block: &[u8], taker: &mut T) -> io::Result<Option<()>> {
        let mut prints = Some(Vec::new());
        for line in block.split_inclusive(|byte| *byte == b'\n') {
            if line.len() > MAX_ROW_BYTES {
                return Ok(None);
            }
            // A blank line is no row.
            let mut key = NONE;
            let unknown = self.alone.read(line, &mut |row| {
                self.rows += 1;
                key = taker.take_row(&row, None);
            })?;
            self.unknown.add(unknown);
            note(&mut prints, key, line);
        }
        self.prints = prints;
        Ok(Some(()))
    }
}

/// Notes a row's print; there are none any more where one is too long.
#[inline]
fn note(prints: &mut Option<Vec<Print>>, key: Key, row: &[u8]) {
    match (prints.as_mut(), Print::of(key, row.len())) {
        (Some(prints), Some(print)) => prints.push(print),
        _ => *prints = None,
    }
}

/// Whether a row is passed over.
fn is_blank(row: &[u8]) -> bool {
    matches!(row, b"\n" | b"\r\n" | b"\r")
}
