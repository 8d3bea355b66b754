//! What the pages ask for: the desk, which the program is.
//!
//! Must not know pages. Start reading at [`Desk`].

mod listings;
mod sending;
mod sources;
mod trends;
mod trials;

use std::collections::BTreeMap;
use std::pin::Pin;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use digest::compose::SourceRead;
use model::{OrderId, Outcome, ShopId};
use thiserror::Error;
use tokio::sync::watch;

use crate::view;

pub use listings::{Accepted, Listings};
pub use sending::{Begun, Confirmed, Sending, ToSend};
pub use sources::Sources;
pub use trends::Trends;
pub use trials::{
    Bytes, GivenFile, GivenSupplier, GivenWords, Incoming, LEAVE_OUT, Receiving, Trials, new_trial_id,
};

/// What a desk answers, in time.
pub type Answer<'a, T> = Pin<Box<dyn Future<Output = Result<T, Fault>> + Send + 'a>>;

/// Why something is not shown, or was not done.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Fault {
    /// There is no such thing.
    #[error("{what}")]
    NotThere {
        /// What there is not, as a sentence without a full stop.
        what: String,
        /// What to do next, likewise.
        todo: String,
    },
    /// What was asked for cannot be done so.
    #[error("{why}")]
    Refused {
        /// Why, as a sentence without a full stop.
        why: String,
        /// What to do next, likewise.
        todo: String,
    },
    /// It could be done by what was shown, and no longer by what stands now.
    #[error("{why}")]
    Meanwhile {
        /// Why, as a sentence without a full stop.
        why: String,
        /// What to do next, likewise.
        todo: String,
    },
    /// It does not work, through no fault of whoever asks.
    #[error("{why}")]
    Trouble {
        /// Why, as a sentence without a full stop.
        why: String,
    },
}

/// A shop that is looked after.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Shop {
    /// Its name.
    pub id: ShopId,
    /// The zone in which its times are told.
    pub zone: Tz,
}

/// What the last round said of a shop.
#[derive(Clone, Debug)]
pub struct Round {
    /// Which.
    pub shop: Shop,
    /// When it was judged.
    pub judged_at: DateTime<Utc>,
    /// What was found, also what is set aside, and for which moment.
    pub outcome: Outcome,
    /// How far each of its sources was read.
    pub sources: Vec<SourceRead>,
}

/// A finding that the owner put aside.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Aside {
    /// Why.
    pub note: String,
    /// Until when; `None`: until what was found is something else.
    pub until: Option<DateTime<Utc>>,
}

/// The program behind the pages. It judges nothing because somebody looks.
pub trait Desk: Listings + Sending + Sources + Trends + Trials + Send + Sync + 'static {
    /// Now, by the clock that the shops go by.
    fn now(&self) -> DateTime<Utc>;

    /// The shops, by name; at least one.
    fn shops(&self) -> Vec<Shop>;

    /// The last round of each shop that had one, by the shop's name.
    fn rounds(&self) -> Vec<Arc<Round>>;

    /// Counts what happened: whoever waits on it is told that something may look different now.
    fn changes(&self) -> watch::Receiver<u64>;

    /// Whether what is kept can be read.
    fn is_there(&self) -> Answer<'_, ()>;

    /// What is set aside now, by the name of the shop and the id of the finding.
    fn asides(&self) -> Answer<'_, BTreeMap<String, BTreeMap<String, Aside>>>;

    /// Puts a finding aside that stands.
    fn set_aside<'a>(&'a self, shop: &'a ShopId, finding: &'a str, aside: &'a Aside) -> Answer<'a, ()>;

    /// No longer puts a finding aside.
    fn take_back<'a>(&'a self, shop: &'a ShopId, finding: &'a str) -> Answer<'a, ()>;

    /// One order with everything that belongs to it.
    fn order<'a>(&'a self, shop: &'a ShopId, order: &'a OrderId) -> Answer<'a, view::Order>;
}
