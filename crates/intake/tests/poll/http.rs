//! Asking: sign-in, patience, limits, and what is no answer.

use std::io::Write as _;
use std::num::NonZeroU32;
use std::time::Duration;

use flate2::Compression;
use flate2::write::GzEncoder;
use intake::source::http::{Answer, Client, Limits, Trouble, Validators};
use secrecy::SecretString;
use serde_json::json;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use url::Url;
use wiremock::ResponseTemplate;

use crate::common::*;

const HEADER: &str =
    r#"sign_in = { header = "X-Press-Key", before = "Key ", secret = { environment = "TILL_KEY" } }"#;

fn client(address: &str, keys: &str, limits: Limits) -> (Client, std::sync::Arc<Still>) {
    let world = Still::at(at(0));
    let service = service(address, &format!("{keys}\n{}", orders("")));
    let client = Client::new(&service, Some(SecretString::from(SECRET)), limits, world.clone()).unwrap();
    (client, world)
}

async fn get(client: &Client, address: &str) -> Result<Answer, Trouble> {
    client.get(&Url::parse(address).unwrap().join("orders").unwrap(), &Validators::default()).await
}

fn seconds(spans: &[Duration]) -> Vec<f64> {
    spans.iter().map(Duration::as_secs_f64).collect()
}

#[tokio::test]
async fn the_sign_in_is_a_header_with_a_text_before_the_secret_or_basic() {
    for (keys, header, want) in [
        (HEADER, "x-press-key", "Key moss-and-stone"),
        (
            // Source: RFC 7617, section 2: base64 of user, colon, password; this value by coreutils `base64`.
            r#"sign_in = { user = "kittiwake", secret = { environment = "TILL_KEY" } }"#,
            "authorization",
            "Basic a2l0dGl3YWtlOm1vc3MtYW5kLXN0b25l",
        ),
    ] {
        let server = Server::start(move |asked| {
            assert_eq!(asked.headers.get("accept").unwrap(), "application/json");
            if asked.headers.get(header).is_some_and(|value| value == want) {
                json_answer(&json!({}))
            } else {
                status(401)
            }
        });
        let server = server.await;
        let (client, _) = client(&server.address(), keys, Limits::default());
        assert!(matches!(get(&client, &server.address()).await, Ok(Answer::Json(_))), "{header}");
        assert!(!format!("{client:?}").contains("moss"));
    }
}

#[tokio::test]
async fn what_the_source_refuses_is_not_asked_again() {
    for (code, want) in [
        (401, Trouble::SignIn { status: 401 }),
        (403, Trouble::SignIn { status: 403 }),
        (400, Trouble::Refused { status: 400 }),
        (404, Trouble::Refused { status: 404 }),
        (204, Trouble::Refused { status: 204 }),
        (302, Trouble::Refused { status: 302 }),
    ] {
        let server = Server::start(move |_| status(code)).await;
        let (client, world) = client(&server.address(), HEADER, Limits::default());
        assert_eq!(get(&client, &server.address()).await.unwrap_err(), want);
        assert_eq!(server.asked().await.len(), 1, "{code}");
        assert!(world.slept().is_empty());
    }
}

#[tokio::test]
async fn a_source_that_cannot_answer_now_is_asked_again_after_longer_and_longer_waits() {
    let server =
        Server::start(|asked| if asked.before < 4 { status(500) } else { json_answer(&json!([])) }).await;
    let (patient, world) = client(&server.address(), HEADER, Limits::default());
    assert!(get(&patient, &server.address()).await.is_ok());
    assert_eq!(seconds(&world.slept()), [0.5, 1.0, 2.0, 4.0]);

    let server = Server::start(|_| status(502)).await;
    let (client, world) = client(&server.address(), HEADER, Limits::default());
    let trouble = get(&client, &server.address()).await.unwrap_err();
    assert_eq!(trouble, Trouble::Busy { status: 502, not_before: None });
    assert_eq!((server.asked().await.len(), world.slept().len()), (5, 4));
}

#[tokio::test]
async fn a_source_that_says_when_to_come_again_is_waited_for_that_long() {
    for (code, value) in [(429, "7".to_owned()), (503, "7".to_owned()), (429, http_date(at(-993)))] {
        let server = Server::start(move |asked| match asked.before {
            // The clock of this server is a thousand seconds behind.
            0 => dated(ResponseTemplate::new(code), at(-1_000)).insert_header("retry-after", value.as_str()),
            _ => json_answer(&json!([])),
        });
        let server = server.await;
        let (client, world) = client(&server.address(), HEADER, Limits::default());
        assert!(get(&client, &server.address()).await.is_ok());
        assert_eq!(seconds(&world.slept()), [7.0], "{code}");
    }
}

