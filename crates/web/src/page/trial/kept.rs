//! The last step: the mapping is kept for next time.
//!
//! Must not know where. Start reading at [`show`].

use maud::{Markup, html};

use super::{PLACE, ending, page, steps, trial_of};
use crate::page::parts::stamped;
use crate::reply::Reply;
use crate::route::Replying;
use crate::view::{KeptMapping, Trial, TrialKept};
use crate::visit::Visit;

pub fn keep(visit: Visit) -> Replying {
    Box::pin(async move {
        let shop = visit.shop()?;
        let trial = trial_of(&visit);
        visit.desk().keep_trial(trial, &shop.id).await?;
        Ok(Reply::look_at(&format!("{PLACE}/{trial}/kept")))
    })
}

pub fn show(visit: Visit) -> Replying {
    Box::pin(async move {
        let trial = visit.desk().trial(trial_of(&visit)).await?;
        let stamp = visit.who.stamp.as_str();
        let body = html! {
            h1 { "Keep it" }
            (steps(Some(&trial.trial), 3))
            @match &trial.kept {
                Some(kept) => (of_kept(kept)),
                None => (ask(&visit, &trial, stamp)),
            }
            (ending(&trial.trial, stamp, &trial.ends))
        };
        page("Keep it", body)
    })
}

fn ask(visit: &Visit, trial: &Trial, stamp: &str) -> Markup {
    let shops = visit.desk().shops();
    html! {
        p.lead { "What you know now about how your files are read can be kept, so that the next exports are read the same way." }
        @if trial.points_in_all > 0 {
            p.doubt {
                "Something is still open. It is kept as open, and has to be said before the next exports can be read: "
                a href=(format!("{PLACE}/{}", trial.trial)) { "say it first" } "."
            }
        }
        form method="post" action=(format!("{PLACE}/{}/keep", trial.trial)) {
            (stamped(stamp))
            @if shops.len() > 1 {
                label for="shop" { "For which shop" }
                select id="shop" name="shop" { @for shop in &shops { option value=(shop.id.as_str()) { (shop.id.as_str()) } } }
            }
            button type="submit" { "Write it into a file" }
        }
        p.small { "A file is written beside your configuration for each source, and nothing that is there is changed." }
    }
}

fn of_kept(kept: &TrialKept) -> Markup {
    html! {
        p.said role="status" {
            "Written: "
            @for (number, mapping) in kept.mappings.iter().enumerate() {
                @if number > 0 { ", " }
                code { (mapping.written) } " (" (mapping.bytes) " bytes)"
            }
            ". Nothing else was changed."
        }
        h2 { "To look at the next exports by hand" }
        p { "Put them into a folder, and run there:" }
        pre { (kept.audit) }
        h2 { "To have them read by themselves" }
        p {
            "Make the folder that is named under " code { "folder" } ", add these lines to " code { (kept.configuration) }
            ", and start everyline again. Each export that is dropped into the folder is read from then on."
        }
        @for mapping in &kept.mappings { (lines(mapping)) }
        h2 { "To ask the source itself" }
        p {
            "Where your storefront or supplier has an API, everyline can ask it, and nobody has to export anything. Give the "
            "addresses at which it lists what you exported:"
        }
        @for mapping in &kept.mappings { pre { (mapping.live) } }
    }
}

fn lines(mapping: &KeptMapping) -> Markup {
    html! {
        details data-keep=(format!("lines-{}", mapping.source)) {
            summary { "The lines for " (mapping.source) ", with the folder " code { (mapping.folder) } }
            pre { @for line in &mapping.lines { (digest::clean(line.as_str())) "\n" } }
        }
    }
}
