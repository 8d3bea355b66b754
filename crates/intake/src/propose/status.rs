//! What state a record is in: of one column or of several, word by word.
//!
//! Must not know tables but the words of their statuses. Start reading at [`of_orders`] and [`of_submissions`].

use std::collections::BTreeMap;

use super::guesses::Guesses;
use super::lexicon::{LEXICON, Meaning};
use super::score::Chosen;
use super::sheet::Sheet;
use super::write::quoted;

/// A state, as a mapping says it.
#[derive(Clone, Debug)]
pub(super) struct State {
    pub(super) toml: String,
    pub(super) at: Vec<String>,
    /// The words whose meaning is not known.
    pub(super) unknown: Vec<String>,
    /// Whether the meaning of some word is.
    pub(super) some_known: bool,
    /// Whether it is told by one column that says so, all of whose words are known.
    pub(super) is_sure: bool,
    pub(super) why: String,
}

/// What a word of a column means for the whole; an empty meaning leaves it to the next column.
pub(super) type Words = BTreeMap<String, String>;

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
    /// Whether the meaning of some word is known.
    some_known: bool,
    /// Whether some word is in no list.
    is_guessed: bool,
    /// Words whose meaning follows from what else their records say.
    told: Vec<String>,
}

impl Parts {
    fn words(&mut self, sheet: &Sheet<'_>, column: usize, (words, unknown): (Words, Vec<String>)) {
        self.is_whole = words.values().all(|meaning| !meaning.is_empty());
        self.some_known |= !words.is_empty();
        self.is_guessed |= words.keys().any(|word| !is_listed(word));
        // Where no word is known, nothing is said of any, and those that are not ours do not fit.
        let rest = if words.is_empty() { String::new() } else { format!(", words = {}", table(&words)) };
        self.push(sheet, column, rest);
        self.unknown.extend(unknown);
    }

    /// Words whose meaning follows from what else their records say.
    fn told(&mut self, words: Vec<String>) {
        self.is_guessed |= !words.is_empty();
        self.told.extend(words);
    }

    fn there(&mut self, sheet: &Sheet<'_>, column: usize, word: &str) {
        self.push(sheet, column, format!(", there = {}", quoted(word)));
        self.is_whole = false;
    }

    fn push(&mut self, sheet: &Sheet<'_>, column: usize, rest: String) {
        let at = at(sheet, column);
        self.parts.push(format!("{{ at = {}{rest} }}", quoted(&at)));
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
        let why = match self.told.as_slice() {
            [] => why,
            told => {
                let told: Vec<String> = told.iter().map(|word| format!("{word:?}")).collect();
                format!("{why}; what {} means is guessed from its records' times", told.join(", "))
            }
        };
        State {
            toml,
            at: self.at,
            is_sure: is_one && is_exact && !self.is_guessed && self.unknown.is_empty(),
            unknown: self.unknown,
            some_known: self.some_known,
            why,
        }
    }
}

/// Whether some list has a word.
pub(super) fn is_listed(word: &str) -> bool {
    let families = ["order", "payment", "dispatch", "submission", "flag"];
    families.iter().any(|family| LEXICON.status(family, word).is_some())
}

/// Words of what waits its turn, or for an answer.
fn may_be_held(word: &str) -> bool {
    matches!(super::lexicon::words(word).join(" ").as_str(), "waiting" | "wartet")
}

/// What a word says that is none of its own family's.
fn said_beside(family: &str, word: &str) -> Option<String> {
    LEXICON
        .status(family, word)
        .map(str::to_owned)
        .or_else(|| in_two_languages(family, word))
        .or_else(|| of_several(family, word))
        .or_else(|| by_stem(family, word))
}

fn known(family: &str, word: &str) -> Option<String> {
    said_beside(family, word).or_else(|| short_form(family, word)).or_else(|| by_where(family, word))
}

/// `Expédiée / Shipped`: the same said twice.
fn in_two_languages(family: &str, word: &str) -> Option<String> {
    let parts: Vec<&str> =
        word.split(['/', '|', '(', ')']).map(str::trim).filter(|part| !part.is_empty()).collect();
    if parts.len() != 2 {
        return None;
    }
    let of = |part: &str| LEXICON.status(family, part).map(str::to_owned).or_else(|| by_stem(family, part));
    match (of(parts[0]), of(parts[1])) {
        (Some(one), Some(other)) if one == other => Some(one),
        // Where one of both is in no list, the other says it.
        (Some(one), None) | (None, Some(one)) => Some(one),
        _ => None,
    }
}

