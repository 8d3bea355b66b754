//! A new listing's offer table: every combination of goods, sizes and colours that a customer could pick, with its
//! option values, its SKU and its price, on sale or off with the reason.
//!
//! Owns which rows there are and what each says. Must not know where tables stand, nor how a table is shown. Start
//! reading at [`fill_in`]; `price` finds prices, `goods` what is sold and what it is called, `columns` the colours,
//! `changes` what is new beside the offers that there are.

mod changes;
mod columns;
mod goods;
pub mod price;
mod reason;
mod wording;

use std::collections::{BTreeMap, HashMap};

use model::book::{Offer, Variant};
use model::rules::Fees;
use model::text::fold;
use model::{Currency, ListingId, Money, Options, Sku, SupplierId};
use rust_decimal::Decimal;

pub use changes::{Change, Difference};
pub use price::{Ending, Margin, NoPrice, NotAMargin, NotARounding, NotAnEnding, Reckoning, Rounding, Sum};
pub use reason::{Cannot, Kind, Off};
pub use wording::{ItemValue, NoItemValue, Wording};

use crate::Grid;
use crate::propose::assortment::Assortment;
use crate::vocabulary::Vocabulary;
use columns::{Column, columns};
use goods::{Good, goods};

/// Most rows of a table; more is no listing that a customer finds anything in.
pub const ROWS_AT_MOST: usize = 20_000;

/// What an owner wants of a listing.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// The page.
    pub listing_id: ListingId,
    /// Its title; that of its offers, where they have one and none is given.
    pub title: Option<String>,
    /// What it sells, in the order in which its goods are to stand.
    pub picks: Vec<Pick>,
    /// Of the products, only variants whose SKU (or id, where they have none) holds one of these; empty: all.
    pub sku_parts: Vec<String>,
    /// In which sizes; empty: in all.
    pub sizes: Vec<String>,
    /// In which colours, in this order; empty: in all, by name.
    pub colours: Vec<String>,
    /// The currency of the prices; `None`: that of its offers, else that of the costs.
    pub currency: Option<Currency>,
    /// What is to be left of a price; may be `None` where every price is fixed: then no loss is made.
    pub margin: Option<Margin>,
    /// How prices are written.
    pub rounding: Rounding,
    /// What has one price.
    pub one_price_for: OnePriceFor,
    /// The price of what has no price of its own.
    pub price: Option<Decimal>,
    /// What selling costs.
    pub fees: &'a Fees,
    /// The words of its options.
    pub wording: &'a Wording,
}

/// A product that a listing sells.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pick {
    /// Who makes it.
    pub supplier: SupplierId,
    /// Its name in the table of variants.
    pub product: String,
    /// What the listing calls it, where the owner has said so.
    pub name: Option<String>,
    /// Its price, where it is fixed.
    pub price: Option<Decimal>,
}

/// What has one price: the dearest variant in it decides.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub enum OnePriceFor {
    /// A good in all its sizes and colours.
    Good,
    /// A good and size in all colours.
    #[default]
    Size,
    /// Each row by itself.
    Each,
}

/// A listing's whole offer table.
#[derive(Clone, PartialEq, Debug)]
pub struct Sheet {
    /// The page.
    pub listing_id: ListingId,
    /// Its title.
    pub title: Option<String>,
    /// The currency of all prices.
    pub currency: Currency,
    /// The margin that was wanted.
    pub margin: Margin,
    /// What is sold, in the order of the rows.
    pub goods: Vec<SheetGood>,
    /// The colours; one without a name where there is none to choose.
    pub colours: Vec<String>,
    /// The rows: by good, size and colour; behind them the offers that are to be taken off.
    pub rows: Vec<Row>,
}

/// A good as the table has it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SheetGood {
    /// What it is called.
    pub name: String,
    /// Who makes it under which name, each once.
    pub products: Vec<(SupplierId, String)>,
    /// Its sizes, from small to large; one without a name where there is none to choose.
    pub sizes: Vec<String>,
    /// Which of the table's colours it has or was asked for in.
    pub colours: Vec<usize>,
}

/// One row of the table.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// What the customer picks.
    pub options: Options,
    /// Which good, size and colour, by their places; `None` of an offer that is in the table only to be taken off.
    pub place: Option<Place>,
    /// Which variant, by its place in the table of variants.
    pub variant: Option<usize>,
    /// What leads to it.
    pub sku: Option<String>,
    /// The price, also of what is off, where its good and size have one.
    pub price: Option<Money>,
    /// What is left of the price, where the cost is known.
    pub sum: Option<Sum>,
    /// Why it is not on sale.
    pub off: Option<Off>,
    /// How it differs from the offer that there is.
    pub change: Change,
}

