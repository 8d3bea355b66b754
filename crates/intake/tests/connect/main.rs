//! From addresses to the source that reads them, at servers whose answers are written here: how pages follow each other and
//! how changes are asked for is found only where it works, with no more requests than may be made.
//!
//! Start reading at [`Shop`]; `oddities` has the servers that answer oddly.

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

mod oddities;

use std::collections::BTreeMap;
use std::pin::Pin;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use intake::connect::{ConnectError, Connected, Given, MAX_REQUESTS, connect};
use intake::propose::{Answers, Asked, Beside, ProposedRole};
use intake::source::declare::{Declaration, Origin, Service};
use intake::source::http::{Client, Few, Limits, World};
use secrecy::SecretString;
use serde_json::{Value, json};
use wiremock::{Match, Mock, MockServer, Request, Respond, ResponseTemplate};

/// 2026-11-24T12:00:00Z, and so many minutes later.
pub(crate) fn at(minutes: i64) -> String {
    let moment = DateTime::UNIX_EPOCH + TimeDelta::seconds(1_795_521_600) + TimeDelta::minutes(minutes);
    moment.to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
}

/// An order, the number of which says when it changed: one an hour.
pub(crate) fn order(number: usize) -> Value {
    json!({
        "order_number": format!("KK-{}", 10_000 + number),
        "created_at": at(number as i64 * 60 - 90),
        "status": if number.is_multiple_of(3) { "cancelled" } else { "paid" },
        "updated_at": at(number as i64 * 60),
        "items": [{ "id": format!("{number}-1"), "sku": format!("KK-MUG-{}", number % 7), "quantity": 1 + number % 2 }],
    })
}

pub(crate) fn orders(numbers: std::ops::Range<usize>) -> Vec<Value> {
    numbers.map(order).collect()
}

/// What a server is asked.
pub(crate) struct Wanted {
    pub(crate) query: BTreeMap<String, String>,
    pub(crate) before: usize,
    pub(crate) base: String,
    pub(crate) path: String,
    pub(crate) token: Option<String>,
}

impl Wanted {
    pub(crate) fn get(&self, name: &str) -> Option<&str> {
        self.query.get(name).map(String::as_str)
    }

    pub(crate) fn number(&self, name: &str) -> Option<usize> {
        self.get(name)?.parse().ok()
    }
}

struct Everything;

impl Match for Everything {
    fn matches(&self, _: &Request) -> bool {
        true
    }
}

struct By<F>(F, Mutex<usize>, String);

impl<F: Fn(Wanted) -> ResponseTemplate + Send + Sync> Respond for By<F> {
    fn respond(&self, request: &Request) -> ResponseTemplate {
        let mut count = self.1.lock().unwrap();
        let before = *count;
        *count += 1;
        drop(count);
        let token = request.headers.get("x-key").map(|value| value.to_str().unwrap().to_owned());
        let query = request.url.query_pairs().map(|(name, value)| (name.into(), value.into())).collect();
        (self.0)(Wanted { query, before, base: self.2.clone(), path: request.url.path().to_owned(), token })
    }
}

/// Nobody waits, and what is waited for passes.
struct Still(Mutex<DateTime<Utc>>);

impl World for Still {
    fn now(&self) -> DateTime<Utc> {
        *self.0.lock().unwrap()
    }

    fn random(&self) -> f64 {
        0.0
    }

    fn sleep(&self, span: Duration) -> Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        *self.0.lock().unwrap() += span;
        Box::pin(async {})
    }
}

/// A server that answers as a function says.
pub(crate) struct Shop {
    mock: MockServer,
}

impl Shop {
    pub(crate) async fn new(answer: impl Fn(Wanted) -> ResponseTemplate + Send + Sync + 'static) -> Self {
        let mock = MockServer::start().await;
        let by = By(answer, Mutex::new(0), mock.uri());
        Mock::given(Everything).respond_with(by).mount(&mock).await;
        Self { mock }
    }

    pub(crate) fn mock_uri(&self) -> String {
        self.mock.uri()
    }

    pub(crate) async fn requests(&self) -> usize {
        self.mock.received_requests().await.unwrap().len()
    }

    pub(crate) async fn asked(&self) -> Vec<String> {
        let requests = self.mock.received_requests().await.unwrap();
        requests.iter().map(|request| request.url.query().unwrap_or_default().to_owned()).collect()
    }

