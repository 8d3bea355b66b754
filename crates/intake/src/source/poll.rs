//! Reads a source, page by page, so that nothing is lost and nothing doubled wherever it is interrupted.
//!
//! A [`Poll`] reads one request from a mark on. It hands out batches; the caller commits each, rows and mark together,
//! before it asks for the next, and drops the poll whenever it likes: the next poll goes on from the mark that was
//! committed last. Must not know: how rows are kept, or how orders are matched. Start reading at [`Poll::next`]; `mark` is
//! what is remembered between polls, `source::pages` says how pages follow each other, `folder` reads dropped files.
//!
//! # Passes
//!
//! - A pass reads all pages of what changed since the mark, or, of a request without `changes`, of everything. `since`
//!   moves when the pass is over, to the latest change among its records, cut to the second and never beyond the moment at
//!   which the pass began by the clock of the source. Asked for is `since` less the overlap: records that share its
//!   second come again.
//! - Where no record says when it changed, `since` moves to when the pass began, where the source gives its time (`Date`);
//!   otherwise it stays, and everything is read each time.
//! - `read_up_to` is when the pass began, by the clock of the source where it gives its time. It stays where records were
//!   seen to move from page to page ([`FOLLOW_UPS`] further passes then follow within the same poll, one of which should find
//!   them at rest), and where something may have been passed over; then `since` stays too.
//! - Where fewer records were read than the source says there are, the pass was not read to the end: neither `since` nor
//!   `read_up_to` moves, and the next poll asks for the same again. The report has both numbers.
//! - `everything_since` is set where the pass asked for everything, and all was found.
//! - A pass that was interrupted goes on behind the last page that was committed, where that page still has one of the
//!   records it had, or at its cursor; where the source does not take that any more, it begins anew.
//! - Where the source offers validators (`ETag`, `Last-Modified`), the pages of the last pass are asked whether they have
//!   changed, before anything is read again. Not by `link`, whose next page does not show in them, and not where other
//!   requests are asked for each row, which may have changed by themselves.
//!
//! # Requests for each row
//!
//! They are asked between two pages of the request that brings the rows, one batch a row. Its mark remembers which rows of
//! the last page are owed, so that a poll that was interrupted asks for them first, and `since` moves when none is. A row
//! that is gone at the source (404, 410) is passed over and counted, unless all of a page are gone: then the path is wrong.
//! Where a row is not there (404), or something of it may have been passed over, that was not so in the pass before, the
//! pass was not read to the end: some sources have a row for a moment before they have what belongs to it.
//!
//! # Clocks
//!
//! Batches bear times of this machine (`seen_at`, `everything_since`), and never one before the pass began. Where the clock
//! of the source has been set back by more than the overlap, everything is read again.

mod check;
pub(crate) mod error;
mod folder;
mod mark;

use std::collections::{BTreeMap, VecDeque};
use std::fmt;

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use model::{Batch, Book, Mark, ShopId, SourceId};

pub use check::{Checked, FieldSeen, Outcome, TableDeclared, Thing};
pub use error::{Changed, LimitMet, Place, PollError};
pub use folder::{Dropped, FolderReader, tables_read};

pub use crate::source::pages::SourceCount;

use crate::source::declare::{Request, Service};
use crate::source::http::{Client, Trouble, Validators};
use crate::source::mapping::{Mapped, ParentRow};
use crate::source::pages::{Asking, Fetched, KeptPages, Page, Turn, Walk};
use mark::{Closing, MarkText, PassText, Reached};

/// How many passes follow one during which records moved, within the same poll.
pub const FOLLOW_UPS: u32 = 2;

/// How many rows of one page other requests are asked for; as many as the largest page has.
pub const MAX_ROWS_OWED: usize = crate::source::declare::MAX_PAGE_SIZE as usize;

/// How far the clock of a source may be off before it is said. Clocks that are kept by the network differ by less than a
/// second; `Date` is cut to one, and may have waited in between (common practice, no published source).
pub const CLOCK_OFF: TimeDelta = TimeDelta::seconds(120);

