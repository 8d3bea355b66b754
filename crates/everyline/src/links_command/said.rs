//! Links, rules and changes of them as an owner reads them.
//!
//! Owns the wording alone. Start reading at [`step`].

use digest::clean;
use ledger::{LinkPart, Product, Setting, Step};
use model::Options;

use crate::terminal;

/// Options with their names: `Colour: Moss, Size: Large`.
pub(super) fn options_text(options: &Options) -> String {
    if options.is_empty() {
        return "nothing to choose".to_owned();
    }
    let pairs: Vec<String> = options.iter().map(|(name, value)| format!("{name}: {value}")).collect();
    clean(pairs.join(", ")).into_owned()
}

/// A part as it is typed: `alder-print:BOX=2`, `own`.
fn part(part: &LinkPart) -> String {
    let mut text = part.supplier.to_string();
    if let Some(variant_id) = &part.variant_id {
        text += &format!(":{variant_id}");
    }
    if part.units > 1 {
        text += &format!("={}", part.units);
    }
    clean(text).into_owned()
}

/// The parts of a link, and whether the owner says that it is in force.
pub(super) fn parts(parts: &[LinkPart]) -> String {
    let all: Vec<String> = parts.iter().map(part).collect();
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
pub(super) fn step(step: &Step) -> (&'static str, String) {
    let text = |what: String, lead: &str, was: Option<String>, became: Option<String>| match (was, became) {
        (None, Some(became)) => ("new", format!("{what} {lead} {became}")),
        (Some(was), Some(became)) => ("changed", format!("{what} {lead} {became}; it was {was}")),
        (Some(was), None) => ("taken away", format!("{what}; it was {was}")),
        (None, None) => ("as it was", what),
    };
    match step {
        Step::Link { scope, was, became } => {
            let led = |all: &[LinkPart]| (!all.is_empty()).then(|| parts(all));
            text(clean(scope.to_string()).into_owned(), "leads to", led(was), led(became))
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
pub(super) fn steps(all: &[Step], at_most: usize) -> String {
    let mut text = String::new();
    for one in all.iter().take(at_most) {
        let (word, what) = step(one);
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
    use model::book::LinkScope;

    fn made(variant: &str, units: u32, in_force: bool) -> LinkPart {
        LinkPart { supplier: "alder-print".into(), variant_id: Some(variant.into()), units, in_force }
    }

    #[test]
    fn a_change_says_what_is_and_what_was() {
        let own = LinkPart { supplier: "own".into(), variant_id: None, units: 1, in_force: true };
        let scope = LinkScope::Offer("L1".into(), Options::from_pairs([("Size", "Large")]).unwrap());
        let link = |was: &[LinkPart], became: &[LinkPart]| {
            step(&Step::Link { scope: scope.clone(), was: was.to_vec(), became: became.to_vec() })
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
            step(&Step::Rule { good, was: None, became: Some(product) }),
            said("new", "good 'mug' is alder-print:Mug, low")
        );
    }
}
