//! Invented products and what is wanted of a listing of them, in few words.

use links::sheet::{Margin, OnePriceFor, Pick, Rounding, Sheet, Wanted, Wording};
use links::{Answer, Tables, Vocabulary, propose};
use model::book::{ListingProduct, Offer, Variant};
use model::rules::Fees;
use model::{Currency, Options, Sku};
use rust_decimal::Decimal;

pub fn eur() -> Currency {
    "EUR".parse().unwrap()
}

pub fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

/// One variant, in EUR, with its id as SKU.
pub fn variant(id: &str, product: &str, options: &[(&str, &str)], cost: &str) -> Variant {
    Variant {
        supplier: "alder-print".into(),
        variant_id: id.into(),
        sku: Sku::new(format!("S-{id}")),
        product: Some(product.to_owned()),
        options: Options::from_pairs(options.iter().copied()).ok(),
        unit_cost: Some(decimal(cost)),
        currency: Some(eur()),
        available: true,
    }
}

/// A product in all of some sizes and colours; ids `BEGIN-SIZE-COLOUR`.
pub fn product(begin: &str, product: &str, sizes: &[&str], colours: &[&str], cost: &str) -> Vec<Variant> {
    let or_none = |all: &[&str]| {
        if all.is_empty() { vec![String::new()] } else { all.iter().map(ToString::to_string).collect() }
    };
    let mut variants = Vec::new();
    for size in or_none(sizes) {
        for colour in or_none(colours) {
            let options = [("Size", size.as_str()), ("Colour", colour.as_str())];
            let options: Vec<(&str, &str)> =
                options.into_iter().filter(|(_, value)| !value.is_empty()).collect();
            variants.push(variant(&format!("{begin}-{size}-{colour}"), product, &options, cost));
        }
    }
    variants
}

pub fn pick(product: &str) -> Pick {
    Pick { supplier: "alder-print".into(), product: product.to_owned(), name: None, price: None }
}

/// What is wanted of a listing of some products: 40 per cent of the price, to the cent, no fees.
pub fn wanted<'a>(products: &[&str], fees: &'a Fees, wording: &'a Wording) -> Wanted<'a> {
    Wanted {
        listing_id: "L1".into(),
        title: Some("Otter at the stove".to_owned()),
        picks: products.iter().map(|product| pick(product)).collect(),
        sku_parts: Vec::new(),
        sizes: Vec::new(),
        colours: Vec::new(),
        currency: None,
        margin: Some(Margin::PercentOfPrice(decimal("40"))),
        rounding: Rounding::SmallestUnit,
        one_price_for: OnePriceFor::Size,
        price: None,
        fees,
        wording,
    }
}

/// The rows as `Item: Large apron, Colour: Moss | S-… | 20.00 | why it is off`.
pub fn shown(sheet: &Sheet) -> Vec<String> {
    sheet
        .rows
        .iter()
        .map(|row| {
            let options: Vec<String> =
                row.options.iter().map(|(name, value)| format!("{name}: {value}")).collect();
            let price = row.price.map_or_else(String::new, |price| price.amount().to_string());
            let off = row.off.as_ref().map_or_else(String::new, ToString::to_string);
            format!("{} | {} | {price} | {off}", options.join(", "), row.sku.clone().unwrap_or_default())
        })
        .collect()
}

/// The offers of a table's made rows, each with its variant's place.
pub fn offers(sheet: &Sheet) -> Vec<(Offer, usize)> {
    let made = sheet.rows.iter().filter_map(|row| Some((row, row.variant?)));
    let offer = |(row, variant): (&links::sheet::Row, usize)| {
        let offer = Offer {
            listing_id: sheet.listing_id.clone(),
            sku: None,
            title: sheet.title.clone(),
            options: row.options.clone(),
            price: None,
            currency: None,
            buyable: true,
        };
        (offer, variant)
    };
    made.map(offer).collect()
}

/// What is proposed for a table's made rows, without their SKUs: each must be its own variant. How many there were.
pub fn read_again(sheet: &Sheet, wanted: &Wanted<'_>, variants: &[Variant]) -> usize {
    let (offers, made): (Vec<Offer>, Vec<usize>) = offers(sheet).into_iter().unzip();
    let listing_products: Vec<ListingProduct> = wanted
        .picks
        .iter()
        .map(|pick| ListingProduct {
            listing_id: sheet.listing_id.clone(),
            supplier: pick.supplier.clone(),
            product: pick.product.clone(),
        })
        .collect();
    let tables =
        Tables { offers: &offers, variants, listing_products: &listing_products, rules: &[], by_hand: &[] };
    for ((offer, variant), proposal) in
        offers.iter().zip(&made).zip(propose(&Vocabulary::built_in(), &tables))
    {
        let why: Vec<String> = proposal.why.iter().map(ToString::to_string).collect();
        assert_eq!(proposal.answer, Answer::Proposed(*variant), "{:?}: {}", offer.options, why.join("; "));
    }
    offers.len()
}
