//! The offers of one type in a listing: their goods, and the products that these are.
//!
//! Must not know how a variant is found inside a product. Start reading at [`Class::propose`].

use std::collections::{BTreeMap, BTreeSet};

use super::{Fitted, Listing};
use crate::close::Part;
use crate::propose::family::Family;
use crate::propose::fit::{Fit, How};
use crate::propose::goods::{Found, Key, Told, assigned, telling};
use crate::propose::models::is_of_models;
use crate::propose::row::{Row, RowWord};
use crate::propose::why::Why;
use crate::propose::words::{Word, WordSet};
use crate::propose::{Answer, Proposal};
use model::Good;

/// Most candidates that an answer lists; more are no list to choose from.
const CANDIDATES_AT_MOST: usize = 50;

/// The offers of one type in a listing, and the products that they can be.
pub(super) struct Class<'l, 'a> {
    pub(super) listing: &'l Listing<'a>,
    /// The options in which offers of the listing name their goods.
    pub(super) naming: &'l BTreeSet<usize>,
    pub(super) product_type: Option<Word>,
    /// Places in the listing.
    pub(super) offers: Vec<usize>,
    pub(super) families: Vec<&'a Family>,
    /// Picked products of other types that may be meant, where the type is said only by a title, and loosely.
    pub(super) rivals: Vec<&'a Family>,
    /// By offer and family.
    pub(super) fits: Vec<Vec<Fitted>>,
}

/// An offer's answer before it is weighed against its neighbours'.
pub(super) struct Draft {
    pub(super) offer: usize,
    pub(super) answer: Answer,
    pub(super) why: Vec<Why>,
    pub(super) good: Good,
    /// How the colour was found; `None` where there is none to choose.
    pub(super) how: Option<How>,
}

impl<'l, 'a> Class<'l, 'a> {
    pub(super) fn of(
        (listing, naming): (&'l Listing<'a>, &'l BTreeSet<usize>),
        product_type: Option<Word>,
        offers: Vec<usize>,
        types: &[Option<Word>],
    ) -> Self {
        let families = listing.families_of(product_type, &offers, types);
        let is_letter = |row: &Row| {
            row.size.read.is_some_and(|read| {
                let text = listing.words.text(read);
                text.ends_with(['S', 'M', 'L'])
                    && text.chars().all(|sign| sign.is_ascii_alphanumeric())
                    && (text.contains('X') || !listing.words.has_digit(read))
            })
        };
        let is_of_child = |age: Option<Word>| age.is_some_and(|age| age != listing.adult);
        let is_for_children = |family: &Family| family.sizes.iter().all(|size| is_of_child(size.age_group));
        // Where others say 'youth S', an S is a grown-up's.
        let says_children = listing.rows.iter().any(|row| is_of_child(row.age_group) && is_letter(row))
            && !families.iter().all(|family| is_for_children(family));
        let fits = offers
            .iter()
            .map(|offer| {
                let row = &listing.rows[*offer];
                let is_grown = says_children && row.age_group.is_none() && is_letter(row);
                let fit = |family: &&Family| {
                    let mut fitted = Fitted::of(listing, row, family);
                    if is_grown && is_for_children(family) {
                        (fitted.size, fitted.made) = (Fit::NotMade, Vec::new());
                    }
                    if is_of_models(family, listing.words) {
                        fitted.of_model(listing, *offer, family);
                    }
                    fitted
                };
                families.iter().map(fit).collect()
            })
            .collect();
        let rivals = match product_type.filter(|_| listing.is_picked) {
            Some(kind) => listing.rivals(kind, &families),
            None => Vec::new(),
        };
        Self { listing, naming, product_type, offers, families, rivals, fits }
    }

    pub(super) fn row(&self, at: usize) -> &'l Row {
        &self.listing.rows[self.offers[at]]
    }

