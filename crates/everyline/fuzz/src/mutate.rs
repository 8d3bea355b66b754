//! Changes to an input as somebody who exports tables would make them: rows doubled, dropped and moved, cells taken
//! from other rows, times and quantities that are nearly right.
//!
//! Left to bytes alone, nearly every change makes a row that cannot be read, and what happens to rows that can be read
//! is hardly tried. Must not know how a table is read. Start reading at [`mutate`].

use std::ops::Range;

use fastrand::Rng;
use libfuzzer_sys::fuzzer_mutate;

use crate::given::MARK;

/// Changes an input, [`crate::Given`], in place, and answers its new size. The same seed makes the same change.
pub fn mutate(data: &mut [u8], size: usize, max_size: usize, seed: u32) -> usize {
    let mut random = Rng::with_seed(seed.into());
    if random.u8(..4) == 0 {
        return fuzzer_mutate(data, size, max_size);
    }
    let mut document = Document::of(&data[..size]);
    for _ in 0..random.u8(1..4) {
        document.change(&mut random);
    }
    let changed = document.lines.join(&b'\n');
    let size = changed.len().min(max_size);
    data[..size].copy_from_slice(&changed[..size]);
    size
}

/// What a line of an input is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    Choices,
    Mark,
    Header,
    CsvRow,
    JsonRow,
}

/// An input, line by line.
struct Document {
    lines: Vec<Vec<u8>>,
}

/// One cell, and the name of its column.
struct Cell {
    line: usize,
    name: Vec<u8>,
    at: Range<usize>,
    is_csv: bool,
}

impl Document {
    fn of(input: &[u8]) -> Self {
        Self { lines: input.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect() }
    }

    fn kinds(&self) -> Vec<Kind> {
        let mut before = Kind::Choices;
        let mut is_csv = true;
        let kinds = self.lines.iter().enumerate().map(|(index, line)| {
            before = match before {
                _ if index == 0 => Kind::Choices,
                _ if line.first() == Some(&MARK) => {
                    is_csv = !line.ends_with(b".jsonl");
                    Kind::Mark
                }
                Kind::Choices => Kind::Choices,
                Kind::Mark if is_csv => Kind::Header,
                _ if is_csv => Kind::CsvRow,
                _ => Kind::JsonRow,
            };
            before
        });
        kinds.collect()
    }

    fn change(&mut self, random: &mut Rng) {
        let kinds = self.kinds();
        let of_kind = |wanted: &[Kind]| -> Vec<usize> {
            (0..kinds.len()).filter(|index| wanted.contains(&kinds[*index])).collect()
        };
        let rows = of_kind(&[Kind::CsvRow, Kind::JsonRow]);
        let Some(row) = random.choice(&rows).copied() else { return };
        match random.u8(..16) {
            0 => {
                let copy = self.lines[row].clone();
                self.lines.insert(row, copy);
            }
            1 => drop(self.lines.remove(row)),
            2 => {
                let other = *random.choice(&rows).unwrap_or(&row);
                self.lines.swap(row, other);
            }
            3 => {
                let copy = self.lines[row].clone();
                self.lines.insert(row, copy);
                self.change_cell(random, &kinds, row);
            }
            4 => self.choose(random),
            5 => match random.choice(of_kind(&[Kind::Header])) {
                Some(header) => self.change_header(random, header),
                None => self.choose(random),
            },
            6 => match random.choice(of_kind(&[Kind::Mark])) {
                Some(mark) => self.change_form(random, &kinds, mark),
                None => self.choose(random),
            },
            _ => self.change_cell(random, &kinds, row),
        }
    }

    fn choose(&mut self, random: &mut Rng) {
        self.lines[0] = vec![random.u8(b'a'..=b'x'), random.u8(b'a'..=b'x')];
    }

