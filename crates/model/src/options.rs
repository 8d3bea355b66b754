//! Option names and values, as the customer saw them, and when two sets of them are the same.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use schemars::JsonSchema;
use serde::{Serialize, Serializer, ser::SerializeMap};
use smol_str::SmolStr;
use thiserror::Error;

use crate::text;

/// The options of one offer or line: name to value.
///
/// Equal, ordered and hashed by the folded names and values; shown as they were typed, by folded name.
/// Empty is a real state: a listing with nothing to choose. 'Not known' is `Option::<Options>::None`.
#[derive(Clone, Default, JsonSchema)]
#[schemars(with = "BTreeMap<String, String>")]
pub struct Options {
    /// By folded name.
    all: Arc<Vec<Typed>>,
}

#[derive(Clone)]
struct Typed {
    folded_name: SmolStr,
    folded_value: SmolStr,
    name: SmolStr,
    value: SmolStr,
}

/// Two values for what is the same option name.
#[derive(Debug, Error, PartialEq, Eq)]
#[error("the option {name:?} has two values, {first:?} and {second:?}")]
pub struct TwoValues {
    /// The name, as typed the second time.
    pub name: String,
    /// The value that came first.
    pub first: String,
    /// The value that came second.
    pub second: String,
}

impl Options {
    /// No options at all.
    pub fn new() -> Self {
        Self::default()
    }

    /// Collects names and values; the same name with the same value (both folded) counts once.
    ///
    /// # Errors
    /// [`TwoValues`] where one name has two values.
    pub fn from_pairs<N: Into<String>, V: Into<String>>(
        pairs: impl IntoIterator<Item = (N, V)>,
    ) -> Result<Self, TwoValues> {
        let mut options = Self::new();
        for (name, value) in pairs {
            options.add(name.into(), value.into())?;
        }
        Ok(options)
    }

    /// Adds one option.
    ///
    /// # Errors
    /// [`TwoValues`] where the name is there with another value.
    pub fn add(&mut self, name: String, value: String) -> Result<(), TwoValues> {
        let folded_value = SmolStr::from(text::fold(&value));
        let folded_name = SmolStr::from(text::fold(&name));
        match self.all.binary_search_by(|typed| typed.folded_name.cmp(&folded_name)) {
            Ok(at) if self.all[at].folded_value == folded_value => Ok(()),
            Ok(at) => Err(TwoValues { name, first: self.all[at].value.to_string(), second: value }),
            Err(at) => {
                let typed = Typed { folded_name, folded_value, name: name.into(), value: value.into() };
                Arc::make_mut(&mut self.all).insert(at, typed);
                Ok(())
            }
        }
    }

    /// Whether there is nothing to choose.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// How many options there are.
    pub fn len(&self) -> usize {
        self.all.len()
    }

    /// The values with the names of the options: `Colour: moss, Size: S`. Empty where there is nothing to choose.
    pub fn named(&self) -> String {
        let pairs: Vec<String> = self.iter().map(|(name, value)| format!("{name}: {value}")).collect();
        pairs.join(", ")
    }

    /// Names and values as typed, by folded name.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.all.iter().map(|typed| (typed.name.as_str(), typed.value.as_str()))
    }

    /// Names and values as compared, by name.
    pub fn folded(&self) -> impl Iterator<Item = (&str, &str)> {
        self.all.iter().map(|typed| (typed.folded_name.as_str(), typed.folded_value.as_str()))
    }
}

impl PartialEq for Options {
    fn eq(&self, other: &Self) -> bool {
        self.folded().eq(other.folded())
    }
}

impl Eq for Options {}

impl PartialOrd for Options {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Options {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.folded().cmp(other.folded())
    }
}

impl std::hash::Hash for Options {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.len().hash(state);
        for pair in self.folded() {
            pair.hash(state);
        }
    }
}

impl fmt::Debug for Options {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_map().entries(self.iter()).finish()
    }
}

/// The values as a person reads them, by option name: `moss, S`. Empty where there is nothing to choose.
impl fmt::Display for Options {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, (_, value)) in self.iter().enumerate() {
            if index > 0 {
                f.write_str(", ")?;
            }
            f.write_str(value)?;
        }
        Ok(())
    }
}

impl Serialize for Options {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.len()))?;
        for (name, value) in self.iter() {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn options(pairs: &[(&str, &str)]) -> Options {
        Options::from_pairs(pairs.iter().copied()).unwrap()
    }

    #[test]
    fn options_are_the_same_set_whatever_the_order_case_and_spaces() {
        assert_eq!(
            options(&[("Size", "Large apron"), ("Colour", "Moss")]),
            options(&[("colour", "moss "), ("SIZE", "large  apron")])
        );
        assert_ne!(options(&[("Size", "L")]), options(&[("Size", "L"), ("Colour", "Moss")]));
        assert_ne!(options(&[("Size", "L")]), Options::new());
    }

    #[test]
    fn one_name_with_two_values_is_an_error_and_with_one_value_is_not() {
        let error = Options::from_pairs([("Size", "L"), ("size ", "M")]).unwrap_err();
        assert_eq!(error.to_string(), "the option \"size \" has two values, \"L\" and \"M\"");
        assert_eq!(options(&[("Size", "L"), ("size ", "l")]).len(), 1);
    }

    #[test]
    fn options_are_shown_as_they_were_typed() {
        assert_eq!(options(&[("Size", "S"), ("Colour", "Moss")]).to_string(), "Moss, S");
    }
}