/// Where a row stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Place {
    /// Among the goods.
    pub good: usize,
    /// Among the good's sizes.
    pub size: usize,
    /// Among the colours.
    pub colour: usize,
}

impl Sheet {
    /// Each good as a grid of rows, by their places: sizes across, colours down.
    pub fn grids(&self) -> Vec<Grid<usize>> {
        let places = self.rows.iter().enumerate().filter_map(|(at, row)| Some((row.place?, at)));
        let by_place: HashMap<(usize, usize, usize), usize> =
            places.map(|(place, at)| ((place.good, place.size, place.colour), at)).collect();
        let grid = |(good, of): (usize, &SheetGood)| {
            let cell = |size: usize, colour: usize| by_place.get(&(good, size, colour)).copied();
            let row = |colour: &usize| {
                let cells = (0..of.sizes.len()).map(|size| cell(size, *colour)).collect();
                (self.colours[*colour].clone(), cells)
            };
            Grid {
                good: of.name.clone(),
                sizes: of.sizes.clone(),
                rows: of.colours.iter().map(row).collect(),
            }
        };
        self.goods.iter().enumerate().map(grid).collect()
    }
}

/// Fills in a listing's offer table.
///
/// `offers` are those of the storefront; only the listing's play a part. Neither the order of the tables nor that of
/// their rows matters.
///
/// # Errors
/// [`Cannot`] where there is no table that would be right: what is wanted is not made, two goods would have one name,
/// or the pricing rule cannot be kept.
pub fn fill_in(
    vocabulary: &Vocabulary,
    variants: &[Variant],
    offers: &[Offer],
    wanted: &Wanted<'_>,
) -> Result<Sheet, Cannot> {
    if let Some((one, other)) = wanted.wording.same_names() {
        return Err(Cannot::SameOptionNames(one.to_owned(), other.to_owned()));
    }
    let there: Vec<&Offer> = offers.iter().filter(|offer| offer.listing_id == wanted.listing_id).collect();
    let sku_parts: Vec<String> = wanted.sku_parts.iter().map(|part| fold(part)).collect();
    let is_picked = |variant: &Variant| {
        let sku = sku_of(variant);
        let is_product = wanted.picks.iter().any(|pick| pick.is(variant));
        is_product && (sku_parts.is_empty() || sku_parts.iter().any(|part| fold(&sku).contains(part)))
    };
    let mut assortment = Assortment::of(vocabulary, variants, is_picked);
    let goods = goods(vocabulary, &mut assortment, variants, wanted)?;
    let columns = columns(&mut assortment, &goods, variants, wanted)?;
    let rows = goods.iter().map(|good| good.sizes.len()).sum::<usize>().saturating_mul(columns.len());
    if rows > ROWS_AT_MOST {
        return Err(Cannot::TooManyRows(rows));
    }
    let currency = currency(wanted, &there, variants, &goods)?;
    let is_fixed = |good: &Good| good.price.or(wanted.price).is_some();
    let margin = match wanted.margin {
        Some(margin) => margin,
        None if goods.iter().all(is_fixed) => Margin::PerUnit(Decimal::ZERO),
        None => return Err(Cannot::NoMargin),
    };
    let reckoning =
        Reckoning::new(currency, wanted.fees, margin, wanted.rounding).map_err(Cannot::NoPrice)?;
    let filling =
        Filling { variants, wanted, goods: &goods, columns: &columns, reckoning, skus: Skus::of(variants) };
    let mut rows = filling.rows(&there)?;
    changes::compare(&mut rows, &there);
    Ok(Sheet {
        listing_id: wanted.listing_id.clone(),
        title: wanted.title.clone().or_else(|| there.iter().filter_map(|offer| offer.title.clone()).min()),
        currency,
        margin,
        goods: goods.iter().enumerate().map(|(at, good)| good.of_sheet(at, &columns, variants)).collect(),
        colours: columns.into_iter().map(|column| column.written).collect(),
        rows,
    })
}

impl Pick {
    /// Whether a variant is of this product.
    fn is(&self, variant: &Variant) -> bool {
        self.supplier == variant.supplier && variant.product.as_deref() == Some(self.product.as_str())
    }
}

/// What leads to a variant: its SKU, else its id.
fn sku_of(variant: &Variant) -> String {
    variant.sku.as_ref().map_or_else(|| variant.variant_id.to_string(), |sku| sku.as_str().to_owned())
}

