//! Readings: what all texts of one row say together.
//!
//! Owns how several texts are weighed against each other, and what is left over. Must not know how a single text
//! is read, nor what a reading is used for. Start reading at [`read_options`].

use std::collections::HashMap;
use std::hash::Hash;
use std::rc::Rc;

use foldhash::fast::RandomState;
use model::reading::Readings;
use model::text::fold;
use model::{Book, Options, Reading};

use crate::spans::{Said, Sort, Source, Span, spans};
use crate::text::Text;
use crate::vocabulary::{Naming, ProductType, Vocabulary};

/// Reads an order line or an offer.
///
/// Product type, age group, size and colour are read from the options' values, the product type, where the values
/// state none, from the title if that names exactly one. Several different values of one kind are read as none.
/// The words that were not read are left over, in their order; a title's words never are. A word that says more
/// than its kind can hold ('women' is an adult, and more) is read and left over. The names of options and the
/// order of the values play no part, but for names that say size, material or design. Never fails.
///
/// Sizes are written `L`, `S/M`, `3T`, `6-12M`, `7-8Y`, `11 oz`, `12x18 in`, `A4`, `42`. Nothing is converted: what
/// is written in two measures, such as ounces and millilitres, has two sizes, so none; measurements without a unit
/// are left over.
///
/// ```
/// use model::Options;
/// let vocabulary = links::Vocabulary::built_in();
/// let options = Options::from_pairs([("Choose", "Low mug 11 oz")]).ok();
/// let reading = links::read_options(&vocabulary, options.as_ref(), None);
/// assert_eq!(reading.product_type.as_deref(), Some("mug"));
/// assert_eq!(reading.size.as_deref(), Some("11 oz"));
/// assert_eq!(reading.left_over, ["low"]);
/// ```
pub fn read_options(vocabulary: &Vocabulary, options: Option<&Options>, title: Option<&str>) -> Reading {
    let texts: Vec<SaidText<'_, '_>> =
        values(options).map(|value| SaidText::of_value(vocabulary, value)).collect();
    read(vocabulary, &texts.iter().collect::<Vec<_>>(), || title_names(vocabulary, title))
}

/// Reads a supplier's variant, from its product and the options' values alike.
///
/// As [`read_options`]; in the product's name a single letter is a size only where it stands by itself.
pub fn read_variant(vocabulary: &Vocabulary, product: Option<&str>, options: Option<&Options>) -> Reading {
    let product = product.map(|product| SaidText::of(vocabulary, Text::of(fold(product)), Source::Product));
    let values = values(options).map(|value| SaidText::of_value(vocabulary, value));
    let texts: Vec<SaidText<'_, '_>> = product.into_iter().chain(values).collect();
    read(vocabulary, &texts.iter().collect::<Vec<_>>(), || Stated::Nothing)
}

/// Reads every row of a book that has option text. Each list is in the order of its table, and empty for a table
/// that was not given.
pub fn read_book(book: &Book, vocabulary: &Vocabulary) -> Readings {
    let mut memory = Memory::of(vocabulary);
    let variants = book.variants.iter().flatten();
    let variants = variants
        .map(|variant| read_variant(vocabulary, variant.product.as_deref(), variant.options.as_ref()));
    let mut read_bought = |options, title| memory.read_options(options, title);
    let order_lines = book.order_lines.iter();
    let offers = book.offers.iter().flatten();
    Readings {
        order_lines: order_lines
            .map(|line| read_bought(line.options.as_ref(), line.title.as_deref()))
            .collect(),
        offers: offers.map(|offer| read_bought(Some(&offer.options), offer.title.as_deref())).collect(),
        variants: variants.collect(),
        links: None,
    }
}

/// Most distinct rows, values and titles that are remembered while a book is read. What customers type freely is
/// distinct in every line, and is not worth the memory.
const REMEMBERED_AT_MOST: usize = 50_000;

