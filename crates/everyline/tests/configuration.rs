//! The configuration file, from outside: what it means, and what is said of a bad one.
//!
//! `bad_configurations/` holds one file for each rule; its first lines say what the error must say.

use std::path::Path;

use chrono::{NaiveTime, TimeDelta, Weekday};
use chrono_tz::Tz;
use everyline::configuration::{EXAMPLE, Settings};
use forecast::{Calendar, CutOff};
use model::rules::Graces;
use model::{Rules, SupplierId};

fn shown(settings: &Settings) -> String {
    format!("{settings:?}")
}

#[test]
fn every_bad_configuration_says_where_it_is_wrong_what_was_expected_and_what_to_do() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_configurations");
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        let text = std::fs::read_to_string(&path).unwrap();
        let error = Settings::parse(&text, name).unwrap_err().to_string();
        let said: Vec<&str> = error.lines().collect();
        assert_eq!(said[0], format!("error: the configuration file {name} cannot be used"));
        for label in ["cause: ", "help: "] {
            let expected =
                text.lines().find_map(|line| line.strip_prefix("# ")?.strip_prefix(label)).unwrap();
            let label = label.trim_end();
            let block = error.split_once(&format!("\n{label}")).unwrap().1;
            let block = block.split_once("\nhelp:").map_or(block, |(block, _)| block);
            assert!(block.contains(expected), "{name}: {label} {expected}\nis not said in\n{error}");
        }
        files += 1;
    }
    assert!(files > 25, "only {files} files were read");
}

#[test]
fn the_example_states_the_defaults() {
    let example = Settings::parse(EXAMPLE, "example").unwrap();
    assert_eq!(shown(&example), shown(&Settings::default()));
    assert_eq!(shown(&Settings::parse("", "empty").unwrap()), shown(&Settings::default()));
}

#[test]
fn the_defaults_are_those_of_the_model() {
    let Settings { zone, rules, cut_offs, suppliers, sources } = Settings::default();
    assert_eq!(zone, Tz::UTC);
    assert_eq!(format!("{rules:?}"), format!("{:?}", Rules::default()));
    assert!(cut_offs.is_empty() && suppliers.is_empty() && sources.is_empty());
}

/// The example with its examples put in: `#key` becomes `key`, and a default that an example repeats goes.
fn example_with_everything() -> String {
    let examples: Vec<&str> = EXAMPLE
        .lines()
        .filter_map(|line| line.strip_prefix('#'))
        .filter(|rest| !rest.is_empty() && !rest.starts_with(' '))
        .collect();
    let repeated = |line: &str| {
        line.split_once(" = ")
            .is_some_and(|(key, _)| examples.iter().any(|example| example.starts_with(&format!("{key} = "))))
    };
    EXAMPLE
        .lines()
        .filter(|line| !(line.starts_with(|c: char| c.is_ascii_lowercase()) && repeated(line)))
        .map(|line| match line.strip_prefix('#') {
            Some(rest) if !rest.is_empty() && !rest.starts_with(' ') => rest,
            _ => line,
        })
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn the_examples_of_the_example_hold_together_and_use_every_key() {
    let text = example_with_everything();
    let settings = Settings::parse(&text, "example").unwrap_or_else(|error| panic!("{error}\n{text}"));
    for key in [
        "zone",
        "percent",
        "per_unit",
        "amount",
        "currency",
        "prefix",
        "suffix",
        "pattern",
        "samples",
        "graces",
        "references",
        "cut_off",
        "after_receipt",
        "daily",
        "working_days",
        "holidays",
        "submit_grace",
        "stray_grace",
        "hold_grace",
        "start_grace",
        "parcel_gap",
        "mark_grace",
    ] {
        assert!(text.contains(&format!("{key} = ")) || text.contains(&format!("[{key}]")), "{key}");
    }
    let (alder, brook) = (SupplierId::new("alder-print"), SupplierId::new("brook-print"));
    assert_eq!(settings.cut_offs[&alder], CutOff::AfterReceipt(TimeDelta::hours(2)));
    let holidays = ["2026-12-25", "2027-01-01"].map(|day| day.parse().unwrap());
    assert_eq!(
        settings.cut_offs[&brook],
        CutOff::Daily {
            at: NaiveTime::from_hms_opt(14, 0, 0).unwrap(),
            zone: Tz::UTC,
            calendar: Calendar::new(Calendar::default().working_days(), holidays),
        }
    );
    assert_eq!(settings.rules.graces_of(&alder).start, TimeDelta::hours(72));
    assert_eq!(settings.rules.references_of(&alder).order_id("KK-order 1001"), "1001");
    assert!(settings.rules.is_sample("sample for the window"));
    assert_eq!(settings.rules.fees.per_unit[1].to_string(), "0.30\u{a0}USD");
}

#[test]
fn a_supplier_has_what_is_set_for_it_and_the_rest_from_the_general_keys() {
    let settings = Settings::parse(
        r#"
        zone = "Europe/Berlin"
        graces = { hold_grace = "6 h", start_grace = "24 h" }
        references = { prefix = "KK-", pattern = '^(\d+)/' }
        [suppliers.alder-print]
        graces = { start_grace = "3 days" }
        references = { pattern = "" }
        [suppliers."brook print"]
        zone = "America/New_York"
        cut_off = { daily = "14:00", working_days = ["sat", "mon"], holidays = [2026-12-25] }
        [suppliers.cairn-print]
        cut_off = { daily = "09:30" }
        "#,
        "shop.toml",
    )
    .unwrap();
    let (alder, brook, cairn) = ("alder-print".into(), "brook print".into(), "cairn-print".into());
    let general = Graces { hold: TimeDelta::hours(6), start: TimeDelta::hours(24), ..Graces::default() };
    assert_eq!(settings.rules.graces, general);
    assert_eq!(*settings.rules.graces_of(&alder), Graces { start: TimeDelta::days(3), ..general });
    assert_eq!(*settings.rules.graces_of(&brook), general);
    assert_eq!(settings.rules.references_of(&alder).order_id("KK-1001/2"), "1001/2");
    assert_eq!(settings.rules.references_of(&brook).order_id("KK-1001/2"), "1001");
    let christmas = ["2026-12-25".parse().unwrap()];
    assert_eq!(
        settings.cut_offs[&brook],
        CutOff::Daily {
            at: NaiveTime::from_hms_opt(14, 0, 0).unwrap(),
            zone: Tz::America__New_York,
            calendar: Calendar::new([Weekday::Mon, Weekday::Sat], christmas),
        }
    );
    assert_eq!(
        settings.cut_offs[&cairn],
        CutOff::Daily {
            at: NaiveTime::from_hms_opt(9, 30, 0).unwrap(),
            zone: Tz::Europe__Berlin,
            calendar: Calendar::default(),
        }
    );
    assert_eq!(settings.suppliers, [alder, brook, cairn].into());
}
