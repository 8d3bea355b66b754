//! What is over is closed, and the answer stays the one that the whole ledger gives, whatever changes later.
//!
//! Start reading at [`Kept::agrees`].

#![allow(clippy::unwrap_used, reason = "all of this is tests")]

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use everyline::configuration::Configuration;
use everyline::live::judge::{Judged, Prepared, Question, judge, judge_prepared};
use everyline::live::near::{Looked, Near};
use everyline::live::rounds::Watch;
use everyline::live::world::Told;
use ledger::Ledger;
use matcher::{Whole, account_of_order};
use model::book::{OrderStatus, Submission, SubmissionLine, SubmissionStatus, Tie};
use model::{Book, LineId, OrderId, Outcome, SubmissionId, When};
use tempfile::TempDir;
use tokio::sync::watch;

/// A shop whose exports lie in a folder, and its ledger.
struct Kept {
    folder: TempDir,
    world: Arc<Told>,
    configuration: Configuration,
    book: Book,
    now: DateTime<Utc>,
    ledger: Ledger,
    watched: Watch,
    _stopping: watch::Sender<bool>,
}

impl Kept {
    /// A random book, read and judged at its own time.
    async fn of(seed: u64, orders: usize) -> Self {
        let planted = simshop::random_book(seed, orders);
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("everyline.toml");
        let source = "[sources.dropped]\nrole = \"storefront\"\nfolder = \"exports\"\n";
        fs::write(&file, format!("{}\n{source}", planted.configuration)).unwrap();
        fs::create_dir(folder.path().join("exports")).unwrap();
        let configuration = Configuration::read(&file).unwrap();
        let ledger = Ledger::open(&configuration.ledger).await.unwrap();
        let now = planted.as_of;
        let world = Arc::new(Told::new(now));
        let (stopping, stop) = watch::channel(false);
        let watched = Watch::new(&configuration, ledger.clone(), world.clone(), stop).await.unwrap();
        let book = planted.book;
        let mut kept = Self { folder, world, configuration, book, now, ledger, watched, _stopping: stopping };
        kept.round(TimeDelta::zero()).await;
        kept
    }

    fn exports(&self) -> PathBuf {
        self.folder.path().join("exports")
    }

    /// Time passes, exports come in as the book is then, and a round is made.
    async fn round(&mut self, later: TimeDelta) {
        self.now += later;
        self.world.set(self.now);
        simshop::write_csv(&self.book, &self.exports()).unwrap();
        for file in fs::read_dir(self.exports()).unwrap() {
            let file = fs::File::options().append(true).open(file.unwrap().path()).unwrap();
            file.set_modified(self.now.into()).unwrap();
        }
        self.watched.round(&mut |_| ()).await;
    }

    fn question(&self) -> Question {
        let (shop, settings) = self.configuration.shop(None).unwrap();
        Question { shop: shop.clone(), settings: Arc::new(settings.clone()), as_of: None, now: self.now }
    }

    /// The answer without what is closed, and the one with it.
    async fn judged(&self) -> (Judged, Judged) {
        let question = self.question();
        let open = judge(&self.ledger, &question).await.unwrap();
        let whole = Arc::new(Prepared::of(&self.ledger, &question).await.unwrap());
        (open, judge_prepared(&self.ledger, &question, &whole).await.unwrap())
    }

    /// Holds both answers against each other, and answers them.
    async fn agrees(&self, what: &str) -> Outcome {
        let (open, whole) = self.judged().await;
        assert_eq!(open.outcome, whole.outcome, "{what}");
        assert_eq!(open.by_hand, whole.by_hand, "{what}");
        whole.outcome
    }

    /// The orders that are closed.
    async fn closed(&self) -> BTreeSet<OrderId> {
        let open = Prepared::of_open(&self.ledger, &self.question()).await.unwrap();
        let open: BTreeSet<_> = open.book.orders.iter().map(|row| row.order_id.clone()).collect();
        self.book.orders.iter().map(|row| row.order_id.clone()).filter(|id| !open.contains(id)).collect()
    }

