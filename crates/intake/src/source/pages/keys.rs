//! Which records a page has.
//!
//! Start reading at [`of`].

use model::book::LinkScope;
use model::{Book, Options, Sku};
use sha2::{Digest, Sha256};

use crate::tables::Table;

/// The keys of the rows of one table, sorted, each as 64 bits of a digest: the same in every run and version.
pub(super) fn of(table: Table, rows: &Book) -> Vec<u64> {
    let mut keys = Keys::default();
    match table {
        Table::Orders => rows.orders.iter().for_each(|row| keys.add([row.order_id.as_str()])),
        Table::OrderLines => {
            rows.order_lines.iter().for_each(|row| keys.add([row.order_id.as_str(), row.line_id.as_str()]));
        }
        Table::Offers => rows.offers.iter().flatten().for_each(|row| {
            keys.add([row.listing_id.as_str()].into_iter().chain(options(&row.options)));
        }),
        Table::Variants => rows.variants.iter().flatten().for_each(|row| {
            keys.add([row.supplier.as_str(), row.variant_id.as_str()]);
        }),
        Table::ListingProducts => rows.listing_products.iter().flatten().for_each(|row| {
            keys.add([row.listing_id.as_str(), row.supplier.as_str(), &row.product]);
        }),
        Table::Links => rows.links.iter().flatten().for_each(|row| {
            let variant = row.variant_id.as_ref().map_or("", |variant| variant.as_str());
            let part = [row.supplier.as_str(), variant];
            match &row.scope {
                LinkScope::Offer(listing, chosen) => {
                    keys.add(part.into_iter().chain(["offer", listing.as_str()]).chain(options(chosen)));
                }
                LinkScope::Sku(sku) => keys.add(part.into_iter().chain(["sku", Sku::folded(sku)])),
                LinkScope::Listing(listing) => {
                    keys.add(part.into_iter().chain(["listing", listing.as_str()]))
                }
            }
        }),
        Table::Submissions => rows.submissions.iter().flatten().for_each(|row| {
            keys.add([row.supplier.as_str(), row.submission_id.as_str()]);
        }),
        Table::SubmissionLines => rows.submission_lines.iter().flatten().for_each(|row| {
            keys.add([row.supplier.as_str(), row.submission_id.as_str(), row.line_id.as_str()]);
        }),
        Table::Parcels => rows.parcels.iter().flatten().for_each(|row| {
            keys.add([row.supplier.as_str(), row.parcel_id.as_str()]);
        }),
        Table::ParcelLines => rows.parcel_lines.iter().flatten().for_each(|row| {
            keys.add([row.supplier.as_str(), row.parcel_id.as_str(), row.submission_line_id.as_str()]);
        }),
        Table::Ties => rows.ties.iter().flatten().for_each(|row| {
            let line = row.submission_line_id.as_ref().map_or("", |line| line.as_str());
            keys.add([
                row.order_id.as_str(),
                row.line_id.as_str(),
                row.supplier.as_str(),
                row.submission_id.as_str(),
                line,
            ]);
        }),
    }
    keys.0.sort_unstable();
    keys.0.dedup();
    keys.0
}

#[derive(Default)]
struct Keys(Vec<u64>);

impl Keys {
    fn add<'t>(&mut self, texts: impl IntoIterator<Item = &'t str>) {
        let mut digest = Sha256::new();
        for text in texts {
            digest.update((text.len() as u64).to_be_bytes());
            digest.update(text.as_bytes());
        }
        let digest = digest.finalize();
        self.0.push(digest.iter().take(8).fold(0, |all, byte| (all << 8) | u64::from(*byte)));
    }
}

/// Names and values, in an order that does not depend on how they were given.
fn options(options: &Options) -> impl Iterator<Item = &str> {
    let mut pairs: Vec<(&str, &str)> = options.iter().collect();
    pairs.sort_unstable();
    pairs.into_iter().flat_map(|(name, value)| [name, value])
}

/// How many of some keys are among others. Both are sorted.
pub(super) fn shared(keys: &[u64], others: &[u64]) -> usize {
    keys.iter().filter(|key| others.binary_search(key).is_ok()).count()
}
