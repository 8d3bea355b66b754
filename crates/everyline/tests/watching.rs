//! `everyline watch` as a process, and the audit of what it has read.
//!
//! Start reading at the names of the tests.

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpListener};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

/// Until then what is waited for must have come: far more than it takes.
const PATIENCE: Duration = Duration::from_secs(60);

/// The moment of the fixture.
const AS_OF: &str = "2026-11-26T15:20:00Z";

fn everyline(home: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_everyline"));
    command.current_dir(home).args(arguments).env_remove("COLUMNS").env_remove("NO_COLOR");
    command
}

fn run(home: &Path, arguments: &[&str]) -> (i32, String, String) {
    let Output { status, stdout, stderr } = everyline(home, arguments).output().unwrap();
    (status.code().unwrap(), String::from_utf8(stdout).unwrap(), String::from_utf8(stderr).unwrap())
}

/// A watch that has begun to look.
fn watching(home: &Path) -> (Child, BufReader<std::process::ChildStderr>) {
    let mut child = everyline(home, &["watch"]).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
    let mut log = BufReader::new(child.stderr.take().unwrap());
    let mut line = String::new();
    while !line.contains("watching") {
        line.clear();
        assert!(log.read_line(&mut line).unwrap() > 0, "it ended");
    }
    (child, log)
}

/// Ends it as a service manager does, and answers how long that took.
fn terminate(mut child: Child) -> (Option<i32>, Duration) {
    let began = Instant::now();
    assert!(Command::new("kill").args(["-TERM", &child.id().to_string()]).status().unwrap().success());
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return (status.code(), began.elapsed());
        }
        if began.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("it did not end");
        }
        std::thread::sleep(Duration::from_millis(10));
    }
}

fn fixture() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/sale-day"))
}

/// A shop whose files are dropped into a folder.
fn shop_of_files() -> TempDir {
    let home = tempfile::tempdir().unwrap();
    let dropped = home.path().join("dropped");
    fs::create_dir(&dropped).unwrap();
    for entry in fs::read_dir(fixture()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "csv") {
            // Not copied with its time: it is put there now.
            fs::write(dropped.join(path.file_name().unwrap()), fs::read(&path).unwrap()).unwrap();
        }
    }
    let configuration = fs::read_to_string(fixture().join("everyline.toml")).unwrap();
    let source = "\n[sources.exports]\nrole = \"storefront\"\nfolder = \"dropped\"\n";
    fs::write(home.path().join("everyline.toml"), configuration + source).unwrap();
    home
}

/// Findings by id, without what depends on when they were first seen.
fn findings(lines: &str) -> Vec<Value> {
    let mut findings: Vec<Value> = lines
        .lines()
        .map(|line| {
            let mut finding: Value = serde_json::from_str(line).unwrap();
            finding.as_object_mut().unwrap().remove("first_seen");
            finding
        })
        .collect();
    findings.sort_by_key(|finding| finding["id"].as_str().unwrap().to_owned());
    findings
}

#[test]
fn what_was_read_from_a_source_gets_the_same_answer_as_its_files() {
    let home = shop_of_files();
    let (code, said, log) = run(home.path(), &["watch", "--once"]);
    assert_eq!(code, 1, "{said}\n{log}");
    let asked =
        ["--config", "everyline.toml", "--as-of", AS_OF, "--since", "2026-11-01", "--format", "jsonl"];
    let of_ledger = run(home.path(), &[&["audit"][..], &asked].concat());
    let of_files = run(home.path(), &[&["audit", "--from", "dropped"][..], &asked].concat());
    assert_eq!((of_ledger.0, of_files.0), (1, 1), "{}", of_ledger.2);
    let (of_ledger, of_files) = (findings(&of_ledger.1), findings(&of_files.1));
    assert!(of_files.len() > 50, "{}", of_files.len());
    for (ledger, files) in of_ledger.iter().zip(&of_files) {
        assert_eq!(ledger, files);
    }
    assert_eq!(of_ledger.len(), of_files.len());
}

#[test]
fn one_watches_a_ledger_and_the_second_is_told_so() {
    let home = shop_of_files();
    let (child, _log) = watching(home.path());
    let (code, _, said) = run(home.path(), &["watch", "--once"]);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("another everyline watches with this ledger"), "{said}");
    // Looking on is not forbidden.
    let (code, _, said) = run(home.path(), &["status"]);
    assert!([0, 3].contains(&code), "{said}");
    assert_eq!(terminate(child).0, Some(0));
    let (code, _, said) = run(home.path(), &["watch", "--once"]);
    assert!([1, 3].contains(&code), "{said}");
}

