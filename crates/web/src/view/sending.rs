//! Sending: what would be changed at a storefront, and what became of it.
//!
//! Must not know how a SKU is changed. Start reading at [`SendPlan`], which is shown before, and [`SentRun`], after.

use model::ListingId;
use schemars::JsonSchema;
use serde::Serialize;

use super::listings::segment;
use super::words::{Moment, Words};

/// The most offers of one run that is begun here: more than anybody looks through, and less than a request may hold.
pub const SENT_AT_ONCE: usize = 1_000;

/// Runs on a page of what was sent.
pub const SENDS_PER_PAGE: u64 = 30;

/// What would be changed at a storefront.
#[derive(Clone, PartialEq, Default, Debug, Serialize, JsonSchema)]
pub struct SendPlan {
    /// Whose offers.
    pub shop: String,
    /// The listing alone that is asked for.
    pub listing: Option<ListingId>,
    /// The run that would be put back.
    pub puts_back: Option<i64>,
    /// At which source; null where nothing is to be changed, or at several.
    pub source: Option<String>,
    /// Those of several sources one of which is to be chosen.
    pub choose: Vec<String>,
    /// How it is done there.
    pub way: SendWay,
    /// Why it cannot be told what would be changed.
    pub doubt: Option<Words>,
    /// The offers that would be changed, by listing.
    pub listings: Vec<SendListing>,
    /// How many offers that are.
    pub offers: u64,
    /// How many more there are, which another run would change.
    pub more: u64,
    /// Offers with an intended link that are not sent, and why.
    pub not_sent: Vec<NotSent>,
    /// How many of those there are; more than are listed where there are very many.
    pub not_sent_in_all: u64,
    /// Offers with an intended link that bear the right SKU already.
    pub in_force: u64,
    /// Of these, those that the storefront has had since it was read last: they count as in force once it is read again.
    pub not_read_yet: u64,
    /// Offers that the owner packs, and that need no SKU.
    pub own_stock: u64,
    /// Changes of earlier runs of which it is not known what became of them. They are looked at first, by reading alone.
    pub in_doubt: u64,
    /// Offers of a run that would be put back for which the storefront was never asked.
    pub never_asked: u64,
    /// How many offers were looked at at the storefront just now, to see what would be put back; null: none.
    pub looked_at: Option<u64>,
    /// What shows, where it is confirmed, that it is what was looked at; null where there is nothing to confirm.
    pub shown: Option<String>,
    /// How often the source is read: by then what was sent is in force.
    pub every: Option<Words>,
    /// What is being sent now, whatever it is.
    pub running: Option<SendProgress>,
}

/// How SKUs are changed at a source.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SendWay {
    /// everyline asks the storefront.
    #[default]
    Asked,
    /// It is not declared how: a table is taken there by hand.
    Table,
}

/// Offers of one listing that would be changed.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SendListing {
    /// Its id.
    pub listing_id: ListingId,
    /// What it is called.
    pub title: Words,
    /// The address of its page.
    pub page: String,
    /// Its offers.
    pub offers: Vec<SendOffer>,
}

/// An offer that would be changed.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SendOffer {
    /// What the customer chooses.
    pub options: Words,
    /// The SKU that it bears; null: none.
    pub old_sku: Option<Words>,
    /// The SKU that it is to bear; null: none.
    pub new_sku: Option<Words>,
    /// What was seen of it just now, where that is to be known.
    pub note: Option<Words>,
}

/// An offer that is not sent.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct NotSent {
    /// The listing; null where the link serves no offer.
    pub listing_id: Option<ListingId>,
    /// What it is called.
    pub title: Words,
    /// What the customer chooses.
    pub options: Words,
    /// Why, and what to do: sentences.
    pub why: Words,
}

/// How far a run is.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SendProgress {
    /// The run; null while only what is in doubt is looked at.
    pub run: Option<i64>,
    /// Offers that are done with.
    pub looked_at: u64,
    /// Of so many.
    pub offers: u64,
}

/// What was sent, the last run first.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Sends {
    /// Whose offers.
    pub shop: String,
    /// What is being sent now.
    pub running: Option<SendProgress>,
    /// Why the last one that was begun here could not be done, where it could not.
    pub trouble: Option<Words>,
    /// What was looked at last of changes in doubt, where that was done here.
    pub looked_at: Vec<SentOffer>,
    /// Changes of which it is not known what became of them.
    pub in_doubt: u64,
    /// Runs of this page.
    pub runs: Vec<SentInShort>,
    /// How many there are on all pages.
    pub in_all: u64,
    /// Which page it is.
    pub page: u64,
    /// How many there are; at least one.
    pub pages: u64,
}

