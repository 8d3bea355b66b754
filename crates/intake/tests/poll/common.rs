//! A server on loopback whose answers a test writes, a source that reads it, a clock that stands still, and a ledger.

use std::collections::{BTreeMap, BTreeSet};
use std::pin::Pin;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use intake::source::declare::{Declaration, Origin, Service};
use intake::source::http::{Client, Limits, World};
use intake::source::poll::{PollError, Reader, Report, Step};
use model::{Batch, Mark};
use secrecy::SecretString;
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpListener;
use wiremock::{Match, Mock, MockServer, Request, Respond, ResponseTemplate};

pub const SECRET: &str = "moss-and-stone";

/// 2026-11-24T12:00:00Z, and so many seconds later.
pub fn at(seconds: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::seconds(1_795_521_600 + seconds)
}

pub fn text(moment: DateTime<Utc>) -> String {
    moment.to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
}

pub fn http_date(moment: DateTime<Utc>) -> String {
    moment.format("%a, %d %b %Y %H:%M:%S GMT").to_string()
}

/// A clock that stands still but for the time that is slept.
pub struct Still {
    now: Mutex<DateTime<Utc>>,
    slept: Mutex<Vec<Duration>>,
}

impl Still {
    pub fn at(now: DateTime<Utc>) -> Arc<Self> {
        Arc::new(Self { now: Mutex::new(now), slept: Mutex::default() })
    }

    pub fn set(&self, now: DateTime<Utc>) {
        *self.now.lock().unwrap() = now;
    }

    /// The spans slept so far, and forgets them.
    pub fn slept(&self) -> Vec<Duration> {
        std::mem::take(&mut *self.slept.lock().unwrap())
    }
}

impl World for Still {
    fn now(&self) -> DateTime<Utc> {
        *self.now.lock().unwrap()
    }

    fn random(&self) -> f64 {
        0.0
    }

    fn sleep(&self, span: Duration) -> Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        self.slept.lock().unwrap().push(span);
        *self.now.lock().unwrap() += span;
        Box::pin(async {})
    }
}

/// A request as a server sees it.
pub struct Asked {
    pub path: String,
    pub query: BTreeMap<String, String>,
    pub headers: BTreeMap<String, String>,
    /// How many came before.
    pub before: usize,
}

impl Asked {
    pub fn get(&self, name: &str) -> Option<&str> {
        self.query.get(name).map(String::as_str)
    }

    pub fn number(&self, name: &str, otherwise: usize) -> usize {
        self.get(name).map_or(otherwise, |text| text.parse().unwrap())
    }
}

/// A server that answers as a function says.
pub struct Server {
    pub mock: MockServer,
}

struct Everything;

impl Match for Everything {
    fn matches(&self, _: &Request) -> bool {
        true
    }
}

struct By<F>(F, Mutex<usize>);

impl<F: Fn(Asked) -> ResponseTemplate + Send + Sync> Respond for By<F> {
    fn respond(&self, request: &Request) -> ResponseTemplate {
        let mut count = self.1.lock().unwrap();
        let headers = request.headers.iter();
        let asked = Asked {
            path: request.url.path().to_owned(),
            query: request.url.query_pairs().map(|(name, value)| (name.into(), value.into())).collect(),
            headers: headers
                .map(|(name, value)| (name.to_string(), value.to_str().unwrap().to_owned()))
                .collect(),
            before: *count,
        };
        *count += 1;
        drop(count);
        (self.0)(asked)
    }
}

impl Server {
    pub async fn start(answer: impl Fn(Asked) -> ResponseTemplate + Send + Sync + 'static) -> Self {
        let mock = MockServer::start().await;
        Mock::given(Everything).respond_with(By(answer, Mutex::new(0))).mount(&mock).await;
        Self { mock }
    }

    pub fn address(&self) -> String {
        format!("{}/api/", self.mock.uri())
    }

