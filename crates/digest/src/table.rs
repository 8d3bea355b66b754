//! The audit as a printed list for the owner of a shop: what to do first stands first, and the sums that prove
//! that nothing was missed stand last.
//!
//! Must not know what a terminal is, nor the words of a finding (see `say`). Start reading at [`table`].

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use anstyle::{AnsiColor, Style};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::finding::FindingId;
use model::{Check, Finding, OrderId, Outcome};

use crate::causes::{self, Affected, Cause, Item, Why};
use crate::clean::{clean, cut, width};
use crate::moment::{Clock, time_left};
use crate::page::{Page, Styled, wrap};
use crate::say::{PACKED_BY_THE_SHOP, Teller, account, lines_and_why, which};
use crate::words::{by_number, capital, count, line_name, listed, number_of};

/// How many findings of a group are shown where nothing else is asked: what somebody can read through at once.
pub const ROWS_PER_GROUP: usize = 50;

/// The fewest columns that a page has; a narrower one would break every identifier.
pub const NARROWEST: usize = 60;

/// How many orders are shown under one cause where the list is limited: the thing to do is the same for all.
const ORDERS_PER_CAUSE: usize = 10;

/// How many orders that were not judged are named where the list is limited.
const NOT_JUDGED_NAMED: usize = 20;

/// Columns of what stands to the left of each finding: time left, and the check's word.
const LEFT: usize = 17;

/// Columns between that and the words.
const BETWEEN: usize = 2;

/// Columns of what a sum is of.
const SUM_NAME: usize = 36;

/// The most columns of running text; longer lines are hard to read.
const PROSE: usize = 100;

/// The most columns of an order's id in a list of orders.
const ID: usize = 24;

/// How the table is to look.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct View {
    /// Columns of the page; no line is wider. At least [`NARROWEST`].
    pub width: usize,
    /// Whether to add colour. It never says anything that the words do not say.
    pub colour: bool,
    /// The shop's zone, in which all times are told.
    pub zone: Tz,
    /// How many findings to show of each group; [`ROWS_PER_GROUP`] is usual, `None` shows all.
    pub limit: Option<usize>,
    /// The checks that the owner asked for, the findings of others having been left out; empty: all of them.
    pub checks: Vec<Check>,
}

/// 80 columns, no colour, UTC, the usual limit, all checks.
impl Default for View {
    fn default() -> Self {
        Self { width: 80, colour: false, zone: Tz::UTC, limit: Some(ROWS_PER_GROUP), checks: Vec::new() }
    }
}

/// The audit as a page of text, ending in a line feed.
///
/// A headline; what can still be put right, by time left; what is past its cut-off; orders to watch; supplier
/// orders; listings and links; then the sums, what the reader should know, and what was not judged. Orders with
/// one cause stand together under it. What a limit hides is counted.
pub fn table(outcome: &Outcome, view: &View) -> String {
    let clock = Clock::of_a_reader(view.zone, outcome.as_of);
    let writer = Writer {
        page: Page::new(view.width.max(NARROWEST), view.colour),
        as_of: outcome.as_of,
        teller: Teller { clock, says_deadlines: false },
        limit: view.limit,
    };
    writer.write(outcome, view)
}

/// Where a finding stands.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    Now,
    Past,
    Watch,
    SupplierOrders,
    Listings,
}

impl Group {
    const ALL: [Self; 5] = [Self::Now, Self::Past, Self::Watch, Self::SupplierOrders, Self::Listings];

    fn of(finding: &Finding) -> Self {
        match finding.check {
            check if is_bound_to_cutoff(check) && finding.cutoff_passed => Self::Past,
            check if is_bound_to_cutoff(check) => Self::Now,
            Check::StraySubmission if finding.act_before.is_some() => Self::Now,
            Check::StraySubmission | Check::Held | Check::NotStarted => Self::SupplierOrders,
            Check::OfferUnlinked
            | Check::LinkMismatch
            | Check::LinkUnusable
            | Check::SharedVariant
            | Check::LossMaking => Self::Listings,
            _ => Self::Watch,
        }
    }

