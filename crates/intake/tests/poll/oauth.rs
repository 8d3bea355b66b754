//! Access tokens: had, renewed, shared, lost, and shown by nothing.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use intake::source::declare::{Service, SignIn};
use intake::source::http::{Answer, Client, Limits, Trouble, Validators, World};
use intake::source::oauth::{Begun, Code, Lost, TokenTrouble};
use intake::source::poll::{PollError, Reader};
use secrecy::SecretString;
use serde_json::{Value, json};
use tempfile::TempDir;
use url::{Url, form_urlencoded};
use wiremock::matchers::path;
use wiremock::{Mock, MockServer, Request, ResponseTemplate};

use crate::common::*;

type Form = BTreeMap<String, String>;

/// A source on one host and its token address on another, and what both were asked.
struct Both {
    source: MockServer,
    tokens: MockServer,
    forms: Arc<Mutex<Vec<Form>>>,
    shown: Arc<Mutex<Vec<String>>>,
}

impl Both {
    /// `grant` answers a form, and how many came before; `is_good` says which tokens the source takes.
    async fn start(
        grant: impl Fn(&Form, usize) -> ResponseTemplate + Send + Sync + 'static,
        is_good: impl Fn(&str) -> bool + Send + Sync + 'static,
    ) -> Self {
        let (source, tokens) = (MockServer::start().await, MockServer::start().await);
        let (forms, shown) = (Arc::<Mutex<Vec<Form>>>::default(), Arc::<Mutex<Vec<String>>>::default());
        let kept = Arc::clone(&forms);
        let answer = move |request: &Request| {
            assert_eq!(request.method.as_str(), "POST");
            assert_eq!(request.headers["content-type"], "application/x-www-form-urlencoded");
            assert_eq!(request.headers["accept"], "application/json");
            let mut form: Form = form_urlencoded::parse(&request.body).into_owned().collect();
            if let Some(value) = request.headers.get("authorization") {
                form.insert("(basic)".to_owned(), value.to_str().unwrap().to_owned());
            }
            let mut forms = kept.lock().unwrap();
            let answer = grant(&form, forms.len());
            forms.push(form);
            answer
        };
        Mock::given(path("/token")).respond_with(answer).mount(&tokens).await;
        let kept = Arc::clone(&shown);
        let answer = move |request: &Request| {
            let shown = request.headers.get("authorization").map(|value| value.to_str().unwrap().to_owned());
            let shown = shown.unwrap_or_default();
            let is_let_in = shown.strip_prefix("Bearer ").is_some_and(&is_good);
            kept.lock().unwrap().push(shown);
            if is_let_in { json_answer(&json!({ "orders": [] })) } else { status(401) }
        };
        Mock::given(path("/api/orders")).respond_with(answer).mount(&source).await;
        Self { source, tokens, forms, shown }
    }

    fn service(&self, keys: &str) -> Service {
        let sign_in = format!(
            "sign_in = {{ token_address = \"{}/token\", client_id = \"kittiwake\", {keys} }}",
            self.tokens.uri()
        );
        service(&format!("{}/api/", self.source.uri()), &format!("{sign_in}\n{}", orders("")))
    }

    fn forms(&self) -> Vec<Form> {
        self.forms.lock().unwrap().clone()
    }

    fn shown(&self) -> Vec<String> {
        self.shown.lock().unwrap().clone()
    }
}

/// A client's own sign-in.
const BY_ITSELF: &str =
    r#"grant = "client_credentials", scope = "orders", secret = { environment = "TILL_SECRET" }"#;

/// Somebody's, whose tokens are in this folder.
fn of_somebody(folder: &Path) -> String {
    format!(
        r#"grant = "authorization_code", authorize_address = "http://127.0.0.1:9/authorize", tokens = {:?}"#,
        folder.join("tokens.json")
    )
}

fn client(service: &Service, world: &Arc<Still>) -> Client {
    client_within(service, world, Limits::default())
}

