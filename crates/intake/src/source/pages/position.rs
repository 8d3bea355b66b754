//! Where a page is.
//!
//! Start reading at [`Position`].

use serde::{Deserialize, Serialize};

/// What a page is asked by.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Position {
    /// Nothing: the first one.
    First,
    /// This address, as the source gave it.
    Address(String),
    /// This cursor.
    Cursor(String),
    /// This number.
    Number(u64),
    /// So many records before it.
    Offset(u64),
}

impl Position {
    /// The text that the source gave.
    pub(crate) fn given(&self) -> Option<&str> {
        match self {
            Self::Address(text) | Self::Cursor(text) => Some(text),
            Self::First | Self::Number(_) | Self::Offset(_) => None,
        }
    }
}
