//! What picked products come in: goods, with the sizes and the colours that a customer can choose, as the supplier
//! writes them.
//!
//! Reads products exactly as proposals do, so that what is offered is read again as what it was made of. Owns how a
//! size, a colour and a good are written. Must not know prices or offers. Start reading at [`Assortment::of`].

mod written;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use foldhash::fast::RandomState;
use model::book::Variant;
use model::text::fold;
use model::{Options, Reading, SupplierId};

use super::family::{Family, SizeKey};
use super::fit::{Fit, How, fit_size, fit_tail};
use super::row::{Row, RowWord};
use super::words::{Word, WordSet};
use super::{Run, Tables};
use crate::close::{Part, read_closely};
use crate::grid::from_small_to_large;
use crate::vocabulary::Vocabulary;
use written::{Said, Sought, Written};

/// A size or a colour that a good comes in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Choice {
    /// As a customer reads it: in the supplier's words.
    pub(crate) written: String,
    /// In the vocabulary's words, as far as it has some.
    pub(crate) read: String,
    /// Whether all that is written was read, so that what is read alike is the same.
    pub(crate) is_plain: bool,
}

/// A good of some picked products: variants of one type, from one supplier, called the same but for size and colour.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Article {
    /// What kind of good, in the vocabulary's word.
    pub(crate) product_type: Option<String>,
    /// What names the kind of good, in the supplier's words: the 'apron' of 'kitchen apron'.
    pub(crate) kind: Option<String>,
    /// The product's name up to where a size or a colour begins that there is to choose.
    pub(crate) start: Option<String>,
    /// The product's name without sizes and colours that there are to choose.
    pub(crate) name: String,
    /// From small to large; at least one, whose text is empty where none is said.
    pub(crate) sizes: Vec<Choice>,
    /// By name; at least one, whose text is empty where none is said.
    pub(crate) colours: Vec<Choice>,
    /// What the supplier calls that which is kept as the colour, where it is something else and called one thing.
    pub(crate) finish: Option<String>,
    /// By size, colour and variant.
    pub(crate) made: Vec<Made>,
    /// The families that it is of: of one product, one for each age group.
    parts: Vec<PartOf>,
}

/// Where the sizes and tails of a family stand in its article.
#[derive(Clone, PartialEq, Eq, Debug)]
struct PartOf {
    family: usize,
    sizes: Vec<usize>,
    tails: Vec<usize>,
}

/// A variant: places among its good's sizes and colours, and in the table of variants.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct Made {
    pub(crate) size: usize,
    pub(crate) colour: usize,
    pub(crate) variant: usize,
}

/// How a size or a colour that somebody asks for stands to a good's. Places are those of the good.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Asked {
    /// It is this one, to the word or in words of the same meaning.
    Is(usize),
    /// It is like this one alone.
    Like(usize),
    /// It may be any of these.
    MayBe(Vec<usize>),
    /// The good has none to choose.
    NoChoice,
    /// The good comes in others; the size as it was read, where it was.
    NotMade(Option<String>),
    /// It is a size of another sort than the good's: ounces, of an apron.
    OtherSort,
}

/// The goods of some products.
pub(crate) struct Assortment<'a> {
    run: Run<'a>,
    variants: &'a [Variant],
    families: Vec<Family>,
    pub(crate) articles: Vec<Article>,
}

/// A family's size or tail while its article is put together.
struct Draft {
    choice: Choice,
    /// What it is sorted by: for whom, then the size as read.
    age: usize,
    sort_text: String,
    /// The family, by its place in the article, and the place in that.
    of: Vec<(usize, usize)>,
}

/// Age groups from young to old.
const AGES: [&str; 4] = ["baby", "toddler", "youth", "adult"];

impl<'a> Assortment<'a> {
    /// The goods of those variants that are picked, by the place of their first variant.
    pub(crate) fn of(
        vocabulary: &'a Vocabulary,
        variants: &'a [Variant],
        is_picked: impl Fn(&Variant) -> bool,
    ) -> Self {
        let tables = Tables { offers: &[], variants, listing_products: &[], rules: &[], by_hand: &[] };
        let mut run = Run::of(vocabulary, &tables);
        let is_kept = |index: usize| is_picked(&variants[index]);
        let families: Vec<Family> = std::mem::take(&mut run.families)
            .into_iter()
            .filter(|family| family.variants.iter().any(|made| is_kept(made.index)))
            .map(|family| family.narrowed(is_kept, &run.rows, &run.hues).unwrap_or(family))
            .collect();
        let mut assortment = Self { run, variants, families, articles: Vec::new() };
        assortment.articles =
            assortment.by_product().iter().map(|places| assortment.article(places)).collect();
        assortment
    }

