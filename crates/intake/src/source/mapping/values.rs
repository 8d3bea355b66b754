//! Single values of an answer as the text of a cell.
//!
//! Must not know rows or declarations. Start reading at [`scalar`]; the account of numbers is in `mapping`.

use std::borrow::Cow;

use model::money;
use rust_decimal::Decimal;
use serde_json::{Number, Value};

/// A decimal of at most so many digits comes back from the nearest binary number exactly as it was.
/// Source: `DBL_DIG` of C, ISO/IEC 9899, 5.2.4.2.2.
const EXACT_DIGITS: usize = 15;

/// A string, a number or a boolean as text; `None` of an object, a list or null.
pub(super) fn scalar(value: &Value) -> Option<Cow<'_, str>> {
    match value {
        Value::String(text) => Some(Cow::Borrowed(text)),
        Value::Number(number) => Some(Cow::Owned(decimal_text(number))),
        Value::Bool(true) => Some(Cow::Borrowed("true")),
        Value::Bool(false) => Some(Cow::Borrowed("false")),
        Value::Null | Value::Array(_) | Value::Object(_) => None,
    }
}

/// Likewise, as a text of its own.
pub(crate) fn scalar_text(value: &Value) -> Option<String> {
    scalar(value).map(std::borrow::Cow::into_owned)
}

/// A number without an exponent; one that was written with a point or an exponent keeps a point: `2.0`.
fn decimal_text(number: &Number) -> String {
    match number.as_f64() {
        Some(float) if number.is_f64() => {
            let text = float.to_string();
            if text.contains('.') { text } else { format!("{text}.0") }
        }
        _ => number.to_string(),
    }
}

/// Whether a value is a number that is not whole, or too large to have been read exactly.
pub(super) fn is_no_whole_number(value: &Value) -> bool {
    matches!(value, Value::Number(number) if number.is_f64())
}

/// Whether a value is a number of which digits may have been lost in reading.
pub(super) fn may_have_lost_digits(value: &Value) -> bool {
    let Value::Number(number) = value else { return false };
    if !number.is_f64() {
        return false;
    }
    let text = decimal_text(number);
    let plain = text.trim_start_matches('-').replace('.', "");
    plain.trim_matches('0').len() > EXACT_DIGITS
}

/// A whole number of minor units as a decimal amount with so many digits behind the point.
pub(super) fn minor_units(text: &str, digits: u32) -> Option<String> {
    let count = money::parse_amount(text)?;
    if !count.fract().is_zero() {
        return None;
    }
    let unit = Decimal::try_new(1, digits).ok()?;
    count.trunc().checked_mul(unit).map(|amount| amount.to_string())
}

/// An amount as people write it, `1.234,50 €` where `point` is a comma, as a decimal: `1234.50`. A sign or code of a
/// currency may stand before or behind it; thousands may be set off by the other mark, an apostrophe or a blank.
pub(crate) fn as_people_write(text: &str, point: char) -> Option<String> {
    let is_part = |letter: char| letter.is_ascii_digit() || matches!(letter, '.' | ',' | '-' | '\u{2212}');
    let start = text.find(is_part)?;
    let end = text.rfind(|letter: char| letter.is_ascii_digit())? + 1;
    let (around, amount) = ((&text[..start], text.get(end..)?), text.get(start..end)?);
    let is_currency = |around: &str| {
        let text = around.trim();
        let is_spaced = around.starts_with(char::is_whitespace) || around.ends_with(char::is_whitespace);
        text.chars().all(is_sign)
            || SHORT_NAMES.contains(&text.to_lowercase().as_str())
            || is_spaced && SPACED_NAMES.contains(&text.to_lowercase().as_str())
            || text.to_ascii_uppercase().parse::<model::Currency>().is_ok()
    };
    if !is_currency(around.0) || !is_currency(around.1) {
        return None;
    }
    let (sign, amount) = match amount.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => ("-", rest),
        None => ("", amount),
    };
    let (whole, fraction) =
        amount.split_once(point).map_or((amount, None), |(whole, part)| (whole, Some(part)));
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let other = if point == ',' { '.' } else { ',' };
    let groups: Vec<&str> = whole
        .split(|letter: char| {
            letter == other || matches!(letter, '\'' | '\u{2019}') || letter.is_whitespace()
        })
        .collect();
    let is_grouped =
        groups.len() == 1 || (groups[0].len() <= 3 && groups[1..].iter().all(|group| group.len() == 3));
    if !is_grouped || !groups.iter().all(|group| is_digits(group)) || !fraction.is_none_or(is_digits) {
        return None;
    }
    let fraction = fraction.map(|digits| format!(".{digits}")).unwrap_or_default();
    Some(format!("{sign}{}{fraction}", groups.concat()))
}

