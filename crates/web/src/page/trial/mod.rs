//! Files tried on the page: given, read by a proposed mapping, judged, and the mapping kept.
//!
//! Must not know how a mapping is found or a file read. Start reading at [`routes`]; each step has its file.

mod findings;
mod give;
mod kept;
mod mapping;

use axum::http::Method;
use maud::{Markup, html};
use schemars::JsonSchema;
use serde::Deserialize;

use super::frame::Page;
use super::parts::stamped;
use crate::asked::{Parameter, Takes, whole};
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::{May, Replying, Route};
use crate::view;
use crate::view::TrialLimits;
use crate::visit::Visit;

/// Where it begins.
const PLACE: &str = "/try";

/// Bytes that stand between the files of a form: the heads of its parts and its other fields.
const BESIDE_FILES: usize = 64 * 1024;

const PLACES: &[Parameter] = &[Parameter::must("trial", Takes::Text(64), "the id of the trial")];

const KEEP: &[Parameter] = &[Parameter::may("shop", Takes::Text(200), "for whose configuration")];

/// What is said of a mapping.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Answers {
    /// `shown` of the trial.
    #[serde(deserialize_with = "whole")]
    shown: u64,
    /// The values of the choices.
    answers: Vec<String>,
}

/// The routes.
pub fn routes() -> Vec<Route> {
    let most = usize::try_from(TrialLimits::USUAL.all_bytes).unwrap_or(usize::MAX);
    let json = |method, path, says, run| Route::json(method, path, says, run).for_those_who(May::Act);
    vec![
        Route::page(PLACE, give::show).for_those_who(May::Act).with(give::SAID),
        Route::files(PLACE, most.saturating_add(BESIDE_FILES), give::take),
        Route::page("/try/{trial}", mapping::show).for_those_who(May::Act).at(PLACES).with(mapping::SAID),
        Route::post("/try/{trial}/answer", mapping::FIELDS, mapping::answer).at(PLACES).of_at_most(64 * 1024),
        Route::page("/try/{trial}/findings", findings::show)
            .for_those_who(May::Act)
            .at(PLACES)
            .with(findings::ASKED),
        Route::post("/try/{trial}/keep", KEEP, kept::keep).at(PLACES),
        Route::page("/try/{trial}/kept", kept::show).for_those_who(May::Act).at(PLACES),
        Route::post("/try/{trial}/done", &[], done).at(PLACES),
        json(Method::GET, "/api/trials", "What may be tried, and the trials that are under way.", get_all)
            .answers::<view::Trials>(),
        json(
            Method::GET,
            "/api/trials/{trial}",
            "The mapping that is proposed for the files of a trial.",
            get,
        )
        .at(PLACES)
        .answers::<view::Trial>(),
        json(
            Method::POST,
            "/api/trials/{trial}/answers",
            "Takes corrections of a mapping. Refused where another state of it was shown.",
            answer_json,
        )
        .at(PLACES)
        .takes::<Answers>()
        .of_at_most(64 * 1024),
        json(
            Method::GET,
            "/api/trials/{trial}/findings",
            "What is found in the files of a trial.",
            findings::get,
        )
        .at(PLACES)
        .with(findings::ASKED)
        .answers::<view::TrialFindings>(),
        json(Method::DELETE, "/api/trials/{trial}", "Deletes the files of a trial.", end).at(PLACES),
    ]
}

fn trial_of(visit: &Visit) -> &str {
    visit.asked.text("trial").unwrap_or_default()
}

fn get_all(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&visit.desk().trials().await?) })
}

fn get(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&*visit.desk().trial(trial_of(&visit)).await?) })
}

fn answer_json(visit: Visit) -> Replying {
    Box::pin(async move {
        let given: Answers = visit.json()?;
        visit.desk().answer_trial(trial_of(&visit), given.shown, &given.answers).await?;
        Ok(Reply::done())
    })
}

fn end(visit: Visit) -> Replying {
    Box::pin(async move {
        visit.desk().end_trial(trial_of(&visit)).await?;
        Ok(Reply::done())
    })
}

fn done(visit: Visit) -> Replying {
    Box::pin(async move {
        visit.desk().end_trial(trial_of(&visit)).await?;
        Ok(Reply::look_at(&format!("{PLACE}?said=done")))
    })
}

/// A page of a trial.
fn page(title: &str, body: Markup) -> Result<Reply, Problem> {
    Ok(Reply::Page(Box::new(Page { title: title.to_owned(), place: Some(PLACE), is_live: false, body })))
}

/// The steps, with where one is; the first is behind whoever has a trial.
fn steps(trial: Option<&str>, at: usize) -> Markup {
    const STEPS: [(&str, &str); 4] =
        [("", "Give files"), ("", "How they are read"), ("/findings", "What is found"), ("/kept", "Keep it")];
    html! {
        ol.steps aria-label="Steps" {
            @for (number, (path, name)) in STEPS.into_iter().enumerate() {
                li aria-current=[(number == at).then_some("step")] {
                    span.number { (number + 1) } " "
                    @match trial {
                        Some(trial) if number > 0 && number != at => {
                            a href=(format!("{PLACE}/{trial}{path}")) { (name) }
                        }
                        _ => span { (name) },
                    }
                }
            }
        }
    }
}

/// That the files are deleted, and the way to do it now.
fn ending(trial: &str, stamp: &str, until: &view::Moment) -> Markup {
    html! {
        form.ending method="post" action=(format!("{PLACE}/{trial}/done")) {
            (stamped(stamp))
            p {
                "Your files are on this machine alone. They are deleted when you say so, when everyline stops, or at "
                (until) "."
            }
            button.quiet type="submit" { "Done: delete my files now" }
        }
    }
}

/// `8 MB`.
fn megabytes(bytes: u64) -> String {
    format!("{} MB", bytes >> 20)
}
