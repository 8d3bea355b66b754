//! What all checks share: naming lines, cut-offs, values, and collecting findings in one order.

use chrono::{DateTime, Utc};
use model::finding::{Evidence, FindingId, NamedLine, NamedSubmissionLine, Reason, value_of};
use model::{Check, Currency, Finding, Money, SupplierId};
use smallvec::SmallVec;
use smol_str::SmolStr;

use crate::collections::Few;
use crate::cover::Coverage;
use crate::dispatch::Dispatch;
use crate::leftover::LeftOver;
use crate::world::{LineIndex, OrderIndex, SubmissionLineIndex, World};

/// Everything that the checks look at.
pub(crate) struct Judged<'w, 'a> {
    pub world: &'w World<'a>,
    pub coverage: Coverage,
    pub left_over: LeftOver,
    pub dispatch: Dispatch<'a>,
}

/// The findings so far, each with its subject, by which they are sorted.
#[derive(Clone, Default, Debug)]
pub(crate) struct Findings {
    /// In boxes, for they are large and are moved about until they are in their order.
    with_subject: Vec<(Subject, Box<Finding>)>,
}

/// The ids that name the subject of a finding, most often up to three.
type Subject = SmallVec<[SmolStr; 3]>;

impl Findings {
    /// Starts a finding; the ids of `subject` are its identity.
    pub(crate) fn add(&mut self, subject: &[&str], finding: Finding) {
        let subject = subject.iter().copied().map(SmolStr::from).collect();
        self.with_subject.push((subject, Box::new(finding)));
    }

    /// Adds those of another part of the book.
    pub(crate) fn add_all(&mut self, mut other: Self) {
        self.with_subject.append(&mut other.with_subject);
    }

    /// Whether there is none.
    pub(crate) fn is_empty(&self) -> bool {
        self.with_subject.is_empty()
    }

    /// By order id (those without one last), check, subject.
    pub(crate) fn sorted(mut self) -> Vec<Finding> {
        fn key<'f>((subject, finding): &'f (Subject, Box<Finding>)) -> impl Ord + use<'f> {
            (finding.order_id.is_none(), finding.order_id.as_ref(), finding.check, subject.as_slice())
        }
        self.with_subject.sort_by(|a, b| key(a).cmp(&key(b)));
        self.with_subject.into_iter().map(|(_, finding)| *finding).collect()
    }
}

/// A finding with nothing filled in but what every finding has.
pub(crate) fn blank(world: &World<'_>, check: Check, subject: &[&str], evidence: Evidence) -> Finding {
    Finding {
        check,
        id: FindingId::of(check, subject),
        order_id: None,
        supplier: None,
        submission_id: None,
        lines: Vec::new(),
        submission_lines: Vec::new(),
        act_before: None,
        cutoff_passed: false,
        first_seen: world.as_of,
        value_at_risk: None,
        evidence,
    }
}

/// At which suppliers something can still be changed.
pub(crate) enum Where<'a> {
    Anywhere,
    At(Few<&'a SupplierId>),
}

impl<'w, 'a> Judged<'w, 'a> {
    /// Ties, counts, explains and follows every unit of the book.
    pub(crate) fn new(world: &'w World<'a>) -> Self {
        let coverage = Coverage::new(world);
        let left_over = LeftOver::new(world, &coverage);
        let dispatch = Dispatch::new(world, &coverage);
        Self { world, coverage, left_over, dispatch }
    }

    /// An order line as a finding names it, with so many units.
    pub(crate) fn named(&self, line: LineIndex, units: u64, reason: Option<Reason>) -> NamedLine {
        let view = &self.world.lines[line];
        let is_intended = view.link.is_linked() && !view.link.in_force;
        let parts = view.link.named_parts(&self.world.catalogue);
        let (needs, intended) = if is_intended { (Vec::new(), parts) } else { (parts, Vec::new()) };
        NamedLine {
            line_id: view.row.line_id.clone(),
            listing_id: view.row.listing_id.clone(),
            sku: view.row.sku.clone(),
            title: view.row.title.clone(),
            options: view.row.options.clone(),
            quantity: view.row.quantity,
            units,
            reason,
            needs,
            intended,
            came_before_link: is_intended && self.world.came_before_link(line),
            not_made_now: view.link.parts_not_made_now(&self.world.catalogue),
            unconfirmed: self.world.is_unconfirmed(line),
        }
    }

