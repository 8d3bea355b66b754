//! What is wrong with a value of the configuration, where, and what to do.
//!
//! It is the error type of the reading itself, so that unknown keys come with the list of the known ones. Must
//! not know any key, but for those under which a value is not repeated or cannot just be left out. Start reading at
//! [`Problem`].

use std::fmt;

use serde::de::{self, Expected, Unexpected};

/// Under these keys somebody may have typed a secret: what was found there is said by its kind alone.
const NEVER_REPEATED: [&str; 4] = ["sign_in", "headers", "query", "address"];

/// Most of what stands under this key is needed: leaving it out would be the next problem.
const NEEDED: &str = "sources";

/// One place of the file that was not taken over.
#[derive(Debug)]
pub struct Problem {
    /// From the file's top down.
    path: Vec<Step>,
    what: What,
}

#[derive(Debug)]
enum Step {
    Key(String),
    /// Counted from 1.
    Entry(usize),
}

#[derive(Debug)]
enum What {
    UnknownKey { key: String, known: &'static [&'static str] },
    MissingKey(&'static str),
    Value { found: String, kind: String, expected: String },
    Other(String),
}

impl Problem {
    /// The same, seen from the table further up that has it under a key.
    pub fn under(self, key: impl Into<String>) -> Self {
        self.within(Step::Key(key.into()))
    }

    /// The same, seen from the list further up; entries count from 1.
    pub fn in_entry(self, entry: usize) -> Self {
        self.within(Step::Entry(entry))
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        let all = "`everyline print configuration` shows every key with an example";
        match &self.what {
            What::UnknownKey { key, known } => match nearest(key, known.iter().copied()) {
                Some(near) => format!("did you mean {near}? Known here: {}; {all}", known.join(", ")),
                None => format!("known here: {}; {all}", known.join(", ")),
            },
            What::MissingKey(key) => format!("add {key}; {all}"),
            What::Value { .. } | What::Other(_) if self.is_under(NEEDED) => format!("correct it; {all}"),
            What::Value { .. } | What::Other(_) => format!("correct it, or leave it out; {all}"),
        }
    }

    fn new(what: What) -> Self {
        Self { path: Vec::new(), what }
    }

    fn within(mut self, step: Step) -> Self {
        self.path.insert(0, step);
        self
    }

    fn is_under(&self, key: &str) -> bool {
        self.path.iter().any(|step| matches!(step, Step::Key(of) if of == key))
    }

    /// `fees.percent`, `entry 2 of fees.per_unit: amount`, `suppliers."brook print".zone`.
    fn path_to(&self, key: Option<&str>) -> String {
        let mut path = String::new();
        let add = |key: &str, path: &mut String| {
            match path.chars().last() {
                Some(':') => path.push(' '),
                Some(_) => path.push('.'),
                None => {}
            }
            if is_bare(key) { path.push_str(key) } else { path.push_str(&format!("{key:?}")) }
        };
        for step in &self.path {
            match step {
                Step::Key(key) => add(key, &mut path),
                Step::Entry(entry) => path = format!("entry {entry} of {path}:"),
            }
        }
        if let Some(key) = key {
            add(key, &mut path);
        }
        path.trim_end_matches(':').to_owned()
    }
}

/// Whether a key can stand without quotes. Source: TOML 1.0.0, 'Keys'.
fn is_bare(key: &str) -> bool {
    !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-')
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.what {
            What::UnknownKey { key, .. } => {
                write!(f, "{} is no key that everyline knows", self.path_to(Some(key)))
            }
            What::MissingKey(key) => write!(f, "{} is missing", self.path_to(Some(key))),
            What::Value { found, kind, expected } => {
                let is_private = NEVER_REPEATED.iter().any(|key| self.is_under(key));
                let found = if is_private { kind } else { found };
                write!(f, "{} is {found}; expected is {expected}", self.path_to(None))
            }
            What::Other(text) => write!(f, "{} {text}", self.path_to(None)),
        }
    }
}

impl std::error::Error for Problem {}

impl de::Error for Problem {
    /// `text` goes on from the path: 'has both …'.
    fn custom<T: fmt::Display>(text: T) -> Self {
        Self::new(What::Other(text.to_string()))
    }

    fn invalid_type(found: Unexpected<'_>, expected: &dyn Expected) -> Self {
        let expected = match expected.to_string().as_str() {
            "a sequence" => "a list in square brackets".to_owned(),
            "a map" => "a table".to_owned(),
            "a string" => "a text in quotes".to_owned(),
            other => other.to_owned(),
        };
        Self::new(What::Value { found: plain(found), kind: kind(found), expected })
    }

    fn invalid_value(found: Unexpected<'_>, expected: &dyn Expected) -> Self {
        Self::invalid_type(found, expected)
    }

    fn unknown_field(key: &str, known: &'static [&'static str]) -> Self {
        Self::new(What::UnknownKey { key: key.to_owned(), known })
    }

    fn missing_field(key: &'static str) -> Self {
        Self::new(What::MissingKey(key))
    }
}

/// What was found, without its value.
fn kind(found: Unexpected<'_>) -> String {
    match found {
        Unexpected::Str(_) => "a text".to_owned(),
        Unexpected::Signed(_) | Unexpected::Unsigned(_) | Unexpected::Float(_) => "a number".to_owned(),
        other => plain(other),
    }
}

fn plain(found: Unexpected<'_>) -> String {
    match found {
        Unexpected::Str(text) => format!("{text:?}"),
        Unexpected::Bool(value) => value.to_string(),
        Unexpected::Signed(number) => format!("the number {number}"),
        Unexpected::Unsigned(number) => format!("the number {number}"),
        Unexpected::Float(number) => format!("the number {number}"),
        Unexpected::Seq => "a list".to_owned(),
        Unexpected::Map => "a table".to_owned(),
        other => other.to_string(),
    }
}

/// The candidate that is most like a word, where one is like enough to be what was meant: by its letters, or
/// since one stands in the other.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    let alike = |candidate: &str| {
        let candidate = candidate.to_lowercase();
        let within = word.contains(&candidate) || (!word.is_empty() && candidate.contains(&word));
        strsim::jaro_winkler(&word, &candidate).max(if within { ALIKE_ENOUGH } else { 0.0 })
    };
    candidates
        .into_iter()
        .map(|candidate| (alike(candidate), candidate))
        .filter(|(alike, _)| *alike >= ALIKE_ENOUGH)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}

/// A slip of one or two letters in a word of five or more is above this, another word below. From trying it on
/// the keys and on the zones, no published source.
const ALIKE_ENOUGH: f64 = 0.8;
