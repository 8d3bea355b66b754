//! Slips of the pen: a word that nobody knows, one letter away from one that is known.
//!
//! Owns how far a word may be away. Used where the suppliers' words are known, never for a reading by itself. Must
//! not know what is proposed. Start reading at [`Slips::mended`].

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use model::Options;
use model::text::fold;

use crate::close::{CloseReading, Part};
use crate::read::SaidText;
use crate::spans::{Said, Source};
use crate::text::Text;
use crate::vocabulary::Vocabulary;

/// Shorter words have too many neighbours.
const LETTERS_AT_LEAST: usize = 4;
/// From this length on, two letters may be wrong.
const LETTERS_FOR_TWO: usize = 9;
/// Likewise of the suppliers' own words.
const LETTERS_FOR_TWO_OF_SUPPLIED: usize = 8;

/// Options in the words that were meant.
pub(super) struct Mended {
    pub(super) options: Options,
    /// The words as they were written, and as they were meant.
    pub(super) slips: Vec<(String, String)>,
}

/// The words that are known, and what was found for those that are not.
pub(super) struct Slips<'v> {
    vocabulary: &'v Vocabulary,
    /// The words of letters alone that can be meant, by their first letter.
    known: HashMap<char, BTreeSet<String>>,
    /// The suppliers' own words.
    supplied: HashSet<String>,
    /// The words that name goods by themselves.
    goods: HashSet<String>,
    /// The words of the suppliers' names of products.
    named: HashSet<String>,
    found: HashMap<String, Option<String>>,
}

impl<'v> Slips<'v> {
    pub(super) fn of(vocabulary: &'v Vocabulary) -> Self {
        let mut slips = Self {
            vocabulary,
            known: HashMap::new(),
            supplied: HashSet::new(),
            goods: HashSet::new(),
            named: HashSet::new(),
            found: HashMap::new(),
        };
        vocabulary.slip_words.iter().for_each(|word| slips.know(word));
        let names_good = |word: &&String| {
            let title = SaidText::of(vocabulary, Text::of(word.as_str()), Source::Title);
            title.spans.iter().any(|span| matches!(span.said, Said::ProductType(..)))
        };
        slips.goods = vocabulary.slip_words.iter().filter(names_good).cloned().collect();
        slips
    }

    /// The words of a variant are known from here on.
    pub(super) fn take_variant(&mut self, close: &CloseReading) {
        for word in &close.words {
            self.know(&word.word);
            self.supplied.insert(word.word.clone());
            // A product's name calls its good, but for colours.
            if word.text == 0 && matches!(word.part, Part::Good | Part::Unknown) {
                self.named.insert(word.word.clone());
            }
        }
    }

    fn know(&mut self, word: &str) {
        if let Some(first) = word.chars().next().filter(|_| word.chars().all(char::is_alphabetic)) {
            self.known.entry(first).or_default().insert(word.to_owned());
        }
    }

    /// Whether a word of letters alone needs no mending.
    fn is_known(&self, word: &str) -> bool {
        let first = word.chars().next().and_then(|first| self.known.get(&first));
        let is_tone = || self.vocabulary.tones.weak.iter().any(|weak| weak == word);
        self.vocabulary.phrases.knows(word) || is_tone() || first.is_some_and(|known| known.contains(word))
    }

    /// Options with the words that are meant, where one of theirs is a slip.
    pub(super) fn mended(&mut self, close: &CloseReading, options: &Options) -> Option<Mended> {
        let unknown: Vec<&str> = close
            .words
            .iter()
            .filter(|word| word.part == Part::Unknown)
            .map(|word| word.word.as_str())
            .collect();
        // 'Oat meal' is oatmeal.
        let is_half = |word: &str| {
            close.words.windows(2).any(|pair| {
                (pair[0].word == word || pair[1].word == word)
                    && self.supplied.contains(&format!("{}{}", pair[0].word, pair[1].word))
            })
        };
        let unknown: Vec<&str> = unknown.into_iter().filter(|word| !is_half(word)).collect();
        let says_no_size = close.sizes.is_empty();
        let mut meant: BTreeMap<&str, String> = BTreeMap::new();
        for word in unknown {
            // The 2 of '2X' is no size of its own.
            let is_its_own =
                || word.strip_suffix('x').is_some_and(|number| close.sizes.iter().all(|size| size == number));
            // The 'big' of a title's 'big sister' is no size.
            let is_titled =
                word.chars().nth(2).is_some() && close.naming.title.iter().any(|titled| titled == word);
            let short = self
                .short_for(word, (says_no_size || is_its_own()) && !is_titled)
                .or_else(|| self.coloured(word));
            if let Some(mended) = short.or_else(|| self.meant(word)) {
                meant.insert(word, mended);
            }
        }
        if meant.is_empty() {
            return None;
        }
        let options = replaced(options, &meant)?;
        let slips = meant.into_iter().map(|(written, meant)| (written.to_owned(), meant)).collect();
        Some(Mended { options, slips })
    }

