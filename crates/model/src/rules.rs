//! What the owner configured, as the matcher needs it: graces, how references are written, fees.

use std::collections::{BTreeMap, HashSet};

use chrono::{DateTime, TimeDelta, Utc};
use regex::Regex;
use rust_decimal::Decimal;

use crate::{Money, SupplierId};

/// How long each thing may take before it is a finding.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Graces {
    /// From payment until a linked line is at the supplier.
    pub submit: TimeDelta,
    /// From receipt until a submission must be known to be for an order.
    pub stray: TimeDelta,
    /// From the last change of what is held.
    pub hold: TimeDelta,
    /// From receipt until the supplier has begun.
    pub start: TimeDelta,
    /// From the first parcel until the rest of the order.
    pub parcel_gap: TimeDelta,
    /// From the last parcel until the storefront says that the order is dispatched.
    pub mark: TimeDelta,
}

impl Default for Graces {
    fn default() -> Self {
        Self {
            submit: TimeDelta::minutes(60),
            stray: TimeDelta::minutes(60),
            hold: TimeDelta::hours(12),
            start: TimeDelta::hours(48),
            parcel_gap: TimeDelta::hours(72),
            mark: TimeDelta::hours(24),
        }
    }
}

/// How a supplier's side writes the id of an order.
#[derive(Clone, Debug, Default)]
pub struct ReferenceForm {
    /// Cut from the front, where it is there.
    pub prefix: String,
    /// Cut from the end, where it is there.
    pub suffix: String,
    /// Where it matches what is left, its group `order` (or its first group, or the whole match) is the id.
    pub pattern: Option<Regex>,
}

impl ReferenceForm {
    /// The orders that a reference means, as far as `is_order` knows them, in the order of the reference.
    ///
    /// A reference is one order, or a list separated by `;` and blanks. What is an order's id as it stands,
    /// blanks and all, is that order; a list's unknown members are left out; each order comes once.
    pub fn orders<'a>(&self, reference: &'a str, is_order: impl Fn(&str) -> bool) -> Vec<&'a str> {
        if is_order(self.cut(reference)) {
            return vec![self.cut(reference)];
        }
        let mut orders = Vec::new();
        let mut seen = HashSet::new();
        let mut add = |id: &'a str| {
            let known = is_order(id);
            if known && seen.insert(id) {
                orders.push(id);
            }
            known
        };
        for piece in reference.split(';').map(str::trim).filter(|piece| !piece.is_empty()) {
            if add(self.cut(piece)) {
                continue;
            }
            // All words are asked, so that a list by blanks is not cut short at its first member.
            let known = piece
                .split_whitespace()
                .filter(|word| add(self.cut(word)) || add(self.order_id(word)))
                .count();
            if known == 0 {
                add(self.order_id(piece));
            }
        }
        orders
    }

    /// Every id that [`Self::orders`] may take for an order, known or not; may repeat.
    pub fn candidates<'a>(&self, reference: &'a str) -> Vec<&'a str> {
        let mut ids = vec![self.cut(reference)];
        for piece in reference.split(';').map(str::trim).filter(|piece| !piece.is_empty()) {
            for word in std::iter::once(piece).chain(piece.split_whitespace()) {
                ids.extend([self.cut(word), self.order_id(word)]);
            }
        }
        ids
    }

    /// Whether a reference can mean nothing but the one order of [`Self::cut`].
    pub fn is_plain(&self, reference: &str) -> bool {
        let is_one_word = |text: &str| !text.contains(|c: char| c == ';' || c.is_whitespace());
        // Most references are of letters, digits and signs of ASCII, which are quicker to tell.
        let is_plain = |byte: u8| byte.is_ascii_graphic() && byte != b';';
        self.pattern.is_none() && (reference.bytes().all(is_plain) || is_one_word(reference))
    }

    /// The id of the order that one reference, which is no list, means.
    pub fn order_id<'a>(&self, reference: &'a str) -> &'a str {
        let rest = self.cut(reference);
        let Some(found) = self.pattern.as_ref().and_then(|pattern| pattern.captures(rest)) else {
            return rest;
        };
        let group = found.name("order").or_else(|| found.get(1)).or_else(|| found.get(0));
        group.map_or(rest, |group| group.as_str())
    }

    /// A reference without the prefix and the suffix.
    pub fn cut<'a>(&self, reference: &'a str) -> &'a str {
        let rest = reference.strip_prefix(self.prefix.as_str()).unwrap_or(reference);
        rest.strip_suffix(self.suffix.as_str()).unwrap_or(rest)
    }
}

