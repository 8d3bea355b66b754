//! `everyline demo`, `config check` and `print`, and the help.

use serde_json::Value;

use crate::shop::{Shop, everyline, run};

#[test]
fn without_a_command_the_help_is_shown_and_the_code_is_that_of_wrong_usage() {
    let run = run(&mut everyline(&[]));
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(run.stderr.contains("audit") && run.stderr.contains("everyline demo"), "{}", run.stderr);
}

#[test]
fn help_and_version_go_to_standard_output() {
    for arguments in [&["--help"][..], &["audit", "--help"], &["config", "check", "--help"], &["--version"]] {
        let run = run(&mut everyline(arguments));
        assert_eq!((run.code, run.stderr.as_str()), (0, ""), "{arguments:?}");
        assert!(run.stdout.contains("everyline"), "{arguments:?}");
    }
    let help = run(&mut everyline(&["audit", "--help"])).stdout;
    for code in ["  0  nothing was found", "  1  there are findings", "  3  rows were skipped"] {
        assert!(help.contains(code), "{help}");
    }
}

#[test]
fn unknown_options_are_refused_with_the_code_of_wrong_usage() {
    for arguments in [&["audit", "--form", "x"][..], &["audits"], &["audit", "--format", "xml"]] {
        let run = run(&mut everyline(arguments));
        assert_eq!((run.code, run.stdout.as_str()), (2, ""), "{arguments:?}");
        assert!(run.stderr.starts_with("error: "), "{}", run.stderr);
    }
}

#[test]
fn config_check_says_what_is_in_force() {
    let shop = Shop::with_two_mistakes();
    shop.put(
        "everyline.toml",
        "zone = \"Europe/Berlin\"\n\
         fees = { percent = \"6.5\", per_unit = [{ amount = \"0.25\", currency = \"EUR\" }] }\n\
         references = { samples = ['^sample'] }\n\
         [suppliers.alder-print]\n\
         cut_off = { daily = \"14:00\", holidays = [\"2026-12-25\"] }\n\
         graces = { hold_grace = \"6 h\" }\n\
         references = { prefix = \"KK-\" }\n\
         [suppliers.brook-print]\n\
         cut_off = { after_receipt = \"90 min\" }\n",
    );
    let file = shop.path().join("everyline.toml");
    let run = run(everyline(&["config", "check", "--config"]).arg(&file));
    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    for said in [
        "everyline.toml holds together",
        "time zone is Europe/Berlin",
        "12 h     for a supplier to put an order on hold",
        "6.5 % of the price and 0.25\u{a0}EUR for each unit sold",
        "exactly as the storefront does",
        "matches ^sample is a sample",
        "alder-print:\n  Can still change an order until the next 14:00 Europe/Berlin time, on mon, tue, wed, thu, \
         fri, not on 2026-12-25.\n  6 h      for a supplier to put an order on hold\n  It writes the number of an \
         order after \"KK-\".\n",
        "brook-print:\n  Can still change an order for 90 min after receipt.\n",
    ] {
        assert!(run.stdout.contains(said), "{said}\nis not said in\n{}", run.stdout);
    }
}

/// Two shops: one with a storefront and a supplier that are asked, one with a folder.
const TWO_SHOPS: &str = r#"
ledger = "kept.db"

[shops.kittiwake.sources.till]
role = "storefront"
address = "https://till.example/api"
every = "90 s"
at_most = "2 per minute"
sign_in = { header = "Authorization", before = "Bearer moss", secret = { environment = "KITTIWAKE_TILL_KEY" } }

[shops.kittiwake.sources.till.requests.orders]
path = "orders"
query = { sort = "moss" }
pages = { by = "cursor", at = "$.more", ask = "after", size_ask = "limit", size = 40 }
changes = { ask = "since", form = "epoch_seconds", overlap = "2 min" }
count = "$.in_all"
[shops.kittiwake.sources.till.requests.orders.tables.orders]
at = "$.orders[*]"
fields = { order_id = "$.number", status = "$.state", placed_at = "$.made" }
[shops.kittiwake.sources.till.requests.orders.tables.order_lines]
within = "orders"
at = "$.lines[*]"
fields = { line_id = "$.id", quantity = "$.count" }

