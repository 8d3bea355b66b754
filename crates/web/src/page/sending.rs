//! Sending: what would be changed at a storefront, shown before it is confirmed; how far it is; what became of each offer; and
//! how all of it is put back.
//!
//! The only pages by which a storefront is changed. Must not know how a SKU is changed. Start reading at [`show`]; `sent`
//! draws what was sent.

mod sent;

use axum::http::{HeaderValue, Method, header};
use axum::response::IntoResponse as _;
use digest::count;
use maud::{Markup, html};
use model::ListingId;
use url::form_urlencoded;

use super::frame::Page;
use super::listing::{ID, by};
use super::order::OF_SHOP;
use super::parts::{Use, stamped};
use crate::asked::{Asked, Parameter, Takes};
use crate::desk::{Begun, Confirmed, ToSend};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::view::{
    Listing, NotSent, SendListing, SendOffer, SendPlan, SendProgress, SendWay, Sending, WaitsToBeSent, Words,
    listing_page, sent_page,
};
use crate::visit::Visit;

/// Where all of this belongs to.
const PLACE: Option<&str> = Some("/listings");

const LISTING: Parameter = Parameter::may("listing", Takes::Text(ID), "of this listing alone");
const SOURCE: Parameter =
    Parameter::may("source", Takes::Text(200), "at which source, where several are meant");
const BACK: Parameter =
    Parameter::may("back", Takes::Number(1, u32::MAX), "the number of the run that is put back");

const ASKED: &[Parameter] = &[OF_SHOP[0], LISTING, SOURCE, BACK];

const SHOWN: &[Parameter] = &[
    OF_SHOP[0],
    LISTING,
    SOURCE,
    BACK,
    Parameter::may("said", Takes::Word(|| vec!["otherwise"]), "what was just done"),
];

const CONFIRMED: &[Parameter] =
    &[OF_SHOP[0], LISTING, SOURCE, BACK, Parameter::must("shown", Takes::Text(100), "what was shown")];

/// The routes.
pub fn routes() -> Vec<Route> {
    let mut routes = vec![
        Route::page("/send", show).with(SHOWN),
        Route::post("/send", CONFIRMED, send),
        Route::other("/send/table", "what would be changed, as a table for the storefront's own bulk edit", table)
            .with(ASKED),
        Route::json(
            Method::GET,
            "/api/send",
            "What sending would change at a storefront: each offer with its old and its new SKU. Nothing is changed.",
            get,
        )
        .with(ASKED)
        .answers::<SendPlan>(),
    ];
    routes.extend(sent::routes());
    routes
}

fn to_send(asked: &Asked) -> ToSend {
    ToSend {
        listing: asked.text("listing").map(ListingId::new),
        source: asked.text("source").map(str::to_owned),
        back: asked.of("back"),
    }
}

/// The address of a plan: `/send?shop=kitchen&listing=L-1`.
fn plan_page(shop: &str, what: &ToSend, more: &[(&str, &str)]) -> String {
    let mut address = form_urlencoded::Serializer::new(String::new());
    address.append_pair("shop", shop);
    if let Some(listing) = &what.listing {
        address.append_pair("listing", listing.as_str());
    }
    if let Some(source) = &what.source {
        address.append_pair("source", source);
    }
    if let Some(run) = what.back {
        address.append_pair("back", &run.to_string());
    }
    address.extend_pairs(more);
    format!("/send?{}", address.finish())
}

fn table_page(shop: &str, what: &ToSend) -> String {
    plan_page(shop, what, &[]).replacen("/send?", "/send/table?", 1)
}

/// What was sent of a shop.
fn sends_page(shop: &str) -> String {
    let address = form_urlencoded::Serializer::new(String::new()).append_pair("shop", shop).finish();
    format!("/sent?{address}")
}

async fn view(visit: &Visit) -> Result<SendPlan, Problem> {
    let shop = visit.shop()?;
    Ok(visit.desk().plan_to_send(&shop.id, &to_send(&visit.asked)).await?)
}

fn get(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&view(&visit).await?) })
}

fn table(visit: Visit) -> Replying {
    Box::pin(async move {
        let shop = visit.shop()?;
        let text = visit.desk().table_to_send(&shop.id, &to_send(&visit.asked)).await?;
        let mut answer = ([(header::CONTENT_TYPE, "text/csv; charset=utf-8")], text).into_response();
        let name = HeaderValue::from_static("attachment; filename=\"skus.csv\"");
        answer.headers_mut().insert(header::CONTENT_DISPOSITION, name);
        Ok(Reply::Whole(answer))
    })
}

