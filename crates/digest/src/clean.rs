//! Makes text that came from outside fit to be shown: nothing in it can drive a terminal, reorder what stands
//! beside it, or be longer than there is room.
//!
//! Must not know what the text is. Every text of a shop or supplier passes [`clean`] before people see it.

use std::borrow::Cow;

use unicode_width::UnicodeWidthStr;

/// What stands where a control character was.
const REPLACED: char = '\u{fffd}';

/// How many characters one shown column may cost: letters with several marks pass, a pile of marks is cut.
const CHARACTERS_PER_COLUMN: usize = 4;

/// The text with no control characters: those that mean white space become a blank, the others `\u{fffd}`;
/// what is invisible and turns the direction of writing, or hides in a word, goes.
///
/// Source: control characters are Unicode general category Cc; the directional ones are those of Unicode
/// Standard Annex 9, section 2.
pub fn clean<'t>(text: impl Into<Cow<'t, str>>) -> Cow<'t, str> {
    let text = text.into();
    let is_clean = |c: char| matches!(c, ' '..='~') || cleaned(c) == Some(c);
    if text.chars().all(is_clean) {
        return text;
    }
    text.chars().filter_map(cleaned).collect()
}

/// What stands for a character; `None` where nothing does.
fn cleaned(c: char) -> Option<char> {
    match c {
        '\t' | '\n' | '\u{b}' | '\u{c}' | '\r' | '\u{85}' | '\u{2028}' | '\u{2029}' => Some(' '),
        c if c.is_control() => Some(REPLACED),
        c if is_hidden(c) => None,
        c => Some(c),
    }
}

/// Whether a character is invisible and either turns the direction of writing or hides in a word.
pub fn is_hidden(c: char) -> bool {
    matches!(c,
        '\u{61c}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// How many columns a terminal gives the text.
pub fn width(text: &str) -> usize {
    text.width()
}

/// The text cleaned, with white space collapsed, and cut to `columns` with an ellipsis where it is longer.
pub fn cut<'t>(text: impl Into<Cow<'t, str>>, columns: usize) -> Cow<'t, str> {
    let text = text.into();
    if text.len() <= columns && is_plain(&text) {
        return text;
    }
    let text = collapsed(&clean(text));
    if fits(&text, columns) {
        return text.into();
    }
    let mut short = longest_start(&text, columns.saturating_sub(1)).trim_end().to_owned();
    short.push('…');
    short.into()
}

/// Whether the text is words of ASCII with one blank between them, of one column a byte: nothing is to be done to it.
fn is_plain(text: &str) -> bool {
    text.bytes().all(|byte| matches!(byte, b' '..=b'~')) && text.split(' ').all(|word| !word.is_empty())
}

fn collapsed(text: &str) -> String {
    let mut collapsed = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        if !collapsed.is_empty() {
            collapsed.push(' ');
        }
        collapsed.push_str(word);
    }
    collapsed
}

fn fits(text: &str, columns: usize) -> bool {
    text.chars().count() <= columns * CHARACTERS_PER_COLUMN && width(text) <= columns
}

/// The longest start of the text that is no wider than `columns`; not empty where the text is not, even if its
/// first character alone is wider, so that whoever takes starts off a text comes to its end.
pub fn longest_start(text: &str, columns: usize) -> &str {
    let ends = text.char_indices().map(|(index, c)| index + c.len_utf8());
    let ends: Vec<usize> = ends.take(columns * CHARACTERS_PER_COLUMN + 1).collect();
    let fitting = ends.partition_point(|end| fits(&text[..*end], columns));
    let end = ends.get(fitting.saturating_sub(1)).copied().unwrap_or(0);
    &text[..end]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_drives_a_terminal_or_turns_the_writing_does_not_pass() {
        for (text, want) in [
            ("plain", "plain"),
            ("\u{1b}[2Jgone", "\u{fffd}[2Jgone"),
            ("\u{9b}31mred", "\u{fffd}31mred"),
            ("a\tb\r\nc", "a b  c"),
            ("bell\u{7}, delete\u{7f}", "bell\u{fffd}, delete\u{fffd}"),
            ("gro\u{202e}ssap", "grossap"),
            ("Schürze, 围裙, 👩‍🍳", "Schürze, 围裙, 👩‍🍳"),
        ] {
            assert_eq!(clean(text), want);
        }
    }

    #[test]
    fn long_text_is_cut_by_columns_and_not_by_characters() {
        for (text, columns, want) in [
            ("Otter apron", 11, "Otter apron"),
            ("Otter apron", 10, "Otter apr…"),
            ("Otter apron", 7, "Otter…"),
            ("围裙围裙", 8, "围裙围裙"),
            ("围裙围裙", 6, "围裙…"),
            ("  a \n b  ", 5, "a b"),
        ] {
            assert_eq!(cut(text, columns), want);
        }
        let piled = format!("a{}", "\u{301}".repeat(10_000));
        assert!(cut(&piled, 20).chars().count() <= 81);
    }
}
