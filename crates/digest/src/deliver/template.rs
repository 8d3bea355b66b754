//! The owner's own JSON for a chat room, in which places are filled in.
//!
//! The template is read as JSON first and only its texts are filled in, so that nothing that a message says can become
//! anything but text. Must not know which room it is for. Start reading at [`Template::parse`].

use chrono::NaiveDate;
use serde_json::Value;

use super::{Message, Unfit};

/// The largest template; what rooms take is a few hundred octets.
const MAX_TEMPLATE_BYTES: usize = 16 * 1024;

/// The shortest length of a text that says anything.
const LEAST_LENGTH: usize = 100;

/// How long a text is at most where nothing else is said. Rooms commonly take two to four thousand characters (common
/// practice, no published source).
const LENGTH: usize = 2_000;

/// Names this much alike may be meant for each other.
const ALIKE: f64 = 0.6;

/// What is filled in.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Place {
    Subject,
    Text,
    Day,
    Link,
}

impl Place {
    const ALL: [Self; 4] = [Self::Subject, Self::Text, Self::Day, Self::Link];

    fn name(self) -> &'static str {
        match self {
            Self::Subject => "subject",
            Self::Text => "text",
            Self::Day => "day",
            Self::Link => "link",
        }
    }
}

/// A piece of a text of the template.
#[derive(Clone, PartialEq, Eq, Debug)]
enum Piece {
    Words(String),
    Place(Place),
}

/// JSON with places in its texts.
#[derive(Clone, PartialEq)]
pub struct Template {
    json: Value,
    length: usize,
}

impl Template {
    /// Reads a template: any JSON object or array, in whose texts `{subject}`, `{text}`, `{day}` and `{link}` are filled in;
    /// `{{` and `}}` stand for braces. Names of members are left as they are.
    ///
    /// # Errors
    /// Of [`Unfit`], those that begin with `Template`, [`Unfit::Placeholder`] and [`Unfit::Brace`].
    pub fn parse(text: &str) -> Result<Self, Unfit> {
        if text.len() > MAX_TEMPLATE_BYTES {
            return Err(Unfit::TemplateSize(format!(
                "the template has more than {MAX_TEMPLATE_BYTES} bytes"
            )));
        }
        let json: Value =
            serde_json::from_str(text).map_err(|error| Unfit::TemplateJson(error.to_string()))?;
        if !json.is_object() && !json.is_array() {
            return Err(Unfit::TemplateJson("it is a single value".to_owned()));
        }
        let mut says_anything = false;
        check(&json, "", &mut says_anything)?;
        if !says_anything {
            return Err(Unfit::TemplateSaysNothing);
        }
        Ok(Self { json, length: LENGTH })
    }

    /// It with another length, in characters, beyond which a text is cut; where it is, it says so.
    ///
    /// # Errors
    /// [`Unfit::TemplateSize`] of fewer than 100.
    pub fn at_most(self, length: usize) -> Result<Self, Unfit> {
        if length < LEAST_LENGTH {
            let text = format!(
                "texts of at most {length} characters say nothing; expected are {LEAST_LENGTH} or more"
            );
            return Err(Unfit::TemplateSize(text));
        }
        Ok(Self { length, ..self })
    }

    /// What of it may be a secret.
    pub(super) fn secrets(&self) -> Vec<&str> {
        let mut secrets = Vec::new();
        keys(&self.json, &mut secrets);
        secrets
    }

    /// It with a message filled in.
    pub(super) fn filled(&self, message: &Message) -> Value {
        let filling = Filling {
            subject: message.subject(),
            text: message.text().trim_end().to_owned(),
            day: message.day,
            link: message.link.as_deref().map(crate::clean::clean).unwrap_or_default().into_owned(),
            length: self.length,
        };
        filling.fill(&self.json)
    }
}

/// Shows nothing that the owner has written: some rooms take a key in their JSON.
impl std::fmt::Debug for Template {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Template").field("length", &self.length).finish_non_exhaustive()
    }
}

/// The texts of the template that may be keys: those without a blank that are longer than a word.
fn keys<'j>(json: &'j Value, keys: &mut Vec<&'j str>) {
    /// A shorter text is a word.
    const KEY_CHARACTERS: usize = 12;
    match json {
        Value::String(text) if text.len() >= KEY_CHARACTERS && !text.contains(char::is_whitespace) => {
            keys.push(text)
        }
        Value::Array(values) => values.iter().for_each(|value| self::keys(value, keys)),
        Value::Object(members) => members.values().for_each(|value| self::keys(value, keys)),
        _ => {}
    }
}

/// What the places are filled with.
struct Filling {
    subject: String,
    text: String,
    day: NaiveDate,
    link: String,
    length: usize,
}

impl Filling {
    fn fill(&self, json: &Value) -> Value {
        match json {
            Value::String(text) => self.fill_text(text).into(),
            Value::Array(values) => values.iter().map(|value| self.fill(value)).collect(),
            Value::Object(members) => {
                let filled = members.iter().map(|(name, value)| (name.clone(), self.fill(value)));
                Value::Object(filled.collect())
            }
            Value::Null | Value::Bool(_) | Value::Number(_) => json.clone(),
        }
    }

