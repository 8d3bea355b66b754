//! Which variants one unit of an offer or an order line needs: the resolution of links.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Deref;
use std::slice;
use std::sync::Arc;

use model::book::{LinkRow, LinkScope, Offer, OrderLine};
use model::finding::{Part, Reason};
use model::{ListingId, Options, Sku, SupplierId};

use crate::catalogue::{BySku, Catalogue, VariantIndex};
use crate::collections::Map;

/// One part of a link.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct LinkPart<'a> {
    pub supplier: &'a SupplierId,
    /// `None` where the shop packs it itself.
    pub variant: Option<VariantIndex>,
    /// How many one unit needs.
    pub units: u32,
}

impl LinkPart<'_> {
    fn named(&self, catalogue: &Catalogue<'_>) -> Part {
        Part {
            supplier: self.supplier.clone(),
            variant_id: self.variant.map(|variant| catalogue.get(variant).variant_id.clone()),
            units: self.units,
        }
    }
}

/// The parts of a link; equal where the parts are, wherever they come from.
#[derive(Clone, Debug)]
pub(crate) enum LinkParts<'a> {
    None,
    /// What a variant's SKU leads to.
    One(LinkPart<'a>),
    /// The rows for one scope; shared by all that have this link.
    Rows(Arc<Vec<LinkPart<'a>>>),
}

impl<'a> Deref for LinkParts<'a> {
    type Target = [LinkPart<'a>];

    fn deref(&self) -> &[LinkPart<'a>] {
        match self {
            Self::None => &[],
            Self::One(part) => slice::from_ref(part),
            Self::Rows(parts) => parts,
        }
    }
}

impl PartialEq for LinkParts<'_> {
    fn eq(&self, other: &Self) -> bool {
        **self == **other
    }
}

impl Eq for LinkParts<'_> {}

/// What a link is asked for: an offer or an order line, as far as it is known.
#[derive(Clone, Copy)]
pub(crate) struct Asked<'a> {
    pub listing: Option<&'a ListingId>,
    pub options: Option<&'a Options>,
    pub sku: Option<&'a Sku>,
}

impl<'a> Asked<'a> {
    pub(crate) fn of_offer(row: &'a Offer) -> Self {
        Self { listing: Some(&row.listing_id), options: Some(&row.options), sku: row.sku.as_ref() }
    }

    pub(crate) fn of_line(row: &'a OrderLine) -> Self {
        Self { listing: row.listing_id.as_ref(), options: row.options.as_ref(), sku: row.sku.as_ref() }
    }
}

/// What answered.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(crate) enum From<'a> {
    /// Nothing did.
    Nothing,
    /// Rows of the links table.
    Rows(&'a LinkScope),
    /// A variant that bears the SKU (or several that share it).
    Variant(&'a Sku),
}

/// The answer for one offer or line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Link<'a> {
    pub from: From<'a>,
    /// The parts, by supplier and variant id; also of a broken link; empty where there is none.
    pub parts: LinkParts<'a>,
    /// Why there is no link.
    pub missing: Option<Reason>,
    /// Whether it is in force, not only intended.
    pub in_force: bool,
}

impl<'a> Link<'a> {
    fn none(from: From<'a>, why: Reason) -> Self {
        Self { from, parts: LinkParts::None, missing: Some(why), in_force: false }
    }

    /// Whether there is a link, in force or intended.
    pub(crate) fn is_linked(&self) -> bool {
        self.missing.is_none()
    }

    /// Whether the shop packs all of it itself.
    pub(crate) fn is_own_stock(&self) -> bool {
        self.is_linked() && self.parts.iter().all(|part| part.variant.is_none())
    }

    /// Whether suppliers make the same for both; what the shop packs itself needs nobody to know.
    pub(crate) fn makes_the_same(&self, other: &Self) -> bool {
        let made = |link: &Self| -> Vec<LinkPart<'a>> {
            link.parts.iter().filter(|part| part.variant.is_some()).copied().collect()
        };
        made(self) == made(other)
    }

    /// Whether a supplier makes just this part for it.
    pub(crate) fn makes_the_same_as_one(&self, part: &LinkPart<'a>) -> bool {
        let mut made = self.parts.iter().filter(|part| part.variant.is_some());
        self.is_linked() && made.next() == Some(part) && made.next().is_none()
    }

    /// The part that is a variant, if one is.
    pub(crate) fn part_of(&self, variant: VariantIndex) -> Option<&LinkPart<'a>> {
        if !self.is_linked() {
            return None;
        }
        self.parts.iter().find(|part| part.variant == Some(variant))
    }

    /// As a finding shows its parts.
    pub(crate) fn named_parts(&self, catalogue: &Catalogue<'_>) -> Vec<Part> {
        self.parts.iter().map(|part| part.named(catalogue)).collect()
    }

    /// Likewise those that their suppliers have, and cannot make now.
    pub(crate) fn parts_not_made_now(&self, catalogue: &Catalogue<'_>) -> Vec<Part> {
        let cannot_be_made = |part: &&LinkPart<'_>| {
            part.variant.and_then(|variant| catalogue.get(variant).row).is_some_and(|row| !row.available)
        };
        self.parts.iter().filter(cannot_be_made).map(|part| part.named(catalogue)).collect()
    }
}

