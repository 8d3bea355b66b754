//! How well it went over some weeks: counted, from the orders and findings that are kept.
//!
//! Must not know how it is told. Start reading at [`of_spans`].

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use model::Check;
use model::rates::{Rates, Share};
use serde_json::Value;
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::text;

/// What is missing or wrong.
const INCOMPLETE: [Check; 3] = [Check::PartSent, Check::UnsentOrder, Check::WrongVariant];

/// What is repaired by somebody.
const REPAIRED: [Check; 5] =
    [Check::PartSent, Check::UnsentOrder, Check::WrongVariant, Check::OverSent, Check::SentAfterCancel];

/// What makes an order less than perfect.
const SPOILT: [Check; 7] = [
    Check::PartSent,
    Check::UnsentOrder,
    Check::WrongVariant,
    Check::OverSent,
    Check::SentAfterCancel,
    Check::PartDispatched,
    Check::Late,
];

/// What happened to an order, or to lines of it.
#[derive(Default)]
struct Happened {
    checks: BTreeSet<Check>,
    is_incomplete: bool,
    lines: BTreeSet<String>,
}

/// The rates of a shop for spans that begin at these moments and end at another.
pub(crate) async fn of(
    connection: &mut SqliteConnection,
    shop: &str,
    begins: &[DateTime<Utc>],
    end: DateTime<Utc>,
    report_from: DateTime<Utc>,
) -> Result<Vec<Rates>, LedgerError> {
    let mut bounds: Vec<DateTime<Utc>> = begins.iter().copied().filter(|begin| *begin < end).collect();
    bounds.push(end);
    bounds.sort_unstable();
    bounds.dedup();
    let spans = of_spans(connection, shop, &bounds, report_from).await?;
    let from = |begin: &DateTime<Utc>| {
        let mut rates = Rates::default();
        for (at, span) in bounds.iter().zip(&spans) {
            if at >= begin {
                rates += span;
            }
        }
        rates
    };
    Ok(begins.iter().map(from).collect())
}

/// The rates of a shop for spans of which each ends where the next one begins, as it stands at the end of the last one.
pub(crate) async fn of_spans(
    connection: &mut SqliteConnection,
    shop: &str,
    bounds: &[DateTime<Utc>],
    report_from: DateTime<Utc>,
) -> Result<Vec<Rates>, LedgerError> {
    let mut all = vec![Rates::default(); bounds.len().saturating_sub(1)];
    let (Some(first), Some(end)) = (bounds.first(), bounds.last()) else { return Ok(all) };
    let earliest = (*first).max(report_from);
    let (from, until) = (text::of_moment(earliest), text::of_moment(*end));
    for (rates, span) in all.iter_mut().zip(bounds.windows(2)) {
        if span[1] > earliest {
            let counted = count(connection, shop, (span[0].max(earliest), span[1]), &until).await?;
            rates.orders_in_full.add(counted.orders, counted.orders);
            rates.lines_in_full.add(counted.lines, counted.lines);
            rates.perfect.add(counted.orders, counted.orders);
            rates.on_time_in_full.add(counted.promised, counted.promised);
        }
    }
    let happened = happened(connection, shop, &from, bounds, &mut all).await?;
    let orders = sqlx::query!(
        r#"SELECT o.order_id, o.placed_at, o.promised_by, COUNT(*) AS "lines!: i64"
        FROM orders o JOIN order_lines l ON l.shop = o.shop AND l.order_id = o.order_id
        WHERE o.shop = $1 AND o.placed_at >= $2 AND o.placed_at < $3 AND o.status IN ('open', 'dispatched')
            AND (o.paid_at IS NULL OR o.paid_at < $3) AND l.quantity > l.cancelled_quantity
            AND o.order_id IN (SELECT f.order_id FROM findings f WHERE f.shop = $1 AND f.order_id IS NOT NULL
                AND (f.settled_at IS NULL OR f.settled_at >= $2))
        GROUP BY o.order_id, o.placed_at, o.promised_by"#,
        shop,
        from,
        until
    )
    .fetch_all(connection)
    .await?;
    for order in orders {
        let placed = text::to_when(&order.placed_at)?.begins();
        let Some(rates) = span_of(bounds, &mut all, placed) else { continue };
        let Some(happened) = happened.get(&order.order_id) else { continue };
        let ever = |checks: &[Check]| checks.iter().any(|check| happened.checks.contains(check));
        let lines = u64::try_from(order.lines).unwrap_or_default();
        let short = (happened.lines.len() as u64).min(lines);
        let take = |share: &mut Share, number: u64| share.good = share.good.saturating_sub(number);
        take(&mut rates.lines_in_full, short);
        take(&mut rates.orders_in_full, u64::from(happened.is_incomplete));
        take(&mut rates.perfect, u64::from(ever(&SPOILT)));
        let promise = order.promised_by.as_deref().map(text::to_when).transpose()?;
        if promise.is_some_and(|promise| promise.ends() < *end) {
            take(&mut rates.on_time_in_full, u64::from(happened.is_incomplete || ever(&[Check::Late])));
        }
    }
    Ok(all)
}

