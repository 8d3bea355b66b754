//! The first step: files are given.
//!
//! They are passed on as they come, and never held as a whole. Must not know where they are put. Start reading at [`take`].

use axum::extract::Multipart;
use axum::extract::multipart::{Field, MultipartError};
use axum::http::StatusCode;
use maud::{Markup, html};

use super::{PLACE, megabytes, page, steps};
use crate::asked::{Parameter, Takes};
use crate::desk::{Bytes, Fault, GivenFile, GivenSupplier, GivenWords, Incoming};
use crate::guard::STAMP;
use crate::page::parts::stamped;
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::Replying;
use crate::view::{TrialBrief, Trials};
use crate::visit::Visit;

/// What was just done.
pub const SAID: &[Parameter] = &[Parameter::may("said", Takes::Word(|| vec!["done"]), "what was just done")];

/// Bytes of a supplier's name, a zone or a time.
const TEXT: usize = 100;

/// What a file input takes; whatever else is given is read by what it holds.
const KINDS: &str = ".csv,.tsv,.txt,.xlsx,.ods,.json,.jsonl,.ndjson,.jsonld";

pub fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let trials = visit.desk().trials().await?;
        let body = html! {
            h1 { "Try it with files" }
            @if visit.asked.text("said") == Some("done") {
                p.said role="status" { "Deleted: nothing of your files is left here." }
            }
            (steps(None, 0))
            p.lead {
                "Give the exports of your storefront and of your suppliers as they are. You see how everyline reads them, put it "
                "right where it is wrong, and see which lines nobody makes."
            }
            (under_way(&trials, &visit.who.stamp))
            (form(&trials, &visit.who.stamp))
        };
        page("Try it with files", body)
    })
}

/// Trials that somebody has not done with.
fn under_way(trials: &Trials, stamp: &str) -> Markup {
    html! {
        @if !trials.trials.is_empty() {
            section aria-labelledby="under-way" {
                h2 id="under-way" { "Under way" }
                ul.plain.trials { @for trial in &trials.trials { (brief(trial, stamp)) } }
            }
        }
    }
}

fn brief(trial: &TrialBrief, stamp: &str) -> Markup {
    html! {
        li {
            a href=(format!("{PLACE}/{}", trial.trial)) { "Go on with the files of " (trial.begun) }
            ": " @for (number, file) in trial.files.iter().enumerate() { @if number > 0 { ", " } (file) }
            "; deleted at " (trial.ends)
            form method="post" action=(format!("{PLACE}/{}/done", trial.trial)) {
                (stamped(stamp))
                button.quiet type="submit" { "Delete them now" span.unseen { ", of " (trial.begun) } }
            }
        }
    }
}

fn form(trials: &Trials, stamp: &str) -> Markup {
    let limits = &trials.limits;
    html! {
        form.give method="post" action=(PLACE) enctype="multipart/form-data" {
            // The first field: nothing is taken before it is known that the form is ours.
            (stamped(stamp))
            fieldset {
                legend { "Your storefront" }
                (files("storefront", "Its exports: orders with their lines, and what is on sale if you have it", true))
            }
            fieldset {
                legend { "A supplier" }
                (supplier(1))
            }
            @for number in 2..=limits.suppliers {
                details data-keep=(format!("supplier-{number}")) {
                    summary { (if number == 2 { "A second supplier" } else if number == 3 { "A third supplier" } else { "A further supplier" }) }
                    fieldset { legend.unseen { "Supplier " (number) } (supplier(number)) }
                }
            }
            details {
                summary { "Times: zone " (trials.zone) ", judged as of now" }
                label for="zone" { "The zone of times that do not say theirs" }
                input id="zone" type="text" name="zone" value=(trials.zone) maxlength=(TEXT) autocomplete="off";
                label for="as-of" { "Judged as of the end of (left empty: now)" }
                input id="as-of" type="date" name="as_of";
            }
            button type="submit" { "Read them" }
            p.small {
                "At most " (limits.files) " files, " (megabytes(limits.file_bytes)) " each and " (megabytes(limits.all_bytes))
                " together, with " (grouped(limits.rows)) " rows: CSV, xlsx, ods, JSON or JSON Lines. They stay on this machine, readable by "
                "everyline alone, and are deleted when you are done, after " (limits.kept_minutes) " minutes at the latest. Names and "
                "addresses of your customers in them are not shown and not kept."
            }
        }
    }
}

/// `50,000`.
fn grouped(number: usize) -> String {
    let (thousands, rest) = (number / 1_000, number % 1_000);
    if thousands == 0 { rest.to_string() } else { format!("{},{rest:03}", grouped(thousands)) }
}

fn supplier(number: usize) -> Markup {
    let id = format!("supplier-{number}");
    html! {
        label for=(id) { "Its name" }
        input id=(id) type="text" name=(id) maxlength=(TEXT) autocomplete="off" placeholder=(if number == 1 { "alder-print" } else { "" });
        (files(&format!("files-{number}"), "Its exports: orders with their lines, parcels, and what it makes", false))
    }
}

