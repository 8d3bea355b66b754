//! `everyline order`: one order with everything that belongs to it, side by side.
//!
//! Gathers what is shown; `order::view` puts it into words, for the page of a browser too, and `order::page` writes those for a
//! terminal. Must not know how an order is judged. Start reading at [`run`]; the browser's page begins at [`look`].

mod found;
mod happened;
mod lines;
mod page;
mod proposed;
mod sent;
mod verdict;
mod view;

pub use proposed::quoted;
pub(crate) use proposed::{Ahead, variant_said, view as proposal};

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::sync::Arc;

use chrono::{DateTime, Utc};
use ledger::{KeptFinding, Ledger, LedgerError, OrderHistory};
use matcher::OrderAccount;
use model::book::{Submission, SubmissionLine};
use model::rules::ReferenceForm;
use model::{Book, Finding, LineId, OrderId, ParcelId, ShopId, SubmissionId, SupplierId};
use web::view::{Order, Proposal};

use crate::arguments::OrderArguments;
use crate::audit::as_of;
use crate::clock;
use crate::configuration::nearest;
use crate::exit::Exit;
use crate::live::judge::{Prepared, Question, elsewhere, judge_prepared};
use crate::live::near::{Found, Looked, Near};
use crate::live::standing::Standings;
use crate::opened::{self, Opened, of_ledger};
use crate::terminal;
use crate::times::Times;
use crate::trouble::Trouble;

/// All that is shown of one order.
struct Shown {
    shop: ShopId,
    /// Of its submissions only the lines that refer to it, and of their parcels only those that carry some of these.
    history: OrderHistory,
    /// How many lines a submission has that refer to other orders alone.
    others: BTreeMap<(SupplierId, SubmissionId), u64>,
    /// What became of its units; `None` where it is newer than the moment for which it is judged.
    account: Option<OrderAccount>,
    /// Until when each submission can be changed, in the order of `history.submissions`.
    cut_offs: Vec<Option<DateTime<Utc>>>,
    /// What stands, of the order and of its submissions.
    findings: Vec<Finding>,
    /// Everything that stands in the ledger: it knows what is set aside.
    kept: Vec<KeptFinding>,
    /// Which variants its lines without a link could be linked to.
    proposals: BTreeMap<LineId, Proposal>,
    /// The moment for which it is judged.
    as_of: DateTime<Utc>,
    times: Times,
}

impl Shown {
    /// A submission of the order.
    fn submission(&self, supplier: &SupplierId, id: &SubmissionId) -> Option<&Submission> {
        self.history.submissions.iter().find(|row| row.supplier == *supplier && row.submission_id == *id)
    }

    /// Whether a finding is set aside now.
    fn is_set_aside(&self, id: &str) -> bool {
        self.kept.iter().any(|kept| kept.id == id && kept.set_aside.is_some())
    }
}

/// Runs the command.
///
/// # Errors
/// Where there is no such order, or the configuration or the ledger cannot be used.
pub fn run(asked: &OrderArguments) -> Result<Exit, Trouble> {
    opened::run(show(asked))
}

async fn show(asked: &OrderArguments) -> Result<Exit, Trouble> {
    let Opened { ledger, shop, settings } = Opened::of(&asked.of).await?;
    let now = clock::now();
    let as_of = as_of(asked.as_of.as_deref(), settings.zone)?;
    let question = Question { shop, settings, as_of, now };
    let order_id = OrderId::new(asked.order.as_str());
    let shown = gather(&ledger, &question, &order_id, Findings::Judged).await;
    ledger.close().await;
    let shown = shown.map_err(|not_shown| match not_shown {
        NotShown::Unknown { cause, help } => Trouble::new("there is nothing to show", cause).help(help),
        NotShown::Ledger(error) => of_ledger(error),
    })?;
    terminal::write_data(&page::page(&view::view(&shown), &shown.times, terminal::width()))?;
    Ok(Exit::Nothing)
}

/// Why an order is not shown.
pub enum NotShown {
    /// There is none, as far as is known.
    Unknown {
        /// What there is not.
        cause: String,
        /// What to do next.
        help: String,
    },
    /// The ledger could not be read.
    Ledger(LedgerError),
}