/// What is counted of the span in which a moment is.
pub(crate) fn span_of<'s, T>(
    bounds: &[DateTime<Utc>],
    all: &'s mut [T],
    moment: DateTime<Utc>,
) -> Option<&'s mut T> {
    let begun = bounds.partition_point(|bound| *bound <= moment);
    let span = (begun < bounds.len()).then(|| begun.checked_sub(1)).flatten()?;
    all.get_mut(span)
}

/// How many there are in a span, whatever happened to them.
struct Counted {
    orders: u64,
    lines: u64,
    promised: u64,
}

/// Counts the orders of a span that count; those paid, and those promised, before `until`.
async fn count(
    connection: &mut SqliteConnection,
    shop: &str,
    (from, to): (DateTime<Utc>, DateTime<Utc>),
    until: &str,
) -> Result<Counted, LedgerError> {
    let (from, to) = (text::of_moment(from), text::of_moment(to));
    // Of a day that is promised its end counts: the last thirty characters, as those of a moment. Without a GROUP BY, for
    // which all orders of the shop would be gone through by their ids.
    let row = sqlx::query!(
        r#"SELECT COUNT(DISTINCT o.order_id) AS "orders!: i64", COUNT(*) AS "lines!: i64",
            COUNT(DISTINCT CASE WHEN substr(o.promised_by, length(o.promised_by) - 29) < $4 THEN o.order_id END)
                AS "promised!: i64"
        FROM orders o JOIN order_lines l ON l.shop = o.shop AND l.order_id = o.order_id
        WHERE o.shop = $1 AND o.placed_at >= $2 AND o.placed_at < $3 AND o.status IN ('open', 'dispatched')
            AND (o.paid_at IS NULL OR o.paid_at < $4) AND l.quantity > l.cancelled_quantity"#,
        shop,
        from,
        to,
        until
    )
    .fetch_one(connection)
    .await?;
    let number = |number: i64| u64::try_from(number).unwrap_or_default();
    Ok(Counted { orders: number(row.orders), lines: number(row.lines), promised: number(row.promised) })
}

/// What happened to orders, by their ids; what was repaired is added to the span in which it was.
async fn happened(
    connection: &mut SqliteConnection,
    shop: &str,
    from: &str,
    bounds: &[DateTime<Utc>],
    all: &mut [Rates],
) -> Result<BTreeMap<String, Happened>, LedgerError> {
    let findings = sqlx::query!(
        r#"SELECT order_id, finding_check, CASE WHEN settled_at IS NULL THEN body END AS "body?: String", first_seen,
            reopened_at, settled_at
        FROM findings WHERE shop = $1 AND order_id IS NOT NULL AND (settled_at IS NULL OR settled_at >= $2)"#,
        shop,
        from
    )
    .fetch_all(connection)
    .await?;
    let mut happened: BTreeMap<String, Happened> = BTreeMap::new();
    for row in findings {
        let Some(order_id) = row.order_id else { continue };
        let Ok(check) = row.finding_check.parse::<Check>() else { continue };
        let of_order = happened.entry(order_id).or_default();
        of_order.checks.insert(check);
        match row.settled_at {
            Some(settled) if REPAIRED.contains(&check) => {
                let settled = text::to_moment(&settled)?;
                let seen = text::to_moment(row.reopened_at.as_ref().unwrap_or(&row.first_seen))?;
                if let Some(rates) = span_of(bounds, all, settled) {
                    rates.repairs.push(settled - seen);
                }
            }
            None if INCOMPLETE.contains(&check) => {
                of_order.is_incomplete = true;
                of_order.lines.extend(lines(&row.body.unwrap_or_default()));
            }
            _ => {}
        }
    }
    Ok(happened)
}

/// The lines that a finding names.
fn lines(body: &str) -> Vec<String> {
    let body: Value = serde_json::from_str(body).unwrap_or_default();
    let lines = body.get("lines").and_then(Value::as_array).into_iter().flatten();
    lines.filter_map(|line| line.get("line_id")?.as_str().map(str::to_owned)).collect()
}
