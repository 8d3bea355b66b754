//! Brings the rows of one thing together, pile by pile: parcels with their lines, submissions with theirs, orders
//! with theirs and with what was sent for them; and parts the orders that can be counted from those whose rows have
//! to be looked at.
//!
//! Must not know: files, or when an order can be counted. Start reading at [`orders`]; [`parcels`] and
//! [`submissions`] come before it.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use model::straight::{Age, Counted, LineFacts, Reckoner, Rule, SentFacts};

use crate::sieve::key::{Key, NONE};
use crate::sieve::pool::{PILES, Parted, Piles, Pool, Sorted, before, front};
use crate::sieve::rows::{self, Beside, Parcel, ParcelLine, Sent, Submission, SubmissionLine};

/// What cannot be counted.
#[derive(Default)]
pub(crate) struct Rest {
    /// Orders whose rows have to be looked at.
    pub(crate) orders: Vec<Key>,
    /// Likewise submissions, each with an order that it may be for, if any is known.
    pub(crate) submissions: Vec<(Key, Key)>,
    /// Submissions that may be for several orders, each with one of them.
    pub(crate) pairs: Vec<(Key, Key)>,
    /// A row belongs to one that is not there.
    pub(crate) has_orphans: bool,
}

impl Rest {
    pub(crate) fn add(&mut self, mut other: Self) {
        self.orders.append(&mut other.orders);
        self.submissions.append(&mut other.submissions);
        self.pairs.append(&mut other.pairs);
        self.has_orphans |= other.has_orphans;
    }
}

/// Lets each thread work on one pile after the other, until there are no more.
fn in_piles<T: Send>(threads: usize, work: impl Fn(&mut dyn FnMut() -> Option<usize>) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|_| {
                scope.spawn(|| {
                    work(&mut || Some(next.fetch_add(1, Ordering::Relaxed)).filter(|pile| *pile < PILES))
                })
            })
            .collect();
        workers.into_iter().map(|worker| joined(worker.join())).collect()
    })
}

/// What a thread answered; its panic goes on in this one.
pub(crate) fn joined<T>(answer: thread::Result<T>) -> T {
    answer.unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

/// Whether two rows have the same second number.
fn has_twins<const N: usize>(rows: &mut [[u64; N]]) -> bool {
    rows.sort_unstable_by_key(|row| row[1]);
    rows.windows(2).any(|pair| pair[0][1] == pair[1][1])
}

/// Brings parcels and their lines together, and hands on what is known of the submissions. Answers whether a line
/// has no parcel, or a parcel belongs to two submissions: then the rows of one do not tell all that is wrong.
pub(crate) fn parcels<'p>(
    threads: usize,
    pool: &'p Pool,
    parcels: &Parted<'_, 3>,
    lines: &Parted<'_, 3>,
) -> (Vec<Piles<'p, 3>>, bool) {
    let done = in_piles(threads, |next| {
        let mut beside = Piles::new(pool);
        let mut has_orphans = false;
        let (mut of_parcels, mut of_lines) = (Sorted::default(), Sorted::default());
        while let Some(pile) = next() {
            parcels.take_sorted(pile, &mut of_parcels);
            lines.take_sorted(pile, &mut of_lines);
            let mut rest = of_lines.rows.as_mut_slice();
            for same in of_parcels.rows.chunk_by(|a, b| a[0] == b[0]) {
                let key = same[0][0];
                let behind = before(rest, key);
                has_orphans |= behind > 0;
                let count = front(&rest[behind..], key).0.len();
                let (of_parcel, later) = rest[behind..].split_at_mut(count);
                has_orphans |= same.iter().any(|row| row[1] != same[0][1]);
                parcel(same, of_parcel, &mut beside);
                rest = later;
            }
            has_orphans |= !rest.is_empty();
        }
        (beside, has_orphans)
    });
    let has_orphans = done.iter().any(|(_, has_orphans)| *has_orphans);
    (done.into_iter().map(|(beside, _)| beside).collect(), has_orphans)
}

fn parcel(same: &[[u64; 3]], lines: &mut [[u64; 3]], beside: &mut Piles<'_, 3>) {
    let is_odd = same.len() > 1 || has_twins(lines);
    for parcel in same.iter().map(|row| Parcel::of(*row)) {
        let mut say = |what: Beside| beside.push(what.packed(parcel.submission));
        if is_odd {
            say(Beside::Odd);
            continue;
        }
        match (parcel.exists, lines.is_empty()) {
            (true, true) => say(Beside::Parcel { age: parcel.age }),
            (false, true) => say(Beside::Later { line: NONE }),
            (exists, false) => {
                for ParcelLine { line, units, .. } in lines.iter().map(|row| ParcelLine::of(*row)) {
                    say(if exists {
                        Beside::Gone { line, units, age: parcel.age }
                    } else {
                        Beside::Later { line }
                    });
                }
            }
        }
    }
}

