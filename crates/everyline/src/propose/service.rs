//! A source proposed for addresses: what the command line and the page both do.
//!
//! What was typed is checked as the configuration would be, before anything is asked. Must not know how it is shown or
//! where it is written. Start reading at [`Ready::of`].

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use intake::connect::{ConnectError, Connected, Given, MAX_REQUESTS, connect};
use intake::propose::{Answers, Asked, Beside, Proposal, ProposedRole, text_of_service};
use intake::source::declare::{OAuth, Origin, Role, Service, SignIn, Source};
use intake::source::http::{Few, Limits, Trouble as NoAnswer, World};
use intake::source::poll::Reader;
use model::{Book, ShopId, SourceId};
use toml_edit::{DocumentMut, InlineTable, Value};

use super::NOTHING_KEPT;
use crate::configuration::{Configuration, Settings};
use crate::live::asker;
use crate::live::world::Machine;
use crate::trouble::Trouble;

const NOT_PROPOSED: &str = "no source was proposed";

/// In which file a source is thought to stand that is written to standard output.
const USUAL_FILE: &str = "everyline.toml";

/// What a source is proposed for.
#[derive(Debug)]
pub struct Addresses<'a> {
    /// The addresses, all of one service.
    pub urls: &'a [String],
    /// The name of the source; `None`: by its role.
    pub name: Option<&'a str>,
    /// What it is a source of.
    pub role: ProposedRole,
    /// The zone of times that do not say theirs; not where it is added to a file, which has one.
    pub zone: Option<chrono_tz::Tz>,
    /// Where the configuration is going to be.
    pub out: Option<&'a Path>,
    /// Whether it is there, and the source is added to it.
    pub is_added: bool,
    /// How to sign in: a table of TOML, with the keys of `sign_in`.
    pub sign_in: Option<&'a str>,
    /// Header lines, `NAME: VALUE`, none of them secret.
    pub headers: &'a [String],
    /// The mapping of the shop's other source, whose values are compared; where the source is added to a file with a
    /// storefront, that is it.
    pub beside: Option<&'a Path>,
    /// What the owner said.
    pub answers: Answers,
}

/// Addresses of which all is known to begin with, and nothing was asked yet.
#[derive(Debug)]
pub struct Ready {
    /// The shop.
    pub shop: ShopId,
    /// What is in force for it.
    pub settings: Settings,
    /// The name of the source.
    pub name: SourceId,
    /// The source, with requests that stand for those that are to be found.
    pub source: Source,
    given: Given,
    asked: Asked,
    /// The keys of the source that were typed, as lines of configuration.
    head: String,
    /// The file to which it is added.
    existing: Option<String>,
    file: PathBuf,
    beside: Option<PathBuf>,
}

/// Why nothing came of asking.
#[derive(Debug)]
pub enum NotConnected {
    /// Somebody has to sign in first.
    SignedOut(Trouble),
    /// Anything else.
    Trouble(Trouble),
}

impl From<Trouble> for NotConnected {
    fn from(trouble: Trouble) -> Self {
        Self::Trouble(trouble)
    }
}

/// Somebody sits before it and waits; and as few requests are made as can be, so that none is spent on a second try but
/// where `connect` says so.
fn limits() -> Limits {
    Limits {
        connect: Duration::from_secs(5),
        answer: Duration::from_secs(30),
        tries: 1,
        first_wait: Duration::from_millis(500),
        longest_retry_after: Duration::from_secs(5),
        ..Limits::default()
    }
}

