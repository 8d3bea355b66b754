//! Close readings: besides what a row says, each of its words and the part that it plays.
//!
//! Owns the words by which rows are compared when it is known what they can mean, so also those that are too
//! doubtful for a reading by themselves. Must not know what they are compared with. Start reading at
//! [`read_closely`].

use std::ops::Range;

use model::{Options, Reading};

use crate::read::{SaidText, Stated, Weighed, values};
use crate::spans::{Said, Sort, Source, WORDS_AT_MOST, spans};
use crate::text::{Joint, Text};
use crate::vocabulary::{NameSays, Naming, Vocabulary};
use model::text::fold;

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
    /// It is the colour of a part: of a handle, of a rim.
    Piece,
    /// It describes, and tells no two variants apart by itself.
    Describing,
    /// It is about what is printed on the good, or comes with it.
    Design,
}

/// A word of a row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct PartWord {
    /// As words are compared: a colour's and a shade's as the vocabulary writes it, others folded, without accents.
    pub(crate) key: String,
    pub(crate) part: Part,
    /// Which text of the row it stands in: for an offer the option by folded name; for a variant 0 is the
    /// product's name, and the options follow.
    pub(crate) text: usize,
    /// The places in the text of the phrase that it belongs to.
    pub(crate) from: usize,
    /// One behind the last.
    pub(crate) to: usize,
    /// Whether a sign parts it from what stands before.
    pub(crate) parted: bool,
}

/// What a row says, and in which words.
#[derive(Clone, Debug)]
pub(crate) struct CloseReading {
    pub(crate) reading: Reading,
    pub(crate) words: Vec<PartWord>,
    /// All sizes that are said, doubtful or not, in their order.
    pub(crate) sizes: Vec<String>,
    /// The numbers in the texts, in their order, as they are written.
    pub(crate) numbers: Vec<String>,
    /// How many pieces are said, where that is said.
    pub(crate) pieces: Option<u32>,
    /// The words of the title.
    pub(crate) title: Vec<String>,
    /// Those of its parts that name no good that is known.
    pub(crate) titled: Vec<String>,
    /// The words of the options' names, but for those about the design.
    pub(crate) names: Vec<String>,
    pub(crate) kind_from: KindFrom,
    /// Whether a value names it loosely alone.
    pub(crate) is_loose: bool,
    /// The type that the title names surely.
    pub(crate) titled_kind: Option<String>,
    /// Words that nobody knows right before a loose name.
    pub(crate) beside_loose: Vec<String>,
}

/// Where the product type was read.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(crate) enum KindFrom {
    Value,
    Name,
    Title,
}

