//! A mapping for the answers of a service, which are read as they are: no rows of theirs are put together.
//!
//! Must not know how they were had. Start reading at [`propose_answers`].

use super::{Asked, Proposal, Sample, plan, requests, rows, tree};

/// Proposes a mapping for answers in JSON. The heads of its source and of its requests are still to be said.
///
/// Never fails: what is not found stays open.
pub fn propose_answers(samples: &[Sample], asked: &Asked) -> Proposal {
    let shaped: Vec<plan::Shaped> = samples
        .iter()
        .map(|sample| plan::Shaped {
            name: sample.name.clone(),
            is_table: false,
            value: sample.export.value.clone(),
            form: sample.export.form.clone(),
            grouping: None,
            numbered: None,
            reports: None,
        })
        .collect();
    let planned = plan::plan(&shaped, asked);
    let mut proposal = requests::proposal(&shaped, &planned, asked);
    proposal.head.clear();
    // What else a service has is at another address.
    proposal.missing.clear();
    proposal.unused.clear();
    for request in &mut proposal.requests {
        request.head.clear();
    }
    for sample in &shaped {
        let lists = tree::tree(&sample.value);
        let level = plan::orders_of(&asked.role);
        if lists.len() == 1 && lists.first().and_then(|list| rows::grouping(list, level, None)).is_some() {
            proposal.notes.push(format!(
                "Several records of {} seem to be one order, as rows of a table. A service is read record by record: look \
                 whether it has orders and their lines apart, or lines within orders.",
                sample.name
            ));
        }
    }
    proposal
}
