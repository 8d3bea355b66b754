//! How a supplier writes a size, a colour and a good: the pieces of a variant's texts in which they stand.
//!
//! Owns which piece that is where one text says several things ('Moss / Youth M'). Must not know which variants
//! there are beside the one that is looked at. Start reading at [`Written::of`].

use std::ops::Range;

use model::Options;
use model::text::fold;

use crate::close::{CloseReading, Part, PartWord, read_variant_closely};
use crate::propose::slips::Slips;
use crate::spans::WORDS_AT_MOST;
use crate::text::Text;
use crate::vocabulary::Vocabulary;

/// A word of a variant with the part that it plays.
pub(super) type Said = PartWord<String>;

/// A variant's texts: its product's name, then its options' values.
pub(super) struct Written {
    texts: Vec<String>,
    close: CloseReading,
}

/// What is looked for in a variant's texts.
pub(super) struct Sought<'f> {
    /// Whether a word says it.
    pub(super) is_it: &'f dyn Fn(&Said) -> bool,
    /// Whether a word says something else that is written beside it.
    pub(super) is_other: &'f dyn Fn(&Said) -> bool,
    /// Whether a word of the product's name belongs to it though the options say it too.
    pub(super) is_told_by: &'f dyn Fn(&Said) -> bool,
    /// Whether it is a size: words that say for whom a good is, or only that it is a size, are a part of it.
    pub(super) is_size: bool,
}

/// What was found, as it is written.
pub(super) struct Found {
    pub(super) text: String,
    /// Whether each of its words says what was sought.
    pub(super) is_plain: bool,
}

impl Written {
    pub(super) fn of(
        vocabulary: &Vocabulary,
        slips: &Slips<'_>,
        product: Option<&str>,
        options: &Options,
    ) -> Self {
        let close = read_variant_closely(vocabulary, product, Some(options));
        let short = slips.written_out(&close, options);
        let (close, options) = match &short {
            Some(options) => (read_variant_closely(vocabulary, product, Some(options)), options),
            None => (close, options),
        };
        let values = options.iter().map(|(_, value)| value);
        let texts = std::iter::once(product.unwrap_or_default()).chain(values);
        Self { texts: texts.map(collapsed).collect(), close }
    }

    fn words(&self, text: usize) -> impl Iterator<Item = &Said> {
        self.close.words.iter().filter(move |word| word.text == text)
    }

    /// Whether a text has words of which nothing is left but that they say for whom a good is, or that a size follows.
    fn labels(&self, text: usize) -> Option<Range<usize>> {
        let count = Text::of(fold(&self.texts[text])).words().len();
        let is_free = |at: &usize| !self.words(text).any(|word| (word.from..word.to).contains(at));
        let mut free = (0..count).filter(is_free);
        let first = free.next()?;
        let last = free.next_back().unwrap_or(first);
        // Of a description no word is kept.
        (count <= WORDS_AT_MOST).then_some(first..last + 1)
    }

    /// What is sought, as it is written in the options, else in the product's name; of several options with a comma.
    pub(super) fn found(&self, sought: &Sought<'_>) -> Option<Found> {
        let says = |text: usize| self.words(text).any(|word| (sought.is_it)(word));
        let all = || 1..self.texts.len();
        let mut texts: Vec<usize> = all().filter(|text| says(*text)).collect();
        if texts.is_empty() && sought.is_size {
            // 'Child' is all that there is of some sizes.
            texts = all().filter(|text| self.labels(*text).is_some()).collect();
        }
        let is_said = |word: &Said| {
            self.close.words.iter().any(|other| texts.contains(&other.text) && other.word == word.word)
        };
        let is_only_in_name = |word: &Said| (sought.is_told_by)(word) && !is_said(word);
        if texts.is_empty() && says(0) || self.words(0).any(is_only_in_name) {
            texts.insert(0, 0);
        }
        let pieces: Option<Vec<Found>> = texts.iter().map(|text| self.piece(*text, sought)).collect();
        let pieces = pieces.filter(|pieces| !pieces.is_empty())?;
        let is_plain = pieces.iter().all(|piece| piece.is_plain);
        let text = pieces.into_iter().map(|piece| piece.text).collect::<Vec<_>>().join(", ");
        Some(Found { text, is_plain })
    }

