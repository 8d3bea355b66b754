//! What must not be read, though its words could be: a neighbour makes something else of it, or says that it is not
//! about the good.
//!
//! Must not know how words are put together. Start reading at [`Reader::doubt`].

use std::ops::Range;

use super::{Reader, Said, Sort, Source, Span};
use crate::text::Joint;
use crate::vocabulary::{Label, Meaning, NameSays, Naming};

impl Reader<'_, '_> {
    /// Marks what must not be read, though its words could be.
    pub(super) fn doubt(&mut self) {
        let words = self.text.words().len();
        let mut is_unknown = vec![false; words];
        let mut is_left_over = vec![false; words];
        for span in &self.spans {
            let unknown = span.is_doubtful || span.said == Said::Unknown;
            for word in span.words.clone() {
                is_unknown[word] = unknown;
                is_left_over[word] = unknown || span.said == Said::Describing;
            }
        }
        let mut doubtful: Vec<bool> = (0..self.spans.len())
            .map(|index| self.spans[index].is_doubtful || self.is_doubtful(index, &is_unknown, &is_left_over))
            .collect();
        // Two colours side by side are one thing's: a doubt about one is a doubt about both.
        let is_colour = |index: usize| matches!(self.spans[index].said, Said::Colour { .. });
        let joins = |index: usize| !self.text.joint(self.spans[index].words.start).parts();
        let pairs = || {
            (1..self.spans.len()).filter(|index| is_colour(index - 1) && is_colour(*index) && joins(*index))
        };
        for behind in pairs() {
            doubtful[behind] |= doubtful[behind - 1];
        }
        for behind in pairs().rev() {
            doubtful[behind - 1] |= doubtful[behind];
        }
        for (span, is_doubtful) in self.spans.iter_mut().zip(doubtful) {
            span.is_doubtful = is_doubtful;
        }
    }

    fn is_doubtful(&self, index: usize, is_unknown: &[bool], is_left_over: &[bool]) -> bool {
        let span = &self.spans[index];
        let Range { start, end } = span.words;
        let name = match self.source {
            Source::Value(name) => name,
            Source::Product | Source::Title => NameSays::default(),
        };
        let labelled =
            index > 0 && matches!(self.spans[index - 1].said, Said::Label(Label::Size | Label::Age));
        let has_left_over = is_left_over.contains(&true);
        match &span.said {
            Said::ProductType(_, Naming::Alone) => name.material || !self.is_alone(index, is_left_over),
            Said::Colour { is_thing: true, .. } if name.material => true,
            Said::Colour { is_thing: true, .. } if self.part_names_a_good(index) => true,
            // An unknown word beside it may make it another colour.
            Said::Colour { .. } => {
                self.touches(start, end, is_unknown, |joint| !joint.parts())
                    || self.has_shade_apart(start, end, is_unknown)
                    || self.is_of_the_print(start, end)
                    || self.is_of_something_else(index)
            }
            Said::Size(_, Sort::Number) => !(name.size || labelled) || has_left_over,
            Said::Size(_, Sort::WhereNamed) => !(name.size || labelled),
            Said::Size(_, Sort::Letter { is_one_letter, .. }) => {
                *is_one_letter && self.is_doubtful_letter(index, is_unknown)
                    || self.has_cut(index)
                    || self.is_of_something_else(index)
            }
            _ => false,
        }
    }

    /// Whether a word of the kind asked for stands right before or behind, joined in the way asked for.
    fn touches(&self, start: usize, end: usize, words: &[bool], joined: impl Fn(Joint) -> bool) -> bool {
        let before = start > 0 && words[start - 1] && joined(self.text.joint(start));
        let behind = end < words.len() && words[end] && joined(self.text.joint(end));
        before || behind
    }

    /// Whether a word that makes a colour another one stands beside it in a part of its own: 'green (dark)'.
    fn has_shade_apart(&self, start: usize, end: usize, is_unknown: &[bool]) -> bool {
        let is_shade = |meaning: &Meaning| matches!(meaning, Meaning::Shade { .. });
        let is_apart = |word: usize| {
            let behind = self.vocabulary.phrases.longest(self.text, &self.known, word, is_shade);
            is_unknown[word]
                && self.text.joint(word).parts()
                && behind.is_some_and(|(behind, _)| behind == word + 1 && self.text.joint(behind).parts())
        };
        start > 0 && is_apart(start - 1) || end < is_unknown.len() && is_apart(end)
    }

    /// Whether a colour is that of what is printed: 'white print', 'printed gold'.
    fn is_of_the_print(&self, start: usize, end: usize) -> bool {
        let words = 0..self.text.words().len();
        let is_print: Vec<bool> =
            words.map(|word| self.vocabulary.prints.contains(self.text.key(word))).collect();
        self.touches(start, end, &is_print, |joint| !joint.parts())
    }

