//! Single values of a node: texts, numbers, quantities.
//!
//! Must not know orders. Start reading at [`Graph::one`].

use serde_json::Value;

use super::context::local;
use super::graph::{Graph, Index, Node, Term};
use crate::bad_row::{Fault, shown};
use crate::source::mapping::scalar_text;

/// The codes of units that are pieces. Source: UN/CEFACT Recommendation 20 (C62 one, EA each, H87 piece; PCE until its
/// revision 3); from memory.
const PIECES: [&str; 4] = ["C62", "EA", "H87", "PCE"];

/// Of values that say the same, so many are compared; more are several.
const COMPARED: usize = 8;

impl Graph {
    /// The one value of a property, where there is one.
    pub(super) fn one<'g>(&'g self, node: &'g Node, term: &'static str) -> Result<Option<&'g Term>, Fault> {
        let values = node.values(term);
        let Some((first, others)) = values.split_first() else { return Ok(None) };
        if others.len() < COMPARED && others.iter().all(|other| self.is_same(first, other, 0)) {
            return Ok(Some(first));
        }
        let found = format!("{} values stand there", values.len());
        Err(Fault::of(term, found, "one value", "Have it say one."))
    }

    /// The one node of a property, where there is one.
    pub(super) fn one_node(&self, node: &Node, term: &'static str) -> Result<Option<Index>, Fault> {
        Ok(self.one(node, term)?.and_then(|value| self.resolve(value)))
    }

    /// The one text, number or truth of a property.
    pub(super) fn scalar(&self, node: &Node, term: &'static str) -> Result<Option<Value>, Fault> {
        match self.one(node, term)? {
            None => Ok(None),
            Some(Term::Scalar(value)) => Ok(Some(value.clone()).filter(|value| !is_empty(value))),
            Some(Term::Node(_)) => {
                Err(Fault::of(term, "a thing stands there", "a text or a number", "Have it say that."))
            }
        }
    }

    /// The word of an enumeration.
    pub(super) fn word(&self, node: &Node, term: &'static str) -> Result<Option<Value>, Fault> {
        match self.one(node, term)? {
            Some(Term::Node(index)) => Ok(self.node(*index).id.as_deref().map(|id| {
                let word = local(id).unwrap_or(id);
                Value::String(word.to_owned())
            })),
            _ => self.scalar(node, term),
        }
    }

    /// What a value is called: a text by itself, a thing by its name.
    pub(super) fn called(&self, term: &Term) -> Option<String> {
        let node = match term {
            Term::Scalar(value) => return scalar_text(value).filter(|text| !text.trim().is_empty()),
            Term::Node(index) => self.node(*index),
        };
        let name = |term| self.leaf(node, term);
        // A QuantitativeValue has a value and no name, the PropertyValue of an identifier too.
        if node.is_a("PropertyValue") || node.is_a("QuantitativeValue") {
            return self.value_of(node).or_else(|| name("name"));
        }
        name("name").or_else(|| self.value_of(node)).or_else(|| name("termCode"))
    }

    /// The value of a `PropertyValue` or `QuantitativeValue`, with its unit where that is a text.
    pub(super) fn value_of(&self, node: &Node) -> Option<String> {
        let value = match node.values("value") {
            [Term::Node(inner)] => {
                let inner = self.node(*inner);
                self.leaf(inner, "value").or_else(|| self.leaf(inner, "name"))?
            }
            _ => self.leaf(node, "value")?,
        };
        Some(match self.leaf(node, "unitText") {
            Some(unit) => format!("{value} {unit}"),
            None => value,
        })
    }

    /// The one text of a property, where it has one that is a text by itself.
    fn leaf(&self, node: &Node, term: &str) -> Option<String> {
        match node.values(term) {
            [Term::Scalar(value)] => scalar_text(value).filter(|text| !text.trim().is_empty()),
            _ => None,
        }
    }

    /// A quantity: a number, or the value of a `QuantitativeValue`.
    pub(super) fn quantity(&self, node: &Node, term: &'static str) -> Result<Option<Value>, Fault> {
        let (value, unit) = match self.one(node, term)? {
            None => return Ok(None),
            Some(Term::Scalar(value)) => (value.clone(), None),
            Some(Term::Node(index)) => {
                let inner = self.node(*index);
                let of_term = |fault: Fault| Fault { column: Some(term.to_owned()), ..fault };
                let Some(value) = self.scalar(inner, "value").map_err(of_term)? else { return Ok(None) };
                (value, self.scalar(inner, "unitCode").map_err(of_term)?)
            }
        };
        if let Some(unit) = unit.as_ref().and_then(scalar_text)
            && !PIECES.contains(&unit.to_ascii_uppercase().as_str())
        {
            let found = format!("the unit is {}", shown(&unit));
            let expected = format!("pieces ({})", PIECES.join(", "));
            return Err(Fault::of(term, found, expected, "Have it count pieces, or say no unit."));
        }
        Ok(Some(whole(value)).filter(|value| !is_empty(value)))
    }
}

fn is_empty(value: &Value) -> bool {
    value.as_str().is_some_and(|text| text.trim().is_empty())
}

/// A number such as `2.0` as the whole one that it is.
fn whole(value: Value) -> Value {
    /// Whole numbers up to here are exact in a binary number of 64 bits (IEEE 754).
    const EXACT: f64 = 9_007_199_254_740_992.0;
    match value.as_f64() {
        Some(number) if value.is_f64() && number.fract() == 0.0 && number.abs() < EXACT => {
            format!("{number:.0}").parse::<i64>().map_or(value, Value::from)
        }
        _ => value,
    }
}
