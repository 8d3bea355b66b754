//! The words that option text is read by, and how they are made from their files.
//!
//! Owns what a phrase can mean, and that no phrase means two things. Must not know how a text is read with them.
//! Start reading at [`Vocabulary::built_in`]; the words themselves are under `data/`.

mod files;
mod own;
mod phrases;

use std::collections::{HashMap, HashSet};

use model::text::fold;
use thiserror::Error;

use crate::close::Part;
use crate::text::Text;
use files::Files;
pub use own::{OwnWords, OwnWordsError};
pub(crate) use phrases::{Known, Phrases};

/// What option text is read by: product types, sizes, colours, age groups and the words beside them.
#[derive(Clone, Debug)]
pub struct Vocabulary {
    pub(crate) phrases: Phrases<Meaning>,
    /// Loose names of product types, by their places.
    pub(crate) loosely: Phrases<usize>,
    pub(crate) product_types: Vec<ProductType>,
    pub(crate) shades: Vec<String>,
    /// Each hue, and the words of colours that have it.
    pub(crate) hues: Vec<(String, Vec<String>)>,
    /// Words of colours between hues, and the hues that they may be said to have beside their own.
    pub(crate) between: Vec<(String, Vec<String>)>,
    pub(crate) tones: files::Tones,
    /// Names that a hue alone is never short for.
    pub(crate) own_names: Vec<String>,
    /// Colours that people call by different names.
    pub(crate) alike: Vec<Vec<String>>,
    /// Names of goods that a word before them makes something else of.
    pub(crate) general_goods: HashSet<String>,
    /// Words before a size that make it another one.
    pub(crate) before_sizes: HashSet<String>,
    /// Words for parts of a good.
    pub(crate) parts: HashSet<String>,
    /// Short for a size, and what for.
    pub(crate) short_sizes: HashMap<String, String>,
    /// Short for another word, and what for.
    pub(crate) short_words: HashMap<String, String>,
    /// Words of one meaning, and the one of ours.
    same: HashMap<String, String>,
    /// Words that a slip may have meant: of goods and of sizes.
    pub(crate) slip_words: Vec<String>,
    pub(crate) letters: Vec<String>,
    pub(crate) units: Units,
    /// Words beside a letter size that make it another size.
    pub(crate) cuts: HashSet<String>,
    /// Words for what is printed on a good.
    pub(crate) prints: HashSet<String>,
    /// Words of patterns: beside a colour they make it another one.
    pub(crate) patterns: HashSet<String>,
    names: OptionNames,
}

/// What a phrase means.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Meaning {
    /// A product type, by its place in the vocabulary.
    ProductType(usize, Naming),
    /// An age group. `says_more`: and more than the group's name can hold.
    AgeGroup { name: String, gives_way: bool, says_more: bool },
    /// A letter size, by its place among them.
    Letter(usize),
    /// Another size. `where_named`: only where the option's name, or the word before, says size.
    Size { name: String, where_named: bool },
    /// A colour. `is_thing`: the phrase also names a material or a thing.
    Colour { name: String, is_thing: bool },
    /// What makes a colour another one, by its place among the shades.
    Shade { index: usize, after: bool },
    /// Says what the next word is.
    Label(Label),
    /// Says nothing that is read, and casts no doubt on its neighbours.
    Describing,
    /// Could be read in two ways.
    Ambiguous,
}

/// How surely a phrase names a product type.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Naming {
    /// It names the good.
    Surely,
    /// It names the good where no other is named.
    GivesWay,
    /// It names the good where it is the whole value.
    Alone,
    /// It only turns another good into this one.
    Qualifier,
}

/// What a label announces.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Label {
    Size,
    Age,
    Nothing,
}

/// A kind of good.
#[derive(Clone, Debug)]
pub(crate) struct ProductType {
    /// The word of a reading.
    pub(crate) name: String,
    /// The types that a qualifier, or a phrase that gives way, turns into this one.
    pub(crate) turns: Vec<usize>,
    /// Whether a volume is its size.
    pub(crate) holds_liquid: bool,
    /// For whom it is where nothing else is said.
    pub(crate) age_group: Option<String>,
    /// Words of other goods that may stand for this one, where none of theirs is to be had.
    pub(crate) also: Vec<String>,
    /// Whether it is called by the name of those that it is turned from as well.
    pub(crate) plainly: bool,
}