    pub(super) fn propose(&self) -> Vec<(usize, Proposal)> {
        let kind = self.product_type.map(|kind| self.listing.words.text(kind).to_owned());
        if self.families.is_empty() {
            let (answer, why) = match kind {
                Some(kind) => (Answer::Nothing, Why::NoProduct(Some(kind))),
                None if self.listing.families.is_empty() => (Answer::Nothing, Why::NoProduct(None)),
                None => (Answer::Choose(Vec::new()), Why::KindUnsaid),
            };
            let offers = (0..self.offers.len()).map(|at| {
                let good = self.good(at, &WordSet::default());
                (self.offers[at], Proposal { answer: answer.clone(), good, why: vec![why.clone()] })
            });
            return offers.collect();
        }
        let untold = self.untold();
        let mut drafts: Vec<Draft> = Vec::new();
        for (key, offers, found) in self.goods() {
            let words = self.named(&key, &offers, &found);
            for at in offers {
                drafts.push(self.draft(at, &key, &found, &words, untold.contains(&at)));
            }
        }
        self.tell_apart(&mut drafts);
        let proposals = drafts.into_iter();
        proposals
            .map(|draft| {
                let Draft { offer, mut answer, mut why, good, .. } = draft;
                if let Answer::Choose(candidates) = &mut answer
                    && let Some(more) =
                        candidates.len().checked_sub(CANDIDATES_AT_MOST).filter(|more| *more > 0)
                {
                    // Which ones are left does not depend on the order of the table.
                    let named = |place: &usize| {
                        let variant = &self.listing.variants[*place];
                        (&variant.supplier, &variant.variant_id)
                    };
                    candidates.sort_by(|one, other| named(one).cmp(&named(other)));
                    candidates.truncate(CANDIDATES_AT_MOST);
                    candidates.sort_unstable();
                    why.push(Why::More(more));
                }
                (self.offers[offer], Proposal { answer, good, why })
            })
            .collect()
    }

    /// The goods among the offers, and the products that they are.
    pub(super) fn goods(&self) -> Vec<(Key, Vec<usize>, Found)> {
        let telling = telling(&self.families);
        // A 'baby' blanket of 30 x 40 in is the blanket of that size.
        let is_measured = self.families.iter().flat_map(|family| &family.sizes).all(|key| {
            let read = key.size.read.map_or("", |read| self.listing.words.text(read));
            let is_length = [" in", " cm", " mm"].iter().any(|unit| read.ends_with(unit));
            key.age_group.is_none() && read.contains('x') && is_length
        });
        let mut goods: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
        let by_value = (0..self.offers.len())
            .any(|at| self.row(at).words.iter().any(|word| word.tells() && telling.has(word.word)));
        for at in 0..self.offers.len() {
            let row = self.row(at);
            // Of one product, only what stands beside the good's name can say that another is meant.
            // Beside a product of no known type, what the good is called tells which one it is: 'tote', 'shopper'.
            let has_untyped = self.product_type.is_some()
                && self.families.iter().any(|family| family.product_type.is_none());
            let is_told = |word: &&RowWord| {
                word.tells() && (self.families.len() > 1 || row.touches_good(word))
                    || has_untyped && word.part == Part::Good
            };
            let words = row.words.iter().filter(is_told).map(|word| word.word);
            let kinds: WordSet = self.families.iter().flat_map(|family| family.goods.iter()).collect();
            // The S of 'L/S tee' is no size.
            let sizes = row.size_words.iter().map(|word| word.word);
            let words = words.chain(sizes.filter(|word| !kinds.has(*word)));
            let is_open = |word: &Word| self.families.len() > 1 && !by_value && !kinds.has(*word);
            let words = words.chain(row.naming.names.iter().copied().filter(is_open));
            let key = Key {
                age_group: row.age_group.filter(|_| !is_measured),
                words: words.filter(|word| telling.has(*word)).collect(),
                has_part: row.words.iter().any(|word| word.part == Part::Piece),
            };
            goods.entry(key).or_default().push(at);
        }
        let (mut keys, offers): (Vec<Key>, Vec<Vec<usize>>) = goods.into_iter().unzip();
        // Of one good alone the title may say which it is: 'waist apron'.
        if let [only] = keys.as_mut_slice()
            && only.words.is_empty()
            && self.offers.len() == self.listing.rows.len()
            && self.families.len() > 1
        {
            let titled = self.row(0).naming.title.iter().copied();
            let is_name = |word: &Word| {
                telling.has(*word)
                    && !self.listing.vocabulary.phrases.knows(self.listing.words.text(*word))
                    && !self.listing.words.has_digit(*word)
            };
            let beside = self.row(0).naming.titled_beside.iter().copied();
            only.words = titled.filter(is_name).chain(beside.filter(|word| telling.has(*word))).collect();
            // Of what a man wears the title says no more where nobody has picked products: he wears what is for all as well.
            let [men, _] = self.listing.men_women;
            let is_for_all = |family: &&Family| !family.names().any(|name| self.listing.is_whose(name));
            if !self.listing.is_picked
                && only.words.as_slice() == [men]
                && self.families.iter().any(is_for_all)
            {
                only.words = WordSet::default();
            }
        }
        let fits: Vec<Vec<bool>> = offers.iter().map(|offers| self.made_for(offers)).collect();
        let mut found = assigned(&keys, &self.families, &fits, self.listing.adult, self.listing.is_picked);
        // What is made nowhere takes no product from another good.
        for ((found, fits), offers) in found.iter_mut().zip(&fits).zip(&offers) {
            if !fits.contains(&true) {
                *found = Found::Open(self.of_age(offers));
            }
        }
        self.share(&mut found, &offers, &fits);
        for ((found, offers), key) in found.iter_mut().zip(&offers).zip(&keys) {
            if let Some((place, _)) = self.by_rule(offers, key) {
                *found = Found::One(place, Told::ByRule);
            }
        }
        let goods = keys.into_iter().zip(offers).zip(found);
        goods.flat_map(|((key, offers), found)| self.split(key, offers, found)).collect()
    }

