//! To be written.
use crate::arguments::SourceCommand;
use crate::exit::Exit;
use crate::trouble::Trouble;

/// Runs the command.
pub fn run(_asked: &SourceCommand) -> Result<Exit, Trouble> {
    Err(Trouble::new("nothing was done", "to be written"))
}
