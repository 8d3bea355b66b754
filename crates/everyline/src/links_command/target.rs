//! What a link is for and where it leads, as somebody wrote it, held against what is there.
//!
//! Owns how near names are offered. Must not know what is done with either. Start reading at [`offer`] and [`part`];
//! [`check_scope`] and [`check_part`] look at what a table says.

use std::collections::BTreeSet;

use digest::clean;
use ledger::{LinkPart, Product};
use model::book::{LinkScope, Offer, Variant};
use model::{ListingId, Options, Sku, SupplierId, VariantId, text};

use super::desk::Desk;
use super::said::options_text;
use crate::configuration::nearest;

/// How many names an answer lists.
const NAMED_AT_MOST: usize = 12;

/// What cannot be kept, as a row that cannot be read says it.
#[derive(Debug)]
pub(super) struct Amiss {
    /// The column of a table that is at fault.
    pub(super) column: &'static str,
    /// A clause: what is wrong.
    pub(super) found: String,
    /// A noun phrase: what was expected.
    pub(super) expected: String,
    /// What to do next.
    pub(super) hint: String,
}

impl Amiss {
    fn new(
        column: &'static str,
        found: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self { column, found: found.into(), expected: expected.into(), hint: hint.into() }
    }
}

/// A listing that is there.
pub(super) fn listing(desk: &Desk, id: &str) -> Result<ListingId, Amiss> {
    let listing_id = ListingId::new(id);
    if desk.offers_of(&listing_id).next().is_some() {
        return Ok(listing_id);
    }
    let known: BTreeSet<&str> = desk.offers.iter().map(|offer| offer.listing_id.as_str()).collect();
    let of_what = if desk.knows_offers() {
        "no offer is of a listing"
    } else {
        "nothing on sale is known, and no order line is of a listing"
    };
    Err(Amiss::new(
        "listing_id",
        format!("{of_what} {id:?}{}", near(id, known.iter().copied())),
        "the id of a listing, as the storefront writes it",
        "Check it; if the listing is new, wait until it has been read (`everyline status` says up to when).",
    ))
}

/// A SKU that something on sale, or something that was bought, bears.
pub(super) fn sku(desk: &Desk, typed: &str) -> Result<Sku, Amiss> {
    let amiss =
        |found: String| Amiss::new("sku", found, "a SKU of the storefront", "Check it, or link the offer.");
    let Some(sku) = Sku::new(typed) else { return Err(amiss("the SKU is empty".to_owned())) };
    if desk.bears(&sku) {
        return Ok(sku);
    }
    let known: BTreeSet<&str> =
        desk.offers.iter().filter_map(|offer| offer.sku.as_ref()).map(Sku::as_str).collect();
    Err(amiss(format!(
        "neither an offer nor an order line bears the SKU {typed:?}{}",
        near(typed, known.into_iter())
    )))
}

