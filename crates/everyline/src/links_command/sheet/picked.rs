//! What a new listing sells, as somebody named it: products of suppliers, sizes and colours, held against what is made.
//!
//! Must not know prices but as they are typed. Start reading at [`picks`].

use std::collections::{BTreeMap, BTreeSet};

use digest::clean;
use links::sheet::Pick;
use model::book::Variant;
use model::text::fold;
use model::{Book, ListingId, SupplierId, money};
use rust_decimal::Decimal;

use super::super::target::{listed, near};
use super::NOTHING_FILLED_IN;
use crate::trouble::Trouble;

/// How a product is named on the command line.
const FORM: &str =
    "SUPPLIER:PRODUCT, perhaps with =NAME and @PRICE behind it, such as 'alder-print:Apron=Chef apron@29.95'";

/// The products that there are, by supplier.
type Products<'v> = BTreeMap<SupplierId, BTreeSet<&'v str>>;

fn products(variants: &[Variant]) -> Products<'_> {
    let mut all: Products<'_> = BTreeMap::new();
    for variant in variants {
        let of_supplier = all.entry(variant.supplier.clone()).or_default();
        of_supplier.extend(variant.product.as_deref());
    }
    all
}

fn trouble(cause: impl Into<String>, help: impl Into<String>) -> Trouble {
    Trouble::new(NOTHING_FILLED_IN, clean(cause.into())).help(clean(help.into()))
}

/// The products that are named, else those that the owner picked for the listing.
///
/// # Errors
/// Where one is not there, or none is picked.
pub(super) fn picks(
    said: &[String],
    listing_id: &ListingId,
    book: &Book,
    variants: &[Variant],
) -> Result<Vec<Pick>, Trouble> {
    let known = products(variants);
    if said.is_empty() {
        return of_listing(listing_id, book, &known);
    }
    let mut picks: Vec<Pick> = Vec::new();
    for said in said {
        let pick = pick(said, &known)?;
        if picks.iter().any(|there| (&there.supplier, &there.product) == (&pick.supplier, &pick.product)) {
            return Err(trouble(
                format!("{:?} of {} is named twice", pick.product, pick.supplier),
                "name each product once; its sizes and colours are rows of it",
            ));
        }
        picks.push(pick);
    }
    Ok(picks)
}

fn of_listing(listing_id: &ListingId, book: &Book, known: &Products<'_>) -> Result<Vec<Pick>, Trouble> {
    let rows = book.listing_products.iter().flatten().filter(|row| row.listing_id == *listing_id);
    // The order of a table never matters.
    let rows: BTreeSet<(&SupplierId, &str)> = rows.map(|row| (&row.supplier, row.product.as_str())).collect();
    if rows.is_empty() {
        let all =
            known.iter().flat_map(|(supplier, names)| names.iter().map(move |n| format!("{supplier}:{n}")));
        let all: Vec<String> = all.collect();
        return Err(trouble(
            format!("nobody has said what listing {listing_id} sells: listing_products has no row for it"),
            format!("name its products with --product; there are {}", listed(&all)),
        ));
    }
    let mut picks: Vec<Pick> = Vec::new();
    for (supplier, product) in rows {
        let names = known.get(supplier).cloned().unwrap_or_default();
        if !names.contains(product) {
            return Err(trouble(
                format!(
                    "listing_products says that {listing_id} sells {product:?} of {supplier}, and no variant is of \
                     that{}",
                    near(product, names.iter().copied())
                ),
                "mend that row, or name with --product what the listing is to sell",
            ));
        }
        picks.push(Pick { supplier: supplier.clone(), product: product.to_owned(), name: None, price: None });
    }
    Ok(picks)
}

