//! The checks of orders and submissions, each as its row of the table of checks has it.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, TimeDelta, Utc};
use matcher::Facts;
use model::book::{Order, OrderStatus, Submission, SubmissionStatus};
use model::finding::Reason;
use model::outcome::Totals;
use model::rules::Graces;
use model::{Book, Check, LineId, OrderId, Rules, SubmissionId, SupplierId};

use super::counting::{self, Count, Gone, Supply};
use super::linking;
use super::matching::{self, Need, Tied};
use super::offering;
use super::reduced::Reduced;
use super::sending::{self, Sent};
use super::world::{Line, World};

/// What is to be found in a book, and where every unit of supply has gone.
pub struct Answer {
    pub totals: Totals,
    /// Sorted.
    pub findings: Vec<Reduced>,
    pub supply: Vec<Account>,
}

/// What became of the units of one usable submission line.
pub struct Account {
    /// Supplier, submission id, line id.
    pub key: (SupplierId, SubmissionId, LineId),
    /// Units that serve nothing.
    pub left_over: u64,
    /// Of these, units about which nothing is raised, and why.
    pub excused: u64,
    pub excuses: Vec<&'static str>,
}

/// Answers as the rules say, word by word.
pub fn judge(book: &Book, facts: Facts<'_>, rules: &Rules, as_of: DateTime<Utc>) -> Answer {
    let world = World::new(book, facts, rules, as_of);
    let needs = matching::needs(&world);
    judge_matched(&world, &needs, &matching::matched(&world, &needs))
}

/// Answers likewise, where it is known which units serve which.
pub fn judge_matched(world: &World<'_>, needs: &[Need], tied: &[Tied]) -> Answer {
    let gone = counting::dispatched(world, tied);
    let supply = counting::supply(world, tied);
    let judging = Judging { world, needs, tied, gone: &gone, supply: &supply };
    let mut findings = judging.findings();
    findings.extend(offering::findings(world));
    findings.sort();
    Answer { totals: judging.totals(), findings, supply: judging.accounts() }
}

struct Judging<'w, 'a> {
    world: &'w World<'a>,
    needs: &'w [Need],
    tied: &'w [Tied],
    gone: &'w [Gone],
    supply: &'w [Supply],
}

/// The named lines of a finding that names none for a reason.
fn without_reason(lines: Vec<(LineId, u64)>) -> Vec<(LineId, u64, Option<Reason>)> {
    lines.into_iter().filter(|(_, units)| *units > 0).map(|(line, units)| (line, units, None)).collect()
}

impl<'w, 'a> Judging<'w, 'a> {
    fn totals(&self) -> Totals {
        let mut totals = Totals::default();
        for order in self.world.orders.iter().filter(|order| self.world.is_counted(order)) {
            totals.orders += 1;
            for line in self.world.lines_of(&order.order_id) {
                let count = self.count(line);
                totals.lines += 1;
                totals.units_demanded += line.demand;
                totals.covered += count.covered;
                totals.covered_wrongly += count.covered_wrongly;
                totals.uncovered += count.uncovered;
                totals.own_stock += if line.link.is_own_stock() { line.demand } else { 0 };
                totals.dispatched += count.dispatched;
            }
        }
        totals
    }

    fn findings(&self) -> Vec<Reduced> {
        let mut findings = Vec::new();
        for order in self.world.orders.iter().filter(|order| self.world.is_reported(order)) {
            if self.world.is_live(order) {
                findings.extend(self.gap(order));
                findings.extend(self.wrong_variants(order));
                findings.extend(self.part_dispatched(order));
                findings.extend(self.late(order));
                findings.extend(self.dispatch_unmarked(order));
            }
        }
        findings.extend(self.over_sent());
        findings.extend(self.sent_after_cancel());
        findings.extend(self.strays());
        findings.extend(self.held());
        findings.extend(self.not_started());
        findings
    }

    fn count(&self, line: &Line<'_>) -> Count {
        counting::count(line, self.needs, self.tied, self.gone)
    }

    /// Lines with demand, own stock apart.
    fn demanded(&self, order: &'w Order) -> Vec<&'w Line<'a>> {
        let lines = self.world.lines_of(&order.order_id);
        lines.filter(|line| line.demand > 0 && !line.link.is_own_stock()).collect()
    }

    fn is_tied(&self, line: &Line<'_>) -> bool {
        self.tied.iter().any(|tie| self.needs[tie.need].line == line.key())
    }

