//! The physical lines of a file, with a limit on their length, and how far reading has come.
//!
//! Must not know: what a line holds. Both readers, CSV and JSON Lines, take their lines from here.

use std::io::{self, BufRead, Read};

/// The longest row, in bytes. A row of any table with its options takes a few hundred; a longer one is nearly
/// always a quote that was opened and not closed, and must not take the rest of the file with it.
pub const MAX_ROW_BYTES: usize = 1 << 20;

/// How many bytes are read between two reports of progress: some hundred reports on a large export.
const BYTES_PER_REPORT: u64 = 1 << 20;

/// How far reading has come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Progress {
    /// Bytes read so far, of all files together.
    pub bytes_read: u64,
    /// The size of all files together, as it was when reading began.
    pub bytes_total: u64,
}

/// Counts what is read and reports it now and then.
pub(crate) struct Meter<'a> {
    bytes_total: u64,
    bytes_read: u64,
    reported: u64,
    report: &'a mut (dyn FnMut(Progress) + Send),
}

impl<'a> Meter<'a> {
    pub(crate) fn new(bytes_total: u64, report: &'a mut (dyn FnMut(Progress) + Send)) -> Self {
        Self { bytes_total, bytes_read: 0, reported: 0, report }
    }

    /// Says how far reading has come.
    pub(crate) fn tell(&mut self) {
        self.reported = self.bytes_read;
        (self.report)(Progress { bytes_read: self.bytes_read, bytes_total: self.bytes_total });
    }

    /// How many bytes were read so far.
    pub(crate) fn bytes_read(&self) -> u64 {
        self.bytes_read
    }

    /// Takes back what was counted since, where it has to be read again.
    pub(crate) fn back_to(&mut self, bytes_read: u64) {
        self.bytes_read = bytes_read;
        self.reported = self.reported.min(bytes_read);
    }

    /// Counts bytes that were read.
    pub(crate) fn add(&mut self, bytes: u64) {
        self.bytes_read += bytes;
        if self.bytes_read - self.reported >= BYTES_PER_REPORT {
            self.tell();
        }
    }
}

/// What [`Lines::read`] found.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Found {
    /// A line, with its ending.
    Line,
    /// A line longer than [`MAX_ROW_BYTES`]; none of it is kept.
    TooLong,
    /// The file is over.
    End,
}

/// The byte order mark with which some programs begin a file in UTF-8; it is no part of the text.
pub(crate) const UTF_8_MARK: &[u8] = "\u{feff}".as_bytes();

/// Lines that end with LF, numbered from 1.
pub(crate) struct Lines<'m, 'p, R> {
    reader: R,
    meter: &'m mut Meter<'p>,
    number: u64,
    begins_file: bool,
}

impl<'m, 'p, R: BufRead> Lines<'m, 'p, R> {
    /// The lines of a whole file.
    pub(crate) fn new(reader: R, meter: &'m mut Meter<'p>) -> Self {
        Self { reader, meter, number: 0, begins_file: true }
    }

    /// The lines of a part of a file that follows so many lines.
    pub(crate) fn behind(lines: u64, reader: R, meter: &'m mut Meter<'p>) -> Self {
        Self { reader, meter, number: lines, begins_file: false }
    }

    /// The number of the line that was read last.
    pub(crate) fn number(&self) -> u64 {
        self.number
    }

    /// Reads the next line into `line`, in place of what was there.
    pub(crate) fn read(&mut self, line: &mut Vec<u8>) -> io::Result<Found> {
        line.clear();
        let limit = MAX_ROW_BYTES as u64 + 1;
        let bytes = Read::take(&mut self.reader, limit).read_until(b'\n', line)?;
        self.meter.add(bytes as u64);
        if bytes == 0 {
            return Ok(Found::End);
        }
        self.number += 1;
        if std::mem::take(&mut self.begins_file) && line.starts_with(UTF_8_MARK) {
            line.drain(..UTF_8_MARK.len());
        }
        if bytes <= MAX_ROW_BYTES {
            return Ok(Found::Line);
        }
        if line.last() != Some(&b'\n') {
            self.skip_rest_of_line()?;
        }
        line.clear();
        Ok(Found::TooLong)
    }

    fn skip_rest_of_line(&mut self) -> io::Result<()> {
        loop {
            let buffer = match self.reader.fill_buf() {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                buffer => buffer?,
            };
            let end = memchr::memchr(b'\n', buffer);
            let bytes = end.map_or(buffer.len(), |end| end + 1);
            self.reader.consume(bytes);
            self.meter.add(bytes as u64);
            if end.is_some() || bytes == 0 {
                return Ok(());
            }
        }
    }
}

/// A line without its ending, and the ending: LF, CR LF, nothing, or a CR at the end of the file.
pub(crate) fn split_ending(line: &[u8]) -> (&[u8], &[u8]) {
    let without_lf = line.strip_suffix(b"\n").unwrap_or(line);
    let content = without_lf.strip_suffix(b"\r").unwrap_or(without_lf);
    line.split_at(content.len())
}

#[cfg(test)]
mod tests {
    use std::io::BufReader;

    use super::*;

    fn read_all(bytes: &[u8], capacity: usize) -> Vec<(u64, Found, Vec<u8>)> {
        let mut ignore = |_: Progress| {};
        let mut meter = Meter::new(0, &mut ignore);
        let mut lines = Lines::new(BufReader::with_capacity(capacity, bytes), &mut meter);
        let mut all = Vec::new();
        let mut line = Vec::new();
        loop {
            let found = lines.read(&mut line).unwrap();
            if found == Found::End {
                return all;
            }
            all.push((lines.number(), found, line.clone()));
        }
    }

    #[test]
    fn lines_are_numbered_whatever_the_size_of_the_buffer() {
        for capacity in [1, 2, 3, 64] {
            let want =
                [(1, "a\r\n"), (2, "\n"), (3, "b")].map(|(n, l)| (n, Found::Line, l.as_bytes().to_vec()));
            assert_eq!(read_all(b"a\r\n\nb", capacity), want, "{capacity}");
        }
    }

    #[test]
    fn a_line_over_the_limit_is_left_out_and_the_next_one_is_read() {
        let mut bytes = vec![b'x'; MAX_ROW_BYTES - 1];
        bytes.extend(b"\n");
        bytes.extend(vec![b'y'; MAX_ROW_BYTES]);
        bytes.extend(b"\n");
        bytes.extend(vec![b'z'; 3 * MAX_ROW_BYTES]);
        bytes.extend(b"\nlast");
        let found: Vec<_> =
            read_all(&bytes, 8192).into_iter().map(|(n, found, l)| (n, found, l.len())).collect();
        assert_eq!(
            found,
            [
                (1, Found::Line, MAX_ROW_BYTES),
                (2, Found::TooLong, 0),
                (3, Found::TooLong, 0),
                (4, Found::Line, 4)
            ]
        );
    }

    #[test]
    fn progress_is_told_each_mebibyte_and_counts_every_byte() {
        let bytes = "12345678901234567890\n".repeat(150_000);
        let mut told = Vec::new();
        let mut tell = |progress: Progress| told.push(progress);
        let mut meter = Meter::new(bytes.len() as u64, &mut tell);
        let mut lines = Lines::new(BufReader::new(bytes.as_bytes()), &mut meter);
        let mut line = Vec::new();
        while lines.read(&mut line).unwrap() != Found::End {}
        meter.tell();
        assert_eq!(told.len(), 4);
        assert!(told.is_sorted_by_key(|progress| progress.bytes_read));
        assert_eq!(told[3], Progress { bytes_read: 3_150_000, bytes_total: 3_150_000 });
    }
}
