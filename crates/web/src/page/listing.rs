//! One listing: its goods as grids, and each offer with where it leads and where it could lead.
//!
//! What is accepted here becomes intended: nothing is changed at a storefront. Must not know how a proposal is made. Start
//! reading at [`show`].

use axum::http::Method;
use maud::{Markup, html};
use model::ListingId;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::frame::Page;
use super::listings::{class, shape, tally};
use super::parts::{Use, not_made_now, saying, stamped};
use crate::asked::{Parameter, Takes, whole};
use crate::desk::Accepted;
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{May, Replying, Route};
use crate::view::{
    GoodGrid, GridCell, LinkState, Listing, OfferLink, ProposalStatus, Words, check_name, listing_page,
};
use crate::visit::Visit;

/// Who made a change of links that was made here.
const BY_THE_PAGE: &str = "the page";

/// Likewise, where a program did it.
const BY_A_PROGRAM: &str = "a program, by the page";

/// Bytes of the longest id.
pub(super) const ID: usize = 400;

const PLACES: &[Parameter] = &[
    Parameter::must("shop", Takes::Text(200), "whose it is"),
    Parameter::must("listing_id", Takes::Text(ID), "the id of the listing"),
];

/// What was just done.
const SAID: &[Parameter] =
    &[Parameter::may("said", Takes::Word(|| vec!["accepted", "undone"]), "what was just done")];

const ACCEPT: &[Parameter] = &[
    Parameter::may("shop", Takes::Text(200), "whose it is"),
    Parameter::must("listing", Takes::Text(ID), "the id of the listing"),
    Parameter::may(
        "offer",
        Takes::Text(100),
        "the key of the offer; left out: all for which something is proposed",
    ),
    Parameter::must("shown", Takes::Text(100), "what was shown"),
];

const UNDO: &[Parameter] = &[
    Parameter::may("shop", Takes::Text(200), "whose it is"),
    Parameter::must("listing", Takes::Text(ID), "the id of the listing"),
    Parameter::must("change", Takes::Number(1, u32::MAX), "the number of the change"),
];

/// What is accepted.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Accept {
    /// The key of the offer. Left out or null: all offers of the listing for which something is proposed that can be accepted.
    #[serde(default)]
    offer: Option<String>,
    /// `shown` of the offer; where all are accepted, of `proposed`.
    shown: String,
}

/// What is taken back.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Undo {
    /// The number of the change.
    #[serde(deserialize_with = "whole")]
    change: i64,
}

/// What was kept.
#[derive(Serialize, JsonSchema)]
struct Kept {
    /// The number of the change, by which it is taken back.
    change: i64,
}

/// The routes.
pub fn routes() -> Vec<Route> {
    const ONE: &str = "/api/listings/{shop}/{listing_id}";
    vec![
        Route::page("/listings/{shop}/{listing_id}", show).at(PLACES).with(SAID),
        Route::post("/listings/accept", ACCEPT, accept),
        Route::post("/listings/undo", UNDO, undo),
        Route::json(Method::GET, ONE, "One listing with all its offers, and where they lead.", get)
            .at(PLACES)
            .answers::<Listing>(),
        Route::json(
            Method::POST,
            "/api/listings/{shop}/{listing_id}/accept",
            "Keeps what is proposed as what is intended. Refused where something else was shown.",
            accept_json,
        )
        .for_those_who(May::Act)
        .at(PLACES)
        .takes::<Accept>()
        .answers::<Kept>()
        .of_at_most(4 * 1024),
        Route::json(
            Method::POST,
            "/api/listings/{shop}/{listing_id}/undo",
            "Takes the last change of the links of this listing back.",
            undo_json,
        )
        .for_those_who(May::Act)
        .at(PLACES)
        .takes::<Undo>()
        .of_at_most(4 * 1024),
    ]
}

