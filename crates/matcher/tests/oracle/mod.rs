//! A second reading of the rules: links, references, the four ways, counting and every check of an audit of
//! files, re-stated as plainly and slowly as they can be, to be compared with the crate's answer.
//!
//! Must not know how the crate reaches its answer: nothing here calls it but [`compared`]. The matching tries
//! every assignment, so books must be tiny. Start reading at [`judging::judge`]; the notation in which tiny
//! books are written is in [`notation`].

pub mod case;
pub mod compared;
pub mod counting;
pub mod judging;
pub mod linking;
pub mod matching;
pub mod notation;
pub mod offering;
pub mod reduced;
pub mod sending;
pub mod world;