impl From<LedgerError> for NotShown {
    fn from(error: LedgerError) -> Self {
        Self::Ledger(error)
    }
}

/// Where the findings come from.
#[derive(Clone, Copy)]
enum Findings<'f> {
    /// The shop is judged for them.
    Judged,
    /// They were found before; nothing is judged, and what an order without a link could be linked to is proposed. Commands
    /// that are named have this behind them.
    Found(&'f [Finding], &'f str),
}

/// An order as a browser's page shows it, with what the last round found. `behind` is what stands behind commands that are
/// named.
///
/// # Errors
/// Where there is no such order, or the ledger cannot be read.
pub async fn look(
    ledger: &Ledger,
    question: &Question,
    order_id: &OrderId,
    found: &[Finding],
    behind: &str,
) -> Result<Order, NotShown> {
    Ok(view::view(&gather(ledger, question, order_id, Findings::Found(found, behind)).await?))
}

/// The same, as the round left it behind, without reading the whole ledger. `Ok(None)` where that does not suffice: for an
/// order that submissions connect with very many, and where a variant is to be proposed for a line for which nothing was
/// proposed ahead.
///
/// # Errors
/// As [`look`].
pub async fn look_near(
    (near, ahead): (&Near, &Ahead),
    ledger: &Ledger,
    question: &Question,
    order_id: &OrderId,
    found: &[Finding],
) -> Result<Option<Order>, NotShown> {
    let Question { shop, settings, now, .. } = question;
    let times = Times::new(settings.zone, *now);
    let Found { orders, mut history, account } =
        match near.order(ledger, (shop, settings), order_id, *now).await? {
            Looked::Found(found) => *found,
            Looked::TooLarge => return Ok(None),
            Looked::Unknown => {
                let standings = Standings::of(ledger, shop, settings, None, *now).await?;
                return Err(unknown(order_id, None, &standings, &times));
            }
        };
    let open =
        account.as_ref().map(|account| proposed::open_lines(&history.lines, account)).unwrap_or_default();
    let (proposals, has_all) = ahead.of_lines(&open);
    if !has_all {
        return Ok(None);
    }
    let known: HashSet<&str> = orders.iter().map(OrderId::as_str).collect();
    let others = keep_own(&mut history, |supplier, reference| {
        let form = settings.rules.references_of(supplier);
        form.orders(reference, |id| known.contains(id)).contains(&order_id.as_str())
    });
    let about = found.iter().filter(|finding| is_about(finding, order_id, &history));
    let findings: Vec<Finding> = about.cloned().collect();
    let kept = kept_of(ledger, question, &findings, &history).await?;
    Ok(Some(view::view(&Shown {
        shop: shop.clone(),
        cut_offs: forecast::cut_offs(&history.submissions, &settings.cut_offs),
        history,
        others,
        account,
        findings,
        kept,
        proposals,
        as_of: near.as_of(),
        times,
    })))
}

/// What the ledger has of the findings about an order. Those about its submissions stand among all others.
async fn kept_of(
    ledger: &Ledger,
    question: &Question,
    findings: &[Finding],
    history: &OrderHistory,
) -> Result<Vec<KeptFinding>, LedgerError> {
    match findings.iter().all(|finding| finding.order_id.is_some()) {
        true => Ok(history.findings.iter().filter(|kept| kept.settled_at.is_none()).cloned().collect()),
        false => ledger.findings(&question.shop, true, question.now).await,
    }
}

/// Whether a finding is about an order, or about a submission of it.
fn is_about(finding: &Finding, order_id: &OrderId, history: &OrderHistory) -> bool {
    match &finding.order_id {
        Some(of) => of == order_id,
        None => history.submissions.iter().any(|row| {
            finding.supplier.as_ref() == Some(&row.supplier)
                && finding.submission_id.as_ref() == Some(&row.submission_id)
        }),
    }
}

