//! The suppliers' products: their variants by size, and by the words that tell them apart.
//!
//! Owns which words all variants of a product share, so that the others tell its colours apart, known to the
//! vocabulary or not. Must not know offers. Start reading at [`families`].

use std::collections::{HashMap, HashSet};

use foldhash::fast::RandomState;
use model::SupplierId;
use model::book::Variant;

use super::hues::Hues;
use super::row::{Row, RowWord, Size};
use super::words::{Word, WordSet, Words};
use crate::close::Part;

/// One product of one supplier, as far as its variants are of one type. Products whose names differ by a size or a
/// colour alone are one.
#[derive(Debug)]
pub(super) struct Family {
    /// Its first variant; it has the supplier's and the product's names.
    pub(super) first: usize,
    pub(super) product_type: Option<Word>,
    /// The words that all its variants share.
    pub(super) name: WordSet,
    /// The words of the product's name.
    pub(super) product_words: WordSet,
    /// The words that name the kind of good.
    pub(super) goods: WordSet,
    /// Colours that only the options say: that a product comes in one colour is no name of it.
    pub(super) only_colours: WordSet,
    /// What tells its variants apart in size, distinct.
    pub(super) sizes: Vec<SizeKey>,
    /// What tells its variants apart otherwise, distinct.
    pub(super) tails: Vec<WordSet>,
    /// The tails without what goes without saying.
    pub(super) cores: Vec<WordSet>,
    /// Whether it is called by a part that has a colour.
    pub(super) has_part: bool,
    /// The tails' words in their order, with those of the name that are colours.
    pub(super) spelled: Vec<Vec<Word>>,
    /// By size and tail.
    pub(super) variants: Vec<Made>,
}

#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) struct SizeKey {
    pub(super) age_group: Option<Word>,
    pub(super) size: Size,
    /// Whose sizes it says.
    pub(super) regions: WordSet,
    /// Words that stand for the size where none was read.
    pub(super) words: WordSet,
}

/// A variant: places in its family's sizes and tails, and in the table.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Made {
    pub(super) size: usize,
    pub(super) tail: usize,
    pub(super) index: usize,
}

/// Sorts the variants into their products. `rows` are those of `variants`.
pub(super) fn families(variants: &[Variant], rows: &[Row], hues: &Hues) -> Vec<Family> {
    let supplied = || variants.iter().zip(rows);
    // How a supplier writes colours into its products' names: the other words, and where the colour stands.
    let patterns: HashSet<(&SupplierId, Option<Word>, Pattern), RandomState> = supplied()
        .filter_map(|(variant, row)| Some((&variant.supplier, row.product_type, colour_pattern(row)?)))
        .collect();
    let mut places: HashMap<_, usize, RandomState> = HashMap::default();
    let mut members: Vec<Vec<usize>> = Vec::new();
    for (index, (variant, row)) in supplied().enumerate() {
        // A word where others have a colour is a colour that no list has.
        let unlisted = unlisted_patterns(row);
        let is_there =
            |pattern: &Pattern| patterns.contains(&(&variant.supplier, row.product_type, pattern.clone()));
        let name = match colour_pattern(row) {
            Some(pattern) => pattern,
            None => unlisted
                .into_iter()
                .find(is_there)
                .unwrap_or_else(|| Pattern { words: name_words(row), at: None }),
        };
        let key = (&variant.supplier, row.product_type, row.age_group, name);
        let place = *places.entry(key).or_insert_with(|| {
            members.push(Vec::new());
            members.len() - 1
        });
        members[place].push(index);
    }
    members.iter().map(|members| Family::of(members, rows, hues)).collect()
}

/// A product's name without its colour.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
struct Pattern {
    words: Vec<Word>,
    /// Before which of the words the colour stands.
    at: Option<usize>,
}

/// The words of a product's name, without those of sizes.
fn name_words(row: &Row) -> Vec<Word> {
    row.words.iter().filter(|word| word.text == 0).map(|word| word.word).collect()
}

fn colour_pattern(row: &Row) -> Option<Pattern> {
    let is_colour = |word: &&RowWord| word.part.is_colour();
    let name: Vec<&RowWord> = row.words.iter().filter(|word| word.text == 0).collect();
    let at = name.iter().position(is_colour)?;
    let words = name.iter().filter(|word| !is_colour(word)).map(|word| word.word).collect();
    Some(Pattern { words, at: Some(at) })
}

/// Without each of the words that nobody knows, taken for a colour.
fn unlisted_patterns(row: &Row) -> Vec<Pattern> {
    let name: Vec<&RowWord> = row.words.iter().filter(|word| word.text == 0).collect();
    /// Most words of a name in which a colour is looked for so.
    const AT_MOST: usize = 20;
    let unknown = (0..name.len()).filter(|at| name.len() <= AT_MOST && name[*at].part == Part::Unknown);
    unknown
        .map(|at| {
            let words = name.iter().enumerate().filter(|(place, _)| *place != at).map(|(_, word)| word.word);
            Pattern { words: words.collect(), at: Some(at) }
        })
        .collect()
}

impl Family {
    /// A product of some of its variants alone.
    pub(super) fn narrowed(
        &self,
        is_kept: impl Fn(usize) -> bool,
        rows: &[Row],
        hues: &Hues,
    ) -> Option<Self> {
        let kept: Vec<usize> =
            self.variants.iter().map(|made| made.index).filter(|index| is_kept(*index)).collect();
        (!kept.is_empty() && kept.len() < self.variants.len()).then(|| Self::of(&kept, rows, hues))
    }

