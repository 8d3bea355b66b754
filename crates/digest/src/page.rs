//! Lays words out on a page of fixed width: paragraphs, headings, and rows of columns.
//!
//! Must not know what the words mean. No line is wider than the page; a style is only ever added to what can be
//! read without it.

use anstyle::{AnsiColor, Color, Style};

use crate::clean::{longest_start, width};

/// As it comes.
pub const PLAIN: Style = Style::new();
/// For headings and names.
pub const BOLD: Style = Style::new().bold();
/// For what is only looked up.
pub const FAINT: Style = Style::new().dimmed();
/// For what must not be overlooked.
pub const LOUD: Style = Style::new().bold().fg_color(Some(Color::Ansi(AnsiColor::Red)));
/// For what will be too late.
pub const SOON: Style = Style::new().fg_color(Some(Color::Ansi(AnsiColor::Yellow)));

/// A line's text, and how it looks where there is colour.
pub type Styled = (Style, String);

/// A page being written.
pub struct Page {
    columns: usize,
    colour: bool,
    text: String,
}

impl Page {
    /// An empty page of so many columns.
    pub fn new(columns: usize, colour: bool) -> Self {
        Self { columns, colour, text: String::new() }
    }

    /// What was written, ending in a line feed.
    pub fn finish(self) -> String {
        self.text
    }

    /// How many columns it has.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// An empty line, unless there is one or nothing stands above.
    pub fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// The start of a section: a title at the left edge, a text at the right, and a line under both.
    pub fn heading(&mut self, style: Style, title: &str, right: &str) {
        self.gap();
        let room = self.columns.saturating_sub(width(title) + width(right));
        self.line(&[(style, format!("{title}{}{right}", " ".repeat(room)))]);
        self.line(&[(PLAIN, "-".repeat(self.columns))]);
    }

    /// A paragraph, wrapped, every line in the style.
    pub fn paragraph(&mut self, style: Style, text: &str) {
        for line in wrap(text, self.columns) {
            self.line(&[(style, line)]);
        }
    }

    /// Two columns side by side: the left one so many columns wide, the right one as it comes, each line of it
    /// no wider than what is left.
    pub fn side_by_side(&mut self, left_columns: usize, left: &[Styled], right: &[Vec<Styled>]) {
        for index in 0..left.len().max(right.len()) {
            let (style, text) = left.get(index).cloned().unwrap_or_default();
            let room = left_columns.saturating_sub(width(&text));
            let mut line = vec![(style, text), (PLAIN, " ".repeat(room))];
            line.extend(right.get(index).into_iter().flatten().cloned());
            self.line(&line);
        }
    }

    /// One line of pieces, each in its style; blanks at the end go.
    pub fn line(&mut self, pieces: &[Styled]) {
        let end = pieces.iter().rposition(|(_, text)| !text.trim_end().is_empty());
        for (index, (style, text)) in pieces.iter().enumerate().take(end.map_or(0, |end| end + 1)) {
            let text = if Some(index) == end { text.trim_end() } else { text };
            if self.colour && !text.is_empty() {
                self.text += &format!("{style}{text}{style:#}");
            } else {
                self.text += text;
            }
        }
        self.text.push('\n');
    }
}

/// Rows of cells as lines of columns, each column as wide as its widest cell and `between` more in front of it.
/// Columns from the first that has no room in `columns` are left out.
pub fn grid(rows: Vec<Vec<Styled>>, between: usize, columns: usize) -> Vec<Vec<Styled>> {
    let Some(number) = rows.first().map(Vec::len) else { return Vec::new() };
    let mut room = columns;
    let mut widths = Vec::new();
    for column in 0..number {
        let wide = rows.iter().map(|row| width(&row[column].1)).max().unwrap_or(0);
        let needed = if wide == 0 { 0 } else { between + wide };
        if needed > room {
            break;
        }
        room -= needed;
        widths.push(wide);
    }
    let line = |row: Vec<Styled>| {
        let cells = row.into_iter().zip(&widths).filter(|(_, wide)| **wide > 0);
        cells
            .flat_map(|((style, text), wide)| {
                let blanks = wide.saturating_sub(width(&text));
                [(PLAIN, " ".repeat(between)), (style, text), (PLAIN, " ".repeat(blanks))]
            })
            .collect()
    };
    rows.into_iter().map(line).collect()
}

/// Breaks a text at blanks into lines no wider than `columns`; a word that is wider is broken where it must be.
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if width(&longer) <= columns {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        let mut rest = word;
        while width(rest) > columns {
            let start = longest_start(rest, columns);
            lines.push(start.to_owned());
            rest = &rest[start.len()..];
        }
        line = rest.to_owned();
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_breaks_at_blanks_and_long_words_where_they_must() {
        for (text, want) in [
            ("one two three", &["one two", "three"][..]),
            ("exactly ten", &["exactly", "ten"]),
            ("KK-1007-and-more", &["KK-1007-an", "d-more"]),
            ("a  b", &["a b"]),
            ("12\u{a0}EUR and", &["12\u{a0}EUR and"]),
            ("围裙围裙围裙", &["围裙围裙围", "裙"]),
            ("", &[]),
        ] {
            assert_eq!(wrap(text, 10), want, "{text:?}");
        }
    }

    #[test]
    fn columns_are_as_wide_as_they_need_be_and_what_has_no_room_is_left_out() {
        let rows = [["a", "", "long", "x"], ["围裙", "", "s", "yy"]];
        for (columns, want) in [
            (80, ["  a     long  x", "  围裙  s     yy"]),
            (14, ["  a     long", "  围裙  s"]),
            (5, ["", ""]),
        ] {
            let rows = rows.map(|row| row.map(|cell| (PLAIN, cell.to_owned())).to_vec()).to_vec();
            let mut page = Page::new(80, false);
            for line in grid(rows, 2, columns) {
                page.line(&line);
            }
            assert_eq!(page.finish().lines().collect::<Vec<_>>(), want, "in {columns} columns");
        }
        assert!(grid(Vec::new(), 2, 80).is_empty());
    }

    #[test]
    fn colour_adds_escapes_and_changes_no_word() {
        let written = |colour| {
            let mut page = Page::new(20, colour);
            page.side_by_side(6, &[(SOON, "left".into())], &[vec![(PLAIN, "right  ".into())]]);
            page.finish()
        };
        assert_eq!(written(false), "left  right\n");
        assert_eq!(written(true), "\u{1b}[33mleft\u{1b}[0m  right\n");
    }
}
