//! The client of one source.
//!
//! Must not know what is asked for. Start reading at [`Client::get`].

mod change;

use std::error::Error as _;
use std::sync::{Arc, Once};

use chrono::{DateTime, TimeDelta, Utc};
use data_encoding::BASE64;
use reqwest::header::{
    ACCEPT, AUTHORIZATION, CONTENT_TYPE, DATE, ETAG, HeaderMap, HeaderName, HeaderValue, IF_MODIFIED_SINCE,
    IF_NONE_MATCH, LAST_MODIFIED, LINK, LOCATION, RETRY_AFTER,
};
use reqwest::redirect::Policy;
use reqwest::{Response, StatusCode};
use secrecy::{ExposeSecret, SecretString};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;
use url::{Origin, Url, form_urlencoded};

pub(crate) use change::{Change, Told, Unsure};

use super::link::{LinkError, next_link};
use super::rate::Pace;
use super::wait::{back_off, http_date, retry_after};
use super::{Limits, Trouble, World};
use crate::source::declare::{Service, SignIn};
use crate::source::oauth::{Bearer, Lost, Missed, TokenHolder};

/// Of `Last-Modified`: within so long before `Date` a change may not show in it. Source: RFC 7232, 2.2.2.
const WEAK_WITHIN: TimeDelta = TimeDelta::seconds(60);

/// The longest validator that is kept; servers give some dozen bytes.
const MAX_VALIDATOR_BYTES: usize = 512;

/// How many values an answer may have: a hundred orders have some ten thousand. Each takes from 70 to 500 bytes of memory,
/// and may take two in the answer.
const MAX_VALUES: usize = 1_000_000;

/// How long a source is left alone at most because it says so. One that says more has made a mistake, and would never be
/// asked again.
const LONGEST_LEFT_ALONE: TimeDelta = TimeDelta::days(1);

/// Asks one source; all that ask it share one, for the sake of its rate.
pub struct Client {
    http: reqwest::Client,
    origin: Origin,
    sign_in: Option<SignedIn>,
    secret: Option<SecretString>,
    pace: Pace,
    limits: Limits,
    world: Arc<dyn World>,
}

/// What every request bears so that it is answered.
enum SignedIn {
    /// This header line, marked as secret.
    Header(HeaderName, HeaderValue),
    /// An access token, from whoever has and renews it.
    Token(Box<TokenHolder>),
}

/// The header line of a sign-in, as it stands for one request.
#[derive(Clone)]
enum Shown {
    Header(HeaderName, HeaderValue),
    Token(Bearer),
}

/// A client that cannot be made.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum ClientError {
    /// The source has a sign-in and its secret was not given.
    #[error("the secret of the sign-in is not there")]
    NoSecret,
    /// The secret holds what no header line may.
    #[error(
        "the secret of the sign-in cannot stand in a header line; check that it is the right one, without line breaks"
    )]
    SecretUnfit,
    /// A header line of the source cannot be sent.
    #[error("the header {0:?} cannot be sent; check its name and its value")]
    HeaderUnfit(String),
    /// Where tokens are kept is not said.
    #[error("it is not said where the tokens of the sign-in are kept; say so with tokens under sign_in")]
    NoTokenFile,
    /// The system lacks what it takes, certificates for instance.
    #[error("no connection can be prepared ({0})")]
    NotPrepared(String),
}

/// What tells whether an answer has changed since.
#[derive(Clone, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Validators {
    /// `ETag`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    etag: Option<String>,
    /// `Last-Modified`, where there is no `ETag` and it is old enough to be relied on.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    last_modified: Option<String>,
}

impl Validators {
    /// Whether there is anything to tell by.
    pub fn is_empty(&self) -> bool {
        self.etag.is_none() && self.last_modified.is_none()
    }

    /// The texts that the source gave.
    pub(crate) fn given(&self) -> impl Iterator<Item = &str> {
        [&self.etag, &self.last_modified].into_iter().flatten().map(String::as_str)
    }
}

/// An answer.
#[derive(Debug)]
pub enum Answer {
    /// It is what it was.
    Unchanged {
        /// When the source was asked, by its own clock.
        asked_at_source: Option<DateTime<Utc>>,
    },
    /// It is this.
    Json(Box<Json>),
}

/// An answer in JSON.
pub struct Json {
    /// What it says.
    pub body: Value,
    /// When the source was asked by its own clock, as its `Date` less the time that the answer took has it.
    pub asked_at_source: Option<DateTime<Utc>>,
    /// When the answer came.
    pub came_at: DateTime<Utc>,
    /// How far the clock of the source is ahead of this machine's; a second or two say nothing.
    pub ahead: Option<TimeDelta>,
    /// Empty where the source offers none.
    pub validators: Validators,
    /// The address that answered, after redirections.
    pub address: Url,
    headers: HeaderMap,
}

