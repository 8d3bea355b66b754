//! What a listing sells: its goods, what they are called, and the sizes that each is offered in.
//!
//! Owns that no two values of the option for goods and sizes are the same. Must not know colours or prices. Start
//! reading at [`goods`].

use std::collections::BTreeMap;

use model::book::Variant;
use model::text::fold;
use model::{Options, SupplierId};
use rust_decimal::Decimal;

use super::columns::Column;
use super::reason::{Cannot, Kind};
use super::{SheetGood, Wanted};
use crate::grid::from_small_to_large;
use crate::propose::assortment::{Article, Asked, Assortment, Made};
use crate::read::read_options;
use crate::vocabulary::Vocabulary;

/// A good of the listing.
pub(super) struct Good {
    /// What it is called.
    pub(super) name: String,
    /// Its price, where that is fixed.
    pub(super) price: Option<Decimal>,
    /// Its place among the goods of the products.
    pub(super) at: usize,
    pub(super) article: Article,
    /// From small to large; at least one.
    pub(super) sizes: Vec<Size>,
}

/// A size that a good is offered in.
pub(super) struct Size {
    /// As a customer reads it.
    pub(super) written: String,
    /// The good and the size in one value.
    pub(super) value: String,
    /// Where the good has it; `None`: it is not made.
    pub(super) place: Option<usize>,
}

impl Good {
    /// Whether there is a size to choose.
    pub(super) fn has_sizes(&self) -> bool {
        self.article.sizes.len() > 1
    }

    /// Whether there is a colour to choose.
    pub(super) fn has_colours(&self) -> bool {
        self.article.colours.len() > 1
    }

    /// Its product as its supplier calls it, and the supplier.
    pub(super) fn product(&self, variants: &[Variant]) -> String {
        let first = self.article.made.first().map(|made| &variants[made.variant]);
        first.map_or_else(String::new, |variant| {
            format!("{:?} of {}", variant.product.as_deref().unwrap_or_default(), variant.supplier)
        })
    }

    /// Its variants in one of its sizes and colours.
    pub(super) fn made_in(&self, size: usize, colour: usize) -> impl Iterator<Item = usize> {
        let made = &self.article.made;
        let from = made.partition_point(|made| (made.size, made.colour) < (size, colour));
        let is_it = move |made: &&Made| (made.size, made.colour) == (size, colour);
        made[from..].iter().take_while(is_it).map(|made| made.variant)
    }

    pub(super) fn of_sheet(&self, at: usize, columns: &[Column], variants: &[Variant]) -> SheetGood {
        let made = self.article.made.iter().map(|made| &variants[made.variant]);
        let mut products: Vec<(SupplierId, String)> = made
            .map(|variant| (variant.supplier.clone(), variant.product.clone().unwrap_or_default()))
            .collect();
        products.sort_unstable();
        products.dedup();
        let columns = columns.iter().enumerate();
        let own = columns
            .filter(|(_, column)| column.places[at].is_some() || column.is_asked && self.has_colours());
        SheetGood {
            name: self.name.clone(),
            products,
            sizes: self.sizes.iter().map(|size| size.written.clone()).collect(),
            colours: own.map(|(place, _)| place).collect(),
        }
    }
}

/// The goods of the products that were picked, in the order of the picks.
pub(super) fn goods(
    vocabulary: &Vocabulary,
    assortment: &mut Assortment<'_>,
    variants: &[Variant],
    wanted: &Wanted<'_>,
) -> Result<Vec<Good>, Cannot> {
    let articles = assortment.articles.clone();
    if articles.is_empty() {
        return Err(Cannot::NoVariants);
    }
    let mut places = sizes_asked(assortment, wanted)?;
    let mut goods: Vec<(usize, bool, Good)> = Vec::new();
    for (at, article) in articles.iter().enumerate() {
        let is_of = |pick: &super::Pick| article.made.iter().any(|made| pick.is(&variants[made.variant]));
        let own: Vec<&super::Pick> = wanted.picks.iter().filter(|pick| is_of(pick)).collect();
        let first = wanted.picks.iter().position(is_of).unwrap_or(usize::MAX);
        let name = own.iter().find_map(|pick| pick.name.clone());
        let is_own_name = name.is_some();
        let name = name.unwrap_or_else(|| called(vocabulary, article, &articles, &wanted.wording.item));
        let price = own.iter().find_map(|pick| pick.price);
        let sizes = sizes(vocabulary, article, places.remove(&at));
        goods.push((first, is_own_name, Good { name, price, at, article: article.clone(), sizes }));
    }
    goods.sort_by(|(first, _, one), (second, _, other)| {
        let key = |good: &Good| {
            (good.article.product_type.clone(), good.name.clone(), good.sizes[0].written.clone())
        };
        first.cmp(second).then_with(|| key(one).cmp(&key(other)))
    });
    let mut goods: Vec<Good> = goods
        .into_iter()
        .map(|(_, is_own_name, mut good)| {
            let has_sizes = good.has_sizes();
            for size in &mut good.sizes {
                size.value = match has_sizes {
                    true => wanted.wording.item_value.written(&good.name, is_own_name, &size.written),
                    false => good.name.clone(),
                };
            }
            good
        })
        .collect();
    goods.iter_mut().for_each(|good| good.sizes.iter_mut().for_each(|size| size.value = tidy(&size.value)));
    apart(&goods, variants)?;
    Ok(goods)
}