    /// A title in which one word is a slip of one that names a good, and that slip.
    pub(super) fn mended_title(&mut self, title: &str) -> Option<(String, (String, String))> {
        let folded = fold(title);
        let text = Text::of(folded.as_str());
        let mut slips = Vec::new();
        for index in 0..text.words().len() {
            let word = text.key(index).to_owned();
            if let Some(meant) = self.meant(&word).filter(|meant| self.names_good(meant)) {
                slips.push((text.words()[index].folded.clone(), word, meant));
            }
        }
        let [(place, written, meant)] = slips.as_slice() else { return None };
        let mended = format!("{}{meant}{}", &text.folded()[..place.start], &text.folded()[place.end..]);
        Some((mended, (written.clone(), meant.clone())))
    }

    fn names_good(&self, word: &str) -> bool {
        self.goods.contains(word) || self.named.contains(word)
    }

    /// A variant's options with its short sizes written out, where it says no other size.
    pub(super) fn written_out(&self, close: &CloseReading, options: &Options) -> Option<Options> {
        let is_all = |word: &str| options.folded().any(|(_, value)| value == word);
        let short = |word: &str| self.short_for(word, close.sizes.is_empty() || is_all(word));
        let is_open = |part| matches!(part, Part::Unknown | Part::Size);
        let words = close.words.iter().filter(|word| is_open(word.part)).map(|word| word.word.as_str());
        let meant: BTreeMap<&str, String> = words.filter_map(|word| Some((word, short(word)?))).collect();
        if meant.is_empty() { None } else { replaced(options, &meant) }
    }

    /// What a word is short for: a size only where it may be one.
    fn short_for(&self, word: &str, may_be_size: bool) -> Option<String> {
        let size = self.vocabulary.short_sizes.get(word).filter(|_| may_be_size);
        size.or_else(|| self.vocabulary.short_words.get(word)).cloned()
    }

    /// The supplier's word in one that is made of it: 'sandy', 'sandfarben'.
    fn coloured(&self, word: &str) -> Option<String> {
        /// What makes an adjective of a colour. Common practice, no published source.
        const ENDINGS: [&str; 6] = ["y", "ish", "farben", "farbig", "coloured", "colored"];
        let stems = ENDINGS.iter().filter_map(|ending| word.strip_suffix(ending));
        stems
            .filter(|stem| stem.len() >= LETTERS_AT_LEAST)
            .find(|stem| self.supplied.contains(*stem))
            .map(str::to_owned)
    }

    /// The one known word that an unknown one is a slip of.
    fn meant(&mut self, word: &str) -> Option<String> {
        if let Some(found) = self.found.get(word) {
            return found.clone();
        }
        let found = self.nearest(word);
        self.found.insert(word.to_owned(), found.clone());
        found
    }

    fn nearest(&self, word: &str) -> Option<String> {
        let letters = word.chars().count();
        if letters < LETTERS_AT_LEAST || !word.chars().all(char::is_alphabetic) || self.is_known(word) {
            return None;
        }
        let far = if letters >= LETTERS_FOR_TWO { 2 } else { 1 };
        // What a supplier's word begins with is short for it.
        let is_short = |supplied: &String| supplied.starts_with(word) && supplied.len() > word.len() + 1;
        if self.supplied.iter().any(is_short) {
            return None;
        }
        let near = self.known.get(&word.chars().next()?)?.iter().filter_map(|known| {
            let count = known.chars().count();
            let is_swap = || self.supplied.contains(known) && letters_of(known) == letters_of(word);
            // 'Navvy' is navy.
            let is_doubled = || self.supplied.contains(known) && undoubled(known) == undoubled(word);
            if count.abs_diff(letters) > far || count <= LETTERS_AT_LEAST && !is_swap() && !is_doubled() {
                return None;
            }
            let distance = strsim::osa_distance(known, word);
            let far =
                if self.supplied.contains(known) && letters >= LETTERS_FOR_TWO_OF_SUPPLIED { 2 } else { far };
            (distance <= far).then_some(((distance, !self.supplied.contains(known)), known))
        });
        let mut near: Vec<((usize, bool), &String)> = near.collect();
        near.sort_unstable();
        match near.as_slice() {
            [(_, only)] => Some((*only).clone()),
            [(first, only), (second, _), ..] if first < second => Some((*only).clone()),
            _ => None,
        }
    }
}

/// Options with other words for some of their values' words.
fn replaced(options: &Options, meant: &BTreeMap<&str, String>) -> Option<Options> {
    let pairs = options.iter().map(|(name, value)| {
        let folded = fold(value);
        let text = Text::of(folded.as_str());
        let mut replaced = String::new();
        let mut end = 0;
        for (index, word) in text.words().iter().enumerate() {
            replaced.push_str(&text.folded()[end..word.folded.start]);
            replaced.push_str(meant.get(text.key(index)).map_or(text.folded_word(index), String::as_str));
            end = word.folded.end;
        }
        replaced.push_str(&text.folded()[end..]);
        (name.to_owned(), replaced)
    });
    Options::from_pairs(pairs).ok()
}

/// A word with each letter that stands several times in a row only once.
fn undoubled(word: &str) -> String {
    let mut letters: Vec<char> = word.chars().collect();
    letters.dedup();
    letters.into_iter().collect()
}

fn letters_of(word: &str) -> Vec<char> {
    let mut letters: Vec<char> = word.chars().collect();
    letters.sort_unstable();
    letters
}
