//! Asking the token address: one POST, and what its answer means.
//!
//! Must not know where tokens are kept. Start reading at [`TokenAddress::ask`].

use std::sync::Arc;
use std::time::Duration;

use data_encoding::BASE64;
use reqwest::StatusCode;
use reqwest::header::{AUTHORIZATION, CONTENT_TYPE, HeaderMap, HeaderValue};
use secrecy::{ExposeSecret, SecretString};
use serde::Deserialize;
use serde_json::Value;
use url::form_urlencoded;

use super::{Granted, Lost, Missed, TokenTrouble};
use crate::source::declare::{ClientAuthentication, OAuth};
use crate::source::http::{
    ClientError, Limits, Trouble, World, busy, connection, json, not_answered, read_body,
};

/// The longest answer that is read: tokens have some kilobytes at most.
const MAX_ANSWER_BYTES: usize = 64 * 1024;

/// The longest token that is used: servers take header lines of about as much (common practice, no published source).
const MAX_TOKEN_BYTES: usize = 16 * 1024;

/// The errors that may be said. What a service says beyond may hold anything. Sources: RFC 6749, sections 4.1.2.1 and 5.2;
/// RFC 8707, section 2.
const ERRORS: [&str; 10] = [
    "invalid_request",
    "invalid_client",
    "invalid_grant",
    "unauthorized_client",
    "unsupported_grant_type",
    "invalid_scope",
    "invalid_target",
    "access_denied",
    "server_error",
    "temporarily_unavailable",
];

/// Where tokens are asked for, and as whom.
pub(super) struct TokenAddress {
    http: reqwest::Client,
    oauth: OAuth,
    secret: Option<SecretString>,
    limits: Limits,
    world: Arc<dyn World>,
}

/// An answer, of either kind. Source: RFC 6749, sections 5.1 and 5.2.
#[derive(Deserialize)]
struct Said {
    access_token: Option<SecretString>,
    token_type: Option<String>,
    /// Some write it in quotes.
    expires_in: Option<Value>,
    refresh_token: Option<SecretString>,
    error: Option<String>,
}

impl TokenAddress {
    pub(super) fn new(
        oauth: &OAuth,
        secret: Option<SecretString>,
        limits: Limits,
        world: Arc<dyn World>,
    ) -> Result<Self, ClientError> {
        let http = connection(HeaderMap::new(), &limits)?;
        Ok(Self { http, oauth: oauth.clone(), secret, limits, world })
    }

    pub(super) fn oauth(&self) -> &OAuth {
        &self.oauth
    }

    pub(super) fn world(&self) -> &dyn World {
        &*self.world
    }

    pub(super) fn limits(&self) -> &Limits {
        &self.limits
    }

    /// Asks once, with these parameters beside those of the client.
    pub(super) async fn ask(&self, own: &[(&str, &str)]) -> Result<Granted, Missed> {
        let request = self.request(own);
        let asking = |trouble| Missed::from(TokenTrouble::Asking(trouble));
        if !self.world.may_ask() {
            return Err(asking(Trouble::NoMore));
        }
        let mut response =
            request.send().await.map_err(|error| asking(not_answered(&error, &self.limits)))?;
        let status = response.status();
        if let Some(Missed { trouble, wait }) = busy(status, response.headers(), self.world.now()) {
            return Err(Missed { wait, ..asking(trouble) });
        }
        // A redirection would take the secret along. Source: RFC 9700, section 4.12.
        if status.is_redirection() {
            return Err(TokenTrouble::Answer("with a redirection, which is not followed").into());
        }
        let body = read_body(&mut response, MAX_ANSWER_BYTES, &self.limits).await.map_err(asking)?;
        let kind = response.headers().get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
        let said = json(&body, kind, status.as_u16());
        match said {
            // Who is not let in need not be told in JSON.
            Err(trouble) if status == StatusCode::UNAUTHORIZED && trouble != Trouble::Cut => {
                Err(Lost::Client { code: "status 401" }.into())
            }
            Err(trouble) => Err(asking(trouble)),
            Ok(said) => self.read(said, status),
        }
    }

    fn request(&self, own: &[(&str, &str)]) -> reqwest::RequestBuilder {
        let mut form = form_urlencoded::Serializer::new(String::new());
        form.extend_pairs(own).extend_pairs(&self.oauth.parameters);
        let mut request = self.http.post(self.oauth.token_address.clone());
        match (&self.secret, self.oauth.client_authentication) {
            (Some(secret), ClientAuthentication::Basic) => {
                request = request.header(AUTHORIZATION, basic(&self.oauth.client_id, secret));
            }
            (Some(secret), ClientAuthentication::Body) => {
                form.append_pair("client_id", &self.oauth.client_id);
                form.append_pair("client_secret", secret.expose_secret());
            }
            (None, _) => {
                form.append_pair("client_id", &self.oauth.client_id);
            }
        }
        request.header(CONTENT_TYPE, "application/x-www-form-urlencoded").body(form.finish())
    }

