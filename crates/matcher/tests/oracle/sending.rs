//! What suppliers were asked to make: which orders and lines each submission line refers to, and what it
//! makes.

use std::collections::BTreeSet;

use model::book::{Submission, SubmissionLine, SubmissionStatus, Tie};
use model::rules::ReferenceForm;
use model::{LineId, OrderId, SubmissionId, SupplierId};

use super::linking::{self, Made};
use super::world::{LineKey, Thing, World};

/// One line of a submission that exists at as-of.
pub struct Sent<'a> {
    pub row: &'a SubmissionLine,
    pub submission: &'a Submission,
    /// The orders it refers to, in the order of its list; empty: its reference is empty or unknown.
    pub orders: Vec<OrderId>,
    /// The lines of its orders that it names.
    pub names: Vec<LineKey>,
    /// Whether it names no line at all, not even an unknown one.
    pub reference_is_empty: bool,
    /// The reference as written, where it was not replaced by a tie.
    pub written: Option<&'a str>,
    /// What it makes, where that is known.
    pub thing: Option<Thing>,
}

impl Sent<'_> {
    pub fn key(&self) -> (SupplierId, SubmissionId, LineId) {
        (self.row.supplier.clone(), self.row.submission_id.clone(), self.row.line_id.clone())
    }

    /// 'Live when neither it nor its submission is `cancelled` or `rejected`.'
    pub fn is_live(&self) -> bool {
        self.submission.status.is_live() && self.row.status.is_none_or(SubmissionStatus::is_live)
    }

    /// Whether it can serve or raise anything: replacements and what is not known do neither.
    pub fn is_usable(&self) -> bool {
        self.is_live() && self.submission.replaces.is_none() && self.thing.is_some()
    }

    pub fn quantity(&self) -> u64 {
        u64::from(self.row.quantity)
    }
}

/// The submissions that exist at as-of, each with its row number.
pub fn submissions<'a>(world: &World<'a>) -> Vec<(usize, &'a Submission)> {
    let rows = world.book.submissions.as_deref().unwrap_or_default().iter().enumerate();
    rows.filter(|(_, row)| row.received_at.begins() <= world.as_of).collect()
}

/// The lines of a submission, live or not.
pub fn lines_of<'w, 'a>(
    world: &'w World<'a>,
    submission: &'w Submission,
) -> impl Iterator<Item = &'w Sent<'a>> {
    world.sent.iter().filter(move |sent| {
        sent.row.supplier == submission.supplier && sent.row.submission_id == submission.submission_id
    })
}

/// Live by its own status, and not all of its lines called off.
pub fn is_live(world: &World<'_>, submission: &Submission) -> bool {
    let mut lines = lines_of(world, submission).peekable();
    submission.status.is_live() && (lines.peek().is_none() || lines.any(Sent::is_live))
}

/// The orders that a reference means: those that exist at as-of, and those that are not judged.
///
/// 'Ids in a list of references are separated by `;` or blanks; a text that is an order's id as it stands is
/// that order, blanks included.' Each is read in the form in which its supplier writes: what stands before and
/// behind is cut off, and a pattern finds the id in what is left and is none.
pub fn orders_of(world: &World<'_>, supplier: &SupplierId, reference: Option<&str>) -> Vec<OrderId> {
    let Some(reference) = reference else { return Vec::new() };
    let form = world.rules.supplier_references.get(supplier).unwrap_or(&world.rules.references);
    let as_it_stands = |text: &str| Some(OrderId::new(cut(form, text))).filter(|id| counts(world, id));
    let by_pattern = |text: &str| Some(OrderId::new(found(form, text)?)).filter(|id| counts(world, id));
    if let Some(order) = as_it_stands(reference) {
        return vec![order];
    }
    let mut orders = Vec::new();
    for text in reference.split(';').map(str::trim) {
        if let Some(order) = as_it_stands(text) {
            orders.push(order);
            continue;
        }
        let words = text.split_whitespace();
        let mut of_words: Vec<_> =
            words.filter_map(|word| as_it_stands(word).or_else(|| by_pattern(word))).collect();
        if of_words.is_empty() {
            of_words.extend(by_pattern(text));
        }
        orders.extend(of_words);
    }
    let mut known = BTreeSet::new();
    orders.retain(|order| known.insert(order.clone()));
    orders
}

