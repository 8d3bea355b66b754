//! Sends one message by the way that is configured for its recipient, once.
//!
//! Secrets are fetched for each try, so that one that was mended counts at once. Must not know what is due. Start reading at
//! [`send`].

use std::ffi::OsString;

use chrono::{DateTime, NaiveDate, Utc};
use digest::compose::{Composed, Pages};
use digest::deliver::{
    Kind, MailAddress, Message, Sending as Sent, SigningSecret, Smtp, Template, WebAddress, Webhook,
};
use intake::source::declare::SecretReference;
use secrecy::{ExposeSecret, SecretString};
use serde_json::Value;

use crate::configuration::{MailServer, Recipient, Sending, Way};

/// Where events come from where there are no pages.
const USUAL_SOURCE: &str = "/everyline";

/// A message, as it is kept until it is sent. `day` is that of the recipient.
pub fn kept(
    id: String,
    kind: Kind,
    composed: Composed,
    pages: Option<&Pages>,
    day: NaiveDate,
    now: DateTime<Utc>,
) -> Message {
    let Composed { subject, text, html, data } = composed;
    let link = pages.map(Pages::to_string);
    Message { id, kind, written_at: now, day, subject, text, html, data, link }
}

/// A kept message, from its JSON; `None` where it is none.
pub fn of_content(content: &str) -> Option<Message> {
    serde_json::from_str(content).ok()
}

/// The JSON of a message.
pub fn content(message: &Message) -> String {
    // Texts and values always serialise.
    serde_json::to_string(message).unwrap_or_default()
}

/// A message that says no more than that it arrived.
pub fn test_message(id: String, day: NaiveDate, now: DateTime<Utc>) -> Message {
    let text = "This is a test. If you read it, everyline can reach you here: its digest and its alerts will come the \
                same way.\n";
    Message {
        id,
        kind: Kind::Test,
        written_at: now,
        day,
        subject: "everyline can reach you".to_owned(),
        text: text.to_owned(),
        html: format!(
            "<!DOCTYPE html><html lang=\"en\"><meta charset=\"utf-8\"><title>everyline can reach you</title><p>{}</p></html>",
            text.trim_end()
        ),
        data: Value::Null,
        link: None,
    }
}

/// Tries once to send a message to a recipient.
pub async fn send(sending: &Sending, recipient: &Recipient, content: &str, now: DateTime<Utc>) -> Sent {
    let Some(message) = of_content(content) else {
        return Sent::GiveUp { why: "what is kept of it cannot be read".to_owned() };
    };
    // What is set up wrongly can be mended while the message waits.
    let unfit = |why: String| Sent::TryAgain { why, after: None };
    match &recipient.way {
        Way::Mail(to) => {
            let Some(server) = &sending.mail else { return unfit("no mail server is configured".to_owned()) };
            match mailer(server).and_then(|mailer| Ok((mailer, address(to)?))) {
                Ok((mailer, to)) => mailer.send(&message, &to).await,
                Err(why) => unfit(why),
            }
        }
        Way::Event { .. } | Way::Chat { .. } => match webhook(sending, &recipient.way) {
            Ok(webhook) => webhook.send(&message, now).await,
            Err(why) => unfit(why),
        },
    }
}

/// Whether everything is there that a message to a recipient takes, but for the receiver.
///
/// # Errors
/// What is missing, in words.
pub fn can_send(sending: &Sending, recipient: &Recipient) -> Result<(), String> {
    match (&recipient.way, &sending.mail) {
        (Way::Mail(_), Some(server)) => mailer(server).map(|_| ()),
        (Way::Mail(_), None) => Err("no mail server is configured".to_owned()),
        (way, _) => webhook(sending, way).map(|_| ()),
    }
}

/// What sends mails by a server.
pub fn mailer(server: &MailServer) -> Result<Smtp, String> {
    let mut prepared = server.server.clone();
    if let Some((user, password)) = &server.sign_in {
        prepared = prepared.signed_in(user, secret(password)?).map_err(|unfit| unfit.to_string())?;
    }
    if let Some(file) = &server.authority {
        let pem =
            std::fs::read(file).map_err(|error| format!("{} cannot be read ({error})", file.display()))?;
        prepared = prepared.trusting(&pem).map_err(|unfit| format!("{}: {unfit}", file.display()))?;
    }
    Smtp::new(prepared, address(&server.from)?).map_err(|unfit| unfit.to_string())
}

/// An address that was checked when the configuration was read.
pub fn address(text: &str) -> Result<MailAddress, String> {
    MailAddress::parse(text).map_err(|unfit| unfit.to_string())
}

/// What posts to an address.
pub fn webhook(sending: &Sending, way: &Way) -> Result<Webhook, String> {
    let to = |address: &SecretReference| {
        WebAddress::parse(secret(address)?.expose_secret()).map_err(|unfit| unfit.to_string())
    };
    match way {
        Way::Mail(_) => Err("it is told by mail".to_owned()),
        Way::Event { address, secrets } => {
            let secrets: Result<Vec<SigningSecret>, String> = secrets
                .iter()
                .map(|reference| {
                    SigningSecret::parse(secret(reference)?.expose_secret())
                        .map_err(|unfit| unfit.to_string())
                })
                .collect();
            let source = sending.pages.as_ref().map_or(USUAL_SOURCE, Pages::as_str);
            Webhook::events(to(address)?, source, secrets?).map_err(|unfit| unfit.to_string())
        }
        Way::Chat { address, template } => {
            let text = std::fs::read_to_string(template)
                .map_err(|error| format!("the template {} cannot be read ({error})", template.display()))?;
            let template = Template::parse(&text)
                .map_err(|unfit| format!("{}: {unfit}; {}", template.display(), unfit.help()))?;
            Webhook::room(to(address)?, template).map_err(|unfit| unfit.to_string())
        }
    }
}

/// Fetches a secret from where it is kept.
pub fn secret(reference: &SecretReference) -> Result<SecretString, String> {
    let environment = |name: &str| -> Option<OsString> { std::env::var_os(name) };
    reference.read(&environment).map_err(|error| error.to_string())
}