    fn read(&self, said: Value, status: StatusCode) -> Result<Granted, Missed> {
        let no = |what| Missed::from(TokenTrouble::Answer(what));
        // What serde says of a value repeats it.
        let said: Said = serde_json::from_value(said).map_err(|_| no("with JSON of another shape"))?;
        if let Some(error) = &said.error {
            return Err(self.refused(error, status));
        }
        if !status.is_success() {
            return Err(match status {
                StatusCode::UNAUTHORIZED => Lost::Client { code: "status 401" }.into(),
                _ => TokenTrouble::Asking(Trouble::Refused { status: status.as_u16() }).into(),
            });
        }
        // Source: RFC 6749, section 7.1: a type that is not understood is not used.
        if !said.token_type.is_some_and(|kind| kind.eq_ignore_ascii_case("bearer")) {
            return Err(no("with a token whose type is not bearer"));
        }
        let is_fit = |token: &SecretString| {
            let token = token.expose_secret();
            !token.is_empty()
                && token.len() <= MAX_TOKEN_BYTES
                && token.bytes().all(|byte| (0x21..0x7f).contains(&byte))
        };
        let access = said.access_token.ok_or_else(|| no("without an access token"))?;
        if !is_fit(&access) {
            return Err(no("with an access token that cannot stand in a header line"));
        }
        if said.refresh_token.as_ref().is_some_and(|token| token.expose_secret().len() > MAX_TOKEN_BYTES) {
            return Err(no("with a refresh token that is too long"));
        }
        let refresh = said.refresh_token.filter(|token| !token.expose_secret().is_empty());
        Ok(Granted { access, refresh, lasts: said.expires_in.as_ref().and_then(lasts) })
    }

    fn refused(&self, error: &str, status: StatusCode) -> Missed {
        let code = known(error);
        match code {
            "invalid_grant" if self.oauth.needs_somebody() => Lost::Revoked.into(),
            "invalid_client" | "unauthorized_client" => Lost::Client { code }.into(),
            "server_error" | "temporarily_unavailable" => {
                let trouble = Trouble::Busy { status: status.as_u16(), not_before: None };
                TokenTrouble::Asking(trouble).into()
            }
            _ => Lost::Request { code }.into(),
        }
    }
}

/// An error that may be said.
pub(super) fn known(error: &str) -> &'static str {
    ERRORS.into_iter().find(|known| *known == error).unwrap_or("an error that is not of the standard")
}

/// How long a token lasts: seconds, more than none.
fn lasts(value: &Value) -> Option<Duration> {
    let seconds = match value {
        Value::String(text) => text.trim().parse().ok()?,
        other => other.as_f64()?,
    };
    // Longer than this nobody keeps one; more would not fit a clock.
    const LONGEST: f64 = 10.0 * 365.0 * 86_400.0;
    (seconds.is_finite() && seconds >= 1.0).then(|| Duration::from_secs(seconds.min(LONGEST) as u64))
}

/// The client's id and secret by the basic scheme, each encoded before. Source: RFC 6749, section 2.3.1 and appendix B.
fn basic(client_id: &str, secret: &SecretString) -> HeaderValue {
    let coded = |text: &str| form_urlencoded::byte_serialize(text.as_bytes()).collect::<String>();
    let pair = SecretString::from(format!("{}:{}", coded(client_id), coded(secret.expose_secret())));
    let value = SecretString::from(format!("Basic {}", BASE64.encode(pair.expose_secret().as_bytes())));
    // Base 64 always fits.
    let mut value =
        HeaderValue::from_str(value.expose_secret()).unwrap_or_else(|_| HeaderValue::from_static(""));
    value.set_sensitive(true);
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: RFC 6749, section 2.3.1, the first example.
    #[test]
    fn the_client_shows_itself_as_the_example_of_the_standard_does() {
        let value = basic("s6BhdRkqt3", &SecretString::from("gX1fBat3bV"));
        assert_eq!(value, "Basic czZCaGRSa3F0MzpnWDFmQmF0M2JW");
        assert_eq!(format!("{value:?}"), "Sensitive");
    }

    /// By hand after RFC 6749, appendix B: a blank is a plus, a colon and a per cent sign are encoded.
    #[test]
    fn what_would_be_read_as_something_else_is_encoded_before() {
        let value = basic("till:7", &SecretString::from("moss & 5%"));
        let coded = value.to_str().unwrap().strip_prefix("Basic ").unwrap();
        let plain = String::from_utf8(BASE64.decode(coded.as_bytes()).unwrap()).unwrap();
        assert_eq!(plain, "till%3A7:moss+%26+5%25");
    }

    #[test]
    fn how_long_a_token_lasts_is_read_from_a_number_or_a_text_and_nothing_else() {
        for (value, want) in [
            (serde_json::json!(3600), Some(3_600)),
            (serde_json::json!("3600"), Some(3_600)),
            (serde_json::json!(59.9), Some(59)),
            (serde_json::json!(1e300), Some(315_360_000)),
            (serde_json::json!(0), None),
            (serde_json::json!(-5), None),
            (serde_json::json!("soon"), None),
            (serde_json::json!("inf"), None),
            (serde_json::json!(null), None),
            (serde_json::json!([3600]), None),
        ] {
            assert_eq!(lasts(&value).map(|span| span.as_secs()), want, "{value}");
        }
    }
}