impl Ready {
    /// Checks what was typed.
    ///
    /// # Errors
    /// Where it could not stand in a configuration, or the file cannot be added to. No secret is repeated.
    pub fn of(addresses: &Addresses<'_>) -> Result<Self, Trouble> {
        let given = Given::of(addresses.urls).map_err(|error| {
            Trouble::new(NOT_PROPOSED, error)
                .help("give the addresses of one service, each after --url, as they would be asked for")
        })?;
        let name = addresses.name.map(str::to_owned).unwrap_or_else(|| match &addresses.role {
            ProposedRole::Storefront => "storefront".to_owned(),
            ProposedRole::Supplier(name) => name.clone(),
        });
        let file = addresses.out.unwrap_or(Path::new(USUAL_FILE)).to_owned();
        let existing = match (addresses.is_added, addresses.out) {
            (true, Some(out)) => Some(fs::read_to_string(out).map_err(|error| {
                Trouble::new(NOT_PROPOSED, format!("{} could not be read: {error}", out.display()))
                    .help("leave out --add to write it anew")
            })?),
            _ => None,
        };
        if let Some(existing) = &existing {
            may_be_added(existing, &name, &file)?;
        }
        let head = head(addresses, &given)?;
        let stub = stub(&name, &addresses.role, &head, &given);
        let zone = addresses.zone.filter(|_| existing.is_none());
        let zone_line = zone.map(|zone| format!("zone = \"{}\"\n", zone.name())).unwrap_or_default();
        let text = format!("{zone_line}{}\n{stub}", existing.as_deref().unwrap_or_default());
        let configuration = Configuration::of_text(&text, &file).map_err(|trouble| trouble.of_typed())?;
        let (shop, settings) = configuration.shop(None)?;
        let found = settings.sources.iter().find(|(known, _)| known.as_str() == name);
        let Some((name, source)) = found.map(|(name, source)| (name.clone(), source.clone())) else {
            return Err(Trouble::new(NOT_PROPOSED, "the source could not be declared"));
        };
        let has_storefront =
            |(known, source): (&SourceId, &Source)| *known != name && source.role == Role::Storefront;
        let beside_itself = existing.is_some()
            && addresses.role != ProposedRole::Storefront
            && settings.sources.iter().any(has_storefront);
        let asked = Asked {
            name: name.to_string(),
            role: addresses.role.clone(),
            zone: match &existing {
                Some(_) => (settings.zone != chrono_tz::Tz::UTC).then_some(settings.zone),
                None => addresses.zone,
            },
            folder: String::new(),
            beside: Beside::default(),
            answers: addresses.answers.clone(),
        };
        Ok(Self {
            shop: shop.clone(),
            settings: settings.clone(),
            name,
            source,
            given,
            asked,
            head,
            beside: addresses.beside.map(Path::to_owned).or_else(|| beside_itself.then(|| file.clone())),
            existing,
            file,
        })
    }

    /// How it is asked.
    pub fn service(&self) -> Option<&Service> {
        match &self.source.origin {
            Origin::Service(service) => Some(service),
            Origin::Folder(_) | Origin::Exports(..) => None,
        }
    }

    /// The sign-in of somebody, where it takes one.
    pub fn by_somebody(&self) -> Option<&OAuth> {
        match self.service()?.sign_in.as_ref()? {
            SignIn::OAuth(oauth) if oauth.needs_somebody() => Some(oauth),
            _ => None,
        }
    }

    /// Asks the addresses, and proposes how to read them. No more requests are made than [`MAX_REQUESTS`].
    ///
    /// # Errors
    /// Where they do not answer, or no table is found in what they answer.
    pub async fn connect(&self) -> Result<Connected, NotConnected> {
        let few = Arc::new(Few::new(MAX_REQUESTS, Arc::new(Machine)));
        let reader = reader((&self.shop, &self.name), &self.source, &few)?;
        let mut asked = self.asked.clone();
        if let Some(beside) = &self.beside {
            // Of ten requests no address may be left without one.
            let spare = (MAX_REQUESTS as usize).saturating_sub(self.given.targets.len());
            asked.beside = beside_of(beside, &self.name, &few, spare).await?;
        }
        match connect(&reader.client, &few, &self.given, &asked, &self.obeyed()).await {
            Ok(mut connected) => {
                connected.proposal.head.clone_from(&self.head);
                Ok(connected)
            }
            Err(error) => Err(self.not_connected(&error)),
        }
    }

