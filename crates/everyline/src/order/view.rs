//! An order as a view: what every page of it is made of.
//!
//! Must not know how it is laid out. Start reading at [`view`].

use model::book::OrderStatus;
use web::view::{GapKind, Moment, Order, State, Words};

use super::{Shown, found, happened, lines, sent, verdict};
use crate::layout::outside;
use crate::times::span;

/// The view of an order.
pub fn view(shown: &Shown) -> Order {
    let mut lines = lines::lines(shown);
    for line in &mut lines {
        let is_missing = line.gap.as_ref().is_some_and(|gap| gap.kind == GapKind::Missing);
        line.proposal = shown.proposals.get(&line.line_id).filter(|_| is_missing).cloned();
    }
    let findings = found::findings(shown);
    let is_short = |state| matches!(state, State::Missing | State::Wrong);
    let deadlines = shown.findings.iter().filter_map(|finding| Some((finding.act_before?, finding)));
    let ahead = deadlines.filter(|(at, _)| *at > shown.times.now());
    let (act_before, cut_off_of) = ahead
        .min_by_key(|(at, _)| *at)
        .map(|(at, finding)| {
            (at, digest::cut_off_of(finding).map(|supplier| Words::outside(supplier.as_str())))
        })
        .unzip();
    Order {
        shop: shown.shop.as_str().to_owned(),
        order_id: shown.history.order.order_id.clone(),
        status: shown.history.order.status,
        headline: Words::ours(headline(shown)),
        verdict: Words::ours(verdict::verdict(shown)),
        is_right: findings.iter().all(|finding| finding.note.is_some())
            && !lines.iter().any(|line| is_short(line.state)),
        as_of: Moment::said(shown.as_of, shown.times.in_full(shown.as_of)),
        act_before: act_before.map(|at| Moment::said(at, shown.times.at(at))),
        time_left: act_before.map(|at| Words::ours(format!("{} left", span(at - shown.times.now())))),
        cut_off_of: cut_off_of.flatten(),
        lines,
        supplier_orders: sent::supplier_orders(shown),
        parcels: sent::parcels(shown),
        said: found::ties(shown),
        findings,
        settled: found::settled(shown),
        timeline: happened::timeline(shown),
    }
}

/// `Order 1001 is open: placed 26 Nov 09:00, paid 26 Nov 09:01, promised by the end of 28 Nov, to NO.`
fn headline(shown: &Shown) -> String {
    let (order, times) = (&shown.history.order, &shown.times);
    let status = match order.status {
        OrderStatus::Unpaid => "not paid for yet",
        OrderStatus::Open => "open",
        OrderStatus::Dispatched => "marked as dispatched at the storefront",
        OrderStatus::Cancelled => "cancelled",
    };
    let mut said = vec![format!("placed {}", times.when(order.placed_at))];
    if let Some(paid) = order.paid_at {
        said.push(format!("paid {}", times.when(paid)));
    }
    if let Some(promised) = order.promised_by {
        said.push(format!("promised by {}", times.end(promised)));
    }
    if let Some(country) = &order.ship_to_country {
        said.push(format!("to {}", outside(country)));
    }
    format!("Order {} is {status}: {}.", outside(order.order_id.as_str()), said.join(", "))
}
