//! Close readings: besides what a row says, each of its words and the part that it plays.
//!
//! Owns the words by which rows are compared when it is known what they can mean, so also those that are too
//! doubtful for a reading by themselves. Must not know what they are compared with. Start reading at
//! [`read_closely`].

use std::ops::Range;

use model::text::fold;
use model::{Options, Reading};

use crate::read::{SaidText, Stated, Weighed, values};
use crate::spans::{Said, Sort, Source, Span, WORDS_AT_MOST};
use crate::text::{Joint, Text};
use crate::vocabulary::{NameSays, Naming, Vocabulary};

/// The part that a word plays.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(crate) enum Part {
    /// It names the good that was read.
    Good,
    /// It is a part of a size.
    Size,
    /// It is a part of a colour.
    Colour,
    /// It makes a colour another one.
    Shade,
    /// Nobody knows.
    Unknown,
    /// A colour that no list has, by the option that it stands in.
    Unlisted,
    /// It stands beside a colour in an option for colours: 'coal black', 'midnight navy'.
    Shading,
    /// It is the colour of a part: of a handle, of a rim.
    Piece,
    /// It describes, and tells no two variants apart by itself.
    Describing,
    /// It is about what is printed on the good, or comes with it.
    Design,
}

impl Part {
    /// Whether it says a colour of the good.
    pub(crate) fn is_colour(self) -> bool {
        matches!(self, Self::Colour | Self::Shade)
    }

    /// Whether nothing was read of it that it could contradict.
    pub(crate) fn is_open(self) -> bool {
        matches!(self, Self::Unknown | Self::Describing)
    }
}

/// A word of a row: `W` is a text here, and the number of one where rows are compared.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(crate) struct PartWord<W> {
    /// As words are compared: a colour's and a shade's as the vocabulary writes it, others folded, without accents.
    pub(crate) word: W,
    pub(crate) part: Part,
    /// Which text of the row it stands in: for an offer the option by folded name; for a variant 0 is the
    /// product's name, and the options follow.
    pub(crate) text: usize,
    /// The places in the text of the phrase that it belongs to: the first, and one behind the last.
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// Whether a sign parts it from what stands before.
    pub(crate) parted: bool,
}

impl<W> PartWord<W> {
    /// The same with another word.
    pub(crate) fn with<V>(&self, word: V) -> PartWord<V> {
        let Self { part, text, from, to, parted, .. } = *self;
        PartWord { word, part, text, from, to, parted }
    }
}

/// What a row says, and in which words.
#[derive(Clone, Debug)]
pub(crate) struct CloseReading {
    pub(crate) reading: Reading,
    pub(crate) words: Vec<PartWord<String>>,
    /// All sizes that are said, doubtful or not, in their order.
    pub(crate) sizes: Vec<String>,
    /// The numbers in the texts, in their order, as they are written.
    pub(crate) numbers: Vec<String>,
    /// How many pieces are said, where that is said.
    pub(crate) pieces: Option<u32>,
    /// Of an offer, what its good was read from; of a variant nothing.
    pub(crate) naming: GoodNaming<String>,
}

/// What the good of an offer was read from.
#[derive(Clone, PartialEq, Eq, Hash, Default, Debug)]
pub(crate) struct GoodNaming<W> {
    pub(crate) kind_from: KindFrom,
    /// Whether a value names it loosely alone.
    pub(crate) is_loose: bool,
    /// Words that nobody knows right before a loose name.
    pub(crate) beside_loose: Vec<W>,
    /// The words of the options' names, but for those about the design.
    pub(crate) names: Vec<W>,
    /// The words of the title.
    pub(crate) title: Vec<W>,
    /// Those of its parts that name no good that is known.
    pub(crate) titled: Vec<W>,
    /// The product type that the title names surely.
    pub(crate) titled_kind: Option<W>,
    /// The product types that parts of the title name, each part one alone: 'short sleeve / long sleeve'.
    pub(crate) titled_kinds: Vec<W>,
    /// The words of the one colour that the title says of the good: 'in navy', '(all navy)'.
    pub(crate) titled_colour: Vec<W>,
    /// The words right beside the only good of the title that say how it is or for whom.
    pub(crate) titled_beside: Vec<W>,
    /// The age group among them.
    pub(crate) titled_age: Option<W>,
    /// Whether a value says that it is for men and women alike.
    pub(crate) is_for_all: bool,
}