    /// Parameters for changes that other sources of the configuration are declared to obey at the same address.
    fn obeyed(&self) -> Vec<String> {
        let mut obeyed = Vec::new();
        for (_, source) in self.settings.sources.iter().filter(|(name, _)| **name != self.name) {
            let Origin::Service(service) = &source.origin else { continue };
            if service.address.origin() != self.given.address.origin() {
                continue;
            }
            for changes in service.requests.iter().filter_map(|request| request.changes.as_ref()) {
                if !obeyed.contains(&changes.ask) {
                    obeyed.push(changes.ask.clone());
                }
            }
        }
        obeyed
    }

    /// The whole file, with what was proposed.
    ///
    /// # Errors
    /// Where it is added to a file that could not be used with it as it is.
    pub fn file(&self, connected: &Connected) -> Result<String, Trouble> {
        let text = text_of_service(&connected.proposal, self.existing.is_some());
        let Some(existing) = &self.existing else { return Ok(text) };
        let whole = format!("{}\n\n{text}", existing.trim_end());
        Configuration::of_text(&whole, &self.file).map_err(|trouble| {
            Trouble::new(
                "the source was not added",
                format!(
                    "with it {} could not be used, for points are open: {}",
                    self.file.display(),
                    trouble.cause()
                ),
            )
            .help("say what is open with --answer, or write it to a file of its own and settle it there")
        })?;
        Ok(whole)
    }

    /// Whether what was proposed can be used as it is; if not, why.
    pub fn is_whole(&self, text: &str) -> Result<(), Trouble> {
        Configuration::of_text(text, &self.file).map(|_| ())
    }

    fn not_connected(&self, error: &ConnectError) -> NotConnected {
        let trouble = Trouble::new(NOT_PROPOSED, error);
        let ConnectError::NoAnswer { trouble: no_answer, .. } = error else {
            return trouble
                .help("give the addresses at which the service lists its orders, variants or parcels; where they are \
                       there and not understood, say with --answer where they stand")
                .into();
        };
        let signs_in = self.service().is_some_and(|service| service.sign_in.is_some());
        let help = match no_answer {
            NoAnswer::SignIn { .. } if signs_in => {
                "check the secret of --sign-in, that it has not run out, and that it may read this".to_owned()
            }
            NoAnswer::SignIn { .. } => "it wants to know who asks: say how to sign in, such as --sign-in '{ header = \
                                        \"Authorization\", before = \"Bearer \", secret = { environment = \"TILL_KEY\" } }'"
                .to_owned(),
            NoAnswer::SignedOut { lost } => {
                return NotConnected::SignedOut(trouble.help(lost.help(self.name.as_str())));
            }
            NoAnswer::NoToken { trouble } => trouble.help().to_owned(),
            NoAnswer::Html { .. } => {
                "it is a page for people; look in what the service documents for where it answers programs".to_owned()
            }
            NoAnswer::NotJson { .. } => {
                "addresses are read as JSON alone; a table that can be downloaded is read with --sample".to_owned()
            }
            NoAnswer::Refused { status: 404 | 410 } => "check the address with what the service documents".to_owned(),
            NoAnswer::Elsewhere { .. } => "if that is where the service is now, give that address".to_owned(),
            NoAnswer::TooLarge { .. } | NoAnswer::TooMany { .. } => {
                "ask for smaller pages: give the parameter for it in the address".to_owned()
            }
            NoAnswer::Busy { .. } | NoAnswer::Cut | NoAnswer::TimedOut { .. } => "try again later".to_owned(),
            _ => "check the address, and that this machine has a way to it".to_owned(),
        };
        trouble.help(help).into()
    }
}

impl Trouble {
    /// Of a configuration that nobody has written yet.
    fn of_typed(self) -> Self {
        let cause = self.cause().to_owned();
        let help = self.into_help();
        let trouble =
            Self::new(NOT_PROPOSED, format!("what was given could not stand in a configuration: {cause}"));
        match help {
            Some(help) => trouble.help(help),
            None => trouble,
        }
    }
}

