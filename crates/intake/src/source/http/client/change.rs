//! Asking for a change, once.
//!
//! Nothing that may have been done is asked again, and nothing is followed. Asked again is what was surely not done:
//! where there was no connection, where the sign-in had run out (401), and where the source wants to be asked later
//! (429). Must not know what is changed. Start reading at [`Client::change`].

use reqwest::header::CONTENT_TYPE;
use reqwest::{Method, StatusCode};
use serde_json::Value;
use url::Url;

use super::{Client, MAX_VALUES, Shown, busy, json, not_answered, read_body};
use crate::source::http::Trouble;
use crate::source::oauth::Missed;

/// A request that changes something.
#[derive(Clone)]
pub(crate) struct Change {
    pub(crate) method: Method,
    pub(crate) address: Url,
    /// What it is said to be, and its bytes.
    pub(crate) body: Option<(String, Vec<u8>)>,
}

/// What was answered to a change.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Told {
    /// It is done, as the status says. `None`: with no body.
    Done(Option<Value>),
    /// It is done, as the status says, and the body cannot be read.
    Unreadable(Trouble),
    /// It is not done, and will not be: the status, any of 400 to 499 but 401, 408 and 429.
    Refused(u16),
    /// Nothing tells whether it is done.
    NotKnown(Unsure),
}

/// Why nothing tells whether something was done.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Unsure {
    /// The answer was lost, or is the source's failure.
    Trouble(Trouble),
    /// It leads on, or is of a kind that no change has: the status.
    Status(u16),
}

/// What came of one try.
enum Once {
    Told(Told),
    /// Surely not done.
    NotDone(Missed),
}

impl Client {
    /// Asks for a change, and again only where it was surely not done.
    ///
    /// # Errors
    /// [`Trouble`]: it was not done, and could not be asked or is not to be asked now.
    pub(crate) async fn change(&self, change: &Change) -> Result<Told, Trouble> {
        let mut tries = 0;
        loop {
            tries += 1;
            let missed = match self.change_once(change).await {
                Once::Told(told) => return Ok(told),
                Once::NotDone(missed) => missed,
            };
            if !self.is_tried_again(tries, &missed).await {
                return Err(missed.trouble);
            }
        }
    }

    async fn change_once(&self, change: &Change) -> Once {
        if !self.is_own(&change.address) {
            let origin = change.address.origin().ascii_serialization();
            return Once::NotDone(Trouble::Elsewhere { origin }.into());
        }
        let mut shown = match self.shown(None).await {
            Ok(shown) => shown,
            Err(missed) => return Once::NotDone(missed),
        };
        let mut was_renewed = false;
        loop {
            let wait = self.pace.turn(self.world.now());
            if !wait.is_zero() {
                self.world.sleep(wait).await;
            }
            if !self.world.may_ask() {
                return Once::NotDone(Trouble::NoMore.into());
            }
            let mut request = self.http.request(change.method.clone(), change.address.clone());
            if let Some((kind, body)) = &change.body {
                request = request.header(CONTENT_TYPE, kind).body(body.clone());
            }
            let response = match Shown::add(shown.as_ref(), request).send().await {
                Ok(response) => response,
                Err(error) if error.is_connect() || error.is_builder() => {
                    return Once::NotDone(not_answered(&error, &self.limits).into());
                }
                Err(error) => {
                    let trouble = not_answered(&error, &self.limits);
                    return Once::Told(Told::NotKnown(Unsure::Trouble(trouble)));
                }
            };
            // An access token may end before its time: once, another is had.
            if response.status() == StatusCode::UNAUTHORIZED
                && !was_renewed
                && let Some(Shown::Token(refused)) = &shown
            {
                shown = match self.shown(Some(refused)).await {
                    Ok(shown) => shown,
                    Err(missed) => return Once::NotDone(missed),
                };
                was_renewed = true;
                continue;
            }
            return self.told(response).await;
        }
    }

    async fn told(&self, mut response: reqwest::Response) -> Once {
        let status = response.status();
        let code = status.as_u16();
        let told = match status {
            _ if status.is_success() => match read_body(&mut response, self.limits.bytes, &self.limits).await
            {
                Ok(body) => done(&body, response.headers().get(CONTENT_TYPE), code),
                Err(too_large @ Trouble::TooLarge { .. }) => Told::Unreadable(too_large),
                Err(trouble) => Told::NotKnown(Unsure::Trouble(trouble)),
            },
            StatusCode::UNAUTHORIZED => return Once::NotDone(self.refused(code).into()),
            _ => match busy(status, response.headers(), self.world.now()) {
                Some(missed) if status == StatusCode::TOO_MANY_REQUESTS => return Once::NotDone(missed),
                Some(missed) => Told::NotKnown(Unsure::Trouble(missed.trouble)),
                None if status.is_client_error() => Told::Refused(code),
                None => Told::NotKnown(Unsure::Status(code)),
            },
        };
        Once::Told(told)
    }
}

/// What a body says of something that is done.
fn done(body: &[u8], content_type: Option<&reqwest::header::HeaderValue>, status: u16) -> Told {
    if body.trim_ascii().is_empty() {
        return Told::Done(None);
    }
    if body.iter().filter(|byte| b",:[{".contains(byte)).count() > MAX_VALUES {
        return Told::Unreadable(Trouble::TooMany { limit: MAX_VALUES });
    }
    let content_type = content_type.and_then(|kind| kind.to_str().ok());
    match json(body, content_type, status) {
        Ok(value) => Told::Done(Some(value)),
        Err(Trouble::Cut) => Told::NotKnown(Unsure::Trouble(Trouble::Cut)),
        Err(trouble) => Told::Unreadable(trouble),
    }
}
