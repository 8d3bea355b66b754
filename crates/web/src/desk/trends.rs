//! What the page of trends asks for.
//!
//! Must not know pages. Start reading at [`Trends`].

use std::sync::Arc;

use super::Answer;
use crate::view::Counted;

/// What happened on each day of the last year.
pub trait Trends: Send + Sync {
    /// What was counted of each shop, by the shop's name; a shop that was not counted yet is not there. Nothing is counted
    /// because somebody looks.
    fn counted(&self) -> Answer<'_, Vec<Arc<Counted>>>;
}
