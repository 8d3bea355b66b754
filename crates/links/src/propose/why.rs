//! Why a proposal is as it is, in one sentence each.
//!
//! Owns the wording. Start reading at [`Why`].

use std::fmt;

/// A reason.
#[expect(missing_docs, reason = "the line above a variant says what its fields are")]
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Why {
    /// What was read of the offer and agrees with the variant: `apron, L, moss`.
    Reads(String),
    /// A product is told from the others by these words.
    ToldByWords { product: String, words: String },
    /// A product is the only one that can be meant.
    OnlyProduct(String),
    /// A product is what the other goods of the listing leave.
    LeftForIt(String),
    /// A product suits better for whom it is.
    Rather(String),
    /// The owner has answered this before.
    ByRule(String),
    /// The supplier cannot make it now.
    NotAvailable,
    /// The offer says several pieces, the variant another number.
    Pieces(u32),
    /// What the owner picked is in no table.
    UnknownPick(String),
    /// A product is for others than the offer says.
    ForOthers(String),
    /// The owner ordered it by hand, for this order.
    ByHand(String),
    /// The owner ordered something else by hand, for this order.
    OtherByHand(String),
    /// The owner ordered different things by hand.
    SeveralByHand,
    /// A colour with other words than the supplier's.
    ColourTakenFor { said: String, made: String },
    /// There is one size only.
    OneSize,
    /// There is no colour to choose.
    NoColour,
    /// A size was found by its numbers.
    ByNumbers(String),
    /// A size was found in another unit.
    Converted { said: String, made: String },
    /// A size without an age group is taken for the grown-ups'.
    ForAdults,
    /// A word was taken for another one.
    Slip { written: String, meant: String },
    /// Several products can be meant.
    SeveralProducts(Vec<String>),
    /// Another good of the listing could be the same product.
    SeveralGoods(Vec<String>),
    /// Several variants agree with all that is said.
    SeveralVariants,
    /// The product comes in several printed designs, and nothing says that this SKU has the listing's.
    SeveralDesigns { product: String, sku: String },
    /// The offer does not say what it is.
    KindUnsaid,
    /// The offer does not say its size.
    SizeUnsaid,
    /// The offer does not say its colour.
    ColourUnsaid,
    /// Several sizes can be meant.
    SeveralSizes(Vec<String>),
    /// Several colours can be meant.
    SeveralColours(Vec<String>),
    /// No product is of that kind.
    NoProduct(Option<String>),
    /// All products of that kind are other goods'.
    NoneLeft(String),
    /// A product does not come in that size.
    SizeNotMade { product: String, size: String },
    /// A product does not come in that colour.
    ColourNotMade { product: String, colour: String },
    /// A product does not come in that size and colour together.
    NotTogether { product: String },
    /// Words of the offer that may make another variant of it.
    NotUnderstood(String),
    /// Another offer of the listing says the same variant in better words.
    SaidBetter(Vec<String>),
    /// So many more candidates than are listed.
    More(usize),
}

