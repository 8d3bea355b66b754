//! What a mail server's answers mean, and in which words an owner reads them.
//!
//! Must not know how they were had. Start reading at [`outcome`].

use std::io;
use std::time::Duration;

use secrecy::ExposeSecret;

use super::dialogue::Reply;
use crate::deliver::{Encryption, MailAddress, MailServer, Message, Sending, reply, span, trust};

/// How far a try has come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Stage {
    /// There is no connection yet, or no greeting.
    Connect,
    /// It is being encrypted.
    Encryption,
    /// Somebody signs in.
    Login,
    /// The sender was named.
    Sender,
    /// The recipient was named.
    Recipient,
    /// The mail was announced.
    Start,
    /// The mail is on its way; whether it was taken, the answer says.
    Content,
}

/// Why a mail was not taken.
#[derive(Debug)]
pub(super) enum Trouble {
    /// There is no connection, for this reason of the system.
    Unreachable(String),
    /// Something took longer.
    TimedOut(Duration),
    /// The certificate does not hold, for this reason.
    Certificate(&'static str),
    /// What it says is not encrypted, or not in a way that is known.
    NotEncrypted,
    /// The server does not encrypt.
    NoEncryption,
    /// Something was said that nobody had asked, before the encryption.
    Unasked,
    /// It answers nothing that could be understood.
    NoReply,
    /// It ended the connection.
    Ended,
    /// The connection ended, for this reason of the system.
    Cut(String),
    /// It offers no way to sign in that is known.
    NoLogin,
    /// It refuses, with a code from 400 on and in its own words.
    Refused(Reply),
}

impl Trouble {
    /// Of a connection that cannot be encrypted.
    pub(super) fn not_encrypted(error: &io::Error) -> Self {
        match trust::certificate_trouble(error) {
            Some(why) => Self::Certificate(why),
            None if trust::encryption_trouble(error).is_some() => Self::NotEncrypted,
            None => Self::Cut(error.to_string()),
        }
    }
}

/// What came of a try that ended at this stage.
pub(super) fn outcome(
    sent: Result<Reply, Trouble>,
    stage: Stage,
    server: &MailServer,
    from: &MailAddress,
    to: &MailAddress,
    message: &Message,
) -> Sending {
    let host = server.host();
    let trouble = match sent {
        Ok(reply) => {
            let words = said(&reply.words(), server, message);
            let code = reply.code;
            return Sending::Sent {
                answer: format!("the mail server {host} took it for {to} ({code}{words})"),
            };
        }
        Err(trouble) => trouble,
    };
    match trouble {
        Trouble::Refused(reply) => refused(stage, &reply, server, from, to, message),
        Trouble::Unreachable(why) => {
            Sending::later(format!("the mail server {host} cannot be reached ({why})"))
        }
        Trouble::Certificate(why) => Sending::once_mended(format!(
            "nothing was sent: the certificate of the mail server {host} is not to be trusted: {why}"
        )),
        Trouble::NotEncrypted if server.encryption() == Encryption::Implicit => {
            Sending::once_mended(format!(
                "nothing was sent: the mail server {host} does not encrypt from the beginning at port {}; try smtp:// or another \
             port",
                server.port()
            ))
        }
        Trouble::NotEncrypted => Sending::once_mended(format!(
            "nothing was sent: the connection to the mail server {host} cannot be encrypted in any way that is safe"
        )),
        Trouble::NoEncryption => Sending::once_mended(format!(
            "nothing was sent: the mail server {host} does not offer encryption (STARTTLS) at port {}; try smtps:// or \
             another port",
            server.port()
        )),
        Trouble::Unasked => Sending::once_mended(format!(
            "nothing was sent: the mail server {host}, or somebody between, said more than it was asked before the connection \
             was encrypted"
        )),
        Trouble::NoLogin => Sending::once_mended(format!(
            "no mail leaves: the mail server {host} offers no sign-in by user name and password; check its address and port"
        )),
        Trouble::TimedOut(limit) if stage == Stage::Content => {
            unknown(host, &format!("did not say within {} whether it takes the mail", span(limit)))
        }
        Trouble::NoReply | Trouble::Ended | Trouble::Cut(_) if stage == Stage::Content => {
            unknown(host, "ended the connection before it said whether it takes the mail")
        }
        Trouble::TimedOut(limit)
            if stage == Stage::Encryption && server.encryption() == Encryption::StartTls =>
        {
            Sending::later(format!(
                "the mail server {host} was not done within {}; where its port is encrypted from the beginning, write smtps://",
                span(limit)
            ))
        }
        Trouble::TimedOut(limit) => {
            Sending::later(format!("the mail server {host} was not done within {}", span(limit)))
        }
        Trouble::NoReply if matches!(stage, Stage::Connect | Stage::Encryption) => Sending::later(format!(
            "what answers at {host}:{} does not speak like a mail server",
            server.port()
        )),
        Trouble::NoReply => Sending::later(format!("the mail server {host} said what no mail server says")),
        Trouble::Ended => Sending::later(format!("the mail server {host} ended the connection early")),
        Trouble::Cut(why) => {
            Sending::later(format!("the connection to the mail server {host} broke off ({why})"))
        }
    }
}

/// Nobody knows whether it was taken.
fn unknown(host: &str, what: &str) -> Sending {
    Sending::later(format!("the mail server {host} {what}; it may arrive twice when it is sent again"))
}

/// What it means that it refuses at this stage.
fn refused(
    stage: Stage,
    reply: &Reply,
    server: &MailServer,
    from: &MailAddress,
    to: &MailAddress,
    message: &Message,
) -> Sending {
    let host = server.host();
    let (code, words) = (reply.code, &reply.words());
    let reply = match stage {
        // What is said of a sign-in may repeat it.
        Stage::Login => String::new(),
        _ => said(words, server, message),
    };
    let reply = format!("{code}{reply}");
    if code < 500 {
        return Sending::later(format!("the mail server {host} does not take it now ({reply})"));
    }
    // 530 and 535 may come at any stage. Source: RFC 4954, section 6.
    let wants_login = matches!(code, 530 | 534 | 535 | 538);
    match stage {
        Stage::Login => Sending::once_mended(format!(
            "no mail leaves: the mail server {host} refuses the user name or the password ({reply}); put them right"
        )),
        _ if wants_login && server.login().is_none() => Sending::once_mended(format!(
            "no mail leaves: the mail server {host} wants a sign-in ({reply}); give it a user name and a password"
        )),
        _ if wants_login => Sending::once_mended(format!(
            "no mail leaves: the mail server {host} refuses the sign-in ({reply}); check the user name and the password"
        )),
        Stage::Connect | Stage::Encryption => Sending::once_mended(format!(
            "no mail leaves: the mail server {host} does not want to talk to this machine ({reply})"
        )),
        Stage::Sender => Sending::once_mended(format!(
            "no mail leaves: the mail server {host} does not take mail from {from} ({reply}); use the address that belongs to \
             the user name"
        )),
        Stage::Recipient => {
            let why = because(words).unwrap_or("check the address");
            Sending::never(format!("the mail server {host} refuses {to} ({reply}): {why}"))
        }
        Stage::Start | Stage::Content => {
            let why = because(words).unwrap_or("the reason is the server's own");
            Sending::never(format!("the mail server {host} refuses this mail to {to} ({reply}): {why}"))
        }
    }
}

/// What an enhanced status code says. Source: RFC 3463, section 3, and the IANA registry that it began.
fn because(words: &str) -> Option<&'static str> {
    let code = words.split_whitespace().next()?;
    Some(match code.strip_prefix("5.")? {
        "1.1" | "1.3" | "1.6" | "1.10" => "there is no such mailbox; check the address",
        "1.2" => "there is no such domain; check the address",
        "1.7" | "1.8" => "the sender's address is not taken; use the one that belongs to the user name",
        "2.1" => "the mailbox is closed",
        "2.2" => "the mailbox is full",
        "2.3" | "3.4" => "the mail is too large for it",
        code if code.starts_with("7.") => "a rule of the server forbids it; ask whoever runs it",
        _ => return None,
    })
}

/// The server's own words behind its code, where they may be shown.
fn said(words: &str, server: &MailServer, message: &Message) -> String {
    let login = server.login();
    let pair = login.map(|login| format!("\0{}\0{}", login.user, login.password.expose_secret()));
    let password = login.map(|login| login.password.expose_secret());
    let secrets: Vec<&str> = password.into_iter().chain(pair.as_deref()).collect();
    reply::shown(words, &secrets, message).map(|words| format!(", {words}")).unwrap_or_default()
}
