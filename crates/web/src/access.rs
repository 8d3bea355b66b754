//! Who may do what: passwords, tokens, sessions, and by which names the server may be called.
//!
//! Without a password or a token the page is open to whoever is at this machine, and is served on its loopback address
//! alone. Must not know pages. Start reading at [`Access::checked`].

mod cross_site;
mod hosts;
pub mod password;
mod sessions;
mod throttle;

use std::net::SocketAddr;

use axum::http::{HeaderMap, header};
use sha2::{Digest, Sha256};
use subtle::ConstantTimeEq;
use thiserror::Error;
use tokio::sync::Semaphore;

use crate::route::May;
use hosts::Hosts;
use password::PasswordHash;
use sessions::Sessions;
use throttle::Throttle;

pub(crate) use cross_site::is_from_elsewhere;
pub(crate) use sessions::NewCookie;

/// Bytes of the shortest token: 24 of base64 are 144 bits of chance.
const SHORTEST_TOKEN: usize = 24;

/// What a visitor of some role may do.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Role {
    /// Look.
    Look,
    /// Look, and change something.
    Act,
}

impl From<Role> for May {
    fn from(role: Role) -> Self {
        match role {
            Role::Look => Self::Look,
            Role::Act => Self::Act,
        }
    }
}

/// How the page may be reached, as the owner wants it.
#[derive(Clone, Default, Debug)]
pub struct Wanted {
    /// Names by which browsers may call the server, beside its addresses and `localhost`.
    pub hosts: Vec<String>,
    /// Hashes of the passwords, in the form that [`password::hash`] makes, with what each lets somebody do.
    pub passwords: Vec<(Role, String)>,
    /// Tokens for programs, with what each lets it do.
    pub tokens: Vec<(Role, String)>,
    /// Whether browsers reach it by TLS, which a server in front of it does.
    pub is_behind_tls: bool,
}

/// Why a page is not served so.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Unfit {
    /// Open to the network, and nobody is asked who they are.
    #[error("{0} can be reached from the network, and no password or token is set")]
    Open(SocketAddr),
    /// No hash of a password.
    #[error("the hash of the password is not one: {0}")]
    NoHash(String),
    /// A token that can be guessed.
    #[error("a token is shorter than {SHORTEST_TOKEN} characters")]
    ShortToken,
    /// No name of a host.
    #[error("{0:?} is no name of a host")]
    NoHost(String),
    /// No chance is to be had.
    #[error("the system gives no random numbers: {0}")]
    NoChance(String),
}

/// Who may do what.
#[derive(Debug)]
pub struct Access {
    hosts: Hosts,
    passwords: Vec<(Role, PasswordHash)>,
    tokens: Vec<(Role, [u8; 32])>,
    sessions: Sessions,
    throttle: Throttle,
    /// One password is checked at a time: each check takes memory and a core.
    one_check: Semaphore,
}

/// Somebody who asks.
#[derive(Clone, Debug)]
pub struct Visitor {
    /// What they may do.
    pub may: May,
    /// What a form of theirs has to bring along; empty for a program.
    pub stamp: String,
    /// Whether they signed in with a password.
    pub is_signed_in: bool,
    /// Whether they are a program with a token.
    pub is_program: bool,
    /// The value of their cookie.
    pub(crate) cookie: Option<String>,
    /// The cookie that they have to be given.
    pub(crate) new_cookie: Option<NewCookie>,
}

impl Access {
    /// Access to a server that listens at an address.
    ///
    /// # Errors
    /// Where anybody on the network could act, or something of it cannot be used.
    pub fn checked(listen: SocketAddr, wanted: &Wanted) -> Result<Self, Unfit> {
        let is_open = wanted.passwords.is_empty() && wanted.tokens.is_empty();
        if is_open && !listen.ip().to_canonical().is_loopback() {
            return Err(Unfit::Open(listen));
        }
        let mut passwords = Vec::new();
        for (role, hash) in &wanted.passwords {
            passwords.push((*role, PasswordHash::parse(hash).map_err(Unfit::NoHash)?));
        }
        let mut tokens = Vec::new();
        for (role, token) in &wanted.tokens {
            if token.len() < SHORTEST_TOKEN {
                return Err(Unfit::ShortToken);
            }
            tokens.push((*role, Sha256::digest(token.as_bytes()).into()));
        }
        Ok(Self {
            hosts: Hosts::checked(listen.ip(), &wanted.hosts)?,
            passwords,
            tokens,
            sessions: Sessions::new(listen.port(), wanted.is_behind_tls)?,
            throttle: Throttle::default(),
            one_check: Semaphore::new(1),
        })
    }