fn tidy(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What a good is called: what names its kind, where it is the only one of that kind and is read as it; else as much of
/// the product's name as tells it from the others.
fn called(vocabulary: &Vocabulary, article: &Article, all: &[Article], option: &str) -> String {
    let is_only = all.iter().filter(|other| other.product_type == article.product_type).count() == 1;
    let is_read = |kind: &&String| {
        let options = Options::from_pairs([(option, kind.as_str())]).ok();
        let read = read_options(vocabulary, options.as_ref(), None);
        article.product_type.is_some() && read.product_type == article.product_type
    };
    let kind = article.kind.as_ref().filter(|_| is_only).filter(is_read);
    let is_own = |start: &&String| {
        let others = all.iter().flat_map(|other| [other.start.as_ref(), Some(&other.name)]).flatten();
        // Its own start is among them; its name is longer.
        others.filter(|other| fold(other) == fold(start)).count() == 1
    };
    let start = article.start.as_ref().filter(is_own);
    let text = kind.or(start).unwrap_or(&article.name);
    let mut letters = text.chars();
    let is_small = !text.chars().any(char::is_uppercase);
    match letters.next() {
        Some(first) if kind.is_some() || is_small => first.to_uppercase().chain(letters).collect(),
        _ => text.clone(),
    }
}

/// Which sizes of a good are asked for.
#[derive(Default)]
struct SizesAsked {
    places: Vec<usize>,
    /// As asked, and as read: sizes of its sort that it does not come in.
    not_made: Vec<(String, String)>,
}

/// Of each good, by its place, the sizes that are asked for.
fn sizes_asked(
    assortment: &mut Assortment<'_>,
    wanted: &Wanted<'_>,
) -> Result<BTreeMap<usize, SizesAsked>, Cannot> {
    let mut all: BTreeMap<usize, SizesAsked> = BTreeMap::new();
    for text in &wanted.sizes {
        let asked: Vec<Asked> =
            (0..assortment.articles.len()).map(|at| assortment.size_asked(at, text)).collect();
        let is_found = asked.iter().any(|asked| matches!(asked, Asked::Is(_) | Asked::Like(_)));
        if !is_found {
            return Err(unfound(Kind::Size, text, &asked, assortment));
        }
        for (at, asked) in asked.into_iter().enumerate() {
            match asked {
                Asked::Is(place) | Asked::Like(place) => {
                    let places = &mut all.entry(at).or_default().places;
                    if !places.contains(&place) {
                        places.push(place);
                    }
                }
                Asked::NotMade(read) => {
                    let not_made = &mut all.entry(at).or_default().not_made;
                    let read = read.unwrap_or_else(|| text.clone());
                    if !not_made.iter().any(|(_, other)| *other == read) {
                        not_made.push((text.clone(), read));
                    }
                }
                Asked::MayBe(_) | Asked::NoChoice | Asked::OtherSort => {}
            }
        }
    }
    Ok(all)
}

/// Why nothing is what is asked for: several may be, or none is.
pub(super) fn unfound(kind: Kind, text: &str, asked: &[Asked], assortment: &Assortment<'_>) -> Cannot {
    let choices = |article: &Article| match kind {
        Kind::Size => article.sizes.clone(),
        Kind::Colour => article.colours.clone(),
    };
    let mut candidates: Vec<String> = Vec::new();
    let mut known: Vec<String> = Vec::new();
    for (asked, article) in asked.iter().zip(&assortment.articles) {
        let written: Vec<String> = choices(article).into_iter().map(|choice| choice.written).collect();
        if let Asked::MayBe(places) = asked {
            candidates.extend(places.iter().filter_map(|place| written.get(*place).cloned()));
        }
        known.extend(written.into_iter().filter(|text| !text.is_empty()));
    }
    for list in [&mut candidates, &mut known] {
        list.sort();
        list.dedup();
    }
    let asked = text.to_owned();
    if candidates.is_empty() {
        Cannot::NotMade { kind, asked, known }
    } else {
        Cannot::Unclear { kind, asked, candidates }
    }
}

/// The sizes that a good is offered in: those asked for, else all.
fn sizes(vocabulary: &Vocabulary, article: &Article, asked: Option<SizesAsked>) -> Vec<Size> {
    let asked = asked.filter(|_| article.sizes.len() > 1).unwrap_or_default();
    let is_kept =
        |place: usize| asked.places.contains(&place) || asked.places.is_empty() && asked.not_made.is_empty();
    let made = article.sizes.iter().enumerate().filter(|(place, _)| is_kept(*place));
    let made = made.map(|(place, size)| (size.read.as_str(), size.written.as_str(), Some(place)));
    let not_made = asked.not_made.iter().map(|(written, read)| (read.as_str(), written.as_str(), None));
    let mut all: Vec<(&str, &str, Option<usize>)> = made.chain(not_made).collect();
    // The good's own sizes are in order; those that it does not come in stand where they would.
    if !asked.not_made.is_empty() {
        all.sort_by(|(one, ..), (other, ..)| from_small_to_large(vocabulary, one, other));
    }
    all.into_iter()
        .map(|(_, written, place)| Size { written: written.to_owned(), value: String::new(), place })
        .collect()
}

/// An error where two values are the same.
fn apart(goods: &[Good], variants: &[Variant]) -> Result<(), Cannot> {
    let mut there: BTreeMap<String, usize> = BTreeMap::new();
    for (at, good) in goods.iter().enumerate() {
        for size in &good.sizes {
            let value = if goods.len() > 1 { &size.value } else { &size.written };
            let Some(other) = there.insert(fold(value), at) else { continue };
            let (value, name) = (value.clone(), good.product(variants));
            return Err(if other == at {
                Cannot::SameChoice { kind: Kind::Size, value, good: name }
            } else {
                Cannot::SameValue { value, goods: [goods[other].product(variants), name] }
            });
        }
    }
    Ok(())
}