    /// Two goods may be one product where no offer of the one leads to a variant of the other: a plain tote and one with red
    /// handles. `fits` is by good and family.
    fn share(&self, found: &mut [Found], offers: &[Vec<usize>], fits: &[Vec<bool>]) {
        let made = |good: usize, place: usize| -> Vec<usize> {
            offers[good].iter().flat_map(|at| &self.fits[*at][place].made).copied().collect()
        };
        let shared: Vec<Option<usize>> = (0..found.len())
            .map(|good| {
                if !matches!(found[good], Found::NoneLeft | Found::Contested(_)) {
                    return None;
                }
                // Beside a grown-up's and a child's, one that says neither is not the one that comes in its colour.
                let says_nobody =
                    |at: &usize| self.row(*at).age_group.is_none() && self.row(*at).size.read.is_none();
                let others_say = || (0..self.offers.len()).any(|at| self.row(at).age_group.is_some());
                if offers[good].iter().all(says_nobody) && others_say() {
                    return None;
                }
                let place = match &found[good] {
                    Found::Contested(best) if best.len() == 1 => *best.first()?,
                    _ => {
                        let mut places = (0..self.families.len()).filter(|place| fits[good][*place]);
                        places.next().filter(|_| places.next().is_none())?
                    }
                };
                let is_one = |at: &usize| self.fits[*at][place].made.len() <= 1;
                let own: BTreeSet<usize> = made(good, place).into_iter().collect();
                let is_claimed = |other: usize, place: usize| match &found[other] {
                    Found::One(own, _) => *own == place,
                    Found::Open(all) | Found::Contested(all) => all.contains(&place),
                    Found::NoneLeft => true,
                };
                let is_apart = (0..found.len()).all(|other| {
                    other == good
                        || !is_claimed(other, place)
                        || made(other, place).iter().all(|variant| !own.contains(variant))
                });
                (is_apart && offers[good].iter().all(is_one)).then_some(place)
            })
            .collect();
        for (found, place) in found.iter_mut().zip(shared) {
            if let Some(place) = place {
                *found = Found::One(place, Told::Only);
            }
        }
    }

    /// Which families have what any of some offers say.
    fn made_for(&self, offers: &[usize]) -> Vec<bool> {
        let is_made = |place| offers.iter().any(|at| self.is_made(*at, place));
        (0..self.families.len()).map(is_made).collect()
    }

    /// The families for the age group that an offer says, or for none.
    fn of_age(&self, offers: &[usize]) -> Vec<usize> {
        let age = offers.first().and_then(|at| self.row(*at).age_group);
        let is_of_age = |place: &usize| {
            let mut sizes = self.families[*place].sizes.iter();
            age.is_none() || sizes.any(|size| size.age_group.is_none() || size.age_group == age)
        };
        let all = 0..self.families.len();
        let of_age: Vec<usize> = all.clone().filter(is_of_age).collect();
        if of_age.is_empty() { all.collect() } else { of_age }
    }

    /// The variants of one of some products that an offer can be.
    fn candidates(&self, at: usize, places: &[usize]) -> Vec<usize> {
        places.iter().flat_map(|place| &self.fits[at][*place].made).copied().collect()
    }

    pub(super) fn is_made(&self, at: usize, place: usize) -> bool {
        !self.fits[at][place].made.is_empty()
    }

