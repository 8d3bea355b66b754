//! Bytes that cannot be seen, written in a text: `‹…›` stands for what it names.
//!
//! - `‹CR›` `‹LF›` `‹TAB›` `‹NUL›` `‹ESC›`: the character;
//! - `‹U+202E›`: the character of this number;
//! - `‹E9›`: the byte;
//! - `‹1000 x text›`: the text so often, `#` in it being the number of the repetition, from 1;
//! - `‹no LF›`, at the end of the last line: without its line feed.
//!
//! Must not know what the bytes are for. Start reading at [`bytes_of`].

const NAMED: [(&str, u8); 5] =
    [("CR", b'\r'), ("LF", b'\n'), ("TAB", b'\t'), ("NUL", b'\0'), ("ESC", b'\x1b')];

/// The bytes that a text means.
pub fn bytes_of(text: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut rest = text;
    while let Some((before, behind)) = rest.split_once('‹') {
        bytes.extend_from_slice(before.as_bytes());
        let end = closing(behind);
        add(&behind[..end], &mut bytes);
        rest = &behind[end + '›'.len_utf8()..];
    }
    bytes.extend_from_slice(rest.as_bytes());
    if let Some(without) = bytes.strip_suffix(b"\0no LF\0\n") {
        bytes.truncate(without.len());
    }
    bytes
}

/// A text of the program as it is written in the cases: what cannot be seen is named.
pub fn written(text: &str) -> String {
    let mut written = String::with_capacity(text.len());
    for c in text.chars() {
        match NAMED.iter().find(|(_, byte)| char::from(*byte) == c) {
            Some(_) if c == '\n' => written.push(c),
            Some((name, _)) => written.push_str(&format!("‹{name}›")),
            None if must_be_named(c) => written.push_str(&format!("‹U+{:04X}›", u32::from(c))),
            None => written.push(c),
        }
    }
    written
}

/// Controls, and what is invisible or turns the direction of writing.
fn must_be_named(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}')
        || matches!(c, '\u{feff}' | char::REPLACEMENT_CHARACTER)
}

/// Where the `›` stands that closes what was opened in front of the text.
fn closing(text: &str) -> usize {
    let mut depth = 1;
    for (index, c) in text.char_indices() {
        depth += i32::from(c == '‹') - i32::from(c == '›');
        if depth == 0 {
            return index;
        }
    }
    panic!("‹{text} is not closed");
}

fn add(meant: &str, bytes: &mut Vec<u8>) {
    if meant == "no LF" {
        bytes.extend_from_slice(b"\0no LF\0");
    } else if let Some((_, byte)) = NAMED.iter().find(|(name, _)| *name == meant) {
        bytes.push(*byte);
    } else if let Some(number) = meant.strip_prefix("U+") {
        let c = u32::from_str_radix(number, 16).ok().and_then(char::from_u32).unwrap();
        bytes.extend_from_slice(c.encode_utf8(&mut [0; 4]).as_bytes());
    } else if let Some((count, text)) = meant.split_once(" x ") {
        repeat(count.parse().unwrap(), text, bytes);
    } else {
        bytes.push(u8::from_str_radix(meant, 16).unwrap_or_else(|_| panic!("‹{meant}› means nothing")));
    }
}

fn repeat(count: usize, text: &str, bytes: &mut Vec<u8>) {
    let once = bytes_of(text);
    if !once.contains(&b'#') {
        bytes.extend_from_slice(&once.repeat(count));
        return;
    }
    for number in 1..=count {
        let number = number.to_string();
        for byte in &once {
            match byte {
                b'#' => bytes.extend_from_slice(number.as_bytes()),
                _ => bytes.push(*byte),
            }
        }
    }
}
