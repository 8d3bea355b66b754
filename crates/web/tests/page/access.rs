//! Who may do what, and what is refused.

use web::access::{Role, Wanted, password};

use crate::desk::{Browser, Kitchen};
use crate::samples::one_of_each;

const PASSWORD: &str = "otter stove puffin";
const LOOKERS: &str = "kittiwake on the sill";
const TOKEN: &str = "token-of-the-kitchen-0123456789";
const LOOK_TOKEN: &str = "token-of-the-window-0123456789";

fn guarded() -> Wanted {
    Wanted {
        passwords: vec![
            (Role::Act, password::hash(PASSWORD).unwrap()),
            (Role::Look, password::hash(LOOKERS).unwrap()),
        ],
        tokens: vec![(Role::Act, TOKEN.to_owned()), (Role::Look, LOOK_TOKEN.to_owned())],
        ..Wanted::default()
    }
}

fn browser() -> Browser {
    Browser::with(Kitchen::with(one_of_each()), "0.0.0.0:8765", &guarded())
}

async fn sign_in(browser: &mut Browser, password: &str) -> crate::desk::Got {
    let page = browser.open("/queue").await;
    let form =
        format!("stamp={}&to=%2Fqueue%3Fcheck%3Dlate&password={}", page.stamp(), password.replace(' ', "+"));
    let got = browser.post("/sign-in", &form).await;
    if got.status == 303 {
        browser.cookie = Some(got.cookie());
    }
    got
}

fn set_aside(stamp: &str) -> String {
    format!("stamp={stamp}&shop=kitchen&finding={}&note=known", one_of_each()[0].id)
}

#[tokio::test]
async fn a_page_that_asks_who_you_are_shows_nothing_before_it_knows() {
    let browser = browser();
    for path in [
        "/",
        "/queue",
        "/set-aside",
        "/orders/KK-1007",
        "/events",
        "/metrics",
        "/api/queue",
        "/api/openapi.json",
    ] {
        let got = browser.get(path).await;
        assert_eq!(got.status, 401, "{path}");
        assert_eq!(got.header("www-authenticate"), "Bearer realm=\"everyline\"", "{path}");
        assert!(!got.body.contains("Otter") && !got.body.contains("part-sent"), "{path}");
    }
    for path in ["/live", "/ready", "/sign-in"] {
        assert_eq!(browser.get(path).await.status, 200, "{path}");
    }
}

#[tokio::test]
async fn whoever_signs_in_goes_on_to_where_they_wanted_and_signs_out_again() {
    let mut browser = browser();
    let wrong = sign_in(&mut browser, "otter stove puffins").await;
    assert!(wrong.text().contains("That is not the password."));
    let before = browser.cookie.clone();
    let done = sign_in(&mut browser, PASSWORD).await;
    assert_eq!((done.status.as_u16(), done.header("location")), (303, "/queue?check=late"));
    assert_ne!(browser.cookie, before, "a session has a cookie of its own");
    let page = browser.get("/queue").await;
    assert_eq!(page.status, 200);
    assert_eq!(browser.post("/set-aside", &set_aside(&page.stamp())).await.status, 303);
    let out = browser.post("/sign-out", &format!("stamp={}", page.stamp())).await;
    assert_eq!(out.status, 303);
    assert!(out.header("set-cookie").contains("Max-Age=0"));
    assert_eq!(browser.get("/queue").await.status, 401, "also for whoever kept the cookie");
}

#[tokio::test]
async fn whoever_may_only_look_sees_no_forms_and_changes_nothing() {
    let mut browser = browser();
    assert_eq!(sign_in(&mut browser, LOOKERS).await.status, 303);
    let page = browser.get("/queue").await;
    assert_eq!(page.status, 200);
    assert!(page.body.contains("KK-1"));
    assert!(!page.body.contains("action=\"/set-aside\""));
    assert!(page.text().contains("You may look, and change nothing."));
    let got = browser.post("/set-aside", &set_aside(&page.stamp())).await;
    assert_eq!(got.status, 403);
    let token = format!("Bearer {LOOK_TOKEN}");
    let headers = [("authorization", token.as_str()), ("content-type", "application/json")];
    let path = format!("/api/findings/{}/set-aside", one_of_each()[0].id);
    let put =
        Browser { cookie: None, ..browser.clone() }.ask("PUT", &path, &headers, "{\"note\":\"a\"}").await;
    assert_eq!(put.status, 403);
    assert!(browser.desk.asides.lock().unwrap().is_empty());
}

#[tokio::test]
async fn a_program_with_a_token_looks_and_acts_and_one_with_another_does_not() {
    let browser = browser();
    let path = format!("/api/findings/{}/set-aside", one_of_each()[0].id);
    for (token, looks, acts) in
        [(TOKEN, 200, 204), (LOOK_TOKEN, 200, 403), ("token-of-nobody-012345678901234", 401, 401)]
    {
        let token = format!("Bearer {token}");
        let got = browser.ask("GET", "/api/queue", &[("authorization", &token)], "").await;
        assert_eq!(got.status, looks, "{token}");
        let headers = [("authorization", token.as_str()), ("content-type", "application/json")];
        let got = browser.ask("PUT", &path, &headers, "{\"note\":\"known\"}").await;
        assert_eq!(got.status, acts, "{token}");
    }
    assert_eq!(browser.desk.asides.lock().unwrap()["kitchen"].len(), 1);
    let token = format!("bearer {TOKEN}");
    assert_eq!(browser.ask("DELETE", &path, &[("authorization", &token)], "").await.status, 204);
    assert!(browser.desk.asides.lock().unwrap()["kitchen"].is_empty());
}