    fn title(self) -> &'static str {
        match self {
            Self::Now => "TO PUT RIGHT NOW",
            Self::Past => "PAST THE CUT-OFF",
            Self::Watch => "ORDERS TO WATCH",
            Self::SupplierOrders => "SUPPLIER ORDERS TO ASK ABOUT",
            Self::Listings => "LISTINGS AND LINKS",
        }
    }
}

/// Whether what is wrong can be put right at the supplier until a cut-off.
fn is_bound_to_cutoff(check: Check) -> bool {
    matches!(
        check,
        Check::PartSent | Check::UnsentOrder | Check::WrongVariant | Check::OverSent | Check::SentAfterCancel
    )
}

fn is_incomplete(finding: &Finding) -> bool {
    matches!(finding.check, Check::PartSent | Check::UnsentOrder)
}

const PLAIN: Style = Style::new();
const BOLD: Style = Style::new().bold();
const FAINT: Style = Style::new().dimmed();
const LOUD: Style = Style::new().bold().fg_color(Some(anstyle::Color::Ansi(AnsiColor::Red)));
const SOON: Style = Style::new().fg_color(Some(anstyle::Color::Ansi(AnsiColor::Yellow)));

struct Writer {
    page: Page,
    as_of: DateTime<Utc>,
    teller: Teller,
    limit: Option<usize>,
}

impl Writer {
    fn write(mut self, outcome: &Outcome, view: &View) -> String {
        self.page.paragraph(BOLD, &self.headline(outcome, view));
        self.incomplete(outcome);
        let stand = self.teller.clock.in_full(self.as_of);
        self.page.paragraph(PLAIN, &format!("As things stood on {stand}, {} time.", view.zone));
        if !view.checks.is_empty() {
            let words: Vec<&str> = view.checks.iter().map(|check| check.word()).collect();
            let asked = format!("Only this was asked for, anything else is left out: {}.", words.join(", "));
            self.page.paragraph(PLAIN, &asked);
        }
        for group in Group::ALL {
            let findings: Vec<&Finding> =
                outcome.findings.iter().filter(|finding| Group::of(finding) == group).collect();
            if !findings.is_empty() {
                self.group(group, &findings);
            }
        }
        self.sums(outcome);
        self.notices(outcome);
        self.not_judged(outcome);
        self.page.finish()
    }

    /// One sentence: what is worst, whether it can still be put right, and how much else there is.
    fn headline(&self, outcome: &Outcome, view: &View) -> String {
        let findings = &outcome.findings;
        let Some(worst) = findings.iter().map(|finding| finding.check).min() else {
            return nothing_wrong(outcome, view);
        };
        let core: Vec<&Finding> =
            findings
                .iter()
                .filter(|finding| {
                    if is_incomplete_check(worst) { is_incomplete(finding) } else { finding.check == worst }
                })
                .collect();
        let of = |check: Check| core.iter().filter(|finding| finding.check == check).count() as u64;
        let phrases: Vec<String> = Check::ALL
            .iter()
            .filter(|check| of(**check) > 0)
            .map(|check| headline_phrase(*check, of(*check)))
            .collect();
        let mut sentence = phrases.join(" and ");

        let number = number_of(&core);
        if is_bound_to_cutoff(worst) {
            sentence += &self.what_can_be_put_right(&core);
        }
        match findings.len() as u64 - number {
            0 => {}
            others => {
                let things = count(others, "other thing needs", "other things need");
                sentence += &format!("; {things} a look");
            }
        }
        sentence.push('.');
        sentence
    }

    /// How many of the findings can still be put right, how many cannot, and of how many that is not known.
    fn what_can_be_put_right(&self, findings: &[&Finding]) -> String {
        let number = number_of(findings);
        let ahead: Vec<DateTime<Utc>> = findings
            .iter()
            .filter(|finding| Group::of(finding) == Group::Now)
            .filter_map(|finding| finding.act_before)
            .collect();
        let past = findings.iter().filter(|finding| Group::of(finding) == Group::Past).count() as u64;
        let unknown = number - number_of(&ahead) - past;
        let first = ahead.iter().min().map(|first| self.teller.clock.in_a_sentence(*first));
        let mut parts = Vec::new();
        match (first, ahead.len()) {
            (Some(first), 1) if number == 1 => parts.push(format!("it can still be put right, by {first}")),
            (Some(first), 1) => parts.push(format!("1 can still be put right, by {first}")),
            (Some(first), some) => parts.push(format!("{some} can still be put right, the first by {first}")),
            (None, _) => {}
        }
        match past {
            0 => {}
            1 if number == 1 => parts.push("it is past the cut-off".to_owned()),
            past if past == number => parts.push("all are past the cut-off".to_owned()),
            past => parts.push(format!("{past} {} past the cut-off", by_number(past, "is", "are"))),
        }
        if unknown > 0 && unknown < number {
            parts.push(format!("{unknown} {} no known cut-off", by_number(unknown, "has", "have")));
        }
        if parts.is_empty() { String::new() } else { format!("; {}", listed(&parts, String::clone)) }
    }

