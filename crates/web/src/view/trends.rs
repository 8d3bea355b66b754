//! How it has gone, day by day and week by week.
//!
//! A week is seven days that end with yesterday, so that the last four are those of the digest. Must not know how anything is
//! counted or drawn. Start reading at [`trends`], which makes [`Trends`] of what was [`Counted`].

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use digest::Clock;
use digest::compose::{SHARES, median_said, share_said};
use forecast::within;
use model::Check;
use model::rates::{Rates, Share};
use model::waits::Waits;
use schemars::JsonSchema;
use serde::Serialize;

use super::words::{Moment, Words};
use crate::desk::Shop;

/// The most days of which anything is shown: 52 weeks.
pub const YEAR: usize = 364;

/// The most suppliers that are shown.
const SUPPLIERS: usize = 12;

/// What was counted of a shop.
#[derive(Clone, PartialEq, Debug)]
pub struct Counted {
    /// Which.
    pub shop: Shop,
    /// When.
    pub at: DateTime<Utc>,
    /// The first day on which findings were looked for; `None`: it never was judged.
    pub watched_from: Option<NaiveDate>,
    /// Days one after the other, the last of which is the one before `today`.
    pub days: Vec<CountedDay>,
    /// The day on which it was counted, in the shop's zone.
    pub today: NaiveDate,
    /// Orders placed on that day until then.
    pub today_so_far: u64,
}

/// What was counted of a day.
#[derive(Clone, PartialEq, Debug)]
pub struct CountedDay {
    /// The day, in the shop's zone.
    pub day: NaiveDate,
    /// Orders that were placed.
    pub orders: u64,
    /// Of these, those that are cancelled or not paid now.
    pub not_live: u64,
    /// How well it went with them, as things stand now; and what was put right on that day.
    pub rates: Rates,
    /// Findings that were seen for the first time.
    pub found: BTreeMap<Check, u64>,
    /// How long the supplier orders received on that day waited, by supplier.
    pub waits: BTreeMap<String, Waits>,
    /// Whether the storefront was read.
    pub read: DayRead,
}

/// Whether the orders of a day are known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DayRead {
    /// They are.
    Whole,
    /// The storefront did not answer on that day; its orders were read later.
    Later,
    /// They are not, or not all: the storefront has not been read up to the end of that day.
    NotRead,
}

/// How it has gone in a shop, or in all of them.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Trends {
    /// The shop; null: all of them.
    pub shop: Option<String>,
    /// The zone whose days are counted; null where shops have several, each its own.
    pub zone: Option<&'static str>,
    /// Over how many weeks, which end with yesterday.
    pub weeks: u32,
    /// When it was counted, of several shops the longest ago; null: not yet.
    pub counted: Option<Moment>,
    /// Shops that were not counted yet.
    pub not_counted: Vec<String>,
    /// Orders placed today until it was counted.
    pub today_so_far: u64,
    /// Each day, the oldest first, from the first of which something is known.
    pub days: Vec<OrdersOfDay>,
    /// Each week, the oldest first; the first may have fewer days.
    pub by_week: Vec<Week>,
    /// All these weeks together.
    pub in_all: Went,
    /// Each check of which anything was found, the one with most first.
    pub checks: Vec<CheckOverWeeks>,
    /// Suppliers, the one with most supplier orders first; twelve at most.
    pub suppliers: Vec<SupplierOverWeeks>,
    /// How many suppliers there are.
    pub suppliers_in_all: u64,
}

/// The orders of a day.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct OrdersOfDay {
    /// The day: `2026-11-27`.
    pub day: String,
    /// As it is said: `Fri 27 Nov`.
    pub said: Words,
    /// Orders that were placed, as far as they were read.
    pub orders: u64,
    /// Of these, those that are cancelled or not paid now.
    pub not_live: u64,
    /// Whether they are known.
    pub read: DayRead,
}

/// A week.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Week {
    /// Its first day of which something is known.
    pub from: String,
    /// Its last day.
    pub to: String,
    /// As it is said: `21 Nov to 27 Nov`.
    pub said: Words,
    /// How many of its days are known: seven, or fewer of the first one.
    pub days: u32,
    /// How it went.
    pub went: Went,
    /// Findings that were seen for the first time; null where everyline was not watching yet.
    pub found: Option<u64>,
}

/// How it went with the orders placed in some weeks, as things stand now: what the digest says too. Orders that are
/// cancelled, unpaid, or from before findings were reported do not count.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct Went {
    /// Orders of which nothing is missing or wrong now.
    pub orders_in_full: Of,
    /// Lines likewise.
    pub lines_in_full: Of,
    /// Orders with which nothing ever went wrong.
    pub perfect_orders: Of,
    /// Of the orders whose promised day is over: those in full that were never late.
    pub on_time_in_full: Of,
    /// Findings about orders that were put right in these weeks.
    pub repairs: u64,
    /// Half of these were put right within so many minutes of being found; null where there were none.
    pub median_repair_minutes: Option<i64>,
    /// The same as it is said.
    pub median_repair: Option<Words>,
}

