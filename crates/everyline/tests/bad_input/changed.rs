//! A table that changes while it is read.
//!
//! Through `intake`, which tells how far it has come: so the change is made in the midst of reading, always at the same
//! place. Must not know what the program says of it. Start reading at [`read_and`].

use std::fs::{self, File, FileTimes};
use std::io::Write;
use std::path::Path;
use std::time::{Duration, SystemTime};

use chrono_tz::Tz;
use intake::{Progress, ReadSettings, read_folder};
use model::Rules;

use crate::case::Case;
use crate::content::bytes_of;

/// Reads a folder whose order lines take more than a mebibyte, and does something to it in their midst. Answers what
/// is said.
fn read_and(change: impl Fn(&Path) + Sync) -> Result<(), String> {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in Case::files_of(include_str!("book.txt")) {
        fs::write(folder.path().join(name), bytes_of(&text)).unwrap();
    }
    let title = "a".repeat(100_000);
    let mut lines = "order_id,line_id,title,quantity\n".to_owned();
    for line in 1..=40 {
        lines.push_str(&format!("1001,{line},{title},1\n"));
    }
    fs::write(folder.path().join("order_lines.csv"), lines).unwrap();

    let rules = Rules::default();
    let settings = ReadSettings { zone: Tz::UTC, rules: &rules };
    let (path, mut is_done) = (folder.path().to_owned(), false);
    let read = read_folder(folder.path(), &settings, &mut |progress: Progress| {
        let is_in_the_midst = progress.bytes_read > 0 && progress.bytes_read < progress.bytes_total;
        if is_in_the_midst && !std::mem::replace(&mut is_done, true) {
            change(&path);
        }
    });
    assert!(is_done, "nothing was done to the folder");
    read.map(|folder| assert_eq!(folder.bad_row_count, 0)).map_err(|error| error.to_string())
}

fn append(folder: &Path, name: &str) {
    File::options().append(true).open(folder.join(name)).unwrap().write_all(b"\n").unwrap();
}

/// What takes the place of the file says the same, and was written a second later.
fn rewrite(folder: &Path, name: &str) {
    let text = fs::read(folder.join(name)).unwrap();
    fs::write(folder.join("new"), text).unwrap();
    let later = fs::metadata(folder.join(name)).unwrap().modified().unwrap() + Duration::from_secs(1);
    File::options().append(true).open(folder.join("new")).unwrap().set_modified(later).unwrap();
    fs::rename(folder.join("new"), folder.join(name)).unwrap();
}

#[test]
fn a_table_that_changes_while_it_is_read_is_not_judged() {
    let said = |name: &str| {
        Err(format!(
            "{name}: the file changed while it was being read. Wait until the export is complete, and run it again."
        ))
    };
    for name in ["orders.csv", "order_lines.csv", "parcel_lines.csv"] {
        assert_eq!(read_and(|folder| append(folder, name)), said(name), "a line more");
        assert_eq!(read_and(|folder| rewrite(folder, name)), said(name), "written anew");
    }
    let cut = |folder: &Path| {
        File::options().write(true).open(folder.join("order_lines.csv")).unwrap().set_len(100).unwrap();
    };
    assert_eq!(read_and(cut), said("order_lines.csv"), "cut off");
    let gone = |folder: &Path| fs::remove_file(folder.join("orders.csv")).unwrap();
    assert_eq!(read_and(gone), said("orders.csv"), "gone");
}

#[test]
fn what_changes_beside_the_tables_is_nobodys_harm() {
    assert_eq!(read_and(|_| {}), Ok(()));
    assert_eq!(read_and(|folder| fs::write(folder.join("notes.txt"), "a").unwrap()), Ok(()));
    let touch = |folder: &Path| {
        let times = FileTimes::new().set_accessed(SystemTime::UNIX_EPOCH);
        File::open(folder.join("orders.csv")).unwrap().set_times(times).unwrap();
    };
    assert_eq!(read_and(touch), Ok(()), "read by somebody else");
}