async fn view(visit: &Visit) -> Result<Listing, Problem> {
    let shop = visit.shop()?;
    Ok(visit.desk().listing(&shop.id, &listing_id(visit)).await?)
}

fn listing_id(visit: &Visit) -> ListingId {
    ListingId::new(visit.asked.text("listing_id").or_else(|| visit.form.text("listing")).unwrap_or_default())
}

fn get(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&view(&visit).await?) })
}

fn accept(visit: Visit) -> Replying {
    Box::pin(async move {
        let (shop, listing) = (visit.shop()?, listing_id(&visit));
        let accepted = Accepted {
            offer: visit.form.text("offer").map(str::to_owned),
            shown: visit.form.text("shown").unwrap_or_default().to_owned(),
            by: by(&visit).to_owned(),
        };
        visit.desk().accept(&shop.id, &listing, &accepted).await?;
        Ok(Reply::look_at(&saying(&listing_page(shop.id.as_str(), &listing), "accepted")))
    })
}

fn accept_json(visit: Visit) -> Replying {
    Box::pin(async move {
        let (shop, listing) = (visit.shop()?, listing_id(&visit));
        let Accept { offer, shown } = visit.json()?;
        let accepted = Accepted { offer, shown, by: by(&visit).to_owned() };
        let change = visit.desk().accept(&shop.id, &listing, &accepted).await?;
        Reply::json(&Kept { change })
    })
}

fn undo(visit: Visit) -> Replying {
    Box::pin(async move {
        let (shop, listing) = (visit.shop()?, listing_id(&visit));
        let change = visit.form.of("change").unwrap_or_default();
        visit.desk().undo(&shop.id, &listing, change, by(&visit)).await?;
        Ok(Reply::look_at(&saying(&listing_page(shop.id.as_str(), &listing), "undone")))
    })
}

fn undo_json(visit: Visit) -> Replying {
    Box::pin(async move {
        let (shop, listing) = (visit.shop()?, listing_id(&visit));
        let Undo { change } = visit.json()?;
        visit.desk().undo(&shop.id, &listing, change, by(&visit)).await?;
        Ok(Reply::done())
    })
}

pub(super) fn by(visit: &Visit) -> &'static str {
    if visit.who.is_program { BY_A_PROGRAM } else { BY_THE_PAGE }
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let listing = view(&visit).await?;
        let of = Use::of(&visit);
        let id = digest::cut(listing.listing_id.as_str(), 60).into_owned();
        let body = html! {
            h1 { @if listing.title.is_empty() { "Listing " bdi { (id) } } @else { (listing.title) } }
            @match visit.asked.text("said") {
                Some("accepted") => p.said role="status" {
                    "Kept as what you intend. Nothing was changed at the storefront yet; below it is sent there, or taken back."
                },
                Some("undone") => p.said role="status" { "Taken back: what stood before stands again." },
                _ => {}
            }
            div #listing data-live {
                p.facts {
                    span { "listing " bdi { (id) } }
                    span { (listing.sold) " sold" }
                    @if listing.sold_without > 0 {
                        span.wrong { (listing.sold_without) " of these without a link in force" }
                    }
                    span { "as things stood " (listing.as_of) }
                }
                @if let Some(doubt) = &listing.doubt {
                    div.doubt { p { strong { "Not all is known: " } (doubt) "." } }
                }
                (tally(&listing.tally))
                (findings(&listing))
                (grids(&listing))
                (last_change(&listing, of))
                (sending(&listing))
                (offers(&listing, of))
            }
        };
        let title = match listing.title.is_empty() {
            true => format!("Listing {id}"),
            false => listing.title.plain(),
        };
        Ok(Reply::Page(Box::new(Page { title, place: Some("/listings"), is_live: true, body })))
    })
}

fn findings(listing: &Listing) -> Markup {
    html! {
        @if !listing.findings.is_empty() {
            section aria-labelledby="found" {
                h2 #found { "What is to be done" }
                ul.found {
                    @for finding in &listing.findings {
                        li { p { (finding.words) } p.facts { span.check { (check_name(finding.check.word())) } } }
                    }
                }
            }
        }
    }
}

