//! Which numbers of an xlsx workbook are dates or times, and which ones.
//!
//! Must not know: cells. Source: ECMA-376-1, 18.8.30 (built-in formats), 18.8.31 (format codes), 18.17.4 (serial dates); the
//! numbers of sections and of built-in formats from memory.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::cell::Cell;

/// What the format of a number makes of it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Meaning {
    Number,
    /// A date, perhaps with a time.
    Date,
    /// A time of day or a duration.
    Time,
}

/// Milliseconds of a day.
const DAY: f64 = 86_400_000.0;

/// The first serial number that stands for no date: 10000-01-01.
const END_OF_DATES: f64 = 2_958_466.0;

/// The meaning of a built-in format. Those of some languages of Asia (27 to 36, 50 to 58) are dates too.
pub(super) fn built_in(id: u32) -> Meaning {
    match id {
        14..=17 | 22 | 27..=31 | 34..=36 | 50..=54 | 57 | 58 => Meaning::Date,
        18..=21 | 32 | 33 | 45..=47 | 55 | 56 => Meaning::Time,
        _ => Meaning::Number,
    }
}

/// The meaning of a format code: that of its first section.
pub(super) fn of_code(code: &str) -> Meaning {
    if code.trim().eq_ignore_ascii_case("general") {
        return Meaning::Number;
    }
    let (mut has_date, mut has_month, mut has_time) = (false, false, false);
    let mut characters = code.chars();
    while let Some(character) = characters.next() {
        match character.to_ascii_lowercase() {
            ';' => break,
            '"' => while characters.next().is_some_and(|inner| inner != '"') {},
            // The sign behind is shown, or gives a width.
            '\\' | '_' | '*' => {
                characters.next();
            }
            '[' => {
                let inner: String = characters.by_ref().take_while(|inner| *inner != ']').collect();
                let inner = inner.to_ascii_lowercase();
                let is_elapsed =
                    |letter: char| !inner.is_empty() && inner.chars().all(|inner| inner == letter);
                has_time |= ['h', 'm', 's'].into_iter().any(is_elapsed);
            }
            'y' | 'd' => has_date = true,
            'm' => has_month = true,
            'h' | 's' => has_time = true,
            _ => {}
        }
    }
    // Beside hours or seconds, m is minutes, unless there is a day or a year.
    match (has_date || has_month && !has_time, has_time) {
        (true, _) => Meaning::Date,
        (false, true) => Meaning::Time,
        (false, false) => Meaning::Number,
    }
}

/// The date or time of a serial number; none where it stands for none, and is a number then.
///
/// `since_1904`: the workbook counts from 1904-01-01. Otherwise day 1 is 1900-01-01, and day 60 is one that never was.
pub(super) fn moment(serial: f64, meaning: Meaning, since_1904: bool) -> Option<Cell> {
    if !(0.0..END_OF_DATES).contains(&serial) {
        return None;
    }
    let milliseconds = (serial * DAY).round();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole, and within the bounds"
    )]
    let milliseconds = milliseconds as u64;
    let is_time = meaning == Meaning::Time || serial < 1.0 && !since_1904;
    if is_time {
        return Some(Cell::Clock(milliseconds));
    }
    let (year, month, day) = match since_1904 {
        true => (1904, 1, 1),
        false if serial < 60.0 => (1899, 12, 31),
        false if serial < 61.0 => return None,
        false => (1899, 12, 30),
    };
    let epoch: NaiveDateTime = NaiveDate::from_ymd_opt(year, month, day)?.into();
    let moment = epoch.checked_add_signed(TimeDelta::milliseconds(i64::try_from(milliseconds).ok()?))?;
    Some(Cell::Moment(moment))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_format_code_says_whether_its_numbers_are_dates() {
        for (code, want) in [
            ("General", Meaning::Number),
            ("0.00", Meaning::Number),
            ("0.00E+00", Meaning::Number),
            ("#,##0.00\\ [$€-407]", Meaning::Number),
            ("0 \"days\"", Meaning::Number),
            ("0_d", Meaning::Number),
            ("[Red]0", Meaning::Number),
            ("0;yyyy", Meaning::Number),
            ("yyyy-mm-dd", Meaning::Date),
            ("DD.MM.YYYY\\ hh:mm", Meaning::Date),
            ("[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy", Meaning::Date),
            ("mmm", Meaning::Date),
            ("d/m/yy h:mm;@", Meaning::Date),
            ("hh:mm", Meaning::Time),
            ("[h]:mm:ss", Meaning::Time),
            ("[mm]:ss.0", Meaning::Time),
            ("h:mm AM/PM", Meaning::Time),
            ("@", Meaning::Number),
            ("", Meaning::Number),
            ("\"open", Meaning::Number),
            ("[open", Meaning::Number),
        ] {
            assert_eq!(of_code(code), want, "{code:?}");
        }
    }

    /// Source: ECMA-376-1, 18.17.4 (from memory): where both ways of counting begin and end, and the day that never was.
    #[test]
    fn a_serial_number_is_the_date_that_the_standard_says() {
        let date = |text: &str| Some(Cell::Moment(text.parse().unwrap()));
        for (serial, since_1904, want) in [
            (1.0, false, date("1900-01-01T00:00:00")),
            (59.0, false, date("1900-02-28T00:00:00")),
            (61.0, false, date("1900-03-01T00:00:00")),
            (2_958_465.0, false, date("9999-12-31T00:00:00")),
            (0.0, true, date("1904-01-01T00:00:00")),
            (60.5, false, None),
            (-1.0, false, None),
            (2_958_466.0, false, None),
            (f64::NAN, false, None),
        ] {
            assert_eq!(moment(serial, Meaning::Date, since_1904), want, "{serial}");
        }
    }
}
