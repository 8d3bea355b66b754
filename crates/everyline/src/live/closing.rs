//! Closing what is over: orders that are done with, and were for long, are not judged again until a row of theirs changes.
//! So a round takes as long, and as much memory, as what is open, however many years the ledger holds.
//!
//! What is closed adds sums and nothing else; DEVELOPERS.md ('What is over') says why the answer is the same. Must not know
//! how rows are kept. Start reading at [`Turn::groups`]; [`basis`] and [`connected`] are what a round asks before it is judged.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fmt::Write as _;
use std::hash::Hash;

use chrono::{DateTime, TimeDelta, Utc};
use ledger::Known;
use matcher::{Facts, Group, Near};
use model::reading::{Reading, Readings};
use model::{Book, ClosedGroup, OrderId, Rules, SubmissionId, SupplierId, When};
use sha2::{Digest, Sha256};

use super::judge::Prepared;
use crate::configuration::Settings;

/// Nothing of a group has happened for so long: longer than any grace, and than suppliers and customers change their minds.
const AFTER: TimeDelta = TimeDelta::days(60);

/// How long nothing is asked once all orders were.
const REST: TimeDelta = TimeDelta::hours(1);

/// Of so many orders at most a round finds out whether they are over; the next goes on.
const AT_ONCE: usize = 5_000;

/// Becomes another one when closed groups have to be judged anew by this program: their judgement is another.
const FORM: &str = "1";

/// Stands for all that a judgement of orders rests on beside their rows, and links and variants as they were: these may
/// change, and what was made by the former ones stays done.
pub fn basis(
    settings: &Settings,
    rules: &Rules,
    known: Known,
    first_placed: Option<DateTime<Utc>>,
) -> String {
    let Rules {
        graces,
        supplier_graces,
        references,
        supplier_references,
        samples,
        fees: _,
        report_from,
        since,
        until,
    } = rules;
    let mut text = String::new();
    // Writing into a text does not fail.
    let _ = write!(
        text,
        "{FORM} {} {graces:?} {supplier_graces:?} {references:?} {supplier_references:?} {samples:?} {report_from:?} \
         {since:?} {until:?} {:?} {known:?} {first_placed:?}",
        env!("CARGO_PKG_VERSION"),
        settings.cut_offs
    );
    Sha256::digest(text).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The ids by which what is in a part of a book may be for orders that are not among those of the part.
pub fn connected(book: &Book, rules: &Rules) -> BTreeSet<String> {
    let own: HashSet<&str> = book.orders.iter().map(|row| row.order_id.as_str()).collect();
    let mut ids = BTreeSet::new();
    for (supplier, reference) in references(book) {
        let candidates = rules.references_of(supplier).candidates(reference);
        ids.extend(candidates.into_iter().filter(|id| !own.contains(id)).map(str::to_owned));
    }
    let tied = book.ties.iter().flatten().map(|tie| tie.order_id.as_str());
    ids.extend(tied.filter(|id| !own.contains(id)).map(str::to_owned));
    ids.remove("");
    ids
}

/// All references of submissions and their lines, each with its supplier.
fn references(book: &Book) -> impl Iterator<Item = (&SupplierId, &str)> {
    let sent = book.submissions.iter().flatten().map(|row| (&row.supplier, &row.order_ref));
    let lines = book.submission_lines.iter().flatten().map(|row| (&row.supplier, &row.order_ref));
    sent.chain(lines).filter_map(|(supplier, reference)| Some((supplier, reference.as_deref()?)))
}

/// Which orders of a shop were asked about last, from round to round.
#[derive(Clone, Default, Debug)]
pub struct Turn {
    /// Up to which one, by when they were placed; the next pass goes on behind it.
    up_to: Option<(DateTime<Utc>, OrderId)>,
    /// Until when nothing is asked: all were.
    rests_until: Option<DateTime<Utc>>,
}

impl Turn {
    /// Whether anything of a judged book may be over that was not asked lately. Nothing is, where a source is behind, or tables
    /// that say what was sent are missing: then the rest may still come.
    pub fn has_come(&self, prepared: &Prepared) -> bool {
        let Prepared { book, whole, standings, .. } = prepared;
        let knows_all = whole.knows_submissions && whole.knows_variants && book.parcels.is_some();
        knows_all
            && !prepared.facts().behind.is_any()
            && self.rests_until.is_none_or(|until| standings.as_of >= until)
    }

    /// What of a judged book is over, of the next `AT_ONCE` orders that are old enough, and what they are connected with.
    /// Of the orders of `found` something was found.
    pub fn groups(
        &mut self,
        prepared: &Prepared,
        settings: &Settings,
        found: &HashSet<OrderId>,
    ) -> Vec<ClosedGroup> {
        let (book, as_of) = (&prepared.book, prepared.standings.as_of);
        let Some(latest) = as_of.checked_sub_signed(AFTER) else { return Vec::new() };
        let moments = Moments::of(book);
        let mut old: Vec<_> = book
            .orders
            .iter()
            .filter(|row| moments.of_order(&row.order_id) <= latest && !found.contains(&row.order_id))
            .map(|row| (row.placed_at.begins(), row.order_id.clone()))
            .filter(|order| self.up_to.as_ref().is_none_or(|up_to| order > up_to))
            .collect();
        old.sort_unstable();
        let is_end = old.len() <= AT_ONCE;
        old.truncate(AT_ONCE);
        self.rests_until = is_end.then(|| as_of + REST);
        self.up_to = old.last().filter(|_| !is_end).cloned();
        over(prepared, settings, &moments, latest, old.into_iter().map(|(_, order)| order))
    }
}

fn over(
    prepared: &Prepared,
    settings: &Settings,
    moments: &Moments<'_>,
    latest: DateTime<Utc>,
    orders: impl Iterator<Item = OrderId>,
) -> Vec<ClosedGroup> {
    let Prepared { book, rules, whole, readings, .. } = prepared;
    let (as_of, facts) = (prepared.standings.as_of, prepared.facts());
    let Some(near) = Near::of_part(book, rules, as_of, *whole) else { return Vec::new() };
    let rows = Rows::of(book);
    let mut seen = BTreeSet::new();
    let mut groups = Vec::new();
    for order in orders {
        if seen.contains(&order) {
            continue;
        }
        let Some(Group { orders, submissions, .. }) = near.group(&order) else { continue };
        seen.extend(orders.iter().cloned());
        let is_old = orders.iter().all(|order| moments.of_order(order) <= latest)
            && submissions.iter().all(|submission| moments.of_submission(submission) <= latest);
        if !is_old {
            continue;
        }
        let (mut part, of_lines) = rows.part(&orders, &submissions, &readings.order_lines);
        let of_variants = near.add_goods_read(&mut part, &readings.variants);
        let readings = Readings { order_lines: of_lines, variants: of_variants, ..Readings::default() };
        let cut_offs =
            forecast::cut_offs(part.submissions.as_deref().unwrap_or_default(), &settings.cut_offs);
        let facts = Facts { readings: &readings, cut_offs: &cut_offs, ..facts };
        if let Some(settled) = matcher::settled(&part, facts, rules, as_of, whole) {
            let words = connected(&part, rules).into_iter().collect();
            groups.push(ClosedGroup { orders, submissions, words, settled });
        }
    }
    groups
}

/// When something last happened.
struct Moments<'b> {
    of_orders: BTreeMap<&'b str, DateTime<Utc>>,
    of_submissions: BTreeMap<(&'b SupplierId, &'b SubmissionId), DateTime<Utc>>,
}

