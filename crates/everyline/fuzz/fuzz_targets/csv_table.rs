//! A table in CSV: how its lines end and whether it begins with a byte order mark changes nothing, and what was read,
//! written and read again is the same.
//!
//! Must not know how a cell is read. The first byte chooses the table; see [`Table`].

#![no_main]

use everyline_fuzz::{Table, reads_back};
use intake::{Folder, FolderError};
use libfuzzer_sys::fuzz_target;

const MARK: &[u8] = "\u{feff}".as_bytes();

fuzz_target!(|input: &[u8]| {
    let Some(table) = Table::of(input, "csv") else { return };
    let read = table.read(table.content);
    let holds = |bytes: &[u8]| table.content.iter().any(|byte| bytes.contains(byte));
    if !holds(b"\"\r") {
        let windows = table.content.split(|byte| *byte == b'\n').collect::<Vec<_>>().join(b"\r\n".as_slice());
        assert_eq!(shown(&read), shown(&table.read(&windows)));
    }
    // Two marks are one and a text; the marks of UTF-16 are none where they do not begin the file.
    if ![MARK, b"\xff\xfe", b"\xfe\xff"].iter().any(|mark| table.content.starts_with(mark)) {
        let marked = [MARK, table.content].concat();
        assert_eq!(shown(&read), shown(&table.read(&marked)));
    }
    if let Ok(folder) = &read {
        reads_back(&folder.book);
    }
});

fn shown(read: &Result<Folder, FolderError>) -> String {
    match read {
        Ok(folder) => format!("{folder:#?}"),
        Err(error) => error.to_string(),
    }
}
