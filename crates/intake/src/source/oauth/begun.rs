//! A sign-in by somebody, in a browser: where the browser is sent, what it comes back with, and the tokens for that.
//!
//! Must not know how the browser comes back. Start reading at [`Begun::new`].

use std::sync::Arc;

use data_encoding::BASE64URL_NOPAD;
use secrecy::{ExposeSecret, SecretString};
use sha2::{Digest, Sha256};
use subtle::ConstantTimeEq;
use thiserror::Error;
use url::{Url, form_urlencoded};

use super::address::{TokenAddress, known};
use super::file::TokenFile;
use super::held::keep_first;
use super::{Missed, TokenTrouble};
use crate::source::declare::{Grant, OAuth};
use crate::source::http::{ClientError, Limits, Trouble, World};

/// How many bytes by chance a verifier and a state have. Source: RFC 7636, section 7.1.
const RANDOM_BYTES: usize = 32;

/// Under which path the browser comes back. Source: RFC 8252, section 7.3.
const RETURN_PATH: &str = "/signed-in";

/// The longest code that is taken: one comes in an address.
const MAX_CODE_BYTES: usize = 8 * 1024;

/// A sign-in that has begun: each has a verifier and a state of its own, and is good for one code.
pub struct Begun {
    oauth: OAuth,
    authorize_address: Url,
    file: TokenFile,
    redirect: String,
    verifier: SecretString,
    state: SecretString,
}

/// Shows neither verifier nor state.
impl std::fmt::Debug for Begun {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Begun").field("file", &self.file).finish_non_exhaustive()
    }
}

/// What the browser came back with, for tokens.
#[derive(Clone, Debug)]
pub struct Code(SecretString);

/// What the browser came back with is no code.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum NotAnswered {
    /// Who was asked has said no.
    #[error("it was not allowed there (access_denied)")]
    Denied,
    /// The service has said why not.
    #[error("the service answered with {0}")]
    Error(&'static str),
    /// It is the answer to another sign-in, or somebody has made it up.
    #[error("the answer does not belong to this sign-in: its state is another")]
    OtherState,
    /// There is no code in it.
    #[error("there is no code in the answer")]
    NoCode,
    /// It is no address.
    #[error("it is no address to which the browser was sent")]
    NoAddress,
}

impl Begun {
    /// Begins a sign-in, of which the browser comes back to this port of loopback.
    ///
    /// # Errors
    /// Where nobody has to sign in, it is not said where tokens are kept, or the system gives no random numbers.
    pub fn new(oauth: &OAuth, port: u16) -> Result<Self, ClientError> {
        let Grant::AuthorizationCode { authorize_address, tokens: Some(tokens) } = &oauth.grant else {
            return Err(ClientError::NoTokenFile);
        };
        Ok(Self {
            oauth: oauth.clone(),
            authorize_address: authorize_address.clone(),
            file: TokenFile::new(tokens),
            redirect: format!("http://127.0.0.1:{port}{RETURN_PATH}"),
            verifier: by_chance()?,
            state: by_chance()?,
        })
    }

    /// The address that the browser is to open. Source: RFC 6749, section 4.1.1, and RFC 7636, section 4.3.
    pub fn address(&self) -> Url {
        let mut url = self.authorize_address.clone();
        {
            let mut query = url.query_pairs_mut();
            query.append_pair("response_type", "code");
            query.append_pair("client_id", &self.oauth.client_id);
            query.append_pair("redirect_uri", &self.redirect);
            if let Some(scope) = &self.oauth.scope {
                query.append_pair("scope", scope);
            }
            query.append_pair("state", self.state.expose_secret());
            query.append_pair("code_challenge", &challenge(self.verifier.expose_secret()));
            query.append_pair("code_challenge_method", "S256");
            query.extend_pairs(&self.oauth.parameters);
        }
        url
    }

    /// Where the browser comes back to: the service must know this address.
    pub fn redirect(&self) -> &str {
        &self.redirect
    }

    /// Whether the path and query that a browser asks for are those of its return; it also asks for other things by itself.
    pub fn is_return(target: &str) -> bool {
        target.split('?').next() == Some(RETURN_PATH)
    }

