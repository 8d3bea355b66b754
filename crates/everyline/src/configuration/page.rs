//! Where the page is served, and to whom: the keys `[page]`, checked.
//!
//! Must not know how it is served. Start reading at [`Page`].

use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;

use intake::source::declare::SecretReference;
use serde::Deserialize;
use serde::de::Error as _;
use web::access::Role;

use super::problem::Problem;
use super::values::{Text, Written};

/// Where the page is where nothing is said: on this machine alone.
pub const USUAL_ADDRESS: SocketAddr = SocketAddr::new(std::net::IpAddr::V4(Ipv4Addr::LOCALHOST), 8765);

/// Where the page is served, and to whom.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Page {
    /// Where; `None`: not at all.
    pub listen: Option<SocketAddr>,
    /// Whether the file speaks of it.
    pub is_given: bool,
    /// The hash of the password with which somebody may act.
    pub password_hash: Option<SecretReference>,
    /// The hash of the password with which somebody may look.
    pub look_password_hash: Option<SecretReference>,
    /// Tokens of programs.
    pub tokens: Vec<(Role, SecretReference)>,
    /// Names by which browsers may call it, beside its addresses and `localhost`.
    pub hosts: Vec<String>,
    /// Whether a server in front of it speaks TLS.
    pub behind_tls: bool,
}

impl Default for Page {
    fn default() -> Self {
        Self {
            listen: Some(USUAL_ADDRESS),
            is_given: false,
            password_hash: None,
            look_password_hash: None,
            tokens: Vec::new(),
            hosts: Vec::new(),
            behind_tls: false,
        }
    }
}

/// `[page]`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { listen = \"127.0.0.1:8765\" }")]
pub(super) struct PageKeys {
    listen: Option<Text<Listen>>,
    password_hash: Option<SecretReference>,
    look_password_hash: Option<SecretReference>,
    #[serde(default)]
    tokens: Vec<TokenKeys>,
    #[serde(default)]
    hosts: Vec<String>,
    #[serde(default)]
    behind_tls: bool,
}

#[derive(Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { role = \"look\", token = { environment = \"NAME\" } }"
)]
struct TokenKeys {
    role: Text<Role>,
    token: SecretReference,
}

/// An address, or none.
struct Listen(Option<SocketAddr>);

impl Written for Listen {
    const EXPECTED: &str = r#"an address with a port, such as "127.0.0.1:8765", or "off""#;

    fn parse(text: &str) -> Option<Self> {
        match text {
            "off" => Some(Self(None)),
            text => text.parse().ok().map(|address| Self(Some(address))),
        }
    }
}

impl Written for Role {
    const EXPECTED: &str = r#"one of "look" and "act""#;

    fn parse(text: &str) -> Option<Self> {
        match text {
            "look" => Some(Self::Look),
            "act" => Some(Self::Act),
            _ => None,
        }
    }
}

impl PageKeys {
    /// What is in force.
    ///
    /// # Errors
    /// Where anybody on the network could act, or a name is none.
    pub(super) fn checked(self) -> Result<Page, Problem> {
        let listen = self.listen.map_or(Some(USUAL_ADDRESS), |listen| listen.0.0);
        let is_open =
            self.password_hash.is_none() && self.look_password_hash.is_none() && self.tokens.is_empty();
        if let Some(address) = listen.filter(|address| is_open && !address.ip().to_canonical().is_loopback())
        {
            let text = format!(
                "is {address}, which can be reached from the network, and nobody is asked who they are; expected is a \
                 password_hash beside it (`everyline config password` makes one), or an address of this machine alone, such as \
                 \"{USUAL_ADDRESS}\""
            );
            return Err(Problem::custom(text).under("listen"));
        }
        let is_name = |name: &String| {
            !name.is_empty()
                && name.len() <= 253
                && name.chars().all(|c| c.is_ascii_alphanumeric() || "-.".contains(c))
        };
        if let Some(name) = self.hosts.iter().find(|name| !is_name(name)) {
            let text = format!(
                "has {name:?}, which is no name of a host; expected are names without a port, such as \"desk.shop.example\""
            );
            return Err(Problem::custom(text).under("hosts"));
        }
        Ok(Page {
            listen,
            is_given: true,
            password_hash: self.password_hash,
            look_password_hash: self.look_password_hash,
            tokens: self.tokens.into_iter().map(|token| (token.role.0, token.token)).collect(),
            hosts: self.hosts,
            behind_tls: self.behind_tls,
        })
    }
}

impl Page {
    /// Makes paths that are not whole begin at a folder.
    pub(super) fn in_folder(&mut self, folder: &Path) {
        let tokens = self.tokens.iter_mut().map(|(_, token)| token);
        let all = self.password_hash.iter_mut().chain(&mut self.look_password_hash).chain(tokens);
        for reference in all {
            if let SecretReference::File(path) = reference {
                *path = folder.join(&*path);
            }
        }
    }
}
