//! What the crate writes, checked from outside, over invented findings of every check.
//!
//! Start reading at [`samples`].

#![allow(clippy::unwrap_used, reason = "all of this is tests, their helpers too")]

mod csv;
mod json;
mod samples;
mod say;
mod table;

use chrono_tz::Tz;

/// The shop's zone in all these tests.
const ZONE: Tz = Tz::Europe__Berlin;

/// Words of the code that no owner should have to learn.
const NOT_EVERYDAY: [&str; 9] =
    ["as-of", "as of", "ledger", "demand", "covered", "submission", "own stock", "in_force", "variant_id"];

/// Whether the text is free of words that an owner does not use; the checks' own words do not count.
fn is_everyday(text: &str) -> bool {
    let mut text = text.to_lowercase();
    for check in model::Check::ALL {
        text = text.replace(check.word(), "");
    }
    NOT_EVERYDAY.iter().all(|word| !text.contains(word))
}
