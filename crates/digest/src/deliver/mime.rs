//! Writes a message as a mail: RFC 5322 with MIME, two parts that say the same, text first.
//!
//! The octets follow from the message, the sender and the recipient alone. Must not know how it is sent. Start reading at
//! [`mail`].

use lettre::message::header::{ContentTransferEncoding, ContentType, HeaderName, HeaderValue, Headers};
use lettre::message::{Body, Mailboxes, MultiPart, SinglePart, header};

use super::{MailAddress, Message};

/// The language of what people read.
const LANGUAGE: &str = "en";

/// Writes it. Lines end in CR LF and have at most 998 octets, all ASCII.
///
/// `Message-ID` is made of the message's identifier and the sender's domain. Sources: RFC 5322; RFC 2045 to 2047;
/// `Auto-Submitted` RFC 3834, section 5; `Content-Language` RFC 3282. There is no `List-Id`: RFC 2919 has it for lists that
/// people join and leave.
pub(super) fn mail(message: &Message, from: &MailAddress, to: &MailAddress) -> Vec<u8> {
    let mut headers = Headers::new();
    // Always two digits of day, as most write it. Source: RFC 5322, 3.3.
    let date = message.written_at.format("%a, %d %b %Y %H:%M:%S +0000");
    headers.insert_raw(written("Date", date.to_string()));
    headers.set(header::From::from(Mailboxes::from(from.mailbox().clone())));
    headers.set(header::To::from(Mailboxes::from(to.mailbox().clone())));
    headers.set(header::Subject::from(message.subject()));
    headers.insert_raw(written("Message-ID", format!("<{}@{}>", message.wire_id(), from.domain())));
    headers.insert_raw(written("Auto-Submitted", "auto-generated".to_owned()));
    headers.insert_raw(written("Content-Language", LANGUAGE.to_owned()));
    headers.set(header::MIME_VERSION_1_0);

    // `=_` is in neither encoding of the parts. Source: RFC 2045, 6.7.
    let boundary = format!("=_{}", message.fingerprint());
    let parts = MultiPart::alternative()
        .boundary(boundary)
        .singlepart(part(ContentType::TEXT_PLAIN, message.text()))
        .singlepart(part(ContentType::TEXT_HTML, message.html()));
    let mut mail = headers.to_string().into_bytes();
    mail.extend_from_slice(&parts.formatted());
    mail
}

/// A header line that is ASCII, and short.
fn written(name: &'static str, value: String) -> HeaderValue {
    HeaderValue::dangerous_new_pre_encoded(HeaderName::new_from_ascii_str(name), value.clone(), value)
}

/// Always in an encoding of short lines: nothing in a text is a boundary then, and nothing on the way changes it.
fn part(kind: ContentType, text: String) -> SinglePart {
    let text = text.replace('\n', "\r\n");
    // Quoted-printable takes three octets for one that is not plain, base64 four for three of any kind.
    let plain = text.bytes().filter(|byte| matches!(byte, b' '..=b'<' | b'>'..=b'~' | b'\r' | b'\n')).count();
    let encoding = if (text.len() - plain) * 6 <= text.len() {
        ContentTransferEncoding::QuotedPrintable
    } else {
        ContentTransferEncoding::Base64
    };
    let body = Body::new_with_encoding(text, encoding).unwrap_or_else(Body::new);
    SinglePart::builder().header(kind).body(body)
}
