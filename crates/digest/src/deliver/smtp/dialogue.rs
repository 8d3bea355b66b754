//! What is said to a mail server, and what it replies. Source: RFC 5321.
//!
//! It is small, for it sends one mail and nothing else, and it is strict where it matters: what a server said before the
//! encryption is not heard after it, and a yes is a yes in whichever letters. Must not know what a refusal means. Start
//! reading at [`Dialogue::reply`].

use data_encoding::BASE64;
use secrecy::{ExposeSecret as _, SecretString};
use tokio::io::{AsyncRead, AsyncReadExt as _, AsyncWrite, AsyncWriteExt as _};

use super::trouble::Trouble;
use crate::deliver::mail_server::Login;

/// The longest reply that is read; servers say some hundred octets.
const MAX_REPLY_BYTES: usize = 16 * 1024;

/// What this machine is called: an address literal, as section 4.1.4 has it for who has no name. Nobody need know which
/// address it has in its own network.
const NAME: &str = "[127.0.0.1]";

/// A connection of either kind.
pub(super) trait Wire: AsyncRead + AsyncWrite + Send + Unpin {}

impl<S: AsyncRead + AsyncWrite + Send + Unpin> Wire for S {}

/// One connection to a mail server.
pub(super) struct Dialogue {
    wire: Box<dyn Wire>,
    /// What was read beyond the last reply.
    ahead: Vec<u8>,
}

/// A reply.
#[derive(PartialEq, Eq, Debug)]
pub(super) struct Reply {
    /// Its code, from 200 on.
    pub(super) code: u16,
    /// The texts of its lines.
    pub(super) texts: Vec<String>,
}

impl Reply {
    /// Its texts in one.
    pub(super) fn words(&self) -> String {
        self.texts.join(" ")
    }

    /// Itself, where its code begins with this digit.
    fn of(self, class: u16) -> Result<Self, Trouble> {
        match self.code / 100 {
            of if of == class => Ok(self),
            4 | 5 => Err(Trouble::Refused(self)),
            _ => Err(Trouble::NoReply),
        }
    }
}

impl Dialogue {
    pub(super) fn over(wire: impl Wire + 'static) -> Self {
        Self { wire: Box::new(wire), ahead: Vec::new() }
    }

    /// What it says first.
    pub(super) async fn greeting(&mut self) -> Result<Reply, Trouble> {
        self.reply().await?.of(2)
    }

    /// What it can do beyond the least.
    pub(super) async fn extensions(&mut self) -> Result<Vec<String>, Trouble> {
        let reply = self.command(&format!("EHLO {NAME}"), 2).await?;
        Ok(reply.texts.into_iter().skip(1).collect())
    }

    /// Says one line, and waits for a reply whose code begins with this digit.
    pub(super) async fn command(&mut self, line: &str, class: u16) -> Result<Reply, Trouble> {
        self.say(format!("{line}\r\n").as_bytes()).await?;
        self.reply().await?.of(class)
    }

    /// Signs in, by PLAIN (RFC 4616) or, where there is only that, LOGIN (no published standard; common practice).
    pub(super) async fn sign_in(&mut self, extensions: &[String], login: &Login) -> Result<(), Trouble> {
        let offers = |mechanism: &str| {
            extensions.iter().any(|line| {
                let mut words = line.split([' ', '=']);
                words.next().is_some_and(|word| word.eq_ignore_ascii_case("AUTH"))
                    && words.any(|word| word.eq_ignore_ascii_case(mechanism))
            })
        };
        let coded = |text: &str| SecretString::from(BASE64.encode(text.as_bytes()));
        let password = login.password.expose_secret();
        if offers("PLAIN") {
            let pair = SecretString::from(format!("\0{}\0{password}", login.user));
            let line = format!("AUTH PLAIN {}", coded(pair.expose_secret()).expose_secret());
            self.command(SecretString::from(line).expose_secret(), 2).await?;
        } else if offers("LOGIN") {
            self.command("AUTH LOGIN", 3).await?;
            self.command(coded(&login.user).expose_secret(), 3).await?;
            self.command(coded(password).expose_secret(), 2).await?;
        } else {
            return Err(Trouble::NoLogin);
        }
        Ok(())
    }

    /// Sends the mail, whose lines end in CR LF, the last one too, and waits for what becomes of it.
    pub(super) async fn mail(&mut self, mail: &[u8]) -> Result<Reply, Trouble> {
        self.say(&with_dots(mail)).await?;
        self.reply().await?.of(2)
    }

    /// The connection itself, of which nothing was heard that was not asked for.
    pub(super) fn into_wire(self) -> Result<Box<dyn Wire>, Trouble> {
        if self.ahead.is_empty() { Ok(self.wire) } else { Err(Trouble::Unasked) }
    }

    async fn say(&mut self, octets: &[u8]) -> Result<(), Trouble> {
        let said = async {
            self.wire.write_all(octets).await?;
            self.wire.flush().await
        };
        said.await.map_err(|error| Trouble::Cut(error.to_string()))
    }

