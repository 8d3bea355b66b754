//! What option text says: product type, age group, size and colour. Made by the crate `links`.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

/// What was read of an offer, an order line or a variant. `None` is 'could not be read', which neither agrees
/// with anything nor contradicts it. Values are the vocabulary's own words, so that equal means the same.
#[derive(Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
pub struct Reading {
    /// What kind of good: `apron`, `long-sleeved top`.
    pub product_type: Option<String>,
    /// For whom: `adult`, `youth`, `toddler`, `baby`. Read as a part of the size.
    pub age_group: Option<String>,
    /// How large: `L`, `2XL`, `11 oz`.
    pub size: Option<String>,
    /// Which colour: `moss`, `dark heather grey`.
    pub colour: Option<String>,
    /// The words that were not read, in their order, folded.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub left_over: Vec<String>,
}

/// Nothing could be read.
pub static UNREAD: Reading =
    Reading { product_type: None, age_group: None, size: None, colour: None, left_over: Vec::new() };

/// One kind of thing that two readings can agree or differ in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// What kind of good.
    ProductType,
    /// For whom.
    AgeGroup,
    /// How large.
    Size,
    /// Which colour.
    Colour,
}

impl Kind {
    /// All kinds, in the order in which they are shown.
    pub const ALL: [Self; 4] = [Self::ProductType, Self::AgeGroup, Self::Size, Self::Colour];

    /// What an owner calls it.
    pub fn name(self) -> &'static str {
        match self {
            Self::ProductType => "product",
            Self::AgeGroup => "age group",
            Self::Size => "size",
            Self::Colour => "colour",
        }
    }
}

/// Something that two readings both say, and say differently.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, JsonSchema)]
pub struct Difference {
    /// In what they differ.
    pub kind: Kind,
    /// What the order line or offer says.
    pub wanted: String,
    /// What the variant says.
    pub sent: String,
}

impl Reading {
    /// What was read of one kind.
    pub fn of(&self, kind: Kind) -> Option<&str> {
        match kind {
            Kind::ProductType => self.product_type.as_deref(),
            Kind::AgeGroup => self.age_group.as_deref(),
            Kind::Size => self.size.as_deref(),
            Kind::Colour => self.colour.as_deref(),
        }
    }

    /// In what the two contradict each other, both sides being readable. Empty: nothing contradicts.
    pub fn differences(&self, sent: &Self) -> Vec<Difference> {
        Kind::ALL
            .into_iter()
            .filter_map(|kind| {
                let (wanted, sent) = (self.of(kind)?, sent.of(kind)?);
                differ(kind, wanted, sent).then(|| Difference {
                    kind,
                    wanted: wanted.into(),
                    sent: sent.into(),
                })
            })
            .collect()
    }

    /// Whether the two contradict each other in anything that both say.
    pub fn contradicts(&self, other: &Self) -> bool {
        Kind::ALL
            .into_iter()
            .any(|kind| matches!((self.of(kind), other.of(kind)), (Some(a), Some(b)) if differ(kind, a, b)))
    }

    /// Whether both say the same of every kind; what neither says is the same too.
    pub fn says_the_same(&self, other: &Self) -> bool {
        Kind::ALL.into_iter().all(|kind| self.of(kind) == other.of(kind))
    }

    /// Whether the other says all that this one says, and says the same of it.
    pub fn is_said_by(&self, other: &Self) -> bool {
        Kind::ALL.into_iter().all(|kind| self.of(kind).is_none() || self.of(kind) == other.of(kind))
    }
}

/// Whether two different words of a kind cannot both be true. Sizes of two sorts can: 11 oz may be 330 ml, and
/// an L may measure 70 x 80 cm.
fn differ(kind: Kind, one: &str, other: &str) -> bool {
    one != other && (kind != Kind::Size || size_sort(one) == size_sort(other))
}

