//! How each source is read, and what is to be sent.
//!
//! Must not know how a source is asked. Start reading at [`show`].

use axum::http::Method;
use maud::{Markup, html};

use super::frame::Page;
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::view::{DayOfAsking, DayState, Outbox, SourceRequest, Sources, SourcesOfShop, Undelivered};
use crate::visit::Visit;

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![
        Route::page("/sources", show),
        Route::json(
            Method::GET,
            "/api/sources",
            "Up to when each source was read and how asking it goes, and what was written for somebody and has not arrived.",
            get,
        )
        .answers::<Sources>(),
    ]
}

async fn view(visit: &Visit) -> Result<Sources, Problem> {
    Ok(visit.desk().sources().await?)
}

fn get(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&view(&visit).await?) })
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let view = view(&visit).await?;
        let body = html! {
            h1 { "Sources" }
            div #sources data-live {
                p.lead { (in_a_sentence(&view)) }
                @for shop in &view.shops { (of_shop(shop, view.shops.len() > 1)) }
                (outbox(&view.outbox))
            }
        };
        let title = match behind(&view) {
            0 => "Sources".to_owned(),
            number => format!("{number} behind - Sources"),
        };
        Ok(Reply::Page(Box::new(Page { title, place: Some("/sources"), is_live: true, body })))
    })
}

fn behind(view: &Sources) -> usize {
    view.shops.iter().flat_map(|shop| &shop.requests).filter(|request| request.is_behind).count()
}

fn in_a_sentence(view: &Sources) -> String {
    let all = view.shops.iter().map(|shop| shop.requests.len()).sum::<usize>();
    match (all, behind(view)) {
        (0, _) => "No source is declared.".to_owned(),
        (1, 0) => "The only source is read up to now.".to_owned(),
        (all, 0) => format!("Every source is read up to now, in {all} requests."),
        (all, behind) => {
            format!("Not every source is read up to now: {behind} of {all} requests are behind.")
        }
    }
}

fn of_shop(shop: &SourcesOfShop, is_one_of_several: bool) -> Markup {
    html! {
        section aria-label=(format!("Sources of {}", digest::clean(shop.shop.as_str()))) {
            @if is_one_of_several { h2 { "Shop " bdi { (shop.shop) } } }
            p.small {
                @match (&shop.compared, &shop.as_of) {
                    (Some(compared), Some(as_of)) => { "Compared last " (compared) ", as things stood " (as_of) }
                    _ => "Not compared yet",
                }
                "; times are those of " (shop.zone) "."
            }
            (super::sending::waits(&shop.shop, &shop.waits, is_one_of_several))
            @for request in &shop.requests { (request_of(shop, request, is_one_of_several)) }
        }
    }
}

fn request_of(shop: &SourcesOfShop, request: &SourceRequest, is_under_shop: bool) -> Markup {
    let called = html! {
        bdi { (digest::cut(&request.source, 60)) }
        ", " @if request.is_folder { "its folder" } @else { bdi { (digest::cut(&request.request, 60)) } }
    };
    html! {
        article.source.is-behind[request.is_behind] data-key=(name(shop, request)) {
            // No level of headings is left out.
            @if is_under_shop { h3 { (called) } } @else { h2 { (called) } }
            p.stand {
                strong { @if request.is_behind { "Behind" } @else { "Up to date" } }
                " "
                @match (&request.read_up_to, &request.behind_by) {
                    (Some(at), Some(ago)) => { "read as it stood " (at) ", " (ago) "; it counts as up to date for " (request.stale_after) }
                    _ => "never read to its end",
                }
            }
            p.facts {
                @match &request.asked { Some(at) => span { "asked last " (at) }, None => span { "never asked" } }
                @if let Some(next) = &request.next { span { "next " (next) } }
                span { "every " (request.every) }
                @if let Some(rate) = request.records_a_day { span { "about " (rate) " new or changed rows a day" } }
            }
            @if let Some(trouble) = &request.trouble {
                p.wrong {
                    "It fails"
                    @if let Some(since) = &request.failing_since { " since " (since) }
                    ": " (trouble) "."
                }
                p.small {
                    @match &request.answered {
                        Some(at) => { "It answered as it should " (at) ", for the last time." }
                        None => "It has never answered as it should.",
                    }
                }
            }
            @if let (Some(there), Some(here)) = (request.counted_there, request.counted_here) {
                p.wrong { "It counts " (there) " records itself, and " (here) " were read." }
            }
            (strip(shop, request))
        }
    }
}