impl<'b> Moments<'b> {
    fn of(book: &'b Book) -> Self {
        let latest = |whens: [Option<When>; 4]| {
            whens.into_iter().flatten().map(|when| when.ends()).max().unwrap_or(DateTime::<Utc>::MAX_UTC)
        };
        let mut of_orders: BTreeMap<&str, DateTime<Utc>> = BTreeMap::new();
        for row in &book.orders {
            let moment = latest([Some(row.placed_at), row.paid_at, row.promised_by, row.updated_at]);
            of_orders.insert(row.order_id.as_str(), moment);
        }
        for row in &book.order_lines {
            if let (Some(moment), Some(when)) = (of_orders.get_mut(row.order_id.as_str()), row.updated_at) {
                *moment = (*moment).max(when.ends());
            }
        }
        let mut of_submissions = BTreeMap::new();
        for row in book.submissions.iter().flatten() {
            let moment = latest([Some(row.received_at), row.updated_at, None, None]);
            of_submissions.insert((&row.supplier, &row.submission_id), moment);
        }
        let lines = book.submission_lines.iter().flatten();
        let lines = lines.map(|row| (&row.supplier, &row.submission_id, row.updated_at));
        let parcels = book.parcels.iter().flatten();
        let parcels = parcels.map(|row| (&row.supplier, &row.submission_id, Some(row.dispatched_at)));
        for (supplier, submission, when) in lines.chain(parcels) {
            if let (Some(moment), Some(when)) = (of_submissions.get_mut(&(supplier, submission)), when) {
                *moment = (*moment).max(when.ends());
            }
        }
        Self { of_orders, of_submissions }
    }