fn send(visit: Visit) -> Replying {
    Box::pin(async move {
        let shop = visit.shop()?;
        let confirmed = Confirmed {
            what: to_send(&visit.form),
            shown: visit.form.text("shown").unwrap_or_default().to_owned(),
            by: by(&visit).to_owned(),
        };
        let shop_id = shop.id.as_str();
        Ok(Reply::look_at(&match visit.desk().send(&shop.id, &confirmed).await? {
            Begun::Run(run) => sent_page(shop_id, run),
            Begun::Looking => sends_page(shop_id),
            Begun::Otherwise => plan_page(shop_id, &confirmed.what, &[("said", "otherwise")]),
        }))
    })
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let shops = visit.desk().shops();
        if shops.len() > 1 && visit.asked.text("shop").is_none() {
            let body = html! {
                h1 { "Send" }
                p { "Of which shop?" }
                ul.plain {
                    @for shop in &shops {
                        li { a href=(plan_page(shop.id.as_str(), &ToSend::default(), &[])) { bdi { (shop.id.as_str()) } } }
                    }
                }
            };
            return Ok(page("Send".to_owned(), false, body));
        }
        let plan = view(&visit).await?;
        let asked = to_send(&visit.asked);
        let what = ToSend { source: plan.source.clone().or(asked.source), ..asked };
        let title = match plan.puts_back {
            Some(run) => format!("Put run {run} back"),
            None => "Send what you intend".to_owned(),
        };
        let body = html! {
            h1 { (title) @if shops.len() > 1 { " of " bdi { (plan.shop) } } }
            @if visit.asked.text("said") == Some("otherwise") {
                p.said role="status" {
                    b { "Nothing was done: " }
                    "what would be changed is no longer what you were shown. Below is how it stands now."
                }
            }
            (about(&plan))
            @if let Some(progress) = &plan.running { (running(&plan.shop, progress)) }
            @if let Some(doubt) = &plan.doubt { div.doubt { p { strong { "It cannot be told now: " } (doubt) "." } } }
            (choose(&plan, &what))
            (to_change(&plan))
            (confirm(&plan, &what, Use::of(&visit)))
            (not_sent(&plan))
            p { a href=(sends_page(&plan.shop)) { "What was sent before, and how it is put back" } }
        };
        Ok(page(title, false, body))
    })
}

fn page(title: String, is_live: bool, body: Markup) -> Reply {
    Reply::Page(Box::new(Page { title, place: PLACE, is_live, body }))
}

/// `1 offer`, `7 offers`.
fn offers(number: u64) -> String {
    count(number, "offer", "offers")
}

/// What the plan is of, in some sentences.
fn about(plan: &SendPlan) -> Markup {
    let mut parts = vec![format!("{} to change", offers(plan.offers + plan.more))];
    for (count, what) in [
        (plan.not_sent_in_all, "left out"),
        (plan.in_force, "that have the right SKU already"),
        (plan.own_stock, "that you pack yourself"),
    ] {
        if count > 0 {
            parts.push(format!("{count} {what}"));
        }
    }
    html! {
        @if let Some(listing) = &plan.listing {
            p.facts {
                span { "listing " a href=(listing_page(&plan.shop, listing)) { bdi { (digest::cut(listing.as_str(), 60)) } } }
                @if plan.puts_back.is_none() { a href=(plan_page(&plan.shop, &ToSend::default(), &[])) { "all listings" } }
            }
        }
        @if plan.doubt.is_none() && plan.choose.is_empty() {
            p.lead { (parts.join(", ")) "." }
            @match plan.puts_back {
                None => p.small {
                    "You accept a link, and it is intended; you send it, and the storefront has the SKU; the storefront is read \
                     again, and the link is in force. Nothing has been changed by looking at this page."
                },
                Some(_) => p.small {
                    "Each offer that still bears the SKU that the run set has its old one again. Nothing has been changed by \
                     looking at this page."
                },
            }
        }
        @if plan.not_read_yet > 0 {
            p.small {
                "Of those that have the right SKU, " (plan.not_read_yet) " had it sent since the storefront was read last: in force \
                 once it is read again."
            }
        }
        @if plan.never_asked > 0 {
            p.small { "Left out: " (offers(plan.never_asked)) " of that run for which the storefront was never asked." }
        }
        @if let Some(looked_at) = plan.looked_at {
            p.small { "Looked at the storefront just now: " (looked_at) " of " (offers(plan.offers)) "." }
        }
    }
}

