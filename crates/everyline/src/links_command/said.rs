//! Links, rules and changes of them as an owner reads them.
//!
//! Owns the wording alone. Start reading at [`step`]; [`Skus`] says by what else offers and variants are known.

use std::collections::HashMap;

use digest::clean;
use ledger::{LinkPart, Product, Setting, Step};
use model::book::{LinkScope, Offer, Variant};
use model::{ListingId, Options, Sku, SupplierId, VariantId};

use crate::terminal;

/// Options with their names: `Colour: Moss, Size: Large`.
pub(super) fn options_text(options: &Options) -> String {
    match options.is_empty() {
        true => "nothing to choose".to_owned(),
        false => clean(options.named()).into_owned(),
    }
}

/// The SKUs of offers and variants as they are known now: an owner knows both by these rather than by ids.
#[derive(Default)]
pub(super) struct Skus<'b> {
    offers: HashMap<(&'b ListingId, &'b Options), &'b Sku>,
    variants: HashMap<(&'b SupplierId, &'b VariantId), &'b Sku>,
}

impl<'b> Skus<'b> {
    pub(super) fn of(offers: &'b [Offer], variants: &'b [Variant]) -> Self {
        let offers =
            offers.iter().filter_map(|row| Some(((&row.listing_id, &row.options), row.sku.as_ref()?)));
        let variants =
            variants.iter().filter_map(|row| Some(((&row.supplier, &row.variant_id), row.sku.as_ref()?)));
        Self { offers: offers.collect(), variants: variants.collect() }
    }

    /// What a link is for: `offer L1 (Moss, Large; SKU AP-L-MO)`.
    pub(super) fn scope(&self, scope: &LinkScope) -> String {
        let sku = match scope {
            LinkScope::Offer(listing_id, options) => self.offers.get(&(listing_id, options)),
            LinkScope::Sku(_) | LinkScope::Listing(_) => None,
        };
        clean(scope_with(scope, sku.copied())).into_owned()
    }

    /// As [`sku_behind`], of a variant that is known here.
    pub(super) fn behind(&self, supplier: &SupplierId, variant_id: &VariantId) -> String {
        sku_behind(variant_id, self.variants.get(&(supplier, variant_id)).copied())
    }
}

/// What a link is for, with the SKU of an offer.
pub(super) fn scope_with(scope: &LinkScope, sku: Option<&Sku>) -> String {
    let text = scope.to_string();
    match (sku, text.strip_suffix(')')) {
        (None, _) => text,
        (Some(sku), Some(open)) => format!("{open}; SKU {sku})"),
        (Some(sku), None) => format!("{text} (SKU {sku})"),
    }
}

/// ` (SKU AP-L-MO)` behind a variant's id, unless that is its SKU.
pub(super) fn sku_behind(variant_id: &VariantId, sku: Option<&Sku>) -> String {
    let other = sku.filter(|sku| variant_id.as_str() != sku.as_str());
    other.map(|sku| format!(" (SKU {sku})")).unwrap_or_default()
}

/// A part as it is typed: `alder-print:BOX=2`, `own`; behind it the SKU.
fn part(part: &LinkPart, skus: &Skus<'_>) -> String {
    let mut text = part.supplier.to_string();
    if let Some(variant_id) = &part.variant_id {
        text += &format!(":{variant_id}");
    }
    if part.units > 1 {
        text += &format!("={}", part.units);
    }
    if let Some(variant_id) = &part.variant_id {
        text += &skus.behind(&part.supplier, variant_id);
    }
    clean(text).into_owned()
}

/// The parts of a link, and whether the owner says that it is in force.
pub(super) fn parts(parts: &[LinkPart], skus: &Skus<'_>) -> String {
    let all: Vec<String> = parts.iter().map(|one| part(one, skus)).collect();
    let made = || parts.iter().filter(|part| !part.supplier.is_own());
    let mark = match (made().count(), made().filter(|part| part.in_force).count()) {
        (0, _) | (_, 0) => "",
        (all, in_force) if all == in_force => ", in force",
        _ => ", in part in force",
    };
    format!("{}{mark}", all.join(" + "))
}

/// A product with its supplier.
pub(super) fn product(product: &Product) -> String {
    clean(format!("{}:{}", product.supplier, product.product)).into_owned()
}

/// What a step made of something, in a word, and of what.
pub(super) fn step(step: &Step, skus: &Skus<'_>) -> (&'static str, String) {
    let text = |what: String, lead: &str, was: Option<String>, became: Option<String>| match (was, became) {
        (None, Some(became)) => ("new", format!("{what} {lead} {became}")),
        (Some(was), Some(became)) => ("changed", format!("{what} {lead} {became}; it was {was}")),
        (Some(was), None) => ("taken away", format!("{what}; it was {was}")),
        (None, None) => ("as it was", what),
    };
    match step {
        Step::Link { scope, was, became } => {
            let led = |all: &[LinkPart]| (!all.is_empty()).then(|| parts(all, skus));
            text(skus.scope(scope), "leads to", led(was), led(became))
        }
        Step::Rule { good, was, became } => {
            let is = |to: &Option<Product>| to.as_ref().map(product);
            text(format!("good '{}'", clean(good.to_string())), "is", is(was), is(became))
        }
    }
}

/// The widest word of [`step`], and what stands before and behind it.
const INDENT: usize = 14;