impl<W> GoodNaming<W> {
    /// The same with other words.
    pub(crate) fn map<V>(&self, mut take: impl FnMut(&W) -> V) -> GoodNaming<V> {
        GoodNaming {
            kind_from: self.kind_from,
            is_loose: self.is_loose,
            beside_loose: self.beside_loose.iter().map(&mut take).collect(),
            names: self.names.iter().map(&mut take).collect(),
            title: self.title.iter().map(&mut take).collect(),
            titled: self.titled.iter().map(&mut take).collect(),
            titled_kind: self.titled_kind.as_ref().map(&mut take),
            titled_kinds: self.titled_kinds.iter().map(&mut take).collect(),
            titled_colour: self.titled_colour.iter().map(&mut take).collect(),
            titled_beside: self.titled_beside.iter().map(&mut take).collect(),
            titled_age: self.titled_age.as_ref().map(take),
            is_for_all: self.is_for_all,
        }
    }
}

/// Where the product type was read.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Default, Debug)]
pub(crate) enum KindFrom {
    #[default]
    Value,
    Name,
    Title,
}

/// Reads the options of an order line or an offer closely. The product type, where no value names one surely, is
/// read from loose names in the values, then from the names of the options, then from the title.
pub(crate) fn read_closely(vocabulary: &Vocabulary, options: &Options, title: Option<&str>) -> CloseReading {
    let options: Vec<CloseOption<'_, '_>> =
        values(Some(options)).map(|option| CloseOption::of(vocabulary, option)).collect();
    let offer = CloseOffer {
        vocabulary,
        loose: options.iter().map(|option| option.loosely(vocabulary)).collect(),
        options,
        title: heading(vocabulary, Text::of(fold(title.unwrap_or_default()))),
    };
    offer.read()
}

/// Words for what is printed on a good, where its colour stands behind them: 'impression blanche', 'Aufdruck weiß'. In German,
/// French and Spanish, without accents. Common practice, no published source.
const BEFORE_PRINT_COLOURS: [&str; 8] =
    ["impression", "encre", "motif", "impresion", "estampado", "tinta", "aufdruck", "druck"];

/// What stands before the colour of a good, in English, German, French and Spanish.
pub(crate) const BEFORE_COLOURS: [&str; 4] = ["in", "en", "all", "ganz"];

/// Words for one piece. Common practice, no published source.
const ONE: [&str; 11] = [
    "one",
    "eine",
    "single",
    "singly",
    "individual",
    "einzeln",
    "einzelne",
    "einzelstuck",
    "unite",
    "unidad",
    "suelta",
];

/// Words that say no, in English, German, French and Spanish. Common practice, no published source.
pub(crate) const NO: [&str; 9] = ["none", "no", "without", "ohne", "kein", "keine", "sans", "sin", "non"];

/// For men and women alike, in all of our languages.
const UNISEX: &str = "unisex";

/// The size of what comes in no other, in the vocabulary's words.
const ONE_SIZE: &str = "one size";

/// A phrase that may name a good: the title, or the name of an option.
fn heading<'t, 'v>(vocabulary: &'v Vocabulary, text: Text<'t>) -> SaidText<'t, 'v> {
    SaidText::of(vocabulary, text, Source::Title)
}

/// A product type by its place in the vocabulary, and the words that name it loosely.
type LooseName = (usize, Range<usize>);

/// An order line or an offer while it is read.
struct CloseOffer<'t, 'v> {
    vocabulary: &'v Vocabulary,
    options: Vec<CloseOption<'t, 'v>>,
    /// The loose names in each option.
    loose: Vec<Vec<LooseName>>,
    title: SaidText<'t, 'v>,
}

