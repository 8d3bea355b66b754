//! Exports of every kind, in the ways in which they come, and in which they are wrong.

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

mod hostile;
mod judges;
mod table;
mod workbook;
mod workbooks;

use intake::export::{Export, ExportError, Stated, read_bytes};

/// What is said of an export: how it was read, the header, where the records begin, and these; or why it was not read.
fn said(name: &str, bytes: &[u8], stated: &Stated) -> String {
    match read_bytes(name, bytes.to_vec(), stated) {
        Ok(export) => {
            consistent(&export);
            let form = &export.form;
            let mut words = vec![serde_json::to_value(form.kind).unwrap().as_str().unwrap().to_owned()];
            words.extend(form.encoding.clone());
            words.extend(form.separator.map(|separator| format!("{separator:?}")));
            words.extend(form.sheet.clone());
            words.extend(form.header_row.map(|row| format!("@{row}")));
            let header = export.header.map_or(String::new(), |header| format!(" {header:?}"));
            format!("{}{header} {:?} {}", words.join(" "), export.lines, export.value)
        }
        Err(error) => checked(name, &error),
    }
}

/// What holds for every export: as many records as lines, rising; names from the header, in its order; the same again
/// where all that was decided is stated.
fn consistent(export: &Export) {
    assert!(export.lines.is_sorted_by(|a, b| a < b));
    let Some(header) = &export.header else { return };
    let records = export.value.as_array().unwrap();
    assert_eq!(records.len(), export.lines.len());
    for record in records {
        let mut names = header.iter();
        for name in record.as_object().unwrap().keys() {
            assert!(names.any(|there| there == name), "{name} in {header:?}");
        }
    }
}

/// Every error names the file, what was expected, and what to do.
fn checked(name: &str, error: &ExportError) -> String {
    let said = error.to_string();
    assert!(said.starts_with(name) && said.contains("; expected "), "{said}");
    assert!(said.ends_with('.') && said.len() < 1_000, "{said}");
    format!("error: {said}")
}

/// A file, what is stated of it, and what is said of it. An error may be given by its beginning, up to `…`.
struct Case<'a> {
    name: &'a str,
    bytes: &'a [u8],
    stated: Stated,
    want: &'a str,
}

fn case<'a>(name: &'a str, bytes: &'a (impl AsRef<[u8]> + ?Sized), want: &'a str) -> Case<'a> {
    Case { name, bytes: bytes.as_ref(), stated: Stated::default(), want }
}

impl Case<'_> {
    fn sheet(mut self, sheet: &str) -> Self {
        self.stated.sheet = Some(sheet.to_owned());
        self
    }

    fn separator(mut self, separator: char) -> Self {
        self.stated.separator = Some(separator);
        self
    }

    fn encoding(mut self, encoding: &str) -> Self {
        self.stated.encoding = Some(encoding.to_owned());
        self
    }

    fn header_row(mut self, row: u64) -> Self {
        self.stated.header_row = Some(row);
        self
    }
}

/// Reads each as it comes, and again with everything stated that was decided.
fn check(cases: &[Case<'_>]) {
    let mut wrong = Vec::new();
    for Case { name, bytes, stated, want } in cases {
        let said = said(name, bytes, stated);
        let is_right = match want.strip_suffix('…') {
            Some(want) => said.starts_with(want),
            None => said == *want,
        };
        if !is_right {
            let shown = String::from_utf8_lossy(&bytes[..bytes.len().min(200)]).into_owned();
            wrong.push(format!("{name} {shown:?}\n  is {said}\nwant {want}"));
        }
        if let Ok(first) = read_bytes(name, bytes.to_vec(), stated) {
            assert_eq!(read_bytes(name, bytes.to_vec(), &first.form.stated()).unwrap(), first, "{name}");
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}
