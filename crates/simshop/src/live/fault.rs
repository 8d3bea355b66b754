//! What goes wrong with the answers: when, at which server, and in which way; and how often each was asked.
//!
//! Must not know what an answer says. Start reading at [`Fault`] and [`Plan`].

use std::collections::BTreeMap;
use std::time::Duration;

use chrono::TimeDelta;

/// No answer is delayed longer, so that no test can hang.
const LONGEST_DELAY: Duration = Duration::from_secs(30);

/// One of the three servers.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Source {
    /// The storefront.
    Till,
    /// The supplier alder-print.
    Alder,
    /// The supplier brook-print.
    Brook,
}

impl Source {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Till, Self::Alder, Self::Brook];

    /// Its name in the configuration.
    pub fn name(self) -> &'static str {
        match self {
            Self::Till => "till",
            Self::Alder => "alder",
            Self::Brook => "brook",
        }
    }

    /// One of its endpoints alone, by the last segment of the path: `orders`, `offers`, `offer` (one of them) or `sku` (a
    /// change of it) of the till; `jobs`, `pieces`, `parcels` or `articles` of alder; `submissions` or `goods` of brook.
    pub fn endpoint(self, endpoint: &'static str) -> Target {
        Target { source: self, endpoint: Some(endpoint) }
    }
}

/// What a fault befalls: a server, or one of its endpoints.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Target {
    source: Source,
    endpoint: Option<&'static str>,
}

impl From<Source> for Target {
    fn from(source: Source) -> Self {
        Self { source, endpoint: None }
    }
}

impl Target {
    fn is_met_by(self, source: Source, endpoint: &str) -> bool {
        self.source == source && self.endpoint.is_none_or(|own| own == endpoint)
    }
}

/// How a server says when to come again.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum RetryAfter {
    /// So many seconds.
    Seconds(u32),
    /// An HTTP date (RFC 9110) so many seconds after the one in `Date`.
    Date(u32),
}

/// One way to go wrong. Several may hold at once.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Fault {
    /// The connection ends without an answer, and nothing is done.
    Dropped,
    /// The answer comes so much later, 30 seconds at most; nothing is done before.
    Delayed(Duration),
    /// The page before the one that was asked for comes once more in its place, as a stale copy would: by link and by
    /// cursor it leads back to the asked one; by offset the asked rows are passed over, and only the count tells.
    PageRepeated,
    /// The records of a page come in reverse.
    Reordered,
    /// Right after the answer a record changes, so that others move to other pages: the first of the page where the
    /// oldest change comes first (till, alder), so that the next page passes one record over; the one behind the page where
    /// the latest comes first (brook), so that the next page repeats one and lacks the changed one. The truth has the
    /// change. No effect on tables without times of change.
    Shifting,
    /// Status 429.
    TooManyRequests(RetryAfter),
    /// Status 503.
    Unavailable,
    /// Status 500; nothing is done.
    Broken,
    /// The JSON ends half way, with status 200.
    Cut,
    /// A field of the first record has another type than it ought to.
    WrongType,
    /// A page for people, with status 200.
    Html,
    /// The server's own count is off by so many.
    LyingCount(i64),
    /// The server's clock is ahead by so much: `Date`, the times in the records, and how it reads times it is asked
    /// with. [`super::Truth`] goes by the right clock.
    SkewedClock(TimeDelta),
    /// The page says that it is followed by itself: the same cursor, or a link to itself. Nothing with offsets.
    CursorRepeats,
    /// The connection ends without an answer, after what was asked for was done.
    LostAfter,
    /// Status 500, after what was asked for was done.
    BrokenAfter,
    /// What was asked for is done at once, and the answer comes so much later, 30 seconds at most.
    DelayedAfter(Duration),
    /// The answer to a change says another SKU than the one that the offer has from then on.
    OtherSku,
}

/// What goes wrong, and when. The default: nothing does.
#[derive(Clone, Default, Debug)]
pub struct Plan {
    planned: Vec<Planned>,
}