    /// The families, those of one product and type together: a product's sizes for grown-ups and for children.
    fn by_product(&self) -> Vec<Vec<usize>> {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let products = |place: usize| -> BTreeSet<(&SupplierId, Option<&str>)> {
            let made = self.families[place].variants.iter().map(|made| &self.variants[made.index]);
            made.map(|variant| (&variant.supplier, variant.product.as_deref())).collect()
        };
        for place in 0..self.families.len() {
            let is_same = |other: &usize| {
                self.families[*other].product_type == self.families[place].product_type
                    && !products(*other).is_disjoint(&products(place))
            };
            match groups.iter_mut().find(|group| group.iter().any(is_same)) {
                Some(group) => group.push(place),
                None => groups.push(vec![place]),
            }
        }
        groups
    }

    fn article(&self, places: &[usize]) -> Article {
        let families: Vec<&Family> = places.iter().map(|place| &self.families[*place]).collect();
        let same_sizes: Vec<Vec<usize>> = families.iter().map(|family| same_sizes(family)).collect();
        let all = || families.iter().flat_map(|family| &family.variants).map(|made| made.index);
        let first = all().min_by_key(|index| self.id(*index)).unwrap_or(families[0].first);
        let is_one_choice = is_one_choice(&families, &same_sizes);
        let roles = Roles { run: &self.run, families: &families, is_one_choice };
        let (sizes, colours) = (self.sizes(&roles, &same_sizes), self.colours(&roles));
        let places_in = |drafts: &[Draft]| -> HashMap<(usize, usize), usize, RandomState> {
            let drafts = drafts.iter().enumerate();
            drafts.flat_map(|(place, draft)| draft.of.iter().map(move |of| (*of, place))).collect()
        };
        let (size_places, colour_places) = (places_in(&sizes), places_in(&colours));
        let size_of = |of: (usize, usize)| size_places.get(&of).copied().unwrap_or(0);
        let colour_of = |of: (usize, usize)| colour_places.get(&of).copied().unwrap_or(0);
        let mut made: Vec<Made> = Vec::new();
        let mut parts: Vec<PartOf> = Vec::new();
        for (at, family) in families.iter().enumerate() {
            made.extend(family.variants.iter().map(|made| Made {
                size: size_of((at, made.size)),
                colour: colour_of((at, made.tail)),
                variant: made.index,
            }));
            parts.push(PartOf {
                family: places[at],
                sizes: (0..family.sizes.len()).map(|size| size_of((at, size))).collect(),
                tails: (0..family.tails.len()).map(|tail| colour_of((at, tail))).collect(),
            });
        }
        made.sort_by(|one, other| {
            let key = |made: &Made| (made.size, made.colour);
            key(one).cmp(&key(other)).then_with(|| self.id(one.variant).cmp(&self.id(other.variant)))
        });
        let is_choice =
            |word: &Said| sizes.len() > 1 && roles.is_size(word) || colours.len() > 1 && roles.is_told(word);
        let seen = self.written(first);
        let (name, start) = seen.names(&is_choice);
        Article {
            product_type: families[0].product_type.map(|kind| self.run.words.text(kind).to_owned()),
            kind: seen.kind(&is_choice),
            start,
            name,
            finish: if colours.len() > 1 { self.finish(&roles) } else { None },
            sizes: sizes.into_iter().map(|draft| draft.choice).collect(),
            colours: colours.into_iter().map(|draft| draft.choice).collect(),
            made,
            parts,
        }
    }

