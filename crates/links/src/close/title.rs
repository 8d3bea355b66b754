//! What the title of an offer says of its good.
//!
//! Must not know the offer's options. Start reading at [`CloseOffer::titled`].

use std::ops::Range;

use super::names::{loose_names, surely_named, surely_placed};
use super::{BEFORE_COLOURS, CloseOffer, UNISEX, one};
use crate::read::SaidText;
use crate::spans::{Said, Span};
use crate::text::Joint;
use crate::vocabulary::Naming;

impl CloseOffer<'_, '_> {
    /// The product type that the title names surely. The long sleeves of a bodysuit are none; those of 'tee or long sleeve'
    /// are another good.
    pub(super) fn titled(&self) -> Option<usize> {
        let said = || self.title.spans.iter().map(|span| &span.said);
        let surely: Vec<usize> = said()
            .filter_map(|said| match said {
                Said::ProductType(kind, Naming::Surely) => Some(*kind),
                _ => None,
            })
            .collect();
        let is_other =
            |kind: usize| surely.is_empty() || surely.iter().any(|sure| self.vocabulary.turns(kind, *sure));
        let others = said().filter_map(|said| match said {
            Said::ProductType(kind, Naming::GivesWay) if is_other(*kind) => Some(*kind),
            _ => None,
        });
        one(surely.iter().copied().chain(others))
    }

    /// The product type that the title names loosely, where it names none surely.
    pub(super) fn titled_loosely(&self) -> Option<usize> {
        if surely_named(&self.title).next().is_some() {
            return None;
        }
        one(loose_names(self.vocabulary, &self.title.text).into_iter().map(|(kind, _)| kind))
    }

    /// The one colour that the title says of the good rather than of its design: behind 'in', or alone in its part.
    pub(super) fn titled_colour(&self) -> Vec<String> {
        let SaidText { text, spans } = &self.title;
        let said: Vec<_> = spans
            .iter()
            .filter_map(|span| match &span.said {
                Said::Colour { name, .. } => Some((name, &span.words)),
                _ => None,
            })
            .collect();
        // Of several, the one right before the good: 'The natural historian, black tee'.
        let is_named = |place: &Range<usize>| surely_placed(&self.title).any(|good| good.start == place.end);
        let several = said.len() > 1;
        let mut said = said.into_iter().filter(|(_, place)| !several || is_named(place));
        let (Some((name, place)), None) = (said.next(), said.next()) else { return Vec::new() };
        let is_behind = place.start > 0
            && BEFORE_COLOURS.contains(&text.key(place.start - 1))
            && !text.joint(place.start).parts();
        let is_alone = place.start > 0 && text.joint(place.start).parts();
        let ends = place.end == text.words().len() || text.joint(place.end).parts();
        // 'Black tee', of a title that names one good.
        let goods: Vec<&Range<usize>> = surely_placed(&self.title).collect();
        let is_before = matches!(goods.as_slice(), [good] if good.start == place.end)
            && !text.joint(place.end).parts()
            && spans.iter().any(|span| {
                span.words == *place && matches!(span.said, Said::Colour { is_thing: false, .. })
            });
        let is_of_good = ends && (is_behind || is_alone) || is_before;
        if is_of_good { name.split(' ').map(str::to_owned).collect() } else { Vec::new() }
    }

    /// What stands right beside the only good that the title names, of what says how it is or for whom: 'V-neck tee',
    /// 'youth hoodie'.
    pub(super) fn beside_titled(&self) -> Vec<Range<usize>> {
        let SaidText { text, spans } = &self.title;
        let loosely = || loose_names(self.vocabulary, text).into_iter().map(|(_, place)| place);
        let mut goods: Vec<Range<usize>> = surely_placed(&self.title).cloned().collect();
        if goods.is_empty() {
            goods.extend(loosely());
            goods.dedup();
        }
        let [good] = goods.as_slice() else { return Vec::new() };
        let tells = |span: &&Span<'_>| matches!(span.said, Said::Describing | Said::AgeGroup { .. });
        let before = spans
            .iter()
            .filter(tells)
            .filter(|span| span.words.end == good.start && !text.joint(good.start).parts());
        let is_label = |word: usize| {
            spans.iter().any(|span| span.words == (word..word + 1) && matches!(span.said, Said::Label(_)))
        };
        let behind = spans.iter().filter(tells).filter(|span| {
            let start = span.words.start;
            !text.joint(start).parts()
                && (start == good.end
                    || start == good.end + 1 && is_label(good.end) && !text.joint(good.end).parts())
        });
        before.chain(behind).map(|span| span.words.clone()).collect()
    }

