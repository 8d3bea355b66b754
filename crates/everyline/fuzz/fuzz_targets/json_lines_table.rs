//! A table in JSON Lines: how its lines end changes nothing, and what was read, written as CSV and read again is the
//! same.
//!
//! Must not know how a cell is read. The first byte chooses the table; see [`Table`].

#![no_main]

use everyline_fuzz::{Table, reads_back};
use intake::Folder;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|input: &[u8]| {
    let Some(table) = Table::of(input, "jsonl") else { return };
    let Ok(folder) = table.read(table.content) else { return };
    if !table.content.contains(&b'\r') {
        let windows = table.content.split(|byte| *byte == b'\n').collect::<Vec<_>>().join(b"\r\n".as_slice());
        let again = table.read(&windows).expect("only the ends of the lines have changed");
        assert_eq!(shown(&folder), shown(&again));
    }
    reads_back(&folder.book);
});

/// Why a row is bad is left out: in an object that is cut off, a carriage return breaks the text that it is in.
fn shown(folder: &Folder) -> String {
    let places: Vec<_> = folder.bad_rows.iter().map(|row| (&row.file, row.line)).collect();
    let counts = (folder.bad_row_count, folder.rows_read, folder.rows_skipped);
    format!("{:#?}\n{:#?}\n{places:#?}\n{counts:?}", folder.book, folder.notices)
}