/// What was read so far of a book, so that each distinct text is read once.
struct Memory<'t, 'v> {
    vocabulary: &'v Vocabulary,
    rows: HashMap<(Option<&'t Options>, Option<&'t str>), Reading, RandomState>,
    values: HashMap<(&'t str, &'t str), Rc<SaidText<'t, 'v>>, RandomState>,
    titles: HashMap<Option<&'t str>, Stated<usize>, RandomState>,
}

impl<'t, 'v> Memory<'t, 'v> {
    fn of(vocabulary: &'v Vocabulary) -> Self {
        Self { vocabulary, rows: HashMap::default(), values: HashMap::default(), titles: HashMap::default() }
    }

    /// As the function [`read_options`].
    fn read_options(&mut self, options: Option<&'t Options>, title: Option<&'t str>) -> Reading {
        let Self { vocabulary, rows, values: by_value, titles } = self;
        remembered(rows, (options, title), || {
            let texts = values(options);
            let texts: Vec<Rc<SaidText<'t, 'v>>> = texts
                .map(|value| remembered(by_value, value, || Rc::new(SaidText::of_value(vocabulary, value))))
                .collect();
            let texts: Vec<&SaidText<'t, 'v>> = texts.iter().map(Rc::as_ref).collect();
            read(vocabulary, &texts, || remembered(titles, title, || title_names(vocabulary, title)))
        })
    }
}

/// What was made of a key, remembered as far as there is room.
pub(crate) fn remembered<K: Eq + Hash, V: Clone>(
    memory: &mut HashMap<K, V, RandomState>,
    key: K,
    make: impl FnOnce() -> V,
) -> V {
    if let Some(there) = memory.get(&key) {
        return there.clone();
    }
    let made = make();
    if memory.len() < REMEMBERED_AT_MOST {
        memory.insert(key, made.clone());
    }
    made
}

/// The folded names and values of options.
pub(crate) fn values(options: Option<&Options>) -> impl Iterator<Item = (&str, &str)> {
    options.into_iter().flat_map(Options::folded)
}

/// One text of a row, and what it says by itself.
pub(crate) struct SaidText<'t, 'v> {
    pub(crate) text: Text<'t>,
    pub(crate) spans: Vec<Span<'v>>,
}

impl<'t, 'v> SaidText<'t, 'v> {
    pub(crate) fn of(vocabulary: &'v Vocabulary, text: Text<'t>, source: Source) -> Self {
        let spans = match source {
            Source::Value(name) if name.design => Vec::new(),
            source => spans(vocabulary, &text, source),
        };
        Self { text, spans }
    }

    pub(crate) fn of_value(vocabulary: &'v Vocabulary, (name, value): (&str, &'t str)) -> Self {
        Self::of(vocabulary, Text::of(value), Source::Value(vocabulary.name_says(name)))
    }

    /// The words that were not read, or that say more than what was read of them.
    fn left_over(&self, is_read: impl Fn(&Said<'_>) -> bool) -> Vec<String> {
        // Labels alone are no labels: 'A' tells itself from 'B'.
        let says_nothing = self.spans.iter().all(|span| matches!(span.said, Said::Label(_)));
        let mut is_left_over = vec![says_nothing; self.text.words().len()];
        for span in &self.spans {
            let says_more = matches!(span.said, Said::AgeGroup { says_more: true, .. });
            if span.is_doubtful || says_more || !is_read(&span.said) {
                is_left_over[span.words.clone()].fill(true);
            }
        }
        // A qualifier can turn several goods; it is read where it turned one of them.
        let is_qualifier = |span: &&Span<'_>| matches!(span.said, Said::ProductType(_, Naming::Qualifier));
        for span in self.spans.iter().filter(is_qualifier).filter(|span| is_read(&span.said)) {
            is_left_over[span.words.clone()].fill(false);
        }
        let words = (0..self.text.words().len()).filter(|index| is_left_over[*index]);
        words.map(|index| self.text.folded_word(index).to_owned()).collect()
    }
}

/// Weighs the texts of a row against each other. The title is asked only where they state no product type.
fn read(
    vocabulary: &Vocabulary,
    texts: &[&SaidText<'_, '_>],
    title_names: impl FnOnce() -> Stated<usize>,
) -> Reading {
    Weighed::of(vocabulary, texts, title_names).reading(texts)
}