/// Brings submissions together with their lines and with what is known beside, and hands on what was sent, by order.
pub(crate) fn submissions<'p>(
    threads: usize,
    pool: &'p Pool,
    submissions: &Parted<'_, 3>,
    lines: &Parted<'_, 5>,
    beside: &Parted<'_, 3>,
) -> (Vec<Piles<'p, 5>>, Rest) {
    let done = in_piles(threads, |next| {
        let mut joint =
            SubmissionJoint { sent: Piles::new(pool), rest: Rest::default(), of_lines: Vec::new() };
        let (mut of_submissions, mut of_lines, mut of_beside) =
            (Sorted::default(), Sorted::default(), Sorted::default());
        while let Some(pile) = next() {
            submissions.take_sorted(pile, &mut of_submissions);
            lines.take_sorted(pile, &mut of_lines);
            beside.take_sorted(pile, &mut of_beside);
            let (mut more_lines, mut more_beside) = (of_lines.rows.as_mut_slice(), of_beside.rows.as_slice());
            for same in of_submissions.rows.chunk_by(|a, b| a[0] == b[0]) {
                let key = same[0][0];
                let lines_behind = before(more_lines, key);
                let beside_behind = before(more_beside, key);
                joint.rest.has_orphans |= lines_behind + beside_behind > 0;
                let count = front(&more_lines[lines_behind..], key).0.len();
                let (own_lines, later) = more_lines[lines_behind..].split_at_mut(count);
                more_lines = later;
                let (own_beside, later) = front(&more_beside[beside_behind..], key);
                more_beside = later;
                joint.submission(same, own_lines, own_beside);
            }
            joint.rest.has_orphans |= !more_lines.is_empty() || !more_beside.is_empty();
        }
        (joint.sent, joint.rest)
    });
    let mut rest = Rest::default();
    let sent = done.into_iter().map(|(sent, of_thread)| {
        rest.add(of_thread);
        sent
    });
    (sent.collect(), rest)
}

struct SubmissionJoint<'p> {
    sent: Piles<'p, 5>,
    rest: Rest,
    /// Of the submission under way.
    of_lines: Vec<(SubmissionLine, LineGone)>,
}

/// What has gone of a submission line.
#[derive(Clone, Copy, Default)]
struct LineGone {
    units: u64,
    first: Age,
    last: Age,
}

impl SubmissionJoint<'_> {
    fn submission(&mut self, same: &[[u64; 3]], lines: &mut [[u64; 5]], beside: &[[u64; 3]]) {
        let submission = Submission::of(same[0]);
        let mut is_odd = same.len() > 1 || submission.is_odd || has_twins(lines);
        self.of_lines.clear();
        self.of_lines.extend(lines.iter().map(|row| (SubmissionLine::of(*row), LineGone::default())));
        is_odd |= self.note_what_has_gone(submission, beside);
        if is_odd || submission.is_live && !self.is_for_one_order(submission) {
            self.leave(same);
        } else if submission.is_live {
            for (line, gone) in self.of_lines.iter().filter(|(line, _)| line.is_live) {
                let facts = SentFacts {
                    names: line.names,
                    variant: line.variant,
                    units: line.units,
                    is_gone: gone.units > 0,
                    first_gone: gone.first,
                    last_gone: gone.last,
                };
                let order = order_of(submission, line);
                self.sent.push(Sent { order, submission: submission.key, facts: Some(facts) }.packed());
            }
        }
    }

    /// Notes it at the lines. Answers whether it is too much for a few numbers.
    fn note_what_has_gone(&mut self, submission: Submission, beside: &[[u64; 3]]) -> bool {
        let mut is_odd = false;
        let mut names_lines = false;
        let mut parcels: Option<(Age, Age)> = None;
        for row in beside {
            match Beside::of(*row) {
                Beside::Odd => is_odd = true,
                Beside::Parcel { age } => {
                    let (first, last) = parcels.unwrap_or((age, age));
                    parcels = Some((first.max(age), last.min(age)));
                }
                Beside::Later { line: NONE } => {}
                Beside::Later { line } => self.rest.has_orphans |= self.find(line).is_none(),
                Beside::Gone { line, units, age } => {
                    names_lines = true;
                    match self.find(line) {
                        None => self.rest.has_orphans = true,
                        Some(at) if units > 0 => self.of_lines[at].1.add(units, age),
                        Some(_) => {}
                    }
                }
            }
        }
        if names_lines {
            let is_part = |(line, gone): &(SubmissionLine, LineGone)| {
                gone.units != 0 && gone.units != u64::from(line.units)
            };
            return is_odd | self.of_lines.iter().any(is_part);
        }
        if submission.is_dispatched {
            let (first, last) = parcels.unwrap_or((0, submission.changed));
            for (line, gone) in &mut self.of_lines {
                *gone = LineGone { units: line.units.into(), first, last };
            }
        }
        is_odd
    }

    /// Lines are sorted by their key.
    fn find(&self, line: Key) -> Option<usize> {
        self.of_lines.binary_search_by_key(&line, |(known, _)| known.line).ok()
    }

    /// Whether there are live lines, and all of them are plain and for the same order.
    fn is_for_one_order(&self, submission: Submission) -> bool {
        let mut live = self.of_lines.iter().map(|(line, _)| line).filter(|line| line.is_live).peekable();
        let Some(first) = live.peek() else { return !self.of_lines.is_empty() };
        let order = order_of(submission, first);
        order != NONE && live.all(|line| !line.is_odd && order_of(submission, line) == order)
    }

    /// Leaves a submission, and all orders that it may be for, to be looked at by their rows.
    fn leave(&mut self, same: &[[u64; 3]]) {
        let own = same.iter().map(|row| Submission::of(*row).order);
        let mut orders: Vec<Key> = own.chain(self.of_lines.iter().map(|(line, _)| line.order)).collect();
        orders.retain(|order| *order != NONE);
        orders.sort_unstable();
        orders.dedup();
        let submission = same[0][0];
        self.rest.submissions.push((submission, orders.first().copied().unwrap_or(NONE)));
        for order in orders {
            self.rest.pairs.push((submission, order));
            self.sent.push(Sent { order, submission, facts: None }.packed());
        }
    }
}