    fn usable(&self) -> impl Iterator<Item = &'w Sent<'a>> {
        self.world.sent.iter().filter(|sent| sent.is_usable())
    }

    /// 'An order line's is that of the suppliers of its parts, own stock left out': the longest. A line
    /// without any has the general one.
    fn line_grace(&self, line: &Line<'_>, of: fn(&Graces) -> TimeDelta) -> TimeDelta {
        let rules = self.world.rules;
        let linking::Link::To { parts, .. } = &line.link else { return of(&rules.graces) };
        let made = parts.iter().filter(|part| !part.supplier.is_own());
        let of_parts = made.map(|part| of(rules.graces_of(&part.supplier)));
        of_parts.max().unwrap_or(of(&rules.graces))
    }

    /// 'An order's is the longest of its lines with a link in force, whether they still have demand or not.'
    /// An order without any has the general one.
    fn order_grace(&self, order: &Order, of: fn(&Graces) -> TimeDelta) -> TimeDelta {
        let lines = self.world.lines_of(&order.order_id);
        let linked = lines.filter(|line| line.has_link() && !line.link.is_own_stock());
        linked.map(|line| self.line_grace(line, of)).max().unwrap_or(of(&self.world.rules.graces))
    }

    /// 'Since payment (since placing, where `paid_at` is not known)'; where no submissions were given, every
    /// order is judged as within its grace.
    fn is_over(&self, order: &Order, grace: TimeDelta) -> bool {
        let since = order.paid_at.unwrap_or(order.placed_at);
        self.world.book.knows_submissions() && since.is_over(grace, self.world.as_of)
    }

    /// Why a line's uncovered units are.
    fn reason(&self, line: &Line<'_>) -> Reason {
        let linked = if self.is_tied(line) { Reason::Short } else { Reason::NotSent };
        line.why_no_link().unwrap_or(linked)
    }

    /// 'Lines with no link are named at once, linked ones once the grace is over'; without a variants table,
    /// a line whose SKU nobody was seen to make is named after the grace only.
    fn is_named(&self, line: &Line<'_>) -> bool {
        let may_wait =
            line.has_link() || linking::may_be_known_later(self.world, &line.link, line.row.sku.as_ref());
        let grace = if line.has_link() {
            self.line_grace(line, |graces| graces.submit)
        } else {
            self.world.rules.graces.submit
        };
        !may_wait || self.is_over(line.order, grace)
    }

    /// `part-sent` or `unsent-order`.
    fn gap(&self, order: &'w Order) -> Option<Reduced> {
        let lines = self.demanded(order);
        let uncovered: Vec<&Line<'_>> =
            lines.iter().copied().filter(|line| self.count(line).uncovered > 0).collect();
        let something_tied = lines.iter().any(|line| self.is_tied(line));
        let some_linked = lines.iter().any(|line| line.has_link());
        let some_not = lines.iter().any(|line| !line.has_link());
        let grace_over = self.is_over(order, self.order_grace(order, |graces| graces.submit));
        let check = if (something_tied && !uncovered.is_empty())
            || (!grace_over && !something_tied && some_linked && some_not)
        {
            Check::PartSent
        } else if !lines.is_empty() && !something_tied && (!some_linked || grace_over) {
            Check::UnsentOrder
        } else {
            return None;
        };
        let named: Vec<&Line<'_>> = uncovered.into_iter().filter(|line| self.is_named(line)).collect();
        if named.is_empty() {
            return None;
        }
        let lines = named
            .iter()
            .map(|line| (line.row.line_id.clone(), self.count(line).uncovered, Some(self.reason(line))))
            .collect();
        Some(self.about(check, order, &named, lines))
    }

