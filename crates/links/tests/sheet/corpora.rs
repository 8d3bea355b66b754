//! Tables filled in for every listing of the corpora of proposals whose products were picked: what is proposed for
//! their rows must be the variants that the rows were made of.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;

use links::sheet::{Cannot, Margin, Pick, Wording, fill_in};
use links::{Answer, Tables, Vocabulary, propose};
use model::book::{ListingProduct, Offer, Variant};
use model::rules::Fees;
use model::{ListingId, SupplierId};
use rust_decimal::Decimal;

use crate::kit;
use crate::shop::Shop;

type Products = BTreeSet<(SupplierId, String)>;

/// Most misses that a failing test prints.
const SHOWN_AT_MOST: usize = 20;

/// Fills in a table for each set of products that a listing of a corpus sells. Of the rows, at most `missed` may be
/// proposed nothing, and none may be proposed another variant than their own.
fn check(name: &str, rows_at_least: usize, missed: usize) {
    let vocabulary = Vocabulary::built_in();
    let shop = Shop::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(name));
    let mut picked: BTreeMap<&ListingId, Products> = BTreeMap::new();
    for pick in &shop.listing_products {
        picked.entry(&pick.listing_id).or_default().insert((pick.supplier.clone(), pick.product.clone()));
    }
    let (fees, wording) = (Fees::default(), Wording::default());
    let mut seen: BTreeSet<&Products> = BTreeSet::new();
    let mut listing_products: Vec<ListingProduct> = Vec::new();
    let mut all: Vec<(Offer, String)> = Vec::new();
    for (listing_id, products) in picked.iter().filter(|(_, products)| seen.insert(products)) {
        let picks = products.iter().map(|(supplier, product)| Pick {
            supplier: supplier.clone(),
            product: product.clone(),
            name: None,
            price: None,
        });
        let wanted = links::sheet::Wanted {
            listing_id: (*listing_id).clone(),
            title: None,
            picks: picks.collect(),
            currency: Some(kit::eur()),
            margin: Some(Margin::PerUnit(Decimal::ZERO)),
            ..kit::wanted(&[], &fees, &wording)
        };
        // What other suppliers make plays no part, and takes its time.
        let suppliers: BTreeSet<&SupplierId> = products.iter().map(|(supplier, _)| supplier).collect();
        let variants: Vec<Variant> =
            shop.variants.iter().filter(|variant| suppliers.contains(&variant.supplier)).cloned().collect();
        let sheet = match fill_in(&vocabulary, &variants, &[], &wanted) {
            Ok(sheet) => sheet,
            // Some listings name products that no supplier has.
            Err(Cannot::NoVariants) => continue,
            Err(cannot) => panic!("{listing_id}: {cannot}"),
        };
        all.extend(kit::offers(&sheet).into_iter().map(|(offer, variant)| (offer, key(&variants[variant]))));
        listing_products.extend(products.iter().map(|(supplier, product)| ListingProduct {
            listing_id: (*listing_id).clone(),
            supplier: supplier.clone(),
            product: product.clone(),
        }));
    }
    let (offers, made): (Vec<Offer>, Vec<String>) = all.into_iter().unzip();
    let tables = Tables {
        offers: &offers,
        variants: &shop.variants,
        listing_products: &listing_products,
        rules: &[],
        by_hand: &[],
    };
    let (mut misses, mut wrong) = (0, 0);
    let mut text = String::new();
    for ((offer, made), proposal) in offers.iter().zip(&made).zip(propose(&vocabulary, &tables)) {
        match &proposal.answer {
            Answer::Proposed(variant) if key(&shop.variants[*variant]) == *made => continue,
            Answer::Proposed(_) => wrong += 1,
            Answer::Choose(_) | Answer::Nothing => misses += 1,
        }
        if misses + wrong <= SHOWN_AT_MOST {
            let why: Vec<String> = proposal.why.iter().map(ToString::to_string).collect();
            writeln!(text, "{} {:?} of {made}: {}", offer.listing_id, offer.options, why.join("; ")).unwrap();
        }
    }
    let rows = offers.len();
    assert!(
        rows >= rows_at_least && misses <= missed && wrong == 0,
        "{name}: of {rows} rows {misses} are proposed nothing and {wrong} another variant\n{text}"
    );
}

fn key(variant: &Variant) -> String {
    format!("{}/{}", variant.supplier, variant.variant_id)
}

#[test]
fn tables_for_tidy_and_sloppy_sellers_are_read_again() {
    check("tuned", 6_600, 7);
}

#[test]
fn tables_for_suppliers_of_odd_habits_are_read_again() {
    check("odd", 4_500, 1);
}

#[test]
fn tables_for_european_sellers_are_read_again() {
    check("wide", 7_300, 7);
}

#[test]
fn tables_for_ordinary_shops_are_read_again() {
    check("ordinary", 9_400, 47);
}

#[test]
fn tables_for_sellers_who_rename_are_read_again() {
    check("renamed", 4_600, 0);
}

#[test]
fn tables_for_owners_of_different_character_are_read_again() {
    check("owners", 3_400, 0);
}
