//! An offer or a variant as it is compared.
//!
//! Must not know what it is compared with. Start reading at [`Row`].

use super::tidy::REGIONS;
use super::words::{Word, WordSet, Words};
use crate::close::{CloseReading, KindFrom, Part, PartWord};

/// A row, its words as numbers.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) struct Row {
    pub(super) product_type: Option<Word>,
    pub(super) age_group: Option<Word>,
    pub(super) size: Size,
    /// All words but those of ages, labels and sizes, in their order.
    pub(super) words: Vec<RowWord>,
    /// Words of the options' names.
    pub(super) names: Vec<Word>,
    /// How many pieces are said, where that is said.
    pub(super) pieces: Option<u32>,
    /// Words of the title.
    pub(super) title: Vec<Word>,
    /// Words of those parts of the title that name no good that is known.
    pub(super) titled: Vec<Word>,
    /// Where the product type was read.
    pub(super) kind_from: KindFrom,
    /// Whether a value names the product type loosely alone.
    pub(super) is_loose: bool,
    /// The product type that the title names surely.
    pub(super) titled_kind: Option<Word>,
    /// Whether a word makes another good of the one that is named, of which nobody knows which.
    pub(super) is_other: bool,
    /// Words that nobody knows right before a loose name.
    pub(super) beside_loose: Vec<Word>,
    /// Whose sizes are said: the European, the British, the American.
    pub(super) regions: WordSet,
    /// Words of sizes.
    pub(super) size_words: Vec<Word>,
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

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) struct RowWord {
    pub(super) word: Word,
    pub(super) part: Part,
    pub(super) text: usize,
    /// Its phrase's places in the text: the first, and one behind the last.
    pub(super) from: usize,
    pub(super) to: usize,
    /// Whether a sign parts it from what stands before.
    pub(super) parted: bool,
}

impl RowWord {
    /// Whether it can be a part of what a variant is called by.
    pub(super) fn tells(&self) -> bool {
        !matches!(self.part, Part::Good | Part::Design | Part::Piece)
    }
}

impl Row {
    /// Whether a word stands right before or behind one of some others.
    pub(super) fn touches(&self, word: &RowWord, others: impl Fn(&RowWord) -> bool) -> bool {
        let mut beside = self.words.iter().filter(|other| other.text == word.text && others(other));
        beside.any(|other| other.to == word.from || word.to == other.from)
    }

    /// Whether a word stands beside one of some others, with nothing but `open` words between.
    pub(super) fn is_chained(
        &self,
        word: &RowWord,
        others: impl Fn(&RowWord) -> bool,
        open: impl Fn(&RowWord) -> bool,
    ) -> bool {
        let here: Vec<&RowWord> = self.words.iter().filter(|other| other.text == word.text).collect();
        let reaches = |mut at: usize, step: fn(&RowWord) -> usize, from: fn(&RowWord) -> usize| {
            while let Some(next) = here.iter().find(|other| from(other) == at) {
                if others(next) {
                    return true;
                }
                if !open(next) || step(next) == at {
                    return false;
                }
                at = step(next);
            }
            false
        };
        reaches(word.to, |word| word.to, |word| word.from)
            || reaches(word.from, |word| word.from, |word| word.to)
    }

    pub(super) fn touches_good(&self, word: &RowWord) -> bool {
        self.touches(word, |other| other.part == Part::Good)
    }

    pub(super) fn of(close: &CloseReading, words: &mut Words) -> Self {
        let reading = &close.reading;
        let mut take = |text: &Option<String>| text.as_deref().map(|text| words.take(text));
        let (product_type, age_group, read) =
            (take(&reading.product_type), take(&reading.age_group), take(&reading.size));
        let size = Size {
            read,
            said: close.sizes.iter().map(|size| words.take(size)).collect(),
            numbers: close.numbers.iter().map(|number| words.take(number)).collect(),
        };
        let (sizes, others): (Vec<_>, Vec<_>) = close.words.iter().partition(|word| word.part == Part::Size);
        let size_words = sizes.into_iter().map(|word| words.take(&word.key)).collect();
        let row_word = |word: &PartWord| RowWord {
            word: words.take(&word.key),
            part: word.part,
            text: word.text,
            from: word.from,
            to: word.to,
            parted: word.parted,
        };
        let row_words = others.into_iter().map(row_word).collect();
        let names = close.names.iter().map(|name| words.take(name)).collect();
        let title = close.title.iter().map(|word| words.take(word)).collect();
        let titled_kind = close.titled_kind.as_deref().map(|kind| words.take(kind));
        let beside_loose = close.beside_loose.iter().map(|word| words.take(word)).collect();
        let regions = close.words.iter().filter(|word| REGIONS.contains(&word.key.as_str()));
        let regions = regions.map(|word| words.take(&word.key)).collect();
        let is_loose = close.is_loose;
        let pieces = close.pieces;
        let titled = close.titled.iter().map(|word| words.take(word)).collect();
        let kind_from = close.kind_from;
        Self {
            product_type,
            age_group,
            size,
            words: row_words,
            names,
            pieces,
            title,
            titled,
            kind_from,
            is_loose,
            is_other: false,
            titled_kind,
            beside_loose,
            regions,
            size_words,
            slips: Vec::new(),
        }
    }
}