/// What tells a request from all others on the page.
fn name(shop: &SourcesOfShop, request: &SourceRequest) -> String {
    digest::clean(format!("{}-{}-{}", shop.shop, request.source, request.request)).into_owned()
}

/// What the figures of a request are called: as no others on the page.
fn figures_of(shop: &SourcesOfShop, request: &SourceRequest) -> String {
    digest::clean(format!("Days in figures: {}, {}, shop {}", request.source, request.request, shop.shop))
        .into_owned()
}

/// The last days, one beside the other.
fn strip(shop: &SourcesOfShop, request: &SourceRequest) -> Markup {
    html! {
        @if !request.days.is_empty() {
            ol.strip aria-label="The last days, the oldest first" {
                @for day in &request.days {
                    li.(day.state.word()) {
                        (shape(day.state))
                        span.day { (day.said) }
                        span.unseen { ": " (in_words(day)) }
                    }
                }
            }
            details data-keep=(format!("days-{}", name(shop, request))) {
                summary { "The days in figures" }
                div.grid-box role="region" tabindex="0" aria-label=(figures_of(shop, request)) {
                    table.figures {
                        tr {
                            th scope="col" { "Day" } th scope="col" { "What it was like" } th scope="col" { "Asked" }
                            th scope="col" { "Answered" } th scope="col" { "New or changed rows" } th scope="col" { "Hours without an answer" }
                        }
                        @for day in request.days.iter().rev() {
                            tr {
                                th scope="row" { (day.said) }
                                td { (day.state.name()) }
                                td.number { (day.asked) } td.number { (day.answered) } td.number { (day.records) }
                                td.number { (day.gap_hours) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn in_words(day: &DayOfAsking) -> String {
    match day.state {
        DayState::NotAsked => "not asked".to_owned(),
        state => format!(
            "{}, {} of {} times answered, {} rows",
            state.name(),
            day.answered,
            day.asked,
            day.records
        ),
    }
}

fn shape(state: DayState) -> Markup {
    html! {
        svg.shape viewBox="0 0 24 20" width="24" height="20" preserveAspectRatio="none" aria-hidden="true" focusable="false" {
            @match state {
                DayState::Whole => rect.full x="0" y="4" width="24" height="12" {},
                DayState::Gaps => path.full d="M0 4h9v12H0zM15 4h9v12h-9z" {},
                DayState::Silent => path.edge d="M5 3l14 14M19 3L5 17" {},
                DayState::NotAsked => path.edge.broken d="M0 10h24" {},
            }
        }
    }
}

fn outbox(outbox: &Outbox) -> Markup {
    html! {
        section aria-labelledby="outbox" {
            h2 #outbox { "What is to be told" }
            @if !outbox.has_recipients {
                p { "Nobody is told anything: no recipient is configured." }
            } @else if outbox.messages.is_empty() {
                p { "Nothing waits, and nothing was given up in the last days." }
            } @else {
                @if (outbox.messages.len() as u64) < outbox.in_all {
                    p.limit { "Showing " (outbox.messages.len()) " of " (outbox.in_all) "." }
                }
                ul.plain { @for message in &outbox.messages { (undelivered(message)) } }
            }
        }
    }
}

fn undelivered(message: &Undelivered) -> Markup {
    html! {
        li {
            p {
                @match &message.given_up {
                    Some(at) => { strong.wrong { "Given up " (at) ": " } }
                    None => { strong { "Waits: " } }
                }
                (message.what) " to " (message.recipient) ", written " (message.written)
                @if let Some(next) = &message.next { "; tried again " (next) }
                "."
            }
            p.small {
                @match &message.trouble {
                    Some(trouble) => { "Tried " (message.tries) @if message.tries == 1 { " time: " } @else { " times: " } (trouble) "." }
                    None => "It was not tried yet.",
                }
            }
        }
    }
}
