//! The colours of a listing: one column for each that any of its goods is offered in.
//!
//! Owns when the colours of two goods are one. Must not know sizes or prices. Start reading at [`columns`].

use model::book::Variant;
use model::text::fold;

use super::Wanted;
use super::goods::{Good, unfound};
use super::reason::{Cannot, Kind};
use crate::propose::assortment::{Asked, Assortment};

/// A colour of the listing.
pub(super) struct Column {
    /// As a customer reads it; empty where there is no colour to choose.
    pub(super) written: String,
    /// The option that it is a value of; `None` where there is none.
    pub(super) option: Option<String>,
    /// Of each good, its own place of this colour.
    pub(super) places: Vec<Option<usize>>,
    /// Whether it was asked for.
    pub(super) is_asked: bool,
    /// In the vocabulary's words.
    read: String,
    /// Whether all that is written was read.
    is_plain: bool,
}

/// The colours that the goods are offered in: those asked for in their order, the others by name.
pub(super) fn columns(
    assortment: &mut Assortment<'_>,
    goods: &[Good],
    variants: &[Variant],
    wanted: &Wanted<'_>,
) -> Result<Vec<Column>, Cannot> {
    let mut columns: Vec<Column> = Vec::new();
    for text in &wanted.colours {
        let column = asked_for(assortment, goods, text)?;
        if !columns.iter().any(|there| there.places == column.places) {
            columns.push(column);
        }
    }
    if !goods.iter().any(Good::has_colours) {
        // What there is only one of is no choice, though each good may have another.
        let places = vec![Some(0); goods.len()];
        let (written, read) = (String::new(), String::new());
        return Ok(vec![Column { written, option: None, places, is_asked: false, read, is_plain: false }]);
    }
    let mut others: Vec<Column> = Vec::new();
    let all_are_wanted = columns.is_empty();
    for (at, good) in goods.iter().enumerate() {
        for (place, colour) in good.article.colours.iter().enumerate() {
            let is_there = columns.iter().any(|column| column.places[at] == Some(place));
            if is_there || good.has_colours() && !all_are_wanted {
                continue;
            }
            let is_none = colour.written.is_empty();
            let written = if is_none { wanted.wording.one_colour.clone() } else { colour.written.clone() };
            let is_same = |column: &&mut Column| {
                let is_read_alike = column.is_plain && colour.is_plain && column.read == colour.read;
                !is_none && is_read_alike || fold(&column.written) == fold(&written)
            };
            let same = columns.iter_mut().chain(&mut others).find(is_same);
            match same {
                Some(column) if column.places[at].is_some() => {
                    let good = good.product(variants);
                    return Err(Cannot::SameChoice { kind: Kind::Colour, value: written, good });
                }
                Some(column) => column.places[at] = Some(place),
                None => {
                    let mut places = vec![None; goods.len()];
                    places[at] = Some(place);
                    let read = colour.read.clone();
                    let is_plain = colour.is_plain && !is_none;
                    others.push(Column { written, option: None, places, is_asked: false, read, is_plain });
                }
            }
        }
    }
    // By name; what stands for no colour comes last.
    others.sort_by_key(|column| (column.read.is_empty(), fold(&column.written)));
    columns.extend(others);
    let name = option_name(goods, wanted);
    columns.iter_mut().for_each(|column| column.option = Some(name.clone()));
    Ok(columns)
}

/// What the option is called: the word for colours, unless all that the goods are told apart by has one other name.
fn option_name(goods: &[Good], wanted: &Wanted<'_>) -> String {
    let mut finishes = goods.iter().filter(|good| good.has_colours()).map(|good| &good.article.finish);
    let first = finishes.next().cloned().flatten();
    let taken = [&wanted.wording.size, &wanted.wording.item].map(|name| fold(name));
    first
        .filter(|first| finishes.all(|other| other.as_ref() == Some(first)) && !taken.contains(&fold(first)))
        .unwrap_or_else(|| wanted.wording.colour.clone())
}

/// A colour that is asked for. Where a good has just that, others are not taken for it.
fn asked_for(assortment: &mut Assortment<'_>, goods: &[Good], text: &str) -> Result<Column, Cannot> {
    let asked: Vec<Asked> =
        (0..assortment.articles.len()).map(|at| assortment.colour_asked(at, text)).collect();
    let exactly = |asked: &Asked| if let Asked::Is(place) = asked { Some(*place) } else { None };
    let nearly = |asked: &Asked| if let Asked::Like(place) = asked { Some(*place) } else { None };
    let is_exact = asked.iter().any(|asked| exactly(asked).is_some());
    let place = |good: &Good| if is_exact { exactly(&asked[good.at]) } else { nearly(&asked[good.at]) };
    let places: Vec<Option<usize>> = goods.iter().map(place).collect();
    let first = goods.iter().zip(&places).find_map(|(good, place)| good.article.colours.get((*place)?));
    let Some(first) = first else { return Err(unfound(Kind::Colour, text, &asked, assortment)) };
    Ok(Column {
        written: first.written.clone(),
        read: first.read.clone(),
        is_plain: first.is_plain,
        option: None,
        places,
        is_asked: true,
    })
}