    /// Whether nobody is asked who they are.
    pub fn is_open(&self) -> bool {
        self.passwords.is_empty() && self.tokens.is_empty()
    }

    /// Whether somebody can sign in with a password.
    pub fn has_passwords(&self) -> bool {
        !self.passwords.is_empty()
    }

    /// Whether it may be called by this name.
    pub(crate) fn knows_host(&self, host: Option<&str>) -> bool {
        host.is_some_and(|host| self.hosts.knows(host))
    }

    /// Who asks, by the header lines of a request. `None` where a token is given that is none.
    pub(crate) fn visitor(&self, headers: &HeaderMap) -> Option<Visitor> {
        if let Some(authorization) = headers.get(header::AUTHORIZATION) {
            let token = authorization.to_str().ok().and_then(bearer)?;
            let digest: [u8; 32] = Sha256::digest(token.as_bytes()).into();
            // All of them are compared, so that time says nothing of which it is.
            let mut role = None;
            for (of, known) in &self.tokens {
                if bool::from(known.ct_eq(&digest)) {
                    role = Some(*of);
                }
            }
            return Some(Visitor {
                may: role?.into(),
                stamp: String::new(),
                is_signed_in: false,
                is_program: true,
                cookie: None,
                new_cookie: None,
            });
        }
        let cookie = self.sessions.cookie_in(headers);
        let role = cookie.as_deref().and_then(|cookie| self.sessions.role(cookie));
        let may = match role {
            Some(role) => role.into(),
            None if self.is_open() => May::Act,
            None => May::Anybody,
        };
        // Somebody who comes from elsewhere did not send the cookie that they may have: it is not replaced.
        let new_cookie = match &cookie {
            None if !is_from_elsewhere(headers) => self.sessions.new_cookie(),
            _ => None,
        };
        let value = cookie.as_deref().or(new_cookie.as_ref().map(|cookie| cookie.value.as_str()));
        Some(Visitor {
            may,
            stamp: value.map(|value| self.sessions.stamp(value)).unwrap_or_default(),
            is_signed_in: role.is_some(),
            is_program: false,
            cookie,
            new_cookie,
        })
    }

    /// Whether a form brought along what it was given.
    pub(crate) fn is_stamped(&self, visitor: &Visitor, stamp: Option<&str>) -> bool {
        let (Some(cookie), Some(stamp)) = (&visitor.cookie, stamp) else { return false };
        self.sessions.stamp(cookie).as_bytes().ct_eq(stamp.as_bytes()).into()
    }

    /// Signs somebody in: answers the cookie to give them. `None` where the password is none; an error is how long they have
    /// to wait.
    pub(crate) async fn sign_in(
        &self,
        peer: Option<std::net::IpAddr>,
        password: &str,
        before: Option<&str>,
    ) -> Result<Option<NewCookie>, std::time::Duration> {
        self.throttle.try_one(peer)?;
        let Ok(_alone) = self.one_check.acquire().await else { return Ok(None) };
        for (role, hash) in &self.passwords {
            if hash.fits(password).await {
                self.throttle.forget(peer);
                if let Some(before) = before {
                    self.sessions.end(before);
                }
                return Ok(self.sessions.begin(*role));
            }
        }
        Ok(None)
    }

    /// Signs somebody out: answers the cookie that takes theirs away.
    pub(crate) fn sign_out(&self, visitor: &Visitor) -> NewCookie {
        if let Some(cookie) = &visitor.cookie {
            self.sessions.end(cookie);
        }
        self.sessions.no_cookie()
    }
}

/// The token of an authorization. Source: RFC 6750, section 2.1; the scheme in any case, RFC 9110, section 11.1.
fn bearer(authorization: &str) -> Option<&str> {
    let (scheme, token) = authorization.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then_some(token.trim())
}
