//! One option of an offer: what its name says about its value, and what the value says.
//!
//! Must not know the other options. Start reading at [`CloseOption::of`].

use super::names::{LooseName, loose_names, surely_named};
use super::{NO, beside, heading};
use crate::read::SaidText;
use crate::spans::{Said, Sort, Source};
use crate::text::Text;
use crate::vocabulary::{NameSays, Naming, Vocabulary};

/// An option: its name, and what its value says.
pub(super) struct CloseOption<'t, 'v> {
    pub(super) name: SaidText<'t, 'v>,
    pub(super) name_says: NameSays,
    pub(super) value: SaidText<'t, 'v>,
    /// Whether its name says size.
    pub(super) is_size: bool,
    /// Whether its name says material.
    pub(super) is_material: bool,
    /// Whether its value says a colour and nothing else.
    pub(super) is_colour: bool,
    /// Whether it is about what is printed on the good, or comes with it.
    pub(super) is_design: bool,
}

impl<'t, 'v> CloseOption<'t, 'v> {
    pub(super) fn of(vocabulary: &'v Vocabulary, (name, value): (&'t str, &'t str)) -> Self {
        let says = vocabulary.name_says(name);
        let name = heading(vocabulary, Text::of(name));
        let is_word = |is_it: &dyn Fn(&str) -> bool| name.text.words().len() == 1 && is_it(name.text.key(0));
        // A 'gift' is most often the good itself; wrapping and the like are not. 'Shirt + ink' is about both.
        let names_good =
            || surely_named(&name).next().is_some() || !loose_names(vocabulary, &name.text).is_empty();
        let is_gift = is_word(&|word| word == "gift") || says.design && names_good();
        let is_print = says.design || is_word(&|word| vocabulary.prints.contains(word));
        let is_plain = is_gift || !is_print;
        let reads = if is_plain { NameSays { design: false, ..says } } else { NameSays::default() };
        let mut value = SaidText::of(vocabulary, Text::of(value), Source::Value(reads));
        // Whatever the name says of its design, a value that names a good is about it.
        let is_good = is_print && {
            let mut said = value.spans.iter().map(|span| &span.said);
            let is_of_good = |said: &Said<'_>| {
                matches!(said, Said::ProductType(_, Naming::Surely))
                    || !says.design && matches!(said, Said::Size(_, Sort::Sure | Sort::Letter { .. }))
            };
            said.any(is_of_good)
        };
        let is_design = !(is_plain || is_good);
        if is_design {
            value.spans.clear();
        }
        let says_colour = !value.spans.is_empty()
            && value.spans.iter().all(|span| matches!(span.said, Said::Colour { .. }));
        Self {
            name,
            name_says: says,
            is_size: is_plain && says.size,
            is_material: is_plain && says.material,
            is_colour: is_plain && says_colour,
            is_design,
            value,
        }
    }

    /// Whether a word before a size makes it another one.
    pub(super) fn has_other_size(&self, vocabulary: &Vocabulary) -> bool {
        let sizes =
            self.value.spans.iter().filter(|span| matches!(span.said, Said::Size(_, Sort::Letter { .. })));
        let mut before = sizes.filter_map(|span| beside(&self.value.text, &span.words)[0]);
        before.any(|word| vocabulary.before_sizes.contains(word))
    }

    /// The loose names in the value, with the option's name behind it, and their places in the value.
    pub(super) fn loosely(&self, vocabulary: &Vocabulary) -> Vec<LooseName> {
        let says = self.name_says;
        if self.is_design || says.material || says.colour && !says.good && !says.size {
            return Vec::new();
        }
        let value = &self.value.text;
        let with_name = Text::of(format!("{} {}", value.folded(), self.name.text.folded()));
        let mut found = loose_names(vocabulary, &with_name);
        // The bottle of 'bottle green' is none.
        let is_of_colour = |word: usize| {
            let mut spans = self.value.spans.iter();
            spans.any(|span| matches!(span.said, Said::Colour { .. }) && span.words.contains(&word))
        };
        // 'Framing: gold' is framed.
        let turns =
            |kind: usize| vocabulary.product_types.get(kind).is_some_and(|kind| !kind.turns.is_empty());
        // 'Without a frame' is not framed.
        let is_denied = |word: usize| {
            let before = |back: usize| word.checked_sub(back).map_or("", |before| value.key(before));
            NO.contains(&before(1)) || matches!(before(1), "a" | "an" | "any") && NO.contains(&before(2))
        };
        found.retain(|(kind, place)| {
            !is_denied(place.start.min(value.words().len()))
                && (place.start < value.words().len() || self.is_colour && turns(*kind))
                && !is_of_colour(place.start)
        });
        found
    }
}
