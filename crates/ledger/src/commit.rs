//! A batch on its way in: rows, what became of them, and the mark, in one transaction.
//!
//! Must not know: how a source is read. Start reading at [`rows`].

use std::collections::{BTreeSet, HashMap};
use std::hash::Hash;

use model::batch::Whole;
use model::book::Tie;
use model::{Batch, Book, OrderId, SubmissionId, SupplierId};
use sqlx::SqliteConnection;

use crate::error::LedgerError;
use crate::nouns::{Noun, Origin, Subject};
use crate::{closed, text};

/// What a batch changed.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Changed {
    /// Rows that were not there before.
    pub appeared: u64,
    /// Rows of which something is another than it was.
    pub changed: u64,
    /// Rows that are gone.
    pub gone: u64,
    /// Rows that were kept as they are: the same, or an older state than the one that is kept.
    pub unchanged: u64,
}

impl Changed {
    /// Whether there is anything to judge anew.
    pub fn is_any(&self) -> bool {
        self.appeared + self.changed + self.gone > 0
    }
}

/// A change as the timeline has it.
pub(crate) struct Change<'a> {
    pub(crate) noun: &'a str,
    pub(crate) row_key: &'a str,
    pub(crate) field: &'a str,
    pub(crate) was: Option<&'a str>,
    pub(crate) became: Option<&'a str>,
}

/// Of more rows than this, what is kept of their table is read at once, and not row by row.
const READ_AT_ONCE: usize = 500;

/// The field under which a row's appearing and going stand.
pub(crate) const ROW: &str = "row";
pub(crate) const THERE: Option<&str> = Some("there");

/// Keeps the rows of a batch and its mark.
pub(crate) async fn rows(connection: &mut SqliteConnection, batch: &Batch) -> Result<Changed, LedgerError> {
    let seen_at = text::of_moment(batch.seen_at);
    let source_time = batch.source_time.map(text::of_moment);
    let origin = Origin {
        shop: batch.shop.as_str(),
        source: batch.source.as_str(),
        request: &batch.request,
        seen_at: &seen_at,
        source_time: source_time.as_deref(),
    };
    let mut changed = Changed::default();
    let rows = &batch.rows;
    let older_orders = keep(connection, origin, &rows.orders, &mut changed).await?;
    let is_older = |order_id: &OrderId| older_orders.contains(&vec![order_id.as_str().to_owned()]);
    // What came with an older state is older too: a line that is gone since must not come back with it.
    let lines: Vec<_> = rows.order_lines.iter().filter(|row| !is_older(&row.order_id)).collect();
    keep(connection, origin, lines, &mut changed).await?;
    keep(connection, origin, rows.offers.iter().flatten(), &mut changed).await?;
    keep(connection, origin, rows.variants.iter().flatten(), &mut changed).await?;
    keep(connection, origin, rows.listing_products.iter().flatten(), &mut changed).await?;
    keep(connection, origin, rows.links.iter().flatten(), &mut changed).await?;
    let older = keep(connection, origin, rows.submissions.iter().flatten(), &mut changed).await?;
    let is_older_submission = |supplier: &SupplierId, submission_id: &SubmissionId| {
        older.contains(&vec![supplier.as_str().to_owned(), submission_id.as_str().to_owned()])
    };
    let lines = rows.submission_lines.iter().flatten();
    let lines: Vec<_> = lines.filter(|row| !is_older_submission(&row.supplier, &row.submission_id)).collect();
    keep(connection, origin, lines, &mut changed).await?;
    let (older_parcels, parcels): (Vec<_>, Vec<_>) =
        rows.parcels.iter().flatten().partition(|row| is_older_submission(&row.supplier, &row.submission_id));
    let older_parcels: BTreeSet<_> =
        older_parcels.iter().map(|row| (&row.supplier, &row.parcel_id)).collect();
    keep(connection, origin, parcels, &mut changed).await?;
    let lines = rows.parcel_lines.iter().flatten();
    let lines: Vec<_> =
        lines.filter(|row| !older_parcels.contains(&(&row.supplier, &row.parcel_id))).collect();
    keep(connection, origin, lines, &mut changed).await?;
    keep(connection, origin, rows.ties.iter().flatten(), &mut changed).await?;
    let is_of_older = |whole: &&Whole| match whole {
        Whole::Order(order_id) => is_older(order_id),
        Whole::Submission(supplier, submission_id) | Whole::ParcelsOf(supplier, submission_id) => {
            is_older_submission(supplier, submission_id)
        }
        Whole::Parcel(supplier, parcel_id) => older_parcels.contains(&(supplier, parcel_id)),
    };
    let whole: Vec<_> = batch.whole.iter().filter(|whole| !is_of_older(whole)).collect();
    let came = Came::of(&batch.rows);
    for whole in whole {
        let gone = remove_lines(connection, origin, &came, whole).await?;
        if gone > 0 {
            let subject = match whole {
                Whole::Order(order_id) => Subject::Order(order_id.as_str()),
                Whole::Submission(supplier, id) | Whole::ParcelsOf(supplier, id) => {
                    Subject::Submission(supplier.as_str(), id.as_str())
                }
                Whole::Parcel(supplier, id) => Subject::Parcel(supplier.as_str(), id.as_str()),
            };
            closed::touched(connection, origin.shop, &[subject]).await?;
        }
        changed.gone += gone;
    }
    // Where the clock went back during the pass, what it saw cannot be told from what it did not see: nothing goes, and
    // the next pass decides.
    if let Some(began) = batch.everything_since.filter(|began| *began <= batch.seen_at) {
        changed.gone += remove_unseen(connection, origin, &text::of_moment(began)).await?;
    }
    let read_up_to = batch.mark.read_up_to.map(text::of_moment);
    sqlx::query!(
        "INSERT INTO marks (shop, source, request, mark, read_up_to) VALUES ($1, $2, $3, $4, $5)
        ON CONFLICT (shop, source, request)
        DO UPDATE SET mark = excluded.mark, read_up_to = excluded.read_up_to",
        origin.shop,
        origin.source,
        origin.request,
        batch.mark.text,
        read_up_to
    )
    .execute(connection)
    .await?;
    Ok(changed)
}

