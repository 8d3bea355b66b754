//! From page to page.
//!
//! Must not know what a page is kept as. Start reading at [`Walk::turn`]; the rules stand in `pages`.

use std::collections::HashSet;

use serde::{Deserialize, Serialize};

use super::asking::{Asking, Fetched, Page};
use super::keys::shared;
use super::position::Position;
use super::{ALL_STEPS_BACK, BEGUN_ANEW, SETTLING, STEPS_BACK};
use crate::source::declare::{Next, Request};
use crate::source::http::{Client, Validators};
use crate::source::poll::error::{LimitMet, PollError};

/// The largest page whose keys are kept, so that an interrupted walk can go on behind it: 20 KB. Behind a larger one the
/// walk begins anew.
const KEPT_KEYS: usize = 1_000;

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
}

#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
struct Before {
    position: Position,
    keys: Vec<u64>,
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
    /// `None` where the walk is the rest of an interrupted one, or nothing is counted.
    count: Option<Counting>,
    /// A first page that was fetched already.
    at_hand: Option<Box<Page>>,
}

#[derive(Default, Debug)]
struct Counting {
    keys: HashSet<u64>,
    records: u64,
    first_said: Option<u64>,
    last_said: Option<u64>,
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
        };
        let count = asking.request.count.is_some().then(Counting::default);
        Self { at_hand, count, ..Self::resumed(asking, at) }
    }

    /// From where an earlier walk was.
    pub(crate) fn resumed(asking: &Asking<'_>, at: Walked) -> Self {
        let limits = asking.reader.client.limits();
        let most_pages = if asking.row.is_some() { limits.pages_of_row } else { limits.pages };
        Self {
            at,
            most_pages,
            settling: 0,
            steps_back: 0,
            all_steps_back: 0,
            repeats: 0,
            seen: HashSet::new(),
            count: None,
            at_hand: None,
        }
    }

    /// Where it is.
    pub(crate) fn walked(&self) -> Walked {
        self.at.clone()
    }

    /// Where it is, to be kept; `None` where it cannot be taken up again.
    pub(crate) fn to_keep(&self, client: &Client) -> Option<Walked> {
        let is_small = self.at.before.as_ref().is_none_or(|before| before.keys.len() <= KEPT_KEYS);
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

    /// The counts, where the source says one and the walk was not interrupted.
    pub(crate) fn source_count(&self) -> Option<SourceCount> {
        let Counting { records, first_said, last_said, .. } = self.count.as_ref()?;
        Some(SourceCount { said_first: (*first_said)?, said_last: (*last_said)?, read: *records })
    }

    /// The pages, where it can be told whether they have changed; of a walk that is over.
    pub(crate) fn kept_pages(&self, client: &Client) -> Option<KeptPages> {
        let is_quiet = !self.at.moved && !self.at.restless;
        let pages = self.at.kept.clone().filter(|pages| is_quiet && !pages.is_empty())?;
        let is_open = pages.iter().filter_map(|(at, _)| at.given()).all(|text| !client.is_told_by(text));
        is_open.then_some(pages)
    }

    /// Takes the next page.
    ///
    /// # Errors
    /// [`PollError`]; the walk is not to be used any further then.
    pub(crate) async fn turn(&mut self, asking: &Asking<'_>) -> Result<Turn, PollError> {
        match asking.request.pages.next {
            Next::Offset { .. } => self.overlapping(asking).await,
            Next::None | Next::Cursor { .. } => self.following(asking, false).await,
            Next::Link | Next::Url { .. } | Next::Number { .. } => self.following(asking, true).await,
        }
    }

    /// The next page of those that follow each other; where `is_checked`, the one before is asked again.
    async fn following(&mut self, asking: &Asking<'_>, is_checked: bool) -> Result<Turn, PollError> {
        loop {
            let Some(position) = self.at.next.clone() else { return Ok(Turn::Over) };
            let page = self.fetch(asking, &position, self.at.pages + 1).await?;
            // An empty page behind others ends those that are known by number.
            let is_numbered = matches!(position, Position::Number(_));
            let is_end =
                page.as_ref().is_none_or(|page| page.mapped.records == 0 && is_numbered && self.at.pages > 0);
            let last = page.as_ref().map(|page| page.validators.clone());
            if let Some(before) = self.at.before.clone().filter(|_| is_checked) {
                let again = self.fetch(asking, &before.position, self.at.pages).await?;
                match again {
                    Some(again) if again.keys == before.keys => {}
                    again => {
                        self.at.moved = true;
                        let leads_on = again
                            .filter(|again| before.keys.is_empty() || shared(&again.keys, &before.keys) > 0);
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
            let is_same = self.at.before.as_ref().is_some_and(|before| before.keys == page.keys);
            if is_same && !page.keys.is_empty() {
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
            let Some(page) = self.fetch(asking, &position, number).await? else {
                self.at.next = None;
                return Ok(Turn::Over);
            };
            // Pages of one record have none to begin with.
            let before = self.at.before.clone().filter(|_| size_of(asking.request) > 1);
            let Some(before) = before else {
                if page.mapped.records == 0 && self.at.pages > 0 {
                    self.at.next = None;
                    return Ok(Turn::Over);
                }
                return self.take(asking, position, page, false);
            };
            let common = shared(&page.keys, &before.keys);
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
            if common == 0 && !before.keys.is_empty() {
                self.at.moved = true;
            }
            self.steps_back = 0;
            // One record alone has none behind it, whichever it is.
            if page.mapped.records == 1 && common == 0 {
                let turn = self.take(asking, position, page, false);
                self.at.next = None;
                return turn;
            }
            if common == page.keys.len() {
                if page.mapped.records <= 1 {
                    self.at.next = None;
                    self.keep_page(position, page.validators);
                    self.count_said(page.source_count);
                    return Ok(Turn::Over);
                }
                self.repeats += 1;
                if self.repeats > REPEATS {
                    return Err(PollError::Repeats { place: asking.place(number) });
                }
            } else {
                self.repeats = 0;
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
        if let Some(count) = &mut self.count {
            let known = page.keys.iter().filter(|key| !count.keys.insert(**key)).count();
            // What a page has twice it has twice in the count of the source too.
            let twice = if again { 0 } else { page.mapped.records.saturating_sub(page.keys.len()) };
            count.records += (page.keys.len() - known + twice) as u64;
        }
        self.count_said(page.source_count);
        self.keep_page(position.clone(), page.validators.clone());
        self.at.next = page.next.clone();
        self.at.before = Some(Before { position, keys: page.keys.clone() });
        Ok(Turn::Page(page))
    }

    fn count_said(&mut self, said: Option<u64>) {
        if let Some((count, said)) = self.count.as_mut().zip(said) {
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
