//! Who is told what, when and by which way: the keys `[digest]`, `[mail]` and `[recipients.NAME]`, checked.
//!
//! Must not know how a message is composed or sent. Start reading at [`Sending`].

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use chrono::{DateTime, NaiveTime, Utc};
use chrono_tz::Tz;
use digest::Urgency;
use digest::compose::Pages;
use intake::source::declare::SecretReference;
use model::{Check, ShopId};
use serde::Deserialize;
use serde::de::Error as _;

use super::Settings;
use super::problem::{Problem, nearest};
use super::values::{Text, Written};

/// When the digest goes out where nothing is said.
pub const USUAL_TIME: NaiveTime = match NaiveTime::from_hms_opt(7, 0, 0) {
    Some(time) => time,
    None => NaiveTime::MIN,
};

/// How many alerts somebody gets within an hour where nothing is said: more are read by nobody.
const USUAL_ALERTS_AN_HOUR: u32 = 4;

/// Who is told what, and how.
#[derive(Clone, Default, Debug)]
pub struct Sending {
    /// Where the pages are, as a recipient's browser reaches them; links to orders begin with it.
    pub pages: Option<Pages>,
    /// What is asked for after each round that was good as a whole.
    pub heartbeat: Option<SecretReference>,
    /// The mail server.
    pub mail: Option<MailServer>,
    /// By name.
    pub recipients: BTreeMap<String, Recipient>,
}

/// A mail server that takes mail to send on.
#[derive(Clone, Debug)]
pub struct MailServer {
    /// Where it is, and how the connection is encrypted.
    pub server: digest::deliver::MailServer,
    /// As it stands in the file.
    pub address: String,
    /// The name and password to sign in with.
    pub sign_in: Option<(String, SecretReference)>,
    /// From whom mails come.
    pub from: String,
    /// A file of certificates that are trusted beside the usual ones.
    pub authority: Option<PathBuf>,
}

/// Somebody, or something, that is told.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Recipient {
    /// How.
    pub way: Way,
    /// The shops; `None`: all.
    pub shops: Option<BTreeSet<ShopId>>,
    /// The checks; empty: all.
    pub checks: BTreeSet<Check>,
    /// The least urgent that is told.
    pub least: Urgency,
    /// Whether it gets a digest each morning.
    pub digest: bool,
    /// Whether it gets alerts.
    pub alerts: bool,
    /// When its digest goes out, by the clock of `zone`.
    pub at: NaiveTime,
    /// The zone of its days and times.
    pub zone: Tz,
    /// From when to when no alert goes out but what cannot wait until then.
    pub quiet: Option<(NaiveTime, NaiveTime)>,
    /// The most alerts within an hour.
    pub alerts_an_hour: u32,
}

/// How somebody is told.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Way {
    /// By mail to this address.
    Mail(String),
    /// A signed event to an address.
    Event {
        /// The address.
        address: SecretReference,
        /// What it is signed with; several while one is replaced.
        secrets: Vec<SecretReference>,
    },
    /// A text in JSON to an address, made from a template of the owner's.
    Chat {
        /// The address.
        address: SecretReference,
        /// The file of the template.
        template: PathBuf,
    },
}

impl Recipient {
    /// Whether it is told of a shop.
    pub fn wants_shop(&self, shop: &ShopId) -> bool {
        self.shops.as_ref().is_none_or(|shops| shops.contains(shop))
    }

    /// Whether it is told such a finding, now.
    pub fn wants(&self, finding: &model::Finding, now: DateTime<Utc>) -> bool {
        (self.checks.is_empty() || self.checks.contains(&finding.check))
            && Urgency::at(finding, now) >= self.least
    }
}

/// `[digest]`.
#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields, expecting = "a table such as { at = \"07:00\" }")]
pub(super) struct DigestKeys {
    at: Option<Text<NaiveTime>>,
    zone: Option<Text<Tz>>,
    pages: Option<String>,
    heartbeat: Option<SecretReference>,
}

/// `[mail]`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { server = \"mail.example.com\", from = \"…\" }")]
pub(super) struct MailKeys {
    server: String,
    user: Option<String>,
    password: Option<SecretReference>,
    from: String,
    authority: Option<String>,
}

