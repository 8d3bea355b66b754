//! What is known of a book: the findings planted in it, and what looks like one and is none.
//!
//! Must not know how a book is made or audited. Start reading at [`Plant`].
//!
//! To compare with an audit, bring each finding into this form and compare the two lists as sets: the check, the
//! subject, the order lines with their units, and the submission lines with theirs. Reasons count of `part-sent`
//! and `unsent-order`, the time left where it is stated.

use std::fmt::Write as _;

use chrono::{DateTime, Utc};
use model::book::LinkScope;
use model::finding::{Reason, Unusable};
use model::{Book, Check, LineId, ListingId, Options, OrderId, SubmissionId, SupplierId, VariantId};

/// A book, the moment and the configuration it is to be audited with, and all findings that this gives.
#[derive(Clone, Debug)]
pub struct Planted {
    /// All tables, each in the order of its key.
    pub book: Book,
    /// The moment of the audit.
    pub as_of: DateTime<Utc>,
    /// The configuration file of the audit, in TOML.
    pub configuration: String,
    /// Every finding, by check and subject. What is not here must not be found.
    pub plants: Vec<Plant>,
    /// What was put in to mislead: nothing may be found there that is not in `plants`.
    pub decoys: Vec<Decoy>,
}

/// A finding that an exact audit gives.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Plant {
    /// The rule that raises it.
    pub check: Check,
    /// What it is about.
    pub subject: Subject,
    /// The order lines that it must name, by line id.
    pub lines: Vec<PlantedLine>,
    /// The submission lines that it must name, by line id.
    pub submission_lines: Vec<PlantedSubmissionLine>,
    /// Until when it can be put right; `None` where the rules leave that open for the check.
    pub time_left: Option<TimeLeft>,
    /// What happened, in the shop's words.
    pub story: String,
}

/// What a finding is about.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Subject {
    /// An order.
    Order(OrderId),
    /// One line of an order: of `wrong-variant`.
    OrderLine(OrderId, LineId),
    /// A submission, whatever orders it is for: of `stray-submission`, `held` and `not-started`.
    Submission(SupplierId, SubmissionId),
    /// What a submission has to do with one order: of `over-sent` and `sent-after-cancel`.
    SubmissionForOrder(SupplierId, SubmissionId, OrderId),
    /// Offers of one listing, by options: all those without a link, both that share a variant, or the one.
    Offers(ListingId, Vec<Options>),
    /// A link that leads to a variant which cannot be used.
    Link(LinkScope, SupplierId, VariantId, Unusable),
}

impl Subject {
    /// The order, where it is about one.
    pub fn order_id(&self) -> Option<&OrderId> {
        match self {
            Self::Order(order) | Self::OrderLine(order, _) | Self::SubmissionForOrder(_, _, order) => {
                Some(order)
            }
            Self::Submission(..) | Self::Offers(..) | Self::Link(..) => None,
        }
    }

    /// The submission and its supplier, where it is about one.
    pub fn submission(&self) -> Option<(&SupplierId, &SubmissionId)> {
        match self {
            Self::Submission(supplier, submission) | Self::SubmissionForOrder(supplier, submission, _) => {
                Some((supplier, submission))
            }
            Self::Order(_) | Self::OrderLine(..) | Self::Offers(..) | Self::Link(..) => None,
        }
    }

    /// The listing, where it is about one.
    pub fn listing_id(&self) -> Option<&ListingId> {
        match self {
            Self::Offers(listing, _)
            | Self::Link(LinkScope::Offer(listing, _) | LinkScope::Listing(listing), ..) => Some(listing),
            _ => None,
        }
    }
}

/// An order line as a finding must name it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct PlantedLine {
    /// The line, within the finding's order.
    pub line_id: LineId,
    /// Units concerned: of the line; of `wrong-variant`, the supplier's.
    pub units: u64,
    /// Why nobody makes them. Given with `part-sent`, `unsent-order` and the uncovered lines of `over-sent`.
    pub reason: Option<Reason>,
}