fn files(name: &str, label: &str, is_needed: bool) -> Markup {
    html! {
        div.drop data-drop {
            label for=(name) { (label) }
            input id=(name) type="file" name=(name) multiple required[is_needed] accept=(KINDS);
            p.script-only.small { "or drop them here" }
        }
    }
}

/// Where a field of the form belongs.
enum Part {
    Storefront,
    Supplier(usize),
    Name(usize),
    Zone,
    AsOf,
}

impl Part {
    fn of(name: &str, suppliers: usize) -> Option<Self> {
        let number = |text: &str| text.parse().ok().filter(|number| (1..=suppliers).contains(number));
        match name {
            "storefront" => Some(Self::Storefront),
            "zone" => Some(Self::Zone),
            "as_of" => Some(Self::AsOf),
            _ => match name.split_once('-')? {
                ("files", place) => number(place).map(Self::Supplier),
                ("supplier", place) => number(place).map(Self::Name),
                _ => None,
            },
        }
    }
}

/// Takes what is given.
pub fn take(mut visit: Visit) -> Replying {
    Box::pin(async move {
        let mut form = visit.files.take().ok_or_else(|| Problem::bad("no form was given"))?;
        let taken = take_all(&visit, &mut form).await;
        if taken.is_err() {
            // A browser that still sends would see no more than that the connection ended, and not why.
            while let Ok(Some(mut field)) = form.next_field().await {
                while let Ok(Some(_)) = field.chunk().await {}
            }
        }
        Ok(Reply::look_at(&format!("{PLACE}/{}", taken?)))
    })
}

/// Passes all on; the id of the trial.
async fn take_all(visit: &Visit, form: &mut Multipart) -> Result<String, Problem> {
    let suppliers = visit.desk().trials().await?.limits.suppliers;
    let mut receiving = visit.desk().begin_trial().await?;
    let mut names = vec![String::new(); suppliers + 1];
    let mut how = GivenWords::default();
    while let Some(field) = form.next_field().await.map_err(|error| broken(&error))? {
        let name = field.name().unwrap_or_default();
        let part = Part::of(name, suppliers)
            .ok_or_else(|| Problem::bad(format!("{:?} is no field of this form", digest::cut(name, 40))))?;
        let supplier = match part {
            Part::Storefront => None,
            Part::Supplier(number) => Some(GivenSupplier { number, name: names[number].clone() }),
            Part::Name(number) => {
                names[number] = text(field).await?;
                continue;
            }
            Part::Zone => {
                how.zone = text(field).await?;
                continue;
            }
            Part::AsOf => {
                how.as_of = text(field).await?;
                continue;
            }
        };
        let name = field.file_name().unwrap_or_default().to_owned();
        let mut coming = Coming(field);
        if name.is_empty() {
            // Of a field without files a browser sends one without a name, in which there is nothing.
            if coming.next().await?.is_some_and(|more| !more.is_empty()) {
                return Err(Problem::bad("a file has no name"));
            }
            continue;
        }
        receiving.put(GivenFile { supplier, name }, &mut coming).await?;
    }
    Ok(receiving.finish(how).await?)
}

/// A short text on one line.
async fn text(field: Field<'_>) -> Result<String, Problem> {
    let name = digest::cut(field.name().unwrap_or(STAMP), 40).into_owned();
    let mut coming = Coming(field);
    let mut text = Vec::new();
    while let Some(more) = coming.next().await? {
        text.extend_from_slice(&more);
        if text.len() > TEXT {
            return Err(Problem::bad(format!("{name} is longer than {TEXT} bytes")));
        }
    }
    let text = String::from_utf8(text).map_err(|_| Problem::bad(format!("{name} is not UTF-8")))?;
    match text.chars().any(char::is_control) {
        true => Err(Problem::bad(format!("{name} has control characters; expected is text on one line"))),
        false => Ok(text.trim().to_owned()),
    }
}

/// The bytes of a field, as they come.
struct Coming<'f>(Field<'f>);

impl Incoming for Coming<'_> {
    fn next(&mut self) -> Bytes<'_> {
        Box::pin(async move {
            let more = self.0.chunk().await.map_err(|error| fault(&error))?;
            Ok(more.map(|bytes| bytes.to_vec()))
        })
    }
}

fn fault(error: &MultipartError) -> Fault {
    let todo = "nothing was kept; give fewer days at once, or use `everyline audit --from DIR`".to_owned();
    match error.status() {
        StatusCode::PAYLOAD_TOO_LARGE => Fault::Refused {
            why: "the files are larger together than what is taken at once".to_owned(),
            todo,
        },
        _ => Fault::Refused {
            why: "the files did not come whole".to_owned(),
            todo: "nothing was kept; give them again".to_owned(),
        },
    }
}

fn broken(error: &MultipartError) -> Problem {
    fault(error).into()
}
