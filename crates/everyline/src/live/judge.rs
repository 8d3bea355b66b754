//! The ledger of a shop, judged.
//!
//! Must not know how the ledger was filled, or how the answer is shown. Start reading at [`judge`]; [`Prepared`] is what
//! it judges.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::panic::resume_unwind;
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use ledger::{Ledger, LedgerError};
use matcher::{Behind, Facts, Whole};
use model::outcome::{Notice, Topic};
use model::reading::Readings;
use model::{
    Book, Check, ListingId, Options, OrderId, Outcome, Rules, Settled, ShopId, SupplierId, VariantId,
};

use super::closing;
use super::standing::{Standing, Standings};
use crate::configuration::Settings;
use crate::readings;

/// Orders placed so long before a shop's first round are matched, and raise nothing.
pub const REPORTED_BEFORE_FIRST_ROUND: TimeDelta = TimeDelta::days(30);

/// So often a round opens what it has to, before it takes the whole book: what is opened may lead to more, and sources bring
/// more meanwhile.
const OPENED_AT_MOST: usize = 5;

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
    /// What was taken care of by hand.
    pub by_hand: Vec<DoneByHand>,
}

/// An offer that was taken care of by hand for an order (way 3).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DoneByHand {
    /// The order.
    pub order_id: OrderId,
    /// What was bought there.
    pub listing_id: ListingId,
    /// As it was chosen.
    pub options: Options,
    /// Who was asked.
    pub supplier: SupplierId,
    /// For which variant.
    pub variant_id: VariantId,
}

impl DoneByHand {
    /// Of lines of which it is known what was bought.
    pub fn all(done: &[matcher::ByHand<'_>]) -> Vec<Self> {
        let of_line = |done: &matcher::ByHand<'_>| {
            Some(Self {
                order_id: done.line.order_id.clone(),
                listing_id: done.line.listing_id.clone()?,
                options: done.line.options.clone()?,
                supplier: done.supplier.clone(),
                variant_id: done.variant_id.clone(),
            })
        };
        done.iter().filter_map(of_line).collect()
    }
}

impl Judged {
    /// Whether every source has been read up to where it should.
    pub fn is_complete(&self) -> bool {
        self.standings.not_read().next().is_none()
    }
}

/// What the ledger holds of a shop, and all that is needed to judge it.
#[derive(Debug)]
pub struct Prepared {
    /// When it was asked.
    pub asked_at: DateTime<Utc>,
    /// How far the sources have been read.
    pub standings: Standings,
    /// What is known, without rows whose parent has not been read yet.
    pub book: Book,
    /// What the owner configured, with the orders that are reported.
    pub rules: Rules,
    /// What the whole says, open or closed.
    pub whole: Whole,
    /// What is said by the book's option text.
    pub readings: Readings,
    /// What is closed, and so is not in the book.
    closed: Closed,
    /// In the order of the book's submissions.
    cut_offs: Vec<Option<DateTime<Utc>>>,
    behind: Behind,
    address_changes: BTreeMap<OrderId, DateTime<Utc>>,
    /// What was left out of the book.
    waiting: Option<Notice>,
}

/// What is closed of a shop.
#[derive(Clone, Default, Debug)]
struct Closed {
    /// What it adds.
    settled: Settled,
    /// By what it may be added to; `None` where that was not asked.
    by: Option<(String, i64)>,
}

/// What is read first: how far the sources are, and what the owner configured.
struct Begun {
    standings: Standings,
    rules: Rules,
}

impl Begun {
    async fn of(ledger: &Ledger, question: &Question) -> Result<Self, LedgerError> {
        let Question { shop, settings, as_of, now } = question;
        let standings = Standings::of(ledger, shop, settings, *as_of, *now).await?;
        let first_round = ledger.rounds(shop).await?.map_or(*now, |rounds| rounds.first_at);
        let mut rules = settings.rules.clone();
        rules.since = rules.since.or(first_round.checked_sub_signed(REPORTED_BEFORE_FIRST_ROUND));
        Ok(Self { standings, rules })
    }

    /// What is open, with what the whole says and what is closed. `None` where it does not stand for itself, and `opens` does
    /// not say that what it has to do with is to be opened, or a moment is asked for.
    async fn open(
        &self,
        ledger: &Ledger,
        question: &Question,
        opens: bool,
    ) -> Result<Option<(Book, Whole, Closed)>, LedgerError> {
        let Question { shop, settings, as_of, .. } = question;
        if as_of.is_some() {
            return Ok(None);
        }
        let known = self.standings.known();
        for _ in 0..OPENED_AT_MOST {
            let open = ledger.open_book(shop, known).await?;
            let basis = closing::basis(settings, &self.rules, known, open.first_placed);
            if !open.basis.is_empty() && open.basis != basis {
                if !opens {
                    return Ok(None);
                }
                ledger.open_all(shop).await?;
                continue;
            }
            if open.settled.orders > 0 {
                let connected = closing::connected(&open.book, &self.rules);
                if ledger.is_any_closed(shop, &connected).await? {
                    if !opens {
                        return Ok(None);
                    }
                    ledger.open_orders(shop, &connected).await?;
                    continue;
                }
            }
            let whole = Whole {
                first_placed: open.first_placed,
                orders: open.book.orders.len() as u64 + open.settled.orders,
                orders_before: open.orders_before,
                ..Whole::of(&open.book)
            };
            let closed = Closed { settled: open.settled, by: Some((basis, open.version)) };
            return Ok(Some((open.book, whole, closed)));
        }
        Ok(None)
    }
}