impl LineGone {
    fn add(&mut self, units: u32, age: Age) {
        let is_first = self.units == 0;
        self.first = self.first.max(age);
        self.last = if is_first { age } else { self.last.min(age) };
        self.units += u64::from(units);
    }
}

fn order_of(submission: Submission, line: &SubmissionLine) -> Key {
    if line.order == NONE { submission.order } else { line.order }
}

/// Brings orders together with their lines and with what was sent for them, and counts those with which nothing is
/// wrong.
pub(crate) fn orders(
    threads: usize,
    rule: &dyn Rule,
    orders: &Parted<'_, 2>,
    lines: &Parted<'_, 3>,
    sent: &Parted<'_, 5>,
) -> (Counted, Rest) {
    let done = in_piles(threads, |next| {
        let mut joint = OrderJoint {
            reckoner: rule.reckoner(),
            rest: Rest::default(),
            lines: Vec::new(),
            sent: Vec::new(),
        };
        let (mut of_orders, mut of_lines, mut of_sent) =
            (Sorted::default(), Sorted::default(), Sorted::default());
        while let Some(pile) = next() {
            orders.take_sorted(pile, &mut of_orders);
            lines.take_sorted(pile, &mut of_lines);
            sent.take_sorted(pile, &mut of_sent);
            let (mut more_lines, mut more_sent) = (of_lines.rows.as_mut_slice(), of_sent.rows.as_slice());
            for same in of_orders.rows.chunk_by(|a, b| a[0] == b[0]) {
                let key = same[0][0];
                let lines_behind = before(more_lines, key);
                joint.rest.has_orphans |= lines_behind > 0;
                let count = front(&more_lines[lines_behind..], key).0.len();
                let (own_lines, later) = more_lines[lines_behind..].split_at_mut(count);
                more_lines = later;
                let sent_behind = before(more_sent, key);
                let (unknown, later) = more_sent.split_at(sent_behind);
                joint.leave_submissions(unknown);
                let (own_sent, later) = front(later, key);
                more_sent = later;
                joint.order(same, own_lines, own_sent);
            }
            joint.rest.has_orphans |= !more_lines.is_empty();
            joint.leave_submissions(more_sent);
        }
        (joint.reckoner.counted(), joint.rest)
    });
    let (mut counted, mut rest) = (Counted::default(), Rest::default());
    for (of_thread, rest_of_thread) in done {
        counted.add(of_thread);
        rest.add(rest_of_thread);
    }
    (counted, rest)
}

struct OrderJoint<'r> {
    reckoner: Box<dyn Reckoner + 'r>,
    rest: Rest,
    /// Of the order under way.
    lines: Vec<LineFacts>,
    sent: Vec<SentFacts>,
}

impl OrderJoint<'_> {
    fn order(&mut self, same: &[[u64; 2]], lines: &mut [[u64; 3]], sent: &[[u64; 5]]) {
        self.lines.clear();
        self.sent.clear();
        self.sent.extend(sent.iter().filter_map(|row| Sent::of(*row).facts));
        let is_odd = same.len() > 1 || self.sent.len() < sent.len() || has_twins(lines);
        self.lines.extend(lines.iter().map(|row| rows::line_of(*row)));
        if is_odd || !self.reckoner.count(rows::order_of(same[0]), &self.lines, &self.sent) {
            self.rest.orders.push(same[0][0]);
            self.leave_submissions(sent);
        }
    }

    /// Leaves the submissions of what was sent to be looked at by their rows; of some it is known already.
    fn leave_submissions(&mut self, sent: &[[u64; 5]]) {
        let of_one = sent.iter().map(|row| Sent::of(*row)).filter(|sent| sent.facts.is_some());
        self.rest.submissions.extend(of_one.map(|sent| (sent.submission, sent.order)));
    }
}