fn client_within(service: &Service, world: &Arc<Still>, limits: Limits) -> Client {
    let secret = service.sign_in.as_ref().and_then(SignIn::secret).map(|_| SecretString::from(SECRET));
    let world: Arc<dyn World> = Arc::<Still>::clone(world);
    Client::new(service, secret, limits, world).unwrap()
}

async fn get(client: &Client, service: &Service) -> Result<Answer, Trouble> {
    client.get(&service.address.join("orders").unwrap(), &Validators::default()).await
}

fn granted(access: &str, refresh: Option<&str>, more: Value) -> ResponseTemplate {
    let mut body = json!({ "access_token": access, "token_type": "bEaReR" });
    if let Some(refresh) = refresh {
        body["refresh_token"] = refresh.into();
    }
    for (key, value) in more.as_object().unwrap() {
        body[key] = value.clone();
    }
    ResponseTemplate::new(200).set_body_json(body)
}

fn refused(status: u16, error: &str) -> ResponseTemplate {
    ResponseTemplate::new(status)
        .set_body_json(json!({ "error": error, "error_description": "moss-and-stone is not known" }))
}

/// A code, as the browser would bring it.
fn code(begun: &Begun) -> Code {
    let address = begun.address();
    let state = address.query_pairs().find(|(name, _)| name == "state").unwrap().1.into_owned();
    begun.answered(&format!("/signed-in?code=moss-code&state={state}")).unwrap()
}

fn begun(service: &Service) -> Begun {
    let Some(SignIn::OAuth(oauth)) = &service.sign_in else { panic!("no grant") };
    Begun::new(oauth, 8000).unwrap()
}

async fn sign_in(service: &Service, world: &Arc<Still>) -> Result<bool, Trouble> {
    let begun = begun(service);
    let code = code(&begun);
    let world: Arc<dyn World> = Arc::<Still>::clone(world);
    begun.finish(code, None, Limits::default(), world).await.unwrap()
}

/// Signs in as somebody to a service that rotates its refresh tokens, whose first access token lasts an hour, and that takes
/// each refresh token once.
async fn signed_in() -> (Both, TempDir, Service, Arc<Still>) {
    let folder = tempfile::tempdir().unwrap();
    let both = Both::start(
        |form, before| {
            let expected = format!("refresh-{}", before.wrapping_sub(1));
            if before > 0 && form.get("refresh_token") != Some(&expected) {
                return refused(400, "invalid_grant");
            }
            let refresh = format!("refresh-{before}");
            granted(&format!("access-{before}"), Some(&refresh), json!({ "expires_in": 3600 }))
        },
        |token| token.starts_with("access-"),
    );
    let both = both.await;
    let service = both.service(&of_somebody(folder.path()));
    let world = Still::at(at(0));
    assert_eq!(sign_in(&service, &world).await, Ok(true));
    (both, folder, service, world)
}

#[tokio::test]
async fn a_client_has_a_token_by_itself_and_keeps_it_for_as_long_as_it_lasts() {
    let both = Both::start(
        |_, before| granted(&format!("access-{before}"), None, json!({ "expires_in": "3600" })),
        |token| token.starts_with("access-"),
    );
    let both = both.await;
    let service = both.service(BY_ITSELF);
    let world = Still::at(at(0));
    let client = client(&service, &world);
    for seconds in [0, 3_539, 3_540] {
        world.set(at(seconds));
        assert!(matches!(get(&client, &service).await, Ok(Answer::Json(_))));
    }
    assert_eq!(both.shown(), ["Bearer access-0", "Bearer access-0", "Bearer access-1"]);
    let form = |pairs: &[(&str, &str)]| -> Form {
        pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
    };
    let want = form(&[
        ("grant_type", "client_credentials"),
        ("scope", "orders"),
        ("(basic)", "Basic a2l0dGl3YWtlOm1vc3MtYW5kLXN0b25l"),
    ]);
    assert_eq!(both.forms(), [want.clone(), want]);
}

