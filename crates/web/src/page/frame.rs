//! What is around every page: its head, the way to the others, and how it was signed in to.
//!
//! Must not know what a page shows. Start reading at [`framed`]; a new page stands in [`PLACES`].

use maud::{DOCTYPE, Markup, html};

use crate::access::Visitor;
use crate::app::App;
use crate::assets;
use crate::guard::STAMP;
use crate::route::May;

/// Where one can go, by what it is called, and by whom. The first is where one begins.
const PLACES: [(&str, &str, May); 6] = [
    ("/queue", "To do", May::Look),
    ("/set-aside", "Set aside", May::Look),
    ("/listings", "Listings", May::Look),
    ("/sources", "Sources", May::Look),
    ("/trends", "Trends", May::Look),
    ("/try", "Try files", May::Act),
];

/// A page without what is around it.
pub struct Page {
    /// What it is called: also the title of the window, before ours.
    pub title: String,
    /// Which of the places it is, or belongs to.
    pub place: Option<&'static str>,
    /// Whether it is told of changes, and shows what is new by itself. Then what may change stands in elements with an id and
    /// `data-live`.
    pub is_live: bool,
    /// What it shows; it begins with the heading.
    pub body: Markup,
}

/// The page as a browser gets it; it shows what had happened by the change `seen`, or more.
pub fn framed(app: &App, who: &Visitor, path: &str, page: &Page, seen: u64) -> String {
    let may_look = who.may >= May::Look;
    let head = html! {
        a.skip href="#main" { "To what the page says" }
        header.top {
            a.name href="/" { (mark()) span { "everyline" } }
            @if may_look {
                nav aria-label="Pages" {
                    @for (place, name, _) in PLACES.into_iter().filter(|(.., may)| who.may >= *may) {
                        a href=(place) aria-current=[(page.place == Some(place)).then_some("page")] { (name) }
                    }
                }
            }
            @if who.is_signed_in {
                form.out method="post" action="/sign-out" {
                    input type="hidden" name=(STAMP) value=(who.stamp);
                    @if who.may == May::Look { span.role { "You may look, and change nothing." } }
                    button.quiet type="submit" { "Sign out" }
                }
            }
        }
    };
    let foot = html! {
        footer.foot {
            p { "everyline keeps no names and no addresses of customers. Nothing is changed at a storefront but the SKUs that you are shown and confirm, and nothing at a supplier." }
            @if may_look && page.is_live {
                p.script-only { "This page shows what is new by itself." }
                p.without-script { "Load this page again to see what is new: " a href=(path) { "load it now" } "." }
            }
            @if app.access.is_open() { p { "Whoever is at this machine may look and act; nobody else reaches this page." } }
        }
    };
    whole(
        &page.title,
        (may_look && page.is_live).then_some(seen),
        html! {
            (head)
            main #main tabindex="-1" { (page.body) }
            p #news .unseen role="status" {}
            (foot)
        },
    )
}

/// A page with nothing around it.
pub fn alone(title: &str, body: &Markup) -> String {
    whole(title, None, html! { main #main tabindex="-1" { (body) } })
}

/// A whole document; `seen` where it is told of changes: the last one that it shows, so that none between is missed.
fn whole(title: &str, seen: Option<u64>, body: Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" dir="ltr" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="robots" content="noindex, nofollow";
                title { (digest::clean(title)) " - everyline" }
                link rel="icon" href=(assets::mark()) type="image/svg+xml";
                link rel="stylesheet" href=(assets::style());
                script src=(assets::script()) defer {}
            }
            body data-events=[seen.map(|_| "/events")] data-seen=[seen] { (body) }
        }
    };
    page.into_string()
}

/// Four lines of an order, one of which did not arrive.
fn mark() -> Markup {
    html! {
        svg.mark viewBox="0 0 24 24" width="24" height="24" aria-hidden="true" focusable="false" {
            path d="M3 5h18M3 10h18M3 20h18" {}
            path.gap d="M3 15h7M15 15h1M19 15h2" {}
        }
    }
}
