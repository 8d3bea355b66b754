//! Words that an owner adds to the vocabulary.
//!
//! Owns where they go among the files' entries, and which of them cannot be taken. Must not know where they are
//! written. Start reading at [`Files::extend`].

use model::reading::Kind;
use thiserror::Error;

use super::files::{Files, Named, ProductType};
use super::{Meaning, VocabularyError, plain};

/// Words of one meaning.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OwnWords {
    /// What they are words for.
    pub kind: Kind,
    /// What they mean: a product type, an age group, a size or a colour of the vocabulary, or a new one; there are no
    /// new age groups.
    pub name: String,
    /// The words, each as one phrase; of a new meaning its name is one as well.
    pub words: Vec<String>,
    /// Of a new product type: those that its words make it out of. 'Pocket apron' is no apron.
    pub turns: Vec<String>,
    /// Of a colour: the hue that it has, one of those of the vocabulary.
    pub hue: Option<String>,
}

impl OwnWords {
    /// No words yet.
    pub fn new(kind: Kind, name: impl Into<String>) -> Self {
        Self { kind, name: name.into(), words: Vec::new(), turns: Vec::new(), hue: None }
    }
}

/// Why words cannot be added.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum OwnWordsError {
    /// They would mean two things.
    #[error("{phrase:?} means {first} already, so that it cannot mean {second}")]
    TwoMeanings {
        /// The words, as they were given.
        phrase: String,
        /// What they mean.
        first: String,
        /// What they were to mean.
        second: String,
    },
    /// There is nothing to be read.
    #[error("{0:?} has no word that can be read")]
    NoWord(String),
    /// A name that must be known is not.
    #[error("there is no {what} {name:?}; there are: {known}")]
    Unknown {
        /// What kind of name.
        what: &'static str,
        /// The name.
        name: String,
        /// Those that there are.
        known: String,
    },
}

impl Files {
    /// Adds words to the entries.
    ///
    /// # Errors
    /// Where a name that must be known is not.
    pub(super) fn extend(&mut self, own: &[OwnWords]) -> Result<(), OwnWordsError> {
        for own in own {
            match own.kind {
                Kind::ProductType => self.extend_product_types(own)?,
                Kind::AgeGroup => self.extend_age_groups(own)?,
                Kind::Size => self.extend_sizes(own),
                Kind::Colour => self.extend_colours(own)?,
            }
            // What the owner says is no longer open.
            let is_said = |phrase: &String| own.words.iter().any(|word| plain(word) == plain(phrase));
            self.words.describing.phrases.retain(|phrase| !is_said(phrase));
            self.words.ambiguous.phrases.retain(|phrase| !is_said(phrase));
        }
        Ok(())
    }

    fn extend_product_types(&mut self, own: &OwnWords) -> Result<(), OwnWordsError> {
        let types = &mut self.product_types.product_type;
        for turned in &own.turns {
            if !types.iter().any(|entry| entry.name == *turned) {
                let known = types.iter().map(|entry| entry.name.as_str());
                return Err(unknown("product type", turned, known));
            }
        }
        let there = types.iter_mut().find(|entry| is_same(&entry.name, &own.name));
        let entry = match there {
            Some(entry) => entry,
            None => {
                types.push(ProductType {
                    name: own.name.clone(),
                    english: vec![own.name.clone()],
                    ..ProductType::default()
                });
                let Some(last) = types.last_mut() else { return Ok(()) };
                last
            }
        };
        entry.english.extend_from_slice(&own.words);
        entry.turns.extend(own.turns.iter().filter(|turned| **turned != entry.name).cloned());
        Ok(())
    }

    fn extend_age_groups(&mut self, own: &OwnWords) -> Result<(), OwnWordsError> {
        let groups = &mut self.words.age_group;
        let Some(place) = groups.iter().position(|group| is_same(&group.name, &own.name)) else {
            return Err(unknown("age group", &own.name, groups.iter().map(|group| group.name.as_str())));
        };
        groups[place].words.extend_from_slice(&own.words);
        Ok(())
    }

