//! What tells the kind of good where no value names it surely: the words of picked products.
//!
//! Must not know sizes. Start reading at [`Listing::tell_kinds`].

use std::collections::{BTreeMap, BTreeSet};

use super::family::Family;
use super::fit::{Fit, How};
use super::listing::{Fitted, Listing};
use super::row::{Row, RowWord};
use super::words::Word;
use crate::close::{KindFrom, Part};

impl Listing<'_> {
    /// A row whose kind nothing says, or only a title or the name of an option, is of the kind of those picked products that
    /// alone have its words: 'v neck' beside 'tee', 'drawstring, natural' of a bag.
    pub(super) fn tell_kinds(&mut self) {
        // Where nothing is named, the offers are told apart together.
        if !self.is_picked || self.rows.iter().all(|row| row.product_type.is_none()) {
            return;
        }
        let kinds: Vec<Option<Word>> = self.rows.iter().map(|row| self.told_kind(row)).collect();
        for (row, kind) in self.rows.iter_mut().zip(kinds) {
            if kind.is_some() {
                row.product_type = kind;
                row.is_other = false;
            }
        }
    }

    /// The one kind of picked products that has words of a row which no other kind has.
    fn told_kind(&self, row: &Row) -> Option<Word> {
        if row.product_type.is_some() && row.naming.kind_from == KindFrom::Value {
            return None;
        }
        let open: Vec<&RowWord> = row
            .words
            .iter()
            .filter(|word| {
                (word.part.is_open() || matches!(word.part, Part::Unlisted | Part::Shading))
                    && !self.hues.is_weak(word.word)
                    && !self.words.is_number(word.word)
                    && !self.hues.is_hue(word.word)
            })
            .collect();
        let is_of = |family: &Family, word: Word| family.has_name(word);
        let mut told: BTreeSet<Word> = BTreeSet::new();
        let mut is_good = false;
        for word in &open {
            let kinds: BTreeSet<Option<Word>> = self
                .families
                .iter()
                .filter(|family| is_of(family, word.word))
                .map(|family| family.product_type)
                .collect();
            if kinds.len() == 1 {
                told.extend(kinds.into_iter().flatten());
                is_good |= self.families.iter().any(|family| family.goods.has(word.word));
            }
        }
        let mut told = told.into_iter();
        let (Some(kind), None) = (told.next(), told.next()) else { return None };
        let is_there = |kind| self.families.iter().any(|family| family.product_type == Some(kind));
        if row.product_type.is_some_and(|said| said == kind || is_there(said) && !is_good) {
            return None;
        }
        // A word that none of its products has may make it another good: a tea cosy is no tea towel.
        let of_kind = || self.families.iter().filter(|family| family.product_type == Some(kind));
        let is_explained = |word: &&&RowWord| {
            word.part == Part::Describing
                || of_kind().any(|family| is_of(family, word.word) || family.has_in_tail(word.word))
        };
        let mut unexplained = open.iter().filter(|word| !is_explained(word));
        unexplained.next().is_none().then_some(kind)
    }

    /// Where no offer says for whom it is, the title does: 'youth hoodie'. Only of products that come for several.
    pub(super) fn tell_ages(&mut self) {
        if self.rows.iter().any(|row| row.age_group.is_some()) {
            return;
        }
        let told: Vec<Option<Word>> = self
            .rows
            .iter()
            .map(|row| {
                let age = row.naming.titled_age?;
                // An age or a height says it by itself.
                let is_letter = |read: Word| {
                    let text = self.words.text(read);
                    !self.words.has_digit(read) || text.ends_with('T') || text.contains('X')
                };
                if !row.size.read.map_or(row.size.said.is_empty(), is_letter) {
                    return None;
                }
                let of_kind =
                    || self.families.iter().filter(|family| family.product_type == row.product_type);
                let mut ages = of_kind().flat_map(|family| &family.sizes).map(|size| size.age_group);
                (row.product_type.is_some() && ages.any(|made| made == Some(age))).then_some(age)
            })
            .collect();
        for (row, age) in self.rows.iter_mut().zip(told) {
            row.age_group = age;
        }
    }

    /// A row of which no value says what it is, and that no product of its kind fits, is of the only picked product that
    /// comes in its size: the 'newborn' of a family's shirts is the bodysuit.
    pub(super) fn tell_by_size(&mut self) {
        if !self.is_picked || self.families.len() < 2 {
            return;
        }
        let told: Vec<Option<Word>> = self.rows.iter().map(|row| self.kind_by_size(row)).collect();
        for (row, kind) in self.rows.iter_mut().zip(told) {
            row.product_type = kind.or(row.product_type);
        }
    }

    fn kind_by_size(&self, row: &Row) -> Option<Word> {
        if row.product_type.is_none() || row.naming.kind_from == KindFrom::Value {
            return None;
        }
        let fitted = |family: &Family| Fitted::of(self, row, family);
        let is_own = |family: &&&Family| family.product_type == row.product_type;
        let mut own = self.families.iter().filter(is_own).peekable();
        if own.peek().is_none() || own.any(|family| fitted(family).size != Fit::NotMade) {
            return None;
        }
        let mut fits = self.families.iter().filter(|family| !is_own(family)).filter(|family| {
            let Fitted { size, tail, made, .. } = fitted(family);
            let is_of_age = family.sizes.iter().any(|size| size.age_group == row.age_group);
            let is_said = matches!(size, Fit::One(_, How::Same | How::Numbers)) && tail.is_said();
            is_said && made.len() == 1 && (row.age_group.is_none() || is_of_age)
        });
        let kind = fits.next()?.product_type;
        kind.filter(|_| fits.next().is_none())
    }

    /// 'H' and 'F', 'H' and 'D', 'He.' and 'Da.' in one option are men and women.
    pub(super) fn read_initials(&mut self) {
        let (words, [men, women]) = (self.words, self.men_women);
        let initial = |word: &RowWord| match words.text(word.word) {
            "h" | "he" if word.part == Part::Unknown => Some(false),
            "f" | "d" | "da" if word.part == Part::Unknown => Some(true),
            _ => None,
        };
        let mut texts: BTreeMap<usize, BTreeSet<bool>> = BTreeMap::new();
        for word in self.rows.iter().flat_map(|row| &row.words) {
            if let Some(is_women) = initial(word) {
                texts.entry(word.text).or_default().insert(is_women);
            }
        }
        texts.retain(|_, said| said.len() == 2);
        for word in self.rows.iter_mut().flat_map(|row| &mut row.words) {
            if texts.contains_key(&word.text)
                && let Some(is_women) = initial(word)
            {
                word.word = if is_women { women } else { men };
            }
        }
    }

    /// A mother's is a women's and a father's a men's, where each picked product for grown-ups is for the ones or the others.
    /// Beside one for all, who wears it says nothing of how it is cut.
    pub(super) fn read_parents(&mut self) {
        let [men, women] = self.men_women;
        let is_for_grown = |family: &&&Family| {
            family.sizes.iter().any(|size| size.age_group.is_none_or(|age| age == self.adult))
        };
        let kinds: BTreeSet<Word> = self.rows.iter().filter_map(|row| row.product_type).collect();
        let of_kind = |family: &&&Family| {
            kinds.is_empty() || family.product_type.is_some_and(|kind| kinds.contains(&kind))
        };
        let mut made = self.families.iter().filter(of_kind).filter(is_for_grown).peekable();
        let is_whose = |family: &&Family| family.has_name(men) || family.has_name(women);
        if !self.is_picked || made.peek().is_none() || !made.all(is_whose) {
            return;
        }
        let words = self.words;
        for word in self.rows.iter_mut().flat_map(|row| &mut row.words) {
            word.word = match words.text(word.word) {
                "dad" | "chico" => men,
                "mum" | "chica" => women,
                _ => continue,
            };
        }
    }
}
