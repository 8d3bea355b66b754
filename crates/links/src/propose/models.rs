//! Models of phones: what is made for one of them fits no other.
//!
//! Must not know sizes or colours. Start reading at [`makes`].

use super::family::Family;
use super::words::Words;
use model::Options;

use crate::text::Text;

/// The words that make another model of one, beside its number. Common practice, no published source.
const MAKES_ANOTHER: [&str; 9] = ["plus", "pro", "max", "mini", "ultra", "lite", "fold", "flip", "se"];

/// The goods that are made for one model.
const OF_A_MODEL: &str = "phone case";

/// Whether a product's variants are for one model each.
pub(super) fn is_of_models(family: &Family, words: &Words) -> bool {
    family.product_type.is_some_and(|kind| words.text(kind) == OF_A_MODEL)
}

/// The words of options that make another model of one: 'S5 plus' is no 'S5'.
pub(super) fn makes(options: &Options) -> Vec<&'static str> {
    let values: Vec<String> = options.folded().map(|(_, value)| value.replace('+', " plus ")).collect();
    let texts: Vec<Text<'_>> = values.iter().map(|value| Text::of(value.as_str())).collect();
    let has = |makes: &str| {
        texts.iter().any(|text| {
            (0..text.words().len()).map(|at| text.key(at)).any(|word| {
                // '15promax', and 'promax' alone.
                let behind = word.rsplit(|sign: char| sign.is_ascii_digit()).next().unwrap_or_default();
                (behind.len() < word.len() || is_run(word)) && behind.contains(makes)
            })
        })
    };
    MAKES_ANOTHER.into_iter().filter(|word| has(word)).collect()
}

/// Whether a word is nothing but such words, one behind another.
fn is_run(word: &str) -> bool {
    word.is_empty() || MAKES_ANOTHER.iter().any(|makes| word.strip_prefix(makes).is_some_and(is_run))
}
