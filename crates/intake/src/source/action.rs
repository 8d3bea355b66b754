//! Changing something at a storefront, where the declaration says how: the SKU of one offer.
//!
//! [`SkuChanger`] reads one offer again and changes its SKU, as `change_sku` of the source says. It asks a change once:
//! nothing that may have been done is asked again. Must not know which offers are to be changed, or what was changed
//! before. Start reading at [`SkuChanger`].

use model::{ListingId, Options, Sku};
use thiserror::Error;

use super::http::Trouble;
use super::poll::Reader;

/// An offer, as an action is told of it.
#[derive(Clone, PartialEq, Debug)]
pub struct OfferKey {
    /// The page in the storefront.
    pub listing_id: ListingId,
    /// The combination.
    pub options: Options,
}

/// What the storefront says of one offer.
#[derive(Clone, PartialEq, Debug)]
pub enum Seen {
    /// It is there, once.
    Found(Found),
    /// There is no such offer, or none any more.
    Missing,
    /// So many records are this offer.
    Ambiguous(usize),
}

/// An offer as it was read.
#[derive(Clone, PartialEq, Debug)]
pub struct Found {
    /// Its SKU; `None` where it has none.
    pub sku: Option<Sku>,
}

impl Found {
    /// An offer of which nothing is known but its SKU.
    pub fn of(sku: Option<Sku>) -> Self {
        Self { sku }
    }
}

/// How a change ended, as far as its own answer tells.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Asked {
    /// The answer looks as declared.
    Confirmed,
    /// It was answered as done, but not as declared: a clause that says how.
    Otherwise(String),
    /// The storefront said no: nothing was changed, as it says. A clause.
    Refused(String),
    /// The answer was lost, or says that the storefront failed: it may have been changed. A clause.
    NotKnown(String),
}

/// Why an offer could not be asked for, or its change not be asked at all: nothing was changed. A clause each.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[non_exhaustive]
pub enum ActionTrouble {
    /// Nothing came, or nothing whole; or nobody is signed in.
    #[error("{trouble}")]
    NotAsked {
        /// What came instead.
        trouble: Trouble,
    },
}

impl ActionTrouble {
    /// Whether it may be gone a moment later.
    pub fn may_pass(&self) -> bool {
        match self {
            Self::NotAsked { trouble } => trouble.may_pass(),
        }
    }

    /// What to do, a sentence; `source` is the name of the source.
    pub fn help(&self, source: &str) -> String {
        format!("Try it with `everyline source check {source}`.")
    }
}

/// Changes SKUs at one source, at its pace.
#[derive(Debug)]
pub struct SkuChanger {
    reader: Reader,
}

impl SkuChanger {
    /// A changer for a source; `None` where its declaration has no `change_sku`.
    pub fn new(reader: Reader) -> Option<Self> {
        Some(Self { reader })
    }

    /// One offer as the storefront says it is, perhaps as it was some minutes ago: for a plan. Where the source has to
    /// read all its offers for that, they are kept for a while.
    ///
    /// # Errors
    /// [`ActionTrouble`].
    pub async fn look(&mut self, offer: &OfferKey) -> Result<Seen, ActionTrouble> {
        self.read(offer).await
    }

    /// One offer as the storefront says it is now.
    ///
    /// # Errors
    /// [`ActionTrouble`].
    pub async fn read(&mut self, _offer: &OfferKey) -> Result<Seen, ActionTrouble> {
        let _ = &self.reader;
        Ok(Seen::Missing)
    }

    /// Asks the storefront, once, to change the SKU of an offer; `None` takes it away. `found` is the offer as it was
    /// just read.
    ///
    /// # Errors
    /// [`ActionTrouble`]: nothing was changed.
    pub async fn change(
        &mut self,
        _offer: &OfferKey,
        _found: &Found,
        _sku: Option<&Sku>,
    ) -> Result<Asked, ActionTrouble> {
        Ok(Asked::Refused("nothing is declared".to_owned()))
    }
}
