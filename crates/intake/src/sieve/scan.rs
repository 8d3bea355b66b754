//! One file, block by block and by several threads, row by row.
//!
//! A file that is not written as RFC 4180 has it, or has a row longer than any may be, is read by one thread from its
//! beginning instead, as `csv` and `json_lines` read it. Must not know: what is done with a row. Start reading at
//! [`Scan`].

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
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
use crate::sieve::separators::{RowBounds, Separators};
use crate::sieve::sift::{Places, Written};
use crate::tables::{Column, UnknownNames};

/// Takes rows, one thread's.
pub(crate) trait Taker: Send {
    /// Takes a row as it is written. False, and nothing done, where it is not written in the usual way, or has to be
    /// read by itself.
    fn take_written(&mut self, cells: Written<'_>) -> bool;
    /// Takes a row that was read by itself; `written` are its cells where these are known.
    fn take_row(&mut self, row: &Row<'_>, written: Option<Written<'_>>);
    /// Whether no more rows are wanted.
    fn is_done(&self) -> bool {
        false
    }
}

/// Where blocks begin, and how long they are.
type Extents = Vec<(u64, usize)>;

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
    /// Where each block begins, and how long it is, once they have been read.
    blocks: Extents,
    pub(crate) unknown: UnknownNames,
    pub(crate) rows: u64,
}

/// How much of a file is looked at for its header.
const START_BYTES: u64 = 64 * 1024;

