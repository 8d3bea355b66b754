//! Pages of text: paragraphs, headings, and two columns side by side, no line wider than there is room.
//!
//! Must not know what is said. Start reading at [`Page`].

use std::borrow::Cow;

use textwrap::core::display_width;
use textwrap::{Options, WordSplitter};

/// The most columns of a page; longer lines are hard to read.
const WIDEST: usize = 120;

/// The fewest columns of a page; a narrower one would break every id.
const NARROWEST: usize = 40;

/// From so many columns on there is room for two side by side.
const TWO_COLUMNS: usize = 70;

/// Columns between two that stand side by side.
const BETWEEN: usize = 2;

/// Columns by which what follows in a paragraph stands further in.
const HANGING: usize = 2;

/// The most characters of a text from outside: more than a title, a note or an id has that anybody reads.
const LONGEST_TEXT: usize = 200;

/// A page that is being written.
#[derive(Debug)]
pub struct Page {
    width: usize,
    text: String,
}

impl Page {
    /// An empty page of so many columns.
    pub fn new(width: usize) -> Self {
        Self { width: width.clamp(NARROWEST, WIDEST), text: String::new() }
    }

    /// A blank line, unless nothing stands above it.
    pub fn gap(&mut self) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
    }

    /// A blank line, and a heading.
    pub fn heading(&mut self, text: &str) {
        self.gap();
        self.paragraph(0, text);
    }

    /// A paragraph that begins so many columns in.
    pub fn paragraph(&mut self, indent: usize, text: &str) {
        let indent = " ".repeat(indent);
        self.put(text, &indent, &indent);
    }

    /// A paragraph of which all lines but the first stand further in.
    pub fn hanging(&mut self, indent: usize, text: &str) {
        self.put(text, &" ".repeat(indent), &" ".repeat(indent + HANGING));
    }

    /// Behind a label of so many columns a paragraph, all of whose lines begin in one column.
    pub fn labelled(&mut self, label: &str, columns: usize, text: &str) {
        let pad = " ".repeat(columns.saturating_sub(display_width(label)));
        self.put(text, &format!("{label}{pad}  "), &" ".repeat(columns + 2));
    }

    /// Paragraphs side by side, or, where there is no room for that, one column under the other.
    pub fn columns(&mut self, left: &[String], right: &[String]) {
        if self.width < TWO_COLUMNS {
            left.iter().for_each(|text| self.hanging(0, text));
            right.iter().for_each(|text| self.hanging(HANGING, text));
            return;
        }
        let left_width = (self.width - BETWEEN) * 9 / 20;
        let right_width = self.width - BETWEEN - left_width;
        let wrapped = |texts: &[String], width: usize| -> Vec<String> {
            let options = unhyphenated(width).subsequent_indent("  ");
            texts.iter().flat_map(|text| textwrap::wrap(text, &options)).map(Cow::into_owned).collect()
        };
        let (left, right) = (wrapped(left, left_width), wrapped(right, right_width));
        for row in 0..left.len().max(right.len()) {
            let left = left.get(row).map_or("", String::as_str);
            let right = right.get(row).map_or("", String::as_str);
            let pad = " ".repeat(left_width + BETWEEN - display_width(left));
            self.text.push_str(format!("{left}{pad}{right}").trim_end());
            self.text.push('\n');
        }
    }

    /// The page.
    pub fn finish(self) -> String {
        self.text
    }

    fn put(&mut self, text: &str, first: &str, others: &str) {
        let options = unhyphenated(self.width).initial_indent(first).subsequent_indent(others);
        self.text.push_str(&textwrap::fill(text, options));
        self.text.push('\n');
    }
}

/// Ids have hyphens, and are not to be broken at them.
fn unhyphenated(width: usize) -> Options<'static> {
    Options::new(width).word_splitter(WordSplitter::NoHyphenation)
}

/// A text from outside: cleaned, with white space collapsed, and cut where it is longer than anybody reads.
pub fn outside(text: &str) -> String {
    let words: Vec<String> = digest::clean(text).split_whitespace().map(str::to_owned).collect();
    let text = words.join(" ");
    match text.char_indices().nth(LONGEST_TEXT) {
        Some((end, _)) => format!("{}…", text[..end].trim_end()),
        None => text,
    }
}

/// `1 item`, `2 items`.
pub fn count(number: u64, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

/// All of them: `a`, `a and b`, `a, b and c`.
pub fn and(mut names: Vec<String>) -> String {
    match names.pop() {
        Some(last) if names.is_empty() => last,
        Some(last) => format!("{} and {last}", names.join(", ")),
        None => String::new(),
    }
}

/// The text with its first letter as a capital.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_columns_stand_side_by_side_where_there_is_room() {
        let (left, right) =
            (["apron".to_owned()], ["made by alder-print".to_owned(), "since noon".to_owned()]);
        let mut page = Page::new(80);
        page.columns(&left, &right);
        assert_eq!(
            page.finish(),
            format!("apron{}made by alder-print\n{}since noon\n", " ".repeat(32), " ".repeat(37))
        );
        let mut page = Page::new(50);
        page.columns(&left, &right);
        assert_eq!(page.finish(), "apron\n  made by alder-print\n  since noon\n");
    }

    #[test]
    fn no_line_is_wider_than_the_page_and_no_id_is_broken_at_a_hyphen() {
        let long = "alder-print ".repeat(30);
        for width in [40, 69, 70, 80, 120] {
            let mut page = Page::new(width);
            page.columns(std::slice::from_ref(&long), &[long.clone(), "x".repeat(300)]);
            page.labelled("26 Nov 10:02", 12, &long);
            page.hanging(4, &long);
            let text = page.finish();
            assert!(text.lines().all(|line| display_width(line) <= width), "{text}");
            assert!(!text.lines().any(|line| line.trim_end().ends_with('-')), "{text}");
        }
    }

    #[test]
    fn texts_from_outside_are_harmless_and_of_a_readable_length() {
        assert_eq!(outside(" a\u{1b}[2J \n b "), "a\u{fffd}[2J b");
        assert_eq!(outside(&"ab ".repeat(500)).chars().count(), LONGEST_TEXT + 1);
    }
}