[shops.kittiwake.sources.press]
role = "supplier"
supplier = "alder-print"
address = "https://alder-print.example/"
stale_after = "1 h"
sign_in = { user = "moss", secret = { file = "/nowhere/press-key" } }

[shops.kittiwake.sources.press.requests.jobs]
path = "jobs"
pages = { by = "link" }
[shops.kittiwake.sources.press.requests.jobs.tables.submissions]
at = "$[*]"
fields = { submission_id = "$.job", status = "$.state", received_at = "$.received" }

[shops.kittiwake.sources.press.requests.lines]
path = "jobs/{submission_id}/lines"
for_each = "submissions"
[shops.kittiwake.sources.press.requests.lines.tables.submission_lines]
at = "$.lines[*]"
fields = { line_id = "$.line", quantity = "$.count" }

[shops.second]
zone = "Europe/Dublin"
[shops.second.sources.dropped]
role = "storefront"
folder = "exports"
"#;

#[test]
fn config_check_says_where_each_shop_reads_from_and_whether_secrets_are_there_but_never_a_secret() {
    let shop = Shop::with_two_mistakes();
    shop.put("everyline.toml", TWO_SHOPS);
    let folder = shop.path().display();
    let check = |more: &[&str], key: Option<&str>| {
        let mut command = everyline(&["config", "check", "--config"]);
        command.arg(shop.path().join("everyline.toml")).args(more).env_remove("KITTIWAKE_TILL_KEY");
        command.envs(key.map(|key| ("KITTIWAKE_TILL_KEY", key)));
        let run = run(&mut command);
        assert_eq!((run.code, run.stderr.as_str()), (0, ""));
        assert!(!run.stdout.contains("moss"), "{}", run.stdout);
        run.stdout
    };
    let all = check(&[], None);
    for said in [
        format!(
            "everyline.toml holds together. The ledger is {folder}/kept.db, which is not there yet. This is in force:\n"
        ),
        "\nShop kittiwake:\n  The shop's time zone is UTC.\n".to_owned(),
        "\n  Source till, a storefront:\n    https://till.example/api/\n\
         \x20   It is asked every 90 s, no faster than 2 per minute.\n\
         \x20   It counts as up to date for 10 min after a reading.\n\
         \x20   It signs in with the header Authorization; its secret comes from the environment variable \
         KITTIWAKE_TILL_KEY, which is not set here.\n\
         \x20   Request orders brings orders and order_lines.\n\
         \x20     The text at $.more of a page leads to the next, as after=...; limit=40 says how many records a \
         page has.\n\
         \x20     After the first reading only what has changed is asked for, from 2 min before the last reading \
         on, as in since=1795509000.\n\
         \x20     What was read is compared with its own count, at $.in_all.\n"
            .to_owned(),
        "\n  Source press, of the supplier alder-print:\n    https://alder-print.example/\n\
         \x20   It is asked every 1 min, no faster than 4 per second.\n\
         \x20   It counts as up to date for 1 h after a reading.\n\
         \x20   It signs in with user and password; its secret comes from the file /nowhere/press-key, which cannot \
         be read here: "
            .to_owned(),
        "\n    Request jobs brings submissions.\n      The header Link of a page leads to the next.\n\
         \x20     Everything is read each time.\n\
         \x20   Request lines brings submission_lines; it is asked once for each of the submissions.\n\
         \x20     One answer is all, there are no further pages.\n"
            .to_owned(),
        "\nShop second:\n  The shop's time zone is Europe/Dublin.\n".to_owned(),
        format!(
            "\n  Source dropped, a storefront:\n    The folder {folder}/exports, which is not there now.\n\
             \x20   Every 1 min it is looked through for new files.\n\
             \x20   It counts as up to date for 36 h after a reading.\n"
        ),
    ] {
        assert!(all.contains(&said), "{said}\nis not said in\n{all}");
    }

    let second = check(&["--shop", "second"], None);
    assert!(second.contains("Shop second:") && !second.contains("kittiwake"), "{second}");

    let with_key = check(&[], Some("moss-and-stone"));
    assert!(with_key.contains("KITTIWAKE_TILL_KEY, which is set.\n"), "{with_key}");
    let with_lines = check(&[], Some("moss\nstone"));
    assert!(with_lines.contains("which does not hold one line of text.\n"), "{with_lines}");

    let mut unknown = everyline(&["config", "check", "--shop", "third", "--config"]);
    let unknown = run(unknown.arg(shop.path().join("everyline.toml")));
    assert_eq!((unknown.code, unknown.stdout.as_str()), (2, ""));
    assert!(unknown.stderr.contains("known are: kittiwake, second"), "{}", unknown.stderr);
}

