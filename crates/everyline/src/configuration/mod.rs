//! The configuration: a TOML file, read strictly into what is in force.
//!
//! Must not know the command line. The keys are explained in `everyline.example.toml`, which is [`EXAMPLE`].
//! Start reading at [`Configuration`]; `keys` is the shape of the file, `node` and `problem` make its errors exact.

mod keys;
mod node;
mod page;
mod problem;
mod sending;
mod sheet;
mod values;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ::config::{File, FileFormat, Source};
use chrono_tz::Tz;
use forecast::CutOff;
use intake::source::declare::{Grant, Origin, SecretReference, SignIn, Source as DeclaredSource};
use links::Vocabulary;
use model::{Rules, ShopId, SourceId, SupplierId};

use crate::trouble::Trouble;
use keys::Keys;
pub use page::{Page, USUAL_ADDRESS};
use problem::Problem;
pub use problem::nearest;
pub use sending::{MailServer, Recipient, Sending, USUAL_TIME, Way};
pub use sheet::SheetSettings;
pub use values::WEEKDAYS;

/// The commented example: every key, with its default or with an example.
pub const EXAMPLE: &str = include_str!("../../everyline.example.toml");

/// What is in force.
#[derive(Clone, Debug)]
pub struct Configuration {
    /// Where the ledger is.
    pub ledger: PathBuf,
    /// The shops, at least one.
    pub shops: BTreeMap<ShopId, Settings>,
    /// Who is told what, and how.
    pub sending: Sending,
    /// Where the page is served, and to whom.
    pub page: Page,
}

/// What is in force for one shop.
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
    /// Where its orders, offers, variants, submissions and parcels come from.
    pub sources: BTreeMap<SourceId, DeclaredSource>,
    /// What option text is read by, with the owner's words.
    pub vocabulary: Arc<Vocabulary>,
    /// What holds for new listings.
    pub sheet: SheetSettings,
}

/// What holds without a configuration file.
impl Default for Settings {
    fn default() -> Self {
        Self::of_nothing()
    }
}

impl Configuration {
    /// Reads a file. A ledger, folders and files of secrets and tokens that are not given by their whole paths are in
    /// the folder of the file. Tokens of which it is not said where they are kept are beside the ledger.
    ///
    /// # Errors
    /// Where the file cannot be read, or as [`Self::parse`].
    pub fn read(file: &Path) -> Result<Self, Trouble> {
        let name = file.display().to_string();
        let text = std::fs::read_to_string(file).map_err(|error| {
            Trouble::new(format!("the configuration file {name} could not be read"), error).help(
                "give the path of a file after --config; `everyline print configuration` writes one to begin with",
            )
        })?;
        Self::of_text(&text, file)
    }

    /// Reads the text that is to stand in a file, with paths as [`Self::read`] has them.
    ///
    /// # Errors
    /// As [`Self::parse`].
    pub fn of_text(text: &str, file: &Path) -> Result<Self, Trouble> {
        let mut read = Self::parse(text, &file.display().to_string())?;
        if let Some(folder) = file.parent() {
            read.ledger = folder.join(&read.ledger);
            read.sending.in_folder(folder);
            read.page.in_folder(folder);
            for (shop, settings) in &mut read.shops {
                for (name, source) in &mut settings.sources {
                    for path in paths_in(&mut source.origin) {
                        *path = folder.join(&*path);
                    }
                    if let Some(tokens @ None) = tokens_of(&mut source.origin) {
                        *tokens = Some(usual_tokens(&read.ledger, shop, name));
                    }
                }
            }
        }
        Ok(read)
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
                ::config::ConfigError::FileParse { cause, .. } => without_the_line(&cause.to_string()),
                other => other.to_string(),
            };
            trouble(cause).help("the file must be TOML: `key = \"text\"` under `[table]`, each key once")
        })?;
        node::read::<Keys>(table)
            .and_then(Keys::checked)
            .map_err(|problem: Problem| trouble(problem.to_string()).help(problem.help()))
    }

    /// The shop that is asked for; where there is only one, it need not be.
    ///
    /// # Errors
    /// Where there is no such shop, or several and none is asked for.
    pub fn shop(&self, asked: Option<&str>) -> Result<(&ShopId, &Settings), Trouble> {
        let names = || self.shops.keys().map(ShopId::as_str).collect::<Vec<_>>().join(", ");
        let mut shops = self.shops.iter();
        match (asked, shops.next(), shops.next()) {
            (None, Some(only), None) => Ok(only),
            (None, ..) => {
                Err(Trouble::new("it is not clear which shop is meant", "the configuration has several")
                    .help(format!("say which with --shop: {}", names())))
            }
            (Some(asked), ..) => {
                self.shops.iter().find(|(shop, _)| shop.as_str() == asked).ok_or_else(|| {
                    Trouble::new("there is no such shop", format!("--shop is {asked:?}"))
                        .help(format!("known are: {}", names()))
                })
            }
        }
    }
}

