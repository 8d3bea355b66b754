//! A case as it stands in its file, and the file of cases of one kind.
//!
//! Must not know how a folder is made or the program run. Start reading at [`Kind::read`].

use std::collections::BTreeMap;

use crate::answer::{self, Answer};
use crate::content::bytes_of;
use crate::folder::{self, Item};

/// What a line alone stands for in a file of a case: all lines of that file of the book.
const AS_IN_THE_BOOK: &str = "…";

/// Files by name.
pub type Files = BTreeMap<String, String>;

/// The cases of one file.
pub struct Kind {
    /// What stands above the first case.
    pub head: String,
    /// The cases, in their order.
    pub cases: Vec<Case>,
}

/// One case.
pub struct Case {
    pub name: String,
    /// What stands behind each `--`, and the lines below it.
    parts: Vec<(String, String)>,
    /// What should come of it.
    pub expected: String,
}

impl Kind {
    pub fn read(text: &str) -> Self {
        let text = format!("{}\n", text.trim_end_matches('\n'));
        let mut blocks = text.split("\n== ");
        let head = format!("{}\n", blocks.next().unwrap_or_default().trim_end());
        Self { head, cases: blocks.map(Case::read).collect() }
    }
}

impl Case {
    /// The files that a text of parts alone holds.
    pub fn files_of(text: &str) -> Files {
        let case = Self::read(text.split_once("\n== ").unwrap().1);
        case.parts.into_iter().collect()
    }

    fn read(block: &str) -> Self {
        let (name, rest) = block.split_once('\n').unwrap_or((block, ""));
        let mut parts: Vec<(String, String)> = Vec::new();
        let mut expected = String::new();
        for line in rest.split_inclusive('\n') {
            if line.starts_with("=> ") || !expected.is_empty() {
                expected.push_str(line);
            } else if let Some(what) = line.strip_prefix("-- ") {
                parts.push((what.trim_end().to_owned(), String::new()));
            } else {
                let (_, content) =
                    parts.last_mut().unwrap_or_else(|| panic!("{name}: {line:?} is of no file"));
                content.push_str(line);
            }
        }
        Self { name: name.to_owned(), parts, expected: expected.trim_end_matches('\n').to_owned() }
    }

    /// Runs it. An error says why it cannot be run here.
    pub fn answer(&self, book: &Files) -> Result<Answer, String> {
        let mut items: Vec<Item> = Vec::new();
        let mut arguments: Vec<String> = Vec::new();
        let given: Vec<&str> = self.parts.iter().filter_map(|(what, _)| table_of(what)).collect();
        for (name, text) in book {
            if table_of(name).is_some_and(|table| !given.contains(&table)) {
                items.push(Item::file(name, bytes_of(text)));
            }
        }
        for (what, lines) in &self.parts {
            match what.strip_prefix("arguments: ") {
                Some(words) => arguments.extend(words.split(' ').map(str::to_owned)),
                None => items.push(Item::read(what, content(what, lines, book))),
            }
        }
        let folder = folder::make(&items)?;
        answer::of(&folder, &arguments)
    }

    /// The block of the case with this for an answer.
    pub fn written_with(&self, answer: &str) -> String {
        let mut block = format!("== {}\n", self.name);
        for (what, lines) in &self.parts {
            block.push_str(&format!("-- {what}\n{lines}"));
        }
        block + answer + "\n"
    }
}

/// The table that a part gives in place of the book's.
fn table_of(what: &str) -> Option<&str> {
    let file = what.split(' ').next()?;
    file.strip_suffix(".csv").or_else(|| file.strip_suffix(".jsonl"))
}

fn content(what: &str, lines: &str, book: &Files) -> Vec<u8> {
    let of_book = |file: &str| book.get(file).cloned().unwrap_or_default();
    let file = what.split(' ').next().unwrap_or_default();
    let text: String = lines
        .split_inclusive('\n')
        .map(|line| if line.trim_end() == AS_IN_THE_BOOK { of_book(file) } else { line.to_owned() })
        .collect();
    bytes_of(&text)
}
