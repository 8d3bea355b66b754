//! A new listing's offer table: which rows there are, what they say, what they cost, and that they are read again as
//! what they were made of.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

#[expect(dead_code, reason = "proposals are tested with the offers of these shops, tables without")]
#[path = "../proposing/shop.rs"]
mod shop;

mod changing;
mod corpora;
mod filling;
mod kit;
mod pricing;
mod reading_again;