/// What a word says of yes and no.
pub(super) fn flag(word: &str) -> Option<String> {
    LEXICON.status("flag", word).map(str::to_owned).or_else(|| in_two_languages("flag", word))
}

/// `Neu, Zahlung offen`: of several that are known, the one that holds an order back the most.
fn of_several(family: &str, word: &str) -> Option<String> {
    let parts: Vec<&str> = word.split([',', ';', '+', '&']).map(str::trim).collect();
    if parts.len() < 2 {
        return None;
    }
    let meanings: Vec<String> = parts
        .iter()
        .map(|part| LEXICON.status(family, part).map(str::to_owned).or_else(|| by_stem(family, part)))
        .collect::<Option<_>>()?;
    // `Packed & gone`: both have happened, of which the last says where it is.
    let has_happened = |meaning: &String| matches!(meaning.as_str(), "received" | "making" | "dispatched");
    if word.contains('&')
        && meanings.iter().all(has_happened)
        && let Some(last) = meanings.last().filter(|last| *last == "dispatched")
    {
        return Some(last.clone());
    }
    let rank = |meaning: &String| {
        ["cancelled", "rejected", "refunded", "held", "unpaid", "part", "open", "received", "making"]
            .iter()
            .position(|known| known == meaning)
            .unwrap_or(usize::MAX)
    };
    meanings.into_iter().min_by_key(rank)
}

/// The longest word that is a short form: `DESP`, `CNCL`.
const SHORT_FORM: usize = 5;

/// A short form of a word that is known: its first letters, or some of its letters from the first on without vowels. Only
/// where all words that it may be short for mean the same.
fn short_form(family: &str, word: &str) -> Option<String> {
    let own = super::lexicon::words(word);
    let [own] = own.as_slice() else { return None };
    if !(3..=SHORT_FORM).contains(&own.chars().count()) || !own.chars().all(char::is_alphabetic) {
        return None;
    }
    let has_vowel = own.contains(['a', 'e', 'i', 'o', 'u']);
    let is_short = |long: &str| {
        if long.starts_with(own.as_str()) {
            return true;
        }
        let mut letters = long.chars();
        !has_vowel
            && long.starts_with(&own[..1])
            && own.chars().all(|letter| letters.any(|other| other == letter))
    };
    let mut meanings = LEXICON
        .status_words(family)
        .filter(|(words, _)| {
            words.split(' ').next().is_some_and(|long| long.len() > own.len() && is_short(long))
        })
        .map(|(_, meaning)| meaning);
    let first = meanings.next()?;
    meanings.all(|meaning| meaning == first).then(|| first.to_owned())
}

/// Words before the place where something is: what is on the press, in the workshop, is being made.
const WHERE: &[&str] =
    &["on", "in", "at", "im", "am", "in der", "an der", "beim", "en", "a l", "a la", "au", "sur", "al"];

/// Something that is at a place, where no list knows which: of a supplier's order, it is being made.
fn by_where(family: &str, word: &str) -> Option<String> {
    let words = super::lexicon::words(word);
    let text = words.join(" ");
    let is_there = WHERE.iter().any(|before| {
        text.strip_prefix(before)
            .is_some_and(|rest| rest.strip_prefix(' ').is_some_and(|rest| rest.len() > 2))
    });
    let waits = [
        "hold",
        "shelf",
        "regal",
        "etagere",
        "estante",
        "wait",
        "queue",
        "attente",
        "espera",
        "cola",
        "warte",
        "pausa",
        "pause",
        "stop",
        "ice",
        "file",
        "tray",
        "inbox",
        "basket",
        "box",
        "korb",
        "eingang",
        "bandeja",
        "corbeille",
        "liste",
        "list",
    ];
    let is_waiting = words.iter().any(|word| waits.iter().any(|wait| word.starts_with(wait)));
    match family {
        "submission" if is_there && !is_waiting => Some("making".to_owned()),
        _ => None,
    }
}

