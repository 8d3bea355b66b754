//! Slips of the pen: a word that nobody knows, one letter away from one that is known.
//!
//! Owns how far a word may be away. Used where the suppliers' words are known, never for a reading by itself. Must
//! not know what is proposed. Start reading at [`Slips::mended`].

use std::collections::{HashMap, HashSet};

use model::Options;
use model::text::fold;

use crate::close::{CloseReading, Part};
use crate::text::Text;
use crate::vocabulary::Vocabulary;

/// Shorter words have too many neighbours.
const LETTERS_AT_LEAST: usize = 4;
/// From this length on, two letters may be wrong.
const LETTERS_FOR_TWO: usize = 8;

/// Options in the words that were meant.
pub(super) struct Mended {
    pub(super) options: Options,
    /// The words as they were written, and as they were meant.
    pub(super) slips: Vec<(String, String)>,
}

/// The words that are known, and what was found for those that are not.
pub(super) struct Slips {
    /// By their first letter.
    known: HashMap<char, Vec<String>>,
    all: HashSet<String>,
    /// The suppliers' own words.
    supplied: HashSet<String>,
    /// Short for a size.
    short_sizes: HashMap<String, String>,
    found: HashMap<String, Option<String>>,
}

impl Slips {
    pub(super) fn of(vocabulary: &Vocabulary) -> Self {
        let mut slips = Self {
            known: HashMap::new(),
            all: HashSet::new(),
            supplied: HashSet::new(),
            short_sizes: vocabulary.short_sizes.clone(),
            found: HashMap::new(),
        };
        vocabulary.phrases.words().for_each(|word| slips.take(word));
        slips
    }

    /// The words of a variant are known from here on.
    pub(super) fn take_variant(&mut self, close: &CloseReading) {
        for word in &close.words {
            self.take(&word.key);
            self.supplied.insert(word.key.clone());
        }
    }

    fn take(&mut self, word: &str) {
        let Some(first) = word.chars().next() else { return };
        if word.chars().all(char::is_alphabetic) && self.all.insert(word.to_owned()) {
            self.known.entry(first).or_default().push(word.to_owned());
        }
    }

    /// Options with the words that are meant, where one of theirs is a slip.
    pub(super) fn mended(&mut self, close: &CloseReading, options: &Options) -> Option<Mended> {
        let unknown: Vec<&str> =
            close.words.iter().filter(|word| word.part == Part::Unknown).map(|word| word.key.as_str()).collect();
        // 'Oat meal' is oatmeal.
        let is_half = |word: &str| {
            close.words.windows(2).any(|pair| {
                (pair[0].key == word || pair[1].key == word)
                    && self.supplied.contains(&format!("{}{}", pair[0].key, pair[1].key))
            })
        };
        let unknown: Vec<&str> = unknown.into_iter().filter(|word| !is_half(word)).collect();
        let says_no_size = close.sizes.is_empty();
        let mut meant: HashMap<&str, String> = HashMap::new();
        for word in unknown {
            let short = self.short_sizes.get(word).filter(|_| says_no_size).cloned();
            if let Some(mended) = short.or_else(|| self.meant(word)) {
                meant.insert(word, mended);
            }
        }
        if meant.is_empty() {
            return None;
        }
        let pairs = options.iter().map(|(name, value)| {
            let folded = fold(value);
            let text = Text::of(folded.as_str());
            let mut mended = String::new();
            let mut end = 0;
            for (index, word) in text.words().iter().enumerate() {
                mended.push_str(&text.folded()[end..word.folded.start]);
                mended.push_str(meant.get(text.key(index)).map_or(text.folded_word(index), String::as_str));
                end = word.folded.end;
            }
            mended.push_str(&text.folded()[end..]);
            (name.to_owned(), mended)
        });
        let options = Options::from_pairs(pairs).ok()?;
        let slips = meant.into_iter().map(|(written, meant)| (written.to_owned(), meant)).collect();
        Some(Mended { options, slips })
    }

    /// The one known word that an unknown one is a slip of.
    fn meant(&mut self, word: &str) -> Option<String> {
        let letters = word.chars().count();
        if letters < LETTERS_AT_LEAST || self.all.contains(word) || !word.chars().all(char::is_alphabetic) {
            return None;
        }
        if let Some(found) = self.found.get(word) {
            return found.clone();
        }
        let first = word.chars().next()?;
        let far = if letters >= LETTERS_FOR_TWO { 2 } else { 1 };
        // What a supplier's word begins with is short for it.
        if self.supplied.iter().any(|supplied| supplied.starts_with(word)) {
            return None;
        }
        let near = self.known.get(&first).into_iter().flatten().filter_map(|known| {
            let count = known.chars().count();
            let is_swap = || self.supplied.contains(known) && letters_of(known) == letters_of(word);
            if count.abs_diff(letters) > far || count <= LETTERS_AT_LEAST && !is_swap() {
                return None;
            }
            let distance = strsim::osa_distance(known, word);
            (distance <= far).then_some(((distance, !self.supplied.contains(known)), known))
        });
        let mut near: Vec<((usize, bool), &String)> = near.collect();
        near.sort_unstable();
        let found = match near.as_slice() {
            [(_, only)] => Some((*only).clone()),
            [(first, only), (second, _), ..] if first < second => Some((*only).clone()),
            _ => None,
        };
        self.found.insert(word.to_owned(), found.clone());
        found
    }
}

fn letters_of(word: &str) -> Vec<char> {
    let mut letters: Vec<char> = word.chars().collect();
    letters.sort_unstable();
    letters
}
