//! Events and texts that are posted, and every answer to them.

use std::net::Ipv4Addr;
use std::time::Duration;

use digest::deliver::{Encryption, Kind, Sending, SigningSecret, Template, WebAddress, WebLimits, Webhook};
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpListener;
use wiremock::matchers::{header, method, path};
use wiremock::{Mock, MockServer, Request, ResponseTemplate};

use crate::server::{Script, Server};
use crate::*;

/// `moss-and-stone-7731-moss-and-stone` in base64.
const SECRET: &str = "whsec_bW9zcy1hbmQtc3RvbmUtNzczMS1tb3NzLWFuZC1zdG9uZQ==";

/// Where each test posts to; it is a secret.
const PATH: &str = "/rooms/moss-and-stone-7731";

fn at() -> DateTime<Utc> {
    utc("2026-11-26T06:01:00Z")
}

fn events(base: &str) -> Webhook {
    let address = WebAddress::parse(&format!("{base}{PATH}")).unwrap();
    Webhook::events(address, "/everyline/kittiwake", vec![SigningSecret::parse(SECRET).unwrap()]).unwrap()
}

async fn answering(response: ResponseTemplate) -> MockServer {
    let server = MockServer::start().await;
    Mock::given(method("POST")).and(path(PATH)).respond_with(response).mount(&server).await;
    server
}

async fn send(webhook: &Webhook) -> Sending {
    assert!(!format!("{webhook:?}").contains(CANARY), "{webhook:?}");
    assert!(!format!("{webhook:?}").contains("bW9zcy"), "{webhook:?}");
    let sending = webhook.send(&message(), at()).await;
    assert_sentence(&sending);
    sending
}

async fn only_request(server: &MockServer) -> Request {
    let mut requests = server.received_requests().await.unwrap();
    assert_eq!(requests.len(), 1);
    requests.remove(0)
}

#[tokio::test]
async fn an_event_is_posted_and_signed() {
    let server = answering(ResponseTemplate::new(202)).await;
    let sending = send(&events(&server.uri())).await;
    assert_eq!(sending, Sending::Sent { answer: "127.0.0.1 took it (202)".to_owned() });
    let request = only_request(&server).await;
    let text = |name: &str| request.headers.get(name).unwrap().to_str().unwrap().to_owned();
    assert_eq!(text("content-type"), "application/cloudevents+json");
    assert_eq!(text("webhook-id"), "digest-2026-11-26-owner=40kittiwake");
    assert_eq!(text("webhook-timestamp"), "1795672860");
    let body: Value = serde_json::from_slice(&request.body).unwrap();
    assert_eq!(
        body,
        json!({
            "specversion": "1.0",
            "id": "digest-2026-11-26-owner=40kittiwake",
            "source": "/everyline/kittiwake",
            "type": "everyline.digest",
            "time": "2026-11-26T06:00:05Z",
            "subject": "2 orders go out incomplete; first by 14:00",
            "datacontenttype": "application/json",
            "data": {"findings": [{"check": "part-sent", "order_id": "KK-1042"}]},
        })
    );
}

#[tokio::test]
async fn a_retry_has_the_same_body_and_identifier_and_its_own_time() {
    let server = answering(ResponseTemplate::new(204)).await;
    let webhook = events(&server.uri());
    for at in ["2026-11-26T06:01:00Z", "2026-11-26T07:01:00Z"] {
        webhook.send(&message(), utc(at)).await;
    }
    let requests = server.received_requests().await.unwrap();
    let [first, second] = &requests[..] else { panic!("{}", requests.len()) };
    assert_eq!(first.body, second.body);
    assert_eq!(first.body, webhook.body(&message()));
    assert_eq!(first.headers.get("webhook-id"), second.headers.get("webhook-id"));
    for name in ["webhook-timestamp", "webhook-signature"] {
        assert_ne!(first.headers.get(name), second.headers.get(name));
    }
}

