//! The page that `everyline watch` serves, as a browser gets it.
//!
//! Start reading at the name of the test.

use std::io::{Read, Write};
use std::net::TcpStream;

use chrono::TimeDelta;
use serde_json::Value;
use simshop::live::{Plan, World};

use super::short;
use super::watched::Watched;

/// What is answered to a request: the status, the head, and the body.
pub fn ask(address: &str, method: &str, path: &str, headers: &str, body: &str) -> (u16, String, String) {
    let mut stream = TcpStream::connect(address).unwrap();
    let length = body.len();
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nContent-Length: {length}\r\n{headers}\r\n{body}"
    )
    .unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    (head.split(' ').nth(1).unwrap().parse().unwrap(), head.to_owned(), body.to_owned())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_page_of_a_watch_shows_what_the_round_found_and_each_order_with_all_its_sides() {
    let world = World::new(7, Plan::new());
    let serving = world.serve().await.unwrap();
    let home = tempfile::tempdir().unwrap();
    let configuration = format!("{}\n[page]\nlisten = \"127.0.0.1:0\"\n", world.configuration(&serving));
    std::fs::write(home.path().join("everyline.toml"), configuration).unwrap();
    let mut watched = Watched::start_in(home, &world);
    let noon = World::begins() + TimeDelta::hours(14);
    world.advance_to(noon);
    watched.round(noon);
    let log = watched.log();
    let (_, rest) = log.split_once("the page is at http://").unwrap_or_else(|| panic!("{log}"));
    let address = rest.split('/').next().unwrap();

    let (status, _, ready) = ask(address, "GET", "/ready", "", "");
    assert_eq!((status, ready.as_str()), (200, "ready\n"));
    let (status, _, queue) = ask(address, "GET", "/api/queue", "", "");
    assert_eq!(status, 200);
    let queue: Value = serde_json::from_str(&queue).unwrap();
    let wanted = short(&world.truth());
    assert!(!wanted.is_empty());
    let concerned = |queue: &Value| -> Vec<(String, String)> {
        let tasks = queue["tasks"].as_array().unwrap().iter();
        let all = tasks.flat_map(|task| task["concerned"].as_array().unwrap());
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        all.map(|one| (text(&one["order_id"]), text(&one["finding"]))).collect()
    };
    let named = concerned(&queue);
    for order in &wanted {
        assert!(named.iter().any(|(id, _)| id == order), "{order} is not in the queue");
    }

    let order = wanted.first().unwrap();
    let (status, head, page) = ask(address, "GET", &format!("/orders/{order}"), "", "");
    assert_eq!(status, 200);
    assert!(page.contains("Nobody makes it"), "{page}");
    let cookie = head.split("set-cookie: ").nth(1).unwrap().split(';').next().unwrap();
    let stamp = page.split("name=\"stamp\" value=\"").nth(1).unwrap().split('"').next().unwrap();

    let (_, finding) = named.iter().find(|(id, _)| id == order).unwrap();
    let form = format!("stamp={stamp}&shop=shop&finding={finding}&note=they+know");
    let kind = "Content-Type: application/x-www-form-urlencoded\r\nSec-Fetch-Site: same-origin\r\n";
    let headers = format!("{kind}Cookie: {cookie}\r\n");
    let (status, _, answer) = ask(address, "POST", "/set-aside", &headers, &form);
    assert_eq!(status, 303, "{answer}");
    let (_, _, after) = ask(address, "GET", "/api/queue", "", "");
    let after: Value = serde_json::from_str(&after).unwrap();
    assert_eq!(after["set_aside"], 1);
    assert!(!concerned(&after).iter().any(|(_, id)| id == finding));
    let (_, _, page) = ask(address, "GET", &format!("/orders/{order}"), "", "");
    assert!(page.contains("they know"), "the note stands on the order's page");

    let (status, _, missing) = ask(address, "GET", "/orders/NONE", "", "");
    assert_eq!(status, 404);
    assert!(missing.contains("give its id as the storefront writes it"), "{missing}");
    watched.end();
}