#[tokio::test]
async fn a_client_may_show_its_secret_in_the_body_and_say_for_what_it_asks() {
    let both = Both::start(|_, _| granted("access", None, json!({})), |_| true).await;
    let service = both.service(&format!(
        r#"{BY_ITSELF}, client_authentication = "body", parameters = {{ audience = "till & all" }}"#
    ));
    assert!(get(&client(&service, &Still::at(at(0))), &service).await.is_ok());
    let [form] = &both.forms()[..] else { panic!("{:?}", both.forms()) };
    for (name, value) in [("client_id", "kittiwake"), ("client_secret", SECRET), ("audience", "till & all")] {
        assert_eq!(form[name], value);
    }
    assert!(!form.contains_key("(basic)"));
}

#[tokio::test]
async fn a_token_that_the_source_refuses_is_renewed_once_and_the_request_made_again() {
    let both = Both::start(
        |_, before| granted(&format!("access-{before}"), None, json!({})),
        |token| token == "access-1",
    );
    let both = both.await;
    let service = both.service(BY_ITSELF);
    let world = Still::at(at(0));
    let patient = client(&service, &world);
    assert!(get(&patient, &service).await.is_ok());
    assert!(get(&patient, &service).await.is_ok());
    assert_eq!(both.shown(), ["Bearer access-0", "Bearer access-1", "Bearer access-1"]);
    assert_eq!(both.forms().len(), 2);
    assert!(world.slept().is_empty());

    let both = Both::start(|_, _| granted("access", None, json!({})), |_| false).await;
    let service = both.service(BY_ITSELF);
    let trouble = get(&client(&service, &world), &service).await.unwrap_err();
    assert_eq!(trouble, Trouble::SignIn { status: 401 });
    assert_eq!((both.shown().len(), both.forms().len()), (2, 2));
}

#[tokio::test]
async fn a_code_is_exchanged_with_its_verifier_and_the_tokens_are_kept() {
    let (both, folder, service, world) = signed_in().await;
    let [form] = &both.forms()[..] else { panic!("{:?}", both.forms()) };
    for (name, value) in [
        ("grant_type", "authorization_code"),
        ("code", "moss-code"),
        ("redirect_uri", "http://127.0.0.1:8000/signed-in"),
        ("client_id", "kittiwake"),
    ] {
        assert_eq!(form[name], value);
    }
    assert_eq!((form["code_verifier"].len(), form.len()), (43, 5));
    let client = client(&service, &world);
    assert!(get(&client, &service).await.is_ok());
    assert_eq!(both.shown(), ["Bearer access-0"]);
    assert_eq!(both.forms().len(), 1);
    let written: Value =
        serde_json::from_slice(&std::fs::read(folder.path().join("tokens.json")).unwrap()).unwrap();
    assert_eq!((&written["version"], &written["refresh_token"]), (&json!(1), &json!("refresh-0")));
}

#[tokio::test]
async fn a_refresh_token_that_is_rotated_is_on_the_disk_before_the_new_access_token_is_used() {
    let (both, folder, service, world) = signed_in().await;
    let file = folder.path().join("tokens.json");
    let seen = Arc::new(Mutex::new(Vec::new()));
    // What the file says at the moment at which the source is asked.
    let (kept, path_of_file) = (Arc::clone(&seen), file.clone());
    let answer = move |_: &Request| {
        kept.lock().unwrap().push(std::fs::read_to_string(&path_of_file).unwrap());
        json_answer(&json!({ "orders": [] }))
    };
    both.source.reset().await;
    Mock::given(path("/api/orders")).respond_with(answer).mount(&both.source).await;
    let running = client(&service, &world);
    for seconds in [0, 4_000, 8_000] {
        world.set(at(seconds));
        assert!(get(&running, &service).await.is_ok());
    }
    for (number, text) in seen.lock().unwrap().iter().enumerate() {
        assert!(text.contains(&format!("\"access-{number}\"")), "{text}");
        assert!(text.contains(&format!("\"refresh-{number}\"")), "{text}");
    }
    assert_eq!(both.forms().len(), 3);
    // The next process goes on from there.
    world.set(at(12_000));
    assert!(get(&client(&service, &world), &service).await.is_ok());
    assert_eq!(both.forms()[3]["refresh_token"], "refresh-2");
}

