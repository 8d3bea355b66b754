//! What was read of the sources, how it changed, what was found in it, and what the owner said: in one SQLite file.
//!
//! The only crate with SQL. A batch and its mark are kept together or not at all; a finding keeps its identity over all
//! rounds. Must not know: how a source is asked, an order judged, or a finding told. Start reading at [`Ledger`];
//! `commit` is the way in.

mod asking;
mod beside;
mod closed;
mod commit;
mod error;
mod findings;
mod hours;
mod keyless;
mod near;
mod nouns;
mod order;
mod outbox;
mod owner;
mod rates;
mod rounds;
mod sku_changes;
mod text;
mod timeline;
mod trends;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, NaiveDate, Utc};
use model::book::Tie;
use model::rates::Rates;
use model::{Batch, Book, ClosedGroup, Mark, OrderId, Outcome, ShopId, SourceId, SubmissionId, SupplierId};
use sqlx::migrate::{MigrateError, Migrator};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{ConnectOptions, Sqlite, SqliteConnection, SqlitePool, Transaction};

pub use asking::{Asking, SourceState, Trouble};
pub use beside::{SendingSkus, Watching};
pub use closed::OpenBook;
pub use commit::Changed;
pub use error::LedgerError;
pub use findings::{KeptFinding, Recorded, SetAside, SettledFinding};
pub use hours::AskingHour;
pub use near::Connected;
pub use order::OrderHistory;
pub use outbox::{KeptMessage, Message, MessageKind, PendingAlert, Tried, WantedAlert, Which};
pub use owner::{ChangeNote, LinkChange, LinkPart, OwnerLink, OwnerRule, Product, Setting, Signed, Step};
pub use rounds::Rounds;
pub use sku_changes::{PlannedSku, SeenSku, SkuChange, SkuRun, SkuState, SkuStep};
pub use timeline::Entry;
pub use trends::DaySums;

use nouns::{Noun, Open, Origin};

static FORMS: Migrator = sqlx::migrate!("../../migrations");

/// How long one process waits for another that writes.
const BUSY: Duration = Duration::from_secs(5);

/// How long whoever writes waits for its turn behind others of this process: fifty shops may bring their whole history at
/// once, and none is to lose what it read.
const TURN: Duration = Duration::from_secs(3_600);

/// How many rows are handed over at once by the thread that reads them: a whole table has tens of thousands, and waking
/// somebody for every few of them takes longer than reading them.
const ROWS_ON_THE_WAY: usize = 4096;

/// How many may read at once.
const READERS: u32 = 4;

/// Under which source and request the owner's own word is kept.
const OWNER: &str = "owner";

/// The ledger. Clones are the same ledger.
#[derive(Clone, Debug)]
pub struct Ledger {
    path: PathBuf,
    /// One connection: whoever writes waits for whoever writes.
    writer: SqlitePool,
    readers: SqlitePool,
}

/// Which tables of a shop are known, so that one without rows means that there are none.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Known {
    /// `offers`.
    pub offers: bool,
    /// `variants`.
    pub variants: bool,
    /// `listing_products`.
    pub listing_products: bool,
    /// `links`.
    pub links: bool,
    /// `submissions` and `submission_lines`.
    pub submissions: bool,
    /// `parcels` and `parcel_lines`.
    pub parcels: bool,
}

impl Ledger {
    /// Opens a ledger, and makes it where there is none.
    ///
    /// # Errors
    /// Where the file cannot be used, or was written by a later version.
    pub async fn open(path: &Path) -> Result<Self, LedgerError> {
        let not_opened = |source| LedgerError::NotOpened { path: path.to_owned(), source };
        let _alone = beside::alone(path).map_err(|error| not_opened(error.into()))?;
        beside::make(path).map_err(|error| not_opened(error.into()))?;
        let options = SqliteConnectOptions::new()
            .filename(path)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(BUSY)
            .row_buffer_size(ROWS_ON_THE_WAY)
            .disable_statement_logging();
        let writer =
            SqlitePoolOptions::new().max_connections(1).acquire_timeout(TURN).acquire_slow_threshold(TURN);
        let writer = writer.connect_with(options.clone()).await.map_err(not_opened)?;
        // One transaction: a form of the ledger that cannot be made leaves the one before.
        let mut transaction = writer.begin_with("BEGIN IMMEDIATE").await.map_err(not_opened)?;
        match FORMS.run(&mut *transaction).await {
            Ok(()) => transaction.commit().await.map_err(not_opened)?,
            Err(MigrateError::VersionMissing(found)) => {
                let known = FORMS.iter().map(|form| form.version).max().unwrap_or_default();
                return Err(LedgerError::Later { path: path.to_owned(), found, known });
            }
            Err(source) => return Err(LedgerError::NotMigrated { path: path.to_owned(), source }),
        }
        let readers = SqlitePoolOptions::new().max_connections(READERS);
        let readers = readers.connect_with(options.read_only(true)).await.map_err(not_opened)?;
        Ok(Self { path: path.to_owned(), writer, readers })
    }

