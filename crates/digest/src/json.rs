//! The JSON of an audit: one object, or one finding a line.
//!
//! Must not know who reads it. The shapes are documented in the schema and do not change with the wording.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::outcome::{Notice, Totals};
use model::{Finding, OrderId, Outcome};
use schemars::JsonSchema;
use serde::Serialize;

use crate::say::say;

/// What an audit found.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Audit")]
pub struct Audit<'a> {
    /// The moment for which it holds.
    as_of: DateTime<Utc>,
    /// What was counted.
    totals: &'a Totals,
    /// By order (those without an order last), then by check.
    findings: Vec<SaidFinding<'a>>,
    /// What the reader should know to judge the answer.
    notices: &'a [Notice],
    /// Rows of the input that could not be read and were left out. More than none: the audit is not complete.
    rows_skipped: u64,
    /// Orders about which nothing is said, since a row of theirs was left out. Any: the audit is not complete.
    orders_not_judged: &'a [OrderId],
}

/// A finding, and what is said of it.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Finding")]
pub struct SaidFinding<'a> {
    #[serde(flatten)]
    finding: &'a Finding,
    /// One sentence: what is wrong, what to do; times in the shop's zone. For people, and free to change.
    say: String,
}

impl<'a> SaidFinding<'a> {
    fn new(finding: &'a Finding, zone: Tz) -> Self {
        Self { finding, say: say(finding, zone) }
    }
}

/// One object with the findings and what they rest on, indented, ending in a line feed. Times are RFC 3339, UTC.
///
/// Validates against [`crate::schema()`]. `zone` is the shop's; the sentences tell times in it.
pub fn json(outcome: &Outcome, zone: Tz) -> String {
    let audit = Audit {
        as_of: outcome.as_of,
        totals: &outcome.totals,
        findings: outcome.findings.iter().map(|finding| SaidFinding::new(finding, zone)).collect(),
        notices: &outcome.notices,
        rows_skipped: outcome.rows_skipped,
        orders_not_judged: &outcome.not_judged,
    };
    let mut text = serde_json::to_string_pretty(&audit).expect(ALWAYS_SERIALISES);
    text.push('\n');
    text
}

/// One finding a line, without line feeds. Each validates against
/// [`crate::finding_schema`].
///
/// What else an outcome holds (totals, notices, rows skipped) has no place here; whoever prints the lines says it
/// elsewhere.
pub fn jsonl(findings: &[Finding], zone: Tz) -> impl Iterator<Item = String> {
    findings.iter().map(move |finding| line(&SaidFinding::new(finding, zone)))
}

/// A finding with what is said of it, as a part of something larger.
pub(crate) fn value(finding: &Finding, zone: Tz) -> serde_json::Value {
    serde_json::to_value(SaidFinding::new(finding, zone)).expect(ALWAYS_SERIALISES)
}

fn line(finding: &SaidFinding<'_>) -> String {
    let mut text = Vec::with_capacity(BYTES_OF_A_LINE);
    serde_json::to_writer(&mut text, finding).expect(ALWAYS_SERIALISES);
    String::from_utf8(text).expect("JSON is UTF-8")
}

/// Nearly every finding has room in so many bytes.
const BYTES_OF_A_LINE: usize = 2048;

const ALWAYS_SERIALISES: &str =
    "findings hold texts, numbers, lists and maps by text, which always serialise";