#[tokio::test]
async fn a_refresh_token_that_is_not_given_anew_stays() {
    let folder = tempfile::tempdir().unwrap();
    let both = Both::start(
        |_, before| {
            let refresh = (before == 0).then_some("refresh");
            granted(&format!("access-{before}"), refresh, json!({ "expires_in": 100 }))
        },
        |_| true,
    );
    let both = both.await;
    let service = both.service(&of_somebody(folder.path()));
    let world = Still::at(at(0));
    sign_in(&service, &world).await.unwrap();
    let client = client(&service, &world);
    for seconds in [100, 200, 300] {
        world.set(at(seconds));
        assert!(get(&client, &service).await.is_ok());
    }
    assert!(both.forms()[1..].iter().all(|form| form["refresh_token"] == "refresh"), "{:?}", both.forms());
    assert_eq!(both.forms().len(), 4);
}

/// The first of them renews, the others find what it has had: with one client, and with clients that share the file alone, as
/// processes do.
#[tokio::test]
async fn several_that_want_a_new_token_at_once_make_one_request() {
    let (both, _folder, service, world) = signed_in().await;
    world.set(at(4_000));
    let clients: Vec<Arc<Client>> = (0..4).map(|_| Arc::new(client(&service, &world))).collect();
    let mut all = tokio::task::JoinSet::new();
    for number in 0..16 {
        let (client, service) = (Arc::clone(&clients[number % 4]), service.clone());
        all.spawn(async move { get(&client, &service).await.map(drop) });
    }
    for outcome in all.join_all().await {
        assert_eq!(outcome, Ok(()));
    }
    assert_eq!(both.forms().len(), 2);
    assert!(both.shown().iter().all(|shown| shown == "Bearer access-1"), "{:?}", both.shown());
}

/// What was refused to all of them is renewed by the first; the others take what it had.
#[tokio::test]
async fn several_whose_token_is_refused_at_once_make_one_request() {
    let (both, _folder, service, world) = signed_in().await;
    both.source.reset().await;
    let answer = |request: &Request| match request.headers["authorization"].to_str() {
        Ok("Bearer access-0") => status(401),
        _ => json_answer(&json!({ "orders": [] })),
    };
    Mock::given(path("/api/orders")).respond_with(answer).mount(&both.source).await;
    let mut all = tokio::task::JoinSet::new();
    for _ in 0..6 {
        let (client, service) = (client(&service, &world), service.clone());
        all.spawn(async move { get(&client, &service).await.map(drop) });
    }
    for outcome in all.join_all().await {
        assert_eq!(outcome, Ok(()));
    }
    assert_eq!(both.forms().len(), 2);
}

#[tokio::test]
async fn a_token_address_that_cannot_answer_is_asked_again_and_the_sign_in_is_not_lost() {
    for (code, want) in [(500, 0.5), (503, 7.0), (429, 7.0), (408, 0.5)] {
        let both = Both::start(
            move |_, before| match before {
                0 => ResponseTemplate::new(code).insert_header("retry-after", "7"),
                _ => granted("access", None, json!({})),
            },
            |_| true,
        );
        let both = both.await;
        let service = both.service(BY_ITSELF);
        let world = Still::at(at(0));
        assert!(get(&client(&service, &world), &service).await.is_ok());
        let slept: Vec<f64> = world.slept().iter().map(Duration::as_secs_f64).collect();
        assert_eq!(slept, [want], "{code}");
    }
    let both = Both::start(|_, _| refused(400, "temporarily_unavailable"), |_| true).await;
    let service = both.service(BY_ITSELF);
    let world = Still::at(at(0));
    let trouble = get(&client(&service, &world), &service).await.unwrap_err();
    assert!(trouble.may_pass(), "{trouble}");
    assert_eq!(both.forms().len(), 5);
    assert!(both.shown().is_empty());
}