    /// The sizes of an article's families, from young to old and from small to large.
    fn sizes(&self, roles: &Roles<'_>, same_sizes: &[Vec<usize>]) -> Vec<Draft> {
        let mut drafts: Vec<Draft> = Vec::new();
        for (at, family) in roles.families.iter().enumerate() {
            let same = |place: usize| same_sizes[at][place];
            for (place, first) in self.firsts(family, |made| same(made.size)) {
                let all = (0..family.sizes.len()).filter(|other| same(*other) == place);
                let key = &family.sizes[place];
                let text = |word: Option<Word>| word.map(|word| self.run.words.text(word));
                let age = text(key.age_group).unwrap_or("adult");
                let read = family.size_name(place, &self.run.words);
                drafts.push(Draft {
                    age: AGES.iter().position(|known| *known == age).unwrap_or(AGES.len()),
                    sort_text: text(key.size.read).map_or_else(|| read.clone(), str::to_owned),
                    choice: self.size(roles, (key.age_group.is_some(), read), first),
                    of: all.map(|place| (at, place)).collect(),
                });
            }
        }
        // Where a size is called as another, all that is said beside colours may tell them apart.
        let mut called: HashMap<String, usize, RandomState> = HashMap::default();
        for draft in &drafts {
            *called.entry(fold(&draft.choice.written)).or_default() += 1;
        }
        for draft in drafts.iter_mut().filter(|draft| called[&fold(&draft.choice.written)] > 1) {
            let (at, place) = draft.of[0];
            let first =
                self.firsts(roles.families[at], |made| same_sizes[at][made.size]).get(&place).copied();
            if let Some(first) = first.filter(|_| roles.has_no_tails()) {
                draft.choice.written = capital(&self.written(first).values());
            }
        }
        drafts.sort_by(|one, other| {
            let by_size = || from_small_to_large(self.run.vocabulary, &one.sort_text, &other.sort_text);
            let by_text = || one.choice.written.cmp(&other.choice.written);
            one.age.cmp(&other.age).then_with(by_size).then_with(by_text)
        });
        drafts
    }

    /// The colours of an article's families, by name.
    fn colours(&self, roles: &Roles<'_>) -> Vec<Draft> {
        if roles.is_one_choice {
            let of = roles.families.iter().enumerate();
            let of =
                of.flat_map(|(at, family)| (0..family.tails.len()).map(move |tail| (at, tail))).collect();
            let choice = Choice { written: String::new(), read: String::new(), is_plain: true };
            return vec![Draft { choice, age: 0, sort_text: String::new(), of }];
        }
        let mut drafts: Vec<Draft> = Vec::new();
        for (at, family) in roles.families.iter().enumerate() {
            for (place, first) in self.firsts(family, |made| made.tail) {
                let choice = self.colour(roles, (at, place), first);
                match drafts.iter_mut().find(|draft| draft.of[0].0 != at && is_same(&draft.choice, &choice)) {
                    Some(draft) => draft.of.push((at, place)),
                    None => {
                        let sort_text = fold(&choice.written);
                        drafts.push(Draft { choice, age: 0, sort_text, of: vec![(at, place)] });
                    }
                }
            }
        }
        drafts.sort_by(|one, other| one.sort_text.cmp(&other.sort_text));
        drafts
    }

    /// Of each size or tail of a family, the first variant by supplier and id.
    fn firsts(
        &self,
        family: &Family,
        place: impl Fn(&super::family::Made) -> usize,
    ) -> BTreeMap<usize, usize> {
        let mut firsts: BTreeMap<usize, usize> = BTreeMap::new();
        for made in &family.variants {
            let first = firsts.entry(place(made)).or_insert(made.index);
            if self.id(made.index) < self.id(*first) {
                *first = made.index;
            }
        }
        firsts
    }

    /// By what variants are put into one order, whatever that of the table.
    fn id(&self, variant: usize) -> (&SupplierId, &str) {
        let variant = &self.variants[variant];
        (&variant.supplier, variant.variant_id.as_str())
    }

    fn written(&self, variant: usize) -> Written {
        let Run { vocabulary, slips, tidy, .. } = &self.run;
        Written::of(vocabulary, slips, self.variants[variant].product.as_deref(), &tidy[variant])
    }

    fn size(&self, roles: &Roles<'_>, (is_of_age, read): (bool, String), first: usize) -> Choice {
        let sought = Sought {
            is_it: &|word| roles.is_size(word),
            is_other: &|word| {
                word.part == Part::Good
                    || !roles.is_size(word) && word.part.is_colour()
                    || roles.is_told(word)
            },
            is_told_by: &|_| false,
            is_size: true,
        };
        let Some(found) = self.written(first).found(&sought) else {
            return Choice { written: capital(&read), read, is_plain: true };
        };
        // '2xl' as sizes are written, and 'YXS' in two words.
        let is_short = is_of_age && !found.text.contains(' ') && read.contains(' ') && is_letters(&read);
        let written = if fold(&found.text) == fold(&read) || is_short {
            capital_first(&read)
        } else {
            capital(&found.text)
        };
        Choice { written, read, is_plain: found.is_plain }
    }

