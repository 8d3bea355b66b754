//! Reading declared sources over HTTP and from folders, against servers on loopback that do everything that servers do.
//!
//! Start reading at `common`: a source, its server, and a ledger that keeps what is handed to it.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it says")]

mod changing;
mod checking;
mod common;
mod dropped;
mod http;
mod oauth;
mod paging;
mod passes;
mod rows;
mod saying;
