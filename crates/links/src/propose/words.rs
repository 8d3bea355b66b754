//! Words as numbers, so that rows are compared quickly.
//!
//! Must not know what a word means. Start reading at [`Words`].

use std::collections::HashMap;

use foldhash::fast::RandomState;

/// A word of one run.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) struct Word(u32);

/// The words of one run.
#[derive(Default)]
pub(super) struct Words {
    numbers: HashMap<Box<str>, Word, RandomState>,
    texts: Vec<Box<str>>,
}

impl Words {
    pub(super) fn take(&mut self, text: &str) -> Word {
        if let Some(word) = self.numbers.get(text) {
            return *word;
        }
        let word = Word(u32::try_from(self.texts.len()).unwrap_or(u32::MAX));
        self.numbers.insert(text.into(), word);
        self.texts.push(text.into());
        word
    }

    pub(super) fn text(&self, word: Word) -> &str {
        self.texts.get(word.0 as usize).map_or("", |text| text)
    }

    pub(super) fn is_number(&self, word: Word) -> bool {
        self.text(word).chars().all(|sign| sign.is_ascii_digit())
    }

    pub(super) fn has_digit(&self, word: Word) -> bool {
        self.text(word).contains(|sign: char| sign.is_ascii_digit())
    }

    pub(super) fn joined(&self, words: &[Word]) -> String {
        words.iter().map(|word| self.text(*word)).collect::<Vec<_>>().join(" ")
    }
}

/// A set of words, in their order of number.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub(super) struct WordSet(Vec<Word>);

impl FromIterator<Word> for WordSet {
    fn from_iter<I: IntoIterator<Item = Word>>(words: I) -> Self {
        let mut words: Vec<Word> = words.into_iter().collect();
        words.sort_unstable();
        words.dedup();
        Self(words)
    }
}

impl WordSet {
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    pub(super) fn has(&self, word: Word) -> bool {
        self.0.binary_search(&word).is_ok()
    }

    pub(super) fn is_within(&self, other: &Self) -> bool {
        self.0.iter().all(|word| other.has(*word))
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = Word> {
        self.0.iter().copied()
    }

    pub(super) fn as_slice(&self) -> &[Word] {
        &self.0
    }

    pub(super) fn without(&self, other: &Self) -> Self {
        Self(self.iter().filter(|word| !other.has(*word)).collect())
    }

    pub(super) fn both(&self, other: &Self) -> Self {
        Self(self.iter().filter(|word| other.has(*word)).collect())
    }

    /// The words that all of these have.
    pub(super) fn in_all(mut sets: impl Iterator<Item = Self>) -> Self {
        let first = sets.next().unwrap_or_default();
        sets.fold(first, |all, set| all.both(&set))
    }
}