/// A text without what stands before and behind the id of an order.
fn cut<'t>(form: &ReferenceForm, text: &'t str) -> &'t str {
    let text = text.strip_prefix(&form.prefix).unwrap_or(text);
    text.strip_suffix(&form.suffix).unwrap_or(text)
}

/// What the pattern, if there is one, finds: its group `order`, else its first group, else all that it matches.
fn found<'t>(form: &ReferenceForm, text: &'t str) -> Option<&'t str> {
    let found = form.pattern.as_ref()?.captures(cut(form, text))?;
    Some(found.name("order").or(found.get(1)).or(found.get(0))?.as_str())
}

fn counts(world: &World<'_>, order: &OrderId) -> bool {
    world.order(order).is_some() || world.book.not_judged.contains(order)
}

/// All lines of the submissions that exist at as-of, by supplier, submission id and line id.
pub fn all_sent<'a>(world: &World<'a>) -> Vec<Sent<'a>> {
    let catalogue = linking::catalogue(world);
    let submissions = submissions(world);
    let mut all: Vec<Sent<'a>> = world
        .book
        .submission_lines
        .iter()
        .flatten()
        .filter_map(|row| {
            let (_, submission) = submissions.iter().find(|(_, submission)| {
                submission.supplier == row.supplier && submission.submission_id == row.submission_id
            })?;
            Some(read(world, &catalogue, submission, row))
        })
        .collect();
    all.sort_by_key(Sent::key);
    all
}

fn read<'a>(
    world: &World<'a>,
    catalogue: &[Made],
    submission: &'a Submission,
    row: &'a SubmissionLine,
) -> Sent<'a> {
    let written = row.order_ref.as_deref().or(submission.order_ref.as_deref());
    let orders = orders_of(world, &row.supplier, written);
    let names: Vec<LineKey> = row
        .order_line_ref
        .iter()
        .flat_map(|line| orders.iter().map(|order| (order.clone(), line.clone())))
        .filter(|key| world.lines.iter().any(|line| line.key() == *key))
        .collect();
    let mut sent = Sent {
        row,
        submission,
        orders,
        names,
        reference_is_empty: row.order_line_ref.is_none(),
        written,
        thing: thing_of(catalogue, row),
    };
    let mut ties: Vec<&Tie> = ties_of(world, &sent);
    if ties.is_empty() {
        return sent;
    }
    ties.retain(|tie| counts(world, &tie.order_id));
    sent.names = ties.iter().map(|tie| (tie.order_id.clone(), tie.line_id.clone())).collect();
    sent.names.sort();
    sent.names.dedup();
    sent.orders = sent.names.iter().map(|(order, _)| order.clone()).collect();
    sent.orders.dedup();
    sent.reference_is_empty = false;
    sent.written = None;
    sent
}

/// The ties that replace a submission line's references: those that name it; and those that name all lines of
/// its submission, unless it already names a line of its orders.
fn ties_of<'a>(world: &World<'a>, sent: &Sent<'_>) -> Vec<&'a Tie> {
    let of_submission =
        |tie: &&Tie| tie.supplier == sent.row.supplier && tie.submission_id == sent.row.submission_id;
    let names_it = |tie: &Tie| match &tie.submission_line_id {
        Some(line) => *line == sent.row.line_id,
        None => sent.names.is_empty(),
    };
    world.book.ties.iter().flatten().filter(of_submission).filter(|tie| names_it(tie)).collect()
}

/// By its variant id; otherwise by its SKU among its supplier's variants, where exactly one bears it.
fn thing_of(catalogue: &[Made], row: &SubmissionLine) -> Option<Thing> {
    if let Some(variant) = &row.variant_id {
        return Some((row.supplier.clone(), variant.clone()));
    }
    let things = linking::bearing(catalogue, row.sku.as_ref()?);
    let mut own = things.into_iter().filter(|(supplier, _)| *supplier == row.supplier);
    let found = own.next()?;
    own.next().is_none().then_some(found)
}
