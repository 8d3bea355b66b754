//! Tables as other programs would have written them, and as they should not be: rows in another order, in JSON Lines,
//! with other line ends, every cell in quotes; given twice, left out, cut, with slips of quotes.
//!
//! Must not know what a table means. Start reading at [`spoil`].

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use proptest::collection::vec;
use proptest::prelude::*;

/// Of more bytes than most rows have.
static LONG: LazyLock<String> = LazyLock::new(|| "n".repeat(1200));

/// How the tables of a folder are written.
#[derive(Clone, Debug)]
pub struct Forms {
    /// Where rows go in another order: any number is another order.
    order: u64,
    /// Which tables are JSON Lines, by bit.
    json_lines: u16,
    form: Form,
    slips: Vec<Slip>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Plain,
    CrLf,
    AllQuoted,
    NoLastFeed,
    WithMark,
    Reversed,
    /// With a column that nobody knows, in which some cells are long.
    Long,
}

/// A slip in a row of a table, both counted round.
#[derive(Clone, Copy, Debug)]
struct Slip {
    table: u8,
    row: u8,
    kind: Kind,
}

#[derive(Clone, Copy, Debug)]
enum Kind {
    /// The row stands twice.
    Again,
    /// The row stands twice, with another last cell.
    AgainOtherwise,
    /// The row stands again with its first digit changed.
    AgainUnderOtherKey,
    LeftOut,
    BlankBelow,
    Cut,
    OpenQuote,
    BareQuote,
    MoreCells,
    Returned,
    NotUtf8,
}

impl Forms {
    /// Nothing is wrong.
    pub fn clean() -> impl Strategy<Value = Self> {
        Self::with(vec(slip(), 0..1).prop_map(|_| Vec::new()))
    }

    /// One or two slips.
    pub fn spoilt() -> impl Strategy<Value = Self> {
        Self::with(vec(slip(), 1..3))
    }

    /// Up to two slips, mostly none.
    pub fn any() -> impl Strategy<Value = Self> {
        Self::with(prop_oneof![2 => Just(Vec::new()), 1 => vec(slip(), 1..3)])
    }

    fn with(slips: impl Strategy<Value = Vec<Slip>>) -> impl Strategy<Value = Self> {
        let form = prop_oneof![
            3 => Just(Form::Plain),
            1 => Just(Form::CrLf),
            1 => Just(Form::AllQuoted),
            1 => Just(Form::NoLastFeed),
            1 => Just(Form::WithMark),
            1 => Just(Form::Reversed),
            1 => Just(Form::Long),
        ];
        let json_lines = prop_oneof![2 => Just(0), 1 => Just(u16::MAX), 1 => any::<u16>()];
        (any::<u64>(), json_lines, form, slips).prop_map(|(order, json_lines, form, slips)| Self {
            order,
            json_lines,
            form,
            slips,
        })
    }
}

fn slip() -> impl Strategy<Value = Slip> {
    use Kind::*;
    let kind = prop_oneof![
        3 => Just(Again),
        2 => Just(AgainOtherwise),
        2 => Just(AgainUnderOtherKey),
        3 => Just(LeftOut),
        1 => Just(BlankBelow),
        1 => Just(Cut),
        1 => Just(OpenQuote),
        1 => Just(BareQuote),
        1 => Just(MoreCells),
        1 => Just(Returned),
        1 => Just(NotUtf8),
    ];
    (any::<u8>(), any::<u8>(), kind).prop_map(|(table, row, kind)| Slip { table, row, kind })
}

