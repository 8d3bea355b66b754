//! `everyline audit`, as a person or a script calls it.

use std::process::Stdio;

use assert_cmd::cargo::cargo_bin;
use serde_json::Value;

use crate::shop::{AS_OF, Shop, everyline, run};

const FORMATS: [&str; 4] = ["table", "json", "jsonl", "csv"];

fn json(shop: &Shop, more: &[&str]) -> Value {
    let run = run(shop.audit(&["--format", "json"]).args(more));
    serde_json::from_str(&run.stdout).unwrap_or_else(|error| panic!("{error}: {}{}", run.stdout, run.stderr))
}

/// Check and order of every finding.
fn found(answer: &Value) -> Vec<(&str, &str)> {
    let findings = answer["findings"].as_array().unwrap();
    let text =
        |value: &'_ Value| -> Option<&'static str> { value.as_str().map(|text| &*text.to_owned().leak()) };
    findings.iter().map(|f| (text(&f["check"]).unwrap(), text(&f["order_id"]).unwrap_or("-"))).collect()
}

/// That standard error holds an error in its three parts, with these texts.
fn assert_trouble(stderr: &str, texts: &[&str]) {
    assert!(stderr.starts_with("error: "), "{stderr}");
    assert!(stderr.contains("\ncause: ") && stderr.contains("\nhelp:  "), "{stderr}");
    for text in texts {
        assert!(stderr.contains(text), "{text:?} is not said in\n{stderr}");
    }
}

#[test]
fn the_two_mistakes_of_a_small_book_are_found_and_nothing_else() {
    let shop = Shop::with_two_mistakes();
    let answer = json(&shop, &[]);
    assert_eq!(found(&answer), [("part-sent", "1001"), ("over-sent", "1002")]);
    let line = &answer["findings"][0]["lines"][0];
    assert_eq!((line["line_id"].as_str(), line["reason"].as_str()), (Some("2"), Some("no-link")));
    let surplus = &answer["findings"][1];
    assert_eq!(surplus["submission_id"], "S2");
    assert_eq!(surplus["submission_lines"][0]["units"], 1);
    let totals = &answer["totals"];
    let counted = ["orders", "lines", "units_demanded", "covered", "uncovered", "covered_wrongly"];
    assert_eq!(counted.map(|name| totals[name].as_u64().unwrap()), [3, 4, 4, 3, 1, 0]);
    assert_eq!(answer["as_of"], AS_OF);
}

#[test]
fn the_code_says_whether_something_was_found() {
    for format in FORMATS {
        assert_eq!(run(&mut Shop::without_mistakes().audit(&["--format", format])).code, 0, "{format}");
        assert_eq!(run(&mut Shop::with_two_mistakes().audit(&["--format", format])).code, 1, "{format}");
    }
}

#[test]
fn every_format_is_what_it_says() {
    let shop = Shop::with_two_mistakes();
    let stdout = |format: &str| run(&mut shop.audit(&["--format", format])).stdout;

    let table = stdout("table");
    assert!(table.contains("1001") && table.contains("1002") && table.contains("part-sent"), "{table}");
    assert_eq!(table, run(&mut shop.audit(&[])).stdout);

    let lines: Vec<Value> = stdout("jsonl").lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(Value::from(lines), json(&shop, &[])["findings"]);

    let csv = stdout("csv");
    let mut rows = csv::Reader::from_reader(csv.as_bytes());
    let check = rows.headers().unwrap().iter().position(|name| name == "check").unwrap();
    let checks: Vec<String> = rows.records().map(|row| row.unwrap()[check].to_owned()).collect();
    assert!(
        checks.iter().any(|check| check == "part-sent") && checks.iter().any(|check| check == "over-sent")
    );
}

