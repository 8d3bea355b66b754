//! What the suppliers make: variants by id and by SKU, and what can be read of each.
//!
//! Where no `variants` table was given, the submission lines' own (supplier, variant, SKU) stand in for it.

use std::borrow::Cow;

use model::book::{SubmissionLine, Variant};
use model::finding::NamedVariant;
use model::reading::{Kind, UNREAD};
use model::{Reading, Sku, SupplierId, VariantId, text};

use crate::collections::Map;

/// Index of a variant, known or only heard of, in the catalogue.
pub(crate) type VariantIndex = usize;

/// One variant.
pub(crate) struct Entry<'a> {
    pub supplier: &'a SupplierId,
    pub variant_id: &'a VariantId,
    /// Its row, where the table has one.
    pub row: Option<&'a Variant>,
    pub reading: &'a Reading,
}

/// The answer to a SKU.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum BySku {
    Nothing,
    One(VariantIndex),
    Several,
}

/// All variants that any row speaks of.
pub(crate) struct Catalogue<'a> {
    entries: Vec<Entry<'a>>,
    by_id: Map<(&'a SupplierId, &'a VariantId), VariantIndex>,
    by_sku: Map<Cow<'a, str>, BySku>,
    by_supplier_and_sku: Map<(&'a SupplierId, Cow<'a, str>), BySku>,
    /// Whether a `variants` table was given, so that a variant which it lacks does not exist.
    pub is_given: bool,
    /// Per supplier and product: what is read of its variants, where all of them say the same.
    common: Map<(&'a SupplierId, &'a str), [Option<&'a str>; 4]>,
}

impl<'a> Catalogue<'a> {
    /// From the table, each row with its reading.
    pub(crate) fn of_table(variants: &'a [Variant], readings: &'a [Reading]) -> Self {
        let mut catalogue = Self::empty(true);
        for (row, reading) in variants.iter().zip(readings.iter().chain(std::iter::repeat(&UNREAD))) {
            let index = catalogue.entries.len();
            catalogue.entries.push(Entry {
                supplier: &row.supplier,
                variant_id: &row.variant_id,
                row: Some(row),
                reading,
            });
            catalogue.by_id.insert((&row.supplier, &row.variant_id), index);
            catalogue.bear(&row.supplier, &row.variant_id, row.sku.as_ref(), index);
            if let Some(product) = &row.product {
                let said = Kind::ALL.map(|kind| reading.of(kind));
                catalogue
                    .common
                    .entry((&row.supplier, product))
                    .and_modify(|common| {
                        for (common, said) in common.iter_mut().zip(said) {
                            *common = common.filter(|common| Some(*common) == said);
                        }
                    })
                    .or_insert(said);
            }
        }
        catalogue
    }

    /// From the submission lines that exist, where there is no table.
    pub(crate) fn of_submission_lines(lines: impl Iterator<Item = &'a SubmissionLine>) -> Self {
        let mut catalogue = Self::empty(false);
        for line in lines {
            if let Some(variant_id) = &line.variant_id {
                let index = catalogue.intern(&line.supplier, variant_id);
                catalogue.bear(&line.supplier, variant_id, line.sku.as_ref(), index);
            }
        }
        catalogue
    }

    fn empty(is_given: bool) -> Self {
        Self {
            entries: Vec::new(),
            by_id: Map::default(),
            by_sku: Map::default(),
            by_supplier_and_sku: Map::default(),
            is_given,
            common: Map::default(),
        }
    }

    /// Says that a variant bears a SKU; its id counts as one where the SKU is empty.
    fn bear(
        &mut self,
        supplier: &'a SupplierId,
        variant: &VariantId,
        sku: Option<&'a Sku>,
        index: VariantIndex,
    ) {
        let folded = match sku {
            Some(sku) => Cow::Borrowed(sku.folded()),
            None => Cow::Owned(text::fold(variant.as_str())),
        };
        let add = |answer: &mut BySku| {
            *answer = match *answer {
                BySku::Nothing => BySku::One(index),
                BySku::One(other) if other == index => BySku::One(index),
                _ => BySku::Several,
            }
        };
        add(self.by_supplier_and_sku.entry((supplier, folded.clone())).or_insert(BySku::Nothing));
        add(self.by_sku.entry(folded).or_insert(BySku::Nothing));
    }

    /// The index of a variant; one that the table lacks gets one too.
    pub(crate) fn intern(&mut self, supplier: &'a SupplierId, variant_id: &'a VariantId) -> VariantIndex {
        *self.by_id.entry((supplier, variant_id)).or_insert_with(|| {
            self.entries.push(Entry { supplier, variant_id, row: None, reading: &UNREAD });
            self.entries.len() - 1
        })
    }

    /// The index of a variant that the table has.
    pub(crate) fn find(&self, supplier: &SupplierId, variant_id: &VariantId) -> Option<VariantIndex> {
        self.by_id
            .get(&(supplier, variant_id))
            .copied()
            .filter(|variant| self.entries[*variant].row.is_some())
    }

    /// The variant.
    pub(crate) fn get(&self, variant: VariantIndex) -> &Entry<'a> {
        &self.entries[variant]
    }

    /// Whether the supplier has it, as far as that is known.
    pub(crate) fn exists(&self, variant: VariantIndex) -> bool {
        !self.is_given || self.entries[variant].row.is_some()
    }

    /// Who bears a SKU, over all suppliers.
    pub(crate) fn by_sku(&self, sku: &Sku) -> BySku {
        self.by_sku.get(sku.folded()).copied().unwrap_or(BySku::Nothing)
    }

    /// Who bears a SKU at one supplier.
    pub(crate) fn by_sku_at(&self, supplier: &'a SupplierId, sku: &Sku) -> BySku {
        let key = (supplier, Cow::Borrowed(sku.folded()));
        self.by_supplier_and_sku.get(&key).copied().unwrap_or(BySku::Nothing)
    }

    /// Whether every variant of this one's product says the same of a kind, so that it is no choice.
    pub(crate) fn comes_in_one(&self, variant: VariantIndex, kind: Kind) -> bool {
        let entry = &self.entries[variant];
        let Some(product) = entry.row.and_then(|row| row.product.as_deref()) else { return false };
        let index = Kind::ALL.iter().position(|other| *other == kind).unwrap_or_default();
        self.common.get(&(entry.supplier, product)).is_some_and(|common| common[index].is_some())
    }

    /// As a finding shows it.
    pub(crate) fn named(&self, variant: VariantIndex) -> NamedVariant {
        let entry = &self.entries[variant];
        NamedVariant {
            supplier: entry.supplier.clone(),
            variant_id: entry.variant_id.clone(),
            sku: entry.row.and_then(|row| row.sku.clone()),
            product: entry.row.and_then(|row| row.product.clone()),
            options: entry.row.and_then(|row| row.options.clone()),
        }
    }
}