/// What makes a number a size.
#[derive(Clone, Debug)]
pub(crate) struct Unit {
    /// What is written after the number.
    pub(crate) suffix: String,
    /// The only numbers that its abbreviations are read with; `None`: all.
    pub(crate) numbers: Option<Vec<u32>>,
    /// Whether it is a size only of what holds something.
    pub(crate) is_volume: bool,
    /// Whether two numbers with a dash are one size.
    pub(crate) has_ranges: bool,
}

/// The units by the words and signs for them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Units {
    pub(crate) all: Vec<Unit>,
    /// Folded words without accents, one blank between them.
    pub(crate) words: HashMap<String, usize>,
    /// Abbreviations that stand right behind the number.
    pub(crate) glued: HashMap<String, usize>,
    /// Signs that stand right behind the number.
    pub(crate) marks: Vec<(String, usize)>,
    /// The unit of a number after a word for age.
    pub(crate) years: Option<usize>,
}

/// What the name of an option says about its values.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(crate) struct NameSays {
    /// Numbers are sizes.
    pub(crate) size: bool,
    /// Values are materials.
    pub(crate) material: bool,
    /// Values are about what is printed on the good.
    pub(crate) design: bool,
    /// Values are about the good, whatever else they are about.
    pub(crate) good: bool,
    /// Values are colours.
    pub(crate) colour: bool,
    /// The unit of numbers that have none.
    pub(crate) unit: Option<usize>,
}

#[derive(Clone, Debug)]
struct OptionNames {
    words: HashMap<String, NameSays>,
    design_whole: HashSet<String>,
}

/// Why a vocabulary cannot be made of its files.
#[derive(Debug, Error, PartialEq, Eq)]
pub(crate) enum VocabularyError {
    /// A phrase that would mean two things.
    #[error("the phrase {phrase:?} would mean {second:?}, and means {first:?}")]
    TwoMeanings { phrase: String, first: Meaning, second: Meaning },
    /// A phrase without a word.
    #[error("the phrase {0:?} has no word")]
    NoWord(String),
    /// A name that nothing in the files bears.
    #[error("nothing is called {0:?}")]
    UnknownName(String),
}

impl Vocabulary {
    /// The vocabulary that comes with everyline, in English, with a start of German, French and Spanish.
    pub fn built_in() -> Self {
        Self::from_files(Files::built_in()).expect("the files are part of the program, and a test reads them")
    }

    /// The vocabulary that comes with everyline, and the owner's words.
    ///
    /// ```
    /// use links::{OwnWords, Vocabulary, read_options};
    /// use model::{Options, reading::Kind};
    /// let words = OwnWords { words: vec!["pinny".into()], ..OwnWords::new(Kind::ProductType, "apron") };
    /// let vocabulary = Vocabulary::with(&[words])?;
    /// let options = Options::from_pairs([("Choose", "Large pinny")]).ok();
    /// assert_eq!(read_options(&vocabulary, options.as_ref(), None).product_type.as_deref(), Some("apron"));
    /// # Ok::<(), links::OwnWordsError>(())
    /// ```
    ///
    /// # Errors
    /// Where words mean something else already, say nothing, or are for a name that must be known and is not.
    pub fn with(own: &[OwnWords]) -> Result<Self, OwnWordsError> {
        let mut files = Files::built_in();
        files.extend(own)?;
        Self::from_files(files.clone()).map_err(|error| OwnWordsError::of(error, own, &files))
    }