/// The paths that a source is read by: of its folder, or of its secret and its tokens.
fn paths_in(origin: &mut Origin) -> Vec<&mut PathBuf> {
    let sign_in = match origin {
        Origin::Folder(path) | Origin::Exports(path, _) => return vec![path],
        Origin::Service(service) => service.sign_in.as_mut(),
    };
    let (secret, tokens) = match sign_in {
        Some(SignIn::Header { secret, .. } | SignIn::Basic { secret, .. }) => (Some(secret), None),
        Some(SignIn::OAuth(oauth)) => {
            let tokens = match &mut oauth.grant {
                Grant::AuthorizationCode { tokens, .. } => tokens.as_mut(),
                Grant::ClientCredentials => None,
            };
            (oauth.secret.as_mut(), tokens)
        }
        None => (None, None),
    };
    let secret = secret.and_then(|secret| match secret {
        SecretReference::File(path) => Some(path),
        SecretReference::Environment(_) | SecretReference::Credential(_) => None,
    });
    secret.into_iter().chain(tokens).collect()
}

/// Where the tokens of a source are kept, of one to which somebody signs in.
fn tokens_of(origin: &mut Origin) -> Option<&mut Option<PathBuf>> {
    let Origin::Service(service) = origin else { return None };
    match service.sign_in.as_mut()? {
        SignIn::OAuth(oauth) => match &mut oauth.grant {
            Grant::AuthorizationCode { tokens, .. } => Some(tokens),
            Grant::ClientCredentials => None,
        },
        SignIn::Header { .. } | SignIn::Basic { .. } => None,
    }
}

/// `everyline.db.till@shop.tokens`, beside the ledger: there everyline writes anyway. No name of a source or a shop has an @.
fn usual_tokens(ledger: &Path, shop: &ShopId, source: &SourceId) -> PathBuf {
    let mut name = ledger.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{source}@{shop}.tokens"));
    ledger.with_file_name(name)
}

/// What is wrong, without the line itself, which the parser draws between bars: a secret may stand in it.
fn without_the_line(cause: &str) -> String {
    let is_drawn = |line: &&str| {
        line.trim_start().trim_start_matches(|c: char| c.is_ascii_digit()).trim_start().starts_with('|')
    };
    cause.lines().filter(|line| !is_drawn(line)).collect::<Vec<_>>().join("\n")
}

impl Settings {
    /// Reads a file of one shop, or one of its shops; the defaults where there is no file.
    ///
    /// # Errors
    /// As [`Configuration::read`] and [`Configuration::shop`].
    pub fn read(file: Option<&Path>, shop: Option<&str>) -> Result<Self, Trouble> {
        let Some(file) = file else { return Ok(Self::default()) };
        Ok(Configuration::read(file)?.shop(shop)?.1.clone())
    }

    /// Reads the text of a file of one shop; `name` is what errors call it.
    ///
    /// # Errors
    /// As [`Configuration::parse`].
    pub fn parse(text: &str, name: &str) -> Result<Self, Trouble> {
        Ok(Configuration::parse(text, name)?.shop(None)?.1.clone())
    }
}