#[tokio::test]
async fn a_source_that_wants_to_be_left_alone_for_long_is_and_says_until_when() {
    let server = Server::start(|_| status(429).insert_header("retry-after", "3600")).await;
    let (client, world) = client(&server.address(), HEADER, Limits::default());
    let trouble = get(&client, &server.address()).await.unwrap_err();
    assert_eq!(trouble, Trouble::Busy { status: 429, not_before: Some(at(3_600)) });
    assert!(trouble.to_string().ends_with("wants not to be asked before 2026-11-24T13:00:00Z"), "{trouble}");
    assert!(world.slept().is_empty());
    assert_eq!(server.asked().await.len(), 1);
}

/// It would never be asked again.
#[tokio::test]
async fn a_source_that_wants_to_be_left_alone_for_years_is_for_a_day() {
    let far = http_date(at(400_000_000));
    for value in ["4000000000", "18446744073709551615", "99999999999999999999999", &far] {
        let value = value.to_owned();
        let server = Server::start(move |_| status(503).insert_header("retry-after", value.as_str())).await;
        let (client, world) = client(&server.address(), HEADER, Limits::default());
        let trouble = get(&client, &server.address()).await.unwrap_err();
        assert_eq!(trouble, Trouble::Busy { status: 503, not_before: Some(at(86_400)) });
        assert!(world.slept().is_empty());
    }
}

#[tokio::test]
async fn a_wait_that_cannot_be_read_or_is_over_is_chosen_here() {
    for value in ["-5", "soon", "0", "Thu, 01 Jan 1970 00:00:00 GMT"] {
        let server = Server::start(move |asked| match asked.before {
            0 => status(408).insert_header("retry-after", value),
            1 => status(429).insert_header("retry-after", value),
            _ => json_answer(&json!([])),
        });
        let server = server.await;
        let (client, world) = client(&server.address(), HEADER, Limits::default());
        assert!(get(&client, &server.address()).await.is_ok());
        assert_eq!(seconds(&world.slept()), [0.5, 1.0], "{value}");
    }
}

/// Unpacked into values they would take a hundred times as much memory.
#[tokio::test]
async fn small_answers_of_very_many_values_are_refused() {
    for piece in ["{\"\":0},", "[],", "0,"] {
        let body = format!("[{}0]", piece.repeat(1_000_000));
        let server = Server::start(move |_| ResponseTemplate::new(200).set_body_string(&body)).await;
        let (client, world) = client(&server.address(), HEADER, Limits::default());
        let trouble = get(&client, &server.address()).await.unwrap_err();
        assert_eq!(trouble, Trouble::TooMany { limit: 1_000_000 });
        assert!(world.slept().is_empty());
    }
}

#[tokio::test]
async fn a_validator_that_is_very_long_is_not_kept() {
    let server = Server::start(|_| {
        json_answer(&json!([])).insert_header("etag", format!("\"{}\"", "e".repeat(600)).as_str())
    });
    let server = server.await;
    let (client, _) = client(&server.address(), HEADER, Limits::default());
    let Ok(Answer::Json(answer)) = get(&client, &server.address()).await else { panic!("no answer") };
    assert!(answer.validators.is_empty());
}

#[tokio::test]
async fn an_answer_that_begins_and_does_not_go_on_is_not_waited_for() {
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!("http://{}/api/", listener.local_addr().unwrap());
    tokio::spawn(async move {
        let (mut stream, _) = listener.accept().await.unwrap();
        assert!(stream.read(&mut [0; 4096]).await.unwrap() > 0);
        stream.write_all(b"HTTP/1.1 200 OK\r\ncontent-length: 100\r\n\r\n[1,").await.unwrap();
        std::future::pending::<()>().await;
    });
    let limits = Limits { answer: Duration::from_millis(60), tries: 1, ..Limits::default() };
    let (client, _) = client(&address, HEADER, limits);
    let trouble = get(&client, &address).await.unwrap_err();
    assert_eq!(trouble, Trouble::TimedOut { within: Duration::from_millis(60) });
}

#[tokio::test]
async fn a_dropped_connection_a_cut_answer_and_cut_json_are_asked_again() {
    let whole = raw_json("[1]", "");
    let cut = b"HTTP/1.1 200 OK\r\ncontent-length: 100\r\n\r\n[1".to_vec();
    for bad in [b"HTTP/1.1 200".to_vec(), cut.clone(), raw_json("[1, {\"a\": \"b", "")] {
        let address = raw_server(vec![bad, whole.clone()]).await;
        let (client, world) = client(&address, HEADER, Limits::default());
        let answer = get(&client, &address).await;
        assert!(matches!(answer, Ok(Answer::Json(_))), "{answer:?}");
        assert_eq!(world.slept().len(), 1);
    }
    let address = raw_server(vec![cut]).await;
    let (client, world) = client(&address, HEADER, Limits::default());
    assert_eq!(get(&client, &address).await.unwrap_err(), Trouble::Cut);
    assert_eq!(world.slept().len(), 4);
}

