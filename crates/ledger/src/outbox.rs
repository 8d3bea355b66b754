//! What is to be sent to whom, and how sending it went; and what somebody is to be told at once.
//!
//! A message is written once, with what decided it in the same transaction, and tried again under the same identifier
//! until it is sent or given up. Must not know how anything is sent, or what a message says. Start reading at [`write`];
//! [`want`] is where a round says what cannot wait.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::text;

/// What a message is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum MessageKind {
    /// The digest of a day.
    Digest,
    /// What cannot wait for it.
    Alert,
}

impl MessageKind {
    fn word(self) -> &'static str {
        match self {
            Self::Digest => "digest",
            Self::Alert => "alert",
        }
    }

    fn of(word: &str) -> Result<Self, LedgerError> {
        match word {
            "digest" => Ok(Self::Digest),
            "alert" => Ok(Self::Alert),
            other => Err(LedgerError::Strange { found: other.to_owned(), expected: "a kind of message" }),
        }
    }
}

/// A message to one recipient.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Message {
    /// By which a receiver knows it again.
    pub id: String,
    /// What it is.
    pub kind: MessageKind,
    /// To whom, by the configured name.
    pub recipient: String,
    /// Of a digest: its day.
    pub day: Option<NaiveDate>,
    /// When it was written.
    pub written_at: DateTime<Utc>,
    /// What it says, as JSON.
    pub content: String,
}

/// A message with how sending it went.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct KeptMessage {
    /// The message.
    pub message: Message,
    /// When it is to be tried next.
    pub next_at: DateTime<Utc>,
    /// How often it was tried.
    pub tries: u32,
    /// When it was tried last.
    pub tried_at: Option<DateTime<Utc>>,
    /// What was the matter then.
    pub trouble: Option<String>,
    /// When it was taken.
    pub sent_at: Option<DateTime<Utc>>,
    /// When it was given up.
    pub given_up_at: Option<DateTime<Utc>>,
}

/// That somebody is to be told a finding at once.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct WantedAlert {
    /// Whom, by the configured name.
    pub recipient: String,
    /// The finding's id.
    pub finding: String,
    /// What it says: with the same nobody is told twice.
    pub said: String,
}

/// A finding that somebody is still to be told at once.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PendingAlert {
    /// The shop.
    pub shop: String,
    /// The finding's id.
    pub finding: String,
    /// The finding as JSON, as it was last seen.
    pub body: String,
    /// Before when something is to be done.
    pub act_before: Option<DateTime<Utc>>,
    /// When it was first to be told.
    pub wanted_at: DateTime<Utc>,
    /// Whether it was told before, and says something else now.
    pub is_again: bool,
}

/// How a try to send went.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Tried {
    /// It was taken.
    Sent,
    /// It is to be tried again.
    Again {
        /// When.
        next_at: DateTime<Utc>,
        /// What was the matter.
        trouble: String,
    },
    /// It never will be taken.
    GivenUp {
        /// What was the matter.
        trouble: String,
    },
}