    fn from_files(files: Files) -> Result<Self, VocabularyError> {
        let mut builder = Builder { phrases: Phrases::new(), spellings: Vec::new() };
        let goods = files.product_types.product_type.iter();
        let goods = goods
            .flat_map(|entry| [&entry.english, &entry.german, &entry.french, &entry.spanish, &entry.loosely]);
        let sizes = files.sizes.letter.iter().map(|letter| &letter.words);
        let slip_words = goods
            .chain(sizes)
            .flatten()
            .flat_map(|phrase| plain(phrase).split(' ').map(str::to_owned).collect::<Vec<_>>());
        let slip_words = slip_words.collect();
        let mut loosely = Phrases::new();
        for (index, entry) in files.product_types.product_type.iter().enumerate() {
            for phrase in &entry.loosely {
                let meanings: &mut Vec<usize> = loosely.entry(&plain(phrase));
                if !meanings.contains(&index) {
                    meanings.push(index);
                }
            }
        }
        let product_types = builder.product_types(&files.product_types)?;
        let (letters, units) = builder.sizes(&files.sizes)?;
        let shades = builder.colours(&files.colours)?;
        builder.words(&files.words)?;
        let names = OptionNames::of(&files.words.option_names, &units);
        let cuts = files.sizes.cut.words.iter().map(|word| plain(word)).collect();
        let prints = files.words.prints.words.iter().map(|word| plain(word)).collect();
        let patterns = files.words.patterns.words.iter().map(|word| plain(word)).collect();
        let hues = files.colours.hues.into_iter().collect();
        let between = files.colours.between.into_iter().collect();
        let short_sizes = files.words.short_sizes.into_iter().collect();
        let short_words = files.words.short_words.into_iter().collect();
        let same = files.words.same.iter();
        let same =
            same.flat_map(|(ours, all)| all.iter().map(move |word| (plain(word), ours.clone()))).collect();
        let tones = files.colours.tones;
        let own_names = files.colours.own_names.words;
        let alike = files.colours.alike.groups;
        let general_goods = files.words.general_goods.words.iter().map(|word| plain(word)).collect();
        let before_sizes = files.words.before_sizes.words.iter().map(|word| plain(word)).collect();
        let parts = files.words.parts.words.iter().map(|word| plain(word)).collect();
        Ok(Self {
            phrases: builder.phrases,
            loosely,
            product_types,
            tones,
            own_names,
            alike,
            general_goods,
            before_sizes,
            parts,
            short_sizes,
            short_words,
            same,
            slip_words,
            shades,
            hues,
            between,
            letters,
            units,
            cuts,
            prints,
            patterns,
            names,
        })
    }

    /// Whether a word says that what follows is printed on the good, or comes with it.
    pub(crate) fn is_of_design(&self, key: &str) -> bool {
        self.prints.contains(key)
            || self.names.design_whole.contains(key)
            || self.names.words.get(key).is_some_and(|word| word.design)
    }

    /// Whether a product type is another one with something to it; both by their places.
    pub(crate) fn turns(&self, to: usize, from: usize) -> bool {
        self.product_types.get(to).is_some_and(|kind| kind.turns.contains(&from))
    }

    /// A word in the one of ours that means the same; any other as it is.
    pub(crate) fn same<'k>(&'k self, key: &'k str) -> &'k str {
        self.same.get(key).map_or(key, String::as_str)
    }

    /// A word that is a shade or a colour by itself, as the vocabulary writes it.
    pub(crate) fn shade_or_colour(&self, key: &str) -> Option<(&str, Part)> {
        let meanings = self.phrases.exactly(std::iter::once(key));
        meanings.iter().find_map(|meaning| match meaning {
            Meaning::Shade { index, .. } => Some((self.shades.get(*index)?.as_str(), Part::Shade)),
            Meaning::Colour { name, .. } => Some((name.as_str(), Part::Colour)),
            _ => None,
        })
    }

    /// What a folded option name says about its values.
    pub(crate) fn name_says(&self, folded_name: &str) -> NameSays {
        let name = Text::of(folded_name);
        let mut says =
            NameSays { design: self.names.design_whole.contains(name.plain()), ..NameSays::default() };
        for index in 0..name.words().len() {
            let word = self.names.words.get(name.key(index)).copied().unwrap_or_default();
            says.size |= word.size;
            says.material |= word.material;
            says.design |= word.design;
            says.good |= word.good;
            says.colour |= word.colour;
            says.unit = word.unit.or(says.unit);
        }
        // 'Design & size' holds both, and so does 'cloth and ink'.
        says.design &= !says.size && !says.good && !says.material;
        says
    }
}

