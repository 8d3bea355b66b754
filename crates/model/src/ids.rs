//! Identifiers. Each kind is a type of its own, so that a line id cannot stand where an order id is meant.
//!
//! Ids compare byte by byte. SKUs are typed by people and compare folded ([`crate::text::fold`]). Nearly all of them
//! are short, and findings repeat them: they are kept so that a copy of one needs no memory of its own.

use std::borrow::Borrow;
use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use smol_str::SmolStr;

use crate::text;

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, JsonSchema)]
        #[serde(transparent)]
        pub struct $name(#[schemars(with = "String")] SmolStr);

        impl $name {
            /// Takes the id as the source wrote it, to the byte.
            pub fn new(id: impl Into<String>) -> Self {
                Self(id.into().into())
            }

            /// The id as the source wrote it.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }

        impl Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }

        impl From<&str> for $name {
            fn from(id: &str) -> Self {
                Self(id.into())
            }
        }
    };
}

id!(
    /// An order, as the storefront names it.
    OrderId
);
id!(
    /// A line of an order (unique within its order) or of a submission (unique within its submission).
    LineId
);
id!(
    /// A page in the storefront.
    ListingId
);
id!(
    /// A supplier. `own` is the shop itself.
    SupplierId
);
id!(
    /// One exact thing that a supplier makes. Unique within its supplier.
    VariantId
);
id!(
    /// What a supplier was asked to make. Unique within its supplier.
    SubmissionId
);
id!(
    /// What a supplier dispatched. Unique within its supplier.
    ParcelId
);

id!(
    /// A shop, as the configuration names it.
    ShopId
);
id!(
    /// A source of a shop, as the configuration names it.
    SourceId
);

impl SupplierId {
    /// The word under which a link says that the shop packs a thing itself.
    pub const OWN: &str = "own";

    /// Whether this is the shop itself.
    pub fn is_own(&self) -> bool {
        self.0 == Self::OWN
    }
}

/// A stock-keeping unit as somebody typed it. Two are equal where they fold to the same text.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[serde(transparent)]
pub struct Sku {
    #[schemars(with = "String")]
    typed: SmolStr,
    #[serde(skip)]
    #[schemars(skip)]
    folded: SmolStr,
}

impl Sku {
    /// `None` where the text is empty but for white space: the SKU is not known.
    pub fn new(typed: impl Into<String>) -> Option<Self> {
        let typed = typed.into();
        let folded = text::fold(&typed);
        (!folded.is_empty()).then(|| Self { typed: typed.into(), folded: folded.into() })
    }

    /// As typed.
    pub fn as_str(&self) -> &str {
        &self.typed
    }

    /// As compared.
    pub fn folded(&self) -> &str {
        &self.folded
    }
}

impl PartialEq for Sku {
    fn eq(&self, other: &Self) -> bool {
        self.folded == other.folded
    }
}

impl Eq for Sku {}

impl std::hash::Hash for Sku {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.folded.hash(state);
    }
}

impl PartialOrd for Sku {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Sku {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.folded.cmp(&other.folded)
    }
}

impl fmt::Display for Sku {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.typed)
    }
}
