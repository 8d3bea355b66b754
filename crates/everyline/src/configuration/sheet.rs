//! What holds for every new listing where a command says nothing else: margin, rounding, the words of its options.
//!
//! Must not know listings. Start reading at [`SheetKeys`].

use links::sheet::{ItemValue, Margin, OnePriceFor, Rounding, Wording};
use serde::Deserialize;
use serde::de::Error as _;

use super::problem::Problem;
use super::values::{Text, Written};

/// What holds for every new listing.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct SheetSettings {
    /// What is to be left of a price; `None` where that is said listing by listing.
    pub margin: Option<Margin>,
    /// How prices are written.
    pub rounding: Rounding,
    /// What has one price.
    pub one_price_for: OnePriceFor,
    /// The words of the options.
    pub wording: Wording,
}

/// The keys of the table `sheet`.
#[derive(Default, Deserialize)]
#[serde(
    default,
    deny_unknown_fields,
    expecting = "a table for new listings, such as { margin = \"40 %\", round = \".95\" }"
)]
pub(super) struct SheetKeys {
    margin: Option<Text<Margin>>,
    round: Option<Text<Rounding>>,
    one_price_for: Option<Text<OnePriceFor>>,
    size_option: Option<String>,
    colour_option: Option<String>,
    item_option: Option<String>,
    item_value: Option<Text<ItemValue>>,
    one_colour: Option<String>,
}

impl SheetKeys {
    /// What is in force.
    ///
    /// # Errors
    /// A word that is empty, or two options of one name.
    pub(super) fn checked(self) -> Result<SheetSettings, Problem> {
        let usual = Wording::default();
        let word = |key: &str, set: Option<String>, usual: String| match set {
            Some(word) if word.trim().is_empty() => {
                let text = format!("is empty; expected is a word that customers read, such as {usual:?}");
                Err(Problem::custom(text).under(key).under("sheet"))
            }
            Some(word) => Ok(word.trim().to_owned()),
            None => Ok(usual),
        };
        let wording = Wording {
            size: word("size_option", self.size_option, usual.size)?,
            colour: word("colour_option", self.colour_option, usual.colour)?,
            item: word("item_option", self.item_option, usual.item)?,
            item_value: self.item_value.map_or(usual.item_value, |value| value.0),
            one_colour: word("one_colour", self.one_colour, usual.one_colour)?,
        };
        if let Some((one, other)) = wording.same_names() {
            let text = format!(
                "would have two options of one name, {one:?} and {other:?}; expected is that size_option and item_option \
                 each differ from colour_option"
            );
            return Err(Problem::custom(text).under("sheet"));
        }
        Ok(SheetSettings {
            margin: self.margin.map(|margin| margin.0),
            rounding: self.round.map(|rounding| rounding.0).unwrap_or_default(),
            one_price_for: self.one_price_for.map(|one| one.0).unwrap_or_default(),
            wording,
        })
    }
}

impl Written for Margin {
    const EXPECTED: &str = Self::EXPECTED;

    fn parse(text: &str) -> Option<Self> {
        text.parse().ok()
    }
}

impl Written for Rounding {
    const EXPECTED: &str = Self::EXPECTED;

    fn parse(text: &str) -> Option<Self> {
        text.parse().ok()
    }
}

impl Written for ItemValue {
    const EXPECTED: &str = Self::EXPECTED;

    fn parse(text: &str) -> Option<Self> {
        text.parse().ok()
    }

    fn hint(text: &str) -> Option<String> {
        text.parse::<Self>().err().map(|error| format!("it {error}"))
    }
}

impl Written for OnePriceFor {
    const EXPECTED: &str = "one of good, size, each, in quotes";

    fn parse(text: &str) -> Option<Self> {
        match text {
            "good" => Some(Self::Good),
            "size" => Some(Self::Size),
            "each" => Some(Self::Each),
            _ => None,
        }
    }
}
