//! The command line of `everyline links sheet`.
//!
//! Must not know what is done with it. Start reading at [`SheetLinksArguments`].

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use links::sheet::{Margin, OnePriceFor, Rounding};
use model::{Currency, money};
use rust_decimal::Decimal;

pub(super) const SHEET_LINKS_HELP: &str = "\
What the listing sells are supplier products: those of listing_products, or those named with --product:
  --product 'alder-print:Apron'                    as the supplier calls it
  --product 'alder-print:Apron=Chef apron'         with a name of yours
  --product 'alder-print:Apron@29.95'              at a fixed price
  --product 'alder-print:Apron=Chef apron@29.95'   both
Each combination of goods, sizes and colours that a customer could pick is a row; what cannot be sold is off, with the
reason. A price is the smallest that is written as you want it and leaves the margin, once the supplier and the fees of the
configuration are paid. What the command does not say is as [sheet] in the configuration has it.

  everyline links sheet --listing KL-20 --product alder-print:Apron --product 'brook-print:TOTE BAG (strong)' \\
    --sku-part kittiwake --colour Moss,Navy --margin '40 %' --round .95 --out kl-20.csv

The csv and the jsonl are a table `offers`, with columns behind it that readers pass over: supplier, variant_id, cost, fees,
margin, margin_percent, reason, why, change, to_do. Nothing is changed, neither at the storefront nor in the ledger.

Ends with:
  0  each row can be sold, or nobody makes it now
  1  something is for you to settle before a row can be sold
  2  the input or the command line is not right; no table was filled in
  3  rows of the tables were skipped, so that the answer is not complete";

/// What a new listing is to be.
#[derive(Args, Debug)]
pub struct SheetLinksArguments {
    /// The listing's id; it may have no offers yet. Where it has some, what would change beside them is said
    #[arg(long, value_name = "ID")]
    pub listing: String,

    /// A product that it sells, with a name and a price of its own or without; can be given several times, in the order in
    /// which they are to stand [default: what listing_products picks]
    #[arg(long = "product", value_name = "SUPPLIER:PRODUCT[=NAME][@PRICE]")]
    pub products: Vec<String>,

    /// Only in these sizes; a list with commas, or given several times [default: all]
    #[arg(long = "size", value_name = "SIZES")]
    pub sizes: Vec<String>,

    /// Only in these colours, in this order; likewise [default: all, by name]
    #[arg(long = "colour", value_name = "COLOURS")]
    pub colours: Vec<String>,

    /// Which printed design: only variants with this in their SKU; can be given several times, one of them is enough
    #[arg(long = "sku-part", value_name = "TEXT")]
    pub sku_parts: Vec<String>,

    /// The listing's title [default: that of its offers]
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,

    /// The currency of the prices [default: that of its offers, else of the costs]
    #[arg(long, value_name = "CODE", value_parser = currency)]
    pub currency: Option<Currency>,

    /// What has to be left of a price: an amount such as 6.00, '40 %' of the price, or '60 % of cost'
    #[arg(long, value_name = "MARGIN", value_parser = margin)]
    pub margin: Option<Margin>,

    /// How prices are rounded up: to an ending such as .95 or 9.90, 'step 0.50', or unit for the currency's smallest
    #[arg(long, value_name = "HOW", value_parser = rounding)]
    pub round: Option<Rounding>,

    /// The price of what has none of its own
    #[arg(long, value_name = "AMOUNT", value_parser = amount)]
    pub price: Option<Decimal>,

    /// What has one price, so that its dearest variant decides
    #[arg(long, value_name = "WHAT", value_enum)]
    pub one_price_for: Option<OnePrice>,

    /// How it is written [default: table; into a file that ends in .jsonl, jsonl, into any other, csv]
    #[arg(long, value_name = "FORMAT", value_enum)]
    pub format: Option<SheetFormat>,

    /// Write it into this new file, and print the table for reading; a file that is there already is left as it is
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,

    /// The folder with the table variants, perhaps listing_products, offers and links [default: what the ledger knows]
    #[arg(long, value_name = "DIR")]
    pub from: Option<PathBuf>,

    /// Leave out rows that cannot be read
    #[arg(long)]
    pub skip_bad_rows: bool,

    /// The configuration file, which has the fees [default: everyline.toml, where no folder is named]
    #[arg(long, value_name = "FILE")]
    pub config: Option<PathBuf>,

    /// Which shop, where the configuration has several
    #[arg(long, value_name = "NAME")]
    pub shop: Option<String>,
}

/// What has one price.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum OnePrice {
    /// A good in all its sizes and colours
    Good,
    /// A good in one size, in all its colours
    Size,
    /// Each row by itself
    Each,
}

impl From<OnePrice> for OnePriceFor {
    fn from(one: OnePrice) -> Self {
        match one {
            OnePrice::Good => Self::Good,
            OnePrice::Size => Self::Size,
            OnePrice::Each => Self::Each,
        }
    }
}

/// How an offer table is written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum SheetFormat {
    /// For reading: each good with sizes across and colours down, and what it comes to
    Table,
    /// As a table `offers`, a row for each combination
    Csv,
    /// Likewise, one JSON object a line
    Jsonl,
}

fn currency(text: &str) -> Result<Currency, String> {
    text.parse().map_err(|_| format!("expected is {}", Currency::EXPECTED))
}

fn margin(text: &str) -> Result<Margin, String> {
    text.parse().map_err(|_| format!("expected is {}", Margin::EXPECTED))
}

fn rounding(text: &str) -> Result<Rounding, String> {
    text.parse().map_err(|_| format!("expected is {}", Rounding::EXPECTED))
}

fn amount(text: &str) -> Result<Decimal, String> {
    money::parse_amount(text)
        .filter(|amount| !amount.is_sign_negative())
        .ok_or_else(|| format!("expected is {}, zero or more", money::AMOUNT_EXPECTED))
}
