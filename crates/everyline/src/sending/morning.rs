//! Gathers what the digest of a morning is composed of.
//!
//! Must not know how it is worded, sent or kept. Start reading at [`gather`].

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use digest::Urgency;
use digest::compose::{Aside, Measured, Morning, Settled, ShopMorning, SourceRead, Undelivered};
use ledger::{KeptMessage, Ledger, LedgerError, SetAside, SettledFinding, Which};
use model::finding::Evidence;
use model::{Check, ShopId, SourceId};
use serde_json::Value;

use super::{said, schedule};
use crate::configuration::{Configuration, Recipient, Settings, USUAL_TIME, Way};
use crate::live::judge::{Judged, Question, REPORTED_BEFORE_FIRST_ROUND, judge};
use crate::live::standing::{Standing, Standings};

/// Over how many weeks is told how it has gone.
const WEEKS: [u32; 2] = [4, 12];

/// How far back a first digest looks for what was put right, or not delivered.
const FIRST_LOOKS_BACK: TimeDelta = TimeDelta::days(1);

/// A digest that is asked for.
#[derive(Clone, Debug)]
pub struct Asked<'a> {
    /// The recipient's name; `None`: it is only looked at.
    pub name: Option<&'a str>,
    /// What is told.
    pub recipient: &'a Recipient,
    /// Its day.
    pub day: NaiveDate,
    /// Earlier days that it takes in.
    pub taken_in: Vec<NaiveDate>,
    /// When the last one was written.
    pub since: Option<DateTime<Utc>>,
    /// The moment for which it is judged; `None`: the latest up to which the sources have been read.
    pub as_of: Option<DateTime<Utc>>,
    /// Now.
    pub now: DateTime<Utc>,
}

/// What a digest is composed of, and the findings (shop and id) that it tells.
#[derive(Clone, Debug)]
pub struct Gathered {
    /// For composing.
    pub morning: Morning,
    /// What need not be told at once any more.
    pub told: Vec<(String, String)>,
}

/// Somebody who is told all there is of these shops, to look at.
pub fn everything(configuration: &Configuration, shops: Option<BTreeSet<ShopId>>) -> Recipient {
    let zone =
        configuration.shops.iter().find(|(shop, _)| shops.as_ref().is_none_or(|own| own.contains(*shop)));
    Recipient {
        way: Way::Mail(String::new()),
        zone: zone.map_or(chrono_tz::Tz::UTC, |(_, settings)| settings.zone),
        shops,
        checks: BTreeSet::new(),
        least: Urgency::Watch,
        digest: true,
        alerts: false,
        at: USUAL_TIME,
        quiet: None,
        alerts_an_hour: 1,
    }
}

/// Gathers it: judges each shop, and asks the ledger for the rest.
///
/// # Errors
/// Where the ledger cannot be read.
pub async fn gather(
    ledger: &Ledger,
    configuration: &Configuration,
    asked: &Asked<'_>,
) -> Result<Gathered, LedgerError> {
    let recipient = asked.recipient;
    let now = asked.now;
    let since = asked.since.unwrap_or(now - FIRST_LOOKS_BACK);
    let names_shops = configuration.shops.len() > 1;
    let mut shops = Vec::new();
    let mut told = Vec::new();
    for (shop, settings) in configuration.shops.iter().filter(|(shop, _)| recipient.wants_shop(shop)) {
        let mut of_shop = of_shop(ledger, shop, settings, asked, since).await?;
        told.extend(
            of_shop
                .outcome
                .findings
                .iter()
                .map(|finding| (shop.as_str().to_owned(), finding.id.as_str().to_owned())),
        );
        of_shop.shop = names_shops.then(|| shop.clone());
        shops.push(of_shop);
    }
    let messages = ledger.messages(Which::Undelivered(since)).await?;
    let undelivered = messages
        .iter()
        .filter(|kept| kept.tries > 0 && asked.name.is_none_or(|_| kept.message.day != Some(asked.day)))
        .map(undelivered);
    let morning = Morning {
        day: asked.day,
        zone: recipient.zone,
        now: asked.as_of.unwrap_or(now),
        shops,
        pages: configuration.sending.pages.clone(),
        taken_in: asked.taken_in.clone(),
        undelivered: undelivered.collect(),
        is_part: !recipient.checks.is_empty() || recipient.least > Urgency::Watch,
    };
    Ok(Gathered { morning, told })
}

