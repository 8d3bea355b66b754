//! Whether the rows of an offer table lead where they say, once the storefront has them.
//!
//! Asked of the matcher, as the next round will ask it, with all links that there are. Must not know how a table is filled
//! in. Start reading at [`warnings`].

use std::collections::BTreeMap;

use digest::{clean, say};
use links::sheet::{Row, Sheet};
use matcher::{Facts, Whole};
use model::book::{Offer, Variant};
use model::finding::Evidence;
use model::{Book, Sku};

use super::super::Known;
use super::super::said::{counted, options_text};
use crate::readings;

/// How many findings are told in full.
const TOLD_AT_MOST: usize = 8;

/// A row as the storefront will have it.
fn offer(sheet: &Sheet, row: &Row) -> Offer {
    Offer {
        listing_id: sheet.listing_id.clone(),
        sku: row.sku.clone().and_then(Sku::new),
        title: sheet.title.clone(),
        options: row.options.clone(),
        price: row.price.map(|price| price.amount()),
        currency: Some(sheet.currency),
        buyable: true,
    }
}

/// What would be wrong with the rows that are on sale, and which of them would lead elsewhere.
pub(super) fn warnings(sheet: &Sheet, known: &Known, variants: &[Variant]) -> Vec<String> {
    let on_sale: Vec<&Row> = sheet.rows.iter().filter(|row| row.off.is_none()).collect();
    let book = Book {
        offers: Some(on_sale.iter().map(|row| offer(sheet, row)).collect()),
        variants: Some(variants.to_vec()),
        links: known.book().links.clone(),
        owner_links: known.book().owner_links.clone(),
        ..Book::default()
    };
    let mut led: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, variant) in matcher::links_of_offers(&book) {
        led.entry(at).or_default().push(variant);
    }
    let elsewhere: Vec<&&Row> = on_sale
        .iter()
        .enumerate()
        .filter(|(at, row)| led.get(at).map(Vec::as_slice) != row.variant.as_ref().map(std::slice::from_ref))
        .map(|(_, row)| row)
        .collect();
    let mut warnings: Vec<String> = Vec::new();
    if let [first, ..] = elsewhere.as_slice() {
        warnings.push(format!(
            "{} would not lead where the SKU does, such as {}: a link that you or a source made outranks it; take it away, \
             or make it the same",
            counted(elsewhere.len(), "row on sale", "rows on sale"),
            options_text(&first.options),
        ));
    }
    let readings = readings::read_book(&book, &known.vocabulary);
    let of_offers =
        matcher::reconcile_offers(&book, Facts::of_tables(&readings, &[]), known.rules(), known.now);
    let mut findings = of_offers.outcome(&Whole::of(&book), known.now).findings;
    // A link that serves no row is another listing's.
    findings.retain(|finding| match &finding.evidence {
        Evidence::Unusable(unusable) => !unusable.offers.is_empty(),
        _ => true,
    });
    warnings.extend(
        findings
            .iter()
            .take(TOLD_AT_MOST)
            .map(|finding| format!("{}: {}", finding.check.word(), clean(say(finding, known.zone)))),
    );
    if let Some(more) = findings.len().checked_sub(TOLD_AT_MOST).filter(|more| *more > 0) {
        warnings.push(format!("and {more} more findings of these offers"));
    }
    warnings
}