#[test]
fn where_nothing_is_found_programs_get_well_formed_data_all_the_same() {
    let shop = Shop::without_mistakes();
    let stdout = |format: &str| run(&mut shop.audit(&["--format", format])).stdout;
    assert_eq!(json(&shop, &[])["findings"], Value::from(Vec::<Value>::new()));
    assert_eq!(stdout("jsonl"), "");
    assert_eq!(stdout("csv").lines().count(), 1);
    assert!(stdout("table").starts_with("Nothing wrong was found"));
}

#[test]
fn standard_output_is_data_alone_and_notices_go_to_people_unless_they_want_quiet() {
    let shop = Shop::with_two_mistakes();
    for format in ["json", "jsonl", "csv"] {
        let told = run(&mut shop.audit(&["--format", format]));
        assert!(told.stderr.lines().all(|line| line.starts_with("note: ")), "{}", told.stderr);
        assert!(told.stderr.contains("no offers were given"), "{}", told.stderr);
        let quiet = run(&mut shop.audit(&["--format", format, "--quiet"]));
        assert_eq!((quiet.stderr.as_str(), quiet.stdout), ("", told.stdout), "{format}");
    }
    let table = run(&mut shop.audit(&[]));
    assert_eq!(table.stderr, "", "the table holds its notices");
    assert!(table.stdout.contains("no offers were given"), "{}", table.stdout);
}

#[test]
fn a_bad_row_ends_the_audit_without_a_verdict() {
    let shop = Shop::with_a_bad_row();
    for format in FORMATS {
        let run = run(&mut shop.audit(&["--format", format, "--quiet"]));
        assert_eq!((run.code, run.stdout.as_str()), (2, ""), "{format}");
        let said = [
            "1 of 15 rows cannot be read:",
            "order_lines.csv, line 5",
            "quantity",
            "\"one\"",
            "--skip-bad-rows",
        ];
        assert_trouble(&run.stderr, &said);
    }
}

#[test]
fn of_many_bad_rows_the_first_twenty_and_the_count_are_told() {
    let shop = Shop::with_two_mistakes();
    let rows: String = (0..25).map(|id| format!("{id},yesterday,open\n")).collect();
    shop.put("orders.csv", &format!("order_id,placed_at,status\n1001,2026-11-25,open\n{rows}"));
    shop.put("order_lines.csv", "order_id,line_id,quantity\n1001,1,1\n");
    shop.put("submissions.csv", "supplier,submission_id,status,received_at\n");
    shop.put("submission_lines.csv", "supplier,submission_id,line_id,quantity\n");
    let run = run(&mut shop.audit(&[]));
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert_trouble(
        &run.stderr,
        &["25 of 29 rows cannot be read; the first 20:", "orders.csv, line 3,", "orders.csv, line 22,"],
    );
    assert!(!run.stderr.contains("orders.csv, line 23,"), "{}", run.stderr);
}

#[test]
fn with_rows_skipped_the_rest_is_judged_and_the_code_says_that_it_is_not_complete() {
    let shop = Shop::with_a_bad_row();
    for format in FORMATS {
        let run = run(&mut shop.audit(&["--format", format, "--skip-bad-rows", "--quiet"]));
        assert_eq!(run.code, 3, "{format}: {}", run.stderr);
        assert!(run.stdout.contains("1001") && run.stdout.contains("part-sent"), "{format}");
        assert_eq!(run.stderr, "not complete: 1 row left out, 1 order not judged\n", "{format}");
    }
    let answer = json(&shop, &["--skip-bad-rows"]);
    assert_eq!(answer["rows_skipped"], 1);
    assert_eq!(answer["orders_not_judged"], Value::from(vec!["1003"]));
    let clean = Shop::without_mistakes();
    clean.edit("order_lines.csv", "1003,1,AP-MOSS,Kitchen set,,1,", "1003,1,AP-MOSS,Kitchen set,,one,");
    assert_eq!(run(&mut clean.audit(&["--skip-bad-rows"])).code, 3, "also where nothing is found");
    assert_eq!(run(&mut Shop::with_two_mistakes().audit(&["--skip-bad-rows"])).code, 1, "nothing to skip");
}

