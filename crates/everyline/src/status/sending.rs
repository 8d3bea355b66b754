//! What was sent to whom, what waits to be, and what was given up.
//!
//! Must not know how anything is sent. Start reading at [`sending`].

use chrono::{DateTime, TimeDelta, Utc};
use ledger::{Ledger, Which};

use crate::configuration::{Configuration, Recipient};
use crate::layout::{Page, outside};
use crate::opened::of_ledger;
use crate::sending::{said, schedule};
use crate::times::Times;
use crate::trouble::Trouble;

/// How far back what was given up is listed.
const LOOKED_BACK: TimeDelta = TimeDelta::days(7);

/// How many messages are listed.
const LISTED: usize = 20;

/// Writes it, where anybody is told.
pub async fn sending(
    ledger: &Ledger,
    configuration: &Configuration,
    now: DateTime<Utc>,
    page: &mut Page,
) -> Result<(), Trouble> {
    let recipients = &configuration.sending.recipients;
    if recipients.is_empty() {
        return Ok(());
    }
    page.heading("WHO IS TOLD");
    for (name, recipient) in recipients {
        let last = ledger.last_digest(name).await.map_err(of_ledger)?;
        page.hanging(0, &of_recipient(name, recipient, last.map(|(_, at)| at), now));
    }
    let undelivered = ledger.messages(Which::Undelivered(now - LOOKED_BACK)).await.map_err(of_ledger)?;
    for kept in undelivered.iter().take(LISTED) {
        let zone = recipients.get(&kept.message.recipient).map_or(chrono_tz::Tz::UTC, |of| of.zone);
        let times = Times::new(zone, now);
        let what = format!("{} to {}", said(&kept.message), outside(&kept.message.recipient));
        let why = outside(kept.trouble.as_deref().unwrap_or("it was not tried yet"));
        page.hanging(
            0,
            &match kept.given_up_at {
                Some(at) => format!("GIVEN UP: {what}, {}: {why}", times.at(at)),
                None => format!(
                    "waits: {what}, written {}, tried again {}: {why}",
                    times.at(kept.message.written_at),
                    times.at(kept.next_at)
                ),
            },
        );
    }
    if undelivered.len() > LISTED {
        page.hanging(0, &format!("and {} more messages", undelivered.len() - LISTED));
    }
    Ok(())
}

fn of_recipient(
    name: &str,
    recipient: &Recipient,
    last: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
) -> String {
    let times = Times::new(recipient.zone, now);
    let digest = match (recipient.digest, last) {
        (false, _) => "no digest".to_owned(),
        (true, last) => {
            let last = last.map_or_else(|| "none yet".to_owned(), |last| format!("last {}", times.at(last)));
            let next = times.at(schedule::next(recipient.at, recipient.zone, now));
            format!("digest {last}, next {next}")
        }
    };
    let alerts = if recipient.alerts { "" } else { "; no alerts" };
    format!("{}: {digest}{alerts}", outside(name))
}
