//! Why nothing could be read or changed, and what to do.
//!
//! No error holds an address, a body or a secret. Start reading at [`ActionTrouble`].

use chrono::{DateTime, Utc};
use thiserror::Error;

use crate::source::declare::NoValue;
use crate::source::http::Trouble;
use crate::source::poll::{Changed, LimitMet, PollError};

/// Why an offer could not be read, or its change not be asked: nothing was changed. A clause each.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[non_exhaustive]
pub enum ActionTrouble {
    /// Nothing came, or nothing whole; the source does not want to be asked now; or nobody is signed in.
    #[error("{trouble}")]
    NotAsked {
        /// What came instead.
        trouble: Trouble,
    },
    /// What was read is another than was declared.
    #[error("{changed}")]
    Changed {
        /// In which way.
        changed: Changed,
    },
    /// Something is larger or longer than what is read.
    #[error("{limit}")]
    Limit {
        /// What.
        limit: LimitMet,
    },
    /// The offers moved from page to page while they were read, or fewer came than the source says there are.
    #[error(
        "not all offers came: they kept moving from page to page, or fewer came than the source says there are"
    )]
    NotAll,
    /// A value is not known, or cannot be sent as it is.
    #[error("{no_value}")]
    NoValue {
        /// Which.
        no_value: NoValue,
    },
    /// What is declared names the listing alone, and the offer is one of several of it.
    #[error("what is declared says the listing alone, and the offer is one of several of it")]
    WholeListing,
}

impl ActionTrouble {
    /// Whether it may be gone a moment later.
    pub fn may_pass(&self) -> bool {
        match self {
            Self::NotAsked { trouble } => trouble.may_pass(),
            Self::NotAll => true,
            Self::Changed { .. } | Self::Limit { .. } | Self::NoValue { .. } | Self::WholeListing => false,
        }
    }

    /// Until when the source wants not to be asked, where it says so.
    pub fn not_before(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::NotAsked { trouble } => trouble.not_before(),
            _ => None,
        }
    }

    /// Whether it is of this offer alone, so that others may still be read or changed.
    pub fn is_of_offer(&self) -> bool {
        matches!(self, Self::NoValue { .. } | Self::WholeListing)
    }

    /// What to do, a sentence; `source` is the name of the source.
    pub fn help(&self, source: &str) -> String {
        match self {
            Self::NotAsked { trouble } => asked_help(trouble, source),
            Self::Changed { .. } => format!(
                "Compare read and the mapping of offers with what the storefront documents; `everyline source preview {source}` \
                 shows how its offers are read."
            ),
            Self::Limit { .. } => format!(
                "Declare under sources.{source}.change_sku how one offer is read, with read, or ask for pages of another size."
            ),
            Self::NotAll => format!(
                "Try again when nobody changes offers there, or declare under sources.{source}.change_sku how one offer is \
                 read, with read."
            ),
            Self::NoValue { .. } => {
                format!("Change this offer by hand, or correct sources.{source}.change_sku.")
            }
            Self::WholeListing => format!(
                "Say under sources.{source}.change_sku which offer is meant, with {{options}}, {{option.NAME}} or \
                 {{record.NAME}}."
            ),
        }
    }
}

fn asked_help(trouble: &Trouble, source: &str) -> String {
    match trouble {
        Trouble::SignedOut { lost } => lost.help(source),
        Trouble::NoToken { trouble } => trouble.help().to_owned(),
        Trouble::SignIn { .. } => {
            "Check the secret under sign_in of the source, that it has not run out, and that it may read and change offers."
                .to_owned()
        }
        Trouble::Busy { status: 429, .. } => "If it happens often, lower at_most of the source.".to_owned(),
        Trouble::Busy { .. } | Trouble::Cut => {
            "Try again later; if it stays so, tell whoever runs the storefront.".to_owned()
        }
        Trouble::Refused { .. } => {
            format!("Check sources.{source}.change_sku with what the storefront documents.")
        }
        _ => "Check the address of the source, and that this machine has a way to it; then try again.".to_owned(),
    }
}

impl From<Trouble> for ActionTrouble {
    fn from(trouble: Trouble) -> Self {
        Self::NotAsked { trouble }
    }
}

impl From<NoValue> for ActionTrouble {
    fn from(no_value: NoValue) -> Self {
        Self::NoValue { no_value }
    }
}

/// What stopped a reading, without what a poll says of marks.
impl From<PollError> for ActionTrouble {
    fn from(error: PollError) -> Self {
        match error {
            PollError::Unreachable { trouble, .. } => trouble.into(),
            PollError::SignIn { status, .. } => Trouble::SignIn { status }.into(),
            PollError::SignedOut { lost, .. } => Trouble::SignedOut { lost }.into(),
            PollError::NoToken { trouble, .. } => Trouble::NoToken { trouble }.into(),
            PollError::Refused { status, .. } => Trouble::Refused { status }.into(),
            PollError::Elsewhere { origin, .. } => Trouble::Elsewhere { origin }.into(),
            PollError::Changed { changed, .. } => Self::Changed { changed },
            PollError::Limit { limit, .. } => Self::Limit { limit },
            PollError::NoAddress { no_address, .. } => {
                Self::NoValue { no_value: NoValue::NoAddress(*no_address) }
            }
            // What is of files is not of a service.
            PollError::Repeats { .. } | PollError::Folder { .. } | PollError::BadRows { .. } => Self::NotAll,
        }
    }
}
