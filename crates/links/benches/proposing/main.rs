//! What it costs to propose links for a large shop: 100,000 offers, 20,000 variants.
//!
//! Beside it, the half of its listings whose products are picked, and the other half, which may sell everything.
//! `cargo xtask bench links` has another way to the answer beside it. Start reading at [`Shop`].
//!
//!     cargo bench --profile fast -p links@0.1.0

mod shop;

use std::collections::HashSet;
use std::sync::LazyLock;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use links::{Answer, Tables, Vocabulary, hold, propose};
use model::book::Offer;

use shop::{LISTINGS, OFFERS_OF_A_LISTING, PRODUCTS, Shop, VARIANTS_OF_A_PRODUCT};

/// Which shop.
const SEED: u64 = 1;

static SHOP: LazyLock<Shop> = LazyLock::new(|| {
    let shop = Shop::of(SEED);
    assert_eq!(shop.offers.len(), LISTINGS * OFFERS_OF_A_LISTING);
    assert_eq!(shop.variants.len(), PRODUCTS * VARIANTS_OF_A_PRODUCT);
    shop
});

/// The offers of listings whose products are picked, or those of the others.
fn offers(is_picked: bool) -> Vec<Offer> {
    let picked: HashSet<_> = SHOP.listing_products.iter().map(|pick| &pick.listing_id).collect();
    SHOP.offers.iter().filter(|offer| picked.contains(&offer.listing_id) == is_picked).cloned().collect()
}

fn bench(bencher: Bencher<'_, '_>, offers: &[Offer]) {
    let vocabulary = Vocabulary::built_in();
    let tables = Tables {
        offers,
        variants: &SHOP.variants,
        listing_products: &SHOP.listing_products,
        rules: &[],
        by_hand: &[],
    };
    bencher.counter(ItemsCount::new(offers.len())).bench(|| propose(&vocabulary, black_box(&tables)));
}

fn main() {
    divan::main();
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn all_listings(bencher: Bencher<'_, '_>) {
    bench(bencher, &SHOP.offers);
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn listings_with_their_products_picked(bencher: Bencher<'_, '_>) {
    bench(bencher, &offers(true));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn listings_that_may_sell_everything(bencher: Bencher<'_, '_>) {
    bench(bencher, &offers(false));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn the_variants_alone(bencher: Bencher<'_, '_>) {
    bench(bencher, &[]);
}

/// Every offer held against the variant that it is proposed to lead to.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn links_held_against_what_is_read(bencher: Bencher<'_, '_>) {
    let vocabulary = Vocabulary::built_in();
    let tables = Tables {
        offers: &SHOP.offers,
        variants: &SHOP.variants,
        listing_products: &SHOP.listing_products,
        rules: &[],
        by_hand: &[],
    };
    let proposals = propose(&vocabulary, &tables);
    let linked: Vec<(usize, usize)> = proposals
        .iter()
        .enumerate()
        .filter_map(|(offer, proposal)| match proposal.answer {
            Answer::Proposed(variant) => Some((offer, variant)),
            _ => None,
        })
        .collect();
    bencher
        .counter(ItemsCount::new(linked.len()))
        .bench(|| hold(&vocabulary, &SHOP.offers, &SHOP.variants, black_box(&linked)));
}
