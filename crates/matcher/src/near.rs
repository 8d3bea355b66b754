//! One order out of a large book: which rows its account depends on, so that only these need to be at hand.
//!
//! Owns what connects orders: the submissions that refer to them, or are tied to them; and what their lines lead to:
//! links, variants with the others of their product, and offers that may put an intended link in force. Must not know
//! where rows are kept. Start reading at [`Near::of`].

use std::collections::{BTreeSet, HashSet};

use chrono::{DateTime, Utc};
use foldhash::fast::RandomState;
use model::book::{LinkRow, LinkScope, Offer, Order, Variant};
use model::{Book, ListingId, OrderId, Reading, Rules, SubmissionId, SupplierId, VariantId, text};

use crate::Whole;
use crate::collections::{Few, Map};
use crate::offers::offers_of_intended;

/// Orders of the largest group that is looked up; one that merged submissions connect with more is as well judged with
/// the whole book.
pub const ORDERS_AT_MOST: usize = 500;

/// What a whole book says of which rows belong together, as it stood at a moment.
///
/// Takes some 100 bytes for each order that was sent, and a copy of the variants and links.
#[derive(Clone, Debug)]
pub struct Near {
    as_of: DateTime<Utc>,
    whole: Whole,
    orders: HashSet<OrderId, RandomState>,
    submissions_of: Map<OrderId, Few<u32>>,
    /// Each with the orders that it is for.
    submissions: Vec<((SupplierId, SubmissionId), Few<OrderId>)>,
    variants: Vec<Variant>,
    variant_by_id: Map<(SupplierId, VariantId), usize>,
    variants_by_sku: Map<String, Few<usize>>,
    variants_of_product: Map<(SupplierId, String), Vec<usize>>,
    links: Links,
    owner_links: Links,
    /// Those that say something of a line whose link is only intended.
    offers: Map<ListingId, Vec<Offer>>,
    /// Whether there was a table of links.
    has_links: bool,
    not_judged: BTreeSet<OrderId>,
}

/// The orders that submissions connect with one, and these submissions.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Group {
    /// The orders, the one that was asked for among them, by id.
    pub orders: Vec<OrderId>,
    /// By supplier and submission id.
    pub submissions: Vec<(SupplierId, SubmissionId)>,
    /// Of these, those that refer to the order that was asked for, or are tied to it.
    pub own: Vec<(SupplierId, SubmissionId)>,
}

/// Rows of links, with where to find them.
#[derive(Clone, Default, Debug)]
struct Links {
    rows: Vec<LinkRow>,
    of_listing: Map<ListingId, Vec<usize>>,
    of_sku: Map<String, Vec<usize>>,
}

impl Near {
    /// Reads a whole book as it stood at `as_of`. `None` where it has no table of variants: then any submission line may
    /// say what a SKU leads to, and no part of the book stands for itself.
    pub fn of(book: &Book, rules: &Rules, as_of: DateTime<Utc>) -> Option<Self> {
        Self::of_part(book, rules, as_of, Whole::of(book))
    }

    /// The same of a part of a book that no submission connects with the rest; `whole` is of all.
    pub fn of_part(book: &Book, rules: &Rules, as_of: DateTime<Utc>, whole: Whole) -> Option<Self> {
        let variants = book.variants.clone()?;
        let mut near = Self {
            as_of,
            whole,
            orders: book.orders.iter().map(|row| row.order_id.clone()).collect(),
            submissions_of: Map::default(),
            submissions: Vec::new(),
            variant_by_id: Map::default(),
            variants_by_sku: Map::default(),
            variants_of_product: Map::default(),
            links: Links::of(book.links.as_deref().unwrap_or_default()),
            owner_links: Links::of(&book.owner_links),
            offers: Map::default(),
            has_links: book.links.is_some(),
            not_judged: book.not_judged.clone(),
            variants,
        };
        near.connect(book, rules);
        for offer in offers_of_intended(book) {
            near.offers.entry(offer.listing_id.clone()).or_default().push(offer);
        }
        for (at, row) in near.variants.iter().enumerate() {
            near.variant_by_id.insert((row.supplier.clone(), row.variant_id.clone()), at);
            near.variants_by_sku.entry(borne(row)).or_default().push(at);
            if let Some(product) = &row.product {
                let product = (row.supplier.clone(), product.clone());
                near.variants_of_product.entry(product).or_default().push(at);
            }
        }
        Some(near)
    }

