//! A text as a row of words, and what stands between them.
//!
//! Owns what a word is, which separators join two words and which part them. Must not know any word's meaning.
//! Start reading at [`Text::of`].

use std::borrow::Cow;
use std::ops::Range;

use icu_normalizer::DecomposingNormalizer;

/// What stands before a word.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Joint {
    /// The text's beginning, or a separator that parts: a comma, a bar, a bracket, a dash with a blank.
    Parted,
    /// A slash with blanks around it: parts, and still joins a double size.
    SpacedSlash,
    /// A colon: parts, and what stands before it says what the words behind it are about.
    Colon,
    /// A slash alone.
    Slash,
    /// An ampersand or a plus sign.
    And,
    /// A hyphen, or a dash without blanks.
    Hyphen,
    /// Blanks, full stops, low lines.
    Blank,
}

impl Joint {
    /// Whether the two words belong to different parts of the text.
    pub(crate) fn parts(self) -> bool {
        matches!(self, Self::Parted | Self::SpacedSlash | Self::Colon)
    }

    fn of(separator: &str) -> Self {
        let signs = separator.chars().filter(|sign| !sign.is_whitespace() && !is_apostrophe(*sign));
        let spaced = separator.chars().any(char::is_whitespace);
        let mut joint = Self::Blank;
        for sign in signs {
            joint = match (joint, sign) {
                (_, '.' | '_') => joint,
                (Self::Blank, '/') if spaced => Self::SpacedSlash,
                (Self::Blank, '/') => Self::Slash,
                (Self::Blank, '&' | '+') => Self::And,
                (Self::Blank, ':') => Self::Colon,
                (Self::Blank, dash) if is_dash(dash) && !spaced => Self::Hyphen,
                _ => return Self::Parted,
            };
        }
        joint
    }
}

/// One word: a run of letters and digits, with the apostrophes and decimal points inside it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Word {
    /// Where it stands in the folded text.
    pub(crate) folded: Range<usize>,
    /// Where it stands in the plain text.
    pub(crate) plain: Range<usize>,
    /// What stands before it.
    pub(crate) before: Joint,
}

/// A text and its words.
#[derive(Clone, Debug)]
pub(crate) struct Text<'t> {
    folded: Cow<'t, str>,
    plain: Option<String>,
    words: Vec<Word>,
}

impl<'t> Text<'t> {
    /// Takes a text that `model::text::fold` made, and splits it.
    pub(crate) fn of(folded: impl Into<Cow<'t, str>>) -> Self {
        let mut folded = folded.into();
        // The acute accent typed as an apostrophe: the folding has made it a blank and a combining accent.
        if folded.contains(" \u{301}") {
            folded = folded.replace(" \u{301}", "'").into();
        }
        let mut words = words(&folded);
        let plain = (!folded.is_ascii()).then(|| without_accents(&folded, &mut words));
        Self { folded, plain, words }
    }

    /// The words, in their order.
    pub(crate) fn words(&self) -> &[Word] {
        &self.words
    }

    /// The text as it was folded.
    pub(crate) fn folded(&self) -> &str {
        &self.folded
    }

    /// The text without accents, in which words are looked up.
    pub(crate) fn plain(&self) -> &str {
        self.plain.as_deref().unwrap_or(&self.folded)
    }

    /// A word as it was typed, folded.
    pub(crate) fn folded_word(&self, index: usize) -> &str {
        self.words.get(index).map_or("", |word| &self.folded[word.folded.clone()])
    }

    /// A word as it is looked up: without accents, and without a possessive's ending.
    pub(crate) fn key(&self, index: usize) -> &str {
        let word = self.words.get(index).map_or("", |word| &self.plain()[word.plain.clone()]);
        let possessive = word.strip_suffix('s').and_then(|word| word.strip_suffix(is_apostrophe));
        possessive.unwrap_or(word)
    }

    /// What stands before a word; the text's end counts as parting.
    pub(crate) fn joint(&self, index: usize) -> Joint {
        self.words.get(index).map_or(Joint::Parted, |word| word.before)
    }

    /// Whether an apostrophe stands right before a word: it is the rest of another one.
    pub(crate) fn follows_apostrophe(&self, index: usize) -> bool {
        self.words.get(index).is_some_and(|word| self.folded[..word.folded.start].ends_with(is_apostrophe))
    }
}

/// The text with every letter stripped of its accents, and where the words stand in it.
fn without_accents(folded: &str, words: &mut [Word]) -> String {
    let decomposed = DecomposingNormalizer::new_nfd();
    let mut plain = String::with_capacity(folded.len());
    let mut up_to = 0;
    for word in words {
        for (piece, is_in_word) in [(up_to..word.folded.start, false), (word.folded.clone(), true)] {
            let start = plain.len();
            let letters = decomposed.normalize_iter(folded[piece].chars());
            plain.extend(letters.filter(|letter| !is_accent(*letter)));
            if is_in_word {
                word.plain = start..plain.len();
            }
        }
        up_to = word.folded.end;
    }
    plain.push_str(&folded[up_to..]);
    plain
}

