//! Why a row is not on sale, and why there is no table, each in words that an owner reads.
//!
//! Owns the wording. Start reading at [`Off`] and [`Cannot`].

use std::fmt;

use model::{Currency, Money, SupplierId, VariantId};
use rust_decimal::Decimal;
use thiserror::Error;

use super::ROWS_AT_MOST;
use super::price::{Margin, NoPrice};

/// Why a row is not on sale.
#[expect(missing_docs, reason = "the line above a variant says what its fields are")]
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Off {
    /// A good does not come in a size that was asked for.
    NotInSize { good: String, size: String },
    /// A good does not come in a colour of the listing.
    NotInColour { good: String, colour: String },
    /// A good comes in the size, and in the colour, but not in both.
    NotTogether { good: String, size: String, colour: String },
    /// The supplier cannot make it now.
    NotAvailable(SupplierId),
    /// Nobody knows what it costs.
    CostUnknown,
    /// Nobody knows in which currency it costs this.
    CurrencyUnknown { cost: Decimal },
    /// It costs this, and prices are in another currency.
    CurrenciesDiffer { cost: Money, currency: Currency },
    /// Its price leaves less than what is wanted.
    BelowMargin { left: Money, wanted: Margin },
    /// Several variants are what the row says; their SKUs.
    SeveralVariants(Vec<String>),
    /// The good comes in several printed designs, and nothing says that this SKU has the listing's.
    DesignUnsaid { good: String, sku: String },
    /// Its SKU is borne by another variant as well.
    SkuShared { sku: String, supplier: SupplierId, variant_id: VariantId },
    /// The storefront has the offer, and the table has no such combination.
    NotInTable,
}

impl Off {
    /// The word for it in files.
    pub fn word(&self) -> &'static str {
        match self {
            Self::NotInSize { .. } => "not-in-size",
            Self::NotInColour { .. } => "not-in-colour",
            Self::NotTogether { .. } => "not-together",
            Self::NotAvailable(_) => "not-available",
            Self::CostUnknown => "cost-unknown",
            Self::CurrencyUnknown { .. } => "currency-unknown",
            Self::CurrenciesDiffer { .. } => "currencies-differ",
            Self::BelowMargin { .. } => "below-margin",
            Self::SeveralVariants(_) => "several-variants",
            Self::DesignUnsaid { .. } => "design-unsaid",
            Self::SkuShared { .. } => "sku-shared",
            Self::NotInTable => "not-in-table",
        }
    }

    /// Whether nobody makes it, so that nothing is to be done.
    pub fn is_not_made(&self) -> bool {
        matches!(self, Self::NotInSize { .. } | Self::NotInColour { .. } | Self::NotTogether { .. })
    }

    /// Whether the owner has to do something before it can be sold.
    pub fn is_open(&self) -> bool {
        !self.is_not_made() && !matches!(self, Self::NotAvailable(_) | Self::NotInTable)
    }
}

/// A sentence without its full stop.
impl fmt::Display for Off {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotInSize { good, size } => write!(f, "{good} is not made in {size}"),
            Self::NotInColour { good, colour } => write!(f, "{good} is not made in {colour}"),
            Self::NotTogether { good, size, colour } => {
                write!(f, "{good} is not made in {colour} in this size ({size})")
            }
            Self::NotAvailable(supplier) => write!(f, "{supplier} cannot make it now"),
            Self::CostUnknown => f.write_str("what it costs is not known"),
            Self::CurrencyUnknown { cost } => {
                write!(f, "it costs {cost}, and the currency of that is not known")
            }
            Self::CurrenciesDiffer { cost, currency } => {
                write!(f, "it costs {cost}, and prices are in {currency}")
            }
            Self::BelowMargin { left, wanted } => {
                write!(f, "at this price {left} is left, less than {wanted}")
            }
            Self::SeveralVariants(skus) => {
                write!(f, "several variants are this, and only you can tell which is meant: {}", listed(skus))
            }
            Self::DesignUnsaid { good, sku } => {
                write!(
                    f,
                    "{good} comes in several printed designs, and {sku} may be another listing's: say which design is \
                     meant, by a part of its SKUs (--sku-part)"
                )
            }
            Self::SkuShared { sku, supplier, variant_id } => {
                write!(
                    f,
                    "error: SKU {sku} is also that of {supplier} {variant_id}, so it would lead nowhere"
                )
            }
            Self::NotInTable => f.write_str("the storefront has it, and it is not in this table"),
        }
    }
}

/// Most names that a sentence lists.
const NAMES_AT_MOST: usize = 8;

/// Names in a sentence: the first of them, and how many more there are.
fn listed(names: &[String]) -> String {
    let shown = names.iter().take(NAMES_AT_MOST).cloned().collect::<Vec<_>>().join(", ");
    match names.len().checked_sub(NAMES_AT_MOST).filter(|more| *more > 0) {
        Some(more) => format!("{shown} and {more} more"),
        None => shown,
    }
}

/// A size or a colour.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// How large.
    Size,
    /// Which colour.
    Colour,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Size => "size",
            Self::Colour => "colour",
        })
    }
}

/// Why there is no table.
#[expect(missing_docs, reason = "the line above a variant says what its fields are")]
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Cannot {
    /// No variant is what was picked.
    #[error("no variant is of these products")]
    NoVariants,
    /// Nothing comes in what is asked for; all that there is.
    #[error("none of the products comes in the {kind} {asked:?}")]
    NotMade { kind: Kind, asked: String, known: Vec<String> },
    /// Several can be meant.
    #[error("the {kind} {asked:?} may be any of these: {}", listed(candidates))]
    Unclear { kind: Kind, asked: String, candidates: Vec<String> },
    /// Two goods would be called the same.
    #[error("{} and {} would both be {value:?}, and a customer could not tell them apart", goods[0], goods[1])]
    SameValue { value: String, goods: [String; 2] },
    /// Two sizes or colours of one good would be called the same.
    #[error("two {kind}s of {good} would both be {value:?}, though the supplier tells them apart")]
    SameChoice { kind: Kind, value: String, good: String },
    /// Two options would be called the same.
    #[error("two options would be called the same: {0:?} and {1:?}")]
    SameOptionNames(String, String),
    /// The costs, or the offers that there are, are in several currencies.
    #[error("amounts are in several currencies: {}", codes(.0))]
    SeveralCurrencies(Vec<Currency>),
    /// No amount says a currency.
    #[error("no cost says its currency, so that nobody knows in which the prices are")]
    NoCurrency,
    /// No margin is wanted, and not every price is fixed.
    #[error("it is not said which margin is wanted")]
    NoMargin,
    /// The pricing rule cannot be kept.
    #[error("{0}")]
    NoPrice(NoPrice),
    /// It cannot be kept for a good.
    #[error("{0}: {1}")]
    NoPriceFor(String, NoPrice),
    /// So many rows.
    #[error("the table would have {0} rows, more than {ROWS_AT_MOST}")]
    TooManyRows(usize),
}

fn codes(currencies: &[Currency]) -> String {
    currencies.iter().map(|currency| currency.code()).collect::<Vec<_>>().join(", ")
}