/// What asks a source through a counted world.
fn reader((shop, name): (&ShopId, &SourceId), source: &Source, few: &Arc<Few>) -> Result<Reader, Trouble> {
    let Origin::Service(service) = &source.origin else {
        return Err(Trouble::new(NOT_PROPOSED, format!("source {name} is not asked")));
    };
    let world: Arc<dyn World> = Arc::<Few>::clone(few);
    asker::reader(shop, name, service, NOTHING_KEPT, limits(), &world).map_err(|what| {
        Trouble::new(format!("source {name} cannot be asked"), what).help("correct how it signs in")
    })
}

fn may_be_added(existing: &str, name: &str, file: &Path) -> Result<(), Trouble> {
    let whole = Configuration::of_text(existing, file)?;
    let (_, settings) = whole.shop(None).map_err(|_| {
        Trouble::new(NOT_PROPOSED, format!("{} has several shops", file.display()))
            .help("write the source to a file of its own, and move it to its shop")
    })?;
    if settings.sources.keys().any(|known| known.as_str() == name) {
        return Err(Trouble::new(NOT_PROPOSED, format!("{} has a source {name} already", file.display()))
            .help("give another name after --name, or take that source out"));
    }
    let has_shops = existing.parse::<DocumentMut>().is_ok_and(|document| document.get("shops").is_some());
    if has_shops {
        return Err(Trouble::new(NOT_PROPOSED, format!("{} has its sources under its shop", file.display()))
            .help("write the source to a file of its own, and move it to its shop"));
    }
    Ok(())
}

/// The keys of the source that were typed: its address, its sign-in, its headers.
fn head(addresses: &Addresses<'_>, given: &Given) -> Result<String, Trouble> {
    let mut head = format!("address = {}\n", Value::from(given.address.as_str()));
    if let Some(sign_in) = addresses.sign_in {
        // What the parser says of it would repeat it.
        let table = match sign_in.trim().parse::<Value>() {
            Ok(Value::InlineTable(table)) => table,
            _ => {
                return Err(Trouble::new(NOT_PROPOSED, "--sign-in is no table of TOML on one line").help(
                    "say, for instance, --sign-in '{ header = \"Authorization\", before = \"Bearer \", secret = { \
                     environment = \"TILL_KEY\" } }'",
                ));
            }
        };
        let _ = writeln!(head, "sign_in = {}", Value::from(table).decorated("", ""));
    }
    if !addresses.headers.is_empty() {
        let mut table = InlineTable::new();
        for line in addresses.headers {
            let Some((name, value)) = line.split_once(':') else {
                return Err(Trouble::new(NOT_PROPOSED, "--header is no header line")
                    .help("say, for instance, --header 'Accept: application/json'"));
            };
            table.insert(name.trim(), Value::from(value.trim()));
        }
        let _ = writeln!(head, "headers = {}", Value::from(table));
    }
    Ok(head)
}

/// A source with these keys, whose requests stand for those that are to be found: so that what was typed is checked as all
/// configuration is.
fn stub(name: &str, role: &ProposedRole, head: &str, given: &Given) -> String {
    let source = format!("sources.{}", Value::from(name));
    let mut text = format!("[{source}]\nrole = {}\n", Value::from(role.word()));
    if let Some(supplier) = role.supplier() {
        let _ = writeln!(text, "supplier = {}", Value::from(supplier));
    }
    text += head;
    let (table, fields) = match role {
        ProposedRole::Storefront => ("orders", ["order_id", "placed_at", "status"]),
        ProposedRole::Supplier(_) => ("submissions", ["submission_id", "received_at", "status"]),
    };
    for (target, number) in given.targets.iter().zip(1..) {
        let under = format!("{source}.requests.address_{number}");
        let _ = writeln!(text, "[{under}]\npath = {}", Value::from(target.path.as_str()));
        if !target.query.is_empty() {
            let pairs = target.query.iter().map(|(name, value)| (name.as_str(), Value::from(value.as_str())));
            let _ = writeln!(text, "query = {}", Value::from(pairs.collect::<InlineTable>()));
        }
        let _ = writeln!(text, "[{under}.tables.{table}]\nat = \"$[*]\"\n[{under}.tables.{table}.fields]");
        for field in fields {
            let _ = writeln!(text, "{field} = \"$.{field}\"");
        }
    }
    text
}