#[tokio::test]
async fn nobody_there_is_said_after_some_tries() {
    let address = {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        format!("http://{}/api/", listener.local_addr().unwrap())
    };
    let (client, world) = client(&address, HEADER, Limits::default());
    let trouble = get(&client, &address).await.unwrap_err();
    assert!(matches!(trouble, Trouble::Unreachable { .. }), "{trouble}");
    assert!(!trouble.to_string().contains("127.0.0.1"), "{trouble}");
    assert_eq!(world.slept().len(), 4);
}

/// The time-out runs by the real clock, and is short here: nothing else ends the wait.
#[tokio::test]
async fn an_answer_that_never_comes_is_not_waited_for() {
    let address = raw_server(vec![Vec::new()]).await;
    let limits = Limits { answer: Duration::from_millis(20), tries: 2, ..Limits::default() };
    let (client, world) = client(&address, HEADER, limits);
    let trouble = get(&client, &address).await.unwrap_err();
    assert_eq!(trouble, Trouble::TimedOut { within: Duration::from_millis(20) });
    assert_eq!(world.slept().len(), 1);
}

#[tokio::test]
async fn html_with_status_200_is_told_from_other_things_that_are_no_json() {
    let page =
        ResponseTemplate::new(200).set_body_raw("<!doctype html><p>Sign in, moss-and-stone", "text/html");
    for (answer, want) in [
        (page, "the answer is HTML where JSON was expected (status 200)"),
        (
            ResponseTemplate::new(200).set_body_string("orders;7;moss-and-stone"),
            "the answer is no JSON (from line 1, column 1 on, status 200)",
        ),
        (ResponseTemplate::new(200), "the answer is no JSON (it is empty, status 200)"),
    ] {
        let server = Server::start(move |_| answer.clone()).await;
        let (client, world) = client(&server.address(), HEADER, Limits::default());
        assert_eq!(get(&client, &server.address()).await.unwrap_err().to_string(), want);
        assert!(world.slept().is_empty());
    }
}

fn packed(bytes: &[u8]) -> ResponseTemplate {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).unwrap();
    let body = encoder.finish().unwrap();
    ResponseTemplate::new(200)
        .set_body_raw(body, "application/json")
        .insert_header("content-encoding", "gzip")
}

