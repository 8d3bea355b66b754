//! The journal of SKUs that were to be changed at a storefront: what each run planned, and what became of it, for ever.
//!
//! That a change was asked for is on the disk before the request leaves, so that after a crash whatever may have been
//! changed is known to be in doubt. Must not know: how a storefront is asked. Start reading at [`SkuState`];
//! [`Ledger::note_sku`] says which state may follow which.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::{DateTime, Utc};
use model::{ListingId, Options, ShopId, Sku, SourceId};
use sqlx::SqliteConnection;

use crate::beside::SendingSkus;
use crate::error::LedgerError;
use crate::owner::Signed;
use crate::{Ledger, text};

/// How far the change of one offer's SKU is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum SkuState {
    /// It is to be made, and the storefront has not been asked for it.
    Planned,
    /// The storefront is being asked: it may have been made.
    Asked,
    /// The storefront was seen to have the new SKU. An end.
    Confirmed,
    /// It was not made: the storefront said no, or was seen to have another SKU before, or the old one after. An end.
    Refused,
    /// The storefront was asked, and did not say what became of it.
    NotKnown,
    /// The storefront was seen to have a third SKU after it was asked, or the offer no longer. An end.
    Elsewhere,
}

impl SkuState {
    const WORDS: [(Self, &'static str); 6] = [
        (Self::Planned, "planned"),
        (Self::Asked, "asked"),
        (Self::Confirmed, "confirmed"),
        (Self::Refused, "refused"),
        (Self::NotKnown, "not-known"),
        (Self::Elsewhere, "elsewhere"),
    ];

    /// The word for it.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(state, _)| *state == self).map_or("", |(_, word)| word)
    }

    fn read(word: &str) -> Result<Self, LedgerError> {
        let found = Self::WORDS.iter().find(|(_, own)| *own == word);
        found.map(|(state, _)| *state).ok_or_else(|| LedgerError::Strange {
            found: word.to_owned(),
            expected: "the state of a change of a SKU",
        })
    }

    /// Whether the storefront may have been changed without anybody having seen it.
    pub fn is_in_doubt(self) -> bool {
        matches!(self, Self::Asked | Self::NotKnown)
    }

    /// Whether nothing more is to become known of it.
    pub fn is_an_end(self) -> bool {
        matches!(self, Self::Confirmed | Self::Refused | Self::Elsewhere)
    }

    /// Whether the storefront has, or may have, what was planned.
    pub fn may_be_there(self) -> bool {
        matches!(self, Self::Confirmed | Self::Asked | Self::NotKnown)
    }

    /// Whether this may be noted where that was noted last.
    fn may_follow(self, before: Self) -> bool {
        match before {
            // Read, but not to be asked for: why is noted, and it stays planned.
            Self::Planned => matches!(self, Self::Planned | Self::Asked | Self::Confirmed | Self::Refused),
            Self::Asked | Self::NotKnown => !matches!(self, Self::Planned | Self::Asked),
            Self::Confirmed | Self::Refused | Self::Elsewhere => false,
        }
    }
}

/// What is to be changed at one offer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PlannedSku {
    /// The listing.
    pub listing_id: ListingId,
    /// Which offer of it.
    pub options: Options,
    /// The SKU that has to stand there before; `None`: none.
    pub old: Option<Sku>,
    /// The SKU that is to stand there after; `None`: none.
    pub new: Option<Sku>,
}

/// Something that became known of a change.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SkuStep {
    /// How far it is.
    pub state: SkuState,
    /// When.
    pub at: DateTime<Utc>,
    /// What stood at the offer, where it was seen; `Some(None)`: no SKU.
    pub seen: Option<Option<Sku>>,
    /// Why it is so, where there is more to say.
    pub why: Option<String>,
}

/// A change of one offer's SKU, and what became of it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SkuChange {
    /// The run that it is of.
    pub run: i64,
    /// Its place in the run, from 0.
    pub place: i64,
    /// What was planned.
    pub planned: PlannedSku,
    /// What became known of it, in that order.
    pub steps: Vec<SkuStep>,
}

impl SkuChange {
    /// How far it is.
    pub fn state(&self) -> SkuState {
        self.steps.last().map_or(SkuState::Planned, |step| step.state)
    }

    /// Whether the storefront was ever asked for it.
    pub fn was_asked(&self) -> bool {
        self.steps.iter().any(|step| step.state == SkuState::Asked)
    }
}

/// A run of changes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SkuRun {
    /// Counted from 1 in each shop.
    pub number: i64,
    /// Whose SKUs.
    pub source: SourceId,
    /// Who told it, when and why.
    pub signed: Signed,
    /// The run that it puts back.
    pub puts_back: Option<i64>,
}

