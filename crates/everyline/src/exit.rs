//! The codes with which the program ends: a contract with scripts.

use std::process::ExitCode;

/// How a run ended. The larger code stands where two could.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Exit {
    /// 0: done, and nothing was found.
    Nothing = 0,
    /// 1: done, and there are findings.
    Findings = 1,
    /// 2: bad input or usage; there is no verdict.
    BadInput = 2,
    /// 3: rows were skipped, so that the verdict is not complete, whatever was found.
    Incomplete = 3,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}
