//! The program from outside: what it writes where, and with which code it ends.
//!
//! `shop` has a small book and the means to run the program. Start reading at `audit`.

#![expect(clippy::unwrap_used, reason = "helpers of tests are tests too")]

mod audit;
mod others;
mod shop;
