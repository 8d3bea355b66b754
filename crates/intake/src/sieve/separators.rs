//! Where the cells and rows of a block of CSV end, 64 bytes at a time.
//!
//! A block begins at a record, so whether a byte stands inside quotes follows from the number of quotes in front of
//! it. Every quote and every carriage return must stand where RFC 4180 has it; a block in which one does not is
//! answered with [`Irregular`], and its file is read by `csv` instead, which says what is wrong and where.
//! Must not know: columns. Start reading at [`Separators::find`].

use wide::u8x16;

/// A quote or a carriage return stands where RFC 4180 has none.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Irregular;

/// The commas and line feeds of a block that end cells and rows.
#[derive(Default)]
pub(crate) struct Separators {
    /// Positions in the block, ascending; only the first `count` are of this block.
    ends: Vec<u32>,
    count: usize,
    /// Per row, how many separators there are up to its end, that one included.
    rows: Vec<u32>,
    /// Whether a line feed stands inside quotes, so that rows are not lines.
    pub(crate) rows_span_lines: bool,
    /// Whether all bytes are ASCII.
    pub(crate) is_ascii: bool,
}

/// One row of a block.
#[derive(Clone, Copy)]
pub(crate) struct RowBounds<'s> {
    /// Where it begins in the block.
    pub(crate) start: usize,
    /// Where its cells end; never empty.
    pub(crate) ends: &'s [u32],
}

impl RowBounds<'_> {
    /// Where it ends, its line feed apart.
    pub(crate) fn end(&self) -> usize {
        self.ends.last().map_or(self.start, |end| *end as usize)
    }
}

/// What a chunk must know of the ones in front of it; each is one bit, but for `inside`, which is all of them.
struct State {
    /// Whether the next byte stands inside quotes.
    inside: u64,
    /// Whether the byte before is one behind which a quote may open a cell, or mean one with it.
    may_open: u64,
    /// Whether the byte before was a closing quote.
    closed: u64,
    /// Whether the byte before was a carriage return outside quotes.
    returned: u64,
    /// Not none where something was found that RFC 4180 does not have.
    wrong: u64,
    /// All bytes so far, one over the other.
    bytes: u8x16,
}

impl Separators {
    /// Finds them in a block of whole records; the last one may lack its line feed.
    ///
    /// # Errors
    /// [`Irregular`] where a quote opens in the midst of a cell, text follows a closing quote, a quote is never
    /// closed, or a carriage return ends no line.
    pub(crate) fn find(&mut self, block: &[u8]) -> Result<(), Irregular> {
        self.rows.clear();
        (self.count, self.rows_span_lines) = (0, false);
        // At most one separator a byte, and one that the last row may lack.
        if self.ends.len() < block.len() + 1 {
            self.ends.resize(block.len() + 1, 0);
        }
        let mut state =
            State { inside: 0, may_open: 1, closed: 0, returned: 0, wrong: 0, bytes: u8x16::ZERO };
        let (chunks, rest) = block.as_chunks::<64>();
        for (index, chunk) in chunks.iter().enumerate() {
            self.take(index * 64, chunk, u64::MAX, &mut state);
        }
        if !rest.is_empty() {
            // Behind the end of the block anything may end, as it may before a line feed.
            let mut last = [b'\n'; 64];
            last[..rest.len()].copy_from_slice(rest);
            self.take(chunks.len() * 64, &last, (1 << rest.len()) - 1, &mut state);
        }
        self.is_ascii = state.bytes.to_bitmask() == 0;
        if state.wrong != 0 || state.inside != 0 {
            return Err(Irregular);
        }
        if block.last().is_some_and(|last| *last != b'\n') {
            self.ends[self.count] = block.len() as u32;
            self.count += 1;
            self.rows.push(self.count as u32);
        }
        Ok(())
    }

    /// Takes the next 64 bytes, of which the bits of `within` belong to the block.
    #[inline(always)]
    fn take(&mut self, base: usize, chunk: &[u8; 64], within: u64, state: &mut State) {
        let lanes = Lanes::of(chunk);
        state.bytes |= lanes.over_each_other();
        let quotes = lanes.bits(b'"');
        let feeds = lanes.bits(b'\n');
        let returns = lanes.bits(b'\r');
        let mut separators = lanes.bits(b',') | feeds;
        if quotes | returns | state.inside | state.closed | state.returned != 0 {
            separators &= !state.inside_and_checked(quotes, feeds, returns, separators);
            self.rows_span_lines |= feeds & !separators & within != 0;
        }
        state.may_open = separators >> 63 | state.closed;
        self.note(base, separators & within, feeds);
    }

    #[inline(always)]
    fn note(&mut self, base: usize, separators: u64, feeds: u64) {
        let (mut left, mut count) = (separators, self.count);
        let ends = &mut self.ends[..];
        while left != 0 {
            let bit = left.trailing_zeros();
            ends[count] = base as u32 + bit;
            count += 1;
            if feeds >> bit & 1 == 1 {
                self.rows.push(count as u32);
            }
            left &= left - 1;
        }
        self.count = count;
    }

    /// How many rows there are.
    pub(crate) fn count_rows(&self) -> usize {
        self.rows.len()
    }