    fn colour(&self, roles: &Roles<'_>, (at, place): (usize, usize), first: usize) -> Choice {
        let spelled = roles.families[at].spelled[place].iter();
        let mut spelled: Vec<&str> = spelled.map(|word| self.run.words.text(*word)).collect();
        let as_read = spelled.join(" ");
        spelled.sort_unstable();
        let sought = Sought {
            is_it: &|word| word.part.is_colour() || roles.is_told(word),
            is_other: &|word| word.part == Part::Good || roles.is_size(word),
            is_told_by: &|word| roles.is_told(word),
            is_size: false,
        };
        let read = spelled.join(" ");
        match self.written(first).found(&sought) {
            Some(found) => Choice { written: capital(&found.text), read, is_plain: found.is_plain },
            None => Choice { written: capital(&as_read), read, is_plain: true },
        }
    }

    /// The name of the one option that tells an article's tails apart, where it says no colours.
    fn finish(&self, roles: &Roles<'_>) -> Option<String> {
        let mut names: BTreeSet<String> = BTreeSet::new();
        for family in roles.families {
            for (place, first) in self.firsts(family, |made| made.tail) {
                let tail = &family.tails[place];
                let told = |word: &&RowWord| tail.has(word.word);
                for word in self.run.rows[first].words.iter().filter(told) {
                    let name = self.run.tidy[first].iter().nth(word.text.checked_sub(1)?)?.0;
                    if word.part.is_colour() || self.run.vocabulary.name_says(&fold(name)).colour {
                        return None;
                    }
                    names.insert(name.to_owned());
                }
            }
        }
        let only = names.pop_first().filter(|_| names.is_empty())?;
        Some(capital(&only))
    }

    /// How a size that is asked for stands to a good's.
    pub(crate) fn size_asked(&mut self, article: usize, text: &str) -> Asked {
        let row = self.asked("Size", text);
        let article = &self.articles[article];
        // What is written as it is sold needs no reading.
        let folded = fold(text);
        if let Some(place) = article.sizes.iter().position(|size| fold(&size.written) == folded) {
            return Asked::Is(place);
        }
        if article.sizes.len() < 2 {
            return Asked::NoChoice;
        }
        let (mut is, mut like) = (Vec::new(), Vec::new());
        for part in &article.parts {
            let family = &self.families[part.family];
            match fit_size(&row, family, self.run.adult, &self.run.words) {
                Fit::One(place, How::Same) => is.push(part.sizes[place]),
                Fit::One(place, _) => like.push(part.sizes[place]),
                Fit::Several(places) => like.extend(places.iter().map(|place| part.sizes[*place])),
                Fit::Free | Fit::Unsaid | Fit::NotMade | Fit::Unclear => {}
            }
        }
        Asked::of(&is, &like).unwrap_or_else(|| {
            let size = |size: Option<Word>| Reading {
                size: size.map(|size| self.run.words.text(size).to_owned()),
                ..Reading::default()
            };
            let asked = size(row.size.read);
            let own = article.parts.iter().flat_map(|part| &self.families[part.family].sizes);
            let is_of_sort = own.into_iter().any(|own| asked.contradicts(&size(own.size.read)));
            if is_of_sort { Asked::NotMade(asked.size) } else { Asked::OtherSort }
        })
    }

    /// How a colour that is asked for stands to a good's.
    pub(crate) fn colour_asked(&mut self, article: usize, text: &str) -> Asked {
        let row = self.asked("Colour", text);
        let article = &self.articles[article];
        let folded = fold(text);
        if let Some(place) = article.colours.iter().position(|colour| fold(&colour.written) == folded) {
            return Asked::Is(place);
        }
        if let [only] = article.colours.as_slice() {
            let words = row.words.iter().filter(|word| word.part.is_colour());
            let mut words: Vec<&str> = words.map(|word| self.run.words.text(word.word)).collect();
            words.sort_unstable();
            let is_it = !words.is_empty() && words.join(" ") == only.read;
            return if is_it { Asked::Is(0) } else { Asked::NoChoice };
        }
        let (mut is, mut like) = (Vec::new(), Vec::new());
        for part in &article.parts {
            let family = &self.families[part.family];
            match fit_tail(&row, family, &self.run.hues, &self.run.words) {
                Fit::One(place, How::Same) => is.push(part.tails[place]),
                Fit::One(place, _) => like.push(part.tails[place]),
                Fit::Several(places) => like.extend(places.iter().map(|place| part.tails[*place])),
                Fit::Free | Fit::NotMade | Fit::Unsaid | Fit::Unclear => {}
            }
        }
        Asked::of(&is, &like).unwrap_or(Asked::NotMade(None))
    }