/// Reads the options of an order line or an offer closely. The product type, where no value names one surely, is
/// read from loose names in the values, then from the names of the options, then from the title.
pub(crate) fn read_closely(vocabulary: &Vocabulary, options: &Options, title: Option<&str>) -> CloseReading {
    let options: Vec<CloseOption<'_, '_>> =
        values(Some(options)).map(|option| CloseOption::of(vocabulary, option)).collect();
    let texts: Vec<&SaidText<'_, '_>> = options.iter().map(|option| &option.value).collect();
    let mut loose = Vec::new();
    let mut kind_from = KindFrom::Value;
    let mut is_loose = false;
    let weighed = Weighed::of(vocabulary, &texts, || {
        loose = options.iter().map(|option| option.loosely(vocabulary)).collect();
        let names = || options.iter().filter(|option| !option.is_design).map(|option| &option.name);
        let title = Text::of(fold(title.unwrap_or_default()));
        let tries: [(KindFrom, &dyn Fn() -> Option<usize>); 5] = [
            (KindFrom::Value, &|| most_turned(vocabulary, loose.iter().flatten().map(|(index, _)| *index))),
            (KindFrom::Name, &|| one(names().flat_map(|name| surely_named(vocabulary, name)))),
            (KindFrom::Title, &|| one(surely_named(vocabulary, &title))),
            (KindFrom::Name, &|| one(names().flat_map(|name| loosely_named(vocabulary, name)))),
            (KindFrom::Title, &|| one(loosely_named(vocabulary, &title))),
        ];
        let mut found = tries.iter().find_map(|(from, read)| Some((*from, read()?)));
        // A 'mug colour' in the listing of a camp mug is the camp mug's, and a 'cushion' that of a cushion cover.
        if let Some((KindFrom::Name, named)) = found
            && let Some(titled) = one(surely_named(vocabulary, &title))
            && (vocabulary.product_types.get(titled).is_some_and(|kind| kind.turns.contains(&named))
                || names().any(|name| is_longer_name(vocabulary, &title, name)))
        {
            found = Some((KindFrom::Title, titled));
        }
        is_loose = matches!(found, Some((KindFrom::Value, _)));
        kind_from = found.map_or(KindFrom::Value, |(from, _)| from);
        found.map_or(Stated::Nothing, |(_, index)| Stated::One(index))
    });
    if loose.is_empty() {
        loose = options.iter().map(|option| option.loosely(vocabulary)).collect();
    }
    let mut kind = weighed.product_type.map(|kind| kind.name.as_str());
    // A 'hoodie (zip)': a loose name that turns the good that is named.
    let turned = loose.iter().flatten().find_map(|(index, _)| {
        let to = vocabulary.product_types.get(*index)?;
        let is_from =
            |from: &usize| vocabulary.product_types.get(*from).map(|from| from.name.as_str()) == kind;
        to.turns.iter().any(is_from).then_some(to.name.as_str())
    });
    kind = turned.or(kind);
    let mut close = close(vocabulary, &texts, &weighed, true);
    // What an option for sizes says beats what else is written: 'small ones' in '3-4 years'.
    let of_sizes: Vec<&SaidText<'_, '_>> =
        options.iter().filter(|option| option.is_size).map(|option| &option.value).collect();
    let named = sizes_of(&of_sizes);
    if close.reading.size.is_none() && close.sizes.len() > named.len() && !named.is_empty() {
        close.reading.size = if let [only] = named.as_slice() { Some(only.clone()) } else { None };
        close.sizes = named;
    }
    close.kind_from = kind_from;
    if options.iter().any(|option| option.has_other_size(vocabulary)) {
        close.reading.size = None;
        close.sizes = Vec::new();
    }
    close.reading.product_type = kind.map(str::to_owned);
    let words = |text: &Text<'_>| -> Vec<String> {
        (0..text.words().len()).map(|word| vocabulary.same(text.key(word)).to_owned()).collect()
    };
    for (text, found) in loose.iter().enumerate() {
        let is_kind =
            |index: usize| vocabulary.product_types.get(index).map(|kind| kind.name.as_str()) == kind;
        for (_, place) in found.iter().filter(|(index, _)| is_kind(*index)) {
            let words = close.words.iter_mut().filter(|word| word.text == text);
            let words = words.filter(|word| place.contains(&word.from) && word.part == Part::Unknown);
            words.for_each(|word| word.part = Part::Good);
        }
    }
    let title = Text::of(fold(title.unwrap_or_default()));
    close.title = words(&title);
    close.titled = other_parts(vocabulary, &title);
    let name = |index: usize| vocabulary.product_types.get(index).map(|kind| kind.name.clone());
    close.titled_kind = one(surely_named(vocabulary, &title)).and_then(name);
    let named =
        options.iter().flat_map(|option| &option.value.spans).filter(|span| weighed.is_read(&span.said));
    let namings: Vec<Naming> = named
        .filter_map(|span| if let Said::ProductType(_, naming) = span.said { Some(naming) } else { None })
        .collect();
    let is_alone = !namings.is_empty() && namings.iter().all(|naming| *naming == Naming::Alone);
    close.is_loose = is_loose || is_alone;
    for (text, (found, option)) in loose.iter().zip(&options).enumerate() {
        let is_general = |place: &Range<usize>| {
            place.len() == 1 && vocabulary.general_goods.contains(option.value.text.key(place.start))
        };
        for (_, place) in found.iter().filter(|(_, place)| is_general(place)) {
            let before = beside(&option.value.text, place)[0];
            let is_open =
                |word: &&PartWord| word.text == text && word.to == place.start && word.part == Part::Unknown;
            let unknown = before.and_then(|_| close.words.iter().find(is_open));
            close.beside_loose.extend(unknown.map(|word| word.key.clone()));
        }
    }
    for (text, option) in options.iter().enumerate() {
        if option.is_design {
            let words = close.words.iter_mut().filter(|word| word.text == text);
            words.for_each(|word| word.part = Part::Design);
        } else {
            if option.is_material {
                let words =
                    close.words.iter_mut().filter(|word| word.text == text && word.part == Part::Unknown);
                words.for_each(|word| word.part = Part::Describing);
            }
            let names = words(&option.name);
            let is_of_part = names.iter().any(|name| vocabulary.parts.contains(name)) && option.is_colour;
            let colours =
                close.words.iter_mut().filter(|word| word.text == text && word.part == Part::Colour);
            colours.filter(|_| is_of_part).for_each(|word| word.part = Part::Piece);
            close.names.extend(names);
        }
    }
    close
}