    /// Of what is not there nothing is over.
    fn of_order(&self, order: &OrderId) -> DateTime<Utc> {
        self.of_orders.get(order.as_str()).copied().unwrap_or(DateTime::<Utc>::MAX_UTC)
    }

    fn of_submission(&self, (supplier, submission): &(SupplierId, SubmissionId)) -> DateTime<Utc> {
        self.of_submissions.get(&(supplier, submission)).copied().unwrap_or(DateTime::<Utc>::MAX_UTC)
    }
}

/// Where the rows of an order or a submission stand in a book.
struct Rows<'b> {
    book: &'b Book,
    orders: HashMap<&'b str, usize>,
    lines: HashMap<&'b str, Vec<usize>>,
    ties: HashMap<&'b str, Vec<usize>>,
    submissions: HashMap<Key<'b>, usize>,
    sent: HashMap<Key<'b>, Vec<usize>>,
    parcels: HashMap<Key<'b>, Vec<usize>>,
    packed: HashMap<Key<'b>, Vec<usize>>,
}

/// A supplier, and the id of a submission or a parcel.
type Key<'b> = (&'b str, &'b str);

impl<'b> Rows<'b> {
    fn of(book: &'b Book) -> Self {
        fn by<K: Eq + Hash>(keys: impl Iterator<Item = K>) -> HashMap<K, Vec<usize>> {
            let mut places: HashMap<K, Vec<usize>> = HashMap::new();
            for (at, key) in keys.enumerate() {
                places.entry(key).or_default().push(at);
            }
            places
        }
        let sent =
            book.submissions.iter().flatten().map(|row| (row.supplier.as_str(), row.submission_id.as_str()));
        let lines = book.submission_lines.iter().flatten();
        let parcels = book.parcels.iter().flatten();
        let packed = book.parcel_lines.iter().flatten();
        Self {
            orders: book.orders.iter().enumerate().map(|(at, row)| (row.order_id.as_str(), at)).collect(),
            lines: by(book.order_lines.iter().map(|row| row.order_id.as_str())),
            ties: by(book.ties.iter().flatten().map(|row| row.order_id.as_str())),
            submissions: sent.enumerate().map(|(at, key)| (key, at)).collect(),
            sent: by(lines.map(|row| (row.supplier.as_str(), row.submission_id.as_str()))),
            parcels: by(parcels.map(|row| (row.supplier.as_str(), row.submission_id.as_str()))),
            packed: by(packed.map(|row| (row.supplier.as_str(), row.parcel_id.as_str()))),
            book,
        }
    }

    /// The rows of some orders and submissions as a book without goods, and the readings of its order lines.
    fn part(
        &self,
        orders: &[OrderId],
        submissions: &[(SupplierId, SubmissionId)],
        of_lines: &[Reading],
    ) -> (Book, Vec<Reading>) {
        fn picked<T: Clone>(rows: &[T], places: Option<&Vec<usize>>) -> impl Iterator<Item = T> {
            places.into_iter().flatten().map(|at| rows[*at].clone())
        }
        let mut part = Book::default();
        let mut readings = Vec::new();
        let (mut ties, mut sent, mut lines, mut parcels, mut packed) =
            (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for order in orders.iter().map(OrderId::as_str) {
            part.orders.extend(self.orders.get(order).map(|at| self.book.orders[*at].clone()));
            let places = self.lines.get(order);
            part.order_lines.extend(picked(&self.book.order_lines, places));
            readings.extend(places.into_iter().flatten().filter_map(|at| of_lines.get(*at).cloned()));
            ties.extend(picked(self.book.ties.as_deref().unwrap_or_default(), self.ties.get(order)));
        }
        for (supplier, submission) in submissions {
            let key = (supplier.as_str(), submission.as_str());
            let rows = self.book.submissions.as_deref().unwrap_or_default();
            sent.extend(self.submissions.get(&key).map(|at| rows[*at].clone()));
            let rows = self.book.submission_lines.as_deref().unwrap_or_default();
            lines.extend(picked(rows, self.sent.get(&key)));
            let rows = self.book.parcel_lines.as_deref().unwrap_or_default();
            let own = picked(self.book.parcels.as_deref().unwrap_or_default(), self.parcels.get(&key));
            for parcel in own {
                let key = (parcel.supplier.as_str(), parcel.parcel_id.as_str());
                packed.extend(picked(rows, self.packed.get(&key)));
                parcels.push(parcel);
            }
        }
        part.ties = Some(ties);
        part.submissions = Some(sent);
        part.submission_lines = Some(lines);
        part.parcels = Some(parcels);
        part.parcel_lines = Some(packed);
        (part, readings)
    }
}
