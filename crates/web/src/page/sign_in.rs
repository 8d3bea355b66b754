//! Signing in and out.
//!
//! Must not know passwords. Start reading at [`page`].

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use maud::html;

use super::frame::{Page, alone};
use super::parts::{is_ours, stamped};
use crate::access::NewCookie;
use crate::asked::{Parameter, Takes};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{May, Replying, Route};
use crate::visit::Visit;

const FIELDS: &[Parameter] = &[
    Parameter::may("password", Takes::Text(1_000), "the password"),
    Parameter::may("to", Takes::Text(4_000), "where to go then"),
];

/// The routes.
pub fn routes() -> Vec<Route> {
    vec![
        Route::page("/sign-in", show).for_those_who(May::Anybody),
        Route::post("/sign-in", FIELDS, sign_in).for_those_who(May::Anybody),
        Route::post("/sign-out", &[], sign_out).for_those_who(May::Anybody),
    ]
}

/// The page on which somebody signs in, to go on to `to`.
pub fn page(to: &str, wrong: Option<&str>, stamp: &str) -> Page {
    Page {
        title: "Sign in".to_owned(),
        place: None,
        is_live: false,
        body: html! {
            section.sign-in {
                h1 { "Sign in" }
                @if let Some(wrong) = wrong { p.wrong role="alert" { (wrong) } }
                form method="post" action="/sign-in" {
                    input type="hidden" name="to" value=(to);
                    (stamped(stamp))
                    label for="password" { "Password" }
                    input #password type="password" name="password" autocomplete="current-password" required autofocus;
                    button type="submit" { "Sign in" }
                }
                p.small { "The password was set on the machine on which everyline runs." }
            }
        },
    }
}

fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        if !visit.app.access.has_passwords() {
            return Ok(Reply::look_at("/queue"));
        }
        Ok(Reply::Page(Box::new(page("/queue", None, &visit.who.stamp))))
    })
}

fn sign_in(visit: Visit) -> Replying {
    Box::pin(async move {
        let to = visit.form.text("to").filter(|to| is_ours(to)).unwrap_or("/queue");
        let password = visit.form.text("password").unwrap_or_default();
        match visit.app.access.sign_in(visit.peer, password, visit.who.cookie.as_deref()).await {
            Ok(Some(cookie)) => Ok(with_cookie(Reply::look_at(to), cookie)),
            Ok(None) => {
                Ok(Reply::Page(Box::new(page(to, Some("That is not the password."), &visit.who.stamp))))
            }
            Err(wait) => {
                let seconds = wait.as_secs().max(1);
                let problem = Problem::new(
                    StatusCode::TOO_MANY_REQUESTS,
                    format!("the password was wrong too often; the next try is possible in {seconds} s"),
                    "wait so long, and try again",
                );
                let after = HeaderValue::from(seconds);
                Err(problem.with(header::RETRY_AFTER, after))
            }
        }
    })
}

fn sign_out(visit: Visit) -> Replying {
    Box::pin(async move {
        let taken = visit.app.access.sign_out(&visit.who);
        Ok(with_cookie(Reply::look_at("/sign-in"), taken))
    })
}

fn with_cookie(reply: Reply, cookie: NewCookie) -> Reply {
    match reply {
        Reply::Whole(mut answer) => {
            answer.headers_mut().insert(header::SET_COOKIE, cookie.line);
            Reply::Whole(answer)
        }
        page @ Reply::Page(_) => page,
    }
}

/// Loads the same page again, from ours: a browser keeps the cookie back from whoever follows a link in a mail.
pub fn come_back(path: &str) -> Response {
    let path = if is_ours(path) { path } else { "/queue" };
    let body = html! {
        meta http-equiv="refresh" content=(format!("0; url={path}"));
        p { "You come from another page. " a href=(path) { "Go on" } "." }
    };
    Html(alone("One moment", &body)).into_response()
}