/// Beginnings of words that say a state, for words that no list has. Common practice, no published source.
const STEMS: &[(&str, &[&str])] = &[
    ("cancelled", &["cancel", "annul", "storn", "anul", "abgebroch", "void"]),
    (
        "rejected",
        &["reject", "refus", "abgelehn", "rechaz", "declin", "turned", "knocked", "impossib", "unprint"],
    ),
    (
        "held",
        &[
            "hold",
            "held",
            "paus",
            "block",
            "bloq",
            "wart",
            "attente",
            "espera",
            "reten",
            "suspend",
            "angehalt",
            "query",
            "queri",
            "question",
            "clarif",
            "klarung",
            "ruckfrag",
            "aclar",
            "consult",
            "duda",
            "repond",
            "reponse",
            "answer",
            "stuck",
            "problem",
            "attention",
            "needs",
            "needed",
        ],
    ),
    (
        "received",
        &[
            "receiv",
            "recib",
            "queue",
            "regist",
            "accept",
            "angenomm",
            "eingegang",
            "erfass",
            "recu",
            "enregist",
            "logged",
        ],
    ),
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
            "abgeschickt",
        ],
    ),
    (
        "making",
        &[
            "print",
            "produ",
            "druck",
            "imprim",
            "impres",
            "impress",
            "fabri",
            "making",
            "made",
            "make",
            "press",
            "fertig",
            "sew",
            "pack",
            "stitch",
            "embroid",
            "bestick",
            "brod",
            "bord",
            "cous",
            "taller",
            "atelier",
            "werkstatt",
            "workshop",
            "knit",
            "dye",
            "weav",
            "cut",
            "engrav",
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
    let says = |phrase: &str| words.join(" ").contains(phrase);
    if family == "submission" {
        if says("waiting on") || says("wait for you") || says("waits for you") || says("wartet auf") {
            return Some("held".to_owned());
        }
        if says("no se hace")
            || says("no se puede")
            || says("geht nicht")
            || says("not possible")
            || says("can not")
        {
            return Some("rejected".to_owned());
        }
    }
    let is_open = words.iter().any(|word| NOT_YET.contains(&word.as_str()))
        || words.iter().any(|word| word.starts_with("un") || word.starts_with("teil"));
    let money = ["fund", "pay", "money", "zahl", "geld", "paie", "fond", "argent", "cobro", "pago", "dinero"];
    let is_money = words.iter().any(|word| money.iter().any(|stem| word.starts_with(stem)));
    if is_open && is_money && matches!(family, "order" | "payment") {
        return Some("unpaid".to_owned());
    }
    // A short stem may begin words that have nothing to do with it.
    let is_of =
        |stem: &str, word: &str| word.strip_prefix(stem).is_some_and(|end| stem.len() >= 5 || end.len() <= 3);
    let has_stem = |stems: &[&str], word: &String| stems.iter().any(|stem| is_of(stem, word));
    let found = STEMS.iter().find(|(_, stems)| words.iter().any(|word| has_stem(stems, word)))?;
    // `sent on` is sent; `on to be sent` is not.
    let at = words.iter().position(|word| has_stem(found.1, word)).unwrap_or_default();
    let is_open = words[..at].iter().any(|word| NOT_YET.contains(&word.as_str()))
        || words[at..].iter().any(|word| matches!(word.as_str(), "not" | "pending" | "ausstehend"))
        || words.iter().any(|word| word.starts_with("un") || word.starts_with("teil"));
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
        ("submission", "received", false) => "received",
        _ => return None,
    };
    Some(meaning.to_owned())
}

/// What speaks enough for a column to be a sign of a state.
const SIGN: f64 = 2.5;

/// How many words of a column have to be known, to say by themselves what it is.
const TELLING_WORDS: usize = 3;

/// The share of a column's values that a family of words knows; or of its words, where that is more: one word that nobody
/// knows may be said of nearly all records.
pub(super) fn share(sheet: &Sheet<'_>, column: usize, family: &str) -> f64 {
    let frequent = &sheet.profiles[column].frequent;
    let told: Vec<usize> =
        frequent.iter().filter(|(word, _)| known(family, word).is_some()).map(|(_, count)| *count).collect();
    let all: usize = frequent.iter().map(|(_, count)| count).sum();
    let of_values = told.iter().sum::<usize>() as f64 / all.max(1) as f64;
    let of_words = told.len() as f64 / frequent.len().max(1) as f64;
    if told.len() >= TELLING_WORDS { of_values.max(of_words) } else { of_values }
}

fn is_flag(sheet: &Sheet<'_>, column: usize) -> bool {
    share(sheet, column, "flag") > 0.99
}

