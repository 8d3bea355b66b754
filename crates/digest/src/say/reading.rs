//! What is said of sources that cannot be read as they should.
//!
//! Must not know how the words are laid out.

use model::finding::SourceEvidence;
use model::{Check, Finding};

use super::{Account, Teller};

/// `source-stale`, `source-gap` and `source-changed`.
pub fn source(finding: &Finding, source: &SourceEvidence, teller: &Teller) -> Account {
    let since = teller.at(source.since);
    let known = match source.read_up_to {
        Some(moment) => format!("what it did after {} is not known", teller.at(moment)),
        None => "it was never read to the end".to_owned(),
    };
    let (what, todo) = match finding.check {
        Check::SourceGap => {
            let counts = match (source.counted_there, source.counted_here) {
                (Some(there), Some(here)) => format!("it counts {there} records, and {here} were read"),
                _ => source.trouble.clone(),
            };
            (
                format!("{counts}, since {since}"),
                "compare a day there with everyline, and ask whoever runs it",
            )
        }
        Check::SourceChanged => (
            format!("since {since} its answers are not what was declared: {}; {known}", source.trouble),
            "look at them with `everyline source check`, and change what is declared",
        ),
        _ => (
            format!("it has not been read since {since}: {}; {known}", source.trouble),
            "find out why with `everyline source check`",
        ),
    };
    Account::new(format!("source {}, {}", source.source, source.request), what, todo)
}
