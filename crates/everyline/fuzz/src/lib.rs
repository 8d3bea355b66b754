//! What the fuzz targets share: a folder of tables in one input, how such an input is changed, and where it is written.
//!
//! Must not know what a target asserts. Start reading at [`Given`]; the targets are in `fuzz_targets`, and
//! `cargo xtask fuzz` runs them.

mod given;
mod mutate;
mod reading;
mod scratch;

pub use given::{Given, TABLES};
pub use mutate::mutate;
pub use reading::{Table, read, reads_back};
pub use scratch::Scratch;
