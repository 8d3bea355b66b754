//! The third step: what is found, as the queue shows it.
//!
//! Must not know how an order is judged. Start reading at [`show`].

use digest::count;
use maud::{Markup, html};
use model::outcome::Totals;

use super::{PLACE, ending, page, steps, trial_of};
use crate::asked::Parameter;
use crate::desk::LEAVE_OUT;
use crate::page::parts::{Use, stamped};
use crate::page::queue;
use crate::problem::Problem;
use crate::reply::Reply;
use crate::route::Replying;
use crate::view::{Trial, TrialBadRow, TrialFindings, TrialJudged, Words};
use crate::visit::Visit;

/// How the list is narrowed, as in the queue.
pub const ASKED: &[Parameter] =
    &[queue::NARROWED[1], queue::NARROWED[2], queue::NARROWED[3], queue::NARROWED[5], queue::NARROWED[6]];

async fn view(visit: &Visit) -> Result<TrialFindings, Problem> {
    Ok(visit.desk().judge_trial(trial_of(visit), &queue::asked(&visit.asked)).await?)
}

pub fn get(visit: Visit) -> Replying {
    Box::pin(async move { Reply::json(&view(&visit).await?) })
}

pub fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let trial = visit.desk().trial(trial_of(&visit)).await?;
        if !trial.can_be_judged {
            // There it says what is missing.
            return Ok(Reply::look_at(&format!("{PLACE}/{}", trial.trial)));
        }
        let found = view(&visit).await?;
        let stamp = visit.who.stamp.as_str();
        let here = format!("{PLACE}/{}/findings", found.trial);
        let body = html! {
            h1 { "What is found" }
            (steps(Some(&found.trial), 2))
            (bad_rows(&found, trial.shown, stamp))
            @if let Some(judged) = &found.judged {
                (of_judged(&visit, &found, judged, &suppliers(&trial, &judged.totals), &here))
            }
            (ending(&found.trial, stamp, &trial.ends))
        };
        page("What is found", body)
    })
}

/// Whose files were given, where something looks as if it was ordered nowhere: another supplier's may be missing.
fn suppliers(trial: &Trial, totals: &Totals) -> Markup {
    let given = trial.sources.iter().filter_map(|source| source.supplier.as_ref());
    let given = Words::ours(digest::and(given.map(|name| name.as_str().to_owned()).collect()));
    // Where most is nowhere, that is the likelier reason.
    let is_much = totals.uncovered * 3 > totals.units_demanded;
    html! {
        @if totals.uncovered > 0 {
            p.(if is_much { "doubt" } else { "small" }) {
                @if is_much { strong { "A supplier may be missing. " } }
                "Files were given of " (given) ". What another supplier makes looks here as if it was ordered nowhere: if there is \
                 one, "
                a href=(PLACE) { "give all files anew" } " with its files too."
            }
        }
    }
}

fn of_judged(
    visit: &Visit,
    found: &TrialFindings,
    judged: &TrialJudged,
    suppliers: &Markup,
    here: &str,
) -> Markup {
    let queue = &judged.queue;
    let of = Use { may_act: false, queue: here, ..Use::of(visit) };
    // The trial stands in the path already.
    let asked = visit.asked.without("trial");
    let is_narrowed = queue::asked(&asked).is_narrowed();
    html! {
        (queue::tallies(queue, &asked, here))
        p { (in_a_sentence(&judged.totals)) " As things stood " (found.as_of) ", " (found.zone) " time." }
        @if judged.rows_skipped > 0 || judged.orders_not_judged > 0 {
            p.doubt {
                strong { "Not all is judged: " }
                (judged.rows_skipped) " rows are left out, and nothing is said of " (judged.orders_not_judged) " orders."
            }
        }
        (suppliers)
        (notices(judged))
        section #list aria-label="What is found" {
            @if queue.tasks.is_empty() && !is_narrowed {
                div.empty {
                    p.lead { "Nothing is found." }
                    p { (judged.totals.orders) " orders with " (judged.totals.lines) " lines were judged." }
                }
            } @else {
                (queue::list(queue, is_narrowed, of, &asked))
            }
        }
        details data-keep="totals" { summary { "What was counted" } (totals(&judged.totals)) }
    }
}

/// `62 orders with 80 lines; of 91 items bought: 84 made rightly, …`.
fn in_a_sentence(totals: &Totals) -> String {
    let [(made, rightly), others @ ..] = digest::sums(totals);
    let mut parts = vec![format!("{rightly} {made}")];
    let others = others.into_iter().filter(|(_, count)| *count > 0);
    parts.extend(others.map(|(what, count)| format!("{count} {what}")));
    format!(
        "{} with {}; of {} bought: {}.",
        count(totals.orders, "order", "orders"),
        count(totals.lines, "line", "lines"),
        count(totals.units_demanded, "item", "items"),
        parts.join("; ")
    )
}

fn totals(totals: &Totals) -> Markup {
    let all = [
        ("orders", totals.orders),
        ("lines", totals.lines),
        ("items bought (paid, not cancelled)", totals.units_demanded),
    ]
    .into_iter()
    .chain(digest::sums(totals))
    .chain([("of what is made, gone out", totals.dispatched)]);
    html! {
        table.figures {
            caption.unseen { "What was counted" }
            @for (name, count) in all { tr { th scope="row" { (name) } td.number { (count) } } }
        }
    }
}

fn notices(judged: &TrialJudged) -> Markup {
    html! {
        @if !judged.notices.is_empty() {
            details data-keep="notices" open[judged.notices.len() < 4] {
                summary { "To know of the files: " (judged.notices.len()) }
                ul.plain.notices { @for notice in &judged.notices { li { (notice) } } }
            }
        }
    }
}

fn bad_rows(found: &TrialFindings, shown: u64, stamp: &str) -> Markup {
    if found.bad_rows_in_all == 0 {
        return html! {};
    }
    html! {
        section.bad-rows aria-labelledby="bad-rows" {
            h2 id="bad-rows" { (found.bad_rows_in_all) " of " (found.rows_read) " rows cannot be read" }
            @if found.judged.is_none() {
                p {
                    "Put right how the files are read, or the rows in the files; what stands there would be missing otherwise. "
                    a href=(format!("{PLACE}/{}", found.trial)) { "Go back to how they are read" } "."
                }
                form method="post" action=(format!("{PLACE}/{}/answer", found.trial)) {
                    (stamped(stamp))
                    input type="hidden" name="shown" value=(shown);
                    input type="hidden" name="c0" value=(LEAVE_OUT);
                    input type="hidden" name="to" value="findings";
                    button type="submit" { "Leave these rows out and judge the rest" }
                }
            }
            ul.plain { @for row in &found.bad_rows { (bad_row(row)) } }
            @if (found.bad_rows.len() as u64) < found.bad_rows_in_all {
                p.limit { "Showing " (found.bad_rows.len()) " of " (found.bad_rows_in_all) " rows." }
            }
        }
    }
}

fn bad_row(row: &TrialBadRow) -> Markup {
    html! { li { b { (row.place) } ": " (row.fault) ". " (row.hint) } }
}