    fn incomplete(&mut self, outcome: &Outcome) {
        if is_complete(outcome) {
            return;
        }
        let rows = count(outcome.rows_skipped, "row", "rows");
        let orders = count(number_of(&outcome.not_judged), "order was", "orders were");
        let text = format!(
            "THIS IS NOT COMPLETE: {rows} could not be read, and {orders} not judged. Nothing is known about \
             what was left out; see the end of this list."
        );
        self.page.paragraph(LOUD, &text);
    }

    fn group(&mut self, group: Group, findings: &[&Finding]) {
        self.page.gap();
        let number = count(number_of(findings), "finding", "findings");
        self.page.ends(BOLD, group.title(), &number);
        self.page.rule();

        let mut room = self.limit.unwrap_or(usize::MAX);
        let mut shown: BTreeSet<&FindingId> = BTreeSet::new();
        for item in sorted(findings) {
            if room == 0 {
                break;
            }
            match item {
                Item::Single(finding) => {
                    self.single(group, finding);
                    shown.insert(&finding.id);
                    room -= 1;
                }
                Item::Cause(cause) => {
                    let most = if self.limit.is_some() { room.min(ORDERS_PER_CAUSE) } else { room };
                    let orders = self.cause(group, &cause, most, &shown);
                    room -= orders.len();
                    shown.extend(orders);
                }
            }
            self.page.gap();
        }
        if shown.len() < findings.len() {
            let text = format!(
                "Showing {} of {}, the most urgent first; --format csv lists all of them, --check shows one kind.",
                shown.len(),
                findings.len()
            );
            self.page.paragraph(PLAIN, &text);
        }
    }

    fn single(&mut self, group: Group, finding: &Finding) {
        let account = account(finding, &self.teller);
        let columns = self.right_columns().min(PROSE);
        let mut right = styled(PLAIN, &format!("{}: {}.", account.subject, account.what), columns);
        if let Some(first) = right.first_mut() {
            *first = with_bold_start(first, &account.subject);
        }
        let mut advice = format!("Do: {}.", account.todo);
        if let Some(aside) = account.aside {
            advice += &format!(" {}", asked(aside));
        }
        if let Some(value) = finding.value_at_risk.filter(|_| finding.check != Check::LossMaking) {
            advice += &format!(" At stake: {value}.");
        }
        right.extend(styled(PLAIN, &advice, columns));
        let mut left = self.when(group, finding);
        left.push((FAINT, finding.check.word().to_owned()));
        self.page.side_by_side(LEFT + BETWEEN, &left, &right);
    }

