//! Which records a page has, and how each stood.
//!
//! A record that has moved to another page has changed, so that one which stands as it stood is where it was among those
//! that did not move. Of tables whose rows do not say when they changed, that cannot be told. Start reading at [`of`].

use model::book::LinkScope;
use model::{Book, Options, Sku, When};
use sha2::{Digest, Sha256};

use crate::tables::Table;

/// A record: its key, and the key with the time of its last change, each as 64 bits of a digest that is the same in every
/// run and version.
pub(crate) type Record = (u64, u64);

/// The rows of one table, sorted.
pub(super) fn of(table: Table, rows: &Book) -> Vec<Record> {
    let mut keys = Keys::default();
    match table {
        Table::Orders => {
            rows.orders.iter().for_each(|row| keys.add_state([row.order_id.as_str()], row.updated_at));
        }
        Table::OrderLines => {
            rows.order_lines.iter().for_each(|row| {
                keys.add_state([row.order_id.as_str(), row.line_id.as_str()], row.updated_at);
            });
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
            keys.add_state([row.supplier.as_str(), row.submission_id.as_str()], row.updated_at);
        }),
        Table::SubmissionLines => rows.submission_lines.iter().flatten().for_each(|row| {
            let key = [row.supplier.as_str(), row.submission_id.as_str(), row.line_id.as_str()];
            keys.add_state(key, row.updated_at);
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
        Table::GoodRules => {}
    }
    keys.0.sort_unstable();
    keys.0.dedup();
    keys.0
}

#[derive(Default)]
struct Keys(Vec<Record>);

impl Keys {
    fn add<'t>(&mut self, key: impl IntoIterator<Item = &'t str>) {
        self.add_state(key, None);
    }

    fn add_state<'t>(&mut self, key: impl IntoIterator<Item = &'t str>, changed: Option<When>) {
        let mut digest = Sha256::new();
        let mut add = |text: &str| {
            digest.update((text.len() as u64).to_be_bytes());
            digest.update(text.as_bytes());
            bits(&digest)
        };
        let key = key.into_iter().fold(0, |_, text| add(text));
        let state = changed.map_or(key, |changed| add(&changed.begins().to_rfc3339()));
        self.0.push((key, state));
    }
}

fn bits(digest: &Sha256) -> u64 {
    let digest = digest.clone().finalize();
    digest.iter().take(8).fold(0, |all, byte| (all << 8) | u64::from(*byte))
}

/// Names and values, in an order that does not depend on how they were given.
fn options(options: &Options) -> impl Iterator<Item = &str> {
    let mut pairs: Vec<(&str, &str)> = options.iter().collect();
    pairs.sort_unstable();
    pairs.into_iter().flat_map(|(name, value)| [name, value])
}

/// How many of some records are among others, and stand as they stood. Both are sorted.
pub(super) fn shared(records: &[Record], others: &[Record]) -> usize {
    records.iter().filter(|record| others.binary_search(record).is_ok()).count()
}

/// Whether the records are the same, whether they have changed or not. Both are sorted.
pub(crate) fn are_the_same(records: &[Record], others: &[Record]) -> bool {
    records.iter().map(|(key, _)| key).eq(others.iter().map(|(key, _)| key))
}
