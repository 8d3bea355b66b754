//! How services name what leads from page to page and what asks for changes: `data/names.toml`.
//!
//! Must not know what is done with a name. Start reading at [`NAMES`].

use std::sync::LazyLock;

use serde::Deserialize;

/// The names, read once. What is in the file is held to its shape by a test.
pub(super) static NAMES: LazyLock<Names> =
    LazyLock::new(|| toml::from_str(include_str!("data/names.toml")).unwrap_or_default());

#[derive(Default, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Names {
    pub(super) says: Says,
    pub(super) ask: Ask,
    pub(super) sounds: Sounds,
    pub(super) usual: Usual,
}

/// What an answer says of itself; of the names as [`plain`] has them, but for the header lines.
#[derive(Default, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Says {
    pub(super) next_address: Vec<String>,
    pub(super) cursor: Vec<String>,
    pub(super) next_number: Vec<String>,
    pub(super) count: Vec<String>,
    pub(super) count_of_page: Vec<String>,
    pub(super) page: Vec<String>,
    pub(super) pages: Vec<String>,
    pub(super) size: Vec<String>,
    pub(super) offset: Vec<String>,
    pub(super) more: Vec<String>,
    pub(super) count_header: Vec<String>,
}

/// Names of parameters.
#[derive(Default, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Ask {
    pub(super) page: Vec<String>,
    pub(super) offset: Vec<[String; 2]>,
    pub(super) cursor: Vec<String>,
    pub(super) since: Vec<String>,
    pub(super) since_alone: Vec<String>,
}

#[derive(Default, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Sounds {
    pub(super) since: Vec<String>,
}

#[derive(Default, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Usual {
    pub(super) size: Vec<usize>,
}

/// A name in small letters, without what stands between its words.
pub(super) fn plain(name: &str) -> String {
    name.chars()
        .filter(|letter| !matches!(letter, '_' | '-' | '.' | '@' | ' '))
        .flat_map(char::to_lowercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_names_are_read_and_those_that_an_answer_says_are_plain() {
        assert!(!NAMES.ask.since.is_empty());
        let Says { next_address, cursor, next_number, count, page, pages, size, offset, more, .. } =
            &NAMES.says;
        let all = [next_address, cursor, next_number, count, page, pages, size, offset, more];
        for name in all.into_iter().flatten() {
            assert_eq!(*name, plain(name));
        }
    }
}