/// The one offer of a listing that has these options, as NAME=VALUE; they need not be all of them.
pub(super) fn offer<'d>(desk: &'d Desk, listing_id: &ListingId, said: &[String]) -> Result<&'d Offer, Amiss> {
    let offers: Vec<&Offer> = desk.offers.iter().filter(|offer| offer.listing_id == *listing_id).collect();
    let names: BTreeSet<String> =
        offers.iter().flat_map(|offer| offer.options.folded()).map(|(name, _)| name.to_owned()).collect();
    let mut pairs: Vec<(String, String)> = Vec::new();
    for said in said {
        // A name may have a `=` in it, as a value may.
        let cuts: Vec<(&str, &str)> =
            said.match_indices('=').map(|(at, _)| (&said[..at], &said[at + 1..])).collect();
        let known = cuts.iter().find(|(name, _)| names.contains(&text::fold(name)));
        let Some((name, value)) = known.or(cuts.first()).copied() else {
            return Err(Amiss::new(
                "options",
                format!("the option {said:?} has no ="),
                "NAME=VALUE, such as Size=Large",
                "Write it so.",
            ));
        };
        if !names.contains(&text::fold(name)) {
            let shown = shown_names(&offers);
            let found = if shown.is_empty() {
                format!("listing {listing_id} has nothing to choose, and so no option {name:?}")
            } else {
                format!("listing {listing_id} has no option {name:?}; its options are {}", shown.join(", "))
            };
            return Err(Amiss::new(
                "options",
                found,
                "an option of the listing",
                "Write it as the listing does.",
            ));
        }
        pairs.push((text::fold(name), text::fold(value)));
        if !offers.iter().any(|offer| has_all(offer, &pairs[pairs.len() - 1..])) {
            let values = values_of(&offers, &text::fold(name));
            return Err(Amiss::new(
                "options",
                format!(
                    "no offer of listing {listing_id} has {name} {value:?}{}; there is {}",
                    meant(desk, name, value, &values),
                    listed(&values)
                ),
                "a value that the listing has",
                "Write it as the listing does.",
            ));
        }
    }
    let fitting: Vec<&Offer> = offers.iter().copied().filter(|offer| has_all(offer, &pairs)).collect();
    let whole = |offer: &&&Offer| offer.options.len() == pairs.len();
    match fitting[..] {
        [only] => Ok(only),
        [] => Err(Amiss::new(
            "options",
            format!("listing {listing_id} has no offer with {} together", said.join(" and ")),
            "options that one offer has",
            "Look at what the listing offers with `everyline links check --listing`, or at the storefront.",
        )),
        _ => fitting.iter().find(whole).copied().ok_or_else(|| {
            let open: Vec<String> = shown_names(&fitting)
                .into_iter()
                .filter(|name| !pairs.iter().any(|(given, _)| *given == text::fold(name)))
                .map(|name| format!("{name} ({})", listed(&values_of(&fitting, &text::fold(&name)))))
                .collect();
            Amiss::new(
                "options",
                format!("{} offers of listing {listing_id} have {}", fitting.len(), said.join(" and ")),
                format!("what tells them apart: {}", open.join(", ")),
                "Add it with --option NAME=VALUE.",
            )
        }),
    }
}

fn has_all(offer: &Offer, pairs: &[(String, String)]) -> bool {
    pairs.iter().all(|(name, value)| offer.options.folded().any(|pair| pair == (name, value)))
}

/// The names of the options of some offers, as they are typed, by name.
fn shown_names(offers: &[&Offer]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (name, _) in offers.iter().flat_map(|offer| offer.options.iter()) {
        if !names.iter().any(|there| text::fold(there) == text::fold(name)) {
            names.push(name.to_owned());
        }
    }
    names.sort();
    names
}

/// The values of an option, as they are typed, in the order of the offers.
fn values_of(offers: &[&Offer], name: &str) -> Vec<String> {
    let mut values: Vec<String> = Vec::new();
    for offer in offers {
        let value = offer.options.iter().find(|(there, _)| text::fold(there) == name);
        if let Some((_, value)) = value
            && !values.iter().any(|there| there == value)
        {
            values.push(value.to_owned());
        }
    }
    values
}

/// `Small, Large and 3 more`.
pub(super) fn listed(names: &[String]) -> String {
    let mut shown: Vec<String> =
        names.iter().take(NAMED_AT_MOST).map(|name| clean(name.as_str()).into_owned()).collect();
    if let Some(more) = names.len().checked_sub(NAMED_AT_MOST).filter(|more| *more > 0) {
        shown.push(format!("{more} more"));
    }
    shown.join(", ")
}

/// What is offered in place of a value: what is read as the same (`2XL` for `XXL`); what is spelled nearly so only where
/// neither says a size, for the nearest size is another one.
fn meant(desk: &Desk, name: &str, value: &str, values: &[String]) -> String {
    let read = |value: &str| {
        let options = Options::from_pairs([(name, value)]).unwrap_or_default();
        links::read_options(desk.vocabulary(), Some(&options), None)
    };
    let said = read(value);
    if said.size.is_none() && said.colour.is_none() {
        return near(value, values.iter().map(String::as_str));
    }
    let same = values.iter().find(|there| read(there).says_the_same(&said));
    same.map(|same| format!("; that is {} here", clean(same.as_str()))).unwrap_or_default()
}

/// `; the nearest is X`, where one is near.
pub(super) fn near<'n>(word: &str, names: impl Iterator<Item = &'n str>) -> String {
    nearest(word, names).map(|near| format!("; the nearest is {near}")).unwrap_or_default()
}

