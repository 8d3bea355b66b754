//! What a source brought, on its way into the ledger: rows, and the mark up to which the source has been read.
//!
//! Must not know: how a source is asked, or how rows are kept. Start reading at [`Batch`].

use chrono::{DateTime, Utc};

use crate::{Book, OrderId, ParcelId, ShopId, SourceId, SubmissionId, SupplierId};

/// What one answer of a source brought. It is kept as a whole, with its mark, or not at all.
#[derive(Clone, Debug)]
pub struct Batch {
    /// Whose source it is.
    pub shop: ShopId,
    /// The source, by its configured name.
    pub source: SourceId,
    /// The request of the source, by its configured name.
    pub request: String,
    /// The rows, checked one by one; their parents may be in earlier batches. A table of which nothing came is `None`.
    pub rows: Book,
    /// What has no more lines than those among `rows`: lines that were kept before are gone.
    pub whole: Vec<Whole>,
    /// Set on the last batch of a pass that read everything there is of `offers`, `variants`, `listing_products` or
    /// `links`, with the moment at which the pass began: rows of these tables that this request brought before, and not
    /// since, are gone. Orders, submissions and parcels are never gone.
    pub everything_since: Option<DateTime<Utc>>,
    /// How far the source has been read with this batch.
    pub mark: Mark,
    /// When the answer came.
    pub seen_at: DateTime<Utc>,
    /// What time it was then by the clock of the source, where it tells: what it said of later moments it said while its
    /// clock was wrong.
    pub source_time: Option<DateTime<Utc>>,
}

/// Something of which all lines came.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Whole {
    /// An order and its lines.
    Order(OrderId),
    /// A submission and its lines.
    Submission(SupplierId, SubmissionId),
    /// A submission and its parcels.
    ParcelsOf(SupplierId, SubmissionId),
    /// A parcel and its lines.
    Parcel(SupplierId, ParcelId),
}

/// How far a request of a source has been read.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Mark {
    /// As whoever reads the source wrote it; empty before the first answer. Nobody else looks into it.
    pub text: String,
    /// All that changed at the source before this has been read; `None` while it has never been read to the end.
    pub read_up_to: Option<DateTime<Utc>>,
}