/// So many of so many.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct Of {
    /// Those of which it is so.
    pub good: u64,
    /// All that count.
    pub of: u64,
    /// In per cent, rounded down; null where none counts.
    pub per_cent: Option<u8>,
    /// As it is said: `49 of 50, 98 %`.
    pub said: Words,
}

/// What one check found.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct CheckOverWeeks {
    /// The check.
    pub check: Check,
    /// Findings that were seen for the first time, in each week; null where everyline was not watching yet.
    pub found: Vec<Option<u64>>,
    /// In all weeks.
    pub in_all: u64,
}

/// How long a supplier took.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
pub struct SupplierOverWeeks {
    /// The supplier.
    pub supplier: Words,
    /// Of the supplier orders received in each week.
    pub weeks: Vec<Pace>,
    /// Of those of all weeks.
    pub in_all: Pace,
}

/// How long supplier orders waited, from when they were received until their first parcel went, in hours of the calendar. Those
/// of which none has gone yet count for as long as they have waited (product-limit estimate), so that the spans are not told
/// as shorter than they will turn out; those that are cancelled or rejected do not count.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, JsonSchema)]
pub struct Pace {
    /// Supplier orders of which a parcel has gone.
    pub gone: u64,
    /// Those of which none has gone yet.
    pub open: u64,
    /// Those that have gone, of which the supplier does not say when.
    pub undated: u64,
    /// Half go within so many hours; null where too many are still open for that to be known.
    pub half_within_hours: Option<u32>,
    /// Nine of ten go within so many hours, likewise.
    pub nine_of_ten_within_hours: Option<u32>,
}

impl Of {
    fn new(share: Share) -> Self {
        let (per_cent, said) = share_said(share);
        Self { good: share.good, of: share.of, per_cent, said: Words::ours(said) }
    }
}

impl Went {
    fn new(rates: &Rates) -> Self {
        let [orders_in_full, lines_in_full, perfect_orders, on_time_in_full] =
            SHARES.map(|(_, share)| Of::new(share(rates)));
        Self {
            orders_in_full,
            lines_in_full,
            perfect_orders,
            on_time_in_full,
            repairs: rates.repairs.len() as u64,
            median_repair_minutes: rates.median_repair().map(|span| span.num_minutes()),
            median_repair: median_said(rates).map(Words::ours),
        }
    }

    /// The shares, each by its name.
    pub fn shares(&self) -> [(&'static str, &Of); 4] {
        let Self { orders_in_full, lines_in_full, perfect_orders, on_time_in_full, .. } = self;
        let all = [orders_in_full, lines_in_full, perfect_orders, on_time_in_full];
        std::array::from_fn(|place| (SHARES[place].0, all[place]))
    }
}

impl Pace {
    fn new(waits: &Waits) -> Self {
        Self {
            gone: waits.over() + waits.undated,
            open: waits.open(),
            undated: waits.undated,
            half_within_hours: within(waits, 50),
            nine_of_ten_within_hours: within(waits, 90),
        }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.gone + self.open == 0
    }
}

/// What several shops have in a week.
#[derive(Default)]
struct Sums<'a> {
    days: BTreeSet<NaiveDate>,
    rates: Rates,
    found: BTreeMap<Check, u64>,
    is_watched: bool,
    waits: BTreeMap<&'a str, Waits>,
}

impl<'a> Sums<'a> {
    fn add(&mut self, counted: &'a Counted, days: &'a [CountedDay]) {
        for day in days {
            self.days.insert(day.day);
            let waits = day.waits.iter().map(|(supplier, waits)| (supplier.as_str(), waits));
            self.put(&day.rates, &day.found, waits);
            self.is_watched |= counted.watched_from.is_some_and(|from| day.day >= from);
        }
    }

    fn put<'w>(
        &mut self,
        rates: &Rates,
        found: &BTreeMap<Check, u64>,
        waits: impl Iterator<Item = (&'a str, &'w Waits)>,
    ) {
        self.rates += rates;
        for (check, number) in found {
            *self.found.entry(*check).or_default() += number;
        }
        for (supplier, waits) in waits {
            *self.waits.entry(supplier).or_default() += waits;
        }
    }

    /// How many were found; `None` where nobody looked.
    fn found(&self, number: u64) -> Option<u64> {
        (self.is_watched || number > 0).then_some(number)
    }
}

