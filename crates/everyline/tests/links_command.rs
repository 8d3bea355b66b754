//! `everyline links propose` and `everyline links check`, as people and scripts run them.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};
use tempfile::TempDir;

const OFFERS: &str = "listing_id,title,options\n\
    L1,Fern apron,\"{\"\"Size\"\": \"\"Large\"\", \"\"Colour\"\": \"\"Moss\"\"}\"\n\
    L1,Fern apron,\"{\"\"Size\"\": \"\"Large\"\", \"\"Colour\"\": \"\"Plum\"\"}\"\n\
    L2,Fern mugs,\"{\"\"Mug\"\": \"\"Mug A\"\"}\"\n\
    L2,Fern mugs,\"{\"\"Mug\"\": \"\"Mug B\"\"}\"\n";

const VARIANTS: &str = "supplier,variant_id,sku,product,options\n\
    alder-print,K-L-MO,AP-L-MO,Kitchen apron,\"{\"\"size\"\": \"\"L\"\", \"\"color\"\": \"\"moss\"\"}\"\n\
    alder-print,K-L-NA,AP-L-NA,Kitchen apron,\"{\"\"size\"\": \"\"L\"\", \"\"color\"\": \"\"navy\"\"}\"\n\
    alder-print,M-LOW,MU-LOW,\"Mug, low\",{}\n\
    alder-print,M-TALL,MU-TALL,\"Mug, tall\",{}\n";

fn shop(tables: &[(&str, &str)]) -> TempDir {
    let dir = TempDir::new().unwrap();
    for (name, text) in tables {
        fs::write(dir.path().join(name), text).unwrap();
    }
    dir
}

/// What `links propose` writes to standard output and standard error, and the exit code.
fn run(dir: &Path, arguments: &[&str]) -> (String, String, i32) {
    links("propose", dir, arguments)
}

fn links(command: &str, dir: &Path, arguments: &[&str]) -> (String, String, i32) {
    let from = dir.to_str().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_everyline"))
        .args(["links", command, "--from", from])
        .args(arguments)
        .output()
        .unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (text(&output.stdout), text(&output.stderr), output.status.code().unwrap())
}

