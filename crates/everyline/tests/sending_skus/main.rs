//! `everyline links send`: as a table for the storefront's own bulk edit, and over HTTP at a storefront that is changed.
//!
//! Start reading at the names of the tests in `table` and `over_http`; `shop` runs the program.

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

mod over_http;
mod over_page;
mod shop;
mod table;