async fn gather(
    ledger: &Ledger,
    question: &Question,
    order_id: &OrderId,
    from: Findings<'_>,
) -> Result<Shown, NotShown> {
    let Question { shop, settings, now, .. } = question;
    let prepared = Arc::new(Prepared::of(ledger, question).await?);
    let times = Times::new(settings.zone, *now);
    let mut known: HashSet<&str> = prepared.book.orders.iter().map(|row| row.order_id.as_str()).collect();
    known.insert(order_id.as_str());
    let speaks = |form: &ReferenceForm, reference: &str| {
        form.orders(reference, |id| known.contains(id)).contains(&order_id.as_str())
    };
    let rules = &settings.rules;
    let forms: Vec<_> = [&rules.references].into_iter().chain(rules.supplier_references.values()).collect();
    let history = ledger
        .order(shop, order_id, |reference| forms.iter().any(|form| speaks(form, reference)), *now)
        .await?;
    let Some(mut history) = history else {
        return Err(unknown(order_id, Some(&prepared.book), &prepared.standings, &times));
    };
    let others =
        keep_own(&mut history, |supplier, reference| speaks(rules.references_of(supplier), reference));

    let mut findings = match from {
        Findings::Judged => judge_prepared(ledger, question, &prepared).await?.outcome.findings,
        Findings::Found(found, _) => found.to_vec(),
    };
    let account = elsewhere({
        let (prepared, order_id) = (Arc::clone(&prepared), order_id.clone());
        move || {
            let Prepared { book, rules, standings, whole, .. } = &*prepared;
            matcher::account_of_order(book, prepared.facts(), rules, standings.as_of, whole, &order_id)
        }
    })
    .await;
    findings.retain(|finding| is_about(finding, order_id, &history));
    let proposals = match (from, &account) {
        (Findings::Found(_, behind), Some(account)) => {
            proposed::of(ledger, question, &prepared, &history.lines, account, behind).await?
        }
        _ => BTreeMap::new(),
    };
    let kept = kept_of(ledger, question, &findings, &history).await?;
    Ok(Shown {
        shop: shop.clone(),
        cut_offs: forecast::cut_offs(&history.submissions, &settings.cut_offs),
        history,
        others,
        account,
        findings,
        kept,
        proposals,
        as_of: prepared.standings.as_of,
        times,
    })
}

