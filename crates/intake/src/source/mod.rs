//! Sources that are declared, not programmed: what to ask a storefront or a supplier for, and where in its answers
//! the fields of the tables stand.
//!
//! `declare` holds the declaration, checked into types that cannot be wrong inside; `mapping` reads rows out of an
//! answer. Both are pure. `http` asks for answers, `oauth` has the access tokens of a sign-in that needs some, `pages` follows them from page to page, and `poll` makes batches of
//! them, each with the mark up to which the source has been read. Must not know: how orders are matched, or how rows are
//! kept. Start reading at `declare`.

pub mod action;
pub mod declare;
pub mod http;
pub mod mapping;
pub mod oauth;
mod pages;
pub mod poll;
