//! One page: its address, its answer, its rows.
//!
//! Must not know which page is asked for, or why. Start reading at [`Asking::page`].

use chrono::{DateTime, TimeDelta, Utc};
use url::Url;

use super::keys::{self, Record};
use super::position::Position;
use crate::bad_row::shown;
use crate::source::declare::{Count, FromRecord, Next, Request, key_columns};
use crate::source::http::{Answer, Json, Trouble, Validators};
use crate::source::mapping::{Mapped, ParentRow, Sight};
use crate::source::poll::Reader;
use crate::source::poll::error::{Changed, Place, PollError};

/// The longest cursor or address of a next page: it is kept in the mark, and all of a pass in memory. Servers take lines of
/// about as much (common practice, no published source).
const MAX_NEXT_BYTES: usize = 8 * 1024;

/// What is asked for over all pages.
#[derive(Clone, Copy)]
pub(crate) struct Asking<'a> {
    pub(crate) reader: &'a Reader,
    pub(crate) request: &'a Request,
    /// The row for which it is asked.
    pub(crate) row: Option<&'a ParentRow>,
    /// What has changed from then on; `None`: all.
    pub(crate) since: Option<DateTime<Utc>>,
    /// Where each record of an offer is to be looked at by itself: what is taken from it.
    pub(crate) take: Option<&'a [(String, FromRecord)]>,
}

/// What one page brought.
#[derive(Debug)]
pub(crate) struct Page {
    pub(crate) mapped: Mapped,
    /// The records of offers, where each is looked at by itself.
    pub(crate) sights: Vec<Sight>,
    /// The records of the first table, sorted.
    pub(crate) records: Vec<Record>,
    pub(crate) next: Option<Position>,
    /// How many records there are over all pages, as the source says.
    pub(crate) source_count: Option<u64>,
    pub(crate) validators: Validators,
    /// When the page was asked, by the clock of the source.
    pub(crate) asked_at_source: Option<DateTime<Utc>>,
    pub(crate) ahead: Option<TimeDelta>,
    pub(crate) came_at: DateTime<Utc>,
}

/// What came of asking for a page.
#[derive(Debug)]
pub(crate) enum Fetched {
    Page(Box<Page>),
    /// There is no page of this number.
    NotThere,
    /// The page is what it was.
    Unchanged {
        asked_at_source: Option<DateTime<Utc>>,
    },
}

impl<'a> Asking<'a> {
    /// Fetches a page, which is said to be of this number.
    pub(crate) async fn page(
        &self,
        position: &Position,
        number: u64,
        validators: &Validators,
    ) -> Result<Fetched, PollError> {
        let url = self.url(position, number)?;
        match self.reader.client.get(&url, validators).await {
            Ok(Answer::Unchanged { .. }) if validators.is_empty() => {
                Err(PollError::Refused { place: self.place(number), status: 304 })
            }
            Ok(Answer::Unchanged { asked_at_source }) => Ok(Fetched::Unchanged { asked_at_source }),
            Ok(Answer::Json(json)) => {
                self.read_as(&json, position, number).map(|page| Fetched::Page(Box::new(page)))
            }
            Err(Trouble::Refused { status }) if self.may_be_behind_the_last(position, status) => {
                Ok(Fetched::NotThere)
            }
            Err(trouble) => Err(PollError::of(self.place(number), trouble)),
        }
    }

    /// Reads an answer as the page that was asked for.
    pub(crate) fn read_as(&self, json: &Json, position: &Position, number: u64) -> Result<Page, PollError> {
        let place = || self.place(number);
        self.read(json, position).map_err(|not| match not {
            NotRead::Changed(changed) => PollError::Changed { place: place(), changed },
            NotRead::Elsewhere(origin) => PollError::Elsewhere { place: place(), origin },
        })
    }

    /// Where an error is.
    pub(crate) fn place(&self, page: u64) -> Place {
        let row = self.row.zip(self.request.for_each).map(|(row, table)| {
            let columns = key_columns(table).iter().map(|column| column.name());
            let known = columns
                .filter(|column| *column != "supplier")
                .filter_map(|column| Some(format!("{column} {}", shown(row.get(column)?))));
            known.collect::<Vec<_>>().join(", ")
        });
        Place { source: self.reader.source.clone(), request: self.request.name.clone(), row, page }
    }

    /// Where the first page is.
    pub(crate) fn first(&self) -> Position {
        match &self.request.pages.next {
            Next::None | Next::Link | Next::Url { .. } | Next::Cursor { .. } => Position::First,
            Next::Number { first, .. } => Position::Number(u64::from(*first)),
            Next::Offset { .. } => Position::Offset(0),
        }
    }

