//! What is to be done, by time left.
//!
//! Must not know how a thing is worded. Start reading at [`show`].

use maud::{Markup, html};

use super::frame::Page;
use super::parts::{SAID, Use, doubts, pages, read_up_to, said, task};
use crate::asked::{Asked, Parameter, Takes};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::view::{Age, Filter, Queue, QueueAsked, Urgency, queue};
use crate::visit::Visit;

/// Bytes of the longest name that is asked for.
const NAME: usize = 200;

/// How the queue is narrowed.
pub const NARROWED: &[Parameter] = &[
    Parameter::may("shop", Takes::Text(NAME), "only of this shop"),
    Parameter::may("supplier", Takes::Text(NAME), "only what concerns this supplier"),
    Parameter::may(
        "check",
        Takes::Word(|| model::Check::ALL.iter().map(|check| check.word()).collect()),
        "only of this check",
    ),
    Parameter::may(
        "urgency",
        Takes::Word(|| Urgency::ALL.map(Urgency::word).into()),
        "only what is so urgent: now (can still be put right at the supplier), repair (past the cut-off), watch",
    ),
    Parameter::may(
        "age",
        Takes::Word(|| Age::ALL.map(Age::word).into()),
        "only what was found within the last hour, day or week, or longer ago",
    ),
    Parameter::may("finding", Takes::Text(NAME), "only the things to do that this finding belongs to"),
    Parameter::may("page", Takes::Number(1, 100_000), "which page of the list"),
];

const PAGE_ASKED: &[Parameter] =
    &[NARROWED[0], NARROWED[1], NARROWED[2], NARROWED[3], NARROWED[4], NARROWED[5], NARROWED[6], SAID];

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![Route::page("/", show).with(PAGE_ASKED), Route::page("/queue", show).with(PAGE_ASKED)]
}

/// The view that is asked for.
///
/// # Errors
/// Where the desk cannot say.
pub async fn view(visit: &Visit) -> Result<Queue, Problem> {
    let asked = asked(&visit.asked);
    let boards = visit.boards().await?;
    Ok(queue(&visit.desk().shops(), &boards, &asked, visit.now()))
}

/// What is asked for, as the view has it.
pub fn asked(asked: &Asked) -> QueueAsked {
    let text = |name: &str| asked.text(name).map(str::to_owned);
    let urgency = asked.text("urgency");
    let age = asked.text("age");
    QueueAsked {
        shop: text("shop"),
        supplier: text("supplier"),
        check: asked.of("check"),
        urgency: Urgency::ALL.into_iter().find(|one| Some(one.word()) == urgency),
        age: Age::ALL.into_iter().find(|one| Some(one.word()) == age),
        finding: text("finding"),
        page: asked.of("page").unwrap_or(1),
    }
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let queue = view(&visit).await?;
        let is_narrowed = asked(&visit.asked).is_narrowed();
        let of = Use::of(&visit);
        let body = html! {
            h1 { "To do" }
            (said(&visit))
            div #state data-live { (tallies(&queue, &visit.asked, "/queue")) (doubts(&queue.standing)) }
            div #read data-live { (read_up_to(&queue.standing)) }
            (narrowing(&queue, is_narrowed))
            section #list data-live aria-label="What is to be done" { (list(&queue, is_narrowed, of, &visit.asked)) }
            p.small {
                "Each thing leaves this list by itself, once its cause is gone and that has been read. Nothing can be ticked \
                 off; what you do not want to see for now can be set aside."
            }
        };
        Ok(Reply::Page(Box::new(Page { title: title(&queue), place: Some("/queue"), is_live: true, body })))
    })
}

/// `3 to put right now - To do`: what stands in the tab of a browser.
fn title(queue: &Queue) -> String {
    let now = queue
        .filters
        .iter()
        .find(|filter| filter.name == "urgency")
        .and_then(|filter| filter.choices.first());
    match now.map_or(0, |choice| choice.findings) {
        0 => "To do".to_owned(),
        number => format!("{number} to put right now - To do"),
    }
}

