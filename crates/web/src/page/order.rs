//! One order with all its sides: what was bought beside what was sent for it, and how it came to that.
//!
//! Must not know how an order is judged. Start reading at [`show`].

use maud::{Markup, html};
use model::{ListingId, OrderId};

use super::frame::Page;
use super::parts::{SAID, Use, not_made_now, said, set_aside, stamped};
use crate::asked::{Parameter, Takes};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::view::{
    Bought, GapKind, Order, OrderFinding, Proposal, ProposalStatus, Sent, State, check_name, listing_page,
};
use crate::visit::Visit;

/// Where an order is.
pub const PLACES: &[Parameter] = &[Parameter::must("order_id", Takes::Text(400), "the id of the order")];

/// Whose it is.
pub const OF_SHOP: &[Parameter] =
    &[Parameter::may("shop", Takes::Text(200), "whose it is; may be left out where there is one shop")];

const PAGE_ASKED: &[Parameter] = &[OF_SHOP[0], SAID];

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![Route::page("/orders/{order_id}", show).at(PLACES).with(PAGE_ASKED)]
}

/// The view that is asked for.
///
/// # Errors
/// Where there is no such order, or the desk cannot say.
pub async fn view(visit: &Visit) -> Result<Order, Problem> {
    let shop = visit.shop()?;
    let order = OrderId::new(visit.asked.text("order_id").unwrap_or_default());
    Ok(visit.desk().order(&shop.id, &order).await?)
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let order = view(&visit).await?;
        let of = Use::of(&visit);
        let id = digest::cut(order.order_id.as_str(), 60).into_owned();
        let body = html! {
            h1 { "Order " bdi { (id) } }
            (said(&visit))
            div #order data-live {
                (head(&order))
                (findings(&order, of))
                (sides(&order))
                (supplier_orders(&order))
                (parcels(&order))
                (owner(&order))
                (timeline(&order))
            }
        };
        Ok(Reply::Page(Box::new(Page {
            title: format!("Order {id}"),
            place: Some("/queue"),
            is_live: true,
            body,
        })))
    })
}

fn head(order: &Order) -> Markup {
    let tone = if order.is_right { "right" } else { "short" };
    html! {
        div.verdict.(tone) {
            p.lead { (order.verdict) }
            @if let (Some(at), Some(left)) = (&order.act_before, &order.time_left) {
                p.left {
                    strong { (left) } " to have something changed at "
                    @match &order.cut_off_of { Some(supplier) => bdi { (supplier) }, None => "a supplier" }
                    ", until " (at)
                }
            }
        }
        p { (order.headline) }
        p.small { "As things stood on " (order.as_of) "." }
    }
}

fn findings(order: &Order, of: Use<'_>) -> Markup {
    html! {
        @if !order.findings.is_empty() {
            section aria-labelledby="found" {
                h2 #found { "What is to be done" }
                ul.found { @for one in &order.findings { (finding(order, one, of)) } }
            }
        }
    }
}

fn finding(order: &Order, one: &OrderFinding, of: Use<'_>) -> Markup {
    html! {
        li.aside-it[one.note.is_some()] {
            p { (one.words) }
            p.facts {
                @if let Some(deadline) = &one.deadline { span { (deadline) } }
                span { "found " (one.since) }
                span.check { (check_name(one.check.word())) }
            }
            @match &one.note {
                Some(note) => {
                    p.kept {
                        "Set aside "
                        @match &one.until { Some(until) => { "until " (until) }, None => "until it is something else" }
                        ": " (note)
                    }
                    @if of.may_act {
                        form method="post" action="/take-back" {
                            (stamped(of.stamp))
                            input type="hidden" name="shop" value=(order.shop);
                            input type="hidden" name="finding" value=(one.finding);
                            input type="hidden" name="back" value=(of.back);
                            button type="submit" { "Take it back" }
                        }
                    }
                }
                None => (set_aside(&order.shop, &one.finding, None, of)),
            }
        }
    }
}

/// What was bought on the left, what was sent for it on the right, line by line.
fn sides(order: &Order) -> Markup {
    html! {
        section aria-labelledby="sides" {
            h2 #sides { "Bought, and sent for it" }
            @if order.lines.is_empty() { p { "It has no lines, as far as has been read." } }
            ol.sides { @for line in &order.lines { (line_of(line, &order.shop)) } }
        }
    }
}

/// What a state is called; it stands beside its colour and its edge.
fn called(state: State) -> &'static str {
    match state {
        State::Right => "Made as bought",
        State::Own => "You pack it",
        State::Waiting => "Not sent yet",
        State::NotKnown => "Not known yet",
        State::Wrong => "Wrong item",
        State::Missing => "Nobody makes it",
        State::Nothing => "Nothing owed",
    }
}

fn class(state: State) -> &'static str {
    match state {
        State::Right => "is-right",
        State::Own => "is-own",
        State::Waiting => "is-waiting",
        State::NotKnown => "is-unknown",
        State::Wrong => "is-wrong",
        State::Missing => "is-missing",
        State::Nothing => "is-nothing",
    }
}