/// A supplier and what stands behind its colon.
fn of_supplier<'s>(desk: &Desk, said: &'s str, form: &'static str) -> Result<(SupplierId, &'s str), Amiss> {
    let cuts: Vec<(&str, &str)> =
        said.match_indices(':').map(|(at, _)| (&said[..at], &said[at + 1..])).collect();
    let is_known = |(name, _): &&(&str, &str)| desk.suppliers.contains(*name);
    if let Some((name, rest)) = cuts.iter().find(is_known) {
        return Ok((SupplierId::new(*name), rest));
    }
    let known = listed(&desk.suppliers.iter().map(ToString::to_string).collect::<Vec<_>>());
    match cuts.first() {
        // Where no supplier is known at all, there is nothing to hold it against.
        Some((name, rest)) if desk.suppliers.is_empty() && !name.is_empty() => {
            Ok((SupplierId::new(*name), rest))
        }
        Some((name, _)) => Err(Amiss::new(
            "supplier",
            format!(
                "there is no supplier {name:?}{}",
                near(name, desk.suppliers.iter().map(SupplierId::as_str))
            ),
            format!("one of {known}"),
            "Write its name as the tables do.",
        )),
        None => Err(Amiss::new(
            "supplier",
            format!("{said:?} does not say whose it is"),
            format!("{form}, with one of {known}"),
            "Write it so.",
        )),
    }
}

/// A part of a link, as SUPPLIER:VARIANT, with =UNITS behind it or not, or as `own`.
pub(super) fn part(desk: &Desk, said: &str, in_force: bool) -> Result<LinkPart, Amiss> {
    if said == SupplierId::OWN {
        return Ok(LinkPart { supplier: said.into(), variant_id: None, units: 1, in_force: true });
    }
    let (supplier, rest) = of_supplier(desk, said, "SUPPLIER:VARIANT, or own where you pack it yourself")?;
    let part = |variant_id: VariantId, units| LinkPart {
        supplier: supplier.clone(),
        variant_id: Some(variant_id),
        units,
        in_force,
    };
    if let Some(id) = variant(desk, &supplier, rest) {
        return Ok(part(id, 1));
    }
    let units = rest.rsplit_once('=').and_then(|(name, units)| {
        let units: u32 = units.parse().ok().filter(|units| (1..=intake::MAX_UNITS).contains(units))?;
        Some((name, units))
    });
    if let Some((name, units)) = units
        && let Some(id) = variant(desk, &supplier, name)
    {
        return Ok(part(id, units));
    }
    let (name, _) = units.unwrap_or((rest, 1));
    Err(unknown_variant(desk, &supplier, name))
}

/// A variant by its id, or by its SKU where one alone bears it. Where variants are not known, it is taken at its word.
fn variant(desk: &Desk, supplier: &SupplierId, name: &str) -> Option<VariantId> {
    let Some(variants) = desk.variants() else {
        let has_units = name.rsplit_once('=').is_some_and(|(_, units)| units.parse::<u32>().is_ok());
        return (!name.is_empty() && !has_units).then(|| VariantId::new(name));
    };
    let rows = || variants.iter().filter(|row| row.supplier == *supplier);
    if let Some(row) = rows().find(|row| row.variant_id.as_str() == name) {
        return Some(row.variant_id.clone());
    }
    let sku = Sku::new(name)?;
    let mut bearing = rows().filter(|row| row.sku.as_ref() == Some(&sku));
    match (bearing.next(), bearing.next()) {
        (Some(only), None) => Some(only.variant_id.clone()),
        _ => None,
    }
}

fn unknown_variant(desk: &Desk, supplier: &SupplierId, name: &str) -> Amiss {
    let rows: Vec<&Variant> =
        desk.variants().unwrap_or_default().iter().filter(|row| row.supplier == *supplier).collect();
    let sku = Sku::new(name);
    let bearing = rows.iter().filter(|row| row.sku.is_some() && row.sku == sku).count();
    let found = if bearing > 1 {
        format!("{bearing} variants of {supplier} bear the SKU {name:?}")
    } else if rows.is_empty() {
        format!("no variant of {supplier} is known")
    } else {
        let ids = rows.iter().map(|row| row.variant_id.as_str());
        let skus = rows.iter().filter_map(|row| row.sku.as_ref()).map(Sku::as_str);
        format!("{supplier} has no variant {name:?}{}", near(name, ids.chain(skus)))
    };
    Amiss::new(
        "variant_id",
        found,
        format!("the id of a variant of {supplier}"),
        "`everyline links propose` says which variant an offer could lead to.",
    )
}

