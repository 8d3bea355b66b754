//! Which hue a colour has: 'navy' is a blue.
//!
//! Must not know offers or variants. Start reading at [`Hues`].

use std::collections::{HashMap, HashSet};

use super::words::{Word, WordSet, Words};
use crate::vocabulary::Vocabulary;

/// The hues of the words of one run.
pub(super) struct Hues {
    by_word: HashMap<Word, Word>,
    tones: HashMap<Word, Tone>,
    own_names: HashSet<Word>,
    heather: Word,
    grey: Word,
    alike: Vec<Vec<WordSet>>,
    parts: HashSet<Word>,
    /// The words of colours as they are written.
    texts: Vec<String>,
    /// Words of colours between hues, and those that they may be said to have beside their own.
    between: HashMap<Word, Vec<Word>>,
}

/// Whether a word says that a colour is dark, light, or nothing worth a difference.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Tone {
    Dark,
    Light,
    Weak,
}

impl Hues {
    pub(super) fn of_vocabulary(vocabulary: &Vocabulary, words: &mut Words) -> Self {
        let mut by_word = HashMap::new();
        let texts = vocabulary.hues.iter().flat_map(|(hue, others)| std::iter::once(hue).chain(others));
        let texts = texts.cloned().collect();
        for (hue, others) in &vocabulary.hues {
            let hue = words.take(hue);
            by_word.insert(hue, hue);
            by_word.extend(others.iter().map(|word| (words.take(word), hue)));
        }
        let tones = &vocabulary.tones;
        let all = [(Tone::Dark, &tones.dark), (Tone::Light, &tones.light), (Tone::Weak, &tones.weak)];
        let tones = all.into_iter().flat_map(|(tone, all)| all.iter().map(move |word| (word, tone)));
        let tones = tones.map(|(word, tone)| (words.take(word), tone)).collect();
        let own_names = vocabulary.own_names.iter().map(|word| words.take(word)).collect();
        let mut set = |name: &String| name.split(' ').map(|word| words.take(word)).collect();
        let alike = vocabulary.alike.iter().map(|group| group.iter().map(&mut set).collect()).collect();
        let between = vocabulary.between.iter();
        let between = between
            .map(|(word, hues)| (words.take(word), hues.iter().map(|hue| words.take(hue)).collect()))
            .collect();
        // A two-tone mug is called by its parts as well.
        let parts = vocabulary.parts.iter().map(String::as_str).chain(["tone"]);
        let parts = parts.map(|word| words.take(word)).collect();
        Self {
            by_word,
            tones,
            own_names,
            alike,
            parts,
            between,
            texts,
            heather: words.take("heather"),
            grey: words.take("grey"),
        }
    }

    pub(super) fn is_hue(&self, word: Word) -> bool {
        self.by_word.get(&word) == Some(&word)
    }

    /// Whether a hue is among a colour's words.
    pub(super) fn has_hue(&self, words: &WordSet) -> bool {
        words.iter().any(|word| self.is_hue(word))
    }

    /// The one hue of a colour's words.
    pub(super) fn of(&self, tail: &WordSet) -> Option<Word> {
        let hue: WordSet = tail.iter().filter_map(|word| self.by_word.get(&word).copied()).collect();
        match hue.as_slice() {
            [hue] => Some(*hue),
            // A heather of no other colour is grey: 'athletic heather'.
            [] if tail.has(self.heather) => Some(self.grey),
            _ => None,
        }
    }

    /// Whether both colours have one hue, and no hue that either may be said to have is the other's.
    pub(super) fn are_apart(&self, one: &WordSet, other: &WordSet) -> bool {
        let hues = |words: &WordSet, hue: Word| -> WordSet {
            let between = words.iter().filter_map(|word| self.between.get(&word)).flatten().copied();
            std::iter::once(hue).chain(between).collect()
        };
        self.of(one).zip(self.of(other)).is_some_and(|(a, b)| hues(one, a).both(&hues(other, b)).is_empty())
    }

