//! What state a record is in: of one column or of several, word by word.
//!
//! Must not know tables but the words of their statuses. Start reading at [`of_orders`] and [`of_submissions`].

use std::collections::BTreeMap;

use super::lexicon::{LEXICON, Meaning};
use super::score::{Chosen, Sheet};
use super::write::quoted;

/// A state, as a mapping says it.
#[derive(Clone, Debug)]
pub(super) struct State {
    pub(super) toml: String,
    pub(super) at: Vec<String>,
    /// The words whose meaning is not known.
    pub(super) unknown: Vec<String>,
    /// Whether it is told by one column that says so, all of whose words are known.
    pub(super) is_sure: bool,
    pub(super) why: String,
}

/// What a word of a column means for the whole; an empty meaning leaves it to the next column.
type Words = BTreeMap<String, String>;

/// Meanings that the owner gave to words.
pub(super) type Given = BTreeMap<String, String>;

fn words(
    sheet: &Sheet<'_>,
    column: usize,
    given: &Given,
    meaning: impl Fn(&str) -> Option<String>,
) -> (Words, Vec<String>) {
    let mut words = Words::new();
    let mut unknown = Vec::new();
    for (word, _) in &sheet.profiles[column].frequent {
        match given.get(word).cloned().or_else(|| meaning(word)) {
            Some(meaning) => {
                words.insert(word.clone(), meaning);
            }
            None => unknown.push(word.clone()),
        }
    }
    unknown.sort();
    (words, unknown)
}

fn table(words: &Words) -> String {
    let words: Vec<String> =
        words.iter().map(|(word, meaning)| format!("{} = {}", quoted(word), quoted(meaning))).collect();
    format!("{{ {} }}", words.join(", "))
}

fn at(sheet: &Sheet<'_>, column: usize) -> String {
    sheet.list.columns[column].at.clone().unwrap_or_default()
}

/// The parts of a state, of which the first that says something counts.
#[derive(Default)]
struct Parts {
    parts: Vec<String>,
    at: Vec<String>,
    unknown: Vec<String>,
    names: Vec<String>,
    /// Whether the last part says something of every record.
    is_whole: bool,
    /// Whether some word is in no list.
    is_guessed: bool,
}

impl Parts {
    fn words(&mut self, sheet: &Sheet<'_>, column: usize, (words, unknown): (Words, Vec<String>)) {
        self.is_whole = words.values().all(|meaning| !meaning.is_empty());
        let families = ["order", "payment", "dispatch", "submission", "flag"];
        self.is_guessed |=
            words.keys().any(|word| families.iter().all(|family| LEXICON.status(family, word).is_none()));
        self.push(sheet, column, format!("words = {}", table(&words)));
        self.unknown.extend(unknown);
    }

    fn there(&mut self, sheet: &Sheet<'_>, column: usize, word: &str) {
        self.push(sheet, column, format!("there = {}", quoted(word)));
        self.is_whole = false;
    }

    fn push(&mut self, sheet: &Sheet<'_>, column: usize, rest: String) {
        let at = at(sheet, column);
        self.parts.push(format!("{{ at = {}, {rest} }}", quoted(&at)));
        self.names.push(super::shown_name(&sheet.list.columns[column]));
        self.at.push(at);
    }

    fn state(mut self, otherwise: &str, is_exact: bool) -> State {
        let is_one = self.parts.len() == 1 && self.is_whole;
        if !self.is_whole {
            self.parts.push(format!("{{ always = {} }}", quoted(otherwise)));
        }
        let toml = match self.parts.as_slice() {
            [part] => part.clone(),
            parts => format!("{{ first_of = [\n    {},\n] }}", parts.join(",\n    ")),
        };
        let why = match self.names.as_slice() {
            [] => "nothing says it".to_owned(),
            [name] => format!("{name}, and what its words mean"),
            names => format!("the first of {} that says something", names.join(", ")),
        };
        State {
            toml,
            at: self.at,
            is_sure: is_one && is_exact && !self.is_guessed && self.unknown.is_empty(),
            unknown: self.unknown,
            why,
        }
    }
}

