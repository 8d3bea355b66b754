//! Until when a submission can still be changed or held.
//!
//! Must not know what hangs on it, nor whether the supplier has begun already. Start reading at
//! [`CutOff::moment`].

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;
use model::book::Submission;
use model::when::local_moment;
use model::{SupplierId, When};

use crate::Calendar;

/// How a supplier's cut-off is set.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum CutOff {
    /// So long after receipt, day and night.
    AfterReceipt(TimeDelta),
    /// At a time of day, on working days.
    Daily {
        /// The time of day, as the supplier's clock shows it.
        at: NaiveTime,
        /// The supplier's zone.
        zone: Tz,
        /// The supplier's working days.
        calendar: Calendar,
    },
}

impl CutOff {
    /// The moment after which what was received then can no longer be changed.
    ///
    /// Of a receipt that is a whole day, the day's beginning counts: the earliest answer, so that nobody comes
    /// too late. A daily cut-off is the first at or after receipt: what is received exactly at it is cut off at
    /// once. Where the clock shows the time twice, the earlier counts; where it skips it, the moment of the
    /// skip. `None` where no cut-off follows: a calendar without working days, or the end of the calendar.
    pub fn moment(&self, received: When) -> Option<DateTime<Utc>> {
        let received = received.begins();
        match self {
            Self::AfterReceipt(span) => received.checked_add_signed(*span),
            Self::Daily { at, zone, calendar } => {
                let day = received.with_timezone(zone).date_naive();
                // The day before too: where the clock skips midnight, its cut-off can lie in the skip, and so
                // at the first moment of this day.
                let mut day = day.pred_opt().unwrap_or(day);
                loop {
                    day = calendar.next_working_day(day)?;
                    let moment = local_moment(day.and_time(*at), *zone)?;
                    if moment >= received {
                        return Some(moment);
                    }
                    day = day.succ_opt()?;
                }
            }
        }
    }
}

