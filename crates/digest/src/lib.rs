//! Composes an audit's answer into what people and programs read: a sentence per finding, a table for a
//! terminal, JSON, JSON Lines, CSV, and the schema of the JSON. Delivers what was composed.
//!
//! Must not know: how a finding is reached, what time it is. Nothing but [`deliver`] reads or writes anything, and nothing
//! composes by it; texts come back as values. Start reading at [`say()`], then [`table()`].

mod causes;
mod clean;
pub mod compose;
mod csv;
pub mod deliver;
mod json;
mod moment;
mod page;
mod say;
mod schema;
mod table;
mod things;
mod to_order;
mod urgency;
mod why;
mod words;

pub use crate::clean::{END_OF_ISOLATE, ISOLATE, clean, cut, isolated, sentence, width as text_width};
pub use crate::csv::{COLUMNS, csv, harmless};
pub use crate::json::{json, jsonl};
pub use crate::moment::{Clock, span, time_left};
pub use crate::say::say;
pub use crate::schema::{finding_schema, schema};
pub use crate::table::{NARROWEST, ROWS_PER_GROUP, View, table};
pub use crate::things::{Grouped, Thing, ThingOrder, grouped, things};
pub use crate::urgency::{Urgency, cannot_wait, cut_off_of, standing_at};
pub use crate::words::{and, count, sums};