impl<'f> Scan<'f> {
    /// Looks how a file begins.
    pub(crate) fn of(file: &'f TableFile) -> Result<Self, FolderError> {
        let unreadable = |source| FolderError::Unreadable { path: file.path.clone(), source };
        let mut start = Vec::new();
        let opened = File::open(&file.path).map_err(unreadable)?;
        Read::take(opened, START_BYTES).read_to_end(&mut start).map_err(unreadable)?;
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

    /// Reads all rows again, of which `read` has found out how they are written; `last` is the last column that
    /// [`Taker::take_written`] looks at.
    pub(crate) fn read_again<T: Taker>(
        &mut self,
        threads: usize,
        last: &[Column],
        meter: &Mutex<&mut Meter<'_>>,
        new_taker: impl Fn() -> T,
    ) -> Result<Vec<T>, FolderError> {
        let Manner::Csv { header, places } = &self.manner else {
            return self.read(threads, meter, new_taker);
        };
        let Some(cells) = places.cells_up_to(last) else { return self.read(threads, meter, new_taker) };
        let unreadable = |source| cut_short(self.file, source);
        let next = AtomicUsize::new(0);
        let work = |mut taker: T| -> io::Result<T> {
            let mut file = File::open(&self.file.path)?;
            let mut again =
                Again { columns: Columns::of(self.file.table, header), places, cells, ends: Vec::new() };
            let mut block = Vec::new();
            while let Some((begin, length)) = self.blocks.get(next.fetch_add(1, Ordering::Relaxed)) {
                block.resize(*length, 0);
                file.seek(SeekFrom::Start(*begin))?;
                file.read_exact(&mut block)?;
                locked(meter).add(*length as u64);
                again.read(&block, &mut taker)?;
            }
            Ok(taker)
        };
        let takers: Vec<T> = (0..threads).map(|_| new_taker()).collect();
        thread::scope(|scope| {
            let workers: Vec<_> = takers.into_iter().map(|taker| scope.spawn(|| work(taker))).collect();
            workers.into_iter().map(|worker| joined(worker.join())).collect::<io::Result<Vec<T>>>()
        })
        .map_err(unreadable)
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
        let work = |mut taker: T| -> io::Result<(T, Extents, UnknownNames)> {
            let mut reading = Reading::new(self);
            let mut block = Vec::new();
            while !is_unusual.load(Ordering::Relaxed) && !taker.is_done() {
                let (next, bytes) = blocks.next(&mut block)?;
                locked(meter).add(bytes);
                match next {
                    Next::End => break,
                    Next::NoEnd => is_unusual.store(true, Ordering::Relaxed),
                    Next::Block(begin) => {
                        reading.blocks.push((begin, block.len()));
                        if reading.read(&block, &mut taker)?.is_none() {
                            is_unusual.store(true, Ordering::Relaxed);
                        }
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
        self.blocks.sort_unstable();
        Ok(Some(takers))
    }
}

/// A file that ends before the place at which it went on a moment ago has changed.
fn cut_short(file: &TableFile, source: io::Error) -> FolderError {
    match source.kind() {
        io::ErrorKind::UnexpectedEof => FolderError::Changed { file: file.name.clone() },
        _ => FolderError::Unreadable { path: file.path.clone(), source },
    }
}

pub(crate) fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// One thread's reading of a file.
struct Reading<'s> {
    scan: &'s Scan<'s>,
    columns: Option<Columns<'s>>,
    separators: Separators,
    rows: u64,
    blocks: Extents,
    unknown: UnknownNames,
}

impl<'s> Reading<'s> {
    fn new(scan: &'s Scan<'s>) -> Self {
        let columns = match &scan.manner {
            Manner::Csv { header, .. } => Some(Columns::of(scan.file.table, header)),
            Manner::JsonLines | Manner::InOneGo => None,
        };
        Self {
            scan,
            columns,
            separators: Separators::default(),
            rows: 0,
            blocks: Vec::new(),
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
        let is_text = std::str::from_utf8(block).is_ok();
        for row in self.separators.rows() {
            let bytes = &block[row.start..block.len().min(row.end() + 1)];
            if is_blank(bytes) {
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
            if is_usual && taker.take_written(written) {
                continue;
            }
            let Some(columns) = &self.columns else { return Ok(None) };
            if read_alone(columns, bytes, is_usual.then_some(written), taker)? != 1 {
                return Ok(None);
            }
        }
        Ok(Some(()))
    }

    fn read_json_lines<T: Taker>(&mut self, block: &[u8], taker: &mut T) -> io::Result<Option<()>> {
        let mut ignore = |_: Progress| {};
        for line in block.split_inclusive(|byte| *byte == b'\n') {
            if line.len() > MAX_ROW_BYTES {
                return Ok(None);
            }
            let mut meter = Meter::new(0, &mut ignore);
            let lines = Lines::behind(0, line, &mut meter);
            let unknown = json_lines::read_rows(self.scan.file.table, lines, &mut |row| {
                self.rows += 1;
                taker.take_row(&row, None);
            })?;
            self.unknown.add(unknown);
        }
        Ok(Some(()))
    }
}

/// Whether a row is passed over.
fn is_blank(row: &[u8]) -> bool {
    matches!(row, b"\n" | b"\r\n" | b"\r")
}

/// Reads one row by itself; answers how many it proves to be.
fn read_alone<T: Taker>(
    columns: &Columns<'_>,
    bytes: &[u8],
    written: Option<Written<'_>>,
    taker: &mut T,
) -> io::Result<usize> {
    let mut ignore = |_: Progress| {};
    let mut meter = Meter::new(0, &mut ignore);
    let mut rows = 0;
    columns.read_rows(Lines::behind(0, bytes, &mut meter), &mut |row| {
        rows += 1;
        taker.take_row(&row, written);
    })?;
    Ok(rows)
}

/// One thread's second reading of a file whose rows are known to be well formed.
struct Again<'s> {
    columns: Columns<'s>,
    places: &'s Places,
    /// How many cells of a row have to be known.
    cells: usize,
    ends: Vec<u32>,
}

impl Again<'_> {
    fn read<T: Taker>(&mut self, block: &[u8], taker: &mut T) -> io::Result<()> {
        let mut rest = block;
        let has_quotes = memchr::memchr(b'"', block).is_some();
        while !rest.is_empty() {
            let (row, behind) = rest.split_at(row_end(rest, has_quotes));
            rest = behind;
            if is_blank(row) {
                continue;
            }
            let is_passed = self.find_cells(row) && {
                let bounds = RowBounds { start: 0, ends: &self.ends };
                taker.take_written(Written { block: row, row: bounds, places: self.places })
            };
            if !is_passed {
                read_alone(&self.columns, row, None, taker)?;
            }
        }
        Ok(())
    }

    /// Finds the ends of the first cells. False where the row has fewer.
    fn find_cells(&mut self, row: &[u8]) -> bool {
        self.ends.clear();
        let mut at = 0;
        while self.ends.len() < self.cells {
            if row.get(at) == Some(&b'"') {
                at = behind_quotes(row, at);
            }
            let Some(length) = row[at..].iter().position(|byte| matches!(byte, b',' | b'\n')) else {
                self.ends.push(row.len() as u32);
                break;
            };
            self.ends.push((at + length) as u32);
            if row[at + length] == b'\n' {
                break;
            }
            at += length + 1;
        }
        self.ends.len() == self.cells
    }
}

/// Where a cell in quotes, which begins here, ends.
fn behind_quotes(row: &[u8], begin: usize) -> usize {
    let mut at = begin + 1;
    while let Some(length) = memchr::memchr(b'"', &row[at..]) {
        at += length + 1;
        if row.get(at) != Some(&b'"') {
            return at;
        }
        at += 1;
    }
    row.len()
}

/// How long the first row is: up to a line feed in front of which all quotes are closed.
fn row_end(rows: &[u8], has_quotes: bool) -> usize {
    let mut is_open = false;
    let mut start = 0;
    while let Some(at) = memchr::memchr(b'\n', &rows[start..]) {
        let end = start + at + 1;
        is_open ^= has_quotes && memchr::memchr_iter(b'"', &rows[start..end]).count() % 2 == 1;
        if !is_open {
            return end;
        }
        start = end;
    }
    rows.len()
}