    /// Writes a cause and up to `most` of its orders; answers which.
    fn cause<'a>(
        &mut self,
        group: Group,
        cause: &Cause<'a>,
        most: usize,
        shown: &BTreeSet<&FindingId>,
    ) -> Vec<&'a FindingId> {
        let columns = self.right_columns().min(PROSE);
        let number = cause.affected.len();
        let name = line_name(cause.line);
        let what = which(cause.why, &[cause.line], true);
        let head = format!("{name}, {what}: nobody makes it in {number} orders.");
        let mut right = styled(PLAIN, &clean(&head), columns);
        if let Some(first) = right.first_mut() {
            *first = with_bold_start(first, &clean(&name));
        }
        let mut advice = format!("Do: {}", cause_todo(cause.why, group == Group::Past));
        if cause.why == Why::NoLink {
            advice += &format!(" {}", asked(PACKED_BY_THE_SHOP));
        }
        right.extend(styled(PLAIN, &advice, columns));

        let affected = &cause.affected[..most.min(number)];
        right.extend(self.orders(group, affected, shown));
        if affected.len() < number {
            right.push(vec![(PLAIN, format!("  and {} more orders", number - affected.len()))]);
        }
        let first = cause.affected.iter().min_by_key(|affected| deadline(affected.finding));
        let mut left = first.map(|first| self.when(group, first.finding)).unwrap_or_default();
        left.push((FAINT, format!("{number} orders")));
        self.page.side_by_side(LEFT + BETWEEN, &left, &right);
        affected.iter().map(|affected| &affected.finding.id).collect()
    }

    /// A line per order of a cause, in columns as wide as they need be; what has room is shown.
    fn orders(
        &self,
        group: Group,
        affected: &[Affected<'_>],
        shown: &BTreeSet<&FindingId>,
    ) -> Vec<Vec<Styled>> {
        let cells: Vec<Vec<Styled>> = affected
            .iter()
            .map(|affected| {
                let finding = affected.finding;
                let id = finding.order_id.as_ref().map(OrderId::as_str).unwrap_or_default();
                let mut when = self.when(group, finding).into_iter();
                let left = when.next().unwrap_or_default();
                let by = when.next().unwrap_or_default();
                let value =
                    finding.value_at_risk.map(|value| format!("{value} at stake")).unwrap_or_default();
                vec![
                    (PLAIN, cut(id, ID)),
                    (PLAIN, count(affected.units, "item", "items")),
                    left,
                    (FAINT, finding.check.word().to_owned()),
                    by,
                    (PLAIN, value),
                ]
            })
            .collect();
        let Some(number) = cells.first().map(Vec::len) else { return Vec::new() };
        let mut room = self.right_columns();
        let mut widths = Vec::new();
        for column in 0..number {
            let wide = cells.iter().map(|row| width(&row[column].1)).max().unwrap_or(0);
            let wide = if wide == 0 { 0 } else { wide + BETWEEN };
            if wide > room {
                break;
            }
            room -= wide;
            widths.push(wide);
        }

        let mut lines = Vec::new();
        for (row, affected) in cells.into_iter().zip(affected) {
            let mut line = Vec::new();
            for ((style, text), wide) in row.into_iter().zip(&widths).filter(|(_, wide)| **wide > 0) {
                let blanks = wide.saturating_sub(BETWEEN + width(&text));
                line.push((PLAIN, " ".repeat(BETWEEN)));
                line.push((style, text));
                line.push((PLAIN, " ".repeat(blanks)));
            }
            lines.push(line);
            if !shown.contains(&affected.finding.id) {
                lines.extend(self.also(affected));
            }
        }
        lines
    }

    /// What else the order waits for, so that nobody takes it for done when the cause is gone.
    fn also(&self, affected: &Affected<'_>) -> Vec<Vec<Styled>> {
        let mut texts = Vec::new();
        if !affected.alone.is_empty() {
            texts.push(format!("also: nobody makes {}", lines_and_why(&affected.alone)));
        }
        if affected.elsewhere {
            texts.push("also: it waits for another link on this list".to_owned());
        }
        let indent = " ".repeat(2 * BETWEEN);
        let columns = self.right_columns().min(PROSE).saturating_sub(indent.len());
        texts
            .iter()
            .flat_map(|text| wrap(&clean(text), columns))
            .map(|line| vec![(PLAIN, format!("{indent}{line}"))])
            .collect()
    }

    /// The time left to act, and until when.
    fn when(&self, group: Group, finding: &Finding) -> Vec<Styled> {
        match (finding.act_before, group) {
            (Some(deadline), _) => {
                let left = time_left(deadline.signed_duration_since(self.as_of));
                let moment = self.teller.clock.in_a_column(deadline);
                let by = format!("by {moment}");
                vec![(SOON, left), (PLAIN, if width(&by) <= LEFT { by } else { moment })]
            }
            (None, _) if finding.cutoff_passed => vec![(LOUD, "cut-off passed".to_owned())],
            (None, Group::Now) => vec![(SOON, "no cut-off known".to_owned())],
            (None, _) => Vec::new(),
        }
    }

    fn right_columns(&self) -> usize {
        self.page.columns() - LEFT - BETWEEN
    }

    /// The proof: what was bought, and where it is.
    fn sums(&mut self, outcome: &Outcome) {
        let totals = &outcome.totals;
        self.page.gap();
        let checked =
            format!("{}, {}", count(totals.orders, "order", "orders"), count(totals.lines, "line", "lines"));
        self.page.ends(BOLD, "WHAT WAS CHECKED", &checked);
        self.page.rule();
        let parts = [
            ("made rightly", totals.covered),
            ("wrong item sent", totals.covered_wrongly),
            ("nobody makes, or not sent yet", totals.uncovered),
            ("packed by the shop", totals.own_stock),
        ];
        let sum = parts.iter().fold(0, |sum: u64, (_, units)| sum.saturating_add(*units));
        let bought = totals.units_demanded;
        let digits = [sum, bought, totals.dispatched].map(|units| units.to_string().len());
        let digits = digits.into_iter().max().unwrap_or(0);
        let mut row = |name: &str, units: &str| {
            self.page.line(&[(PLAIN, format!("  {name:<SUM_NAME$}{units:>digits$}"))]);
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
            self.page.paragraph(LOUD, &text);
        }
    }

    fn notices(&mut self, outcome: &Outcome) {
        if outcome.notices.is_empty() {
            return;
        }
        self.page.gap();
        let number = count(number_of(&outcome.notices), "note", "notes");
        self.page.ends(BOLD, "GOOD TO KNOW", &number);
        self.page.rule();
        let most = self.limit.unwrap_or(usize::MAX);
        for notice in outcome.notices.iter().take(most) {
            let columns = self.page.columns().min(PROSE) - BETWEEN;
            for (index, line) in wrap(&clean(&notice.text), columns).into_iter().enumerate() {
                let mark = if index == 0 { "- " } else { "  " };
                self.page.line(&[(PLAIN, format!("{mark}{line}"))]);
            }
        }
        if most < outcome.notices.len() {
            let text = format!("Showing {most} of {}; --format json has all of them.", outcome.notices.len());
            self.page.paragraph(PLAIN, &text);
        }
    }

    fn not_judged(&mut self, outcome: &Outcome) {
        if is_complete(outcome) {
            return;
        }
        self.page.gap();
        let rows = count(outcome.rows_skipped, "row not read", "rows not read");
        let orders = count(number_of(&outcome.not_judged), "order not judged", "orders not judged");
        self.page.ends(LOUD, "NOT COMPLETE", &format!("{rows}, {orders}"));
        self.page.rule();
        let most = self.limit.map_or(usize::MAX, |_| NOT_JUDGED_NAMED);
        let ids: Vec<String> =
            outcome.not_judged.iter().take(most).map(|order_id| clean(order_id.as_str())).collect();
        if !ids.is_empty() {
            let mut text = format!("Not judged: {}", ids.join(", "));
            if outcome.not_judged.len() > ids.len() {
                text += &format!(
                    " (showing {} of {}; --format json has all of them)",
                    ids.len(),
                    outcome.not_judged.len()
                );
            }
            self.page.paragraph(PLAIN, &text);
        }
        self.page.paragraph(PLAIN, "Do: mend the rows that could not be read, and check again.");
    }
}