    /// Lets this process, and no other, watch with it.
    ///
    /// # Errors
    /// [`LedgerError::Watched`] where another one does.
    pub fn watch(&self) -> Result<Watching, LedgerError> {
        Watching::begin(&self.path)
    }

    /// The secret of the installation, with which addresses become digests.
    ///
    /// # Errors
    /// Where its file cannot be made or read, or is not there any more though it has been used: with another one every
    /// address would look as if it had changed.
    pub async fn secret(&self) -> Result<Vec<u8>, LedgerError> {
        let used =
            sqlx::query_scalar!("SELECT order_id FROM orders WHERE ship_to_digest IS NOT NULL LIMIT 1")
                .fetch_optional(&self.readers)
                .await?;
        beside::secret(&self.path, used.is_none())
    }

    /// Keeps a batch with its mark: all of it, or, where there is an error, nothing.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn commit(&self, batch: &Batch) -> Result<Changed, LedgerError> {
        let mut transaction = self.begin().await?;
        let changed = commit::rows(&mut transaction, batch).await?;
        if changed.is_any() {
            closed::changed(&mut transaction, batch.shop.as_str()).await?;
        }
        hours::count_rows(&mut transaction, batch, &changed).await?;
        transaction.commit().await?;
        Ok(changed)
    }

    /// How far a request of a source has been read.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn mark(&self, shop: &ShopId, source: &SourceId, request: &str) -> Result<Mark, LedgerError> {
        let (shop, source) = (shop.as_str(), source.as_str());
        let row = sqlx::query!(
            "SELECT mark, read_up_to FROM marks WHERE shop = $1 AND source = $2 AND request = $3",
            shop,
            source,
            request
        )
        .fetch_optional(&self.readers)
        .await?;
        let Some(row) = row else { return Ok(Mark::default()) };
        let read_up_to = row.read_up_to.as_deref().map(text::to_moment).transpose()?;
        Ok(Mark { text: row.mark, read_up_to })
    }

    /// Everything that is kept of a shop, at one moment, as tables. Those that are not known are `None`, so that a table of
    /// which a source has brought a part is not taken for all there is; of `links` and `listing_products`, which the owner
    /// may make too, what is there counts all the same.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn book(&self, shop: &ShopId, known: Known) -> Result<Book, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        book(&mut transaction, shop.as_str(), known, Rows::All).await
    }

    /// The same without the orders that are closed and what was sent for them, and what these add.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn open_book(&self, shop: &ShopId, known: Known) -> Result<OpenBook, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        let connection = &mut *transaction;
        let shop = shop.as_str();
        let book = book(connection, shop, known, Rows::Open).await?;
        let sums = closed::sums(connection, shop).await?;
        let (basis, settled) = sums.map(|sums| (sums.basis, sums.settled)).unwrap_or_default();
        let (first_placed, orders_before) = closed::first(connection, shop, known).await?;
        let version = closed::version(connection, shop).await?;
        Ok(OpenBook { book, basis, settled, first_placed, orders_before, version })
    }

    /// Closes groups: their rows are kept, shown and counted, and are not judged again until one of them changes, which
    /// opens its group. `basis` stands for all that the judgement rests on beside the rows; `version` is that of the book by
    /// which it was made. False, and nothing is closed, where a row of the shop changed since, or other groups were closed
    /// by another basis.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn close_groups(
        &self,
        shop: &ShopId,
        (basis, version): (&str, i64),
        groups: &[ClosedGroup],
    ) -> Result<bool, LedgerError> {
        let mut transaction = self.begin().await?;
        let done = closed::close(&mut transaction, shop.as_str(), (basis, version), groups).await?;
        transaction.commit().await?;
        Ok(done)
    }

    /// Opens everything again that is closed of a shop.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn open_all(&self, shop: &ShopId) -> Result<(), LedgerError> {
        let mut transaction = self.begin().await?;
        closed::open_all(&mut transaction, shop.as_str()).await?;
        Ok(transaction.commit().await?)
    }

    /// Whether any of these orders is closed.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn is_any_closed(&self, shop: &ShopId, ids: &BTreeSet<String>) -> Result<bool, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        Ok(!closed::numbers_of_orders(&mut transaction, shop.as_str(), ids).await?.is_empty())
    }

    /// Opens the groups of those of these orders that are closed.
    ///
    /// # Errors
    /// Where they cannot be read or written.
    pub async fn open_orders(&self, shop: &ShopId, ids: &BTreeSet<String>) -> Result<(), LedgerError> {
        let mut transaction = self.begin().await?;
        for number in closed::numbers_of_orders(&mut transaction, shop.as_str(), ids).await? {
            closed::open(&mut transaction, shop.as_str(), number).await?;
        }
        Ok(transaction.commit().await?)
    }

    /// The orders and submissions that are closed with an order; `None` where it is not closed.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn closed_with(
        &self,
        shop: &ShopId,
        order_id: &OrderId,
    ) -> Result<Option<(Vec<OrderId>, Vec<(SupplierId, SubmissionId)>)>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        closed::group_of_order(&mut connection, shop.as_str(), order_id.as_str()).await
    }

    /// When an order was first read; `None` where it never was.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn first_seen(
        &self,
        shop: &ShopId,
        order_id: &OrderId,
    ) -> Result<Option<DateTime<Utc>>, LedgerError> {
        let (shop, order_id) = (shop.as_str(), order_id.as_str());
        let seen = sqlx::query_scalar!(
            "SELECT first_seen FROM orders WHERE shop = $1 AND order_id = $2",
            shop,
            order_id
        )
        .fetch_optional(&self.readers)
        .await?;
        seen.as_deref().map(text::to_moment).transpose()
    }

    /// Keeps the findings of a shop as they are now: new ones open, those that are gone settle, and those that are there
    /// again reopen as the same.
    ///
    /// # Errors
    /// Where they cannot be written.
    pub async fn record(
        &self,
        shop: &ShopId,
        outcome: &Outcome,
        at: DateTime<Utc>,
    ) -> Result<Recorded, LedgerError> {
        self.record_and_tell(shop, outcome, &[], at).await
    }

    /// Likewise, and with them, in one transaction, what somebody is to be told at once.
    ///
    /// # Errors
    /// Where they cannot be written.
    pub async fn record_and_tell(
        &self,
        shop: &ShopId,
        outcome: &Outcome,
        wanted: &[WantedAlert],
        at: DateTime<Utc>,
    ) -> Result<Recorded, LedgerError> {
        let mut transaction = self.begin().await?;
        let recorded = findings::record(&mut transaction, shop.as_str(), outcome, at).await?;
        outbox::want(&mut transaction, shop.as_str(), wanted, at).await?;
        rounds::note(&mut transaction, shop.as_str(), at, outcome.as_of).await?;
        transaction.commit().await?;
        Ok(recorded)
    }

    /// When findings of a shop were recorded; `None` where they never were.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn rounds(&self, shop: &ShopId) -> Result<Option<Rounds>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        rounds::of(&mut connection, shop.as_str()).await
    }

    /// The marks of all requests of a source, by the name of the request.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn marks(
        &self,
        shop: &ShopId,
        source: &SourceId,
    ) -> Result<BTreeMap<String, Mark>, LedgerError> {
        let (shop, source) = (shop.as_str(), source.as_str());
        let rows = sqlx::query!(
            "SELECT request, mark, read_up_to FROM marks WHERE shop = $1 AND source = $2",
            shop,
            source
        )
        .fetch_all(&self.readers)
        .await?;
        let marks = rows.into_iter().map(|row| {
            let read_up_to = row.read_up_to.as_deref().map(text::to_moment).transpose()?;
            Ok((row.request, Mark { text: row.mark, read_up_to }))
        });
        marks.collect()
    }

    /// The findings of a shop, those that stand or all, by deadline, then id. What is set aside at the moment says so.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn findings(
        &self,
        shop: &ShopId,
        only_standing: bool,
        at: DateTime<Utc>,
    ) -> Result<Vec<KeptFinding>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        match only_standing {
            true => findings::standing(&mut connection, shop.as_str(), at).await,
            false => findings::all(&mut connection, shop.as_str(), at).await,
        }
    }

    /// What is set aside at a moment, by shop and the id of the finding, which stands.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn asides(
        &self,
        at: DateTime<Utc>,
    ) -> Result<BTreeMap<ShopId, BTreeMap<String, SetAside>>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        findings::asides(&mut connection, at).await
    }

    /// The findings of a shop that settled from one moment to another, both included.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn settled(
        &self,
        shop: &ShopId,
        from: DateTime<Utc>,
        until: DateTime<Utc>,
    ) -> Result<Vec<SettledFinding>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        findings::settled(&mut connection, shop.as_str(), from, until).await
    }

    /// Puts a finding that stands aside: until a moment; or until its evidence is another than it is now, or it settles.
    ///
    /// # Errors
    /// [`LedgerError::NoSuchFinding`].
    pub async fn set_aside(
        &self,
        shop: &ShopId,
        id: &str,
        aside: &SetAside,
        at: DateTime<Utc>,
    ) -> Result<(), LedgerError> {
        let mut transaction = self.begin().await?;
        findings::set_aside(&mut transaction, shop.as_str(), id, aside, at).await?;
        Ok(transaction.commit().await?)
    }

    /// No longer puts a finding aside. False where it was not.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn take_back(&self, shop: &ShopId, id: &str, at: DateTime<Utc>) -> Result<bool, LedgerError> {
        let mut transaction = self.begin().await?;
        let done = findings::take_back(&mut transaction, shop.as_str(), id, at).await?;
        transaction.commit().await?;
        Ok(done)
    }

    /// Keeps the owner's word that a submission serves a line.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn tie(&self, shop: &ShopId, tie: &Tie, at: DateTime<Utc>) -> Result<(), LedgerError> {
        let seen_at = text::of_moment(at);
        let origin = Origin {
            shop: shop.as_str(),
            source: OWNER,
            request: OWNER,
            seen_at: &seen_at,
            source_time: None,
        };
        let mut transaction = self.begin().await?;
        commit::keep(&mut transaction, origin, [tie], &mut Changed::default()).await?;
        closed::changed(&mut transaction, shop.as_str()).await?;
        Ok(transaction.commit().await?)
    }

    /// Takes such a word back. False where it was not given.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn untie(&self, shop: &ShopId, tie: &Tie, at: DateTime<Utc>) -> Result<bool, LedgerError> {
        let seen_at = text::of_moment(at);
        let origin = Origin {
            shop: shop.as_str(),
            source: OWNER,
            request: OWNER,
            seen_at: &seen_at,
            source_time: None,
        };
        let mut transaction = self.begin().await?;
        let done = commit::untie(&mut transaction, origin, tie).await?;
        closed::changed(&mut transaction, shop.as_str()).await?;
        transaction.commit().await?;
        Ok(done)
    }

    /// Makes one change of the owner's links and rules, all of it or nothing; the later of two settings for the same thing
    /// counts. `seen` is what [`Self::last_link_change`] answered before the settings were decided on. Answers the number
    /// of the change; `None` where nothing is another than it was.
    ///
    /// # Errors
    /// [`LedgerError::ChangedMeanwhile`] where one of them was changed since, or where it cannot be written.
    pub async fn set_links(
        &self,
        shop: &ShopId,
        settings: &[Setting],
        signed: &Signed,
        seen: i64,
    ) -> Result<Option<i64>, LedgerError> {
        let mut transaction = self.begin().await?;
        let number = owner::keep(&mut transaction, shop.as_str(), settings, signed, seen).await?;
        transaction.commit().await?;
        Ok(number)
    }

    /// Takes such a change back, as a change of its own, the number of which it answers: exactly what stood before stands
    /// again.
    ///
    /// # Errors
    /// [`LedgerError::NoSuchChange`]; [`LedgerError::TakenBack`]; [`LedgerError::ChangedSince`] where something of it was
    /// changed later and that was not taken back.
    pub async fn undo_links(&self, shop: &ShopId, number: i64, signed: &Signed) -> Result<i64, LedgerError> {
        let mut transaction = self.begin().await?;
        let number = owner::undo(&mut transaction, shop.as_str(), number, signed).await?;
        transaction.commit().await?;
        Ok(number)
    }

    /// The number of the last change of the owner's links and rules; 0 before the first.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn last_link_change(&self, shop: &ShopId) -> Result<i64, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        owner::last(&mut connection, shop.as_str()).await
    }

    /// The owner's links that stand, by what they are for.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn owner_links(&self, shop: &ShopId) -> Result<Vec<OwnerLink>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        Ok(owner::all(&mut transaction, shop.as_str()).await?.0)
    }

    /// Those of the owner's links of which the owner has not said that they are in force. Whether the storefront's SKU leads
    /// there meanwhile is not looked at.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn intended_links(&self, shop: &ShopId) -> Result<Vec<OwnerLink>, LedgerError> {
        let mut links = self.owner_links(shop).await?;
        links.retain(OwnerLink::is_intended);
        Ok(links)
    }

    /// The owner's rules that stand, by good.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn owner_rules(&self, shop: &ShopId) -> Result<Vec<OwnerRule>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        Ok(owner::all(&mut transaction, shop.as_str()).await?.1)
    }

    /// All changes of the owner's links and rules, in the order in which they were made.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn link_changes(&self, shop: &ShopId) -> Result<Vec<LinkChange>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        owner::changes(&mut transaction, shop.as_str()).await
    }

    /// Notes how asking a source went.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn note(&self, asking: &Asking) -> Result<(), LedgerError> {
        let mut transaction = self.begin().await?;
        asking::note(&mut transaction, asking).await?;
        hours::count(&mut transaction, asking).await?;
        Ok(transaction.commit().await?)
    }

    /// How far each request of each source of a shop was read, and how asking it went.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn sources(&self, shop: &ShopId) -> Result<Vec<SourceState>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        asking::all(&mut connection, shop).await
    }

    /// How each request of each source of a shop was asked, hour by hour, from a moment on; by source, request and hour.
    /// Hours of some weeks ago are forgotten.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn asking_hours(
        &self,
        shop: &ShopId,
        since: DateTime<Utc>,
    ) -> Result<Vec<AskingHour>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        hours::since(&mut connection, shop, since).await
    }

    /// The changes of rows of a noun whose key begins with these ids, in the order in which they were seen.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn timeline(&self, shop: &ShopId, noun: &str, ids: &[&str]) -> Result<Vec<Entry>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        timeline::of(&mut connection, shop.as_str(), noun, ids).await
    }

    /// One order with its lines, submissions, parcels, ties, findings, and what changed of them, at one moment; `None` where
    /// it is not known. `speaks_of_it` says whether a reference, as it is written in a submission or a line of one, means
    /// this order. What is set aside at `at` says so.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn order(
        &self,
        shop: &ShopId,
        order_id: &OrderId,
        speaks_of_it: impl Fn(&str) -> bool,
        at: DateTime<Utc>,
    ) -> Result<Option<OrderHistory>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        order::of(&mut transaction, shop.as_str(), order_id.as_str(), speaks_of_it, at).await
    }

    /// The orders of which the address is another than it was, each with when that was last seen.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn address_changes(
        &self,
        shop: &ShopId,
    ) -> Result<BTreeMap<OrderId, DateTime<Utc>>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        timeline::address_changes(&mut connection, shop.as_str()).await
    }

    /// What a recipient is still to be told at once, by deadline, then shop and id.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn pending_alerts(&self, recipient: &str) -> Result<Vec<PendingAlert>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        outbox::pending(&mut connection, recipient).await
    }

    /// Writes a message that waits to be sent, and that it tells these findings (shop and id). False, and nothing is changed,
    /// where one of this identifier, or a digest of this day for this recipient, was written before.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn write_message(
        &self,
        message: &Message,
        told: &[(String, String)],
    ) -> Result<bool, LedgerError> {
        let mut transaction = self.begin().await?;
        let is_new = outbox::write(&mut transaction, message, told).await?;
        transaction.commit().await?;
        Ok(is_new)
    }

    /// Notes how a try to send a message went.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn message_tried(&self, id: &str, tried: &Tried, at: DateTime<Utc>) -> Result<(), LedgerError> {
        let mut transaction = self.begin().await?;
        outbox::tried(&mut transaction, id, tried, at).await?;
        Ok(transaction.commit().await?)
    }

    /// Messages, by when they were written, then by identifier.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub async fn messages(&self, which: Which) -> Result<Vec<KeptMessage>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        outbox::list(&mut connection, which).await
    }

    /// The digest of a day that was written for a recipient.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn digest_of(
        &self,
        recipient: &str,
        day: NaiveDate,
    ) -> Result<Option<KeptMessage>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        outbox::digest_of(&mut connection, recipient, day).await
    }

    /// How many alerts were written for a recipient since a moment.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn alerts_since(&self, recipient: &str, since: DateTime<Utc>) -> Result<usize, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        outbox::alerts_since(&mut connection, recipient, since).await
    }

    /// The day of the last digest that was written for a recipient, and when that was.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn last_digest(
        &self,
        recipient: &str,
    ) -> Result<Option<(NaiveDate, DateTime<Utc>)>, LedgerError> {
        let mut connection = self.readers.acquire().await?;
        outbox::last_digest(&mut connection, recipient).await
    }

    /// Forgets messages that were written before a moment and wait no longer, but for the last digest of each recipient.
    /// Returns how many.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub async fn forget_messages(&self, before: DateTime<Utc>) -> Result<u64, LedgerError> {
        let mut transaction = self.begin().await?;
        let forgotten = outbox::forget(&mut transaction, before).await?;
        transaction.commit().await?;
        Ok(forgotten)
    }

    /// How well it went with the orders placed from each of these moments on until `end`, of those that are reported.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub async fn rates(
        &self,
        shop: &ShopId,
        begins: &[DateTime<Utc>],
        end: DateTime<Utc>,
        report_from: DateTime<Utc>,
    ) -> Result<Vec<Rates>, LedgerError> {
        let mut transaction = self.readers.begin().await?;
        rates::of(&mut transaction, shop.as_str(), begins, end, report_from).await
    }

    /// Closes it; what was written is in its file.
    pub async fn close(self) {
        self.readers.close().await;
        self.writer.close().await;
    }

    /// Begins to write: nobody else writes until it is over.
    async fn begin(&self) -> Result<Transaction<'static, Sqlite>, LedgerError> {
        Ok(self.writer.begin_with("BEGIN IMMEDIATE").await?)
    }
}

