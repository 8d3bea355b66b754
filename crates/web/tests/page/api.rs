//! The JSON, its document, and the figures.

use serde_json::{Value, json};

use crate::desk::{Browser, Kitchen, order};
use crate::listings::listing;
use crate::samples::{busy_day, one_of_each};
use crate::sources::sources;

/// The schema of what a path answers, with everything that it leads to.
fn schema_of(document: &Value, path: &str) -> Value {
    let content = &document["paths"][path]["get"]["responses"]["200"]["content"]["application/json"];
    let mut schema = content["schema"].clone();
    assert!(schema.is_object(), "{path}");
    schema["components"] = document["components"].clone();
    schema
}

#[tokio::test]
async fn what_is_answered_is_what_the_document_says() {
    let browser =
        Browser::of(Kitchen::of(vec![("kitchen", busy_day())]).with_order(order("KK-1", "Otter apron")));
    *browser.desk.links.listing.lock().unwrap() = Some(listing("L-1", "Otter apron"));
    *browser.desk.sources.lock().unwrap() = sources("it did not answer");
    browser.desk.trials.put_one("Bestellnr.");
    let trends = crate::trends::counted("kitchen", 40, "alder-print");
    browser.desk.counted.lock().unwrap().push(std::sync::Arc::new(trends));
    let id = one_of_each()[0].id.to_string();
    let aside = web::Aside { note: "known".to_owned(), until: Some(crate::desk::now()) };
    browser.desk.asides.lock().unwrap().entry("kitchen".to_owned()).or_default().insert(id, aside);
    let document = browser.get("/api/openapi.json").await.json();
    assert_eq!(document["openapi"], "3.1.0");
    for (path, asked) in [
        ("/api/queue", "/api/queue"),
        ("/api/set-aside", "/api/set-aside"),
        ("/api/orders/{order_id}", "/api/orders/KK-1"),
        ("/api/listings", "/api/listings"),
        ("/api/listings/{shop}/{listing_id}", "/api/listings/kitchen/L-1"),
        ("/api/sources", "/api/sources"),
        ("/api/send", "/api/send"),
        ("/api/sent", "/api/sent"),
        ("/api/sent/{shop}/{run}", "/api/sent/kitchen/3"),
        ("/api/trials", "/api/trials"),
        ("/api/trials/{trial}", "/api/trials/ab12"),
        ("/api/trials/{trial}/findings", "/api/trials/ab12/findings"),
        ("/api/trends", "/api/trends"),
    ] {
        let validator = jsonschema::validator_for(&schema_of(&document, path)).unwrap();
        let answer = browser.get(asked).await.json();
        let errors: Vec<String> = validator
            .iter_errors(&answer)
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{path}: {errors:#?}");
        assert!(!validator.is_valid(&json!({})), "{path}: nothing is not a view");
    }
    let problem = browser.get("/api/nowhere").await.json();
    let schema = &document["components"]["schemas"]["Problem"];
    assert!(jsonschema::validator_for(schema).unwrap().is_valid(&problem));
}

#[tokio::test]
async fn the_document_lists_every_route_of_the_json_and_each_answers() {
    let document = web::openapi();
    let paths = document["paths"].as_object().unwrap();
    let mut names: Vec<&str> = paths.keys().map(String::as_str).collect();
    names.sort_unstable();
    assert_eq!(
        names,
        [
            "/api/findings/{finding}/set-aside",
            "/api/listings",
            "/api/listings/{shop}/{listing_id}",
            "/api/listings/{shop}/{listing_id}/accept",
            "/api/listings/{shop}/{listing_id}/undo",
            "/api/openapi.json",
            "/api/orders/{order_id}",
            "/api/queue",
            "/api/send",
            "/api/sent",
            "/api/sent/{shop}/{run}",
            "/api/set-aside",
            "/api/sources",
            "/api/trends",
            "/api/trials",
            "/api/trials/{trial}",
            "/api/trials/{trial}/answers",
            "/api/trials/{trial}/findings",
            "/events",
            "/live",
            "/metrics",
            "/ready",
        ]
    );
    let browser = Browser::of(Kitchen::with(one_of_each()).with_order(order("KK-1", "Otter apron")));
    for (path, methods) in paths {
        for method in methods.as_object().unwrap().keys().filter(|_| path != "/events") {
            let path = path.replace("{order_id}", "KK-1").replace("{finding}", "k3jq7x2mzp4a");
            let path = path.replace("{shop}", "kitchen").replace("{listing_id}", "L-1");
            let path = path.replace("{run}", "3").replace("{trial}", "ab12");
            let got = browser.ask(&method.to_uppercase(), &path, &[], "").await;
            assert!(![405, 500].contains(&got.status.as_u16()), "{method} {path}");
            assert!(!got.body.contains("there is nothing at this address"), "{method} {path}");
        }
    }
    let ids: Vec<&Value> = paths
        .values()
        .flat_map(|methods| methods.as_object().unwrap().values())
        .map(|operation| &operation["operationId"])
        .collect();
    let unique: std::collections::BTreeSet<String> = ids.iter().map(ToString::to_string).collect();
    assert_eq!(unique.len(), ids.len());
}

#[tokio::test]
async fn the_figures_are_open_metrics_and_count_what_stands() {
    let browser = Browser::of(Kitchen::with(one_of_each()));
    browser.get("/queue").await;
    let got = browser.get("/metrics").await;
    assert!(got.header("content-type").starts_with("application/openmetrics-text"));
    for line in [
        "everyline_findings{shop=\"kitchen\",check=\"part-sent\"} 1",
        "everyline_findings_set_aside{shop=\"kitchen\"} 0",
        "everyline_source_behind{shop=\"kitchen\",source=\"till\"} 0",
        "everyline_units_uncovered{shop=\"kitchen\"} 12",
        "everyline_page_answers_total{status=\"200\"} 1",
    ] {
        assert!(got.body.lines().any(|own| own == line), "{line}\nis not in\n{}", got.body);
    }
    assert!(got.body.ends_with("# EOF\n"));
}

#[tokio::test]
async fn it_is_ready_once_the_ledger_answers_and_each_shop_had_a_round() {
    assert_eq!(Browser::of(Kitchen::with(Vec::new())).get("/ready").await.status, 200);
    let kitchen = Kitchen::with(Vec::new());
    kitchen.rounds.lock().unwrap().clear();
    let waiting = Browser::of(kitchen).get("/ready").await;
    assert_eq!(
        (waiting.status.as_u16(), waiting.body.as_str()),
        (503, "not ready: not every shop was looked at yet\n")
    );
    let broken = Browser::of(Kitchen { is_broken: true, ..Kitchen::with(Vec::new()) });
    assert_eq!(broken.get("/ready").await.status, 503);
    assert_eq!(broken.get("/live").await.status, 200);
    let page = broken.get("/queue").await;
    assert_eq!(page.status, 500);
    assert!(page.text().contains("The ledger could not be used."));
}