    /// Time passes until what is over is closed.
    async fn closes(&mut self) -> BTreeSet<OrderId> {
        self.round(TimeDelta::days(200)).await;
        let closed = self.closed().await;
        assert!(closed.len() > 20, "{} orders are closed", closed.len());
        closed
    }
}

fn is_of(row: &SubmissionLine, of: &Submission) -> bool {
    row.supplier == of.supplier && row.submission_id == of.submission_id
}

/// What may happen to an order that was over, each as a change of the book. False where there is nothing to change.
type Happens = fn(&mut Book, &OrderId, DateTime<Utc>) -> bool;

fn submission_of<'b>(book: &'b Book, order: &OrderId) -> Option<&'b Submission> {
    let sent = book.submissions.iter().flatten();
    sent.into_iter().find(|row| row.order_ref.as_deref().is_some_and(|of| of.contains(order.as_str())))
}

fn lines_are_more(book: &mut Book, order: &OrderId, _: DateTime<Utc>) -> bool {
    let line = book.order_lines.iter_mut().find(|row| row.order_id == *order);
    line.map(|line| line.quantity += 1).is_some()
}

fn a_line_is_added(book: &mut Book, order: &OrderId, _: DateTime<Utc>) -> bool {
    let Some(line) = book.order_lines.iter().find(|row| row.order_id == *order).cloned() else {
        return false;
    };
    book.order_lines.push(model::book::OrderLine { line_id: LineId::new("added"), ..line });
    true
}

fn it_is_cancelled(book: &mut Book, order: &OrderId, now: DateTime<Utc>) -> bool {
    let Some(row) = book.orders.iter_mut().find(|row| row.order_id == *order) else { return false };
    (row.status, row.updated_at) = (OrderStatus::Cancelled, Some(When::at(now)));
    true
}

fn the_supplier_cancels(book: &mut Book, order: &OrderId, now: DateTime<Utc>) -> bool {
    let Some(key) = submission_of(book, order).map(|row| (row.supplier.clone(), row.submission_id.clone()))
    else {
        return false;
    };
    let sent = book.submissions.iter_mut().flatten();
    for row in sent.filter(|row| (row.supplier.clone(), row.submission_id.clone()) == key) {
        (row.status, row.updated_at) = (SubmissionStatus::Cancelled, Some(When::at(now)));
    }
    true
}

fn it_is_sent_again(book: &mut Book, order: &OrderId, now: DateTime<Utc>) -> bool {
    let Some(sent) = submission_of(book, order).cloned() else { return false };
    let again = SubmissionId::new(format!("{}-again", sent.submission_id));
    let lines: Vec<_> =
        book.submission_lines.iter().flatten().filter(|row| is_of(row, &sent)).cloned().collect();
    let lines = lines.into_iter().map(|row| SubmissionLine { submission_id: again.clone(), ..row });
    book.submission_lines.as_mut().unwrap().extend(lines.collect::<Vec<_>>());
    let sent = Submission { submission_id: again, received_at: When::at(now), ..sent };
    book.submissions.as_mut().unwrap().push(sent);
    true
}

fn a_parcel_holds_less(book: &mut Book, order: &OrderId, _: DateTime<Utc>) -> bool {
    let Some(sent) = submission_of(book, order).cloned() else { return false };
    let parcels: BTreeSet<_> = book
        .parcels
        .iter()
        .flatten()
        .filter(|row| row.supplier == sent.supplier && row.submission_id == sent.submission_id)
        .map(|row| row.parcel_id.clone())
        .collect();
    let packed = book.parcel_lines.as_mut().unwrap();
    let Some(at) = packed.iter().position(|row| parcels.contains(&row.parcel_id)) else { return false };
    packed.remove(at);
    true
}

const WHAT_HAPPENS: [(&str, Happens); 6] = [
    ("one more is owed", lines_are_more),
    ("a line is added", a_line_is_added),
    ("it is cancelled", it_is_cancelled),
    ("the supplier cancels", the_supplier_cancels),
    ("it is sent again", it_is_sent_again),
    ("a parcel holds less", a_parcel_holds_less),
];

