//! What every answer bears, what is too much, and what is not there.

use std::time::Duration;

use tokio::sync::watch;

use crate::desk::{Browser, Kitchen};
use crate::samples::one_of_each;

#[tokio::test]
async fn every_answer_bears_the_headers_that_keep_others_out() {
    let browser = Browser::of(Kitchen::with(one_of_each()));
    let paths = [
        "/",
        "/queue",
        "/set-aside",
        "/orders/KK-9",
        "/nowhere",
        "/api/queue",
        "/api/nowhere",
        "/live",
        "/metrics",
        "/queue?page=x",
    ];
    for (method, path) in
        paths.map(|path| ("GET", path)).into_iter().chain([("POST", "/queue"), ("POST", "/set-aside")])
    {
        let got = browser.ask(method, path, &[], "").await;
        let csp = got.header("content-security-policy");
        assert!(
            csp.starts_with("default-src 'none'; style-src 'self'; script-src 'self'"),
            "{method} {path}"
        );
        assert!(csp.contains("frame-ancestors 'none'") && !csp.contains("unsafe"), "{method} {path}");
        for (name, want) in [
            ("x-content-type-options", "nosniff"),
            ("x-frame-options", "DENY"),
            ("referrer-policy", "same-origin"),
            ("cross-origin-opener-policy", "same-origin"),
            ("cross-origin-resource-policy", "same-origin"),
            ("cache-control", "no-store"),
        ] {
            assert_eq!(got.header(name), want, "{method} {path}");
        }
        assert!(got.header("permissions-policy").contains("camera=()"));
    }
}

#[tokio::test]
async fn no_page_has_script_or_style_in_it_or_anything_from_elsewhere() {
    let browser = Browser::of(Kitchen::with(one_of_each()).with_order(crate::desk::order("KK-1", "Otter")));
    let trends = crate::trends::counted("kitchen", 40, "alder-print");
    browser.desk.counted.lock().unwrap().push(std::sync::Arc::new(trends));
    for path in ["/queue", "/set-aside", "/orders/KK-1", "/trends", "/nowhere", "/sign-in"] {
        let body = browser.get(path).await.body;
        for bad in [" style=", "<style", " onclick", " onload", "javascript:", "http://", "https://"] {
            assert!(!body.contains(bad), "{path} has {bad}");
        }
    }
    let page = browser.get("/queue").await.body;
    let (_, rest) = page.split_once("<link rel=\"stylesheet\" href=\"").unwrap();
    let style = browser.get(rest.split('"').next().unwrap()).await;
    assert_eq!((style.status.as_u16(), style.header("content-type")), (200, "text/css; charset=utf-8"));
    assert_eq!(style.header("cache-control"), "public, max-age=31536000, immutable");
    assert_eq!(browser.get("/assets/0000000000000000/page.css").await.status, 404);
}

#[tokio::test]
async fn every_page_has_a_language_a_title_landmarks_and_a_way_past_the_head() {
    let browser = Browser::of(Kitchen::with(one_of_each()).with_order(crate::desk::order("KK-1", "Otter")));
    let trends = crate::trends::counted("kitchen", 40, "alder-print");
    browser.desk.counted.lock().unwrap().push(std::sync::Arc::new(trends));
    for (path, title) in [
        ("/queue", "to put right now - To do - everyline"),
        ("/set-aside", "Set aside - everyline"),
        ("/orders/KK-1", "Order KK-1 - everyline"),
        ("/trends", "Trends - everyline"),
        ("/nowhere", "Nothing is there - everyline"),
    ] {
        let body = browser.get(path).await.body;
        assert!(body.contains(&format!("{title}</title>")), "{path}");
        for want in [
            "<html lang=\"en\"",
            "href=\"#main\"",
            "<main id=\"main\"",
            "<nav aria-label=\"Pages\"",
            "<header",
            "<footer",
        ] {
            assert!(body.contains(want), "{path}: {want}");
        }
        assert_eq!(body.matches("<h1").count(), 1, "{path}");
        assert_eq!(body.matches("<main").count(), 1, "{path}");
        let mut ids: Vec<&str> =
            body.split(" id=\"").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
        let all = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all, "{path} has an id twice");
        for label in body.split("<label for=\"").skip(1).map(|rest| rest.split('"').next().unwrap()) {
            assert!(ids.contains(&label), "{path}: the label of {label} is of nothing");
        }
    }
}

/// A method, a path, header lines and a body; and the status that comes of it.
type Asking<'a> = (&'a str, &'a str, &'a [(&'a str, &'a str)], &'a str, u16);

