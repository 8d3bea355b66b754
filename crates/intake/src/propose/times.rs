//! In which form the times of a column are written: told from all of them.
//!
//! Must not know what the times are of. Start reading at [`find`].

use chrono::{DateTime, Utc};
use chrono_tz::Tz;

use crate::source::declare::MomentForm;

/// The years in which times of a shop lie.
const YEARS: std::ops::RangeInclusive<i32> = 2000..=2100;

/// The times of a column.
#[derive(Clone, Debug)]
pub(super) struct Times {
    /// The form, as a mapping says it; `None`: RFC 3339, which need not be said.
    pub(super) form: Option<String>,
    /// The form with day and month the other way round, where the column does not tell which comes first.
    pub(super) other: Option<String>,
    /// Whether a zone is needed to know the moment.
    pub(super) is_local: bool,
    /// Whether they say themselves, as a word, that they are UTC: then that is their zone, whatever the shop's.
    pub(super) is_utc: bool,
    /// Whether they are days without a time.
    pub(super) is_day: bool,
    /// The moments, as far as local times are UTC: for comparing columns of one file.
    pub(super) moments: Vec<Option<DateTime<Utc>>>,
}

/// Day and month as numbers, the day first: the month first is made of it.
const DATES: &[&str] = &["%d.%m.%Y", "%d/%m/%Y", "%d-%m-%Y", "%d.%m.%y", "%d/%m/%y", "%d %m %Y", "%d-%m-%y"];

/// Dates that say themselves what is what.
const PLAIN_DATES: &[&str] = &[
    "%Y-%m-%d",
    "%Y/%m/%d",
    "%Y.%m.%d",
    "%Y%m%d",
    "%d %b %Y",
    "%d %B %Y",
    "%b %d, %Y",
    "%B %d, %Y",
    "%d-%b-%Y",
    "%d-%b-%y",
    "%b %d %Y",
    "%a, %d %b %Y",
    "%d. %b %Y",
    "%d. %B %Y",
];

/// What stands behind a date.
const CLOCKS: &[&str] = &[
    "",
    " %H:%M",
    " %H:%M:%S",
    "T%H:%M:%S",
    "T%H:%M",
    " %I:%M %p",
    " %I:%M:%S %p",
    ", %H:%M",
    ", %H:%M:%S",
    " %H.%M",
    " - %H:%M",
    " um %H:%M",
    " %Hh%M",
    "T%H:%M:%S%.f",
    " %H:%M:%S%.f",
    " %H:%M Uhr",
    ", %H:%M Uhr",
    "T%H%M%S",
    "%H%M%S",
    " %H:%M:%S %z",
    " %H:%M:%S%:z",
    "T%H:%M:%S%z",
    " %H:%M %z",
    " %H:%M:%S UTC",
    " %H:%M:%S GMT",
    " %H:%M UTC",
    " %H:%M GMT",
    "T%H%M%SZ",
    " %H:%M:%SZ",
    " %H:%MZ",
    "T%H:%MZ",
    "T%H:%M:%S%.f%z",
    " at %H:%M",
    " %I:%M%p",
    " %H%M",
    " %H%M%S",
    ", %I:%M %p",
    " à %H:%M",
    " a las %H:%M",
];

/// The form of the times of a column; `None` where not all that stands there are times.
pub(super) fn find(values: &[Option<String>], are_numbers: bool) -> Option<Times> {
    let mut given = values.iter().flatten().peekable();
    given.peek()?;
    if values.iter().flatten().all(|text| text.len() >= 10 && rfc_3339(text).is_some()) {
        return Some(Times {
            form: None,
            other: None,
            is_local: false,
            is_utc: false,
            is_day: false,
            moments: values.iter().map(|value| value.as_deref().and_then(rfc_3339)).collect(),
        });
    }
    if let Some(times) = epoch(values, are_numbers) {
        return Some(times);
    }
    // A number such as 20261124 is a time only as a text of that length.
    let plain: Vec<String> = PLAIN_DATES
        .iter()
        .filter(|date| !are_numbers || **date == "%Y%m%d")
        .flat_map(|date| CLOCKS.iter().map(move |clock| format!("{date}{clock}")))
        .collect();
    let first = values.iter().flatten().next()?;
    let reads_all =
        |form: &String| reads(form, first) && values.iter().flatten().all(|text| reads(form, text));
    if let Some(form) = plain.iter().find(|form| reads_all(form)) {
        return Some(in_form(values, form.clone(), None));
    }
    if are_numbers {
        return None;
    }
    for date in DATES {
        let month_first = date.replacen("%d", "%q", 1).replacen("%m", "%d", 1).replacen("%q", "%m", 1);
        for clock in CLOCKS {
            let (day, month) = (format!("{date}{clock}"), format!("{month_first}{clock}"));
            if !reads(&day, first) && !reads(&month, first) {
                continue;
            }
            match (reads_all(&day), reads_all(&month)) {
                (true, false) => return Some(in_form(values, day, None)),
                (false, true) => return Some(in_form(values, month, None)),
                (true, true) => return Some(in_form(values, day, Some(month))),
                (false, false) => {}
            }
        }
    }
    None
}

/// Whether all that stands there are times of day: `09:30`, `9:30:15 PM`.
pub(super) fn are_clocks(values: &[Option<String>]) -> bool {
    let is_clock = |text: &String| {
        ["%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M:%S %p"]
            .iter()
            .any(|form| chrono::NaiveTime::parse_from_str(text.trim(), form).is_ok())
    };
    values.iter().flatten().next().is_some() && values.iter().flatten().all(is_clock)
}

