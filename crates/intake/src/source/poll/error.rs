//! What can go wrong with reading a source, each with what to do next.
//!
//! No error holds an address, a query or a body. Start reading at [`PollError`].

use std::fmt;

use chrono::{DateTime, Utc};
use model::SourceId;
use thiserror::Error;

use crate::bad_row::BadRow;
use crate::error::FolderError;
use crate::source::declare::NoAddress;
use crate::source::http::{LinkError, Trouble};
use crate::source::mapping::Misfit;
use crate::source::oauth::{Lost, TokenTrouble};

/// How many bad rows an error shows.
const SHOWN_ROWS: usize = 20;

/// Where it went wrong.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Place {
    /// The source, by its configured name.
    pub source: SourceId,
    /// The request, by its configured name.
    pub request: String,
    /// Of a request that is asked for each row: the row's key as a person reads it.
    pub row: Option<String>,
    /// The page, from 1.
    pub page: u64,
}

/// `source "till", request "orders", page 3`, `source "alder", request "pieces" for submission_id "7", page 1`.
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "source {:?}, request {:?}", self.source.as_str(), self.request)?;
        if let Some(row) = &self.row {
            write!(f, " for {row}")?;
        }
        write!(f, ", page {}", self.page)
    }
}

/// Why a poll stopped. What was handed out before stands; the mark is where it was then, and the next poll goes on from
/// there.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PollError {
    /// Nothing came, or nothing whole, however often it was asked. It may pass.
    #[error("{place}: {trouble}. The mark has not moved: the next poll goes on from there. {}", unreachable_help(.trouble))]
    Unreachable {
        /// Where.
        place: Place,
        /// What came instead.
        trouble: Trouble,
    },
    /// The source does not know who asks, or does not let them.
    #[error(
        "{place}: the sign-in was refused (status {status}). The mark has not moved. Check the secret under sign_in \
         of the source, that it has not run out, and that it may read this."
    )]
    SignIn {
        /// Where.
        place: Place,
        /// 401 or 403.
        status: u16,
    },
    /// The sign-in is lost, or was never there: somebody has to do something.
    #[error("{place}: {lost}. The mark has not moved. {}", .lost.help(.place.source.as_str()))]
    SignedOut {
        /// Where.
        place: Place,
        /// In which way.
        lost: Box<Lost>,
    },
    /// The access token that it takes cannot be had.
    #[error("{place}: no access token could be had: {trouble}. The mark has not moved. {}", .trouble.help())]
    NoToken {
        /// Where.
        place: Place,
        /// Why.
        trouble: Box<TokenTrouble>,
    },
    /// The source will not answer this.
    #[error(
        "{place}: the source refused the request (status {status}). The mark has not moved. Check {} with what the \
         source documents.", refused_help(*.status)
    )]
    Refused {
        /// Where.
        place: Place,
        /// The status.
        status: u16,
    },
    /// The answer is another than was declared.
    #[error("{place}: {changed}. The mark has not moved; look at it with `everyline source preview {}`.", .place.source)]
    Changed {
        /// Where.
        place: Place,
        /// In which way.
        changed: Changed,
    },
    /// Something is larger or longer than what is read.
    #[error("{place}: {limit}. The mark has not moved. {}", .limit.help())]
    Limit {
        /// Where.
        place: Place,
        /// What.
        limit: LimitMet,
    },
    /// The pages lead back to one that was read, so that reading would not end.
    #[error(
        "{place}: it is followed by a page that was read before. The mark has not moved: the next poll asks again. \
         If it stays so, check `pages` of the request with what the source documents."
    )]
    Repeats {
        /// Where.
        place: Place,
    },
    /// It leads to another origin, where nothing is asked for: a secret would go there.
    #[error(
        "{place}: it leads to {origin}, another place than the source's own, and is not followed. The mark has not \
         moved. If that is where the source is now, give that as its address."
    )]
    Elsewhere {
        /// Where.
        place: Place,
        /// Scheme, host and port.
        origin: String,
    },
    /// The address cannot be made.
    #[error("{place}: {no_address}. The mark has not moved. Check path and query of the request.")]
    NoAddress {
        /// Where.
        place: Place,
        /// Why.
        no_address: Box<NoAddress>,
    },
    /// The files of a folder cannot be read.
    #[error("source {:?}: {error} Nothing of it was kept.", .source_name.as_str())]
    Folder {
        /// The source, by its configured name.
        source_name: SourceId,
        /// Why.
        error: Box<FolderError>,
    },
    /// Rows of the files of a folder cannot be read.
    #[error("source {:?}: {}", .source_name.as_str(), bad_rows(.rows, *.count))]
    BadRows {
        /// The source, by its configured name.
        source_name: SourceId,
        /// The first of them.
        rows: Vec<BadRow>,
        /// How many there are.
        count: u64,
    },
}

/// In which way an answer is another than was declared.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Changed {
    /// A page for people.
    #[error(
        "the answer is HTML where JSON was expected (status {status}); it may be a page to sign in, or the address is wrong"
    )]
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
    /// A record, or what stands around the records.
    #[error("{}", without_stop(.0))]
    Misfit(Box<Misfit>),
    /// The header line with the next page.
    #[error("{0}")]
    Link(LinkError),
    /// The address of the next page.
    #[error("what stands where the address of the next page should be is no address")]
    NextAddress,
    /// The cursor or the address of the next page.
    #[error("what leads to its next page is longer than {limit} bytes")]
    NextTooLong {
        /// How long it may be.
        limit: usize,
    },
    /// The header line with the count.
    #[error("its header line {header} is no whole number; expected the number of all records")]
    Count {
        /// The name of the header line.
        header: String,
    },
}