    /// Connects to addresses below it; more requests than may be made were not.
    pub(crate) async fn connected(&self, paths: &[&str]) -> Result<Connected, ConnectError> {
        let urls: Vec<String> = paths.iter().map(|path| format!("{}/api/{path}", self.mock.uri())).collect();
        let given = Given::of(&urls).unwrap();
        let service = service(given.address.as_str());
        let world = Arc::new(Still(Mutex::new(DateTime::UNIX_EPOCH + TimeDelta::days(20_000))));
        let few = Arc::new(Few::new(MAX_REQUESTS, world));
        let limits = Limits { tries: 1, longest_retry_after: Duration::from_secs(5), ..Limits::default() };
        let counted: Arc<dyn World> = Arc::<Few>::clone(&few);
        let client =
            Client::new(&service, Some(SecretString::from("moss-and-stone")), limits, counted).unwrap();
        let asked = Asked {
            name: "till".into(),
            role: ProposedRole::Storefront,
            zone: None,
            folder: String::new(),
            beside: Beside::default(),
            answers: Answers::default(),
        };
        let connected = connect(&client, &few, &given, &asked, &[]).await;
        let requests = self.requests().await;
        assert!(requests <= MAX_REQUESTS as usize, "{requests} requests");
        assert_eq!(MAX_REQUESTS - few.left(), requests as u32);
        if let Ok(connected) = &connected {
            self.check(connected);
        }
        connected
    }

    /// What is proposed is a source that can be read, with no line written by hand.
    fn check(&self, connected: &Connected) {
        let mut proposal = connected.proposal.clone();
        proposal.head = format!("address = \"{}/api/\"\n", self.mock.uri());
        let text = intake::propose::text_of_service(&proposal, false);
        let table: toml::Table = toml::from_str(&text).unwrap();
        let source = table["sources"]["till"].clone();
        let declaration: Declaration = source.try_into().unwrap();
        declaration.check(Tz::UTC).unwrap_or_else(|error| panic!("{error:?}\n{text}"));
    }
}

fn service(address: &str) -> Service {
    let text = format!(
        "role = \"storefront\"\naddress = {address:?}\nat_most = \"1000 per second\"\n\
         sign_in = {{ header = \"X-Key\", secret = {{ environment = \"KEY\" }} }}\n\
         [requests.orders]\npath = \"orders\"\n[requests.orders.tables.orders]\nat = \"$[*]\"\n\
         fields = {{ order_id = \"$.a\", placed_at = \"$.b\", status = \"$.c\" }}"
    );
    let declaration: Declaration = toml::from_str(&text).unwrap();
    match declaration.check(Tz::UTC).unwrap().origin {
        Origin::Service(service) => *service,
        Origin::Folder(_) | Origin::Exports(..) => panic!("a folder"),
    }
}

pub(crate) fn answer(body: &Value) -> ResponseTemplate {
    ResponseTemplate::new(200).set_body_json(body)
}

/// The changed orders, where changes are asked for by this parameter.
fn since<'o>(wanted: &Wanted, name: &str, all: &'o [Value]) -> Vec<&'o Value> {
    let from = wanted.get(name).unwrap_or_default().to_owned();
    all.iter().filter(|order| order["updated_at"].as_str().unwrap() >= from.as_str()).collect()
}

#[tokio::test]
async fn pages_by_the_header_line_link_are_followed_once_and_then_declared() {
    let shop = Shop::new(|wanted| {
        let page = wanted.number("page").unwrap_or(1);
        let numbers = (page - 1) * 20..(page * 20).min(50);
        let mut body = answer(&json!(orders(numbers)));
        if page < 3 {
            let next = format!("<{}/api/orders?page={}>; rel=\"next\"", wanted.base, page + 1);
            body = body.insert_header("link", next.as_str());
        }
        body.insert_header("x-total-count", "50")
    });
    let shop = shop.await;
    let connected = shop.connected(&["orders"]).await.unwrap();
    let way = &connected.ways[0];
    assert_eq!(way.pages.as_deref(), Some("{ by = \"link\" }"));
    assert_eq!(way.count.as_deref(), Some("count_header = \"X-Total-Count\""));
    assert_eq!(way.changes, None);
    assert!(way.notes[0].contains("has 20 records, and holds none that the first one has"), "{way:?}");
}