    /// The rows, blank lines among them.
    pub(crate) fn rows(&self) -> impl Iterator<Item = RowBounds<'_>> {
        let mut first = 0;
        let mut start = 0;
        self.rows.iter().map(move |upto| {
            let ends = &self.ends[first..*upto as usize];
            let row = RowBounds { start, ends };
            first = *upto as usize;
            start = row.end() + 1;
            row
        })
    }
}

impl State {
    /// Which bytes stand inside quotes, opening quotes among them; and whether quotes and carriage returns stand where
    /// they may.
    #[inline]
    fn inside_and_checked(&mut self, quotes: u64, feeds: u64, returns: u64, separators: u64) -> u64 {
        let inside = running_parity(quotes) ^ self.inside;
        let separators = separators & !inside;
        let closing = quotes & !inside;
        let opening = quotes & inside;
        self.wrong |= opening & !((separators | closing) << 1 | self.may_open);
        self.wrong |= (closing << 1 | self.closed) & !(separators | quotes | returns);
        let returns = returns & !inside;
        self.wrong |= (returns << 1 | self.returned) & !feeds;
        self.closed = closing >> 63;
        self.returned = returns >> 63;
        self.inside = 0_u64.wrapping_sub(inside >> 63);
        inside
    }
}

/// 64 bytes, compared at once.
struct Lanes([u8x16; 4]);

impl Lanes {
    #[inline(always)]
    fn of(chunk: &[u8; 64]) -> Self {
        let (quarters, _) = chunk.as_chunks::<16>();
        Self([quarters[0], quarters[1], quarters[2], quarters[3]].map(u8x16::new))
    }

    #[inline(always)]
    fn over_each_other(&self) -> u8x16 {
        let [a, b, c, d] = self.0;
        a | b | (c | d)
    }

    /// Which of them are this one.
    #[inline(always)]
    fn bits(&self, byte: u8) -> u64 {
        let wanted = u8x16::splat(byte);
        let of = |lane: u8x16| u64::from(lane.simd_eq(wanted).to_bitmask());
        let [a, b, c, d] = self.0;
        of(a) | of(b) << 16 | of(c) << 32 | of(d) << 48
    }
}

/// Per bit, whether the number of bits up to it, itself included, is odd.
#[inline]
fn running_parity(mut bits: u64) -> u64 {
    for shift in [1, 2, 4, 8, 16, 32] {
        bits ^= bits << shift;
    }
    bits
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn cells(block: &[u8]) -> Result<Vec<Vec<String>>, Irregular> {
        let mut separators = Separators::default();
        separators.find(block)?;
        Ok(separators
            .rows()
            .map(|row| {
                let mut start = row.start;
                let ends = row.ends.iter();
                ends.map(|end| {
                    let cell = String::from_utf8_lossy(&block[start..*end as usize]).into_owned();
                    start = *end as usize + 1;
                    cell
                })
                .collect()
            })
            .collect())
    }

    #[test]
    fn cells_end_at_commas_and_rows_at_line_feeds_outside_quotes() {
        let long = "x".repeat(61);
        for (text, want) in [
            ("a,b\n", vec![vec!["a", "b"]]),
            ("a,b", vec![vec!["a", "b"]]),
            ("\n\r\na,\n", vec![vec![""], vec!["\r"], vec!["a", ""]]),
            ("\"a,\n\"\"b\",c\r\nd", vec![vec!["\"a,\n\"\"b\"", "c\r"], vec!["d"]]),
            (&format!("{long},\"\"\"\",\"\"\n"), vec![vec![&long, "\"\"\"\"", "\"\""]]),
            ("a\r", vec![vec!["a\r"]]),
        ] {
            assert_eq!(cells(text.as_bytes()).unwrap(), want, "{text:?}");
        }
    }

    #[test]
    fn quotes_and_carriage_returns_stand_where_rfc_4180_has_them() {
        for pad in [0, 30, 60, 61, 62, 63, 64, 65] {
            for text in
                ["a\"b\n", "\"a\"b\n", "\"a\n", "a\rb\n", "\"a\"\rb\n", "\"a\"\"", "a\r\r\n", "\"\"\"\n"]
            {
                let text = format!("{}\n{text}", "y".repeat(pad));
                assert_eq!(cells(text.as_bytes()), Err(Irregular), "{text:?}");
            }
        }
    }

    proptest! {
        /// Source: the crate csv 1.4, on what it writes itself.
        #[test]
        fn what_the_csv_crate_writes_is_split_as_it_was(
            rows in proptest::collection::vec(proptest::collection::vec("[a,\"\r\n ä]{0,30}", 2..4), 0..8),
        ) {
            let mut writer = ::csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let block = writer.into_inner().unwrap();
            let read: Vec<Vec<String>> = cells(&block).unwrap().into_iter().map(|row| {
                row.into_iter().map(|cell| match cell.strip_prefix('"').and_then(|cell| cell.strip_suffix('"')) {
                    Some(quoted) => quoted.replace("\"\"", "\""),
                    None => cell,
                }).collect()
            }).collect();
            prop_assert_eq!(read, rows);
        }
    }
}
