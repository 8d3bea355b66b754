//! The book as it stood at as-of: what exists, how each order stands, what each line needs, and what each
//! submission line refers to. Everything later works on the indices made here.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::OnceLock;

use chrono::{DateTime, TimeDelta, Utc};
use model::book::{Order, OrderLine, OrderStatus, Submission, SubmissionLine, SubmissionStatus, Tie};
use model::finding::NamedSubmission;
use model::reading::UNREAD;
use model::rules::Graces;
use model::{Book, LineId, OrderId, Reading, Rules, SubmissionId, SupplierId, When};

use crate::catalogue::{BySku, Catalogue, VariantIndex};
use crate::collections::{Few, Map, by_number};
use crate::resolve::{Asked, Link, Links};
use crate::{Behind, Facts};

/// Index of an order in [`World::orders`], which is sorted by order id.
pub(crate) type OrderIndex = usize;
/// Index of an order line in [`World::lines`], which is sorted by order id, then line id.
pub(crate) type LineIndex = usize;
/// Index of a submission in [`World::submissions`], which is sorted by supplier, then submission id.
pub(crate) type SubmissionIndex = usize;
/// Index in [`World::submission_lines`], which is sorted by supplier, submission id, line id.
pub(crate) type SubmissionLineIndex = usize;

/// How an order stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Standing {
    /// Its lines are owed.
    Live,
    /// Called off.
    Cancelled,
    /// Not paid for, or not yet at as-of.
    Unpaid,
}

/// An order that exists at as-of.
pub(crate) struct OrderView<'a> {
    pub row: &'a Order,
    pub lines: Range<LineIndex>,
    pub standing: Standing,
    /// The live submissions that refer to it.
    pub submissions: Few<SubmissionIndex>,
    /// False where a skipped row names it, or an order merged with it.
    pub is_judged: bool,
}

impl OrderView<'_> {
    /// Graces run from here.
    pub(crate) fn waiting_since(&self) -> When {
        self.row.paid_at.unwrap_or(self.row.placed_at)
    }
}

/// A line of an order that exists.
pub(crate) struct LineView<'a> {
    pub row: &'a OrderLine,
    pub order: OrderIndex,
    pub link: Link<'a>,
    pub reading: &'a Reading,
    /// Units owed; none unless the order is live.
    pub demand: u64,
    /// Not linked, but nobody would know: there is no variants table and no submission ever bore its SKU.
    pub may_be_linked: bool,
}

impl LineView<'_> {
    /// Whether it has to be made by a supplier, or would have to be.
    pub(crate) fn is_wanted(&self) -> bool {
        self.demand > 0 && !self.link.is_own_stock()
    }

    /// Whether it counts as linked: a link that is only intended does not.
    pub(crate) fn counts_as_linked(&self) -> bool {
        self.link.is_linked() && self.link.in_force
    }
}

/// A submission that exists at as-of.
pub(crate) struct SubmissionView<'a> {
    pub row: &'a Submission,
    pub lines: Range<SubmissionLineIndex>,
    pub cut_off: Option<DateTime<Utc>>,
}

impl SubmissionView<'_> {
    /// Whether it makes something again, so that its lines serve and raise nothing.
    pub(crate) fn is_replacement(&self) -> bool {
        self.row.replaces.is_some()
    }
}

/// A line of a submission that exists.
pub(crate) struct SubmissionLineView<'a> {
    pub row: &'a SubmissionLine,
    pub submission: SubmissionIndex,
    /// What it makes; `None` where nothing says so.
    pub variant: Option<VariantIndex>,
    /// How far it is.
    pub status: SubmissionStatus,
    /// Neither it nor its submission is cancelled or rejected.
    pub is_live: bool,
    /// Makes something again.
    pub is_replacement: bool,
    /// The orders that it refers to and that exist, in the order of the reference.
    pub orders: Few<OrderIndex>,
    /// The lines of these orders that it names.
    pub named: Few<LineIndex>,
    /// It has no line reference at all.
    pub names_no_line: bool,
    /// The reference to orders, as written; `None` where there is none, or a tie stands in its place.
    pub written: Option<&'a str>,
    /// It refers to an order about which nothing can be said.
    pub is_not_judged: bool,
}

impl SubmissionLineView<'_> {
    /// Whether its units can serve a line.
    pub(crate) fn serves(&self) -> bool {
        self.is_live && !self.is_replacement && self.variant.is_some()
    }
}

