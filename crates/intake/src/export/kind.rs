//! What a file is: by its first bytes, then by its text, then by its name.
//!
//! Must not know: how any kind is read.

use super::error::ExportError;
use super::json;

/// Begins a zip archive, which xlsx and ods files are.
pub(super) const ZIP: &[u8] = b"PK\x03\x04";

/// How much of a text is searched for what it is, in bytes.
const HEAD_BYTES: usize = 4096;

/// Bytes with which other kinds of files begin: what it is, and what to do.
const OTHERS: [(&[u8], &str, &str); 9] = [
    (b"%PDF", "a PDF", "Export the same list as CSV or xlsx."),
    (b"\x1f\x8b", "packed with gzip", "Unpack it first."),
    (b"PK\x05\x06", "an empty zip archive", "Export it again."),
    (b"7z\xbc\xaf", "a 7z archive", "Unpack it first."),
    (b"Rar!", "a rar archive", "Unpack it first."),
    (b"BZh", "packed with bzip2", "Unpack it first."),
    (b"\xfd7zXZ", "packed with xz", "Unpack it first."),
    (b"\x28\xb5\x2f\xfd", "packed with zstd", "Unpack it first."),
    (b"SQLite format 3\0", "a SQLite database", "Export its table as CSV."),
];

/// Begins a compound file: an old .xls, or a workbook under a password.
const COMPOUND: &[u8] = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1";

/// The beginnings of .xls files of before 1995, which are no compound files.
const BARE_XLS: [&[u8]; 3] = [b"\x09\x00\x04\x00", b"\x09\x02\x06\x00", b"\x09\x04\x06\x00"];

/// The name, within a compound file, of what is encrypted, in UTF-16.
const ENCRYPTED: &[u8] = b"E\0n\0c\0r\0y\0p\0t\0e\0d\0P\0a\0c\0k\0a\0g\0e\0";

/// With what pages begin, in small letters.
const PAGES: [&str; 9] =
    ["<!doctype html", "<html", "<head", "<body", "<table", "<meta", "<div", "<style", "<script"];

/// Fails where the bytes are of a kind that is not read. Zip archives are looked into elsewhere.
pub(super) fn check_bytes(file: &str, bytes: &[u8]) -> Result<(), ExportError> {
    if bytes.starts_with(COMPOUND) {
        return if memchr::memmem::find(bytes, ENCRYPTED).is_some() {
            Err(wrong(file, "a workbook under a password", "Save it without the password, as xlsx or CSV."))
        } else {
            Err(wrong(file, "an old binary workbook (.xls) or document", "Save it as xlsx or CSV."))
        };
    }
    if BARE_XLS.iter().any(|start| bytes.starts_with(start)) {
        return Err(wrong(file, "an old binary workbook (.xls)", "Save it as xlsx or CSV."));
    }
    match OTHERS.iter().find(|(start, ..)| bytes.starts_with(start)) {
        Some((_, what, hint)) => Err(wrong(file, what, hint)),
        None => Ok(()),
    }
}

/// The error of a kind that is not read.
pub(super) fn wrong(file: &str, found: &str, hint: &str) -> ExportError {
    ExportError::WrongKind { file: file.to_owned(), found: found.to_owned(), hint: hint.to_owned() }
}

/// What a text holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Content {
    Table,
    Json,
    JsonLines,
}

/// What a text holds. Fails where it is a page or XML.
pub(super) fn of_text(file: &str, text: &str, is_table: bool) -> Result<Content, ExportError> {
    let start = text.trim_start();
    if start.starts_with('<') {
        let head: String = start.chars().take(HEAD_BYTES).collect::<String>().to_ascii_lowercase();
        if PAGES.iter().any(|page| head.starts_with(page))
            || (head.starts_with("<!--") || head.starts_with("<?xml")) && head.contains("<html")
        {
            let hint =
                "Export the list as CSV or xlsx; a page is also what comes where one is not signed in.";
            return Err(wrong(file, "an HTML page", hint));
        }
        if head.starts_with("<?xml") {
            return Err(wrong(file, "an XML document", "Save it as xlsx or CSV."));
        }
    }
    if is_table {
        return Ok(Content::Table);
    }
    let says = |endings: &[&str]| {
        let ending = file.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
        ending.is_some_and(|ending| endings.contains(&ending.as_str()))
    };
    let (says_json, says_lines) = (says(&["json", "jsonld"]), says(&["jsonl", "ndjson"]));
    let begins_json = begins_json(start);
    Ok(match start.as_bytes().first() {
        Some(b'{') if begins_json || says_json || says_lines => {
            // A document over several lines nearly always opens on a line of its own.
            let opens_alone = start.lines().next().is_some_and(|line| line.trim_end() == "{");
            if says_lines && !opens_alone || json::begins_lines(start) {
                Content::JsonLines
            } else {
                Content::Json
            }
        }
        Some(b'[') if begins_json || says_json || says_lines => Content::Json,
        _ if says_lines => Content::JsonLines,
        _ if says_json => Content::Json,
        _ => Content::Table,
    })
}

/// Whether a text that begins with a brace or a bracket goes on as JSON does; a name in a header may begin so too.
fn begins_json(start: &str) -> bool {
    let mut characters = start.chars().filter(|character| !character.is_ascii_whitespace());
    match (characters.next(), characters.next()) {
        (Some('{'), Some('"' | '}')) | (Some('['), Some('{' | '[' | '"' | ']' | '-' | '0'..='9')) => true,
        (Some('['), Some('t' | 'f' | 'n')) => {
            let behind = start[1..].trim_start();
            ["true", "false", "null"].iter().any(|word| behind.starts_with(word))
        }
        // Cut off behind the first sign.
        (Some('{' | '['), None) => true,
        _ => false,
    }
}