/// What the journal saw at an offer after the offer was read last.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SeenSku {
    /// The listing.
    pub listing_id: ListingId,
    /// Which offer of it.
    pub options: Options,
    /// What stood there; `None`: no SKU.
    pub sku: Option<Sku>,
    /// When.
    pub at: DateTime<Utc>,
}

impl Ledger {
    /// Lets this process, and no other, change SKUs with this ledger.
    ///
    /// # Errors
    /// [`LedgerError::SendingSkus`] where another one does.
    pub fn send_skus(&self) -> Result<SendingSkus, LedgerError> {
        SendingSkus::begin(&self.path)
    }

    /// Where it is: beside it stands what belongs to it.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Begins a run: what it is to change is kept, all of it or nothing, before anything is asked for. Answers its number.
    ///
    /// # Errors
    /// Where it cannot be written, or an offer is in it twice.
    pub async fn begin_sku_run(
        &self,
        shop: &ShopId,
        (source, puts_back): (&SourceId, Option<i64>),
        signed: &Signed,
        planned: &[PlannedSku],
    ) -> Result<i64, LedgerError> {
        let mut transaction = self.begin().await?;
        let number = begin(&mut transaction, shop.as_str(), (source, puts_back), signed, planned).await?;
        transaction.commit().await?;
        Ok(number)
    }

    /// Notes what became known of a change.
    ///
    /// # Errors
    /// Where it cannot be written, there is no such change, or it cannot follow what was noted before: what was confirmed,
    /// refused or seen elsewhere is at its end, and nothing is asked for twice.
    pub async fn note_sku(
        &self,
        shop: &ShopId,
        (run, place): (i64, i64),
        step: &SkuStep,
    ) -> Result<(), LedgerError> {
        let mut transaction = self.begin().await?;
        note(&mut transaction, shop.as_str(), (run, place), step).await?;
        Ok(transaction.commit().await?)
    }

    /// The runs of a shop, in the order in which they began.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn sku_runs(&self, shop: &ShopId) -> Result<Vec<SkuRun>, LedgerError> {
        let shop = shop.as_str();
        let rows = sqlx::query!(
            "SELECT number, source, begun_at, made_by, why, puts_back FROM sku_runs WHERE shop = $1 ORDER BY number",
            shop
        )
        .fetch_all(&self.readers)
        .await?;
        let runs = rows.into_iter().map(|row| {
            let signed = Signed { by: row.made_by, why: row.why, at: text::to_moment(&row.begun_at)? };
            let source = SourceId::new(row.source);
            Ok(SkuRun { number: row.number, source, signed, puts_back: row.puts_back })
        });
        runs.collect()
    }

    /// The changes of a shop, by run and place: of one run, or of all.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn sku_changes(&self, shop: &ShopId, run: Option<i64>) -> Result<Vec<SkuChange>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        changes(&mut transaction, shop.as_str(), run).await
    }

    /// What the journal saw at offers later than the source was read that they are of, the last of each.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn skus_seen_since_read(&self, shop: &ShopId) -> Result<Vec<SeenSku>, LedgerError> {
        let shop = shop.as_str();
        let rows = sqlx::query!(
            "SELECT o.listing_id, o.options, s.seen_sku, s.noted_at
            FROM offers o
            JOIN sku_changes c ON c.shop = o.shop AND c.listing_id = o.listing_id AND c.options_key = o.options_key
            JOIN sku_change_steps s ON s.shop = c.shop AND s.number = c.number AND s.place = c.place
            WHERE o.shop = $1 AND s.was_seen AND s.noted_at > o.last_seen
            ORDER BY o.listing_id, o.options_key, s.noted_at, s.number, s.step",
            shop
        )
        .fetch_all(&self.readers)
        .await?;
        let mut seen: BTreeMap<(ListingId, Options), SeenSku> = BTreeMap::new();
        for row in rows {
            let (listing_id, options) = (ListingId::new(row.listing_id), text::to_options(&row.options)?);
            let (sku, at) = (row.seen_sku.and_then(Sku::new), text::to_moment(&row.noted_at)?);
            let one = SeenSku { listing_id: listing_id.clone(), options: options.clone(), sku, at };
            seen.insert((listing_id, options), one);
        }
        Ok(seen.into_values().collect())
    }

    /// The source of each offer of a shop, by listing and options.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn offer_sources(
        &self,
        shop: &ShopId,
    ) -> Result<BTreeMap<(ListingId, Options), SourceId>, LedgerError> {
        let shop = shop.as_str();
        let rows = sqlx::query!("SELECT listing_id, options, source FROM offers WHERE shop = $1", shop)
            .fetch_all(&self.readers)
            .await?;
        let sources = rows.into_iter().map(|row| {
            let key = (ListingId::new(row.listing_id), text::to_options(&row.options)?);
            Ok((key, SourceId::new(row.source)))
        });
        sources.collect()
    }
}