impl Json {
    /// A header line, where it is there and text.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.get(name)?.to_str().ok()
    }

    /// The address of the next page, by the header line `Link`.
    ///
    /// # Errors
    /// Where it does not say it clearly.
    pub fn next_link(&self) -> Result<Option<Url>, LinkError> {
        let mut values = Vec::new();
        for value in self.headers.get_all(LINK) {
            values.push(value.to_str().map_err(|_| LinkError::Unreadable)?);
        }
        next_link(values, &self.address)
    }
}

/// Shows nothing of what it says.
impl std::fmt::Debug for Json {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Json").field("came_at", &self.came_at).finish_non_exhaustive()
    }
}

/// Shows nothing of the sign-in.
impl std::fmt::Debug for Client {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Client").field("limits", &self.limits).finish_non_exhaustive()
    }
}

/// What came of one try.
enum Try {
    Done(Answer),
    Failed(Missed),
}

impl From<Missed> for Try {
    fn from(missed: Missed) -> Self {
        Self::Failed(missed)
    }
}

impl From<Trouble> for Try {
    fn from(trouble: Trouble) -> Self {
        Self::Failed(trouble.into())
    }
}

impl Shown {
    /// The request with the sign-in in it, where there is one.
    fn add(shown: Option<&Self>, request: reqwest::RequestBuilder) -> reqwest::RequestBuilder {
        match shown {
            Some(Self::Header(name, value)) => request.header(name, value.clone()),
            Some(Self::Token(bearer)) => request.header(AUTHORIZATION, bearer.header()),
            None => request,
        }
    }
}

impl Client {
    /// A client for a source. `secret` is that of its sign-in.
    ///
    /// # Errors
    /// [`ClientError`].
    pub fn new(
        service: &Service,
        secret: Option<SecretString>,
        limits: Limits,
        world: Arc<dyn World>,
    ) -> Result<Self, ClientError> {
        let mut headers = HeaderMap::new();
        for (name, value) in &service.headers {
            let unfit = || ClientError::HeaderUnfit(name.clone());
            let value = HeaderValue::from_str(value).map_err(|_| unfit())?;
            headers.insert(HeaderName::try_from(name.as_str()).map_err(|_| unfit())?, value);
        }
        let sign_in = match (&service.sign_in, &secret) {
            (None, _) => None,
            (Some(sign_in), None) if sign_in.secret().is_some() => return Err(ClientError::NoSecret),
            (Some(SignIn::OAuth(oauth)), secret) => {
                let holder = TokenHolder::new(oauth, secret.clone(), limits, Arc::clone(&world))?;
                Some(SignedIn::Token(Box::new(holder)))
            }
            (Some(_), None) => return Err(ClientError::NoSecret),
            (Some(sign_in), Some(secret)) => Some(signed_in(sign_in, secret)?),
        };
        Ok(Self {
            http: connection(headers, &limits)?,
            origin: service.address.origin(),
            sign_in,
            secret,
            pace: Pace::new(service.at_most),
            limits,
            world,
        })
    }

    /// The limits it keeps to.
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// Time and chance.
    pub(crate) fn world(&self) -> &dyn World {
        &*self.world
    }

    /// Whether a text holds the secret of the sign-in, or a token that was had with it, so that it must not be kept.
    pub(crate) fn is_told_by(&self, text: &str) -> bool {
        let tokens = match &self.sign_in {
            Some(SignedIn::Token(holder)) => holder.had(),
            Some(SignedIn::Header(..)) | None => Vec::new(),
        };
        self.secret.iter().chain(&tokens).map(ExposeSecret::expose_secret).any(|secret| {
            let mut decoded = form_urlencoded::parse(text.as_bytes());
            text.contains(secret)
                || decoded.any(|(name, value)| name.contains(secret) || value.contains(secret))
        })
    }

    /// The header line of the sign-in, had where it takes that. `refused` is one that the source did not take.
    async fn shown(&self, refused: Option<&Bearer>) -> Result<Option<Shown>, Missed> {
        Ok(match &self.sign_in {
            None => None,
            Some(SignedIn::Header(name, value)) => Some(Shown::Header(name.clone(), value.clone())),
            Some(SignedIn::Token(holder)) => Some(Shown::Token(holder.bearer(refused).await?)),
        })
    }