#[tokio::test]
async fn an_address_of_the_next_page_in_the_answer_is_declared_where_it_stands() {
    let shop = Shop::new(|wanted| {
        let page = wanted.number("part").unwrap_or(0);
        let next = (page < 2).then(|| format!("/api/orders?part={}", page + 1));
        answer(&json!({ "data": orders(page * 20..page * 20 + 20), "links": { "next": next } }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    assert_eq!(connected.ways[0].pages.as_deref(), Some("{ by = \"url\", at = \"$.links.next\" }"));
}

#[tokio::test]
async fn a_cursor_is_handed_back_by_the_parameter_that_leads_on() {
    for (name, ask) in [("next_cursor", "cursor"), ("end_cursor", "after")] {
        let shop = Shop::new(move |wanted| {
            let from = wanted.get(ask).map_or(0, |cursor| cursor.trim_start_matches("c-").parse().unwrap());
            let next = (from < 40).then(|| format!("c-{}", from + 20));
            answer(&json!({ "orders": orders(from..from + 20), "meta": { name: next } }))
        });
        let connected = shop.await.connected(&["orders"]).await.unwrap();
        let want = format!("{{ by = \"cursor\", at = \"$.meta.{name}\", ask = \"{ask}\" }}");
        assert_eq!(connected.ways[0].pages.as_deref(), Some(want.as_str()));
    }
}

#[tokio::test]
async fn pages_by_number_are_found_by_what_the_answer_says_and_begin_where_it_says() {
    for first in [0, 1] {
        let shop = Shop::new(move |wanted| {
            let page = wanted.number("page").unwrap_or(first) - first;
            let records = orders(page * 25..(page * 25 + 25).min(60));
            answer(&json!({ "orders": records, "page": page + first, "total_pages": 3, "total": 60 }))
        });
        let connected = shop.await.connected(&["orders"]).await.unwrap();
        let want = format!("{{ by = \"number\", ask = \"page\", first = {first} }}");
        assert_eq!(connected.ways[0].pages.as_deref(), Some(want.as_str()));
        assert_eq!(connected.ways[0].count.as_deref(), Some("count = \"$.total\""));
    }
}

#[tokio::test]
async fn where_nothing_says_what_the_first_page_is_called_page_1_is_asked_for() {
    for first in [0, 1] {
        let shop = Shop::new(move |wanted| {
            let page = wanted.number("_page").unwrap_or(first) - first;
            answer(&json!({ "orders": orders(page * 25..(page * 25 + 25).min(100)), "count": 100 }))
        });
        let connected = shop.await.connected(&["orders"]).await.unwrap();
        let want = format!("{{ by = \"number\", ask = \"_page\", first = {first} }}");
        assert_eq!(connected.ways[0].pages.as_deref(), Some(want.as_str()));
    }
}

#[tokio::test]
async fn pages_by_offset_go_on_from_the_last_record() {
    let shop = Shop::new(|wanted| {
        let from = wanted.number("skip").unwrap_or(0);
        let size = wanted.number("limit").unwrap_or(30);
        answer(&json!({ "orders": orders(from..(from + size).min(75)), "total": 75 }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    let want = "{ by = \"offset\", ask = \"skip\", size_ask = \"limit\", size = 30 }";
    assert_eq!(connected.ways[0].pages.as_deref(), Some(want));
}

#[tokio::test]
async fn a_page_that_was_typed_is_the_first_one_and_no_fixed_parameter() {
    let shop = Shop::new(|wanted| {
        let page = wanted.number("page").unwrap_or(1);
        let size = wanted.number("per_page").unwrap_or(5);
        answer(&json!({ "orders": orders((page - 1) * size..(page * size).min(50)), "total": 50 }))
    });
    let connected = shop.await.connected(&["orders?page=1&per_page=20"]).await.unwrap();
    let way = &connected.ways[0];
    assert_eq!(way.pages.as_deref(), Some("{ by = \"number\", ask = \"page\", first = 1 }"));
    assert_eq!(way.query, [("per_page".to_owned(), "20".to_owned())]);
}

#[tokio::test]
async fn an_answer_that_counts_what_it_holds_is_whole_and_nothing_is_asked_of_pages() {
    let shop = Shop::new(|wanted| {
        let all = orders(0..50);
        answer(&json!({ "orders": since(&wanted, "-", &all), "total": 50 }))
    });
    let shop = shop.await;
    let connected = shop.connected(&["orders"]).await.unwrap();
    let way = &connected.ways[0];
    assert_eq!((way.pages.as_deref(), way.count.as_deref()), (None, Some("count = \"$.total\"")));
    assert!(way.notes[0].contains("it counts 50 records and holds as many"), "{way:?}");
    // One for the answer, and one for all parameters of changes that may be asked together; the others by themselves.
    assert!(shop.asked().await.iter().all(|query| !query.contains("page")), "{:?}", shop.asked().await);
}

#[tokio::test]
async fn a_parameter_of_changes_stands_where_it_is_obeyed() {
    for name in
        ["since", "updated_at_gte", "updated_since", "updated_at__gte", "modified_after", "updated_at[gte]"]
    {
        let shop = Shop::new(move |wanted| {
            let all = orders(0..37);
            let came = since(&wanted, name, &all);
            answer(&json!({ "total": came.len(), "orders": came }))
        });
        let connected = shop.await.connected(&["orders"]).await.unwrap();
        let way = &connected.ways[0];
        let want = format!("{{ ask = \"{name}\", form = \"rfc3339\", overlap = \"5 min\" }}");
        assert_eq!(way.changes.as_deref(), Some(want.as_str()), "{:?}", way.notes);
        // It counts what changed, where that is asked for.
        assert_eq!(way.count.as_deref(), Some("count = \"$.total\""));
    }
}

#[tokio::test]
async fn a_parameter_that_the_answer_echoes_is_tried_though_nobody_else_calls_it_so() {
    let shop = Shop::new(move |wanted| {
        let all = orders(0..37);
        let came = since(&wanted, "touched_since", &all);
        answer(&json!({ "orders": came, "filters": { "touched_since": wanted.get("touched_since") } }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    let want = "{ ask = \"touched_since\", form = \"rfc3339\", overlap = \"5 min\" }";
    assert_eq!(connected.ways[0].changes.as_deref(), Some(want));
}

#[tokio::test]
async fn a_service_that_leaves_out_the_very_moment_is_asked_from_further_back() {
    let shop = Shop::new(move |wanted| {
        let all = orders(0..37);
        let from = wanted.get("since").unwrap_or_default().to_owned();
        let later: Vec<&Value> =
            all.iter().filter(|order| order["updated_at"].as_str().unwrap() > from.as_str()).collect();
        answer(&json!({ "orders": later }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    let want = "{ ask = \"since\", form = \"rfc3339\", overlap = \"60 min\" }";
    assert_eq!(connected.ways[0].changes.as_deref(), Some(want));
}

#[tokio::test]
async fn times_in_seconds_are_asked_for_in_seconds() {
    let shop = Shop::new(move |wanted| {
        let mut all = orders(0..37);
        for (number, order) in all.iter_mut().enumerate() {
            order["updated_at"] = json!(1_795_521_600 + number * 3_600);
        }
        let from = wanted.number("since").unwrap_or(0) as u64;
        let came: Vec<&Value> =
            all.iter().filter(|order| order["updated_at"].as_u64().unwrap() >= from).collect();
        answer(&json!({ "orders": came }))
    });
    let connected = shop.await.connected(&["orders"]).await.unwrap();
    let want = "{ ask = \"since\", form = \"epoch_seconds\", overlap = \"5 min\" }";
    assert_eq!(connected.ways[0].changes.as_deref(), Some(want), "{:?}", connected.ways[0].notes);
}

#[tokio::test]
async fn pages_and_changes_are_found_together_and_learned_for_the_next_address() {
    let shop = Shop::new(|wanted| {
        let all = orders(0..90);
        let changed = since(&wanted, "updated_at_gte", &all);
        let from = wanted.number("from").unwrap_or(0);
        let came: Vec<&Value> = changed.iter().copied().skip(from).take(30).collect();
        let kept =
            wanted.get("updated_at_gte").map(|since| format!("&updated_at_gte={since}")).unwrap_or_default();
        let next = (from + 30 < changed.len()).then(|| format!("?from={}{kept}", from + 30));
        answer(&json!({ "total": changed.len(), "orders": came, "next": next }))
    });
    let shop = shop.await;
    let connected = shop.connected(&["orders"]).await.unwrap();
    let way = &connected.ways[0];
    assert_eq!(way.pages.as_deref(), Some("{ by = \"url\", at = \"$.next\" }"));
    assert_eq!(
        way.changes.as_deref(),
        Some("{ ask = \"updated_at_gte\", form = \"rfc3339\", overlap = \"5 min\" }")
    );
    assert_eq!(way.count.as_deref(), Some("count = \"$.total\""));
}