/// Keeps rows of one noun, and notes what became of them. Answers the keys of those that are older than what is kept,
/// and were left alone.
pub(crate) async fn keep<'r, N: Noun + 'r>(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    rows: impl IntoIterator<Item = &'r N>,
    changed: &mut Changed,
) -> Result<Vec<Vec<String>>, LedgerError> {
    let rows: Vec<&N> = rows.into_iter().collect();
    let mut before = if rows.len() > READ_AT_ONCE {
        let all = N::all(&mut *connection, origin.shop).await?;
        Some(all.into_iter().map(|kept| (key_text::<N>(&kept), kept)).collect::<HashMap<String, N::Kept>>())
    } else {
        None
    };
    let is_any_closed = closed::is_any(&mut *connection, origin.shop).await?;
    let mut older = Vec::new();
    for row in rows {
        let new = row.keep();
        let old = match &mut before {
            Some(before) => before.remove(&key_text::<N>(&new)),
            None => N::find(&mut *connection, origin.shop, &new).await?,
        };
        let is_older = old.as_ref().is_some_and(|old| {
            let (was, is) = (N::updated_at(old), N::updated_at(&new));
            // What was said of a moment that is still to come was said by a wrong clock.
            let is_possible = |was: &&str| origin.source_time.is_none_or(|time| *was <= time);
            was.filter(is_possible).zip(is).is_some_and(|(was, is)| is < was)
        });
        if is_older {
            changed.unchanged += 1;
            if let (Some(before), Some(old)) = (&mut before, old) {
                before.insert(key_text::<N>(&new), old);
            }
            older.push(N::key(&new).into_iter().map(str::to_owned).collect());
            continue;
        }
        if is_any_closed && old.as_ref() != Some(&new) {
            let mut subjects = N::closed_with(&new);
            subjects.extend(old.as_ref().map(N::closed_with).into_iter().flatten());
            closed::touched(&mut *connection, origin.shop, &subjects).await?;
        }
        N::write(&mut *connection, origin, &new).await?;
        if let Some(before) = &mut before {
            before.insert(key_text::<N>(&new), row.keep());
        }
        let row_key = key_text::<N>(&new);
        let change = |field, was, became| Change { noun: N::NAME, row_key: &row_key, field, was, became };
        match &old {
            None => {
                changed.appeared += 1;
                note(connection, origin, &change(ROW, None, THERE)).await?;
            }
            Some(old) if *old == new => changed.unchanged += 1,
            Some(old) => {
                changed.changed += 1;
                for ((field, was), (_, became)) in N::followed(old).iter().zip(&N::followed(&new)) {
                    if was != became {
                        note(connection, origin, &change(field, was.as_deref(), became.as_deref())).await?;
                    }
                }
            }
        }
    }
    Ok(older)
}