    fn extend_sizes(&mut self, own: &OwnWords) {
        let sizes = &mut self.sizes;
        let mut all = sizes.letter.iter_mut().chain(&mut sizes.size).chain(&mut sizes.named);
        match all.find(|entry| is_same(&entry.name, &own.name)) {
            Some(entry) => entry.words.extend_from_slice(&own.words),
            None => sizes.size.push(named(own)),
        }
    }

    fn extend_colours(&mut self, own: &OwnWords) -> Result<(), OwnWordsError> {
        let colours = &mut self.colours;
        if let Some(hue) = &own.hue {
            let known: Vec<String> = colours.hues.keys().cloned().collect();
            let Some(of_hue) = colours.hues.get_mut(hue) else {
                return Err(unknown("hue", hue, known.iter().map(String::as_str)));
            };
            let mut words: Vec<String> = plain(&own.name).split(' ').map(str::to_owned).collect();
            words.retain(|word| !known.contains(word) && !of_hue.contains(word));
            of_hue.extend(words.iter().cloned());
            for (_, others) in colours.hues.iter_mut().filter(|(other, _)| *other != hue) {
                others.retain(|word| !words.contains(word));
            }
        }
        let css = colours.css.names.iter().find(|name| is_same(name, &own.name)).cloned();
        match colours.colour.iter_mut().find(|entry| is_same(&entry.name, &own.name)) {
            Some(entry) => entry.words.extend_from_slice(&own.words),
            None => {
                colours
                    .colour
                    .push(Named { name: css.unwrap_or_else(|| own.name.clone()), words: own.words.clone() });
            }
        }
        Ok(())
    }
}

fn named(own: &OwnWords) -> Named {
    Named { name: own.name.clone(), words: std::iter::once(&own.name).chain(&own.words).cloned().collect() }
}

fn is_same(one: &str, other: &str) -> bool {
    plain(one) == plain(other)
}

fn unknown<'n>(what: &'static str, name: &str, known: impl Iterator<Item = &'n str>) -> OwnWordsError {
    let mut known: Vec<&str> = known.collect();
    known.sort_unstable();
    OwnWordsError::Unknown { what, name: name.to_owned(), known: known.join(", ") }
}

impl OwnWordsError {
    /// Why no vocabulary could be made of `files`, which `own` is among.
    pub(super) fn of(error: VocabularyError, own: &[OwnWords], files: &Files) -> Self {
        match error {
            VocabularyError::TwoMeanings { phrase, first, second } => {
                let (first, second) = (said(&first, files), said(&second, files));
                // Whichever of the two stands first in the files: what the owner says last cannot be taken.
                let said_at = |meaning: &String| {
                    own.iter().rposition(|own| {
                        own.words.iter().any(|word| is_same(word, &phrase))
                            && meaning.ends_with(&format!("{:?}", own.name))
                    })
                };
                let is_swapped = said_at(&first) > said_at(&second);
                let (first, second) = if is_swapped { (second, first) } else { (first, second) };
                Self::TwoMeanings { phrase, first, second }
            }
            VocabularyError::NoWord(phrase) => Self::NoWord(phrase),
            VocabularyError::UnknownName(name) => {
                Self::Unknown { what: "word", name, known: "those of the vocabulary".to_owned() }
            }
        }
    }
}

/// A meaning in words.
fn said(meaning: &Meaning, files: &Files) -> String {
    match meaning {
        Meaning::ProductType(place, _) => {
            let entry = files.product_types.product_type.get(*place);
            format!("the product {:?}", entry.map_or("", |entry| entry.name.as_str()))
        }
        Meaning::AgeGroup { name, .. } => format!("the age group {name:?}"),
        Meaning::Letter(place) => {
            format!("the size {:?}", files.sizes.letter.get(*place).map_or("", |letter| letter.name.as_str()))
        }
        Meaning::Size { name, .. } => format!("the size {name:?}"),
        Meaning::Colour { name, .. } => format!("the colour {name:?}"),
        Meaning::Shade { .. } => "a shade of another colour".to_owned(),
        Meaning::Label(_) => "that a size or an age follows".to_owned(),
        Meaning::Describing | Meaning::Ambiguous => "nothing that is read".to_owned(),
    }
}