/// What the texts of a row say together, kind by kind.
pub(crate) struct Weighed<'a> {
    goods: Goods,
    product_type: Option<&'a ProductType>,
    age_group: Option<&'a str>,
    size: Option<&'a str>,
    colour: Option<&'a str>,
    holds_liquid: bool,
}

impl<'a> Weighed<'a> {
    pub(crate) fn of(
        vocabulary: &'a Vocabulary,
        texts: &'a [&'a SaidText<'a, 'a>],
        title_names: impl FnOnce() -> Stated<usize>,
    ) -> Self {
        let sayings = Sayings { vocabulary, texts };
        let goods = sayings.product_type(title_names);
        let product_type = goods.read().and_then(|index| vocabulary.product_types.get(index));
        let holds_liquid = product_type.is_none_or(|product_type| product_type.holds_liquid);
        let age_group = match only(sayings.age_groups()) {
            Stated::Nothing => product_type.and_then(|product_type| product_type.age_group.as_deref()),
            stated => stated.read(),
        };
        Self {
            goods,
            product_type,
            age_group,
            size: only(sayings.sizes(holds_liquid)).read(),
            colour: only(sayings.colours()).read(),
            holds_liquid,
        }
    }

    /// The product type, by its place in the vocabulary.
    pub(crate) fn kind(&self) -> Option<usize> {
        self.goods.read()
    }

    pub(crate) fn is_read(&self, said: &Said<'_>) -> bool {
        match said {
            Said::ProductType(index, naming) => self.goods.is_read(*index, *naming),
            Said::AgeGroup { name, .. } => self.age_group == Some(*name),
            Said::Size(_, Sort::Volume) if !self.holds_liquid => false,
            Said::Size(name, _) => self.size == Some(name.as_ref()),
            Said::Colour { name, .. } => self.colour == Some(name.as_ref()),
            Said::Label(_) => true,
            Said::Describing | Said::Unknown => false,
        }
    }

    pub(crate) fn reading(&self, texts: &[&SaidText<'_, '_>]) -> Reading {
        let owned = |value: Option<&str>| value.map(str::to_owned);
        Reading {
            product_type: self.product_type.map(|product_type| product_type.name.clone()),
            age_group: owned(self.age_group),
            size: owned(self.size),
            colour: owned(self.colour),
            left_over: texts.iter().flat_map(|text| text.left_over(|said| self.is_read(said))).collect(),
        }
    }
}

/// The one product type that a title names. A word in it that would turn this type into another leaves it open.
fn title_names(vocabulary: &Vocabulary, title: Option<&str>) -> Stated<usize> {
    let Some(title) = title else { return Stated::Nothing };
    let text = Text::of(fold(title));
    let spans = spans(vocabulary, &text, Source::Title);
    let said: Vec<(usize, Naming)> =
        named(spans.iter().map(|span| &span.said)).filter(|(_, naming)| *naming != Naming::Alone).collect();
    let stated = only(ranked(&said));
    match stated.read().map(|from| turns(vocabulary, &said, from).next()) {
        Some(Some(_)) => Stated::Nothing,
        _ => stated,
    }
}

/// What all texts together state of one kind.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Stated<T> {
    Nothing,
    One(T),
    /// Different values: read as none.
    Several,
}

impl<T: Copy> Stated<T> {
    fn read(&self) -> Option<T> {
        match self {
            Self::One(value) => Some(*value),
            Self::Nothing | Self::Several => None,
        }
    }
}

/// What is stated by values of which the lower ranks give way to the first that is there.
fn only<T: PartialEq>(values: impl Iterator<Item = (u8, T)>) -> Stated<T> {
    let mut stated = Stated::Nothing;
    let mut lowest = u8::MAX;
    for (rank, value) in values {
        if rank < lowest {
            (lowest, stated) = (rank, Stated::Nothing);
        }
        if rank == lowest {
            stated = match stated {
                Stated::Nothing => Stated::One(value),
                Stated::One(there) if there == value => Stated::One(there),
                Stated::One(_) | Stated::Several => Stated::Several,
            };
        }
    }
    stated
}

