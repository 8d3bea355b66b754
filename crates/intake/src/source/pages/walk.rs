//! From page to page.
//!
//! Must not know what a page is kept as. Start reading at [`Walk::turn`]; the rules stand in `pages`.

use std::collections::HashSet;

use serde::{Deserialize, Serialize};

use super::asking::{Asking, Fetched, Page};
use super::keys::{Record, are_the_same, shared};
use super::position::Position;
use super::{ALL_STEPS_BACK, BEGUN_ANEW, SETTLING, STEPS_BACK};
use crate::source::declare::{Next, Request};
use crate::source::http::{Client, Validators};
use crate::source::poll::error::{LimitMet, PollError};

/// The largest page whose records are kept, so that an interrupted walk can go on behind it: 40 KB. Behind a larger one the
/// walk begins anew.
const KEPT_RECORDS: usize = 1_000;

/// Walks of more pages are not asked whether they have changed: what tells it would fill the mark.
const KEPT_PAGES: usize = 50;

/// So many pages in turn may bring nothing but what the one before had.
const REPEATS: u32 = 3;

/// Where one is among the pages, as it can be kept and taken up again.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(crate) struct Walked {
    /// `None`: all is read.
    next: Option<Position>,
    /// The page that was taken last.
    before: Option<Before>,
    /// How many pages were taken, each counted once.
    pages: u64,
    /// Whether records were seen to move from page to page.
    moved: bool,
    /// Whether records may have been passed over.
    restless: bool,
    begun_anew: u32,
    /// What tells whether the pages have changed; `None` where that cannot be told.
    kept: Option<KeptPages>,
    /// `None` where nothing is counted.
    count: Option<Counted>,
}

/// How many records the source says there are, and how many were read.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
struct Counted {
    records: u64,
    first_said: Option<u64>,
    last_said: Option<u64>,
}

#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
struct Before {
    position: Position,
    records: Vec<Record>,
}

/// The pages of a walk, each with what tells whether it has changed.
pub(crate) type KeptPages = Vec<(Position, Validators)>;

/// A walk over all pages.
#[derive(Debug)]
pub(crate) struct Walk {
    at: Walked,
    most_pages: u64,
    /// How often the page that was taken last was taken again.
    settling: u32,
    steps_back: u32,
    /// Over the whole walk.
    all_steps_back: u32,
    repeats: u32,
    seen: HashSet<Position>,
    /// The keys of the records that were counted; of an interrupted walk those of its last page.
    counted: HashSet<u64>,
    is_resumed: bool,
    /// A first page that was fetched already.
    at_hand: Option<Box<Page>>,
}

/// How many records there are, as the source says, and how many were read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SourceCount {
    /// As the first page says.
    pub said_first: u64,
    /// As the last page says.
    pub said_last: u64,
    /// Records read, each once.
    pub read: u64,
}

impl SourceCount {
    /// Whether as many were read as the source says there are, or, where that changed meanwhile, a number between.
    pub fn agrees(&self) -> bool {
        let (low, high) = (self.said_first.min(self.said_last), self.said_first.max(self.said_last));
        (low..=high).contains(&self.read)
    }

    /// Whether fewer were read than there are.
    pub fn lacks(&self) -> bool {
        self.read < self.said_first.min(self.said_last)
    }
}

/// What a turn brought.
#[derive(Debug)]
pub(crate) enum Turn {
    Page(Box<Page>),
    /// There is no further page.
    Over,
}

impl Walk {
    /// From the first page on; `at_hand` is that page, where it was fetched already.
    pub(crate) fn new(asking: &Asking<'_>, at_hand: Option<Box<Page>>) -> Self {
        let at = Walked {
            next: Some(asking.first()),
            before: None,
            pages: 0,
            moved: false,
            restless: false,
            begun_anew: 0,
            // The header line with the next page does not show in what tells whether the page has changed.
            kept: (!matches!(asking.request.pages.next, Next::Link)).then(Vec::new),
            count: asking.request.count.is_some().then(Counted::default),
        };
        Self { at_hand, is_resumed: false, ..Self::resumed(asking, at) }
    }

    /// From where an earlier walk was.
    pub(crate) fn resumed(asking: &Asking<'_>, at: Walked) -> Self {
        let limits = asking.reader.client.limits();
        let most_pages = if asking.row.is_some() { limits.pages_of_row } else { limits.pages };
        let last = at.before.iter().flat_map(|before| &before.records);
        Self {
            counted: last.map(|(key, _)| *key).collect(),
            is_resumed: true,
            at,
            most_pages,
            settling: 0,
            steps_back: 0,
            all_steps_back: 0,
            repeats: 0,
            seen: HashSet::new(),
            at_hand: None,
        }
    }

    /// Where it is.
    pub(crate) fn walked(&self) -> Walked {
        self.at.clone()
    }

