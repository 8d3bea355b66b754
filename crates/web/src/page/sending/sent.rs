//! What was sent: run by run, each with what became of its offers, and how it is put back.
//!
//! Must not know how a SKU is changed. Start reading at [`show_all`]; one run is [`show_one`].

use axum::http::Method;
use digest::count;
use maud::{Markup, html};

use super::{both, offers, or, page, plan_page, running, sends_page};
use crate::asked::{Parameter, Takes};
use crate::desk::ToSend;
use crate::page::order::OF_SHOP;
use crate::page::parts::{Use, pages};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::view::{Sends, SentInShort, SentOffer, SentRun, SentState, listing_page};
use crate::visit::Visit;

const ASKED: &[Parameter] =
    &[OF_SHOP[0], Parameter::may("page", Takes::Number(1, 100_000), "which page of the list")];

const PLACES: &[Parameter] = &[
    Parameter::must("shop", Takes::Text(200), "whose it is"),
    Parameter::must("run", Takes::Number(1, u32::MAX), "the number of the run"),
];

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![
        Route::page("/sent", show_all).with(ASKED),
        Route::page("/sent/{shop}/{run}", show_one).at(PLACES),
        Route::json(
            Method::GET,
            "/api/sent",
            "What was sent, the last run first, and how far the present one is.",
            get_all,
        )
        .with(ASKED)
        .answers::<Sends>(),
        Route::json(
            Method::GET,
            "/api/sent/{shop}/{run}",
            "One run, and what became of each offer.",
            get_one,
        )
        .at(PLACES)
        .answers::<SentRun>(),
    ]
}

async fn all(visit: &Visit) -> Result<Sends, Problem> {
    let shop = visit.shop()?;
    Ok(visit.desk().sends(&shop.id, visit.asked.of("page").unwrap_or(1)).await?)
}

async fn one(visit: &Visit) -> Result<SentRun, Problem> {
    let shop = visit.shop()?;
    Ok(visit.desk().sent(&shop.id, visit.asked.of("run").unwrap_or_default()).await?)
}

fn get_all(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&all(&visit).await?) })
}

fn get_one(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&one(&visit).await?) })
}

fn show_all(visit: Visit) -> Replying {
    Box::pin(async move {
        let shops = visit.desk().shops();
        if shops.len() > 1 && visit.asked.text("shop").is_none() {
            let body = html! {
                h1 { "What was sent" }
                p { "Of which shop?" }
                ul.plain {
                    @for shop in &shops {
                        li { a href=(sends_page(shop.id.as_str())) { bdi { (shop.id.as_str()) } } }
                    }
                }
            };
            return Ok(page("What was sent".to_owned(), false, body));
        }
        let sends = all(&visit).await?;
        let address =
            |page: u64| format!("/sent{}", visit.asked.address(&[("page", Some(page.to_string().as_str()))]));
        let plan = plan_page(&sends.shop, &ToSend::default(), &[]);
        let body = html! {
            h1 { "What was sent" @if shops.len() > 1 { " of " bdi { (sends.shop) } } }
            div #sends data-live {
                @match &sends.running {
                    Some(progress) => { (running(&sends.shop, progress)) (by_hand(&visit)) }
                    None => @if let Some(trouble) = &sends.trouble {
                        p.doubt { strong { "It ended before its end: " } (trouble) "." }
                    },
                }
                @if sends.in_doubt > 0 && sends.running.is_none() {
                    p.wrong {
                        "Of " (count(sends.in_doubt, "change", "changes")) " it is not known what became of it. "
                        a href=(plan) { "Have it looked at" }
                    }
                }
                @if !sends.looked_at.is_empty() {
                    section aria-labelledby="looked" {
                        h2 #looked { "What became of changes of earlier runs" }
                        ol.skus { @for offer in &sends.looked_at { (ended(&sends.shop, offer)) } }
                    }
                }
                @if sends.runs.is_empty() {
                    div.empty { p.lead { "Nothing was sent yet." } p { a href=(plan) { "See what would be sent" } } }
                } @else {
                    p.limit { "Showing " (sends.runs.len()) " of " (count(sends.in_all, "run", "runs")) ", the last first." }
                    ol.shelf reversed start=(sends.runs.first().map_or(0, |run| run.run)) {
                        @for run in &sends.runs { li data-key=(run.page) { (in_short(&sends.shop, run)) } }
                    }
                }
                (pages(sends.page, sends.pages, address))
            }
        };
        Ok(page("What was sent".to_owned(), true, body))
    })
}