/// Leaves out what a reference of another supplier's form let in, and the lines for other orders alone; answers how
/// many of these each submission has.
fn keep_own(
    history: &mut OrderHistory,
    speaks: impl Fn(&SupplierId, &str) -> bool,
) -> BTreeMap<(SupplierId, SubmissionId), u64> {
    let is_tied = |supplier: &SupplierId, submission: &SubmissionId, line: Option<&SubmissionLine>| {
        history.ties.iter().any(|tie| {
            (&tie.supplier, &tie.submission_id) == (supplier, submission)
                && (tie.submission_line_id.is_none()
                    || line.is_none_or(|line| Some(&line.line_id) == tie.submission_line_id.as_ref()))
        })
    };
    let key = |row: &Submission| (row.supplier.clone(), row.submission_id.clone());
    let by_id: BTreeMap<_, _> =
        history.submissions.iter().map(|row| (key(row), row.order_ref.clone())).collect();
    let is_own_line = |row: &SubmissionLine| {
        let of = by_id.get(&(row.supplier.clone(), row.submission_id.clone())).and_then(Option::as_deref);
        let reference = row.order_ref.as_deref().or(of);
        reference.is_some_and(|reference| speaks(&row.supplier, reference))
            || is_tied(&row.supplier, &row.submission_id, Some(row))
    };
    let (own, other): (Vec<_>, Vec<_>) =
        std::mem::take(&mut history.submission_lines).into_iter().partition(is_own_line);
    let with_own: BTreeSet<_> =
        own.iter().map(|row| (row.supplier.clone(), row.submission_id.clone())).collect();
    history.submissions.retain(|row| {
        with_own.contains(&key(row))
            || is_tied(&row.supplier, &row.submission_id, None)
            || row.order_ref.as_deref().is_some_and(|reference| speaks(&row.supplier, reference))
    });
    let sent: BTreeSet<_> = history.submissions.iter().map(key).collect();
    let mut others = BTreeMap::new();
    let mut other_lines = BTreeSet::new();
    for row in other {
        let of = (row.supplier, row.submission_id);
        if sent.contains(&of) {
            *others.entry(of.clone()).or_default() += 1;
            other_lines.insert((of.0, of.1, row.line_id));
        }
    }
    history.submission_lines = own;

    let mut submission_of: BTreeMap<(SupplierId, ParcelId), SubmissionId> = BTreeMap::new();
    for parcel in
        history.parcels.iter().filter(|row| sent.contains(&(row.supplier.clone(), row.submission_id.clone())))
    {
        submission_of
            .insert((parcel.supplier.clone(), parcel.parcel_id.clone()), parcel.submission_id.clone());
    }
    // A parcel of which it is not said what is in it may carry something of this order.
    let mut carries_own: BTreeMap<(SupplierId, ParcelId), bool> = BTreeMap::new();
    history.parcel_lines.retain(|row| {
        let of = (row.supplier.clone(), row.parcel_id.clone());
        let Some(submission) = submission_of.get(&of) else { return false };
        let is_own = !other_lines.contains(&(
            row.supplier.clone(),
            submission.clone(),
            row.submission_line_id.clone(),
        ));
        *carries_own.entry(of).or_default() |= is_own;
        is_own
    });
    submission_of.retain(|of, _| carries_own.get(of).copied().unwrap_or(true));
    history.parcels.retain(|row| submission_of.contains_key(&(row.supplier.clone(), row.parcel_id.clone())));

    history.timeline.retain(|entry| match (entry.noun.as_str(), &entry.ids[..]) {
        ("submission" | "submission_line", [supplier, id, line @ ..]) => {
            let of = (SupplierId::new(supplier.as_str()), SubmissionId::new(id.as_str()));
            let is_other = line.first().is_some_and(|line| {
                other_lines.contains(&(of.0.clone(), of.1.clone(), line.as_str().into()))
            });
            sent.contains(&of) && !is_other
        }
        ("parcel" | "parcel_line", [supplier, id, line @ ..]) => {
            let supplier = SupplierId::new(supplier.as_str());
            let Some(submission) = submission_of.get(&(supplier.clone(), id.as_str().into())) else {
                return false;
            };
            let is_other = |line: &String| {
                other_lines.contains(&(supplier.clone(), submission.clone(), line.as_str().into()))
            };
            !line.first().is_some_and(is_other)
        }
        _ => true,
    });
    others
}

/// That there is no such order, as far as is known. `book` has the orders among which it is looked for one that is meant.
fn unknown(order_id: &OrderId, book: Option<&Book>, standings: &Standings, times: &Times) -> NotShown {
    let ids = book.iter().flat_map(|book| &book.orders).map(|row| row.order_id.as_str());
    let near =
        nearest(order_id.as_str(), ids).map(|near| format!("; the nearest is {near}")).unwrap_or_default();
    let cause = format!("no order {:?} has been read{near}", order_id.as_str());
    let help = format!("give its id as the storefront writes it. {}", orders_read_up_to(standings, times));
    NotShown::Unknown { cause, help }
}

/// Up to when orders have been read.
fn orders_read_up_to(standings: &Standings, times: &Times) -> String {
    let brings_orders = |table: &String| table == "orders";
    let mut read = standings
        .all
        .iter()
        .filter(|standing| standing.supplier.is_none())
        .filter(|standing| standing.tables.is_empty() || standing.tables.iter().any(brings_orders))
        .map(|standing| standing.read_up_to)
        .peekable();
    if read.peek().is_none() {
        return "No source of orders is declared".to_owned();
    }
    match read.min().flatten() {
        Some(moment) => format!(
            "The storefront has been read up to {}, {}; a newer order comes with the next reading \
             (`everyline status` says when)",
            times.at(moment),
            times.ago(moment)
        ),
        None => "The storefront has never been read to its end; `everyline status` says why".to_owned(),
    }
}
