//! The grids of a listing, with the offers that stand in each place.
//!
//! Must not know what a state means. Start reading at [`drawn`].

use std::collections::HashMap;

use links::{Grid, Vocabulary, grids};
use model::Reading;
use model::book::Offer;
use web::view::{GoodGrid, GridCell, GridRow, LinkState, OfferLink, Words};

/// The grids, with the keys of the offers of each place.
pub(super) fn drawn(
    vocabulary: &Vocabulary,
    offers: &[(&Offer, &Reading, LinkState)],
    links: &[OfferLink],
) -> Vec<GoodGrid> {
    let mut places: HashMap<(String, String, String), Vec<usize>> = HashMap::new();
    for (place, (_, reading, _)) in offers.iter().enumerate() {
        // A grid of one offer says where it stands.
        for grid in grids(vocabulary, [(*reading, ())]) {
            let Grid { good, mut sizes, mut rows } = grid;
            if let (Some(size), Some((colour, _))) = (sizes.pop(), rows.pop()) {
                places.entry((good, colour, size)).or_default().push(place);
            }
        }
    }
    let all = grids(vocabulary, offers.iter().map(|(_, reading, state)| (*reading, *state)));
    let named = |text: &str| (!text.is_empty()).then(|| Words::outside(text));
    let drawn = all.into_iter().map(|grid| {
        let rows = grid.rows.iter().map(|(colour, cells)| {
            let cells = cells.iter().zip(&grid.sizes).map(|(state, size)| {
                let own = places.get(&(grid.good.clone(), colour.clone(), size.clone()));
                let own: Vec<&OfferLink> =
                    own.into_iter().flatten().filter_map(|place| links.get(*place)).collect();
                state.map(|state| GridCell {
                    state,
                    offers: own.iter().map(|offer| offer.key.clone()).collect(),
                    words: cell_said(&own),
                })
            });
            GridRow { colour: named(colour), cells: cells.collect() }
        });
        GoodGrid {
            good: named(&grid.good),
            sizes: grid.sizes.iter().map(|size| named(size)).collect(),
            rows: rows.collect(),
        }
    });
    drawn.collect()
}

/// The most offers of one place of a grid that are told there.
const TOLD: usize = 3;

/// What stands in a place of a grid.
fn cell_said(offers: &[&OfferLink]) -> Words {
    let of_one = |offer: &&OfferLink| {
        let mut said = vec![match offer.options.is_empty() {
            true => "nothing to choose".to_owned(),
            false => offer.options.plain(),
        }];
        said.push(
            offer.sku.as_ref().map_or_else(|| "no SKU".to_owned(), |sku| format!("SKU {}", sku.plain())),
        );
        said.extend(offer.leads_to.iter().map(|variant| format!("leads to {}", variant.plain())));
        said.extend(offer.intended.iter().map(|variant| format!("you mean {}", variant.plain())));
        said.extend(offer.why.iter().map(Words::plain));
        if let Some(proposal) = offer.proposal.as_ref().filter(|_| offer.shown.is_some()) {
            said.extend(proposal.variants.iter().map(|variant| format!("proposed is {}", variant.plain())));
        }
        said.join("; ")
    };
    let mut said: Vec<String> = offers.iter().take(TOLD).map(of_one).collect();
    if let Some(more) = offers.len().checked_sub(TOLD).filter(|more| *more > 0) {
        said.push(format!("and {more} more"));
    }
    Words::ours(said.join(". "))
}
