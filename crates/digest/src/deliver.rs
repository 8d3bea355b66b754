//! Sends one finished message to one destination, once, and answers what came of it.
//!
//! This is the half of the crate that reaches outside: [`Smtp`] sends a mail, [`Webhook`] posts an event or a text for
//! a chat room, [`Heartbeat`] tells that a round went well. Each is made of values that were checked when they were made
//! ([`Unfit`] says what is wrong with one), tries once within its time-outs, and answers a [`Sending`]. Whatever a message
//! is called and says, it is the same in every try, byte by byte, so that a receiver can drop a double. Must not know:
//! what is said, when it is due, what was sent before, how configuration is written, what time it is. No answer, error or
//! `Debug` holds a secret, a whole address of a webhook, or what a message says. Start reading at [`Sending`].

mod event;
mod heartbeat;
mod mail_address;
mod mail_server;
mod message;
mod mime;
mod reply;
mod signature;
mod smtp;
mod template;
mod trust;
mod unfit;
mod web;
mod web_address;
mod webhook;

use std::time::Duration;

pub use self::heartbeat::{Asking, Beat, Heartbeat};
pub use self::mail_address::MailAddress;
pub use self::mail_server::{Encryption, MailLimits, MailServer};
pub use self::message::{Kind, Message};
pub use self::signature::SigningSecret;
pub use self::smtp::Smtp;
pub use self::template::Template;
pub use self::unfit::Unfit;
pub use self::web::WebLimits;
pub use self::web_address::WebAddress;
pub use self::webhook::Webhook;

/// What came of one try.
///
/// Its texts are sentences for the owner, without a full stop. What can be mended without touching the message, a wrong
/// password for instance, is tried again: nothing is lost while somebody mends it. How often, and until when, is for
/// whoever asks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Sending {
    /// It was taken.
    Sent {
        /// By whom, and with which words.
        answer: String,
    },
    /// It was not taken, or nobody knows; a later try may do, and does no harm.
    TryAgain {
        /// Why.
        why: String,
        /// No sooner than after so long, where there is reason to wait.
        after: Option<Duration>,
    },
    /// It was refused for good.
    GiveUp {
        /// Why, and what to do.
        why: String,
    },
}

impl Sending {
    /// To be tried again, whenever it suits.
    fn later(why: impl Into<String>) -> Self {
        Self::TryAgain { why: why.into(), after: None }
    }

    /// Refused by what is set up, which the owner can mend: tried again, but seldom.
    fn once_mended(why: impl Into<String>) -> Self {
        Self::TryAgain { why: why.into(), after: Some(UNTIL_MENDED) }
    }

    /// Refused for good.
    fn never(why: impl Into<String>) -> Self {
        Self::GiveUp { why: why.into() }
    }
}

/// How long somebody is left alone who refuses the sign-in: services lock out who fails often (common practice, no
/// published source).
const UNTIL_MENDED: Duration = Duration::from_secs(15 * 60);

/// A time-out, as an owner reads it: `300 ms`, `20 s`, `12 minutes`.
fn span(limit: Duration) -> String {
    match limit.as_secs() {
        0 => format!("{} ms", limit.as_millis()),
        seconds if seconds < 120 => format!("{seconds} s"),
        seconds => format!("{} minutes", seconds / 60),
    }
}