/// A storefront whose SKUs may be changed.
const CHANGED: &str = r#"
[sources.till]
role = "storefront"
address = "https://till.example/api"

[sources.till.requests.offers]
path = "offers"
[sources.till.requests.offers.tables.offers]
at = "$.offers[*]"
fields = { listing_id = "$.page", options = { object_at = "$.choices", keep = ["Size"] }, sku = "$.sku" }

[sources.till.change_sku]
method = "PUT"
path = "offers/{record.id}/of-{option.Size / fit}"
query = { key_of_mine = "moss", old = "{old_sku}" }
body = '{ "sku": "{sku}", "page": "{listing_id}" }'
record = { id = "$.id" }
answer = [{ at = "$.offer.sku", is = "{sku}" }, { at = "$.done", is = true }]
"#;

#[test]
fn config_check_shows_how_a_sku_would_be_changed() {
    let shop = Shop::with_two_mistakes();
    let file = shop.path().join("everyline.toml");
    let check = |text: String| {
        shop.put("everyline.toml", &text);
        let run = run(everyline(&["config", "check", "--config"]).arg(&file));
        assert_eq!((run.code, run.stderr.as_str()), (0, ""));
        assert!(!run.stdout.contains("moss"), "{}", run.stdout);
        run.stdout
    };
    let said = "  `everyline links send` may change SKUs at till, with --yes alone; for an offer such as this it asks:\n\
                \x20   PUT offers/(id)/of-M%2FL?key_of_mine=...&old=OLD-SKU\n\
                \x20   with {\"sku\":\"NEW-SKU\",\"page\":\"1001\"}\n\
                \x20   The answer must say \"NEW-SKU\" at $.offer.sku and true at $.done.\n";
    let all = check(CHANGED.to_owned());
    let want = format!("{said}    Before and after, it reads all offers again.\n");
    assert!(all.contains(&want), "{want}\nis not said in\n{all}");

    let read = "read = { path = \"listings/{listing_id}\", query = { choices = \"{options}\" }, at = \"$.offers[*]\" }";
    let one = check(format!("{CHANGED}{read}\n"));
    let want = format!(
        "{said}    Before and after, it reads the offer again: listings/1001?choices=%7B%22Colour%22%3A%22Plum+red%22%2C\
         %22Size%22%3A%22M%2FL%22%7D\n"
    );
    assert!(one.contains(&want), "{want}\nis not said in\n{one}");

    let empty =
        check(CHANGED.replace(
            "[{ at = \"$.offer.sku\", is = \"{sku}\" }, { at = \"$.done\", is = true }]",
            "\"empty\"",
        ));
    assert!(empty.contains("    The answer must be empty.\n"), "{empty}");
    let without = check(CHANGED.split("[sources.till.change_sku]").next().unwrap().to_owned());
    assert!(!without.contains("links send"), "{without}");
}

