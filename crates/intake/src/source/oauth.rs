//! The access tokens of a sign-in by OAuth 2.0: had, kept, renewed, and lost.
//!
//! `begun` is the one time that somebody signs in, in a browser; `held` has a token ready for each request and renews it;
//! `address` asks the token address; `file` keeps tokens so that a crash loses none. No error and no [`std::fmt::Debug`]
//! holds a token, a code, a secret or what a service says in words of its own. Must not know what is asked for with a token.
//! Start reading at [`Begun`] and `held`.
//!
//! Sources: RFC 6749 (the grants), RFC 6750 (bearer tokens), RFC 7636 (PKCE, by S256 alone), RFC 8252 (a redirection to
//! loopback), RFC 9700 (what not to do: no implicit grant, no password grant, no redirection of a request with a secret).
//!
//! # What comes of it
//!
//! | the token address | what comes of it |
//! |---|---|
//! | does not answer, 5xx, 408, 429, `temporarily_unavailable` | tried again as the source itself would be; the sign-in is not lost |
//! | `invalid_grant` | signed out ([`Lost::Revoked`]): somebody has to sign in |
//! | `invalid_client`, `unauthorized_client`, 401 | signed out ([`Lost::Client`]): what is declared of the client is wrong |
//! | any other error | signed out ([`Lost::Request`]): what is declared of the request is wrong |
//! | HTML, no JSON, no access token, a type that is not bearer, a redirection | no token ([`TokenTrouble`]); the sign-in is not lost |
//!
//! A source that answers 401 has its token renewed once for each request; where it refuses the new one too, it is signed out
//! ([`Lost::Refused`]).

mod address;
mod begun;
mod file;
mod held;

use std::path::PathBuf;
use std::time::Duration;

use secrecy::SecretString;
use thiserror::Error;

pub use begun::{Begun, Code, NotAnswered};
pub(crate) use held::{Bearer, TokenHolder};

use super::http::Trouble;

/// Why a sign-in does not hold: a clause each.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Lost {
    /// There is no file of tokens.
    #[error("nobody has signed in yet")]
    Nobody,
    /// It was taken back, or has run out.
    #[error("the sign-in was taken back or has run out (invalid_grant)")]
    Revoked,
    /// There is only an access token, and that has run out.
    #[error("the access token has run out, and the service has given nothing to renew it with")]
    NotRenewable,
    /// The tokens are not for what is declared now; they must not go there.
    #[error("the tokens that are kept are of another client or another token address than is declared now")]
    OfAnother,
    /// The source does not take a token that was just had, or not for this.
    #[error("the source refused the access token (status {status})")]
    Refused {
        /// 401 or 403.
        status: u16,
    },
    /// The token address does not take the client.
    #[error("the token address refused the client ({code})")]
    Client {
        /// The error of RFC 6749, or the status.
        code: &'static str,
    },
    /// The token address does not take the request.
    #[error("the token address refused the request ({code})")]
    Request {
        /// The error, where it is one that is known.
        code: &'static str,
    },
    /// Others can read the tokens.
    #[error("the file {} is not used, for it holds tokens and others than its owner can read it", .path.display())]
    FileOpen {
        /// The file.
        path: PathBuf,
    },
    /// The tokens cannot be read.
    #[error("the file {} with the tokens cannot be read: {said}", .path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says, or what the file is not.
        said: String,
    },
}

impl Lost {
    /// What to do, a sentence; `source` is the name of the source.
    pub fn help(&self, source: &str) -> String {
        let sign_in = format!("`everyline source sign-in {source}`");
        match self {
            Self::Nobody => format!("Sign in with {sign_in}."),
            Self::Revoked | Self::NotRenewable | Self::OfAnother => format!("Sign in anew with {sign_in}."),
            Self::Refused { .. } => format!(
                "Sign in anew with {sign_in}; if that does not help, check scope and parameters under sign_in."
            ),
            Self::Client { .. } => {
                format!(
                    "Correct client_id, secret or client_authentication under sign_in; {sign_in} tries them."
                )
            }
            Self::Request { .. } => {
                format!("Correct scope or parameters under sign_in; {sign_in} tries them.")
            }
            Self::FileOpen { path } => format!(
                "Make it its owner's alone (chmod 600 {}); where others may have read it, sign in anew with {sign_in}.",
                path.display()
            ),
            Self::File { .. } => {
                format!("Let everyline read it, or sign in anew with {sign_in}, which replaces it.")
            }
        }
    }
}

/// Why no access token could be had, though nothing is said of the sign-in: a clause each.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum TokenTrouble {
    /// Asking for it.
    #[error("{}", at_token_address(.0))]
    Asking(Trouble),
    /// It is another kind of answer.
    #[error("the token address answered {0}")]
    Answer(&'static str),
    /// It was had, and could not be kept; it is not used before.
    #[error("the file {} with the tokens could not be written: {said}", .path.display())]
    NotKept {
        /// The file.
        path: PathBuf,
        /// What the system says.
        said: String,
    },
    /// Somebody else is renewing it all the time.
    #[error("another process has held {} for more than {} seconds", .path.display(), .within.as_secs())]
    Held {
        /// The file of the lock.
        path: PathBuf,
        /// How long was waited.
        within: Duration,
    },
}

impl TokenTrouble {
    /// Whether it may be gone a moment later.
    pub fn may_pass(&self) -> bool {
        match self {
            Self::Asking(trouble) => trouble.may_pass(),
            Self::Held { .. } => true,
            Self::Answer(_) | Self::NotKept { .. } => false,
        }
    }

    /// What to do, a sentence.
    pub fn help(&self) -> &'static str {
        match self {
            Self::Asking(Trouble::Busy { .. } | Trouble::Cut) => {
                "The sign-in is not lost by that; if it stays so, tell whoever runs the service that signs in."
            }
            Self::Asking(trouble) if trouble.may_pass() => {
                "The sign-in is not lost by that; if it stays so, check token_address under sign_in of the source, and that \
                 this machine has a way to it."
            }
            Self::Asking(_) | Self::Answer(_) => {
                "Check token_address under sign_in of the source with what it documents."
            }
            Self::NotKept { .. } => {
                "Make room there, and let everyline write into its folder; what it has is kept until then only while it runs."
            }
            Self::Held { .. } => "Look for another everyline that hangs, and end it.",
        }
    }
}

/// What happened there, in the words of what happens at a source.
fn at_token_address(trouble: &Trouble) -> String {
    let said = trouble.to_string();
    match said.strip_prefix("the source ") {
        Some(did) => format!("the token address {did}"),
        None => format!("at the token address, {said}"),
    }
}

/// Why there is no access token, and when to come again where that was said.
pub(crate) struct Missed {
    pub(crate) trouble: Trouble,
    pub(crate) wait: Option<Duration>,
}

impl From<Trouble> for Missed {
    fn from(trouble: Trouble) -> Self {
        Self { trouble, wait: None }
    }
}

impl From<Lost> for Missed {
    fn from(lost: Lost) -> Self {
        Trouble::SignedOut { lost: Box::new(lost) }.into()
    }
}

impl From<TokenTrouble> for Missed {
    fn from(trouble: TokenTrouble) -> Self {
        Trouble::NoToken { trouble: Box::new(trouble) }.into()
    }
}

/// What the token address gave.
#[derive(Clone, Debug)]
struct Granted {
    access: SecretString,
    refresh: Option<SecretString>,
    /// How long the access token lasts; `None` where that is not said.
    lasts: Option<Duration>,
}