    /// Where it is, to be kept; `None` where it cannot be taken up again.
    pub(crate) fn to_keep(&self, client: &Client) -> Option<Walked> {
        let is_small = self.at.before.as_ref().is_none_or(|before| before.records.len() <= KEPT_RECORDS);
        let before = self.at.before.iter().map(|before| &before.position);
        let given = self.at.next.iter().chain(before).filter_map(Position::given);
        let is_open = given.into_iter().all(|text| !client.is_told_by(text));
        (is_small && is_open).then(|| self.at.clone())
    }

    /// Whether all is read.
    pub(crate) fn is_over(&self) -> bool {
        self.at.next.is_none()
    }

    /// Whether records were seen to move from page to page.
    pub(crate) fn has_moved(&self) -> bool {
        self.at.moved
    }

    /// Whether records may have been passed over.
    pub(crate) fn is_restless(&self) -> bool {
        self.at.restless
    }

    /// The number of the page that was taken last, from 1.
    pub(crate) fn pages(&self) -> u64 {
        self.at.pages
    }

    /// The counts, where the source says one. Not where records moved after an interruption: which were counted before is
    /// not known then.
    pub(crate) fn source_count(&self) -> Option<SourceCount> {
        let is_sure = !self.is_resumed || !self.at.moved;
        let Counted { records, first_said, last_said } = self.at.count.filter(|_| is_sure)?;
        Some(SourceCount { said_first: first_said?, said_last: last_said?, read: records })
    }

    /// The pages, where it can be told whether they have changed; of a walk that is over.
    pub(crate) fn kept_pages(&self, client: &Client) -> Option<KeptPages> {
        let is_quiet = !self.at.moved && !self.at.restless;
        let pages = self.at.kept.clone().filter(|pages| is_quiet && !pages.is_empty())?;
        let is_open = |text: &str| !client.is_told_by(text);
        let are_open = pages
            .iter()
            .all(|(at, validators)| at.given().is_none_or(is_open) && validators.given().all(is_open));
        are_open.then_some(pages)
    }

    /// Takes the next page.
    ///
    /// # Errors
    /// [`PollError`]; the walk is not to be used any further then.
    pub(crate) async fn turn(&mut self, asking: &Asking<'_>) -> Result<Turn, PollError> {
        match asking.request.pages.next {
            Next::Offset { .. } if !self.is_alone() => self.overlapping(asking).await,
            Next::Offset { .. } => self.following(asking, true).await,
            Next::None | Next::Cursor { .. } => self.following(asking, false).await,
            Next::Link | Next::Url { .. } | Next::Number { .. } => self.following(asking, true).await,
        }
    }

    /// Whether the page that was taken last has one record alone: the next one cannot begin with it and lead on.
    fn is_alone(&self) -> bool {
        self.at.before.as_ref().is_some_and(|before| before.records.len() == 1)
    }

    /// The next page of those that follow each other; where `is_checked`, the one before is asked again.
    async fn following(&mut self, asking: &Asking<'_>, is_checked: bool) -> Result<Turn, PollError> {
        loop {
            let Some(position) = self.at.next.clone() else { return Ok(Turn::Over) };
            let page = self.fetch(asking, &position, self.at.pages + 1).await?;
            // An empty page behind others ends those that are known by number or offset.
            let is_counted = matches!(position, Position::Number(_) | Position::Offset(_));
            let is_end =
                page.as_ref().is_none_or(|page| page.mapped.records == 0 && is_counted && self.at.pages > 0);
            let last = page.as_ref().map(|page| page.validators.clone());
            if let Some(before) = self.at.before.clone().filter(|_| is_checked) {
                let again = self.fetch(asking, &before.position, self.at.pages).await?;
                match again {
                    Some(again) if are_the_same(&again.records, &before.records) => {}
                    again => {
                        self.at.moved = true;
                        let leads_on = again.filter(|again| {
                            before.records.is_empty() || shared(&again.records, &before.records) > 0
                        });
                        match leads_on {
                            Some(again) if self.settling < SETTLING => {
                                self.settling += 1;
                                return self.take(asking, before.position, again, true);
                            }
                            None if self.at.begun_anew < BEGUN_ANEW => {
                                self.begin_anew(asking);
                                continue;
                            }
                            _ => self.at.restless = true,
                        }
                    }
                }
            }
            let Some(page) = page.filter(|_| !is_end) else {
                self.at.next = None;
                // A page that is not there offers nothing to tell by.
                self.keep_page(position, last.unwrap_or_default());
                return Ok(Turn::Over);
            };
            let before = self.at.before.as_ref();
            let is_same = before.is_some_and(|before| are_the_same(&before.records, &page.records));
            if is_same && !page.records.is_empty() {
                return Err(PollError::Repeats { place: asking.place(self.at.pages + 1) });
            }
            return self.take(asking, position, page, false);
        }
    }

