//! What a mail server may answer beside yes, and what becomes of it.

use std::time::Duration;

use digest::deliver::{Encryption, MailLimits, MailServer, Sending, Smtp};
use secrecy::SecretString;
use tokio::net::TcpListener;

use crate::server::{Answer, Cut, Says, Script, Server, Silent};
use crate::*;

/// What should come of it.
#[derive(PartialEq, Debug)]
enum Want {
    /// To be tried again.
    Again,
    /// To be tried again, in a while, by when somebody has mended it.
    Mended,
    /// Given up.
    Never,
}

use Want::{Again, Mended, Never};

const SOON: Duration = Duration::from_millis(300);

fn kind(sending: &Sending) -> Want {
    match sending {
        Sending::Sent { answer } => panic!("{answer}"),
        Sending::TryAgain { after: None, .. } => Again,
        Sending::TryAgain { after: Some(_), .. } => Mended,
        Sending::GiveUp { .. } => Never,
    }
}

async fn send(server: MailServer) -> Sending {
    let smtp = Smtp::new(server, address("digest@shop.example")).unwrap();
    let sending = smtp.send(&message(), &address("owner@shop.example")).await;
    assert_sentence(&sending);
    sending
}

async fn check(script: Script, has_login: bool, want: Want, says: &str) -> Server {
    let server = Server::start(script).await;
    let mut destination = server.destination();
    if has_login {
        destination = destination.signed_in("owner", SecretString::from(CANARY)).unwrap();
    }
    let sending = send(destination).await;
    assert_eq!(kind(&sending), want, "{sending:?}");
    assert!(sentence(&sending).contains(says), "{says:?} is not in {sending:?}");
    server
}

fn answers(answers: &'static [(&'static str, Answer)]) -> Script {
    Script { answers, ..Script::default() }
}

#[tokio::test]
async fn what_a_server_calls_temporary_is_tried_again() {
    for point in [
        &[("GREETING", Says("421 too busy\r\n"))],
        &[("EHLO", Says("421 too busy\r\n"))],
        &[("MAIL", Says("451 4.3.0 too busy\r\n"))],
        &[("RCPT", Says("450 4.2.0 too busy\r\n"))],
        &[("DATA", Says("451 4.3.0 too busy\r\n"))],
        &[("CONTENT", Says("452 4.3.1 too busy\r\n"))],
    ] {
        check(answers(point), false, Again, "the mail server localhost does not take it now (4").await;
    }
}

#[tokio::test]
async fn a_recipient_or_a_mail_that_is_refused_for_good_is_given_up_with_a_reason() {
    for (point, says) in [
        (
            &[("RCPT", Says("550 5.1.1 no such user\r\n"))],
            "refuses owner@shop.example (550, \"5.1.1 no such user\"): there is no such mailbox; check the address",
        ),
        (&[("RCPT", Says("552 5.2.2 over quota\r\n"))], "the mailbox is full"),
        (&[("RCPT", Says("550 no\r\n"))], "refuses owner@shop.example (550, \"no\"): check the address"),
        (&[("RCPT", Says("554 5.7.1 relaying denied\r\n"))], "a rule of the server forbids it"),
        (&[("DATA", Says("554 5.5.1 no valid recipients\r\n"))], "refuses this mail to owner@shop.example"),
        (&[("CONTENT", Says("552 5.3.4 too big\r\n"))], "the mail is too large for it"),
        (&[("CONTENT", Says("554 5.7.1 looks like spam\r\n"))], "a rule of the server forbids it"),
        (&[("CONTENT", Says("550-not\r\n550 today\r\n"))], "(550, \"not today\")"),
    ] {
        check(answers(point), false, Never, says).await;
    }
}

#[tokio::test]
async fn a_sign_in_that_is_refused_is_tried_again_after_a_while_and_said_loudly() {
    let login = |answers| Script {
        login: "PLAIN LOGIN",
        answers,
        encryption: Encryption::StartTls,
        ..Script::default()
    };
    for reply in
        ["535 5.7.8 no\r\n", "534 5.7.9 weak\r\n", "535 AG93bmVyAG1vc3MtYW5kLXN0b25lLTc3MzE= is wrong\r\n"]
    {
        let answers: &'static [_] = Box::leak(Box::new([("AUTH", Says(reply))]));
        let server = check(
            login(answers),
            true,
            Mended,
            "no mail leaves: the mail server localhost refuses the user name",
        )
        .await;
        assert!(server.mails().is_empty());
    }
    check(login(&[("AUTH", Says("454 4.7.0 later\r\n"))]), true, Again, "does not take it now (454)").await;
    // No sign-in is offered, or one is wanted.
    check(Script::default(), true, Mended, "offers no sign-in by user name and password").await;
    check(
        answers(&[("MAIL", Says("530 5.7.0 sign in first\r\n"))]),
        false,
        Mended,
        "the mail server localhost wants a sign-in (530",
    )
    .await;
    check(answers(&[("RCPT", Says("530 5.7.0 sign in first\r\n"))]), false, Mended, "wants a sign-in").await;
}

