//! The small parts of sentences: counts, lists, and what an owner calls a line, a variant, an offer, a
//! supplier order.
//!
//! Must not know checks. Names are cut to a readable length here; identifiers are not, for they are looked up.
//! A number and its `x` are held together by a no-break space.

use std::collections::BTreeSet;

use model::finding::{CancelledLine, NamedLine, NamedOffer, NamedSubmissionLine, NamedVariant, Part, Reason};
use model::reading::Difference;
use model::{ListingId, Options, OrderId, Sku, SubmissionId, SupplierId, VariantId};

use crate::clean::cut;

/// How many things a sentence names before it says how many more there are.
const NAMED_AT_MOST: usize = 3;

/// Columns of a title or a product's name in a sentence.
const TITLE_COLUMNS: usize = 60;

/// Columns of the options of one line or offer in a sentence.
const OPTIONS_COLUMNS: usize = 60;

/// Columns of a text that somebody typed as a reference.
const REFERENCE_COLUMNS: usize = 40;

/// `1 item`, `2 items`.
pub fn count(number: impl Into<u64>, one: &str, many: &str) -> String {
    match number.into() {
        1 => format!("1 {one}"),
        number => format!("{number} {many}"),
    }
}

/// The first word where the number is one, else the second.
pub fn by_number<'a>(number: impl Into<u64>, one: &'a str, many: &'a str) -> &'a str {
    if number.into() == 1 { one } else { many }
}

/// A length as the number that [`count`] takes.
pub fn number_of<T>(things: &[T]) -> u64 {
    things.len() as u64
}

/// Each of the things once, in the order in which they first come.
pub fn unique<T: Ord + Copy>(things: impl IntoIterator<Item = T>) -> Vec<T> {
    let mut seen = BTreeSet::new();
    things.into_iter().filter(|thing| seen.insert(*thing)).collect()
}

/// `a`, `a and b`, `a, b and c`, `a, b, c and 2 more`.
pub fn listed<T>(things: &[T], name: impl Fn(&T) -> String) -> String {
    let mut names: Vec<String> = things.iter().take(NAMED_AT_MOST).map(name).collect();
    if things.len() > NAMED_AT_MOST {
        names.push(format!("{} more", things.len() - NAMED_AT_MOST));
    }
    and(names)
}

/// All of them: `a`, `a and b`, `a, b, c and d`.
pub fn and(mut names: Vec<String>) -> String {
    match names.pop() {
        Some(last) if names.is_empty() => last,
        Some(last) => format!("{} and {last}", names.join(", ")),
        None => String::new(),
    }
}

/// `order A`, `orders A and B`, `3 orders` is never said: at most three are named and the others counted.
pub fn orders(order_ids: &[OrderId]) -> String {
    let word = by_number(number_of(order_ids), "order", "orders");
    format!("{word} {}", listed(order_ids, OrderId::to_string))
}

/// A text in quotation marks, cut to a readable length.
pub fn quoted_reference(text: &str) -> String {
    format!("\"{}\"", cut(text, REFERENCE_COLUMNS))
}

/// `supplier order S-1 of alder-print`.
pub fn supplier_order(submission_id: Option<&SubmissionId>, supplier: Option<&SupplierId>) -> String {
    let mut text = "supplier order".to_owned();
    if let Some(id) = submission_id {
        text += &format!(" {id}");
    }
    if let Some(supplier) = supplier {
        text += &format!(" of {supplier}");
    }
    text
}

/// The supplier by name, or 'the supplier'.
pub fn the_supplier(supplier: Option<&SupplierId>) -> String {
    supplier.map_or_else(|| "the supplier".to_owned(), SupplierId::to_string)
}

/// `listing L-3 "Otter apron"`.
pub fn listing(listing_id: &ListingId, title: Option<&str>) -> String {
    match title {
        Some(title) => format!("listing {listing_id} {}", quoted_title(title)),
        None => format!("listing {listing_id}"),
    }
}

/// `"Otter apron" (Large, moss)`: by its title, else its SKU, its listing, its line id.
pub fn line_name(line: &NamedLine) -> String {
    let name = match (&line.title, &line.sku, &line.listing_id) {
        (Some(title), ..) => quoted_title(title),
        (None, Some(sku), _) => sku_name(sku),
        (None, None, Some(listing_id)) => format!("listing {listing_id}"),
        (None, None, None) => format!("line {}", line.line_id),
    };
    with_options(name, line.options.as_ref())
}

/// `2 x "Otter apron" (Large, moss)`, of what was cancelled: by its title, else its line id.
pub fn cancelled_line(line: &CancelledLine) -> String {
    let name = match &line.title {
        Some(title) => quoted_title(title),
        None => format!("line {}", line.line_id),
    };
    format!("{}\u{a0}x {}", line.cancelled_quantity, with_options(name, line.options.as_ref()))
}

