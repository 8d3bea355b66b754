//! Which orders the rows that are left out name: nothing is judged about those.
//!
//! A row names an order by its id, by a reference, or by way of its submission: a submission names the orders of
//! its references, of its lines' and of the ties to it; a link those of the lines that it may be for; a variant those of
//! the lines that may lead to it, and of what was sent of it. In doubt rather an order too many is left unjudged than one
//! too few. Must not know: files, or why a row was left out. Source: README.md, 'The tables'.
//! Start reading at [`orders_named`].

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use model::book::{LinkScope, Order, OrderLine, Parcel, Submission, SubmissionLine, Tie};
use model::rules::ReferenceForm;
use model::{OrderId, Rules, SupplierId, text};

use crate::build::KeyedLink;
use crate::keys::Placed;
use crate::skipped::{Names, Reference, Skipped};
use crate::tables::Table;

/// The rows that stand, each table sorted by key, of the tables through which an order can be named.
pub(crate) struct Standing<'a> {
    pub(crate) orders: &'a [Placed<Order>],
    pub(crate) order_lines: &'a [Placed<OrderLine>],
    pub(crate) submissions: &'a [Placed<Submission>],
    pub(crate) submission_lines: &'a [Placed<SubmissionLine>],
    pub(crate) parcels: &'a [Placed<Parcel>],
    pub(crate) ties: &'a [Placed<Tie>],
    pub(crate) links: &'a [Placed<KeyedLink>],
}

/// What the rows that are left out name.
#[derive(Default)]
pub(crate) struct Named {
    pub(crate) orders: BTreeSet<OrderId>,
    /// Rows that name an order, and of which it cannot be told which.
    pub(crate) rows_untold: u64,
}

/// The orders that rows which are left out name.
pub(crate) fn orders_named(standing: &Standing<'_>, left_out: &[Skipped], rules: &Rules) -> Named {
    if left_out.is_empty() {
        return Named::default();
    }
    let mut search = Search::new(standing, left_out, rules);
    let mut rows_untold = 0;
    for row in left_out {
        let answers = row.readings.iter().map(|names| search.ask(row, names));
        let answer = answers.fold(Answer::default(), Answer::or);
        // Cells that are shifted tell something only where they lead to an order that is known.
        let told = if row.certain { answer.known } else { answer.found };
        rows_untold += u64::from(!told || row.more_unread);
    }
    search.note_lost_variants();
    search.note_unlinked();
    let orders = search.orders.into_iter().map(OrderId::from).collect();
    Named { orders, rows_untold }
}

/// Supplier and the id of a submission or a parcel.
type Key<'a> = (&'a str, &'a str);

/// What a question brought. The orders themselves are noted on the way.
#[derive(Clone, Copy, Default)]
struct Answer {
    /// It is known which orders are meant, if any.
    known: bool,
    /// At least one order is meant that is in the input.
    found: bool,
}

impl Answer {
    fn or(self, other: Self) -> Self {
        Self { known: self.known || other.known, found: self.found || other.found }
    }
}

/// What is said of a submission in rows that are left out, and in all ties.
#[derive(Default)]
struct Said<'a> {
    /// References of rows of the submission itself, and whether they are right for sure.
    references: Vec<(&'a Reference, bool)>,
    line_references: Vec<&'a str>,
    /// Orders tied to it, by the line of it that the tie names.
    ties: BTreeMap<Option<&'a str>, Vec<&'a str>>,
}

struct Search<'a> {
    standing: &'a Standing<'a>,
    rules: &'a Rules,
    /// Order ids that stand only in rows that are left out.
    more_orders: HashSet<&'a str>,
    said: HashMap<Key<'a>, Said<'a>>,
    /// The submissions of parcels that are left out.
    parcels: HashMap<Key<'a>, Vec<&'a str>>,
    /// Answers by submission, so that many rows of one submission are asked for once.
    own: HashMap<Key<'a>, Answer>,
    whole: HashMap<Key<'a>, Answer>,
    /// The submissions, and lines of them, whose ties are noted already: many rows can ask for the same.
    noted_ties: HashSet<(Key<'a>, Option<&'a str>)>,
    /// What links that are left out are for: listings, and folded SKUs.
    unlinked_listings: HashSet<&'a str>,
    unlinked_skus: HashSet<String>,
    /// Variants that are left out, by supplier and id; and the folded SKUs that they bear.
    lost_variants: HashSet<Key<'a>>,
    lost_skus: HashSet<String>,
    orders: BTreeSet<&'a str>,
}