/// The currency of the prices: as wanted, else of the offers, else of the costs.
fn currency(
    wanted: &Wanted<'_>,
    there: &[&Offer],
    variants: &[Variant],
    goods: &[Good],
) -> Result<Currency, Cannot> {
    if let Some(currency) = wanted.currency {
        return Ok(currency);
    }
    let of_offers = there.iter().filter_map(|offer| offer.currency);
    let made = goods.iter().flat_map(|good| &good.article.made);
    let of_costs = made.filter_map(|made| variants[made.variant].currency);
    for currencies in [of_offers.collect::<Vec<_>>(), of_costs.collect()] {
        let mut different = currencies;
        different.sort_unstable();
        different.dedup();
        match different.as_slice() {
            [] => {}
            [only] => return Ok(*only),
            _ => return Err(Cannot::SeveralCurrencies(different)),
        }
    }
    Err(Cannot::NoCurrency)
}

/// Who bears which SKU, over all suppliers.
struct Skus(HashMap<String, Vec<usize>>);

impl Skus {
    fn of(variants: &[Variant]) -> Self {
        let mut skus: HashMap<String, Vec<usize>> = HashMap::new();
        for (place, variant) in variants.iter().enumerate() {
            skus.entry(fold(&sku_of(variant))).or_default().push(place);
        }
        Self(skus)
    }

    /// Another variant with the SKU of this one, the first by supplier and id.
    fn other(&self, variant: usize, variants: &[Variant]) -> Option<usize> {
        let bearers = self.0.get(&fold(&sku_of(&variants[variant])))?;
        let others = bearers.iter().copied().filter(|other| *other != variant);
        others.min_by_key(|other| (&variants[*other].supplier, &variants[*other].variant_id))
    }
}

/// All that rows follow from.
struct Filling<'a> {
    variants: &'a [Variant],
    wanted: &'a Wanted<'a>,
    goods: &'a [Good],
    columns: &'a [Column],
    reckoning: Reckoning,
    skus: Skus,
}

