//! An export of any kind from any bytes: records that agree with their header and their lines, or an error in words;
//! and the same again where all that was decided is stated.
//!
//! Must not know how any kind is read. The first byte chooses the name of the file; the rest is the file.

#![no_main]

use intake::export::{Export, Stated, read_bytes};
use libfuzzer_sys::fuzz_target;

/// The name tells what the content does not.
const NAMES: [&str; 6] = ["a.csv", "a.json", "a.jsonl", "a.xlsx", "a.ods", "a"];

fuzz_target!(|input: &[u8]| {
    let Some((choice, bytes)) = input.split_first() else { return };
    let name = NAMES[usize::from(*choice) % NAMES.len()];
    match read_bytes(name, bytes.to_vec(), &Stated::default()) {
        Ok(export) => {
            check(&export);
            let again = read_bytes(name, bytes.to_vec(), &export.form.stated()).expect("it was read before");
            assert_eq!(export, again, "what was decided, stated");
        }
        Err(error) => {
            let shown = error.to_string();
            assert!(
                shown.starts_with(name) && shown.contains("; expected ") && shown.ends_with('.'),
                "{shown}"
            );
            assert!(shown.len() < 2_000, "{shown}");
        }
    }
});

/// A table has a line for each record, rising, and each record has names of the header, in its order.
fn check(export: &Export) {
    assert!(export.lines.is_sorted_by(|one, next| one < next));
    let Some(header) = &export.header else { return };
    let records = export.value.as_array().expect("a table is a list");
    assert_eq!(records.len(), export.lines.len());
    for record in records {
        let record = record.as_object().expect("of objects");
        let mut names = header.iter();
        assert!(record.keys().all(|name| names.any(|there| there == name)), "{record:?}");
    }
}
