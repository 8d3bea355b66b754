//! To be written.
use crate::arguments::StatusArguments;
use crate::exit::Exit;
use crate::trouble::Trouble;

/// Runs the command.
pub fn run(_asked: &StatusArguments) -> Result<Exit, Trouble> {
    Err(Trouble::new("nothing was done", "to be written"))
}
