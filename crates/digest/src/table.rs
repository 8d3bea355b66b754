//! The audit as a printed list for the owner of a shop: what to do first stands first, and the sums that prove
//! that nothing was missed stand last.
//!
//! Must not know what a terminal is, nor the words of a finding (see `say`). Start reading at [`table`].

pub(crate) mod group;
pub(crate) mod headline;
pub(crate) mod proof;

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::finding::{Evidence, FindingId};
use model::{Check, Finding, OrderId, Outcome};

use crate::causes::{Affected, Cause, Item};
use crate::clean::{clean, cut, width};
use crate::moment::{Clock, time_left};
use crate::page::{BOLD, FAINT, LOUD, PLAIN, Page, SOON, Styled, grid, wrap};
use crate::say::{Teller, account};
use crate::to_order::still_to_order;
use crate::why::{PACKED_BY_THE_SHOP, Why, things_and_why, which};
use crate::words::{capital, count, line_name, number_of};
use group::{Group, deadline, sorted};
use headline::headline;
use proof::{is_complete, proof};

/// How many findings of a group are shown where nothing else is asked: what somebody can read through at once.
pub const ROWS_PER_GROUP: usize = 50;

/// The fewest columns that a page has; a narrower one would break every identifier.
pub const NARROWEST: usize = 60;

/// How many orders are shown under one cause where the list is limited: the thing to do is the same for all.
const ORDERS_PER_CAUSE: usize = 10;

/// Columns of what stands to the left of each finding: time left, and the check's word.
const LEFT: usize = 17;

/// Columns between that and the words.
const BETWEEN: usize = 2;

/// The most columns of running text; longer lines are hard to read.
const PROSE: usize = 100;

/// The most columns of an order's id in a list of orders.
const ID: usize = 24;

/// How the table is to look.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct View {
    /// Columns of the page; no line is wider. At least [`NARROWEST`].
    pub width: usize,
    /// Whether to add colour. It never says anything that the words do not say.
    pub colour: bool,
    /// The shop's zone, in which all times are told.
    pub zone: Tz,
    /// How many findings to show of each group; [`ROWS_PER_GROUP`] is usual, `None` shows all.
    pub limit: Option<usize>,
    /// The checks that the owner asked for, the findings of others having been left out; empty: all of them.
    pub checks: Vec<Check>,
}

/// 80 columns, no colour, UTC, the usual limit, all checks.
impl Default for View {
    fn default() -> Self {
        Self { width: 80, colour: false, zone: Tz::UTC, limit: Some(ROWS_PER_GROUP), checks: Vec::new() }
    }
}

/// The audit as a page of text, ending in a line feed.
///
/// A headline; what can still be put right, by time left; what is past its cut-off; orders to watch; supplier
/// orders; listings and links; then the sums, what the reader should know, and what was not judged. Orders with
/// one cause stand together under it. What a limit hides is counted.
pub fn table(outcome: &Outcome, view: &View) -> String {
    let clock = Clock::of_a_reader(view.zone, outcome.as_of);
    let writer = Writer {
        page: Page::new(view.width.max(NARROWEST), view.colour),
        as_of: outcome.as_of,
        teller: Teller { clock, says_deadlines: false },
        limit: view.limit,
    };
    writer.write(outcome, view)
}

struct Writer {
    page: Page,
    as_of: DateTime<Utc>,
    teller: Teller,
    limit: Option<usize>,
}

impl Writer {
    fn write(mut self, outcome: &Outcome, view: &View) -> String {
        self.page.paragraph(BOLD, &headline(outcome, view, &self.teller.clock));
        self.incomplete(outcome);
        let stand = self.teller.clock.in_full(self.as_of);
        self.page.paragraph(PLAIN, &format!("As things stood on {stand}, {} time.", view.zone));
        if !view.checks.is_empty() {
            let words: Vec<&str> = view.checks.iter().map(|check| check.word()).collect();
            let asked = format!("Only this was asked for, anything else is left out: {}.", words.join(", "));
            self.page.paragraph(PLAIN, &asked);
        }
        for group in Group::ALL {
            let findings: Vec<&Finding> =
                outcome.findings.iter().filter(|finding| Group::of(finding) == group).collect();
            if !findings.is_empty() {
                self.group(group, &findings);
            }
        }
        proof(&mut self.page, outcome, self.limit);
        self.page.finish()
    }

