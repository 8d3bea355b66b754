//! What is wrong with a declaration, and at which key.
//!
//! Start reading at [`DeclarationError`].

use std::fmt;

/// One place of a declaration that cannot be used.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DeclarationError {
    /// The keys that lead to the place, from `[sources.NAME]` down.
    pub path: Vec<Step>,
    /// Goes on from the path, with what was found and what is expected: `is "shop"; expected is …`.
    pub text: String,
}

/// One step of a path.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Step {
    /// Into a table, by key.
    Key(String),
    /// Into a list; entries count from 1.
    Entry(usize),
}

impl DeclarationError {
    pub(super) fn new(text: impl Into<String>) -> Self {
        Self { path: Vec::new(), text: text.into() }
    }

    /// What was found and what is expected.
    pub(super) fn found(found: impl fmt::Display, expected: impl fmt::Display) -> Self {
        Self::new(format!("is {found}; expected is {expected}"))
    }

    /// The same, seen from the table that has it under a key.
    pub(super) fn under(mut self, key: impl Into<String>) -> Self {
        self.path.insert(0, Step::Key(key.into()));
        self
    }

    /// The same, seen from the list in which it is this entry, from 1.
    pub(super) fn in_entry(mut self, entry: usize) -> Self {
        self.path.insert(0, Step::Entry(entry));
        self
    }
}

/// `requests.orders.path is …`, `entry 2 of requests.orders.tables.orders.fields.ship_to_digest.digest_of is …`.
impl fmt::Display for DeclarationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut path = String::new();
        for step in &self.path {
            match step {
                Step::Key(key) if path.is_empty() => path.push_str(key),
                Step::Key(key) => {
                    path.push('.');
                    path.push_str(key);
                }
                Step::Entry(entry) => path = format!("entry {entry} of {path}"),
            }
        }
        if path.is_empty() { f.write_str(&self.text) } else { write!(f, "{path} {}", self.text) }
    }
}

impl std::error::Error for DeclarationError {}
