//! Which variants an order line or offer leads to.
//!
//! 'A line is linked by the first of these that answers: links row by listing and options; by SKU; by
//! listing; a variant whose `sku` equals the line's.'

use std::collections::BTreeMap;

use model::book::{LinkRow, LinkScope, SubmissionLine};
use model::finding::{Part, Reason};
use model::{ListingId, Options, Sku, SupplierId, VariantId};

use super::world::{Thing, World};

/// What a line or offer is linked to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Link {
    /// These parts, by supplier and variant id. Not in force: only intended.
    To { parts: Vec<Part>, in_force: bool },
    /// No link, and why.
    None(Reason),
}

impl Link {
    /// The parts that a supplier makes, each as what is made and how many of it one unit needs.
    pub fn made(&self) -> Vec<(Thing, u64)> {
        let Self::To { parts, .. } = self else { return Vec::new() };
        parts
            .iter()
            .filter(|part| !part.supplier.is_own())
            .map(|part| {
                let variant = part.variant_id.clone().expect("a supplier's part names its variant");
                ((part.supplier.clone(), variant), u64::from(part.units))
            })
            .collect()
    }

    pub fn is_linked(&self) -> bool {
        matches!(self, Self::To { .. })
    }

    pub fn leads_to(&self, thing: &Thing) -> bool {
        self.made().iter().any(|(made, _)| made == thing)
    }

    /// Linked, and the shop packs all of it itself.
    pub fn is_own_stock(&self) -> bool {
        self.is_linked() && self.made().is_empty()
    }
}

/// Something that a supplier makes, with the SKU that it bears.
pub struct Made {
    pub thing: Thing,
    pub sku: Sku,
}

/// The variants table, or what stands in for it.
///
/// 'Where no `variants` table was given, the (supplier, variant, SKU) triples of the submission lines stand
/// in for it.' 'What lies after as-of is not there yet.' '`variant_id` counts as a SKU where `sku` is empty.'
pub fn catalogue(world: &World<'_>) -> Vec<Made> {
    let made = |supplier: &SupplierId, variant: &VariantId, sku: Option<&Sku>| {
        let sku = sku.cloned().or_else(|| Sku::new(variant.as_str()))?;
        Some(Made { thing: (supplier.clone(), variant.clone()), sku })
    };
    if let Some(variants) = &world.book.variants {
        return variants
            .iter()
            .filter_map(|row| made(&row.supplier, &row.variant_id, row.sku.as_ref()))
            .collect();
    }
    let submissions = world.book.submissions.as_deref().unwrap_or_default();
    let there = |line: &SubmissionLine| {
        submissions.iter().any(|row| {
            row.supplier == line.supplier
                && row.submission_id == line.submission_id
                && row.received_at.begins() <= world.as_of
        })
    };
    world
        .book
        .submission_lines
        .iter()
        .flatten()
        .filter(|row| there(row))
        .filter_map(|row| made(&row.supplier, row.variant_id.as_ref()?, row.sku.as_ref()))
        .collect()
}

/// The different things that bear a SKU.
pub fn bearing(catalogue: &[Made], sku: &Sku) -> Vec<Thing> {
    let mut things: Vec<Thing> =
        catalogue.iter().filter(|made| made.sku == *sku).map(|made| made.thing.clone()).collect();
    things.sort();
    things.dedup();
    things
}

/// The link of a line or offer.
///
/// 'A set with any part not in force is only intended as a whole (own stock is in force by itself), unless
/// the link that is in force without the intended rows has the same parts, own stock apart.' 'What the owner said in
/// everyline stands in place of the rows for the same.'
pub fn link_of(
    world: &World<'_>,
    listing: Option<&ListingId>,
    options: Option<&Options>,
    sku: Option<&Sku>,
) -> Link {
    let rows = standing(world);
    let (answer, deciding) = first_that_answers(world, &rows, listing, options, sku);
    let parts = match answer {
        Ok(parts) => parts,
        Err(reason) => return Link::None(reason),
    };
    let is_all_in_force = deciding.iter().all(|row| is_in_force(row));
    let link = Link::To { parts, in_force: is_all_in_force };
    if is_all_in_force {
        return link;
    }
    let alone = in_force_alone(world, listing, options, sku);
    let in_force = alone.is_linked() && alone.made() == link.made();
    match link {
        Link::To { parts, .. } => Link::To { parts, in_force },
        Link::None(reason) => Link::None(reason),
    }
}

/// All rows that stand: the owner's, and of the others those for what the owner said nothing of.
pub fn standing<'b>(world: &World<'b>) -> Vec<&'b LinkRow> {
    let said = &world.book.owner_links;
    let is_said = |row: &&LinkRow| said.iter().any(|word| word.scope == row.scope);
    let others = world.book.links.iter().flatten().filter(|row| !is_said(row));
    said.iter().chain(others).collect()
}

