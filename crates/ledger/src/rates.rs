//! How well it went over some weeks: counted, from the orders and findings that are kept.
//!
//! Must not know how it is told. Start reading at [`of`].

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, TimeDelta, Utc};
use model::Check;
use model::rates::Rates;
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
    let earliest = begins.iter().min().copied().unwrap_or(end).max(report_from);
    let (from, until) = (text::of_moment(earliest), text::of_moment(end));
    let orders = sqlx::query!(
        r#"SELECT o.order_id, o.placed_at, o.promised_by, COUNT(*) AS "lines!: i64"
        FROM orders o JOIN order_lines l ON l.shop = o.shop AND l.order_id = o.order_id
        WHERE o.shop = $1 AND o.placed_at >= $2 AND o.placed_at < $3 AND o.status IN ('open', 'dispatched')
            AND (o.paid_at IS NULL OR o.paid_at < $3) AND l.quantity > l.cancelled_quantity
        GROUP BY o.order_id, o.placed_at, o.promised_by"#,
        shop,
        from,
        until
    )
    .fetch_all(&mut *connection)
    .await?;
    let findings = sqlx::query!(
        "SELECT order_id, finding_check, body, first_seen, reopened_at, settled_at FROM findings
        WHERE shop = $1 AND order_id IS NOT NULL AND (settled_at IS NULL OR settled_at >= $2)",
        shop,
        from
    )
    .fetch_all(connection)
    .await?;

    let mut happened: BTreeMap<String, Happened> = BTreeMap::new();
    let mut repairs: Vec<(DateTime<Utc>, TimeDelta)> = Vec::new();
    for row in findings {
        let Some(order_id) = row.order_id else { continue };
        let Ok(check) = row.finding_check.parse::<Check>() else { continue };
        let of_order = happened.entry(order_id).or_default();
        of_order.checks.insert(check);
        match row.settled_at {
            Some(settled) if REPAIRED.contains(&check) => {
                let settled = text::to_moment(&settled)?;
                let seen = text::to_moment(row.reopened_at.as_ref().unwrap_or(&row.first_seen))?;
                repairs.push((settled, settled - seen));
            }
            None if INCOMPLETE.contains(&check) => {
                of_order.is_incomplete = true;
                of_order.lines.extend(lines(&row.body));
            }
            _ => {}
        }
    }
    let mut all = Vec::new();
    for begin in begins {
        let mut rates = Rates::default();
        for order in &orders {
            if text::to_when(&order.placed_at)?.begins() < *begin {
                continue;
            }
            let happened = happened.get(&order.order_id);
            let is_in_full = happened.is_none_or(|happened| !happened.is_incomplete);
            let ever = |checks: &[Check]| {
                happened.is_some_and(|happened| checks.iter().any(|check| happened.checks.contains(check)))
            };
            let lines = u64::try_from(order.lines).unwrap_or_default();
            let short = happened.map_or(0, |happened| happened.lines.len() as u64).min(lines);
            rates.orders_in_full.add(1, u64::from(is_in_full));
            rates.lines_in_full.add(lines, lines - short);
            rates.perfect.add(1, u64::from(!ever(&SPOILT)));
            let promise = order.promised_by.as_deref().map(text::to_when).transpose()?;
            if promise.is_some_and(|promise| promise.ends() < end) {
                rates.on_time_in_full.add(1, u64::from(is_in_full && !ever(&[Check::Late])));
            }
        }
        let in_span = repairs.iter().filter(|(settled, _)| *settled >= *begin && *settled < end);
        rates.repairs = in_span.map(|(_, span)| *span).collect();
        all.push(rates);
    }
    Ok(all)
}

/// The lines that a finding names.
fn lines(body: &str) -> Vec<String> {
    let body: Value = serde_json::from_str(body).unwrap_or_default();
    let lines = body.get("lines").and_then(Value::as_array).into_iter().flatten();
    lines.filter_map(|line| line.get("line_id")?.as_str().map(str::to_owned)).collect()
}