/// What the texts of a row say, as far as it may be read.
struct Sayings<'a, 'v> {
    vocabulary: &'v Vocabulary,
    texts: &'a [&'a SaidText<'a, 'v>],
}

impl<'a, 'v> Sayings<'a, 'v> {
    fn all(&self) -> impl Iterator<Item = &'a Said<'v>> + use<'a, 'v> {
        let spans = self.texts.iter().flat_map(|text| &text.spans);
        spans.filter(|span| !span.is_doubtful).map(|span| &span.said)
    }

    fn age_groups(&self) -> impl Iterator<Item = (u8, &'a str)> {
        self.all().filter_map(|said| match said {
            Said::AgeGroup { name, gives_way, .. } => Some((u8::from(*gives_way), *name)),
            _ => None,
        })
    }

    fn colours(&self) -> impl Iterator<Item = (u8, &'a str)> {
        self.all().filter_map(|said| match said {
            Said::Colour { name, is_thing } => Some((u8::from(*is_thing), name.as_ref())),
            _ => None,
        })
    }

    fn sizes(&self, holds_liquid: bool) -> impl Iterator<Item = (u8, &'a str)> {
        self.all().filter_map(move |said| match said {
            Said::Size(_, Sort::Volume) if !holds_liquid => None,
            Said::Size(name, sort) => Some((u8::from(*sort == Sort::Number), name.as_ref())),
            _ => None,
        })
    }

    fn product_type(&self, title_names: impl FnOnce() -> Stated<usize>) -> Goods {
        let said: Vec<(usize, Naming)> = named(self.all()).collect();
        let mut stated = only(ranked(&said));
        if stated == Stated::Nothing {
            stated = title_names();
        }
        let mut goods = Goods { stated, turned_from: Vec::new() };
        // Each turn leads to another type; there are no more of them than types.
        for _ in 0..self.vocabulary.product_types.len() {
            let Some(from) = goods.read() else { break };
            match only(turns(self.vocabulary, &said, from).map(|to| (0, to))) {
                Stated::Nothing => break,
                turned => {
                    goods.turned_from.push(from);
                    goods.stated = turned;
                }
            }
        }
        goods
    }
}

/// The types that a type is turned into by what is said.
fn turns(vocabulary: &Vocabulary, said: &[(usize, Naming)], from: usize) -> impl Iterator<Item = usize> {
    let turning = said.iter().filter(|(_, naming)| matches!(naming, Naming::GivesWay | Naming::Qualifier));
    turning.map(|(to, _)| *to).filter(move |to| vocabulary.product_types[*to].turns.contains(&from))
}

fn named<'s, 'v: 's>(said: impl Iterator<Item = &'s Said<'v>>) -> impl Iterator<Item = (usize, Naming)> {
    said.filter_map(|said| match said {
        Said::ProductType(index, naming) => Some((*index, *naming)),
        _ => None,
    })
}

fn ranked(said: &[(usize, Naming)]) -> impl Iterator<Item = (u8, usize)> {
    said.iter().filter_map(|(index, naming)| {
        let rank = match naming {
            Naming::Surely => 0,
            Naming::GivesWay => 1,
            Naming::Alone => 2,
            Naming::Qualifier => return None,
        };
        Some((rank, *index))
    })
}

/// The product type, and those that a qualifier turned into it.
struct Goods {
    stated: Stated<usize>,
    turned_from: Vec<usize>,
}

impl Goods {
    fn read(&self) -> Option<usize> {
        self.stated.read()
    }

    /// Whether a phrase had its part in what was read.
    fn is_read(&self, index: usize, naming: Naming) -> bool {
        let Some(read) = self.read() else { return false };
        if naming == Naming::Qualifier && self.turned_from.is_empty() {
            return false;
        }
        index == read || self.turned_from.contains(&index)
    }
}