fn words(folded: &str) -> Vec<Word> {
    let mut found: Vec<Word> = Vec::new();
    let mut rest = folded.char_indices().peekable();
    while let Some((start, letter)) = rest.next() {
        if !letter.is_alphanumeric() {
            continue;
        }
        let mut end = start + letter.len_utf8();
        let mut inside = letter;
        while let Some((at, sign)) = rest.peek().copied() {
            let after = at + sign.len_utf8();
            if !is_word(sign) && !joins(inside, sign, folded[after..].chars().next()) {
                break;
            }
            (end, inside) = (after, sign);
            rest.next();
        }
        let before = found.last().map_or(Joint::Parted, |last| Joint::of(&folded[last.folded.end..start]));
        found.push(Word { folded: start..end, plain: start..end, before });
    }
    found
}

/// Whether a sign between two letters or digits keeps them one word.
fn joins(before: char, sign: char, after: Option<char>) -> bool {
    let Some(after) = after else { return false };
    match sign {
        '.' | ',' => before.is_ascii_digit() && after.is_ascii_digit(),
        sign if is_apostrophe(sign) => before.is_alphabetic() && after.is_alphabetic(),
        _ => false,
    }
}

fn is_word(letter: char) -> bool {
    letter.is_alphanumeric() || is_accent(letter)
}

fn is_accent(letter: char) -> bool {
    ('\u{300}'..='\u{36f}').contains(&letter)
}

fn is_apostrophe(sign: char) -> bool {
    matches!(sign, '\'' | '’' | '‘' | '`' | '´')
}

/// Hyphens and dashes: Unicode general category Pd as far as Latin texts use it, and the minus sign.
pub(crate) fn is_dash(sign: char) -> bool {
    matches!(sign, '-' | '\u{2010}'..='\u{2015}' | '−' | '~')
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::text::fold;
    use proptest::prelude::*;

    fn split(text: &str) -> Vec<String> {
        let folded = fold(text);
        let text = Text::of(folded.as_str());
        (0..text.words().len()).map(|index| text.key(index).to_owned()).collect()
    }

    #[test]
    fn words_end_at_any_sign_but_an_inner_apostrophe_or_decimal_point() {
        for (text, want) in [
            ("Tote bag / Natural", "tote bag natural"),
            ("moss,S", "moss s"),
            ("Men's T-Shirt", "men t shirt"),
            ("Men’s tee", "men tee"),
            ("Men´s tee", "men tee"),
            ("kids' apron", "kids apron"),
            ("l'ours", "l'ours"),
            ("11.5oz·Mug|white", "11.5oz mug white"),
            ("Größe", "grosse"),
            ("SCHÜRZE", "schurze"),
            ("E\u{301}maille", "emaille"),
            ("8,5", "8,5"),
            ("8, 5", "8 5"),
            ("", ""),
            (" / , - ", ""),
        ] {
            assert_eq!(split(text).join(" "), want, "{text:?}");
        }
    }

    #[test]
    fn separators_join_or_part() {
        for (separator, want) in [
            (" ", Joint::Blank),
            (". ", Joint::Blank),
            ("_", Joint::Blank),
            ("-", Joint::Hyphen),
            ("–", Joint::Hyphen),
            ("\u{2011}", Joint::Hyphen),
            (" - ", Joint::Parted),
            (" – ", Joint::Parted),
            (", ", Joint::Parted),
            (" | ", Joint::Parted),
            (" · ", Joint::Parted),
            (" (", Joint::Parted),
            (": ", Joint::Colon),
            (" - : ", Joint::Parted),
            ("/", Joint::Slash),
            (" / ", Joint::SpacedSlash),
            (" & ", Joint::And),
            ("//", Joint::Parted),
            ("' ", Joint::Blank),
        ] {
            let folded = fold(&format!("a{separator}b"));
            assert_eq!(Text::of(folded.as_str()).joint(1), want, "{separator:?}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_split_and_no_letter_is_lost(text in any::<String>()) {
            let folded = fold(&text);
            let split = Text::of(folded.as_str());
            let kept: String = (0..split.words().len()).map(|index| split.folded_word(index)).collect();
            let letters = |text: &str| text.chars().filter(|letter| letter.is_alphanumeric()).collect::<String>();
            prop_assert_eq!(letters(&kept), letters(&folded));
            for index in 0..split.words().len() {
                split.key(index);
            }
        }
    }
}