    fn incomplete(&mut self, outcome: &Outcome) {
        if is_complete(outcome) {
            return;
        }
        let rows = count(outcome.rows_skipped, "row", "rows");
        let orders = count(number_of(&outcome.not_judged), "order was", "orders were");
        let text = format!(
            "THIS IS NOT COMPLETE: {rows} could not be read, and {orders} not judged. Nothing is known about \
             what was left out; see the end of this list."
        );
        self.page.paragraph(LOUD, &text);
    }

    fn group(&mut self, group: Group, findings: &[&Finding]) {
        let number = count(number_of(findings), "finding", "findings");
        self.page.heading(BOLD, group.title(), &number);
        let mut room = self.limit.unwrap_or(usize::MAX);
        let mut shown: BTreeSet<&FindingId> = BTreeSet::new();
        for item in sorted(findings) {
            if room == 0 {
                break;
            }
            match item {
                Item::Single(finding) => {
                    self.single(group, finding);
                    shown.insert(&finding.id);
                    room -= 1;
                }
                Item::Cause(cause) => {
                    let most = if self.limit.is_some() { room.min(ORDERS_PER_CAUSE) } else { room };
                    let orders = self.cause(group, &cause, most, &shown);
                    room -= orders.len();
                    shown.extend(orders);
                }
            }
            self.page.gap();
        }
        if shown.len() < findings.len() {
            let text = format!(
                "Showing {} of {}, the most urgent first; --format csv lists all of them, --check shows one kind.",
                shown.len(),
                findings.len()
            );
            self.page.paragraph(PLAIN, &text);
        }
    }

    fn single(&mut self, group: Group, finding: &Finding) {
        let account = account(finding, &self.teller).without_isolates();
        let head = format!("{}: {}.", account.subject, account.what);
        let mut advice = format!("Do: {}.", account.todo);
        if let Some(aside) = account.aside {
            advice += &format!(" {}", asked(aside));
        }
        if let Some(value) = finding.value_at_risk.filter(|_| finding.check != Check::LossMaking) {
            advice += &format!(" At stake: {value}.");
        }
        let right = self.head_and_advice(&head, &account.subject, &advice);
        let mut left = self.when(group, finding);
        left.push((FAINT, finding.check.word().to_owned()));
        self.page.side_by_side(LEFT + BETWEEN, &left, &right);
    }