    /// What it means that the source refuses who asks.
    fn refused(&self, status: u16) -> Trouble {
        match &self.sign_in {
            Some(SignedIn::Token(holder)) if holder.needs_somebody() => {
                Trouble::SignedOut { lost: Box::new(Lost::Refused { status }) }
            }
            _ => Trouble::SignIn { status },
        }
    }

    /// Whether an address is on the origin of the source.
    pub(crate) fn is_own(&self, url: &Url) -> bool {
        url.origin() == self.origin
    }

    /// Asks for an address, again where the trouble may pass, and reads the answer as JSON.
    ///
    /// With validators of an earlier answer it may answer that nothing has changed since.
    ///
    /// # Errors
    /// [`Trouble`], of the last try.
    pub async fn get(&self, url: &Url, validators: &Validators) -> Result<Answer, Trouble> {
        let mut tries = 0;
        loop {
            tries += 1;
            let missed = match self.once(url, validators).await {
                Try::Done(answer) => return Ok(answer),
                Try::Failed(missed) => missed,
            };
            if !self.is_tried_again(tries, &missed).await {
                return Err(missed.trouble);
            }
        }
    }

    /// Whether to try again after so many tries; waits until then.
    async fn is_tried_again(&self, tries: u32, missed: &Missed) -> bool {
        let is_too_long = missed.wait.is_some_and(|wait| wait > self.limits.longest_retry_after);
        if !missed.trouble.may_pass() || tries >= self.limits.tries || is_too_long {
            return false;
        }
        let wait = match missed.wait {
            Some(wait) if !wait.is_zero() => wait,
            _ => back_off(tries, &self.limits, self.world.random()),
        };
        self.world.sleep(wait).await;
        true
    }

    async fn once(&self, url: &Url, validators: &Validators) -> Try {
        let mut url = url.clone();
        let mut shown = match self.shown(None).await {
            Ok(shown) => shown,
            Err(missed) => return missed.into(),
        };
        let (mut redirects, mut was_renewed) = (0, false);
        while redirects <= self.limits.redirects {
            if !self.is_own(&url) {
                return Trouble::Elsewhere { origin: url.origin().ascii_serialization() }.into();
            }
            let wait = self.pace.turn(self.world.now());
            if !wait.is_zero() {
                self.world.sleep(wait).await;
            }
            if !self.world.may_ask() {
                return Trouble::NoMore.into();
            }
            let sent_at = self.world.now();
            let response = match self.request(&url, validators, shown.as_ref()).send().await {
                Ok(response) => response,
                Err(error) => return not_answered(&error, &self.limits).into(),
            };
            match response.status() {
                StatusCode::MOVED_PERMANENTLY
                | StatusCode::FOUND
                | StatusCode::SEE_OTHER
                | StatusCode::TEMPORARY_REDIRECT
                | StatusCode::PERMANENT_REDIRECT => match location(&url, response.headers()) {
                    Some(next) => (url, redirects) = (next, redirects + 1),
                    None => return Trouble::Refused { status: response.status().as_u16() }.into(),
                },
                // An access token may end before its time: once, another is had.
                StatusCode::UNAUTHORIZED if !was_renewed && matches!(shown, Some(Shown::Token(_))) => {
                    let Some(Shown::Token(refused)) = shown.take() else { continue };
                    shown = match self.shown(Some(&refused)).await {
                        Ok(shown) => shown,
                        Err(missed) => return missed.into(),
                    };
                    was_renewed = true;
                }
                _ => return self.answered(url, response, sent_at).await,
            }
        }
        Trouble::Redirects { limit: self.limits.redirects }.into()
    }

    fn request(&self, url: &Url, validators: &Validators, shown: Option<&Shown>) -> reqwest::RequestBuilder {
        let request = Shown::add(shown, self.http.get(url.clone()));
        // Source: RFC 9110, 13.1.3: where there is the one, the other is not looked at.
        match validators {
            Validators { etag: Some(etag), .. } => request.header(IF_NONE_MATCH, etag),
            Validators { last_modified: Some(moment), .. } => request.header(IF_MODIFIED_SINCE, moment),
            Validators { .. } => request,
        }
    }

