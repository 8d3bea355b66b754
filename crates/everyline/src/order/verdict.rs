//! Whether an order is all right, in a sentence or two.
//!
//! Must not know how the sentence is laid out. Start reading at [`verdict`].

use matcher::{Served, ServedLine};
use model::book::{OrderStatus, SubmissionStatus};
use model::finding::Reason;

use super::{Shown, sent};
use crate::layout::{and, count};

/// What became of the units of an order. Each unit is one of these.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
struct Units {
    made: u64,
    on_hold: u64,
    dispatched: u64,
    wrong: u64,
    missing: u64,
    not_sent_yet: u64,
    not_known: u64,
    own_stock: u64,
}

impl Units {
    fn all(&self) -> u64 {
        self.made
            + self.on_hold
            + self.dispatched
            + self.wrong
            + self.missing
            + self.not_sent_yet
            + self.not_known
            + self.own_stock
    }

    fn add(&mut self, shown: &Shown, line: &ServedLine) {
        let account = &line.account;
        self.own_stock += account.own_stock;
        self.wrong += account.covered_wrongly;
        // Of what has gone, the right units come first: the wrong ones are said to be wrong, whether they have gone or not.
        let gone = account.dispatched.min(account.covered);
        let on_hold = held(shown, line).min(account.covered - gone);
        self.dispatched += gone;
        self.on_hold += on_hold;
        self.made += account.covered - gone - on_hold;
        match How::of(shown, line) {
            How::Missing => self.missing += account.uncovered,
            How::NotSentYet => self.not_sent_yet += account.uncovered,
            How::NotKnown => self.not_known += account.uncovered,
        }
    }
}

/// How it stands with units that no supplier is known to have.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum How {
    /// Nobody makes them.
    Missing,
    /// They may still be on their way to the supplier.
    NotSentYet,
    /// The supplier has not been read up to now.
    NotKnown,
}

impl How {
    /// How it stands with the units of a line that nobody makes.
    pub fn of(shown: &Shown, line: &ServedLine) -> Self {
        let is_linked = matches!(line.named.reason, Some(Reason::NotSent | Reason::Short));
        let may_wait = line.may_take_until.is_some_and(|until| shown.as_of <= until);
        match is_linked {
            true if !line.is_known => Self::NotKnown,
            _ if may_wait => Self::NotSentYet,
            _ => Self::Missing,
        }
    }
}

/// Units of a line that a supplier has rightly, and holds.
fn held(shown: &Shown, line: &ServedLine) -> u64 {
    let is_held = |tie: &&Served| tie.way != 4 && sent::status_of(shown, tie) == Some(SubmissionStatus::Held);
    let units = |tie: &Served| {
        let is_its = |part: &&model::finding::Part| {
            part.supplier == tie.variant.supplier && part.variant_id.as_ref() == Some(&tie.variant.variant_id)
        };
        let per_unit = line.named.needs.iter().find(is_its).map_or(1, |part| u64::from(part.units));
        tie.units.div_ceil(per_unit.max(1))
    };
    line.ties.iter().filter(is_held).map(units).max().unwrap_or_default()
}

/// `2 of 3 items are being made; nobody makes 1.`, and what stands about it.
pub fn verdict(shown: &Shown) -> String {
    let stands: Vec<String> = shown
        .findings
        .iter()
        .filter(|finding| !shown.is_set_aside(finding.id.as_str()))
        .map(|finding| finding.check.word().to_owned())
        .collect();
    let units = units(shown);
    let stands = match stands.len() {
        0 => String::new(),
        1 => format!(" To be looked at: {}, see below.", stands[0]),
        _ => format!(" To be looked at: {}, see below.", and(stands)),
    };
    units + &stands
}

fn units(shown: &Shown) -> String {
    let Some(account) = &shown.account else {
        return "It was placed after the moment for which everything is known; nothing is said of it yet."
            .to_owned();
    };
    let status = shown.history.order.status;
    if status == OrderStatus::Cancelled {
        let left: u64 = account.supplies.iter().map(|supply| supply.after_cancel).sum();
        return match left {
            0 => "Nothing of it is to be made.".to_owned(),
            left => format!(
                "Nothing of it is to be made, but suppliers still have {}.",
                count(left, "item", "items")
            ),
        };
    }
    if status == OrderStatus::Unpaid {
        return "Nothing of it is to be made before it is paid.".to_owned();
    }
    let mut units = Units::default();
    account.lines.iter().for_each(|line| units.add(shown, line));
    if shown.history.lines.is_empty() {
        return "It has no lines, as far as has been read.".to_owned();
    }
    said(&units)
}

fn said(units: &Units) -> String {
    let all = units.all();
    if all == 0 {
        return "Nothing of it is owed.".to_owned();
    }
    // The number, or the pronoun, and the verb with it.
    let clauses: [(u64, &str, &str); 8] = [
        (units.dispatched, "has been dispatched", "have been dispatched"),
        (units.made, "is being made", "are being made"),
        (units.on_hold, "is on hold at the supplier", "are on hold at the supplier"),
        (units.own_stock, "is packed by yourself", "are packed by yourself"),
        (units.not_sent_yet, "is not sent to a supplier yet", "are not sent to a supplier yet"),
        (
            units.not_known,
            "may have been sent, which is not known yet",
            "may have been sent, which is not known yet",
        ),
        (
            units.wrong,
            "is made as something else than was bought",
            "are made as something else than was bought",
        ),
        (units.missing, "", ""),
    ];
    let mut said = Vec::new();
    for (number, is, are) in clauses {
        let is_first = said.is_empty();
        let clause = match number {
            0 => continue,
            _ if is.is_empty() => match (number == all, all) {
                (true, 1) => "nobody makes its only item".to_owned(),
                (true, _) => format!("nobody makes any of its {all} items"),
                (false, _) => format!("nobody makes {number}"),
            },
            1 if all == 1 => format!("its only item {is}"),
            _ if number == all => format!("all {all} items {are}"),
            1 if is_first => format!("1 of {all} items {is}"),
            1 => format!("1 {is}"),
            _ if is_first => format!("{number} of {all} items {are}"),
            _ => format!("{number} {are}"),
        };
        said.push(clause);
    }
    crate::layout::capital(&said.join("; ")) + "."
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sentence_says_of_each_item_what_became_of_it() {
        let none = Units::default();
        for (units, want) in [
            (none, "Nothing of it is owed."),
            (Units { made: 3, ..none }, "All 3 items are being made."),
            (Units { made: 1, ..none }, "Its only item is being made."),
            (Units { missing: 1, ..none }, "Nobody makes its only item."),
            (Units { missing: 2, ..none }, "Nobody makes any of its 2 items."),
            (Units { made: 2, missing: 1, ..none }, "2 of 3 items are being made; nobody makes 1."),
            (
                Units { dispatched: 1, on_hold: 2, wrong: 1, own_stock: 1, ..none },
                "1 of 5 items has been dispatched; 2 are on hold at the supplier; 1 is packed by yourself; 1 is made \
                 as something else than was bought.",
            ),
            (
                Units { not_sent_yet: 1, not_known: 1, ..none },
                "1 of 2 items is not sent to a supplier yet; 1 may have been sent, which is not known yet.",
            ),
        ] {
            assert_eq!(said(&units), want);
        }
    }
}
