//! A message as an event: CloudEvents 1.0, JSON, structured mode.
//!
//! Sources: CloudEvents 1.0.2, and its JSON event format and HTTP protocol binding of the same version. Must not know where
//! it goes. Start reading at [`event`].

use chrono::SecondsFormat;
use serde_json::{Value, json};
use url::Url;

use super::{Kind, Message, Unfit};
use crate::clean::cut;

/// What such a body is called.
pub(super) const MEDIA_TYPE: &str = "application/cloudevents+json";

/// The longest source; it says which shop.
const MAX_SOURCE_BYTES: usize = 300;

/// Columns of something wrong in an error.
const SHOWN_COLUMNS: usize = 60;

/// Writes it. `source` and `id` together are another for every other message.
pub(super) fn event(message: &Message, source: &str) -> Value {
    let mut event = json!({
        "specversion": "1.0",
        "id": message.wire_id(),
        "source": source,
        "type": kind(message.kind),
        "time": message.written_at.to_rfc3339_opts(SecondsFormat::Secs, true),
        "datacontenttype": "application/json",
        "data": message.data,
    });
    let subject: String = message.subject().chars().filter(|c| !is_noncharacter(*c)).collect();
    // It may be left out, and not be empty.
    if !subject.is_empty() {
        event["subject"] = subject.into();
    }
    event
}

/// `everyline.digest`, `everyline.alert`, `everyline.test`.
fn kind(kind: Kind) -> String {
    format!("everyline.{}", kind.word())
}

/// Characters that no attribute may have beside control characters. Source: CloudEvents 1.0.2, 'Type System'.
fn is_noncharacter(c: char) -> bool {
    matches!(u32::from(c), 0xfdd0..=0xfdef) || u32::from(c) & 0xfffe == 0xfffe
}

/// What says where events come from: a URI or a relative reference, not empty. Source: RFC 3986, 4.1.
pub(super) fn checked_source(source: &str) -> Result<String, Unfit> {
    let is_allowed = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~:/?#[]@!$&'()*+,;=%".contains(&byte);
    let is_reference = || {
        let base = Url::parse("https://shop.example/").ok()?;
        base.join(source).ok()
    };
    let is_short = (1..=MAX_SOURCE_BYTES).contains(&source.len());
    if !is_short || !source.bytes().all(is_allowed) || is_reference().is_none() {
        return Err(Unfit::Source(format!("\"{}\"", cut(source, SHOWN_COLUMNS))));
    }
    Ok(source.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_is_an_address_or_a_path() {
        for source in
            ["https://shop.example/everyline", "/everyline/kittiwake", "everyline", "urn:everyline:kittiwake"]
        {
            assert!(checked_source(source).is_ok(), "{source}");
        }
        for source in ["", "a b", "ü", "https://", "a\nb", "\"", &"a".repeat(301)] {
            assert!(matches!(checked_source(source), Err(Unfit::Source(_))), "{source}");
        }
    }

    #[test]
    fn characters_that_are_none_are_known() {
        for (c, want) in
            [('\u{fdd0}', true), ('\u{fffe}', true), ('\u{1ffff}', true), ('\u{fffd}', false), ('a', false)]
        {
            assert_eq!(is_noncharacter(c), want);
        }
    }
}
