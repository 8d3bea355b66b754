//! A desk in memory, of the invented shop Kittiwake Kitchen, and a browser that asks it.
//!
//! Must not know what is expected. Start reading at [`Kitchen`].

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use digest::compose::SourceRead;
use http_body_util::BodyExt as _;
use model::book::{OrderStatus, SubmissionStatus};
use model::{Finding, OrderId, Outcome, ShopId};
use tokio::sync::watch;
use tower::ServiceExt as _;
use web::access::Wanted;
use web::view::{
    Bought, Entry, Gap, GapKind, Moment, Order, OrderFinding, Parcel, Proposal, ProposalStatus, Sent, State,
    SupplierOrder, Surplus, Timeline, Words,
};
use web::{Access, Answer, App, Aside, Desk, Fault, Round, Shop};

use crate::samples;

pub const ZONE: Tz = Tz::Europe__Berlin;

pub fn now() -> DateTime<Utc> {
    samples::utc(samples::AS_OF)
}

/// The desk, which keeps what it is told.
pub struct Kitchen {
    pub shops: Vec<Shop>,
    pub rounds: Mutex<Vec<Arc<Round>>>,
    pub asides: Mutex<BTreeMap<String, BTreeMap<String, Aside>>>,
    pub changes: watch::Sender<u64>,
    pub orders: Mutex<BTreeMap<String, Order>>,
    pub links: crate::listings::Links,
    pub sources: Mutex<web::view::Sources>,
    pub counter: crate::sending::Counter,
    pub trials: crate::trials::Given,
    pub counted: Mutex<Vec<Arc<web::view::Counted>>>,
    pub is_broken: bool,
}

pub fn source(name: &str, is_behind: bool) -> SourceRead {
    SourceRead {
        source: name.to_owned(),
        read_up_to: Some(now() - chrono::TimeDelta::minutes(if is_behind { 200 } else { 1 })),
        is_behind,
        is_doubted: false,
        trouble: is_behind.then(|| "it did not answer".to_owned()),
        counted: None,
    }
}

pub fn shop(name: &str) -> Shop {
    Shop { id: name.into(), zone: ZONE }
}

pub fn round(shop_name: &str, outcome: Outcome) -> Arc<Round> {
    Arc::new(Round {
        shop: shop(shop_name),
        judged_at: now(),
        outcome,
        sources: vec![source("till", false), source("alder-print", false)],
    })
}

impl Kitchen {
    /// One shop with these findings.
    pub fn with(findings: Vec<Finding>) -> Self {
        Self::of(vec![("kitchen", samples::outcome(findings))])
    }

    /// Several shops.
    pub fn of(shops: Vec<(&str, Outcome)>) -> Self {
        Self {
            shops: shops.iter().map(|(name, _)| shop(name)).collect(),
            rounds: Mutex::new(shops.into_iter().map(|(name, outcome)| round(name, outcome)).collect()),
            asides: Mutex::default(),
            changes: watch::Sender::new(0),
            orders: Mutex::default(),
            links: crate::listings::Links::default(),
            sources: Mutex::new(crate::sources::none()),
            counter: crate::sending::Counter::default(),
            trials: crate::trials::Given::default(),
            counted: Mutex::default(),
            is_broken: false,
        }
    }

    pub fn with_order(self, order: Order) -> Self {
        self.orders.lock().unwrap().insert(order.order_id.to_string(), order);
        self
    }
}

impl Desk for Kitchen {
    fn now(&self) -> DateTime<Utc> {
        now()
    }

    fn shops(&self) -> Vec<Shop> {
        self.shops.clone()
    }

    fn rounds(&self) -> Vec<Arc<Round>> {
        self.rounds.lock().unwrap().clone()
    }

    fn changes(&self) -> watch::Receiver<u64> {
        self.changes.subscribe()
    }

