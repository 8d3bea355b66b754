//! Who is told what, when: what a round decides is written into the outbox, and the outbox is sent.
//!
//! `schedule` says when a digest is due, `alerts` what cannot wait and when it may go out, `morning` gathers what a digest is
//! composed of, `posts` sends one message by the way that is configured. Must not know SQL, or how a message is worded.
//! Start reading at [`Sender::step`]: each does one thing and says whether there was one, so that whoever drains it need not
//! wait.

pub mod alerts;
mod morning;
mod posts;
pub mod schedule;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use digest::compose;
use digest::deliver::{Beat, Heartbeat, Kind, Message as Finished, Sending as Sent, WebAddress};
use intake::source::http::World;
use ledger::{KeptMessage, Ledger, LedgerError, Message, MessageKind, PendingAlert, Tried, Which};
use model::{Finding, ShopId};
use secrecy::ExposeSecret;

use crate::configuration::{Configuration, Recipient, Settings};
use crate::live::judge::{Question, judge};
use crate::live::standing::Standings;

pub use morning::{Asked, Gathered, everything, gather, sources_read};
pub use posts::{address, can_send, mailer, of_content, secret, test_message};

/// How long a digest waits for sources that are behind, from when it is due, or from when everyline began to watch.
const WAIT_FOR_SOURCES: TimeDelta = TimeDelta::minutes(15);

/// How long a message is tried: a digest until the next one, an alert until it is of no use.
const DIGEST_TRIED_FOR: TimeDelta = TimeDelta::hours(22);
const ALERT_TRIED_FOR: TimeDelta = TimeDelta::hours(12);

/// How long is waited after each try that failed, in minutes; the last stands for all that follow.
const WAITS: [i64; 8] = [1, 2, 5, 15, 30, 60, 120, 180];

/// The longest that a receiver may ask for to be left alone.
const LONGEST_WAIT: TimeDelta = TimeDelta::hours(3);

/// How long a message that was sent is kept, to be looked at.
const KEPT_FOR: TimeDelta = TimeDelta::days(90);

/// How often the heartbeat's address is asked at most.
const BETWEEN_BEATS: TimeDelta = TimeDelta::seconds(55);

/// Something that the log says.
#[derive(Debug)]
pub enum Told {
    /// A message was taken.
    Sent {
        /// What, and to whom.
        what: String,
    },
    /// A message was not taken.
    NotSent {
        /// What, and to whom.
        what: String,
        /// Why.
        why: String,
        /// When it is tried again; `None`: never.
        next_at: Option<DateTime<Utc>>,
    },
    /// The heartbeat was not heard.
    NoHeartbeat {
        /// Why.
        why: String,
    },
}

/// Writes what is due, and sends what is written.
pub struct Sender {
    ledger: Ledger,
    configuration: Arc<Configuration>,
    world: Arc<dyn World>,
    /// Since when it watches.
    since: DateTime<Utc>,
    beaten_at: Mutex<Option<DateTime<Utc>>>,
    forgot_on: Mutex<Option<NaiveDate>>,
}

impl Sender {
    /// A sender for all recipients of a configuration.
    pub fn new(ledger: Ledger, configuration: Arc<Configuration>, world: Arc<dyn World>) -> Self {
        let since = world.now();
        Self { ledger, configuration, world, since, beaten_at: Mutex::default(), forgot_on: Mutex::default() }
    }

    /// Does one thing that is due: writes a digest or an alert, or tries to send one message. False: there was nothing to
    /// do.
    ///
    /// # Errors
    /// Where the ledger cannot be read or written; nothing is half-done then.
    pub async fn step(&self, tell: &mut (dyn FnMut(Told) + Send)) -> Result<bool, LedgerError> {
        if self.write_a_digest().await? || self.write_an_alert().await? || self.send_one(tell).await? {
            return Ok(true);
        }
        self.beat(tell).await?;
        self.forget().await?;
        Ok(false)
    }