#[test]
fn config_check_refuses_what_does_not_hold_together() {
    let shop = Shop::with_two_mistakes();
    shop.put("everyline.toml", "[graces]\nsubmit_gace = \"30 min\"\n");
    let file = shop.path().join("everyline.toml");
    let check = run(everyline(&["config", "check", "--config"]).arg(&file));
    assert_eq!((check.code, check.stdout.as_str()), (2, ""));
    assert!(check.stderr.contains("did you mean submit_grace?"), "{}", check.stderr);
    let audit = run(shop.audit(&["--config"]).arg(&file));
    assert_eq!((audit.code, audit.stdout, audit.stderr), (2, check.stdout, check.stderr));
}

#[test]
fn the_configuration_that_is_printed_holds_together_and_changes_nothing() {
    let printed = run(&mut everyline(&["print", "configuration"]));
    assert_eq!(printed.code, 0);
    let shop = Shop::with_two_mistakes();
    shop.put("everyline.toml", &printed.stdout);
    let with = run(everyline(&["config", "check", "--config"]).arg(shop.path().join("everyline.toml")));
    let without = run(&mut everyline(&["config", "check"]));
    let after_head = |text: &str| text.split_once('\n').unwrap().1.to_owned();
    assert_eq!(with.code, 0, "{}", with.stderr);
    assert_eq!(after_head(&with.stdout), after_head(&without.stdout));
}

#[test]
fn completions_man_pages_and_schemas_are_printed() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let run = run(&mut everyline(&["print", "completions", shell]));
        assert_eq!(run.code, 0);
        assert!(run.stdout.contains("skip-bad-rows"), "{shell}");
    }
    for (page, said) in [
        (&[][..], "everyline"),
        (&["audit"], "skip\\-bad\\-rows"),
        (&["config", "check"], "everyline config check"),
        (&["print", "man"], "man page"),
    ] {
        let run = run(everyline(&["print", "man"]).args(page));
        assert_eq!(run.code, 0, "{page:?}: {}", run.stderr);
        assert!(run.stdout.starts_with(".ie") && run.stdout.contains(".TH"), "{page:?}");
        assert!(run.stdout.contains(said), "{said} is not said in\n{}", run.stdout);
    }
    for arguments in [&["print", "schema"][..], &["print", "schema", "--jsonl"]] {
        let run = run(&mut everyline(arguments));
        let schema: Value = serde_json::from_str(&run.stdout).unwrap();
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema", "{arguments:?}");
    }
    let run = run(&mut everyline(&["print", "man", "audti"]));
    assert_eq!((run.code, run.stdout.as_str()), (2, ""));
    assert!(
        run.stderr.contains(
            "known here: audit, demo, watch, digest, findings, order, set-aside, tie, status, source, links, config, print"
        ),
        "{}",
        run.stderr
    );
}

#[test]
fn the_demo_shows_an_order_that_went_out_short_and_can_be_repeated_by_hand() {
    let home = tempfile::tempdir().unwrap();
    let demo = run(everyline(&["demo"]).env("TMPDIR", home.path()));
    assert_eq!((demo.code, demo.stderr.as_str()), (0, ""));
    let line = |start: &str| {
        let found = demo.stdout.lines().find_map(|line| line.trim_start().strip_prefix(start));
        found.unwrap_or_else(|| panic!("no line begins with {start}:\n{}", demo.stdout)).to_owned()
    };
    assert!(demo.stdout.contains("Take the order KK-"), "{}", demo.stdout);

    let mail = line("By mail, this would come under the subject ");
    assert!(mail.starts_with("\"") && mail.contains(" orders incomplete"), "{mail}");
    let page = demo.stdout.split_whitespace().find(|word| word.ends_with("digest.html")).unwrap();
    assert!(std::fs::read_to_string(page).unwrap().contains("To put right now"), "{page}");

    let first_day = demo.stdout.lines().filter(|line| line.contains("  part-sent  ")).count();
    assert!(first_day > 10, "{}", demo.stdout);
    assert!(demo.stdout.contains("and 0 others"), "{}", demo.stdout);
    // Each of the commands that it gives works on what it left.
    let again: Vec<&str> =
        demo.stdout.lines().filter(|line| line.contains("everyline.toml")).map(str::trim).collect();
    assert_eq!(again.len(), 4, "{again:?}");
    for (again, code) in again.into_iter().zip([1, 1, 0, 3]) {
        let arguments: Vec<&str> = again.split(' ').skip(1).collect();
        let run = run(&mut everyline(&arguments));
        assert_eq!(run.code, code, "{again}: {}", run.stderr);
        if arguments[0] == "audit" {
            assert!(run.stdout.contains("part-sent") && demo.stdout.contains(&run.stdout), "{again}");
        }
    }

    let folder = line("rm -r ");
    assert!(std::path::Path::new(&folder).join("everyline.db").is_file(), "{folder}");
    assert!(std::path::Path::new(&folder).starts_with(home.path()), "{folder}");
}