    fn is_there(&self) -> Answer<'_, ()> {
        Box::pin(async {
            match self.is_broken {
                true => Err(Fault::Trouble { why: "the ledger could not be used".to_owned() }),
                false => Ok(()),
            }
        })
    }

    fn asides(&self) -> Answer<'_, BTreeMap<String, BTreeMap<String, Aside>>> {
        Box::pin(async move {
            self.is_there().await?;
            Ok(self.asides.lock().unwrap().clone())
        })
    }

    fn set_aside<'a>(&'a self, shop: &'a ShopId, finding: &'a str, aside: &'a Aside) -> Answer<'a, ()> {
        Box::pin(async move {
            let stands = self.rounds().iter().any(|round| {
                round.shop.id == *shop && round.outcome.findings.iter().any(|one| one.id.as_str() == finding)
            });
            if !stands {
                return Err(Fault::NotThere {
                    what: "no such finding stands".to_owned(),
                    todo: String::new(),
                });
            }
            let mut asides = self.asides.lock().unwrap();
            asides.entry(shop.to_string()).or_default().insert(finding.to_owned(), aside.clone());
            Ok(())
        })
    }

    fn take_back<'a>(&'a self, shop: &'a ShopId, finding: &'a str) -> Answer<'a, ()> {
        Box::pin(async move {
            let mut asides = self.asides.lock().unwrap();
            let was = asides.get_mut(shop.as_str()).and_then(|own| own.remove(finding));
            let why = Fault::NotThere { what: "that is not set aside".to_owned(), todo: String::new() };
            was.map(|_| ()).ok_or(why)
        })
    }

    fn order<'a>(&'a self, _: &'a ShopId, order: &'a OrderId) -> Answer<'a, Order> {
        Box::pin(async move {
            let found = self.orders.lock().unwrap().get(order.as_str()).cloned();
            let what = format!("no order {:?} has been read", order.as_str());
            found.ok_or(Fault::NotThere { what, todo: "give its id as the storefront writes it".to_owned() })
        })
    }
}

/// An order with one of everything, each text of which is this one.
pub fn order(id: &str, text: &str) -> Order {
    let (words, at) = (|| Words::outside(text), || Moment::said(now(), "today 12:50"));
    let line = |line_id: &str, state: State, gap: Option<GapKind>, way: Option<u8>| Bought {
        line_id: line_id.into(),
        state,
        quantity: 2,
        listing_id: Some("L-1".into()),
        name: words(),
        options: Some(words()),
        sku: Some(words()),
        cancelled: None,
        leads_to: vec![words()],
        sent: way
            .map(|way| Sent {
                supplier: "alder-print".into(),
                submission_id: "A-501".into(),
                line_id: "1".into(),
                units: 1,
                what: words(),
                way,
                way_said: words(),
                wrong: if way == 4 { vec![Words::ours("NOT WHAT WAS BOUGHT")] } else { Vec::new() },
                progress: words(),
                dispatched: 0,
            })
            .into_iter()
            .collect(),
        notes: vec![words()],
        gap: gap.map(|kind| Gap { kind, units: 1, words: words() }),
        proposal: gap.map(|_| Proposal {
            status: ProposalStatus::Proposed,
            variants: vec![words()],
            why: vec![words()],
            not_made_now: true,
            command: Some("everyline links set alder-print:AP-9 --listing L-1".to_owned()),
        }),
    };
    Order {
        shop: "kitchen".to_owned(),
        order_id: id.into(),
        status: OrderStatus::Open,
        headline: words(),
        verdict: Words::ours("1 of 2 items is being made; nobody makes 1."),
        is_right: false,
        as_of: at(),
        act_before: Some(at()),
        time_left: Some(Words::ours("2 h left")),
        cut_off_of: Some(Words::outside("alder-print")),
        lines: vec![
            line("1", State::Right, None, Some(1)),
            line("2", State::Missing, Some(GapKind::Missing), None),
            line("3", State::Wrong, None, Some(4)),
            line("4", State::Waiting, Some(GapKind::NotSentYet), None),
        ],
        supplier_orders: vec![SupplierOrder {
            supplier: "alder-print".into(),
            submission_id: "A-501".into(),
            status: SubmissionStatus::Making,
            words: words(),
            cut_off: Some(at()),
            can_be_changed: true,
            surplus: vec![Surplus { line_id: "9".into(), words: words() }],
            others: Some(words()),
        }],
        parcels: vec![Parcel {
            supplier: "alder-print".into(),
            parcel_id: "P-1".into(),
            submission_id: "A-501".into(),
            words: words(),
        }],
        said: vec![words()],
        findings: vec![OrderFinding {
            finding: "k3jq7x2mzp4a".to_owned(),
            check: model::Check::PartSent,
            words: words(),
            deadline: Some(words()),
            since: at(),
            note: None,
            until: None,
        }],
        settled: Vec::new(),
        timeline: Timeline { entries: vec![Entry { at: at(), words: words() }], in_all: 7 },
    }
}

