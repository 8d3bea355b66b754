//! What several pages have: a thing to do, how a finding is set aside, up to when sources were read, pages of a list.
//!
//! Must not know which page it stands on. Start reading at [`task`].

use maud::{Markup, html};
use model::Check;
use url::form_urlencoded;

use crate::asked::{Parameter, Takes};
use crate::guard::STAMP;
use crate::route::May;
use crate::view::{Concerned, Standing, Task, Urgency, check_name};
use crate::visit::Visit;

/// The most bytes of a note.
pub const NOTE: usize = 500;

/// The parameter by which a page says what was just done.
pub const SAID: Parameter =
    Parameter::may("said", Takes::Word(|| vec!["set-aside", "taken-back"]), "what was just done");

/// A hidden field with the stamp of whoever asks, without which a form is not taken.
pub fn stamped(stamp: &str) -> Markup {
    html! { input type="hidden" name=(STAMP) value=(stamp); }
}

/// Whether it is the path of a page of ours. A browser takes a backslash for a slash, and two of them for the beginning of
/// another host (URL Standard).
pub fn is_ours(path: &str) -> bool {
    path.starts_with('/')
        && !path.starts_with("//")
        && path.bytes().all(|byte| byte.is_ascii_graphic() && byte != b'\\')
}

/// The path with what was just done.
pub fn saying(path: &str, said: &str) -> String {
    let (place, query) = path.split_once('?').unwrap_or((path, ""));
    let mut address = form_urlencoded::Serializer::new(String::new());
    address.extend_pairs(form_urlencoded::parse(query.as_bytes()).filter(|(name, _)| name != SAID.name));
    address.append_pair(SAID.name, said);
    format!("{place}?{}", address.finish())
}

/// What was just done.
pub fn said(visit: &Visit) -> Markup {
    let words = match visit.asked.text(SAID.name) {
        Some("set-aside") => {
            "Set aside. It stands on the page “Set aside” with your note, and comes back by itself."
        }
        Some("taken-back") => "Taken back: it is shown among what is to be done again.",
        _ => return html! {},
    };
    html! { p.said role="status" { (words) } }
}

/// How a page may be used by whoever looks at it.
#[derive(Clone, Copy)]
pub struct Use<'u> {
    /// Whether they may act.
    pub may_act: bool,
    /// Where they are, to come back to.
    pub back: &'u str,
    /// What their forms bring along.
    pub stamp: &'u str,
    /// Where the list is of which this is a part.
    pub queue: &'u str,
}

impl<'u> Use<'u> {
    /// Of a visit.
    pub fn of(visit: &'u Visit) -> Self {
        Self {
            may_act: visit.who.may >= May::Act,
            back: &visit.path,
            stamp: &visit.who.stamp,
            queue: "/queue",
        }
    }
}

/// The class of an urgency; its words stand beside it.
pub fn tone(urgency: Urgency) -> &'static str {
    urgency.word()
}

/// A thing to do. `more` stands below it.
pub fn task(task: &Task, of: Use<'_>, more: &Markup) -> Markup {
    let (left, by) = when(task);
    html! {
        article.task.(tone(task.urgency)) id=(format!("task-{}", task.key)) data-key=(task.key) {
            p.time {
                strong { (left) }
                @if let Some(by) = by { " " span { (by) } }
                @if let Some(supplier) = &task.cut_off_of { " " span { "at " bdi { (supplier) } } }
            }
            div.words {
                @if let Some(shop) = &task.shop { p.shop { "Shop " bdi { (shop) } } }
                h3 { (task.head) }
                p.do { b { "Do: " } (task.todo) @if let Some(question) = &task.question { " " (question) } }
                p.facts {
                    @if let Some(value) = task.value_at_risk { span { b { (value.to_string()) } " at stake" } }
                    span { "found " (task.since) }
                    span.check { (checks(task)) }
                }
                @if let [only] = &task.concerned[..] {
                    (one(only, of))
                } @else {
                    (several(task, of))
                }
                (more)
            }
        }
    }
}

/// `2 h 10 min left`, and `by 14:00 today`.
fn when(task: &Task) -> (Markup, Option<Markup>) {
    let Some(when) = &task.when else {
        return (
            html! { (match task.urgency { Urgency::Watch => "To watch", other => other.name() }) },
            None,
        );
    };
    let parts = when.as_str().split_once(", ").or_else(|| when.as_str().split_once("; "));
    match parts {
        Some((left, by)) => (html! { (left) }, Some(html! { (by) })),
        None => (html! { (when) }, None),
    }
}

fn checks(task: &Task) -> String {
    let mut checks: Vec<Check> = task.concerned.iter().map(|concerned| concerned.check).collect();
    checks.sort_unstable();
    checks.dedup();
    checks.into_iter().map(|check| check_name(check.word())).collect::<Vec<_>>().join(", ")
}

fn one(concerned: &Concerned, of: Use<'_>) -> Markup {
    html! {
        div.acts {
            @if let (Some(page), Some(order)) = (&concerned.page, &concerned.order_id) {
                a href=(page) { "Order " bdi { (digest::cut(order.as_str(), 40)) } ", side by side" }
            }
            (set_aside(&concerned.shop, &concerned.finding, None, of))
        }
    }
}

/// Orders of a cause that stand there at once; the others are a click away.
const ORDERS_AT_ONCE: usize = 5;

fn order_of(concerned: &Concerned, of: Use<'_>) -> Markup {
    html! {
        li {
            span {
                @match (&concerned.page, &concerned.words) {
                    (Some(page), Some(words)) => a href=(page) { (words) },
                    (None, Some(words)) => (words),
                    _ => (check_name(concerned.check.word())),
                }
            }
            (set_aside(&concerned.shop, &concerned.finding, concerned.order_id.as_ref().map(|id| id.as_str()), of))
        }
    }
}