impl CloseOffer<'_, '_> {
    fn read(&self) -> CloseReading {
        let Self { vocabulary, .. } = self;
        let texts: Vec<&SaidText<'_, '_>> = self.options.iter().map(|option| &option.value).collect();
        let mut named = None;
        let weighed = Weighed::of(vocabulary, &texts, || {
            named = self.named();
            named.map_or(Stated::Nothing, |(_, index)| Stated::One(index))
        });
        let mut close = close(vocabulary, &texts, &weighed, true);
        // A 'hoodie (zip)': a loose name that turns the good that is named.
        let turns = |to: &usize| weighed.kind().is_some_and(|from| vocabulary.turns(*to, from));
        let kind = self.loose_kinds().find(turns).or(weighed.kind());
        close.reading.product_type = kind.and_then(|kind| self.kind_name(kind));
        self.read_sizes(&mut close);
        self.read_parts(&mut close.words, kind);
        let is_loose = matches!(named, Some((KindFrom::Value, _))) || self.is_named_alone(&weighed);
        close.naming = GoodNaming {
            kind_from: named.map_or(KindFrom::Value, |(from, _)| from),
            is_loose,
            beside_loose: self.beside_loose(&close.words),
            names: self.names().flat_map(|name| self.words(&name.text)).collect(),
            title: self.words(&self.title.text),
            titled: self.other_parts(),
            titled_kind: self
                .titled()
                .or_else(|| self.titled_loosely().filter(|_| is_loose || self.loose_kinds().next().is_some()))
                .and_then(|kind| self.kind_name(kind)),
            titled_kinds: self.kinds_of_parts().filter_map(|kind| self.kind_name(kind)).collect(),
            titled_colour: self.titled_colour(),
            titled_beside: self
                .beside_titled()
                .into_iter()
                .flatten()
                .map(|word| self.vocabulary.same(self.title.text.key(word)).to_owned())
                .collect(),
            titled_age: self.titled_age(),
            is_for_all: self.is_for_all(),
        };
        self.set_apart(&mut close.words);
        close
    }

    fn kind_name(&self, kind: usize) -> Option<String> {
        self.vocabulary.product_types.get(kind).map(|kind| kind.name.clone())
    }

    fn loose_kinds(&self) -> impl Iterator<Item = usize> {
        self.loose.iter().flatten().map(|(kind, _)| *kind)
    }

    /// The names of the options that are about the good.
    fn names(&self) -> impl Iterator<Item = &SaidText<'_, '_>> {
        self.options.iter().filter(|option| !option.is_design).map(|option| &option.name)
    }

