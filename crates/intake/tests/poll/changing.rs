//! Changing the SKU of one offer: how it is asked, what each answer means, and how the offer is read again.
//!
//! Start reading at [`Shop`].

use std::sync::Arc;
use std::time::Duration;

use chrono::TimeDelta;
use intake::source::action::{ActionTrouble, Asked as Came, Found, OfferKey, Seen, SkuChanger};
use intake::source::http::{Limits, Trouble};
use model::{Options, Sku};
use serde_json::{Value, json};
use wiremock::ResponseTemplate;

use crate::common::*;

/// Offers by page, and a change of one of them.
const OFFERS: &str = r#"
    [requests.offers]
    path = "offers"
    pages = { by = "number", ask = "page" }
    [requests.offers.tables.offers]
    at = "$.offers[*]"
    [requests.offers.tables.offers.fields]
    listing_id = "$.page"
    sku = "$.sku"
    options = { object_at = "$.choices", keep = ["Size", "Print / colour"] }
    buyable = "$.buyable"
"#;

const CHANGE: &str = r#"
    [change_sku]
    method = "PUT"
    path = "offers/{record.number}/sku"
    body = { sku = "{sku}" }
    record = { number = "$.number" }
    answer = [{ at = "$.offer.sku", is = "{sku}" }]
"#;

const READ: &str = r#"
    [change_sku.read]
    path = "listings/{listing_id}/offers"
    at = "$.offers[*]"
    pages = { by = "link" }
"#;

fn keys(change: &str) -> String {
    let sign_in = r#"sign_in = { header = "Authorization", before = "Bearer ", secret = { environment = "TILL_KEY" } }"#;
    format!("{sign_in}\n{OFFERS}\n{change}")
}

fn changer_at(address: &str, change: &str, limits: Limits, world: &Arc<Still>) -> SkuChanger {
    SkuChanger::new(reader_within(service(address, &keys(change)), world, limits)).unwrap()
}

fn changer(server: &Server, change: &str) -> SkuChanger {
    changer_at(&server.address(), change, Limits::default(), &Still::at(at(0)))
}

fn sku(text: &str) -> Option<Sku> {
    Sku::new(text)
}

fn key(listing: &str, options: &[(&str, &str)]) -> OfferKey {
    OfferKey { listing_id: listing.into(), options: Options::from_pairs(options.iter().copied()).unwrap() }
}

fn apron() -> OfferKey {
    key("1001", &[("Size", "M")])
}

fn record(number: Value, listing: &str, size: &str, sku: &str) -> Value {
    json!({ "number": number, "page": listing, "choices": { "Size": size }, "sku": sku, "buyable": true })
}

/// What a server answers that has one offer, and makes no change whatever it is asked.
fn reads(asked: &Asked, record: &Value) -> Option<ResponseTemplate> {
    (!asked.path.ends_with("/sku")).then(|| json_answer(&json!({ "offers": [record] })))
}

/// A server with the apron, which answers a change so; and the offer, as it was read there.
async fn shop(
    answer: impl Fn(Asked) -> ResponseTemplate + Send + Sync + 'static,
) -> (Server, SkuChanger, Found) {
    let server = Server::start(move |asked| {
        reads(&asked, &record(json!(7), "1001", "M", "OLD")).unwrap_or_else(|| answer(asked))
    })
    .await;
    let mut changer = changer(&server, &format!("{CHANGE}{READ}"));
    let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
    (server, changer, found)
}

fn says(sku: &str) -> ResponseTemplate {
    json_answer(&json!({ "offer": { "sku": sku } }))
}

/// What was asked beside GET: method, path as it was sent, kind and body.
async fn written(server: &Server) -> Vec<(String, String, String, Vec<u8>)> {
    let requests = server.mock.received_requests().await.unwrap();
    let writes = requests.into_iter().filter(|request| request.method.as_str() != "GET");
    let shown = writes.map(|request| {
        let target = request.url[url::Position::BeforePath..].to_owned();
        let kind = request.headers.get("content-type").map(|kind| kind.to_str().unwrap().to_owned());
        (request.method.to_string(), target, kind.unwrap_or_default(), request.body)
    });
    shown.collect()
}