    /// Whether a word beside a letter size says for which build it is cut: a '2XL tall' is no 2XL.
    fn has_cut(&self, index: usize) -> bool {
        let is_cut = |span: &Span<'_>| {
            span.words.len() == 1 && self.vocabulary.cuts.contains(self.text.key(span.words.start))
        };
        let beside = [index.checked_sub(1), Some(index + 1)].into_iter().flatten();
        beside.filter_map(|beside| self.spans.get(beside)).any(is_cut)
    }

    /// Whether what stands before says that it is not about the good: 'initial: L', 'text in white'.
    fn is_of_something_else(&self, index: usize) -> bool {
        let mut has_colon = false;
        for pair in self.spans[..=index].windows(2).rev() {
            let (before, joint) = (&pair[0], self.text.joint(pair[1].words.start));
            has_colon |= joint == Joint::Colon;
            match before.said {
                _ if joint.parts() && joint != Joint::Colon => return false,
                Said::Label(_) => {}
                Said::Unknown | Said::ProductType(_, Naming::Alone) => {
                    let key = self.text.key(before.words.start);
                    return self.vocabulary.is_of_design(key) || has_colon && before.said == Said::Unknown;
                }
                _ => return false,
            }
        }
        false
    }

    /// Whether a material or technique is the whole text, but for sizes, age groups, numbers, and colours that do
    /// not stand right before it: a 'gold print' is on the good, '12 oz canvas' is what it is made of.
    fn is_alone(&self, index: usize, is_left_over: &[bool]) -> bool {
        let is_number = |word: usize| self.text.key(word).starts_with(|sign: char| sign.is_ascii_digit());
        let others = is_left_over.iter().enumerate().any(|(word, left)| *left && !is_number(word));
        let volume = self.spans.iter().any(|span| matches!(span.said, Said::Size(_, Sort::Volume)));
        let joined = !self.text.joint(self.spans[index].words.start).parts();
        let before = index.checked_sub(1).map(|before| &self.spans[before].said);
        !(others || volume || joined && matches!(before, Some(Said::Colour { .. })))
    }

    fn part_names_a_good(&self, index: usize) -> bool {
        let joins = |at: usize| !self.text.joint(at).parts();
        let names = |span: &Span<'_>| matches!(span.said, Said::ProductType(..));
        let before = self.spans[..=index].windows(2).rev().take_while(|pair| joins(pair[1].words.start));
        let behind = self.spans[index..].windows(2).take_while(|pair| joins(pair[1].words.start));
        before.map(|pair| &pair[0]).chain(behind.map(|pair| &pair[1])).any(names)
    }

    /// A single letter is a size where nothing makes it part of another word.
    fn is_doubtful_letter(&self, index: usize, is_unknown: &[bool]) -> bool {
        let Range { start, end } = self.spans[index].words;
        if self.text.follows_apostrophe(start) {
            return true;
        }
        let before = index.checked_sub(1).and_then(|before| self.spans.get(before)).map(|span| &span.said);
        let labelled = matches!(before, Some(Said::Label(Label::Size)));
        // In a running name only where it stands by itself: 'Apron - L'.
        if self.source == Source::Product {
            let is_apart = self.text.joint(start).parts() && self.text.joint(end).parts();
            return !(labelled || is_apart);
        }
        let after_number = start > 0
            && !self.text.joint(start).parts()
            && self.text.key(start - 1).bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'.' | b','));
        // '12 M' may be months, '1 L' a litre.
        after_number
            || self.has_lost_its_apostrophe(index)
            || self.touches(start, end, is_unknown, |joint| !joint.parts() && joint != Joint::Blank)
    }

    /// Whether a single S is the rest of a possessive: 'Men s tee'. 'Men S, moss' is a size.
    fn has_lost_its_apostrophe(&self, index: usize) -> bool {
        let Range { start, end } = self.spans[index].words;
        if self.text.key(start) != "s"
            || start == 0
            || self.text.joint(start) != Joint::Blank
            || self.text.joint(end).parts()
        {
            return false;
        }
        let possessive = format!("{}s", self.text.key(start - 1));
        let meanings = self.vocabulary.phrases.exactly(std::iter::once(possessive.as_str()));
        let is_age_group = meanings.iter().any(|meaning| matches!(meaning, Meaning::AgeGroup { .. }));
        let next = self.spans.get(index + 1).map(|span| &span.said);
        is_age_group && !matches!(next, Some(Said::Colour { .. }))
    }
}
