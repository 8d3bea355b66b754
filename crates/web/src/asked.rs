//! What is asked for: parameters of an address and fields of a form, each declared once and checked before anything is done.
//!
//! Must not know what they are for. Start reading at [`Parameter`]; [`Asked::read`] is strict: what is not declared is refused.

use std::collections::BTreeMap;
use std::str::FromStr;

use serde::de::Error as _;
use serde::{Deserialize, Deserializer};
use url::form_urlencoded;

use crate::problem::Problem;

/// The most values of one request; more than any page has fields.
const VALUES: usize = 100;

/// Something that can be asked for.
#[derive(Clone, Copy)]
pub struct Parameter {
    /// What it is called.
    pub name: &'static str,
    /// What it may be.
    pub takes: Takes,
    /// Whether it has to be there.
    pub is_needed: bool,
    /// What it means, for the document of the JSON.
    pub says: &'static str,
}

/// What a parameter may be. An empty one is as if it were not there, for a form sends every field.
#[derive(Clone, Copy)]
pub enum Takes {
    /// A text of at most so many characters.
    Text(usize),
    /// A whole number from one to another.
    Number(u32, u32),
    /// One of these words.
    Word(fn() -> Vec<&'static str>),
}

impl Parameter {
    /// One that may be left out.
    pub const fn may(name: &'static str, takes: Takes, says: &'static str) -> Self {
        Self { name, takes, is_needed: false, says }
    }

    /// One that has to be there.
    pub const fn must(name: &'static str, takes: Takes, says: &'static str) -> Self {
        Self { name, takes, is_needed: true, says }
    }