fn json_lines(text: &str) -> Vec<Value> {
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn each_offer_is_a_line_with_its_variant_or_with_those_that_can_be_meant() {
    let dir = shop(&[("offers.csv", OFFERS), ("variants.csv", VARIANTS)]);
    let (out, _, code) = run(dir.path(), &["--format", "jsonl"]);
    let lines = json_lines(&out);
    assert_eq!(code, 1);
    assert_eq!(lines.len(), 4);
    assert_eq!(
        lines[0],
        json!({
            "listing_id": "L1", "options": {"Colour": "Moss", "Size": "Large"}, "status": "proposed",
            "supplier": "alder-print", "variant_id": "K-L-MO", "units": 1,
            "why": "says apron, L, moss; 'Kitchen apron' is the only product that it can be", "candidates": [],
        })
    );
    assert_eq!(lines[1]["status"], "none");
    assert_eq!(lines[1]["supplier"], Value::Null);
    assert!(lines[1]["why"].as_str().unwrap().contains("plum: take it off sale"), "{}", lines[1]);
    for line in &lines[2..] {
        assert_eq!(line["status"], "choose");
        let both = json!([
            {"supplier": "alder-print", "variant_id": "M-LOW"}, {"supplier": "alder-print", "variant_id": "M-TALL"}
        ]);
        assert_eq!(line["candidates"], both);
    }
}

#[test]
fn a_page_for_reading_groups_the_offers_of_a_listing_by_what_is_to_be_done() {
    let dir = shop(&[("offers.csv", OFFERS), ("variants.csv", VARIANTS)]);
    let (out, _, _) = run(dir.path(), &["--listing", "L1"]);
    assert!(out.starts_with("L1  Fern apron\n  proposed        1  Kitchen apron (alder-print)\n"), "{out}");
    assert!(
        out.contains("  nobody makes    1  'Kitchen apron' does not come in plum: take it off sale\n"),
        "{out}"
    );
    assert!(
        out.contains("2 offers: 1 proposed, 0 for you to decide, 1 that nobody makes. Nothing was changed.")
    );
    assert!(!out.contains("L2"), "{out}");
}

#[test]
fn the_proposed_links_are_a_table_that_an_audit_takes_as_what_is_intended() {
    let orders = "order_id,placed_at,status\nO1,2026-11-25T08:00:00Z,open\n";
    let order_lines = "order_id,line_id,listing_id,options,quantity\n\
        O1,1,L1,\"{\"\"Size\"\": \"\"Large\"\", \"\"Colour\"\": \"\"Moss\"\"}\",1\n";
    let tables = [
        ("offers.csv", OFFERS),
        ("variants.csv", VARIANTS),
        ("orders.csv", orders),
        ("order_lines.csv", order_lines),
    ];
    let dir = shop(&tables);
    let (links, _, _) = run(dir.path(), &["--format", "csv"]);
    assert_eq!(links.lines().count(), 2, "{links}");
    fs::write(dir.path().join("links.csv"), links).unwrap();
    let audit = Command::new(env!("CARGO_BIN_EXE_everyline"))
        .args(["audit", "--as-of", "2026-11-25T12:00:00Z", "--format", "jsonl", "--from"])
        .arg(dir.path())
        .output()
        .unwrap();
    let findings = json_lines(&String::from_utf8(audit.stdout).unwrap());
    let unsent = findings.iter().find(|finding| finding["check"] == "unsent-order").unwrap();
    assert_eq!(unsent["lines"][0]["reason"], "no-link");
    assert!(unsent.to_string().contains("K-L-MO"), "what was intended is said: {unsent}");
}

#[test]
fn what_was_ordered_by_hand_becomes_a_proposal() {
    let orders = "order_id,placed_at,status\nO1,2026-11-25T08:00:00Z,open\n";
    let order_lines = "order_id,line_id,listing_id,options,title,quantity\n\
        O1,1,L2,\"{\"\"Mug\"\": \"\"Mug A\"\"}\",Fern mugs,1\n";
    let submissions = "supplier,submission_id,order_ref,status,received_at\n\
        alder-print,S1,O1,received,2026-11-25T09:00:00Z\n";
    let submission_lines = "supplier,submission_id,line_id,order_line_ref,variant_id,quantity\n\
        alder-print,S1,1,1,M-TALL,1\n";
    let tables = [
        ("offers.csv", OFFERS),
        ("variants.csv", VARIANTS),
        ("orders.csv", orders),
        ("order_lines.csv", order_lines),
        ("submissions.csv", submissions),
        ("submission_lines.csv", submission_lines),
    ];
    let dir = shop(&tables);
    let (out, _, _) = run(dir.path(), &["--format", "jsonl", "--listing", "L2"]);
    let lines = json_lines(&out);
    assert_eq!(lines[0]["variant_id"], "M-TALL");
    assert_eq!(lines[0]["why"], "you ordered it by hand for order O1");
    assert_eq!(lines[1]["status"], "choose", "the other mug is still for the owner to tell");
}

#[test]
fn what_is_missing_is_said_with_what_to_do() {
    let without_variants = shop(&[("offers.csv", OFFERS)]);
    let (out, error, code) = run(without_variants.path(), &[]);
    assert_eq!((out.as_str(), code), ("", 2));
    assert!(
        error.contains("there is no table variants") && error.contains("both tables are needed"),
        "{error}"
    );

    let dir = shop(&[("offers.csv", OFFERS), ("variants.csv", VARIANTS)]);
    let (_, error, code) = run(dir.path(), &["--listing", "L9"]);
    assert_eq!(code, 2);
    assert!(error.contains("no offer is of a listing \"L9\""), "{error}");
}

#[test]
fn rows_that_cannot_be_read_stop_it_unless_they_may_be_left_out() {
    let offers = format!("{OFFERS}L3,Fern cap,not options\n");
    let dir = shop(&[("offers.csv", &offers), ("variants.csv", VARIANTS)]);
    let (out, error, code) = run(dir.path(), &[]);
    assert_eq!((out.as_str(), code), ("", 2));
    assert!(error.contains("offers.csv") && error.contains("--skip-bad-rows"), "{error}");
    let (out, error, code) = run(dir.path(), &["--skip-bad-rows"]);
    assert_eq!(code, 3);
    assert!(out.contains("4 offers:") && error.contains("1 rows were skipped"), "{out}{error}");
}

#[test]
fn the_listing_whose_unlinked_offers_sold_most_is_checked_first_with_its_grid() {
    let sale_day = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/sale-day");
    let (out, _, code) = links("check", &sale_day, &[]);
    assert_eq!(code, 1);
    assert!(out.starts_with("KL-01  "), "{out}");
    assert!(out.contains("  sold in these orders: 268, of those without a link: 24\n"), "{out}");
    for row in [
        "    tote bag  any size\n    charcoal  +\n    moss      +\n    mustard   !\n    navy      +\n",
        "    t-shirt  S  M  L  XL  2XL\n    moss     +  +  +  +   +\n",
        "    plum     +  x  x  +   !\n",
        "    rust      ~\n",
        "    apron     S  L\n    charcoal  .  .\n",
    ] {
        assert!(out.contains(row), "{row}\n is not in\n{out}");
    }
}

#[test]
fn findings_about_links_are_written_as_an_audit_writes_them() {
    let sale_day = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/sale-day");
    let (out, _, _) = links("check", &sale_day, &["--listing", "KL-02", "--format", "jsonl"]);
    let findings = json_lines(&out);
    let checks: Vec<&str> = findings.iter().map(|finding| finding["check"].as_str().unwrap()).collect();
    assert_eq!(checks, ["offer-unlinked", "link-mismatch", "link-mismatch"]);
}

#[test]
fn where_nothing_is_wrong_that_is_said() {
    let links_table = "listing_id,options,supplier,variant_id\n\
        L1,\"{\"\"Size\"\": \"\"Large\"\", \"\"Colour\"\": \"\"Moss\"\"}\",alder-print,K-L-MO\n";
    let offers = OFFERS.lines().take(2).fold(String::new(), |text, line| text + line + "\n");
    let tables = [("offers.csv", offers.as_str()), ("variants.csv", VARIANTS), ("links.csv", links_table)];
    let dir = shop(&tables);
    let (out, _, code) = links("check", dir.path(), &[]);
    assert_eq!((out.as_str(), code), ("1 offers were checked: nothing is wrong with their links.\n", 0));
    let (out, _, _) = links("check", dir.path(), &["--listing", "L1"]);
    assert!(out.contains("    apron  L\n    moss   +\n"), "{out}");
}