/// `[recipients.NAME]`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { mail = \"owner@shop.example\" }")]
pub(super) struct RecipientKeys {
    mail: Option<String>,
    webhook: Option<SecretReference>,
    #[serde(default)]
    secrets: Vec<SecretReference>,
    template: Option<String>,
    shops: Option<Vec<String>>,
    #[serde(default)]
    checks: Vec<Text<Check>>,
    least: Option<Text<Urgency>>,
    digest: Option<bool>,
    alerts: Option<bool>,
    at: Option<Text<NaiveTime>>,
    zone: Option<Text<Tz>>,
    quiet: Option<Vec<Text<NaiveTime>>>,
    alerts_an_hour: Option<Text<u32>>,
}

impl Written for Check {
    const EXPECTED: &str = r#"the word of a check, such as "part-sent""#;

    fn parse(text: &str) -> Option<Self> {
        text.parse().ok()
    }

    fn hint(text: &str) -> Option<String> {
        nearest(text, Self::ALL.iter().map(|check| check.word()))
            .map(|near| format!("the nearest is {near:?}"))
    }
}

impl Written for Urgency {
    const EXPECTED: &str = "one of now, repair and watch, in quotes";

    fn parse(text: &str) -> Option<Self> {
        text.parse().ok()
    }
}

impl Written for u32 {
    const EXPECTED: &str = r#"a whole number in quotes from 1 to 60, such as "4""#;

    fn parse(text: &str) -> Option<Self> {
        text.parse().ok().filter(|number| (1..=60).contains(number))
    }
}

/// The keys as they stand in the file.
pub(super) struct SendingKeys {
    pub(super) digest: DigestKeys,
    pub(super) mail: Option<MailKeys>,
    pub(super) recipients: BTreeMap<String, RecipientKeys>,
}

impl SendingKeys {
    /// What is in force.
    ///
    /// # Errors
    /// The first value that does not fit the others.
    pub(super) fn checked(self, shops: &BTreeMap<ShopId, Settings>) -> Result<Sending, Problem> {
        let DigestKeys { at, zone, pages, heartbeat } = self.digest;
        let pages = pages.as_deref().map(checked_pages).transpose()?;
        let mail = self.mail.map(MailKeys::checked).transpose().map_err(|problem| problem.under("mail"))?;
        let usual = Usual { at: at.map_or(USUAL_TIME, |at| at.0), zone: zone.map(|zone| zone.0), shops };
        let mut recipients = BTreeMap::new();
        for (name, keys) in self.recipients {
            if !super::keys::is_plain(&name) {
                return Err(super::keys::not_plain("recipient").under(name).under("recipients"));
            }
            let recipient = keys
                .checked(&usual, mail.is_some())
                .map_err(|problem| problem.under(&name).under("recipients"))?;
            recipients.insert(name, recipient);
        }
        Ok(Sending { pages, heartbeat, mail, recipients })
    }
}

impl MailKeys {
    fn checked(self) -> Result<MailServer, Problem> {
        let server = digest::deliver::MailServer::parse(&self.server)
            .map_err(|unfit| Problem::custom(format!("{unfit}; {}", unfit.help())).under("server"))?;
        let sign_in =
            match (self.user, self.password) {
                (Some(user), Some(password)) => Some((user, password)),
                (None, None) => None,
                (Some(_), None) => {
                    return Err(Problem::custom("stands without a password; expected are both, or neither")
                        .under("user"));
                }
                (None, Some(_)) => {
                    return Err(Problem::custom("stands without a user; expected are both, or neither")
                        .under("password"));
                }
            };
        address(&self.from).map_err(|problem| problem.under("from"))?;
        Ok(MailServer {
            server,
            address: self.server,
            sign_in,
            from: self.from,
            authority: self.authority.map(PathBuf::from),
        })
    }
}

fn checked_pages(text: &str) -> Result<Pages, Problem> {
    let text_of = "is no address; expected is one as a browser has it, such as \"http://192.168.1.5:8080\"";
    Pages::parse(text).ok_or_else(|| Problem::custom(text_of).under("pages").under("digest"))
}

/// Whether it is the address of somebody.
fn address(text: &str) -> Result<(), Problem> {
    match digest::deliver::MailAddress::parse(text) {
        Ok(_) => Ok(()),
        Err(unfit) => Err(Problem::custom(format!("{unfit}; {}", unfit.help()))),
    }
}

/// What holds for a recipient of which nothing else is said.
struct Usual<'u> {
    at: NaiveTime,
    zone: Option<Tz>,
    shops: &'u BTreeMap<ShopId, Settings>,
}