    /// What is wrong with a value, and what is expected.
    fn fault(&self, value: &str) -> Option<String> {
        match self.takes {
            Takes::Text(most) if value.chars().count() > most => {
                Some(format!("is longer than {most} characters"))
            }
            Takes::Text(_) if value.chars().any(char::is_control) => {
                Some("has control characters; expected is text on one line".to_owned())
            }
            Takes::Text(_) => None,
            Takes::Number(least, most) => {
                let number = value.parse::<u32>().ok().filter(|number| (least..=most).contains(number));
                number.is_none().then(|| format!("is no whole number from {least} to {most}"))
            }
            Takes::Word(words) => {
                let words = words();
                (!words.contains(&value)).then(|| format!("is none of: {}", words.join(", ")))
            }
        }
    }
}

/// What is asked for, checked.
#[derive(Clone, Default, Debug)]
pub struct Asked(BTreeMap<&'static str, String>);

impl Asked {
    /// Reads what stands behind the question mark of an address, or in a form.
    ///
    /// # Errors
    /// Where something is not declared, there twice, missing, or not what it may be.
    pub fn read(text: &str, declared: &[&'static [Parameter]]) -> Result<Self, Problem> {
        let mut asked = Self::default();
        let all = || declared.iter().copied().flatten();
        for (number, (name, value)) in form_urlencoded::parse(text.as_bytes()).enumerate() {
            if number == VALUES {
                return Err(Problem::bad(format!("more than {VALUES} values were given")));
            }
            let Some(parameter) = all().find(|parameter| parameter.name == name) else {
                let names: Vec<&str> = all().map(|parameter| parameter.name).collect();
                let known = match names.is_empty() {
                    true => "none are known here".to_owned(),
                    false => format!("known are: {}", names.join(", ")),
                };
                return Err(Problem::bad(format!(
                    "{:?} is no parameter of this address; {known}",
                    shown(&name)
                )));
            };
            asked.put(parameter, &value)?;
        }
        for parameter in all().filter(|parameter| parameter.is_needed) {
            if !asked.0.contains_key(parameter.name) {
                return Err(Problem::bad(format!("{} is missing: {}", parameter.name, parameter.says)));
            }
        }
        Ok(asked)
    }

    /// Adds a value.
    ///
    /// # Errors
    /// Where it is there already, or not what it may be.
    pub fn put(&mut self, parameter: &Parameter, value: &str) -> Result<(), Problem> {
        if value.is_empty() {
            return Ok(());
        }
        if let Some(fault) = parameter.fault(value) {
            return Err(Problem::bad(format!("{} {fault}", parameter.name)));
        }
        if self.0.insert(parameter.name, value.to_owned()).is_some() {
            return Err(Problem::bad(format!("{} is given twice", parameter.name)));
        }
        Ok(())
    }

    /// The same without one of them, such as a part of the path.
    #[must_use]
    pub fn without(&self, name: &str) -> Self {
        let mut others = self.clone();
        others.0.retain(|own, _| *own != name);
        others
    }

    /// A text, where it is given.
    pub fn text(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    /// A value that was checked already, as what it stands for.
    pub fn of<T: FromStr>(&self, name: &str) -> Option<T> {
        self.text(name)?.parse().ok()
    }

    /// The given ones of these as they stand in an address, with some left out or changed: `?check=late&page=2`, or nothing.
    pub fn address(&self, but: &[(&str, Option<&str>)]) -> String {
        let mut address = form_urlencoded::Serializer::new(String::new());
        for (name, value) in &self.0 {
            if !but.iter().any(|(other, _)| other == name) {
                address.append_pair(name, value);
            }
        }
        for (name, value) in but {
            if let Some(value) = value {
                address.append_pair(name, value);
            }
        }
        let address = address.finish();
        if address.is_empty() { address } else { format!("?{address}") }
    }
}

/// A whole number of JSON, which may be written as `7.0` too. Source: JSON Schema 2020-12, section 6.1.1 of its validation.
///
/// # Errors
/// Where it is none, or larger than is read.
pub fn whole<'de, T: FromStr, D: Deserializer<'de>>(from: D) -> Result<T, D::Error> {
    let text = serde_json::Number::deserialize(from)?.to_string();
    let whole = text.strip_suffix(".0").unwrap_or(&text);
    whole.parse().map_err(|_| D::Error::custom(format!("{text} is no whole number")))
}

/// A text of whoever asks, in an answer: cleaned and short.
fn shown(text: &str) -> String {
    digest::cut(text, 40).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOWN: &[Parameter] = &[
        Parameter::may("page", Takes::Number(1, 99), "the page"),
        Parameter::may("age", Takes::Word(|| vec!["hour", "day"]), "the age"),
        Parameter::may("note", Takes::Text(5), "the note"),
    ];

    #[test]
    fn a_whole_number_may_be_written_with_a_fraction_of_nothing() {
        let read = |text: &str| whole::<i64, _>(&mut serde_json::Deserializer::from_str(text)).ok();
        for (text, want) in [
            ("7", Some(7)),
            ("7.0", Some(7)),
            ("-3.00", Some(-3)),
            ("1e3", Some(1000)),
            ("7.5", None),
            ("1e300", None),
            ("\"7\"", None),
        ] {
            assert_eq!(read(text), want, "{text}");
        }
    }

    #[test]
    fn what_is_not_declared_twice_or_not_what_it_may_be_is_refused() {
        for (text, want) in [
            ("page=2&age=&note=a+b", "page=2&note=a+b"),
            ("", ""),
            ("page=0", "page is no whole number from 1 to 99"),
            ("page=1e1", "page is no whole number from 1 to 99"),
            ("page=2&page=3", "page is given twice"),
            ("age=week", "age is none of: hour, day"),
            ("note=abcdef", "note is longer than 5 characters"),
            ("note=a%00", "note has control characters; expected is text on one line"),
            ("pgae=2", "\"pgae\" is no parameter of this address; known are: page, age, note"),
        ] {
            let read = Asked::read(text, &[KNOWN]);
            match read {
                Ok(asked) => assert_eq!(asked.address(&[]).trim_start_matches('?'), sorted(want)),
                Err(problem) => assert_eq!(problem.detail, want),
            }
        }
        const NEEDED: &[Parameter] = &[Parameter::must("shop", Takes::Text(9), "whose it is")];
        assert_eq!(Asked::read("", &[NEEDED]).unwrap_err().detail, "shop is missing: whose it is");
    }

    fn sorted(text: &str) -> String {
        let mut parts: Vec<&str> = text.split('&').collect();
        parts.sort_unstable();
        parts.join("&")
    }

    #[test]
    fn an_address_keeps_what_is_asked_for_but_for_what_changes() {
        let asked = Asked::read("page=2&age=day", &[KNOWN]).unwrap();
        assert_eq!(asked.address(&[("page", Some("3"))]), "?age=day&page=3");
        assert_eq!(asked.address(&[("page", None), ("age", None)]), "");
    }
}
