//! `everyline tie`: the owner's word that a supplier order made by hand serves a line of an order.
//!
//! Must not know what follows from it. Start reading at [`run`].

use model::book::{OrderLine, Submission, SubmissionLine, Tie};
use model::{LineId, OrderId, SubmissionId, SupplierId};

use crate::arguments::TieArguments;
use crate::clock;
use crate::configuration::nearest;
use crate::exit::Exit;
use crate::opened::{self, Opened, of_ledger};
use crate::terminal::write_data;
use crate::trouble::Trouble;

/// Runs the command.
///
/// # Errors
/// Where there is no such order, line or supplier order, or the configuration or the ledger cannot be used.
pub fn run(asked: &TieArguments) -> Result<Exit, Trouble> {
    opened::run(tie(asked))
}

async fn tie(asked: &TieArguments) -> Result<Exit, Trouble> {
    let Opened { ledger, shop, .. } = Opened::of(&asked.of).await?;
    let now = clock::now();
    let known = ledger::Known { submissions: true, ..ledger::Known::default() };
    let book = ledger.book(&shop, known).await.map_err(of_ledger)?;
    let submissions = book.submissions.unwrap_or_default();
    let tie = Tie {
        order_id: OrderId::new(asked.order.as_str()),
        line_id: LineId::new(asked.line.as_str()),
        supplier: supplier(asked, &submissions)?,
        submission_id: SubmissionId::new(asked.submission.as_str()),
        submission_line_id: asked.submission_line.as_deref().map(LineId::new),
    };
    check(&tie, &book.order_lines, book.submission_lines.as_deref().unwrap_or_default())?;
    let lines = match &tie.submission_line_id {
        Some(line) => format!("line {line} of {}", tie.submission_id),
        None => format!("all of {}", tie.submission_id),
    };
    let what = format!("{lines} of {} serves line {} of order {}", tie.supplier, tie.line_id, tie.order_id);
    let said = if !asked.undo {
        ledger.tie(&shop, &tie, now).await.map_err(of_ledger)?;
        format!("Kept: {what}. `everyline tie … --undo` takes it back.\n")
    } else if ledger.untie(&shop, &tie, now).await.map_err(of_ledger)? {
        format!("Taken back: {what}.\n")
    } else {
        return Err(Trouble::new("nothing was taken back", format!("it was never said that {what}"))
            .help(format!("`everyline order {}` shows what was said", tie.order_id)));
    };
    ledger.close().await;
    write_data(&said)?;
    Ok(Exit::Nothing)
}

/// Whose supplier order it is.
fn supplier(asked: &TieArguments, submissions: &[Submission]) -> Result<SupplierId, Trouble> {
    let trouble = |cause: String| Trouble::new("nothing was tied", cause);
    let of_id: Vec<&SupplierId> = submissions
        .iter()
        .filter(|row| row.submission_id.as_str() == asked.submission)
        .map(|row| &row.supplier)
        .collect();
    let named =
        |supplier: &SupplierId| asked.supplier.as_deref().is_none_or(|name| supplier.as_str() == name);
    let fitting: Vec<&SupplierId> = of_id.iter().copied().filter(|supplier| named(supplier)).collect();
    match (fitting[..].len(), fitting.first()) {
        (1, Some(supplier)) => Ok(SupplierId::clone(supplier)),
        (0, _) if of_id.is_empty() => {
            let ids = submissions.iter().map(|row| row.submission_id.as_str());
            let near = nearest(&asked.submission, ids).map(|near| format!("; the nearest is {near}"));
            Err(trouble(format!(
                "no supplier order {:?} has been read{}",
                asked.submission,
                near.unwrap_or_default()
            ))
            .help("check its id; if it is new, wait until it has been read (`everyline status` says up to when)"))
        }
        _ => {
            let names: Vec<&str> = of_id.iter().map(|supplier| supplier.as_str()).collect();
            Err(trouble(format!("{} is a supplier order of {}", asked.submission, names.join(" and of ")))
                .help("say whose is meant with --supplier"))
        }
    }
}

/// Whether all that it names is there.
fn check(tie: &Tie, lines: &[OrderLine], sent: &[SubmissionLine]) -> Result<(), Trouble> {
    let trouble = |cause: String, help: String| Trouble::new("nothing was tied", cause).help(help);
    let of_order: Vec<&str> =
        lines.iter().filter(|row| row.order_id == tie.order_id).map(|row| row.line_id.as_str()).collect();
    if of_order.is_empty() {
        let near = nearest(tie.order_id.as_str(), lines.iter().map(|row| row.order_id.as_str()));
        let near = near.map(|near| format!("; the nearest is {near}")).unwrap_or_default();
        return Err(trouble(
            format!("no lines of an order {:?} have been read{near}", tie.order_id.as_str()),
            "give its id as the storefront writes it".to_owned(),
        ));
    }
    if !of_order.contains(&tie.line_id.as_str()) {
        return Err(trouble(
            format!("order {} has no line {:?}", tie.order_id, tie.line_id.as_str()),
            format!("its lines are: {}", of_order.join(", ")),
        ));
    }
    let Some(line) = &tie.submission_line_id else { return Ok(()) };
    let of_submission: Vec<&str> = sent
        .iter()
        .filter(|row| row.supplier == tie.supplier && row.submission_id == tie.submission_id)
        .map(|row| row.line_id.as_str())
        .collect();
    if !of_submission.contains(&line.as_str()) {
        return Err(trouble(
            format!("{} has no line {:?}", tie.submission_id, line.as_str()),
            format!("its lines are: {}", of_submission.join(", ")),
        ));
    }
    Ok(())
}