impl OptionNames {
    fn of(file: &files::OptionNames, units: &Units) -> Self {
        let mut words: HashMap<String, NameSays> = HashMap::new();
        for word in &file.size {
            words.entry(plain(word)).or_default().size = true;
        }
        for word in &file.material {
            words.entry(plain(word)).or_default().material = true;
        }
        for word in &file.design {
            words.entry(plain(word)).or_default().design = true;
        }
        for word in &file.good {
            words.entry(plain(word)).or_default().good = true;
        }
        for word in &file.colour {
            words.entry(plain(word)).or_default().colour = true;
        }
        // 'in' is a preposition more often than a unit: 'Size in EU'.
        for (word, unit) in units.words.iter().filter(|(word, _)| *word != "in") {
            words.entry(word.clone()).or_default().unit = Some(*unit);
        }
        Self { words, design_whole: file.design_whole.iter().map(|name| plain(name)).collect() }
    }
}

/// A phrase of a file as texts are compared: folded and without accents.
fn plain(phrase: &str) -> String {
    Text::of(fold(phrase)).plain().to_owned()
}

/// Puts the files' phrases into the phrase table, in all their spellings.
struct Builder {
    phrases: Phrases<Meaning>,
    spellings: Vec<(String, Vec<String>)>,
}

impl Builder {
    fn product_types(&mut self, file: &files::ProductTypes) -> Result<Vec<ProductType>, VocabularyError> {
        let place = |name: &String| {
            let place = file.product_type.iter().position(|other| other.name == *name);
            place.ok_or_else(|| VocabularyError::UnknownName(name.clone()))
        };
        let mut product_types = Vec::new();
        for (index, entry) in file.product_type.iter().enumerate() {
            let plurals: Vec<String> = entry.english.iter().filter_map(|phrase| plural(phrase)).collect();
            let surely = [&entry.english, &plurals, &entry.german, &entry.french, &entry.spanish];
            let phrases = surely.into_iter().flatten().map(|phrase| (phrase, Naming::Surely));
            let phrases = phrases.chain(entry.gives_way.iter().map(|phrase| (phrase, Naming::GivesWay)));
            let phrases = phrases.chain(entry.alone.iter().map(|phrase| (phrase, Naming::Alone)));
            for (phrase, naming) in phrases {
                self.add(phrase, &Meaning::ProductType(index, naming))?;
            }
            for phrase in &entry.qualifiers {
                self.add(phrase, &Meaning::ProductType(index, Naming::Qualifier))?;
            }
            product_types.push(ProductType {
                name: entry.name.clone(),
                turns: entry.turns.iter().map(place).collect::<Result<_, _>>()?,
                holds_liquid: entry.holds_liquid,
                age_group: entry.age_group.clone(),
                plainly: entry.plainly,
                also: entry.also.iter().map(|word| plain(word)).collect(),
            });
        }
        Ok(product_types)
    }

    fn sizes(&mut self, file: &files::Sizes) -> Result<(Vec<String>, Units), VocabularyError> {
        for (place, letter) in file.letter.iter().enumerate() {
            for phrase in &letter.words {
                self.add(phrase, &Meaning::Letter(place))?;
            }
        }
        for (entries, where_named) in [(&file.size, false), (&file.named, true)] {
            for entry in entries {
                for phrase in &entry.words {
                    self.add(phrase, &Meaning::Size { name: entry.name.clone(), where_named })?;
                }
            }
        }
        let mut units = Units::default();
        for (index, unit) in file.unit.iter().enumerate() {
            units.words.extend(unit.words.iter().map(|word| (plain(word), index)));
            units.glued.extend(unit.glued.iter().map(|word| (plain(word), index)));
            units.marks.extend(unit.marks.iter().map(|mark| (mark.clone(), index)));
            units.all.push(Unit {
                suffix: unit.suffix.clone(),
                numbers: unit.numbers.clone(),
                is_volume: unit.volume,
                has_ranges: unit.range,
            });
        }
        units.years = units.glued.get("y").copied();
        Ok((file.letter.iter().map(|letter| letter.name.clone()).collect(), units))
    }