/// `1 x "Otter apron" (Large, moss)`; of a line of which some are made, `1 of 3 x "Otter apron" (Large, moss)`.
pub fn line(line: &NamedLine) -> String {
    let name = line_name(line);
    let is_rest = line.reason == Some(Reason::Short) && line.units < u64::from(line.quantity);
    let of = if is_rest { format!(" of {}", line.quantity) } else { String::new() };
    format!("{}{of}\u{a0}x {name}", line.units)
}

/// The lines with their units; 'something' where none is named.
pub fn lines(named: &[NamedLine]) -> String {
    if named.is_empty() { "something of it".to_owned() } else { listed(named, line) }
}

/// All units of the lines named.
pub fn units_of<'a>(lines: impl IntoIterator<Item = &'a NamedLine>) -> u64 {
    lines.into_iter().fold(0, |sum, line| sum.saturating_add(line.units))
}

/// `2 x Tote bag, plum (AP-77)`; the line's own id where it is not known what it makes.
pub fn submission_line(line: &NamedSubmissionLine) -> String {
    let name = match (&line.variant_id, made(line.product.as_deref(), line.options.as_ref())) {
        (Some(variant_id), Some(made)) => format!("{made} ({variant_id})"),
        (Some(variant_id), None) => variant_id.to_string(),
        (None, _) => format!("its line {}", line.line_id),
    };
    format!("{}\u{a0}x {name}", line.units)
}

/// `alder-print AP-77 (Tote bag, plum)`.
pub fn variant(variant: &NamedVariant) -> String {
    let name = format!("{} {}", variant.supplier, variant.variant_id);
    match made(variant.product.as_deref(), variant.options.as_ref()) {
        Some(made) => format!("{name} ({made})"),
        None => name,
    }
}

/// `Tote bag, plum`, as far as it is known.
fn made(product: Option<&str>, options: Option<&Options>) -> Option<String> {
    let product = product.map(|product| cut(product, TITLE_COLUMNS));
    let known = [product, options.and_then(values)].into_iter().flatten();
    let known: Vec<String> = known.filter(|text| !text.is_empty()).collect();
    (!known.is_empty()).then(|| known.join(", "))
}

/// `alder-print AP-77`, `2 x alder-print AP-77`; own stock is what 'you pack yourself'.
pub fn part(part: &Part) -> String {
    let name = part_name(&part.supplier, part.variant_id.as_ref());
    match part.units {
        _ if part.supplier.is_own() => "what you pack yourself".to_owned(),
        1 => name,
        units => format!("{units}\u{a0}x {name}"),
    }
}

/// `alder-print AP-77`: what a part is, whatever its units.
pub fn part_name(supplier: &SupplierId, variant_id: Option<&VariantId>) -> String {
    match variant_id {
        Some(variant_id) => format!("{supplier} {variant_id}"),
        None => supplier.to_string(),
    }
}

/// `another size (M, not L)`, each difference once; empty where there is none.
pub fn differing<'a>(differences: impl IntoIterator<Item = &'a Difference>) -> String {
    listed(&unique(differences), |Difference { kind, wanted, sent }| {
        format!("another {} ({sent}, not {wanted})", kind.name())
    })
}

/// `(Large, moss)`; where there is nothing to choose, its SKU, else 'its only item'.
pub fn offer(offer: &NamedOffer) -> String {
    match (in_brackets(&offer.options), &offer.sku) {
        (Some(options), _) => options,
        (None, Some(sku)) => sku_name(sku),
        (None, None) => "its only item".to_owned(),
    }
}

/// `(Large, moss)`, `None` where there is nothing to choose.
pub fn in_brackets(options: &Options) -> Option<String> {
    values(options).map(|values| format!("({values})"))
}

/// `SKU KK-1`.
pub fn sku_name(sku: &Sku) -> String {
    format!("SKU {}", cut(sku.as_str(), REFERENCE_COLUMNS))
}

fn quoted_title(title: &str) -> String {
    format!("\"{}\"", cut(title, TITLE_COLUMNS))
}

fn with_options(name: String, options: Option<&Options>) -> String {
    match options.and_then(in_brackets) {
        Some(options) => format!("{name} {options}"),
        None => name,
    }
}

fn values(options: &Options) -> Option<String> {
    (!options.is_empty()).then(|| cut(&options.to_string(), OPTIONS_COLUMNS))
}

/// The text with its first letter as a capital.
pub fn capital(text: &str) -> String {
    let mut characters = text.chars();
    match characters.next() {
        Some(first) => first.to_uppercase().chain(characters).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_names_three_and_counts_the_others() {
        for (things, want) in [
            (&[][..], ""),
            (&["a"], "a"),
            (&["a", "b"], "a and b"),
            (&["a", "b", "c"], "a, b and c"),
            (&["a", "b", "c", "d"], "a, b, c and 1 more"),
            (&["a", "b", "c", "d", "e", "f", "g"], "a, b, c and 4 more"),
        ] {
            assert_eq!(listed(things, |thing| (*thing).to_owned()), want);
        }
    }

    #[test]
    fn a_count_of_one_is_singular_and_every_other_plural() {
        for (number, want) in [(0, "0 items"), (1, "1 item"), (2, "2 items")] {
            assert_eq!(count(number as u64, "item", "items"), want);
        }
    }
}
