//! The second step: how the files are read, as sentences, what is open first.
//!
//! Must not know how a mapping is found. Start reading at [`show`].

use maud::{Markup, html};

use super::{PLACE, ending, page, steps, trial_of};
use crate::asked::{Parameter, Takes};
use crate::page::parts::stamped;
use crate::reply::Reply;
use crate::route::Replying;
use crate::view::{Trial, TrialChoice, TrialField, TrialPoint, TrialSource, TrialTable, TrialWord};
use crate::visit::Visit;

/// What was just done.
pub const SAID: &[Parameter] = &[Parameter::may("said", Takes::Word(|| vec!["taken"]), "what was just done")];

/// The fields of a form, one for each choice in it. What more there is stands in the form after this one is sent.
macro_rules! fields {
    ($($name:literal)+) => {
        const CHOICES: &[&str] = &[$($name),+];
        pub const FIELDS: &[Parameter] = &[
            Parameter::must("shown", Takes::Number(0, u32::MAX), "the state of the mapping that was shown"),
            Parameter::may("to", Takes::Word(|| vec!["findings"]), "the step to go to then"),
            $(Parameter::may($name, Takes::Text(200), "a choice")),+
        ];
    };
}

fields!(
    "c0" "c1" "c2" "c3" "c4" "c5" "c6" "c7" "c8" "c9" "c10" "c11" "c12" "c13" "c14" "c15" "c16" "c17" "c18" "c19"
    "c20" "c21" "c22" "c23" "c24" "c25" "c26" "c27" "c28" "c29" "c30" "c31" "c32" "c33" "c34" "c35" "c36" "c37" "c38"
    "c39" "c40" "c41" "c42" "c43" "c44" "c45" "c46" "c47" "c48" "c49" "c50" "c51" "c52" "c53" "c54" "c55" "c56" "c57"
    "c58" "c59" "c60" "c61" "c62" "c63" "c64" "c65" "c66" "c67" "c68" "c69" "c70" "c71" "c72" "c73" "c74" "c75" "c76"
    "c77" "c78" "c79"
);

/// Takes what was chosen.
pub fn answer(visit: Visit) -> Replying {
    Box::pin(async move {
        let shown = visit.form.of("shown").unwrap_or_default();
        let said = CHOICES.iter().filter_map(|name| visit.form.text(name)).map(str::to_owned);
        let said: Vec<String> = said.collect();
        let trial = trial_of(&visit);
        visit.desk().answer_trial(trial, shown, &said).await?;
        Ok(Reply::look_at(&match visit.form.text("to") {
            Some(step) => format!("{PLACE}/{trial}/{step}"),
            None => format!("{PLACE}/{trial}?said=taken"),
        }))
    })
}

pub fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let trial = visit.desk().trial(trial_of(&visit)).await?;
        let stamp = visit.who.stamp.as_str();
        let body = html! {
            h1 { "How your files are read" }
            @if visit.asked.text("said") == Some("taken") {
                p.said role="status" { "Taken: the files were read again by what you said." }
            }
            (steps(Some(&trial.trial), 1))
            (points(&trial, stamp))
            @if trial.can_be_judged {
                p.onward { a.go href=(format!("{PLACE}/{}/findings", trial.trial)) { "See what is found" } }
            } @else if let Some(why) = &trial.not_judged {
                p.doubt { (why) }
            }
            p.small { "Times that do not say their zone are read as those of " (trial.zone) "." }
            @for source in &trial.sources { (of_source(&trial, source, stamp)) }
            (ending(&trial.trial, stamp, &trial.ends))
        };
        let title = match trial.points_in_all {
            0 => "How your files are read".to_owned(),
            number => format!("{number} open - How your files are read"),
        };
        page(&title, body)
    })
}

/// The beginning of a form of choices.
fn form(trial: &Trial, stamp: &str, inside: &Markup) -> Markup {
    html! {
        form method="post" action=(format!("{PLACE}/{}/answer", trial.trial)) {
            (stamped(stamp))
            input type="hidden" name="shown" value=(trial.shown);
            (inside)
        }
    }
}

fn points(trial: &Trial, stamp: &str) -> Markup {
    if trial.points.is_empty() {
        return html! {
            @if trial.can_be_judged {
                p.lead { "Everything that has to be known was found. Look through what is not sure." }
            }
        };
    }
    let inside = html! {
        @for (number, (point, name)) in trial.points.iter().zip(CHOICES).enumerate() { (one_point(point, name, number)) }
        button type="submit" { "This is so" }
    };
    html! {
        section.open-points aria-labelledby="open" {
            h2 id="open" {
                (match trial.points_in_all { 1 => "One thing could not be told".to_owned(), number => format!("{number} things could not be told") })
            }
            (form(trial, stamp, &inside))
            @if (trial.points.len() as u64) < trial.points_in_all {
                p.limit { "Showing " (trial.points.len()) " of " (trial.points_in_all) "; the others come after these." }
            }
        }
    }
}

