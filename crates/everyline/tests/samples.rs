//! From two exports to the first true answer, by the commands that an owner types: propose, preview, confirm, audit.
//!
//! The exports are those of the corpus of `proposing`. Start reading at [`proposed`].

#![expect(clippy::unwrap_used, reason = "a test")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use assert_cmd::cargo::CommandCargoExt;
use serde_json::Value;

fn everyline(folder: &Path, arguments: &[&str]) -> Output {
    Command::cargo_bin("everyline").unwrap().current_dir(folder).args(arguments).output().unwrap()
}

fn said(output: &Output) -> (String, String, Option<i32>) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (text(&output.stdout), text(&output.stderr), output.status.code())
}

fn pair(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus/known").join(name)
}

/// A folder with the exports of a pair, and mappings proposed for both.
fn proposed(name: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let pair = pair(name);
    let mut all: Vec<Vec<String>> = Vec::new();
    for side in ["storefront", "supplier"] {
        let mut names = Vec::new();
        for entry in fs::read_dir(pair.join(side)).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            fs::copy(&path, folder.path().join(&name)).unwrap();
            names.push(name);
        }
        all.push(names);
    }
    for (role, names, more) in [
        ("storefront", &all[0], &["--out", "shop.toml"][..]),
        ("supplier", &all[1], &["--out", "maker.toml", "--supplier", "maker", "--beside", "shop.toml"]),
    ] {
        let mut arguments = vec!["source", "propose", "--role", role, "--zone", "Europe/Berlin", "--sample"];
        arguments.extend(names.iter().map(String::as_str));
        arguments.extend(more);
        let (out, err, code) = said(&everyline(folder.path(), &arguments));
        assert_eq!(code, Some(0), "{out}{err}");
        assert!(out.contains("Next: everyline source confirm"), "{out}");
    }
    folder
}

#[test]
fn two_exports_are_audited_by_proposed_mappings() {
    let folder = proposed("02-moosgasse");
    let arguments = ["audit", "--from", ".", "--map", "shop.toml", "--map", "maker.toml", "--format", "json"];
    let (out, err, code) = said(&everyline(folder.path(), &arguments));
    assert_eq!(code, Some(1), "{err}");
    let answer: Value = serde_json::from_str(&out).unwrap();
    assert!(answer["totals"]["orders"].as_u64().unwrap() > 40, "{out}");
    assert!(answer["totals"]["units_demanded"].as_u64().unwrap() > 80, "{out}");
}

#[test]
fn each_field_is_listed_with_where_it_stands_how_sure_that_is_and_why() {
    let folder = proposed("02-moosgasse");
    let arguments =
        ["source", "propose", "--role", "storefront", "--sample", "bestellungen.csv", "--format", "json"];
    let (out, err, code) = said(&everyline(folder.path(), &arguments));
    assert_eq!(code, Some(0), "{err}");
    let fields: Vec<Value> = serde_json::from_str(&out).unwrap();
    let of = |table: &str, column: &str| {
        fields.iter().find(|field| field["table"] == table && field["column"] == column).unwrap()
    };
    assert_eq!(of("order_lines", "sku")["at"], "Art.-Nr.");
    for field in &fields {
        assert!(matches!(field["how"].as_str(), Some("sure" | "likely" | "open")), "{field}");
        assert!(!field["why"].as_str().unwrap().is_empty(), "{field}");
    }
    // Without --zone, local times are not sure.
    assert_eq!(of("orders", "placed_at")["how"], "likely");
}

#[test]
fn records_are_shown_as_everyline_reads_them_and_nothing_of_a_person() {
    let folder = proposed("02-moosgasse");
    let arguments =
        ["source", "preview", "--map", "shop.toml", "--sample", "bestellungen.csv", "--format", "jsonl"];
    let (out, err, code) = said(&everyline(folder.path(), &arguments));
    assert_eq!(code, Some(0), "{err}");
    let first: Value = serde_json::from_str(out.lines().next().unwrap()).unwrap();
    assert_eq!(first["table"], "orders");
    assert!(first["order_id"].is_string() && first["placed_at"].is_string(), "{first}");
    assert!(!out.contains('@'), "{out}");
}

#[test]
fn without_a_terminal_nothing_is_asked_and_nothing_waits() {
    let folder = proposed("05-casa-lagartuela");
    let before = fs::read_to_string(folder.path().join("maker.toml")).unwrap();
    let (out, err, code) = said(&everyline(folder.path(), &["source", "confirm", "--map", "maker.toml"]));
    assert_eq!(code, Some(3), "{out}{err}");
    assert!(out.contains("submissions.status"), "{out}");
    assert_eq!(fs::read_to_string(folder.path().join("maker.toml")).unwrap(), before);
}

#[test]
fn what_is_there_is_not_written_over_and_what_cannot_be_read_is_said() {
    let folder = proposed("02-moosgasse");
    let sample = ["source", "propose", "--role", "storefront", "--sample", "bestellungen.csv"];
    let again: Vec<&str> = sample.iter().copied().chain(["--out", "shop.toml"]).collect();
    let (_, err, code) = said(&everyline(folder.path(), &again));
    assert_eq!(code, Some(2));
    assert!(err.contains("shop.toml is there already") && err.contains("--replace"), "{err}");
    let (_, err, code) =
        said(&everyline(folder.path(), &["source", "propose", "--role", "supplier", "--sample", "none.csv"]));
    assert_eq!(code, Some(2));
    assert!(err.contains("none.csv"), "{err}");
    let (_, err, code) = said(&everyline(folder.path(), &["audit", "--from", ".", "--map", "none.toml"]));
    assert_eq!(code, Some(2));
    assert!(err.contains("none.toml"), "{err}");
}