/// What some write instead of a code. Common practice, no published source.
const SHORT_NAMES: [&str; 15] = [
    "kr", "kr.", "fr.", "sfr.", "z\u{142}", "k\u{10d}", "us$", "r$", "a$", "c$", "ca$", "nz$", "hk$", "mx$",
    "rs.",
];

/// Likewise, with a blank to the number: without one, ids of letters and digits look so too. Common practice, no published
/// source.
const SPACED_NAMES: [&str; 6] = ["r", "rs", "fr", "ft", "lei", "rm"];

/// The signs of currencies. Source: Unicode, general category Sc, those in daily use; from memory.
fn is_sign(letter: char) -> bool {
    matches!(letter, '$' | '\u{a2}'..='\u{a5}' | '\u{20a0}'..='\u{20c0}') || letter == '.'
}

/// The look of a text whose contents must not be told: letters become `a` or `A`, digits `9`.
pub(super) fn look(text: &str) -> String {
    text.chars()
        .map(|letter| match letter {
            letter if letter.is_uppercase() => 'A',
            letter if letter.is_alphabetic() => 'a',
            letter if letter.is_numeric() => '9',
            letter if letter.is_ascii_punctuation() || letter == ' ' => letter,
            _ => '?',
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn value(text: &str) -> Value {
        serde_json::from_str(text).unwrap()
    }

    #[test]
    fn numbers_are_the_decimals_that_were_written() {
        for (written, want) in [
            ("24.10", "24.1"),
            ("0.1", "0.1"),
            ("0.07", "0.07"),
            ("1e2", "100.0"),
            ("0.00001", "0.00001"),
            ("-3.5", "-3.5"),
            ("2.0", "2.0"),
            ("9007199254740993", "9007199254740993"),
            ("18446744073709551615", "18446744073709551615"),
            ("-9223372036854775808", "-9223372036854775808"),
            (r#""24.10""#, "24.10"),
            ("true", "true"),
        ] {
            assert_eq!(scalar(&value(written)).unwrap(), want, "{written}");
            assert!(!may_have_lost_digits(&value(written)), "{written}");
        }
        assert!(is_no_whole_number(&value("18446744073709551616")));
        assert!(may_have_lost_digits(&value("0.12345678901234567")));
        assert!(may_have_lost_digits(&value("24.10000000000001")));
    }

    #[test]
    fn minor_units_are_exact() {
        for (text, digits, want) in [
            ("2410", 2, Some("24.10")),
            ("5", 2, Some("0.05")),
            ("0", 2, Some("0")),
            ("1200", 0, Some("1200")),
            ("1500", 3, Some("1.500")),
            ("2410.0", 2, Some("24.10")),
            ("-2410", 2, Some("-24.10")),
            ("2410.5", 2, None),
            ("2,410", 2, None),
            ("x", 2, None),
        ] {
            assert_eq!(minor_units(text, digits).as_deref(), want, "{text} {digits}");
        }
    }

    #[test]
    fn amounts_are_read_as_people_write_them() {
        for (text, point, want) in [
            ("24,10", ',', Some("24.10")),
            ("1.234,50 €", ',', Some("1234.50")),
            ("EUR 1'234,50", ',', Some("1234.50")),
            ("1 234,50", ',', Some("1234.50")),
            ("24", ',', Some("24")),
            ("-3,5", ',', Some("-3.5")),
            ("24.10", ',', None),
            ("24.100", ',', Some("24100")),
            ("24,1,0", ',', None),
            ("$1,234.50", '.', Some("1234.50")),
            ("12,34.50", '.', None),
            ("about 5", '.', None),
            ("KB1042", ',', None),
            ("149 kr", ',', Some("149")),
            ("", '.', None),
            ("€", '.', None),
        ] {
            assert_eq!(as_people_write(text, point).as_deref(), want, "{text} {point}");
        }
    }

    #[test]
    fn the_look_of_a_text_tells_none_of_its_words() {
        assert_eq!(look("Order 12/b für Ærø"), "Aaaaa 99/a aaa Aaa");
        assert_eq!(look("a\u{0}\u{4e2d}"), "a?a");
    }

    proptest! {
        /// Every decimal of up to 15 digits comes back from its binary number.
        #[test]
        fn a_decimal_of_fifteen_digits_survives(digits in 0_i64..1_000_000_000_000_000, scale in 1_u32..15) {
            let written = Decimal::new(digits, scale).to_string();
            let value = value(&written);
            let read: Decimal = scalar(&value).unwrap().parse().unwrap();
            prop_assert_eq!(read, written.parse::<Decimal>().unwrap());
            prop_assert!(!may_have_lost_digits(&value));
        }
    }
}