#[tokio::test]
async fn nobody_at_the_token_address_and_one_that_is_too_slow_may_pass() {
    let both =
        Both::start(|_, _| granted("access", None, json!({})).set_delay(Duration::from_secs(5)), |_| true);
    let both = both.await;
    let slow = both.service(BY_ITSELF);
    let world = Still::at(at(0));
    let limits = Limits { answer: Duration::from_millis(30), tries: 2, ..Limits::default() };
    let trouble = get(&client_within(&slow, &world, limits), &slow).await.unwrap_err();
    assert_eq!(
        trouble.to_string(),
        "no access token could be had: at the token address, there was no whole answer within 0.03 seconds"
    );
    assert!(trouble.may_pass() && world.slept().len() == 1);

    let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let mut none = slow.clone();
    let Some(SignIn::OAuth(oauth)) = &mut none.sign_in else { panic!("no grant") };
    oauth.token_address = Url::parse(&format!("http://{free}/token")).unwrap();
    let trouble = get(&client(&none, &world), &none).await.unwrap_err();
    assert!(trouble.may_pass(), "{trouble}");
    assert!(
        trouble
            .to_string()
            .starts_with("no access token could be had: at the token address, there was no answer (")
    );
    assert!(!trouble.to_string().contains("127.0.0.1"), "{trouble}");
}

#[tokio::test]
async fn an_answer_that_is_no_token_is_said_and_does_not_lose_the_sign_in() {
    let answer = |body: Value| ResponseTemplate::new(200).set_body_json(body);
    let page = "<!doctype html><p>Sign in, moss-and-stone";
    for (given, want) in [
        (
            ResponseTemplate::new(200).set_body_raw(page, "text/html"),
            "at the token address, the answer is HTML where JSON was expected (status 200)",
        ),
        (
            ResponseTemplate::new(400).set_body_raw(page, "text/html"),
            "at the token address, the answer is HTML where JSON was expected (status 400)",
        ),
        (
            ResponseTemplate::new(200).set_body_string("access_token=moss-and-stone"),
            "at the token address, the answer is no JSON (from line 1, column 1 on, status 200)",
        ),
        (answer(json!({ "token_type": "Bearer" })), "the token address answered without an access token"),
        (
            answer(json!({ "access_token": "moss-and-stone", "token_type": "mac" })),
            "the token address answered with a token whose type is not bearer",
        ),
        (
            answer(json!({ "access_token": "moss-and-stone" })),
            "the token address answered with a token whose type is not bearer",
        ),
        (
            answer(json!({ "access_token": "moss-and-stone\n", "token_type": "Bearer" })),
            "the token address answered with an access token that cannot stand in a header line",
        ),
        (
            answer(json!({ "access_token": ["moss-and-stone"], "token_type": "Bearer" })),
            "the token address answered with JSON of another shape",
        ),
        (
            answer(json!({ "access_token": "m".repeat(70_000), "token_type": "Bearer" })),
            "at the token address, the answer is larger than 65536 bytes",
        ),
        (
            ResponseTemplate::new(307).insert_header("location", "http://127.0.0.1:9/moss-and-stone"),
            "the token address answered with a redirection, which is not followed",
        ),
        (
            ResponseTemplate::new(404).set_body_json(json!({ "message": "moss-and-stone" })),
            "the token address refused the request (status 404)",
        ),
    ] {
        let both = Both::start(move |_, _| given.clone(), |_| true).await;
        let service = both.service(BY_ITSELF);
        let world = Still::at(at(0));
        let trouble = get(&client(&service, &world), &service).await.unwrap_err();
        assert!(matches!(&trouble, Trouble::NoToken { .. }) && !trouble.may_pass(), "{trouble:?}");
        assert_eq!(trouble.to_string(), format!("no access token could be had: {want}"));
        assert!(!format!("{trouble:?}").contains("moss"), "{trouble:?}");
        assert!(both.forms().len() == 1 && both.shown().is_empty() && world.slept().is_empty());
    }
}