    fn colours(&mut self, file: &files::Colours) -> Result<Vec<String>, VocabularyError> {
        self.spellings = file.spellings.clone().into_iter().collect();
        let css = file.css.names.iter().map(|name| (name, name));
        let others = file.colour.iter().flat_map(|colour| {
            let words = std::iter::once(&colour.name).chain(&colour.words);
            words.map(move |phrase| (&colour.name, phrase))
        });
        for (name, phrase) in css.chain(others) {
            let is_thing = file.things.phrases.contains(phrase);
            self.add(phrase, &Meaning::Colour { name: name.clone(), is_thing })?;
        }
        for name in &file.css.closed {
            let closed: String = name.split_whitespace().collect();
            self.add(&closed, &Meaning::Colour { name: name.clone(), is_thing: false })?;
        }
        for (index, shade) in file.shade.iter().enumerate() {
            for phrase in &shade.before {
                let after = shade.after.contains(phrase);
                self.add(phrase, &Meaning::Shade { index, after })?;
            }
            for phrase in shade.after.iter().filter(|phrase| !shade.before.contains(phrase)) {
                self.add(phrase, &Meaning::Shade { index, after: true })?;
            }
        }
        for thing in &file.things.phrases {
            let is_colour = |meaning: &Meaning| matches!(meaning, Meaning::Colour { .. });
            if !self.phrases.entry(&plain(thing)).iter().any(is_colour) {
                return Err(VocabularyError::UnknownName(thing.clone()));
            }
        }
        Ok(file.shade.iter().map(|shade| shade.name.clone()).collect())
    }

    fn words(&mut self, file: &files::Words) -> Result<(), VocabularyError> {
        for group in &file.age_group {
            let sorts =
                [(&group.words, false, false), (&group.more, false, true), (&group.gives_way, true, false)];
            for (phrases, gives_way, says_more) in sorts {
                for phrase in phrases {
                    let name = group.name.clone();
                    self.add(phrase, &Meaning::AgeGroup { name, gives_way, says_more })?;
                }
            }
        }
        let labels = [
            (&file.labels.size, Label::Size),
            (&file.labels.age, Label::Age),
            (&file.labels.other, Label::Nothing),
        ];
        for (phrases, label) in labels {
            for phrase in phrases {
                self.add(phrase, &Meaning::Label(label))?;
            }
        }
        for (list, meaning) in
            [(&file.describing, Meaning::Describing), (&file.ambiguous, Meaning::Ambiguous)]
        {
            for phrase in &list.phrases {
                self.add(phrase, &meaning)?;
            }
        }
        for entry in &file.written_out {
            let mut meanings = Vec::new();
            for phrase in &entry.meant {
                let meant = self.phrases.entry(&plain(phrase));
                if meant.is_empty() {
                    return Err(VocabularyError::UnknownName(phrase.clone()));
                }
                meanings.extend(meant.iter().cloned());
            }
            for phrase in &entry.written {
                let there = self.phrases.entry(&plain(phrase));
                if let (Some(first), Some(second)) = (there.first(), meanings.first()) {
                    let (first, second) = (first.clone(), second.clone());
                    return Err(VocabularyError::TwoMeanings { phrase: phrase.clone(), first, second });
                }
                there.clone_from(&meanings);
            }
        }
        Ok(())
    }

    /// Adds a phrase in all its spellings; one that is read also where its words are written as one.
    ///
    /// # Errors
    /// Where it means something else already. Several product types may share a qualifier.
    fn add(&mut self, phrase: &str, meaning: &Meaning) -> Result<(), VocabularyError> {
        let as_it_stands = Text::of(fold(phrase));
        if as_it_stands.words().is_empty() {
            return Err(VocabularyError::NoWord(phrase.to_owned()));
        }
        let mut spellings = self.spellings_of(&as_it_stands);
        if !matches!(meaning, Meaning::Describing | Meaning::Ambiguous | Meaning::Label(_)) {
            let several_words = |spelling: &&String| spelling.contains([' ', '-']);
            let closed = spellings.iter().filter(|spelling| !spelling.contains(['#', '/']));
            let closed: Vec<String> =
                closed.filter(several_words).map(|spelling| spelling.split([' ', '-']).collect()).collect();
            spellings.extend(closed);
        }
        for spelling in spellings {
            let there = self.phrases.entry(&spelling);
            if there.contains(meaning) {
                continue;
            }
            let shared = |meaning: &Meaning| matches!(meaning, Meaning::ProductType(_, Naming::Qualifier));
            if let Some(first) = there.iter().find(|first| !(shared(first) && shared(meaning))) {
                return Err(VocabularyError::TwoMeanings {
                    phrase: phrase.to_owned(),
                    first: first.clone(),
                    second: meaning.clone(),
                });
            }
            there.push(meaning.clone());
        }
        Ok(())
    }

