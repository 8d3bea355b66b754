//! Where a text names goods, surely and loosely.
//!
//! Must not know which of several is meant. Start reading at [`loose_names`].

use std::ops::Range;

use crate::read::SaidText;
use crate::spans::Said;
use crate::text::Text;
use crate::vocabulary::{Naming, Vocabulary};

/// A product type by its place in the vocabulary, and the words that name it loosely.
pub(super) type LooseName = (usize, Range<usize>);

/// Where a heading names goods.
pub(super) fn surely_placed<'h>(heading: &'h SaidText<'_, '_>) -> impl Iterator<Item = &'h Range<usize>> {
    let goods = heading.spans.iter();
    goods.filter(|span| matches!(span.said, Said::ProductType(..))).map(|span| &span.words)
}

/// The product types that a heading names surely.
pub(super) fn surely_named(heading: &SaidText<'_, '_>) -> impl Iterator<Item = usize> {
    heading.spans.iter().filter_map(|span| match span.said {
        Said::ProductType(index, Naming::Surely | Naming::GivesWay) => Some(index),
        _ => None,
    })
}

/// Whether the phrase by which a title names its good holds the one by which another text does.
pub(super) fn is_longer_name(title: &SaidText<'_, '_>, other: &SaidText<'_, '_>) -> bool {
    let phrases = |heading: &SaidText<'_, '_>| -> Vec<Vec<String>> {
        let goods = heading.spans.iter();
        let goods = goods.filter(|span| matches!(span.said, Said::ProductType(_, Naming::Surely)));
        let phrase = |words: Range<usize>| words.map(|word| heading.text.key(word).to_owned()).collect();
        goods.map(|span| phrase(span.words.clone())).collect()
    };
    let (long, short) = (phrases(title), phrases(other));
    let holds = |long: &Vec<String>, short: &Vec<String>| {
        long.len() > short.len() && long.windows(short.len()).any(|part| part == short.as_slice())
    };
    !short.is_empty() && short.iter().all(|short| long.iter().any(|long| holds(long, short)))
}

/// The loose names of product types in a text, and their places.
pub(super) fn loose_names(vocabulary: &Vocabulary, text: &Text<'_>) -> Vec<LooseName> {
    let known = vocabulary.loosely.know(text);
    let mut found = Vec::new();
    let mut at = 0;
    while at < text.words().len() {
        match vocabulary.loosely.longest(text, &known, at, |_| true) {
            Some((end, meanings)) => {
                found.extend(meanings.iter().map(|index| (*index, at..end)));
                at = end;
            }
            None => at += 1,
        }
    }
    found
}