/// An answer.
pub struct Got {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: String,
}

impl Got {
    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).map(|value| value.to_str().unwrap()).unwrap_or_default()
    }

    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.body))
    }

    /// The stamp of the first form.
    pub fn stamp(&self) -> String {
        let (_, rest) = self.body.split_once("name=\"stamp\" value=\"").expect("no form with a stamp");
        rest.split('"').next().unwrap().to_owned()
    }

    /// The cookie that was set, as a browser sends it back.
    pub fn cookie(&self) -> String {
        self.header("set-cookie").split(';').next().unwrap().to_owned()
    }

    /// The text without the markup.
    pub fn text(&self) -> String {
        let (mut text, mut inside) = (String::new(), false);
        for c in self.body.chars() {
            match c {
                '<' => inside = true,
                '>' => inside = false,
                c if !inside => text.push(c),
                _ => {}
            }
        }
        text
    }
}

/// A server, and a browser beside it.
#[derive(Clone)]
pub struct Browser {
    pub router: Router,
    pub desk: Arc<Kitchen>,
    pub cookie: Option<String>,
}

impl Browser {
    pub fn of(kitchen: Kitchen) -> Self {
        Self::with(kitchen, "127.0.0.1:8765", &Wanted::default())
    }

    pub fn with(kitchen: Kitchen, listen: &str, wanted: &Wanted) -> Self {
        let access = Access::checked(listen.parse().unwrap(), wanted).unwrap();
        let desk = Arc::new(kitchen);
        let (_stopping, stop) = watch::channel(false);
        let router = web::service(App::new(Arc::clone(&desk) as Arc<dyn Desk>, access, stop));
        Self { router, desk, cookie: None }
    }

    pub async fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Got {
        let mut request = Request::builder().method(method).uri(path);
        if !headers.iter().any(|(name, _)| *name == "host") {
            request = request.header("host", "127.0.0.1:8765");
        }
        if let Some(cookie) = &self.cookie {
            request = request.header("cookie", cookie);
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = request.body(Body::from(body.to_owned())).unwrap();
        let answer = self.router.clone().oneshot(request).await.unwrap();
        let (status, headers) = (answer.status(), answer.headers().clone());
        let body = answer.into_body().collect().await.unwrap().to_bytes();
        Got { status, headers, body: String::from_utf8(body.to_vec()).unwrap() }
    }

    pub async fn get(&self, path: &str) -> Got {
        self.ask("GET", path, &[], "").await
    }

    /// Posts a form with files: of each part its name, the name of the file if it is one, and what stands in it.
    pub async fn give(&self, path: &str, parts: &[(&str, Option<&str>, &str)]) -> Got {
        let mut body = String::new();
        for (name, file, text) in parts {
            let file = file.map(|file| format!("; filename=\"{file}\"")).unwrap_or_default();
            body +=
                &format!("--XX\r\ncontent-disposition: form-data; name=\"{name}\"{file}\r\n\r\n{text}\r\n");
        }
        body += "--XX--\r\n";
        let headers =
            [("content-type", "multipart/form-data; boundary=XX"), ("sec-fetch-site", "same-origin")];
        self.ask("POST", path, &headers, &body).await
    }

    /// Looks at a page as a browser does: keeps its cookie.
    pub async fn open(&mut self, path: &str) -> Got {
        let got = self.get(path).await;
        if got.headers.contains_key("set-cookie") {
            self.cookie = Some(got.cookie());
        }
        got
    }

    pub async fn post(&self, path: &str, body: &str) -> Got {
        let headers =
            [("content-type", "application/x-www-form-urlencoded"), ("sec-fetch-site", "same-origin")];
        self.ask("POST", path, &headers, body).await
    }
}
