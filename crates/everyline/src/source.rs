//! `everyline source`: trying a source before anything relies on it, and looking at what it answers. Nothing is kept.
//!
//! Must not know how an answer is read, nor the ledger. Start reading at [`run`]; `check` tries it step by step,
//! `preview` shows its first records, whose columns `rows` writes out, `sign_in` lets somebody sign in, and `words`
//! says what is wrong and what to do; `samples` proposes a mapping for files and `connect` a source for addresses, and
//! `confirm` settles what they leave open.

mod check;
mod confirm;
mod connect;
mod preview;
mod rows;
mod samples;
mod sign_in;
mod words;

use std::future::Future;
use std::io;
use std::path::Path;
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, Utc};
use intake::source::declare::{Origin, Request, Role, Service, Source};
use intake::source::http::{Limits, Trouble as NoAnswer, World};
use intake::source::poll::{PollError, Reader};
use intake::{Folder, FolderError, ReadSettings, read_exports_part, read_part};
use model::{ShopId, SourceId};

use crate::arguments::{ShopArguments, SourceCommand};
use crate::configuration::{Configuration, Settings, nearest};
use crate::exit::Exit;
use crate::live::asker;
use crate::live::world::Machine;
use crate::opened;
use crate::terminal;
use crate::trouble::Trouble;

/// What digests are keyed with: nobody keeps them, nor are they shown.
const DIGEST_KEY: &[u8] = b"nothing is kept";

/// Somebody sits before it and waits: two tries, and no long waits. `everyline watch` is more patient.
fn limits() -> Limits {
    Limits {
        connect: Duration::from_secs(5),
        answer: Duration::from_secs(30),
        tries: 2,
        first_wait: Duration::from_millis(500),
        longest_wait: Duration::from_millis(500),
        longest_retry_after: Duration::from_secs(5),
        ..Limits::default()
    }
}

/// A wait that is longer than any between two tries: it is the source's own rate, and is said.
const LONG_WAIT: Duration = Duration::from_secs(6);

/// Runs the command.
///
/// # Errors
/// Where the configuration cannot be used, or has no such source or request.
pub fn run(what: &SourceCommand) -> Result<Exit, Trouble> {
    match what {
        SourceCommand::Check(asked) => {
            let meant = Meant::of(&asked.source, &asked.of)?;
            opened::run(check::check(&meant))
        }
        SourceCommand::Preview(asked) => {
            if let Some(map) = &asked.map {
                return samples::preview(map, asked);
            }
            let meant = Meant::of(asked.source.as_deref().unwrap_or_default(), &asked.of)?;
            opened::run(preview::preview(&meant, asked))
        }
        SourceCommand::Propose(asked) if !asked.urls.is_empty() => connect::propose(asked),
        SourceCommand::Propose(asked) => samples::propose(asked),
        SourceCommand::Confirm(asked) => confirm::confirm(asked),
        SourceCommand::SignIn(asked) => {
            let meant = Meant::of(&asked.source, &asked.of)?;
            opened::run(sign_in::sign_in(&meant, asked))
        }
    }
}

/// The source that is meant.
struct Meant {
    shop: ShopId,
    settings: Settings,
    name: SourceId,
    source: Source,
}

impl Meant {
    fn of(name: &str, asked: &ShopArguments) -> Result<Self, Trouble> {
        let configuration = Configuration::read(&asked.config)?;
        let (shop, settings) = configuration.shop(asked.shop.as_deref())?;
        let Some((name, source)) = settings.sources.iter().find(|(known, _)| known.as_str() == name) else {
            let known: Vec<&str> = settings.sources.keys().map(SourceId::as_str).collect();
            let cause = format!("{} has no source {name:?}", asked.config.display());
            let help = if known.is_empty() {
                "it declares none; `everyline print configuration` shows how, under [sources.NAME]".to_owned()
            } else {
                which(name, &known)
            };
            return Err(Trouble::new("there is no such source", cause).help(help));
        };
        Ok(Self {
            shop: shop.clone(),
            settings: settings.clone(),
            name: name.clone(),
            source: source.clone(),
        })
    }

