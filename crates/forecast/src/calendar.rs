//! Which days a supplier works on, and counting in them.
//!
//! Must not know zones or times of day: a calendar is about dates alone. Start reading at [`Calendar`].

use std::collections::BTreeSet;

use chrono::{Datelike, NaiveDate, Weekday};

/// The days on which somebody works: some days of every week, less holidays.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Calendar {
    /// By days from Monday.
    works_on: [bool; 7],
    holidays: BTreeSet<NaiveDate>,
}

/// Monday to Friday, no holidays.
impl Default for Calendar {
    fn default() -> Self {
        use Weekday::{Fri, Mon, Thu, Tue, Wed};
        Self::new([Mon, Tue, Wed, Thu, Fri], [])
    }
}

impl Calendar {
    /// Working days of the week, and the dates among them on which nobody works.
    ///
    /// Both may repeat and come in any order. With no working day at all, every search in the calendar answers
    /// `None` and every count is 0.
    pub fn new(
        working_days: impl IntoIterator<Item = Weekday>,
        holidays: impl IntoIterator<Item = NaiveDate>,
    ) -> Self {
        let mut works_on = [false; 7];
        for day in working_days {
            works_on[day.num_days_from_monday() as usize] = true;
        }
        Self { works_on, holidays: holidays.into_iter().collect() }
    }

    /// The working days of a week without holidays, from Monday.
    pub fn working_days(&self) -> impl Iterator<Item = Weekday> {
        (0..7u8).filter_map(|day| Weekday::try_from(day).ok()).filter(|day| self.works_in_a_week_on(*day))
    }

    /// The dates on which nobody works, in order.
    pub fn holidays(&self) -> impl Iterator<Item = NaiveDate> {
        self.holidays.iter().copied()
    }

    /// Whether somebody works on that day.
    pub fn is_working_day(&self, day: NaiveDate) -> bool {
        self.works_in_a_week_on(day.weekday()) && !self.holidays.contains(&day)
    }

    /// That day, where it is a working day, else the first working day after it.
    ///
    /// `None` where there is none until the calendar ends.
    pub fn next_working_day(&self, day: NaiveDate) -> Option<NaiveDate> {
        self.working_days_from(day).next()
    }

    /// So many working days after [`Self::next_working_day`] of that day: from a Friday, one more is Monday;
    /// from a Saturday, none more is Monday and one more is Tuesday.
    ///
    /// `None` where the calendar ends before.
    pub fn plus_working_days(&self, day: NaiveDate, days: u32) -> Option<NaiveDate> {
        self.working_days_from(day).nth(days as usize)
    }

    /// How many working days there are from `first` until before `end`; 0 where `end` is not after `first`.
    pub fn count_working_days(&self, first: NaiveDate, end: NaiveDate) -> u64 {
        self.working_days_from(first).take_while(|day| *day < end).count() as u64
    }

    fn works_in_a_week_on(&self, weekday: Weekday) -> bool {
        self.works_on[weekday.num_days_from_monday() as usize]
    }