#[tokio::test]
async fn while_a_secret_changes_both_sign() {
    let server = answering(ResponseTemplate::new(204)).await;
    let other = SigningSecret::parse("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw").unwrap();
    let one = SigningSecret::parse(SECRET).unwrap();
    let webhook = events(&server.uri()).signed_by(vec![other, one]).unwrap();
    webhook.send(&message(), at()).await;
    let request = only_request(&server).await;
    let signatures = request.headers.get("webhook-signature").unwrap().to_str().unwrap();
    assert_eq!(signatures.split(' ').filter(|signature| signature.starts_with("v1,")).count(), 2);
}

#[tokio::test]
async fn each_kind_has_a_type_of_its_own() {
    for (kind, want) in
        [(Kind::Digest, "everyline.digest"), (Kind::Alert, "everyline.alert"), (Kind::Test, "everyline.test")]
    {
        let mut message = message();
        message.kind = kind;
        let body = events("http://127.0.0.1:1").body(&message);
        assert_eq!(serde_json::from_slice::<Value>(&body).unwrap()["type"], want);
    }
}

#[tokio::test]
async fn every_status_has_its_outcome() {
    let again = |seconds: Option<u64>| (Some(seconds.map(Duration::from_secs)), "");
    for (code, retry_after, (want, says)) in [
        (408, None, again(None)),
        (425, None, again(None)),
        (429, None, again(None)),
        (429, Some("120"), again(Some(120))),
        (500, None, again(None)),
        (502, None, again(None)),
        (503, None, again(None)),
        (503, Some("7"), again(Some(7))),
        (503, Some("Thu, 26 Nov 2026 06:02:30 GMT"), again(Some(90))),
        (503, Some("soon"), again(None)),
        (599, None, again(None)),
        (401, None, (Some(Some(Duration::from_secs(900))), "check the secret at both ends")),
        (403, None, (Some(Some(Duration::from_secs(900))), "does not let it in (403)")),
        (301, None, (None, "sends it on to another address (301), which is not followed")),
        (307, None, (None, "put the new address in its place")),
        (400, None, (None, "refuses it (400)")),
        (404, None, (None, "has nothing at this address")),
        (410, None, (None, "nobody is at this address any more")),
        (413, None, (None, "takes no message of this size")),
        (422, None, (None, "refuses it (422)")),
        (304, None, (None, "not followed")),
    ] {
        let mut response = ResponseTemplate::new(code).insert_header("location", "/elsewhere");
        // So that a moment counts from the time of the try.
        response = response.insert_header("date", "Thu, 26 Nov 2026 06:01:00 GMT");
        if let Some(value) = retry_after {
            response = response.insert_header("retry-after", value);
        }
        let server = answering(response).await;
        let sending = send(&events(&server.uri())).await;
        let after = match &sending {
            Sending::TryAgain { after, .. } => Some(*after),
            Sending::GiveUp { .. } => None,
            Sending::Sent { .. } => panic!("{code}"),
        };
        assert_eq!(after, want, "{code}: {sending:?}");
        assert!(sentence(&sending).contains(says), "{code}: {sending:?}");
        // Nothing was followed.
        assert_eq!(server.received_requests().await.unwrap().len(), 1, "{code}");
    }
}