fn known(family: &str, word: &str) -> Option<String> {
    LEXICON.status(family, word).map(str::to_owned).or_else(|| by_stem(family, word))
}

/// Beginnings of words that say a state, for words that no list has. Common practice, no published source.
const STEMS: &[(&str, &[&str])] = &[
    ("cancelled", &["cancel", "annul", "storn", "anul", "abgebroch", "void"]),
    ("rejected", &["reject", "refus", "abgelehn", "rechaz", "declin"]),
    ("held", &["hold", "held", "paus", "block", "bloq", "wart", "attente", "espera", "reten"]),
    (
        "dispatched",
        &[
            "ship",
            "dispatch",
            "despatch",
            "versand",
            "versend",
            "verschick",
            "expedi",
            "envoy",
            "envia",
            "sent",
            "deliver",
            "livr",
            "geliefert",
            "entreg",
            "posted",
        ],
    ),
    (
        "making",
        &[
            "print", "produ", "druck", "imprim", "impres", "impress", "fabri", "making", "made", "mak",
            "press", "fertig", "sew", "pack",
        ],
    ),
    ("paid", &["paid", "bezahl", "paye", "pagad", "settl", "regl", "cobrad"]),
];

/// Words that turn what stands with them into what is still to come.
const NOT_YET: &[&str] = &[
    "not",
    "no",
    "non",
    "nicht",
    "un",
    "to",
    "zu",
    "a",
    "por",
    "sin",
    "ready",
    "awaiting",
    "awaits",
    "waiting",
    "pending",
    "part",
    "partly",
    "partial",
    "partially",
    "teil",
    "teilweise",
    "pret",
    "bereit",
    "listo",
    "en",
    "in",
    "is",
    "being",
    "for",
    "on",
];

pub(super) fn by_stem(family: &str, word: &str) -> Option<String> {
    let words = super::lexicon::words(word);
    let is_open = words.iter().any(|word| NOT_YET.contains(&word.as_str()))
        || words.iter().any(|word| word.starts_with("un") || word.starts_with("teil"));
    let found = STEMS
        .iter()
        .find(|(_, stems)| words.iter().any(|word| stems.iter().any(|stem| word.starts_with(stem))))?;
    let meaning = match (family, found.0, is_open) {
        ("order", "cancelled", false) => "cancelled",
        ("order", "dispatched", false) => "dispatched",
        ("order", "paid", false) => "open",
        ("order", "making", _) => "open",
        ("payment", "paid", false) => "paid",
        ("payment", "cancelled", false) => "cancelled",
        ("dispatch", "dispatched", false) => "dispatched",
        ("dispatch", "dispatched", true) => "open",
        ("submission", "cancelled", false) => "cancelled",
        ("submission", "rejected", false) => "rejected",
        ("submission", "held", _) => "held",
        ("submission", "dispatched", false) => "dispatched",
        ("submission", "making", _) => "making",
        _ => return None,
    };
    Some(meaning.to_owned())
}

/// The share of a column's values that a family of words knows.
pub(super) fn share(sheet: &Sheet<'_>, column: usize, family: &str) -> f64 {
    let frequent = &sheet.profiles[column].frequent;
    let all: usize = frequent.iter().map(|(_, count)| count).sum();
    let told: usize =
        frequent.iter().filter(|(word, _)| known(family, word).is_some()).map(|(_, count)| count).sum();
    told as f64 / all.max(1) as f64
}

fn is_flag(sheet: &Sheet<'_>, column: usize) -> bool {
    share(sheet, column, "flag") > 0.99
}

