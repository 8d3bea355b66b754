//! The keyed digest of an address: whether two orders go to the same place can be told, the place cannot.
//!
//! Start reading at [`of`].

use hmac::{Hmac, KeyInit, Mac};
use model::text;
use sha2::Sha256;

/// How much of the digest is kept: 16 bytes, written as 32 hexadecimal digits.
///
/// Half of HMAC-SHA-256, the least that RFC 2104, section 5, advises; two of a hundred million addresses then share
/// a digest with a probability under 2^-74, so nobody has to think of it.
const KEPT_BYTES: usize = 16;

/// What this digest is for, so that one of the same texts under the same key for something else differs.
const PURPOSE: &[u8] = b"everyline ship_to_digest 1";

/// The digest of the texts found at each of several places. `None` where all are empty.
///
/// HMAC-SHA-256 (RFC 2104, FIPS 180-4) over each place's number of texts and each text with its length, all lengths as
/// 8 bytes, most significant first. Texts are folded before ([`text::fold`]): two spellings of an address that differ in
/// case, spaces or Unicode form alone are the same. An empty text is as good as none.
pub(super) fn of(places: &[Vec<String>], key: &[u8]) -> Option<String> {
    let mut mac = Hmac::<Sha256>::new_from_slice(key).ok()?;
    mac.update(PURPOSE);
    let mut is_empty = true;
    for texts in places {
        let folded: Vec<String> =
            texts.iter().map(|text| text::fold(text)).filter(|text| !text.is_empty()).collect();
        is_empty &= folded.is_empty();
        mac.update(&(folded.len() as u64).to_be_bytes());
        for text in folded {
            mac.update(&(text.len() as u64).to_be_bytes());
            mac.update(text.as_bytes());
        }
    }
    if is_empty {
        return None;
    }
    let digest = mac.finalize().into_bytes();
    Some(digest.iter().take(KEPT_BYTES).map(|byte| format!("{byte:02x}")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEY: &[u8] = b"a key of Kittiwake Kitchen";

    fn digest(places: &[&[&str]]) -> Option<String> {
        let places: Vec<Vec<String>> =
            places.iter().map(|texts| texts.iter().map(|text| (*text).to_owned()).collect()).collect();
        of(&places, KEY)
    }

    #[test]
    fn one_address_in_two_spellings_has_one_digest() {
        let one = digest(&[&["Long Lane 12"], &["Kittiwake Bay"]]).unwrap();
        assert_eq!(one.len(), 32);
        assert!(one.bytes().all(|byte| byte.is_ascii_hexdigit()));
        assert_eq!(digest(&[&[" LONG  lane 12"], &["kittiwake\u{a0}bay "]]), Some(one));
    }

    #[test]
    fn another_address_another_place_and_another_key_have_other_digests() {
        let one = digest(&[&["Long Lane 12"], &["Kittiwake Bay"]]);
        for other in [
            &[&["Long Lane 13"][..], &["Kittiwake Bay"]][..],
            &[&["Long Lane 1"], &["2Kittiwake Bay"]],
            &[&["Long Lane 12", "Kittiwake Bay"], &[]],
            &[&["Kittiwake Bay"], &["Long Lane 12"]],
            &[&["Long Lane 12"], &[]],
        ] {
            assert_ne!(digest(other), one, "{other:?}");
        }
        assert_ne!(of(&[vec!["Long Lane 12".into()], vec!["Kittiwake Bay".into()]], b"another"), one);
    }

    #[test]
    fn no_address_has_no_digest() {
        assert_eq!(digest(&[&[], &["  "]]), None);
    }

    /// Source: computed with the hmac and hashlib modules of Python 3 over the same bytes.
    #[test]
    fn the_digest_is_the_one_that_another_implementation_computes() {
        assert_eq!(
            digest(&[&["Long Lane 12"], &["Kittiwake Bay"]]).as_deref(),
            Some("58d540f14a1b389fee0ea13dd74ed940")
        );
    }
}