fn grids(listing: &Listing) -> Markup {
    html! {
        section aria-labelledby="grids" {
            h2 #grids { "Sizes and colours" }
            p.small {
                "A place in a grid leads to its offer below. What stands there is also told at the foot of the window while it \
                 is pointed at or has the focus."
            }
            @for grid in &listing.grids { (grid_of(grid)) }
            (legend(listing))
        }
    }
}

fn grid_of(grid: &GoodGrid) -> Markup {
    let good = grid.good.as_ref().map_or_else(|| "What it is could not be read".to_owned(), Words::plain);
    html! {
        div.grid-box role="region" tabindex="0" aria-label=(format!("Grid: {good}")) {
            table.grid {
                caption { (good) }
                thead {
                    tr {
                        td {}
                        @for size in &grid.sizes { th scope="col" { (or(size.as_ref(), "any size")) } }
                    }
                }
                tbody {
                    @for row in &grid.rows {
                        tr {
                            th scope="row" { (or(row.colour.as_ref(), "any colour")) }
                            @for cell in &row.cells {
                                @match cell {
                                    Some(cell) => td { (cell_of(cell)) },
                                    None => td.none { span.unseen { "not offered" } },
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn or(words: Option<&Words>, otherwise: &str) -> Markup {
    html! { @match words { Some(words) => (words), None => (otherwise) } }
}

fn cell_of(cell: &GridCell) -> Markup {
    let first = cell.offers.first().map(String::as_str).unwrap_or_default();
    html! {
        a.cell.(class(cell.state)) href=(format!("#offer-{first}"))
            aria-label=(format!("{}: {}", cell.state.name(), cell.words.plain())) {
            (shape(cell.state))
            span { (cell.state.name()) @if cell.offers.len() > 1 { " (" (cell.offers.len()) ")" } }
            span.tip aria-hidden="true" { b { (cell.state.name()) } " " (cell.words) }
        }
    }
}

/// What the shapes that occur mean.
fn legend(listing: &Listing) -> Markup {
    html! {
        dl.legend {
            @for state in LinkState::ALL.into_iter().filter(|state| listing.tally.of(*state) > 0) {
                div.state-of.(class(state)) { dt { (shape(state)) " " (state.name()) } dd { (state.means()) } }
            }
        }
    }
}

fn last_change(listing: &Listing, of: Use<'_>) -> Markup {
    html! {
        @if let Some(change) = &listing.last_change {
            section aria-labelledby="changed" {
                h2 #changed { "Changed last" }
                p {
                    "Change " (change.number) ", by " (change.by) ", " (change.at) ": " (links(change.links)) " of this listing"
                    @match change.others { 0 => {}, 1 => " and 1 thing elsewhere", others => { " and " (others) " things elsewhere" } }
                    @if let Some(why) = &change.why { "; " (why) }
                    "."
                }
                @if of.may_act {
                    form method="post" action="/listings/undo" {
                        (ours(listing, of))
                        input type="hidden" name="change" value=(change.number);
                        button type="submit" { "Take change " (change.number) " back" }
                    }
                }
            }
        }
    }
}

fn links(number: u64) -> String {
    if number == 1 { "1 link".to_owned() } else { format!("{number} links") }
}

/// How what is intended is brought into force.
fn sending(listing: &Listing) -> Markup {
    html! {
        @if let Some(sending) = &listing.sending {
            section aria-labelledby="sending" {
                h2 #sending { "Bring into force what you intend" }
                (super::sending::of_listing(listing, sending))
            }
        }
    }
}

/// The offers, by state, the worst first.
fn offers(listing: &Listing, of: Use<'_>) -> Markup {
    html! {
        section aria-labelledby="offers" {
            h2 #offers { "Each offer" }
            @if (listing.offers.len() as u64) < listing.offers_in_all {
                p.limit { "Showing " (listing.offers.len()) " of " (listing.offers_in_all) ", the worst first." }
            }
            @for state in LinkState::ALL {
                @let own: Vec<&OfferLink> = listing.offers.iter().filter(|offer| offer.state == state).collect();
                @if !own.is_empty() {
                    h3.group.state-of.(class(state)) { (shape(state)) " " (own.len()) " " (state.name()) }
                    p.small { (state.means()) }
                    ol.offers { @for offer in &own { (offer_of(listing, offer, of)) } }
                    @if state == LinkState::Unlinked { (accept_all(listing, of)) }
                }
            }
        }
    }
}

fn offer_of(listing: &Listing, offer: &OfferLink, of: Use<'_>) -> Markup {
    html! {
        li.(class(offer.state)) id=(format!("offer-{}", offer.key)) data-key=(offer.key) tabindex="-1" {
            div.bought {
                h4 { @if offer.options.is_empty() { "Nothing to choose" } @else { (offer.options) } }
                p.facts {
                    @match &offer.sku { Some(sku) => span { "SKU " (sku) }, None => span { "no SKU" } }
                    @if offer.sold > 0 { span { (offer.sold) " sold" } }
                }
            }
            div.leads {
                @for variant in &offer.leads_to { p { "leads to " (variant) } }
                @for variant in &offer.intended { p { "you mean " (variant) } }
                @for why in &offer.why { p { (why) } }
                (proposal(listing, offer, of))
            }
        }
    }
}

fn proposal(listing: &Listing, offer: &OfferLink, of: Use<'_>) -> Markup {
    let Some(proposal) = &offer.proposal else { return html! {} };
    html! {
        div.proposal {
            @match proposal.status {
                ProposalStatus::Proposed => p { b { "Proposed: " } @for variant in &proposal.variants { (variant) } },
                ProposalStatus::Choose => p {
                    b { "Only you can tell" }
                    @if !proposal.variants.is_empty() {
                        ": " @for (place, variant) in proposal.variants.iter().enumerate() { @if place > 0 { "; or " } (variant) }
                    }
                },
                ProposalStatus::None => p { b { "No supplier makes it, as far as is known." } },
            }
            @if !proposal.why.is_empty() {
                p.small { @for (place, why) in proposal.why.iter().enumerate() { @if place > 0 { "; " } (why) } }
            }
            @if proposal.not_made_now { (not_made_now()) }
            @if let (Some(shown), true) = (&offer.shown, of.may_act) {
                form method="post" action="/listings/accept" {
                    (ours(listing, of))
                    input type="hidden" name="offer" value=(offer.key);
                    input type="hidden" name="shown" value=(shown);
                    button type="submit" {
                        "Link it so" span.unseen { ": " (offer.options) }
                    }
                }
            } @else if offer.shown.is_none() {
                @if let Some(command) = &proposal.command { pre tabindex="0" { (command) } }
            }
        }
    }
}

/// All that is proposed, once it has been looked at above; a single proposal has its own button.
fn accept_all(listing: &Listing, of: Use<'_>) -> Markup {
    html! {
        @if let Some(proposed) = listing.proposed.as_ref().filter(|proposed| of.may_act && proposed.offers > 1) {
            form.all method="post" action="/listings/accept" {
                (ours(listing, of))
                input type="hidden" name="shown" value=(proposed.shown);
                p {
                    "Have you looked at what is proposed above? All of it becomes what you intend, as one change that can be \
                     taken back."
                }
                button type="submit" { "Accept all " (proposed.offers) " proposals" }
            }
        }
    }
}

/// What each form of this page brings along.
fn ours(listing: &Listing, of: Use<'_>) -> Markup {
    html! {
        (stamped(of.stamp))
        input type="hidden" name="shop" value=(listing.shop);
        input type="hidden" name="listing" value=(listing.listing_id.as_str());
    }
}