fn is_complete(outcome: &Outcome) -> bool {
    outcome.rows_skipped == 0 && outcome.not_judged.is_empty()
}

fn is_incomplete_check(check: Check) -> bool {
    matches!(check, Check::PartSent | Check::UnsentOrder)
}

fn nothing_wrong(outcome: &Outcome, view: &View) -> String {
    let totals = &outcome.totals;
    if totals.orders == 0 {
        return "Nothing wrong was found, but there was no order to check.".to_owned();
    }
    let among = if view.checks.is_empty() { "" } else { " of what was asked for" };
    let orders = count(totals.orders, "order", "orders");
    let mut sentence = format!("Nothing wrong was found{among} in {orders}");
    if totals.uncovered > 0 {
        let items = count(totals.uncovered, "item is", "items are");
        sentence += &format!("; {items} not with a supplier yet");
    }
    sentence.push('.');
    sentence
}

fn headline_phrase(check: Check, number: u64) -> String {
    let (one, many) = match check {
        Check::PartSent => ("order goes out incomplete", "orders go out incomplete"),
        Check::UnsentOrder => ("order was not sent at all", "orders were not sent at all"),
        Check::WrongVariant => ("wrong item was sent", "wrong items were sent"),
        Check::OverSent => ("supplier order has too much", "supplier orders have too much"),
        Check::SentAfterCancel => {
            ("supplier order is for something cancelled", "supplier orders are for something cancelled")
        }
        Check::StraySubmission => {
            ("supplier order is for no known order", "supplier orders are for no known order")
        }
        Check::Held => ("supplier order is on hold", "supplier orders are on hold"),
        Check::NotStarted => ("supplier order has not been begun", "supplier orders have not been begun"),
        Check::PartDispatched => ("order went out in part only", "orders went out in part only"),
        Check::Late => ("order is late", "orders are late"),
        Check::DispatchUnmarked => (
            "order went out and is still open at the storefront",
            "orders went out and are still open at the storefront",
        ),
        Check::OfferUnlinked => ("listing sells what is not linked", "listings sell what is not linked"),
        Check::LinkMismatch => {
            ("link leads to another item than it says", "links lead to another item than they say")
        }
        Check::LinkUnusable => ("link leads to what cannot be had", "links lead to what cannot be had"),
        Check::SharedVariant => {
            ("variant is shared by different things", "variants are shared by different things")
        }
        Check::LossMaking => ("item sells at a loss", "items sell at a loss"),
    };
    count(number, one, many)
}