    /// Reads the address to which the browser was sent: a whole one, or what stands behind the host.
    ///
    /// # Errors
    /// [`NotAnswered`]. What the service says in words of its own is not repeated.
    pub fn answered(&self, came: &str) -> Result<Code, NotAnswered> {
        let came = came.trim();
        let query = came.split_once('?').ok_or(NotAnswered::NoAddress)?.1;
        let query = query.split('#').next().unwrap_or_default();
        let all: Vec<_> = form_urlencoded::parse(query.as_bytes()).collect();
        // What is said twice is not sure. Source: RFC 6749, section 3.1.
        let only = |name: &str| {
            let mut values = all.iter().filter(|(known, _)| known == name);
            values.next().filter(|_| values.next().is_none()).map(|(_, value)| value)
        };
        let state = only("state").map(|state| state.as_bytes()).unwrap_or_default();
        if !bool::from(state.ct_eq(self.state.expose_secret().as_bytes())) {
            return Err(NotAnswered::OtherState);
        }
        match (only("error").map(|error| error.as_ref()), only("code")) {
            (Some("access_denied"), _) => Err(NotAnswered::Denied),
            (Some(error), _) => Err(NotAnswered::Error(known(error))),
            (None, Some(code)) if !code.is_empty() && code.len() <= MAX_CODE_BYTES => {
                Ok(Code(SecretString::from(code.as_ref())))
            }
            (None, _) => Err(NotAnswered::NoCode),
        }
    }

    /// Has the tokens for a code, once, and keeps them. Answers whether they can be renewed without anybody.
    ///
    /// # Errors
    /// [`ClientError`] where nothing can be asked; [`Trouble`] where there are no tokens, or they could not be kept. Whatever
    /// was in the file then is still there.
    pub async fn finish(
        self,
        code: Code,
        secret: Option<SecretString>,
        limits: Limits,
        world: Arc<dyn World>,
    ) -> Result<Result<bool, Trouble>, ClientError> {
        let address = TokenAddress::new(&self.oauth, secret, limits, world)?;
        let form = [
            ("grant_type", "authorization_code"),
            ("code", code.0.expose_secret()),
            ("redirect_uri", self.redirect.as_str()),
            ("code_verifier", self.verifier.expose_secret()),
        ];
        Ok(keep_first(&address, &self.file, &form).await.map_err(|Missed { trouble, .. }| trouble))
    }

    /// Whether tokens could be kept: what is asked for before somebody signs in for nothing.
    ///
    /// # Errors
    /// What is the matter with the file or its folder.
    pub async fn is_kept(&self, limits: &Limits) -> Result<(), TokenTrouble> {
        let locked = self.file.lock(limits.connect).await?;
        locked.prepare().map(drop)
    }

    /// The file in which the tokens will be.
    pub fn file(&self) -> &std::path::Path {
        self.file.path()
    }
}

/// Source: RFC 7636, section 4.2.
fn challenge(verifier: &str) -> String {
    BASE64URL_NOPAD.encode(&Sha256::digest(verifier.as_bytes()))
}