/// An option: its name, and what its value says.
struct CloseOption<'t, 'v> {
    name: Text<'t>,
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
        let name = Text::of(name);
        // A 'gift' is most often the good itself; wrapping and the like are not.
        let is_gift = name.words().len() == 1 && name.key(0) == "gift";
        // 'Shirt + ink' is about both.
        let names_good =
            !surely_named(vocabulary, &name).is_empty() || !loosely_named(vocabulary, &name).is_empty();
        let is_gift = is_gift || says.design && names_good;
        let is_print = name.words().len() == 1 && vocabulary.prints.contains(name.key(0));
        if is_gift || !(says.design || is_print) {
            let value =
                SaidText::of(vocabulary, Text::of(value), Source::Value(NameSays { design: false, ..says }));
            let is_colour = is_colour(&value);
            return Self {
                name,
                value,
                is_size: says.size,
                is_material: says.material,
                is_colour,
                is_design: false,
            };
        }
        // A 'gift' may be a hoodie.
        let plain = SaidText::of(vocabulary, Text::of(value), Source::Value(NameSays::default()));
        let is_good = |said: &Said<'_>| matches!(said, Said::ProductType(_, Naming::Surely));
        if says.design && plain.spans.iter().any(|span| is_good(&span.said)) {
            return Self {
                name,
                value: plain,
                is_size: false,
                is_material: false,
                is_colour: false,
                is_design: false,
            };
        }
        let value = SaidText { text: plain.text, spans: Vec::new() };
        Self { name, value, is_size: false, is_material: false, is_colour: false, is_design: true }
    }

    /// Whether a word before a size makes it another one.
    fn has_other_size(&self, vocabulary: &Vocabulary) -> bool {
        let text = &self.value.text;
        let sizes =
            self.value.spans.iter().filter(|span| matches!(span.said, Said::Size(_, Sort::Letter { .. })));
        let mut before = sizes.filter_map(|span| beside(text, &span.words)[0]);
        before.any(|word| vocabulary.before_sizes.contains(word))
    }

    /// The loose names in the value, with the option's name behind it, and their places in the value.
    fn loosely(&self, vocabulary: &Vocabulary) -> Vec<(usize, Range<usize>)> {
        let says = vocabulary.name_says(self.name.folded());
        if self.is_design || says.material || says.colour && !says.good && !says.size {
            return Vec::new();
        }
        let value = &self.value.text;
        let with_name = Text::of(format!("{} {}", value.folded(), self.name.folded()));
        let found = loose_names(vocabulary, &with_name);
        // The bottle of 'bottle green' is none.
        let colours = self.value.spans.iter().filter(|span| matches!(span.said, Said::Colour { .. }));
        let colours: Vec<&Range<usize>> = colours.map(|span| &span.words).collect();
        // 'Framing: gold' is framed.
        let turns =
            |index: usize| vocabulary.product_types.get(index).is_some_and(|kind| !kind.turns.is_empty());
        let is_good = |index: usize, place: &Range<usize>| {
            (place.start < value.words().len() || self.is_colour && turns(index))
                && !colours.iter().any(|colour| colour.contains(&place.start))
        };
        found.into_iter().filter(|(index, place)| is_good(*index, place)).collect()
    }
}

fn is_colour(value: &SaidText<'_, '_>) -> bool {
    !value.spans.is_empty() && value.spans.iter().all(|span| matches!(span.said, Said::Colour { .. }))
}

/// The product types that a text names surely.
fn surely_named(vocabulary: &Vocabulary, text: &Text<'_>) -> Vec<usize> {
    let spans = spans(vocabulary, text, Source::Title);
    let named = spans.iter().filter_map(|span| match span.said {
        Said::ProductType(index, Naming::Surely | Naming::GivesWay) => Some(index),
        _ => None,
    });
    named.collect()
}

/// The words of those parts of a title that name no good: of 'polo shirt and nightshirt' the nightshirt.
fn other_parts(vocabulary: &Vocabulary, title: &Text<'_>) -> Vec<String> {
    /// What parts two goods in a title, beside the signs for it.
    const AND: [&str; 6] = ["and", "or", "und", "oder", "et", "y"];
    let goods = spans(vocabulary, title, Source::Title);
    let goods = goods.iter().filter(|span| matches!(span.said, Said::ProductType(..)));
    let goods = goods.map(|span| span.words.start);
    let goods: Vec<usize> =
        goods.chain(loose_names(vocabulary, title).into_iter().map(|(_, place)| place.start)).collect();
    let count = title.words().len();
    let starts_part = |word: usize| {
        let joint = title.joint(word);
        joint.parts() || joint == Joint::And || AND.contains(&title.key(word))
    };
    let mut words = Vec::new();
    let mut from = 0;
    while from < count {
        let to = (from + 1..count).find(|word| starts_part(*word)).unwrap_or(count);
        if !goods.iter().any(|good| (from..to).contains(good)) {
            words.extend((from..to).map(|word| vocabulary.same(title.key(word)).to_owned()));
        }
        from = to;
    }
    words
}