    /// Writes a cause and up to `most` of its orders; answers which.
    fn cause<'a>(
        &mut self,
        group: Group,
        cause: &Cause<'a>,
        most: usize,
        shown: &BTreeSet<&FindingId>,
    ) -> Vec<&'a FindingId> {
        let number = cause.affected.len();
        let name = clean(line_name(cause.line).to_string());
        let what = clean(which(cause.why, &[cause.line], true).to_string());
        let head = format!("{name}, {what}: nobody makes it in {number} orders.");
        let mut advice = format!("Do: {}", cause_todo(cause.why, group == Group::Past));
        if cause.why == Why::NoLink {
            advice += &format!(" {}", asked(PACKED_BY_THE_SHOP));
        }
        let mut right = self.head_and_advice(&head, &name, &advice);

        let affected = &cause.affected[..most.min(number)];
        right.extend(self.orders(group, affected, shown));
        let others = number_of(&cause.affected) - number_of(affected);
        if others > 0 {
            right.push(vec![(PLAIN, format!("  and {}", count(others, "more order", "more orders")))]);
        }
        let first = cause.affected.iter().min_by_key(|affected| deadline(affected.finding));
        let mut left = first.map(|first| self.when(group, first.finding)).unwrap_or_default();
        left.push((FAINT, format!("{number} orders")));
        self.page.side_by_side(LEFT + BETWEEN, &left, &right);
        affected.iter().map(|affected| &affected.finding.id).collect()
    }

    /// What is wrong, its start in bold where that stands on one line, and what to do.
    fn head_and_advice(&self, head: &str, start: &str, advice: &str) -> Vec<Vec<Styled>> {
        let columns = self.right_columns().min(PROSE);
        let plain = |line| vec![(PLAIN, line)];
        let mut lines: Vec<Vec<Styled>> = wrap(head, columns).into_iter().map(plain).collect();
        if let Some(first) = lines.first_mut()
            && let Some(rest) = first[0].1.strip_prefix(start)
        {
            *first = vec![(BOLD, start.to_owned()), (PLAIN, rest.to_owned())];
        }
        lines.extend(wrap(advice, columns).into_iter().map(plain));
        lines
    }

    /// A line per order of a cause, in columns as wide as they need be; what has room is shown.
    fn orders(
        &self,
        group: Group,
        affected: &[Affected<'_>],
        shown: &BTreeSet<&FindingId>,
    ) -> Vec<Vec<Styled>> {
        let cells: Vec<Vec<Styled>> = affected
            .iter()
            .map(|affected| {
                let finding = affected.finding;
                let id = finding.order_id.as_ref().map(OrderId::as_str).unwrap_or_default();
                let mut when = self.when(group, finding).into_iter();
                let left = when.next().unwrap_or_default();
                let by = when.map(|(_, line)| line).collect::<Vec<_>>().join(" ");
                let value =
                    finding.value_at_risk.map(|value| format!("{value} at stake")).unwrap_or_default();
                vec![
                    (PLAIN, cut(id, ID).into_owned()),
                    (PLAIN, count(affected.units, "item", "items")),
                    left,
                    (FAINT, finding.check.word().to_owned()),
                    (PLAIN, by),
                    (PLAIN, value),
                ]
            })
            .collect();
        let mut lines = Vec::new();
        for (line, affected) in grid(cells, BETWEEN, self.right_columns()).into_iter().zip(affected) {
            lines.push(line);
            if !shown.contains(&affected.finding.id) {
                lines.extend(self.also(affected));
            }
        }
        lines
    }

    /// What else the order waits for, so that nobody takes it for done when the cause is gone.
    fn also(&self, affected: &Affected<'_>) -> Vec<Vec<Styled>> {
        let mut texts = Vec::new();
        if !affected.alone.is_empty() {
            let mut text = format!("also: nobody makes {}", things_and_why(affected.alone.iter().copied()));
            if let Some(to_order) = to_order_at_once(affected) {
                text += &format!(": order {to_order}");
            }
            texts.push(text);
        }
        if affected.elsewhere {
            texts.push("also: it waits for another link on this list".to_owned());
        }
        let indent = " ".repeat(2 * BETWEEN);
        let columns = self.right_columns().min(PROSE).saturating_sub(indent.len());
        texts
            .iter()
            .flat_map(|text| wrap(&clean(text), columns))
            .map(|line| vec![(PLAIN, format!("{indent}{line}"))])
            .collect()
    }

    /// The time left to act, and until when.
    fn when(&self, group: Group, finding: &Finding) -> Vec<Styled> {
        match (finding.act_before, group) {
            (Some(deadline), _) => {
                let left = time_left(deadline.signed_duration_since(self.as_of));
                let moment = self.teller.clock.in_a_column(deadline);
                let by = format!("by {moment}");
                // A moment is wider still in an hour that the clock shows twice.
                let lines = wrap(if width(&by) <= LEFT { &by } else { &moment }, LEFT);
                [vec![(SOON, left)], lines.into_iter().map(|line| (PLAIN, line)).collect()].concat()
            }
            (None, _) if finding.cutoff_passed => vec![(LOUD, "cut-off passed".to_owned())],
            (None, Group::Now) => vec![(SOON, "no cut-off known".to_owned())],
            (None, _) => Vec::new(),
        }
    }

    fn right_columns(&self) -> usize {
        self.page.columns() - LEFT - BETWEEN
    }
}

/// What can be ordered of an order before the cause is mended.
pub(crate) fn to_order_at_once(affected: &Affected<'_>) -> Option<String> {
    let Evidence::Gap(gap) = &affected.finding.evidence else { return None };
    let linked = affected.alone.iter().copied().filter(|line| Why::of(*line).is_linked());
    still_to_order(linked, &gap.sent)
}

pub(crate) fn cause_todo(why: Why, past: bool) -> String {
    if why == Why::NotMade {
        return "choose another that can be made, or tell the customer, for each of these.".to_owned();
    }
    let repair = why.repair(true).map(|repair| format!("{repair} once, then ")).unwrap_or_default();
    if past {
        format!("{repair}order it for each of these: a second supplier order and parcel will be needed.")
    } else {
        format!("{repair}order it from the supplier for each of these.")
    }
}

/// A question as a sentence of its own.
pub(crate) fn asked(aside: &str) -> String {
    let sentences: Vec<String> =
        aside.split_inclusive("? ").map(|sentence| capital(sentence.to_owned())).collect();
    format!("{}.", sentences.concat())
}