/// Steps as lines, the first few, and how many more.
pub(super) fn steps(all: &[Step], at_most: usize, skus: &Skus<'_>) -> String {
    let mut text = String::new();
    for one in all.iter().take(at_most) {
        let (word, what) = step(one, skus);
        text += &hanging(&format!("  {word:<10}"), &what, INDENT);
    }
    if let Some(more) = all.len().checked_sub(at_most).filter(|more| *more > 0) {
        text += &format!("  showing {at_most} of {}: {more} more\n", all.len());
    }
    text
}

/// A paragraph with something before its first line, as wide as the terminal.
pub(super) fn hanging(first: &str, text: &str, indent: usize) -> String {
    let (first, rest) = (format!("{first:<indent$}"), " ".repeat(indent));
    let options = textwrap::Options::new(terminal::width())
        .initial_indent(&first)
        .subsequent_indent(&rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(text, options) + "\n"
}

/// `1 offer`, `3 offers`.
pub(super) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// A paragraph as wide as the terminal.
pub(super) fn paragraph(text: &str) -> String {
    hanging("", text, 0)
}

/// What settings would change of what stands, as steps.
pub(super) fn changes(
    settings: &[Setting],
    links: &[ledger::OwnerLink],
    rules: &[ledger::OwnerRule],
) -> Vec<Step> {
    let step = |setting: &Setting| match setting {
        Setting::Link { scope, parts } => {
            let was = links.iter().find(|link| link.scope == *scope);
            let was = was.map(|link| link.parts.clone()).unwrap_or_default();
            let mut became = parts.clone();
            became.sort();
            (was != became).then(|| Step::Link { scope: scope.clone(), was, became })
        }
        Setting::Rule { good, product } => {
            let was = rules.iter().find(|rule| rule.rule.good == *good).map(|rule| Product {
                supplier: rule.rule.supplier.clone(),
                product: rule.rule.product.clone(),
            });
            let became = product.clone();
            (was != became).then(|| Step::Rule { good: good.clone(), was, became })
        }
    };
    settings.iter().filter_map(step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::Good;

    fn made(variant: &str, units: u32, in_force: bool) -> LinkPart {
        LinkPart { supplier: "alder-print".into(), variant_id: Some(variant.into()), units, in_force }
    }

    #[test]
    fn a_change_says_what_is_and_what_was() {
        let own = LinkPart { supplier: "own".into(), variant_id: None, units: 1, in_force: true };
        let scope = LinkScope::Offer("L1".into(), Options::from_pairs([("Size", "Large")]).unwrap());
        let link = |was: &[LinkPart], became: &[LinkPart]| {
            step(
                &Step::Link { scope: scope.clone(), was: was.to_vec(), became: became.to_vec() },
                &Skus::default(),
            )
        };
        let said = |word, text: &str| (word, text.to_owned());
        assert_eq!(
            link(&[], &[made("A", 2, false), own.clone()]),
            said("new", "offer L1 (Large) leads to alder-print:A=2 + own")
        );
        assert_eq!(
            link(&[made("A", 1, false)], &[made("A", 1, true)]),
            said("changed", "offer L1 (Large) leads to alder-print:A, in force; it was alder-print:A")
        );
        assert_eq!(link(&[own], &[]), said("taken away", "offer L1 (Large); it was own"));
        let good = Good { product_type: Some("mug".to_owned()), ..Good::default() };
        let product = Product { supplier: "alder-print".into(), product: "Mug, low".to_owned() };
        assert_eq!(
            step(&Step::Rule { good, was: None, became: Some(product) }, &Skus::default()),
            said("new", "good 'mug' is alder-print:Mug, low")
        );
    }

    #[test]
    fn offers_and_variants_are_named_by_their_skus_too_where_these_are_known_and_no_ids() {
        let options = Options::from_pairs([("Size", "Large")]).unwrap();
        let offer = |listing_id: &str, options: &Options, sku: &str| Offer {
            listing_id: listing_id.into(),
            sku: Sku::new(sku),
            title: None,
            options: options.clone(),
            price: None,
            currency: None,
            buyable: true,
        };
        let offers = [
            offer("L1", &options, "AP-OLD"),
            offer("L2", &Options::new(), "CARD"),
            offer("L3", &options, ""),
        ];
        let variant = |id: &str, sku: &str| Variant {
            supplier: "alder-print".into(),
            variant_id: id.into(),
            sku: Sku::new(sku),
            product: None,
            options: None,
            unit_cost: None,
            currency: None,
            available: true,
        };
        let variants = [variant("A", "AP-L"), variant("B", "B"), variant("C", "")];
        let skus = Skus::of(&offers, &variants);
        let scope = |listing_id: &str, options: &Options| {
            skus.scope(&LinkScope::Offer(listing_id.into(), options.clone()))
        };
        assert_eq!(scope("L1", &options), "offer L1 (Large; SKU AP-OLD)");
        assert_eq!(scope("L2", &Options::new()), "offer L2 (SKU CARD)");
        assert_eq!(scope("L3", &options), "offer L3 (Large)");
        let all = [made("A", 2, false), made("B", 1, false), made("C", 1, false), made("D", 1, false)];
        assert_eq!(
            parts(&all, &skus),
            "alder-print:A=2 (SKU AP-L) + alder-print:B + alder-print:C + alder-print:D"
        );
    }
}
