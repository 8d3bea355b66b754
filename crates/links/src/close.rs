//! Close readings: besides what a row says, each of its words and the part that it plays.
//!
//! Owns the words by which rows are compared when it is known what they can mean, so also those that are too
//! doubtful for a reading by themselves. Must not know what they are compared with. Start reading at
//! [`read_closely`].

mod names;
mod option;
mod pieces;
mod title;

use std::ops::Range;

use model::text::fold;
use model::{Options, Reading};

use names::{LooseName, is_longer_name, loose_names, surely_named};
use option::CloseOption;
pub(crate) use pieces::is_number_word;
use pieces::{ONE, pieces};

use crate::read::{SaidText, Stated, Weighed, values};
use crate::spans::{Said, Sort, Source, WORDS_AT_MOST};
use crate::text::Text;
use crate::vocabulary::{Naming, Vocabulary};

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
    /// Whether the title does, and names neither.
    pub(crate) titled_for_all: bool,
    /// Whether the title says in several words which good it is: 'sudadera cuello redondo'.
    pub(crate) titles_fully: bool,
    /// How many pieces the title says, in words for that.
    pub(crate) titled_pieces: Option<u32>,
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
            titled_for_all: self.titled_for_all,
            titles_fully: self.titles_fully,
            titled_pieces: self.titled_pieces,
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
            titled_for_all: self.titled_for_all(),
            titles_fully: self.titles_fully(),
            titled_pieces: pieces::several_pieces(&[&self.title]),
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

    fn is_for_all(&self) -> bool {
        let mut values =
            self.options.iter().filter(|option| !option.is_design).map(|option| &option.value.text);
        values.any(|value| (0..value.words().len()).any(|word| value.key(word) == UNISEX))
    }
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
