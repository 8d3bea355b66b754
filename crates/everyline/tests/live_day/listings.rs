//! Listings and sources on the page that `everyline watch` serves: what is accepted there is kept as intended, and is taken back.
//!
//! Start reading at the name of the test.

use chrono::TimeDelta;
use ledger::Ledger;
use serde_json::{Value, json};
use simshop::live::{Plan, World};

use super::page::ask;
use super::shop;
use super::watched::Watched;

fn json_of(address: &str, path: &str) -> Value {
    let (status, _, body) = ask(address, "GET", path, "", "");
    assert_eq!(status, 200, "{path}: {body}");
    serde_json::from_str(&body).unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_accepted_on_the_page_is_intended_and_is_taken_back_there() {
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

    let listings = json_of(address, "/api/listings");
    let listings = listings["listings"].as_array().unwrap();
    assert!(
        listings
            .is_sorted_by_key(|one| std::cmp::Reverse((one["sold_without"].as_u64(), one["sold"].as_u64())))
    );
    let pages: Vec<&str> = listings.iter().map(|one| one["page"].as_str().unwrap()).collect();
    let with_proposals = pages.iter().find_map(|page| {
        let listing = json_of(address, &format!("/api{page}"));
        (!listing["proposed"].is_null()).then_some((*page, listing))
    });
    let (page, listing) = with_proposals.unwrap_or_else(|| panic!("nothing is proposed: {listings:#?}"));
    let (status, _, html) = ask(address, "GET", page, "", "");
    assert_eq!(status, 200);
    let offers = listing["offers"].as_array().unwrap();
    let placed = html.matches("class=\"cell ").count();
    assert!(placed > 0 && placed <= offers.len(), "each place of a grid is of some offers");
    let in_grids = listing["grids"].as_array().unwrap().iter();
    let rows = in_grids.flat_map(|grid| grid["rows"].as_array().unwrap());
    let cells = rows.flat_map(|row| row["cells"].as_array().unwrap()).filter(|cell| !cell.is_null());
    let in_cells: usize = cells.map(|cell| cell["offers"].as_array().unwrap().len()).sum();
    assert_eq!(in_cells, offers.len(), "each offer stands in one place");

    let post = |what: &str, body: Value| {
        let kind = "Content-Type: application/json\r\nSec-Fetch-Site: same-origin\r\n";
        let (status, _, answer) =
            ask(address, "POST", &format!("/api{page}/{what}"), kind, &body.to_string());
        (status, serde_json::from_str::<Value>(&answer).unwrap_or_default())
    };
    let offer = offers.iter().find(|offer| !offer["shown"].is_null()).unwrap();
    let (status, problem) = post("accept", json!({ "offer": offer["key"], "shown": "another" }));
    assert_eq!(status, 409, "{problem}");
    let (status, kept) = post("accept", json!({ "offer": offer["key"], "shown": offer["shown"] }));
    assert_eq!((status, &kept["change"]), (200, &json!(1)), "{kept}");
    let (status, again) = post("accept", json!({ "offer": offer["key"], "shown": offer["shown"] }));
    assert_eq!(status, 409, "what is kept already is not proposed any more: {again}");
    let (status, all) = post("accept", json!({ "shown": listing["proposed"]["shown"] }));
    assert_eq!(status, 409, "one of all is not proposed any more: {all}");

    let after = json_of(address, &format!("/api{page}"));
    let same = after["offers"].as_array().unwrap().iter().find(|one| one["key"] == offer["key"]).unwrap();
    assert_eq!(same["state"], "intended");
    assert_eq!(same["intended"].as_array().unwrap().len(), 1);
    assert_eq!(after["tally"]["intended"], 1);
    assert_eq!(after["last_change"]["number"], 1);
    assert_eq!(after["last_change"]["by"], "the page");
    assert_eq!(after["sending"]["offers"], 1);
    let in_list = json_of(address, "/api/listings");
    let in_list = in_list["listings"].as_array().unwrap().iter().find(|one| one["page"] == page).unwrap();
    assert_eq!(in_list["tally"]["intended"], 1, "the list is looked at anew");

    assert_eq!(post("undo", json!({ "change": 9 })).0, 409);
    assert_eq!(post("undo", json!({ "change": 1 })).0, 204);
    assert_eq!(post("undo", json!({ "change": 1 })).0, 409, "it is taken back already");
    let back = json_of(address, &format!("/api{page}"));
    assert_eq!(back["offers"], listing["offers"]);
    assert_eq!(back["proposed"], listing["proposed"]);

    let (status, kept) = post("accept", json!({ "shown": listing["proposed"]["shown"] }));
    assert_eq!((status, &kept["change"]), (200, &json!(3)), "{kept}");
    let after = json_of(address, &format!("/api{page}"));
    assert_eq!(after["tally"]["intended"], listing["proposed"]["offers"]);
    assert!(after["proposed"].is_null());

    let sources = json_of(address, "/api/sources");
    let requests = sources["shops"][0]["requests"].as_array().unwrap();
    assert!(!requests.is_empty());
    for request in requests {
        let days = request["days"].as_array().unwrap();
        let today = days.last().unwrap_or_else(|| panic!("nothing is kept of {request:#}"));
        assert!(today["answered"].as_u64().unwrap() > 0, "{request:#}");
        assert_eq!(request["is_behind"], false, "{request:#}");
    }
    let today = requests.iter().filter_map(|request| request["days"].as_array()?.last());
    assert!(today.filter_map(|day| day["records"].as_u64()).sum::<u64>() > 0);

    let (home, _) = watched.end();
    let ledger = Ledger::open(&home.path().join("everyline.db")).await.unwrap();
    let changes = ledger.link_changes(&shop()).await.unwrap();
    let made: Vec<(i64, &str, Option<i64>)> = changes
        .iter()
        .map(|change| (change.note.number, change.note.signed.by.as_str(), change.note.undoes))
        .collect();
    assert_eq!(made, [(1, "the page", None), (2, "the page", Some(1)), (3, "the page", None)]);
}
