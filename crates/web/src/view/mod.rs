//! What the pages show, as plain values in the words of the trade. A page and its JSON are made of the same view.
//!
//! Must not know HTML, or where anything comes from. Start reading at [`Queue`] and [`Order`].

mod board;
mod listings;
mod narrowing;
mod order;
mod queue;
mod sending;
mod sources;
mod standing;
mod trends;
mod trial;
mod words;

pub use board::{Board, OwnAsides};
pub use listings::*;
pub use narrowing::{Age, Choice, Filter, QueueAsked};
pub use order::*;
pub use queue::{AsideTask, Asides, Concerned, PER_PAGE, Queue, Task, Urgency, asides, queue};
pub use sending::*;
pub use sources::*;
pub use standing::{SourceStanding, Standing, standing};
pub use trends::*;
pub use trial::*;
pub use words::{Moment, Words, check_name};
