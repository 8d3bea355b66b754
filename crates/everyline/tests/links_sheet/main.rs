//! `everyline links sheet`, as people and scripts run it.
//!
//! Start reading at `kit`, which has the shop; `shown` is about the page, `written` about the table and what reads it
//! again, `asked` about the options and the configuration, `refused` about what is said where there is no table.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

mod asked;
mod kit;
mod refused;
mod shown;
mod written;
