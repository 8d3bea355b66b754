//! A folder of tables in one input: a line of choices, then files, each under a line with its name.
//!
//! ```text
//! aa
//! =orders.csv
//! order_id,placed_at,status
//! 1001,2026-11-24,open
//! =order_lines.jsonl
//! {"order_id":"1001","line_id":"1","quantity":2}
//! ```
//!
//! Any input is such a folder, and a small change of one is nearly always a small change of the other. Must not know
//! how the files are read. Start reading at [`Given::of`].

use std::sync::LazyLock;

use chrono::{DateTime, TimeDelta, Utc};
use everyline::configuration::Settings;

/// The names of all tables.
pub const TABLES: [&str; 11] = [
    "orders",
    "order_lines",
    "offers",
    "variants",
    "listing_products",
    "links",
    "submissions",
    "submission_lines",
    "parcels",
    "parcel_lines",
    "ties",
];

/// Begins the line that names a file.
pub const MARK: u8 = b'=';

/// What an input stands for.
#[derive(Debug)]
pub struct Given<'a> {
    /// How the folder is to be judged.
    pub settings: &'static Settings,
    /// The moment for which.
    pub as_of: DateTime<Utc>,
    /// Names and contents, each name once.
    pub files: Vec<(String, &'a [u8])>,
}

impl<'a> Given<'a> {
    /// Never fails. Of two files of one name the later stands; what comes before the first name is the choices.
    pub fn of(input: &'a [u8]) -> Self {
        let (choices, mut rest) = split_line(input);
        let choice = |at: usize| choices.get(at).map_or(0, |byte| usize::from(*byte));
        let mut files: Vec<(String, &'a [u8])> = Vec::new();
        while !rest.is_empty() {
            let (mark, behind) = split_line(rest);
            let end = if mark.first() == Some(&MARK) { next_mark(behind) } else { 0 };
            let (content, next) = behind.split_at(end);
            if mark.first() == Some(&MARK) {
                let name = file_name(&mark[1..]);
                files.retain(|(there, _)| *there != name);
                files.push((name, content));
            }
            rest = next;
        }
        Self {
            settings: &SETTINGS[choice(0) % SETTINGS.len()],
            as_of: MOMENTS[choice(1) % MOMENTS.len()],
            files,
        }
    }
}

/// The first line without its end, and what is behind it.
fn split_line(bytes: &[u8]) -> (&[u8], &[u8]) {
    match memchr::memchr(b'\n', bytes) {
        Some(end) => (&bytes[..end], &bytes[end + 1..]),
        None => (bytes, &[]),
    }
}

/// Where the next line that names a file begins.
fn next_mark(bytes: &[u8]) -> usize {
    if bytes.first() == Some(&MARK) {
        return 0;
    }
    memchr::memmem::find(bytes, &[b'\n', MARK]).map_or(bytes.len(), |at| at + 1)
}

/// The name as it stands where it is that of a table's file; otherwise that of a table which its bytes choose.
fn file_name(written: &[u8]) -> String {
    let is_its_file = |table: &str| {
        let ending = written.strip_prefix(table.as_bytes());
        ending.is_some_and(|ending| [b".csv".as_slice(), b".jsonl"].contains(&ending))
    };
    if TABLES.iter().any(|table| is_its_file(table)) {
        return String::from_utf8_lossy(written).into_owned();
    }
    let chosen = |at: usize| written.get(at).map_or(0, |byte| usize::from(*byte));
    let ending = if chosen(1) % 4 == 0 { "jsonl" } else { "csv" };
    format!("{}.{ending}", TABLES[chosen(0) % TABLES.len()])
}

/// The choices of how to judge. Zones, references, graces and cut-offs differ; the first is what holds without a
/// configuration.
static SETTINGS: LazyLock<Vec<Settings>> = LazyLock::new(|| {
    let read = |text: &str| Settings::parse(text, "everyline.toml").expect("the settings hold together");
    let mut all: Vec<Settings> = ["", SHOP, PATTERN, IMPATIENT].map(read).into();
    let mut reported = all[1].clone();
    reported.rules.since = MOMENTS.get(1).copied();
    reported.rules.until = MOMENTS.first().copied();
    all.push(reported);
    let mut recent = all[0].clone();
    recent.rules.report_from = MOMENTS.get(1).copied();
    all.push(recent);
    all
});

const SHOP: &str = r#"
zone = "Europe/Oslo"
[graces]
parcel_gap = "36 h"
[fees]
percent = "6.5"
per_unit = [{ amount = "0.30", currency = "EUR" }]
[references]
samples = ['^SAMPLE-']
[suppliers.alder-print]
zone = "Europe/Dublin"
cut_off = { daily = "16:00" }
[suppliers.brook-print]
cut_off = { after_receipt = "24 h" }
references = { prefix = "BP/" }
[suppliers.cairn-print]
cut_off = { daily = "12:00", working_days = ["sat", "sun"], holidays = ["2026-11-28"] }
graces = { submit_grace = "3 h" }
references = { suffix = "@kittiwake" }
"#;

const PATTERN: &str = r#"
zone = "America/St_Johns"
[references]
pattern = 'order (?P<order>[^ ;]+)'
[suppliers.brook-print]
references = { pattern = '^(?:BP/)?(.*)$' }
[suppliers.nobody]
graces = { hold_grace = "1 s" }
"#;

const IMPATIENT: &str = r#"
zone = "Pacific/Apia"
[graces]
submit_grace = "0 s"
stray_grace = "0 s"
hold_grace = "0 s"
start_grace = "1 s"
parcel_gap = "0 s"
mark_grace = "0 s"
[suppliers.alder-print]
graces = { submit_grace = "100 days", mark_grace = "100 days" }
"#;

/// The moments: in the midst of the sale day of the seeds, its beginning, after all of it, and one that is no whole
/// second.
static MOMENTS: LazyLock<[DateTime<Utc>; 4]> = LazyLock::new(|| {
    let noon = DateTime::from_timestamp(1_795_608_000, 0).expect("a moment");
    [noon, noon - TimeDelta::hours(36), noon + TimeDelta::days(30), noon + TimeDelta::milliseconds(5_400_500)]
});
