//! The page of one order: how it stands, what was bought beside what was sent for it, and how it came to that.
//!
//! Must not know how anything is found out. Start reading at [`page`].

use model::book::OrderStatus;

use super::{Shown, found, happened, lines, sent, verdict};
use crate::layout::{Page, outside};

/// The page, ending in a line feed.
pub fn page(shown: &Shown, width: usize) -> String {
    let mut page = Page::new(width);
    page.paragraph(0, &headline(shown));
    page.paragraph(0, &verdict::verdict(shown));
    page.paragraph(0, &format!("As things stood on {}.", shown.times.in_full(shown.as_of)));
    lines::lines(shown, &mut page);
    sent::submissions(shown, &mut page);
    sent::parcels(shown, &mut page);
    found::ties(shown, &mut page);
    found::findings(shown, &mut page);
    happened::timeline(shown, &mut page);
    page.finish()
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