#[derive(Clone, Debug)]
struct Planned {
    target: Target,
    fault: Fault,
    /// So many requests are still spared.
    spared: u64,
    /// So many requests meet it then; `None` is all.
    times: Option<u64>,
}

impl Plan {
    /// Nothing goes wrong.
    pub fn new() -> Self {
        Self::default()
    }

    /// After so many requests of the target the next `times` requests of it meet the fault.
    pub fn after(mut self, target: impl Into<Target>, requests: u64, times: u64, fault: Fault) -> Self {
        self.add(target.into(), requests, Some(times), fault);
        self
    }

    /// Every request of the target meets the fault, from the beginning on.
    pub fn always(mut self, target: impl Into<Target>, fault: Fault) -> Self {
        self.add(target.into(), 0, None, fault);
        self
    }

    pub(super) fn add(&mut self, target: Target, spared: u64, times: Option<u64>, fault: Fault) {
        self.planned.push(Planned { target, fault, spared, times });
    }

    pub(super) fn remove(&mut self, target: Target, fault: Fault) {
        self.planned.retain(|planned| planned.target != target || planned.fault != fault);
    }

    pub(super) fn clear(&mut self) {
        self.planned.clear();
    }

    /// The faults that a request meets; counts it.
    pub(super) fn meet(&mut self, source: Source, endpoint: &str) -> Met {
        let mut met = Vec::new();
        for planned in self.planned.iter_mut().filter(|planned| planned.target.is_met_by(source, endpoint)) {
            if planned.spared > 0 {
                planned.spared -= 1;
                continue;
            }
            match &mut planned.times {
                Some(0) => continue,
                Some(left) => *left -= 1,
                None => {}
            }
            met.push(planned.fault);
        }
        self.planned.retain(|planned| planned.times != Some(0));
        Met(met)
    }
}

/// The faults that one request meets.
#[derive(Clone, Default, Debug)]
pub(super) struct Met(Vec<Fault>);

impl Met {
    pub(super) fn has(&self, fault: Fault) -> bool {
        self.0.contains(&fault)
    }

    pub(super) fn delay(&self) -> Duration {
        let delays = self.0.iter().filter_map(|fault| match fault {
            Fault::Delayed(delay) => Some(*delay),
            _ => None,
        });
        delays.sum::<Duration>().min(LONGEST_DELAY)
    }

    pub(super) fn delay_after(&self) -> Duration {
        let delays = self.0.iter().filter_map(|fault| match fault {
            Fault::DelayedAfter(delay) => Some(*delay),
            _ => None,
        });
        delays.sum::<Duration>().min(LONGEST_DELAY)
    }

    pub(super) fn retry_after(&self) -> Option<RetryAfter> {
        self.0.iter().find_map(|fault| match fault {
            Fault::TooManyRequests(retry_after) => Some(*retry_after),
            _ => None,
        })
    }

    /// A count with the lies about it.
    pub(super) fn count(&self, count: usize) -> i64 {
        let lies = self.0.iter().filter_map(|fault| match fault {
            Fault::LyingCount(lie) => Some(*lie),
            _ => None,
        });
        i64::try_from(count).unwrap_or(i64::MAX) + lies.sum::<i64>()
    }

    /// How far the server's clock is ahead.
    pub(super) fn skew(&self) -> TimeDelta {
        let skews = self.0.iter().filter_map(|fault| match fault {
            Fault::SkewedClock(skew) => Some(*skew),
            _ => None,
        });
        skews.fold(TimeDelta::zero(), |all, skew| all + skew)
    }
}

/// How often each endpoint was asked, whatever it answered.
#[derive(Clone, Default, Debug)]
pub(super) struct Asked(BTreeMap<(Source, String), u64>);

impl Asked {
    pub(super) fn count(&mut self, source: Source, endpoint: &str) {
        *self.0.entry((source, endpoint.to_owned())).or_default() += 1;
    }

    pub(super) fn of(&self, target: Target) -> u64 {
        let met = self.0.iter().filter(|((source, endpoint), _)| target.is_met_by(*source, endpoint));
        met.map(|(_, count)| count).sum()
    }
}
