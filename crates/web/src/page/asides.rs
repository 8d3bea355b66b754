//! What is set aside, and setting aside.
//!
//! Must not know what a finding is about. Start reading at [`show`].

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use maud::html;
use model::When;

use super::frame::Page;
use super::parts::{NOTE, SAID, Use, doubts, is_ours, read_up_to, said, saying, stamped, task};
use crate::asked::{Parameter, Takes};
use crate::desk::{Aside, Fault};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{Replying, Route};
use crate::view::{AsideTask, Asides, asides};
use crate::visit::Visit;

const FIELDS: &[Parameter] = &[
    Parameter::may("shop", Takes::Text(200), "whose the finding is"),
    Parameter::must("finding", Takes::Text(200), "its id"),
    Parameter::may("note", Takes::Text(NOTE * 4), "why, for whoever finds it later"),
    Parameter::may("until", Takes::Text(40), "until when"),
    Parameter::may("back", Takes::Text(4_000), "the page to go back to"),
];

const PAGE_ASKED: &[Parameter] = &[SAID];

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![
        Route::page("/set-aside", show).with(PAGE_ASKED),
        Route::post("/set-aside", FIELDS, set),
        Route::post("/take-back", FIELDS, take_back),
    ]
}

/// The view.
///
/// # Errors
/// Where the desk cannot say.
pub async fn view(visit: &Visit) -> Result<Asides, Problem> {
    let boards = visit.boards().await?;
    Ok(asides(&visit.desk().shops(), &boards, visit.now()))
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let view = view(&visit).await?;
        let of = Use::of(&visit);
        let body = html! {
            h1 { "Set aside" }
            (said(&visit))
            p { "What you do not want to see for now. It still stands, and comes back by itself: at the time that you said, or \
                 once what was found is something else." }
            div #state data-live { (doubts(&view.standing)) }
            section #list data-live aria-label="What is set aside" {
                h2.unseen { "Each of them" }
                @if view.tasks.is_empty() { div.empty { p.lead { "Nothing is set aside." } } }
                @for one in &view.tasks { (task(&one.task, Use { may_act: false, ..of }, &kept(one, of))) }
                @if (view.tasks.len() as u64) < view.in_all {
                    p.limit { "Showing " (view.tasks.len()) " of " (view.in_all) "." }
                }
            }
            div #read data-live { (read_up_to(&view.standing)) }
        };
        Ok(Reply::Page(Box::new(Page {
            title: "Set aside".to_owned(),
            place: Some("/set-aside"),
            is_live: true,
            body,
        })))
    })
}

/// Why and until when, and the way back.
fn kept(one: &AsideTask, of: Use<'_>) -> maud::Markup {
    html! {
        div.kept {
            p {
                "Set aside "
                @match &one.until { Some(until) => { "until " (until) }, None => "until it is something else" }
                ": " (one.note)
            }
            @if of.may_act {
                @for concerned in &one.task.concerned {
                    form method="post" action="/take-back" {
                        (stamped(of.stamp))
                        input type="hidden" name="shop" value=(concerned.shop);
                        input type="hidden" name="finding" value=(concerned.finding);
                        input type="hidden" name="back" value=(of.back);
                        button type="submit" {
                            "Take it back"
                            @if let Some(order) = &concerned.order_id {
                                span.unseen { ", order " (digest::cut(order.as_str(), 40)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn set(visit: Visit) -> Replying {
    Box::pin(async move {
        let shop = visit.shop()?;
        let note = visit.form.text("note").unwrap_or_default();
        let aside = checked(note, visit.form.text("until"), shop.zone, visit.now())?;
        let finding = visit.form.text("finding").unwrap_or_default();
        visit.desk().set_aside(&shop.id, finding, &aside).await?;
        Ok(Reply::look_at(&saying(back(&visit, "/queue"), "set-aside")))
    })
}

fn take_back(visit: Visit) -> Replying {
    Box::pin(async move {
        let shop = visit.shop()?;
        let finding = visit.form.text("finding").unwrap_or_default();
        visit.desk().take_back(&shop.id, finding).await?;
        Ok(Reply::look_at(&saying(back(&visit, "/set-aside"), "taken-back")))
    })
}

fn back<'v>(visit: &'v Visit, usual: &'static str) -> &'v str {
    visit.form.text("back").filter(|back| is_ours(back)).unwrap_or(usual)
}

/// What is to be kept: a note that says something, and a time still to come. A date is the end of that day in the shop's zone.
///
/// # Errors
/// What is wrong, and what to do.
pub fn checked(note: &str, until: Option<&str>, zone: Tz, now: DateTime<Utc>) -> Result<Aside, Fault> {
    let refused = |why: String, todo: &str| Fault::Refused { why, todo: todo.to_owned() };
    let note = note.trim();
    if note.is_empty() {
        return Err(refused("the note is empty".to_owned(), "say why, so that whoever finds it later knows"));
    }
    if note.chars().count() > NOTE {
        return Err(refused(format!("the note is longer than {NOTE} characters"), "say it more shortly"));
    }
    let until = match until.map(str::trim).filter(|until| !until.is_empty()) {
        None => None,
        Some(text) => {
            let until = When::parse(text, zone).map_err(|_| {
                refused(
                    format!("the time {:?} is none", digest::cut(text, 40)),
                    &format!("give {}", When::EXPECTED),
                )
            })?;
            Some(until.ends())
        }
    };
    if until.is_some_and(|until| until <= now) {
        return Err(refused("that time has passed already".to_owned(), "give a later one, or none"));
    }
    Ok(Aside { note: note.to_owned(), until })
}
