//! A folder of exchange files for a test: an invented shop, Kittiwake Kitchen, and its suppliers.

#![allow(dead_code, reason = "each test file uses its own part of this")]
#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use std::fs;

use chrono_tz::Tz;
use intake::{Folder, FolderError, Progress, ReadSettings, read_folder};
use model::Rules;
use tempfile::TempDir;

/// One order with a line, which its only submission covers.
pub const ORDERS: &str = "order_id,placed_at,status\n1001,2026-11-24T09:00:00Z,open\n";
pub const ORDER_LINES: &str = "order_id,line_id,sku,quantity\n1001,1,AP-L,2\n";
pub const LINKS: &str = "sku,supplier,variant_id\nAP-L,alder-print,V1\n";
pub const SUBMISSIONS: &str = "supplier,submission_id,order_ref,status,received_at\n\
    alder-print,S1,1001,received,2026-11-24T10:00:00Z\n";
pub const SUBMISSION_LINES: &str = "supplier,submission_id,line_id,sku,quantity\nalder-print,S1,1,AP-L,2\n";
pub const PARCELS: &str = "supplier,parcel_id,submission_id,dispatched_at\nalder-print,P1,S1,2026-11-25\n";
pub const PARCEL_LINES: &str = "supplier,parcel_id,submission_line_id,quantity\nalder-print,P1,1,2\n";
pub const TIES: &str = "order_id,line_id,supplier,submission_id\n1001,1,alder-print,S1\n";

/// The tables above, whole.
pub fn whole() -> Vec<(&'static str, &'static str)> {
    vec![
        ("orders.csv", ORDERS),
        ("order_lines.csv", ORDER_LINES),
        ("links.csv", LINKS),
        ("submissions.csv", SUBMISSIONS),
        ("submission_lines.csv", SUBMISSION_LINES),
        ("parcels.csv", PARCELS),
        ("parcel_lines.csv", PARCEL_LINES),
        ("ties.csv", TIES),
    ]
}

/// The tables above with some files in place of theirs.
pub fn whole_with<'a>(files: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let stem = |name: &str| name.split('.').next().unwrap_or_default().to_owned();
    let mut all: Vec<(&str, &str)> = whole();
    all.retain(|(name, _)| files.iter().all(|(other, _)| stem(name) != stem(other)));
    all.extend(files);
    all
}

pub fn folder<B: AsRef<[u8]>>(files: &[(&str, B)]) -> TempDir {
    let dir = tempfile::tempdir().unwrap();
    for (name, content) in files {
        fs::write(dir.path().join(name), content).unwrap();
    }
    dir
}

pub fn try_read<B: AsRef<[u8]>>(files: &[(&str, B)], zone: Tz, rules: &Rules) -> Result<Folder, FolderError> {
    let dir = folder(files);
    read_folder(dir.path(), &ReadSettings { zone, rules }, &mut |_: Progress| {})
}

pub fn read<B: AsRef<[u8]>>(files: &[(&str, B)]) -> Folder {
    try_read(files, Tz::UTC, &Rules::default()).unwrap_or_else(|error| panic!("{error}"))
}

/// What stops reading, with the folder's own path cut out.
pub fn error<B: AsRef<[u8]>>(files: &[(&str, B)]) -> String {
    let dir = folder(files);
    let rules = Rules::default();
    let settings = ReadSettings { zone: Tz::UTC, rules: &rules };
    let error = read_folder(dir.path(), &settings, &mut |_: Progress| {}).unwrap_err();
    error.to_string().replace(&dir.path().display().to_string(), "DIR")
}

pub fn bad_rows(folder: &Folder) -> Vec<String> {
    folder.bad_rows.iter().map(ToString::to_string).collect()
}

pub fn not_judged(folder: &Folder) -> Vec<&str> {
    folder.book.not_judged.iter().map(|order| order.as_str()).collect()
}

pub fn notices(folder: &Folder) -> Vec<&str> {
    folder.notices.iter().map(|notice| notice.text.as_str()).collect()
}
