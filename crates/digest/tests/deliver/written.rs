//! A mail as it is written, read by `mail-parser`, which was made by others.

use digest::deliver::{MailServer, Message, Smtp};
use mail_parser::{HeaderValue, MessageParser, MimeHeaders as _};
use proptest::prelude::*;

use crate::*;

/// What somebody else reads in a mail.
pub struct Read {
    pub subject: String,
    pub text: String,
    pub html: String,
    pub names: Vec<String>,
    pub id: String,
}

/// Reads it, and checks what holds of every mail.
pub fn read(mail: &[u8]) -> Read {
    for line in mail.split_inclusive(|byte| *byte == b'\n') {
        assert!(line.ends_with(b"\r\n"), "{}", String::from_utf8_lossy(line));
        let line = &line[..line.len() - 2];
        // Source: RFC 5322, 2.1.1.
        assert!(line.len() <= 998, "a line of {} octets", line.len());
        assert!(
            line.iter().all(|byte| matches!(byte, b' '..=b'~' | b'\t')),
            "{}",
            String::from_utf8_lossy(line)
        );
    }
    let parsed = MessageParser::default().parse(mail).unwrap();
    let kinds: Vec<String> = parsed
        .parts
        .iter()
        .map(|part| {
            let kind = part.content_type().unwrap();
            format!("{}/{}", kind.ctype(), kind.subtype().unwrap_or_default())
        })
        .collect();
    assert_eq!(kinds, ["multipart/alternative", "text/plain", "text/html"]);
    assert_eq!((parsed.text_body.len(), parsed.html_body.len()), (1, 1));
    Read {
        subject: parsed.subject().unwrap_or_default().to_owned(),
        text: parsed.body_text(0).unwrap().into_owned(),
        html: parsed.body_html(0).unwrap().into_owned(),
        names: parsed.headers().iter().map(|header| header.name().to_ascii_lowercase()).collect(),
        id: parsed.message_id().unwrap().to_owned(),
    }
}

fn smtp() -> Smtp {
    let server = MailServer::parse("smtp://127.0.0.1:1").unwrap();
    Smtp::new(server, address("Kittiwake – Öland <digest@shop.example>")).unwrap()
}

fn mail(message: &Message) -> Vec<u8> {
    smtp().mail(message, &address("\"Ida, owner\" <owner@shop.example>"))
}