fn cause_todo(why: Why, past: bool) -> String {
    let repair = match why {
        Why::NoLink => "link it once",
        Why::Intended => "put its link in force once",
        Why::Ambiguous => "link it to the right one once",
        Why::Broken => "mend its link once",
        Why::NotSent | Why::Short => "see why it was not sent",
    };
    if past {
        format!(
            "{repair}, then order it for each of these: a second supplier order and parcel will be needed."
        )
    } else {
        format!("{repair}, then order it from the supplier for each of these.")
    }
}

/// A question as a sentence of its own.
fn asked(aside: &str) -> String {
    let sentences: Vec<String> = aside.split_inclusive("? ").map(capital).collect();
    format!("{}.", sentences.concat())
}

/// The line with its start in bold, where that stands on it whole.
fn with_bold_start(line: &[Styled], start: &str) -> Vec<Styled> {
    match line {
        [(style, text)] if text.starts_with(start) => {
            let (start, rest) = text.split_at(start.len());
            vec![(BOLD, start.to_owned()), (*style, rest.to_owned())]
        }
        line => line.to_vec(),
    }
}

fn styled(style: Style, text: &str, columns: usize) -> Vec<Vec<Styled>> {
    wrap(text, columns).into_iter().map(|line| vec![(style, line)]).collect()
}

/// Sorts what has no deadline behind what has one.
fn deadline(finding: &Finding) -> (bool, Option<DateTime<Utc>>) {
    (finding.act_before.is_none(), finding.act_before)
}

/// The findings of a group as things to do: by time left, then with the worst of its order's checks, what mends
/// the most orders first; the findings of one order together.
fn sorted<'a>(findings: &[&'a Finding]) -> Vec<Item<'a>> {
    let mut findings = findings.to_vec();
    findings.sort_by_key(|finding| deadline(finding));
    let mut worst: BTreeMap<Option<&OrderId>, Check> = BTreeMap::new();
    for finding in findings.iter().filter(|finding| finding.order_id.is_some()) {
        let check = worst.entry(finding.order_id.as_ref()).or_insert(finding.check);
        *check = finding.check.min(*check);
    }
    let worst = |finding: &Finding| worst.get(&finding.order_id.as_ref()).copied().unwrap_or(finding.check);
    let mut items = causes::items(&findings);
    items.sort_by_cached_key(|item| {
        let findings = item.findings();
        let first = findings.first().copied();
        (
            first.map(deadline),
            findings.iter().map(|finding| worst(finding)).min(),
            Reverse(findings.len()),
            first.map(|finding| (finding.order_id.clone(), finding.check, finding.id.clone())),
        )
    });
    items
}
