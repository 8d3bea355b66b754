//! When a digest is due: at a local time each day, once, whatever the clocks do.
//!
//! Pure. Must not know what a digest says. Start reading at [`due`].

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;
use model::when::{first_moment, local_moment};

/// How long after it was due a digest still goes out, where it could not: till then the day is young. A later one is taken
/// in by the next.
pub const YOUNG: TimeDelta = TimeDelta::hours(6);

/// How many days without a digest the next one names at most.
const TAKEN_IN: usize = 366;

/// A digest that is due.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Due {
    /// Its day.
    pub day: NaiveDate,
    /// When it was due.
    pub moment: DateTime<Utc>,
    /// Days since the last digest of which none went out.
    pub taken_in: Vec<NaiveDate>,
}

/// When the digest of a day is due: at the first moment at which the clock shows the time; where it never does, since it is
/// set forward past it, at the moment at which that happens. `None` of a day that the calendar there passes over.
pub fn moment(day: NaiveDate, at: NaiveTime, zone: Tz) -> Option<DateTime<Utc>> {
    let begins = first_moment(day, zone)?;
    (begins.with_timezone(&zone).date_naive() == day).then(|| local_moment(day.and_time(at), zone))?
}

/// The digest that is due now, where the last one that was written is of `last`.
pub fn due(at: NaiveTime, zone: Tz, last: Option<NaiveDate>, now: DateTime<Utc>) -> Option<Due> {
    let today = now.with_timezone(&zone).date_naive();
    // The day before may still be young where its digest is due late in the evening.
    let days = [Some(today), today.pred_opt()];
    let (day, moment) = days.into_iter().flatten().find_map(|day| {
        let moment = moment(day, at, zone)?;
        (moment <= now && now < moment + YOUNG).then_some((day, moment))
    })?;
    if last.is_some_and(|last| last >= day) {
        return None;
    }
    let between =
        |last: NaiveDate| last.iter_days().skip(1).take_while(move |between| *between < day).take(TAKEN_IN);
    Some(Due { day, moment, taken_in: last.into_iter().flat_map(between).collect() })
}

/// When the next digest after a moment is due.
pub fn next(at: NaiveTime, zone: Tz, now: DateTime<Utc>) -> DateTime<Utc> {
    let today = now.with_timezone(&zone).date_naive();
    let days = (0..4).filter_map(|days| today.checked_add_days(Days::new(days)));
    days.filter_map(|day| moment(day, at, zone))
        .find(|moment| *moment > now)
        .unwrap_or(DateTime::<Utc>::MAX_UTC)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        DateTime::parse_from_rfc3339(text).unwrap().to_utc()
    }

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn time(text: &str) -> NaiveTime {
        NaiveTime::parse_from_str(text, "%H:%M").unwrap()
    }

    /// Source of the zones' changes: the IANA time zone database, by the crate chrono-tz.
    #[test]
    fn a_year_of_days_in_five_zones_has_one_digest_a_day() {
        let zones = [
            Tz::Europe__Oslo,
            Tz::America__New_York,
            Tz::Australia__Lord_Howe,
            Tz::Pacific__Apia,
            Tz::Asia__Kathmandu,
        ];
        // 02:30 is skipped and repeated in Oslo and New York, 01:45 repeated on Lord Howe Island.
        for zone in zones {
            for at in ["00:00", "01:45", "02:30", "07:00", "23:50"].map(time) {
                let (mut now, end) = (utc("2026-01-01T12:00:00Z"), utc("2027-01-02T12:00:00Z"));
                let mut sent: Vec<NaiveDate> = Vec::new();
                while now < end {
                    if let Some(due) = due(at, zone, sent.last().copied(), now) {
                        assert!(due.taken_in.is_empty(), "{zone} {at} {due:?}");
                        // Within the step of the day's time, and not before it; the first day may be young already.
                        let is_soon = now - due.moment < TimeDelta::minutes(7);
                        assert!(now >= due.moment && (is_soon || sent.is_empty()), "{zone} {at}");
                        sent.push(due.day);
                    }
                    now += TimeDelta::minutes(7);
                }
                let days = sent.windows(2).all(|pair| pair[0].succ_opt() == Some(pair[1]));
                assert!(days && (365..=367).contains(&sent.len()), "{zone} {at}: {} days", sent.len());
            }
        }
    }

    #[test]
    fn a_skipped_time_is_the_moment_of_the_skip_and_a_repeated_one_its_first() {
        let oslo = Tz::Europe__Oslo;
        // Summer time begins on 29 March 2026 at 01:00 UTC and ends on 25 October at 01:00 UTC.
        for (on, want) in [("2026-03-29", "2026-03-29T01:00:00Z"), ("2026-10-25", "2026-10-25T00:30:00Z")] {
            assert_eq!(moment(day(on), time("02:30"), oslo), Some(utc(want)));
        }
        // In the second 02:30 of that night nothing is due.
        let first = due(time("02:30"), oslo, Some(day("2026-10-24")), utc("2026-10-25T00:31:00Z")).unwrap();
        assert_eq!(first.day, day("2026-10-25"));
        assert_eq!(due(time("02:30"), oslo, Some(first.day), utc("2026-10-25T01:30:00Z")), None);
    }

    #[test]
    fn after_a_stop_a_young_day_is_caught_up_and_an_old_one_is_taken_in() {
        let at = time("07:00");
        let last = Some(day("2026-11-20"));
        let asked = |now: &str| due(at, Tz::UTC, last, utc(now)).map(|due| (due.day, due.taken_in.len()));
        assert_eq!(asked("2026-11-21T06:59:59Z"), None);
        assert_eq!(asked("2026-11-21T07:00:00Z"), Some((day("2026-11-21"), 0)));
        assert_eq!(asked("2026-11-21T12:59:59Z"), Some((day("2026-11-21"), 0)));
        assert_eq!(asked("2026-11-21T13:00:00Z"), None);
        assert_eq!(asked("2026-11-24T08:00:00Z"), Some((day("2026-11-24"), 3)));
        // A clock that was set back brings none twice.
        assert_eq!(asked("2026-11-20T08:00:00Z"), None);
        assert_eq!(asked("2026-11-19T08:00:00Z"), None);
    }

    #[test]
    fn the_next_digest_is_later_than_now() {
        let at = time("07:00");
        for (now, want) in [
            ("2026-11-21T06:59:59Z", "2026-11-21T07:00:00Z"),
            ("2026-11-21T07:00:00Z", "2026-11-22T07:00:00Z"),
        ] {
            assert_eq!(next(at, Tz::UTC, utc(now)), utc(want));
        }
        // Samoa had no 30 December 2011; the clock shows 07:00 of the day before and of the day after.
        let apia = next(at, Tz::Pacific__Apia, utc("2011-12-29T17:30:00Z"));
        assert_eq!(apia, utc("2011-12-30T17:00:00Z"));
    }
}