/// Whether the phrase by which a title names its good holds the one by which another text does.
fn is_longer_name(vocabulary: &Vocabulary, title: &Text<'_>, other: &Text<'_>) -> bool {
    let phrases = |text: &Text<'_>| -> Vec<Vec<String>> {
        let spans = spans(vocabulary, text, Source::Title);
        let goods = spans.iter().filter(|span| matches!(span.said, Said::ProductType(_, Naming::Surely)));
        goods.map(|span| span.words.clone().map(|word| text.key(word).to_owned()).collect()).collect()
    };
    let (long, short) = (phrases(title), phrases(other));
    let holds = |long: &Vec<String>, short: &Vec<String>| {
        long.len() > short.len() && long.windows(short.len()).any(|part| part == short.as_slice())
    };
    short.iter().all(|short| long.iter().any(|long| holds(long, short))) && !short.is_empty()
}

fn loosely_named(vocabulary: &Vocabulary, text: &Text<'_>) -> Vec<usize> {
    loose_names(vocabulary, text).into_iter().map(|(index, _)| index).collect()
}

/// The loose names of product types in a text, and their places.
fn loose_names(vocabulary: &Vocabulary, text: &Text<'_>) -> Vec<(usize, Range<usize>)> {
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
    let is_turned = |from: &usize| {
        all.iter().any(|to| vocabulary.product_types.get(*to).is_some_and(|kind| kind.turns.contains(from)))
    };
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
        names: Vec::new(),
        pieces: pieces(texts),
        is_loose: false,
        titled_kind: None,
        beside_loose: Vec::new(),
        title: Vec::new(),
        titled: Vec::new(),
        kind_from: KindFrom::Value,
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
    words: &mut Vec<PartWord>,
) {
    let mut push = |key: &str, part, place: Range<usize>| {
        if !key.is_empty() {
            let (from, to) = (place.start, place.end);
            let parted = text.text.joint(from).parts();
            words.push(PartWord { key: key.to_owned(), part, text: index, from, to, parted });
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
                let part = match beside {
                    _ if is_of_print(vocabulary, &text.text, &span.words) => Part::Design,
                    beside
                        if is_offer
                            && beside.iter().flatten().any(|word| vocabulary.parts.contains(*word)) =>
                    {
                        Part::Piece
                    }
                    _ => Part::Colour,
                };
                name.split(' ').for_each(|word| push(word, part, place()));
            }
            Said::ProductType(..) if weighed.is_read(&span.said) => all(Part::Good),
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
            Said::Describing => {
                for word in place() {
                    push(vocabulary.same(text.text.key(word)), Part::Describing, word..word + 1);
                }
            }
            Said::AgeGroup { .. } => {
                for word in place() {
                    push(vocabulary.same(text.text.key(word)), Part::Unknown, word..word + 1);
                }
            }
            Said::ProductType(..) => all(Part::Unknown),
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

/// How many pieces texts say: 'set of 4', '3 pack', '4er Set', 'pair'.
fn pieces(texts: &[&SaidText<'_, '_>]) -> Option<u32> {
    /// Words for several pieces, before 'of' or behind their number. Common practice, no published source.
    const SEVERAL: [&str; 15] = [
        "set", "sets", "pack", "packs", "pk", "box", "bundle", "lot", "pcs", "pieces", "piece", "stuck",
        "er", "pieces", "piezas",
    ];
    texts.iter().find_map(|text| {
        let text = &text.text;
        let key = |word: usize| text.key(word);
        (0..text.words().len()).find_map(|word| {
            let number = |word: usize| key(word).parse::<u32>().ok();
            let is_several = |word: usize| SEVERAL.contains(&key(word));
            if is_several(word) && matches!(key(word + 1), "of" | "de") {
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

/// Whether a colour is that of what is printed: 'gold ink'.
fn is_of_print(vocabulary: &Vocabulary, text: &Text<'_>, words: &Range<usize>) -> bool {
    words.end < text.words().len()
        && !text.joint(words.end).parts()
        && vocabulary.is_of_design(text.key(words.end))
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