/// A product, as SUPPLIER:PRODUCT.
pub(super) fn product(desk: &Desk, said: &str) -> Result<Product, Amiss> {
    let (supplier, name) = of_supplier(desk, said, "SUPPLIER:PRODUCT")?;
    check_product(desk, &supplier, name)?;
    Ok(Product { supplier, product: name.to_owned() })
}

/// Whether a supplier has a product of that name.
pub(super) fn check_product(desk: &Desk, supplier: &SupplierId, name: &str) -> Result<(), Amiss> {
    let rows = desk.variants().unwrap_or_default().iter().filter(|row| row.supplier == *supplier);
    let known: BTreeSet<&str> = rows.filter_map(|row| row.product.as_deref()).collect();
    if known.contains(name) {
        return Ok(());
    }
    let names: Vec<String> = known.iter().map(|name| (*name).to_owned()).collect();
    let found = if names.is_empty() {
        format!("no product of {supplier} is known")
    } else {
        format!("{supplier} has no product {name:?}{}", near(name, known.iter().copied()))
    };
    let expected = if names.is_empty() {
        "the name of a product, as the table of variants has it".to_owned()
    } else {
        format!("one of {}", listed(&names))
    };
    Err(Amiss::new("product", found, expected, "Write its name as the table of variants does."))
}

/// Whether what a row of a table is for is there.
pub(super) fn check_scope(desk: &Desk, scope: &LinkScope) -> Result<(), Amiss> {
    match scope {
        LinkScope::Sku(typed) => sku(desk, typed.as_str()).map(drop),
        LinkScope::Listing(listing_id) => listing(desk, listing_id.as_str()).map(drop),
        LinkScope::Offer(listing_id, options) => {
            listing(desk, listing_id.as_str())?;
            if desk.offers_of(listing_id).any(|offer| offer.options == *options) {
                return Ok(());
            }
            let near = nearest_offer(desk, listing_id, options);
            let near =
                near.map(|near| format!("; the nearest has {}", options_text(near))).unwrap_or_default();
            Err(Amiss::new(
                "options",
                format!("listing {listing_id} has no offer with {}{near}", options_text(options)),
                "the options of one of its offers, all of them",
                "Write them as the storefront does.",
            ))
        }
    }
}

/// The options of the offer that has most of some options.
fn nearest_offer<'d>(desk: &'d Desk, listing_id: &'d ListingId, options: &Options) -> Option<&'d Options> {
    let wanted: BTreeSet<(&str, &str)> = options.folded().collect();
    let names: BTreeSet<&str> = options.folded().map(|(name, _)| name).collect();
    let shared = |offer: &&Options| {
        let pairs = offer.folded().filter(|pair| wanted.contains(pair)).count();
        (pairs, offer.folded().filter(|(name, _)| names.contains(name)).count())
    };
    // Of several that are as near, the first by options.
    let mut all: Vec<&Options> = desk.offers_of(listing_id).map(|offer| &offer.options).collect();
    all.sort();
    all.into_iter().rev().max_by_key(shared)
}

/// Whether where a row of a table leads is there.
pub(super) fn check_part(desk: &Desk, part: &LinkPart) -> Result<(), Amiss> {
    let Some(variant_id) = part.variant_id.as_ref().filter(|_| !part.supplier.is_own()) else {
        return Ok(());
    };
    if !desk.suppliers.is_empty() && !desk.suppliers.contains(&part.supplier) {
        let name = part.supplier.as_str();
        return Err(of_supplier(desk, &format!("{name}:"), "").err().unwrap_or_else(|| {
            Amiss::new("supplier", format!("there is no supplier {name:?}"), "a supplier", "Check its name.")
        }));
    }
    if desk.variants().is_some() && desk.variant(part).is_none() {
        return Err(unknown_variant(desk, &part.supplier, variant_id.as_str()));
    }
    Ok(())
}
