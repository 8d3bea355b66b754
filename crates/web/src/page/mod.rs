//! The pages, drawn on the server.
//!
//! Each module is a page with its routes. Must not know where a view comes from. Start reading at [`frame`], which is around
//! all of them.

pub mod asides;
pub mod frame;
pub mod listing;
pub mod listings;
pub mod order;
pub mod parts;
pub mod plot;
pub mod problem;
pub mod queue;
pub mod sending;
pub mod sign_in;
pub mod sources;
pub mod trends;
pub mod trial;