/// A run in a line.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SentInShort {
    /// Its number, counted from 1 in each shop.
    pub run: i64,
    /// The address of its page.
    pub page: String,
    /// At which source.
    pub source: String,
    /// When it began.
    pub at: Moment,
    /// Who told it.
    pub by: Words,
    /// Why.
    pub why: Option<Words>,
    /// The run that it put back.
    pub puts_back: Option<i64>,
    /// The last run that put it back.
    pub put_back_by: Option<i64>,
    /// Whether it goes on now.
    pub is_running: bool,
    /// What became of its offers, counted.
    pub tally: SentTally,
}

/// What became of the offers of a run, counted.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, JsonSchema)]
pub struct SentTally {
    /// All of them.
    pub offers: u64,
    /// Those that were seen to have the new SKU.
    pub done: u64,
    /// Those that were seen not to have it.
    pub not_done: u64,
    /// Those that were seen to have a third SKU, or to be gone.
    pub otherwise: u64,
    /// Those of which it is not known.
    pub not_known: u64,
    /// Those for which the storefront was not asked, or not yet.
    pub left: u64,
}

/// A run, and what became of each offer.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SentRun {
    /// Whose offers.
    pub shop: String,
    /// The run.
    pub of: SentInShort,
    /// Why it ended before its end, or could not go on, where that is known.
    pub left_because: Option<Words>,
    /// Its offers, in the order in which they are changed.
    pub offers: Vec<SentOffer>,
    /// Whether something of it can be put back.
    pub can_be_put_back: bool,
    /// How often the source is read: by then what was sent is in force.
    pub every: Option<Words>,
}

/// What became of an offer.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SentOffer {
    /// The listing.
    pub listing_id: ListingId,
    /// What it is called; empty where that is not known.
    pub title: Words,
    /// What the customer chooses.
    pub options: Words,
    /// The SKU that it had to have before; null: none.
    pub old_sku: Option<Words>,
    /// The SKU that it was to have; null: none.
    pub new_sku: Option<Words>,
    /// What became of it.
    pub state: SentState,
    /// Why, where there is more to say.
    pub why: Option<Words>,
    /// When that was noted last.
    pub at: Option<Moment>,
}

/// What became of the change of an offer.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SentState {
    /// Its turn is yet to come.
    Waits,
    /// The storefront is being asked.
    Asked,
    /// It was seen to have the new SKU.
    Done,
    /// It was seen not to have it.
    NotDone,
    /// It was seen to have a third SKU, or to be gone.
    Otherwise,
    /// The storefront was asked, and it was not seen what became of it.
    NotKnown,
    /// The storefront was not asked for it.
    Left,
}

impl SentState {
    /// As programs say it, and as a class.
    pub fn word(self) -> &'static str {
        match self {
            Self::Waits => "waits",
            Self::Asked => "asked",
            Self::Done => "done",
            Self::NotDone => "not-done",
            Self::Otherwise => "otherwise",
            Self::NotKnown => "not-known",
            Self::Left => "left",
        }
    }

    /// As it is said.
    pub fn name(self) -> &'static str {
        match self {
            Self::Waits => "waits",
            Self::Asked => "being asked",
            Self::Done => "done",
            Self::NotDone => "not done",
            Self::Otherwise => "otherwise",
            Self::NotKnown => "not known",
            Self::Left => "left as it was",
        }
    }
}

impl SentTally {
    /// Counts an offer.
    pub fn add(&mut self, state: SentState) {
        self.offers += 1;
        *match state {
            SentState::Done => &mut self.done,
            SentState::NotDone => &mut self.not_done,
            SentState::Otherwise => &mut self.otherwise,
            SentState::NotKnown => &mut self.not_known,
            SentState::Waits | SentState::Asked | SentState::Left => &mut self.left,
        } += 1;
    }

    /// `3 done, 1 not done`.
    pub fn said(&self, is_running: bool) -> String {
        let left = if is_running { "to do" } else { "left as they were" };
        let parts = [
            (self.done, "done"),
            (self.not_done, "not done"),
            (self.otherwise, "otherwise than planned"),
            (self.not_known, "not known"),
            (self.left, left),
        ];
        let parts: Vec<String> = parts
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, what)| format!("{count} {what}"))
            .collect();
        parts.join(", ")
    }
}

/// What waits to be sent of a shop.
#[derive(Clone, PartialEq, Default, Debug, Serialize, JsonSchema)]
pub struct WaitsToBeSent {
    /// Offers with an intended link that was not in force when the shop was compared last.
    pub offers: u64,
    /// Changes of which it is not known what became of them.
    pub in_doubt: u64,
    /// What is being sent now.
    pub running: Option<SendProgress>,
}

/// The address of a run's page.
pub fn sent_page(shop: &str, run: i64) -> String {
    format!("/sent/{}/{run}", segment(shop))
}
