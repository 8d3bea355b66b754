//! Reads what option text says: product type, age group, size and colour, in any order, case and spelling; and
//! proposes which variant each offer leads to.
//!
//! Pure. Owns the vocabulary and how text is read with it. A reading does not know what it is compared with, or what
//! follows from it. What could not be read is left over rather than guessed: a false contradiction is a needless
//! finding, and a false agreement hides a missing item. Start reading at [`read_options`], of proposals at [`propose()`].

mod close;
mod grid;
mod measure;
mod propose;
mod read;
pub mod sheet;
mod spans;
mod text;
mod vocabulary;

pub use grid::{Grid, grids};
pub use propose::{Answer, ByHand, Proposal, Tables, Why, hold, propose};
pub use read::{read_book, read_options, read_variant};
pub use vocabulary::{OwnWords, OwnWordsError, Vocabulary};
