//! An offer or a variant as it is compared.
//!
//! Must not know what it is compared with. Start reading at [`Row`].

use super::tidy::REGIONS;
use super::words::{Word, WordSet, Words};
use crate::close::{CloseReading, GoodNaming, Part, PartWord};

/// A row, its words as numbers.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) struct Row {
    pub(super) product_type: Option<Word>,
    pub(super) age_group: Option<Word>,
    pub(super) size: Size,
    /// All words but those of ages, labels and sizes, in their order.
    pub(super) words: Vec<RowWord>,
    /// How many pieces are said, where that is said.
    pub(super) pieces: Option<u32>,
    /// What the good of an offer was read from.
    pub(super) naming: GoodNaming<Word>,
    /// Whether a word makes another good of the one that is named, of which nobody knows which.
    pub(super) is_other: bool,
    /// Whose sizes are said: the European, the British, the American.
    pub(super) regions: WordSet,
    /// Words of sizes.
    pub(super) size_words: Vec<RowWord>,
    /// Words that were taken for others: as written, and as meant.
    pub(super) slips: Vec<(Word, Word)>,
}

/// What a row says of its size.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) struct Size {
    /// The one that was read.
    pub(super) read: Option<Word>,
    /// All that are said, doubtful or not.
    pub(super) said: Vec<Word>,
    /// The numbers, as they are written.
    pub(super) numbers: Vec<Word>,
}

pub(super) type RowWord = PartWord<Word>;

impl RowWord {
    /// Whether it can be a part of what a variant is called by.
    pub(super) fn tells(&self) -> bool {
        !matches!(self.part, Part::Good | Part::Design | Part::Piece)
    }
}

impl Row {
    /// Whether a word stands beside one of some others, with nothing but words between of which nothing was read.
    pub(super) fn is_chained(&self, word: &RowWord, others: impl Fn(&RowWord) -> bool) -> bool {
        let here: Vec<&RowWord> = self.words.iter().filter(|other| other.text == word.text).collect();
        let reaches = |mut at: usize, step: fn(&RowWord) -> usize, from: fn(&RowWord) -> usize| {
            while let Some(next) = here.iter().find(|other| from(other) == at) {
                if others(next) {
                    return true;
                }
                if !next.part.is_open() || step(next) == at {
                    return false;
                }
                at = step(next);
            }
            false
        };
        reaches(word.to, |word| word.to, |word| word.from)
            || reaches(word.from, |word| word.from, |word| word.to)
    }

    /// Whether a word stands right before or behind the good's name.
    pub(super) fn touches_good(&self, word: &RowWord) -> bool {
        let mut goods = self.words.iter().filter(|other| other.text == word.text && other.part == Part::Good);
        goods.any(|good| good.to == word.from || word.to == good.from)
    }

    pub(super) fn of(close: &CloseReading, words: &mut Words) -> Self {
        let reading = &close.reading;
        let mut take = |text: &Option<String>| text.as_deref().map(|text| words.take(text));
        let (product_type, age_group, read) =
            (take(&reading.product_type), take(&reading.age_group), take(&reading.size));
        // The number of pieces is no size: '10 postcards'.
        let count = close.pieces.map(|count| count.to_string());
        let is_count = count.is_some() && close.sizes.iter().all(|size| Some(size) == count.as_ref());
        let sizes: &[String] = if is_count { &[] } else { &close.sizes };
        let size = Size {
            read: read.filter(|_| !is_count || close.sizes.is_empty()),
            said: sizes.iter().map(|size| words.take(size)).collect(),
            numbers: close.numbers.iter().map(|number| words.take(number)).collect(),
        };
        let taken: Vec<RowWord> = close.words.iter().map(|word| word.with(words.take(&word.word))).collect();
        let regions =
            close.words.iter().zip(&taken).filter(|(word, _)| REGIONS.contains(&word.word.as_str()));
        let regions = regions.map(|(_, taken)| taken.word).collect();
        let (sizes, others): (Vec<_>, Vec<_>) = taken.into_iter().partition(|word| word.part == Part::Size);
        Self {
            product_type,
            age_group,
            size,
            words: others,
            size_words: sizes,
            regions,
            pieces: close.pieces,
            naming: close.naming.map(|word| words.take(word)),
            is_other: false,
            slips: Vec::new(),
        }
    }
}