/// The sort of a size: letters, an age with its letter, a measure with its unit and number of sides, a series
/// such as A4, or a word.
fn size_sort(size: &str) -> (&str, usize) {
    let unit = size.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | 'x'));
    let has_number = unit.len() < size.len();
    if has_number && matches!(unit, "T" | "M" | "Y") {
        (unit, 0)
    } else if has_number && (unit.is_empty() || unit.starts_with(' ')) {
        (unit, size.matches('x').count())
    } else if size.chars().all(|c| c.is_ascii_digit() || matches!(c, 'X' | 'S' | 'M' | 'L' | '/')) {
        ("letters", 0)
    } else {
        (size.trim_end_matches(|c: char| c.is_ascii_digit()), 0)
    }
}

/// What option text says of every row that has some, each list in the order of the book's table.
#[derive(Clone, Default, Debug)]
pub struct Readings {
    /// Of `Book::order_lines`: the options' values; the product type from the title where they state none.
    pub order_lines: Vec<Reading>,
    /// Of `Book::offers`: likewise.
    pub offers: Vec<Reading>,
    /// Of `Book::variants`: the product and the options' values.
    pub variants: Vec<Reading>,
    /// In what offers contradict variants that they lead to, where that was held against what the product comes in;
    /// `None`: the readings by themselves decide.
    pub links: Option<HeldLinks>,
}

/// In what offers contradict variants that they lead to.
#[derive(Clone, Default, Debug)]
pub struct HeldLinks {
    contradictions: BTreeMap<(usize, usize), Vec<Difference>>,
}

impl HeldLinks {
    /// Of pairs of an offer and a variant, as places in the book's tables, each with in what it contradicts it.
    pub fn new(held: impl IntoIterator<Item = ((usize, usize), Vec<Difference>)>) -> Self {
        let contradictions = held.into_iter().filter(|(_, differs)| !differs.is_empty()).collect();
        Self { contradictions }
    }

    /// In what an offer contradicts a variant; empty where in nothing, or where the pair was not held.
    pub fn differences(&self, offer: usize, variant: usize) -> &[Difference] {
        self.contradictions.get(&(offer, variant)).map_or(&[], Vec::as_slice)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(product: &str, size: &str, colour: &str) -> Reading {
        let said = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        Reading { product_type: said(product), size: said(size), colour: said(colour), ..Reading::default() }
    }

    #[test]
    fn what_cannot_be_read_neither_agrees_nor_contradicts() {
        let apron = reading("apron", "L", "");
        assert!(!apron.contradicts(&reading("", "", "moss")));
        assert!(apron.contradicts(&reading("apron", "M", "moss")));
        assert!(!apron.says_the_same(&reading("apron", "", "")));
        assert!(apron.says_the_same(&reading("apron", "L", "")));
        assert!(!apron.is_said_by(&reading("apron", "", "moss")));
        assert!(apron.is_said_by(&reading("apron", "L", "moss")));
        assert_eq!(
            apron.differences(&reading("tote bag", "L", "moss")),
            [Difference { kind: Kind::ProductType, wanted: "apron".into(), sent: "tote bag".into() }]
        );
    }

    #[test]
    fn sizes_of_two_sorts_do_not_contradict_each_other() {
        let contradict = |a, b| reading("mug", a, "").contradicts(&reading("mug", b, ""));
        for (a, b) in [
            ("L", "M"),
            ("2XL", "XL"),
            ("S/M", "L"),
            ("11 oz", "15 oz"),
            ("3T", "4T"),
            ("3-6M", "6-12M"),
            ("A3", "A4"),
            ("30x40 cm", "40x50 cm"),
            ("40", "42"),
        ] {
            assert!(contradict(a, b) && contradict(b, a), "{a} and {b}");
        }
        for (a, b) in [
            ("11 oz", "330 ml"),
            ("L", "38x42 cm"),
            ("18 in", "18x18 in"),
            ("M", "42"),
            ("3T", "M"),
            ("one size", "M"),
            ("A4", "21x30 cm"),
            ("L", "L"),
        ] {
            assert!(!contradict(a, b) && !contradict(b, a), "{a} and {b}");
        }
    }
}
