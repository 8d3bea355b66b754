//! Reads a folder of exchange files into a [`model::Book`].
//!
//! Every row that cannot be read is reported with file, line, column, what was found, what was expected and what
//! to do next; the readable rest is returned beside it, and the caller decides what to do with it. What no
//! skipping can help is a [`FolderError`]. Must not know: how orders are matched, or what a finding is.
//! Start reading at `folder`; `tables` declares the tables, `build` makes the rows.
//! Answers of storefronts and suppliers end in the same rows: [`source`]. Any other file that can be exported becomes
//! records, which a mapping may read: [`export`]. A mapping is found by [`propose`], and for addresses by [`connect`].
//! Orders in the terms of schema.org need none: [`schema_org`].

mod bad_row;
mod build;
mod cells;
pub mod connect;
mod csv;
mod error;
pub mod export;
mod files;
mod folder;
mod json;
mod json_lines;
mod keys;
mod lines;
mod link_tables;
mod mapped;
mod nearest;
mod not_judged;
mod parents;
pub mod propose;
mod row;
pub mod schema_org;
pub mod sieve;
mod skipped;
pub mod source;
mod tables;

pub use bad_row::{BadRow, KEPT_BAD_ROWS};
pub use cells::{MAX_QUANTITY, MAX_UNITS};
pub use error::FolderError;
pub use files::{Sizes, sizes};
pub use folder::{Folder, ReadSettings, read_folder, read_part};
pub use lines::{MAX_ROW_BYTES, Progress};
pub use link_tables::{AtLine, LinkTables, SaidLink, read_link_tables};
pub use mapped::{read_exports, read_exports_part, read_samples};