/// So many rows of a page that are all gone say that the path is wrong.
const TOO_MANY_GONE: u64 = 3;

/// What the mark of a request for each row says: its rows are owed by another's.
const MARK_OF_ROWS: &str = r#"{"version":1}"#;

/// What is needed to read a source over HTTP.
pub struct Reader {
    /// Whose source it is.
    pub shop: ShopId,
    /// The source, by its configured name.
    pub source: SourceId,
    /// How it is asked.
    pub service: Service,
    /// What asks it.
    pub client: Client,
    /// What digests of addresses are keyed with.
    pub digest_key: Vec<u8>,
}

/// Shows no secret.
impl fmt::Debug for Reader {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Reader")
            .field("shop", &self.shop)
            .field("source", &self.source)
            .finish_non_exhaustive()
    }
}

impl Reader {
    /// The requests that are polled; the others are asked for the rows that these bring.
    pub fn requests(&self) -> impl Iterator<Item = &Request> {
        self.service.requests.iter().filter(|request| request.for_each().is_none())
    }

    /// A poll of one of [`Reader::requests`]. `marks` are those of all requests of the source, by name; one that is not
    /// there has never been read.
    pub fn poll<'r>(&'r self, request: &'r Request, marks: &BTreeMap<String, Mark>) -> Poll<'r> {
        let own = marks.get(&request.name).cloned().unwrap_or_default();
        // What was read of another declaration is not what this one reads.
        let (text, read_up_to) = match MarkText::read(&own.text, &self.service, request) {
            Some(text) => (text, own.read_up_to),
            None => (MarkText::new(&self.service, request), None),
        };
        Poll {
            reader: self,
            request,
            marks: marks.clone(),
            text,
            read_up_to,
            not_before: DateTime::<Utc>::MIN_UTC,
            ahead: None,
            stage: Stage::Beginning,
            ready: VecDeque::new(),
            report: Report::default(),
        }
    }

    /// The rows of the first page of a request, for a look at them: nothing is to be kept. `None` where it is asked for
    /// each row of another request, and that brings none.
    ///
    /// # Errors
    /// [`PollError`].
    pub async fn preview(&self, request: &Request) -> Result<Option<Mapped>, PollError> {
        let row = match self.some_row(request).await? {
            Some(row) => row,
            None => return Ok(None),
        };
        let asking = Asking { reader: self, request, row: row.as_ref(), since: None, take: None };
        match asking.page(&asking.first(), 1, &Validators::default()).await? {
            Fetched::Page(page) => Ok(Some(page.mapped)),
            Fetched::NotThere | Fetched::Unchanged { .. } => Ok(None),
        }
    }

    /// Some row for which a request can be asked: `Some(None)` where it needs none, `None` where there is none.
    async fn some_row(&self, request: &Request) -> Result<Option<Option<ParentRow>>, PollError> {
        let Some(table) = request.for_each() else { return Ok(Some(None)) };
        let brings = |other: &&Request| other.name != request.name && other.tables().any(|own| own == table);
        let Some(parent) = self.service.requests.iter().find(brings) else { return Ok(None) };
        let page = Box::pin(self.preview(parent)).await?;
        let row = page.and_then(|page| page.parents.into_iter().find(|row| row.table() == table));
        Ok(row.map(Some))
    }

    /// The requests that are asked for each row that a request brings.
    fn asked_for_rows_of<'r>(&'r self, request: &'r Request) -> Vec<&'r Request> {
        request.tables().flat_map(|table| self.service.asked_for_each(request, table)).collect()
    }

    /// The requests that are asked for the rows that a request brings, and for the rows of these, by name.
    pub fn descendants<'r>(&'r self, request: &'r Request) -> Vec<&'r Request> {
        let mut all: Vec<&Request> = Vec::new();
        let mut open = self.asked_for_rows_of(request);
        while let Some(next) = open.pop() {
            if all.iter().all(|known| known.name != next.name) {
                all.push(next);
                open.extend(self.asked_for_rows_of(next));
            }
        }
        all.sort_by(|one, other| one.name.cmp(&other.name));
        all
    }
}

