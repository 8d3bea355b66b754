//! Why there is no offer table, and what to do, in the words of the command line.
//!
//! Must not know how a table is filled in. Start reading at [`told`].

use std::collections::BTreeSet;

use digest::clean;
use links::sheet::{Cannot, Kind, NoPrice, Wanted};
use model::Book;

use super::super::target::{listed, near};
use super::NOTHING_FILLED_IN;
use crate::trouble::Trouble;

/// The option of the command line for sizes or colours.
fn option(kind: Kind) -> &'static str {
    match kind {
        Kind::Size => "--size",
        Kind::Colour => "--colour",
    }
}

/// What is in the way, and what to do about it.
pub(super) fn told(cannot: &Cannot, wanted: &Wanted<'_>, book: &Book) -> Trouble {
    let near = match cannot {
        Cannot::NotMade { asked, known, .. } => near(asked, known.iter().map(String::as_str)),
        _ => String::new(),
    };
    let help = match cannot {
        Cannot::NoVariants => "leave --sku-part out, or name other products with --product".to_owned(),
        Cannot::NotMade { kind, known, .. } if known.is_empty() => {
            format!("there is no {kind} to choose; leave {} out", option(*kind))
        }
        Cannot::NotMade { kind, known, .. } => {
            format!("there is {}; leave {} out for all", listed(known), option(*kind))
        }
        Cannot::Unclear { kind, candidates, .. } => {
            format!("say which after {}: {}", option(*kind), listed(candidates))
        }
        Cannot::SameValue { .. } => {
            "give one of them a name of its own: --product 'SUPPLIER:PRODUCT=NAME'".to_owned()
        }
        Cannot::SameChoice { kind, .. } => format!(
            "name the other {kind}s with {}, or leave the product out; its supplier may tell what sets the two apart",
            option(*kind)
        ),
        Cannot::SameOptionNames(..) => {
            "give them different names under [sheet] in the configuration: size_option, colour_option, item_option"
                .to_owned()
        }
        Cannot::SeveralCurrencies(_) => several_currencies(wanted, book),
        Cannot::NoCurrency => "say it with --currency, such as --currency EUR".to_owned(),
        Cannot::NoMargin => {
            "say it with --margin, such as --margin '40 %' or --margin 6.00, or as margin under [sheet] in the \
             configuration; or give a fixed --price"
                .to_owned()
        }
        Cannot::NoPrice(why) | Cannot::NoPriceFor(_, why) => no_price(why, wanted),
        Cannot::TooManyRows(_) => {
            "name fewer products, or the sizes and colours that are wanted, with --product, --size and --colour"
                .to_owned()
        }
    };
    Trouble::new(NOTHING_FILLED_IN, clean(format!("{cannot}{near}"))).help(clean(help))
}

fn several_currencies(wanted: &Wanted<'_>, book: &Book) -> String {
    let there = book.offers.iter().flatten().filter(|offer| offer.listing_id == wanted.listing_id);
    let of_offers: BTreeSet<&str> = there.filter_map(|offer| Some(offer.currency?.code())).collect();
    let whose = if of_offers.len() > 1 { "the listing's offers" } else { "the costs" };
    format!("{whose} are: say with --currency in which the prices are to be")
}

fn no_price(why: &NoPrice, wanted: &Wanted<'_>) -> String {
    match why {
        NoPrice::NeverReached { .. } => {
            "ask for less with --margin: what is left of a price is at most what the fees leave, and the goods are to be \
             paid from it; '60 % of cost' is a share of what they cost"
                .to_owned()
        }
        NoPrice::DoesNotFit { .. } => {
            "write prices in another way with --round, such as .95 where there are cents, or 80 where there are none"
                .to_owned()
        }
        NoPrice::FeeInOtherCurrency(currency) => {
            let known: Vec<&str> = wanted.fees.per_unit.iter().map(|fee| fee.currency().code()).collect();
            format!(
                "add the fee in {currency} to per_unit under [fees] in the configuration (it has {}), or name another \
                 currency with --currency",
                known.join(", ")
            )
        }
        NoPrice::TooLarge => "look at the costs, the fees and the margin: one of them is no sum of a shop".to_owned(),
    }
}
