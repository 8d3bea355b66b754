//! Trends on the page: what happened on each day of the last year, counted beside the rounds.
//!
//! Counting a large shop takes seconds, so it is done after a round, in a task of its own, and never because somebody looks.
//! Must not know how it is shown. Start reading at [`Trends::count`] and the [`web::Trends`] of [`PageDesk`].

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use chrono::{DateTime, NaiveDate, Utc};
use ledger::{Ledger, LedgerError};
use model::ShopId;
use model::when::first_moment;
use tokio::sync::watch;
use tracing::warn;
use web::view::{Counted, CountedDay, DayRead, DayState, YEAR};
use web::{Answer, Shop};

use super::PageDesk;
use super::sources::{days_of, hours_asked};
use crate::configuration::Settings;
use crate::live::judge::REPORTED_BEFORE_FIRST_ROUND;
use crate::live::standing::{Standing, Standings};

/// A shop is left uncounted for so many times as long as counting it took, so that a large one takes a twentieth of one core at
/// most. What took less than a moment is counted after each round.
const REST: u32 = 20;

/// So long counting may take and be done after each round.
const A_MOMENT: Duration = Duration::from_millis(250);

/// How long somebody who looks waits for what is being counted just then.
const PATIENCE: Duration = Duration::from_secs(1);

/// What was counted of each shop, and what is being counted.
#[derive(Default)]
pub(super) struct Trends {
    shops: Arc<Mutex<BTreeMap<ShopId, OfShop>>>,
    /// Counts what ended.
    ended: watch::Sender<u64>,
}

#[derive(Default)]
struct OfShop {
    counted: Option<Arc<Counted>>,
    is_counting: bool,
    /// There was a round meanwhile: when, and as of which moment.
    again: Option<(DateTime<Utc>, DateTime<Utc>)>,
    not_before: Option<Instant>,
}

impl Trends {
    /// Counts a shop after a round (when that was, and as of which moment), unless it was counted just now; where it is being
    /// counted, once more after that. `then` is done where something else than before was counted.
    pub(super) fn count(
        &self,
        ledger: &Ledger,
        shop: &Shop,
        settings: &Arc<Settings>,
        moments: (DateTime<Utc>, DateTime<Utc>),
        then: impl Fn() + Send + 'static,
    ) {
        {
            let mut shops = self.shops.lock().unwrap_or_else(PoisonError::into_inner);
            let of = shops.entry(shop.id.clone()).or_default();
            if of.is_counting {
                of.again = Some(moments);
                return;
            }
            if of.not_before.is_some_and(|not_before| Instant::now() < not_before) {
                return;
            }
            of.is_counting = true;
        }
        let (ledger, shop, settings) = (ledger.clone(), shop.clone(), Arc::clone(settings));
        let (shops, ended) = (Arc::clone(&self.shops), self.ended.clone());
        tokio::spawn(async move {
            let mut next = Some(moments);
            let mut is_news = false;
            while let Some((now, as_of)) = next {
                let began = Instant::now();
                let counted = count(&ledger, &shop, &settings, now, as_of).await;
                let took = began.elapsed();
                let mut shops = shops.lock().unwrap_or_else(PoisonError::into_inner);
                let of = shops.entry(shop.id.clone()).or_default();
                match counted {
                    Ok(counted) => {
                        is_news |= of.counted.as_ref().is_none_or(|before| is_other(before, &counted));
                        of.counted = Some(Arc::new(counted));
                    }
                    Err(error) => warn!("the page's trends of shop {} were not counted: {error}", shop.id),
                }
                let is_long = took > A_MOMENT;
                of.not_before = is_long.then(|| Instant::now() + took * REST);
                next = of.again.take().filter(|_| !is_long);
                of.is_counting = next.is_some();
            }
            ended.send_modify(|number| *number += 1);
            if is_news {
                then();
            }
        });
    }

    fn is_counting(&self) -> bool {
        self.shops.lock().unwrap_or_else(PoisonError::into_inner).values().any(|of| of.is_counting)
    }
}

/// Whether something else was counted than before, apart from when.
fn is_other(before: &Counted, now: &Counted) -> bool {
    (&before.days, before.today, before.today_so_far, before.watched_from)
        != (&now.days, now.today, now.today_so_far, now.watched_from)
}

impl web::Trends for PageDesk {
    fn counted(&self) -> Answer<'_, Vec<Arc<Counted>>> {
        Box::pin(async {
            let mut ended = self.trends.ended.subscribe();
            let all_ended = async {
                while self.trends.is_counting() {
                    if ended.changed().await.is_err() {
                        break;
                    }
                }
            };
            // What takes longer is shown as it was, with when that was, and the page shows the new by itself.
            let _ = tokio::time::timeout(PATIENCE, all_ended).await;
            let shops = self.trends.shops.lock().unwrap_or_else(PoisonError::into_inner);
            Ok(shops.values().filter_map(|of| of.counted.clone()).collect())
        })
    }
}