    fn wrong_variants(&self, order: &'w Order) -> Vec<Reduced> {
        let wrong_units = |line: &Line<'_>| -> u64 {
            let is_wrong = |tie: &&Tied| tie.way == 4 && self.needs[tie.need].line == line.key();
            self.tied.iter().filter(is_wrong).map(|tie| tie.units).sum()
        };
        self.demanded(order)
            .into_iter()
            .filter(|line| wrong_units(line) > 0)
            .map(|line| {
                let named = vec![(line.row.line_id.clone(), wrong_units(line), None)];
                self.about(Check::WrongVariant, order, &[line], named)
            })
            .collect()
    }

    fn gone_of(&self, order: &'w Order) -> impl Iterator<Item = &'w Gone> {
        let (tied, needs) = (self.tied, self.needs);
        self.gone.iter().filter(move |gone| needs[tied[gone.tie].need].line.0 == order.order_id)
    }

    /// 'Some units of the order dispatched, other covered units not, `parcel_gap` after the first parcel.'
    fn part_dispatched(&self, order: &'w Order) -> Option<Reduced> {
        let first_parcel = self.gone_of(order).filter_map(|gone| gone.first_parcel).min()?;
        let grace = self.order_grace(order, |graces| graces.parcel_gap);
        if !first_parcel.is_over(grace, self.world.as_of) {
            return None;
        }
        let to_come = |line: &Line<'_>| {
            let count = self.count(line);
            count.covered - count.dispatched_rightly
        };
        self.about_units(Check::PartDispatched, order, to_come)
    }

    /// 'As-of is past the promise and covered or uncovered demand is not dispatched.'
    fn late(&self, order: &'w Order) -> Option<Reduced> {
        if self.world.as_of <= order.promised_by?.ends() {
            return None;
        }
        let knows = self.world.book.knows_submissions();
        let missing = |line: &Line<'_>| {
            let count = self.count(line);
            // Without submissions 'only lines without a link are named'.
            if !knows && (line.has_link() || !self.is_named(line)) {
                return 0;
            }
            count.covered - count.dispatched_rightly + count.uncovered
        };
        self.about_units(Check::Late, order, missing)
    }

    fn about_units(
        &self,
        check: Check,
        order: &'w Order,
        units: impl Fn(&Line<'_>) -> u64,
    ) -> Option<Reduced> {
        let named: Vec<&Line<'_>> = self.demanded(order).into_iter().filter(|line| units(line) > 0).collect();
        let lines = named.iter().map(|line| (line.row.line_id.clone(), units(line))).collect();
        (!named.is_empty()).then(|| self.about(check, order, &named, without_reason(lines)))
    }

    /// 'All demand dispatched for over `mark_grace`, the order still `open`.'
    fn dispatch_unmarked(&self, order: &'w Order) -> Option<Reduced> {
        let lines = self.demanded(order);
        let all_gone = lines.iter().all(|line| self.count(line).dispatched == line.demand);
        let grace = self.order_grace(order, |graces| graces.mark);
        let long_ago = self.gone_of(order).all(|gone| gone.last.is_over(grace, self.world.as_of));
        (order.status == OrderStatus::Open && !lines.is_empty() && all_gone && long_ago)
            .then(|| self.about(Check::DispatchUnmarked, order, &[], Vec::new()))
    }

    /// Why nothing is raised about units of a submission line that are left over and unexplained.
    fn excuse(&self, sent: &Sent<'_>) -> Option<&'static str> {
        if !self.is_judged(sent) {
            return Some("refers to an order that is not judged");
        }
        if sent.orders.is_empty() {
            return (!self.is_stray(sent)).then_some("a sample, older than the book, or not stray yet");
        }
        match self.first_live_order(sent) {
            None => Some("refers to no live order"),
            Some(order) if !self.world.is_reported(order) => Some("its order raises nothing"),
            Some(_) => None,
        }
    }

    /// Why nothing is raised about units of a submission line that a cancellation in an order explains.
    fn excuse_of_explained(&self, sent: &Sent<'_>, order: &OrderId) -> Option<&'static str> {
        let order = self.world.order(order).expect("an order that exists");
        if !self.is_judged(sent) {
            return Some("refers to an order that is not judged");
        }
        if order.status != OrderStatus::Cancelled && !self.world.is_live(order) {
            return Some("explained by an order that is not paid");
        }
        (!self.world.is_reported(order)).then_some("explained by an order that raises nothing")
    }

    fn is_judged(&self, sent: &Sent<'_>) -> bool {
        sent.orders.iter().all(|order| self.world.is_judged(order))
    }

    fn accounts(&self) -> Vec<Account> {
        let mut accounts = Vec::new();
        for (sent, supply) in self.usable().zip(self.supply) {
            let mut excused = 0;
            let mut excuses = Vec::new();
            let explained =
                supply.explained.iter().map(|(order, units)| (*units, self.excuse_of_explained(sent, order)));
            for (units, excuse) in explained.chain([(supply.surplus, self.excuse(sent))]) {
                if let Some(excuse) = excuse.filter(|_| units > 0) {
                    excused += units;
                    excuses.push(excuse);
                }
            }
            let left_over = supply.quantity - supply.tied;
            accounts.push(Account { key: sent.key(), left_over, excused, excuses });
        }
        accounts
    }

    fn first_live_order(&self, sent: &Sent<'_>) -> Option<&'a Order> {
        let mut orders = sent.orders.iter().filter_map(|order| self.world.order(order));
        orders.find(|order| self.world.is_live(order))
    }

    /// Units of submission lines, together where submission and order are the same.
    fn per_submission_and_order(
        &self,
        check: Check,
        units: impl IntoIterator<Item = (&'w Sent<'a>, OrderId, u64)>,
    ) -> Vec<Reduced> {
        let mut found: BTreeMap<(SupplierId, SubmissionId, OrderId), Vec<(LineId, u64)>> = BTreeMap::new();
        for (sent, order, units) in units {
            let (supplier, submission, line) = sent.key();
            found.entry((supplier, submission, order)).or_default().push((line, units));
        }
        let mut findings = Vec::new();
        for ((supplier, submission, order), submission_lines) in found {
            let order = self.world.order(&order).expect("an order that exists");
            let uncovered = self.demanded(order).into_iter().filter(|line| self.count(line).uncovered > 0);
            let (act_before, cutoff_passed) =
                self.act_before(&order.order_id, Some(&BTreeSet::from([supplier.clone()])));
            findings.push(Reduced {
                order_id: Some(order.order_id.clone()),
                supplier: Some(supplier),
                submission_id: Some(submission),
                lines: uncovered
                    .map(|line| {
                        (line.row.line_id.clone(), self.count(line).uncovered, Some(self.reason(line)))
                    })
                    .collect(),
                submission_lines,
                act_before,
                cutoff_passed,
                ..Reduced::of(check)
            });
        }
        findings
    }

    /// 'Live units left over after matching, not explained by a cancellation, that refer to a live order … of
    /// a merged submission, the first live order of the list.'
    fn over_sent(&self) -> Vec<Reduced> {
        let surplus = self.usable().zip(self.supply).filter_map(|(sent, supply)| {
            let order = self.first_live_order(sent).filter(|_| supply.surplus > 0)?;
            self.excuse(sent).is_none().then(|| (sent, order.order_id.clone(), supply.surplus))
        });
        self.per_submission_and_order(Check::OverSent, surplus)
    }

    /// 'Live units left over that a cancellation explains … the order that was cancelled, or whose line was.'
    /// 'Of orders, … unpaid ones [raise] nothing.'
    fn sent_after_cancel(&self) -> Vec<Reduced> {
        let mut units = Vec::new();
        for (sent, supply) in self.usable().zip(self.supply) {
            for (order, explained) in &supply.explained {
                if self.excuse_of_explained(sent, order).is_none() {
                    units.push((sent, order.clone(), *explained));
                }
            }
        }
        self.per_submission_and_order(Check::SentAfterCancel, units)
    }

    /// 'A live submission line whose order reference is empty or unknown, more than `stray_grace` after
    /// `received_at`; references that match a configured pattern for samples are counted as samples instead,
    /// and submissions received before the first order of the whole input was placed as older than the book.'
    /// 'A submission line of no units is no stray.'
    fn is_stray(&self, sent: &Sent<'_>) -> bool {
        let received = sent.submission.received_at;
        let first_order = self.world.book.orders.iter().map(|order| order.placed_at.begins()).min();
        let grace = self.world.rules.graces_of(&sent.row.supplier).stray;
        sent.is_usable()
            && sent.orders.is_empty()
            && sent.quantity() > 0
            && !sent.written.is_some_and(|reference| self.world.rules.is_sample(reference))
            && first_order.is_none_or(|first| received.begins() >= first)
            && received.is_over(grace, self.world.as_of)
    }

    fn strays(&self) -> Vec<Reduced> {
        let mut findings = Vec::new();
        for (_, submission) in sending::submissions(self.world) {
            let stray = sending::lines_of(self.world, submission).filter(|sent| self.is_stray(sent));
            let submission_lines: Vec<_> =
                stray.map(|sent| (sent.row.line_id.clone(), sent.quantity())).collect();
            if !submission_lines.is_empty() {
                findings.push(Reduced {
                    submission_lines,
                    ..about_submission(Check::StraySubmission, submission)
                });
            }
        }
        findings
    }

    /// 'A submission, or a live line of it, `held` longer than `hold_grace` since its last change
    /// (`updated_at`, else `received_at`).'
    fn held(&self) -> Vec<Reduced> {
        self.waiting(Check::Held, SubmissionStatus::Held, |submission, line| {
            let grace = self.world.rules.graces_of(&submission.supplier).hold;
            let updated_at = line.map_or(submission.updated_at, |sent| sent.row.updated_at);
            updated_at.unwrap_or(submission.received_at).is_over(grace, self.world.as_of)
        })
    }

    /// 'A submission, or a live line of it, still `received` more than `start_grace` after `received_at`.'
    fn not_started(&self) -> Vec<Reduced> {
        self.waiting(Check::NotStarted, SubmissionStatus::Received, |submission, _| {
            let grace = self.world.rules.graces_of(&submission.supplier).start;
            submission.received_at.is_over(grace, self.world.as_of)
        })
    }

    /// Live submissions of that status, whatever is known of their orders, or with a line of that status of its own, for too long.
    fn waiting(
        &self,
        check: Check,
        status: SubmissionStatus,
        too_long: impl Fn(&Submission, Option<&Sent<'_>>) -> bool,
    ) -> Vec<Reduced> {
        let mut findings = Vec::new();
        for (_, submission) in sending::submissions(self.world) {
            if !sending::is_live(self.world, submission) {
                continue;
            }
            let lines: Vec<&Sent<'_>> = sending::lines_of(self.world, submission).collect();
            let by_itself = submission.status == status && too_long(submission, None);
            let by_a_line = lines.iter().any(|sent| {
                sent.is_usable() && sent.row.status == Some(status) && too_long(submission, Some(sent))
            });
            if by_itself || by_a_line {
                findings.push(about_submission(check, submission));
            }
        }
        findings
    }

    /// A finding of an order that names these lines. The suppliers in question are those of the lines, 'at
    /// all its suppliers, where a named line has no link'.
    fn about(
        &self,
        check: Check,
        order: &Order,
        named: &[&Line<'_>],
        lines: Vec<(LineId, u64, Option<Reason>)>,
    ) -> Reduced {
        let suppliers: BTreeSet<SupplierId> =
            named.iter().flat_map(|line| line.link.made()).map(|((supplier, _), _)| supplier).collect();
        let all_linked = named.iter().all(|line| line.has_link());
        let (act_before, cutoff_passed) = self.act_before(&order.order_id, all_linked.then_some(&suppliers));
        Reduced {
            order_id: Some(order.order_id.clone()),
            lines,
            act_before,
            cutoff_passed,
            ..Reduced::of(check)
        }
    }

    /// The earliest cut-off, still ahead, of the order's live submissions at these suppliers (`None`: at
    /// all); and whether there are such submissions and all have passed theirs.
    fn act_before(
        &self,
        order: &OrderId,
        suppliers: Option<&BTreeSet<SupplierId>>,
    ) -> (Option<DateTime<Utc>>, bool) {
        let mut ahead = Vec::new();
        let mut all_passed = true;
        let mut any_configured = false;
        for (index, submission) in sending::submissions(self.world) {
            let in_question = suppliers.is_none_or(|suppliers| suppliers.contains(&submission.supplier));
            if !in_question || !self.is_for(submission, order) {
                continue;
            }
            let cut_off = self.world.facts.cut_offs[index];
            any_configured |= cut_off.is_some();
            let has_begun = submission.status.has_begun();
            let passed = has_begun || cut_off.is_some_and(|cut_off| cut_off < self.world.as_of);
            all_passed &= passed;
            if !passed {
                ahead.extend(cut_off);
            }
        }
        (ahead.into_iter().min(), any_configured && all_passed)
    }

    /// Whether a live submission is for the order: a live line of it refers to it; where it has no lines,
    /// itself does.
    fn is_for(&self, submission: &Submission, order: &OrderId) -> bool {
        let lines: Vec<&Sent<'_>> = sending::lines_of(self.world, submission).collect();
        if lines.is_empty() {
            let reference = submission.order_ref.as_deref();
            return submission.status.is_live()
                && sending::orders_of(self.world, &submission.supplier, reference).contains(order);
        }
        lines.iter().any(|sent| sent.is_live() && sent.orders.contains(order))
    }
}

fn about_submission(check: Check, submission: &Submission) -> Reduced {
    Reduced {
        supplier: Some(submission.supplier.clone()),
        submission_id: Some(submission.submission_id.clone()),
        ..Reduced::of(check)
    }
}