#[test]
fn lines_in_a_file_of_their_own_are_counted_within_their_orders() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("sales.csv", "No,Date,State\nK1,2026-11-24,open\nK2,2026-11-24,open\n");
    write("goods.csv", "Sale,Code,Pieces\nK1,APR-L,1\nK2,TOTE,2\nK1,MUG,1\n");
    let map = r#"
[sources.till]
role = "storefront"
folder = "."
[sources.till.requests.orders]
file = "sales.csv"
[sources.till.requests.orders.tables.orders]
at = "$[*]"
[sources.till.requests.orders.tables.orders.fields]
order_id = "$.No"
placed_at = "$.Date"
status = "$.State"
[sources.till.requests.lines]
file = "goods.csv"
[sources.till.requests.lines.tables.order_lines]
at = "$[*]"
[sources.till.requests.lines.tables.order_lines.fields]
order_id = "$.Sale"
line_id = { counted = true }
sku = "$.Code"
quantity = "$.Pieces"
"#;
    write("shop.toml", map);
    let arguments = [
        "source",
        "preview",
        "--map",
        "shop.toml",
        "--sample",
        "sales.csv",
        "goods.csv",
        "--format",
        "jsonl",
    ];
    let (out, err, code) = said(&everyline(folder.path(), &arguments));
    assert_eq!(code, Some(0), "{out}{err}");
    let lines: Vec<String> = out
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .filter(|row| row["table"] == "order_lines")
        .map(|row| format!("{} {} {}", row["order_id"], row["line_id"], row["sku"]))
        .collect();
    assert_eq!(lines, [r#""K1" "1" "APR-L""#, r#""K1" "2" "MUG""#, r#""K2" "1" "TOTE""#]);
}

#[test]
fn a_mapping_that_lacks_what_is_open_is_asked_about_and_an_audit_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    // Every date can be read with the day or the month first.
    let orders = "Order No,Date,State,Item,SKU,Qty\n1,02/11/2026,paid,mug,M-1,1\n1,02/11/2026,paid,cap,C-1,2\n\
        2,03/11/2026,paid,mug,M-1,1\n3,04/11/2026,wobbly,cap,C-1,1\n4,05/11/2026,paid,mug,M-2,1\n";
    write("orders.csv", orders);
    let arguments =
        ["source", "propose", "--role", "storefront", "--sample", "orders.csv", "--out", "shop.toml"];
    let (out, err, code) = said(&everyline(folder.path(), &arguments));
    assert_eq!(code, Some(0), "{out}{err}");
    assert!(out.contains("1 open, and what 1 word means"), "{out}");

    let (out, err, code) = said(&everyline(folder.path(), &["source", "confirm", "--map", "shop.toml"]));
    assert_eq!(code, Some(3), "{out}{err}");
    assert!(out.contains("orders.placed_at: Day and month can be read in either order"), "{out}");
    assert!(out.contains("orders.status: What these words mean is not known"), "{out}");

    let (out, err, code) = said(&everyline(folder.path(), &["audit", "--from", ".", "--map", "shop.toml"]));
    assert_eq!(code, Some(2), "{out}{err}");
    assert!(err.contains("has no placed_at"), "{err}");
    assert!(err.contains("say what is open: `everyline source confirm --map shop.toml`"), "{err}");
}

#[test]
fn the_number_that_suppliers_are_told_is_looked_up_in_their_files_when_proposing_and_when_confirming() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    let orders: String = (1..9)
        .map(|order| {
            format!("7{order}31{order},K{order}0{order},2026-11-0{order}T09:00:00Z,paid,mug,M-1,1\n")
        })
        .collect();
    write("orders.csv", &format!("Number,Mark,Date,State,Item,SKU,Qty\n{orders}"));
    let jobs: String = (1..9).map(|job| format!("J{job},K{job}0{job},1\n")).collect();
    write("jobs.csv", &format!("Job,For,Pieces\n{jobs}"));
    let propose =
        ["source", "propose", "--role", "storefront", "--zone", "Europe/Berlin", "--sample", "orders.csv"];
    let told = |more: &[&str]| {
        let (out, err, code) = said(&everyline(folder.path(), &[&propose[..], more].concat()));
        assert_eq!(code, Some(0), "{out}{err}");
        out
    };
    let out = told(&["--out", "alone.toml"]);
    assert!(!out.contains("order_id    Mark"), "{out}");
    let out = told(&["--out", "shop.toml", "--named-in", "jobs.csv"]);
    let map = fs::read_to_string(folder.path().join("shop.toml")).unwrap();
    assert!(map.contains("order_id = \"$.Mark\""), "{map}");
    assert!(out.contains("--named-in jobs.csv"), "what is next names it too: {out}");

    let confirm = ["source", "confirm", "--map", "shop.toml", "--named-in"];
    let (out, err, code) = said(&everyline(folder.path(), &[&confirm[..], &["jobs.csv"]].concat()));
    assert_eq!(code, Some(0), "{out}{err}");
    assert!(format!("{out}{err}").contains("nothing is open"), "{out}{err}");
    let (out, err, code) = said(&everyline(folder.path(), &[&confirm[..], &["none.csv"]].concat()));
    assert_eq!(code, Some(2), "{out}{err}");
    assert!(err.contains("none.csv"), "{err}");
}