/// The book as it stood at as-of.
pub(crate) struct World<'a> {
    pub book: &'a Book,
    pub rules: &'a Rules,
    pub as_of: DateTime<Utc>,
    pub behind: &'a Behind,
    pub address_changes: &'a BTreeMap<OrderId, DateTime<Utc>>,
    /// When the first order of the whole input was placed, whether it exists at as-of or not.
    pub first_placed: Option<DateTime<Utc>>,
    pub catalogue: Catalogue<'a>,
    pub links: Links<'a>,
    pub orders: Vec<OrderView<'a>>,
    pub lines: Vec<LineView<'a>>,
    pub submissions: Vec<SubmissionView<'a>>,
    pub submission_lines: Vec<SubmissionLineView<'a>>,
    submissions_by_id: SubmissionsById<'a>,
    /// The places of the book's offers, by listing, then options; made where it is first asked for.
    offers: OnceLock<Vec<usize>>,
}

type OrdersById<'a> = Map<&'a str, OrderIndex>;
type SubmissionsById<'a> = Map<(&'a SupplierId, &'a SubmissionId), SubmissionIndex>;

impl<'a> World<'a> {
    pub(crate) fn new(
        book: &'a Book,
        facts: Facts<'a>,
        rules: &'a Rules,
        as_of: DateTime<Utc>,
        first_placed: Option<DateTime<Utc>>,
    ) -> Self {
        let exists = |when: When| when.begins() <= as_of;
        let mut submissions = submissions_that_exist(book, facts, exists);
        let submissions_by_id = submissions
            .iter()
            .enumerate()
            .map(|(index, view)| ((&view.row.supplier, &view.row.submission_id), index))
            .collect();
        let sent = lines_of(book, &mut submissions, &submissions_by_id);
        let mut catalogue = match &book.variants {
            Some(variants) => Catalogue::of_table(variants, &facts.readings.variants),
            None => Catalogue::of_submission_lines(sent.iter().map(|(line, _)| *line)),
        };
        let links = Links::new(book.links.as_deref().unwrap_or_default(), &book.owner_links, &mut catalogue);
        let mut orders = orders_that_exist(book, as_of, exists);
        let orders_by_id =
            orders.iter().enumerate().map(|(index, view)| (view.row.order_id.as_str(), index)).collect();
        let lines = order_lines(book, facts, &catalogue, &links, &mut orders, &orders_by_id);
        let references = References::new(book, rules, &orders, &lines, &orders_by_id);
        let submission_lines = sent
            .into_iter()
            .map(|(row, submission)| {
                let of = &submissions[submission];
                references.view(row, submission, of, &mut catalogue)
            })
            .collect();
        let of_empty = references.of_empty(&submissions);
        let mut world = Self {
            book,
            rules,
            as_of,
            behind: facts.behind,
            address_changes: facts.address_changes,
            first_placed,
            catalogue,
            links,
            orders,
            lines,
            submissions,
            submission_lines,
            submissions_by_id,
            offers: OnceLock::new(),
        };
        world.attach_submissions(&of_empty);
        world.leave_unjudged_groups_out();
        world
    }

    /// Whether what is not there of a line is known not to be there: a linked line is not known yet while a supplier
    /// of one of its parts has not been read up to now.
    pub(crate) fn is_known(&self, line: LineIndex) -> bool {
        let view = &self.lines[line];
        let is_behind = |supplier: &SupplierId| self.behind.suppliers.contains(supplier);
        !view.counts_as_linked() || !view.link.parts.iter().any(|part| is_behind(part.supplier))
    }

    /// Whether a line that is named may have been put right already, at a source that has not been read up to now.
    pub(crate) fn is_unconfirmed(&self, line: LineIndex) -> bool {
        self.behind.storefront || !self.behind.suppliers.is_empty() && !self.lines[line].counts_as_linked()
    }

    /// Whether the offer that a line was bought of has another SKU by now, which leads to what the line is meant to be.
    pub(crate) fn came_before_link(&self, line: LineIndex) -> bool {
        let view = &self.lines[line];
        let (Some(listing), Some(options)) = (&view.row.listing_id, &view.row.options) else { return false };
        let table = self.book.offers.as_deref().unwrap_or_default();
        let key = |place: &usize| (&table[*place].listing_id, &table[*place].options);
        let places = self.offers.get_or_init(|| {
            let mut places: Vec<usize> = (0..table.len()).collect();
            places.sort_by(|one, other| key(one).cmp(&key(other)));
            places
        });
        let first = places.partition_point(|place| key(place) < (listing, options));
        places[first..].iter().take_while(|place| key(place) == (listing, options)).any(|place| {
            let link = self.links.resolve(&self.catalogue, Asked::of_offer(&table[*place]));
            link.is_linked() && link.in_force && link.makes_the_same(&view.link)
        })
    }