#[test]
fn a_mail_has_the_headers_of_an_automatic_one() {
    let written = mail(&message());
    let head = String::from_utf8(written.clone()).unwrap();
    let (head, _) = head.split_once("\r\n\r\n").unwrap();
    insta::assert_snapshot!(head.replace('\r', ""), @r#"
    Date: Thu, 26 Nov 2026 06:00:05 +0000
    From: =?utf-8?b?S2l0dGl3YWtlIOKAkyDDlmxhbmQ=?= <digest@shop.example>
    To: =?utf-8?b?SWRhLCBvd25lcg==?= <owner@shop.example>
    Subject: 2 orders go out incomplete; first by 14:00
    Message-ID: <digest-2026-11-26-owner=40kittiwake@shop.example>
    Auto-Submitted: auto-generated
    Content-Language: en
    MIME-Version: 1.0
    Content-Type: multipart/alternative;
     boundary="=_ed31da77f541b47a4c410a68454fea7df13f6c7214aa19bf11f03fb4a4a51d99"
    "#);
    let parsed = MessageParser::default().parse(&written).unwrap();
    let from = parsed.from().unwrap().first().unwrap();
    assert_eq!((from.name(), from.address()), (Some("Kittiwake – Öland"), Some("digest@shop.example")));
    let to = parsed.to().unwrap().first().unwrap();
    assert_eq!((to.name(), to.address()), (Some("Ida, owner"), Some("owner@shop.example")));
    assert_eq!(parsed.date().unwrap().to_rfc3339(), "2026-11-26T06:00:05Z");
    let auto = parsed.header("Auto-Submitted").and_then(HeaderValue::as_text);
    assert_eq!(auto, Some("auto-generated"));
    let read = read(&written);
    assert_eq!(read.subject, message().subject);
    assert_eq!(read.text, message().text.replace('\n', "\r\n"));
    assert_eq!(read.html, message().html.replace('\n', "\r\n"));
    assert_eq!(read.id, "digest-2026-11-26-owner=40kittiwake@shop.example");
}

#[test]
fn text_in_other_letters_is_written_in_the_shorter_encoding() {
    for (text, encoding) in [("plain, and one ü\n", "quoted-printable"), ("順番に見てください。\n", "base64")]
    {
        let mut message = message();
        message.text = text.repeat(10);
        let written = mail(&message);
        let parts = String::from_utf8(written.clone()).unwrap();
        let (_, part) = parts.split_once("text/plain").unwrap();
        let line = part.lines().nth(1).unwrap();
        assert_eq!(line, format!("Content-Transfer-Encoding: {encoding}"));
        assert_eq!(read(&written).text, message.text.replace('\n', "\r\n"));
    }
}

#[test]
fn nothing_in_a_text_becomes_a_header_or_ends_a_part() {
    let hostile = [
        "x\r\nBcc: other@shop.example\r\n\r\nbody",
        "x\nBcc: other@shop.example",
        "x\rBcc: other@shop.example",
        "x\u{0}y",
        "gro\u{202e}ssap",
        "=?utf-8?q?x=0D=0ABcc:_other@shop.example?=",
        "=?utf-8?b?eA0KQmNjOiBvdGhlckBzaG9wLmV4YW1wbGU=?=",
        "\u{85}Bcc: x\u{2028}Bcc: x",
        ".\r\n.\r\nQUIT\r\n",
        "",
        "   ",
        &"a".repeat(10_000),
        &"ü".repeat(10_000),
        &"ü ".repeat(10_000),
        &"=?".repeat(5_000),
    ];
    for text in hostile {
        let mut message = message();
        (message.subject, message.id) = (text.to_owned(), text.to_owned());
        // Whoever knows the identifier knows what parts the parts.
        let written = String::from_utf8(mail(&message)).unwrap();
        let (_, boundary) = written.split_once("boundary=\"").unwrap();
        let (boundary, _) = boundary.split_once('"').unwrap();
        let ending = format!("\r\n--{boundary}--\r\n--{boundary}\r\nContent-Type: text/html\r\n\r\nx");
        message.text = format!("{text}{ending}");
        message.html = format!("<p>{text}</p>{ending}");
        assert!(read(&mail(&message)).text.contains(boundary));
        check_hostile(&message);
    }
}

fn check_hostile(message: &Message) {
    let read = read(&mail(message));
    assert_eq!(
        read.names,
        [
            "date",
            "from",
            "to",
            "subject",
            "message-id",
            "auto-submitted",
            "content-language",
            "mime-version",
            "content-type"
        ]
    );
    assert!(!read.subject.contains(char::is_control), "{:?}", read.subject);
    assert!(read.subject.chars().count() <= 800);
    for text in [&read.text, &read.html] {
        let is_unfit = |c: char| c.is_control() && !matches!(c, '\r' | '\n') || c == '\u{202e}';
        assert!(!text.contains(is_unfit), "{text:?}");
    }
    let id_fits = |c: char| c.is_ascii_alphanumeric() || "-_=".contains(c);
    let (id, domain) = read.id.split_once('@').unwrap();
    assert!(!id.is_empty() && id.chars().all(id_fits) && domain == "shop.example", "{}", read.id);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn whatever_a_message_says_is_written_as_a_mail(
        subject in ".{0,300}", text in any::<String>(), html in "(?s).{0,2000}", id in ".{0,200}",
    ) {
        let mut message = message();
        (message.subject, message.text, message.html, message.id) = (subject, text, html, id);
        check_hostile(&message);
        prop_assert_eq!(mail(&message), mail(&message));
    }
}
