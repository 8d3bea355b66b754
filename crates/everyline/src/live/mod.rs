//! The live side: sources are asked, what they bring goes into the ledger, and what the ledger holds is judged.
//!
//! `asker` asks one source, `standing` says how far each has been read, `judge` turns the ledger of a shop into an
//! answer, `near` looks single orders up as the last answer saw them, `closing` says what is over for good, and `rounds` does
//! all of it, over and over. Must not know the command line, or how anything is shown. Start reading at [`rounds`].

pub mod asker;
pub mod closing;
pub mod judge;
pub mod near;
pub mod rounds;
pub mod standing;
pub mod world;
