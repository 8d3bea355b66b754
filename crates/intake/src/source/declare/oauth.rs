//! How an access token is had: the declared half of OAuth 2.0.
//!
//! Must not know any token. Start reading at [`OAuth`].

use std::path::PathBuf;

use url::Url;

use super::secret::SecretReference;

/// A sign-in with an access token. Source: RFC 6749.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OAuth {
    /// In which way tokens are had.
    pub grant: Grant,
    /// Where tokens are asked for; HTTPS, or HTTP on loopback, with no user and no fragment. It may be on another host
    /// than the source.
    pub token_address: Url,
    /// As which client; not empty.
    pub client_id: String,
    /// Where the client's secret is kept; `None` of a public client. Of client credentials there is one.
    pub secret: Option<SecretReference>,
    /// How the secret is shown at the token address.
    pub client_authentication: ClientAuthentication,
    /// What the tokens are for, words with blanks between them; left out where the service decides.
    pub scope: Option<String>,
    /// What is asked beside, such as `audience` or `resource` (RFC 8707): name and value, none of them secret, none of them
    /// a name that the protocol uses itself.
    pub parameters: Vec<(String, String)>,
}

/// In which way tokens are had.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Grant {
    /// The client asks for itself; nobody signs in. Source: RFC 6749, section 4.4.
    ClientCredentials,
    /// Somebody has signed in, once, in a browser. Source: RFC 6749, section 4.1, with RFC 7636.
    AuthorizationCode {
        /// Where the browser is sent; as [`OAuth::token_address`].
        authorize_address: Url,
        /// In which file the tokens are kept; `None` where the declaration leaves that to whoever reads it.
        tokens: Option<PathBuf>,
    },
}

/// How a client shows its secret at the token address. Source: RFC 6749, section 2.3.1.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ClientAuthentication {
    /// By the basic scheme.
    Basic,
    /// Among the parameters.
    Body,
}

impl OAuth {
    /// The file in which the tokens are kept, where it is known; `None` where none is kept.
    pub fn tokens(&self) -> Option<&PathBuf> {
        match &self.grant {
            Grant::AuthorizationCode { tokens, .. } => tokens.as_ref(),
            Grant::ClientCredentials => None,
        }
    }

    /// Whether somebody has to sign in.
    pub fn needs_somebody(&self) -> bool {
        matches!(self.grant, Grant::AuthorizationCode { .. })
    }
}