/// Rewrites the tables of a folder, which are CSV.
pub fn spoil(folder: &Path, forms: &Forms) {
    let mut names: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    names.sort();
    for (index, path) in names.iter().enumerate() {
        let mut rows = rows_of(path);
        let mut header = rows.remove(0);
        shuffle(&mut rows, forms.order.wrapping_add(index as u64));
        if forms.form == Form::Reversed {
            rows.reverse();
        }
        if forms.form == Form::Long {
            header.push("remark".to_owned());
            let remarks = ["", LONG.as_str(), "short"].into_iter().cycle();
            rows.iter_mut().zip(remarks).for_each(|(row, remark)| row.push(remark.to_owned()));
        }
        let slips = forms.slips.iter().filter(|slip| usize::from(slip.table) % names.len() == index);
        if forms.json_lines >> index & 1 == 1 {
            let mut lines: Vec<Vec<u8>> = rows.iter().map(|row| object(&header, row)).collect();
            slips.for_each(|slip| slip.make(&mut lines));
            fs::write(path.with_extension("jsonl"), joined(&lines, forms.form)).unwrap();
            fs::remove_file(path).unwrap();
        } else {
            let quoted = forms.form == Form::AllQuoted;
            let mut lines: Vec<Vec<u8>> = rows.iter().map(|row| line(row, quoted)).collect();
            slips.for_each(|slip| slip.make(&mut lines));
            lines.insert(0, line(&header, quoted));
            fs::write(path, joined(&lines, forms.form)).unwrap();
        }
    }
}

impl Slip {
    fn make(self, lines: &mut Vec<Vec<u8>>) {
        if lines.is_empty() {
            return;
        }
        let at = usize::from(self.row) % lines.len();
        let row = lines[at].clone();
        match self.kind {
            Kind::Again => lines.push(row),
            Kind::AgainOtherwise => lines.push([row.as_slice(), b"1"].concat()),
            Kind::AgainUnderOtherKey => {
                let other = row.iter().map(|byte| if *byte == b'1' { b'7' } else { *byte });
                lines.push(other.collect());
            }
            Kind::LeftOut => drop(lines.remove(at)),
            Kind::BlankBelow => lines.insert(at + 1, Vec::new()),
            Kind::Cut => lines[at].truncate(row.len() / 2),
            Kind::OpenQuote => lines[at].extend(b",\"x"),
            Kind::BareQuote => lines[at].extend(b"x\"y\""),
            Kind::MoreCells => lines[at].extend(b",,1"),
            Kind::Returned => lines[at].insert(row.len() / 2, b'\r'),
            Kind::NotUtf8 => lines[at].insert(row.len() / 2, 0xff),
        }
    }
}

fn rows_of(path: &Path) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_path(path).unwrap();
    reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect()
}

fn shuffle<T>(rows: &mut [T], mut state: u64) {
    for end in (1..rows.len()).rev() {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        rows.swap(end, (state >> 33) as usize % (end + 1));
    }
}

fn line(cells: &[String], quoted: bool) -> Vec<u8> {
    let style = if quoted { csv::QuoteStyle::Always } else { csv::QuoteStyle::Necessary };
    let mut writer = csv::WriterBuilder::new().quote_style(style).from_writer(Vec::new());
    writer.write_record(cells).unwrap();
    let mut line = writer.into_inner().unwrap();
    line.pop();
    line
}

fn object(header: &[String], row: &[String]) -> Vec<u8> {
    let mut object = serde_json::Map::new();
    for (name, cell) in header.iter().zip(row).filter(|(_, cell)| !cell.is_empty()) {
        let value = if name == "options" {
            serde_json::from_str(cell).unwrap()
        } else {
            serde_json::Value::String(cell.clone())
        };
        object.insert(name.clone(), value);
    }
    serde_json::to_vec(&object).unwrap()
}

fn joined(lines: &[Vec<u8>], form: Form) -> Vec<u8> {
    let end: &[u8] = if form == Form::CrLf { b"\r\n" } else { b"\n" };
    let mut text = lines.join(end);
    if form != Form::NoLastFeed {
        text.extend(end);
    }
    if form == Form::WithMark {
        text.splice(0..0, "\u{feff}".bytes());
    }
    text
}