    /// `Source till, a storefront`.
    fn title(&self) -> String {
        match &self.source.role {
            Role::Storefront => format!("Source {}, a storefront", self.name),
            Role::Supplier(supplier) => format!("Source {}, of the supplier {supplier}", self.name),
        }
    }

    /// What asks a service; where it cannot be made, what is the matter and what to do.
    fn reader(&self, service: &Service) -> Result<Reader, (String, String)> {
        words::secret(service)?;
        let world: Arc<dyn World> = Arc::new(Waiting(service.at_most.to_string()));
        asker::reader(&self.shop, &self.name, service, DIGEST_KEY, limits(), &world)
            .map_err(|what| (what, format!("Correct it under [sources.{}].", self.name)))
    }

    /// What stands in a folder.
    async fn folder(&self, folder: &Path) -> Result<Folder, FolderError> {
        let (dir, settings, source) = (folder.to_owned(), self.settings.clone(), self.source.clone());
        let read = tokio::task::spawn_blocking(move || {
            let read = ReadSettings { zone: settings.zone, rules: &settings.rules };
            match &source.origin {
                Origin::Exports(..) => read_exports_part(&dir, &source, &read, DIGEST_KEY),
                Origin::Folder(_) | Origin::Service(_) => read_part(&dir, &read, &mut |_| {}),
            }
        });
        read.await.unwrap_or_else(|error| {
            Err(FolderError::Unreadable { path: folder.to_owned(), source: io::Error::other(error) })
        })
    }
}

/// A name that is like what was typed, and those that there are.
fn which(typed: &str, known: &[&str]) -> String {
    let listed = known.join(", ");
    match nearest(typed, known.iter().copied()) {
        Some(near) => format!("did you mean {near}? There are: {listed}"),
        None => format!("there are: {listed}"),
    }
}

/// Whether nothing at all came, so that nothing will come of asking on.
fn is_silent(error: &PollError) -> bool {
    let PollError::Unreachable { trouble, .. } = error else { return false };
    matches!(trouble, NoAnswer::Unreachable { .. } | NoAnswer::TimedOut { .. })
}

/// `Request pieces, asked for one of the submissions`, with an empty line above it.
fn title_of(request: &Request) -> String {
    let each = request.for_each().map(|table| format!(", asked for one of the {table}"));
    let title = format!("Request {}{}", request.name, each.unwrap_or_default());
    format!("\n{}", under(&title, "", "  "))
}

/// As wide as there is room, under each other behind what stands before them.
fn under(text: &str, first: &str, rest: &str) -> String {
    let options = textwrap::Options::new(terminal::width())
        .initial_indent(first)
        .subsequent_indent(rest)
        // A path, an address or an id is more easily read whole.
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(&digest::clean(text), options) + "\n"
}

/// `1 record`, `40 records`, `no records`.
fn counted(count: usize, one: &str, many: &str) -> String {
    match count {
        0 => format!("no {many}"),
        1 => format!("1 {one}"),
        _ => format!("{count} {many}"),
    }
}

/// This machine, which says so where it has to wait long. It knows how fast the source may be asked.
struct Waiting(String);

impl World for Waiting {
    fn now(&self) -> DateTime<Utc> {
        Machine.now()
    }

    fn random(&self) -> f64 {
        Machine.random()
    }

    fn sleep(&self, span: Duration) -> Pin<Box<dyn Future<Output = ()> + Send + '_>> {
        if span > LONG_WAIT {
            terminal::tell(&format!(
                "waiting for {} seconds: the source is asked at most {}, as at_most says",
                span.as_secs(),
                self.0
            ));
        }
        Box::pin(tokio::time::sleep(span))
    }
}
