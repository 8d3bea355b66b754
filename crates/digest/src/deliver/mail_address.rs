//! A mail address with the name of whose it is.
//!
//! Must not know who writes to whom. Start reading at [`MailAddress::parse`].

use std::fmt;

use lettre::Address;
use lettre::message::Mailbox;
use url::Host;

use super::Unfit;
use crate::clean::{clean, cut};

/// Source: RFC 5321, 4.5.3.1.3: 256 octets with the angle brackets.
const MAX_ADDRESS_BYTES: usize = 254;

/// Source: RFC 5321, 4.5.3.1.1.
const MAX_BEFORE_AT_BYTES: usize = 64;

/// The longest name that a mail program shows in whole.
const MAX_NAME_COLUMNS: usize = 100;

/// Columns of something wrong in an error.
const SHOWN_COLUMNS: usize = 80;

/// A mail address, perhaps with a name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MailAddress(Mailbox);

impl MailAddress {
    /// Reads `owner@shop.example` or `Kittiwake Kitchen <owner@shop.example>`. A domain in letters of other languages is sent in
    /// its form for machines (RFC 5891).
    ///
    /// # Errors
    /// [`Unfit::MailAddress`] where it is no address, several, or has a line break or something hidden in it;
    /// [`Unfit::MailLetters`] where what stands before the @ is not ASCII.
    pub fn parse(text: &str) -> Result<Self, Unfit> {
        let shown = || format!("\"{}\"", cut(text, SHOWN_COLUMNS));
        let unfit = || Unfit::MailAddress(shown());
        let text = text.trim();
        if clean(text) != text || text.len() > 4 * MAX_ADDRESS_BYTES {
            return Err(unfit());
        }
        let Mailbox { name, email } = text.parse().map_err(|_| unfit())?;
        if !email.user().is_ascii() {
            return Err(Unfit::MailLetters(shown()));
        }
        let domain = match email.domain() {
            literal if literal.starts_with('[') => literal.to_owned(),
            domain => Host::parse(domain).map_err(|_| unfit())?.to_string(),
        };
        let email = Address::new(email.user(), domain).map_err(|_| unfit())?;
        let is_long = email.to_string().len() > MAX_ADDRESS_BYTES || email.user().len() > MAX_BEFORE_AT_BYTES;
        let name = name.filter(|name| !name.is_empty());
        if is_long || name.as_ref().is_some_and(|name| cut(name.as_str(), MAX_NAME_COLUMNS) != *name) {
            return Err(unfit());
        }
        Ok(Self(Mailbox { name, email }))
    }

    pub(super) fn mailbox(&self) -> &Mailbox {
        &self.0
    }

    /// It without the name.
    pub(super) fn address(&self) -> &Address {
        &self.0.email
    }

    /// What stands behind the @.
    pub(super) fn domain(&self) -> &str {
        self.0.email.domain()
    }
}

/// The address, with its name where it has one.
impl fmt::Display for MailAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_read_with_and_without_a_name() {
        for (text, want) in [
            ("owner@shop.example", "owner@shop.example"),
            (" Kittiwake Kitchen <owner@shop.example> ", "Kittiwake Kitchen <owner@shop.example>"),
            ("<owner@shop.example>", "owner@shop.example"),
            ("owner+digest@shop.example", "owner+digest@shop.example"),
            ("owner@SHOP.example", "owner@shop.example"),
            // Source: RFC 3492, 7.1, gives the encoding; this domain by Python's `encodings.idna`.
            ("owner@bücher.example", "owner@xn--bcher-kva.example"),
        ] {
            assert_eq!(MailAddress::parse(text).unwrap().to_string(), want);
        }
    }

    #[test]
    fn what_is_no_address_or_more_than_one_is_refused_in_words() {
        for text in [
            "",
            "owner",
            "owner@",
            "@shop.example",
            "owner@shop.example, other@shop.example",
            "owner@shop.example\r\nBcc: other@shop.example",
            "Otter\nPrints <owner@shop.example>",
            "Otter\u{202e} <owner@shop.example>",
            "owner@shop example",
            "owner @shop.example",
        ] {
            let error = MailAddress::parse(text).unwrap_err();
            assert!(matches!(error, Unfit::MailAddress(_)), "{text:?}: {error}");
            assert!(!error.to_string().contains(['\r', '\n', '\u{202e}']), "{error}");
        }
        let long = format!("{}@shop.example", "a".repeat(65));
        assert!(MailAddress::parse(&long).is_err());
        assert!(MailAddress::parse(&format!("{} <owner@shop.example>", "n".repeat(101))).is_err());
        assert_eq!(
            MailAddress::parse("öwner@shop.example"),
            Err(Unfit::MailLetters("\"öwner@shop.example\"".to_owned()))
        );
    }
}
