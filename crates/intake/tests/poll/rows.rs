//! Requests that are asked for each row that another one brings.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use intake::source::poll::{PollError, PollNotice, Step};
use serde_json::{Value, json};
use wiremock::ResponseTemplate;

use crate::common::*;

const JOBS: &str = r#"
    [requests.jobs]
    path = "jobs"
    pages = { by = "cursor", at = "$.next", ask = "after" }
    changes = { ask = "since", form = "rfc3339" }
    [requests.jobs.tables.submissions]
    at = "$.jobs[*]"
    [requests.jobs.tables.submissions.fields]
    submission_id = "$.job"
    status = { always = "received" }
    received_at = "$.received"

    [requests.pieces]
    path = "jobs/{submission_id}/pieces"
    for_each = "submissions"
    pages = { by = "url", at = "$.next" }
    [requests.pieces.tables.submission_lines]
    at = "$.pieces[*]"
    [requests.pieces.tables.submission_lines.fields]
    line_id = "$.piece"
    sku = "$.sku"
    quantity = "$.count"
"#;

fn job(number: u32) -> Value {
    json!({ "job": format!("J{number}"), "received": text(at(-5_000)) })
}

fn piece(number: u32) -> Value {
    json!({ "piece": number.to_string(), "sku": "AP-L", "count": 1 })
}

/// Jobs in pages of two, each with two pieces on two pages; `answer` may answer instead.
async fn press(
    jobs: u32,
    instead: impl Fn(&Asked) -> Option<ResponseTemplate> + Send + Sync + 'static,
) -> Server {
    Server::start(move |asked| {
        if let Some(answer) = instead(&asked) {
            return answer;
        }
        if asked.path.ends_with("/pieces") {
            return match asked.get("page") {
                None => json_answer(&json!({ "pieces": [piece(1)], "next": "pieces?page=2" })),
                Some(_) => json_answer(&json!({ "pieces": [piece(2)] })),
            };
        }
        let start = asked.number("after", 0) as u32;
        let end = (start + 2).min(jobs);
        let page: Vec<Value> = (start..end).map(|number| job(number + 1)).collect();
        let next = if end < jobs { json!(end) } else { Value::Null };
        json_answer(&json!({ "jobs": page, "next": next }))
    })
    .await
}

fn everything(jobs: u32) -> Vec<String> {
    let mut keys: Vec<String> = (1..=jobs)
        .flat_map(|number| {
            [format!("job J{number}"), format!("piece J{number} 1"), format!("piece J{number} 2")]
        })
        .collect();
    keys.sort();
    keys
}

#[tokio::test]
async fn a_request_is_asked_for_each_row_and_each_is_a_batch() {
    let server = press(3, |_| None).await;
    let reader = reader(supplier_service(&server.address(), JOBS), &Still::at(at(0)));
    assert_eq!(reader.requests().map(|request| request.name.as_str()).collect::<Vec<_>>(), ["jobs"]);
    let request = reader.requests().next().unwrap();
    let mut poll = reader.poll(request, &BTreeMap::new());
    let mut kept = Kept::default();
    let mut batches = Vec::new();
    while let Step::Batch(batch) = poll.next().await.unwrap() {
        let rows = &batch.rows;
        let jobs = rows.submissions.as_ref().map_or(0, Vec::len);
        let pieces = rows.submission_lines.as_ref().map_or(0, Vec::len);
        batches.push((batch.request.clone(), jobs, pieces, batch.whole.len()));
        kept.commit(&batch);
    }
    let want = [
        ("jobs", 2, 0, 0),
        ("pieces", 0, 2, 1),
        ("pieces", 0, 2, 1),
        ("jobs", 1, 0, 0),
        ("pieces", 0, 2, 1),
        ("pieces", 0, 0, 0),
        ("jobs", 0, 0, 0),
    ];
    assert_eq!(batches, want.map(|(name, jobs, pieces, whole)| (name.to_owned(), jobs, pieces, whole)));
    assert_eq!(kept.keys(), everything(3));
    assert_eq!(kept.read_up_to("pieces"), Some(at(0)));
    assert_eq!(kept.read_up_to("jobs"), Some(at(0)));
    assert!(!kept.marks["jobs"].text.contains("owed"), "{}", kept.marks["jobs"].text);
}