    async fn answered(&self, address: Url, mut response: Response, sent_at: DateTime<Utc>) -> Try {
        let now = self.world.now();
        let date = response.headers().get(DATE).and_then(|date| date.to_str().ok()).and_then(http_date);
        let took = (now - sent_at).max(TimeDelta::zero());
        let asked_at_source = date.and_then(|date| date.checked_sub_signed(took));
        let status = response.status();
        let code = status.as_u16();
        match status {
            StatusCode::OK | StatusCode::NON_AUTHORITATIVE_INFORMATION => {}
            StatusCode::NOT_MODIFIED => return Try::Done(Answer::Unchanged { asked_at_source }),
            StatusCode::UNAUTHORIZED | StatusCode::FORBIDDEN => {
                return self.refused(code).into();
            }
            _ => {
                return busy(status, response.headers(), now)
                    .unwrap_or_else(|| Trouble::Refused { status: code }.into())
                    .into();
            }
        }
        let body = match read_body(&mut response, self.limits.bytes, &self.limits).await {
            Ok(body) => body,
            Err(trouble) => return trouble.into(),
        };
        if body.iter().filter(|byte| b",:[{".contains(byte)).count() > MAX_VALUES {
            return Trouble::TooMany { limit: MAX_VALUES }.into();
        }
        let content_type = response.headers().get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
        let body = match json(&body, content_type, code) {
            Ok(body) => body,
            Err(trouble) => return trouble.into(),
        };
        let headers = std::mem::take(response.headers_mut());
        Try::Done(Answer::Json(Box::new(Json {
            body,
            asked_at_source,
            came_at: self.world.now(),
            ahead: date.map(|date| date - now),
            validators: validators_of(&headers, date),
            address,
            headers,
        })))
    }
}

/// What asks, with these header lines and one that asks for JSON: nothing is followed by itself.
pub(crate) fn connection(mut headers: HeaderMap, limits: &Limits) -> Result<reqwest::Client, ClientError> {
    provide_cryptography();
    headers.entry(ACCEPT).or_insert(HeaderValue::from_static("application/json"));
    reqwest::Client::builder()
        .user_agent(concat!("everyline/", env!("CARGO_PKG_VERSION")))
        .default_headers(headers)
        .redirect(Policy::none())
        // Whoever asks says what is asked again, and what is not.
        .retry(reqwest::retry::never())
        // What is not declared does not see a request with a secret in it.
        .no_proxy()
        .connect_timeout(limits.connect)
        .timeout(limits.answer)
        .build()
        .map_err(|error| ClientError::NotPrepared(innermost(&error)))
}

/// What a status says that may be another a moment later; `None` of any other.
pub(crate) fn busy(status: StatusCode, headers: &HeaderMap, now: DateTime<Utc>) -> Option<Missed> {
    let code = status.as_u16();
    match status {
        StatusCode::TOO_MANY_REQUESTS | StatusCode::SERVICE_UNAVAILABLE => {
            let date = headers.get(DATE).and_then(|date| date.to_str().ok()).and_then(http_date);
            let value = headers.get(RETRY_AFTER).and_then(|value| value.to_str().ok());
            let wait = value.and_then(|value| retry_after(value, date, now));
            let not_before = wait
                .map(|wait| TimeDelta::from_std(wait).unwrap_or(TimeDelta::MAX).min(LONGEST_LEFT_ALONE))
                .and_then(|wait| now.checked_add_signed(wait))
                .filter(|at| *at > now);
            Some(Missed { trouble: Trouble::Busy { status: code, not_before }, wait })
        }
        _ if status.is_server_error() || status == StatusCode::REQUEST_TIMEOUT => {
            Some(Trouble::Busy { status: code, not_before: None }.into())
        }
        _ => None,
    }
}

/// The body, unpacked; reading stops where it is too large.
pub(crate) async fn read_body(
    response: &mut Response,
    most: usize,
    limits: &Limits,
) -> Result<Vec<u8>, Trouble> {
    let mut body = Vec::new();
    loop {
        match response.chunk().await {
            Ok(Some(chunk)) if body.len() + chunk.len() > most => {
                return Err(Trouble::TooLarge { limit: most });
            }
            Ok(Some(chunk)) => body.extend_from_slice(&chunk),
            Ok(None) => return Ok(body),
            Err(error) if error.is_timeout() => return Err(not_answered(&error, limits)),
            Err(_) => return Err(Trouble::Cut),
        }
    }
}

/// Why nothing came.
pub(crate) fn not_answered(error: &reqwest::Error, limits: &Limits) -> Trouble {
    match (error.is_timeout(), error.is_connect()) {
        (true, true) => Trouble::TimedOut { within: limits.connect },
        (true, false) => Trouble::TimedOut { within: limits.answer },
        (false, _) => Trouble::Unreachable { said: innermost(error) },
    }
}

/// The client library takes what the process provides, and stops it where there is nothing.
fn provide_cryptography() {
    static PROVIDED: Once = Once::new();
    PROVIDED.call_once(|| {
        // An error says that somebody has provided it already.
        let _ = rustls::crypto::ring::default_provider().install_default();
    });
}