    /// The age group that the title says right beside its only good, or in a part that says nothing else: 'Signal tee - youth'.
    pub(super) fn titled_age(&self) -> Option<String> {
        let beside = self.beside_titled();
        let text = &self.title.text;
        let is_alone = |place: &Range<usize>| {
            place.start > 0
                && text.joint(place.start).parts()
                && (place.end == text.words().len() || text.joint(place.end).parts())
        };
        let mut ages = self.title.spans.iter().filter_map(|span| match &span.said {
            Said::AgeGroup { name, .. } => Some((*name, &span.words)),
            _ => None,
        });
        let (Some((age, place)), None) = (ages.next(), ages.next()) else { return None };
        (beside.contains(place) || is_alone(place)).then(|| age.to_owned())
    }

    /// Whether the title says that its good is for men and women alike, and names neither.
    pub(super) fn titled_for_all(&self) -> bool {
        const MEN_WOMEN: [&str; 2] = ["men", "women"];
        let words = self.words(&self.title.text);
        words.iter().any(|word| word == UNISEX)
            && !words.iter().any(|word| MEN_WOMEN.contains(&word.as_str()))
    }

    /// Whether the title says in several words which good it is.
    pub(super) fn titles_fully(&self) -> bool {
        let surely = surely_placed(&self.title).cloned();
        let loosely = loose_names(self.vocabulary, &self.title.text).into_iter().map(|(_, place)| place);
        surely.chain(loosely).any(|place| place.len() > 1)
    }

    /// The words of those parts of the title that name no good: of 'polo shirt and nightshirt' the nightshirt.
    pub(super) fn other_parts(&self) -> Vec<String> {
        let parts = self.parts().into_iter().filter(|(_, kinds)| kinds.is_empty());
        let words = parts.flat_map(|(words, _)| words);
        words.map(|word| self.vocabulary.same(self.title.text.key(word)).to_owned()).collect()
    }

    /// The product types of those parts of the title that name one alone.
    pub(super) fn kinds_of_parts(&self) -> impl Iterator<Item = usize> {
        self.parts().into_iter().filter_map(|(_, kinds)| one(kinds))
    }

    /// The parts of the title, and the product types that each of them names, surely or loosely.
    pub(super) fn parts(&self) -> Vec<(Range<usize>, Vec<usize>)> {
        /// What parts two goods in a title, beside the signs for it, in English, German, French and Spanish.
        const AND: [&str; 8] = ["and", "or", "und", "oder", "et", "ou", "y", "o"];
        let SaidText { text, spans } = &self.title;
        let surely = spans.iter().filter_map(|span| match span.said {
            Said::ProductType(kind, _) => Some((kind, span.words.start)),
            _ => None,
        });
        let loosely = loose_names(self.vocabulary, text);
        let loosely = loosely.into_iter().map(|(kind, place)| (kind, place.start));
        let goods: Vec<(usize, usize)> = surely.chain(loosely).collect();
        let count = text.words().len();
        let starts_part = |word: usize| {
            let joint = text.joint(word);
            joint.parts() || joint == Joint::And || AND.contains(&text.key(word))
        };
        let mut parts = Vec::new();
        let mut from = 0;
        while from < count {
            let to = (from + 1..count).find(|word| starts_part(*word)).unwrap_or(count);
            let here = goods.iter().filter(|(_, good)| (from..to).contains(good));
            parts.push((from..to, here.map(|(kind, _)| *kind).collect()));
            from = to;
        }
        parts
    }
}
