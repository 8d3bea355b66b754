//! What the options of a listing are called, and how a good and its size are written as one value.
//!
//! Must not know which goods there are. Start reading at [`Wording`].

use std::fmt;
use std::str::FromStr;

use model::text::fold;
use thiserror::Error;

/// The words of a listing's options, in the language of the shop.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Wording {
    /// The option for sizes, where a listing sells one good.
    pub size: String,
    /// The option for colours.
    pub colour: String,
    /// The option for goods and their sizes, where it sells several.
    pub item: String,
    /// How a good and its size are one value of that.
    pub item_value: ItemValue,
    /// The value for a good that has no colour, beside others that have.
    pub one_colour: String,
}

impl Default for Wording {
    fn default() -> Self {
        Self {
            size: "Size".to_owned(),
            colour: "Colour".to_owned(),
            item: "Item".to_owned(),
            item_value: ItemValue("{size_word} {good}".to_owned()),
            one_colour: "One colour".to_owned(),
        }
    }
}

impl Wording {
    /// The first two of its option names that are the same, which no listing could have.
    pub fn same_names(&self) -> Option<(&str, &str)> {
        let is_same = |one: &str, other: &str| fold(one) == fold(other);
        let pairs = [(&self.size, &self.colour), (&self.item, &self.colour)];
        pairs
            .into_iter()
            .find(|(one, other)| is_same(one, other))
            .map(|(one, other)| (one.as_str(), other.as_str()))
    }
}

/// A good and its size as one value: a text with `{good}`, and `{size}` or `{size_word}`.
///
/// `{size}` is the size as the supplier writes it. `{size_word}` is for English: a plain S, M or L is Small, Medium or
/// Large, and a good that follows it begins with a small letter.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ItemValue(String);

/// Why a text is no way to write a good and its size.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
#[error("{0}")]
pub struct NoItemValue(&'static str);

impl ItemValue {
    /// What an error says was expected.
    pub const EXPECTED: &str = r#"a text with {good}, and {size} or {size_word}, such as "{good}, {size}""#;

    /// The value of a good in a size. A name of the owner's stays as it is typed.
    pub(super) fn written(&self, good: &str, is_own_name: bool, size: &str) -> String {
        let Self(form) = self;
        // A youth S of a youth tee is its S.
        let names = |word: &str| good.split_whitespace().any(|other| fold(other) == fold(word));
        let size = match size.split_once(' ') {
            Some((first, rest)) if names(first) => rest,
            _ => size,
        };
        let is_behind = form.contains("{size_word}") && !form.trim_start().starts_with("{good}");
        let good = if is_behind && !is_own_name { small(good) } else { good.to_owned() };
        let size_word = match size {
            "S" => "Small",
            "M" => "Medium",
            "L" => "Large",
            other => other,
        };
        // The good comes last, so that nothing in its name is taken for a place.
        form.replace("{size_word}", size_word).replace("{size}", size).replace("{good}", &good)
    }
}

/// A text that begins with a small letter, where nothing else in it is a capital: 'Kitchen apron', not 'TOTE BAG'.
fn small(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) if !letters.clone().any(char::is_uppercase) => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => text.to_owned(),
    }
}

impl FromStr for ItemValue {
    type Err = NoItemValue;

    fn from_str(text: &str) -> Result<Self, NoItemValue> {
        let without = text.replace("{good}", "").replace("{size}", "").replace("{size_word}", "");
        if without.contains(['{', '}']) {
            return Err(NoItemValue("has another place than {good}, {size} and {size_word}"));
        }
        let has_size = text.contains("{size}") || text.contains("{size_word}");
        if !text.contains("{good}") || !has_size {
            return Err(NoItemValue("does not have both the good and its size"));
        }
        Ok(Self(text.to_owned()))
    }
}

impl fmt::Display for ItemValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_good_and_its_size_are_one_value_in_the_order_of_the_language() {
        let english = Wording::default().item_value;
        assert_eq!(english.written("Kitchen apron", false, "L"), "Large kitchen apron");
        assert_eq!(english.written("T-shirt", false, "2XL"), "2XL t-shirt");
        assert_eq!(english.written("Otter mug", true, "11 oz"), "11 oz Otter mug");
        assert_eq!(english.written("TOTE BAG", false, "38 cm"), "38 cm TOTE BAG");
        assert_eq!(english.written("Youth tee", false, "Youth S"), "Small youth tee");
        assert_eq!(english.written("Tee", false, "Youth S"), "Youth S tee");
        let german: ItemValue = "{good}, {size}".parse().unwrap();
        assert_eq!(german.written("Schürze", false, "L"), "Schürze, L");
        let german: ItemValue = "{size} {good}".parse().unwrap();
        assert_eq!(german.written("Kissenbezug", false, "40 x 40 cm"), "40 x 40 cm Kissenbezug");
        assert_eq!(german.written("{size}", false, "L"), "L {size}");
    }

    #[test]
    fn a_value_needs_the_good_and_the_size_and_nothing_else() {
        for text in ["{good}", "{size}", "", "{good} {size} {colour}", "{good} {size} }"] {
            assert!(text.parse::<ItemValue>().is_err(), "{text}");
        }
        assert!("{size_word} {good}".parse::<ItemValue>().is_ok());
    }

    #[test]
    fn two_options_of_one_name_are_found() {
        assert_eq!(Wording::default().same_names(), None);
        let wording = Wording { item: "colour ".to_owned(), ..Wording::default() };
        assert_eq!(wording.same_names(), Some(("colour ", "Colour")));
    }
}