fn signed_in(sign_in: &SignIn, secret: &SecretString) -> Result<SignedIn, ClientError> {
    let (name, value) = match sign_in {
        SignIn::Header { name, before, .. } => {
            let name = HeaderName::try_from(name.as_str());
            let name = name.map_err(|_| ClientError::HeaderUnfit("of the sign-in".to_owned()))?;
            (name, SecretString::from(format!("{before}{}", secret.expose_secret())))
        }
        // Source: RFC 7617, section 2.
        SignIn::Basic { user, .. } => {
            let pair = SecretString::from(format!("{user}:{}", secret.expose_secret()));
            let coded = BASE64.encode(pair.expose_secret().as_bytes());
            (AUTHORIZATION, SecretString::from(format!("Basic {coded}")))
        }
        SignIn::OAuth(_) => return Err(ClientError::NoSecret),
    };
    let mut value = HeaderValue::from_str(value.expose_secret()).map_err(|_| ClientError::SecretUnfit)?;
    value.set_sensitive(true);
    Ok(SignedIn::Header(name, value))
}

/// Where it was moved to.
fn location(url: &Url, headers: &HeaderMap) -> Option<Url> {
    let mut next = url.join(headers.get(LOCATION)?.to_str().ok()?).ok()?;
    // A sign-in in an address would go before that of the source.
    next.set_username("").ok()?;
    next.set_password(None).ok()?;
    Some(next)
}

fn validators_of(headers: &HeaderMap, date: Option<DateTime<Utc>>) -> Validators {
    let text = |name| {
        let value = headers.get(name).and_then(|value: &HeaderValue| value.to_str().ok());
        value.filter(|value| value.len() <= MAX_VALIDATOR_BYTES).map(str::to_owned)
    };
    if let Some(etag) = text(ETAG) {
        return Validators { etag: Some(etag), last_modified: None };
    }
    let last_modified = text(LAST_MODIFIED).filter(|moment| {
        http_date(moment).zip(date).is_some_and(|(changed, date)| date - changed >= WEAK_WITHIN)
    });
    Validators { etag: None, last_modified }
}

pub(crate) fn json(body: &[u8], content_type: Option<&str>, status: u16) -> Result<Value, Trouble> {
    // RFC 8259, 8.1: whoever reads may pass over the mark.
    let body = body.strip_prefix(b"\xef\xbb\xbf").unwrap_or(body);
    match serde_json::from_slice(body) {
        Ok(value) => Ok(value),
        Err(_) if is_html(body, content_type) => Err(Trouble::Html { status }),
        Err(error) if error.is_eof() && !body.trim_ascii().is_empty() => Err(Trouble::Cut),
        Err(error) => {
            let said = match body.trim_ascii() {
                [] => "it is empty".to_owned(),
                _ => format!("from line {}, column {} on", error.line(), error.column()),
            };
            Err(Trouble::NotJson { status, said })
        }
    }
}

fn is_html(body: &[u8], content_type: Option<&str>) -> bool {
    let kind = content_type.unwrap_or_default().to_ascii_lowercase();
    kind.contains("html") || body.trim_ascii_start().starts_with(b"<")
}

/// What the system says, without the address.
fn innermost(error: &reqwest::Error) -> String {
    let mut inner = error.source();
    while let Some(next) = inner.and_then(std::error::Error::source) {
        inner = Some(next);
    }
    inner.map_or_else(|| "the request could not be sent".to_owned(), ToString::to_string)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_json_is_told_apart() {
        let kind = |body: &[u8], content_type| json(body, content_type, 200);
        assert!(kind(b"\xef\xbb\xbf {\"a\": 1}", Some("text/plain")).is_ok());
        assert!(kind(b"[]", Some("text/html")).is_ok());
        for body in [&b"{\"orders\": [{\"number\": \"10"[..], b"[1, 2", b"\"abc", b"[tru"] {
            assert_eq!(kind(body, Some("application/json")), Err(Trouble::Cut), "{body:?}");
        }
        for (body, content_type) in
            [(&b" <!doctype html><p>Sign in"[..], None), (b"Sign in", Some("text/html; charset=utf-8"))]
        {
            assert_eq!(kind(body, content_type), Err(Trouble::Html { status: 200 }));
        }
        for (body, said) in [
            (&b""[..], "it is empty"),
            (b" \n", "it is empty"),
            (b"{\"name\": moss}", "from line 1, column 10 on"),
            (b"{} {}", "from line 1, column 4 on"),
            (b"\"\xff\"", "from line 1, column 2 on"),
        ] {
            let want = Trouble::NotJson { status: 200, said: said.to_owned() };
            assert_eq!(kind(body, None), Err(want), "{body:?}");
        }
    }
}
