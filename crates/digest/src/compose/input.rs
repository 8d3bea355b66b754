//! What a digest is composed of.
//!
//! Must not know words. Start reading at [`Morning`].

use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use model::finding::Evidence;
use model::rates::Rates;
use model::{Check, Finding, ListingId, OrderId, Outcome, ShopId, SourceId, SubmissionId, SupplierId};

use super::pages::Pages;
use crate::urgency::standing_at;

/// A morning of one recipient.
#[derive(Clone, Debug)]
pub struct Morning {
    /// The day.
    pub day: NaiveDate,
    /// In which zone it is a day, and times are told.
    pub zone: Tz,
    /// When it is composed.
    pub now: DateTime<Utc>,
    /// The shops, at least one.
    pub shops: Vec<ShopMorning>,
    /// Where the pages are; an order's is at `/orders/ID`.
    pub pages: Option<Pages>,
    /// Earlier days, of which no digest went out, by day.
    pub taken_in: Vec<NaiveDate>,
    /// What could not be delivered, or waits to be.
    pub undelivered: Vec<Undelivered>,
    /// Whether the recipient asked for some findings only, so that others may stand.
    pub is_part: bool,
}

/// A shop on a morning.
#[derive(Clone, Debug)]
pub struct ShopMorning {
    /// Its name, where there are several.
    pub shop: Option<ShopId>,
    /// What was found, without what is set aside, and what was counted.
    pub outcome: Outcome,
    /// What is set aside.
    pub set_aside: Vec<Aside>,
    /// The findings that settled since the last digest.
    pub settled: Vec<Settled>,
    /// Its sources; all that it needs.
    pub sources: Vec<SourceRead>,
    /// How well it went, over the last weeks, the fewest first.
    pub measured: Vec<Measured>,
}

/// A finding that the owner put aside.
#[derive(Clone, Debug)]
pub struct Aside {
    /// The finding.
    pub finding: Finding,
    /// Why.
    pub note: String,
    /// Until when; `None`: until it is another than it was.
    pub until: Option<DateTime<Utc>>,
}

/// A finding that is no more.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Settled {
    /// The check.
    pub check: Check,
    /// The order that it was about.
    pub order_id: Option<OrderId>,
    /// The supplier order that it was about, and whose it is.
    pub submission_id: Option<SubmissionId>,
    /// See `submission_id`.
    pub supplier: Option<SupplierId>,
    /// The listing that it was about.
    pub listing_id: Option<ListingId>,
    /// The source that it was about.
    pub source: Option<SourceId>,
}

/// How far a source was read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SourceRead {
    /// Its configured name.
    pub source: String,
    /// Up to when it was read; `None`: never to its end.
    pub read_up_to: Option<DateTime<Utc>>,
    /// Whether that is too long ago for the answer to be known.
    pub is_behind: bool,
    /// Whether something is found of it (it is stale, changed, or counts otherwise), told or not: set aside, or not asked for.
    pub is_doubted: bool,
    /// What is the matter.
    pub trouble: Option<String>,
    /// How many records it counts, and how many were read, where these differ.
    pub counted: Option<(u64, u64)>,
}

/// A message that could not be delivered.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Undelivered {
    /// `the digest of 25 Nov`, `an alert`.
    pub what: String,
    /// To whom, by the configured name.
    pub recipient: String,
    /// Since when it waits.
    pub since: DateTime<Utc>,
    /// What the last try said.
    pub why: String,
    /// Whether it is tried no more.
    pub is_given_up: bool,
}

/// How well it went over some weeks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Measured {
    /// Over how many.
    pub weeks: u32,
    /// What was counted.
    pub rates: Rates,
}

/// Why nobody may say that all is well; the later, the less it leaves known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Unknown {
    /// The sums of the proof disagree.
    Sums,
    /// A row could not be read, or an order was not judged.
    Rows,
    /// A source was not read up to now, or there is doubt of what was read.
    Sources,
    /// There is nothing to read from.
    NoSource,
}

impl Unknown {
    /// In a sentence, after 'not known yet:'.
    pub(super) fn said(self) -> &'static str {
        match self {
            Self::Sums => "the sums do not add up",
            Self::Rows => "not everything could be judged",
            Self::Sources => "not everything could be read",
            Self::NoSource => "there is no source to read from",
        }
    }
}

impl Morning {
    /// It with its findings as they stand when it is composed, which is later than they were judged.
    pub(super) fn as_composed(&self) -> Self {
        let mut morning = self.clone();
        for shop in &mut morning.shops {
            let aside = shop.set_aside.iter_mut().map(|aside| &mut aside.finding);
            for finding in shop.outcome.findings.iter_mut().chain(aside) {
                *finding = standing_at(finding, self.now).into_owned();
            }
        }
        morning
    }

    /// What keeps it from being known whether all is well, at its worst.
    pub(super) fn unknown(&self) -> Option<Unknown> {
        if self.shops.is_empty() {
            return Some(Unknown::NoSource);
        }
        self.shops.iter().filter_map(ShopMorning::unknown).max()
    }
}

impl SourceRead {
    /// Whether what it brought can be relied on, up to now.
    pub(super) fn is_read(&self) -> bool {
        self.read_up_to.is_some() && !self.is_behind && !self.is_doubted && self.counted.is_none()
    }
}

impl ShopMorning {
    /// What keeps it from being known whether all is well, at its worst: everything that it rests on must have been read and
    /// judged, and the sums must agree. A finding about a source leaves doubt, also where it is set aside.
    pub(super) fn unknown(&self) -> Option<Unknown> {
        let outcome = &self.outcome;
        let mut found = outcome.findings.iter().chain(self.set_aside.iter().map(|aside| &aside.finding));
        let is_of_source = |finding: &Finding| matches!(finding.evidence, Evidence::Source(_));
        if self.sources.is_empty() {
            Some(Unknown::NoSource)
        } else if !self.sources.iter().all(SourceRead::is_read) || found.any(is_of_source) {
            Some(Unknown::Sources)
        } else if outcome.rows_skipped > 0 || !outcome.not_judged.is_empty() {
            Some(Unknown::Rows)
        } else if !outcome.totals.adds_up() {
            Some(Unknown::Sums)
        } else {
            None
        }
    }

    /// Whether everything that it rests on was read and judged, so that it may be said that all is well.
    pub fn is_known(&self) -> bool {
        self.unknown().is_none()
    }

    /// What keeps it from being known, in a sentence after 'not known yet:'; `None` where it is known.
    pub fn doubt(&self) -> Option<&'static str> {
        self.unknown().map(Unknown::said)
    }

    /// `in SHOP`, in front of what several shops have.
    pub(super) fn name(&self) -> Option<&str> {
        self.shop.as_ref().map(ShopId::as_str)
    }
}