    /// The product type that the title names surely. The long sleeves of a bodysuit are none; those of 'tee or long sleeve'
    /// are another good.
    fn titled(&self) -> Option<usize> {
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
    fn titled_loosely(&self) -> Option<usize> {
        if surely_named(&self.title).next().is_some() {
            return None;
        }
        one(loose_names(self.vocabulary, &self.title.text).into_iter().map(|(kind, _)| kind))
    }

    /// The product type, where no value names one surely, and where it was read.
    fn named(&self) -> Option<(KindFrom, usize)> {
        // A value that names several says which no more than the title does.
        if self.loose_kinds().next().is_some() && most_turned(self.vocabulary, self.loose_kinds()).is_none() {
            return None;
        }
        let loosely = |text: &SaidText<'_, '_>| loose_names(self.vocabulary, &text.text);
        let tries: [(KindFrom, &dyn Fn() -> Option<usize>); 5] = [
            (KindFrom::Value, &|| most_turned(self.vocabulary, self.loose_kinds())),
            (KindFrom::Name, &|| one(self.names().flat_map(surely_named))),
            (KindFrom::Title, &|| self.titled()),
            (KindFrom::Name, &|| one(self.names().flat_map(loosely).map(|(kind, _)| kind))),
            (KindFrom::Title, &|| self.titled_loosely()),
        ];
        let named = tries.iter().find_map(|(from, read)| Some((*from, read()?)));
        // A 'mug colour' in the listing of a camp mug is the camp mug's, and a 'cushion' that of a cushion cover.
        if let Some((KindFrom::Name, kind)) = named
            && let Some(titled) = self.titled()
            && (self.vocabulary.turns(titled, kind)
                || self.names().any(|name| is_longer_name(&self.title, name)))
        {
            return Some((KindFrom::Title, titled));
        }
        named
    }

    /// Whether what names the good may as well be a material or a part of it.
    fn is_named_alone(&self, weighed: &Weighed<'_>) -> bool {
        let spans = self.options.iter().flat_map(|option| &option.value.spans);
        let mut namings = spans
            .filter(|span| weighed.is_read(&span.said))
            .filter_map(|span| match span.said {
                Said::ProductType(_, naming) => Some(naming),
                _ => None,
            })
            .peekable();
        namings.peek().is_some() && namings.all(|naming| naming != Naming::Surely)
    }

    /// What an option for sizes says beats what else is written: 'small ones' in '3-4 years'.
    fn read_sizes(&self, close: &mut CloseReading) {
        let of_sizes: Vec<&SaidText<'_, '_>> =
            self.options.iter().filter(|option| option.is_size).map(|option| &option.value).collect();
        let named = sizes_of(&of_sizes);
        // 'One size' beside another one is the design's, or says nothing.
        if close.sizes.len() == 2 && close.sizes.iter().any(|size| size == ONE_SIZE) {
            close.sizes.retain(|size| size != ONE_SIZE);
            close.reading.size = close.sizes.first().cloned();
        } else if close.reading.size.is_none() && close.sizes.len() > named.len() && !named.is_empty() {
            close.reading.size = if let [only] = named.as_slice() { Some(only.clone()) } else { None };
            close.sizes = named;
        }
        if self.options.iter().any(|option| option.has_other_size(self.vocabulary)) {
            close.reading.size = None;
            close.sizes = Vec::new();
        }
    }

    /// What names the good loosely is a part of its name.
    fn read_parts(&self, words: &mut [PartWord<String>], kind: Option<usize>) {
        for (text, found) in self.loose.iter().enumerate() {
            for (_, place) in found.iter().filter(|(index, _)| Some(*index) == kind) {
                // The 'trucker' of a 'trucker hat' tells it from other hats.
                let last = self.options[text].value.text.key(place.end.saturating_sub(1));
                let is_hat = matches!(last, "hat" | "hats") && place.len() > 1;
                let names = if is_hat { place.end - 1..place.end } else { place.clone() };
                let names_it = |word: &&mut PartWord<String>| {
                    word.text == text && names.contains(&word.from) && word.part == Part::Unknown
                };
                words.iter_mut().filter(names_it).for_each(|word| word.part = Part::Good);
            }
        }
    }

    /// Sets apart what the name of its option says to be about something else than the good as a whole.
    fn set_apart(&self, words: &mut [PartWord<String>]) {
        for word in words {
            let Some(option) = self.options.get(word.text) else { continue };
            word.part = match word.part {
                _ if option.is_design => Part::Design,
                Part::Unknown if option.is_material => Part::Describing,
                Part::Colour if option.is_colour && self.is_of_part(option) => Part::Piece,
                part => part,
            };
        }
    }

    fn is_of_part(&self, option: &CloseOption<'_, '_>) -> bool {
        self.words(&option.name.text).iter().any(|word| self.vocabulary.parts.contains(word))
    }

    /// Words that nobody knows right before a name that a word before it makes something else of.
    fn beside_loose(&self, words: &[PartWord<String>]) -> Vec<String> {
        let mut unknown = Vec::new();
        for (text, (found, option)) in self.loose.iter().zip(&self.options).enumerate() {
            let said = &option.value.text;
            // '1 card' and 'single card' are cards.
            let is_count = |word: &str| ONE.contains(&word) || word.chars().all(|sign| sign.is_ascii_digit());
            let is_general = |place: &Range<usize>| {
                place.len() == 1 && self.vocabulary.general_goods.contains(said.key(place.start))
            };
            for (_, place) in found.iter().filter(|(_, place)| is_general(place)) {
                let is_before = |word: &&PartWord<String>| {
                    word.text == text
                        && word.to == place.start
                        && word.part == Part::Unknown
                        && !is_count(&word.word)
                };
                let before = beside(said, place)[0].and_then(|_| words.iter().find(is_before));
                unknown.extend(before.map(|word| word.word.clone()));
            }
        }
        unknown
    }

    /// The words of a text in those of ours that mean the same.
    fn words(&self, text: &Text<'_>) -> Vec<String> {
        (0..text.words().len()).map(|word| self.vocabulary.same(text.key(word)).to_owned()).collect()
    }

    /// The one colour that the title says of the good rather than of its design: behind 'in', or alone in its part.
    fn titled_colour(&self) -> Vec<String> {
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
    fn beside_titled(&self) -> Vec<Range<usize>> {
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
    fn titled_age(&self) -> Option<String> {
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

    fn is_for_all(&self) -> bool {
        let mut values =
            self.options.iter().filter(|option| !option.is_design).map(|option| &option.value.text);
        values.any(|value| (0..value.words().len()).any(|word| value.key(word) == UNISEX))
    }

    /// The words of those parts of the title that name no good: of 'polo shirt and nightshirt' the nightshirt.
    fn other_parts(&self) -> Vec<String> {
        let parts = self.parts().into_iter().filter(|(_, kinds)| kinds.is_empty());
        let words = parts.flat_map(|(words, _)| words);
        words.map(|word| self.vocabulary.same(self.title.text.key(word)).to_owned()).collect()
    }

    /// The product types of those parts of the title that name one alone.
    fn kinds_of_parts(&self) -> impl Iterator<Item = usize> {
        self.parts().into_iter().filter_map(|(_, kinds)| one(kinds))
    }

    /// The parts of the title, and the product types that each of them names, surely or loosely.
    fn parts(&self) -> Vec<(Range<usize>, Vec<usize>)> {
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

/// An option: its name, and what its value says.
struct CloseOption<'t, 'v> {
    name: SaidText<'t, 'v>,
    name_says: NameSays,
    value: SaidText<'t, 'v>,
    /// Whether its name says size.
    is_size: bool,
    /// Whether its name says material.
    is_material: bool,
    /// Whether its value says a colour and nothing else.
    is_colour: bool,
    /// Whether it is about what is printed on the good, or comes with it.
    is_design: bool,
}

impl<'t, 'v> CloseOption<'t, 'v> {
    fn of(vocabulary: &'v Vocabulary, (name, value): (&'t str, &'t str)) -> Self {
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
    fn has_other_size(&self, vocabulary: &Vocabulary) -> bool {
        let sizes =
            self.value.spans.iter().filter(|span| matches!(span.said, Said::Size(_, Sort::Letter { .. })));
        let mut before = sizes.filter_map(|span| beside(&self.value.text, &span.words)[0]);
        before.any(|word| vocabulary.before_sizes.contains(word))
    }

    /// The loose names in the value, with the option's name behind it, and their places in the value.
    fn loosely(&self, vocabulary: &Vocabulary) -> Vec<LooseName> {
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

/// Where a heading names goods.
fn surely_placed<'h>(heading: &'h SaidText<'_, '_>) -> impl Iterator<Item = &'h Range<usize>> {
    let goods = heading.spans.iter();
    goods.filter(|span| matches!(span.said, Said::ProductType(..))).map(|span| &span.words)
}

/// The product types that a heading names surely.
fn surely_named(heading: &SaidText<'_, '_>) -> impl Iterator<Item = usize> {
    heading.spans.iter().filter_map(|span| match span.said {
        Said::ProductType(index, Naming::Surely | Naming::GivesWay) => Some(index),
        _ => None,
    })
}

/// Whether the phrase by which a title names its good holds the one by which another text does.
fn is_longer_name(title: &SaidText<'_, '_>, other: &SaidText<'_, '_>) -> bool {
    let phrases = |heading: &SaidText<'_, '_>| -> Vec<Vec<String>> {
        let goods = heading.spans.iter();
        let goods = goods.filter(|span| matches!(span.said, Said::ProductType(_, Naming::Surely)));
        let phrase = |words: Range<usize>| words.map(|word| heading.text.key(word).to_owned()).collect();
        goods.map(|span| phrase(span.words.clone())).collect()
    };
    let (long, short) = (phrases(title), phrases(other));
    let holds = |long: &Vec<String>, short: &Vec<String>| {
        long.len() > short.len() && long.windows(short.len()).any(|part| part == short.as_slice())
    };
    !short.is_empty() && short.iter().all(|short| long.iter().any(|long| holds(long, short)))
}

/// The loose names of product types in a text, and their places.
fn loose_names(vocabulary: &Vocabulary, text: &Text<'_>) -> Vec<LooseName> {
    let known = vocabulary.loosely.know(text);
    let mut found = Vec::new();
    let mut at = 0;
    while at < text.words().len() {
        match vocabulary.loosely.longest(text, &known, at, |_| true) {
            Some((end, meanings)) => {
                found.extend(meanings.iter().map(|index| (*index, at..end)));
                at = end;
            }
            None => at += 1,
        }
    }
    found
}

/// The only one of some product types, where those that another of them is made of do not count: a sweater with a hood.
fn most_turned(vocabulary: &Vocabulary, all: impl Iterator<Item = usize>) -> Option<usize> {
    let all: Vec<usize> = all.collect();
    let is_turned = |from: &usize| all.iter().any(|to| vocabulary.turns(*to, *from));
    one(all.iter().copied().filter(|index| !is_turned(index)))
}

/// The only one of some numbers.
fn one(all: impl IntoIterator<Item = usize>) -> Option<usize> {
    let mut all = all.into_iter();
    let first = all.next()?;
    all.all(|other| other == first).then_some(first)
}

/// Reads a variant closely: its product's name, and its options' values.
pub(crate) fn read_variant_closely(
    vocabulary: &Vocabulary,
    product: Option<&str>,
    options: Option<&Options>,
) -> CloseReading {
    let product = SaidText::of(vocabulary, Text::of(fold(product.unwrap_or_default())), Source::Product);
    let values = values(options).map(|value| SaidText::of_value(vocabulary, value));
    let texts: Vec<SaidText<'_, '_>> = std::iter::once(product).chain(values).collect();
    let texts: Vec<&SaidText<'_, '_>> = texts.iter().collect();
    let loosely = || {
        let all = texts.iter().flat_map(|text| loose_names(vocabulary, &text.text));
        one(all.map(|(index, _)| index)).map_or(Stated::Nothing, Stated::One)
    };
    let weighed = Weighed::of(vocabulary, &texts, loosely);
    close(vocabulary, &texts, &weighed, false)
}

fn close(
    vocabulary: &Vocabulary,
    texts: &[&SaidText<'_, '_>],
    weighed: &Weighed<'_>,
    is_offer: bool,
) -> CloseReading {
    let mut words = Vec::new();
    let mut numbers = Vec::new();
    for (index, text) in texts.iter().enumerate() {
        numbers.extend((0..text.text.words().len()).flat_map(|word| digits(text.text.key(word))));
        push_words(vocabulary, text, weighed, (index, is_offer), &mut words);
    }
    CloseReading {
        reading: weighed.reading(texts),
        words,
        sizes: sizes_of(texts),
        numbers,
        pieces: pieces(vocabulary, texts),
        naming: GoodNaming::default(),
    }
}

/// All sizes that some texts say, in their order.
fn sizes_of(texts: &[&SaidText<'_, '_>]) -> Vec<String> {
    let mut sizes: Vec<String> = Vec::new();
    for span in texts.iter().flat_map(|text| &text.spans) {
        if let Said::Size(name, _) = &span.said
            && !sizes.iter().any(|there| there == name.as_ref())
        {
            sizes.push(name.to_string());
        }
    }
    sizes
}

fn push_words(
    vocabulary: &Vocabulary,
    text: &SaidText<'_, '_>,
    weighed: &Weighed<'_>,
    (index, is_offer): (usize, bool),
    words: &mut Vec<PartWord<String>>,
) {
    let mut push = |key: &str, part, place: Range<usize>| {
        if !key.is_empty() {
            let (from, to) = (place.start, place.end);
            let parted = text.text.joint(from).parts();
            words.push(PartWord { word: key.to_owned(), part, text: index, from, to, parted });
        }
    };
    if text.spans.is_empty() {
        // A description is nothing to choose by.
        if text.text.words().len() > WORDS_AT_MOST {
            return;
        }
        let all = 0..text.text.words().len();
        all.for_each(|word| push(text.text.key(word), Part::Unknown, word..word + 1));
        return;
    }
    let mut last = 0..0;
    for span in &text.spans {
        // Where a phrase says two things, the first that is not a label gives its words.
        if span.words == last && !matches!(span.said, Said::AgeGroup { says_more: true, .. }) {
            continue;
        }
        last = span.words.clone();
        let place = || span.words.clone();
        let mut all = |part| place().for_each(|word| push(text.text.key(word), part, word..word + 1));
        match &span.said {
            Said::Colour { name, .. } => {
                let beside = beside(&text.text, &span.words);
                // 'Gold ink', and 'red handle'.
                let is_of_print = beside[1].is_some_and(|word| vocabulary.is_of_design(word))
                    || beside[0].is_some_and(|word| BEFORE_PRINT_COLOURS.contains(&word));
                let is_of_part = beside.iter().flatten().any(|word| vocabulary.parts.contains(*word));
                let part = match (is_of_print, is_offer && is_of_part) {
                    (true, _) => Part::Design,
                    (_, true) => Part::Piece,
                    _ => Part::Colour,
                };
                name.split(' ').for_each(|word| push(word, part, place()));
            }
            // A number that is no size may tell two goods apart: 'tote no. 2'.
            Said::Size(_, Sort::Number) if span.is_doubtful && is_offer => all(Part::Unknown),
            Said::Size(..) => all(Part::Size),
            // 'Mug A' is not 'mug B'.
            Said::Label(_)
                if span.words.end == text.text.words().len() && text.text.key(span.words.start) == "a" =>
            {
                all(Part::Unknown);
            }
            Said::AgeGroup { says_more: false, .. } | Said::Label(_) => {}
            Said::ProductType(..) | Said::Describing | Said::AgeGroup { .. } => {
                let part = match &span.said {
                    said @ Said::ProductType(..) if weighed.is_read(said) => Part::Good,
                    Said::Describing => Part::Describing,
                    _ => Part::Unknown,
                };
                place().for_each(|word| push(vocabulary.same(text.text.key(word)), part, word..word + 1));
            }
            // 'Without lines' says no lines.
            Said::Unknown if beside(&text.text, &span.words)[0].is_some_and(|word| NO.contains(&word)) => {
                place().for_each(|word| {
                    push(&format!("no {}", text.text.key(word)), Part::Unknown, word..word + 1)
                });
            }
            Said::Unknown => {
                for word in place() {
                    let key = text.text.key(word);
                    let (name, part) =
                        vocabulary.shade_or_colour(key).unwrap_or((vocabulary.same(key), Part::Unknown));
                    name.split(' ').for_each(|name| push(name, part, word..word + 1));
                    // 'x25' is 25, and '8plus' is 8 and plus.
                    let apart = runs(key).filter(|run| *run != key);
                    apart.for_each(|run| push(run, part, word..word + 1));
                }
            }
        }
    }
}

/// How many pieces texts say: 'set of 4', '3 pack', '4er Set', 'pair', '10 postcards', 'single'.
fn pieces(vocabulary: &Vocabulary, texts: &[&SaidText<'_, '_>]) -> Option<u32> {
    let goods = |text: &SaidText<'_, '_>| -> Vec<Range<usize>> {
        let named = text.spans.iter().filter(|span| matches!(span.said, Said::ProductType(..)));
        let loosely = loose_names(vocabulary, &text.text).into_iter().map(|(_, place)| place);
        named.map(|span| span.words.clone()).chain(loosely).collect()
    };
    // A number that a text begins with, right before a good; and behind one '×5'.
    let counted = |text: &SaidText<'_, '_>| {
        let key = |word: usize| text.text.key(word);
        let count = || number(key(0)).filter(|_| !text.text.joint(1).parts());
        let is_several = |good: &Range<usize>| ["s", "en"].iter().any(|end| key(good.end - 1).ends_with(end));
        let last = text.text.words().len().saturating_sub(1);
        if count().is_none() && !key(last).starts_with('x') {
            return None;
        }
        let goods = goods(text);
        let before = count()
            .filter(|count| goods.iter().any(|good| good.start == 1 && (*count == 1 || is_several(good))));
        let behind = || {
            let is_behind = goods.iter().any(|good| good.end == last);
            key(last).strip_prefix('x').filter(|_| is_behind).and_then(|count| count.parse().ok())
        };
        before.or_else(behind)
    };
    several_pieces(texts).or_else(|| texts.iter().find_map(|text| counted(text))).or_else(|| {
        let mut words =
            texts.iter().flat_map(|text| (0..text.text.words().len()).map(|word| text.text.key(word)));
        words.any(|word| ONE.contains(&word)).then_some(1)
    })
}

/// A number of pieces, in digits or as a word of English, German, French or Spanish.
fn number(word: &str) -> Option<u32> {
    const WORDS: [(&str, u32); 33] = [
        ("one", 1),
        ("two", 2),
        ("three", 3),
        ("four", 4),
        ("five", 5),
        ("six", 6),
        ("eight", 8),
        ("ten", 10),
        ("twelve", 12),
        ("ein", 1),
        ("eine", 1),
        ("zwei", 2),
        ("drei", 3),
        ("vier", 4),
        ("funf", 5),
        ("sechs", 6),
        ("acht", 8),
        ("zehn", 10),
        ("zwolf", 12),
        ("une", 1),
        ("deux", 2),
        ("trois", 3),
        ("quatre", 4),
        ("cinq", 5),
        ("dix", 10),
        ("douze", 12),
        ("una", 1),
        ("dos", 2),
        ("tres", 3),
        ("cuatro", 4),
        ("cinco", 5),
        ("diez", 10),
        ("doce", 12),
    ];
    let in_words = || WORDS.iter().find(|(there, _)| *there == word).map(|(_, number)| *number);
    word.parse().ok().filter(|_| word.len() <= 3).or_else(in_words)
}

/// Whether a word is a number of pieces in words.
pub(crate) fn is_number_word(word: &str) -> bool {
    number(word).is_some_and(|number| number > 0) && !word.contains(|sign: char| sign.is_ascii_digit())
}

/// How many pieces texts say in words for that.
fn several_pieces(texts: &[&SaidText<'_, '_>]) -> Option<u32> {
    /// Words for several pieces, before 'of' or behind their number. Common practice, no published source.
    const SEVERAL: [&str; 19] = [
        "set", "sets", "pack", "packs", "pk", "box", "bundle", "lot", "pcs", "pieces", "piece", "stuck",
        "er", "piezas", "juego", "paquete", "unidades", "jeu", "paquet",
    ];
    texts.iter().find_map(|text| {
        let text = &text.text;
        let key = |word: usize| text.key(word);
        (0..text.words().len()).find_map(|word| {
            let number = |word: usize| number(key(word));
            let is_several = |word: usize| SEVERAL.contains(&key(word));
            if is_several(word) && matches!(key(word + 1), "of" | "de" | "von" | "mit") {
                return number(word + 2);
            }
            if let Some(count) = number(word).filter(|_| is_several(word + 1)) {
                return Some(count);
            }
            let glued = key(word).strip_suffix("er").or_else(|| key(word).strip_suffix("pk"));
            let glued = glued.or_else(|| key(word).strip_suffix("pack")).and_then(|count| count.parse().ok());
            glued.or_else(|| matches!(key(word), "pair" | "paar" | "paire" | "duo").then_some(2))
        })
    })
}

/// The words right before and behind some others, where nothing parts them.
fn beside<'t>(text: &'t Text<'_>, words: &Range<usize>) -> [Option<&'t str>; 2] {
    let before = words.start.checked_sub(1).filter(|_| !text.joint(words.start).parts());
    let behind = Some(words.end).filter(|end| *end < text.words().len() && !text.joint(*end).parts());
    [before, behind].map(|word| word.map(|word| text.key(word)))
}

/// The runs of letters and of digits of a word.
fn runs(word: &str) -> impl Iterator<Item = &str> {
    word.as_bytes()
        .chunk_by(|one, next| one.is_ascii_digit() == next.is_ascii_digit())
        .scan(0, |from, run| {
            let place = *from..*from + run.len();
            *from = place.end;
            Some(place)
        })
        .filter_map(|place| word.get(place))
}

/// The runs of digits of a word.
fn digits(word: &str) -> impl Iterator<Item = String> {
    let runs = word.split(|letter: char| !(letter.is_ascii_digit() || matches!(letter, '.' | ',')));
    runs.filter(|run| run.contains(|letter: char| letter.is_ascii_digit())).map(|run| run.replace(',', "."))
}
