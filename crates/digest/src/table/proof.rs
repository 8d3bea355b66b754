//! The end of the table: the sums that prove that nothing was missed, what the reader should know, and what was
//! not judged.
//!
//! Must not know findings. Start reading at [`proof`].

use model::Outcome;

use super::{BETWEEN, PROSE};
use crate::clean::clean;
use crate::page::{BOLD, LOUD, PLAIN, Page, wrap};
use crate::words::{count, number_of, sums as of_items};

/// How many orders that were not judged are named where the list is limited.
const NOT_JUDGED_NAMED: usize = 20;

/// Columns of what a sum is of.
const SUM_NAME: usize = 36;

/// Writes the end; a limit hides notes and orders, and says so.
pub fn proof(page: &mut Page, outcome: &Outcome, limit: Option<usize>) {
    sums(page, outcome);
    notices(page, outcome, limit);
    not_judged(page, outcome, limit);
}

/// Whether all of the input was read and judged.
pub fn is_complete(outcome: &Outcome) -> bool {
    outcome.rows_skipped == 0 && outcome.not_judged.is_empty()
}

/// The proof: what was bought, and where it is.
fn sums(page: &mut Page, outcome: &Outcome) {
    let totals = &outcome.totals;
    let checked =
        format!("{}, {}", count(totals.orders, "order", "orders"), count(totals.lines, "line", "lines"));
    page.heading(BOLD, "WHAT WAS CHECKED", &checked);
    let parts = of_items(totals);
    let sum = parts.iter().fold(0, |sum: u64, (_, units)| sum.saturating_add(*units));
    let bought = totals.units_demanded;
    let digits = [sum, bought, totals.dispatched].map(|units| units.to_string().len());
    let digits = digits.into_iter().max().unwrap_or(0);
    let mut row = |name: &str, units: &str| {
        page.line(&[(PLAIN, format!("  {name:<SUM_NAME$}{units:>digits$}"))]);
    };
    for (name, units) in parts {
        row(name, &units.to_string());
    }
    row("", &"-".repeat(digits));
    row("items bought (paid, not cancelled)", &bought.to_string());
    row("", "");
    row("of what is made, gone out", &totals.dispatched.to_string());
    if sum != bought {
        let text = format!("THESE DO NOT ADD UP: {sum} are accounted for, {bought} were bought.");
        page.paragraph(LOUD, &text);
    }
}

fn notices(page: &mut Page, outcome: &Outcome, limit: Option<usize>) {
    if outcome.notices.is_empty() {
        return;
    }
    let number = count(number_of(&outcome.notices), "note", "notes");
    page.heading(BOLD, "GOOD TO KNOW", &number);
    let most = limit.unwrap_or(usize::MAX);
    for notice in outcome.notices.iter().take(most) {
        let columns = page.columns().min(PROSE) - BETWEEN;
        for (index, line) in wrap(&clean(&notice.text), columns).into_iter().enumerate() {
            let mark = if index == 0 { "- " } else { "  " };
            page.line(&[(PLAIN, format!("{mark}{line}"))]);
        }
    }
    if most < outcome.notices.len() {
        let text = format!("Showing {most} of {}; --format json has all of them.", outcome.notices.len());
        page.paragraph(PLAIN, &text);
    }
}

fn not_judged(page: &mut Page, outcome: &Outcome, limit: Option<usize>) {
    if is_complete(outcome) {
        return;
    }
    let rows = count(outcome.rows_skipped, "row not read", "rows not read");
    let orders = count(number_of(&outcome.not_judged), "order not judged", "orders not judged");
    page.heading(LOUD, "NOT COMPLETE", &format!("{rows}, {orders}"));
    let most = limit.map_or(usize::MAX, |_| NOT_JUDGED_NAMED);
    let ids: Vec<_> = outcome.not_judged.iter().take(most).map(|order_id| clean(order_id.as_str())).collect();
    if !ids.is_empty() {
        let mut text = format!("Not judged: {}", ids.join(", "));
        if outcome.not_judged.len() > ids.len() {
            text += &format!(
                " (showing {} of {}; --format json has all of them)",
                ids.len(),
                outcome.not_judged.len()
            );
        }
        page.paragraph(PLAIN, &text);
    }
    page.paragraph(PLAIN, "Do: mend the rows that could not be read, and check again.");
}
