//! Makes text that came from outside fit to be shown: nothing in it can drive a terminal, reorder what stands
//! beside it, or be longer than there is room.
//!
//! Must not know what the text is. Every text of a shop or supplier passes [`clean`] before people see it.

use std::borrow::Cow;
use std::fmt::{Display, from_fn};

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

/// Begins what is written in a direction of its own, and ends it. Source: UAX #9, section 2.4.
pub const ISOLATE: char = '\u{2068}';
/// See [`ISOLATE`].
pub const END_OF_ISOLATE: char = '\u{2069}';

/// Keeps two words together.
pub const NO_BREAK: char = '\u{a0}';

/// A text of others inside a sentence of ours: where letters in it run from right to left, it is isolated, so that it and what
/// stands beside it do not change places. Where [`clean`] comes later, it is as if it were not.
pub fn isolated(text: &str) -> impl Display {
    let runs_left = runs_left(text);
    from_fn(move |f| match runs_left {
        true => write!(f, "{ISOLATE}{text}{END_OF_ISOLATE}"),
        false => f.write_str(text),
    })
}

/// Whether a letter of it runs from right to left. Source: Unicode Character Database, `DerivedBidiClass.txt`, the blocks whose
/// letters are R or AL (from memory).
fn runs_left(text: &str) -> bool {
    let is_of = |c: char| {
        matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefe}'
            | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
    };
    text.chars().any(is_of)
}

/// As [`clean`], with the isolates: each that begins ends, none stands inside another, and none ends that did not begin.
pub fn clean_isolating(text: &str) -> String {
    let mut is_inside = false;
    let mut kept: String = text
        .chars()
        .filter_map(|c| match c {
            ISOLATE => (!std::mem::replace(&mut is_inside, true)).then_some(c),
            END_OF_ISOLATE => std::mem::take(&mut is_inside).then_some(c),
            c => cleaned(c),
        })
        .collect();
    if is_inside {
        kept.push(END_OF_ISOLATE);
    }
    kept
}

/// A sentence on one line, with its isolates and with what is to be kept together; single words that run from right to left
/// are isolated too.
pub fn sentence(text: &str) -> String {
    let mut line = String::new();
    let mut is_inside = false;
    for word in clean_isolating(text).split(is_break).filter(|word| !word.is_empty()) {
        if !line.is_empty() {
            line.push(' ');
        }
        let turns = word.chars().rev().find(|c| matches!(*c, ISOLATE | END_OF_ISOLATE));
        if is_inside || turns.is_some() {
            line += word;
        } else {
            let letters = word.trim_end_matches(|c: char| c.is_ascii_punctuation());
            line += &format!("{}{}", isolated(letters), &word[letters.len()..]);
        }
        is_inside = turns.map_or(is_inside, |turn| turn == ISOLATE);
    }
    line
}

/// A sentence as [`sentence`] makes it, cut to `columns` with an ellipsis where it is longer.
pub fn cut_sentence(text: &str, columns: usize) -> String {
    let text = sentence(text);
    if fits(&text, columns) {
        return text;
    }
    clean_isolating(&format!("{}…", longest_start(&text, columns.saturating_sub(1)).trim_end()))
}

/// Whether a line may break there.
fn is_break(c: char) -> bool {
    c.is_whitespace() && c != NO_BREAK
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
    fn what_runs_from_right_to_left_is_isolated_and_an_isolate_always_ends() {
        for (text, want) in [
            ("plain \"Otter\", 1\u{a0}x", "plain \"Otter\", 1\u{a0}x"),
            (&format!("a \"{}\" b", isolated("סינר 12")), "a \"\u{2068}סינר 12\u{2069}\" b"),
            (&isolated("Otter").to_string(), "Otter"),
            ("order סינר: late", "order \u{2068}סינר\u{2069}: late"),
            ("مئزر", "\u{2068}مئزر\u{2069}"),
            ("a \u{2068}b", "a \u{2068}b\u{2069}"),
            ("a\u{2069} \u{2067}b \u{202e}c", "a b c"),
            ("\u{2068}a \u{2068}b\u{2069} c\u{2069}", "\u{2068}a b\u{2069} c"),
        ] {
            assert_eq!(sentence(text), want);
            assert_eq!(sentence(&sentence(text)), want);
        }
        assert_eq!(cut_sentence("a \u{2068}סינר סינר\u{2069} b", 6), "a \u{2068}סינ…\u{2069}");
        assert_eq!(clean(isolated("סינר").to_string()), "סינר");
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
