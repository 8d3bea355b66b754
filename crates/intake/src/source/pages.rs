//! The pages of one request, one after the other, so that none is lost while records move from page to page.
//!
//! Must not know: marks, batches, or what becomes of the rows. Start reading at [`Walk::turn`]; `asking` fetches one
//! page, `position` says where one is.
//!
//! # Records that move
//!
//! A source that has pages by number counts from the first record on; where a record changes, or goes, those behind it
//! move to other pages while they are being read. Whether it hands out numbers or addresses cannot be told, so of
//! `number`, `link` and `url`:
//!
//! - After page k+1 was read, page k is asked again. Where its records are those it had, nothing was passed over.
//!   Otherwise what it has now is taken in turn, and reading goes on from it.
//! - Where it has none of the records it had, more than a page has moved, and reading begins at the first page again.
//!
//! Of `offset` each page is asked to begin with the last record of the one before. Where none of that page's records is
//! on it, a page's length is gone back, and again, until one is. Behind a page of one record alone it is as by `number`.
//!
//! A record only shows where reading was if it has not changed since: one that has may itself have moved, and those behind
//! which it stood may not.
//!
//! Either is bounded ([`SETTLING`], [`STEPS_BACK`], [`ALL_STEPS_BACK`], [`BEGUN_ANEW`]). Where records do not come to rest, reading goes on, and
//! the walk is [`Walk::is_restless`]: something may have been passed over. Where they moved and all was found,
//! [`Walk::has_moved`]: a record may have moved to a page that was read before. It has changed then, and is found by a
//! further pass. Of `cursor` the source itself remembers
//! where reading was.
//!
//! # Where it ends
//!
//! By `link`, `url` and `cursor` at the page without a next one. By `number` behind an empty page, or where the page is
//! not there (404); by `offset` where the last record of a page is alone on the next: a page that is not full is not taken
//! for the last one, for sources give smaller pages than they are asked for.

mod asking;
mod keys;
mod position;
mod walk;

pub(crate) use asking::{Asking, Fetched, Page};
pub(crate) use keys::are_the_same;
pub use walk::SourceCount;
pub(crate) use walk::{KeptPages, Turn, Walk, Walked};

/// How often one page is taken again because its records have moved, before reading goes on.
pub(crate) const SETTLING: u32 = 5;

/// How many pages are gone back before reading begins again.
pub(crate) const STEPS_BACK: u32 = 5;

/// How many pages are gone back within one walk: where records move as fast as they are read, it would never end.
pub(crate) const ALL_STEPS_BACK: u32 = 50;

/// How often reading begins again at the first page.
pub(crate) const BEGUN_ANEW: u32 = 2;