    /// A submission line as a finding names it, with so many units.
    pub(crate) fn named_sent(&self, line: SubmissionLineIndex, units: u64) -> NamedSubmissionLine {
        let view = &self.world.submission_lines[line];
        let variant = view.variant.map(|variant| self.world.catalogue.get(variant));
        let row = variant.and_then(|variant| variant.row);
        NamedSubmissionLine {
            line_id: view.row.line_id.clone(),
            variant_id: variant.map(|variant| variant.variant_id.clone()),
            product: row.and_then(|row| row.product.clone()),
            options: row.and_then(|row| row.options.clone()),
            quantity: view.row.quantity,
            units,
        }
    }

    /// The lines of an order that nobody makes (all of), as findings name them.
    pub(crate) fn uncovered(&self, order: OrderIndex) -> Vec<NamedLine> {
        self.world.orders[order]
            .lines
            .clone()
            .filter(|line| self.coverage.lines[*line].uncovered > 0 && self.world.is_known(*line))
            .map(|line| {
                let reason = self.coverage.reason(self.world, line);
                self.named(line, self.coverage.lines[line].uncovered, Some(reason))
            })
            .collect()
    }

    /// The suppliers of some lines: all, as soon as one of the lines does not count as linked.
    pub(crate) fn suppliers_of(&self, lines: impl IntoIterator<Item = LineIndex>) -> Where<'a> {
        let mut suppliers: Few<&SupplierId> = Few::new();
        for line in lines {
            let view = &self.world.lines[line];
            if !view.counts_as_linked() {
                return Where::Anywhere;
            }
            for part in view.link.parts.iter().filter(|part| part.variant.is_some()) {
                if !suppliers.contains(&part.supplier) {
                    suppliers.push(part.supplier);
                }
            }
        }
        Where::At(suppliers)
    }

    /// The earliest cut-off still ahead of an order's live submissions at some suppliers; and whether there are
    /// cut-offs there and all have passed.
    pub(crate) fn cut_off(&self, order: OrderIndex, at: &Where<'_>) -> (Option<DateTime<Utc>>, bool) {
        let submissions =
            self.world.orders[order].submissions.iter().map(|index| &self.world.submissions[*index]);
        let concerned: Few<_> = submissions
            .filter(|submission| match at {
                Where::Anywhere => true,
                Where::At(suppliers) => suppliers.contains(&&submission.row.supplier),
            })
            .collect();
        let ahead = |cut_off: &DateTime<Utc>| *cut_off >= self.world.as_of;
        let earliest = concerned
            .iter()
            .filter(|submission| !submission.row.status.has_begun())
            .filter_map(|submission| submission.cut_off.filter(ahead))
            .min();
        let any_configured = concerned.iter().any(|submission| submission.cut_off.is_some());
        let all_passed = concerned.iter().all(|submission| {
            submission.row.status.has_begun() || submission.cut_off.is_some_and(|cut_off| !ahead(&cut_off))
        });
        (earliest, any_configured && all_passed)
    }

    /// A finding about an order and some of its lines, with cut-off and value filled in.
    pub(crate) fn of_order(
        &self,
        check: Check,
        subject: &[&str],
        order: OrderIndex,
        lines: Vec<(LineIndex, NamedLine)>,
        evidence: Evidence,
    ) -> Finding {
        let (act_before, cutoff_passed) =
            self.cut_off(order, &self.suppliers_of(lines.iter().map(|(line, _)| *line)));
        let row = self.world.orders[order].row;
        let prices = lines.iter().map(|(line, named)| (named.units, self.world.lines[*line].row.unit_price));
        let value_at_risk = value_of(prices, row.currency);
        Finding {
            order_id: Some(row.order_id.clone()),
            lines: lines.into_iter().map(|(_, named)| named).collect(),
            act_before,
            cutoff_passed,
            value_at_risk,
            ..blank(self.world, check, subject, evidence)
        }
    }

    /// What units of submission lines cost: by the submission, else by the variant. `None` where the cost, or
    /// its one currency, is not known of all.
    pub(crate) fn cost(&self, lines: &[(SubmissionLineIndex, u64)]) -> Option<Money> {
        let row_of = |line: SubmissionLineIndex| {
            let variant = self.world.submission_lines[line].variant?;
            self.world.catalogue.get(variant).row
        };
        let mut currencies: Few<Option<Currency>> =
            lines.iter().map(|(line, _)| row_of(*line).and_then(|row| row.currency)).collect();
        currencies.dedup();
        let [Some(currency)] = currencies[..] else { return None };
        let costs = lines.iter().map(|(line, units)| {
            let asked = self.world.submission_lines[*line].row.unit_cost;
            (*units, asked.or_else(|| row_of(*line)?.unit_cost))
        });
        value_of(costs, Some(currency))
    }
}