#[tokio::test]
async fn each_refusal_of_the_token_address_has_an_outcome_and_is_not_asked_again() {
    let of_client = |code| Lost::Client { code };
    let of_request = |code| Lost::Request { code };
    let plain = ResponseTemplate::new(401).set_body_string("moss-and-stone");
    for (given, want) in [
        (refused(401, "invalid_client"), of_client("invalid_client")),
        (refused(400, "unauthorized_client"), of_client("unauthorized_client")),
        (plain, of_client("status 401")),
        (refused(400, "invalid_scope"), of_request("invalid_scope")),
        (refused(400, "invalid_target"), of_request("invalid_target")),
        (refused(400, "unsupported_grant_type"), of_request("unsupported_grant_type")),
        // By itself nobody has signed in.
        (refused(400, "invalid_grant"), of_request("invalid_grant")),
        (refused(400, "moss-and-stone"), of_request("an error that is not of the standard")),
        // Some say it with the status of what is well.
        (refused(200, "invalid_client"), of_client("invalid_client")),
    ] {
        let both = Both::start(move |_, _| given.clone(), |_| true).await;
        let service = both.service(BY_ITSELF);
        let world = Still::at(at(0));
        let trouble = get(&client(&service, &world), &service).await.unwrap_err();
        assert_eq!(trouble, Trouble::SignedOut { lost: Box::new(want.clone()) });
        assert!(!format!("{trouble} {trouble:?} {}", want.help("till")).contains("moss"), "{trouble:?}");
        assert!(want.help("till").contains("`everyline source sign-in till`"), "{}", want.help("till"));
        assert!(both.forms().len() == 1 && both.shown().is_empty() && world.slept().is_empty());
    }
}

fn reader_of(service: &Service, world: &Arc<Still>) -> Reader {
    Reader {
        shop: "kittiwake".into(),
        source: "till".into(),
        service: service.clone(),
        client: client(service, world),
        digest_key: b"a key of the tests".to_vec(),
    }
}

#[tokio::test]
async fn a_sign_in_that_was_taken_back_says_how_to_sign_in_anew() {
    let (both, folder, service, world) = signed_in().await;
    let file = folder.path().join("tokens.json");
    both.tokens.reset().await;
    Mock::given(path("/token")).respond_with(refused(400, "invalid_grant")).mount(&both.tokens).await;
    let before = std::fs::read(&file).unwrap();
    world.set(at(4_000));
    let error = poll(&reader_of(&service, &world), "orders", &mut Kept::default()).await.unwrap_err();
    assert!(error.is_of_sign_in() && !error.may_pass());
    assert_eq!(
        error.to_string(),
        "source \"till\", request \"orders\", page 1: the sign-in was taken back or has run out (invalid_grant). The mark has \
         not moved. Sign in anew with `everyline source sign-in till`."
    );
    assert!(both.shown().is_empty());
    assert_eq!(std::fs::read(&file).unwrap(), before);
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(left.len(), 2, "{left:?}");
}

#[tokio::test]
async fn a_source_that_refuses_a_token_that_was_just_had_is_signed_out() {
    let folder = tempfile::tempdir().unwrap();
    let both = Both::start(|_, _| granted("access", Some("refresh"), json!({})), |_| false).await;
    let service = both.service(&of_somebody(folder.path()));
    let world = Still::at(at(0));
    sign_in(&service, &world).await.unwrap();
    let error = poll(&reader_of(&service, &world), "orders", &mut Kept::default()).await.unwrap_err();
    let PollError::SignedOut { lost, .. } = &error else { panic!("{error}") };
    assert_eq!(**lost, Lost::Refused { status: 401 });
    assert!(error.to_string().contains("`everyline source sign-in till`"), "{error}");
}

#[tokio::test]
async fn who_has_not_signed_in_or_cannot_renew_is_signed_out() {
    let folder = tempfile::tempdir().unwrap();
    let both = Both::start(|_, _| granted("access", None, json!({ "expires_in": 100 })), |_| true).await;
    let service = both.service(&of_somebody(folder.path()));
    let world = Still::at(at(0));
    let running = client(&service, &world);
    let lost = get(&running, &service).await.unwrap_err();
    assert_eq!(lost, Trouble::SignedOut { lost: Box::new(Lost::Nobody) });
    assert_eq!(sign_in(&service, &world).await, Ok(false));
    assert!(get(&running, &service).await.is_ok());
    world.set(at(100));
    let lost = get(&running, &service).await.unwrap_err();
    assert_eq!(lost, Trouble::SignedOut { lost: Box::new(Lost::NotRenewable) });
    assert_eq!(both.forms().len(), 1);
}