async fn begin(
    connection: &mut SqliteConnection,
    shop: &str,
    (source, puts_back): (&SourceId, Option<i64>),
    signed: &Signed,
    planned: &[PlannedSku],
) -> Result<i64, LedgerError> {
    let last =
        sqlx::query_scalar!(r#"SELECT MAX(number) AS "number: i64" FROM sku_runs WHERE shop = $1"#, shop)
            .fetch_one(&mut *connection)
            .await?;
    let number = last.unwrap_or(0) + 1;
    let (source, at) = (source.as_str(), text::of_moment(signed.at));
    sqlx::query!(
        "INSERT INTO sku_runs (shop, number, source, begun_at, made_by, why, puts_back)
        VALUES ($1, $2, $3, $4, $5, $6, $7)",
        shop,
        number,
        source,
        at,
        signed.by,
        signed.why,
        puts_back
    )
    .execute(&mut *connection)
    .await?;
    for (place, PlannedSku { listing_id, options, old, new }) in (0_i64..).zip(planned) {
        let (listing_id, key, options) =
            (listing_id.as_str(), text::of_options_key(options), text::of_options(options));
        let (old, new) = (old.as_ref().map(Sku::as_str), new.as_ref().map(Sku::as_str));
        sqlx::query!(
            "INSERT INTO sku_changes (shop, number, place, listing_id, options_key, options, old_sku, new_sku)
            VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            shop,
            number,
            place,
            listing_id,
            key,
            options,
            old,
            new
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(number)
}

async fn note(
    connection: &mut SqliteConnection,
    shop: &str,
    (run, place): (i64, i64),
    step: &SkuStep,
) -> Result<(), LedgerError> {
    let before = sqlx::query!(
        "SELECT step, state FROM sku_change_steps WHERE shop = $1 AND number = $2 AND place = $3
        ORDER BY step DESC LIMIT 1",
        shop,
        run,
        place
    )
    .fetch_optional(&mut *connection)
    .await?;
    let (last, state) = match before {
        Some(row) => (row.step, SkuState::read(&row.state)?),
        None => (0, SkuState::Planned),
    };
    if !step.state.may_follow(state) {
        return Err(LedgerError::Strange {
            found: format!("{} of change {place} of run {run}", state.word()),
            expected: "a change of a SKU that is not at its end",
        });
    }
    let (number, word, at) = (last + 1, step.state.word(), text::of_moment(step.at));
    let seen = step.seen.as_ref().and_then(Option::as_ref).map(Sku::as_str);
    let was_seen = step.seen.is_some();
    sqlx::query!(
        "INSERT INTO sku_change_steps (shop, number, place, step, state, noted_at, was_seen, seen_sku, why)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        shop,
        run,
        place,
        number,
        word,
        at,
        was_seen,
        seen,
        step.why
    )
    .execute(connection)
    .await?;
    Ok(())
}

async fn changes(
    connection: &mut SqliteConnection,
    shop: &str,
    run: Option<i64>,
) -> Result<Vec<SkuChange>, LedgerError> {
    let steps = sqlx::query!(
        "SELECT number, place, state, noted_at, was_seen, seen_sku, why FROM sku_change_steps
        WHERE shop = $1 AND ($2 IS NULL OR number = $2) ORDER BY number, place, step",
        shop,
        run
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut of_change: BTreeMap<(i64, i64), Vec<SkuStep>> = BTreeMap::new();
    for row in steps {
        let step = SkuStep {
            state: SkuState::read(&row.state)?,
            at: text::to_moment(&row.noted_at)?,
            seen: row.was_seen.then(|| row.seen_sku.and_then(Sku::new)),
            why: row.why,
        };
        of_change.entry((row.number, row.place)).or_default().push(step);
    }
    let rows = sqlx::query!(
        "SELECT number, place, listing_id, options, old_sku, new_sku FROM sku_changes
        WHERE shop = $1 AND ($2 IS NULL OR number = $2) ORDER BY number, place",
        shop,
        run
    )
    .fetch_all(connection)
    .await?;
    let changes = rows.into_iter().map(|row| {
        Ok(SkuChange {
            run: row.number,
            place: row.place,
            planned: PlannedSku {
                listing_id: ListingId::new(row.listing_id),
                options: text::to_options(&row.options)?,
                old: row.old_sku.and_then(Sku::new),
                new: row.new_sku.and_then(Sku::new),
            },
            steps: of_change.remove(&(row.number, row.place)).unwrap_or_default(),
        })
    });
    changes.collect()
}
