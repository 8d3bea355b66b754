//! The configuration: a TOML file, read strictly into what the audit takes into account.
//!
//! Must not know the command line. The keys are explained in `everyline.example.toml`, which is [`EXAMPLE`].
//! Start reading at [`Settings`]; `keys` is the shape of the file, `node` and `problem` make its errors exact.

mod keys;
mod node;
mod problem;
mod values;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use ::config::{File, FileFormat, Source};
use chrono_tz::Tz;
use forecast::CutOff;
use model::{Rules, SupplierId};

use crate::trouble::Trouble;
use keys::Keys;
use problem::Problem;
pub use problem::nearest;
pub use values::WEEKDAYS;

/// The commented example: every key, with its default or with an example.
pub const EXAMPLE: &str = include_str!("../../everyline.example.toml");

/// What is in force.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The shop's zone, in which dates without a time are read.
    pub zone: Tz,
    /// Graces, references and fees.
    pub rules: Rules,
    /// The suppliers' cut-offs, where they are configured.
    pub cut_offs: BTreeMap<SupplierId, CutOff>,
    /// The suppliers that the file names.
    pub suppliers: BTreeSet<SupplierId>,
}

/// What holds without a configuration file.
impl Default for Settings {
    fn default() -> Self {
        Keys::default().into()
    }
}

impl Settings {
    /// Reads a file; the defaults where there is none.
    ///
    /// # Errors
    /// Where the file cannot be read, or as [`Self::parse`].
    pub fn read(file: Option<&Path>) -> Result<Self, Trouble> {
        let Some(file) = file else { return Ok(Self::default()) };
        let name = file.display().to_string();
        let text = std::fs::read_to_string(file).map_err(|error| {
            Trouble::new(format!("the configuration file {name} could not be read"), error)
                .help("give the path of a file after --config; `everyline print configuration` writes one to begin with")
        })?;
        Self::parse(&text, &name)
    }

    /// Reads the text of a file; `name` is what errors call it.
    ///
    /// # Errors
    /// Where the text is not TOML, a key is unknown or missing, or a value is not what its key expects: the
    /// first such place, with its path.
    pub fn parse(text: &str, name: &str) -> Result<Self, Trouble> {
        let trouble =
            |cause: String| Trouble::new(format!("the configuration file {name} cannot be used"), cause);
        let table = File::from_str(text, FileFormat::Toml).collect().map_err(|error| {
            let cause = match error {
                ::config::ConfigError::FileParse { cause, .. } => cause.to_string(),
                other => other.to_string(),
            };
            trouble(cause).help("the file must be TOML: `key = \"text\"` under `[table]`, each key once")
        })?;
        let keys: Keys = node::read(table)
            .and_then(Keys::checked)
            .map_err(|problem: Problem| trouble(problem.to_string()).help(problem.help()))?;
        Ok(keys.into())
    }
}
