//! An error as the owner reads it: what did not happen, why, and what to do next.
//!
//! Must not know where it is printed. Start reading at [`Trouble`].

use std::fmt;

/// Why a command did not do what it was asked to.
#[derive(Debug)]
pub struct Trouble {
    error: String,
    cause: String,
    help: Option<String>,
}

impl Trouble {
    /// What did not happen, and why.
    pub fn new(error: impl Into<String>, cause: impl fmt::Display) -> Self {
        Self { error: error.into(), cause: cause.to_string(), help: None }
    }

    /// Why it did not happen.
    pub fn cause(&self) -> &str {
        &self.cause
    }

    /// What to do next, where it is said.
    pub(crate) fn into_help(self) -> Option<String> {
        self.help
    }

    /// Adds what to do next.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// Three labelled lines; further lines of a cause or a help stand under its text.
impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let under = |text: &str| text.trim_end().replace('\n', "\n       ");
        write!(f, "error: {}\ncause: {}", under(&self.error), under(&self.cause))?;
        match &self.help {
            Some(help) => write!(f, "\nhelp:  {}", under(help)),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Trouble {}