#[tokio::test]
async fn of_an_answer_only_a_little_is_shown_and_never_what_was_sent() {
    for (body, kind, says) in [
        ("no such room".to_owned(), "text/plain", "(400, \"no such room\")"),
        (
            "{\"error\": \"no such room\"}".to_owned(),
            "application/json",
            "(400, \"{\"error\": \"no such room\"}\")",
        ),
        ("<h1>Bad request</h1>".to_owned(), "text/html", "(400):"),
        ("<h1>Bad request</h1>".to_owned(), "text/plain", "(400):"),
        ("no\r\n\u{1b}[2Jroom".to_owned(), "text/plain", "(400, \"no \u{fffd}[2Jroom\")"),
        (CANARY.to_owned(), "text/plain", "(400):"),
        (format!("bad signature by {SECRET}"), "text/plain", "(400):"),
        (format!("nothing at {PATH}"), "text/plain", "(400):"),
        ("Order KK-1042 goes out without the apron".to_owned(), "text/plain", "(400):"),
        ("a ".repeat(1_000_000), "text/plain", "a a a…\""),
    ] {
        let server = answering(ResponseTemplate::new(400).set_body_raw(body, kind)).await;
        let sending = send(&events(&server.uri())).await;
        assert!(sentence(&sending).contains(says), "{says:?}: {sending:?}");
    }
}

#[tokio::test]
async fn what_was_taken_was_taken_however_long_the_answer_is() {
    let server = answering(ResponseTemplate::new(200).set_body_string("x".repeat(5_000_000))).await;
    assert!(matches!(send(&events(&server.uri())).await, Sending::Sent { .. }));
    // It announces more than it sends.
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await.unwrap();
    let base = format!("http://{}", listener.local_addr().unwrap());
    let serving = tokio::spawn(async move {
        let (mut stream, _) = listener.accept().await.unwrap();
        let mut request = vec![0; 65_536];
        let _ = stream.read(&mut request).await.unwrap();
        stream.write_all(b"HTTP/1.1 200 OK\r\nContent-Length: 100\r\n\r\nhalf").await.unwrap();
    });
    assert!(matches!(send(&events(&base)).await, Sending::Sent { .. }));
    serving.await.unwrap();
}

#[tokio::test]
async fn of_an_answer_without_end_only_the_beginning_is_read() {
    const MOST: usize = 64 * 1024 * 1024;
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await.unwrap();
    let base = format!("http://{}", listener.local_addr().unwrap());
    let serving = tokio::spawn(async move {
        let (mut stream, _) = listener.accept().await.unwrap();
        let mut request = vec![0; 65_536];
        let _ = stream.read(&mut request).await.unwrap();
        stream.write_all(b"HTTP/1.1 400 Bad Request\r\nContent-Length: 999999999\r\n\r\n").await.unwrap();
        let mut written = 0;
        while written < MOST && stream.write_all(&[b'a'; 65_536]).await.is_ok() {
            written += 65_536;
        }
        written
    });
    assert!(matches!(send(&events(&base)).await, Sending::GiveUp { .. }));
    // The rest is what the system holds between both.
    let written = serving.await.unwrap();
    assert!(written < MOST, "{written} octets were taken");
}

#[tokio::test]
async fn trouble_on_the_way_is_tried_again() {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await.unwrap();
    let base = format!("http://{}", listener.local_addr().unwrap());
    // Nobody answers.
    let soon = WebLimits { whole: Duration::from_millis(300), ..WebLimits::default() };
    let sending = send(&events(&base).within(soon).unwrap()).await;
    assert_eq!(sentence(&sending), "127.0.0.1 did not answer within 300 ms");
    // Somebody hangs up.
    let hanging_up = tokio::spawn(async move {
        for _ in 0..2 {
            let _ = listener.accept().await;
        }
    });
    let hung_up = send(&events(&base)).await;
    assert!(sentence(&hung_up).contains("broke off before it answered"), "{hung_up:?}");
    hanging_up.abort();
    let _ = hanging_up.await;
    // Nobody is there.
    let gone = send(&events(&base)).await;
    assert!(sentence(&gone).contains("cannot be reached (Connection refused"), "{gone:?}");
    for sending in [sending, hung_up, gone] {
        assert!(matches!(sending, Sending::TryAgain { after: None, .. }), "{sending:?}");
    }
}

