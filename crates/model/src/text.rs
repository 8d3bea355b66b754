//! How texts that people typed are compared: SKUs, option names and option values.
//!
//! Ids are never folded; they compare byte by byte.

use icu_casemap::CaseMapper;
use icu_normalizer::ComposingNormalizer;

/// The form under which two texts are the same: Unicode NFKC, case folding, collapsed spaces.
///
/// Runs of white space become one space, white space at the ends goes. Idempotent.
/// Source: Unicode Standard Annex 15 (NFKC) and the Unicode Standard, section 3.13, definition D146
/// (compatibility caseless matching, here NFKC before and after the folding).
///
/// ```
/// assert_eq!(model::text::fold("  Forest\u{a0} GREEN "), "forest green");
/// assert_eq!(model::text::fold("STRASSE"), model::text::fold("straße"));
/// ```
pub fn fold(text: &str) -> String {
    if text.is_ascii() {
        let mut folded = collapse(text);
        folded.make_ascii_lowercase();
        return folded;
    }
    let nfkc = ComposingNormalizer::new_nfkc();
    let case = CaseMapper::new();
    let mut folded = nfkc.normalize(text).into_owned();
    // Folding can leave a text that NFKC changes again, and the reverse; two passes reach the fixed point of
    // every known character, the bound keeps a future one from looping.
    for _ in 0..4 {
        let next = nfkc.normalize(&case.fold_string(&folded)).into_owned();
        if next == folded {
            break;
        }
        folded = next;
    }
    collapse(&folded)
}

fn collapse(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(word);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::fold;
    use proptest::prelude::*;

    #[test]
    fn texts_that_people_take_for_the_same_are_the_same() {
        for (a, b) in [
            ("XL", "xl"),
            (" Large  apron ", "large apron"),
            ("ﬁg", "FIG"),
            ("Grau\u{2003}meliert", "grau meliert"),
            ("CAFE\u{301}", "café"),
            ("ＭＯＳＳ", "moss"),
            ("ΣΊΣΥΦΟΣ", "σίσυφος"),
        ] {
            assert_eq!(fold(a), fold(b), "{a:?} and {b:?}");
        }
        assert_ne!(fold("S"), fold("5"));
        assert_ne!(fold("2 XL"), fold("2XL"));
    }

    proptest! {
        #[test]
        fn folding_twice_changes_nothing(text in "\\PC{0,24}") {
            let once = fold(&text);
            prop_assert_eq!(fold(&once), once);
        }
    }
}