#[tokio::test]
async fn a_name_that_nobody_gave_the_server_is_refused_also_on_loopback() {
    let open = Browser::of(Kitchen::with(one_of_each()));
    for path in ["/queue", "/api/queue", "/live", "/nowhere"] {
        for host in ["evil.example", "evil.example:8765", "192.168.1.5:8765", ""] {
            let got = open.ask("GET", path, &[("host", host)], "").await;
            assert_eq!(got.status, 421, "{host}{path}");
            assert!(!got.body.contains("KK-1") && got.header("set-cookie").is_empty());
        }
    }
    assert_eq!(open.ask("GET", "/queue", &[("host", "localhost:8765")], "").await.status, 200);
    let twice = [("host", "localhost:8765"), ("host", "evil.example")];
    assert_eq!(open.ask("GET", "/queue", &twice, "").await.status, 400);
    assert_eq!(open.ask("GET", "http://evil.example/queue", &[], "").await.status, 421);
    assert_eq!(open.ask("GET", "http://localhost:8765/queue", &[], "").await.status, 200);
    let named = Wanted { hosts: vec!["desk.shop.example".to_owned()], ..Wanted::default() };
    let named = Browser::with(Kitchen::with(Vec::new()), "127.0.0.1:8765", &named);
    assert_eq!(named.ask("GET", "/queue", &[("host", "desk.shop.example")], "").await.status, 200);
}

#[tokio::test]
async fn what_another_page_wants_done_is_refused() {
    let mut browser = Browser::of(Kitchen::with(one_of_each()));
    let stamp = browser.open("/queue").await.stamp();
    let form = ("content-type", "application/x-www-form-urlencoded");
    for line in [
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
        ("origin", "https://evil.example"),
        ("origin", "http://127.0.0.1:9999"),
        ("origin", "null"),
    ] {
        let got = browser.ask("POST", "/set-aside", &[form, line], &set_aside(&stamp)).await;
        assert_eq!(got.status, 403, "{line:?}");
        let json = ("content-type", "application/json");
        let path = format!("/api/findings/{}/set-aside", one_of_each()[0].id);
        let got = browser.ask("PUT", &path, &[json, line], "{\"note\":\"a\"}").await;
        assert_eq!(got.status, 403, "{line:?}");
    }
    assert!(browser.desk.asides.lock().unwrap().is_empty());
    let own = [form, ("origin", "http://127.0.0.1:8765")];
    assert_eq!(browser.ask("POST", "/set-aside", &own, &set_aside(&stamp)).await.status, 303);
}

#[tokio::test]
async fn a_form_without_its_stamp_or_with_that_of_somebody_else_is_refused() {
    let mut browser = Browser::of(Kitchen::with(one_of_each()));
    let stamp = browser.open("/queue").await.stamp();
    let mut other = Browser { cookie: None, ..browser.clone() };
    let others = other.open("/queue").await.stamp();
    assert_ne!(stamp, others);
    for bad in ["", "A", others.as_str()] {
        assert_eq!(browser.post("/set-aside", &set_aside(bad)).await.status, 403, "{bad}");
    }
    let nobody = Browser { cookie: None, ..browser.clone() };
    assert_eq!(nobody.post("/set-aside", &set_aside(&stamp)).await.status, 403);
    assert!(browser.desk.asides.lock().unwrap().is_empty());
    assert_eq!(browser.post("/set-aside", &set_aside(&stamp)).await.status, 303);
}

#[tokio::test(start_paused = true)]
async fn passwords_are_tried_ever_more_slowly() {
    let mut browser = browser();
    for _ in 0..5 {
        assert_eq!(sign_in(&mut browser, "wrong password").await.status, 200);
    }
    let slower = sign_in(&mut browser, PASSWORD).await;
    assert_eq!((slower.status.as_u16(), slower.header("retry-after")), (429, "1"));
    tokio::time::advance(std::time::Duration::from_secs(1)).await;
    assert_eq!(sign_in(&mut browser, PASSWORD).await.status, 303);
}

#[tokio::test]
async fn whoever_follows_a_link_from_a_mail_comes_again_from_our_own_page() {
    let browser = browser();
    let lines = [("sec-fetch-site", "cross-site"), ("sec-fetch-mode", "navigate")];
    let got = browser.ask("GET", "/orders/KK-1007?shop=kitchen", &lines, "").await;
    assert_eq!(got.status, 200);
    assert!(got.body.contains("http-equiv=\"refresh\" content=\"0; url=/orders/KK-1007?shop=kitchen\""));
    assert!(got.header("set-cookie").is_empty(), "the cookie that was kept back is not replaced");
    let again =
        browser.ask("GET", "/orders/KK-1007?shop=kitchen", &[("sec-fetch-site", "same-origin")], "").await;
    assert_eq!(again.status, 401);
}

#[test]
fn a_server_that_the_network_reaches_asks_who_is_there_or_is_not_served() {
    let open = web::Access::checked("0.0.0.0:8765".parse().unwrap(), &Wanted::default()).unwrap_err();
    assert!(open.to_string().contains("no password or token is set"), "{open}");
    web::Access::checked("[::1]:8765".parse().unwrap(), &Wanted::default()).unwrap();
    for (wanted, said) in [
        (Wanted { tokens: vec![(Role::Act, "short".to_owned())], ..Wanted::default() }, "shorter than 24"),
        (Wanted { passwords: vec![(Role::Act, PASSWORD.to_owned())], ..Wanted::default() }, "is not one"),
        (Wanted { hosts: vec!["a/b".to_owned()], ..guarded() }, "no name of a host"),
    ] {
        let unfit = web::Access::checked("0.0.0.0:8765".parse().unwrap(), &wanted).unwrap_err().to_string();
        assert!(unfit.contains(said), "{unfit}");
        assert!(!unfit.contains(PASSWORD), "a secret is never shown");
    }
}