/// The state of orders.
pub(super) fn of_orders(sheet: &Sheet<'_>, chosen: &BTreeMap<Meaning, Chosen>, given: &Given) -> State {
    // What only perhaps says a part of it says nothing.
    let get = |meaning: &str| {
        let least = if meaning == "order_status" { 0.0 } else { 3.0 };
        chosen.get(meaning).filter(|chosen| chosen.evidence.score >= least).map(|chosen| chosen.column)
    };
    let (status, payment, dispatch) = (get("order_status"), get("payment_status"), get("dispatch_status"));
    let mut parts = Parts::default();
    if let Some(column) = get("cancelled_at") {
        if is_flag(sheet, column) {
            let meaning = |word: &str| {
                Some(if known("flag", word)? == "true" { "cancelled".to_owned() } else { String::new() })
            };
            parts.words(sheet, column, words(sheet, column, given, meaning));
            parts.is_whole = false;
        } else {
            parts.there(sheet, column, "cancelled");
        }
    }
    let goes_on = payment.is_some() || dispatch.is_some() || get("dispatched_at").is_some();
    if let Some(column) = status {
        let meaning = |word: &str| {
            let meaning = known("order", word).or_else(|| match known("payment", word)?.as_str() {
                "paid" => Some("open".to_owned()),
                "refunded" => Some("cancelled".to_owned()),
                other => Some(other.to_owned()),
            });
            let meaning = meaning.or_else(|| match known("dispatch", word)?.as_str() {
                "part" => Some("open".to_owned()),
                other => Some(other.to_owned()),
            })?;
            Some(if goes_on && meaning == "open" { String::new() } else { meaning })
        };
        parts.words(sheet, column, words(sheet, column, given, meaning));
    }
    if let Some(column) = payment {
        let meaning = |word: &str| {
            let meaning = known("payment", word).or_else(|| match known("flag", word)?.as_str() {
                "true" => Some("paid".to_owned()),
                _ => Some("unpaid".to_owned()),
            })?;
            Some(match meaning.as_str() {
                "paid" => String::new(),
                "refunded" => "cancelled".to_owned(),
                other => other.to_owned(),
            })
        };
        parts.words(sheet, column, words(sheet, column, given, meaning));
        parts.is_whole = false;
    }
    if let Some(column) = dispatch {
        let meaning = |word: &str| {
            let meaning = known("dispatch", word).or_else(|| match known("flag", word)?.as_str() {
                "true" => Some("dispatched".to_owned()),
                _ => Some("open".to_owned()),
            })?;
            Some(if meaning == "part" { "open".to_owned() } else { meaning })
        };
        parts.words(sheet, column, words(sheet, column, given, meaning));
        parts.is_whole &= sheet.profiles[column].is_full();
    } else if let Some(column) = get("dispatched_at") {
        parts.there(sheet, column, "dispatched");
    }
    let mut otherwise = "open";
    // A time of payment that some lack, where nothing else says who has not paid.
    if status.is_none()
        && payment.is_none()
        && let Some(column) = get("paid_at").filter(|column| !sheet.profiles[*column].is_full())
    {
        parts.there(sheet, column, "open");
        otherwise = "unpaid";
    }
    let is_exact = status
        .is_some_and(|_| chosen["order_status"].evidence.is_exact && chosen["order_status"].margin >= 1.0);
    parts.state(otherwise, is_exact)
}

/// The state of submissions, or of their lines.
pub(super) fn of_submissions(
    sheet: &Sheet<'_>,
    chosen: &BTreeMap<Meaning, Chosen>,
    meaning: Meaning,
    given: &Given,
) -> State {
    let get = |meaning: &str| chosen.get(meaning).map(|chosen| chosen.column);
    let mut parts = Parts::default();
    match get(meaning) {
        Some(column) => {
            let of_word = |word: &str| {
                known("submission", word).or_else(|| match known("dispatch", word)?.as_str() {
                    "part" => Some("making".to_owned()),
                    "open" => Some("received".to_owned()),
                    other => Some(other.to_owned()),
                })
            };
            parts.words(sheet, column, words(sheet, column, given, of_word));
            parts.is_whole &= sheet.profiles[column].is_full();
        }
        None => {
            if let Some(column) = get("cancelled_at") {
                parts.there(sheet, column, "cancelled");
            }
            if let Some(column) = get("dispatched_at") {
                parts.there(sheet, column, "dispatched");
            }
        }
    }
    let is_exact = chosen.get(meaning).is_some_and(|chosen| chosen.evidence.is_exact && chosen.margin >= 1.0);
    parts.state("received", is_exact)
}
