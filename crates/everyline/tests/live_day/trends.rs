//! Trends on the page that `everyline watch` serves: what was put right shows how long that took, and the figures are those of
//! the digest.
//!
//! Start reading at the name of the test.

use std::path::Path;

use chrono::{DateTime, Utc};
use everyline::configuration::Configuration;
use everyline::sending::{Asked, everything, gather};
use ledger::Ledger;
use model::rates::{Rates, Share};
use serde_json::{Value, json};
use simshop::live::{Plan, World};

use super::page::ask;
use super::watched::Watched;

fn utc(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

/// Two orders with two lines each. Of the second line of the first one, and of the other after it was sent too, a supplier
/// knows only where it is named here.
fn write(home: &Path, sent: &[&str]) {
    let tables = home.join("tables");
    let write = |name: &str, text: String| std::fs::write(tables.join(format!("{name}.csv")), text).unwrap();
    write(
        "orders",
        "order_id,placed_at,paid_at,status,promised_by\n\
         KK-1,2026-11-25T06:00:00Z,2026-11-25T06:00:00Z,open,2026-11-26T02:00:00Z\n\
         KK-2,2026-11-25T06:10:00Z,2026-11-25T06:10:00Z,open,2026-12-20\n"
            .to_owned(),
    );
    let lines = ["KK-1,1,KIT-1", "KK-1,2,KIT-2", "KK-2,1,KIT-1", "KK-2,2,KIT-2"];
    write("order_lines", format!("order_id,line_id,sku,quantity\n{},1\n", lines.join(",1\n")));
    write("variants", "supplier,variant_id,sku\nalder-print,AP-1,KIT-1\nalder-print,AP-2,KIT-2\n".to_owned());
    write(
        "submissions",
        "supplier,submission_id,order_ref,status,received_at\n\
         alder-print,S-1,KK-1,making,2026-11-25T06:30:00Z\nalder-print,S-2,KK-2,making,2026-11-25T06:40:00Z\n"
            .to_owned(),
    );
    let sent = sent.join("\n");
    write("submission_lines", format!("supplier,submission_id,line_id,variant_id,quantity\n{sent}\n"));
    write(
        "parcels",
        "supplier,parcel_id,submission_id,dispatched_at\nalder-print,P-2,S-2,2026-11-25T18:10:00Z\n"
            .to_owned(),
    );
}

const FIRST: [&str; 3] = ["alder-print,S-1,1,AP-1,1", "alder-print,S-2,1,AP-1,1", "alder-print,S-2,2,AP-2,1"];

fn of(share: Share) -> Value {
    json!([share.good, share.of])
}

#[tokio::test(flavor = "multi_thread")]
async fn a_finding_that_was_put_right_shows_its_time_and_all_figures_are_those_of_the_digest() {
    let world = World::new(7, Plan::new());
    let home = tempfile::tempdir().unwrap();
    std::fs::create_dir(home.path().join("tables")).unwrap();
    std::fs::write(
        home.path().join("everyline.toml"),
        "zone = \"Europe/Oslo\"\n[sources.files]\nrole = \"storefront\"\nfolder = \"tables\"\nstale_after = \"30 days\"\n\
         [page]\nlisten = \"127.0.0.1:0\"\n",
    )
    .unwrap();
    write(home.path(), &FIRST);
    let mut watched = Watched::start_in(home, &world);
    watched.round(utc("2026-11-25T09:00:00Z"));
    let log = watched.log();
    let (_, rest) = log.split_once("the page is at http://").unwrap_or_else(|| panic!("{log}"));
    let address = rest.split('/').next().unwrap();
    let get = |path: &str| {
        let (status, _, body) = ask(address, "GET", path, "", "");
        assert_eq!(status, 200, "{path}: {body}");
        body
    };
    let first_day = get("/trends");
    assert!(first_day.contains("No whole day has passed"), "{first_day}");

    let mended = [&FIRST[..], &["alder-print,S-1,2,AP-2,1"]].concat();
    write(watched.home.path(), &mended);
    watched.round(utc("2026-11-25T12:30:00Z"));
    let morning = utc("2026-11-26T08:00:00Z");
    watched.round(morning);

    let json_of =
        |weeks: u32| serde_json::from_str::<Value>(&get(&format!("/api/trends?weeks={weeks}"))).unwrap();
    let view = json_of(4);
    assert_eq!(
        view["days"],
        json!([
            { "day": "2026-11-25", "said": "Wed 25 Nov", "orders": 2, "not_live": 0, "read": "whole" }
        ])
    );
    let went = &view["in_all"];
    assert_eq!((&went["repairs"], &went["median_repair_minutes"]), (&json!(1), &json!(210)));
    assert_eq!(view["checks"][0]["check"], "part-sent");
    assert_eq!(view["checks"][0]["found"], json!([1]));
    let page = get("/trends?weeks=4");
    assert!(page.contains("One in these weeks, after 3 h 30 min."), "{page}");
    assert!(page.contains("S-1") || page.contains("1 gone, "), "{page}");
    let sending = &view["suppliers"][0]["in_all"];
    assert_eq!((&sending["gone"], &sending["open"]), (&json!(1), &json!(1)));
    assert_eq!(
        sending["half_within_hours"], 12,
        "11 h 30 min; the one that is open does not make it shorter"
    );

    let (home, _) = watched.end();
    let configuration = Configuration::read(&home.path().join("everyline.toml")).unwrap();
    let ledger = Ledger::open(&home.path().join("everyline.db")).await.unwrap();
    let recipient = everything(&configuration, None);
    let asked = Asked {
        name: None,
        recipient: &recipient,
        day: morning.with_timezone(&recipient.zone).date_naive(),
        taken_in: Vec::new(),
        since: None,
        as_of: None,
        now: morning,
    };
    let gathered = gather(&ledger, &configuration, &asked).await.unwrap();
    let measured = &gathered.morning.shops[0].measured;
    assert_eq!(measured.iter().map(|measured| measured.weeks).collect::<Vec<_>>(), [4, 12]);
    let Rates { orders_in_full, lines_in_full, perfect, on_time_in_full, repairs } = &measured[0].rates;
    assert_eq!((repairs.len(), orders_in_full.of), (1, 2), "there is something to agree about");
    for (name, share) in [
        ("orders_in_full", orders_in_full),
        ("lines_in_full", lines_in_full),
        ("perfect_orders", perfect),
        ("on_time_in_full", on_time_in_full),
    ] {
        assert_eq!(json!([went[name]["good"], went[name]["of"]]), of(*share), "{name}");
    }
    assert_eq!(perfect.good, 1, "one order had a fault");
    let digest = digest::compose::digest(&gathered.morning);
    let said = &digest.data["shops"][0]["measured"][0];
    assert_eq!(said["median_repair_minutes"], went["median_repair_minutes"]);
    for said in ["Orders in full", went["orders_in_full"]["said"].as_str().unwrap()] {
        assert!(digest.text.contains(said), "{said}\nis not in\n{}", digest.text);
    }
    ledger.close().await;
}
