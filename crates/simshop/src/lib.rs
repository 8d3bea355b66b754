//! The order books of 'Kittiwake Kitchen', an invented shop, in which every fault is known.
//!
//! Owns the shop: what it sells, who makes it, and days on which some of it goes wrong, with the list of
//! findings that an exact audit gives, no more and no fewer. Must not know how an audit reaches a finding: what
//! is expected here comes from the documented rules alone, so that the two check each other.
//! Start reading at [`sale_day()`]; [`plant`] says what is known of a fault, and [`live`] is the shop with its
//! suppliers as HTTP servers.

mod catalogue;
mod desk;
mod files;
pub mod live;
pub mod plant;
mod random;
mod random_book;
mod sale_day;

pub use files::{Form, Tables, write_csv, write_jsonl};
pub use plant::{
    Decoy, Plant, Planted, PlantedLine, PlantedSubmissionLine, Subject, TimeLeft, planted_table,
};
pub use random_book::{RandomOrders, catalogue_book, random_book, random_orders};
pub use sale_day::sale_day;
