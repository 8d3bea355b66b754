//! `everyline digest`: prints the digest of a day, sends it, or tries whether a mail arrives.
//!
//! Must not know how a digest is gathered or worded. Start reading at [`run`].

use std::path::Path;
use std::sync::Arc;

use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use digest::compose::{self, Composed};
use digest::deliver::{Message, Sending as Sent};
use ledger::{Ledger, Tried};

use crate::arguments::{DigestArguments, DigestFormat};
use crate::clock;
use crate::configuration::{Configuration, Recipient};
use crate::exit::Exit;
use crate::live::world::Machine;
use crate::opened::{self, of_ledger};
use crate::sending::{self, Asked, Sender, everything, gather, of_content, schedule};
use crate::terminal::{tell, write_data};
use crate::trouble::Trouble;

/// Runs the command.
///
/// # Errors
/// Where the configuration or the ledger cannot be used, or something is asked for that there is not.
pub fn run(asked: &DigestArguments) -> Result<Exit, Trouble> {
    opened::run(answer(asked))
}

async fn answer(asked: &DigestArguments) -> Result<Exit, Trouble> {
    let configuration = Configuration::read(&asked.of.config)?;
    if let Some(address) = &asked.test_to {
        return test(&configuration, address).await;
    }
    let path = &configuration.ledger;
    if !path.exists() {
        return Err(Trouble::new("there is nothing to tell yet", format!("{} is not there", path.display()))
            .help("`everyline watch` makes the ledger and fills it; --config names the configuration that says where it is"));
    }
    if let Some(name) = asked.recipient.as_deref()
        && !configuration.sending.recipients.contains_key(name)
    {
        let known: Vec<&str> = configuration.sending.recipients.keys().map(String::as_str).collect();
        let help = match known.as_slice() {
            [] => "the configuration has none; they are declared under [recipients.NAME]".to_owned(),
            known => format!("known are: {}", known.join(", ")),
        };
        return Err(Trouble::new("there is no such recipient", format!("--recipient is {name:?}")).help(help));
    }
    let ledger = Ledger::open(path).await.map_err(of_ledger)?;
    let done = match asked.send {
        true => send(&ledger, configuration, asked).await,
        false => print(&ledger, &configuration, asked).await,
    };
    ledger.close().await;
    done
}

/// The day that is asked for, in a zone.
fn day(asked: Option<&str>, zone: Tz, now: DateTime<Utc>) -> Result<NaiveDate, Trouble> {
    let today = now.with_timezone(&zone).date_naive();
    let Some(text) = asked else { return Ok(today) };
    let expected = "give a day as year, month and day, such as 2026-11-25";
    let day: NaiveDate = text
        .parse()
        .map_err(|_| Trouble::new("--day could not be read", format!("{text:?} is no day")).help(expected))?;
    if day > today {
        return Err(Trouble::new("there is no such digest yet", format!("{day} is still to come in {zone}"))
            .help("leave --day out for today"));
    }
    Ok(day)
}

async fn print(
    ledger: &Ledger,
    configuration: &Configuration,
    asked: &DigestArguments,
) -> Result<Exit, Trouble> {
    let now = clock::now();
    let name = asked.recipient.as_deref();
    let all;
    let recipient = match name.and_then(|name| configuration.sending.recipients.get(name)) {
        Some(recipient) => recipient,
        None => {
            let shops = match asked.of.shop.as_deref() {
                Some(shop) => Some([configuration.shop(Some(shop))?.0.clone()].into()),
                None => None,
            };
            all = everything(configuration, shops);
            &all
        }
    };
    let day = day(asked.day.as_deref(), recipient.zone, now)?;
    let kept = match name {
        Some(name) => ledger.digest_of(name, day).await.map_err(of_ledger)?,
        None => None,
    };
    let composed = match kept.and_then(|kept| of_content(&kept.message.content)) {
        Some(Message { written_at, subject, text, html, data, .. }) => {
            let at = written_at.with_timezone(&recipient.zone).format("%a %-d %b at %H:%M");
            tell(&format!("as it was written for {} on {at}", name.unwrap_or_default()));
            Composed { subject, text, html, data }
        }
        None => composed(ledger, configuration, name, recipient, day, now).await?,
    };
    if let Some(file) = &asked.preview {
        preview(file, &composed)?;
    } else {
        write_data(&match asked.format {
            DigestFormat::Text => format!("Subject: {}\n\n{}", composed.subject, composed.text),
            DigestFormat::Html => format!("{}\n", composed.html),
            DigestFormat::Json => format!("{:#}\n", composed.data),
        })?;
    }
    Ok(if composed.data["is_known"] == true { Exit::Nothing } else { Exit::Incomplete })
}

async fn composed(
    ledger: &Ledger,
    configuration: &Configuration,
    name: Option<&str>,
    recipient: &Recipient,
    day: NaiveDate,
    now: DateTime<Utc>,
) -> Result<Composed, Trouble> {
    let asked = asked_of(ledger, name, recipient, day, now).await?;
    let gathered = gather(ledger, configuration, &asked).await.map_err(of_ledger)?;
    Ok(compose::digest(&gathered.morning))
}