#[tokio::test]
async fn what_is_over_is_closed_and_the_answer_is_that_of_the_whole() {
    for seed in [5, 23] {
        let mut kept = Kept::of(seed, 150).await;
        kept.agrees("at first").await;
        assert!(kept.closed().await.is_empty(), "nothing is over yet");
        for days in [20, 45, 90, 400] {
            kept.round(TimeDelta::days(days)).await;
            kept.agrees(&format!("{days} days later")).await;
        }
        assert!(kept.closed().await.len() > 20);
        kept.ledger.close().await;
    }
}

#[tokio::test]
async fn what_happens_to_a_closed_order_opens_it() {
    for (what, happens) in WHAT_HAPPENS {
        let mut kept = Kept::of(7, 120).await;
        let closed = kept.closes().await;
        let before = kept.agrees(what).await;
        let mut changed = 0;
        for order in closed.iter().step_by(7) {
            changed += usize::from(happens(&mut kept.book, order, kept.now));
        }
        assert!(changed > 2, "{what}: {changed}");
        kept.round(TimeDelta::hours(1)).await;
        let after = kept.agrees(what).await;
        let said = |outcome: &Outcome| (outcome.totals, outcome.findings.len());
        assert_ne!(said(&before), said(&after), "{what}: something is another now");
        // Graces pass.
        kept.round(TimeDelta::days(20)).await;
        kept.agrees(what).await;
        kept.ledger.close().await;
    }
}

#[tokio::test]
async fn a_word_of_the_owner_opens_a_closed_order() {
    let mut kept = Kept::of(7, 120).await;
    let closed = kept.closes().await;
    let (shop, _) = kept.configuration.shop(None).unwrap();
    let order = closed.first().unwrap();
    let line = kept.book.order_lines.iter().find(|row| row.order_id == *order).unwrap();
    // A submission of another order, closed too.
    let other = closed.iter().rev().find_map(|order| submission_of(&kept.book, order)).unwrap();
    let tie = Tie {
        order_id: order.clone(),
        line_id: line.line_id.clone(),
        supplier: other.supplier.clone(),
        submission_id: other.submission_id.clone(),
        submission_line_id: None,
    };
    kept.ledger.tie(shop, &tie, kept.now).await.unwrap();
    kept.agrees("tied").await;
    assert!(!kept.closed().await.contains(order));
    assert!(kept.ledger.untie(shop, &tie, kept.now).await.unwrap());
    kept.agrees("untied").await;
    kept.ledger.close().await;
}

#[tokio::test]
async fn an_order_of_an_id_that_a_closed_reference_also_means_opens_it() {
    let mut kept = Kept::of(7, 120).await;
    // The reference names a second order, which is not known yet.
    let order =
        kept.closes().await.into_iter().find(|order| submission_of(&kept.book, order).is_some()).unwrap();
    let sent = submission_of(&kept.book, &order).unwrap().submission_id.clone();
    for row in kept.book.submissions.iter_mut().flatten().filter(|row| row.submission_id == sent) {
        row.order_ref = Some(format!("{} LATER-1", row.order_ref.as_deref().unwrap()));
    }
    for row in kept.book.submission_lines.iter_mut().flatten().filter(|row| row.submission_id == sent) {
        row.order_ref = None;
    }
    kept.round(TimeDelta::hours(2)).await;
    kept.agrees("with a second reference").await;
    kept.round(TimeDelta::hours(2)).await;
    assert!(kept.closed().await.contains(&order));

    let row = kept.book.orders.iter().find(|row| row.order_id == order).unwrap().clone();
    let lines: Vec<_> = kept.book.order_lines.iter().filter(|row| row.order_id == order).cloned().collect();
    let later = OrderId::new("LATER-1");
    kept.book.orders.push(model::book::Order { order_id: later.clone(), ..row });
    let lines = lines.into_iter().map(|row| model::book::OrderLine { order_id: later.clone(), ..row });
    kept.book.order_lines.extend(lines.collect::<Vec<_>>());
    kept.round(TimeDelta::hours(2)).await;
    kept.agrees("the second order came").await;
    let (shop, _) = kept.configuration.shop(None).unwrap();
    let group = kept.ledger.closed_with(shop, &order).await.unwrap();
    assert!(group.is_none_or(|(orders, _)| orders.contains(&later)), "the two belong together now");
    kept.ledger.close().await;
}