/// The rows for one scope: the parts of a set.
#[derive(Clone, Default)]
struct Set<'a> {
    parts: Arc<Vec<LinkPart<'a>>>,
    intended: bool,
    broken: bool,
}

#[derive(Default)]
struct Sets<'a> {
    by_scope: Vec<(&'a LinkScope, Set<'a>)>,
    by_listing: Map<&'a ListingId, OfListing<'a>>,
    by_sku: Map<&'a str, usize>,
}

/// The sets for one listing.
#[derive(Default)]
struct OfListing<'a> {
    by_options: Map<&'a Options, usize>,
    whole: Option<usize>,
}

/// The links, by scope: all that there are, and those in force alone.
pub(crate) struct Links<'a> {
    all: Sets<'a>,
    in_force: Sets<'a>,
    /// Parts of which the rows of one set state different units.
    pub repeated_parts: u64,
}

/// What the rows for one scope say together.
#[derive(Clone, Copy, Default)]
struct Rows {
    /// A row is not in force.
    some_intended: bool,
    /// A row is in force, and a supplier makes it.
    some_made_in_force: bool,
}

impl Rows {
    fn by_scope(rows: &[LinkRow]) -> Map<&LinkScope, Self> {
        let mut by_scope: Map<&LinkScope, Self> = Map::default();
        for row in rows {
            let of_scope = by_scope.entry(&row.scope).or_default();
            of_scope.some_intended |= !is_in_force(row);
            of_scope.some_made_in_force |= row.in_force && is_made(row);
        }
        by_scope
    }

    /// Whether they say anything of what is in force: what the shop adds to a set that is not in force does not.
    fn say_what_is_in_force(self) -> bool {
        self.some_made_in_force || !self.some_intended
    }
}

/// Whether a supplier makes it.
fn is_made(row: &LinkRow) -> bool {
    row.variant_id.is_some() && !row.supplier.is_own()
}

/// Own stock is in force by itself.
fn is_in_force(row: &LinkRow) -> bool {
    row.in_force || !is_made(row)
}

impl<'a> Links<'a> {
    /// `said` is the owner's word, which stands in place of the rows for the same scope. Where it is not in force, what the
    /// rows say of that scope is still what is in force.
    pub(crate) fn new(rows: &'a [LinkRow], said: &'a [LinkRow], catalogue: &mut Catalogue<'a>) -> Self {
        let mut links = Self { all: Sets::default(), in_force: Sets::default(), repeated_parts: 0 };
        let (of_rows, of_said) = (Rows::by_scope(rows), Rows::by_scope(said));
        let beats = |scope: &LinkScope| of_said.get(scope).is_some_and(|said| !said.some_intended);
        let is_there = |scope: &LinkScope| of_rows.get(scope).is_some_and(|rows| rows.say_what_is_in_force());
        let mut units: BTreeMap<(&LinkScope, VariantIndex), BTreeSet<u32>> = BTreeMap::new();
        for (rows, of_scopes, are_said) in [(rows, &of_rows, false), (said, &of_said, true)] {
            // Rows for one scope may spell it differently; which spelling is shown must not depend on their order.
            let mut rows: Vec<&LinkRow> = rows.iter().collect();
            rows.sort_by_cached_key(|row| format!("{:?}", row.scope));
            for row in rows {
                let variant = match &row.variant_id {
                    Some(variant_id) if !row.supplier.is_own() => {
                        Some(catalogue.intern(&row.supplier, variant_id))
                    }
                    _ => None,
                };
                let part = LinkPart { supplier: &row.supplier, variant, units: row.units };
                let broken = variant.is_some_and(|variant| !catalogue.exists(variant));
                if are_said || !of_said.contains_key(&row.scope) {
                    links.all.add(&row.scope, part, !is_in_force(row), broken);
                    if let Some(variant) = variant {
                        units.entry((&row.scope, variant)).or_default().insert(row.units);
                    }
                }
                let counts =
                    if are_said { beats(&row.scope) || !is_there(&row.scope) } else { !beats(&row.scope) };
                let of_scope = of_scopes.get(&row.scope).copied().unwrap_or_default();
                if is_in_force(row) && counts && of_scope.say_what_is_in_force() {
                    links.in_force.add(&row.scope, part, false, broken);
                }
            }
        }
        links.repeated_parts = units.values().filter(|units| units.len() > 1).count() as u64;
        for sets in [&mut links.all, &mut links.in_force] {
            for (_, set) in &mut sets.by_scope {
                Arc::make_mut(&mut set.parts).sort_by_key(|part| {
                    (part.supplier, part.variant.map(|variant| catalogue.get(variant).variant_id))
                });
            }
        }
        links
    }

