//! The small parts of sentences: counts, lists, and what an owner calls a line, a variant, an offer, a
//! supplier order.
//!
//! Must not know checks. Names are cut to a readable length here; identifiers are not, for they are looked up.
//! A number and its `x` are held together by a no-break space, and what runs from right to left is isolated; outputs that
//! know neither clean them away. Most parts are not texts yet: they are written where
//! they stand in a sentence.

use std::collections::BTreeSet;
use std::fmt::{Display, from_fn};

use model::finding::{CancelledLine, NamedLine, NamedOffer, NamedSubmissionLine, NamedVariant, Part, Reason};
use model::outcome::Totals;
use model::reading::Difference;
use model::{ListingId, Options, OrderId, Sku, SubmissionId, SupplierId, VariantId};

use crate::clean::{cut, isolated};

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

/// Where the items are that were bought, each number by what it is called. They add up to what was bought.
pub fn sums(totals: &Totals) -> [(&'static str, u64); 4] {
    [
        ("made rightly", totals.covered),
        ("wrong item sent", totals.covered_wrongly),
        ("nobody makes, or not sent yet", totals.uncovered),
        ("packed by the shop", totals.own_stock),
    ]
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
pub fn listed<'a, T, N: Display>(things: &'a [T], name: impl Fn(&'a T) -> N) -> impl Display {
    from_fn(move |f| {
        for (index, thing) in things.iter().take(NAMED_AT_MOST).enumerate() {
            let is_last = index + 1 == things.len();
            f.write_str(match index {
                0 => "",
                _ if is_last => " and ",
                _ => ", ",
            })?;
            write!(f, "{}", name(thing))?;
        }
        match things.len().saturating_sub(NAMED_AT_MOST) {
            0 => Ok(()),
            others => write!(f, " and {others} more"),
        }
    })
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
pub fn orders(order_ids: &[OrderId]) -> impl Display {
    let word = by_number(number_of(order_ids), "order", "orders");
    from_fn(move |f| write!(f, "{word} {}", listed(order_ids, OrderId::as_str)))
}

/// A text in quotation marks, cut to a readable length.
pub fn quoted_reference(text: &str) -> impl Display {
    from_fn(move |f| write!(f, "\"{}\"", isolated(&cut(text, REFERENCE_COLUMNS))))
}

/// `supplier order S-1 of alder-print`.
pub fn supplier_order(submission_id: Option<&SubmissionId>, supplier: Option<&SupplierId>) -> impl Display {
    from_fn(move |f| {
        f.write_str("supplier order")?;
        if let Some(id) = submission_id {
            write!(f, " {id}")?;
        }
        if let Some(supplier) = supplier {
            write!(f, " of {supplier}")?;
        }
        Ok(())
    })
}

/// The supplier by name, or 'the supplier'.
pub fn the_supplier(supplier: Option<&SupplierId>) -> &str {
    supplier.map_or("the supplier", SupplierId::as_str)
}

/// `listing L-3 "Otter apron"`.
pub fn listing(listing_id: &ListingId, title: Option<&str>) -> String {
    match title {
        Some(title) => format!("listing {listing_id} {}", quoted_title(title)),
        None => format!("listing {listing_id}"),
    }
}

/// `"Otter apron" (Large, moss)`: by its title, else its SKU, its listing, its line id.
pub fn line_name(line: &NamedLine) -> impl Display {
    let name = from_fn(move |f| match (&line.title, &line.sku, &line.listing_id) {
        (Some(title), ..) => write!(f, "{}", quoted_title(title)),
        (None, Some(sku), _) => write!(f, "{}", sku_name(sku)),
        (None, None, Some(listing_id)) => write!(f, "listing {listing_id}"),
        (None, None, None) => write!(f, "line {}", line.line_id),
    });
    with_options(name, line.options.as_ref())
}

/// `2 x "Otter apron" (Large, moss)`, of what was cancelled: by its title, else its line id.
pub fn cancelled_line(line: &CancelledLine) -> impl Display {
    let name = from_fn(move |f| match &line.title {
        Some(title) => write!(f, "{}", quoted_title(title)),
        None => write!(f, "line {}", line.line_id),
    });
    let name = with_options(name, line.options.as_ref());
    from_fn(move |f| write!(f, "{}\u{a0}x {name}", line.cancelled_quantity))
}

/// `1 x "Otter apron" (Large, moss)`; of a line of which some are made, `1 of 3 x "Otter apron" (Large, moss)`.
pub fn line(line: &NamedLine) -> impl Display {
    let is_rest = line.reason == Some(Reason::Short) && line.units < u64::from(line.quantity);
    from_fn(move |f| {
        write!(f, "{}", line.units)?;
        if is_rest {
            write!(f, " of {}", line.quantity)?;
        }
        write!(f, "\u{a0}x {}", line_name(line))
    })
}

/// The lines with their units; 'something' where none is named.
pub fn lines(named: &[NamedLine]) -> impl Display {
    from_fn(move |f| match named {
        [] => f.write_str("something of it"),
        named => write!(f, "{}", listed(named, line)),
    })
}

/// All units of the lines named.
pub fn units_of<'a>(lines: impl IntoIterator<Item = &'a NamedLine>) -> u64 {
    lines.into_iter().fold(0, |sum, line| sum.saturating_add(line.units))
}

/// `2 x Tote bag, plum (AP-77)`; the line's own id where it is not known what it makes.
pub fn submission_line(line: &NamedSubmissionLine) -> impl Display {
    from_fn(move |f| {
        write!(f, "{}\u{a0}x ", line.units)?;
        match (&line.variant_id, made(line.product.as_deref(), line.options.as_ref())) {
            (Some(variant_id), Some(made)) => write!(f, "{made} ({variant_id})"),
            (Some(variant_id), None) => write!(f, "{variant_id}"),
            (None, _) => write!(f, "its line {}", line.line_id),
        }
    })
}

/// `alder-print AP-77 (Tote bag, plum)`.
pub fn variant(variant: &NamedVariant) -> impl Display {
    from_fn(move |f| {
        write!(f, "{} {}", variant.supplier, variant.variant_id)?;
        match made(variant.product.as_deref(), variant.options.as_ref()) {
            Some(made) => write!(f, " ({made})"),
            None => Ok(()),
        }
    })
}

/// `Tote bag, plum`, as far as it is known.
fn made(product: Option<&str>, options: Option<&Options>) -> Option<String> {
    let product =
        product.map(|product| isolated(&cut(product, TITLE_COLUMNS)).to_string()).unwrap_or_default();
    let options = options.and_then(values).unwrap_or_default();
    match (product.is_empty(), options.is_empty()) {
        (true, true) => None,
        (false, true) => Some(product),
        (true, false) => Some(options),
        (false, false) => Some(format!("{product}, {options}")),
    }
}

/// `alder-print AP-77`, `2 x alder-print AP-77`; own stock is what 'you pack yourself'.
pub fn part(part: &Part) -> impl Display {
    let name = part_name(&part.supplier, part.variant_id.as_ref());
    from_fn(move |f| match part.units {
        _ if part.supplier.is_own() => f.write_str("what you pack yourself"),
        1 => write!(f, "{name}"),
        units => write!(f, "{units}\u{a0}x {name}"),
    })
}

/// `alder-print AP-77`: what a part is, whatever its units.
pub fn part_name(supplier: &SupplierId, variant_id: Option<&VariantId>) -> impl Display {
    from_fn(move |f| match variant_id {
        Some(variant_id) => write!(f, "{supplier} {variant_id}"),
        None => write!(f, "{supplier}"),
    })
}

/// `another size (M, not L)`, each difference once; empty where there is none.
pub fn differing<'a>(differences: impl IntoIterator<Item = &'a Difference>) -> impl Display {
    let differences = unique(differences);
    let name = |Difference { kind, wanted, sent }: &Difference| {
        format!("another {} ({sent}, not {wanted})", kind.name())
    };
    from_fn(move |f| write!(f, "{}", listed(&differences, |difference| name(difference))))
}

/// `(Large, moss)`; where there is nothing to choose, its SKU, else 'its only item'.
pub fn offer(offer: &NamedOffer) -> impl Display {
    from_fn(move |f| match (in_brackets(&offer.options), &offer.sku) {
        (Some(options), _) => write!(f, "{options}"),
        (None, Some(sku)) => write!(f, "{}", sku_name(sku)),
        (None, None) => f.write_str("its only item"),
    })
}

/// `(Large, moss)`, `None` where there is nothing to choose.
pub fn in_brackets(options: &Options) -> Option<impl Display> {
    values(options).map(|values| from_fn(move |f| write!(f, "({values})")))
}

/// `SKU KK-1`.
pub fn sku_name(sku: &Sku) -> impl Display {
    from_fn(move |f| write!(f, "SKU {}", isolated(&cut(sku.as_str(), REFERENCE_COLUMNS))))
}

fn quoted_title(title: &str) -> impl Display {
    from_fn(move |f| write!(f, "\"{}\"", isolated(&cut(title, TITLE_COLUMNS))))
}

fn with_options(name: impl Display, options: Option<&Options>) -> impl Display {
    from_fn(move |f| match options.and_then(in_brackets) {
        Some(options) => write!(f, "{name} {options}"),
        None => write!(f, "{name}"),
    })
}

fn values(options: &Options) -> Option<String> {
    (!options.is_empty()).then(|| isolated(&cut(options.to_string(), OPTIONS_COLUMNS)).to_string())
}

/// The text with its first letter as a capital.
pub fn capital(mut text: String) -> String {
    if let Some(first) = text.chars().next() {
        let as_capital = first.to_uppercase();
        text.replace_range(..first.len_utf8(), as_capital.to_string().as_str());
    }
    text
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
            assert_eq!(listed(things, |thing| (*thing).to_owned()).to_string(), want);
        }
    }

    #[test]
    fn a_count_of_one_is_singular_and_every_other_plural() {
        for (number, want) in [(0, "0 items"), (1, "1 item"), (2, "2 items")] {
            assert_eq!(count(number as u64, "item", "items"), want);
        }
    }
}