/// Whether all that stands there are times of day in digits alone: `0930`, `093015`. So may many numbers be.
pub(super) fn are_clocks_of_digits(values: &[Option<String>]) -> bool {
    let is_clock = |text: &String| {
        text.bytes().all(|byte| byte.is_ascii_digit())
            && match text.len() {
                4 => chrono::NaiveTime::parse_from_str(text, "%H%M").is_ok(),
                6 => chrono::NaiveTime::parse_from_str(text, "%H%M%S").is_ok(),
                _ => false,
            }
    };
    values.iter().flatten().next().is_some() && values.iter().flatten().all(is_clock)
}

fn in_form(values: &[Option<String>], form: String, other: Option<String>) -> Times {
    let moments = values.iter().map(|value| value.as_deref().and_then(|text| moment(&form, text))).collect();
    let has_offset = form.contains("%z") || form.contains("%:z");
    let is_day = !form.contains("%H") && !form.contains("%I");
    let is_utc = [" UTC", " GMT", "Z"].iter().any(|word| form.ends_with(word)) && !has_offset;
    let is_local = !has_offset && !is_day && !is_utc;
    Times { form: Some(form), other, is_local, is_utc, is_day, moments }
}

fn reads(form: &str, text: &str) -> bool {
    moment(form, text).is_some()
}

fn moment(form: &str, text: &str) -> Option<DateTime<Utc>> {
    // Two digits of a year are read by a form of two alone, and the other way round.
    let form = MomentForm::parse(form).ok()?;
    let read = form.read(text, Tz::UTC).ok()??;
    let moment = rfc_3339(&read)?;
    in_time(moment).then_some(moment)
}

fn rfc_3339(text: &str) -> Option<DateTime<Utc>> {
    let at = model::When::parse(text, Tz::UTC).ok()?.begins();
    in_time(at).then_some(at)
}

fn in_time(moment: DateTime<Utc>) -> bool {
    use chrono::Datelike;
    YEARS.contains(&moment.year())
}

/// Counts of seconds or milliseconds since 1970, of the years 2001 to 2100.
fn epoch(values: &[Option<String>], are_numbers: bool) -> Option<Times> {
    // A zero is how some say that it has not happened.
    let values: Vec<Option<String>> =
        values.iter().map(|value| value.clone().filter(|text| text != "0")).collect();
    values.iter().flatten().next()?;
    let digits = |text: &String| {
        text.len() >= 10
            && text.split('.').next().is_some_and(|whole| whole.bytes().all(|byte| byte.is_ascii_digit()))
    };
    if !values.iter().flatten().all(digits) {
        return None;
    }
    let length = |text: &String| text.split('.').next().map_or(0, str::len);
    let (form, divisor) = if values.iter().flatten().all(|text| length(text) == 10) {
        ("epoch_seconds", 1_f64)
    } else if values.iter().flatten().all(|text| length(text) == 13) {
        ("epoch_milliseconds", 1_000_f64)
    } else {
        return None;
    };
    let at = |text: &String| {
        let seconds = text.parse::<f64>().ok()? / divisor;
        DateTime::from_timestamp(seconds as i64, 0).filter(|moment| in_time(*moment))
    };
    let moments: Vec<_> = values.iter().map(|value| value.as_ref().and_then(at)).collect();
    // Ids of ten digits are spread wider than the times of an export.
    let known: Vec<i64> = moments.iter().flatten().map(DateTime::timestamp).collect();
    let spread = known.iter().max()? - known.iter().min()?;
    let most = if are_numbers { 20 } else { 6 } * 366 * 86_400;
    if known.len() != values.iter().flatten().count() || spread > most {
        return None;
    }
    Some(Times {
        form: Some(form.to_owned()),
        other: None,
        is_local: false,
        is_utc: false,
        is_day: false,
        moments,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(values: &[&str]) -> Option<(Option<String>, bool)> {
        let values: Vec<Option<String>> = values.iter().map(|text| Some((*text).to_owned())).collect();
        find(&values, false).map(|times| (times.form, times.other.is_some()))
    }

    #[test]
    fn the_form_is_told_from_the_whole_column() {
        for (values, want) in [
            (&["2026-11-24T09:30:00Z", "2026-11-02T10:00:00+01:00"][..], Some((None, false))),
            (&["2026-11-24 09:30:00"], Some((Some("%Y-%m-%d %H:%M:%S"), false))),
            (&["2026-11-24T09:30:00"], Some((Some("%Y-%m-%dT%H:%M:%S"), false))),
            (&["24.11.2026 09:30", "02.11.2026 10:00"], Some((Some("%d.%m.%Y %H:%M"), false))),
            (&["11/24/2026", "11/02/2026"], Some((Some("%m/%d/%Y"), false))),
            (&["02/11/2026", "03/11/2026"], Some((Some("%d/%m/%Y"), true))),
            (&["11/24/2026 9:30 PM"], Some((Some("%m/%d/%Y %I:%M %p"), false))),
            (&["24 Nov 2026"], Some((Some("%d %b %Y"), false))),
            (&["1795509000", "1795512600"], Some((Some("epoch_seconds"), false))),
            (&["1795509000123", "1795512600000"], Some((Some("epoch_milliseconds"), false))),
            (&["1000000001", "2100000001", "3300000009"], None),
            (&["20261124"], Some((Some("%Y%m%d"), false))),
            (&["10042", "10043"], None),
            (&["soon"], None),
            (&["24.11.26"], Some((Some("%d.%m.%y"), false))),
        ] {
            let want = want.map(|(form, either): (Option<&str>, bool)| (form.map(str::to_owned), either));
            assert_eq!(form(values), want, "{values:?}");
        }
    }
}