/// A row's key as the timeline has it: a list of ids.
fn key_text<N: Noun>(kept: &N::Kept) -> String {
    list(&N::key(kept))
}

/// Ids as a JSON list.
pub(crate) fn list(ids: &[&str]) -> String {
    serde_json::Value::from(ids.to_vec()).to_string()
}

pub(crate) async fn note(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    change: &Change<'_>,
) -> Result<(), LedgerError> {
    sqlx::query!(
        "INSERT INTO changes (shop, noun, row_key, field, was, became, seen_at, source)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        origin.shop,
        change.noun,
        change.row_key,
        change.field,
        change.was,
        change.became,
        origin.seen_at,
        origin.source
    )
    .execute(connection)
    .await?;
    Ok(())
}

/// Notes rows that are gone.
async fn note_gone(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    noun: &str,
    keys: &[Vec<String>],
) -> Result<u64, LedgerError> {
    for key in keys {
        let ids: Vec<&str> = key.iter().map(String::as_str).collect();
        let row_key = list(&ids);
        let change = Change { noun, row_key: &row_key, field: ROW, was: THERE, became: None };
        note(connection, origin, &change).await?;
    }
    Ok(keys.len() as u64)
}

/// What came in a batch, by what it belongs to.
struct Came<'b> {
    lines_of_orders: HashMap<&'b str, Vec<&'b str>>,
    /// By supplier and submission, as the next one.
    lines_of_submissions: HashMap<(&'b str, &'b str), Vec<&'b str>>,
    parcels: HashMap<(&'b str, &'b str), Vec<&'b str>>,
    /// By supplier and parcel.
    lines_of_parcels: HashMap<(&'b str, &'b str), Vec<&'b str>>,
}

impl<'b> Came<'b> {
    fn of(rows: &'b Book) -> Self {
        fn by<K: Eq + Hash, T>(pairs: impl Iterator<Item = (K, T)>) -> HashMap<K, Vec<T>> {
            let mut all: HashMap<K, Vec<T>> = HashMap::new();
            for (key, value) in pairs {
                all.entry(key).or_default().push(value);
            }
            all
        }
        let lines = rows.order_lines.iter();
        let sent = rows.submission_lines.iter().flatten();
        let parcels = rows.parcels.iter().flatten();
        let packed = rows.parcel_lines.iter().flatten();
        Self {
            lines_of_orders: by(lines.map(|row| (row.order_id.as_str(), row.line_id.as_str()))),
            lines_of_submissions: by(
                sent.map(|row| ((row.supplier.as_str(), row.submission_id.as_str()), row.line_id.as_str()))
            ),
            parcels: by(parcels
                .map(|row| ((row.supplier.as_str(), row.submission_id.as_str()), row.parcel_id.as_str()))),
            lines_of_parcels: by(packed.map(|row| {
                ((row.supplier.as_str(), row.parcel_id.as_str()), row.submission_line_id.as_str())
            })),
        }
    }
}

