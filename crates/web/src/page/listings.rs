//! Listings, those first that are to be looked at first.
//!
//! Owns the shapes that stand for the states of links. Must not know how a link is judged. Start reading at [`show`]; one
//! listing is `listing`.

use axum::http::Method;
use maud::{Markup, html};

use super::frame::Page;
use super::order::OF_SHOP;
use super::parts::pages;
use crate::asked::{Parameter, Takes};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::view::{LinkState, LinkTally, ListingInShort, Listings, listings};
use crate::visit::Visit;

const ASKED: &[Parameter] =
    &[OF_SHOP[0], Parameter::may("page", Takes::Number(1, 100_000), "which page of the list")];

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![
        Route::page("/listings", show).with(ASKED),
        Route::json(
            Method::GET,
            "/api/listings",
            "Listings, those first whose offers without a link sold most, then those that sold most.",
            get,
        )
        .with(ASKED)
        .answers::<Listings>(),
    ]
}

async fn view(visit: &Visit) -> Result<Listings, Problem> {
    let shop = visit.shop()?;
    let shelf = visit.desk().shelf(&shop.id).await?;
    Ok(listings(shop.id.as_str(), &shelf, visit.asked.of("page").unwrap_or(1)))
}

fn get(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&view(&visit).await?) })
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let shops = visit.desk().shops();
        let body = if shops.len() > 1 && visit.asked.text("shop").is_none() {
            html! {
                h1 { "Listings" }
                p { "Of which shop?" }
                ul.plain {
                    @for shop in &shops {
                        @let asked = visit.asked.address(&[("shop", Some(shop.id.as_str())), ("page", None)]);
                        li { a href=(format!("/listings{asked}")) { bdi { (shop.id.as_str()) } } }
                    }
                }
            }
        } else {
            let view = view(&visit).await?;
            let address = |page: u64| {
                format!("/listings{}", visit.asked.address(&[("page", Some(page.to_string().as_str()))]))
            };
            html! {
                h1 { "Listings" @if shops.len() > 1 { " of " bdi { (view.shop) } } }
                div #listings data-live { (list(&view)) (pages(view.page, view.pages, address)) }
            }
        };
        let title = "Listings".to_owned();
        Ok(Reply::Page(Box::new(Page { title, place: Some("/listings"), is_live: true, body })))
    })
}

fn list(view: &Listings) -> Markup {
    html! {
        p.lead { (in_a_sentence(&view.tally, view.in_all)) }
        (super::sending::of_shop(&view.shop, view.tally.intended))
        @if let Some(doubt) = &view.doubt { div.doubt { p { strong { "Not all is known: " } (doubt) "." } } }
        @if view.listings.is_empty() {
            div.empty { p.lead { "No listing has been read." } }
        } @else {
            p.limit {
                "Showing " (view.first) " to " (view.first + view.listings.len() as u64 - 1) " of " (view.in_all)
                ": first where most was sold that nobody makes by itself, then what sells best. As things stood " (view.as_of)
                "."
            }
            ol.shelf start=(view.first) {
                @for listing in &view.listings { (one(listing)) }
            }
        }
    }
}

/// `212 offers in 9 listings: 12 have no link.`
fn in_a_sentence(tally: &LinkTally, in_all: u64) -> String {
    let offers = if tally.offers == 1 { "1 offer".to_owned() } else { format!("{} offers", tally.offers) };
    let listings = if in_all == 1 { "1 listing".to_owned() } else { format!("{in_all} listings") };
    let open = tally.unlinked + tally.intended + tally.leads_nowhere + tally.contradictory;
    match open {
        0 => format!("{offers} in {listings}; each that is on sale leads to what it says."),
        1 => format!("{offers} in {listings}; with 1 of them something is to be done."),
        open => format!("{offers} in {listings}; with {open} of them something is to be done."),
    }
}

fn one(listing: &ListingInShort) -> Markup {
    html! {
        li data-key=(listing.page) {
            h2 {
                a href=(listing.page) {
                    @if listing.title.is_empty() { "Without a title" } @else { (listing.title) }
                }
            }
            p.facts {
                span { "listing " bdi { (digest::cut(listing.listing_id.as_str(), 40)) } }
                span { (listing.sold) " sold" }
                @if listing.sold_without > 0 {
                    span.wrong { (listing.sold_without) " of these without a link in force" }
                }
            }
            (tally(&listing.tally))
        }
    }
}

/// How many offers are in which state; those in none of a state are not named.
pub fn tally(tally: &LinkTally) -> Markup {
    html! {
        ul.states {
            @for state in LinkState::ALL {
                @let number = tally.of(state);
                @if number > 0 {
                    li.state-of.(class(state)) { (shape(state)) " " b { (number) } " " (state.name()) }
                }
            }
        }
    }
}

/// The class of a state.
pub fn class(state: LinkState) -> String {
    format!("is-{}", state.word())
}

/// What a state looks like; its name stands beside it.
pub fn shape(state: LinkState) -> Markup {
    html! {
        svg.shape viewBox="0 0 20 20" width="20" height="20" aria-hidden="true" focusable="false" {
            @match state {
                // Full.
                LinkState::Linked => rect.full x="2" y="2" width="16" height="16" {},
                // Full from below, as far as it has come.
                LinkState::Intended => {
                    rect.edge x="3" y="3" width="14" height="14" {}
                    rect.full x="3" y="10" width="14" height="7" {}
                }
                // A hole.
                LinkState::Unlinked => rect.edge.broken x="3" y="3" width="14" height="14" {},
                // Two halves that do not belong together.
                LinkState::Contradictory => {
                    path.full d="M2 2h12L2 14z" {}
                    path.edge d="M17 6v11H6z" {}
                }
                // A way that ends at a wall.
                LinkState::LeadsNowhere => path.edge d="M1 10h10M6 5l5 5-5 5M15 2v16" {},
                // Downwards.
                LinkState::BelowCost => path.full d="M1 4h18L10 18z" {},
                LinkState::NotOnSale => circle.full cx="10" cy="10" r="3" {},
            }
        }
    }
}