    /// Writes a digest that is due. Another instance that wrote it first leaves nothing to do.
    async fn write_a_digest(&self) -> Result<bool, LedgerError> {
        let now = self.world.now();
        for (name, recipient) in self.recipients().filter(|(_, recipient)| recipient.digest) {
            let last = self.ledger.last_digest(name).await?;
            let last_day = last.map(|(day, _)| day);
            let Some(due) = schedule::due(recipient.at, recipient.zone, last_day, now) else { continue };
            if now < due.moment.max(self.since) + WAIT_FOR_SOURCES
                && !self.are_read(self.shops(recipient), now).await?
            {
                continue;
            }
            let since = last.map(|(_, written_at)| written_at);
            let asked = Asked {
                name: Some(name),
                recipient,
                day: due.day,
                taken_in: due.taken_in,
                since,
                as_of: None,
                now,
            };
            let gathered = gather(&self.ledger, &self.configuration, &asked).await?;
            let message = digest_message(&self.ledger, name, &gathered, due.day, now).await?;
            if self.ledger.write_message(&message, &gathered.told).await? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Whether all sources of some shops have been read up to now.
    async fn are_read<'s>(
        &self,
        shops: impl Iterator<Item = (&'s ShopId, &'s Settings)>,
        now: DateTime<Utc>,
    ) -> Result<bool, LedgerError> {
        for (shop, settings) in shops {
            let standings = Standings::of(&self.ledger, shop, settings, None, now).await?;
            if standings.not_read().next().is_some() {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Writes an alert, where something cannot wait and may go out now.
    async fn write_an_alert(&self) -> Result<bool, LedgerError> {
        let now = self.world.now();
        for (name, recipient) in self.recipients().filter(|(_, recipient)| recipient.alerts) {
            let pending = self.ledger.pending_alerts(name).await?;
            if pending.is_empty() {
                continue;
            }
            let written = self.ledger.alerts_since(name, now - TimeDelta::hours(1)).await?;
            let going =
                self.as_found(recipient, alerts::going(recipient, &pending, written, now), now).await?;
            // The round that notices that these are gone forgets them.
            if going.is_empty() {
                continue;
            }
            let count = |is: &dyn Fn(&PendingAlert) -> bool| {
                going.iter().filter(|(alert, _)| is(alert)).count() as u64
            };
            let names_shops = self.configuration.shops.len() > 1;
            let found = |(alert, finding): &(&PendingAlert, Finding)| {
                (names_shops.then(|| ShopId::new(alert.shop.as_str())), finding.clone())
            };
            let pages = self.configuration.sending.pages.clone();
            let composed = compose::alert(&compose::Alert {
                now,
                zone: recipient.zone,
                findings: going.iter().map(found).collect(),
                again: count(&|alert| alert.is_again),
                held_back: count(&|alert| now - alert.wanted_at > alerts::HELD_BACK_AFTER),
                pages: pages.clone(),
            });
            let installation = installation(&self.ledger).await?;
            let id = format!("alert-{}-{name}-{installation}", now.format("%Y%m%dT%H%M%S%3fZ"));
            let today = now.with_timezone(&recipient.zone).date_naive();
            let kept = posts::kept(id, Kind::Alert, composed, pages.as_ref(), today, now);
            let message = to_be_sent(MessageKind::Alert, name, None, &kept);
            let told: Vec<(String, String)> =
                going.iter().map(|(alert, _)| (alert.shop.clone(), alert.finding.clone())).collect();
            if self.ledger.write_message(&message, &told).await? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Each of these with its finding as it is now, without those that have gone meanwhile.
    async fn as_found<'p>(
        &self,
        recipient: &Recipient,
        going: Vec<&'p PendingAlert>,
        now: DateTime<Utc>,
    ) -> Result<Vec<(&'p PendingAlert, Finding)>, LedgerError> {
        let mut found: BTreeMap<(&str, String), Finding> = BTreeMap::new();
        for (shop, settings) in self.shops(recipient) {
            if going.iter().any(|alert| alert.shop == shop.as_str()) {
                let (shop_id, settings) = (shop.clone(), Arc::new(settings.clone()));
                let question = Question { shop: shop_id, settings, as_of: None, now };
                let findings = judge(&self.ledger, &question).await?.outcome.findings;
                let by_id = findings.into_iter().map(|of| ((shop.as_str(), of.id.to_string()), of));
                found.extend(by_id);
            }
        }
        let with_finding = |alert: &'p PendingAlert| {
            let finding = found.remove(&(alert.shop.as_str(), alert.finding.clone()))?;
            Some((alert, finding))
        };
        Ok(going.into_iter().filter_map(with_finding).collect())
    }

    /// Tries to send the message that has waited longest.
    async fn send_one(&self, tell: &mut (dyn FnMut(Told) + Send)) -> Result<bool, LedgerError> {
        let due = self.ledger.messages(Which::Due(self.world.now())).await?;
        let Some(kept) = due.first() else { return Ok(false) };
        self.send(kept, tell).await?;
        Ok(true)
    }

    /// Tries once to send a message, and keeps what came of it.
    ///
    /// # Errors
    /// Where that cannot be kept; the message is then sent again, under its identifier.
    pub async fn send(
        &self,
        kept: &KeptMessage,
        tell: &mut (dyn FnMut(Told) + Send),
    ) -> Result<Tried, LedgerError> {
        let message = &kept.message;
        let what = format!("{} to {}", said(message), message.recipient);
        let sent = match self.configuration.sending.recipients.get(&message.recipient) {
            Some(recipient) => {
                posts::send(&self.configuration.sending, recipient, &message.content, self.world.now()).await
            }
            None => Sent::GiveUp { why: "the configuration has no such recipient any more".to_owned() },
        };
        let now = self.world.now();
        let tried = came_of(kept, sent, now);
        self.ledger.message_tried(&message.id, &tried, now).await?;
        tell(match &tried {
            Tried::Sent => Told::Sent { what },
            Tried::Again { next_at, trouble } => {
                Told::NotSent { what, why: trouble.clone(), next_at: Some(*next_at) }
            }
            Tried::GivenUp { trouble } => Told::NotSent { what, why: trouble.clone(), next_at: None },
        });
        Ok(tried)
    }

    /// Tells the heartbeat's address that all shops were judged since the last time, with all sources read up to now.
    async fn beat(&self, tell: &mut (dyn FnMut(Told) + Send)) -> Result<(), LedgerError> {
        let Some(address) = &self.configuration.sending.heartbeat else { return Ok(()) };
        let now = self.world.now();
        let last = *self.beaten_at.lock().unwrap_or_else(PoisonError::into_inner);
        if last.is_some_and(|last| now - last < BETWEEN_BEATS) {
            return Ok(());
        }
        let is_old = |at: DateTime<Utc>| last.map_or(at < self.since, |last| at <= last);
        for shop in self.configuration.shops.keys() {
            if self.ledger.rounds(shop).await?.is_none_or(|rounds| is_old(rounds.last_at)) {
                return Ok(());
            }
        }
        if !self.are_read(self.configuration.shops.iter(), now).await? {
            return Ok(());
        }
        *self.beaten_at.lock().unwrap_or_else(PoisonError::into_inner) = Some(now);
        let heart = posts::secret(address).and_then(|address| {
            let address = WebAddress::parse(address.expose_secret()).map_err(|unfit| unfit.to_string())?;
            Heartbeat::new(address, digest::deliver::Asking::Get).map_err(|unfit| unfit.to_string())
        });
        let beat = match heart {
            Ok(heart) => heart.beat().await,
            Err(why) => Beat::Unheard { why },
        };
        if let Beat::Unheard { why } = beat {
            tell(Told::NoHeartbeat { why });
        }
        Ok(())
    }

    /// Once a day, forgets what was sent long ago.
    async fn forget(&self) -> Result<(), LedgerError> {
        let now = self.world.now();
        let today = now.date_naive();
        if self.forgot_on.lock().unwrap_or_else(PoisonError::into_inner).replace(today) == Some(today) {
            return Ok(());
        }
        self.ledger.forget_messages(now - KEPT_FOR).await.map(|_| ())
    }

    fn recipients(&self) -> impl Iterator<Item = (&String, &Recipient)> {
        self.configuration.sending.recipients.iter()
    }

    fn shops(&self, recipient: &Recipient) -> impl Iterator<Item = (&ShopId, &Settings)> {
        self.configuration.shops.iter().filter(|(shop, _)| recipient.wants_shop(shop))
    }
}

/// A digest as a message.
///
/// # Errors
/// Where the ledger's secret cannot be had.
pub async fn digest_message(
    ledger: &Ledger,
    name: &str,
    gathered: &Gathered,
    day: NaiveDate,
    now: DateTime<Utc>,
) -> Result<Message, LedgerError> {
    let id = format!("digest-{day}-{name}-{}", installation(ledger).await?);
    let (composed, pages) = (compose::digest(&gathered.morning), gathered.morning.pages.as_ref());
    let kept = posts::kept(id, Kind::Digest, composed, pages, day, now);
    Ok(to_be_sent(MessageKind::Digest, name, Some(day), &kept))
}

/// A message as the outbox has it.
fn to_be_sent(kind: MessageKind, name: &str, day: Option<NaiveDate>, message: &Finished) -> Message {
    Message {
        id: message.id.clone(),
        kind,
        recipient: name.to_owned(),
        day,
        written_at: message.written_at,
        content: posts::content(message),
    }
}

/// What tells the identifiers of this installation from those of another.
async fn installation(ledger: &Ledger) -> Result<String, LedgerError> {
    use sha2::Digest as _;
    let secret = ledger.secret().await?;
    let hash = sha2::Sha256::new().chain_update(b"messages of ").chain_update(secret).finalize();
    Ok(hash.iter().take(5).map(|byte| format!("{byte:02x}")).collect())
}

/// `the digest of Wed 25 Nov`, `an alert`.
pub fn said(message: &Message) -> String {
    match (message.kind, message.day) {
        (MessageKind::Digest, Some(day)) => format!("the digest of {}", day.format("%a %-d %b")),
        (MessageKind::Digest, None) => "a digest".to_owned(),
        (MessageKind::Alert, _) => "an alert".to_owned(),
    }
}

/// What is kept of a try.
fn came_of(kept: &KeptMessage, sent: Sent, now: DateTime<Utc>) -> Tried {
    let tried_for = match kept.message.kind {
        MessageKind::Digest => DIGEST_TRIED_FOR,
        MessageKind::Alert => ALERT_TRIED_FOR,
    };
    match sent {
        Sent::Sent { .. } => Tried::Sent,
        Sent::GiveUp { why } => Tried::GivenUp { trouble: why },
        Sent::TryAgain { why, after } => {
            let tries = usize::try_from(kept.tries).unwrap_or(usize::MAX);
            let usual = TimeDelta::minutes(WAITS[tries.min(WAITS.len() - 1)]);
            let asked = after.and_then(|after| TimeDelta::from_std(after).ok()).unwrap_or_default();
            let next_at = now + usual.max(asked.min(LONGEST_WAIT));
            if next_at > kept.message.written_at + tried_for {
                let hours = tried_for.num_hours();
                return Tried::GivenUp { trouble: format!("{why}; it was tried for {hours} hours") };
            }
            Tried::Again { next_at, trouble: why }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    fn kept(kind: MessageKind, tries: u32) -> KeptMessage {
        let message = Message {
            id: "x".to_owned(),
            kind,
            recipient: "owner".to_owned(),
            day: None,
            written_at: DateTime::UNIX_EPOCH,
            content: String::new(),
        };
        let next_at = DateTime::UNIX_EPOCH;
        KeptMessage {
            message,
            next_at,
            tries,
            tried_at: None,
            trouble: None,
            sent_at: None,
            given_up_at: None,
        }
    }

    #[test]
    fn a_message_is_tried_for_hours_ever_more_seldom_and_then_given_up() {
        for (kind, hours) in [(MessageKind::Digest, 22), (MessageKind::Alert, 12)] {
            let (mut now, mut tries, mut waits) = (DateTime::UNIX_EPOCH, 0, Vec::new());
            loop {
                let again = Sent::TryAgain { why: "no answer".to_owned(), after: None };
                match came_of(&kept(kind, tries), again, now) {
                    Tried::Again { next_at, .. } => {
                        waits.push(next_at - now);
                        (now, tries) = (next_at, tries + 1);
                    }
                    Tried::GivenUp { trouble } => {
                        assert_eq!(trouble, format!("no answer; it was tried for {hours} hours"));
                        break;
                    }
                    Tried::Sent => panic!("it was not sent"),
                }
            }
            assert!(waits.is_sorted());
            assert!(now <= DateTime::UNIX_EPOCH + TimeDelta::hours(hours));
            assert!(now > DateTime::UNIX_EPOCH + TimeDelta::hours(hours - 4));
        }
    }

    #[test]
    fn a_receiver_that_asks_for_time_gets_it_within_reason() {
        let wait = |seconds| {
            let after = Some(Duration::from_secs(seconds));
            let sent = Sent::TryAgain { why: String::new(), after };
            match came_of(&kept(MessageKind::Digest, 0), sent, DateTime::UNIX_EPOCH) {
                Tried::Again { next_at, .. } => (next_at - DateTime::UNIX_EPOCH).num_seconds(),
                other => panic!("{other:?}"),
            }
        };
        assert_eq!([wait(5), wait(600), wait(1_000_000)], [60, 600, 10_800]);
    }
}