/// A text that nobody can guess.
fn by_chance() -> Result<SecretString, ClientError> {
    let mut bytes = [0; RANDOM_BYTES];
    getrandom::fill(&mut bytes).map_err(|error| ClientError::NotPrepared(error.to_string()))?;
    Ok(SecretString::from(BASE64URL_NOPAD.encode(&bytes)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::declare::ClientAuthentication;
    use std::collections::BTreeMap;
    use std::path::PathBuf;

    fn begun() -> Begun {
        let oauth = OAuth {
            grant: Grant::AuthorizationCode {
                authorize_address: "https://till.example/authorize?shop=7".parse().unwrap(),
                tokens: Some(PathBuf::from("tokens.json")),
            },
            token_address: "https://till.example/token".parse().unwrap(),
            client_id: "kittiwake".to_owned(),
            secret: None,
            client_authentication: ClientAuthentication::Basic,
            scope: Some("orders offers".to_owned()),
            parameters: vec![("audience".to_owned(), "till".to_owned())],
        };
        Begun::new(&oauth, 8000).unwrap()
    }

    /// Source: RFC 7636, appendix B.
    #[test]
    fn the_challenge_is_that_of_the_standard() {
        let octets: [u8; 32] = [
            116, 24, 223, 180, 151, 153, 224, 37, 79, 250, 96, 125, 216, 173, 187, 186, 22, 212, 37, 77, 105,
            214, 191, 240, 91, 88, 5, 88, 83, 132, 141, 121,
        ];
        let verifier = BASE64URL_NOPAD.encode(&octets);
        assert_eq!(verifier, "dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk");
        assert_eq!(challenge(&verifier), "E9Melhoa2OwvFrEMTJguCHaoeK1t8URWbuGJSstw-cM");
    }

    #[test]
    fn the_address_to_open_has_all_that_is_declared_and_a_challenge() {
        let begun = begun();
        let address = begun.address();
        assert!(address.as_str().starts_with("https://till.example/authorize?shop=7&response_type=code&"));
        let query: BTreeMap<String, String> =
            address.query_pairs().map(|(name, value)| (name.into(), value.into())).collect();
        for (name, value) in [
            ("shop", "7"),
            ("client_id", "kittiwake"),
            ("redirect_uri", "http://127.0.0.1:8000/signed-in"),
            ("scope", "orders offers"),
            ("audience", "till"),
            ("code_challenge_method", "S256"),
        ] {
            assert_eq!(query[name], value);
        }
        assert_eq!(query["state"], begun.state.expose_secret());
        assert_eq!(query["code_challenge"], challenge(begun.verifier.expose_secret()));
        assert_eq!(query.len(), 9, "{query:?}");
    }

    #[test]
    fn each_sign_in_has_a_verifier_and_a_state_of_its_own_and_shows_neither() {
        let (one, other) = (begun(), begun());
        let all = [&one.verifier, &one.state, &other.verifier, &other.state].map(ExposeSecret::expose_secret);
        for (at, text) in all.iter().enumerate() {
            assert_eq!(text.len(), 43);
            assert!(!all[..at].contains(text));
            assert!(!format!("{one:?} {other:?}").contains(text));
        }
    }

    #[test]
    fn what_the_browser_comes_back_with_is_taken_with_the_right_state_alone() {
        let begun = begun();
        let state = begun.state.expose_secret().to_owned();
        for came in [
            format!("http://127.0.0.1:8000/signed-in?code=moss%2D7&state={state}"),
            format!(" /signed-in?state={state}&code=moss-7&iss=https%3A%2F%2Ftill.example#x \n"),
        ] {
            let code = begun.answered(&came).unwrap();
            assert_eq!(code.0.expose_secret(), "moss-7");
            assert!(!format!("{code:?}").contains("moss"));
        }
        let (shorter, longer) = (&state[1..], format!("{state}A"));
        for (query, want) in [
            (format!("code=moss&state={shorter}"), NotAnswered::OtherState),
            (format!("code=moss&state={longer}"), NotAnswered::OtherState),
            (format!("code=moss&state={state}&state={state}"), NotAnswered::OtherState),
            ("code=moss".to_owned(), NotAnswered::OtherState),
            ("error=access_denied".to_owned(), NotAnswered::OtherState),
            (format!("error=access_denied&state={state}"), NotAnswered::Denied),
            (format!("error=invalid_scope&state={state}&code=moss"), NotAnswered::Error("invalid_scope")),
            (format!("error=moss&state={state}"), NotAnswered::Error("an error that is not of the standard")),
            (format!("state={state}"), NotAnswered::NoCode),
            (format!("code=&state={state}"), NotAnswered::NoCode),
            (format!("code=a&code=b&state={state}"), NotAnswered::NoCode),
            (format!("code={}&state={state}", "m".repeat(8_193)), NotAnswered::NoCode),
        ] {
            let came = format!("http://127.0.0.1:8000/signed-in?{query}");
            assert_eq!(begun.answered(&came).unwrap_err(), want, "{query}");
        }
        assert_eq!(begun.answered("moss").unwrap_err(), NotAnswered::NoAddress);
        for (target, want) in [("/signed-in?code=moss", true), ("/signed-in", true), ("/favicon.ico", false)]
        {
            assert_eq!(Begun::is_return(target), want, "{target}");
        }
    }
}
