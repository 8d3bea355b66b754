//! Findings over time: each opens once, settles by itself, and reopens as the same; and what the owner put aside.
//!
//! Must not know: how a finding is reached, or told. Start reading at [`record`].

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use model::finding::{Finding, NamedLine};
use model::{Outcome, ShopId};
use sha2::{Digest, Sha256};
use sqlx::SqliteConnection;

use crate::OWNER;
use crate::commit::{self, Change, ROW, THERE};
use crate::error::LedgerError;
use crate::nouns::Origin;
use crate::text;

/// What the timeline calls a finding; its key is the order that it is about (empty where there is none) and its id.
pub(crate) const NOUN: &str = "finding";
/// The field under which the note of what is set aside stands.
const SET_ASIDE: &str = "set_aside";
/// Under which source the timeline says what a round found.
const ROUND: &str = "round";

/// What recording an outcome came to, by the ids of findings.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Recorded {
    /// Never seen before.
    pub opened: Vec<String>,
    /// Seen before, settled, and there again.
    pub reopened: Vec<String>,
    /// There as before, with other evidence.
    pub changed: Vec<String>,
    /// No longer there.
    pub settled: Vec<String>,
}

/// A finding with its history.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct KeptFinding {
    /// Its identity.
    pub id: String,
    /// The check, by its word.
    pub check: String,
    /// The order that it is about.
    pub order_id: Option<String>,
    /// The finding as JSON, as it was last seen, with the moment at which it was first seen.
    pub body: String,
    /// When it was first seen.
    pub first_seen: DateTime<Utc>,
    /// When it was there again after it had settled, for the last time.
    pub reopened_at: Option<DateTime<Utc>>,
    /// When it was no longer there; `None` while it stands.
    pub settled_at: Option<DateTime<Utc>>,
    /// What the owner said, where it is set aside now.
    pub set_aside: Option<SetAside>,
}

/// A finding that settled.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SettledFinding {
    /// The check, by its word.
    pub finding_check: String,
    /// The order that it was about.
    pub order_id: Option<String>,
    /// The supplier that it was about.
    pub supplier: Option<String>,
    /// The supplier order that it was about.
    pub submission_id: Option<String>,
    /// The finding as JSON, as it was last seen.
    pub body: String,
}

/// That the owner put a finding aside.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SetAside {
    /// Why.
    pub note: String,
    /// Until when; `None`: until its evidence changes.
    pub until: Option<DateTime<Utc>>,
}

/// Keeps the findings of a shop as they are now.
pub(crate) async fn record(
    connection: &mut SqliteConnection,
    shop: &str,
    outcome: &Outcome,
    at: DateTime<Utc>,
) -> Result<Recorded, LedgerError> {
    let now = text::of_moment(at);
    let origin = Origin { shop, source: ROUND, request: ROUND, seen_at: &now, source_time: None };
    let mut before: BTreeMap<String, Before> = sqlx::query_as!(
        Before,
        "SELECT id, order_id, evidence_digest, first_seen, settled_at FROM findings
        WHERE shop = $1 AND settled_at IS NULL",
        shop
    )
    .fetch_all(&mut *connection)
    .await?
    .into_iter()
    .map(|row| (row.id.clone(), row))
    .collect();
    let mut recorded = Recorded::default();
    for finding in &outcome.findings {
        let id = finding.id.as_str().to_owned();
        let known = match before.remove(&id) {
            Some(standing) => Some(standing),
            None => settled_before(connection, shop, &id).await?,
        };
        let first_seen = match &known {
            Some(known) => text::to_moment(&known.first_seen)?,
            None => at,
        };
        let kept = Kept::of(finding, first_seen);
        let is_again = known.as_ref().is_some_and(|known| known.settled_at.is_some());
        let reopened_at = is_again.then(|| now.clone());
        if known.is_none() || is_again {
            note(connection, origin, kept.order_id.as_deref(), &id, (ROW, None, THERE)).await?;
        }
        match known {
            None => recorded.opened.push(id.clone()),
            Some(_) if is_again => recorded.reopened.push(id.clone()),
            Some(known) if known.evidence_digest != kept.evidence_digest => recorded.changed.push(id.clone()),
            Some(_) => {}
        }
        write(connection, origin, &id, &kept, &text::of_moment(first_seen), reopened_at.as_deref()).await?;
    }
    for (id, known) in before {
        let is_judged = known.order_id.as_deref().is_none_or(|order_id| {
            outcome.not_judged.binary_search_by(|other| other.as_str().cmp(order_id)).is_err()
        });
        if is_judged {
            sqlx::query!("UPDATE findings SET settled_at = $3 WHERE shop = $1 AND id = $2", shop, id, now)
                .execute(&mut *connection)
                .await?;
            note(connection, origin, known.order_id.as_deref(), &id, (ROW, THERE, None)).await?;
            recorded.settled.push(id);
        }
    }
    end_set_asides(connection, origin).await?;
    Ok(recorded)
}