    /// Whether a word is what one begins with that is a colour: 'mar' is rather a maroon or a marine than a mustard.
    pub(super) fn begins(&self, short: &str) -> bool {
        self.texts.iter().any(|text| text.starts_with(short))
    }

    /// Whether one colour may be called by the other's hue.
    pub(super) fn are_akin(&self, one: &WordSet, other: &WordSet) -> bool {
        self.of(one).is_some() && self.of(other).is_some() && !self.are_apart(one, other)
    }

    /// The colours that people call by another name than this one.
    pub(super) fn alike(&self, words: &WordSet) -> Vec<&WordSet> {
        self.alike
            .iter()
            .filter(|group| group.contains(words))
            .flatten()
            .filter(|other| *other != words)
            .collect()
    }

    /// Whether a word is that for a part of a good.
    pub(super) fn is_part(&self, word: Word) -> bool {
        self.parts.contains(&word)
    }

    pub(super) fn is_tone(&self, word: Word) -> bool {
        self.tones.contains_key(&word)
    }

    pub(super) fn is_light(&self, word: Word) -> bool {
        self.tones.get(&word) == Some(&Tone::Light)
    }

    /// Whether one of the words says dark.
    pub(super) fn is_dark(&self, words: &WordSet) -> bool {
        words.iter().any(|word| self.tones.get(&word) == Some(&Tone::Dark))
    }

    /// Whether its hue is grey.
    pub(super) fn is_grey(&self, words: &WordSet) -> bool {
        self.of(words) == Some(self.grey)
    }

    /// Whether it is a hue with heather, and nothing else.
    pub(super) fn is_heathered(&self, words: &WordSet) -> bool {
        words.has(self.heather) && words.iter().all(|word| word == self.heather || self.is_hue(word))
    }

    pub(super) fn is_weak(&self, word: Word) -> bool {
        self.tones.get(&word) == Some(&Tone::Weak)
    }

    /// Hue and tone of a colour that is called by little else: 'dark blue', 'navy', 'baby pink'.
    pub(super) fn toned(&self, words: &WordSet) -> Option<(Word, Tone)> {
        let tone = |word: Word| self.tones.get(&word).copied().filter(|tone| *tone != Tone::Weak);
        let tones: Vec<Tone> = words.iter().filter_map(tone).collect();
        let first = *tones.first()?;
        let is_plain = |word: Word| self.is_tone(word) || self.is_hue(word);
        let agrees = tones.iter().all(|tone| *tone == first) && words.iter().all(is_plain);
        agrees.then_some((self.of(words)?, first))
    }

    /// A colour's words without the hue that another of them has anyway: 'blue, navy' is navy.
    pub(super) fn core(&self, tail: &WordSet) -> WordSet {
        let is_named_anyway =
            |hue: Word| tail.iter().any(|word| word != hue && self.by_word.get(&word) == Some(&hue));
        tail.iter().filter(|word| !(self.is_hue(*word) && is_named_anyway(*word))).collect()
    }

    /// Whether a colour has a name that its hue alone is never short for.
    pub(super) fn has_own_name(&self, tail: &WordSet) -> bool {
        tail.iter().any(|word| !self.is_hue(word) && self.own_names.contains(&word))
    }

    /// The hue of a word that is a colour in another language alone: the French 'rose'.
    pub(super) fn foreign(&self, coloured: &WordSet, words: &Words) -> Option<Word> {
        match coloured.as_slice() {
            [word] if words.text(*word) == "rose" => self.by_word.get(word).copied(),
            _ => None,
        }
    }

    /// Grey, where nothing but heather is said.
    pub(super) fn heather_alone(&self, words: &WordSet) -> Option<Word> {
        (words.as_slice() == [self.heather]).then_some(self.grey)
    }

    /// The hue, where the words are nothing else.
    pub(super) fn alone(&self, words: &WordSet) -> Option<Word> {
        match words.as_slice() {
            [word] if self.is_hue(*word) => Some(*word),
            _ => None,
        }
    }
}