/// What selling one unit costs the shop beside the goods.
#[derive(Clone, Debug, Default)]
pub struct Fees {
    /// Per cent of the price.
    pub percent_of_price: Decimal,
    /// Fixed, per unit sold; one amount per currency.
    pub per_unit: Vec<Money>,
}

/// Everything that the owner configured and the matcher takes into account.
#[derive(Clone, Debug, Default)]
pub struct Rules {
    /// Where a supplier has none of its own.
    pub graces: Graces,
    /// The graces of suppliers that differ; complete, with the general ones filled in.
    pub supplier_graces: BTreeMap<SupplierId, Graces>,
    /// Where a supplier has none of its own.
    pub references: ReferenceForm,
    /// The suppliers whose references are written in another way.
    pub supplier_references: BTreeMap<SupplierId, ReferenceForm>,
    /// References that mean a sample for the shop itself.
    pub samples: Vec<Regex>,
    /// What selling costs.
    pub fees: Fees,
    /// Orders placed before this are matched and counted, and raise nothing.
    pub report_from: Option<DateTime<Utc>>,
    /// Orders placed before this are matched, and neither counted nor reported.
    pub since: Option<DateTime<Utc>>,
    /// Orders placed at this or later are matched, and neither counted nor reported.
    pub until: Option<DateTime<Utc>>,
}

impl Rules {
    /// The graces of a supplier.
    pub fn graces_of(&self, supplier: &SupplierId) -> &Graces {
        self.supplier_graces.get(supplier).unwrap_or(&self.graces)
    }

    /// How a supplier writes references.
    pub fn references_of(&self, supplier: &SupplierId) -> &ReferenceForm {
        self.supplier_references.get(supplier).unwrap_or(&self.references)
    }

    /// Whether a reference means a sample.
    pub fn is_sample(&self, reference: &str) -> bool {
        self.samples.iter().any(|pattern| pattern.is_match(reference))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reference_is_exact_unless_it_is_trimmed() {
        let exact = ReferenceForm::default();
        assert_eq!(exact.order_id("#1001"), "#1001");
        let trimmed = ReferenceForm { prefix: "KK-".into(), suffix: "/1".into(), pattern: None };
        assert_eq!(trimmed.order_id("KK-1001/1"), "1001");
        assert_eq!(trimmed.order_id("1001"), "1001");
        let pattern = Regex::new(r"order (?P<order>\d+)").unwrap();
        let read = ReferenceForm { pattern: Some(pattern), ..ReferenceForm::default() };
        assert_eq!(read.order_id("for order 1001, thanks"), "1001");
        assert_eq!(read.order_id("1001"), "1001");
    }

    #[test]
    fn a_reference_may_list_several_orders() {
        let orders = |form: &ReferenceForm, reference: &str| {
            form.orders(reference, |id| ["1", "2", "3", "A 1", "4;5"].contains(&id)).join(",")
        };
        let exact = ReferenceForm::default();
        for (reference, want) in [
            ("1", "1"),
            ("2;1", "2,1"),
            ("2; 1 ;3;", "2,1,3"),
            ("2 1", "2,1"),
            ("1;9;1", "1"),
            ("9", ""),
            ("", ""),
            (" ; ", ""),
            ("A 1", "A 1"),
            ("A 1;2", "A 1,2"),
            ("4;5", "4;5"),
        ] {
            assert_eq!(orders(&exact, reference), want, "{reference:?}");
        }
        let trimmed = ReferenceForm {
            prefix: "KK-".into(),
            suffix: String::new(),
            pattern: Some(Regex::new(r"^order (\d+)$").unwrap()),
        };
        assert_eq!(orders(&trimmed, "KK-1;KK-2"), "1,2");
        assert_eq!(orders(&trimmed, "KK-1 KK-2"), "1,2");
        assert_eq!(orders(&trimmed, "order 3"), "3");
        let digits = ReferenceForm { pattern: Some(Regex::new(r"\d+").unwrap()), ..ReferenceForm::default() };
        assert_eq!(orders(&digits, "no1 no2"), "1,2");
        let stands =
            |reference: &str| digits.orders(reference, |id| ["1", "1-B", "2"].contains(&id)).join(",");
        assert_eq!(stands("1-B 2"), "1-B,2", "an id as it stands comes before a pattern");
    }
}
