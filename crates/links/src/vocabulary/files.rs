//! The shape of the vocabulary's files. What each entry means is said in the files themselves, under `data/`.
//!
//! Must not know what is made of the entries. Start reading at [`Files`].

use std::collections::BTreeMap;

use serde::Deserialize;

/// All files of one vocabulary.
#[derive(Clone, Debug)]
pub(crate) struct Files {
    pub(crate) product_types: ProductTypes,
    pub(crate) sizes: Sizes,
    pub(crate) colours: Colours,
    pub(crate) words: Words,
}

impl Files {
    /// The files that come with everyline.
    pub(crate) fn built_in() -> Self {
        let files = Self::parse(
            include_str!("../../data/product_types.toml"),
            include_str!("../../data/sizes.toml"),
            include_str!("../../data/colours.toml"),
            include_str!("../../data/words.toml"),
        );
        files.expect("the files are part of the program, and a test reads them")
    }

    /// Parses the texts of the four files.
    ///
    /// # Errors
    /// The first text that is no TOML, or has an unknown key, with where it is.
    pub(super) fn parse(
        product_types: &str,
        sizes: &str,
        colours: &str,
        words: &str,
    ) -> Result<Self, toml::de::Error> {
        Ok(Self {
            product_types: toml::from_str(product_types)?,
            sizes: toml::from_str(sizes)?,
            colours: toml::from_str(colours)?,
            words: toml::from_str(words)?,
        })
    }
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ProductTypes {
    pub(crate) product_type: Vec<ProductType>,
}

#[derive(Clone, Default, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ProductType {
    pub(crate) name: String,
    pub(crate) english: Vec<String>,
    #[serde(default)]
    pub(crate) german: Vec<String>,
    #[serde(default)]
    pub(crate) french: Vec<String>,
    #[serde(default)]
    pub(crate) spanish: Vec<String>,
    #[serde(default)]
    pub(crate) gives_way: Vec<String>,
    #[serde(default)]
    pub(crate) alone: Vec<String>,
    #[serde(default)]
    pub(crate) qualifiers: Vec<String>,
    #[serde(default)]
    pub(crate) turns: Vec<String>,
    #[serde(default)]
    pub(crate) loosely: Vec<String>,
    #[serde(default)]
    pub(crate) also: Vec<String>,
    #[serde(default)]
    pub(crate) holds_liquid: bool,
    pub(crate) age_group: Option<String>,
    #[serde(default)]
    pub(crate) plainly: bool,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Sizes {
    pub(crate) letter: Vec<Named>,
    pub(crate) size: Vec<Named>,
    pub(crate) named: Vec<Named>,
    pub(crate) cut: List,
    pub(crate) unit: Vec<Unit>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct List {
    pub(crate) words: Vec<String>,
}

/// A canonical name and the phrases that mean it.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Named {
    pub(crate) name: String,
    pub(crate) words: Vec<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Unit {
    pub(crate) suffix: String,
    pub(crate) words: Vec<String>,
    #[serde(default)]
    pub(crate) glued: Vec<String>,
    pub(crate) numbers: Option<Vec<u32>>,
    #[serde(default)]
    pub(crate) marks: Vec<String>,
    #[serde(default)]
    pub(crate) volume: bool,
    #[serde(default)]
    pub(crate) range: bool,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Colours {
    pub(crate) spellings: BTreeMap<String, Vec<String>>,
    pub(crate) css: Css,
    pub(crate) hues: BTreeMap<String, Vec<String>>,
    pub(crate) between: BTreeMap<String, Vec<String>>,
    pub(crate) tones: Tones,
    pub(crate) own_names: List,
    pub(crate) alike: Alike,
    pub(crate) things: Phrases,
    pub(crate) colour: Vec<Named>,
    pub(crate) shade: Vec<Shade>,
}

/// Colours of different names.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Alike {
    pub(crate) groups: Vec<Vec<String>>,
}

/// Colours that are dark or light by their name.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Tones {
    pub(crate) dark: Vec<String>,
    pub(crate) light: Vec<String>,
    pub(crate) weak: Vec<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Css {
    pub(crate) names: Vec<String>,
    pub(crate) closed: Vec<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Phrases {
    pub(crate) phrases: Vec<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Shade {
    pub(crate) name: String,
    pub(crate) before: Vec<String>,
    #[serde(default)]
    pub(crate) after: Vec<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Words {
    pub(crate) age_group: Vec<AgeGroup>,
    pub(crate) written_out: Vec<WrittenOut>,
    pub(crate) short_sizes: BTreeMap<String, String>,
    pub(crate) short_words: BTreeMap<String, String>,
    pub(crate) general_goods: List,
    pub(crate) before_sizes: List,
    pub(crate) parts: List,
    pub(crate) same: BTreeMap<String, Vec<String>>,
    pub(crate) labels: Labels,
    pub(crate) prints: List,
    pub(crate) patterns: List,
    pub(crate) describing: Phrases,
    pub(crate) ambiguous: Phrases,
    pub(crate) option_names: OptionNames,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AgeGroup {
    pub(crate) name: String,
    pub(crate) words: Vec<String>,
    #[serde(default)]
    pub(crate) more: Vec<String>,
    #[serde(default)]
    pub(crate) gives_way: Vec<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct WrittenOut {
    pub(crate) written: Vec<String>,
    #[serde(rename = "as")]
    pub(crate) meant: Vec<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Labels {
    pub(crate) size: Vec<String>,
    pub(crate) age: Vec<String>,
    pub(crate) other: Vec<String>,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct OptionNames {
    pub(crate) size: Vec<String>,
    pub(crate) material: Vec<String>,
    pub(crate) design: Vec<String>,
    pub(crate) good: Vec<String>,
    pub(crate) colour: Vec<String>,
    pub(crate) design_whole: Vec<String>,
}