/// Beside words, what tells a state: a column that records in it have, or that they alone lack.
struct Signs {
    /// Records that have something there are in this state.
    there: Vec<(usize, &'static str)>,
    /// Records that alone have nothing there are in this state.
    missing: Vec<(usize, &'static str)>,
    /// When records began, and the states that follow each other, of which the first is the newest's.
    age: Option<(usize, &'static [&'static str])>,
}

impl Signs {
    /// Takes back what was guessed of words whose records say something else: that they are gone, or that they are not.
    fn doubt(
        &self,
        sheet: &Sheet<'_>,
        column: usize,
        words: &mut Words,
        unknown: &mut Vec<String>,
        given: &Given,
    ) {
        let Some((gone, _)) = self.there.iter().find(|(_, meaning)| *meaning == "dispatched") else { return };
        if !(0.1..0.9).contains(&sheet.profiles[*gone].fill()) {
            return;
        }
        let (values, of) = (&sheet.list.columns[column].values, &sheet.list.columns[*gone].values);
        words.retain(|word, meaning| {
            let is_listed = is_listed(word);
            let rows = values.iter().zip(of).filter(|(own, _)| own.as_ref() == Some(word));
            let (mut all, mut filled) = (0, 0);
            for (_, of) in rows {
                all += 1;
                filled += usize::from(of.is_some());
            }
            let is_going = matches!(meaning.as_str(), "received" | "held" | "making" | "open" | "unpaid");
            let differs =
                meaning.as_str() == "dispatched" && filled == 0 || is_going && filled * 10 > all * 9;
            let is_doubtful = !is_listed && !given.contains_key(word) && all > 1 && differs;
            if is_doubtful {
                unknown.push(word.clone());
            }
            !is_doubtful
        });
        unknown.sort();
    }