/// The link without the rows that are only intended: of what the owner said and is not in force as a whole, what the
/// table has in force for the same, otherwise what is in force of it; never what the shop adds to a set of which nothing is
/// in force.
fn in_force_alone(
    world: &World<'_>,
    listing: Option<&ListingId>,
    options: Option<&Options>,
    sku: Option<&Sku>,
) -> Link {
    let (of_table, said) = (world.book.links.as_deref().unwrap_or_default(), &world.book.owner_links[..]);
    let mut scopes: Vec<&LinkScope> = of_table.iter().chain(said).map(|row| &row.scope).collect();
    scopes.sort();
    scopes.dedup();
    let mut rows: Vec<&LinkRow> = Vec::new();
    for scope in scopes {
        let of = |rows: &'_ [LinkRow]| -> (Vec<usize>, bool) {
            let all: Vec<usize> = (0..rows.len()).filter(|at| rows[*at].scope == *scope).collect();
            let whole = all.iter().all(|at| is_in_force(&rows[*at]));
            let some = all.iter().copied().filter(|at| is_in_force(&rows[*at])).collect::<Vec<_>>();
            let made = some.iter().any(|at| !rows[*at].supplier.is_own());
            (if whole || made { some } else { Vec::new() }, whole && !all.is_empty())
        };
        let ((of_said, is_whole), (of_rows, _)) = (of(said), of(of_table));
        if is_whole || of_rows.is_empty() {
            rows.extend(of_said.into_iter().map(|at| &said[at]));
        } else {
            rows.extend(of_rows.into_iter().map(|at| &of_table[at]));
        }
    }
    match first_that_answers(world, &rows, listing, options, sku) {
        (Ok(parts), _) => Link::To { parts, in_force: true },
        (Err(reason), _) => Link::None(reason),
    }
}

/// 'Own stock is in force by itself.'
fn is_in_force(row: &LinkRow) -> bool {
    row.in_force || row.supplier.is_own()
}

/// Which scope answers first among these rows, and what. With it the rows that did.
fn first_that_answers<'r>(
    world: &World<'_>,
    rows: &[&'r LinkRow],
    listing: Option<&ListingId>,
    options: Option<&Options>,
    sku: Option<&Sku>,
) -> (Result<Vec<Part>, Reason>, Vec<&'r LinkRow>) {
    let by_offer = listing.zip(options).map(|(id, options)| LinkScope::Offer(id.clone(), options.clone()));
    let by_sku = sku.map(|sku| LinkScope::Sku(sku.clone()));
    let by_listing = listing.map(|id| LinkScope::Listing(id.clone()));
    for scope in [by_offer, by_sku, by_listing].into_iter().flatten() {
        let found: Vec<&LinkRow> = rows.iter().copied().filter(|row| row.scope == scope).collect();
        if !found.is_empty() {
            return (parts_of(world, &found), found);
        }
    }
    let Some(sku) = sku else { return (Err(Reason::NoLink), Vec::new()) };
    let answer = match bearing(&catalogue(world), sku).as_slice() {
        [] => Err(Reason::NoLink),
        [(supplier, variant)] => {
            Ok(vec![Part { supplier: supplier.clone(), variant_id: Some(variant.clone()), units: 1 }])
        }
        _ => Err(Reason::AmbiguousLink),
    };
    (answer, Vec::new())
}

/// The parts of a set; broken where one of them is not in a variants table that was given.
fn parts_of(world: &World<'_>, rows: &[&LinkRow]) -> Result<Vec<Part>, Reason> {
    let mut units: BTreeMap<(SupplierId, Option<VariantId>), u32> = BTreeMap::new();
    for row in rows {
        let part = units.entry((row.supplier.clone(), row.variant_id.clone())).or_default();
        *part = row.units.max(*part);
    }
    let parts: Vec<Part> = units
        .into_iter()
        .map(|((supplier, variant_id), units)| Part { supplier, variant_id, units })
        .collect();
    match &world.book.variants {
        Some(variants) => {
            let is_there = |part: &Part| {
                part.supplier.is_own()
                    || variants.iter().any(|row| {
                        row.supplier == part.supplier && Some(&row.variant_id) == part.variant_id.as_ref()
                    })
            };
            if parts.iter().all(is_there) { Ok(parts) } else { Err(Reason::BrokenLink) }
        }
        None => Ok(parts),
    }
}

/// Whether a line without a link may yet turn out to be linked: 'where no `variants` table was given, … a
/// line whose SKU is in none of [the triples] is then named after the grace only'; 'a line without any SKU is
/// named at once: nothing could link it. So is every line without a link where there are no submissions
/// either, and one whose link is intended.'
pub fn may_be_known_later(world: &World<'_>, link: &Link, sku: Option<&Sku>) -> bool {
    world.book.variants.is_none()
        && world.book.knows_submissions()
        && !link.is_linked()
        && sku.is_some_and(|sku| bearing(&catalogue(world), sku).is_empty())
}
