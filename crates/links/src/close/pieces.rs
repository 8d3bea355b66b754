//! How many pieces texts say: 'set of 4', '10 postcards', 'single'.
//!
//! Must not know whether a variant has as many. Start reading at [`pieces`].

use std::ops::Range;

use super::names::loose_names;
use crate::read::SaidText;
use crate::spans::Said;
use crate::vocabulary::Vocabulary;

/// Words for one piece. Common practice, no published source.
pub(super) const ONE: [&str; 11] = [
    "one",
    "eine",
    "single",
    "singly",
    "individual",
    "einzeln",
    "einzelne",
    "einzelstuck",
    "unite",
    "unidad",
    "suelta",
];

/// How many pieces texts say: 'set of 4', '3 pack', '4er Set', 'pair', '10 postcards', 'single'.
pub(super) fn pieces(vocabulary: &Vocabulary, texts: &[&SaidText<'_, '_>]) -> Option<u32> {
    let goods = |text: &SaidText<'_, '_>| -> Vec<Range<usize>> {
        let named = text.spans.iter().filter(|span| matches!(span.said, Said::ProductType(..)));
        let loosely = loose_names(vocabulary, &text.text).into_iter().map(|(_, place)| place);
        named.map(|span| span.words.clone()).chain(loosely).collect()
    };
    // A number that a text begins with, right before a good; and behind one '×5'.
    let counted = |text: &SaidText<'_, '_>| {
        let key = |word: usize| text.text.key(word);
        let count = || number(key(0)).filter(|_| !text.text.joint(1).parts());
        let is_several = |good: &Range<usize>| ["s", "en"].iter().any(|end| key(good.end - 1).ends_with(end));
        let last = text.text.words().len().saturating_sub(1);
        if count().is_none() && !key(last).starts_with('x') {
            return None;
        }
        let goods = goods(text);
        let before = count()
            .filter(|count| goods.iter().any(|good| good.start == 1 && (*count == 1 || is_several(good))));
        let behind = || {
            let is_behind = goods.iter().any(|good| good.end == last);
            key(last).strip_prefix('x').filter(|_| is_behind).and_then(|count| count.parse().ok())
        };
        before.or_else(behind)
    };
    several_pieces(texts).or_else(|| texts.iter().find_map(|text| counted(text))).or_else(|| {
        let says_one = |text: &&SaidText<'_, '_>| {
            let key = |word: usize| text.text.key(word);
            // 'One size' is no piece.
            (0..text.text.words().len())
                .any(|word| ONE.contains(&key(word)) && (key(word), key(word + 1)) != ("one", "size"))
        };
        texts.iter().any(says_one).then_some(1)
    })
}

/// A number of pieces, in digits or as a word of English, German, French or Spanish.
pub(super) fn number(word: &str) -> Option<u32> {
    const WORDS: [(&str, u32); 33] = [
        ("one", 1),
        ("two", 2),
        ("three", 3),
        ("four", 4),
        ("five", 5),
        ("six", 6),
        ("eight", 8),
        ("ten", 10),
        ("twelve", 12),
        ("ein", 1),
        ("eine", 1),
        ("zwei", 2),
        ("drei", 3),
        ("vier", 4),
        ("funf", 5),
        ("sechs", 6),
        ("acht", 8),
        ("zehn", 10),
        ("zwolf", 12),
        ("une", 1),
        ("deux", 2),
        ("trois", 3),
        ("quatre", 4),
        ("cinq", 5),
        ("dix", 10),
        ("douze", 12),
        ("una", 1),
        ("dos", 2),
        ("tres", 3),
        ("cuatro", 4),
        ("cinco", 5),
        ("diez", 10),
        ("doce", 12),
    ];
    let in_words = || WORDS.iter().find(|(there, _)| *there == word).map(|(_, number)| *number);
    word.parse().ok().filter(|_| word.len() <= 3).or_else(in_words)
}

/// Whether a word is a number of pieces in words.
pub(crate) fn is_number_word(word: &str) -> bool {
    number(word).is_some_and(|number| number > 0) && !word.contains(|sign: char| sign.is_ascii_digit())
}

/// How many pieces texts say in words for that.
pub(super) fn several_pieces(texts: &[&SaidText<'_, '_>]) -> Option<u32> {
    /// Words for several pieces, before 'of' or behind their number. Common practice, no published source.
    const SEVERAL: [&str; 19] = [
        "set", "sets", "pack", "packs", "pk", "box", "bundle", "lot", "pcs", "pieces", "piece", "stuck",
        "er", "piezas", "juego", "paquete", "unidades", "jeu", "paquet",
    ];
    texts.iter().find_map(|text| {
        let text = &text.text;
        let key = |word: usize| text.key(word);
        (0..text.words().len()).find_map(|word| {
            let number = |word: usize| number(key(word));
            let is_several = |word: usize| SEVERAL.contains(&key(word));
            if is_several(word) && matches!(key(word + 1), "of" | "de" | "von" | "mit") {
                return number(word + 2);
            }
            if let Some(count) = number(word).filter(|_| is_several(word + 1)) {
                return Some(count);
            }
            let glued = key(word).strip_suffix("er").or_else(|| key(word).strip_suffix("pk"));
            let glued = glued.or_else(|| key(word).strip_suffix("pack")).and_then(|count| count.parse().ok());
            glued.or_else(|| matches!(key(word), "pair" | "paar" | "paire" | "duo").then_some(2))
        })
    })
}
