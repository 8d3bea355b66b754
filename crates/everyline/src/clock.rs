//! The only place that reads the machine's clock. Everything else is told the moment.

use chrono::{DateTime, SubsecRound, Utc};

/// Now, by the machine's clock, in whole seconds.
#[expect(clippy::disallowed_methods, reason = "this is the place that the others are told to take it from")]
pub fn now() -> DateTime<Utc> {
    Utc::now().trunc_subsecs(0)
}

/// Now, by the machine's clock, as exactly as it has it.
#[expect(clippy::disallowed_methods, reason = "this is the place that the others are told to take it from")]
pub fn now_exactly() -> DateTime<Utc> {
    Utc::now()
}