    fn asked(&mut self, name: &str, text: &str) -> Row {
        // One name with one value cannot contradict itself.
        let options = Options::from_pairs([(name, text)]).unwrap_or_default();
        Row::of(&read_closely(self.run.vocabulary, &options, None), &mut self.run.words)
    }
}

impl Asked {
    /// From the places that are it, and those that are like it; `None` where there are none.
    fn of(is: &[usize], like: &[usize]) -> Option<Self> {
        let distinct = |places: &[usize]| places.iter().copied().collect::<BTreeSet<usize>>();
        let (is, like) = (distinct(is), distinct(like));
        match (is.len(), is.first(), like.len(), like.first()) {
            (1, Some(only), ..) => Some(Self::Is(*only)),
            (0, _, 1, Some(only)) => Some(Self::Like(*only)),
            (0, _, 0, _) => None,
            _ => Some(Self::MayBe(is.union(&like).copied().collect())),
        }
    }
}

/// Whether two colours of one product are the same.
fn is_same(one: &Choice, other: &Choice) -> bool {
    fold(&one.written) == fold(&other.written) || one.is_plain && other.is_plain && one.read == other.read
}

/// Of each size of a family, the first that is the same but for its numbers: those of a colour such as 'brindle 2' are
/// none of a size. Each is its own where it takes the numbers to tell variants apart.
fn same_sizes(family: &Family) -> Vec<usize> {
    let mut firsts: HashMap<SizeKey, usize, RandomState> = HashMap::default();
    let without_numbers = |key: &SizeKey| {
        let mut key = key.clone();
        key.size.numbers.clear();
        key
    };
    let same: Vec<usize> = family
        .sizes
        .iter()
        .enumerate()
        .map(|(place, key)| *firsts.entry(without_numbers(key)).or_insert(place))
        .collect();
    let made = || family.variants.iter();
    let told: BTreeSet<(usize, usize)> = made().map(|made| (same[made.size], made.tail)).collect();
    let all: BTreeSet<(usize, usize)> = made().map(|made| (made.size, made.tail)).collect();
    if told.len() == all.len() { same } else { (0..family.sizes.len()).collect() }
}

/// Whether sizes and tails are one thing to choose: each size has a tail of its own.
fn is_one_choice(families: &[&Family], same_sizes: &[Vec<usize>]) -> bool {
    let ([family], [same]) = (families, same_sizes) else { return false };
    let made = || family.variants.iter();
    let pairs: BTreeSet<(usize, usize)> = made().map(|made| (same[made.size], made.tail)).collect();
    let sizes: BTreeSet<usize> = made().map(|made| same[made.size]).collect();
    sizes.len() > 1 && sizes.len() == family.tails.len() && pairs.len() == sizes.len()
}

/// The parts that words play in an article.
struct Roles<'r> {
    run: &'r Run<'r>,
    families: &'r [&'r Family],
    is_one_choice: bool,
}

impl Roles<'_> {
    /// Whether a word says a size, or stands for one.
    fn is_size(&self, word: &Said) -> bool {
        let stands_for_it = || {
            let mut own =
                self.families.iter().flat_map(|family| &family.sizes).flat_map(|key| key.words.iter());
            own.any(|own| self.run.words.text(own) == word.word)
        };
        word.part == Part::Size || stands_for_it() || self.is_one_choice && self.is_of_tail(word)
    }

    /// Whether a word tells the families' tails apart.
    fn is_told(&self, word: &Said) -> bool {
        !self.is_one_choice && self.is_of_tail(word)
    }

    fn is_of_tail(&self, word: &Said) -> bool {
        let mut own = self.families.iter().flat_map(|family| &family.tails).flat_map(WordSet::iter);
        own.any(|own| self.run.words.text(own) == word.word)
    }

    /// Whether there is nothing to choose but sizes.
    fn has_no_tails(&self) -> bool {
        self.is_one_choice || self.families.iter().all(|family| family.tails.len() < 2)
    }
}

/// Whether a size is one of letters behind an age group: 'youth XS'.
fn is_letters(read: &str) -> bool {
    let size = read.rsplit(' ').next().unwrap_or_default();
    !size.is_empty() && size.chars().all(|sign| matches!(sign, 'X' | 'S' | 'M' | 'L' | '0'..='9'))
}

/// A text with its first letter as a capital.
fn capital_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The same, where all of it is in small letters.
fn capital(text: &str) -> String {
    if text.chars().any(char::is_uppercase) { text.to_owned() } else { capital_first(text) }
}
