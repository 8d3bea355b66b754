//! Delivering, checked from outside: a scripted mail server and invented receivers on loopback.
//!
//! Start reading at [`message`]; `server` is the mail server.

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

mod heartbeat;
mod mail;
mod refused;
mod server;
mod template;
mod webhook;
mod written;

use chrono::{DateTime, NaiveDate, Utc};
use digest::deliver::{Kind, MailAddress, Message, Sending};
use serde_json::json;

/// Stands in every secret, and must not stand anywhere else.
const CANARY: &str = "moss-and-stone-7731";

/// A message of an invented shop.
fn message() -> Message {
    Message {
        id: "digest-2026-11-26-owner@kittiwake".to_owned(),
        kind: Kind::Digest,
        written_at: utc("2026-11-26T06:00:05Z"),
        day: NaiveDate::from_ymd_opt(2026, 11, 26).unwrap(),
        subject: "2 orders go out incomplete; first by 14:00".to_owned(),
        text: "Order KK-1042 goes out without the apron.\n\nLink it – “Large, moss” – by 14:00.\n".to_owned(),
        html: "<!doctype html><html lang=\"en\"><p>Order KK-1042 goes out without the apron.</p></html>\n"
            .to_owned(),
        data: json!({"findings": [{"check": "part-sent", "order_id": "KK-1042"}]}),
        link: Some("http://127.0.0.1:8090/".to_owned()),
    }
}

fn utc(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

fn address(text: &str) -> MailAddress {
    MailAddress::parse(text).unwrap()
}

/// The sentence of an answer, whichever it is.
fn sentence(sending: &Sending) -> &str {
    match sending {
        Sending::Sent { answer } => answer,
        Sending::TryAgain { why, .. } | Sending::GiveUp { why } => why,
    }
}

/// Whether a sentence is one for an owner: in one line, of a readable length, without a secret.
fn assert_sentence(sending: &Sending) {
    let sentence = sentence(sending);
    assert!(!sentence.is_empty() && sentence.chars().count() < 400, "{sentence}");
    assert!(!sentence.contains(char::is_control) && !sentence.ends_with('.'), "{sentence:?}");
    assert!(!format!("{sending:?}").contains(CANARY), "{sending:?}");
}