/// What the shop's storefront has, as its files or its first answers say: of these at most so many.
async fn beside_of(map: &Path, own: &SourceId, few: &Arc<Few>, spare: usize) -> Result<Beside, Trouble> {
    let configuration = Configuration::read(map)?;
    let (shop, settings) = configuration.shop(None)?;
    let mut beside = Beside::default();
    if settings.sources.values().any(|source| matches!(source.origin, Origin::Exports(..))) {
        let of_files = super::beside(map)?;
        beside.order_ids.extend(of_files.order_ids);
        beside.skus.extend(of_files.skus);
    }
    let mut left = spare.min(MOST_BESIDE);
    for (name, source) in &settings.sources {
        let Origin::Service(service) = &source.origin else { continue };
        if source.role != Role::Storefront || name == own {
            continue;
        }
        let reader = reader((shop, name), source, few)?;
        for request in service.requests.iter().filter(|request| request.for_each().is_none()) {
            let brings = |table: &str| request.tables().any(|known| known == table);
            if left == 0 || !(brings("orders") || brings("order_lines")) {
                continue;
            }
            left -= 1;
            // Where it does not answer, nothing is compared.
            if let Ok(Some(mapped)) = reader.preview(request).await {
                add(&mut beside, &mapped.rows);
            }
        }
    }
    Ok(beside)
}

/// How many of the requests are spent on the shop's other source.
const MOST_BESIDE: usize = 2;

fn add(beside: &mut Beside, book: &Book) {
    beside.order_ids.extend(book.orders.iter().map(|order| order.order_id.to_string()));
    let skus =
        book.order_lines.iter().filter_map(|line| line.sku.as_ref()).map(|sku| sku.as_str().to_owned());
    beside.skus.extend(skus);
}

/// What would be proposed for the requests of a source that is asked, by their first answers alone.
///
/// # Errors
/// Where they do not answer.
pub async fn proposed_again(
    (shop, settings): (&ShopId, &Settings),
    name: &SourceId,
    source: &Source,
    beside: Option<&Path>,
) -> Result<Proposal, Trouble> {
    let few = Arc::new(Few::new(MAX_REQUESTS, Arc::new(Machine)));
    let reader = reader((shop, name), source, &few)?;
    let requests = source.requests().iter().filter(|request| request.for_each().is_none());
    let urls: Vec<String> = requests
        .filter_map(|request| Some(reader.service.url(request, None).ok()?.to_string()))
        .take(MAX_REQUESTS as usize)
        .collect();
    let what = "nothing was confirmed";
    let given = Given::of(&urls).map_err(|error| Trouble::new(what, error))?;
    let beside = match beside {
        Some(map) => beside_of(map, name, &few, (MAX_REQUESTS as usize).saturating_sub(urls.len())).await?,
        None => Beside::default(),
    };
    let asked = Asked {
        name: name.to_string(),
        role: match &source.role {
            Role::Storefront => ProposedRole::Storefront,
            Role::Supplier(name) => ProposedRole::Supplier(name.to_string()),
        },
        zone: (settings.zone != chrono_tz::Tz::UTC).then_some(settings.zone),
        folder: String::new(),
        beside,
        answers: Answers::default(),
    };
    let proposed = intake::connect::proposed_again(&reader.client, &few, &given, &asked).await;
    let mut proposal = proposed.map_err(|error| {
        Trouble::new(what, error).help(format!("`everyline source check {name}` says what is wrong"))
    })?;
    // Others were declared by hand, and are nobody's proposal.
    proposal.requests.retain(|request| source.requests().iter().any(|known| known.name == request.name));
    Ok(proposal)
}