#[tokio::test]
async fn what_is_not_there_not_so_or_too_much_is_said_as_a_page_and_as_problem_details() {
    let browser = Browser::of(Kitchen::with(one_of_each()));
    let path = format!("/api/findings/{}/set-aside", one_of_each()[0].id);
    let json = ("content-type", "application/json");
    let long = format!("{{\"note\":\"{}\"}}", "x".repeat(20_000));
    let cases: [Asking<'_>; 14] = [
        ("GET", "/api/nowhere", &[], "", 404),
        ("GET", "/api/orders/KK-9", &[], "", 404),
        ("POST", "/api/queue", &[json], "{}", 405),
        ("GET", "/api/queue", &[("accept", "text/html")], "", 406),
        ("GET", "/api/queue", &[("accept", "application/json;q=0, text/html")], "", 406),
        ("GET", "/api/queue?page=0", &[], "", 400),
        ("GET", "/api/queue?page=1&page=2", &[], "", 400),
        ("GET", "/api/queue?chekc=late", &[], "", 400),
        ("GET", "/api/queue?check=lat", &[], "", 400),
        ("GET", "/api/queue?supplier=%00", &[], "", 400),
        ("PUT", &path, &[("content-type", "text/plain")], "{\"note\":\"a\"}", 415),
        ("PUT", &path, &[json], "{\"note\":1}", 400),
        ("PUT", &path, &[json], "{\"note\":\"a\",\"more\":1}", 400),
        ("PUT", &path, &[json], &long, 413),
    ];
    for (method, path, headers, body, status) in cases {
        let got = browser.ask(method, path, headers, body).await;
        assert_eq!(got.status, status, "{method} {path}");
        assert_eq!(got.header("content-type"), "application/problem+json", "{method} {path}");
        let problem = got.json();
        assert_eq!(problem["status"], status);
        assert!(problem["detail"].as_str().unwrap().len() > 10 && problem["title"].is_string());
        if status == 405 {
            assert_eq!(got.header("allow"), "GET,HEAD");
        }
    }
    for (method, path, status) in
        [("GET", "/nowhere", 404), ("GET", "/queue?page=x", 400), ("DELETE", "/queue", 405)]
    {
        let got = browser.ask(method, path, &[], "").await;
        assert_eq!((got.status.as_u16(), got.header("content-type")), (status, "text/html; charset=utf-8"));
        assert!(got.text().contains("To what is to be done"), "{path}");
    }
    let mut posting = browser.clone();
    let stamp = posting.open("/queue").await.stamp();
    let long = format!("stamp={stamp}&note={}", "x".repeat(20_000));
    assert_eq!(posting.post("/set-aside", &long).await.status, 413);
    let other = [("content-type", "multipart/form-data; boundary=x"), ("sec-fetch-site", "same-origin")];
    assert_eq!(posting.ask("POST", "/set-aside", &other, "").await.status, 415);
}

#[tokio::test]
async fn a_head_is_answered_without_a_body() {
    let browser = Browser::of(Kitchen::with(one_of_each()));
    let got = browser.ask("HEAD", "/queue", &[], "").await;
    assert_eq!((got.status.as_u16(), got.body.as_str()), (200, ""));
}

#[tokio::test]
async fn no_more_is_answered_at_once_than_there_is_room_for() {
    let access = web::Access::checked("127.0.0.1:8765".parse().unwrap(), &Default::default()).unwrap();
    let (_stopping, stop) = watch::channel(false);
    let desk = std::sync::Arc::new(Kitchen::with(Vec::new()));
    let app = web::App::new(desk.clone(), access, stop).within(0, Duration::from_secs(30));
    let browser = Browser { router: web::service(app), desk, cookie: None };
    let got = browser.get("/queue").await;
    assert_eq!((got.status.as_u16(), got.header("retry-after")), (503, "2"));
}

#[tokio::test]
async fn a_server_over_tcp_refuses_long_heads_and_stops_when_it_is_told() {
    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let access = web::Access::checked(address, &Default::default()).unwrap();
    let (stopping, stop) = watch::channel(false);
    let app = web::App::new(std::sync::Arc::new(Kitchen::with(one_of_each())), access, stop.clone());
    let serving = tokio::spawn(web::serve(listener, web::service(app), stop));
    let ask = async |head: String| {
        let mut stream = tokio::net::TcpStream::connect(address).await.unwrap();
        stream.write_all(head.as_bytes()).await.unwrap();
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer).await;
        String::from_utf8_lossy(&answer).into_owned()
    };
    let head =
        |more: &str| format!("GET /queue HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n{more}\r\n");
    assert!(ask(head("")).await.starts_with("HTTP/1.1 200 OK\r\n"));
    let lines: String = (0..80).map(|number| format!("X-{number}: a\r\n")).collect();
    assert!(ask(head(&lines)).await.starts_with("HTTP/1.1 431 "));
    assert!(ask(head(&format!("X: {}\r\n", "a".repeat(40_000)))).await.starts_with("HTTP/1.1 431 "));
    let mut listening = tokio::net::TcpStream::connect(address).await.unwrap();
    let events = format!("GET /events HTTP/1.1\r\nHost: {address}\r\n\r\n");
    listening.write_all(events.as_bytes()).await.unwrap();
    let mut first = [0; 12];
    listening.read_exact(&mut first).await.unwrap();
    assert_eq!(&first, b"HTTP/1.1 200");
    stopping.send(true).unwrap();
    serving.await.unwrap();
    let mut rest = Vec::new();
    listening.read_to_end(&mut rest).await.unwrap();
}