/// One reading of a request, from a mark on.
pub struct Poll<'r> {
    reader: &'r Reader,
    request: &'r Request,
    marks: BTreeMap<String, Mark>,
    text: MarkText,
    read_up_to: Option<DateTime<Utc>>,
    /// When the pass began, by the clock of this machine: no batch of it was seen before.
    not_before: DateTime<Utc>,
    /// How far the clock of the source is ahead, as the last page has it.
    ahead: Option<TimeDelta>,
    stage: Stage<'r>,
    ready: VecDeque<Step>,
    report: Report,
}

/// What a poll brought.
#[derive(Debug)]
pub enum Step {
    /// Rows, to be committed with their mark before the next step is asked for. There may be none: then the mark alone
    /// moves.
    Batch(Box<Batch>),
    /// Nothing has changed, as the source says; the batch has no rows, and a mark to be committed.
    Unchanged(Box<Batch>),
    /// All is read.
    Over(Report),
}

/// What is to be known of a poll that is over.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Report {
    /// How many passes there were, one as a rule.
    pub passes: u32,
    /// How many records there are, as the source says, and how many the last pass read; `None` where it does not say, and
    /// where records moved in a pass that went on from an earlier poll.
    pub count: Option<SourceCount>,
    /// What somebody should know.
    pub notices: Vec<PollNotice>,
}

/// What somebody should know of a poll.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum PollNotice {
    /// The clock of the source is off.
    ClockOff {
        /// How far it is ahead; less than zero: behind.
        ahead: TimeDelta,
    },
    /// The clock of the source was set back; everything was read again.
    ClockSetBack,
    /// Records kept moving from page to page: the source counts as read only up to an earlier moment.
    KeptMoving,
    /// Rows were gone when they were asked for.
    RowsGone {
        /// The request that was asked for them.
        request: String,
        /// How many.
        count: u64,
    },
    /// Rows of which something may have been passed over: what was asked for them kept moving from page to page, or the
    /// source counts more of it than came.
    RowsNotWhole {
        /// The request that was asked for them.
        request: String,
        /// How many.
        count: u64,
    },
}

impl fmt::Display for PollNotice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ClockOff { ahead } => {
                let minutes = (ahead.num_seconds().abs() + 30) / 60;
                let way = if *ahead < TimeDelta::zero() { "behind" } else { "ahead of" };
                write!(f, "the clock of the source is {minutes} minutes {way} that of this machine")
            }
            Self::ClockSetBack => {
                f.write_str("the clock of the source was set back: everything was read again, so that nothing is missed")
            }
            Self::KeptMoving => f.write_str(
                "records kept moving from page to page while they were read: what is said to be read up to stays until a \
                 later poll finds them at rest",
            ),
            Self::RowsGone { request, count: 1 } => {
                write!(f, "a row was gone at the source when {request:?} was asked for it")
            }
            Self::RowsGone { request, count } => {
                write!(f, "{count} rows were gone at the source when {request:?} was asked for them")
            }
            Self::RowsNotWhole { request, count } => {
                let rows = if *count == 1 { "a row" } else { &format!("{count} rows") };
                write!(f, "of {rows}, not all that the source has came when {request:?} was asked for")
            }
        }
    }
}

enum Stage<'r> {
    Beginning,
    Walking(Box<Walking>),
    Rows(Box<Rows<'r>>),
    Ended,
}

/// A pass that is under way.
struct Walking {
    /// But for `walk`, which is as it was when the pass was last kept.
    pass: PassText,
    walk: Walk,
    /// Whether it is the rest of an interrupted pass, and nothing was read of it yet.
    is_resumed: bool,
}