    /// The submission of an id, where it exists.
    pub(crate) fn submission(&self, supplier: &SupplierId, id: &SubmissionId) -> Option<SubmissionIndex> {
        self.submissions_by_id.get(&(supplier, id)).copied()
    }

    /// The line of an id in a submission.
    pub(crate) fn submission_line(
        &self,
        submission: SubmissionIndex,
        line_id: &LineId,
    ) -> Option<SubmissionLineIndex> {
        let range = self.submissions[submission].lines.clone();
        let lines = &self.submission_lines[range.clone()];
        lines.binary_search_by_key(&line_id, |view| &view.row.line_id).ok().map(|at| range.start + at)
    }

    /// Whether an order is among those that are reported.
    pub(crate) fn is_reported(&self, order: OrderIndex) -> bool {
        let placed = self.orders[order].row.placed_at.begins();
        self.orders[order].is_judged
            && self.rules.since.is_none_or(|since| placed >= since)
            && self.rules.until.is_none_or(|until| placed < until)
    }

    /// Whether findings may be raised about an order.
    pub(crate) fn may_raise(&self, order: OrderIndex) -> bool {
        let placed = self.orders[order].row.placed_at.begins();
        self.is_reported(order) && self.rules.report_from.is_none_or(|from| placed >= from)
    }

    /// A line's own grace: the longest of its parts'; the general one where it has no supplier.
    pub(crate) fn line_grace(&self, line: LineIndex, of: impl Fn(&Graces) -> TimeDelta) -> TimeDelta {
        let parts = self.lines[line].link.parts.iter().filter(|part| part.variant.is_some());
        parts
            .map(|part| of(self.rules.graces_of(part.supplier)))
            .max()
            .unwrap_or_else(|| of(&self.rules.graces))
    }

    /// An order's grace: the longest of its linked lines'; the general one where it has none.
    pub(crate) fn order_grace(&self, order: OrderIndex, of: impl Fn(&Graces) -> TimeDelta) -> TimeDelta {
        self.orders[order]
            .lines
            .clone()
            .filter(|line| self.lines[*line].counts_as_linked() && !self.lines[*line].link.is_own_stock())
            .map(|line| self.line_grace(line, &of))
            .max()
            .unwrap_or_else(|| of(&self.rules.graces))
    }

    /// Whether a grace that began with an order's payment is over. Never, where nothing is known of submissions.
    pub(crate) fn is_over(&self, order: OrderIndex, grace: TimeDelta) -> bool {
        self.book.knows_submissions() && self.orders[order].waiting_since().is_over(grace, self.as_of)
    }

    /// A submission as a finding shows it.
    pub(crate) fn named_submission(&self, submission: SubmissionIndex) -> NamedSubmission {
        let view = &self.submissions[submission];
        NamedSubmission {
            supplier: view.row.supplier.clone(),
            submission_id: view.row.submission_id.clone(),
            status: view.row.status,
            received_at: view.row.received_at.begins(),
            cut_off: view.cut_off,
        }
    }

    /// Notes at each order the live submissions that refer to it: through a live line, or, where a submission
    /// has no lines, by its own reference.
    fn attach_submissions(&mut self, empty: &[(SubmissionIndex, OrderIndex)]) {
        let by_line = self
            .submission_lines
            .iter()
            .filter(|line| line.is_live)
            .flat_map(|line| line.orders.iter().map(|order| (line.submission, *order)));
        let mut pairs: Vec<_> = by_line.chain(empty.iter().copied()).collect();
        pairs.sort_unstable();
        pairs.dedup();
        for (submission, order) in pairs {
            self.orders[order].submissions.push(submission);
        }
    }

    /// An order merged with one that cannot be judged cannot be judged either: the submission may be for that.
    fn leave_unjudged_groups_out(&mut self) {
        let mut unjudged: Vec<OrderIndex> =
            (0..self.orders.len()).filter(|order| !self.orders[*order].is_judged).collect();
        let mut merged: Map<OrderIndex, Vec<OrderIndex>> = Map::default();
        for line in self.submission_lines.iter().filter(|line| line.serves()) {
            if line.is_not_judged {
                unjudged.extend(&line.orders);
            }
            for pair in line.orders.windows(2) {
                merged.entry(pair[0]).or_default().push(pair[1]);
                merged.entry(pair[1]).or_default().push(pair[0]);
            }
        }
        let mut seen: BTreeSet<OrderIndex> = BTreeSet::new();
        while let Some(order) = unjudged.pop() {
            if seen.insert(order) {
                self.orders[order].is_judged = false;
                unjudged.extend(merged.get(&order).into_iter().flatten());
            }
        }
        for line in &mut self.submission_lines {
            line.is_not_judged |= line.orders.iter().any(|order| !self.orders[*order].is_judged);
        }
    }
}

