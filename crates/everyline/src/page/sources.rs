//! Sources on the page, and what is to be sent.
//!
//! The words are those of `everyline status`. Must not know how a source is asked. Start reading at the [`web::Sources`] of
//! [`PageDesk`].

use chrono::{DateTime, TimeDelta, Utc};
use digest::Clock;
use ledger::{AskingHour, KeptMessage, Ledger, LedgerError, Which};
use model::ShopId;
use web::view::{
    AskedHour, DAYS, DayOfAsking, Moment, Outbox, SourceRequest, SourcesOfShop, Undelivered, Words,
};
use web::{Answer, Desk, Sources, view};

use super::{PageDesk, of_ledger};
use crate::configuration::Settings;
use crate::live::asker::FOLDER;
use crate::live::standing::{Standing, Standings};
use crate::sending;
use crate::times::{Times, pace};

/// How far back what was given up is listed.
const LOOKED_BACK: TimeDelta = TimeDelta::days(7);

/// The most messages that are listed.
const LISTED: usize = 50;

impl Sources for PageDesk {
    fn sources(&self) -> Answer<'_, view::Sources> {
        Box::pin(async {
            let mut shops = Vec::new();
            for (shop, settings) in &self.shops {
                shops.push(self.sources_of(shop, settings).await.map_err(|error| of_ledger(&error))?);
            }
            let outbox = self.outbox().await.map_err(|error| of_ledger(&error))?;
            Ok(view::Sources { shops, outbox })
        })
    }
}

impl PageDesk {
    async fn sources_of(&self, shop: &ShopId, settings: &Settings) -> Result<SourcesOfShop, LedgerError> {
        let now = self.now();
        let clock = Clock::of_a_reader(settings.zone, now);
        let standings = Standings::of(&self.ledger, shop, settings, None, now).await?;
        let rounds = self.ledger.rounds(shop).await?;
        let hours = hours_asked(&self.ledger, shop, now).await?;
        let of = Of { settings, standings: &standings, hours: &hours, now, clock: &clock };
        Ok(SourcesOfShop {
            shop: shop.as_str().to_owned(),
            zone: settings.zone.name(),
            compared: rounds.map(|rounds| Moment::new(rounds.last_at, &clock)),
            as_of: rounds.map(|rounds| Moment::new(rounds.as_of, &clock)),
            requests: standings.all.iter().map(|standing| of.request(standing)).collect(),
            waits: self.waits_to_be_sent(shop).await?,
        })
    }

    async fn outbox(&self) -> Result<Outbox, LedgerError> {
        let now = self.now();
        let messages = self.ledger.messages(Which::Undelivered(now - LOOKED_BACK)).await?;
        let said = |kept: &KeptMessage| {
            let recipient = &kept.message.recipient;
            let zone = self.recipients.get(recipient).map_or(chrono_tz::Tz::UTC, |of| of.zone);
            let clock = Clock::of_a_reader(zone, now);
            Undelivered {
                what: Words::ours(sending::said(&kept.message)),
                recipient: Words::outside(recipient),
                written: Moment::new(kept.message.written_at, &clock),
                next: kept.given_up_at.is_none().then(|| Moment::new(kept.next_at, &clock)),
                given_up: kept.given_up_at.map(|at| Moment::new(at, &clock)),
                tries: kept.tries,
                trouble: kept.trouble.as_ref().map(|trouble| Words::outside(trouble.trim_end_matches('.'))),
            }
        };
        Ok(Outbox {
            has_recipients: !self.recipients.is_empty(),
            messages: messages.iter().take(LISTED).map(said).collect(),
            in_all: messages.len() as u64,
        })
    }
}

/// When the sources of a shop were asked, for as many days as are shown.
pub(super) async fn hours_asked(
    ledger: &Ledger,
    shop: &ShopId,
    now: DateTime<Utc>,
) -> Result<Vec<AskingHour>, LedgerError> {
    // A day more than is shown: a day of the shop's zone begins elsewhere than one of UTC.
    let days = i64::try_from(DAYS).unwrap_or(i64::MAX);
    let since = now.checked_sub_signed(TimeDelta::days(days + 1)).unwrap_or(now);
    ledger.asking_hours(shop, since).await
}

/// The last days of a request, as it was asked.
pub(super) fn days_of(
    standing: &Standing,
    settings: &Settings,
    hours: &[AskingHour],
    now: DateTime<Utc>,
) -> Vec<DayOfAsking> {
    let is_its = |hour: &&AskingHour| hour.source == standing.source && hour.request == standing.request;
    let hours = hours.iter().filter(is_its).map(|hour| AskedHour {
        hour: hour.hour,
        asked: hour.asked,
        answered: hour.answered,
        records: hour.records,
    });
    let hours: Vec<AskedHour> = hours.collect();
    view::days_of_asking(&hours, settings.zone, now, every_of(standing, settings))
}

/// How often the source of a request is asked.
fn every_of(standing: &Standing, settings: &Settings) -> TimeDelta {
    let source = settings.sources.get(&standing.source);
    source.and_then(|source| TimeDelta::from_std(source.every).ok()).unwrap_or(TimeDelta::MAX)
}

/// What a request is told from.
struct Of<'a> {
    settings: &'a Settings,
    standings: &'a Standings,
    hours: &'a [AskingHour],
    now: DateTime<Utc>,
    clock: &'a Clock,
}

impl Of<'_> {
    fn request(&self, standing: &Standing) -> SourceRequest {
        let times = Times::new(self.settings.zone, self.now);
        let moment = |at: DateTime<Utc>| Moment::new(at, self.clock);
        let asking = standing.state.as_ref().map(|state| &state.asking);
        let days = days_of(standing, self.settings, self.hours, self.now);
        let is_behind = self
            .standings
            .not_read()
            .any(|behind| (&behind.source, &behind.request) == (&standing.source, &standing.request));
        SourceRequest {
            source: standing.source.as_str().to_owned(),
            request: standing.request.clone(),
            is_folder: standing.request == FOLDER,
            read_up_to: standing.read_up_to.map(moment),
            behind_by: standing.read_up_to.map(|at| Words::ours(times.ago(at))),
            is_behind,
            stale_after: Words::ours(pace(standing.stale_after)),
            asked: asking.map(|asking| moment(asking.asked_at)),
            next: asking.and_then(|asking| asking.next_at).map(moment),
            every: Words::ours(pace(every_of(standing, self.settings))),
            trouble: asking
                .and_then(|asking| asking.trouble.as_ref())
                .map(|trouble| Words::outside(trouble.words.trim_end_matches('.'))),
            failing_since: asking.and_then(|asking| asking.failing_since).map(moment),
            answered: asking.and_then(|asking| asking.answered_at).map(moment),
            counted_there: asking.and_then(|asking| asking.counted).map(|(there, _)| there),
            counted_here: asking.and_then(|asking| asking.counted).map(|(_, here)| here),
            records_a_day: view::records_a_day(&days),
            days,
        }
    }
}