fn choose(plan: &SendPlan, what: &ToSend) -> Markup {
    html! {
        @if !plan.choose.is_empty() {
            p { "Several sources have something to change. At which?" }
            ul.plain {
                @for source in &plan.choose {
                    @let what = ToSend { source: Some(source.clone()), ..what.clone() };
                    li { a href=(plan_page(&plan.shop, &what, &[])) { bdi { (source) } } }
                }
            }
        }
    }
}

/// Each offer with both SKUs.
fn to_change(plan: &SendPlan) -> Markup {
    html! {
        @for listing in &plan.listings { (of_one_listing(listing)) }
        @if plan.more > 0 {
            p.limit {
                "Showing " (plan.offers) " of " (plan.offers + plan.more) ": one run changes these; the others are in the next."
            }
        }
    }
}

fn of_one_listing(listing: &SendListing) -> Markup {
    html! {
        section {
            h2 {
                a href=(listing.page) {
                    @if listing.title.is_empty() { "Listing " bdi { (digest::cut(listing.listing_id.as_str(), 60)) } }
                    @else { (listing.title) }
                }
            }
            ol.skus { @for offer in &listing.offers { (to_change_one(offer)) } }
        }
    }
}

fn to_change_one(offer: &SendOffer) -> Markup {
    html! {
        li {
            h3 { (or(&offer.options)) }
            (both(offer.old_sku.as_ref(), offer.new_sku.as_ref()))
            @if let Some(note) = &offer.note { p.wrong { (note) } }
        }
    }
}

fn or(options: &Words) -> Markup {
    html! { @if options.is_empty() { "Nothing to choose" } @else { (options) } }
}

/// The SKU before and after.
fn both(old: Option<&Words>, new: Option<&Words>) -> Markup {
    let sku = |sku: Option<&Words>| {
        html! { @match sku { Some(sku) => span.sku { (sku) }, None => span.sku.is-none { "no SKU" } } }
    };
    html! {
        p.both {
            span { span.unseen { "from " } (sku(old)) }
            " "
            span { span aria-hidden="true" { "→ " } span.unseen { "to " } (sku(new)) }
        }
    }
}

/// What to do with it: the form, or the table.
fn confirm(plan: &SendPlan, what: &ToSend, of: Use<'_>) -> Markup {
    let source = plan.source.as_deref().unwrap_or_default();
    html! {
        @if plan.way == SendWay::Table && plan.offers > 0 {
            section.all {
                p {
                    "Source " bdi { (source) } " does not declare how a SKU is changed, so that everyline cannot do it (README, \
                     ‘Let everyline change SKUs’). Take this table to the storefront’s own bulk edit; once it has been \
                     read again, the links are in force."
                }
                p { a href=(table_page(&plan.shop, what)) download { "Download the table of " (offers(plan.offers)) } }
            }
        } @else if let Some(shown) = &plan.shown {
            @if of.may_act {
                form.all method="post" action="/send" {
                    (stamped(of.stamp))
                    input type="hidden" name="shop" value=(plan.shop);
                    @if let Some(listing) = &what.listing { input type="hidden" name="listing" value=(listing.as_str()); }
                    input type="hidden" name="source" value=(source);
                    @if let Some(run) = what.back { input type="hidden" name="back" value=(run); }
                    input type="hidden" name="shown" value=(shown);
                    @if plan.in_doubt > 0 {
                        p {
                            "Of " (count(plan.in_doubt, "change", "changes")) " of an earlier run it is not known what became of it. \
                             That is looked at first, by reading alone; what is still not known then is not asked for again."
                        }
                    }
                    @if plan.offers > 0 {
                        p {
                            "One offer is changed after the other at " bdi { (source) } ", as fast as that may be asked. Each is read \
                             before, and left as it is where its SKU is another than the one above; and read after, to see what became \
                             of it. You can close this page meanwhile. All of it can be put back."
                        }
                    }
                    button type="submit" {
                        @match (plan.offers, plan.puts_back) {
                            (0, _) => "Look what became of it",
                            (1, None) => "Change this SKU at the storefront",
                            (count, None) => { "Change these " (count) " SKUs at the storefront" }
                            (1, Some(_)) => "Put this SKU back at the storefront",
                            (count, Some(_)) => { "Put these " (count) " SKUs back at the storefront" }
                        }
                    }
                }
            } @else {
                p { "Whoever may act can send this. You may look." }
            }
        }
    }
}