impl Usual<'_> {
    /// The zone that all these shops have.
    fn zone_of(&self, shops: Option<&BTreeSet<ShopId>>) -> Option<Tz> {
        let own = |(shop, settings): (&ShopId, &Settings)| {
            shops.is_none_or(|shops| shops.contains(shop)).then_some(settings.zone)
        };
        let mut zones = self.shops.iter().filter_map(own);
        let first = zones.next()?;
        zones.all(|zone| zone == first).then_some(first)
    }
}

impl RecipientKeys {
    fn checked(self, usual: &Usual<'_>, has_server: bool) -> Result<Recipient, Problem> {
        let way = match (self.mail, self.webhook, self.template) {
            (Some(mail), None, None) => {
                address(&mail).map_err(|problem| problem.under("mail"))?;
                if !has_server {
                    let text = "needs a mail server; expected is a table [mail] with server and from";
                    return Err(Problem::custom(text).under("mail"));
                }
                Way::Mail(mail)
            }
            (None, Some(address), None) if !self.secrets.is_empty() => {
                Way::Event { address, secrets: self.secrets.clone() }
            }
            (None, Some(_), None) => {
                let text = "has nothing to be signed with; expected are secrets = [{ environment = \"NAME\" }], or a template";
                return Err(Problem::custom(text).under("webhook"));
            }
            (None, Some(address), Some(template)) => Way::Chat { address, template: PathBuf::from(template) },
            _ => {
                return Err(Problem::custom(
                    "does not say one way; expected is mail, or webhook with secrets, or webhook with a template",
                ));
            }
        };
        if !matches!(way, Way::Event { .. }) && !self.secrets.is_empty() {
            let text = "sign events alone; expected are they beside webhook and without a template";
            return Err(Problem::custom(text).under("secrets"));
        }
        let shops = match self.shops {
            None => None,
            Some(names) => {
                let mut shops = BTreeSet::new();
                for name in names {
                    let shop = ShopId::new(name.as_str());
                    if !usual.shops.contains_key(&shop) {
                        let known: Vec<&str> = usual.shops.keys().map(ShopId::as_str).collect();
                        let text = format!("has {name:?}, which is no shop; known are {}", known.join(", "));
                        return Err(Problem::custom(text).under("shops"));
                    }
                    shops.insert(shop);
                }
                if shops.is_empty() {
                    let text = "is empty; expected is at least one shop, or no such key for all of them";
                    return Err(Problem::custom(text).under("shops"));
                }
                Some(shops)
            }
        };
        let zone = self.zone.map(|zone| zone.0).or(usual.zone).or_else(|| usual.zone_of(shops.as_ref()));
        let Some(zone) = zone else {
            let text =
                "has shops in several zones; expected is zone = \"…\", by whose clock its mornings are";
            return Err(Problem::custom(text));
        };
        let quiet = match self.quiet.as_deref() {
            None => None,
            Some([from, to]) if from.0 != to.0 => Some((from.0, to.0)),
            Some(_) => {
                let text = "is no span; expected are two different times, such as [\"21:30\", \"06:30\"]";
                return Err(Problem::custom(text).under("quiet"));
            }
        };
        Ok(Recipient {
            way,
            shops,
            checks: self.checks.into_iter().map(|check| check.0).collect(),
            least: self.least.map_or(Urgency::Watch, |least| least.0),
            digest: self.digest.unwrap_or(true),
            alerts: self.alerts.unwrap_or(true),
            at: self.at.map_or(usual.at, |at| at.0),
            zone,
            quiet,
            alerts_an_hour: self.alerts_an_hour.map_or(USUAL_ALERTS_AN_HOUR, |number| number.0),
        })
    }
}

impl Sending {
    /// Makes paths that are not whole begin at a folder.
    pub(super) fn in_folder(&mut self, folder: &Path) {
        let of_secret = |secret: &mut SecretReference| {
            if let SecretReference::File(path) = secret {
                *path = folder.join(&*path);
            }
        };
        self.heartbeat.iter_mut().for_each(of_secret);
        if let Some(mail) = &mut self.mail {
            mail.sign_in.iter_mut().for_each(|(_, password)| of_secret(password));
            if let Some(path) = &mut mail.authority {
                *path = folder.join(&*path);
            }
        }
        for recipient in self.recipients.values_mut() {
            match &mut recipient.way {
                Way::Mail(_) => {}
                Way::Event { address, secrets } => {
                    of_secret(address);
                    secrets.iter_mut().for_each(of_secret);
                }
                Way::Chat { address, template } => {
                    of_secret(address);
                    *template = folder.join(&*template);
                }
            }
        }
    }
}
