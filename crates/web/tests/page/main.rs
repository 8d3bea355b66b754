//! The pages and the JSON of a desk in memory, as a browser and a program get them.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "all of this is tests")]

mod access;
mod api;
mod desk;
mod limits;
mod listings;
mod orders;
mod queue;
#[path = "../../../digest/tests/outputs/samples.rs"]
#[allow(dead_code, unused_imports, reason = "they serve several tests")]
mod samples;
mod sending;
mod sources;
mod trends;
mod trials;