impl<'a> Search<'a> {
    fn new(standing: &'a Standing<'a>, left_out: &'a [Skipped], rules: &'a Rules) -> Self {
        let certain = left_out.iter().filter(|row| row.certain).flat_map(|row| &row.readings);
        let mut search = Self {
            standing,
            rules,
            more_orders: certain.filter_map(|names| names.order_id.as_deref()).collect(),
            said: HashMap::new(),
            parcels: HashMap::new(),
            own: HashMap::new(),
            whole: HashMap::new(),
            noted_ties: HashSet::new(),
            unlinked_listings: HashSet::new(),
            unlinked_skus: HashSet::new(),
            lost_variants: HashSet::new(),
            lost_skus: HashSet::new(),
            orders: BTreeSet::new(),
        };
        for Placed { row, .. } in standing.ties {
            let said = search.said.entry((row.supplier.as_str(), row.submission_id.as_str())).or_default();
            let line = row.submission_line_id.as_ref().map(|line| line.as_str());
            said.ties.entry(line).or_default().push(row.order_id.as_str());
        }
        for row in left_out {
            for names in &row.readings {
                search.note(row, names);
            }
        }
        search
    }

    fn note(&mut self, row: &'a Skipped, names: &'a Names) {
        let Some(supplier) = names.supplier.as_deref() else { return };
        if row.table == Table::Parcels {
            if let (Some(parcel_id), Some(submission_id)) = (&names.parcel_id, &names.submission_id) {
                self.parcels.entry((supplier, parcel_id)).or_default().push(submission_id);
            }
            return;
        }
        let Some(submission_id) = names.submission_id.as_deref() else { return };
        let said = self.said.entry((supplier, submission_id)).or_default();
        match (row.table, &names.order_ref) {
            (Table::Submissions, reference) => said.references.push((reference, row.certain)),
            (Table::SubmissionLines, Reference::Given(reference)) => said.line_references.push(reference),
            (Table::Ties, _) => {
                let ties = said.ties.entry(names.submission_line_id.as_deref()).or_default();
                ties.extend(names.order_id.as_deref());
            }
            _ => {}
        }
    }

    /// Notes the orders that a row names.
    fn ask(&mut self, row: &'a Skipped, names: &'a Names) -> Answer {
        let submission = names.supplier.as_deref().zip(names.submission_id.as_deref());
        match row.table {
            // Such a row names no order.
            Table::Offers | Table::ListingProducts | Table::GoodRules => Answer { known: true, found: false },
            Table::Variants => self.variant(names),
            Table::Links => self.link(names),
            Table::Orders | Table::OrderLines => self.order(row, names),
            Table::Ties => {
                // Without the tie, the lines that it names serve what they refer to.
                match (submission, names.submission_line_id.as_deref()) {
                    (Some(key), Some(line_id)) => self.line_without_tie(key, line_id),
                    (Some(key), None) => {
                        self.whole_submission(key);
                    }
                    (None, _) => {}
                }
                self.order(row, names)
            }
            Table::Submissions => {
                let whole = submission.map(|key| self.whole_submission(key)).unwrap_or_default();
                let own = self.reference(names);
                Answer { known: own.known, found: own.found || whole.found }
            }
            Table::SubmissionLines => self.submission_line(names, submission),
            Table::Parcels => submission.map(|key| self.whole_submission(key)).unwrap_or_default(),
            Table::ParcelLines => self.parcel_line(names),
        }
    }

    /// Without one of its links, a line that sells several things would look covered by the others, or a link of
    /// lower rank would answer for it.
    fn link(&mut self, names: &'a Names) -> Answer {
        let skus = names.sku.as_deref().map(text::fold).filter(|sku| !sku.is_empty());
        let known = names.listing_id.is_some() || skus.is_some();
        self.unlinked_listings.extend(names.listing_id.as_deref());
        self.unlinked_skus.extend(skus);
        Answer { known, found: known }
    }