impl fmt::Display for Why {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reads(what) => write!(out, "says {what}"),
            Self::ToldByWords { product, words } => write!(out, "'{words}' tells that '{product}' is meant"),
            Self::OnlyProduct(product) => write!(out, "'{product}' is the only product that it can be"),
            Self::LeftForIt(product) => {
                write!(out, "'{product}' is the product that the listing's other goods leave")
            }
            Self::Rather(product) => {
                write!(out, "'{product}' is for those for whom the offer is, as far as it says")
            }
            Self::ByRule(product) => write!(out, "you said that this good is '{product}'"),
            Self::NotAvailable => write!(out, "the supplier says that it cannot be had now"),
            Self::Pieces(count) => {
                write!(out, "the offer says {count} pieces: only you can tell what they are made of")
            }
            Self::UnknownPick(product) => {
                write!(
                    out,
                    "you picked '{product}' in listing_products, and no supplier's table has it: mend the name there"
                )
            }
            Self::ForOthers(product) => write!(out, "'{product}' is for others than the offer says"),
            Self::ByHand(order) => write!(out, "you ordered it by hand for order {order}"),
            Self::OtherByHand(order) => {
                write!(out, "by hand you ordered something else for order {order}: only you can tell")
            }
            Self::SeveralByHand => {
                write!(out, "by hand you ordered different things for it: only you can tell")
            }
            Self::ColourTakenFor { said, made } => {
                write!(out, "'{said}' can only be '{made}' among the product's colours")
            }
            Self::OneSize => write!(out, "the product comes in one size"),
            Self::NoColour => write!(out, "the product has no colour to choose"),
            Self::ByNumbers(size) => write!(out, "the numbers are those of the size {size}"),
            Self::Converted { said, made } => write!(out, "{said} is about {made}"),
            Self::ForAdults => write!(out, "a size without an age is taken for grown-ups"),
            Self::Slip { written, meant } => write!(out, "'{written}' was taken for '{meant}'"),
            Self::SeveralProducts(products) => {
                write!(out, "it can be {}: only you can tell", listed(products, "or"))
            }
            Self::SeveralGoods(products) => {
                write!(
                    out,
                    "several goods of this listing could be {}: only you can tell which",
                    listed(products, "or")
                )
            }
            Self::SeveralVariants => write!(out, "several variants agree with all that the offer says"),
            Self::SeveralDesigns { product, sku } => {
                write!(
                    out,
                    "'{product}' comes in several printed designs, and neither the title nor the listing's other SKUs say \
                     that {sku} has this one: only you can tell"
                )
            }
            Self::KindUnsaid => write!(out, "neither the options nor the title say what it is"),
            Self::SizeUnsaid => write!(out, "the offer does not say its size"),
            Self::ColourUnsaid => write!(out, "the offer does not say its colour"),
            Self::SeveralSizes(sizes) => write!(out, "the size can be {}", listed(sizes, "or")),
            Self::SeveralColours(colours) => write!(out, "the colour can be {}", listed(colours, "or")),
            Self::NoProduct(Some(kind)) => {
                write!(out, "no supplier product to choose from is a {kind}: take it off sale")
            }
            Self::NoProduct(None) => write!(out, "there is no supplier product to choose from"),
            Self::NoneLeft(kind) => {
                write!(out, "each {kind} of the suppliers is another good of this listing: take it off sale")
            }
            Self::SizeNotMade { product, size } => {
                write!(out, "'{product}' does not come in the size {size}: take it off sale")
            }
            Self::ColourNotMade { product, colour } => {
                write!(out, "'{product}' does not come in {colour}: take it off sale")
            }
            Self::NotTogether { product } => {
                write!(out, "'{product}' does not come in this size and colour together: take it off sale")
            }
            Self::NotUnderstood(words) => {
                write!(
                    out,
                    "'{words}' was not understood: only you can tell whether it means another variant"
                )
            }
            Self::SaidBetter(others) => {
                write!(
                    out,
                    "{} of this listing could be the same variant: only you can tell which",
                    listed(others, "and")
                )
            }
            Self::More(count) => write!(out, "and {count} more variants could be meant"),
        }
    }
}

/// Most names that a reason lists.
const LISTED_AT_MOST: usize = 6;

fn listed(names: &[String], joined: &str) -> String {
    let quoted: Vec<String> = names.iter().take(LISTED_AT_MOST).map(|name| format!("'{name}'")).collect();
    let more = names.len().saturating_sub(LISTED_AT_MOST);
    match (quoted.as_slice(), more) {
        ([], _) => String::new(),
        ([only], 0) => only.clone(),
        ([first @ .., last], 0) => format!("{} {joined} {last}", first.join(", ")),
        (all, more) => format!("{} {joined} {more} more", all.join(", ")),
    }
}
