//! The JSON: its shape is the documented one, and it validates against the schema.

use crate::ZONE;
use crate::samples::{busy_day, many, outcome};
use digest::{finding_schema, json, jsonl, say, schema};
use serde_json::Value;

const FINDING_KEYS: [&str; 12] = [
    "check",
    "id",
    "order_id",
    "supplier",
    "submission_id",
    "lines",
    "act_before",
    "cutoff_passed",
    "first_seen",
    "value_at_risk",
    "evidence",
    "say",
];

fn read(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn the_object_and_every_line_validate_against_their_schemas() {
    let all = outcome(many().into_iter().map(|(_, finding)| finding).collect());
    let audit = jsonschema::validator_for(&schema()).unwrap();
    let finding = jsonschema::validator_for(&finding_schema()).unwrap();
    for outcome in [outcome(Vec::new()), busy_day(), all] {
        if let Err(error) = audit.validate(&read(&json(&outcome, ZONE))) {
            panic!("{error} at {}", error.instance_path());
        }
        for line in jsonl(&outcome.findings, ZONE) {
            if let Err(error) = finding.validate(&read(&line)) {
                panic!("{error} at {}: {line}", error.instance_path());
            }
        }
    }
}

#[test]
fn the_schemas_refuse_what_has_not_the_documented_shape() {
    let audit = jsonschema::validator_for(&schema()).unwrap();
    let finding = jsonschema::validator_for(&finding_schema()).unwrap();
    let whole = read(&json(&busy_day(), ZONE));
    for key in ["as_of", "totals", "findings", "notices", "rows_skipped", "orders_not_judged"] {
        let mut broken = whole.clone();
        broken.as_object_mut().unwrap().remove(key);
        assert!(!audit.is_valid(&broken), "without {key}");
    }
    for key in FINDING_KEYS {
        let mut broken = whole["findings"][0].clone();
        broken.as_object_mut().unwrap().remove(key);
        assert!(!finding.is_valid(&broken), "without {key}");
    }
    let mut broken = whole["findings"][0].clone();
    broken["check"] = "part_sent".into();
    assert!(!finding.is_valid(&broken), "an unknown check");
}

#[test]
fn the_schemas_are_themselves_valid_and_say_what_each_field_is() {
    for schema in [schema(), finding_schema()] {
        assert!(jsonschema::meta::is_valid(&schema));
        for (name, property) in schema["properties"].as_object().unwrap() {
            let documented = property.get("description").is_some() || property.get("$ref").is_some();
            assert!(documented, "{name} has no description");
        }
    }
}

#[test]
fn keys_come_in_the_documented_order_and_times_are_utc() {
    let line = jsonl(&[many().swap_remove(0).1], ZONE).next().unwrap();
    let keys: Vec<String> = read(&line).as_object().unwrap().keys().cloned().collect();
    assert_eq!(keys, FINDING_KEYS);
    assert!(line.contains(r#""act_before":"2026-11-25T14:00:00Z""#), "{line}");
    assert!(line.contains(r#""value_at_risk":{"amount":"24.00","currency":"EUR"}"#), "{line}");

    let (_, over_sent) = many().into_iter().find(|(name, _)| *name == "surplus").unwrap();
    let line = jsonl(&[over_sent], ZONE).next().unwrap();
    let keys: Vec<String> = read(&line).as_object().unwrap().keys().cloned().collect();
    let mut want = FINDING_KEYS.to_vec();
    want.insert(6, "submission_lines");
    assert_eq!(keys, want);

    let whole = read(&json(&busy_day(), ZONE));
    assert_eq!(whole["as_of"], "2026-11-25T11:50:00Z");
    let keys: Vec<&String> = whole.as_object().unwrap().keys().collect();
    assert_eq!(keys, ["as_of", "totals", "findings", "notices", "rows_skipped", "orders_not_judged"]);
}

#[test]
fn a_line_is_the_finding_of_the_object_with_its_sentence() {
    let day = busy_day();
    let whole = read(&json(&day, ZONE));
    let lines: Vec<String> = jsonl(&day.findings, ZONE).collect();
    assert_eq!(lines.len(), day.findings.len());
    for ((line, finding), in_whole) in
        lines.iter().zip(&day.findings).zip(whole["findings"].as_array().unwrap())
    {
        assert!(!line.contains('\n'));
        assert_eq!(&read(line), in_whole);
        assert_eq!(read(line)["say"], say(finding, ZONE));
    }
}

#[test]
fn what_was_not_judged_is_in_the_object() {
    let mut outcome = outcome(Vec::new());
    outcome.rows_skipped = 3;
    outcome.not_judged = vec!["KK-1".into(), "KK-2".into()];
    let whole = read(&json(&outcome, ZONE));
    assert_eq!(whole["rows_skipped"], 3);
    assert_eq!(whole["orders_not_judged"], serde_json::json!(["KK-1", "KK-2"]));
}