#[test]
fn what_cannot_be_audited_says_why_and_what_to_do() {
    let shop = Shop::with_two_mistakes();
    let folder = shop.path().to_str().unwrap();
    let missing = shop.path().join("nowhere");
    let missing = missing.to_str().unwrap();
    let from = |more: &[&str]| -> Vec<String> {
        ["audit", "--from", folder].iter().chain(more).map(|word| (*word).to_owned()).collect()
    };
    let bare = |words: &[&str]| -> Vec<String> { words.iter().map(|word| (*word).to_owned()).collect() };
    for (arguments, said) in [
        (bare(&["audit"]), vec!["everyline.toml could not be read", "--config"]),
        (bare(&["audit", "--from", missing]), vec!["there is no such folder", missing]),
        (from(&["--as-of", "yesterday"]), vec!["--as-of is \"yesterday\"; expected is a time such as"]),
        (from(&["--since", "2026-11-25T09:00:00"]), vec!["--since is", "RFC 3339 with offset"]),
        (from(&["--until", "25.11.2026"]), vec!["--until is"]),
        (
            from(&["--since", "2026-11-25", "--until", "2026-11-24"]),
            vec!["--since, 2026-11-25, is not before the end of --until, 2026-11-24"],
        ),
        (from(&["--config", missing]), vec!["the configuration file", "could not be read", missing]),
    ] {
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let run = run(&mut everyline(&arguments));
        assert_eq!((run.code, run.stdout.as_str()), (2, ""), "{arguments:?}");
        assert_trouble(&run.stderr, &said);
    }
    let empty = tempfile::tempdir().unwrap();
    let run = run(everyline(&["audit", "--from"]).arg(empty.path()));
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert_trouble(&run.stderr, &["orders", "everyline audit --help"]);
}

#[test]
fn an_unknown_check_is_refused_with_the_known_ones_and_the_nearest() {
    let run = run(&mut Shop::with_two_mistakes().audit(&["--check", "part-snet"]));
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    for said in ["part-snet", "part-sent", "unsent-order", "loss-making", "similar"] {
        assert!(run.stderr.contains(said), "{said} is not said in\n{}", run.stderr);
    }
}

#[test]
fn only_the_checks_asked_for_are_reported_and_decide_the_code() {
    let shop = Shop::with_two_mistakes();
    assert_eq!(found(&json(&shop, &["--check", "over-sent"])), [("over-sent", "1002")]);
    assert_eq!(json(&shop, &["--check", "over-sent", "--check", "part-sent"]), json(&shop, &[]));
    let late = run(&mut shop.audit(&["--check", "late"]));
    assert_eq!(late.code, 0);
    assert!(late.stdout.contains("late"), "the page says what was asked for: {}", late.stdout);
}

#[test]
fn since_and_until_choose_by_placing_and_a_date_lasts_through_its_end() {
    let shop = Shop::with_two_mistakes();
    for (window, want) in [
        (&["--since", "2026-11-25"][..], &[("over-sent", "1002")][..]),
        (&["--since", "2026-11-24T09:00:00Z"], &[("part-sent", "1001"), ("over-sent", "1002")]),
        (&["--since", "2026-11-24T09:00:01Z"], &[("over-sent", "1002")]),
        (&["--until", "2026-11-24"], &[("part-sent", "1001")]),
        (&["--until", "2026-11-25T09:00:00Z"], &[("part-sent", "1001")]),
        (&["--until", "2026-11-25T09:00:01Z"], &[("part-sent", "1001"), ("over-sent", "1002")]),
        (&["--until", "2026-11-25"], &[("part-sent", "1001"), ("over-sent", "1002")]),
        (&["--since", "2026-11-25T00:00:00Z", "--until", "2026-11-25T09:00:00Z"], &[]),
    ] {
        assert_eq!(found(&json(&shop, window)), want, "{window:?}");
    }
    shop.put("everyline.toml", "zone = \"Pacific/Auckland\"\n");
    let configuration = shop.path().join("everyline.toml");
    let window = ["--since", "2026-11-25", "--config", configuration.to_str().unwrap()];
    assert_eq!(
        found(&json(&shop, &window)),
        [("over-sent", "1002")],
        "24 November 11:00 UTC is its beginning"
    );
    let window = ["--until", "2026-11-24", "--config", configuration.to_str().unwrap()];
    assert_eq!(found(&json(&shop, &window)), [("part-sent", "1001")], "24 November 11:00 UTC is its end");
}