fn one_point(point: &TrialPoint, name: &str, number: usize) -> Markup {
    let id = format!("point-{number}");
    html! {
        div.point {
            label for=(id) {
                b { @for (number, about) in point.about.iter().enumerate() { @if number > 0 { ", " } (about) } }
                " " (point.question)
            }
            (select(&id, name, &point.choices, Some("not said yet")))
        }
    }
}

/// A list to choose from; without `empty` one of them holds already.
fn select(id: &str, name: &str, choices: &[TrialChoice], empty: Option<&str>) -> Markup {
    html! {
        select id=(id) name=(name) {
            @if let Some(empty) = empty { option value="" { (empty) } }
            @for choice in choices {
                // What holds already is not said again.
                @let value = if choice.is_chosen { "" } else { choice.value.as_str() };
                option value=(value) selected[choice.is_chosen] { (choice.label.plain()) }
            }
        }
    }
}

fn of_source(trial: &Trial, source: &TrialSource, stamp: &str) -> Markup {
    html! {
        section.trial-source {
            h2 { (source.of) }
            p.small {
                @for (number, file) in source.files.iter().enumerate() {
                    @if number > 0 { ", " }
                    bdi { (file.name) } ": " (file.rows) @if file.rows == 1 { " row" } @else { " rows" }
                }
            }
            @for note in &source.notes { p.note { (note) } }
            @for (number, table) in source.tables.iter().enumerate() { (of_table(trial, source, number, table, stamp)) }
        }
    }
}

fn of_table(trial: &Trial, source: &TrialSource, number: usize, table: &TrialTable, stamp: &str) -> Markup {
    let mut names = CHOICES.iter();
    let mut next = || names.next().copied();
    let id = format!("{}-{number}", source.source);
    // What is sure comes last, as the view has it.
    let sure_from = table.fields.iter().position(|field| field.how == "sure").unwrap_or(table.fields.len());
    let (to_look_at, sure) = table.fields.split_at(sure_from);
    let inside = html! {
        (fields(to_look_at, &id, 0, &mut next))
        @if !sure.is_empty() {
            details.sure data-keep=(format!("sure-{id}")) {
                summary {
                    (sure.len()) " sure: "
                    @for (place, field) in sure.iter().enumerate() { @if place > 0 { "; " } (field.name) }
                }
                (fields(sure, &id, sure_from, &mut next))
            }
        }
        @if !table.further.is_empty() {
            details data-keep=(format!("further-{id}")) {
                summary { "Something else is in the file" }
                @for (place, further) in table.further.iter().enumerate() {
                    @if let Some(name) = next() {
                        @let id = format!("further-{id}-{place}");
                        label for=(id) { (further.name) }
                        (select(&id, name, &further.places, Some("not in the file")))
                    }
                }
                div { button type="submit" { "Read these too" } }
            }
        }
    };
    html! {
        h3.table { (table.name) span.small { " in " bdi { (table.file) } } }
        (form(trial, stamp, &inside))
        @if !table.not_kept.is_empty() {
            details data-keep=(format!("not-kept-{id}")) {
                summary { "Not read and not kept: " (table.not_kept_in_all) @if table.not_kept_in_all == 1 { " column" } @else { " columns" } }
                p { @for (number, name) in table.not_kept.iter().enumerate() { @if number > 0 { ", " } (name) } }
                @if (table.not_kept.len() as u64) < table.not_kept_in_all {
                    p.limit { "Showing " (table.not_kept.len()) " of " (table.not_kept_in_all) "." }
                }
            }
        }
    }
}

/// Fields of a table, the first of them at a place in it.
fn fields(
    fields: &[TrialField],
    id: &str,
    first: usize,
    next: &mut dyn FnMut() -> Option<&'static str>,
) -> Markup {
    html! {
        ul.fields {
            @for (place, field) in fields.iter().enumerate() {
                (one_field(field, &format!("{id}-{}", first + place), next))
            }
        }
    }
}

fn one_field(field: &TrialField, id: &str, next: &mut dyn FnMut() -> Option<&'static str>) -> Markup {
    html! {
        li.(format!("is-{}", field.how)) {
            span.how { (field.how) }
            div {
                p.sentence { (field.sentence) }
                @if let Some(doubt) = &field.doubt { p.look { (doubt) } }
                details data-keep=(id) {
                    summary { "Why, and what else it could be" span.unseen { ": " (field.name) } }
                    p.small.why { (field.why) "." }
                    @if !field.places.is_empty() {
                        @if let Some(name) = next() {
                            @let id = format!("{id}-place");
                            label for=(id) { (field.name) " is taken from" }
                            (select(&id, name, &field.places, None))
                        }
                    }
                    @for (number, word) in field.words.iter().enumerate() {
                        @if let Some(name) = next() { (one_word(word, name, &format!("{id}-word-{number}"))) }
                    }
                    div { button type="submit" { "Change it" } }
                }
            }
        }
    }
}

fn one_word(word: &TrialWord, name: &str, id: &str) -> Markup {
    html! {
        label for=(id) { "“" (word.word) "” means" }
        (select(id, name, &word.meanings, word.meanings.iter().all(|meaning| !meaning.is_chosen).then_some("not said yet")))
    }
}