#[test]
fn it_ends_soon_in_good_order_also_while_a_source_does_not_answer() {
    // Connections are taken by the system, and nobody ever answers.
    let silent = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let home = tempfile::tempdir().unwrap();
    let source = format!(
        "[sources.till]\nrole = \"storefront\"\naddress = \"http://{}/\"\n[sources.till.requests.orders]\npath = \"orders\"\n\
         [sources.till.requests.orders.tables.orders]\nat = \"$[*]\"\nfields = {{ order_id = \"$.id\", status = \"$.status\", \
         placed_at = \"$.at\" }}\n[sources.till.requests.orders.tables.order_lines]\nwithin = \"orders\"\nat = \"$.lines[*]\"\n\
         fields = {{ line_id = \"$.id\", quantity = \"$.count\" }}\n",
        silent.local_addr().unwrap()
    );
    fs::write(home.path().join("everyline.toml"), source).unwrap();
    let (child, _log) = watching(home.path());
    std::thread::sleep(Duration::from_millis(300));
    let (code, took) = terminate(child);
    assert_eq!(code, Some(0));
    // It ends within a second; here more is allowed for a machine that is busy.
    assert!(took < PATIENCE / 4, "{took:?}");
}

#[test]
fn a_source_that_is_not_there_is_said_and_the_answer_is_not_complete() {
    let free = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let nobody = free.local_addr().unwrap();
    drop(free);
    let home = shop_of_files();
    let mut configuration =
        fs::OpenOptions::new().append(true).open(home.path().join("everyline.toml")).unwrap();
    write!(
        configuration,
        "\n[sources.alder]\nrole = \"supplier\"\nsupplier = \"alder-print\"\naddress = \"http://{nobody}/\"\n\
         [sources.alder.requests.jobs]\npath = \"jobs\"\n[sources.alder.requests.jobs.tables.submissions]\nat = \"$[*]\"\n\
         fields = {{ submission_id = \"$.id\", status = \"$.status\", received_at = \"$.at\" }}\n\
         [sources.alder.requests.jobs.tables.submission_lines]\nwithin = \"submissions\"\nat = \"$.lines[*]\"\n\
         fields = {{ line_id = \"$.id\", quantity = \"$.count\" }}\n"
    )
    .unwrap();
    drop(configuration);
    let (code, said, log) = run(home.path(), &["watch", "--once"]);
    assert_eq!(code, 3, "{said}\n{log}");
    assert!(log.contains("source \"alder\"") && log.contains("there was no answer"), "{log}");
    // What the other source brought is judged all the same.
    assert!(said.contains("part-sent") || said.contains("nobody makes"), "{said}");
    let (code, _, said) = run(home.path(), &["audit", "--format", "jsonl", "--quiet"]);
    assert_eq!(code, 3);
    assert!(said.contains("not complete"), "{said}");
}

#[test]
fn without_sources_there_is_nothing_to_watch() {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("everyline.toml"), "zone = \"Europe/Oslo\"\n").unwrap();
    let (code, _, said) = run(home.path(), &["watch"]);
    assert_eq!(code, 2);
    assert!(said.contains("declares no sources") && said.contains("[sources.NAME]"), "{said}");
    for command in [&["findings"][..], &["status"], &["audit"], &["order", "1"]] {
        let (code, _, said) = run(home.path(), command);
        assert_eq!(code, 2, "{command:?}: {said}");
        assert!(said.contains("everyline watch"), "{command:?}: {said}");
    }
}

#[test]
fn rows_of_an_export_that_are_passed_over_are_told_once_though_two_requests_read_the_file() {
    let home = tempfile::tempdir().unwrap();
    let dropped = home.path().join("dropped");
    fs::create_dir(&dropped).unwrap();
    let rows = "Order,Date,State,Line,SKU,Qty,Price\nQ1,2026-11-24T09:00:00Z,paid,1,M-1,1,9.00\n\
        Q2,2026-11-25T09:00:00Z,paid,1,M-2,2,12.50\nTotal,,,,,3,21.50\n";
    fs::write(dropped.join("orders.csv"), rows).unwrap();
    let configuration = r#"
zone = "Europe/Vienna"

[sources.till]
role = "storefront"
folder = "dropped"

[sources.till.requests.orders]
file = "orders.csv"
[sources.till.requests.orders.tables.orders]
at = "$[*]"
[sources.till.requests.orders.tables.orders.fields]
order_id = "$.Order"
placed_at = "$.Date"
status = { at = "$.State", words = { paid = "open" } }

[sources.till.requests.lines]
file = "orders.csv"
[sources.till.requests.lines.tables.order_lines]
at = "$[*]"
[sources.till.requests.lines.tables.order_lines.fields]
order_id = "$.Order"
line_id = "$.Line"
sku = "$.SKU"
quantity = "$.Qty"
"#;
    fs::write(home.path().join("everyline.toml"), configuration).unwrap();
    let (_, said, log) = run(home.path(), &["watch", "--once"]);
    let all = format!("{said}{log}");
    assert_eq!(all.matches("1 row passed over").count(), 1, "{all}");
    assert!(all.contains("source till: orders.csv: 1 row passed over"), "{all}");
}