    fn fill_text(&self, text: &str) -> String {
        // It was read when the template was; what cannot be read again stands as it is.
        let Ok(pieces) = pieces(text) else { return text.to_owned() };
        let whole = self.put_together(&pieces, &self.text);
        if characters(&whole) <= self.length {
            return whole;
        }
        // Of all that is filled in, the text is what can be cut best: what stands behind it, a link for instance, stays.
        let texts = pieces.iter().filter(|piece| **piece == Piece::Place(Place::Text)).count();
        let others = characters(&self.put_together(&pieces, ""));
        if texts > 0 && others + texts * LEAST_LENGTH <= self.length {
            let room = (self.length - others) / texts;
            return self.put_together(&pieces, &shortened(&self.text, room));
        }
        shortened(&whole, self.length)
    }

    fn put_together(&self, pieces: &[Piece], text: &str) -> String {
        let mut whole = String::new();
        for piece in pieces {
            match piece {
                Piece::Words(words) => whole.push_str(words),
                Piece::Place(Place::Subject) => whole.push_str(&self.subject),
                Piece::Place(Place::Text) => whole.push_str(text),
                Piece::Place(Place::Day) => whole.push_str(&self.day.to_string()),
                Piece::Place(Place::Link) => whole.push_str(&self.link),
            }
        }
        whole
    }
}

/// A text of at most so many characters, its end cut off at a line or a word where one is near, and said so.
fn shortened(text: &str, length: usize) -> String {
    let all = characters(text);
    if all <= length {
        return text.to_owned();
    }
    // The number may take as many digits as the whole.
    let longest_note = characters(&note(all));
    let room = length.saturating_sub(longest_note);
    let end = text.char_indices().nth(room).map_or(text.len(), |(end, _)| end);
    let start = &text[..end];
    let near = start.len() - start.len() / 4;
    let parted =
        start.rfind('\n').filter(|at| *at >= near).or_else(|| start.rfind(' ').filter(|at| *at >= near));
    let start = parted.map_or(start, |at| &start[..at]).trim_end();
    format!("{start}{}", note(all - characters(start)))
}

fn note(characters: usize) -> String {
    format!("\n… cut here: {characters} more characters")
}

fn characters(text: &str) -> usize {
    text.chars().count()
}

/// Finds what is wrong with the texts, and whether any shows something of the message.
fn check(json: &Value, place: &str, says_anything: &mut bool) -> Result<(), Unfit> {
    let below = |name: &str| format!("{place}/{}", name.replace('~', "~0").replace('/', "~1"));
    match json {
        Value::String(text) => {
            let pieces = pieces(text).map_err(|fault| fault.at(place))?;
            let says = |piece: &Piece| matches!(piece, Piece::Place(Place::Subject | Place::Text));
            *says_anything |= pieces.iter().any(says);
            Ok(())
        }
        Value::Array(values) => (0..).zip(values).try_for_each(|(index, value): (usize, _)| {
            check(value, &below(&index.to_string()), says_anything)
        }),
        Value::Object(members) => {
            members.iter().try_for_each(|(name, value)| check(value, &below(name), says_anything))
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => Ok(()),
    }
}

/// What is wrong with a text.
enum Fault<'t> {
    Unknown(&'t str),
    Brace(char),
}

impl Fault<'_> {
    fn at(&self, place: &str) -> Unfit {
        let place = crate::clean::cut(if place.is_empty() { "/" } else { place }, 80).into_owned();
        match self {
            Self::Unknown(name) => {
                let known = Place::ALL.map(Place::name);
                let alike = |known: &str| strsim::normalized_damerau_levenshtein(&name.to_lowercase(), known);
                let best = known.into_iter().max_by(|a, b| alike(a).total_cmp(&alike(b)));
                let nearest = best.filter(|known| alike(known) >= ALIKE);
                Unfit::Placeholder { given: crate::clean::cut(*name, 40).into_owned(), place, nearest }
            }
            Self::Brace(brace) => Unfit::Brace { brace: *brace, place },
        }
    }
}

/// Takes a text apart.
fn pieces(text: &str) -> Result<Vec<Piece>, Fault<'_>> {
    let mut pieces = Vec::new();
    let mut words = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(['{', '}']) {
        words.push_str(&rest[..at]);
        let brace = if rest[at..].starts_with('{') { '{' } else { '}' };
        let after = &rest[at + 1..];
        if let Some(after) = after.strip_prefix(brace) {
            words.push(brace);
            rest = after;
            continue;
        }
        let name = (brace == '{').then(|| after.split_once('}')).flatten();
        let name = name.filter(|(name, _)| !name.is_empty() && !name.contains(['{', '"', '\n']));
        let (name, after) = name.ok_or(Fault::Brace(brace))?;
        let place = Place::ALL.into_iter().find(|place| place.name() == name).ok_or(Fault::Unknown(name))?;
        if !words.is_empty() {
            pieces.push(Piece::Words(std::mem::take(&mut words)));
        }
        pieces.push(Piece::Place(place));
        rest = after;
    }
    words.push_str(rest);
    if !words.is_empty() {
        pieces.push(Piece::Words(words));
    }
    Ok(pieces)
}
