//! By which names the server may be called.
//!
//! A page of somebody else can have its own name lead to this machine (DNS rebinding), and would then be taken for ours by a
//! browser: so a request that calls the server by a name that nobody gave it is refused. An address cannot be made to lead
//! elsewhere. Must not know requests. Start reading at [`Hosts::knows`].

use std::net::IpAddr;

use super::Unfit;

/// The names.
#[derive(Debug)]
pub struct Hosts {
    /// Whether it is served on this machine alone.
    is_loopback: bool,
    names: Vec<String>,
}

impl Hosts {
    /// Of a server that listens at an address, with names that the owner gave it.
    pub fn checked(listen: IpAddr, names: &[String]) -> Result<Self, Unfit> {
        let is_name = |name: &&String| {
            !name.is_empty()
                && name.len() <= 253
                && name.chars().all(|c| c.is_ascii_alphanumeric() || "-.".contains(c))
        };
        if let Some(name) = names.iter().find(|name| !is_name(name)) {
            return Err(Unfit::NoHost(name.clone()));
        }
        let names = names.iter().map(|name| name.to_ascii_lowercase()).collect();
        Ok(Self { is_loopback: listen.to_canonical().is_loopback(), names })
    }

    /// Whether a header line `Host` is one of them, whatever its port.
    pub fn knows(&self, host: &str) -> bool {
        let name = without_port(host).to_ascii_lowercase();
        let address = name.strip_prefix('[').and_then(|name| name.strip_suffix(']')).unwrap_or(&name);
        match address.parse::<IpAddr>() {
            Ok(address) => !self.is_loopback || address.to_canonical().is_loopback(),
            Err(_) => name == "localhost" || self.names.contains(&name),
        }
    }
}

/// `shop.example` of `shop.example:8080`, `[::1]` of `[::1]:8080`.
fn without_port(host: &str) -> &str {
    match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) && !name.ends_with(':') => {
            // `::1` without brackets has no port, and is no host either.
            if name.contains(':') && !name.ends_with(']') { host } else { name }
        }
        _ => host,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_addresses_localhost_and_the_names_that_the_owner_gave_are_known() {
        let loopback =
            Hosts::checked("127.0.0.1".parse().unwrap(), &["Desk.shop.example".to_owned()]).unwrap();
        let open = Hosts::checked("0.0.0.0".parse().unwrap(), &[]).unwrap();
        for (host, on_loopback, in_the_open) in [
            ("127.0.0.1:8765", true, true),
            ("127.0.0.1", true, true),
            ("[::1]:8765", true, true),
            ("LOCALHOST:8765", true, true),
            ("desk.shop.example", true, false),
            ("desk.shop.example:443", true, false),
            ("192.168.1.5:8765", false, true),
            ("evil.example", false, false),
            ("evil.example:8765", false, false),
            ("127.0.0.1.evil.example", false, false),
            ("localhost.evil.example", false, false),
            ("", false, false),
            ("127.0.0.1:80:80", false, false),
            ("localhost:port", false, false),
        ] {
            assert_eq!((loopback.knows(host), open.knows(host)), (on_loopback, in_the_open), "{host}");
        }
        assert!(Hosts::checked("127.0.0.1".parse().unwrap(), &["a b".to_owned()]).is_err());
    }
}
