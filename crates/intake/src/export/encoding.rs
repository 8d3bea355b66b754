//! Bytes to text: which encoding it is, and what is no text.
//!
//! Must not know: what the text holds. Source of the names and of the decoding: the Encoding Standard of the WHATWG, as
//! the crate encoding_rs has it.

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

use super::error::{ExportError, Place};
use crate::bad_row::shown;
use crate::lines::UTF_8_MARK;

/// How much of a file is looked at to tell UTF-16 without a mark, in bytes: enough for a header and some rows.
const HEAD_BYTES: usize = 4096;

/// The text, without the mark, and the name of its encoding.
pub(super) fn decode(
    file: &str,
    bytes: Vec<u8>,
    stated: Option<&str>,
) -> Result<(String, &'static str), ExportError> {
    let decided = match stated {
        Some(label) => Some(Encoding::for_label_no_replacement(label.as_bytes()).ok_or_else(|| {
            ExportError::Misstated {
                place: Place::file(file),
                found: format!("the encoding {} is stated, which is not known", shown(label)),
                expected: "a name such as UTF-8, UTF-16LE or windows-1252".to_owned(),
                hint: "Correct the name, or state none.".to_owned(),
            }
        })?),
        None => by_mark(file, &bytes)?,
    };
    let (text, encoding) = match decided {
        Some(encoding) if encoding == UTF_8 => {
            let bytes = without_mark(bytes, UTF_8_MARK);
            match String::from_utf8(bytes) {
                Ok(text) => (text, UTF_8),
                Err(error) => {
                    return Err(not_in(
                        file,
                        UTF_8,
                        line_at(error.as_bytes(), error.utf8_error().valid_up_to()),
                    ));
                }
            }
        }
        Some(encoding) => (decode_as(file, encoding, &bytes)?, encoding),
        None => match String::from_utf8(bytes) {
            Ok(text) => (text, UTF_8),
            Err(error) => {
                check_not_utf_8(file, error.as_bytes())?;
                (decode_as(file, WINDOWS_1252, error.as_bytes())?, WINDOWS_1252)
            }
        },
    };
    check_characters(file, &text, encoding, stated.is_some())?;
    Ok((text, encoding.name()))
}

/// UTF-8 or UTF-16 by its mark, UTF-16 by its zeros; none where neither tells.
fn by_mark(file: &str, bytes: &[u8]) -> Result<Option<&'static Encoding>, ExportError> {
    if bytes.starts_with(b"\xff\xfe\0\0") || bytes.starts_with(b"\0\0\xfe\xff") {
        return Err(ExportError::NotText {
            place: Place::line(file, 1),
            found: "the file begins with the mark of UTF-32".to_owned(),
            expected: "UTF-8, UTF-16 or Windows-1252".to_owned(),
            hint: "Save it as UTF-8.".to_owned(),
        });
    }
    Ok(Encoding::for_bom(bytes).map(|(encoding, _)| encoding).or_else(|| by_zeros(bytes)))
}

/// Most characters of a table are ASCII, of which UTF-16 has one byte zero, always on the same side.
fn by_zeros(bytes: &[u8]) -> Option<&'static Encoding> {
    let head = &bytes[..bytes.len().min(HEAD_BYTES)];
    let (mut first, mut second, mut pairs) = (0, 0, 0);
    for pair in head.chunks_exact(2) {
        pairs += 1;
        first += usize::from(pair[0] == 0);
        second += usize::from(pair[1] == 0);
    }
    let is_half = |zeros: usize| pairs > 0 && zeros * 2 >= pairs;
    match (is_half(first), is_half(second)) {
        (false, true) if first == 0 => Some(UTF_16LE),
        (true, false) if second == 0 => Some(UTF_16BE),
        _ => None,
    }
}

fn without_mark(mut bytes: Vec<u8>, mark: &[u8]) -> Vec<u8> {
    if bytes.starts_with(mark) {
        bytes.drain(..mark.len());
    }
    bytes
}

fn decode_as(file: &str, encoding: &'static Encoding, bytes: &[u8]) -> Result<String, ExportError> {
    let (text, had_errors) = encoding.decode_with_bom_removal(bytes);
    if had_errors {
        let text = text.split(char::REPLACEMENT_CHARACTER).next().unwrap_or_default();
        return Err(not_in(file, encoding, line_at(text.as_bytes(), text.len())));
    }
    Ok(text.into_owned())
}

fn not_in(file: &str, encoding: &'static Encoding, line: u64) -> ExportError {
    ExportError::NotText {
        place: Place::line(file, line),
        found: format!("bytes that are no {}", encoding.name()),
        expected: format!("text in {} throughout", encoding.name()),
        hint: "Export it again as UTF-8, or state the encoding that it has.".to_owned(),
    }
}

/// Fails where the bytes are UTF-8 for the most part: of Windows-1252, hardly any two characters that are not ASCII
/// are one of UTF-8 by chance.
fn check_not_utf_8(file: &str, bytes: &[u8]) -> Result<(), ExportError> {
    let (mut characters, mut breaks, mut line) = (0_u64, 0_u64, 1);
    for chunk in bytes.utf8_chunks() {
        characters += chunk.valid().chars().filter(|character| !character.is_ascii()).count() as u64;
        if breaks == 0 {
            line += newlines(chunk.valid().as_bytes());
        }
        breaks += u64::from(!chunk.invalid().is_empty());
    }
    if characters <= breaks {
        return Ok(());
    }
    Err(ExportError::NotText {
        place: Place::line(file, line),
        found: "the file is UTF-8 for the most part, and bytes here are not".to_owned(),
        expected: "one encoding throughout".to_owned(),
        hint: "Export it again, perhaps it was cut off or put together; or state the encoding that it has."
            .to_owned(),
    })
}

/// Fails where something stands in the text that no text has.
fn check_characters(
    file: &str,
    text: &str,
    encoding: &'static Encoding,
    is_stated: bool,
) -> Result<(), ExportError> {
    let is_guess = encoding == WINDOWS_1252 && !is_stated;
    let is_foreign = |character: char| match character {
        '\0' => true,
        // Where the encoding is a guess, the file may be anything.
        '\u{1}'..='\u{8}' | '\u{e}'..='\u{1f}' | '\u{7f}'..='\u{9f}' => is_guess,
        _ => false,
    };
    let Some(at) = text.find(is_foreign) else { return Ok(()) };
    Err(ExportError::NotText {
        place: Place::line(file, line_at(text.as_bytes(), at)),
        found: "bytes that stand in no text".to_owned(),
        expected: "text in UTF-8, UTF-16 or Windows-1252".to_owned(),
        hint: "Export it again as CSV, xlsx or JSON; if it is text in another encoding, state which."
            .to_owned(),
    })
}

/// The number of the line on which a byte stands.
fn line_at(bytes: &[u8], at: usize) -> u64 {
    1 + newlines(&bytes[..at])
}

fn newlines(bytes: &[u8]) -> u64 {
    memchr::memchr_iter(b'\n', bytes).count() as u64
}