/// One product as it is named.
fn pick(said: &str, known: &Products<'_>) -> Result<Pick, Trouble> {
    // A supplier's name may have a colon in it, as a product's may.
    let mut cuts = said.match_indices(':').map(|(at, _)| (&said[..at], &said[at + 1..]));
    let of_known = cuts.clone().find_map(|(name, rest)| Some((known.get_key_value(name)?, rest)));
    let Some(((supplier, names), rest)) = of_known else {
        let suppliers: Vec<String> = known.keys().map(ToString::to_string).collect();
        let known_are = format!("known suppliers are {}", listed(&suppliers));
        return Err(match cuts.next() {
            Some((name, _)) => trouble(
                format!(
                    "--product {said:?}: there is no supplier {name:?}{}",
                    near(name, suppliers.iter().map(String::as_str))
                ),
                known_are,
            ),
            None => trouble(
                format!("--product {said:?} does not say whose product it is"),
                format!("write {FORM}; {known_are}"),
            ),
        });
    };
    // A product's name may have a `=` or an `@` in it: the longest name that is one counts.
    let ends = rest.char_indices().filter(|(_, c)| matches!(c, '=' | '@')).map(|(at, _)| at);
    let mut ends: Vec<usize> = ends.chain([rest.len()]).collect();
    ends.reverse();
    let found = ends.iter().find_map(|end| Some((product(&rest[..*end], names)?, &rest[*end..])));
    let Some((product, more)) = found else {
        let name = rest[..ends.last().copied().unwrap_or_default()].trim();
        let all: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        return Err(trouble(
            format!(
                "--product {said:?}: {supplier} has no product {name:?}{}",
                near(name, names.iter().copied())
            ),
            format!("{supplier} has {}", listed(&all)),
        ));
    };
    let (name, price) = name_and_price(said, more)?;
    Ok(Pick { supplier: supplier.clone(), product: product.to_owned(), name, price })
}

/// A product by its name: to the letter, else in any case and spacing where that is clear.
fn product<'n>(typed: &str, names: &BTreeSet<&'n str>) -> Option<&'n str> {
    if let Some(name) = names.get(typed) {
        return Some(name);
    }
    let wanted = fold(typed);
    let mut alike = names.iter().filter(|name| fold(name) == wanted);
    match (alike.next(), alike.next()) {
        (Some(only), None) => Some(only),
        _ => None,
    }
}

/// What stands behind a product's name: `=Chef apron`, `@29.95`, both or nothing.
fn name_and_price(said: &str, more: &str) -> Result<(Option<String>, Option<Decimal>), Trouble> {
    // An `@` in a name is not followed by a digit.
    let is_price = |text: &str| {
        text.trim().is_empty() || text.trim().starts_with(|c: char| c.is_ascii_digit() || "-.".contains(c))
    };
    let (name, price) = match more.rsplit_once('@') {
        Some((name, price)) if is_price(price) || name.is_empty() => (name, Some(price.trim())),
        _ => (more, None),
    };
    let amount = |text: &str| {
        let amount = money::parse_amount(text).filter(|amount| !amount.is_sign_negative());
        amount.ok_or_else(|| {
            trouble(
                format!("--product {said:?}: {text:?} is no price"),
                format!("expected is {}, zero or more, behind the @", money::AMOUNT_EXPECTED),
            )
        })
    };
    let price = price.map(amount).transpose()?;
    match name.strip_prefix('=').map(str::trim) {
        Some("") => {
            Err(trouble(format!("--product {said:?} has no name behind its ="), format!("write {FORM}")))
        }
        Some(name) => Ok((Some(name.to_owned()), price)),
        None => Ok((None, price)),
    }
}

/// An error where no variant of the picked products has a text in its SKU.
pub(super) fn refuse_unborne(parts: &[String], picks: &[Pick], variants: &[Variant]) -> Result<(), Trouble> {
    let is_picked = |variant: &&Variant| {
        picks.iter().any(|pick| {
            pick.supplier == variant.supplier && variant.product.as_deref() == Some(pick.product.as_str())
        })
    };
    let sku = |variant: &Variant| match &variant.sku {
        Some(sku) => sku.as_str().to_owned(),
        None => variant.variant_id.to_string(),
    };
    for part in parts {
        let wanted = fold(part);
        let mut skus = variants.iter().filter(is_picked).map(sku);
        if skus.clone().any(|sku| fold(&sku).contains(&wanted)) {
            continue;
        }
        let some: Vec<String> = skus.by_ref().take(3).collect();
        return Err(trouble(
            format!("no variant of these products has {part:?} in its SKU"),
            format!("their SKUs are such as {}; leave --sku-part out for all designs", some.join(", ")),
        ));
    }
    Ok(())
}