/// A submission line as a finding must name it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct PlantedSubmissionLine {
    /// The line, within the finding's submission.
    pub line_id: LineId,
    /// Units concerned.
    pub units: u64,
}

/// Until when a finding can be put right at the supplier.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum TimeLeft {
    /// The earliest cut-off that is still ahead.
    Until(DateTime<Utc>),
    /// All cut-offs have passed.
    Passed,
    /// There is no submission that could have one.
    NoSubmission,
}

/// Something that looks like a fault and is none, or not one of that kind.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Decoy {
    /// Where it is.
    pub subject: Subject,
    /// What happened, and why nothing is to be said of it.
    pub story: String,
}

/// What is planted where, and what was put in to mislead, in Markdown.
pub fn planted_table(planted: &Planted) -> String {
    let mut text = format!(
        "# What is planted in this book\n\nAs of {}. {} findings, and no others.\n\n\
         | check | where | names | time left | what happened |\n|---|---|---|---|---|\n",
        planted.as_of.to_rfc3339(),
        planted.plants.len()
    );
    for plant in &planted.plants {
        let names = plant
            .lines
            .iter()
            .map(|line| {
                let reason = line.reason.map_or("", reason_word);
                format!("line {} x {} {reason}", line.line_id, line.units).trim_end().to_owned()
            })
            .chain(
                plant
                    .submission_lines
                    .iter()
                    .map(|line| format!("submission line {} x {}", line.line_id, line.units)),
            )
            .collect::<Vec<_>>()
            .join("; ");
        let time_left = match plant.time_left {
            Some(TimeLeft::Until(moment)) => moment.format("%a %H:%M UTC").to_string(),
            Some(TimeLeft::Passed) => "passed".to_owned(),
            Some(TimeLeft::NoSubmission) => "no submission".to_owned(),
            None => String::new(),
        };
        row(&mut text, &[plant.check.word(), &shown(&plant.subject), &names, &time_left, &plant.story]);
    }
    text.push_str("\n## What must stay silent\n\n| where | what happened |\n|---|---|\n");
    for decoy in &planted.decoys {
        row(&mut text, &[&shown(&decoy.subject), &decoy.story]);
    }
    text
}

fn row(text: &mut String, cells: &[&str]) {
    let cells: Vec<String> = cells.iter().map(|cell| cell.replace('|', "\\|")).collect();
    // Writing to a `String` does not fail.
    let _ = writeln!(text, "| {} |", cells.join(" | "));
}

fn shown(subject: &Subject) -> String {
    match subject {
        Subject::Order(order) => order.to_string(),
        Subject::OrderLine(order, line) => format!("{order} line {line}"),
        Subject::Submission(supplier, submission) => format!("{supplier} {submission}"),
        Subject::SubmissionForOrder(supplier, submission, order) => {
            format!("{supplier} {submission} for {order}")
        }
        Subject::Offers(listing, offers) => {
            let offers: Vec<String> = offers.iter().map(|options| format!("({options})")).collect();
            format!("{listing} {}", offers.join(" "))
        }
        Subject::Link(scope, supplier, variant, why) => {
            let scope = match scope {
                LinkScope::Offer(listing, options) => format!("{listing} ({options})"),
                LinkScope::Sku(sku) => sku.to_string(),
                LinkScope::Listing(listing) => listing.to_string(),
            };
            let why = match why {
                Unusable::Unknown => "unknown",
                Unusable::NotAvailable => "not available",
            };
            format!("{scope} -> {supplier} {variant} ({why})")
        }
    }
}

fn reason_word(reason: Reason) -> &'static str {
    match reason {
        Reason::NoLink => "no-link",
        Reason::AmbiguousLink => "ambiguous-link",
        Reason::BrokenLink => "broken-link",
        Reason::NotSent => "not-sent",
        Reason::Short => "short",
    }
}
