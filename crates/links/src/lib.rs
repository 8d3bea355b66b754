//! Reads what option text says: product type, age group, size and colour, in any order, case and spelling.
//!
//! Pure. Owns the vocabulary and how text is read with it. Must not know what a reading is compared with, or what
//! follows from it. What could not be read is left over rather than guessed: a false contradiction is a needless
//! finding, and a false agreement hides a missing item. Start reading at [`read_options`].

mod close;
mod measure;
mod propose;
mod read;
mod spans;
mod text;
mod vocabulary;

pub use propose::{Answer, ByHand, Good, Proposal, Rule, Tables, Why, propose};
pub use read::{read_book, read_options, read_variant};
pub use vocabulary::Vocabulary;
