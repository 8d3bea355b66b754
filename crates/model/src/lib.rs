//! The nouns of everyline and nothing else: identifiers, text, options, times, money, the exchange tables,
//! readings, rules and findings.
//!
//! Must not know: files, networks, clocks, or how a finding is reached. Start reading at [`book`].

pub mod batch;
pub mod book;
pub mod closed;
pub mod finding;
pub mod good;
pub mod ids;
pub mod money;
pub mod options;
pub mod outcome;
pub mod rates;
pub mod reading;
mod rfc3339;
pub mod rules;
pub mod straight;
pub mod text;
pub mod waits;
pub mod when;

pub use batch::{Batch, Mark};
pub use book::Book;
pub use closed::{ClosedGroup, Settled};
pub use finding::{Check, Finding};
pub use good::{Good, GoodRule};
pub use ids::{
    LineId, ListingId, OrderId, ParcelId, ShopId, Sku, SourceId, SubmissionId, SupplierId, VariantId,
};
pub use money::{Currency, Money};
pub use options::Options;
pub use outcome::Outcome;
pub use reading::Reading;
pub use rules::Rules;
pub use when::When;