    /// What one unit needs: the first that answers of rows for listing and options, rows for the SKU, rows for
    /// the listing, and a variant that bears the SKU.
    pub(crate) fn resolve(&self, catalogue: &Catalogue<'a>, asked: Asked<'a>) -> Link<'a> {
        let link = self.all.resolve(catalogue, asked);
        if !link.is_linked() || link.in_force {
            return link;
        }
        // What the owner intends may have been seen in force meanwhile, as the SKU of a variant or otherwise.
        let in_force = self.in_force(catalogue, asked);
        Link { in_force: in_force.is_linked() && in_force.makes_the_same(&link), ..link }
    }

    /// Likewise, as if the owner intended nothing.
    pub(crate) fn in_force(&self, catalogue: &Catalogue<'a>, asked: Asked<'a>) -> Link<'a> {
        self.in_force.resolve(catalogue, asked)
    }

    /// Every link of the table with its parts, and whether it is a link in force whoever asks.
    pub(crate) fn certain(&self) -> impl Iterator<Item = (&'a LinkScope, &[LinkPart<'a>], bool)> {
        let certain = |set: &Set<'_>| !set.broken && !set.intended;
        self.all.by_scope.iter().map(move |(scope, set)| (*scope, set.parts.as_slice(), certain(set)))
    }

    /// Every link of the table with its parts, in force or intended, whether it serves an offer or not.
    pub(crate) fn rows(&self) -> impl Iterator<Item = (From<'a>, &[LinkPart<'a>])> {
        self.all.by_scope.iter().map(|(scope, set)| (From::Rows(scope), set.parts.as_slice()))
    }
}

impl<'a> Sets<'a> {
    /// Adds a part. Where the set has it with other units, the larger number stands: the louder answer where two
    /// rows disagree.
    fn add(&mut self, scope: &'a LinkScope, part: LinkPart<'a>, intended: bool, broken: bool) {
        let next = self.by_scope.len();
        let index = *match scope {
            LinkScope::Offer(listing, options) => {
                self.by_listing.entry(listing).or_default().by_options.entry(options).or_insert(next)
            }
            LinkScope::Sku(sku) => self.by_sku.entry(sku.folded()).or_insert(next),
            LinkScope::Listing(listing) => {
                self.by_listing.entry(listing).or_default().whole.get_or_insert(next)
            }
        };
        if index == next {
            self.by_scope.push((scope, Set::default()));
        }
        let set = &mut self.by_scope[index].1;
        set.intended |= intended;
        set.broken |= broken;
        let same =
            |known: &&mut LinkPart<'_>| known.supplier == part.supplier && known.variant == part.variant;
        let parts = Arc::make_mut(&mut set.parts);
        match parts.iter_mut().find(same) {
            Some(known) => known.units = known.units.max(part.units),
            None => parts.push(part),
        }
    }

    fn resolve(&self, catalogue: &Catalogue<'a>, asked: Asked<'a>) -> Link<'a> {
        let Asked { listing, options, sku } = asked;
        let of_listing = listing.and_then(|listing| self.by_listing.get(listing));
        let by_offer = || of_listing?.by_options.get(options?).copied();
        let by_sku = || self.by_sku.get(sku?.folded()).copied();
        let by_listing = || of_listing?.whole;
        if let Some(index) = by_offer().or_else(by_sku).or_else(by_listing) {
            let (scope, set) = &self.by_scope[index];
            return Link {
                from: From::Rows(scope),
                parts: LinkParts::Rows(Arc::clone(&set.parts)),
                missing: set.broken.then_some(Reason::BrokenLink),
                in_force: !set.intended,
            };
        }
        let Some(sku) = sku else { return Link::none(From::Nothing, Reason::NoLink) };
        match catalogue.by_sku(sku) {
            BySku::Nothing => Link::none(From::Nothing, Reason::NoLink),
            BySku::Several => Link::none(From::Variant(sku), Reason::AmbiguousLink),
            BySku::One(variant) => Link {
                from: From::Variant(sku),
                parts: LinkParts::One(LinkPart {
                    supplier: catalogue.get(variant).supplier,
                    variant: Some(variant),
                    units: 1,
                }),
                missing: None,
                in_force: true,
            },
        }
    }
}