    /// Meanings of words that no list has: by what else the records say that bear them, then by their age.
    fn tell(
        &self,
        sheet: &Sheet<'_>,
        column: usize,
        words: &mut Words,
        unknown: &mut Vec<String>,
    ) -> Vec<String> {
        let values = &sheet.list.columns[column].values;
        let fill = |word: &str, of: usize| {
            let of = &sheet.list.columns[of].values;
            let rows = values.iter().zip(of).filter(|(own, _)| own.as_deref() == Some(word));
            let (all, filled) = rows.fold((0_usize, 0_usize), |(all, filled), (_, of)| {
                (all + 1, filled + usize::from(of.is_some()))
            });
            filled as f64 / all.max(1) as f64
        };
        let mut told = Vec::new();
        unknown.retain(|word| {
            let there = self.there.iter().find(|(of, _)| fill(word, *of) > 0.9);
            let lacks = |(of, _): &&(usize, &str)| fill(word, *of) == 0.0 && sheet.profiles[*of].fill() > 0.5;
            let meaning = there.or_else(|| self.missing.iter().find(lacks));
            let Some((_, meaning)) = meaning else { return true };
            words.insert(word.clone(), (*meaning).to_owned());
            told.push(word.clone());
            false
        });
        let Some((when, states)) = self.age else { return told };
        let Some(times) = sheet.profiles[when].times.as_ref() else { return told };
        let mut by_age: Vec<(i64, String)> = unknown
            .iter()
            .map(|word| {
                let own = values.iter().zip(&times.moments).filter(|(own, _)| own.as_deref() == Some(word));
                let mut moments: Vec<i64> = own.filter_map(|(_, when)| Some((*when)?.timestamp())).collect();
                moments.sort_unstable();
                (moments.get(moments.len() / 2).copied().unwrap_or_default(), word.clone())
            })
            .collect();
        by_age.sort();
        let has = |meaning: &str, words: &Words| words.values().any(|known| known == meaning);
        // Where some of the states that follow each other are named, age does not tell which of the others is meant.
        if states.iter().any(|state| has(state, words)) || by_age.len() > states.len() || by_age.is_empty() {
            return told;
        }
        for (state, (_, word)) in states.iter().zip(by_age.into_iter().rev()) {
            unknown.retain(|other| *other != word);
            words.insert(word.clone(), (*state).to_owned());
            told.push(word);
        }
        told
    }
}

/// Where one word of a column says that an order is paid, those that say no more than that it is there say that it is
/// not yet. Returns these.
fn not_paid_yet(words: &mut Words, given: &Given) -> Vec<String> {
    let is_paid = |word: &String| known("payment", word).is_some_and(|meaning| meaning == "paid");
    let says_paid = words.keys().any(|word| is_paid(word) && LEXICON.status("payment", word).is_some());
    if !says_paid || words.values().any(|meaning| meaning == "unpaid") {
        return Vec::new();
    }
    let mut told = Vec::new();
    for (word, meaning) in words.iter_mut() {
        let plain = super::lexicon::words(word).join(" ");
        if meaning == "open" && !given.contains_key(word) && JUST_THERE.contains(&plain.as_str()) {
            *meaning = "unpaid".to_owned();
            told.push(word.clone());
        }
    }
    told
}

/// Words of an order that is there, whatever has become of it.
const JUST_THERE: &[&str] = &[
    "placed",
    "new",
    "neu",
    "open",
    "offen",
    "received",
    "ordered",
    "created",
    "nuevo",
    "nueva",
    "nouveau",
    "nouvelle",
    "ouvert",
    "ouverte",
    "abierto",
    "abierta",
    "eingegangen",
    "bestellt",
    "commandee",
    "pedido",
    "recibido",
    "recu",
    "recue",
];

/// Whether a column's name says that its state is that of a payment.
fn says_payment(sheet: &Sheet<'_>, column: usize) -> bool {
    let fits = sheet.name_fits(column, super::level::Level::Orders);
    fits.get("payment_status").is_some_and(|fit| fit.score >= 2.0)
}

/// The state of orders.
pub(super) fn of_orders(sheet: &Sheet<'_>, chosen: &BTreeMap<Meaning, Chosen>, given: &Given) -> State {
    // What only perhaps says a part of it says nothing.
    let get = |meaning: &str| {
        let least = if meaning == "order_status" { 0.0 } else { 3.0 };
        chosen.get(meaning).filter(|chosen| chosen.evidence.score >= least).map(|chosen| chosen.column)
    };
    let (mut status, mut payment, dispatch) =
        (get("order_status"), get("payment_status"), get("dispatch_status"));
    // The only state that there is says all of it, though some of its words are of money.
    if status.is_none() && dispatch.is_none() {
        let only = chosen.get("payment_status").filter(|only| !says_payment(sheet, only.column));
        if let Some(only) = only {
            (status, payment) = (Some(only.column), None);
        }
    }
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
            let meaning = known("order", word).or_else(|| match said_beside("payment", word)?.as_str() {
                "paid" => Some("open".to_owned()),
                "refunded" => Some("cancelled".to_owned()),
                other => Some(other.to_owned()),
            });
            let meaning = meaning.or_else(|| match said_beside("dispatch", word)?.as_str() {
                "part" => Some("open".to_owned()),
                other => Some(other.to_owned()),
            })?;
            Some(if goes_on && meaning == "open" { String::new() } else { meaning })
        };
        let (mut meant, mut unknown) = words(sheet, column, given, meaning);
        parts.told(not_paid_yet(&mut meant, given));
        let signs = Signs {
            there: [("cancelled_at", "cancelled"), ("dispatched_at", "dispatched")]
                .into_iter()
                .filter_map(|(meaning, state)| Some((get(meaning)?, state)))
                .filter(|(column, _)| sheet.profiles[*column].fill() < 0.98)
                .collect(),
            missing: get("paid_at").map(|column| (column, "unpaid")).into_iter().collect(),
            age: None,
        };
        signs.doubt(sheet, column, &mut meant, &mut unknown, given);
        if !goes_on || get("dispatched_at").is_some() {
            parts.told(signs.tell(sheet, column, &mut meant, &mut unknown));
        }
        parts.words(sheet, column, (meant, unknown));
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
            let meaning = known("dispatch", word).or_else(|| said_beside("order", word));
            let meaning = meaning.or_else(|| match known("flag", word)?.as_str() {
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
    let is_exact = status.is_some()
        && chosen.get("order_status").is_some_and(|chosen| chosen.evidence.is_exact && chosen.margin >= 1.0);
    parts.state(otherwise, is_exact)
}

/// The statuses of an order, the strongest first: what is cancelled is not to be sent, whatever else is said.
const STRONGEST: [&str; 4] = ["cancelled", "unpaid", "dispatched", "open"];

/// The state of orders as the owner says it, of columns and what their words mean.
pub(super) fn told(sheet: &Sheet<'_>, places: &[(usize, &BTreeMap<String, String>)]) -> State {
    let mut parts = Parts::default();
    let nothing = |words: &BTreeMap<String, String>| words.get("").filter(|word| *word != "open").cloned();
    let otherwise = places.iter().find_map(|(_, words)| nothing(words));
    for strength in STRONGEST {
        for (column, meant) in places {
            let is_any = meant.get("*").is_some_and(|meaning| meaning == strength);
            // Where nothing said means more than open, only that place can say open.
            if strength == "open" && otherwise.is_some() && nothing(meant).is_none() {
                continue;
            }
            if is_any {
                parts.there(sheet, *column, strength);
            } else if sheet.profiles[*column]
                .frequent
                .iter()
                .any(|(word, _)| meant.get(word).is_some_and(|meaning| meaning == strength))
            {
                let given = Given::new();
                let meaning = |word: &str| {
                    let meaning = meant.get(word)?;
                    Some(if meaning == strength { meaning.clone() } else { String::new() })
                };
                parts.words(sheet, *column, words(sheet, *column, &given, meaning));
            }
            parts.is_whole = false;
        }
    }
    parts.is_guessed = false;
    parts.at.dedup();
    parts.state(otherwise.as_deref().unwrap_or("open"), true)
}

/// The state of lines: where one has none of its own, that of its submission stands.
pub(super) fn of_lines(
    sheet: &Sheet<'_>,
    chosen: &BTreeMap<Meaning, Chosen>,
    meaning: Meaning,
    given: &Given,
) -> State {
    let (mut parts, is_exact) = parts_of_submissions(sheet, chosen, meaning, given, None);
    parts.is_whole = true;
    parts.state("", is_exact)
}

/// The state of submissions, of which `lines` are the lines.
pub(super) fn of_submissions(
    sheet: &Sheet<'_>,
    chosen: &BTreeMap<Meaning, Chosen>,
    meaning: Meaning,
    given: &Given,
    lines: Option<&Sheet<'_>>,
) -> State {
    let (parts, is_exact) = parts_of_submissions(sheet, chosen, meaning, given, lines);
    parts.state("received", is_exact)
}

fn parts_of_submissions(
    sheet: &Sheet<'_>,
    chosen: &BTreeMap<Meaning, Chosen>,
    meaning: Meaning,
    given: &Given,
    lines: Option<&Sheet<'_>>,
) -> (Parts, bool) {
    let get = |meaning: &str| chosen.get(meaning).map(|chosen| chosen.column);
    let mut parts = Parts::default();
    match get(meaning) {
        Some(column) => {
            let is_received =
                |word: &str| LEXICON.status("submission", word).is_some_and(|meaning| meaning == "received");
            let others = &sheet.profiles[column].frequent;
            let is_begun = others.iter().any(|(word, _)| is_received(word) && !may_be_held(word));
            let of_word = |word: &str| {
                // Where another word says that it came in, what waits may be in the way of something.
                if is_begun && may_be_held(word) {
                    return None;
                }
                known("submission", word).or_else(|| match said_beside("dispatch", word)?.as_str() {
                    "part" => Some("making".to_owned()),
                    "open" => Some("received".to_owned()),
                    other => Some(other.to_owned()),
                })
            };
            let (mut meant, mut unknown) = words(sheet, column, given, of_word);
            let there = [
                ("cancelled_at", "cancelled"),
                ("dispatched_at", "dispatched"),
                ("tracking_number", "dispatched"),
            ];
            let signs = Signs {
                there: there
                    .into_iter()
                    .filter(|(meaning, _)| {
                        chosen.get(meaning).is_some_and(|sign| sign.evidence.score >= SIGN)
                    })
                    .filter_map(|(meaning, state)| Some((get(meaning)?, state)))
                    .filter(|(column, _)| sheet.profiles[*column].fill() < 0.98)
                    .collect(),
                missing: Vec::new(),
                // Numbers say nothing but that one state follows another.
                age: get("received_at")
                    .filter(|_| sheet.profiles[column].whole.is_some())
                    .map(|column| (column, &["received", "making"][..])),
            };
            signs.doubt(sheet, column, &mut meant, &mut unknown, given);
            let told = signs.tell(sheet, column, &mut meant, &mut unknown);
            let is_open = |word: &str| !given.contains_key(word) && !is_listed(word);
            let mut guesses = Guesses { words: &mut meant, unknown: &mut unknown, told };
            if let Some(lines) = lines {
                guesses.by_lines(lines, &at(sheet, column), is_open);
            }
            let when = |meaning: &str| {
                chosen.get(meaning).filter(|sign| sign.evidence.score >= SIGN).map(|sign| sign.column)
            };
            if let (Some(received), Some(updated)) = (when("received_at"), when("updated_at")) {
                guesses.by_rest(sheet, column, [received, updated], is_open);
            }
            let told = guesses.told;
            parts.told(told);
            parts.words(sheet, column, (meant, unknown));
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
    (parts, is_exact)
}