#[test]
fn as_of_decides_what_is_there_and_a_date_is_its_last_second() {
    let shop = Shop::with_two_mistakes();
    let at = |as_of: &str| {
        let mut command = everyline(&["audit", "--format", "json", "--as-of", as_of, "--from"]);
        let run = run(command.arg(shop.path()));
        serde_json::from_str::<Value>(&run.stdout).unwrap()
    };
    assert_eq!(at("2026-11-25")["as_of"], "2026-11-25T23:59:59Z");
    assert_eq!(at("2026-11-23")["totals"]["orders"], 0);
    assert_eq!(at("2026-11-24")["totals"]["orders"], 1);
    assert_eq!(at("2026-11-25T10:15:00+01:00")["totals"]["orders"], 2);
    shop.put("everyline.toml", "zone = \"Pacific/Auckland\"\n");
    let configuration = shop.path().join("everyline.toml");
    let mut command = everyline(&["audit", "--format", "json", "--as-of", "2026-11-24", "--from"]);
    let run = run(command.arg(shop.path()).arg("--config").arg(configuration));
    let answer: Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(answer["as_of"], "2026-11-24T10:59:59Z");
}

#[test]
fn an_export_much_older_than_the_machines_clock_is_noticed() {
    let shop = Shop::without_mistakes();
    for name in ["orders.csv", "submissions.csv"] {
        shop.edit(name, "2026-11-", "2020-11-");
    }
    let now = run(everyline(&["audit", "--format", "json", "--from"]).arg(shop.path()));
    let answer: Value = serde_json::from_str(&now.stdout).unwrap();
    let notices = answer["notices"].as_array().unwrap();
    let old = notices.iter().find(|notice| notice["topic"] == "old-export").unwrap();
    assert!(old["text"].as_str().unwrap().contains("Wed 25 Nov 2020 at 09:35"), "{old}");
    assert!(now.stderr.contains("note: the newest row of the tables is of"), "{}", now.stderr);
    let then = json(&Shop::without_mistakes(), &[]);
    assert!(!then["notices"].to_string().contains("old-export"), "{then}");
}

#[test]
fn a_supplier_that_is_configured_and_in_no_table_is_noticed_with_the_nearest() {
    let shop = Shop::without_mistakes();
    shop.put("everyline.toml", "[suppliers.alder-pint]\n[suppliers.alder-print]\n");
    let configuration = shop.path().join("everyline.toml");
    let run = run(shop.audit(&["--format", "jsonl", "--config"]).arg(configuration));
    let said = "no table: alder-pint (the nearest in the tables is alder-print)\n";
    assert!(run.stderr.contains(said), "{}", run.stderr);
}

#[test]
fn the_configuration_decides_until_when_something_can_be_put_right() {
    let shop = Shop::with_two_mistakes();
    assert_eq!(json(&shop, &[])["findings"][0]["act_before"], Value::Null);
    shop.put("everyline.toml", "[suppliers.alder-print]\ncut_off = { after_receipt = \"4 h\" }\n");
    let configuration = shop.path().join("everyline.toml");
    let answer = json(&shop, &["--config", configuration.to_str().unwrap()]);
    assert_eq!(answer["findings"][0]["act_before"], "2026-11-25T13:05:00Z");
    assert_eq!(answer["findings"][0]["cutoff_passed"], false);
}

