//! A mail on its way: encryption, sign-in, what is sent, and the same octets in every try.

use digest::deliver::{Encryption, MailServer, Sending, Smtp};
use secrecy::SecretString;

use crate::server::{Says, Script, Server};
use crate::*;

const FROM: &str = "Kittiwake Kitchen <digest@shop.example>";

async fn send(server: MailServer) -> Sending {
    let smtp = Smtp::new(server, address(FROM)).unwrap();
    assert!(!format!("{smtp:?}").contains(CANARY));
    let sending = smtp.send(&message(), &address("owner@shop.example")).await;
    assert_sentence(&sending);
    sending
}

#[tokio::test]
async fn a_mail_is_sent_encrypted_from_the_beginning_or_by_starttls() {
    for encryption in [Encryption::Implicit, Encryption::StartTls, Encryption::None] {
        let server = Server::start(Script { encryption, ..Script::default() }).await;
        let sending = send(server.destination()).await;
        let want = "the mail server localhost took it for owner@shop.example (250, \"2.0.0 kept as K-1\")";
        assert_eq!(sending, Sending::Sent { answer: want.to_owned() }, "{encryption:?}");
        let commands = server.commands();
        let of_mail: Vec<&str> =
            commands.iter().map(String::as_str).filter(|c| !c.starts_with("EHLO")).collect();
        let begins: &[&str] = if encryption == Encryption::StartTls { &["STARTTLS"] } else { &[] };
        let rest = ["MAIL FROM:<digest@shop.example>", "RCPT TO:<owner@shop.example>", "DATA", "QUIT"];
        assert_eq!(of_mail, [begins, &rest[..]].concat());
        let in_the_open = server.commands_in_the_open().len();
        assert_eq!(
            in_the_open,
            match encryption {
                Encryption::Implicit => 0,
                Encryption::StartTls => 2,
                Encryption::None => commands.len(),
            },
            "{encryption:?}"
        );
    }
}

#[tokio::test]
async fn a_sign_in_goes_over_the_encrypted_connection_alone() {
    for encryption in [Encryption::Implicit, Encryption::StartTls] {
        let server = Server::start(Script { encryption, login: "PLAIN LOGIN", ..Script::default() }).await;
        let password = SecretString::from(CANARY);
        let sending = send(server.destination().signed_in("owner", password).unwrap()).await;
        assert!(matches!(sending, Sending::Sent { .. }), "{sending:?}");
        // Source: RFC 4616: NUL, user, NUL, password; this value by coreutils `base64`.
        let login = "AUTH PLAIN AG93bmVyAG1vc3MtYW5kLXN0b25lLTc3MzE=";
        assert!(server.commands().iter().any(|command| command == login), "{:?}", server.commands());
        assert!(!server.commands_in_the_open().iter().any(|command| command.starts_with("AUTH")));
    }
}

#[tokio::test]
async fn where_there_is_only_login_it_is_used_and_where_there_is_neither_nothing_is_said() {
    // `owner` and the password by coreutils `base64`; so are the questions.
    let answers = &[
        ("AUTH", Says("334 VXNlcm5hbWU6\r\n")),
        ("b3duZXI=", Says("334 UGFzc3dvcmQ6\r\n")),
        ("bW9zcy1hbmQtc3RvbmUtNzczMQ==", Says("235 2.7.0 welcome\r\n")),
    ];
    let encryption = Encryption::Implicit;
    for (login, is_known) in [("LOGIN", true), ("=LOGIN", true), ("CRAM-MD5", false)] {
        let server = Server::start(Script { encryption, login, answers, ..Script::default() }).await;
        let destination = server.destination().signed_in("owner", SecretString::from(CANARY)).unwrap();
        let sending = send(destination).await;
        assert_eq!(matches!(sending, Sending::Sent { .. }), is_known, "{sending:?}");
        let commands = server.commands();
        let asked: Vec<&str> = commands.iter().map(String::as_str).skip(1).take(3).collect();
        let want = ["AUTH LOGIN", "b3duZXI=", "bW9zcy1hbmQtc3RvbmUtNzczMQ=="];
        assert_eq!(asked, if is_known { &want[..] } else { &[] });
    }
}

#[tokio::test]
async fn a_retry_has_the_same_octets() {
    let server = Server::start(Script::default()).await;
    let smtp = Smtp::new(server.destination(), address(FROM)).unwrap();
    let again = Smtp::new(server.destination(), address(FROM)).unwrap();
    let to = address("Ida <owner@shop.example>");
    for smtp in [&smtp, &smtp, &again] {
        assert!(matches!(smtp.send(&message(), &to).await, Sending::Sent { .. }));
    }
    let mails = server.mails();
    assert_eq!(mails.len(), 3);
    assert!(mails.iter().all(|mail| *mail == smtp.mail(&message(), &to)));
    // Another recipient, and another message, have others.
    let mut other = message();
    other.id = "digest-2026-11-27-owner@kittiwake".to_owned();
    assert_ne!(smtp.mail(&other, &to), mails[0]);
}

#[tokio::test]
async fn dots_at_the_beginning_of_lines_arrive() {
    let server = Server::start(Script::default()).await;
    let smtp = Smtp::new(server.destination(), address(FROM)).unwrap();
    let mut message = message();
    message.text = ".\n..\n.hidden\r\n.\r\nQUIT\r\n".to_owned();
    let to = address("owner@shop.example");
    assert!(matches!(smtp.send(&message, &to).await, Sending::Sent { .. }));
    assert_eq!(server.mails(), [smtp.mail(&message, &to)]);
    let parsed = written::read(&server.mails()[0]);
    assert_eq!(parsed.text, ".\r\n..\r\n.hidden\r\n.\r\nQUIT\r\n");
}

#[tokio::test]
async fn several_are_sent_at_once() {
    let server = Server::start(Script::default()).await;
    let smtp = Smtp::new(server.destination(), address(FROM)).unwrap();
    let to: Vec<_> = ["a", "b", "c"].map(|name| address(&format!("{name}@shop.example"))).into();
    let (message, smtp) = (message(), &smtp);
    let (a, b, c) =
        tokio::join!(smtp.send(&message, &to[0]), smtp.send(&message, &to[1]), smtp.send(&message, &to[2]));
    for sending in [a, b, c] {
        assert!(matches!(sending, Sending::Sent { .. }), "{sending:?}");
    }
    assert_eq!(server.mails().len(), 3);
}
