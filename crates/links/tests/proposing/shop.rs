//! The tables of a shop as they stand in a folder: `offers.csv`, `variants.csv` and `listing_products.csv`.

use std::collections::BTreeMap;
use std::path::Path;

use links::Tables;
use model::book::{ListingProduct, Offer, Variant};
use model::{ListingId, Options, Sku, SupplierId, VariantId};

/// A row by its columns.
pub type Row = BTreeMap<String, String>;

/// What links are proposed from.
pub struct Shop {
    pub offers: Vec<Offer>,
    pub variants: Vec<Variant>,
    pub listing_products: Vec<ListingProduct>,
}

impl Shop {
    pub fn read(folder: &Path) -> Self {
        let table = |name: &str| table(&folder.join(name));
        Self {
            offers: table("offers.csv").iter().map(offer).collect(),
            variants: table("variants.csv").iter().map(variant).collect(),
            listing_products: table("listing_products.csv")
                .iter()
                .map(|row| ListingProduct {
                    listing_id: ListingId::new(&row["listing_id"]),
                    supplier: SupplierId::new(&row["supplier"]),
                    product: row["product"].clone(),
                })
                .collect(),
        }
    }

    pub fn tables(&self) -> Tables<'_> {
        Tables {
            offers: &self.offers,
            variants: &self.variants,
            listing_products: &self.listing_products,
            rules: &[],
            by_hand: &[],
        }
    }
}

pub fn table(path: &Path) -> Vec<Row> {
    csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect()
}

fn text(row: &Row, column: &str) -> Option<String> {
    row.get(column).filter(|text| !text.is_empty()).cloned()
}

pub fn options(row: &Row) -> Options {
    let json = text(row, "options").unwrap_or_else(|| "{}".to_owned());
    let pairs: BTreeMap<String, String> = serde_json::from_str(&json).unwrap();
    let columns = row.iter().filter_map(|(name, value)| {
        let name = name.strip_prefix("option.")?;
        (!value.is_empty()).then(|| (name.to_owned(), value.clone()))
    });
    Options::from_pairs(pairs.into_iter().chain(columns)).unwrap()
}

fn offer(row: &Row) -> Offer {
    Offer {
        listing_id: ListingId::new(&row["listing_id"]),
        sku: text(row, "sku").and_then(Sku::new),
        title: text(row, "title"),
        options: options(row),
        price: None,
        currency: None,
        buyable: true,
    }
}

fn variant(row: &Row) -> Variant {
    Variant {
        supplier: SupplierId::new(&row["supplier"]),
        variant_id: VariantId::new(&row["variant_id"]),
        sku: text(row, "sku").and_then(Sku::new),
        product: text(row, "product"),
        options: Some(options(row)),
        unit_cost: None,
        currency: None,
        available: true,
    }
}