#[tokio::test]
async fn a_change_is_asked_as_it_is_declared_and_signed_in() {
    let (server, mut changer, found) = shop(|asked| {
        assert_eq!(asked.headers["authorization"], format!("Bearer {SECRET}"));
        says("NEW 1")
    })
    .await;
    assert_eq!(found.sku, sku("OLD"));
    let came = changer.change(&apron(), &found, sku("NEW 1").as_ref()).await;
    assert_eq!(came, Ok(Came::Confirmed));
    let asked = written(&server).await;
    let want = ("PUT", "/api/offers/7/sku", "application/json", &br#"{"sku":"NEW 1"}"#[..]);
    let shown: Vec<_> =
        asked.iter().map(|(a, b, c, d)| (a.as_str(), b.as_str(), c.as_str(), &d[..])).collect();
    assert_eq!(shown, [want]);
}

/// What breaks out of where it stands, where it is not escaped.
const HOSTILE: [&str; 14] = [
    "a/b",
    "../../orders",
    "..a",
    "\"},{\"sku\":\"x",
    "{sku}",
    "{{}} {record.number}",
    "a\\u0022\\",
    "line\r\nbreak\tand\u{0}\u{1f}",
    "Größe ü 日本 \u{1f455}",
    "?page=2&x=1#part",
    "50% %2e%2e %00",
    "a;b,c=d+e:f@g!$&'()*",
    "</script>\u{2028}",
    " blanks at both ends ",
];

#[tokio::test]
async fn values_are_escaped_for_where_they_stand() {
    let change = r#"
        [change_sku]
        method = "PATCH"
        path = "listings/{listing_id}/by/{option.print / colour}/x{record.number}y"
        query = { old = "{old_sku}", all = "{options}", mixed = "a{sku}b" }
        body = '''{ "to": "{sku}", "text": "from {old_sku} to {sku} {{not a placeholder}}", "all": "{options}",
                    "list": ["{listing_id}", 1, null, { "deep": "{record.number}" }] }'''
        record = { number = "$.number" }
        answer = [{ at = "$.to", is = "{sku}" }, { at = "$.all", is = "{options}" }]
    "#;
    for hostile in HOSTILE {
        let choices = json!({ "Print / colour": hostile, "Size": "M" });
        let offer =
            json!({ "number": hostile, "page": hostile, "choices": choices, "sku": format!("x{hostile}") });
        let server = Server::start({
            let (offer, choices) = (offer.clone(), choices.clone());
            move |asked| {
                if asked.path == "/api/offers" {
                    let offers = if asked.number("page", 1) == 1 { vec![offer.clone()] } else { vec![] };
                    return json_answer(&json!({ "offers": offers }));
                }
                json_answer(&json!({ "to": hostile, "all": choices }))
            }
        })
        .await;
        let mut changer = changer(&server, change);
        let offer = key(hostile, &[("Size", "M"), ("Print / colour", hostile)]);
        let seen = changer.read(&offer).await.unwrap();
        let Seen::Found(found) = seen else { panic!("{hostile:?}: {seen:?}") };
        let came = changer.change(&offer, &found, sku(hostile).as_ref()).await;
        assert_eq!(came, Ok(Came::Confirmed), "{hostile:?}");

        let asked = server.mock.received_requests().await.unwrap().pop().unwrap();
        let segments: Vec<String> = asked.url.path_segments().unwrap().map(decoded).collect();
        let number = format!("x{hostile}y");
        assert_eq!(segments, ["api", "listings", hostile, "by", hostile, &number], "{hostile:?}");
        let query: Vec<(String, String)> = asked.url.query_pairs().into_owned().collect();
        let value = |name: &str| &query.iter().find(|(known, _)| known == name).unwrap().1;
        assert_eq!(query.len(), 3);
        assert_eq!(value("old"), &format!("x{hostile}"));
        assert_eq!(serde_json::from_str::<Value>(value("all")).unwrap(), choices);
        assert_eq!(value("mixed"), &format!("a{hostile}b"));
        let text = format!("from x{hostile} to {hostile} {{not a placeholder}}");
        let list = json!([hostile, 1, null, { "deep": hostile }]);
        let body: Value = serde_json::from_slice(&asked.body).unwrap();
        assert_eq!(body, json!({ "to": hostile, "text": text, "all": choices, "list": list }));
    }
}

/// Percent signs decoded, and nothing else: a plus is one.
fn decoded(segment: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = segment.as_bytes();
    while let Some((first, behind)) = rest.split_first() {
        if *first == b'%' {
            bytes.push(u8::from_str_radix(std::str::from_utf8(&behind[..2]).unwrap(), 16).unwrap());
            rest = &behind[2..];
        } else {
            bytes.push(*first);
            rest = behind;
        }
    }
    String::from_utf8(bytes).unwrap()
}

#[tokio::test]
async fn a_placeholder_by_itself_keeps_its_type() {
    let change = r#"
        [change_sku]
        method = "POST"
        path = "changes"
        content_type = "application/merge-patch+json"
        body = { number = "{record.number}", open = "{record.open}", parts = "{record.parts}", sku = "{sku}", old = "{old_sku}", text = "no. {record.number}" }
        record = { number = "$.number", open = "$.buyable", parts = "$.parts" }
        answer = [{ at = "$.number", is = "{record.number}" }, { at = "$.sku", is = "{sku}" }]
    "#;
    let server = Server::start(|asked| {
        let mut offer = record(json!(u64::MAX), "1001", "M", "");
        offer["parts"] = json!([{ "id": 1.5 }, "x"]);
        match asked.path.as_str() {
            "/api/changes" => json_answer(&json!({ "number": u64::MAX.to_string() })),
            _ if asked.number("page", 1) == 1 => json_answer(&json!({ "offers": [offer] })),
            _ => json_answer(&json!({ "offers": [] })),
        }
    })
    .await;
    let mut changer = changer(&server, change);
    let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
    assert_eq!(found.sku, None);
    // No SKU is null, and an answer without one says so.
    assert_eq!(changer.change(&apron(), &found, None).await, Ok(Came::Confirmed));
    let asked = written(&server).await;
    assert_eq!((asked[0].0.as_str(), asked[0].2.as_str()), ("POST", "application/merge-patch+json"));
    let body: Value = serde_json::from_slice(&asked[0].3).unwrap();
    let want = json!({
        "number": u64::MAX, "open": true, "parts": [{ "id": 1.5 }, "x"], "sku": null, "old": null,
        "text": format!("no. {}", u64::MAX),
    });
    assert_eq!(body, want);
}

#[tokio::test]
async fn no_sku_is_sent_as_it_is_declared() {
    let change = format!("{CHANGE}\nno_sku = \"\"\n{READ}");
    let server = Server::start(|asked| {
        reads(&asked, &record(json!(7), "1001", "M", "OLD"))
            .unwrap_or_else(|| json_answer(&json!({ "offer": { "sku": null } })))
    })
    .await;
    let mut changer = changer(&server, &change);
    let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
    assert_eq!(changer.change(&apron(), &found, None).await, Ok(Came::Confirmed));
    assert_eq!(written(&server).await[0].3, br#"{"sku":""}"#);
}

/// Each answer, what it means, and words that say why.
#[tokio::test]
async fn every_answer_to_a_change_has_one_meaning_and_is_asked_for_once() {
    let html = || ResponseTemplate::new(200).set_body_raw("<p>Sign in</p>", "text/html");
    let to = |code| status(code).insert_header("location", "/api/elsewhere");
    let away = |code| status(code).insert_header("location", "http://127.0.0.1:9/elsewhere");
    let body = |code, body: &str| ResponseTemplate::new(code).set_body_raw(body, "application/json");
    let cases: Vec<(ResponseTemplate, &str, &str)> = vec![
        (says("NEW"), "confirmed", ""),
        (body(201, r#"{ "offer": { "sku": "NEW" } }"#), "confirmed", ""),
        (
            says("ANOTHER"),
            "otherwise",
            r#""ANOTHER" stands at $.offer.sku of the answer, and "NEW" was expected"#,
        ),
        (says(SECRET), "otherwise", "what holds a secret, and is not shown, stands"),
        (says("new"), "otherwise", r#""new" stands"#),
        (json_answer(&json!({ "offer": { "sku": null } })), "otherwise", "nothing stands at $.offer.sku"),
        (json_answer(&json!({ "offer": { "sku": ["NEW"] } })), "otherwise", "an object or a list stands"),
        (json_answer(&json!([])), "otherwise", "nothing stands at $.offer.sku"),
        (html(), "otherwise", "the answer is HTML where JSON was expected (status 200)"),
        (body(200, "done"), "otherwise", "the answer is no JSON"),
        (status(204), "otherwise", "the answer is empty"),
        (body(200, r#"{ "offer": { "sku": "NE"#), "not known", "the answer was cut off"),
        (body(400, "{}"), "refused", "refused the change (status 400); it does not take the body"),
        (status(403), "refused", "(status 403); the sign-in may not be allowed"),
        (status(404), "refused", "(status 404); there is no such offer"),
        (status(405), "refused", "(status 405)"),
        (status(409), "refused", "(status 409); the offer was changed by somebody else"),
        (status(412), "refused", "(status 412)"),
        (status(415), "refused", "(status 415); content_type"),
        (status(422), "refused", "(status 422)"),
        (status(408), "not known", "(status 408)"),
        (status(500), "not known", "the source cannot answer now (status 500)"),
        (status(502), "not known", "(status 502)"),
        (status(503).insert_header("retry-after", "1"), "not known", "(status 503)"),
        (status(304), "not known", "(status 304)"),
        (to(301), "not known", "leads elsewhere (status 301), and a change is not sent on"),
        (to(302), "not known", "(status 302)"),
        (to(303), "not known", "(status 303)"),
        (to(307), "not known", "(status 307)"),
        (to(308), "not known", "(status 308)"),
        (away(307), "not known", "(status 307)"),
    ];
    for (answer, meaning, words) in cases {
        let (server, mut changer, found) = shop(move |_| answer.clone()).await;
        let came = changer.change(&apron(), &found, sku("NEW").as_ref()).await.unwrap();
        let (is, said) = match &came {
            Came::Confirmed => ("confirmed", ""),
            Came::Otherwise(said) => ("otherwise", said.as_str()),
            Came::Refused(said) => ("refused", said.as_str()),
            Came::NotKnown(said) => ("not known", said.as_str()),
        };
        assert_eq!(is, meaning, "{said} {words}");
        assert!(said.contains(words) && !said.contains(SECRET), "{said}\nis not {words}");
        assert_eq!(server.asked().await, ["listings/1001/offers", "offers/7/sku"], "{words}");
    }
}

#[tokio::test]
async fn an_answer_that_is_lost_cut_slow_or_too_large_is_not_asked_for_again() {
    let offers = raw_json(
        &json!({ "offers": [record(json!(7), "1001", "M", "OLD")] }).to_string(),
        "connection: close\r\n",
    );
    let cut = b"HTTP/1.1 200 OK\r\ncontent-type: application/json\r\ncontent-length: 500\r\n\r\n{\"offer\":"
        .to_vec();
    let no_answer = b"HTT".to_vec();
    let large = raw_json(&format!("{{\"x\":\"{}\"}}", "x".repeat(20_000)), "");
    for (answer, meaning) in [
        (cut, Came::NotKnown("the answer was cut off".to_owned())),
        (Vec::new(), Came::NotKnown("there was no whole answer within 0.3 seconds".to_owned())),
        (large, Came::Otherwise("the answer is larger than 10000 bytes".to_owned())),
    ] {
        // A second try would be confirmed.
        let address =
            raw_server(vec![offers.clone(), answer, raw_json(r#"{ "offer": { "sku": "NEW" } }"#, "")]).await;
        let limits = Limits { answer: Duration::from_millis(300), bytes: 10_000, ..Limits::default() };
        let mut changer = changer_at(&address, &format!("{CHANGE}{READ}"), limits, &Still::at(at(0)));
        let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
        assert_eq!(changer.change(&apron(), &found, sku("NEW").as_ref()).await, Ok(meaning));
    }
    let address = raw_server(vec![offers, no_answer, raw_json(r#"{ "offer": { "sku": "NEW" } }"#, "")]).await;
    let mut changer = changer_at(&address, &format!("{CHANGE}{READ}"), Limits::default(), &Still::at(at(0)));
    let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
    let came = changer.change(&apron(), &found, sku("NEW").as_ref()).await;
    assert!(matches!(&came, Ok(Came::NotKnown(said)) if said.contains("there was no answer")), "{came:?}");
}

#[tokio::test]
async fn a_change_that_comes_too_fast_waits_as_it_is_told_and_is_asked_again() {
    let (server, _, found) =
        shop(
            |asked| {
                if asked.before < 3 { status(429).insert_header("retry-after", "7") } else { says("NEW") }
            },
        )
        .await;
    let world = Still::at(at(0));
    let mut changer = changer_at(&server.address(), &format!("{CHANGE}{READ}"), Limits::default(), &world);
    assert_eq!(changer.change(&apron(), &found, sku("NEW").as_ref()).await, Ok(Came::Confirmed));
    assert_eq!(world.slept(), [Duration::from_secs(7), Duration::from_secs(7)]);
    assert_eq!(written(&server).await.len(), 3);

    // Where it wants to be left alone for longer, nothing was changed, and it is said until when.
    let (server, mut changer, found) = shop(|_| status(429).insert_header("retry-after", "900")).await;
    let trouble = changer.change(&apron(), &found, sku("NEW").as_ref()).await.unwrap_err();
    assert!(trouble.may_pass() && !trouble.is_of_offer());
    assert_eq!(trouble.not_before(), Some(at(900)));
    assert_eq!(written(&server).await.len(), 1);

    // It is not asked for ever.
    let (server, mut changer, found) = shop(|_| status(429)).await;
    let trouble = changer.change(&apron(), &found, sku("NEW").as_ref()).await.unwrap_err();
    assert_eq!(trouble, ActionTrouble::NotAsked { trouble: Trouble::Busy { status: 429, not_before: None } });
    assert_eq!(written(&server).await.len(), 5);
}

#[tokio::test]
async fn nothing_was_asked_where_there_is_no_connection_or_no_sign_in() {
    let (_server, _, found) = shop(|_| says("NEW")).await;
    let world = Still::at(at(0));
    let mut nobody =
        changer_at("http://127.0.0.1:9/api/", &format!("{CHANGE}{READ}"), Limits::default(), &world);
    let trouble = nobody.change(&apron(), &found, sku("NEW").as_ref()).await.unwrap_err();
    assert!(
        matches!(&trouble, ActionTrouble::NotAsked { trouble: Trouble::Unreachable { .. } }),
        "{trouble}"
    );
    assert!(trouble.may_pass());
    assert_eq!(world.slept().len(), 4, "as nothing left, it is tried again");
    let trouble = nobody.read(&apron()).await.unwrap_err();
    assert!(trouble.help("till").contains("address of the source"), "{}", trouble.help("till"));

    let (server, mut changer, found) = shop(|_| status(401)).await;
    let trouble = changer.change(&apron(), &found, sku("NEW").as_ref()).await.unwrap_err();
    assert_eq!(trouble, ActionTrouble::NotAsked { trouble: Trouble::SignIn { status: 401 } });
    assert!(trouble.help("till").contains("may read and change offers"));
    assert!(!format!("{trouble} {trouble:?} {changer:?}").contains(SECRET));
    assert_eq!(written(&server).await.len(), 1);
}

#[tokio::test]
async fn an_access_token_that_has_run_out_is_had_anew_before_a_change_is_asked_again() {
    let server = Server::start(|asked| match asked.path.as_str() {
        "/api/token" => {
            let token = format!("token-{}", asked.before);
            json_answer(&json!({ "access_token": token, "token_type": "bearer" }))
        }
        _ if asked.headers["authorization"] == "Bearer token-0" => {
            match reads(&asked, &record(json!(7), "1001", "M", "")) {
                Some(offers) => offers,
                None => status(401),
            }
        }
        _ => says("NEW"),
    })
    .await;
    let sign_in = format!(
        r#"sign_in = {{ grant = "client_credentials", token_address = "{}token", client_id = "kittiwake", secret = {{ environment = "TILL_KEY" }} }}"#,
        server.address()
    );
    let service = service(&server.address(), &format!("{sign_in}\n{OFFERS}{CHANGE}{READ}"));
    let mut changer = SkuChanger::new(reader(service, &Still::at(at(0)))).unwrap();
    let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
    assert_eq!(changer.change(&apron(), &found, sku("NEW").as_ref()).await, Ok(Came::Confirmed));
    assert_eq!(
        server.asked().await,
        ["token", "listings/1001/offers", "offers/7/sku", "token", "offers/7/sku"]
    );
}

#[tokio::test]
async fn what_cannot_be_said_of_an_offer_is_not_asked() {
    let unnumbered = |number: Value| async move {
        let server = Server::start(move |asked| {
            reads(&asked, &record(number.clone(), "1001", "M", "OLD")).unwrap_or_else(|| says("NEW"))
        })
        .await;
        let mut changer = changer(&server, &format!("{CHANGE}{READ}"));
        let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
        let trouble = changer.change(&apron(), &found, sku("NEW").as_ref()).await.unwrap_err();
        assert_eq!(written(&server).await.len(), 0, "{trouble}");
        assert!(trouble.is_of_offer() && !trouble.may_pass());
        trouble.to_string()
    };
    let not_known = "{record.number} has no value for this offer";
    assert_eq!(unnumbered(Value::Null).await, not_known);
    let not_exact = "{record.number} is a number with more digits than are read exactly";
    assert_eq!(unnumbered(json!(1e20)).await, not_exact);
    for elsewhere in ["", ".", "..", "%2e%2E"] {
        let said = unnumbered(json!(elsewhere)).await;
        assert_eq!(said, format!("the value {elsewhere:?} of {{record.number}} cannot stand in an address"));
    }

    // An offer of which nothing was read, and one whose listing alone is said.
    let (server, mut changer, found) = shop(|_| says("NEW")).await;
    let trouble = changer.change(&apron(), &Found::of(sku("OLD")), sku("NEW").as_ref()).await.unwrap_err();
    assert_eq!(trouble.to_string(), not_known);
    let change = r#"
        [change_sku]
        method = "PUT"
        path = "offers/{listing_id}/sku"
        body = { sku = "{sku}" }
        answer = [{ at = "$.offer.sku", is = "{sku}" }]
    "#;
    let mut whole = self::changer(&server, change);
    let trouble = whole.change(&apron(), &found, sku("NEW").as_ref()).await.unwrap_err();
    assert_eq!(trouble, ActionTrouble::WholeListing);
    assert_eq!(written(&server).await.len(), 0);
    let alone = key("1001", &[]);
    assert_eq!(whole.change(&alone, &found, sku("NEW").as_ref()).await, Ok(Came::Confirmed));
}

#[tokio::test]
async fn an_answer_that_is_declared_to_be_empty_must_be() {
    let change = CHANGE.replace(r#"[{ at = "$.offer.sku", is = "{sku}" }]"#, r#""empty""#);
    for (answer, want) in [
        (status(204), Came::Confirmed),
        (status(200), Came::Confirmed),
        (says("NEW"), Came::Otherwise("the answer has a body, and is declared to be empty".to_owned())),
    ] {
        let server = Server::start(move |asked| {
            reads(&asked, &record(json!(7), "1001", "M", "OLD")).unwrap_or_else(|| answer.clone())
        })
        .await;
        let mut changer = changer(&server, &format!("{change}{READ}"));
        let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
        assert_eq!(changer.change(&apron(), &found, sku("NEW").as_ref()).await, Ok(want));
    }
}

#[tokio::test]
async fn one_offer_is_read_again_among_those_of_its_listing() {
    let m = || record(json!(7), "1001", "M", "OLD");
    let l = || record(json!(8), "1001", "L", "LARGE");
    let mut no_page = m();
    no_page.as_object_mut().unwrap().remove("page");
    let mut wrong = m();
    wrong["choices"] = json!("M");
    let found = |sku: &str| format!("found {sku}");
    for (offers, want) in [
        (json!([l(), m()]), found("OLD")),
        (json!([l(), no_page]), found("OLD")),
        (json!([l()]), "missing".to_owned()),
        (json!([]), "missing".to_owned()),
        (json!([m(), l(), record(json!(9), "1001", "m ", "OTHER")]), "2 of them".to_owned()),
        (json!([m(), m()]), "2 of them".to_owned()),
        (json!([record(json!(9), "2002", "M", "OTHER")]), "missing".to_owned()),
        (json!([l(), wrong]), "trouble".to_owned()),
    ] {
        let body = json!({ "offers": offers });
        let server = Server::start(move |_| json_answer(&body)).await;
        let mut changer = changer(&server, &format!("{CHANGE}{READ}"));
        assert!(!changer.reads_all());
        let seen = match changer.read(&apron()).await {
            Ok(Seen::Found(found)) => format!("found {}", found.sku.unwrap().as_str()),
            Ok(Seen::Missing) => "missing".to_owned(),
            Ok(Seen::Ambiguous(many)) => format!("{many} of them"),
            Err(ActionTrouble::Changed { .. }) => "trouble".to_owned(),
            Err(other) => panic!("{other}"),
        };
        assert_eq!(seen, want);
        assert_eq!(server.asked().await, ["listings/1001/offers"]);
    }
}

#[tokio::test]
async fn an_offer_on_the_second_page_of_its_listing_is_not_missing() {
    let server = Server::start(|asked| {
        let (number, size) = if asked.get("p") == Some("2") { (7, "M") } else { (8, "L") };
        let answer = json_answer(&json!({ "offers": [record(json!(number), "1001", size, size)] }));
        let link = "</api/listings/1001/offers?p=2>; rel=\"next\"";
        if size == "L" { answer.insert_header("link", link) } else { answer }
    })
    .await;
    let mut changer = changer(&server, &format!("{CHANGE}{READ}"));
    let seen = changer.read(&apron()).await.unwrap();
    assert!(matches!(&seen, Seen::Found(found) if found.sku == sku("M")), "{seen:?}");
}

#[tokio::test]
async fn a_reading_that_brings_nothing_says_why() {
    let away = || status(302).insert_header("location", "http://127.0.0.1:9/else");
    for (answer, want) in [
        (status(404), "missing"),
        (status(410), "missing"),
        (status(403), "the sign-in was refused (status 403)"),
        (status(400), "the source refused the request (status 400)"),
        (status(500), "the source cannot answer now (status 500)"),
        (away(), "it leads to http://127.0.0.1:9, another place than the source's own, and is not followed"),
        (ResponseTemplate::new(200).set_body_raw("<p>Sign in", "text/html"), "the answer is HTML where JSON"),
        (json_answer(&json!({ "error": "no" })), "nothing stands at $.offers"),
        (json_answer(&json!({ "offers": "no" })), "what stands at $.offers is no list"),
    ] {
        let server = Server::start(move |_| answer.clone()).await;
        let mut changer = changer(&server, &format!("{CHANGE}{READ}"));
        let said = match changer.read(&apron()).await {
            Ok(Seen::Missing) => "missing".to_owned(),
            Ok(seen) => panic!("{seen:?}"),
            Err(trouble) => {
                assert!(!trouble.help("till").is_empty() && !trouble.is_of_offer());
                trouble.to_string()
            }
        };
        assert!(said.contains(want) && !said.contains("mark"), "{said}\nis not {want}");
    }
}

/// A server with three pages of offers, all of which are read for one.
async fn three_pages() -> Server {
    Server::start(|asked| {
        let page = asked.number("page", 1);
        let offers = match page {
            1 => vec![record(json!(1), "1001", "S", "S-1"), record(json!(2), "1001", "L", "L-1")],
            2 => vec![record(json!(7), "1001", "M", "OLD"), record(json!(8), "2002", "M", "TWICE")],
            3 => vec![record(json!(9), "2002", "M", "TWICE")],
            _ => vec![],
        };
        if asked.path.ends_with("/sku") { says("NEW") } else { json_answer(&json!({ "offers": offers })) }
    })
    .await
}

#[tokio::test]
async fn where_no_reading_of_one_is_declared_all_offers_are_read_each_time() {
    let server = three_pages().await;
    let world = Still::at(at(0));
    let mut changer = changer_at(&server.address(), CHANGE, Limits::default(), &world);
    assert!(changer.reads_all());
    let pages = |asked: Vec<String>| asked.iter().filter(|asked| *asked == "offers?page=3").count();
    let seen = changer.read(&apron()).await.unwrap();
    let Seen::Found(found) = seen else { panic!("{seen:?}") };
    assert_eq!(found.sku, sku("OLD"));
    let once = server.asked().await.len();
    assert_eq!(changer.read(&key("2002", &[("size", "m")])).await, Ok(Seen::Ambiguous(2)));
    assert_eq!(changer.read(&key("2002", &[("Size", "L")])).await, Ok(Seen::Missing));
    assert_eq!(server.asked().await.len(), 3 * once, "each reading is a new one");

    // For a plan they are kept for a while, and not beyond a change.
    assert_eq!(changer.look(&apron()).await, Ok(Seen::Found(found.clone())));
    world.set(at(600));
    assert_eq!(changer.look(&key("2002", &[("Size", "M")])).await, Ok(Seen::Ambiguous(2)));
    assert_eq!(server.asked().await.len(), 3 * once);
    world.set(at(601));
    changer.look(&apron()).await.unwrap();
    assert_eq!(server.asked().await.len(), 4 * once, "what is too old is read again");
    world.set(at(0) - TimeDelta::hours(1));
    changer.look(&apron()).await.unwrap();
    assert_eq!(server.asked().await.len(), 5 * once, "by a clock that was set back nothing is new");
    assert_eq!(changer.change(&apron(), &found, sku("NEW").as_ref()).await, Ok(Came::Confirmed));
    changer.look(&apron()).await.unwrap();
    assert_eq!(server.asked().await.len(), 6 * once + 1, "a change makes what is kept old");
    assert!(pages(server.asked().await) >= 6);
}

#[tokio::test]
async fn an_offer_that_moves_to_another_page_while_it_is_read_is_one() {
    // Between the first page and the second, a new offer comes in front of the others.
    let server = Server::start(|asked| {
        let all = ["NEW", "S", "M", "L", "XL"];
        let all: Vec<Value> = all.iter().map(|size| record(json!(size), "1001", size, size)).collect();
        let all = if asked.before == 0 { &all[1..] } else { &all[..] };
        let page = all.chunks(2).nth(asked.number("page", 1) - 1).unwrap_or_default();
        json_answer(&json!({ "offers": page }))
    })
    .await;
    let mut changer = changer(&server, CHANGE);
    for size in ["S", "M", "L", "XL"] {
        let seen = changer.look(&key("1001", &[("Size", size)])).await.unwrap();
        assert!(matches!(&seen, Seen::Found(found) if found.sku == sku(size)), "{size}: {seen:?}");
    }
}

#[tokio::test]
async fn fewer_offers_than_the_source_counts_are_not_taken_for_all() {
    let server = Server::start(|asked| {
        let is_first = asked.number("page", 1) == 1;
        let offers = if is_first { vec![record(json!(1), "1001", "S", "S-1")] } else { vec![] };
        json_answer(&json!({ "offers": offers, "in_all": 2 }))
    })
    .await;
    let offers = OFFERS.replace("path = \"offers\"", "path = \"offers\"\n    count = \"$.in_all\"");
    let service = service(&server.address(), &format!("{offers}{CHANGE}"));
    let mut changer = SkuChanger::new(reader(service, &Still::at(at(0)))).unwrap();
    assert_eq!(changer.read(&apron()).await, Err(ActionTrouble::NotAll));
}

#[tokio::test]
async fn what_stands_around_the_record_of_an_offer_can_be_said_too() {
    let keys = r#"
        [requests.offers]
        path = "listings"
        [requests.offers.tables.offers]
        at = "$.listings[*].offers[*]"
        [requests.offers.tables.offers.fields]
        listing_id = { at = "$.page", around = 1 }
        sku = "$.sku"
        options = { object_at = "$.choices", keep = ["Size"] }
        [change_sku]
        method = "PUT"
        path = "listings/{record.listing}/{record.number}/sku"
        body = { sku = "{sku}" }
        record = { number = "$.number", listing = { at = "$.id", around = 1 } }
        answer = [{ at = "$.offer.sku", is = "{sku}" }]
        [change_sku.read]
        path = "listings/{listing_id}"
        query = { only = "{option.size}" }
        at = "$.offers[*]"
    "#;
    let listing = |offers: Vec<Value>| json!({ "id": "id/1", "page": "1001", "offers": offers });
    let server = Server::start(move |asked| match asked.path.as_str() {
        "/api/listings/1001" => json_answer(&listing(vec![record(json!(7), "", "M", "OLD")])),
        _ => says("NEW"),
    })
    .await;
    let mut changer = SkuChanger::new(reader(service(&server.address(), keys), &Still::at(at(0)))).unwrap();
    let Seen::Found(found) = changer.read(&apron()).await.unwrap() else { panic!("it is there") };
    assert_eq!(changer.change(&apron(), &found, sku("NEW").as_ref()).await, Ok(Came::Confirmed));
    assert_eq!(server.asked().await, ["listings/1001?only=M", "listings/id%2F1/7/sku"]);
}