fn submissions_that_exist<'a>(
    book: &'a Book,
    facts: Facts<'a>,
    exists: impl Fn(When) -> bool,
) -> Vec<SubmissionView<'a>> {
    let mut submissions: Vec<_> = book
        .submissions
        .iter()
        .flatten()
        .enumerate()
        .filter(|(_, row)| exists(row.received_at))
        .map(|(index, row)| SubmissionView {
            row,
            lines: 0..0,
            cut_off: facts.cut_offs.get(index).copied().flatten(),
        })
        .collect();
    submissions.sort_by_key(|view| (&view.row.supplier, &view.row.submission_id));
    submissions
}

/// The lines of the submissions that exist, sorted; each with its submission, which learns its range.
fn lines_of<'a>(
    book: &'a Book,
    submissions: &mut [SubmissionView<'a>],
    by_id: &SubmissionsById<'a>,
) -> Vec<(&'a SubmissionLine, SubmissionIndex)> {
    let lines: Vec<_> = book
        .submission_lines
        .iter()
        .flatten()
        .filter_map(|row| Some((row, *by_id.get(&(&row.supplier, &row.submission_id))?)))
        .collect();
    let (mut lines, starts) = by_number(&lines, submissions.len(), |(_, submission)| *submission);
    for (index, view) in submissions.iter_mut().enumerate() {
        view.lines = starts[index]..starts[index + 1];
        lines[view.lines.clone()].sort_by_key(|(row, _)| &row.line_id);
    }
    lines
}

fn orders_that_exist<'a>(
    book: &'a Book,
    as_of: DateTime<Utc>,
    exists: impl Fn(When) -> bool,
) -> Vec<OrderView<'a>> {
    let mut orders: Vec<_> = book
        .orders
        .iter()
        .filter(|row| exists(row.placed_at))
        .map(|row| OrderView {
            row,
            lines: 0..0,
            standing: match row.status {
                OrderStatus::Cancelled => Standing::Cancelled,
                OrderStatus::Unpaid => Standing::Unpaid,
                OrderStatus::Open | OrderStatus::Dispatched => {
                    if row.paid_at.is_some_and(|paid| paid.begins() > as_of) {
                        Standing::Unpaid
                    } else {
                        Standing::Live
                    }
                }
            },
            submissions: Few::new(),
            is_judged: !book.not_judged.contains(&row.order_id),
        })
        .collect();
    orders.sort_by_key(|view| &view.row.order_id);
    orders
}

fn order_lines<'a>(
    book: &'a Book,
    facts: Facts<'a>,
    catalogue: &Catalogue<'a>,
    links: &Links<'a>,
    orders: &mut [OrderView<'a>],
    by_id: &OrdersById<'a>,
) -> Vec<LineView<'a>> {
    let stands_in = !catalogue.is_given && book.knows_submissions();
    let readings = facts.readings.order_lines.iter().chain(std::iter::repeat(&UNREAD));
    let rows: Vec<_> = book
        .order_lines
        .iter()
        .zip(readings)
        .filter_map(|(row, reading)| Some((row, reading, *by_id.get(row.order_id.as_str())?)))
        .collect();
    let (mut rows, starts) = by_number(&rows, orders.len(), |(.., order)| *order);
    for (index, view) in orders.iter_mut().enumerate() {
        view.lines = starts[index]..starts[index + 1];
        rows[view.lines.clone()].sort_by_key(|(row, ..)| &row.line_id);
    }
    let view = |(row, reading, order): (&'a OrderLine, &'a Reading, OrderIndex)| {
        let link = links.resolve(catalogue, Asked::of_line(row));
        let is_live = orders[order].standing == Standing::Live;
        let sku_is_unheard_of =
            || row.sku.as_ref().is_some_and(|sku| catalogue.by_sku(sku) == BySku::Nothing);
        LineView {
            row,
            order,
            reading,
            demand: if is_live { u64::from(row.quantity_owed()) } else { 0 },
            may_be_linked: stands_in && !link.is_linked() && sku_is_unheard_of(),
            link,
        }
    };
    rows.into_iter().map(view).collect()
}

/// What references mean: the orders and lines by id, the ties.
struct References<'a, 'w> {
    book: &'a Book,
    rules: &'a Rules,
    orders: &'w [OrderView<'a>],
    lines: &'w [LineView<'a>],
    by_id: &'w OrdersById<'a>,
    ties: Map<(&'a SupplierId, &'a SubmissionId), Vec<&'a Tie>>,
}

