//! The words by which a good is told from others, and the owner's rules for it.
//!
//! Must not know what the rules' products come in. Start reading at [`Class::by_rule`].

use model::{Good, GoodRule};

use super::class::Class;
use crate::close::{Part, is_number_word};
use crate::propose::family::Family;
use crate::propose::goods::{Found, Key, Told};
use crate::propose::row::RowWord;
use crate::propose::words::{Word, WordSet};

impl Class<'_, '_> {
    /// What products explain: their names, goods, sizes and tails.
    pub(super) fn known(&self, places: &[usize]) -> WordSet {
        let of_family = |place: &usize| {
            let family = self.families[*place];
            let sizes = family.sizes.iter().flat_map(|key| key.size.said.iter().chain(&key.size.numbers));
            let tails = family.tails.iter().flat_map(WordSet::iter).chain(family.goods.iter());
            family.names().chain(tails).chain(sizes.copied()).collect::<Vec<_>>()
        };
        places.iter().flat_map(of_family).collect()
    }

    /// Words that stand beside the good's name and that nothing explains: 'premium tee', 'mug B'. Elsewhere they are about
    /// something else.
    pub(super) fn beside(&self, at: usize, key: &Key, known: &WordSet) -> WordSet {
        let words = &self.row(at).words;
        let names_it = |word: &RowWord| word.part == Part::Good || key.words.has(word.word);
        let touches = |word: &RowWord| self.row(at).is_chained(word, names_it);
        // For whom it is and how it is cut says what the good is, wherever it stands.
        let is_of_good = |word: &RowWord| word.part == Part::Describing || self.listing.is_whose(word.word);
        let unknown = words.iter().filter(|word| word.part.is_open() && (touches(word) || is_of_good(word)));
        let is_count = |word: Word| is_number_word(self.listing.words.text(word));
        unknown.map(|word| word.word).filter(|word| !known.has(*word) && !is_count(*word)).collect()
    }

    /// The words of [`Self::beside`] that all of some offers have.
    fn beside_all(&self, offers: &[usize], key: &Key) -> WordSet {
        let known = self.known(&(0..self.families.len()).collect::<Vec<_>>());
        WordSet::in_all(offers.iter().map(|at| self.beside(*at, key, &known)))
    }

    /// The rule of the owner's for a good, and the product that it names: one that has all words that tell the good apart,
    /// and beside them none that the good's offers do not all have beside its name. So the answer for 'mug A' beside
    /// 'mug B' serves a listing that sells 'mug A' alone. The one with most words counts.
    pub(super) fn by_rule(&self, offers: &[usize], key: &Key) -> Option<(usize, &GoodRule)> {
        let good = self.good(*offers.first()?, &key.words);
        let of_kind = |rule: &&GoodRule| {
            (&rule.good.product_type, &rule.good.age_group) == (&good.product_type, &good.age_group)
                && good.words.iter().all(|word| rule.good.words.contains(word))
        };
        let mut rules: Vec<&GoodRule> = self.listing.rules.iter().filter(of_kind).collect();
        if rules.iter().any(|rule| rule.good.words.len() > good.words.len()) {
            let beside = self.beside_all(offers, key);
            let beside: Vec<&str> = beside.iter().map(|word| self.listing.words.text(word)).collect();
            let is_there = |word: &String| good.words.contains(word) || beside.contains(&word.as_str());
            rules.retain(|rule| rule.good.words.iter().all(is_there));
        }
        let most = rules.iter().map(|rule| rule.good.words.len()).max()?;
        rules.retain(|rule| rule.good.words.len() == most);
        // Two that say as much and name different products leave it to the owner.
        let [rule, rest @ ..] = &rules[..] else { return None };
        if rest.iter().any(|other| (&other.supplier, &other.product) != (&rule.supplier, &rule.product)) {
            return None;
        }
        let is_it = |family: &&Family| {
            family.variants.iter().any(|made| {
                let variant = &self.listing.variants[made.index];
                variant.supplier == rule.supplier && variant.product.as_deref() == Some(&rule.product)
            })
        };
        Some((self.families.iter().position(is_it)?, rule))
    }

    /// The words by which a rule names a good: those of the rule that answered; where nothing tells products apart, also what
    /// stands beside its name.
    pub(super) fn named(&self, key: &Key, offers: &[usize], found: &Found) -> Vec<String> {
        let text = |word: Word| self.listing.words.text(word).to_owned();
        let mut words: Vec<String> = match found {
            Found::One(_, Told::ByRule) => match self.by_rule(offers, key) {
                Some((_, rule)) => rule.good.words.clone(),
                None => key.words.iter().map(text).collect(),
            },
            Found::Open(_) => key.words.iter().chain(self.beside_all(offers, key).iter()).map(text).collect(),
            Found::One(..) | Found::Contested(_) | Found::NoneLeft => key.words.iter().map(text).collect(),
        };
        words.sort_unstable();
        words.dedup();
        words
    }

    pub(super) fn good(&self, at: usize, words: &WordSet) -> Good {
        let text = |word: Word| self.listing.words.text(word).to_owned();
        let mut words: Vec<String> = words.iter().map(text).collect();
        words.sort_unstable();
        Good { product_type: self.product_type.map(text), age_group: self.row(at).age_group.map(text), words }
    }
}
