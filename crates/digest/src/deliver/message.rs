//! A finished message, whoever it goes to, and what of it is fit to be sent.
//!
//! Must not know destinations. Start reading at [`Message`].

use std::fmt::Write as _;

use chrono::{DateTime, NaiveDate, Utc};
use data_encoding::HEXLOWER;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use sha2::{Digest as _, Sha256};

use crate::clean::{clean, cut};

/// The longest subject, in columns: a mail program shows some seventy.
const SUBJECT_COLUMNS: usize = 200;

/// The longest identifier that is sent as it is; a longer one is sent as its SHA-256. A line with it stays far below the 998
/// octets that a mail may have in one.
const MAX_WIRE_ID_BYTES: usize = 128;

/// A finished message for one destination: text, HTML and data say the same. Its JSON is for keeping it until it is sent.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Message {
    /// By what a receiver knows a second try for the same, such as `digest-2026-11-26-owner@shop`: the same in every try,
    /// another for every other message and every other recipient.
    pub id: String,
    /// Why it is sent.
    pub kind: Kind,
    /// When it was written, the same in every try.
    pub written_at: DateTime<Utc>,
    /// The day that it is about, in the shop's zone.
    pub day: NaiveDate,
    /// The worst of it in a line.
    pub subject: String,
    /// It as plain text.
    pub text: String,
    /// It as an HTML document.
    pub html: String,
    /// It as data.
    pub data: Value,
    /// Where more about it is to be read, if anywhere.
    pub link: Option<String>,
}

/// Why a message is sent.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// It is the morning's.
    Digest,
    /// It cannot wait for the morning.
    Alert,
    /// Somebody tries the destination.
    Test,
}

impl Kind {
    /// `digest`, `alert`, `test`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Digest => "digest",
            Self::Alert => "alert",
            Self::Test => "test",
        }
    }
}

impl Message {
    /// The identifier in letters, digits, `-`, `_` and `=` alone, at least one: others are written as `=` with their octets
    /// in hexadecimal. Two identifiers never become the same.
    ///
    /// So it can stand in a `Message-ID` (RFC 5322, 3.6.4) and in what is signed of a webhook, where a full stop would end it.
    pub(super) fn wire_id(&self) -> String {
        let mut wire = String::with_capacity(self.id.len());
        for byte in self.id.bytes() {
            match byte {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' => wire.push(char::from(byte)),
                _ => {
                    let _ = write!(wire, "={byte:02x}");
                }
            }
        }
        if wire.is_empty() || wire.len() > MAX_WIRE_ID_BYTES {
            wire = self.fingerprint();
        }
        wire
    }

    /// The SHA-256 of the identifier, in hexadecimal.
    pub(super) fn fingerprint(&self) -> String {
        HEXLOWER.encode(&Sha256::digest(self.id.as_bytes()))
    }

    /// The subject as one line with nothing hidden in it. What a reader of mail would take for an encoded word
    /// (RFC 2047) is broken up.
    pub(super) fn subject(&self) -> String {
        cut(self.subject.as_str(), SUBJECT_COLUMNS).replace("=?", "= ?")
    }

    /// The text, its lines parted by `\n`, with nothing hidden in it.
    pub(super) fn text(&self) -> String {
        lines(&self.text)
    }

    /// The HTML, its lines parted by `\n`, with nothing hidden in it.
    pub(super) fn html(&self) -> String {
        lines(&self.html)
    }

    /// All that it says, for finding it where it must not be.
    pub(super) fn says(&self) -> [&str; 3] {
        [&self.subject, &self.text, &self.html]
    }
}

fn lines(text: &str) -> String {
    let mut cleaned = String::with_capacity(text.len() + 1);
    for line in text.lines() {
        cleaned.push_str(&clean(line));
        cleaned.push('\n');
    }
    cleaned
}

/// Shows nothing that it says.
impl std::fmt::Debug for Message {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Message")
            .field("id", &self.id)
            .field("kind", &self.kind)
            .field("written_at", &self.written_at)
            .finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(id: &str) -> Message {
        Message {
            id: id.to_owned(),
            kind: Kind::Digest,
            written_at: DateTime::UNIX_EPOCH,
            day: NaiveDate::default(),
            subject: "a\r\nBcc: b".to_owned(),
            text: "one\r\ntwo\rthree\u{0}\nfour".to_owned(),
            html: String::new(),
            data: Value::Null,
            link: None,
        }
    }

    #[test]
    fn an_identifier_is_sent_in_letters_that_mean_nothing_anywhere() {
        for (id, want) in [
            ("digest-2026-11-26-owner@shop", "digest-2026-11-26-owner=40shop"),
            ("a.b", "a=2eb"),
            ("a=2eb", "a=3d2eb"),
            ("ü", "=c3=bc"),
            ("a\r\nb", "a=0d=0ab"),
            // The SHA-256 of nothing, by coreutils `sha256sum`.
            ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        ] {
            assert_eq!(message(id).wire_id(), want);
        }
        assert_eq!(message(&"a".repeat(128)).wire_id().len(), 128);
        assert_eq!(message(&"a".repeat(129)).wire_id().len(), 64);
        assert_ne!(message(&"a".repeat(129)).wire_id(), message(&"a".repeat(130)).wire_id());
    }

    #[test]
    fn what_is_sent_has_nothing_hidden_in_it() {
        assert_eq!(message("a").subject(), "a Bcc: b");
        assert_eq!(message("a").text(), "one\ntwo three\u{fffd}\nfour\n");
    }

    #[test]
    fn a_message_is_the_same_after_it_was_kept() {
        let kept = serde_json::to_string(&message("a")).unwrap();
        assert_eq!(serde_json::from_str::<Message>(&kept).unwrap(), message("a"));
    }

    #[test]
    fn what_a_message_says_is_not_shown() {
        assert_eq!(
            format!("{:?}", message("a")),
            r#"Message { id: "a", kind: Digest, written_at: 1970-01-01T00:00:00Z, .. }"#
        );
    }
}