#[tokio::test]
async fn packed_answers_are_unpacked_and_what_unpacks_to_too_much_is_refused() {
    let limits = Limits { bytes: 100_000, ..Limits::default() };
    let bomb = vec![b' '; 50_000_000];
    for (answer, want) in [
        (packed(br#"{"orders": []}"#), None),
        (packed(&bomb), Some(Trouble::TooLarge { limit: 100_000 })),
        (
            ResponseTemplate::new(200).set_body_string(" ".repeat(100_001)),
            Some(Trouble::TooLarge { limit: 100_000 }),
        ),
        (ResponseTemplate::new(200).set_body_string(format!("[]{}", " ".repeat(99_998))), None),
    ] {
        let server = Server::start(move |asked| {
            assert!(asked.headers["accept-encoding"].contains("gzip"));
            answer.clone()
        });
        let server = server.await;
        let (client, _) = client(&server.address(), HEADER, limits);
        assert_eq!(get(&client, &server.address()).await.err(), want);
        assert_eq!(server.asked().await.len(), 1);
    }
}

#[tokio::test]
async fn redirections_are_followed_on_the_same_origin_and_not_elsewhere() {
    let server = Server::start(|asked| match asked.path.as_str() {
        "/api/orders" => status(308).insert_header("location", "/api/there"),
        "/api/there" => status(302).insert_header("location", "here?x=1"),
        _ => {
            assert_eq!(asked.headers["x-press-key"], "Key moss-and-stone");
            json_answer(&json!([]))
        }
    });
    let server = server.await;
    let (client_here, _) = client(&server.address(), HEADER, Limits::default());
    let answer = get(&client_here, &server.address()).await;
    assert!(answer.is_ok(), "{answer:?}");
    assert_eq!(server.asked().await, ["orders", "there", "here?x=1"]);

    let other = Server::start(|_| json_answer(&json!([]))).await;
    let elsewhere = format!("{}/api/orders?key=moss-and-stone", other.mock.uri());
    let server = Server::start(move |_| status(302).insert_header("location", elsewhere.as_str())).await;
    let (client_there, world) = client(&server.address(), HEADER, Limits::default());
    let trouble = get(&client_there, &server.address()).await.unwrap_err();
    assert_eq!(trouble, Trouble::Elsewhere { origin: other.mock.uri() });
    assert!(other.asked().await.is_empty() && world.slept().is_empty());

    let server = Server::start(|_| status(301).insert_header("location", "orders")).await;
    let (client_round, _) = client(&server.address(), HEADER, Limits::default());
    let trouble = get(&client_round, &server.address()).await.unwrap_err();
    assert_eq!(trouble, Trouble::Redirects { limit: 5 });
    assert_eq!(server.asked().await.len(), 6);
}

#[tokio::test]
async fn another_origin_is_never_asked() {
    let server = Server::start(|_| json_answer(&json!([]))).await;
    let (client, _) = client(&server.address(), HEADER, Limits::default());
    for other in ["https://127.0.0.1:1/orders", "http://localhost/orders", "http://127.0.0.1:1/orders"] {
        let trouble = client.get(&Url::parse(other).unwrap(), &Validators::default()).await.unwrap_err();
        assert!(matches!(trouble, Trouble::Elsewhere { .. }), "{other}: {trouble}");
    }
    assert!(server.asked().await.is_empty());
}

#[tokio::test]
async fn a_source_is_not_asked_faster_than_its_rate() {
    let server = Server::start(|_| json_answer(&json!([]))).await;
    let world = Still::at(at(0));
    let mut service = service(&server.address(), &orders(""));
    service.at_most.requests = NonZeroU32::new(2).unwrap();
    service.at_most.per = Duration::from_secs(60);
    let client = Client::new(&service, None, Limits::default(), world.clone()).unwrap();
    for _ in 0..5 {
        get(&client, &server.address()).await.unwrap();
    }
    assert_eq!(seconds(&world.slept()), [60.0, 60.0]);
}

#[tokio::test]
async fn an_answer_that_has_not_changed_is_not_sent_again() {
    let old = http_date(at(-3_600));
    for (offered, value, asked_with) in [
        (&[("etag", "W/\"7\"")][..], "W/\"7\"", "if-none-match"),
        (&[("last-modified", &*old)], &*old, "if-modified-since"),
        (&[("last-modified", &*old), ("etag", "\"8\"")], "\"8\"", "if-none-match"),
    ] {
        let (headers, value) =
            (offered.iter().map(|(a, b)| (a.to_string(), b.to_string())), value.to_owned());
        let headers: Vec<(String, String)> = headers.collect();
        let server = Server::start(move |asked| {
            if asked.headers.get(asked_with) == Some(&value) {
                return status(304);
            }
            headers.iter().fold(json_answer(&json!([])), |answer, (name, value)| {
                answer.insert_header(name.as_str(), value.as_str())
            })
        });
        let server = server.await;
        let (client, _) = client(&server.address(), HEADER, Limits::default());
        let url = Url::parse(&server.address()).unwrap();
        let Ok(Answer::Json(first)) = client.get(&url, &Validators::default()).await else {
            panic!("no answer")
        };
        let again = client.get(&url, &first.validators).await;
        assert!(matches!(again, Ok(Answer::Unchanged { .. })), "{asked_with}");
    }
}

/// Source: RFC 7232, 2.2.2: within a minute of the date a change may hide behind the same time.
#[tokio::test]
async fn a_time_of_change_that_is_too_fresh_is_not_relied_on() {
    let fresh = http_date(at(-59));
    let server =
        Server::start(move |_| json_answer(&json!([])).insert_header("last-modified", fresh.as_str())).await;
    let (client, _) = client(&server.address(), HEADER, Limits::default());
    let Ok(Answer::Json(answer)) = get(&client, &server.address()).await else { panic!("no answer") };
    assert!(answer.validators.is_empty());
}

#[test]
fn a_secret_that_cannot_be_sent_is_refused_without_being_shown() {
    let world = Still::at(at(0));
    let service = service("http://127.0.0.1:1/api/", &format!("{HEADER}\n{}", orders("")));
    for (secret, want) in [
        (None, "the secret of the sign-in is not there"),
        (
            Some(SecretString::from("moss\nstone")),
            "the secret of the sign-in cannot stand in a header line; check that it is the right one, without line breaks",
        ),
    ] {
        let error = Client::new(&service, secret, Limits::default(), world.clone()).unwrap_err();
        assert_eq!(error.to_string(), want);
    }
}