    /// Without one of the variants, a line that leads to it would look unlinked, or linked to another one that bears the
    /// same SKU, and what was sent of it would serve nothing.
    fn variant(&mut self, names: &'a Names) -> Answer {
        let key = names.supplier.as_deref().zip(names.variant_id.as_deref());
        self.lost_variants.extend(key);
        let bears = [&names.sku, &names.variant_id].into_iter().flatten();
        self.lost_skus.extend(bears.map(|sku| text::fold(sku)).filter(|sku| !sku.is_empty()));
        // Where its SKU cannot be read, some of the lines may remain.
        Answer { known: key.is_some(), found: key.is_some() }
    }

    /// Notes the orders of what was sent of the variants that are left out, and the links that lead to them.
    fn note_lost_variants(&mut self) {
        if self.lost_variants.is_empty() && self.lost_skus.is_empty() {
            return;
        }
        self.unlinked_skus.extend(self.lost_skus.iter().cloned());
        for Placed { row, .. } in self.standing.links {
            let link = &row.link;
            let Some(variant_id) = &link.variant_id else { continue };
            if self.lost_variants.contains(&(link.supplier.as_str(), variant_id.as_str())) {
                match &link.scope {
                    LinkScope::Offer(listing, _) | LinkScope::Listing(listing) => {
                        self.unlinked_listings.insert(listing.as_str());
                    }
                    LinkScope::Sku(sku) => {
                        self.unlinked_skus.insert(sku.folded().to_owned());
                    }
                }
            }
        }
        for placed in self.standing.submission_lines {
            let row = &placed.row;
            let is_lost = match (&row.variant_id, &row.sku) {
                (Some(id), _) => self.lost_variants.contains(&(row.supplier.as_str(), id.as_str())),
                (None, Some(sku)) => self.lost_skus.contains(sku.folded()),
                (None, None) => false,
            };
            if is_lost {
                self.line_without_tie(submission_of(placed), row.line_id.as_str());
            }
        }
    }

    /// Notes the orders of the lines that a link which is left out may be for.
    fn note_unlinked(&mut self) {
        if self.unlinked_listings.is_empty() && self.unlinked_skus.is_empty() {
            return;
        }
        for Placed { row, .. } in self.standing.order_lines {
            let of_listing = row
                .listing_id
                .as_ref()
                .is_some_and(|listing| self.unlinked_listings.contains(listing.as_str()));
            let of_sku = row.sku.as_ref().is_some_and(|sku| self.unlinked_skus.contains(sku.folded()));
            if of_listing || of_sku {
                self.orders.insert(row.order_id.as_str());
            }
        }
    }

    fn order(&mut self, row: &Skipped, names: &'a Names) -> Answer {
        match names.order_id.as_deref() {
            Some(order_id) if row.certain || self.is_order(order_id) => {
                self.orders.insert(order_id);
                Answer { known: true, found: true }
            }
            _ => Answer::default(),
        }
    }

    fn submission_line(&mut self, names: &'a Names, submission: Option<Key<'a>>) -> Answer {
        let of_ties = submission.is_some_and(|key| self.tied_to_line(key, names.line_id.as_deref()));
        let mut answer = self.reference(names);
        if !matches!(names.order_ref, Reference::Given(_)) {
            let own = submission.map(|key| self.own_references(key)).unwrap_or_default();
            answer = Answer { known: answer.known && own.known, found: own.found };
        }
        Answer { found: answer.found || of_ties, ..answer }
    }

    fn line_without_tie(&mut self, key: Key<'a>, line_id: &'a str) {
        self.tied_to_line(key, Some(line_id));
        let lines = self.standing.submission_lines;
        let found = lines.binary_search_by(|placed| {
            (submission_of(placed), placed.row.line_id.as_str()).cmp(&(key, line_id))
        });
        match found.ok().and_then(|index| lines[index].row.order_ref.as_deref()) {
            Some(reference) => {
                self.resolve(Some(key.0), reference);
            }
            None => {
                self.own_references(key);
            }
        }
    }

    fn parcel_line(&mut self, names: &'a Names) -> Answer {
        let Some(key) = names.supplier.as_deref().zip(names.parcel_id.as_deref()) else {
            return Answer::default();
        };
        let parcels = self.standing.parcels;
        let standing = parcels
            .binary_search_by(|placed| {
                (placed.row.supplier.as_str(), placed.row.parcel_id.as_str()).cmp(&key)
            })
            .map(|index| parcels[index].row.submission_id.as_str());
        let mut submissions = self.parcels.get(&key).cloned().unwrap_or_default();
        submissions.extend(standing);
        let answers = submissions.into_iter().map(|submission| self.whole_submission((key.0, submission)));
        answers.fold(Answer::default(), Answer::or)
    }

