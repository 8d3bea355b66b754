//! To be written.
use crate::arguments::OrderArguments;
use crate::exit::Exit;
use crate::trouble::Trouble;

/// Runs the command.
pub fn run(_asked: &OrderArguments) -> Result<Exit, Trouble> {
    Err(Trouble::new("nothing was done", "to be written"))
}