#[tokio::test]
async fn a_crash_between_rows_leaves_none_unasked() {
    for crash in 1..8 {
        let server = press(5, |_| None).await;
        let reader = reader(supplier_service(&server.address(), JOBS), &Still::at(at(0)));
        let mut kept = Kept::default();
        poll_some(&reader, "jobs", &mut kept, crash).await.unwrap();
        assert_eq!(kept.read_up_to("pieces"), None, "{crash}");
        poll(&reader, "jobs", &mut kept).await.unwrap();
        assert_eq!(kept.keys(), everything(5), "{crash}");
        assert_eq!(kept.read_up_to("pieces"), Some(at(0)), "{crash}");
    }
}

#[tokio::test]
async fn an_error_of_a_row_names_it_and_leaves_it_owed() {
    let is_broken = Arc::new(Mutex::new(true));
    let own = Arc::clone(&is_broken);
    let server = press(3, move |asked| {
        (asked.path.contains("J2") && *own.lock().unwrap())
            .then(|| json_answer(&json!({ "pieces": [{ "piece": 1 }] })))
    })
    .await;
    let reader = reader(supplier_service(&server.address(), JOBS), &Still::at(at(0)));
    let mut kept = Kept::default();
    let error = poll(&reader, "jobs", &mut kept).await.unwrap_err().to_string();
    let start =
        "source \"till\", request \"pieces\" for submission_id \"J2\", page 1: submission_lines, record 1";
    assert!(error.starts_with(start), "{error}");
    *is_broken.lock().unwrap() = false;
    poll(&reader, "jobs", &mut kept).await.unwrap();
    assert_eq!(kept.keys(), everything(3));
}

#[tokio::test]
async fn a_row_that_is_gone_is_passed_over_and_told() {
    for (code, settled_at) in [(410, 1), (404, 2)] {
        let server = press(4, move |asked| asked.path.contains("J2").then(|| status(code))).await;
        let reader = reader(supplier_service(&server.address(), JOBS), &Still::at(at(0)));
        let mut kept = Kept::default();
        for number in 1..=2 {
            let polled = poll(&reader, "jobs", &mut kept).await.unwrap();
            let gone = PollNotice::RowsGone { request: "pieces".to_owned(), count: 1 };
            assert_eq!(polled.report.notices, [gone], "{code}");
            assert_eq!(kept.keys().len(), 10);
            let is_settled = kept.read_up_to("pieces").is_some();
            assert_eq!(is_settled, number >= settled_at, "{code} {number}");
        }
    }
}

/// Some sources have a row for a moment before they have what belongs to it.
#[tokio::test]
async fn a_row_that_is_not_there_yet_is_asked_for_again_by_the_next_poll() {
    let is_late = Arc::new(Mutex::new(true));
    let own = Arc::clone(&is_late);
    let server = press(4, move |asked| match asked.get("since") {
        Some(_) => Some(json_answer(&json!({ "jobs": [] }))),
        None => (asked.path.contains("J2") && *own.lock().unwrap()).then(|| status(404)),
    })
    .await;
    let reader = reader(supplier_service(&server.address(), JOBS), &Still::at(at(0)));
    let mut kept = Kept::default();
    poll(&reader, "jobs", &mut kept).await.unwrap();
    *is_late.lock().unwrap() = false;
    poll(&reader, "jobs", &mut kept).await.unwrap();
    assert_eq!(kept.keys(), everything(4));
    assert_eq!(kept.read_up_to("pieces"), Some(at(0)));
}

/// The mark must not move past rows that nobody was given.
#[tokio::test]
async fn rows_that_are_all_gone_are_not_passed_over_by_the_next_poll_either() {
    let is_wrong = Arc::new(Mutex::new(true));
    let own = Arc::clone(&is_wrong);
    let server = Server::start(move |asked| {
        if asked.path.ends_with("/pieces") {
            return match *own.lock().unwrap() {
                true => status(404),
                false => json_answer(&json!({ "pieces": [piece(1), piece(2)] })),
            };
        }
        let all = if asked.get("since").is_none() { vec![job(1), job(2), job(3)] } else { vec![] };
        json_answer(&json!({ "jobs": all }))
    });
    let server = server.await;
    let reader = reader(supplier_service(&server.address(), JOBS), &Still::at(at(0)));
    let mut kept = Kept::default();
    for _ in 0..3 {
        let error = poll(&reader, "jobs", &mut kept).await.unwrap_err();
        assert!(matches!(error, PollError::Refused { status: 404, .. }), "{error}");
        assert_eq!(kept.read_up_to("pieces"), None);
    }
    *is_wrong.lock().unwrap() = false;
    poll(&reader, "jobs", &mut kept).await.unwrap();
    assert_eq!(kept.keys(), everything(3));
    assert_eq!(kept.read_up_to("pieces"), Some(at(0)));
}