/// The cut-off of every submission, in the order of `submissions`; `None` where its supplier has none
/// configured or none follows.
pub fn cut_offs(
    submissions: &[Submission],
    by_supplier: &BTreeMap<SupplierId, CutOff>,
) -> Vec<Option<DateTime<Utc>>> {
    submissions.iter().map(|sent| by_supplier.get(&sent.supplier)?.moment(sent.received_at)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{Datelike, TimeZone, Timelike, Weekday};
    use model::SubmissionId;
    use model::book::SubmissionStatus;
    use proptest::prelude::*;

    fn received(text: &str) -> When {
        When::parse(text, Tz::UTC).unwrap()
    }

    fn daily(at: &str, zone: Tz, calendar: Calendar) -> CutOff {
        CutOff::Daily { at: at.parse().unwrap(), zone, calendar }
    }

    fn every_day() -> Calendar {
        use Weekday::{Fri, Mon, Sat, Sun, Thu, Tue, Wed};
        Calendar::new([Mon, Tue, Wed, Thu, Fri, Sat, Sun], [])
    }

    fn check(cut_off: &CutOff, table: &[(&str, &str)]) {
        for (when, want) in table {
            let want = DateTime::parse_from_rfc3339(want).unwrap().to_utc();
            assert_eq!(cut_off.moment(received(when)), Some(want), "received {when}");
        }
    }

    #[test]
    fn a_cut_off_after_receipt_runs_day_and_night_and_from_the_beginning_of_a_day() {
        check(
            &CutOff::AfterReceipt(TimeDelta::hours(2)),
            &[("2026-11-28T23:30:00Z", "2026-11-29T01:30:00Z"), ("2026-11-28", "2026-11-28T02:00:00Z")],
        );
    }

    #[test]
    fn a_daily_cut_off_is_the_next_on_a_working_day_and_exactly_at_it_counts() {
        let christmas = Calendar::new(Calendar::default().working_days(), ["2026-12-25".parse().unwrap()]);
        check(
            &daily("14:00:00", Tz::Europe__Berlin, christmas),
            &[
                ("2026-12-23T09:00:00+01:00", "2026-12-23T14:00:00+01:00"),
                ("2026-12-23T14:00:00+01:00", "2026-12-23T14:00:00+01:00"),
                ("2026-12-23T14:00:01+01:00", "2026-12-24T14:00:00+01:00"),
                ("2026-12-24T14:00:01+01:00", "2026-12-28T14:00:00+01:00"),
                ("2026-12-26T10:00:00+01:00", "2026-12-28T14:00:00+01:00"),
                ("2026-12-26", "2026-12-28T14:00:00+01:00"),
            ],
        );
    }

    /// The clock goes from 02:00 to 03:00. Source: IANA time zone database, rule EU.
    #[test]
    fn in_the_night_that_skips_the_time_the_cut_off_is_the_skip() {
        check(
            &daily("02:30:00", Tz::Europe__Berlin, every_day()),
            &[
                ("2026-03-28T12:00:00+01:00", "2026-03-29T01:00:00Z"),
                ("2026-03-29T01:00:00Z", "2026-03-29T01:00:00Z"),
                ("2026-03-29T01:00:01Z", "2026-03-30T02:30:00+02:00"),
            ],
        );
        check(
            &daily("14:00:00", Tz::Europe__Berlin, every_day()),
            &[
                ("2026-03-28T14:00:01+01:00", "2026-03-29T14:00:00+02:00"),
                ("2026-03-29T14:00:01+02:00", "2026-03-30T14:00:00+02:00"),
            ],
        );
    }

    /// The clock goes from 03:00 back to 02:00. Source: IANA time zone database, rule EU.
    #[test]
    fn in_the_night_that_shows_the_time_twice_the_cut_off_is_the_earlier() {
        check(
            &daily("02:30:00", Tz::Europe__Berlin, every_day()),
            &[
                ("2026-10-24T12:00:00+02:00", "2026-10-25T02:30:00+02:00"),
                ("2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+02:00"),
                ("2026-10-25T02:30:00+01:00", "2026-10-26T02:30:00+01:00"),
            ],
        );
        check(
            &daily("14:00:00", Tz::Europe__Berlin, every_day()),
            &[("2026-10-24T14:00:01+02:00", "2026-10-25T14:00:00+01:00")],
        );
    }

    /// The Azores go from 00:00 to 01:00 on 2026-03-29; Samoa had no 2011-12-30 at all.
    /// Source: IANA time zone database.
    #[test]
    fn a_cut_off_in_a_skip_over_midnight_still_counts_for_what_comes_at_the_skip() {
        check(
            &daily("00:30:00", Tz::Atlantic__Azores, every_day()),
            &[("2026-03-29T01:00:00Z", "2026-03-29T01:00:00Z")],
        );
        check(
            &daily("14:00:00", Tz::Pacific__Apia, every_day()),
            &[("2011-12-30T10:00:00Z", "2011-12-30T10:00:00Z")],
        );
    }

    #[test]
    fn a_supplier_that_never_works_has_no_cut_off() {
        let never = daily("14:00:00", Tz::UTC, Calendar::new([], []));
        assert_eq!(never.moment(received("2026-11-25T10:00:00Z")), None);
        assert_eq!(
            CutOff::AfterReceipt(TimeDelta::hours(1)).moment(When::at(DateTime::<Utc>::MAX_UTC)),
            None
        );
    }

    #[test]
    fn every_submission_gets_the_cut_off_of_its_supplier_in_the_order_of_the_table() {
        let sent = |supplier: &str, received_at: &str| Submission {
            supplier: supplier.into(),
            submission_id: SubmissionId::new("s"),
            order_ref: None,
            status: SubmissionStatus::Received,
            received_at: received(received_at),
            replaces: None,
            updated_at: None,
        };
        let submissions = [
            sent("brook-print", "2026-11-25T10:00:00Z"),
            sent("alder-print", "2026-11-25T10:00:00Z"),
            sent("cairn-print", "2026-11-25T10:00:00Z"),
        ];
        let by_supplier = BTreeMap::from([
            ("alder-print".into(), CutOff::AfterReceipt(TimeDelta::hours(2))),
            ("brook-print".into(), daily("14:00:00", Tz::UTC, Calendar::default())),
        ]);
        let at = |text: &str| Some(received(text).begins());
        assert_eq!(
            cut_offs(&submissions, &by_supplier),
            [at("2026-11-25T14:00:00Z"), at("2026-11-25T12:00:00Z"), None]
        );
    }

    proptest! {
        /// Against a definition by brute force: no minute between receipt and answer shows the time on a
        /// working day.
        #[test]
        fn a_daily_cut_off_is_the_first_such_minute_after_receipt(
            minutes in 0i64..366 * 24 * 60, hour in 0u32..24, half in 0u32..2, sundays_too in any::<bool>(),
        ) {
            let zone = Tz::Europe__Berlin;
            let calendar = if sundays_too { every_day() } else { Calendar::default() };
            let at = NaiveTime::from_hms_opt(hour, half * 30, 0).unwrap();
            prop_assume!(hour != 2);
            let from = Utc.with_ymd_and_hms(2026, 1, 1, 0, 0, 0).unwrap() + TimeDelta::minutes(minutes);
            let want = (0..6 * 24 * 60)
                .map(|later| from + TimeDelta::minutes(later))
                .find(|moment| {
                    let local = moment.with_timezone(&zone);
                    (local.hour(), local.minute()) == (hour, half * 30)
                        && (sundays_too || local.weekday().num_days_from_monday() < 5)
                });
            let cut_off = CutOff::Daily { at, zone, calendar };
            prop_assert_eq!(cut_off.moment(When::at(from)), want);
        }
    }
}
