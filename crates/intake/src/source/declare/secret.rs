//! Where a secret is kept, and fetching it from there.
//!
//! The secret is never in the configuration and never in an error. Must not know what it is for. Start reading at
//! [`SecretReference::read`].

use std::ffi::OsString;
use std::path::PathBuf;

use secrecy::SecretString;
use serde::de::{Deserialize, Deserializer, Error as _};
use thiserror::Error;

use super::keys::SecretKeys;

/// Where systemd puts the credentials of a service. Source: systemd.exec(5), 'LoadCredential='.
const CREDENTIALS_DIRECTORY: &str = "CREDENTIALS_DIRECTORY";

/// No token, key or password is longer; a larger file is another one than was meant.
const MAX_SECRET_BYTES: u64 = 64 * 1024;

/// Where a secret is kept.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum SecretReference {
    /// In a file of its own.
    File(PathBuf),
    /// In an environment variable.
    Environment(String),
    /// In a systemd credential of this name.
    Credential(String),
}

/// A secret that could not be had.
#[derive(Debug, Error)]
pub enum SecretError {
    /// The variable is not set.
    #[error("the environment variable {0} is not set")]
    NotSet(String),
    /// The variable, or the file, holds nothing.
    #[error("{0} is empty")]
    Empty(String),
    /// It is no text, or has a line break inside.
    #[error("{0} does not hold one line of text")]
    NotOneLine(String),
    /// The file is too large to be a secret.
    #[error("{0} is larger than {MAX_SECRET_BYTES} bytes")]
    TooLarge(String),
    /// The file cannot be read.
    #[error("{0} cannot be read: {1}")]
    Unreadable(String, #[source] std::io::Error),
    /// There is no folder of credentials.
    #[error(
        "{CREDENTIALS_DIRECTORY} is not set: the credential {0} is there only for a service that systemd starts with LoadCredential={0}"
    )]
    NoCredentials(String),
}

/// From the keys of a configuration; a secret that was typed there is refused and not repeated.
impl<'de> Deserialize<'de> for SecretReference {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        super::check::secret(&SecretKeys::deserialize(deserializer)?).map_err(D::Error::custom)
    }
}

impl SecretReference {
    /// Fetches the secret, without the line break at its end; `environment` answers a variable by name.
    ///
    /// # Errors
    /// [`SecretError`], with where it was looked for and never with what was found.
    pub fn read(&self, environment: &dyn Fn(&str) -> Option<OsString>) -> Result<SecretString, SecretError> {
        match self {
            Self::Environment(name) => {
                let place = format!("the environment variable {name}");
                let value = environment(name).ok_or_else(|| SecretError::NotSet(name.clone()))?;
                let value = value.into_string().map_err(|_| SecretError::NotOneLine(place.clone()))?;
                one_line(value, place)
            }
            Self::File(path) => of_file(path.clone()),
            Self::Credential(name) => {
                let folder = environment(CREDENTIALS_DIRECTORY);
                let folder = folder.ok_or_else(|| SecretError::NoCredentials(name.clone()))?;
                of_file(PathBuf::from(folder).join(name))
            }
        }
    }
}

fn of_file(path: PathBuf) -> Result<SecretString, SecretError> {
    let place = format!("the file {}", path.display());
    let unreadable = |error| SecretError::Unreadable(place.clone(), error);
    if std::fs::metadata(&path).map_err(unreadable)?.len() > MAX_SECRET_BYTES {
        return Err(SecretError::TooLarge(place));
    }
    let bytes = std::fs::read(&path).map_err(unreadable)?;
    let text = String::from_utf8(bytes).map_err(|_| SecretError::NotOneLine(place.clone()))?;
    one_line(text, place)
}

fn one_line(text: String, place: String) -> Result<SecretString, SecretError> {
    let line = text.strip_suffix('\n').map_or(text.as_str(), |text| text.strip_suffix('\r').unwrap_or(text));
    match line {
        "" => Err(SecretError::Empty(place)),
        line if line.contains(char::is_control) => Err(SecretError::NotOneLine(place)),
        line => Ok(SecretString::from(line)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use secrecy::ExposeSecret;

    fn nothing(_: &str) -> Option<OsString> {
        None
    }

    #[test]
    fn a_secret_comes_from_a_variable_a_file_or_a_credential() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("key");
        std::fs::write(&file, "moss-and-stone\r\n").unwrap();
        let environment = |name: &str| match name {
            "TILL_KEY" => Some(OsString::from("moss-and-stone")),
            "CREDENTIALS_DIRECTORY" => Some(dir.path().into()),
            _ => None,
        };
        for reference in [
            SecretReference::Environment("TILL_KEY".into()),
            SecretReference::File(file),
            SecretReference::Credential("key".into()),
        ] {
            let secret = reference.read(&environment).unwrap();
            assert_eq!(secret.expose_secret(), "moss-and-stone");
            assert!(!format!("{secret:?}").contains("moss"), "{secret:?}");
        }
    }

    #[test]
    fn a_secret_that_cannot_be_had_is_said_without_showing_it() {
        let dir = tempfile::tempdir().unwrap();
        let write = |name: &str, bytes: &[u8]| {
            std::fs::write(dir.path().join(name), bytes).unwrap();
            SecretReference::File(dir.path().join(name))
        };
        let place = dir.path().display();
        for (reference, want) in [
            (SecretReference::Environment("TILL_KEY".into()), "the environment variable TILL_KEY is not set".to_owned()),
            (write("empty", b"\n"), format!("the file {place}/empty is empty")),
            (write("lines", b"moss\nstone"), format!("the file {place}/lines does not hold one line of text")),
            (write("bytes", b"moss\xff"), format!("the file {place}/bytes does not hold one line of text")),
            (write("large", &[b'm'; 65_537]), format!("the file {place}/large is larger than 65536 bytes")),
            (
                SecretReference::Credential("key".into()),
                "CREDENTIALS_DIRECTORY is not set: the credential key is there only for a service that systemd starts \
                 with LoadCredential=key"
                    .to_owned(),
            ),
        ] {
            let error = reference.read(&nothing).unwrap_err();
            assert_eq!(error.to_string(), want);
        }
        let missing = SecretReference::File(dir.path().join("none")).read(&nothing).unwrap_err();
        assert!(
            missing.to_string().starts_with(&format!("the file {place}/none cannot be read: ")),
            "{missing}"
        );
    }
}
