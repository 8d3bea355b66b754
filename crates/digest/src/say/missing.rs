//! What is said of lines that nobody makes.
//!
//! Must not know how the words are laid out. Start reading at [`gap`].

use model::finding::GapEvidence;
use model::{Check, Finding};

use super::sent::named_order;
use super::{Account, Teller};
use crate::to_order::still_to_order;
use crate::why::{PACKED_BY_THE_SHOP, Why, things_and_why};
use crate::words::{and, by_number, count, listed, units_of};

/// `part-sent` and `unsent-order`.
pub fn gap(finding: &Finding, gap: &GapEvidence, teller: &Teller) -> Account {
    let missing = things_and_why(&finding.lines);
    let others = gap
        .sent
        .iter()
        .filter(|sent| finding.lines.iter().all(|line| line.line_id != sent.line_id))
        .fold(0, |sum: u64, sent| sum.saturating_add(sent.units));
    let what = match finding.check {
        // The supplier may have been asked for something else than was bought: not to be ordered twice unseen.
        Check::UnsentOrder if !gap.submissions.is_empty() => format!(
            "nobody makes {missing}, though {} {} for it",
            listed(&gap.submissions, named_order),
            if gap.submissions.len() == 1 { "is" } else { "are" },
        ),
        Check::UnsentOrder if gap.grace_over => {
            format!("nothing of it was sent to a supplier: nobody makes {missing}")
        }
        Check::UnsentOrder => format!("nothing of it goes to a supplier by itself: {missing}"),
        _ if others > 0 => {
            let were = by_number(others, "was", "were");
            format!(
                "nobody makes {missing}, while {} {were} sent",
                count(others, "other item", "other items")
            )
        }
        _ if gap.sent.is_empty() => format!(
            "nobody makes {missing}, while the rest of the order is linked and goes to the supplier by itself"
        ),
        _ => format!("nobody makes {missing}"),
    };
    let what = match finding.lines.iter().any(|line| line.unconfirmed) {
        true => format!("{what}, as far as the sources have been read"),
        false => what,
    };
    let has_no_link = finding.lines.iter().any(|line| Why::of(line) == Why::NoLink);
    let aside = has_no_link.then_some(PACKED_BY_THE_SHOP);
    Account { aside, ..Account::of(finding, what, todo(finding, gap, teller)) }
}

/// First what can be ordered at once, then the links to mend, then what can be ordered after that; last what cannot be made.
fn todo(finding: &Finding, gap: &GapEvidence, teller: &Teller) -> String {
    let groups = Why::groups(&finding.lines);
    let (not_made, groups): (Vec<_>, Vec<_>) = groups.into_iter().partition(|(why, _)| *why == Why::NotMade);
    let whys: Vec<Why> = groups.iter().map(|(why, _)| *why).collect();
    let linked = groups.iter().filter(|(why, _)| why.is_linked()).flat_map(|(_, lines)| lines);
    let at_once = still_to_order(linked.copied(), &gap.sent);

    let mut steps: Vec<String> = Vec::new();
    if finding.check == Check::UnsentOrder && !gap.submissions.is_empty() {
        let one = gap.submissions.len() == 1;
        steps.push(format!(
            "look first at what {} asks for",
            if one { "that supplier order" } else { "each of them" }
        ));
    }
    if let Some(at_once) = &at_once {
        steps.push(format!("order {at_once}"));
    }
    let is_all = not_made.is_empty();
    match whys[..] {
        [why] if is_all => steps.extend(why.repair(finding.lines.len() == 1).map(str::to_owned)),
        _ => steps.extend(whys.iter().filter_map(|why| why.repair_among_others()).map(str::to_owned)),
    }
    let (before, past) = match finding.cutoff_passed {
        true => {
            (String::new(), ": the cut-off has passed, so a second supplier order and parcel will be needed")
        }
        false => (teller.before(finding.act_before).to_string(), ""),
    };
    if whys.is_empty() {
        let it = by_number(units_of(&finding.lines), "it", "them");
        steps.push(format!("choose another that can be made and order {it}{before}, or tell the customer"));
        return format!("{}{past}", and(steps));
    }
    if at_once.is_none() || whys.iter().any(|why| !why.is_linked()) {
        let it = match whys[..] {
            _ if at_once.is_some() || !is_all => "the rest",
            [Why::Short] => "what is missing of it",
            [_] => by_number(units_of(&finding.lines), "it", "them"),
            _ => "all of it",
        };
        let from = if finding.cutoff_passed { "" } else { " from the supplier" };
        steps.push(format!("order {it}{from}"));
    }
    let steps = and(steps);
    let not_made = if is_all { "" } else { "; for what cannot be made, choose another or tell the customer" };
    format!("{steps}{before}{not_made}{past}")
}
