//! Posts a message to an address: as a signed event, or as the JSON that a chat room expects.
//!
//! Must not know which. Start reading at [`Webhook::send`].

use chrono::{DateTime, Utc};
use reqwest::header::{CONTENT_TYPE, HeaderValue};

use super::event::{self, event};
use super::signature::{checked, signatures};
use super::web::{Answer, Web};
use super::{Message, Sending, SigningSecret, Template, Unfit, WebAddress, WebLimits, reply};

/// The largest body. Events are to be of some kilobytes; common receivers take one megabyte (common practice, no published
/// source).
const MAX_BODY_BYTES: usize = 1024 * 1024;

/// An address that messages are posted to.
#[derive(Clone, Debug)]
pub struct Webhook {
    web: Web,
    address: WebAddress,
    form: Form,
    secrets: Vec<SigningSecret>,
}

#[derive(Clone, Debug)]
enum Form {
    Event { source: String },
    Room(Template),
}

impl Webhook {
    /// Posts signed events: CloudEvents 1.0 in JSON, signed as Standard Webhooks 1.0.0 says by each of the secrets. `source`
    /// is an address or a path that tells this shop's events from others'.
    ///
    /// # Errors
    /// [`Unfit::Source`], [`Unfit::SigningSecrets`], [`Unfit::NotPrepared`].
    pub fn events(address: WebAddress, source: &str, secrets: Vec<SigningSecret>) -> Result<Self, Unfit> {
        let form = Form::Event { source: event::checked_source(source)? };
        Ok(Self { web: Web::new(WebLimits::default())?, address, form, secrets: checked(secrets)? })
    }

    /// Posts what a chat room expects. Such addresses are commonly secret themselves, and nothing is signed.
    ///
    /// # Errors
    /// [`Unfit::NotPrepared`].
    pub fn room(address: WebAddress, template: Template) -> Result<Self, Unfit> {
        let form = Form::Room(template);
        Ok(Self { web: Web::new(WebLimits::default())?, address, form, secrets: Vec::new() })
    }

    /// It with signatures, where the receiver of a template's JSON looks at them.
    ///
    /// # Errors
    /// [`Unfit::SigningSecrets`].
    pub fn signed_by(self, secrets: Vec<SigningSecret>) -> Result<Self, Unfit> {
        Ok(Self { secrets: checked(secrets)?, ..self })
    }

    /// It with other time-outs.
    ///
    /// # Errors
    /// [`Unfit::NotPrepared`].
    pub fn within(self, limits: WebLimits) -> Result<Self, Unfit> {
        Ok(Self { web: Web::new(limits)?, ..self })
    }

    /// What is posted: the same octets for the same message.
    pub fn body(&self, message: &Message) -> Vec<u8> {
        let json = match &self.form {
            Form::Event { source } => event(message, source),
            Form::Room(template) => template.filled(message),
        };
        json.to_string().into_bytes()
    }

    /// Posts it once; `at` is the time of this try.
    ///
    /// Any 2xx is taken. 408, 425, 429, 5xx and trouble on the way are tried again, as late as `Retry-After` says. So are 401
    /// and 403: the owner can mend them at the receiver, or the clock of this machine, and what is refused for a signature is
    /// the same message tomorrow. Any other status is given up: the same body at the same address gets the same answer.
    pub async fn send(&self, message: &Message, at: DateTime<Utc>) -> Sending {
        let host = self.address.host();
        let body = self.body(message);
        if body.len() > MAX_BODY_BYTES {
            return Sending::never(format!(
                "what is to be posted to {host} has {} kB, and at most {} are sent; look at the page instead",
                body.len() / 1024,
                MAX_BODY_BYTES / 1024
            ));
        }
        let kind = match self.form {
            Form::Event { .. } => event::MEDIA_TYPE,
            Form::Room(_) => "application/json",
        };
        let mut request = self.web.http().post(self.address.url().clone()).header(CONTENT_TYPE, kind);
        if !self.secrets.is_empty() {
            let id = message.wire_id();
            let timestamp = at.timestamp();
            let signature = signatures(&self.secrets, &id, timestamp, &body);
            request = request
                .header("webhook-id", id)
                .header("webhook-timestamp", HeaderValue::from(timestamp))
                .header("webhook-signature", signature);
        }
        let answer = self.web.ask(request.body(body), at).await;
        self.outcome(answer, message)
    }

    fn outcome(&self, answer: Answer, message: &Message) -> Sending {
        let host = self.address.host();
        let (code, retry_after, words) = match answer {
            Answer::Status { code, retry_after, words } => (code, retry_after, words),
            Answer::None(why) => return Sending::later(format!("{host} {why}")),
            Answer::Certificate(why) => {
                return Sending::once_mended(format!(
                    "nothing was sent: the certificate of {host} is not to be trusted: {why}"
                ));
            }
        };
        if let 200..=299 = code {
            return Sending::Sent { answer: format!("{host} took it ({code})") };
        }
        let said = format!("{code}{}", self.said(&words, message));
        match code {
            429 => Sending::TryAgain {
                why: format!("{host} gets too many messages just now ({said})"),
                after: retry_after,
            },
            408 | 425 | 500..=599 => {
                Sending::TryAgain { why: format!("{host} does not take it now ({said})"), after: retry_after }
            }
            401 | 403 => Sending::once_mended(format!(
                "{host} does not let it in ({said}): check the secret at both ends, and the clock of this machine"
            )),
            300..=399 => Sending::never(format!(
                "{host} sends it on to another address ({said}), which is not followed: put the new address in its place"
            )),
            404 => Sending::never(format!("{host} has nothing at this address ({said}): check it")),
            410 => Sending::never(format!(
                "{host} says that nobody is at this address any more ({said}): take it out, or put a new one in its place"
            )),
            413 => Sending::never(format!("{host} takes no message of this size ({said})")),
            _ => Sending::never(format!(
                "{host} refuses it ({said}): check the address{}",
                self.and_template()
            )),
        }
    }

    fn and_template(&self) -> &'static str {
        match self.form {
            Form::Event { .. } => "",
            Form::Room(_) => " and the template",
        }
    }

    /// The receiver's own words behind its status, where they may be shown.
    fn said(&self, words: &str, message: &Message) -> String {
        let signing: Vec<String> = self.secrets.iter().map(SigningSecret::written).collect();
        let mut secrets = self.address.secrets();
        if let Form::Room(template) = &self.form {
            secrets.extend(template.secrets());
        }
        secrets.extend(signing.iter().map(String::as_str));
        reply::shown(words, &secrets, message).map(|words| format!(", {words}")).unwrap_or_default()
    }
}