#[tokio::test]
async fn a_sender_or_a_machine_that_is_refused_is_for_the_owner_to_mend() {
    for (point, says) in [
        (&[("MAIL", Says("553 5.7.1 not yours\r\n"))], "does not take mail from digest@shop.example (553"),
        (&[("GREETING", Says("554 no\r\n"))], "does not want to talk to this machine (554"),
        (&[("EHLO", Says("550 no\r\n"))], "does not want to talk to this machine (550"),
    ] {
        check(answers(point), false, Mended, says).await;
    }
}

#[tokio::test]
async fn nothing_is_said_to_a_server_that_does_not_encrypt() {
    let starttls = |offers_starttls, answers| Script {
        encryption: Encryption::StartTls,
        offers_starttls,
        login: "PLAIN LOGIN",
        answers,
    };
    for (script, want, says) in [
        (starttls(false, &[]), Mended, "does not offer encryption (STARTTLS)"),
        (starttls(true, &[("STARTTLS", Says("454 4.7.0 not now\r\n"))]), Again, "does not take it now (454"),
        (
            starttls(true, &[("STARTTLS", Says("502 no\r\n"))]),
            Mended,
            "does not want to talk to this machine (502",
        ),
        (starttls(true, &[("STARTTLS", Cut)]), Again, "ended the connection early"),
        // Somebody between puts the answers to what comes next in front of the encryption.
        (
            starttls(
                true,
                &[("STARTTLS", Says("220 go ahead\r\n250-mail\r\n250 AUTH PLAIN\r\n235 in\r\n250 well\r\n"))],
            ),
            Mended,
            "said more than it was asked before the connection was encrypted",
        ),
    ] {
        let server = check(script, true, want, says).await;
        let commands = server.commands();
        assert!(
            commands.iter().all(|command| command.starts_with("EHLO") || command == "STARTTLS"),
            "{commands:?}"
        );
    }
}

#[tokio::test]
async fn a_certificate_that_is_not_to_be_trusted_is_said_and_nothing_is_sent() {
    for encryption in [Encryption::Implicit, Encryption::StartTls] {
        let script = Script { encryption, login: "PLAIN LOGIN", ..Script::default() };
        let server = Server::start(script.clone()).await;
        let other = Server::named(script, "other.example").await;
        for (destination, says) in [
            // Signed by nobody whom the system knows.
            (server.untrusted(), "nobody whom this machine trusts has signed it"),
            // Signed by another than is trusted.
            (
                server.untrusted().trusting(other.root.as_bytes()).unwrap(),
                "nobody whom this machine trusts has signed it",
            ),
            (other.destination(), "it is that of another name"),
        ] {
            let destination = destination.signed_in("owner", SecretString::from(CANARY)).unwrap();
            let sending = send(destination).await;
            assert_eq!(kind(&sending), Mended, "{sending:?}");
            assert!(sentence(&sending).starts_with("nothing was sent: the certificate of"), "{sending:?}");
            assert!(sentence(&sending).contains(says), "{sending:?}");
        }
        for server in [server, other] {
            assert!(server.mails().is_empty());
            assert!(!server.commands().iter().any(|command| command.starts_with("AUTH")));
        }
    }
}

#[tokio::test]
async fn a_port_that_is_encrypted_in_the_other_way_is_said() {
    let server = Server::start(Script { encryption: Encryption::StartTls, ..Script::default() }).await;
    let sending = send(server.destination().encrypted_by(Encryption::Implicit).unwrap()).await;
    assert_eq!(kind(&sending), Mended);
    assert!(sentence(&sending).contains("does not encrypt from the beginning at port"), "{sending:?}");

    let server = Server::start(Script { encryption: Encryption::Implicit, ..Script::default() }).await;
    let limits = MailLimits { connect: SOON, ..MailLimits::default() };
    let destination = server.destination().encrypted_by(Encryption::StartTls).unwrap().within(limits);
    let sending = send(destination).await;
    assert_eq!(kind(&sending), Again);
    assert!(sentence(&sending).ends_with("encrypted from the beginning, write smtps://"), "{sending:?}");
}

