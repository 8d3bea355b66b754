//! Why there is no answer.
//!
//! Start reading at [`Trouble`].

use std::time::Duration;

use chrono::{DateTime, SecondsFormat, Utc};
use thiserror::Error;

use crate::source::oauth::{Lost, TokenTrouble};

/// Why an address gave no answer that can be read. Each is a clause that goes on from where it happened.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Trouble {
    /// There is no connection, or it ended before an answer began.
    #[error("there was no answer ({said})")]
    Unreachable {
        /// What the system says.
        said: String,
    },
    /// The answer took too long.
    #[error("there was no whole answer within {} seconds", .within.as_secs_f32())]
    TimedOut {
        /// How long was waited.
        within: Duration,
    },
    /// The answer ended before its end, by its length or as JSON.
    #[error("the answer was cut off")]
    Cut,
    /// The source cannot answer now.
    #[error("the source cannot answer now (status {status}){}", until(*.not_before))]
    Busy {
        /// 408, 429, or 500 and above.
        status: u16,
        /// Until when it wants not to be asked; no more than a day ahead.
        not_before: Option<DateTime<Utc>>,
    },
    /// It does not know who asks, or does not let them.
    #[error("the sign-in was refused (status {status})")]
    SignIn {
        /// 401 or 403.
        status: u16,
    },
    /// The sign-in is lost, or was never there: somebody has to do something.
    #[error("{lost}")]
    SignedOut {
        /// In which way.
        lost: Box<Lost>,
    },
    /// The access token that it takes could not be had.
    #[error("no access token could be had: {trouble}")]
    NoToken {
        /// Why.
        trouble: Box<TokenTrouble>,
    },
    /// It will not answer this.
    #[error("the source refused the request (status {status})")]
    Refused {
        /// Any other than those above.
        status: u16,
    },
    /// It leads to another origin.
    #[error("it leads to {origin}, another place than the source's own, and is not followed")]
    Elsewhere {
        /// Scheme, host and port.
        origin: String,
    },
    /// It leads on and on.
    #[error("it leads on more than {limit} times")]
    Redirects {
        /// How often was followed.
        limit: u32,
    },
    /// The answer is too large.
    #[error("the answer is larger than {limit} bytes")]
    TooLarge {
        /// How many bytes are read.
        limit: usize,
    },
    /// The answer has too many values.
    #[error("the answer has more than {limit} values")]
    TooMany {
        /// How many are read.
        limit: usize,
    },
    /// It was not asked: as many requests were made as may be.
    #[error("it was not asked, for as many requests were made as may be")]
    NoMore,
    /// A page for people.
    #[error("the answer is HTML where JSON was expected (status {status})")]
    Html {
        /// The status.
        status: u16,
    },
    /// No JSON.
    #[error("the answer is no JSON ({said}, status {status})")]
    NotJson {
        /// The status.
        status: u16,
        /// Where reading stopped.
        said: String,
    },
}

impl Trouble {
    /// Whether it may be gone a moment later.
    pub fn may_pass(&self) -> bool {
        match self {
            Self::Unreachable { .. } | Self::TimedOut { .. } | Self::Cut | Self::Busy { .. } => true,
            Self::NoToken { trouble } => trouble.may_pass(),
            _ => false,
        }
    }

    /// Until when whoever answered wants not to be asked, where it says so.
    pub fn not_before(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::Busy { not_before, .. } => *not_before,
            Self::NoToken { trouble } => match &**trouble {
                TokenTrouble::Asking(trouble) => trouble.not_before(),
                _ => None,
            },
            _ => None,
        }
    }
}

fn until(not_before: Option<DateTime<Utc>>) -> String {
    not_before.map_or_else(String::new, |at| {
        format!(", and wants not to be asked before {}", at.to_rfc3339_opts(SecondsFormat::Secs, true))
    })
}