    fn change_header(&mut self, random: &mut Rng, header: usize) {
        let cells = csv_cells(&self.lines[header]);
        let Some(cell) = random.choice(cells) else { return };
        let name = *random.choice(NAMES).unwrap_or(&"note");
        self.lines[header].splice(cell, name.bytes());
    }

    /// Makes a table of CSV one of JSON Lines; the other way round, or in an unusual form, only the name changes.
    fn change_form(&mut self, random: &mut Rng, kinds: &[Kind], mark: usize) {
        let stem = self.lines[mark].rsplitn(2, |byte| *byte == b'.').last().unwrap_or_default().to_vec();
        let end = (mark + 1..kinds.len()).find(|index| kinds[*index] == Kind::Mark).unwrap_or(kinds.len());
        if kinds.get(mark + 1) != Some(&Kind::Header) || random.bool() {
            for line in &mut self.lines[mark + 1..end] {
                match line.pop() {
                    Some(b'\r') | None => {}
                    Some(last) => line.extend([last, b'\r']),
                }
            }
            return;
        }
        let header = self.lines[mark + 1].clone();
        let names: Vec<&[u8]> = csv_cells(&header).into_iter().map(|cell| &header[cell]).collect();
        for line in &mut self.lines[mark + 2..end] {
            *line = as_json(&names, line);
        }
        self.lines[mark] = [stem.as_slice(), b".jsonl"].concat();
        self.lines.remove(mark + 1);
    }

    fn cells(&self, kinds: &[Kind], line: usize) -> Vec<Cell> {
        let text = &self.lines[line];
        let header = (0..line.min(kinds.len())).rev().find(|index| kinds[*index] == Kind::Header);
        match kinds.get(line) {
            Some(Kind::CsvRow) => {
                let header = header.map(|header| self.lines[header].as_slice()).unwrap_or_default();
                let names = csv_cells(header);
                let cells = csv_cells(text).into_iter().enumerate();
                let named = cells.map(|(index, at)| {
                    let name = names.get(index).map(|name| header[name.clone()].to_vec());
                    Cell { line, name: name.unwrap_or_default(), at, is_csv: true }
                });
                named.collect()
            }
            Some(Kind::JsonRow) => json_cells(text)
                .into_iter()
                .map(|(name, at)| Cell { line, name: text[name].to_vec(), at, is_csv: false })
                .collect(),
            _ => Vec::new(),
        }
    }

    fn change_cell(&mut self, random: &mut Rng, kinds: &[Kind], row: usize) {
        let Some(cell) = random.choice(self.cells(kinds, row)) else { return };
        let old = self.lines[cell.line][cell.at.clone()].to_vec();
        let new = match random.u8(..8) {
            0..3 => self.cell_elsewhere(random, kinds, &cell.name).unwrap_or(old),
            3 => self.cell_elsewhere(random, kinds, b"").unwrap_or(old),
            4 => {
                let mut bytes = old.clone();
                bytes.resize(old.len() + 8, 0);
                let size = fuzzer_mutate(&mut bytes, old.len(), old.len() + 8);
                bytes.truncate(size);
                bytes
            }
            5 if cell.is_csv => match old.strip_prefix(b"\"").and_then(|text| text.strip_suffix(b"\"")) {
                Some(text) => text.to_vec(),
                None => {
                    let end: &[u8] = if random.bool() { b"\"" } else { b"\n\"" };
                    [b"\"", old.as_slice(), end].concat()
                }
            },
            _ => {
                let value = random.choice(values_of(&cell.name)).copied().unwrap_or_default();
                if cell.is_csv { quoted(value, b"\"\"") } else { format!("{value:?}").into_bytes() }
            }
        };
        self.lines[cell.line].splice(cell.at, new);
    }

