//! Whom connections trust: the system's certificates, and those that the owner gives; and which hosts are this machine.
//!
//! Must not know what the connection is for. Start reading at [`client`].

use std::error::Error;
use std::io;
use std::sync::Arc;

use rustls::ClientConfig;
use rustls::crypto::{CryptoProvider, ring};
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject as _;
use rustls_platform_verifier::Verifier;
use url::Host;

use super::Unfit;

/// The cryptography, named here so that nothing depends on what the process has provided.
fn provider() -> Arc<CryptoProvider> {
    Arc::new(ring::default_provider())
}

/// How to talk to somebody whose certificate is signed by one that the system trusts, or by one of these.
pub(super) fn client(roots: &[CertificateDer<'static>]) -> Result<Arc<ClientConfig>, Unfit> {
    let unprepared = |error: rustls::Error| Unfit::NotPrepared(error.to_string());
    let verifier = Verifier::new_with_extra_roots(roots.iter().cloned(), provider()).map_err(unprepared)?;
    let config = ClientConfig::builder_with_provider(provider())
        .with_safe_default_protocol_versions()
        .map_err(unprepared)?
        .dangerous()
        .with_custom_certificate_verifier(Arc::new(verifier))
        .with_no_client_auth();
    Ok(Arc::new(config))
}

/// The certificates of a PEM file, at least one, each of which can sign others.
pub(super) fn certificates(pem: &[u8]) -> Result<Vec<CertificateDer<'static>>, Unfit> {
    let read: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(pem).collect();
    let roots = read.map_err(|_| Unfit::Certificates("no PEM that can be read"))?;
    if roots.is_empty() {
        return Err(Unfit::Certificates("no certificate"));
    }
    let mut store = rustls::RootCertStore::empty();
    let are_certificates = roots.iter().all(|root| store.add(root.clone()).is_ok());
    if are_certificates { Ok(roots) } else { Err(Unfit::Certificates("something that is no certificate")) }
}

/// Whether a host is this machine by its very name.
pub(super) fn is_loopback<S: AsRef<str>>(host: &Host<S>) -> bool {
    match host {
        Host::Domain(name) => name.as_ref() == "localhost",
        Host::Ipv4(address) => address.is_loopback(),
        Host::Ipv6(address) => address.is_loopback(),
    }
}

/// What is wrong with a certificate, where that is why there is no connection.
pub(super) fn certificate_trouble(error: &(dyn Error + 'static)) -> Option<&'static str> {
    use rustls::CertificateError::*;
    let Some(rustls::Error::InvalidCertificate(why)) = encryption_trouble(error) else { return None };
    Some(match why {
        Expired | ExpiredContext { .. } => "it has run out",
        NotValidYet | NotValidYetContext { .. } => "it is not valid yet; check the clock of this machine",
        NotValidForName | NotValidForNameContext { .. } => "it is that of another name",
        UnknownIssuer | BadSignature => "nobody whom this machine trusts has signed it",
        Revoked => "it was taken back",
        _ => "it does not hold",
    })
}

/// What is wrong with the encryption, where that is why there is no connection.
pub(super) fn encryption_trouble<'e>(error: &'e (dyn Error + 'static)) -> Option<&'e rustls::Error> {
    let mut next = Some(error);
    while let Some(error) = next {
        if let Some(trouble) = error.downcast_ref() {
            return Some(trouble);
        }
        // An error of input and output hands on not what it holds but what that holds.
        next = match error.downcast_ref::<io::Error>().and_then(io::Error::get_ref) {
            Some(held) => Some(held),
            None => error.source(),
        };
    }
    None
}

/// What the system says at the bottom of an error, without an address.
pub(super) fn innermost(error: &(dyn Error + 'static)) -> String {
    let mut inner = error;
    while let Some(next) = inner.source() {
        inner = next;
    }
    inner.to_string()
}
