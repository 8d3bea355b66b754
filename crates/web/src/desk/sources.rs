//! What the page of sources asks for.
//!
//! Must not know pages. Start reading at [`Sources`].

use super::Answer;
use crate::view;

/// How sources are read.
pub trait Sources: Send + Sync {
    /// The sources of all shops, and what is to be sent.
    fn sources(&self) -> Answer<'_, view::Sources>;
}