    /// Whether the book had an order.
    pub fn knows(&self, order_id: &OrderId) -> bool {
        self.orders.contains(order_id)
    }

    /// The moment for which it holds.
    pub fn as_of(&self) -> DateTime<Utc> {
        self.as_of
    }

    /// What the whole book said.
    pub fn whole(&self) -> &Whole {
        &self.whole
    }

    /// The orders that submissions connect with this one. `None` where there are more than [`ORDERS_AT_MOST`].
    pub fn group(&self, order_id: &OrderId) -> Option<Group> {
        let submissions_of = |order: &OrderId| self.submissions_of.get(order).into_iter().flatten().copied();
        let mut orders = BTreeSet::from([order_id.clone()]);
        let mut submissions = BTreeSet::new();
        let mut next = vec![order_id.clone()];
        while let Some(order) = next.pop() {
            for submission in submissions_of(&order) {
                let (key, connected) = &self.submissions[submission as usize];
                if !submissions.insert(key) {
                    continue;
                }
                next.extend(connected.iter().filter(|order| orders.insert((*order).clone())).cloned());
                if orders.len() > ORDERS_AT_MOST {
                    return None;
                }
            }
        }
        let own: BTreeSet<_> =
            submissions_of(order_id).map(|at| self.submissions[at as usize].0.clone()).collect();
        Some(Group {
            orders: orders.into_iter().collect(),
            submissions: submissions.into_iter().cloned().collect(),
            own: own.into_iter().collect(),
        })
    }

    /// Adds to a book of the orders and submissions of a group what their lines lead to: with it,
    /// [`crate::account_of_order`] has the same answer as with the whole book.
    pub fn add_goods(&self, book: &mut Book) {
        let places = self.goods(book);
        book.variants = Some(places.into_iter().map(|at| self.variants[at].clone()).collect());
    }

    /// The same, where all variants of the whole book have been read, in its order: answers the readings of those that were
    /// added.
    pub fn add_goods_read(&self, book: &mut Book, of_variants: &[Reading]) -> Vec<Reading> {
        let places = self.goods(book);
        book.variants = Some(places.iter().map(|at| self.variants[*at].clone()).collect());
        places.iter().filter_map(|at| of_variants.get(*at).cloned()).collect()
    }

    /// Adds the links and offers, and answers the places of the variants.
    fn goods(&self, book: &mut Book) -> BTreeSet<usize> {
        let bought = || book.order_lines.iter();
        let sent = || book.submission_lines.iter().flatten();
        let listings: BTreeSet<&ListingId> = bought().filter_map(|line| line.listing_id.as_ref()).collect();
        let offers = || listings.iter().filter_map(|listing| self.offers.get(*listing)).flatten();
        let skus: BTreeSet<&str> = bought()
            .filter_map(|line| line.sku.as_ref())
            .chain(sent().filter_map(|line| line.sku.as_ref()))
            .chain(offers().filter_map(|offer| offer.sku.as_ref()))
            .map(|sku| sku.folded())
            .collect();
        let links = self.links.for_any(&listings, &skus);
        let owner_links = self.owner_links.for_any(&listings, &skus);
        let by_sku = skus.iter().filter_map(|sku| self.variants_by_sku.get(*sku)).flatten().copied();
        let named = links
            .iter()
            .chain(&owner_links)
            .filter_map(|row| Some((row.supplier.clone(), row.variant_id.clone()?)))
            .chain(sent().filter_map(|line| Some((line.supplier.clone(), line.variant_id.clone()?))));
        let by_id = named.filter_map(|id| self.variant_by_id.get(&id).copied());
        let mut places: BTreeSet<usize> = by_sku.chain(by_id).collect();
        // In what a product comes depends on all its variants.
        let products: BTreeSet<(&SupplierId, &String)> = places
            .iter()
            .filter_map(|at| Some((&self.variants[*at].supplier, self.variants[*at].product.as_ref()?)))
            .collect();
        for (supplier, product) in products {
            places.extend(
                self.variants_of_product.get(&(supplier.clone(), product.clone())).into_iter().flatten(),
            );
        }
        book.offers = Some(offers().cloned().collect());
        book.links = self.has_links.then_some(links);
        book.owner_links = owner_links;
        book.not_judged = self.not_judged.clone();
        places
    }