/// A finding as it was before a round.
struct Before {
    id: String,
    order_id: Option<String>,
    evidence_digest: String,
    first_seen: String,
    settled_at: Option<String>,
}

async fn write(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    id: &str,
    kept: &Kept,
    first_seen: &str,
    reopened_at: Option<&str>,
) -> Result<(), LedgerError> {
    sqlx::query!(
        "INSERT INTO findings (shop, id, finding_check, order_id, supplier, submission_id, act_before,
            evidence_digest, body, first_seen, reopened_at, last_seen, settled_at)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, NULL)
        ON CONFLICT (shop, id) DO UPDATE SET order_id = excluded.order_id, supplier = excluded.supplier,
            submission_id = excluded.submission_id, act_before = excluded.act_before,
            evidence_digest = excluded.evidence_digest, body = excluded.body,
            reopened_at = coalesce(excluded.reopened_at, findings.reopened_at),
            last_seen = excluded.last_seen, settled_at = NULL",
        origin.shop,
        id,
        kept.check,
        kept.order_id,
        kept.supplier,
        kept.submission_id,
        kept.act_before,
        kept.evidence_digest,
        kept.body,
        first_seen,
        reopened_at,
        origin.seen_at
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// Ends what was set aside until a moment that has come, or until its evidence changed or it settled. For good: the
/// evidence may become what it was again, and is shown again then.
async fn end_set_asides(connection: &mut SqliteConnection, origin: Origin<'_>) -> Result<(), LedgerError> {
    let ended = sqlx::query!(
        "SELECT s.id, s.note, f.order_id FROM set_asides s JOIN findings f ON f.shop = s.shop AND f.id = s.id
        WHERE s.shop = $1 AND (s.until <= $2
            OR s.until IS NULL AND (f.settled_at IS NOT NULL OR s.evidence_digest <> f.evidence_digest))
        ORDER BY s.id",
        origin.shop,
        origin.seen_at
    )
    .fetch_all(&mut *connection)
    .await?;
    for row in ended {
        sqlx::query!("DELETE FROM set_asides WHERE shop = $1 AND id = $2", origin.shop, row.id)
            .execute(&mut *connection)
            .await?;
        let change = (SET_ASIDE, Some(row.note.as_str()), None);
        note(connection, origin, row.order_id.as_deref(), &row.id, change).await?;
    }
    Ok(())
}

/// Notes what became of a finding: the field, what it was and what it became.
async fn note(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    order_id: Option<&str>,
    id: &str,
    (field, was, became): (&str, Option<&str>, Option<&str>),
) -> Result<(), LedgerError> {
    let row_key = commit::list(&[order_id.unwrap_or_default(), id]);
    commit::note(connection, origin, &Change { noun: NOUN, row_key: &row_key, field, was, became }).await
}

/// A finding as it is kept.
struct Kept {
    check: &'static str,
    order_id: Option<String>,
    supplier: Option<String>,
    submission_id: Option<String>,
    act_before: Option<String>,
    evidence_digest: String,
    body: String,
}

impl Kept {
    fn of(finding: &Finding, first_seen: DateTime<Utc>) -> Self {
        let finding = Finding { first_seen, ..finding.clone() };
        let json = |part: serde_json::Result<String>| part.unwrap_or_default();
        // What it says, apart from when it was seen, how much time is left, and whether a source lags just now.
        let lines: Vec<NamedLine> =
            finding.lines.iter().map(|line| NamedLine { unconfirmed: false, ..line.clone() }).collect();
        let said = (lines, &finding.submission_lines, &finding.evidence, finding.cutoff_passed);
        let hash = Sha256::digest(json(serde_json::to_string(&said)).as_bytes());
        Self {
            check: finding.check.word(),
            order_id: finding.order_id.as_ref().map(|id| id.as_str().to_owned()),
            supplier: finding.supplier.as_ref().map(|id| id.as_str().to_owned()),
            submission_id: finding.submission_id.as_ref().map(|id| id.as_str().to_owned()),
            act_before: finding.act_before.map(text::of_moment),
            evidence_digest: data_encoding::HEXLOWER.encode(&hash[..16]),
            body: json(serde_json::to_string(&finding)),
        }
    }
}