/// What is to be gathered: of today as things stand; of an earlier day, as they stood when its digest was due.
async fn asked_of<'a>(
    ledger: &Ledger,
    name: Option<&'a str>,
    recipient: &'a Recipient,
    day: NaiveDate,
    now: DateTime<Utc>,
) -> Result<Asked<'a>, Trouble> {
    let today = now.with_timezone(&recipient.zone).date_naive();
    let is_past = day < today;
    let last = match name {
        Some(name) if !is_past => ledger.last_digest(name).await.map_err(of_ledger)?,
        _ => None,
    };
    let as_of = schedule::moment(day, recipient.at, recipient.zone).filter(|_| is_past);
    Ok(Asked {
        name,
        recipient,
        day,
        taken_in: Vec::new(),
        since: last.map(|(_, written_at)| written_at),
        as_of,
        now,
    })
}

fn preview(file: &Path, composed: &Composed) -> Result<(), Trouble> {
    std::fs::write(file, &composed.html).map_err(|error| {
        Trouble::new(format!("{} was not written", file.display()), error)
            .help("give the path of a file in a folder that is there, such as --preview digest.html")
    })?;
    tell(&format!("{}: {}", file.display(), composed.subject));
    Ok(())
}

/// Writes the digest of a day for its recipients, where that was not done, and tries to send it where it waits.
async fn send(
    ledger: &Ledger,
    configuration: Configuration,
    asked: &DigestArguments,
) -> Result<Exit, Trouble> {
    let now = clock::now();
    let recipients: Vec<(&String, &Recipient)> = configuration
        .sending
        .recipients
        .iter()
        .filter(|(name, recipient)| match asked.recipient.as_deref() {
            Some(asked) => asked == name.as_str(),
            None => recipient.digest,
        })
        .collect();
    if recipients.is_empty() {
        return Err(Trouble::new("nothing was sent", "no recipient gets a digest")
            .help("declare one under [recipients.NAME]; `everyline print configuration` shows how"));
    }
    let sender = Sender::new(ledger.clone(), Arc::new(configuration.clone()), Arc::new(Machine));
    let mut is_delivered = true;
    for (name, recipient) in recipients {
        let day = day(asked.day.as_deref(), recipient.zone, now)?;
        let asked = asked_of(ledger, Some(name), recipient, day, now).await?;
        let mut waiting = ledger.digest_of(name, day).await.map_err(of_ledger)?;
        if waiting.is_none() {
            let gathered = gather(ledger, &configuration, &asked).await.map_err(of_ledger)?;
            let message =
                sending::digest_message(ledger, name, &gathered, day, now).await.map_err(of_ledger)?;
            // Where `everyline watch` was quicker, its own stands.
            ledger.write_message(&message, &gathered.told).await.map_err(of_ledger)?;
            waiting = ledger.digest_of(name, day).await.map_err(of_ledger)?;
        }
        let Some(waiting) = waiting else { continue };
        let what = format!("the digest of {} to {name}", day.format("%a %-d %b"));
        let at = |moment: DateTime<Utc>| {
            moment.with_timezone(&recipient.zone).format("%-d %b at %H:%M").to_string()
        };
        if let Some(sent_at) = waiting.sent_at {
            tell(&format!("{what} was sent on {}; it goes out once", at(sent_at)));
            continue;
        }
        match sender.send(&waiting, &mut |_| {}).await.map_err(of_ledger)? {
            Tried::Sent => tell(&format!("sent: {what}")),
            Tried::Again { next_at, trouble } => {
                is_delivered = false;
                tell(&format!(
                    "not sent: {what}: {}; `everyline watch` tries it again from {} on",
                    digest::clean(trouble),
                    at(next_at)
                ));
            }
            Tried::GivenUp { trouble } => {
                is_delivered = false;
                tell(&format!("not sent, and given up: {what}: {}", digest::clean(trouble)));
            }
        }
    }
    Ok(if is_delivered { Exit::Nothing } else { Exit::Incomplete })
}

/// Sends a mail that says no more than that it arrived.
async fn test(configuration: &Configuration, to: &str) -> Result<Exit, Trouble> {
    let not_sent = |cause: String| Trouble::new("the mail was not sent", cause);
    let server = configuration.sending.mail.as_ref().ok_or_else(|| {
        not_sent("the configuration has no mail server".to_owned())
            .help("declare it under [mail]; `everyline print configuration` shows how")
    })?;
    let address = sending::address(to)
        .map_err(|cause| not_sent(cause).help("give one address, such as owner@shop.example"))?;
    let mailer =
        sending::mailer(server).map_err(|cause| not_sent(cause).help("see [mail] in the configuration"))?;
    let now = clock::now_exactly();
    let id = format!("test-{}-{:08x}", now.format("%Y%m%dT%H%M%S%3fZ"), fastrand::u32(..));
    match mailer.send(&sending::test_message(id, now.date_naive(), now), &address).await {
        Sent::Sent { answer } => {
            tell(&format!(
                "sent to {to} by {} ({}); look whether it arrived, also among unwanted mail",
                server.address,
                digest::clean(answer)
            ));
            Ok(Exit::Nothing)
        }
        Sent::TryAgain { why, .. } | Sent::GiveUp { why } => {
            Err(not_sent(digest::clean(why).into_owned()).help("mend that, and try again with --test-to"))
        }
    }
}