fn line_of(line: &Bought, shop: &str) -> Markup {
    html! {
        li.side.(class(line.state)) {
            div.bought {
                p.state { (called(line.state)) }
                h3 { (line.quantity) "\u{a0}× " (line.name) }
                @if let Some(options) = &line.options { p { (options) } }
                p.facts {
                    span { "line " bdi { (digest::cut(line.line_id.as_str(), 40)) } }
                    @if let Some(sku) = &line.sku { span { "SKU " (sku) } }
                    @if let Some(cancelled) = &line.cancelled { span { (cancelled) } }
                }
                p.linked {
                    @match &line.leads_to[..] {
                        [] => "Not linked to a supplier variant",
                        parts => {
                            "Linked to "
                            @for (place, part) in parts.iter().enumerate() {
                                @if place > 0 { " and " }
                                (part)
                            }
                        }
                    }
                }
            }
            div.sent {
                @for one in &line.sent { (sent(one)) }
                @for note in &line.notes { p { (note) } }
                @if let Some(gap) = &line.gap {
                    div.gap.(gap_class(gap.kind)) {
                        @if gap.kind == GapKind::Missing { p.hole { (gap.units) "\u{a0}× ordered nowhere" } }
                        p { (gap.words) "." }
                    }
                }
                @if let Some(proposal) = &line.proposal { (proposed(proposal, shop, line.listing_id.as_ref())) }
            }
        }
    }
}

fn gap_class(kind: GapKind) -> &'static str {
    match kind {
        GapKind::Missing => "is-missing",
        GapKind::NotSentYet => "is-waiting",
        GapKind::NotKnown => "is-unknown",
    }
}

fn sent(one: &Sent) -> Markup {
    html! {
        div.part.is-wrong[!one.wrong.is_empty()] {
            p { b { (one.units) "\u{a0}× " (one.what) } }
            @for wrong in &one.wrong { p.wrong { (wrong) } }
            p.facts {
                span { bdi { (one.supplier) } " " bdi { (digest::cut(one.submission_id.as_str(), 40)) } ", line "
                       bdi { (digest::cut(one.line_id.as_str(), 40)) } }
                span { (one.progress) }
                span { (one.way_said) }
            }
        }
    }
}

fn proposed(proposal: &Proposal, shop: &str, listing: Option<&ListingId>) -> Markup {
    html! {
        div.proposal {
            p {
                @match proposal.status {
                    ProposalStatus::Proposed => { b { "It could be linked to: " } },
                    ProposalStatus::Choose => { b { "Only you can tell which it is: " } },
                    ProposalStatus::None => { b { "No supplier seems to make it." } },
                }
                @for (place, variant) in proposal.variants.iter().enumerate() {
                    @if place > 0 { "; or " }
                    (variant)
                }
            }
            @if !proposal.why.is_empty() {
                p.small { "Why: " @for (place, why) in proposal.why.iter().enumerate() { @if place > 0 { "; " } (why) } "." }
            }
            @if proposal.not_made_now { (not_made_now()) }
            @if let Some(listing) = listing {
                p { a.go href=(listing_page(shop, listing)) { "Look at it in its listing, and link it there" } }
            }
            @if let Some(command) = &proposal.command {
                details data-keep=(format!("command-{command}")) {
                    summary { "Or link it by a command, on the machine on which everyline runs" }
                    pre { code { (command) } }
                }
            }
        }
    }
}

fn supplier_orders(order: &Order) -> Markup {
    html! {
        section aria-labelledby="suppliers" {
            h2 #suppliers { "Supplier orders" }
            @if order.supplier_orders.is_empty() { p { "None that speaks of this order." } }
            ul.plain {
                @for one in &order.supplier_orders {
                    li {
                        p { b { bdi { (one.supplier) } " " bdi { (digest::cut(one.submission_id.as_str(), 60)) } } ": " (one.words) }
                        @for surplus in &one.surplus {
                            p.wrong { "Line " bdi { (digest::cut(surplus.line_id.as_str(), 40)) } ": " (surplus.words) }
                        }
                        @if let Some(others) = &one.others { p.small { (others) } }
                    }
                }
            }
        }
    }
}

fn parcels(order: &Order) -> Markup {
    html! {
        @if !order.parcels.is_empty() {
            section aria-labelledby="parcels" {
                h2 #parcels { "Parcels" }
                ul.plain {
                    @for one in &order.parcels {
                        li { b { bdi { (one.supplier) } " " bdi { (digest::cut(one.parcel_id.as_str(), 60)) } } ": " (one.words) }
                    }
                }
            }
        }
    }
}

fn owner(order: &Order) -> Markup {
    html! {
        @if !order.said.is_empty() {
            section aria-labelledby="yours" {
                h2 #yours { "What you said" }
                ul.plain { @for one in &order.said { li { (one) } } }
            }
        }
        @if !order.settled.is_empty() {
            section aria-labelledby="settled" {
                h2 #settled { "Found and settled" }
                ul.plain {
                    @for one in &order.settled {
                        li {
                            span.check { (check_name(&one.check)) } " found " (one.since) ", "
                            @match &one.settled { Some(at) => { "settled " (at) }, None => "no longer there" }
                        }
                    }
                }
            }
        }
    }
}

fn timeline(order: &Order) -> Markup {
    let listed = order.timeline.entries.len() as u64;
    html! {
        section aria-labelledby="happened" {
            h2 #happened { "What happened" }
            @if listed < order.timeline.in_all {
                p.limit { "Showing the last " (listed) " of " (order.timeline.in_all) " changes." }
            }
            ol.timeline {
                @for entry in &order.timeline.entries { li { (entry.at) " " span { (entry.words) } } }
            }
        }
    }
}
