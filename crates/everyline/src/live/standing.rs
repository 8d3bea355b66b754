//! How far each source of a shop has been read, and what follows from it: which tables are known, who is behind, for which
//! moment the shop can be judged, and what is found of the sources themselves.
//!
//! Must not know how a source is asked or an order judged. Start reading at [`Standing`].

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use intake::source::declare::{Origin, Role};
use intake::source::poll::tables_read;
use ledger::{Known, Ledger, LedgerError, SourceState};
use matcher::Behind;
use model::finding::{Evidence, FindingId, SourceEvidence};
use model::{Check, Finding, ShopId, SourceId, SupplierId};

use super::asker::{FOLDER, kind};
use crate::configuration::Settings;

/// How far one request of a source has been read.
#[derive(Clone, PartialEq, Debug)]
pub struct Standing {
    /// The source, by its configured name.
    pub source: SourceId,
    /// The request, by its configured name; of a folder `folder`.
    pub request: String,
    /// The supplier whose rows it brings; `None` of the storefront.
    pub supplier: Option<SupplierId>,
    /// The tables that it brings; of a folder those that it has brought.
    pub tables: Vec<String>,
    /// Up to when it has been read; `None` where it never was to the end.
    pub read_up_to: Option<DateTime<Utc>>,
    /// How long after that it still counts as read up to now.
    pub stale_after: TimeDelta,
    /// How asking it went; `None` where it never was asked.
    pub state: Option<SourceState>,
}

/// How far the sources of a shop have been read.
#[derive(Clone, PartialEq, Debug)]
pub struct Standings {
    /// Each request, by source and request.
    pub all: Vec<Standing>,
    /// The moment for which the shop is judged.
    pub as_of: DateTime<Utc>,
    /// The moment up to which a source must have been read.
    due: DateTime<Utc>,
}

impl Standing {
    /// Whether it has not been read up to a moment, or not up to shortly before.
    fn is_behind(&self, moment: DateTime<Utc>) -> bool {
        self.read_up_to.is_none_or(|read| moment - read > self.stale_after)
    }

    /// Whether it brings rows of a table.
    pub fn brings(&self, table: &str) -> bool {
        self.tables.iter().any(|own| own == table)
    }

    /// Whether it brings what is bought, made or sent, of which the newest counts.
    fn moves(&self) -> bool {
        const MOVING: [&str; 6] =
            ["orders", "order_lines", "submissions", "submission_lines", "parcels", "parcel_lines"];
        // Of a folder that was never read nobody knows what it brings.
        self.tables.is_empty() || MOVING.iter().any(|table| self.brings(table))
    }
}

impl Standings {
    /// How far the sources have been read, for a moment; without one, for the latest up to which all have been read that
    /// are not behind.
    ///
    /// # Errors
    /// Where the ledger cannot be read.
    pub async fn of(
        ledger: &Ledger,
        shop: &ShopId,
        settings: &Settings,
        asked: Option<DateTime<Utc>>,
        now: DateTime<Utc>,
    ) -> Result<Self, LedgerError> {
        let states = ledger.sources(shop).await?;
        let mut all = Vec::new();
        for (id, source) in &settings.sources {
            let marks = ledger.marks(shop, id).await?;
            let supplier = match &source.role {
                Role::Storefront => None,
                Role::Supplier(supplier) => Some(supplier.clone()),
            };
            let requests: Vec<(String, Vec<String>)> = match &source.origin {
                Origin::Folder(_) | Origin::Exports(..) => {
                    let tables = marks.get(FOLDER).map(tables_read).unwrap_or_default();
                    vec![(FOLDER.to_owned(), tables)]
                }
                Origin::Service(service) => {
                    let tables = service.requests.iter();
                    tables
                        .map(|request| (request.name.clone(), request.tables().map(str::to_owned).collect()))
                        .collect()
                }
            };
            for (request, tables) in requests {
                let state = states
                    .iter()
                    .find(|state| state.asking.source == *id && state.asking.request == request)
                    .cloned();
                let read_up_to = marks.get(&request).and_then(|mark| mark.read_up_to);
                // Files of variants, offers and links are as good as new for as long as they lie there.
                let looked_at = state.as_ref().and_then(|state| state.asking.answered_at);
                let lies_there = request == FOLDER && !tables.is_empty();
                all.push(Standing {
                    source: id.clone(),
                    supplier: supplier.clone(),
                    tables,
                    read_up_to: read_up_to.or(looked_at.filter(|_| lies_there)),
                    stale_after: TimeDelta::from_std(source.stale_after).unwrap_or(TimeDelta::MAX),
                    state,
                    request,
                });
            }
        }
        let due = asked.map_or(now, |asked| asked.min(now));
        let caught_up = all.iter().filter(|standing| standing.moves() && !standing.is_behind(due));
        let as_of = asked.unwrap_or_else(|| {
            let read = caught_up.filter_map(|standing| standing.read_up_to);
            read.chain([now]).min().unwrap_or(now).trunc_subsecs(0)
        });
        Ok(Self { all, as_of, due })
    }