    async fn reply(&mut self) -> Result<Reply, Trouble> {
        loop {
            if let Some((reply, length)) = whole_reply(&self.ahead)? {
                self.ahead.drain(..length);
                return Ok(reply);
            }
            if self.ahead.len() > MAX_REPLY_BYTES {
                return Err(Trouble::NoReply);
            }
            let mut piece = [0; 1024];
            let length = self.wire.read(&mut piece).await.map_err(|error| Trouble::Cut(error.to_string()))?;
            if length == 0 {
                return Err(Trouble::Ended);
            }
            self.ahead.extend_from_slice(&piece[..length]);
        }
    }
}

/// The first reply, where it has come in whole, and how many octets it has. Source: section 4.2.1; its last line may have
/// no text, and not even the blank before it.
fn whole_reply(said: &[u8]) -> Result<Option<(Reply, usize)>, Trouble> {
    let mut texts = Vec::new();
    let mut length = 0;
    for line in said.split_inclusive(|octet| *octet == b'\n') {
        let Some(line_alone) = line.strip_suffix(b"\n") else { return Ok(None) };
        length += line.len();
        let line = line_alone.strip_suffix(b"\r").unwrap_or(line_alone);
        let [a @ b'2'..=b'5', b @ b'0'..=b'9', c @ b'0'..=b'9', rest @ ..] = line else {
            return Err(Trouble::NoReply);
        };
        let code = [a, b, c].into_iter().fold(0, |code, digit| code * 10 + u16::from(digit - b'0'));
        let text = rest.get(1..).unwrap_or_default();
        texts.push(String::from_utf8_lossy(text).into_owned());
        match rest.first() {
            Some(b'-') => {}
            None | Some(b' ') => return Ok(Some((Reply { code, texts }, length))),
            Some(_) => return Err(Trouble::NoReply),
        }
    }
    Ok(None)
}

/// The mail with a dot more before each line that begins with one, and its end. Source: section 4.5.2.
fn with_dots(mail: &[u8]) -> Vec<u8> {
    let mut dotted = Vec::with_capacity(mail.len() + mail.len() / 64 + 3);
    for line in mail.split_inclusive(|octet| *octet == b'\n') {
        if line.starts_with(b".") {
            dotted.push(b'.');
        }
        dotted.extend_from_slice(line);
    }
    dotted.extend_from_slice(b".\r\n");
    dotted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reply_ends_with_its_last_line() {
        let read = |text: &str| whole_reply(text.as_bytes());
        for text in ["", "220", "220 mail", "250-mail\r\n", "250-mail\r\n250 STARTTLS"] {
            assert!(matches!(read(text), Ok(None)), "{text:?}");
        }
        for (text, code, texts, rest) in [
            ("220 mail.shop.example\r\n", 220, &["mail.shop.example"][..], ""),
            ("250-mail\r\n250-SIZE 1\r\n250 STARTTLS\r\n", 250, &["mail", "SIZE 1", "STARTTLS"], ""),
            ("250\n", 250, &[""], ""),
            ("250\r\n", 250, &[""], ""),
            ("250-\r\n250 \r\n", 250, &["", ""], ""),
            ("250 well\r\n421 bye\r\n", 250, &["well"], "421 bye\r\n"),
            ("354 go\r\n25", 354, &["go"], "25"),
        ] {
            let (reply, length) = read(text).unwrap().unwrap();
            assert_eq!((reply.code, &text[length..]), (code, rest), "{text:?}");
            assert_eq!(reply.texts, texts, "{text:?}");
        }
        for text in [
            "moss\r\n",
            "25x mail\r\n",
            "250+mail\r\n",
            "25\r\n",
            "é50 mail\r\n",
            "150 mail\r\n",
            "999 x\r\n",
        ] {
            assert!(matches!(read(text), Err(Trouble::NoReply)), "{text:?}");
        }
        let (reply, _) = whole_reply(b"250 \xfcbernommen\r\n").unwrap().unwrap();
        assert_eq!(reply.texts, ["\u{fffd}bernommen"]);
    }

    proptest::proptest! {
        #[test]
        fn whatever_is_said_is_a_reply_or_none(said in proptest::collection::vec(0_u8..=255, 0..200), code in 200_u16..600) {
            for said in [said.clone(), [format!("{code}-").as_bytes(), &said].concat()] {
                if let Ok(Some((reply, length))) = whole_reply(&said) {
                    proptest::prop_assert!(length <= said.len() && said[length - 1] == b'\n');
                    proptest::prop_assert!((200..600).contains(&reply.code));
                }
            }
        }
    }

    #[test]
    fn no_line_of_a_mail_ends_it() {
        for (mail, want) in [
            ("a\r\n", "a\r\n.\r\n"),
            (".\r\n", "..\r\n.\r\n"),
            ("a\r\n.\r\n..b\r\nc.\r\n", "a\r\n..\r\n...b\r\nc.\r\n.\r\n"),
        ] {
            assert_eq!(String::from_utf8(with_dots(mail.as_bytes())).unwrap(), want);
        }
    }
}
