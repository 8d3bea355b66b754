//! A new listing's offer table: what its rows cost.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

mod kit;
mod pricing;
