//! A corpus: exchange files, and `truth.csv` with the true answer for each offer.

use std::collections::BTreeMap;
use std::path::Path;

use links::Tables;
use model::book::{ListingProduct, Offer, Variant};
use model::{ListingId, Options, Sku, SupplierId, VariantId};

/// A row by its columns.
type Row = BTreeMap<String, String>;

/// What is true of an offer.
pub enum Truth {
    /// It is this variant: supplier and variant id.
    Variant(String),
    /// Only the owner can tell.
    Choose,
    /// No supplier makes it.
    Nothing,
}

impl Truth {
    pub fn status(&self) -> &'static str {
        match self {
            Self::Variant(_) => "proposed",
            Self::Choose => "choose",
            Self::Nothing => "none",
        }
    }
}

/// The tables of a corpus; `truth` is in the order of the offers.
pub struct Corpus {
    pub offers: Vec<Offer>,
    pub variants: Vec<Variant>,
    pub listing_products: Vec<ListingProduct>,
    pub truth: Vec<Truth>,
}

impl Corpus {
    pub fn read(name: &str) -> Self {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(name);
        let table = |name: &str| -> Vec<Row> {
            let mut reader = csv::Reader::from_path(folder.join(name)).unwrap();
            reader.deserialize().map(Result::unwrap).collect()
        };
        let offers: Vec<Offer> = table("offers.csv").iter().map(offer).collect();
        let mut truth: BTreeMap<(String, Options), Truth> = table("truth.csv")
            .into_iter()
            .map(|row| {
                let truth = match row["status"].as_str() {
                    "proposed" => Truth::Variant(format!("{}/{}", row["supplier"], row["variant_id"])),
                    "choose" => Truth::Choose,
                    "none" => Truth::Nothing,
                    other => panic!("{other}"),
                };
                ((row["listing_id"].clone(), options(&row)), truth)
            })
            .collect();
        let truth = offers
            .iter()
            .map(|offer| truth.remove(&(offer.listing_id.to_string(), offer.options.clone())).unwrap());
        Self {
            truth: truth.collect(),
            offers,
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

    /// A variant in the supplier's words.
    pub fn named(&self, variant: usize) -> String {
        let variant = &self.variants[variant];
        let options = variant.options.iter().flat_map(Options::iter).map(|(_, value)| value);
        let words = variant.product.as_deref().into_iter().chain(options);
        words.collect::<Vec<_>>().join(" | ")
    }

    pub fn truth_text(&self, truth: &Truth) -> String {
        match truth {
            Truth::Variant(key) => {
                let is_it =
                    |variant: &Variant| format!("{}/{}", variant.supplier, variant.variant_id) == *key;
                self.variants.iter().position(is_it).map_or_else(String::new, |variant| self.named(variant))
            }
            other => other.status().to_owned(),
        }
    }
}

pub fn options_text(offer: &Offer) -> String {
    offer.options.iter().map(|(name, value)| format!("{name}={value}")).collect::<Vec<_>>().join(" & ")
}

fn text(row: &Row, column: &str) -> Option<String> {
    row.get(column).filter(|text| !text.is_empty()).cloned()
}

fn options(row: &Row) -> Options {
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
