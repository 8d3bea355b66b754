//! The page of what cannot be shown or done.
//!
//! Must not know why. Start reading at [`page`].

use maud::{Markup, html};

use super::frame::{Page, alone};
use crate::problem::Problem;

/// The page.
pub fn page(problem: &Problem) -> Page {
    Page { title: problem.title().to_owned(), place: None, is_live: false, body: body(problem, true) }
}

/// The same with nothing around it, for somebody of whom nothing is known.
pub fn bare(problem: &Problem) -> String {
    alone(problem.title(), &body(problem, false))
}

fn body(problem: &Problem, leads_on: bool) -> Markup {
    html! {
        section.problem {
            h1 { (problem.title()) }
            p.lead { (sentence(&problem.detail)) }
            @if !problem.todo.is_empty() { p { "What to do: " (digest::clean(problem.todo.as_str())) "." } }
            @if leads_on { p { a href="/queue" { "To what is to be done" } } }
            p.small { "Status " (problem.status.as_u16()) }
        }
    }
}

/// The text as a sentence.
fn sentence(text: &str) -> String {
    let text = digest::clean(text);
    let mut letters = text.chars();
    let capital: String =
        letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default();
    format!("{}.", capital.trim_end_matches('.'))
}