/// How it has gone over so many weeks in a shop, or, without one, in all of them.
pub fn trends(
    shops: &[Shop],
    counted: &[Arc<Counted>],
    shop: Option<&Shop>,
    weeks: u32,
    now: DateTime<Utc>,
) -> Trends {
    let is_asked = |other: &Shop| shop.is_none_or(|shop| shop.id == other.id);
    let asked: Vec<&Shop> = shops.iter().filter(|shop| is_asked(shop)).collect();
    let counted: Vec<&Counted> = counted.iter().filter(|one| is_asked(&one.shop)).map(|one| &**one).collect();
    let zones: BTreeSet<&'static str> = asked.iter().map(|shop| shop.zone.name()).collect();
    let most = weeks as usize * 7;
    let today = counted.iter().map(|one| one.today).max().unwrap_or_default();

    let mut by_day: BTreeMap<NaiveDate, OrdersOfDay> = BTreeMap::new();
    let mut sums: Vec<Sums<'_>> = Vec::new();
    for one in &counted {
        let days = &one.days[one.days.len().saturating_sub(most)..];
        for day in days {
            let own = by_day.entry(day.day).or_insert_with(|| OrdersOfDay {
                day: day.day.format("%Y-%m-%d").to_string(),
                said: Words::ours(day.day.format("%a %-d %b").to_string()),
                orders: 0,
                not_live: 0,
                read: DayRead::Whole,
            });
            own.orders += day.orders;
            own.not_live += day.not_live;
            own.read = own.read.max(day.read);
        }
        // From the end, for that is where all shops meet.
        for (place, week) in days.rchunks(7).enumerate() {
            if sums.len() == place {
                sums.push(Sums::default());
            }
            sums[place].add(one, week);
        }
    }
    sums.reverse();

    let mut in_all = Sums::default();
    for week in &sums {
        in_all.put(&week.rates, &week.found, week.waits.iter().map(|(supplier, waits)| (*supplier, waits)));
    }
    let mut checks: Vec<CheckOverWeeks> = in_all
        .found
        .iter()
        .filter(|(_, number)| **number > 0)
        .map(|(check, number)| CheckOverWeeks {
            check: *check,
            found: sums
                .iter()
                .map(|week| week.found(week.found.get(check).copied().unwrap_or_default()))
                .collect(),
            in_all: *number,
        })
        .collect();
    checks.sort_by_key(|check| (std::cmp::Reverse(check.in_all), check.check));
    let mut suppliers: Vec<(&str, &Waits)> =
        in_all.waits.iter().map(|(supplier, waits)| (*supplier, waits)).collect();
    suppliers.sort_by_key(|(supplier, waits)| {
        (std::cmp::Reverse(waits.over() + waits.open() + waits.undated), *supplier)
    });
    let nothing = Waits::default();
    let of_supplier = |(supplier, waits): &(&str, &Waits)| SupplierOverWeeks {
        supplier: Words::outside(supplier),
        weeks: sums.iter().map(|week| Pace::new(week.waits.get(supplier).unwrap_or(&nothing))).collect(),
        in_all: Pace::new(waits),
    };
    let clock = |shop: &Shop| Clock::of_a_reader(shop.zone, now);
    let oldest = counted.iter().min_by_key(|one| one.at);
    Trends {
        shop: shop.map(|shop| shop.id.as_str().to_owned()),
        zone: if zones.len() == 1 { zones.first().copied() } else { None },
        weeks,
        counted: oldest.map(|one| Moment::new(one.at, &clock(&one.shop))),
        not_counted: asked
            .iter()
            .filter(|shop| counted.iter().all(|one| one.shop.id != shop.id))
            .map(|shop| shop.id.as_str().to_owned())
            .collect(),
        today_so_far: counted.iter().map(|one| one.today_so_far).sum(),
        days: by_day.into_values().collect(),
        by_week: sums.iter().filter_map(|week| Week::of(week, today)).collect(),
        in_all: Went::new(&in_all.rates),
        checks,
        suppliers: suppliers.iter().take(SUPPLIERS).map(of_supplier).collect(),
        suppliers_in_all: suppliers.len() as u64,
    }
}

impl Week {
    fn of(sums: &Sums<'_>, today: NaiveDate) -> Option<Self> {
        let (from, to) = (sums.days.first()?, sums.days.last()?);
        let said = |day: &NaiveDate| match day.year() == today.year() {
            true => day.format("%-d %b").to_string(),
            false => day.format("%-d %b %Y").to_string(),
        };
        Some(Self {
            from: from.format("%Y-%m-%d").to_string(),
            to: to.format("%Y-%m-%d").to_string(),
            said: Words::ours(if from == to { said(to) } else { format!("{} to {}", said(from), said(to)) }),
            days: u32::try_from(sums.days.len().min(7)).unwrap_or(7),
            went: Went::new(&sums.rates),
            found: sums.found(sums.found.values().sum()),
        })
    }
}
