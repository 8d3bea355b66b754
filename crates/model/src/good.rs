//! The goods that listings sell, as an owner tells them apart, and which supplier product each is.
//!
//! Must not know how a good is read of an offer, or where rules are kept. Start reading at [`Good`].

use std::fmt;

use crate::SupplierId;

/// A good as a rule of the owner names it. Shown as its product type, for whom it is, and the words that tell it apart:
/// `mug: low`, `youth t-shirt`.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub struct Good {
    /// The product type, in the vocabulary's word.
    pub product_type: Option<String>,
    /// For whom, in the vocabulary's word.
    pub age_group: Option<String>,
    /// The words that tell it from other goods of its type, folded, sorted.
    pub words: Vec<String>,
}

/// The owner's answer: this good is that product, in every listing that may sell it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GoodRule {
    /// The good.
    pub good: Good,
    /// Who makes the product.
    pub supplier: SupplierId,
    /// The product's name.
    pub product: String,
}

impl fmt::Display for Good {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(age_group) = &self.age_group {
            write!(f, "{age_group} ")?;
        }
        f.write_str(self.product_type.as_deref().unwrap_or("good"))?;
        if !self.words.is_empty() {
            write!(f, ": {}", self.words.join(" "))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_good_is_shown_by_what_tells_it_apart() {
        let good = |product_type: Option<&str>, age_group: Option<&str>, words: &[&str]| {
            let owned = |text: &str| text.to_owned();
            let words = words.iter().copied().map(owned).collect();
            Good { product_type: product_type.map(owned), age_group: age_group.map(owned), words }.to_string()
        };
        assert_eq!(good(Some("mug"), None, &["low", "white"]), "mug: low white");
        assert_eq!(good(Some("t-shirt"), Some("youth"), &[]), "youth t-shirt");
        assert_eq!(good(None, None, &["a"]), "good: a");
    }
}
