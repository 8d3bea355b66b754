//! JSONPath as sources use it, against the compliance test suite of RFC 9535 (`jsonpath-compliance`).

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

use serde_json::Value;
use serde_json_path::JsonPath;

const SUITE: &str = include_str!("jsonpath-compliance/cts.json");

fn outcome(test: &Value) -> Result<(), String> {
    let selector = test["selector"].as_str().unwrap();
    let path = JsonPath::parse(selector);
    if test["invalid_selector"] == true {
        return if path.is_ok() { Err("is taken, and is no JSONPath".to_owned()) } else { Ok(()) };
    }
    let path = path.map_err(|error| format!("is refused: {error}"))?;
    let found = Value::Array(path.query(&test["document"]).all().into_iter().cloned().collect());
    let is_right = match test.get("results") {
        Some(results) => results.as_array().unwrap().contains(&found),
        None => test["result"] == found,
    };
    if is_right { Ok(()) } else { Err(format!("finds {found}")) }
}

#[test]
fn every_case_of_the_compliance_suite_is_met() {
    let suite: Value = serde_json::from_str(SUITE).unwrap();
    let tests = suite["tests"].as_array().unwrap();
    assert_eq!(tests.len(), 703);
    let failed: Vec<String> = tests
        .iter()
        .filter_map(|test| Some(format!("{} {}: {}", test["name"], test["selector"], outcome(test).err()?)))
        .collect();
    assert!(failed.is_empty(), "{} fail:\n{}", failed.len(), failed.join("\n"));
}
