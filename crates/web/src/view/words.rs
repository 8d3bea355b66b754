//! Texts, moments and sums in a view.
//!
//! Must not know what is said. Start reading at [`Words`].

use std::borrow::Cow;
use std::fmt;

use chrono::{DateTime, SecondsFormat, Utc};
use digest::{Clock, END_OF_ISOLATE, ISOLATE};
use maud::{Markup, Render, html};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};

/// A check as a person reads it: `part sent`, of its word.
pub fn check_name(word: &str) -> String {
    word.replace('-', " ")
}

/// Columns of a text from outside: more than a title, a note or an id has that anybody reads.
const OUTSIDE: usize = 200;

/// One line of text for a person: cleaned, and what runs from right to left is isolated. For programs the isolates are left
/// out.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Words(String);

impl Words {
    /// A sentence of ours, whatever stands in it.
    pub fn ours(text: impl AsRef<str>) -> Self {
        Self(digest::sentence(text.as_ref()))
    }

    /// A text from outside, cut where it is longer than anybody reads.
    pub fn outside(text: impl AsRef<str>) -> Self {
        Self(digest::isolated(&digest::cut(text.as_ref(), OUTSIDE)).to_string())
    }

    /// The text, with isolates.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The text, with nothing in it that cannot be seen.
    pub fn plain(&self) -> String {
        digest::clean(self.0.as_str()).replace('\u{a0}', " ")
    }

    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl fmt::Debug for Words {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.plain())
    }
}

impl Render for Words {
    /// What stands between two backticks is something to type.
    fn render(&self) -> Markup {
        let pieces: Vec<&str> = self.0.split('`').collect();
        // What is isolated stays in one piece.
        let is_whole = |piece: &&str| piece.matches(ISOLATE).count() == piece.matches(END_OF_ISOLATE).count();
        if pieces.len().is_multiple_of(2) || !pieces.iter().all(is_whole) {
            return digest::compose::shown(&self.0);
        }
        html! {
            @for (place, piece) in pieces.into_iter().enumerate() {
                @if place % 2 == 1 { code { (digest::compose::shown(piece)) } } @else { (digest::compose::shown(piece)) }
            }
        }
    }
}

impl Serialize for Words {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.plain())
    }
}

impl JsonSchema for Words {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Words".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string" })
    }
}

/// A moment, and how it is said.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct Moment {
    /// The moment.
    #[serde(serialize_with = "rfc3339")]
    pub at: DateTime<Utc>,
    /// How it is said in the shop's zone: `today 14:00`, `27 Nov 14:00`.
    pub said: Words,
}

impl Moment {
    /// A moment, as somebody reads it whose clock is this.
    pub fn new(at: DateTime<Utc>, clock: &Clock) -> Self {
        Self { at, said: Words::ours(clock.in_a_column(at)) }
    }

    /// As programs read it.
    pub fn written(&self) -> String {
        self.at.to_rfc3339_opts(SecondsFormat::Secs, true)
    }
}

fn rfc3339<S: Serializer>(at: &DateTime<Utc>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&at.to_rfc3339_opts(SecondsFormat::Secs, true))
}

/// The moment where it stands, as `<time>`.
impl Render for Moment {
    fn render(&self) -> Markup {
        maud::html! { time datetime=(self.written()) { (self.said) } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_is_harmless_in_every_output() {
        let words = Words::outside("<b>\u{202e}Otter\u{1b}[2J\n apron סינר");
        assert_eq!(words.plain(), "<b>Otter\u{fffd}[2J apron סינר");
        let html = words.render().into_string();
        assert_eq!(html, "<bdi>&lt;b&gt;Otter\u{fffd}[2J apron סינר</bdi>");
        assert_eq!(serde_json::to_value(&words).unwrap(), "<b>Otter\u{fffd}[2J apron סינר");
        assert!(Words::outside("x".repeat(1_000)).as_str().chars().count() <= OUTSIDE);
    }

    #[test]
    fn what_is_to_be_typed_stands_as_such_and_nothing_else_does() {
        for (text, want) in [
            ("wait (`everyline status`), or go", "wait (<code>everyline status</code>), or go"),
            ("a ` alone", "a ` alone"),
            ("`<b>`", "<code>&lt;b&gt;</code>"),
            // No isolate is torn apart.
            ("`\u{2068}\u{5d0}`\u{2069}", "`<bdi>\u{5d0}`</bdi>"),
        ] {
            assert_eq!(Words(text.to_owned()).render().into_string(), want, "{text}");
        }
    }
}