#[tokio::test]
async fn a_declaration_that_was_changed_does_not_send_tokens_elsewhere() {
    let (both, _folder, mut service, world) = signed_in().await;
    let elsewhere = MockServer::start().await;
    let Some(SignIn::OAuth(oauth)) = &mut service.sign_in else { panic!("no grant") };
    oauth.token_address = Url::parse(&format!("{}/token", elsewhere.uri())).unwrap();
    world.set(at(4_000));
    let lost = get(&client(&service, &world), &service).await.unwrap_err();
    assert_eq!(lost, Trouble::SignedOut { lost: Box::new(Lost::OfAnother) });
    assert!(elsewhere.received_requests().await.unwrap().is_empty());
    assert!(both.shown().is_empty());
}

/// The token goes to the source's own origin alone, wherever it leads.
#[tokio::test]
async fn no_token_goes_to_another_origin() {
    let other = MockServer::start().await;
    let leads = format!("{}/api/orders", other.uri());
    let both = Both::start(|_, _| granted("access", None, json!({})), |_| true).await;
    both.source.reset().await;
    let answer = status(302).insert_header("location", leads.as_str());
    Mock::given(path("/api/orders")).respond_with(answer).mount(&both.source).await;
    let service = both.service(BY_ITSELF);
    let trouble = get(&client(&service, &Still::at(at(0))), &service).await.unwrap_err();
    assert!(matches!(trouble, Trouble::Elsewhere { .. }), "{trouble}");
    assert!(other.received_requests().await.unwrap().is_empty());
}

/// A crash is not the only way to lose a token: what cannot be written is kept until it can.
#[cfg(unix)]
#[tokio::test]
async fn tokens_that_cannot_be_written_are_not_used_before_they_are() {
    let (both, folder, service, world) = signed_in().await;
    // The name of the new file is taken by a folder, which no file replaces: nothing is asked for.
    let beside: PathBuf = folder.path().join("tokens.json.new");
    std::fs::create_dir(&beside).unwrap();
    world.set(at(4_000));
    let running = client(&service, &world);
    let trouble = get(&running, &service).await.unwrap_err();
    let Trouble::NoToken { trouble } = trouble else { panic!("{trouble}") };
    assert!(matches!(*trouble, TokenTrouble::NotKept { .. }), "{trouble}");
    assert_eq!((both.forms().len(), both.shown().len()), (1, 0));
    std::fs::remove_dir(&beside).unwrap();

    // The place of the tokens is taken by a folder while they are asked for.
    let (file, aside) = (folder.path().join("tokens.json"), folder.path().join("aside"));
    both.tokens.reset().await;
    let (from, to) = (file.clone(), aside.clone());
    let answer = move |_: &Request| {
        std::fs::rename(&from, &to).unwrap();
        std::fs::create_dir(&from).unwrap();
        std::fs::write(from.join("x"), "x").unwrap();
        granted("access-new", Some("refresh-new"), json!({}))
    };
    Mock::given(path("/token")).respond_with(answer).mount(&both.tokens).await;
    let trouble = get(&running, &service).await.unwrap_err();
    assert!(matches!(&trouble, Trouble::NoToken { .. }), "{trouble}");
    assert!(both.shown().is_empty());
    std::fs::remove_dir_all(&file).unwrap();
    std::fs::rename(&aside, &file).unwrap();
    assert!(get(&running, &service).await.is_ok());
    assert_eq!(both.shown(), ["Bearer access-new"]);
    assert!(std::fs::read_to_string(&file).unwrap().contains("refresh-new"));
}