/// How much there is of each urgency, each the way to it; `here` is where the list is.
pub fn tallies(queue: &Queue, asked: &Asked, here: &str) -> Markup {
    let Some(urgencies) = queue.filters.iter().find(|filter| filter.name == "urgency") else {
        return html! {};
    };
    html! {
        ul.tallies {
            @for choice in &urgencies.choices {
                li.(choice.value) {
                    a href=(format!("{here}{}", asked.address(&[
                        ("urgency", (!choice.is_chosen).then_some(&choice.value)), ("page", None), ("said", None),
                    ]))) aria-current=[choice.is_chosen.then_some("true")] {
                        b { (choice.findings) } " " span { (choice.label) }
                    }
                }
            }
            @if queue.set_aside > 0 {
                li.kept { a href="/set-aside" { b { (queue.set_aside) } " " span { "Set aside" } } }
            }
        }
    }
}

/// The form by which the queue is narrowed.
fn narrowing(queue: &Queue, is_narrowed: bool) -> Markup {
    html! {
        details.narrow data-keep="narrow" open[is_narrowed] {
            summary { "Show only some" }
            form method="get" action="/queue" {
                @for filter in &queue.filters { (field(filter)) }
                div.buttons {
                    button type="submit" { "Show these" }
                    @if is_narrowed { a href="/queue" { "Show all" } }
                }
            }
        }
    }
}

fn field(filter: &Filter) -> Markup {
    let id = format!("by-{}", filter.name);
    html! {
        div {
            label for=(id) { (filter.label) }
            select id=(id) name=(filter.name) {
                option value="" { "any" }
                @for choice in &filter.choices {
                    option value=(choice.value) selected[choice.is_chosen] {
                        (choice.label.plain()) " (" (choice.findings) ")"
                    }
                }
            }
        }
    }
}

/// The things to do, by urgency.
pub fn list(queue: &Queue, is_narrowed: bool, of: Use<'_>, asked: &Asked) -> Markup {
    if queue.tasks.is_empty() {
        return empty(queue, is_narrowed, of.queue);
    }
    let last = queue.first + queue.tasks.len() as u64 - 1;
    let address = |page: u64| {
        let page = page.to_string();
        format!("{}{}", of.queue, asked.address(&[("page", Some(page.as_str())), ("said", None)]))
    };
    let nothing = html! {};
    html! {
        p.limit {
            "Showing " (queue.first) " to " (last) " of " (queue.tasks_in_all) " things to do, by time left; they stand for "
            (queue.fitting) " findings"
            @if queue.fitting < queue.findings { " of " (queue.findings) }
            "."
        }
        @for urgency in Urgency::ALL {
            @let own: Vec<_> = queue.tasks.iter().filter(|task| task.urgency == urgency).collect();
            @if !own.is_empty() {
                h2.(urgency.word()) id=(format!("group-{}", urgency.word())) { (urgency.name()) }
                @for one in own { (task(one, of, &nothing)) }
            }
        }
        (pages(queue.page, queue.pages, address))
    }
}

/// Nothing is to be done; or nothing of what is asked for, or as far as is known.
fn empty(queue: &Queue, is_narrowed: bool, here: &str) -> Markup {
    let (orders, lines) = queue
        .standing
        .iter()
        .fold((0, 0), |(orders, lines), standing| (orders + standing.orders, lines + standing.lines));
    html! {
        div.empty {
            @if is_narrowed && queue.findings > 0 {
                p.lead { "Nothing of that is to be done." }
                p { a href=(here) { "Show all " (queue.findings) " findings" } }
            } @else if queue.is_known {
                p.lead { "Nothing is to be done." }
                p { (orders) " orders with " (lines) " lines were checked." }
            } @else {
                p.lead { "Nothing is known yet that is to be done." }
                p { "That is not the same as nothing: not all is known, see above." }
            }
        }
    }
}