    /// The text of a cell in another place: of a column of this name, where there is one.
    fn cell_elsewhere(&self, random: &mut Rng, kinds: &[Kind], name: &[u8]) -> Option<Vec<u8>> {
        let mut cells = Vec::new();
        for _ in 0..8 {
            cells.extend(self.cells(kinds, random.usize(..self.lines.len())));
        }
        let alike: Vec<&Cell> = cells.iter().filter(|cell| is_kin(&cell.name, name)).collect();
        let cell = random.choice(alike).or_else(|| random.choice(&cells))?;
        Some(self.lines[cell.line][cell.at.clone()].to_vec())
    }
}

/// Whether two columns hold the same sort of id.
fn is_kin(a: &[u8], b: &[u8]) -> bool {
    let is_order = |name: &[u8]| name == b"order_id" || name == b"order_ref";
    let is_line = |name: &[u8]| matches!(name, b"line_id" | b"order_line_ref" | b"submission_line_id");
    let is_time = |name: &[u8]| name.ends_with(b"_at") || name == b"promised_by";
    a == b || [is_order(a) && is_order(b), is_line(a) && is_line(b), is_time(a) && is_time(b)].contains(&true)
}

/// The cells between commas that stand outside quotes, with their quotes.
fn csv_cells(line: &[u8]) -> Vec<Range<usize>> {
    let line = line.strip_suffix(b"\r").unwrap_or(line);
    let mut cells = Vec::new();
    let (mut begin, mut is_quoted) = (0, false);
    for (at, byte) in line.iter().enumerate() {
        match byte {
            b'"' => is_quoted = !is_quoted,
            b',' if !is_quoted => {
                cells.push(begin..at);
                begin = at + 1;
            }
            _ => {}
        }
    }
    cells.push(begin..line.len());
    cells
}

