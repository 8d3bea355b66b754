//! What the words of one text say, span by span, before several texts are weighed against each other.
//!
//! Owns which words belong together; `doubt` says which of them are too doubtful to be read. Must not know the other
//! texts of the same row. Start reading at [`spans`].

mod doubt;

use std::borrow::Cow;
use std::ops::Range;

use crate::measure::{Measured, measure};
use crate::text::{Joint, Text};
use crate::vocabulary::{Known, Label, Meaning, NameSays, Naming, Vocabulary};

/// Where a text comes from.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Source {
    /// The value of an option, and what its name says.
    Value(NameSays),
    /// The name of a supplier's product.
    Product,
    /// The title of a listing.
    Title,
}

/// Words of a text that belong together.
#[derive(Clone, Debug)]
pub(crate) struct Span<'v> {
    pub(crate) words: Range<usize>,
    pub(crate) said: Said<'v>,
    /// Whether it must not be read, though it says something.
    pub(crate) is_doubtful: bool,
}

/// What a span says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Said<'v> {
    ProductType(usize, Naming),
    AgeGroup { name: &'v str, gives_way: bool, says_more: bool },
    Size(Cow<'v, str>, Sort),
    Colour { name: Cow<'v, str>, is_thing: bool },
    Label(Label),
    Describing,
    Unknown,
}

/// What sort of size it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Sort {
    /// The place of a letter size, and whether it was a single letter.
    Letter { place: usize, is_one_letter: bool },
    /// Only of what holds something.
    Volume,
    /// Only where a name or a label says size, and nothing else does.
    Number,
    /// Only where a name or a label says size.
    WhereNamed,
    /// Any other.
    Sure,
}

/// Most words of a text that is read. A longer one is a description, not something to choose, and would cost the
/// square of its length; it is left over whole.
pub(crate) const WORDS_AT_MOST: usize = 200;

/// Reads one text. The spans cover all its words, in their order; where one word says two things, two spans do.
/// No spans: nothing is read from it.
pub(crate) fn spans<'v>(vocabulary: &'v Vocabulary, text: &Text<'_>, source: Source) -> Vec<Span<'v>> {
    if text.words().len() > WORDS_AT_MOST {
        return Vec::new();
    }
    let mut reader =
        Reader { vocabulary, text, source, known: vocabulary.phrases.know(text), spans: Vec::new() };
    let mut at = 0;
    while at < text.words().len() {
        at = reader.read_from(at).max(at + 1);
    }
    reader.join_double_sizes();
    reader.doubt();
    reader.spans
}

struct Reader<'v, 't> {
    vocabulary: &'v Vocabulary,
    text: &'t Text<'t>,
    source: Source,
    known: Known,
    spans: Vec<Span<'v>>,
}

impl<'v> Reader<'v, '_> {
    /// Reads the longest span that begins with a word; answers where the next one begins.
    fn read_from(&mut self, at: usize) -> usize {
        let phrase = self.vocabulary.phrases.longest(self.text, &self.known, at, |_| true);
        let measured = measure(self.text, at, &self.vocabulary.units, self.default_unit());
        let colour = self.composed_colour(at);
        let phrase_end = phrase.map_or(at, |(end, _)| end);
        let measured_end = measured.as_ref().map_or(at, |(_, end)| *end);
        if let Some((name, end)) = colour.filter(|(_, end)| *end > phrase_end && *end >= measured_end) {
            self.push(at..end, Said::Colour { name, is_thing: false });
            return end;
        }
        if let Some((measured, end)) = measured.filter(|(_, end)| *end > phrase_end) {
            let said = match measured {
                Measured::Size { name, is_volume } => {
                    Said::Size(name.into(), if is_volume { Sort::Volume } else { Sort::Sure })
                }
                Measured::Number(name) => Said::Size(name.into(), Sort::Number),
                Measured::Unreadable => Said::Unknown,
            };
            self.push(at..end, said);
            return end;
        }
        let Some((end, meanings)) = phrase else {
            self.push(at..at + 1, Said::Unknown);
            return at + 1;
        };
        for meaning in meanings {
            self.push(at..end, self.said(meaning, at..end));
        }
        end
    }

    fn push(&mut self, words: Range<usize>, said: Said<'v>) {
        self.spans.push(Span { words, said, is_doubtful: false });
    }

    fn said(&self, meaning: &'v Meaning, words: Range<usize>) -> Said<'v> {
        match meaning {
            Meaning::ProductType(index, naming) => Said::ProductType(*index, *naming),
            Meaning::AgeGroup { name, gives_way, says_more } => {
                Said::AgeGroup { name, gives_way: *gives_way, says_more: *says_more }
            }
            Meaning::Letter(place) => {
                let is_one_letter = words.len() == 1 && self.text.key(words.start).len() == 1;
                let name = self.vocabulary.letters[*place].as_str();
                Said::Size(name.into(), Sort::Letter { place: *place, is_one_letter })
            }
            Meaning::Size { name, where_named } => {
                Said::Size(name.into(), if *where_named { Sort::WhereNamed } else { Sort::Sure })
            }
            Meaning::Colour { name, is_thing } => Said::Colour { name: name.into(), is_thing: *is_thing },
            Meaning::Label(label) => Said::Label(*label),
            Meaning::Describing => Said::Describing,
            Meaning::Shade { .. } | Meaning::Ambiguous => Said::Unknown,
        }
    }

    /// The unit of a number that has none: what the option's name gives, or years after a word for age.
    fn default_unit(&self) -> Option<usize> {
        match (self.spans.last().map(|span| &span.said), self.source) {
            (Some(Said::Label(Label::Age)), _) => self.vocabulary.units.years,
            (_, Source::Value(name)) if name.size => name.unit,
            _ => None,
        }
    }

    /// A colour with shades before or after it: its name, and where it ends. `None` where it has no shade.
    fn composed_colour(&self, from: usize) -> Option<(Cow<'v, str>, usize)> {
        let phrases = &self.vocabulary.phrases;
        let shade_at = |at: usize, only_after: bool| {
            let is_shade =
                |meaning: &Meaning| matches!(meaning, Meaning::Shade { after, .. } if *after || !only_after);
            let (end, meanings) = phrases.longest(self.text, &self.known, at, is_shade)?;
            meanings.iter().find_map(|meaning| match meaning {
                Meaning::Shade { index, .. } => Some((*index, end)),
                _ => None,
            })
        };
        let colour_at = |at: usize| {
            let is_colour = |meaning: &Meaning| matches!(meaning, Meaning::Colour { .. });
            let (end, meanings) = phrases.longest(self.text, &self.known, at, is_colour)?;
            meanings.iter().find_map(|meaning| match meaning {
                Meaning::Colour { name, .. } => Some((name.as_str(), end)),
                _ => None,
            })
        };
        let goes_on = |at: usize| matches!(self.text.joint(at), Joint::Blank | Joint::Hyphen);
        let mut before = Vec::new();
        let mut at = from;
        let mut best: Option<(usize, Vec<usize>, &str)> = None;
        loop {
            if let Some((base, mut end)) = colour_at(at) {
                let mut shades = before.clone();
                while let Some((shade, behind)) = shade_at(end, true).filter(|_| goes_on(end)) {
                    shades.push(shade);
                    end = behind;
                }
                if best.as_ref().is_none_or(|(so_far, ..)| end > *so_far) {
                    best = Some((end, shades, base));
                }
            }
            let Some((shade, behind)) = shade_at(at, false).filter(|(_, behind)| goes_on(*behind)) else {
                break;
            };
            before.push(shade);
            at = behind;
        }
        let (end, mut shades, mut base) = best.filter(|(_, shades, _)| !shades.is_empty())?;
        // A base that has a shade of its own gives it up: 'dark grey' with 'heather' is dark heather and grey.
        while let Some((shade, rest)) = base.split_once(' ') {
            let shade = self.vocabulary.shades.iter().position(|name| name == shade);
            let Some(shade) = shade.filter(|_| self.colour_called(rest).is_some()) else { break };
            shades.push(shade);
            base = rest;
        }
        shades.sort_unstable();
        shades.dedup();
        let names = shades.into_iter().filter_map(|shade| self.vocabulary.shades.get(shade));
        let name = names.map(String::as_str).chain([base]).collect::<Vec<_>>().join(" ");
        // Another order of its words may be in the vocabulary: 'grey heather' is 'heather grey'.
        let listed = self.colour_called(&name).map(Cow::Borrowed);
        Some((listed.unwrap_or(Cow::Owned(name)), end))
    }

    fn colour_called(&self, name: &str) -> Option<&'v str> {
        let meanings = self.vocabulary.phrases.exactly(name.split(' '));
        meanings.iter().find_map(|meaning| match meaning {
            Meaning::Colour { name, .. } => Some(name.as_str()),
            _ => None,
        })
    }

    /// Two neighbouring letter sizes with a slash or a hyphen are one size; two others are too doubtful to read.
    fn join_double_sizes(&mut self) {
        let mut at = 0;
        while at + 1 < self.spans.len() {
            let run = self.spans[at..].windows(2).take_while(|pair| self.is_double(pair)).count();
            if run > 0 {
                let spaced = self.text.joint(self.spans[at + 1].words.start) == Joint::SpacedSlash;
                match (run, self.double_size(at)) {
                    (1, Some(name)) => {
                        let behind = self.spans.remove(at + 1);
                        self.spans[at].words.end = behind.words.end;
                        self.spans[at].said = Said::Size(name.into(), Sort::Sure);
                    }
                    (1, None) if spaced => (),
                    _ => self.spans[at..=at + run].iter_mut().for_each(|span| span.is_doubtful = true),
                }
            }
            at += run.max(1);
        }
    }

    fn is_double(&self, pair: &[Span<'_>]) -> bool {
        let letter = |span: &Span<'_>| matches!(span.said, Said::Size(_, Sort::Letter { .. }));
        let joint = self.text.joint(pair[1].words.start);
        pair.iter().all(letter)
            && pair[0].words.end == pair[1].words.start
            && matches!(joint, Joint::Slash | Joint::Hyphen | Joint::SpacedSlash)
    }

    fn double_size(&self, at: usize) -> Option<String> {
        let place = |span: &Span<'_>| match span.said {
            Said::Size(_, Sort::Letter { place, .. }) => Some(place),
            _ => None,
        };
        let (first, second) = (place(self.spans.get(at)?)?, place(self.spans.get(at + 1)?)?);
        let letters = &self.vocabulary.letters;
        (second == first + 1).then(|| format!("{}/{}", letters[first], letters[second]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::text::fold;
    use proptest::prelude::*;
    use std::sync::LazyLock;

    static VOCABULARY: LazyLock<Vocabulary> = LazyLock::new(Vocabulary::built_in);

    fn check_cover(text: &str) -> Result<(), TestCaseError> {
        let folded = fold(text);
        let text = Text::of(folded.as_str());
        for source in [Source::Value(NameSays::default()), Source::Product, Source::Title] {
            let mut end = 0;
            let mut last = 0..0;
            for span in spans(&VOCABULARY, &text, source) {
                prop_assert!(span.words == last || span.words.start == end, "{:?} behind {}", span, end);
                prop_assert!(!span.words.is_empty());
                (end, last) = (span.words.end, span.words.clone());
            }
            prop_assert_eq!(end, text.words().len());
        }
        Ok(())
    }

    proptest! {
        /// So each word is either read or left over.
        #[test]
        fn the_spans_of_any_text_cover_each_of_its_words_once(text in "\\PC{0,60}") {
            check_cover(&text)?;
        }

        #[test]
        fn the_spans_of_text_that_looks_like_options_cover_each_word_once(
            text in "([sml2-9x]|xl|[0-9]{1,3}|in|cm|oz|by|to|dark|heather|grey|ym|framed|men|'s|[ /,x.\"-]){0,24}"
        ) {
            check_cover(&text)?;
        }
    }

    #[test]
    fn a_description_is_not_read() {
        let text = Text::of("print ".repeat(WORDS_AT_MOST + 1));
        assert!(spans(&VOCABULARY, &text, Source::Product).is_empty());
    }
}