impl Prepared {
    /// Takes out of the ledger what a question is about, with all that is closed.
    ///
    /// # Errors
    /// Where the ledger cannot be read.
    pub async fn of(ledger: &Ledger, question: &Question) -> Result<Self, LedgerError> {
        let begun = Begun::of(ledger, question).await?;
        Self::of_whole(ledger, question, begun).await
    }

    /// The same without what is closed, for a question about now; about another moment, with it. Where that is not enough, for
    /// something open has to do with something closed, or it was closed by rules that are not in force any more: with it too.
    ///
    /// # Errors
    /// Where the ledger cannot be read.
    pub async fn of_open(ledger: &Ledger, question: &Question) -> Result<Self, LedgerError> {
        Self::open_or_whole(ledger, question, false).await
    }

    /// The same for a round, which opens in the ledger what has to be judged with what is open.
    ///
    /// # Errors
    /// Where the ledger cannot be read or written.
    pub async fn of_round(ledger: &Ledger, question: &Question) -> Result<Self, LedgerError> {
        Self::open_or_whole(ledger, question, true).await
    }

    async fn open_or_whole(ledger: &Ledger, question: &Question, opens: bool) -> Result<Self, LedgerError> {
        let begun = Begun::of(ledger, question).await?;
        match begun.open(ledger, question, opens).await? {
            Some(open) => Self::made(ledger, question, begun, open).await,
            None => Self::of_whole(ledger, question, begun).await,
        }
    }

    async fn of_whole(ledger: &Ledger, question: &Question, begun: Begun) -> Result<Self, LedgerError> {
        let book = ledger.book(&question.shop, begun.standings.known()).await?;
        let whole = Whole::of(&book);
        Self::made(ledger, question, begun, (book, whole, Closed::default())).await
    }

    async fn made(
        ledger: &Ledger,
        question: &Question,
        Begun { standings, rules }: Begun,
        (mut book, whole, closed): (Book, Whole, Closed),
    ) -> Result<Self, LedgerError> {
        let Question { shop, settings, .. } = question;
        let address_changes = ledger.address_changes(shop).await?;
        let waiting = without_parents(&mut book);
        let sent_by =
            book.submissions.iter().flatten().map(|row| row.supplier.clone()).collect::<BTreeSet<_>>();
        let behind = standings.behind(sent_by);
        let cut_offs =
            forecast::cut_offs(book.submissions.as_deref().unwrap_or_default(), &settings.cut_offs);
        let vocabulary = Arc::clone(&settings.vocabulary);
        let (book, readings) = elsewhere(move || {
            let readings = readings::read_book(&book, &vocabulary);
            (book, readings)
        })
        .await;
        Ok(Self {
            asked_at: question.now,
            standings,
            book,
            rules,
            whole,
            readings,
            closed,
            cut_offs,
            behind,
            address_changes,
            waiting,
        })
    }

    /// By what groups of it may be closed; `None` where it was not asked what is.
    pub(super) fn closed_by(&self) -> Option<&(String, i64)> {
        self.closed.by.as_ref()
    }

    /// What the matcher takes as given.
    pub fn facts(&self) -> Facts<'_> {
        Facts {
            readings: &self.readings,
            cut_offs: &self.cut_offs,
            behind: &self.behind,
            address_changes: &self.address_changes,
        }
    }
}

/// Judges a shop by what the ledger holds of it.
///
/// # Errors
/// Where the ledger cannot be read.
pub async fn judge(ledger: &Ledger, question: &Question) -> Result<Judged, LedgerError> {
    let prepared = Arc::new(Prepared::of_open(ledger, question).await?);
    judge_prepared(ledger, question, &prepared).await
}

/// The same, of what was taken out of the ledger for the same question.
///
/// # Errors
/// As [`judge`].
pub async fn judge_prepared(
    ledger: &Ledger,
    question: &Question,
    prepared: &Arc<Prepared>,
) -> Result<Judged, LedgerError> {
    let Question { shop, settings, now, .. } = question;
    let (mut outcome, by_hand) = elsewhere({
        let prepared = Arc::clone(prepared);
        move || {
            let Prepared { book, rules, standings, whole, closed, .. } = &*prepared;
            let closed = (whole, &closed.settled);
            let (outcome, done) =
                matcher::reconcile_open(book, prepared.facts(), rules, standings.as_of, closed);
            (outcome, DoneByHand::all(&done))
        }
    })
    .await;
    let standings = prepared.standings.clone();

    outcome.findings.extend(standings.findings());
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
    outcome.notices.extend(prepared.waiting.clone());
    outcome.notices.extend(standings.not_read().map(|standing| not_read(standing, settings.zone)));
    outcome.notices.sort();
    Ok(Judged { outcome, standings, by_hand })
}

/// Does what takes long where it holds nobody up.
pub async fn elsewhere<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> T {
    let done = tokio::task::spawn_blocking(work).await;
    done.unwrap_or_else(|error| resume_unwind(error.into_panic()))
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