    /// The working days at or after a day, in order. Ends at once where no day of the week is a working day;
    /// otherwise each is found within a week, but for the holidays, which are finitely many.
    fn working_days_from(&self, day: NaiveDate) -> impl Iterator<Item = NaiveDate> {
        let first = self.works_on.contains(&true).then_some(day);
        std::iter::successors(first, NaiveDate::succ_opt).filter(|day| self.is_working_day(*day))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn dates<const N: usize>(texts: [&str; N]) -> [NaiveDate; N] {
        texts.map(date)
    }

    fn weekdays(holidays: impl IntoIterator<Item = NaiveDate>) -> Calendar {
        Calendar::new(Calendar::default().working_days(), holidays)
    }

    /// Source: federal holidays 2026 as observed (Independence Day, a Saturday, on Friday 3 July), US Office of
    /// Personnel Management; and Christmas Day of the year before.
    fn us_federal_2026() -> Calendar {
        weekdays(dates([
            "2025-12-25",
            "2026-01-01",
            "2026-01-19",
            "2026-02-16",
            "2026-05-25",
            "2026-06-19",
            "2026-07-03",
            "2026-09-07",
            "2026-10-12",
            "2026-11-11",
            "2026-11-26",
            "2026-12-25",
        ]))
    }

    /// Source: gov.uk, bank holidays of England and Wales 2026.
    fn england_2026() -> Calendar {
        weekdays(dates([
            "2026-01-01",
            "2026-04-03",
            "2026-04-06",
            "2026-05-04",
            "2026-05-25",
            "2026-08-31",
            "2026-12-25",
            "2026-12-28",
        ]))
    }

    /// Source: the lists above, counted with numpy's `busday_count`: 261 weekdays in 2026.
    #[test]
    fn the_working_days_of_2026_are_as_published() {
        let (first, end) = (date("2026-01-01"), date("2027-01-01"));
        assert_eq!(Calendar::default().count_working_days(first, end), 261);
        assert_eq!(england_2026().count_working_days(first, end), 253);
        assert_eq!(us_federal_2026().count_working_days(first, end), 250);
    }

    /// Source: numpy documentation, `busday_count`; the last is its example of the Saturdays of 2011.
    #[test]
    fn working_days_are_counted_as_in_the_examples_of_numpy() {
        let plain = Calendar::default();
        assert_eq!(plain.count_working_days(date("2011-01-01"), date("2011-02-01")), 21);
        assert_eq!(plain.count_working_days(date("2011-01-01"), date("2012-01-01")), 260);
        let saturdays = Calendar::new([Weekday::Sat], []);
        assert_eq!(saturdays.count_working_days(date("2011-01-01"), date("2012-01-01")), 53);
    }

    /// Source: numpy documentation, `busday_offset` with `roll='forward'`, and the same function with the
    /// holidays above.
    #[test]
    fn working_days_are_added_as_in_the_examples_of_numpy() {
        let plain = Calendar::default();
        let wednesdays = Calendar::new([Weekday::Wed], []);
        let sundays = Calendar::new([Weekday::Sun], []);
        for (calendar, from, days, want) in [
            (&plain, "2011-10-01", 0, "2011-10-03"),
            (&plain, "2011-03-20", 0, "2011-03-21"),
            (&plain, "2011-03-22", 0, "2011-03-22"),
            (&wednesdays, "2011-01-01", 2, "2011-01-19"),
            (&sundays, "2012-05-01", 1, "2012-05-13"),
            (&plain, "2026-07-02", 1, "2026-07-03"),
            (&us_federal_2026(), "2026-07-02", 1, "2026-07-06"),
            (&us_federal_2026(), "2025-12-24", 3, "2025-12-30"),
        ] {
            assert_eq!(calendar.plus_working_days(date(from), days), Some(date(want)), "{from} + {days}");
        }
    }

    #[test]
    fn a_calendar_without_working_days_answers_nothing_at_once() {
        let never = Calendar::new([], []);
        let day = date("2026-11-25");
        assert_eq!(never.next_working_day(day), None);
        assert_eq!(never.plus_working_days(day, u32::MAX), None);
        assert_eq!(never.count_working_days(day, NaiveDate::MAX), 0);
        assert_eq!(never.working_days().count(), 0);
    }

    #[test]
    fn where_the_calendar_ends_there_is_no_next_working_day() {
        let last = NaiveDate::MAX;
        let day_after = Calendar::new([last.weekday().succ()], []);
        assert_eq!(day_after.next_working_day(last), None);
        assert_eq!(Calendar::new([last.weekday()], [last]).next_working_day(last), None);
    }

    fn any_calendar() -> impl Strategy<Value = Calendar> {
        (prop::collection::vec(0u8..7, 1..7), prop::collection::vec(0u64..400, 0..40)).prop_map(
            |(working, holidays)| {
                let first = date("2026-01-01");
                Calendar::new(
                    working.into_iter().filter_map(|day| Weekday::try_from(day).ok()),
                    holidays.into_iter().map(|days| first + chrono::Days::new(days)),
                )
            },
        )
    }

    proptest! {
        #[test]
        fn adding_and_counting_working_days_undo_each_other(
            calendar in any_calendar(), start in 0u64..400, days in 0u32..60,
        ) {
            let from = date("2026-01-01") + chrono::Days::new(start);
            let to = calendar.plus_working_days(from, days).unwrap();
            prop_assert!(to >= from && calendar.is_working_day(to));
            prop_assert_eq!(calendar.count_working_days(from, to), u64::from(days));
        }
    }
}
