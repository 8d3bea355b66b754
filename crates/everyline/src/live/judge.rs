//! The ledger of a shop, judged.
//!
//! Must not know how the ledger was filled, or how the answer is shown. Start reading at [`judge`].

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::panic::resume_unwind;
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use ledger::{Ledger, LedgerError};
use matcher::{Behind, Facts};
use model::outcome::{Notice, Topic};
use model::{Book, Check, OrderId, Outcome, ShopId};

use super::standing::{Standing, Standings};
use crate::audit::VOCABULARY;
use crate::configuration::Settings;

/// Orders placed so long before a shop's first round are matched, and raise nothing.
const REPORTED_BEFORE_FIRST_ROUND: TimeDelta = TimeDelta::days(30);

/// A question to the ledger.
#[derive(Clone, Debug)]
pub struct Question {
    /// The shop.
    pub shop: ShopId,
    /// What is in force for it. Of its rules `since` and `until` say which orders are reported; without `since`, those
    /// placed from 30 days before its first round on.
    pub settings: Arc<Settings>,
    /// The moment for which it is judged; `None`: the latest up to which its sources have been read.
    pub as_of: Option<DateTime<Utc>>,
    /// The moment at which it is asked.
    pub now: DateTime<Utc>,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Judged {
    /// What was found, the sources among it, each with when it was first seen.
    pub outcome: Outcome,
    /// How far the sources have been read.
    pub standings: Standings,
}

impl Judged {
    /// Whether every source has been read up to where it should.
    pub fn is_complete(&self) -> bool {
        self.standings.not_read().next().is_none()
    }
}

/// Judges a shop by what the ledger holds of it.
///
/// # Errors
/// Where the ledger cannot be read.
pub async fn judge(ledger: &Ledger, question: &Question) -> Result<Judged, LedgerError> {
    let Question { shop, settings, as_of, now } = question;
    let standings = Standings::of(ledger, shop, settings, *as_of, *now).await?;
    let mut book = ledger.book(shop, standings.known()).await?;
    let address_changes = ledger.address_changes(shop).await?;
    let first_round = ledger.rounds(shop).await?.map_or(*now, |rounds| rounds.first_at);
    let mut rules = settings.rules.clone();
    rules.since = rules.since.or(first_round.checked_sub_signed(REPORTED_BEFORE_FIRST_ROUND));

    let waiting = without_parents(&mut book);
    let sent_by = book.submissions.iter().flatten().map(|row| row.supplier.clone()).collect::<BTreeSet<_>>();
    let behind = standings.behind(sent_by);
    let (as_of, cut_offs) = (standings.as_of, settings.cut_offs.clone());
    let matched = tokio::task::spawn_blocking(move || {
        let readings = links::read_book(&book, &VOCABULARY);
        let cut_offs = forecast::cut_offs(book.submissions.as_deref().unwrap_or_default(), &cut_offs);
        let facts = facts(&readings, &cut_offs, &behind, &address_changes);
        matcher::reconcile(&book, facts, &rules, as_of)
    });
    let mut outcome = matched.await.unwrap_or_else(|error| resume_unwind(error.into_panic()));

    outcome.findings.extend(standings.findings(*now));
    let known = ledger.findings(shop, true, *now).await?;
    let first_seen: BTreeMap<&str, DateTime<Utc>> =
        known.iter().map(|known| (known.id.as_str(), known.first_seen)).collect();
    for finding in &mut outcome.findings {
        finding.first_seen = first_seen.get(finding.id.as_str()).copied().unwrap_or(*now);
        if let (Check::SourceGap, model::finding::Evidence::Source(source)) =
            (finding.check, &mut finding.evidence)
        {
            source.since = finding.first_seen;
        }
    }
    outcome.notices.extend(waiting);
    outcome.notices.extend(standings.not_read().map(|standing| not_read(standing, settings.zone)));
    outcome.notices.sort();
    Ok(Judged { outcome, standings })
}

fn facts<'a>(
    readings: &'a model::reading::Readings,
    cut_offs: &'a [Option<DateTime<Utc>>],
    behind: &'a Behind,
    address_changes: &'a BTreeMap<OrderId, DateTime<Utc>>,
) -> Facts<'a> {
    Facts { readings, cut_offs, behind, address_changes }
}

/// Leaves out rows whose parent has not been read yet, and says how many.
fn without_parents(book: &mut Book) -> Option<Notice> {
    let mut left_out = 0;
    let orders: HashSet<_> = book.orders.iter().map(|row| row.order_id.clone()).collect();
    left_out += keep(&mut book.order_lines, |row| orders.contains(&row.order_id));
    let submissions: HashSet<_> = book
        .submissions
        .iter()
        .flatten()
        .map(|row| (row.supplier.clone(), row.submission_id.clone()))
        .collect();
    let is_sent = |supplier: &model::SupplierId, submission: &model::SubmissionId| {
        submissions.contains(&(supplier.clone(), submission.clone()))
    };
    if let Some(rows) = &mut book.submission_lines {
        left_out += keep(rows, |row| is_sent(&row.supplier, &row.submission_id));
    }
    if let Some(rows) = &mut book.parcels {
        left_out += keep(rows, |row| is_sent(&row.supplier, &row.submission_id));
    }
    let parcels: BTreeMap<_, _> = book
        .parcels
        .iter()
        .flatten()
        .map(|row| ((row.supplier.clone(), row.parcel_id.clone()), row.submission_id.clone()))
        .collect();
    let lines: HashSet<_> = book
        .submission_lines
        .iter()
        .flatten()
        .map(|row| (row.supplier.clone(), row.submission_id.clone(), row.line_id.clone()))
        .collect();
    if let Some(rows) = &mut book.parcel_lines {
        left_out += keep(rows, |row| {
            let submission = parcels.get(&(row.supplier.clone(), row.parcel_id.clone()));
            submission.is_some_and(|submission| {
                lines.contains(&(row.supplier.clone(), submission.clone(), row.submission_line_id.clone()))
            })
        });
    }
    (left_out > 0).then(|| Notice {
        topic: Topic::NotReadYet,
        count: left_out,
        text: format!(
            "{left_out} rows belong to an order, a supplier order or a parcel that has not been read; they count once it has"
        ),
    })
}

/// Keeps some rows, and answers how many are left out.
fn keep<T>(rows: &mut Vec<T>, is_kept: impl FnMut(&T) -> bool) -> u64 {
    let before = rows.len();
    rows.retain(is_kept);
    (before - rows.len()) as u64
}

fn not_read(standing: &Standing, zone: Tz) -> Notice {
    let read = match standing.read_up_to {
        Some(moment) => {
            format!(
                "was last read as it stood on {}",
                moment.with_timezone(&zone).format("%a %-d %b %Y at %H:%M")
            )
        }
        None => "has never been read to its end".to_owned(),
    };
    let trouble = standing.state.as_ref().and_then(|state| state.asking.trouble.as_ref());
    let why = trouble.map(|trouble| format!(" ({})", trouble.words)).unwrap_or_default();
    Notice {
        topic: Topic::NotReadYet,
        count: 1,
        text: format!(
            "source {}, {} {read}{why}: lines that wait for it are not named yet, and what is named may be out of date",
            standing.source, standing.request
        ),
    }
}