/// The names and the values of an object, as far as it is one.
fn json_cells(line: &[u8]) -> Vec<(Range<usize>, Range<usize>)> {
    let mut pairs = Vec::new();
    let (mut is_quoted, mut depth, mut begin, mut name) = (false, 0_usize, 0, None);
    let mut skip = false;
    for (at, byte) in line.iter().enumerate() {
        if std::mem::take(&mut skip) {
            continue;
        }
        match byte {
            b'\\' if is_quoted => skip = true,
            b'"' => is_quoted = !is_quoted,
            _ if is_quoted => {}
            b'{' | b'[' => {
                depth += 1;
                begin = if depth == 1 { at + 1 } else { begin };
            }
            b':' if depth == 1 => {
                name = Some(begin..at);
                begin = at + 1;
            }
            b',' | b'}' if depth == 1 => {
                pairs.extend(name.take().map(|name| (trimmed(line, name), begin..at)));
                begin = at + 1;
                depth -= usize::from(*byte == b'}');
            }
            b'}' | b']' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    pairs
}

/// A name without its quotes.
fn trimmed(line: &[u8], name: Range<usize>) -> Range<usize> {
    match &line[name.clone()] {
        [b'"', .., b'"'] => name.start + 1..name.end - 1,
        _ => name,
    }
}

/// In quotes where it has to be, each quote in it written as `quote`.
fn quoted(text: &str, quote: &[u8]) -> Vec<u8> {
    if !text.contains(['"', ',', '\n', '\r']) {
        return text.as_bytes().to_vec();
    }
    let inner = text.bytes().flat_map(|byte| if byte == b'"' { quote.to_vec() } else { vec![byte] });
    [b'"'].into_iter().chain(inner).chain([b'"']).collect()
}

/// A row of CSV as an object; empty cells are left out.
fn as_json(names: &[&[u8]], line: &[u8]) -> Vec<u8> {
    let pairs: Vec<Vec<u8>> = names
        .iter()
        .zip(csv_cells(line))
        .filter_map(|(name, at)| {
            let cell = String::from_utf8_lossy(&line[at]).into_owned();
            let inner = cell.strip_prefix('"').and_then(|cell| cell.strip_suffix('"'));
            let text = inner.map(|cell| cell.replace("\"\"", "\"")).unwrap_or(cell);
            let value = if text.starts_with('{') { text.clone() } else { format!("{text:?}") };
            (!text.is_empty()).then(|| [b"\"", *name, b"\":", value.as_bytes()].concat())
        })
        .collect();
    [b"{".as_slice(), &pairs.join(&b','), b"}"].concat()
}

/// Names for a column: other known ones, options, unknown ones.
const NAMES: &[&str] = &[
    "note",
    "updated_at",
    "option.Size",
    "option.size",
    "option.Colour",
    "options",
    "order_ref",
    "order_line_ref",
    "cancelled_quantity",
    "replaces",
    "paid_at",
    "placed_at",
    "received_at",
    "status",
    "sku",
    "variant_id",
    "listing_id",
    "line_id",
    "order_id",
    "quantity",
    "units",
    "in_force",
    "promised_by",
    "\"sku\"",
    "",
];

/// Values that a column of this name may well hold, and some that it may not.
fn values_of(name: &[u8]) -> &'static [&'static str] {
    match name {
        b"status" => &[
            "open",
            "unpaid",
            "dispatched",
            "cancelled",
            "received",
            "held",
            "making",
            "rejected",
            "OPEN",
            "Making",
            "",
            "gone",
        ],
        b"quantity" | b"cancelled_quantity" | b"units" => &[
            "0",
            "1",
            "2",
            "3",
            "01",
            "7",
            "1000",
            "1001",
            "1000000",
            "1000001",
            "4294967297",
            "-1",
            "-0",
            "",
            "2.0",
        ],
        b"placed_at" | b"paid_at" | b"promised_by" | b"received_at" | b"dispatched_at" | b"updated_at" => &[
            "2026-11-24",
            "2026-11-25",
            "2026-11-26",
            "2026-11-25T12:00:00Z",
            "2026-11-25T12:00:01Z",
            "2026-11-25T11:00:00Z",
            "2026-11-25T10:59:59.5Z",
            "2026-11-25T13:00:00+01:00",
            "2026-11-24T00:00:00-03:30",
            "2026-11-25t11:00:00z",
            "2026-11-25 11:00:00Z",
            "2026-11-24T23:59:60Z",
            "2026-11-25T12:00:00.000000001Z",
            "2011-12-30",
            "0000-01-01",
            "9999-12-31",
            "9999-12-31T23:59:59-23:59",
            "2026-02-29",
            "",
        ],
        b"buyable" | b"available" | b"in_force" => &["true", "false", "TRUE", "", "yes"],
        b"supplier" => &["alder-print", "brook-print", "cairn-print", "own", "nobody", "Own", ""],
        b"currency" => &["EUR", "GBP", "JPY", "KWD", "eur", "XXX", ""],
        b"unit_price" | b"unit_cost" | b"price" => &[
            "0",
            "24.00",
            "24",
            "1e3",
            "-0",
            "-0.00",
            "-1",
            "7922816251426433759354395033.5",
            ".5",
            "5.",
            "",
        ],
        b"options" => &[
            "{}",
            r#"{"Size":"L"}"#,
            r#"{"size":"l"}"#,
            r#"{"Size":"L","Colour":"Moss"}"#,
            r#"{"Colour":"moss","Size":" L "}"#,
            r#"{"Size":null}"#,
            r#"{"Size":""}"#,
            r#"{"Size":"L","size":"M"}"#,
            r#"{"Size":"\u0130"}"#,
            r#"{"Size":{}}"#,
            "",
        ],
        b"order_ref" | b"replaces" => &[
            "1001",
            "1002",
            "1001;1002",
            "1002 1001",
            "1001; 9",
            ";",
            " 1001",
            "BP/1001",
            "1001@kittiwake",
            "order 1001",
            "SAMPLE-1",
            "x 1001 y",
            "1001;1001",
            "",
        ],
        _ => &[
            "1", "2", "1001", "1002", "L1", "AP-L", "ap-l", "ＡＰ-L", "a", "A", "own", "é", "\u{0}", "x;y",
            "",
        ],
    }
}