#[tokio::test]
async fn a_certificate_that_is_not_to_be_trusted_is_said() {
    let server = Server::start(Script { encryption: Encryption::Implicit, ..Script::default() }).await;
    let sending = send(&events(&format!("https://localhost:{}", server.socket.port()))).await;
    assert!(matches!(sending, Sending::TryAgain { after: Some(_), .. }), "{sending:?}");
    assert_eq!(
        sentence(&sending),
        "nothing was sent: the certificate of localhost is not to be trusted: nobody whom this machine trusts has signed it"
    );
    assert!(server.commands().is_empty());
}

#[tokio::test]
async fn a_receiver_that_does_not_encrypt_is_said() {
    let server = answering(ResponseTemplate::new(200)).await;
    let sending = send(&events(&server.uri().replace("http://", "https://"))).await;
    let why = "127.0.0.1 cannot be talked to encrypted".to_owned();
    assert_eq!(sending, Sending::TryAgain { why, after: None });
}

#[tokio::test]
async fn a_body_that_is_too_large_is_given_up_without_asking() {
    let mut message = message();
    message.data = "x".repeat(2_000_000).into();
    let sending = events("http://127.0.0.1:1").send(&message, at()).await;
    let Sending::GiveUp { why } = sending else { panic!("{sending:?}") };
    assert!(why.contains("has 1953 kB, and at most 1024 are sent"), "{why}");
}

#[tokio::test]
async fn a_room_gets_its_own_json() {
    let server = MockServer::start().await;
    Mock::given(header("content-type", "application/json"))
        .respond_with(ResponseTemplate::new(200))
        .mount(&server)
        .await;
    let address = WebAddress::parse(&format!("{}{PATH}", server.uri())).unwrap();
    let template = Template::parse(r#"{"room": "orders", "text": "{subject}\n{text}"}"#).unwrap();
    let webhook = Webhook::room(address, template).unwrap();
    assert!(matches!(send(&webhook).await, Sending::Sent { .. }));
    let request = only_request(&server).await;
    assert!(!request.headers.contains_key("webhook-signature"));
    let body: Value = serde_json::from_slice(&request.body).unwrap();
    assert_eq!(body["room"], "orders");
    assert!(
        body["text"]
            .as_str()
            .unwrap()
            .starts_with("2 orders go out incomplete; first by 14:00\nOrder KK-1042")
    );
}

#[tokio::test]
async fn a_key_in_a_template_is_not_shown() {
    let server = answering(ResponseTemplate::new(400).set_body_string(format!("no room for {CANARY}"))).await;
    let address = WebAddress::parse(&format!("{}{PATH}", server.uri())).unwrap();
    let template = Template::parse(&format!(r#"{{"keys": ["{CANARY}"], "text": "{{text}}"}}"#)).unwrap();
    let sending = send(&Webhook::room(address, template).unwrap()).await;
    assert_eq!(sentence(&sending), "127.0.0.1 refuses it (400): check the address and the template");
}

#[tokio::test]
async fn hostile_texts_are_texts_in_an_event() {
    for text in [
        "",
        "a\"b\\c",
        "a\r\nb",
        "\u{0}\u{7f}\u{9f}",
        "\u{fffe}\u{fdd0}x",
        "gro\u{202e}ssap",
        &"ü".repeat(10_000),
    ] {
        let mut message = message();
        (message.subject, message.id, message.data) = (text.into(), text.into(), text.into());
        let event: Value = serde_json::from_slice(&events("http://127.0.0.1:1").body(&message)).unwrap();
        assert_eq!(event["data"], text);
        // Source: CloudEvents 1.0.2, 'Type System' and 'subject'.
        for name in ["id", "subject"] {
            let Some(attribute) = event.get(name) else { continue };
            let attribute = attribute.as_str().unwrap();
            assert!(!attribute.is_empty() && !attribute.contains(char::is_control), "{attribute:?}");
            assert!(!attribute.contains(['\u{fffe}', '\u{fdd0}', '\u{202e}']), "{attribute:?}");
        }
        assert_eq!(event.get("subject").is_none(), text.is_empty());
    }
}
