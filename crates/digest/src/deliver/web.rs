//! Asks one address once, and says what its answer means.
//!
//! Nothing is followed, no proxy is used. Must not know what is posted. Start reading at [`Web::ask`].

use std::sync::Once;
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use reqwest::header::{CONTENT_TYPE, DATE, HeaderMap, RETRY_AFTER};
use reqwest::redirect::Policy;
use reqwest::{RequestBuilder, Response, StatusCode};

use super::{Unfit, span, trust};

/// How much of an answer is read: its status says what it means, and the first words of an error what to do.
const MAX_ANSWER_BYTES: usize = 64 * 1024;

/// How long somebody is left alone at most who asks for it. One that says more has made a mistake, and would never be told
/// anything again.
const LONGEST_LEFT_ALONE: Duration = Duration::from_secs(24 * 60 * 60);

/// How long one try may take.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct WebLimits {
    /// Until there is a connection.
    pub connect: Duration,
    /// From the first to the last byte of the answer.
    pub whole: Duration,
}

/// Receivers of webhooks are to answer within 15 to 30 seconds (Standard Webhooks 1.0.0, from memory).
impl Default for WebLimits {
    fn default() -> Self {
        Self { connect: Duration::from_secs(10), whole: Duration::from_secs(30) }
    }
}

/// What asks.
#[derive(Clone, Debug)]
pub(super) struct Web {
    http: reqwest::Client,
    limits: WebLimits,
}

/// An answer, or why there is none.
#[derive(Debug)]
pub(super) enum Answer {
    /// The status, what it says of coming again, and the beginning of its words where they are no page.
    Status { code: u16, retry_after: Option<Duration>, words: String },
    /// There is none, for this reason.
    None(String),
    /// There is none: the certificate does not hold, for this reason.
    Certificate(&'static str),
}

impl Web {
    pub(super) fn new(limits: WebLimits) -> Result<Self, Unfit> {
        provide_cryptography();
        let http = reqwest::Client::builder()
            .user_agent(concat!("everyline/", env!("CARGO_PKG_VERSION")))
            .redirect(Policy::none())
            // What is not declared does not see a request with a secret in it.
            .no_proxy()
            // It is asked once a day, or less often than connections are kept.
            .pool_max_idle_per_host(0)
            .connect_timeout(limits.connect)
            .timeout(limits.whole)
            .build()
            .map_err(|error| Unfit::NotPrepared(trust::innermost(&error)))?;
        Ok(Self { http, limits })
    }

    pub(super) fn http(&self) -> &reqwest::Client {
        &self.http
    }

    /// Asks. `at` is the time of this try.
    pub(super) async fn ask(&self, request: RequestBuilder, at: DateTime<Utc>) -> Answer {
        match request.send().await {
            Ok(mut response) => {
                let retry_after = retry_after(response.headers(), at);
                let code = response.status().as_u16();
                // What was taken was taken, whatever follows.
                let words = if response.status() == StatusCode::NO_CONTENT {
                    String::new()
                } else {
                    words(&mut response).await
                };
                Answer::Status { code, retry_after, words }
            }
            Err(error) => match trust::certificate_trouble(&error) {
                Some(why) => Answer::Certificate(why),
                None => Answer::None(self.unanswered(&error)),
            },
        }
    }

    fn unanswered(&self, error: &reqwest::Error) -> String {
        match (error.is_timeout(), error.is_connect()) {
            (true, true) => format!("cannot be reached within {}", span(self.limits.connect)),
            (true, false) => format!("did not answer within {}", span(self.limits.whole)),
            (false, _) if trust::encryption_trouble(error).is_some() => {
                "cannot be talked to encrypted".to_owned()
            }
            (false, true) => format!("cannot be reached ({})", trust::innermost(error)),
            (false, false) => format!("broke off before it answered ({})", trust::innermost(error)),
        }
    }
}

/// The library takes what the process provides, and stops it where there is nothing.
fn provide_cryptography() {
    static PROVIDED: Once = Once::new();
    PROVIDED.call_once(|| {
        // An error says that somebody has provided it already.
        let _ = rustls::crypto::ring::default_provider().install_default();
    });
}

/// What an answer says, as far as it is read; nothing of a page.
async fn words(response: &mut Response) -> String {
    let kind = response.headers().get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    let is_page = kind.is_some_and(|kind| kind.to_ascii_lowercase().contains("html"));
    let mut body = Vec::new();
    while let Ok(Some(chunk)) = response.chunk().await {
        let room = MAX_ANSWER_BYTES - body.len();
        body.extend_from_slice(&chunk[..chunk.len().min(room)]);
        if body.len() == MAX_ANSWER_BYTES {
            break;
        }
    }
    let words = String::from_utf8_lossy(&body);
    if is_page || words.trim_start().starts_with('<') { String::new() } else { words.into_owned() }
}

/// How long it wants to be left alone. Source: RFC 9110, 10.2.3; a moment counts by the clock of whoever says it.
fn retry_after(headers: &HeaderMap, at: DateTime<Utc>) -> Option<Duration> {
    let text = |name| headers.get(name).and_then(|value| value.to_str().ok()).map(str::trim);
    let value = text(RETRY_AFTER)?;
    let wait = if !value.is_empty() && value.bytes().all(|byte| byte.is_ascii_digit()) {
        // More digits than fit mean for ever.
        Duration::from_secs(value.parse().unwrap_or(u64::MAX))
    } else {
        let moment = |value| httpdate::parse_http_date(value).ok().map(DateTime::<Utc>::from);
        let now = text(DATE).and_then(moment).unwrap_or(at);
        moment(value)?.signed_duration_since(now).max(TimeDelta::zero()).to_std().ok()?
    };
    Some(wait.min(LONGEST_LEFT_ALONE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use reqwest::header::HeaderValue;

    fn utc(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    fn seconds(value: &str, date: Option<&str>, at: &str) -> Option<u64> {
        let mut headers = HeaderMap::new();
        headers.insert(RETRY_AFTER, HeaderValue::from_str(value).unwrap());
        if let Some(date) = date {
            headers.insert(DATE, HeaderValue::from_str(date).unwrap());
        }
        retry_after(&headers, utc(at)).map(|span| span.as_secs())
    }

    /// Source: RFC 9110, 10.2.3 (both examples), and 5.6.7 (the three forms of one date).
    #[test]
    fn retry_after_is_read_in_both_forms() {
        let at = "1999-12-31T23:57:59Z";
        for (value, want) in [
            ("120", Some(120)),
            ("Fri, 31 Dec 1999 23:59:59 GMT", Some(120)),
            ("0", Some(0)),
            ("Thu, 31 Dec 1998 23:59:59 GMT", Some(0)),
            ("99999999999999999999999", Some(86_400)),
            ("Fri, 31 Dec 9999 23:59:59 GMT", Some(86_400)),
            ("", None),
            ("soon", None),
            ("-5", None),
            ("1.5", None),
        ] {
            assert_eq!(seconds(value, None, at), want, "{value}");
        }
        for date in
            ["Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT", "Sun Nov  6 08:49:37 1994"]
        {
            assert_eq!(seconds(date, None, "1994-11-06T08:49:07Z"), Some(30), "{date}");
        }
        let date = Some("Fri, 31 Dec 1999 23:59:50 GMT");
        assert_eq!(seconds("Fri, 31 Dec 1999 23:59:59 GMT", date, "2026-11-24T00:00:00Z"), Some(9));
    }
}