async fn all<N: Noun>(connection: &mut SqliteConnection, shop: &str) -> Result<Vec<N>, LedgerError> {
    N::all(connection, shop).await?.into_iter().map(N::read).collect()
}

/// Which rows of orders and of what was sent are read.
#[derive(Clone, Copy)]
enum Rows {
    All,
    /// Those that are not closed.
    Open,
}

/// What is kept of a shop, as tables.
async fn book(
    connection: &mut SqliteConnection,
    shop: &str,
    known: Known,
    which: Rows,
) -> Result<Book, LedgerError> {
    let (knows_sent, knows_parcels) = (known.submissions, known.parcels);
    Ok(Book {
        orders: rows(connection, shop, which).await?,
        order_lines: rows(connection, shop, which).await?,
        offers: if_known(connection, shop, known.offers).await?,
        variants: if_known(connection, shop, known.variants).await?,
        listing_products: some(connection, shop, known.listing_products).await?,
        links: some(connection, shop, known.links).await?,
        owner_links: owner::rows(connection, shop).await?,
        submissions: if knows_sent { Some(rows(connection, shop, which).await?) } else { None },
        submission_lines: if knows_sent { Some(rows(connection, shop, which).await?) } else { None },
        parcels: if knows_parcels { Some(rows(connection, shop, which).await?) } else { None },
        parcel_lines: if knows_parcels { Some(rows(connection, shop, which).await?) } else { None },
        ties: Some(rows(connection, shop, which).await?),
        not_judged: Default::default(),
    })
}

async fn rows<N: Open>(
    connection: &mut SqliteConnection,
    shop: &str,
    which: Rows,
) -> Result<Vec<N>, LedgerError> {
    let kept = match which {
        Rows::All => N::all(connection, shop).await?,
        Rows::Open => N::open(connection, shop).await?,
    };
    kept.into_iter().map(N::read).collect()
}

/// All rows of a table; `None` where it is not known.
async fn if_known<N: Noun>(
    connection: &mut SqliteConnection,
    shop: &str,
    is_known: bool,
) -> Result<Option<Vec<N>>, LedgerError> {
    if is_known { Ok(Some(all(connection, shop).await?)) } else { Ok(None) }
}

/// All rows of a table; `None` where there are none and it is not known that there are none.
async fn some<N: Noun>(
    connection: &mut SqliteConnection,
    shop: &str,
    is_known: bool,
) -> Result<Option<Vec<N>>, LedgerError> {
    let rows = all(connection, shop).await?;
    Ok((is_known || !rows.is_empty()).then_some(rows))
}
