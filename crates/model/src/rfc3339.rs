//! Moments as the JSON of findings writes them: RFC 3339, in UTC. A finding holds up to a dozen of them.

use chrono::{DateTime, Datelike, Timelike, Utc};
use serde::{Serialize, Serializer};

/// Writes a moment as chrono does; those of whole seconds, which nearly all are, without its general formatting.
pub(crate) fn moment<S: Serializer>(moment: &DateTime<Utc>, serializer: S) -> Result<S::Ok, S::Error> {
    match in_whole_seconds(moment).as_ref().map(|text| str::from_utf8(text)) {
        Some(Ok(text)) => serializer.serialize_str(text),
        _ => moment.serialize(serializer),
    }
}

/// Likewise, null where there is none.
pub(crate) fn option<S: Serializer>(
    moment: &Option<DateTime<Utc>>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    match moment {
        Some(moment) => self::moment(moment, serializer),
        None => serializer.serialize_none(),
    }
}

/// `2026-11-25T08:30:00Z`; `None` of a moment that this form cannot hold.
fn in_whole_seconds(moment: &DateTime<Utc>) -> Option<[u8; 20]> {
    let year = u32::try_from(moment.year()).ok().filter(|year| *year <= 9999)?;
    if moment.nanosecond() != 0 {
        return None;
    }
    let mut text = *b"0000-00-00T00:00:00Z";
    let parts = [
        (0, year / 100),
        (2, year % 100),
        (5, moment.month()),
        (8, moment.day()),
        (11, moment.hour()),
        (14, moment.minute()),
        (17, moment.second()),
    ];
    for (at, part) in parts {
        text[at] += (part / 10) as u8;
        text[at + 1] += (part % 10) as u8;
    }
    Some(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;
    use proptest::prelude::*;

    #[derive(Serialize)]
    struct Moments {
        #[serde(serialize_with = "moment")]
        one: DateTime<Utc>,
        #[serde(serialize_with = "option")]
        perhaps: Option<DateTime<Utc>>,
    }

    fn check(one: DateTime<Utc>) {
        let chrono = serde_json::to_string(&one).unwrap();
        let ours = serde_json::to_string(&Moments { one, perhaps: Some(one) }).unwrap();
        assert_eq!(ours, format!(r#"{{"one":{chrono},"perhaps":{chrono}}}"#));
    }

    /// Source: the crate chrono, which writes RFC 3339.
    #[test]
    fn moments_at_the_ends_of_the_form_are_written_as_chrono_writes_them() {
        for text in [
            "0000-01-01T00:00:00Z",
            "9999-12-31T23:59:59Z",
            "2026-11-25T08:30:00.5Z",
            "2026-11-25T08:30:00.000000001Z",
            "2016-12-31T23:59:60Z",
            "2028-02-29T07:08:09Z",
        ] {
            let one = DateTime::parse_from_rfc3339(text).unwrap().to_utc();
            check(one);
            check(one - TimeDelta::seconds(1));
            check(one + TimeDelta::seconds(1));
        }
        check(DateTime::<Utc>::MIN_UTC);
        check(DateTime::<Utc>::MAX_UTC);
        let nothing = Moments { one: DateTime::UNIX_EPOCH, perhaps: None };
        let text = serde_json::to_string(&nothing).unwrap();
        assert_eq!(text, r#"{"one":"1970-01-01T00:00:00Z","perhaps":null}"#);
    }

    proptest! {
        #[test]
        fn any_moment_is_written_as_chrono_writes_it(seconds in -99_999_999_999_i64..999_999_999_999, nanos in 0_u32..3) {
            check(DateTime::from_timestamp(seconds, nanos).unwrap());
        }
    }
}
