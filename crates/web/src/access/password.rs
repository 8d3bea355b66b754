//! Passwords, of which only a hash is kept: Argon2id (RFC 9106).
//!
//! Must not know who signs in. Start reading at [`hash`].

use argon2::Argon2;
use argon2::password_hash::phc;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};

/// Characters of the shortest password that is taken: it alone guards what it guards, and can be a few words.
pub const SHORTEST: usize = 12;

/// Bytes of the longest one; a longer one costs time and is no better.
pub const LONGEST: usize = 1_000;

/// The most memory that checking a password may take, in KiB: the machine has 512 MB.
const MOST_MEMORY: u32 = 128 * 1024;

/// The hash of a password, with what it was made by. As text it is in the form of the configuration.
#[derive(Clone)]
pub struct PasswordHash(phc::PasswordHash);

impl std::fmt::Debug for PasswordHash {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("PasswordHash([secret])")
    }
}

/// The hash of a password as text, with chance in it: the same password has another each time.
///
/// With the parameters of the OWASP Password Storage Cheat Sheet: Argon2id, 19 MiB, two passes, one lane.
///
/// # Errors
/// Why it is not taken, as a sentence without a full stop.
pub fn hash(password: &str) -> Result<String, String> {
    if password.chars().count() < SHORTEST {
        return Err(format!(
            "the password has fewer than {SHORTEST} characters; a few words that nobody puts together are a good one"
        ));
    }
    if password.len() > LONGEST {
        return Err(format!("the password has more than {LONGEST} bytes"));
    }
    let hash: Result<phc::PasswordHash, _> = Argon2::default().hash_password(password.as_bytes());
    hash.map(|hash| hash.to_string()).map_err(|error| format!("the password could not be hashed: {error}"))
}

impl PasswordHash {
    /// Reads a hash.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn parse(text: &str) -> Result<Self, String> {
        let hash = phc::PasswordHash::new(text.trim()).map_err(|error| error.to_string())?;
        if hash.algorithm.as_str() != "argon2id" {
            return Err("it is not of argon2id".to_owned());
        }
        let params = argon2::Params::try_from(&hash).map_err(|error| error.to_string())?;
        if params.m_cost() > MOST_MEMORY {
            return Err(format!("checking it takes more than {MOST_MEMORY} KiB of memory"));
        }
        Ok(Self(hash))
    }

    /// Whether it is the hash of this password. It takes 19 MiB, and a core for a while.
    pub async fn fits(&self, password: &str) -> bool {
        if password.len() > LONGEST {
            return false;
        }
        let (hash, password) = (self.0.clone(), password.to_owned());
        let checked = tokio::task::spawn_blocking(move || {
            Argon2::default().verify_password(password.as_bytes(), &hash).is_ok()
        });
        checked.await.unwrap_or(false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_password_fits_its_hash_and_no_other() {
        let text = hash("otter stove puffin").unwrap();
        assert!(text.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{text}");
        assert_ne!(text, hash("otter stove puffin").unwrap());
        let hash = PasswordHash::parse(&format!("{text}\n")).unwrap();
        assert!(hash.fits("otter stove puffin").await);
        assert!(!hash.fits("otter stove puffins").await);
        assert!(!hash.fits("").await);
        assert!(!hash.fits(&"x".repeat(LONGEST + 1)).await);
        assert_eq!(format!("{hash:?}"), "PasswordHash([secret])");
    }

    #[test]
    fn a_short_password_is_not_taken_and_what_is_no_hash_of_this_kind_is_said() {
        assert!(hash("short").unwrap_err().contains("fewer than 12 characters"));
        assert!(hash(&"x".repeat(LONGEST + 1)).unwrap_err().contains("more than 1000 bytes"));
        for text in ["", "otter stove puffin", "$2b$12$abcdefghijklmnopqrstuv"] {
            assert!(PasswordHash::parse(text).is_err(), "{text}");
        }
        let costly =
            "$argon2id$v=19$m=4194304,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$RdescudvJCsgt3ub+b4dWRWJTmaaJObG";
        assert!(PasswordHash::parse(costly).unwrap_err().contains("memory"));
    }
}