#[tokio::test]
async fn whether_a_mail_was_taken_is_unknown_where_the_connection_ends_after_it() {
    for point in [&[("CONTENT", Cut)], &[("CONTENT", Says("moss\r\n"))]] {
        let server = check(
            answers(point),
            false,
            Again,
            "before it said whether it takes the mail; it may arrive twice",
        )
        .await;
        assert_eq!(server.mails().len(), 1);
    }
    // The canary: it is no such answer where the connection ends before.
    let server = check(answers(&[("DATA", Cut)]), false, Again, "ended the connection early").await;
    assert!(server.mails().is_empty());
}

#[tokio::test]
async fn an_answer_in_other_letters_is_still_a_yes() {
    for reply in
        ["250 2.0.0 \u{fc}bernommen\r\n", "250\r\n", "250 \r\n", "250-2.0.0 kept\r\n250 2.0.0 well\r\n"]
    {
        let point: &'static [_] = Box::leak(Box::new([("CONTENT", Says(reply))]));
        let server = Server::start(answers(point)).await;
        let sending = send(server.destination()).await;
        assert!(matches!(sending, Sending::Sent { .. }), "{reply:?}: {sending:?}");
    }
}

#[tokio::test]
async fn a_server_that_ends_early_or_speaks_nonsense_is_tried_again() {
    for point in [
        &[("GREETING", Cut)],
        &[("GREETING", Says("HTTP/1.1 400 Bad Request\r\n\r\n"))],
        &[("EHLO", Cut)],
        &[("EHLO", Says("500\r\n"))],
        &[("MAIL", Cut)],
        &[("RCPT", Cut)],
        &[("RCPT", Says("moss\r\n"))],
    ] {
        let server = Server::start(answers(point)).await;
        let sending = send(server.destination()).await;
        assert!(matches!(sending, Sending::TryAgain { .. }), "{point:?}: {sending:?}");
    }
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    drop(listener);
    let sending = send(MailServer::parse(&format!("smtp://127.0.0.1:{port}")).unwrap()).await;
    assert_eq!(kind(&sending), Again);
    assert!(sentence(&sending).contains("cannot be reached"), "{sending:?}");
}

#[tokio::test]
async fn a_slow_server_is_left_after_its_time() {
    let long = Duration::from_secs(60);
    let patient = MailLimits { connect: long, command: long, content: long, whole: long };
    for (point, limits, says) in [
        (&[("GREETING", Silent)], MailLimits { connect: SOON, ..patient }, "was not done within 300 ms"),
        (&[("RCPT", Silent)], MailLimits { command: SOON, ..patient }, "was not done within 300 ms"),
        (
            &[("CONTENT", Silent)],
            MailLimits { content: SOON, ..patient },
            "did not say within 300 ms whether it takes the mail",
        ),
        (&[("MAIL", Silent)], MailLimits { whole: SOON, ..patient }, "was not done within 300 ms"),
    ] {
        let server = Server::start(answers(point)).await;
        let sending = send(server.destination().within(limits)).await;
        assert_eq!(kind(&sending), Again);
        assert!(sentence(&sending).contains(says), "{sending:?}");
    }
}

#[tokio::test]
async fn a_server_that_gives_back_what_it_was_sent_is_not_quoted() {
    for reply in [
        "550 5.7.1 moss-and-stone-7731\r\n",
        "550 5.7.1 bW9zcy1hbmQtc3RvbmUtNzczMQ==\r\n",
        "550 5.7.1 Order KK-1042 goes out without the apron\r\n",
    ] {
        let point: &'static [_] = Box::leak(Box::new([("CONTENT", Says(reply))]));
        let script = Script {
            encryption: Encryption::Implicit,
            login: "PLAIN LOGIN",
            answers: point,
            ..Script::default()
        };
        let server = check(script, true, Never, "(550): a rule of the server forbids it").await;
        assert_eq!(server.mails().len(), 1);
    }
}

#[tokio::test]
async fn a_mail_that_is_too_large_is_given_up_without_asking() {
    let server = Server::start(Script::default()).await;
    let smtp = Smtp::new(server.destination(), address("digest@shop.example")).unwrap();
    let mut message = message();
    message.text = "a line of an order\n".repeat(300_000);
    let sending = smtp.send(&message, &address("owner@shop.example")).await;
    assert_eq!(kind(&sending), Never);
    assert!(sentence(&sending).contains("would have 6 MB, and at most 5 are sent"), "{sending:?}");
    assert!(server.commands().is_empty());
}
