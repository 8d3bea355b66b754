//! The JSON Schema of what [`crate::json()`] and [`crate::jsonl`] write.
//!
//! Must not know any values. Derived from the types that are serialised, so that it cannot fall behind them.

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde_json::Value;

use crate::json::{Audit, SaidFinding};

/// The JSON Schema (2020-12) of the object that [`crate::json()`] writes.
pub fn schema() -> Value {
    of::<Audit<'_>>()
}

/// The JSON Schema (2020-12) of one line that [`crate::jsonl`] writes.
pub fn finding_schema() -> Value {
    of::<SaidFinding<'_>>()
}

fn of<T: JsonSchema>() -> Value {
    SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<T>().to_value()
}