/// Removes the lines that are not among those that came, of something of which all came.
async fn remove_lines(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    came: &Came<'_>,
    whole: &Whole,
) -> Result<u64, LedgerError> {
    match whole {
        Whole::Order(order_id) => lines_of_order(connection, origin, came, order_id).await,
        Whole::Submission(supplier, submission_id) => {
            lines_of_submission(connection, origin, came, supplier, submission_id).await
        }
        Whole::ParcelsOf(supplier, submission_id) => {
            let (supplier, submission_id) = (supplier.as_str(), submission_id.as_str());
            let came = came.parcels.get(&(supplier, submission_id)).map_or(&[][..], Vec::as_slice);
            let kept = sqlx::query_scalar!(
                "SELECT parcel_id FROM parcels WHERE shop = $1 AND supplier = $2 AND submission_id = $3",
                origin.shop,
                supplier,
                submission_id
            )
            .fetch_all(&mut *connection)
            .await?;
            let (mut gone, mut lines_gone) = (Vec::new(), Vec::new());
            for parcel_id in kept.into_iter().filter(|id| !came.contains(&id.as_str())) {
                let lines = sqlx::query_scalar!(
                    "DELETE FROM parcel_lines WHERE shop = $1 AND supplier = $2 AND parcel_id = $3
                    RETURNING submission_line_id",
                    origin.shop,
                    supplier,
                    parcel_id
                )
                .fetch_all(&mut *connection)
                .await?;
                lines_gone
                    .extend(lines.into_iter().map(|id| vec![supplier.to_owned(), parcel_id.clone(), id]));
                sqlx::query!(
                    "DELETE FROM parcels WHERE shop = $1 AND supplier = $2 AND parcel_id = $3",
                    origin.shop,
                    supplier,
                    parcel_id
                )
                .execute(&mut *connection)
                .await?;
                gone.push(vec![supplier.to_owned(), parcel_id]);
            }
            Ok(note_gone(connection, origin, "parcel_line", &lines_gone).await?
                + note_gone(connection, origin, "parcel", &gone).await?)
        }
        Whole::Parcel(supplier, parcel_id) => {
            let (supplier, parcel_id) = (supplier.as_str(), parcel_id.as_str());
            let came = came.lines_of_parcels.get(&(supplier, parcel_id)).map_or(&[][..], Vec::as_slice);
            let kept = sqlx::query_scalar!(
                "SELECT submission_line_id FROM parcel_lines WHERE shop = $1 AND supplier = $2 AND parcel_id = $3",
                origin.shop,
                supplier,
                parcel_id
            )
            .fetch_all(&mut *connection)
            .await?;
            let mut gone = Vec::new();
            for line_id in kept.into_iter().filter(|id| !came.contains(&id.as_str())) {
                sqlx::query!(
                    "DELETE FROM parcel_lines
                    WHERE shop = $1 AND supplier = $2 AND parcel_id = $3 AND submission_line_id = $4",
                    origin.shop,
                    supplier,
                    parcel_id,
                    line_id
                )
                .execute(&mut *connection)
                .await?;
                gone.push(vec![supplier.to_owned(), parcel_id.to_owned(), line_id]);
            }
            note_gone(connection, origin, "parcel_line", &gone).await
        }
    }
}