/// The demo needs no folder that can be written but one.
#[test]
fn a_temporary_folder_that_is_not_there_does_not_stop_the_demo() {
    let nowhere = tempfile::tempdir().unwrap().path().join("nowhere");
    let demo = run(everyline(&["demo"]).env("TMPDIR", &nowhere));
    assert_eq!(demo.code, 0, "{}", demo.stderr);
    let folder = demo.stdout.lines().find_map(|line| line.trim_start().strip_prefix("rm -r ")).unwrap();
    std::fs::remove_dir_all(folder).unwrap();
}

/// Every line of the output that the README shows stands in the demo's, in that order.
#[test]
fn the_output_in_the_readme_is_the_demos() {
    let home = tempfile::tempdir().unwrap();
    let demo = run(everyline(&["demo"]).env("TMPDIR", home.path()).env("COLUMNS", "80"));
    let readme = include_str!("../../../../README.md");
    let shown = readme.split("## What it looks like").nth(1).unwrap().split("## ").next().unwrap();
    let shown = shown.lines().filter_map(|line| line.strip_prefix("    ")).filter(|line| *line != "...");
    let mut rest = demo.stdout.lines();
    let mut count = 0;
    for line in shown {
        assert!(rest.any(|printed| printed == line), "the demo does not print, or not there: {line:?}");
        count += 1;
    }
    assert!(count > 30, "{count}");
}

/// The book of the README, typed from it: both its mistakes are found, and nothing else.
#[test]
fn the_small_book_of_the_readme_gives_what_the_readme_promises() {
    let readme = include_str!("../../../../README.md");
    let walk = readme.split("## Your own orders").nth(1).unwrap().split("2. **Audit.**").next().unwrap();
    let blocks: Vec<String> = walk
        .split("\n\n")
        .filter(|block| block.starts_with("       "))
        .map(|block| block.lines().map(|line| line.trim().to_owned() + "\n").collect())
        .collect();
    let folder = tempfile::tempdir().unwrap();
    let names = ["orders", "order_lines", "variants", "submissions", "submission_lines"];
    assert_eq!(blocks.len(), names.len());
    for (name, block) in names.iter().zip(&blocks) {
        std::fs::write(folder.path().join(format!("{name}.csv")), block).unwrap();
    }
    let from = folder.path().to_str().unwrap();
    let asked = ["audit", "--from", from, "--as-of", "2026-11-24T12:00:00Z", "--format", "jsonl", "--quiet"];
    let run = run(&mut everyline(&asked));
    assert_eq!((run.code, run.stderr.as_str()), (1, ""));
    let found: Vec<_> = run
        .stdout
        .lines()
        .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap())
        .map(|finding| {
            format!("{} {} {}", finding["check"], finding["order_id"], finding["lines"][0]["line_id"])
        })
        .collect();
    assert_eq!(found, [r#""part-sent" "1001" "2""#, r#""wrong-variant" "1002" "1""#]);
}