    /// The paths and queries that were asked for so far, below `/api/`, decoded; forgets nothing.
    pub async fn asked(&self) -> Vec<String> {
        let requests = self.mock.received_requests().await.unwrap();
        let asked = requests.iter().map(|request| {
            let query: Vec<String> =
                request.url.query_pairs().map(|(name, value)| format!("{name}={value}")).collect();
            let path = request.url.path().trim_start_matches("/api/");
            if query.is_empty() { path.to_owned() } else { format!("{path}?{}", query.join("&")) }
        });
        asked.collect()
    }

    /// What was asked for since so many requests.
    pub async fn asked_since(&self, count: usize) -> Vec<String> {
        self.asked().await.split_off(count)
    }
}

/// An answer in JSON with the date of a server whose clock is right at the beginning of the test.
pub fn json_answer(body: &Value) -> ResponseTemplate {
    dated(ResponseTemplate::new(200).set_body_json(body), at(0))
}

pub fn dated(answer: ResponseTemplate, date: DateTime<Utc>) -> ResponseTemplate {
    answer.insert_header("date", http_date(date))
}

pub fn status(status: u16) -> ResponseTemplate {
    dated(ResponseTemplate::new(status), at(0))
}

/// A server that answers with bytes as they are, one connection after the other, the last one for ever; an empty answer
/// never comes. Answers its address.
pub async fn raw_server(answers: Vec<Vec<u8>>) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    tokio::spawn(async move {
        let mut number = 0;
        let mut kept_open = Vec::new();
        while let Ok((mut stream, _)) = listener.accept().await {
            let mut buffer = [0; 4096];
            let mut head = Vec::new();
            while !head.windows(4).any(|window| window == b"\r\n\r\n") {
                match stream.read(&mut buffer).await {
                    Ok(read) if read > 0 => head.extend_from_slice(&buffer[..read]),
                    _ => break,
                }
            }
            let answer = &answers[number.min(answers.len() - 1)];
            number += 1;
            if answer.is_empty() {
                kept_open.push(stream);
            } else {
                stream.write_all(answer).await.unwrap();
            }
        }
    });
    format!("http://{address}/api/")
}

pub fn raw_json(body: &str, more: &str) -> Vec<u8> {
    let length = body.len();
    format!(
        "HTTP/1.1 200 OK\r\ncontent-type: application/json\r\n{more}content-length: {length}\r\n\r\n{body}"
    )
    .into()
}

/// The declaration of a source: its keys without role and address, in TOML.
pub fn service(address: &str, keys: &str) -> Service {
    let text = format!("role = \"storefront\"\naddress = {address:?}\nat_most = \"1000 per second\"\n{keys}");
    let declaration: Declaration = toml::from_str(&text).unwrap();
    match declaration.check(Tz::UTC).unwrap().origin {
        Origin::Service(service) => *service,
        Origin::Folder(_) | Origin::Exports(..) => panic!("a folder"),
    }
}

pub fn supplier_service(address: &str, keys: &str) -> Service {
    let role = "role = \"supplier\"\nsupplier = \"alder-print\"";
    let text = format!("{role}\naddress = {address:?}\nat_most = \"1000 per second\"\n{keys}");
    let declaration: Declaration = toml::from_str(&text).unwrap();
    match declaration.check(Tz::UTC).unwrap().origin {
        Origin::Service(service) => *service,
        Origin::Folder(_) | Origin::Exports(..) => panic!("a folder"),
    }
}

pub fn reader(service: Service, world: &Arc<Still>) -> Reader {
    reader_within(service, world, Limits::default())
}

pub fn reader_within(service: Service, world: &Arc<Still>, limits: Limits) -> Reader {
    let world: Arc<dyn World> = Arc::<Still>::clone(world);
    let client = Client::new(&service, Some(SecretString::from(SECRET)), limits, world).unwrap();
    Reader {
        shop: "kittiwake".into(),
        source: "till".into(),
        service,
        client,
        digest_key: b"a key of the tests".to_vec(),
    }
}

/// The tables of orders, as the source of these tests writes them.
pub const ORDERS: &str = r#"
    [requests.orders.tables.orders]
    at = "$.orders[*]"
    [requests.orders.tables.orders.fields]
    order_id = "$.number"
    placed_at = "$.made"
    status = { at = "$.state", words = { paid = "open" } }
    updated_at = "$.changed"
    [requests.orders.tables.order_lines]
    within = "orders"
    at = "$.lines[*]"
    [requests.orders.tables.order_lines.fields]
    line_id = "$.id"
    quantity = "$.count"
