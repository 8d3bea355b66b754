//! The page that the owner works through: one local server with pages drawn on the server, and the same as JSON.
//!
//! Whoever serves it is a [`Desk`]: it hands out what is known, and does what the owner asks for. Views are made of that
//! ([`view`]), and a page and its JSON show the same view. Must not know the configuration file, how a source is asked or an
//! order judged. Start reading at `routes`, the table of all that can be asked for; a new page is a module with its routes
//! there. `guard` is what every request passes, [`Access`] who may do what.

pub mod access;
mod api;
mod app;
mod asked;
mod assets;
mod boards;
mod desk;
mod events;
mod guard;
mod metrics;
mod page;
mod problem;
mod reply;
mod route;
mod routes;
mod serve;
pub mod view;
mod visit;

pub use access::Access;
pub use api::openapi::document as openapi;
pub use app::{App, service};
pub use desk::{Accepted, Answer, Aside, Desk, Fault, Listings, Round, Shop, Sources, Trends};
pub use desk::{Begun, Confirmed, Sending, ToSend};
pub use desk::{
    Bytes, GivenFile, GivenSupplier, GivenWords, Incoming, LEAVE_OUT, Receiving, Trials, new_trial_id,
};
pub use serve::serve;