async fn lines_of_order(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    came: &Came<'_>,
    order_id: &OrderId,
) -> Result<u64, LedgerError> {
    let order_id = order_id.as_str();
    let came = came.lines_of_orders.get(order_id).map_or(&[][..], Vec::as_slice);
    let kept = sqlx::query_scalar!(
        "SELECT line_id FROM order_lines WHERE shop = $1 AND order_id = $2",
        origin.shop,
        order_id
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut gone = Vec::new();
    for line_id in kept.into_iter().filter(|id| !came.contains(&id.as_str())) {
        sqlx::query!(
            "DELETE FROM order_lines WHERE shop = $1 AND order_id = $2 AND line_id = $3",
            origin.shop,
            order_id,
            line_id
        )
        .execute(&mut *connection)
        .await?;
        gone.push(vec![order_id.to_owned(), line_id]);
    }
    note_gone(connection, origin, "order_line", &gone).await
}

async fn lines_of_submission(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    came: &Came<'_>,
    supplier: &SupplierId,
    submission_id: &SubmissionId,
) -> Result<u64, LedgerError> {
    let (supplier, submission_id) = (supplier.as_str(), submission_id.as_str());
    let came = came.lines_of_submissions.get(&(supplier, submission_id)).map_or(&[][..], Vec::as_slice);
    let kept = sqlx::query_scalar!(
        "SELECT line_id FROM submission_lines WHERE shop = $1 AND supplier = $2 AND submission_id = $3",
        origin.shop,
        supplier,
        submission_id
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut gone = Vec::new();
    for line_id in kept.into_iter().filter(|id| !came.contains(&id.as_str())) {
        sqlx::query!(
            "DELETE FROM submission_lines
            WHERE shop = $1 AND supplier = $2 AND submission_id = $3 AND line_id = $4",
            origin.shop,
            supplier,
            submission_id,
            line_id
        )
        .execute(&mut *connection)
        .await?;
        gone.push(vec![supplier.to_owned(), submission_id.to_owned(), line_id]);
    }
    note_gone(connection, origin, "submission_line", &gone).await
}

/// Removes what a pass over everything there is did not see.
async fn remove_unseen(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    began: &str,
) -> Result<u64, LedgerError> {
    let Origin { shop, source, request, .. } = origin;
    let offers = sqlx::query!(
        "DELETE FROM offers WHERE shop = $1 AND source = $2 AND request = $3 AND last_seen < $4
        RETURNING listing_id, options_key",
        shop,
        source,
        request,
        began
    )
    .fetch_all(&mut *connection)
    .await?;
    let variants = sqlx::query!(
        "DELETE FROM variants WHERE shop = $1 AND source = $2 AND request = $3 AND last_seen < $4
        RETURNING supplier, variant_id",
        shop,
        source,
        request,
        began
    )
    .fetch_all(&mut *connection)
    .await?;
    let products = sqlx::query!(
        "DELETE FROM listing_products WHERE shop = $1 AND source = $2 AND request = $3 AND last_seen < $4
        RETURNING listing_id, supplier, product",
        shop,
        source,
        request,
        began
    )
    .fetch_all(&mut *connection)
    .await?;
    let links = sqlx::query!(
        "DELETE FROM links WHERE shop = $1 AND source = $2 AND request = $3 AND last_seen < $4
        RETURNING listing_id, sku_key, options_key, supplier, variant_id",
        shop,
        source,
        request,
        began
    )
    .fetch_all(&mut *connection)
    .await?;
    let gone = [
        ("offer", offers.into_iter().map(|row| vec![row.listing_id, row.options_key]).collect::<Vec<_>>()),
        ("variant", variants.into_iter().map(|row| vec![row.supplier, row.variant_id]).collect()),
        (
            "listing_product",
            products.into_iter().map(|row| vec![row.listing_id, row.supplier, row.product]).collect(),
        ),
        (
            "link",
            links
                .into_iter()
                .map(|row| vec![row.listing_id, row.sku_key, row.options_key, row.supplier, row.variant_id])
                .collect(),
        ),
    ];
    let mut count = 0;
    for (noun, keys) in &gone {
        count += note_gone(connection, origin, noun, keys).await?;
    }
    Ok(count)
}

/// Removes a tie.
pub(crate) async fn untie(
    connection: &mut SqliteConnection,
    origin: Origin<'_>,
    tie: &Tie,
) -> Result<bool, LedgerError> {
    let kept = tie.keep();
    let key: Vec<String> = Tie::key(&kept).into_iter().map(str::to_owned).collect();
    let [order_id, line_id, supplier, submission_id, submission_line_id] = &key[..] else { return Ok(false) };
    let done = sqlx::query!(
        "DELETE FROM ties WHERE shop = $1 AND order_id = $2 AND line_id = $3 AND supplier = $4 AND submission_id = $5
            AND submission_line_id = $6",
        origin.shop,
        order_id,
        line_id,
        supplier,
        submission_id,
        submission_line_id
    )
    .execute(&mut *connection)
    .await?;
    let was_there = done.rows_affected() > 0;
    if was_there {
        closed::touched(connection, origin.shop, &Tie::closed_with(&kept)).await?;
        note_gone(connection, origin, Tie::NAME, &[key]).await?;
    }
    Ok(was_there)
}