/// Counts a shop, day by day, up to the end of yesterday.
async fn count(
    ledger: &Ledger,
    shop: &Shop,
    settings: &Settings,
    now: DateTime<Utc>,
    as_of: DateTime<Utc>,
) -> Result<Counted, LedgerError> {
    let day_of = |at: DateTime<Utc>| at.with_timezone(&shop.zone).date_naive();
    let today = day_of(now);
    let first_round = ledger.rounds(&shop.id).await?.map(|rounds| rounds.first_at);
    let watched_from = first_round.map(day_of);
    let first = ledger.first_placed(&shop.id).await?.map(day_of);
    let days = days_until(today, first.into_iter().chain(watched_from).min().unwrap_or(today));
    let begins = |day: NaiveDate| first_moment(day, shop.zone).unwrap_or(now);
    let bounds: Vec<DateTime<Utc>> = days.iter().copied().chain([today]).map(begins).collect();
    let report_from = first_round.unwrap_or(now) - REPORTED_BEFORE_FIRST_ROUND;
    let sums = ledger.trends(&shop.id, &bounds, report_from, as_of).await?;
    let reading = Reading::of(ledger, shop, settings, now).await?;
    let counted = days.into_iter().zip(bounds.windows(2)).zip(sums).map(|((day, span), sums)| CountedDay {
        day,
        orders: sums.orders,
        not_live: sums.not_live,
        rates: sums.rates,
        found: sums.found,
        waits: sums.waits.into_iter().map(|(supplier, waits)| (supplier.to_string(), waits)).collect(),
        read: reading.of_day(day, span[1]),
    });
    Ok(Counted {
        days: counted.collect(),
        shop: shop.clone(),
        at: now,
        watched_from,
        today,
        today_so_far: ledger.placed_between(&shop.id, begins(today), now).await?,
    })
}

/// The days from one to the day before today, a year of them at most.
fn days_until(today: NaiveDate, first: NaiveDate) -> Vec<NaiveDate> {
    let before = std::iter::successors(today.pred_opt(), |day| day.pred_opt());
    let mut days: Vec<NaiveDate> = before.take(YEAR).take_while(|day| *day >= first).collect();
    days.reverse();
    days
}

/// How the storefront was read.
struct Reading {
    /// Up to when its orders were; `None`: never to the end.
    up_to: Option<DateTime<Utc>>,
    /// Days on which a request for orders never answered.
    silent: Vec<String>,
}

impl Reading {
    async fn of(
        ledger: &Ledger,
        shop: &Shop,
        settings: &Settings,
        now: DateTime<Utc>,
    ) -> Result<Self, LedgerError> {
        let standings = Standings::of(ledger, &shop.id, settings, None, now).await?;
        let brings_orders = |standing: &&Standing| standing.supplier.is_none() && standing.brings("orders");
        let own: Vec<&Standing> = standings.all.iter().filter(brings_orders).collect();
        let hours = hours_asked(ledger, &shop.id, now).await?;
        let mut silent = Vec::new();
        for standing in &own {
            // Before the first hour nothing is kept of it, which says nothing of the days.
            let days = days_of(standing, settings, &hours, now);
            let known = days.into_iter().skip_while(|day| day.state == DayState::NotAsked);
            let is_silent = |state| matches!(state, DayState::Silent | DayState::NotAsked);
            silent.extend(known.filter(|day| is_silent(day.state)).map(|day| day.day));
        }
        // `None`, never, is the least. Of a folder that was never read nobody knows what it brings.
        Ok(Self { up_to: own.iter().map(|standing| standing.read_up_to).min().flatten(), silent })
    }

    fn of_day(&self, day: NaiveDate, ends: DateTime<Utc>) -> DayRead {
        if self.up_to.is_none_or(|up_to| up_to < ends) {
            DayRead::NotRead
        } else if self.silent.contains(&day.format("%Y-%m-%d").to_string()) {
            DayRead::Later
        } else {
            DayRead::Whole
        }
    }
}

#[cfg(test)]
mod tests {
    use chrono_tz::Tz;

    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn days_end_with_yesterday_and_are_a_year_at_most() {
        let today = day("2026-11-25");
        assert_eq!(days_until(today, day("2026-11-23")), [day("2026-11-23"), day("2026-11-24")]);
        assert_eq!(days_until(today, today), []);
        assert_eq!(days_until(today, day("2026-12-01")), []);
        let year = days_until(today, day("2001-01-01"));
        assert_eq!((year.len(), year[0], year[363]), (364, day("2025-11-26"), day("2026-11-24")));
    }

    /// Source: IANA time zone database, rule EU: on 2026-10-25 a day in Oslo ends 23:00 UTC, the day before at 22:00 UTC.
    #[test]
    fn a_day_is_known_once_the_storefront_was_read_up_to_its_end_in_the_shops_zone() {
        let ends = |text: &str| first_moment(day(text).succ_opt().unwrap(), Tz::Europe__Oslo).unwrap();
        let up_to = DateTime::parse_from_rfc3339("2026-10-25T22:30:00Z").unwrap().to_utc();
        let reading = Reading { up_to: Some(up_to), silent: vec!["2026-10-23".to_owned()] };
        let of = |text: &str| reading.of_day(day(text), ends(text));
        assert_eq!(of("2026-10-23"), DayRead::Later);
        assert_eq!(of("2026-10-24"), DayRead::Whole);
        assert_eq!(of("2026-10-25"), DayRead::NotRead);
        let never = Reading { up_to: None, silent: Vec::new() };
        assert_eq!(never.of_day(day("2026-10-24"), ends("2026-10-24")), DayRead::NotRead);
    }
}
