//! What the pages of sending ask for: the only thing that is ever changed at a storefront.
//!
//! Must not know pages. Start reading at [`Sending`].

use model::{ListingId, ShopId};

use super::Answer;
use crate::view;

/// What is to be sent: intended links, or what puts a run back.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct ToSend {
    /// Of this listing alone; `None`: of all.
    pub listing: Option<ListingId>,
    /// At this source; `None`: at the only one that has something to change.
    pub source: Option<String>,
    /// The run that is put back; `None`: intended links are sent.
    pub back: Option<i64>,
}

/// That what was shown is to be done.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Confirmed {
    /// What was asked for.
    pub what: ToSend,
    /// What was shown with the plan: where it is another now, nothing is done.
    pub shown: String,
    /// Who says so.
    pub by: String,
}

/// What came of a confirmation.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Begun {
    /// This run has begun, or had begun already by the same confirmation.
    Run(i64),
    /// What is in doubt of earlier runs is looked at first; a run may follow.
    Looking,
    /// Nothing was done: the plan is another than what was shown.
    Otherwise,
}

/// Sending: SKUs of offers, changed at a storefront once somebody has seen which and says so.
pub trait Sending: Send + Sync {
    /// What would be changed. Nothing is.
    fn plan_to_send<'a>(&'a self, shop: &'a ShopId, what: &'a ToSend) -> Answer<'a, view::SendPlan>;

    /// The same as a table for the storefront's own bulk edit.
    fn table_to_send<'a>(&'a self, shop: &'a ShopId, what: &'a ToSend) -> Answer<'a, String>;

    /// Begins to do what was shown, and answers before it is done. One at a time, and for each plan once.
    fn send<'a>(&'a self, shop: &'a ShopId, confirmed: &'a Confirmed) -> Answer<'a, Begun>;

    /// What was sent, the last run first; a page of it, counted from 1.
    fn sends<'a>(&'a self, shop: &'a ShopId, page: u64) -> Answer<'a, view::Sends>;

    /// One run, and what became of each offer.
    fn sent<'a>(&'a self, shop: &'a ShopId, run: i64) -> Answer<'a, view::SentRun>;
}