/// Rows for which other requests are being asked.
struct Rows<'r> {
    queue: VecDeque<(&'r Request, ParentRow)>,
    /// By request: how many rows were asked for, and how many were gone.
    asked: BTreeMap<&'r str, (u64, u64)>,
    /// Whether they were owed by an earlier poll.
    is_resumed: bool,
    then: Stage<'r>,
}

impl<'r> Poll<'r> {
    /// The next step. The batch of the one before must have been committed.
    ///
    /// # Errors
    /// [`PollError`], behind which the poll is over. Nothing that was handed out is touched by it.
    pub async fn next(&mut self) -> Result<Step, PollError> {
        loop {
            if let Some(step) = self.ready.pop_front() {
                return Ok(step);
            }
            self.stage = match std::mem::replace(&mut self.stage, Stage::Ended) {
                Stage::Beginning => self.begin().await?,
                Stage::Walking(walking) => self.page(*walking).await?,
                Stage::Rows(rows) => self.row(*rows).await?,
                Stage::Ended => return Ok(Step::Over(self.report.clone())),
            };
        }
    }

    fn asking(&self, since: Option<DateTime<Utc>>) -> Asking<'r> {
        Asking { reader: self.reader, request: self.request, row: None, since, take: None }
    }

    fn now(&self) -> DateTime<Utc> {
        self.reader.client.world().now()
    }

    /// What is owed comes first, then a pass that was interrupted, then a new one.
    async fn begin(&mut self) -> Result<Stage<'r>, PollError> {
        if !self.text.owed.is_empty() || self.text.closing.is_some() {
            let since = self.text.closing.and_then(|closing| closing.everything_since);
            let began = self.text.pass.as_ref().map(|pass| pass.began_here).or(since);
            self.not_before = began.unwrap_or(DateTime::<Utc>::MIN_UTC);
            return Ok(self.rows(true, Stage::Beginning));
        }
        if let Some(pass) = self.text.pass.clone() {
            self.not_before = pass.began_here;
            let walk = Walk::resumed(&self.asking(pass.asked), pass.walk.clone());
            return Ok(Stage::Walking(Box::new(Walking { pass, walk, is_resumed: true })));
        }
        let asked = self.asked();
        let began_here = self.now();
        let known = self.text.unchanged.take().filter(|(since, _)| *since == asked);
        let Some((_, pages)) = known.filter(|_| self.reader.asked_for_rows_of(self.request).is_empty())
        else {
            return Ok(self.begin_pass(asked, None));
        };
        match self.look(asked, &pages).await? {
            Looked::Unchanged { asked_at_source } => {
                self.text.unchanged = Some((asked, pages));
                self.read_up_to = Some(asked_at_source.unwrap_or(began_here));
                self.not_before = began_here;
                let batch = self.own_batch(None, None, self.now());
                self.ready.push_back(Step::Unchanged(Box::new(batch)));
                Ok(Stage::Ended)
            }
            Looked::Changed { first } => {
                let stage = self.begin_pass(asked, first);
                // The page was asked for before the pass was.
                if let Stage::Walking(mut walking) = stage {
                    walking.pass.began = began_here;
                    walking.pass.began_here = began_here;
                    self.not_before = began_here;
                    return Ok(Stage::Walking(walking));
                }
                Ok(stage)
            }
        }
    }

    /// What is to be asked for: `since` less the overlap.
    fn asked(&self) -> Option<DateTime<Utc>> {
        let overlap = TimeDelta::from_std(self.request.changes.as_ref()?.overlap).unwrap_or(TimeDelta::MAX);
        self.text.since?.checked_sub_signed(overlap)
    }

    /// Asks the pages of the last pass whether they have changed.
    async fn look(&self, asked: Option<DateTime<Utc>>, pages: &KeptPages) -> Result<Looked, PollError> {
        let asking = self.asking(asked);
        let mut first_asked = None;
        for (number, (position, validators)) in (1..).zip(pages) {
            match asking.page(position, number, validators).await {
                Ok(Fetched::Unchanged { asked_at_source }) if number == 1 => first_asked = asked_at_source,
                Ok(Fetched::Unchanged { .. }) => {}
                Ok(Fetched::Page(page)) if number == 1 => return Ok(Looked::Changed { first: Some(page) }),
                Ok(Fetched::Page(_) | Fetched::NotThere) => return Ok(Looked::Changed { first: None }),
                Err(error @ (PollError::Unreachable { .. } | PollError::SignIn { .. })) => return Err(error),
                // Whatever it is, reading from the beginning will say it, or do without.
                Err(_) => return Ok(Looked::Changed { first: None }),
            }
        }
        Ok(Looked::Unchanged { asked_at_source: first_asked })
    }

    fn begin_pass(&mut self, asked: Option<DateTime<Utc>>, first: Option<Box<Page>>) -> Stage<'r> {
        let began_here = self.now();
        self.not_before = began_here;
        let walk = Walk::new(&self.asking(asked), first);
        let pass = PassText {
            began: began_here,
            began_here,
            is_dated: false,
            ahead_seconds: None,
            asked,
            highest: None,
            highest_of_first: None,
            has_records: false,
            walk: walk.walked(),
        };
        Stage::Walking(Box::new(Walking { pass, walk, is_resumed: false }))
    }

    /// Reads one page of a pass.
    async fn page(&mut self, mut walking: Walking) -> Result<Stage<'r>, PollError> {
        let asking = self.asking(walking.pass.asked);
        let is_first = walking.walk.pages() == 0;
        let page = match walking.walk.turn(&asking).await {
            Ok(Turn::Page(page)) => Some(page),
            Ok(Turn::Over) => None,
            // A cursor lasts for a while, and an address may lead nowhere any more.
            Err(error) if walking.is_resumed && is_of_the_place(&error) => {
                self.text.pass = None;
                return Ok(self.begin_pass(self.asked(), None));
            }
            Err(error) => return Err(error),
        };
        walking.is_resumed = false;
        if let Some(page) = &page {
            self.ahead = page.ahead;
            let latest = page.mapped.latest.as_ref().map(|latest| latest.at);
            if is_first {
                if self.note_clock(&mut walking.pass, page) {
                    self.text.since = None;
                    self.report.notices.push(PollNotice::ClockSetBack);
                    return Ok(self.begin_pass(None, None));
                }
                walking.pass.highest_of_first = latest;
            }
            walking.pass.highest = walking.pass.highest.max(latest);
            walking.pass.has_records |= page.mapped.records > 0;
            let owed = page.mapped.parents.len();
            if owed > MAX_ROWS_OWED {
                let limit = LimitMet::Rows(MAX_ROWS_OWED);
                return Err(PollError::Limit { place: asking.place(walking.walk.pages()), limit });
            }
        }
        if walking.walk.is_over() {
            return Ok(self.finish(walking, page));
        }
        let Some(mut page) = page else { return Ok(Stage::Walking(Box::new(walking))) };
        self.text.pass =
            walking.walk.to_keep(&self.reader.client).map(|walk| PassText { walk, ..walking.pass.clone() });
        self.text.owed = std::mem::take(&mut page.mapped.parents);
        let came_at = page.came_at;
        let batch = self.own_batch(Some(page.mapped), None, came_at);
        self.ready.push_back(Step::Batch(Box::new(batch)));
        let then = Stage::Walking(Box::new(walking));
        Ok(if self.text.owed.is_empty() { then } else { self.rows(false, then) })
    }

    /// Notes what the first page says of the source's clock. Answers whether it was set back by so much that changes may
    /// be missed.
    fn note_clock(&mut self, pass: &mut PassText, page: &Page) -> bool {
        if let Some(asked_at_source) = page.asked_at_source {
            pass.began = asked_at_source;
            pass.is_dated = true;
        }
        pass.ahead_seconds = page.ahead.map(|ahead| ahead.num_seconds());
        if let Some(ahead) = page.ahead.filter(|ahead| ahead.abs() > CLOCK_OFF) {
            let is_said =
                self.report.notices.iter().any(|notice| matches!(notice, PollNotice::ClockOff { .. }));
            if !is_said {
                self.report.notices.push(PollNotice::ClockOff { ahead });
            }
        }
        let (Some(was), Some(is), Some(changes), Some(_)) =
            (self.text.ahead_seconds, pass.ahead_seconds, self.request.changes.as_ref(), pass.asked)
        else {
            return false;
        };
        let overlap = i64::try_from(changes.overlap.as_secs()).unwrap_or(i64::MAX);
        was.saturating_sub(is) > overlap
    }

    /// Ends a pass with its last page, where that was not handed out yet.
    fn finish(&mut self, walking: Walking, page: Option<Box<Page>>) -> Stage<'r> {
        let Walking { pass, walk, .. } = walking;
        self.report.passes += 1;
        self.report.count = walk.source_count();
        let (has_moved, is_restless) = (walk.has_moved(), walk.is_restless());
        let lacks = self.report.count.is_some_and(|count| count.lacks());
        let is_calm = !has_moved && !is_restless && !lacks;
        self.text.pass = None;
        let mut reached = None;
        if !is_restless && !lacks {
            reached = latest_change(&pass, self.text.latest)
                .filter(|_| self.request.changes.is_some())
                .map(|since| Reached { since, ahead_seconds: pass.ahead_seconds });
            self.text.latest = self.text.latest.max(pass.highest);
        }
        self.text.unchanged =
            walk.kept_pages(&self.reader.client).filter(|_| is_calm).map(|pages| (pass.asked, pages));
        if is_calm {
            self.read_up_to = Some(pass.began);
        }
        let everything = (is_calm && pass.asked.is_none()).then_some(pass.began_here);
        let has_rows_asked = !self.reader.asked_for_rows_of(self.request).is_empty();
        if has_rows_asked {
            let read_up_to = is_calm.then_some(pass.began);
            self.text.closing = Some(Closing { read_up_to, reached, everything_since: everything });
        } else if let Some(reached) = reached {
            self.text.reach(reached);
        }
        let (came_at, mapped) = match page {
            Some(page) => (page.came_at, Some(page.mapped)),
            None => (self.now(), None),
        };
        let mapped = mapped.map(|mut mapped| {
            self.text.owed = std::mem::take(&mut mapped.parents);
            mapped
        });
        let everything = everything.filter(|_| self.request.brings_what_can_go());
        let batch = self.own_batch(mapped, everything, came_at);
        self.ready.push_back(Step::Batch(Box::new(batch)));
        let follows = has_moved && !is_restless && self.report.passes <= FOLLOW_UPS;
        if (has_moved || is_restless) && !follows {
            self.report.notices.push(PollNotice::KeptMoving);
        }
        let then = if follows { Stage::Beginning } else { Stage::Ended };
        if has_rows_asked { self.rows(false, then) } else { then }
    }

    /// Asks for the rows that are owed.
    fn rows(&self, is_resumed: bool, then: Stage<'r>) -> Stage<'r> {
        let mut queue = VecDeque::new();
        for row in &self.text.owed {
            queue.extend(self.asked_for(self.request, row));
        }
        Stage::Rows(Box::new(Rows { queue, asked: BTreeMap::new(), is_resumed, then }))
    }

    /// What is to be asked for a row that a request brought.
    fn asked_for(&self, request: &'r Request, row: &ParentRow) -> Vec<(&'r Request, ParentRow)> {
        let asked = self.reader.asked_for_rows_of(request).into_iter();
        asked
            .filter(|child| child.for_each() == Some(row.table()))
            .map(|child| (child, row.clone()))
            .collect()
    }

    /// Asks for one row, or closes where all are done.
    async fn row(&mut self, mut rows: Rows<'r>) -> Result<Stage<'r>, PollError> {
        let Some((request, row)) = rows.queue.pop_front() else {
            self.rows_done(&rows);
            return Ok(rows.then);
        };
        let asking = Asking { reader: self.reader, request, row: Some(&row), since: None, take: None };
        let (asked, gone) = rows.asked.entry(&request.name).or_default();
        *asked += 1;
        let (mapped, is_whole) = match all_pages(&asking).await {
            Ok(came) => came,
            Err(PollError::Refused { place, status: status @ (404 | 410) }) => {
                *gone += 1;
                if status == 404 {
                    self.text.note_amiss(request, &row);
                }
                let is_last = rows.queue.iter().all(|(other, _)| other.name != request.name);
                if is_last && gone == asked && *asked >= TOO_MANY_GONE {
                    if rows.is_resumed {
                        return Ok(self.begin_anew());
                    }
                    return Err(PollError::Refused { place, status });
                }
                return Ok(Stage::Rows(Box::new(rows)));
            }
            Err(error) => return Err(error),
        };
        if !is_whole {
            self.text.note_amiss(request, &row);
            self.note_rows(&request.name, 1, |request, count| PollNotice::RowsNotWhole { request, count });
        }
        for further in mapped.parents.iter().rev().flat_map(|row| self.asked_for(request, row)) {
            rows.queue.push_front(further);
        }
        let read_up_to = self.marks.get(&request.name).and_then(|mark| mark.read_up_to);
        let batch = self.batch_of_rows(request, Some(mapped), read_up_to, None);
        self.ready.push_back(Step::Batch(Box::new(batch)));
        Ok(Stage::Rows(Box::new(rows)))
    }

    /// Rows that were owed may all have gone since, and then the source does not bring them any more.
    fn begin_anew(&mut self) -> Stage<'r> {
        self.text.owed.clear();
        self.text.closing = None;
        self.text.pass = None;
        Stage::Beginning
    }

    /// Notes in the marks that no row is owed any more.
    fn rows_done(&mut self, rows: &Rows<'r>) {
        for (request, (_, gone)) in &rows.asked {
            if *gone > 0 {
                self.note_rows(request, *gone, |request, count| PollNotice::RowsGone { request, count });
            }
        }
        self.text.owed.clear();
        let closing = self.text.closing.take();
        if let Some(closing) = closing.filter(|_| self.text.settle()) {
            if let Some(reached) = closing.reached {
                self.text.reach(reached);
            }
            for request in self.reader.descendants(self.request) {
                let Some(read_up_to) = closing.read_up_to else { continue };
                let (read_up_to, is_alone) = self.with_others(request, read_up_to);
                let everything =
                    closing.everything_since.filter(|_| is_alone && request.brings_what_can_go());
                let batch = self.batch_of_rows(request, None, read_up_to, everything);
                self.ready.push_back(Step::Batch(Box::new(batch)));
            }
        }
        if closing.is_some() || !matches!(rows.then, Stage::Walking(_)) {
            let batch = self.own_batch(None, None, self.now());
            self.ready.push_back(Step::Batch(Box::new(batch)));
        }
    }

    /// Up to when a request for rows is read where others bring such rows too, and whether none does.
    fn with_others(&self, request: &Request, read_up_to: DateTime<Utc>) -> (Option<DateTime<Utc>>, bool) {
        let table = request.for_each();
        let own = [self.request].into_iter().chain(self.reader.descendants(self.request));
        let own: Vec<&str> = own.map(|own| own.name.as_str()).collect();
        let mut others = self.reader.service.requests.iter().filter(|other| {
            !own.contains(&other.name.as_str()) && other.tables().any(|brings| Some(brings) == table)
        });
        let mut is_alone = true;
        let earliest = others.try_fold(read_up_to, |earliest, other| {
            is_alone = false;
            let read = self.marks.get(&other.name).and_then(|mark| mark.read_up_to)?;
            Some(earliest.min(read))
        });
        (earliest, is_alone)
    }

    /// Adds to a notice of rows, or makes it.
    fn note_rows(&mut self, name: &str, more: u64, notice: fn(String, u64) -> PollNotice) {
        let mut so_far = 0;
        self.report.notices.retain(|known| match known {
            PollNotice::RowsGone { count, .. } | PollNotice::RowsNotWhole { count, .. }
                if *known == notice(name.to_owned(), *count) =>
            {
                so_far = *count;
                false
            }
            _ => true,
        });
        self.report.notices.push(notice(name.to_owned(), so_far + more));
    }

    /// A batch of the request itself, with the mark as it is now.
    fn own_batch(
        &self,
        mapped: Option<Mapped>,
        everything_since: Option<DateTime<Utc>>,
        came_at: DateTime<Utc>,
    ) -> Batch {
        let (rows, whole) = mapped.map_or_else(Default::default, |mapped| (mapped.rows, mapped.whole));
        Batch {
            shop: self.reader.shop.clone(),
            source: self.reader.source.clone(),
            request: self.request.name.clone(),
            rows,
            whole,
            everything_since,
            mark: Mark { text: self.text.written(), read_up_to: self.read_up_to },
            seen_at: came_at.max(self.not_before),
            source_time: self.ahead.and_then(|ahead| came_at.checked_add_signed(ahead)),
        }
    }

    /// A batch of a request that is asked for rows.
    fn batch_of_rows(
        &self,
        request: &Request,
        mapped: Option<Mapped>,
        read_up_to: Option<DateTime<Utc>>,
        everything_since: Option<DateTime<Utc>>,
    ) -> Batch {
        let batch = self.own_batch(mapped, everything_since, self.now());
        let mark = Mark { text: MARK_OF_ROWS.to_owned(), read_up_to };
        Batch { request: request.name.clone(), mark, ..batch }
    }
}