    /// A good whose offers lead to one variant in other words is several goods, which only the owner can tell apart.
    fn split(&self, key: Key, offers: Vec<usize>, found: Found) -> Vec<(Key, Vec<usize>, Found)> {
        let places: Vec<usize> = match &found {
            Found::One(place, _) => vec![*place],
            Found::Open(places) => places.clone(),
            Found::Contested(_) | Found::NoneLeft => return vec![(key, offers, found)],
        };
        let known = self.known(&places);
        let unknown = |at: usize| self.beside(at, &key, &known);
        let mut by_variant: BTreeMap<Vec<usize>, WordSet> = BTreeMap::new();
        let mut is_contested = false;
        for at in &offers {
            let made = self.candidates(*at, &places);
            // Several pieces of it are the owner's to decide, whatever the others are.
            let is_several = self.row(*at).pieces.is_some_and(|count| count > 1)
                && made.iter().all(|index| self.listing.pieces[*index] != self.row(*at).pieces);
            if !made.is_empty() && !is_several {
                let words = unknown(*at);
                is_contested |= by_variant.get(&made).is_some_and(|there| *there != words);
                by_variant.insert(made, words);
            }
        }
        if !is_contested {
            return vec![(key, offers, found)];
        }
        let mut parts: BTreeMap<WordSet, Vec<usize>> = BTreeMap::new();
        offers.iter().for_each(|at| parts.entry(unknown(*at)).or_default().push(*at));
        let in_all = WordSet::in_all(parts.keys().cloned());
        let whose = |word: Word| self.listing.is_whose(word);
        // 'Unisex' beside 'women' is what a product for all is.
        let whose_alone = parts.keys().all(|words| words.iter().all(whose));
        let parts = parts.into_iter().map(|(words, offers)| {
            if words.is_empty() && whose_alone {
                return (key.clone(), offers, found.clone());
            }
            let words: WordSet = words.without(&in_all).iter().chain(key.words.iter()).collect();
            let key = Key { words, ..key.clone() };
            let by_rule = self.by_rule(&offers, &key);
            let found = by_rule
                .map_or(Found::Contested(places.clone()), |(place, _)| Found::One(place, Told::ByRule));
            (key, offers, found)
        });
        parts.collect()
    }

    fn draft(&self, at: usize, key: &Key, found: &Found, words: &[String], is_untold: bool) -> Draft {
        let mut why: Vec<Why> = Vec::new();
        let products = |places: &[usize]| -> Vec<String> {
            places.iter().map(|place| self.listing.product(self.families[*place])).collect()
        };
        let good = Good { words: words.to_vec(), ..self.good(at, &key.words) };
        let choose = |places: &[usize]| {
            let mut all = self.candidates(at, places);
            all.sort_unstable();
            (Answer::Choose(all), None)
        };
        let (answer, how) = match found {
            Found::NoneLeft => {
                let kind = self.product_type.map_or("product", |kind| self.listing.words.text(kind));
                why.push(Why::NoneLeft(kind.to_owned()));
                (Answer::Nothing, None)
            }
            Found::Open(places) => {
                let only = || self.only_made(at, places).or_else(|| self.other_made(at, places, key));
                let is_untold = is_untold || self.has_unnamed(at) || self.has_rival(at);
                let only = if is_untold { None } else { only() };
                let plainest = || {
                    self.titled_whose(at, places).or_else(|| self.plainest(at, places)).filter(|_| !is_untold)
                };
                match only.or_else(|| self.closest_size(at, places)).or_else(plainest) {
                    Some(place) => self.inside(at, place, Told::Only, key, &mut why),
                    None => {
                        why.push(Why::SeveralProducts(products(places)));
                        choose(places)
                    }
                }
            }
            Found::Contested(places) => {
                why.push(Why::SeveralGoods(products(places)));
                choose(places)
            }
            Found::One(_, told)
                if *told == Told::Rather && self.has_unexplained(at)
                    || *told == Told::Only && is_untold && self.product_type.is_none()
                    || *told != Told::ByRule && (self.has_unnamed(at) || self.has_rival(at)) =>
            {
                let all: Vec<usize> = (0..self.families.len()).collect();
                why.push(Why::SeveralProducts(products(&all)));
                choose(&all)
            }
            Found::One(place, told) => {
                let place = if *told == Told::ByRule { *place } else { self.with_size(at, *place, key) };
                self.inside(at, place, *told, key, &mut why)
            }
        };
        let answer = match answer {
            Answer::Choose(candidates) if candidates.is_empty() => self.nothing(at, found, &mut why),
            answer => answer,
        };
        let slips = &self.row(at).slips;
        let text = |word: Word| self.listing.words.text(word).to_owned();
        why.extend(
            slips.iter().map(|(written, meant)| Why::Slip { written: text(*written), meant: text(*meant) }),
        );
        Draft { offer: at, answer, why, good, how }
    }
}