    /// The piece of one text in which it stands: a whole value, where that says nothing else.
    fn piece(&self, text: usize, sought: &Sought<'_>) -> Option<Found> {
        let labels = self.labels(text);
        let is_whole = text > 0
            && (sought.is_size || labels.is_none())
            && !self.words(text).any(|word| (sought.is_other)(word));
        if is_whole {
            let is_plain = self.words(text).all(|word| (sought.is_it)(word));
            return Some(Found { text: self.texts[text].clone(), is_plain });
        }
        let labels = labels.filter(|_| sought.is_size);
        let mut run = run(self.words(text).filter(|word| (sought.is_it)(word))).or(labels)?;
        let claimed: Vec<&Said> = self.words(text).filter(|word| !(sought.is_it)(word)).collect();
        let is_free = |at: usize| !claimed.iter().any(|word| (word.from..word.to).contains(&at));
        if claimed.iter().any(|word| (sought.is_other)(word) && run.contains(&word.from)) {
            return None;
        }
        let sliced = Sliced::of(&self.texts[text])?;
        if sought.is_size {
            while run.start > 0 && is_free(run.start - 1) {
                run.start -= 1;
            }
            while run.end < sliced.words.len() && is_free(run.end) {
                run.end += 1;
            }
        }
        let is_plain = !claimed.iter().any(|word| run.contains(&word.from));
        Some(Found { text: sliced.slice(run).to_owned(), is_plain })
    }

    /// All options' values, with a comma.
    pub(super) fn values(&self) -> String {
        self.texts[1..].join(", ")
    }

    /// What names the kind of good.
    pub(super) fn kind(&self, is_choice: &dyn Fn(&Said) -> bool) -> Option<String> {
        let text =
            (0..self.texts.len()).find(|text| self.words(*text).any(|word| word.part == Part::Good))?;
        let run = run(self.words(text).filter(|word| word.part == Part::Good))?;
        if self.words(text).any(|word| is_choice(word) && run.contains(&word.from)) {
            return None;
        }
        Some(Sliced::of(&self.texts[text])?.slice(run).to_owned())
    }

    /// The product's name without those words that say what there is to choose: all other words, and those before.
    pub(super) fn names(&self, is_choice: &dyn Fn(&Said) -> bool) -> (String, Option<String>) {
        let name = &self.texts[0];
        let Some(sliced) = Sliced::of(name) else { return (name.clone(), None) };
        let dropped: Vec<Range<usize>> =
            self.words(0).filter(|word| is_choice(word)).map(|word| word.from..word.to).collect();
        let Some(first) = dropped.iter().map(|place| place.start).min() else { return (name.clone(), None) };
        let mut kept = String::new();
        let mut last = None;
        for at in (0..sliced.words.len()).filter(|at| !dropped.iter().any(|place| place.contains(at))) {
            match last {
                Some(last) if last + 1 == at => kept.push_str(sliced.between(last)),
                Some(_) => kept.push(' '),
                None => {}
            }
            kept.push_str(sliced.slice(at..at + 1));
            last = Some(at);
        }
        let names_good = self.words(0).any(|word| word.part == Part::Good && word.to <= first);
        let start = names_good.then(|| sliced.slice(0..first).to_owned());
        (kept, start)
    }
}

/// The places of some words, from the first to the last.
fn run<'w>(words: impl Iterator<Item = &'w Said>) -> Option<Range<usize>> {
    words.map(|word| word.from..word.to).reduce(|all, word| all.start.min(word.start)..all.end.max(word.end))
}

fn collapsed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A text as it was typed, with the places of its words.
struct Sliced<'t> {
    text: Text<'t>,
    words: Vec<Range<usize>>,
}

impl<'t> Sliced<'t> {
    /// `None` where the text has other words as it is compared than as it was typed.
    fn of(typed: &'t str) -> Option<Self> {
        let text = Text::of(typed);
        let words: Vec<Range<usize>> = text.words().iter().map(|word| word.folded.clone()).collect();
        (words.len() == Text::of(fold(typed)).words().len()).then_some(Self { text, words })
    }

    fn slice(&self, words: Range<usize>) -> &str {
        let place = |at: usize| self.words.get(at).cloned().unwrap_or_default();
        let (start, end) = (place(words.start).start, place(words.end.saturating_sub(1)).end);
        self.text.folded().get(start..end).unwrap_or_default()
    }

    /// What stands between a word and the next.
    fn between(&self, word: usize) -> &str {
        let place = |at: usize| self.words.get(at).cloned().unwrap_or_default();
        self.text.folded().get(place(word).end..place(word + 1).start).unwrap_or(" ")
    }
}