/// The findings of a shop that settled within a span.
pub(crate) async fn settled(
    connection: &mut SqliteConnection,
    shop: &str,
    from: DateTime<Utc>,
    until: DateTime<Utc>,
) -> Result<Vec<SettledFinding>, LedgerError> {
    let (from, until) = (text::of_moment(from), text::of_moment(until));
    let settled = sqlx::query_as!(
        SettledFinding,
        "SELECT finding_check, order_id, supplier, submission_id, body FROM findings
        WHERE shop = $1 AND settled_at BETWEEN $2 AND $3",
        shop,
        from,
        until
    );
    Ok(settled.fetch_all(connection).await?)
}

/// A finding that does not stand and once did.
async fn settled_before(
    connection: &mut SqliteConnection,
    shop: &str,
    id: &str,
) -> Result<Option<Before>, LedgerError> {
    Ok(sqlx::query_as!(
        Before,
        "SELECT id, order_id, evidence_digest, first_seen, settled_at FROM findings WHERE shop = $1 AND id = $2",
        shop,
        id
    )
    .fetch_optional(connection)
    .await?)
}

/// Findings of a shop with what was said of them, by deadline, then id. The shop is $1, now is $2.
macro_rules! findings_where {
    ($condition:literal, $shop:expr, $now:expr $(, $more:expr)*) => {
        sqlx::query_as!(
            Row,
            r#"SELECT f.id, f.finding_check, f.order_id, f.body, f.first_seen, f.reopened_at, f.settled_at,
                s.note AS "note?", s.until AS "until?"
            FROM findings f LEFT JOIN set_asides s ON s.shop = f.shop AND s.id = f.id
                AND (s.until IS NULL AND s.evidence_digest = f.evidence_digest OR s.until > $2)
            WHERE f.shop = $1"# + $condition + " ORDER BY f.act_before IS NULL, f.act_before, f.id",
            $shop,
            $now
            $(, $more)*
        )
    };
}

/// The findings of a shop that stand, by deadline, then id: without a look at those that have settled.
pub(crate) async fn standing(
    connection: &mut SqliteConnection,
    shop: &str,
    at: DateTime<Utc>,
) -> Result<Vec<KeptFinding>, LedgerError> {
    let now = text::of_moment(at);
    let rows = findings_where!(" AND f.settled_at IS NULL", shop, now).fetch_all(connection).await?;
    rows.into_iter().map(Row::read).collect()
}

/// All findings of a shop, by deadline, then id.
pub(crate) async fn all(
    connection: &mut SqliteConnection,
    shop: &str,
    at: DateTime<Utc>,
) -> Result<Vec<KeptFinding>, LedgerError> {
    let now = text::of_moment(at);
    let rows = findings_where!("", shop, now).fetch_all(connection).await?;
    rows.into_iter().map(Row::read).collect()
}

/// The findings about an order, those that stand and those that settled, by deadline, then id.
pub(crate) async fn of_order(
    connection: &mut SqliteConnection,
    shop: &str,
    order_id: &str,
    at: DateTime<Utc>,
) -> Result<Vec<KeptFinding>, LedgerError> {
    let now = text::of_moment(at);
    let rows = findings_where!(" AND f.order_id = $3", shop, now, order_id).fetch_all(connection).await?;
    rows.into_iter().map(Row::read).collect()
}

/// A finding as it is kept, with what was said of it.
struct Row {
    id: String,
    finding_check: String,
    order_id: Option<String>,
    body: String,
    first_seen: String,
    reopened_at: Option<String>,
    settled_at: Option<String>,
    note: Option<String>,
    until: Option<String>,
}