"#;

/// A request for orders with these keys.
pub fn orders(keys: &str) -> String {
    format!("[requests.orders]\npath = \"orders\"\n{keys}\n{ORDERS}")
}

/// An order that changed so many seconds after the beginning.
pub fn order(number: u32, changed: i64) -> Value {
    json!({
        "number": number,
        "made": text(at(-86_400)),
        "state": "paid",
        "changed": text(at(changed)),
        "lines": [{ "id": "1", "count": 2 }],
    })
}

/// What a ledger keeps: marks, and keys of rows with the request that brought them and when.
#[derive(Clone, Default)]
pub struct Kept {
    pub marks: BTreeMap<String, Mark>,
    pub rows: BTreeMap<String, (String, DateTime<Utc>)>,
    pub batches: u32,
}

impl Kept {
    pub fn commit(&mut self, batch: &Batch) {
        self.batches += 1;
        let book = &batch.rows;
        let mut keys: BTreeSet<String> = BTreeSet::new();
        keys.extend(book.orders.iter().map(|row| format!("order {}", row.order_id)));
        keys.extend(book.order_lines.iter().map(|row| format!("line {} {}", row.order_id, row.line_id)));
        keys.extend(book.offers.iter().flatten().map(|row| format!("offer {}", row.listing_id)));
        keys.extend(book.submissions.iter().flatten().map(|row| format!("job {}", row.submission_id)));
        keys.extend(
            book.submission_lines
                .iter()
                .flatten()
                .map(|row| format!("piece {} {}", row.submission_id, row.line_id)),
        );
        keys.extend(book.variants.iter().flatten().map(|row| format!("variant {}", row.variant_id)));
        for key in keys {
            self.rows.insert(key, (batch.request.clone(), batch.seen_at));
        }
        if let Some(began) = batch.everything_since {
            let can_go = |key: &str| key.starts_with("offer") || key.starts_with("variant");
            self.rows
                .retain(|key, (request, seen)| *request != batch.request || *seen >= began || !can_go(key));
        }
        self.marks.insert(batch.request.clone(), batch.mark.clone());
    }

    pub fn orders(&self) -> Vec<u32> {
        let mut numbers: Vec<u32> =
            self.rows.keys().filter_map(|key| key.strip_prefix("order ")?.parse().ok()).collect();
        numbers.sort_unstable();
        numbers
    }

    pub fn keys(&self) -> Vec<&str> {
        self.rows.keys().map(String::as_str).collect()
    }

    pub fn read_up_to(&self, request: &str) -> Option<DateTime<Utc>> {
        self.marks.get(request)?.read_up_to
    }
}

/// What a poll came to.
#[derive(Debug)]
pub struct Polled {
    pub report: Report,
    pub unchanged: bool,
}

/// Polls a request to its end and commits every batch.
pub async fn poll(reader: &Reader, request: &str, kept: &mut Kept) -> Result<Polled, PollError> {
    match poll_some(reader, request, kept, u32::MAX).await? {
        Some(polled) => Ok(polled),
        None => panic!("the poll does not end"),
    }
}

/// Polls and commits so many batches, and then stops as a crash would: the next step was asked for, and not committed.
pub async fn poll_some(
    reader: &Reader,
    request: &str,
    kept: &mut Kept,
    batches: u32,
) -> Result<Option<Polled>, PollError> {
    let request = reader.requests().find(|known| known.name == request).unwrap();
    let mut poll = reader.poll(request, &kept.marks);
    let mut unchanged = false;
    for committed in 0..10_000 {
        match poll.next().await? {
            Step::Over(report) => return Ok(Some(Polled { report, unchanged })),
            Step::Batch(_) | Step::Unchanged(_) if committed >= batches => return Ok(None),
            Step::Batch(batch) => kept.commit(&batch),
            Step::Unchanged(batch) => {
                unchanged = true;
                kept.commit(&batch);
            }
        }
    }
    panic!("the poll does not end");
}