    /// A phrase as it stands, with other spellings of its words, and with umlauts written out.
    fn spellings_of(&self, phrase: &Text<'_>) -> Vec<String> {
        let mut spellings = vec![phrase.plain().to_owned()];
        if phrase.folded().contains(['ä', 'ö', 'ü']) {
            spellings.push(plain(&phrase.folded().replace('ä', "ae").replace('ö', "oe").replace('ü', "ue")));
        }
        for (word, others) in &self.spellings {
            for other in others {
                let with_other = |spelling: &String| {
                    let words = spelling.split(' ').map(|each| if each == word { other } else { each });
                    words.collect::<Vec<_>>().join(" ")
                };
                let has_the_word = |spelling: &&String| spelling.split(' ').any(|each| each == word);
                let respelled: Vec<String> = spellings.iter().filter(has_the_word).map(with_other).collect();
                spellings.extend(respelled);
            }
        }
        spellings
    }
}

/// The English plural of a phrase's last word; `None` where it is one already.
fn plural(phrase: &str) -> Option<String> {
    let ends_in = |endings: &[&str]| endings.iter().any(|ending| phrase.ends_with(ending));
    if ends_in(&["ss", "x", "ch", "sh"]) {
        return Some(format!("{phrase}es"));
    }
    if ends_in(&["s"]) {
        return None;
    }
    match phrase.strip_suffix('y') {
        Some(stem) if !stem.ends_with(['a', 'e', 'o', 'u']) => Some(format!("{stem}ies")),
        _ => Some(format!("{phrase}s")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read_options;
    use model::{Options, Reading};

    fn files() -> Files {
        Files::built_in()
    }

    fn read(vocabulary: &Vocabulary, text: &str) -> Reading {
        read_options(vocabulary, Options::from_pairs([("Size", text)]).ok().as_ref(), None)
    }

    #[test]
    fn the_files_that_come_with_the_program_are_read() {
        Vocabulary::from_files(files()).unwrap();
        Vocabulary::built_in();
    }

    #[test]
    fn every_phrase_for_a_product_type_names_it_and_nothing_else() {
        let vocabulary = Vocabulary::built_in();
        for entry in &files().product_types.product_type {
            let phrases = [
                &entry.english,
                &entry.german,
                &entry.french,
                &entry.spanish,
                &entry.gives_way,
                &entry.alone,
            ];
            for phrase in phrases.into_iter().flatten().chain([&entry.name]) {
                let want = Reading {
                    product_type: Some(entry.name.clone()),
                    age_group: entry.age_group.clone(),
                    ..Reading::default()
                };
                assert_eq!(read(&vocabulary, phrase), want, "{phrase}");
            }
        }
    }

    #[test]
    fn every_phrase_for_a_size_or_an_age_group_names_it_and_nothing_else() {
        let vocabulary = Vocabulary::built_in();
        let files = files();
        let sizes = [&files.sizes.letter, &files.sizes.size, &files.sizes.named];
        for entry in sizes.into_iter().flatten() {
            for phrase in entry.words.iter().chain([&entry.name]) {
                let want = Reading { size: Some(entry.name.clone()), ..Reading::default() };
                assert_eq!(read(&vocabulary, phrase), want, "{phrase}");
            }
        }
        for entry in &files.words.age_group {
            for phrase in entry.words.iter().chain(&entry.more).chain(&entry.gives_way).chain([&entry.name]) {
                let left_over = if entry.more.contains(phrase) { vec![fold(phrase)] } else { Vec::new() };
                let want = Reading { age_group: Some(entry.name.clone()), left_over, ..Reading::default() };
                assert_eq!(read(&vocabulary, phrase), want, "{phrase}");
            }
        }
    }

    #[test]
    fn every_colour_is_a_colour_and_never_a_size_or_a_product_type() {
        let vocabulary = Vocabulary::built_in();
        let files = files();
        let css = files.colours.css.names.iter().map(|name| (name, name));
        let others = files.colours.colour.iter().flat_map(|entry| {
            entry.words.iter().chain([&entry.name]).map(move |phrase| (&entry.name, phrase))
        });
        for (name, phrase) in css.chain(others) {
            let want = Reading { colour: Some(name.clone()), ..Reading::default() };
            for phrase in [phrase.clone(), phrase.replace("grey", "gray"), phrase.to_uppercase()] {
                assert_eq!(read(&vocabulary, &phrase), want, "{phrase}");
            }
            for shade in &files.colours.shade {
                for before in &shade.before {
                    let shaded = read(&vocabulary, &format!("{before} {phrase}"));
                    let colour = shaded.colour.unwrap();
                    // The one shaded name that stands in the files as another name of the colour itself.
                    let is_other = colour != *name || name.contains(&shade.name) || before == "bright";
                    assert!(is_other, "{before} {phrase}: {colour}");
                    assert!(shaded.left_over.is_empty(), "{before} {phrase}");
                }
            }
        }
    }

    #[test]
    fn ambiguous_and_describing_phrases_say_nothing() {
        let vocabulary = Vocabulary::built_in();
        let words = files().words;
        for phrase in words.ambiguous.phrases.iter().chain(&words.describing.phrases) {
            let phrase = phrase.replace('#', "2");
            let reading = read(&vocabulary, &phrase);
            assert!(reading.says_the_same(&Reading::default()), "{phrase}: {reading:?}");
            assert!(!reading.left_over.is_empty(), "{phrase}");
        }
    }

    #[test]
    fn english_plurals_are_derived() {
        for (phrase, want) in [
            ("tote bag", Some("tote bags")),
            ("pint glass", Some("pint glasses")),
            ("hoody", Some("hoodies")),
            ("tray", Some("trays")),
            ("leggings", None),
        ] {
            assert_eq!(plural(phrase).as_deref(), want, "{phrase}");
        }
    }

    #[test]
    fn a_phrase_that_would_mean_two_things_is_refused() {
        let mut wrong = files();
        wrong.colours.css.names.push("apron".into());
        let error = Vocabulary::from_files(wrong).unwrap_err();
        assert!(error.to_string().starts_with("the phrase \"apron\" would mean Colour"), "{error}");
        let mut wrong = files();
        wrong.words.written_out[0].written = vec!["xl".into()];
        assert!(matches!(Vocabulary::from_files(wrong), Err(VocabularyError::TwoMeanings { .. })));
    }

    #[test]
    fn a_name_that_nothing_bears_is_refused() {
        let mut wrong = files();
        wrong.product_types.product_type[0].turns = vec!["smock".into()];
        assert_eq!(Vocabulary::from_files(wrong).unwrap_err(), VocabularyError::UnknownName("smock".into()));
        let mut wrong = files();
        wrong.colours.things.phrases.push("otter".into());
        assert_eq!(Vocabulary::from_files(wrong).unwrap_err(), VocabularyError::UnknownName("otter".into()));
        let mut wrong = files();
        wrong.words.written_out[0].meant = vec!["otter".into()];
        assert_eq!(Vocabulary::from_files(wrong).unwrap_err(), VocabularyError::UnknownName("otter".into()));
    }

    #[test]
    fn a_phrase_without_a_word_and_an_unknown_key_are_refused() {
        let mut wrong = files();
        wrong.words.describing.phrases.push(" / ".into());
        assert_eq!(Vocabulary::from_files(wrong).unwrap_err(), VocabularyError::NoWord(" / ".into()));
        let error = Files::parse("product_type = []\ncolour = 1", "", "", "").unwrap_err();
        assert!(error.to_string().contains("unknown field `colour`"), "{error}");
    }
}
