//! The straight path: the orders with which nothing is wrong are counted while the tables are read, the others are
//! judged in batches, each as the plain path judges a book.
//!
//! Must not know when an order can be counted, or how. Start reading at [`audit()`].

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;

use intake::ReadSettings;
use intake::sieve::{self, Again, Batch, BatchBook, Extents, Remainder, Sieved, Sieving};
use matcher::{Facts, Part, Straight, Whole};
use model::book::Offer;
use model::reading::Readings;
use model::{Book, Outcome};

use crate::audit::{Question, old_export, unknown_suppliers, unusable};
use crate::readings;
use crate::terminal::ReadingBar;
use crate::trouble::Trouble;

/// About how many bytes of rows are judged at once by one thread: some thousands of orders.
const BATCH_BYTES: u64 = 8 << 20;

/// Reads a folder and judges it. `None` where the plain path has to be taken.
///
/// # Errors
/// Where the tables cannot be read.
pub fn audit(question: &Question<'_>) -> Result<Option<Outcome>, Trouble> {
    let settings = ReadSettings { zone: question.settings.zone, rules: &question.settings.rules };
    let bar = ReadingBar::new(question.quiet);
    let answer = read_and_judge(question, settings, &bar);
    bar.clear();
    answer
}

fn read_and_judge(
    question: &Question<'_>,
    settings: ReadSettings<'_>,
    bar: &ReadingBar,
) -> Result<Option<Outcome>, Trouble> {
    let Question { settings: configured, as_of, .. } = *question;
    let opened = sieve::open(question.folder, settings).map_err(|error| unusable(question, error))?;
    let Some(rule) = Straight::new(&opened.book, &configured.rules, opened.knows_submissions) else {
        return Ok(None);
    };
    let threads = thread::available_parallelism().map_or(1, usize::from);
    let how = Sieving { as_of, threads, batch_bytes: BATCH_BYTES };
    let mut progress = |progress: intake::Progress| bar.set(progress.bytes_read, progress.bytes_total);
    let sieved = opened.sieve(&rule, how, &mut progress).map_err(|error| unusable(question, error))?;
    let Sieved::Counted(mut remainder) = sieved else { return Ok(None) };

    let judge = Judge::new(question, &opened.book, &remainder, opened.knows_submissions);
    let mut found = Found { part: judge.offers(), again: Again::default() };
    found.part.add(std::mem::take(&mut remainder.counted).into());
    for round in 0..remainder.rounds() {
        let batches = remainder.gather(round, &mut progress).map_err(|error| unusable(question, error))?;
        match judge.batches(batches, threads, &remainder.extents) {
            Some(of_round) => found.add(of_round),
            None => return Ok(None),
        }
    }
    let Found { part, again } = found;
    let whole = Whole {
        orders: judge.whole.orders - again.orders,
        orders_before: judge.whole.orders_before - again.orders_before,
        ..judge.whole
    };
    let mut outcome = part.outcome(&whole, as_of);
    outcome.notices.extend(remainder.notices(&again));
    outcome.notices.extend(unknown_suppliers(&opened.book, remainder.extents.suppliers.iter(), configured));
    outcome.notices.extend(old_export(remainder.extents.latest, as_of, configured.zone));
    Ok(Some(outcome))
}

/// What was found so far.
#[derive(Default)]
struct Found {
    part: Part,
    again: Again,
}

impl Found {
    fn add(&mut self, other: Self) {
        self.part.add(other.part);
        self.again.add(other.again);
    }
}

/// Judges batches, all by the same rules.
struct Judge<'q> {
    question: &'q Question<'q>,
    small: &'q Book,
    /// Of the variants and the offers.
    readings: Readings,
    whole: Whole,
    /// The offers that say something of orders.
    offers: Option<Vec<Offer>>,
}

impl<'q> Judge<'q> {
    fn new(
        question: &'q Question<'q>,
        small: &'q Book,
        remainder: &Remainder<'_>,
        knows_submissions: bool,
    ) -> Self {
        let readings = readings::read_book(small, &question.settings.vocabulary);
        let Extents { first_placed, orders, orders_before, .. } = remainder.extents;
        let whole = Whole {
            first_placed,
            orders,
            orders_before,
            knows_submissions,
            knows_variants: small.variants.is_some(),
            knows_offers: small.offers.is_some(),
        };
        let offers = small.offers.as_ref().map(|_| matcher::offers_of_intended(small));
        Self { question, small, readings, whole, offers }
    }

    fn offers(&self) -> Part {
        let facts = Facts::of_tables(&self.readings, &[]);
        matcher::reconcile_offers(self.small, facts, &self.question.settings.rules, self.question.as_of)
    }

    /// `None` where one of them cannot stand alone.
    fn batches(&self, batches: Vec<Batch<'_>>, threads: usize, extents: &Extents) -> Option<Found> {
        let batches = Mutex::new(batches);
        let next = || batches.lock().unwrap_or_else(PoisonError::into_inner).pop();
        let stands_alone = AtomicBool::new(true);
        let work = || {
            let mut found = Found::default();
            while let Some(batch) = next().filter(|_| stands_alone.load(Ordering::Relaxed)) {
                match batch.book(extents) {
                    Some(batch) => found.add(self.batch(batch)),
                    None => stands_alone.store(false, Ordering::Relaxed),
                }
            }
            found
        };
        let found = thread::scope(|scope| {
            let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
            let mut found = Found::default();
            for worker in workers {
                found.add(worker.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
            }
            found
        });
        stands_alone.into_inner().then_some(found)
    }

    fn batch(&self, batch: BatchBook) -> Found {
        let BatchBook { mut book, again } = batch;
        let settings = self.question.settings;
        let variants = book.variants.take();
        let readings = Readings {
            variants: self.readings.variants.clone(),
            ..links::read_book(&book, &settings.vocabulary)
        };
        book.variants = variants;
        book.offers.clone_from(&self.offers);
        let submissions = book.submissions.as_deref().unwrap_or_default();
        let cut_offs = forecast::cut_offs(submissions, &settings.cut_offs);
        let facts = Facts::of_tables(&readings, &cut_offs);
        let part = matcher::reconcile_orders(&book, facts, &settings.rules, self.question.as_of, &self.whole);
        Found { part, again }
    }
}