fn several(task: &Task, of: Use<'_>) -> Markup {
    let listed = task.concerned.len() as u64;
    // One more than that is as short as to say that there is one more.
    let at_once =
        if task.concerned.len() <= ORDERS_AT_ONCE + 1 { task.concerned.len() } else { ORDERS_AT_ONCE };
    let (first, others) = task.concerned.split_at(at_once);
    html! {
        ul.orders { @for concerned in first { (order_of(concerned, of)) } }
        @if !others.is_empty() {
            details.others data-keep=(format!("others-{}", task.key)) {
                summary { (others.len()) " more orders" }
                ul.orders { @for concerned in others { (order_of(concerned, of)) } }
            }
        }
        @if listed < task.concerned_in_all {
            p.limit {
                "Showing " (listed) " of " (task.concerned_in_all) " orders. "
                @if let Some(first) = task.concerned.first() {
                    a href=(format!("{}?finding={}", of.queue, first.finding)) { "Show all of them" }
                }
            }
        }
    }
}

/// Of what is proposed: that its supplier cannot make it now.
pub fn not_made_now() -> Markup {
    html! {
        p.wrong { "The supplier says that it cannot make it now: choose another, or tell the customer." }
    }
}

/// How a finding is set aside; nothing for whoever may only look.
pub fn set_aside(shop: &str, finding: &str, order: Option<&str>, of: Use<'_>) -> Markup {
    if !of.may_act {
        return html! {};
    }
    let id = |field: &str| format!("{field}-{shop}-{finding}");
    html! {
        details.aside data-keep=(format!("aside-{shop}-{finding}")) {
            summary {
                "Set aside"
                @if let Some(order) = order { span.unseen { " order " (digest::cut(order, 40)) } }
                "…"
            }
            form method="post" action="/set-aside" {
                (stamped(of.stamp))
                input type="hidden" name="shop" value=(shop);
                input type="hidden" name="finding" value=(finding);
                input type="hidden" name="back" value=(of.back);
                label for=(id("note")) { "Why, for whoever finds it later" }
                input id=(id("note")) type="text" name="note" required maxlength=(NOTE) autocomplete="off";
                label for=(id("until")) { "Until the end of (left empty: until what was found is something else)" }
                input id=(id("until")) type="date" name="until";
                button type="submit" { "Set it aside" }
            }
        }
    }
}

/// What is not known, where not all is.
pub fn doubts(standing: &[Standing]) -> Markup {
    let doubted: Vec<&Standing> = standing.iter().filter(|standing| !standing.is_known).collect();
    html! {
        @if !doubted.is_empty() {
            div.doubt {
                @for one in doubted {
                    p {
                        strong { "Not all is known" @if standing.len() > 1 { " of shop " bdi { (one.shop) } } ": " }
                        @if let Some(doubt) = &one.doubt { (doubt) "." }
                        @for source in one.sources.iter().filter(|source| source.is_behind) {
                            " " bdi { (source.source) }
                            @match &source.read_up_to {
                                Some(at) => { " was last read as it stood " (at) "." }
                                None => { " has never been read to its end." }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Up to when the sources were read.
pub fn read_up_to(standing: &[Standing]) -> Markup {
    html! {
        div.read {
            @for one in standing {
                details data-keep=(format!("read-{}", one.shop)) {
                    summary {
                        @if standing.len() > 1 { "Shop " bdi { (one.shop) } ": " }
                        @match &one.as_of {
                            Some(as_of) => {
                                "As things stood " (as_of) ", " (one.zone) " time; "
                                (one.orders) " orders with " (one.lines) " lines checked"
                            }
                            None => "Not looked at yet",
                        }
                    }
                    @if one.sources.is_empty() {
                        p { "No source is declared." }
                    } @else {
                        table {
                            caption.unseen { "Up to when each source was read" }
                            tr { th scope="col" { "Source" } th scope="col" { "Read up to" } th scope="col" { "What is the matter" } }
                            @for source in &one.sources {
                                tr {
                                    th scope="row" { bdi { (source.source) } }
                                    td {
                                        @match &source.read_up_to {
                                            Some(at) => (at),
                                            None => "never to its end",
                                        }
                                        @if source.is_behind { strong { " - behind" } }
                                    }
                                    td { @match &source.trouble { Some(trouble) => (trouble), None => "nothing" } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The ways to the other pages of a list; `address` makes the address of one.
pub fn pages(page: u64, pages: u64, address: impl Fn(u64) -> String) -> Markup {
    html! {
        @if pages > 1 {
            nav.pages aria-label="Pages of this list" {
                @if page > 1 { a rel="prev" href=(address(page - 1)) { "Earlier" } }
                span { "Page " (page) " of " (pages) }
                @if page < pages { a rel="next" href=(address(page + 1)) { "Further" } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_path_of_ours_is_gone_back_to() {
        for (path, want) in [
            ("/queue?check=late", true),
            ("/orders/KK-1?shop=kittiwake", true),
            ("//evil.example", false),
            ("/\\evil.example", false),
            ("https://evil.example", false),
            ("", false),
            ("/a\r\nSet-Cookie: b", false),
            ("/ä", false),
        ] {
            assert_eq!(is_ours(path), want, "{path}");
        }
        assert_eq!(
            saying("/queue?check=late&said=set-aside", "taken-back"),
            "/queue?check=late&said=taken-back"
        );
        assert_eq!(saying("/queue", "set-aside"), "/queue?said=set-aside");
    }
}