async fn of_shop(
    ledger: &Ledger,
    shop: &ShopId,
    settings: &Settings,
    asked: &Asked<'_>,
    since: DateTime<Utc>,
) -> Result<ShopMorning, LedgerError> {
    let Asked { recipient, as_of, now, .. } = asked;
    let question =
        Question { shop: shop.clone(), settings: Arc::new(settings.clone()), as_of: *as_of, now: *now };
    let Judged { mut outcome, standings, .. } = judge(ledger, &question).await?;
    let kept = ledger.findings(shop, true, *now).await?;
    let aside: BTreeMap<&str, &SetAside> =
        kept.iter().filter_map(|kept| Some((kept.id.as_str(), kept.set_aside.as_ref()?))).collect();
    let mut set_aside = Vec::new();
    outcome.findings.retain(|finding| recipient.wants(finding, as_of.unwrap_or(*now)));
    outcome.findings.retain(|finding| match aside.get(finding.id.as_str()) {
        Some(aside) => {
            let SetAside { note, until } = (*aside).clone();
            set_aside.push(Aside { finding: finding.clone(), note, until });
            false
        }
        None => true,
    });
    // What could not be read stands among the sources, by its own words.
    outcome.notices.retain(|notice| notice.topic != model::outcome::Topic::NotReadYet);
    let settled = ledger.settled(shop, since, *now).await?;
    let is_wanted = |check: Check| recipient.checks.is_empty() || recipient.checks.contains(&check);
    let settled = settled.iter().filter_map(of_settled).filter(|settled| is_wanted(settled.check)).collect();
    let sources = sources_read(&standings);
    let rounds = ledger.rounds(shop).await?;
    let measured = match rounds {
        Some(rounds) => {
            let report_from = rounds.first_at - REPORTED_BEFORE_FIRST_ROUND;
            measured(ledger, shop, settings, asked, report_from).await?
        }
        None => Vec::new(),
    };
    Ok(ShopMorning { shop: None, outcome, set_aside, settled, sources, measured })
}

/// What settled, with what it was about; `None` of a check that a later version had.
fn of_settled(settled: &SettledFinding) -> Option<Settled> {
    let SettledFinding { finding_check, order_id, supplier, submission_id, body } = settled;
    let body: Value = serde_json::from_str(body).unwrap_or_default();
    let evidence = |name: &str| body["evidence"][name].as_str();
    Some(Settled {
        check: finding_check.parse().ok()?,
        order_id: order_id.as_deref().map(Into::into),
        submission_id: submission_id.as_deref().map(Into::into),
        supplier: supplier.as_deref().map(Into::into),
        listing_id: evidence("listing_id").map(Into::into),
        source: evidence("source").map(Into::into),
    })
}

/// How far each source was read, as a reader is told it.
pub fn sources_read(standings: &Standings) -> Vec<SourceRead> {
    let behind: BTreeSet<(&SourceId, &str)> =
        standings.not_read().map(|standing| (&standing.source, standing.request.as_str())).collect();
    // Of what is found of a source somebody may not want to be told, or have set it aside: it leaves doubt all the same.
    let found = standings.findings();
    let doubted = found.iter().filter_map(|finding| match &finding.evidence {
        Evidence::Source(evidence) => Some(&evidence.source),
        _ => None,
    });
    sources(&standings.all, &behind, &doubted.collect())
}

/// Each source once, however many requests it has: as far as the one that is furthest behind.
fn sources(
    all: &[Standing],
    behind: &BTreeSet<(&SourceId, &str)>,
    doubted: &BTreeSet<&SourceId>,
) -> Vec<SourceRead> {
    let mut sources: BTreeMap<&SourceId, SourceRead> = BTreeMap::new();
    for standing in all {
        let asking = standing.state.as_ref().map(|state| &state.asking);
        let is_behind = behind.contains(&(&standing.source, standing.request.as_str()));
        let counted = asking.and_then(|asking| asking.counted);
        let trouble = asking.and_then(|asking| asking.trouble.as_ref()).map(|trouble| trouble.words.clone());
        let source = sources.entry(&standing.source).or_insert_with(|| SourceRead {
            source: standing.source.as_str().to_owned(),
            read_up_to: standing.read_up_to,
            is_behind,
            is_doubted: doubted.contains(&standing.source),
            trouble: None,
            counted: None,
        });
        // `None`, never read to its end, is the least.
        source.read_up_to = source.read_up_to.min(standing.read_up_to);
        source.is_behind |= is_behind;
        source.trouble = source.trouble.take().or(trouble);
        source.counted = source.counted.or(counted);
    }
    sources.into_values().collect()
}

fn undelivered(kept: &KeptMessage) -> Undelivered {
    Undelivered {
        what: said(&kept.message),
        recipient: kept.message.recipient.clone(),
        since: kept.message.written_at,
        why: kept.trouble.clone().unwrap_or_else(|| "it was not tried yet".to_owned()),
        is_given_up: kept.given_up_at.is_some(),
    }
}

/// How it went with the orders placed until the day began.
async fn measured(
    ledger: &Ledger,
    shop: &ShopId,
    settings: &Settings,
    asked: &Asked<'_>,
    report_from: DateTime<Utc>,
) -> Result<Vec<Measured>, LedgerError> {
    let begins = |day: NaiveDate| schedule::moment(day, chrono::NaiveTime::MIN, settings.zone);
    let end = begins(asked.day).unwrap_or(asked.now).min(asked.now);
    let spans = WEEKS.map(|weeks| {
        let first = asked.day - TimeDelta::weeks(i64::from(weeks));
        begins(first).unwrap_or(end)
    });
    let rates = ledger.rates(shop, &spans, end, report_from).await?;
    Ok(WEEKS.into_iter().zip(rates).map(|(weeks, rates)| Measured { weeks, rates }).collect())
}