/// What is larger or longer than what is read.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum LimitMet {
    /// Bytes of an answer.
    #[error("the answer is larger than {0} bytes")]
    Bytes(usize),
    /// Values of an answer.
    #[error("the answer has more than {0} values")]
    Values(usize),
    /// Pages of a pass.
    #[error("there are more than {0} pages")]
    Pages(u64),
    /// Redirections.
    #[error("it leads on more than {0} times")]
    Redirects(u32),
    /// Rows of one page for each of which is asked.
    #[error("the page has more than {0} rows for each of which another request is to be asked")]
    Rows(usize),
}

impl LimitMet {
    fn help(self) -> &'static str {
        match self {
            Self::Bytes(_) | Self::Values(_) | Self::Rows(_) => {
                "Ask for smaller pages, with size_ask and size under `pages`."
            }
            Self::Pages(_) => {
                "Ask for larger pages, with size_ask and size under `pages`, or for changes alone, with `changes`."
            }
            Self::Redirects(_) => "Give the address to which it leads in the end as that of the source.",
        }
    }
}

impl PollError {
    /// What a trouble means for a poll.
    pub(crate) fn of(place: Place, trouble: Trouble) -> Self {
        match trouble {
            Trouble::Unreachable { .. }
            | Trouble::TimedOut { .. }
            | Trouble::Cut
            | Trouble::Busy { .. }
            | Trouble::NoMore => Self::Unreachable { place, trouble },
            Trouble::NoToken { ref trouble } if trouble.may_pass() => {
                Self::Unreachable { place, trouble: Trouble::NoToken { trouble: trouble.clone() } }
            }
            Trouble::NoToken { trouble } => Self::NoToken { place, trouble },
            Trouble::SignedOut { lost } => Self::SignedOut { place, lost },
            Trouble::SignIn { status } => Self::SignIn { place, status },
            Trouble::Refused { status } => Self::Refused { place, status },
            Trouble::Elsewhere { origin } => Self::Elsewhere { place, origin },
            Trouble::Redirects { limit } => Self::Limit { place, limit: LimitMet::Redirects(limit) },
            Trouble::TooLarge { limit } => Self::Limit { place, limit: LimitMet::Bytes(limit) },
            Trouble::TooMany { limit } => Self::Limit { place, limit: LimitMet::Values(limit) },
            Trouble::Html { status } => Self::Changed { place, changed: Changed::Html { status } },
            Trouble::NotJson { status, said } => {
                Self::Changed { place, changed: Changed::NotJson { status, said } }
            }
        }
    }

    /// Where, of a source that is asked over HTTP.
    pub fn place(&self) -> Option<&Place> {
        match self {
            Self::Unreachable { place, .. }
            | Self::SignIn { place, .. }
            | Self::SignedOut { place, .. }
            | Self::NoToken { place, .. }
            | Self::Refused { place, .. }
            | Self::Changed { place, .. }
            | Self::Limit { place, .. }
            | Self::Repeats { place }
            | Self::Elsewhere { place, .. }
            | Self::NoAddress { place, .. } => Some(place),
            Self::Folder { .. } | Self::BadRows { .. } => None,
        }
    }

    /// Whether the source does not let anybody in who asks as this one does, so that nothing else need be asked for.
    pub fn is_of_sign_in(&self) -> bool {
        matches!(self, Self::SignIn { .. } | Self::SignedOut { .. } | Self::NoToken { .. })
    }

    /// Whether it may be gone at the next poll without anybody doing anything.
    pub fn may_pass(&self) -> bool {
        matches!(self, Self::Unreachable { .. } | Self::Repeats { .. })
    }

    /// Until when the source wants not to be asked again, where it says so.
    pub fn not_before(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::Unreachable { trouble, .. } => trouble.not_before(),
            _ => None,
        }
    }
}

fn unreachable_help(trouble: &Trouble) -> &'static str {
    match trouble {
        Trouble::Busy { status: 429, .. } => "If it happens often, lower at_most of the source.",
        Trouble::Busy { .. } | Trouble::Cut => "If it stays so, tell whoever runs the source.",
        Trouble::NoToken { trouble } => trouble.help(),
        _ => "If it stays so, check the address of the source, and that this machine has a way to it.",
    }
}

fn refused_help(status: u16) -> &'static str {
    match status {
        404 | 410 => "the address of the source and the path of the request",
        405 | 406 | 415 => "the path and the headers",
        304 => "whether something in between keeps answers that it should not,",
        301..=308 => "the address, which has been moved without saying where to,",
        _ => "query, pages and changes of the request",
    }
}

/// Goes on to a sentence that ends by itself.
fn without_stop(misfit: &Misfit) -> String {
    let mut text = misfit.to_string();
    if text.ends_with('.') {
        text.pop();
    }
    text
}

fn bad_rows(rows: &[BadRow], count: u64) -> String {
    let mut text = match count {
        1 => "a row of the files cannot be read, and nothing of them was kept:".to_owned(),
        _ => format!("{count} rows of the files cannot be read, and nothing of them was kept:"),
    };
    for row in rows.iter().take(SHOWN_ROWS) {
        text.push_str("\n  ");
        text.push_str(&row.to_string());
    }
    let shown = rows.len().min(SHOWN_ROWS) as u64;
    if count > shown {
        text.push_str(&format!("\n  … showing {shown} of {count}"));
    }
    text
}