    fn may_be_behind_the_last(&self, position: &Position, status: u16) -> bool {
        let says_so = match position {
            Position::Number(_) => status == 404,
            // Some take an offset behind the last record for a mistake of whoever asks.
            Position::Offset(_) => matches!(status, 400 | 404 | 416 | 422),
            Position::First | Position::Address(_) | Position::Cursor(_) => false,
        };
        says_so && *position != self.first()
    }

    pub(crate) fn url(&self, position: &Position, number: u64) -> Result<Url, PollError> {
        if let Position::Address(address) = position {
            return Url::parse(address).map_err(|_| PollError::Changed {
                place: self.place(number),
                changed: Changed::NextAddress,
            });
        }
        let mut url = self.reader.service.url(self.request, self.row).map_err(|no_address| {
            PollError::NoAddress { place: self.place(number), no_address: Box::new(no_address) }
        })?;
        let mut add = |name: &str, value: &str| {
            url.query_pairs_mut().append_pair(name, value);
        };
        if let Some((changes, since)) = self.request.changes.as_ref().zip(self.since) {
            add(&changes.ask, &changes.written(since));
        }
        let pages = &self.request.pages;
        if let Some((name, size)) = &pages.size {
            add(name, &size.to_string());
        }
        match (&pages.next, position) {
            (Next::Cursor { ask, .. }, Position::Cursor(cursor)) => add(ask, cursor),
            (Next::Number { ask, .. }, Position::Number(number)) => add(ask, &number.to_string()),
            (Next::Offset { ask }, Position::Offset(offset)) => add(ask, &offset.to_string()),
            _ => {}
        }
        Ok(url)
    }

    fn read(&self, json: &Json, position: &Position) -> Result<Page, NotRead> {
        let key = &self.reader.digest_key;
        let read = match self.take {
            Some(take) => self.request.sights(&json.body, self.row, key, take),
            None => self.request.rows(&json.body, self.row, key).map(|mapped| (mapped, Vec::new())),
        };
        let (mapped, sights) = read.map_err(Changed::Misfit)?;
        let first_table = self.request.tables.first().map(|mapping| mapping.table);
        let records = first_table.map(|table| keys::of(table, &mapped.rows)).unwrap_or_default();
        let next = match (&self.request.pages.next, position) {
            (Next::None, _) => None,
            (Next::Link, _) => {
                json.next_link().map_err(Changed::Link)?.map(|next| self.own(next)).transpose()?
            }
            (Next::Url { .. }, _) => {
                let next = mapped.next.as_deref().map(|next| json.address.join(next)).transpose();
                next.map_err(|_| Changed::NextAddress)?.map(|next| self.own(next)).transpose()?
            }
            (Next::Cursor { .. }, _) => mapped.next.clone().map(Position::Cursor),
            (Next::Number { .. }, Position::Number(number)) if mapped.records > 0 => {
                Some(Position::Number(number + 1))
            }
            (Next::Offset { .. }, Position::Offset(offset)) if mapped.records > 0 => {
                // One record less, so that the next page begins with the last of this one, where that leads on.
                Some(Position::Offset(offset + (mapped.records as u64 - 1).max(1)))
            }
            (Next::Number { .. } | Next::Offset { .. }, _) => None,
        };
        if next.as_ref().and_then(Position::given).is_some_and(|next| next.len() > MAX_NEXT_BYTES) {
            return Err(Changed::NextTooLong { limit: MAX_NEXT_BYTES }.into());
        }
        let source_count = match &self.request.count {
            Some(Count::Header(header)) => {
                let value = json.header(header).map(|value| value.trim().parse());
                value.transpose().map_err(|_| Changed::Count { header: header.clone() })?
            }
            Some(Count::At(_)) | None => mapped.source_count,
        };
        Ok(Page {
            mapped,
            sights,
            records,
            next,
            source_count,
            validators: json.validators.clone(),
            asked_at_source: json.asked_at_source,
            ahead: json.ahead,
            came_at: json.came_at,
        })
    }

    /// An address that the source gave, where it is on its own origin.
    fn own(&self, mut next: Url) -> Result<Position, NotRead> {
        if !self.reader.client.is_own(&next) {
            return Err(NotRead::Elsewhere(next.origin().ascii_serialization()));
        }
        // A sign-in in an address would go before that of the source.
        let plain = next.set_username("").and_then(|()| next.set_password(None));
        plain.map_err(|()| Changed::NextAddress)?;
        next.set_fragment(None);
        Ok(Position::Address(next.into()))
    }
}

/// Why an answer is no page.
enum NotRead {
    Changed(Changed),
    Elsewhere(String),
}

impl From<Changed> for NotRead {
    fn from(changed: Changed) -> Self {
        Self::Changed(changed)
    }
}