fn not_sent(plan: &SendPlan) -> Markup {
    html! {
        @if !plan.not_sent.is_empty() {
            section aria-labelledby="left-out" {
                h2 #left-out { "Left out" }
                @if (plan.not_sent.len() as u64) < plan.not_sent_in_all {
                    p.limit { "Showing " (plan.not_sent.len()) " of " (plan.not_sent_in_all) "." }
                }
                ul.plain { @for not in &plan.not_sent { (not_sent_one(plan, not)) } }
            }
        }
    }
}

fn not_sent_one(plan: &SendPlan, not: &NotSent) -> Markup {
    html! {
        li {
            p {
                @if let Some(listing) = &not.listing_id {
                    a href=(listing_page(&plan.shop, listing)) {
                        @if not.title.is_empty() { "Listing " bdi { (digest::cut(listing.as_str(), 60)) } } @else { (not.title) }
                    }
                    @if !not.options.is_empty() { ", " (not.options) }
                    ": "
                }
                (not.why)
            }
        }
    }
}

/// That something is being sent now.
fn running(shop: &str, progress: &SendProgress) -> Markup {
    let page = progress.run.map_or_else(|| sends_page(shop), |run| sent_page(shop, run));
    html! {
        p.said {
            @match progress.run {
                Some(run) => { b { "Run " (run) " goes on now: " } (progress.looked_at) " of " (offers(progress.offers)) " done with. " }
                None => b { "What is in doubt of earlier runs is being looked at now. " },
            }
            a href=(page) { "See how far it is" }
        }
    }
}

/// What waits to be sent of a shop, for the page of sources.
pub(super) fn waits(shop: &str, waits: &WaitsToBeSent, is_under_shop: bool) -> Markup {
    let called = "Waits to be sent to the storefront";
    html! {
        @if waits.offers > 0 || waits.in_doubt > 0 || waits.running.is_some() {
            div.waits data-key=(format!("waits-{}", digest::clean(shop))) {
                @if is_under_shop { h3 { (called) } } @else { h2.lesser { (called) } }
                @if let Some(progress) = &waits.running { (running(shop, progress)) }
                @if waits.offers > 0 {
                    p {
                        (count(waits.offers, "offer has", "offers have"))
                        " a link that you intend and that was not in force when the shop was compared last. "
                        a href=(plan_page(shop, &ToSend::default(), &[])) { "See what would be sent" }
                    }
                }
                @if waits.in_doubt > 0 {
                    p.wrong {
                        "Of " (count(waits.in_doubt, "change", "changes")) " it is not known what became of it. "
                        a href=(plan_page(shop, &ToSend::default(), &[])) { "Have it looked at" }
                    }
                }
            }
        }
    }
}

/// How what is intended of a shop goes on from there.
pub(super) fn of_shop(shop: &str, intended: u64) -> Markup {
    html! {
        p {
            @if intended > 0 {
                (count(intended, "link is intended. ", "links are intended. "))
                a.next href=(plan_page(shop, &ToSend::default(), &[])) { "See what would be sent to the storefront" }
                " "
            }
            a href=(sends_page(shop)) { "What was sent" }
        }
    }
}

/// How what is intended of a listing goes on from there.
pub(super) fn of_listing(listing: &Listing, sending: &Sending) -> Markup {
    let what = ToSend { listing: Some(listing.listing_id.clone()), ..ToSend::default() };
    let waits = sending.offers.saturating_sub(sending.sent);
    html! {
        @if waits > 0 {
            p {
                (count(waits, "link of this listing is intended", "links of this listing are intended"))
                ". Until the storefront has the right SKU, nothing is made by itself for whoever buys such an offer."
            }
            p { a.next href=(plan_page(&listing.shop, &what, &[])) { "See what would be sent to the storefront" } }
        }
        @if sending.sent > 0 {
            p {
                (count(sending.sent, "SKU was", "SKUs were"))
                " changed at the storefront since it was read last: in force once it is read again. "
                a href=(sends_page(&listing.shop)) { "What was sent" }
            }
        }
        @if let (Some(command), true) = (&sending.command, waits > 0) {
            details data-keep="command" {
                summary { "The same on the command line" }
                pre tabindex="0" { (command) }
            }
        }
    }
}