#[tokio::test]
async fn a_row_of_which_fewer_came_than_the_source_counts_is_asked_for_again_and_loses_no_lines() {
    let is_short = Arc::new(Mutex::new(true));
    let own = Arc::clone(&is_short);
    let server = Server::start(move |asked| {
        if asked.path.ends_with("/pieces") {
            let all = [piece(1), piece(2)];
            let came = if *own.lock().unwrap() && asked.path.contains("J2") { 1 } else { 2 };
            return json_answer(&json!({ "pieces": all[..came], "in_all": 2 }));
        }
        json_answer(&json!({ "jobs": [job(1), job(2)] }))
    });
    let server = server.await;
    let keys =
        JOBS.replace("for_each = \"submissions\"", "for_each = \"submissions\"\n    count = \"$.in_all\"");
    let reader = reader(supplier_service(&server.address(), &keys), &Still::at(at(0)));
    let request = reader.requests().next().unwrap();
    let mut kept = Kept::default();
    let mut reading = reader.poll(request, &BTreeMap::new());
    let mut whole = 0;
    let report = loop {
        match reading.next().await.unwrap() {
            Step::Over(report) => break report,
            Step::Batch(batch) | Step::Unchanged(batch) => {
                whole += batch.whole.len();
                kept.commit(&batch);
            }
        }
    };
    assert_eq!(whole, 1, "what came of J2 is not all of it");
    assert_eq!(report.notices, [PollNotice::RowsNotWhole { request: "pieces".to_owned(), count: 1 }]);
    assert_eq!(kept.read_up_to("pieces"), None);
    *is_short.lock().unwrap() = false;
    poll(&reader, "jobs", &mut kept).await.unwrap();
    assert_eq!(kept.keys(), everything(2));
    assert_eq!(kept.read_up_to("pieces"), Some(at(0)));
}

#[test]
fn the_requests_for_rows_and_for_the_rows_of_these_are_told() {
    let reader = reader(supplier_service("http://127.0.0.1:1/api/", JOBS), &Still::at(at(0)));
    let names = |name: &str| {
        let request = reader.service.requests.iter().find(|request| request.name == name).unwrap();
        reader.descendants(request).iter().map(|request| request.name.clone()).collect::<Vec<_>>()
    };
    assert_eq!((names("jobs"), names("pieces")), (vec!["pieces".to_owned()], vec![]));
}

#[tokio::test]
async fn rows_that_are_all_gone_say_that_the_path_is_wrong() {
    let server = Server::start(|asked| {
        if asked.path.ends_with("/pieces") {
            return status(404);
        }
        json_answer(&json!({ "jobs": [job(1), job(2), job(3)] }))
    });
    let server = server.await;
    let reader = reader(supplier_service(&server.address(), JOBS), &Still::at(at(0)));
    let error = poll(&reader, "jobs", &mut Kept::default()).await.unwrap_err();
    assert!(matches!(error, PollError::Refused { status: 404, .. }), "{error}");
}

const GOODS: &str = r#"
    [requests.goods]
    path = "goods"
    [requests.goods.tables.listing_products]
    at = "$.goods[*]"
    [requests.goods.tables.listing_products.fields]
    listing_id = "$.page"
    product = "$.good"
    [requests.versions]
    path = "goods/{product}/versions"
    for_each = "listing_products"
    [requests.versions.tables.variants]
    at = "$.versions[*]"
    [requests.versions.tables.variants.fields]
    variant_id = "$.no"
"#;

/// What a request for rows brings may be gone, too, once all rows of a pass over everything were asked for.
#[tokio::test]
async fn what_rows_no_longer_bring_is_gone_at_the_end_of_the_pass() {
    let server = Server::start(|asked| {
        if asked.path.ends_with("/versions") {
            let all = [json!({ "no": "AP-L" }), json!({ "no": "AP-M" })];
            let count = if asked.before < 2 { 2 } else { 1 };
            return json_answer(&json!({ "versions": all[..count] }));
        }
        json_answer(&json!({ "goods": [{ "page": "aprons", "good": "apron" }] }))
    });
    let server = server.await;
    let world = Still::at(at(0));
    let reader = reader(supplier_service(&server.address(), GOODS), &world);
    let mut kept = Kept::default();
    poll(&reader, "goods", &mut kept).await.unwrap();
    assert_eq!(kept.keys(), ["variant AP-L", "variant AP-M"]);
    world.set(at(60));
    poll(&reader, "goods", &mut kept).await.unwrap();
    assert_eq!(kept.keys(), ["variant AP-L"]);
}
