//! A corpus: the tables of invented shops, and `truth.csv` with the true answer for each offer.

use std::collections::BTreeMap;
use std::ops::{Deref, DerefMut};
use std::path::Path;

use model::Options;
use model::book::{Offer, Variant};

use crate::shop::{Shop, options, table};

/// All of them.
pub const ALL: [&str; 12] = [
    "tuned", "odd", "wide", "ordinary", "renamed", "owners", "assorted", "stalls", "careful", "dabblers",
    "settled", "everyday",
];

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

/// A corpus; `truth` is in the order of the offers.
pub struct Corpus {
    shop: Shop,
    pub truth: Vec<Truth>,
}

impl Deref for Corpus {
    type Target = Shop;

    fn deref(&self) -> &Shop {
        &self.shop
    }
}

impl DerefMut for Corpus {
    fn deref_mut(&mut self) -> &mut Shop {
        &mut self.shop
    }
}

/// Supplier and id of a variant, as a truth names it.
pub fn key(variant: &Variant) -> String {
    format!("{}/{}", variant.supplier, variant.variant_id)
}

impl Corpus {
    pub fn read(name: &str) -> Self {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(name);
        let shop = Shop::read(&folder);
        let mut truth: BTreeMap<(String, Options), Truth> = table(&folder.join("truth.csv"))
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
        let of_offer = |offer: &Offer| (offer.listing_id.to_string(), offer.options.clone());
        let truth = shop.offers.iter().map(|offer| truth.remove(&of_offer(offer)).unwrap()).collect();
        Self { shop, truth }
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
            Truth::Variant(of_truth) => {
                let place = self.variants.iter().position(|variant| key(variant) == *of_truth);
                place.map_or_else(String::new, |variant| self.named(variant))
            }
            other => other.status().to_owned(),
        }
    }
}

pub fn options_text(offer: &Offer) -> String {
    offer.options.iter().map(|(name, value)| format!("{name}={value}")).collect::<Vec<_>>().join(" & ")
}