/// Keeps what is to be told at once of a shop: what is new, or says something else than was told, and is not set aside.
/// What still waited to be told and stands no longer, or is set aside, is forgotten.
pub(crate) async fn want(
    connection: &mut SqliteConnection,
    shop: &str,
    wanted: &[WantedAlert],
    at: DateTime<Utc>,
) -> Result<(), LedgerError> {
    let now = text::of_moment(at);
    let known = sqlx::query!("SELECT recipient, finding, said FROM alerts WHERE shop = $1", shop)
        .fetch_all(&mut *connection)
        .await?;
    let known: BTreeMap<(&str, &str), &str> =
        known.iter().map(|row| ((&*row.recipient, &*row.finding), &*row.said)).collect();
    for alert in wanted {
        let WantedAlert { recipient, finding, said } = alert;
        // Most rounds find what the one before found.
        if known.get(&(&**recipient, &**finding)) == Some(&said.as_str()) {
            continue;
        }
        sqlx::query!(
            "INSERT INTO alerts (recipient, shop, finding, said, is_again, wanted_at, message)
            SELECT $1, f.shop, f.id, $4, FALSE, $5, NULL FROM findings f
            WHERE f.shop = $2 AND f.id = $3
            ON CONFLICT (recipient, shop, finding) DO UPDATE SET said = excluded.said,
                is_again = alerts.is_again OR alerts.message IS NOT NULL,
                wanted_at = CASE WHEN alerts.message IS NULL THEN alerts.wanted_at ELSE excluded.wanted_at END,
                message = NULL",
            recipient,
            shop,
            finding,
            said,
            now
        )
        .execute(&mut *connection)
        .await?;
    }
    sqlx::query!(
        "DELETE FROM alerts WHERE shop = $1 AND message IS NULL AND EXISTS (
            SELECT f.id FROM findings f LEFT JOIN set_asides s ON s.shop = f.shop AND s.id = f.id
            WHERE f.shop = alerts.shop AND f.id = alerts.finding AND (f.settled_at IS NOT NULL OR s.id IS NOT NULL
                AND (s.until IS NULL AND s.evidence_digest = f.evidence_digest OR s.until > $2)))",
        shop,
        now
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// What somebody is still to be told at once, by deadline, then shop and id.
pub(crate) async fn pending(
    connection: &mut SqliteConnection,
    recipient: &str,
) -> Result<Vec<PendingAlert>, LedgerError> {
    let rows = sqlx::query!(
        "SELECT a.shop, a.finding, a.is_again, a.wanted_at, f.body, f.act_before
        FROM alerts a JOIN findings f ON f.shop = a.shop AND f.id = a.finding
        WHERE a.recipient = $1 AND a.message IS NULL AND f.settled_at IS NULL
        ORDER BY f.act_before IS NULL, f.act_before, a.shop, a.finding",
        recipient
    )
    .fetch_all(connection)
    .await?;
    let pending = rows.into_iter().map(|row| {
        Ok(PendingAlert {
            shop: row.shop,
            finding: row.finding,
            body: row.body,
            act_before: row.act_before.as_deref().map(text::to_moment).transpose()?,
            wanted_at: text::to_moment(&row.wanted_at)?,
            is_again: row.is_again,
        })
    });
    pending.collect()
}

/// Writes a message that waits to be sent, and that it tells these findings (shop and id). False, and nothing is changed,
/// where one of this identifier, or a digest of this day for this recipient, was written before.
pub(crate) async fn write(
    connection: &mut SqliteConnection,
    message: &Message,
    told: &[(String, String)],
) -> Result<bool, LedgerError> {
    let Message { id, kind, recipient, day, written_at, content } = message;
    let (kind, day, written_at) = (kind.word(), day.map(|day| day.to_string()), text::of_moment(*written_at));
    let written = sqlx::query!(
        "INSERT INTO messages (id, kind, recipient, day, written_at, content, next_at, tries)
        VALUES ($1, $2, $3, $4, $5, $6, $5, 0) ON CONFLICT DO NOTHING",
        id,
        kind,
        recipient,
        day,
        written_at,
        content
    )
    .execute(&mut *connection)
    .await?;
    if written.rows_affected() == 0 {
        return Ok(false);
    }
    for (shop, finding) in told {
        sqlx::query!(
            "UPDATE alerts SET message = $4
            WHERE recipient = $1 AND shop = $2 AND finding = $3 AND message IS NULL",
            recipient,
            shop,
            finding,
            id
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(true)
}

/// Notes how a try to send a message went.
pub(crate) async fn tried(
    connection: &mut SqliteConnection,
    id: &str,
    tried: &Tried,
    at: DateTime<Utc>,
) -> Result<(), LedgerError> {
    let now = text::of_moment(at);
    let (next_at, trouble, sent_at, given_up_at) = match tried {
        Tried::Sent => (None, None, Some(&now), None),
        Tried::Again { next_at, trouble } => (Some(text::of_moment(*next_at)), Some(trouble), None, None),
        Tried::GivenUp { trouble } => (None, Some(trouble), None, Some(&now)),
    };
    sqlx::query!(
        "UPDATE messages SET tries = tries + 1, tried_at = $2, next_at = COALESCE($3, next_at), trouble = $4,
            sent_at = $5, given_up_at = $6
        WHERE id = $1",
        id,
        now,
        next_at,
        trouble,
        sent_at,
        given_up_at
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// Which messages are asked for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Which {
    /// Those that wait and are due at a moment.
    Due(DateTime<Utc>),
    /// Those that wait, and those that were given up since a moment.
    Undelivered(DateTime<Utc>),
    /// Those written since a moment.
    Since(DateTime<Utc>),
}

/// Messages, by when they were written, then by identifier.
pub(crate) async fn list(
    connection: &mut SqliteConnection,
    which: Which,
) -> Result<Vec<KeptMessage>, LedgerError> {
    let (due, given_up, written) = match which {
        Which::Due(at) => (Some(text::of_moment(at)), None, None),
        Which::Undelivered(since) => (None, Some(text::of_moment(since)), None),
        Which::Since(since) => (None, None, Some(text::of_moment(since))),
    };
    let rows = sqlx::query_as!(
        Row,
        "SELECT id, kind, recipient, day, written_at, content, next_at, tries, tried_at, trouble, sent_at, given_up_at
        FROM messages
        WHERE sent_at IS NULL AND given_up_at IS NULL AND next_at <= $1
            OR sent_at IS NULL AND $2 IS NOT NULL AND (given_up_at IS NULL OR given_up_at >= $2)
            OR written_at >= $3
        ORDER BY written_at, id",
        due,
        given_up,
        written
    )
    .fetch_all(connection)
    .await?;
    rows.into_iter().map(KeptMessage::try_from).collect()
}

/// A message as the table has it.
struct Row {
    id: String,
    kind: String,
    recipient: String,
    day: Option<String>,
    written_at: String,
    content: String,
    next_at: String,
    tries: i64,
    tried_at: Option<String>,
    trouble: Option<String>,
    sent_at: Option<String>,
    given_up_at: Option<String>,
}

impl TryFrom<Row> for KeptMessage {
    type Error = LedgerError;

    fn try_from(row: Row) -> Result<Self, LedgerError> {
        let moment = |text: Option<String>| text.as_deref().map(text::to_moment).transpose();
        Ok(Self {
            message: Message {
                id: row.id,
                kind: MessageKind::of(&row.kind)?,
                recipient: row.recipient,
                day: row.day.as_deref().map(to_day).transpose()?,
                written_at: text::to_moment(&row.written_at)?,
                content: row.content,
            },
            next_at: text::to_moment(&row.next_at)?,
            tries: u32::try_from(row.tries).unwrap_or(u32::MAX),
            tried_at: moment(row.tried_at)?,
            trouble: row.trouble,
            sent_at: moment(row.sent_at)?,
            given_up_at: moment(row.given_up_at)?,
        })
    }
}

/// The digest of a day that was written for a recipient.
pub(crate) async fn digest_of(
    connection: &mut SqliteConnection,
    recipient: &str,
    day: NaiveDate,
) -> Result<Option<KeptMessage>, LedgerError> {
    let day = day.to_string();
    let row = sqlx::query_as!(
        Row,
        "SELECT id, kind, recipient, day, written_at, content, next_at, tries, tried_at, trouble, sent_at, given_up_at
        FROM messages WHERE recipient = $1 AND day = $2 AND kind = 'digest'",
        recipient,
        day
    )
    .fetch_optional(connection)
    .await?;
    row.map(KeptMessage::try_from).transpose()
}

/// How many alerts were written for a recipient since a moment.
pub(crate) async fn alerts_since(
    connection: &mut SqliteConnection,
    recipient: &str,
    since: DateTime<Utc>,
) -> Result<usize, LedgerError> {
    let since = text::of_moment(since);
    let number = sqlx::query_scalar!(
        r#"SELECT COUNT(*) AS "number!: i64" FROM messages
        WHERE recipient = $1 AND kind = 'alert' AND written_at >= $2"#,
        recipient,
        since
    )
    .fetch_one(connection)
    .await?;
    Ok(usize::try_from(number).unwrap_or_default())
}

/// The day of the last digest that was written for a recipient, and when that was.
pub(crate) async fn last_digest(
    connection: &mut SqliteConnection,
    recipient: &str,
) -> Result<Option<(NaiveDate, DateTime<Utc>)>, LedgerError> {
    let row = sqlx::query!(
        r#"SELECT day AS "day!", written_at FROM messages
        WHERE recipient = $1 AND kind = 'digest' AND day IS NOT NULL ORDER BY day DESC LIMIT 1"#,
        recipient
    )
    .fetch_optional(connection)
    .await?;
    row.map(|row| Ok((to_day(&row.day)?, text::to_moment(&row.written_at)?))).transpose()
}

/// Forgets messages that were written before a moment and wait no longer, but for the last digest of each recipient.
pub(crate) async fn forget(
    connection: &mut SqliteConnection,
    before: DateTime<Utc>,
) -> Result<u64, LedgerError> {
    let before = text::of_moment(before);
    let forgotten = sqlx::query!(
        "DELETE FROM messages WHERE written_at < $1 AND (sent_at IS NOT NULL OR given_up_at IS NOT NULL)
            AND (kind <> 'digest' OR day < (SELECT MAX(m.day) FROM messages m
                WHERE m.recipient = messages.recipient AND m.kind = 'digest'))",
        before
    )
    .execute(connection)
    .await?;
    Ok(forgotten.rows_affected())
}

fn to_day(text: &str) -> Result<NaiveDate, LedgerError> {
    text.parse().map_err(|_| LedgerError::Strange { found: text.to_owned(), expected: "a day" })
}