    /// Which tables are known.
    pub fn known(&self) -> Known {
        let bring = |table: &'static str| self.all.iter().filter(move |standing| standing.brings(table));
        // Of what is there until it is taken away, a part would pass for all.
        let all_read = |table| {
            let mut bringing = bring(table).peekable();
            bringing.peek().is_some() && bringing.all(|standing| standing.read_up_to.is_some())
        };
        let any_read = |table| bring(table).any(|standing| standing.read_up_to.is_some());
        // The variants of a supplier that does not tell them would pass for unknown ones.
        let suppliers: BTreeSet<_> =
            self.all.iter().filter_map(|standing| standing.supplier.as_ref()).collect();
        let tells = |supplier: &SupplierId| {
            bring("variants").any(|standing| standing.supplier.as_ref().is_none_or(|own| own == supplier))
        };
        Known {
            offers: all_read("offers"),
            variants: all_read("variants") && suppliers.into_iter().all(tells),
            listing_products: all_read("listing_products"),
            links: all_read("links"),
            submissions: any_read("submissions") && any_read("submission_lines"),
            parcels: any_read("parcels") && any_read("parcel_lines"),
        }
    }

    /// Who may have done something that is not known yet. `sent_by` are the suppliers of whom something was read.
    pub fn behind(&self, sent_by: impl IntoIterator<Item = SupplierId>) -> Behind {
        let mut behind = Behind::default();
        let mut sent_by = Some(sent_by);
        for standing in self.behind_now() {
            match &standing.supplier {
                Some(supplier) => {
                    behind.suppliers.insert(supplier.clone());
                }
                None => {
                    behind.storefront |= standing.tables.is_empty()
                        || standing.brings("orders")
                        || standing.brings("order_lines");
                    // A folder may hold what all suppliers say.
                    if standing.request == FOLDER
                        && standing.brings("submissions")
                        && let Some(sent_by) = sent_by.take()
                    {
                        behind.suppliers.extend(sent_by);
                    }
                }
            }
        }
        behind
    }

    /// The requests that have not been read up to where they should, of those that bring what moves.
    pub fn behind_now(&self) -> impl Iterator<Item = &Standing> {
        self.all.iter().filter(|standing| standing.moves() && standing.is_behind(self.due))
    }

    /// The requests of which nothing, or not all, is known, for whatever reason.
    pub fn not_read(&self) -> impl Iterator<Item = &Standing> {
        self.all.iter().filter(|standing| standing.is_behind(self.due))
    }

    /// What is found of the sources: of each, that it is stale, once; of each of its requests, that its answers or its count
    /// are not what they should be.
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut stale: BTreeMap<&SourceId, (DateTime<Utc>, &Standing)> = BTreeMap::new();
        for standing in &self.all {
            let Some(state) = &standing.state else { continue };
            let trouble = state.asking.trouble.as_ref();
            let failing_since = state.asking.failing_since;
            if trouble.is_some_and(|trouble| trouble.kind == kind::CHANGED) {
                let since = failing_since.unwrap_or(state.asking.asked_at);
                findings.push(standing.finding(Check::SourceChanged, since, self.due));
            } else if let Some(since) = standing.stale_since(self.due) {
                let longest = stale.entry(&standing.source).or_insert((since, standing));
                if since < longest.0 {
                    *longest = (since, standing);
                }
            }
            if state.asking.counted.is_some() {
                let since = standing.read_up_to.unwrap_or(state.asking.asked_at);
                findings.push(standing.finding(Check::SourceGap, since, self.due));
            }
        }
        let stale = stale.into_values();
        findings.extend(stale.map(|(since, standing)| standing.finding(Check::SourceStale, since, self.due)));
        findings
    }
}

impl Standing {
    /// Since when nothing is known, where that is too long: since it was last read; where it never was, since it first
    /// failed. A sign-in that is lost does not come back by itself: any time is too long.
    fn stale_since(&self, moment: DateTime<Utc>) -> Option<DateTime<Utc>> {
        let failing_since = self.state.as_ref().and_then(|state| state.asking.failing_since);
        let since = match (self.read_up_to, failing_since) {
            (Some(read), Some(failing)) => Some(read.min(failing)),
            (read, failing) => read.or(failing),
        };
        let trouble = self.state.as_ref().and_then(|state| state.asking.trouble.as_ref());
        let is_signed_out = trouble.is_some_and(|trouble| trouble.kind == kind::SIGNED_OUT);
        since.filter(|since| is_signed_out || moment - *since > self.stale_after)
    }

    fn finding(&self, check: Check, since: DateTime<Utc>, now: DateTime<Utc>) -> Finding {
        let asking = self.state.as_ref().map(|state| &state.asking);
        let trouble = asking.and_then(|asking| asking.trouble.as_ref());
        let counted = asking.and_then(|asking| asking.counted).filter(|_| check == Check::SourceGap);
        let was_asked = asking.is_some_and(|asking| now - asking.asked_at <= self.stale_after);
        let nothing_new = match self.request.as_str() {
            _ if !was_asked => "everyline has not asked it, for `everyline watch` was not running",
            FOLDER => "no new files were put into it",
            _ => "nothing newer was read of it",
        };
        Finding {
            check,
            id: match check {
                Check::SourceStale => FindingId::of(check, &[self.source.as_str()]),
                _ => FindingId::of(check, &[self.source.as_str(), &self.request]),
            },
            order_id: None,
            supplier: self.supplier.clone(),
            submission_id: None,
            lines: Vec::new(),
            submission_lines: Vec::new(),
            act_before: None,
            cutoff_passed: false,
            first_seen: now,
            value_at_risk: None,
            evidence: Evidence::Source(SourceEvidence {
                source: self.source.clone(),
                request: self.request.clone(),
                since,
                read_up_to: self.read_up_to,
                trouble: trouble.map_or_else(|| nothing_new.to_owned(), |trouble| trouble.words.clone()),
                counted_there: counted.map(|(there, _)| there),
                counted_here: counted.map(|(_, here)| here),
            }),
        }
    }
}