impl Row {
    fn read(self) -> Result<KeptFinding, LedgerError> {
        let moment = |text: Option<String>| text.as_deref().map(text::to_moment).transpose();
        let until = moment(self.until)?;
        Ok(KeptFinding {
            id: self.id,
            check: self.finding_check,
            order_id: self.order_id,
            body: self.body,
            first_seen: text::to_moment(&self.first_seen)?,
            reopened_at: moment(self.reopened_at)?,
            settled_at: moment(self.settled_at)?,
            set_aside: self.note.map(|note| SetAside { note, until }),
        })
    }
}

/// What is set aside, by shop and the id of the finding, which stands.
pub(crate) async fn asides(
    connection: &mut SqliteConnection,
    at: DateTime<Utc>,
) -> Result<BTreeMap<ShopId, BTreeMap<String, SetAside>>, LedgerError> {
    let now = text::of_moment(at);
    let rows = sqlx::query!(
        // From what is set aside to its findings: there are few of the one, and very many may stand.
        "SELECT s.shop, s.id, s.note, s.until FROM set_asides s CROSS JOIN findings f
        WHERE f.shop = s.shop AND f.id = s.id AND f.settled_at IS NULL
            AND (s.until IS NULL AND s.evidence_digest = f.evidence_digest OR s.until > $1)",
        now
    )
    .fetch_all(connection)
    .await?;
    let mut all: BTreeMap<ShopId, BTreeMap<String, SetAside>> = BTreeMap::new();
    for row in rows {
        let until = row.until.as_deref().map(text::to_moment).transpose()?;
        let of_shop = all.entry(ShopId::new(row.shop)).or_default();
        of_shop.insert(row.id, SetAside { note: row.note, until });
    }
    Ok(all)
}

/// Puts a finding that stands aside.
pub(crate) async fn set_aside(
    connection: &mut SqliteConnection,
    shop: &str,
    id: &str,
    aside: &SetAside,
    at: DateTime<Utc>,
) -> Result<(), LedgerError> {
    let until = aside.until.map(text::of_moment);
    let now = text::of_moment(at);
    let origin = Origin { shop, source: OWNER, request: OWNER, seen_at: &now, source_time: None };
    let standing = sqlx::query!(
        r#"SELECT f.order_id, f.evidence_digest, s.note AS "note?" FROM findings f
        LEFT JOIN set_asides s ON s.shop = f.shop AND s.id = f.id
        WHERE f.shop = $1 AND f.id = $2 AND f.settled_at IS NULL"#,
        shop,
        id
    )
    .fetch_optional(&mut *connection)
    .await?;
    let Some(standing) = standing else { return Err(LedgerError::NoSuchFinding { id: id.to_owned() }) };
    sqlx::query!(
        "INSERT INTO set_asides (shop, id, note, until, evidence_digest, set_at) VALUES ($1, $2, $3, $4, $5, $6)
        ON CONFLICT (shop, id) DO UPDATE SET note = excluded.note, until = excluded.until,
            evidence_digest = excluded.evidence_digest, set_at = excluded.set_at",
        shop,
        id,
        aside.note,
        until,
        standing.evidence_digest,
        now
    )
    .execute(&mut *connection)
    .await?;
    let change = (SET_ASIDE, standing.note.as_deref(), Some(aside.note.as_str()));
    note(connection, origin, standing.order_id.as_deref(), id, change).await
}

/// Takes it back.
pub(crate) async fn take_back(
    connection: &mut SqliteConnection,
    shop: &str,
    id: &str,
    at: DateTime<Utc>,
) -> Result<bool, LedgerError> {
    let now = text::of_moment(at);
    let origin = Origin { shop, source: OWNER, request: OWNER, seen_at: &now, source_time: None };
    let aside = sqlx::query!(
        "SELECT s.note, f.order_id FROM set_asides s JOIN findings f ON f.shop = s.shop AND f.id = s.id
        WHERE s.shop = $1 AND s.id = $2",
        shop,
        id
    )
    .fetch_optional(&mut *connection)
    .await?;
    let Some(aside) = aside else { return Ok(false) };
    sqlx::query!("DELETE FROM set_asides WHERE shop = $1 AND id = $2", shop, id)
        .execute(&mut *connection)
        .await?;
    let change = (SET_ASIDE, Some(aside.note.as_str()), None);
    note(connection, origin, aside.order_id.as_deref(), id, change).await?;
    Ok(true)
}