/// What lists say, in their order: entries stand between commas; one with a comma in it stands in quotes.
pub(super) fn list(said: &[String], what: &str) -> Result<Vec<String>, Trouble> {
    let mut all: Vec<String> = Vec::new();
    for said in said {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(said.as_bytes());
        let mut entries: Vec<String> = Vec::new();
        for record in reader.records() {
            // Read from memory, which does not fail, and from a text, which is UTF-8.
            entries.extend(record.iter().flat_map(|record| record.iter().map(str::to_owned)));
        }
        if entries.is_empty() || entries.iter().any(String::is_empty) {
            return Err(trouble(
                format!("--{what} {said:?} has an entry that is empty"),
                format!("write a {what}, or several with one comma between two; leave --{what} out for all"),
            ));
        }
        all.extend(entries);
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known() -> Products<'static> {
        [
            ("alder-print".into(), ["Apron", "Apron=long", "Mug @ home", "Tee", "TEE "].into()),
            ("press:two".into(), ["Poster: A3"].into()),
        ]
        .into()
    }

    #[track_caller]
    fn check(said: &str, supplier: &str, product: &str, name: Option<&str>, price: Option<&str>) {
        let pick = pick(said, &known()).unwrap();
        assert_eq!((pick.supplier.as_str(), pick.product.as_str()), (supplier, product), "{said}");
        assert_eq!(pick.name.as_deref(), name, "{said}");
        assert_eq!(pick.price.map(|price| price.to_string()).as_deref(), price, "{said}");
    }

    #[test]
    fn a_product_is_named_with_a_name_and_a_price_of_its_own_or_without() {
        let alder = "alder-print";
        check("alder-print:Apron", alder, "Apron", None, None);
        check("alder-print: apron ", alder, "Apron", None, None);
        check("alder-print:Apron@29.95", alder, "Apron", None, Some("29.95"));
        check("alder-print:Apron=Chef apron", alder, "Apron", Some("Chef apron"), None);
        check("alder-print:Apron=Chef apron@29.95", alder, "Apron", Some("Chef apron"), Some("29.95"));
        check("alder-print:Apron=Chef @ home", alder, "Apron", Some("Chef @ home"), None);
        check("alder-print:Apron=long", alder, "Apron=long", None, None);
        check("alder-print:Apron=long=Long@5", alder, "Apron=long", Some("Long"), Some("5"));
        check("alder-print:Mug @ home@7", alder, "Mug @ home", None, Some("7"));
        check("alder-print:TEE ", alder, "TEE ", None, None);
        check("press:two:Poster: A3=A = B", "press:two", "Poster: A3", Some("A = B"), None);
    }

    #[test]
    fn what_is_wrong_with_a_product_is_said() {
        for (said, cause) in [
            ("Apron", "does not say whose"),
            ("alder:Apron", "no supplier \"alder\"; the nearest is alder-print"),
            ("alder-print:Aprn@9", "has no product \"Aprn\"; the nearest is Apron"),
            ("alder-print:tee", "has no product \"tee\""),
            ("alder-print:", "has no product \"\""),
            ("alder-print:Apron@", "\"\" is no price"),
            ("alder-print:Apron@9,95", "\"9,95\" is no price"),
            ("alder-print:Apron@-1", "\"-1\" is no price"),
            ("alder-print:Apron@dear", "\"dear\" is no price"),
            ("alder-print:Apron=@9", "has no name"),
            ("alder-print:Apron=", "has no name"),
        ] {
            let error = pick(said, &known()).unwrap_err();
            assert!(error.cause().contains(cause), "{said}: {error}");
        }
    }

    #[test]
    fn a_list_has_commas_between_entries_and_quotes_around_one_with_a_comma() {
        let read = |said: &[&str]| {
            list(&said.iter().map(ToString::to_string).collect::<Vec<_>>(), "size").map_err(|e| e.to_string())
        };
        assert_eq!(read(&["S, M", "2XL"]), Ok(["S", "M", "2XL"].map(str::to_owned).to_vec()));
        assert_eq!(
            read(&["\"Moss, dark\",Navy", "12\" x 18\""]),
            Ok(["Moss, dark", "Navy", "12\" x 18\""].map(str::to_owned).to_vec())
        );
        for said in ["", " ", "S,,M", "S,"] {
            assert!(read(&[said]).unwrap_err().contains("an entry that is empty"), "{said:?}");
        }
    }
}