    fn connect(&mut self, book: &Book, rules: &Rules) {
        let exists = |row: &&Order| row.placed_at.begins() <= self.as_of;
        let known: HashSet<&str, RandomState> = book
            .orders
            .iter()
            .filter(exists)
            .map(|row| row.order_id.as_str())
            .chain(book.not_judged.iter().map(OrderId::as_str))
            .collect();
        let mut places: Map<(&SupplierId, &SubmissionId), usize> = Map::default();
        let mut connected: Vec<((&SupplierId, &SubmissionId), BTreeSet<&str>)> = Vec::new();
        for row in book.submissions.iter().flatten() {
            let key = (&row.supplier, &row.submission_id);
            places.insert(key, connected.len());
            let reference = row.order_ref.as_deref().unwrap_or_default();
            let orders = rules.references_of(&row.supplier).orders(reference, |id| known.contains(id));
            connected.push((key, orders.into_iter().collect()));
        }
        for row in book.submission_lines.iter().flatten() {
            let Some(reference) = row.order_ref.as_deref() else { continue };
            let Some(place) = places.get(&(&row.supplier, &row.submission_id)) else { continue };
            let orders = rules.references_of(&row.supplier).orders(reference, |id| known.contains(id));
            connected[*place].1.extend(orders);
        }
        for tie in book.ties.iter().flatten() {
            let Some(place) = places.get(&(&tie.supplier, &tie.submission_id)) else { continue };
            connected[*place].1.insert(tie.order_id.as_str());
        }
        for ((supplier, submission_id), orders) in connected {
            if orders.is_empty() {
                continue;
            }
            let Ok(place) = u32::try_from(self.submissions.len()) else { return };
            let orders: Few<OrderId> = orders.into_iter().map(OrderId::new).collect();
            for order in &orders {
                self.submissions_of.entry(order.clone()).or_default().push(place);
            }
            self.submissions.push(((supplier.clone(), submission_id.clone()), orders));
        }
    }
}

impl Links {
    fn of(rows: &[LinkRow]) -> Self {
        let mut links = Self { rows: rows.to_vec(), ..Self::default() };
        for (at, row) in rows.iter().enumerate() {
            match &row.scope {
                LinkScope::Offer(listing, _) | LinkScope::Listing(listing) => {
                    links.of_listing.entry(listing.clone()).or_default().push(at);
                }
                LinkScope::Sku(sku) => {
                    links.of_sku.entry(sku.folded().to_owned()).or_default().push(at);
                }
            }
        }
        links
    }

    fn for_any(&self, listings: &BTreeSet<&ListingId>, skus: &BTreeSet<&str>) -> Vec<LinkRow> {
        let by_listing = listings.iter().filter_map(|listing| self.of_listing.get(*listing)).flatten();
        let by_sku = skus.iter().filter_map(|sku| self.of_sku.get(*sku)).flatten();
        let places: BTreeSet<usize> = by_listing.chain(by_sku).copied().collect();
        places.into_iter().map(|at| self.rows[at].clone()).collect()
    }
}

/// The SKU by which a variant is found, folded: its id, where it has none.
fn borne(row: &Variant) -> String {
    row.sku.as_ref().map_or_else(|| text::fold(row.variant_id.as_str()), |sku| sku.folded().to_owned())
}