impl<'a, 'w> References<'a, 'w> {
    fn new(
        book: &'a Book,
        rules: &'a Rules,
        orders: &'w [OrderView<'a>],
        lines: &'w [LineView<'a>],
        by_id: &'w OrdersById<'a>,
    ) -> Self {
        let mut ties: Map<_, Vec<_>> = Map::default();
        for tie in book.ties.iter().flatten() {
            ties.entry((&tie.supplier, &tie.submission_id)).or_default().push(tie);
        }
        for of_one in ties.values_mut() {
            of_one.sort_by_key(|tie| (&tie.order_id, &tie.line_id, &tie.submission_line_id));
        }
        Self { book, rules, orders, lines, by_id, ties }
    }

    /// The orders that exist among those that a reference lists, and whether it lists one that is not judged.
    fn orders(&self, supplier: &SupplierId, written: &str) -> (Few<OrderIndex>, bool) {
        let is_unjudged = |id: &str| self.book.not_judged.contains(id);
        let form = self.rules.references_of(supplier);
        let ids = form.orders(written, |id| self.by_id.contains_key(id) || is_unjudged(id));
        let orders = ids.iter().filter_map(|id| self.by_id.get(id).copied()).collect();
        (orders, ids.iter().any(|id| is_unjudged(id)))
    }

    /// The orders that live submissions without lines refer to.
    fn of_empty(&self, submissions: &[SubmissionView<'_>]) -> Vec<(SubmissionIndex, OrderIndex)> {
        submissions
            .iter()
            .enumerate()
            .filter(|(_, view)| view.lines.is_empty() && view.row.status.is_live())
            .flat_map(|(index, view)| {
                let written = view.row.order_ref.as_deref().unwrap_or_default();
                let (orders, _) = self.orders(&view.row.supplier, written);
                orders.into_iter().map(move |order| (index, order))
            })
            .collect()
    }

    fn line(&self, order: OrderIndex, line_id: &LineId) -> Option<LineIndex> {
        let range = self.orders[order].lines.clone();
        let lines = &self.lines[range.clone()];
        lines.binary_search_by_key(&line_id, |view| &view.row.line_id).ok().map(|at| range.start + at)
    }

    fn view(
        &self,
        row: &'a SubmissionLine,
        submission: SubmissionIndex,
        of: &SubmissionView<'a>,
        catalogue: &mut Catalogue<'a>,
    ) -> SubmissionLineView<'a> {
        let variant = match (&row.variant_id, &row.sku) {
            (Some(variant_id), _) => Some(catalogue.intern(&row.supplier, variant_id)),
            (None, Some(sku)) => match catalogue.by_sku_at(&row.supplier, sku) {
                BySku::One(variant) => Some(variant),
                BySku::Nothing | BySku::Several => None,
            },
            (None, None) => None,
        };
        let status = row.status.unwrap_or(of.row.status);
        let mut written = row.order_ref.as_deref().or(of.row.order_ref.as_deref());
        let (mut orders, mut is_not_judged) = self.orders(&row.supplier, written.unwrap_or_default());
        let mut named: Few<LineIndex> = row
            .order_line_ref
            .iter()
            .flat_map(|line_id| orders.iter().filter_map(move |order| self.line(*order, line_id)))
            .collect();
        let mut names_no_line = row.order_line_ref.is_none();
        let ties: Few<_> = self
            .ties
            .get(&(&row.supplier, &row.submission_id))
            .into_iter()
            .flatten()
            .filter(|tie| match &tie.submission_line_id {
                Some(line_id) => *line_id == row.line_id,
                None => named.is_empty(),
            })
            .collect();
        if !ties.is_empty() {
            names_no_line = false;
            written = None;
            is_not_judged = ties.iter().any(|tie| self.book.not_judged.contains(&tie.order_id));
            let tied = |tie: &&&Tie| self.by_id.get(tie.order_id.as_str()).copied();
            orders = ties.iter().filter_map(tied).collect();
            orders.dedup();
            named = ties.iter().filter_map(|tie| self.line(tied(tie)?, &tie.line_id)).collect();
        }
        named.sort_unstable();
        named.dedup();
        SubmissionLineView {
            row,
            submission,
            variant,
            status,
            is_live: status.is_live() && of.row.status.is_live(),
            is_replacement: of.is_replacement(),
            orders,
            named,
            names_no_line,
            written,
            is_not_judged,
        }
    }
}
