//! Signs what is posted, so that its receiver knows whom it comes from and that it is not an old one.
//!
//! Source: Standard Webhooks 1.0.0, symmetric signatures. Must not know what is signed. Start reading at [`signatures`].

use data_encoding::BASE64;
use hmac::{Hmac, KeyInit as _, Mac as _};
use secrecy::{ExposeSecret, SecretSlice};
use sha2::Sha256;

use super::Unfit;

/// What a secret begins with.
const PREFIX: &str = "whsec_";

/// How long a secret may be. Source: Standard Webhooks 1.0.0, from memory.
const SECRET_BYTES: std::ops::RangeInclusive<usize> = 24..=64;

/// How many sign at once: a new one and an old one, and one to spare. A header line is not to grow without end.
const MAX_SECRETS: usize = 3;

/// A secret that a receiver shares. Its `Debug` does not show it.
#[derive(Clone, Debug)]
pub struct SigningSecret(SecretSlice<u8>);

impl SigningSecret {
    /// Reads `whsec_` and base64.
    ///
    /// # Errors
    /// [`Unfit::SigningSecret`], without showing it.
    pub fn parse(text: &str) -> Result<Self, Unfit> {
        let coded = text.trim().strip_prefix(PREFIX);
        let coded = coded.ok_or(Unfit::SigningSecret("does not begin with whsec_"))?;
        let bytes = BASE64.decode(coded.as_bytes());
        let bytes = bytes.map_err(|_| Unfit::SigningSecret("is not base64 behind its whsec_"))?;
        if !SECRET_BYTES.contains(&bytes.len()) {
            return Err(Unfit::SigningSecret("is shorter than 24 bytes or longer than 64"));
        }
        Ok(Self(bytes.into()))
    }

    /// As it is written.
    pub(super) fn written(&self) -> String {
        BASE64.encode(self.0.expose_secret())
    }

    fn signature(&self, id: &str, timestamp: i64, body: &[u8]) -> Option<String> {
        // A key of any length will do for HMAC.
        let mut mac = Hmac::<Sha256>::new_from_slice(self.0.expose_secret()).ok()?;
        mac.update(format!("{id}.{timestamp}.").as_bytes());
        mac.update(body);
        Some(format!("v1,{}", BASE64.encode(&mac.finalize().into_bytes())))
    }
}

/// The secrets, where there are from one to three.
pub(super) fn checked(secrets: Vec<SigningSecret>) -> Result<Vec<SigningSecret>, Unfit> {
    match secrets.len() {
        1..=MAX_SECRETS => Ok(secrets),
        given => Err(Unfit::SigningSecrets { given }),
    }
}

/// The signatures by all secrets, parted by blanks. `id` has no full stop in it.
pub(super) fn signatures(secrets: &[SigningSecret], id: &str, timestamp: i64, body: &[u8]) -> String {
    let signatures: Vec<String> =
        secrets.iter().filter_map(|secret| secret.signature(id, timestamp, body)).collect();
    signatures.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Standard Webhooks 1.0.0, published vectors.
    const VECTORS: [(&str, &str, i64, &str, &str); 2] = [
        (
            "whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD",
            "msg_27UH4WbU6Z5A5EzD8u03UvzRbpk",
            1_649_367_553,
            r#"{"email":"test@example.com","username":"test_user"}"#,
            "v1,tZ1I4/hDygAJgO5TYxiSd6Sd0kDW6hPenDe+bTa3Kkw=",
        ),
        (
            "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
            "msg_p5jXN8AQM9LWM0D4loKWxJek",
            1_614_265_330,
            r#"{"test": 2432232314}"#,
            "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=",
        ),
    ];

    #[test]
    fn signatures_are_those_of_the_published_vectors() {
        for (secret, id, timestamp, body, want) in VECTORS {
            let secret = SigningSecret::parse(secret).unwrap();
            assert_eq!(signatures(&[secret], id, timestamp, body.as_bytes()), want);
        }
    }

    #[test]
    fn each_secret_signs() {
        let secrets = VECTORS.map(|(secret, ..)| SigningSecret::parse(secret).unwrap());
        let (_, id, timestamp, body, want) = VECTORS[1];
        let all = signatures(&secrets, id, timestamp, body.as_bytes());
        let parts: Vec<&str> = all.split(' ').collect();
        assert_eq!((parts.len(), parts[1]), (2, want));
        assert_ne!(parts[0], want);
    }

    #[test]
    fn a_secret_is_whsec_and_base64_and_not_shown() {
        let secret = SigningSecret::parse(VECTORS[0].0).unwrap();
        assert!(!format!("{secret:?}").contains("C2FV"), "{secret:?}");
        for text in [
            "",
            "moss-and-stone",
            "C2FVsBQIhrscChlQIMV+b5sSYspob7oD",
            "whsec_",
            "whsec_moss and stone",
            "whsec_bW9zcw==",
        ] {
            let error = SigningSecret::parse(text).unwrap_err();
            assert!(matches!(error, Unfit::SigningSecret(_)), "{text}");
            assert!(!error.to_string().contains("moss") && !error.to_string().contains("bW9z"), "{error}");
        }
        let secrets = |count| vec![secret.clone(); count];
        assert_eq!(checked(secrets(0)).unwrap_err(), Unfit::SigningSecrets { given: 0 });
        assert_eq!(checked(secrets(4)).unwrap_err(), Unfit::SigningSecrets { given: 4 });
        assert!(checked(secrets(3)).is_ok());
    }
}