    /// The orders of everything that is said of a submission.
    fn whole_submission(&mut self, key: Key<'a>) -> Answer {
        if let Some(answer) = self.whole.get(&key) {
            return *answer;
        }
        let mut answer = self.own_references(key);
        let lines = self.standing.submission_lines;
        let first = lines.partition_point(|placed| submission_of(placed) < key);
        for placed in lines[first..].iter().take_while(|placed| submission_of(placed) == key) {
            if let Some(reference) = &placed.row.order_ref {
                answer.found |= self.resolve(Some(key.0), reference);
            }
        }
        let said = self.said.get(&key);
        let line_references = said.map(|said| said.line_references.clone()).unwrap_or_default();
        let tied: Vec<&str> =
            said.into_iter().flat_map(|said| said.ties.values().flatten().copied()).collect();
        for reference in line_references {
            answer.found |= self.resolve(Some(key.0), reference);
        }
        answer.found |= !tied.is_empty();
        self.orders.extend(tied);
        self.whole.insert(key, answer);
        answer
    }

    /// The orders of the references of a submission's own rows.
    fn own_references(&mut self, key: Key<'a>) -> Answer {
        if let Some(answer) = self.own.get(&key) {
            return *answer;
        }
        let submissions = self.standing.submissions;
        let standing = submissions.binary_search_by(|placed| {
            (placed.row.supplier.as_str(), placed.row.submission_id.as_str()).cmp(&key)
        });
        let mut answer = Answer { known: standing.is_ok(), found: false };
        for reference in standing.iter().filter_map(|index| submissions[*index].row.order_ref.as_deref()) {
            answer.found |= self.resolve(Some(key.0), reference);
        }
        let left_out = self.said.get(&key).map(|said| said.references.clone()).unwrap_or_default();
        let mut unread = false;
        for (reference, certain) in left_out {
            match reference {
                Reference::Given(reference) => {
                    let found = self.resolve(Some(key.0), reference);
                    answer = answer.or(Answer { known: certain || found, found });
                }
                Reference::Empty => answer.known |= certain,
                Reference::Unread => unread = true,
            }
        }
        answer.known &= !unread;
        self.own.insert(key, answer);
        answer
    }

    /// The orders of the ties that name a line of a submission, or all its lines. Answers whether there are any.
    fn tied_to_line(&mut self, key: Key<'a>, line_id: Option<&'a str>) -> bool {
        let Some(said) = self.said.get(&key) else { return false };
        let mut is_tied = false;
        for line in [None, line_id] {
            let Some(tied) = said.ties.get(&line) else { continue };
            is_tied |= !tied.is_empty();
            if self.noted_ties.insert((key, line)) {
                self.orders.extend(tied);
            }
        }
        is_tied
    }

    /// The orders of the reference that a row itself bears.
    fn reference(&mut self, names: &'a Names) -> Answer {
        match &names.order_ref {
            Reference::Given(reference) => {
                Answer { known: true, found: self.resolve(names.supplier.as_deref(), reference) }
            }
            Reference::Empty => Answer { known: true, found: false },
            Reference::Unread => Answer::default(),
        }
    }

    /// Notes the orders of a reference; in every form that is configured, where the supplier is not known.
    fn resolve(&mut self, supplier: Option<&str>, reference: &'a str) -> bool {
        let forms: Vec<&ReferenceForm> = match supplier {
            Some(supplier) => vec![self.rules.references_of(&SupplierId::from(supplier))],
            None => std::iter::once(&self.rules.references)
                .chain(self.rules.supplier_references.values())
                .collect(),
        };
        let mut found = false;
        for form in forms {
            let orders = form.orders(reference, |id| self.is_order(id));
            found |= !orders.is_empty();
            self.orders.extend(orders);
        }
        found
    }

    fn is_order(&self, order_id: &str) -> bool {
        let orders = self.standing.orders;
        orders.binary_search_by(|placed| placed.row.order_id.as_str().cmp(order_id)).is_ok()
            || self.more_orders.contains(order_id)
    }
}

fn submission_of(placed: &Placed<SubmissionLine>) -> Key<'_> {
    (placed.row.supplier.as_str(), placed.row.submission_id.as_str())
}