impl Filling<'_> {
    fn rows(&self, there: &[&Offer]) -> Result<Vec<Row>, Cannot> {
        let by_options: HashMap<&Options, &Offer> =
            there.iter().map(|offer| (&offer.options, *offer)).collect();
        let mut rows = Vec::new();
        for (at, good) in self.goods.iter().enumerate() {
            let prices = self.prices(at, good)?;
            let is_mixed = self.is_mixed(at, good);
            for (size, price) in prices.iter().enumerate() {
                for colour in 0..self.columns.len() {
                    let place = Place { good: at, size, colour };
                    rows.push(self.row(place, (*price, is_mixed), &by_options)?);
                }
            }
        }
        Ok(rows)
    }

    /// Whether several variants of a good are of one size and colour: it comes in several printed designs.
    fn is_mixed(&self, at: usize, good: &Good) -> bool {
        let colours = 0..self.columns.len();
        let mut places = (0..good.sizes.len())
            .flat_map(|size| colours.clone().map(move |colour| Place { good: at, size, colour }));
        places.any(|place| self.made(place).len() > 1)
    }

    /// The variants of a row.
    fn made(&self, place: Place) -> Vec<usize> {
        let good = &self.goods[place.good];
        let (Some(size), Some(colour)) =
            (good.sizes[place.size].place, self.columns[place.colour].places[place.good])
        else {
            return Vec::new();
        };
        good.made_in(size, colour).collect()
    }

    /// What a variant costs, where that is known in the currency of the prices.
    fn cost(&self, variant: usize) -> Option<Decimal> {
        let variant = &self.variants[variant];
        variant.unit_cost.filter(|_| variant.currency == Some(self.reckoning.currency()))
    }

    /// The price of each size of a good, where all its colours have one.
    fn prices(&self, at: usize, good: &Good) -> Result<Vec<Option<Decimal>>, Cannot> {
        if let Some(price) = good.price.or(self.wanted.price) {
            return Ok(vec![Some(price); good.sizes.len()]);
        }
        let dearest = |size: usize| {
            let cells =
                (0..self.columns.len()).flat_map(|colour| self.made(Place { good: at, size, colour }));
            cells.filter_map(|variant| self.cost(variant)).max()
        };
        let by_size: Vec<Option<Decimal>> = (0..good.sizes.len()).map(dearest).collect();
        let price = |cost: Option<Decimal>| cost.map(|cost| self.smallest(cost, good)).transpose();
        match self.wanted.one_price_for {
            OnePriceFor::Size => by_size.into_iter().map(price).collect(),
            OnePriceFor::Good => {
                let price = price(by_size.into_iter().flatten().max())?;
                Ok(vec![price; good.sizes.len()])
            }
            OnePriceFor::Each => Ok(vec![None; good.sizes.len()]),
        }
    }

    fn smallest(&self, cost: Decimal, good: &Good) -> Result<Decimal, Cannot> {
        self.reckoning.smallest_price(cost).map_err(|cause| Cannot::NoPriceFor(good.name.clone(), cause))
    }

    fn row(
        &self,
        place: Place,
        (price, is_mixed): (Option<Decimal>, bool),
        there: &HashMap<&Options, &Offer>,
    ) -> Result<Row, Cannot> {
        let good = &self.goods[place.good];
        let options = self.options(place);
        let made = self.made(place);
        // Of several, the one that the offer which there is leads to.
        let sku = there.get(&options).and_then(|offer| offer.sku.as_ref());
        let is_led_to =
            |variant: &&usize| sku.is_some() && sku == Sku::new(sku_of(&self.variants[**variant])).as_ref();
        let variant = match made.as_slice() {
            [only] => Some(*only),
            several => several.iter().find(is_led_to).copied(),
        };
        let cost = variant.and_then(|variant| self.cost(variant));
        let price = match (price, cost) {
            (None, Some(cost)) if self.wanted.one_price_for == OnePriceFor::Each => {
                Some(self.smallest(cost, good)?)
            }
            (price, _) => price,
        };
        let of_good = |cause| Cannot::NoPriceFor(good.name.clone(), cause);
        let sum = match (price, cost) {
            (Some(price), Some(cost)) => Some(self.reckoning.sum(price, cost).map_err(of_good)?),
            _ => None,
        };
        let reaches = match (price, cost) {
            (Some(price), Some(cost)) => self.reckoning.reaches(price, cost).map_err(of_good)?,
            _ => false,
        };
        let off = match variant {
            None if made.is_empty() => Some(self.not_made(place)),
            None => Some(Off::SeveralVariants(
                made.iter().map(|variant| sku_of(&self.variants[*variant])).collect(),
            )),
            // One that two designs do not share may be of either.
            Some(variant) => self.off(variant, sum, reaches).or_else(|| {
                let sku = sku_of(&self.variants[variant]);
                (is_mixed && !is_led_to(&&variant))
                    .then(|| Off::DesignUnsaid { good: good.name.clone(), sku })
            }),
        };
        Ok(Row {
            options,
            place: Some(place),
            variant,
            sku: variant.map(|variant| sku_of(&self.variants[variant])),
            price: price.map(|price| Money::new(price, self.reckoning.currency())),
            sum,
            off,
            change: Change::NoOffers,
        })
    }

    fn off(&self, variant: usize, sum: Option<Sum>, reaches: bool) -> Option<Off> {
        let row = &self.variants[variant];
        let currency = self.reckoning.currency();
        if let Some(other) = self.skus.other(variant, self.variants) {
            let other = &self.variants[other];
            let (supplier, variant_id) = (other.supplier.clone(), other.variant_id.clone());
            return Some(Off::SkuShared { sku: sku_of(row), supplier, variant_id });
        }
        if !row.available {
            return Some(Off::NotAvailable(row.supplier.clone()));
        }
        match (row.unit_cost, row.currency) {
            (None, _) => Some(Off::CostUnknown),
            (Some(cost), None) => Some(Off::CurrencyUnknown { cost }),
            (Some(cost), Some(own)) if own != currency => {
                Some(Off::CurrenciesDiffer { cost: Money::new(cost, own), currency })
            }
            _ => sum
                .filter(|_| !reaches)
                .map(|sum| Off::BelowMargin { left: sum.margin, wanted: self.margin() }),
        }
    }

    fn margin(&self) -> Margin {
        self.wanted.margin.unwrap_or(Margin::PerUnit(Decimal::ZERO))
    }

    fn not_made(&self, place: Place) -> Off {
        let good = &self.goods[place.good];
        let (size, column) = (&good.sizes[place.size], &self.columns[place.colour]);
        let good = good.name.clone();
        match (size.place, column.places[place.good]) {
            (None, _) => Off::NotInSize { good, size: size.written.clone() },
            (_, None) => Off::NotInColour { good, colour: column.written.clone() },
            _ => Off::NotTogether { good, size: size.written.clone(), colour: column.written.clone() },
        }
    }

    /// What the customer picks.
    fn options(&self, place: Place) -> Options {
        let wording = self.wanted.wording;
        let good = &self.goods[place.good];
        let mut pairs: BTreeMap<&str, &str> = BTreeMap::new();
        if self.goods.len() > 1 {
            pairs.insert(&wording.item, &good.sizes[place.size].value);
        } else if good.has_sizes() {
            pairs.insert(&wording.size, &good.sizes[place.size].written);
        }
        let column = &self.columns[place.colour];
        if let Some(name) = &column.option {
            pairs.insert(name, &column.written);
        }
        // The names are different: that was checked.
        Options::from_pairs(pairs).unwrap_or_default()
    }
}