/// A source may hand a token back, as a cursor for instance: it must not come into the mark.
#[tokio::test]
async fn no_token_is_kept_in_a_mark_or_shown() {
    let (both, _folder, mut service, world) = signed_in().await;
    service = {
        let sign_in = service.sign_in.take();
        let keys = orders("pages = { by = \"cursor\", at = \"$.more\", ask = \"after\" }");
        let mut with_cursor = crate::common::service(&format!("{}/api/", both.source.uri()), &keys);
        with_cursor.sign_in = sign_in;
        with_cursor
    };
    for cursor in ["access-0", "x refresh-0 y", "harmless"] {
        both.source.reset().await;
        let body = json!({ "orders": [order(1, -9)], "more": cursor });
        Mock::given(path("/api/orders")).respond_with(json_answer(&body)).mount(&both.source).await;
        let reader = reader_of(&service, &world);
        let mut kept = Kept::default();
        // The second page is the first one again, which ends it.
        drop(poll_some(&reader, "orders", &mut kept, 1).await);
        let text = &kept.marks["orders"].text;
        assert_eq!(text.contains("harmless"), cursor == "harmless", "{text}");
        assert!(!text.contains("access-0") && !text.contains("refresh-0"), "{text}");
        assert!(!format!("{reader:?} {:?}", reader.client).contains("access-0"));
    }
}

/// Whatever was in the file stays where a new sign-in fails.
#[tokio::test]
async fn a_code_that_is_refused_leaves_the_old_tokens() {
    let (both, folder, service, world) = signed_in().await;
    let before = std::fs::read(folder.path().join("tokens.json")).unwrap();
    both.tokens.reset().await;
    Mock::given(path("/token")).respond_with(refused(400, "invalid_grant")).mount(&both.tokens).await;
    let trouble = sign_in(&service, &world).await.unwrap_err();
    assert_eq!(trouble, Trouble::SignedOut { lost: Box::new(Lost::Revoked) });
    assert_eq!(std::fs::read(folder.path().join("tokens.json")).unwrap(), before);
    assert!(begun(&service).is_kept(&Limits::default()).await.is_ok());
}

/// As `saying` has it of the source's own answers.
#[tokio::test]
async fn every_error_of_a_token_says_where_what_and_what_to_do_and_no_secret() {
    let start = r#"source "till", request "orders", page 1: "#;
    for (answer, want) in [
        (
            refused(401, "invalid_client"),
            "the token address refused the client (invalid_client). The mark has not moved. Correct client_id, secret or \
             client_authentication under sign_in; `everyline source sign-in till` tries them.",
        ),
        (
            refused(400, "invalid_scope"),
            "the token address refused the request (invalid_scope). The mark has not moved. Correct scope or parameters \
             under sign_in; `everyline source sign-in till` tries them.",
        ),
        (
            ResponseTemplate::new(200).set_body_raw("<html>moss", "text/html"),
            "no access token could be had: at the token address, the answer is HTML where JSON was expected (status 200). \
             The mark has not moved. Check token_address under sign_in of the source with what it documents.",
        ),
        (
            ResponseTemplate::new(500).set_body_string("moss"),
            "no access token could be had: the token address cannot answer now (status 500). The mark has not moved: the \
             next poll goes on from there. The sign-in is not lost by that; if it stays so, tell whoever runs the service \
             that signs in.",
        ),
        (
            ResponseTemplate::new(429).insert_header("retry-after", "3600"),
            "no access token could be had: the token address cannot answer now (status 429), and wants not to be asked \
             before 2026-11-24T13:00:00Z. The mark has not moved: the next poll goes on from there. The sign-in is not lost \
             by that; if it stays so, tell whoever runs the service that signs in.",
        ),
    ] {
        let both = Both::start(move |_, _| answer.clone(), |_| true).await;
        let world = Still::at(at(0));
        let reader = reader_of(&both.service(BY_ITSELF), &world);
        let error = poll(&reader, "orders", &mut Kept::default()).await.unwrap_err();
        let said = error.to_string();
        assert_eq!(said.strip_prefix(start).unwrap_or(&said), want);
        assert_eq!(error.not_before(), said.contains("13:00").then(|| at(3_600)));
        for shown in [said, format!("{error:?}")] {
            assert!(!shown.contains("moss") && !shown.contains("127.0.0.1"), "{shown}");
        }
    }
}