#[test]
fn there_is_colour_on_request_and_none_in_a_pipe() {
    let shop = Shop::with_two_mistakes();
    let is_coloured = |more: &[&str]| run(&mut shop.audit(more)).stdout.contains('\u{1b}');
    assert!(!is_coloured(&[]));
    assert!(is_coloured(&["--colour", "always"]));
    assert!(!is_coloured(&["--colour", "never"]));
    let mut no_color = shop.audit(&["--colour", "auto"]);
    assert!(!run(no_color.env("NO_COLOR", "1")).stdout.contains('\u{1b}'));
    for format in ["json", "jsonl", "csv"] {
        assert!(!is_coloured(&["--colour", "always", "--format", format]), "{format} is data");
    }
}

#[test]
fn the_table_is_as_wide_as_the_environment_says_and_80_columns_otherwise() {
    let shop = Shop::with_two_mistakes();
    let widest = |columns: Option<&str>| {
        let mut command = shop.audit(&[]);
        if let Some(columns) = columns {
            command.env("COLUMNS", columns);
        }
        run(&mut command).stdout.lines().map(|line| line.chars().count()).max().unwrap()
    };
    assert_eq!(widest(None), 80);
    assert_eq!(widest(Some("64")), 64);
    assert_eq!(widest(Some("120")), 120);
    for nonsense in ["", "0", "wide"] {
        assert_eq!(widest(Some(nonsense)), 80, "{nonsense:?}");
    }
}

/// As `everyline audit … | head -0` does.
#[test]
fn a_reader_that_goes_away_is_no_error() {
    let shop = Shop::with_two_mistakes();
    for format in FORMATS {
        let mut child = std::process::Command::new(cargo_bin!("everyline"))
            .args(["audit", "--quiet", "--as-of", AS_OF, "--format", format, "--from"])
            .arg(shop.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(String::from_utf8(output.stderr).unwrap(), "", "{format}");
        assert_eq!(output.status.code(), Some(1), "{format}");
    }
}

/// Where `/dev/full` is there, which takes nothing.
#[test]
fn an_answer_that_cannot_be_written_is_an_error() {
    let Ok(full) = std::fs::File::options().write(true).open("/dev/full") else { return };
    let shop = Shop::with_two_mistakes();
    let output = std::process::Command::new(cargo_bin!("everyline"))
        .args(["audit", "--as-of", AS_OF, "--from"])
        .arg(shop.path())
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert_trouble(&String::from_utf8(output.stderr).unwrap(), &["could not be written"]);
}

/// A file of four terabytes that takes no room; no machine has the memory for it.
#[test]
fn a_book_larger_than_memory_is_refused_with_words() {
    let shop = Shop::with_two_mistakes();
    for plain in [false, true] {
        let table = std::fs::File::options().append(true).open(shop.path().join("order_lines.csv")).unwrap();
        table.set_len(1 << 42).unwrap();
        let mut command = everyline(&["audit", "--as-of", AS_OF, "--from"]);
        command.arg(shop.path());
        if plain {
            command.arg("--plain");
        }
        let run = run(&mut command);
        assert_eq!(run.code, 2, "{}", run.stderr);
        assert_trouble(&run.stderr, &["of memory", "are free", "audit fewer days at once"]);
    }
}

#[test]
fn the_same_book_as_csv_and_as_json_lines_gives_the_same_answer() {
    let sale = simshop::sale_day();
    let answer = |write: fn(&model::Book, &std::path::Path) -> std::io::Result<()>| {
        let folder = tempfile::tempdir().unwrap();
        write(&sale.book, folder.path()).unwrap();
        std::fs::write(folder.path().join("everyline.toml"), &sale.configuration).unwrap();
        let mut command = everyline(&["audit", "--format", "json", "--as-of", &sale.as_of.to_rfc3339()]);
        command.arg("--from").arg(folder.path());
        let run = run(command.arg("--config").arg(folder.path().join("everyline.toml")));
        assert_eq!(run.code, 1, "{}", run.stderr);
        run.stdout
    };
    assert_eq!(answer(simshop::write_csv), answer(simshop::write_jsonl));
}