/// Whether the pages of the last pass have changed.
enum Looked {
    Unchanged { asked_at_source: Option<DateTime<Utc>> },
    Changed { first: Option<Box<Page>> },
}

/// All pages of a request for one row, as one, and whether nothing can have been passed over.
async fn all_pages(asking: &Asking<'_>) -> Result<(Mapped, bool), PollError> {
    let mut walk = Walk::new(asking, None);
    let mut all: Option<Mapped> = None;
    while let Turn::Page(page) = walk.turn(asking).await? {
        match &mut all {
            Some(all) => all.join(page.mapped),
            None => all = Some(page.mapped),
        }
    }
    let mut all = all.unwrap_or_else(|| Mapped {
        rows: Book::default(),
        whole: Vec::new(),
        parents: Vec::new(),
        latest: None,
        records: 0,
        source_count: None,
        next: None,
    });
    let is_whole = !walk.is_restless() && walk.source_count().is_none_or(|count| !count.lacks());
    if !is_whole {
        all.whole.clear();
    }
    Ok((all, is_whole))
}

/// The moment up to which a pass that is over knows of all changes by its records. `before` is the latest change of those
/// before it.
///
/// A page may have changed behind whoever reads the next ones. Where the source does not give its time, what is surely not
/// later than the beginning of the pass is what was known then, or stood on its first page.
fn latest_change(pass: &PassText, before: Option<DateTime<Utc>>) -> Option<DateTime<Utc>> {
    let latest = match pass.highest {
        Some(highest) if pass.is_dated => highest.min(pass.began),
        Some(highest) => highest.min(pass.began).min(before.max(pass.highest_of_first)?),
        None if pass.has_records && pass.is_dated => pass.began,
        None => return None,
    };
    Some(latest.trunc_subsecs(0))
}

/// Whether another place to go on from may give another answer.
fn is_of_the_place(error: &PollError) -> bool {
    match error {
        // These are said by what stands in front of a source, or of all that it is asked.
        PollError::Unreachable { trouble: Trouble::Busy { status, .. }, .. } => {
            !matches!(status, 408 | 429 | 502 | 503 | 504)
        }
        PollError::Limit { limit, .. } => matches!(limit, LimitMet::Pages(_)),
        PollError::Unreachable { .. } | PollError::SignIn { .. } => false,
        _ => true,
    }
}