#[tokio::test]
async fn other_rules_open_everything_and_links_of_today_change_nothing_that_is_done() {
    let mut kept = Kept::of(7, 120).await;
    let closed = kept.closes().await;
    let file = kept.folder.path().join("everyline.toml");
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains("[graces]\n"));
    fs::write(&file, text.replace("[graces]\n", "[graces]\nmark_grace = \"25 h\"\n")).unwrap();
    kept.configuration = Configuration::read(&file).unwrap();
    kept.agrees("by other rules").await;
    let (stopping, stop) = watch::channel(false);
    kept.watched =
        Watch::new(&kept.configuration, kept.ledger.clone(), kept.world.clone(), stop).await.unwrap();
    kept._stopping = stopping;
    assert!(kept.closed().await.is_empty(), "whoever only reads opens nothing, and reads all");
    kept.round(TimeDelta::hours(2)).await;
    assert_eq!(kept.closed().await, closed, "all is judged by the new rules, and closed by them");

    // Every link leads nowhere from today on.
    let totals = kept.agrees("before").await.totals;
    kept.book.links = Some(Vec::new());
    for row in kept.book.variants.iter_mut().flatten() {
        row.sku = None;
    }
    kept.round(TimeDelta::hours(2)).await;
    assert_eq!(kept.closed().await, closed);
    let (open, whole) = kept.judged().await;
    let covered = |judged: &Judged| judged.outcome.totals.covered;
    assert!(
        covered(&open) + 5 > totals.covered,
        "what is done stays done: {} of {}",
        covered(&open),
        totals.covered
    );
    assert!(covered(&whole) + 20 < totals.covered, "judged anew: {} of {}", covered(&whole), totals.covered);
    kept.ledger.close().await;
}

#[tokio::test]
async fn a_closed_order_is_looked_up_with_what_was_sent_for_it() {
    let mut kept = Kept::of(7, 120).await;
    let closed = kept.closes().await;
    let question = kept.question();
    let (shop, settings) = (&question.shop, &question.settings);
    let open = Prepared::of_open(&kept.ledger, &question).await.unwrap();
    let whole = Prepared::of(&kept.ledger, &question).await.unwrap();
    let near = Near::of(&open).unwrap();
    let account = |order: &OrderId| {
        let Prepared { book, rules, standings, .. } = &whole;
        account_of_order(book, whole.facts(), rules, standings.as_of, &Whole::of(book), order)
    };
    let look =
        async |order: &OrderId| near.order(&kept.ledger, (shop, settings), order, kept.now).await.unwrap();
    for order in &closed {
        let Looked::Found(found) = look(order).await else { panic!("{order} was not found") };
        assert_eq!(found.account, account(order), "{order}");
        assert!(found.account.is_some());
    }
    // It changes after the round: what the round knows of it is not enough any more.
    let order = closed.first().unwrap();
    assert!(lines_are_more(&mut kept.book, order, kept.now));
    let batch = model::Batch {
        shop: shop.clone(),
        source: "dropped".into(),
        request: "folder".to_owned(),
        rows: Book {
            order_lines: kept.book.order_lines.iter().filter(|row| row.order_id == *order).cloned().collect(),
            ..Book::default()
        },
        whole: Vec::new(),
        everything_since: None,
        source_time: None,
        seen_at: kept.now,
        mark: model::Mark::default(),
    };
    assert!(kept.ledger.commit(&batch).await.unwrap().is_any());
    assert!(matches!(look(order).await, Looked::TooLarge));
    kept.ledger.close().await;
}