fn in_short(shop: &str, run: &SentInShort) -> Markup {
    html! {
        h2.lesser { a href=(run.page) { "Run " (run.run) ": " (offers(run.tally.offers)) } }
        (facts(shop, run))
        p { b { (run.tally.said(run.is_running)) } }
    }
}

fn facts(shop: &str, run: &SentInShort) -> Markup {
    let of = |run: i64| html! { a href=(crate::view::sent_page(shop, run)) { "run " (run) } };
    html! {
        p.facts {
            span { "at " bdi { (run.source) } }
            span { (run.at) }
            span { "by " (run.by) }
            @if let Some(why) = &run.why { span { (why) } }
            @if let Some(other) = run.puts_back { span { "puts " (of(other)) " back" } }
            @if let Some(other) = run.put_back_by { span { "put back by " (of(other)) } }
        }
    }
}

/// How whoever has no script sees how far it is.
fn by_hand(visit: &Visit) -> Markup {
    html! { p.without-script { a href=(visit.path) { "Load this page again to see how far it is" } } }
}

fn show_one(visit: Visit) -> Replying {
    Box::pin(async move {
        let sent = one(&visit).await?;
        let run = &sent.of;
        let title = format!("Run {}", run.run);
        let body = html! {
            h1 { @if run.puts_back.is_some() { "Put back: run " (run.run) } @else { "Sent: run " (run.run) } }
            div #sent data-live {
                (facts(&sent.shop, run))
                (verdict(&sent, &visit))
                ol.skus { @for offer in &sent.offers { (ended(&sent.shop, offer)) } }
                (next(&sent, Use::of(&visit)))
            }
            p { a href=(sends_page(&sent.shop)) { "All that was sent" } }
        };
        Ok(page(title, true, body))
    })
}

fn verdict(sent: &SentRun, visit: &Visit) -> Markup {
    let run = &sent.of;
    let looked_at = run.tally.offers - run.tally.left;
    html! {
        @if run.is_running {
            p.lead role="status" { "It goes on: " (looked_at) " of " (offers(run.tally.offers)) " done with." }
            progress max=(run.tally.offers) value=(looked_at) { (looked_at) " of " (run.tally.offers) }
            p { "You can close this page; it goes on by itself." }
            (by_hand(visit))
        } @else {
            p.lead { (run.tally.said(false)) "." }
            @if let Some(why) = &sent.left_because { p.wrong { (why) } }
            @if run.tally.done > 0 && run.puts_back.is_none() {
                p {
                    "In force once " bdi { (run.source) } " has been read again"
                    @if let Some(every) = &sent.every { ", which is done every " (every) }
                    "."
                }
            }
            @if run.tally.done > 0 && run.puts_back.is_some() {
                p {
                    "The links are still intended. Take those away, on the page of the listing, that are not to be sent again."
                }
            }
        }
    }
}

/// What to do next.
fn next(sent: &SentRun, of: Use<'_>) -> Markup {
    let (run, shop) = (&sent.of, sent.shop.as_str());
    let again = ToSend { source: Some(run.source.clone()), ..ToSend::default() };
    let back = ToSend { back: Some(run.run), ..ToSend::default() };
    html! {
        @if !run.is_running {
            @if run.tally.not_known > 0 {
                p.wrong {
                    "Where it is not known, the storefront may have the new SKU. That is looked at first before anything else is \
                     sent, and nothing is asked for twice. "
                    a href=(plan_page(shop, &again, &[])) { "Have it looked at" }
                }
            }
            @if run.tally.left > 0 && run.puts_back.is_none() {
                p { a href=(plan_page(shop, &again, &[])) { "See what is left to be sent" } }
            }
            @if sent.can_be_put_back && of.may_act {
                p { a href=(plan_page(shop, &back, &[])) { "Put it back…" } " You are shown what that changes before anything is." }
            }
        }
    }
}

fn ended(shop: &str, offer: &SentOffer) -> Markup {
    let title = html! {
        @if offer.title.is_empty() { "Listing " bdi { (digest::cut(offer.listing_id.as_str(), 60)) } } @else { (offer.title) }
    };
    html! {
        li.(format!("is-{}", offer.state.word())) {
            h2.lesser { a href=(listing_page(shop, &offer.listing_id)) { (title) } ", " (or(&offer.options)) }
            (both(offer.old_sku.as_ref(), offer.new_sku.as_ref()))
            p.facts {
                b { (offer.state.name()) }
                @if offer.state != SentState::Waits { @if let Some(at) = &offer.at { span { (at) } } }
            }
            @if let Some(why) = &offer.why { p { (why) } }
        }
    }
}