    /// The next page of those that begin with the last record of the one before.
    async fn overlapping(&mut self, asking: &Asking<'_>) -> Result<Turn, PollError> {
        let step = size_of(asking.request).saturating_sub(1).max(1);
        loop {
            let Some(position) = self.at.next.clone() else { return Ok(Turn::Over) };
            let Position::Offset(start) = position else { return Ok(Turn::Over) };
            let number = self.at.pages + 1;
            let page = self.fetch(asking, &position, number).await?;
            let Some(before) = self.at.before.clone() else {
                let Some(page) = page else { return Ok(Turn::Over) };
                return self.take(asking, position, page, false);
            };
            let records = page.as_ref().map_or(&[][..], |page| &page.records);
            let common = shared(records, &before.records);
            if common > 1 {
                self.at.moved = true;
            }
            if common == 0 && start > 0 && !self.at.restless {
                self.at.moved = true;
                self.steps_back += 1;
                self.all_steps_back += 1;
                let is_far = self.steps_back > STEPS_BACK;
                if self.all_steps_back > ALL_STEPS_BACK || (is_far && self.at.begun_anew >= BEGUN_ANEW) {
                    self.at.restless = true;
                } else if is_far {
                    self.begin_anew(asking);
                    continue;
                } else {
                    self.at.next = Some(Position::Offset(start.saturating_sub(step)));
                    continue;
                }
            }
            // At the very beginning nothing can have been passed over.
            if common == 0 && !before.records.is_empty() {
                self.at.moved = true;
            }
            self.steps_back = 0;
            let Some(page) = page.filter(|page| page.mapped.records > 0) else {
                self.at.next = None;
                return Ok(Turn::Over);
            };
            let is_repeated = common == page.records.len();
            if page.mapped.records == 1 && is_repeated {
                self.at.next = None;
                self.keep_page(position, page.validators);
                self.count_said(page.source_count);
                return Ok(Turn::Over);
            }
            self.repeats = if is_repeated { self.repeats + 1 } else { 0 };
            if self.repeats > REPEATS {
                return Err(PollError::Repeats { place: asking.place(number) });
            }
            return self.take(asking, position, page, false);
        }
    }

    /// `None`: the page is not there.
    async fn fetch(
        &mut self,
        asking: &Asking<'_>,
        position: &Position,
        number: u64,
    ) -> Result<Option<Box<Page>>, PollError> {
        if number > self.most_pages {
            let limit = LimitMet::Pages(self.most_pages);
            return Err(PollError::Limit { place: asking.place(number), limit });
        }
        if let Some(page) = self.at_hand.take() {
            return Ok(Some(page));
        }
        match asking.page(position, number, &Validators::default()).await? {
            Fetched::Page(page) => Ok(Some(page)),
            Fetched::NotThere | Fetched::Unchanged { .. } => Ok(None),
        }
    }

    /// Takes a page; `again` where it is the one that was taken last.
    fn take(
        &mut self,
        asking: &Asking<'_>,
        position: Position,
        page: Box<Page>,
        again: bool,
    ) -> Result<Turn, PollError> {
        if !again {
            self.at.pages += 1;
            self.settling = 0;
        }
        self.seen.insert(position.clone());
        // Offsets and numbers grow by themselves.
        if page.next.as_ref().is_some_and(|next| next.given().is_some() && self.seen.contains(next)) {
            return Err(PollError::Repeats { place: asking.place(self.at.pages) });
        }
        if let Some(count) = &mut self.at.count {
            let new = page.records.iter().filter(|(key, _)| self.counted.insert(*key)).count();
            // What a page has twice it has twice in the count of the source too.
            let twice = if again { 0 } else { page.mapped.records.saturating_sub(page.records.len()) };
            count.records += (new + twice) as u64;
        }
        self.count_said(page.source_count);
        self.keep_page(position.clone(), page.validators.clone());
        self.at.next = page.next.clone();
        self.at.before = Some(Before { position, records: page.records.clone() });
        Ok(Turn::Page(page))
    }

    fn count_said(&mut self, said: Option<u64>) {
        if let Some((count, said)) = self.at.count.as_mut().zip(said) {
            count.first_said.get_or_insert(said);
            count.last_said = Some(said);
        }
    }

    fn keep_page(&mut self, position: Position, validators: Validators) {
        match &mut self.at.kept {
            Some(kept) if kept.len() < KEPT_PAGES && !validators.is_empty() => {
                kept.push((position, validators))
            }
            _ => self.at.kept = None,
        }
    }

    fn begin_anew(&mut self, asking: &Asking<'_>) {
        let (begun_anew, all_steps_back) = (self.at.begun_anew + 1, self.all_steps_back);
        *self = Self { all_steps_back, ..Self::new(asking, None) };
        self.at.moved = true;
        self.at.begun_anew = begun_anew;
    }
}

/// How many records a page is asked to have.
fn size_of(request: &Request) -> u64 {
    request.pages.size.as_ref().map_or(u64::MAX, |(_, size)| u64::from(size.get()))
}