    fn of(members: &[usize], rows: &[Row], hues: &Hues) -> Self {
        let words = |index: usize| -> WordSet {
            let telling = rows[index].words.iter().filter(|word| word.part != Part::Good);
            telling.map(|word| word.word).collect()
        };
        let first = members[0];
        let name = WordSet::in_all(members.iter().map(|index| words(*index)));
        let product_words = members
            .iter()
            .flat_map(|index| rows[*index].words.iter())
            .filter(|word| word.text == 0 && word.part != Part::Good);
        let product_words: WordSet = product_words.map(|word| word.word).collect();
        let goods =
            rows[first].words.iter().filter(|word| word.part == Part::Good).map(|word| word.word).collect();
        let mut family = Self {
            first,
            product_type: rows[first].product_type,
            name,
            product_words,
            goods,
            only_colours: WordSet::default(),
            sizes: Vec::new(),
            tails: Vec::new(),
            cores: Vec::new(),
            has_part: false,
            spelled: Vec::new(),
            variants: Vec::new(),
        };
        // Where others say a size, a word that only those without one have stands for it: 'regular' beside 'large'.
        let sized: WordSet = members
            .iter()
            .filter(|index| !rows[**index].size.said.is_empty())
            .flat_map(|index| rows[*index].words.iter().map(|word| word.word))
            .collect();
        for index in members {
            let row = &rows[*index];
            let mut size = SizeKey {
                age_group: row.age_group,
                size: row.size.clone(),
                regions: row.regions.clone(),
                words: WordSet::default(),
            };
            let mut tail = words(*index).without(&family.name);
            if !sized.is_empty() && row.size.said.is_empty() {
                let is_size =
                    |word: &&RowWord| word.part.is_open() && !sized.has(word.word) && tail.has(word.word);
                size.words = row.words.iter().filter(is_size).map(|word| word.word).collect();
                tail = tail.without(&size.words);
            }
            let made = Made {
                size: place(&mut family.sizes, size),
                tail: place(&mut family.tails, tail),
                index: *index,
            };
            if made.tail == family.spelled.len() {
                let mut spelled: Vec<Word> = Vec::new();
                for word in row
                    .words
                    .iter()
                    .filter(|word| word.part.is_colour() || family.tails[made.tail].has(word.word))
                {
                    if !spelled.contains(&word.word) {
                        spelled.push(word.word);
                    }
                }
                family.spelled.push(spelled);
            }
            family.variants.push(made);
        }
        let colours = members.iter().flat_map(|index| &rows[*index].words);
        let colours = colours.filter(|word| word.text > 0 && word.part.is_colour());
        family.only_colours =
            colours.map(|word| word.word).filter(|word| !family.product_words.has(*word)).collect();
        family.has_part =
            members.iter().flat_map(|index| &rows[*index].words).any(|word| hues.is_part(word.word));
        family.cores = family.tails.iter().map(|tail| hues.core(tail)).collect();
        family
    }

    /// The words by which it is told from other products of its type.
    pub(super) fn names(&self) -> impl Iterator<Item = Word> {
        let more = self.product_words.iter().filter(|word| !self.name.has(*word));
        let in_tail = |word: Word| self.tails.len() > 1 && self.has_in_tail(word);
        let name = self.name.iter().filter(|word| !self.only_colours.has(*word));
        name.chain(more).chain(self.goods.iter()).filter(move |word| !in_tail(*word))
    }

    /// Whether a word is one of [`Self::names`].
    pub(super) fn has_name(&self, word: Word) -> bool {
        let is_own = self.name.has(word) && !self.only_colours.has(word)
            || self.product_words.has(word) && !self.name.has(word)
            || self.goods.has(word);
        is_own && !(self.tails.len() > 1 && self.has_in_tail(word))
    }

    /// Whether a word tells its variants apart, beside their size.
    pub(super) fn has_in_tail(&self, word: Word) -> bool {
        self.tails.iter().any(|tail| tail.has(word))
    }

    /// What a size is called in the vocabulary's words, else in the supplier's.
    pub(super) fn size_name(&self, place: usize, words: &Words) -> String {
        let key = &self.sizes[place];
        let size = match (key.size.read, key.size.said.as_slice()) {
            (Some(read), _) => words.text(read).to_owned(),
            (None, []) if key.size.numbers.is_empty() => words.joined(key.words.as_slice()),
            (None, []) => words.joined(&key.size.numbers),
            (None, said) => words.joined(said),
        };
        match key.age_group.map(|age| words.text(age)) {
            Some(age) if age != "adult" => format!("{age} {size}"),
            _ => size,
        }
    }

    /// The variants of some sizes and tails.
    pub(super) fn made_in(&self, sizes: &[usize], tails: &[usize]) -> impl Iterator<Item = usize> {
        let made = self.variants.iter();
        made.filter(|made| sizes.contains(&made.size) && tails.contains(&made.tail)).map(|made| made.index)
    }
}

fn place<T: PartialEq>(all: &mut Vec<T>, value: T) -> usize {
    all.iter().position(|there| *there == value).unwrap_or_else(|| {
        all.push(value);
        all.len() - 1
    })
}
